//! `spoolwright device`: the paired devices, and shutting one out. Pairing needs the page: the device itself asks.

use serde_json::json;

use super::Failure;
use super::desk::{Desk, Table, listed};
use crate::service::moment::day_in_words;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// List the devices.
    List {
        /// Those shut out too.
        #[arg(long)]
        all: bool,
    },
    /// Shut a device out at once.
    #[command(group(clap::ArgGroup::new("which").required(true)))]
    Forget {
        /// Its name or number.
        #[arg(group = "which")]
        device: Option<String>,
        /// Shut out all of them.
        #[arg(long, group = "which")]
        all: bool,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let made = match verb {
        Verb::List { all } => return list(desk, all),
        Verb::Forget {
            device: Some(named),
            ..
        } => {
            let device = desk.service.device_named(&named)?;
            desk.service.forget_device(device.id, desk.request)?
        }
        Verb::Forget { device: None, .. } => desk.service.forget_all_devices(desk.request)?,
    };
    desk.told(made)
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let mut devices = desk.service.devices()?;
    devices.retain(|view| all || !view.device.revoked);
    let mut table = Table::new(&[">no", "device", "paired on", ""]);
    for view in &devices {
        let d = &view.device;
        table.row([
            d.id.to_string(),
            d.name.clone(),
            day_in_words(&d.paired_on),
            if d.revoked { "shut out" } else { "" }.into(),
        ]);
    }
    desk.answer(
        listed(
            table,
            "No device is paired: `spoolwright --lan` tells how.",
        ),
        || {
            devices
                .iter()
                .map(|view| {
                    let d = &view.device;
                    json!({ "id": d.id, "name": d.name, "paired_on": d.paired_on, "shut_out": d.revoked })
                })
                .collect()
        },
    )
}
