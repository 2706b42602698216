//! Lower bounds by decomposition: wants choose whole sets of rolls, cans choose whole fillings, and dual
//! prices hold the two together.
//!
//! Every set of prices gives a bound that is correct by itself (weak duality): the best of each want and of
//! each can at these prices, added up. Column generation only serves to find good prices.
//!
//! # Source
//! Own derivation: Lagrangian decomposition of the plan into wants and cans.

use super::filling::Filling;
use super::lp::{Column, Simplex};
use super::model::{Model, Roll};
use super::sub::{Phase, Sub};

/// Dual prices.
#[derive(Debug, Clone)]
pub(super) struct Prices {
    /// Of a roll, by stock and length.
    pub(super) roll: Vec<Vec<f64>>,
    /// Of a cassette.
    pub(super) cassette: f64,
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
}

impl<'a> Bounder<'a> {
    pub(super) fn new(model: &'a Model, sub: &'a Sub, phase: Phase) -> Self {
        let at_most = sub.rolls_at_most(model);
        let rolls = at_most.min(sub.limit);
        Self {
            model,
            sub,
            phase,
            unit: sub.weight_unit(model),
            limited: sub.limit < at_most,
            fillings: sub
                .stocks
                .iter()
                .map(|cans| Filling::new(model, cans, rolls))
                .collect(),
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
    fn handling(&self, length: usize) -> f64 {
        match self.phase {
            Phase::Unmet => 0.0,
            Phase::Cost { .. } => self.model.lengths[length].handling,
        }
    }

    /// Whether film costs anything in this phase.
    fn film_counts(&self) -> bool {
        self.phase != Phase::Unmet
    }

    /// Cost of drawing from a can in this phase.
    pub(super) fn can_cost(&self, can: usize, drawn_m: f64) -> f64 {
        if self.film_counts() {
            self.model.can_cost(can, drawn_m)
        } else {
            0.0
        }
    }

    /// The cheapest servings of want `w` (index into the part) from stock `s`.
    pub(super) fn serving(&self, w: usize, s: usize, prices: &Prices) -> Serving {
        let want = &self.model.wants[self.sub.wants[w].want];
        let lengths = &self.model.lengths;
        let roll: Vec<f64> = (0..lengths.len())
            .map(|a| self.handling(a) + prices.cassette + prices.roll[s][a])
            .collect();
        let frame_unmet = prices.unmet * want.weight as f64 / self.unit;
        let may_lack = match self.phase {
            Phase::Unmet => want.frames,
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
    fn evaluate(&mut self, prices: Prices, mut columns: Option<&mut Vec<Column>>) -> Bound {
        let rows = Rows::new(self.sub, self.model.lengths.len());
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
            let film_counts = self.film_counts();
            self.fillings[s].fill(&prices.roll[s]);
            let mut of_stock = Vec::new();
            for (k, &i) in self.sub.stocks[s].iter().enumerate() {
                let (v, counts, drawn) =
                    self.fillings[s].best(self.model, i, &prices.roll[s], film_counts);
                value += v;
                of_stock.push(v);
                if let (Some(columns), true) = (columns.as_deref_mut(), v < 0.0) {
                    let whole = counts.iter().all(|c| c.fract() == 0.0);
                    let cost = match (film_counts, whole) {
                        (false, _) => 0.0,
                        (true, true) => self.model.can_cost(i, drawn),
                        (true, false) => self.model.cans[i].price_per_m * drawn,
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
        Bound {
            prices,
            want,
            can,
            value,
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

    fn want_column(&self, rows: &Rows, w: usize, s: usize, counts: &[u16]) -> Column {
        let want = &self.model.wants[self.sub.wants[w].want];
        let mut entries = vec![(w, 1.0)];
        let (mut served, mut rolls, mut cost) = (0u32, 0.0, 0.0);
        for (a, &n) in counts.iter().enumerate().filter(|(_, n)| 0 < **n) {
            entries.push((rows.link(s, a), f64::from(n)));
            served += u32::from(n) * self.model.lengths[a].frames;
            rolls += f64::from(n);
            cost += f64::from(n) * self.handling(a);
        }
        let unmet = f64::from(want.frames.saturating_sub(served)) * want.weight as f64 / self.unit;
        if self.limited && 0.0 < rolls {
            entries.push((rows.limit, rolls));
        }
        if self.target().is_some() && 0.0 < unmet {
            entries.push((rows.unmet, unmet));
        }
        if self.phase == Phase::Unmet {
            cost = unmet;
        }
        Column { cost, entries }
    }

    fn can_column(rows: &Rows, s: usize, k: usize, counts: &[f64], cost: f64) -> Column {
        let mut entries = vec![(rows.can[s] + k, 1.0)];
        for (a, &n) in counts.iter().enumerate().filter(|(_, n)| 0.0 < **n) {
            entries.push((rows.link(s, a), -n));
        }
        Column { cost, entries }
    }

    /// The best bound found, starting from a solution that keeps the limits of this part and phase.
    pub(super) fn bound(&mut self, incumbent: &[Roll], pivots: u64) -> Bound {
        let rows = Rows::new(self.sub, self.model.lengths.len());
        let (mut lp, scale) = self.start(&rows, incumbent);
        let mut best: Option<Bound> = None;
        loop {
            lp.optimise(1e-11 * scale, pivots.saturating_sub(lp.pivots));
            let prices = self.prices(&rows, &lp.dual);
            let mut columns = Vec::new();
            let bound = self.evaluate(prices, Some(&mut columns));
            let objective = lp.objective();
            let closed = objective - bound.value <= 1e-10 * scale.max(objective.abs());
            if best.as_ref().is_none_or(|b| b.value < bound.value) {
                best = Some(bound);
            }
            let before = lp.columns();
            for column in columns {
                lp.add_if_better(column, 1e-10 * scale);
            }
            if closed || lp.columns() == before || pivots <= lp.pivots {
                break;
            }
        }
        best.unwrap_or_else(|| self.evaluate(self.zero_prices(), None))
    }

    fn zero_prices(&self) -> Prices {
        Prices {
            roll: vec![vec![0.0; self.model.lengths.len()]; self.sub.stocks.len()],
            cassette: 0.0,
            unmet: if self.phase == Phase::Unmet { 1.0 } else { 0.0 },
        }
    }

    fn prices(&self, rows: &Rows, dual: &[f64]) -> Prices {
        let lengths = self.model.lengths.len();
        let positive = |row: usize| (-dual[row]).max(0.0);
        Prices {
            roll: (0..self.sub.stocks.len())
                .map(|s| (0..lengths).map(|a| positive(rows.link(s, a))).collect())
                .collect(),
            cassette: if self.limited {
                positive(rows.limit)
            } else {
                0.0
            },
            unmet: match self.phase {
                Phase::Unmet => 1.0,
                Phase::Cost { .. } if self.target().is_some() => positive(rows.unmet),
                Phase::Cost { .. } => 0.0,
            },
        }
    }

    /// The first basis: what the incumbent does, and slacks.
    fn start(&self, rows: &Rows, incumbent: &[Roll]) -> (Simplex, f64) {
        let lengths = self.model.lengths.len();
        let mut first: Vec<Column> = (0..rows.total)
            .map(|r| Column {
                cost: 0.0,
                entries: vec![(r, 1.0)],
            })
            .collect();
        let mut rhs = vec![0.0; rows.total];
        let mut scale: f64 = if self.phase == Phase::Unmet { 1.0 } else { 0.0 };
        for (w, sub_want) in self.sub.wants.iter().enumerate() {
            let mut counts = vec![0u16; lengths];
            let mut s = sub_want.stocks[0];
            for r in incumbent.iter().filter(|r| r.want == sub_want.want) {
                counts[r.length] += 1;
                s = self
                    .sub
                    .stocks
                    .iter()
                    .position(|cans| cans.contains(&r.can))
                    .unwrap_or(s);
            }
            first[w] = self.want_column(rows, w, s, &counts);
            rhs[w] = 1.0;
        }
        for (s, cans) in self.sub.stocks.iter().enumerate() {
            for (k, &i) in cans.iter().enumerate() {
                let mut counts = vec![0.0; lengths];
                let mut drawn = 0.0;
                for r in incumbent.iter().filter(|r| r.can == i) {
                    counts[r.length] += 1.0;
                    drawn += self.model.lengths[r.length].draw_m;
                }
                if 0.0 < drawn {
                    first[rows.can[s] + k] =
                        Self::can_column(rows, s, k, &counts, self.can_cost(i, drawn));
                }
                rhs[rows.can[s] + k] = 1.0;
            }
            for a in 0..lengths {
                // A little air, different in each row, keeps the simplex from stalling.
                let row = rows.link(s, a);
                rhs[row] = 1e-7 * (1.0 + (row as f64 * 0.618_033_988_75).fract());
            }
        }
        rhs[rows.limit] = f64::from(self.sub.limit) + 1e-7;
        rhs[rows.unmet] = self.target().unwrap_or(0.0) + 1e-7;
        for (l, h) in self.model.lengths.iter().zip(0..) {
            if self.film_counts() {
                let film = self
                    .model
                    .cans
                    .iter()
                    .map(|c| c.price_per_m)
                    .fold(0.0, f64::max);
                scale = scale.max(l.draw_m * film + self.handling(h));
            }
        }
        (Simplex::new(first, &rhs), scale)
    }
}

/// Where each kind of row begins.
struct Rows {
    lengths: usize,
    can: Vec<usize>,
    links: usize,
    limit: usize,
    unmet: usize,
    total: usize,
}

impl Rows {
    fn new(sub: &Sub, lengths: usize) -> Self {
        let mut next = sub.wants.len();
        let can = sub
            .stocks
            .iter()
            .map(|cans| {
                let first = next;
                next += cans.len();
                first
            })
            .collect();
        let limit = next + sub.stocks.len() * lengths;
        Self {
            lengths,
            can,
            links: next,
            limit,
            unmet: limit + 1,
            total: limit + 2,
        }
    }

    fn link(&self, s: usize, a: usize) -> usize {
        self.links + s * self.lengths + a
    }
}
