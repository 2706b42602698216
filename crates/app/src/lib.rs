//! Spoolwright: the bench companion of a photographer who winds their own 35 mm film.
//!
//! `service` holds one function for each thing a person wants; `cli` and `web` both call it and
//! never each other; `calc` does the sums without a store; `table` reads pasted densities for both,
//! `minutes` the times beside them; `xmp` is what stands beside a scan.

pub mod calc;
pub mod cli;
pub mod minutes;
pub mod network;
pub mod picture;
mod qr;
pub mod service;
pub mod table;
pub mod web;
pub mod xmp;
