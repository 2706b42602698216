//! Two tests of one stock: what changed, and whether it is more than noise.
//!
//! Rounds of the two are paired out of step, so that their chance is independent though their streams are the same.

use super::bootstrap::interval;
use super::family::{Draws, FARTHEST};
use super::result::{Analysis, Interval};
use super::{Measure, SpeedKind, Target};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

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
    /// As [`Comparison::speed_stops`].
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
    /// At the time each needs for the target: speed or EI in stops; positive where the second is faster. In
    /// camera it counts in what the meters were set to, and is missing where only one setting is known.
    pub speed_stops: Option<Difference>,
    /// Time needed for the target, minutes.
    pub time_min: Option<Difference>,
    /// Base + fog at the time each needs for the target, density.
    pub base_fog: Option<Difference>,
    /// At times that both cover.
    pub at_times: Vec<AtEqualTime>,
    /// Why a number is missing or weak.
    pub caveats: Vec<Caveat>,
}

/// How `second` differs from `first`, each developed to `target` and at equal times, and whether it is more than noise.
///
/// # Units
/// Stops, minutes, densities, contrast; second less first.
/// # Errors
/// Tests whose speeds mean different things, or of different material.
/// # Source
/// Own derivation: differences of independent bootstrap rounds.
pub fn compare(first: &Analysis, second: &Analysis, target: Target) -> Result<Comparison, Error> {
    if first.material != second.material {
        return Err(different("material", first.material, second.material));
    }
    if first.speed_kind != second.speed_kind {
        return Err(different("exposure", first.speed_kind, second.speed_kind));
    }
    let (a, b) = (&first.draws, &second.draws);
    let measure = target.measure;
    let meters = Meters::of(a, b);
    let mut comparison = Comparison {
        measure,
        speed_stops: None,
        time_min: None,
        base_fog: None,
        at_times: Vec::new(),
        caveats: Vec::new(),
    };
    if let (Ok(_), Ok(_)) = (first.at(target), second.at(target))
        && let (Ok(join_a), Ok(join_b)) = (a.join(measure), b.join(measure))
    {
        let (ta, rounds_a) = a.times_for(&join_a, target.value);
        let (tb, rounds_b) = b.times_for(&join_b, target.value);
        comparison.time_min = difference((tb, &rounds_b), (ta, &rounds_a));
        let number = |n: fn(&super::measures::Numbers) -> f64| {
            (
                a.along(n, ta, &|r| rounds_a[r]),
                b.along(n, tb, &|r| rounds_b[r]),
            )
        };
        let (of_a, of_b) = number(|n| n.speed_point);
        comparison.speed_stops = stops(&of_a, &of_b, meters);
        let (of_a, of_b) = number(|n| n.base_fog);
        comparison.base_fog = difference((of_b.0, &of_b.1), (of_a.0, &of_a.1));
    } else {
        comparison.caveats.push(Caveat::new(
            "no_common_target",
            "The tests reach no common target contrast, so they are compared at equal developing times only.",
        ));
    }
    comparison.at_times = common_times(a, b)
        .into_iter()
        .filter_map(|t| at_time(a, b, measure, meters, t))
        .collect();
    if comparison.at_times.is_empty() {
        comparison.caveats.push(Caveat::new(
            "no_common_time",
            format!("No developing time lies within {FARTHEST} times of both tests' strips."),
        ));
    }
    if first.speed_kind == SpeedKind::Relative {
        comparison.caveats.push(Caveat::new(
            "same_light_assumed",
            "The exposures are relative: a difference in speed means something only if lamp, distance, time and wedge were the same.",
        ));
    }
    comparison.caveats.extend(meters.caveat());
    Ok(comparison)
}

/// What the meters of two tests in camera were set to: log H there is relative to each test's own meter reading.
#[derive(Debug, Clone, Copy)]
enum Meters {
    /// No meter, or both settings known: so many stops from the first's setting to the second's.
    Apart(f64),
    /// Neither setting known.
    Unknown,
    /// One setting known: the two exposures cannot be put on one scale.
    OneKnown,
}

impl Meters {
    fn of(first: &Draws, second: &Draws) -> Self {
        if first.scale.kind != SpeedKind::ExposureIndex {
            return Self::Apart(0.0);
        }
        match (first.scale.meter_ei, second.scale.meter_ei) {
            (Some(a), Some(b)) => Self::Apart((b / a).log2()),
            (None, None) => Self::Unknown,
            _ => Self::OneKnown,
        }
    }

    /// Stops to add to a difference of speed points.
    fn apart(self) -> Option<f64> {
        match self {
            Self::Apart(stops) => Some(stops),
            Self::Unknown => Some(0.0),
            Self::OneKnown => None,
        }
    }

    fn caveat(self) -> Option<Caveat> {
        match self {
            Self::Apart(_) => None,
            Self::Unknown => Some(Caveat::new(
                "same_meter_assumed",
                "What the meter was set to is known of neither test: a difference in speed means something only if it was set the same.",
            )),
            Self::OneKnown => Some(Caveat::new(
                "meter_not_known",
                "What the meter was set to is known of one test only, so their speeds cannot be compared: give the EI that the meter was set to for the other.",
            )),
        }
    }
}

fn different(what: &str, a: impl std::fmt::Debug, b: impl std::fmt::Debug) -> Error {
    Error::new(
        Kind::Inconsistent,
        format!("two tests of different {what}"),
        format!("{a:?} and {b:?}"),
        "two tests of one kind",
        "Compare tests that were made in the same way.",
    )
}

/// Times of strips of either test that lie within both ranges; a single strip counts as its own time only.
fn common_times(a: &Draws, b: &Draws) -> Vec<f64> {
    let ends = |d: &Draws| (d.times[0], d.times[d.times.len() - 1]);
    let (low, high) = (ends(a).0.max(ends(b).0), ends(a).1.min(ends(b).1));
    let mut times: Vec<f64> = a.times.iter().chain(&b.times).copied().collect();
    times.retain(|t| low * 0.995 <= *t && *t <= high * 1.005);
    times.sort_by(f64::total_cmp);
    times.dedup_by(|x, y| (*x / *y - 1.0).abs() < 0.005);
    times
}

fn at_time(a: &Draws, b: &Draws, measure: Measure, meters: Meters, t: f64) -> Option<AtEqualTime> {
    let number =
        |n: fn(&super::measures::Numbers) -> f64| (a.along(n, t, &|_| t), b.along(n, t, &|_| t));
    let (speed_a, speed_b) = number(|n| n.speed_point);
    let (base_a, base_b) = number(|n| n.base_fog);
    let contrast = |d: &Draws| match d.join(measure) {
        Ok(joined) => d.contrast_at(&joined, t),
        // One strip: its own contrast at its own time.
        Err(_) => d.along(|n| n.contrast(measure), t, &|_| t),
    };
    let (contrast_a, contrast_b) = (contrast(a), contrast(b));
    Some(AtEqualTime {
        time_min: t,
        speed_stops: stops(&speed_a, &speed_b, meters),
        base_fog: difference((base_b.0, &base_b.1), (base_a.0, &base_a.1))?,
        contrast: difference((contrast_b.0, &contrast_b.1), (contrast_a.0, &contrast_a.1)),
    })
}

/// Less exposure at the speed point is more speed, and a meter set higher gave less.
fn stops(first: &(f64, Vec<f64>), second: &(f64, Vec<f64>), meters: Meters) -> Option<Difference> {
    let in_stops = |(value, rounds): &(f64, Vec<f64>), meter: f64| {
        let stop = 2f64.log10();
        (
            meter - value / stop,
            rounds.iter().map(|r| meter - r / stop).collect::<Vec<_>>(),
        )
    };
    let (a, b) = (in_stops(first, 0.0), in_stops(second, meters.apart()?));
    difference((b.0, &b.1), (a.0, &a.1))
}

/// `of` less `from`; infinite times count as missing.
fn difference(of: (f64, &[f64]), from: (f64, &[f64])) -> Option<Difference> {
    let (n, m) = (of.1.len(), from.1.len());
    let count = n.min(m);
    let rounds = (0..count).map(|r| {
        let d = of.1[r] - from.1[(r + count / 2 + 1) % count];
        if d.is_finite() { d } else { f64::NAN }
    });
    let difference: Interval = interval(of.0 - from.0, rounds)?;
    Some(Difference {
        difference,
        more_than_noise: difference.lower95 > 0.0 || difference.upper95 < 0.0,
    })
}
