//! Where strip and wedge lie in a picture, and what the wedge is, as typed.
//!
//! Nothing measured is supposed here: a wedge's densities are what the person says, or nominal by the person's word.

use super::super::draft::numbers;
use super::{Held, Patch, patches_of, time_of};
use crate::service::Outcome;
use crate::service::entry::{PLAIN, Reader};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::wedge::record::{Way, WedgeTest};
use spoolwright_core::wedge::scan::{self, Layout, Point, Quad, Reference, Strip};
use spoolwright_core::{Error, Kind};

const PIXEL: Bounds = Bounds {
    what: "a corner",
    unit: "pixels",
    min: 0.0,
    max: 65_535.0,
};
const WEDGE_SD: Bounds = Bounds {
    what: "the uncertainty of the wedge's densities",
    unit: "",
    min: 0.0,
    max: 0.3,
};
const NOMINAL: Bounds = Bounds {
    what: "nominal steps",
    unit: "",
    min: -6.0,
    max: 200.0,
};

/// What the wedge in the picture is, and the word for it.
pub const WEDGES: [(&str, &str); 4] = [
    ("stated", "of the densities stated below"),
    ("nominal", "of nominal steps, unmeasured"),
    ("test", "the one of this test’s exposures"),
    ("none", "not there"),
];

/// Where strip, wedge and clear border lie in a picture, as set by hand.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ScanDraft {
    /// Developing time of the strip, minutes.
    pub time: String,
    /// Four corners of the strip, eight numbers in pixels: start and end of one long side, end and start of the other.
    pub strip: String,
    /// Which of its patches is unexposed: first, last or none.
    pub blank: String,
    /// Four corners of the reference wedge.
    pub wedge: String,
    /// What the wedge is, see [`WEDGES`]; the first when empty.
    pub wedge_is: String,
    /// Densities of its steps, if stated.
    pub densities: String,
    /// Density of its first step, difference to the next, number of steps, if nominal.
    pub nominal: String,
    /// How far one of its densities may be off.
    pub wedge_sd: String,
    /// Four corners of an even, clear border.
    pub border: String,
    /// Whether a clear border is there.
    pub with_border: String,
    /// Whether the values are proportional to light; needed without a wedge.
    pub linear: String,
    /// Whether the picture was turned into a positive.
    pub inverted: String,
}

impl ScanDraft {
    /// A first guess of places: strip above, wedge below, both level. Of densities there is none.
    pub fn first(test: &WedgeTest, held: &Held) -> Self {
        let (width, height) = (held.facts().shape.width, held.facts().shape.height);
        let level = |top: f64, foot: f64| {
            let (w, h) = (f64::from(width), f64::from(height));
            // Along the longer side, whichever it is.
            let at = |along: f64, across: f64| match height <= width {
                true => (along * w, across * h),
                false => ((1.0 - across) * w, along * h),
            };
            let corners = [at(0.1, top), at(0.9, top), at(0.9, foot), at(0.1, foot)];
            corners
                .iter()
                .map(|(x, y)| format!("{x:.0} {y:.0}"))
                .collect::<Vec<_>>()
                .join(" ")
        };
        Self {
            strip: level(0.15, 0.42),
            wedge: level(0.58, 0.85),
            border: level(0.46, 0.54),
            blank: if test.way == Way::InCamera {
                "first"
            } else {
                "none"
            }
            .into(),
            ..Self::default()
        }
    }

    pub(super) fn read(&self, test: &WedgeTest) -> Outcome<(Layout, Vec<Patch>, f64)> {
        let mut r = Reader::new();
        let time_min = r.keep("time", time_of(&self.time), 1.0);
        let patches = r.keep("blank", patches_of(test, &self.blank), Vec::new());
        let strip = Strip {
            corners: quad(&mut r, "strip", &self.strip),
            patches: patches.len(),
            inset: scan::DEFAULT_INSET,
            expected: Vec::new(),
        };
        let reference = self.reference(&mut r, test);
        let clear_border = match r.yes("with_border", &self.with_border) {
            true => vec![quad(&mut r, "border", &self.border)],
            false => Vec::new(),
        };
        let layout = Layout {
            strip,
            reference,
            clear_border,
            channel: scan::Channel::Grey,
            linear: r.yes("linear", &self.linear),
            inverted: r.yes("inverted", &self.inverted),
        };
        r.finish()?;
        Ok((layout, patches, time_min))
    }

    /// The wedge in the picture; none where there is none, or where something is wrong with what was said of it.
    fn reference(&self, r: &mut Reader, test: &WedgeTest) -> Option<Reference> {
        let density = match self.wedge_is.trim() {
            "" | "stated" => numbers(r, "densities", &self.densities, &scan::DENSITY),
            "nominal" => r.keep("nominal", nominal(&self.nominal), Vec::new()),
            "test" if test.way != Way::InCamera => test.steps.clone(),
            "none" => return None,
            other => {
                let known = Error::new(
                    Kind::Unknown,
                    "the wedge in the picture",
                    format!("{other:?}"),
                    "stated, nominal, none; test where the test was exposed through a wedge",
                    "Choose one of these.",
                );
                r.fault("wedge_is", known);
                return None;
            }
        };
        let nominal = self.wedge_is.trim() == "nominal";
        if density.is_empty() {
            if !nominal && self.densities.trim().is_empty() {
                r.fault(
                    "densities",
                    Error::missing(
                        "densities of the wedge in the picture",
                        "the density of each step, as measured on this wedge",
                        "Take them from its calibration sheet. If it has none, say that it is nominal; if no wedge is in the picture, say so.",
                    ),
                );
            }
            return None;
        }
        let usual = if nominal {
            scan::NOMINAL_DENSITY_SD
        } else {
            scan::DEFAULT_DENSITY_SD
        };
        let density_sd = r.optional("wedge_sd", &self.wedge_sd, PLAIN, &WEDGE_SD);
        Some(Reference {
            corners: quad(r, "wedge", &self.wedge),
            density,
            density_sd: density_sd.unwrap_or(usual),
            nominal,
            inset: scan::DEFAULT_INSET,
        })
    }
}

/// Densities of equal steps from "0.05 0.15 21": the first, the difference to the next, how many.
fn nominal(text: &str) -> Result<Vec<f64>, Error> {
    let wrong = |given: String| {
        Error::new(
            Kind::Inconsistent,
            "nominal steps of the wedge",
            given,
            "three numbers: density of the first step, difference to the next, number of steps (5 to 200)",
            "Say what the wedge's kind is: 0.05 0.15 21 is 21 steps of 0.15 from 0.05.",
        )
    };
    let mut r = Reader::new();
    let all = numbers(&mut r, "nominal", text, &NOMINAL);
    let said = || format!("{:?}", text.trim().chars().take(40).collect::<String>());
    let [first, by, count] = all[..] else {
        return Err(wrong(said()));
    };
    if r.finish().is_err() || count.fract() != 0.0 || !(5.0..=200.0).contains(&count) || by == 0.0 {
        return Err(wrong(said()));
    }
    // To the ten thousandth: 0.05 + 2 × 0.15 is 0.35, not 0.35000000000000003.
    let step = |i: u32| ((first + f64::from(i) * by) * 1e4).round() / 1e4;
    Ok((0..count as u32).map(step).collect())
}

fn quad(r: &mut Reader, field: &str, text: &str) -> Quad {
    let n = numbers(r, field, text, &PIXEL);
    match n[..] {
        [ax, ay, bx, by, cx, cy, dx, dy] => {
            Quad([(ax, ay), (bx, by), (cx, cy), (dx, dy)].map(|(x, y)| Point { x, y }))
        }
        _ => {
            r.fault(
                field,
                Error::new(
                    Kind::Inconsistent,
                    "corners",
                    format!("{} numbers", n.len()),
                    "eight numbers: across and down for each of four corners",
                    "Drag the corners in the picture, or type their pixels.",
                ),
            );
            Quad([Point { x: 0.0, y: 0.0 }; 4])
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_are_eight_numbers() {
        let mut r = Reader::new();
        let read = quad(&mut r, "strip", "1 2 30 2 30,5 9 1 9");
        assert_eq!(read.0[2], Point { x: 30.5, y: 9.0 });
        r.finish().unwrap();
        for bad in ["", "1 2 3", "1 2 3 4 5 6 7 x", "-1 2 3 4 5 6 7 8"] {
            let mut r = Reader::new();
            quad(&mut r, "strip", bad);
            assert!(r.finish().is_err(), "{bad}");
        }
    }

    #[test]
    fn nominal_steps_are_three_numbers() {
        let steps = nominal("0.05 0.15 21").unwrap();
        assert_eq!((steps.len(), steps[2], steps[20]), (21, 0.35, 3.05));
        assert_eq!(nominal("3,05; -0,15; 21").unwrap()[20], 0.05);
        for bad in [
            "",
            "0.15",
            "0.05 0.15",
            "0.05 0.15 4",
            "0.05 0.15 20.5",
            "0.05 0 21",
            "0 1 x",
            "1 2 3 4",
        ] {
            assert!(nominal(bad).is_err(), "{bad}");
        }
    }
}
