//! Where to cut a developed roll, so that its strips fit a page's rows and no picture is cut.
//!
//! The aims, each only among the cuttings that are best by those before it: fewest strips; fewest strips no longer than
//! one full frame; fewest blank frames left out; then strips as even as can be (the least sum of the squares of their
//! lengths), or one end short where the filing of pages asks for it. All ways to cut are weighed, so every answer is exact.
//!
//! It counts film in perforations and knows nothing of rows that two rolls share; that is [`super::fill`].

mod images;
mod weigh;
mod why;

pub use images::{Image, Run, counted, images, perforations};

use super::limits::{FRAMES_PER_ROW, MAX_FRAME, MAX_IMAGES, ROWS};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::film::{PERFORATIONS_PER_CLICK, Pitch};

/// A page of a format: rows, and pockets for a full frame in each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PageFormat {
    /// Rows from top to bottom ([`ROWS`]).
    pub rows: u32,
    /// Full frames in a row ([`FRAMES_PER_ROW`]).
    pub frames_per_row: u32,
}

impl PageFormat {
    /// Film that a row holds, in perforations.
    pub const fn row_perforations(self) -> u32 {
        self.frames_per_row * PERFORATIONS_PER_CLICK
    }

    /// # Errors
    /// [`Kind::OutOfRange`].
    pub(super) fn check(self) -> Result<(), Error> {
        ROWS.check_as("page.rows: out of range", f64::from(self.rows))?;
        FRAMES_PER_ROW.check_as(
            "page.frames_per_row: out of range",
            f64::from(self.frames_per_row),
        )?;
        Ok(())
    }
}

/// A strip, from one cut to the next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Strip {
    /// Its first picture, by place in the roll.
    pub from: usize,
    /// One beyond its last picture.
    pub to: usize,
    /// Number of its first picture.
    pub first: String,
    /// Number of its last picture.
    pub last: String,
    /// Film from the first picture's start to the last one's end, in perforations.
    pub perforations: u32,
}

impl Strip {
    /// Pictures on it.
    pub const fn frames(&self) -> usize {
        self.to - self.from
    }

    /// Pockets of a full frame that it takes.
    pub const fn pockets(&self) -> u32 {
        self.perforations.div_ceil(PERFORATIONS_PER_CLICK)
    }
}

/// What the last of the aims is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Strips as even as can be.
    Even,
    /// The first strip as short as can be, then even.
    ShortFirst,
    /// The last strip as short as can be, then even.
    ShortLast,
}

/// A place to cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// The picture before it.
    pub after: String,
    /// The picture behind it.
    pub before: String,
    /// Where it lies, in perforations from where the roll's first picture begins: in the middle of the clear film.
    pub perforations: f64,
    /// The same in mm.
    pub mm: f64,
    /// Why it lies here and not further on.
    pub because: String,
}

/// How a roll is cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Cutting {
    /// Strips in the order of the roll.
    pub strips: Vec<Strip>,
    /// Cuts in the order of the roll; the film before the first picture and after the last is cut off besides.
    pub cuts: Vec<Cut>,
    /// Blank frames that are in no strip.
    pub left_out: Vec<String>,
    /// What was aimed for and reached, in sentences.
    pub because: Vec<String>,
    /// What limits the answer.
    pub caveats: Vec<Caveat>,
}

/// Cuts a roll for a page of that format.
///
/// # Units
/// Perforations, and mm at `pitch`.
/// # Errors
/// [`Kind::Missing`] without pictures or with an empty number; [`Kind::TooLarge`] beyond the limits; [`Kind::OutOfRange`]
/// for a page or gap outside its domain; [`Kind::Inconsistent`] for a number given twice; [`Kind::Impossible`] for a
/// picture, or pictures that overlap, longer than a row: they are never cut.
/// # Source
/// [G4] 8 perforations per frame; pitches [G2], [G3].
pub fn cut(images: &[Image], page: PageFormat, pitch: Pitch) -> Result<Cutting, Error> {
    let strips = strips(images, page, Ends::Even, "")?;
    Ok(why::explained(images, page, pitch, strips))
}

/// Only the strips of [`cut`], with the last aim given; `at` is the path that errors name the roll by.
///
/// # Errors
/// As [`cut`].
pub fn strips(
    images: &[Image],
    page: PageFormat,
    ends: Ends,
    at: &str,
) -> Result<Vec<Strip>, Error> {
    page.check()?;
    images::validate(images, at)?;
    let film = weigh::Film::new(images);
    let Some(pieces) = weigh::best(&film, page.row_perforations(), ends) else {
        return Err(too_long(images, &film, page, at));
    };
    Ok(pieces
        .into_iter()
        .map(|(from, to)| Strip {
            from,
            to,
            first: images[from].frame.clone(),
            last: images[to - 1].frame.clone(),
            perforations: film.length(from, to),
        })
        .collect())
}

/// The refusal of film between two possible cuts that is longer than a row.
fn too_long(images: &[Image], film: &weigh::Film, page: PageFormat, at: &str) -> Error {
    let row = page.row_perforations();
    let (from, to) = film
        .uncut()
        .find(|&(from, to)| film.length(from, to) > row)
        .unwrap_or((0, images.len()));
    let one = to - from == 1;
    let place = if at.is_empty() {
        String::new()
    } else {
        format!("{at}: ")
    };
    Error::new(
        Kind::Impossible,
        format!(
            "{place}a row is shorter than {}",
            if one {
                "one picture"
            } else {
                "pictures that overlap"
            }
        ),
        format!(
            "{} of {} perforations, rows of {row}",
            if one {
                format!("frame {}", images[from].frame)
            } else {
                format!("frames {} to {}", images[from].frame, images[to - 1].frame)
            },
            film.length(from, to),
        ),
        "pictures no longer than a row",
        "Take a page with longer rows; no picture is cut.",
    )
}

/// Refuses a list that is empty or too long.
fn count(what: &str, given: usize) -> Result<(), Error> {
    if given == 0 {
        return Err(Error::missing(
            format!("{what}: the list is empty"),
            "at least one picture",
            "Say which pictures there are.",
        ));
    }
    if MAX_IMAGES < given {
        return Err(Error::new(
            Kind::TooLarge,
            format!("{what}: too many"),
            format!("{given} pictures"),
            format!("up to {MAX_IMAGES}"),
            "Give one roll.",
        ));
    }
    Ok(())
}

/// Refuses a frame's number that cannot be one.
fn frame(what: &str, given: &str) -> Result<(), Error> {
    let allowed = format!("a number such as 12 or 12A, 1 to {MAX_FRAME} characters");
    if given.trim().is_empty() {
        return Err(Error::missing(
            format!("{what}: empty"),
            allowed,
            "Number the frame.",
        ));
    }
    let length = given.chars().count();
    if MAX_FRAME < length || given.chars().any(char::is_control) {
        return Err(Error::new(
            Kind::TooLarge,
            format!("{what}: too long, or not plain text"),
            format!("{length} characters"),
            allowed,
            "Shorten the number.",
        ));
    }
    Ok(())
}
