//! Conversion filters and filter factors: which filter turns one light into another, and what it costs.
//!
//! A filter moves colour temperature by a fixed number of mireds, whatever the light. Filters are named by the numbers
//! in common use, with their nominal shift and cost; real glass differs, so the cost is to be metered through it where
//! that can be done. Colour temperature says nothing of fluorescent and other lamps with gaps in their light.

use crate::bounds::{self, Bounds};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::wedge::{StandardSpeed, standard_speed};

use super::exposure;

/// Colour temperature of a light.
pub const KELVIN: Bounds = Bounds {
    what: "a colour temperature",
    unit: "K",
    min: 1000.0,
    max: 40_000.0,
};
/// A shift between two lights.
pub const SHIFT_MIRED: Bounds = Bounds {
    what: "a mired shift",
    unit: "mired",
    min: -975.0,
    max: 975.0,
};
/// A filter's factor of exposure.
pub const FACTOR: Bounds = Bounds {
    what: "a filter factor",
    unit: "",
    min: 1.0,
    max: 10_000.0,
};
/// A shift left over that is not seen: common practice, no source.
const UNSEEN_MIRED: f64 = 10.0;

/// A conversion filter by its common number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Filter {
    /// Its number.
    pub name: &'static str,
    /// Its nominal shift in mireds; positive warms.
    pub mired: i32,
    /// What it costs, in thirds of a stop.
    pub thirds: u32,
}

const fn filter(name: &'static str, mired: i32, thirds: u32) -> Filter {
    Filter {
        name,
        mired,
        thirds,
    }
}

/// The filters, warming ones first, each family from weak to strong [M2].
pub const FILTERS: [Filter; 17] = [
    filter("81", 9, 1),
    filter("81A", 18, 1),
    filter("81B", 27, 1),
    filter("81C", 35, 1),
    filter("81D", 42, 2),
    filter("81EF", 52, 2),
    filter("85C", 81, 1),
    filter("85", 112, 2),
    filter("85B", 131, 2),
    filter("82", -10, 1),
    filter("82A", -21, 1),
    filter("82B", -32, 2),
    filter("82C", -45, 2),
    filter("80D", -56, 2),
    filter("80C", -81, 3),
    filter("80B", -112, 5),
    filter("80A", -131, 6),
];

impl Filter {
    /// The filter of that number.
    ///
    /// # Errors
    /// [`Kind::Unknown`], listing those that are known.
    pub fn named(name: &str) -> Result<Self, Error> {
        FILTERS
            .iter()
            .find(|f| f.name.eq_ignore_ascii_case(name))
            .copied()
            .ok_or_else(|| {
                Error::new(
                    Kind::Unknown,
                    "filter",
                    format!("{name:?}"),
                    FILTERS.map(|f| f.name).join(", "),
                    "Use one of these numbers, or give the filter's factor.",
                )
            })
    }
}

/// Filters one behind the other.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stack {
    /// Conversion filters.
    pub filters: Vec<Filter>,
    /// Factors of other filters, each within [`FACTOR`]; they are taken to shift nothing.
    pub factors: Vec<f64>,
}

impl Stack {
    /// Conversion filters alone.
    pub fn of(filters: &[Filter]) -> Self {
        Self {
            filters: filters.to_vec(),
            factors: Vec::new(),
        }
    }

    /// Shift of all of them in mireds: shifts add.
    pub fn mired(&self) -> i32 {
        self.filters.iter().map(|f| f.mired).sum()
    }

    /// What all of them cost, in stops: stops add.
    ///
    /// # Source
    /// [M2], [M3].
    pub fn stops(&self) -> f64 {
        let thirds: u32 = self.filters.iter().map(|f| f.thirds).sum();
        f64::from(thirds) / 3.0 + self.factors.iter().map(|f| f.log2()).sum::<f64>()
    }

    /// What all of them cost, as a factor: factors multiply.
    ///
    /// # Source
    /// [M3].
    pub fn factor(&self) -> f64 {
        self.stops().exp2()
    }
}

/// An exposure through filters: the time at the same f-number, and the f-number at the same time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Through {
    /// Longer time in seconds.
    pub time_s: f64,
    /// Wider f-number, exact.
    pub f_number: f64,
    /// The mark of a lens nearest to it, if a lens has one.
    pub f_mark: Option<f64>,
}

/// What an exposure found without filters becomes through filters that cost `stops`.
///
/// # Units
/// f-number, seconds, stops.
/// # Domain
/// [`exposure::F_NUMBER`], [`exposure::TIME_S`]; the longer time too.
/// # Errors
/// Out of range.
/// # Source
/// [X1]: a stop doubles the time, or divides the f-number by √2.
pub fn through(f_number: f64, time_s: f64, stops: f64) -> Result<Through, Error> {
    let n = exposure::F_NUMBER.check(f_number)?;
    let time = exposure::TIME_S.check(time_s)? * stops.exp2();
    let wider = n / (stops / 2.0).exp2();
    Ok(Through {
        time_s: exposure::TIME_S.check_as("the time through the filters", time)?,
        f_number: wider,
        f_mark: exposure::nearest_mark(wider),
    })
}

/// The shift that turns one light into another: 10⁶/T₂ − 10⁶/T₁.
///
/// # Units
/// Kelvin; mireds, positive when it warms.
/// # Domain
/// [`KELVIN`].
/// # Errors
/// Out of range.
/// # Source
/// [M1].
/// # Example
/// ```
/// use spoolwright_core::wet::filter::shift_mired;
/// // Lamps on daylight film.
/// assert!((shift_mired(3200.0, 5500.0).unwrap() + 130.7).abs() < 0.05);
/// ```
pub fn shift_mired(from_k: f64, to_k: f64) -> Result<f64, Error> {
    Ok(1e6 / KELVIN.check(to_k)? - 1e6 / KELVIN.check(from_k)?)
}

/// What a factor costs in stops: log₂ f.
///
/// # Units
/// Stops.
/// # Domain
/// [`FACTOR`].
/// # Errors
/// Out of range.
/// # Source
/// [M3].
pub fn stops(factor: f64) -> Result<f64, Error> {
    Ok(FACTOR.check(factor)?.log2())
}

/// Stops in whole thirds, as lenses and dials have them.
///
/// # Source
/// [M3]: 1.5 is 0.585 stops and called two thirds.
pub fn nominal_thirds(stops: f64) -> i64 {
    (3.0 * stops).round() as i64
}

/// The speed to set on a meter that does not see through the filters, and the nearest of the standard list.
///
/// # Units
/// Arithmetic speed; stops.
/// # Domain
/// [`bounds::SPEED_ISO`]; the result too.
/// # Errors
/// Out of range.
/// # Source
/// [M4]; the list [X3].
/// # Example
/// ```
/// use spoolwright_core::wet::filter::ei_behind;
/// let (exact, listed) = ei_behind(500.0, 2.0 / 3.0).unwrap();
/// assert_eq!((exact.round(), listed.iso), (315.0, 320.0));
/// ```
pub fn ei_behind(speed: f64, stops: f64) -> Result<(f64, StandardSpeed), Error> {
    let exact = bounds::SPEED_ISO.check(speed)? / stops.exp2();
    let refused = bounds::SPEED_ISO
        .check_as("the exposure index behind the filters", exact)
        .err();
    match (refused, standard_speed(exact)) {
        (None, Some(listed)) => Ok((exact, listed)),
        (refused, _) => Err(refused.unwrap_or_else(|| {
            Error::missing(
                "a standard speed",
                bounds::SPEED_ISO.allowed(),
                "Check the speed.",
            )
        })),
    }
}

/// Filters that come near a wanted shift.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// None, one or two filters.
    pub stack: Stack,
    /// Wanted less given, in mireds; positive: still too blue.
    pub left_mired: f64,
}

/// The nearest that no filter, one, and two can do, each only where it comes nearer than fewer do; the best is last.
///
/// Two filters of a pair are different ones, and both warm or both cool: one against the other only costs light. Of
/// equally near ones the one that costs less light.
///
/// # Units
/// Mireds.
/// # Domain
/// [`SHIFT_MIRED`].
/// # Errors
/// Out of range.
/// # Source
/// Own derivation from [M2]; that mireds add follows from [M1].
pub fn choose(wanted_mired: f64, at_hand: &[Filter]) -> Result<Vec<Choice>, Error> {
    let wanted = SHIFT_MIRED.check(wanted_mired)?;
    let mut stacks = vec![Vec::new()];
    stacks.extend(at_hand.iter().map(|&f| vec![f]));
    for (i, &a) in at_hand.iter().enumerate() {
        let partners = at_hand[i + 1..].iter();
        let fits = |b: &&Filter| **b != a && (b.mired < 0) == (a.mired < 0);
        stacks.extend(partners.filter(fits).map(|&b| vec![a, b]));
    }
    let mut choices: Vec<Choice> = Vec::new();
    for count in 0..=2 {
        let nearest = stacks
            .iter()
            .filter(|s| s.len() == count)
            .map(|filters| {
                let stack = Stack::of(filters);
                let left_mired = wanted - f64::from(stack.mired());
                Choice { stack, left_mired }
            })
            .min_by(|a, b| {
                let far = |c: &Choice| c.left_mired.abs();
                far(a)
                    .total_cmp(&far(b))
                    .then(a.stack.stops().total_cmp(&b.stack.stops()))
            });
        let nearer = |c: &Choice| {
            choices
                .last()
                .is_none_or(|best| c.left_mired.abs() < best.left_mired.abs())
        };
        if let Some(choice) = nearest.filter(nearer) {
            choices.push(choice);
        }
    }
    Ok(choices)
}

/// What limits every conversion filter.
pub fn nominal() -> Caveat {
    Caveat::new(
        "nominal",
        "Shifts and costs are nominal: meter through the filter where you can. Lamps with gaps in their light follow no colour temperature.",
    )
}

/// What limits a choice.
pub fn caveats(best: &Choice) -> Vec<Caveat> {
    let mut found = vec![nominal()];
    if UNSEEN_MIRED < best.left_mired.abs() {
        found.push(Caveat::new(
            "shift_left",
            format!(
                "{:.0} mired are left and will be seen as a cast towards {}.",
                best.left_mired.abs(),
                if 0.0 < best.left_mired {
                    "blue"
                } else {
                    "orange"
                }
            ),
        ));
    }
    found
}
