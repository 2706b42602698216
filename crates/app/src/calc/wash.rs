//! `calc wash`: the steps after the fixer, what a wash leaves, and a laboratory's figure against the limit.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::Error;
use spoolwright_core::bounds::Bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::fixing::{BATH_C, NORMAL_C};
use spoolwright_core::wet::wash;

use super::answer;
use super::input::{self, Number};
use super::json;

/// Thiosulfate that a laboratory has found.
const FOUND_G_PER_M2: Bounds = Bounds {
    what: "thiosulfate in film",
    unit: "g/m²",
    min: 0.0,
    max: 10.0,
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    at_c: Option<Number>,
    clearing_agent: Option<bool>,
    minutes: Option<Number>,
    halving_min: Option<Number>,
    found_g_per_m2: Option<Number>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let at_c = input::number_or(i.at_c, NORMAL_C, BATH_C, "at_c")?;
    let cold = wash::cold_factor(at_c)?;
    // A figure of one's own is of one's own water, cold or not.
    let halving = match i.halving_min {
        Some(halving) => halving.check(wash::HALVING_MIN, "halving_min")?,
        None => wash::RUNNING_WATER_HALVING_MIN * cold,
    };
    let steps: Vec<Value> = wash::sequence(i.clearing_agent.unwrap_or(false), at_c)?
        .into_iter()
        .map(|(step, seconds)| json!({ "step": step.word(), "seconds": seconds }))
        .collect();
    let mut said = json!({ "steps": steps, "cold_factor": cold });
    if let Some(minutes) = i.minutes {
        let minutes = minutes.check(wash::WASH_MIN, "minutes")?;
        said["residual_share"] = wash::residual_share(minutes, halving)?.into();
    }
    if let Some(found) = i.found_g_per_m2 {
        let found = found.check(FOUND_G_PER_M2, "found_g_per_m2")?;
        said["thiosulfate"] = json!({
            "ug_per_cm2": wash::ug_per_cm2(found),
            "limit_g_per_m2": wash::THIOSULFATE_LIMIT_G_PER_M2,
            "limit_from": wash::LIMIT_FROM,
            "within_limit": found <= wash::THIOSULFATE_LIMIT_G_PER_M2,
        });
    }
    let mut caveats = vec![Caveat::new(
        "default_wash",
        "Times are a manual's defaults. That a wash was enough is shown by a test of the film.",
    )];
    if at_c < NORMAL_C {
        caveats.push(Caveat::new(
            "cold_wash",
            "The factor for cold water was found for prints and is a rule of thumb for film.",
        ));
    }
    if i.minutes.is_some() {
        caveats.push(Caveat::new(
            "running_water",
            format!(
                "Halving speaks of water that really runs past the film. The manual's least is {} min where all water changes every 3 min, and {} min in a fast washer.",
                wash::LEAST_WITH_CHANGES_MIN,
                wash::LEAST_FAST_WASHER_MIN
            ),
        ));
    }
    if i.found_g_per_m2.is_some() {
        caveats.push(Caveat::new(
            "laboratory",
            format!(
                "{} In radiographic film {} g/m² may stay.",
                wash::LABORATORY,
                wash::RADIOGRAPHIC_LIMIT_G_PER_M2
            ),
        ));
    }
    said["caveats"] = answer::caveats(&caveats);
    Ok(said)
}
