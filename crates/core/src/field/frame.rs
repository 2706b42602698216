//! Frame numbers as they stand on the film's edge and in a photographer's notes, in the order they were exposed.

use crate::bounds;
use crate::error::{Error, Kind};
use std::fmt;

/// A frame of a roll: `00`, `0`, `1`, `12`, or the half-way number after one, `12A`.
///
/// Frames are ordered as they lie on the film: 00, 00A, 0, 0A, 1, 1A, 2 … (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Frame {
    /// Half advances from 00.
    halves: u32,
}

/// Half advances from 00 to 0.
const ZERO: u32 = 2;

impl Frame {
    /// Frame 1.
    pub const FIRST: Self = Self::number(1);

    /// The frame of a plain number.
    pub const fn number(n: u32) -> Self {
        Self {
            halves: ZERO.saturating_add(n.saturating_mul(2)),
        }
    }

    /// Reads a frame number as a person writes it: `12`, ` 07`, `12a`, `00`.
    ///
    /// # Domain
    /// 00 and 0 to as many as a roll can hold ([`bounds::FRAMES`]), each with or without an A.
    /// # Errors
    /// [`Kind::OutOfRange`] for a number past that, [`Kind::Unknown`] for anything else.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let refuse = |kind| {
            let most = bounds::FRAMES.max;
            Error::new(
                kind,
                "frame",
                format!("{text:?}"),
                format!("00, 0, or 1 to {most}, with an A after it for the number half a frame on"),
                "Write it as it stands on the film's edge or the camera's counter: 12, 12A.",
            )
        };
        let trimmed = text.trim();
        let number = trimmed.strip_suffix(['a', 'A']);
        let half = u32::from(number.is_some());
        let number = number.unwrap_or(trimmed);
        if number.is_empty() || !number.bytes().all(|b| b.is_ascii_digit()) {
            return Err(refuse(Kind::Unknown));
        }
        if number == "00" {
            return Ok(Self { halves: half });
        }
        let n: u32 = number.parse().map_err(|_| refuse(Kind::OutOfRange))?;
        if number.len() > 2 && number.starts_with('0') {
            return Err(refuse(Kind::Unknown));
        }
        if f64::from(n) > bounds::FRAMES.max {
            return Err(refuse(Kind::OutOfRange));
        }
        Ok(Self {
            halves: Self::number(n).halves + half,
        })
    }

    /// The plain number in it: 12 for 12 and 12A, 0 for 0 and for 00.
    pub const fn n(self) -> u32 {
        self.halves.saturating_sub(ZERO) / 2
    }

    /// Whether it is the number half a frame on, with an A.
    pub const fn is_half(self) -> bool {
        self.halves % 2 == 1
    }

    /// The frame so many frames further on: 12A after 10A by two.
    pub const fn after(self, frames: u32) -> Self {
        Self {
            halves: self.halves.saturating_add(frames.saturating_mul(2)),
        }
    }

    /// The number so many half frames further on: 12A after 12 by one.
    pub const fn after_halves(self, halves: u32) -> Self {
        Self {
            halves: self.halves.saturating_add(halves),
        }
    }

    /// Whole frames from `first` to this one; none when it lies before. From 12, 13 and 13A are one on.
    pub const fn since(self, first: Self) -> Option<u32> {
        match self.halves.checked_sub(first.halves) {
            Some(halves) => Some(halves / 2),
            None => None,
        }
    }
}

impl fmt::Display for Frame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let half = if self.is_half() { "A" } else { "" };
        match self.halves.checked_sub(ZERO) {
            None => write!(f, "00{half}"),
            Some(_) => write!(f, "{}{half}", self.n()),
        }
    }
}
