//! How the command line fails: four parts on standard error, and the exit code.

use std::io::{self, Write};
use std::process::ExitCode;

use serde_json::{Value, json};
use spoolwright_core::{Error, Kind};

use crate::service::{self, Fault};

/// Bad input, or something else that went wrong.
pub(super) enum Failure {
    /// What the person gave cannot be used; at least one fault.
    Input(Vec<Fault>),
    /// Nothing is wrong with the input: a file, the disk, the network.
    Other(anyhow::Error),
}

impl From<Error> for Failure {
    fn from(error: Error) -> Self {
        Self::Input(vec![Fault {
            field: String::new(),
            error,
        }])
    }
}

impl From<service::Failure> for Failure {
    fn from(failure: service::Failure) -> Self {
        match failure {
            service::Failure::Refused(faults) => Self::Input(faults),
            // The store's own words hold their cause already.
            service::Failure::Trouble(e) => Self::Other(anyhow::Error::msg(e.to_string())),
        }
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        Self::Other(error.into())
    }
}

impl From<anyhow::Error> for Failure {
    fn from(error: anyhow::Error) -> Self {
        Self::Other(error)
    }
}

impl Failure {
    /// Says what is wrong, as text or as JSON, and gives the exit code.
    pub(super) fn report(self, as_json: bool, err: &mut dyn Write) -> ExitCode {
        let (text, code) = match &self {
            // Whoever read our output has stopped reading: nothing to tell them.
            Self::Other(e) if is_broken_pipe(e) => return ExitCode::FAILURE,
            Self::Other(e) if as_json => (
                json!({ "error": { "kind": "failed", "what": format!("{e:#}") } }).to_string(),
                1,
            ),
            Self::Other(e) => (format!("Failed: {e:#}"), 1),
            Self::Input(faults) if as_json => (in_json(faults).to_string(), 2),
            Self::Input(faults) => {
                let texts: Vec<String> = faults.iter().map(in_words).collect();
                (texts.join("\n"), 2)
            }
        };
        // Nothing is left to do when standard error itself cannot be written.
        let _ = writeln!(err, "{text}");
        ExitCode::from(code)
    }
}

fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error
        .downcast_ref::<io::Error>()
        .is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe)
}

/// Fields that a verb may take without an option's name.
const PLAIN: [&str; 5] = ["grams", "outer_mm", "length", "clicks", "parts"];

/// A draft's field as it was, or should be, typed.
fn option(field: &str) -> String {
    let name = format!("--{}", field.replace('_', "-"));
    let typed = std::env::args().any(|a| a == name || a.starts_with(&format!("{name}=")));
    if typed || !PLAIN.contains(&field) {
        name
    } else {
        field.replace('_', " ")
    }
}

fn in_words(fault: &Fault) -> String {
    let Error {
        what,
        given,
        allowed,
        remedy,
        ..
    } = &fault.error;
    let place = if fault.field.is_empty() {
        String::new()
    } else {
        format!("{}: ", option(&fault.field))
    };
    format!("{place}{what}\n  given:   {given}\n  allowed: {allowed}\n  {remedy}")
}

/// The first fault, and all of them when there are several.
fn in_json(faults: &[Fault]) -> Value {
    let all: Vec<Value> = faults
        .iter()
        .map(|fault| {
            let Error { kind, what, given, allowed, remedy } = &fault.error;
            let mut parts = json!({
                "kind": kind_word(*kind), "what": what, "given": given, "allowed": allowed, "remedy": remedy,
            });
            if !fault.field.is_empty() {
                parts["field"] = fault.field.as_str().into();
            }
            parts
        })
        .collect();
    let mut report = json!({ "error": all.first() });
    if 1 < all.len() {
        report["errors"] = all.into();
    }
    report
}

/// The word of a kind in JSON.
fn kind_word(kind: Kind) -> &'static str {
    match kind {
        Kind::OutOfRange => "out_of_range",
        Kind::Missing => "missing",
        Kind::Inconsistent => "inconsistent",
        Kind::Unknown => "unknown",
        Kind::TooLarge => "too_large",
        Kind::Impossible => "impossible",
        Kind::Conflict => "conflict",
    }
}
