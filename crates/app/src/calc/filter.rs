//! `calc filter`: which filter turns one light into another, what filters cost, and the exposure through them.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::exposure::{
    self, DEFAULT_METER_K, F_NUMBER, LUMINANCE, METER_K, TIME_S,
};
use spoolwright_core::wet::filter::{
    self, Choice, FACTOR, FILTERS, Filter, KELVIN, SHIFT_MIRED, Stack,
};
use spoolwright_core::{Error, Kind, bounds};

use super::input::{Number, USE_ONE, number_or};
use super::{answer, json, words};

/// Most filters of a kind that may lie behind one another.
const MOST_STACKED: usize = 5;
/// Whole stops by which the exposures listed reach to either side.
const STOPS_LISTED: u32 = 6;
/// From this time on film loses speed, in seconds.
const LONG_S: f64 = 1.0;

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    from_k: Option<Number>,
    to_k: Option<Number>,
    shift_mired: Option<Number>,
    at_hand: Option<Vec<String>>,
    filters: Option<Vec<String>>,
    factors: Option<Vec<Number>>,
    ei: Option<Number>,
    exposure: Option<Exposure>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Exposure {
    f_number: Number,
    time_s: Option<Number>,
    luminance_cd_m2: Option<Number>,
    meter_k: Option<Number>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let wanted = wanted(i.from_k, i.to_k, i.shift_mired)?;
    let at_hand = match &i.at_hand {
        Some(names) => named(names, "at_hand", FILTERS.len())?,
        None => FILTERS.to_vec(),
    };
    if i.at_hand.is_some() && wanted.is_none() {
        return Err(inconsistent(
            "at_hand: nothing is wanted of it",
            "`at_hand` alone",
            "`at_hand` with `from_k` and `to_k`, or with `shift_mired`",
        ));
    }
    let on_lens = on_lens(i.filters.as_deref(), i.factors.as_deref())?;
    let ei =
        i.ei.map(|ei| ei.check(bounds::SPEED_ISO, "ei"))
            .transpose()?;
    let exposure = i.exposure.map(|e| read_exposure(e, ei)).transpose()?;
    if wanted.is_none() && on_lens.is_none() && exposure.is_none() {
        return Err(Error::missing(
            "nothing to work out",
            "a wanted shift, filters or factors, or an exposure",
            "Add `from_k` and `to_k`, `shift_mired`, `filters`, `factors` or `exposure`.",
        ));
    }

    let mut said = json!({});
    let mut caveats = Vec::new();
    let mut best = None;
    if let Some(wanted) = wanted {
        let choices = filter::choose(wanted, &at_hand)?;
        said["wanted"] = json!({
            "shift_mired": wanted,
            "choices": choices.iter().map(choice).collect::<Value>(),
        });
        if let Some(choice) = choices.into_iter().next_back() {
            caveats.extend(filter::caveats(&choice));
            best = Some(choice.stack);
        }
    } else if on_lens.as_ref().is_some_and(|s| !s.filters.is_empty()) {
        caveats.push(filter::nominal());
    }
    let stack = on_lens.or(best);
    if let Some(stack) = &stack {
        said["through"] = stacked(stack);
    }
    let stops = stack.as_ref().map_or(0.0, Stack::stops);
    if let Some(ei) = ei {
        let (exact, listed) = filter::ei_behind(ei, stops)?;
        said["ei"] = json!({
            "exact": exact,
            "standard": listed.iso,
            "degrees": listed.degrees,
        });
    }
    if let Some((f_number, time_s)) = exposure {
        said["exposure"] = exposed(f_number, time_s, stops, &mut caveats)?;
    }
    said["caveats"] = answer::caveats(&caveats);
    Ok(said)
}

fn wanted(
    from: Option<Number>,
    to: Option<Number>,
    shift: Option<Number>,
) -> Result<Option<f64>, Error> {
    let from = from.map(|v| v.check(KELVIN, "from_k")).transpose()?;
    let to = to.map(|v| v.check(KELVIN, "to_k")).transpose()?;
    let shift = shift
        .map(|v| v.check(SHIFT_MIRED, "shift_mired"))
        .transpose()?;
    match (from, to, shift) {
        (None, None, shift) => Ok(shift),
        (Some(from), Some(to), None) => filter::shift_mired(from, to).map(Some),
        (Some(_), None, None) => Err(json::missing("to_k")),
        (None, Some(_), None) => Err(json::missing("from_k")),
        _ => Err(inconsistent(
            "shift_mired and from_k, to_k: one or the other",
            "both",
            "`from_k` and `to_k`, or `shift_mired`",
        )),
    }
}

/// Filters by their numbers, each another.
fn named(names: &[String], field: &str, most: usize) -> Result<Vec<Filter>, Error> {
    if most < names.len() {
        return Err(too_many(field, names.len(), most));
    }
    names
        .iter()
        .enumerate()
        .map(|(i, name)| {
            Filter::named(name).map_err(|_| {
                let known = FILTERS.iter().map(|f| f.name);
                words::unknown(&format!("{field}[{i}]"), name, known, USE_ONE)
            })
        })
        .collect()
}

fn on_lens(filters: Option<&[String]>, factors: Option<&[Number]>) -> Result<Option<Stack>, Error> {
    if filters.is_none() && factors.is_none() {
        return Ok(None);
    }
    let factors = factors.unwrap_or_default();
    if MOST_STACKED < factors.len() {
        return Err(too_many("factors", factors.len(), MOST_STACKED));
    }
    Ok(Some(Stack {
        filters: named(filters.unwrap_or_default(), "filters", MOST_STACKED)?,
        factors: factors
            .iter()
            .enumerate()
            .map(|(i, f)| f.check(FACTOR, &format!("factors[{i}]")))
            .collect::<Result<_, _>>()?,
    }))
}

fn too_many(field: &str, given: usize, most: usize) -> Error {
    Error::new(
        Kind::TooLarge,
        format!("{field}: too many"),
        given,
        format!("at most {most}"),
        "Leave some out.",
    )
}

fn inconsistent(what: &str, given: &str, allowed: &str) -> Error {
    Error::new(
        Kind::Inconsistent,
        what,
        given,
        allowed,
        "Give what you know and leave out the rest.",
    )
}

/// f-number and time without filters, given or as a meter would ask for them.
fn read_exposure(e: Exposure, ei: Option<f64>) -> Result<(f64, f64), Error> {
    let f_number = e.f_number.check(F_NUMBER, "exposure.f_number")?;
    let luminance = e
        .luminance_cd_m2
        .map(|v| v.check(LUMINANCE, "exposure.luminance_cd_m2"))
        .transpose()?;
    let time = e
        .time_s
        .map(|v| v.check(TIME_S, "exposure.time_s"))
        .transpose()?;
    let k = number_or(e.meter_k, DEFAULT_METER_K, METER_K, "exposure.meter_k")?;
    match (time, luminance) {
        (Some(time), None) if e.meter_k.is_none() => Ok((f_number, time)),
        (None, Some(luminance)) => {
            let ei = ei.ok_or_else(|| json::missing("ei"))?;
            let ev = exposure::metered_ev(luminance, ei, k)?;
            let time = exposure::time_s(ev, f_number)?;
            let what = "the time that this luminance asks for";
            Ok((f_number, TIME_S.check_as(what, time)?))
        }
        (None, None) => Err(json::missing("exposure.time_s")),
        _ => Err(inconsistent(
            "exposure: a time and a luminance contradict each other",
            "`time_s` with `luminance_cd_m2` or `meter_k`",
            "`time_s`, or `luminance_cd_m2` with or without `meter_k`",
        )),
    }
}

fn names(stack: &Stack) -> Value {
    stack.filters.iter().map(|f| f.name).collect()
}

fn choice(choice: &Choice) -> Value {
    json!({
        "filters": names(&choice.stack),
        "shift_mired": choice.stack.mired(),
        "left_mired": choice.left_mired,
        "stops": choice.stack.stops(),
    })
}

fn stacked(stack: &Stack) -> Value {
    json!({
        "filters": names(stack),
        "factors": stack.factors,
        "shift_mired": stack.mired(),
        "stops": stack.stops(),
        "thirds": filter::nominal_thirds(stack.stops()),
        "factor": stack.factor(),
    })
}

fn exposed(
    f_number: f64,
    time_s: f64,
    stops: f64,
    caveats: &mut Vec<Caveat>,
) -> Result<Value, Error> {
    let through = filter::through(f_number, time_s, stops)?;
    if LONG_S < through.time_s {
        caveats.push(Caveat::new(
            "long_exposure",
            "Beyond a second film loses speed: correct the time for reciprocity.",
        ));
    }
    let equivalents = exposure::equivalents(f_number, through.time_s, STOPS_LISTED)?;
    let mut said = json!({
        "ev": exposure::ev(f_number, time_s)?,
        "time_s": time_s,
        "longer_time_s": through.time_s,
        "wider_f_number": through.f_number,
    });
    if let Some(mark) = through.f_mark {
        said["wider_f_mark"] = mark.into();
    }
    said["equivalents"] = equivalents
        .iter()
        .map(|p| json!({ "f_mark": p.f_mark, "time_s": p.time_s }))
        .collect();
    Ok(said)
}
