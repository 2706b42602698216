//! The wedge bench: how fast a stock is and how long to develop it, from strips that saw graded exposures.
//!
//! A strip is densities against log10 exposure. Each strip gets a monotone smooth curve; from the curve come base +
//! fog, the speed point, the ISO triangle, gamma, average gradient, contrast index and Dmax, each with a 95 %
//! interval from resampling. The family of strips gives contrast against developing time, the time for a wanted
//! contrast, and the speed at that time.
//!
//! It reads no files and draws nothing. It never extrapolates without saying so, and gives an ISO speed only where
//! the exposure is absolute.

use crate::caveat::Caveat;

/// A number with its 95 % interval; the field that holds it names the unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Best value.
    pub value: f64,
    /// Lower end of the 95 % interval.
    pub lower95: f64,
    /// Upper end of the 95 % interval.
    pub upper95: f64,
}

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
}

/// What a strip is made of: how density goes with exposure, and which speed criterion holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Material {
    /// Black-and-white negative: speed by [S1]–[S4].
    #[default]
    Negative,
    /// One layer of a colour negative, read in its own filter: no contrast target.
    ColourNegative,
    /// Reversal, black-and-white or one layer of colour: density falls with exposure; no contrast target.
    Reversal,
}

/// A measure of contrast.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Measure {
    /// Density gained over 1.30 log H above the speed point, divided by 1.30 ([S2]).
    #[default]
    IsoTriangle,
    /// Slope from the 0.10 point to the point 1.5 log H later ([S15]).
    AverageGradient,
    /// Chord between two arcs of 0.2 and 2.2 about one centre on the base + fog line ([S13]).
    ContrastIndex,
    /// Steepest slope of the straight part ([S10]).
    Gamma,
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
    /// Density of unexposed, developed film, if read separately.
    pub base_fog: Option<f64>,
    /// What the strips are made of.
    pub material: Material,
    /// The contrast wanted, if any.
    pub target: Option<Target>,
}

/// What one strip says.
#[derive(Debug, Clone, PartialEq)]
pub struct StripResult {
    /// Developing time in minutes.
    pub time_min: f64,
    /// Density of base and fog.
    pub base_fog: Interval,
    /// log10 exposure at the speed point: lux-seconds, relative, or in camera relative to the meter reading.
    pub log_h_speed_point: Option<Interval>,
    /// ISO arithmetic speed, only where the exposure is absolute.
    pub speed: Option<Interval>,
    /// Stops that the EI lies above the EI the meter was set to, in camera only.
    pub ei_stops: Option<Interval>,
    /// EI, in camera and with the meter's EI known.
    pub ei: Option<Interval>,
    /// Density gained over 1.30 log H above the speed point.
    pub delta_d_over_1_30: Option<Interval>,
    /// Steepest slope of the straight part.
    pub gamma: Option<Interval>,
    /// Average gradient over 1.5 log H.
    pub average_gradient: Option<Interval>,
    /// Contrast index.
    pub contrast_index: Option<Interval>,
    /// Highest density the curve reaches within the steps.
    pub d_max: Interval,
    /// Why a number is missing or weak.
    pub caveats: Vec<Caveat>,
}
