//! Developed rolls on their way into the binder: cutting into strips, filling pages, the contact sheet, enclosures.
//!
//! It knows film and pages, not records: which binder, which page number and who filed what is said elsewhere.

pub mod contact;
pub mod cut;
pub mod enclosure;
pub mod fill;
pub mod limits;
