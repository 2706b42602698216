//! Lengths and estimates that name their unit at every constructor and accessor.
//!
//! They carry a number, they do not judge it: [`crate::bounds`] does that where input comes in.

use std::ops::{Add, Div, Mul, Sub};

/// A length of film or of paper.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Length(f64);

/// Millimetres in a foot.
pub const MM_PER_FOOT: f64 = 304.8;

/// A temperature in both scales, for sentences that do not know who reads them: `20 °C (68 °F)`.
pub fn degrees(celsius: f64) -> String {
    let tenth = |x: f64| (x * 10.0).round() / 10.0 + 0.0;
    format!(
        "{} °C ({} °F)",
        tenth(celsius),
        (celsius * 1.8 + 32.0).round()
    )
}

/// A span of temperatures in both scales: `18 to 24 °C (64 to 75 °F)`.
pub fn degrees_between(low_c: f64, high_c: f64) -> String {
    let tenth = |x: f64| (x * 10.0).round() / 10.0 + 0.0;
    let fahrenheit = |c: f64| (c * 1.8 + 32.0).round();
    format!(
        "{} to {} °C ({} to {} °F)",
        tenth(low_c),
        tenth(high_c),
        fahrenheit(low_c),
        fahrenheit(high_c)
    )
}

impl Length {
    /// From millimetres.
    pub const fn mm(value: f64) -> Self {
        Self(value)
    }
    /// From metres.
    pub const fn m(value: f64) -> Self {
        Self(value * 1000.0)
    }
    /// From feet.
    pub const fn ft(value: f64) -> Self {
        Self(value * MM_PER_FOOT)
    }
    /// In millimetres.
    pub const fn to_mm(self) -> f64 {
        self.0
    }
    /// In metres.
    pub const fn to_m(self) -> f64 {
        self.0 / 1000.0
    }
    /// In feet.
    pub const fn to_ft(self) -> f64 {
        self.0 / MM_PER_FOOT
    }
    /// The larger of two lengths.
    pub fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self(self.0 + o.0)
    }
}
impl Sub for Length {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self(self.0 - o.0)
    }
}
impl Mul<f64> for Length {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self(self.0 * k)
    }
}
impl Div for Length {
    type Output = f64;
    fn div(self, o: Self) -> f64 {
        self.0 / o.0
    }
}

/// A number with its standard deviation; the field that holds it names the unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Expected value.
    pub mean: f64,
    /// Standard deviation, same unit.
    pub sd: f64,
}

impl Estimate {
    /// A mean and its standard deviation.
    pub const fn new(mean: f64, sd: f64) -> Self {
        Self { mean, sd }
    }
    /// The central 95 % interval of a normal distribution: mean ∓ 1.96 sd.
    pub fn interval95(self) -> (f64, f64) {
        (self.mean - Z95 * self.sd, self.mean + Z95 * self.sd)
    }
}

/// Half-width of a central 95 % normal interval in standard deviations.
pub const Z95: f64 = 1.959_963_984_540_054;
