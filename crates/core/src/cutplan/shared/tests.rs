//! The tables against branching, on small shelves of several stocks.

use super::super::greedy::greedy;
use super::super::part::refine;
use super::*;
use crate::cutplan::{CanSupply, PageCost, Problem, WantDemand};
use crate::film::Pitch;
use crate::quantity::Estimate;

/// A small shelf of several stocks, by number; every other one with few cassettes.
fn shelf(number: u64) -> Problem {
    let mut state = number.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    let mut pick = move |below: u64| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(99);
        (state >> 33) % below
    };
    let cans = (0..3 + pick(4)).map(|i| CanSupply {
        id: format!("c{i}"),
        stock: format!("s{}", if i < 3 { i } else { pick(3) }),
        remaining_m: Estimate::new(0.6 + 0.1 * pick(22) as f64, 0.02),
        price_per_m: 0.8 + 0.1 * pick(20) as f64,
    });
    let cans = cans.collect();
    let wants = (0..4 + pick(5)).map(|i| {
        let first = pick(3);
        let others = (0..3).filter(|_| pick(2) == 0);
        let mut stocks: Vec<u64> = std::iter::once(first).chain(others).collect();
        stocks.sort_unstable();
        stocks.dedup();
        WantDemand {
            id: format!("w{i}"),
            stocks: stocks.iter().map(|s| format!("s{s}")).collect(),
            frames: 6 + pick(50) as u32,
            priority: 1 + pick(4) as u32,
        }
    });
    let wants = wants.collect();
    Problem {
        cans,
        wants,
        menu_frames: vec![6, 8, 12, 18, 24, 30, 36],
        max_roll_frames: 36,
        leader_clicks: 4,
        tail_clicks: 2,
        pitch: Pitch::Long,
        uncounted_mm: 95.0,
        cassettes: if number.is_multiple_of(2) {
            4 + pick(5) as u32
        } else {
            60
        },
        page: PageCost {
            rows: 6,
            frames_per_row: 6,
            price: 0.6,
        },
        chemistry_price_per_full_roll: 0.8,
        short_end_price_per_m: 0.5 * pick(4) as f64,
        confidence: 0.95,
    }
}

/// Two ways of our own that share only the solving of one stock: a regression test.
#[test]
fn tables_agree_with_branching() {
    let mut compared = 0;
    for number in 0..120 {
        let model = Model::new(&shelf(number), &[6, 8, 12, 18, 24, 30, 36]);
        for sub in Sub::components(&model) {
            if sub.stocks.len() < 2 {
                continue;
            }
            let first = greedy(&model, &sub);
            let mut tabled = Solved {
                score: sub.score(&model, &first),
                rolls: first.clone(),
                floor: Score::NOTHING,
            };
            let tables = Tables::new(&model, &sub, 0).expect("small tables");
            tables.solve(&mut tabled, &mut Fuel(50_000_000));
            let branched = refine(&model, &sub, first, u64::MAX, &mut Fuel(300_000_000));
            if !tabled.proven() || !branched.proven() {
                continue;
            }
            compared += 1;
            assert_eq!(tabled.score.unmet, branched.score.unmet, "shelf {number}");
            let off = (tabled.score.cost - branched.score.cost).abs();
            assert!(off <= 2e-7 * branched.score.cost, "shelf {number}: {off}");
            assert!(tabled.rolls.len() <= sub.limit as usize, "shelf {number}");
        }
    }
    assert!(100 <= compared, "only {compared} compared");
}
