//! The pieces that inputs are made of: numbers, whole numbers, estimates, words.
//!
//! A piece is read first and judged second, with the path of its field and the core's bounds.

use std::fmt;

use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer};
use spoolwright_core::Error;
use spoolwright_core::bounds::Bounds;
use spoolwright_core::film::{Light, Pitch};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::wet::mark::Mark;

use super::json;
use super::words;

/// What to do about a word that is not known.
pub(super) const USE_ONE: &str = "Use one of these words.";

/// Any finite number.
#[derive(Debug, Clone, Copy)]
pub(super) struct Number(f64);

impl From<f64> for Number {
    fn from(value: f64) -> Self {
        Self(value)
    }
}

impl Number {
    pub(super) fn check(self, bounds: Bounds, field: &str) -> Result<f64, Error> {
        bounds.check_as(&format!("{field}: out of range"), self.0)
    }
}

/// A whole number; `18.0` is one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Whole(f64);

impl Whole {
    /// Bounds of the field must lie inside the result's range.
    pub(super) fn check(self, bounds: Bounds, field: &str) -> Result<u32, Error> {
        Number(self.0).check(bounds, field).map(|v| v as u32)
    }

    pub(super) fn check_signed(self, bounds: Bounds, field: &str) -> Result<i32, Error> {
        Number(self.0).check(bounds, field).map(|v| v as i32)
    }
}

struct NumberVisitor {
    expected: &'static str,
}

impl Visitor<'_> for NumberVisitor {
    type Value = f64;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.expected)
    }
    fn visit_f64<E>(self, v: f64) -> Result<f64, E> {
        Ok(v)
    }
    fn visit_i64<E>(self, v: i64) -> Result<f64, E> {
        Ok(v as f64)
    }
    fn visit_u64<E>(self, v: u64) -> Result<f64, E> {
        Ok(v as f64)
    }
}

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(NumberVisitor {
            expected: "a number",
        })
        .map(Self)
    }
}

impl<'de> Deserialize<'de> for Whole {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        const EXPECTED: &str = "a whole number";
        let value = d.deserialize_any(NumberVisitor { expected: EXPECTED })?;
        if value.fract() != 0.0 {
            return Err(de::Error::invalid_value(
                de::Unexpected::Float(value),
                &EXPECTED,
            ));
        }
        Ok(Self(value))
    }
}

/// A mean and its standard deviation.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object with mean and sd")]
pub(super) struct MeanSd {
    mean: Number,
    sd: Number,
}

impl MeanSd {
    /// The mean within `bounds`, the standard deviation no larger than their range.
    pub(super) fn check(self, bounds: Bounds, field: &str) -> Result<Estimate, Error> {
        let sd = Bounds {
            what: "a standard deviation",
            unit: bounds.unit,
            min: 0.0,
            max: bounds.max - bounds.min,
        };
        Ok(Estimate::new(
            self.mean.check(bounds, &json::join(field, "mean"))?,
            self.sd.check(sd, &json::join(field, "sd"))?,
        ))
    }
}

/// A number that may be left out.
pub(super) fn number_or(
    value: Option<Number>,
    default: f64,
    bounds: Bounds,
    field: &str,
) -> Result<f64, Error> {
    value.map_or(Ok(default), |v| v.check(bounds, field))
}

/// A whole number that may be left out.
pub(super) fn whole_or(
    value: Option<Whole>,
    default: u32,
    bounds: Bounds,
    field: &str,
) -> Result<u32, Error> {
    value.map_or(Ok(default), |v| v.check(bounds, field))
}

/// The film's pitch, long when left out.
pub(super) fn pitch(word: Option<&str>, field: &str) -> Result<Pitch, Error> {
    let Some(word) = word else {
        return Ok(Pitch::default());
    };
    Pitch::from_word(word)
        .map_err(|_| words::unknown(field, word, Pitch::ALL.iter().map(|p| p.word()), USE_ONE))
}

/// The light while winding, room light when left out.
pub(super) fn light(word: Option<&str>, field: &str) -> Result<Light, Error> {
    let Some(word) = word else {
        return Ok(Light::default());
    };
    Light::from_word(word)
        .map_err(|_| words::unknown(field, word, Light::ALL.iter().map(|l| l.word()), USE_ONE))
}

/// Where a number comes from, if it is said.
pub(super) fn mark(word: Option<&str>, field: &str) -> Result<Option<Mark>, Error> {
    word.map(|word| {
        Mark::from_word(word)
            .map_err(|_| words::unknown(field, word, Mark::ALL.iter().map(|m| m.word()), USE_ONE))
    })
    .transpose()
}

/// One of the values of an enum by its word.
pub(super) fn choice<T: Copy>(
    given: &str,
    all: &[T],
    word: impl Fn(T) -> &'static str,
    field: &str,
) -> Result<T, Error> {
    let known = || all.iter().map(|v| word(*v));
    all.iter()
        .copied()
        .find(|v| word(*v) == given)
        .ok_or_else(|| words::unknown(field, given, known(), USE_ONE))
}

/// The same for a word that may be left out.
pub(super) fn choice_or<T: Copy>(
    given: Option<&str>,
    usual: T,
    all: &[T],
    word: impl Fn(T) -> &'static str,
    field: &str,
) -> Result<T, Error> {
    given.map_or(Ok(usual), |given| choice(given, all, word, field))
}
