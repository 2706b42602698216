//! `spoolwright calc NAME`: every sum without a store, JSON in and JSON out.
//!
//! Each contract is one file here: its input structs, their conversion to the core's types, and the
//! answer. The schemas live in `docs/calc/` and are compiled in. No file is opened here; whoever
//! calls hands in a reader.
//!
//! Invariant: bad input gives an [`Error`] that names the field by its path, never a panic, and an
//! answer holds finite numbers only.

use std::io::{Read, Seek};

use serde_json::Value;
use spoolwright_core::{Error, Kind};

mod answer;
mod area;
mod bath;
mod contact;
mod cost;
mod cutplan;
mod cutstrips;
mod devtime;
mod dx;
mod exposure;
mod film_roll;
mod filter;
mod formula;
mod input;
mod json;
mod keeping;
mod mix;
mod pages;
mod reciprocity;
mod remaining;
mod spool;
mod tank;
mod ticket;
mod warmup;
mod wash;
pub(crate) mod wedge;
pub mod wedgescan;
pub mod words;

/// Most bytes that an input may have.
pub const MAX_INPUT_BYTES: u64 = 4 * 1024 * 1024;

/// One sum that can be asked for.
#[derive(Debug, Clone, Copy)]
pub struct Contract {
    /// The word after `calc`.
    pub name: &'static str,
    /// What it is for, in one line.
    pub purpose: &'static str,
    /// JSON Schema (2020-12) of the input.
    pub input_schema: &'static str,
    /// JSON Schema (2020-12) of the output.
    pub output_schema: &'static str,
    sum: Sum,
}

/// How a contract comes to its answer.
#[derive(Debug, Clone, Copy)]
enum Sum {
    /// From the input alone.
    Input(fn(&Value) -> Result<Value, Error>),
    /// From the input alone, which may be spelt as a table of densities.
    Table(fn(&Value) -> Result<Value, Error>),
    /// From the input and a picture.
    Picture(fn(&Value, Option<&mut dyn ReadSeek>) -> Result<Value, Error>),
}

/// A file, or bytes in memory.
pub trait ReadSeek: Read + Seek {}

impl<T: Read + Seek> ReadSeek for T {}

macro_rules! contract {
    ($name:ident, $purpose:literal) => {
        contract!($name, $purpose, Input)
    };
    ($name:ident, $purpose:literal, $sum:ident) => {
        Contract {
            name: stringify!($name),
            purpose: $purpose,
            input_schema: include_str!(concat!(
                "../../../../docs/calc/",
                stringify!($name),
                ".input.schema.json"
            )),
            output_schema: include_str!(concat!(
                "../../../../docs/calc/",
                stringify!($name),
                ".output.schema.json"
            )),
            sum: Sum::$sum($name::answer),
        }
    };
}

const WEDGESCAN: Contract = contract!(
    wedgescan,
    "densities of a strip from a picture of it beside a wedge of known densities",
    Picture
);

/// Every contract, in the order of the documentation.
pub const CONTRACTS: &[Contract] = &[
    contract!(spool, "length, diameter and turns of film wound on a core"),
    contract!(
        ticket,
        "clicks or turns for one roll, and what the roll will be"
    ),
    contract!(
        remaining,
        "what is left in a can, from everything that is known of it"
    ),
    contract!(
        cutplan,
        "which rolls to wind from which can, for which want"
    ),
    contract!(
        dx,
        "what a cassette's contacts say about speed, length and latitude, both ways"
    ),
    WEDGESCAN,
    contract!(
        wedge,
        "speed, contrast and developing time of a stock, from strips of graded exposures",
        Table
    ),
    contract!(
        devtime,
        "developing time at the bath's temperature, or when to stop a bath that drifts"
    ),
    contract!(
        reciprocity,
        "how long to expose when the meter asks for more than a second"
    ),
    contract!(
        filter,
        "which filter turns one light into another, and the exposure through it"
    ),
    contract!(
        tank,
        "which rolls share a developing tank, on which reels, in how much solution"
    ),
    contract!(
        bath,
        "what a bath has left: use it, correct the time, or mix new"
    ),
    contract!(
        mix,
        "dilutions, formulas, part-used bottles, salts, warm water and what is lacking"
    ),
    contract!(
        wash,
        "the steps after the fixer, and what a wash leaves in the film"
    ),
    contract!(
        warmup,
        "how long cold film warms up before its package is opened"
    ),
    contract!(
        keeping,
        "what may be said of film by the place it lies in, and what to allow for its age"
    ),
    contract!(
        exposure,
        "exposure values, third-stop marks, pairs that expose alike, the EI behind filters"
    ),
    contract!(cost, "what a usable frame came to, by can, stock and year"),
    contract!(
        cutstrips,
        "where to cut a developed roll, so that its strips fit a page"
    ),
    contract!(pages, "which rolls share a page of the binder, row by row"),
    contract!(
        contact,
        "which paper holds a contact sheet of a page's strips"
    ),
];

/// The contract of that name.
///
/// # Errors
/// [`Kind::Unknown`], with the nearest name when there is one.
pub fn contract(name: &str) -> Result<&'static Contract, Error> {
    CONTRACTS.iter().find(|c| c.name == name).ok_or_else(|| {
        words::unknown(
            "calc",
            name,
            CONTRACTS.iter().map(|c| c.name),
            "`spoolwright calc --list` lists them all.",
        )
    })
}

impl Contract {
    /// The answer to `input`.
    ///
    /// # Errors
    /// Everything that can be wrong with an input, see `docs/calc.md`.
    pub fn answer(&self, input: &[u8]) -> Result<Value, Error> {
        self.work_out(input, None)
    }

    /// The answer to `input` about a picture; see [`Contract::needs_picture`].
    ///
    /// # Errors
    /// Everything that can be wrong with an input or a picture, see `docs/calc.md`.
    pub fn answer_about(&self, input: &[u8], mut picture: impl ReadSeek) -> Result<Value, Error> {
        self.work_out(input, Some(&mut picture))
    }

    /// Whether it is about a picture, without which it gives no answer.
    pub fn needs_picture(&self) -> bool {
        matches!(self.sum, Sum::Picture(_))
    }

    fn work_out(&self, input: &[u8], picture: Option<&mut dyn ReadSeek>) -> Result<Value, Error> {
        let value = self.read(input)?;
        let answer = json::fits(&value, self.input_schema)
            .and_then(|()| match self.sum {
                Sum::Input(sum) | Sum::Table(sum) => sum(&value),
                Sum::Picture(sum) => sum(&value, picture),
            })
            .map_err(|e| json::describe(e, self.input_schema))?;
        answer::tidy(answer)
    }

    /// The input as JSON; what begins with no bracket is a table, where the sum takes one.
    fn read(&self, input: &[u8]) -> Result<Value, Error> {
        let bare = input.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(input);
        let first = bare.iter().find(|b| !b.is_ascii_whitespace());
        match (self.sum, first) {
            (Sum::Table(_), Some(first)) if !b"{[".contains(first) => wedge::from_table(input),
            _ => json::parse(input),
        }
    }
}

/// Reads an input, but never more than [`MAX_INPUT_BYTES`].
///
/// # Errors
/// [`Kind::TooLarge`]; [`Kind::Missing`] when it cannot be read.
pub fn read_bounded(reader: impl Read) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    reader
        .take(MAX_INPUT_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| {
            Error::new(
                Kind::Missing,
                "the input cannot be read",
                e,
                "a readable file or stream",
                "Check the file's name.",
            )
        })?;
    if MAX_INPUT_BYTES < bytes.len() as u64 {
        return Err(Error::new(
            Kind::TooLarge,
            "the input is too large",
            format!("more than {MAX_INPUT_BYTES} bytes"),
            format!("up to {MAX_INPUT_BYTES} bytes"),
            "Give one JSON object for one sum.",
        ));
    }
    Ok(bytes)
}
