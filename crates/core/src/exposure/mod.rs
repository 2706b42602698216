//! Exposure in the field: scales of thirds as lenses, shutters and dials have them, and the pairs that expose alike.
//!
//! Exact sums are those of [`crate::wet::exposure`], filters those of [`crate::wet::filter`]; here are the marks, their
//! exact values, and which marks serve. Long times are the work of [`crate::wet::reciprocity`].

pub mod pairs;
pub mod scale;
