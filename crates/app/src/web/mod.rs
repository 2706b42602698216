//! The page: server-rendered, for the one browser on this machine.
//!
//! Handlers call `service` and hand its answers to a template; they hold no SQL and no formulas.
//! Everything works without JavaScript except what is live by nature.

mod app;
mod assets;
pub mod drawing;
mod field;
mod form;
mod here;
mod page;
mod pages;
mod problem;
mod say;
mod security;

use crate::service::Service;
use anyhow::Context as _;
use app::App;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::get;
use problem::Problem;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio::net::TcpListener;

/// The port tried first.
pub const DEFAULT_PORT: u16 = 7435;
/// How many ports after the first are tried before any free one is taken.
const PORTS_TRIED: u16 = 20;

/// Every page of the service, as it answers on 127.0.0.1 at `port`.
pub fn router(service: Arc<Service>, port: u16) -> Router {
    use pages as p;
    let site = security::Site {
        port,
        demo: service.is_demo(),
    };
    Router::new()
        .merge(p::bench::routes())
        .merge(p::cans::routes())
        .merge(p::cassettes::routes())
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
        .with_state(App::new(service))
        .route("/static/{hash}/{name}", get(assets::serve))
        .fallback(async |uri: axum::http::Uri| Problem::not_found("the page's address", uri.path()))
        .layer(DefaultBodyLimit::max(security::MAX_BODY))
        .layer(axum::middleware::from_fn_with_state(site, security::guard))
}

/// Serves the pages on 127.0.0.1 until the program is told to end: at the preferred port, or the next
/// free one. `on_ready` hears the address once it listens.
///
/// # Errors
/// No port is free.
pub async fn serve(
    service: Arc<Service>,
    preferred_port: u16,
    on_ready: impl FnOnce(SocketAddr),
) -> anyhow::Result<()> {
    let listener = bind(preferred_port).await?;
    let address = listener.local_addr()?;
    service.served_at(format!("http://{address}"));
    let pages = router(service, address.port());
    on_ready(address);
    axum::serve(listener, pages)
        .with_graceful_shutdown(async {
            // Without a way to hear of the end, serve until the process is ended.
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending::<()>().await;
            }
        })
        .await
        .context("the page server stopped")
}

/// Binds 127.0.0.1 at the preferred port, or the next free one.
async fn bind(preferred_port: u16) -> anyhow::Result<TcpListener> {
    let ports = (0..=PORTS_TRIED)
        .filter_map(|i| preferred_port.checked_add(i))
        .chain([0]);
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
