//! What a person must read beside a can's number, the weightiest first.

use super::build::{Can, LENGTH, TARE, What};
use super::posterior::Posterior;
use super::solve::OUTLIER_SD;
use super::truncated::upper_tail;
use crate::caveat::Caveat;
use crate::quantity::Z95;

/// Half-width of the 95 % interval, in frames, beyond which a can's estimate is called wide.
const WIDE_FRAMES: f64 = 10.0;
/// Relative sd of the film weight per metre beyond which weighings are said to rest on an assumption.
const LEARNT_LINEAR_MASS: f64 = 0.04;
/// Sd of a tare beyond which weighings are said to rest on an assumption.
const LEARNT_TARE_G: f64 = 10.0;

pub(super) fn of(posterior: &Posterior, can: usize) -> Vec<Caveat> {
    let one = &posterior.model.cans[can];
    let mut list = Vec::new();
    outliers(posterior, can, one, &mut list);
    if one.wound_after_end {
        list.push(Caveat::new(
            "wound_after_empty",
            "Film was wound from this can after it had been called empty: one of the two records is wrong.",
        ));
    }
    overdrawn(posterior, can, one, &mut list);
    unlikely(posterior, can, one, &mut list);
    if !posterior.fit.converged {
        list.push(Caveat::new(
            "not_settled",
            "The sums did not settle: the records of this shelf contradict each other strongly. Look for a slip.",
        ));
    }
    assumed(posterior, can, one, &mut list);
    wide(posterior, can, one, &mut list);
    list
}

fn outliers(posterior: &Posterior, can: usize, one: &Can, list: &mut Vec<Caveat>) {
    for (observation, standing) in one.observations.iter().zip(posterior.standing(can)) {
        if 1.0 <= standing.weight {
            continue;
        }
        let predicted = posterior.predict(can, &observation.what).0;
        let which = observation
            .evidence
            .map_or(String::new(), |n| format!(" (evidence {})", n + 1));
        let off = format!(
            "{:.1} times its usual error off what the rest says",
            standing.off.abs()
        );
        let caveat = match observation.what {
            What::Weight(_) => {
                let hint = if observation.value < predicted {
                    "Was the core or the bag left out, or a roll not written down?"
                } else {
                    "Was something else in the can or on the scale?"
                };
                let (read, expected) = (observation.value, predicted);
                Caveat::new(
                    "weighing_off",
                    format!(
                        "A weighing{which} of {read:.0} g is {off} ({expected:.0} g). {hint} It counts for little."
                    ),
                )
            }
            What::Tare => Caveat::new(
                "empty_weighing_off",
                format!(
                    "The empty weight{which} of {:.0} g is {off} ({predicted:.0} g). Were can, bag and core all on the scale? It counts for little.",
                    observation.value
                ),
            ),
            What::Diameter(..) => Caveat::new(
                "diameter_off",
                format!(
                    "A diameter{which} of {:.1} mm is {off} ({:.1} mm). Was the roll loose, or the core another one? It counts for little.",
                    observation.value * 1e3,
                    predicted * 1e3
                ),
            ),
            What::End(_) => Caveat::new(
                "ran_out_off",
                format!(
                    "The can is recorded as empty{which} where the rest says {predicted:.2} m should be left, {:.1} times its usual error off. Was a roll not written down, or did the film tear? It teaches the loader little.",
                    standing.off.abs()
                ),
            ),
            What::Roll(..) => Caveat::new(
                "measured_roll_off",
                format!(
                    "A measured roll{which} of {:.0} mm is {off} ({:.0} mm). Were the offcuts measured too? It counts for little.",
                    observation.value * 1e3,
                    predicted * 1e3
                ),
            ),
        };
        list.push(caveat);
    }
}

fn overdrawn(posterior: &Posterior, can: usize, one: &Can, list: &mut Vec<Caveat>) {
    let uncut = posterior.uncut_m(can);
    let negative = if 0.0 < uncut.sd {
        upper_tail(uncut.mean / uncut.sd)
    } else {
        0.0
    };
    if one.ended || (negative < 0.025 && 0.0 <= uncut.mean) {
        return;
    }
    let text = if uncut.mean < 0.0 {
        format!(
            "By the record {:.2} m more was wound than was there: the can is about to end, or held more than was said.",
            -uncut.mean
        )
    } else {
        "The can may end within the next roll: what is shown is cut at zero.".to_owned()
    };
    list.push(Caveat::new(
        if uncut.mean < 0.0 {
            "overdrawn"
        } else {
            "near_the_end"
        },
        text,
    ));
}

/// Unknowns that the evidence has pushed more than four prior sd from where they began.
fn unlikely(posterior: &Posterior, can: usize, one: &Can, list: &mut Vec<Caveat>) {
    let local = &posterior.fit.point.local[can];
    let shared = &posterior.fit.point.shared;
    let learnt = posterior.can(can);
    if OUTLIER_SD < local[LENGTH].abs() {
        list.push(Caveat::new(
            "start_unlikely",
            format!(
                "The evidence says this can began with {:.2} m, not {:.2} m: was it a part roll, or was a roll not written down?",
                learnt.length_m.mean, one.local[LENGTH].mean
            ),
        ));
    }
    if OUTLIER_SD < local[TARE].abs() {
        let text = format!(
            "The evidence says can, bag and core weigh {:.0} g, far from what was expected of this can.",
            learnt.tare_g.mean
        );
        list.push(Caveat::new("tare_unlikely", text));
    }
    let stock = posterior.stock(one.stock);
    if OUTLIER_SD < shared[one.slots[0]].abs() {
        let text = format!(
            "The evidence says this stock weighs {:.2} g/m, far from what was expected.",
            stock.linear_mass_g_per_m.mean
        );
        list.push(Caveat::new("film_weight_unlikely", text));
    }
    if OUTLIER_SD < shared[one.slots[1]].abs() {
        let text = format!(
            "The evidence says this stock is {:.3} mm thick, far from what was expected.",
            stock.thickness_mm.mean
        );
        list.push(Caveat::new("thickness_unlikely", text));
    }
    for (place, &loader) in one.loaders.iter().enumerate() {
        let (k, u) = (
            one.slots[one.first_loader + 2 * place],
            one.slots[one.first_loader + 2 * place + 1],
        );
        if OUTLIER_SD < shared[k].abs().max(shared[u].abs()) {
            let learnt = posterior.loader(loader);
            let whose = if one.loaders.len() == 1 {
                "its loader"
            } else {
                "one of its loaders"
            };
            let text = format!(
                "The evidence says {whose} passes {:.3} of a frame per click and {:.0} mm uncounted per roll, far from what was expected.",
                learnt.click_scale.mean, learnt.uncounted_mm.mean
            );
            list.push(Caveat::new("loader_unlikely", text));
        }
    }
}

/// Weighings that rest on a film weight or a tare nobody has learnt.
fn assumed(posterior: &Posterior, can: usize, one: &Can, list: &mut Vec<Caveat>) {
    let weighed = one
        .observations
        .iter()
        .any(|o| matches!(o.what, What::Weight(_)));
    if !weighed || one.ended {
        return;
    }
    let linear_mass = posterior.stock(one.stock).linear_mass_g_per_m;
    if LEARNT_LINEAR_MASS * linear_mass.mean.abs() < linear_mass.sd {
        let text = format!(
            "The film's weight of {:.2} ± {:.2} g/m is not yet learnt, so weighing says little about length.",
            linear_mass.mean,
            Z95 * linear_mass.sd
        );
        list.push(Caveat::new("film_weight_assumed", text));
    }
    let tare = posterior.can(can).tare_g;
    if LEARNT_TARE_G < tare.sd {
        let text = format!(
            "The empty weight of {:.0} ± {:.0} g is not yet learnt: weigh can, bag and core when one is empty.",
            tare.mean,
            Z95 * tare.sd
        );
        list.push(Caveat::new("tare_assumed", text));
    }
}

fn wide(posterior: &Posterior, can: usize, one: &Can, list: &mut Vec<Caveat>) {
    let sd = posterior.uncut_m(can).sd;
    let frames = Z95 * sd / one.pitch.click().to_m();
    if one.ended || frames <= WIDE_FRAMES {
        return;
    }
    let mut text = format!("What is left is known to about ± {frames:.0} frames only.");
    let best = one
        .loaders
        .first()
        .and_then(|&loader| posterior.next_measurements(can, loader).first().copied());
    if let Some(best) = best.filter(|best| best.sd_after_m < 0.9 * sd) {
        let after = Z95 * best.sd_after_m / one.pitch.click().to_m();
        text.push_str(&format!(
            " To bring it to ± {after:.0}: {}.",
            best.kind.phrase()
        ));
    }
    list.push(Caveat::new("wide_interval", text));
}
