//! Colour film: three layers on the same strips, each its own curve, and the speed that stands for the film.
//!
//! There is no contrast target: such film is developed as its process says. The speeds are those of [S21] and [S22],
//! from memory, and say so.

use super::bootstrap::interval;
use super::family::Draws;
use super::result::{Analysis, Effort, Interval, StandardSpeed};
use super::{Material, Test, analyse};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

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
/// Negative: the mean of log H of the green-read layer and of the slowest one ([S21]). Reversal: the green-read layer,
/// which comes nearest to the visual density that the standard reads ([S22]).
///
/// # Units
/// As [`analyse`].
/// # Errors
/// As [`analyse`], and layers that do not share exposure, times and material, or that are black-and-white negative.
/// # Source
/// [S21], [S22].
pub fn analyse_colour(test: &ColourTest, effort: Effort) -> Result<ColourAnalysis, Error> {
    let layers = [
        ("red", &test.red),
        ("green", &test.green),
        ("blue", &test.blue),
    ];
    for (name, layer) in layers {
        same_strips(name, layer, &test.green)?;
    }
    let analysed = layers.map(|(name, layer)| {
        analyse(layer, effort).map_err(|mut e| {
            e.what = format!("{name}: {}", e.what);
            e
        })
    });
    let [red, green, blue] = analysed;
    let (red, green, blue) = (red?, green?, blue?);
    let strips = test
        .green
        .strips
        .iter()
        .map(|s| combine(s.time_min, [&red.draws, &green.draws, &blue.draws]))
        .collect();
    let text = match test.green.material {
        Material::Reversal => {
            "The combined speed is the green-read layer's; ISO 2240 reads visual density. Its speed points are given from memory, not from its text."
        }
        _ => {
            "The combined speed follows ISO 5800 (0.15 over the least density, green-read and slowest layer) from memory, not from its text."
        }
    };
    Ok(ColourAnalysis {
        red,
        green,
        blue,
        strips,
        caveats: vec![Caveat::new("colour_speed_from_memory", text)],
    })
}

fn same_strips(name: &str, layer: &Test, green: &Test) -> Result<(), Error> {
    let refuse = |what: &str, allowed: &str| {
        Err(Error::new(
            Kind::Inconsistent,
            format!("the {name}-read layer"),
            what,
            allowed,
            "Read all three filters on the same strips.",
        ))
    };
    if layer.material == Material::Negative {
        return refuse("black-and-white negative", "colour negative or reversal");
    }
    if layer.material != green.material {
        return refuse("another material than the green-read layer", "one material");
    }
    if layer.exposure != green.exposure {
        return refuse("another exposure than the green-read layer", "one exposure");
    }
    let times = |t: &Test| t.strips.iter().map(|s| s.time_min).collect::<Vec<_>>();
    if times(layer) != times(green) {
        return refuse(
            "other developing times than the green-read layer",
            "the same strips",
        );
    }
    Ok(())
}

fn combine(time_min: f64, [red, green, blue]: [&Draws; 3]) -> ColourStrip {
    let place = green.times.iter().position(|t| *t == time_min).unwrap_or(0);
    let point = |d: &Draws, round: Option<usize>| match round {
        None => d.best[place].speed_point,
        Some(r) => d.rounds[place].numbers[r].speed_point,
    };
    // The layers' rounds share their streams, so they are paired out of step.
    let count = green.rounds[place].numbers.len();
    let layer = |d: &Draws, round: Option<usize>, shift: usize| {
        point(d, round.map(|r| (r + shift * (count / 3) + shift) % count))
    };
    let whole = |round: Option<usize>| {
        let (r, g, b) = (
            layer(red, round, 1),
            layer(green, round, 0),
            layer(blue, round, 2),
        );
        if green.material == Material::Reversal {
            g
        } else if r.is_nan() || g.is_nan() || b.is_nan() {
            f64::NAN
        } else {
            f64::midpoint(g, r.max(g).max(b))
        }
    };
    let log_h = interval(whole(None), (0..count).map(|r| whole(Some(r))));
    let rating = green.scale.rate(log_h);
    ColourStrip {
        time_min,
        log_h: rating.log_h,
        speed: rating.speed,
        speed_rounded: rating.speed_rounded,
        ei_stops: rating.ei_stops,
        ei: rating.ei,
        ei_rounded: rating.ei_rounded,
    }
}
