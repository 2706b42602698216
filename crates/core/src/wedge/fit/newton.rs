//! Penalised least squares by damped Gauss–Newton (Levenberg 1944, Marquardt 1963), with its scratch space kept.

use super::shape::{Penalty, Shape};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Room for one solve, reused.
#[derive(Debug, Clone)]
pub(in crate::wedge) struct Scratch {
    density: Vec<f64>,
    jacobian: DMatrix<f64>,
    trial_density: Vec<f64>,
    trial_jacobian: DMatrix<f64>,
}

impl Scratch {
    pub(in crate::wedge) fn new(shape: &Shape) -> Self {
        let n = shape.readings.x.len();
        Self {
            density: vec![0.0; n],
            jacobian: DMatrix::zeros(shape.len(), n),
            trial_density: vec![0.0; n],
            trial_jacobian: DMatrix::zeros(shape.len(), n),
        }
    }
}

/// What is minimised: readings and base with their weight, and the penalty.
#[derive(Debug, Clone, Copy)]
pub(in crate::wedge) struct Task<'a> {
    pub(in crate::wedge) y: &'a [f64],
    pub(in crate::wedge) base: Option<f64>,
    /// One over the variance of a reading.
    pub(in crate::wedge) weight: f64,
    pub(in crate::wedge) matrix: &'a DMatrix<f64>,
    pub(in crate::wedge) vector: &'a DVector<f64>,
}

impl<'a> Task<'a> {
    pub(super) fn plain(shape: &'a Shape, penalty: &'a Penalty, weight: f64) -> Self {
        Self {
            y: &shape.readings.y,
            base: shape.readings.base,
            weight,
            matrix: &penalty.matrix,
            vector: &penalty.vector,
        }
    }

    fn objective(&self, theta: &DVector<f64>, density: &[f64]) -> f64 {
        let mut squares: f64 = self
            .y
            .iter()
            .zip(density)
            .map(|(y, d)| (y - d).powi(2))
            .sum();
        if let Some(base) = self.base {
            squares += (base - theta[0]).powi(2);
        }
        let bent = self.matrix * theta;
        0.5 * self.weight * squares + 0.5 * theta.dot(&bent) - self.vector.dot(theta)
    }

    /// Downhill: minus the derivative of the objective.
    fn gradient(
        &self,
        theta: &DVector<f64>,
        density: &[f64],
        jacobian: &DMatrix<f64>,
        out: &mut DVector<f64>,
    ) {
        out.copy_from(self.vector);
        out.gemv(-1.0, self.matrix, theta, 1.0);
        for (j, (y, d)) in self.y.iter().zip(density).enumerate() {
            out.axpy(self.weight * (y - d), &jacobian.column(j), 1.0);
        }
        if let Some(base) = self.base {
            out[0] += self.weight * (base - theta[0]);
        }
    }

    fn hessian(&self, jacobian: &DMatrix<f64>) -> DMatrix<f64> {
        let mut h = self.matrix.clone();
        // The lower triangle, which is all that a Cholesky factor needs.
        for column in jacobian.column_iter() {
            h.syger(self.weight, &column, &column, 1.0);
        }
        if self.base.is_some() {
            h[(0, 0)] += self.weight;
        }
        h
    }
}

/// Steps after which a solve rests; far more than any strip was seen to need.
const MOST_STEPS: usize = 80;

/// The parameters that minimise the task, from `start`; it stops when the next step would gain less than `gain`.
pub(in crate::wedge) fn solve(
    shape: &Shape,
    task: &Task<'_>,
    start: &[f64],
    gain: f64,
    scratch: &mut Scratch,
) -> DVector<f64> {
    let mut theta = DVector::from_column_slice(start);
    shape.predict(
        theta.as_slice(),
        &mut scratch.density,
        &mut scratch.jacobian,
    );
    let mut best = task.objective(&theta, &scratch.density);
    let mut damping = 0.0;
    let mut gradient = DVector::zeros(theta.len());
    for _ in 0..MOST_STEPS {
        task.gradient(&theta, &scratch.density, &scratch.jacobian, &mut gradient);
        let hessian = task.hessian(&scratch.jacobian);
        let mut moved = false;
        for _ in 0..12 {
            let mut damped = hessian.clone();
            for k in 0..damped.nrows() {
                damped[(k, k)] += damping * hessian[(k, k)] + 1e-9;
            }
            let Some(factor) = Cholesky::new(damped) else {
                damping = raise(damping);
                continue;
            };
            let step = factor.solve(&gradient);
            if step.dot(&gradient) < gain && damping < 1e-3 {
                return theta + step;
            }
            let trial = &theta + &step;
            shape.predict(
                trial.as_slice(),
                &mut scratch.trial_density,
                &mut scratch.trial_jacobian,
            );
            let value = task.objective(&trial, &scratch.trial_density);
            if value <= best {
                let gained = best - value;
                best = value;
                theta = trial;
                std::mem::swap(&mut scratch.density, &mut scratch.trial_density);
                std::mem::swap(&mut scratch.jacobian, &mut scratch.trial_jacobian);
                damping = if damping < 1e-4 { 0.0 } else { damping * 0.2 };
                if gained < gain && damping < 1.0 {
                    return theta;
                }
                moved = true;
                break;
            }
            damping = raise(damping);
        }
        if !moved {
            break;
        }
    }
    theta
}

/// A solution from which others nearby are reached without a new curvature each time.
#[derive(Debug, Clone)]
pub(in crate::wedge) struct Anchor {
    theta: DVector<f64>,
    density: Vec<f64>,
    jacobian: DMatrix<f64>,
    factor: Cholesky<f64, Dyn>,
}

impl Anchor {
    pub(in crate::wedge) fn new(
        shape: &Shape,
        task: &Task<'_>,
        theta: &DVector<f64>,
        scratch: &mut Scratch,
    ) -> Option<Self> {
        shape.predict(
            theta.as_slice(),
            &mut scratch.density,
            &mut scratch.jacobian,
        );
        let mut hessian = task.hessian(&scratch.jacobian);
        for k in 0..hessian.nrows() {
            hessian[(k, k)] += 1e-9;
        }
        Some(Self {
            theta: theta.clone(),
            density: scratch.density.clone(),
            jacobian: scratch.jacobian.clone(),
            factor: Cholesky::new(hessian)?,
        })
    }
}

/// Steps before [`solve`] takes over, which is slower and surer.
const MOST_QUICK_STEPS: usize = 16;
/// Shortenings of one step.
const MOST_SHORTENINGS: usize = 6;

/// Like [`solve`] from the anchor, for a task that differs from the anchor's by noise: Gauss–Newton steps, shortened
/// until they gain.
pub(in crate::wedge) fn resolve(
    shape: &Shape,
    task: &Task<'_>,
    anchor: &Anchor,
    gain: f64,
    scratch: &mut Scratch,
) -> DVector<f64> {
    let mut theta = anchor.theta.clone();
    let mut gradient = DVector::zeros(theta.len());
    task.gradient(&theta, &anchor.density, &anchor.jacobian, &mut gradient);
    let mut best = task.objective(&theta, &anchor.density);
    let mut step = anchor.factor.solve(&gradient);
    for _ in 0..MOST_QUICK_STEPS {
        let mut gained = 0.0;
        let mut share = 1.0;
        for _ in 0..MOST_SHORTENINGS {
            let trial = &theta + share * &step;
            shape.predict(
                trial.as_slice(),
                &mut scratch.density,
                &mut scratch.jacobian,
            );
            let value = task.objective(&trial, &scratch.density);
            if value < best {
                gained = best - value;
                best = value;
                theta = trial;
                break;
            }
            share *= 0.4;
        }
        if gained == 0.0 {
            break;
        }
        if gained < gain && share > 0.1 {
            return theta;
        }
        task.gradient(&theta, &scratch.density, &scratch.jacobian, &mut gradient);
        let Some(factor) = Cholesky::new(task.hessian(&scratch.jacobian)) else {
            break;
        };
        step = factor.solve(&gradient);
        if step.dot(&gradient) < gain {
            return theta + step;
        }
    }
    solve(shape, task, theta.as_slice(), gain, scratch)
}

fn raise(damping: f64) -> f64 {
    if damping == 0.0 { 0.01 } else { damping * 6.0 }
}

/// A solution with what its curvature says.
#[derive(Debug, Clone)]
pub(super) struct Curvature {
    /// Sum of squared residuals, the unexposed reading's included.
    pub(super) squares: f64,
    /// Sum of squared residuals each divided by (1 − leverage): what leaving each reading out would have missed.
    pub(super) foretold: f64,
    /// Effective number of parameters.
    pub(super) effective: f64,
    /// tr(H⁻¹S), S the stiff part of the penalty.
    pub(super) stiff: f64,
}

/// Residuals and leverages of a solution.
pub(super) fn curvature(
    shape: &Shape,
    task: &Task<'_>,
    penalty: &Penalty,
    theta: &DVector<f64>,
    scratch: &mut Scratch,
) -> Option<Curvature> {
    shape.predict(
        theta.as_slice(),
        &mut scratch.density,
        &mut scratch.jacobian,
    );
    let mut hessian = task.hessian(&scratch.jacobian);
    for k in 0..hessian.nrows() {
        hessian[(k, k)] += 1e-9;
    }
    let factor: Cholesky<f64, Dyn> = Cholesky::new(hessian)?;
    let inverse = factor.inverse();
    let mut c = Curvature {
        squares: 0.0,
        foretold: 0.0,
        effective: 0.0,
        stiff: (&inverse * &penalty.stiff).trace(),
    };
    let mut count = |residual: f64, leverage: f64| {
        c.squares += residual * residual;
        c.effective += leverage;
        c.foretold += (residual / (1.0 - leverage).max(0.02)).powi(2);
    };
    for (j, (y, d)) in task.y.iter().zip(&scratch.density).enumerate() {
        let column = scratch.jacobian.column(j);
        count(y - d, task.weight * column.dot(&(&inverse * column)));
    }
    if let Some(base) = task.base {
        count(base - theta[0], task.weight * inverse[(0, 0)]);
    }
    Some(c)
}
