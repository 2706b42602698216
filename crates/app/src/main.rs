//! The binary: hands the arguments to the command line and returns its exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    spoolwright::cli::main(std::env::args_os())
}
