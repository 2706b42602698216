//! `calc wedge`: speed, contrast and developing time of a stock, from strips of graded exposures.

mod output;
mod table;

use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::Value;
use spoolwright_core::wedge::record::Channel;
use spoolwright_core::wedge::{
    self, ColourTest, Effort, Exposure, ISO_CONTRAST, Material, Measure, Strip, Target, Test,
};
use spoolwright_core::{Error, Kind, bounds};
use std::fmt;

use super::input::{Number, USE_ONE, Whole};
use super::{json, words};

pub(crate) use output::{at_target, combined, layer};
pub(super) use table::from_table;

/// How a patch that could not be read is written.
const UNREAD: &str = "x";
const EXPOSURES: [&str; 3] = ["absolute", "relative", "in_camera"];
const COLOURS: [Channel; 3] = [Channel::Red, Channel::Green, Channel::Blue];

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    exposure: Value,
    wedge_density: Option<Vec<Number>>,
    strips: Vec<StripInput>,
    base_fog: Option<Number>,
    material: Option<String>,
    target: Option<TargetInput>,
    rounds: Option<Whole>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct StripInput {
    time_min: Number,
    density: Vec<Reading>,
    density_sd: Option<Number>,
    base_fog: Option<Number>,
    channel: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct TargetInput {
    measure: String,
    value: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Absolute {
    log_h_at_zero_density: Number,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct InCamera {
    meter_offset_stops: Vec<Number>,
    meter_ei: Option<Number>,
}

/// A density, or none for a patch that could not be read.
struct Reading(Option<Number>);

impl<'de> Deserialize<'de> for Reading {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        struct Patch;
        impl Visitor<'_> for Patch {
            type Value = Reading;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "a number, or \"{UNREAD}\" for a patch not read")
            }
            fn visit_f64<E>(self, v: f64) -> Result<Reading, E> {
                Ok(Reading(Some(Number::from(v))))
            }
            fn visit_i64<E>(self, v: i64) -> Result<Reading, E> {
                Ok(Reading(Some(Number::from(v as f64))))
            }
            fn visit_u64<E>(self, v: u64) -> Result<Reading, E> {
                Ok(Reading(Some(Number::from(v as f64))))
            }
            fn visit_str<E: de::Error>(self, v: &str) -> Result<Reading, E> {
                if v == UNREAD {
                    return Ok(Reading(None));
                }
                Err(E::invalid_value(de::Unexpected::Str(v), &self))
            }
        }
        d.deserialize_any(Patch)
    }
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let input: Input = json::read(input, "")?;
    let rounds = match input.rounds {
        Some(rounds) => rounds.check(bounds::ROUNDS, "rounds")? as usize,
        None => Effort::default().rounds,
    };
    let effort = Effort { rounds };
    let channels = channels(&input.strips)?;
    let test = test(input)?;
    match channels {
        None => Ok(output::one_layer(&wedge::analyse(&test, effort)?)),
        Some(channels) => {
            let [red, green, blue] = COLOURS.map(|colour| of_colour(&test, &channels, colour));
            let layers = ColourTest { red, green, blue };
            Ok(output::colour(&wedge::analyse_colour(&layers, effort)?))
        }
    }
}

fn test(i: Input) -> Result<Test, Error> {
    let material = match i.material.as_deref() {
        None => Material::default(),
        Some(word) => Material::from_word(word).map_err(|_| {
            let known = Material::ALL.iter().map(|m| m.word());
            words::unknown("material", word, known, USE_ONE)
        })?,
    };
    let strips = i.strips.into_iter().enumerate();
    Ok(Test {
        exposure: exposure(&i.exposure, i.wedge_density)?,
        strips: strips
            .map(|(n, s)| strip(s, &format!("strips[{n}]")))
            .collect::<Result<_, _>>()?,
        base_fog: i
            .base_fog
            .map(|b| b.check(bounds::BASE_FOG, "base_fog"))
            .transpose()?,
        material,
        target: i.target.map(target).transpose()?,
    })
}

fn exposure(given: &Value, wedge: Option<Vec<Number>>) -> Result<Exposure, Error> {
    let (kind, rest) = json::tagged(given, "exposure")?;
    let wedge_density = || -> Result<Vec<f64>, Error> {
        let wedge = wedge
            .as_ref()
            .ok_or_else(|| json::missing("wedge_density"))?;
        let steps = wedge.iter().enumerate();
        steps
            .map(|(k, d)| d.check(bounds::WEDGE_DENSITY, &format!("wedge_density[{k}]")))
            .collect()
    };
    match kind.as_str() {
        "absolute" => {
            let e: Absolute = json::read(&rest, "exposure")?;
            let at = "exposure.log_h_at_zero_density";
            Ok(Exposure::Absolute {
                log_h_at_zero_density: e.log_h_at_zero_density.check(bounds::LOG_EXPOSURE, at)?,
                wedge_density: wedge_density()?,
            })
        }
        "relative" => {
            if let Some((name, _)) = rest.as_object().and_then(|fields| fields.iter().next()) {
                let (at, remedy) = (
                    json::join("exposure", name),
                    "A relative exposure has only that.",
                );
                return Err(words::unknown(&at, name, ["kind"], remedy));
            }
            Ok(Exposure::Relative {
                wedge_density: wedge_density()?,
            })
        }
        "in_camera" if wedge.is_some() => Err(Error::new(
            Kind::Inconsistent,
            "wedge_density: there is no wedge in a camera",
            "wedge_density and exposure kind \"in_camera\"",
            "meter_offset_stops for kind \"in_camera\"; wedge_density for the others",
            "Leave out what the exposure does not have.",
        )),
        "in_camera" => {
            let e: InCamera = json::read(&rest, "exposure")?;
            let stops = e.meter_offset_stops.iter().enumerate();
            Ok(Exposure::InCamera {
                meter_offset_stops: stops
                    .map(|(k, s)| {
                        s.check(
                            bounds::METER_STOPS,
                            &format!("exposure.meter_offset_stops[{k}]"),
                        )
                    })
                    .collect::<Result<_, _>>()?,
                meter_ei: e
                    .meter_ei
                    .map(|ei| ei.check(bounds::SPEED_ISO, "exposure.meter_ei"))
                    .transpose()?,
            })
        }
        other => Err(words::unknown("exposure.kind", other, EXPOSURES, USE_ONE)),
    }
}

fn strip(s: StripInput, at: &str) -> Result<Strip, Error> {
    let optional = |value: Option<Number>, bounds, field| {
        value
            .map(|v| v.check(bounds, &json::join(at, field)))
            .transpose()
    };
    let readings = s.density.into_iter().enumerate();
    Ok(Strip {
        time_min: s
            .time_min
            .check(bounds::DEVELOPING_MIN, &json::join(at, "time_min"))?,
        density: readings
            .map(|(k, Reading(d))| {
                d.map(|d| d.check(bounds::DENSITY, &format!("{at}.density[{k}]")))
                    .transpose()
            })
            .collect::<Result<_, _>>()?,
        density_sd: optional(s.density_sd, bounds::DENSITY_SD, "density_sd")?,
        base_fog: optional(s.base_fog, bounds::BASE_FOG, "base_fog")?,
    })
}

fn target(t: TargetInput) -> Result<Target, Error> {
    let measure = Measure::from_word(&t.measure).map_err(|_| {
        let known = Measure::ALL.iter().map(|m| m.word());
        words::unknown("target.measure", &t.measure, known, USE_ONE)
    })?;
    let value = match (t.value, measure) {
        (Some(value), _) => value.check(bounds::CONTRAST, "target.value")?,
        (None, Measure::IsoTriangle) => ISO_CONTRAST,
        (None, _) => return Err(json::missing("target.value")),
    };
    Ok(Target { measure, value })
}

/// The channel of each strip; none when no strip names one.
fn channels(strips: &[StripInput]) -> Result<Option<Vec<Channel>>, Error> {
    if strips.iter().all(|s| s.channel.is_none()) {
        return Ok(None);
    }
    let named = strips.iter().enumerate().map(|(n, s)| {
        let at = format!("strips[{n}].channel");
        let word = s.channel.as_deref().ok_or_else(|| json::missing(&at))?;
        COLOURS
            .into_iter()
            .find(|c| c.word() == word)
            .ok_or_else(|| words::unknown(&at, word, COLOURS.map(|c| c.word()), USE_ONE))
    });
    named.collect::<Result<_, _>>().map(Some)
}

/// The strips of one colour.
fn of_colour(test: &Test, channels: &[Channel], colour: Channel) -> Test {
    let strips = test.strips.iter().zip(channels);
    Test {
        strips: strips
            .filter(|(_, c)| **c == colour)
            .map(|(s, _)| s.clone())
            .collect(),
        ..test.clone()
    }
}
