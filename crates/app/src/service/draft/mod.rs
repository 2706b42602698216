//! What a person enters about a thing, as typed; a form and a command line fill the same draft.
//!
//! Reading a draft gives the record or every fault at once. Empty fields take the default that the
//! field's help explains.

mod filled;
mod film;
mod tools;
mod want;

pub(crate) use film::free_letters;
pub use film::{CanDraft, NEW_CAN_SHARE, StockDraft, USUAL_CAN_M, USUAL_CORE_MM};
pub use tools::{CassetteDraft, LoaderDraft};
pub use want::WantDraft;

use spoolwright_core::{Error, Kind};
use spoolwright_store::Record;

/// The one record that a name or number means.
pub(crate) fn pick<'a, R: Record>(
    all: &'a [R],
    text: &str,
    kind: &str,
    name: fn(&R) -> &String,
) -> Result<Option<&'a R>, Error> {
    let text = text.trim();
    all.iter()
        .find(|r| name(r).eq_ignore_ascii_case(text))
        .or_else(|| {
            let number: i64 = text.parse().ok()?;
            all.iter().find(|r| r.id().into().0 == number)
        })
        .map(Some)
        .ok_or_else(|| {
            if text.is_empty() {
                return Error::missing(
                    format!("a {kind}"),
                    format!("a {kind} on the shelf"),
                    "Choose one.",
                );
            }
            let known: Vec<&str> = all.iter().map(|r| name(r).as_str()).take(12).collect();
            Error::new(
                Kind::Unknown,
                kind,
                format!("{text:?}"),
                if known.is_empty() {
                    format!("a {kind} on the shelf; there is none yet")
                } else {
                    known.join(", ")
                },
                format!("Choose one of these, or add the {kind} first."),
            )
        })
}
