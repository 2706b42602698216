//! `spoolwright calc`: finds the contract, reads the input, prints the answer.

use std::fs::File;
use std::io::{self, IsTerminal, Write};
use std::path::PathBuf;

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
    let bytes = match &args.input {
        Some(path) if path.as_os_str() != "-" => {
            let file = File::open(path).map_err(|e| {
                Error::new(
                    Kind::Missing,
                    "--in: the file cannot be opened",
                    format!("{} ({e})", path.display()),
                    "a file that can be read",
                    "Check the name, or leave --in out to read standard input.",
                )
            })?;
            calc::read_bounded(file)?
        }
        _ if io::stdin().is_terminal() => {
            return Err(Error::missing(
                "calc: the input",
                "JSON on standard input or in a file",
                "Pipe the JSON in, or name a file with --in.",
            )
            .into());
        }
        _ => calc::read_bounded(io::stdin().lock())?,
    };
    let answer = contract.answer(&bytes)?;
    writeln!(out, "{answer:#}")?;
    Ok(())
}
