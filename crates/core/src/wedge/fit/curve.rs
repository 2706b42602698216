//! A fitted curve that can be asked for density and slope anywhere and for the exposure of a density.

use super::shape::{Shape, logistic, softplus};
use crate::wedge::Smooth;
use nalgebra::DVector;

/// One curve of density over ascending log H.
#[derive(Debug, Clone)]
pub(in crate::wedge) struct Curve<'a> {
    base: f64,
    low: f64,
    high: f64,
    form: Form<'a>,
}

#[derive(Debug, Clone)]
enum Form<'a> {
    /// g, x₀, K.
    ToeLine(f64, f64, f64),
    /// Nodes, densities and slopes, joined by cubic Hermite pieces.
    Table(&'a [f64], Vec<f64>, Vec<f64>),
}

impl<'a> Curve<'a> {
    pub(in crate::wedge) fn new(shape: &'a Shape, theta: &DVector<f64>) -> Self {
        let (low, high) = shape.readings.range();
        let form = if shape.smooth == Smooth::ToeLine {
            Form::ToeLine(theta[1].exp(), theta[2], theta[3].exp())
        } else {
            let (densities, mut slopes) = shape.table(theta.as_slice());
            let nodes = &shape.grid.nodes;
            // A Hermite piece rises all the way if neither slope is above three times its chord's (Fritsch and Carlson 1980).
            for i in 1..nodes.len() {
                let most =
                    (3.0 * (densities[i] - densities[i - 1]) / (nodes[i] - nodes[i - 1])).max(0.0);
                slopes[i - 1] = slopes[i - 1].min(most);
                slopes[i] = slopes[i].min(most);
            }
            Form::Table(nodes, densities, slopes)
        };
        Self {
            base: theta[0],
            low,
            high,
            form,
        }
    }

    /// Density of base and fog, which the curve comes down to.
    pub(in crate::wedge) fn base(&self) -> f64 {
        self.base
    }

    /// Lowest and highest log H read.
    pub(in crate::wedge) fn range(&self) -> (f64, f64) {
        (self.low, self.high)
    }

    /// Density at `x`; the highest reading's beyond it, a tail to base + fog below the lowest.
    pub(in crate::wedge) fn at(&self, x: f64) -> f64 {
        self.both(x).0
    }

    /// Density and slope at `x`.
    pub(in crate::wedge) fn both(&self, x: f64) -> (f64, f64) {
        match &self.form {
            &Form::ToeLine(g, x0, k) => {
                let z = k * (x - x0);
                (self.base + g / k * softplus(z), g * logistic(z))
            }
            Form::Table(nodes, d, s) => {
                let last = nodes.len() - 1;
                if x <= nodes[0] {
                    // An exponential tail down to base + fog.
                    let rise = d[0] - self.base;
                    let share = ((x - nodes[0]) * s[0] / rise.max(1e-12)).exp();
                    return (self.base + rise * share, s[0] * share);
                }
                if x >= nodes[last] {
                    return (d[last], s[last]);
                }
                let i = nodes.partition_point(|&n| n <= x) - 1;
                hermite(
                    x,
                    (nodes[i], d[i], s[i]),
                    (nodes[i + 1], d[i + 1], s[i + 1]),
                )
            }
        }
    }

    /// log H at which the curve reaches a density, if it does within the readings.
    pub(in crate::wedge) fn reaches(&self, density: f64) -> Option<f64> {
        if !(self.at(self.low) <= density && density <= self.at(self.high)) {
            return None;
        }
        let (mut low, mut high) = (self.low, self.high);
        if let Form::Table(nodes, d, _) = &self.form {
            let i = d.partition_point(|&d| d < density).clamp(1, d.len() - 1);
            (low, high) = (nodes[i - 1].max(low), nodes[i].min(high));
        }
        let mut x = f64::midpoint(low, high);
        for _ in 0..60 {
            let (d, slope) = self.both(x);
            if d < density {
                low = x;
            } else {
                high = x;
            }
            let newton = x - (d - density) / slope;
            let next = if newton > low && newton < high {
                newton
            } else {
                f64::midpoint(low, high)
            };
            let moved = (next - x).abs();
            x = next;
            if moved < 1e-10 || high - low < 1e-12 {
                break;
            }
        }
        Some(x)
    }
}

fn hermite(x: f64, a: (f64, f64, f64), b: (f64, f64, f64)) -> (f64, f64) {
    let h = b.0 - a.0;
    let t = (x - a.0) / h;
    let rise = b.1 - a.1;
    let (c, d) = (a.2 * h - rise, rise - b.2 * h);
    let v = 1.0 - t;
    let density = v * a.1 + t * b.1 + t * v * (c * v + d * t);
    let slope = rise + (1.0 - 2.0 * t) * (c * v + d * t) + t * v * (d - c);
    (density, slope / h)
}
