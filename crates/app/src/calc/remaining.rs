//! `calc remaining`: what is left in one can, from everything that is known of it.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::film::{Light, PERFORATIONS_PER_CLICK, clicks_for_frames};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::remaining::{
    self, CanInput, Evidence, LoaderPrior, Posterior, Shelf, StockPrior, defaults,
};
use spoolwright_core::{Error, Kind, spool, ticket};

use super::input::{self, MeanSd, Number, Whole};
use super::{answer, json, words};

/// Rolls whose chance is told when the input names none.
const USUAL_FRAMES: [u32; 7] = [6, 8, 12, 18, 24, 30, 36];
/// Most rolls whose chance may be asked for.
const MOST_FRAMES: usize = 100;
/// Most pieces of evidence.
const MOST_EVIDENCE: usize = 10_000;

const RAN_OUT_CLICKS: Bounds = Bounds {
    what: "clicks when the film ended",
    min: 0.0,
    ..bounds::CLICKS
};
const GAUGE_SD_MM: Bounds = Bounds {
    min: 0.01,
    ..spool::DIAMETER_SD_MM
};
const LENGTH_MM: Bounds = Bounds {
    what: "a length of film",
    unit: "mm",
    min: 0.0,
    max: 1_000_000.0,
};
const LENGTH_SD_MM: Bounds = Bounds {
    what: "a length's uncertainty",
    unit: "mm",
    min: 0.1,
    max: 1000.0,
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    nominal_length_m: Number,
    pitch: Option<String>,
    light: Option<String>,
    evidence: Vec<Value>,
    #[serde(default)]
    priors: Priors,
    frames: Option<Vec<Whole>>,
    leader_clicks: Option<Whole>,
    tail_clicks: Option<Whole>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Priors {
    length_m: Option<MeanSd>,
    tare_g: Option<MeanSd>,
    linear_mass_g_per_m: Option<MeanSd>,
    click_scale: Option<MeanSd>,
    uncounted_mm: Option<MeanSd>,
    thickness_mm: Option<MeanSd>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Weighing {
    grams: Number,
    sd_grams: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Clicks {
    clicks: Number,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Gauging {
    outer_diameter_mm: Number,
    core_mm: Option<Number>,
    sd_mm: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Taken {
    length_mm: Number,
    sd_mm: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Measured {
    clicks: Number,
    length_mm: Number,
    sd_mm: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Nothing {}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let light = input::light(i.light.as_deref(), "light")?;
    let rolls = rolls(i.frames.as_deref(), i.leader_clicks, i.tail_clicks, light)?;
    let nominal = i
        .nominal_length_m
        .check(bounds::CAN_LENGTH_M, "nominal_length_m")?;
    let prior = |given: Option<MeanSd>, usual: Estimate, bounds: Bounds, name: &str| {
        given.map_or(Ok(usual), |v| v.check(bounds, &json::join("priors", name)))
    };
    let p = i.priors;
    let shelf = Shelf {
        loaders: vec![LoaderPrior {
            click_scale: prior(
                p.click_scale,
                defaults::CLICK_SCALE,
                bounds::CLICK_SCALE,
                "click_scale",
            )?,
            uncounted_mm: prior(
                p.uncounted_mm,
                defaults::UNCOUNTED_MM,
                bounds::UNCOUNTED_MM,
                "uncounted_mm",
            )?,
        }],
        stocks: vec![StockPrior {
            linear_mass_g_per_m: prior(
                p.linear_mass_g_per_m,
                defaults::LINEAR_MASS_G_PER_M,
                bounds::LINEAR_MASS_G_PER_M,
                "linear_mass_g_per_m",
            )?,
            thickness_mm: prior(
                p.thickness_mm,
                defaults::THICKNESS_MM,
                bounds::THICKNESS_MM,
                "thickness_mm",
            )?,
        }],
        packages: vec![],
        cans: vec![CanInput {
            stock: 0,
            package: None,
            own_tare_g: Some(prior(p.tare_g, defaults::TARE_G, bounds::MASS_G, "tare_g")?),
            pitch: input::pitch(i.pitch.as_deref(), "pitch")?,
            length_m: prior(
                p.length_m,
                defaults::new_can_length_m(nominal),
                bounds::CAN_LENGTH_M,
                "length_m",
            )?,
            evidence: evidence(&i.evidence)?,
        }],
    };
    let posterior = remaining::estimate(&shelf).map_err(|mut e| {
        // The core names the field in its own shelf; here there is one can.
        e.what = e
            .what
            .replace("cans[0].", "")
            .replace("outer_mm", "outer_diameter_mm");
        e
    })?;
    Ok(told(&posterior, &rolls))
}

fn told(posterior: &Posterior, rolls: &[(u32, u32)]) -> Value {
    let left = posterior.remaining_m(0);
    let (can, loader, stock) = (posterior.can(0), posterior.loader(0), posterior.stock(0));
    let chances = rolls.iter().map(|&(frames, clicks)| {
        json!({ "frames": frames, "clicks": clicks, "probability": posterior.can_wind(0, 0, clicks) })
    });
    let next = posterior.next_measurements(0, 0).into_iter().map(|next| {
        json!({ "kind": next.kind.word(), "what": next.kind.phrase(), "sd_after_m": next.sd_after_m })
    });
    json!({
        "remaining_m": {
            "mean": left.mean, "sd": left.sd, "lower95": left.lower95, "upper95": left.upper95,
        },
        "parameters": {
            "length_m": answer::mean_sd(can.length_m),
            "tare_g": answer::mean_sd(can.tare_g),
            "linear_mass_g_per_m": answer::mean_sd(stock.linear_mass_g_per_m),
            "click_scale": answer::mean_sd(loader.click_scale),
            "uncounted_mm": answer::mean_sd(loader.uncounted_mm),
            "thickness_mm": answer::mean_sd(stock.thickness_mm),
        },
        "can_wind": chances.collect::<Value>(),
        "next_measurement": next.collect::<Value>(),
        "caveats": answer::caveats(posterior.caveats(0)),
    })
}

/// Frames and clicks of the rolls whose chance is told.
fn rolls(
    frames: Option<&[Whole]>,
    leader: Option<Whole>,
    tail: Option<Whole>,
    light: Light,
) -> Result<Vec<(u32, u32)>, Error> {
    let leader = input::whole_or(
        leader,
        ticket::LEADER_CLICKS,
        bounds::ALLOWANCE_CLICKS,
        "leader_clicks",
    )?;
    let tail = input::whole_or(
        tail,
        light.tail_clicks(),
        bounds::ALLOWANCE_CLICKS,
        "tail_clicks",
    )?;
    let Some(frames) = frames else {
        return Ok(USUAL_FRAMES.map(|f| (f, f + leader + tail)).to_vec());
    };
    at_most("frames", frames.len(), MOST_FRAMES)?;
    let each = frames.iter().enumerate().map(|(i, f)| {
        let frames = f.check(bounds::FRAMES, &format!("frames[{i}]"))?;
        Ok((
            frames,
            clicks_for_frames(frames, PERFORATIONS_PER_CLICK)? + leader + tail,
        ))
    });
    each.collect()
}

fn evidence(list: &[Value]) -> Result<Vec<Evidence>, Error> {
    at_most("evidence", list.len(), MOST_EVIDENCE)?;
    list.iter()
        .enumerate()
        .map(|(i, value)| piece(value, &format!("evidence[{i}]")))
        .collect()
}

const KINDS: [&str; 8] = [
    "weigh",
    "weigh_empty",
    "wind",
    "gauge",
    "ran_out",
    "taken",
    "measured",
    "empty",
];

/// One piece of evidence; each counts its clicks on the one loader there is.
fn piece(value: &Value, at: &str) -> Result<Evidence, Error> {
    let (kind, rest) = json::tagged(value, at)?;
    let rest = &rest;
    let f = |name: &str| json::join(at, name);
    let loader = 0;
    Ok(match kind.as_str() {
        "weigh" | "weigh_empty" => {
            let w: Weighing = json::read(rest, at)?;
            let grams = w.grams.check(bounds::MASS_G, &f("grams"))?;
            let sd_grams = input::number_or(
                w.sd_grams,
                defaults::SCALE_SD_G,
                bounds::MASS_SD_G,
                &f("sd_grams"),
            )?;
            if kind == "weigh" {
                Evidence::Weigh { grams, sd_grams }
            } else {
                Evidence::WeighEmpty { grams, sd_grams }
            }
        }
        "wind" => {
            let w: Clicks = json::read(rest, at)?;
            Evidence::Wind {
                loader,
                clicks: w.clicks.check(bounds::CLICKS, &f("clicks"))?,
            }
        }
        "ran_out" => {
            let r: Clicks = json::read(rest, at)?;
            Evidence::RanOut {
                loader,
                clicks: r.clicks.check(RAN_OUT_CLICKS, &f("clicks"))?,
            }
        }
        "gauge" => {
            let g: Gauging = json::read(rest, at)?;
            Evidence::Gauge {
                outer_mm: g
                    .outer_diameter_mm
                    .check(bounds::ROLL_DIAMETER_MM, &f("outer_diameter_mm"))?,
                core_mm: input::number_or(
                    g.core_mm,
                    defaults::CORE_MM,
                    bounds::CORE_MM,
                    &f("core_mm"),
                )?,
                sd_mm: input::number_or(g.sd_mm, defaults::GAUGE_SD_MM, GAUGE_SD_MM, &f("sd_mm"))?,
            }
        }
        "taken" => {
            let t: Taken = json::read(rest, at)?;
            let length = t.length_mm.check(LENGTH_MM, &f("length_mm"))?;
            let sd =
                input::number_or(t.sd_mm, defaults::MEASURED_SD_MM, LENGTH_SD_MM, &f("sd_mm"))?;
            Evidence::WindLength {
                mm: Estimate::new(length, sd),
            }
        }
        "measured" => {
            let m: Measured = json::read(rest, at)?;
            Evidence::Measured {
                loader,
                clicks: m.clicks.check(bounds::CLICKS, &f("clicks"))?,
                length_mm: m.length_mm.check(LENGTH_MM, &f("length_mm"))?,
                sd_mm: input::number_or(
                    m.sd_mm,
                    defaults::MEASURED_SD_MM,
                    LENGTH_SD_MM,
                    &f("sd_mm"),
                )?,
            }
        }
        "empty" => {
            let Nothing {} = json::read(rest, at)?;
            Evidence::Empty
        }
        other => return Err(words::unknown(&f("kind"), other, KINDS, input::USE_ONE)),
    })
}

fn at_most(field: &str, given: usize, most: usize) -> Result<(), Error> {
    if given <= most {
        return Ok(());
    }
    Err(Error::new(
        Kind::TooLarge,
        format!("{field}: too many"),
        given,
        format!("up to {most}"),
        "Give fewer.",
    ))
}
