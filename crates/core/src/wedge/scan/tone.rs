//! The tone curve: from pixel level to density, measured on a wedge of known densities in the same picture.
//!
//! The curve is a monotone cubic through the steps, over the logarithm of the level. Steps that noise does not tell
//! apart are drawn together and carry the density they span as their uncertainty. No curve is guessed: beyond the
//! last steps it goes on straight for a little, ever less sure, and then gives nothing.

use std::f64::consts::LOG10_E;

use super::robust::Level;
use crate::error::{Error, Kind};

/// Steps nearer to one another than this many of their standard deviations are drawn together.
const TOLD_APART: f64 = 1.5;
/// A step that is lighter than the one before it by more than this many standard deviations is out of order.
const OUT_OF_ORDER: f64 = 4.0;
/// And by more than this part of its level.
const OUT_OF_ORDER_LOG: f64 = 0.01;
/// Density beyond the reference steps over which the curve is still followed.
const REACH: f64 = 0.3;
/// Standard deviation that each unit of density beyond the steps adds.
const BEYOND_SD: f64 = 0.5;
/// Least and most density of the lighter part, where stray light and black level hardly bend the curve.
const LIGHTER_PART: (f64, f64) = (0.6, 1.5);
/// Fewest knots that make a curve.
const FEWEST_KNOTS: usize = 4;

/// log10 of a level, and its standard deviation; none where noise drowns the level.
pub(super) fn log_level(level: &Level) -> Option<(f64, f64)> {
    (2.0 * level.sd < level.mean && 0.0 < level.mean)
        .then(|| (level.mean.log10(), LOG10_E * level.sd / level.mean))
}

/// One reference step: where it lies on the curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// Its number, from 1.
    pub(super) number: usize,
    /// log10 of its level, and the standard deviation.
    pub(super) z: (f64, f64),
    /// Its density less the light that falls on it (log10), and the standard deviation of the density.
    pub(super) a: (f64, f64),
}

/// The measured curve.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Curve {
    /// log10 level, rising.
    z: Vec<f64>,
    /// Apparent density, falling.
    a: Vec<f64>,
    /// Standard deviation of each knot, as density.
    sd: Vec<f64>,
    /// Slope at each knot.
    slope: Vec<f64>,
    /// The reference steps that each knot stands for.
    members: Vec<Vec<usize>>,
}

/// A density read off the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ReadOff {
    pub(super) a: f64,
    /// From the reading itself.
    pub(super) noise: f64,
    /// From the knots and the way between them.
    pub(super) fit: f64,
    /// Density beyond the last knot; 0 inside.
    pub(super) beyond: f64,
}

struct Knot {
    z: f64,
    z_sd: f64,
    a: f64,
    a_sd: f64,
    lowest: f64,
    highest: f64,
    members: Vec<usize>,
}

impl Knot {
    fn join(&self, other: &Self) -> Self {
        let (n, m) = (self.members.len() as f64, other.members.len() as f64);
        let (p, q) = (
            self.z_sd.max(1e-12).powi(-2),
            other.z_sd.max(1e-12).powi(-2),
        );
        let (lowest, highest) = (
            self.lowest.min(other.lowest),
            self.highest.max(other.highest),
        );
        Self {
            z: (self.z * p + other.z * q) / (p + q),
            z_sd: (p + q).sqrt().recip(),
            a: (self.a * n + other.a * m) / (n + m),
            a_sd: self.a_sd.max(other.a_sd),
            lowest,
            highest,
            members: [self.members.clone(), other.members.clone()].concat(),
        }
    }
}

impl Curve {
    /// The curve through those steps of a wedge that could be read, of so many in all.
    ///
    /// # Errors
    /// [`Kind::Inconsistent`] when the picture gets lighter as the densities rise; [`Kind::Missing`] when fewer than
    /// four steps can be told apart.
    pub(super) fn through(mut steps: Vec<Step>, of: usize) -> Result<Self, Error> {
        steps.sort_by(|p, q| p.a.0.total_cmp(&q.a.0));
        check_order(&steps)?;
        let mut knots: Vec<Knot> = Vec::with_capacity(steps.len());
        for step in &steps {
            let mut next = Knot {
                z: step.z.0,
                z_sd: step.z.1,
                a: step.a.0,
                a_sd: step.a.1,
                lowest: step.a.0,
                highest: step.a.0,
                members: vec![step.number],
            };
            while let Some(last) = knots.last() {
                let apart = TOLD_APART * last.z_sd.hypot(next.z_sd);
                if apart.max(1e-9) < last.z - next.z {
                    break;
                }
                next = last.join(&next);
                knots.pop();
            }
            knots.push(next);
        }
        if knots.len() < FEWEST_KNOTS {
            return Err(Error::new(
                Kind::Missing,
                "reference: too few steps can be told apart in the picture",
                format!("{} of {of}", knots.len()),
                format!("{FEWEST_KNOTS} or more"),
                "Check the corners of the reference wedge, and that the scan is neither clipped nor all black.",
            ));
        }
        knots.reverse();
        let z: Vec<f64> = knots.iter().map(|k| k.z).collect();
        let a: Vec<f64> = knots.iter().map(|k| k.a).collect();
        let secant = secants(&z, &a);
        let steepness = |i: usize| {
            let right = secant.get(i).map(|s| s.abs());
            let left = i.checked_sub(1).map(|j| secant[j].abs());
            match (left, right) {
                (Some(left), Some(right)) => (left + right) / 2.0,
                (one, other) => one.or(other).unwrap_or(0.0),
            }
        };
        let sd = knots
            .iter()
            .enumerate()
            .map(|(i, k)| {
                let span = (k.highest - k.lowest) / 12.0_f64.sqrt();
                k.a_sd.hypot(k.z_sd * steepness(i)).hypot(span)
            })
            .collect();
        let slope = slopes(&z, &secant);
        let members = knots.into_iter().map(|k| k.members).collect();
        Ok(Self {
            z,
            a,
            sd,
            slope,
            members,
        })
    }

    /// The same curve with some knots moved.
    fn moved(&self, by: impl Fn(usize) -> f64) -> Self {
        let a: Vec<f64> = self.a.iter().enumerate().map(|(i, a)| a + by(i)).collect();
        let slope = slopes(&self.z, &secants(&self.z, &a));
        Self {
            a,
            slope,
            ..self.clone()
        }
    }

    /// The apparent density at a log10 level.
    ///
    /// # Source
    /// [I1] for the slopes; cubic Hermite between knots; straight on, with the last two knots' slope, beyond them.
    pub(super) fn at(&self, z: f64) -> f64 {
        let last = self.z.len() - 1;
        let secant = |i: usize| (self.a[i + 1] - self.a[i]) / (self.z[i + 1] - self.z[i]);
        if z <= self.z[0] {
            return self.a[0] + secant(0) * (z - self.z[0]);
        }
        if self.z[last] <= z {
            return self.a[last] + secant(last - 1) * (z - self.z[last]);
        }
        let i = self.z.partition_point(|k| *k <= z) - 1;
        let h = self.z[i + 1] - self.z[i];
        let t = (z - self.z[i]) / h;
        let (t2, t3) = (t * t, t * t * t);
        (2.0 * t3 - 3.0 * t2 + 1.0) * self.a[i]
            + (t3 - 2.0 * t2 + t) * h * self.slope[i]
            + (3.0 * t2 - 2.0 * t3) * self.a[i + 1]
            + (t3 - t2) * h * self.slope[i + 1]
    }

    /// The chord between the knots instead of the curve.
    fn straight(&self, z: f64) -> f64 {
        let last = self.z.len() - 1;
        if z <= self.z[0] || self.z[last] <= z {
            return self.at(z);
        }
        let i = self.z.partition_point(|k| *k <= z) - 1;
        let t = (z - self.z[i]) / (self.z[i + 1] - self.z[i]);
        self.a[i] + t * (self.a[i + 1] - self.a[i])
    }

    /// The density at a level, with what is known of its errors; none too far beyond the steps.
    pub(super) fn read(&self, (z, z_sd): (f64, f64)) -> Option<ReadOff> {
        let a = self.at(z);
        let last = self.a.len() - 1;
        // How far outside, in density: lighter than the lightest step or darker than the darkest.
        let beyond = (self.a[last] - a).max(a - self.a[0]).max(0.0);
        if REACH < beyond {
            return None;
        }
        let noise = (self.at(z + z_sd) - self.at(z - z_sd)).abs() / 2.0;
        let knots: f64 = (0..self.a.len())
            .map(|i| {
                self.shift(z, |k| if k == i { self.sd[i] } else { 0.0 })
                    .powi(2)
            })
            .sum();
        let between = 0.25 * (a - self.straight(z));
        let fit = (knots + between * between + (BEYOND_SD * beyond).powi(2)).sqrt();
        Some(ReadOff {
            a,
            noise,
            fit,
            beyond,
        })
    }

    /// How the density at a level moves when the knots move.
    pub(super) fn shift(&self, z: f64, by: impl Fn(usize) -> f64) -> f64 {
        self.moved(by).at(z) - self.at(z)
    }

    /// How the density at a level moves when each reference step (by number) moves.
    pub(super) fn shift_steps(&self, z: f64, by: impl Fn(usize) -> f64) -> f64 {
        self.shift(z, |k| {
            let members = &self.members[k];
            members.iter().map(|n| by(*n)).sum::<f64>() / members.len() as f64
        })
    }

    /// By how much the log10 level falls for each unit of density, over the lighter part of the curve; none where that
    /// is too short to say.
    ///
    /// # Source
    /// Own derivation. Light alone gives 1; a picture coded with an exponent of 1/γ gives 1/γ.
    pub(super) fn fall(&self) -> Option<f64> {
        let last = self.a.len() - 1;
        let lightest = self.a[last];
        let dark = self
            .a
            .iter()
            .position(|a| *a <= lightest + LIGHTER_PART.1)?;
        let span = self.a[dark] - lightest;
        (LIGHTER_PART.0 <= span).then(|| (self.z[last] - self.z[dark]) / span)
    }

    /// Numbers of the steps that were drawn together with others.
    pub(super) fn drawn_together(&self) -> Vec<usize> {
        let mut all: Vec<usize> = self
            .members
            .iter()
            .filter(|m| 1 < m.len())
            .flatten()
            .copied()
            .collect();
        all.sort_unstable();
        all
    }
}

/// That the picture gets darker from step to step, noise aside.
fn check_order(steps: &[Step]) -> Result<(), Error> {
    let rising = steps.windows(2).filter(|s| s[0].z.0 < s[1].z.0).count();
    let backwards = steps.len() < 2 * rising + 1;
    let wrong = steps.windows(2).find(|s| {
        let rise = s[1].z.0 - s[0].z.0;
        let apart = s[0].z.1.hypot(s[1].z.1) * OUT_OF_ORDER;
        apart.max(OUT_OF_ORDER_LOG) < rise
    });
    match wrong {
        None => Ok(()),
        Some(_) if backwards => Err(Error::new(
            Kind::Inconsistent,
            "reference: the picture gets lighter where the densities rise",
            "levels that rise with density",
            "levels that fall as density rises",
            "Exchange the ends of the reference wedge (corners 1 with 2 and 4 with 3), or say `inverted` if the scan was turned into a positive.",
        )),
        Some(s) => Err(Error::new(
            Kind::Inconsistent,
            format!(
                "reference: steps {} and {} are in the wrong order in the picture",
                s[0].number, s[1].number
            ),
            format!(
                "levels of {:.4} and {:.4} of full white, the denser step lighter",
                10f64.powf(s[0].z.0),
                10f64.powf(s[1].z.0)
            ),
            "levels that fall as density rises",
            "Check the wedge's corners and the order and number of its densities.",
        )),
    }
}

fn secants(z: &[f64], a: &[f64]) -> Vec<f64> {
    (1..z.len())
        .map(|i| (a[i] - a[i - 1]) / (z[i] - z[i - 1]))
        .collect()
}

/// Slopes that keep a cubic monotone: weighted harmonic means of the neighbouring secants, and at the ends a
/// parabola's slope that is never steeper than three secants.
///
/// # Source
/// [I1].
fn slopes(z: &[f64], secant: &[f64]) -> Vec<f64> {
    let n = z.len();
    let h = |i: usize| z[i + 1] - z[i];
    let end = |h0: f64, h1: f64, s0: f64, s1: f64| {
        let slope = ((2.0 * h0 + h1) * s0 - h0 * s1) / (h0 + h1);
        if slope * s0 <= 0.0 {
            0.0
        } else if s0 * s1 <= 0.0 && 3.0 * s0.abs() < slope.abs() {
            3.0 * s0
        } else {
            slope
        }
    };
    let mut slopes = vec![0.0; n];
    slopes[0] = end(h(0), h(1), secant[0], secant[1]);
    slopes[n - 1] = end(h(n - 2), h(n - 3), secant[n - 2], secant[n - 3]);
    for i in 1..n - 1 {
        let (left, right) = (secant[i - 1], secant[i]);
        if 0.0 < left * right {
            let (p, q) = (2.0 * h(i) + h(i - 1), h(i) + 2.0 * h(i - 1));
            slopes[i] = (p + q) / (p / left + q / right);
        }
    }
    slopes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(z: &[f64], a: &[f64]) -> Curve {
        let step = |(i, (z, a)): (usize, (&f64, &f64))| Step {
            number: i + 1,
            z: (*z, 1e-6),
            a: (*a, 0.0),
        };
        Curve::through(z.iter().zip(a).enumerate().map(step).collect(), z.len()).unwrap()
    }

    /// scipy.interpolate.PchipInterpolator, scipy 1.17.1, on the same knots.
    #[test]
    fn agrees_with_scipy_between_the_knots() {
        let c = curve(&[0.0, -0.1, -0.5, -0.7, -1.6], &[0.05, 0.2, 0.9, 1.4, 3.0]);
        for (z, expected) in PCHIP {
            assert!(
                (c.at(z) - expected).abs() < 1e-12,
                "{z}: {} {expected}",
                c.at(z)
            );
        }
    }

    const PCHIP: [(f64, f64); 10] = [
        (-1.55, 2.9384548209482073),
        (-1.3, 2.5706094963237818),
        (-0.9, 1.8216336201521386),
        (-0.72, 1.443027158254248),
        (-0.6, 1.1486224489795918),
        (-0.5, 0.9),
        (-0.3, 0.5245454545454546),
        (-0.15, 0.27949573863636373),
        (-0.04, 0.10840727272727273),
        (-0.01, 0.0645131818181818),
    ];
}
