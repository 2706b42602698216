//! The problem in numbers: roll lengths with what they draw and cost, cans, wants, and how a plan is scored.
//!
//! It knows no search. Everything here assumes a validated [`Problem`].

use statrs::distribution::{ContinuousCDF, Normal};

use super::{Cost, Problem};
use crate::film::Pitch;

/// Slack when film is compared with a budget, in metres: far below a perforation.
pub(super) const FILM_SLACK_M: f64 = 1e-9;

/// One allowed roll length.
#[derive(Debug, Clone)]
pub(super) struct RollLength {
    pub(super) frames: u32,
    pub(super) clicks: u32,
    pub(super) draw_m: f64,
    /// Rows of a sleeve page, in money.
    pub(super) pages: f64,
    /// Chemistry, in money.
    pub(super) chemistry: f64,
    /// Pages, chemistry and the tie-break for fewer rolls.
    pub(super) handling: f64,
}

/// One can.
#[derive(Debug, Clone)]
pub(super) struct Can {
    pub(super) stock: usize,
    /// Film that may be planned: mean − z·sd, never negative.
    pub(super) budget_m: f64,
    pub(super) mean_m: f64,
    pub(super) price_per_m: f64,
}

/// One want.
#[derive(Debug, Clone)]
pub(super) struct Want {
    /// Stocks that will do and of which there is a can.
    pub(super) stocks: Vec<usize>,
    pub(super) frames: u32,
    /// Weight of one unmet frame: 10^(9 − priority), a whole number so that sums are exact.
    pub(super) weight: u64,
}

/// The problem in numbers. Lengths are in descending order of frames.
#[derive(Debug, Clone)]
pub(super) struct Model {
    pub(super) lengths: Vec<RollLength>,
    pub(super) cans: Vec<Can>,
    pub(super) wants: Vec<Want>,
    pub(super) stocks: usize,
    pub(super) limit: u32,
    pub(super) click_m: f64,
    pub(super) uncounted_m: f64,
    pub(super) short_end_price_per_m: f64,
    pub(super) shortest_draw_m: f64,
    /// The tie-break for fewer rolls, in money per roll: a hundred-millionth of the dearest roll.
    pub(super) roll_tie: f64,
}

/// One roll of a solution, by indices into the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Roll {
    pub(super) want: usize,
    pub(super) can: usize,
    pub(super) length: usize,
}

/// What a set of rolls is worth; compared in this order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Score {
    /// Weighted unmet frames.
    pub(super) unmet: u64,
    /// Cost with the tie-break for fewer rolls.
    pub(super) cost: f64,
}

impl Score {
    /// Nothing unmet at no cost.
    pub(super) const NOTHING: Self = Self {
        unmet: 0,
        cost: 0.0,
    };

    /// Whether `self` is less than `other`: unmet frames first, then cost.
    pub(super) fn less(self, other: Self) -> bool {
        (self.unmet, self.cost) < (other.unmet, other.cost)
    }

    /// The scores of two parts together.
    pub(super) fn plus(self, other: Self) -> Self {
        Self {
            unmet: self.unmet + other.unmet,
            cost: self.cost + other.cost,
        }
    }

    /// Whether `self` is better than `other` by more than half a tie-break.
    pub(super) fn beats(self, other: Self, tie: f64) -> bool {
        self.unmet < other.unmet
            || (self.unmet == other.unmet && self.cost < other.cost - 0.5 * tie)
    }
}

/// Film one roll draws from a can, in metres: (frames + leader + tail) clicks, and the uncounted film.
pub(super) fn draw_m(clicks: u32, pitch: Pitch, uncounted_mm: f64) -> f64 {
    (f64::from(clicks) * pitch.click().to_mm() + uncounted_mm) / 1000.0
}

impl Model {
    /// The numbers of a validated problem, with the menu cut down to `menu`.
    pub(super) fn new(problem: &Problem, menu: &[u32]) -> Self {
        let allowance = problem.leader_clicks + problem.tail_clicks;
        let draw = |frames: u32| draw_m(frames + allowance, problem.pitch, problem.uncounted_mm);
        let mut stock_names: Vec<&str> = problem.cans.iter().map(|c| c.stock.as_str()).collect();
        stock_names.sort_unstable();
        stock_names.dedup();
        let z = quantile(problem.confidence);
        let cans: Vec<Can> = problem
            .cans
            .iter()
            .map(|c| Can {
                stock: stock_names.binary_search(&c.stock.as_str()).unwrap_or(0),
                budget_m: (c.remaining_m.mean - z * c.remaining_m.sd).max(0.0),
                mean_m: c.remaining_m.mean,
                price_per_m: c.price_per_m,
            })
            .collect();
        let wants = problem
            .wants
            .iter()
            .map(|w| {
                let mut stocks: Vec<usize> = w
                    .stocks
                    .iter()
                    .filter_map(|s| stock_names.binary_search(&s.as_str()).ok())
                    .collect();
                stocks.sort_unstable();
                stocks.dedup();
                Want {
                    stocks,
                    frames: w.frames,
                    weight: 10u64.pow(9 - w.priority.min(9)),
                }
            })
            .collect();
        let mut lengths: Vec<RollLength> = menu
            .iter()
            .map(|&frames| {
                let clicks = frames + allowance;
                let rows = frames.div_ceil(problem.page.frames_per_row);
                RollLength {
                    frames,
                    clicks,
                    draw_m: draw(frames),
                    pages: f64::from(rows) * problem.page.price / f64::from(problem.page.rows),
                    chemistry: problem.chemistry_price_per_full_roll * f64::from(clicks)
                        / f64::from(36 + allowance),
                    handling: 0.0,
                }
            })
            .collect();
        lengths.sort_by_key(|l| std::cmp::Reverse(l.frames));
        let dearest_film = cans.iter().map(|c| c.price_per_m).fold(0.0, f64::max);
        let dearest = lengths
            .iter()
            .map(|l| l.draw_m * dearest_film + l.pages + l.chemistry)
            .fold(0.0, f64::max);
        let roll_tie = 1e-8 * if dearest > 0.0 { dearest } else { 1.0 };
        for l in &mut lengths {
            l.handling = l.pages + l.chemistry + roll_tie;
        }
        let allowed = problem
            .menu_frames
            .iter()
            .filter(|&&f| f <= problem.max_roll_frames);
        Self {
            shortest_draw_m: draw(allowed.min().copied().unwrap_or(0)),
            lengths,
            cans,
            wants,
            stocks: stock_names.len(),
            limit: problem.cassettes,
            click_m: problem.pitch.click().to_m(),
            uncounted_m: problem.uncounted_mm / 1000.0,
            short_end_price_per_m: problem.short_end_price_per_m,
            roll_tie,
        }
    }

    /// What drawing `drawn_m` from a can costs: the film, and the charge for an end too short to use.
    pub(super) fn can_cost(&self, can: usize, drawn_m: f64) -> f64 {
        if drawn_m <= 0.0 {
            return 0.0;
        }
        self.cans[can].price_per_m * drawn_m + self.short_end(can, drawn_m)
    }

    /// The charge for what is left of a can that was drawn from, in money.
    pub(super) fn short_end(&self, can: usize, drawn_m: f64) -> f64 {
        let left = self.cans[can].mean_m - drawn_m;
        if 0.0 < drawn_m && left < self.shortest_draw_m - FILM_SLACK_M {
            left.max(0.0) * self.short_end_price_per_m
        } else {
            0.0
        }
    }

    /// Film drawn from each can, in metres.
    pub(super) fn drawn_m(&self, rolls: &[Roll]) -> Vec<f64> {
        let mut drawn = vec![0.0; self.cans.len()];
        for r in rolls {
            drawn[r.can] += self.lengths[r.length].draw_m;
        }
        drawn
    }

    /// Frames each want still lacks.
    pub(super) fn lacking(&self, rolls: &[Roll]) -> Vec<u32> {
        let mut lacking: Vec<u32> = self.wants.iter().map(|w| w.frames).collect();
        for r in rolls {
            lacking[r.want] = lacking[r.want].saturating_sub(self.lengths[r.length].frames);
        }
        lacking
    }

    /// The score of `rolls` as far as `wants` (indices) are concerned.
    pub(super) fn score(&self, rolls: &[Roll], wants: impl Iterator<Item = usize>) -> Score {
        let lacking = self.lacking(rolls);
        let unmet = wants
            .map(|w| u64::from(lacking[w]) * self.wants[w].weight)
            .sum();
        let film: f64 = self
            .drawn_m(rolls)
            .iter()
            .enumerate()
            .map(|(i, &d)| self.can_cost(i, d))
            .sum();
        let handling: f64 = rolls.iter().map(|r| self.lengths[r.length].handling).sum();
        Score {
            unmet,
            cost: film + handling,
        }
    }

    /// The cost of `rolls`, part by part, without the tie-break.
    pub(super) fn cost(&self, rolls: &[Roll]) -> Cost {
        let drawn = self.drawn_m(rolls);
        // A sum of nothing is −0, which would be printed so.
        let sum = |costs: &mut dyn Iterator<Item = f64>| costs.sum::<f64>() + 0.0;
        let film = sum(&mut drawn.iter().zip(&self.cans).map(|(d, c)| d * c.price_per_m));
        let pages = sum(&mut rolls.iter().map(|r| self.lengths[r.length].pages));
        let chemistry = sum(&mut rolls.iter().map(|r| self.lengths[r.length].chemistry));
        let short_ends = sum(&mut drawn.iter().enumerate().map(|(i, &d)| self.short_end(i, d)));
        Cost {
            film,
            pages,
            chemistry,
            short_ends,
            total: film + pages + chemistry + short_ends,
        }
    }
}

/// The standard normal quantile of a one-sided confidence.
fn quantile(confidence: f64) -> f64 {
    Normal::standard().inverse_cdf(confidence)
}
