//! One developed roll into a binder: proposed with the cuts, corrected where they fell otherwise, filed, taken out again.

use super::super::entry::Reader;
use super::super::error::at;
use super::super::shelf::RollView;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::book::{Book, Lying, MOST_PAGES, NOT_YET, PageView, lay, lift, rows_in_words};
use super::kit::binder_of;
use serde::{Deserialize, Serialize};
use spoolwright_core::binder::cut::{self, Cutting};
use spoolwright_core::binder::limits::ROWS;
use spoolwright_core::bounds::{Bounds, FRAMES};
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::Binder;
use spoolwright_core::film::Pitch;
use spoolwright_core::shelf::{Can, Roll, RollId, RollState, Stock};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

/// A page's number.
pub const PAGE: Bounds = Bounds::new("a page of the binder", "", 1.0, MOST_PAGES as f64);
/// Most strips of one roll typed by hand.
const MOST_STRIPS: usize = 200;

/// How a developed roll is filed, as typed. With everything empty it goes to the next free rows.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct FileDraft {
    /// The binder's name or number; may be left out when only one is being filled.
    #[arg(long, default_value = "")]
    pub binder: String,
    /// Page to begin on; the last one that has room, else a new one, when empty.
    #[arg(long, default_value = "")]
    pub page: String,
    /// Row to begin at, counted from 1; the first free one when empty.
    #[arg(long, default_value = "")]
    pub row: String,
    /// First frame on the film: 0, 00, 1; 1 when empty.
    #[arg(long, default_value = "")]
    pub first: String,
    /// Frames from that one on, blank ones too; as many as it was wound for when empty.
    #[arg(long, default_value = "")]
    pub frames: String,
    /// Frames with nothing on them, apart by commas: they may be left out.
    #[arg(long, default_value = "")]
    pub blank: String,
    /// Where it was really cut, strip by strip: 1-6, 7-12, 13-18; as proposed when empty.
    #[arg(long, default_value = "")]
    pub strips: String,
}

/// A roll on its way into a binder.
#[derive(Debug, Clone, PartialEq)]
pub struct FilingView {
    /// The roll.
    pub roll: RollView,
    /// The binder with all that lies in it, this roll left out.
    pub book: Book,
    /// Where to cut; none when the strips were typed.
    pub cutting: Option<Cutting>,
    /// The strips in their places.
    pub strips: Vec<Lying>,
    /// The pages they lie on, with everything else there.
    pub pages: Vec<PageView>,
    /// It lies in a binder already: this is a correction.
    pub again: bool,
}

impl FilingView {
    /// The strips as a person types them: `1-6, 7-12`.
    pub fn typed(&self) -> String {
        let one = |s: &Lying| {
            if s.first == s.last {
                s.first.to_string()
            } else {
                format!("{}-{}", s.first, s.last)
            }
        };
        self.strips.iter().map(one).collect::<Vec<_>>().join(", ")
    }
}

/// A strip that was cut: its first frame, its last, how many.
type Piece = (Frame, Frame, u32);

/// What a draft says of a roll, before a place is sought for it.
struct Asked {
    page: Option<u32>,
    row: Option<u32>,
    cutting: Option<Cutting>,
    pieces: Vec<Piece>,
}

impl FileDraft {
    fn read(&self, roll: &Roll, pitch: Pitch, book: &Book) -> Outcome<Asked> {
        let mut r = Reader::new();
        let said = |text: &str| !text.trim().is_empty();
        let page = said(&self.page).then(|| r.whole("page", &self.page, &PAGE));
        let row = said(&self.row).then(|| r.whole("row", &self.row, &ROWS));
        if let Some(row) = row.filter(|row| book.format.rows < *row) {
            r.fault(
                "row",
                Error::new(
                    Kind::OutOfRange,
                    "a row of the page",
                    row,
                    format!("1 to {}", book.format.rows),
                    "Count the rows from the top.",
                ),
            );
        }
        if said(&self.strips) {
            let pieces = pieces(&mut r, &self.strips);
            r.finish()?;
            return Ok(Asked {
                page,
                row,
                cutting: None,
                pieces,
            });
        }
        let first = match self.first.trim() {
            "" => Frame::FIRST,
            text => r.keep("first", Frame::parse(text), Frame::FIRST),
        };
        let frames = match self.frames.trim() {
            "" => roll.frames,
            text => r.whole("frames", text, &FRAMES),
        };
        let blank: Vec<Frame> = self
            .blank
            .split([',', ';', ' '])
            .filter(|t| said(t))
            .map(|t| r.keep("blank", Frame::parse(t), Frame::FIRST))
            .collect();
        if let Some(odd) = blank
            .iter()
            .find(|b| b.since(first).is_none_or(|i| frames <= i))
        {
            r.fault(
                "blank",
                Error::new(
                    Kind::Unknown,
                    "a blank frame",
                    odd,
                    format!(
                        "frames {first} to {}",
                        first.after(frames.saturating_sub(1))
                    ),
                    "Name a frame of this roll.",
                ),
            );
        }
        r.finish()?;
        let page_of = cut::PageFormat {
            rows: book.format.rows,
            frames_per_row: book.format.frames_per_row,
        };
        let images = cut::counted(first, frames, roll.advance_perforations, &blank)
            .map_err(|e| at("frames", e))?;
        let cutting = cut::cut(&images, page_of, pitch).map_err(|e| at("binder", e))?;
        let pieces = cutting
            .strips
            .iter()
            .map(|s| {
                let frames = u32::try_from(s.frames()).unwrap_or(u32::MAX);
                Ok((Frame::parse(&s.first)?, Frame::parse(&s.last)?, frames))
            })
            .collect::<Result<Vec<Piece>, Error>>()?;
        Ok(Asked {
            page,
            row,
            cutting: Some(cutting),
            pieces,
        })
    }
}

/// Strips as typed: `1-6, 7-12 13`.
fn pieces(r: &mut Reader, typed: &str) -> Vec<Piece> {
    let dashed = typed.replace(['–', '—', '−'], "-");
    let tight: Vec<&str> = dashed.split('-').map(str::trim).collect();
    let mut found: Vec<Piece> = Vec::new();
    let refused = |given: String, allowed: &str| {
        Error::new(
            Kind::Inconsistent,
            "the strips",
            given,
            allowed,
            "Write each strip's first and last frame in the order of the film: 1-6, 7-12, 13-18.",
        )
    };
    for text in tight
        .join("-")
        .split([',', ';', ' ', '\n', '\r', '\t'])
        .filter(|t| !t.is_empty())
    {
        let (first, last) = text.split_once('-').unwrap_or((text, text));
        let (Ok(first), Ok(last)) = (Frame::parse(first), Frame::parse(last)) else {
            let given = format!("{:?}", text.chars().take(30).collect::<String>());
            r.fault("strips", refused(given, "frames such as 1-6 or 12A"));
            return Vec::new();
        };
        let after = found.last().is_none_or(|(_, before, _)| *before < first);
        match last.since(first) {
            Some(more) if after => found.push((first, last, more + 1)),
            _ => {
                let given = format!("{first}-{last}");
                r.fault(
                    "strips",
                    refused(given, "strips that begin after the one before them ends"),
                );
                return Vec::new();
            }
        }
    }
    if found.is_empty() || MOST_STRIPS < found.len() {
        let given = format!("{} strips", found.len());
        r.fault("strips", refused(given, "1 to 200 strips"));
    }
    found
}

/// The strips in their places, all of them free.
fn placed(roll: &Roll, asked: &Asked, book: &Book) -> Outcome<Vec<Lying>> {
    let count = u32::try_from(asked.pieces.len()).unwrap_or(u32::MAX);
    let start = match (asked.page, asked.row) {
        (None, None) => book.start_for(count),
        (Some(page), Some(row)) => (page, row - 1),
        (Some(page), None) => (page, 0),
        (None, Some(row)) => (book.last_page().max(1), row - 1),
    };
    let rows = book.rows_from(start, asked.pieces.len());
    // A row that was named is meant: what lies in it is not passed over in silence.
    if asked.row.is_some() && rows.first() != Some(&start) {
        return Err(at(
            "row",
            Error::new(
                Kind::Conflict,
                "the row to begin at",
                format!(
                    "page {}, row {}: something lies in it",
                    start.0,
                    start.1 + 1
                ),
                "a row with nothing in it",
                "Choose a free row, or leave it empty.",
            ),
        ));
    }
    let mut strips = Vec::with_capacity(rows.len());
    for (&(first, last, frames), (page, row)) in asked.pieces.iter().zip(rows) {
        let mut strip = Lying {
            id: NOT_YET,
            roll: roll.id,
            label: roll.label.clone(),
            page,
            row,
            position: 0,
            places: 0,
            first,
            last,
            frames,
        };
        strip.places = strip_places(&strip, roll.advance_perforations);
        let field = if asked.cutting.is_some() {
            "page"
        } else {
            "strips"
        };
        book.must_hold(&strip, field)?;
        strips.push(strip);
    }
    Ok(strips)
}

fn strip_places(s: &Lying, advance: u32) -> u32 {
    spoolwright_core::field::record::Strip {
        id: NOT_YET,
        page: spoolwright_core::shelf::BinderPageId(0),
        row: s.row,
        position: s.position,
        roll: s.roll,
        first: s.first,
        last: s.last,
        frames: s.frames,
    }
    .places(advance)
}

fn without(mut book: Book, roll: RollId) -> Book {
    book.strips.retain(|s| s.roll != roll);
    book
}

pub(super) fn must_be_developed(roll: &Roll) -> Outcome<()> {
    if matches!(roll.state, RollState::Developed | RollState::Filed) {
        return Ok(());
    }
    Err(at(
        "roll",
        Error::new(
            Kind::Conflict,
            format!("roll {}", roll.label),
            roll.state.word(),
            "developed",
            "Say on its page that it is developed, then file it.",
        ),
    ))
}

impl Service {
    /// How a roll would be filed; nothing is changed.
    ///
    /// # Errors
    /// Faults of the draft; no binder; a roll that is not developed; no room where it is to go.
    pub fn filing(&self, label: &str, draft: &FileDraft) -> Outcome<FilingView> {
        let view = self.roll(label)?;
        must_be_developed(&view.roll)?;
        let binder = binder_of(&self.binders()?, &draft.binder)?;
        let again = !self.strips_of(&view.roll)?.is_empty();
        let book = without(self.book(binder.id)?, view.roll.id);
        let asked = draft.read(&view.roll, view.stock.pitch, &book)?;
        let strips = placed(&view.roll, &asked, &book)?;
        let mut after = book.clone();
        after.strips.extend(strips.iter().cloned());
        after.strips.sort_by_key(|s| (s.page, s.row, s.position));
        let mut numbers: Vec<u32> = strips.iter().map(|s| s.page).collect();
        numbers.dedup();
        Ok(FilingView {
            pages: numbers.into_iter().map(|n| after.view(n)).collect(),
            roll: view,
            book,
            cutting: asked.cutting,
            strips,
            again,
        })
    }

    /// Files a roll; one that lies in a binder already is taken out there first.
    ///
    /// # Errors
    /// As for [`Service::filing`].
    pub fn file_roll(
        &self,
        id: RollId,
        draft: &FileDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let roll = find_in::<Roll>(change, id)?;
            must_be_developed(&roll)?;
            let binder = binder_of(&change.all::<Binder>()?, &draft.binder)?;
            let again = !change.strips_of_roll(id)?.is_empty();
            let book = without(Book::within(change, binder.clone())?, id);
            let can = find_in::<Can>(change, roll.can)?;
            let pitch = find_in::<Stock>(change, can.stock)?.pitch;
            let asked = draft.read(&roll, pitch, &book)?;
            let strips = placed(&roll, &asked, &book)?;
            lift(change, id)?;
            lay(change, &binder, &strips)?;
            filed(change, &roll)?;
            let story = format!(
                "Filed {} {}in {}, {}.",
                roll.label,
                if again { "anew " } else { "" },
                binder.name,
                rows_in_words(&strips)
            );
            Ok(("roll.filed", story, ()))
        })
    }

    /// Takes a roll out of its binder: it is developed still.
    ///
    /// # Errors
    /// It lies in none.
    pub fn unfile_roll(&self, id: RollId, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let roll = find_in::<Roll>(change, id)?;
            if change.strips_of_roll(id)?.is_empty() {
                return Err(at(
                    "roll",
                    Error::new(
                        Kind::Conflict,
                        format!("roll {}", roll.label),
                        "in no binder",
                        "a roll that was filed in a binder",
                        "There is nothing to take out.",
                    ),
                ));
            }
            lift(change, id)?;
            let state = match roll.state {
                RollState::Filed => RollState::Developed,
                other => other,
            };
            change.put(&Roll {
                state,
                ..roll.clone()
            })?;
            change.about(Subject::of::<Roll>(id));
            let story = format!("Took {} out of its binder.", roll.label);
            Ok(("roll.unfiled", story, ()))
        })
    }
}

/// The roll is filed now.
pub(super) fn filed(change: &mut Change<'_>, roll: &Roll) -> Outcome<()> {
    change.put(&Roll {
        state: RollState::Filed,
        ..roll.clone()
    })?;
    change.about(Subject::of::<Roll>(roll.id));
    change.about(Subject::of::<Can>(roll.can));
    Ok(())
}
