//! A frame note as typed, and what a page knows of the note that it sends.

use super::super::entry::{self, Reader};
use super::super::wet::tools::read;
use super::super::{Outcome, draft::differences};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{FrameNote, FrameShape};
use spoolwright_core::shelf::RollId;
use spoolwright_core::wet::exposure::{F_NUMBER, TIME_S};
use spoolwright_core::{Error, Kind};

/// Exposures on one frame.
pub const EXPOSURES: Bounds = Bounds::new("exposures on one frame", "", 1.0, 99.0);
/// A meter reading.
pub const METER_EV: Bounds = Bounds::new("a meter reading", "EV", -20.0, 40.0);
/// Characters of a lens or a filter.
const LONGEST_NAME: usize = 80;
/// Characters of a subject or a place.
const LONGEST_LINE: usize = 200;
/// Characters of the free text.
const LONGEST_TEXT: usize = 1000;
/// Characters of the random word that a page makes with a note.
const LONGEST_KEY: usize = 80;

/// A frame note as typed. Nothing is obligatory.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct NoteDraft {
    /// The frame, as on the counter: 12, 12A; the next one when empty.
    #[arg(long, default_value = "")]
    pub frame: String,
    /// What is on it.
    #[arg(long, default_value = "")]
    pub subject: String,
    /// Where it was taken.
    #[arg(long, default_value = "")]
    pub place: String,
    /// f-number, such as 5.6.
    #[arg(long, default_value = "")]
    pub aperture: String,
    /// Shutter time, such as 1/125, 2 or 1:30.
    #[arg(long, default_value = "")]
    pub shutter: String,
    /// Lens, in your words.
    #[arg(long, default_value = "")]
    pub lens: String,
    /// Filter, in your words.
    #[arg(long, default_value = "")]
    pub filter: String,
    /// EI, where it differs from the roll's.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// Meter reading, an exposure value at the EI used.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub meter_ev: String,
    /// When it was taken: YYYY-MM-DD, or with the time, 2026-05-17 14:05.
    #[arg(long, default_value = "")]
    pub taken_at: String,
    /// full, half or panoramic; full when empty.
    #[arg(long, default_value = "")]
    pub shape: String,
    /// Exposures on it; 1 when empty, 2 for a double exposure.
    #[arg(long, default_value = "")]
    pub exposures: String,
    /// Whether it can be used: yes or no; not looked at when empty.
    #[arg(long, default_value = "")]
    pub usable: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// What a page sends with a note besides what was typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct NoteSent {
    /// What was typed.
    #[serde(flatten)]
    pub draft: NoteDraft,
    /// The number of the note that was changed; empty for a new one.
    pub of: String,
    /// A random word that the page made with the note, so that it is one note however often it is sent.
    pub key: String,
    /// The note as the page showed it, as JSON: what differs from it was typed here.
    pub base: String,
    /// Yes: what is left empty is as in the roll's last note.
    pub same: String,
}

impl NoteDraft {
    /// The note that this says of a frame of a roll; `next` is the frame when none is said.
    pub(super) fn read(&self, roll: RollId, next: Frame) -> Outcome<FrameNote> {
        let mut r = Reader::new();
        let mut note = FrameNote::blank(roll, next);
        if !self.frame.trim().is_empty() {
            let frame = Frame::parse(&self.frame);
            note.frame = r.keep("frame", frame, next);
        }
        note.subject = r.free("subject", "a subject", &self.subject, LONGEST_LINE);
        note.place = r.free("place", "a place", &self.place, LONGEST_LINE);
        let mut read = |field, text: &str, read: fn(&Bounds, &str) -> Result<f64, Error>, b| {
            let some = (!text.trim().is_empty()).then(|| read(b, text)).transpose();
            r.keep(field, some, None)
        };
        note.aperture = read("aperture", &self.aperture, read::f_number, &F_NUMBER);
        note.shutter_s = read("shutter", &self.shutter, read::seconds, &TIME_S);
        note.lens = r.free("lens", "a lens", &self.lens, LONGEST_NAME);
        note.filter = r.free("filter", "a filter", &self.filter, LONGEST_NAME);
        note.ei = r.optional("ei", &self.ei, entry::SPEED, &bounds::SPEED_ISO);
        note.meter_ev = r.optional("meter_ev", &self.meter_ev, &[("ev", 1.0)], &METER_EV);
        note.taken_at = taken_at(&mut r, &self.taken_at);
        note.shape = r.word("shape", &self.shape, FrameShape::from_word);
        if !self.exposures.trim().is_empty() {
            note.exposures = r.whole("exposures", &self.exposures, &EXPOSURES);
        }
        note.usable = match self.usable.trim() {
            "" => None,
            text => Some(r.yes("usable", text)),
        };
        note.note = r.free("note", "a note", &self.note, LONGEST_TEXT);
        r.finish()?;
        Ok(note)
    }

    /// What the next frame has in common with the one before unless something else is typed.
    pub fn repeated(of: &FrameNote) -> Self {
        Self {
            frame: String::new(),
            taken_at: String::new(),
            exposures: String::new(),
            usable: String::new(),
            note: String::new(),
            ..Self::from(of)
        }
    }

    /// What was typed, and what `self` says where nothing was.
    pub(super) fn under(mut self, typed: &Self) -> Self {
        let over = |old: &mut String, new: &String| {
            if !new.trim().is_empty() {
                old.clone_from(new);
            }
        };
        over(&mut self.frame, &typed.frame);
        over(&mut self.subject, &typed.subject);
        over(&mut self.place, &typed.place);
        over(&mut self.aperture, &typed.aperture);
        over(&mut self.shutter, &typed.shutter);
        over(&mut self.lens, &typed.lens);
        over(&mut self.filter, &typed.filter);
        over(&mut self.ei, &typed.ei);
        over(&mut self.meter_ev, &typed.meter_ev);
        over(&mut self.taken_at, &typed.taken_at);
        over(&mut self.shape, &typed.shape);
        over(&mut self.exposures, &typed.exposures);
        over(&mut self.usable, &typed.usable);
        over(&mut self.note, &typed.note);
        self
    }

    /// The same as one text, for a page to send back.
    pub fn as_base(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

impl NoteSent {
    /// The note as the page showed it, if it can be read.
    pub(super) fn shown(&self, roll: RollId, frame: Frame) -> Option<FrameNote> {
        let base: NoteDraft = serde_json::from_str(&self.base).ok()?;
        base.read(roll, frame).ok()
    }

    /// The key, if it is one.
    pub(super) fn key(&self) -> Outcome<String> {
        let key = self.key.trim();
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
        if key.chars().count() > LONGEST_KEY || !key.chars().all(plain) {
            return Err(Error::new(
                Kind::OutOfRange,
                "a note's key",
                crate::calc::words::shorten(key),
                format!("up to {LONGEST_KEY} letters, digits and hyphens"),
                "Open the note's page anew.",
            )
            .into());
        }
        Ok(key.to_owned())
    }
}

impl From<&FrameNote> for NoteDraft {
    fn from(n: &FrameNote) -> Self {
        let number = |x: Option<f64>| x.map(|x| x.to_string()).unwrap_or_default();
        Self {
            frame: n.frame.to_string(),
            subject: n.subject.clone(),
            place: n.place.clone(),
            aperture: number(n.aperture),
            shutter: n.shutter_s.map(shutter).unwrap_or_default(),
            lens: n.lens.clone(),
            filter: n.filter.clone(),
            ei: number(n.ei),
            meter_ev: number(n.meter_ev),
            taken_at: n.taken_at.clone().unwrap_or_default(),
            shape: match n.shape {
                FrameShape::Full => String::new(),
                other => other.word().to_owned(),
            },
            exposures: match n.exposures {
                1 => String::new(),
                many => many.to_string(),
            },
            usable: match n.usable {
                None => "",
                Some(true) => "yes",
                Some(false) => "no",
            }
            .to_owned(),
            note: n.note.clone(),
        }
    }
}

/// A shutter time as it stands on the dial, `1/125`, or in seconds; it is read back to the same number.
pub fn shutter(s: f64) -> String {
    let whole = (1.0 / s).round();
    if s < 1.0 && whole >= 2.0 && (1.0 / whole - s).abs() <= f64::EPSILON * s {
        format!("1/{whole}")
    } else {
        s.to_string()
    }
}

/// What differs between two notes, in words.
pub(super) fn changed(old: &FrameNote, new: &FrameNote) -> String {
    differences(&NoteDraft::from(old), &NoteDraft::from(new))
}

/// A day, or a day and a minute: as the store keeps it.
fn taken_at(r: &mut Reader, text: &str) -> Option<String> {
    let text = text.trim();
    let Some((day, time)) = text.split_once(['T', ' ']) else {
        return r.date("taken_at", text);
    };
    let day = r.date("taken_at", day)?;
    match time.trim().parse::<jiff::civil::Time>() {
        Ok(time) => Some(format!("{day}T{}", time.strftime("%H:%M"))),
        Err(_) => {
            r.fault(
                "taken_at",
                Error::new(
                    Kind::OutOfRange,
                    "a time of day",
                    crate::calc::words::shorten(time),
                    "hours and minutes, such as 14:05",
                    "Write the day, then the time: 2026-05-17 14:05.",
                ),
            );
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a form shows of a note is read back to the very same note.
    #[test]
    fn a_note_shown_and_read_is_the_same() {
        let typed = NoteDraft {
            frame: "12a".into(),
            subject: "heron on the weir".into(),
            aperture: "f/5,6".into(),
            shutter: "1/125".into(),
            taken_at: "2026-05-17 14:05".into(),
            exposures: "2".into(),
            shape: "half".into(),
            usable: "no".into(),
            meter_ev: "-2.5 EV".into(),
            ..NoteDraft::default()
        };
        let note = typed.read(RollId(1), Frame::FIRST).unwrap();
        assert_eq!((note.aperture, note.shutter_s), (Some(5.6), Some(0.008)));
        assert_eq!(note.taken_at.as_deref(), Some("2026-05-17T14:05"));
        let shown = NoteDraft::from(&note);
        assert_eq!(shown.read(RollId(1), Frame::FIRST).unwrap(), note);
        assert_eq!(shown.shutter, "1/125");
        for s in [0.000_125, 0.3, 1.5, 0.0079, 90.0, 1.0 / 3.0, 0.5, 0.999] {
            let told = shutter(s);
            let back = read::seconds(&TIME_S, &told).unwrap();
            assert_eq!(back, s, "{told}");
        }
    }

    #[test]
    fn every_fault_of_a_note_is_told_at_its_field() {
        let typed = NoteDraft {
            frame: "twelve".into(),
            aperture: "wide".into(),
            shutter: "fast".into(),
            taken_at: "2026-05-17 late".into(),
            exposures: "0".into(),
            shape: "round".into(),
            usable: "perhaps".into(),
            meter_ev: "99".into(),
            ei: "-1".into(),
            subject: "x".repeat(201),
            ..NoteDraft::default()
        };
        let refused = typed.read(RollId(1), Frame::FIRST).unwrap_err();
        let fields: Vec<&str> = refused.faults().iter().map(|f| f.field.as_str()).collect();
        assert_eq!(
            fields,
            [
                "frame",
                "subject",
                "aperture",
                "shutter",
                "ei",
                "meter_ev",
                "taken_at",
                "shape",
                "exposures",
                "usable"
            ]
        );
    }
}
