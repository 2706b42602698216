//! Lower bounds by decomposition: wants choose whole sets of rolls, cans choose whole fillings, and dual
//! prices hold the two together.
//!
//! Every set of prices gives a bound that is correct by itself (weak duality): the best of each want and of
//! each can at these prices, added up. Column generation only serves to find good prices.
//!
//! # Source
//! Own derivation: Lagrangian decomposition of the plan into wants and cans.

use super::counts::Fuel;
use super::filling::Filling;
use super::lp::Column;
use super::model::Model;
use super::relaxed::Relaxed;
use super::sub::{Phase, RollBox, Sub};

/// Dual prices.
#[derive(Debug, Clone)]
pub(super) struct Prices {
    /// Of a roll, by stock and length.
    pub(super) roll: Vec<Vec<f64>>,
    /// Of a cassette.
    pub(super) cassette: f64,
    /// Of serving a roll, by stock and length, for the boxes of branching: positive where too many, negative where
    /// too few would be served.
    pub(super) boxed: Vec<Vec<f64>>,
    /// Of one unmet frame of the highest weight; 1 while unmet frames are themselves the goal.
    pub(super) unmet: f64,
}

/// The cheapest way to serve what is left of a want from one stock, by frames left, at given prices.
#[derive(Debug, Clone)]
pub(super) struct Serving {
    /// Price of one roll of each length, all told.
    pub(super) roll: Vec<f64>,
    /// Price of one frame left unmet.
    pub(super) frame_unmet: f64,
    /// Frames that may be left unmet.
    pub(super) may_lack: u32,
    /// Cheapest completion by frames still lacking.
    pub(super) best: Vec<f64>,
}

/// Prices and the bound they give.
#[derive(Debug, Clone)]
pub(super) struct Bound {
    pub(super) prices: Prices,
    /// Best of each want at these prices.
    pub(super) want: Vec<f64>,
    /// Best of each can at these prices, by stock and place in the stock; never positive.
    pub(super) can: Vec<Vec<f64>>,
    pub(super) value: f64,
    /// By want: how much of it the relaxed solution serves from which stock.
    pub(super) share: Vec<Vec<(usize, f64)>>,
    /// Rolls the relaxed solution serves, by stock and length.
    pub(super) served: Vec<Vec<f64>>,
}

/// What bounding needs of one part and phase.
pub(super) struct Bounder<'a> {
    pub(super) model: &'a Model,
    pub(super) sub: &'a Sub,
    pub(super) phase: Phase,
    pub(super) unit: f64,
    /// Whether the limit of rolls can bind at all.
    pub(super) limited: bool,
    fillings: Vec<Filling>,
    /// Work of one round of pricing.
    pub(super) pricing: u64,
}

impl<'a> Bounder<'a> {
    pub(super) fn new(model: &'a Model, sub: &'a Sub, phase: Phase) -> Self {
        let at_most = sub.rolls_at_most(model);
        let rolls = at_most.min(sub.limit);
        let fillings: Vec<Filling> = sub
            .stocks
            .iter()
            .map(|cans| Filling::new(model, cans, rolls))
            .collect();
        let frames: u64 = sub
            .wants
            .iter()
            .map(|w| u64::from(model.wants[w.want].frames) * w.stocks.len() as u64)
            .sum();
        let work: u64 = fillings.iter().map(Filling::work).sum();
        Self {
            pricing: (work + frames * model.lengths.len() as u64) / 96 + 1,
            model,
            sub,
            phase,
            unit: sub.weight_unit(model),
            limited: sub.limit < at_most,
            fillings,
        }
    }

    /// Weighted unmet frames allowed, in units; none while they are the goal.
    pub(super) fn target(&self) -> Option<f64> {
        match self.phase {
            Phase::Cost { target } if 0 < target => Some(target as f64 / self.unit),
            _ => None,
        }
    }

    /// Cost of the handling of one roll in this phase.
    pub(super) fn handling(&self, length: usize) -> f64 {
        self.phase.money() * self.model.lengths[length].handling
    }

    /// The cheapest servings of want `w` (index into the part) from stock `s`.
    pub(super) fn serving(&self, w: usize, s: usize, prices: &Prices) -> Serving {
        let want = &self.model.wants[self.sub.wants[w].want];
        let lengths = &self.model.lengths;
        let roll: Vec<f64> = (0..lengths.len())
            .map(|a| self.handling(a) + prices.cassette + prices.roll[s][a] + prices.boxed[s][a])
            .collect();
        let frame_unmet = prices.unmet * want.weight as f64 / self.unit;
        let may_lack = match self.phase {
            Phase::Unmet { .. } => want.frames,
            Phase::Cost { target } => u32::try_from(target / want.weight)
                .unwrap_or(u32::MAX)
                .min(want.frames),
        };
        let mut best = vec![0.0; want.frames as usize + 1];
        for left in 1..best.len() {
            let mut b = if left <= may_lack as usize {
                frame_unmet * left as f64
            } else {
                f64::INFINITY
            };
            for (a, r) in roll.iter().enumerate() {
                b = b.min(r + best[left.saturating_sub(lengths[a].frames as usize)]);
            }
            best[left] = b;
        }
        Serving {
            roll,
            frame_unmet,
            may_lack,
            best,
        }
    }

    /// The bound at these prices; with `columns`, also the best column of each want and can.
    pub(super) fn evaluate(
        &mut self,
        prices: Prices,
        mut columns: Option<&mut Vec<Column>>,
    ) -> Bound {
        let rows = self.rows();
        let mut value = 0.0;
        let mut want = Vec::with_capacity(self.sub.wants.len());
        for w in 0..self.sub.wants.len() {
            let mut best = f64::INFINITY;
            for &s in &self.sub.wants[w].stocks {
                let serving = self.serving(w, s, &prices);
                let b = serving.best[serving.best.len() - 1];
                best = best.min(b);
                if let Some(columns) = columns.as_deref_mut() {
                    let counts = self.cheapest_serving(&serving);
                    columns.push(self.want_column(&rows, w, s, &counts));
                }
            }
            value += best;
            want.push(best);
        }
        let mut can = Vec::with_capacity(self.sub.stocks.len());
        for s in 0..self.sub.stocks.len() {
            let money = self.phase.money();
            self.fillings[s].fill(&prices.roll[s]);
            let mut of_stock = Vec::new();
            for (k, &i) in self.sub.stocks[s].iter().enumerate() {
                let (v, counts, drawn) =
                    self.fillings[s].best(self.model, i, &prices.roll[s], money);
                value += v;
                of_stock.push(v);
                if let (Some(columns), true) = (columns.as_deref_mut(), v < 0.0) {
                    let whole = counts.iter().all(|c| c.fract() == 0.0);
                    let cost = match whole {
                        true => money * self.model.can_cost(i, drawn),
                        false => money * self.model.cans[i].price_per_m * drawn,
                    };
                    columns.push(Self::can_column(&rows, s, k, &counts, cost));
                }
            }
            can.push(of_stock);
        }
        if self.limited {
            value -= prices.cassette * f64::from(self.sub.limit);
        }
        if let Some(target) = self.target() {
            value -= prices.unmet * target;
        }
        for b in &self.sub.boxes {
            value -= box_price(&prices, b);
        }
        Bound {
            prices,
            want,
            can,
            value,
            share: vec![Vec::new(); self.sub.wants.len()],
            served: vec![vec![0.0; self.model.lengths.len()]; self.sub.stocks.len()],
        }
    }

    fn cheapest_serving(&self, serving: &Serving) -> Vec<u16> {
        let lengths = &self.model.lengths;
        let mut counts = vec![0u16; lengths.len()];
        let mut left = serving.best.len() - 1;
        while 0 < left {
            let step = |a: usize| left.saturating_sub(lengths[a].frames as usize);
            let a = (0..lengths.len()).min_by(|&a, &b| {
                (serving.roll[a] + serving.best[step(a)])
                    .total_cmp(&(serving.roll[b] + serving.best[step(b)]))
            });
            let Some(a) = a else { break };
            let stop = if left <= serving.may_lack as usize {
                serving.frame_unmet * left as f64
            } else {
                f64::INFINITY
            };
            if stop <= serving.roll[a] + serving.best[step(a)] {
                break;
            }
            counts[a] += 1;
            left = step(a);
        }
        counts
    }

    /// The best bound found with this `fuel`, and the relaxed problem behind it. `pool` holds the columns of earlier bounds of parts with the same
    /// wants and cans, and takes the new ones.
    pub(super) fn bound(&mut self, pool: &mut Vec<Column>, fuel: &mut Fuel) -> (Bound, Relaxed) {
        let mut relaxed = self.relaxed(pool);
        let (best, basics) = self.relax(&mut relaxed, pool, fuel);
        let mut bound = best.unwrap_or_else(|| self.evaluate(self.zero_prices(), None));
        let rows = self.rows();
        for (column, value) in basics {
            if let Some((w, s)) = column.tag {
                for &(row, n) in column
                    .entries
                    .iter()
                    .filter(|e| rows.links <= e.0 && e.0 < rows.limit)
                {
                    bound.served[s][row - rows.link(s, 0)] += n * value;
                }
                match bound.share[w].iter_mut().find(|(x, _)| *x == s) {
                    Some(it) => it.1 += value,
                    None => bound.share[w].push((s, value)),
                }
            }
        }
        (bound, relaxed)
    }
}

/// What a box adds to the prices of all plans that keep it, at least: its price times the nearer limit.
fn box_price(prices: &Prices, b: &RollBox) -> f64 {
    let price = prices.boxed[b.stock][b.length];
    price * f64::from(if 0.0 < price { b.most } else { b.least })
}
