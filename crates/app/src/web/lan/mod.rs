//! The pages for one's own network: the same as on this machine, over TLS, behind a gate that only paired devices pass.
//!
//! Without a wish for it nothing here runs, and nothing but 127.0.0.1 is bound.

mod certificate;
mod door;
mod gate;
mod pairing;

pub use certificate::{Identity, Names};
pub use door::Limits;
pub use pairing::{CODE_GOOD_FOR_S, Gone, MOST_WRONG, Pairing, TRIES_A_MINUTE, Tried};

pub(crate) use gate::{cookie, mark_of};

use super::app::App;
use super::security::Site;
use super::{PORTS_TRIED, ports};
use crate::network::{Beside, Wish};
use crate::service::Service;
use anyhow::{Context as _, bail};
use axum::Router;
use axum_server::Handle;
use axum_server::tls_rustls::{RustlsAcceptor, RustlsConfig};
use door::Door;
use std::io::ErrorKind;
use std::net::{IpAddr, SocketAddr, TcpListener};
use std::sync::Arc;

/// What serves the network: its names, what it proves itself with, who may be paired.
#[derive(Debug)]
pub struct Lan {
    /// What it proves itself with.
    pub identity: Identity,
    /// Where the pages answer, the best first, such as `https://192.168.1.20:7436`.
    pub origins: Vec<String>,
    /// The code of the moment.
    pub pairing: Pairing,
    /// Where this machine's own browser finds the pages.
    pub at_this_machine: String,
}

impl Lan {
    /// Takes a port on every address wished for, and makes or reads what the program proves itself with.
    ///
    /// # Errors
    /// An address is not this machine's, no port is free on all of them, or the keys cannot be read or written.
    pub fn open(
        service: &Service,
        wish: &Wish,
        at_this_machine: SocketAddr,
    ) -> anyhow::Result<(Self, Vec<TcpListener>)> {
        let listeners = bind(&wish.addresses, wish.port)?;
        let port = listeners
            .first()
            .context("no address")?
            .local_addr()?
            .port();
        let names = Names {
            addresses: wish.addresses.clone(),
            host: wish.host.clone(),
        };
        let today = service.today().parse()?;
        let identity = match service.store_path().filter(|_| !service.is_demo()) {
            Some(store) => {
                let mut folder = store.into_os_string();
                folder.push(".lan");
                Identity::kept(folder.as_ref(), &names, today)?
            }
            None => Identity::fleeting(&names, today)?,
        };
        let origin = |name: &String| match port {
            443 => format!("https://{name}"),
            _ => format!("https://{name}:{port}"),
        };
        let lan = Self {
            origins: identity.names.iter().map(origin).collect(),
            identity,
            pairing: Pairing::new()?,
            at_this_machine: format!("http://{at_this_machine}"),
        };
        Ok((lan, listeners))
    }

    /// What the terminal tells, with a first code to pair by.
    ///
    /// # Errors
    /// The system gives no random numbers.
    pub fn told(&self, service: &Service) -> anyhow::Result<Beside> {
        let code = self.pairing.new_code(service.seconds())?;
        let labels = service.settings().ok().map(|s| s.address);
        Ok(Beside {
            origins: self.origins.clone(),
            certificate: self.identity.certificate_print.clone(),
            authority: self.identity.authority_print.clone(),
            pair: self.pair_address(&code),
            code,
            labels: labels.filter(|address| !self.origins.contains(address)),
        })
    }

    /// The address that fills a code in.
    pub(crate) fn pair_address(&self, code: &str) -> String {
        let first = self.origins.first().map_or("", String::as_str);
        format!("{first}/pair?code={code}")
    }
}

/// Serves the network until `handle` says to end.
///
/// # Errors
/// A server stops.
pub async fn serve(
    service: Arc<Service>,
    lan: Arc<Lan>,
    listeners: Vec<TcpListener>,
    limits: Limits,
    handle: Handle<SocketAddr>,
) -> anyhow::Result<()> {
    let door = Door::new(limits);
    let site = Site {
        origins: lan.origins.clone().into(),
        demo: service.is_demo(),
    };
    let config = RustlsConfig::from_config(Arc::clone(&lan.identity.config));
    let app = App::new(service, Some(lan));
    let pages = pages(app, site, door.clone());
    let mut servers = tokio::task::JoinSet::new();
    for listener in listeners {
        let tls = RustlsAcceptor::new(config.clone())
            .handshake_timeout(limits.greeting)
            .acceptor(door.clone());
        let mut server = axum_server::from_tcp(listener)?
            .http1_only()
            .first_request_timeout(limits.greeting)
            .handle(handle.clone())
            .acceptor(tls);
        server
            .http_builder()
            .http1()
            .header_read_timeout(limits.greeting)
            .max_headers(64)
            .max_buf_size(32 * 1024);
        let pages = pages.clone();
        servers.spawn(server.serve(pages.into_make_service_with_connect_info::<SocketAddr>()));
    }
    while let Some(ended) = servers.join_next().await {
        ended?.context("the page server for the network stopped")?;
    }
    Ok(())
}

/// Every page, behind the gate.
fn pages(app: App, site: Site, door: Door) -> Router {
    let gate = gate::Gate {
        app: app.clone(),
        door,
    };
    let pages = super::pages_of(app, super::pages::devices::for_the_network())
        .layer(axum::middleware::from_fn_with_state(gate, gate::gate));
    super::guarded(pages, site)
}

/// One port on every address.
fn bind(addresses: &[IpAddr], preferred: u16) -> anyhow::Result<Vec<TcpListener>> {
    let mut taken = None;
    for port in ports(preferred) {
        let mut listeners: Vec<TcpListener> = Vec::new();
        for address in addresses {
            // Any free port for the first is the port of all.
            let port = match listeners.first() {
                Some(first) => first.local_addr()?.port(),
                None => port,
            };
            match TcpListener::bind((*address, port)) {
                Ok(listener) => listeners.push(listener),
                Err(e) if e.kind() == ErrorKind::AddrNotAvailable => {
                    bail!(
                        "{address} is not an address of this machine now; leave --lan-address out to take those it has"
                    )
                }
                Err(e) => {
                    taken = Some(e);
                    break;
                }
            }
        }
        if listeners.len() == addresses.len() {
            return Ok(listeners);
        }
    }
    Err(taken.map_or_else(|| anyhow::anyhow!("no port"), anyhow::Error::from)).with_context(|| {
        format!("no port free on every address from {preferred} on, {PORTS_TRIED} were tried; name another with --lan-port")
    })
}

/// Bytes in hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
