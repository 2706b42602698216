//! The trade's sums, pure: film along its length, wound rolls, what is left in a can, cut plans, DX.
//!
//! No I/O, clock, SQL, serde or async: time, ids and randomness arrive as arguments.
//! Keys in square brackets, such as `[G5]`, are rows of `docs/sources.md`.

pub mod binder;
pub mod bounds;
pub mod caveat;
pub mod cost;
pub mod cutplan;
pub mod dx;
pub mod error;
pub mod exposure;
pub mod field;
pub mod film;
pub mod quantity;
pub mod remaining;
pub mod shelf;
pub mod spool;
pub mod storage;
pub mod ticket;
pub mod wedge;
pub mod wet;
mod words;

pub use error::{Error, Kind};
