//! The bench's own small source of chance: seeded, the same on every machine and with any number of threads.
//!
//! SplitMix64 (Steele, Lea and Flood 2014); normal numbers by the inverse of their distribution.

use statrs::distribution::{ContinuousCDF, Normal};

/// One stream of numbers.
#[derive(Debug, Clone)]
pub(super) struct Stream {
    state: u64,
    normal: Normal,
}

impl Stream {
    /// The stream that belongs to two numbers, such as a strip and a round.
    pub(super) fn new(a: u64, b: u64) -> Self {
        let mut stream = Self {
            state: a.wrapping_mul(0xD1B5_4A32_D192_ED03) ^ b.wrapping_mul(0xABC9_8388_FB8F_AC03),
            normal: Normal::standard(),
        };
        stream.next();
        stream
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A standard normal number.
    pub(super) fn normal(&mut self) -> f64 {
        let uniform = ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64;
        self.normal.inverse_cdf(uniform)
    }

    /// A chi-squared number over its degrees of freedom (Wilson and Hilferty 1931).
    pub(super) fn mean_square(&mut self, freedom: f64) -> f64 {
        let part = 2.0 / (9.0 * freedom);
        (1.0 - part + self.normal() * part.sqrt()).powi(3).max(0.05)
    }
}
