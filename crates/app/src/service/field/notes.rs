//! Notes of a roll's frames: written, written again from elsewhere, listed, taken away.
//!
//! A note may be written where the program cannot be reached and come in later, after somebody wrote of the same frame.
//! Then both are joined as far as that goes without choosing, and the rest stands side by side until it is settled.

use super::super::error::unknown;
use super::super::moment::minute_of;
use super::super::shelf::RollView;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::note::{NoteDraft, NoteSent, changed};
use super::stays::RollField;
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::merge::{differing, merge};
use spoolwright_core::field::record::{FrameNote, FramePlace};
use spoolwright_core::shelf::{FrameNoteId, Roll, RollId, RollState};
use spoolwright_store::{Change, Subject};

/// Lenses, filters and places offered to be chosen.
const OFFERED: usize = 4;
/// Rolls of a camera whose notes are looked at for them.
const LOOKED_AT: u32 = 6;

/// A note, other versions of it, and where its frame lies.
#[derive(Debug, Clone, PartialEq)]
pub struct NoteView {
    /// The note.
    pub note: FrameNote,
    /// Versions written elsewhere that wait to be settled.
    pub versions: Vec<FrameNote>,
    /// Where its frame lies, if it is filed.
    pub lies: Option<FramePlace>,
}

/// What the page of a new note starts from.
#[derive(Debug, Clone, PartialEq)]
pub struct NoteStart {
    /// The frame that comes next.
    pub frame: Frame,
    /// The roll's last note, to repeat.
    pub last: Option<FrameNote>,
    /// Lenses used lately, the last one first.
    pub lenses: Vec<String>,
    /// Filters used lately.
    pub filters: Vec<String>,
    /// Places noted lately.
    pub places: Vec<String>,
    /// The minute it is now, while the roll is in a camera; else nothing.
    pub now: String,
}

impl Service {
    /// Notes of a roll in the order of its frames.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn notes_of(&self, roll: RollId) -> Outcome<Vec<NoteView>> {
        let store = self.store();
        let all = store.notes_of_roll(roll)?;
        let filed = !store.strips_of_roll(roll)?.is_empty();
        let notes = all.iter().filter(|n| n.beside.is_none());
        notes
            .map(|note| {
                let lies = match filed {
                    true => store.place_of_frame(roll, note.frame)?,
                    false => None,
                };
                let versions = all.iter().filter(|v| v.beside == Some(note.id));
                Ok(NoteView {
                    note: note.clone(),
                    versions: versions.cloned().collect(),
                    lies,
                })
            })
            .collect()
    }

    /// One note of a roll.
    ///
    /// # Errors
    /// The roll has no note of that number.
    pub fn note_of(&self, roll: RollId, id: FrameNoteId) -> Outcome<NoteView> {
        let all = self.notes_of(roll)?;
        all.into_iter()
            .find(|v| v.note.id == id)
            .ok_or_else(|| unknown("frame note", id))
    }

    /// The note of that number, whatever its roll, and its roll's label.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn note_numbered(&self, id: FrameNoteId) -> Outcome<(String, NoteView)> {
        let note = self.find::<FrameNote>(id)?;
        let roll = self.find::<Roll>(note.roll)?;
        Ok((
            roll.label,
            self.note_of(roll.id, note.beside.unwrap_or(id))?,
        ))
    }

    /// Notes that have another version, with their rolls' labels.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn unsettled(&self) -> Outcome<Vec<(String, FrameNote)>> {
        let versions = self.store().unsettled_notes()?;
        let mut found: Vec<(String, FrameNote)> = Vec::new();
        for of in versions.iter().filter_map(|v| v.beside) {
            if found.iter().all(|(_, n)| n.id != of) {
                let note = self.find::<FrameNote>(of)?;
                found.push((self.find::<Roll>(note.roll)?.label, note));
            }
        }
        Ok(found)
    }

    /// What a new note of a roll starts from.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn note_start(&self, view: &RollView, field: &RollField) -> Outcome<NoteStart> {
        let roll = &view.roll;
        let store = self.store();
        let first = field.now_in().map_or(1, |s| s.load.first_frame);
        let last = store.newest_note_of_roll(roll.id)?;
        let mut recent = store.notes_of_roll(roll.id)?;
        recent.sort_by_key(|n| std::cmp::Reverse(n.id));
        if let Some(stay) = field.stays.last() {
            for load in store.loads_of_camera(stay.camera.id, LOOKED_AT)? {
                if load.roll != roll.id {
                    let mut notes = store.notes_of_roll(load.roll)?;
                    notes.sort_by_key(|n| std::cmp::Reverse(n.id));
                    recent.extend(notes);
                }
            }
        }
        drop(store);
        let lately = |said: fn(&FrameNote) -> &String| {
            let mut words: Vec<String> = Vec::new();
            for word in recent.iter().map(said).filter(|w| !w.is_empty()) {
                if words.len() < OFFERED && !words.contains(word) {
                    words.push(word.clone());
                }
            }
            words
        };
        Ok(NoteStart {
            frame: next_frame(&recent, roll.id, first),
            lenses: lately(|n| &n.lens),
            filters: lately(|n| &n.filter),
            places: lately(|n| &n.place),
            now: match roll.state {
                RollState::InCamera => minute_of(&self.now()),
                _ => String::new(),
            },
            last,
        })
    }

    /// Writes down what a note says: a new one, or onto the one it was made from.
    ///
    /// # Errors
    /// Every fault of the draft; there is no such roll.
    pub fn save_note(
        &self,
        roll: RollId,
        sent: &NoteSent,
        request: Request<'_>,
    ) -> Outcome<Made<FrameNoteId>> {
        let now = self.now();
        let key = sent.key()?;
        self.change(request, |change| {
            let of_roll = find_in::<Roll>(change, roll)?;
            let all = change.notes_of_roll(roll)?;
            let open = change.open_load_of_roll(roll)?;
            let next = next_frame(&all, roll, open.map_or(1, |l| l.first_frame));
            let same = matches!(sent.same.trim(), "yes" | "on" | "true" | "1");
            let draft = match change.newest_note_of_roll(roll)?.filter(|_| same) {
                Some(last) => NoteDraft::repeated(&last).under(&sent.draft),
                None => sent.draft.clone(),
            };
            let said = FrameNote {
                key: key.clone(),
                made_at: now,
                ..draft.read(roll, next)?
            };
            change.about(Subject::of::<Roll>(roll));
            match written_before(change, &all, sent, &said)? {
                None => {
                    let id = change.put(&said)?;
                    let story = format!("Noted {}.", told(&of_roll, &said));
                    Ok(("note.written", story, id))
                }
                Some(stored) => {
                    let base = sent
                        .shown(roll, stored.frame)
                        .unwrap_or_else(|| FrameNote::blank(roll, said.frame));
                    let (story, id) = join(change, &of_roll, &base, &stored, &said)?;
                    Ok(("note.changed", story, id))
                }
            }
        })
    }

    /// Takes a note away, and the versions beside it.
    ///
    /// # Errors
    /// The roll has no note of that number.
    pub fn take_away_note(
        &self,
        roll: RollId,
        id: FrameNoteId,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let of_roll = find_in::<Roll>(change, roll)?;
            let note = find_in::<FrameNote>(change, id)?;
            if note.roll != roll || note.beside.is_some() {
                return Err(unknown("frame note", id));
            }
            change.take_away_note(id)?;
            change.about(Subject::of::<Roll>(roll));
            Ok((
                "note.taken-away",
                format!("Took away the note of {}.", told(&of_roll, &note)),
                (),
            ))
        })
    }
}

/// The stored note that one is another version of: the one it was made from, the one of its key, or that of its frame.
fn written_before(
    change: &Change<'_>,
    all: &[FrameNote],
    sent: &NoteSent,
    said: &FrameNote,
) -> Outcome<Option<FrameNote>> {
    let settled = || all.iter().filter(|n| n.beside.is_none());
    if let Ok(of) = sent.of.trim().parse::<i64>()
        && let Some(note) = settled().find(|n| n.id.0 == of)
    {
        return Ok(Some(note.clone()));
    }
    if let Some(note) = change.note_of_key(&said.key)?
        && note.roll == said.roll
    {
        return Ok(Some(note));
    }
    Ok(settled().find(|n| n.frame == said.frame).cloned())
}

/// Joins what was said with the stored note, and keeps beside it what cannot be joined.
fn join(
    change: &mut Change<'_>,
    roll: &Roll,
    base: &FrameNote,
    stored: &FrameNote,
    said: &FrameNote,
) -> Outcome<(String, FrameNoteId)> {
    let joined = merge(base, stored, said);
    let id = change.put(&joined.note)?;
    let what = changed(stored, &joined.note);
    let beside = joined.beside(said);
    let mut story = match (what.as_str(), &beside) {
        ("", Some(_)) => format!("Noted once more {}", told(roll, stored)),
        ("", None) => format!("Changed nothing of {}", told(roll, stored)),
        (what, _) => format!("Changed the note of {}: {what}", told(roll, stored)),
    };
    if let Some(beside) = beside {
        let known = change.versions_beside(id)?;
        if known.iter().all(|v| !differing(v, &beside).is_empty()) {
            change.put(&beside)?;
        }
        story += "; another version of it stands beside it, to be settled";
    }
    Ok((story + ".", id))
}

/// The frame after the last one noted, not before `first`.
fn next_frame(notes: &[FrameNote], roll: RollId, first: u32) -> Frame {
    let own = notes.iter().filter(|n| n.roll == roll).map(|n| n.frame);
    let next = own.max().map_or(1, |f| f.n().saturating_add(1));
    Frame::number(next.max(first))
}

/// "frame 12 of HM-07: heron on the weir".
pub(super) fn told(roll: &Roll, note: &FrameNote) -> String {
    let subject = match (note.subject.as_str(), note.place.as_str()) {
        ("", "") => String::new(),
        ("", place) => format!(": {place}"),
        (subject, _) => format!(": {subject}"),
    };
    format!("frame {} of {}{subject}", note.frame, roll.label)
}
