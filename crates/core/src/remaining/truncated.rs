//! A normal distribution cut at zero: film left cannot be negative.

use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::erf::{erfc, erfc_inv};
use std::f64::consts::{PI, SQRT_2};

/// Film left in a can, in metres: a normal distribution cut at zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remaining {
    /// Expected length.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// The 2.5 % quantile.
    pub lower95: f64,
    /// The 97.5 % quantile.
    pub upper95: f64,
    location: f64,
    scale: f64,
}

/// Beyond this many standard deviations below zero asymptotic series are used (good to 0.2 % there and better below).
const DEEP: f64 = 9.0;

/// Chance that a standard normal number exceeds `x`.
pub(super) fn upper_tail(x: f64) -> f64 {
    0.5 * erfc(x / SQRT_2)
}

impl Remaining {
    /// The distribution of a normal number (`location`, `scale`) given that it is not negative.
    ///
    /// Mean and variance by the Mills ratio, quantiles by the survival function, so that no digits are lost when
    /// nearly all of it is cut off.
    pub(super) fn cut_at_zero(location: f64, scale: f64) -> Self {
        let mut left = Self {
            mean: 0.0,
            sd: 0.0,
            lower95: 0.0,
            upper95: 0.0,
            location,
            scale,
        };
        if scale <= 0.0 {
            let value = location.max(0.0);
            (left.mean, left.lower95, left.upper95) = (value, value, value);
            return left;
        }
        left.lower95 = left.quantile(0.025);
        left.upper95 = left.quantile(0.975);
        let alpha = -location / scale;
        if DEEP < alpha {
            // Mills ratio's asymptotic series, two terms.
            left.mean = scale / alpha * (1.0 - 2.0 / (alpha * alpha));
            left.sd = scale / alpha * (1.0 - 3.0 / (alpha * alpha));
            return left;
        }
        let density = (-0.5 * alpha * alpha).exp() / (2.0 * PI).sqrt();
        let mills = density / upper_tail(alpha);
        left.mean = location + scale * mills;
        left.sd = scale * (1.0 + alpha * mills - mills * mills).max(0.0).sqrt();
        left
    }

    /// The length that is not exceeded with probability `p`, for a lower or upper quantile of the user's choice.
    ///
    /// # Units
    /// `p` within 0 to 1 (clamped); result in metres, never negative.
    /// # Source
    /// Own derivation: inverse of the normal distribution function cut at zero.
    pub fn quantile(&self, p: f64) -> f64 {
        let p = if p.is_nan() { 0.5 } else { p.clamp(0.0, 1.0) };
        if self.scale <= 0.0 {
            return self.location.max(0.0);
        }
        let alpha = -self.location / self.scale;
        let survive = (1.0 - p).max(1e-300);
        if DEEP < alpha {
            // The tail falls as exp(−z²/2)/z: z² = α² − 2 ln(survive · z/α), written as what exceeds α.
            let z = (alpha * alpha - 2.0 * survive.ln()).sqrt();
            let drop = 2.0 * (survive * z / alpha).min(1.0).ln();
            return -self.scale * drop / ((alpha * alpha - drop).sqrt() + alpha);
        }
        let z = if alpha < -1.0 {
            // Little is cut: work from below, where the distribution function keeps its digits.
            let below = upper_tail(-alpha);
            standard_quantile(below + p * (1.0 - below))
        } else {
            SQRT_2 * erfc_inv(2.0 * survive * upper_tail(alpha))
        };
        (self.location + self.scale * z).max(0.0)
    }

    /// Chance that at least `other` metres are left, where `gap` is the normal estimate of what is left minus what
    /// is wanted: the part of the gap's distribution above zero, within what the cut leaves.
    ///
    /// Below [`DEEP`] the gap's own tail says little: it reaches above zero by rolls of no length.
    /// Then the chance is at most that of what is left exceeding the wanted length as expected.
    pub(super) fn chance(&self, gap_mean: f64, gap_sd: f64) -> f64 {
        let (up, all) = if gap_sd <= 0.0 || self.scale <= 0.0 {
            (if 0.0 <= gap_mean { 1.0 } else { 0.0 }, 1.0)
        } else {
            (
                upper_tail(-gap_mean / gap_sd),
                upper_tail(-self.location / self.scale),
            )
        };
        if all <= 0.0 {
            return 0.0;
        }
        let chance = (up / all).clamp(0.0, 1.0);
        if self.location < -DEEP * self.scale && 0.0 < self.scale {
            chance.min(upper_tail(-gap_mean / self.scale) / all)
        } else {
            chance
        }
    }
}

fn standard_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p.clamp(1e-300, 1.0 - 1e-16))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Far from zero nothing is cut; at zero it is the half-normal, whose mean is sd·√(2/π) and variance 1 − 2/π.
    #[test]
    fn limits() {
        let far = Remaining::cut_at_zero(15.0, 0.2);
        assert!((far.mean - 15.0).abs() < 1e-12 && (far.sd - 0.2).abs() < 1e-12);
        assert!((far.lower95 - (15.0 - 1.959_963_984_540_054 * 0.2)).abs() < 1e-9);
        let half = Remaining::cut_at_zero(0.0, 1.0);
        assert!((half.mean - (2.0 / PI).sqrt()).abs() < 1e-12);
        assert!((half.sd - (1.0 - 2.0 / PI).sqrt()).abs() < 1e-12);
        assert!((half.upper95 - 2.241_402_727_604_947).abs() < 1e-9);
    }

    /// However much more was wound than was there, a roll longer than the upper 95 % limit has a chance of at most 2.5 %.
    #[test]
    fn no_chance_beyond_the_interval() {
        for rolls in 8..60 {
            let location = -0.5 * f64::from(rolls);
            let left = Remaining::cut_at_zero(location, 0.4);
            let wanted = left.upper95 + 0.001;
            let chance = left.chance(location - wanted, 0.45);
            assert!(chance <= 0.0252, "{rolls}: {chance}, {left:?}");
        }
    }

    /// The deep cut joins the exact formula without a step, and stays finite for any depth.
    #[test]
    fn deep_cut() {
        let (a, b) = (
            Remaining::cut_at_zero(-8.999, 1.0),
            Remaining::cut_at_zero(-9.001, 1.0),
        );
        assert!((a.mean / b.mean - 1.0).abs() < 3e-3, "{a:?} {b:?}");
        assert!((a.upper95 / b.upper95 - 1.0).abs() < 3e-3, "{a:?} {b:?}");
        for depth in [20.0, 100.0, 1e6] {
            let r = Remaining::cut_at_zero(-depth, 1.0);
            assert!(
                0.0 < r.mean && r.lower95 < r.mean && r.mean < r.upper95,
                "{r:?}"
            );
        }
    }
}
