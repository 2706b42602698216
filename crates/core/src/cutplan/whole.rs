//! The whole problem: parts that share no stock, joined by the cassettes at hand.

use super::Effort;
use super::counts::Fuel;
use super::model::{Model, Roll, Score};
use super::part::{self, Solved};
use super::sub::Sub;

/// Solve the whole problem.
pub(super) fn solve(model: &Model, effort: &Effort) -> Solved {
    let parts = Sub::components(model);
    let served: Vec<usize> = parts
        .iter()
        .flat_map(|p| p.wants.iter().map(|w| w.want))
        .collect();
    let hopeless: u64 = (0..model.wants.len())
        .filter(|w| !served.contains(w))
        .map(|w| u64::from(model.wants[w].frames) * model.wants[w].weight)
        .sum();
    // Hard parts leave less to those after them, but each gets something.
    let mut left = Fuel(2 * effort.work);
    let mut it = assemble(model.limit, &parts, &mut |part| {
        let most = left.0 / 2;
        let mut given = Fuel(most.max(effort.work / 200));
        let solved = part::solve(model, part, &mut given);
        left = Fuel(left.0 - most.saturating_sub(given.0));
        solved
    });
    it.score.unmet += hopeless;
    it.floor.unmet += hopeless;
    it
}

/// Solve parts that share nothing but the cassettes.
pub(super) fn assemble(limit: u32, parts: &[Sub], solve: &mut dyn FnMut(&Sub) -> Solved) -> Solved {
    let free: Vec<Solved> = parts.iter().map(&mut *solve).collect();
    let rolls: usize = free.iter().map(|s| s.rolls.len()).sum();
    if rolls <= limit as usize {
        join(free)
    } else {
        share_cassettes(limit as usize, parts, free, solve)
    }
}

fn join(parts: Vec<Solved>) -> Solved {
    let floors: Vec<(Score, Score)> = parts.iter().map(|s| (s.floor, s.score)).collect();
    let mut it = Solved {
        rolls: parts.into_iter().flat_map(|s| s.rolls).collect(),
        score: Score::NOTHING,
        floor: Score::NOTHING,
    };
    for (floor, score) in floors {
        it.floor = it.floor.plus(floor);
        it.score = it.score.plus(score);
    }
    it
}

/// Too few cassettes for all parts: solve each part for every number of cassettes it may have to do with,
/// and share them out by dynamic programming. Scores add up and keep their order, so this is exact.
fn share_cassettes(
    limit: usize,
    parts: &[Sub],
    free: Vec<Solved>,
    solve: &mut dyn FnMut(&Sub) -> Solved,
) -> Solved {
    let excess = free.iter().map(|s| s.rolls.len()).sum::<usize>() - limit;
    let mut tables: Vec<Vec<Solved>> = Vec::new();
    let mut firsts: Vec<usize> = Vec::new();
    for (sub, best) in parts.iter().zip(free) {
        let most = best.rolls.len();
        let first = most.saturating_sub(excess);
        let mut table: Vec<Solved> = (first..most)
            .map(|n| {
                solve(&Sub {
                    limit: n as u32,
                    ..sub.clone()
                })
            })
            .collect();
        table.push(best);
        // More cassettes are never worse; fewer are never bounded lower.
        for n in 1..table.len() {
            if table[n - 1].score.less(table[n].score) {
                table[n].rolls = table[n - 1].rolls.clone();
                table[n].score = table[n - 1].score;
            }
        }
        for n in (1..table.len()).rev() {
            if table[n - 1].floor.less(table[n].floor) {
                table[n - 1].floor = table[n].floor;
            }
        }
        tables.push(table);
        firsts.push(first);
    }
    let (_, picks) = cheapest(&tables, &firsts, limit, |s| s.score);
    let (floor, _) = cheapest(&tables, &firsts, limit, |s| s.floor);
    let chosen: Vec<Solved> = tables
        .iter()
        .zip(&picks)
        .map(|(t, &n)| t[n].clone())
        .collect();
    let rolls: Vec<Roll> = chosen
        .iter()
        .flat_map(|s| s.rolls.iter().copied())
        .collect();
    let score = chosen.iter().fold(Score::NOTHING, |a, s| a.plus(s.score));
    Solved {
        rolls,
        score,
        floor,
    }
}

/// The least sum of one entry per table with no more than `limit` cassettes in all, and the entries chosen.
fn cheapest(
    tables: &[Vec<Solved>],
    firsts: &[usize],
    limit: usize,
    value: impl Fn(&Solved) -> Score,
) -> (Score, Vec<usize>) {
    let mut best: Vec<Option<(Score, Vec<usize>)>> = vec![None; limit + 1];
    best[0] = Some((Score::NOTHING, Vec::new()));
    for (table, &first) in tables.iter().zip(firsts) {
        let mut next: Vec<Option<(Score, Vec<usize>)>> = vec![None; limit + 1];
        for (used, entry) in best.iter().enumerate() {
            let Some((score, picks)) = entry else {
                continue;
            };
            for (k, solved) in table.iter().enumerate() {
                let total = used + first + k;
                if limit < total {
                    break;
                }
                let candidate = score.plus(value(solved));
                if next[total].as_ref().is_none_or(|n| candidate.less(n.0)) {
                    let mut picks = picks.clone();
                    picks.push(k);
                    next[total] = Some((candidate, picks));
                }
            }
        }
        best = next;
    }
    best.into_iter()
        .flatten()
        .reduce(|a, b| if b.0.less(a.0) { b } else { a })
        .unwrap_or((
            Score {
                unmet: u64::MAX,
                cost: 0.0,
            },
            vec![0; tables.len()],
        ))
}
