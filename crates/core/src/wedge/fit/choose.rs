//! Which smooth for a family of strips, judged by how well each foretells readings left out, over all strips together.
//!
//! The most general smooth is taken unless a simpler one foretells clearly better: a simpler one that is merely as good
//! would give intervals that are too narrow, because its assumption is not measured. Noise and stiffness are shared by
//! the family. Noise is estimated from the scatter, helped by what the user says of it; the stiffness of free bends by
//! the update of Wood and Fasiolo (2017), which climbs the marginal likelihood.

use super::Readings;
use super::newton::{Scratch, Task, curvature, solve};
use super::shape::{Penalty, Shape};
use crate::wedge::{Smooth, SmoothScore};
use nalgebra::DVector;

/// Readings that the user's own word on their noise counts for.
const WORD_COUNTS: f64 = 12.0;
/// Least noise of a reading; no densitometer at home is better, and zero noise has no scale.
pub(super) const LEAST_SD: f64 = 2e-4;

/// A best curve is found when another step would gain less than this in χ².
const SETTLED: f64 = 1e-7;
/// Stiffness before the strips have spoken: bends of about a tenth in the logarithm of the slope.
const USUAL_STIFFNESS: f64 = 100.0;
/// Bends that this word counts for.
const USUAL_BENDS: f64 = 2.0;

/// A simpler smooth must foretell with an error below this share of the more general one's.
pub(in crate::wedge) const CLEARLY: f64 = 0.8;

/// One strip with its best curve.
#[derive(Debug, Clone)]
pub(in crate::wedge) struct Fitted {
    pub(in crate::wedge) shape: Shape,
    pub(in crate::wedge) theta: DVector<f64>,
    pub(in crate::wedge) penalty: Penalty,
    /// Standard deviation of one reading.
    pub(in crate::wedge) sd: f64,
}

/// All strips under one smooth.
#[derive(Debug, Clone)]
pub(in crate::wedge) struct Choice {
    pub(in crate::wedge) smooth: Smooth,
    pub(in crate::wedge) strips: Vec<Fitted>,
    pub(in crate::wedge) scores: Vec<SmoothScore>,
    /// Noise as estimated over noise as said.
    pub(in crate::wedge) noise_ratio: f64,
    /// Degrees of freedom the noise was estimated with.
    pub(in crate::wedge) freedom: f64,
}

struct Trial {
    smooth: Smooth,
    strips: Vec<Fitted>,
    foretold: f64,
    ratio: f64,
    freedom: f64,
}

/// Fits every smooth the strips can bear and chooses.
pub(in crate::wedge) fn choose(strips: &[Readings], said: bool) -> Choice {
    let line = family(Smooth::ToeLine, strips, None, said);
    let shoulder = family(Smooth::ToeShoulder, strips, Some(&line), said);
    let bends = family(Smooth::FreeBends, strips, Some(&shoulder), said);
    let scores = [&line, &shoulder, &bends].map(|t| SmoothScore {
        smooth: t.smooth,
        prediction_error: t.foretold,
    });
    let mut best = bends;
    for trial in [shoulder, line] {
        if trial.foretold < CLEARLY * best.foretold {
            best = trial;
        }
    }
    Choice {
        smooth: best.smooth,
        strips: best.strips,
        scores: scores.to_vec(),
        noise_ratio: best.ratio,
        freedom: best.freedom,
    }
}

fn family(smooth: Smooth, strips: &[Readings], simpler: Option<&Trial>, said: bool) -> Trial {
    let shapes: Vec<Shape> = strips.iter().map(|s| Shape::new(smooth, s)).collect();
    let mut scratch: Vec<Scratch> = shapes.iter().map(Scratch::new).collect();
    let mut thetas: Vec<DVector<f64>> = shapes
        .iter()
        .enumerate()
        .map(|(i, shape)| {
            let from = simpler.map(|t| t.strips[i].theta.as_slice());
            DVector::from_vec(shape.start(from))
        })
        .collect();
    let word = if said { WORD_COUNTS } else { 1.0 };
    let (mut ratio, mut lambda) = (1.0_f64, USUAL_STIFFNESS);
    let mut freedom = word;
    let mut foretold = f64::INFINITY;
    let mut penalties: Vec<Penalty> = Vec::new();
    for _ in 0..30 {
        penalties = shapes.iter().map(|s| s.penalty(lambda)).collect();
        let (mut squares, mut missed, mut count, mut effective) = (0.0, 0.0, 0.0, 0.0);
        let (mut free_bends, mut bend) = (0.0_f64, 0.0_f64);
        for (i, shape) in shapes.iter().enumerate() {
            let sd = (shape.readings.sd * ratio).max(LEAST_SD);
            let task = Task::plain(shape, &penalties[i], 1.0 / (sd * sd));
            thetas[i] = solve(shape, &task, thetas[i].as_slice(), SETTLED, &mut scratch[i]);
            let Some(c) = curvature(shape, &task, &penalties[i], &thetas[i], &mut scratch[i])
            else {
                continue;
            };
            squares += c.squares / shape.readings.sd.powi(2);
            missed += c.foretold;
            count += shape.readings.count() as f64;
            effective += c.effective;
            free_bends += penalties[i].stiff_rank as f64 - c.stiff;
            bend += thetas[i].dot(&(&penalties[i].stiff * &thetas[i]));
        }
        foretold = (missed / count).sqrt();
        freedom = word + (count - effective).max(0.0);
        let new_ratio = ((word + squares) / freedom).sqrt();
        let change = if smooth == Smooth::FreeBends {
            let expected = USUAL_BENDS * lambda / USUAL_STIFFNESS;
            ((free_bends.max(0.0) + USUAL_BENDS) / (bend + expected)).clamp(0.1, 10.0)
        } else {
            1.0
        };
        let settled = (new_ratio / ratio).ln().abs() < 0.01 && change.ln().abs() < 0.03;
        ratio = new_ratio;
        lambda = (lambda * change).clamp(1e-2, 1e5);
        if settled {
            break;
        }
    }
    let strips = shapes
        .into_iter()
        .zip(thetas)
        .zip(penalties)
        .map(|((shape, theta), penalty)| Fitted {
            sd: (shape.readings.sd * ratio).max(LEAST_SD),
            shape,
            theta,
            penalty,
        })
        .collect();
    Trial {
        smooth,
        strips,
        foretold,
        ratio,
        freedom,
    }
}
