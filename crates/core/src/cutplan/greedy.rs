//! A first plan, quickly: wants by importance, each from the stock where it then costs least.

use super::model::{FILM_SLACK_M, Model, Roll};
use super::sub::Sub;

/// A plan that keeps all limits; often short of the best.
pub(super) fn greedy(model: &Model, sub: &Sub) -> Vec<Roll> {
    let mut room: Vec<f64> = model.cans.iter().map(|c| c.budget_m).collect();
    let mut cassettes = sub.limit;
    let mut order: Vec<(u64, usize)> = sub
        .wants
        .iter()
        .enumerate()
        .map(|(k, w)| (model.wants[w.want].weight, k))
        .collect();
    order.sort_by_key(|&(weight, k)| (std::cmp::Reverse(weight), k));
    let mut rolls = Vec::new();
    for (_, k) in order {
        let want = sub.wants[k].want;
        let best = sub.wants[k]
            .stocks
            .iter()
            .map(|&s| {
                let frames = model.wants[want].frames;
                serve(model, want, frames, &sub.stocks[s], &room, cassettes)
            })
            .min_by(|a, b| {
                (a.0, a.1)
                    .partial_cmp(&(b.0, b.1))
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
        if let Some((_, _, chosen)) = best {
            for r in &chosen {
                room[r.can] -= model.lengths[r.length].draw_m;
                cassettes -= 1;
            }
            rolls.extend(chosen);
        }
    }
    rolls
}

/// Add the rolls that a plan left out though film and cassettes for them are there: a search that ran out of work
/// may have found a plan with better frames elsewhere and such a gap.
pub(super) fn top_up(model: &Model, rolls: &mut Vec<Roll>) {
    let drawn = model.drawn_m(rolls);
    let mut room: Vec<f64> = model
        .cans
        .iter()
        .zip(drawn)
        .map(|(c, d)| c.budget_m - d)
        .collect();
    let lacking = model.lacking(rolls);
    let mut order: Vec<usize> = (0..lacking.len()).filter(|&w| 0 < lacking[w]).collect();
    order.sort_by_key(|&w| std::cmp::Reverse(model.wants[w].weight));
    for want in order {
        let cassettes = model.limit.saturating_sub(rolls.len() as u32);
        let begun = rolls.iter().find(|r| r.want == want);
        let stocks = match begun {
            Some(roll) => vec![model.cans[roll.can].stock],
            None => model.wants[want].stocks.clone(),
        };
        let best = stocks
            .iter()
            .map(|&s| {
                let of_stock = |&i: &usize| model.cans[i].stock == s;
                let cans: Vec<usize> = (0..model.cans.len()).filter(of_stock).collect();
                serve(model, want, lacking[want], &cans, &room, cassettes)
            })
            .min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        for roll in best.map_or(Vec::new(), |b| b.2) {
            room[roll.can] -= model.lengths[roll.length].draw_m;
            rolls.push(roll);
        }
    }
}

/// Frames missing, cost and rolls when `left` frames of `want` are served from `cans` with the room there is.
fn serve(
    model: &Model,
    want: usize,
    mut left: u32,
    cans: &[usize],
    room: &[f64],
    cassettes: u32,
) -> (u32, f64, Vec<Roll>) {
    let mut room = room.to_vec();
    let mut cost = 0.0;
    let mut chosen: Vec<Roll> = Vec::new();
    while 0 < left && (chosen.len() as u32) < cassettes {
        // The longest roll that is not too long; for the rest, the shortest that covers it.
        let cover = (0..model.lengths.len())
            .rev()
            .find(|&a| left <= model.lengths[a].frames)
            .unwrap_or(0);
        let fits = |a: usize| {
            cans.iter()
                .copied()
                .find(|&i| model.lengths[a].draw_m <= room[i] + FILM_SLACK_M)
                .map(|i| (a, i))
        };
        let Some((length, can)) = (cover..model.lengths.len()).find_map(fits) else {
            break;
        };
        let draw = model.lengths[length].draw_m;
        room[can] -= draw;
        cost += draw * model.cans[can].price_per_m + model.lengths[length].handling;
        left = left.saturating_sub(model.lengths[length].frames);
        chosen.push(Roll { want, can, length });
    }
    (left, cost, chosen)
}
