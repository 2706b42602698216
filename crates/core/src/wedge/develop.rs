//! Developing for a wanted contrast: the time for it, speed and base + fog at that time, and how far they hold.
//!
//! The law of contrast against time and the rounds through it come from `family`.

use super::analysis::{is_iso, not_iso};
use super::bootstrap::interval;
use super::family::{BETWEEN, Draws, FARTHEST, Joined, Times};
use super::measures::TRIANGLE;
use super::result::{Analysis, AtTarget};
use super::{Measure, Target, check};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

impl Analysis {
    /// Developing for another target, from the same bootstrap rounds: quick enough to follow a slider.
    ///
    /// # Units
    /// Minutes, log10 exposure, arithmetic speed, stops.
    /// # Domain
    /// Target within [`crate::bounds::CONTRAST`]; an answer at most [`FARTHEST`] times outside the strips' times.
    /// # Errors
    /// One strip only, colour or reversal material, a target out of bounds or too far outside the strips.
    /// # Source
    /// Own derivation from the law of [`Analysis::time_contrast_in`].
    pub fn at(&self, target: Target) -> Result<AtTarget, Error> {
        let draws = &self.draws;
        let (joined, times) = draws.aim(target)?;
        let t = times.best;
        let mut caveats = Vec::new();
        let beyond = joined.beyond(t);
        let extrapolated = (beyond > 1.0 + 1e-9).then_some(beyond);
        if let Some(factor) = extrapolated {
            caveats.push(Caveat::new(
                "extrapolated",
                format!("The time lies outside the strips, {factor:.2} times the nearest one's: develop a strip there before relying on it."),
            ));
        }
        let time_min = interval(t, times.rounds.iter().copied())
            .ok_or_else(|| joined.out_of_reach(target, t))?;
        if times.open(time_min) {
            caveats.push(Caveat::new(
                "time_open",
                "The strips do not pin this time down; it may lie outside the range shown.",
            ));
        }
        if joined.used.len() == 2 {
            let left_out = draws.left_out(&joined);
            caveats.push(Caveat::new(
                "two_strips",
                format!("Two strips only{left_out}: how contrast grows between them is assumed, not measured."),
            ));
        }
        if joined.excess > BETWEEN {
            caveats.push(Caveat::new(
                "strips_disagree",
                "The strips scatter more about the curve of contrast against time than their densities explain; the interval is widened to match.",
            ));
        }
        let at_round = |r| times.of(r);
        let (log_h, log_rounds) = draws.along(|n| n.speed_point, t, &at_round);
        let rating = draws.scale.rate(interval(log_h, log_rounds.into_iter()));
        if rating.log_h.is_none() && draws.best.iter().any(|n| !n.speed_point.is_nan()) {
            caveats.push(Caveat::new(
                "no_speed_at_time",
                "No speed at that time: the strips around it do not show their speed point.",
            ));
        }
        let delta_d = if target.measure == Measure::IsoTriangle {
            target.value * TRIANGLE
        } else {
            draws.along(|n| n.delta_d, t, &at_round).0
        };
        let iso_condition_met = (!delta_d.is_nan()).then(|| is_iso(delta_d));
        if rating.speed.is_some() && iso_condition_met == Some(false) {
            caveats.push(not_iso(delta_d, "at this contrast"));
        }
        let (base, base_rounds) = draws.along(|n| n.base_fog, t, &at_round);
        let base_fog = interval(base, base_rounds.into_iter())
            .ok_or_else(|| joined.out_of_reach(target, t))?;
        Ok(AtTarget {
            target,
            time_min,
            log_h_speed_point: rating.log_h,
            speed: rating.speed,
            speed_rounded: rating.speed_rounded,
            iso_condition_met,
            ei_stops: rating.ei_stops,
            ei: rating.ei,
            ei_rounded: rating.ei_rounded,
            base_fog,
            extrapolated,
            caveats,
        })
    }
}

impl Draws {
    /// The strips joined, and the times for a target; an error where it lies too far outside them.
    pub(super) fn aim(&self, target: Target) -> Result<(Joined, Times), Error> {
        check::target(target, self.material)?;
        let joined = self.join(target.measure)?;
        let times = self.times_for(&joined, target.value);
        if times.best.is_nan() || joined.beyond(times.best) > FARTHEST {
            return Err(joined.out_of_reach(target, times.best));
        }
        Ok((joined, times))
    }

    /// Names the strips that the joined ones leave out, as an aside.
    fn left_out(&self, joined: &Joined) -> String {
        let missing: Vec<String> = (0..self.times.len())
            .filter(|i| !joined.used.contains(i))
            .map(|i| self.times[i].to_string())
            .collect();
        if missing.is_empty() {
            return String::new();
        }
        format!(
            " (the steps of {} min do not reach far enough for this measure)",
            missing.join(" and ")
        )
    }
}

impl Joined {
    /// How far a time lies outside the strips, as a factor of the nearest one's; 1 or less within them.
    fn beyond(&self, t: f64) -> f64 {
        let (first, last) = self.ends();
        (t / last).max(first / t)
    }

    fn out_of_reach(&self, target: Target, t: f64) -> Error {
        let (first, last) = self.ends();
        if t.is_nan() {
            return Error::new(
                Kind::Impossible,
                "the strips' contrast does not rise with developing time",
                format!(
                    "{:.2} at {first} min, {:.2} at {last} min",
                    self.law.at(first),
                    self.law.at(last)
                ),
                "strips that gain contrast the longer they are developed",
                "Are the strips' columns or times swapped?",
            );
        }
        let given = if t.is_infinite() {
            format!(
                "{:.2}, more than these strips will ever reach",
                target.value
            )
        } else {
            format!("{:.2}, which would take about {t:.1} min", target.value)
        };
        Error::new(
            Kind::Impossible,
            "the wanted contrast lies too far outside the strips",
            given,
            format!(
                "{:.2} to {:.2}, reached within {:.1} to {:.1} min",
                self.law.at(first / FARTHEST),
                self.law.at(last * FARTHEST),
                first / FARTHEST,
                last * FARTHEST
            ),
            "Develop another strip nearer to that contrast, or choose another target.",
        )
    }
}
