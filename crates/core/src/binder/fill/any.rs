//! Filling in any order: classes of rolls for the search, its proof, and its pages laid out.

use std::collections::VecDeque;

use super::lay::{How, Line, Piece};
use super::search::{ANY, Class, Counts, Outcome, Search};
use super::{Cut, Job, Least, Part};

/// A roll with the whole pages that it fills by itself taken away.
struct Item {
    cut: usize,
    whole_pages: u32,
    class: Class,
}

pub(super) fn fill(job: &Job<'_>, effort: &mut u64) -> Part {
    let rows = job.page.rows;
    let alone = job.page.frames_per_row;
    let item = |(i, cut): (usize, &Cut)| Item {
        cut: i,
        whole_pages: (cut.rows - 1) / rows,
        class: Class {
            rows: (cut.rows - 1) % rows + 1,
            short: if job.share { cut.short } else { alone },
        },
    };
    let items: Vec<Item> = job.cuts.iter().enumerate().map(item).collect();
    let mut classes: Vec<Class> = items.iter().map(|item| item.class).collect();
    classes.sort_by_key(|class| (std::cmp::Reverse(class.rows), class.short));
    classes.dedup();
    let mut counts: Counts = vec![0; classes.len()];
    let class_of = |item: &Item| classes.iter().position(|c| *c == item.class).unwrap_or(0);
    for item in &items {
        counts[class_of(item)] += 1;
    }
    let whole: u32 = items.iter().map(|item| item.whole_pages).sum();
    let mut search = Search::new(rows, alone, classes.clone(), effort);
    let (contents, least) = best(&mut search, &counts, job.started_rows);
    let mut waiting: Vec<VecDeque<usize>> = vec![VecDeque::new(); classes.len()];
    for (i, item) in items.iter().enumerate() {
        waiting[class_of(item)].push_back(i);
    }
    let dealt: Vec<Vec<usize>> = contents
        .iter()
        .map(|page| {
            let mut on: Vec<usize> = Vec::new();
            for (class, &n) in page.iter().enumerate() {
                on.extend(waiting[class].drain(..usize::from(n)));
            }
            on.sort_unstable();
            on
        })
        .collect();
    laid(
        job,
        &items,
        dealt,
        Least {
            pages: least.pages + whole,
            ..least
        },
    )
}

/// The best contents of pages, the started page's first if there is one, and what is proven of all.
fn best(search: &mut Search<'_>, counts: &Counts, started: u32) -> (Vec<Counts>, Least) {
    let rows = search.rows;
    let total = search.total(counts);
    let new = |pages: &Vec<Counts>| pages.len() as u32 - u32::from(started > 0);
    let mut best = search.dive(counts, started);
    let by_rows = |shared: u32| total.saturating_sub(started + shared).div_ceil(rows);
    let mut least = by_rows(search.sharable(counts));
    // From above: one page fewer until there is none. What is left then is the fewest.
    while least < new(&best) {
        match search.find(counts, started, new(&best) - 1, ANY) {
            Outcome::Found(pages) => best = pages,
            Outcome::None => least = new(&best),
            Outcome::Spent => break,
        }
    }
    let pages = new(&best);
    let shared = |search: &Search<'_>, best: &[Counts]| -> u32 {
        let room = |i: usize| if i == 0 && started > 0 { started } else { rows };
        best.iter()
            .enumerate()
            .map(|(i, page)| search.total(page).saturating_sub(room(i)))
            .sum()
    };
    // From below: one shared row more until there is a filing.
    let mut least_shared = total.saturating_sub(started + pages * rows);
    let mut proven = true;
    let mut budget = least_shared;
    while budget < shared(search, &best) {
        match search.find(counts, started, pages, budget) {
            Outcome::Found(found) => best = found,
            Outcome::None => {
                budget += 1;
                if proven {
                    least_shared = budget;
                }
            }
            Outcome::Spent => {
                proven = false;
                budget += 1;
            }
        }
    }
    (
        best,
        Least {
            pages: least,
            shared_rows: least_shared,
        },
    )
}

/// A roll on a page: by itself, or two that share a row.
struct Unit {
    first: usize,
    second: Option<usize>,
}

/// Two and two of the rolls of one page that share `wanted` rows; the others by themselves.
fn units(job: &Job<'_>, items: &[Item], on: &[usize], wanted: u32, started: bool) -> Vec<Unit> {
    let mut by_short: Vec<usize> = on.to_vec();
    by_short.sort_by_key(|&i| items[i].class.short);
    let mut units = Vec::new();
    let mut alone: Vec<usize> = Vec::new();
    let (mut low, mut high) = (0, by_short.len());
    while low < high {
        let (a, b) = (by_short[low], by_short[high - 1]);
        let enough = units.len() as u32 == wanted;
        let fits = low + 1 < high && job.may_share(items[a].class.short, items[b].class.short);
        if !enough && fits {
            // On a started page a roll that goes on on other pages comes second, so that they follow it.
            let turned = started && items[a.min(b)].whole_pages > 0;
            let (first, second) = if turned {
                (a.max(b), a.min(b))
            } else {
                (a.min(b), a.max(b))
            };
            units.push(Unit {
                first,
                second: Some(second),
            });
            low += 1;
        } else {
            alone.push(b);
        }
        high -= 1;
    }
    units.extend(alone.into_iter().map(|first| Unit {
        first,
        second: None,
    }));
    units.sort_by_key(|unit| {
        unit.second
            .map_or(unit.first, |second| unit.first.min(second))
    });
    units
}

fn laid(job: &Job<'_>, items: &[Item], dealt: Vec<Vec<usize>>, least: Least) -> Part {
    let rows = job.page.rows;
    let mut shared = 0;
    let mut blocks: Vec<(usize, Vec<Vec<Line>>)> = Vec::new();
    let mut on_started = false;
    for (i, on) in dealt.into_iter().enumerate() {
        let started = i == 0 && job.started_rows > 0;
        let Some(&key) = on.first() else { continue };
        on_started |= started;
        let room = if started { job.started_rows } else { rows };
        let total: u32 = on.iter().map(|&i| items[i].class.rows).sum();
        let wanted = total.saturating_sub(room);
        shared += wanted;
        let (mut before, mut after) = (Vec::new(), Vec::new());
        let mut page: Vec<Line> = Vec::new();
        for unit in units(job, items, &on, wanted, started) {
            // A roll longer than a page: its rest is its end, after its whole pages, or its beginning before them.
            let mut put = |i: usize, how: How| {
                let item = &items[i];
                let all = job.cuts[item.cut].rows;
                let whole = item.whole_pages * rows;
                let rest_first = how == How::First || (how == How::Alone && started);
                let line = |strip| Line {
                    first: Piece {
                        cut: item.cut,
                        strip,
                        how,
                    },
                    second: None,
                };
                let lines: Vec<Line> = (0..all).map(line).collect();
                let split = if rest_first { all - whole } else { whole };
                let (front, back) = lines.split_at(split as usize);
                let (rest, whole, pages) = if rest_first {
                    (front, back, &mut after)
                } else {
                    (back, front, &mut before)
                };
                pages.extend(whole.chunks(rows as usize).map(<[Line]>::to_vec));
                rest.to_vec()
            };
            let Some(second) = unit.second else {
                page.extend(put(unit.first, How::Alone));
                continue;
            };
            page.extend(put(unit.first, How::Last));
            let mut lines = put(second, How::First).into_iter();
            if let (Some(last), Some(line)) = (page.last_mut(), lines.next()) {
                last.second = Some(line.first);
            }
            page.extend(lines);
        }
        let key = if started { 0 } else { key + 1 };
        let mut block: Vec<Vec<Line>> = before;
        if started {
            block.insert(0, page);
        } else {
            block.push(page);
        }
        block.extend(after);
        blocks.push((key, block));
    }
    blocks.sort_by_key(|(key, _)| *key);
    Part {
        pages: blocks.into_iter().flat_map(|(_, pages)| pages).collect(),
        least,
        shared,
        on_started,
    }
}
