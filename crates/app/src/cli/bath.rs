//! `spoolwright bath`: what each bottle has left, and what befell it.

use serde_json::{Value, json};
use spoolwright_core::shelf::BathId;

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash, over};
use crate::service::wet::baths::{
    BathDraft, BathEventDraft, BathView, doubt_words, told, verdict_words,
};

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Write a card for what was mixed.
    Add(BathDraft),
    /// Change a card; a lone - empties a field.
    Change {
        /// Its number.
        bath: i64,
        #[command(flatten)]
        draft: BathDraft,
    },
    /// List the baths with what they have left.
    List {
        /// Those poured out too.
        #[arg(long)]
        all: bool,
    },
    /// Show one bath: its life, why, and what befell it.
    Show {
        /// Its number.
        bath: i64,
        /// The next load in films of 36: whether the bath will take it.
        #[arg(long)]
        films: Option<f64>,
    },
    /// Write down what befell a bath: film, a clearing test, a look, replenisher.
    Note {
        /// Its number.
        bath: i64,
        #[command(flatten)]
        draft: BathEventDraft,
    },
    /// It was poured out.
    Close {
        /// Its number.
        bath: i64,
    },
    /// It was not poured out after all.
    Reopen {
        /// Its number.
        bath: i64,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_bath(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { bath, draft } => {
            let old = desk.service.bath(BathId(bath), None)?;
            let draft = over(&BathDraft::from(&old.card), &draft)?;
            let made = desk
                .service
                .save_bath(Some(old.card.id), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::List { all } => list(desk, all),
        Verb::Show { bath, films } => {
            let bath = desk.service.bath(BathId(bath), films)?;
            desk.answer(text(&bath), || of(&bath))
        }
        Verb::Note { bath, draft } => {
            let made = desk.service.note_bath(BathId(bath), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Close { bath } => {
            let made = desk.service.close_bath(BathId(bath), true, desk.request)?;
            desk.told(made)
        }
        Verb::Reopen { bath } => {
            let made = desk.service.close_bath(BathId(bath), false, desk.request)?;
            desk.told(made)
        }
    }
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let mut baths = desk.service.baths()?;
    baths.retain(|b| all || !b.card.closed);
    let mut table = Table::new(&[
        ">no",
        "bath",
        "kind",
        "mixed",
        ">ml",
        "verdict",
        ">rolls left",
        "because",
    ]);
    for b in &baths {
        table.row([
            b.card.id.to_string(),
            b.card.name.clone(),
            b.card.kind.word().to_owned(),
            b.card.mixed_on.clone(),
            format!("{:.0}", b.card.volume_ml),
            verdict_words(&b.life),
            or_dash(b.life.rolls_left()),
            b.life
                .because
                .first()
                .map_or_else(String::new, |r| r.text.clone()),
        ]);
    }
    desk.answer(
        listed(
            table,
            "No bath yet: `spoolwright bath add --name NAME --volume 1000`.",
        ),
        || baths.iter().map(of).collect(),
    )
}

fn text(b: &BathView) -> String {
    let mut text = format!(
        "{}: {}, {:.0} ml, mixed {}\nverdict: {}\n",
        b.card.name,
        b.card.kind.word(),
        b.card.volume_ml,
        b.card.mixed_on,
        verdict_words(&b.life)
    );
    for because in &b.life.because {
        text += &format!("  {}\n", because.text);
    }
    if b.life.next_time_factor != 1.0 {
        text += &format!("next time: × {:.2}\n", b.life.next_time_factor);
    }
    if let Some(owed) = b.life.replenisher_owed_ml {
        text += &format!("replenisher owed: {owed:.0} ml\n");
    }
    if let Some(left) = b.life.rolls_left() {
        text += &format!("rolls of 36 left: {left}\n");
    }
    if let Some(fix_s) = b.life.clearing.and_then(|c| c.fixing_time_s) {
        text += &format!("fix for {fix_s:.0} s\n");
    }
    if let Some(next) = &b.life.next_load {
        let said = doubt_words(next.verdict, &next.because).unwrap_or(next.verdict.word());
        text += &format!("for the next load: {said}\n");
        for because in &next.because {
            text += &format!("  {}\n", because.text);
        }
    }
    for e in &b.events {
        text += &format!("{}  {}\n", e.day, told(&e.what));
    }
    for c in &b.life.caveats {
        text += &format!("{}\n", c.text);
    }
    text
}

/// A bath as JSON.
fn of(b: &BathView) -> Value {
    let because = |all: &[spoolwright_core::wet::verdict::Because]| {
        all.iter()
            .map(|r| json!({ "reason": r.reason.word(), "text": r.text }))
            .collect::<Vec<_>>()
    };
    json!({
        "id": b.card.id.0, "name": b.card.name, "kind": b.card.kind.word(), "usage": b.card.usage.word(),
        "mixed_from": b.card.mixed_from, "dilution": b.card.dilution, "mixed_on": b.card.mixed_on,
        "volume_ml": b.card.volume_ml, "closed": b.card.closed, "note": b.card.note,
        "verdict": b.life.verdict.word(), "said": verdict_words(&b.life),
        "replenisher_owed_ml": b.life.replenisher_owed_ml, "because": because(&b.life.because),
        "capacity_left_m2": b.life.capacity_left_m2, "rolls_left": b.life.rolls_left(),
        "next_time_factor": b.life.next_time_factor, "area_m2": b.life.area_m2,
        "fixing_time_s": b.life.clearing.and_then(|c| c.fixing_time_s),
        "next_load": b.life.next_load.as_ref().map(|n| json!({ "verdict": n.verdict.word(), "because": because(&n.because) })),
        "events": b.events.iter().map(|e| json!({ "day": e.day, "what": told(&e.what), "note": e.note })).collect::<Vec<_>>(),
        "caveats": b.life.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Vec<_>>(),
    })
}
