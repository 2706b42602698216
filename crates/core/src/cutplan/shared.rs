//! Which stock serves which shared want, exactly: by dynamic programming over the stocks.
//!
//! Once each want has its stock, the stocks are independent and their scores add up. For each stock there is a
//! table of what serving its own wants and a set of the shared ones comes to at best. The table holds lower bounds
//! first; the best way through the tables is found, the entries on it are solved, what that teaches of the other
//! entries is noted, and so on until the best way is made of solved entries only. It gives up where the tables
//! would be too large.
//!
//! # Source
//! Own derivation.

use super::counts::Fuel;
use super::model::{Model, RollLength, Score};
use super::part::Solved;
use super::sub::{Sub, SubWant};
use super::tree::Leaves;

/// Entries all tables may have, and steps one pass over them may take.
const ENTRIES: usize = 1 << 16;
const STEPS: usize = 1 << 22;

/// One stock with one set of shared wants and a number of cassettes.
#[derive(Debug, Clone)]
struct Entry {
    low: Score,
    solved: bool,
}

/// One stock in its turn. Sets of shared wants are bits in the order of `shared`; what the stocks so far have
/// taken of the wants that a later stock may still take are bits as well.
#[derive(Debug)]
struct Stage {
    stock: usize,
    own: Vec<usize>,
    shared: Vec<usize>,
    /// By want of the part: what serving it in full costs at least.
    serve: Vec<f64>,
    /// Shared wants for which this is the last stock.
    last: usize,
    /// By what was taken before: what of it stays of interest, and which of `shared` it contains.
    before: Vec<(usize, usize)>,
    /// By set of shared wants: what of it stays of interest.
    after: Vec<usize>,
    table: Vec<Entry>,
    states: usize,
}

/// The tables of a part.
pub(super) struct Tables<'a> {
    model: &'a Model,
    sub: &'a Sub,
    /// Cassettes told apart; 0 if they are not counted here.
    cassettes: usize,
    stages: Vec<Stage>,
    steps: usize,
}

/// By want: the least that its rolls cost if it is served in full from stock `s`, film and handling.
fn serving_costs(model: &Model, sub: &Sub, s: usize) -> Vec<f64> {
    let prices = sub.stocks[s].iter().map(|&i| model.cans[i].price_per_m);
    let price = prices.reduce(f64::min).unwrap_or(0.0);
    let frames = |w: &SubWant| model.wants[w.want].frames as usize;
    let longest = sub.wants.iter().map(frames).max().unwrap_or(0);
    let mut least = vec![0.0; longest + 1];
    for left in 1..=longest {
        let with = |l: &RollLength| {
            l.draw_m * price + l.handling + least[left.saturating_sub(l.frames as usize)]
        };
        least[left] = model.lengths.iter().map(with).fold(f64::INFINITY, f64::min);
    }
    sub.wants.iter().map(|w| least[frames(w)]).collect()
}

impl<'a> Tables<'a> {
    /// The tables of a part, telling numbers of cassettes apart up to `cassettes`, or not at all for 0; none if they
    /// were too large.
    pub(super) fn new(model: &'a Model, sub: &'a Sub, cassettes: usize) -> Option<Self> {
        let stocks = sub.stocks.len();
        let is_shared = |w: &usize| 1 < sub.wants[*w].stocks.len();
        let mut open: Vec<usize> = Vec::new();
        let mut left: Vec<usize> = (0..stocks).collect();
        let (mut entries, mut steps) = (0, 0);
        let mut stages = Vec::new();
        while !left.is_empty() {
            // The wants that stay open after a stock, if it were next.
            let after = |s: usize| -> Vec<usize> {
                let later = |w: &usize| {
                    sub.wants[*w]
                        .stocks
                        .iter()
                        .any(|x| *x != s && left.contains(x))
                };
                let begun = |w: &usize| open.contains(w) || sub.wants[*w].stocks.contains(&s);
                (0..sub.wants.len())
                    .filter(|w| is_shared(w) && begun(w) && later(w))
                    .collect()
            };
            let s = *left.iter().min_by_key(|s| (after(**s).len(), **s))?;
            let next = after(s);
            let of_stock = |w: &usize| sub.wants[*w].stocks.contains(&s);
            let (shared, own): (Vec<usize>, Vec<usize>) =
                (0..sub.wants.len()).filter(of_stock).partition(is_shared);
            let bits = |from: &[usize], set: usize, to: &[usize]| -> usize {
                (0..from.len())
                    .filter(|k| set >> k & 1 == 1)
                    .filter_map(|k| to.iter().position(|w| *w == from[k]))
                    .fold(0, |bits, k| bits | 1 << k)
            };
            let free = shared.iter().filter(|w| !open.contains(w)).count();
            if 16 < open.len().max(shared.len()).max(next.len()) {
                return None;
            }
            // A want open before and of this stock is taken before, now, or later.
            let ways = 3usize.pow((shared.len() - free) as u32)
                << (open.len() - (shared.len() - free) + free);
            entries += (cassettes + 1) << shared.len();
            steps += ways * (cassettes + 1) * (cassettes + 2) / 2;
            if ENTRIES < entries || STEPS < steps {
                return None;
            }
            stages.push(Stage {
                stock: s,
                last: (0..shared.len())
                    .filter(|&k| !next.contains(&shared[k]))
                    .fold(0, |set, k| set | 1 << k),
                before: (0..1 << open.len())
                    .map(|set| (bits(&open, set, &next), bits(&open, set, &shared)))
                    .collect(),
                after: (0..1 << shared.len())
                    .map(|set| bits(&shared, set, &next))
                    .collect(),
                table: Vec::new(),
                states: (1 << next.len()) * (cassettes + 1),
                serve: serving_costs(model, sub, s),
                own,
                shared,
            });
            left.retain(|x| *x != s);
            open = next;
        }
        let mut it = Self {
            model,
            sub,
            cassettes,
            stages,
            steps,
        };
        for k in 0..it.stages.len() {
            it.stages[k].table = it.first_table(&it.stages[k]);
        }
        Some(it)
    }

    /// Improve `it` and its floor. What is found is proven if the work suffices.
    pub(super) fn solve(mut self, it: &mut Solved, fuel: &mut Fuel) {
        let mut leaves = Leaves::default();
        if !self.run(it, &mut leaves, fuel) {
            let at_most = self.sub.rolls_at_most(self.model).min(self.sub.limit) as usize;
            if let Some(mut counted) = Self::new(self.model, self.sub, at_most) {
                counted.run(it, &mut leaves, fuel);
            }
        }
    }

    /// Lower bounds to begin with: a roll serves one want, with no more than the longest roll's frames; and if
    /// nothing is left unmet, each want costs its least.
    fn first_table(&self, stage: &Stage) -> Vec<Entry> {
        let longest = self.model.lengths.first().map_or(1, |l| l.frames).max(1);
        let n = self.cassettes + 1;
        let mut table = Vec::with_capacity(n << stage.shared.len());
        for set in 0..1 << stage.shared.len() {
            let mut pieces: Vec<u64> = Vec::new();
            let wants = self.wants(stage, set);
            let served_all: f64 = wants.iter().map(|&w| stage.serve[w]).sum();
            for w in wants {
                let want = &self.model.wants[self.sub.wants[w].want];
                let mut frames = want.frames;
                while 0 < frames {
                    let piece = frames.min(longest);
                    pieces.push(u64::from(piece) * want.weight);
                    frames -= piece;
                }
            }
            pieces.sort_unstable_by_key(|p| std::cmp::Reverse(*p));
            for k in 0..n {
                let served = if self.cassettes == 0 { pieces.len() } else { k };
                let unmet = pieces.iter().skip(served).sum();
                let cost = if unmet == 0 { served_all } else { 0.0 };
                let low = Score { unmet, cost };
                table.push(Entry { low, solved: false });
            }
        }
        table
    }

    /// Wants of a stock with this set of the shared ones.
    fn wants(&self, stage: &Stage, set: usize) -> Vec<usize> {
        let chosen = (0..stage.shared.len()).filter(|k| set >> k & 1 == 1);
        let mut wants: Vec<usize> = chosen.map(|k| stage.shared[k]).collect();
        wants.extend(&stage.own);
        wants.sort_unstable();
        wants
    }

    /// Whether a plan that keeps the limit of rolls was found to be the best, or nothing can be better than `it`.
    fn run(&mut self, it: &mut Solved, leaves: &mut Leaves, fuel: &mut Fuel) -> bool {
        loop {
            if fuel.burn(self.steps as u64 / 8 + 1).is_err() {
                return true;
            }
            let Some((low, way)) = self.best_way(it.score) else {
                // Whatever is left comes to as much as what is known.
                it.floor = it.score;
                return true;
            };
            if it.floor.less(low) {
                it.floor = low;
            }
            let mut rolls = Vec::new();
            let mut known = true;
            for (k, &entry) in way.iter().enumerate() {
                known &= self.stages[k].table[entry].solved;
                let solved = self.evaluate(k, entry, leaves, fuel);
                rolls.extend(solved.rolls);
            }
            let fits = rolls.len() <= self.sub.limit as usize;
            let score = self.sub.score(self.model, &rolls);
            if fits && score.beats(it.score, self.model.roll_tie) {
                it.score = score;
                it.rolls = rolls;
            }
            if known {
                return fits || 0 < self.cassettes;
            }
        }
    }

    /// The best way through the tables that is better than `known`: what it comes to at least, and its entries.
    fn best_way(&self, known: Score) -> Option<(Score, Vec<usize>)> {
        let n = self.cassettes + 1;
        let none = Score {
            unmet: u64::MAX,
            cost: f64::INFINITY,
        };
        let mut value = vec![none; n];
        value[0] = Score::NOTHING;
        let mut trace: Vec<Vec<(u32, u32)>> = Vec::new();
        for stage in &self.stages {
            let mut next = vec![none; stage.states];
            let mut from = vec![(0, 0); stage.states];
            let all = stage.after.len() - 1;
            for (at, &v) in value.iter().enumerate().filter(|(_, v)| v.less(known)) {
                let (keep, taken) = stage.before[at / n];
                let must = stage.last & !taken;
                let may = all & !taken & !must;
                let mut part = may;
                loop {
                    let set = part | must;
                    let to = (keep | stage.after[set]) * n;
                    let mut before = none;
                    for used in 0..n - at % n {
                        let low = stage.table[set * n + used].low;
                        // More cassettes for nothing gained are of no use.
                        if low.less(before) {
                            before = low;
                            let total = v.plus(low);
                            let to = to + at % n + used;
                            if total.less(next[to]) && total.less(known) {
                                next[to] = total;
                                from[to] = (at as u32, (set * n + used) as u32);
                            }
                        }
                    }
                    if part == 0 {
                        break;
                    }
                    part = (part - 1) & may;
                }
            }
            value = next;
            trace.push(from);
        }
        let best = (0..value.len()).reduce(|a, b| if value[b].less(value[a]) { b } else { a })?;
        if !value[best].less(known) {
            return None;
        }
        let mut way = Vec::new();
        let mut at = best;
        for from in trace.iter().rev() {
            let (before, entry) = from[at];
            way.push(entry as usize);
            at = before as usize;
        }
        way.reverse();
        Some((value[best], way))
    }

    /// Solve an entry, and note what it says of the others of its stock.
    fn evaluate(&mut self, k: usize, entry: usize, leaves: &mut Leaves, fuel: &mut Fuel) -> Solved {
        let n = self.cassettes + 1;
        let (set, used) = (entry / n, entry % n);
        let stage = &self.stages[k];
        let wants = self.wants(stage, set);
        let limit = if self.cassettes == 0 {
            self.sub.limit
        } else {
            used as u32
        };
        let part = Sub {
            stocks: vec![self.sub.stocks[stage.stock].clone()],
            wants: wants
                .iter()
                .map(|&w| SubWant {
                    want: self.sub.wants[w].want,
                    stocks: vec![0],
                })
                .collect(),
            limit,
            boxes: Vec::new(),
        };
        let solved = leaves.exact(self.model, &part, fuel);
        if stage.table[entry].solved {
            return solved;
        }
        let weight = |bit: usize| {
            let want = &self.model.wants[self.sub.wants[stage.shared[bit]].want];
            u64::from(want.frames) * want.weight
        };
        let weights: Vec<u64> = (0..stage.shared.len()).map(weight).collect();
        let serve: Vec<f64> = stage.shared.iter().map(|&w| stage.serve[w]).collect();
        let rolls = solved.rolls.len();
        let table = &mut self.stages[k].table;
        for other in 0..table.len() / n {
            // Wants left out take at most their weight off the unmet frames. Wants that are added are unmet in
            // part, or cost at least what serving them costs: leaving out their rolls again saves it.
            let missing = set & !other;
            let less_unmet: u64 = (0..weights.len())
                .filter(|b| missing >> b & 1 == 1)
                .map(|b| weights[b])
                .sum();
            let Some(unmet) = solved.floor.unmet.checked_sub(less_unmet) else {
                continue;
            };
            let added = other & !set;
            let more: f64 = (0..serve.len())
                .filter(|b| added >> b & 1 == 1)
                .map(|b| serve[b])
                .sum();
            let low = Score {
                unmet,
                cost: (solved.floor.cost + more) * (1.0 - 1e-12),
            };
            // Fewer cassettes are never better.
            for e in &mut table[other * n..=other * n + used] {
                if !e.solved && e.low.less(low) {
                    e.low = low;
                }
            }
        }
        // With as many cassettes as are used, or more up to the limit, it is the same.
        let least = if self.cassettes == 0 {
            0
        } else {
            rolls.min(used)
        };
        for e in &mut table[set * n + least..=entry] {
            e.low = if e.low.less(solved.floor) {
                solved.floor
            } else {
                e.low
            };
            e.solved = true;
        }
        solved
    }
}

#[cfg(test)]
mod tests;
