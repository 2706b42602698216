//! `calc exposure`: exposure values, third-stop marks, the pairs that expose alike, and the EI behind filters.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::{Bounds, SPEED_ISO};
use spoolwright_core::exposure::pairs::{
    self, EV, EV_SPEED, Limits, Pair, SUNNY_F, ev_for, sunny_16_s,
};
use spoolwright_core::exposure::scale::{
    Mark, counted_ev, nearest_aperture, nearest_shutter, shutter_name, speed_step,
};
use spoolwright_core::wet::exposure::{
    DEFAULT_METER_K, F_NUMBER, LUMINANCE, METER_K, TIME_S, ev, metered_ev,
};
use spoolwright_core::wet::filter::{FACTOR, ei_behind, nominal_thirds, stops};
use spoolwright_core::{Error, Kind};

use super::input::{self, Number};
use super::{answer, json};

/// What filters cost.
const STOPS: Bounds = Bounds::new("what filters cost", "stops", 0.0, 20.0);
/// Most filters on a lens.
const MOST_FILTERS: usize = 5;
/// Third stops told on either side of a speed.
const STEPS: i32 = 3;

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    f_number: Option<Number>,
    time_s: Option<Number>,
    ev: Option<Number>,
    ev_100: Option<Number>,
    luminance_cd_m2: Option<Number>,
    meter_k: Option<Number>,
    ei: Option<Number>,
    filter_stops: Option<Number>,
    #[serde(default)]
    filter_factors: Vec<Number>,
    widest: Option<Number>,
    narrowest: Option<Number>,
    longest_s: Option<Number>,
    shortest_s: Option<Number>,
    step: Option<String>,
}

/// An exposure value, and the marks it was given by.
struct Wanted {
    ev: f64,
    counted: f64,
    marks: Option<(f64, f64)>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let ei = i.ei.map(|s| s.check(SPEED_ISO, "ei")).transpose()?;
    let cost = filters(&i)?;
    let limits = limits(&i)?;
    let wanted = wanted(&i, ei)?;
    if ei.is_none() && wanted.is_none() {
        return Err(Error::missing(
            "nothing to work out",
            "f_number with time_s, ev, ev_100, luminance_cd_m2, or ei",
            "Give an exposure, a speed, or both.",
        ));
    }
    let mut said = json!({ "filters": { "stops": cost, "thirds": nominal_thirds(cost), "factor": cost.exp2() } });
    if let Some(speed) = ei {
        said["ei"] = speeds(speed, cost)?;
        said["sunny_16"] = json!({ "f_number": SUNNY_F, "time_s": sunny_16_s(speed)? });
    }
    if let Some(wanted) = wanted {
        let through = EV.check_as(
            "the exposure value through the filters",
            wanted.counted - cost,
        )?;
        said["exposure"] = exposure(&wanted, ei, through, &limits)?;
    }
    said["caveats"] = answer::caveats(&caveats(&said));
    Ok(said)
}

fn filters(i: &Input) -> Result<f64, Error> {
    if MOST_FILTERS < i.filter_factors.len() {
        return Err(Error::new(
            Kind::TooLarge,
            "filter_factors: too many filters",
            i.filter_factors.len(),
            format!("up to {MOST_FILTERS}"),
            "Give those that are on the lens.",
        ));
    }
    let mut cost = input::number_or(i.filter_stops, 0.0, STOPS, "filter_stops")?;
    for (k, factor) in i.filter_factors.iter().enumerate() {
        cost += stops(factor.check(FACTOR, &format!("filter_factors[{k}]"))?)?;
    }
    Ok(cost)
}

fn limits(i: &Input) -> Result<Limits, Error> {
    let all = Limits::default();
    let lens = |v, default, field: &str| input::number_or(v, default, F_NUMBER, field);
    let time = |v, default, field: &str| input::number_or(v, default, TIME_S, field);
    Ok(Limits {
        widest: lens(i.widest, all.widest, "widest")?,
        narrowest: lens(i.narrowest, all.narrowest, "narrowest")?,
        longest_s: time(i.longest_s, all.longest_s, "longest_s")?,
        shortest_s: time(i.shortest_s, all.shortest_s, "shortest_s")?,
        step_thirds: input::choice_or(i.step.as_deref(), 1, &[1, 3], step_word, "step")?,
    })
}

fn step_word(thirds: u32) -> &'static str {
    if thirds == 1 { "third" } else { "whole" }
}

/// The exposure that is asked about, given in one of four ways.
fn wanted(i: &Input, ei: Option<f64>) -> Result<Option<Wanted>, Error> {
    let may =
        |v: Option<Number>, bounds, field: &str| v.map(|v| v.check(bounds, field)).transpose();
    let f_number = may(i.f_number, F_NUMBER, "f_number")?;
    let time_s = may(i.time_s, TIME_S, "time_s")?;
    let plain_ev = may(i.ev, EV, "ev")?;
    let ev_100 = may(i.ev_100, EV, "ev_100")?;
    let luminance = may(i.luminance_cd_m2, LUMINANCE, "luminance_cd_m2")?;
    let k = input::number_or(i.meter_k, DEFAULT_METER_K, METER_K, "meter_k")?;
    let at_ei = || ei.ok_or_else(|| json::missing("ei"));
    let plain = |ev: f64| Wanted {
        ev,
        counted: ev,
        marks: None,
    };
    let marks = match (f_number, time_s) {
        (None, None) => None,
        (f_number, time_s) => Some((f_number, time_s)),
    };
    Ok(match (marks, plain_ev, ev_100, luminance) {
        (None, None, None, None) => None,
        (Some((f_number, time_s)), None, None, None) => {
            let n = f_number.ok_or_else(|| json::missing("f_number"))?;
            let t = time_s.ok_or_else(|| json::missing("time_s"))?;
            Some(Wanted {
                ev: ev(n, t)?,
                counted: counted_ev(n, t)?,
                marks: Some((n, t)),
            })
        }
        (None, Some(ev), None, None) => Some(plain(ev)),
        (None, None, Some(ev_100), None) => Some(plain(ev_for(ev_100, EV_SPEED, at_ei()?)?)),
        (None, None, None, Some(luminance)) => Some(plain(metered_ev(luminance, at_ei()?, k)?)),
        _ => {
            return Err(Error::new(
                Kind::Inconsistent,
                "ev: the exposure is given more than once",
                "several",
                "one of: f_number with time_s, ev, ev_100, luminance_cd_m2",
                "Give the one that you know.",
            ));
        }
    })
}

fn speeds(speed: f64, cost: f64) -> Result<Value, Error> {
    let (exact, listed) = ei_behind(speed, cost)?;
    let steps = (-STEPS..=STEPS)
        .filter_map(|thirds| Some((thirds, speed_step(exact, thirds).ok()?)))
        .map(|(thirds, s)| json!({ "thirds": thirds, "ei": s.iso, "degrees": s.degrees }));
    Ok(json!({
        "exact": exact,
        "standard": listed.iso,
        "degrees": listed.degrees,
        "steps": steps.collect::<Value>(),
    }))
}

fn exposure(
    wanted: &Wanted,
    ei: Option<f64>,
    through: f64,
    limits: &Limits,
) -> Result<Value, Error> {
    let pairs = pairs::pairs(through, limits)?;
    let mut said = json!({
        "ev": wanted.ev,
        "ev_by_marks": wanted.counted,
        "ev_through": through,
        "pairs": pairs.iter().map(pair).collect::<Value>(),
    });
    if let Some(speed) = ei {
        said["ev_100"] = ev_for(wanted.ev, speed, EV_SPEED)?.into();
    }
    if let Some((f_number, time_s)) = wanted.marks {
        if let Some(mark) = nearest_aperture(f_number)? {
            said["aperture"] = lens(mark);
        }
        if let Some(mark) = nearest_shutter(time_s)? {
            said["shutter"] = shutter(mark);
        }
    }
    Ok(said)
}

fn lens(mark: Mark) -> Value {
    json!({ "mark": mark.nominal, "exact": mark.exact })
}

fn shutter(mark: Mark) -> Value {
    json!({ "mark": shutter_name(mark), "nominal_s": mark.nominal, "exact_s": mark.exact })
}

fn pair(p: &Pair) -> Value {
    json!({ "aperture": lens(p.aperture), "shutter": shutter(p.shutter), "off_stops": p.off_stops })
}

fn caveats(said: &Value) -> Vec<spoolwright_core::caveat::Caveat> {
    use spoolwright_core::caveat::Caveat;
    let pairs = said["exposure"]["pairs"].as_array();
    let mut all = Vec::new();
    if pairs.is_some_and(Vec::is_empty) {
        all.push(Caveat::new(
            "no_pair",
            "No aperture and time of this camera give that exposure.",
        ));
    }
    let long = |p: &Value| p["shutter"]["exact_s"].as_f64().is_some_and(|s| 1.0 < s);
    if pairs.is_some_and(|all| all.iter().any(long)) {
        all.push(Caveat::new(
            "long_exposure",
            "Above a second film loses speed, each stock in its own way: lengthen those times by its own rule.",
        ));
    }
    if !said["sunny_16"].is_null() {
        all.push(Caveat::new(
            "sunny_16",
            "f/16 and the speed's reciprocal are a rule of thumb for full sun.",
        ));
    }
    all
}
