//! The air of a room: at which temperature its water begins to settle on a cold thing.

use crate::bounds::Bounds;
use crate::error::Error;

/// Relative humidity of a room.
pub const RH_PERCENT: Bounds = Bounds::new("a relative humidity", "%", 1.0, 100.0);
/// Temperature of a room.
pub const ROOM_C: Bounds = Bounds::new("a room's temperature", "°C", -20.0, 50.0);
/// Most that the formula errs, °C [T18].
pub const DEW_POINT_ERROR_C: f64 = 0.35;

/// Constants of Magnus's formula [T18]: dimensionless, and in °C.
const A: f64 = 17.625;
const B_C: f64 = 243.04;

/// Dew point of a room's air: bγ/(a − γ) with γ = ln(RH/100) + aT/(b + T).
///
/// # Units
/// °C, percent; °C.
/// # Domain
/// [`ROOM_C`], [`RH_PERCENT`]; the result is never above the room.
/// # Errors
/// Out of range.
/// # Source
/// [T18], over water, right within 0.35 °C. Below freezing it is the dew point, a little under the frost point.
/// # Example
/// ```
/// use spoolwright_core::storage::air::dew_point_c;
/// // Half-humid air of 20 °C: 9.3 °C.
/// assert!((dew_point_c(20.0, 50.0).unwrap() - 9.3).abs() < 0.05);
/// ```
pub fn dew_point_c(room_c: f64, rh_percent: f64) -> Result<f64, Error> {
    let room = ROOM_C.check(room_c)?;
    let humidity = RH_PERCENT.check(rh_percent)? / 100.0;
    let gamma = humidity.ln() + A * room / (B_C + room);
    Ok((B_C * gamma / (A - gamma)).min(room))
}
