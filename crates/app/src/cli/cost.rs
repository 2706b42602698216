//! `spoolwright cost` and `spoolwright purchase`: what was paid, and what a usable frame came to.

use serde_json::{Value, json};
use spoolwright_core::cost::Amount;
use spoolwright_core::cost::report::Group;
use spoolwright_core::shelf::PurchaseId;

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash, over};
use crate::service::field::money::{By, Costs, missing_in_words};
use crate::service::field::purchases::{PurchaseDraft, PurchaseView, in_words};
use crate::service::settings::Settings;

#[derive(clap::Args)]
pub(super) struct Args {
    /// By can, stock or year; all three when left out.
    #[arg(long, value_name = "KIND")]
    by: Option<String>,
    /// As comma-separated values, for a spreadsheet.
    #[arg(long)]
    csv: bool,
    /// With --csv: every roll rather than groups of them.
    #[arg(long, requires = "csv", conflicts_with = "by")]
    rolls: bool,
}

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Write down what was bought: cassettes, chemistry, pages, anything else. Film is priced with its can.
    Add(PurchaseDraft),
    /// Change a purchase; a lone - empties a field.
    Change {
        /// Its number.
        purchase: i64,
        #[command(flatten)]
        draft: PurchaseDraft,
    },
    /// List what was bought, newest first.
    List,
}

pub(super) fn run(args: &Args, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let by = args.by.as_deref().map(By::from_word).transpose()?;
    if args.csv {
        let table = if args.rolls {
            desk.service.rolls_as_csv()?
        } else {
            desk.service.costs_as_csv(by)?
        };
        return desk.answer(&table, || json!({ "csv": table }));
    }
    let costs = desk.service.costs()?;
    let settings = desk.settings()?;
    desk.answer(text(&costs, by, &settings), || of(&costs, by, &settings))
}

fn shown(by: Option<By>) -> impl Iterator<Item = By> {
    By::ALL
        .iter()
        .copied()
        .filter(move |b| by.is_none_or(|only| only == *b))
}

/// An amount, and its ends where it rests on a guess.
fn amount(a: Amount, settings: &Settings) -> String {
    if a.is_guess() {
        format!("{} ({:.2} to {:.2})", settings.money(a.mid), a.low, a.high)
    } else {
        settings.money(a.mid)
    }
}

fn text(costs: &Costs, by: Option<By>, settings: &Settings) -> String {
    let mut text = String::new();
    for by in shown(by) {
        let mut table = Table::new(&[
            by.word(),
            ">rolls",
            ">usable",
            ">lost",
            ">total",
            ">a usable frame",
            ">ready-wound",
            ">saved",
        ]);
        for (name, g) in costs.groups(by) {
            table.row([
                name,
                (g.rolls + g.test_rolls).to_string(),
                g.usable.to_string(),
                g.lost.to_string(),
                amount(g.total(), settings),
                or_dash(g.per_frame().map(|a| amount(a, settings))),
                or_dash(g.ready.map(|r| settings.money(r.ready_wound))),
                or_dash(g.ready.map(|r| settings.money(r.saved.mid))),
            ]);
        }
        text += &listed(table, "No roll yet.");
        text.push('\n');
    }
    let all = &costs.report.all;
    if let Some(per) = all.per_frame() {
        text += &format!(
            "In all a usable frame came to {}; {} lost frames cost {}.\n",
            amount(per, settings),
            all.lost,
            amount(all.lost_cost(), settings)
        );
    }
    if 0 < all.waiting_rolls {
        text += &format!(
            "{} rolls wait, with {} in them.\n",
            all.waiting_rolls,
            amount(all.waiting, settings)
        );
    }
    for missing in &all.missing {
        text += &format!("Not known: {}.\n", missing_in_words(missing));
    }
    for c in &costs.caveats {
        text += &format!("{}\n", c.text);
    }
    text
}

fn amount_of(a: Amount) -> Value {
    json!({ "low": a.low, "mid": a.mid, "high": a.high })
}

fn group_of(g: &Group) -> Value {
    json!({
        "rolls": g.rolls, "rolls_waiting": g.waiting_rolls, "rolls_for_tests": g.test_rolls,
        "usable_frames": g.usable, "lost_frames": g.lost,
        "film": amount_of(g.film), "cassettes": amount_of(g.cassettes), "chemistry": amount_of(g.chemistry),
        "pages": amount_of(g.pages), "tests": amount_of(g.tests), "other": amount_of(g.other),
        "total": amount_of(g.total()), "per_usable_frame": g.per_frame().map(amount_of),
        "lost_frames_cost": amount_of(g.lost_cost()), "waiting": amount_of(g.waiting),
        "ready_wound": g.ready.map(|r| json!({
            "ready_wound": r.ready_wound, "own": amount_of(r.own), "saved": amount_of(r.saved),
        })),
        "missing": g.missing.iter().map(|m| json!({ "what": m.what, "id": m.id })).collect::<Value>(),
    })
}

fn of(costs: &Costs, by: Option<By>, settings: &Settings) -> Value {
    let mut said = json!({
        "currency": settings.currency,
        "all": group_of(&costs.report.all),
        "caveats": costs.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Value>(),
    });
    for by in shown(by) {
        said[format!("by_{}", by.word())] = costs
            .groups(by)
            .into_iter()
            .map(|(name, g)| {
                let mut group = group_of(g);
                group["name"] = name.into();
                group
            })
            .collect();
    }
    said
}

pub(super) fn purchases(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_purchase(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { purchase, draft } => {
            let old = desk.service.purchase(PurchaseId(purchase))?;
            let draft = over(&PurchaseDraft::of(&old), &draft)?;
            let made = desk
                .service
                .save_purchase(Some(old.id), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::List => list(desk),
    }
}

fn list(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let settings = desk.settings()?;
    let all = desk.service.purchases()?;
    let mut table = Table::new(&[">no", "day", "what", ">price", ">uses each", "for"]);
    for v in &all {
        let p = &v.purchase;
        table.row([
            p.id.to_string(),
            p.day.clone(),
            in_words(p),
            settings.money(p.price),
            or_dash(p.uses_each),
            or_dash(v.bath.as_ref().or(v.format.as_ref())),
        ]);
    }
    let empty =
        "Nothing yet: `spoolwright purchase add --what cassettes --quantity 10 --price 25`.";
    desk.answer(listed(table, empty), || {
        all.iter().map(purchase_of).collect()
    })
}

fn purchase_of(v: &PurchaseView) -> Value {
    let p = &v.purchase;
    json!({
        "id": p.id.0, "day": p.day, "what": p.what.word(), "price": p.price, "quantity": p.quantity,
        "uses_each": p.uses_each, "bath": v.bath, "format": v.format, "note": p.note,
    })
}
