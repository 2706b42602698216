//! What the program proves itself with: kept, renewed, and good for home networks only.

use super::{House, SECOND, greet, trusting};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use rcgen::{CertificateParams, Issuer, KeyPair};
use ring::digest;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::server::ParsedCertificate;
use spoolwright::web::lan::{Identity, Names};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::time::Duration;

const TODAY: Date = date(2026, 5, 17);

fn names(last: u8) -> Names {
    Names {
        addresses: vec![[192, 168, 1, last].into(), "fd12::7".parse().unwrap()],
        host: Some("workbench".into()),
    }
}

fn certificate(folder: &Path) -> CertificateDer<'static> {
    kept(folder, "certificate")
}

fn kept(folder: &Path, what: &str) -> CertificateDer<'static> {
    let text = std::fs::read_to_string(folder.join("identity.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    CertificateDer::from_pem_slice(json[what].as_str().unwrap().as_bytes()).unwrap()
}

/// Whether a certificate is good for a name on a day, in the eyes of one who trusts the authority.
fn is_good(certificate: &CertificateDer<'_>, authority: &[u8], name: &str, day: Date) -> bool {
    let mut roots = rustls::RootCertStore::empty();
    roots.add(CertificateDer::from(authority.to_vec())).unwrap();
    let parsed = ParsedCertificate::try_from(certificate).unwrap();
    let seconds = day.in_tz("UTC").unwrap().timestamp().as_second() + 12 * 3600;
    let at = UnixTime::since_unix_epoch(Duration::from_secs(seconds as u64));
    let algorithms = rustls::crypto::ring::default_provider()
        .signature_verification_algorithms
        .all;
    rustls::client::verify_server_cert_signed_by_trust_anchor(&parsed, &roots, &[], at, algorithms)
        .is_ok()
        && rustls::client::verify_server_name(
            &parsed,
            &ServerName::try_from(name.to_owned()).unwrap(),
        )
        .is_ok()
}

#[test]
fn it_is_kept_and_another_address_renews_the_certificate_only() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path().join("store.sqlite.lan");
    let first = Identity::kept(&folder, &names(20), TODAY).unwrap();
    let leaf = certificate(&folder);
    for name in ["192.168.1.20", "fd12::7", "workbench", "workbench.local"] {
        assert!(is_good(&leaf, &first.authority, name, TODAY), "{name}");
    }
    for name in ["192.168.1.21", "workbench.example", "local"] {
        assert!(!is_good(&leaf, &first.authority, name, TODAY), "{name}");
    }

    let again = Identity::kept(&folder, &names(20), TODAY + 90.days()).unwrap();
    assert_eq!(again.certificate_print, first.certificate_print);
    assert_eq!(again.authority_print, first.authority_print);

    let moved = Identity::kept(&folder, &names(21), TODAY).unwrap();
    assert_ne!(moved.certificate_print, first.certificate_print);
    assert_eq!(moved.authority_print, first.authority_print);
    assert_eq!(moved.authority, first.authority);
    assert!(is_good(
        &certificate(&folder),
        &first.authority,
        "192.168.1.21",
        TODAY
    ));

    // Another name of the machine: the authority may vouch for it below "local" only.
    let renamed = Names {
        host: Some("cellar".into()),
        ..names(21)
    };
    let renamed = Identity::kept(&folder, &renamed, TODAY).unwrap();
    assert_eq!(renamed.names, ["192.168.1.21", "[fd12::7]", "cellar.local"]);
    assert_eq!(renamed.authority_print, first.authority_print);
    assert!(is_good(
        &certificate(&folder),
        &first.authority,
        "cellar.local",
        TODAY
    ));
}

#[test]
fn a_certificate_lasts_at_most_397_days_and_is_renewed_before_its_end() {
    let folder = tempfile::tempdir().unwrap();
    let first = Identity::kept(folder.path(), &names(20), TODAY).unwrap();
    let leaf = certificate(folder.path());
    let good = |day: Date| is_good(&leaf, &first.authority, "192.168.1.20", day);
    assert!(good(TODAY) && good(TODAY + 395.days()));
    assert!(!good(TODAY - 2.days()));
    assert!(
        !good(TODAY + 396.days()),
        "from the day before to then are 397"
    );

    let near = Identity::kept(folder.path(), &names(20), TODAY + 365.days()).unwrap();
    assert_eq!(near.certificate_print, first.certificate_print);
    let renewed = Identity::kept(folder.path(), &names(20), TODAY + 366.days()).unwrap();
    assert_ne!(renewed.certificate_print, first.certificate_print);
    assert_eq!(renewed.authority_print, first.authority_print);
    // A clock that stood wrong: a certificate from the future is not kept.
    let back = Identity::kept(folder.path(), &names(20), TODAY).unwrap();
    assert_ne!(back.certificate_print, renewed.certificate_print);

    let old = Identity::kept(folder.path(), &names(20), TODAY + 9.years()).unwrap();
    assert_ne!(
        old.authority_print, first.authority_print,
        "an authority ends too"
    );
}

#[cfg(unix)]
#[test]
fn only_its_owner_may_read_it() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path().join("keys");
    Identity::kept(&folder, &names(20), TODAY).unwrap();
    Identity::kept(&folder, &names(21), TODAY).unwrap();
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&folder), 0o700);
    let files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|f| f.unwrap().path())
        .collect();
    assert_eq!(
        files,
        [folder.join("identity.json")],
        "nothing half written is left"
    );
    assert_eq!(mode(&files[0]), 0o600);
}

#[test]
fn what_is_something_else_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("identity.json");
    for other in ["", "Dear diary", "{\"name\": 3}"] {
        std::fs::write(&file, other).unwrap();
        let refused = Identity::kept(folder.path(), &names(20), TODAY).unwrap_err();
        assert!(
            format!("{refused:#}").contains("Move it away"),
            "{refused:#}"
        );
        assert_eq!(std::fs::read_to_string(&file).unwrap(), other);
    }
}

/// Even with its key in other hands, the authority vouches for home networks only [RFC 5280, 4.2.1.10].
#[test]
fn the_authority_cannot_vouch_for_the_world() {
    let folder = tempfile::tempdir().unwrap();
    let identity = Identity::kept(folder.path(), &names(20), TODAY).unwrap();
    let text = std::fs::read_to_string(folder.path().join("identity.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let stolen = KeyPair::from_pem(json["authority_key"].as_str().unwrap()).unwrap();
    let mut authority = CertificateParams::default();
    authority.distinguished_name = rcgen::DistinguishedName::new();
    authority
        .distinguished_name
        .push(rcgen::DnType::CommonName, json["name"].as_str().unwrap());
    let issuer = Issuer::new(authority, stolen);
    let signed = |name: &str| {
        let mut params = CertificateParams::new(vec![name.to_owned()]).unwrap();
        params.not_before = rcgen::date_time_ymd(2026, 5, 1);
        params.not_after = rcgen::date_time_ymd(2026, 6, 1);
        let key = KeyPair::generate().unwrap();
        params.signed_by(&key, &issuer).unwrap().der().clone()
    };
    for home in [
        "192.168.7.7",
        "10.1.2.3",
        "fd00::1",
        "anything.local",
        "workbench",
    ] {
        assert!(
            is_good(&signed(home), &identity.authority, home, TODAY),
            "{home}"
        );
    }
    for world in ["bank.example", "8.8.8.8", "2001:db8::1", "local.example"] {
        assert!(
            !is_good(&signed(world), &identity.authority, world, TODAY),
            "{world}"
        );
    }
}

#[test]
fn the_handshake_shows_what_the_terminal_told() {
    let house = House::open();
    let stream = house.connect();
    let chain = stream.conn.peer_certificates().unwrap();
    let print = |der: &[u8]| {
        let hash = digest::digest(&digest::SHA256, der);
        let pairs: Vec<String> = hash.as_ref().iter().map(|b| format!("{b:02X}")).collect();
        pairs.join(":")
    };
    let told = house.lan.told(&house.service).unwrap();
    assert_eq!(print(&chain[0]), told.certificate);
    assert_eq!(print(&chain[1]), told.authority);
    assert_eq!(told.origins[0], format!("https://{}", house.host()));
    assert_eq!(
        told.pair,
        format!("https://{}/pair?code={}", house.host(), told.code)
    );
    assert_eq!(told.labels.as_deref(), Some("http://127.0.0.1:7435"));

    // By name as well, and not by another.
    for (name, good) in [
        ("workbench.local", true),
        ("workbench", true),
        ("elsewhere.local", false),
    ] {
        let config = trusting(&house.lan.identity.authority, rustls::ALL_VERSIONS);
        let name = ServerName::try_from(name).unwrap();
        assert_eq!(greet(house.address, name, config).is_ok(), good);
    }
    // One who trusts another program's authority is not taken in.
    let other = Identity::fleeting(&names(20), TODAY).unwrap();
    let config = trusting(&other.authority, rustls::ALL_VERSIONS);
    assert!(greet(house.address, SECOND.into(), config).is_err());
}

#[test]
fn nothing_older_than_tls_1_2() {
    let house = House::open();
    for version in [&rustls::version::TLS12, &rustls::version::TLS13] {
        let config = trusting(&house.lan.identity.authority, &[version]);
        assert!(
            greet(house.address, SECOND.into(), config).is_ok(),
            "{version:?}"
        );
    }
    for (minor, answered) in [(0, false), (1, false), (2, false), (3, true)] {
        // A client's greeting that knows no newer version than 3.`minor` [RFC 5246, 7.4.1.2]: an ECDSA suite, its
        // curve, its point format and its signature.
        let extensions = [
            &[0, 10, 0, 4, 0, 2, 0, 23][..],
            &[0, 11, 0, 2, 1, 0],
            &[0, 13, 0, 4, 0, 2, 4, 3],
        ]
        .concat();
        let mut hello = vec![3, minor];
        hello.extend([7; 32]);
        hello.extend([0, 0, 2, 0xc0, 0x2b, 1, 0, 0, extensions.len() as u8]);
        hello.extend(extensions);
        let length = hello.len() as u8;
        let mut record = vec![22, 3, 1, 0, length + 4, 1, 0, 0, length];
        record.extend(hello);
        let mut stream = TcpStream::connect(house.address).unwrap();
        stream.write_all(&record).unwrap();
        let mut answer = [0; 7];
        stream.read_exact(&mut answer).unwrap();
        if answered {
            assert_eq!(answer[0], 22, "a handshake goes on");
        } else {
            // An alert: fatal, protocol version.
            assert_eq!((answer[0], &answer[5..]), (21, &[2, 70][..]), "3.{minor}");
        }
    }
}

#[test]
fn plain_http_gets_no_page() {
    let house = House::open();
    let mut stream = TcpStream::connect(house.address).unwrap();
    write!(stream, "GET / HTTP/1.1\r\nHost: {}\r\n\r\n", house.host()).unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).ok();
    assert!(!answer.starts_with(b"HTTP/"), "{answer:?}");
}
