//! Refusals: every number of a shelf against its bounds, every index against what is there.

use super::{CanInput, Evidence, Shelf, defaults};
use crate::bounds::{self, Bounds};
use crate::error::{Error, Kind};
use crate::quantity::Estimate;
use crate::spool;

const LINEAR_LENGTH_MM: Bounds = Bounds {
    what: "a length of film",
    unit: "mm",
    min: 0.0,
    max: bounds::CAN_LENGTH_M.max * 1000.0,
};
const RUN_OUT_CLICKS: Bounds = Bounds {
    what: "clicks when the film ended",
    unit: "clicks",
    min: 0.0,
    max: bounds::CLICKS.max,
};
const GAUGE_SD_MM: Bounds = Bounds {
    what: "a diameter's uncertainty",
    unit: "mm",
    min: 0.01,
    max: spool::DIAMETER_SD_MM.max,
};
const MEASURED_SD_MM: Bounds = Bounds {
    what: "a measured roll's uncertainty",
    unit: "mm",
    min: 0.1,
    max: 1_000.0,
};

pub(super) fn shelf(shelf: &Shelf) -> Result<(), Error> {
    let shared = shelf.loaders.len() + shelf.stocks.len() + shelf.packages.len();
    at_most(
        "loaders, stocks and kinds of can",
        shared,
        defaults::MAX_SHARED,
    )?;
    at_most("cans", shelf.cans.len(), defaults::MAX_CANS)?;
    let evidence = shelf.cans.iter().map(|can| can.evidence.len()).sum();
    at_most("pieces of evidence", evidence, defaults::MAX_EVIDENCE)?;

    for (i, loader) in shelf.loaders.iter().enumerate() {
        estimate(
            bounds::CLICK_SCALE,
            &format!("loaders[{i}].click_scale"),
            loader.click_scale,
        )?;
        estimate(
            bounds::UNCOUNTED_MM,
            &format!("loaders[{i}].uncounted_mm"),
            loader.uncounted_mm,
        )?;
    }
    for (i, stock) in shelf.stocks.iter().enumerate() {
        let field = format!("stocks[{i}].linear_mass_g_per_m");
        estimate(
            bounds::LINEAR_MASS_G_PER_M,
            &field,
            stock.linear_mass_g_per_m,
        )?;
        estimate(
            bounds::THICKNESS_MM,
            &format!("stocks[{i}].thickness_mm"),
            stock.thickness_mm,
        )?;
    }
    for (i, package) in shelf.packages.iter().enumerate() {
        estimate(
            bounds::MASS_G,
            &format!("packages[{i}].tare_g"),
            package.tare_g,
        )?;
        sd(
            bounds::MASS_G,
            &format!("packages[{i}].spread_g"),
            package.spread_g,
        )?;
    }
    for (i, one) in shelf.cans.iter().enumerate() {
        can(shelf, i, one)?;
    }
    Ok(())
}

fn can(shelf: &Shelf, i: usize, can: &CanInput) -> Result<(), Error> {
    index(
        &format!("cans[{i}].stock"),
        can.stock,
        shelf.stocks.len(),
        "stock",
    )?;
    if let Some(package) = can.package {
        index(
            &format!("cans[{i}].package"),
            package,
            shelf.packages.len(),
            "kind of can",
        )?;
    }
    if let Some(own) = can.own_tare_g {
        estimate(bounds::MASS_G, &format!("cans[{i}].own_tare_g"), own)?;
    }
    estimate(
        bounds::CAN_LENGTH_M,
        &format!("cans[{i}].length_m"),
        can.length_m,
    )?;
    at_most(
        "readings of one can with measured film drawn between them",
        measured_draws(can),
        defaults::MAX_MEASURED_DRAWS,
    )?;
    for (j, evidence) in can.evidence.iter().enumerate() {
        let at = |field: &str| format!("cans[{i}].evidence[{j}].{field}");
        let loader = |n| index(&at("loader"), n, shelf.loaders.len(), "loader");
        match *evidence {
            Evidence::Wind { loader: n, clicks } => {
                loader(n)?;
                bounds::CLICKS.check_as(&at("clicks"), clicks)?;
            }
            Evidence::RanOut { loader: n, clicks } => {
                loader(n)?;
                RUN_OUT_CLICKS.check_as(&at("clicks"), clicks)?;
            }
            Evidence::Measured {
                loader: n,
                clicks,
                length_mm,
                sd_mm,
            } => {
                loader(n)?;
                bounds::CLICKS.check_as(&at("clicks"), clicks)?;
                LINEAR_LENGTH_MM.check_as(&at("length_mm"), length_mm)?;
                MEASURED_SD_MM.check_as(&at("sd_mm"), sd_mm)?;
            }
            Evidence::WindLength { mm } => estimate(LINEAR_LENGTH_MM, &at("mm"), mm)?,
            Evidence::Weigh { grams, sd_grams } | Evidence::WeighEmpty { grams, sd_grams } => {
                bounds::MASS_G.check_as(&at("grams"), grams)?;
                bounds::MASS_SD_G.check_as(&at("sd_grams"), sd_grams)?;
            }
            Evidence::Gauge {
                outer_mm,
                core_mm,
                sd_mm,
            } => {
                bounds::ROLL_DIAMETER_MM.check_as(&at("outer_mm"), outer_mm)?;
                bounds::CORE_MM.check_as(&at("core_mm"), core_mm)?;
                GAUGE_SD_MM.check_as(&at("sd_mm"), sd_mm)?;
                if outer_mm < core_mm - 4.0 * sd_mm {
                    return Err(Error::new(
                        Kind::Inconsistent,
                        at("outer_mm"),
                        format!("{outer_mm} mm around a core of {core_mm} mm"),
                        format!("not below the core of {core_mm} mm"),
                        "Measure across the roll and across its core again; the two may be exchanged.",
                    ));
                }
            }
            Evidence::Empty => {}
        }
    }
    Ok(())
}

/// Readings of a can with film of measured length drawn since the one before.
fn measured_draws(can: &CanInput) -> usize {
    let (mut pending, mut draws) = (false, 0);
    for evidence in &can.evidence {
        match evidence {
            Evidence::WindLength { mm } => pending |= 0.0 < mm.sd,
            Evidence::Wind { .. } => {}
            _ => draws += usize::from(std::mem::take(&mut pending)),
        }
    }
    draws
}

fn at_most(what: &str, given: usize, most: usize) -> Result<(), Error> {
    if given <= most {
        return Ok(());
    }
    Err(Error::new(
        Kind::TooLarge,
        format!("too many {what}"),
        given,
        format!("at most {most}"),
        "Estimate fewer at once.",
    ))
}

fn index(field: &str, given: usize, len: usize, noun: &str) -> Result<(), Error> {
    if given < len {
        return Ok(());
    }
    let allowed = match len {
        0 => format!("no {noun} was given"),
        _ => format!("0 to {}", len - 1),
    };
    Err(Error::new(
        Kind::Unknown,
        field,
        given,
        allowed,
        format!("Name a {noun} that is on the shelf."),
    ))
}

fn estimate(bounds: Bounds, field: &str, given: Estimate) -> Result<(), Error> {
    bounds.check_as(&format!("{field}.mean"), given.mean)?;
    sd(bounds, &format!("{field}.sd"), given.sd)
}

/// A standard deviation may be zero (known exactly) and no larger than the quantity's own range.
fn sd(bounds: Bounds, field: &str, given: f64) -> Result<(), Error> {
    Bounds {
        min: 0.0,
        max: bounds.max - bounds.min,
        ..bounds
    }
    .check_as(field, given)
    .map(|_| ())
}
