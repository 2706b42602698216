//! What CI runs, and the smaller runs a person asks for.

use std::path::PathBuf;

use anyhow::Result;

use crate::run::{cargo, counted, run, target};
use crate::{docs, tools};

/// The name by which tests are told which binary to start, so that none builds a second one.
pub(crate) const BINARY: &str = "SPOOLWRIGHT_BIN";

/// Tools, fmt, clippy, doc, then every test; ends with the tests' closing lines.
pub(crate) fn everything() -> Result<()> {
    tools::install()?;
    run(&mut cargo(&["fmt", "--all", "--check"]))?;
    run(&mut cargo(&[
        "clippy",
        "--workspace",
        "--all-targets",
        "--",
        "-D",
        "warnings",
    ]))?;
    let mut doc = cargo(&[
        "doc",
        "--workspace",
        "--no-deps",
        "--document-private-items",
    ]);
    run(doc.env("RUSTDOCFLAGS", "-D warnings"))?;
    run(&mut cargo(&["test", "--workspace", "--no-run"]))?;
    let mut test = cargo(&["test", "--workspace", "--no-fail-fast"]);
    counted(test.env(BINARY, debug_binary()))
}

/// The house rules alone.
pub(crate) fn tidy() -> Result<()> {
    let mut test = cargo(&["test", "--package", "xtask"]);
    counted(test.env(BINARY, build_binary()?))
}

/// The guide's pictures.
pub(crate) fn screenshots() -> Result<()> {
    tools::install()?;
    let mut shots = cargo(&[
        "run",
        "--package",
        "spoolwright-browser-tests",
        "--bin",
        "guide-screenshots",
        "--",
        "docs/guide/img",
    ]);
    run(shots.env(BINARY, build_binary()?))
}

/// The pages of `docs/` that are made from the program.
pub(crate) fn docs() -> Result<()> {
    docs::write(&build_binary()?)
}

/// The program's binary: the one that the run was told of, else one built now.
#[cfg(test)]
pub(crate) fn binary() -> Result<PathBuf> {
    match std::env::var_os(BINARY) {
        Some(named) => Ok(PathBuf::from(named)),
        None => build_binary(),
    }
}

fn debug_binary() -> PathBuf {
    target()
        .join("debug")
        .join(format!("spoolwright{}", std::env::consts::EXE_SUFFIX))
}

fn build_binary() -> Result<PathBuf> {
    run(&mut cargo(&["build", "--package", "spoolwright"]))?;
    Ok(debug_binary())
}
