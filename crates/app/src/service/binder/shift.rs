//! A strip moved by hand: to another row, another place in it, another page.

use super::super::entry::Reader;
use super::super::error::{at, unknown};
use super::super::{Made, Outcome, Request, Service, find_in};
use super::book::{Book, NOT_YET, lay};
use super::file::PAGE;
use serde::{Deserialize, Serialize};
use spoolwright_core::binder::limits::{FRAMES_PER_ROW, ROWS};
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{Binder, BinderPage, Strip};
use spoolwright_core::shelf::{Roll, StripId};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;

/// Where a strip goes, as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct MoveDraft {
    /// Page; the one it is on when empty.
    #[arg(long, default_value = "")]
    pub page: String,
    /// Row, counted from 1 at the top.
    #[arg(long, default_value = "")]
    pub row: String,
    /// First place of the row that it takes, counted from 1; 1 when empty.
    #[arg(long, default_value = "")]
    pub position: String,
}

impl Service {
    /// The strip of a roll that a frame is on.
    ///
    /// # Errors
    /// No such frame is filed.
    pub fn strip_with(&self, label: &str, frame: &str) -> Outcome<StripId> {
        let roll = self.roll(label)?.roll;
        let frame = Frame::parse(frame).map_err(|e| at("frame", e))?;
        let place = self.store().place_of_frame(roll.id, frame)?;
        place.map_or_else(
            || Err(unknown("filed frame", format!("{frame} of {}", roll.label))),
            |p| Ok(p.strip.id),
        )
    }

    /// Moves a strip within its binder.
    ///
    /// # Errors
    /// Faults of the draft; something lies there; it is longer than the room.
    pub fn move_strip(
        &self,
        id: StripId,
        draft: &MoveDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let strip = find_in::<Strip>(change, id)?;
            let page = find_in::<BinderPage>(change, strip.page)?;
            let binder = find_in::<Binder>(change, page.binder)?;
            let roll = find_in::<Roll>(change, strip.roll)?;
            let book = Book::within(change, binder.clone())?;
            let Some(old) = book.strips.iter().find(|s| s.id == id) else {
                return Err(unknown("strip", id));
            };
            let mut r = Reader::new();
            let number = match draft.page.trim() {
                "" => old.page,
                text => r.whole("page", text, &PAGE),
            };
            let row = r.whole("row", &draft.row, &ROWS);
            let position = match draft.position.trim() {
                "" => 1,
                text => r.whole("position", text, &FRAMES_PER_ROW),
            };
            r.finish()?;
            if book.last_page() + 1 < number {
                return Err(at(
                    "page",
                    Error::new(
                        Kind::OutOfRange,
                        "a page of the binder",
                        number,
                        format!("1 to {}", book.last_page() + 1),
                        "Take a page that is there, or the next new one.",
                    ),
                ));
            }
            let mut new = old.clone();
            (new.page, new.row, new.position) = (number, row - 1, position - 1);
            book.must_hold(&new, "row")?;
            let mut rest = change.strips_of_page(strip.page)?;
            rest.retain(|s| s.id != id);
            if number == old.page {
                // One change of the page, so that nothing is said to have moved when nothing has.
                rest.push(Strip {
                    id: NOT_YET,
                    row: new.row,
                    position: new.position,
                    ..strip.clone()
                });
                change.put_strips(strip.page, &rest)?;
                change.about(Subject::of::<Binder>(binder.id));
            } else {
                change.put_strips(strip.page, &rest)?;
                lay(change, &binder, std::slice::from_ref(&new))?;
            }
            change.about(Subject::of::<Roll>(roll.id));
            let story = format!(
                "Moved frames {} to {} of {} to page {number}, row {row}, place {position} of {}.",
                new.first, new.last, roll.label, binder.name
            );
            Ok(("strip.moved", story, ()))
        })
    }
}
