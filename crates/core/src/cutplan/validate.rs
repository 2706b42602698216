//! Refusals: everything that is wrong with a problem, found before any sum is made.

use std::collections::HashSet;

use super::Problem;
use super::counts::MAX_LENGTHS;
use super::limits::{CASSETTES, LEFT_M, PAGE_SIDE, PRICE, PRIORITY, WANTED_FRAMES};
use crate::bounds;
use crate::error::{Error, Kind};

const MAX_CANS: usize = 200;
const MAX_WANTS: usize = 300;
const MAX_NAME: usize = 200;

/// Check a whole problem.
pub(super) fn validate(p: &Problem) -> Result<(), Error> {
    count("cans", p.cans.len(), MAX_CANS)?;
    count("wants", p.wants.len(), MAX_WANTS)?;
    count("menu_frames", p.menu_frames.len(), MAX_LENGTHS)?;
    names("cans", p.cans.iter().map(|c| c.id.as_str()))?;
    names("wants", p.wants.iter().map(|w| w.id.as_str()))?;
    for c in &p.cans {
        let field = |f: &str| format!("{f} of can {}", c.id);
        name(&field("stock"), &c.stock)?;
        LEFT_M.check_as(&field("remaining_m.mean"), c.remaining_m.mean)?;
        LEFT_M.check_as(&field("remaining_m.sd"), c.remaining_m.sd)?;
        PRICE.check_as(&field("price_per_m"), c.price_per_m)?;
    }
    for w in &p.wants {
        let field = |f: &str| format!("{f} of want {}", w.id);
        if w.stocks.is_empty() {
            return Err(Error::missing(
                field("stocks"),
                "at least one stock",
                "Name the stocks that will do for this want.",
            ));
        }
        count(&field("stocks"), w.stocks.len(), MAX_CANS)?;
        for s in &w.stocks {
            name(&field("stocks"), s)?;
        }
        WANTED_FRAMES.check_as(&field("frames"), f64::from(w.frames))?;
        PRIORITY.check_as(&field("priority"), f64::from(w.priority))?;
    }
    if p.menu_frames.is_empty() {
        return Err(Error::missing(
            "menu_frames",
            "at least one roll length",
            "Give the roll lengths you wind, in frames.",
        ));
    }
    for &f in &p.menu_frames {
        bounds::FRAMES.check_as("menu_frames", f64::from(f))?;
    }
    bounds::FRAMES.check_as("max_roll_frames", f64::from(p.max_roll_frames))?;
    if usable_menu(p).is_empty() {
        return Err(Error::new(
            Kind::Impossible,
            "menu_frames",
            format!("{:?}", p.menu_frames),
            format!(
                "at least one length of {} frames (max_roll_frames) or less",
                p.max_roll_frames
            ),
            "Add a shorter length to the menu, or raise max_roll_frames.",
        ));
    }
    bounds::ALLOWANCE_CLICKS.check_as("leader_clicks", f64::from(p.leader_clicks))?;
    bounds::ALLOWANCE_CLICKS.check_as("tail_clicks", f64::from(p.tail_clicks))?;
    bounds::UNCOUNTED_MM.check_as("uncounted_mm", p.uncounted_mm)?;
    CASSETTES.check_as("cassettes", f64::from(p.cassettes))?;
    PAGE_SIDE.check_as("page.rows", f64::from(p.page.rows))?;
    PAGE_SIDE.check_as("page.frames_per_row", f64::from(p.page.frames_per_row))?;
    PRICE.check_as("page.price", p.page.price)?;
    PRICE.check_as(
        "chemistry_price_per_full_roll",
        p.chemistry_price_per_full_roll,
    )?;
    PRICE.check_as("short_end_price_per_m", p.short_end_price_per_m)?;
    bounds::CONFIDENCE.check_as("confidence", p.confidence)?;
    Ok(())
}

/// The menu without repeats and without lengths over `max_roll_frames`.
pub(super) fn usable_menu(p: &Problem) -> Vec<u32> {
    let mut menu: Vec<u32> = p
        .menu_frames
        .iter()
        .copied()
        .filter(|&f| f <= p.max_roll_frames)
        .collect();
    menu.sort_unstable();
    menu.dedup();
    menu
}

fn count(what: &str, given: usize, most: usize) -> Result<(), Error> {
    if given <= most {
        return Ok(());
    }
    Err(Error::new(
        Kind::TooLarge,
        what,
        format!("{given} entries"),
        format!("up to {most}"),
        "Plan a part of them at a time.",
    ))
}

fn name(what: &str, given: &str) -> Result<(), Error> {
    if given.trim().is_empty() {
        return Err(Error::missing(
            what,
            format!("a name of 1 to {MAX_NAME} characters"),
            "Give it a name.",
        ));
    }
    if MAX_NAME < given.chars().count() {
        return Err(Error::new(
            Kind::TooLarge,
            what,
            format!("{} characters", given.chars().count()),
            format!("a name of 1 to {MAX_NAME} characters"),
            "Shorten the name.",
        ));
    }
    Ok(())
}

fn names<'a>(what: &str, given: impl Iterator<Item = &'a str>) -> Result<(), Error> {
    let mut seen = HashSet::new();
    for id in given {
        name(&format!("id in {what}"), id)?;
        if !seen.insert(id) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("id in {what}"),
                format!("{id:?} twice"),
                "each id once",
                "Rename one of the two.",
            ));
        }
    }
    Ok(())
}
