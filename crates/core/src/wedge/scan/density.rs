//! From levels to densities: tone curve and light found together, then every patch with its errors added up.

use std::f64::consts::LOG10_E;

use super::caveats;
use super::layout::DENSITY;
use super::layout::{Layout, Point, Quad};
use super::light::{Light, Spot};
use super::robust::{Level, median};
use super::tone::{Curve, ReadOff, Step, log_level};
use super::{Flag, Levels, PatchReading, Reading, Shape, StepReading};
use crate::error::{Error, Kind};
use crate::quantity::Estimate;

/// Above this part of clipped pixels a patch is marked.
const CLIPPED: f64 = 0.01;
/// Above it, the patch has no level.
const LOST: f64 = 0.2;
/// Above this part of rejected pixels a patch is marked as dusty.
const DUSTY: f64 = 0.03;
/// Above this difference of density inside a patch it is marked as uneven.
const UNEVEN: f64 = 0.05;
/// This far outside the reference steps a density is marked.
const OUTSIDE: f64 = 0.02;
/// A border lighter than the lightest step by more than this is read off the curve's straight end.
const EXTRAPOLATED: f64 = 0.1;
/// How wrong the curve's straight end may be, as a part of what it says.
const EXTRAPOLATED_DOUBT: f64 = 0.2;
/// Stray light and black offset in a picture said to be linear, as a part of clear: standard deviation. Common
/// practice, no source.
pub(super) const STRAY: f64 = 0.0005;
/// Standard deviation of any density in a picture said to be linear: some 1 % of light. Common practice, no source.
const LINEAR_FLOOR: f64 = 0.005;
/// A border over which light seems to differ by more than this (log10: half of it) is no even, clear density.
const MOST_UNEVEN_LIGHT: f64 = 0.3;
/// A border whose places agree no better than this (log10: 7 % of light) is said to be patchy.
const PATCHY: f64 = 0.03;
/// Above this part of rejected pixels a reference step may have an edge of the next in it.
const EDGED: f64 = 0.1;
/// Fewest uneven reference steps, and the part of all that is uneven or edged, that say that its corners or densities are wrong.
const WRONG_WEDGE: (usize, f64) = (3, 0.25);
/// How often tone curve and light are refined with each other; each time the error falls to a tenth or less.
const ROUNDS: usize = 6;

/// How levels become apparent densities, and what was learnt on the way.
pub(super) struct Calibration {
    /// None when the picture is read as linear.
    pub(super) curve: Option<Curve>,
    pub(super) light: Light,
    /// log10 level of density 0 where the picture is read as linear, with its standard deviation.
    zero: (f64, f64),
    /// Where that level was read, if in one place.
    zero_at: Option<Point>,
    /// Where each reference step lies, by number.
    centres: Vec<Point>,
    /// Numbers of reference steps that could not be used.
    pub(super) left_out: Vec<usize>,
    /// Why the border could not be used, if so.
    pub(super) border: Border,
    /// Whether more than a third of it was not like the rest, or nothing agrees.
    pub(super) border_patchy: bool,
}

/// What became of the clear border.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Border {
    None,
    Unusable,
    Used,
    /// Used, but lighter than the lightest reference step.
    Extrapolated,
}

fn centre(quad: &Quad) -> Point {
    quad.part((0.5, 0.5), (0.5, 0.5)).0[0]
}

fn lost(level: &Level) -> bool {
    LOST < level.white + level.black
}

pub(super) fn read(shape: &Shape, layout: &Layout, levels: &Levels) -> Result<Reading, Error> {
    let calibration = calibrate(shape, layout, levels)?;
    let strip: Vec<PatchReading> = levels
        .strip
        .iter()
        .map(|(quad, level)| calibration.patch(quad, level))
        .collect();
    let known = layout.reference.iter().flat_map(|r| &r.density);
    let reference: Vec<StepReading> = levels
        .reference
        .iter()
        .zip(known)
        .enumerate()
        .map(|(i, ((quad, level), density))| StepReading {
            outline: *quad,
            density: *density,
            level: level.mean,
            rejected: level.rejected,
            used: !calibration.left_out.contains(&(i + 1)),
            flags: calibration.flags(level),
        })
        .collect();
    let light_range = matches!(calibration.border, Border::Used | Border::Extrapolated)
        .then(|| calibration.light_range(levels));
    let caveats = caveats::of(
        shape,
        layout,
        &calibration,
        levels,
        light_range,
        &strip,
        &reference,
    );
    Ok(Reading {
        strip,
        reference,
        light_range,
        caveats,
    })
}

fn calibrate(shape: &Shape, layout: &Layout, levels: &Levels) -> Result<Calibration, Error> {
    let size = (shape.width, shape.height);
    let known = layout.reference.as_ref();
    let sd = known.map_or(0.0, |r| r.density_sd);
    let mut steps = Vec::new();
    let mut left_out = Vec::new();
    let densities = known.iter().flat_map(|r| &r.density);
    for (i, ((_, level), density)) in levels.reference.iter().zip(densities).enumerate() {
        match log_level(level).filter(|_| !lost(level)) {
            Some(z) => steps.push(Step {
                number: i + 1,
                z,
                a: (*density, sd),
            }),
            None => left_out.push(i + 1),
        }
    }
    let mut calibration = Calibration {
        curve: None,
        light: Light::unknown(size),
        zero: (0.0, 0.0),
        zero_at: None,
        centres: levels.reference.iter().map(|(q, _)| centre(q)).collect(),
        left_out,
        border: Border::None,
        border_patchy: false,
    };
    let border: Vec<(Point, (f64, f64))> = levels
        .border
        .iter()
        .filter(|(_, level)| level.white + level.black < CLIPPED)
        .filter_map(|(quad, level)| Some((centre(quad), log_level(level)?)))
        .collect();
    let usable = levels.border.len() < 2 * border.len();
    calibration.border = match (levels.border.is_empty(), usable) {
        (true, _) => Border::None,
        (false, true) => Border::Used,
        (false, false) => Border::Unusable,
    };
    if known.is_none() {
        calibration.linear(size, &border, &levels.strip);
        calibration.check_light(levels)?;
        return Ok(calibration);
    }
    let count = levels.reference.len();
    calibration.curve = Some(Curve::through(steps.clone(), count)?);
    check_border(&border, &steps)?;
    if calibration.widen_uneven(levels, &mut steps)? {
        calibration.curve = Some(Curve::through(steps.clone(), count)?);
    }
    if calibration.border == Border::Used {
        for _ in 0..ROUNDS {
            calibration.light_from(size, &border);
            calibration.check_light(levels)?;
            let lit = |step: &Step| Step {
                a: (
                    step.a.0
                        - calibration
                            .light
                            .log10_at(calibration.centres[step.number - 1]),
                    step.a.1,
                ),
                ..*step
            };
            calibration.curve = Some(Curve::through(steps.iter().map(lit).collect(), count)?);
        }
    }
    Ok(calibration)
}

/// A clear border is lighter than most of a wedge, unless light and dark were exchanged and the wedge turned with them.
fn check_border(border: &[(Point, (f64, f64))], steps: &[Step]) -> Result<(), Error> {
    if border.is_empty() {
        return Ok(());
    }
    let middle = median(&mut border.iter().map(|b| b.1.0).collect::<Vec<_>>());
    let lighter = steps.iter().filter(|s| middle < s.z.0).count();
    if 2 * lighter <= steps.len() {
        return Ok(());
    }
    Err(Error::new(
        Kind::Inconsistent,
        "clear_border: darker than most of the reference wedge",
        format!("{lighter} of {} steps are lighter than it", steps.len()),
        "clear film or bare light, which few steps if any are lighter than",
        "Lay it on clear film. If it lies there, the picture is a positive and the wedge is given from its wrong end: say `inverted` and exchange the wedge's ends.",
    ))
}

impl Calibration {
    /// Apparent density at a log10 level.
    fn apparent(&self, z: (f64, f64)) -> Option<ReadOff> {
        match &self.curve {
            Some(curve) => curve.read(z),
            None => Some(ReadOff {
                a: self.zero.0 - z.0,
                noise: z.1,
                fit: self
                    .zero
                    .1
                    .hypot(LOG10_E * STRAY * 10f64.powf(self.zero.0 - z.0))
                    .hypot(LINEAR_FLOOR),
                beyond: 0.0,
            }),
        }
    }

    /// The light that the border shows, with the tone curve as it is now.
    fn light_from(&mut self, size: (u32, u32), border: &[(Point, (f64, f64))]) {
        let Some(curve) = &self.curve else { return };
        let spot = |(at, (z, sd)): &(Point, (f64, f64))| Spot {
            at: *at,
            light: -curve.at(*z),
            sd: (curve.at(z + sd) - curve.at(z - sd)).abs() / 2.0,
        };
        let spots: Vec<Spot> = border.iter().map(spot).collect();
        let beyond = border.iter().filter_map(|(_, z)| curve.read(*z));
        let extrapolated = beyond.clone().count() < border.len()
            || beyond.map(|r| r.beyond).fold(0.0, f64::max) > EXTRAPOLATED;
        self.border_light(size, &spots);
        if extrapolated {
            self.light.doubt_itself(EXTRAPOLATED_DOUBT);
            self.border = Border::Extrapolated;
        } else {
            self.border = Border::Used;
        }
    }

    fn border_light(&mut self, size: (u32, u32), spots: &[Spot]) {
        let (light, left_out) = Light::from_border(size, spots);
        self.light = light;
        self.border_patchy = spots.len() < 3 * left_out || PATCHY < self.light.unexplained;
    }

    /// By how much the light differs over strip and wedge, log10.
    fn light_range(&self, levels: &Levels) -> f64 {
        let places = levels.strip.iter().chain(&levels.reference);
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for (quad, _) in places {
            let light = self.light.log10_at(centre(quad));
            (least, most) = (least.min(light), most.max(light));
        }
        most - least
    }

    fn check_light(&self, levels: &Levels) -> Result<(), Error> {
        let range = self.light_range(levels);
        if range <= MOST_UNEVEN_LIGHT {
            return Ok(());
        }
        Err(Error::new(
            Kind::Inconsistent,
            "clear_border: not one even, clear density",
            format!("light that would differ by {range:.2} (log10) over strip and wedge"),
            format!("up to {MOST_UNEVEN_LIGHT}, which is half of the light"),
            "Lay it on clear film or bare light beside strip and wedge, nothing else inside; or leave it out.",
        ))
    }

    /// Makes reference steps that are not of one density less sure, and says whether there were any.
    ///
    /// A step whose edge lies in the patch reads somewhere between two densities: half of the difference is its
    /// standard deviation.
    fn widen_uneven(&self, levels: &Levels, steps: &mut [Step]) -> Result<bool, Error> {
        let (mut uneven, mut edged) = (Vec::new(), 0usize);
        for step in steps.iter_mut() {
            let level = &levels.reference[step.number - 1].1;
            let across = self.across(level);
            edged += usize::from(across <= UNEVEN && EDGED < level.rejected);
            if UNEVEN < across {
                step.a.1 = step.a.1.hypot(across / 2.0);
                uneven.push(step.number);
            }
        }
        let (fewest, part) = WRONG_WEDGE;
        if fewest <= uneven.len() && part * steps.len() as f64 <= (uneven.len() + edged) as f64 {
            let numbers: Vec<String> = uneven.iter().map(usize::to_string).collect();
            return Err(Error::new(
                Kind::Inconsistent,
                "reference: too many steps are not of one density",
                format!(
                    "{} of {} steps: {}",
                    uneven.len(),
                    steps.len(),
                    numbers.join(", ")
                ),
                "a wedge's steps, each inside its own patch",
                "Check the number of its densities and its corners: one density for each step that lies between them.",
            ));
        }
        Ok(!uneven.is_empty())
    }

    /// A picture said to be linear: the border, or else the lightest patch, is density 0.
    fn linear(
        &mut self,
        size: (u32, u32),
        border: &[(Point, (f64, f64))],
        strip: &[(Quad, Level)],
    ) {
        if self.border == Border::Used {
            let spot = |(at, (z, sd)): &(Point, (f64, f64))| Spot {
                at: *at,
                light: *z,
                sd: *sd,
            };
            let spots: Vec<Spot> = border.iter().map(spot).collect();
            self.border_light(size, &spots);
            // Stray light is a part of clear, so its level must be known.
            self.zero.0 = self.light.take_mean();
            return;
        }
        let lightest = strip
            .iter()
            .filter(|(_, level)| !lost(level))
            .filter_map(|(quad, level)| Some((centre(quad), log_level(level)?)))
            .max_by(|p, q| p.1.0.total_cmp(&q.1.0));
        if let Some((at, zero)) = lightest {
            self.zero = zero;
            self.zero_at = Some(at);
        }
    }

    fn patch(&self, quad: &Quad, level: &Level) -> PatchReading {
        let mut flags = self.flags(level);
        let density = self.density(centre(quad), level, &mut flags);
        PatchReading {
            outline: *quad,
            density,
            level: level.mean,
            rejected: level.rejected,
            flags,
        }
    }

    /// The flags that follow from the pixels alone.
    fn flags(&self, level: &Level) -> Vec<Flag> {
        let mut flags = Vec::new();
        if CLIPPED < level.white + level.black {
            flags.push(Flag::Clipped);
        }
        if DUSTY < level.rejected {
            flags.push(Flag::Dusty);
        }
        if UNEVEN < self.across(level) {
            flags.push(Flag::Uneven);
        }
        flags
    }

    /// How much density seems to differ inside a patch.
    fn across(&self, level: &Level) -> f64 {
        let across = |change: f64| {
            let z = |level: f64| level.max(1e-6).log10();
            let (light, dark) = (z(level.mean + change / 2.0), z(level.mean - change / 2.0));
            match &self.curve {
                Some(curve) => (curve.at(dark) - curve.at(light)).abs(),
                None => light - dark,
            }
        };
        across(level.tilt).max(across(2.0 * level.rough))
    }

    fn density(&self, at: Point, level: &Level, flags: &mut Vec<Flag>) -> Option<Estimate> {
        if lost(level) {
            return None;
        }
        let Some(z) = log_level(level) else {
            flags.push(Flag::TooDark);
            return None;
        };
        let Some(read) = self.apparent(z) else {
            flags.push(Flag::OutsideReference);
            return None;
        };
        if OUTSIDE < read.beyond {
            flags.push(Flag::OutsideReference);
        }
        let light = &self.light;
        let doubts = light.doubts.iter().map(|doubt| {
            let here = light.doubt_at(doubt, at);
            let there = |p: &Point| light.doubt_at(doubt, *p);
            let zero = match &self.curve {
                Some(curve) => -curve.shift_steps(z.0, |n| -there(&self.centres[n - 1])),
                None => self.zero_at.as_ref().map_or(0.0, there),
            };
            (here - zero).powi(2)
        });
        let variance =
            read.noise.powi(2) + read.fit.powi(2) + light.unexplained.powi(2) + doubts.sum::<f64>();
        let density = read.a + light.log10_at(at);
        if !(DENSITY.min..=DENSITY.max).contains(&density) {
            flags.push(Flag::OutsideReference);
            flags.dedup();
            return None;
        }
        Some(Estimate::new(density, variance.sqrt()))
    }
}
