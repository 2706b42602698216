//! The main job on the command line, as a person types it: the real binary over a store of its own.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

mod binder;
mod faults;
mod field;
mod job;
mod keep;
mod lan;
mod page;
mod scan;
mod wedge;
mod wedge_scan;
mod wet;

#[path = "../scan_picture/mod.rs"]
mod scan_picture;

/// A store of its own, and the program to use it with.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    fn folder(&self) -> &Path {
        self.folder.path()
    }

    fn run(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_spoolwright"))
            .args(args)
            .env("SPOOLWRIGHT_STORE", self.folder().join("store.sqlite"))
            .env_remove("RUST_BACKTRACE")
            .output()
            .expect("the binary runs")
    }

    /// What a command that must succeed prints.
    #[track_caller]
    fn say(&self, args: &[&str]) -> String {
        let out = self.run(args);
        let err = String::from_utf8_lossy(&out.stderr);
        assert!(out.status.success() && err.is_empty(), "{args:?}: {err}");
        String::from_utf8(out.stdout).expect("UTF-8")
    }

    /// The same as JSON.
    #[track_caller]
    fn ask(&self, args: &[&str]) -> Value {
        let text = self.say(&[args, &["--json"]].concat());
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("{args:?}: {e}\n{text}"))
    }

    /// What a command that must be refused says, as text and as JSON.
    #[track_caller]
    fn refused(&self, args: &[&str]) -> (String, Value) {
        let plain = self.run(args);
        let json = self.run(&[args, &["--json"]].concat());
        for out in [&plain, &json] {
            assert_eq!(out.status.code(), Some(2), "{args:?}");
            assert!(out.stdout.is_empty(), "{args:?}");
        }
        let json: Value = serde_json::from_slice(&json.stderr).expect("the refusal is JSON");
        for part in ["kind", "what", "given", "allowed", "remedy"] {
            assert!(
                json["error"][part].as_str().is_some_and(|t| !t.is_empty()),
                "{args:?}: no {part}"
            );
        }
        (String::from_utf8(plain.stderr).expect("UTF-8"), json)
    }

    /// A shelf with two stocks, a loader, two cans, six cassettes, two wants.
    fn filled() -> Self {
        let bench = Self::new();
        for line in [
            &["stock", "add", "--name", "Harbour Mist 250", "--ei", "250"][..],
            &["stock", "add", "--name", "Slate 100", "--ei", "100"],
            &["loader", "add", "--name", "Grey box", "--dial-zero", "-4"],
            &[
                "can",
                "add",
                "--stock",
                "Harbour Mist 250",
                "--length",
                "100ft",
                "--price",
                "58",
            ],
            &[
                "can",
                "add",
                "--stock",
                "slate 100",
                "--length",
                "12,5 m",
                "--length-sd",
                "0.3 m",
                "--price",
                "20",
            ],
            &["cassette", "add", "--label", "1-6"],
            &[
                "want",
                "add",
                "--what-for",
                "the ferry",
                "--frames",
                "50",
                "--stocks",
                "1",
                "--priority",
                "1",
            ],
            &["want", "add", "--what-for", "garden", "--frames", "24"],
        ] {
            bench.say(line);
        }
        bench
    }
}
