//! How evenly a picture is lit, from a border of one even density.
//!
//! Light is a quadratic surface in log10, fitted to the border's readings with a prior that says how uneven light
//! usually is. Where the border says nothing (beside strips that have a border on one side only, or without any
//! border), what is left is the prior's doubt, and it goes into every density's standard deviation.

use nalgebra::{DMatrix, DVector};

use super::layout::Point;
use super::robust::median;

/// Terms of the surface; the first is the mean.
const TERMS: usize = 6;
/// Prior standard deviation of each term in log10 of light, from the middle of the picture to its edge, where a border
/// says more: 0.1 is 20 % of light. Common practice, no source.
const WITH_BORDER: f64 = 0.1;
/// The same without a border: 0.02 is 5 % of light. Common practice, no source.
const WITHOUT_BORDER: f64 = 0.02;
/// Readings further off than this many robust standard deviations are not border.
const OFF: f64 = 5.0;
/// No border reads more evenly than this.
const FLOOR: f64 = 0.001;

/// One reading of the border.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    pub(super) at: Point,
    /// log10 of the light there, up to a constant.
    pub(super) light: f64,
    pub(super) sd: f64,
}

/// The light over a picture, log10.
#[derive(Debug, Clone)]
pub(super) struct Light {
    middle: Point,
    half: f64,
    terms: DVector<f64>,
    /// Directions in which the terms are unsure, each one standard deviation long.
    pub(super) doubts: Vec<DVector<f64>>,
    /// What surface and noise leave unexplained on the border.
    pub(super) unexplained: f64,
}

impl Light {
    /// Light of which nothing is known.
    pub(super) fn unknown((width, height): (u32, u32)) -> Self {
        let mut light = Self::even((width, height));
        light.doubts = (1..TERMS)
            .map(|i| DVector::from_fn(TERMS, |k, _| if k == i { WITHOUT_BORDER } else { 0.0 }))
            .collect();
        light
    }

    /// Perfectly even light.
    pub(super) fn even((width, height): (u32, u32)) -> Self {
        let (width, height) = (f64::from(width), f64::from(height));
        Self {
            middle: Point {
                x: width / 2.0,
                y: height / 2.0,
            },
            half: width.max(height) / 2.0,
            terms: DVector::zeros(TERMS),
            doubts: Vec::new(),
            unexplained: 0.0,
        }
    }

    /// The light that the border's readings show, and how many of them were left out.
    pub(super) fn from_border(size: (u32, u32), spots: &[Spot]) -> (Self, usize) {
        let mut light = Self::even(size);
        let mut used: Vec<&Spot> = spots.iter().collect();
        for round in 0..3 {
            let mut normal = DMatrix::zeros(TERMS, TERMS);
            let mut right = DVector::zeros(TERMS);
            for i in 1..TERMS {
                normal[(i, i)] = WITH_BORDER.powi(-2);
            }
            for spot in &used {
                let row = light.row(spot.at);
                let weight = (spot.sd.powi(2) + light.unexplained.max(FLOOR).powi(2)).recip();
                normal += &row * row.transpose() * weight;
                right += row * (spot.light * weight);
            }
            let Some(cholesky) = normal.cholesky() else {
                break;
            };
            light.terms = cholesky.solve(&right);
            let off = |s: &Spot| (s.light - light.log10_at(s.at)).abs();
            let scale = 1.4826 * median(&mut used.iter().map(|s| off(s)).collect::<Vec<_>>());
            if round < 2 {
                let reach = OFF * scale.max(FLOOR);
                let near: Vec<&Spot> = spots.iter().filter(|s| off(s) <= reach).collect();
                used = near;
            }
            let excess: f64 = used.iter().map(|s| off(s).powi(2) - s.sd.powi(2)).sum();
            light.unexplained = (excess.max(0.0) / used.len().max(1) as f64).sqrt();
            // The mean is taken up by the tone curve, but not the doubt about it: without a wedge it is the zero.
            let root = cholesky.inverse();
            light.doubts = root.cholesky().map_or_else(Vec::new, |c| {
                c.l().column_iter().map(|c| c.into_owned()).collect()
            });
        }
        (light, spots.len() - used.len())
    }

    /// Takes the mean out of the light and gives it.
    pub(super) fn take_mean(&mut self) -> f64 {
        std::mem::take(&mut self.terms[0])
    }

    /// Lets the whole pattern of the light be wrong by a part of itself.
    pub(super) fn doubt_itself(&mut self, part: f64) {
        let mut doubt = &self.terms * part;
        doubt[0] = 0.0;
        self.doubts.push(doubt);
    }

    fn row(&self, p: Point) -> DVector<f64> {
        let (x, y) = (
            (p.x - self.middle.x) / self.half,
            (p.y - self.middle.y) / self.half,
        );
        DVector::from_row_slice(&[1.0, x, y, x * x, x * y, y * y])
    }

    /// log10 of the light at a place.
    ///
    /// # Source
    /// Own derivation.
    pub(super) fn log10_at(&self, p: Point) -> f64 {
        self.row(p).dot(&self.terms)
    }

    /// How far a doubt moves the light at a place.
    pub(super) fn doubt_at(&self, doubt: &DVector<f64>, p: Point) -> f64 {
        self.row(p).dot(doubt)
    }
}
