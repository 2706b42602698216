//! What should be known of a test and its cards as they stand: changed since a card was saved, developed otherwise than
//! planned, read although the record of its roll lags behind.

use crate::minutes::told;
use crate::service::{Outcome, Service};
use spoolwright_core::shelf::{Roll, RollState, Stock, Ticket, TicketState};
use spoolwright_core::wedge::record::{StockCard, WedgeStrip, WedgeTest};
use spoolwright_store::{Changed, Subject};

/// Two developing times nearer than a second are one, minutes.
const ONE_TIME_MIN: f64 = 1.0 / 60.0;

impl Service {
    /// That the test behind a card is no longer what the card was made from, and in what; none while it is.
    pub(super) fn outdated(&self, card: &StockCard) -> Outcome<Option<String>> {
        let Some(test) = card.test else {
            return Ok(None);
        };
        let made = Subject::of::<StockCard>(card.id);
        let about = [
            Subject::of::<WedgeTest>(test),
            Subject::of::<Stock>(card.stock),
        ];
        let changed = self.store().changed_since(made, &about)?;
        let mut what: Vec<&str> = Vec::new();
        for named in changed
            .iter()
            .filter_map(|c| input(c, test.0, card.stock.0))
        {
            if !what.contains(&named) {
                what.push(named);
            }
        }
        Ok((!what.is_empty()).then(|| {
            format!(
                "The test was changed after this card was saved ({}): save a new card.",
                what.join(", ")
            )
        }))
    }
}

/// What a changed column means for a card; none where it moves nothing on it.
fn input(changed: &Changed, test: i64, stock: i64) -> Option<&'static str> {
    match (changed.table.as_str(), changed.column.as_str()) {
        ("wedge_test", column) if changed.id == test => Some(match column {
            "meter_ei" => "the meter’s EI",
            "log_h_at_zero_density" => "the exposure",
            "way" | "steps" => "the steps",
            "stock" | "can" => "the film",
            "developer" | "dilution" | "temperature_c" | "agitation" => "the bath",
            _ => return None,
        }),
        ("wedge_strip", column) if column != "source" => Some("the strips"),
        ("stock", "process") if changed.id == stock => Some("the stock’s process"),
        _ => None,
    }
}

/// Strips developed for other times than planned.
pub(super) fn other_times(test: &WedgeTest, strips: &[WedgeStrip]) -> Option<String> {
    let same = |a: f64, b: f64| (a - b).abs() < ONE_TIME_MIN;
    let mut read: Vec<f64> = strips.iter().map(|s| s.time_min).collect();
    read.sort_by(f64::total_cmp);
    read.dedup_by(|a, b| same(*a, *b));
    let planned = &test.planned_min;
    let missed = |p: &&f64| !read.iter().any(|r| same(*r, **p));
    let missed: Vec<f64> = planned.iter().filter(missed).copied().collect();
    let strange: Vec<f64> = read
        .iter()
        .filter(|r| !planned.iter().any(|p| same(**r, *p)))
        .copied()
        .collect();
    if strange.is_empty() {
        return None;
    }
    let all = |times: &[f64]| {
        times
            .iter()
            .map(|t| told(*t))
            .collect::<Vec<_>>()
            .join(", ")
    };
    if strange.len() != missed.len() {
        return Some(format!(
            "Strips were planned for {} min; read were strips of {} min, which were not planned. The times read count.",
            all(planned),
            all(&strange)
        ));
    }
    let pairs = missed.iter().zip(&strange).map(|(planned_for, read)| {
        let number = planned.iter().position(|p| p == planned_for).unwrap_or(0) + 1;
        format!(
            "strip {number} was planned for {} min and read as {} min",
            told(*planned_for),
            told(*read)
        )
    });
    let text = pairs.collect::<Vec<_>>().join("; ");
    let text = text.replacen("strip", "Strip", 1);
    Some(format!("{text}. The times read count."))
}

/// Whether a roll is not yet said to be developed, and was not given up.
pub(super) fn not_developed(roll: &Roll) -> bool {
    matches!(
        roll.state,
        RollState::Wound | RollState::InCamera | RollState::Exposed
    )
}

/// What the record of a test's roll lacks although its strips were read.
pub(in crate::service) fn unrecorded(
    strips: &[WedgeStrip],
    ticket: Option<&Ticket>,
    roll: Option<&Roll>,
) -> Option<String> {
    let ticket = ticket.filter(|_| !strips.is_empty())?;
    match (roll, ticket.state) {
        (Some(roll), _) if not_developed(roll) => Some(format!(
            "Strips of the test were read, yet its roll {} is recorded as {}: say that it was developed.",
            roll.label,
            roll.state.word()
        )),
        (None, TicketState::Queued) => Some(
            "Strips of the test were read, yet its roll still waits at the loader: record the winding, or drop the ticket if the \
             film did not come from this can."
                .to_owned(),
        ),
        (None, TicketState::Dropped) => Some(
            "Strips of the test were read, yet its ticket was dropped unwound: the film they took is not counted as drawn from \
             the can."
                .to_owned(),
        ),
        _ => None,
    }
}
