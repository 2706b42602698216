//! Film along its length: pitch, perforations, frame advance.
//!
//! Invariant: a frame is a whole number of perforations, so every length here is a multiple of the pitch.

use crate::bounds;
use crate::error::Error;
use crate::quantity::Length;
use crate::words::worded;

/// Perforations that pass the sprocket between two clicks of a loader: one full frame.
///
/// # Source
/// [G4]: 8 perforations per still frame.
pub const PERFORATIONS_PER_CLICK: u32 = 8;

/// Width of the film, mm.
///
/// # Source
/// [G1].
pub const WIDTH_MM: f64 = 34.98;

worded! {
    /// Distance between two perforations.
    Pitch {
        /// Long pitch, still and print stock: 4.750 mm.
        #[default]
        Long = "long",
        /// Short pitch, camera stock of the cinema: 4.740 mm.
        Short = "short",
    }
}

impl Pitch {
    /// Length of one perforation step.
    ///
    /// # Source
    /// [G2] 4.750 mm, [G3] 4.740 mm.
    pub const fn length(self) -> Length {
        match self {
            Self::Long => Length::mm(4.750),
            Self::Short => Length::mm(4.740),
        }
    }

    /// Length of one click: eight perforations, 38.00 mm or 37.92 mm ([G5], [G6]).
    pub fn click(self) -> Length {
        self.length() * f64::from(PERFORATIONS_PER_CLICK)
    }
}

worded! {
    /// Room light or darkness while the cassette is wound shut.
    Light {
        /// Room light: the taped end of the film is struck by light when the loader is opened.
        #[default]
        Room = "room",
        /// Total darkness: nothing is struck.
        Dark = "dark",
    }
}

impl Light {
    /// Clicks to allow at the tail: two in room light, none in the dark (common practice, no source).
    pub const fn tail_clicks(self) -> u32 {
        match self {
            Self::Room => 2,
            Self::Dark => 0,
        }
    }
}

/// Clicks that hold `frames` frames of `advance_perforations` each, rounded up to whole clicks.
///
/// # Units
/// frames, perforations; result in clicks of eight perforations.
/// # Domain
/// `frames` within [`bounds::FRAMES`], `advance_perforations` within [`bounds::ADVANCE_PERFORATIONS`].
/// # Errors
/// Out of range.
/// # Source
/// Own derivation from [G4].
pub fn clicks_for_frames(frames: u32, advance_perforations: u32) -> Result<u32, Error> {
    bounds::FRAMES.check(f64::from(frames))?;
    bounds::ADVANCE_PERFORATIONS.check(f64::from(advance_perforations))?;
    Ok((frames * advance_perforations).div_ceil(PERFORATIONS_PER_CLICK))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// [G5], [G6]: 38.00 mm and 37.92 mm; [G9]: 64.168 and 64.304 perforations per foot.
    #[test]
    fn advance_and_perforations_per_foot() {
        assert!((Pitch::Long.click().to_mm() - 38.00).abs() < 0.01);
        assert!((Pitch::Short.click().to_mm() - 37.92).abs() < 0.01);
        assert!((Length::ft(1.0) / Pitch::Long.length() - 64.168).abs() < 1e-3);
        assert!((Length::ft(1.0) / Pitch::Short.length() - 64.304).abs() < 1e-3);
    }

    #[test]
    fn half_frames_share_clicks() {
        assert_eq!(clicks_for_frames(36, 8).unwrap(), 36);
        assert_eq!(clicks_for_frames(37, 4).unwrap(), 19);
        assert!(clicks_for_frames(0, 8).is_err());
        assert!(clicks_for_frames(10, 0).is_err());
    }
}
