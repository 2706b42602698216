//! `spoolwright note`: what was noted of each frame.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};
use spoolwright_core::field::merge::NoteField;
use spoolwright_core::field::record::FrameNote;
use spoolwright_core::shelf::FrameNoteId;
use spoolwright_core::{Error, Kind};

use super::Failure;
use super::desk::{Desk, Table, listed, over};
use crate::service::field::find::lies_in_words;
use crate::service::field::note::{NoteDraft, NoteSent};
use crate::service::field::notes::NoteView;
use crate::service::field::settle::{SettleDraft, disputed};

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Note a frame of a roll; nothing but the roll is obligatory.
    Add {
        /// The roll's label, such as HM-07.
        roll: String,
        #[command(flatten)]
        draft: NoteDraft,
        /// What is left out is as in the roll's last note.
        #[arg(long)]
        same: bool,
    },
    /// Change a note; a lone - empties a field.
    Change {
        /// Its number.
        #[arg(value_name = "NOTE")]
        number: i64,
        #[command(flatten)]
        draft: NoteDraft,
    },
    /// List a roll's frames with their notes, or every note that waits to be settled.
    List {
        /// The roll's label; notes to be settled when left out.
        #[arg(default_value = "")]
        roll: String,
    },
    /// Show a note with every version of it.
    Show {
        /// Its number.
        #[arg(value_name = "NOTE")]
        number: i64,
    },
    /// Settle a note that has another version: FIELD=VERSION for each field they say differently.
    Settle {
        /// Its number.
        #[arg(value_name = "NOTE")]
        number: i64,
        /// Which version is right in a field, such as aperture=17.
        #[arg(value_name = "FIELD=VERSION")]
        believed: Vec<String>,
    },
    /// Take a note away; the history keeps it.
    Remove {
        /// Its number.
        #[arg(value_name = "NOTE")]
        number: i64,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Add { roll, draft, same } => {
            let id = desk.service.roll(&roll)?.roll.id;
            let sent = NoteSent {
                draft,
                same: if same { "yes" } else { "" }.into(),
                ..NoteSent::default()
            };
            let made = desk.service.save_note(id, &sent, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { number, draft } => {
            let (_, view) = desk.service.note_numbered(FrameNoteId(number))?;
            let old = NoteDraft::from(&view.note);
            let sent = NoteSent {
                draft: over(&old, &draft)?,
                of: view.note.id.to_string(),
                base: old.as_base(),
                ..NoteSent::default()
            };
            let made = desk
                .service
                .save_note(view.note.roll, &sent, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::List { roll } if roll.is_empty() => to_settle(desk),
        Verb::List { roll } => list(desk, &roll),
        Verb::Show { number } => {
            let (label, view) = desk.service.note_numbered(FrameNoteId(number))?;
            desk.answer(told(&label, &view), || of_view(&label, &view))
        }
        Verb::Settle { number, believed } => {
            let (_, view) = desk.service.note_numbered(FrameNoteId(number))?;
            let draft = SettleDraft {
                believed: chosen(&believed)?,
            };
            let made =
                desk.service
                    .settle_note(view.note.roll, view.note.id, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Remove { number } => {
            let (_, view) = desk.service.note_numbered(FrameNoteId(number))?;
            let made = desk
                .service
                .take_away_note(view.note.roll, view.note.id, desk.request)?;
            desk.told(made)
        }
    }
}

fn chosen(believed: &[String]) -> Result<BTreeMap<String, String>, Error> {
    believed
        .iter()
        .map(|one| {
            let (field, version) = one.split_once('=').ok_or_else(|| {
                Error::new(
                    Kind::Unknown,
                    "which version is right",
                    format!("{one:?}"),
                    "FIELD=VERSION, such as aperture=17",
                    "`spoolwright note show` lists the versions with their numbers.",
                )
            })?;
            let field = NoteField::from_word(field.trim())?;
            Ok((field.word().to_owned(), version.trim().to_owned()))
        })
        .collect()
}

fn list(desk: &mut Desk<'_>, label: &str) -> Result<(), Failure> {
    let view = desk.service.roll(label)?;
    let notes = desk.service.notes_of(view.roll.id)?;
    let label = &view.roll.label;
    let mut table = Table::new(&[
        ">frame", ">note", "subject", "place", ">f", ">time", "lens", "filter", "taken", "lies",
    ]);
    for v in &notes {
        let d = NoteDraft::from(&v.note);
        let mark = if v.versions.is_empty() { "" } else { " *" };
        table.row([
            d.frame,
            format!("{}{mark}", v.note.id),
            d.subject,
            d.place,
            d.aperture,
            d.shutter,
            d.lens,
            d.filter,
            d.taken_at.replace('T', " "),
            v.lies.as_ref().map(lies_in_words).unwrap_or_default(),
        ]);
    }
    let mut text = listed(table, "No frame of it is noted.");
    if notes.iter().any(|v| !v.versions.is_empty()) {
        text += "* has another version: `spoolwright note show`, then `note settle`.\n";
    }
    desk.answer(text, || notes.iter().map(|v| of_view(label, v)).collect())
}

fn to_settle(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let waiting = desk.service.unsettled()?;
    let mut table = Table::new(&[">note", "roll", ">frame", "subject"]);
    for (label, n) in &waiting {
        table.row([
            n.id.to_string(),
            label.clone(),
            n.frame.to_string(),
            n.subject.clone(),
        ]);
    }
    desk.answer(listed(table, "No note waits to be settled."), || {
        let all = waiting.iter();
        all.map(|(label, n)| json!({ "id": n.id.0, "roll": label, "frame": n.frame.to_string() }))
            .collect()
    })
}

fn told(label: &str, v: &NoteView) -> String {
    let mut text = format!("Frame {} of {label}, note {}\n", v.note.frame, v.note.id);
    for (name, value) in said(&v.note) {
        text += &format!("  {name:<10} {value}\n");
    }
    if let Some(lies) = &v.lies {
        text += &format!("  {:<10} {}\n", "lies in", lies_in_words(lies));
    }
    let fields = disputed(&v.note, &v.versions);
    for version in &v.versions {
        text += &format!("Version {} says otherwise:\n", version.id);
        let differs = said(version);
        for (name, value) in differs.iter().filter(|(name, _)| {
            fields
                .iter()
                .any(|f| f.word().replace('-', "_") == *name && !f.same(&v.note, version))
        }) {
            text += &format!("  {name:<10} {value}\n");
        }
    }
    if !fields.is_empty() {
        let fields: Vec<String> = fields
            .iter()
            .map(|f| format!("{}={}", f.word(), v.note.id))
            .collect();
        text += &format!(
            "Settle it, with the number of the version that is right: spoolwright note settle {} {}\n",
            v.note.id,
            fields.join(" ")
        );
    }
    text
}

/// What a note says, by the names of its fields.
fn said(note: &FrameNote) -> Vec<(String, String)> {
    let fields = match serde_json::to_value(NoteDraft::from(note)) {
        Ok(Value::Object(fields)) => fields,
        _ => Map::new(),
    };
    let said = fields
        .into_iter()
        .filter_map(|(name, value)| Some((name, value.as_str()?.to_owned())));
    said.filter(|(_, value)| !value.is_empty()).collect()
}

fn of_note(n: &FrameNote) -> Value {
    json!({
        "id": n.id.0, "frame": n.frame.to_string(), "exposures": n.exposures, "shape": n.shape.word(),
        "taken_at": n.taken_at, "aperture": n.aperture, "shutter_s": n.shutter_s, "lens": n.lens,
        "filter": n.filter, "ei": n.ei, "subject": n.subject, "place": n.place, "meter_ev": n.meter_ev,
        "usable": n.usable, "note": n.note, "made_at": n.made_at,
    })
}

fn of_view(label: &str, v: &NoteView) -> Value {
    let mut value = of_note(&v.note);
    value["roll"] = label.into();
    value["versions"] = v.versions.iter().map(of_note).collect();
    value["lies"] = super::find::lies(v.lies.as_ref());
    value
}
