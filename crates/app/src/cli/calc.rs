//! `spoolwright calc`: finds the contract, reads the input, prints the answer.

use std::fs::File;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use clap::ValueEnum;
use serde_json::{Value, json};
use spoolwright_core::{Error, Kind};

use super::Failure;
use crate::calc::{self, CONTRACTS};

#[derive(clap::Args)]
pub(super) struct Args {
    /// Which sum: see --list.
    name: Option<String>,
    /// Read the input from this file instead of standard input.
    #[arg(long = "in", value_name = "FILE")]
    input: Option<PathBuf>,
    /// Where things lie in the picture that --in names, as JSON; `-` for standard input.
    #[arg(long, value_name = "FILE")]
    layout: Option<PathBuf>,
    /// List the sums.
    #[arg(long, conflicts_with_all = ["name", "input", "schema"])]
    list: bool,
    /// Print the JSON Schema of the input (or output) instead of computing.
    #[arg(long, value_name = "SIDE", num_args = 0..=1, require_equals = true, default_missing_value = "input")]
    schema: Option<Side>,
}

#[derive(Clone, Copy, ValueEnum)]
enum Side {
    Input,
    Output,
}

pub(super) fn run(args: &Args, json: bool, out: &mut dyn Write) -> Result<(), Failure> {
    if args.list && json {
        let list = CONTRACTS
            .iter()
            .map(|c| json!({ "name": c.name, "purpose": c.purpose }));
        writeln!(out, "{:#}", list.collect::<Value>())?;
        return Ok(());
    }
    if args.list {
        for c in CONTRACTS {
            writeln!(out, "{:<10} {}", c.name, c.purpose)?;
        }
        return Ok(());
    }
    let names = || {
        CONTRACTS
            .iter()
            .map(|c| c.name)
            .collect::<Vec<_>>()
            .join(", ")
    };
    let name = args
        .name
        .as_deref()
        .ok_or_else(|| Error::missing("calc: which sum", names(), "Name one, or give --list."))?;
    let contract = calc::contract(name)?;
    if let Some(side) = args.schema {
        let schema = match side {
            Side::Input => contract.input_schema,
            Side::Output => contract.output_schema,
        };
        write!(out, "{schema}")?;
        return Ok(());
    }
    let answer = if contract.needs_picture() {
        let (picture, layout) = picture_and_layout(args)?;
        let bytes = read("--layout", Some(layout))?;
        contract.answer_about(&bytes, opened("--in", picture)?)?
    } else if args.layout.is_some() {
        return Err(Error::new(
            Kind::Inconsistent,
            "--layout: not for this sum",
            contract.name,
            "a sum about a picture",
            "Leave --layout out, and give the input with --in.",
        )
        .into());
    } else {
        contract.answer(&read("--in", args.input.as_deref())?)?
    };
    writeln!(out, "{answer:#}")?;
    Ok(())
}

/// The files of a sum about a picture.
fn picture_and_layout(args: &Args) -> Result<(&Path, &Path), Error> {
    let picture = args.input.as_deref().ok_or_else(|| {
        Error::missing(
            "--in: the picture",
            "a TIFF, PNG or JPEG file",
            "Name it with --in, and the layout with --layout.",
        )
    })?;
    let layout = args.layout.as_deref().ok_or_else(|| {
        Error::missing(
            "--layout: where things lie in the picture",
            "JSON in a file, or `-` for standard input",
            "Name it with --layout; docs/calc.md has an example.",
        )
    })?;
    Ok((picture, layout))
}

/// An opened file.
pub(super) fn opened(option: &str, path: &Path) -> Result<File, Error> {
    File::open(path).map_err(|e| {
        Error::new(
            Kind::Missing,
            format!("{option}: the file cannot be opened"),
            format!("{} ({e})", path.display()),
            "a file that can be read",
            "Check the name.",
        )
    })
}

/// The text of a file, or of standard input where none is named.
pub(super) fn read(option: &str, path: Option<&Path>) -> Result<Vec<u8>, Error> {
    match path {
        Some(path) if path.as_os_str() != "-" => calc::read_bounded(opened(option, path)?),
        _ if io::stdin().is_terminal() => Err(Error::missing(
            "calc: the input",
            "JSON on standard input or in a file",
            "Pipe the JSON in, or name a file with --in.",
        )),
        _ => calc::read_bounded(io::stdin().lock()),
    }
}
