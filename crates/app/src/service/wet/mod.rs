//! The wet bench: tanks, recipes, developing times, runs and their clocks, baths, results.
//!
//! One file for each thing a person wants there. The sums are [`spoolwright_core::wet`]'s.

pub mod after;
pub mod baths;
pub mod choose;
pub mod clock;
mod fit;
pub(super) mod holds;
pub mod kit;
mod life;
pub mod load;
pub mod make;
pub mod paper;
pub mod pour;
pub mod press;
pub mod recipes;
pub mod runs;
pub mod times;
pub mod tools;

pub use clock::{Tick, Ticker};
