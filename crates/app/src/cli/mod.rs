//! The command line: arguments in, text or JSON out, one file per noun.
//!
//! It asks and shows; it neither computes nor stores. Exit codes: 0 done, 2 bad input, 1 anything else.

use std::ffi::OsString;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::{Parser, Subcommand, error::ErrorKind};
use spoolwright_core::{Error, Kind};

mod calc;
mod fail;

use fail::Failure;

/// Winding your own 35 mm film: what is left in every can, what to wind, to which click.
#[derive(Parser)]
#[command(name = "spoolwright", version, disable_help_subcommand = true)]
struct Cli {
    /// Answer, and complain, in JSON.
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// One sum without a store: JSON in, JSON out.
    Calc(calc::Args),
}

/// Runs the command line and says with which code to end.
pub fn main(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Vec<OsString> = args.into_iter().collect();
    let json = args.iter().any(|a| a == "--json");
    let result = match Cli::try_parse_from(&args) {
        Ok(cli) => run(cli, &mut io::stdout().lock()),
        Err(e) if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            return if e.print().is_ok() {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            };
        }
        Err(e) => Err(misused(&e, &args)),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(json, &mut io::stderr().lock()),
    }
}

fn run(cli: Cli, out: &mut dyn Write) -> Result<(), Failure> {
    match cli.verb {
        Verb::Calc(args) => calc::run(&args, out),
    }
}

/// The parser's complaint in our four parts.
fn misused(error: &clap::Error, args: &[OsString]) -> Failure {
    let text = error.render().to_string();
    let mut paragraphs = text.split("\n\n").map(str::trim);
    let what = paragraphs
        .next()
        .unwrap_or_default()
        .trim_start_matches("error: ");
    let usage = text
        .lines()
        .find_map(|l| l.trim().strip_prefix("Usage: "))
        .unwrap_or("spoolwright VERB");
    let tip = text.lines().find_map(|l| l.trim().strip_prefix("tip: "));
    let given: Vec<_> = args.iter().skip(1).map(|a| a.to_string_lossy()).collect();
    let given = if given.is_empty() {
        "nothing".to_owned()
    } else {
        given.join(" ")
    };
    Error::new(
        Kind::Unknown,
        what.split_whitespace().collect::<Vec<_>>().join(" "),
        crate::calc::words::shorten(&given),
        usage,
        match tip {
            Some(tip) => format!("Tip: {tip}. `--help` shows what there is."),
            None => "`--help` shows what there is.".to_owned(),
        },
    )
    .into()
}
