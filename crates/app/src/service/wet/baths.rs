//! Baths: their cards, what befell them, and what they have left.
//!
//! A bath's life is [`spoolwright_core::wet::verdict`]'s, worked out anew from card and events whenever it is looked at.

use super::super::draft::differences;
use super::super::entry::{self, Reader};
use super::super::error::at;
use super::super::things::saved;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::kit::{MILLILITRES, written};
pub use super::life::{doubt_words, verdict_words};
use super::life::{life, life_or_doubt};
use serde::{Deserialize, Serialize};
use spoolwright_core::quantity::degrees;
use spoolwright_core::shelf::{BathEventId, BathId};
use spoolwright_core::wet::bath::{
    ADDED_ML, AREA_M2, BathKind, BathUse, CAPACITY_M2_PER_L, Correction, FixerPlace, FixerSort,
    Look, PERCENT_ADDED, RATE_ML_PER_M2, ROLL_OF_36_M2, SHELF_LIFE_DAYS, VOLUME_ML, What,
};
use spoolwright_core::wet::fixing::{CLEARING_S, NORMAL_C};
use spoolwright_core::wet::record::{BathCard, BathEvent};
use spoolwright_core::wet::verdict::{Life, Verdict};
use spoolwright_core::{Error, Kind};

/// A bath, what befell it and what it has left.
#[derive(Debug, Clone, PartialEq)]
pub struct BathView {
    /// Its card.
    pub card: BathCard,
    /// What befell it, in order.
    pub events: Vec<BathEvent>,
    /// Its life, as of today.
    pub life: Life,
}

impl BathView {
    /// Whether a run may be poured from it.
    pub fn serves(&self) -> bool {
        self.life.verdict != Verdict::Replace
    }
}

/// A bath as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct BathDraft {
    /// What you call it; printed on its card.
    #[arg(long, default_value = "")]
    pub name: String,
    /// developer, stop, fixer, blix, bleach and so on; developer when empty.
    #[arg(long, default_value = "")]
    pub kind: String,
    /// one-shot, reused or replenished; reused when empty.
    #[arg(long, default_value = "")]
    pub usage: String,
    /// What it was mixed from: for a developer, the name your recipes use.
    #[arg(long, default_value = "")]
    pub mixed_from: String,
    /// Its dilution, such as 1+4.
    #[arg(long, default_value = "")]
    pub dilution: String,
    /// Day it was mixed; today when empty.
    #[arg(long, default_value = "")]
    pub mixed_on: String,
    /// How much there is, such as 1000 ml.
    #[arg(long, default_value = "")]
    pub volume: String,
    /// Films of 36 that a litre takes by its sheet; the bench's default when empty.
    #[arg(long, default_value = "")]
    pub rolls_per_litre: String,
    /// Per cent to add to the time for every film of 36 that a litre has had, or "none"; the bench's default when empty.
    #[arg(long, default_value = "")]
    pub percent_per_roll: String,
    /// Per cent to add for each run before, where the sheet says it that way.
    #[arg(long, default_value = "")]
    pub percent_per_run: String,
    /// Days that it keeps by its sheet.
    #[arg(long, default_value = "")]
    pub keeps_days: String,
    /// Replenisher for a film of 36, ml, for a bath that is replenished.
    #[arg(long, default_value = "")]
    pub replenisher: String,
    /// For a fixer: acid or alkaline; acid when empty.
    #[arg(long, default_value = "")]
    pub fixer: String,
    /// For a fixer: only, first or second; only when empty.
    #[arg(long, default_value = "")]
    pub place: String,
    /// Its films are tabular or rich in iodide: yes or no; no when empty.
    #[arg(long, default_value = "")]
    pub high_iodide: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// What befell a bath, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct BathEventDraft {
    /// run (film went through), clearing, looked, replenished or topped-up.
    #[arg(long, default_value = "")]
    pub what: String,
    /// Films of 36, seconds or millilitres, as the kind asks.
    #[arg(long, default_value = "")]
    pub value: String,
    /// For a clearing test: the fixer's temperature; 20 C when empty.
    #[arg(long, default_value = "")]
    pub temperature: String,
    /// For a look: good, doubtful or spent.
    #[arg(long, default_value = "")]
    pub look: String,
    /// Day; today when empty.
    #[arg(long, default_value = "")]
    pub day: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl BathDraft {
    fn read(&self, id: BathId, closed: bool, today: &str) -> Outcome<BathCard> {
        let mut r = Reader::new();
        let films = |r: &mut Reader, field: &str, text: &str, most: f64| {
            let bounds = spoolwright_core::bounds::Bounds {
                what: "films of 36",
                unit: "",
                min: 0.02,
                max: most,
            };
            r.optional(field, text, entry::PLAIN, &bounds)
        };
        let usage = r.word("usage", &self.usage, BathUse::from_word);
        let capacity_m2_per_l = films(
            &mut r,
            "rolls_per_litre",
            &self.rolls_per_litre,
            CAPACITY_M2_PER_L.max / ROLL_OF_36_M2,
        )
        .map(|n| n * ROLL_OF_36_M2);
        let correction = self.correction(&mut r);
        let rate_ml_per_m2 = r
            .optional("replenisher", &self.replenisher, MILLILITRES, &ADDED_ML)
            .map(|ml| ml / ROLL_OF_36_M2)
            .and_then(|rate| r.keep("replenisher", RATE_ML_PER_M2.check(rate).map(Some), None));
        if usage != BathUse::Replenished && rate_ml_per_m2.is_some() {
            r.fault(
                "replenisher",
                Error::new(
                    Kind::Inconsistent,
                    "a replenisher",
                    usage.word(),
                    "only for a bath that is replenished",
                    "Leave it out, or choose replenished.",
                ),
            );
        }
        let mixed_on = r
            .date("mixed_on", &self.mixed_on)
            .unwrap_or_else(|| today.to_owned());
        if mixed_on.as_str() > today {
            r.fault(
                "mixed_on",
                Error::new(
                    Kind::Inconsistent,
                    "the day it was mixed",
                    &mixed_on,
                    format!("{today} or before"),
                    "Write the card on the day you mix.",
                ),
            );
        }
        let card = BathCard {
            id,
            name: r.name("a bath's name", &self.name),
            kind: r.word("kind", &self.kind, BathKind::from_word),
            usage,
            mixed_from: r.free(
                "mixed_from",
                "what it was mixed from",
                &self.mixed_from,
                200,
            ),
            dilution: r.free("dilution", "a dilution", &self.dilution, 40),
            mixed_on,
            volume_ml: r.number("volume", &self.volume, MILLILITRES, &VOLUME_ML),
            capacity_m2_per_l,
            correction,
            shelf_life_days: r.optional(
                "keeps_days",
                &self.keeps_days,
                &[("d", 1.0), ("days", 1.0)],
                &SHELF_LIFE_DAYS,
            ),
            rate_ml_per_m2,
            fixer: r.word("fixer", &self.fixer, FixerSort::from_word),
            place: r.word("place", &self.place, FixerPlace::from_word),
            high_iodide: r.yes("high_iodide", &self.high_iodide),
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(card)
    }

    fn correction(&self, r: &mut Reader) -> Option<Correction> {
        let percent = &[("%", 1.0)];
        let per_run = r.optional(
            "percent_per_run",
            &self.percent_per_run,
            percent,
            &PERCENT_ADDED,
        );
        let per_roll = match self.percent_per_roll.trim() {
            "none" => return Some(Correction::None),
            text => r.optional("percent_per_roll", text, percent, &PERCENT_ADDED),
        };
        match (per_run, per_roll) {
            (None, None) => None,
            (Some(p), None) => Some(Correction::PerRun(p)),
            (None, Some(p)) => Some(Correction::PerRollPerLitre(p)),
            (Some(_), Some(_)) => {
                r.fault(
                    "percent_per_run",
                    Error::new(
                        Kind::Inconsistent,
                        "how the time grows",
                        "by films and by runs",
                        "one of the two",
                        "Give it the way the sheet does.",
                    ),
                );
                None
            }
        }
    }
}

impl From<&BathCard> for BathDraft {
    fn from(b: &BathCard) -> Self {
        let some = |v: Option<f64>| v.map(|v| written(v).to_string()).unwrap_or_default();
        let (per_roll, per_run) = match b.correction {
            None => (String::new(), String::new()),
            Some(Correction::None) => ("none".to_owned(), String::new()),
            Some(Correction::PerRun(p)) => (String::new(), p.to_string()),
            Some(Correction::PerRollPerLitre(p)) => (p.to_string(), String::new()),
        };
        Self {
            name: b.name.clone(),
            kind: b.kind.word().to_owned(),
            usage: b.usage.word().to_owned(),
            mixed_from: b.mixed_from.clone(),
            dilution: b.dilution.clone(),
            mixed_on: b.mixed_on.clone(),
            volume: format!("{} ml", b.volume_ml),
            rolls_per_litre: some(b.capacity_m2_per_l.map(|m2| m2 / ROLL_OF_36_M2)),
            percent_per_roll: per_roll,
            percent_per_run: per_run,
            keeps_days: some(b.shelf_life_days),
            replenisher: some(b.rate_ml_per_m2.map(|rate| rate * ROLL_OF_36_M2)),
            fixer: b.fixer.word().to_owned(),
            place: b.place.word().to_owned(),
            high_iodide: if b.high_iodide { "yes" } else { "no" }.to_owned(),
            note: b.note.clone(),
        }
    }
}

impl BathEventDraft {
    fn read(&self, bath: BathId, today: &str, fahrenheit: bool) -> Outcome<BathEvent> {
        let mut r = Reader::new();
        let what = match self.what.trim() {
            "run" => What::Run {
                area_m2: ROLL_OF_36_M2
                    * r.number("value", &self.value, entry::PLAIN, &films_bounds()),
            },
            "clearing" => What::Clearing {
                seconds: match self.value.contains(':') {
                    true => {
                        let seconds = crate::minutes::bath_time(&self.value)
                            .and_then(|min| CLEARING_S.check(min * 60.0));
                        r.keep("value", seconds, CLEARING_S.min)
                    }
                    false => r.number(
                        "value",
                        &self.value,
                        &[("s", 1.0), ("min", 60.0)],
                        &CLEARING_S,
                    ),
                },
                at_c: r
                    .bath("temperature", &self.temperature, fahrenheit)
                    .unwrap_or(NORMAL_C),
            },
            "looked" => What::Looked(r.word("look", &self.look, Look::from_word)),
            "replenished" => What::Replenished {
                ml: r.number("value", &self.value, MILLILITRES, &ADDED_ML),
            },
            "topped-up" => What::ToppedUp {
                ml: r.number("value", &self.value, MILLILITRES, &ADDED_ML),
            },
            other => {
                r.fault(
                    "what",
                    Error::new(
                        if other.is_empty() {
                            Kind::Missing
                        } else {
                            Kind::Unknown
                        },
                        "what befell the bath",
                        format!("{other:?}"),
                        "run, clearing, looked, replenished, topped-up",
                        "Say one of these.",
                    ),
                );
                What::Looked(Look::Good)
            }
        };
        let day = r.date("day", &self.day).unwrap_or_else(|| today.to_owned());
        if day.as_str() > today {
            r.fault(
                "day",
                Error::new(
                    Kind::Inconsistent,
                    "the day it befell the bath",
                    &day,
                    format!("{today} or before"),
                    "Write it down when it has happened.",
                ),
            );
        }
        let event = BathEvent {
            id: BathEventId(0),
            bath,
            day,
            run: None,
            what,
            note: r.free("note", "a note", &self.note, 400),
        };
        r.finish()?;
        Ok(event)
    }
}

/// How large a load is asked about, in films of 36.
///
/// # Errors
/// Not a number, or out of bounds.
pub fn films_of(text: &str) -> Outcome<f64> {
    let mut r = Reader::new();
    let films = r.number("films", text, entry::PLAIN, &films_bounds());
    r.finish()?;
    Ok(films)
}

fn films_bounds() -> spoolwright_core::bounds::Bounds {
    spoolwright_core::bounds::Bounds {
        what: "films of 36",
        unit: "",
        min: AREA_M2.min / ROLL_OF_36_M2,
        max: AREA_M2.max / ROLL_OF_36_M2,
    }
}

impl Service {
    /// Every bath with its life, the newest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn baths(&self) -> Outcome<Vec<BathView>> {
        let mut cards = self.all::<BathCard>()?;
        cards.reverse();
        cards
            .into_iter()
            .map(|card| self.bath_view(card, None))
            .collect()
    }

    /// One bath with its life; `next_films` asks about a load of so many films of 36.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn bath(&self, id: BathId, next_films: Option<f64>) -> Outcome<BathView> {
        let card = self.find::<BathCard>(id)?;
        self.bath_view(card, next_films)
    }

    /// Every bath, asked about a load of so many films of 36.
    pub(super) fn baths_for(&self, films: Option<f64>) -> Outcome<Vec<BathView>> {
        self.all::<BathCard>()?
            .into_iter()
            .map(|card| self.bath_view(card, films))
            .collect()
    }

    fn bath_view(&self, card: BathCard, next_films: Option<f64>) -> Outcome<BathView> {
        let events = self.store().events_of_bath(card.id)?;
        let life = life_or_doubt(&card, &events, &self.today(), next_films)?;
        Ok(BathView { card, events, life })
    }

    /// Adds a bath (`id` none) or changes its card.
    ///
    /// # Errors
    /// Every fault of the draft; a card that contradicts what befell the bath.
    pub fn save_bath(
        &self,
        id: Option<BathId>,
        draft: &BathDraft,
        request: Request<'_>,
    ) -> Outcome<Made<BathId>> {
        let today = self.today();
        self.change(request, |change| {
            let old = id.map(|id| find_in::<BathCard>(change, id)).transpose()?;
            let card = draft.read(
                id.unwrap_or(BathId(0)),
                old.as_ref().is_some_and(|o| o.closed),
                &today,
            )?;
            let events = match id {
                Some(id) => change.events_of_bath(id)?,
                None => Vec::new(),
            };
            life(&card, &events, &today, None)?;
            let put = change.put(&card)?;
            let changed = old
                .as_ref()
                .map(|o| differences(&BathDraft::from(o), &BathDraft::from(&card)));
            Ok((
                "bath.saved",
                saved(&format!("the bath {}", card.name), changed),
                put,
            ))
        })
    }

    /// Writes down what befell a bath.
    ///
    /// # Errors
    /// Faults of the draft; something that cannot befall such a bath, or before it was mixed.
    pub fn note_bath(
        &self,
        id: BathId,
        draft: &BathEventDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let today = self.today();
        let fahrenheit = self.settings()?.fahrenheit;
        self.change(request, |change| {
            let card = find_in::<BathCard>(change, id)?;
            let event = draft.read(id, &today, fahrenheit)?;
            let mut events = change.events_of_bath(id)?;
            events.push(event.clone());
            life(&card, &events, &today, None).map_err(|e| at("what", e))?;
            change.put(&event)?;
            change.about(spoolwright_store::Subject::of::<BathCard>(id));
            Ok((
                "bath.noted",
                format!("{}: {}.", card.name, told(&event.what)),
                (),
            ))
        })
    }

    /// Marks a bath as poured out, or takes that back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_bath(&self, id: BathId, closed: bool, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let card = BathCard {
                closed,
                ..find_in::<BathCard>(change, id)?
            };
            change.put(&card)?;
            Ok((
                "bath.closed",
                match closed {
                    true => format!("{} was poured out.", card.name),
                    false => format!("{} is there again.", card.name),
                },
                (),
            ))
        })
    }
}

/// What befell a bath, in words.
pub fn told(what: &What) -> String {
    match what {
        What::Run { area_m2 } => format!("{:.1} films of 36 went through", area_m2 / ROLL_OF_36_M2),
        What::Clearing { seconds, at_c } => {
            format!("a scrap cleared in {seconds:.0} s at {}", degrees(*at_c))
        }
        What::Looked(look) => format!("looked {}", look.word()),
        What::Replenished { ml } => format!("{ml:.0} ml of replenisher went in"),
        What::ToppedUp { ml } => format!("{ml:.0} ml of fresh solution went in"),
    }
}
