//! Nearer times within the runs, at the same cost: rolls change places or runs as long as that helps.
//!
//! No run is added, no more solution or reels are used. It is improvement step by step, in a fixed order, without proof.

use super::model::{Fit, Model};
use super::search::Loaded;

/// Most rounds through all pairs of runs.
const ROUNDS: usize = 30;
/// A gain smaller than this is none.
const GAIN: f64 = 1e-9;

pub(super) fn polish(model: &Model, runs: &mut [Loaded]) {
    for _ in 0..ROUNDS {
        let mut better = false;
        for a in 0..runs.len() {
            for b in 0..runs.len() {
                let group = |r: &Loaded| model.items[r.rolls[0]].group;
                if a != b && group(&runs[a]) == group(&runs[b]) {
                    better |= change(model, runs, a, b);
                }
            }
        }
        if !better {
            return;
        }
    }
}

/// The first change between two runs that helps: a roll of `a` for one of `b`, or one of `a` moved over.
fn change(model: &Model, runs: &mut [Loaded], a: usize, b: usize) -> bool {
    let now = spread(model, &runs[a].rolls) + spread(model, &runs[b].rolls);
    for i in 0..runs[a].rolls.len() {
        for j in 0..=runs[b].rolls.len() {
            let (mut one, mut other) = (runs[a].rolls.clone(), runs[b].rolls.clone());
            let moved = one.remove(i);
            if j < other.len() {
                one.push(other.remove(j));
            }
            other.push(moved);
            if one.is_empty() {
                continue;
            }
            if now - GAIN <= spread(model, &one) + spread(model, &other) {
                continue;
            }
            let (Some(x), Some(y)) = (
                refit(model, &runs[a], &mut one),
                refit(model, &runs[b], &mut other),
            ) else {
                continue;
            };
            if x.ml + y.ml == runs[a].fit.ml + runs[b].fit.ml {
                runs[a] = Loaded { rolls: one, fit: x };
                runs[b] = Loaded {
                    rolls: other,
                    fit: y,
                };
                return true;
            }
        }
    }
    false
}

/// How other rolls load in the run's place, on no more of its reels where these are counted.
fn refit(model: &Model, run: &Loaded, rolls: &mut [usize]) -> Option<Fit> {
    model.by_length(rolls);
    if model.reused {
        model.fit(rolls)
    } else {
        model.fit_on(run.fit.kind, run.fit.reels, rolls)
    }
}

/// The worst deviation at the best time; beyond all measure when no time does for all.
fn spread(model: &Model, rolls: &[usize]) -> f64 {
    let (lo, hi) = model.window(rolls);
    if rolls.is_empty() {
        return 0.0;
    }
    if hi < lo {
        return f64::INFINITY;
    }
    let time = model.time(rolls);
    let off = rolls
        .iter()
        .map(|&i| (time / model.items[i].time - 1.0).abs());
    off.fold(0.0, f64::max)
}
