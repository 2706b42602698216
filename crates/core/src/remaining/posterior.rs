//! Answers from a solved shelf: what is left, whether a roll can still be wound, what was learnt.

use super::build::{LENGTH, Model, View, What};
use super::solve::{Fit, Standing};
use super::truncated::Remaining;
use super::{caveats, defaults};
use crate::caveat::Caveat;
use crate::quantity::Estimate;
use nalgebra::DVector;

/// A solved shelf. Indices are those of the shelf that was given; one that is not there panics, as in a slice.
pub struct Posterior {
    pub(super) model: Model,
    pub(super) fit: Fit,
    caveats: Vec<Vec<Caveat>>,
}

/// What was learnt of a loader. The two are correlated (a can that ran out fixes their sum): solve all cans of a
/// loader together rather than carrying these forward when you can.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoaderPosterior {
    /// Click scale k.
    pub click_scale: Estimate,
    /// Uncounted film per roll u, in mm.
    pub uncounted_mm: Estimate,
    /// Correlation of the two; 0 when either is known exactly.
    pub correlation: f64,
}

/// What was learnt of a stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockPosterior {
    /// Mass of one metre.
    pub linear_mass_g_per_m: Estimate,
    /// Effective thickness as wound.
    pub thickness_mm: Estimate,
}

/// What was learnt of a kind of can.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackagePosterior {
    /// Mean tare of the kind.
    pub tare_g: Estimate,
    /// Tare that a new can of this kind would be expected to have: the same mean, the can-to-can spread added.
    pub new_can_tare_g: Estimate,
}

/// What was learnt of one can.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CanPosterior {
    /// Length at the start.
    pub length_m: Estimate,
    /// Tare of this can.
    pub tare_g: Estimate,
}

/// A linear function of the unknowns near the solution: a can's own part and the shared part.
#[derive(Clone)]
pub(super) struct Linear {
    pub(super) local: DVector<f64>,
    pub(super) shared: Vec<(usize, f64)>,
}

impl Posterior {
    pub(super) fn new(model: Model, fit: Fit) -> Self {
        let caveats = vec![Vec::new(); model.cans.len()];
        Self {
            model,
            fit,
            caveats,
        }
    }

    pub(super) fn write_caveats(&mut self) {
        self.caveats = (0..self.model.cans.len())
            .map(|can| caveats::of(self, can))
            .collect();
    }

    /// How many cans were solved.
    pub fn cans(&self) -> usize {
        self.model.cans.len()
    }

    /// What is left in a can: a normal distribution cut at zero; after a run-out, nothing give or take half a click.
    ///
    /// # Units
    /// Metres.
    /// # Source
    /// Own derivation, checked against an outside sampler (tests/reference/remaining).
    pub fn remaining_m(&self, can: usize) -> Remaining {
        if self.model.cans[can].ended {
            return Remaining::cut_at_zero(0.0, defaults::ran_out_sd_m(self.model.cans[can].pitch));
        }
        let uncut = self.uncut_m(can);
        Remaining::cut_at_zero(uncut.mean, uncut.sd)
    }

    /// What is left by the sums alone, before it is cut at zero: may be negative when more was wound than was there.
    ///
    /// # Units
    /// Metres.
    /// # Source
    /// Own derivation, checked against scipy (tests/reference/remaining).
    pub fn uncut_m(&self, can: usize) -> Estimate {
        let (mean, left) = self.left(can);
        Estimate::new(mean, self.covariance(can, &left, &left).max(0.0).sqrt())
    }

    /// Chance that a roll of this many clicks can still be wound from a can on a loader: P(left ≥ clicks·8p·k + u),
    /// with what left and the loader have in common taken into account.
    ///
    /// # Units
    /// Clicks; result within 0 to 1.
    /// # Source
    /// Own derivation: linear functions of the posterior, cut at zero.
    pub fn can_wind(&self, can: usize, loader: usize, clicks: u32) -> f64 {
        let (roll_mean, roll) = self.roll(can, loader, f64::from(clicks));
        let left = self.remaining_m(can);
        if self.model.cans[can].ended {
            let roll_variance = self.covariance(can, &roll, &roll);
            let sd = defaults::ran_out_sd_m(self.model.cans[can].pitch);
            return left.chance(-roll_mean, (sd * sd + roll_variance).sqrt());
        }
        let (left_mean, mut gap) = self.left(can);
        gap.local -= &roll.local;
        gap.shared.extend(roll.shared.iter().map(|&(i, g)| (i, -g)));
        let sd = self.covariance(can, &gap, &gap).max(0.0).sqrt();
        left.chance(left_mean - roll_mean, sd)
    }

    /// What was learnt of a loader.
    pub fn loader(&self, loader: usize) -> LoaderPosterior {
        let layout = self.model.layout;
        let (k, u) = (layout.click_scale(loader), layout.uncounted(loader));
        let c = &self.fit.shared_covariance;
        let both = (c[(k, k)] * c[(u, u)]).sqrt();
        let known = self.model.shared[k].sd == 0.0 || self.model.shared[u].sd == 0.0;
        LoaderPosterior {
            click_scale: self.shared(k, 1.0),
            uncounted_mm: self.shared(u, 1e3),
            correlation: if known { 0.0 } else { c[(k, u)] / both },
        }
    }

    /// What was learnt of a stock.
    pub fn stock(&self, stock: usize) -> StockPosterior {
        let layout = self.model.layout;
        StockPosterior {
            linear_mass_g_per_m: self.shared(layout.linear_mass(stock), 1.0),
            thickness_mm: self.shared(layout.thickness(stock), 1e3),
        }
    }

    /// What was learnt of a kind of can.
    pub fn package(&self, package: usize) -> PackagePosterior {
        let spread_g = self.model.spreads_g[package];
        let tare_g = self.shared(self.model.layout.package(package), 1.0);
        PackagePosterior {
            tare_g,
            new_can_tare_g: Estimate::new(tare_g.mean, tare_g.sd.hypot(spread_g)),
        }
    }

    /// What was learnt of one can.
    pub fn can(&self, can: usize) -> CanPosterior {
        let one = &self.model.cans[can];
        let z = &self.fit.point.local[can];
        let mut length = Linear {
            local: DVector::zeros(one.local.len()),
            shared: Vec::new(),
        };
        length.local[LENGTH] = one.local[LENGTH].sd;
        let length_mean = one.local[LENGTH].mean + one.local[LENGTH].sd * z[LENGTH];
        let (tare_mean, tare) = self.predict(can, &What::Tare);
        let sd = |linear: &Linear| self.covariance(can, linear, linear).max(0.0).sqrt();
        CanPosterior {
            length_m: Estimate::new(length_mean, sd(&length)),
            tare_g: Estimate::new(tare_mean, sd(&tare)),
        }
    }

    /// Why to trust a can's numbers less, the weightiest first.
    pub fn caveats(&self, can: usize) -> &[Caveat] {
        &self.caveats[can]
    }

    pub(super) fn standing(&self, can: usize) -> &[Standing] {
        &self.fit.standing[can]
    }

    fn shared(&self, index: usize, factor: f64) -> Estimate {
        let prior = self.model.shared[index];
        let sd = prior.sd * self.fit.shared_covariance[(index, index)].max(0.0).sqrt();
        Estimate::new(
            (prior.mean + prior.sd * self.fit.point.shared[index]) * factor,
            sd * factor,
        )
    }

    pub(super) fn left(&self, can: usize) -> (f64, Linear) {
        self.predict(can, &What::End(self.model.cans[can].now.clone()))
    }

    /// What a measurement of this can would read now, and how that depends on the unknowns.
    pub(super) fn predict(&self, can: usize, what: &What) -> (f64, Linear) {
        let one = &self.model.cans[can];
        let point = &self.fit.point;
        let view = View::new(
            &self.model,
            one,
            point.local[can].as_slice(),
            point.shared.as_slice(),
        );
        let mut row = vec![0.0; one.columns()];
        let value = view.predict(what, &mut row);
        let local = DVector::from_column_slice(&row[..one.local.len()]);
        let shared = one
            .slots
            .iter()
            .copied()
            .zip(row[one.local.len()..].iter().copied())
            .collect();
        (value, Linear { local, shared })
    }

    /// What a roll of `clicks` draws on any loader, in m.
    pub(super) fn roll(&self, can: usize, loader: usize, clicks: f64) -> (f64, Linear) {
        let layout = self.model.layout;
        let (k, u) = (layout.click_scale(loader), layout.uncounted(loader));
        let one = &self.model.cans[can];
        let by_clicks = clicks * one.pitch.click().to_m();
        let shared = vec![
            (k, by_clicks * self.model.shared[k].sd),
            (u, self.model.shared[u].sd),
        ];
        let mean = by_clicks * self.shared(k, 1.0).mean + self.shared(u, 1.0).mean;
        (
            mean,
            Linear {
                local: DVector::zeros(one.local.len()),
                shared,
            },
        )
    }

    /// Posterior covariance of two linear functions of one can's unknowns and any shared ones.
    pub(super) fn covariance(&self, can: usize, f: &Linear, g: &Linear) -> f64 {
        let eliminated = &self.fit.cans[can];
        let reduced = |linear: &Linear| -> Vec<(usize, f64)> {
            let through = eliminated.a_inv_b.tr_mul(&linear.local);
            let slots = self.model.cans[can].slots.iter().copied();
            linear
                .shared
                .iter()
                .copied()
                .chain(slots.zip(through.iter().map(|x| -x)))
                .collect()
        };
        let mut sum = f.local.dot(&eliminated.a.solve(&g.local));
        let right = reduced(g);
        for (p, x) in reduced(f) {
            for &(q, y) in &right {
                sum += x * y * self.fit.shared_covariance[(p, q)];
            }
        }
        sum
    }
}
