//! Named contrast targets: what to ask of the bench when one has no number of one's own.
//!
//! Only [`Measure::IsoTriangle`] at 0.80/1.30 stands in a standard; the others are habits, and say so.

use super::{Measure, Target};

/// Contrast that ISO 6 asks for: 0.80 over 1.30 log H ([S2]).
pub const ISO_CONTRAST: f64 = 0.80 / 1.30;

/// A target with a name and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NamedTarget {
    /// Stable word for programs.
    pub code: &'static str,
    /// What a photographer calls it.
    pub name: &'static str,
    /// The contrast.
    pub target: Target,
    /// Where the value comes from.
    pub source: &'static str,
}

const fn named(
    code: &'static str,
    name: &'static str,
    measure: Measure,
    value: f64,
    source: &'static str,
) -> NamedTarget {
    NamedTarget {
        code,
        name,
        target: Target { measure, value },
        source,
    }
}

const FROM_ISO: &str = "ISO 6:1993, by way of an encyclopaedia [S2]";
const FROM_MEMORY: &str = "from memory";
const COMMON: &str = "common practice, no source";

/// The targets the bench offers; a user's own value is as good.
///
/// N ± 1 and N ± 2 scale the normal average gradient by the subject's range: seven stops for normal, one or two more
/// for N − 1 and N − 2, one or two fewer for N + 1 and N + 2, all to the same negative density range.
pub const NAMED_TARGETS: [NamedTarget; 8] = [
    named(
        "normal",
        "normal (ISO triangle)",
        Measure::IsoTriangle,
        ISO_CONTRAST,
        FROM_ISO,
    ),
    named(
        "n_minus_2",
        "N − 2",
        Measure::IsoTriangle,
        ISO_CONTRAST * 7.0 / 9.0,
        COMMON,
    ),
    named(
        "n_minus_1",
        "N − 1",
        Measure::IsoTriangle,
        ISO_CONTRAST * 7.0 / 8.0,
        COMMON,
    ),
    named(
        "n_plus_1",
        "N + 1",
        Measure::IsoTriangle,
        ISO_CONTRAST * 7.0 / 6.0,
        COMMON,
    ),
    named(
        "n_plus_2",
        "N + 2",
        Measure::IsoTriangle,
        ISO_CONTRAST * 7.0 / 5.0,
        COMMON,
    ),
    named(
        "diffuser",
        "diffuser enlarger",
        Measure::ContrastIndex,
        0.58,
        FROM_MEMORY,
    ),
    named(
        "condenser",
        "condenser enlarger",
        Measure::ContrastIndex,
        0.45,
        FROM_MEMORY,
    ),
    named("scanning", "scanning", Measure::ContrastIndex, 0.50, COMMON),
];
