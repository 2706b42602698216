//! `calc devtime`: the developing time at another temperature, or the moment to stop a bath that drifts.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::wet::drift::{Drift, READING_S, Reading};
use spoolwright_core::wet::mark::Mark;
use spoolwright_core::wet::push::{self, PUSH_FACTOR, PUSH_STOPS, Push};
use spoolwright_core::wet::temperature::{
    BATH_C, Base, Coefficient, DEFAULT_THERMOMETER_SD_C, Pair, Q10, Q10_SD, THERMOMETER_SD_C,
    time_at,
};
use spoolwright_core::{Error, Kind};

use super::input::{self, Number, number_or};
use super::{answer, json};

const MOMENT_S: Bounds = Bounds {
    what: "a moment of the bath",
    min: 0.0,
    ..READING_S
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    time_min: Number,
    at_c: Number,
    to_c: Option<Number>,
    readings: Option<Vec<Value>>,
    at_s: Option<Number>,
    q10: Option<Value>,
    q10_sd: Option<Number>,
    thermometer_sd_c: Option<Number>,
    push: Option<PushInput>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct PushInput {
    stops: Number,
    factor: Option<Number>,
    mark: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Lesson {
    pairs: Vec<Value>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct PairInput {
    time_min: Number,
    c: Number,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct ReadingInput {
    t_s: Number,
    c: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let base = Base::new(
        i.time_min.check(bounds::DEVELOPING_MIN, "time_min")?,
        i.at_c.check(BATH_C, "at_c")?,
    )?;
    let thermometer = number_or(
        i.thermometer_sd_c,
        DEFAULT_THERMOMETER_SD_C,
        THERMOMETER_SD_C,
        "thermometer_sd_c",
    )?;
    let coefficient = coefficient(i.q10.as_ref(), i.q10_sd, thermometer)?;
    let push = i.push.map(read_push).transpose()?;
    let pushed = match &push {
        Some(push) => base
            .times(push.as_interval())
            .map_err(|e| at("time_min after the push", e))?,
        None => base,
    };
    let (mut said, mut caveats) = match (i.to_c, i.readings) {
        (Some(to_c), None) => {
            if i.at_s.is_some() {
                return Err(alone("at_s", "readings"));
            }
            let time = time_at(
                pushed,
                to_c.check(BATH_C, "to_c")?,
                &coefficient,
                thermometer,
            )?;
            let said = json!({
                "time_min": time.time_min.value,
                "lower95_min": time.time_min.lower95,
                "upper95_min": time.time_min.upper95,
            });
            (said, time.caveats)
        }
        (None, Some(rows)) => stop(pushed, coefficient, &rows, thermometer, i.at_s)?,
        (given, _) => {
            return Err(Error::new(
                Kind::Inconsistent,
                "to_c and readings: one of the two is needed",
                if given.is_some() { "both" } else { "neither" },
                "`to_c` for a steady bath, `readings` for one that drifts",
                "Give the one that you have.",
            ));
        }
    };
    let q10 = coefficient.q10();
    said["q10"] = json!({
        "value": q10.value,
        "lower95": q10.lower95,
        "upper95": q10.upper95,
        "origin": coefficient.origin().word(),
    });
    if let Some(push) = push {
        said["push"] = json!({
            "stops": push.stops,
            "factor": push.factor,
            "low": push.low,
            "high": push.high,
            "mark": push.mark.word(),
            "base_min": pushed.time_min(),
        });
        caveats.extend(push.caveats);
    }
    said["caveats"] = answer::caveats(&caveats);
    Ok(said)
}

type Said = (Value, Vec<spoolwright_core::caveat::Caveat>);

fn stop(
    base: Base,
    coefficient: Coefficient,
    rows: &[Value],
    thermometer: f64,
    at_s: Option<Number>,
) -> Result<Said, Error> {
    let readings = rows
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let path = format!("readings[{i}]");
            let row: ReadingInput = json::read(row, &path)?;
            Ok(Reading {
                t_s: row.t_s.check(READING_S, &json::join(&path, "t_s"))?,
                c: row.c.check(BATH_C, &json::join(&path, "c"))?,
            })
        })
        .collect::<Result<Vec<_>, Error>>()?;
    let bath = Drift::new(base, coefficient, &readings)
        .and_then(|b| b.with_thermometer_sd(thermometer))
        .map_err(|e| at("readings", e))?;
    let last = readings.last().map_or(0.0, |r| r.t_s.max(0.0));
    let now = number_or(at_s, last, MOMENT_S, "at_s")?;
    let margin = bath.margin();
    let said = json!({
        "stop_at_s": bath.stop_at_s(),
        "at_s": now,
        "equivalent_min": bath.equivalent_min(now),
        "left_s": bath.left_s(now),
        "margin": {
            "earliest_s": margin.earliest_s,
            "latest_s": margin.latest_s,
            "thermometer_s": margin.thermometer_s,
            "q10_s": margin.q10_s,
            "base_s": margin.base_s,
            "trend_s": margin.trend_s,
        },
    });
    Ok((said, bath.caveats()))
}

fn coefficient(
    q10: Option<&Value>,
    sd: Option<Number>,
    thermometer: f64,
) -> Result<Coefficient, Error> {
    let sd = sd.map(|sd| sd.check(Q10_SD, "q10_sd")).transpose()?;
    match q10 {
        Some(Value::Object(_)) => {
            let lesson: Lesson = json::read(q10.unwrap_or(&Value::Null), "q10")?;
            if sd.is_some() {
                return Err(alone("q10_sd", "a number as q10"));
            }
            let pairs = lesson
                .pairs
                .iter()
                .enumerate()
                .map(|(i, pair)| {
                    let path = format!("q10.pairs[{i}]");
                    let pair: PairInput = json::read(pair, &path)?;
                    Ok(Pair {
                        time_min: pair
                            .time_min
                            .check(bounds::DEVELOPING_MIN, &json::join(&path, "time_min"))?,
                        c: pair.c.check(BATH_C, &json::join(&path, "c"))?,
                    })
                })
                .collect::<Result<Vec<_>, Error>>()?;
            Coefficient::learn(&pairs, thermometer).map_err(|e| at("q10.pairs", e))
        }
        Some(number) => {
            let number: Number = json::read(number, "q10")?;
            Coefficient::given(number.check(Q10, "q10")?, sd.unwrap_or(0.0))
        }
        None if sd.is_some() => Err(alone("q10_sd", "q10")),
        None => Ok(Coefficient::default()),
    }
}

fn read_push(input: PushInput) -> Result<Push, Error> {
    let stops = input.stops.check(PUSH_STOPS, "push.stops")?;
    let mark = input::mark(input.mark.as_deref(), "push.mark")?;
    match input.factor {
        Some(factor) => push::own(
            stops,
            factor.check(PUSH_FACTOR, "push.factor")?,
            mark.unwrap_or_default(),
        ),
        None if mark.is_some_and(|m| m != Mark::RuleOfThumb) => {
            return Err(alone("push.mark", "push.factor"));
        }
        None => push::rule_of_thumb(stops),
    }
    .map_err(|e| at("push", e))
}

/// A field that goes only with another one.
fn alone(field: &str, with: &str) -> Error {
    Error::new(
        Kind::Inconsistent,
        format!("{field}: only together with {with}"),
        format!("`{field}` alone"),
        format!("{with}, or no `{field}`"),
        "Add the one or leave out the other.",
    )
}

/// The same refusal with the field that it is about.
fn at(field: &str, mut error: Error) -> Error {
    error.what = format!("{field}: {}", error.what);
    error
}
