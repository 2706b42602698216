//! What may lie in one tank together: films that suit the recipe, on reels that take them, under enough solution.
//!
//! The proposal keeps to this by itself; a run loaded by hand is held to it here.

use super::super::Outcome;
use super::super::error::at;
use super::kit::TANK_ML;
use super::load::water_parts;
use super::recipes::RecipeView;
use super::runs::film_area_m2;
use spoolwright_core::shelf::{Backing, Roll, Stock};
use spoolwright_core::wet::mix;
use spoolwright_core::wet::record::{Reel, Tank};
use spoolwright_core::wet::tank::BETWEEN_MM;
use spoolwright_core::{Error, Kind};

/// A roll, the reel it lies in (from one) and its stock.
pub(super) type Loaded = (u32, Roll, Stock);

fn refused(
    field: &str,
    kind: Kind,
    what: impl Into<String>,
    given: String,
    allowed: String,
    remedy: &str,
) -> super::super::Failure {
    at(field, Error::new(kind, what, given, allowed, remedy))
}

/// Film area of all rolls, m².
pub(super) fn area_m2(loaded: &[Loaded]) -> Outcome<f64> {
    let mut sum = 0.0;
    for (_, roll, stock) in loaded {
        sum += film_area_m2(roll, stock.pitch)?;
    }
    Ok(sum)
}

/// Refuses what was put away meanwhile.
pub(super) fn must_be_in_use(field: &str, name: &str, closed: bool) -> Outcome<()> {
    if !closed {
        return Ok(());
    }
    Err(refused(
        field,
        Kind::Conflict,
        name,
        "put away".to_owned(),
        format!("a {field} that is in use"),
        "Take it out again first, or choose another.",
    ))
}

/// Refuses films that a reel cannot hold.
pub(super) fn must_lie_in_reels(reel: &Reel, loaded: &[Loaded]) -> Outcome<()> {
    let used = loaded.iter().map(|(n, ..)| *n).max().unwrap_or(0);
    if used > reel.count {
        return Err(refused(
            "reels",
            Kind::TooLarge,
            format!("reels {}", reel.name),
            used.to_string(),
            format!("{} there are", reel.count),
            "Make two runs, or enter the reels you have.",
        ));
    }
    for n in 1..=used {
        let on: Vec<&Loaded> = loaded.iter().filter(|(reel, ..)| *reel == n).collect();
        let labels: Vec<&str> = on.iter().map(|(_, roll, _)| roll.label.as_str()).collect();
        let labels = labels.join(" and ");
        let most = if reel.takes_two { 2 } else { 1 };
        if on.len() > most {
            return Err(refused(
                "reels",
                Kind::TooLarge,
                format!("rolls on one reel {}", reel.name),
                labels,
                format!("{most}: films that overlap do not develop where they touch"),
                "Put them on reels of their own.",
            ));
        }
        let film: f64 = on
            .iter()
            .map(|(_, roll, stock)| roll.clicks * stock.pitch.click().to_mm())
            .sum();
        let film = film + BETWEEN_MM * on.len().saturating_sub(1) as f64;
        if film > reel.longest_mm {
            return Err(refused(
                "reels",
                Kind::TooLarge,
                format!("film on one reel {}", reel.name),
                format!("{labels}: {film:.0} mm"),
                format!("at most {:.0} mm", reel.longest_mm),
                "Put them on reels of their own, or cut the film in the dark.",
            ));
        }
    }
    Ok(())
}

/// What stock there is in so much working solution, and whether it is enough for the film; none where the recipe does not
/// say how much that is, and without film.
fn stock_in(
    recipe: &RecipeView,
    loaded: &[Loaded],
    volume_ml: f64,
) -> Outcome<Option<mix::StockCheck>> {
    let (Some(least), Some(water)) = (
        recipe.recipe.least_stock_ml,
        water_parts(&recipe.recipe.dilution),
    ) else {
        return Ok(None);
    };
    let area = area_m2(loaded)?;
    if area <= 0.0 {
        return Ok(None);
    }
    let held = volume_ml / (1.0 + water);
    Ok(Some(mix::stock_check(held, volume_ml, least, area)?))
}

/// The volume that reaches over the reels and holds stock enough for the film, as far as the tank takes it: whole
/// millilitres, as a plan has them.
pub(super) fn enough(
    recipe: &RecipeView,
    loaded: &[Loaded],
    tank: &Tank,
    volume_ml: f64,
) -> Outcome<f64> {
    let most = tank.volume_ml.iter().copied().fold(0.0, f64::max);
    let needed = stock_in(recipe, loaded, volume_ml)?.map_or(0.0, |c| c.working_ml.ceil());
    Ok(if needed <= most {
        volume_ml.max(needed)
    } else {
        volume_ml
    })
}

/// Refuses less stock than the film needs, where the recipe says how much that is.
pub(super) fn must_have_stock(
    recipe: &RecipeView,
    loaded: &[Loaded],
    volume_ml: f64,
) -> Outcome<()> {
    let Some(check) = stock_in(recipe, loaded, volume_ml)?.filter(|c| !c.is_enough()) else {
        return Ok(());
    };
    let held = check.held_ml;
    Err(refused(
        "volume",
        Kind::OutOfRange,
        "stock for so much film",
        format!("{held:.0} ml of stock in {volume_ml:.0} ml"),
        format!(
            "{:.0} ml of stock: {:.0} ml of working solution",
            check.needed_ml.ceil(),
            check.working_ml.ceil()
        ),
        "Pour in more, dilute less, or develop fewer rolls at once.",
    ))
}

/// Why a film does not suit a recipe; none when it does.
pub(super) fn unsuited(recipe: &RecipeView, stock: &Stock) -> Option<String> {
    let name = &recipe.recipe.name;
    let removes = recipe.removes_backing();
    if stock.backing == Backing::Remjet && !removes {
        return Some(format!(
            "{} carries remjet, and {name} does not take it off: the carbon would be in every bath.",
            stock.name
        ));
    }
    if removes && stock.backing == Backing::Usual {
        return Some(format!(
            "{} has no backing for {name} to take off.",
            stock.name
        ));
    }
    if recipe.recipe.process != stock.process {
        return Some(format!(
            "{} is {}, and {name} is {}.",
            stock.name,
            stock.process.word().replace('-', " "),
            recipe.recipe.process.word().replace('-', " ")
        ));
    }
    // A stock nobody has looked at the back of goes with the usual.
    if removes && stock.backing == Backing::Unknown {
        return Some(format!(
            "Nobody has said whether {} carries remjet: say it on the stock first.",
            stock.name
        ));
    }
    None
}

/// A person may put a film through another process on purpose, when they say so; but carbon may not get into the baths,
/// nor two kinds of film into one tank.
pub(super) fn must_suit(recipe: &RecipeView, loaded: &[Loaded], sure: bool) -> Outcome<()> {
    let carbon = |s: &Stock| s.backing == Backing::Remjet;
    for (_, roll, stock) in loaded {
        let others = || loaded.iter().map(|(.., other)| other);
        let (why, remedy) = if carbon(stock) && !recipe.removes_backing() {
            (
                unsuited(recipe, stock),
                "Choose a recipe that takes the backing off, and load such film alone.",
            )
        } else if others().any(|other| carbon(other) != carbon(stock)) {
            (
                Some("Film with remjet and film without it do not share a tank.".to_owned()),
                "Load film with remjet alone.",
            )
        } else if let Some(other) = others().find(|other| other.process != stock.process) {
            (
                Some(format!(
                    "{} is {}, {} is {}.",
                    stock.name,
                    stock.process.word().replace('-', " "),
                    other.name,
                    other.process.word().replace('-', " ")
                )),
                "Load one kind of film at a time.",
            )
        } else if stock.process != recipe.recipe.process && !sure {
            (
                unsuited(recipe, stock),
                "Choose another recipe, or say that you are sure.",
            )
        } else {
            (None, "")
        };
        if let Some(why) = why {
            return Err(refused(
                "reels",
                Kind::Impossible,
                format!("roll {}", roll.label),
                why,
                "film that suits the recipe".to_owned(),
                remedy,
            ));
        }
    }
    Ok(())
}

pub(super) fn tank_volume(tank: Option<&Tank>, reels: u32, typed: Option<f64>) -> Outcome<f64> {
    let Some(tank) = tank else {
        return typed.ok_or_else(|| {
            at(
                "volume",
                Error::missing(
                    "the volume",
                    TANK_ML.allowed(),
                    "Name the tank, or the millilitres you pour in.",
                ),
            )
        });
    };
    match tank.volume_ml.get(reels as usize - 1) {
        Some(needed) => match typed {
            Some(typed) if typed < *needed => Err(at(
                "volume",
                Error::new(
                    Kind::OutOfRange,
                    "the volume",
                    format!("{typed} ml"),
                    format!("{needed} ml and more: less does not cover {reels} reels"),
                    "Pour in more.",
                ),
            )),
            Some(typed) => Ok(typed),
            None => Ok(*needed),
        },
        None => Err(at(
            "reels",
            Error::new(
                Kind::TooLarge,
                format!("reels in {}", tank.name),
                reels,
                format!("at most {}", tank.volume_ml.len()),
                "Take a larger tank, or make two runs.",
            ),
        )),
    }
}
