//! Rounds of refitting: each reading and each bend of the prior is shaken by its own noise, and every number taken again.
//!
//! Shaking the prior too makes a round a draw from what the data leave possible ("randomise, then optimise", Bardsley
//! and others 2014), so that intervals cover what smoothing hides. Rounds come in pairs with opposite signs, and are
//! the same with any number of threads.

use super::fit::{Anchor, Choice, Curve, Fitted, Scratch, Task, resolve, solve};
use super::measures::{Numbers, gamma, numbers};
use super::random::Stream;
use super::{Interval, Material};
use std::num::NonZero;

/// Points of a sampled curve.
pub(super) const BAND: usize = 61;
/// A round's solve stops when another step would gain less than this in χ²: a tenth of a standard deviation.
const GAIN: f64 = 1e-2;
/// Stream of the reading that all strips share.
const SHARED: u64 = u64::MAX;
/// Stream of the prior, shared too: how a stock's curves bend is the same from strip to strip, and so is what smoothing
/// hides of it.
const PRIOR: u64 = u64::MAX - 2;
/// Stream of the noise's own uncertainty.
const NOISE: u64 = u64::MAX - 1;

/// All rounds of one strip.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Rounds {
    /// The numbers of each round.
    pub(super) numbers: Vec<Numbers>,
    /// Densities of each round at [`BAND`] points over the readings.
    pub(super) band: Vec<[f64; BAND]>,
}

/// Where the band is sampled.
pub(super) fn abscissa(range: (f64, f64), k: usize) -> f64 {
    range.0 + (range.1 - range.0) * k as f64 / (BAND - 1) as f64
}

/// Runs the rounds. `order` ranks the strips by time, so that their order given does not matter.
pub(super) fn rounds(
    choice: &Choice,
    order: &[usize],
    count: usize,
    material: Material,
    shared_base: bool,
) -> Vec<Rounds> {
    let threads = std::thread::available_parallelism()
        .map_or(1, NonZero::get)
        .min(8);
    let part = count.div_ceil(threads);
    let mut parts: Vec<Vec<Rounds>> = std::thread::scope(|scope| {
        let handles: Vec<_> = (0..threads)
            .map(|t| {
                let span = (t * part).min(count)..((t + 1) * part).min(count);
                scope.spawn(move || {
                    let one = |(i, fitted)| {
                        strip_rounds(
                            fitted,
                            choice,
                            order[i],
                            span.clone(),
                            material,
                            shared_base,
                        )
                    };
                    choice.strips.iter().enumerate().map(one).collect()
                })
            })
            .collect();
        handles
            .into_iter()
            .map(|h| h.join().unwrap_or_else(|e| std::panic::resume_unwind(e)))
            .collect()
    });
    let mut all = parts.remove(0);
    for part in parts {
        for (whole, more) in all.iter_mut().zip(part) {
            whole.numbers.extend(more.numbers);
            whole.band.extend(more.band);
        }
    }
    all
}

fn strip_rounds(
    fitted: &Fitted,
    choice: &Choice,
    rank: usize,
    span: std::ops::Range<usize>,
    material: Material,
    shared_base: bool,
) -> Rounds {
    let shape = &fitted.shape;
    let readings = shape.readings();
    let mut scratch = Scratch::new(shape);
    let window = gamma(&Curve::new(shape, &fitted.theta)).1;
    let weight = 1.0 / (fitted.sd * fitted.sd);
    let plain = Task {
        y: &readings.y,
        base: readings.base,
        weight,
        matrix: fitted.penalty.matrix(),
        vector: fitted.penalty.vector(),
    };
    let anchor = Anchor::new(shape, &plain, &fitted.theta, &mut scratch);
    let mut y = readings.y.clone();
    let mut out = Rounds::default();
    for round in span {
        let pair = round as u64 / 2;
        let sign = if round % 2 == 0 { 1.0 } else { -1.0 };
        let noise = Stream::new(NOISE, pair)
            .mean_square(choice.freedom)
            .sqrt()
            .recip();
        let sd = sign * fitted.sd * noise;
        let mut stream = Stream::new(rank as u64, pair);
        for (shaken, read) in y.iter_mut().zip(&readings.y) {
            *shaken = read + sd * stream.normal();
        }
        let base = readings.base.map(|base| {
            let shake = if shared_base {
                Stream::new(SHARED, pair).normal()
            } else {
                stream.normal()
            };
            base + sd * shake
        });
        let mut prior = Stream::new(PRIOR, pair);
        let vector = fitted.penalty.shaken(|| sign * prior.normal());
        let task = Task {
            y: &y,
            base,
            weight,
            matrix: fitted.penalty.matrix(),
            vector: &vector,
        };
        let theta = match &anchor {
            Some(anchor) => resolve(shape, &task, anchor, GAIN, &mut scratch),
            None => solve(shape, &task, fitted.theta.as_slice(), GAIN, &mut scratch),
        };
        let curve = Curve::new(shape, &theta);
        out.numbers.push(numbers(&curve, material, Some(window)));
        out.band.push(std::array::from_fn(|k| {
            curve.at(abscissa(readings.range(), k))
        }));
    }
    out
}

/// Takes from gamma what taking the steepest of many windows adds by chance.
///
/// The excess of the rounds' steepest windows over the best curve's estimates it (bootstrap bias correction, Efron and
/// Tibshirani 1993, ch. 10); their scatter is that of the best curve's own window.
pub(super) fn settle_gamma(best: &mut Numbers, rounds: &mut Rounds) {
    let count = rounds.numbers.len() as f64;
    let excess = rounds.numbers.iter().map(|n| n.gamma).sum::<f64>() / count - best.gamma;
    if excess.is_nan() {
        return;
    }
    for n in std::iter::once(best).chain(&mut rounds.numbers) {
        n.gamma = n.gamma_there - excess;
    }
}

/// Least share of rounds that must reach a number before it is reported.
const LEAST_SHARE: f64 = 0.9;

/// The interval of a value from its rounds; none if the value or too many rounds are missing.
pub(super) fn interval(value: f64, rounds: impl Iterator<Item = f64>) -> Option<Interval> {
    let mut all = 0;
    let mut good: Vec<f64> = Vec::new();
    for r in rounds {
        all += 1;
        if !r.is_nan() {
            good.push(r);
        }
    }
    if !value.is_finite() || (good.len() as f64) < LEAST_SHARE * f64::from(all) || good.is_empty() {
        return None;
    }
    let (lower, upper) = (quantile(&mut good, 0.025), quantile(&mut good, 0.975));
    Some(Interval {
        value,
        lower95: lower.min(value),
        upper95: upper.max(value),
    })
}

/// A quantile by linear interpolation between order statistics (Hyndman and Fan's type 7).
pub(super) fn quantile(values: &mut [f64], share: f64) -> f64 {
    let place = share * (values.len() - 1) as f64;
    let k = place as usize;
    let (_, &mut low, above) = values.select_nth_unstable_by(k, f64::total_cmp);
    let next = above.iter().copied().fold(f64::INFINITY, f64::min);
    if low.is_finite() && place > k as f64 {
        low + (next - low) * (place - k as f64)
    } else {
        low
    }
}
