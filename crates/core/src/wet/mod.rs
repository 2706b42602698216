//! The wet bench: times at the bath's real temperature, what a bath has left, what shares a tank, the clock of a run.
//!
//! Pure sums over records. It knows no clock: whoever calls says how many seconds have passed. Defaults that rest on
//! practice alone are named as such and can be overridden; none of them is ever shown as measured.

pub mod after;
pub mod bath;
pub mod bottles;
pub mod cautions;
pub mod clearing;
mod doubts;
pub mod drift;
pub mod exposure;
pub mod filter;
pub mod fixing;
pub mod formula;
pub mod mark;
pub mod mix;
mod past;
pub mod push;
pub mod recipe;
pub mod reciprocity;
pub mod record;
pub mod salts;
mod sheet;
pub mod shopping;
pub mod starters;
pub mod tank;
pub mod temperature;
pub mod timer;
mod together;
pub mod verdict;
pub mod wash;
