//! Two tests of one stock: what changed, and whether it is more than noise.
//!
//! Rounds of the two are paired out of step, so that their chance is independent though their streams are the same.

use super::bootstrap::interval;
use super::family::Draws;
use super::record::WedgeTest;
use super::result::Analysis;
use super::{Measure, SpeedKind, Target};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

/// A difference between two tests, second less first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The difference itself.
    pub value: f64,
    /// Lower end of its 95 % interval; none where that is open.
    pub lower95: Option<f64>,
    /// Upper end of its 95 % interval; none where that is open.
    pub upper95: Option<f64>,
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
    if let (Ok((_, for_a)), Ok((_, for_b))) = (a.aim(target), b.aim(target)) {
        let value = for_b.best - for_a.best;
        comparison.time_min = spanned(
            value,
            (for_b.rounds.len(), &|r| for_b.span(r)),
            (for_a.rounds.len(), &|r| for_a.span(r)),
        );
        if comparison
            .time_min
            .is_some_and(|d| d.lower95.is_none() || d.upper95.is_none())
        {
            comparison.caveats.push(Caveat::new(
                "time_open",
                "The strips of these tests do not pin the time for that contrast down: how much the times differ is open to one side or to both.",
            ));
        }
        let number = |n: fn(&super::measures::Numbers) -> f64| {
            (
                a.along(n, for_a.best, &|r| for_a.of(r)),
                b.along(n, for_b.best, &|r| for_b.of(r)),
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
            "The developing times of the two tests do not overlap.",
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

/// Says in what two tests were not developed alike, or may not have been: then a difference is not the film's alone.
pub fn developed_otherwise(first: &WedgeTest, second: &WedgeTest) -> Vec<Caveat> {
    let degrees = |t: &WedgeTest| {
        t.temperature_c
            .map(|c| format!("{c:.1}"))
            .unwrap_or_default()
    };
    let noted = [
        (
            "developer",
            first.developer.clone(),
            second.developer.clone(),
        ),
        ("dilution", first.dilution.clone(), second.dilution.clone()),
        ("temperature", degrees(first), degrees(second)),
        (
            "agitation",
            first.agitation.clone(),
            second.agitation.clone(),
        ),
    ];
    let (mut other, mut untold) = (Vec::new(), Vec::new());
    for (what, a, b) in &noted {
        let (a, b) = (a.trim(), b.trim());
        if a.is_empty() || b.is_empty() {
            untold.push(*what);
        } else if !a.eq_ignore_ascii_case(b) {
            other.push(*what);
        }
    }
    let mut caveats = Vec::new();
    if !other.is_empty() {
        caveats.push(Caveat::new(
            "developed_otherwise",
            format!(
                "The two tests were not developed alike, for these differ: {}. What differs between their figures may be due to that, not to the film.",
                other.join(", ")
            ),
        ));
    }
    if !untold.is_empty() {
        caveats.push(Caveat::new(
            "development_not_noted",
            format!(
                "Not noted for both tests: {}. The figures compare the film only if that was the same.",
                untold.join(", ")
            ),
        ));
    }
    caveats
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

/// `of` less `from`.
fn difference(of: (f64, &[f64]), from: (f64, &[f64])) -> Option<Difference> {
    let point = |x: f64| (x, x);
    spanned(
        of.0 - from.0,
        (of.1.len(), &|r| point(of.1[r])),
        (from.1.len(), &|r| point(from.1[r])),
    )
}

/// How many rounds, and from where to where each of them may lie.
type Spans<'a> = (usize, &'a dyn Fn(usize) -> (f64, f64));

/// `of` less `from`, where rounds are known within spans only: the interval holds whatever the spans allow.
fn spanned(value: f64, of: Spans<'_>, from: Spans<'_>) -> Option<Difference> {
    let count = of.0.min(from.0);
    let pair = |r: usize| (of.1(r), from.1((r + count / 2 + 1) % count));
    let low = interval(value, (0..count).map(pair).map(|(of, from)| of.0 - from.1))?.lower95;
    let high = interval(value, (0..count).map(pair).map(|(of, from)| of.1 - from.0))?.upper95;
    Some(Difference {
        value,
        lower95: Some(low).filter(|x| x.is_finite()),
        upper95: Some(high).filter(|x| x.is_finite()),
        more_than_noise: low > 0.0 || high < 0.0,
    })
}
