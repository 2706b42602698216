//! The most probable values by Gauss–Newton, can by can, and the covariance there.
//!
//! Cans meet only in the shared unknowns, so each can is eliminated by a small factorisation of its own and what
//! remains (a Schur complement) is as small as the list of loaders, stocks and kinds. An outlier is judged by what
//! all other evidence predicts for it, not by a residual that it has bent itself.

use super::build::{Can, Model, View};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Beyond this many predictive standard deviations a measurement is an outlier.
pub(super) const OUTLIER_SD: f64 = 4.0;
const MAX_STEPS: usize = 60;
const MAX_ROUNDS: usize = 25;

/// Point in z: every shared unknown, and each can's own.
#[derive(Clone)]
pub(super) struct Point {
    pub(super) shared: DVector<f64>,
    pub(super) local: Vec<DVector<f64>>,
}

/// One can eliminated: given the shared unknowns its own are normal around `−a⁻¹b · shared` with covariance `a⁻¹`.
pub(super) struct Eliminated {
    pub(super) a: Cholesky<f64, Dyn>,
    pub(super) a_inv_b: DMatrix<f64>,
}

/// How a measurement stands to everything else.
#[derive(Clone, Copy)]
pub(super) struct Standing {
    /// Weight in the fit: 1, or less for an outlier.
    pub(super) weight: f64,
    /// Reading minus what all other evidence predicts, in predictive standard deviations.
    pub(super) off: f64,
}

/// The solved shelf.
pub(super) struct Fit {
    pub(super) point: Point,
    pub(super) cans: Vec<Eliminated>,
    /// Factor of the shared unknowns' information, and its inverse once the fit has settled.
    shared: Cholesky<f64, Dyn>,
    pub(super) shared_covariance: DMatrix<f64>,
    pub(super) standing: Vec<Vec<Standing>>,
    pub(super) converged: bool,
}

/// Solve, judge every measurement by the others, down-weight outliers, and solve again until nothing changes.
pub(super) fn fit(model: &Model) -> Fit {
    let mut fit = start(model);
    for round in 0..MAX_ROUNDS {
        solve(model, &mut fit);
        if !judge(model, &mut fit, round) {
            return fit;
        }
    }
    solve(model, &mut fit);
    fit.converged = false;
    fit
}

fn start(model: &Model) -> Fit {
    let local = model
        .cans
        .iter()
        .map(|can| DVector::zeros(can.local.len()))
        .collect();
    let neutral = Standing {
        weight: 1.0,
        off: 0.0,
    };
    Fit {
        point: Point {
            shared: DVector::zeros(model.layout.len()),
            local,
        },
        cans: Vec::new(),
        shared: factor(DMatrix::identity(0, 0)),
        shared_covariance: DMatrix::identity(0, 0),
        standing: model
            .cans
            .iter()
            .map(|can| vec![neutral; can.observations.len()])
            .collect(),
        converged: false,
    }
}

/// Gauss–Newton with step halving from where the fit stands.
fn solve(model: &Model, fit: &mut Fit) {
    fit.converged = false;
    let mut cost = cost(model, &fit.point, &fit.standing);
    for _ in 0..MAX_STEPS {
        let step = linearise(model, fit);
        let size = step
            .local
            .iter()
            .map(|s| s.amax())
            .fold(step.shared.amax(), f64::max);
        let mut scale = 1.0;
        let (next, next_cost) = loop {
            let next = moved(&fit.point, &step, scale);
            let next_cost = self::cost(model, &next, &fit.standing);
            if next_cost <= cost || scale < 1e-6 {
                break (next, next_cost);
            }
            scale *= 0.5;
        };
        if next_cost <= cost {
            (fit.point, cost) = (next, next_cost);
        }
        // At rounding level no step can lower the cost any more.
        if size < 1e-9 || (scale < 1e-6 && size < 1e-5) {
            fit.converged = true;
            break;
        }
    }
    linearise(model, fit);
    fit.shared_covariance = fit.shared.inverse();
}

fn moved(point: &Point, step: &Point, scale: f64) -> Point {
    Point {
        shared: &point.shared + &step.shared * scale,
        local: point
            .local
            .iter()
            .zip(&step.local)
            .map(|(z, s)| z + s * scale)
            .collect(),
    }
}

/// Half the sum of squares: priors and weighted measurements.
fn cost(model: &Model, point: &Point, standing: &[Vec<Standing>]) -> f64 {
    let mut sum = point.shared.norm_squared();
    let mut row = Vec::new();
    for (i, can) in model.cans.iter().enumerate() {
        sum += point.local[i].norm_squared();
        let view = View::new(
            model,
            can,
            point.local[i].as_slice(),
            point.shared.as_slice(),
        );
        row.resize(can.columns(), 0.0);
        for (observation, standing) in can.observations.iter().zip(&standing[i]) {
            let residual =
                (view.predict(&observation.what, &mut row) - observation.value) / observation.sd;
            sum += standing.weight * residual * residual;
        }
    }
    0.5 * sum
}

/// Factorise at the fit's point, keep the factors, and return the full Gauss–Newton step.
fn linearise(model: &Model, fit: &mut Fit) -> Point {
    let size = model.layout.len();
    let mut schur = DMatrix::identity(size, size);
    let mut right = -&fit.point.shared;
    let mut cans = Vec::with_capacity(model.cans.len());
    let mut half_steps = Vec::with_capacity(model.cans.len());
    for (i, can) in model.cans.iter().enumerate() {
        let (n, s) = (can.local.len(), can.slots.len());
        let (normal, gradient) = normal_equations(model, can, i, fit);
        let a = factor(normal.view((0, 0), (n, n)).into_owned());
        let b = normal.view((0, n), (n, s)).into_owned();
        let a_inv_b = a.solve(&b);
        let local_gradient = gradient.rows(0, n).into_owned() + &fit.point.local[i];
        let half_step = -a.solve(&local_gradient);
        let reduced = normal.view((n, n), (s, s)) - b.transpose() * &a_inv_b;
        let pull = b.transpose() * &half_step + gradient.rows(n, s);
        for (p, &row) in can.slots.iter().enumerate() {
            right[row] -= pull[p];
            for (q, &column) in can.slots.iter().enumerate() {
                schur[(row, column)] += reduced[(p, q)];
            }
        }
        half_steps.push(half_step);
        cans.push(Eliminated { a, a_inv_b });
    }
    let schur = factor(schur);
    let shared = schur.solve(&right);
    let local = model
        .cans
        .iter()
        .zip(cans.iter().zip(half_steps))
        .map(|(can, (eliminated, half_step))| {
            let slots =
                DVector::from_iterator(can.slots.len(), can.slots.iter().map(|&j| shared[j]));
            half_step - &eliminated.a_inv_b * slots
        })
        .collect();
    fit.cans = cans;
    fit.shared = schur;
    Point { shared, local }
}

/// One can's share: JᵀWJ with the local prior in its corner, and JᵀWr.
fn normal_equations(model: &Model, can: &Can, i: usize, fit: &Fit) -> (DMatrix<f64>, DVector<f64>) {
    let columns = can.columns();
    let mut normal = DMatrix::zeros(columns, columns);
    let mut gradient = DVector::zeros(columns);
    for j in 0..can.local.len() {
        normal[(j, j)] = 1.0;
    }
    let view = View::new(
        model,
        can,
        fit.point.local[i].as_slice(),
        fit.point.shared.as_slice(),
    );
    let mut row = DVector::zeros(columns);
    for (observation, standing) in can.observations.iter().zip(&fit.standing[i]) {
        let predicted = view.predict(&observation.what, row.as_mut_slice());
        let residual = (predicted - observation.value) / observation.sd;
        row /= observation.sd;
        normal.ger(standing.weight, &row, &row, 1.0);
        gradient.axpy(standing.weight * residual, &row, 1.0);
    }
    (normal, gradient)
}

/// Cholesky; should rounding have cost positive definiteness, a ridge that restores it: ten times larger at each try,
/// and in the end larger than the matrix itself, which cannot fail.
fn factor(matrix: DMatrix<f64>) -> Cholesky<f64, Dyn> {
    let (n, largest) = (matrix.nrows(), matrix.amax().max(1.0));
    let mut ridge = 1e-15 * largest;
    let mut trial = matrix.clone();
    while ridge < largest * (n as f64 + 1.0) {
        if let Some(cholesky) = Cholesky::new(trial) {
            return cholesky;
        }
        ridge *= 10.0;
        trial = &matrix + DMatrix::identity(n, n) * ridge;
    }
    Cholesky::new_with_substitute(trial, largest)
        .expect("a positive substitute stands in for any bad pivot")
}

/// Judge each measurement by all the others; true when a weight has changed enough to solve again.
///
/// With residual r, weight w and q the posterior variance of the prediction (all in the reading's own sd), leaving
/// the reading out leaves a prediction of variance v = q/(1 − wq), from which it is off by
/// t = r/√((1 − wq)(1 − wq + q)) predictive sd. Beyond four, its noise is widened until it pulls as a
/// heavy-tailed (log) loss would: 16/t predictive sd, which joins the plain pull at t = 4 and fades from there.
/// One new outlier per can and round, the worst, so that a bad reading does not take good ones with it.
fn judge(model: &Model, fit: &mut Fit, round: usize) -> bool {
    let mut changed = false;
    for (i, can) in model.cans.iter().enumerate() {
        let view = View::new(
            model,
            can,
            fit.point.local[i].as_slice(),
            fit.point.shared.as_slice(),
        );
        let mut row = vec![0.0; can.columns()];
        let mut worst: Option<(usize, f64, f64)> = None;
        let mut standing = fit.standing[i].clone();
        for (j, observation) in can.observations.iter().enumerate() {
            let residual =
                (view.predict(&observation.what, &mut row) - observation.value) / observation.sd;
            row.iter_mut().for_each(|g| *g /= observation.sd);
            let q = fit.variance(can, i, &row);
            let weight = standing[j].weight;
            let kept = (1.0 - weight * q).max(1e-12);
            let off = residual / (kept * (kept + q)).sqrt();
            standing[j].off = -off;
            let variance = q / kept;
            let new = if off.abs() <= OUTLIER_SD {
                1.0
            } else {
                let pull = OUTLIER_SD * OUTLIER_SD / off.abs();
                1.0 / (off * off * (1.0 + variance) / (pull * pull) - variance)
            };
            if weight < 1.0 {
                // Late rounds only tighten, so that a borderline reading cannot swing in and out for ever.
                let new = if round < 10 { new } else { new.min(weight) };
                changed |= 1e-6 < (new - weight).abs() / weight;
                standing[j].weight = new;
            } else if new < 1.0 && worst.is_none_or(|(_, most, _)| most < off.abs()) {
                worst = Some((j, off.abs(), new));
            }
        }
        if let Some((j, _, new)) = worst {
            standing[j].weight = new;
            changed = true;
        }
        fit.standing[i] = standing;
    }
    changed
}

impl Fit {
    /// Posterior variance of a linear function of one can's unknowns: its local part first, then its slots.
    pub(super) fn variance(&self, can: &Can, i: usize, row: &[f64]) -> f64 {
        let (n, s) = (can.local.len(), can.slots.len());
        let local = DVector::from_column_slice(&row[..n]);
        let shared = DVector::from_column_slice(&row[n..]) - self.cans[i].a_inv_b.tr_mul(&local);
        let mut sum = local.dot(&self.cans[i].a.solve(&local));
        for p in 0..s {
            for q in 0..s {
                sum += shared[p] * shared[q] * self.shared_covariance[(can.slots[p], can.slots[q])];
            }
        }
        sum
    }
}
