//! `spoolwright roll`: wound rolls through their life.

use std::fmt::Write;

use serde_json::{Value, json};
use spoolwright_core::shelf::RollState;

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash};
use crate::service::rolls::{MeasureDraft, RollDraft};
use crate::service::shelf::RollView;
use crate::service::winding::WindDraft;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// List rolls: the newest, or those in one state.
    List {
        /// wound, in-camera, exposed, developed, filed or scrapped.
        #[arg(long, default_value = "")]
        state: String,
        /// Those wound from this can.
        #[arg(long, default_value = "", conflicts_with = "state")]
        can: String,
    },
    /// Everything known of one roll.
    Show(Which),
    /// Move it on: in-camera, exposed, developed, filed, scrapped (say why with --note), or wound again.
    Move {
        #[command(flatten)]
        which: Which,
        /// Its new state.
        state: String,
        /// A note; the reason when it is scrapped.
        #[arg(long, default_value = "")]
        note: String,
    },
    /// Change the EI on its label, or its note.
    Change {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: RollDraft,
    },
    /// Correct how it was wound: clicks, cassette, or that the can ran out with it.
    Correct {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: WindDraft,
    },
    /// Record its length, measured end to end with all offcuts: it teaches the loader.
    Measure {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: MeasureDraft,
    },
}

#[derive(clap::Args)]
pub(super) struct Which {
    /// The roll's label, such as HM-07.
    roll: String,
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let find = |desk: &Desk<'_>, which: &Which| desk.service.roll(&which.roll);
    match verb {
        Verb::List { state, can } => list(desk, &state, &can),
        Verb::Show(which) => {
            let view = find(desk, &which)?;
            desk.answer(told(&view), || of(&view))
        }
        Verb::Move { which, state, note } => {
            let id = find(desk, &which)?.roll.id;
            let draft = RollDraft {
                state,
                note,
                ..RollDraft::default()
            };
            let made = desk.service.move_roll(id, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Change { which, draft } => {
            let id = find(desk, &which)?.roll.id;
            let made = desk.service.move_roll(id, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Correct { which, draft } => {
            let id = find(desk, &which)?.roll.id;
            let made = desk.service.correct_roll(id, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Measure { which, draft } => {
            let id = find(desk, &which)?.roll.id;
            let made = desk.service.measure_roll(id, &draft, desk.request)?;
            desk.told(made)
        }
    }
}

fn list(desk: &mut Desk<'_>, state: &str, can: &str) -> Result<(), Failure> {
    let rolls = match (state.trim(), can.trim()) {
        ("", "") => desk.service.recent_rolls(None)?,
        ("", can) => desk.service.rolls_of_can(desk.service.can_named(can)?.id)?,
        (state, _) => desk.service.rolls_in(RollState::from_word(state)?)?,
    };
    let mut table = Table::new(&[
        "roll", "stock", ">frames", ">clicks", ">EI", "cassette", "state", "wound", "for",
    ]);
    for r in &rolls {
        table.row([
            r.roll.label.clone(),
            r.stock.name.clone(),
            r.roll.frames.to_string(),
            r.roll.clicks.to_string(),
            or_dash(r.ei),
            r.cassette.clone().unwrap_or_default(),
            r.roll.state.word().into(),
            r.roll.wound_at.get(..10).unwrap_or(&r.roll.wound_at).into(),
            r.want.clone().unwrap_or_default(),
        ]);
    }
    desk.answer(listed(table, "No roll."), || rolls.iter().map(of).collect())
}

fn told(r: &RollView) -> String {
    let mut text = format!(
        "Roll {} · {} · {}\n",
        r.roll.label,
        r.stock.name,
        r.roll.state.word()
    );
    // Writing to a string cannot fail.
    let _ = writeln!(
        text,
        "  frames     {} at EI {}",
        r.roll.frames,
        or_dash(r.ei)
    );
    let _ = writeln!(
        text,
        "  wound      {}, {} clicks, {} light",
        r.roll.wound_at,
        r.roll.clicks,
        r.roll.light.word()
    );
    let _ = writeln!(text, "  cassette   {}", or_dash(r.cassette.as_ref()));
    let _ = writeln!(text, "  for        {}", or_dash(r.want.as_ref()));
    if !r.roll.note.is_empty() {
        let _ = writeln!(text, "  note       {}", r.roll.note);
    }
    text
}

fn of(r: &RollView) -> Value {
    json!({
        "id": r.roll.id.0, "label": r.roll.label, "can": r.can, "stock": r.stock.name,
        "state": r.roll.state.word(), "frames": r.roll.frames,
        "advance_perforations": r.roll.advance_perforations, "clicks": r.roll.clicks, "ei": r.ei,
        "cassette": r.cassette, "want": r.want, "light": r.roll.light.word(),
        "wound_at": r.roll.wound_at, "note": r.roll.note,
    })
}
