//! What no loading of the rolls that are left can do better than.

use super::model::{Item, Model};
use super::search::Cost;

/// Bounds for any set of the rolls of one search.
#[derive(Debug)]
pub(super) struct Bound {
    /// Most reels of one run.
    most: usize,
    /// Most solution of one run, ml.
    full: i64,
    /// `least[m][q]`: least ml of exactly m runs with q reels or more between them.
    least: Vec<Vec<i64>>,
    /// Longest film that two rolls on one reel may have together; none when no reel takes two.
    two: Option<i64>,
    /// Rolls by the shortest time that they allow, as places in the search's order.
    by_lo: Vec<usize>,
    /// Whether a roll fits beside the shortest of its group.
    short: Vec<bool>,
}

const NEVER: i64 = i64::MAX / 4;

impl Bound {
    pub(super) fn new(model: &Model, rolls: &[Item]) -> Self {
        let most = model.vessels.iter().map(|v| v.ml.len()).max().unwrap_or(0);
        let volume = |k: usize| {
            let fits = model.vessels.iter().filter(|v| k <= v.ml.len());
            fits.map(|v| v.ml[k - 1]).min().unwrap_or(NEVER)
        };
        let mut volumes = vec![NEVER; most + 1];
        for k in (1..=most).rev() {
            volumes[k] = volume(k).min(volumes.get(k + 1).copied().unwrap_or(NEVER));
        }
        let n = rolls.len();
        let mut least = vec![vec![NEVER; n + 1]; n + 1];
        least[0][0] = 0;
        for m in 1..=n {
            for q in 0..=n {
                least[m][q] = (1..=most.min(n))
                    .map(|k| volumes[k] + least[m - 1][q.saturating_sub(k)])
                    .min()
                    .unwrap_or(NEVER)
                    .min(NEVER);
            }
        }
        let usable = model.vessels.iter().map(|v| &model.kinds[v.kind]);
        let two = usable
            .filter(|k| k.takes_two)
            .map(|k| k.longest - model.between)
            .max();
        let mut by_lo: Vec<usize> = (0..n).collect();
        by_lo.sort_by_key(|&i| (rolls[i].group, rolls[i].lo, i));
        let short = (0..n)
            .map(|i| {
                let others = (0..n).filter(|&j| j != i && rolls[j].group == rolls[i].group);
                let shortest = others.map(|j| rolls[j].len).min();
                matches!((shortest, two), (Some(l), Some(two)) if l + rolls[i].len <= two)
            })
            .collect();
        Self {
            most,
            full: model.vessels.iter().map(|v| v.full).max().unwrap_or(0),
            least,
            two,
            by_lo,
            short,
        }
    }

    /// Of the rolls `left`, given as places in order; `reels` when each is used once.
    pub(super) fn of(&self, rolls: &[Item], left: &[usize], reels: Option<usize>) -> Cost {
        if left.is_empty() {
            return Cost::default();
        }
        let (mut runs, mut ml, mut q) = (0, 0, 0);
        for group in left.chunk_by(|&a, &b| rolls[a].group == rolls[b].group) {
            let need = self.reels(rolls, group);
            let (m, v) = self.windows(rolls, group).max(self.filled(need));
            runs += m;
            ml += v;
            q += need;
        }
        let mut needs: Vec<i64> = left.iter().map(|&i| rolls[i].need).collect();
        let out = reels.map_or(0, |have| q.saturating_sub(have));
        if 0 < out {
            // Leaving a roll out saves one reel and one run at most.
            needs.sort_unstable();
            needs.truncate(needs.len() - out);
            q -= out;
            runs = runs.saturating_sub(out);
            ml = 0;
        }
        let need = (needs.iter().sum::<i64>() + 999) / 1000;
        let by_stock = self.runs_for_stock(need);
        let m = runs.max(q.div_ceil(self.most.max(1))).max(by_stock);
        let filled = self.least[m][q].max(need);
        Cost {
            unloaded: out,
            runs: m,
            ml: if m == runs { ml.max(filled) } else { filled },
        }
    }

    fn runs_for_stock(&self, need: i64) -> usize {
        if self.full == 0 {
            return 0;
        }
        (need as usize).div_ceil(self.full as usize)
    }

    /// Runs and solution for so many reels.
    fn filled(&self, q: usize) -> (usize, i64) {
        let m = q.div_ceil(self.most.max(1));
        (m, self.least[m][q])
    }

    /// Fewest reels for the rolls, whatever their times: the longest takes the shortest.
    fn reels(&self, rolls: &[Item], group: &[usize]) -> usize {
        let Some(two) = self.two else {
            return group.len();
        };
        let mut lengths: Vec<i64> = group.iter().map(|&i| rolls[i].len).collect();
        lengths.sort_unstable();
        let (mut from, mut to, mut reels) = (0, lengths.len(), 0);
        while from < to {
            to -= 1;
            from += usize::from(from < to && lengths[from] + lengths[to] <= two);
            reels += 1;
        }
        reels
    }

    /// Rolls whose whole intervals lie in windows that do not meet share no run: the best sum over such windows.
    fn windows(&self, rolls: &[Item], group: &[usize]) -> (usize, i64) {
        // best[j]: proven of the rolls whose longest times are the first j of the group.
        let mut best = vec![(0, 0); group.len() + 1];
        let mut settled = 0;
        let here = rolls[group[0]].group;
        let mut rank = vec![usize::MAX; rolls.len()];
        for (j, &i) in group.iter().enumerate() {
            rank[i] = j;
        }
        let mut last = None;
        for &first in &self.by_lo {
            if rolls[first].group != here
                || rank[first] == usize::MAX
                || last == Some(rolls[first].lo)
            {
                continue;
            }
            let from = rolls[first].lo;
            last = Some(from);
            while settled < group.len() && rolls[group[settled]].hi < from {
                settled += 1;
                best[settled] = best[settled].max(best[settled - 1]);
            }
            let before = best[settled];
            let mut halves = 0;
            for (j, &i) in group.iter().enumerate() {
                if from <= rolls[i].lo {
                    halves += if self.short[i] { 1 } else { 2 };
                    let (m, v) = self.filled(usize::div_ceil(halves, 2));
                    best[j + 1] = best[j + 1].max((before.0 + m, before.1 + v));
                }
            }
        }
        best.into_iter().max().unwrap_or_default()
    }
}
