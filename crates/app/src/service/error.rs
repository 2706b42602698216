//! Why a wish could not be granted: faults in what was entered, or trouble with the store.

use spoolwright_core::{Error, Kind};
use std::fmt;

/// One fault, at the field it belongs to (empty when it is about the whole).
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Name of the form field or option.
    pub field: String,
    /// What was wrong, given, allowed, and what to do.
    pub error: Error,
}

/// A wish not granted; nothing has been changed.
#[derive(Debug)]
pub enum Failure {
    /// Faults the person can mend, all of them at once.
    Refused(Vec<Fault>),
    /// The store failed.
    Trouble(spoolwright_store::Error),
}

/// The result of every service function.
pub type Outcome<T> = Result<T, Failure>;

impl Failure {
    /// The faults; empty for trouble with the store.
    pub fn faults(&self) -> &[Fault] {
        match self {
            Self::Refused(faults) => faults,
            Self::Trouble(_) => &[],
        }
    }

    /// Whether what was asked for is simply not there.
    pub fn is_not_found(&self) -> bool {
        self.faults()
            .iter()
            .any(|f| f.error.kind == Kind::Unknown && f.field.is_empty())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Refused(faults) => {
                for (i, fault) in faults.iter().enumerate() {
                    if i > 0 {
                        writeln!(f)?;
                    }
                    write!(f, "{}", fault.error)?;
                }
                Ok(())
            }
            Self::Trouble(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for Failure {}

impl From<Error> for Failure {
    fn from(error: Error) -> Self {
        Self::Refused(vec![Fault {
            field: String::new(),
            error,
        }])
    }
}

impl From<spoolwright_store::Error> for Failure {
    fn from(error: spoolwright_store::Error) -> Self {
        match error {
            spoolwright_store::Error::Refused(e) => e.into(),
            other => Self::Trouble(other),
        }
    }
}

/// A thing that is not on the shelf.
pub(crate) fn unknown(kind: &str, given: impl fmt::Display) -> Failure {
    Error::new(
        Kind::Unknown,
        kind,
        given,
        format!("a {kind} that is on the shelf"),
        "Look it up in the list.",
    )
    .into()
}

/// A refusal about one field.
pub(crate) fn at(field: &str, error: Error) -> Failure {
    Failure::Refused(vec![Fault {
        field: field.to_owned(),
        error,
    }])
}
