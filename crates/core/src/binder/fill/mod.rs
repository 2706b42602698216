//! Which rolls share a page: strips of cut rolls into the rows of a binder's pages.
//!
//! A row holds one strip; where rows may be shared, the short strips of two rolls may lie in one, and a roll shares one
//! row at most. A roll that fits on a page lies on one page; a longer one lies on as few pages as it can, which leaves a
//! rest beside whole pages. The aims: fewest pages; then fewest shared rows. A kept order is weighed whole; any order is
//! searched, and [`Filled::proven`] says whether to the end.
//!
//! It numbers pages and rows from 1 and pockets from 0, and knows no binder.

mod any;
mod given;
mod lay;
mod search;
mod validate;
mod why;

use super::cut::{self, Ends, Image, PageFormat, Strip};
use crate::caveat::Caveat;
use crate::error::Error;
use crate::words::worded;

pub(super) use validate::name;

worded! {
    /// In which order rolls may lie.
    Order {
        /// As they were given.
        #[default]
        Given = "given",
        /// By their dates, those of one day as they were given.
        Date = "date",
        /// Any: what takes the fewest pages.
        Any = "any",
    }
}

/// A developed roll.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Roll {
    /// Its name, each once.
    pub id: String,
    /// Its pictures.
    pub images: Vec<Image>,
    /// Its stock, where pages are kept by stock.
    pub stock: Option<String>,
    /// Its day as `YYYY-MM-DD`, where rolls lie by date.
    pub date: Option<String>,
}

/// A page that is filled in part, to be gone on with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Started {
    /// Rows in use, from the top.
    pub used_rows: u32,
    /// What it holds, where pages are kept by stock.
    pub stock: Option<String>,
}

/// What is to be filed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filing {
    /// The rolls, at least one.
    pub rolls: Vec<Roll>,
    /// The pages.
    pub page: PageFormat,
    /// Their order.
    pub order: Order,
    /// Whether the short strips of two rolls may share a row.
    pub share_rows: bool,
    /// Whether a page holds one stock only.
    pub by_stock: bool,
    /// A page to go on with first.
    pub started: Option<Started>,
}

/// How much work may be spent, counted in contents of a page looked at: the same rolls give the same pages anywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Most contents to look at.
    pub contents: u64,
}

impl Effort {
    /// Enough for a proof at any year of ordinary size.
    pub const USUAL: Self = Self {
        contents: 4_000_000,
    };
}

/// A strip in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// The roll, by place in the filing.
    pub roll: usize,
    /// The strip.
    pub strip: Strip,
    /// Its first pocket in the row, from 0.
    pub position: u32,
}

/// A row with something in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its number from the top, from 1.
    pub row: u32,
    /// One strip, or two.
    pub strips: Vec<Placed>,
}

/// Free pockets of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Free {
    /// The row, from 1.
    pub row: u32,
    /// Its first free pocket, from 0.
    pub position: u32,
    /// How many follow.
    pub pockets: u32,
}

/// A page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// Whether it is the page that was filled in part before.
    pub started: bool,
    /// The stock it is kept for.
    pub stock: Option<String>,
    /// Its rows, those that are filled now.
    pub rows: Vec<Row>,
    /// What stays free.
    pub free: Vec<Free>,
    /// Its rolls, by place in the filing, in the order of the rows.
    pub rolls: Vec<usize>,
}

/// What no filing can do better than.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Least {
    /// New pages.
    pub pages: u32,
    /// Rows shared by two rolls, of a filing with no more pages.
    pub shared_rows: u32,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// Pages in their order; the one that was started first.
    pub pages: Vec<Page>,
    /// New pages among them.
    pub new_pages: u32,
    /// Rows that two rolls share.
    pub shared_rows: u32,
    /// Rows that each roll takes, a shared one counted for both.
    pub rows: Vec<u32>,
    /// Rolls with nothing to file.
    pub empty: Vec<usize>,
    /// Whether no filing needs fewer new pages, or as few with fewer shared rows.
    pub proven: bool,
    /// The answer's own figures when proven, else what is proven of every filing, compared in this order.
    pub least: Least,
    /// What was aimed for and reached, in sentences.
    pub because: Vec<String>,
    /// What limits the answer.
    pub caveats: Vec<Caveat>,
}

/// A roll as the filling sees it.
#[derive(Debug, Clone)]
struct Cut {
    /// Place in the filing.
    roll: usize,
    even: Vec<Strip>,
    short_first: Vec<Strip>,
    short_last: Vec<Strip>,
    /// Rows it takes.
    rows: u32,
    /// Pockets of its short strip, whichever end it is at.
    short: u32,
}

/// Pages of rolls that may lie together, before they are laid out.
struct Part {
    pages: Vec<Vec<lay::Line>>,
    least: Least,
    shared: u32,
    /// Whether the first of its pages is the started one.
    on_started: bool,
}

/// Fills pages.
///
/// # Units
/// Rows, and pockets of a full frame.
/// # Errors
/// As [`cut::cut`] for a roll, by its path; [`crate::Kind::Missing`] without rolls, an id, a date or a stock that is
/// needed; [`crate::Kind::Inconsistent`] for an id given twice or more rows in use than there are;
/// [`crate::Kind::TooLarge`] beyond the limits.
pub fn fill(filing: &Filing, effort: Effort) -> Result<Filled, Error> {
    validate::validate(filing)?;
    let (cuts, empty) = cuts(filing)?;
    let mut filled = Filled {
        pages: Vec::new(),
        new_pages: 0,
        shared_rows: 0,
        rows: vec![0; filing.rolls.len()],
        empty,
        proven: true,
        least: Least {
            pages: 0,
            shared_rows: 0,
        },
        because: Vec::new(),
        caveats: Vec::new(),
    };
    for cut in &cuts {
        filled.rows[cut.roll] = cut.rows;
    }
    let mut effort = effort.contents;
    for (stock, group) in groups(filing, cuts) {
        let started = filing
            .started
            .as_ref()
            .filter(|s| !filing.by_stock || s.stock == stock)
            .map_or(0, |s| filing.page.rows - s.used_rows);
        let job = Job {
            cuts: &group,
            page: filing.page,
            share: filing.share_rows,
            started_rows: started,
        };
        let part = match filing.order {
            Order::Given | Order::Date => given::fill(&job),
            Order::Any => any::fill(&job, &mut effort),
        };
        let pages = u32::try_from(part.pages.len()).unwrap_or(u32::MAX);
        let new = pages - u32::from(part.on_started);
        filled.proven &= part.least
            == Least {
                pages: new,
                shared_rows: part.shared,
            };
        filled.new_pages += new;
        filled.shared_rows += part.shared;
        filled.least.pages += part.least.pages;
        filled.least.shared_rows += part.least.shared_rows;
        for (i, lines) in part.pages.into_iter().enumerate() {
            let started = i == 0 && part.on_started;
            let page = lay::page(filing, &group, lines, started, stock.clone());
            let at = if started { 0 } else { filled.pages.len() };
            filled.pages.insert(at, page);
        }
    }
    why::tell(filing, &mut filled);
    Ok(filled)
}

/// What one filling has to do.
struct Job<'a> {
    cuts: &'a [Cut],
    page: PageFormat,
    share: bool,
    /// Free rows of the page that was started; none when there is none.
    started_rows: u32,
}

impl Job<'_> {
    /// Whether two rolls may lie in one row with their short strips.
    fn may_share(&self, a: u32, b: u32) -> bool {
        self.share && a + b <= self.page.frames_per_row
    }
}

/// The cut rolls in the order they are to be filed, and the rolls with nothing to file.
fn cuts(filing: &Filing) -> Result<(Vec<Cut>, Vec<usize>), Error> {
    let (mut cuts, mut empty) = (Vec::new(), Vec::new());
    for (i, roll) in filing.rolls.iter().enumerate() {
        let at = format!("rolls[{i}]");
        let strips = |ends| cut::strips(&roll.images, filing.page, ends, &at);
        let even = strips(Ends::Even)?;
        if even.is_empty() {
            empty.push(i);
            continue;
        }
        let (short_first, short_last) = if filing.share_rows {
            (strips(Ends::ShortFirst)?, strips(Ends::ShortLast)?)
        } else {
            (Vec::new(), Vec::new())
        };
        let end = |strip: Option<&Strip>| strip.map_or(0, Strip::pockets);
        cuts.push(Cut {
            roll: i,
            rows: u32::try_from(even.len()).unwrap_or(u32::MAX),
            short: end(short_first.first()).max(end(short_last.last())),
            even,
            short_first,
            short_last,
        });
    }
    if filing.order == Order::Date {
        cuts.sort_by_key(|cut| filing.rolls[cut.roll].date.clone());
    }
    Ok((cuts, empty))
}

/// Rolls that may share a page, by stock as the stocks came where that is wanted.
fn groups(filing: &Filing, cuts: Vec<Cut>) -> Vec<(Option<String>, Vec<Cut>)> {
    if !filing.by_stock {
        return if cuts.is_empty() {
            Vec::new()
        } else {
            vec![(None, cuts)]
        };
    }
    let mut groups: Vec<(Option<String>, Vec<Cut>)> = Vec::new();
    for cut in cuts {
        let stock = filing.rolls[cut.roll].stock.clone();
        match groups.iter_mut().find(|(s, _)| *s == stock) {
            Some((_, group)) => group.push(cut),
            None => groups.push((stock, vec![cut])),
        }
    }
    groups
}
