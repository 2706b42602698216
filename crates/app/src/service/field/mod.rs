//! The field: cameras and what is in them, what was noted of each frame, finding a frame
//! again, and its scans.
//!
//! One file for each thing a person wants there. What follows from the records alone is
//! [`spoolwright_core::field`]'s.

pub mod cameras;
pub mod find;
pub mod help;
pub mod note;
pub mod notes;
pub mod scans;
pub mod settle;
pub mod stays;
