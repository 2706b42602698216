//! From the speed point to a speed or an EI, and to the list of standard speeds.
//!
//! It does not judge whether a speed may be called an ISO speed: that needs the contrast too.

use super::{Exposure, Interval, Material, SpeedKind, StandardSpeed};

/// The list from 6/9° to 6400/39°, one value a degree ([X3]).
const STANDARD: [f64; 31] = [
    6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 64.0, 80.0, 100.0, 125.0, 160.0,
    200.0, 250.0, 320.0, 400.0, 500.0, 640.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0,
    3200.0, 4000.0, 5000.0, 6400.0,
];
/// How the list goes on beyond its ends, from 1° to 10° and again in every decade.
const DECADE: [f64; 10] = [1.0, 1.25, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.4, 8.0];
/// Degrees of its first value.
const FIRST_DEGREES: i32 = 9;

/// The speed of the standard list nearest to an arithmetic speed or EI.
///
/// # Units
/// Arithmetic speed in, arithmetic speed and degrees out.
/// # Domain
/// A positive number; outside 6 to 6400 the list is carried on, decade by decade.
/// # Source
/// [S4] for the degrees, [X3] for the list.
/// # Example
/// ```
/// use spoolwright_core::wedge::standard_speed;
/// assert_eq!(standard_speed(123.0).unwrap().to_string(), "125/22°");
/// ```
pub fn standard_speed(speed: f64) -> Option<StandardSpeed> {
    let degrees = 1.0 + 10.0 * speed.log10();
    if !degrees.is_finite() || degrees.abs() > 100.0 {
        return None;
    }
    let degrees = degrees.round() as i32;
    let listed = usize::try_from(degrees - FIRST_DEGREES)
        .ok()
        .and_then(|k| STANDARD.get(k));
    let iso = listed.copied().unwrap_or_else(|| {
        let (decade, third) = ((degrees - 1).div_euclid(10), (degrees - 1).rem_euclid(10));
        let value = DECADE[third as usize] * 10f64.powi(decade);
        // Away with the last bits of the power of ten.
        (value * 1e6).round() / 1e6
    });
    Some(StandardSpeed { iso, degrees })
}

impl std::fmt::Display for StandardSpeed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}/{}°", self.iso, self.degrees)
    }
}

/// How log H at the speed point becomes a speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    pub(super) kind: SpeedKind,
    constant: f64,
    pub(super) meter_ei: Option<f64>,
}

/// Exposure behind a meter reading times arithmetic speed, in lux-seconds ([S8]).
const METERED: f64 = 8.0;
/// Stops under the meter at which a negative's 0.10 is wanted: Zone I, common practice, no source.
const ZONE_I: f64 = -4.0;

impl Scale {
    pub(super) fn new(exposure: &Exposure, material: Material) -> Self {
        let (kind, meter_ei) = match exposure {
            Exposure::Absolute { .. } => (SpeedKind::Speed, None),
            Exposure::Relative { .. } => (SpeedKind::Relative, None),
            Exposure::InCamera { meter_ei, .. } => (SpeedKind::ExposureIndex, *meter_ei),
        };
        // Negative [S3]; colour negative [S21]; reversal [S22].
        let constant = match material {
            Material::Negative => 0.8,
            Material::ColourNegative => 2f64.sqrt(),
            Material::Reversal => 10.0,
        };
        Self {
            kind,
            constant,
            meter_ei,
        }
    }

    /// Arithmetic speed, where the exposure is absolute.
    pub(super) fn speed(&self, log_h: f64) -> Option<f64> {
        (self.kind == SpeedKind::Speed).then(|| self.constant / 10f64.powf(log_h))
    }

    /// Stops of the EI above the meter's setting, in camera.
    ///
    /// A negative asks for Zone I at its speed point. The others put the meter reading where a meter set to their
    /// speed would: constant / 8 of it is the speed point.
    pub(super) fn stops(&self, log_h: f64) -> Option<f64> {
        let wanted = if (self.constant - 0.8).abs() < 1e-9 {
            ZONE_I
        } else {
            (self.constant / METERED).log2()
        };
        (self.kind == SpeedKind::ExposureIndex).then(|| wanted - log_h / 2f64.log10())
    }

    /// EI, in camera and with the meter's EI known.
    pub(super) fn ei(&self, log_h: f64) -> Option<f64> {
        Some(self.meter_ei? * 2f64.powf(self.stops(log_h)?))
    }

    /// All of it for an interval of log H.
    pub(super) fn rate(&self, log_h: Option<Interval>) -> Rating {
        let through = |f: &dyn Fn(f64) -> Option<f64>| {
            let i = log_h?;
            // Less exposure needed means more speed: the ends change places.
            Some(Interval {
                value: f(i.value)?,
                lower95: f(i.upper95)?,
                upper95: f(i.lower95)?,
            })
        };
        let speed = through(&|x| self.speed(x));
        let ei = through(&|x| self.ei(x));
        Rating {
            log_h,
            speed,
            speed_rounded: speed.and_then(|s| standard_speed(s.value)),
            ei_stops: through(&|x| self.stops(x)),
            ei,
            ei_rounded: ei.and_then(|s| standard_speed(s.value)),
        }
    }
}

/// A speed point with what it means.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rating {
    pub(super) log_h: Option<Interval>,
    pub(super) speed: Option<Interval>,
    pub(super) speed_rounded: Option<StandardSpeed>,
    pub(super) ei_stops: Option<Interval>,
    pub(super) ei: Option<Interval>,
    pub(super) ei_rounded: Option<StandardSpeed>,
}
