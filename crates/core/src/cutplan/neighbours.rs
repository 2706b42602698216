//! Large-neighbourhood search: solve one, two or three stocks of a plan again exactly, the rest being kept.

use super::Effort;
use super::model::{Model, Roll};
use super::part::refine;
use super::sub::Sub;

/// A plan no worse than `rolls`, improved stock by stock.
pub(super) fn improve(
    model: &Model,
    sub: &Sub,
    mut rolls: Vec<Roll>,
    effort: &Effort,
) -> Vec<Roll> {
    if sub.stocks.len() < 2 {
        return rolls;
    }
    let stock_of = |can: usize| {
        sub.stocks
            .iter()
            .position(|cans| cans.contains(&can))
            .unwrap_or(0)
    };
    let small = Effort {
        nodes: effort.nodes / 50,
        pivots: 2_000,
        neighbourhoods: 0,
    };
    let mut left = effort.neighbourhoods;
    let all: Vec<usize> = (0..sub.stocks.len()).collect();
    for size in 1..=3usize {
        let groups: Vec<Vec<usize>> = groups(sub, &all, size);
        // A neighbourhood is worth another look only after one of its stocks has changed.
        let mut dirty = vec![true; groups.len()];
        while let Some(g) = dirty.iter().position(|d| *d) {
            dirty[g] = false;
            if left == 0 {
                return rolls;
            }
            left -= 1;
            let (inside, outside): (Vec<Roll>, Vec<Roll>) = rolls
                .iter()
                .partition(|r| groups[g].contains(&stock_of(r.can)));
            let elsewhere = |w: usize| outside.iter().any(|r| r.want == w);
            let local = Sub {
                stocks: groups[g].iter().map(|&s| sub.stocks[s].clone()).collect(),
                wants: sub
                    .wants
                    .iter()
                    .filter(|w| !elsewhere(w.want))
                    .map(|w| super::sub::SubWant {
                        want: w.want,
                        stocks: w
                            .stocks
                            .iter()
                            .filter_map(|s| groups[g].iter().position(|x| x == s))
                            .collect(),
                    })
                    .filter(|w| !w.stocks.is_empty())
                    .collect(),
                limit: sub.limit - outside.len() as u32,
            };
            if local.wants.is_empty() {
                continue;
            }
            let before = local.score(model, &inside);
            let solved = refine(model, &local, inside, &small);
            if solved.score.beats(before, model.roll_tie) {
                rolls = outside.into_iter().chain(solved.rolls).collect();
                for (h, other) in groups.iter().enumerate() {
                    if h != g && other.iter().any(|s| groups[g].contains(s)) {
                        dirty[h] = true;
                    }
                }
            }
        }
    }
    rolls
}

/// Groups of `size` stocks that are linked by shared wants.
fn groups(sub: &Sub, all: &[usize], size: usize) -> Vec<Vec<usize>> {
    let linked = |a: usize, b: usize| {
        sub.wants
            .iter()
            .any(|w| w.stocks.contains(&a) && w.stocks.contains(&b))
    };
    let mut out: Vec<Vec<usize>> = all.iter().map(|&s| vec![s]).collect();
    for _ in 1..size {
        let mut next = Vec::new();
        for group in &out {
            for &s in all {
                if !group.contains(&s) && group.iter().any(|&g| linked(g, s)) {
                    let mut bigger = group.clone();
                    bigger.push(s);
                    bigger.sort_unstable();
                    next.push(bigger);
                }
            }
        }
        next.sort();
        next.dedup();
        out = next;
    }
    out
}
