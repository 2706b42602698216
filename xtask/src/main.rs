//! The one entry to this repository: `cargo xtask COMMAND`.
//!
//! It installs what tests need, runs them the way CI does, regenerates reference fixtures, prints
//! benchmark ratios and takes the guide's screenshots. It depends on none of the product's crates.

#![expect(clippy::print_stdout, reason = "a command line talks to its user")]

use std::process::ExitCode;

use anyhow::{Result, bail};

mod bench;
mod check;
mod docs;
mod reference;
mod run;
mod tools;

const HELP: &str = "\
cargo xtask COMMAND

  test         everything CI runs: tools, fmt, clippy, doc, all tests with the browser ones
  ci           the same as test
  tools        only install what the tests need (Debian packages, axe-core)
  tidy         only the house rules: dependency edges, source keys, words, sizes, docs
  reference    make the Python fixtures again: cargo xtask reference [FOLDER]
  bench        one table of ratios against the Python references, and the program's own figures
               cargo xtask bench [NAME] runs only what has NAME in its name (`app` for the program)
  screenshots  take the guide's pictures again, into docs/guide/img
  docs         write docs/cli.md and docs/routes.md again, from the program itself
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    match dispatch(&args) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("xtask: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn dispatch(args: &[String]) -> Result<()> {
    let rest = args.get(1).map(String::as_str);
    match args.first().map_or("help", String::as_str) {
        "test" | "ci" => check::everything(),
        "tools" => tools::install(),
        "tidy" => check::tidy(),
        "reference" => reference::regenerate(rest),
        "bench" => bench::all(rest),
        "screenshots" => check::screenshots(),
        "docs" => check::docs(),
        "help" | "--help" | "-h" => {
            eprint!("{HELP}");
            Ok(())
        }
        other => bail!("there is no command `{other}`\n\n{HELP}"),
    }
}
