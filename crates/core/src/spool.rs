//! Wound-roll geometry: how thick a roll is, how much film a diameter holds, where to cut a long can.
//!
//! The roll is the ideal spiral of [R1] to [R4]: film of total thickness `t` on a core `d` fills a ring of
//! outer diameter `D`, so L = π(D² − d²)/(4t) and n = (D − d)/(2t). Trapped air makes the effective thickness
//! 0–4 % larger than a caliper says; a user who has wound one known length can enter the thickness that fits.
//! What is left in a can from many kinds of evidence is the work of [`crate::remaining`].

use std::f64::consts::PI;

use crate::bounds::{self, Bounds};
use crate::error::{Error, Kind};
use crate::quantity::Length;

/// Film wound on a core: nothing at all up to the longest can.
pub const WOUND_LENGTH_M: Bounds = Bounds {
    what: "the film wound on a core",
    unit: "m",
    min: 0.0,
    max: bounds::CAN_LENGTH_M.max,
};
/// Turns of a core or crank.
pub const TURNS: Bounds = Bounds {
    what: "turns",
    unit: "turns",
    min: 0.0,
    max: 20_000.0,
};
/// Standard deviation of a diameter.
pub const DIAMETER_SD_MM: Bounds = Bounds {
    what: "a diameter's uncertainty",
    unit: "mm",
    min: 0.0,
    max: 50.0,
};
/// Most parts that one breaking-down may give.
pub const MAX_PARTS: usize = 400;

fn check_film(core: Length, thickness: Length) -> Result<(f64, f64), Error> {
    Ok((
        bounds::CORE_MM.check(core.to_mm())?,
        bounds::THICKNESS_MM.check(thickness.to_mm())?,
    ))
}

/// Outer diameter of `length` of film wound on `core`: D = √(d² + 4Lt/π).
///
/// # Units
/// Lengths, as [`Length`].
/// # Domain
/// `length` within [`WOUND_LENGTH_M`] (nothing wound gives the core), `core` within [`bounds::CORE_MM`],
/// `thickness` within [`bounds::THICKNESS_MM`].
/// # Errors
/// Out of range.
/// # Source
/// [R1] to [R4].
/// # Example
/// ```
/// use spoolwright_core::{quantity::Length, spool};
/// // 400 ft on a two-inch core at 0.142 mm: 156.92 mm.
/// let d = spool::outer_diameter(Length::ft(400.0), Length::mm(50.8), Length::mm(0.142)).unwrap();
/// assert!((d.to_mm() - 156.92).abs() < 0.005);
/// ```
pub fn outer_diameter(length: Length, core: Length, thickness: Length) -> Result<Length, Error> {
    let (d, t) = check_film(core, thickness)?;
    WOUND_LENGTH_M.check(length.to_m())?;
    Ok(Length::mm((d * d + 4.0 * length.to_mm() * t / PI).sqrt()))
}

/// Film that a roll of diameter `outer` holds on `core`: L = π(D² − d²)/(4t).
///
/// # Units
/// Lengths, as [`Length`].
/// # Domain
/// `outer` within [`bounds::ROLL_DIAMETER_MM`] and not below `core`; the film so found within [`WOUND_LENGTH_M`].
/// # Errors
/// Out of range; a roll thinner than its core is [`Kind::Inconsistent`].
/// # Source
/// [R1] to [R3].
pub fn length_on_core(outer: Length, core: Length, thickness: Length) -> Result<Length, Error> {
    let (d, t) = check_film(core, thickness)?;
    let outer_mm = bounds::ROLL_DIAMETER_MM.check(outer.to_mm())?;
    if outer_mm < d {
        return Err(Error::new(
            Kind::Inconsistent,
            "outer diameter smaller than the core",
            format!("{outer_mm} mm around a core of {d} mm"),
            format!("{d} mm or more"),
            "Measure across the roll and across its core again; the two may be exchanged.",
        ));
    }
    let length = Length::mm(PI * (outer_mm * outer_mm - d * d) / (4.0 * t));
    WOUND_LENGTH_M.check_as("the film that this diameter would hold", length.to_m())?;
    Ok(length)
}

/// Turns that `length` of film makes on `core`: n = (D − d)/(2t).
///
/// With a crank that turns the cassette's spool once per turn, these are the crank's turns; [`length_of_turns`] is
/// the inverse.
///
/// # Units
/// Lengths, as [`Length`]; result in turns.
/// # Domain
/// As [`outer_diameter`].
/// # Errors
/// Out of range.
/// # Source
/// [R1] to [R3].
pub fn turns(length: Length, core: Length, thickness: Length) -> Result<f64, Error> {
    let outer = outer_diameter(length, core, thickness)?;
    Ok((outer - core).to_mm() / (2.0 * thickness.to_mm()))
}

/// Film that `turns` of a core (or of a crank on a cassette's hub) take up: L = πn(d + nt).
///
/// # Units
/// Lengths, as [`Length`]; turns.
/// # Domain
/// `turns` within [`TURNS`]; the film so found within [`WOUND_LENGTH_M`].
/// # Errors
/// Out of range.
/// # Source
/// Own derivation: D = d + 2nt put into L = π(D² − d²)/(4t) of [R1].
pub fn length_of_turns(turns: f64, core: Length, thickness: Length) -> Result<Length, Error> {
    let (d, t) = check_film(core, thickness)?;
    let n = TURNS.check(turns)?;
    let length = Length::mm(PI * n * (d + n * t));
    WOUND_LENGTH_M.check_as("the film that these turns would take up", length.to_m())?;
    Ok(length)
}

/// Error bar of a length read from a diameter: dL = πD·dD/(2t).
///
/// # Units
/// Lengths, as [`Length`]; `outer_sd` and the result are standard deviations.
/// # Domain
/// `outer` within [`bounds::ROLL_DIAMETER_MM`], `outer_sd` within [`DIAMETER_SD_MM`].
/// # Errors
/// Out of range.
/// # Source
/// Own derivation, dL/dD of [R1]; by [R5] 868 mm for 0.5 mm on 156.9 mm at 0.142 mm.
pub fn length_sd(outer: Length, thickness: Length, outer_sd: Length) -> Result<Length, Error> {
    let t = bounds::THICKNESS_MM.check(thickness.to_mm())?;
    let outer_mm = bounds::ROLL_DIAMETER_MM.check(outer.to_mm())?;
    let sd = DIAMETER_SD_MM.check(outer_sd.to_mm())?;
    Ok(Length::mm(PI * outer_mm * sd / (2.0 * t)))
}

/// One part taken off a long can.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Film in this part.
    pub length: Length,
    /// Diameter that the part must reach on its own core.
    pub outer: Length,
    /// Film that the mother roll has left when the part is off.
    pub mother_left: Length,
    /// Diameter that the mother roll has left when the part is off.
    pub mother_outer: Length,
}

/// A long can broken into parts that a loader takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Breakdown {
    /// Diameter of the mother roll before the first part is taken.
    pub mother_outer: Length,
    /// The parts, in the order in which they come off.
    pub parts: Vec<Part>,
    /// Film that stays on the mother's core, shorter than one part.
    pub remainder: Length,
}

/// Break `mother` (a length on `mother_core`) into as many parts of `part` on `part_core` as it holds.
///
/// Both diameters of each part are what a feel gauge needs: the part is done when its own roll fills the gauge or
/// the mother roll has shrunk to hers.
///
/// # Units
/// Lengths, as [`Length`].
/// # Domain
/// `mother` and `part` within [`bounds::CAN_LENGTH_M`], at most [`MAX_PARTS`] parts. A part longer than the mother
/// gives no parts and all of it as remainder.
/// # Errors
/// Out of range; more than [`MAX_PARTS`] parts is [`Kind::TooLarge`].
/// # Source
/// Own derivation from [R1].
pub fn breakdown(
    mother: Length,
    mother_core: Length,
    part: Length,
    part_core: Length,
    thickness: Length,
) -> Result<Breakdown, Error> {
    let mother_mm =
        bounds::CAN_LENGTH_M.check_as("length of the can to break down", mother.to_m())? * 1000.0;
    let part_mm = bounds::CAN_LENGTH_M.check_as("length of one part", part.to_m())? * 1000.0;
    // A hair of rounding must not lose the last part: 4 × 30 m of 120 m.
    let count = (mother_mm / part_mm + 1e-9).floor() as usize;
    take_parts(
        mother,
        mother_core,
        &vec![part; count],
        part_core,
        thickness,
    )
}

/// Take parts of these lengths, in this order, off `mother`, each onto a core of its own.
///
/// # Units
/// Lengths, as [`Length`].
/// # Domain
/// As [`breakdown`]; the parts together no longer than the mother, but for rounding.
/// # Errors
/// Out of range; more than [`MAX_PARTS`] parts is [`Kind::TooLarge`]; more film than there is is [`Kind::Impossible`].
/// # Source
/// Own derivation from [R1].
pub fn take_parts(
    mother: Length,
    mother_core: Length,
    parts: &[Length],
    part_core: Length,
    thickness: Length,
) -> Result<Breakdown, Error> {
    bounds::CAN_LENGTH_M.check_as("length of the can to break down", mother.to_m())?;
    if parts.len() > MAX_PARTS {
        return Err(Error::new(
            Kind::TooLarge,
            "too many parts",
            parts.len(),
            format!("at most {MAX_PARTS} parts"),
            "Take longer parts.",
        ));
    }
    let mother_outer = outer_diameter(mother, mother_core, thickness)?;
    let mut left = mother;
    let mut taken = Vec::with_capacity(parts.len());
    for &length in parts {
        bounds::CAN_LENGTH_M.check_as("length of one part", length.to_m())?;
        let after = left - length;
        // A hair of rounding is not a missing metre.
        if after.to_mm() < -1e-6 * mother.to_mm() {
            return Err(Error::new(
                Kind::Impossible,
                "parts longer than the can",
                format!("{:.2} m for part {}", length.to_m(), taken.len() + 1),
                format!("at most the {:.2} m left then", left.to_m().max(0.0)),
                "Take fewer or shorter parts.",
            ));
        }
        left = after.max(Length::default());
        taken.push(Part {
            length,
            outer: outer_diameter(length, part_core, thickness)?,
            mother_left: left,
            mother_outer: outer_diameter(left, mother_core, thickness)?,
        });
    }
    Ok(Breakdown {
        mother_outer,
        parts: taken,
        remainder: left,
    })
}
