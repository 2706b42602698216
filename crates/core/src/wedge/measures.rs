//! What is read off one curve: speed point, triangle, slopes, arcs and ends. Plain numbers; NaN where not reached.
//!
//! Curves here always rise: reversal arrives with its log H negated, and leaves so.

use super::Material;
use super::fit::Curve;

/// Window of gamma, in log H.
pub(super) const GAMMA_WINDOW: f64 = 0.60;
/// Reach of the ISO triangle, in log H ([S2]).
pub(super) const TRIANGLE: f64 = 1.30;
/// Reach of the average gradient, in log H ([S15]).
const GRADIENT_REACH: f64 = 1.50;
/// Radii of the arcs of the contrast index ([S13]).
const ARCS: (f64, f64) = (0.2, 2.2);
/// Share of the mean slope at the fractional-gradient point ([S16]).
const FRACTION: f64 = 0.3;

/// The numbers of one curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Numbers {
    pub(super) base_fog: f64,
    pub(super) speed_point: f64,
    pub(super) delta_d: f64,
    pub(super) gamma: f64,
    /// Mean slope over the window that the best curve is steepest in.
    pub(super) gamma_there: f64,
    pub(super) average_gradient: f64,
    pub(super) contrast_index: f64,
    pub(super) index_centre: f64,
    pub(super) fractional: f64,
    pub(super) useful_range: f64,
    pub(super) d_max: f64,
}

/// Density over base + fog at the speed point: [S1], and for a colour negative's layer [S21].
pub(super) fn speed_density(material: Material) -> f64 {
    match material {
        Material::Negative => 0.10,
        Material::ColourNegative => 0.15,
        Material::Reversal => 0.20,
    }
}

/// Density over the least of the second speed point of reversal ([S22]).
const REVERSAL_SHADOW: f64 = 2.00;

/// Everything one curve says.
///
/// `window` is where the best curve's gamma window begins, for the curves of the rounds.
pub(super) fn numbers(curve: &Curve<'_>, material: Material, window: Option<f64>) -> Numbers {
    let base = curve.base();
    let high = curve.range().1;
    let threshold = curve
        .reaches(base + speed_density(material))
        .unwrap_or(f64::NAN);
    let reach = |length: f64| {
        // A hair's breadth of grace: a triangle that ends on the last step is measured.
        if threshold + length <= high + 1e-6 {
            curve.at(threshold + length) - curve.at(threshold)
        } else {
            f64::NAN
        }
    };
    let (gamma, from) = gamma(curve);
    let there = window.unwrap_or(from);
    let (contrast_index, index_centre) = match material {
        Material::Negative => contrast_index(curve).unwrap_or((f64::NAN, f64::NAN)),
        _ => (f64::NAN, f64::NAN),
    };
    let negative = material != Material::Reversal;
    let speed_point = if negative {
        threshold
    } else {
        let shadow = curve.reaches(base + REVERSAL_SHADOW).unwrap_or(f64::NAN);
        f64::midpoint(threshold, shadow)
    };
    Numbers {
        base_fog: base,
        speed_point,
        delta_d: if material == Material::Negative {
            reach(TRIANGLE)
        } else {
            f64::NAN
        },
        gamma,
        gamma_there: (curve.at(there + GAMMA_WINDOW) - curve.at(there)) / GAMMA_WINDOW,
        average_gradient: if negative {
            reach(GRADIENT_REACH) / GRADIENT_REACH
        } else {
            f64::NAN
        },
        contrast_index,
        index_centre,
        fractional: if material == Material::Negative {
            fractional(curve, threshold).unwrap_or(f64::NAN)
        } else {
            f64::NAN
        },
        useful_range: end_of_use(curve, gamma, from + 0.5 * GAMMA_WINDOW) - threshold,
        d_max: curve.at(high),
    }
}

/// The steepest mean slope over [`GAMMA_WINDOW`], and where that window begins.
pub(super) fn gamma(curve: &Curve<'_>) -> (f64, f64) {
    let (low, high) = curve.range();
    let room = high - low - GAMMA_WINDOW;
    if room < -1e-9 {
        return (f64::NAN, f64::NAN);
    }
    let rise = |x: f64| curve.at(x + GAMMA_WINDOW) - curve.at(x);
    let steps = (room / 0.1).ceil().max(1.0) as usize;
    let step = room.max(0.0) / steps as f64;
    let (mut best, mut from) = (rise(low), low);
    for k in 1..=steps {
        let x = low + step * k as f64;
        let r = rise(x);
        if r > best {
            (best, from) = (r, x);
        }
    }
    // A parabola through the best window and its neighbours.
    if from - step >= low - 1e-12 && from + step <= high - GAMMA_WINDOW + 1e-12 && step > 0.0 {
        let (before, after) = (rise(from - step), rise(from + step));
        let bend = before - 2.0 * best + after;
        if bend < -1e-12 {
            let shift = 0.5 * (before - after) / bend;
            let x = from + step * shift.clamp(-1.0, 1.0);
            let r = rise(x);
            if r > best {
                (best, from) = (r, x);
            }
        }
    }
    (best / GAMMA_WINDOW, from)
}

/// Flattest chord looked for, as an angle in radians.
const FLATTEST: f64 = 0.12;

/// Slope of the chord between two arcs about one centre on the base + fog line, and where that centre is ([S13]).
fn contrast_index(curve: &Curve<'_>) -> Option<(f64, f64)> {
    let base = curve.base();
    let (low, high) = curve.range();
    let centre = |angle: f64| {
        let outer = curve.reaches(base + ARCS.1 * angle.sin())?;
        Some(outer - ARCS.1 * angle.cos())
    };
    let miss = |angle: f64| {
        let inner = centre(angle)? + ARCS.0 * angle.cos();
        Some(curve.at(inner) - base - ARCS.0 * angle.sin())
    };
    let (mut a, mut b) = (
        FLATTEST.max(
            ((curve.at(low) - base) / ARCS.1 + 1e-9)
                .clamp(0.0, 0.999)
                .asin(),
        ),
        ((curve.at(high) - base) / ARCS.1 - 1e-9)
            .clamp(0.0, 0.999)
            .asin(),
    );
    if a >= b {
        return None;
    }
    let (mut at_a, mut at_b) = (miss(a)?, miss(b)?);
    if at_a > 0.0 || at_b < 0.0 {
        return None;
    }
    let mut side = 0;
    let mut angle = b;
    for _ in 0..80 {
        let next = (a * at_b - b * at_a) / (at_b - at_a);
        let moved = (next - angle).abs();
        angle = next;
        if moved < 1e-9 || b - a < 1e-11 {
            break;
        }
        let value = miss(angle)?;
        // Regula falsi, Illinois variant (Dowell and Jarratt 1971).
        if value > 0.0 {
            (b, at_b) = (angle, value);
            if side == 1 {
                at_a *= 0.5;
            }
            side = 1;
        } else {
            (a, at_a) = (angle, value);
            if side == -1 {
                at_b *= 0.5;
            }
            side = -1;
        }
    }
    Some((angle.tan(), centre(angle)?))
}

/// The point in the toe whose slope is 0.3 of the mean slope over the next 1.5 log H ([S16]).
fn fractional(curve: &Curve<'_>, threshold: f64) -> Option<f64> {
    let (low, high) = curve.range();
    let excess = |x: f64| {
        let (density, slope) = curve.both(x);
        slope - FRACTION * (curve.at(x + GRADIENT_REACH) - density) / GRADIENT_REACH
    };
    let mut right = (threshold + 0.3).min(high - GRADIENT_REACH);
    if right.is_nan() || right <= low || excess(right) < 0.0 {
        return None;
    }
    let mut left = right - 0.1;
    while left > low && excess(left) > 0.0 {
        right = left;
        left -= 0.1;
    }
    left = left.max(low);
    if excess(left) > 0.0 {
        return None;
    }
    for _ in 0..40 {
        let middle = f64::midpoint(left, right);
        if excess(middle) > 0.0 {
            right = middle;
        } else {
            left = middle;
        }
        if right - left < 1e-8 {
            break;
        }
    }
    Some(f64::midpoint(left, right))
}

/// Where the slope beyond the steepest window has fallen to a quarter of gamma, or the last step.
fn end_of_use(curve: &Curve<'_>, gamma: f64, middle: f64) -> f64 {
    let (_, high) = curve.range();
    let steep = |x: f64| curve.both(x).1 > 0.25 * gamma;
    let mut left = middle;
    loop {
        let right = (left + 0.1).min(high);
        if !steep(right) {
            let (mut a, mut b) = (left, right);
            for _ in 0..30 {
                let m = f64::midpoint(a, b);
                if steep(m) {
                    a = m;
                } else {
                    b = m;
                }
            }
            return a;
        }
        if right >= high || right.is_nan() {
            return high;
        }
        left = right;
    }
}
