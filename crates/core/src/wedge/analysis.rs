//! From a test to all that it says: check, fit, rounds, then each number with its interval and its caveats.

use super::bootstrap::{self, BAND, Rounds, abscissa, interval, quantile};
use super::family::Draws;
use super::fit::{CLEARLY, Choice, Curve, Fitted, choose};
use super::measures::{Numbers, TRIANGLE, numbers, speed_density};
use super::result::{Analysis, CurvePoint, Effort, Interval, Model, Point, Smooth, StripResult};
use super::speed::Scale;
use super::{Material, SpeedKind, Test, check};
use crate::bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

/// Tolerance of the density gained over 1.30 log H for a speed to be called an ISO speed: from memory; [S2] as cited
/// gives the 0.80 only.
const TRIANGLE_TOLERANCE: f64 = 0.05;
/// Density that the ISO triangle gains ([S2]).
const TRIANGLE_RISE: f64 = 0.80;
/// Share of gamma that the slope at the lowest step may have, if base + fog is to be told from the steps.
const FLAT: f64 = 0.25;
/// Density over base + fog at the lowest step below which base + fog may be told from the steps.
const FOOT: f64 = 0.03;
/// Standard deviations beyond which a reading is pointed at.
const OFF: f64 = 4.0;
/// The same for base + fog, against the foot of the steps.
const OFF_FOOT: f64 = 3.0;
/// Base + fog and the steps' foot nearer to each other than this do not matter: a tenth of a stop at most.
const NEAR_FOOT: f64 = 0.025;
/// Noise estimated over noise said, beyond which one of them is wrong.
const NOISIER: f64 = 2.0;

/// Work a test out.
///
/// # Units
/// Minutes, densities, log10 exposure (lux-seconds where it is absolute, else relative; in camera relative to the
/// meter reading), arithmetic speed, stops.
/// # Domain
/// One to [`super::MAX_STRIPS`] strips of [`super::FEWEST_STEPS`] to [`super::MAX_STEPS`] usable steps, every number
/// within [`crate::bounds`].
/// # Errors
/// Fewer than five usable steps, no unexposed patch where the lowest steps are not flat, equal times, density that
/// goes the wrong way, a wedge out of order, lengths that differ, numbers out of bounds: each refusal names the strip.
/// # Source
/// [S1] to [S4], [S10], [S13], [S15], [S16]; the smooths and their intervals are own derivation.
/// # Example
/// ```
/// use spoolwright_core::wedge::{Effort, Exposure, Material, Strip, Test, analyse};
/// let wedge: Vec<f64> = (0..21).map(|k| 0.05 + 0.15 * f64::from(k)).collect();
/// let toe = |d: f64| 0.20 + 0.6844 / 5.0 * (1.0 + (5.0 * (0.10 - d + 2.2085)).exp()).ln();
/// let strip = Strip {
///     time_min: 8.0,
///     density: wedge.iter().map(|&d| Some(toe(d))).collect(),
///     density_sd: None,
///     base_fog: None,
/// };
/// let test = Test {
///     exposure: Exposure::Absolute { log_h_at_zero_density: 0.10, wedge_density: wedge },
///     strips: vec![strip],
///     base_fog: None,
///     material: Material::Negative,
///     target: None,
/// };
/// let analysis = analyse(&test, Effort::default()).unwrap();
/// assert_eq!(analysis.strips[0].speed_rounded.unwrap().to_string(), "125/22°");
/// ```
pub fn analyse(test: &Test, effort: Effort) -> Result<Analysis, Error> {
    let checked = check::test(test)?;
    bounds::ROUNDS.check_as("rounds", effort.rounds as f64)?;
    let choice = choose(&checked.readings, checked.said);
    let mut order: Vec<usize> = (0..test.strips.len()).collect();
    order.sort_by(|&a, &b| test.strips[a].time_min.total_cmp(&test.strips[b].time_min));
    let mut rank = vec![0; order.len()];
    for (place, &i) in order.iter().enumerate() {
        rank[i] = place;
    }
    let curves: Vec<Curve<'_>> = choice
        .strips
        .iter()
        .map(|f| Curve::new(&f.shape, &f.theta))
        .collect();
    let mut best: Vec<Numbers> = curves
        .iter()
        .map(|c| numbers(c, test.material, None))
        .collect();
    for (i, strip) in test.strips.iter().enumerate() {
        foot(
            &check::name(i, strip.time_min),
            &choice.strips[i],
            &curves[i],
            best[i].gamma,
        )?;
    }
    let mut rounds = bootstrap::rounds(
        &choice,
        &rank,
        effort.rounds,
        test.material,
        checked.shared_base,
    );
    for (best, rounds) in best.iter_mut().zip(&mut rounds) {
        bootstrap::settle_gamma(best, rounds);
    }
    let scale = Scale::new(&test.exposure, test.material);
    let sign = checked.sign;
    for numbers in best
        .iter_mut()
        .chain(rounds.iter_mut().flat_map(|r| &mut r.numbers))
    {
        numbers.speed_point *= sign;
        numbers.index_centre *= sign;
    }
    let one = |i: usize| Strip {
        test,
        fitted: &choice.strips[i],
        curve: &curves[i],
        best: &best[i],
        rounds: &rounds[i],
        scale: &scale,
        sign,
    };
    let strips = test
        .strips
        .iter()
        .enumerate()
        .map(|(i, s)| one(i).result(s.time_min))
        .collect::<Result<Vec<_>, _>>()?;
    let model = model(&choice);
    let mut caveats = family_caveats(test, &choice, checked.said, scale.kind);
    let draws = Draws {
        times: order.iter().map(|&i| test.strips[i].time_min).collect(),
        best: order.iter().map(|&i| best[i]).collect(),
        rounds: order
            .iter()
            .map(|&i| std::mem::take(&mut rounds[i]))
            .collect(),
        scale,
        material: test.material,
        sign,
    };
    caveats.extend(draws.falls(check::usual_measure(test)));
    let mut analysis = Analysis {
        material: test.material,
        speed_kind: scale.kind,
        model,
        strips,
        time_contrast: None,
        at_target: None,
        caveats: Vec::new(),
        draws,
    };
    if test.strips.len() > 1 {
        analysis.time_contrast = analysis.time_contrast_in(check::usual_measure(test)).ok();
        if let Some(target) = test.target {
            match analysis.at(target) {
                Ok(at) => analysis.at_target = Some(at),
                Err(e) => caveats.push(Caveat::new("target_out_of_reach", e.to_string())),
            }
        }
    } else if test.target.is_some() {
        caveats.push(Caveat::new(
            "one_strip",
            "One strip tells no developing time: develop a second one for another time.",
        ));
    }
    analysis.caveats = caveats;
    Ok(analysis)
}

/// Refuses a strip whose base and fog nothing tells.
fn foot(called: &str, fitted: &Fitted, curve: &Curve<'_>, gamma: f64) -> Result<(), Error> {
    let readings = fitted.shape.readings();
    if readings.base.is_some() {
        return Ok(());
    }
    let (low, _) = readings.range();
    let (density, slope) = curve.both(low);
    let steepest = if gamma.is_nan() { slope } else { gamma };
    if slope <= FLAT * steepest && density - curve.base() < FOOT {
        return Ok(());
    }
    Err(Error::new(
        Kind::Missing,
        format!("{called}: no unexposed patch"),
        format!(
            "lowest step {:.2}, where the curve still rises {slope:.2} per log H",
            readings.y[0]
        ),
        "a base + fog reading, or lowest steps that are flat",
        "Read a patch or frame that saw no light, and give its density as base + fog.",
    ))
}

struct Strip<'a> {
    test: &'a Test,
    fitted: &'a Fitted,
    curve: &'a Curve<'a>,
    best: &'a Numbers,
    rounds: &'a Rounds,
    scale: &'a Scale,
    sign: f64,
}

impl Strip<'_> {
    fn interval(&self, number: impl Fn(&Numbers) -> f64) -> Option<Interval> {
        interval(number(self.best), self.rounds.numbers.iter().map(number))
    }

    fn result(&self, time_min: f64) -> Result<StripResult, Error> {
        let sure = |i: Option<Interval>| {
            i.ok_or_else(|| {
                Error::new(
                    Kind::Impossible,
                    format!("the strip of {time_min} min"),
                    "readings that no curve settles",
                    "readings from which a curve follows",
                    "Check its densities, or leave the strip out.",
                )
            })
        };
        let rating = self.scale.rate(self.interval(|n| n.speed_point));
        let speed = if self.test.material == Material::ColourNegative {
            self.scale.rate(None)
        } else {
            rating
        };
        let delta_d = self.interval(|n| n.delta_d);
        let iso_condition_met = delta_d.map(|d| is_iso(d.value));
        let mut result = StripResult {
            time_min,
            base_fog: sure(self.interval(|n| n.base_fog))?,
            log_h_speed_point: rating.log_h,
            speed: speed.speed,
            speed_rounded: speed.speed_rounded,
            iso_condition_met,
            ei_stops: speed.ei_stops,
            ei: speed.ei,
            ei_rounded: speed.ei_rounded,
            delta_d_over_1_30: delta_d,
            gamma: self.interval(|n| n.gamma),
            average_gradient: self.interval(|n| n.average_gradient),
            contrast_index: self.interval(|n| n.contrast_index),
            contrast_index_centre: Some(self.best.index_centre).filter(|c| c.is_finite()),
            log_h_fractional_gradient: self.interval(|n| n.fractional),
            useful_range: self.interval(|n| n.useful_range),
            d_max: sure(self.interval(|n| n.d_max))?,
            points: self.points(),
            curve: self.band(),
            caveats: Vec::new(),
        };
        result.caveats = self.caveats(&result);
        Ok(result)
    }

    fn points(&self) -> Vec<Point> {
        let readings = self.fitted.shape.readings();
        let mut points: Vec<Point> = readings
            .x
            .iter()
            .zip(&readings.y)
            .map(|(&x, &density)| Point {
                log_h: self.sign * x,
                density,
                sd: self.fitted.sd,
                fitted: self.curve.at(x),
            })
            .collect();
        if self.sign < 0.0 {
            points.reverse();
        }
        points
    }

    fn band(&self) -> Vec<CurvePoint> {
        let range = self.fitted.shape.readings().range();
        let mut band: Vec<CurvePoint> = (0..BAND)
            .filter_map(|k| {
                let x = abscissa(range, k);
                Some(CurvePoint {
                    x: self.sign * x,
                    y: interval(self.curve.at(x), self.rounds.band.iter().map(|b| b[k]))?,
                })
            })
            .collect();
        if self.sign < 0.0 {
            band.reverse();
        }
        band
    }

    fn caveats(&self, result: &StripResult) -> Vec<Caveat> {
        let mut caveats = Vec::new();
        let negative = self.test.material == Material::Negative;
        if result.log_h_speed_point.is_none() {
            caveats.push(Caveat::new(
                "no_speed_point",
                format!(
                    "The steps do not bracket the speed point, {:.2} over base + fog: expose further down, or up.",
                    speed_density(self.test.material)
                ),
            ));
        } else if negative && result.delta_d_over_1_30.is_none() {
            caveats.push(Caveat::new(
                "triangle_not_reached",
                format!("The steps end less than {TRIANGLE:.2} log H above the speed point, so the ISO triangle is not known."),
            ));
        }
        if negative && result.contrast_index.is_none() {
            caveats.push(Caveat::new(
                "contrast_index_not_reached",
                "The curve ends before the outer arc of the contrast index.",
            ));
        }
        if let (Some(d), Some(false), Some(_)) = (
            result.delta_d_over_1_30,
            result.iso_condition_met,
            result.speed,
        ) {
            caveats.push(not_iso(d.value, "of this strip"));
        }
        let readings = self.fitted.shape.readings();
        caveats.extend(self.foot());
        caveats.extend(self.off());
        if readings.x.len() < 8 {
            caveats.push(Caveat::new(
                "few_steps",
                format!("Only {} usable steps: the curve between them is little more than an assumption.", readings.x.len()),
            ));
        }
        caveats
    }

    /// Whether base + fog belongs to these steps.
    fn foot(&self) -> Option<Caveat> {
        let readings = self.fitted.shape.readings();
        let Some(base) = readings.base else {
            return Some(Caveat::new(
                "base_fog_inferred",
                "Base + fog was not read; it is inferred from the lowest steps.",
            ));
        };
        let limit = NEAR_FOOT.max(OFF_FOOT * self.noise());
        let few = readings.y.len().min(3);
        let foot = readings.y[..few].iter().sum::<f64>() / few as f64;
        let slope = self.curve.both(readings.x[few / 2]).1;
        // A toe comes down to its base within half a log H; a flat one that stays above was read elsewhere.
        if foot - base > limit && foot - base > 0.5 * slope {
            return Some(Caveat::new(
                "base_fog_below_steps",
                format!(
                    "Base + fog was read as {base:.2}, but the lowest steps level off at {foot:.2}: was it read on undeveloped film, or on another strip's? The speed hangs on it."
                ),
            ));
        }
        (base - foot > limit).then(|| {
            Caveat::new(
                "base_fog_above_steps",
                format!("Base + fog was read as {base:.2}, denser than the lowest steps at {foot:.2}: was it read on another strip? The speed hangs on it."),
            )
        })
    }

    /// Standard deviation of one reading by the median miss, which a reading or two that are off hardly move.
    fn noise(&self) -> f64 {
        let readings = self.fitted.shape.readings();
        let pairs = readings.x.iter().zip(&readings.y);
        let mut misses: Vec<f64> = pairs.map(|(&x, y)| (y - self.curve.at(x)).abs()).collect();
        readings.sd.max(quantile(&mut misses, 0.5) / 0.6745)
    }

    /// The reading that lies farthest from the curve, if noise hardly explains it.
    fn off(&self) -> Option<Caveat> {
        let readings = self.fitted.shape.readings();
        let miss = |k: usize| readings.y[k] - self.curve.at(readings.x[k]);
        let worst =
            (0..readings.y.len()).max_by(|&a, &b| miss(a).abs().total_cmp(&miss(b).abs()))?;
        (miss(worst).abs() > OFF * self.noise()).then(|| {
            Caveat::new(
                "reading_off",
                format!(
                    "Step {} was read as {}, but the curve through the others lies near {:.2}: look at that reading again.",
                    readings.steps[worst] + 1,
                    readings.y[worst],
                    self.curve.at(readings.x[worst])
                ),
            )
        })
    }
}

/// Whether a density gained over 1.30 log H allows the speed to be called an ISO speed.
pub(super) fn is_iso(delta_d: f64) -> bool {
    (delta_d - TRIANGLE_RISE).abs() <= TRIANGLE_TOLERANCE
}

/// Says that a speed is not an ISO speed; `whose` as in "of this strip".
pub(super) fn not_iso(delta_d: f64, whose: &str) -> Caveat {
    Caveat::new(
        "not_iso_contrast",
        format!(
            "Density gains {delta_d:.2} over 1.30 log H, not 0.80 ± 0.05: the speed is that {whose}, not an ISO speed."
        ),
    )
}

fn model(choice: &Choice) -> Model {
    let others: Vec<String> = choice
        .scores
        .iter()
        .map(|s| format!("{} {:.4}", s.smooth.name(), s.prediction_error))
        .collect();
    let noise = choice.strips.iter().map(|f| f.sd * f.sd).sum::<f64>() / choice.strips.len() as f64;
    Model {
        smooth: choice.smooth,
        reason: format!(
            "The curve has {}, because {} (by how much each misses a reading it was not shown, in density: {}).",
            choice.smooth.name(),
            if choice.smooth == Smooth::FreeBends {
                "the freest keeps the intervals honest, and no simpler one is clearly better"
                    .to_owned()
            } else {
                format!(
                    "that is clearly better than the freer ones, missing by less than {CLEARLY} of what they miss by"
                )
            },
            others.join(", ")
        ),
        scores: choice.scores.clone(),
        noise_sd: noise.sqrt(),
    }
}

impl Smooth {
    /// What the smooth is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::ToeLine => "toe and straight line",
            Self::ToeShoulder => "toe, straight line and shoulder",
            Self::FreeBends => "toe, straight line and shoulder with free bends",
        }
    }
}

fn family_caveats(test: &Test, choice: &Choice, said: bool, kind: SpeedKind) -> Vec<Caveat> {
    let mut caveats = Vec::new();
    if said && choice.noise_ratio > NOISIER {
        caveats.push(Caveat::new(
            "noisier_than_said",
            format!(
                "The readings scatter {:.1} times as much as was said of them; the intervals follow the scatter.",
                choice.noise_ratio
            ),
        ));
    }
    if kind == SpeedKind::ExposureIndex {
        caveats.push(Caveat::new(
            "ei_not_iso",
            "Shot in a camera, the result is an EI for this meter, shutter and lens, not an ISO speed.",
        ));
    }
    if kind == SpeedKind::Relative {
        caveats.push(Caveat::new(
            "relative_exposure",
            "The exposure is not known in lux-seconds: speeds can only be compared, not named.",
        ));
    }
    if test.material == Material::Reversal {
        caveats.push(Caveat::new(
            "reversal_from_memory",
            "The speed points of reversal film are given from memory of ISO 2240, not from its text.",
        ));
    }
    caveats
}
