//! Who may talk to the page: this machine's browser, on this address, from our own pages.
//!
//! Host is checked against rebinding of names, Origin and Sec-Fetch-Site against foreign pages that
//! post forms here; the content security policy forbids anything from outside and any inline script.

use super::here::Here;
use super::problem::Problem;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use spoolwright_core::{Error, Kind};

/// Largest body of a form, in bytes.
pub(crate) const MAX_BODY: usize = 64 * 1024;

const POLICY: &str = "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'";

/// What the guard knows of the pages it stands before.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Site {
    /// The port of this machine they are served at.
    pub(crate) port: u16,
    /// Nothing done on them is kept.
    pub(crate) demo: bool,
}

/// Refuses foreign hosts and foreign posts, and puts the security headers on every answer.
pub(crate) async fn guard(State(site): State<Site>, req: Request, next: Next) -> Response {
    let Site { port, demo } = site;
    let refused =
        foreign_host(&req, port).or_else(|| foreign_post(req.method(), req.headers(), port));
    let page = !req.uri().path().starts_with("/static/");
    let mut res = match refused {
        Some(problem) => problem.into_response(),
        None => {
            let here = Here {
                address: req
                    .uri()
                    .path_and_query()
                    .map_or("/", |p| p.as_str())
                    .into(),
                demo,
            };
            here.scope(next.run(req)).await
        }
    };
    let headers = res.headers_mut();
    let mut put = |name: HeaderName, value: &'static str| {
        headers.insert(name, HeaderValue::from_static(value))
    };
    put(header::CONTENT_SECURITY_POLICY, POLICY);
    put(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    put(header::REFERRER_POLICY, "same-origin");
    put(
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    );
    put(
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    );
    if page {
        put(header::CACHE_CONTROL, "no-store");
    }
    res
}

fn own_names(port: u16) -> [String; 2] {
    [format!("127.0.0.1:{port}"), format!("localhost:{port}")]
}

fn foreign_host(req: &Request, port: u16) -> Option<Problem> {
    let given = req
        .headers()
        .get(header::HOST)
        .and_then(|h| h.to_str().ok())
        .or_else(|| req.uri().authority().map(|a| a.as_str()))
        .unwrap_or("");
    let own = own_names(port);
    if own.iter().any(|name| name.eq_ignore_ascii_case(given)) {
        return None;
    }
    Some(Problem::new(
        StatusCode::MISDIRECTED_REQUEST,
        Error::new(
            Kind::Unknown,
            "the address this page was asked for under",
            if given.is_empty() { "nothing" } else { given },
            own.join(" or "),
            format!("Open http://127.0.0.1:{port}/ instead."),
        ),
    ))
}

fn foreign_post(method: &Method, headers: &HeaderMap, port: u16) -> Option<Problem> {
    if matches!(*method, Method::GET | Method::HEAD) {
        return None;
    }
    let text = |name: &str| {
        headers
            .get(name)
            .map(|v| v.to_str().unwrap_or("unreadable"))
    };
    let site_is_ours =
        text("sec-fetch-site").is_none_or(|site| matches!(site, "same-origin" | "none"));
    let origin_is_ours = text("origin").is_none_or(|origin| {
        own_names(port)
            .iter()
            .any(|name| origin.eq_ignore_ascii_case(&format!("http://{name}")))
    });
    if site_is_ours && origin_is_ours {
        return None;
    }
    Some(Problem::new(
        StatusCode::FORBIDDEN,
        Error::new(
            Kind::Inconsistent,
            "where this form came from",
            text("origin")
                .or(text("sec-fetch-site"))
                .unwrap_or("nothing"),
            "forms of this program's own pages",
            format!("Open http://127.0.0.1:{port}/ and fill in the form there."),
        ),
    ))
}
