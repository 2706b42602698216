//! The wedge bench: how fast a stock is and how long to develop it, from strips that saw graded exposures.
//!
//! A strip is densities against log10 exposure. Each strip gets a monotone smooth curve; from the curve come base +
//! fog, the speed point, the ISO triangle, gamma, average gradient, contrast index and Dmax, each with a 95 %
//! interval from resampling. The family of strips gives contrast against developing time, the time for a wanted
//! contrast, and the speed at that time.
//!
//! It reads no files and draws nothing. It never extrapolates without saying so, and gives an ISO speed only where
//! the exposure is absolute.

pub mod record;
pub mod scan;
pub mod shots;
mod targets;

pub use targets::{ISO_CONTRAST, NAMED_TARGETS, NamedTarget};

use crate::caveat::Caveat;
use crate::error::Error;
use crate::words::worded;

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

/// A standard speed: the arithmetic value of the list and its degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandardSpeed {
    /// Arithmetic speed, a number of the third-stop list.
    pub iso: f64,
    /// Logarithmic speed in degrees ([S4]).
    pub degrees: i32,
}

/// What the speed numbers of a test mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedKind {
    /// Arithmetic speed from lux-seconds ([S3]).
    Speed,
    /// Exposure index, from frames around a meter reading; in stops if the meter's EI is not known.
    ExposureIndex,
    /// Only differences between strips and tests mean something.
    Relative,
}

/// A smooth that can be fitted to a strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Smooth {
    /// Base, toe and straight line: four parameters.
    ToeLine,
    /// Base, toe, straight line and shoulder: six parameters.
    ToeShoulder,
    /// Penalised spline of the logarithm of the slope: any rising curve.
    LogSlopeSpline,
}

/// How well one smooth foretold readings it was not shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SmoothScore {
    /// The smooth.
    pub smooth: Smooth,
    /// Root mean square error of prediction by cross-validation, density.
    pub prediction_error: f64,
}

/// Which smooth was chosen for all strips of a test, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// The smooth chosen.
    pub smooth: Smooth,
    /// One sentence for the user.
    pub reason: String,
    /// All that were tried, in the order of [`Smooth`].
    pub scores: Vec<SmoothScore>,
    /// Standard deviation of one reading as the curves leave it, density.
    pub noise_sd: f64,
}

/// One step of a strip as it was fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// log10 exposure, as [`StripResult::log_h_speed_point`].
    pub log_h: f64,
    /// Density read.
    pub density: f64,
    /// Standard deviation of the reading (given, or estimated from the scatter).
    pub sd: f64,
    /// Density of the curve there.
    pub fitted: f64,
}

/// One point of a sampled curve with its 95 % band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// log10 exposure, or developing time in minutes.
    pub x: f64,
    /// Density, or contrast.
    pub y: Interval,
}

/// What one strip says.
#[derive(Debug, Clone, PartialEq)]
pub struct StripResult {
    /// Developing time in minutes.
    pub time_min: f64,
    /// Density of base and fog (of the least density, for reversal).
    pub base_fog: Interval,
    /// log10 exposure at the speed point: lux-seconds, relative, or in camera relative to the meter reading.
    pub log_h_speed_point: Option<Interval>,
    /// ISO arithmetic speed, only where the exposure is absolute.
    pub speed: Option<Interval>,
    /// That speed on the standard list, as "125/22°".
    pub speed_rounded: Option<StandardSpeed>,
    /// Whether [S2] holds within 0.80 ± 0.05, so that the speed may be called an ISO speed; none where it cannot be told.
    pub iso_condition_met: Option<bool>,
    /// Stops that the EI lies above the EI the meter was set to, in camera only.
    pub ei_stops: Option<Interval>,
    /// EI, in camera and with the meter's EI known.
    pub ei: Option<Interval>,
    /// That EI on the standard list.
    pub ei_rounded: Option<StandardSpeed>,
    /// Density gained over 1.30 log H above the speed point ([S2]).
    pub delta_d_over_1_30: Option<Interval>,
    /// Steepest mean slope over 0.60 log H ([S10]).
    pub gamma: Option<Interval>,
    /// Average gradient over 1.5 log H ([S15]).
    pub average_gradient: Option<Interval>,
    /// Contrast index ([S13]).
    pub contrast_index: Option<Interval>,
    /// log10 exposure of the centre of the two arcs of the contrast index, on the base + fog line: for a drawing.
    pub contrast_index_centre: Option<f64>,
    /// log10 exposure where the slope is 0.3 of the mean slope over the next 1.5 log H ([S16]).
    pub log_h_fractional_gradient: Option<Interval>,
    /// Useful range in log H: from the speed point to where the slope has fallen to a quarter of gamma, or to the last step.
    pub useful_range: Option<Interval>,
    /// Highest density the curve reaches within the steps.
    pub d_max: Interval,
    /// The steps as read and as fitted.
    pub points: Vec<Point>,
    /// The curve over the range of the steps, with its 95 % band.
    pub curve: Vec<CurvePoint>,
    /// Why a number is missing or weak.
    pub caveats: Vec<Caveat>,
}

impl StripResult {
    /// The contrast of this strip in one measure, if the steps reach far enough.
    pub fn contrast(&self, measure: Measure) -> Option<Interval> {
        let over_1_30 = |i: Interval| Interval {
            value: i.value / 1.30,
            lower95: i.lower95 / 1.30,
            upper95: i.upper95 / 1.30,
        };
        match measure {
            Measure::IsoTriangle => self.delta_d_over_1_30.map(over_1_30),
            Measure::AverageGradient => self.average_gradient,
            Measure::ContrastIndex => self.contrast_index,
            Measure::Gamma => self.gamma,
        }
    }
}

/// How contrast grows with developing time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeLaw {
    /// Straight against the logarithm of time: two strips, or three that growth does not fit.
    LogTime,
    /// G∞ (1 − e^(−kt)): three strips or more.
    Growth,
}

/// Contrast against developing time.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeContrast {
    /// Measured how.
    pub measure: Measure,
    /// By which law the strips are joined.
    pub law: TimeLaw,
    /// Why that law, one sentence for the user.
    pub reason: String,
    /// The strips: x in minutes, y the contrast.
    pub points: Vec<CurvePoint>,
    /// The law's curve with its 95 % band: x in minutes, y the contrast.
    pub curve: Vec<CurvePoint>,
}

/// Developing for a wanted contrast.
#[derive(Debug, Clone, PartialEq)]
pub struct AtTarget {
    /// The contrast wanted.
    pub target: Target,
    /// Developing time in minutes.
    pub time_min: Interval,
    /// log10 exposure at the speed point at that time.
    pub log_h_speed_point: Option<Interval>,
    /// Speed at that time, where the exposure is absolute.
    pub speed: Option<Interval>,
    /// That speed on the standard list.
    pub speed_rounded: Option<StandardSpeed>,
    /// Stops that the EI lies above the EI the meter was set to, in camera only.
    pub ei_stops: Option<Interval>,
    /// EI at that time, in camera and with the meter's EI known.
    pub ei: Option<Interval>,
    /// That EI on the standard list.
    pub ei_rounded: Option<StandardSpeed>,
    /// Density of base and fog at that time.
    pub base_fog: Interval,
    /// How far the time lies outside the strips, as a factor of the nearest one's time above 1; none within them.
    pub extrapolated: Option<f64>,
    /// Why a number is missing or weak.
    pub caveats: Vec<Caveat>,
}

/// How much work to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Rounds of the bootstrap.
    pub rounds: usize,
}

impl Default for Effort {
    fn default() -> Self {
        Self { rounds: 1000 }
    }
}

/// A whole test, worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// What the strips are made of.
    pub material: Material,
    /// What the speed numbers mean.
    pub speed_kind: SpeedKind,
    /// Which smooth was chosen and why.
    pub model: Model,
    /// The strips, in the order they were given.
    pub strips: Vec<StripResult>,
    /// Contrast against time in the target's measure (ISO triangle without a target); none with one strip.
    pub time_contrast: Option<TimeContrast>,
    /// Developing for the test's target; none without one, with one strip, or where a caveat says it is out of reach.
    pub at_target: Option<AtTarget>,
    /// Why a number is missing or weak.
    pub caveats: Vec<Caveat>,
    draws: Draws,
}

/// What the bootstrap rounds gave, kept so that another target costs nothing.
#[derive(Debug, Clone, PartialEq, Default)]
struct Draws {}

/// Work a test out.
///
/// # Units
/// As the field names say; developing times in minutes.
/// # Errors
/// Fewer than five usable steps, no unexposed patch, equal times, density falling with exposure, and more: each
/// refusal names the strip.
pub fn analyse(_test: &Test, _effort: Effort) -> Result<Analysis, Error> {
    unimplemented!()
}

impl Analysis {
    /// Contrast against time in another measure.
    ///
    /// # Errors
    /// One strip only, or strips whose steps do not reach far enough.
    pub fn time_contrast_in(&self, _measure: Measure) -> Result<TimeContrast, Error> {
        let _ = &self.draws;
        unimplemented!()
    }

    /// Developing for another target, from the same bootstrap rounds: quick enough to follow a slider.
    ///
    /// # Errors
    /// One strip only, colour or reversal material, a target out of bounds or too far outside the strips.
    pub fn at(&self, _target: Target) -> Result<AtTarget, Error> {
        unimplemented!()
    }
}

/// A difference between two tests, second less first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The difference with its 95 % interval.
    pub difference: Interval,
    /// Whether the interval leaves zero out.
    pub more_than_noise: bool,
}

/// Two tests at one developing time.
#[derive(Debug, Clone, PartialEq)]
pub struct AtEqualTime {
    /// Developing time in minutes.
    pub time_min: f64,
    /// Speed or EI in stops; positive where the second is faster.
    pub speed_stops: Option<Difference>,
    /// Base + fog, density.
    pub base_fog: Difference,
    /// Contrast in [`Comparison::measure`].
    pub contrast: Option<Difference>,
}

/// How a second test differs from a first.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Contrast measured how.
    pub measure: Measure,
    /// At the time each needs for the first's target: speed or EI in stops; positive where the second is faster.
    pub speed_stops: Option<Difference>,
    /// Time needed for the first's target, minutes.
    pub time_min: Option<Difference>,
    /// Base + fog at the time each needs for the first's target, density.
    pub base_fog: Option<Difference>,
    /// At times that both cover.
    pub at_times: Vec<AtEqualTime>,
    /// Why a number is missing or weak.
    pub caveats: Vec<Caveat>,
}

/// How `second` differs from `first`, and whether it is more than noise.
///
/// # Errors
/// Tests whose speeds cannot be compared, or of different material.
pub fn compare(_first: &Analysis, _second: &Analysis) -> Result<Comparison, Error> {
    unimplemented!()
}

/// The three layers of a colour film, read through three filters on the same strips.
#[derive(Debug, Clone, PartialEq)]
pub struct ColourTest {
    /// Read in red: the cyan dye.
    pub red: Test,
    /// Read in green: the magenta dye.
    pub green: Test,
    /// Read in blue: the yellow dye.
    pub blue: Test,
}

/// One strip of a colour film, the layers taken together.
#[derive(Debug, Clone, PartialEq)]
pub struct ColourStrip {
    /// Developing time in minutes.
    pub time_min: f64,
    /// log10 exposure that stands for the film.
    pub log_h: Option<Interval>,
    /// Speed, only where the exposure is absolute.
    pub speed: Option<Interval>,
    /// That speed on the standard list.
    pub speed_rounded: Option<StandardSpeed>,
    /// Stops that the EI lies above the EI the meter was set to, in camera only.
    pub ei_stops: Option<Interval>,
    /// EI, in camera and with the meter's EI known.
    pub ei: Option<Interval>,
    /// That EI on the standard list.
    pub ei_rounded: Option<StandardSpeed>,
}

/// A colour test, worked out; it has no contrast target.
#[derive(Debug, Clone, PartialEq)]
pub struct ColourAnalysis {
    /// The red-read layer.
    pub red: Analysis,
    /// The green-read layer.
    pub green: Analysis,
    /// The blue-read layer.
    pub blue: Analysis,
    /// The strips, the layers taken together, in the order they were given.
    pub strips: Vec<ColourStrip>,
    /// Why a number is missing or weak.
    pub caveats: Vec<Caveat>,
}

/// Work a colour test out: three layers and the combined speed by the standard of its material.
///
/// # Errors
/// As [`analyse`], and layers that do not share exposure, times and material.
pub fn analyse_colour(_test: &ColourTest, _effort: Effort) -> Result<ColourAnalysis, Error> {
    unimplemented!()
}
