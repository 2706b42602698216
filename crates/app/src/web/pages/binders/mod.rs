//! The binder's pages: page formats and binders, a binder's pages as drawings, filing a developed roll.

pub(crate) mod book;
pub(crate) mod file;
mod fill;
mod kit;

use crate::service::binder::book::{Book, Lying, PageView};
use crate::web::app::App;
use crate::web::drawing::{self, MarkedPage, marked_page};
use axum::Router;
use maud::Markup;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .merge(book::routes())
        .merge(file::routes())
        .merge(fill::routes())
        .merge(kit::routes())
}

/// A page of a binder, drawn.
fn drawn(id: &str, book: &Book, page: &PageView) -> Markup {
    let strips: Vec<drawing::Lying> = page.strips.iter().map(strip).collect();
    marked_page(
        id,
        &MarkedPage {
            rows: book.format.rows,
            per_row: book.format.frames_per_row,
            strips: &strips,
            mark: None,
            name: &format!("Page {}", page.number),
        },
    )
}

fn strip(s: &Lying) -> drawing::Lying {
    drawing::Lying {
        roll: s.label.clone(),
        row: s.row,
        position: s.position,
        places: s.places,
        frames: (s.first.to_string(), s.last.to_string()),
    }
}

/// "frames 1 to 6", or "frame 7".
fn frames(s: &Lying) -> String {
    if s.first == s.last {
        format!("frame {}", s.first)
    } else {
        format!("frames {} to {}", s.first, s.last)
    }
}
