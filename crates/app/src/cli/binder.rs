//! `spoolwright binder`: page formats, binders, developed rolls cut and filed, strips moved.

use serde_json::{Value, json};

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash, over};
use crate::service::binder::book::{Book, Lying};
use crate::service::binder::file::{FileDraft, FilingView};
use crate::service::binder::fill::{FillDraft, FillView};
use crate::service::binder::kit::{BinderDraft, PageFormatDraft};
use crate::service::binder::shift::MoveDraft;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Add a binder.
    Add(BinderDraft),
    /// Change what was entered; a lone - empties a field.
    Change {
        /// Its name or number.
        binder: String,
        #[command(flatten)]
        draft: BinderDraft,
    },
    /// List binders and how far each is filled.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// Show what lies on a binder's pages.
    Show {
        /// Its name or number; may be left out when only one is being filled.
        #[arg(default_value = "")]
        binder: String,
        /// One page only.
        #[arg(long)]
        page: Option<u32>,
    },
    /// Put a binder away when it is full, or take it out again.
    Close {
        /// Its name or number.
        binder: String,
        /// Take it out again.
        #[arg(long)]
        open: bool,
    },
    /// Kinds of sleeve page.
    #[command(subcommand)]
    Format(FormatVerb),
    /// Say where to cut a developed roll and where it would lie; nothing is changed.
    Cut {
        /// The roll's label, such as HM-07.
        roll: String,
        #[command(flatten)]
        draft: FileDraft,
    },
    /// File a developed roll; one that lies in a binder already is filed anew.
    File {
        /// The roll's label, such as HM-07.
        roll: String,
        #[command(flatten)]
        draft: FileDraft,
    },
    /// Propose which rolls share a page; with --accept, file them so.
    Fill {
        #[command(flatten)]
        draft: FillDraft,
        /// File them as proposed.
        #[arg(long)]
        accept: bool,
    },
    /// Move a strip to another place in its binder.
    Move {
        /// The roll's label, such as HM-07.
        roll: String,
        /// A frame on the strip.
        frame: String,
        #[command(flatten)]
        draft: MoveDraft,
    },
    /// Take a roll out of its binder again.
    Unfile {
        /// The roll's label, such as HM-07.
        roll: String,
    },
}

#[derive(clap::Subcommand)]
pub(super) enum FormatVerb {
    /// Add a page format.
    Add(PageFormatDraft),
    /// Change what was entered; a lone - empties a field.
    Change {
        /// Its name or number.
        format: String,
        #[command(flatten)]
        draft: PageFormatDraft,
    },
    /// List page formats.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// Put a page format away, or take it out again.
    Close {
        /// Its name or number.
        format: String,
        /// Take it out again.
        #[arg(long)]
        open: bool,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Add(draft) => {
            let made = desk.service.save_binder(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { binder, draft } => {
            let old = desk.service.binder_named(&binder)?;
            let draft = over(&BinderDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_binder(Some(old.id), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::List { all } => list(desk, all),
        Verb::Show { binder, page } => {
            let binder = desk.service.binder_named(&binder)?;
            let book = desk.service.book(binder.id)?;
            show(desk, &book, page)
        }
        Verb::Close { binder, open } => {
            let id = desk.service.binder_named(&binder)?.id;
            let made = desk.service.close_binder(id, !open, desk.request)?;
            desk.told(made)
        }
        Verb::Format(verb) => format(verb, desk),
        Verb::Cut { roll, draft } => {
            let view = desk.service.filing(&roll, &draft)?;
            desk.answer(filing_text(&view), || filing_json(&view))
        }
        Verb::File { roll, draft } => {
            let id = desk.service.roll(&roll)?.roll.id;
            let made = desk.service.file_roll(id, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Fill {
            draft,
            accept: true,
        } => {
            let made = desk.service.fill_binder(&draft, desk.request)?;
            desk.told(made)
        }
        Verb::Fill { draft, .. } => {
            let view = desk.service.filling(&draft)?;
            desk.answer(filling_text(&view), || filling_json(&view))
        }
        Verb::Move { roll, frame, draft } => {
            let id = desk.service.strip_with(&roll, &frame)?;
            let made = desk.service.move_strip(id, &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Unfile { roll } => {
            let id = desk.service.roll(&roll)?.roll.id;
            let made = desk.service.unfile_roll(id, desk.request)?;
            desk.told(made)
        }
    }
}

fn format(verb: FormatVerb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        FormatVerb::Add(draft) => {
            let made = desk.service.save_page_format(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        FormatVerb::Change { format, draft } => {
            let old = desk.service.page_format_named(&format)?;
            let draft = over(&PageFormatDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_page_format(Some(old.id), &draft, desk.request)?;
            desk.told(made)
        }
        FormatVerb::List { all } => {
            let mut formats = desk.service.page_formats()?;
            formats.retain(|f| all || !f.closed);
            let settings = desk.settings()?;
            let mut table =
                Table::new(&["page format", ">rows", ">frames a row", ">price", "note"]);
            for f in &formats {
                table.row([
                    f.name.clone(),
                    f.rows.to_string(),
                    f.frames_per_row.to_string(),
                    or_dash(f.price_each.map(|p| settings.money(p))),
                    f.note.clone(),
                ]);
            }
            desk.answer(
                listed(
                    table,
                    "No page format: `spoolwright binder format add --name NAME --rows 6 --frames-per-row 6`.",
                ),
                || {
                    formats
                        .iter()
                        .map(|f| {
                            json!({
                                "id": f.id.0, "name": f.name, "rows": f.rows, "frames_per_row": f.frames_per_row,
                                "price_each": f.price_each, "note": f.note, "closed": f.closed,
                            })
                        })
                        .collect()
                },
            )
        }
        FormatVerb::Close { format, open } => {
            let id = desk.service.page_format_named(&format)?.id;
            let made = desk.service.close_page_format(id, !open, desk.request)?;
            desk.told(made)
        }
    }
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let mut binders = desk.service.binders()?;
    binders.retain(|b| all || !b.closed);
    let books = binders
        .iter()
        .map(|b| desk.service.book(b.id))
        .collect::<Result<Vec<_>, _>>()?;
    let mut table = Table::new(&["binder", "page format", ">pages", ">strips", "note"]);
    for b in &books {
        table.row([
            b.binder.name.clone(),
            b.format.name.clone(),
            b.last_page().to_string(),
            b.strips.len().to_string(),
            b.binder.note.clone(),
        ]);
    }
    desk.answer(
        listed(
            table,
            "No binder: `spoolwright binder add --name NAME --format FORMAT`.",
        ),
        || {
            books
                .iter()
                .map(|b| {
                    json!({
                        "id": b.binder.id.0, "name": b.binder.name, "format": b.format.name, "pages": b.last_page(),
                        "strips": b.strips.len(), "note": b.binder.note, "closed": b.binder.closed,
                    })
                })
                .collect()
        },
    )
}

fn show(desk: &mut Desk<'_>, book: &Book, page: Option<u32>) -> Result<(), Failure> {
    let mut pages = book.views();
    pages.retain(|p| page.is_none_or(|n| p.number == n));
    let mut table = Table::new(&[">page", ">row", ">place", "roll", "frames", ">places"]);
    for s in pages.iter().flat_map(|p| &p.strips) {
        strip_row(&mut table, s);
    }
    let text = format!(
        "{}, pages of {} rows with {} places ({})\n{}",
        book.binder.name,
        book.format.rows,
        book.format.frames_per_row,
        book.format.name,
        listed(table, "Nothing lies there.")
    );
    desk.answer(text, || {
        json!({
            "id": book.binder.id.0, "name": book.binder.name, "format": book.format.name,
            "rows": book.format.rows, "frames_per_row": book.format.frames_per_row,
            "pages": pages.iter().map(|p| json!({
                "page": p.number, "free": p.free, "strips": p.strips.iter().map(strip).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        })
    })
}

fn strip_row(table: &mut Table, s: &Lying) {
    table.row([
        s.page.to_string(),
        (s.row + 1).to_string(),
        (s.position + 1).to_string(),
        s.label.clone(),
        format!("{} to {}", s.first, s.last),
        s.places.to_string(),
    ]);
}

/// A strip; rows and positions counted from one.
fn strip(s: &Lying) -> Value {
    json!({
        "page": s.page, "row": s.row + 1, "position": s.position + 1, "places": s.places, "roll": s.label,
        "first": s.first.to_string(), "last": s.last.to_string(), "frames": s.frames,
    })
}

fn filing_text(v: &FilingView) -> String {
    let mut text = String::new();
    if let Some(cutting) = &v.cutting {
        for c in &cutting.cuts {
            text += &format!(
                "Cut after {}, before {}: {:.0} mm from where the first frame begins. {}\n",
                c.after, c.before, c.mm, c.because
            );
        }
        if !cutting.left_out.is_empty() {
            text += &format!("Left out, blank: {}.\n", cutting.left_out.join(", "));
        }
        for because in &cutting.because {
            text += &format!("{because}\n");
        }
        for caveat in &cutting.caveats {
            text += &format!("{}\n", caveat.text);
        }
    }
    let mut table = Table::new(&[">page", ">row", ">place", "roll", "frames", ">places"]);
    for s in &v.strips {
        strip_row(&mut table, s);
    }
    format!("{text}{}\n{table}", v.book.binder.name)
}

fn filling_text(v: &FillView) -> String {
    let mut table = Table::new(&[">page", ">row", ">place", "roll", "frames", ">places"]);
    for s in &v.strips {
        strip_row(&mut table, s);
    }
    let told: Vec<&str> = v
        .filled
        .because
        .iter()
        .map(String::as_str)
        .chain(v.filled.caveats.iter().map(|c| c.text.as_str()))
        .collect();
    format!(
        "{}: {} new pages\n{table}{}\nTo file them so: --accept --as-shown {}\n",
        v.book.binder.name,
        v.filled.new_pages,
        told.join("\n"),
        v.mark
    )
}

fn filling_json(v: &FillView) -> Value {
    json!({
        "binder": v.book.binder.name, "new_pages": v.filled.new_pages, "shared_rows": v.filled.shared_rows,
        "proven": v.filled.proven, "mark": v.mark, "because": v.filled.because,
        "caveats": v.filled.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Vec<_>>(),
        "strips": v.strips.iter().map(strip).collect::<Vec<_>>(),
    })
}

fn filing_json(v: &FilingView) -> Value {
    json!({
        "roll": v.roll.roll.label, "binder": v.book.binder.name, "again": v.again,
        "strips": v.strips.iter().map(strip).collect::<Vec<_>>(),
        "cuts": v.cutting.as_ref().map(|c| c.cuts.iter().map(|c| json!({
            "after": c.after, "before": c.before, "mm": c.mm, "because": c.because,
        })).collect::<Vec<_>>()),
        "left_out": v.cutting.as_ref().map(|c| &c.left_out),
        "because": v.cutting.as_ref().map(|c| &c.because),
        "caveats": v.cutting.as_ref().map(|c| c.caveats.iter()
            .map(|c| json!({ "code": c.code, "text": c.text })).collect::<Vec<_>>()),
    })
}
