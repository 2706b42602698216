//! What limits a can's numbers, and what is to be minded before it is opened.

use super::super::draft::LOADER_TAKES_M;
use super::super::settings::Settings;
use super::CanView;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::field::record::{PlaceKind, StoragePlace};
use spoolwright_core::shelf::{Base, Can, CanState, Stock};
use spoolwright_core::storage::keeping::temperature_of;
use spoolwright_core::storage::nitrate;
use spoolwright_core::storage::package::Package;
use spoolwright_core::storage::warmup::{Chill, warm_up};

/// The room a cold can warms up in, °C.
const ROOM_C: f64 = 20.0;
impl CanView {
    /// What it is kept at, °C, other than a room nobody measured: its place's temperature goes before its own.
    pub fn kept_c(&self) -> Option<f64> {
        kept_c(&self.can, self.place.as_ref())
    }
}

pub(super) fn kept_c(can: &Can, place: Option<&StoragePlace>) -> Option<f64> {
    match place {
        None => can.kept_c,
        Some(room) if room.kind == PlaceKind::Room => room.temperature_c,
        Some(place) => Some(temperature_of(place).0),
    }
}

pub(super) fn of(
    can: &Can,
    stock: &Stock,
    kept_c: Option<f64>,
    settings: &Settings,
    learnt: &[Caveat],
) -> Vec<Caveat> {
    let mut all = Vec::new();
    // Dates begin with their year; the earliest tells most about the base.
    let dates = [&can.bought_on, &can.expires_on];
    let years = dates
        .into_iter()
        .flatten()
        .filter_map(|day| day.get(..4)?.parse().ok());
    all.extend(nitrate::caveat(stock.base, years.min()));
    if let Some(from_c) = kept_c
        && stock.base != Base::Nitrate
        && let Ok(warm_up) = warm_up(&Chill {
            package: Package::can_of(can.length_m.mean),
            from_c,
            to_c: ROOM_C,
            rh_percent: None,
        })
        && warm_up.hours > 0.0
    {
        all.push(Caveat::new(
            "kept_cold",
            format!(
                "Kept at {}: let the closed can warm up for at least {} hours before opening it, \
                 or water settles on the film. In a room of more than 70 % humidity it takes longer.",
                settings.temperature(from_c),
                warm_up.hours,
            ),
        ));
    }
    if can.state == CanState::Open && can.loader.is_none() && can.length_m.mean <= LOADER_TAKES_M {
        all.push(Caveat::new(
            "no_loader",
            "No loader is named for it, so its dial and what it draws uncounted are guesses. Name one.",
        ));
    }
    all.extend(learnt.iter().cloned());
    all
}
