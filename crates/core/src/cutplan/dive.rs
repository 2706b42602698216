//! A good plan from a relaxed solution: fix what is whole, round what is nearly whole, relax the rest again.

use super::bound::Bounder;
use super::counts::{Counts, Fuel};
use super::lp::Column;
use super::model::Roll;
use super::pack::match_rolls;
use super::relaxed::{Relaxed, Rows};

/// What is rounded first.
#[derive(Debug, Clone, Copy)]
pub(super) enum First {
    /// Fillings of cans.
    Cans,
    /// Servings of wants.
    Wants,
    /// Whichever is nearest to whole.
    Nearest,
}

/// A plan that keeps all limits, rounded step by step; empty if the rounding came to nothing.
pub(super) fn dive(
    bounder: &mut Bounder<'_>,
    mut relaxed: Relaxed,
    pool: &mut Vec<Column>,
    fuel: &mut Fuel,
    first: First,
) -> Vec<Roll> {
    loop {
        let (_, basics) = bounder.relax(&mut relaxed, pool, fuel);
        let rows = &relaxed.rows;
        let open = |c: &Column| {
            c.entries[0].0 < rows.links
                && 1 < c.entries.len()
                && relaxed.fixed(c.entries[0].0).is_none()
        };
        let mut chosen: Vec<Column> = Vec::new();
        let mut nearest: Option<(f64, Column)> = None;
        for (column, value) in basics.into_iter().filter(|(c, _)| open(c)) {
            let lacks = lacks(bounder, rows, &column);
            if 0.999 < value && !lacks {
                chosen.push(column);
                continue;
            }
            let row = column.entries[0].0;
            let bonus = match first {
                First::Cans if bounder.sub.wants.len() <= row => 1.0,
                First::Wants if row < bounder.sub.wants.len() && !lacks => 1.0,
                _ if lacks => -1.0,
                _ => 0.0,
            };
            if 0.01 < value && nearest.as_ref().is_none_or(|n| n.0 + 1e-9 < value + bonus) {
                nearest = Some((value + bonus, column));
            }
        }
        chosen.extend(nearest.map(|n| n.1));
        if chosen.is_empty() {
            break;
        }
        for column in chosen {
            relaxed.fix(column);
        }
    }
    plan(bounder, &relaxed)
}

/// Whether a column serves a want in part only: such choices come last.
fn lacks(bounder: &Bounder<'_>, rows: &Rows, column: &Column) -> bool {
    let row = column.entries[0].0;
    if bounder.sub.wants.len() <= row {
        return false;
    }
    let lengths = &bounder.model.lengths;
    let links = column.entries.iter().skip(1).filter(|e| e.0 < rows.limit);
    let served: f64 = links
        .map(|&(k, n)| n * f64::from(lengths[(k - rows.links) % lengths.len()].frames))
        .sum();
    served < f64::from(bounder.model.wants[bounder.sub.wants[row].want].frames)
}

fn plan(bounder: &Bounder<'_>, relaxed: &Relaxed) -> Vec<Roll> {
    let rows = &relaxed.rows;
    let lengths = bounder.model.lengths.len();
    let mut rolls = Vec::new();
    for (s, cans) in bounder.sub.stocks.iter().enumerate() {
        let counts = |column: &Column| {
            let mut counts = Counts::NONE;
            for &(row, n) in column.entries.iter().skip(1).filter(|e| e.0 < rows.limit) {
                if (row - rows.links) / lengths == s {
                    counts.0[row - rows.links - s * lengths] = n.abs().min(255.0) as u8;
                }
            }
            counts
        };
        let of_want = |w: usize| {
            relaxed
                .fixed(w)
                .map(|c| (bounder.sub.wants[w].want, counts(c)))
        };
        let demand: Vec<(usize, Counts)> =
            (0..bounder.sub.wants.len()).filter_map(of_want).collect();
        let of_can =
            |(k, &can): (usize, &usize)| relaxed.fixed(rows.can[s] + k).map(|c| (can, counts(c)));
        let supply: Vec<(usize, Counts)> = cans.iter().enumerate().filter_map(of_can).collect();
        rolls.extend(match_rolls(lengths, &demand, &supply));
    }
    rolls.truncate(bounder.sub.limit as usize);
    rolls
}
