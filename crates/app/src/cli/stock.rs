//! `spoolwright stock`: kinds of film.

use serde_json::{Value, json};
use spoolwright_core::shelf::Stock;

use super::Failure;
use super::desk::{Desk, Table, listed, mean_sd, or_dash, over};
use crate::service::draft::StockDraft;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add a kind of film.
    Add(Box<StockDraft>),
    /// Change what was entered; a lone - empties a field.
    Change {
        /// Its name or number.
        stock: String,
        #[command(flatten)]
        draft: Box<StockDraft>,
    },
    /// List what there is.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// Put a stock away: it is no longer offered.
    Close {
        /// Its name or number.
        stock: String,
    },
    /// Take it out again.
    Reopen {
        /// Its name or number.
        stock: String,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let (stock, closed) = match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_stock(None, &draft, desk.request)?;
            return desk.made(made, |id| json!({ "id": id.0 }));
        }
        Verb::Change { stock, draft } => {
            let old = desk.service.stock_named(&stock)?;
            let draft = over(&StockDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_stock(Some(old.id), &draft, desk.request)?;
            return desk.told(made);
        }
        Verb::List { all } => return list(desk, all),
        Verb::Close { stock } => (stock, true),
        Verb::Reopen { stock } => (stock, false),
    };
    let stock = desk.service.stock_named(&stock)?;
    let made = desk.service.close_stock(stock.id, closed, desk.request)?;
    desk.told(made)
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let entered = desk.service.stocks()?;
    let shelf = desk.service.shelf()?;
    // With the EI in force: the newest card's, else the one entered.
    let stocks: Vec<(&Stock, Option<f64>)> = shelf
        .stocks
        .iter()
        .filter(|s| all || !s.closed)
        .map(|s| {
            let own = entered.iter().find(|e| e.id == s.id).and_then(|e| e.ei);
            (s, own)
        })
        .collect();
    let mut table = Table::new(&[">no", "stock", ">EI", "process", "base", "pitch", ""]);
    for (s, own) in &stocks {
        let other = own.filter(|ei| Some(*ei) != s.ei);
        table.row([
            s.id.to_string(),
            s.name.clone(),
            match other {
                Some(ei) => format!("{} (entered: {ei})", or_dash(s.ei)),
                None => or_dash(s.ei),
            },
            s.process.word().into(),
            s.base.word().into(),
            s.pitch.word().into(),
            if s.closed { "put away" } else { "" }.into(),
        ]);
    }
    desk.answer(
        listed(table, "No stock yet: `spoolwright stock add --name NAME`."),
        || {
            let told = stocks.iter().map(|(s, own)| {
                let mut fields = of(s);
                fields["ei_entered"] = json!(own);
                fields
            });
            told.collect()
        },
    )
}

/// A stock as JSON, with the EI in force.
pub(super) fn of(s: &Stock) -> Value {
    json!({
        "id": s.id.0, "name": s.name, "ei": s.ei, "process": s.process.word(), "base": s.base.word(), "backing": s.backing.word(),
        "pitch": s.pitch.word(), "thickness_mm": s.thickness_mm.map(mean_sd),
        "linear_mass_g_per_m": s.linear_mass_g_per_m.map(mean_sd),
        "ready_wound_price": s.ready_wound_price, "note": s.note, "closed": s.closed,
    })
}
