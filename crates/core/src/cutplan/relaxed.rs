//! The relaxed problem behind a [`Bound`]: its rows, its columns, and column generation over them.

use super::bound::{Bound, Bounder, Prices};
use super::counts::Fuel;
use super::lp::{Column, Simplex};
use super::sub::{Phase, Sub};

/// A relaxed problem with the columns and the basis it has so far.
#[derive(Clone)]
pub(super) struct Relaxed {
    pub(super) rows: Rows,
    lp: Simplex,
    scale: f64,
    /// More than leaving all wants unserved costs.
    penalty: f64,
    /// Chosen column of wants and cans, by row.
    fixed: Vec<Option<Column>>,
}

impl Relaxed {
    /// Choose `column` for its want or can: the others of its row leave.
    pub(super) fn fix(&mut self, column: Column) {
        let row = column.entries[0].0;
        let total = self.rows.total;
        let real = |e: &&(usize, f64)| e.0 < total;
        self.lp.bar(self.penalty, |c| {
            c.entries[0].0 == row && !c.entries.iter().filter(real).eq(&column.entries)
        });
        self.fixed[row] = Some(column);
    }

    /// The column chosen for the want or can of a row.
    pub(super) fn fixed(&self, row: usize) -> Option<&Column> {
        self.fixed[row].as_ref()
    }

    fn keeps_fixed(&self, column: &Column) -> bool {
        let fixed = self.fixed.get(column.entries[0].0).and_then(Option::as_ref);
        fixed.is_none_or(|f| f.entries == column.entries)
    }
}

impl Bounder<'_> {
    /// The relaxed problem with the columns of `pool` that belong to this part.
    pub(super) fn relaxed(&self, pool: &[Column]) -> Relaxed {
        let rows = self.rows();
        let (mut lp, scale) = self.start(&rows);
        for column in pool.iter().filter(|c| self.allows(c)) {
            lp.add(self.boxed(&rows, column));
        }
        let dearest = lp.basics().map(|(c, _)| c.cost).fold(scale, f64::max);
        Relaxed {
            fixed: vec![None; rows.links],
            penalty: 10.0 * dearest * self.sub.wants.len() as f64,
            rows,
            lp,
            scale,
        }
    }

    fn allows(&self, column: &Column) -> bool {
        let allowed = |(w, s): (usize, usize)| self.sub.wants[w].stocks.contains(&s);
        column.tag.is_none_or(allowed)
    }

    /// Column generation from where `it` is: the best bound met, which knows nothing of what is fixed, and the
    /// last basis.
    pub(super) fn relax(
        &mut self,
        it: &mut Relaxed,
        pool: &mut Vec<Column>,
        fuel: &mut Fuel,
    ) -> (Option<Bound>, Vec<(Column, f64)>) {
        let scale = it.scale;
        let mut best: Option<Bound> = None;
        loop {
            let per_pivot = it.lp.work_of_pivot();
            let done = it.lp.optimise(1e-11 * scale, fuel.0 / per_pivot + 1);
            let spent = fuel.burn(done * per_pivot + self.pricing).is_err();
            let prices = self.prices(&it.rows, &it.lp.dual);
            let mut columns = Vec::new();
            let bound = self.evaluate(prices, Some(&mut columns));
            let objective = it.lp.objective();
            let closed = objective - bound.value <= 1e-10 * scale.max(objective.abs());
            if best.as_ref().is_none_or(|b| b.value < bound.value) {
                best = Some(bound);
            }
            let before = it.lp.columns();
            for column in columns {
                let boxed = self.boxed(&it.rows, &column);
                if self.allows(&column)
                    && it.keeps_fixed(&column)
                    && it.lp.improves(&boxed, 1e-10 * scale)
                {
                    pool.push(column);
                    it.lp.add(boxed);
                }
            }
            if closed || it.lp.columns() == before || spent {
                break;
            }
        }
        let total = it.rows.total;
        let plain = |c: &Column| Column {
            entries: c.entries.iter().copied().filter(|e| e.0 < total).collect(),
            ..*c
        };
        let real = it.lp.basics().filter(|(c, _)| c.entries[0].0 < total);
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

    pub(super) fn zero_prices(&self) -> Prices {
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

    pub(super) fn want_column(&self, rows: &Rows, w: usize, s: usize, counts: &[u16]) -> Column {
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

    pub(super) fn can_column(rows: &Rows, s: usize, k: usize, counts: &[f64], cost: f64) -> Column {
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
}

/// Where each kind of row begins.
#[derive(Clone)]
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

    pub(super) fn link(&self, s: usize, a: usize) -> usize {
        self.links + s * self.lengths + a
    }
}
