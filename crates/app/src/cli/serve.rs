//! `spoolwright` alone, `serve` and `demo`: the page in the browser.
//!
//! The page itself is handed in from outside: the command line does not know it.

use std::io::{self, IsTerminal as _, Write};
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;

use spoolwright_core::{Error, Kind};

use crate::network::{self, Beside, Wish};
use crate::qr;
use crate::service::{Service, demo};

use super::Failure;

/// Is told the address once the page is served, and what is to be told of the network's side.
pub type Ready<'a> = &'a dyn Fn(SocketAddr, Option<&Beside>);

/// What whoever serves the page needs.
pub struct Serving<'a> {
    /// The open store.
    pub service: Service,
    /// The port a person asked for; 0 is any free one.
    pub port: Option<u16>,
    /// How to serve one's own network, if at all.
    pub lan: Option<Wish>,
    /// Hears when it is served.
    pub ready: Ready<'a>,
}

/// Whoever serves the page.
pub(super) type Page = fn(Serving<'_>) -> anyhow::Result<()>;

/// The network's part of serving.
#[derive(clap::Args, Default, Clone)]
pub(super) struct LanArgs {
    /// Serve your own network too, over TLS, to devices that are paired.
    #[arg(long)]
    lan: bool,
    /// An address of this machine to serve at; all of its private ones when left out.
    #[arg(long, value_name = "IP", requires = "lan")]
    lan_address: Vec<IpAddr>,
    /// The port on the network, 7436 when left out; the next free one is taken when it is in use, any free one for 0.
    #[arg(long, value_name = "PORT", requires = "lan")]
    lan_port: Option<u16>,
}

#[derive(clap::Args, Default)]
pub(super) struct Args {
    /// The port on 127.0.0.1; the next free one is taken when it is in use, any free one for 0.
    #[arg(long)]
    port: Option<u16>,
    #[command(flatten)]
    lan: LanArgs,
}

impl Args {
    /// Serving as nothing but the network's part was asked for.
    pub(super) fn of(lan: LanArgs) -> Self {
        Self { port: None, lan }
    }
}

impl LanArgs {
    /// Whether anything was said of the network.
    pub(super) fn is_given(&self) -> bool {
        self.lan
    }

    fn wish(&self) -> Result<Option<Wish>, Failure> {
        if !self.lan {
            return Ok(None);
        }
        let mut addresses = self.lan_address.clone();
        if let Some(foreign) = addresses.iter().find(|ip| !network::is_own(**ip)) {
            return Err(Error::new(
                Kind::OutOfRange,
                "--lan-address: the address to serve at",
                foreign,
                "an address of a home network, such as 10.*, 172.16.* to 172.31.*, 192.168.* or fd*",
                "Only your own network is served. Leave it out to take the addresses this machine has there.",
            )
            .into());
        }
        if addresses.is_empty() {
            addresses = network::addresses()?;
        }
        if addresses.is_empty() {
            return Err(Error::new(
                Kind::Missing,
                "--lan: an address on your own network",
                "this machine has none",
                "a machine that is connected to a home network",
                "Connect it, or leave --lan out.",
            )
            .into());
        }
        let mut seen = std::collections::HashSet::new();
        addresses.retain(|ip| seen.insert(*ip));
        Ok(Some(Wish {
            addresses,
            host: network::host_name(),
            port: self.lan_port.unwrap_or(network::PORT),
        }))
    }
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
    let lan = args.lan.wish()?;
    let ready = |address: SocketAddr, beside: Option<&Beside>| {
        let url = format!("http://{address}/");
        let told = if json {
            in_json(&url, beside).to_string()
        } else {
            let colours = io::stdout().is_terminal();
            let mut told = format!("Open {url} in your browser. Ctrl-C ends it.");
            if let Some(beside) = beside {
                told.push_str(&in_words(beside, colours));
            }
            told
        };
        // A page whose address cannot be told still serves.
        let _ = writeln!(io::stdout(), "{told}").and_then(|()| io::stdout().flush());
    };
    Ok(page(Serving {
        service,
        port: args.port,
        lan,
        ready: &ready,
    })?)
}

fn in_json(url: &str, beside: Option<&Beside>) -> serde_json::Value {
    let mut told = serde_json::json!({ "address": url });
    if let Some(b) = beside {
        told["lan"] = serde_json::json!({
            "addresses": b.origins, "certificate_sha256": b.certificate, "authority_sha256": b.authority,
            "code": b.code, "pair": b.pair, "labels_print": b.labels,
        });
    }
    told
}

/// What stands at the terminal when the network is served: where, what it proves itself with, how to pair.
fn in_words(beside: &Beside, colours: bool) -> String {
    let mut told = String::from("\n\nOn your own network, for paired devices:\n");
    for origin in &beside.origins {
        told.push_str(&format!("  {origin}/\n"));
    }
    for (name, print) in [
        ("Certificate", &beside.certificate),
        ("Authority", &beside.authority),
    ] {
        // Half of it a line: 80 columns hold no more.
        let (one, two) = print.split_at(print.len() / 2 + 1);
        told.push_str(&format!("{name:<11} SHA-256 {one}\n{:19} {two}\n", ""));
    }
    let (one, two) = beside.code.split_at(beside.code.len() / 2);
    let pair = beside.pair.split('?').next().unwrap_or_default();
    told.push_str(&format!(
        "\nTo pair a phone, scan this within ten minutes, or open\n  {pair}\nand enter {one} {two}. \
         Compare the certificate's fingerprint there first.\n\n"
    ));
    if let Some(code) = qr::in_characters(&beside.pair) {
        for line in code.lines() {
            // Light on dark whatever the terminal's own colours are.
            if colours {
                told.push_str(&format!("\x1b[97;40m{line}\x1b[0m\n"));
            } else {
                told.push_str(&format!("{line}\n"));
            }
        }
    }
    if let Some(labels) = &beside.labels {
        told.push_str(&format!(
            "\nLabels print {labels} in their codes, which is none of these addresses: the Settings page changes it.\n"
        ));
    }
    told.truncate(told.trim_end().len());
    told
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
