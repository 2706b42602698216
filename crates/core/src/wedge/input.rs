//! What a test of a stock is: exposure, strips, material and the contrast wanted.
//!
//! Nothing here is judged; `check` does that.

use crate::words::worded;

/// How the steps of the strips were exposed.
#[derive(Debug, Clone, PartialEq)]
pub enum Exposure {
    /// Through a wedge under a known exposure: log10 of the exposure in lux-seconds that zero wedge density would get.
    Absolute {
        /// log10 lux-seconds behind nothing.
        log_h_at_zero_density: f64,
        /// Density of each wedge step.
        wedge_density: Vec<f64>,
    },
    /// Through a wedge under an unknown exposure, the same for every strip: speeds only relative to each other.
    Relative {
        /// Density of each wedge step.
        wedge_density: Vec<f64>,
    },
    /// An even target in a camera, at stops around the meter reading.
    InCamera {
        /// Exposure of each frame in stops from what the meter asked for; negative is less light.
        meter_offset_stops: Vec<f64>,
        /// EI the meter was set to, if known.
        meter_ei: Option<f64>,
    },
}

/// One strip: one developing time.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Developing time in minutes.
    pub time_min: f64,
    /// Density of each step, in the order of the exposure's steps; none where a patch could not be read.
    pub density: Vec<Option<f64>>,
    /// Standard deviation of one reading.
    pub density_sd: Option<f64>,
    /// Density of an unexposed patch or frame of this very strip, if read; goes before the test's.
    pub base_fog: Option<f64>,
}

worded! {
    /// What a strip is made of: how density goes with exposure, and which speed criterion holds.
    Material {
        /// Black-and-white negative: speed by [S1]–[S4].
        #[default]
        Negative = "negative",
        /// One layer of a colour negative, read in its own filter: no contrast target.
        ColourNegative = "colour-negative",
        /// Reversal, black-and-white or one layer of colour: density falls with exposure; no contrast target.
        Reversal = "reversal",
    }
}

worded! {
    /// A measure of contrast.
    Measure {
        /// Density gained over 1.30 log H above the speed point, divided by 1.30 ([S2]).
        #[default]
        IsoTriangle = "iso_triangle",
        /// Slope from the 0.10 point to the point 1.5 log H later ([S15]).
        AverageGradient = "average_gradient",
        /// Chord between two arcs of 0.2 and 2.2 about one centre on the base + fog line ([S13]).
        ContrastIndex = "contrast_index",
        /// Steepest slope of the straight part ([S10]).
        Gamma = "gamma",
    }
}

/// The contrast wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// Measured how.
    pub measure: Measure,
    /// How much; for [`Measure::IsoTriangle`] 0.80/1.30 unless the user says otherwise.
    pub value: f64,
}

/// A whole test.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// How the steps were exposed.
    pub exposure: Exposure,
    /// The strips, one a developing time.
    pub strips: Vec<Strip>,
    /// Density of unexposed, developed film, if read once for all strips.
    pub base_fog: Option<f64>,
    /// What the strips are made of.
    pub material: Material,
    /// The contrast wanted, if any.
    pub target: Option<Target>,
}
