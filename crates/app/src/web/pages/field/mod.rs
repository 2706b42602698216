//! The field's pages: cameras, a roll's frames and their notes, versions to be settled, finding a frame again, scans; where
//! film is kept, what a frame came to.

pub(crate) mod cameras;
mod cost;
mod find;
pub(crate) mod kept;
mod notes;
mod places;
mod purchases;
pub(crate) mod roll;
mod scans;
mod settle;

use crate::service::field::find::FoundFrame;
use crate::web::app::App;
use crate::web::drawing::{Lying, MarkedPage, marked_page};
use axum::Router;
use maud::{Markup, html};
use spoolwright_core::film::PERFORATIONS_PER_CLICK;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .merge(cameras::routes())
        .merge(cost::routes())
        .merge(find::routes())
        .merge(kept::routes())
        .merge(notes::routes())
        .merge(places::routes())
        .merge(purchases::routes())
        .merge(roll::routes())
        .merge(scans::routes())
        .merge(settle::routes())
}

/// The page that a frame lies on, with its place marked; nothing where it is not filed.
fn lies(id: &str, found: &FoundFrame) -> Markup {
    let Some(at) = &found.lies else {
        return html! {};
    };
    let advance = found.hit.roll.advance_perforations;
    let strips: Vec<Lying> = found
        .strips
        .iter()
        .map(|(s, roll)| Lying {
            roll: roll.clone(),
            row: s.row,
            position: s.position,
            // Two half frames lie in the place of a full one; another roll's are taken as full ones.
            places: if s.roll == found.hit.roll.id {
                (u64::from(s.frames) * u64::from(advance))
                    .div_ceil(u64::from(PERFORATIONS_PER_CLICK))
                    .try_into()
                    .unwrap_or(u32::MAX)
            } else {
                s.frames
            },
            frames: (s.first.to_string(), s.last.to_string()),
        })
        .collect();
    let name = found
        .hit
        .note
        .as_ref()
        .map_or_else(|| at.strip.first.to_string(), |n| n.frame.to_string());
    let page = MarkedPage {
        rows: at.format.rows,
        per_row: at.format.frames_per_row,
        strips: &strips,
        mark: Some((at.strip.row, at.position)),
        name: &name,
    };
    marked_page(id, &page)
}
