//! Solving one part: unmet frames first, then cost, each by bound and search; large parts by neighbourhoods.

use super::Effort;
use super::bound::Bounder;
use super::counts::Fuel;
use super::greedy::greedy;
use super::model::{Model, Roll, Score};
use super::neighbours;
use super::search::Search;
use super::sub::{Phase, Sub};

/// A plan for a part, and what no plan can go below.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    pub(super) rolls: Vec<Roll>,
    pub(super) score: Score,
    /// Lower bound in the same order: unmet first; the cost counts only where the unmet frames are equal.
    pub(super) floor: Score,
}

impl Solved {
    /// Whether nothing better can exist.
    pub(super) fn proven(&self, tie: f64) -> bool {
        !self.floor.beats(self.score, tie)
    }
}

/// Solve a part from scratch.
pub(super) fn solve(model: &Model, sub: &Sub, effort: &Effort) -> Solved {
    let first = greedy(model, sub);
    let first = neighbours::improve(model, sub, first, effort);
    refine(model, sub, first, effort)
}

/// Improve a plan of a part and bound it, by search in the gap.
pub(super) fn refine(model: &Model, sub: &Sub, rolls: Vec<Roll>, effort: &Effort) -> Solved {
    let score = sub.score(model, &rolls);
    let mut it = Solved {
        rolls,
        score,
        floor: Score {
            unmet: 0,
            cost: 0.0,
        },
    };
    if 0 < it.score.unmet {
        phase(model, sub, &mut it, Phase::Unmet, effort);
    }
    let proven = it.floor.unmet == it.score.unmet;
    let target = it.score.unmet;
    let floor = phase(model, sub, &mut it, Phase::Cost { target }, effort);
    if proven {
        it.floor.cost = floor;
    }
    it
}

/// One phase: bound, then search in widening distances. Returns the lower bound of the phase's goal.
fn phase(model: &Model, sub: &Sub, it: &mut Solved, phase: Phase, effort: &Effort) -> f64 {
    let mut bounder = Bounder::new(model, sub, phase);
    let bound = bounder.bound(&it.rolls, effort.pivots);
    let grain = sub
        .wants
        .iter()
        .map(|w| model.wants[w.want].weight)
        .min()
        .unwrap_or(1);
    let unit = bounder.unit;
    let mut floor = bound.value;
    let noise = 1e-11 * (1.0 + floor.abs());
    // The goal a plan must reach to be an improvement.
    let goal = match phase {
        Phase::Unmet => (it.score.unmet - grain) as f64 / unit,
        Phase::Cost { .. } => it.score.cost - 0.5 * model.roll_tie,
    };
    let gap = goal - floor;
    let mut proven = gap < -noise;
    if !proven {
        let mut search = Search::new(&bounder, &bound);
        let mut fuel = Fuel(effort.nodes);
        let mut within = (gap / 1024.0).max(1e-9 * (1.0 + floor.abs()));
        loop {
            within = within.min(gap.max(0.0));
            match search.round(within + noise, &mut fuel) {
                Ok(Some(rolls)) => {
                    it.score = sub.score(model, &rolls);
                    it.rolls = rolls;
                    proven = true;
                    break;
                }
                Ok(None) => {
                    floor = bound.value + within;
                    if gap <= within {
                        proven = true;
                        break;
                    }
                    within *= 4.0;
                }
                Err(_) => break,
            }
        }
    }
    if phase == Phase::Unmet {
        let grains = floor * unit / grain as f64;
        let least = ((grains - 1e-7 - 1e-11 * grains).ceil().max(0.0) as u64).saturating_mul(grain);
        it.floor.unmet = if proven {
            it.score.unmet
        } else {
            least.min(it.score.unmet)
        };
    }
    if proven {
        it.score.cost
    } else {
        floor.min(it.score.cost)
    }
}
