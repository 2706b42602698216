//! The plan in the words of the bench: runs, what stays out and why, which pairs cannot share and why.

use super::model::{Model, developer, interval, least_stock, parts, tolerance};
use super::search::{Found, Loaded};
use super::{
    Apart, Bench, Deviation, Least, LoadedReel, MAX_APART, Plan, Run, TOLERANCE_PERCENT, Unloaded,
    is_colour,
};
use crate::caveat::Caveat;
use crate::wet::temperature::SHORT_MIN;

pub(super) fn plan(bench: &Bench, model: &Model, mut found: Found) -> Plan {
    for run in &mut found.runs {
        model.by_length(&mut run.rolls);
    }
    found.runs.sort_by(|a, b| {
        let group = |r: &Loaded| model.items[r.rolls[0]].group;
        let first = |r: &Loaded| r.rolls.iter().min().copied();
        let time = model.time(&a.rolls).total_cmp(&model.time(&b.rolls));
        (group(a).cmp(&group(b)))
            .then(time)
            .then(first(a).cmp(&first(b)))
    });
    let runs: Vec<Run> = found.runs.iter().map(|r| run(bench, model, r)).collect();
    let (apart, apart_left_off) = pairs(bench, model);
    let caveats = caveats(bench, &runs, found.proven);
    Plan {
        unloaded: unloaded(bench, model, &found),
        runs,
        apart,
        apart_left_off,
        proven: found.proven,
        least: Least {
            unloaded: found.least.unloaded as u32,
            runs: found.least.runs as u32,
            working_ml: found.least.ml.unsigned_abs(),
        },
        caveats,
    }
}

fn run(bench: &Bench, model: &Model, loaded: &Loaded) -> Run {
    let roll = |i: usize| &bench.rolls[model.items[i].roll];
    let first = roll(loaded.rolls[0]);
    let vessel = &model.vessels[loaded.fit.vessel];
    let wound = model
        .on_reels(vessel.kind, &loaded.rolls)
        .unwrap_or_default();
    let developer = developer(bench, &first.developer);
    let film: f64 = loaded.rolls.iter().map(|&i| roll(i).film_mm).sum();
    let time = model.time(&loaded.rolls);
    Run {
        tank: bench.tanks[vessel.tank].id.clone(),
        process: first.process.clone(),
        developer: first.developer.clone(),
        deviations: wound
            .iter()
            .flatten()
            .map(|&i| Deviation {
                id: roll(i).id.clone(),
                percent: (time / roll(i).time_min - 1.0) * 100.0,
            })
            .collect(),
        reels: wound
            .iter()
            .map(|rolls| LoadedReel {
                reel: bench.reels[vessel.kind].id.clone(),
                rolls: rolls.iter().map(|&i| roll(i).id.clone()).collect(),
                film_mm: rolls.iter().map(|&i| roll(i).film_mm).sum(),
            })
            .collect(),
        time_min: time,
        working_ml: loaded.fit.ml as u32,
        stock_ml: loaded.fit.ml as f64 / parts(developer),
        least_stock_ml: developer
            .and_then(|d| d.least_stock_ml)
            .map(|least| least_stock(least, film)),
    }
}

fn unloaded(bench: &Bench, model: &Model, found: &Found) -> Vec<Unloaded> {
    let never = found.never.iter().map(|&i| (i, never(bench, model, i)));
    let out = found.out.iter().map(|&i| {
        let because = "every reel it fits is used by other rolls; dry the reels and load it then";
        (i, because.to_owned())
    });
    let mut all: Vec<(usize, String)> = never
        .chain(out)
        .map(|(i, because)| (model.items[i].roll, because))
        .collect();
    all.sort();
    all.into_iter()
        .map(|(roll, because)| Unloaded {
            id: bench.rolls[roll].id.clone(),
            because,
        })
        .collect()
}

/// Why a roll goes into no tank even alone.
fn never(bench: &Bench, model: &Model, item: usize) -> String {
    let item = &model.items[item];
    let film = bench.rolls[item.roll].film_mm;
    let usable = || model.vessels.iter().map(|v| &model.kinds[v.kind]);
    let Some(longest) = usable().map(|k| k.longest).max() else {
        return "no tank has a reel of its type at hand".to_owned();
    };
    if longest < item.len {
        let longest = longest as f64 / 1000.0;
        return format!(
            "{} mm of film; the longest reel of any tank takes {} mm",
            plain(film),
            plain(longest)
        );
    }
    let fitting = model.vessels.iter();
    let full = fitting
        .filter(|v| item.len <= model.kinds[v.kind].longest)
        .map(|v| v.full)
        .max()
        .unwrap_or(0);
    format!(
        "its film needs {} ml of working solution to hold the least stock; the largest tank with a reel for it takes {full} ml",
        (item.need + 999) / 1000,
    )
}

/// Why two rolls cannot share a run.
pub(super) fn apart(bench: &Bench, model: &Model, a: usize, b: usize) -> Option<String> {
    if a == b {
        return None;
    }
    let (x, y) = (&bench.rolls[a], &bench.rolls[b]);
    let both = format!("{} and {}", x.id, y.id);
    if x.process != y.process {
        return Some(format!(
            "{both}: {} and {} are different processes",
            x.process, y.process
        ));
    }
    if x.developer != y.developer {
        return Some(format!(
            "{both}: developed in {} and {}",
            x.developer, y.developer
        ));
    }
    match (&x.own_kind, &y.own_kind) {
        (Some(p), Some(q)) if p != q => {
            return Some(format!(
                "{both}: {p} and {q}, each of which shares a bath only with its own kind"
            ));
        }
        (Some(kind), None) => {
            return Some(format!(
                "{both}: {} is {kind}, which shares a bath only with its own kind",
                x.id
            ));
        }
        (None, Some(kind)) => {
            return Some(format!(
                "{both}: {} is {kind}, which shares a bath only with its own kind",
                y.id
            ));
        }
        _ => {}
    }
    let ((from, to), (since, until)) = (interval(bench, a), interval(bench, b));
    if to.min(until) < from.max(since) {
        let (p, q) = (tolerance(bench, a), tolerance(bench, b));
        let tolerance = if p == q {
            format!("{} %", plain(p))
        } else {
            format!("{} % and {} %", plain(p), plain(q))
        };
        return Some(format!(
            "{both}: developed {} and {} min; tolerance {tolerance}",
            minutes(x.time_min),
            minutes(y.time_min)
        ));
    }
    no_room(bench, model, a, b)
}

/// Why a tank that takes each of two rolls takes them together nowhere.
fn no_room(bench: &Bench, model: &Model, a: usize, b: usize) -> Option<String> {
    let mut rolls: Vec<usize> = (0..model.items.len())
        .filter(|&i| [a, b].contains(&model.items[i].roll))
        .collect();
    model.by_length(&mut rolls);
    if model.fit(&rolls).is_some() {
        return None;
    }
    let both = format!("{} and {}", bench.rolls[a].id, bench.rolls[b].id);
    if let Some(&alone) = rolls.iter().find(|&&i| model.fit(&[i]).is_none()) {
        let id = &bench.rolls[model.items[alone].roll].id;
        return Some(format!("{both}: {id} goes into no tank"));
    }
    let reels = |kind: usize, most: usize| {
        let wound = model.on_reels(kind, &rolls);
        wound.is_some_and(|reels| reels.len() <= most)
    };
    if !model.vessels.iter().any(|v| reels(v.kind, v.ml.len())) {
        return Some(format!("{both}: no tank has reels enough for the two"));
    }
    let need: i64 = rolls.iter().map(|&i| model.items[i].need).sum();
    Some(format!(
        "{both}: together they need {} ml of working solution to hold the least stock, more than a tank with reels for both takes",
        (need + 999) / 1000
    ))
}

/// Pairs that cannot share, those of one process and developer first, and how many are left off.
fn pairs(bench: &Bench, model: &Model) -> (Vec<Apart>, u32) {
    let n = bench.rolls.len();
    let all = || (0..n).flat_map(|a| (a + 1..n).map(move |b| (a, b)));
    let near = |&(a, b): &(usize, usize)| {
        let (x, y) = (&bench.rolls[a], &bench.rolls[b]);
        x.process == y.process && x.developer == y.developer
    };
    let (mut list, mut left_off) = (Vec::new(), 0);
    for (a, b) in all().filter(near).chain(all().filter(|p| !near(p))) {
        let Some(because) = apart(bench, model, a, b) else {
            continue;
        };
        if list.len() == MAX_APART {
            left_off += 1;
            continue;
        }
        let id = |i: usize| bench.rolls[i].id.clone();
        list.push(Apart {
            a: id(a),
            b: id(b),
            because,
        });
    }
    (list, left_off)
}

fn caveats(bench: &Bench, runs: &[Run], proven: bool) -> Vec<Caveat> {
    let mut said = Vec::new();
    let loose = bench.rolls.iter().any(|r| r.tolerance_percent.is_none());
    if bench.tolerance_percent.is_none() && loose {
        said.push(Caveat::new(
            "default_tolerance",
            format!("Rolls may share a time within {TOLERANCE_PERCENT} %, rolls of a colour process only the very same: a default from common practice, not measured."),
        ));
    }
    let short = |r: &Run| r.time_min < SHORT_MIN && !is_colour(&r.process);
    if runs.iter().any(short) {
        said.push(Caveat::new(
            "short_time",
            format!("A time under {SHORT_MIN} minutes tends to develop unevenly; a higher dilution or a lower temperature makes it longer."),
        ));
    }
    let mut unknown: Vec<&str> = runs
        .iter()
        .map(|r| r.developer.as_str())
        .filter(|d| developer(bench, d).is_none_or(|d| d.least_stock_ml.is_none()))
        .collect();
    unknown.sort_unstable();
    unknown.dedup();
    if !unknown.is_empty() {
        said.push(Caveat::new(
            "no_least_stock",
            format!(
                "How much stock the film needs is not known for {}: the solution covers the reels, and whether it lasts is for you to judge.",
                unknown.join(", ")
            ),
        ));
    }
    let reels = || runs.iter().flat_map(|r| &r.reels);
    if reels().any(|r| r.rolls.len() == 2) {
        said.push(Caveat::new(
            "two_on_a_reel",
            "Two rolls on one reel must not overlap: wind the first in to the core, and feel that the second does not run onto it.",
        ));
    }
    if bench.reels_reused && 1 < runs.len() {
        said.push(Caveat::new(
            "dry_reels",
            "Reels used again must be bone dry before film is wound on them.",
        ));
    }
    let filled_up = |r: &Run| {
        let tank = bench.tanks.iter().find(|t| t.id == r.tank);
        tank.is_some_and(|t| t.ml[r.reels.len() - 1] < r.working_ml)
    };
    let topped: Vec<&str> = runs
        .iter()
        .filter(|r| filled_up(r))
        .map(|r| r.tank.as_str())
        .collect();
    if !topped.is_empty() {
        said.push(Caveat::new(
            "more_for_stock",
            "A tank is filled above what covers its reels, so that its film has stock enough; hold the reels down with an empty one.",
        ));
    }
    if !proven {
        said.push(Caveat::new(
            "not_proven",
            "The plan was not proven to be the best; what no plan can do better than stands beside it.",
        ));
    }
    said
}

/// A number without needless decimals.
fn plain(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Minutes with one decimal, or two where it has them.
fn minutes(value: f64) -> String {
    let text = format!("{value:.2}");
    text.strip_suffix('0').map_or(text.clone(), str::to_owned)
}
