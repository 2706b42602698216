//! Pushing and pulling: how much longer or shorter to develop film exposed at another speed than its own.
//!
//! The factors are rules of thumb that a person overrides. A push gives no true speed: shadows that saw too little
//! light stay empty, contrast and fog rise. The time so found is carried to the bath's temperature by
//! [`crate::wet::temperature`].

use crate::bounds::Bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::wedge::Interval;

use super::mark::Mark;

/// Stops by which film was underexposed (push) or, negative, overexposed (pull).
pub const PUSH_STOPS: Bounds = Bounds {
    what: "a push or pull",
    unit: "stops",
    min: -3.0,
    max: 3.0,
};
/// Factor of the developing time.
pub const PUSH_FACTOR: Bounds = Bounds {
    what: "a push's factor of the time",
    unit: "",
    min: 0.2,
    max: 5.0,
};

/// Stops, and the lowest and highest factor that are in use for them: pushing from memory [D27], pulling common
/// practice, no source.
pub const RULES: [(f64, f64, f64); 4] = [
    (-1.0, 0.7, 0.8),
    (0.0, 1.0, 1.0),
    (1.0, 1.3, 1.5),
    (2.0, 1.7, 2.2),
];

/// A factor of the developing time with what it is to be taken with.
#[derive(Debug, Clone, PartialEq)]
pub struct Push {
    /// Stops of the push; a pull is negative.
    pub stops: f64,
    /// The factor.
    pub factor: f64,
    /// Lowest factor in use for a rule of thumb; a person's own is the factor itself. No measured bound.
    pub low: f64,
    /// The highest.
    pub high: f64,
    /// Where it comes from.
    pub mark: Mark,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

impl Push {
    /// The range in use taken as if it were a 95 % interval: own choice, so that a rule of thumb is not exact.
    pub const fn as_interval(&self) -> Interval {
        Interval {
            value: self.factor,
            lower95: self.low,
            upper95: self.high,
        }
    }
}

/// The factor by rule of thumb: the geometric middle of the range in use, between whole stops along the logarithm.
///
/// # Units
/// Stops; the factor has none.
/// # Domain
/// −1 to 2 stops.
/// # Errors
/// Out of [`PUSH_STOPS`]; further than the rules go ([`Kind::Impossible`]).
/// # Source
/// [D27], weak; pulling: common practice, no source; the interpolation: own derivation.
pub fn rule_of_thumb(stops: f64) -> Result<Push, Error> {
    let stops = PUSH_STOPS.check(stops)?;
    let (first, last) = (RULES[0].0, RULES[RULES.len() - 1].0);
    let Some(pair) = RULES
        .windows(2)
        .find(|w| w[0].0 <= stops && stops <= w[1].0)
    else {
        return Err(Error::new(
            Kind::Impossible,
            "no rule of thumb goes that far",
            format!("{stops} stops"),
            format!("{first} to {last} stops without a factor"),
            "Give the factor of the time that you found by a test.",
        ));
    };
    let along = (stops - pair[0].0) / (pair[1].0 - pair[0].0);
    let blend = |a: f64, b: f64| (a.ln() + (b.ln() - a.ln()) * along).exp();
    let (low, high) = (blend(pair[0].1, pair[1].1), blend(pair[0].2, pair[1].2));
    let factor = (low * high).sqrt().clamp(low, high);
    Ok(with(stops, (low, factor, high), Mark::RuleOfThumb))
}

/// A factor that a person gives.
///
/// # Units
/// Stops; the factor has none.
/// # Domain
/// [`PUSH_STOPS`], [`PUSH_FACTOR`]; a push does not shorten the time, nor a pull lengthen it.
/// # Errors
/// Out of range; stops and factor that contradict each other ([`Kind::Inconsistent`]).
pub fn own(stops: f64, factor: f64, mark: Mark) -> Result<Push, Error> {
    let stops = PUSH_STOPS.check(stops)?;
    let factor = PUSH_FACTOR.check(factor)?;
    if (stops > 0.0 && factor < 1.0) || (stops < 0.0 && factor > 1.0) {
        return Err(Error::new(
            Kind::Inconsistent,
            "the factor contradicts the stops",
            format!("× {factor} for {stops} stops"),
            "1 or more for a push, 1 or less for a pull",
            "A push (stops above 0) takes more time, a pull (below 0) less.",
        ));
    }
    Ok(with(stops, (factor, factor, factor), mark))
}

fn with(stops: f64, (low, factor, high): (f64, f64, f64), mark: Mark) -> Push {
    let mut caveats = Vec::new();
    if stops != 0.0 && mark == Mark::RuleOfThumb {
        caveats.push(Caveat::new(
            "push_rule_of_thumb",
            if low < high {
                format!(
                    "The factor is a rule of thumb: {low:.2} to {high:.2} are in use, none of them measured. A time found for this film and developer is better."
                )
            } else {
                "The factor is a rule of thumb; a time found for this film and developer is better."
                    .to_owned()
            },
        ));
    }
    if 0.0 < stops {
        caveats.push(Caveat::new(
            "push_no_speed",
            "A push gives no true speed: shadows stay empty, contrast and fog rise.",
        ));
    }
    if stops < 0.0 {
        caveats.push(Caveat::new(
            "pull_flat",
            "A pull lowers contrast; it pays where the film was exposed more generously.",
        ));
    }
    Push {
        stops,
        factor,
        low,
        high,
        mark,
        caveats,
    }
}
