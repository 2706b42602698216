//! The contract's own arithmetic, apart from the solver: what a plan is worth, and that it keeps every limit.

use spoolwright_core::cutplan::{Plan, Problem};
use spoolwright_core::film::Pitch;

/// Weighted unmet frames (in 10⁻⁶), cost, rolls.
pub(crate) type Triple = (u64, f64, usize);

pub(crate) const Z95: f64 = 1.644_853_626_951_472_7;

pub(crate) fn draw_m(p: &Problem, frames: u32) -> f64 {
    let click_mm = if p.pitch == Pitch::Long { 38.0 } else { 37.92 };
    (f64::from(frames + p.leader_clicks + p.tail_clicks) * click_mm + p.uncounted_mm) / 1000.0
}

pub(crate) fn usable(p: &Problem) -> Vec<u32> {
    p.menu_frames
        .iter()
        .copied()
        .filter(|&f| f <= p.max_roll_frames)
        .collect()
}

pub(crate) fn budgets(p: &Problem) -> Vec<f64> {
    p.cans
        .iter()
        .map(|c| (c.remaining_m.mean - Z95 * c.remaining_m.sd).max(0.0))
        .collect()
}

pub(crate) fn handling(p: &Problem, frames: u32) -> f64 {
    let allowance = p.leader_clicks + p.tail_clicks;
    f64::from(frames.div_ceil(p.page.frames_per_row)) * p.page.price / f64::from(p.page.rows)
        + p.chemistry_price_per_full_roll * f64::from(frames + allowance)
            / f64::from(36 + allowance)
}

pub(crate) fn value(
    p: &Problem,
    served: &[u32],
    drawn: &[f64],
    handling: f64,
    rolls: usize,
) -> Triple {
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

/// The triple of a plan, from its rolls alone; also that it keeps every limit.
pub(crate) fn audit(p: &Problem, plan: &Plan) -> Triple {
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
