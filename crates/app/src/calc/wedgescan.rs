//! `calc wedgescan`: densities of a strip from a picture, by a layout that says where strip and wedge lie.
//!
//! The page reads the same layout and gives the same answer, see [`layout`] and [`show`].

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::wedge::scan::{
    self, Channel, Flag, Layout, Point, Quad, Reading, Reference, Strip,
};
use spoolwright_core::{Error, Kind};

use super::input::{Number, USE_ONE, Whole, number_or};
use super::{ReadSeek, answer, json, words};
use crate::picture::{self, Facts};

/// A coordinate in a picture.
const PIXELS: Bounds = Bounds {
    what: "a place in the picture",
    unit: "pixels",
    min: 0.0,
    max: picture::MAX_SIDE as f64,
};

type Corners = [[Number; 2]; 4];

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    strip: StripInput,
    reference: Option<ReferenceInput>,
    #[serde(default)]
    clear_border: Vec<Corners>,
    channel: Option<String>,
    #[serde(default)]
    linear: bool,
    #[serde(default)]
    inverted: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct StripInput {
    corners: Corners,
    patches: Whole,
    density: Option<String>,
    inset: Option<Number>,
}

impl StripInput {
    fn read(self) -> Result<Strip, Error> {
        let patches = self.patches.check(scan::PATCHES, "strip.patches")?;
        let order = |sign: f64| (0..patches).map(|i| sign * f64::from(i)).collect();
        let expected = match self.density.as_deref() {
            None => Vec::new(),
            Some("rises") => order(1.0),
            Some("falls") => order(-1.0),
            Some(word) => {
                return Err(words::unknown(
                    "strip.density",
                    word,
                    ["rises", "falls"],
                    USE_ONE,
                ));
            }
        };
        Ok(Strip {
            patches: patches as usize,
            inset: inset(self.inset, "strip.inset")?,
            corners: quad(self.corners, "strip.corners")?,
            expected,
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct ReferenceInput {
    corners: Corners,
    density: Vec<Number>,
    patches: Option<Whole>,
    density_sd: Option<Number>,
    #[serde(default)]
    nominal: bool,
    inset: Option<Number>,
}

fn quad(corners: Corners, field: &str) -> Result<Quad, Error> {
    let mut quad = [Point { x: 0.0, y: 0.0 }; 4];
    for (i, [x, y]) in corners.into_iter().enumerate() {
        quad[i] = Point {
            x: x.check(PIXELS, &format!("{field}[{i}][0]"))?,
            y: y.check(PIXELS, &format!("{field}[{i}][1]"))?,
        };
    }
    Ok(Quad(quad))
}

fn inset(given: Option<Number>, field: &str) -> Result<f64, Error> {
    number_or(given, scan::DEFAULT_INSET, scan::INSET, field)
}

impl ReferenceInput {
    fn read(self) -> Result<Reference, Error> {
        let density: Vec<f64> = self
            .density
            .into_iter()
            .enumerate()
            .map(|(i, d)| d.check(scan::DENSITY, &format!("reference.density[{i}]")))
            .collect::<Result<_, _>>()?;
        if let Some(patches) = self.patches {
            let patches = patches.check(scan::PATCHES, "reference.patches")?;
            if patches as usize != density.len() {
                return Err(Error::new(
                    Kind::Inconsistent,
                    "reference.patches: not as many as reference.density has",
                    format!("{patches} patches, {} densities", density.len()),
                    "one density for each patch",
                    "Leave `patches` out, or give the density of every step.",
                ));
            }
        }
        Ok(Reference {
            corners: quad(self.corners, "reference.corners")?,
            density,
            nominal: self.nominal,
            density_sd: number_or(
                self.density_sd,
                if self.nominal {
                    scan::NOMINAL_DENSITY_SD
                } else {
                    scan::DEFAULT_DENSITY_SD
                },
                scan::DENSITY_SD,
                "reference.density_sd",
            )?,
            inset: inset(self.inset, "reference.inset")?,
        })
    }
}

fn read(input: &Value) -> Result<Layout, Error> {
    let input: Input = json::read(input, "")?;
    let channel = match input.channel.as_deref() {
        None => Channel::default(),
        Some(word) => *Channel::ALL
            .iter()
            .find(|c| c.word() == word)
            .ok_or_else(|| {
                words::unknown(
                    "channel",
                    word,
                    Channel::ALL.iter().map(|c| c.word()),
                    USE_ONE,
                )
            })?,
    };
    Ok(Layout {
        strip: input.strip.read()?,
        reference: input.reference.map(ReferenceInput::read).transpose()?,
        clear_border: input
            .clear_border
            .into_iter()
            .enumerate()
            .map(|(i, corners)| quad(corners, &format!("clear_border[{i}]")))
            .collect::<Result<_, _>>()?,
        channel,
        linear: input.linear,
        inverted: input.inverted,
    })
}

/// A layout from its JSON, as `docs/calc.md` describes it.
///
/// # Errors
/// Whatever is wrong with it, by the path of its field; what does not fit a picture is found when that is read.
pub fn layout(bytes: &[u8]) -> Result<Layout, Error> {
    read(&json::parse(bytes)?).map_err(|e| json::describe(e, super::WEDGESCAN.input_schema))
}

/// A reading as JSON, as `docs/calc.md` describes it.
pub fn show(facts: Facts, channel: Channel, reading: &Reading) -> Value {
    let corners = |q: &Quad| -> Value { q.0.iter().map(|p| json!([p.x, p.y])).collect() };
    let words = |flags: &[Flag]| -> Value { flags.iter().map(|f| f.word()).collect() };
    let strip = reading.strip.iter().enumerate().map(|(i, patch)| {
        let mut shown = json!({
            "patch": i + 1,
            "level": patch.level,
            "rejected": patch.rejected,
            "flags": words(&patch.flags),
            "outline": corners(&patch.outline),
        });
        if let Some(density) = patch.density {
            shown["density"] = density.mean.into();
            shown["density_sd"] = density.sd.into();
        }
        shown
    });
    let reference = reading.reference.iter().enumerate().map(|(i, step)| {
        json!({
            "patch": i + 1,
            "density": step.density,
            "level": step.level,
            "rejected": step.rejected,
            "used": step.used,
            "flags": words(&step.flags),
            "outline": corners(&step.outline),
        })
    });
    let shape = facts.shape;
    let mut shown = json!({
        "picture": {
            "format": facts.format.word(),
            "width": shape.width,
            "height": shape.height,
            "bits": if shape.sixteen { 16 } else { 8 },
            "channels": shape.channels,
        },
        "channel": channel.word(),
        "strip": strip.collect::<Value>(),
        "reference": reference.collect::<Value>(),
        "caveats": answer::caveats(&reading.caveats),
    });
    if let Some(range) = reading.light_range {
        shown["light_range"] = range.into();
    }
    shown
}

pub(super) fn answer(input: &Value, picture: Option<&mut dyn ReadSeek>) -> Result<Value, Error> {
    let layout = read(input)?;
    let picture = picture.ok_or_else(|| {
        Error::missing(
            "the picture",
            "a TIFF, PNG or JPEG file",
            "Name it with --in, and the layout with --layout.",
        )
    })?;
    let (facts, reading) = picture::read_strip(picture, &layout)?;
    Ok(show(facts, layout.channel, &reading))
}
