//! Without a verb the page is served; `demo` serves an invented year; `print` writes PDF files.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};

use super::Bench;

/// A served page, ended when dropped.
struct Served {
    child: Child,
    /// Host and port.
    host: String,
}

impl Served {
    fn start(bench: &Bench, args: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_spoolwright"))
            .args(args)
            .env("SPOOLWRIGHT_STORE", bench.folder().join("store.sqlite"))
            .env_remove("RUST_BACKTRACE")
            .stdout(Stdio::piped())
            .spawn()
            .expect("the binary starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("piped"))
            .read_line(&mut line)
            .expect("a line");
        let rest = line
            .split("http://")
            .nth(1)
            .unwrap_or_else(|| panic!("no address in `{line}`"));
        Self {
            child,
            host: rest.split('/').next().expect("a host").to_owned(),
        }
    }

    fn get(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(&self.host).expect("it listens");
        write!(
            stream,
            "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            self.host
        )
        .unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).expect("an answer");
        String::from_utf8_lossy(&answer).into_owned()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

#[test]
fn serve_shows_the_store_and_the_next_port_is_taken_when_one_is_in_use() {
    let bench = Bench::filled();
    let first = Served::start(&bench, &["serve", "--port", "0"]);
    assert!(first.host.starts_with("127.0.0.1:"));
    let page = first.get("/");
    assert!(
        page.starts_with("HTTP/1.1 200") && page.contains("Harbour Mist 250"),
        "{page}"
    );
    let port = first.host.rsplit(':').next().unwrap();
    let second = Served::start(&bench, &["--json", "serve", "--port", port]);
    assert_ne!(first.host, second.host);
}

#[test]
fn demo_serves_a_throw_away_store() {
    let bench = Bench::new();
    let demo = Served::start(&bench, &["demo", "--port", "0"]);
    assert!(demo.get("/").starts_with("HTTP/1.1 200"));
    assert!(
        !bench.folder().join("store.sqlite").exists(),
        "the user's own store is not touched"
    );
}

#[test]
fn a_kept_demo_is_a_store_to_work_with() {
    let bench = Bench::new();
    let file = bench.folder().join("demo.sqlite");
    let file = file.to_str().unwrap();
    bench.say(&["demo", "--keep", file]);
    let shelf = bench.ask(&["shelf", "--store", file]);
    assert!(shelf["cans"].as_array().unwrap().len() >= 3);
    assert!(shelf["cassettes"]["all"].as_u64().unwrap() >= 12);
    bench.ask(&["plan", "--store", file]);
    bench.ask(&["wind", "--store", file]);
    bench.ask(&["roll", "list", "--store", file]);
}

#[test]
fn sheets_are_pdf_files_the_same_each_time_and_never_over_another() {
    let bench = Bench::filled();
    bench.say(&["plan", "accept"]);
    bench.say(&["wind", "1", "done", "--cassette", "1"]);
    let at = |name: &str| bench.folder().join(name).to_str().unwrap().to_owned();
    for (sheet, options) in [
        (
            "labels",
            &["--only", "HM-01", "--paper", "letter", "--size", "42x30"][..],
        ),
        ("tickets", &[]),
        ("can-label", &["--only", "HM"]),
        ("dx", &["--latitude", "+2/-1"]),
    ] {
        let print = |file: &str| bench.say(&[&["print", sheet, file], options].concat());
        let (one, two) = (at(&format!("{sheet}-1.pdf")), at(&format!("{sheet}-2.pdf")));
        assert!(print(&one).contains("50 mm"), "{sheet}");
        print(&two);
        let bytes = std::fs::read(&one).unwrap();
        assert!(
            bytes.starts_with(b"%PDF-") && bytes == std::fs::read(&two).unwrap(),
            "{sheet}"
        );
    }
    let (_, error) = bench.refused(&["print", "tickets", &at("labels-1.pdf")]);
    assert_eq!(error["error"]["kind"], "conflict");
    bench.say(&["print", "tickets", &at("labels-1.pdf"), "--force"]);
    let out = bench.run(&["print", "labels", "-"]);
    assert!(out.status.success() && out.stdout.starts_with(b"%PDF-"));
    let (text, _) = bench.refused(&["print", "labels", &at("x.pdf"), "--size", "huge"]);
    assert!(text.starts_with("--size: a label size"), "{text}");
    assert_eq!(
        bench
            .run(&["print", "labels", "/no/such/folder/x.pdf"])
            .status
            .code(),
        Some(1)
    );
}

#[test]
fn a_bottles_card_and_a_runs_sheet_are_pdf_files() {
    let bench = Bench::new();
    bench.say(&[
        "bath", "add", "--name", "Fixer A", "--kind", "fixer", "--volume", "1 l",
    ]);
    bench.say(&[
        "bath", "add", "--name", "Stop B", "--kind", "stop", "--volume", "1 l",
    ]);
    bench.say(&["recipe", "begin", "Negative, one-shot"]);
    bench.say(&[
        "wet",
        "load",
        "--recipe",
        "1",
        "--rehearsal",
        "60",
        "--volume",
        "300",
    ]);
    let at = |name: &str| bench.folder().join(name).to_str().unwrap().to_owned();
    for (sheet, number) in [("bath", "1"), ("bath", "2,1"), ("run", "1")] {
        let (one, two) = (at("one.pdf"), at("two.pdf"));
        for file in [&one, &two] {
            let wrote = bench.say(&["print", sheet, number, file, "--force"]);
            assert!(
                wrote.contains("50 mm") && wrote.contains("1 page"),
                "{wrote}"
            );
        }
        let bytes = std::fs::read(&one).unwrap();
        assert!(
            bytes.starts_with(b"%PDF-") && bytes == std::fs::read(&two).unwrap(),
            "{sheet} {number}"
        );
    }
    for (sheet, number) in [("bath", "9"), ("run", "9"), ("run", "tank")] {
        let out = bench.run(&["print", sheet, number, &at("none.pdf")]);
        assert!(!out.status.success(), "{sheet} {number}");
        assert!(!std::path::Path::new(&at("none.pdf")).exists());
    }
}
