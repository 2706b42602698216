//! Filling in a kept order: every way to begin pages and share rows is weighed, roll by roll.

use super::lay::{How, Line, Piece};
use super::{Job, Least, Part};

/// New pages, shared rows.
type Weight = [u32; 2];

/// The film up to some roll: rows in use on the last page, and whether that roll shares its first row.
#[derive(Clone, Copy)]
struct Step {
    weight: Weight,
    /// The state before: rows in use, whether it shared.
    from: (u32, bool),
    how: Begin,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Begin {
    NewPage,
    Next,
    Shared,
}

pub(super) fn fill(job: &Job<'_>) -> Part {
    let rows = job.page.rows;
    let width = rows as usize + 1;
    let at = |used: u32, shared: bool| used as usize + if shared { width } else { 0 };
    let states = || (0..=rows).flat_map(|used| [(used, false), (used, true)]);
    // With no page started, the page before the first is full.
    let begin = (rows - job.started_rows, false);
    let mut table: Vec<Vec<Option<Step>>> = vec![vec![None; 2 * width]];
    table[0][at(begin.0, false)] = Some(Step {
        weight: [0; 2],
        from: begin,
        how: Begin::NewPage,
    });
    for (i, cut) in job.cuts.iter().enumerate() {
        let mut next: Vec<Option<Step>> = vec![None; 2 * width];
        for (used, shared) in states() {
            let Some(step) = table[i][at(used, shared)] else {
                continue;
            };
            let mut go = |how: Begin, used_before: u32| {
                // Rows counted from the top of the page it begins on.
                let end = used_before + cut.rows;
                let touched = end.div_ceil(rows);
                // On no more pages than it needs by itself: one that fits on a page is not split.
                if used_before == rows || touched > cut.rows.div_ceil(rows) {
                    return;
                }
                let new = if how == Begin::NewPage {
                    touched
                } else {
                    touched - 1
                };
                let weight = [
                    step.weight[0] + new,
                    step.weight[1] + u32::from(how == Begin::Shared),
                ];
                let place = at((end - 1) % rows + 1, how == Begin::Shared);
                if next[place].is_none_or(|s| weight < s.weight) {
                    next[place] = Some(Step {
                        weight,
                        from: (used, shared),
                        how,
                    });
                }
            };
            go(Begin::Next, used);
            if i > 0 && !shared && used > 0 && job.may_share(job.cuts[i - 1].short, cut.short) {
                go(Begin::Shared, used - 1);
            }
            go(Begin::NewPage, 0);
        }
        table.push(next);
    }
    let last = table.len() - 1;
    let best = states()
        .filter_map(|state| Some((table[last][at(state.0, state.1)]?.weight, state)))
        .min();
    let Some((weight, mut state)) = best else {
        return Part {
            pages: Vec::new(),
            least: Least {
                pages: 0,
                shared_rows: 0,
            },
            shared: 0,
            on_started: false,
        };
    };
    let mut begins = Vec::new();
    for steps in table[1..].iter().rev() {
        if let Some(step) = steps[at(state.0, state.1)] {
            begins.push(step.how);
            state = step.from;
        }
    }
    begins.reverse();
    let (pages, on_started) = laid(job, &begins);
    Part {
        pages,
        least: Least {
            pages: weight[0],
            shared_rows: weight[1],
        },
        shared: weight[1],
        on_started,
    }
}

fn laid(job: &Job<'_>, begins: &[Begin]) -> (Vec<Vec<Line>>, bool) {
    let rows = job.page.rows as usize;
    let on_started = begins.first() == Some(&Begin::Next);
    let started = rows - job.started_rows as usize;
    let mut pages: Vec<Vec<Line>> = Vec::new();
    for (i, begin) in begins.iter().enumerate() {
        let how = if *begin == Begin::Shared {
            How::First
        } else if begins.get(i + 1) == Some(&Begin::Shared) {
            How::Last
        } else {
            How::Alone
        };
        let mut begin = *begin;
        for strip in 0..job.cuts[i].rows {
            let piece = Piece { cut: i, strip, how };
            if begin == Begin::Shared
                && let Some(line) = pages.last_mut().and_then(|page| page.last_mut())
            {
                line.second = Some(piece);
                begin = Begin::Next;
                continue;
            }
            let room = if on_started && pages.len() <= 1 {
                rows - started
            } else {
                rows
            };
            let full = pages.last().is_none_or(|page| page.len() == room);
            if full || begin == Begin::NewPage {
                pages.push(Vec::new());
            }
            begin = Begin::Next;
            if let Some(page) = pages.last_mut() {
                page.push(Line {
                    first: piece,
                    second: None,
                });
            }
        }
    }
    (pages, on_started)
}
