//! Exposure values: f-number and time, the same exposure at other f-numbers, what a luminance asks for.
//!
//! Marks on lenses and shutters are rounded; sums take the number that is given and answer exactly, with the nearest
//! mark beside it. Long times are the work of [`crate::wet::reciprocity`], speeds in degrees of [`crate::wedge`].

use crate::bounds::{self, Bounds};
use crate::error::Error;

/// An f-number.
pub const F_NUMBER: Bounds = Bounds {
    what: "an f-number",
    unit: "",
    min: 0.5,
    max: 512.0,
};
/// An exposure time.
pub const TIME_S: Bounds = Bounds {
    what: "an exposure time",
    unit: "s",
    min: 0.00001,
    max: 86_400.0,
};
/// Luminance of a scene.
pub const LUMINANCE: Bounds = Bounds {
    what: "a luminance",
    unit: "cd/m²",
    min: 0.00001,
    max: 10_000_000.0,
};
/// A reflected-light meter's constant [X5].
pub const METER_K: Bounds = Bounds {
    what: "a meter's constant K",
    unit: "",
    min: 10.6,
    max: 13.4,
};
/// The constant when the meter's own is not known [X5].
pub const DEFAULT_METER_K: f64 = 12.5;
/// Speed at which the speed value of the APEX system is 0 [X6].
const APEX_SPEED: f64 = 3.125;

/// The marks of a lens by third stops, from f/1: common practice, no source.
pub const F_MARKS: [f64; 37] = [
    1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0,
    9.0, 10.0, 11.0, 13.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 29.0, 32.0, 36.0, 40.0, 45.0, 51.0,
    57.0, 64.0,
];

/// Exposure value: log₂(N²/t).
///
/// # Units
/// f-number, seconds; stops, 0 at f/1 and 1 s.
/// # Domain
/// [`F_NUMBER`], [`TIME_S`].
/// # Errors
/// Out of range.
/// # Source
/// [X1], [X2].
/// # Example
/// ```
/// use spoolwright_core::wet::exposure::ev;
/// assert!((ev(16.0, 1.0 / 125.0).unwrap() - 14.966).abs() < 0.0005);
/// ```
pub fn ev(f_number: f64, time_s: f64) -> Result<f64, Error> {
    let n = F_NUMBER.check(f_number)?;
    Ok((n * n / TIME_S.check(time_s)?).log2())
}

/// The time that an exposure value asks for at an f-number: N²/2^EV.
///
/// # Units
/// Stops; seconds.
/// # Domain
/// A finite exposure value; the result is not cut to what a shutter has.
/// # Errors
/// The f-number out of range.
/// # Source
/// [X1].
pub fn time_s(ev: f64, f_number: f64) -> Result<f64, Error> {
    let n = F_NUMBER.check(f_number)?;
    Ok(n * n / ev.exp2())
}

/// Speed value of the APEX system: log₂(S/3.125).
///
/// # Units
/// Arithmetic speed; stops.
/// # Domain
/// [`bounds::SPEED_ISO`].
/// # Errors
/// Out of range.
/// # Source
/// [X6].
pub fn speed_value(speed: f64) -> Result<f64, Error> {
    Ok((bounds::SPEED_ISO.check(speed)? / APEX_SPEED).log2())
}

/// The exposure value that a reflected-light meter reads: N²/t = L·S/K, the sum of the scene's brightness value and the
/// film's speed value.
///
/// # Units
/// cd/m², arithmetic speed; stops.
/// # Domain
/// [`LUMINANCE`], [`bounds::SPEED_ISO`], [`METER_K`].
/// # Errors
/// Out of range.
/// # Source
/// [X5], [X6].
pub fn metered_ev(luminance: f64, speed: f64, k: f64) -> Result<f64, Error> {
    let brightness = (LUMINANCE.check(luminance)? * APEX_SPEED / METER_K.check(k)?).log2();
    Ok(brightness + speed_value(speed)?)
}

/// The mark of a lens nearest to an f-number, by stops; none more than a sixth of a stop beyond f/1 and f/64.
///
/// # Source
/// The marks: common practice, no source; each is the third stop √2^(n/3) rounded.
pub fn nearest_mark(f_number: f64) -> Option<f64> {
    let third = (6.0 * f_number.log2()).round();
    let nearest = usize::try_from(third.is_finite().then_some(third as i64)?).ok()?;
    F_MARKS.get(nearest).copied()
}

/// One f-number and time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pairing {
    /// The mark of the lens.
    pub f_mark: f64,
    /// Exact time in seconds.
    pub time_s: f64,
}

/// The same exposure at the other f-numbers, a whole stop apart, opened or closed by up to `stops` stops.
///
/// Stepping from a mark counts the marks as the stops they stand for, so f/5.6 is one stop from f/8.
///
/// # Units
/// f-number, seconds.
/// # Domain
/// [`F_NUMBER`], [`TIME_S`]; what no lens mark or no time in [`TIME_S`] serves is left out.
/// # Errors
/// Out of range.
/// # Source
/// [X1].
pub fn equivalents(f_number: f64, time_s: f64, stops: u32) -> Result<Vec<Pairing>, Error> {
    let n = F_NUMBER.check(f_number)?;
    let t = TIME_S.check(time_s)?;
    let stops = i64::from(stops.min(20));
    Ok((-stops..=stops)
        .filter_map(|k| {
            let k = k as f64;
            let time_s = t * k.exp2();
            let f_mark = nearest_mark(n * (k / 2.0).exp2())?;
            TIME_S.check(time_s).ok()?;
            Some(Pairing { f_mark, time_s })
        })
        .collect())
}
