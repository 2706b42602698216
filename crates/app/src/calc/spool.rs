//! `calc spool`: length, diameter and turns of film wound on a core.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::quantity::Length;
use spoolwright_core::{Error, Kind, bounds, spool};

use super::input::Number;
use super::json;

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    core_mm: Number,
    thickness_mm: Number,
    length_m: Option<Number>,
    outer_diameter_mm: Option<Number>,
    outer_diameter_sd_mm: Option<Number>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let input: Input = json::read(input, "")?;
    let core = Length::mm(input.core_mm.check(bounds::CORE_MM, "core_mm")?);
    let thickness = Length::mm(
        input
            .thickness_mm
            .check(bounds::THICKNESS_MM, "thickness_mm")?,
    );
    let (length, outer) = match (input.length_m, input.outer_diameter_mm) {
        (Some(length), None) => {
            let length = Length::m(length.check(spool::WOUND_LENGTH_M, "length_m")?);
            (length, spool::outer_diameter(length, core, thickness)?)
        }
        (None, Some(outer)) => {
            let outer = Length::mm(outer.check(bounds::ROLL_DIAMETER_MM, "outer_diameter_mm")?);
            (spool::length_on_core(outer, core, thickness)?, outer)
        }
        (given, _) => {
            return Err(Error::new(
                Kind::Inconsistent,
                "length_m and outer_diameter_mm: one of the two is needed",
                if given.is_some() { "both" } else { "neither" },
                "exactly one; the other is the answer",
                "Give the one that you know.",
            ));
        }
    };
    let mut answer = json!({
        "length_m": length.to_m(),
        "outer_diameter_mm": outer.to_mm(),
        "turns": spool::turns(length, core, thickness)?,
    });
    if let Some(sd) = input.outer_diameter_sd_mm {
        let sd = Length::mm(sd.check(spool::DIAMETER_SD_MM, "outer_diameter_sd_mm")?);
        answer["length_sd_m"] = spool::length_sd(outer, thickness, sd)?.to_m().into();
    }
    Ok(answer)
}
