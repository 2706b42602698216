//! `calc bath`: what a bath has left, from what happened to it.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::bath::{
    self, Bath, BathKind, BathUse, Correction, Event, FixerPlace, FixerSort, Look, ROLL_OF_36_M2,
    What,
};
use spoolwright_core::wet::cautions::{self, Caution};
use spoolwright_core::wet::fixing::{self, BATH_C, CLEARING_S, NORMAL_C};
use spoolwright_core::wet::verdict::{self, Because, Life};
use spoolwright_core::{Error, Kind};

use super::area::Film;
use super::input::{self, Number};
use super::{answer, json, words};

/// Rolls of 36 that a litre takes.
const CAPACITY_ROLLS_PER_L: Bounds = Bounds {
    what: "a bath's capacity",
    unit: "rolls of 36 a litre",
    min: 0.1,
    max: 1000.0,
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    kind: String,
    r#use: Option<String>,
    volume_ml: Number,
    age_days: Option<Number>,
    capacity_m2_per_l: Option<Number>,
    capacity_rolls_per_l: Option<Number>,
    correction: Option<CorrectionInput>,
    shelf_life_days: Option<Number>,
    rate_ml_per_m2: Option<Number>,
    fixer: Option<String>,
    place: Option<String>,
    high_iodide: Option<bool>,
    next_c: Option<Number>,
    next: Option<Film>,
    events: Option<Vec<Value>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct CorrectionInput {
    percent_per_run: Option<Number>,
    percent_per_roll_per_l: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Run {
    day: Option<Number>,
    area_m2: Option<Number>,
    rolls: Option<Number>,
    length_mm: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Clearing {
    day: Option<Number>,
    seconds: Number,
    at_c: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Looked {
    day: Option<Number>,
    look: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Added {
    day: Option<Number>,
    ml: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let (bath, assumed) = read(json::read(input, "")?)?;
    let mut life = verdict::life(&bath)?;
    life.caveats.extend(assumed);
    Ok(told(&bath, &life))
}

fn read(i: Input) -> Result<(Bath, Option<Caveat>), Error> {
    let kind = input::choice(&i.kind, BathKind::ALL, BathKind::word, "kind")?;
    let usage = input::choice_or(
        i.r#use.as_deref(),
        BathUse::default(),
        BathUse::ALL,
        BathUse::word,
        "use",
    )?;
    let checked = |value: Option<Number>, bounds, field: &str| {
        value.map(|v| v.check(bounds, field)).transpose()
    };
    let listed = i.events.as_deref().unwrap_or_default();
    let events = events(listed)?;
    let assumed = temperature_assumed(listed, &events, i.next_c.is_none());
    let last_day = events.iter().map(|e| e.day).fold(0.0, f64::max);
    let mut read = Bath::new(
        kind,
        usage,
        i.volume_ml.check(bath::VOLUME_ML, "volume_ml")?,
    );
    if i.shelf_life_days.is_some() && i.age_days.is_none() {
        return Err(Error::missing(
            "age_days: missing",
            "with shelf_life_days, days since the bath was mixed",
            "Give its age; if nobody wrote it down, leave out the shelf life, and its age is not judged.",
        ));
    }
    read.age_days = input::number_or(i.age_days, last_day, bath::DAYS, "age_days")?;
    read.capacity_m2_per_l = capacity(i.capacity_m2_per_l, i.capacity_rolls_per_l)?;
    read.correction = i.correction.map(correction).transpose()?;
    read.shelf_life_days = checked(i.shelf_life_days, bath::SHELF_LIFE_DAYS, "shelf_life_days")?;
    read.rate_ml_per_m2 = checked(i.rate_ml_per_m2, bath::RATE_ML_PER_M2, "rate_ml_per_m2")?;
    if !read.fixes() && (i.fixer.is_some() || i.place.is_some() || i.high_iodide.is_some()) {
        return Err(Error::new(
            Kind::Inconsistent,
            "fixer, place and high_iodide: for a bath that fixes",
            format!("kind {}", kind.word()),
            "kind fixer or blix",
            "Leave them out.",
        ));
    }
    read.fixer = input::choice_or(
        i.fixer.as_deref(),
        FixerSort::default(),
        FixerSort::ALL,
        FixerSort::word,
        "fixer",
    )?;
    read.place = input::choice_or(
        i.place.as_deref(),
        FixerPlace::default(),
        FixerPlace::ALL,
        FixerPlace::word,
        "place",
    )?;
    read.high_iodide = i.high_iodide.unwrap_or(false);
    read.next_c = input::number_or(i.next_c, NORMAL_C, BATH_C, "next_c")?;
    read.next_area_m2 = i.next.map(|film| film.area_m2("next")).transpose()?;
    read.events = events;
    Ok((read, assumed))
}

/// Where a clearing test or the fixing time that follows from one is of a temperature that nobody gave.
fn temperature_assumed(listed: &[Value], events: &[Event], next: bool) -> Option<Caveat> {
    let tests = events.iter().zip(listed).enumerate();
    let mut fields: Vec<String> = tests
        .filter(|(_, (e, given))| {
            matches!(e.what, What::Clearing { .. }) && given.get("at_c").is_none()
        })
        .map(|(i, _)| format!("events[{i}].at_c"))
        .collect();
    let tested = events
        .iter()
        .any(|e| matches!(e.what, What::Clearing { .. }));
    if next && tested {
        fields.push("next_c".to_owned());
    }
    (!fields.is_empty()).then(|| {
        Caveat::new(
            "temperature_assumed",
            format!(
                "Taken as 20 °C (68 °F) for want of anything said: {}. A colder scrap clears more slowly and makes a fixer seem more spent; a colder bath fixes more slowly.",
                fields.join(", ")
            ),
        )
    })
}

fn capacity(m2: Option<Number>, rolls: Option<Number>) -> Result<Option<f64>, Error> {
    match (m2, rolls) {
        (None, None) => Ok(None),
        (Some(m2), None) => m2
            .check(bath::CAPACITY_M2_PER_L, "capacity_m2_per_l")
            .map(Some),
        (None, Some(rolls)) => {
            let rolls = rolls.check(CAPACITY_ROLLS_PER_L, "capacity_rolls_per_l")?;
            Ok(Some(rolls * ROLL_OF_36_M2))
        }
        (Some(_), Some(_)) => Err(Error::new(
            Kind::Inconsistent,
            "capacity_m2_per_l and capacity_rolls_per_l: one is enough",
            "both",
            "at most one",
            "Give the one that the sheet names.",
        )),
    }
}

fn correction(c: CorrectionInput) -> Result<Correction, Error> {
    match (c.percent_per_run, c.percent_per_roll_per_l) {
        (Some(percent), None) => percent
            .check(bath::PERCENT_ADDED, "correction.percent_per_run")
            .map(Correction::PerRun),
        (None, Some(percent)) => percent
            .check(bath::PERCENT_ADDED, "correction.percent_per_roll_per_l")
            .map(Correction::PerRollPerLitre),
        (one, _) => Err(Error::new(
            Kind::Inconsistent,
            "correction: by runs or by rolls, one of the two is needed",
            if one.is_some() { "both" } else { "neither" },
            "percent_per_run or percent_per_roll_per_l",
            "Give the one that the sheet names.",
        )),
    }
}

const KINDS: [&str; 5] = ["run", "clearing", "look", "replenish", "top_up"];

/// Events in order; one without a day is of the day before it in the list.
fn events(list: &[Value]) -> Result<Vec<Event>, Error> {
    if bath::MOST_EVENTS < list.len() {
        return Err(Error::new(
            Kind::TooLarge,
            "events: too many",
            list.len(),
            format!("up to {}", bath::MOST_EVENTS),
            "Mix a new bath before that.",
        ));
    }
    let mut events: Vec<Event> = Vec::with_capacity(list.len());
    for (i, value) in list.iter().enumerate() {
        let before = events.last().map_or(0.0, |e| e.day);
        events.push(event(value, &format!("events[{i}]"), before)?);
    }
    Ok(events)
}

fn event(value: &Value, at: &str, before: f64) -> Result<Event, Error> {
    let (kind, rest) = json::tagged(value, at)?;
    let rest = &rest;
    let f = |name: &str| json::join(at, name);
    let (day, what) = match kind.as_str() {
        "run" => {
            let r: Run = json::read(rest, at)?;
            let area_m2 = Film::new(r.area_m2, r.rolls, r.length_mm).area_m2(at)?;
            (r.day, What::Run { area_m2 })
        }
        "clearing" => {
            let c: Clearing = json::read(rest, at)?;
            let seconds = c.seconds.check(CLEARING_S, &f("seconds"))?;
            let at_c = input::number_or(c.at_c, NORMAL_C, BATH_C, &f("at_c"))?;
            (c.day, What::Clearing { seconds, at_c })
        }
        "look" => {
            let l: Looked = json::read(rest, at)?;
            let look = input::choice(&l.look, Look::ALL, Look::word, &f("look"))?;
            (l.day, What::Looked(look))
        }
        "replenish" | "top_up" => {
            let a: Added = json::read(rest, at)?;
            let ml = a.ml.check(bath::ADDED_ML, &f("ml"))?;
            let what = if kind == "replenish" {
                What::Replenished { ml }
            } else {
                What::ToppedUp { ml }
            };
            (a.day, what)
        }
        other => return Err(words::unknown(&f("kind"), other, KINDS, input::USE_ONE)),
    };
    let day = input::number_or(day, before, bath::DAYS, &f("day"))?;
    Ok(Event { day, what })
}

fn told(bath: &Bath, life: &Life) -> Value {
    let mut said = json!({
        "verdict": life.verdict.word(),
        "because": because(&life.because),
        "next_time_factor": life.next_time_factor,
        "runs": life.runs,
        "area_m2": life.area_m2,
    });
    said["capacity_left"] = match (life.capacity_left_m2, life.rolls_left()) {
        (Some(m2), Some(rolls)) => json!({ "known": true, "m2": m2, "rolls_of_36": rolls }),
        _ => json!({ "known": false }),
    };
    said["limits"] = life
        .limits
        .iter()
        .map(|l| {
            json!({
                "limit": l.limit.word(), "used": l.used, "allowed": l.allowed, "unit": l.unit,
                "share": l.share, "basis": l.basis.word(),
            })
        })
        .collect();
    if let Some(ml) = life.replenisher_owed_ml {
        said["replenisher_owed_ml"] = ml.into();
    }
    if let Some(c) = life.clearing {
        let [agitation, _] = fixing::AGITATION;
        said["clearing"] = json!({
            "fresh_s": c.fresh_s,
            "fresh_at_c": c.fresh_at_c,
            "latest_s": c.latest_s,
        });
        if let Some(fix_s) = c.fixing_time_s {
            said["clearing"]["fixing_time_s"] = fix_s.into();
            said["clearing"]["agitation"] = json!({
                "first_s": agitation.first_s, "then_s": agitation.for_s, "every_s": agitation.every_s,
            });
        }
    }
    if let Some(next) = &life.next_load {
        said["next_load"] = json!({
            "area_m2": next.area_m2,
            "verdict": next.verdict.word(),
            "because": because(&next.because),
        });
    }
    said["cautions"] = cautioned(cautions::cautions(bath.kind));
    said["caveats"] = answer::caveats(&life.caveats);
    said
}

fn because(list: &[Because]) -> Value {
    list.iter()
        .map(|b| json!({ "reason": b.reason.word(), "text": b.text }))
        .collect()
}

/// Cautions with their stable code and their sentence.
pub(super) fn cautioned(list: &[Caution]) -> Value {
    list.iter()
        .map(|c| json!({ "code": c.code, "text": c.text }))
        .collect()
}
