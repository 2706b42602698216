//! What the program binds and says, with `--lan` and without; devices by the terminal.

use std::collections::HashSet;
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

use serde_json::Value;
use spoolwright::service::Service;
use spoolwright::service::devices::DeviceDraft;

use super::Bench;

struct Served {
    child: Child,
    told: Vec<String>,
}

impl Served {
    /// Starts it and reads what it tells, up to the line that begins so.
    fn start(bench: &Bench, args: &[&str], last: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_spoolwright"))
            .args(args)
            .env("SPOOLWRIGHT_STORE", bench.folder().join("store.sqlite"))
            .stdout(Stdio::piped())
            .spawn()
            .expect("the binary starts");
        let mut told = Vec::new();
        for line in BufReader::new(child.stdout.take().expect("piped")).lines() {
            told.push(line.expect("a line"));
            if told.last().is_some_and(|line| line.starts_with(last)) {
                break;
            }
        }
        Self { child, told }
    }

    fn json(&self) -> Value {
        serde_json::from_str(&self.told[0]).expect("JSON")
    }

    /// Addresses and ports that the process listens at, as the kernel tells them.
    #[cfg(target_os = "linux")]
    fn listens(&self) -> Vec<String> {
        let own: HashSet<String> = std::fs::read_dir(format!("/proc/{}/fd", self.child.id()))
            .expect("its files")
            .filter_map(|f| std::fs::read_link(f.ok()?.path()).ok())
            .filter_map(|to| {
                let to = to.to_str()?.to_owned();
                Some(
                    to.strip_prefix("socket:[")?
                        .trim_end_matches(']')
                        .to_owned(),
                )
            })
            .collect();
        let mut at = Vec::new();
        for table in ["tcp", "tcp6", "udp", "udp6"] {
            let table = std::fs::read_to_string(format!("/proc/{}/net/{table}", self.child.id()));
            for row in table.expect("the kernel's table").lines().skip(1) {
                let cells: Vec<&str> = row.split_whitespace().collect();
                if own.contains(cells[9]) {
                    at.push(cells[1].to_owned());
                }
            }
        }
        at.sort();
        at
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

/// A port as the kernel's table has it.
#[cfg(target_os = "linux")]
fn port(address: &str) -> String {
    let port: u16 = address
        .trim_end_matches('/')
        .rsplit(':')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    format!("{port:04X}")
}

#[cfg(target_os = "linux")]
#[test]
fn nothing_but_this_machine_is_bound_unless_asked_for() {
    let bench = Bench::new();
    for args in [
        &["--json", "serve", "--port", "0"][..],
        &["--json", "demo", "--port", "0"],
    ] {
        let served = Served::start(&bench, args, "{");
        let told = served.json();
        assert!(told.get("lan").is_none(), "{told}");
        let here = port(told["address"].as_str().unwrap());
        assert_eq!(served.listens(), [format!("0100007F:{here}")], "{args:?}");
        assert!(!bench.folder().join("store.sqlite.lan").exists());
    }
    for verb in ["serve", "demo"] {
        let args = [
            "--json",
            verb,
            "--port",
            "0",
            "--lan",
            "--lan-address",
            "127.0.0.2",
            "--lan-address",
            "127.0.0.3",
            "--lan-port",
            "0",
        ];
        let served = Served::start(&bench, &args, "{");
        let told = served.json();
        let here = port(told["address"].as_str().unwrap());
        let there = port(told["lan"]["addresses"][0].as_str().unwrap());
        let mut all = vec![
            format!("0100007F:{here}"),
            format!("0200007F:{there}"),
            format!("0300007F:{there}"),
        ];
        all.sort();
        assert_eq!(served.listens(), all, "{verb}");
        let keeps = bench.folder().join("store.sqlite.lan").exists();
        assert_eq!(keeps, verb == "serve", "a demo keeps nothing");
        std::fs::remove_dir_all(bench.folder().join("store.sqlite.lan")).ok();
    }
}

#[test]
fn the_terminal_tells_how_to_pair() {
    let bench = Bench::new();
    let args = ["--lan", "--lan-address", "127.0.0.2", "--lan-port", "0"];
    let served = Served::start(&bench, &args, "Labels print");
    let told = served.told.join("\n");
    assert!(told.contains("Open http://127.0.0.1:"), "{told}");
    assert!(told.contains("  https://127.0.0.2:"), "{told}");
    let widest = served.told[..served.told.len() - 1]
        .iter()
        .map(|l| l.chars().count())
        .max();
    assert!(widest.unwrap() <= 80, "{widest:?}: {told}");
    let prints = told.matches(':').count();
    assert!(prints > 60, "two fingerprints of 32 pairs: {told}");
    // Read by a decoder that is not the encoder's.
    let code: Vec<Vec<char>> = served
        .told
        .iter()
        .filter(|l| l.chars().any(|c| "█▀▄".contains(c)))
        .map(|l| l.chars().collect())
        .collect();
    let side = code[0].len();
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side * 4, side * 4, |x, y| {
        let (x, y) = (x / 4, y / 4);
        let light = match code.get(y / 2).and_then(|row| row.get(x)) {
            Some('█') => true,
            Some('▀') => y.is_multiple_of(2),
            Some('▄') => !y.is_multiple_of(2),
            _ => false,
        };
        if light { 255 } else { 0 }
    });
    let (_, address) = image.detect_grids()[0].decode().unwrap();
    let digits = address
        .split_once("/pair?code=")
        .expect("the pairing page")
        .1;
    assert!(address.starts_with("https://127.0.0.2:"), "{address}");
    let spaced = format!("enter {} {}", &digits[..4], &digits[4..]);
    assert!(told.contains(&spaced), "{told}");
}

#[test]
fn foreign_addresses_and_misplaced_options_are_refused() {
    let bench = Bench::new();
    let (text, json) = bench.refused(&["serve", "--lan", "--lan-address", "8.8.8.8"]);
    assert!(text.contains("Only your own network is served"), "{text}");
    assert_eq!(json["error"]["given"], "8.8.8.8");
    bench.refused(&["serve", "--lan-address", "10.0.0.1"]);
    bench.refused(&["serve", "--lan-port", "7000"]);
    bench.refused(&["serve", "--lan", "--lan-address", "kitchen"]);
    let (text, _) = bench.refused(&["--lan", "can", "list"]);
    assert!(text.contains("other verbs serve nothing"), "{text}");
    // A private address that is another machine's.
    let out = bench.run(&[
        "serve",
        "--lan",
        "--lan-address",
        "10.254.253.252",
        "--port",
        "0",
    ]);
    assert_eq!(out.status.code(), Some(1));
    let text = String::from_utf8(out.stderr).unwrap();
    assert!(
        text.contains("10.254.253.252 is not an address of this machine"),
        "{text}"
    );
}

#[test]
fn devices_are_listed_and_forgotten() {
    let bench = Bench::new();
    assert!(
        bench
            .say(&["device", "list"])
            .contains("No device is paired")
    );
    let service = Service::open(&bench.folder().join("store.sqlite")).unwrap();
    for (name, mark) in [("Pocket phone", "a"), ("Tablet", "b"), ("Old one", "c")] {
        let draft = DeviceDraft { name: name.into() };
        service.pair_device(&draft, &mark.repeat(64), None).unwrap();
    }
    let story = bench.say(&["device", "forget", "Pocket phone"]);
    assert!(
        story.contains("Undoing this would let it in again"),
        "{story}"
    );
    assert!(
        service.device_with(&"a".repeat(64)).unwrap().is_none(),
        "at once"
    );
    let left = bench.ask(&["device", "list"]);
    let names: Vec<_> = left
        .as_array()
        .unwrap()
        .iter()
        .map(|d| d["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["Tablet", "Old one"]);
    bench.say(&["device", "forget", "2"]);
    bench.say(&["device", "forget", "--all"]);
    assert_eq!(bench.ask(&["device", "list"]), serde_json::json!([]));
    assert_eq!(
        bench
            .ask(&["device", "list", "--all"])
            .as_array()
            .unwrap()
            .len(),
        3
    );
    bench.refused(&["device", "forget"]);
    bench.refused(&["device", "forget", "Tablet"]);
    bench.refused(&["device", "forget", "Tablet", "--all"]);
    // The history says what an undo did.
    bench.say(&["undo"]);
    assert!(service.device_with(&"c".repeat(64)).unwrap().is_some());
    let history = bench.say(&["history"]);
    assert!(
        history.contains(
            "Undid: Forgot every device (\"Old one\"): all are shut out. Undoing this would"
        ),
        "{history}"
    );
}
