//! Contents of pages in any order: fewest pages first, then fewest shared rows, searched page by page.
//!
//! Rolls that take as many rows and have a short strip of the same length are of one class; a state is how many of each
//! class are left. On each page goes the largest roll left, with whatever fills the page so far that no other roll left
//! would fit as well: a filing without that could be turned into one with it. States that led nowhere are remembered.

use std::collections::HashSet;

/// Rolls that the search does not tell apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Class {
    /// Rows, of a long roll those that its whole pages leave.
    pub(super) rows: u32,
    /// Pockets of the short strip.
    pub(super) short: u32,
}

/// How many of each class.
pub(super) type Counts = Vec<u16>;

/// What a search came to.
pub(super) enum Outcome {
    /// The contents of each page, the started one first if there is one.
    Found(Vec<Counts>),
    /// There are none.
    None,
    /// Nobody knows: the effort is spent.
    Spent,
}

/// Most contents of one page that are held at once.
const MOST: usize = 4000;

/// As many shared rows as there may be.
pub(super) const ANY: u32 = u32::MAX;

pub(super) struct Search<'a> {
    /// Rows of a page.
    pub(super) rows: u32,
    /// Pockets of a row.
    pub(super) width: u32,
    /// By rows falling.
    pub(super) classes: Vec<Class>,
    /// Classes by their short strip rising.
    by_short: Vec<usize>,
    effort: &'a mut u64,
    failed: HashSet<(Counts, u32, u32)>,
    /// Whether some contents were not looked at.
    cut_off: bool,
}

/// A page to be filled: its free rows, whether the largest roll must be on it, and what may be left afterwards.
struct Room {
    rows: u32,
    largest: bool,
    /// Pages after this one; `None`: any number.
    after: Option<u32>,
    budget: u32,
}

impl<'a> Search<'a> {
    pub(super) fn new(rows: u32, width: u32, classes: Vec<Class>, effort: &'a mut u64) -> Self {
        let mut by_short: Vec<usize> = (0..classes.len()).collect();
        by_short.sort_by_key(|&c| classes[c].short);
        Self {
            rows,
            width,
            classes,
            by_short,
            effort,
            failed: HashSet::new(),
            cut_off: false,
        }
    }

    pub(super) fn total(&self, counts: &[u16]) -> u32 {
        counts
            .iter()
            .zip(&self.classes)
            .map(|(&n, c)| u32::from(n) * c.rows)
            .sum()
    }

    /// Most rows that these rolls could share, two and two: the shortest strip with the longest that still fits beside it.
    pub(super) fn sharable(&self, counts: &[u16]) -> u32 {
        let strips = |&&c: &&usize| counts[c] > 0 && self.classes[c].short < self.width;
        let mut strips: Vec<(u32, u32)> = self
            .by_short
            .iter()
            .filter(strips)
            .map(|&c| (self.classes[c].short, u32::from(counts[c])))
            .collect();
        let mut pairs = 0;
        let (mut low, mut high) = (0, strips.len());
        while low < high {
            let top = high - 1;
            if strips[low].0 + strips[top].0 > self.width {
                high = top;
            } else if low == top {
                pairs += strips[low].1 / 2;
                break;
            } else {
                let both = strips[low].1.min(strips[top].1);
                pairs += both;
                strips[low].1 -= both;
                strips[top].1 -= both;
                if strips[low].1 == 0 {
                    low += 1;
                }
                if strips[top].1 == 0 {
                    high = top;
                }
            }
        }
        pairs
    }

    /// Shared rows without which these contents do not fit `rows`.
    fn needed(&self, counts: &[u16], rows: u32) -> u32 {
        self.total(counts).saturating_sub(rows)
    }

    /// Pages filled one after the other, each as full as can be: always some filing, seldom far from the best.
    pub(super) fn dive(&mut self, counts: &Counts, started: u32) -> Vec<Counts> {
        let (mut left, mut pages) = (counts.clone(), Vec::new());
        if started > 0 {
            let room = Room {
                rows: started,
                largest: false,
                after: None,
                budget: ANY,
            };
            pages.push(self.fullest(&mut left, &room));
        }
        while left.iter().any(|&n| n > 0) {
            let room = Room {
                rows: self.rows,
                largest: true,
                after: None,
                budget: ANY,
            };
            let page = self.fullest(&mut left, &room);
            pages.push(page);
        }
        pages
    }

    fn fullest(&mut self, left: &mut Counts, room: &Room) -> Counts {
        let page = self.contents(left, room).into_iter().next();
        let page = page.unwrap_or_else(|| self.as_they_come(left, room));
        take(left, &page);
        page
    }

    /// Rolls as they come, largest first, when the effort allows no more.
    fn as_they_come(&self, left: &[u16], room: &Room) -> Counts {
        let mut page = vec![0; left.len()];
        for class in 0..left.len() {
            while page[class] < left[class] {
                page[class] += 1;
                if !self.holds(room, &page) {
                    page[class] -= 1;
                    break;
                }
            }
        }
        page
    }

    /// A filing on `pages` pages, besides the started one, with at most `budget` shared rows.
    pub(super) fn find(
        &mut self,
        counts: &Counts,
        started: u32,
        pages: u32,
        budget: u32,
    ) -> Outcome {
        self.failed.clear();
        self.cut_off = false;
        let mut found = Vec::new();
        let there = if started > 0 {
            let room = Room {
                rows: started,
                largest: false,
                after: Some(pages),
                budget,
            };
            self.page(counts, &room, pages + 1, &mut found)
        } else {
            self.rest(counts, pages, budget, &mut found)
        };
        if there {
            found.reverse();
            Outcome::Found(found)
        } else if self.cut_off {
            Outcome::Spent
        } else {
            Outcome::None
        }
    }

    fn rest(&mut self, left: &Counts, pages: u32, budget: u32, found: &mut Vec<Counts>) -> bool {
        if left.iter().all(|&n| n == 0) {
            return true;
        }
        if !self.may_fit(left, pages, budget) {
            return false;
        }
        let key = (left.clone(), pages, budget);
        if self.failed.contains(&key) {
            return false;
        }
        let room = Room {
            rows: self.rows,
            largest: true,
            after: Some(pages - 1),
            budget,
        };
        let there = self.page(left, &room, pages, found);
        if !there && !self.cut_off {
            self.failed.insert(key);
        }
        there
    }

    fn page(&mut self, left: &Counts, room: &Room, pages: u32, found: &mut Vec<Counts>) -> bool {
        for page in self.contents(left, room) {
            let budget = if room.budget == ANY {
                ANY
            } else {
                room.budget - self.needed(&page, room.rows)
            };
            let mut behind = left.clone();
            take(&mut behind, &page);
            if self.rest(&behind, pages - 1, budget, found) {
                found.push(page);
                return true;
            }
            if *self.effort == 0 {
                self.cut_off = true;
                return false;
            }
        }
        false
    }

    /// Whether the rows could be enough, if rolls could be split.
    fn may_fit(&self, left: &[u16], pages: u32, budget: u32) -> bool {
        let rows = u64::from(pages) * u64::from(self.rows);
        let total = u64::from(self.total(left));
        total <= rows
            || (total <= rows + u64::from(budget) && total <= rows + u64::from(self.sharable(left)))
    }

    /// Contents that a page may have, fullest first.
    fn contents(&mut self, left: &Counts, room: &Room) -> Vec<Counts> {
        let mut all = Vec::new();
        let mut page = vec![0; left.len()];
        let mut from = 0;
        if room.largest {
            let Some(largest) = left.iter().position(|&n| n > 0) else {
                return all;
            };
            from = largest;
            page[largest] = 1;
        }
        self.add(left, room, from, &mut page, &mut all);
        all.sort_by_key(|page| std::cmp::Reverse(self.total(page)));
        all
    }

    /// Adds rolls of class `class` and behind it to the page.
    fn add(
        &mut self,
        left: &[u16],
        room: &Room,
        class: usize,
        page: &mut Counts,
        all: &mut Vec<Counts>,
    ) {
        if *self.effort == 0 || MOST <= all.len() {
            self.cut_off = true;
            return;
        }
        *self.effort -= 1;
        let Some(class) = (class..left.len()).find(|&c| page[c] < left[c]) else {
            if self.is_full(left, room, page) && self.leaves_enough(left, room, page) {
                all.push(page.clone());
            }
            return;
        };
        let before = page[class];
        while page[class] < left[class] {
            page[class] += 1;
            if !self.holds(room, page) {
                page[class] -= 1;
                break;
            }
        }
        loop {
            self.add(left, room, class + 1, page, all);
            if page[class] == before {
                break;
            }
            page[class] -= 1;
        }
    }

    fn holds(&self, room: &Room, page: &[u16]) -> bool {
        let needed = self.needed(page, room.rows);
        needed == 0 || (needed <= room.budget && needed <= self.sharable(page))
    }

    /// Whether no roll left would fit as well.
    fn is_full(&self, left: &[u16], room: &Room, page: &mut Counts) -> bool {
        for c in 0..left.len() {
            if left[c] <= page[c] {
                continue;
            }
            page[c] += 1;
            let fits = if room.budget == ANY {
                self.holds(room, page)
            } else {
                self.needed(page, room.rows) == 0
            };
            page[c] -= 1;
            if fits {
                return false;
            }
        }
        true
    }

    /// Whether what this page leaves could fit the pages after it.
    fn leaves_enough(&self, left: &[u16], room: &Room, page: &[u16]) -> bool {
        let Some(after) = room.after else { return true };
        let mut behind = left.to_vec();
        take(&mut behind, page);
        let budget = if room.budget == ANY {
            ANY
        } else {
            room.budget - self.needed(page, room.rows)
        };
        self.may_fit(&behind, after, budget)
    }
}

fn take(left: &mut [u16], page: &[u16]) {
    for (n, taken) in left.iter_mut().zip(page) {
        *n -= taken;
    }
}
