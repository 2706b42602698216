//! Who passes: a device that shows the session it was paired with. Everybody else may pair, and nothing more.

use super::door::Door;
use crate::web::app::App;
use crate::web::here::{Here, Who};
use crate::web::problem::Problem;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use ring::digest;
use spoolwright_core::{Error, Kind};
use std::net::SocketAddr;

/// The session's name. Browsers keep one so named to this host, over TLS.
const SESSION: &str = "__Host-spoolwright";
/// Days a browser keeps it; longer than this none does.
const KEPT_DAYS: u32 = 400;

/// What the gate asks, and where it tells.
#[derive(Clone)]
pub(crate) struct Gate {
    pub(crate) app: App,
    pub(crate) door: Door,
}

/// Lets paired devices through, and strangers to the page that pairs.
pub(crate) async fn gate(
    State(gate): State<Gate>,
    ConnectInfo(guest): ConnectInfo<SocketAddr>,
    req: Request,
    next: Next,
) -> Response {
    let device = match session(req.headers()).map(mark_of) {
        None => None,
        Some(mark) => match gate.app.ask(move |s| s.device_with(&mark)).await {
            Ok(device) => device,
            Err(problem) => return problem.into_response(),
        },
    };
    if let Some(device) = device {
        gate.door.welcome(guest);
        let here = Here {
            who: Who::Device(device.id),
            ..Here::now()
        };
        return here.scope(next.run(req)).await;
    }
    let stranger = Here {
        who: Who::Stranger,
        ..Here::now()
    };
    let mut res = stranger
        .scope(async {
            if is_open(&req) {
                next.run(req).await
            } else {
                refusal(&req)
            }
        })
        .await;
    // A stranger holds no connection open for later.
    res.headers_mut()
        .insert(header::CONNECTION, HeaderValue::from_static("close"));
    res
}

/// What a stranger may have.
fn is_open(req: &Request) -> bool {
    let path = req.uri().path();
    let reading = matches!(*req.method(), Method::GET | Method::HEAD);
    path == "/pair" || reading && (path.starts_with("/static/") || path == "/authority.crt")
}

/// To the page that pairs where a person looks at a page; words where a script or a form asks.
fn refusal(req: &Request) -> Response {
    let reading = matches!(*req.method(), Method::GET | Method::HEAD);
    let looking = req
        .headers()
        .get("sec-fetch-mode")
        .is_none_or(|mode| mode == "navigate");
    if reading && looking {
        let here = req.uri().path_and_query().map_or("/", |p| p.as_str());
        let to = match here {
            "/" => String::new(),
            wanted => format!("?to={}", percent(wanted)),
        };
        return Redirect::to(&format!("/pair{to}")).into_response();
    }
    Problem::new(
        StatusCode::UNAUTHORIZED,
        Error::new(
            Kind::Missing,
            "what this device proves itself with",
            "nothing that is good here",
            "a device that is paired",
            "Open /pair on this device and enter a code made at the machine the program runs on.",
        ),
    )
    .into_response()
}

/// Text as it may stand behind a question mark.
fn percent(text: &str) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"-._~/".contains(&b);
    text.bytes()
        .map(|b| match b {
            b if plain(b) => char::from(b).to_string(),
            b => format!("%{b:02X}"),
        })
        .collect()
}

/// The session that a browser shows.
fn session(headers: &HeaderMap) -> Option<&str> {
    let cookies = headers.get_all(header::COOKIE).iter();
    let parts = cookies
        .filter_map(|c| c.to_str().ok())
        .flat_map(|c| c.split(';'));
    parts
        .filter_map(|part| part.trim().split_once('='))
        .find(|(name, _)| *name == SESSION)
        .map(|(_, value)| value)
}

/// What a browser is given to prove itself with.
pub(crate) fn cookie(secret: &str) -> String {
    let seconds = KEPT_DAYS * 24 * 60 * 60;
    format!("{SESSION}={secret}; Max-Age={seconds}; Path=/; Secure; HttpOnly; SameSite=Strict")
}

/// What the store keeps of it.
pub(crate) fn mark_of(secret: &str) -> String {
    super::hex(digest::digest(&digest::SHA256, secret.as_bytes()).as_ref())
}
