//! What a bath has left, from its card and what befell it, worked out anew whenever it is asked for; and how a person
//! says it.

use super::super::{Outcome, find_in};
use super::baths::BathView;
use jiff::civil::Date;
use spoolwright_core::Error;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::shelf::{BathEventId, BathId};
use spoolwright_core::wet::bath::{Bath, Event, ROLL_OF_36_M2, What};
use spoolwright_core::wet::record::{BathCard, BathEvent};
use spoolwright_core::wet::verdict::{self, Because, Life, Reason, Verdict};
use spoolwright_store::Change;

/// The verdict as a person says it: good, so much longer, or mix new; never good where a test or a sheet is wanting.
pub fn verdict_words(life: &Life) -> String {
    if let Some(doubt) = doubt_words(life.verdict, &life.because) {
        return doubt.to_owned();
    }
    match life.verdict {
        Verdict::Use => "good".to_owned(),
        Verdict::Replace => "mix new".to_owned(),
        Verdict::Correct => match (life.next_time_factor - 1.0) * 100.0 {
            percent if percent >= 0.5 => format!("+{percent:.0} %"),
            _ if life.replenisher_owed_ml.is_some_and(|ml| ml >= 0.5) => "replenish".to_owned(),
            _ => "with care".to_owned(),
        },
    }
}

/// What stands in the way of "good" short of a limit.
pub fn doubt_words(verdict: Verdict, because: &[Because]) -> Option<&'static str> {
    let has = |reason| because.iter().any(|b| b.reason == reason);
    match verdict {
        Verdict::Replace => None,
        _ if has(Reason::Colour) => Some("test first"),
        Verdict::Use if has(Reason::NotKnown) => Some("not known"),
        _ => None,
    }
}

/// A bath as a change sees it, asked about a load of so many films of 36. `going_m2` is film that has been in it and
/// does not stand on its card yet.
pub(super) fn view_in(
    change: &Change<'_>,
    id: BathId,
    today: &str,
    next_films: Option<f64>,
    going_m2: &[f64],
) -> Outcome<BathView> {
    let card = find_in::<BathCard>(change, id)?;
    let events = change.events_of_bath(id)?;
    let mut all = events.clone();
    all.extend(going_m2.iter().map(|area_m2| BathEvent {
        id: BathEventId(0),
        bath: id,
        day: today.to_owned(),
        run: None,
        what: What::Run { area_m2: *area_m2 },
        note: String::new(),
    }));
    let life = life_or_doubt(&card, &all, today, next_films)?;
    Ok(BathView { card, events, life })
}

/// The life of a bath even where an undo, or a clock that was wrong, has left its card and what befell it at odds: what
/// befell it before it was mixed is taken as of that day, what cannot be at all is left out, and that is said.
pub(super) fn life_or_doubt(
    card: &BathCard,
    events: &[BathEvent],
    today: &str,
    next_films: Option<f64>,
) -> Result<Life, Error> {
    let strict = life(card, events, today, next_films);
    let Err(odds) = strict else { return strict };
    let mut kept: Vec<BathEvent> = events.to_vec();
    for e in &mut kept {
        e.day = e.day.clone().max(card.mixed_on.clone());
    }
    let mut fitting: Vec<BathEvent> = Vec::new();
    for e in kept {
        fitting.push(e);
        if life(card, &fitting, today, next_films).is_err() {
            fitting.pop();
        }
    }
    let mut told = life(card, &fitting, today, next_films)?;
    told.caveats.push(Caveat::new(
        "card_at_odds",
        format!(
            "The card and what befell the bath contradict each other ({}): what lies before the day it was mixed is counted on that day, what cannot be at all is left out. Correct the card.",
            odds.what
        ),
    ));
    Ok(told)
}

pub(super) fn life(
    card: &BathCard,
    events: &[BathEvent],
    today: &str,
    next_films: Option<f64>,
) -> Result<Life, Error> {
    let mut told: Vec<Event> = events
        .iter()
        .map(|e| Event {
            day: days(&card.mixed_on, &e.day),
            what: e.what,
        })
        .collect();
    // Written down late, it still happened on its day; on one day, as written.
    told.sort_by(|a, b| a.day.total_cmp(&b.day));
    let newest = told.last().map_or(0.0, |e| e.day);
    verdict::life(&Bath {
        age_days: days(&card.mixed_on, today).max(newest),
        capacity_m2_per_l: card.capacity_m2_per_l,
        correction: card.correction,
        shelf_life_days: card.shelf_life_days,
        rate_ml_per_m2: card.rate_ml_per_m2,
        fixer: card.fixer,
        place: card.place,
        high_iodide: card.high_iodide,
        next_area_m2: next_films.map(|n| n * ROLL_OF_36_M2),
        events: told,
        ..Bath::new(card.kind, card.usage, card.volume_ml)
    })
}

fn days(from: &str, to: &str) -> f64 {
    let read = |text: &str| text.get(..10).and_then(|d| d.parse::<Date>().ok());
    match (read(from), read(to)) {
        (Some(from), Some(to)) => f64::from((to - from).get_days()),
        _ => 0.0,
    }
}
