//! Cold film: how long a closed can must warm up before it is opened.
//!
//! Only for 35 mm film in its closed can; other packages and humid rooms have tables of their own.

use crate::bounds::{self, Bounds};
use crate::error::Error;

/// Largest rise the table covers, °C.
const RISE_C: Bounds = Bounds {
    what: "a rise in temperature",
    unit: "°C",
    min: 0.0,
    max: 55.0,
};

/// Rise in °C up to which so many hours are enough, from the table ([T3]).
const TABLE: [(f64, f64); 2] = [(14.0, 3.0), (55.0, 5.0)];

/// Hours a closed 35 mm can needs to warm from one temperature to another before it is opened.
///
/// # Units
/// °C; result in hours.
/// # Domain
/// Both within [`bounds::TEMPERATURE_C`], a rise of at most 55 °C; 0 h when it does not rise.
/// # Errors
/// Out of range.
/// # Source
/// [T3]; between its points the value of the next higher rise, never less ([T9]).
pub fn warm_up_hours(from_c: f64, to_c: f64) -> Result<f64, Error> {
    bounds::TEMPERATURE_C.check(from_c)?;
    bounds::TEMPERATURE_C.check(to_c)?;
    let rise = (to_c - from_c).max(0.0);
    RISE_C.check(rise)?;
    if rise == 0.0 {
        return Ok(0.0);
    }
    Ok(TABLE
        .iter()
        .find(|row| rise <= row.0)
        .map_or(TABLE[1].1, |row| row.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// [T3]: 3 h for a rise of 14 °C, 5 h for 55 °C; [T9]: rounded up between.
    #[test]
    fn the_table_and_between() {
        for (from, to, hours) in [
            (6.0, 20.0, 3.0),
            (-35.0, 20.0, 5.0),
            (4.0, 20.0, 5.0),
            (13.0, 20.0, 3.0),
            (20.0, 20.0, 0.0),
            (25.0, 20.0, 0.0),
        ] {
            assert_eq!(warm_up_hours(from, to).unwrap(), hours, "{from} to {to}");
        }
        assert!(warm_up_hours(-40.0, 30.0).is_err());
        assert!(warm_up_hours(f64::NAN, 20.0).is_err());
    }
}
