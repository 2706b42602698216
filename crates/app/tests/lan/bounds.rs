//! Strangers who say nothing, or say it slowly, or come in a crowd, hold no place for long.

use super::{House, SECOND, greet, read_reply, trusting};
use spoolwright::web::lan::Limits;
use std::io::{ErrorKind, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

fn short() -> Limits {
    Limits {
        connections: 6,
        per_address: 4,
        greeting: Duration::from_millis(400),
        stranger: Duration::from_millis(1500),
        silence: Duration::from_millis(900),
    }
}

/// Waits until the other side ends it.
fn ends(stream: &mut impl Read) -> Duration {
    let begun = Instant::now();
    let mut rest = Vec::new();
    stream.read_to_end(&mut rest).ok();
    begun.elapsed()
}

#[test]
fn one_who_says_nothing_is_not_waited_for() {
    let house = House::within(short());
    let mut silent = TcpStream::connect(house.address).unwrap();
    silent
        .set_read_timeout(Some(Duration::from_secs(20)))
        .unwrap();
    assert!(
        ends(&mut silent) < Duration::from_secs(10),
        "before the handshake"
    );
    let mut silent = house.connect();
    assert!(ends(&mut silent) < Duration::from_secs(10), "after it");
    let mut half = house.connect();
    half.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
    assert!(ends(&mut half) < Duration::from_secs(10), "within a head");
}

#[test]
fn a_form_that_never_ends_is_not_waited_for() {
    let house = House::within(short());
    let mut stream = house.connect();
    let host = house.host();
    write!(
        stream,
        "POST /pair HTTP/1.1\r\nHost: {host}\r\nOrigin: https://{host}\r\nContent-Length: 1000\r\n\r\n"
    )
    .unwrap();
    let begun = Instant::now();
    // A letter now and then keeps it from being silent.
    while stream.write_all(b"a").and_then(|()| stream.flush()).is_ok() {
        assert!(
            begun.elapsed() < Duration::from_secs(20),
            "it is still listened to"
        );
        std::thread::sleep(Duration::from_millis(200));
    }
}

/// Who comes too many is turned away at once, while the others are still waited for; later there is room again.
#[test]
fn a_crowd_from_one_address_leaves_when_its_time_is_over() {
    let house = House::within(Limits {
        greeting: Duration::from_secs(5),
        ..short()
    });
    let crowd: Vec<TcpStream> = (0..6)
        .map(|_| TcpStream::connect(house.address).unwrap())
        .collect();
    let gone = |guest: &TcpStream| {
        guest.set_nonblocking(true).unwrap();
        let peeked = guest.peek(&mut [0]);
        !peeked.is_err_and(|e| e.kind() == ErrorKind::WouldBlock)
    };
    let begun = Instant::now();
    let mut turned_away = 0;
    while turned_away < 2 && begun.elapsed() < Duration::from_secs(4) {
        turned_away = crowd.iter().filter(|guest| gone(guest)).count();
        std::thread::sleep(Duration::from_millis(20));
    }
    assert_eq!(turned_away, 2, "four have a place");
    let room = || {
        let config = trusting(&house.lan.identity.authority, rustls::ALL_VERSIONS);
        greet(house.address, SECOND.into(), config).is_ok()
    };
    while !room() {
        assert!(begun.elapsed() < Duration::from_secs(30), "no room");
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// A stranger's stay is bounded, a paired device's is not: it may ask one thing after another.
#[test]
fn a_paired_device_may_stay() {
    let house = House::within(Limits {
        greeting: Duration::from_secs(10),
        silence: Duration::from_secs(10),
        ..short()
    });
    let session = house.pair();
    let host = house.host();
    let mut stream = house.connect();
    let begun = Instant::now();
    let mut answered = 0;
    while begun.elapsed() < Duration::from_secs(3) {
        let request = format!("HEAD / HTTP/1.1\r\nHost: {host}\r\nCookie: {session}\r\n\r\n");
        stream.write_all(request.as_bytes()).unwrap();
        let mut head = Vec::new();
        while !head.ends_with(b"\r\n\r\n") {
            let mut byte = [0];
            stream.read_exact(&mut byte).unwrap();
            head.push(byte[0]);
        }
        assert!(
            head.starts_with(b"HTTP/1.1 200"),
            "{}",
            String::from_utf8_lossy(&head)
        );
        answered += 1;
        std::thread::sleep(Duration::from_millis(200));
    }
    assert!(answered > 5);
}

#[test]
fn a_head_without_end_is_refused() {
    let house = House::open();
    let mut stream = house.connect();
    let long = format!(
        "GET /pair HTTP/1.1\r\nHost: {}\r\nX-Long: {}\r\n\r\n",
        house.host(),
        "x".repeat(100_000)
    );
    // It may be cut off before all of it was sent.
    stream.write_all(long.as_bytes()).ok();
    assert_eq!(read_reply(&mut stream).status, 431);
    let body = "x".repeat(100_000);
    let origin = format!("https://{}", house.host());
    let reply = house.ask("POST", "/pair", &[("Origin", &origin)], &body);
    assert_eq!(reply.status, 413);
}
