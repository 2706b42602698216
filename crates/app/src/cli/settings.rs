//! `spoolwright settings`: units, currency, limits of one's own cassettes, reels and pages.

use super::Failure;
use super::desk::{Desk, Table};
use crate::service::settings::SettingsDraft;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Show the settings (this is what `settings` alone does).
    Show,
    /// Change some of them.
    Set(Box<SettingsDraft>),
}

pub(super) fn run(verb: Option<Verb>, desk: &mut Desk<'_>) -> Result<(), Failure> {
    if let Some(Verb::Set(draft)) = verb {
        let made = desk.service.save_settings(&draft, desk.request)?;
        return desk.told(made);
    }
    let settings = desk.settings()?;
    let words =
        serde_json::to_value(SettingsDraft::from(&settings)).map_err(anyhow::Error::from)?;
    let mut table = Table::new(&["setting", "value"]);
    for (name, value) in words.as_object().into_iter().flatten() {
        table.row([
            name.replace('_', " "),
            value.as_str().unwrap_or_default().to_owned(),
        ]);
    }
    let values = serde_json::to_value(&settings).map_err(anyhow::Error::from)?;
    desk.answer(table, || values)
}
