//! `calc ticket`: clicks or turns for one roll, and what the roll will be.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::film::PERFORATIONS_PER_CLICK;
use spoolwright_core::quantity::{Estimate, Length};
use spoolwright_core::remaining::defaults::{THICKNESS_MM, UNCOUNTED_MM};
use spoolwright_core::ticket::{self, Counter, Dial, Limits, Request, Stop};
use spoolwright_core::{Error, Kind};

use super::input::{self, MeanSd, Number, Whole};
use super::{answer, json, words};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    frames: Whole,
    advance_perforations: Option<Whole>,
    pitch: Option<String>,
    light: Option<String>,
    leader_clicks: Option<Whole>,
    tail_clicks: Option<Whole>,
    dial: Option<DialInput>,
    loader: Option<LoaderInput>,
    click_scale: Option<MeanSd>,
    uncounted_mm: Option<MeanSd>,
    thin_base: Option<bool>,
    reel_limit_mm: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct DialInput {
    zero_offset: Option<Whole>,
    wraps_at: Option<Whole>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct LoaderInput {
    kind: String,
    hub_mm: Option<Number>,
    thickness_mm: Option<Number>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let request = request(json::read(input, "")?)?;
    let t = ticket::ticket(&request)?;
    let mut answer = json!({
        "clicks": t.clicks,
        "frame_clicks": t.frame_clicks,
        "leader_clicks": t.leader_clicks,
        "tail_clicks": t.tail_clicks,
    });
    match t.stop {
        Stop::Dial { reading, rounds } => {
            answer["dial_stop"] = reading.into();
            answer["dial_rounds"] = rounds.into();
        }
        Stop::Crank { turns, exact } => {
            answer["turns"] = turns.into();
            answer["turns_exact"] = exact.into();
        }
    }
    answer["drawn_m"] = answer::metres(t.drawn_mm);
    answer["in_cassette_mm"] = t.in_cassette.to_mm().into();
    answer["on_reel_mm"] = t.on_reel.to_mm().into();
    answer["light_struck_frames"] = t.light_struck_frames.into();
    answer["anatomy"] = t
        .anatomy
        .iter()
        .map(|s| json!({ "part": s.part.word(), "start_mm": s.start.to_mm(), "end_mm": s.end.to_mm() }))
        .collect();
    answer["caveats"] = answer::caveats(&t.caveats);
    Ok(answer)
}

fn request(i: Input) -> Result<Request, Error> {
    let mut limits = if i.thin_base == Some(true) {
        Limits::THIN_BASE
    } else {
        Limits::USUAL_BASE
    };
    if let Some(reel) = i.reel_limit_mm {
        limits.reel = Some(Length::mm(reel.check(bounds::REEL_MM, "reel_limit_mm")?));
    }
    let allowance = |value: Option<Whole>, field| {
        value
            .map(|v| v.check(bounds::ALLOWANCE_CLICKS, field))
            .transpose()
    };
    Ok(Request {
        frames: i.frames.check(bounds::FRAMES, "frames")?,
        advance_perforations: input::whole_or(
            i.advance_perforations,
            PERFORATIONS_PER_CLICK,
            bounds::ADVANCE_PERFORATIONS,
            "advance_perforations",
        )?,
        pitch: input::pitch(i.pitch.as_deref(), "pitch")?,
        light: input::light(i.light.as_deref(), "light")?,
        leader_clicks: allowance(i.leader_clicks, "leader_clicks")?
            .unwrap_or(ticket::LEADER_CLICKS),
        tail_clicks: allowance(i.tail_clicks, "tail_clicks")?,
        counter: counter(i.dial, i.loader)?,
        click_scale: estimate(i.click_scale, bounds::CLICK_SCALE, "click_scale")?,
        uncounted_mm: estimate(i.uncounted_mm, bounds::UNCOUNTED_MM, "uncounted_mm")?
            .unwrap_or(UNCOUNTED_MM),
        limits,
    })
}

fn estimate(value: Option<MeanSd>, bounds: Bounds, field: &str) -> Result<Option<Estimate>, Error> {
    value.map(|v| v.check(bounds, field)).transpose()
}

fn counter(dial: Option<DialInput>, loader: Option<LoaderInput>) -> Result<Counter, Error> {
    const KINDS: [&str; 2] = ["counter", "crank"];
    let kind = loader.as_ref().map_or("counter", |l| l.kind.as_str());
    let sizes = loader
        .as_ref()
        .is_some_and(|l| l.hub_mm.is_some() || l.thickness_mm.is_some());
    match kind {
        "counter" if sizes => Err(contradiction(
            "loader: hub and thickness belong to a crank",
            "kind \"counter\" with hub_mm or thickness_mm",
        )),
        "counter" => {
            let Some(dial) = dial else {
                return Ok(Counter::default());
            };
            let zero = dial
                .zero_offset
                .map(|v| v.check_signed(bounds::DIAL_OFFSET, "dial.zero_offset"));
            let wraps = dial
                .wraps_at
                .map(|v| v.check(bounds::DIAL_WRAP, "dial.wraps_at"));
            Ok(Counter::Clicks(Dial {
                zero_offset: zero.transpose()?.unwrap_or(0),
                wraps_at: wraps.transpose()?,
            }))
        }
        "crank" if dial.is_some() => Err(contradiction(
            "dial: a crank loader has none",
            "a dial and kind \"crank\"",
        )),
        "crank" => {
            let (hub, thickness) = loader.map_or((None, None), |l| (l.hub_mm, l.thickness_mm));
            let hub = input::number_or(hub, ticket::HUB.to_mm(), bounds::CORE_MM, "loader.hub_mm")?;
            let thickness = input::number_or(
                thickness,
                THICKNESS_MM.mean,
                bounds::THICKNESS_MM,
                "loader.thickness_mm",
            )?;
            Ok(Counter::Crank {
                hub: Length::mm(hub),
                thickness: Length::mm(thickness),
            })
        }
        other => Err(words::unknown("loader.kind", other, KINDS, input::USE_ONE)),
    }
}

fn contradiction(what: &str, given: &str) -> Error {
    Error::new(
        Kind::Inconsistent,
        what,
        given,
        "a dial for kind \"counter\"; hub_mm and thickness_mm for kind \"crank\"",
        "Leave out what the loader does not have.",
    )
}
