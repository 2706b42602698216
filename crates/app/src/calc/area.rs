//! Film of a load as an input gives it: area, rolls of 36, or a length of 35 mm film.

use serde::Deserialize;
use spoolwright_core::wet::bath;
use spoolwright_core::{Error, Kind};

use super::input::Number;
use super::json;

/// Exactly one of the three.
#[derive(Deserialize, Clone, Copy)]
#[serde(deny_unknown_fields, expecting = "an object")]
pub(super) struct Film {
    area_m2: Option<Number>,
    rolls: Option<Number>,
    length_mm: Option<Number>,
}

impl Film {
    pub(super) fn new(
        area_m2: Option<Number>,
        rolls: Option<Number>,
        length_mm: Option<Number>,
    ) -> Self {
        Self {
            area_m2,
            rolls,
            length_mm,
        }
    }

    /// Its area in m²; `at` is where its fields lie.
    pub(super) fn area_m2(self, at: &str) -> Result<f64, Error> {
        let f = |name: &str| json::join(at, name);
        match (self.area_m2, self.rolls, self.length_mm) {
            (Some(area), None, None) => area.check(bath::AREA_M2, &f("area_m2")),
            (None, Some(rolls), None) => {
                Ok(rolls.check(bath::ROLLS, &f("rolls"))? * bath::ROLL_OF_36_M2)
            }
            (None, None, Some(length)) => bath::film_area_m2(
                length.check(bath::FILM_MM, &f("length_mm"))?,
                bath::FILM_WIDTH_MM,
            ),
            (None, None, None) => Err(json::missing(&f("area_m2"))),
            _ => Err(Error::new(
                Kind::Inconsistent,
                format!("{}: one of the three is enough", f("area_m2")),
                "more than one of area_m2, rolls and length_mm",
                "exactly one",
                "Give the one that you know.",
            )),
        }
    }
}
