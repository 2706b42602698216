//! Development in a bath whose temperature drifts, and the moment to stop it.
//!
//! A developer at temperature T works Q^((T − T₀)/10) times as fast as at T₀; what it has done by a moment is the
//! integral of that. Between two readings the temperature is taken as a straight line, before the first and after the
//! last as constant. Time runs from the moment the developer touches the film and never stands still: development goes
//! on through a pause, since the film sits in the developer. No clock is here; whoever calls says how many seconds have
//! passed. Setting it up takes one pass over the readings, asking it for a moment a search among them.

use crate::bounds::Bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::quantity::Z95;

use super::temperature::{
    self, BATH_C, Base, Coefficient, DEFAULT_THERMOMETER_SD_C, THERMOMETER_SD_C,
};

/// When a thermometer was read, from the start of the bath; negative before it.
pub const READING_S: Bounds = Bounds {
    what: "the moment of a reading",
    unit: "s",
    min: -3600.0,
    max: 604_800.0,
};
/// Most readings of one bath.
pub const MAX_READINGS: usize = 10_000;
/// A trend is told over at least so many seconds: own rule, so that two quick readings make none.
const TREND_OVER_S: f64 = 60.0;
/// And is carried on for so many °C at most: own rule.
const TREND_LIMIT_C: f64 = 3.0;

/// One look at the thermometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Seconds from the start of the bath.
    pub t_s: f64,
    /// °C.
    pub c: f64,
}

/// How far the moment to stop may lie from what is said, at 95 %.
///
/// The parts are combined as independent, each side by itself; each part is told by its larger side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// Earliest moment in seconds.
    pub earliest_s: f64,
    /// Latest moment in seconds.
    pub latest_s: f64,
    /// Part of a thermometer that is wrong by the same amount at every reading.
    pub thermometer_s: f64,
    /// Part of the temperature coefficient.
    pub q10_s: f64,
    /// Part of the base time.
    pub base_s: f64,
    /// By how much later (negative: earlier) the stop would be if the last trend went on instead of the last
    /// temperature: the slope from the latest reading at least a minute before the last one, carried on for 3 °C at most.
    pub trend_s: f64,
}

/// One bath, as far as its thermometer has told it.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    base: Base,
    coefficient: Coefficient,
    thermometer_sd_c: f64,
    first: Reading,
    track: Track,
    /// Development done at each knot of the track, in seconds at the base temperature.
    done_s: Vec<f64>,
    /// The slope of the last readings in °C/s.
    trend: Option<f64>,
    stop_s: f64,
}

impl Drift {
    /// A bath with its readings, in the order of time, and a thermometer of the usual uncertainty.
    ///
    /// # Units
    /// Seconds, °C.
    /// # Domain
    /// 1 to [`MAX_READINGS`] readings, each later than the one before; [`READING_S`], [`BATH_C`]. A bath not yet read
    /// has the temperature that was meant, as a reading at 0.
    /// # Errors
    /// Out of range; no readings, too many, or not in order ([`Kind::Inconsistent`]).
    /// # Source
    /// The rate [D2], [D3]; the integral: own derivation, checked against numerical quadrature.
    /// # Example
    /// ```
    /// use spoolwright_core::wet::drift::{Drift, Reading};
    /// use spoolwright_core::wet::temperature::{Base, Coefficient};
    /// let base = Base::new(10.0, 20.0).unwrap();
    /// let cooling = [Reading { t_s: 0.0, c: 24.0 }, Reading { t_s: 300.0, c: 22.0 }];
    /// let bath = Drift::new(base, Coefficient::given(2.5, 0.0).unwrap(), &cooling).unwrap();
    /// assert!(6.93 * 60.0 < bath.stop_at_s() && bath.stop_at_s() < 8.33 * 60.0);
    /// assert!((bath.done_s(bath.stop_at_s()) - 600.0).abs() < 1e-9);
    /// ```
    pub fn new(base: Base, coefficient: Coefficient, readings: &[Reading]) -> Result<Self, Error> {
        let (Some(&first), Some(&last)) = (readings.first(), readings.last()) else {
            return Err(Error::missing(
                "readings of the bath's temperature",
                "one reading or more",
                "Give the temperature that is meant as a reading at 0 seconds.",
            ));
        };
        if MAX_READINGS < readings.len() {
            return Err(Error::new(
                Kind::TooLarge,
                "too many readings",
                readings.len(),
                format!("at most {MAX_READINGS}"),
                "Leave some out.",
            ));
        }
        for (i, r) in readings.iter().enumerate() {
            READING_S.check_as(&format!("the moment of reading {}", i + 1), r.t_s)?;
            BATH_C.check_as(&format!("the temperature of reading {}", i + 1), r.c)?;
        }
        if let Some(i) = readings.windows(2).position(|w| w[1].t_s <= w[0].t_s) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("reading {} is not later than the one before", i + 2),
                format!("{} s after {} s", readings[i + 1].t_s, readings[i].t_s),
                "readings in the order of time, one a moment",
                "Put them in order, and keep one of those taken at the same moment.",
            ));
        }
        let earlier = readings
            .iter()
            .rfind(|r| r.t_s <= last.t_s - TREND_OVER_S)
            .copied();
        let track = Track::of(readings);
        let log = coefficient.logs()[0];
        let done_s = track.done(log, base.at_c());
        let stop_s = track.reach(log, base.at_c(), base.time_min() * 60.0);
        Ok(Self {
            base,
            coefficient,
            thermometer_sd_c: DEFAULT_THERMOMETER_SD_C,
            first,
            track,
            done_s,
            trend: earlier.map(|e| (last.c - e.c) / (last.t_s - e.t_s)),
            stop_s,
        })
    }

    /// The same with another thermometer.
    ///
    /// # Errors
    /// Out of [`THERMOMETER_SD_C`].
    pub fn with_thermometer_sd(mut self, sd_c: f64) -> Result<Self, Error> {
        self.thermometer_sd_c = THERMOMETER_SD_C.check(sd_c)?;
        Ok(self)
    }

    /// Development done by a moment, in seconds at the base temperature; nothing before the bath.
    ///
    /// # Units
    /// Seconds in, seconds at the base temperature out.
    /// # Domain
    /// A finite moment; one later than every reading is as good as another.
    /// # Source
    /// Own derivation: over a straight piece the integral is r·Δt·(eˣ − 1)/x, with r the rate at its beginning and
    /// x = ln Q/10 times the change of temperature.
    pub fn done_s(&self, at_s: f64) -> f64 {
        let at_s = at_s.max(0.0);
        let i = self.track.piece(at_s);
        let log = self.coefficient.logs()[0];
        self.done_s[i] + self.track.part(i, at_s, log, self.base.at_c())
    }

    /// The same in minutes at the base temperature.
    ///
    /// # Source
    /// As [`Drift::done_s`].
    pub fn equivalent_min(&self, at_s: f64) -> f64 {
        self.done_s(at_s) / 60.0
    }

    /// Seconds from a moment to the stop; negative once it has passed.
    ///
    /// # Source
    /// As [`Drift::stop_at_s`].
    pub fn left_s(&self, at_s: f64) -> f64 {
        self.stop_s - at_s
    }

    /// The bath's temperature at a moment, as it is taken to be.
    pub fn temperature_c(&self, at_s: f64) -> f64 {
        self.track.temperature(at_s.max(0.0))
    }

    /// The moment at which the development done reaches the base time, solved within its piece.
    ///
    /// # Units
    /// Seconds from the start of the bath.
    /// # Source
    /// Own derivation: the inverse of [`Drift::done_s`], Δt = (D/r)·ln(1 + y)/y with y = D·x/(r·Δt of the piece).
    pub fn stop_at_s(&self) -> f64 {
        self.stop_s
    }

    /// How far the moment to stop may be off, and why.
    ///
    /// # Units
    /// Seconds.
    /// # Source
    /// Own derivation: each part solves the stop anew at the ends of its 95 % interval. An offset δ of the thermometer
    /// scales every rate by e^(ln Q·δ/10).
    pub fn margin(&self) -> Margin {
        let [log, low, high] = self.coefficient.logs();
        let target = self.base.time_min() * 60.0;
        let stop = |log: f64, factor: f64| {
            self.track.reach(log, self.base.at_c(), target * factor) - self.stop_s
        };
        let offset = Z95 * self.thermometer_sd_c * log / 10.0;
        let thermometer = [stop(log, (-offset).exp()), stop(log, offset.exp())];
        let q10 = [stop(low, 1.0), stop(high, 1.0)];
        let (short, long) = self.base.spread();
        let base = [stop(log, short.exp()), stop(log, long.exp())];
        let trend_s = self.trend.map_or(0.0, |slope| {
            let on = self.track.carried_on(slope);
            on.reach(log, self.base.at_c(), target) - self.stop_s
        });
        let parts = [thermometer, q10, base, [trend_s, 0.0]];
        let earlier = parts.iter().map(|p| p[0].min(p[1]).min(0.0).powi(2));
        let later = parts.iter().map(|p| p[0].max(p[1]).max(0.0).powi(2));
        let larger = |p: [f64; 2]| p[0].abs().max(p[1].abs());
        Margin {
            earliest_s: (self.stop_s - earlier.sum::<f64>().sqrt()).max(0.0),
            latest_s: self.stop_s + later.sum::<f64>().sqrt(),
            thermometer_s: larger(thermometer),
            q10_s: larger(q10),
            base_s: larger(base),
            trend_s,
        }
    }

    /// The larger side of the margin in seconds.
    ///
    /// # Source
    /// As [`Drift::margin`].
    pub fn margin_s(&self) -> f64 {
        let margin = self.margin();
        (margin.latest_s - self.stop_s).max(self.stop_s - margin.earliest_s)
    }

    /// What limits the moment to stop.
    pub fn caveats(&self) -> Vec<Caveat> {
        let within = |k: &&Reading| k.t_s <= self.stop_s;
        let mut met: Vec<f64> = self
            .track
            .knots
            .iter()
            .filter(within)
            .map(|k| k.c)
            .collect();
        met.push(self.temperature_c(self.stop_s));
        let coldest = met.iter().copied().fold(f64::INFINITY, f64::min);
        let warmest = met.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut found = temperature::caveats(
            self.base,
            (coldest, warmest),
            self.stop_s / 60.0,
            &self.coefficient,
        );
        let last = self.track.last();
        if 0.0 < self.first.t_s || last.t_s < self.stop_s {
            let ends = match (0.0 < self.first.t_s, last.t_s < self.stop_s) {
                (true, true) => "before the first reading and after the last",
                (true, false) => "before the first reading",
                _ => "after the last reading",
            };
            found.push(Caveat::new(
                "held",
                format!("The temperature is taken as constant {ends}."),
            ));
        }
        if self.trend.is_none() && last.t_s < self.stop_s {
            found.push(Caveat::new(
                "no_trend",
                "No two readings lie a minute apart: the margin counts no drift after the last one.",
            ));
        }
        found
    }
}

/// A temperature over time from 0 on: straight between its knots, constant after the last. The first knot is at 0.
#[derive(Debug, Clone, PartialEq)]
struct Track {
    knots: Vec<Reading>,
}

impl Track {
    /// From readings in order, at least one.
    fn of(readings: &[Reading]) -> Self {
        let after = readings.partition_point(|r| r.t_s <= 0.0);
        let start = match (
            after.checked_sub(1).map(|i| readings[i]),
            readings.get(after),
        ) {
            (Some(a), Some(b)) => between(a, *b, 0.0),
            (Some(only), None) | (None, Some(&only)) => only.c,
            (None, None) => unreachable!("there is a reading"),
        };
        let mut knots = vec![Reading { t_s: 0.0, c: start }];
        knots.extend_from_slice(&readings[after..]);
        Self { knots }
    }

    fn last(&self) -> Reading {
        self.knots[self.knots.len() - 1]
    }

    /// The same with a slope after the last knot instead of a standstill.
    fn carried_on(&self, slope: f64) -> Self {
        let mut knots = self.knots.clone();
        let last = self.last();
        let lasts = TREND_LIMIT_C / slope.abs();
        if lasts.is_finite() {
            knots.push(Reading {
                t_s: last.t_s + lasts,
                c: last.c + TREND_LIMIT_C.copysign(slope),
            });
        }
        Self { knots }
    }

    /// The last knot not after a moment.
    fn piece(&self, at_s: f64) -> usize {
        self.knots.partition_point(|k| k.t_s <= at_s).max(1) - 1
    }

    fn temperature(&self, at_s: f64) -> f64 {
        let i = self.piece(at_s);
        match self.knots.get(i + 1) {
            Some(next) => between(self.knots[i], *next, at_s),
            None => self.knots[i].c,
        }
    }

    /// Growth of ln rate per second along a piece.
    fn bend(&self, i: usize, log: f64) -> f64 {
        self.knots.get(i + 1).map_or(0.0, |next| {
            let a = self.knots[i];
            log / 10.0 * (next.c - a.c) / (next.t_s - a.t_s)
        })
    }

    /// Development done from the beginning of a piece to a moment in it.
    fn part(&self, i: usize, at_s: f64, log: f64, at_c: f64) -> f64 {
        let a = self.knots[i];
        let rate = (log * (a.c - at_c) / 10.0).exp();
        let seconds = at_s - a.t_s;
        rate * seconds * over(f64::exp_m1, self.bend(i, log) * seconds)
    }

    /// Development done at each knot.
    fn done(&self, log: f64, at_c: f64) -> Vec<f64> {
        let mut sum = 0.0;
        let mut done = vec![sum];
        for (i, pair) in self.knots.windows(2).enumerate() {
            sum += self.part(i, pair[1].t_s, log, at_c);
            done.push(sum);
        }
        done
    }

    /// The moment at which the development done reaches `target`, which is positive.
    fn reach(&self, log: f64, at_c: f64, target: f64) -> f64 {
        let mut left = target;
        for i in 0..self.knots.len() {
            let a = self.knots[i];
            let end = self.knots.get(i + 1).map(|k| k.t_s);
            let whole = end.map_or(f64::INFINITY, |end| self.part(i, end, log, at_c));
            if whole < left {
                left -= whole;
                continue;
            }
            let alone = left / (log * (a.c - at_c) / 10.0).exp();
            let seconds = alone * over(f64::ln_1p, self.bend(i, log) * alone);
            return (a.t_s + seconds).min(end.unwrap_or(f64::INFINITY));
        }
        unreachable!("the last piece has no end")
    }
}

/// f(x)/x for an f that begins as x; 1 at 0.
fn over(f: fn(f64) -> f64, x: f64) -> f64 {
    if x == 0.0 { 1.0 } else { f(x) / x }
}

fn between(a: Reading, b: Reading, at_s: f64) -> f64 {
    a.c + (b.c - a.c) * ((at_s - a.t_s) / (b.t_s - a.t_s))
}
