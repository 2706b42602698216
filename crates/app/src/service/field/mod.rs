//! The field: cameras and what is in them, what was noted of each frame, finding a frame
//! again, its scans; where film is kept and what a frame came to.
//!
//! One file for each thing a person wants there. What follows from the records alone is
//! [`spoolwright_core::field`]'s.

pub mod cameras;
pub mod find;
pub mod help;
pub mod kept;
pub mod money;
pub mod note;
pub mod notes;
pub mod places;
pub mod purchases;
pub mod scans;
pub mod settle;
pub mod sheet;
pub mod stays;
