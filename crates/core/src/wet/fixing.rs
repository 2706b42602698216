//! How long to fix: from the clearing time of a scrap, for the bath's temperature.
//!
//! A scrap of undeveloped film (the cut leader tongue) in white light clears in a time that tells both how long to
//! fix and how far the fixer is spent. It is a test of the whole bath as it stands; what a bath has left is
//! [`super::bath`]'s.

use crate::bounds::Bounds;
use crate::error::Error;

use super::recipe::Agitation;

/// Clearing time of a scrap of film.
pub const CLEARING_S: Bounds = Bounds {
    what: "a clearing time",
    unit: "s",
    min: 1.0,
    max: 7200.0,
};
/// Temperature of a fixer or a wash.
pub const BATH_C: Bounds = Bounds {
    what: "a bath's temperature",
    unit: "°C",
    min: 1.0,
    max: 50.0,
};

/// Fixing time in clearing times.
///
/// # Source
/// [D9].
pub const MULTIPLE: f64 = 2.0;
/// The same for film that its user has marked as tabular or otherwise rich in iodide: a default, a rule of practice.
///
/// # Source
/// [D11], weak.
pub const HIGH_IODIDE_MULTIPLE: f64 = 3.0;
/// A fixer is dead when the fresh clearing time has grown by this factor.
///
/// # Source
/// [D10].
pub const DEAD_AT: f64 = 2.0;
/// Where the cold correction begins, 68 °F.
///
/// # Source
/// [D15].
pub const NORMAL_C: f64 = 20.0;
/// A fall by this much doubles the time, 18 °F.
///
/// # Source
/// [D15].
pub const DOUBLING_C: f64 = 10.0;

/// Agitation of a fixer that nobody has said otherwise of: two patterns of one manual, the first the default.
///
/// # Source
/// [D7b].
pub const AGITATION: [Agitation; 2] = [
    Agitation {
        first_s: 15.0,
        every_s: 30.0,
        for_s: 5.0,
    },
    Agitation {
        first_s: 15.0,
        every_s: 60.0,
        for_s: 10.0,
    },
];
/// Shortest step that fixes, s: own rule, the shortest stop bath [D7b].
pub const LEAST_STEP_S: f64 = 30.0;
/// The test of a fixer without film.
///
/// # Source
/// [D14].
pub const IODIDE_TEST: &str = "10 ml of a 4 to 5 % solution of potassium iodide in 100 ml of the fixer: \
     a precipitate that stays means that the fixer is exhausted. Pour the sample away as fixer waste.";

/// What a time at 20 °C is multiplied by in a colder fixer: doubled for every 10 °C below; 1 at 20 °C and above.
///
/// # Units
/// °C; result without unit.
/// # Domain
/// `temperature_c` within [`BATH_C`].
/// # Errors
/// Out of range.
/// # Source
/// [D15]: doubled for every 18 °F below 68 °F.
/// # Example
/// ```
/// // 58 °F: 1.47 times.
/// let f = spoolwright_core::wet::fixing::cold_factor((58.0 - 32.0) / 1.8).unwrap();
/// assert!((f - 1.47).abs() < 0.005);
/// ```
pub fn cold_factor(temperature_c: f64) -> Result<f64, Error> {
    let below = NORMAL_C - BATH_C.check(temperature_c)?;
    Ok((below.max(0.0) / DOUBLING_C).exp2())
}

/// The film in the fixer and the test that was made with it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// How long the scrap took to clear, s.
    pub clearing_s: f64,
    /// Temperature at which it was tested, °C.
    pub at_c: f64,
    /// Whether the film is marked as tabular or otherwise rich in iodide.
    pub high_iodide: bool,
}

/// A clearing time that was measured at `from_c`, as it is at `to_c`, never too short: the law of [`cold_factor`]
/// shortens it below 20 °C only, and lengthens it from any temperature.
///
/// # Units
/// s, °C; s.
/// # Domain
/// Clearing time within [`CLEARING_S`], temperatures within [`BATH_C`].
/// # Errors
/// Out of range.
/// # Source
/// [D15]; that a test above 20 °C is lengthened by the same law is own choice, on the careful side.
/// # Example
/// ```
/// use spoolwright_core::wet::fixing::clearing_at;
/// // From 30 °C down to 20 °C: twice as long. Upwards nothing is taken off.
/// assert_eq!(clearing_at(30.0, 30.0, 20.0).unwrap(), 60.0);
/// assert_eq!(clearing_at(30.0, 20.0, 30.0).unwrap(), 30.0);
/// ```
pub fn clearing_at(clearing_s: f64, from_c: f64, to_c: f64) -> Result<f64, Error> {
    let colder = cold_factor(to_c)? / cold_factor(from_c)?;
    let lengthened = ((from_c - to_c) / DOUBLING_C).exp2();
    let factor = if to_c < from_c { lengthened } else { colder };
    Ok(CLEARING_S.check(clearing_s)? * factor)
}

/// Fixing time in a bath of `bath_c`: the clearing time twice (three times for film rich in iodide), longer in a
/// bath that is colder than the test was.
///
/// # Units
/// s, °C.
/// # Domain
/// Clearing time within [`CLEARING_S`], temperatures within [`BATH_C`].
/// # Errors
/// Out of range.
/// # Source
/// [D9], [D11]; the temperature as [`clearing_at`].
pub fn fixing_time_s(test: Test, bath_c: f64) -> Result<f64, Error> {
    let multiple = if test.high_iodide {
        HIGH_IODIDE_MULTIPLE
    } else {
        MULTIPLE
    };
    Ok(multiple * clearing_at(test.clearing_s, test.at_c, bath_c)?)
}
