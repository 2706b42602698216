//! The cut plan: which rolls of which length to wind from which can, for which want.
//!
//! Wants are served as far as film and cassettes allow, the important ones first; then the cost is least (film,
//! page rows, chemistry, ends too short to use); then the rolls are fewest. The method is exact, bounded by the
//! work allowed and not by the clock, so the same problem always gives the same plan, and what could not be
//! proven is said. It knows nothing of loaders, cassettes' histories or calendars.
//!
//! # Source
//! Own derivation; checked by brute force and against outside solvers (`tests/reference/cutplan`).

mod bound;
mod counts;
mod dive;
mod explain;
mod filling;
mod greedy;
pub mod limits;
mod lp;
mod model;
mod options;
mod pack;
mod part;
mod relaxed;
mod search;
mod shared;
mod sub;
mod tree;
mod validate;
mod whole;

use crate::caveat::Caveat;
use crate::error::Error;
use crate::film::Pitch;
use crate::quantity::Estimate;
use model::{Model, Roll};

/// What is on the shelf, what is wanted, and what things cost.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Cans to wind from.
    pub cans: Vec<CanSupply>,
    /// What is wanted.
    pub wants: Vec<WantDemand>,
    /// Roll lengths that may be wound, in frames.
    pub menu_frames: Vec<u32>,
    /// Longest roll that may be wound, in frames: lengths of the menu beyond it are not used.
    pub max_roll_frames: u32,
    /// Leader allowance of a roll, in clicks.
    pub leader_clicks: u32,
    /// Tail allowance of a roll, in clicks.
    pub tail_clicks: u32,
    /// Pitch of the perforations.
    pub pitch: Pitch,
    /// Film a roll draws without it being counted, in mm.
    pub uncounted_mm: f64,
    /// Empty cassettes at hand: no more rolls than this.
    pub cassettes: u32,
    /// The sleeve page the negatives are filed in.
    pub page: PageCost,
    /// Chemistry for one full roll (36 frames with leader and tail), in money.
    pub chemistry_price_per_full_roll: f64,
    /// Charge for a left-over end shorter than the shortest roll draws, in money per metre.
    pub short_end_price_per_m: f64,
    /// One-sided confidence that a can holds what is planned from it.
    pub confidence: f64,
}

/// One can and what is left in it.
#[derive(Debug, Clone, PartialEq)]
pub struct CanSupply {
    /// Its name; ties between cans go to the name that sorts first.
    pub id: String,
    /// Its stock.
    pub stock: String,
    /// What is left, in m.
    pub remaining_m: Estimate,
    /// Price of its film, in money per m.
    pub price_per_m: f64,
}

/// One want.
#[derive(Debug, Clone, PartialEq)]
pub struct WantDemand {
    /// Its name.
    pub id: String,
    /// Stocks that will do; all its rolls come from one of them.
    pub stocks: Vec<String>,
    /// Frames wanted.
    pub frames: u32,
    /// Importance, 1 (most) to 9: an unmet frame weighs 10^(3 − priority).
    pub priority: u32,
}

/// A sleeve page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageCost {
    /// Rows of a page.
    pub rows: u32,
    /// Frames that fit one row.
    pub frames_per_row: u32,
    /// Price of a page, in money.
    pub price: f64,
}

/// The plan, with what it costs and what it could not do.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Rolls to wind, by can, then by want, longest first.
    pub rolls: Vec<PlannedRoll>,
    /// Wants that are not met in full, in the order given.
    pub unmet: Vec<Unmet>,
    /// What the plan costs.
    pub cost: Cost,
    /// What is expected to be left of each can, in the order given.
    pub leftover: Vec<Leftover>,
    /// Whether it is proven that no plan is better.
    pub proven_optimal: bool,
    /// 0 when proven. Otherwise, with the unmet frames proven least: the share of the cost that a better plan
    /// might save at most; else the share of the weighted unmet frames (a caveat says which).
    pub gap: f64,
    /// The same wants served with full-length rolls only.
    pub only_full_rolls: FullRolls,
    /// What to bear in mind.
    pub caveats: Vec<Caveat>,
}

/// One roll to wind.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedRoll {
    /// The can it comes from.
    pub can: String,
    /// The want it serves.
    pub want: String,
    /// Its frames.
    pub frames: u32,
    /// Clicks to wind: frames, leader and tail.
    pub clicks: u32,
    /// Film it draws, in m.
    pub drawn_m: f64,
}

/// A want that is not met in full.
#[derive(Debug, Clone, PartialEq)]
pub struct Unmet {
    /// The want.
    pub want: String,
    /// Frames missing.
    pub frames: u32,
    /// What stands in the way, in words.
    pub because: String,
}

/// The parts of a cost, in money.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cost {
    /// Film drawn.
    pub film: f64,
    /// Rows of sleeve pages.
    pub pages: f64,
    /// Chemistry.
    pub chemistry: f64,
    /// Ends too short to use.
    pub short_ends: f64,
    /// The sum.
    pub total: f64,
}

/// What is expected to be left of a can.
#[derive(Debug, Clone, PartialEq)]
pub struct Leftover {
    /// The can.
    pub can: String,
    /// Mean left over, in m.
    pub mean_m: f64,
}

/// What the same wants come to with full-length rolls only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FullRolls {
    /// Cost, in money.
    pub total: f64,
    /// Frames not served, all wants together.
    pub unmet_frames: u64,
}

/// How much work to spend. Work is counted, not timed: the same problem gives the same plan anywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Steps of search; a part that can be solved by itself gets this much, the whole twice as much.
    pub work: u64,
}

impl Effort {
    /// A quick answer while someone is still typing: a fraction of a second.
    pub const QUICK: Self = Self { work: 8_000_000 };
    /// The usual: a real shelf is proven well within a second, the largest take a few.
    pub const USUAL: Self = Self { work: 150_000_000 };
    /// For large problems, when a minute or more may be spent.
    pub const THOROUGH: Self = Self {
        work: 2_000_000_000,
    };
}

impl Default for Effort {
    fn default() -> Self {
        Self::USUAL
    }
}

/// The best plan for `problem` that can be found with `effort`.
///
/// # Units
/// Lengths in the unit of the field's name, money in the user's currency.
/// # Domain
/// Up to 200 cans, 300 wants, 40 roll lengths; numbers within [`crate::bounds`].
/// # Errors
/// A number out of range, a name missing or given twice, a menu without a usable length, too much of anything.
/// # Source
/// Own derivation; see the module's notes.
pub fn solve(problem: &Problem, effort: Effort) -> Result<Plan, Error> {
    validate::validate(problem)?;
    // In order of names, so that the order in which things were typed changes nothing.
    let mut sorted = problem.clone();
    sorted.cans.sort_by(|a, b| a.id.cmp(&b.id));
    sorted.wants.sort_by(|a, b| a.id.cmp(&b.id));
    let menu = validate::usable_menu(problem);
    let model = Model::new(&sorted, &menu);
    let solved = best_of(&model, &effort);

    let full = Model::new(&sorted, &[full_length(&menu)]);
    let full_rolls = best_of(
        &full,
        &Effort {
            work: effort.work / 40,
        },
    )
    .rolls;
    let only_full_rolls = FullRolls {
        total: full.cost(&full_rolls).total,
        unmet_frames: full
            .lacking(&full_rolls)
            .iter()
            .map(|&f| u64::from(f))
            .sum(),
    };

    let mut rolls = solved.rolls.clone();
    rolls.sort_unstable_by_key(|r| (r.can, r.want, r.length));
    let cost = model.cost(&rolls);
    let proven_optimal = solved.proven();
    let open = match (proven_optimal, solved.floor.unmet == solved.score.unmet) {
        (true, _) => explain::Open::Nothing,
        (false, true) => explain::Open::Cost,
        (false, false) => explain::Open::Unmet,
    };
    let gap = if proven_optimal { 0.0 } else { gap(&solved) };
    let drawn = model.drawn_m(&rolls);
    let leftover = problem
        .cans
        .iter()
        .map(|c| Leftover {
            can: c.id.clone(),
            mean_m: c.remaining_m.mean
                - sorted
                    .cans
                    .iter()
                    .position(|s| s.id == c.id)
                    .map_or(0.0, |i| drawn[i]),
        })
        .collect();
    Ok(Plan {
        unmet: explain::unmet(problem, &sorted, &model, &rolls),
        caveats: explain::caveats(&sorted, &model, &rolls, open, gap),
        rolls: rolls.iter().map(|r| planned(&sorted, &model, r)).collect(),
        cost,
        leftover,
        proven_optimal,
        gap,
        only_full_rolls,
    })
}

/// The best plan of a model that the work allowed finds; one that is not proven leaves no usable film aside either.
fn best_of(model: &Model, effort: &Effort) -> part::Solved {
    let mut solved = whole::solve(model, effort);
    if solved.floor.unmet < solved.score.unmet {
        greedy::top_up(model, &mut solved.rolls);
        solved.score = model.score(&solved.rolls, 0..model.wants.len());
    }
    solved
}

fn planned(sorted: &Problem, model: &Model, roll: &Roll) -> PlannedRoll {
    let length = &model.lengths[roll.length];
    PlannedRoll {
        can: sorted.cans[roll.can].id.clone(),
        want: sorted.wants[roll.want].id.clone(),
        frames: length.frames,
        clicks: length.clicks,
        drawn_m: length.draw_m,
    }
}

/// The usual full length: the longest of the menu up to 36 frames, or the shortest if all are longer.
fn full_length(menu: &[u32]) -> u32 {
    let up_to_36 = menu.iter().copied().filter(|&f| f <= 36).max();
    up_to_36.or(menu.iter().copied().min()).unwrap_or(36)
}

fn gap(solved: &part::Solved) -> f64 {
    let (floor, score) = (solved.floor, solved.score);
    if floor.unmet < score.unmet {
        return (score.unmet - floor.unmet) as f64 / score.unmet as f64;
    }
    if score.cost <= 0.0 {
        0.0
    } else {
        ((score.cost - floor.cost) / score.cost).clamp(0.0, 1.0)
    }
}
