//! The binder: page formats, binders and their pages, a developed roll cut and filed, several rolls filed at once.
//!
//! One file for each thing a person wants there. Where to cut and which rolls share a page is
//! [`spoolwright_core::binder`]'s. Rows and places are counted from one where a person reads or types them.

pub mod book;
pub mod file;
pub mod fill;
pub mod kit;
pub mod shift;
