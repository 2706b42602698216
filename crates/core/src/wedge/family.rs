//! The strips together: contrast against developing time, the time for a wanted contrast, and the speed there.
//!
//! Three laws: contrast straight against ln t, growth G∞(1 − e^(−kt)), and growth that sets in late [S23]. The rounds of the
//! bootstrap go through the same law, one by one, so that every interval here follows from them.

use super::bootstrap::{Rounds, interval, quantile};
use super::measures::{Numbers, TRIANGLE};
use super::result::{Analysis, AtTarget, CurvePoint, TimeContrast, TimeLaw};
use super::speed::Scale;
use super::{Material, Measure, Target, check};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Farthest time that is answered: this many times the longest developing time, or the shortest divided by it.
pub const FARTHEST: f64 = 1.5;
/// By how much intervals between strips are widened for what a law through few strips assumes: calibrated on simulated
/// families, whose truth the plain intervals held only 91 % of the time.
const BETWEEN: f64 = 1.15;
/// Points of a time curve.
const POINTS: usize = 49;
/// Gain in χ² that makes a law other than plain growth worth having.
const WORTH: f64 = 4.0;
/// Law of contrast that strips contradict with a probability below this is said to be so.
const DOUBTED: f64 = 0.01;

/// What the rounds gave, kept so that another target costs nothing.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Draws {
    /// Developing times, ascending.
    pub(super) times: Vec<f64>,
    /// Numbers of the best curves, in that order.
    pub(super) best: Vec<Numbers>,
    /// Rounds, in that order.
    pub(super) rounds: Vec<Rounds>,
    pub(super) scale: Scale,
    pub(super) material: Material,
    /// Whether log H was negated.
    pub(super) sign: f64,
}

impl Numbers {
    /// Contrast in one measure; NaN if not reached.
    pub(super) fn contrast(&self, measure: Measure) -> f64 {
        match measure {
            Measure::IsoTriangle => self.delta_d / TRIANGLE,
            Measure::AverageGradient => self.average_gradient,
            Measure::ContrastIndex => self.contrast_index,
            Measure::Gamma => self.gamma,
        }
    }
}

/// One law with its numbers.
#[derive(Debug, Clone, Copy)]
enum Law {
    /// Contrast at t = 1 and gain per unit of ln t.
    LogTime(f64, f64),
    /// G∞ and k.
    Growth(f64, f64),
    /// G∞, what is missing of it at t = 0, and k.
    Induction(f64, f64, f64),
}

impl Law {
    fn at(self, t: f64) -> f64 {
        match self {
            Self::LogTime(a, m) => a + m * t.ln(),
            Self::Growth(g, k) => g * -(-k * t).exp_m1(),
            Self::Induction(g, lack, k) => g - lack * (-k * t).exp(),
        }
    }

    fn rises(self) -> bool {
        match self {
            Self::LogTime(_, gain) => gain > 0.0,
            Self::Growth(limit, _) => limit > 0.0,
            Self::Induction(_, lack, _) => lack > 0.0,
        }
    }

    /// Time for a contrast; infinite where it is never reached, NaN where contrast does not rise.
    fn time(self, contrast: f64) -> f64 {
        match self {
            Self::LogTime(_, m) if m <= 0.0 => f64::NAN,
            Self::LogTime(a, m) => ((contrast - a) / m).exp(),
            Self::Growth(g, _) if contrast >= g => f64::INFINITY,
            Self::Growth(g, k) => -(-contrast / g).ln_1p() / k,
            Self::Induction(_, lack, _) if lack <= 0.0 => f64::NAN,
            Self::Induction(g, ..) if contrast >= g => f64::INFINITY,
            Self::Induction(g, lack, k) => (lack / (g - contrast)).ln().max(0.0) / k,
        }
    }
}

/// Contrast of every usable strip, its weight and the law through them.
pub(super) struct Joined {
    times: Vec<f64>,
    contrasts: Vec<f64>,
    weights: Vec<f64>,
    /// Indices into the draws.
    used: Vec<usize>,
    kind: TimeLaw,
    law: Law,
    reason: String,
    /// By how much the strips scatter more than their intervals say; [`BETWEEN`] or more.
    excess: f64,
    measure: Measure,
}

impl Draws {
    /// Joins the strips by a law.
    pub(super) fn join(&self, measure: Measure) -> Result<Joined, Error> {
        let (mut times, mut contrasts, mut weights, mut used) = (vec![], vec![], vec![], vec![]);
        for (i, best) in self.best.iter().enumerate() {
            let c = best.contrast(measure);
            let mut draws: Vec<f64> = self.rounds[i]
                .numbers
                .iter()
                .map(|n| n.contrast(measure))
                .filter(|c| !c.is_nan())
                .collect();
            if c.is_nan() || draws.len() * 10 < self.rounds[i].numbers.len() * 9 {
                continue;
            }
            let width = quantile(&mut draws, 0.8413) - quantile(&mut draws, 0.1587);
            times.push(self.times[i]);
            contrasts.push(c);
            weights.push((0.5 * width).max(1e-5).powi(-2));
            used.push(i);
        }
        if used.len() < 2 {
            return Err(Error::new(
                Kind::Missing,
                "contrast against developing time",
                format!("{} strip that reaches far enough", used.len()),
                "two strips of different developing times at least",
                "Develop another strip for a different time, or choose a measure that needs less of the curve.",
            ));
        }
        let line = log_time(&times, &contrasts, &weights);
        let growth = growth(&times, &contrasts, &weights);
        let (kind, law, reason) = if used.len() == 2 {
            (
                TimeLaw::LogTime,
                line,
                "Two strips settle a straight line against ln t, and no more.".to_owned(),
            )
        } else {
            let miss = |law| misfit(law, &times, &contrasts, &weights);
            let (of_line, of_growth) = (miss(line), miss(growth));
            let late = induction(&times, &contrasts, &weights);
            if used.len() > 3 && late.rises() {
                (
                    TimeLaw::Induction,
                    late,
                    format!(
                        "The {} strips bear growth towards a limit that sets in late.",
                        used.len()
                    ),
                )
            } else if of_line + WORTH < of_growth {
                (TimeLaw::LogTime, line, "A straight line against ln t comes clearly nearer to the strips than growth towards a limit.".to_owned())
            } else {
                (
                    TimeLaw::Growth,
                    growth,
                    format!("The {} strips bear growth towards a limit.", used.len()),
                )
            }
        };
        let excess = if used.len() > 2 {
            let free = used.len() - if kind == TimeLaw::Induction { 3 } else { 2 };
            excess(misfit(law, &times, &contrasts, &weights), free)
        } else {
            1.0
        }
        .max(BETWEEN);
        Ok(Joined {
            times,
            contrasts,
            weights,
            used,
            kind,
            law,
            reason,
            excess,
            measure,
        })
    }

    fn count(&self) -> usize {
        self.rounds.first().map_or(0, |r| r.numbers.len())
    }

    /// The law of one round.
    fn law(&self, joined: &Joined, round: usize) -> Option<Law> {
        let mut contrasts = Vec::with_capacity(joined.used.len());
        for &i in &joined.used {
            let c = self.rounds[i].numbers[round].contrast(joined.measure);
            if c.is_nan() {
                return None;
            }
            contrasts.push(c);
        }
        Some(match joined.kind {
            TimeLaw::LogTime => log_time(&joined.times, &contrasts, &joined.weights),
            TimeLaw::Growth => growth(&joined.times, &contrasts, &joined.weights),
            TimeLaw::Induction => induction(&joined.times, &contrasts, &joined.weights),
        })
    }

    /// Times of the rounds for a contrast, NaN where a round has none.
    pub(super) fn times_for(&self, joined: &Joined, contrast: f64) -> (f64, Vec<f64>) {
        let best = joined.law.time(contrast);
        let rounds = (0..self.count())
            .map(|r| {
                let t = self
                    .law(joined, r)
                    .map_or(f64::NAN, |law| law.time(contrast));
                best * (t / best).powf(joined.excess)
            })
            .collect();
        (best, rounds)
    }

    /// One number along the strips at a time: best value, then each round at its own time.
    pub(super) fn along(
        &self,
        number: impl Fn(&Numbers) -> f64,
        best_time: f64,
        times: &dyn Fn(usize) -> f64,
    ) -> (f64, Vec<f64>) {
        let used: Vec<usize> = (0..self.times.len())
            .filter(|&i| !number(&self.best[i]).is_nan())
            .collect();
        let at: Vec<f64> = used.iter().map(|&i| self.times[i].ln()).collect();
        let value = |numbers: &dyn Fn(usize) -> f64, t: f64| {
            let y: Vec<f64> = used.iter().map(|&i| numbers(i)).collect();
            smooth(&at, &y, t.ln())
        };
        let best = value(&|i| number(&self.best[i]), best_time);
        let rounds = (0..self.count())
            .map(|r| {
                let here = value(&|i| number(&self.rounds[i].numbers[r]), times(r));
                best + (here - best) * if used.len() > 1 { BETWEEN } else { 1.0 }
            })
            .collect();
        (best, rounds)
    }

    /// Contrast by the law at a time: best value and rounds.
    pub(super) fn contrast_at(&self, joined: &Joined, t: f64) -> (f64, Vec<f64>) {
        let best = joined.law.at(t);
        let rounds = (0..self.count())
            .map(|r| {
                let c = self.law(joined, r).map_or(f64::NAN, |law| law.at(t));
                best + (c - best) * joined.excess
            })
            .collect();
        (best, rounds)
    }
}

impl Analysis {
    /// Contrast against time in another measure.
    ///
    /// # Units
    /// Minutes, and the measure's own.
    /// # Errors
    /// One strip only, or strips whose steps do not reach far enough.
    /// # Source
    /// Growth towards a limit and straightness against ln t: from memory [S23].
    pub fn time_contrast_in(&self, measure: Measure) -> Result<TimeContrast, Error> {
        let draws = &self.draws;
        let joined = draws.join(measure)?;
        let laws: Vec<Law> = (0..draws.count())
            .filter_map(|r| draws.law(&joined, r))
            .collect();
        let (first, last) = (
            joined.times[0] / FARTHEST,
            joined.times[joined.times.len() - 1] * FARTHEST,
        );
        let curve = (0..POINTS)
            .filter_map(|k| {
                let x = first * (last / first).powf(k as f64 / (POINTS - 1) as f64);
                let best = joined.law.at(x);
                let rounds = laws.iter().map(|l| best + (l.at(x) - best) * joined.excess);
                Some(CurvePoint {
                    x,
                    y: interval(best, rounds)?,
                })
            })
            .collect();
        let points = joined
            .used
            .iter()
            .zip(&joined.contrasts)
            .filter_map(|(&i, &c)| {
                let rounds = draws.rounds[i].numbers.iter().map(|n| n.contrast(measure));
                Some(CurvePoint {
                    x: draws.times[i],
                    y: interval(c, rounds)?,
                })
            })
            .collect();
        Ok(TimeContrast {
            measure,
            law: joined.kind,
            reason: joined.reason,
            points,
            curve,
        })
    }

    /// Developing for another target, from the same bootstrap rounds: quick enough to follow a slider.
    ///
    /// # Units
    /// Minutes, log10 exposure, arithmetic speed, stops.
    /// # Domain
    /// Target within [`crate::bounds::CONTRAST`]; an answer at most [`FARTHEST`] times outside the strips' times.
    /// # Errors
    /// One strip only, colour or reversal material, a target out of bounds or too far outside the strips.
    /// # Source
    /// Own derivation from the law of [`Analysis::time_contrast_in`].
    pub fn at(&self, target: Target) -> Result<AtTarget, Error> {
        let draws = &self.draws;
        check::target(target, draws.material)?;
        let joined = draws.join(target.measure)?;
        let (t, rounds) = draws.times_for(&joined, target.value);
        let (first, last) = (joined.times[0], joined.times[joined.times.len() - 1]);
        let beyond = (t / last).max(first / t);
        if t.is_nan() || beyond > FARTHEST {
            return Err(self.out_of_reach(&joined, target, t));
        }
        let mut caveats = Vec::new();
        let extrapolated = (beyond > 1.0 + 1e-9).then_some(beyond);
        if let Some(factor) = extrapolated {
            caveats.push(Caveat::new(
                "extrapolated",
                format!("The time lies outside the strips, {factor:.2} times the nearest one's: develop a strip there before relying on it."),
            ));
        }
        // Beyond twice the farthest answer a round only says "longer": the interval is open there.
        let (least, most) = (first / (2.0 * FARTHEST), last * 2.0 * FARTHEST);
        let held: Vec<f64> = rounds.iter().map(|t| t.clamp(least, most)).collect();
        let time_min = interval(t, held.iter().copied())
            .ok_or_else(|| self.out_of_reach(&joined, target, t))?;
        if time_min.upper95 >= most || time_min.lower95 <= least {
            caveats.push(Caveat::new(
                "time_open",
                "The strips hardly settle this time: its interval ends only where the bench stops looking.",
            ));
        }
        if joined.used.len() == 2 {
            caveats.push(Caveat::new(
                "two_strips",
                "Two strips only: how contrast grows between them is assumed, not measured.",
            ));
        }
        if joined.excess > BETWEEN {
            caveats.push(Caveat::new(
                "strips_disagree",
                "The strips scatter more about the curve of contrast against time than their densities explain; the interval is widened to match.",
            ));
        }
        let at_round = |r: usize| if held[r].is_nan() { t } else { held[r] };
        let (log_h, log_rounds) = draws.along(|n| n.speed_point, t, &at_round);
        let rating = draws.scale.rate(interval(log_h, log_rounds.into_iter()));
        let (base, base_rounds) = draws.along(|n| n.base_fog, t, &at_round);
        let base_fog = interval(base, base_rounds.into_iter())
            .ok_or_else(|| self.out_of_reach(&joined, target, t))?;
        Ok(AtTarget {
            target,
            time_min,
            log_h_speed_point: rating.log_h,
            speed: rating.speed,
            speed_rounded: rating.speed_rounded,
            ei_stops: rating.ei_stops,
            ei: rating.ei,
            ei_rounded: rating.ei_rounded,
            base_fog,
            extrapolated,
            caveats,
        })
    }

    fn out_of_reach(&self, joined: &Joined, target: Target, t: f64) -> Error {
        let (first, last) = (joined.times[0], joined.times[joined.times.len() - 1]);
        let given = if t.is_nan() {
            format!(
                "{:.2}, with strips whose contrast does not rise with time",
                target.value
            )
        } else if t.is_infinite() {
            format!(
                "{:.2}, more than these strips will ever reach",
                target.value
            )
        } else {
            format!("{:.2}, which would take about {t:.1} min", target.value)
        };
        Error::new(
            Kind::Impossible,
            "the wanted contrast lies too far outside the strips",
            given,
            format!(
                "{:.2} to {:.2}, reached within {:.1} to {:.1} min",
                joined.law.at(first / FARTHEST),
                joined.law.at(last * FARTHEST),
                first / FARTHEST,
                last * FARTHEST
            ),
            "Develop another strip nearer to that contrast, or choose another target.",
        )
    }
}

/// How much wider than expected, where the misfit is hardly chance; else 1.
fn excess(misfit: f64, freedom: usize) -> f64 {
    let freedom = freedom as f64;
    let limit = ChiSquared::new(freedom).map_or(f64::INFINITY, |c| c.inverse_cdf(1.0 - DOUBTED));
    if misfit > limit {
        (misfit / freedom).sqrt()
    } else {
        1.0
    }
}

fn misfit(law: Law, times: &[f64], contrasts: &[f64], weights: &[f64]) -> f64 {
    let each = times.iter().zip(contrasts).zip(weights);
    each.map(|((&t, c), w)| w * (c - law.at(t)).powi(2)).sum()
}

/// Weighted straight line against ln t.
fn log_time(times: &[f64], contrasts: &[f64], weights: &[f64]) -> Law {
    let (mut w1, mut wx, mut wy, mut wxx, mut wxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ((t, c), w) in times.iter().zip(contrasts).zip(weights) {
        let x = t.ln();
        w1 += w;
        wx += w * x;
        wy += w * c;
        wxx += w * x * x;
        wxy += w * x * c;
    }
    let m = (w1 * wxy - wx * wy) / (w1 * wxx - wx * wx);
    Law::LogTime((wy - m * wx) / w1, m)
}

/// Weighted growth towards a limit: G∞ follows from k, and k from a search in one dimension.
fn growth(times: &[f64], contrasts: &[f64], weights: &[f64]) -> Law {
    let level = |k: f64| {
        let (mut top, mut bottom) = (0.0, 0.0);
        for ((t, c), w) in times.iter().zip(contrasts).zip(weights) {
            let f = -(-k * t).exp_m1();
            top += w * c * f;
            bottom += w * f * f;
        }
        // The misfit, less what does not depend on k.
        (top / bottom, -top * top / bottom)
    };
    let k = best_rate(times, |k| level(k).1);
    Law::Growth(level(k).0, k)
}

/// Weighted growth that sets in late: limit and lack follow from k by weighted least squares.
fn induction(times: &[f64], contrasts: &[f64], weights: &[f64]) -> Law {
    let line = |k: f64| {
        let (mut w1, mut wx, mut wy, mut wxx, mut wxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for ((t, c), w) in times.iter().zip(contrasts).zip(weights) {
            let x = (-k * t).exp();
            w1 += w;
            wx += w * x;
            wy += w * c;
            wxx += w * x * x;
            wxy += w * x * c;
        }
        let lack = -(w1 * wxy - wx * wy) / (w1 * wxx - wx * wx);
        Law::Induction((wy + lack * wx) / w1, lack, k)
    };
    line(best_rate(times, |k| {
        misfit(line(k), times, contrasts, weights)
    }))
}

/// The rate that makes a misfit least, by golden section: growth curves of different rates cross the strips of one
/// family in order, so there is one minimum.
fn best_rate(times: &[f64], misfit: impl Fn(f64) -> f64) -> f64 {
    let (slow, fast) = (0.02 / times[times.len() - 1], 12.0 / times[0]);
    let (mut a, mut b) = (slow.ln(), fast.ln());
    let golden = 0.5 * (5f64.sqrt() - 1.0);
    let (mut x, mut y) = (b - golden * (b - a), a + golden * (b - a));
    let (mut at_x, mut at_y) = (misfit(x.exp()), misfit(y.exp()));
    while b - a > 1e-6 {
        if at_x < at_y {
            (b, y, at_y) = (y, x, at_x);
            x = b - golden * (b - a);
            at_x = misfit(x.exp());
        } else {
            (a, x, at_x) = (x, y, at_y);
            y = a + golden * (b - a);
            at_y = misfit(y.exp());
        }
    }
    f64::midpoint(a, b).exp()
}

/// A value along ascending ln t: a line for two strips, a least-squares parabola for more, straight beyond the ends.
fn smooth(at: &[f64], y: &[f64], x: f64) -> f64 {
    match at.len() {
        0 => return f64::NAN,
        1 => return y[0],
        _ => {}
    }
    let middle = at.iter().sum::<f64>() / at.len() as f64;
    let s = |p: i32| at.iter().map(|t| (t - middle).powi(p)).sum::<f64>();
    let ty = |p: i32| {
        at.iter()
            .zip(y)
            .map(|(t, y)| (t - middle).powi(p) * y)
            .sum::<f64>()
    };
    let (n, s2, s3, s4) = (at.len() as f64, s(2), s(3), s(4));
    let (y0, y1, y2) = (ty(0), ty(1), ty(2));
    let (a, b, c) = if at.len() == 2 {
        (y0 / n, y1 / s2, 0.0)
    } else {
        let det = n * (s2 * s4 - s3 * s3) - s2 * s2 * s2;
        let c = (n * (s2 * y2 - s3 * y1) - s2 * s2 * y0) / det;
        let b = (y1 - c * s3) / s2;
        ((y0 - c * s2) / n, b, c)
    };
    let held = x.clamp(at[0], at[at.len() - 1]);
    let (u, over) = (held - middle, x - held);
    a + b * u + c * u * u + over * (b + 2.0 * c * u)
}
