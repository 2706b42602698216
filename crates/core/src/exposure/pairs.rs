//! Aperture and shutter marks that expose alike, within what a camera has.
//!
//! A pair's exact values give the exposure value wanted, rounded to a third; its marks are off by a little, which is told.

use super::scale::{Mark, apertures, counted_ev, shutters};
use crate::bounds;
use crate::error::{Error, Kind};
use crate::wet::exposure::{F_NUMBER, TIME_S, ev};

/// An exposure value.
pub const EV: bounds::Bounds = bounds::Bounds::new("an exposure value", "stops", -30.0, 40.0);
/// Speed that exposure values are stated for when nothing else is said.
pub const EV_SPEED: f64 = 100.0;
/// The aperture of the rule for full sun [X4].
pub const SUNNY_F: f64 = 16.0;

/// What a lens and a shutter have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Widest f-number.
    pub widest: f64,
    /// Narrowest f-number.
    pub narrowest: f64,
    /// Longest time, s.
    pub longest_s: f64,
    /// Shortest time, s.
    pub shortest_s: f64,
    /// Only marks so many thirds apart, counted from f/1: 1 for all, 3 for whole stops.
    pub step_thirds: u32,
}

impl Default for Limits {
    /// The whole scales, f/1 to f/64 and 30 to 1/8000 s.
    fn default() -> Self {
        Self {
            widest: 1.0,
            narrowest: 64.0,
            longest_s: 30.0,
            shortest_s: 1.0 / 8000.0,
            step_thirds: 1,
        }
    }
}

/// One aperture and one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The lens.
    pub aperture: Mark,
    /// The shutter.
    pub shutter: Mark,
    /// Exposure value of the numbers engraved, less the one wanted: by what the marks' rounding is off, in stops.
    pub off_stops: f64,
}

/// Every pair of marks that gives an exposure value rounded to a third stop, widest aperture first.
///
/// # Units
/// Stops.
/// # Domain
/// [`EV`]; limits within [`F_NUMBER`] and [`TIME_S`], the wider and the longer one first.
/// # Errors
/// Out of range; limits that contradict each other.
/// # Source
/// [X1].
pub fn pairs(wanted_ev: f64, limits: &Limits) -> Result<Vec<Pair>, Error> {
    let wanted = EV.check(wanted_ev)?;
    let (widest, narrowest) = (
        F_NUMBER.check(limits.widest)?,
        F_NUMBER.check(limits.narrowest)?,
    );
    let (longest, shortest) = (
        TIME_S.check(limits.longest_s)?,
        TIME_S.check(limits.shortest_s)?,
    );
    if narrowest < widest || longest < shortest {
        return Err(Error::new(
            Kind::Inconsistent,
            "limits the wrong way round",
            format!("f/{widest} to f/{narrowest}, {longest} to {shortest} s"),
            "the smaller f-number and the longer time first",
            "Change the two about.",
        ));
    }
    let thirds = (3.0 * wanted).round() as i32;
    let step = i32::try_from(limits.step_thirds.clamp(1, 30)).unwrap_or(1);
    let within = |low: f64, m: &Mark, high: f64| {
        // A mark counts by either of its values: 1/8000 s is exactly 1/8192 s.
        let (least, most) = (m.nominal.min(m.exact), m.nominal.max(m.exact));
        low <= most * (1.0 + 1e-9) && least <= high * (1.0 + 1e-9)
    };
    let times: Vec<Mark> = shutters().collect();
    let lenses = apertures().filter(|a| a.thirds % step == 0 && within(widest, a, narrowest));
    lenses
        .filter_map(|aperture| {
            let shutter = *times
                .iter()
                .find(|s| s.thirds == thirds - aperture.thirds)?;
            within(shortest, &shutter, longest).then_some((aperture, shutter))
        })
        .map(|(aperture, shutter)| {
            Ok(Pair {
                aperture,
                shutter,
                off_stops: ev(aperture.nominal, shutter.nominal)? - wanted,
            })
        })
        .collect()
}

/// The pairs that expose as an aperture and a time do, both counted as a camera counts them.
///
/// # Units
/// f-number, seconds.
/// # Domain
/// As [`pairs`] and [`counted_ev`].
/// # Errors
/// As [`pairs`].
/// # Source
/// [X1].
pub fn like(f_number: f64, time_s: f64, limits: &Limits) -> Result<Vec<Pair>, Error> {
    pairs(counted_ev(f_number, time_s)?, limits)
}

/// An exposure value stated for one speed, for another.
///
/// # Units
/// Stops, arithmetic speeds.
/// # Domain
/// [`EV`], [`bounds::SPEED_ISO`].
/// # Errors
/// Out of range.
/// # Source
/// [X5], [X6]: the same light, so the difference is that of the speed values.
pub fn ev_for(ev: f64, stated_for: f64, speed: f64) -> Result<f64, Error> {
    let ratio = bounds::SPEED_ISO.check(speed)? / bounds::SPEED_ISO.check(stated_for)?;
    Ok(EV.check(ev)? + ratio.log2())
}

/// The rule for full sun: f/16, and the speed's reciprocal in seconds.
///
/// # Units
/// Arithmetic speed; seconds.
/// # Domain
/// [`bounds::SPEED_ISO`].
/// # Errors
/// Out of range.
/// # Source
/// [X4], from memory.
pub fn sunny_16_s(speed: f64) -> Result<f64, Error> {
    Ok(1.0 / bounds::SPEED_ISO.check(speed)?)
}
