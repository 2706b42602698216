//! Marks by third stops: what is engraved, and what it stands for.
//!
//! A third stop further along a scale is a third of a stop less light; the marks are rounded, the exact values are not.

use crate::bounds;
use crate::error::Error;
use crate::wedge::{StandardSpeed, standard_speed};
use crate::wet::exposure::{F_MARKS, F_NUMBER, TIME_S};

/// Shutter marks slower than 1/4 s, in seconds, by third stops from 30 s: common practice, no source.
const SLOW_S: [f64; 21] = [
    30.0, 25.0, 20.0, 15.0, 13.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.2, 2.5, 2.0, 1.6, 1.3, 1.0, 0.8, 0.6,
    0.5, 0.4, 0.3,
];
/// And on from 1/4 s, as parts of a second.
const PARTS: [f64; 34] = [
    4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0, 125.0,
    160.0, 200.0, 250.0, 320.0, 400.0, 500.0, 640.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0,
    3200.0, 4000.0, 5000.0, 6400.0, 8000.0,
];
/// Third stops from the first shutter mark to 1 s.
const TO_ONE_SECOND: i32 = 15;
/// How far a number may be from a mark and still mean it, as a part.
const SAME: f64 = 0.005;

/// A mark of a lens or a shutter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Third stops from f/1 or from 1 s; more is less light.
    pub thirds: i32,
    /// The number engraved.
    pub nominal: f64,
    /// What it stands for.
    pub exact: f64,
}

/// Every third-stop mark of a lens, f/1 to f/64; exactly √2^(n/3).
///
/// # Source
/// The marks: common practice, no source; exact values by [X1].
pub fn apertures() -> impl Iterator<Item = Mark> {
    (0..).zip(F_MARKS).map(|(thirds, nominal)| Mark {
        thirds,
        nominal,
        exact: (f64::from(thirds) / 6.0).exp2(),
    })
}

/// Every third-stop mark of a shutter, 30 to 1/8000 s; exactly 2^(−n/3) s.
///
/// # Source
/// The marks: common practice, no source; exact values by [X1].
pub fn shutters() -> impl Iterator<Item = Mark> {
    let seconds = SLOW_S.into_iter().chain(PARTS.map(|parts| 1.0 / parts));
    (-TO_ONE_SECOND..)
        .zip(seconds)
        .map(|(thirds, nominal)| Mark {
            thirds,
            nominal,
            exact: (-f64::from(thirds) / 3.0).exp2(),
        })
}

/// A shutter mark as it is engraved, with its unit: "1/125 s", "0.5 s", "30 s".
pub fn shutter_name(mark: Mark) -> String {
    let parts = usize::try_from(mark.thirds + TO_ONE_SECOND)
        .ok()
        .and_then(|k| k.checked_sub(SLOW_S.len()))
        .and_then(|k| PARTS.get(k));
    parts.map_or_else(
        || format!("{} s", mark.nominal),
        |parts| format!("1/{parts} s"),
    )
}

/// The mark of a lens nearest to an f-number, by stops; none beyond the scale.
///
/// # Units
/// f-number.
/// # Domain
/// [`F_NUMBER`].
/// # Errors
/// Out of range.
/// # Source
/// [X1].
pub fn nearest_aperture(f_number: f64) -> Result<Option<Mark>, Error> {
    let thirds = (aperture_value(f_number)? * 3.0).round();
    Ok(apertures().find(|m| f64::from(m.thirds) == thirds))
}

/// The mark of a shutter nearest to a time, by stops; none beyond the scale.
///
/// # Units
/// Seconds.
/// # Domain
/// [`TIME_S`].
/// # Errors
/// Out of range.
/// # Source
/// [X1].
pub fn nearest_shutter(time_s: f64) -> Result<Option<Mark>, Error> {
    let thirds = (time_value(time_s)? * 3.0).round();
    Ok(shutters().find(|m| f64::from(m.thirds) == thirds))
}

/// Aperture value of the APEX system: 2 log₂ N.
///
/// # Units
/// f-number; stops, 0 at f/1.
/// # Domain
/// [`F_NUMBER`].
/// # Errors
/// Out of range.
/// # Source
/// [X1], [X6].
pub fn aperture_value(f_number: f64) -> Result<f64, Error> {
    Ok(2.0 * F_NUMBER.check(f_number)?.log2())
}

/// Time value of the APEX system: −log₂ t.
///
/// # Units
/// Seconds; stops, 0 at 1 s.
/// # Domain
/// [`TIME_S`].
/// # Errors
/// Out of range.
/// # Source
/// [X1], [X6].
pub fn time_value(time_s: f64) -> Result<f64, Error> {
    Ok(-TIME_S.check(time_s)?.log2())
}

/// Exposure value as a camera counts it: a number that is a mark counts as the stops it stands for, so f/16 at 1/125 s is
/// 15 and not 14.966; any other number counts as it is.
///
/// # Units
/// f-number, seconds; stops.
/// # Domain
/// [`F_NUMBER`], [`TIME_S`].
/// # Errors
/// Out of range.
/// # Source
/// [X1], [X2].
/// # Example
/// ```
/// use spoolwright_core::exposure::scale::counted_ev;
/// assert_eq!(counted_ev(16.0, 1.0 / 125.0).unwrap(), 15.0);
/// ```
pub fn counted_ev(f_number: f64, time_s: f64) -> Result<f64, Error> {
    let meant = |mark: Option<Mark>, given: f64| {
        mark.filter(|m| (m.nominal / given - 1.0).abs() <= SAME)
            .map(|m| f64::from(m.thirds) / 3.0)
    };
    let aperture = meant(nearest_aperture(f_number)?, f_number);
    let time = meant(nearest_shutter(time_s)?, time_s);
    let exact = (aperture_value(f_number)?, time_value(time_s)?);
    Ok(aperture.unwrap_or(exact.0) + time.unwrap_or(exact.1))
}

/// The standard speed so many third stops faster (or slower, below zero) than the one nearest to `speed`: three from 320
/// are 640, and three more 1250, as the list rounds.
///
/// # Units
/// Arithmetic speed; third stops.
/// # Domain
/// [`bounds::SPEED_ISO`], the result too.
/// # Errors
/// Out of range.
/// # Source
/// [X3]; a third stop is one degree [S4].
/// # Example
/// ```
/// use spoolwright_core::exposure::scale::speed_step;
/// assert_eq!(speed_step(640.0, 3).unwrap().iso, 1250.0);
/// ```
pub fn speed_step(speed: f64, thirds: i32) -> Result<StandardSpeed, Error> {
    let speed = bounds::SPEED_ISO.check(speed)?;
    let stepped = standard_speed(speed)
        .and_then(|near| {
            // The list's own degrees, so that its rounding does not add up.
            let degrees = f64::from(near.degrees) + f64::from(thirds);
            standard_speed(10f64.powf((degrees - 1.0) / 10.0))
        })
        .filter(|s| bounds::SPEED_ISO.check(s.iso).is_ok());
    stepped.ok_or_else(|| {
        Error::new(
            crate::Kind::OutOfRange,
            "a standard speed",
            format!("{thirds} thirds from {speed}"),
            bounds::SPEED_ISO.allowed(),
            "Take fewer steps.",
        )
    })
}
