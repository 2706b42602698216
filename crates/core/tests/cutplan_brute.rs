//! The cut plan against brute force: every possible plan of a tiny shelf is tried, with its own arithmetic.
//!
//! Outside check: exhaustive enumeration from the wording of the contract, sharing no code with the solver;
//! over-serving is not excluded.

use proptest::prelude::*;
use spoolwright_core::cutplan::{CanSupply, Effort, PageCost, Plan, Problem, WantDemand, solve};
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::Estimate;

/// Weighted unmet frames (in 10⁻⁶), cost, rolls.
type Triple = (u64, f64, usize);

const Z95: f64 = 1.644_853_626_951_472_7;

fn draw_m(p: &Problem, frames: u32) -> f64 {
    let click_mm = if p.pitch == Pitch::Long { 38.0 } else { 37.92 };
    (f64::from(frames + p.leader_clicks + p.tail_clicks) * click_mm + p.uncounted_mm) / 1000.0
}

fn better(a: Triple, b: Triple) -> bool {
    if a.0 != b.0 {
        return a.0 < b.0;
    }
    if (a.1 - b.1).abs() > 1e-9 {
        return a.1 < b.1;
    }
    a.2 < b.2
}

fn usable(p: &Problem) -> Vec<u32> {
    p.menu_frames
        .iter()
        .copied()
        .filter(|&f| f <= p.max_roll_frames)
        .collect()
}

fn budgets(p: &Problem) -> Vec<f64> {
    p.cans
        .iter()
        .map(|c| (c.remaining_m.mean - Z95 * c.remaining_m.sd).max(0.0))
        .collect()
}

fn handling(p: &Problem, frames: u32) -> f64 {
    let allowance = p.leader_clicks + p.tail_clicks;
    f64::from(frames.div_ceil(p.page.frames_per_row)) * p.page.price / f64::from(p.page.rows)
        + p.chemistry_price_per_full_roll * f64::from(frames + allowance)
            / f64::from(36 + allowance)
}

fn value(p: &Problem, served: &[u32], drawn: &[f64], handling: f64, rolls: usize) -> Triple {
    let mut unmet = 0;
    for (w, s) in p.wants.iter().zip(served) {
        unmet += u64::from(w.frames.saturating_sub(*s)) * 10u64.pow(9 - w.priority);
    }
    let shortest = usable(p)
        .iter()
        .map(|&f| draw_m(p, f))
        .fold(f64::INFINITY, f64::min);
    let mut cost = handling;
    for (c, &d) in p.cans.iter().zip(drawn) {
        cost += d * c.price_per_m;
        let left = c.remaining_m.mean - d;
        if d > 0.0 && left < shortest - 1e-9 {
            cost += left.max(0.0) * p.short_end_price_per_m;
        }
    }
    (unmet, cost, rolls)
}

struct Brute<'a> {
    p: &'a Problem,
    menu: Vec<u32>,
    budget: Vec<f64>,
    stock: Vec<usize>,
    served: Vec<u32>,
    drawn: Vec<f64>,
    best: Triple,
}

impl Brute<'_> {
    /// Try every number of rolls of every (want, can, length), in one fixed order.
    fn go(&mut self, at: usize, cost: f64, rolls: usize) {
        let (wants, cans, lengths) = (self.p.wants.len(), self.p.cans.len(), self.menu.len());
        if at == wants * cans * lengths {
            let v = value(self.p, &self.served, &self.drawn, cost, rolls);
            if better(v, self.best) {
                self.best = v;
            }
            return;
        }
        let (w, i, a) = (at / (cans * lengths), at / lengths % cans, at % lengths);
        if self.p.cans[i].stock != self.p.wants[w].stocks[self.stock[w]] {
            return self.go((at / lengths + 1) * lengths, cost, rolls);
        }
        self.go(at + 1, cost, rolls);
        let frames = self.menu[a];
        let (draw, one) = (draw_m(self.p, frames), handling(self.p, frames));
        let (s0, d0) = (self.served[w], self.drawn[i]);
        let mut n = 1;
        while rolls + n <= self.p.cassettes as usize
            && d0 + draw * n as f64 <= self.budget[i] + 1e-9
        {
            self.served[w] = s0 + frames * n as u32;
            self.drawn[i] = d0 + draw * n as f64;
            self.go(at + 1, cost + one * n as f64, rolls + n);
            n += 1;
        }
        self.served[w] = s0;
        self.drawn[i] = d0;
    }
}

fn brute(p: &Problem) -> Triple {
    let mut b = Brute {
        p,
        menu: usable(p),
        budget: budgets(p),
        stock: vec![0; p.wants.len()],
        served: vec![0; p.wants.len()],
        drawn: vec![0.0; p.cans.len()],
        best: (u64::MAX, 0.0, 0),
    };
    loop {
        b.go(0, 0.0, 0);
        // The next choice of one stock per want.
        let mut w = 0;
        while w < b.stock.len() && b.stock[w] + 1 == p.wants[w].stocks.len() {
            b.stock[w] = 0;
            w += 1;
        }
        if w == b.stock.len() {
            return b.best;
        }
        b.stock[w] += 1;
    }
}

/// The triple of a plan, from its rolls alone; also that it keeps every limit.
fn audit(p: &Problem, plan: &Plan) -> Triple {
    let (menu, budget) = (usable(p), budgets(p));
    let (mut served, mut drawn, mut cost) = (vec![0; p.wants.len()], vec![0.0; p.cans.len()], 0.0);
    let mut stock_of: Vec<Option<&str>> = vec![None; p.wants.len()];
    for r in &plan.rolls {
        let w = p.wants.iter().position(|w| w.id == r.want).unwrap();
        let i = p.cans.iter().position(|c| c.id == r.can).unwrap();
        assert!(
            p.wants[w].stocks.contains(&p.cans[i].stock),
            "a stock that will not do"
        );
        assert!(
            stock_of[w].is_none_or(|s| s == p.cans[i].stock),
            "mixed stocks"
        );
        assert!(menu.contains(&r.frames));
        assert_eq!(r.clicks, r.frames + p.leader_clicks + p.tail_clicks);
        assert!((r.drawn_m - draw_m(p, r.frames)).abs() < 1e-12);
        stock_of[w] = Some(&p.cans[i].stock);
        served[w] += r.frames;
        drawn[i] += r.drawn_m;
        cost += handling(p, r.frames);
    }
    assert!(plan.rolls.len() <= p.cassettes as usize);
    for (d, b) in drawn.iter().zip(&budget) {
        assert!(*d <= b + 2e-9);
    }
    for (i, left) in plan.leftover.iter().enumerate() {
        assert_eq!(left.can, p.cans[i].id);
        assert!((left.mean_m - (p.cans[i].remaining_m.mean - drawn[i])).abs() < 1e-9);
    }
    for (w, want) in p.wants.iter().enumerate() {
        let lacking = want.frames.saturating_sub(served[w]);
        let told = plan.unmet.iter().find(|u| u.want == want.id);
        assert_eq!(lacking, told.map_or(0, |u| u.frames));
        assert!(told.is_none_or(|u| u.because.len() > 10));
    }
    let triple = value(p, &served, &drawn, cost, plan.rolls.len());
    assert!(
        (triple.1 - plan.cost.total).abs() < 1e-9,
        "cost {} told as {}",
        triple.1,
        plan.cost.total
    );
    triple
}

fn check(p: &Problem) {
    let plan = solve(p, Effort::default()).unwrap();
    let ours = audit(p, &plan);
    let best = brute(p);
    assert_eq!(ours.0, best.0, "unmet: ours {ours:?}, best {best:?}, {p:?}");
    assert!(
        (ours.1 - best.1).abs() <= 1e-7 * (1.0 + best.1),
        "cost: ours {ours:?}, best {best:?}, {p:?}"
    );
    assert_eq!(ours.2, best.2, "rolls: ours {ours:?}, best {best:?}, {p:?}");
    assert!(plan.proven_optimal, "not proven: {p:?}");
    assert_eq!(plan.gap, 0.0);
}

prop_compose! {
    fn problems()(
        menu in prop::sample::subsequence(vec![6u32, 8, 10, 12, 15, 18], 2..=3),
        cans in prop::collection::vec((0u8..2, 0.3f64..3.6, 0.0f64..0.1, 0u8..4), 1..=2),
        wants in prop::collection::vec((1u8..4, 1u32..40, 1u32..4), 1..=3),
        cassettes in 0u32..9,
        short in any::<bool>(),
        leader in 2u32..5,
        tail in 0u32..3,
        uncounted in prop::sample::select(vec![0.0, 95.0, 101.3]),
        money in (0usize..3, 0usize..3, 0usize..3),
        per_row in 4u32..7,
    ) -> Problem {
        let price = |k: u8| [0.0, 1.9, 1.2, 2.35][usize::from(k)];
        Problem {
            cans: cans.iter().enumerate().map(|(i, &(s, mean, sd, k))| CanSupply {
                id: format!("can{i}"),
                stock: format!("s{s}"),
                remaining_m: Estimate::new(mean, sd),
                price_per_m: price(k),
            }).collect(),
            wants: wants.iter().enumerate().map(|(i, &(mask, frames, priority))| WantDemand {
                id: format!("w{i}"),
                stocks: (0..2).filter(|b| mask >> b & 1 == 1).map(|b| format!("s{b}")).collect(),
                frames,
                priority,
            }).collect(),
            max_roll_frames: 36,
            menu_frames: menu,
            leader_clicks: leader,
            tail_clicks: tail,
            pitch: if short { Pitch::Short } else { Pitch::Long },
            uncounted_mm: uncounted,
            cassettes,
            page: PageCost { rows: 6, frames_per_row: per_row, price: [0.0, 0.6, 1.3][money.0] },
            chemistry_price_per_full_roll: [0.0, 0.8, 2.0][money.1],
            short_end_price_per_m: [0.0, 1.0, 9.0][money.2],
            confidence: 0.95,
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    /// Same unmet frames, cost and number of rolls as the best of all plans.
    #[test]
    fn nothing_beats_the_plan(p in problems()) {
        check(&p);
    }
}
