//! What is left in a can: one estimate from every kind of evidence, over all cans that share something.
//!
//! Unknown per can are the starting length and the tare (can, bag, core); per loader the click scale k and the
//! uncounted film per roll u; per stock the linear mass and the thickness; per kind of can the mean tare.
//! A winding draws `clicks · 8 · pitch · k + u`; a closed can weighs `tare + linear mass · length`; a roll's diameter
//! is that of [`crate::spool`]; a can that ran out had nothing left. All evidence of all cans is solved together for
//! the most probable values (Gauss–Newton), and the curvature there gives the covariance (Laplace's method).
//!
//! Two things it does not do. Roll-to-roll scatter of u is not modelled: u is one number per loader. That film left
//! cannot be negative is honoured in what is reported (a normal distribution cut at zero), but is not fed back to
//! the loader or to other cans.

mod build;
mod caveats;
mod check;
mod next;
mod posterior;
mod solve;
mod truncated;

pub mod defaults;

pub use next::{MeasurementKind, NextMeasurement};
pub use posterior::{CanPosterior, LoaderPosterior, PackagePosterior, Posterior, StockPosterior};
pub use truncated::Remaining;

use crate::error::Error;
use crate::film::Pitch;
use crate::quantity::Estimate;

/// What is known of a loader before the evidence of this shelf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoaderPrior {
    /// Film that passes per click, relative to eight perforations (k).
    pub click_scale: Estimate,
    /// Film drawn per roll that the counter does not see, trim included (u), in mm.
    pub uncounted_mm: Estimate,
}

/// What is known of a stock before the evidence of this shelf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockPrior {
    /// Mass of one metre of film.
    pub linear_mass_g_per_m: Estimate,
    /// Effective total thickness as wound.
    pub thickness_mm: Estimate,
}

/// What is known of a kind of can (can, bag and core together).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackagePrior {
    /// Mean tare of this kind.
    pub tare_g: Estimate,
    /// Standard deviation from can to can within this kind.
    pub spread_g: f64,
}

/// One can and all that has happened to it.
#[derive(Debug, Clone, PartialEq)]
pub struct CanInput {
    /// Index of its stock in [`Shelf::stocks`].
    pub stock: usize,
    /// Index of its kind in [`Shelf::packages`], if known.
    pub package: Option<usize>,
    /// What the user knows of this very can's tare; joins what its kind says. With neither, a wide default holds.
    pub own_tare_g: Option<Estimate>,
    /// Pitch of the film.
    pub pitch: Pitch,
    /// Length at the start, before any evidence.
    pub length_m: Estimate,
    /// What happened, in time order.
    pub evidence: Vec<Evidence>,
}

/// One thing that happened to a can.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Evidence {
    /// A roll was wound: it drew `clicks · 8 · pitch · k + u`.
    Wind {
        /// Index in [`Shelf::loaders`].
        loader: usize,
        /// Clicks counted.
        clicks: f64,
    },
    /// Film of a known length left the can: cut to measure, wound without a counter, thrown away.
    WindLength {
        /// The length and its standard deviation.
        mm: Estimate,
    },
    /// The closed can (can, bag, core and film) stood on a scale.
    Weigh {
        /// Reading.
        grams: f64,
        /// Standard deviation of the reading.
        sd_grams: f64,
    },
    /// Can, bag and core without film stood on a scale.
    WeighEmpty {
        /// Reading.
        grams: f64,
        /// Standard deviation of the reading.
        sd_grams: f64,
    },
    /// The roll's diameter was taken in the dark.
    Gauge {
        /// Across the roll.
        outer_mm: f64,
        /// Across its core.
        core_mm: f64,
        /// Standard deviation of the outer diameter.
        sd_mm: f64,
    },
    /// The can ended at this click of a roll: that roll drew what a winding of these clicks draws, and nothing is left.
    RanOut {
        /// Index in [`Shelf::loaders`].
        loader: usize,
        /// Clicks counted when the film ended.
        clicks: f64,
    },
    /// The can was found or declared empty, without a count.
    Empty,
    /// A roll wound from this can (and recorded as wound) was measured end to end, offcuts included.
    ///
    /// It draws nothing by itself; it teaches the loader's k and u.
    Measured {
        /// Index in [`Shelf::loaders`].
        loader: usize,
        /// Clicks counted when that roll was wound.
        clicks: f64,
        /// All film that the roll drew.
        length_mm: f64,
        /// Standard deviation of that length.
        sd_mm: f64,
    },
}

/// Everything that is to be solved together.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shelf {
    /// Loaders, as known before.
    pub loaders: Vec<LoaderPrior>,
    /// Stocks, as known before.
    pub stocks: Vec<StockPrior>,
    /// Kinds of can, as known before.
    pub packages: Vec<PackagePrior>,
    /// Cans with their history.
    pub cans: Vec<CanInput>,
}

/// Solve a whole shelf: what is left in every can, and what was learnt of loaders, stocks and kinds of can.
///
/// A measurement more than four standard deviations from what everything else says is down-weighted and named in a
/// caveat of its can; so are other reasons to trust a number less.
///
/// # Units
/// As the field names say.
/// # Domain
/// Every number within [`crate::bounds`] and [`defaults`]; at most [`defaults::MAX_CANS`] cans,
/// [`defaults::MAX_EVIDENCE`] pieces of evidence and [`defaults::MAX_SHARED`] loaders, stocks and kinds together.
/// # Errors
/// Out of range, an index that is not there ([`crate::Kind::Unknown`]), a roll thinner than its core
/// ([`crate::Kind::Inconsistent`]), too much ([`crate::Kind::TooLarge`]).
/// # Source
/// Own derivation: the model of this module's header; Gauss–Newton and Laplace's method are textbook.
/// # Example
/// ```
/// use spoolwright_core::film::Pitch;
/// use spoolwright_core::remaining::{CanInput, Evidence, Shelf, defaults, estimate};
/// let shelf = Shelf {
///     loaders: vec![defaults::loader()],
///     stocks: vec![defaults::stock()],
///     packages: vec![],
///     cans: vec![CanInput {
///         stock: 0,
///         package: None,
///         own_tare_g: None,
///         pitch: Pitch::Long,
///         length_m: defaults::new_can_length_m(30.48),
///         evidence: vec![Evidence::Wind { loader: 0, clicks: 40.0 }],
///     }],
/// };
/// let left = estimate(&shelf).unwrap().remaining_m(0);
/// assert!((left.mean - (30.48 - 1.615)).abs() < 1e-6);
/// ```
pub fn estimate(shelf: &Shelf) -> Result<Posterior, Error> {
    check::shelf(shelf)?;
    let model = build::Model::new(shelf);
    let fit = solve::fit(&model);
    let mut posterior = Posterior::new(model, fit);
    posterior.write_caveats();
    Ok(posterior)
}
