//! `spoolwright find`: a frame by its words, days, camera and stock, and where it lies.

use serde_json::{Value, json};
use spoolwright_core::field::record::FramePlace;

use super::Failure;
use super::desk::{Desk, Table, listed};
use crate::service::field::find::{FindDraft, FoundFrame, lies_in_words};

#[derive(clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    draft: FindDraft,
}

pub(super) fn run(args: &Args, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let found = desk.service.find_frames(&args.draft)?;
    let mut table = Table::new(&[
        "roll", ">frame", "subject", "place", "taken", "stock", "camera", "lies in",
    ]);
    for f in &found.frames {
        let note = f.hit.note.as_ref();
        let said = |of: fn(&spoolwright_core::field::record::FrameNote) -> String| {
            note.map(of).unwrap_or_default()
        };
        table.row([
            f.hit.roll.label.clone(),
            said(|n| n.frame.to_string()),
            said(|n| n.subject.clone()),
            said(|n| n.place.clone()),
            said(|n| n.taken_at.clone().unwrap_or_default().replace('T', " ")),
            f.stock.clone(),
            f.camera.clone().unwrap_or_default(),
            f.lies.as_ref().map(lies_in_words).unwrap_or_default(),
        ]);
    }
    let mut text = listed(table, "Nothing was found: try fewer words.");
    if found.more {
        text += &format!("More: --page {}\n", found.page + 1);
    }
    desk.answer(text, || {
        json!({
            "page": found.page, "more": found.more,
            "found": found.frames.iter().map(of).collect::<Vec<_>>(),
        })
    })
}

fn of(f: &FoundFrame) -> Value {
    let note = f.hit.note.as_ref();
    json!({
        "roll": f.hit.roll.label, "stock": f.stock, "camera": f.camera,
        "note": note.map(|n| n.id.0), "frame": note.map(|n| n.frame.to_string()),
        "subject": note.map(|n| &n.subject), "place": note.map(|n| &n.place),
        "taken_at": note.and_then(|n| n.taken_at.as_ref()), "lies": lies(f.lies.as_ref()),
    })
}

/// Where a frame lies; rows and positions counted from one.
pub(super) fn lies(place: Option<&FramePlace>) -> Value {
    place.map_or(Value::Null, |p| {
        json!({
            "binder": p.binder.name, "page": p.page.number, "row": p.strip.row + 1, "position": p.position + 1,
        })
    })
}
