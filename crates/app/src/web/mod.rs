//! The page: server-rendered, for the one browser on this machine.
//!
//! Handlers call `service` and hand its answers to a template; they hold no SQL and no formulas.
//! Everything works without JavaScript except what is live by nature.

mod assets;
pub mod drawing;
mod page;
mod problem;
mod security;

use anyhow::Context as _;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::get;
use problem::Problem;
use std::net::{Ipv4Addr, SocketAddr};
use tokio::net::TcpListener;

/// The port tried first.
pub const DEFAULT_PORT: u16 = 7435;
/// How many ports after the first are tried before any free one is taken.
const PORTS_TRIED: u16 = 20;

/// Puts the shell round the pages: static files, the not-found page, limits and guards.
fn shell(pages: Router, port: u16) -> Router {
    pages
        .route("/static/{hash}/{name}", get(assets::serve))
        .fallback(async |uri: axum::http::Uri| Problem::not_found("the page's address", uri.path()))
        .layer(DefaultBodyLimit::max(security::MAX_BODY))
        .layer(axum::middleware::from_fn_with_state(port, security::guard))
}

/// Binds 127.0.0.1 at the preferred port, or the next free one.
async fn bind(preferred_port: u16) -> anyhow::Result<TcpListener> {
    let ports = (0..=PORTS_TRIED).filter_map(|i| preferred_port.checked_add(i)).chain([0]);
    let mut last = None;
    for port in ports {
        match TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).await {
            Ok(listener) => return Ok(listener),
            Err(e) => last = Some(e),
        }
    }
    Err(last.map_or_else(|| anyhow::anyhow!("no port"), anyhow::Error::from))
        .context("no free port on 127.0.0.1; end another program that listens there")
}
