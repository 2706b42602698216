//! Washing: how fast thiosulfate leaves, what cold water costs, which steps in which order.
//!
//! The law speaks of water that really runs past the film. That a wash was enough is shown by a test of the film,
//! not by a sum; the limits of the standards are here as facts to compare a laboratory's figure with.

use crate::bounds::Bounds;
use crate::error::Error;
use crate::words::worded;

use super::fixing::BATH_C;

/// Washing time.
pub const WASH_MIN: Bounds = Bounds {
    what: "a washing time",
    unit: "min",
    min: 0.0,
    max: 1440.0,
};
/// Minutes in which the thiosulfate halves.
pub const HALVING_MIN: Bounds = Bounds {
    what: "the halving time of a wash",
    unit: "min",
    min: 0.1,
    max: 120.0,
};
/// Minutes in which the thiosulfate halves in direct running water.
///
/// # Source
/// [D17].
pub const RUNNING_WATER_HALVING_MIN: f64 = 1.0;
/// Least wash when all water changes every three minutes.
///
/// # Source
/// [D17].
pub const LEAST_WITH_CHANGES_MIN: f64 = 20.0;
/// Least wash in a fast washer.
///
/// # Source
/// [D17].
pub const LEAST_FAST_WASHER_MIN: f64 = 5.0;
/// Thiosulfate that may stay in film for long keeping, g/m²; radiographic film 0.020.
///
/// # Source
/// [D20].
pub const THIOSULFATE_LIMIT_G_PER_M2: f64 = 0.014;
/// Whose limit [`THIOSULFATE_LIMIT_G_PER_M2`] is.
///
/// # Source
/// [D20], quoted at second hand.
pub const LIMIT_FROM: &str =
    "ANSI IT9.1-1996 (now ISO 18901), film for long keeping, quoted at second hand";
/// The same for radiographic film.
///
/// # Source
/// [D20].
pub const RADIOGRAPHIC_LIMIT_G_PER_M2: f64 = 0.020;
/// What a laboratory measures and when.
///
/// # Source
/// [D21], [D22].
pub const LABORATORY: &str = "Thiosulfate is measured by methylene blue within 14 days of processing (ISO 18917 \
     also knows iodine-amylose and silver sulfide densitometry). A drop test at home says good or bad, not a figure.";

/// Grams per square metre as the micrograms per square centimetre that laboratories print.
///
/// # Units
/// g/m² to µg/cm².
/// # Domain
/// Finite.
/// # Source
/// [D20], [D21]: 0.014 g/m² are 1.4 µg/cm².
pub fn ug_per_cm2(g_per_m2: f64) -> f64 {
    g_per_m2 * 100.0
}

/// Share of the thiosulfate still there after `minutes`: it halves every `halving_min`.
///
/// # Units
/// min; result without unit.
/// # Domain
/// `minutes` within [`WASH_MIN`], `halving_min` within [`HALVING_MIN`].
/// # Errors
/// Out of range.
/// # Source
/// [D17].
/// # Example
/// ```
/// use spoolwright_core::wet::wash;
/// // Two minutes of running water leave a quarter.
/// let left = wash::residual_share(2.0, wash::RUNNING_WATER_HALVING_MIN).unwrap();
/// assert!((left - 0.25).abs() < 1e-12);
/// ```
pub fn residual_share(minutes: f64, halving_min: f64) -> Result<f64, Error> {
    Ok((-WASH_MIN.check(minutes)? / HALVING_MIN.check(halving_min)?).exp2())
}

/// Known points of cold water: °C and factor, warm first.
const COLD: [(f64, f64); 3] = [(20.0, 1.0), (10.0, 2.0), ((35.0 - 32.0) / 1.8, 4.0)];

/// What a wash at 20 °C is multiplied by in colder water: 2 at 10 °C (50 °F), 4 at 1.7 °C (35 °F), straight in the
/// logarithm between and a little beyond; 1 at 20 °C and above. It was found for prints and is a rule of thumb for film.
///
/// # Units
/// °C; result without unit.
/// # Domain
/// `temperature_c` within [`BATH_C`].
/// # Errors
/// Out of range.
/// # Source
/// [D16]; that 1 belongs to 20 °C is own choice.
pub fn cold_factor(temperature_c: f64) -> Result<f64, Error> {
    let t = BATH_C.check(temperature_c)?;
    if COLD[0].0 <= t {
        return Ok(1.0);
    }
    let (warm, cold) = if COLD[1].0 <= t {
        (COLD[0], COLD[1])
    } else {
        (COLD[1], COLD[2])
    };
    let along = (warm.0 - t) / (warm.0 - cold.0);
    Ok(warm.1 * (cold.1 / warm.1).powf(along))
}

worded! {
    /// What is done with the film after the fixer.
    WashStep {
        /// Plain water, briefly.
        #[default]
        Rinse = "rinse",
        /// A clearing agent.
        ClearingAgent = "clearing-agent",
        /// The wash proper.
        Wash = "wash",
        /// The wetting agent before drying.
        WettingAgent = "wetting-agent",
    }
}

/// The steps after the fixer with their seconds, in water of `temperature_c`; only the wash is longer in the cold.
///
/// # Units
/// °C; s.
/// # Domain
/// `temperature_c` within [`BATH_C`].
/// # Errors
/// Out of range.
/// # Source
/// [D18], defaults to be changed; the cold [D16].
pub fn sequence(clearing_agent: bool, temperature_c: f64) -> Result<Vec<(WashStep, f64)>, Error> {
    let cold = cold_factor(temperature_c)?;
    Ok(if clearing_agent {
        vec![
            (WashStep::Rinse, 30.0),
            (WashStep::ClearingAgent, 120.0),
            (WashStep::Wash, 300.0 * cold),
            (WashStep::WettingAgent, 60.0),
        ]
    } else {
        vec![
            (WashStep::Wash, 1800.0 * cold),
            (WashStep::WettingAgent, 60.0),
        ]
    })
}
