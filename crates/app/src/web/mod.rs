//! The page: server-rendered, for the browser on this machine, and for paired devices where that is wished for.
//!
//! Handlers call `service` and hand its answers to a template; they hold no SQL and no formulas.
//! Everything works without JavaScript except what is live by nature.

mod app;
mod assets;
pub mod drawing;
mod field;
mod form;
mod here;
pub mod lan;
mod page;
mod pages;
mod problem;
mod say;
mod security;

use crate::network::{Beside, Wish};
use crate::service::Service;
use anyhow::Context as _;
use app::App;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::get;
use lan::Lan;
use problem::Problem;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;

/// The port tried first.
pub const DEFAULT_PORT: u16 = 7435;
/// How many ports after the first are tried before any free one is taken.
const PORTS_TRIED: u16 = 20;

/// Every page of the service, as it answers on 127.0.0.1 at `port`.
pub fn router(service: Arc<Service>, port: u16) -> Router {
    at_this_machine(service, None, port)
}

fn at_this_machine(service: Arc<Service>, lan: Option<Arc<Lan>>, port: u16) -> Router {
    let site = security::Site::on_this_machine(port, service.is_demo());
    let app = App::new(service, lan);
    guarded(pages_of(app, pages::devices::for_this_machine()), site)
}

/// Every page, with those that only one side has.
fn pages_of(app: App, own: Router<App>) -> Router {
    use pages as p;
    Router::new()
        .merge(p::bench::routes())
        .merge(p::binders::routes())
        .merge(p::cans::routes())
        .merge(p::cassettes::routes())
        .merge(p::devices::routes())
        .merge(p::field::routes())
        .merge(p::first_steps::routes())
        .merge(p::history::routes())
        .merge(p::loaders::routes())
        .merge(p::plan::routes())
        .merge(p::print::routes())
        .merge(p::rolls::routes())
        .merge(p::settings::routes())
        .merge(p::stocks::routes())
        .merge(p::tickets::routes())
        .merge(p::wants::routes())
        .merge(p::wedge::routes())
        .merge(p::wet::routes())
        .merge(own)
        .with_state(app)
        .route("/static/{hash}/{name}", get(assets::serve))
        .fallback(async |uri: axum::http::Uri| Problem::not_found("the page's address", uri.path()))
        .layer(DefaultBodyLimit::max(security::MAX_BODY))
}

/// Pages behind the guard, which every request meets first.
fn guarded(pages: Router, site: security::Site) -> Router {
    pages.layer(axum::middleware::from_fn_with_state(site, security::guard))
}

/// Serves the pages on 127.0.0.1 until the program is told to end: at the preferred port, or the next
/// free one; and to the network where that is wished for. `on_ready` hears the address once it listens, and what is
/// to be told of the network's side.
///
/// # Errors
/// No port is free, or what the network is served with cannot be had.
pub async fn serve(
    service: Arc<Service>,
    preferred_port: u16,
    wish: Option<Wish>,
    on_ready: impl FnOnce(SocketAddr, Option<&Beside>),
) -> anyhow::Result<()> {
    let listener = bind(preferred_port).await?;
    let address = listener.local_addr()?;
    service.served_at(format!("http://{address}"));
    let opened = wish
        .map(|wish| Lan::open(&service, &wish, address))
        .transpose()?;
    let (lan, listeners) = match opened {
        Some((lan, listeners)) => (Some(Arc::new(lan)), listeners),
        None => (None, Vec::new()),
    };
    let beside = lan.as_ref().map(|lan| lan.told(&service)).transpose()?;
    let pages = at_this_machine(Arc::clone(&service), lan.clone(), address.port());
    let handle = axum_server::Handle::new();
    let network = lan.map(|lan| {
        let limits = lan::Limits::default();
        lan::serve(service, lan, listeners, limits, handle.clone())
    });
    on_ready(address, beside.as_ref());
    let here = async move {
        axum::serve(listener, pages)
            .with_graceful_shutdown(async move {
                told_to_end().await;
                handle.graceful_shutdown(Some(FAREWELL));
            })
            .await
            .context("the page server stopped")
    };
    match network {
        Some(network) => tokio::try_join!(here, network).map(|_| ()),
        None => here.await,
    }
}

/// How long open connections may go on once the program is told to end.
const FAREWELL: Duration = Duration::from_secs(2);

async fn told_to_end() {
    // Without a way to hear of the end, serve until the process is ended.
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending::<()>().await;
    }
}

/// The preferred port, those after it, any free one.
fn ports(preferred: u16) -> impl Iterator<Item = u16> {
    (0..=PORTS_TRIED)
        .filter_map(move |i| preferred.checked_add(i))
        .chain([0])
}

/// Binds 127.0.0.1 at the preferred port, or the next free one.
async fn bind(preferred_port: u16) -> anyhow::Result<TcpListener> {
    let mut last = None;
    for port in ports(preferred_port) {
        match TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).await {
            Ok(listener) => return Ok(listener),
            Err(e) => last = Some(e),
        }
    }
    Err(last.map_or_else(|| anyhow::anyhow!("no port"), anyhow::Error::from))
        .context("no free port on 127.0.0.1; end another program that listens there")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two programs at once each get a port of their own, and only on this machine.
    #[tokio::test]
    async fn a_taken_port_gives_way_to_the_next() {
        let first = bind(0).await.unwrap().local_addr().unwrap();
        let held = bind(first.port()).await.unwrap();
        let second = bind(held.local_addr().unwrap().port())
            .await
            .unwrap()
            .local_addr()
            .unwrap();
        assert_ne!(held.local_addr().unwrap().port(), second.port());
        assert!(second.ip().is_loopback());
    }
}
