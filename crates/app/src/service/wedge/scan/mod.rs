//! A strip read from a scan: which patch is which step, which way its densities must lie, the table it gives.
//!
//! Densities are found by the sums' own module; the picture held and the layout as typed are modules beside this one.

mod draft;
mod hold;

pub use draft::{ScanDraft, WEDGES};
pub(in crate::service) use hold::Place;
pub use hold::{Held, MOST_BYTES, TakingIn, too_large};

use super::{ReadingsDraft, WedgeTest, channels_of, material_of, table};
use crate::picture;
use crate::service::{Outcome, Service};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::shelf::{Process, Stock, WedgeTestId};
use spoolwright_core::wedge::Material;
use spoolwright_core::wedge::record::{Channel, Way};
use spoolwright_core::wedge::scan::{self, Layout, Reading};
use spoolwright_core::{Error, Kind};
use std::io::{Cursor, Read, Seek};

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

/// A strip's developing time, minutes.
fn time_of(text: &str) -> Result<f64, Error> {
    table::developing_time(text)
}

/// What a strip's patches are, by where its unexposed one lies: first, last, or none when empty.
fn patches_of(test: &WedgeTest, blank: &str) -> Result<Vec<Patch>, Error> {
    let mut patches: Vec<Patch> = (0..test.steps.len()).map(Patch::Step).collect();
    match blank.trim() {
        "" | "none" => {}
        "first" => patches.insert(0, Patch::BaseFog),
        "last" => patches.push(Patch::BaseFog),
        other => {
            return Err(Error::new(
                Kind::Unknown,
                "the unexposed patch",
                format!("{other:?}"),
                "first, last, none",
                "Choose one of these.",
            ));
        }
    }
    Ok(patches)
}

/// In which order the patches' densities must lie: a negative's rise with exposure, a reversal's fall.
fn expected(test: &WedgeTest, process: Process, patches: &[Patch]) -> Vec<f64> {
    let sign = match material_of(process) {
        Material::Reversal => -1.0,
        Material::Negative | Material::ColourNegative => 1.0,
    };
    let exposure = |patch: &Patch| match (patch, test.way) {
        (Patch::BaseFog, _) => f64::NEG_INFINITY,
        (Patch::Step(i), Way::InCamera) => test.steps[*i],
        (Patch::Step(i), Way::Relative | Way::Absolute) => -test.steps[*i],
    };
    patches.iter().map(|p| sign * exposure(p)).collect()
}

impl ScanView {
    /// The same as a table of densities, and the standard deviation of one reading: the middle one of the patches'.
    ///
    /// Dark patches are noisy and would speak for all in a mean; the toe, which the speed hangs on, is not so.
    fn table(&self, test: &WedgeTest) -> (String, Option<f64>) {
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
        (
            text,
            sd.map(|sd| sd.clamp(0.0005, spoolwright_core::bounds::DENSITY_SD.max)),
        )
    }
}

impl ScanView {
    /// The readings to keep, from the picture of that name.
    pub fn readings(&self, test: &WedgeTest, name: &str) -> ReadingsDraft {
        let (table, sd) = self.table(test);
        ReadingsDraft {
            table,
            density_sd: sd.map(|sd| format!("{sd:.4}")).unwrap_or_default(),
            source: format!("scan {name}").trim().chars().take(120).collect(),
        }
    }

    /// Every caveat once, whatever light it was said in.
    pub fn caveats(&self) -> Vec<&Caveat> {
        let mut all: Vec<&Caveat> = Vec::new();
        for caveat in self.layers.iter().flat_map(|(_, r)| &r.caveats) {
            if !all.contains(&caveat) {
                all.push(caveat);
            }
        }
        all
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
        let layers = self.scan_layers(&test, &patches, layout, || Ok(Cursor::new(&held.bytes)))?;
        Ok(ScanView {
            layers,
            patches,
            time_min,
        })
    }

    /// Reads a strip from a picture that `open` opens, by a layout as `calc wedgescan` takes it.
    ///
    /// # Errors
    /// A layout whose patches are not the test's steps, and what keeps the picture from being read.
    pub fn read_scan_file<P: Read + Seek>(
        &self,
        test: &WedgeTest,
        (time, blank): (&str, &str),
        layout: Layout,
        open: impl FnMut() -> Result<P, Error>,
    ) -> Outcome<ScanView> {
        let time_min = time_of(time)?;
        let patches = patches_of(test, blank)?;
        if layout.strip.patches != patches.len() {
            let (steps, given) = (test.steps.len(), layout.strip.patches);
            return Err(Error::new(
                Kind::Inconsistent,
                "strip.patches: not as many as the test has steps",
                format!("{given} patches, the unexposed one {}", if patches.len() == steps { "none" } else { blank.trim() }),
                format!("{steps} steps, and one patch more where an unexposed one is first or last on the strip"),
                "Count the patches between the corners, and say with --blank where the unexposed one is.",
            )
            .into());
        }
        let layers = self.scan_layers(test, &patches, layout, open)?;
        Ok(ScanView {
            layers,
            patches,
            time_min,
        })
    }

    fn scan_layers<P: Read + Seek>(
        &self,
        test: &WedgeTest,
        patches: &[Patch],
        mut layout: Layout,
        mut open: impl FnMut() -> Result<P, Error>,
    ) -> Outcome<Vec<(Channel, Reading)>> {
        let process = self.find::<Stock>(test.stock)?.process;
        layout.strip.expected = expected(test, process, patches);
        let own = (Channel::Visual, layout.channel);
        let colours = [
            (Channel::Red, scan::Channel::Red),
            (Channel::Green, scan::Channel::Green),
            (Channel::Blue, scan::Channel::Blue),
        ];
        let grey = channels_of(process) == [Channel::Visual]
            || picture::open(open()?)?.facts().shape.channels == 1;
        if !grey && layout.channel != scan::Channel::Grey {
            return Err(Error::new(
                Kind::Inconsistent,
                "channel: a colour film is read in all three",
                layout.channel.word(),
                "no channel",
                "Leave the channel out of the layout.",
            )
            .into());
        }
        let lights = if grey { &[own][..] } else { &colours };
        let mut layers = Vec::new();
        for &(light, channel) in lights {
            layout.channel = channel;
            let (_, reading) = picture::read_strip(open()?, &layout)?;
            layers.push((light, reading));
        }
        Ok(layers)
    }
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
}
