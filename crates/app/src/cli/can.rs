//! `spoolwright can`: bulk lengths, and everything that tells how much is left in one.

use std::fmt::Write;

use serde_json::{Value, json};
use spoolwright_core::quantity::Z95;
use spoolwright_core::shelf::CanState;

use super::desk::{Desk, Table, chance, interval, listed, mean_sd, or_dash, over};
use super::{Failure, stock};
use crate::service::breaking::{BreakDraft, BreakView};
use crate::service::draft::CanDraft;
use crate::service::evidence::{GaugeDraft, RanOutDraft, TakenDraft, WeighDraft};
use crate::service::settings::Settings;
use crate::service::shelf::CanView;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add a can.
    Add(CanDraft),
    /// Change what was entered; a lone - empties a field.
    Change {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: CanDraft,
    },
    /// List the cans with what is left.
    List {
        /// Closed ones too.
        #[arg(long)]
        all: bool,
    },
    /// Everything known of one can.
    Show(Which),
    /// Record its weight, closed; with --empty the weight of can, bag and core alone.
    Weigh {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: WeighDraft,
    },
    /// Record its roll's diameter, taken in the dark.
    Gauge {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: GaugeDraft,
    },
    /// Record film taken off it otherwise than on a roll.
    Take {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: TakenDraft,
    },
    /// Record that it ended, at a click of a roll or at nothing.
    RanOut {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: RanOutDraft,
    },
    /// Diameters for breaking it into shorter cans; with --done record that it was.
    Break {
        #[command(flatten)]
        which: Which,
        #[command(flatten)]
        draft: BreakDraft,
        /// It has been done: each part is a can from now on.
        #[arg(long)]
        done: bool,
    },
    /// Close it as empty.
    Close {
        #[command(flatten)]
        which: Which,
        /// It was given away, lost or thrown out.
        #[arg(long)]
        gone: bool,
    },
    /// Open it again.
    Reopen(Which),
}

#[derive(clap::Args)]
pub(super) struct Which {
    /// The can: its letters or number.
    #[arg(value_name = "CAN")]
    which: String,
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let id = |desk: &Desk<'_>, which: &Which| desk.service.can_named(&which.which).map(|c| c.id);
    match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_can(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { which, draft } => {
            let old = desk.service.can_named(&which.which)?;
            let draft = over(&CanDraft::of(&old, &desk.settings()?), &draft)?;
            let made = desk.service.save_can(Some(old.id), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::List { all } => list(desk, all),
        Verb::Show(which) => {
            let view = desk.service.can(id(desk, &which)?)?;
            let settings = desk.settings()?;
            desk.answer(told(&view, &settings), || of(&view))
        }
        Verb::Weigh { which, draft } => {
            let id = id(desk, &which)?;
            let made = desk.service.weigh(id, &draft, desk.request)?;
            left(desk, id, made)
        }
        Verb::Gauge { which, draft } => {
            let id = id(desk, &which)?;
            let made = desk.service.gauge(id, &draft, desk.request)?;
            left(desk, id, made)
        }
        Verb::Take { which, draft } => {
            let id = id(desk, &which)?;
            let made = desk.service.take(id, &draft, desk.request)?;
            left(desk, id, made)
        }
        Verb::RanOut { which, draft } => {
            let made = desk
                .service
                .ran_out(id(desk, &which)?, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Break {
            which,
            draft,
            done: false,
        } => {
            let view = desk.service.break_view(id(desk, &which)?, &draft)?;
            let settings = desk.settings()?;
            desk.answer(breaking(&view, &settings), || breaking_of(&view))
        }
        Verb::Break {
            which,
            draft,
            done: true,
        } => {
            let made = desk
                .service
                .break_can(id(desk, &which)?, &draft, desk.request)?;
            desk.made(
                made,
                |cans| json!({ "cans": cans.iter().map(|c| c.0).collect::<Vec<_>>() }),
            )
        }
        Verb::Close { which, gone } => {
            let state = if gone {
                CanState::Gone
            } else {
                CanState::Empty
            };
            let made = desk
                .service
                .close_can(id(desk, &which)?, state, desk.request)?;
            desk.told(made)
        }
        Verb::Reopen(which) => {
            let made = desk
                .service
                .close_can(id(desk, &which)?, CanState::Open, desk.request)?;
            desk.told(made)
        }
    }
}

/// Says what was recorded, and what it means for the can.
fn left<T>(
    desk: &mut Desk<'_>,
    id: spoolwright_core::shelf::CanId,
    made: crate::service::Made<T>,
) -> Result<(), Failure> {
    let view = desk.service.can(id)?;
    let settings = desk.settings()?;
    let said = made.value.is_some();
    desk.made(made, |_| of(&view))?;
    if said && !desk.json {
        writeln!(
            desk.out,
            "Left in {}: {}.",
            view.can.letters,
            remaining(&view, &settings)
        )?;
        write!(desk.out, "{}", caveats(&view))?;
    }
    Ok(())
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let shelf = desk.service.shelf()?;
    let cans: Vec<&CanView> = shelf
        .cans
        .iter()
        .filter(|c| all || c.can.state == CanState::Open)
        .collect();
    desk.answer(
        listed(
            table(&cans, &shelf.settings),
            "No can yet: `spoolwright can add --stock NAME`.",
        ),
        || cans.iter().map(|c| of(c)).collect(),
    )
}

/// Cans in a table.
pub(super) fn table(cans: &[&CanView], settings: &Settings) -> Table {
    let mut table = Table::new(&[
        "can",
        "stock",
        ">left",
        ">95 % interval",
        ">frames",
        ">promised",
        "",
    ]);
    for c in cans {
        let bare = |m: f64| {
            settings
                .length(m)
                .split(' ')
                .next()
                .unwrap_or_default()
                .to_owned()
        };
        table.row([
            c.can.letters.clone(),
            c.stock.name.clone(),
            settings.length(c.remaining.mean),
            format!(
                "{} to {}",
                bare(c.remaining.lower95),
                bare(c.remaining.upper95)
            ),
            format!("{:.0}", c.clicks.0),
            if c.promised_m > 0.0 {
                settings.length(c.promised_m)
            } else {
                String::new()
            },
            if c.can.state == CanState::Open {
                ""
            } else {
                c.can.state.word()
            }
            .into(),
        ]);
    }
    table
}

fn remaining(view: &CanView, settings: &Settings) -> String {
    let r = &view.remaining;
    format!(
        "{}, about {:.0} frames ({:.0} to {:.0})",
        interval(settings, r.mean, r.lower95, r.upper95),
        view.clicks.0,
        view.clicks.1.max(0.0),
        view.clicks.2
    )
}

fn caveats(view: &CanView) -> String {
    view.caveats
        .iter()
        .map(|c| format!("  ! {}\n", c.text))
        .collect()
}

fn told(view: &CanView, settings: &Settings) -> String {
    let can = &view.can;
    let mut text = format!(
        "Can {} · {} · {}\n",
        can.letters,
        view.stock.name,
        can.state.word()
    );
    // Writing to a string cannot fail.
    let _ = writeln!(text, "  left       {}", remaining(view, settings));
    let _ = writeln!(
        text,
        "  came with  {} ± {}",
        settings.length(view.length_m.mean),
        settings.length(Z95 * view.length_m.sd)
    );
    let _ = writeln!(
        text,
        "  across     {:.1} mm ({:.1} to {:.1}) on a core of {:.1} mm",
        view.diameters.now.0, view.diameters.now.1, view.diameters.now.2, view.diameters.core
    );
    let _ = writeln!(
        text,
        "  tare       {:.0} ± {:.0} g",
        view.tare_g.mean,
        Z95 * view.tare_g.sd
    );
    let _ = writeln!(
        text,
        "  film       {:.2} ± {:.2} g/m, {:.3} ± {:.3} mm thick",
        view.linear_mass_g_per_m.mean,
        Z95 * view.linear_mass_g_per_m.sd,
        view.thickness_mm.mean,
        Z95 * view.thickness_mm.sd
    );
    let _ = writeln!(
        text,
        "  loader     {}",
        or_dash(view.loader.as_ref().map(|l| &l.name))
    );
    if !can.package.is_empty() {
        let _ = writeln!(text, "  kind       {}", can.package);
    }
    if !can.note.is_empty() {
        let _ = writeln!(text, "  note       {}", can.note);
    }
    text.push_str("Can it still be wound?\n");
    for c in &view.chances {
        let _ = writeln!(
            text,
            "  {:>3} frames  {:>3} clicks  {:>9}",
            c.frames,
            c.clicks,
            chance(c.probability)
        );
    }
    let next = view.worth_measuring();
    if !next.is_empty() {
        text.push_str("What would narrow it?\n");
    } else if view.can.state == CanState::Open {
        text.push_str("No measurement narrows it much now; the next rolls will tell.\n");
    }
    for next in next {
        let sd = settings.length(Z95 * next.sd_after_m);
        let _ = writeln!(text, "  ± {sd:>8}  {}", next.kind.phrase());
    }
    text + &caveats(view)
}

/// A can as JSON.
pub(super) fn of(view: &CanView) -> Value {
    let (can, r) = (&view.can, &view.remaining);
    json!({
        "id": can.id.0, "letters": can.letters, "stock": stock::of(&view.stock),
        "state": can.state.word(), "loader": view.loader.as_ref().map(|l| &l.name),
        "remaining_m": { "mean": r.mean, "sd": r.sd, "lower95": r.lower95, "upper95": r.upper95 },
        "promised_m": view.promised_m,
        "length_m": mean_sd(view.length_m), "tare_g": mean_sd(view.tare_g),
        "linear_mass_g_per_m": mean_sd(view.linear_mass_g_per_m),
        "thickness_mm": mean_sd(view.thickness_mm),
        "core_mm": can.core_mm, "outer_diameter_mm": view.diameters.now.0,
        "package": can.package, "price": can.price, "bought_on": can.bought_on,
        "expires_on": can.expires_on, "kept_c": can.kept_c, "note": can.note,
        "can_wind": view.chances.iter().map(|c| json!({
            "frames": c.frames, "clicks": c.clicks, "probability": c.probability,
        })).collect::<Value>(),
        "next_measurement": view.next.iter().map(|n| json!({
            "kind": n.kind.word(), "what": n.kind.phrase(), "sd_after_m": n.sd_after_m,
        })).collect::<Value>(),
        "caveats": view.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Value>(),
    })
}

fn breaking(view: &BreakView, settings: &Settings) -> String {
    let mut table = Table::new(&[">part", ">length", ">wind to", ">mother shrinks to"]);
    for (i, part) in view.parts.iter().enumerate() {
        table.row([
            (i + 1).to_string(),
            format!(
                "{} ± {}",
                settings.length(part.length_m.mean),
                settings.length(Z95 * part.length_m.sd)
            ),
            format!("{:.1} mm", part.outer_mm),
            format!("{:.1} mm", part.mother_outer_mm),
        ]);
    }
    format!(
        "In total darkness, each part on a core of {:.1} mm; the mother roll is {:.1} mm across.\n{table}About {} stay on the mother roll.\n",
        view.core_mm,
        view.mother_outer_mm,
        settings.length(view.left_m)
    )
}

fn breaking_of(view: &BreakView) -> Value {
    json!({
        "core_mm": view.core_mm, "mother_outer_diameter_mm": view.mother_outer_mm,
        "parts": view.parts.iter().map(|p| json!({
            "length_m": mean_sd(p.length_m), "outer_diameter_mm": p.outer_mm,
            "mother_outer_diameter_mm": p.mother_outer_mm,
        })).collect::<Value>(),
        "left_m": view.left_m,
    })
}
