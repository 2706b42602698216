//! All ways to cut, weighed from the end of the roll to its start; the best by the aims in their order.

use super::{Ends, Image};
use crate::film::PERFORATIONS_PER_CLICK;

/// Where pictures begin and end, in perforations from the first one's start.
pub(super) struct Film {
    start: Vec<i64>,
    end: Vec<i64>,
    may_cut: Vec<bool>,
    blank: Vec<bool>,
}

impl Film {
    pub(super) fn new(images: &[Image]) -> Self {
        let (mut start, mut end) = (Vec::new(), Vec::new());
        let mut at = 0;
        for (i, image) in images.iter().enumerate() {
            at += if i == 0 {
                0
            } else {
                i64::from(image.gap_before)
            };
            start.push(at);
            at += i64::from(super::perforations(image.shape));
            end.push(at);
        }
        Self {
            start,
            end,
            may_cut: (0..images.len())
                .map(|i| i == 0 || images[i].gap_before >= 0)
                .chain([true])
                .collect(),
            blank: images.iter().map(|image| image.blank).collect(),
        }
    }

    pub(super) fn count(&self) -> usize {
        self.start.len()
    }

    /// From the start of one picture to the end of the one before `to`.
    pub(super) fn length(&self, from: usize, to: usize) -> u32 {
        u32::try_from(self.end[to - 1] - self.start[from]).unwrap_or(0)
    }

    /// The middle of the clear film before a picture.
    pub(super) fn cut_before(&self, image: usize) -> f64 {
        (self.end[image - 1] + self.start[image]) as f64 / 2.0
    }

    pub(super) fn may_cut_before(&self, image: usize) -> bool {
        self.may_cut[image]
    }

    /// The pieces that would be left if every cut that may be made were made.
    pub(super) fn uncut(&self) -> impl Iterator<Item = (usize, usize)> {
        let places: Vec<usize> = (0..=self.count()).filter(|&i| self.may_cut[i]).collect();
        (1..places.len()).map(move |k| (places[k - 1], places[k]))
    }

    /// Whether the picture may be left out: blank, and free on both sides.
    fn may_leave_out(&self, image: usize) -> bool {
        self.blank[image] && self.may_cut[image] && self.may_cut[image + 1]
    }
}

/// Strips, strips no longer than a frame, blanks left out, length of the end that is wanted short, squares of lengths.
pub(super) type Weight = [u64; 5];

fn plus(a: Weight, b: Weight) -> Weight {
    std::array::from_fn(|i| a[i] + b[i])
}

const LEFT_OUT: Weight = [0, 0, 1, 0, 0];

fn of_strip(length: u32, short_end: bool) -> Weight {
    let length = u64::from(length);
    let single = u64::from(length <= u64::from(PERFORATIONS_PER_CLICK));
    [
        1,
        single,
        0,
        if short_end { length } else { 0 },
        length * length,
    ]
}

/// The best from one place on: what it weighs, and where its first strip ends (`None`: the picture is left out).
#[derive(Clone, Copy)]
struct Step {
    weight: Weight,
    strip_to: Option<usize>,
}

/// The best strips, as first picture and one beyond the last; `None` when some picture fits no row.
pub(super) fn best(film: &Film, row: u32, ends: Ends) -> Option<Vec<(usize, usize)>> {
    let n = film.count();
    let nothing = Some(Step {
        weight: [0; 5],
        strip_to: None,
    });
    let mut rest: Vec<Option<Step>> = vec![None; n];
    rest.push(nothing);
    for from in (0..n).rev() {
        let last = ends == Ends::ShortLast;
        rest[from] = step(film, row, from, &rest, &rest, |behind| {
            last && behind[0] == 0
        });
    }
    let whole = if ends == Ends::ShortFirst {
        // As `rest`, but nothing before `from` is in a strip.
        let mut whole: Vec<Option<Step>> = vec![None; n];
        whole.push(nothing);
        for from in (0..n).rev() {
            whole[from] = step(film, row, from, &rest, &whole, |_| true);
        }
        whole
    } else {
        rest.clone()
    };
    whole[0]?;
    let (mut at, mut pieces) = (0, Vec::new());
    while at < n {
        let steps = if pieces.is_empty() { &whole } else { &rest };
        match steps[at]?.strip_to {
            Some(to) => {
                pieces.push((at, to));
                at = to;
            }
            None => at += 1,
        }
    }
    Some(pieces)
}

/// The best from `from` on: a strip and what `behind` says of the rest, or a blank left out and what `skipped` says.
fn step(
    film: &Film,
    row: u32,
    from: usize,
    behind: &[Option<Step>],
    skipped: &[Option<Step>],
    short_end: impl Fn(&Weight) -> bool,
) -> Option<Step> {
    if !film.may_cut_before(from) {
        return None;
    }
    let mut best: Option<Step> = None;
    let mut better = |weight: Weight, strip_to: Option<usize>| {
        if best.is_none_or(|b| weight < b.weight) {
            best = Some(Step { weight, strip_to });
        }
    };
    // Longest strips first: of equal cuttings the one with its longer strips in front is kept.
    let ends: Vec<usize> = (from + 1..=film.count())
        .take_while(|&to| film.start[to - 1] - film.start[from] < i64::from(row))
        .filter(|&to| film.may_cut_before(to) && film.length(from, to) <= row)
        .collect();
    for to in ends.into_iter().rev() {
        if let Some(next) = behind[to] {
            let own = of_strip(film.length(from, to), short_end(&next.weight));
            better(plus(own, next.weight), Some(to));
        }
    }
    if film.may_leave_out(from)
        && let Some(next) = skipped[from + 1]
    {
        better(plus(LEFT_OUT, next.weight), None);
    }
    best
}
