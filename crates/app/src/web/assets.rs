//! The static files, inside the binary, under an address that carries a hash of their content.

use axum::extract::Path;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;
use std::sync::LazyLock;

#[derive(RustEmbed)]
#[folder = "static/"]
struct Files;

/// One hash over all files, so that modules may import each other by relative address.
static HASH: LazyLock<String> = LazyLock::new(|| {
    let mut names: Vec<_> = Files::iter().collect();
    names.sort();
    let mut mix: u64 = 0xcbf2_9ce4_8422_2325;
    for file in names.iter().filter_map(|name| Files::get(name)) {
        for byte in file.metadata.sha256_hash() {
            mix = (mix ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
    format!("{mix:016x}")
});

/// The script that shows a roll's pages out of the program's reach: it may look after those, and no others.
const WORKER: &str = "notes-worker.js";

/// The address of a static file.
pub(crate) fn address(name: &str) -> String {
    format!("/static/{}/{name}", *HASH)
}

/// Serves a static file; for ever cacheable where the hash is today's.
pub(crate) async fn serve(Path((hash, name)): Path<(String, String)>) -> Response {
    let Some(file) = Files::get(&name) else {
        return (StatusCode::NOT_FOUND, "No such file.").into_response();
    };
    let kind = match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        _ => "application/octet-stream",
    };
    let keep = if hash == *HASH {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    let mut answer = (
        [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, keep)],
        file.data,
    )
        .into_response();
    if name == WORKER {
        let over = HeaderValue::from_static("/roll/");
        answer.headers_mut().insert("service-worker-allowed", over);
    }
    answer
}
