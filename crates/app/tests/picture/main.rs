//! Pictures of strips: scenes drawn and read by scikit-image, formats of every kind, and files made to do harm.

mod harm;
mod scenes;

use std::path::PathBuf;

/// A file of `tests/reference/wedgescan`.
fn reference(name: &str) -> PathBuf {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    root.join("../../tests/reference/wedgescan").join(name)
}
