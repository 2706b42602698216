//! How film is packed, and how bulky that is.
//!
//! A package takes the longer to warm, the more of it there is for its surface.

use std::f64::consts::PI;

use crate::bounds;
use crate::error::Error;
use crate::quantity::Length;
use crate::spool;
use crate::words::worded;

worded! {
    /// What film is taken from the cold in.
    Package {
        /// A cassette in its closed tub or sealed bag.
        Cassette = "cassette",
        /// A closed can of up to 30 m (100 ft) of 35 mm film.
        Can30 = "can_35mm_30m",
        /// A closed can of up to 120 m (400 ft) of 35 mm film.
        #[default]
        Can120 = "can_35mm_120m",
        /// A closed can of up to 300 m (1,000 ft) of 35 mm film.
        Can300 = "can_35mm_300m",
        /// A closed can of 8 or 16 mm film.
        Can16 = "can_16mm",
        /// Cans still in their cardboard.
        Carton = "carton",
    }
}

/// Width of film, mm: of [G1] to the whole millimetre, and of 16 mm film by its name.
const WIDE_MM: f64 = 35.0;
const NARROW_MM: f64 = 16.0;
/// The thickest film [G12], mm: a bulkier roll warms slower, and nothing is opened early.
const THICKEST_MM: f64 = 0.152;
/// A cassette's tub, mm across and high: from memory.
const TUB_MM: (f64, f64) = (32.0, 52.0);

impl Package {
    /// The can that holds so many metres of 35 mm film; the largest for anything longer.
    pub fn can_of(length_m: f64) -> Self {
        // 100 and 400 ft are 30.48 and 121.9 m.
        match length_m {
            l if l <= 31.0 => Self::Can30,
            l if l <= 125.0 => Self::Can120,
            _ => Self::Can300,
        }
    }

    /// As a person says it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cassette => "cassette in its closed tub or bag",
            Self::Can30 => "closed can of 30 m",
            Self::Can120 => "closed can of 120 m",
            Self::Can300 => "closed can of 300 m",
            Self::Can16 => "closed can of 8 or 16 mm film",
            Self::Carton => "cans in their cardboard",
        }
    }

    /// Its volume over its surface, mm; none for a carton, whose cardboard keeps warmth out.
    ///
    /// # Source
    /// Rolls: [T8], wound on cores of [G16] and [G17] by [R1]. A tub as a full cylinder, h·d/(4h + 2d): own derivation.
    pub fn bulk_mm(self) -> Option<f64> {
        let wound = |ft: f64, core: f64, width: f64| {
            let (core, thickness) = (Length::mm(core), Length::mm(THICKEST_MM));
            let outer = spool::outer_diameter(Length::ft(ft), core, thickness).ok()?;
            roll_bulk_mm(outer.to_mm(), core.to_mm(), width).ok()
        };
        match self {
            Self::Cassette => {
                let (d, h) = TUB_MM;
                Some(d * h / (4.0 * h + 2.0 * d))
            }
            Self::Can30 => wound(100.0, 31.75, WIDE_MM),
            Self::Can120 => wound(400.0, 50.8, WIDE_MM),
            Self::Can300 => wound(1000.0, 50.8, WIDE_MM),
            Self::Can16 => wound(400.0, 50.8, NARROW_MM),
            Self::Carton => None,
        }
    }
}

/// A wound roll's volume over its surface, two faces and the rim.
///
/// # Units
/// mm.
/// # Domain
/// [`bounds::ROLL_DIAMETER_MM`], not below the core of [`bounds::CORE_MM`]; a width of 1 to 100 mm.
/// # Errors
/// Out of range.
/// # Source
/// [T8]: 11.46 mm for 150 mm over 50.8 mm.
pub fn roll_bulk_mm(outer_mm: f64, core_mm: f64, width_mm: f64) -> Result<f64, Error> {
    const WIDTH_MM: bounds::Bounds = bounds::Bounds::new("a film's width", "mm", 1.0, 100.0);
    let core = bounds::CORE_MM.check(core_mm)?;
    let above = bounds::Bounds {
        min: core,
        ..bounds::ROLL_DIAMETER_MM
    };
    let outer = above.check(outer_mm)?;
    let width = WIDTH_MM.check(width_mm)?;
    let face = PI / 4.0 * (outer * outer - core * core);
    Ok(face * width / (2.0 * face + PI * outer * width))
}
