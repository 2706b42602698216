//! One table of what a number may be. Error texts, form limits and database checks derive from it.
//!
//! A bound says what is absurd, not what is unusual: unusual values pass and earn a caveat elsewhere.

use crate::error::{Error, Kind};

/// The closed range a number must lie in, with its name and unit for error texts and forms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// What the number is, as a person would say it.
    pub what: &'static str,
    /// Unit of the number as entered; empty when it has none.
    pub unit: &'static str,
    /// Smallest allowed value.
    pub min: f64,
    /// Largest allowed value.
    pub max: f64,
}

impl Bounds {
    /// From `min` to `max`, both allowed.
    pub const fn new(what: &'static str, unit: &'static str, min: f64, max: f64) -> Self {
        Self {
            what,
            unit,
            min,
            max,
        }
    }

    /// The value itself if it is finite and inside the bounds.
    ///
    /// # Errors
    /// [`Kind::OutOfRange`], naming this quantity.
    pub fn check(&self, value: f64) -> Result<f64, Error> {
        self.check_as(self.what, value)
    }

    /// Like [`Bounds::check`], naming the field the value came from instead of the quantity.
    ///
    /// # Errors
    /// [`Kind::OutOfRange`], naming `field`.
    pub fn check_as(&self, field: &str, value: f64) -> Result<f64, Error> {
        if value.is_finite() && self.min <= value && value <= self.max {
            return Ok(value);
        }
        Err(Error::new(
            Kind::OutOfRange,
            field,
            shown(value),
            self.allowed(),
            format!("Enter {} within these limits.", self.what),
        ))
    }

    /// The allowed range in words: "0.05 to 0.3 mm".
    pub fn allowed(&self) -> String {
        let unit = if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        };
        format!("{} to {}{unit}", self.min, self.max)
    }
}

/// A number as a person would write it: a power of ten where it would else run to hundreds of digits.
fn shown(value: f64) -> String {
    let size = value.abs();
    if size.is_finite() && size != 0.0 && !(1e-6..1e15).contains(&size) {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

/// Length of a can or part roll.
pub const CAN_LENGTH_M: Bounds = Bounds::new("a can's length", "m", 0.3, 1000.0);
/// Outer diameter of a spool, core or hub.
pub const CORE_MM: Bounds = Bounds::new("a core's diameter", "mm", 5.0, 200.0);
/// Outer diameter of a wound roll.
pub const ROLL_DIAMETER_MM: Bounds = Bounds::new("a roll's outer diameter", "mm", 5.0, 700.0);
/// Total thickness of film (base and emulsion).
pub const THICKNESS_MM: Bounds = Bounds::new("film thickness", "mm", 0.05, 0.30);
/// Mass on a kitchen scale.
pub const MASS_G: Bounds = Bounds::new("a weight", "g", 0.0, 20_000.0);
/// Standard deviation of a weighing.
pub const MASS_SD_G: Bounds = Bounds::new("a weighing's uncertainty", "g", 0.01, 500.0);
/// Mass of one metre of film.
pub const LINEAR_MASS_G_PER_M: Bounds = Bounds::new("film weight per metre", "g/m", 1.0, 30.0);
/// Clicks of a loader's counter for one roll.
pub const CLICKS: Bounds = Bounds::new("clicks", "clicks", 1.0, 2000.0);
/// Frames of one roll.
pub const FRAMES: Bounds = Bounds::new("frames", "frames", 1.0, 800.0);
/// Leader and tail allowances.
pub const ALLOWANCE_CLICKS: Bounds = Bounds::new("an allowance", "clicks", 0.0, 30.0);
/// Frame advance in perforations.
pub const ADVANCE_PERFORATIONS: Bounds =
    Bounds::new("a frame's advance", "perforations", 1.0, 40.0);
/// Where a loader's dial stands before the first click.
pub const DIAL_OFFSET: Bounds = Bounds::new("the dial's start", "clicks", -100.0, 100.0);
/// Film pulled past the sprocket uncounted, plus trim, for one roll.
pub const UNCOUNTED_MM: Bounds = Bounds::new("uncounted film per roll", "mm", 0.0, 1000.0);
/// A loader's calibration factor.
pub const CLICK_SCALE: Bounds = Bounds::new("a loader's click scale", "", 0.5, 2.0);
/// Film speed or exposure index.
pub const SPEED_ISO: Bounds = Bounds::new("a film speed", "ISO", 0.1, 1_000_000.0);
/// A one-sided confidence.
pub const CONFIDENCE: Bounds = Bounds::new("a confidence", "", 0.5, 0.9999);
/// A temperature film may be kept at.
pub const TEMPERATURE_C: Bounds = Bounds::new("a temperature", "°C", -40.0, 60.0);
/// An amount of money.
pub const MONEY: Bounds = Bounds::new("an amount of money", "", 0.0, 1_000_000_000.0);
/// Clicks after which a dial shows the same figure again.
pub const DIAL_WRAP: Bounds = Bounds::new("the dial's round", "clicks", 10.0, 200.0);
/// Longest film a tank reel takes.
pub const REEL_MM: Bounds = Bounds::new("a reel's limit", "mm", 200.0, 10_000.0);
/// Density of one step of a wedge.
pub const WEDGE_DENSITY: Bounds = Bounds::new("a wedge step's density", "", 0.0, 6.0);
/// Density of one patch of film; a densitometer may read a little below its zero.
pub const DENSITY: Bounds = Bounds::new("a density", "", -0.1, 6.0);
/// Density of unexposed, developed film.
pub const BASE_FOG: Bounds = Bounds::new("base + fog", "", 0.0, 4.0);
/// Standard deviation of one reading of density.
pub const DENSITY_SD: Bounds = Bounds::new("a density's uncertainty", "", 0.0, 0.3);
/// log10 of an exposure.
pub const LOG_EXPOSURE: Bounds = Bounds::new("a log exposure", "log lx s", -8.0, 8.0);
/// Exposure around a meter reading.
pub const METER_STOPS: Bounds = Bounds::new("an exposure around the meter", "stops", -20.0, 20.0);
/// Developing time.
pub const DEVELOPING_MIN: Bounds = Bounds::new("a developing time", "min", 0.25, 1440.0);
/// A wanted contrast.
pub const CONTRAST: Bounds = Bounds::new("a contrast", "", 0.1, 4.0);
/// Rounds of the bootstrap.
pub const ROUNDS: Bounds = Bounds::new("bootstrap rounds", "rounds", 100.0, 20_000.0);

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever was given, it is told in a few characters.
    #[test]
    fn what_was_given_is_told_briefly() {
        for (given, told) in [
            (1e300, "1e300"),
            (-1e300, "-1e300"),
            (5e-324, "5e-324"),
            (f64::NAN, "NaN"),
            (f64::INFINITY, "inf"),
            (0.0, "0"),
            (-1.5, "-1.5"),
            (123_456.0, "123456"),
        ] {
            assert_eq!(CORE_MM.check(given).unwrap_err().given, told);
        }
    }
}
