//! Filling pages: known cases by hand, all fillings by brute force on few rolls, laws on any.

use std::collections::HashMap;

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::binder::cut::{Ends, Image, PageFormat, Run, Strip, images, strips};
use spoolwright_core::binder::fill::{Effort, Filing, Order, Roll, Started, fill};

use spoolwright_core::field::record::FrameShape as Shape;

#[path = "common/binder.rs"]
mod binder;

fn roll(id: usize, frames: u32) -> Roll {
    let run = Run {
        first: "1".to_owned(),
        frames,
        shape: Shape::Full,
        last_cut_short: false,
        blank: Vec::new(),
    };
    Roll {
        id: format!("r{id}"),
        images: images(&run, "").unwrap(),
        stock: None,
        date: None,
    }
}

fn filing(frames: &[u32], order: Order, share_rows: bool) -> Filing {
    Filing {
        rolls: frames
            .iter()
            .enumerate()
            .map(|(i, &f)| roll(i, f))
            .collect(),
        page: PageFormat {
            rows: 6,
            frames_per_row: 6,
        },
        order,
        share_rows,
        by_stock: false,
        started: None,
    }
}

/// New pages and shared rows; also that it is a filing, and proven.
fn figures(filing: &Filing) -> (u32, u32) {
    let filled = fill(filing, Effort::USUAL).unwrap();
    binder::audit(filing, &filled);
    assert!(filled.proven && !filled.because.is_empty());
    (filled.new_pages, filled.shared_rows)
}

/// Rows 4, 3, 2, 3 of six: given order 4 | 3 2 | 3 is three pages, any order 4 2 | 3 3 is two. By hand.
#[test]
fn an_order_costs_pages() {
    let frames = [24, 18, 12, 18];
    assert_eq!(figures(&filing(&frames, Order::Given, false)), (3, 0));
    assert_eq!(figures(&filing(&frames, Order::Any, false)), (2, 0));
}

/// 8 and 10 frames are two rows each; 2 + 4 of them share one. With 24 frames that is 4 + 3 rows: no page is saved, so
/// nothing is shared. With 18 frames it is 3 + 3: one page. By hand.
#[test]
fn rows_are_shared_where_it_saves_a_page() {
    for order in [Order::Given, Order::Any] {
        assert_eq!(figures(&filing(&[24, 8, 10], order, true)), (2, 0));
        assert_eq!(figures(&filing(&[18, 8, 10], order, true)), (1, 1));
        assert_eq!(figures(&filing(&[18, 8, 10], order, false)), (2, 0));
    }
    let filled = fill(&filing(&[18, 8, 10], Order::Given, true), Effort::USUAL).unwrap();
    let row = &filled.pages[0].rows[4];
    let lying: Vec<_> = row
        .strips
        .iter()
        .map(|p| {
            (
                p.roll,
                p.position,
                p.strip.first.as_str(),
                p.strip.last.as_str(),
            )
        })
        .collect();
    assert_eq!(lying, [(1, 0, "7", "8"), (2, 2, "1", "4")]);
}

/// A page with four rows in use takes two rows more, and only of its own stock. By hand.
#[test]
fn a_started_page_is_gone_on_with() {
    for order in [Order::Given, Order::Any] {
        let mut asked = filing(&[12, 36], order, false);
        asked.started = Some(Started {
            used_rows: 4,
            stock: None,
        });
        assert_eq!(figures(&asked), (1, 0));
        let filled = fill(&asked, Effort::USUAL).unwrap();
        assert!(filled.pages[0].started);
        assert_eq!(filled.pages[0].rows[0].row, 5);
        asked.by_stock = true;
        asked.started = Some(Started {
            used_rows: 4,
            stock: Some("b".to_owned()),
        });
        for (i, stock) in ["a", "b"].into_iter().enumerate() {
            asked.rolls[i].stock = Some(stock.to_owned());
        }
        assert_eq!(figures(&asked), (2, 0));
        let filled = fill(&asked, Effort::USUAL).unwrap();
        assert!(filled.caveats.iter().any(|c| c.code == "started_not_used"));
    }
    let mut asked = filing(&[18, 12], Order::Any, false);
    asked.started = Some(Started {
        used_rows: 4,
        stock: None,
    });
    assert_eq!(figures(&asked), (1, 0));
}

/// By date, and those of one day as given.
#[test]
fn by_date() {
    let mut asked = filing(&[6, 6, 6], Order::Date, false);
    for (i, date) in ["2026-05-02", "2026-04-11", "2026-05-02"]
        .into_iter()
        .enumerate()
    {
        asked.rolls[i].date = Some(date.to_owned());
    }
    let filled = fill(&asked, Effort::USUAL).unwrap();
    binder::audit(&asked, &filled);
    assert_eq!(filled.pages[0].rolls, [1, 0, 2]);
}

/// 100 frames are 17 rows: two pages and five rows; a roll of one row finds its place beside the rest. By hand.
#[test]
fn a_roll_longer_than_a_page() {
    for order in [Order::Given, Order::Any] {
        for frames in [[100, 6], [6, 100]] {
            assert_eq!(figures(&filing(&frames, order, false)), (3, 0));
            assert_eq!(figures(&filing(&frames, order, true)), (3, 0));
        }
    }
}

/// When the effort is spent the pages still hold all, and what is proven is said.
#[test]
fn a_spent_effort_is_said() {
    let frames: Vec<u32> = (0..60).map(|i| 3 + (i * 7) % 31).collect();
    for share in [false, true] {
        let asked = filing(&frames, Order::Any, share);
        for contents in [0, 10, 200, 2000] {
            let filled = fill(&asked, Effort { contents }).unwrap();
            binder::audit(&asked, &filled);
            if !filled.proven {
                assert!(filled.caveats.iter().any(|c| c.code == "not_proven"));
            }
        }
        let none = fill(&asked, Effort { contents: 0 }).unwrap();
        let all = fill(&asked, Effort::USUAL).unwrap();
        assert!(none.least <= all.least && all.new_pages <= none.new_pages);
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let good = filing(&[12, 36], Order::Given, false);
    let mut cases = Vec::new();
    let mut bad = |change: &dyn Fn(&mut Filing), kind, what: &'static str| {
        let mut asked = good.clone();
        change(&mut asked);
        cases.push((asked, kind, what));
    };
    bad(
        &|f| f.rolls.clear(),
        Kind::Missing,
        "rolls: the list is empty",
    );
    bad(
        &|f| f.rolls = vec![f.rolls[0].clone(); 501],
        Kind::TooLarge,
        "rolls: too many",
    );
    bad(
        &|f| f.rolls[1].id = "r0".to_owned(),
        Kind::Inconsistent,
        "rolls[1].id: given twice",
    );
    bad(
        &|f| f.rolls[1].id = " ".to_owned(),
        Kind::Missing,
        "rolls[1].id: empty",
    );
    bad(
        &|f| f.rolls[1].id = "x".repeat(201),
        Kind::TooLarge,
        "rolls[1].id: too long",
    );
    bad(
        &|f| f.by_stock = true,
        Kind::Missing,
        "rolls[0].stock: missing, and pages are kept by stock",
    );
    bad(
        &|f| f.order = Order::Date,
        Kind::Missing,
        "rolls[0].date: missing, and rolls lie by date",
    );
    bad(
        &|f| f.page.rows = 41,
        Kind::OutOfRange,
        "page.rows: out of range",
    );
    bad(
        &|f| f.page.frames_per_row = 0,
        Kind::OutOfRange,
        "page.frames_per_row: out of range",
    );
    bad(
        &|f| {
            f.started = Some(Started {
                used_rows: 7,
                stock: None,
            })
        },
        Kind::Inconsistent,
        "started.used_rows: more than the page has",
    );
    bad(
        &|f| f.rolls[1].images[2].shape = Shape::Panoramic,
        Kind::Impossible,
        "rolls[1]: a row is shorter than one picture",
    );
    bad(
        &|f| f.rolls[1].images.clear(),
        Kind::Missing,
        "rolls[1].images: the list is empty",
    );
    for (asked, kind, what) in &mut cases {
        if what.contains("shorter") {
            asked.page.frames_per_row = 1;
        }
        let error = fill(asked, Effort::USUAL).unwrap_err();
        assert_eq!((error.kind, error.what.as_str()), (*kind, *what));
    }
    for date in [
        "2026-02-29",
        "2026-13-01",
        "2026-00-10",
        "2026-04-31",
        "26-04-01",
        "2026-4-01",
        "2026-04-01x",
        "",
    ] {
        let mut asked = good.clone();
        asked.rolls[0].date = Some(date.to_owned());
        assert_eq!(
            fill(&asked, Effort::USUAL).unwrap_err().what,
            "rolls[0].date: not a day"
        );
    }
    let mut leap = good.clone();
    leap.rolls[0].date = Some("2028-02-29".to_owned());
    assert!(fill(&leap, Effort::USUAL).is_ok());
}

/// What the contract says of a roll, worked out apart: its rows, and its short strip's pockets.
fn shape_of(filing: &Filing, roll: &Roll) -> (u32, u32) {
    let cut = |ends| strips(&roll.images, filing.page, ends, "").unwrap();
    let rows = cut(Ends::Even).len() as u32;
    let pockets = |s: Option<&Strip>| s.map_or(0, Strip::pockets);
    let short = pockets(cut(Ends::ShortFirst).first()).max(pockets(cut(Ends::ShortLast).last()));
    (rows, short)
}

/// Most pairs among these rolls, each in one pair at most, tried one by one.
fn pairs(rolls: &[(u32, u32)], set: u32, width: u32) -> u32 {
    let Some(a) = (0..rolls.len()).find(|&a| set >> a & 1 == 1) else {
        return 0;
    };
    let rest = set & !(1 << a);
    let alone = pairs(rolls, rest, width);
    (0..rolls.len())
        .filter(|&b| rest >> b & 1 == 1 && rolls[a].1 + rolls[b].1 <= width)
        .map(|b| 1 + pairs(rolls, rest & !(1 << b), width))
        .fold(alone, u32::max)
}

/// Fewest new pages and shared rows over all ways to part the rolls into pages.
fn brute(filing: &Filing) -> (u32, u32) {
    let page = filing.page;
    let rolls: Vec<(u32, u32)> = filing.rolls.iter().map(|r| shape_of(filing, r)).collect();
    let rest: Vec<(u32, u32)> = rolls
        .iter()
        .map(|&(r, s)| ((r - 1) % page.rows + 1, s))
        .collect();
    let whole: u32 = rolls.iter().map(|&(r, _)| (r - 1) / page.rows).sum();
    let n = rolls.len();
    // Shared rows without which a set does not fit so many rows; none when it never does.
    let needed = |set: u32, rows: u32| {
        let all: u32 = (0..n)
            .filter(|&i| set >> i & 1 == 1)
            .map(|i| rest[i].0)
            .sum();
        let needed = all.saturating_sub(rows);
        let may = if filing.share_rows {
            pairs(&rest, set, page.frames_per_row)
        } else {
            0
        };
        (needed <= may).then_some(needed)
    };
    let mut best: HashMap<u32, (u32, u32)> = HashMap::from([(0, (0, 0))]);
    for set in 1u32..1 << n {
        let lowest = set & set.wrapping_neg();
        let mut sub = set;
        let mut found: Option<(u32, u32)> = None;
        while sub > 0 {
            if sub & lowest != 0
                && let Some(shared) = needed(sub, page.rows)
                && let Some(&(pages, before)) = best.get(&(set & !sub))
            {
                let all = (pages + 1, before + shared);
                found = Some(found.map_or(all, |f| f.min(all)));
            }
            sub = (sub - 1) & set;
        }
        best.insert(set, found.unwrap());
    }
    let everything = (1u32 << n) - 1;
    let free = filing
        .started
        .as_ref()
        .map_or(0, |s| page.rows - s.used_rows);
    let (pages, shared) = (0..=everything)
        .filter(|_| free > 0)
        .filter_map(|on| {
            let (pages, shared) = best[&(everything & !on)];
            Some((pages, shared + needed(on, free)?))
        })
        .chain([best[&everything]])
        .min()
        .unwrap();
    (pages + whole, shared)
}

/// The same in the given order: every choice of new page, next row or shared row, tried one by one.
fn brute_given(filing: &Filing) -> (u32, u32) {
    fn go(filing: &Filing, rolls: &[(u32, u32)], at: usize, used: u32, shared: bool) -> (u32, u32) {
        let Some(&(rows, short)) = rolls.get(at) else {
            return (0, 0);
        };
        let page = filing.page;
        let mut best = (u32::MAX, 0);
        let mut try_at = |start: u32, new: u32, share: bool| {
            let touched = (start + rows).div_ceil(page.rows);
            if start >= page.rows || touched > rows.div_ceil(page.rows) {
                return;
            }
            let end = (start + rows - 1) % page.rows + 1;
            let rest = go(filing, rolls, at + 1, end, share);
            best = best.min((rest.0 + touched - 1 + new, rest.1 + u32::from(share)));
        };
        try_at(0, 1, false);
        try_at(used, 0, false);
        let fits = at > 0 && !shared && rolls[at - 1].1 + short <= page.frames_per_row;
        if filing.share_rows && fits {
            try_at(used - 1, 0, true);
        }
        best
    }
    let rolls: Vec<(u32, u32)> = filing.rolls.iter().map(|r| shape_of(filing, r)).collect();
    let used = filing
        .started
        .as_ref()
        .map_or(filing.page.rows, |s| s.used_rows);
    go(filing, &rolls, 0, used, false)
}

fn any_filing(most: usize, order: Order) -> impl Strategy<Value = Filing> {
    let special = prop_oneof![9 => Just(0u32), 1 => 1u32..60];
    let frames = prop_oneof![6 => 1u32..38, 1 => 38u32..90];
    let one = (frames, special, any::<bool>());
    (
        prop::collection::vec(one, 1..=most),
        1u32..9,
        2u32..8,
        any::<bool>(),
        prop::option::of(0u32..9),
    )
        .prop_map(move |(rolls, rows, width, share_rows, used)| Filing {
            rolls: rolls
                .into_iter()
                .enumerate()
                .map(|(i, (frames, special, half))| {
                    let mut roll = roll(i, frames.min(rows * width * 2));
                    let at = special as usize % roll.images.len();
                    if special > 0 {
                        let shape = if half { Shape::Half } else { Shape::Panoramic };
                        roll.images[at] = Image {
                            shape,
                            ..roll.images[at].clone()
                        };
                    }
                    roll
                })
                .collect(),
            page: PageFormat {
                rows,
                frames_per_row: width,
            },
            order,
            share_rows,
            by_stock: false,
            started: used.map(|used| Started {
                used_rows: used.min(rows),
                stock: None,
            }),
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 250, failure_persistence: None, ..ProptestConfig::default() })]

    /// No way to part up to eight rolls into pages is better.
    #[test]
    fn any_order_against_all(asked in any_filing(8, Order::Any)) {
        prop_assert_eq!(figures(&asked), brute(&asked));
    }

    /// No way to begin pages and share rows in the given order is better.
    #[test]
    fn given_order_against_all(asked in any_filing(9, Order::Given)) {
        prop_assert_eq!(figures(&asked), brute_given(&asked));
    }

    /// Many rolls of several stocks: nothing lost, nothing twice, order and stocks kept; any order is never worse.
    #[test]
    fn many_rolls(asked in any_filing(60, Order::Given), stocks in 1usize..4) {
        let mut asked = asked;
        for (i, roll) in asked.rolls.iter_mut().enumerate() {
            roll.stock = Some(format!("s{}", i * i % stocks));
            roll.date = Some(format!("2026-{:02}-{:02}", 1 + i * 5 % 12, 1 + i * 7 % 28));
        }
        if let Some(started) = &mut asked.started {
            started.stock = Some("s0".to_owned());
        }
        asked.by_stock = stocks > 1;
        let mut pages = Vec::new();
        for order in [Order::Given, Order::Date, Order::Any] {
            asked.order = order;
            let filled = fill(&asked, Effort { contents: 60_000 }).unwrap();
            binder::audit(&asked, &filled);
            prop_assert!(order == Order::Any || filled.proven);
            pages.push((filled.least.pages, filled.new_pages));
        }
        prop_assert!(pages[2].0 <= pages[0].1.min(pages[1].1));
    }
}
