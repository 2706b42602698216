//! The strips together: contrast against developing time, and any number of theirs along it.
//!
//! Three laws: contrast straight against ln t, growth G∞(1 − e^(−kt)), and growth that sets in late [S23]. The rounds of the
//! bootstrap go through the same law, one by one, so that every interval here follows from them.

use super::bootstrap::{Rounds, interval, quantile};
use super::law::{Law, delayed, growth, induction, log_time, misfit};
use super::measures::{Numbers, TRIANGLE};
use super::result::{Analysis, CurvePoint, Interval, TimeContrast, TimeLaw};
use super::speed::Scale;
use super::{Material, Measure};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Farthest time that is answered: this many times the longest developing time, or the shortest divided by it.
pub const FARTHEST: f64 = 1.5;
/// By how much intervals between strips are widened for what a law through few strips assumes: calibrated on simulated
/// families, whose truth the plain intervals held only 91 % of the time.
pub(super) const BETWEEN: f64 = 1.15;
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

/// A weighted fit of a law to times and contrasts.
type Fit = fn(&[f64], &[f64], &[f64]) -> Law;

/// Contrast of every usable strip, its weight and the law through them.
pub(super) struct Joined {
    times: Vec<f64>,
    contrasts: Vec<f64>,
    weights: Vec<f64>,
    /// Indices into the draws.
    pub(super) used: Vec<usize>,
    kind: TimeLaw,
    pub(super) law: Law,
    /// The laws that the strips do not contradict, the chosen one first: rounds take turns through them.
    fits: Vec<Fit>,
    reason: String,
    /// By how much the strips scatter more than their intervals say; [`BETWEEN`] or more.
    pub(super) excess: f64,
    measure: Measure,
}

impl Joined {
    /// The shortest and the longest developing time.
    pub(super) fn ends(&self) -> (f64, f64) {
        (self.times[0], self.times[self.times.len() - 1])
    }
}

/// Times for a contrast. Beyond twice the farthest answer a round only says "longer" or "shorter": it is held there.
pub(super) struct Times {
    /// By the best law; NaN where contrast does not rise, infinite where it is never reached.
    pub(super) best: f64,
    /// By each round's law; NaN where a strip lacks its contrast.
    pub(super) rounds: Vec<f64>,
    least: f64,
    most: f64,
}

impl Times {
    /// A round's time, to take other numbers at.
    pub(super) fn of(&self, round: usize) -> f64 {
        let t = self.rounds[round];
        if t.is_nan() { self.best } else { t }
    }

    /// What a round says: from when to when the contrast may be reached.
    pub(super) fn span(&self, round: usize) -> (f64, f64) {
        let t = self.rounds[round];
        let from = if t <= self.least { 0.0 } else { t };
        let to = if t >= self.most { f64::INFINITY } else { t };
        (from, to)
    }

    /// Whether an interval of these times is open at an end.
    pub(super) fn open(&self, of: Interval) -> bool {
        of.lower95 <= self.least || self.most <= of.upper95
    }
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
        let fits: &[(TimeLaw, Fit)] = match used.len() {
            2 => &[
                (TimeLaw::LogTime, log_time),
                (TimeLaw::Growth, growth),
                (TimeLaw::Induction, delayed),
            ],
            3 => &[
                (TimeLaw::Growth, growth),
                (TimeLaw::LogTime, log_time),
                (TimeLaw::Induction, induction),
            ],
            _ => &[
                (TimeLaw::Induction, induction),
                (TimeLaw::Growth, growth),
                (TimeLaw::LogTime, log_time),
            ],
        };
        let tried = fits.iter().map(|&(kind, fit)| {
            let law = fit(&times, &contrasts, &weights);
            (kind, fit, law, misfit(law, &times, &contrasts, &weights))
        });
        // Growth that sets in before the beginning is none.
        let tried = tried.filter(|(kind, _, law, _)| *kind != TimeLaw::Induction || law.rises());
        let mut kept: Vec<_> = tried.collect();
        let least = kept.iter().map(|t| t.3).fold(f64::INFINITY, f64::min);
        // In the order of preference, those that miss the strips hardly more than the nearest does.
        kept.retain(|t| t.3 <= least + WORTH);
        // Four strips settle the widest law by themselves.
        if used.len() > 3 {
            kept.truncate(1);
        }
        let (kind, _, law, missed) = kept[0];
        let fits = kept.iter().map(|t| t.1).collect();
        let reason = reason(kind, used.len());
        let excess = if used.len() > 2 {
            let free = used.len() - if kind == TimeLaw::Induction { 3 } else { 2 };
            excess(missed, free)
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
            fits,
            reason,
            excess,
            measure,
        })
    }

    fn count(&self) -> usize {
        self.rounds.first().map_or(0, |r| r.numbers.len())
    }

    /// Says where contrast falls from one time to the next by more than noise.
    pub(super) fn falls(&self, measure: Measure) -> Vec<Caveat> {
        let Ok(joined) = self.join(measure) else {
            return Vec::new();
        };
        let pairs = joined.used.windows(2).zip(joined.contrasts.windows(2));
        let fallen = pairs.filter(|(pair, contrasts)| {
            let mut change: Vec<f64> = (0..self.count())
                .map(|r| {
                    let of = |i: usize| self.rounds[i].numbers[r].contrast(measure);
                    of(pair[1]) - of(pair[0])
                })
                .filter(|c| !c.is_nan())
                .collect();
            if change.is_empty() {
                return false;
            }
            let sd = 0.5 * (quantile(&mut change, 0.8413) - quantile(&mut change, 0.1587));
            contrasts[0] - contrasts[1] > 4.0 * sd
        });
        fallen
            .map(|(pair, _)| {
                Caveat::new(
                    "contrast_falls",
                    format!(
                        "The {} min strip has less contrast than the {} min one: were they mixed up?",
                        self.times[pair[1]], self.times[pair[0]]
                    ),
                )
            })
            .collect()
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
        // Few strips do not tell the laws apart: pairs of rounds take turns, so that the interval holds any of them.
        let through = |fit: &Fit| {
            let law = fit(&joined.times, &contrasts, &joined.weights);
            let mut pairs = joined.times.iter().zip(&contrasts);
            // A law that two strips do not lie on is none for them.
            let met = joined.used.len() > 2 || pairs.all(|(&t, c)| (law.at(t) - c).abs() < 1e-3);
            (law, law.rises() && met)
        };
        let (law, suits) = through(&joined.fits[round / 2 % joined.fits.len()]);
        Some(if suits {
            law
        } else {
            through(&joined.fits[0]).0
        })
    }

    /// Times for a contrast: of the best law, and of each round's.
    pub(super) fn times_for(&self, joined: &Joined, contrast: f64) -> Times {
        let best = joined.law.time(contrast);
        let (first, last) = joined.ends();
        let (least, most) = (first / (2.0 * FARTHEST), last * 2.0 * FARTHEST);
        let one = |law: Law| match (law.rises(), law.at(last) < contrast) {
            (true, _) => law.time(contrast),
            // Contrast that does not rise never comes to this one, or is past it from the start.
            (false, true) => f64::INFINITY,
            (false, false) => 0.0,
        };
        let rounds = (0..self.count())
            .map(|r| {
                let t = self.law(joined, r).map_or(f64::NAN, one);
                (best * (t / best).powf(joined.excess)).clamp(least, most)
            })
            .collect();
        Times {
            best,
            rounds,
            least,
            most,
        }
    }

    /// One number along the strips at a time: best value, then each round at its own time.
    ///
    /// NaN where a strip lacks the number and those that have it do not enclose the time.
    pub(super) fn along(
        &self,
        number: impl Fn(&Numbers) -> f64,
        best_time: f64,
        times: &dyn Fn(usize) -> f64,
    ) -> (f64, Vec<f64>) {
        let used: Vec<usize> = (0..self.times.len())
            .filter(|&i| !number(&self.best[i]).is_nan())
            .collect();
        let encloses = |first: usize, last: usize| {
            self.times[first] * 0.995 <= best_time && best_time <= self.times[last] * 1.005
        };
        if used.len() < self.times.len()
            && !matches!((used.first(), used.last()), (Some(&a), Some(&b)) if encloses(a, b))
        {
            return (f64::NAN, vec![f64::NAN; self.count()]);
        }
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
        let (first, last) = joined.ends();
        let (first, last) = (first / FARTHEST, last * FARTHEST);
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
}

/// Why a law was taken, one sentence.
fn reason(kind: TimeLaw, strips: usize) -> String {
    let shown = match (kind, strips) {
        (TimeLaw::LogTime, 2) => {
            return "Two strips settle a straight line against ln t, and no more; the interval allows for growth towards a limit.".to_owned();
        }
        (TimeLaw::LogTime, _) => {
            "that follows a straight line against ln t, clearly nearer than growth towards a limit does"
        }
        (TimeLaw::Growth, _) => "levelling off with time",
        (TimeLaw::Induction, _) => "that sets in late and levels off with time",
    };
    format!("The {strips} strips show contrast {shown}.")
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
