//! Monotone smooths of one strip and their choice: readings in, curves that can be refitted many times out.
//!
//! Every smooth models density as base + fog plus the integral of a slope that cannot be negative, so every curve
//! rises. Fitting is penalised least squares; the penalty doubles as the prior of the rounds in [`super::bootstrap`].
//! It knows exposure only as an ascending number: orientation and units are [`super::check`]'s.

mod choose;
mod curve;
mod grid;
mod newton;
mod shape;
mod spline;

pub(super) use choose::{CLEARLY, Choice, Fitted, choose};
pub(super) use curve::Curve;
pub(super) use newton::{Anchor, Scratch, Task, resolve, solve};

/// The readings of one strip, ascending in log H.
#[derive(Debug, Clone)]
pub(super) struct Readings {
    /// log10 exposure, ascending.
    pub(super) x: Vec<f64>,
    /// Densities read.
    pub(super) y: Vec<f64>,
    /// Which step of the exposure each is, from 0.
    pub(super) steps: Vec<usize>,
    /// Density of unexposed film, if read.
    pub(super) base: Option<f64>,
    /// Standard deviation of one reading, as far as it is known beforehand.
    pub(super) sd: f64,
}

impl Readings {
    /// Lowest and highest log H.
    pub(super) fn range(&self) -> (f64, f64) {
        (self.x[0], self.x[self.x.len() - 1])
    }

    /// Number of readings, the unexposed one included.
    pub(super) fn count(&self) -> usize {
        self.x.len() + usize::from(self.base.is_some())
    }
}
