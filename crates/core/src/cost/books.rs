//! What is known of the money: cans, cassettes, baths, pages, and the rolls that used them.
//!
//! Things are named by texts, such as a can's letters; nothing is worked out here but whether the books agree.

use std::collections::{HashMap, HashSet};

use crate::bounds::{self, Bounds};
use crate::error::{Error, Kind};
use crate::words::worded;

/// Most rolls in one set of books.
pub const MOST_ROLLS: usize = 100_000;
/// Most of anything else.
pub const MOST_THINGS: usize = 20_000;
/// Film drawn for one roll.
pub const DRAWN_MM: Bounds = Bounds::new("film drawn", "mm", 1.0, 100_000.0);
/// Frames of a roll that can be used, or that were lost.
pub const FRAMES: Bounds = Bounds::new("frames", "frames", 0.0, 1600.0);
/// Cassettes bought at once, or fillings.
pub const COUNT: Bounds = Bounds::new("a count", "", 1.0, 1_000_000.0);
/// Film area.
pub const AREA_M2: Bounds = Bounds::new("a film area", "m²", 0.0, 1_000_000.0);
/// Film area that a bath takes.
pub const CAPACITY_M2: Bounds = Bounds::new("a bath's capacity", "m²", 0.0001, 1_000_000.0);
/// Rows of a page, or rows used.
pub const ROWS: Bounds = Bounds::new("rows", "rows", 1.0, 1000.0);
/// Year.
pub const YEAR: Bounds = Bounds::new("a year", "", 1839.0, 9999.0);

/// Everything that frames are to bear.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Books {
    /// Kinds of film.
    pub stocks: Vec<Stock>,
    /// Bulk film.
    pub cans: Vec<Can>,
    /// Reloadable cassettes, as they were bought.
    pub cassettes: Vec<Cassettes>,
    /// How often any cassette has been filled; none for once for each roll.
    pub fillings: Option<f64>,
    /// Bottles of solution.
    pub baths: Vec<Bath>,
    /// Kinds of sleeve page.
    pub pages: Vec<Page>,
    /// Rolls wound.
    pub rolls: Vec<Roll>,
    /// Anything else that was paid.
    pub other: Vec<Other>,
}

/// A kind of film.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Its name.
    pub id: String,
    /// What a ready-wound roll of 36 costs.
    pub ready_wound: Option<f64>,
}

/// Bulk film.
#[derive(Debug, Clone, PartialEq)]
pub struct Can {
    /// Its letters.
    pub id: String,
    /// Its stock.
    pub stock: String,
    /// What was paid.
    pub price: Option<f64>,
    /// Film that was in it, mm.
    pub length_mm: f64,
    /// Nothing is left in it: its rolls bear all of it, short ends and what was cut off too.
    pub emptied: bool,
}

/// Reloadable cassettes bought together.
#[derive(Debug, Clone, PartialEq)]
pub struct Cassettes {
    /// What was paid for all of them.
    pub price: Option<f64>,
    /// How many.
    pub count: f64,
    /// How often one is thought to be filled before it is thrown away.
    pub uses_each: Option<f64>,
}

worded! {
    /// How well a bath's capacity is known.
    Capacity {
        /// A default or a guess.
        #[default]
        Guess = "guess",
        /// By its sheet, or by experience.
        Sheet = "sheet",
    }
}

/// A bottle of solution.
#[derive(Debug, Clone, PartialEq)]
pub struct Bath {
    /// Its name.
    pub id: String,
    /// What was paid for what is in it.
    pub price: Option<f64>,
    /// Film area that went through it, m², also of rolls that are not in these books.
    pub took_m2: f64,
    /// Film area that it can take, m².
    pub capacity_m2: Option<f64>,
    /// How well that is known.
    pub capacity: Capacity,
    /// It was poured out: it takes no more.
    pub poured_out: bool,
}

/// A kind of sleeve page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its name.
    pub id: String,
    /// What one costs.
    pub price_each: Option<f64>,
    /// Its rows.
    pub rows: f64,
}

/// What has been looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen {
    /// Frames that can be used.
    pub usable: u32,
    /// Frames lost: fogged, blank, spoilt.
    pub lost: u32,
}

/// A roll that was wound.
#[derive(Debug, Clone, PartialEq)]
pub struct Roll {
    /// Its label.
    pub id: String,
    /// Its can.
    pub can: String,
    /// Film drawn from the can for it, leader, tail and what is cut off too, mm.
    pub drawn_mm: f64,
    /// Year that it counts for; none if nobody knows.
    pub year: Option<i32>,
    /// What came of it; none while it waits to be exposed, developed or looked at. A scrapped roll has nothing usable.
    pub seen: Option<Seen>,
    /// It was shot to learn something of its stock, not for its frames.
    pub test: bool,
    /// Baths it went through, with its area in m².
    pub baths: Vec<(String, f64)>,
    /// It was never developed, so that no bath is missing.
    pub undeveloped: bool,
    /// Rows of pages that it fills.
    pub rows: Vec<(String, f64)>,
}

/// Anything else that was paid.
#[derive(Debug, Clone, PartialEq)]
pub struct Other {
    /// Year.
    pub year: Option<i32>,
    /// Amount.
    pub price: f64,
}

impl Books {
    /// Whether every number is within its bounds, every name stands once, and every thing that is named is there.
    ///
    /// # Errors
    /// Out of range; [`Kind::Unknown`] for a name that nothing has, [`Kind::Inconsistent`] for one that stands twice or a
    /// bath that took less than its rolls; [`Kind::TooLarge`].
    pub fn check(&self) -> Result<(), Error> {
        self.sizes()?;
        let stocks = names("stocks", self.stocks.iter().map(|s| &s.id))?;
        let cans = names("cans", self.cans.iter().map(|c| &c.id))?;
        let baths = names("baths", self.baths.iter().map(|b| &b.id))?;
        let pages = names("pages", self.pages.iter().map(|p| &p.id))?;
        names("rolls", self.rolls.iter().map(|r| &r.id))?;
        let prices = self.stocks.iter().map(|s| s.ready_wound);
        let prices = prices.chain(self.cans.iter().map(|c| c.price));
        let prices = prices.chain(self.cassettes.iter().map(|c| c.price));
        let prices = prices.chain(self.baths.iter().map(|b| b.price));
        let prices = prices.chain(self.pages.iter().map(|p| p.price_each));
        let mut prices = prices.chain(self.other.iter().map(|o| Some(o.price)));
        prices.try_for_each(|p| p.map_or(Ok(()), |p| bounds::MONEY.check(p).map(drop)))?;
        for (i, can) in self.cans.iter().enumerate() {
            known(&stocks, &can.stock, || format!("cans[{i}].stock"))?;
            bounds::CAN_LENGTH_M.check(can.length_mm / 1000.0)?;
        }
        for bought in &self.cassettes {
            COUNT.check(bought.count)?;
            bought.uses_each.map_or(Ok(1.0), |u| COUNT.check(u))?;
        }
        self.fillings.map_or(Ok(1.0), |f| COUNT.check(f))?;
        for bath in &self.baths {
            AREA_M2.check(bath.took_m2)?;
            bath.capacity_m2.map_or(Ok(1.0), |c| CAPACITY_M2.check(c))?;
        }
        for page in &self.pages {
            ROWS.check(page.rows)?;
        }
        for (i, roll) in self.rolls.iter().enumerate() {
            known(&cans, &roll.can, || format!("rolls[{i}].can"))?;
            DRAWN_MM.check(roll.drawn_mm)?;
            for (bath, area) in &roll.baths {
                known(&baths, bath, || format!("rolls[{i}].baths"))?;
                AREA_M2.check(*area)?;
            }
            for (page, rows) in &roll.rows {
                known(&pages, page, || format!("rolls[{i}].pages"))?;
                ROWS.check(*rows)?;
            }
        }
        self.baths_took_their_rolls()
    }

    fn sizes(&self) -> Result<(), Error> {
        let others = [
            self.stocks.len(),
            self.cans.len(),
            self.cassettes.len(),
            self.baths.len(),
            self.pages.len(),
            self.other.len(),
        ];
        let most = others.into_iter().max().unwrap_or(0);
        if MOST_ROLLS < self.rolls.len() || MOST_THINGS < most {
            return Err(Error::new(
                Kind::TooLarge,
                "the books are too large",
                format!("{} rolls, {most} of something else", self.rolls.len()),
                format!("{MOST_ROLLS} rolls, {MOST_THINGS} of anything else"),
                "Give them a few years at a time.",
            ));
        }
        Ok(())
    }

    fn baths_took_their_rolls(&self) -> Result<(), Error> {
        let mut through: HashMap<&str, f64> = HashMap::new();
        for (id, area) in self.rolls.iter().flat_map(|r| &r.baths) {
            *through.entry(id).or_default() += area;
        }
        for (i, bath) in self.baths.iter().enumerate() {
            let through = through.get(bath.id.as_str()).copied().unwrap_or(0.0);
            if bath.took_m2 * (1.0 + 1e-9) + 1e-9 < through {
                return Err(Error::new(
                    Kind::Inconsistent,
                    format!("baths[{i}].took_m2: less than its rolls"),
                    format!("{} m², its rolls {through} m²", bath.took_m2),
                    "at least the area of its rolls",
                    "Count every load that went through it.",
                ));
            }
        }
        Ok(())
    }
}

/// The names of a list, each of which stands once.
fn names<'b>(list: &str, all: impl Iterator<Item = &'b String>) -> Result<HashSet<&'b str>, Error> {
    let mut seen = HashSet::new();
    for (i, name) in all.enumerate() {
        if !seen.insert(name.as_str()) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{list}[{i}].id: stands twice"),
                shown(name),
                "each name once",
                "Give it another name, or leave one out.",
            ));
        }
    }
    Ok(seen)
}

fn known(all: &HashSet<&str>, name: &str, field: impl Fn() -> String) -> Result<(), Error> {
    if all.contains(name) {
        return Ok(());
    }
    Err(Error::new(
        Kind::Unknown,
        format!("{}: nothing has this name", field()),
        shown(name),
        "a name that stands in its list",
        "Add it to its list.",
    ))
}

/// A name as an error shows it: not endless, and in one line.
fn shown(name: &str) -> String {
    format!("{:?}", name.chars().take(60).collect::<String>())
}
