//! Costs as a table for a spreadsheet: comma-separated values as [RFC 4180], UTF-8, a point for the decimals.

use super::super::{Outcome, Service};
use super::money::{By, Costs, missing_in_words};
use spoolwright_core::cost::Amount;
use spoolwright_core::cost::report::Group;
use spoolwright_core::cost::share::Missing;
use spoolwright_core::{Error, Kind};
use std::collections::BTreeSet;

/// Heads of the table by group.
const GROUP_HEADS: [&str; 26] = [
    "by",
    "name",
    "rolls",
    "rolls_waiting",
    "rolls_for_tests",
    "usable_frames",
    "lost_frames",
    "film",
    "cassettes",
    "chemistry",
    "pages",
    "tests",
    "other",
    "total",
    "total_low",
    "total_high",
    "per_usable_frame",
    "per_usable_frame_low",
    "per_usable_frame_high",
    "lost_frames_cost",
    "waiting",
    "ready_wound",
    "own_film_and_cassettes",
    "saved",
    "currency",
    "prices_missing",
];
/// Heads of the table by roll.
const ROLL_HEADS: [&str; 10] = [
    "roll",
    "film",
    "cassette",
    "chemistry",
    "pages",
    "total",
    "total_low",
    "total_high",
    "currency",
    "prices_missing",
];

impl Service {
    /// Costs by groups of one kind, or by all three kinds and in all.
    ///
    /// # Errors
    /// As for [`Service::costs`].
    pub fn costs_as_csv(&self, by: Option<By>) -> Outcome<String> {
        let costs = self.costs()?;
        let currency = self.settings()?.currency;
        let mut rows = vec![GROUP_HEADS.map(str::to_owned).to_vec()];
        for by in By::ALL.iter().filter(|b| by.is_none_or(|only| only == **b)) {
            for (name, group) in costs.groups(*by) {
                rows.push(group_row(by.word(), &name, group, &currency));
            }
        }
        if by.is_none() {
            rows.push(group_row("all", "", &costs.report.all, &currency));
        }
        written(&rows)
    }

    /// Costs of every roll.
    ///
    /// # Errors
    /// As for [`Service::costs`].
    pub fn rolls_as_csv(&self) -> Outcome<String> {
        let Costs { report, .. } = self.costs()?;
        let currency = self.settings()?.currency;
        let mut rows = vec![ROLL_HEADS.map(str::to_owned).to_vec()];
        for (label, borne) in &report.rolls {
            let total = borne.total();
            rows.push(vec![
                plain(label),
                money(borne.film.mid),
                money(borne.cassette.mid),
                money(borne.chemistry.mid),
                money(borne.pages.mid),
                money(total.mid),
                money(total.low),
                money(total.high),
                plain(&currency),
                lacking(&borne.missing),
            ]);
        }
        written(&rows)
    }
}

fn group_row(by: &str, name: &str, g: &Group, currency: &str) -> Vec<String> {
    let total = g.total();
    let per: Option<Amount> = g.per_frame();
    let some = |v: Option<f64>| v.map(money).unwrap_or_default();
    vec![
        by.to_owned(),
        plain(name),
        g.rolls.to_string(),
        g.waiting_rolls.to_string(),
        g.test_rolls.to_string(),
        g.usable.to_string(),
        g.lost.to_string(),
        money(g.film.mid),
        money(g.cassettes.mid),
        money(g.chemistry.mid),
        money(g.pages.mid),
        money(g.tests.mid),
        money(g.other.mid),
        money(total.mid),
        money(total.low),
        money(total.high),
        some(per.map(|p| p.mid)),
        some(per.map(|p| p.low)),
        some(per.map(|p| p.high)),
        money(g.lost_cost().mid),
        money(g.waiting.mid),
        some(g.ready.map(|r| r.ready_wound)),
        some(g.ready.map(|r| r.own.mid)),
        some(g.ready.map(|r| r.saved.mid)),
        plain(currency),
        lacking(&g.missing),
    ]
}

/// Money to the hundredth of a cent.
fn money(amount: f64) -> String {
    format!("{amount:.4}")
}

fn lacking(all: &BTreeSet<Missing>) -> String {
    let words: Vec<String> = all.iter().map(missing_in_words).collect();
    plain(&words.join("; "))
}

/// A text that no spreadsheet takes for a formula.
fn plain(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

fn written(rows: &[Vec<String>]) -> Outcome<String> {
    let failed = |e: String| {
        Error::new(
            Kind::Conflict,
            "the table",
            e,
            "a table that can be written",
            "Try again.",
        )
    };
    let mut out = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    for row in rows {
        out.write_record(row).map_err(|e| failed(e.to_string()))?;
    }
    let bytes = out.into_inner().map_err(|e| failed(e.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
