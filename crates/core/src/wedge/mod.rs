//! The wedge bench: how fast a stock is and how long to develop it, from strips that saw graded exposures.
//!
//! A strip is densities against log10 exposure. Each strip gets a monotone smooth curve; from the curve come base +
//! fog, the speed point, the ISO triangle, gamma, average gradient, contrast index and Dmax, each with a 95 %
//! interval from resampling. The family of strips gives contrast against developing time, the time for a wanted
//! contrast, and the speed at that time.
//!
//! It reads no files and draws nothing. It never extrapolates without saying so, and gives an ISO speed only where
//! the exposure is absolute.

pub mod record;
pub mod scan;
pub mod shots;

mod analysis;
mod bootstrap;
mod check;
mod colour;
mod compare;
mod develop;
mod family;
mod fit;
mod input;
mod law;
mod measures;
mod random;
mod result;
mod speed;
mod targets;

pub use analysis::analyse;
pub use check::{FEWEST_STEPS, MAX_STEPS, MAX_STRIPS};
pub use colour::{ColourAnalysis, ColourStrip, ColourTest, analyse_colour};
pub use compare::{AtEqualTime, Comparison, Difference, compare, developed_otherwise};
pub use family::FARTHEST;
pub use input::{Exposure, Material, Measure, Strip, Target, Test};
pub use result::{
    Analysis, AtTarget, CurvePoint, Effort, Interval, Model, Point, Smooth, SmoothScore, SpeedKind,
    StandardSpeed, StripResult, TimeContrast, TimeLaw,
};
pub use speed::standard_speed;
pub use targets::{ISO_CONTRAST, NAMED_TARGETS, NamedTarget};
