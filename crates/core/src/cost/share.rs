//! What each roll bears of every can, cassette, bath and page.
//!
//! Film by length drawn, cassettes by filling, baths by film area, pages by rows. How a price was spread is told with it.

use std::collections::{BTreeSet, HashMap};

use super::Amount;
use super::books::{Bath, Books, Can, Capacity, Roll};
use crate::words::worded;

/// A guessed capacity may be so many times too large or too small: own choice, no source.
pub const GUESS: f64 = 1.5;

worded! {
    /// What a price can be missing for.
    Lacking {
        /// A can's film.
        #[default]
        Film = "film",
        /// Cassettes.
        Cassettes = "cassettes",
        /// A bath, or a developed roll of which no bath is known.
        Chemistry = "chemistry",
        /// A kind of page.
        Pages = "pages",
        /// A stock's ready-wound roll.
        ReadyWound = "ready-wound",
    }
}

/// A price that nobody gave.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// Word of [`Lacking`].
    pub what: &'static str,
    /// Of which can, bath, page or stock; of which roll, where its bath is not known; empty for cassettes.
    pub id: String,
}

impl Missing {
    /// A price that nobody gave.
    pub fn of(what: Lacking, id: &str) -> Self {
        Self {
            what: what.word(),
            id: id.to_owned(),
        }
    }
}

worded! {
    /// What a price was spread over.
    Over {
        /// What it really took until it was used up or poured out.
        #[default]
        Took = "took",
        /// What it can take by its sheet, or all that was in the can.
        Capacity = "capacity",
        /// What it is guessed to take.
        Guess = "guess",
        /// What it has taken so far, which is all that is known: the share will fall.
        SoFar = "so-far",
    }
}

/// A price spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Money for one unit: a mm of film, a filling, a m².
    pub each: Amount,
    /// Over what.
    pub over: Over,
}

/// What one roll bears.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Borne {
    /// Film, leader, tail and waste too.
    pub film: Amount,
    /// One filling of a cassette.
    pub cassette: Amount,
    /// Its part of every bath.
    pub chemistry: Amount,
    /// Its rows of pages.
    pub pages: Amount,
    /// Prices that are missing from it.
    pub missing: BTreeSet<Missing>,
}

impl Borne {
    /// All of it.
    pub fn total(&self) -> Amount {
        self.film + self.cassette + self.chemistry + self.pages
    }
}

/// All prices spread; what has no price has none.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreads<'b> {
    /// By can, for a mm.
    pub cans: HashMap<&'b str, Option<Spread>>,
    /// For a filling of any cassette.
    pub filling: Option<Spread>,
    /// By bath, for a m².
    pub baths: HashMap<&'b str, Option<Spread>>,
    /// By kind of page, for a row.
    pub rows: HashMap<&'b str, Option<f64>>,
}

impl<'b> Spreads<'b> {
    /// Every price of the books, spread over what bears it. The books are taken as checked.
    ///
    /// # Source
    /// Own derivation.
    pub fn of(books: &'b Books) -> Self {
        let mut drawn: HashMap<&str, f64> = HashMap::new();
        for roll in &books.rolls {
            *drawn.entry(&roll.can).or_default() += roll.drawn_mm;
        }
        let film = |c: &'b Can| {
            let drawn = drawn.get(c.id.as_str()).copied().unwrap_or(0.0);
            (c.id.as_str(), c.price.map(|p| film(c, p, drawn)))
        };
        let bath = |b: &'b Bath| (b.id.as_str(), b.price.and_then(|p| chemistry(b, p)));
        Self {
            cans: books.cans.iter().map(film).collect(),
            filling: filling(books),
            baths: books.baths.iter().map(bath).collect(),
            rows: books
                .pages
                .iter()
                .map(|p| (p.id.as_str(), p.price_each.map(|e| e / p.rows)))
                .collect(),
        }
    }

    /// What a roll bears.
    ///
    /// # Source
    /// Own derivation.
    pub fn borne(&self, roll: &Roll) -> Borne {
        let mut borne = Borne::default();
        let mut lacks = |what, id: &str| {
            borne.missing.insert(Missing::of(what, id));
        };
        match self.cans.get(roll.can.as_str()).copied().flatten() {
            Some(spread) => borne.film = spread.each * roll.drawn_mm,
            None => lacks(Lacking::Film, &roll.can),
        }
        match self.filling {
            Some(spread) => borne.cassette = spread.each,
            None => lacks(Lacking::Cassettes, ""),
        }
        for (bath, area) in &roll.baths {
            match self.baths.get(bath.as_str()).copied().flatten() {
                Some(spread) => borne.chemistry = borne.chemistry + spread.each * *area,
                None => lacks(Lacking::Chemistry, bath),
            }
        }
        if roll.baths.is_empty() && !roll.undeveloped && (roll.seen.is_some() || roll.test) {
            lacks(Lacking::Chemistry, &roll.id);
        }
        for (page, rows) in &roll.rows {
            match self.rows.get(page.as_str()).copied().flatten() {
                Some(each) => borne.pages = borne.pages + Amount::exact(each * rows),
                None => lacks(Lacking::Pages, page),
            }
        }
        borne
    }
}

/// A can's price for a mm: over what was drawn once it is empty, else over all that was in it, or more if more was drawn.
fn film(can: &Can, price: f64, drawn_mm: f64) -> Spread {
    let (over_mm, over) = if can.emptied && 0.0 < drawn_mm {
        (drawn_mm, Over::Took)
    } else {
        (can.length_mm.max(drawn_mm), Over::Capacity)
    };
    Spread {
        each: Amount::exact(price / over_mm),
        over,
    }
}

/// All cassettes' price for one filling; none where a price is missing or no cassette was bought.
fn filling(books: &Books) -> Option<Spread> {
    let paid: f64 = books
        .cassettes
        .iter()
        .map(|c| c.price)
        .sum::<Option<f64>>()?;
    if books.cassettes.is_empty() {
        return None;
    }
    let so_far = books.fillings.unwrap_or(0.0).max(books.rolls.len() as f64);
    let uses = books
        .cassettes
        .iter()
        .map(|c| Some(c.count * c.uses_each?))
        .sum::<Option<f64>>();
    spread(paid, so_far, uses, Capacity::Guess)
}

/// A bath's price for a m²; none for one that took nothing and of which nothing is known.
fn chemistry(bath: &Bath, price: f64) -> Option<Spread> {
    if bath.poured_out {
        return (0.0 < bath.took_m2).then(|| Spread {
            each: Amount::exact(price / bath.took_m2),
            over: Over::Took,
        });
    }
    spread(price, bath.took_m2, bath.capacity_m2, bath.capacity)
}

/// A price over what a thing takes, never over less than it has taken.
fn spread(price: f64, so_far: f64, takes: Option<f64>, known: Capacity) -> Option<Spread> {
    let over = |most: f64| price / most.max(so_far);
    match (takes, known) {
        (Some(takes), Capacity::Sheet) => Some(Spread {
            each: Amount::exact(over(takes)),
            over: Over::Capacity,
        }),
        (Some(takes), Capacity::Guess) => Some(Spread {
            each: Amount {
                low: over(takes * GUESS),
                mid: over(takes),
                high: over(takes / GUESS),
            },
            over: Over::Guess,
        }),
        // It will take more, nobody knows how much.
        (None, _) if 0.0 < so_far => Some(Spread {
            each: Amount {
                low: 0.0,
                mid: price / so_far,
                high: price / so_far,
            },
            over: Over::SoFar,
        }),
        (None, _) => None,
    }
}
