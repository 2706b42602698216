//! The one error of the core: what was asked, what was given, what is allowed, what to do.
//!
//! Every edge (terminal, page, `calc`) shows these four parts; none of them invents its own text.

use std::fmt;

/// What kind of thing went wrong, so that an edge can choose an exit code or a status.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number is NaN, infinite, or outside its bounds.
    OutOfRange,
    /// Something needed was not given.
    Missing,
    /// Two things given contradict each other.
    Inconsistent,
    /// A word, field or id that is not known.
    Unknown,
    /// More was given than one call may take.
    TooLarge,
    /// Nothing can satisfy what was asked.
    Impossible,
    /// It was so once, but something has changed it since.
    Conflict,
}

/// A refusal, in four parts that a person can act on.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub struct Error {
    /// The kind of refusal.
    pub kind: Kind,
    /// What was wrong, naming the field or thing.
    pub what: String,
    /// What was given, as it was read.
    pub given: String,
    /// What is allowed.
    pub allowed: String,
    /// What to do.
    pub remedy: String,
}

impl Error {
    /// A refusal of `kind`: what was wrong, what was given, what is allowed, what to do.
    pub fn new(
        kind: Kind,
        what: impl Into<String>,
        given: impl fmt::Display,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            kind,
            what: what.into(),
            given: given.to_string(),
            allowed: allowed.into(),
            remedy: remedy.into(),
        }
    }

    /// Something needed is absent.
    pub fn missing(
        what: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self::new(Kind::Missing, what, "nothing", allowed, remedy)
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: given {}; allowed: {}. {}",
            self.what, self.given, self.allowed, self.remedy
        )
    }
}
