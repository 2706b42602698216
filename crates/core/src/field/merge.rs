//! Two versions of one frame note, made from the same one apart from each other: what both can keep, and where a person
//! must choose. Nothing said is ever dropped.

use super::record::FrameNote;
use crate::words::worded;

worded! {
    /// What can be said in a frame note.
    NoteField {
        /// The frame.
        #[default]
        Frame = "frame",
        /// Exposures on it.
        Exposures = "exposures",
        /// Full, half or panoramic.
        Shape = "shape",
        /// When it was taken.
        TakenAt = "taken-at",
        /// f-number.
        Aperture = "aperture",
        /// Shutter time.
        Shutter = "shutter",
        /// Lens.
        Lens = "lens",
        /// Filter.
        Filter = "filter",
        /// EI.
        Ei = "ei",
        /// What is on it.
        Subject = "subject",
        /// Where it was taken.
        Place = "place",
        /// Meter reading.
        MeterEv = "meter-ev",
        /// Whether it can be used.
        Usable = "usable",
        /// Free text.
        Note = "note",
    }
}

/// The one list of what belongs to which field.
macro_rules! by_field {
    ($field:expr, $act:ident) => {
        match $field {
            NoteField::Frame => $act!(frame),
            NoteField::Exposures => $act!(exposures),
            NoteField::Shape => $act!(shape),
            NoteField::TakenAt => $act!(taken_at),
            NoteField::Aperture => $act!(aperture),
            NoteField::Shutter => $act!(shutter_s),
            NoteField::Lens => $act!(lens),
            NoteField::Filter => $act!(filter),
            NoteField::Ei => $act!(ei),
            NoteField::Subject => $act!(subject),
            NoteField::Place => $act!(place),
            NoteField::MeterEv => $act!(meter_ev),
            NoteField::Usable => $act!(usable),
            NoteField::Note => $act!(note),
        }
    };
}

impl NoteField {
    /// Whether two notes say the same in it.
    pub fn same(self, a: &FrameNote, b: &FrameNote) -> bool {
        macro_rules! same {
            ($name:ident) => {
                a.$name == b.$name
            };
        }
        by_field!(self, same)
    }

    /// Makes `to` say in it what `from` says.
    pub fn copy(self, from: &FrameNote, to: &mut FrameNote) {
        macro_rules! copy {
            ($name:ident) => {
                to.$name.clone_from(&from.$name)
            };
        }
        by_field!(self, copy);
    }
}

/// The fields in which two notes differ, in the order a form lists them.
pub fn differing(a: &FrameNote, b: &FrameNote) -> Vec<NoteField> {
    let all = NoteField::ALL.iter().copied();
    all.filter(|f| !f.same(a, b)).collect()
}

/// Two versions joined as far as that goes without choosing.
#[derive(Debug, Clone, PartialEq)]
pub struct Merge {
    /// The stored version, with what only the other one changed.
    pub note: FrameNote,
    /// Fields that both changed, to different things: `note` holds the stored one, and a person chooses.
    pub disputed: Vec<NoteField>,
}

impl Merge {
    /// The version to keep beside [`Merge::note`] until a person has chosen: it says what the other one said where the
    /// two are at odds, and the same elsewhere. None when nothing is disputed.
    pub fn beside(&self, other: &FrameNote) -> Option<FrameNote> {
        if self.disputed.is_empty() {
            return None;
        }
        let mut beside = self.note.clone();
        for field in &self.disputed {
            field.copy(other, &mut beside);
        }
        Some(FrameNote {
            id: crate::shelf::FrameNoteId(0),
            key: String::new(),
            beside: Some(self.note.id),
            made_at: other.made_at.clone(),
            ..beside
        })
    }
}

/// Joins the stored version of a note and another one that was made from the same `base`. Without one, each field that
/// both say counts as changed by both: then `base` is [`FrameNote::blank`].
pub fn merge(base: &FrameNote, stored: &FrameNote, other: &FrameNote) -> Merge {
    let mut note = stored.clone();
    let mut disputed = Vec::new();
    for field in differing(stored, other) {
        if field.same(base, stored) {
            field.copy(other, &mut note);
        } else if !field.same(base, other) {
            disputed.push(field);
        }
    }
    Merge { note, disputed }
}
