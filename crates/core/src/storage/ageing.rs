//! Speed that old film may have lost: a rule of thumb, until a test at the wedge bench says how it is.
//!
//! The rule is from memory and wide; it is for black-and-white film alone. After a test only the time since then counts.

use super::keeping::Class;
use crate::bounds::{self, Bounds};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::wedge::StandardSpeed;
use crate::wet::filter;
use crate::wet::mark::Mark;

/// Years in one place, or since a test.
pub const YEARS: Bounds = Bounds::new("years", "years", 0.0, 200.0);
/// Most places one after the other.
pub const MOST_STAYS: usize = 200;
/// Speed from which film counts as fast: own choice, no source.
pub const FAST: f64 = 400.0;
/// Warmest room that the rule may have meant, °C: own choice, no source.
const WARMEST_C: f64 = 25.0;
/// Years beyond which the rule is far from what anybody saw: own choice, no source.
const FAR_YEARS: f64 = 30.0;
/// Stops in ten years in a room, least and most [T16].
const ROOM: (f64, f64) = (1.0 / 3.0, 1.0);

/// Time spent in one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stay {
    /// How long.
    pub years: f64,
    /// The place, °C.
    pub temperature_c: f64,
}

/// What to allow for age.
#[derive(Debug, Clone, PartialEq)]
pub struct Allowance {
    /// Years that count.
    pub years: f64,
    /// Least loss, stops.
    pub low_stops: f64,
    /// Most, stops.
    pub high_stops: f64,
    /// What to allow in third stops: the middle, or the most of fast film.
    pub thirds: i64,
    /// How well that is known: never better than a rule of thumb.
    pub mark: Mark,
    /// It counts from a test, whose speed it is off.
    pub since_test: bool,
    /// Exposure index that allows for it, exact and from the standard list, where a speed is given.
    pub ei: Option<(f64, StandardSpeed)>,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// Stops lost in ten years, least and most.
///
/// # Source
/// [T16] for a room. Frozen and cold film loses "much less": read as between nothing and the least of a room, of fast film
/// up to the most, since cooling stops no radiation. In a cool place between nothing and the most: own reading.
pub fn stops_in_ten_years(class: Class, fast: bool) -> (f64, f64) {
    match class {
        Class::Room => ROOM,
        Class::Cool => (0.0, ROOM.1),
        Class::Cold | Class::Frozen if fast => (0.0, ROOM.1),
        Class::Cold | Class::Frozen => (0.0, ROOM.0),
    }
}

/// What to allow for the age of a black-and-white film, by where it has lain, oldest stay first.
///
/// # Units
/// Years, °C, arithmetic speed; stops.
/// # Domain
/// [`YEARS`], [`bounds::TEMPERATURE_C`], [`bounds::SPEED_ISO`]; at most [`MOST_STAYS`] stays.
/// # Errors
/// Out of range, too many stays.
/// # Source
/// [T16], weak. Losses add up over stays; own derivation.
pub fn allowance(
    speed: Option<f64>,
    stays: &[Stay],
    tested_years_ago: Option<f64>,
) -> Result<Allowance, Error> {
    if MOST_STAYS < stays.len() {
        return Err(Error::new(
            Kind::TooLarge,
            "too many stays",
            stays.len(),
            format!("up to {MOST_STAYS}"),
            "Put stays in like places together.",
        ));
    }
    let speed = speed.map(|s| bounds::SPEED_ISO.check(s)).transpose()?;
    let tested = tested_years_ago.map(|y| YEARS.check(y)).transpose()?;
    let fast = speed.is_some_and(|s| FAST <= s);
    let mut left = tested.unwrap_or(f64::INFINITY);
    let (mut years, mut low, mut high, mut warm) = (0.0, 0.0, 0.0, false);
    for stay in stays.iter().rev() {
        let at = bounds::TEMPERATURE_C.check(stay.temperature_c)?;
        let counts = YEARS.check(stay.years)?.min(left);
        left -= counts;
        let (least, most) = stops_in_ten_years(Class::of(at), fast);
        years += counts;
        low += least * counts / 10.0;
        high += most * counts / 10.0;
        warm |= WARMEST_C < at && 0.0 < counts;
    }
    let allowed = if fast { high } else { (low + high) / 2.0 };
    let thirds = filter::nominal_thirds(allowed);
    let ei = speed
        .map(|s| filter::ei_behind(s, thirds as f64 / 3.0))
        .transpose()?;
    let mut caveats = vec![Caveat::new(
        "rule_of_thumb",
        "A rule of thumb from memory, not measured on this film: a wedge test of it says what is true.",
    )];
    if warm {
        caveats.push(Caveat::new(
            "warmer_than_rule",
            "It lay warmer than any room the rule may have meant: it may have lost more.",
        ));
    }
    if FAR_YEARS < years {
        caveats.push(Caveat::new(
            "far_beyond",
            "After so many years fog rather than speed may decide: test it before you trust it with anything.",
        ));
    }
    if fast {
        caveats.push(Caveat::new(
            "fast_film",
            "Fast film fogs sooner, and cooling does not stop radiation: the most is allowed.",
        ));
    }
    Ok(Allowance {
        years,
        low_stops: low,
        high_stops: high,
        thirds,
        mark: Mark::RuleOfThumb,
        since_test: tested.is_some(),
        ei,
        caveats,
    })
}
