//! The binary: hands the arguments, and the page to serve, to the command line.

use std::process::ExitCode;
use std::sync::Arc;

use spoolwright::cli::Serving;
use spoolwright::{cli, web};

fn main() -> ExitCode {
    cli::main(std::env::args_os(), serve)
}

/// Serves the page until the program is told to end.
fn serve(serving: Serving<'_>) -> anyhow::Result<()> {
    let port = serving.port.unwrap_or(web::DEFAULT_PORT);
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(web::serve(
            Arc::new(serving.service),
            port,
            serving.lan,
            serving.ready,
        ))
}
