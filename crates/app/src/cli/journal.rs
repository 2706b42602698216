//! `spoolwright history` and `undo`: the journal as a story, and back one step.

use serde_json::{Value, json};
use spoolwright_core::shelf::{EntryId, WantId};

use super::Failure;
use super::desk::{Desk, Table, listed};
use crate::service::moment::moment;
use crate::service::rolls::About;

#[derive(clap::Args)]
#[group(multiple = false)]
pub(super) struct Subject {
    /// Only what happened to this stock.
    #[arg(long)]
    stock: Option<String>,
    /// Only what happened to this can.
    #[arg(long)]
    can: Option<String>,
    /// Only what happened to this loader.
    #[arg(long)]
    loader: Option<String>,
    /// Only what happened to this cassette.
    #[arg(long)]
    cassette: Option<String>,
    /// Only what happened to this want.
    #[arg(long)]
    want: Option<i64>,
    /// Only what happened to this roll.
    #[arg(long)]
    roll: Option<String>,
}

#[derive(clap::Args)]
pub(super) struct History {
    #[command(flatten)]
    about: Subject,
    /// Only entries before this one: the page before.
    #[arg(long, value_name = "ENTRY")]
    before: Option<i64>,
}

pub(super) fn history(args: &History, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let (service, about) = (&desk.service, &args.about);
    let about = if let Some(name) = &about.stock {
        About::Stock(service.stock_named(name)?.id)
    } else if let Some(name) = &about.can {
        About::Can(service.can_named(name)?.id)
    } else if let Some(name) = &about.loader {
        About::Loader(service.loader_named(name)?.id)
    } else if let Some(name) = &about.cassette {
        About::Cassette(service.cassette_named(name)?.id)
    } else if let Some(number) = about.want {
        About::Want(WantId(number))
    } else if let Some(label) = &about.roll {
        About::Roll(service.roll(label)?.roll.id)
    } else {
        About::Everything
    };
    let entries = service.history(about, args.before.map(EntryId))?;
    let mut table = Table::new(&[">entry", "when", "what", ""]);
    for e in &entries {
        table.row([
            e.id.to_string(),
            moment(&e.at),
            e.story.clone(),
            if e.undone { "undone" } else { "" }.into(),
        ]);
    }
    desk.answer(listed(table, "Nothing has happened yet."), || {
        entries
            .iter()
            .map(|e| {
                json!({
                    "entry": e.id.0, "at": e.at, "verb": e.verb, "story": e.story,
                    "undoes": e.undoes.map(|u| u.0), "undone": e.undone,
                })
            })
            .collect::<Value>()
    })
}

pub(super) fn undo(entry: Option<i64>, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let entry = match entry {
        Some(entry) => EntryId(entry),
        None => desk.service.last_change()?.id,
    };
    let made = desk.service.undo(entry, desk.request)?;
    desk.told(made)
}
