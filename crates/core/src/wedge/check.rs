//! What a test must be before anything is fitted: refusals, and readings in the order the fits want.

use super::fit::Readings;
use super::{Exposure, Material, Measure, Strip, Target, Test};
use crate::bounds;
use crate::error::{Error, Kind};

/// Most strips of one test.
pub const MAX_STRIPS: usize = 24;
/// Most steps of one strip.
pub const MAX_STEPS: usize = 120;
/// Fewest usable steps of one strip, at different exposures.
pub const FEWEST_STEPS: usize = 5;
/// Noise of a reading where the user says nothing: a start for the estimate from the scatter.
const USUAL_SD: f64 = 0.01;
/// A fall of density with exposure larger than this, and than six standard deviations, is no noise.
const CREDIBLE_FALL: f64 = 0.15;
/// Base + fog that lies above the least dense step by more than this, and than six standard deviations, is another's.
const DENSER_BASE: f64 = 0.05;
/// Least gain of density from end to end that counts as an image.
const LEAST_RISE: f64 = 0.15;
/// Two exposures nearer than this, in log H, are one.
const SAME: f64 = 1e-6;

/// A test that may be fitted.
#[derive(Debug, Clone)]
pub(super) struct Checked {
    /// One for each strip, in the order given.
    pub(super) readings: Vec<Readings>,
    /// −1 where density falls with exposure and log H was negated, else 1.
    pub(super) sign: f64,
    /// Whether the user said how noisy a reading is, for every strip.
    pub(super) said: bool,
    /// Whether one unexposed reading serves several strips.
    pub(super) shared_base: bool,
}

pub(super) fn test(test: &Test) -> Result<Checked, Error> {
    strips(&test.strips)?;
    let log_h = exposure(&test.exposure)?;
    if let Some(base) = test.base_fog {
        bounds::BASE_FOG.check_as("base_fog", base)?;
    }
    if let Some(target) = test.target {
        self::target(target, test.material)?;
    }
    let sign = if test.material == Material::Reversal {
        -1.0
    } else {
        1.0
    };
    let said: Vec<f64> = test.strips.iter().filter_map(|s| s.density_sd).collect();
    let usual = if said.is_empty() {
        USUAL_SD
    } else {
        said.iter().sum::<f64>() / said.len() as f64
    };
    let readings = test
        .strips
        .iter()
        .enumerate()
        .map(|(i, s)| strip(i, s, &log_h, sign, usual, test))
        .collect::<Result<Vec<_>, _>>()?;
    let own = test.strips.iter().filter(|s| s.base_fog.is_some()).count();
    Ok(Checked {
        readings,
        sign,
        said: said.len() == test.strips.len(),
        shared_base: test.base_fog.is_some() && test.strips.len() > own + 1,
    })
}

/// How a strip is called in refusals and caveats.
pub(super) fn name(index: usize, time_min: f64) -> String {
    format!("strip {} ({time_min} min)", index + 1)
}

fn strips(strips: &[Strip]) -> Result<(), Error> {
    if strips.is_empty() {
        return Err(Error::missing(
            "strips",
            format!("1 to {MAX_STRIPS} strips"),
            "Give at least one developed strip.",
        ));
    }
    if strips.len() > MAX_STRIPS {
        return Err(Error::new(
            Kind::TooLarge,
            "strips",
            format!("{} strips", strips.len()),
            format!("1 to {MAX_STRIPS} strips"),
            "Leave out the strips you trust least.",
        ));
    }
    for (i, strip) in strips.iter().enumerate() {
        let field = format!("strips[{i}].time_min");
        bounds::DEVELOPING_MIN.check_as(&field, strip.time_min)?;
        let twin = strips[..i]
            .iter()
            .position(|other| (other.time_min / strip.time_min).ln().abs() < 0.005);
        if let Some(twin) = twin {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{field}: the same time as strip {}", twin + 1),
                format!("{} min", strip.time_min),
                "a different developing time for every strip",
                "Average the two strips into one, or correct a time.",
            ));
        }
    }
    Ok(())
}

/// log10 exposure of each step.
fn exposure(exposure: &Exposure) -> Result<Vec<f64>, Error> {
    let steps = match exposure {
        Exposure::Absolute { wedge_density, .. } | Exposure::Relative { wedge_density } => {
            wedge(wedge_density)?;
            wedge_density
        }
        Exposure::InCamera {
            meter_offset_stops, ..
        } => meter_offset_stops,
    };
    if steps.len() > MAX_STEPS {
        return Err(Error::new(
            Kind::TooLarge,
            "steps",
            format!("{} steps", steps.len()),
            format!("{FEWEST_STEPS} to {MAX_STEPS} steps"),
            "Average neighbouring readings, or leave some out.",
        ));
    }
    match exposure {
        Exposure::Absolute {
            log_h_at_zero_density,
            wedge_density,
        } => {
            let zero =
                bounds::LOG_EXPOSURE.check_as("log_h_at_zero_density", *log_h_at_zero_density)?;
            Ok(wedge_density.iter().map(|d| zero - d).collect())
        }
        Exposure::Relative { wedge_density } => Ok(wedge_density.iter().map(|d| -d).collect()),
        Exposure::InCamera {
            meter_offset_stops,
            meter_ei,
        } => {
            if let Some(ei) = meter_ei {
                bounds::SPEED_ISO.check_as("meter_ei", *ei)?;
            }
            for (k, stops) in meter_offset_stops.iter().enumerate() {
                bounds::METER_STOPS.check_as(&format!("meter_offset_stops[{k}]"), *stops)?;
            }
            Ok(meter_offset_stops
                .iter()
                .map(|s| s * 2f64.log10())
                .collect())
        }
    }
}

fn wedge(density: &[f64]) -> Result<(), Error> {
    for (k, d) in density.iter().enumerate() {
        bounds::WEDGE_DENSITY.check_as(&format!("wedge_density[{k}]"), *d)?;
    }
    let rises = density.len() > 1 && density[1] > density[0];
    for (k, pair) in density.windows(2).enumerate() {
        if (pair[1] - pair[0]).abs() < SAME || (pair[1] > pair[0]) != rises {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("wedge_density[{}]: the wedge is not in order", k + 1),
                format!("{} after {}", pair[1], pair[0]),
                "densities that rise from step to step, or fall from step to step",
                "Give the wedge's steps in the order in which they lie.",
            ));
        }
    }
    Ok(())
}

fn strip(
    index: usize,
    strip: &Strip,
    log_h: &[f64],
    sign: f64,
    usual_sd: f64,
    test: &Test,
) -> Result<Readings, Error> {
    let called = name(index, strip.time_min);
    if strip.density.len() != log_h.len() {
        return Err(Error::new(
            Kind::Inconsistent,
            format!("{called}: not as many densities as the exposure has steps"),
            format!("{} densities", strip.density.len()),
            format!("{} densities, one a step", log_h.len()),
            "Leave a patch that cannot be read empty instead of leaving it out.",
        ));
    }
    let sd = match strip.density_sd {
        Some(sd) => bounds::DENSITY_SD.check_as(&format!("strips[{index}].density_sd"), sd)?,
        None => usual_sd,
    };
    let base = match strip.base_fog {
        Some(base) => Some(bounds::BASE_FOG.check_as(&format!("strips[{index}].base_fog"), base)?),
        None => test.base_fog,
    };
    let mut points = Vec::new();
    for (k, density) in strip.density.iter().enumerate() {
        if let Some(d) = density {
            let d = bounds::DENSITY.check_as(&format!("strips[{index}].density[{k}]"), *d)?;
            points.push((sign * log_h[k], d, k));
        }
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let different = 1 + points.windows(2).filter(|w| w[1].0 - w[0].0 > SAME).count();
    if points.is_empty() || different < FEWEST_STEPS {
        return Err(Error::new(
            Kind::Missing,
            format!("{called}: too few usable steps"),
            format!("{} at different exposures", different.min(points.len())),
            format!("{FEWEST_STEPS} usable steps at least"),
            "Read more patches, or expose a strip with more steps.",
        ));
    }
    rising(&called, &points, sd, test.material)?;
    if let Some(base) = base {
        let least = points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        if base > least + DENSER_BASE.max(6.0 * 2f64.sqrt() * sd) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{called}: base + fog is denser than a step"),
                format!("{base} with a step of {least}"),
                "base + fog no denser than the least dense step",
                "Read base + fog on film that saw no light but was developed with this strip.",
            ));
        }
    }
    Ok(Readings {
        x: points.iter().map(|p| p.0).collect(),
        y: points.iter().map(|p| p.1).collect(),
        steps: points.iter().map(|p| p.2).collect(),
        base,
        sd: sd.max(1e-4),
    })
}

/// Refuses densities that go the wrong way by more than noise, and strips without an image.
fn rising(
    called: &str,
    points: &[(f64, f64, usize)],
    sd: f64,
    material: Material,
) -> Result<(), Error> {
    let (allowed, wrong) = match material {
        Material::Reversal => (
            "density that falls with exposure, as reversal does",
            "rises",
        ),
        _ => (
            "density that rises with exposure, as a negative's does",
            "falls",
        ),
    };
    let third = (points.len() / 3).max(1);
    let mean =
        |part: &[(f64, f64, usize)]| part.iter().map(|p| p.1).sum::<f64>() / part.len() as f64;
    let rise = mean(&points[points.len() - third..]) - mean(&points[..third]);
    let fall = CREDIBLE_FALL.max(6.0 * 2f64.sqrt() * sd);
    if rise < -0.5 * LEAST_RISE {
        return Err(Error::new(
            Kind::Inconsistent,
            format!("{called}: density {wrong} with exposure"),
            format!("a change of {rise:.2} the wrong way"),
            allowed,
            "Was the strip read from its other end, the wedge given in the wrong order, or the material mistaken?",
        ));
    }
    let mut highest = points[0];
    for p in points {
        if p.1 < highest.1 - fall && p.0 - highest.0 > SAME {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{called}: density {wrong} with exposure"),
                format!(
                    "{} at step {} after {} at step {}",
                    p.1,
                    p.2 + 1,
                    highest.1,
                    highest.2 + 1
                ),
                allowed,
                "Correct the reading, or leave that patch empty.",
            ));
        }
        if p.1 > highest.1 {
            highest = *p;
        }
    }
    if rise < LEAST_RISE {
        return Err(Error::new(
            Kind::Impossible,
            format!("{called}: hardly any image"),
            format!("{rise:.2} of density between its ends"),
            format!("at least {LEAST_RISE}"),
            "Expose more, develop longer, or leave this strip out.",
        ));
    }
    Ok(())
}

/// A contrast that may be asked for.
pub(super) fn target(target: Target, material: Material) -> Result<Target, Error> {
    bounds::CONTRAST.check_as("target.value", target.value)?;
    if material != Material::Negative {
        return Err(Error::new(
            Kind::Inconsistent,
            "target",
            "a contrast target for colour or reversal film",
            "a target for black-and-white negative only",
            "Leave the target out: such film is developed as its process says.",
        ));
    }
    Ok(target)
}

/// A measure that a material has.
pub(super) fn usual_measure(test: &Test) -> Measure {
    match (test.target, test.material) {
        (Some(target), _) => target.measure,
        (None, Material::Negative) => Measure::IsoTriangle,
        (None, _) => Measure::Gamma,
    }
}
