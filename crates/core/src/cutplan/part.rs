//! Solving one part: unmet frames first, then cost; each by a bound, a search in the gap, and branching.

use super::bound::{Bound, Bounder};
use super::counts::Fuel;
use super::dive::{First, dive};
use super::greedy::greedy;
use super::model::{Model, Roll, Score};
use super::search::Search;
use super::shared::Tables;
use super::sub::{Phase, Sub};
use super::tree::{Leaves, Tree};

/// Share of the cost that a proof may leave open.
const PROVEN: f64 = 1e-7;

/// Share of the work that branching gets before the tables are looked at.
const LITTLE: u64 = 600;

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
    pub(super) fn proven(&self) -> bool {
        self.floor.unmet == self.score.unmet
            && self.score.cost - self.floor.cost <= PROVEN * self.score.cost
    }
}

/// Solve a part from scratch.
pub(super) fn solve(model: &Model, sub: &Sub, fuel: &mut Fuel) -> Solved {
    let first = greedy(model, sub);
    let several = 1 < sub.stocks.len();
    let Some(tables) = Tables::new(model, sub, 0).filter(|_| several) else {
        return refine(model, sub, first, u64::MAX, fuel);
    };
    // Several stocks: what is easy is soon proven; then tables; then branching.
    let little = fuel.0 / LITTLE;
    let mut it = fuel.portion(fuel.0 / 2, |fuel| refine(model, sub, first, little, fuel));
    if it.proven() {
        return it;
    }
    fuel.portion(fuel.0 / 8, |fuel| tables.solve(&mut it, fuel));
    if it.proven() {
        return it;
    }
    let floor = it.floor;
    let mut it = refine(model, sub, it.rolls, u64::MAX, fuel);
    if it.floor.less(floor) {
        it.floor = floor;
    }
    it
}

/// What is being minimised, and when a plan counts as better.
#[derive(Debug, Clone, Copy)]
pub(super) struct Aim {
    pub(super) phase: Phase,
    /// Unit of unmet frames in the goal, and the least step of them.
    unit: f64,
    grain: u64,
    /// More than any plan costs.
    dearest: f64,
    /// Least step of cost that counts.
    tie: f64,
    /// Work for branching if searching the gap is not enough.
    branch: u64,
}

impl Aim {
    /// The goal that a plan must reach to be better than `score`.
    pub(super) fn must_reach(&self, score: Score) -> f64 {
        match self.phase {
            // Half a grain may be cost.
            Phase::Unmet { .. } => {
                (score.unmet.saturating_sub(self.grain) as f64 + 0.5 * self.grain as f64)
                    / self.unit
            }
            Phase::Cost { target } if target < score.unmet => 1.001 * self.dearest + self.tie,
            Phase::Cost { .. } => score.cost - 0.5 * self.tie,
        }
    }

    /// What nodes of a tree are ordered by: while unmet frames are the goal, nothing finer than they.
    pub(super) fn rank(&self, bound: f64) -> f64 {
        match self.phase {
            Phase::Unmet { .. } => self.unmet_floor(bound) as f64,
            Phase::Cost { .. } => bound,
        }
    }

    /// The least weighted unmet frames when the goal of [`Phase::Unmet`] is at least `floor`.
    fn unmet_floor(&self, floor: f64) -> u64 {
        let grains = floor * self.unit / self.grain as f64 - 0.5;
        ((grains - 1e-7 - 1e-11 * grains.abs()).ceil().max(0.0) as u64).saturating_mul(self.grain)
    }
}

/// Improve a plan of a part and bound it, each time with up to `branch` of work for branching.
pub(super) fn refine(
    model: &Model,
    sub: &Sub,
    rolls: Vec<Roll>,
    branch: u64,
    fuel: &mut Fuel,
) -> Solved {
    let score = sub.score(model, &rolls);
    let mut it = Solved {
        rolls,
        score,
        floor: Score {
            unmet: 0,
            cost: 0.0,
        },
    };
    let mut leaves = Leaves::default();
    let (unit, grain) = (sub.weight_unit(model), sub.grain(model));
    let dearest = sub.cost_at_most(model).max(f64::MIN_POSITIVE);
    let aim = |phase| Aim {
        phase,
        unit,
        grain,
        dearest,
        tie: model.roll_tie,
        branch,
    };
    let unmet = aim(Phase::Unmet {
        // Less than the half grain that is left for it, so that rounding proves nothing false.
        money: 0.4 * grain as f64 / unit / dearest,
    });
    for share in [12, 2] {
        if it.floor.unmet == it.score.unmet {
            break;
        }
        let floor = fuel.portion(fuel.0 / share, |fuel| {
            descend(model, sub, &mut it, unmet, &mut leaves, fuel)
        });
        let least = if floor.is_finite() {
            unmet.unmet_floor(floor)
        } else {
            it.score.unmet
        };
        it.floor.unmet = it.floor.unmet.max(least).min(it.score.unmet);
        if it.floor.unmet < it.score.unmet && share != 2 {
            // Perhaps the bound can be reached: cost leads the search there better than the unmet frames do.
            let target = it.floor.unmet;
            let aim = aim(Phase::Cost { target });
            let floor = fuel.portion(fuel.0 / 6, |fuel| {
                descend(model, sub, &mut it, aim, &mut leaves, fuel)
            });
            if it.score.unmet <= target {
                it.floor.cost = floor.min(it.score.cost);
                return it;
            }
            if floor == f64::INFINITY {
                it.floor.unmet = target + grain;
            }
        }
    }
    let proven = it.floor.unmet == it.score.unmet;
    if proven || 0 < branch {
        let aim = aim(Phase::Cost {
            target: it.score.unmet,
        });
        let floor = descend(model, sub, &mut it, aim, &mut leaves, fuel);
        if proven {
            it.floor.cost = floor.min(it.score.cost);
        }
    }
    it
}

/// One phase: bound, round, search in the gap, branch. Returns a lower bound of the phase's goal, infinite if it
/// is proven that no plan does better.
fn descend(
    model: &Model,
    sub: &Sub,
    it: &mut Solved,
    aim: Aim,
    leaves: &mut Leaves,
    fuel: &mut Fuel,
) -> f64 {
    let mut pool = Vec::new();
    let mut bounder = Bounder::new(model, sub, aim.phase);
    let (bound, relaxed) = bounder.bound(&mut pool, fuel);
    for first in [First::Nearest, First::Cans, First::Wants] {
        if aim.must_reach(it.score) < bound.value {
            return f64::INFINITY;
        }
        let rolls = dive(&mut bounder, relaxed.clone(), &mut pool, fuel, first);
        let score = sub.score(model, &rolls);
        if score.beats(it.score, model.roll_tie) {
            it.score = score;
            it.rolls = rolls;
        }
    }
    let reach = aim.must_reach(it.score);
    let (rolls, floor) = fuel.portion(fuel.0 / 60, |fuel| {
        search_gap(&bounder, &bound, reach, fuel)
    });
    if let Some(rolls) = rolls {
        it.score = sub.score(model, &rolls);
        it.rolls = rolls;
        return f64::INFINITY;
    }
    if floor == f64::INFINITY || aim.branch == 0 {
        return floor;
    }
    let moves = 4 * sub.wants.len() as u64;
    let mut tree = Tree {
        model,
        sub,
        aim,
        leaves,
        pool,
        moves,
        work: fuel.0.min(aim.branch),
    };
    floor.max(fuel.portion(aim.branch, |fuel| tree.explore(it, floor, fuel)))
}

/// Search the gap between a bound and the goal to reach, in widening distances: the best plan in it, if one was
/// found, and a lower bound for all others, infinite if there are none.
pub(super) fn search_gap(
    bounder: &Bounder<'_>,
    bound: &Bound,
    goal: f64,
    fuel: &mut Fuel,
) -> (Option<Vec<Roll>>, f64) {
    let tie = bounder.phase.money() * bounder.model.roll_tie;
    let noise = 1e-11 * bound.value.abs() + 1e-3 * tie;
    let gap = goal - bound.value;
    if gap < -noise {
        return (None, f64::INFINITY);
    }
    let mut search = Search::new(bounder, bound);
    let mut within = (gap / 1024.0).max(1e-9 * bound.value.abs()).max(tie);
    let mut floor = bound.value;
    loop {
        within = within.min(gap.max(0.0));
        match search.round(within + noise, fuel) {
            Ok(Some(rolls)) => return (Some(rolls), f64::INFINITY),
            Ok(None) if gap <= within => return (None, f64::INFINITY),
            Ok(None) => floor = bound.value + within,
            Err(_) => return (None, floor),
        }
        within *= 4.0;
    }
}
