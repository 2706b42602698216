//! What a usable frame came to: what was paid, spread over the rolls that had it, and over the frames that can be used.
//!
//! Three files: [`books`] is what is known, [`share`] what each roll bears of it, [`report`] the sums by can, stock and
//! year. A price that nobody gave is named and never counted as zero; where it is missing, a sum is a least one.

pub mod books;
pub mod report;
pub mod share;

use std::iter::Sum;
use std::ops::{Add, Mul, Sub};

/// An amount of money that may rest on a guess.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Amount {
    /// Least that it may be.
    pub low: f64,
    /// As it is booked.
    pub mid: f64,
    /// Most that it may be.
    pub high: f64,
}

impl Amount {
    /// An amount that is known.
    pub const fn exact(value: f64) -> Self {
        Self {
            low: value,
            mid: value,
            high: value,
        }
    }

    /// Whether a guess is in it.
    pub fn is_guess(self) -> bool {
        self.low < self.high
    }
}

/// Ends are added to ends: guesses of one kind err together, so that the interval is never too narrow.
impl Add for Amount {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self {
            low: self.low + o.low,
            mid: self.mid + o.mid,
            high: self.high + o.high,
        }
    }
}

/// A known amount less one that may be a guess.
impl Sub<Amount> for f64 {
    type Output = Amount;
    fn sub(self, o: Amount) -> Amount {
        Amount {
            low: self - o.high,
            mid: self - o.mid,
            high: self - o.low,
        }
    }
}

impl Mul<f64> for Amount {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self {
            low: self.low * k,
            mid: self.mid * k,
            high: self.high * k,
        }
    }
}

impl Sum for Amount {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), Add::add)
    }
}
