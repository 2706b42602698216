//! Cubic B-splines on even knots.

/// Distance of knots in log H.
const SPACING: f64 = 0.40;

/// Most coefficients.
pub(super) const MOST: usize = 15;

/// Four basis functions that are not zero at one point: the first one's index and their values.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    /// Index of the first coefficient.
    pub(super) first: usize,
    /// Values of that and the next three.
    pub(super) values: [f64; 4],
}

/// A cubic B-spline basis on even knots over a range.
#[derive(Debug, Clone)]
pub(super) struct Basis {
    low: f64,
    width: f64,
    pieces: usize,
}

impl Basis {
    /// Over `low..=high`, with a knot about every [`SPACING`].
    pub(super) fn new(low: f64, high: f64) -> Self {
        let pieces = ((high - low) / SPACING)
            .round()
            .clamp(5.0, MOST as f64 - 3.0);
        Self {
            low,
            width: (high - low) / pieces,
            pieces: pieces as usize,
        }
    }

    /// Number of coefficients.
    pub(super) fn len(&self) -> usize {
        self.pieces + 3
    }

    /// The basis at `x`, which is drawn to the ends of the range.
    pub(super) fn row(&self, x: f64) -> Row {
        let t = ((x - self.low) / self.width).clamp(0.0, self.pieces as f64);
        let first = (t as usize).min(self.pieces - 1);
        let u = t - first as f64;
        let v = 1.0 - u;
        Row {
            first,
            values: [
                v * v * v / 6.0,
                (3.0 * u * u * u - 6.0 * u * u + 4.0) / 6.0,
                (3.0 * v * v * v - 6.0 * v * v + 4.0) / 6.0,
                u * u * u / 6.0,
            ],
        }
    }
}
