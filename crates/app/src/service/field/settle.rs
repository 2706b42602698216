//! Two versions of a note, settled: for each thing they say differently a person chose one.

use super::super::error::{at, unknown};
use super::super::{Made, Outcome, Request, Service, find_in};
use super::notes::told;
use serde::{Deserialize, Serialize};
use spoolwright_core::field::merge::{NoteField, differing};
use spoolwright_core::field::record::FrameNote;
use spoolwright_core::shelf::{FrameNoteId, Roll, RollId};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;
use std::collections::BTreeMap;

/// Which version is believed in each field: the field's word, and the version's number.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SettleDraft {
    /// Field by field.
    #[serde(flatten)]
    pub believed: BTreeMap<String, String>,
}

/// The fields in which any version differs from the note, in the order of a form.
pub fn disputed(note: &FrameNote, versions: &[FrameNote]) -> Vec<NoteField> {
    let all = NoteField::ALL.iter().copied();
    all.filter(|f| versions.iter().any(|v| !f.same(note, v)))
        .collect()
}

impl Service {
    /// Settles a note: each field as the version says that was chosen for it; no version is left beside it.
    ///
    /// # Errors
    /// A field is not chosen or there is no such version; the note has no other version.
    pub fn settle_note(
        &self,
        roll: RollId,
        id: FrameNoteId,
        draft: &SettleDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let of_roll = find_in::<Roll>(change, roll)?;
            let note = find_in::<FrameNote>(change, id)?;
            if note.roll != roll || note.beside.is_some() {
                return Err(unknown("frame note", id));
            }
            let versions = change.versions_beside(id)?;
            if versions.is_empty() {
                return Err(Error::new(
                    Kind::Conflict,
                    "a note to settle",
                    told(&of_roll, &note),
                    "a note with another version beside it",
                    "Nothing to do: it is settled already.",
                )
                .into());
            }
            let mut settled = note.clone();
            for field in disputed(&note, &versions) {
                let word = field.word();
                let chosen = draft.believed.get(word).map_or("", |w| w.trim());
                let versions = std::iter::once(&note).chain(&versions);
                let version = versions
                    .into_iter()
                    .find(|v| v.id.to_string() == chosen)
                    .ok_or_else(|| at(word, not_chosen(field, chosen)))?;
                field.copy(version, &mut settled);
            }
            change.settle_note(&settled)?;
            change.about(Subject::of::<Roll>(roll));
            let kept = match differing(&note, &settled).len() {
                0 => "as it stood",
                _ => "with what the other version says",
            };
            Ok((
                "note.settled",
                format!("Settled the note of {}: {kept}.", told(&of_roll, &settled)),
                (),
            ))
        })
    }
}

fn not_chosen(field: NoteField, given: &str) -> Error {
    let what = format!(
        "which version is right in {}",
        field.word().replace('-', " ")
    );
    if given.is_empty() {
        return Error::missing(what, "one of the versions shown", "Choose one.");
    }
    Error::new(
        Kind::Unknown,
        what,
        crate::calc::words::shorten(given),
        "one of the versions shown",
        "Open the page anew and choose one.",
    )
}
