//! What a test says: worked out anew from its strips, and kept until the journal moves on, so that the page can
//! follow a slider.
//!
//! Strips become the input of the sums, sums become layers. No formula lives here.

use super::draft::material_of;
use crate::service::error::at;
use crate::service::{Outcome, Service};
use spoolwright_core::bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::shelf::{EntryId, Process, Stock, WedgeTestId};
use spoolwright_core::wedge::record::{Channel, Way, WedgeStrip, WedgeTest};
use spoolwright_core::wedge::{
    self, Analysis, ColourStrip, ColourTest, Comparison, Effort, Exposure, ISO_CONTRAST, Measure,
    Strip, Target, Test,
};
use spoolwright_core::{Error, Kind};
use std::sync::{Arc, PoisonError};

/// What a test says in one light.
#[derive(Debug, Clone)]
pub struct Layer {
    /// The light its strips were read in.
    pub channel: Channel,
    /// The curves and what they give, or why there are none.
    pub analysis: Result<Analysis, Error>,
}

/// The speed that stands for a colour film, its three layers taken together.
#[derive(Debug, Clone)]
pub struct Combined {
    /// The strips, in the order of their times.
    pub strips: Vec<ColourStrip>,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// All that one test says.
#[derive(Debug)]
struct Found {
    layers: Arc<Vec<Layer>>,
    colour: Option<Result<Combined, Error>>,
}

/// What tests say in one state of the journal.
#[derive(Debug, Default)]
pub(in crate::service) struct Kept {
    head: Option<EntryId>,
    tests: Vec<(WedgeTestId, Arc<Found>)>,
}

impl Service {
    /// What a test says, a layer for each light its strips were read in.
    ///
    /// # Errors
    /// There is no such test; what keeps a layer from being worked out stands in the layer.
    pub fn wedge_layers(&self, id: WedgeTestId) -> Outcome<Arc<Vec<Layer>>> {
        Ok(Arc::clone(&self.found(id)?.layers))
    }

    /// The combined speed of a colour film, or why there is none; none for black and white, and before any reading.
    ///
    /// # Errors
    /// There is no such test.
    pub fn wedge_colour(&self, id: WedgeTestId) -> Outcome<Option<Result<Combined, Error>>> {
        Ok(self.found(id)?.colour.clone())
    }

    fn found(&self, id: WedgeTestId) -> Outcome<Arc<Found>> {
        let head = self.store().head()?;
        let mut kept = self.wedge.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.head != Some(head) {
            *kept = Kept {
                head: Some(head),
                tests: Vec::new(),
            };
        }
        if let Some((_, found)) = kept.tests.iter().find(|(known, _)| *known == id) {
            return Ok(Arc::clone(found));
        }
        let test: WedgeTest = self.find(id)?;
        let strips = self.store().strips_of_test(id)?;
        let process = self.find::<Stock>(test.stock)?.process;
        let found = Arc::new(work_out(&test, &strips, process));
        kept.tests.push((id, Arc::clone(&found)));
        Ok(found)
    }

    /// The black-and-white layer of a test: the only one with a contrast target.
    ///
    /// # Errors
    /// No strips read yet, or what keeps them from being worked out.
    pub fn wedge_analysis(&self, id: WedgeTestId) -> Outcome<Analysis> {
        Ok(visual(&self.wedge_layers(id)?)?.clone())
    }

    /// How the second test differs from the first.
    ///
    /// # Errors
    /// One test twice, a test without strips, or two that cannot be compared.
    pub fn compare_tests(&self, first: WedgeTestId, second: WedgeTestId) -> Outcome<Comparison> {
        if first == second {
            return Err(at(
                "second",
                Error::new(
                    Kind::Inconsistent,
                    "two tests to compare",
                    "the same test twice",
                    "two tests",
                    "Choose another test to compare it with.",
                ),
            ));
        }
        let otherwise = wedge::developed_otherwise(&self.find(first)?, &self.find(second)?);
        // At the time each needs for the normal contrast, where both reach it.
        let normal = Target {
            measure: Measure::IsoTriangle,
            value: ISO_CONTRAST,
        };
        let (first, second) = (self.wedge_layers(first)?, self.wedge_layers(second)?);
        let mut compared = wedge::compare(visual(&first)?, visual(&second)?, normal)?;
        compared.caveats.splice(0..0, otherwise);
        Ok(compared)
    }
}

/// The layer read in visual density.
fn visual(layers: &[Layer]) -> Outcome<&Analysis> {
    match layers.iter().find(|l| l.channel == Channel::Visual) {
        Some(layer) => Ok(layer.analysis.as_ref().map_err(Clone::clone)?),
        None => Err(Error::missing(
            "strips read in visual density",
            "at least one strip",
            "Enter the densities of a strip first.",
        )
        .into()),
    }
}

fn work_out(test: &WedgeTest, strips: &[WedgeStrip], process: Process) -> Found {
    let in_light = |channel| test_of(test, strips, channel, process);
    let read: Vec<Channel> = Channel::ALL
        .iter()
        .copied()
        .filter(|c| strips.iter().any(|s| s.channel == *c && !s.left_out))
        .collect();
    let colours = [Channel::Red, Channel::Green, Channel::Blue];
    let colour = read.iter().any(|c| colours.contains(c)).then(|| {
        let [red, green, blue] = colours.map(in_light);
        wedge::analyse_colour(&ColourTest { red, green, blue }, Effort::default())
    });
    let each = || {
        read.iter()
            .map(|&channel| Layer {
                channel,
                analysis: wedge::analyse(&in_light(channel), Effort::default()),
            })
            .collect()
    };
    let (layers, colour) = match colour {
        Some(Ok(all)) => {
            let layers = colours.into_iter().zip([all.red, all.green, all.blue]);
            let layers = layers.map(|(channel, analysis)| Layer {
                channel,
                analysis: Ok(analysis),
            });
            let combined = Combined {
                strips: all.strips,
                caveats: all.caveats,
            };
            (layers.collect(), Some(Ok(combined)))
        }
        // Each layer for itself, whatever keeps them from being taken together.
        Some(Err(refusal)) => (each(), Some(Err(refusal))),
        None => (each(), None),
    };
    Found {
        layers: Arc::new(layers),
        colour,
    }
}

/// Refuses strips that no curve can be drawn through, by themselves or among those `held`; one held before that is
/// itself of that kind keeps nothing else out.
pub(super) fn refuse_unusable(
    test: &WedgeTest,
    held: &[WedgeStrip],
    read: &[WedgeStrip],
    process: Process,
) -> Result<(), Error> {
    let usable = |strips: &[WedgeStrip], channel| {
        // A check, not a result: the fewest rounds do.
        let effort = Effort {
            rounds: bounds::ROUNDS.min as usize,
        };
        wedge::analyse(&test_of(test, strips, channel, process), effort).map(drop)
    };
    for &channel in Channel::ALL {
        let of = |all: &[WedgeStrip]| -> Vec<WedgeStrip> {
            let in_light = all.iter().filter(|s| s.channel == channel);
            in_light.cloned().collect()
        };
        let mut new = of(read);
        for strip in &mut new {
            strip.left_out = false;
        }
        if new.is_empty() {
            continue;
        }
        let mut others = of(held);
        others.retain(|s| !s.left_out && new.iter().all(|n| n.id != s.id));
        let Err(refusal) = usable(&[&others[..], &new[..]].concat(), channel) else {
            continue;
        };
        usable(&new, channel)?;
        if others.is_empty() || usable(&others, channel).is_ok() {
            return Err(refusal);
        }
    }
    Ok(())
}

/// The strips of a test in one light, as the bench takes them.
fn test_of(test: &WedgeTest, strips: &[WedgeStrip], channel: Channel, process: Process) -> Test {
    let steps = test.steps.clone();
    Test {
        exposure: match test.way {
            Way::InCamera => Exposure::InCamera {
                meter_offset_stops: steps,
                meter_ei: test.meter_ei,
            },
            Way::Relative => Exposure::Relative {
                wedge_density: steps,
            },
            Way::Absolute => Exposure::Absolute {
                log_h_at_zero_density: test.log_h_at_zero_density.unwrap_or_default(),
                wedge_density: steps,
            },
        },
        strips: strips
            .iter()
            .filter(|s| s.channel == channel && !s.left_out)
            .map(|s| Strip {
                time_min: s.time_min,
                density: s.density.clone(),
                density_sd: s.density_sd,
                base_fog: s.base_fog,
            })
            .collect(),
        base_fog: None,
        material: material_of(process),
        target: None,
    }
}
