//! Words beside the plan: which limit binds when a want is unmet, and what to bear in mind.

use super::model::{FILM_SLACK_M, Model, Roll};
use super::{Problem, Unmet};
use crate::caveat::Caveat;

/// The wants that are not met in full, in the order of `problem`, each with the limit that binds.
pub(super) fn unmet(
    problem: &Problem,
    sorted: &Problem,
    model: &Model,
    rolls: &[Roll],
) -> Vec<Unmet> {
    let lacking = model.lacking(rolls);
    problem
        .wants
        .iter()
        .filter_map(|want| {
            let w = sorted.wants.iter().position(|s| s.id == want.id)?;
            (0 < lacking[w]).then(|| Unmet {
                want: want.id.clone(),
                frames: lacking[w],
                because: because(sorted, model, rolls, w),
            })
        })
        .collect()
}

fn because(sorted: &Problem, model: &Model, rolls: &[Roll], w: usize) -> String {
    let stocks = listed(&sorted.wants[w].stocks);
    if model.wants[w].stocks.is_empty() {
        return format!("There is no can of {stocks}.");
    }
    let (Some(shortest), drawn) = (model.lengths.last(), model.drawn_m(rolls)) else {
        return String::new();
    };
    let cans =
        || (0..model.cans.len()).filter(|&i| model.wants[w].stocks.contains(&model.cans[i].stock));
    let fullest = cans().map(|i| model.cans[i].budget_m).fold(0.0, f64::max);
    // To a hundredth, so that 0.57 is 57 and not 56.99999999999999.
    let percent = (1e4 * sorted.confidence).round() / 100.0;
    if fullest + FILM_SLACK_M < shortest.draw_m {
        return format!(
            "The shortest roll on the menu, {} frames, draws {:.2} m; the fullest can of {stocks} holds no more than \
             {fullest:.2} m at {percent} % confidence.",
            shortest.frames, shortest.draw_m
        );
    }
    let left = cans()
        .map(|i| model.cans[i].budget_m - drawn[i])
        .fold(0.0, f64::max);
    let film_left = shortest.draw_m <= left + FILM_SLACK_M;
    let cassettes_left = rolls.len() < sorted.cassettes as usize;
    let film = || {
        format!(
            "Too little film of {stocks}: at {percent} % confidence no can has more than {left:.2} m left after this plan, \
             and the shortest roll, {} frames, draws {:.2} m.",
            shortest.frames, shortest.draw_m
        )
    };
    let cassettes = || match sorted.cassettes {
        0 => "There is no empty cassette.".to_owned(),
        1 => "Too few cassettes: the only one is used.".to_owned(),
        n => format!("Too few cassettes: all {n} are used."),
    };
    match (film_left, cassettes_left) {
        (false, true) => film(),
        (true, false) => cassettes(),
        (false, false) => format!("{} {}", cassettes(), film()),
        (true, true) => format!(
            "Rolls of this want come from one stock only, and no one stock of {stocks} has film enough beside the \
             wants that come first."
        ),
    }
}

fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// What could not be proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Open {
    Nothing,
    /// That the unmet frames are least.
    Unmet,
    /// That the cost is least; the unmet frames are.
    Cost,
}

/// What to bear in mind with this plan.
pub(super) fn caveats(
    sorted: &Problem,
    model: &Model,
    rolls: &[Roll],
    open: Open,
    gap: f64,
) -> Vec<Caveat> {
    let mut out = Vec::new();
    match open {
        Open::Nothing => {}
        Open::Unmet => out.push(Caveat::new(
            "unmet_not_proven",
            format!(
                "The best plan found with the work allowed; a better one could lessen the unmet frames, weighted by \
                 priority, by {:.2} % at most.",
                100.0 * gap
            ),
        )),
        Open::Cost => out.push(Caveat::new(
            "cost_not_proven",
            format!(
                "The best plan found with the work allowed; a better one could save {:.4} % of the cost at most.",
                100.0 * gap
            ),
        )),
    }
    let lacking = model.lacking(rolls);
    for (c, can) in sorted.cans.iter().zip(&model.cans) {
        let kept_back = c.remaining_m.mean - can.budget_m;
        let short = model
            .wants
            .iter()
            .zip(&lacking)
            .any(|(w, &f)| 0 < f && w.stocks.contains(&can.stock));
        if short && model.shortest_draw_m <= kept_back {
            out.push(Caveat::new(
                "can_uncertain",
                format!(
                    "Can {}: {kept_back:.2} m of the {:.2} m expected are not planned, because what is left is \
                     uncertain. Weighing or gauging it may free film for another roll.",
                    c.id, c.remaining_m.mean
                ),
            ));
        }
    }
    out
}
