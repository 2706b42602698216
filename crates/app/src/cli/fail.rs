//! How the command line fails: four parts on standard error, and the exit code.

use std::io::{self, Write};
use std::process::ExitCode;

use serde_json::json;
use spoolwright_core::{Error, Kind};

/// Bad input, or something else that went wrong.
pub(super) enum Failure {
    /// What the person gave cannot be used.
    Input(Error),
    /// Nothing is wrong with the input: a file, the disk, the network.
    Other(anyhow::Error),
}

impl From<Error> for Failure {
    fn from(error: Error) -> Self {
        Self::Input(error)
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        Self::Other(error.into())
    }
}

impl From<anyhow::Error> for Failure {
    fn from(error: anyhow::Error) -> Self {
        match error.downcast::<Error>() {
            Ok(input) => Self::Input(input),
            Err(other) => Self::Other(other),
        }
    }
}

impl Failure {
    /// Says what is wrong, as text or as JSON, and gives the exit code.
    pub(super) fn report(self, as_json: bool, err: &mut dyn Write) -> ExitCode {
        // Nothing is left to do when standard error itself cannot be written.
        match self {
            Self::Other(e)
                if e.downcast_ref::<io::Error>()
                    .is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe) =>
            {
                ExitCode::FAILURE
            }
            Self::Other(e) => {
                let _ = if as_json {
                    writeln!(
                        err,
                        "{}",
                        json!({ "error": { "kind": "failed", "what": format!("{e:#}") } })
                    )
                } else {
                    writeln!(err, "Failed: {e:#}")
                };
                ExitCode::FAILURE
            }
            Self::Input(e) => {
                let _ = if as_json {
                    let parts = json!({
                        "kind": kind_word(e.kind), "what": e.what, "given": e.given,
                        "allowed": e.allowed, "remedy": e.remedy,
                    });
                    writeln!(err, "{}", json!({ "error": parts }))
                } else {
                    writeln!(
                        err,
                        "{}\n  given:   {}\n  allowed: {}\n  {}",
                        e.what, e.given, e.allowed, e.remedy
                    )
                };
                ExitCode::from(2)
            }
        }
    }
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
