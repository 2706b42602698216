//! `spoolwright scan`: a folder's files matched to a roll's frames, and the sidecars beside them.

use serde_json::{Value, json};
use spoolwright_core::shelf::ScanFileId;

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash};
use crate::service::field::scans::ScanView;
use crate::service::field::scans::folder::name_of;
use crate::service::field::scans::matching::{Fate, MatchDraft, MatchView};
use crate::service::field::scans::sidecar::{Standing, Written};

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Show which files of a folder are the scans of which frames; record it with --record.
    Match {
        /// The roll's label, such as HM-07.
        roll: String,
        #[command(flatten)]
        draft: MatchDraft,
        /// Record what is shown. No file is touched.
        #[arg(long)]
        record: bool,
    },
    /// Write XMP sidecars beside a roll's scans; the images are not touched.
    Write {
        /// The roll's label.
        roll: String,
    },
    /// List a roll's scans and how their sidecars stand.
    List {
        /// The roll's label.
        roll: String,
    },
    /// Take away that a file is the scan of a frame; the file stays.
    Remove {
        /// The scan's number, as listed.
        scan: i64,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Match {
            roll,
            draft,
            record,
        } => match_folder(desk, &roll, from_here(draft), record),
        Verb::Write { roll } => {
            let id = desk.service.roll(&roll)?.roll.id;
            let made = desk.service.write_sidecars(id, desk.request)?;
            desk.made(made, |w| of_written(&w))
        }
        Verb::List { roll } => list(desk, &roll),
        Verb::Remove { scan } => {
            let made = desk
                .service
                .take_away_scan(ScanFileId(scan), desk.request)?;
            desk.told(made)
        }
    }
}

/// The folder as seen from where the person stands.
fn from_here(draft: MatchDraft) -> MatchDraft {
    let typed = draft.folder.trim();
    let whole = (!typed.is_empty()).then(|| std::path::absolute(typed).ok());
    let whole = whole.flatten().and_then(|p| Some(p.to_str()?.to_owned()));
    MatchDraft {
        folder: whole.unwrap_or_else(|| typed.to_owned()),
        ..draft
    }
}

fn match_folder(
    desk: &mut Desk<'_>,
    label: &str,
    draft: MatchDraft,
    record: bool,
) -> Result<(), Failure> {
    let roll = desk.service.roll(label)?.roll;
    if record {
        let made = desk.service.match_scans(roll.id, &draft, desk.request)?;
        return desk.made(made, |count| json!({ "matched": count }));
    }
    let view = desk.service.look_at_scans(roll.id, &draft)?;
    let mut table = Table::new(&["file", ">frame", "becomes"]);
    for row in &view.rows {
        table.row([row.name.clone(), or_dash(row.frame), becomes(&row.fate)]);
    }
    let mut text = format!("{}\n{table}", view.folder);
    let beyond = view.matched().filter(|(row, _)| row.beyond).count();
    if beyond > 0 {
        text += &format!(
            "{beyond} of them past the {} frames that {} should have: check the first frame and what was not scanned.\n",
            roll.frames, roll.label
        );
    }
    text += "Nothing is recorded yet: the same with --record does it.\n";
    desk.answer(text, || of_view(&view))
}

fn becomes(fate: &Fate) -> String {
    match fate {
        Fate::New => "matched".into(),
        Fate::Same => "as it is".into(),
        Fate::Moves(from) => format!("matched, was frame {from}"),
        Fate::LeftOut(why) => format!("left out: {why}"),
    }
}

fn of_view(view: &MatchView) -> Value {
    json!({
        "folder": view.folder,
        "files": view.rows.iter().map(|row| json!({
            "name": row.name, "size": row.size, "frame": row.frame.map(|f| f.to_string()), "beyond": row.beyond,
            "becomes": match &row.fate {
                Fate::New => "matched",
                Fate::Same => "same",
                Fate::Moves(_) => "moved",
                Fate::LeftOut(_) => "left-out",
            },
            "why": match &row.fate {
                Fate::LeftOut(why) => Some(why.clone()),
                Fate::Moves(from) => Some(format!("was frame {from}")),
                _ => None,
            },
        })).collect::<Vec<_>>(),
    })
}

fn of_written(w: &Written) -> Value {
    let left = w.left.iter();
    json!({
        "written": w.written, "unchanged": w.unchanged,
        "left": left.map(|(name, why)| json!({ "name": name, "why": why })).collect::<Vec<_>>(),
    })
}

fn list(desk: &mut Desk<'_>, label: &str) -> Result<(), Failure> {
    let roll = desk.service.roll(label)?.roll;
    let scans = desk.service.scans_of(roll.id)?;
    let mut table = Table::new(&[">frame", ">scan", "file", "subject", "sidecar"]);
    for s in &scans {
        table.row([
            s.scan.frame.to_string(),
            s.scan.id.to_string(),
            name_of(&s.scan.path).to_owned(),
            s.note
                .as_ref()
                .map(|n| n.subject.clone())
                .unwrap_or_default(),
            match &s.sidecar {
                Standing::Barred(why) => why.clone(),
                standing => standing.word().to_owned(),
            },
        ]);
    }
    let empty = "No scan of it: `spoolwright scan match ROLL FOLDER`.";
    desk.answer(listed(table, empty), || scans.iter().map(of).collect())
}

fn of(s: &ScanView) -> Value {
    json!({
        "id": s.scan.id.0, "frame": s.scan.frame.to_string(), "path": s.scan.path, "size": s.scan.size,
        "matched_on": s.scan.matched_on, "sidecar": s.sidecar.word(),
        "why": match &s.sidecar {
            Standing::Barred(why) => Some(why),
            _ => None,
        },
    })
}
