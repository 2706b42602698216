//! Refusals: everything that is wrong with a filing, found before any sum is made.

use std::collections::HashSet;

use super::super::limits::{MAX_NAME, MAX_ROLLS, USED_ROWS};
use super::{Filing, Order};
use crate::error::{Error, Kind};

pub(super) fn validate(filing: &Filing) -> Result<(), Error> {
    filing.page.check()?;
    if filing.rolls.is_empty() {
        return Err(Error::missing(
            "rolls: the list is empty",
            "at least one roll",
            "Say which rolls there are.",
        ));
    }
    if MAX_ROLLS < filing.rolls.len() {
        return Err(Error::new(
            Kind::TooLarge,
            "rolls: too many",
            format!("{} entries", filing.rolls.len()),
            format!("up to {MAX_ROLLS}"),
            "File a part of them at a time.",
        ));
    }
    let mut seen = HashSet::new();
    for (i, roll) in filing.rolls.iter().enumerate() {
        let field = |f: &str| format!("rolls[{i}].{f}");
        name(&field("id"), &roll.id)?;
        if !seen.insert(&roll.id) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{}: given twice", field("id")),
                short(&roll.id),
                "each id once",
                "Rename one of the two.",
            ));
        }
        if let Some(stock) = &roll.stock {
            name(&field("stock"), stock)?;
        } else if filing.by_stock {
            return Err(needed(
                &field("stock"),
                "pages are kept by stock",
                "the roll's stock",
            ));
        }
        if let Some(date) = &roll.date {
            day(&field("date"), date)?;
        } else if filing.order == Order::Date {
            return Err(needed(
                &field("date"),
                "rolls lie by date",
                "the roll's day, YYYY-MM-DD",
            ));
        }
    }
    if let Some(started) = &filing.started {
        USED_ROWS.check_as(
            "started.used_rows: out of range",
            f64::from(started.used_rows),
        )?;
        if filing.page.rows < started.used_rows {
            return Err(Error::new(
                Kind::Inconsistent,
                "started.used_rows: more than the page has",
                format!("{} rows in use", started.used_rows),
                format!("up to {}, the rows of a page", filing.page.rows),
                "Count the rows in use, or take the page's own format.",
            ));
        }
        if let Some(stock) = &started.stock {
            name("started.stock", stock)?;
        } else if filing.by_stock {
            return Err(needed(
                "started.stock",
                "pages are kept by stock",
                "what the page holds",
            ));
        }
    }
    Ok(())
}

fn needed(field: &str, because: &str, allowed: &str) -> Error {
    Error::missing(
        format!("{field}: missing, and {because}"),
        allowed,
        format!("Add `{field}`."),
    )
}

/// A day as `YYYY-MM-DD`.
fn day(field: &str, given: &str) -> Result<(), Error> {
    let parts: Vec<&str> = given.split('-').collect();
    let number = |part: &str, digits: usize| {
        let plain = part.len() == digits && part.bytes().all(|b| b.is_ascii_digit());
        part.parse::<u32>().ok().filter(|_| plain)
    };
    let good = match parts[..] {
        [y, m, d] => match (number(y, 4), number(m, 2), number(d, 2)) {
            (Some(y), Some(m), Some(d)) => {
                let leap = (y % 4 == 0 && y % 100 != 0) || y % 400 == 0;
                let days = match m {
                    4 | 6 | 9 | 11 => 30,
                    2 if leap => 29,
                    2 => 28,
                    _ => 31,
                };
                (1..=12).contains(&m) && (1..=days).contains(&d)
            }
            _ => false,
        },
        _ => false,
    };
    if good {
        return Ok(());
    }
    Err(Error::new(
        Kind::Unknown,
        format!("{field}: not a day"),
        short(given),
        "a day of the calendar as YYYY-MM-DD",
        "Write it as 2026-05-31.",
    ))
}

/// Refuses a word that is empty or too long.
pub(in super::super) fn name(what: &str, given: &str) -> Result<(), Error> {
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

/// Somebody's word as an error can show it.
fn short(text: &str) -> String {
    text.chars()
        .take(MAX_NAME)
        .flat_map(char::escape_debug)
        .collect()
}
