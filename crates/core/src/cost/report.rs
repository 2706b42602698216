//! The sums: what usable frames came to, by can, by stock, by year and in all, against ready-wound film.
//!
//! A roll nobody has looked at waits: its cost is told and no frame bears it yet. What a test cost is borne by the frames
//! of its group.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::Amount;
use super::books::{Books, Roll};
use super::share::{Borne, Lacking, Missing, Over, Spreads};
use crate::caveat::Caveat;
use crate::error::Error;

/// Frames of the ready-wound roll that a stock's price is for.
pub const READY_WOUND_FRAMES: f64 = 36.0;

/// What a group of rolls came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Group {
    /// Rolls that have been looked at.
    pub rolls: u32,
    /// Rolls that wait.
    pub waiting_rolls: u32,
    /// Rolls shot as tests.
    pub test_rolls: u32,
    /// Frames that can be used.
    pub usable: u32,
    /// Frames lost.
    pub lost: u32,
    /// Film of the rolls looked at.
    pub film: Amount,
    /// Their cassettes.
    pub cassettes: Amount,
    /// Their baths.
    pub chemistry: Amount,
    /// Their pages.
    pub pages: Amount,
    /// Everything that tests bear.
    pub tests: Amount,
    /// Anything else, which no can or stock bears.
    pub other: Amount,
    /// What waiting rolls have cost so far.
    pub waiting: Amount,
    /// Prices that nobody gave; while there is one, sums are least ones.
    pub missing: BTreeSet<Missing>,
    /// Against ready-wound film, where every stock has its price.
    pub ready: Option<Compared>,
}

/// Film wound oneself against film bought ready-wound, for the same usable frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    /// What they would have cost ready-wound.
    pub ready_wound: f64,
    /// What they did cost: film, cassettes and tests; chemistry and pages are the same either way.
    pub own: Amount,
    /// The one less the other.
    pub saved: Amount,
}

impl Group {
    /// Everything that usable frames bear.
    pub fn total(&self) -> Amount {
        self.film + self.cassettes + self.chemistry + self.pages + self.tests + self.other
    }

    /// What one usable frame came to; none where there is none.
    pub fn per_frame(&self) -> Option<Amount> {
        (0 < self.usable).then(|| self.total() * (1.0 / f64::from(self.usable)))
    }

    /// What frames lost cost: their part of everything.
    pub fn lost_cost(&self) -> Amount {
        let all = f64::from(self.usable + self.lost);
        if all == 0.0 {
            return Amount::default();
        }
        self.total() * (f64::from(self.lost) / all)
    }

    fn take(&mut self, roll: &Roll, borne: &Borne) {
        if let (None, false) = (roll.seen, roll.test) {
            self.waiting_rolls += 1;
            self.waiting = self.waiting + borne.total();
            self.missing.extend(borne.missing.iter().cloned());
            return;
        }
        self.missing.extend(borne.missing.iter().cloned());
        if let Some(seen) = roll.seen {
            self.usable += seen.usable;
            self.lost += seen.lost;
        }
        if roll.test {
            self.test_rolls += 1;
            self.tests = self.tests + borne.total();
            return;
        }
        self.rolls += 1;
        self.film = self.film + borne.film;
        self.cassettes = self.cassettes + borne.cassette;
        self.chemistry = self.chemistry + borne.chemistry;
        self.pages = self.pages + borne.pages;
    }
}

/// What everything came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Every roll with what it bears, in the order given.
    pub rolls: Vec<(String, Borne)>,
    /// By can, in order of their names.
    pub by_can: BTreeMap<String, Group>,
    /// By stock.
    pub by_stock: BTreeMap<String, Group>,
    /// By year; none for rolls of which nobody knows.
    pub by_year: BTreeMap<Option<i32>, Group>,
    /// Everything.
    pub all: Group,
    /// Over what each bath's price was spread.
    pub baths: BTreeMap<String, Over>,
    /// Over what each can's.
    pub cans: BTreeMap<String, Over>,
    /// Over what the cassettes'.
    pub cassettes: Option<Over>,
    /// What limits the sums.
    pub caveats: Vec<Caveat>,
}

/// What a usable frame came to.
///
/// # Units
/// Money in the user's currency.
/// # Domain
/// As [`Books::check`].
/// # Errors
/// As [`Books::check`].
/// # Source
/// Own derivation: film by length drawn, cassettes by filling, baths by film area, pages by rows.
pub fn report(books: &Books) -> Result<Report, Error> {
    books.check()?;
    let spreads = Spreads::of(books);
    let stock_of: HashMap<&str, &str> = books
        .cans
        .iter()
        .map(|c| (c.id.as_str(), c.stock.as_str()))
        .collect();
    let mut told = Report {
        rolls: Vec::new(),
        by_can: BTreeMap::new(),
        by_stock: BTreeMap::new(),
        by_year: BTreeMap::new(),
        all: Group::default(),
        baths: over(spreads.baths.iter().map(|(id, s)| (*id, s.map(|s| s.over)))),
        cans: over(spreads.cans.iter().map(|(id, s)| (*id, s.map(|s| s.over)))),
        cassettes: spreads.filling.map(|s| s.over),
        caveats: Vec::new(),
    };
    // Usable frames by stock, for each group: what they would have cost ready-wound.
    let mut frames: HashMap<Key, BTreeMap<&str, u32>> = HashMap::new();
    for roll in &books.rolls {
        let stock = stock_of.get(roll.can.as_str()).copied().unwrap_or_default();
        let borne = spreads.borne(roll);
        for key in [
            Key::All,
            Key::Can(&roll.can),
            Key::Stock(stock),
            Key::Year(roll.year),
        ] {
            told.group(key).take(roll, &borne);
            let usable = roll.seen.map_or(0, |s| s.usable);
            if 0 < usable {
                *frames.entry(key).or_default().entry(stock).or_default() += usable;
            }
        }
        told.rolls.push((roll.id.clone(), borne));
    }
    for other in &books.other {
        for key in [Key::All, Key::Year(other.year)] {
            let group = told.group(key);
            group.other = group.other + Amount::exact(other.price);
        }
    }
    let prices: HashMap<&str, Option<f64>> = books
        .stocks
        .iter()
        .map(|s| (s.id.as_str(), s.ready_wound))
        .collect();
    for (key, frames) in &frames {
        told.group(*key).compare(frames, &prices);
    }
    told.caveats = caveats(&told);
    Ok(told)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Key<'b> {
    All,
    Can(&'b str),
    Stock(&'b str),
    Year(Option<i32>),
}

impl Report {
    fn group(&mut self, key: Key) -> &mut Group {
        match key {
            Key::All => &mut self.all,
            Key::Can(id) => self.by_can.entry(id.to_owned()).or_default(),
            Key::Stock(id) => self.by_stock.entry(id.to_owned()).or_default(),
            Key::Year(year) => self.by_year.entry(year).or_default(),
        }
    }
}

impl Group {
    fn compare(&mut self, frames: &BTreeMap<&str, u32>, prices: &HashMap<&str, Option<f64>>) {
        let mut ready_wound = 0.0;
        let mut complete = true;
        for (stock, usable) in frames {
            match prices.get(stock).copied().flatten() {
                Some(price) => ready_wound += f64::from(*usable) * price / READY_WOUND_FRAMES,
                None => {
                    complete = false;
                    self.missing.insert(Missing::of(Lacking::ReadyWound, stock));
                }
            }
        }
        if complete {
            let own = self.film + self.cassettes + self.tests;
            self.ready = Some(Compared {
                ready_wound,
                own,
                saved: ready_wound - own,
            });
        }
    }
}

fn over<'b>(all: impl Iterator<Item = (&'b str, Option<Over>)>) -> BTreeMap<String, Over> {
    all.filter_map(|(id, over)| Some((id.to_owned(), over?)))
        .collect()
}

fn caveats(told: &Report) -> Vec<Caveat> {
    let mut all = Vec::new();
    let sums = told
        .all
        .missing
        .iter()
        .filter(|m| m.what != Lacking::ReadyWound.word())
        .count();
    if 0 < sums {
        all.push(Caveat::new(
            "prices_missing",
            format!("{sums} prices are missing: sums that lack one are least ones. Each is named."),
        ));
    }
    if told.all.total().is_guess() || told.all.waiting.is_guess() {
        all.push(Caveat::new(
            "guessed_capacity",
            format!(
                "Where what a bath or a cassette takes is a guess, it may be {GUESS} times more or less; where nothing is known, the share \
                 falls with use. The interval holds both.",
                GUESS = super::share::GUESS
            ),
        ));
    }
    if 0 < told.all.waiting_rolls {
        all.push(Caveat::new(
            "rolls_wait",
            format!(
                "{} rolls have not been looked at: no frame bears them yet.",
                told.all.waiting_rolls
            ),
        ));
    }
    if told.all.ready.is_some() {
        all.push(Caveat::new(
            "ready_wound_36",
            "Ready-wound film is counted at 36 usable frames a roll, with none lost; your own work costs nothing here.",
        ));
    }
    all
}
