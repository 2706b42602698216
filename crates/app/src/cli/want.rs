//! `spoolwright want`: what film is needed for.

use serde_json::{Value, json};
use spoolwright_core::shelf::WantId;

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash, over};
use crate::service::draft::WantDraft;
use crate::service::shelf::{Shelf, WantView};

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add a want: what for, and how many frames.
    Add(WantDraft),
    /// Change what was entered; a lone - empties a field.
    Change {
        /// Its number.
        want: i64,
        #[command(flatten)]
        draft: WantDraft,
    },
    /// List the wants with how far they are met.
    List {
        /// Dropped and met ones too.
        #[arg(long)]
        all: bool,
    },
    /// Drop a want.
    Drop {
        /// Its number.
        want: i64,
    },
    /// Take a want up again.
    Resume {
        /// Its number.
        want: i64,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let (want, dropped) = match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_want(None, &draft, desk.request)?;
            return desk.made(made, |id| json!({ "id": id.0 }));
        }
        Verb::Change { want, draft } => {
            let old = desk.service.want(WantId(want))?;
            let draft = over(&WantDraft::from(&old), &draft)?;
            let made = desk.service.save_want(Some(old.id), &draft, desk.request)?;
            return desk.told(made);
        }
        Verb::List { all } => return list(desk, all),
        Verb::Drop { want } => (want, true),
        Verb::Resume { want } => (want, false),
    };
    let made = desk
        .service
        .drop_want(WantId(want), dropped, desk.request)?;
    desk.told(made)
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let shelf = desk.service.shelf()?;
    let wants: Vec<&WantView> = shelf
        .wants
        .iter()
        .filter(|w| all || w.open() > 0 || w.queued > 0)
        .collect();
    desk.answer(
        listed(
            table(&wants, &shelf),
            "No open want: `spoolwright want add --what-for WORDS --frames N`.",
        ),
        || wants.iter().map(|w| of(w, &shelf)).collect(),
    )
}

/// Wants in a table.
pub(super) fn table(wants: &[&WantView], shelf: &Shelf) -> Table {
    let mut table = Table::new(&[
        ">no",
        "what for",
        ">frames",
        ">wound",
        ">queued",
        ">open",
        "by",
        ">priority",
        "stocks",
    ]);
    for w in wants {
        table.row([
            w.want.id.to_string(),
            w.want.what_for.clone(),
            w.want.frames.to_string(),
            w.wound.to_string(),
            w.queued.to_string(),
            if w.want.dropped {
                "dropped".into()
            } else {
                w.open().to_string()
            },
            or_dash(w.want.by_when.as_ref()),
            w.want.priority.to_string(),
            stocks(w, shelf).join(", "),
        ]);
    }
    table
}

fn stocks(w: &WantView, shelf: &Shelf) -> Vec<String> {
    let name = |id| {
        shelf
            .stocks
            .iter()
            .find(|s| s.id == id)
            .map(|s| s.name.clone())
    };
    w.want.stocks.iter().filter_map(|id| name(*id)).collect()
}

/// A want as JSON.
pub(super) fn of(w: &WantView, shelf: &Shelf) -> Value {
    json!({
        "id": w.want.id.0, "what_for": w.want.what_for, "frames": w.want.frames, "wound": w.wound,
        "queued": w.queued, "open": w.open(), "by_when": w.want.by_when, "priority": w.want.priority,
        "stocks": stocks(w, shelf), "ei": w.want.ei, "camera": w.want.camera,
        "advance_perforations": w.want.advance_perforations, "dropped": w.want.dropped,
    })
}
