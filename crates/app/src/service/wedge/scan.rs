//! A strip read from a scan: the picture held while its corners are set, the layout as typed, the table it gives.
//!
//! One picture is held at a time and none is stored. Which patch is which step is said here; densities are found by
//! the sums' own module.

use super::draft::numbers;
use super::{WedgeTest, table};
use crate::picture::{self, Facts, Preview};
use crate::service::entry::{PLAIN, Reader};
use crate::service::{Outcome, Service};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::shelf::Stock;
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::{Channel, Way};
use spoolwright_core::wedge::scan::{self, Layout, Point, Quad, Reading, Reference, Strip};
use spoolwright_core::{Error, Kind};
use std::io::Cursor;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, PoisonError};

/// Largest file that is held, bytes: 60 megapixels of three times sixteen bits, and a little.
pub const MOST_BYTES: usize = 400 * 1024 * 1024;
/// Longest side of the copy that the corners are set on, pixels.
const COPY: u32 = 1600;

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

/// A picture held while its corners are set.
#[derive(Debug)]
pub struct Held {
    /// Its number: the clock's milliseconds when it came; the next picture has a higher one.
    pub number: u64,
    /// The file's name.
    pub name: String,
    /// A small copy.
    pub preview: Preview,
    bytes: Vec<u8>,
}

impl Held {
    /// Format, size and kind of pixel.
    pub fn facts(&self) -> Facts {
        self.preview.of
    }
}

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
    /// Densities of its steps; none without a wedge.
    pub densities: String,
    /// How far one of them may be off.
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

/// One patch count and order: which step each patch is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Blank {
    First,
    Last,
    None,
}

/// A strip as read from a picture, in one light or three.
#[derive(Debug, Clone)]
pub struct ScanView {
    /// The light and what was read in it.
    pub layers: Vec<(Channel, Reading)>,
    /// Names of the patches, in order: base + fog, or the step.
    pub patches: Vec<Patch>,
    /// Developing time, minutes.
    pub time_min: f64,
}

/// What a patch is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Patch {
    /// Unexposed.
    BaseFog,
    /// The step of that index.
    Step(usize),
}

impl ScanDraft {
    /// A first guess: strip above, wedge below, both level.
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
        let (count, by, from) = super::USUAL_WEDGE;
        let steps = (0..count).map(|i| format!("{:.2}", from + f64::from(i) * by));
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
            densities: steps.collect::<Vec<_>>().join(" "),
            ..Self::default()
        }
    }

    fn read(&self, test: &WedgeTest) -> Outcome<(Layout, Vec<Patch>, f64)> {
        let mut r = Reader::new();
        let time_min = r.keep("time", table::developing_time(&self.time), 1.0);
        let blank = match self.blank.trim() {
            "" | "none" => Blank::None,
            "first" => Blank::First,
            "last" => Blank::Last,
            other => {
                let known = Error::new(
                    Kind::Unknown,
                    "the unexposed patch",
                    format!("{other:?}"),
                    "first, last, none",
                    "Choose one of these.",
                );
                r.keep("blank", Err(known), Blank::None)
            }
        };
        let mut patches: Vec<Patch> = (0..test.steps.len()).map(Patch::Step).collect();
        match blank {
            Blank::First => patches.insert(0, Patch::BaseFog),
            Blank::Last => patches.push(Patch::BaseFog),
            Blank::None => {}
        }
        let strip = Strip {
            corners: quad(&mut r, "strip", &self.strip),
            patches: patches.len(),
            inset: scan::DEFAULT_INSET,
        };
        let density = numbers(&mut r, "densities", &self.densities, &scan::DENSITY);
        let density_sd = r
            .optional("wedge_sd", &self.wedge_sd, PLAIN, &WEDGE_SD)
            .unwrap_or(scan::DEFAULT_DENSITY_SD);
        let reference = (!density.is_empty()).then(|| Reference {
            corners: quad(&mut r, "wedge", &self.wedge),
            density,
            density_sd,
            inset: scan::DEFAULT_INSET,
        });
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

impl ScanView {
    /// The same as a table of densities, and the standard deviation of one reading: the middle one of the patches'.
    ///
    /// Dark patches are noisy and would speak for all in a mean; the toe, which the speed hangs on, is not so.
    pub fn table(&self, test: &WedgeTest) -> (String, Option<f64>) {
        let mut text = String::from("step");
        for (channel, _) in &self.layers {
            let light = match channel {
                Channel::Visual => "",
                other => other.word(),
            };
            text.push_str(&format!(";{} min {light}", self.time_min));
        }
        for (i, patch) in self.patches.iter().enumerate() {
            let name = match patch {
                Patch::BaseFog => "base+fog".into(),
                Patch::Step(k) => test.steps.get(*k).map(f64::to_string).unwrap_or_default(),
            };
            text.push_str(&format!("\n{name}"));
            for (_, reading) in &self.layers {
                let density = reading.strip.get(i).and_then(|p| p.density);
                text.push(';');
                text.push_str(
                    &density
                        .map(|d| format!("{:.3}", d.mean))
                        .unwrap_or_default(),
                );
            }
        }
        let all = self.layers.iter().flat_map(|(_, r)| &r.strip);
        let sd = median(all.filter_map(|p| Some(p.density?.sd)).collect());
        (text, sd.map(|sd| sd.clamp(0.0005, 0.5)))
    }
}

/// The middle one, or the mean of the two in the middle.
fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    let upper = *values.get(half)?;
    Some(match values.len() % 2 {
        0 => f64::midpoint(values[half - 1], upper),
        _ => upper,
    })
}

impl Service {
    /// Holds a picture in place of the one before, which is let go even where this one is refused, and makes the copy to set its corners on.
    ///
    /// # Errors
    /// No picture that can be read, or one that is too large.
    pub fn hold_picture(&self, name: &str, bytes: Vec<u8>) -> Outcome<u64> {
        if bytes.len() > MOST_BYTES {
            return Err(too_large(bytes.len() as u64).into());
        }
        let place = || self.picture.lock().unwrap_or_else(PoisonError::into_inner);
        // The picture before makes room first.
        drop(place().take());
        let preview = picture::preview(Cursor::new(&bytes), COPY)?;
        let name: String = name.chars().filter(|c| !c.is_control()).take(80).collect();
        let clock = u64::try_from((self.clock)().as_millisecond()).unwrap_or(0);
        let number = next_number(clock);
        *place() = Some(Arc::new(Held {
            number,
            name,
            preview,
            bytes,
        }));
        Ok(number)
    }

    /// The picture of that number, while it is held.
    ///
    /// # Errors
    /// Another has taken its place, or the program was started anew.
    pub fn held_picture(&self, number: u64) -> Outcome<Arc<Held>> {
        let place = self.picture.lock().unwrap_or_else(PoisonError::into_inner);
        let held = place.as_ref().filter(|held| held.number == number);
        held.cloned().ok_or_else(|| {
            Error::new(
                Kind::Unknown,
                "the picture",
                format!("number {number}"),
                "the picture chosen last; none is stored",
                "Choose the file again.",
            )
            .into()
        })
    }

    /// Reads a strip from the picture held, in the lights of the test's stock.
    ///
    /// # Errors
    /// Faults of the layout, and what keeps the picture from being read.
    pub fn read_scan(
        &self,
        test: WedgeTestId,
        held: &Held,
        draft: &ScanDraft,
    ) -> Outcome<ScanView> {
        let test: WedgeTest = self.find(test)?;
        let (layout, patches, time_min) = draft.read(&test)?;
        let process = self.find::<Stock>(test.stock)?.process;
        let grey =
            super::channels_of(process) == [Channel::Visual] || held.facts().shape.channels == 1;
        let lights: &[(Channel, scan::Channel)] = match grey {
            true => &[(Channel::Visual, scan::Channel::Grey)],
            false => &[
                (Channel::Red, scan::Channel::Red),
                (Channel::Green, scan::Channel::Green),
                (Channel::Blue, scan::Channel::Blue),
            ],
        };
        let mut layers = Vec::new();
        for &(light, channel) in lights {
            let layout = Layout {
                channel,
                ..layout.clone()
            };
            let (_, reading) = picture::read_strip(Cursor::new(&held.bytes), &layout)?;
            layers.push((light, reading));
        }
        Ok(ScanView {
            layers,
            patches,
            time_min,
        })
    }
}

/// A number that was never given before, not even before the last start: a page left open over it finds no picture,
/// not another one.
fn next_number(clock_ms: u64) -> u64 {
    static LAST: AtomicU64 = AtomicU64::new(0);
    let next = |last: u64| clock_ms.max(last + 1);
    let before = LAST.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |last| {
        Some(next(last))
    });
    before.map_or(clock_ms, next)
}

/// The refusal of a file that is not taken in.
pub fn too_large(bytes: u64) -> Error {
    Error::new(
        Kind::TooLarge,
        "the picture's file",
        format!("{} MB", bytes / 1024 / 1024),
        format!("at most {} MB", MOST_BYTES / 1024 / 1024),
        "Cut the picture to strip and wedge, scan at a lower resolution, or save it compressed.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One drowned patch of twenty does not speak for the others.
    #[test]
    fn the_middle_sd_is_that_of_a_strip() {
        assert_eq!(median(Vec::new()), None);
        assert_eq!(median(vec![0.9, 0.01, 0.02]), Some(0.02));
        assert_eq!(median(vec![0.4, 0.01, 0.03, 0.01]), Some(0.02));
    }

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
}
