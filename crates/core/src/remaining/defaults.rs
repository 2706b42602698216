//! What to assume before anything is learnt, and how far to trust it.
//!
//! Every value is a starting point that evidence overrides. Those without a key are common practice, no source.

use super::{LoaderPrior, PackagePrior, StockPrior};
use crate::film::Pitch;
use crate::quantity::Estimate;

/// Loader's click scale: a sprocket counts perforations, so 1; 0.3 % for shrunken film and a hand that stops between
/// clicks (common practice, no source).
pub const CLICK_SCALE: Estimate = Estimate::new(1.0, 0.003);
/// Uncounted film per roll: 95 ± 25 mm makes 30.48 m give the usual 18 full rolls ([G19]).
pub const UNCOUNTED_MM: Estimate = Estimate::new(95.0, 25.0);
/// Film weight per metre: 7.5 g ± 10 % ([G15], weak: it must be learnt).
pub const LINEAR_MASS_G_PER_M: Estimate = Estimate::new(7.5, 0.75);
/// Effective thickness as wound: between thin polyester and thick acetate ([G11] to [G14]), air included.
pub const THICKNESS_MM: Estimate = Estimate::new(0.135, 0.012);
/// Tare of a can nobody has weighed empty: wide on purpose (no source).
pub const TARE_G: Estimate = Estimate::new(150.0, 75.0);
/// Can-to-can standard deviation of the tare within one kind: stamped tins and moulded cores of one maker differ by
/// about half a per cent (from memory, no source).
pub const PACKAGE_SPREAD_G: f64 = 1.0;
/// Relative standard deviation of the length of a new can (no source).
pub const NEW_CAN_RELATIVE_SD: f64 = 0.005;
/// Standard deviation of a kitchen scale that shows whole grams.
pub const SCALE_SD_G: f64 = 1.0;
/// Standard deviation of a diameter taken in the dark.
pub const GAUGE_SD_MM: f64 = 0.5;
/// Core of a 30 m roll when nobody has measured it ([G17], weak).
pub const CORE_MM: f64 = 31.75;
/// Standard deviation of a roll measured end to end, offcuts included.
pub const MEASURED_SD_MM: f64 = 5.0;
/// Standard deviation of the film unaccounted for when a can is called empty without a count: a last short roll that
/// nobody wrote down.
pub const EMPTY_SD_M: f64 = 0.5;

/// Most cans in one shelf.
pub const MAX_CANS: usize = 5_000;
/// Most pieces of evidence in one shelf.
pub const MAX_EVIDENCE: usize = 500_000;
/// Most times that a can may be read (weighed, gauged, …) with film of measured length drawn since the last reading:
/// each is an unknown of its own.
pub const MAX_MEASURED_DRAWS: usize = 300;
/// Most loaders, stocks and kinds of can together.
pub const MAX_SHARED: usize = 600;

/// Standard deviation of the length at which a can ran out: half a click.
///
/// Between nothing and one whole click went by without a tick, and the trim that is part of the uncounted film may
/// not have been cut; the two pull opposite ways, so the run-out is taken as zero left, give or take half a click.
pub fn ran_out_sd_m(pitch: Pitch) -> f64 {
    0.5 * pitch.click().to_m()
}

/// Length of a new can as its label says, ± 0.5 %.
pub fn new_can_length_m(nominal_m: f64) -> Estimate {
    Estimate::new(nominal_m, NEW_CAN_RELATIVE_SD * nominal_m)
}

/// A loader nobody has learnt anything about.
pub fn loader() -> LoaderPrior {
    LoaderPrior {
        click_scale: CLICK_SCALE,
        uncounted_mm: UNCOUNTED_MM,
    }
}

/// A stock nobody has learnt anything about.
pub fn stock() -> StockPrior {
    StockPrior {
        linear_mass_g_per_m: LINEAR_MASS_G_PER_M,
        thickness_mm: THICKNESS_MM,
    }
}

/// A kind of can nobody has weighed empty.
pub fn package() -> PackagePrior {
    PackagePrior {
        tare_g: TARE_G,
        spread_g: PACKAGE_SPREAD_G,
    }
}
