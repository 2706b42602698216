//! Drives the running program from outside, as a person with a browser does.
//!
//! [`app`] starts the built binary over a store of its own, [`browser`] opens headless Chromium on it
//! at phone or desktop width, [`page`] fills and presses what a person would, [`faults`] says what is
//! wrong with a page, [`http`] fetches without a browser. Nothing here knows the inside of the program.

pub mod app;
pub mod browser;
pub mod faults;
pub mod http;
pub mod page;

use std::path::{Path, PathBuf};

/// The repository's root.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let root = here.ancestors().nth(2);
    root.expect("this crate lies two folders down")
        .to_path_buf()
}

/// Where pictures taken by tests go.
pub fn screenshots() -> PathBuf {
    root().join("target/screenshots")
}
