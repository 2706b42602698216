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
use super::lp::{Column, Simplex};
use super::model::Model;
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
    pricing: u64,
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
            pricing: (work + frames * model.lengths.len() as u64) / 32 + 1,
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
    fn handling(&self, length: usize) -> f64 {
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
        if matches!(self.phase, Phase::Unmet { .. }) {
            cost += unmet;
        }
        let tag = Some((w, s));
        Column { cost, entries, tag }
    }

    fn can_column(rows: &Rows, s: usize, k: usize, counts: &[f64], cost: f64) -> Column {
        let mut entries = vec![(rows.can[s] + k, 1.0)];
        for (a, &n) in counts.iter().enumerate().filter(|(_, n)| 0.0 < **n) {
            entries.push((rows.link(s, a), -n));
        }
        Column {
            cost,
            entries,
            tag: None,
        }
    }

    /// The best bound found with this `fuel`. `pool` holds the columns of earlier bounds of parts with the same
    /// wants and cans, and takes the new ones.
    pub(super) fn bound(&mut self, pool: &mut Vec<Column>, fuel: &mut Fuel) -> Bound {
        let (best, basics) = self.relax(pool, &[], fuel);
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
        bound
    }

    /// Column generation, with the choice of some wants and cans `fixed` (by row; empty for none): the best bound
    /// met, which knows nothing of what is fixed, and the last basis.
    pub(super) fn relax(
        &mut self,
        pool: &mut Vec<Column>,
        fixed: &[Option<Column>],
        fuel: &mut Fuel,
    ) -> (Option<Bound>, Vec<(Column, f64)>) {
        let rows = self.rows();
        let (mut lp, scale) = self.start(&rows);
        let sub = self.sub;
        let allowed = |c: &Column| {
            c.tag.is_none_or(|(w, s)| sub.wants[w].stocks.contains(&s))
                && fixed
                    .get(c.entries[0].0)
                    .is_none_or(|f| f.as_ref().is_none_or(|f| f.entries == c.entries))
        };
        for column in pool.iter().filter(|c| allowed(c)) {
            lp.add(self.boxed(&rows, column));
        }
        let mut best: Option<Bound> = None;
        loop {
            let per_pivot = lp.work_of_pivot();
            let done = lp.optimise(1e-11 * scale, fuel.0 / per_pivot + 1);
            let spent = fuel.burn(done * per_pivot + self.pricing).is_err();
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
                let boxed = self.boxed(&rows, &column);
                if allowed(&column) && lp.improves(&boxed, 1e-10 * scale) {
                    pool.push(column);
                    lp.add(boxed);
                }
            }
            if closed || lp.columns() == before || spent {
                break;
            }
        }
        let plain = |c: &Column| Column {
            entries: c
                .entries
                .iter()
                .copied()
                .filter(|e| e.0 < rows.total)
                .collect(),
            ..*c
        };
        let real = lp.basics().filter(|(c, _)| c.entries[0].0 < rows.total);
        (best, real.map(|(c, v)| (plain(c), v)).collect())
    }

    /// A column with its entries in the rows of the boxes.
    fn boxed(&self, rows: &Rows, column: &Column) -> Column {
        let mut boxed = column.clone();
        if column.tag.is_some() {
            for (k, b) in self.sub.boxes.iter().enumerate() {
                let link = rows.link(b.stock, b.length);
                if let Some(&(_, n)) = column.entries.iter().find(|e| e.0 == link) {
                    boxed.entries.push((rows.total + 2 * k, n));
                    boxed.entries.push((rows.total + 2 * k + 1, n));
                }
            }
        }
        boxed
    }

    /// Where the rows of this part begin.
    pub(super) fn rows(&self) -> Rows {
        Rows::new(self.sub, self.model.lengths.len())
    }

    fn zero_prices(&self) -> Prices {
        let zero = vec![vec![0.0; self.model.lengths.len()]; self.sub.stocks.len()];
        Prices {
            roll: zero.clone(),
            boxed: zero,
            cassette: 0.0,
            unmet: if matches!(self.phase, Phase::Unmet { .. }) {
                1.0
            } else {
                0.0
            },
        }
    }

    fn prices(&self, rows: &Rows, dual: &[f64]) -> Prices {
        let lengths = self.model.lengths.len();
        let positive = |row: usize| (-dual[row]).max(0.0);
        let mut boxed = vec![vec![0.0; lengths]; self.sub.stocks.len()];
        for (k, b) in self.sub.boxes.iter().enumerate() {
            boxed[b.stock][b.length] +=
                positive(rows.total + 2 * k) - dual[rows.total + 2 * k + 1].max(0.0);
        }
        Prices {
            boxed,
            roll: (0..self.sub.stocks.len())
                .map(|s| (0..lengths).map(|a| positive(rows.link(s, a))).collect())
                .collect(),
            cassette: if self.limited {
                positive(rows.limit)
            } else {
                0.0
            },
            unmet: match self.phase {
                Phase::Unmet { .. } => 1.0,
                Phase::Cost { .. } if self.target().is_some() => positive(rows.unmet),
                Phase::Cost { .. } => 0.0,
            },
        }
    }

    /// The first basis: every want unserved, at a price no plan pays, and slacks.
    fn start(&self, rows: &Rows) -> (Simplex, f64) {
        let every = rows.total + 2 * self.sub.boxes.len();
        let mut first: Vec<Column> = (0..every)
            .map(|r| Column {
                cost: 0.0,
                entries: vec![(r, 1.0)],
                tag: None,
            })
            .collect();
        let mut rhs = vec![0.0; every];
        let film = self
            .sub
            .stocks
            .iter()
            .flatten()
            .map(|&i| self.model.cans[i].price_per_m)
            .fold(0.0, f64::max);
        let scale = self
            .model
            .lengths
            .iter()
            .enumerate()
            .map(|(a, l)| self.phase.money() * l.draw_m * film + self.handling(a))
            .fold(
                if matches!(self.phase, Phase::Unmet { .. }) {
                    0.1
                } else {
                    0.0
                },
                f64::max,
            );
        let shortest = self.model.lengths.last().map_or(1, |l| l.frames);
        for (w, sub_want) in self.sub.wants.iter().enumerate() {
            let frames = self.model.wants[sub_want.want].frames;
            first[w].cost = match self.phase {
                Phase::Unmet { .. } => {
                    f64::from(frames) * self.model.wants[sub_want.want].weight as f64 / self.unit
                }
                Phase::Cost { .. } => 20.0 * scale * f64::from(frames.div_ceil(shortest)),
            };
            rhs[w] = 1.0;
        }
        for (s, cans) in self.sub.stocks.iter().enumerate() {
            for k in 0..cans.len() {
                rhs[rows.can[s] + k] = 1.0;
            }
            for a in 0..self.model.lengths.len() {
                // A little air, different in each row, keeps the simplex from stalling.
                let row = rows.link(s, a);
                rhs[row] = 1e-7 * (1.0 + (row as f64 * 0.618_033_988_75).fract());
            }
        }
        rhs[rows.limit] = f64::from(self.sub.limit) + 1e-7;
        rhs[rows.unmet] = self.target().unwrap_or(0.0) + 1e-7;
        for (k, b) in self.sub.boxes.iter().enumerate() {
            rhs[rows.total + 2 * k] = f64::from(b.most) + 1e-7;
            rhs[rows.total + 2 * k + 1] = f64::from(b.least);
            first[rows.total + 2 * k + 1].cost = 1e3 * scale;
        }
        let mut lp = Simplex::new(first, &rhs);
        for k in 0..self.sub.boxes.len() {
            lp.add(Column {
                cost: 0.0,
                entries: vec![(rows.total + 2 * k + 1, -1.0)],
                tag: None,
            });
        }
        (lp, scale)
    }
}

/// What a box adds to the prices of all plans that keep it, at least: its price times the nearer limit.
fn box_price(prices: &Prices, b: &RollBox) -> f64 {
    let price = prices.boxed[b.stock][b.length];
    price * f64::from(if 0.0 < price { b.most } else { b.least })
}

/// Where each kind of row begins.
pub(super) struct Rows {
    lengths: usize,
    pub(super) can: Vec<usize>,
    pub(super) links: usize,
    pub(super) limit: usize,
    unmet: usize,
    pub(super) total: usize,
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
