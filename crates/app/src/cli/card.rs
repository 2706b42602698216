//! `spoolwright card`: what was found of a stock and is worked by.

use serde_json::{Value, json};
use spoolwright_core::shelf::StockCardId;

use super::Failure;
use super::desk::{Desk, Table, listed};
use super::wedge::{interval, say, speed};
use crate::service::settings::Settings;
use crate::service::wedge::CardView;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// The cards of a stock, newest first: the first holds.
    List {
        /// Its name or number.
        stock: String,
    },
    /// One card.
    Show {
        /// Its number.
        card: i64,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::List { stock } => {
            let stock = desk.service.stock_named(&stock)?;
            let cards = desk.service.cards(stock.id)?;
            let settings = desk.service.settings()?;
            let mut table = Table::new(&[">card", "made", ">EI", "found", ">min", "bath", ""]);
            for c in &cards {
                table.row([
                    c.card.id.to_string(),
                    c.card.made_on.clone(),
                    c.card.rated().map_or("—".into(), |ei| ei.to_string()),
                    found(c),
                    c.card.time_min.map_or("—".into(), |i| say(i, 1)),
                    bath(c, &settings),
                    match (c.holds, &c.outdated) {
                        (true, None) => "holds".into(),
                        (true, Some(_)) => "holds; its test was changed since".into(),
                        (false, Some(_)) => "its test was changed since".into(),
                        (false, None) => String::new(),
                    },
                ]);
            }
            let json: Value = cards.iter().map(card_json).collect();
            let none = "No card: make one with `spoolwright wedge card TEST`.";
            desk.answer(listed(table, none), || json)
        }
        Verb::Show { card } => {
            let view = desk.service.card(StockCardId(card))?;
            let settings = desk.service.settings()?;
            desk.answer(card_text(&view, &settings), || card_json(&view))
        }
    }
}

/// What was found, or that nobody found it.
fn found(c: &CardView) -> String {
    match c.card.ei {
        Some(ei) if ei.lower95 < ei.upper95 => speed(ei),
        Some(_) => "chosen".into(),
        None => String::new(),
    }
}

fn bath(c: &CardView, settings: &Settings) -> String {
    let mut words = vec![c.card.developer.clone(), c.card.dilution.clone()];
    words.extend(c.card.temperature_c.map(|t| settings.temperature(t)));
    words.retain(|w| !w.is_empty());
    words.join(", ")
}

fn card_text(c: &CardView, settings: &Settings) -> String {
    let mut text = format!(
        "Card {} of {}, made {}",
        c.card.id, c.stock.name, c.card.made_on
    );
    text.push_str(if c.holds {
        " (holds)\n"
    } else {
        " (an older one)\n"
    });
    if let Some(outdated) = &c.outdated {
        text.push_str(&format!("! {outdated}\n"));
    }
    let mut line = |what: &str, value: String| {
        if !value.is_empty() {
            text.push_str(&format!("{what}: {value}\n"));
        }
    };
    line(
        "EI",
        c.card.rated().map_or(String::new(), |ei| ei.to_string()),
    );
    line("found", found(c));
    line(
        "time",
        c.card
            .time_min
            .map_or(String::new(), |i| format!("{} min", say(i, 1))),
    );
    line(
        "contrast",
        c.card.target.map_or(String::new(), |(m, v)| {
            format!("{v:.3} {}", m.word().replace('_', " "))
        }),
    );
    line("bath", bath(c, settings));
    line("agitation", c.card.agitation.clone());
    line("from the test", c.test.clone().unwrap_or_default());
    line("can", c.can.clone().unwrap_or_default());
    line("what limits it", c.card.limits.clone());
    line("note", c.card.note.clone());
    text
}

fn card_json(c: &CardView) -> Value {
    json!({
        "id": c.card.id.0, "stock": c.stock.name, "holds": c.holds, "outdated": c.outdated, "made_on": c.card.made_on,
        "rated": c.card.rated(), "ei": c.card.ei.map(interval), "speed_kind": c.card.speed_kind.word(),
        "time_min": c.card.time_min.map(interval),
        "target": c.card.target.map(|(m, v)| json!({ "measure": m.word(), "value": v })),
        "developer": c.card.developer, "dilution": c.card.dilution, "temperature_c": c.card.temperature_c,
        "agitation": c.card.agitation, "test": c.test, "can": c.can, "limits": c.card.limits, "note": c.card.note,
    })
}
