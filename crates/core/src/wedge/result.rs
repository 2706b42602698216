//! What an analysis says: strips, curves, contrast against time, and developing for a target.
//!
//! Values and their 95 % intervals only; how they are found is the business of the other modules.

use super::family::Draws;
use super::measures::TRIANGLE;
use super::{Material, Measure, Target};
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

impl Interval {
    /// A number that somebody gave or chose: it has no width.
    pub const fn exactly(value: f64) -> Self {
        Self {
            value,
            lower95: value,
            upper95: value,
        }
    }
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
    /// The same with free bends of the slope, as far as the readings ask for them: any rising curve.
    FreeBends,
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
            value: i.value / TRIANGLE,
            lower95: i.lower95 / TRIANGLE,
            upper95: i.upper95 / TRIANGLE,
        };
        match measure {
            Measure::IsoTriangle => self.delta_d_over_1_30.map(over_1_30),
            Measure::AverageGradient => self.average_gradient,
            Measure::ContrastIndex => self.contrast_index,
            Measure::Gamma => self.gamma,
        }
    }

    /// Density of the sampled curve at an exposure, straight between its two nearest samples; none outside the steps.
    ///
    /// # Units
    /// log10 exposure as [`StripResult::log_h_speed_point`]; density.
    /// # Source
    /// Own derivation: interpolation of [`StripResult::curve`].
    pub fn on_curve(&self, log_h: f64) -> Option<f64> {
        on_samples(&self.curve, log_h)
    }
}

/// The sampled curve at `x`, straight between its two nearest samples; none outside them.
fn on_samples(curve: &[CurvePoint], x: f64) -> Option<f64> {
    curve.windows(2).find_map(|pair| {
        let [a, b] = pair else { return None };
        let part = (x - a.x) / (b.x - a.x);
        (0.0..=1.0)
            .contains(&part)
            .then_some(a.y.value + part * (b.y.value - a.y.value))
    })
}

/// How contrast grows with developing time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeLaw {
    /// Straight against the logarithm of time: two strips, or more that growth does not fit.
    LogTime,
    /// G∞ (1 − e^(−kt)): three strips, or more whose growth does not set in late.
    Growth,
    /// The same, setting in late, G∞ − B e^(−kt): four strips or more, or three that contradict the other two.
    Induction,
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

impl TimeContrast {
    /// Contrast of the law's curve at a developing time, straight between its two nearest samples; none outside them.
    ///
    /// # Units
    /// Minutes; contrast in [`TimeContrast::measure`].
    /// # Source
    /// Own derivation: interpolation of [`TimeContrast::curve`].
    pub fn on_curve(&self, time_min: f64) -> Option<f64> {
        on_samples(&self.curve, time_min)
    }
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
    /// Whether density gains 0.80 ± 0.05 over 1.30 log H at that time, without which no speed is an ISO speed ([S2]; its
    /// tolerance from memory); none where that is not known.
    pub iso_condition_met: Option<bool>,
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
    pub(super) draws: Draws,
}
