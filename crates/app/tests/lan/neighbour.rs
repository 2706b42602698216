//! A neighbour in a network namespace of its own, over a wire of its own: needs Linux and its rights, and says so where
//! it cannot be made.

use super::{greet, trusting};
use rustls::pki_types::ServerName;
use rustls::pki_types::pem::PemObject;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

const HOUSE: &str = "10.213.47.1";
const PHONE: &str = "10.213.47.2";

/// A namespace and the wire to it, taken away when dropped.
struct Neighbour {
    name: String,
}

impl Neighbour {
    fn new() -> Option<Self> {
        let name = format!("spool{}", std::process::id());
        let wire = format!("sw{}", std::process::id() % 1_000_000);
        let neighbour = Self { name: name.clone() };
        let steps = [
            format!("netns add {name}"),
            format!("link add {wire}a type veth peer name {wire}b netns {name}"),
            format!("addr add {HOUSE}/30 dev {wire}a"),
            format!("link set {wire}a up"),
            format!("-n {name} addr add {PHONE}/30 dev {wire}b"),
            format!("-n {name} link set {wire}b up"),
        ];
        for step in steps {
            let done = Command::new("ip").args(step.split(' ')).output();
            if !done.is_ok_and(|o| o.status.success()) {
                return None;
            }
        }
        Some(neighbour)
    }
}

impl Drop for Neighbour {
    fn drop(&mut self) {
        // The wire goes with it.
        Command::new("ip")
            .args(["netns", "del", &self.name])
            .output()
            .ok();
    }
}

struct Program(Child);

impl Drop for Program {
    fn drop(&mut self) {
        self.0.kill().ok();
        self.0.wait().ok();
    }
}

#[test]
fn a_neighbour_over_a_wire_pairs_and_reaches_only_the_network_s_side() {
    let Some(neighbour) = Neighbour::new() else {
        eprintln!(
            "Skipped: a network namespace with a wire to it cannot be made here (it takes Linux, `ip` and root)."
        );
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store.sqlite");
    let mut child = Command::new(env!("CARGO_BIN_EXE_spoolwright"))
        .args(["--json", "serve", "--port", "0", "--lan", "--lan-port", "0"])
        .args(["--lan-address", HOUSE])
        .env("SPOOLWRIGHT_STORE", &store)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut told = String::new();
    BufReader::new(child.stdout.take().unwrap())
        .read_line(&mut told)
        .unwrap();
    let _program = Program(child);
    let told: serde_json::Value = serde_json::from_str(&told).unwrap();
    let port = |address: &str| {
        address
            .trim_end_matches('/')
            .rsplit(':')
            .next()
            .unwrap()
            .to_owned()
    };
    let out = Command::new("ip")
        .args(["netns", "exec", &neighbour.name])
        .arg(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "neighbour::on_the_other_side",
            "--ignored",
            "--nocapture",
        ])
        .env("PORT_HERE", port(told["address"].as_str().unwrap()))
        .env(
            "PORT_THERE",
            port(told["lan"]["addresses"][0].as_str().unwrap()),
        )
        .env("CODE", told["lan"]["code"].as_str().unwrap())
        .env("KEYS", folder.path().join("store.sqlite.lan/identity.json"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stdout);
    assert!(
        out.status.success() && said.contains("1 passed"),
        "{said}\n{}",
        String::from_utf8_lossy(&out.stderr)
    );
}

/// What the neighbour does; started by the test above, in its namespace.
#[test]
#[ignore = "runs in the other namespace"]
fn on_the_other_side() {
    let given = |name: &str| std::env::var(name).unwrap();
    let port = |name: &str| given(name).parse::<u16>().unwrap();
    let quick = Duration::from_secs(3);
    for (host, port) in [
        (HOUSE, port("PORT_HERE")),
        ("127.0.0.1", port("PORT_HERE")),
        ("127.0.0.1", port("PORT_THERE")),
    ] {
        let address = SocketAddr::new(host.parse().unwrap(), port);
        assert!(
            TcpStream::connect_timeout(&address, quick).is_err(),
            "{address} answers"
        );
    }
    let address = SocketAddr::new(HOUSE.parse().unwrap(), port("PORT_THERE"));
    let keys: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(given("KEYS")).unwrap()).unwrap();
    let authority = rustls::pki_types::CertificateDer::from_pem_slice(
        keys["authority"].as_str().unwrap().as_bytes(),
    )
    .unwrap();
    let ask = |request: String| {
        let config = trusting(&authority, rustls::ALL_VERSIONS);
        let mut stream =
            greet(address, ServerName::IpAddress(address.ip().into()), config).unwrap();
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).ok();
        String::from_utf8_lossy(&answer).into_owned()
    };
    let head = format!("HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n");
    let stranger = ask(format!("GET / {head}\r\n"));
    assert!(
        stranger.starts_with("HTTP/1.1 303") && stranger.contains("location: /pair"),
        "{stranger}"
    );
    let form = format!("name=Neighbour&code={}", given("CODE"));
    let paired = ask(format!(
        "POST /pair {head}Origin: https://{address}\r\nContent-Length: {}\r\nContent-Type: application/x-www-form-urlencoded\r\n\r\n{form}",
        form.len()
    ));
    let cookie = paired
        .split("set-cookie: ")
        .nth(1)
        .unwrap_or_else(|| panic!("{paired}"));
    let cookie = cookie.split(';').next().unwrap();
    let page = ask(format!("GET /devices {head}Cookie: {cookie}\r\n\r\n"));
    assert!(
        page.starts_with("HTTP/1.1 200") && page.contains("Neighbour (this device)"),
        "{page}"
    );
}
