//! `spoolwright loader`: bulk loaders and what their cans taught of them.

use serde_json::{Value, json};
use spoolwright_core::quantity::Z95;
use spoolwright_core::shelf::LoaderKind;

use super::Failure;
use super::desk::{Desk, Table, listed, mean_sd, over};
use crate::service::draft::LoaderDraft;
use crate::service::shelf::LoaderView;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add a loader.
    Add(LoaderDraft),
    /// Change what was entered; a lone - empties a field.
    Change {
        /// Its name or number.
        loader: String,
        #[command(flatten)]
        draft: LoaderDraft,
    },
    /// List the loaders with what is known of them.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// Put a loader away.
    Close {
        /// Its name or number.
        loader: String,
    },
    /// Take it out again.
    Reopen {
        /// Its name or number.
        loader: String,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let (loader, closed) = match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_loader(None, &draft, desk.request)?;
            return desk.made(made, |id| json!({ "id": id.0 }));
        }
        Verb::Change { loader, draft } => {
            let old = desk.service.loader_named(&loader)?;
            let draft = over(&LoaderDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_loader(Some(old.id), &draft, desk.request)?;
            return desk.told(made);
        }
        Verb::List { all } => return list(desk, all),
        Verb::Close { loader } => (loader, true),
        Verb::Reopen { loader } => (loader, false),
    };
    let loader = desk.service.loader_named(&loader)?;
    let made = desk.service.close_loader(loader.id, closed, desk.request)?;
    desk.told(made)
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let shelf = desk.service.shelf()?;
    let loaders: Vec<&LoaderView> = shelf
        .loaders
        .iter()
        .filter(|l| all || !l.loader.closed)
        .collect();
    let mut table = Table::new(&[
        ">no",
        "loader",
        "kind",
        ">leader",
        ">tail",
        ">click scale",
        ">uncounted",
        "",
    ]);
    for view in &loaders {
        let l = &view.loader;
        let kind = match l.kind {
            LoaderKind::Counter { dial_zero: 0 } => "counter".to_owned(),
            LoaderKind::Counter { dial_zero } => format!("counter from {dial_zero}"),
            LoaderKind::Crank { hub_mm } => format!("crank, hub {hub_mm} mm"),
        };
        table.row([
            l.id.to_string(),
            l.name.clone(),
            kind,
            l.leader_clicks.to_string(),
            l.tail_clicks.to_string(),
            format!(
                "{:.4} ± {:.4}",
                view.click_scale.mean,
                Z95 * view.click_scale.sd
            ),
            format!(
                "{:.0} ± {:.0} mm",
                view.uncounted_mm.mean,
                Z95 * view.uncounted_mm.sd
            ),
            if l.closed { "put away" } else { "" }.into(),
        ]);
    }
    desk.answer(
        listed(
            table,
            "No loader yet: `spoolwright loader add --name NAME`.",
        ),
        || loaders.iter().map(|l| of(l)).collect(),
    )
}

fn of(view: &LoaderView) -> Value {
    let l = &view.loader;
    let kind = match l.kind {
        LoaderKind::Counter { dial_zero } => json!({ "kind": "counter", "zero_offset": dial_zero }),
        LoaderKind::Crank { hub_mm } => json!({ "kind": "crank", "hub_mm": hub_mm }),
    };
    json!({
        "id": l.id.0, "name": l.name, "loader": kind, "leader_clicks": l.leader_clicks,
        "tail_clicks": l.tail_clicks, "click_scale": mean_sd(view.click_scale),
        "uncounted_mm": mean_sd(view.uncounted_mm), "note": l.note, "closed": l.closed,
    })
}
