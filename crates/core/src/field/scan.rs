//! Which frame a scan shows, told from its file's name or from its place among the others.
//!
//! Names only: no file is looked at here, and a folder is the service's business.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use super::frame::Frame;
use crate::error::{Error, Kind};
use crate::words::worded;

/// Most characters of a pattern.
pub const LONGEST_PATTERN: usize = 100;
/// Where the frame stands in a pattern.
const HOLE: &str = "{frame}";

worded! {
    /// How a scan's frame is told.
    MatchBy {
        /// From its place among the others.
        #[default]
        Order = "order",
        /// From the last number in its name.
        Number = "number",
        /// From a pattern.
        Pattern = "pattern",
    }
}

/// A file's name without its last ending: `HM-07_12.tif` is `HM-07_12`.
pub fn stem(name: &str) -> &str {
    match name.rfind('.') {
        Some(0) | None => name,
        Some(dot) => &name[..dot],
    }
}

/// Names as a person counts them: `scan2` before `scan10`, capitals as small letters.
pub fn natural(a: &str, b: &str) -> Ordering {
    fn parts(text: &str) -> Vec<Result<(usize, String), char>> {
        let mut parts = Vec::new();
        let mut digits = String::new();
        let take = |digits: &mut String, parts: &mut Vec<Result<(usize, String), char>>| {
            if !digits.is_empty() {
                let number = digits.trim_start_matches('0').to_owned();
                parts.push(Ok((number.len(), number)));
                digits.clear();
            }
        };
        for c in text.chars() {
            if c.is_ascii_digit() {
                digits.push(c);
            } else {
                take(&mut digits, &mut parts);
                parts.extend(c.to_lowercase().map(Err));
            }
        }
        take(&mut digits, &mut parts);
        parts
    }
    // Numbers before letters; what counts alike is ordered as written, so that the order is always the same.
    parts(a).cmp(&parts(b)).then_with(|| a.cmp(b))
}

/// The frame that digits of a name mean, with what follows them: `012` is 12, `12A` is 12A, `00` is 00.
fn frame_of(digits: &str, half: bool) -> Option<Frame> {
    let number = match digits {
        "0" | "00" => digits,
        all => match all.trim_start_matches('0') {
            "" => "0",
            number => number,
        },
    };
    Frame::parse(&format!("{number}{}", if half { "A" } else { "" })).ok()
}

/// The frame that the last number in a name without its ending means; none without a number, and for one that is no
/// frame of a roll.
pub fn numbered(stem: &str) -> Option<Frame> {
    let end = stem.rfind(|c: char| c.is_ascii_digit())? + 1;
    let before = stem[..end].trim_end_matches(|c: char| c.is_ascii_digit());
    let mut after = stem[end..].chars();
    let half = matches!(after.next(), Some('a' | 'A'))
        && after.next().is_none_or(|c| !c.is_alphanumeric());
    frame_of(&stem[before.len()..end], half)
}

/// A pattern that names are held against: `{frame}` once, `*` for anything, `?` for one character.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pattern {
    before: Vec<char>,
    after: Vec<char>,
}

impl Pattern {
    /// Reads a pattern; capitals and small letters are alike in it.
    ///
    /// # Errors
    /// [`Kind::Missing`] when it is empty, [`Kind::TooLarge`] beyond [`LONGEST_PATTERN`] characters,
    /// [`Kind::Inconsistent`] when `{frame}` is not in it just once.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let allowed =
            "a file's name without its ending, with {frame} where the frame's number stands";
        let text = text.trim();
        if text.is_empty() {
            return Err(Error::missing(
                "a pattern",
                allowed,
                "Write one, such as HM-07_{frame}*.",
            ));
        }
        if text.chars().count() > LONGEST_PATTERN {
            return Err(Error::new(
                Kind::TooLarge,
                "a pattern",
                format!("{} characters", text.chars().count()),
                format!("at most {LONGEST_PATTERN} characters"),
                "Write * for what may be anything.",
            ));
        }
        let small = lower(text);
        let mut parts = small.split(HOLE);
        match (parts.next(), parts.next(), parts.next()) {
            (Some(before), Some(after), None) => Ok(Self {
                before: before.chars().collect(),
                after: after.chars().collect(),
            }),
            _ => Err(Error::new(
                Kind::Inconsistent,
                "a pattern",
                format!("{text:?}"),
                allowed,
                "Write {frame} once, such as HM-07_{frame}*.",
            )),
        }
    }

    /// The frame that a name without its ending means; the first place that fits, with as many digits as fit.
    pub fn frame(&self, stem: &str) -> Option<Frame> {
        let name: Vec<char> = lower(stem).chars().collect();
        for from in 0..name.len() {
            let digits = name[from..]
                .iter()
                .take_while(|c| c.is_ascii_digit())
                .count();
            if digits == 0 || !fits(&self.before, &name[..from]) {
                continue;
            }
            let half = name.get(from + digits) == Some(&'a');
            let ends = half
                .then_some((digits, true))
                .into_iter()
                .chain((1..=digits).rev().map(|n| (n, false)));
            for (n, half) in ends {
                let to = from + n + usize::from(half);
                if fits(&self.after, &name[to..]) {
                    let digits: String = name[from..from + n].iter().collect();
                    if let Some(frame) = frame_of(&digits, half) {
                        return Some(frame);
                    }
                }
            }
        }
        None
    }
}

fn lower(text: &str) -> String {
    text.chars().flat_map(char::to_lowercase).collect()
}

/// Whether all of `text` fits a pattern of `*` and `?`; in time that its length and the pattern's multiply to.
fn fits(pattern: &[char], text: &[char]) -> bool {
    let (mut p, mut t) = (0, 0);
    let mut back: Option<(usize, usize)> = None;
    while t < text.len() {
        match pattern.get(p) {
            Some('*') => {
                back = Some((p, t));
                p += 1;
            }
            Some(&c) if c == '?' || c == text[t] => {
                p += 1;
                t += 1;
            }
            _ => match back {
                Some((star, at)) => {
                    back = Some((star, at + 1));
                    p = star + 1;
                    t = at + 1;
                }
                None => return false,
            },
        }
    }
    pattern[p..].iter().all(|c| *c == '*')
}

/// Frames of `count` pictures in the order of the film, from `first` on, those in `missed` left out.
pub fn in_order(count: usize, first: Frame, missed: &BTreeSet<Frame>) -> Vec<Frame> {
    (0..)
        .map(|n| first.after(n))
        .filter(|f| !missed.contains(f))
        .take(count)
        .collect()
}

/// Frames written as a list: `3, 7-9, 12A`.
///
/// # Errors
/// What [`Frame::parse`] refuses; [`Kind::Inconsistent`] for a span that runs backwards.
pub fn listed(text: &str) -> Result<BTreeSet<Frame>, Error> {
    let mut all = BTreeSet::new();
    for part in text
        .split([',', ';'])
        .map(str::trim)
        .filter(|p| !p.is_empty())
    {
        let Some((from, to)) = part.split_once(['-', '\u{2013}']) else {
            all.insert(Frame::parse(part)?);
            continue;
        };
        let (from, to) = (Frame::parse(from)?, Frame::parse(to)?);
        let Some(span) = to.since(from) else {
            return Err(Error::new(
                Kind::Inconsistent,
                "frames",
                format!("{part:?}"),
                "a span from an earlier frame to a later one",
                "Write the earlier frame first: 7-9.",
            ));
        };
        all.extend((0..=span).map(|n| from.after(n)));
    }
    Ok(all)
}
