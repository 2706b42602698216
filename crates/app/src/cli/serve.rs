//! `spoolwright` alone, `serve` and `demo`: the page in the browser.
//!
//! The page itself is handed in from outside: the command line does not know it.

use std::io::{self, Write};
use std::net::SocketAddr;
use std::path::PathBuf;

use crate::service::{Service, demo};

use super::Failure;

/// What whoever serves the page needs.
pub struct Serving<'a> {
    /// The open store.
    pub service: Service,
    /// The port a person asked for; 0 is any free one.
    pub port: Option<u16>,
    /// Is told the address once it is served.
    pub ready: &'a dyn Fn(SocketAddr),
}

/// Whoever serves the page.
pub(super) type Page = fn(Serving<'_>) -> anyhow::Result<()>;

#[derive(clap::Args, Default)]
pub(super) struct Args {
    /// The port on 127.0.0.1; the next free one is taken when it is in use, any free one for 0.
    #[arg(long)]
    port: Option<u16>,
}

#[derive(clap::Args)]
pub(super) struct Demo {
    #[command(flatten)]
    args: Args,
    /// Only write the demo store to this new file, to look at with --store.
    #[arg(long, value_name = "FILE", conflicts_with = "port")]
    keep: Option<PathBuf>,
}

/// Serves the page over a store until the program is ended.
pub(super) fn run(args: &Args, service: Service, json: bool, page: Page) -> Result<(), Failure> {
    let ready = |address: SocketAddr| {
        let url = format!("http://{address}/");
        let line = if json {
            serde_json::json!({ "address": url }).to_string()
        } else {
            format!("Open {url} in your browser. Ctrl-C ends it.")
        };
        // A page whose address cannot be told still serves.
        let _ = writeln!(io::stdout(), "{line}").and_then(|()| io::stdout().flush());
    };
    Ok(page(Serving {
        service,
        port: args.port,
        ready: &ready,
    })?)
}

/// A store filled with the demo scenario, thrown away at the end.
pub(super) fn demo(args: &Demo, json: bool, page: Page) -> Result<(), Failure> {
    let service = demo::service()?;
    let Some(file) = &args.keep else {
        return run(&args.args, service, json, page);
    };
    service.backup_to(file)?;
    writeln!(io::stdout(), "Wrote the demo store to {}.", file.display())?;
    Ok(())
}
