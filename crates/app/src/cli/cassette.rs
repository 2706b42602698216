//! `spoolwright cassette`: reloadable cassettes, how often they were filled, which to keep out.

use serde_json::{Value, json};
use spoolwright_core::shelf::RollState;

use super::Failure;
use super::desk::{Desk, Table, listed, over};
use crate::service::draft::CassetteDraft;
use crate::service::shelf::CassetteView;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add cassettes: one label, several separated by commas, or a range such as 1-15.
    Add(CassetteDraft),
    /// Change what was entered; a lone - empties a field.
    Change {
        /// Its label or number.
        cassette: String,
        #[command(flatten)]
        draft: CassetteDraft,
    },
    /// List the cassettes.
    List {
        /// Retired ones too.
        #[arg(long)]
        all: bool,
        /// Only those a roll may be wound into.
        #[arg(long)]
        ready: bool,
    },
    /// Mark a cassette: it leaks light, it is retired, or it is in use again.
    Mark {
        /// Its label or number.
        cassette: String,
        /// It has leaked light.
        #[arg(long)]
        leaks: bool,
        /// It is retired.
        #[arg(long)]
        retired: bool,
        /// It is fine again: takes both marks off.
        #[arg(long, conflicts_with_all = ["leaks", "retired"])]
        fine: bool,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_cassettes(None, &draft, desk.request)?;
            desk.made(
                made,
                |ids| json!({ "ids": ids.iter().map(|i| i.0).collect::<Vec<_>>() }),
            )
        }
        Verb::Change { cassette, draft } => {
            let old = desk.service.cassette_named(&cassette)?;
            let draft = over(&CassetteDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_cassettes(Some(old.id), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::List { all, ready } => list(desk, all, ready),
        Verb::Mark {
            cassette,
            leaks,
            retired,
            fine,
        } => {
            let cassette = desk.service.cassette_named(&cassette)?;
            if !(leaks || retired || fine) {
                return Err(spoolwright_core::Error::missing(
                    "the mark",
                    "--leaks, --retired or --fine",
                    "Say which mark to set, or --fine to take them off.",
                )
                .into());
            }
            let keep = |mark: bool, now: bool| !fine && (mark || now);
            let made = desk.service.mark_cassette(
                cassette.id,
                keep(leaks, cassette.leaks),
                keep(retired, cassette.retired),
                desk.request,
            )?;
            desk.told(made)
        }
    }
}

fn list(desk: &mut Desk<'_>, all: bool, ready: bool) -> Result<(), Failure> {
    let shelf = desk.service.shelf()?;
    let shown = |c: &&CassetteView| {
        if ready {
            c.is_ready()
        } else {
            all || !c.cassette.retired
        }
    };
    let cassettes: Vec<&CassetteView> = shelf.cassettes.iter().filter(shown).collect();
    let states = [RollState::Wound, RollState::InCamera, RollState::Exposed];
    let mut rolls = Vec::new();
    for state in states {
        rolls.extend(desk.service.rolls_in(state)?);
    }
    let label = |c: &CassetteView| {
        let roll = rolls.iter().find(|r| Some(r.roll.id) == c.holds)?;
        Some(roll.roll.label.clone())
    };
    let mut table = Table::new(&["cassette", ">filled", ">most frames", "holds", ""]);
    for c in &cassettes {
        let marks = [
            (c.cassette.leaks, "leaks light"),
            (c.cassette.retired, "retired"),
        ];
        let marks = marks.iter().filter(|(is, _)| *is).map(|(_, word)| *word);
        table.row([
            c.cassette.label.clone(),
            format!("{} ×", c.uses),
            c.cassette.most_frames.to_string(),
            label(c).unwrap_or_default(),
            marks.collect::<Vec<_>>().join(", "),
        ]);
    }
    let json: Value = cassettes
        .iter()
        .map(|c| {
            json!({
                "id": c.cassette.id.0, "label": c.cassette.label, "uses": c.uses, "holds": label(c),
                "most_frames": c.cassette.most_frames, "leaks": c.cassette.leaks,
                "retired": c.cassette.retired, "ready": c.is_ready(), "note": c.cassette.note,
            })
        })
        .collect();
    desk.answer(
        listed(
            table,
            "No cassette: `spoolwright cassette add --label 1-12`.",
        ),
        || json,
    )
}
