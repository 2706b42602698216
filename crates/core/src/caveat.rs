//! What limits a number shown: a value comes with the caveats that a person must read beside it.

/// One reason to trust a number less, in a stable word for programs and a sentence for people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caveat {
    /// A stable, lower-case word with underscores.
    pub code: &'static str,
    /// One sentence for the user.
    pub text: String,
}

impl Caveat {
    /// A caveat with its stable code and its sentence.
    pub fn new(code: &'static str, text: impl Into<String>) -> Self {
        Self {
            code,
            text: text.into(),
        }
    }
}
