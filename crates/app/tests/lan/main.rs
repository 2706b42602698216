//! The network's side over a second loopback address, with real TLS: a client that trusts the program's own authority
//! and nothing else.

mod bounds;
mod keys;
mod neighbour;
mod pairing;

use jiff::Timestamp;
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{
    ClientConfig, ClientConnection, RootCertStore, StreamOwned, SupportedProtocolVersion,
};
use spoolwright::network::Wish;
use spoolwright::service::Service;
use spoolwright::service::wet::Tick;
use spoolwright::web::lan::{self, Lan, Limits};
use spoolwright_store::Store;
use std::io::{Read, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpStream};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, mpsc};
use std::thread::JoinHandle;
use std::time::Duration;
use tempfile::TempDir;

/// Another address of this machine than the one its own browser uses.
const SECOND: IpAddr = IpAddr::V4(Ipv4Addr::new(127, 0, 0, 2));
const NAME: &str = "Pocket phone";

fn a_day() -> Timestamp {
    "2026-05-17T10:00:00Z".parse().unwrap()
}

/// A program that serves the network, ended when dropped.
struct House {
    service: Arc<Service>,
    lan: Arc<Lan>,
    address: SocketAddr,
    seconds: Arc<AtomicU64>,
    handle: axum_server::Handle<SocketAddr>,
    thread: Option<JoinHandle<()>>,
    folder: TempDir,
}

struct Reply {
    status: u16,
    head: String,
    body: String,
}

impl Reply {
    fn header(&self, name: &str) -> &str {
        let mut lines = self.head.lines().filter_map(|l| l.split_once(": "));
        lines
            .find(|(n, _)| n.eq_ignore_ascii_case(name))
            .map_or("", |(_, value)| value)
    }

    /// The session it gives, as a browser sends it back.
    #[track_caller]
    fn session(&self) -> String {
        let cookie = self.header("set-cookie").split(';').next().unwrap();
        assert!(cookie.starts_with("__Host-spoolwright="), "{}", self.head);
        cookie.to_owned()
    }

    #[track_caller]
    fn says(&self, words: &str) {
        assert!(
            self.body.contains(words),
            "{words:?} is not in:\n{}",
            self.body
        );
    }
}

impl House {
    fn open() -> Self {
        Self::within(Limits::default())
    }

    fn within(limits: Limits) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let seconds = Arc::new(AtomicU64::new(1000));
        let clock = Arc::clone(&seconds);
        let tick = move || Tick {
            boot: "one".into(),
            since_boot_s: clock.load(Ordering::Relaxed) as f64,
        };
        let store = Store::open(&folder.path().join("store.sqlite")).unwrap();
        let service = Arc::new(Service::over(store, Box::new(a_day)).ticking(Box::new(tick)));
        let here = SocketAddr::from(([127, 0, 0, 1], 7435));
        let wish = Wish {
            addresses: vec![SECOND],
            host: Some("workbench".into()),
            port: 0,
        };
        let (lan, listeners) = Lan::open(&service, &wish, here).unwrap();
        let address = listeners[0].local_addr().unwrap();
        let (lan, handle) = (Arc::new(lan), axum_server::Handle::new());
        let serving = (Arc::clone(&service), Arc::clone(&lan), handle.clone());
        let (up, is_up) = mpsc::channel();
        let thread = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_multi_thread()
                .worker_threads(2)
                .enable_all()
                .build()
                .unwrap();
            runtime.block_on(async {
                up.send(()).unwrap();
                let (service, lan, handle) = serving;
                lan::serve(service, lan, listeners, limits, handle)
                    .await
                    .unwrap();
            });
        });
        is_up.recv().unwrap();
        Self {
            service,
            lan,
            address,
            seconds,
            handle,
            thread: Some(thread),
            folder,
        }
    }

    /// Lets seconds of the machine's clock pass.
    fn wait(&self, seconds: u64) {
        self.seconds.fetch_add(seconds, Ordering::Relaxed);
    }

    fn host(&self) -> String {
        self.address.to_string()
    }

    fn code(&self) -> String {
        self.lan.pairing.new_code(self.service.seconds()).unwrap()
    }

    fn connect(&self) -> StreamOwned<ClientConnection, TcpStream> {
        let config = trusting(&self.lan.identity.authority, rustls::ALL_VERSIONS);
        greet(self.address, SECOND.into(), config).unwrap()
    }

    fn send(&self, request: &str) -> Reply {
        let mut stream = self.connect();
        stream.write_all(request.as_bytes()).unwrap();
        read_reply(&mut stream)
    }

    fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Reply {
        let mut request = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        if !headers.iter().any(|(n, _)| *n == "Host") {
            request.push_str(&format!("Host: {}\r\n", self.host()));
        }
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        if method == "POST" {
            request.push_str(&format!(
                "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n",
                body.len()
            ));
        }
        self.send(&format!("{request}\r\n{body}"))
    }

    fn get(&self, path: &str, session: &str) -> Reply {
        self.ask("GET", path, &[("Cookie", session)], "")
    }

    /// A form of the page's own.
    fn post(&self, path: &str, session: &str, form: &str) -> Reply {
        let origin = format!("https://{}", self.host());
        let headers = [
            ("Origin", origin.as_str()),
            ("Sec-Fetch-Site", "same-origin"),
            ("Cookie", session),
        ];
        self.ask("POST", path, &headers, form)
    }

    fn try_code(&self, code: &str) -> Reply {
        let name = NAME.replace(' ', "+");
        self.post("/pair", "", &format!("name={name}&code={code}"))
    }

    /// Pairs a device and gives its session.
    fn pair(&self) -> String {
        let reply = self.try_code(&self.code());
        assert_eq!(reply.status, 303, "{}", reply.body);
        reply.session()
    }
}

impl Drop for House {
    fn drop(&mut self) {
        self.handle.shutdown();
        if let Some(thread) = self.thread.take() {
            thread.join().ok();
        }
    }
}

/// A client that trusts one authority and nothing else.
fn trusting(authority: &[u8], versions: &[&'static SupportedProtocolVersion]) -> ClientConfig {
    let mut roots = RootCertStore::empty();
    roots.add(CertificateDer::from(authority.to_vec())).unwrap();
    ClientConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_protocol_versions(versions)
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth()
}

/// A connection whose handshake is over.
fn greet(
    address: SocketAddr,
    name: ServerName<'static>,
    config: ClientConfig,
) -> std::io::Result<StreamOwned<ClientConnection, TcpStream>> {
    let mut stream = TcpStream::connect(address)?;
    stream.set_read_timeout(Some(Duration::from_secs(30)))?;
    let mut client = ClientConnection::new(Arc::new(config), name).unwrap();
    while client.is_handshaking() {
        client.complete_io(&mut stream)?;
    }
    Ok(StreamOwned::new(client, stream))
}

/// Reads to the end; an end without farewell is one too.
fn read_reply(stream: &mut impl Read) -> Reply {
    let mut bytes = Vec::new();
    if let Err(e) = stream.read_to_end(&mut bytes) {
        assert_eq!(e.kind(), std::io::ErrorKind::UnexpectedEof, "{e}");
    }
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let (head, body) = text
        .split_once("\r\n\r\n")
        .unwrap_or_else(|| panic!("no answer in {text:?}"));
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    Reply {
        status,
        head: head.to_owned(),
        body: body.to_owned(),
    }
}
