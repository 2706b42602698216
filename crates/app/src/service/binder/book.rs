//! A binder as it stands: pages, the strips on them, what is free, and where a cut roll would go.

use super::super::error::at;
use super::super::{Outcome, Service, find_in};
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{Binder, BinderPage, PageFormat, Strip};
use spoolwright_core::shelf::{BinderId, BinderPageId, Roll, RollId, StripId};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};
use std::collections::HashMap;

/// Most pages of a binder.
pub const MOST_PAGES: u32 = 2000;

/// A strip in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lying {
    /// Number in the store; 0 for one that is only proposed.
    pub id: StripId,
    /// Its roll.
    pub roll: RollId,
    /// Its roll's label.
    pub label: String,
    /// Number of the page.
    pub page: u32,
    /// Row, from zero.
    pub row: u32,
    /// First place of the row that it takes, from zero.
    pub position: u32,
    /// Places it takes.
    pub places: u32,
    /// Its first frame.
    pub first: Frame,
    /// Its last frame.
    pub last: Frame,
    /// Frames on it.
    pub frames: u32,
}

impl Lying {
    /// Whether another strip lies in one of its places.
    pub fn meets(&self, other: &Self) -> bool {
        (self.page, self.row) == (other.page, other.row)
            && self.position < other.position.saturating_add(other.places)
            && other.position < self.position.saturating_add(self.places)
    }
}

/// A page and what lies on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageView {
    /// Its number.
    pub number: u32,
    /// Strips, row by row.
    pub strips: Vec<Lying>,
    /// Free places, all rows together.
    pub free: u32,
}

impl PageView {
    /// Labels of its rolls, each once, in the order of the rows.
    pub fn rolls(&self) -> Vec<&str> {
        let mut labels: Vec<&str> = Vec::new();
        for s in &self.strips {
            if !labels.contains(&s.label.as_str()) {
                labels.push(&s.label);
            }
        }
        labels
    }
}

/// A binder with all that lies in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Book {
    /// The binder.
    pub binder: Binder,
    /// Its pages' format.
    pub format: PageFormat,
    /// Its pages by number, empty ones too.
    pub pages: Vec<BinderPage>,
    /// Strips by page, row and position.
    pub strips: Vec<Lying>,
}

impl Book {
    fn of(
        binder: Binder,
        format: PageFormat,
        pages: Vec<BinderPage>,
        strips: Vec<Strip>,
        mut roll: impl FnMut(RollId) -> Outcome<Option<Roll>>,
    ) -> Outcome<Self> {
        let numbers: HashMap<BinderPageId, u32> = pages.iter().map(|p| (p.id, p.number)).collect();
        let mut rolls: HashMap<RollId, (String, u32)> = HashMap::new();
        let mut lying = Vec::with_capacity(strips.len());
        for s in strips {
            let (label, advance) = match rolls.get(&s.roll) {
                Some(known) => known.clone(),
                None => {
                    let known = roll(s.roll)?
                        .map_or_else(Default::default, |r| (r.label, r.advance_perforations));
                    rolls.insert(s.roll, known.clone());
                    known
                }
            };
            lying.push(Lying {
                id: s.id,
                roll: s.roll,
                label,
                page: numbers.get(&s.page).copied().unwrap_or_default(),
                row: s.row,
                position: s.position,
                places: s.places(advance),
                first: s.first,
                last: s.last,
                frames: s.frames,
            });
        }
        Ok(Self {
            binder,
            format,
            pages,
            strips: lying,
        })
    }

    /// The binder as a change finds it.
    pub(super) fn within(change: &Change<'_>, binder: Binder) -> Outcome<Self> {
        let format = find_in::<PageFormat>(change, binder.format)?;
        let pages = change.pages_of_binder(binder.id)?;
        let strips = change.strips_of_binder(binder.id)?;
        Self::of(binder, format, pages, strips, |id| {
            Ok(change.get::<Roll>(id)?)
        })
    }

    /// Every page that has something on it, and those that are empty in between.
    pub fn views(&self) -> Vec<PageView> {
        let last = self.last_page();
        (1..=last).map(|n| self.view(n)).collect()
    }

    /// One page.
    pub fn view(&self, number: u32) -> PageView {
        let strips: Vec<Lying> = self
            .strips
            .iter()
            .filter(|s| s.page == number)
            .cloned()
            .collect();
        let taken: u32 = strips.iter().map(|s| s.places).sum();
        let all = self.format.rows * self.format.frames_per_row;
        PageView {
            number,
            strips,
            free: all.saturating_sub(taken),
        }
    }

    /// Number of the last page with something on it; 0 when the binder is empty.
    pub fn last_page(&self) -> u32 {
        self.strips.iter().map(|s| s.page).max().unwrap_or(0)
    }

    /// Rows in use on a page, counted from the top to the last one with a strip in it.
    pub fn used_rows(&self, page: u32) -> u32 {
        let on = self.strips.iter().filter(|s| s.page == page);
        on.map(|s| s.row + 1).max().unwrap_or(0)
    }

    fn is_free_row(&self, page: u32, row: u32) -> bool {
        !self.strips.iter().any(|s| (s.page, s.row) == (page, row))
    }

    /// Where a roll of so many strips begins: on the last page when it all goes there, or when that saves a page.
    pub fn start_for(&self, strips: u32) -> (u32, u32) {
        let (last, rows) = (self.last_page(), self.format.rows);
        let used = self.used_rows(last);
        let free = if last == 0 {
            0
        } else {
            rows.saturating_sub(used)
        };
        let new_pages = |strips: u32| strips.div_ceil(rows);
        if 0 < free
            && (strips <= free || new_pages(strips.saturating_sub(free)) < new_pages(strips))
        {
            (last, used)
        } else {
            (last + 1, 0)
        }
    }

    /// Rows for so many strips, from a row on, page after page; rows with something in them are passed over.
    pub fn rows_from(&self, start: (u32, u32), strips: usize) -> Vec<(u32, u32)> {
        let rows = self.format.rows;
        let (mut page, mut row) = start;
        let mut found = Vec::with_capacity(strips);
        while found.len() < strips {
            if row >= rows {
                (page, row) = (page + 1, 0);
            }
            if self.is_free_row(page, row) {
                found.push((page, row));
            }
            row += 1;
        }
        found
    }

    /// Refuses what lies beyond the page, or on another strip.
    ///
    /// # Errors
    /// A fault at `field`.
    pub fn must_hold(&self, strip: &Lying, field: &str) -> Outcome<()> {
        let f = &self.format;
        let ends = strip.position.saturating_add(strip.places);
        if MOST_PAGES < strip.page || f.rows <= strip.row || f.frames_per_row < ends {
            return Err(at(
                field,
                Error::new(
                    Kind::OutOfRange,
                    format!("a place for frames {} to {}", strip.first, strip.last),
                    format!(
                        "page {}, row {}, places {} to {ends}",
                        strip.page,
                        strip.row + 1,
                        strip.position + 1
                    ),
                    format!(
                        "pages up to {MOST_PAGES}, {} rows of {} places",
                        f.rows, f.frames_per_row
                    ),
                    "Choose a place on the page that is long enough.",
                ),
            ));
        }
        let Some(other) = self
            .strips
            .iter()
            .find(|o| o.id != strip.id && o.meets(strip))
        else {
            return Ok(());
        };
        Err(at(
            field,
            Error::new(
                Kind::Conflict,
                format!("a place for frames {} to {}", strip.first, strip.last),
                format!(
                    "{} lies on page {}, row {}, places {} to {}",
                    other.label,
                    other.page,
                    other.row + 1,
                    other.position + 1,
                    other.position + other.places
                ),
                "places with nothing in them",
                "Choose a free row, or move that strip first.",
            ),
        ))
    }
}

/// Takes a roll's strips out of every binder; their pages stay.
pub(super) fn lift(change: &mut Change<'_>, roll: RollId) -> Outcome<()> {
    let mut pages: Vec<BinderPageId> = change
        .strips_of_roll(roll)?
        .iter()
        .map(|s| s.page)
        .collect();
    pages.sort_unstable_by_key(|p| p.0);
    pages.dedup();
    for page in pages {
        let mut rest = change.strips_of_page(page)?;
        rest.retain(|s| s.roll != roll);
        change.put_strips(page, &rest)?;
    }
    Ok(())
}

/// Lays strips on pages of a binder, beside what is there; pages that are not there yet are put in.
pub(super) fn lay(change: &mut Change<'_>, binder: &Binder, strips: &[Lying]) -> Outcome<()> {
    let mut numbers: Vec<u32> = strips.iter().map(|s| s.page).collect();
    numbers.sort_unstable();
    numbers.dedup();
    for number in numbers {
        let page = match change.page_numbered(binder.id, number)? {
            Some(page) => page.id,
            None => change.put(&BinderPage {
                id: BinderPageId(0),
                binder: binder.id,
                number,
            })?,
        };
        let mut on = change.strips_of_page(page)?;
        on.extend(
            strips
                .iter()
                .filter(|s| s.page == number)
                .map(|s| s.record(page)),
        );
        change.put_strips(page, &on)?;
    }
    change.about(Subject::of::<Binder>(binder.id));
    Ok(())
}

impl Lying {
    fn record(&self, page: BinderPageId) -> Strip {
        Strip {
            id: StripId(0),
            page,
            row: self.row,
            position: self.position,
            roll: self.roll,
            first: self.first,
            last: self.last,
            frames: self.frames,
        }
    }
}

/// "page 2, rows 1 to 6" for strips in the order of a roll.
pub(super) fn rows_in_words(strips: &[Lying]) -> String {
    let mut told: Vec<(u32, Vec<u32>)> = Vec::new();
    for s in strips {
        match told.last_mut() {
            Some((page, rows)) if *page == s.page => rows.push(s.row),
            _ => told.push((s.page, vec![s.row])),
        }
    }
    let page = |(page, rows): &(u32, Vec<u32>)| match (rows.first(), rows.last()) {
        (Some(a), Some(b)) if a != b => format!("page {page}, rows {} to {}", a + 1, b + 1),
        (Some(a), _) => format!("page {page}, row {}", a + 1),
        _ => format!("page {page}"),
    };
    told.iter().map(page).collect::<Vec<_>>().join("; ")
}

impl Service {
    /// A binder with all that lies in it.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn book(&self, id: BinderId) -> Outcome<Book> {
        let binder = self.binder(id)?;
        let format = self.page_format(binder.format)?;
        let store = self.store();
        let pages = store.pages_of_binder(id)?;
        let strips = store.strips_of_binder(id)?;
        Book::of(binder, format, pages, strips, |roll| {
            Ok(store.get::<Roll>(roll)?)
        })
    }

    /// Where a roll's strips lie, in the order of its frames, each with the binder.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn strips_of(&self, roll: &Roll) -> Outcome<Vec<(Binder, Lying)>> {
        let store = self.store();
        let mut found = Vec::new();
        for s in store.strips_of_roll(roll.id)? {
            let Some(page) = store.get::<BinderPage>(s.page)? else {
                continue;
            };
            let Some(binder) = store.get::<Binder>(page.binder)? else {
                continue;
            };
            let lying = Lying {
                id: s.id,
                roll: roll.id,
                label: roll.label.clone(),
                page: page.number,
                row: s.row,
                position: s.position,
                places: s.places(roll.advance_perforations),
                first: s.first,
                last: s.last,
                frames: s.frames,
            };
            found.push((binder, lying));
        }
        Ok(found)
    }
}

/// The id of what is not there yet.
pub(super) const NOT_YET: StripId = StripId(0);
