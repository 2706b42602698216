//! `calc keeping`: what may be said of film by the place it lies in, and what to allow for its age.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::Error;
use spoolwright_core::bounds::{SPEED_ISO, TEMPERATURE_C};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::shelf::Base;
use spoolwright_core::storage::ageing::{self, Allowance, Stay, YEARS};
use spoolwright_core::storage::air::RH_PERCENT;
use spoolwright_core::storage::keeping::{
    Class, Keeping, MONTHS, Stage, acetate_onset, going_off, remarks,
};
use spoolwright_core::storage::nitrate;

use super::input::{self, Number, Whole};
use super::warmup::YEAR;
use super::{answer, json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    stage: Option<String>,
    colour: Option<bool>,
    base: Option<String>,
    year: Option<Whole>,
    temperature_c: Option<Number>,
    class: Option<String>,
    rh_percent: Option<Number>,
    kept_months: Option<Number>,
    to_expiry_months: Option<Number>,
    ei: Option<Number>,
    stays: Option<Vec<StayInput>>,
    tested_years_ago: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct StayInput {
    years: Number,
    temperature_c: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let base = input::choice_or(
        i.base.as_deref(),
        Base::Unknown,
        Base::ALL,
        Base::word,
        "base",
    )?;
    let year = i.year.map(|y| y.check(YEAR, "year")).transpose()?;
    let nitrate = nitrate::caveat(base, year.map(|y| y as i32));
    if base == Base::Nitrate {
        return Err(super::warmup::refused(nitrate));
    }
    let checked =
        |v: Option<Number>, bounds, field: &str| v.map(|v| v.check(bounds, field)).transpose();
    let given = checked(i.temperature_c, TEMPERATURE_C, "temperature_c")?;
    let class = i
        .class
        .as_deref()
        .map(|c| input::choice(c, Class::ALL, Class::word, "class"))
        .transpose()?;
    let temperature_c = given
        .or(class.map(Class::usual_c))
        .ok_or_else(|| json::missing("temperature_c"))?;
    let kept = Keeping {
        stage: input::choice_or(
            i.stage.as_deref(),
            Stage::Unexposed,
            Stage::ALL,
            Stage::word,
            "stage",
        )?,
        colour: i.colour.unwrap_or(false),
        base,
        temperature_c,
        rh_percent: checked(i.rh_percent, RH_PERCENT, "rh_percent")?,
        kept_months: checked(i.kept_months, MONTHS, "kept_months")?,
        to_expiry_months: checked(i.to_expiry_months, MONTHS, "to_expiry_months")?,
    };
    let told = remarks(&kept)?.into_iter().map(|r| {
        let mut said = json!({ "code": r.code, "key": r.key, "text": r.text });
        if let Some(meets) = r.meets {
            said["meets"] = meets.into();
        }
        said
    });
    let mut said = json!({
        "class": Class::of(temperature_c).word(),
        "temperature_c": temperature_c,
        "remarks": told.collect::<Value>(),
    });
    if let Some(going) = going_off(&kept)? {
        said["going_off"] = json!({
            "state": going.going.word(),
            "mark": "rule-of-thumb",
            "because": going.because,
        });
        if let Some(left) = going.months_left {
            said["going_off"]["months_left"] = left.into();
        }
    }
    if kept.stage == Stage::Developed
        && base != Base::Polyester
        && let Some(rh) = kept.rh_percent
        && let Some(onset) = acetate_onset(temperature_c, rh)?
    {
        said["vinegar_years"] = json!({ "low": onset.low, "high": onset.high });
    }
    let mut caveats: Vec<Caveat> = nitrate.into_iter().collect();
    if given.is_none() {
        caveats.push(Caveat::new(
            "usual_temperature",
            "The place's temperature is not given: that of a usual one is taken. Put a thermometer there.",
        ));
    }
    let speed = checked(i.ei, SPEED_ISO, "ei")?;
    let tested = checked(i.tested_years_ago, YEARS, "tested_years_ago")?;
    if let Some(stays) = i.stays {
        let stays = stays
            .into_iter()
            .enumerate()
            .map(|(k, s)| {
                Ok(Stay {
                    years: s.years.check(YEARS, &format!("stays[{k}].years"))?,
                    temperature_c: s
                        .temperature_c
                        .check(TEMPERATURE_C, &format!("stays[{k}].temperature_c"))?,
                })
            })
            .collect::<Result<Vec<_>, Error>>()?;
        let allowance = ageing::allowance(speed, &stays, tested).map_err(|mut e| {
            e.what = format!("stays: {}", e.what);
            e
        })?;
        if kept.colour {
            caveats.push(Caveat::new(
                "no_rule_for_colour",
                "No rule was found for colour film: its layers age differently. Test it.",
            ));
        } else {
            said["allowance"] = allowed(&allowance);
            caveats.extend(allowance.caveats);
        }
    }
    said["caveats"] = answer::caveats(&caveats);
    Ok(said)
}

fn allowed(a: &Allowance) -> Value {
    let mut said = json!({
        "years": a.years,
        "low_stops": a.low_stops,
        "high_stops": a.high_stops,
        "thirds": a.thirds,
        "mark": a.mark.word(),
        "since_test": a.since_test,
    });
    if let Some((exact, listed)) = &a.ei {
        said["ei"] = json!({ "exact": exact, "standard": listed.iso, "degrees": listed.degrees });
    }
    said
}
