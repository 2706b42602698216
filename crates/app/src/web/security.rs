//! Who may talk to the page: a browser that names an address it is served at, from our own pages.
//!
//! Host is checked against rebinding of names, Origin and Sec-Fetch-Site against foreign pages that
//! post forms here; the content security policy forbids anything from outside and any inline script.

use super::here::{Here, Who};
use super::problem::Problem;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use spoolwright_core::{Error, Kind};
use std::sync::Arc;

/// Largest body of a form, in bytes.
pub(crate) const MAX_BODY: usize = 64 * 1024;

const POLICY: &str = "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'";

/// What the guard knows of the pages it stands before.
#[derive(Debug, Clone)]
pub(crate) struct Site {
    /// Where they answer, the best first: exactly these, such as `http://127.0.0.1:7435`.
    pub(crate) origins: Arc<[String]>,
    /// Nothing done on them is kept.
    pub(crate) demo: bool,
}

impl Site {
    /// The pages as this machine's own browser sees them.
    pub(crate) fn on_this_machine(port: u16, demo: bool) -> Self {
        let origins = [
            format!("http://127.0.0.1:{port}"),
            format!("http://localhost:{port}"),
        ];
        Self {
            origins: origins.into(),
            demo,
        }
    }

    /// Hosts as a browser names them.
    fn hosts(&self) -> impl Iterator<Item = &str> {
        self.origins
            .iter()
            .map(|o| o.split_once("://").map_or(o.as_str(), |(_, host)| host))
    }

    fn first(&self) -> &str {
        self.origins.first().map_or("", String::as_str)
    }
}

/// Refuses foreign hosts and foreign posts, and puts the security headers on every answer.
pub(crate) async fn guard(State(site): State<Site>, req: Request, next: Next) -> Response {
    let refused = site
        .foreign_host(&req)
        .or_else(|| site.foreign_post(req.method(), req.headers()));
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
                demo: site.demo,
                who: Who::Machine,
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

impl Site {
    fn foreign_host(&self, req: &Request) -> Option<Problem> {
        let given = req
            .headers()
            .get(header::HOST)
            .and_then(|h| h.to_str().ok())
            .or_else(|| req.uri().authority().map(|a| a.as_str()))
            .unwrap_or("");
        if self.hosts().any(|name| name.eq_ignore_ascii_case(given)) {
            return None;
        }
        Some(Problem::new(
            StatusCode::MISDIRECTED_REQUEST,
            Error::new(
                Kind::Unknown,
                "the address this page was asked for under",
                if given.is_empty() { "nothing" } else { given },
                self.hosts().collect::<Vec<_>>().join(" or "),
                format!("Open {}/ instead.", self.first()),
            ),
        ))
    }

    fn foreign_post(&self, method: &Method, headers: &HeaderMap) -> Option<Problem> {
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
        let origin_is_ours = text("origin")
            .is_none_or(|origin| self.origins.iter().any(|o| o.eq_ignore_ascii_case(origin)));
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
                format!("Open {}/ and fill in the form there.", self.first()),
            ),
        ))
    }
}
