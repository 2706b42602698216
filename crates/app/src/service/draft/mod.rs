//! What a person enters about a thing, as typed; a form and a command line fill the same draft.
//!
//! Reading a draft gives the record or every fault at once. Empty fields take the default that the
//! field's help explains.

mod filled;
mod film;
mod tools;
mod want;

pub(crate) use film::free_letters;
pub use film::{
    CanDraft, LOADER_TAKES_M, LONG_CORE_MM, NEW_CAN_SHARE, StockDraft, USUAL_CAN_M, USUAL_CORE_MM,
};
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
        .find(|r| name(r) == text)
        .or_else(|| all.iter().find(|r| name(r).eq_ignore_ascii_case(text)))
        .or_else(|| {
            // A cassette's label is a number more often than not: its number in the store is never meant.
            if R::TABLE == "cassette" {
                return None;
            }
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

/// A fingerprint of a draft as it was shown, to see whether the record has changed since.
pub fn seen<D: serde::Serialize>(draft: &D) -> String {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let mut hasher = DefaultHasher::new();
    fields(draft)
        .iter()
        .for_each(|(name, value)| (name, value.to_string()).hash(&mut hasher));
    format!("{:016x}", hasher.finish())
}

/// What differs between two drafts, in words: `ei 320, note from the market`.
pub(crate) fn differences<D: serde::Serialize>(old: &D, new: &D) -> String {
    let old = fields(old);
    let changed: Vec<String> = fields(new)
        .iter()
        .filter(|(name, value)| old.get(*name) != Some(*value))
        .map(|(name, value)| match value.as_str() {
            Some("") | None => format!("no {}", name.replace('_', " ")),
            Some(text) => format!("{} {text}", name.replace('_', " ")),
        })
        .collect();
    changed.join(", ")
}

fn fields<D: serde::Serialize>(draft: &D) -> serde_json::Map<String, serde_json::Value> {
    match serde_json::to_value(draft) {
        Ok(serde_json::Value::Object(fields)) => fields,
        _ => serde_json::Map::new(),
    }
}
