//! Refusals: everything that is wrong with a bench, found before any sum is made.

use std::collections::HashSet;

use super::Bench;
use super::limits::{
    BETWEEN_MM, FILM_MM, LEAST_STOCK_ML, MAX_NAME, MAX_ROLLS, MAX_THINGS, REELS, TANK_ML,
    TANK_REELS, TOLERANCE_PERCENT, WATER_PARTS,
};
use crate::bounds::{DEVELOPING_MIN, REEL_MM};
use crate::error::{Error, Kind};

pub(super) fn validate(bench: &Bench) -> Result<(), Error> {
    count("rolls", bench.rolls.len(), MAX_ROLLS)?;
    count("tanks", bench.tanks.len(), MAX_THINGS)?;
    count("reels", bench.reels.len(), MAX_THINGS)?;
    count("developers", bench.developers.len(), MAX_THINGS)?;
    for (what, empty) in [
        ("rolls", bench.rolls.is_empty()),
        ("tanks", bench.tanks.is_empty()),
    ] {
        if empty {
            return Err(Error::missing(
                format!("{what}: the list is empty"),
                format!("at least one of the {what}"),
                format!("Say which {what} there are."),
            ));
        }
    }
    names("rolls", bench.rolls.iter().map(|r| &r.id))?;
    names("developers", bench.developers.iter().map(|d| &d.id))?;
    names("tanks", bench.tanks.iter().map(|t| &t.id))?;
    names("reels", bench.reels.iter().map(|r| &r.id))?;
    if let Some(tolerance) = bench.tolerance_percent {
        TOLERANCE_PERCENT.check_as("tolerance_percent", tolerance)?;
    }
    if let Some(between) = bench.between_mm {
        BETWEEN_MM.check_as("between_mm", between)?;
    }
    for (i, r) in bench.rolls.iter().enumerate() {
        let field = |f: &str| format!("rolls[{i}].{f}");
        name(&field("process"), &r.process)?;
        name(&field("developer"), &r.developer)?;
        if let Some(kind) = &r.own_kind {
            name(&field("own_kind"), kind)?;
        }
        DEVELOPING_MIN.check_as(&field("time_min"), r.time_min)?;
        FILM_MM.check_as(&field("film_mm"), r.film_mm)?;
        if let Some(tolerance) = r.tolerance_percent {
            TOLERANCE_PERCENT.check_as(&field("tolerance_percent"), tolerance)?;
        }
    }
    for (i, d) in bench.developers.iter().enumerate() {
        WATER_PARTS.check_as(&format!("developers[{i}].water_parts"), d.water_parts)?;
        if let Some(least) = d.least_stock_ml {
            LEAST_STOCK_ML.check_as(&format!("developers[{i}].least_stock_ml"), least)?;
        }
    }
    for (i, r) in bench.reels.iter().enumerate() {
        REELS.check_as(&format!("reels[{i}].count"), f64::from(r.count))?;
        REEL_MM.check_as(&format!("reels[{i}].longest_mm"), r.longest_mm)?;
    }
    for i in 0..bench.tanks.len() {
        tank(bench, i)?;
    }
    Ok(())
}

fn tank(bench: &Bench, i: usize) -> Result<(), Error> {
    let t = &bench.tanks[i];
    let field = format!("tanks[{i}].ml");
    TANK_REELS.check_as(&field, t.ml.len() as f64)?;
    for (k, &ml) in t.ml.iter().enumerate() {
        TANK_ML.check_as(&format!("{field}[{k}]"), f64::from(ml))?;
    }
    if let Some(k) = (1..t.ml.len()).find(|&k| t.ml[k] < t.ml[k - 1]) {
        return Err(Error::new(
            Kind::Inconsistent,
            format!("{field}[{k}]: less than for fewer reels"),
            format!("{} ml after {} ml", t.ml[k], t.ml[k - 1]),
            "a volume for one reel, for two and so on, that never falls",
            "Give the volumes in the order of the reels.",
        ));
    }
    if bench.reels.iter().all(|r| r.id != t.reel) {
        let known: Vec<&str> = bench.reels.iter().map(|r| r.id.as_str()).collect();
        return Err(Error::new(
            Kind::Unknown,
            format!("tanks[{i}].reel: no such type of reel"),
            short(&t.reel),
            if known.is_empty() {
                "an id from `reels`, which is empty".to_owned()
            } else {
                format!("an id from `reels`: {}", short(&known.join(", ")))
            },
            "Add the type to `reels`, or name one that is there.",
        ));
    }
    Ok(())
}

/// A place in the list of rolls.
pub(super) fn place(bench: &Bench, at: usize) -> Result<(), Error> {
    if at < bench.rolls.len() {
        return Ok(());
    }
    Err(Error::new(
        Kind::Unknown,
        "a roll's place",
        at,
        format!("0 to {}", bench.rolls.len() - 1),
        "Name a roll of the bench.",
    ))
}

fn count(what: &str, given: usize, most: usize) -> Result<(), Error> {
    if given <= most {
        return Ok(());
    }
    Err(Error::new(
        Kind::TooLarge,
        format!("{what}: too many"),
        format!("{given} entries"),
        format!("up to {most}"),
        "Load a part of them at a time.",
    ))
}

fn name(what: &str, given: &str) -> Result<(), Error> {
    let allowed = format!("a word of 1 to {MAX_NAME} characters");
    if given.trim().is_empty() {
        return Err(Error::missing(
            format!("{what}: empty"),
            allowed,
            "Give it a word.",
        ));
    }
    let length = given.chars().count();
    if MAX_NAME < length {
        return Err(Error::new(
            Kind::TooLarge,
            format!("{what}: too long"),
            format!("{length} characters"),
            allowed,
            "Shorten the word.",
        ));
    }
    Ok(())
}

fn names<'a>(what: &str, given: impl Iterator<Item = &'a String>) -> Result<(), Error> {
    let mut seen = HashSet::new();
    for (i, id) in given.enumerate() {
        name(&format!("{what}[{i}].id"), id)?;
        if !seen.insert(id) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{what}[{i}].id: given twice"),
                short(id),
                "each id once",
                "Rename one of the two.",
            ));
        }
    }
    Ok(())
}

/// Somebody's word as an error can show it.
fn short(text: &str) -> String {
    text.chars()
        .take(MAX_NAME)
        .flat_map(char::escape_debug)
        .collect()
}
