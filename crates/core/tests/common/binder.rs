//! What every cutting and filling must keep to, checked from the question alone.

#![allow(dead_code)]

use spoolwright_core::binder::cut::{Image, PageFormat, Strip, perforations};
use spoolwright_core::binder::fill::{Filing, Filled, Order};

/// Film from the start of one picture to the end of another, in perforations, and where each begins.
pub(crate) fn starts(images: &[Image]) -> Vec<(i64, i64)> {
    let mut at = 0;
    let mut places = Vec::new();
    for (i, image) in images.iter().enumerate() {
        if i > 0 {
            at += i64::from(image.gap_before);
        }
        let end = at + i64::from(perforations(image.shape));
        places.push((at, end));
        at = end;
    }
    places
}

/// No picture lost but blank ones, none twice, none cut, each strip within a row, its figures true.
pub(crate) fn audit_strips(images: &[Image], page: PageFormat, strips: &[Strip]) {
    let places = starts(images);
    let mut next = 0;
    for strip in strips {
        assert!(next <= strip.from && strip.from < strip.to, "{strips:?}");
        assert!(
            images[next..strip.from].iter().all(|i| i.blank),
            "a picture is lost"
        );
        assert_eq!(strip.first, images[strip.from].frame);
        assert_eq!(strip.last, images[strip.to - 1].frame);
        let length = places[strip.to - 1].1 - places[strip.from].0;
        assert_eq!(i64::from(strip.perforations), length);
        assert!(strip.perforations <= page.row_perforations());
        for edge in [strip.from, strip.to] {
            let inside = 0 < edge && edge < images.len();
            assert!(
                !inside || images[edge].gap_before >= 0,
                "cut through a picture"
            );
        }
        next = strip.to;
    }
    assert!(images[next..].iter().all(|i| i.blank), "a picture is lost");
}

/// Every roll whole, in order, on as few pages as it can lie; rows, pockets and free places true.
pub(crate) fn audit(filing: &Filing, filled: &Filled) {
    let (rows, width) = (filing.page.rows, filing.page.frames_per_row);
    let mut of_roll: Vec<Vec<(usize, u32, Strip)>> = vec![Vec::new(); filing.rolls.len()];
    let (mut shared, mut new) = (0, 0);
    for (p, page) in filled.pages.iter().enumerate() {
        new += u32::from(!page.started);
        assert!(!page.started || p == 0);
        let used = if page.started {
            filing.started.as_ref().unwrap().used_rows
        } else {
            0
        };
        assert!(!page.rows.is_empty());
        let mut free = Vec::new();
        let mut in_order = Vec::new();
        for (i, row) in page.rows.iter().enumerate() {
            assert_eq!(row.row, used + i as u32 + 1);
            assert!(row.row <= rows);
            let mut position = 0;
            assert!((1..=2).contains(&row.strips.len()));
            if row.strips.len() == 2 {
                assert!(filing.share_rows && row.strips[0].roll != row.strips[1].roll);
                shared += 1;
            }
            for placed in &row.strips {
                assert_eq!(placed.position, position);
                position += placed.strip.pockets();
                of_roll[placed.roll].push((p, row.row, placed.strip.clone()));
                if in_order.last() != Some(&placed.roll) {
                    in_order.push(placed.roll);
                }
            }
            assert!(position <= width);
            if position < width {
                free.push((row.row, position, width - position));
            }
        }
        free.extend((used + page.rows.len() as u32 + 1..=rows).map(|row| (row, 0, width)));
        let told: Vec<_> = page
            .free
            .iter()
            .map(|f| (f.row, f.position, f.pockets))
            .collect();
        assert_eq!(told, free);
        assert_eq!(page.rolls, in_order);
        if filing.by_stock {
            assert!(
                page.rolls
                    .iter()
                    .all(|&r| filing.rolls[r].stock == page.stock)
            );
            assert!(!page.started || filing.started.as_ref().unwrap().stock == page.stock);
        }
    }
    assert_eq!((filled.shared_rows, filled.new_pages), (shared, new));
    for (i, lying) in of_roll.iter().enumerate() {
        let mut strips: Vec<Strip> = lying.iter().map(|(_, _, strip)| strip.clone()).collect();
        let long = filled.rows[i] > rows;
        if !long {
            let pages: Vec<usize> = lying.iter().map(|l| l.0).collect();
            assert!(pages.windows(2).all(|w| w[0] == w[1]), "a roll is split");
            assert!(
                lying.windows(2).all(|w| w[0].1 < w[1].1),
                "a roll lies out of order"
            );
            assert!(
                lying.windows(2).all(|w| w[0].1 + 1 == w[1].1),
                "a roll lies apart"
            );
        }
        let mut pages: Vec<usize> = lying.iter().map(|l| l.0).collect();
        pages.sort_unstable();
        pages.dedup();
        assert_eq!(
            pages.len() as u32,
            filled.rows[i].div_ceil(rows),
            "split more than it must be"
        );
        strips.sort_by_key(|strip| strip.from);
        assert_eq!(filled.rows[i] as usize, strips.len());
        assert_eq!(strips.is_empty(), filled.empty.contains(&i));
        audit_strips(&filing.rolls[i].images, filing.page, &strips);
        // One shared row at most.
        let sharing = lying.iter().filter(|(p, row, _)| {
            let page = &filled.pages[*p];
            page.rows
                .iter()
                .any(|r| r.row == *row && r.strips.len() == 2)
        });
        assert!(sharing.count() <= 1, "two shared rows of one roll");
    }
    if filing.order != Order::Any {
        let mut groups: Vec<Option<String>> = Vec::new();
        if filing.by_stock {
            groups = filing.rolls.iter().map(|r| r.stock.clone()).collect();
            groups.sort();
            groups.dedup();
        } else {
            groups.push(None);
        }
        for stock in groups {
            let pages = filled
                .pages
                .iter()
                .filter(|p| !filing.by_stock || p.stock == stock);
            let strips = pages.flat_map(|p| &p.rows).flat_map(|r| &r.strips);
            let key = |roll: usize| {
                let date = filing.rolls[roll].date.clone();
                (
                    if filing.order == Order::Date {
                        date
                    } else {
                        None
                    },
                    roll,
                )
            };
            let lying: Vec<_> = strips.map(|s| (key(s.roll), s.strip.from)).collect();
            assert!(
                lying.windows(2).all(|w| w[0] < w[1]),
                "the order is lost: {lying:?}"
            );
        }
    }
    assert!(filled.least.pages <= filled.new_pages);
    assert_eq!(
        filled.proven,
        (filled.least.pages, filled.least.shared_rows) == (filled.new_pages, filled.shared_rows)
    );
}
