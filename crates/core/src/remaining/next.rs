//! Which measurement would narrow a can's interval most: the sd that each would leave, by the posterior covariance.

use super::build::What;
use super::defaults;
use super::posterior::{Linear, Posterior};
use nalgebra::DVector;

/// A measurement that could be made next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasurementKind {
    /// Weigh the closed can now.
    Weigh,
    /// Weigh an empty can with bag and core: one of the same kind, or this very can's parts when no kind is known.
    WeighEmpty,
    /// Both of the above, which are often worth little alone.
    WeighBoth,
    /// Take the roll's diameter in the dark.
    Gauge,
    /// Measure a roll wound on this loader end to end, offcuts included.
    MeasureRoll,
    /// Wait until another can like this one has run out on this loader.
    RunOutAnother,
}

impl MeasurementKind {
    /// All kinds.
    pub const ALL: [Self; 6] = [
        Self::Weigh,
        Self::WeighEmpty,
        Self::WeighBoth,
        Self::Gauge,
        Self::MeasureRoll,
        Self::RunOutAnother,
    ];

    /// The word used in files and contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Weigh => "weigh",
            Self::WeighEmpty => "weigh_empty",
            Self::WeighBoth => "weigh_both",
            Self::Gauge => "gauge",
            Self::MeasureRoll => "measure_roll",
            Self::RunOutAnother => "run_out_another",
        }
    }

    /// What to do, for a sentence: "weigh the closed can".
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::Weigh => "weigh the closed can",
            Self::WeighEmpty => "weigh an empty can with bag and core",
            Self::WeighBoth => "weigh the closed can, and an empty one with bag and core",
            Self::Gauge => "take the roll's diameter in the dark",
            Self::MeasureRoll => "measure a wound roll end to end, offcuts included",
            Self::RunOutAnother => "let another can run out on this loader and note the click",
        }
    }
}

/// A possible measurement and what it would leave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextMeasurement {
    /// Which.
    pub kind: MeasurementKind,
    /// Standard deviation of what is left after it, in m.
    pub sd_after_m: f64,
}

/// Clicks of the roll taken for [`MeasurementKind::MeasureRoll`] and of the rolls of another can: a full roll.
const FULL_ROLL_CLICKS: f64 = 42.0;

impl Posterior {
    /// The possible measurements of a can, best first; none for a can that is empty.
    ///
    /// Scale and gauge are taken as good as [`defaults::SCALE_SD_G`] and [`defaults::GAUGE_SD_MM`] say. An equal
    /// result keeps the order of [`MeasurementKind::ALL`], so the cheaper comes first.
    ///
    /// # Units
    /// Metres, as a standard deviation before the cut at zero (compare [`Posterior::uncut_m`]).
    /// # Source
    /// Own derivation: a normal posterior updated by one more linear measurement does not need its reading.
    pub fn next_measurements(&self, can: usize, loader: usize) -> Vec<NextMeasurement> {
        if self.model.cans[can].ended {
            return Vec::new();
        }
        let (_, left) = self.left(can);
        let mut list: Vec<_> = MeasurementKind::ALL
            .into_iter()
            .map(|kind| {
                let rows = self.hypothetical(can, loader, kind);
                NextMeasurement {
                    kind,
                    sd_after_m: self.variance_after(can, &left, &rows).sqrt(),
                }
            })
            .collect();
        list.sort_by(|a, b| a.sd_after_m.total_cmp(&b.sd_after_m));
        list
    }

    /// A measurement's dependence on the unknowns, and its noise variance.
    fn hypothetical(&self, can: usize, loader: usize, kind: MeasurementKind) -> Vec<(Linear, f64)> {
        let one = &self.model.cans[can];
        let scale = defaults::SCALE_SD_G.powi(2);
        match kind {
            MeasurementKind::Weigh => {
                vec![(self.predict(can, &What::Weight(one.now.clone())).1, scale)]
            }
            MeasurementKind::WeighEmpty => match one.package {
                // Another can of the kind: its own departure from the kind's mean is noise here.
                Some(package) => {
                    let index = self.model.layout.package(package);
                    let shared = vec![(index, self.model.shared[index].sd)];
                    let spread = one.local[super::build::TARE].sd;
                    let row = Linear {
                        local: DVector::zeros(one.local.len()),
                        shared,
                    };
                    vec![(row, scale + spread * spread)]
                }
                None => vec![(self.predict(can, &What::Tare).1, scale)],
            },
            MeasurementKind::WeighBoth => {
                let mut both = self.hypothetical(can, loader, MeasurementKind::Weigh);
                both.extend(self.hypothetical(can, loader, MeasurementKind::WeighEmpty));
                both
            }
            MeasurementKind::Gauge => {
                let what = What::Diameter(one.now.clone(), defaults::CORE_MM * 1e-3);
                vec![(
                    self.predict(can, &what).1,
                    (defaults::GAUGE_SD_MM * 1e-3).powi(2),
                )]
            }
            MeasurementKind::MeasureRoll => {
                let noise = (defaults::MEASURED_SD_MM * 1e-3).powi(2);
                vec![(self.roll(can, loader, FULL_ROLL_CLICKS).1, noise)]
            }
            MeasurementKind::RunOutAnother => {
                let length = one.local[super::build::LENGTH];
                let (per_roll, mut row) = self.roll(can, loader, FULL_ROLL_CLICKS);
                let rolls = length.mean / per_roll.max(0.1);
                row.shared.iter_mut().for_each(|(_, g)| *g *= rolls);
                let noise = length.sd.powi(2) + defaults::ran_out_sd_m(one.pitch).powi(2);
                vec![(row, noise)]
            }
        }
    }

    /// Variance of `target` after one or two independent measurements.
    fn variance_after(&self, can: usize, target: &Linear, rows: &[(Linear, f64)]) -> f64 {
        let before = self.covariance(can, target, target);
        let after = match rows {
            [(row, noise)] => {
                let shared = self.covariance(can, target, row);
                before - shared * shared / (self.covariance(can, row, row) + noise)
            }
            [(first, noise), (second, other)] => {
                let (a, b) = (
                    self.covariance(can, target, first),
                    self.covariance(can, target, second),
                );
                let p = self.covariance(can, first, first) + noise;
                let q = self.covariance(can, second, second) + other;
                let r = self.covariance(can, first, second);
                before - (a * a * q - 2.0 * a * b * r + b * b * p) / (p * q - r * r)
            }
            _ => before,
        };
        after.clamp(0.0, before.max(0.0))
    }
}
