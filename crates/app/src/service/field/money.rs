//! What a usable frame came to: the store's records as books, and the books' sums.
//!
//! How a price is spread is [`spoolwright_core::cost`]'s. Here it is said which record pays for what.

use super::super::shelf::Shelf;
use super::super::wet::baths::BathView;
use super::super::{Outcome, Service};
use spoolwright_core::bounds::CAN_LENGTH_M;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::cost::books::{
    self, Bath, Books, Capacity, Cassettes, Other, Page, Roll, Seen, Stock,
};
use spoolwright_core::cost::report::{Group, Report, report};
use spoolwright_core::field::record::{Bought, CameraLoad, FrameNote, PageFormat, Purchase, Strip};
use spoolwright_core::shelf::{
    BathId, Can, CanId, CanState, Evidence, EvidenceRecord, PageFormatId, Roll as WoundRoll,
    RollId, RollState, RunId,
};
use spoolwright_core::wedge::record::WedgeTest;
use spoolwright_core::wet::bath::{BathUse, FILM_WIDTH_MM, ROLL_OF_36_M2, What, film_area_m2};
use spoolwright_core::wet::record::{BathEvent, Run, RunRoll, RunState};
use spoolwright_core::wet::verdict::{Basis, Reason};
use spoolwright_core::{Error, Kind};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

/// What chemistry is booked under that was bought for no bath by name.
pub const SHARED_CHEMISTRY: &str = "chemistry for all";

/// What costs are told by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Each can.
    Can,
    /// Each stock.
    Stock,
    /// Each year.
    Year,
}

impl By {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Can, Self::Stock, Self::Year];

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Can => "can",
            Self::Stock => "stock",
            Self::Year => "year",
        }
    }

    /// The kind that a word means.
    ///
    /// # Errors
    /// It is none of them.
    pub fn from_word(word: &str) -> Result<Self, Error> {
        let found = Self::ALL.into_iter().find(|b| b.word() == word.trim());
        found.ok_or_else(|| {
            Error::new(
                Kind::Unknown,
                "what costs are told by",
                format!("{word:?}"),
                "can, stock, year",
                "Say one of these, or leave it out for all three.",
            )
        })
    }
}

/// What everything came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Costs {
    /// The sums.
    pub report: Report,
    /// What limits them, those of the records first.
    pub caveats: Vec<Caveat>,
}

impl Costs {
    /// Groups of one kind with their names, in order.
    pub fn groups(&self, by: By) -> Vec<(String, &Group)> {
        let named =
            |all: &'_ BTreeMap<String, Group>| -> Vec<String> { all.keys().cloned().collect() };
        match by {
            By::Can => named(&self.report.by_can)
                .into_iter()
                .zip(self.report.by_can.values())
                .collect(),
            By::Stock => named(&self.report.by_stock)
                .into_iter()
                .zip(self.report.by_stock.values())
                .collect(),
            By::Year => self
                .report
                .by_year
                .iter()
                .map(|(year, group)| (year_in_words(*year), group))
                .collect(),
        }
    }
}

/// A year, or that nobody knows it.
pub fn year_in_words(year: Option<i32>) -> String {
    year.map_or_else(|| "no year".to_owned(), |y| y.to_string())
}

/// A price that nobody gave, in words.
pub fn missing_in_words(missing: &spoolwright_core::cost::share::Missing) -> String {
    let of = &missing.id;
    match missing.what {
        "film" => format!("what can {of} cost"),
        "cassettes" => "what the cassettes cost".to_owned(),
        "chemistry" => format!("what the chemistry of {of} cost"),
        "pages" => format!("what a page {of} costs"),
        _ => format!("what a ready-wound roll of {of} costs"),
    }
}

impl Service {
    /// What a usable frame came to, by can, stock and year, against ready-wound film.
    ///
    /// # Errors
    /// Trouble with the store; more rolls than one set of books takes.
    pub fn costs(&self) -> Outcome<Costs> {
        let shelf = self.shelf()?;
        let baths = self.baths()?;
        let known = self.known()?;
        let (books, caveats) = known.books(&shelf, &baths);
        let report = report(&books)?;
        let mut all = caveats;
        all.extend(report.caveats.iter().cloned());
        Ok(Costs {
            report,
            caveats: all,
        })
    }

    fn known(&self) -> Outcome<Known> {
        // One hold for all of it: no change of this program comes between.
        let store = self.store();
        let mut measured = HashMap::new();
        for record in store.all::<EvidenceRecord>()? {
            if let (Some(roll), Evidence::Measured { length_mm, .. }) =
                (record.roll, record.evidence)
            {
                measured.insert(roll, length_mm.mean);
            }
        }
        Ok(Known {
            measured,
            rolls: store.all()?,
            purchases: store.all()?,
            formats: store.all()?,
            runs: store.all()?,
            run_rolls: store.all()?,
            events: store.all()?,
            loads: store.all()?,
            notes: store.all()?,
            strips: store.all()?,
            pages: store.all::<spoolwright_core::field::record::BinderPage>()?,
            binders: store.all::<spoolwright_core::field::record::Binder>()?,
            tests: store.all()?,
        })
    }
}

/// All records that say what was paid, or what used it.
struct Known {
    measured: HashMap<RollId, f64>,
    rolls: Vec<WoundRoll>,
    purchases: Vec<Purchase>,
    formats: Vec<PageFormat>,
    runs: Vec<Run>,
    run_rolls: Vec<RunRoll>,
    events: Vec<BathEvent>,
    loads: Vec<CameraLoad>,
    notes: Vec<FrameNote>,
    strips: Vec<Strip>,
    pages: Vec<spoolwright_core::field::record::BinderPage>,
    binders: Vec<spoolwright_core::field::record::Binder>,
    tests: Vec<WedgeTest>,
}

impl Known {
    fn books(&self, shelf: &Shelf, baths: &[BathView]) -> (Books, Vec<Caveat>) {
        let mut caveats = Vec::new();
        let real: HashMap<RunId, &Run> = self
            .runs
            .iter()
            .filter(|r| r.rehearsal.is_none())
            .map(|r| (r.id, r))
            .collect();
        let names = bath_names(baths);
        let (mut bottles, shared) = self.baths(baths, &names);
        let priced: HashSet<String> = bottles
            .iter()
            .filter(|b| b.price.is_some())
            .map(|b| b.id.clone())
            .collect();
        let poured = self.poured(&real, &names);
        let mut on: HashMap<RollId, Vec<&RunRoll>> = HashMap::new();
        for r in self.run_rolls.iter().filter(|r| real.contains_key(&r.run)) {
            on.entry(r.roll).or_default().push(r);
        }
        let mut first_load: HashMap<RollId, &CameraLoad> = HashMap::new();
        for load in &self.loads {
            first_load.entry(load.roll).or_insert(load);
        }
        let mut judged: HashMap<RollId, Seen> = HashMap::new();
        for note in self.notes.iter().filter(|n| n.beside.is_none()) {
            if let Some(usable) = note.usable {
                let seen = judged
                    .entry(note.roll)
                    .or_insert(Seen { usable: 0, lost: 0 });
                if usable {
                    seen.usable += 1;
                } else {
                    seen.lost += 1;
                }
            }
        }
        let rows = self.rows();
        let tickets: HashSet<_> = self.tests.iter().filter_map(|t| t.ticket).collect();
        let mut by_notes = false;
        let mut took_shared = 0.0;
        let mut rolls = Vec::new();
        for roll in &self.rolls {
            let Ok(can) = shelf.can(roll.can) else {
                continue;
            };
            let runs = on.get(&roll.id).map_or(&[][..], Vec::as_slice);
            let done = |r: &&&RunRoll| real.get(&r.run).is_some_and(|r| r.state == RunState::Done);
            let developed = runs.iter().rfind(done);
            let result = runs.iter().rev().find_map(|r| r.usable);
            let noted = judged.get(&roll.id).copied();
            let seen = match (roll.state, result) {
                (RollState::Scrapped, _) => Some(Seen {
                    usable: 0,
                    lost: roll.frames,
                }),
                (_, Some(usable)) => Some(Seen {
                    usable,
                    lost: roll.frames.saturating_sub(usable),
                }),
                (RollState::Developed | RollState::Filed, None) => {
                    by_notes |= noted.is_some();
                    noted
                }
                _ => None,
            };
            let click_mm = can.stock.pitch.click().to_mm();
            let counted = roll.clicks * click_mm;
            let drawn = self.measured.get(&roll.id).copied().or_else(|| {
                let clicks = roll.clicks.round() as u32;
                let drawn = shelf.drawn_mm(&can.stock, roll.loader, clicks).ok()?;
                Some(drawn.mean)
            });
            let mut used: Vec<(String, f64)> = poured.get(&roll.id).cloned().unwrap_or_default();
            if shared {
                // What was bought for all pays for a bottle without a price of its own.
                used.retain(|(bath, _)| priced.contains(bath));
                if developed.is_some()
                    && let Ok(area) = film_area_m2(counted, FILM_WIDTH_MM)
                {
                    took_shared += area;
                    used.push((SHARED_CHEMISTRY.to_owned(), area));
                }
            }
            let day = first_load
                .get(&roll.id)
                .map(|l| l.loaded_on.as_str())
                .or_else(|| developed.map(|r| real[&r.run].made_on.as_str()))
                .unwrap_or(&roll.wound_at);
            rolls.push(Roll {
                id: roll.label.clone(),
                can: can.can.letters.clone(),
                drawn_mm: drawn
                    .unwrap_or(counted)
                    .clamp(books::DRAWN_MM.min, books::DRAWN_MM.max),
                year: year_of(day),
                seen,
                test: roll.ticket.is_some_and(|t| tickets.contains(&t)),
                undeveloped: developed.is_none() && roll.state == RollState::Scrapped,
                baths: used,
                rows: rows.get(&roll.id).cloned().unwrap_or_default(),
            });
        }
        if let Some(bath) = bottles.iter_mut().find(|b| b.id == SHARED_CHEMISTRY) {
            bath.took_m2 = took_shared;
        }
        if shared {
            caveats.push(Caveat::new(
                "chemistry_for_all",
                "Chemistry bought for no bath by name is borne by every film developed here, by its area.",
            ));
        }
        if by_notes {
            caveats.push(Caveat::new(
                "by_frame_notes",
                "Where no result was written down, the frames that notes call usable or lost are counted, and no others.",
            ));
        }
        let bought = |what| self.purchases.iter().filter(move |p| p.what == what);
        let books = Books {
            stocks: shelf
                .stocks
                .iter()
                .map(|s| Stock {
                    id: s.name.clone(),
                    ready_wound: s.ready_wound_price,
                })
                .collect(),
            cans: cans(shelf),
            cassettes: bought(Bought::Cassettes)
                .map(|p| Cassettes {
                    price: Some(p.price),
                    count: p.quantity.max(1.0),
                    uses_each: p.uses_each,
                })
                .collect(),
            fillings: {
                let uses: u32 = shelf.cassettes.iter().map(|c| c.uses).sum();
                (0 < uses).then(|| f64::from(uses))
            },
            baths: bottles,
            pages: self
                .formats
                .iter()
                .map(|f| Page {
                    id: f.name.clone(),
                    price_each: self.page_price(f),
                    rows: f64::from(f.rows),
                })
                .collect(),
            rolls,
            other: bought(Bought::Other)
                .map(|p| Other {
                    year: year_of(&p.day),
                    price: p.price,
                })
                .collect(),
        };
        (books, caveats)
    }

    /// Bottles with what was paid for each; and whether some chemistry was bought for all.
    fn baths(&self, views: &[BathView], names: &HashMap<BathId, String>) -> (Vec<Bath>, bool) {
        let chemistry = || {
            self.purchases
                .iter()
                .filter(|p| p.what == Bought::Chemistry)
        };
        let takes = |all: &[&Purchase]| -> Option<f64> {
            let films = all.iter().map(|p| Some(p.quantity * p.uses_each?));
            let films: f64 = films.sum::<Option<f64>>()?;
            (0.0 < films).then_some(films * ROLL_OF_36_M2)
        };
        let mut all = Vec::new();
        for view in views {
            let card = &view.card;
            let paid: Vec<&Purchase> = chemistry().filter(|p| p.bath == Some(card.id)).collect();
            let limit = view.life.limits.iter().find(|l| l.limit == Reason::Area);
            let took: f64 = view
                .events
                .iter()
                .filter_map(|e| match e.what {
                    What::Run { area_m2 } => Some(area_m2),
                    _ => None,
                })
                .sum();
            let once = card.usage == BathUse::OneShot && 0.0 < took;
            let sheet = limit.filter(|l| l.basis == Basis::Given).map(|l| l.allowed);
            let guess = takes(&paid).or_else(|| limit.map(|l| l.allowed));
            let capacity_m2 = sheet.or(guess);
            all.push(Bath {
                id: names[&card.id].clone(),
                price: (!paid.is_empty()).then(|| paid.iter().map(|p| p.price).sum()),
                took_m2: took,
                capacity_m2: capacity_m2
                    .map(|c| c.clamp(books::CAPACITY_M2.min, books::CAPACITY_M2.max)),
                capacity: if sheet.is_some() {
                    Capacity::Sheet
                } else {
                    Capacity::Guess
                },
                poured_out: card.closed || once,
            });
        }
        let paid: Vec<&Purchase> = chemistry().filter(|p| p.bath.is_none()).collect();
        let shared = !paid.is_empty();
        if shared {
            all.push(Bath {
                id: SHARED_CHEMISTRY.to_owned(),
                price: Some(paid.iter().map(|p| p.price).sum()),
                took_m2: 0.0,
                capacity_m2: takes(&paid),
                capacity: Capacity::Guess,
                poured_out: false,
            });
        }
        (all, shared)
    }

    /// What each roll took of every bottle: a run's area by the film of its rolls.
    fn poured(
        &self,
        real: &HashMap<RunId, &Run>,
        names: &HashMap<BathId, String>,
    ) -> HashMap<RollId, Vec<(String, f64)>> {
        let clicks: HashMap<RollId, f64> = self.rolls.iter().map(|r| (r.id, r.clicks)).collect();
        let mut loads: HashMap<RunId, Vec<(RollId, f64)>> = HashMap::new();
        for on in self.run_rolls.iter().filter(|r| real.contains_key(&r.run)) {
            let film = clicks.get(&on.roll).copied().unwrap_or(0.0);
            loads.entry(on.run).or_default().push((on.roll, film));
        }
        let mut all: HashMap<RollId, BTreeMap<String, f64>> = HashMap::new();
        for event in &self.events {
            let (Some(run), What::Run { area_m2 }) = (event.run, event.what) else {
                continue;
            };
            let (Some(load), Some(bath)) = (loads.get(&run), names.get(&event.bath)) else {
                continue;
            };
            let film: f64 = load.iter().map(|l| l.1).sum();
            for (roll, part) in load.iter().filter(|_| 0.0 < film) {
                *all.entry(*roll)
                    .or_default()
                    .entry(bath.clone())
                    .or_default() += area_m2 * part / film;
            }
        }
        all.into_iter()
            .map(|(roll, baths)| (roll, baths.into_iter().collect()))
            .collect()
    }

    /// Rows of pages that each roll lies in, by format.
    fn rows(&self) -> HashMap<RollId, Vec<(String, f64)>> {
        let binders: HashMap<_, _> = self.binders.iter().map(|b| (b.id, b.format)).collect();
        let names: HashMap<PageFormatId, &str> =
            self.formats.iter().map(|f| (f.id, &*f.name)).collect();
        let formats: HashMap<_, &str> = self
            .pages
            .iter()
            .filter_map(|p| Some((p.id, *names.get(binders.get(&p.binder)?)?)))
            .collect();
        let mut rows: HashMap<RollId, BTreeSet<(&str, _, u32)>> = HashMap::new();
        for strip in &self.strips {
            if let Some(format) = formats.get(&strip.page) {
                rows.entry(strip.roll)
                    .or_default()
                    .insert((*format, strip.page, strip.row));
            }
        }
        rows.into_iter()
            .map(|(roll, rows)| {
                let mut counted: BTreeMap<&str, f64> = BTreeMap::new();
                for (format, ..) in rows {
                    *counted.entry(format).or_default() += 1.0;
                }
                let counted = counted.into_iter().map(|(f, n)| (f.to_owned(), n));
                (roll, counted.collect())
            })
            .collect()
    }

    /// What a page cost as it was bought, else as its format says.
    fn page_price(&self, format: &PageFormat) -> Option<f64> {
        let bought = self
            .purchases
            .iter()
            .filter(|p| p.format == Some(format.id));
        let (paid, many) = bought.fold((0.0, 0.0), |(paid, many), p| {
            (paid + p.price, many + p.quantity)
        });
        if 0.0 < many {
            Some(paid / many)
        } else {
            format.price_each
        }
    }
}

/// Cans as their rolls are to bear them. What a can that was broken gave to others goes with those.
fn cans(shelf: &Shelf) -> Vec<books::Can> {
    let mut given: HashMap<CanId, (f64, f64)> = HashMap::new();
    for part in shelf.cans.iter().map(|c| &c.can) {
        if let Some(mother) = part.parent {
            let (metres, money) = given.entry(mother).or_default();
            *metres += part.length_m.mean;
            *money += share_of_mother(part, shelf);
        }
    }
    shelf
        .cans
        .iter()
        .map(|view| {
            let can = &view.can;
            let (metres, money) = given.get(&can.id).copied().unwrap_or_default();
            let left = (view.length_m.mean - metres).clamp(CAN_LENGTH_M.min, CAN_LENGTH_M.max);
            books::Can {
                id: can.letters.clone(),
                stock: view.stock.name.clone(),
                price: can.price.map(|p| (p - money).max(0.0)),
                length_mm: left * 1e3,
                emptied: can.state != CanState::Open,
            }
        })
        .collect()
}

/// What a part cost as its part of the mother can.
fn share_of_mother(part: &Can, shelf: &Shelf) -> f64 {
    let mother = part.parent.and_then(|id| shelf.can(id).ok());
    let share = mother.and_then(|m| Some(m.can.price? * part.length_m.mean / m.can.length_m.mean));
    part.price.or(share).unwrap_or(0.0)
}

/// Bottles' names; those that several have, with their numbers.
fn bath_names(baths: &[BathView]) -> HashMap<BathId, String> {
    let mut seen: HashMap<&str, u32> = HashMap::new();
    for b in baths {
        *seen.entry(&b.card.name).or_default() += 1;
    }
    baths
        .iter()
        .map(|b| {
            let alone = seen[b.card.name.as_str()] == 1 && b.card.name != SHARED_CHEMISTRY;
            let name = if alone {
                b.card.name.clone()
            } else {
                format!("{} (no. {})", b.card.name, b.card.id)
            };
            (b.card.id, name)
        })
        .collect()
}

fn year_of(day: &str) -> Option<i32> {
    let year: i32 = day.get(..4)?.parse().ok()?;
    let year_in = f64::from(year);
    (books::YEAR.min..=books::YEAR.max)
        .contains(&year_in)
        .then_some(year)
}
