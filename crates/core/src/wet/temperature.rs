//! The developing time at another temperature: t = t₀ · Q^(−(T − T₀)/10), Q the developer's own coefficient.
//!
//! Q is given, learnt from a person's own pairs of time and temperature, or the default, which is marked as one. A
//! temperature that changes during the bath is the work of [`crate::wet::drift`].

use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::bounds::{self, Bounds};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::quantity::{Z95, degrees_between};
use crate::wedge::Interval;
use crate::words::worded;

/// How many times faster a developer works 10 °C warmer; what was observed of developers [D2].
pub const Q10: Bounds = Bounds {
    what: "a temperature coefficient",
    unit: "",
    min: 1.5,
    max: 4.0,
};
/// Standard deviation of a temperature coefficient.
pub const Q10_SD: Bounds = Bounds {
    what: "a temperature coefficient's uncertainty",
    unit: "",
    min: 0.0,
    max: 1.0,
};
/// Temperature of a bath.
pub const BATH_C: Bounds = Bounds {
    what: "a bath's temperature",
    unit: "°C",
    min: 1.0,
    max: 60.0,
};
/// Standard deviation of a thermometer.
pub const THERMOMETER_SD_C: Bounds = Bounds {
    what: "a thermometer's uncertainty",
    unit: "°C",
    min: 0.0,
    max: 3.0,
};
/// The coefficient when nothing is known of the developer: from memory [D4].
pub const DEFAULT_Q10: f64 = 2.5;
/// A darkroom thermometer's standard deviation in °C: common practice, no source.
pub const DEFAULT_THERMOMETER_SD_C: f64 = 0.3;
/// Pairs that a coefficient may be learnt from.
pub const MAX_PAIRS: usize = 1000;
/// Where the sum holds, in °C: from memory [D6].
pub const SOUND_C: (f64, f64) = (18.0, 24.0);
/// The shortest time that still comes out even, in min: from memory [D6].
pub const SHORT_MIN: f64 = 5.0;
/// Pairs less far apart, in °C, say more about the thermometer than about the developer: own rule.
const LEAST_SPAN_C: f64 = 1.0;

/// A developing time at the temperature for which it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Base {
    time_min: f64,
    at_c: f64,
    /// Natural logarithms of the ends of the time's 95 % interval over the time: one not above zero, one not below.
    spread: (f64, f64),
}

impl Base {
    /// A time taken as exact.
    ///
    /// # Units
    /// Minutes, °C.
    /// # Domain
    /// [`bounds::DEVELOPING_MIN`], [`BATH_C`].
    /// # Errors
    /// Out of range.
    pub fn new(time_min: f64, at_c: f64) -> Result<Self, Error> {
        Ok(Self {
            time_min: bounds::DEVELOPING_MIN.check(time_min)?,
            at_c: BATH_C.check(at_c)?,
            spread: (0.0, 0.0),
        })
    }

    /// A time with its 95 % interval, which may be open: a lower end of 0, an infinite upper one.
    ///
    /// # Domain
    /// As [`Base::new`]; the value within the interval.
    /// # Errors
    /// Out of range, or a value outside its own interval.
    pub fn known(time_min: Interval, at_c: f64) -> Result<Self, Error> {
        let Interval {
            value,
            lower95,
            upper95,
        } = time_min;
        let base = Self::new(value, at_c)?;
        if !(0.0 <= lower95 && lower95 <= value && value <= upper95) {
            return Err(Error::new(
                Kind::OutOfRange,
                "a developing time",
                format!("{value} min ({lower95} to {upper95})"),
                "a time inside its interval",
                "Give a lower end below the time and an upper one above it.",
            ));
        }
        Ok(Self {
            spread: ((lower95 / value).ln(), (upper95 / value).ln()),
            ..base
        })
    }

    /// The same, longer or shorter by a factor with its 95 % interval: a push, a worn bath.
    ///
    /// # Errors
    /// A factor that is not positive or outside its own interval, or a time out of range.
    pub fn times(self, factor: Interval) -> Result<Self, Error> {
        let Interval {
            value,
            lower95,
            upper95,
        } = factor;
        if !(0.0 < lower95 && lower95 <= value && value <= upper95 && upper95.is_finite()) {
            return Err(Error::new(
                Kind::OutOfRange,
                "a factor of the developing time",
                format!("{value} ({lower95} to {upper95})"),
                "a positive number inside its interval",
                "Enter a factor such as 1.4.",
            ));
        }
        let (low, high) = ((lower95 / value).ln(), (upper95 / value).ln());
        Ok(Self {
            time_min: bounds::DEVELOPING_MIN.check(self.time_min * value)?,
            spread: (-self.spread.0.hypot(low), self.spread.1.hypot(high)),
            ..self
        })
    }

    /// The time in minutes.
    pub fn time_min(&self) -> f64 {
        self.time_min
    }

    /// Its temperature in °C.
    pub fn at_c(&self) -> f64 {
        self.at_c
    }

    pub(super) fn spread(&self) -> (f64, f64) {
        self.spread
    }
}

worded! {
    /// Where a coefficient comes from.
    Origin {
        /// Nothing is known of the developer.
        #[default]
        Default = "default",
        /// Somebody said so.
        Given = "given",
        /// Learnt from pairs of time and temperature.
        Learnt = "learnt",
    }
}

/// A time that gave the wanted contrast at a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Developing time in minutes.
    pub time_min: f64,
    /// Temperature in °C.
    pub c: f64,
}

/// What a coefficient was learnt from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lesson {
    /// How many pairs.
    pub pairs: usize,
    /// Their lowest temperature in °C.
    pub coldest_c: f64,
    /// Their highest temperature in °C.
    pub warmest_c: f64,
}

/// A developer's temperature coefficient: how many times faster it works 10 °C warmer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    q10: Interval,
    origin: Origin,
    lesson: Option<Lesson>,
}

impl Default for Coefficient {
    /// 2.5 [D4], in doubt over all that was observed, 1.5 to 4 [D2].
    fn default() -> Self {
        Self {
            q10: Interval {
                value: DEFAULT_Q10,
                lower95: Q10.min,
                upper95: Q10.max,
            },
            origin: Origin::Default,
            lesson: None,
        }
    }
}

impl Coefficient {
    /// A coefficient that somebody gives, with its standard deviation (0 when it is taken as exact).
    ///
    /// # Domain
    /// [`Q10`], [`Q10_SD`]; the interval is cut to [`Q10`].
    /// # Errors
    /// Out of range.
    pub fn given(q10: f64, sd: f64) -> Result<Self, Error> {
        let q10 = Q10.check(q10)?;
        let half = Z95 * Q10_SD.check(sd)?;
        Ok(Self {
            q10: cut(q10, q10 - half, q10 + half),
            origin: Origin::Given,
            lesson: None,
        })
    }

    /// A coefficient from pairs of time and temperature: the straight line of ln t against T, by least squares.
    ///
    /// From three pairs on the interval is Student's, by the scatter about the line. That scatter holds the error of
    /// each reading of the thermometer, yet may be small by luck, and two pairs leave none: the interval is never
    /// narrower than the thermometer alone makes it. It is cut to what developers do ([`Q10`]).
    ///
    /// # Units
    /// Minutes, °C; the thermometer's standard deviation in °C, of each reading by itself.
    /// # Domain
    /// 2 to [`MAX_PAIRS`] pairs, at least 1 °C between the coldest and the warmest; [`THERMOMETER_SD_C`].
    /// # Errors
    /// Too few or too many pairs, a number out of range; pairs too close, or whose coefficient no developer has
    /// ([`Kind::Inconsistent`]).
    /// # Source
    /// Q^(−(T − T₀)/10) [D3]; least squares in ln t: own derivation, checked against a general-purpose library. An
    /// error σ of each temperature is one of slope · σ in ln t, so slope · σ/√Σ(T − mean)² in the slope: own
    /// derivation, checked by simulation.
    pub fn learn(pairs: &[Pair], thermometer_sd_c: f64) -> Result<Self, Error> {
        let thermometer_sd = THERMOMETER_SD_C.check(thermometer_sd_c)?;
        if pairs.len() < 2 || MAX_PAIRS < pairs.len() {
            return Err(Error::new(
                if pairs.len() < 2 {
                    Kind::Missing
                } else {
                    Kind::TooLarge
                },
                "pairs of time and temperature",
                pairs.len(),
                format!("2 to {MAX_PAIRS} pairs"),
                "Give times that gave the same contrast at different temperatures.",
            ));
        }
        let points = pairs
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let time = bounds::DEVELOPING_MIN
                    .check_as(&format!("the time of pair {}", i + 1), p.time_min)?;
                let c = BATH_C.check_as(&format!("the temperature of pair {}", i + 1), p.c)?;
                Ok((c, time.ln()))
            })
            .collect::<Result<Vec<_>, Error>>()?;
        let n = points.len() as f64;
        let coldest_c = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let warmest_c = points.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        if warmest_c - coldest_c < LEAST_SPAN_C {
            return Err(Error::new(
                Kind::Inconsistent,
                "the temperatures of the pairs lie too close together",
                format!("{coldest_c} to {warmest_c} °C"),
                format!("at least {LEAST_SPAN_C} °C apart"),
                "Add a time found at another temperature.",
            ));
        }
        let mean = points
            .iter()
            .fold((0.0, 0.0), |(x, y), p| (x + p.0 / n, y + p.1 / n));
        let (mut sxx, mut sxy) = (0.0, 0.0);
        for (x, y) in &points {
            sxx += (x - mean.0).powi(2);
            sxy += (x - mean.0) * (y - mean.1);
        }
        let slope = sxy / sxx;
        let q10 = (-10.0 * slope).exp();
        if !(Q10.min..=Q10.max).contains(&q10) {
            return Err(Error::new(
                Kind::Inconsistent,
                "these times give a temperature coefficient that no developer has",
                format!("{q10:.3}"),
                Q10.allowed(),
                "Check that all times are of one film, one developer, one dilution and one contrast.",
            ));
        }
        let by_thermometer = 10.0 * Z95 * slope.abs() * thermometer_sd / sxx.sqrt();
        let by_scatter = if points.len() == 2 {
            0.0
        } else {
            let residual = |p: &(f64, f64)| p.1 - mean.1 - slope * (p.0 - mean.0);
            let scatter: f64 = points.iter().map(|p| residual(p).powi(2)).sum();
            let error = (scatter / (n - 2.0) / sxx).sqrt();
            10.0 * error * student95(n - 2.0)
        };
        let half = by_scatter.max(by_thermometer);
        Ok(Self {
            q10: cut(q10, q10 * (-half).exp(), q10 * half.exp()),
            origin: Origin::Learnt,
            lesson: Some(Lesson {
                pairs: points.len(),
                coldest_c,
                warmest_c,
            }),
        })
    }

    /// The coefficient with its 95 % interval.
    pub fn q10(&self) -> Interval {
        self.q10
    }

    /// Where it comes from.
    pub fn origin(&self) -> Origin {
        self.origin
    }

    /// What it was learnt from.
    pub fn lesson(&self) -> Option<Lesson> {
        self.lesson
    }

    /// How many times faster the developer works `degrees` warmer: Q^(degrees/10).
    ///
    /// # Units
    /// °C of difference; a ratio of rates, and the inverse ratio of times.
    /// # Source
    /// [D2], [D3]. Over 7 °C it is the old temperature coefficient [D5].
    pub fn multiplier(&self, degrees: f64) -> f64 {
        self.q10.value.powf(degrees / 10.0)
    }

    /// Natural logarithms of the coefficient and of the ends of its interval.
    pub(super) fn logs(&self) -> [f64; 3] {
        [self.q10.value, self.q10.lower95, self.q10.upper95].map(f64::ln)
    }
}

fn cut(value: f64, lower: f64, upper: f64) -> Interval {
    Interval {
        value,
        lower95: lower.clamp(Q10.min, value),
        upper95: upper.clamp(value, Q10.max),
    }
}

/// Half-width of a central 95 % interval of Student's distribution.
fn student95(freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom).map_or(Z95, |t| t.inverse_cdf(0.975))
}

/// A developing time with what it is to be taken with.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeAt {
    /// Minutes, with the 95 % interval.
    pub time_min: Interval,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// The developing time at a steady temperature.
///
/// The interval holds the coefficient's and the base time's, and the thermometer's error at `to_c`; the parts are
/// combined as independent, on the logarithm of the time.
///
/// # Units
/// °C; minutes.
/// # Domain
/// `to_c` within [`BATH_C`], `thermometer_sd_c` within [`THERMOMETER_SD_C`].
/// # Errors
/// Out of range.
/// # Source
/// [D3]; limits from memory [D6]; the interval: own derivation.
/// # Example
/// ```
/// use spoolwright_core::wet::temperature::{Base, Coefficient, time_at};
/// let base = Base::new(10.0, 20.0).unwrap();
/// let warm = time_at(base, 24.0, &Coefficient::given(2.5, 0.0).unwrap(), 0.3).unwrap();
/// assert_eq!((warm.time_min.value * 100.0).round(), 693.0);
/// ```
pub fn time_at(
    base: Base,
    to_c: f64,
    coefficient: &Coefficient,
    thermometer_sd_c: f64,
) -> Result<TimeAt, Error> {
    let warmer = (BATH_C.check(to_c)? - base.at_c) / 10.0;
    let sd = THERMOMETER_SD_C.check(thermometer_sd_c)?;
    let [log, low, high] = coefficient.logs();
    let value = base.time_min * (-warmer * log).exp();
    let thermometer = Z95 * sd * log / 10.0;
    let by_q = [-warmer * (low - log), -warmer * (high - log)];
    let side = |base: f64, by_q: f64| base.hypot(by_q).hypot(thermometer);
    let down = side(base.spread.0, by_q[0].min(by_q[1]).min(0.0));
    let up = side(base.spread.1, by_q[0].max(by_q[1]).max(0.0));
    Ok(TimeAt {
        time_min: Interval {
            value,
            lower95: value * (-down).exp(),
            upper95: value * up.exp(),
        },
        caveats: caveats(base, (to_c, to_c), value, coefficient),
    })
}

/// What limits a time worked out from `base` for temperatures from `coldest` to `warmest`.
pub(super) fn caveats(
    base: Base,
    (coldest, warmest): (f64, f64),
    minutes: f64,
    coefficient: &Coefficient,
) -> Vec<Caveat> {
    let mut found = Vec::new();
    let changed = coldest != base.at_c || warmest != base.at_c;
    let low = coldest.min(base.at_c);
    let high = warmest.max(base.at_c);
    if changed && (low < SOUND_C.0 || SOUND_C.1 < high) {
        found.push(Caveat::new(
            "outside_range",
            format!(
                "The sum is sound from {}; this one reaches from {}.",
                degrees_between(SOUND_C.0, SOUND_C.1),
                degrees_between(low, high)
            ),
        ));
    }
    if minutes < SHORT_MIN {
        found.push(Caveat::new(
            "short_time",
            format!(
                "Under {SHORT_MIN} minutes development is easily uneven: dilute more, or work cooler."
            ),
        ));
    }
    if changed && coefficient.origin == Origin::Default {
        found.push(Caveat::new(
            "q10_default",
            format!(
                "The temperature coefficient {DEFAULT_Q10} is a default, not this developer's: observed are {} to {}. Two times of your own at two temperatures teach it.",
                Q10.min, Q10.max
            ),
        ));
    }
    let q10 = coefficient.q10;
    if changed && coefficient.origin == Origin::Given && q10.lower95 == q10.upper95 {
        found.push(Caveat::new(
            "q10_exact",
            format!(
                "The temperature coefficient {} is taken as exact: whatever it is off by is in no interval.",
                q10.value
            ),
        ));
    }
    if let (true, Some(lesson)) = (changed, coefficient.lesson) {
        if lesson.pairs == 2 {
            found.push(Caveat::new(
                "q10_two_pairs",
                "Two pairs give a coefficient and no check on the times: of their errors only the thermometer's is counted. A third pair shows the scatter.",
            ));
        }
        if low < lesson.coldest_c || lesson.warmest_c < high {
            found.push(Caveat::new(
                "q10_extrapolated",
                format!(
                    "The coefficient was learnt from {} and is used outside.",
                    degrees_between(lesson.coldest_c, lesson.warmest_c)
                ),
            ));
        }
    }
    found
}
