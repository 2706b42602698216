//! `spoolwright plan`: from wants to rolls, with reasons; accepted, it becomes the queue.

use std::fmt::Write;

use serde_json::{Value, json};
use spoolwright_core::shelf::EntryId;

use super::Failure;
use super::desk::{Desk, Table};
use crate::service::plan::PlanView;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// What to wind for the open wants (this is what `plan` alone does).
    Show,
    /// Put the plan into the queue at the loader.
    Accept {
        /// The journal entry it was shown for; refused if something has changed since.
        #[arg(long, value_name = "ENTRY")]
        head: Option<i64>,
    },
}

pub(super) fn run(verb: Option<Verb>, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        None | Some(Verb::Show) => {
            let plan = desk.service.plan()?;
            desk.answer(told(&plan), || of(&plan))
        }
        Some(Verb::Accept { head }) => {
            let head = match head {
                Some(head) => EntryId(head),
                None => desk.service.shelf()?.head,
            };
            let made = desk.service.accept_plan(head, desk.request)?;
            desk.made(
                made,
                |tickets| json!({ "tickets": tickets.iter().map(|t| t.0).collect::<Vec<_>>() }),
            )
        }
    }
}

fn told(plan: &PlanView) -> String {
    let settings = &plan.shelf.settings;
    let mut text = String::new();
    let mut table = Table::new(&["can", "stock", ">frames", ">clicks", ">draws", "for"]);
    for r in &plan.rolls {
        table.row([
            r.can.letters.clone(),
            r.stock.name.clone(),
            r.frames.to_string(),
            r.clicks.to_string(),
            settings.length(r.drawn_m),
            r.reason.clone(),
        ]);
    }
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{table}");
    for (want, frames, because) in &plan.unmet {
        let _ = writeln!(
            text,
            "Unmet: {frames} frames of {}. {because}",
            want.want.what_for
        );
    }
    let c = plan.cost;
    let _ = writeln!(
        text,
        "Cost {}: film {}, pages {}, chemistry {}, short ends {}.",
        settings.money(c.total),
        settings.money(c.film),
        settings.money(c.pages),
        settings.money(c.chemistry),
        settings.money(c.short_ends)
    );
    let full = plan.only_full_rolls;
    let _ = writeln!(
        text,
        "Full-length rolls only: {}, {} frames unmet.",
        settings.money(full.total),
        full.unmet_frames
    );
    let mut left = Table::new(&["can", ">now", ">after, queued rolls included"]);
    for (can, after) in &plan.leftover {
        left.row([
            can.can.letters.clone(),
            settings.length(can.remaining.mean),
            settings.length(*after),
        ]);
    }
    let _ = writeln!(text, "\n{left}");
    let _ = writeln!(
        text,
        "{}",
        if plan.proven_optimal {
            "Proven: no plan is better."
        } else {
            "Not proven to be the best:"
        }
    );
    for c in &plan.caveats {
        let _ = writeln!(text, "  ! {}", c.text);
    }
    if !plan.rolls.is_empty() {
        let _ = writeln!(
            text,
            "To accept it: spoolwright plan accept --head {}",
            plan.shelf.head
        );
    }
    text
}

fn of(plan: &PlanView) -> Value {
    let c = plan.cost;
    json!({
        "head": plan.shelf.head.0,
        "rolls": plan.rolls.iter().map(|r| json!({
            "can": r.can.letters, "stock": r.stock.name, "want": r.want.id.0, "frames": r.frames,
            "clicks": r.clicks, "drawn_m": r.drawn_m, "reason": r.reason,
        })).collect::<Value>(),
        "unmet": plan.unmet.iter().map(|(want, frames, because)| json!({
            "want": want.want.id.0, "frames": frames, "because": because,
        })).collect::<Value>(),
        "cost": {
            "film": c.film, "pages": c.pages, "chemistry": c.chemistry, "short_ends": c.short_ends,
            "total": c.total,
        },
        "only_full_rolls": {
            "total": plan.only_full_rolls.total, "unmet_frames": plan.only_full_rolls.unmet_frames,
        },
        "leftover": plan.leftover.iter().map(|(can, after)| json!({
            "can": can.can.letters, "mean_m": after,
        })).collect::<Value>(),
        "proven_optimal": plan.proven_optimal, "gap": plan.gap,
        "caveats": plan.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Value>(),
    })
}
