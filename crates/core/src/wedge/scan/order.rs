//! Whether a strip was read from its right end: its densities against the order in which they must lie.
//!
//! It compares readings with readings; what exposure the patches had is whoever's who made the strip.

use super::PatchReading;
use crate::error::{Error, Kind};

/// Two densities nearer than this, or than so many of their standard deviations, say nothing of the order.
const APART: f64 = 0.05;
/// How many; one patch against all others takes more to be sure of.
const SURE: f64 = 3.0;
const SURE_OF_ONE: f64 = 6.0;
/// A strip lies the wrong way round when this many pairs contradict the order for each that agrees with it.
const MOSTLY: usize = 3;
/// Fewest contradicting pairs that say so.
const FEWEST: usize = 3;

/// Denser, in the second of two patches that differ; in the order of density that is expected of them.
fn rise(a: &PatchReading, b: &PatchReading, sure: f64) -> Option<f64> {
    let (a, b) = (a.density?, b.density?);
    let rise = b.mean - a.mean;
    (APART.max(sure * a.sd.hypot(b.sd)) < rise.abs()).then_some(rise)
}

/// That densities lie as expected: `expected` rises with the density that each patch must have, infinite where film
/// was not exposed; only its order counts. Empty where nothing is known, which no strip contradicts.
///
/// # Errors
/// [`Kind::Inconsistent`] when most pairs of patches that can be told apart lie the other way round, or when the
/// unexposed patch is not at its end of the densities.
///
/// # Source
/// Own derivation (the sign of Kendall's rank correlation over pairs that noise does not hide); the limits are plain
/// assumptions.
pub(super) fn check(strip: &[PatchReading], expected: &[f64]) -> Result<(), Error> {
    let (mut right, mut wrong) = (0, 0);
    for (j, b) in strip.iter().zip(expected).enumerate() {
        for a in strip.iter().zip(expected).take(j) {
            let (lower, upper) = if a.1 < b.1 { (a, b) } else { (b, a) };
            match rise(lower.0, upper.0, SURE) {
                Some(rise) if lower.1 < upper.1 && rise < 0.0 => wrong += 1,
                Some(_) if lower.1 < upper.1 => right += 1,
                _ => {}
            }
        }
    }
    if FEWEST.max(MOSTLY * right) <= wrong {
        return Err(Error::new(
            Kind::Inconsistent,
            "strip: it seems to be read from its wrong end",
            format!(
                "densities that go against the exposure in {wrong} of {} pairs of patches",
                right + wrong
            ),
            "densities that go the way the exposure went",
            "Exchange the ends of the strip (corners 1 with 2 and 4 with 3). If they lie right, so that the wedge's steps or the exposures were given the wrong way round, or the picture is a positive, correct that.",
        ));
    }
    let blanks = strip.iter().zip(expected).enumerate();
    for (i, (blank, end)) in blanks.filter(|(_, (_, e))| e.is_infinite()) {
        let off = |other: &PatchReading| rise(blank, other, SURE_OF_ONE).map(|r| r * end.signum());
        let other = strip.iter().position(|p| off(p).is_some_and(|r| 0.0 < r));
        if let Some(other) = other {
            let density = |i: usize| strip[i].density.map_or(f64::NAN, |d| d.mean);
            let (than, must) = if *end < 0.0 {
                ("denser", "the thinnest")
            } else {
                ("thinner", "the densest")
            };
            return Err(Error::new(
                Kind::Inconsistent,
                format!(
                    "strip: patch {}, said to be unexposed, is {than} than an exposed one",
                    i + 1
                ),
                format!(
                    "{:.2}, with {:.2} in patch {}",
                    density(i),
                    density(other),
                    other + 1
                ),
                format!("an unexposed patch that is {must}"),
                "Say which end the unexposed patch is at, or that none is on the strip, and check the corners and the number of patches.",
            ));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Estimate;
    use crate::wedge::scan::{Point, Quad};

    fn strip(densities: &[f64]) -> Vec<PatchReading> {
        let patch = |d: &f64| PatchReading {
            outline: Quad([Point { x: 0.0, y: 0.0 }; 4]),
            density: (!d.is_nan()).then(|| Estimate::new(*d, 0.01)),
            level: 0.5,
            rejected: 0.0,
            flags: Vec::new(),
        };
        densities.iter().map(patch).collect()
    }

    const NO: f64 = f64::NEG_INFINITY;

    #[test]
    fn a_strip_as_exposed_passes_and_one_turned_round_does_not() {
        let good = [0.2, 0.21, 0.24, 0.4, 0.7, 1.1, 1.5, 1.52];
        let order: Vec<f64> = (0..8).map(f64::from).collect();
        assert!(check(&strip(&good), &order).is_ok());
        assert!(check(&strip(&good), &[]).is_ok());
        let mut turned = good;
        turned.reverse();
        let error = check(&strip(&turned), &order).unwrap_err();
        assert!(error.what.contains("wrong end"), "{error}");
        // Steps out of line in the camera, and holes: only the order of the exposures counts.
        let mixed = [1.1, 0.4, f64::NAN, 0.7, 1.5, 0.2];
        assert!(check(&strip(&mixed), &[4.0, 2.0, 9.0, 3.0, 5.0, 1.0]).is_ok());
        assert!(check(&strip(&mixed), &[-4.0, -2.0, -9.0, -3.0, -5.0, -1.0]).is_err());
    }

    /// No image, and an image that bends back where it was grossly overexposed, are other people's questions.
    #[test]
    fn a_flat_strip_and_one_that_bends_back_are_not_turned() {
        let order: Vec<f64> = (0..8).map(f64::from).collect();
        let flat = [0.22, 0.21, 0.2, 0.21, 0.2, 0.19, 0.2, 0.2];
        let bent = [0.2, 0.5, 0.9, 1.3, 1.6, 1.5, 1.4, 1.3];
        assert!(check(&strip(&flat), &order).is_ok());
        assert!(check(&strip(&bent), &order).is_ok());
    }

    #[test]
    fn the_unexposed_patch_is_at_its_end_of_the_densities() {
        let film = [0.2, 0.25, 0.4, 0.7, 1.1, 1.5];
        let first = [NO, 1.0, 2.0, 3.0, 4.0, 5.0];
        assert!(check(&strip(&film), &first).is_ok());
        // Said to be last: steps are one off, but rise.
        let last = [1.0, 2.0, 3.0, 4.0, 5.0, NO];
        let error = check(&strip(&film), &last).unwrap_err();
        assert!(error.what.contains("unexposed"), "{error}");
        // Reversal: unexposed film is the densest.
        let turned: Vec<f64> = film.iter().map(|d| 2.0 - d).collect();
        let expected = first.map(|e| -e);
        assert!(check(&strip(&turned), &expected).is_ok());
        assert!(check(&strip(&film), &expected).is_err());
    }
}
