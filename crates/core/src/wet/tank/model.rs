//! The bench in whole numbers: times in millionths of a minute, film in µm, solution in µl. So sums are exact, and
//! what is called equal is equal.

use super::{AREA_MM2, BETWEEN_MM, Bench, Developer, Tank, default_tolerance};
use crate::film::WIDTH_MM;

/// One roll.
#[derive(Debug, Clone, Copy)]
pub(super) struct Item {
    /// Its place in the bench.
    pub roll: usize,
    /// Rolls of one group have process, developer and kind in common.
    pub group: usize,
    /// The time it wants, in minutes.
    pub time: f64,
    /// Shortest and longest time that it allows.
    pub lo: i64,
    pub hi: i64,
    /// Its length, for what fits beside it on a reel.
    pub len: i64,
    /// Rolls of one group with the same size are worth the same to a reel and to a bath.
    pub size: i64,
    /// Working solution that holds its least stock.
    pub need: i64,
}

/// A tank that has reels.
#[derive(Debug, Clone)]
pub(super) struct Vessel {
    pub tank: usize,
    pub kind: usize,
    /// ml for one reel, two and so on; cut off where the reels at hand end.
    pub ml: Vec<i64>,
    /// What it holds when full.
    pub full: i64,
}

/// A type of reel.
#[derive(Debug, Clone, Copy)]
pub(super) struct ReelKind {
    pub count: usize,
    pub longest: i64,
    pub takes_two: bool,
}

/// A way to load some rolls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Fit {
    pub ml: i64,
    pub reels: usize,
    pub vessel: usize,
    pub kind: usize,
}

#[derive(Debug)]
pub(super) struct Model {
    /// Rolls by group, then by the longest time that they allow.
    pub items: Vec<Item>,
    pub vessels: Vec<Vessel>,
    pub kinds: Vec<ReelKind>,
    pub between: i64,
    pub reused: bool,
}

/// Millionths of a minute.
pub(super) fn interval(bench: &Bench, roll: usize) -> (i64, i64) {
    let r = &bench.rolls[roll];
    let share = tolerance(bench, roll) / 100.0;
    let micro = |t: f64| (t * 1e6).round() as i64;
    (
        micro(r.time_min * (1.0 - share)),
        micro(r.time_min * (1.0 + share)),
    )
}

/// A roll's tolerance in percent.
pub(super) fn tolerance(bench: &Bench, roll: usize) -> f64 {
    let own = bench.rolls[roll].tolerance_percent;
    own.or(bench.tolerance_percent)
        .unwrap_or_else(|| default_tolerance(&bench.rolls[roll].process))
}

/// Whole µm.
fn micrometres(mm: f64) -> i64 {
    (mm * 1000.0).round() as i64
}

/// The developer of that name, where the bench knows it.
pub(super) fn developer<'b>(bench: &'b Bench, id: &str) -> Option<&'b Developer> {
    bench.developers.iter().find(|d| d.id == id)
}

/// Least stock in ml for a length of film [D12, G1].
pub(super) fn least_stock(least_ml: f64, film_mm: f64) -> f64 {
    least_ml * film_mm * WIDTH_MM / AREA_MM2
}

/// Parts of working solution to one of stock.
pub(super) fn parts(developer: Option<&Developer>) -> f64 {
    1.0 + developer.map_or(0.0, |d| d.water_parts)
}

impl Model {
    pub(super) fn new(bench: &Bench) -> Self {
        let between = micrometres(bench.between_mm.unwrap_or(BETWEEN_MM));
        let mut groups: Vec<(&str, &str, Option<&str>)> = Vec::new();
        let mut items: Vec<Item> = Vec::with_capacity(bench.rolls.len());
        for (roll, r) in bench.rolls.iter().enumerate() {
            let key = (
                r.process.as_str(),
                r.developer.as_str(),
                r.own_kind.as_deref(),
            );
            let group = groups.iter().position(|g| *g == key).unwrap_or_else(|| {
                groups.push(key);
                groups.len() - 1
            });
            let (lo, hi) = interval(bench, roll);
            let developer = developer(bench, &r.developer);
            let least = developer.and_then(|d| d.least_stock_ml).unwrap_or(0.0);
            let need = least_stock(least, r.film_mm) * parts(developer) * 1000.0;
            let len = micrometres(r.film_mm);
            items.push(Item {
                roll,
                group,
                time: r.time_min,
                lo,
                hi,
                len,
                size: len,
                need: need.round() as i64,
            });
        }
        items.sort_by_key(|i| (i.group, i.hi, i.lo, i.roll));
        let kinds: Vec<ReelKind> = bench
            .reels
            .iter()
            .map(|r| ReelKind {
                count: r.count as usize,
                longest: micrometres(r.longest_mm),
                takes_two: r.takes_two,
            })
            .collect();
        let vessels = bench
            .tanks
            .iter()
            .enumerate()
            .filter_map(|(tank, t)| vessel(bench, &kinds, tank, t))
            .collect();
        let mut model = Self {
            items,
            vessels,
            kinds,
            between,
            reused: bench.reels_reused,
        };
        model.merge_sizes();
        model
    }

    /// Where the reels' volume always holds stock enough, all that matters of a length is what it fits beside: lengths
    /// that fit beside the same lengths get one size, that of the longest of them.
    fn merge_sizes(&mut self) {
        let all: Vec<usize> = (0..self.items.len()).collect();
        let groups: Vec<&[usize]> = all
            .chunk_by(|&a, &b| self.items[a].group == self.items[b].group)
            .collect();
        for group in groups {
            if self.stock_may_bind(group) {
                continue;
            }
            let mut lengths: Vec<i64> = group.iter().map(|&i| self.items[i].len).collect();
            lengths.sort_unstable();
            lengths.dedup();
            let mut size = *lengths.last().expect("a group has a roll");
            let mut sizes = vec![size; lengths.len()];
            for at in (0..lengths.len() - 1).rev() {
                let (a, b) = (lengths[at], lengths[at + 1]);
                let alike = self.kinds.iter().all(|k| {
                    (a <= k.longest) == (b <= k.longest)
                        && lengths
                            .iter()
                            .all(|&l| self.pair(k, a, l) == self.pair(k, b, l))
                });
                if !alike {
                    size = a;
                }
                sizes[at] = size;
            }
            for &i in group {
                let item = &mut self.items[i];
                let at = lengths.binary_search(&item.len).expect("it is there");
                item.size = sizes[at];
            }
        }
    }

    /// Whether some loading of the group's rolls might need more solution than covers its reels.
    fn stock_may_bind(&self, group: &[usize]) -> bool {
        let mut needs: Vec<i64> = group.iter().map(|&i| self.items[i].need).collect();
        needs.sort_unstable_by(|a, b| b.cmp(a));
        self.vessels.iter().any(|v| {
            let rolls = if self.kinds[v.kind].takes_two { 2 } else { 1 };
            (1..=v.ml.len()).any(|k| {
                let most: i64 = needs.iter().take(k * rolls).sum();
                v.ml[k - 1] * 1000 < most
            })
        })
    }

    fn pair(&self, kind: &ReelKind, a: i64, b: i64) -> bool {
        kind.takes_two && a + b + self.between <= kind.longest
    }

    /// Reels of a type for rolls from the longest to the shortest, and which of them go together; `None` when one is too
    /// long. Each in turn takes the shortest left if that fits, which needs the fewest reels: where the longest fits
    /// beside any, giving it another than the shortest helps nobody.
    pub(super) fn on_reels(&self, kind: usize, rolls: &[usize]) -> Option<Vec<Vec<usize>>> {
        let mut reels = Vec::new();
        self.wind(kind, rolls, |a, b| {
            reels.push([a].into_iter().chain(b).collect());
        })
        .then_some(reels)
    }

    fn wind(
        &self,
        kind: usize,
        rolls: &[usize],
        mut reel: impl FnMut(usize, Option<usize>),
    ) -> bool {
        let k = &self.kinds[kind];
        let Some(&longest) = rolls.first() else {
            return true;
        };
        if k.longest < self.items[longest].len {
            return false;
        }
        let (mut from, mut to) = (0, rolls.len());
        while from < to {
            let (a, b) = (rolls[from], rolls[to - 1]);
            let both = from + 1 < to && self.pair(k, self.items[a].len, self.items[b].len);
            reel(a, both.then_some(b));
            from += 1;
            to -= usize::from(both);
        }
        true
    }

    /// The least solution in which rolls, from the longest to the shortest, can be loaded on reels of a type of which
    /// `left` are at hand.
    pub(super) fn fit_on(&self, kind: usize, left: usize, rolls: &[usize]) -> Option<Fit> {
        let mut reels = 0;
        if !self.wind(kind, rolls, |_, _| reels += 1) || left < reels || reels == 0 {
            return None;
        }
        let need: i64 = rolls.iter().map(|&i| self.items[i].need).sum();
        let need = (need + 999) / 1000;
        self.vessels
            .iter()
            .enumerate()
            .filter(|(_, v)| v.kind == kind && reels <= v.ml.len() && need <= v.full)
            .map(|(vessel, v)| Fit {
                ml: v.ml[reels - 1].max(need),
                reels,
                vessel,
                kind,
            })
            .min_by_key(|f| (f.ml, self.vessels[f.vessel].ml.len(), f.vessel))
    }

    /// The least solution over all types of reel, when all reels are at hand.
    pub(super) fn fit(&self, rolls: &[usize]) -> Option<Fit> {
        (0..self.kinds.len())
            .filter_map(|k| self.fit_on(k, self.kinds[k].count, rolls))
            .min_by_key(|f| (f.ml, f.reels, f.vessel))
    }

    /// One time for all, in minutes, whose worst deviation is least: between the shortest and the longest wanted it is
    /// their harmonic mean, from which both are off by the same share; and it keeps within what every roll allows.
    pub(super) fn time(&self, rolls: &[usize]) -> f64 {
        let items = || rolls.iter().map(|&i| &self.items[i]);
        let shortest = items().map(|i| i.time).fold(f64::INFINITY, f64::min);
        let longest = items().map(|i| i.time).fold(0.0, f64::max);
        let (lo, hi) = self.window(rolls);
        if shortest == longest {
            return shortest;
        }
        let middle = 2.0 * shortest * longest / (shortest + longest);
        middle.max(lo as f64 / 1e6).min(hi as f64 / 1e6)
    }

    /// The times that every roll allows; from a longer to a shorter one when there is none.
    pub(super) fn window(&self, rolls: &[usize]) -> (i64, i64) {
        rolls.iter().fold((0, i64::MAX), |(lo, hi), &i| {
            (lo.max(self.items[i].lo), hi.min(self.items[i].hi))
        })
    }

    /// Sorts rolls from the longest to the shortest.
    pub(super) fn by_length(&self, rolls: &mut [usize]) {
        rolls.sort_by_key(|&i| (-self.items[i].len, i));
    }
}

fn vessel(bench: &Bench, kinds: &[ReelKind], tank: usize, t: &Tank) -> Option<Vessel> {
    let kind = bench.reels.iter().position(|r| r.id == t.reel)?;
    let reels = t.ml.len().min(kinds[kind].count);
    let full = i64::from(*t.ml.last()?);
    (0 < reels).then(|| Vessel {
        tank,
        kind,
        ml: t.ml[..reels].iter().map(|&ml| i64::from(ml)).collect(),
        full,
    })
}
