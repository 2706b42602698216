//! The three shapes a strip may be given: density and its derivatives by the parameters, at the readings.
//!
//! Parameter 0 is always base + fog. Slopes: toe and line `g·σ(K(x − x₀))`; with a shoulder that times
//! `σ(−K₂(x − x₁))`; with free bends that times `exp(Σ βᵢBᵢ(x))`, B a cubic spline. σ is the logistic function. Source: own derivation; the first is
//! the softplus curve D = base + (g/K)·ln(1 + e^(K(x − x₀))).

use super::Readings;
use super::grid::Grid;
use super::spline::{Basis, Row};
use crate::wedge::Smooth;
use nalgebra::{DMatrix, DVector};

/// One strip prepared for one smooth.
#[derive(Debug, Clone)]
pub(in crate::wedge) struct Shape {
    pub(super) smooth: Smooth,
    pub(super) grid: Grid,
    pub(super) readings: Readings,
    spline: Option<(Basis, Vec<Row>, Vec<Row>)>,
}

/// ln(1 + eˣ) without overflow.
pub(super) fn softplus(x: f64) -> f64 {
    x.max(0.0) + (-x.abs()).exp().ln_1p()
}

/// 1/(1 + e⁻ˣ).
pub(super) fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// Standard deviation of the prior of ln K: toes from very soft to a corner.
const LN_SHARPNESS_SD: f64 = 1.5;
/// Its middle: a toe of K = 5, about 0.8 log H wide.
const LN_SHARPNESS: f64 = 1.6;
/// Standard deviation of the prior of where the shoulder begins, in log H.
const SHOULDER_SD: f64 = 1.5;

impl Shape {
    pub(super) fn new(smooth: Smooth, readings: &Readings) -> Self {
        let grid = Grid::new(&readings.x);
        let spline = (smooth == Smooth::FreeBends).then(|| {
            let basis = Basis::new(grid.nodes[0], readings.range().1);
            let rows = |xs: &[f64]| xs.iter().map(|&x| basis.row(x)).collect::<Vec<_>>();
            let (gauss, nodes) = (rows(&grid.gauss), rows(&grid.nodes));
            (basis, gauss, nodes)
        });
        Self {
            smooth,
            grid,
            readings: readings.clone(),
            spline,
        }
    }

    /// The readings it was made for.
    pub(in crate::wedge) fn readings(&self) -> &Readings {
        &self.readings
    }

    /// Number of parameters.
    pub(super) fn len(&self) -> usize {
        match (&self.spline, self.smooth) {
            (Some((basis, ..)), _) => PLAIN + basis.len(),
            (None, Smooth::ToeLine) => 4,
            (None, _) => PLAIN,
        }
    }

    /// The penalty at stiffness `lambda`.
    pub(super) fn penalty(&self, lambda: f64) -> Penalty {
        let p = self.len();
        let mut middle = DVector::zeros(p);
        let mut priors = vec![(3, LN_SHARPNESS, LN_SHARPNESS_SD)];
        if self.smooth != Smooth::ToeLine {
            priors.push((4, self.readings.range().1, SHOULDER_SD));
            priors.push((5, LN_SHARPNESS, LN_SHARPNESS_SD));
        }
        let (bends, sizes) = match &self.spline {
            Some((basis, ..)) => (basis.len() - 2, basis.len()),
            None => (0, 0),
        };
        let mut root = DMatrix::zeros(priors.len() + bends + sizes, p);
        let stiff_from = priors.len();
        for (r, (k, value, sd)) in priors.into_iter().enumerate() {
            root[(r, k)] = 1.0 / sd;
            middle[k] = value;
        }
        let c = lambda.sqrt();
        for r in 0..bends {
            for (k, value) in [c, -2.0 * c, c].into_iter().enumerate() {
                root[(stiff_from + r, PLAIN + r + k)] = value;
            }
        }
        for r in 0..sizes {
            root[(stiff_from + bends + r, PLAIN + r)] = c * SIZE.sqrt();
        }
        let stiff = root.rows(stiff_from, bends + sizes).into_owned();
        let matrix = root.tr_mul(&root);
        let vector = &matrix * middle;
        Penalty {
            stiff: stiff.tr_mul(&stiff),
            stiff_rank: sizes,
            matrix,
            vector,
            root,
        }
    }

    /// Densities at the readings, and, row by row, their derivatives by the parameters.
    pub(super) fn predict(&self, theta: &[f64], density: &mut [f64], jacobian: &mut DMatrix<f64>) {
        match self.smooth {
            Smooth::ToeLine => self.predict_toe_line(theta, density, jacobian),
            Smooth::ToeShoulder | Smooth::FreeBends => {
                self.predict_by_slope(theta, density, jacobian);
            }
        }
    }

    fn predict_toe_line(&self, theta: &[f64], density: &mut [f64], jacobian: &mut DMatrix<f64>) {
        let (g, x0, k) = (theta[1].exp(), theta[2], theta[3].exp());
        for (j, &x) in self.readings.x.iter().enumerate() {
            let z = k * (x - x0);
            let (soft, sigma) = (softplus(z), logistic(z));
            let rise = g / k * soft;
            density[j] = theta[0] + rise;
            jacobian[(0, j)] = 1.0;
            jacobian[(1, j)] = rise;
            jacobian[(2, j)] = -g * sigma;
            jacobian[(3, j)] = -rise + g / k * z * sigma;
        }
    }

    fn predict_by_slope(&self, theta: &[f64], density: &mut [f64], jacobian: &mut DMatrix<f64>) {
        let p = self.len();
        let scales = scales(theta);
        let mut by = [0.0; MOST];
        // The tail before the grid: there the slope is as good as exponential.
        let (slope, logs) = toe_shoulder_slope(theta, scales, self.grid.nodes[0]);
        let mut rise = match &self.spline {
            Some((_, _, rows)) => slope * bend(theta, &rows[0]),
            None => slope,
        } / scales[1];
        for (b, log) in by.iter_mut().zip(logs) {
            *b = rise * log;
        }
        by[3] -= rise;
        if let Some((_, _, rows)) = &self.spline {
            for (b, value) in by[PLAIN + rows[0].first..].iter_mut().zip(rows[0].values) {
                *b += rise * value;
            }
        }
        let mut interval = 0;
        for (j, &node) in self.grid.at.iter().enumerate() {
            while interval < node {
                let half = 0.5 * (self.grid.nodes[interval + 1] - self.grid.nodes[interval]);
                for i in [2 * interval, 2 * interval + 1] {
                    let (slope, logs) = toe_shoulder_slope(theta, scales, self.grid.gauss[i]);
                    let mut part = half * slope;
                    if let Some((_, rows, _)) = &self.spline {
                        let row = &rows[i];
                        part *= bend(theta, row);
                        for (b, value) in by[PLAIN + row.first..].iter_mut().zip(row.values) {
                            *b += part * value;
                        }
                    }
                    rise += part;
                    for (b, log) in by.iter_mut().zip(logs) {
                        *b += part * log;
                    }
                }
                interval += 1;
            }
            density[j] = theta[0] + rise;
            let mut column = jacobian.column_mut(j);
            column.as_mut_slice()[..p].copy_from_slice(&by[..p]);
            column[0] = 1.0;
        }
    }

    /// Density and slope at every node of the grid.
    pub(super) fn table(&self, theta: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let nodes = &self.grid.nodes;
        let scales = scales(theta);
        let slope_at = |x: f64, row: Option<&Row>| {
            toe_shoulder_slope(theta, scales, x).0 * row.map_or(1.0, |row| bend(theta, row))
        };
        let (gauss_rows, node_rows) = match &self.spline {
            Some((_, gauss, nodes)) => (Some(gauss), Some(nodes)),
            None => (None, None),
        };
        let mut slopes = Vec::with_capacity(nodes.len());
        let mut densities = Vec::with_capacity(nodes.len());
        let mut rise = 0.0;
        for (n, &x) in nodes.iter().enumerate() {
            let slope = slope_at(x, node_rows.map(|rows| &rows[n]));
            if n == 0 {
                rise = slope / scales[1];
            } else {
                let half = 0.5 * (x - nodes[n - 1]);
                for i in [2 * n - 2, 2 * n - 1] {
                    rise += half * slope_at(self.grid.gauss[i], gauss_rows.map(|rows| &rows[i]));
                }
            }
            densities.push(theta[0] + rise);
            slopes.push(slope);
        }
        (densities, slopes)
    }

    /// Parameters to begin with: by eye for the toe and line, from a simpler fit for the others.
    pub(super) fn start(&self, simpler: Option<&[f64]>) -> Vec<f64> {
        let (low, high) = self.readings.range();
        match (self.smooth, simpler) {
            (Smooth::ToeShoulder, Some(s)) => {
                vec![
                    s[0],
                    s[1] + 0.1,
                    s[2],
                    s[3].clamp(0.7, 2.3),
                    high + 0.2,
                    1.6,
                ]
            }
            (Smooth::FreeBends, Some(s)) => {
                let mut theta = s.to_vec();
                theta.resize(self.len(), 0.0);
                theta
            }
            _ => {
                let (x, y) = (&self.readings.x, &self.readings.y);
                let least = y.iter().copied().fold(f64::INFINITY, f64::min);
                let base = self.readings.base.unwrap_or(least);
                let (mut steepest, mut foot) = (0.1, f64::midpoint(low, high));
                for i in 0..x.len() {
                    for j in i + 1..x.len() {
                        let slope = (y[j] - y[i]) / (x[j] - x[i]).max(1e-9);
                        if x[j] - x[i] > 0.4 && slope > steepest {
                            steepest = slope;
                            foot = x[i] - (y[i] - base) / slope;
                        }
                    }
                }
                vec![base, steepest.ln(), foot, 1.6]
            }
        }
    }
}

/// Parameters of toe, line and shoulder.
const PLAIN: usize = 6;
/// Most parameters of any shape.
const MOST: usize = PLAIN + super::spline::MOST;
/// How much the size of a free bend is penalised against its curving.
const SIZE: f64 = 0.05;

/// The penalty of a shape: ½θᵀMθ − vᵀθ.
#[derive(Debug, Clone)]
pub(in crate::wedge) struct Penalty {
    /// M, whole.
    pub(super) matrix: DMatrix<f64>,
    /// The part of M that grows with stiffness, and its rank.
    pub(super) stiff: DMatrix<f64>,
    pub(super) stiff_rank: usize,
    pub(super) vector: DVector<f64>,
    /// A root of M, whose transpose carries unit noise into v.
    pub(super) root: DMatrix<f64>,
}

impl Penalty {
    pub(in crate::wedge) fn vector(&self) -> &DVector<f64> {
        &self.vector
    }

    pub(in crate::wedge) fn matrix(&self) -> &DMatrix<f64> {
        &self.matrix
    }

    /// The vector with unit noise carried into the prior.
    pub(in crate::wedge) fn shaken(&self, mut noise: impl FnMut() -> f64) -> DVector<f64> {
        let shake = DVector::from_fn(self.root.nrows(), |_, _| noise());
        &self.vector + self.root.tr_mul(&shake)
    }
}

/// The factor by which free bends change a slope.
fn bend(theta: &[f64], row: &Row) -> f64 {
    let beta = &theta[PLAIN + row.first..PLAIN + row.first + 4];
    let log: f64 = beta.iter().zip(row.values).map(|(b, v)| b * v).sum();
    // Bounds keep a wild step of the solver finite.
    log.clamp(-20.0, 20.0).exp()
}

/// g and both K.
fn scales(theta: &[f64]) -> [f64; 3] {
    // Bounds keep a wild step of the solver finite.
    [1, 3, 5].map(|k| theta[k].clamp(-20.0, 6.0).exp())
}

/// Slope and the derivatives of its logarithm.
fn toe_shoulder_slope(theta: &[f64], [g, k1, k2]: [f64; 3], x: f64) -> (f64, [f64; 6]) {
    let (z1, z2) = (k1 * (x - theta[2]), k2 * (x - theta[4]));
    let (toe, shoulder) = (logistic(z1), logistic(-z2));
    let slope = g * toe * shoulder;
    let (above, into) = (1.0 - toe, 1.0 - shoulder);
    (
        slope,
        [0.0, 1.0, -k1 * above, z1 * above, k2 * into, -z2 * into],
    )
}
