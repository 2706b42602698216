//! A part of the problem that can be solved by itself: some cans by stock, some wants, a limit of rolls.

use super::model::{Model, Roll, Score};

/// A want of a [`Sub`], with the stocks (indices into [`Sub::stocks`]) that will do.
#[derive(Debug, Clone)]
pub(super) struct SubWant {
    pub(super) want: usize,
    pub(super) stocks: Vec<usize>,
}

/// A part of the problem.
#[derive(Debug, Clone)]
pub(super) struct Sub {
    /// Cans of each stock, cheapest first.
    pub(super) stocks: Vec<Vec<usize>>,
    pub(super) wants: Vec<SubWant>,
    pub(super) limit: u32,
    /// Branching: how many rolls of a length a stock must and may give to wants.
    pub(super) boxes: Vec<RollBox>,
}

/// At least `least` and at most `most` rolls of one length from one stock.
#[derive(Debug, Clone, Copy)]
pub(super) struct RollBox {
    pub(super) stock: usize,
    pub(super) length: usize,
    pub(super) least: u8,
    pub(super) most: u8,
}

impl Sub {
    /// The part with these stocks of the model and these wants, each restricted to those stocks.
    pub(super) fn new(
        model: &Model,
        stocks: &[usize],
        wants: impl Iterator<Item = usize>,
        limit: u32,
    ) -> Self {
        let cans = |&stock: &usize| {
            let mut cans: Vec<usize> = (0..model.cans.len())
                .filter(|&i| {
                    model.cans[i].stock == stock
                        && model
                            .lengths
                            .last()
                            .is_some_and(|l| l.draw_m <= model.cans[i].budget_m)
                })
                .collect();
            cans.sort_by(|&a, &b| {
                let (x, y) = (&model.cans[a], &model.cans[b]);
                x.price_per_m
                    .total_cmp(&y.price_per_m)
                    .then(x.budget_m.total_cmp(&y.budget_m))
                    .then(a.cmp(&b))
            });
            cans
        };
        let local = |stock: &usize| stocks.iter().position(|s| s == stock);
        Self {
            wants: wants
                .map(|want| SubWant {
                    want,
                    stocks: model.wants[want].stocks.iter().filter_map(local).collect(),
                })
                .filter(|w: &SubWant| !w.stocks.is_empty())
                .collect(),
            stocks: stocks.iter().map(cans).collect(),
            limit,
            boxes: Vec::new(),
        }
    }

    /// The largest number of rolls that could be of use.
    pub(super) fn rolls_at_most(&self, model: &Model) -> u32 {
        let shortest = model.lengths.last().map_or(1, |l| l.frames);
        self.wants
            .iter()
            .map(|w| model.wants[w.want].frames.div_ceil(shortest))
            .sum()
    }

    /// More than any sensible plan of this part costs.
    pub(super) fn cost_at_most(&self, model: &Model) -> f64 {
        let film: f64 = self
            .stocks
            .iter()
            .flatten()
            .map(|&i| {
                let can = &model.cans[i];
                can.budget_m * can.price_per_m + can.mean_m * model.short_end_price_per_m
            })
            .sum();
        let dearest = model.lengths.iter().map(|l| l.handling).fold(0.0, f64::max);
        film + f64::from(self.rolls_at_most(model).min(self.limit)) * dearest
    }

    /// The least weight of an unmet frame: all unmet sums are multiples of it.
    pub(super) fn grain(&self, model: &Model) -> u64 {
        self.wants
            .iter()
            .map(|w| model.wants[w.want].weight)
            .min()
            .unwrap_or(1)
    }

    /// The score of `rolls` on the wants of this part.
    pub(super) fn score(&self, model: &Model, rolls: &[Roll]) -> Score {
        model.score(rolls, self.wants.iter().map(|w| w.want))
    }

    /// Most important weight, the unit in which the unmet frames are counted while searching.
    pub(super) fn weight_unit(&self, model: &Model) -> f64 {
        self.wants
            .iter()
            .map(|w| model.wants[w.want].weight)
            .max()
            .unwrap_or(1) as f64
    }

    /// Parts of the whole problem that share no stock; wants without any can belong to none.
    pub(super) fn components(model: &Model) -> Vec<Self> {
        let mut root: Vec<usize> = (0..model.stocks).collect();
        fn find(root: &[usize], mut s: usize) -> usize {
            while root[s] != s {
                s = root[s];
            }
            s
        }
        for w in &model.wants {
            for pair in w.stocks.windows(2) {
                let (a, b) = (find(&root, pair[0]), find(&root, pair[1]));
                root[a.max(b)] = a.min(b);
            }
        }
        let roots: Vec<usize> = (0..model.stocks).map(|s| find(&root, s)).collect();
        (0..model.stocks)
            .filter(|&s| roots[s] == s)
            .map(|r| {
                let stocks: Vec<usize> = (0..model.stocks).filter(|&s| roots[s] == r).collect();
                let wants = (0..model.wants.len()).filter(|&w| {
                    model.wants[w]
                        .stocks
                        .first()
                        .is_some_and(|&s| roots[s] == r)
                });
                Self::new(model, &stocks, wants, model.limit)
            })
            .filter(|sub| !sub.wants.is_empty())
            .collect()
    }
}

/// Which of the two goals is being bounded or searched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Phase {
    /// Weighted unmet frames, in units of [`Sub::weight_unit`], plus `money` × cost: so little that it only
    /// decides between plans of equal unmet frames, and gives the search a direction.
    Unmet {
        /// What one unit of money weighs.
        money: f64,
    },
    /// Cost, with weighted unmet frames no more than `target`.
    Cost {
        /// Weighted unmet frames allowed.
        target: u64,
    },
}

impl Phase {
    /// What one unit of money weighs.
    pub(super) fn money(self) -> f64 {
        match self {
            Self::Unmet { money } => money,
            Self::Cost { .. } => 1.0,
        }
    }

    /// The goal of a plan with this score, `unit` being the unit of unmet frames.
    pub(super) fn goal(self, score: Score, unit: f64) -> f64 {
        match self {
            Self::Unmet { money } => score.unmet as f64 / unit + money * score.cost,
            Self::Cost { target } if score.unmet <= target => score.cost,
            Self::Cost { .. } => f64::INFINITY,
        }
    }
}
