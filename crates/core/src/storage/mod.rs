//! Film that is kept: how long it warms up before it is opened, and how it ages where it lies.
//!
//! Temperatures, humidities and ages arrive as numbers; days, places and the clock are others' work. What nitrate film
//! may be told is in [`nitrate`] alone.

pub mod ageing;
pub mod air;
pub mod keeping;
pub mod nitrate;
pub mod package;
pub mod warmup;
