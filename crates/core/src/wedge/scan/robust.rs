//! One level from the pixels of a patch: dust rejected, its standard deviation from how its cells disagree.
//!
//! In each cell, pixels beyond three robust standard deviations of the cell's median are left out (dust, hairs,
//! scratches). The cells' means then give a plane over the patch, since light and film are hardly ever quite even;
//! cells far off the plane are left out; the level is the plane's height in the middle. Neighbouring pixels are not
//! independent (grain, sharpening, JPEG), so the spread of the cells and not of the pixels says how sure it is.

use nalgebra::{Matrix3, Vector3};

use super::sample::{Patch, Scale};

/// Pixels further than this from their cell's median, in robust standard deviations, are dust.
const DUST: f64 = 3.0;
/// Cells further than this from the patch's plane, in robust standard deviations, are left out.
const OFF_PLANE: f64 = 4.0;
/// Noise cut off at black or white pulls a mean by up to half its standard deviation times the part that is cut off. The
/// wedge's steps are pulled alike; this much is left where wedge and strip are not equally grainy. An assumption.
const CUT_OFF: f64 = 0.15;
/// From the median absolute deviation to the standard deviation of a normal distribution.
const MAD_TO_SD: f64 = 1.4826;

/// What the pixels of a patch say; levels are parts of full white.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    /// Level in the middle of the patch.
    pub(super) mean: f64,
    /// Its standard deviation.
    pub(super) sd: f64,
    /// How much the level changes from edge to edge of the patch.
    pub(super) tilt: f64,
    /// Spread of the cells around the plane.
    pub(super) rough: f64,
    /// Part of the pixels that was rejected as dust.
    pub(super) rejected: f64,
    /// Part of the other pixels that is full white, or as light as the picture gets where it is cut off.
    pub(super) white: f64,
    /// Part of the other pixels that is black, or as dark as the picture gets where it is cut off.
    pub(super) black: f64,
}

impl Level {
    /// The level of the same patch with light and dark exchanged.
    pub(super) fn inverted(self) -> Self {
        Self {
            mean: 1.0 - self.mean,
            white: self.black,
            black: self.white,
            ..self
        }
    }
}

/// What is left of one cell.
struct Kept {
    u: f64,
    v: f64,
    mean: f64,
    count: f64,
    squares: f64,
}

/// Upper median; NaN of nothing.
pub(super) fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Median and robust standard deviation of whole numbers; reorders them.
pub(super) fn spread(values: &mut [u16]) -> (f64, f64) {
    let middle = values.len() / 2;
    let centre = *values.select_nth_unstable(middle).1;
    let mut off: Vec<u16> = values.iter().map(|v| v.abs_diff(centre)).collect();
    let mad = *off.select_nth_unstable(middle).1;
    (f64::from(centre), MAD_TO_SD * f64::from(mad))
}

/// The level of a patch; none when no pixel fell into it.
pub(super) fn level(patch: &mut Patch, scale: Scale, lossy: bool) -> Option<Level> {
    let side = patch.side;
    let mut spreads = Vec::new();
    for (i, cell) in patch.cells.iter_mut().enumerate() {
        if !cell.values.is_empty() {
            let (centre, sd) = spread(&mut cell.values);
            spreads.push((i, centre, sd));
        }
    }
    let noise = median(&mut spreads.iter().map(|s| s.2).collect::<Vec<_>>());
    if spreads.is_empty() {
        return None;
    }
    // JPEG leaves ripples of a few steps around everything.
    let least = if lossy { 4.0 } else { 2.5 };
    let reach = (DUST * noise).max(least * scale.step);
    let (mut all, mut white, mut black) = (0.0, 0.0, 0.0);
    let mut cells = Vec::with_capacity(spreads.len());
    for (i, centre, _) in spreads {
        let values = &patch.cells[i].values;
        let (mut count, mut sum, mut squares) = (0.0, 0.0, 0.0);
        for value in values {
            let off = f64::from(*value) - centre;
            if off.abs() <= reach {
                count += 1.0;
                sum += off;
                squares += off * off;
                white += f64::from(u8::from(scale.ceiling <= *value));
                black += f64::from(u8::from(*value <= scale.floor));
            }
        }
        all += values.len() as f64;
        let middle = |k: usize| (k as f64 + 0.5) / side as f64 - 0.5;
        cells.push(Kept {
            u: middle(i % side),
            v: middle(i / side),
            mean: centre + sum / count,
            count,
            squares: squares - sum * sum / count,
        });
    }
    let kept: f64 = cells.iter().map(|c| c.count).sum();
    let squares: f64 = cells.iter().map(|c| c.squares).sum();
    let pixel_variance = squares / (kept - cells.len() as f64).max(1.0);
    let plane = Plane::through(&cells, pixel_variance);

    let (white, black) = (white / kept, black / kept);
    let independent = pixel_variance / kept;
    let rounding = rounding(pixel_variance, scale.step, lossy);
    let cut = CUT_OFF * (white + black) * pixel_variance.sqrt();
    let variance = plane.variance.max(independent) + rounding * rounding + cut * cut;
    let full = f64::from(scale.full);
    Some(Level {
        mean: plane.middle / full,
        sd: variance.sqrt() / full,
        tilt: plane.slope / full,
        rough: plane.spread / full,
        rejected: 1.0 - plane.used / all,
        white,
        black,
    })
}

/// Error that whole numbers leave in a mean, as a standard deviation.
///
/// A uniform error of one step without noise (1/√12); noise of more than half a step averages it out, as the first
/// term of the rounding error's Fourier series says: exp(−2π²σ²). Lossy coding rounds in blocks, where noise does not help.
///
/// # Source
/// Own derivation; the blocks' half step is a plain assumption.
fn rounding(pixel_variance: f64, step: f64, lossy: bool) -> f64 {
    if lossy {
        return 0.5 * step;
    }
    let noise = (pixel_variance / (step * step) - 1.0 / 12.0).max(0.0);
    step / 12.0_f64.sqrt() * (-2.0 * std::f64::consts::PI.powi(2) * noise).exp()
}

/// A plane through the cells' means.
struct Plane {
    middle: f64,
    variance: f64,
    slope: f64,
    spread: f64,
    /// Pixels in the cells that were used.
    used: f64,
}

impl Plane {
    fn through(cells: &[Kept], pixel_variance: f64) -> Self {
        let mut used: Vec<&Kept> = cells.iter().collect();
        let mut fit = Vector3::zeros();
        let mut inverse = Matrix3::zeros();
        for round in 0..3 {
            // Few cells carry no slope: then only their mean.
            let flat = used.len() < 12;
            let row = |c: &Kept| {
                if flat {
                    Vector3::new(1.0, 0.0, 0.0)
                } else {
                    Vector3::new(1.0, c.u, c.v)
                }
            };
            let mut normal = Matrix3::zeros();
            let mut right = Vector3::zeros();
            for c in &used {
                normal += row(c) * row(c).transpose();
                right += row(c) * c.mean;
            }
            if flat {
                normal[(1, 1)] = 1.0;
                normal[(2, 2)] = 1.0;
            }
            inverse = normal.try_inverse().unwrap_or_else(|| {
                Matrix3::from_diagonal(&Vector3::new(1.0 / used.len() as f64, 0.0, 0.0))
            });
            fit = inverse * right;
            if round == 2 {
                break;
            }
            let off = |c: &Kept| (c.mean - row(c).dot(&fit)).abs();
            let mut offs: Vec<f64> = used.iter().map(|c| off(c)).collect();
            let scale = MAD_TO_SD * median(&mut offs);
            let smallest = cells.iter().map(|c| c.count).fold(f64::INFINITY, f64::min);
            let floor = (pixel_variance / smallest).sqrt();
            let near: Vec<&Kept> = cells
                .iter()
                .filter(|c| off(c) <= OFF_PLANE * scale.max(floor).max(1e-6))
                .collect();
            if near.len() * 2 < cells.len() {
                break;
            }
            used = near;
        }
        let flat = used.len() < 12;
        let freedom = used.len() as f64 - if flat { 1.0 } else { 3.0 };
        let value = |c: &Kept| {
            fit[0]
                + if flat {
                    0.0
                } else {
                    fit[1] * c.u + fit[2] * c.v
                }
        };
        let squares: f64 = used.iter().map(|c| (c.mean - value(c)).powi(2)).sum();
        let variance = squares / freedom.max(1.0);
        // What noise alone does to cells and slope is no unevenness.
        let pixels: f64 = used.iter().map(|c| c.count).sum();
        let expected = pixel_variance * used.len() as f64 / pixels;
        let slope = if flat { 0.0 } else { fit[1].hypot(fit[2]) };
        Self {
            middle: fit[0],
            variance: variance * inverse[(0, 0)],
            slope: (slope - 4.0 * (expected * inverse[(1, 1)]).sqrt()).max(0.0),
            spread: (variance.sqrt() - 2.5 * expected.sqrt()).max(0.0),
            used: used.iter().map(|c| c.count).sum(),
        }
    }
}
