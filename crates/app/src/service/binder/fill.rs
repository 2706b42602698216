//! Several developed rolls at once: which share a page, proposed and taken as shown. By hand afterwards: [`super::shift`].

use super::super::entry::Reader;
use super::super::error::at;
use super::super::shelf::RollView;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::book::{Book, Lying, NOT_YET, PageView, lay};
use super::file::{filed, must_be_developed};
use super::kit::binder_of;
use serde::{Deserialize, Serialize};
use spoolwright_core::binder::cut;
use spoolwright_core::binder::fill::{self, Effort, Filing, Filled, Order, Started};
use spoolwright_core::binder::limits::MAX_ROLLS;
use spoolwright_core::field::frame::Frame;
use spoolwright_core::shelf::{Roll, RollState};
use spoolwright_core::{Error, Kind};
use std::hash::{DefaultHasher, Hash, Hasher};

/// Which rolls are filed together, and how, as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct FillDraft {
    /// The binder's name or number; may be left out when only one is being filled.
    #[arg(long, default_value = "")]
    pub binder: String,
    /// Rolls by their labels, apart by commas; all that are developed when empty.
    #[arg(long, default_value = "")]
    pub only: String,
    /// given (as wound), date (by the day they were taken) or any (fewest pages); given when empty.
    #[arg(long, default_value = "")]
    pub order: String,
    /// Whether the short strips of two rolls may share a row: yes or no; no when empty.
    #[arg(long, default_value = "")]
    pub share_rows: String,
    /// Whether a page holds one stock only: yes or no; no when empty.
    #[arg(long, default_value = "")]
    pub by_stock: String,
    /// The mark of the proposal that is accepted: another one is refused then.
    #[arg(long, default_value = "")]
    pub as_shown: String,
}

/// A proposal.
#[derive(Debug, Clone, PartialEq)]
pub struct FillView {
    /// The binder as it is now.
    pub book: Book,
    /// The rolls, in the order given.
    pub rolls: Vec<RollView>,
    /// What was aimed for and reached.
    pub filled: Filled,
    /// The strips in their places.
    pub strips: Vec<Lying>,
    /// The pages as they would be.
    pub pages: Vec<PageView>,
    /// The mark that tells this proposal from another.
    pub mark: String,
}

impl Service {
    /// How developed rolls would be filed together; nothing is changed.
    ///
    /// # Errors
    /// Faults of the draft; no binder; no roll that is developed; one that lies in a binder.
    pub fn filling(&self, draft: &FillDraft) -> Outcome<FillView> {
        let mut r = Reader::new();
        let order = r.word("order", &draft.order, Order::from_word);
        let share_rows = r.yes("share_rows", &draft.share_rows);
        let by_stock = r.yes("by_stock", &draft.by_stock);
        r.finish()?;
        let book = self.book(binder_of(&self.binders()?, &draft.binder)?.id)?;
        let rolls = self.to_be_filled(draft)?;
        let page = cut::PageFormat {
            rows: book.format.rows,
            frames_per_row: book.format.frames_per_row,
        };
        let of = |v: &RollView| {
            Ok(fill::Roll {
                id: v.roll.label.clone(),
                images: cut::counted(
                    Frame::FIRST,
                    v.roll.frames,
                    v.roll.advance_perforations,
                    &[],
                )?,
                stock: Some(v.stock.name.clone()),
                date: Some(self.taken_on(&v.roll)?),
            })
        };
        let filing = Filing {
            rolls: rolls.iter().map(of).collect::<Outcome<_>>()?,
            page,
            order,
            share_rows,
            by_stock,
            started: self.started(&book, by_stock)?,
        };
        let filled = fill::fill(&filing, Effort::USUAL).map_err(|e| at("only", e))?;
        let strips = laid(&book, &rolls, &filled)?;
        let mut after = book.clone();
        after.strips.extend(strips.iter().cloned());
        after.strips.sort_by_key(|s| (s.page, s.row, s.position));
        let mut numbers: Vec<u32> = strips.iter().map(|s| s.page).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let mut hasher = DefaultHasher::new();
        format!("{:?} {strips:?}", book.binder.id).hash(&mut hasher);
        Ok(FillView {
            pages: numbers.into_iter().map(|n| after.view(n)).collect(),
            book,
            rolls,
            filled,
            strips,
            mark: format!("{:016x}", hasher.finish()),
        })
    }

    /// Files the rolls as proposed.
    ///
    /// # Errors
    /// As for [`Service::filling`]; what is proposed now is not what was shown.
    pub fn fill_binder(&self, draft: &FillDraft, request: Request<'_>) -> Outcome<Made<()>> {
        // Worked out before the store is held, for it may take its time; looked at again within.
        let proposal = self.filling(draft);
        self.change(request, |change| {
            let v = proposal?;
            let shown = draft.as_shown.trim();
            if !shown.is_empty() && shown != v.mark {
                return Err(at(
                    "as_shown",
                    Error::new(
                        Kind::Conflict,
                        "the proposal",
                        "another one than was shown",
                        "the one that was looked at",
                        "Look at it again: something was filed meanwhile, or another choice was made.",
                    ),
                ));
            }
            let book = Book::within(change, v.book.binder.clone())?;
            for strip in &v.strips {
                book.must_hold(strip, "binder")?;
            }
            for view in &v.rolls {
                let roll = find_in::<Roll>(change, view.roll.id)?;
                must_be_developed(&roll)?;
                if !change.strips_of_roll(roll.id)?.is_empty() {
                    return Err(lies_already(&roll));
                }
                filed(change, &roll)?;
            }
            lay(change, &book.binder, &v.strips)?;
            let labels: Vec<&str> = v.rolls.iter().map(|r| r.roll.label.as_str()).collect();
            let pages: Vec<String> = v.pages.iter().map(|p| p.number.to_string()).collect();
            let story = format!(
                "Filed {} in {}, {} {}.",
                labels.join(", "),
                book.binder.name,
                if pages.len() == 1 { "page" } else { "pages" },
                pages.join(", ")
            );
            Ok(("binder.filled", story, ()))
        })
    }

    /// The rolls that are meant, oldest first unless they were named.
    fn to_be_filled(&self, draft: &FillDraft) -> Outcome<Vec<RollView>> {
        let mut rolls = Vec::new();
        if draft.only.trim().is_empty() {
            for view in self.rolls_in(RollState::Developed)? {
                if self.strips_of(&view.roll)?.is_empty() {
                    rolls.push(view);
                }
            }
        } else {
            for label in draft.only.split(',').filter(|l| !l.trim().is_empty()) {
                let view = self.roll(label)?;
                must_be_developed(&view.roll)?;
                if !self.strips_of(&view.roll)?.is_empty() {
                    return Err(lies_already(&view.roll));
                }
                rolls.push(view);
            }
        }
        if rolls.is_empty() || MAX_ROLLS < rolls.len() {
            return Err(at(
                "only",
                Error::new(
                    Kind::Missing,
                    "rolls to be filed",
                    format!("{} rolls", rolls.len()),
                    format!("1 to {MAX_ROLLS} developed rolls that lie in no binder"),
                    "Say on a roll's page that it is developed; name fewer when there are too many.",
                ),
            ));
        }
        Ok(rolls)
    }

    /// The day a roll went into a camera, else the day it was wound.
    fn taken_on(&self, roll: &Roll) -> Outcome<String> {
        let loads = self.store().loads_of_roll(roll.id)?;
        Ok(match loads.into_iter().next() {
            Some(load) => load.loaded_on,
            None => super::super::moment::day_of(&roll.wound_at),
        })
    }

    /// The last page, if it has free rows: to be gone on with.
    fn started(&self, book: &Book, by_stock: bool) -> Outcome<Option<Started>> {
        let last = book.last_page();
        let used_rows = book.used_rows(last);
        if last == 0 || book.format.rows <= used_rows {
            return Ok(None);
        }
        if !by_stock {
            return Ok(Some(Started {
                used_rows,
                stock: None,
            }));
        }
        let mut stocks = Vec::new();
        for strip in book.strips.iter().filter(|s| s.page == last) {
            stocks.push(self.roll(&strip.label)?.stock.name);
        }
        stocks.dedup();
        let mut stocks = stocks.into_iter();
        // A page of several stocks is not gone on with where each page holds one.
        Ok(match (stocks.next(), stocks.next()) {
            (Some(stock), None) => Some(Started {
                used_rows,
                stock: Some(stock),
            }),
            _ => None,
        })
    }
}

fn lies_already(roll: &Roll) -> super::super::Failure {
    at(
        "only",
        Error::new(
            Kind::Conflict,
            format!("roll {}", roll.label),
            "it lies in a binder",
            "rolls that lie in no binder",
            "Leave it out, or file it anew on its own page.",
        ),
    )
}

/// The answer's strips with the binder's page numbers, rows from zero.
fn laid(book: &Book, rolls: &[RollView], filled: &Filled) -> Outcome<Vec<Lying>> {
    let mut next = book.last_page();
    let mut strips = Vec::new();
    for page in &filled.pages {
        if !page.started {
            next += 1;
        }
        let number = if page.started { book.last_page() } else { next };
        for row in &page.rows {
            for placed in &row.strips {
                let roll = &rolls[placed.roll].roll;
                strips.push(Lying {
                    id: NOT_YET,
                    roll: roll.id,
                    label: roll.label.clone(),
                    page: number,
                    row: row.row - 1,
                    position: placed.position,
                    places: placed.strip.pockets(),
                    first: Frame::parse(&placed.strip.first)?,
                    last: Frame::parse(&placed.strip.last)?,
                    frames: u32::try_from(placed.strip.frames()).unwrap_or(u32::MAX),
                });
            }
        }
    }
    Ok(strips)
}
