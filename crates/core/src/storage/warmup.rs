//! Cold film: how long it must warm up in its closed package before it is opened.
//!
//! Published tables decide; a rule of physics stands beside them and wins where it asks for more. Nothing is ever opened
//! early: between two rows the next larger one counts, and what is worked out is rounded up [T9].

use super::air::{self, DEW_POINT_ERROR_C, RH_PERCENT, ROOM_C};
use super::package::Package;
use crate::bounds::{self, Bounds};
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::words::worded;

/// Largest rise that a table covers, °C [T3].
pub const RISE_C: Bounds = Bounds::new("a rise in temperature", "°C", 0.0, 55.0);
/// The most humid room that any table covers, percent [T6, T7].
pub const MOST_HUMID_PERCENT: f64 = 90.0;

/// Rise in °C up to which so many hours are enough.
type Rows = [(f64, f64); 2];

/// Closed 35 mm cans [T3].
const CAN: Rows = [(14.0, 3.0), (55.0, 5.0)];
/// Closed cans of 8 and 16 mm film [T4].
const CAN_16: Rows = [(14.0, 1.0), (55.0, 1.5)];
/// Sealed cassettes [T5]: from a refrigerator at 4 °C and a freezer at −18 °C into a room at 20 °C.
const CASSETTE: Rows = [(16.0, 1.0), (38.0, 1.5)];
/// Sealed 35 mm cans in humid rooms, up to 70 and up to 90 % [T6].
const HUMID_CAN: [Rows; 2] = [[(15.0, 1.5), (30.0, 3.0)], [(15.0, 3.0), (30.0, 6.0)]];
/// The same still in their cardboard [T6].
const HUMID_CARTON: [Rows; 2] = [[(15.0, 18.0), (30.0, 36.0)], [(15.0, 36.0), (30.0, 72.0)]];
/// Up to which humidity in percent the first of such a pair counts.
const HUMID_FROM_PERCENT: f64 = 70.0;
/// Hours for a metre of volume over surface, up to a humidity in percent [T7].
const HOURS_PER_M: [(f64, f64); 5] = [
    (50.0, 100.0),
    (60.0, 130.0),
    (70.0, 180.0),
    (80.0, 230.0),
    (90.0, 330.0),
];
/// Answers are in whole parts of an hour.
const PARTS_OF_AN_HOUR: f64 = 4.0;

worded! {
    /// What an answer rests on.
    Basis {
        /// Not colder than the room: nothing to wait for.
        #[default]
        NoRise = "no-rise",
        /// A published table for the package.
        Table = "table",
        /// A published table for humid rooms.
        HumidRoom = "humid-room",
        /// The rule of physics.
        Physics = "physics",
    }
}

/// Film about to leave the cold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chill {
    /// What it is in.
    pub package: Package,
    /// Where it lay, °C.
    pub from_c: f64,
    /// The room, °C.
    pub to_c: f64,
    /// The room's humidity in percent; none when nobody knows.
    pub rh_percent: Option<f64>,
}

/// What one table or rule asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Which.
    pub basis: Basis,
    /// Its key in the sources.
    pub key: &'static str,
    /// Hours, as it says them.
    pub hours: f64,
    /// Which row, in words.
    pub row: String,
    /// It is carried on in proportion beyond the last row of the table.
    pub continued: bool,
}

/// How long to wait, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct WarmUp {
    /// Hours in the closed package, rounded up to the quarter; 0 when it is not colder than the room.
    pub hours: f64,
    /// What asked for the most.
    pub basis: Basis,
    /// The same in a sentence.
    pub because: String,
    /// From the cold to the room, °C; 0 when it is not colder.
    pub rise_c: f64,
    /// Dew point of the room, °C, where its humidity is known.
    pub dew_point_c: Option<f64>,
    /// Whether the film is cold enough for water to settle on it, where that is known.
    pub water_settles: Option<bool>,
    /// What every table and rule asks for, the one that won first.
    pub said: Vec<Said>,
    /// What limits the answer.
    pub caveats: Vec<Caveat>,
}

/// Hours that a closed package needs before it is opened in a room.
///
/// # Units
/// °C, percent; hours.
/// # Domain
/// `from_c` within [`bounds::TEMPERATURE_C`], `to_c` within [`ROOM_C`], a rise of at most 55 °C; humidity within
/// [`RH_PERCENT`], not above [`MOST_HUMID_PERCENT`].
/// # Errors
/// Out of range; a more humid room is [`Kind::Impossible`].
/// # Source
/// [T3] to [T8], the larger by [T9]; a 30 m can takes the values of [T3], see [T10]. Beyond the last row of a table in
/// proportion to the rise, as [T6] itself grows: own rule.
pub fn warm_up(chill: &Chill) -> Result<WarmUp, Error> {
    let from = bounds::TEMPERATURE_C.check(chill.from_c)?;
    let to = ROOM_C.check(chill.to_c)?;
    let rise = RISE_C.check((to - from).max(0.0))?;
    let dew_point_c = match chill.rh_percent {
        Some(rh) if MOST_HUMID_PERCENT < RH_PERCENT.check(rh)? && 0.0 < rise => {
            return Err(too_humid(rh));
        }
        Some(rh) => Some(air::dew_point_c(to, rh)?),
        None => None,
    };
    let water_settles = dew_point_c.map(|dew| from < dew + DEW_POINT_ERROR_C);
    let mut said = if rise == 0.0 {
        Vec::new()
    } else {
        said(chill, rise, water_settles)
    };
    said.sort_by(|a, b| b.hours.total_cmp(&a.hours));
    let most = said.first();
    let hours = most.map_or(0.0, |s| rounded_up(s.hours));
    Ok(WarmUp {
        hours,
        basis: most.map_or(Basis::NoRise, |s| s.basis),
        because: because(chill.package, &said),
        rise_c: rise,
        dew_point_c,
        water_settles,
        caveats: caveats(chill, &said),
        said,
    })
}

fn too_humid(rh: f64) -> Error {
    Error::new(
        Kind::Impossible,
        "rh_percent: no table reaches so humid a room",
        format!("{rh} %"),
        format!("up to {MOST_HUMID_PERCENT} %"),
        "Leave it closed and open it in a drier room.",
    )
}

/// What every table and rule that knows of such a package asks for.
fn said(chill: &Chill, rise: f64, water_settles: Option<bool>) -> Vec<Said> {
    let humid = |pair: &[Rows; 2], rh: Option<f64>| {
        let dry = rh.is_some_and(|rh| rh <= HUMID_FROM_PERCENT);
        let room = if dry { "up to 70 %" } else { "up to 90 %" };
        row(
            Basis::HumidRoom,
            "T6",
            &pair[usize::from(!dry)],
            rise,
            &format!(" in a room of {room}"),
        )
    };
    let table = |key, rows: &Rows| row(Basis::Table, key, rows, rise, "");
    let mut all = Vec::new();
    match chill.package {
        Package::Cassette => all.push(table("T5", &CASSETTE)),
        Package::Can16 => all.push(table("T4", &CAN_16)),
        Package::Carton => all.push(humid(&HUMID_CARTON, chill.rh_percent)),
        Package::Can30 | Package::Can120 | Package::Can300 => {
            all.push(table("T3", &CAN));
            // Up to 70 % the table above reaches further and never asks for less.
            let reaches = |rh: f64| HUMID_FROM_PERCENT < rh || rise <= HUMID_CAN[0][1].0;
            if chill.rh_percent.is_some_and(reaches) {
                all.push(humid(&HUMID_CAN, chill.rh_percent));
            }
        }
    }
    if water_settles == Some(true)
        && let (Some(rh), Some(bulk)) = (chill.rh_percent, chill.package.bulk_mm())
    {
        let (up_to, per_m) = hours_per_m(rh);
        all.push(Said {
            basis: Basis::Physics,
            key: "T7",
            hours: per_m * bulk / 1000.0,
            row: format!("{per_m:.0} h for a metre of volume over surface ({bulk:.1} mm), in a room of up to {up_to:.0} %"),
            continued: false,
        });
    }
    all
}

/// Hours for a metre of volume over surface, by the next more humid row, with that row's humidity.
fn hours_per_m(rh: f64) -> (f64, f64) {
    let last = HOURS_PER_M[HOURS_PER_M.len() - 1];
    let found = HOURS_PER_M.iter().find(|(up_to, _)| rh <= *up_to);
    found.copied().unwrap_or(last)
}

/// The next larger row of a table, or beyond the last one in proportion.
fn row(basis: Basis, key: &'static str, rows: &Rows, rise: f64, room: &str) -> Said {
    let (last_rise, last_hours) = rows[rows.len() - 1];
    let (hours, row, continued) = match rows.iter().find(|(up_to, _)| rise <= *up_to) {
        Some((up_to, hours)) => (*hours, format!("a rise of up to {up_to} °C{room}"), false),
        None => (
            last_hours * rise / last_rise,
            format!("a rise of {last_rise} °C{room}, carried on to {rise:.0} °C in proportion"),
            true,
        ),
    };
    Said {
        basis,
        key,
        hours,
        row,
        continued,
    }
}

/// To the next quarter of an hour, never down; what is a whole quarter but for rounding stays one.
fn rounded_up(hours: f64) -> f64 {
    (hours * PARTS_OF_AN_HOUR - 1e-9).ceil() / PARTS_OF_AN_HOUR
}

fn because(package: Package, said: &[Said]) -> String {
    let Some((most, others)) = said.split_first() else {
        return "It is no colder than the room.".to_owned();
    };
    let by = match most.basis {
        Basis::Physics => "by the rule of physics",
        Basis::HumidRoom => "by the table for humid rooms",
        _ => "by the table for such packages",
    };
    let rest = if others.is_empty() {
        "Nothing else is known of it."
    } else {
        "Nothing else asks for more."
    };
    format!("{}, {by}: {}. {rest}", capital(package.name()), most.row)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

fn caveats(chill: &Chill, said: &[Said]) -> Vec<Caveat> {
    let Some(most) = said.first() else {
        return Vec::new();
    };
    let mut all = vec![Caveat::new(
        "keep_closed",
        "The hours count in the closed package, standing free in the room. Opened early, water settles on the film.",
    )];
    if chill.rh_percent.is_none() {
        all.push(Caveat::new(
            "humidity_not_given",
            match chill.package {
                Package::Carton => "The room's humidity is not given: the hours of a very humid one are told.",
                _ => {
                    "The room's humidity is not given. In a room of more than 70 % it takes longer: give it to see how long."
                }
            },
        ));
    }
    if most.continued {
        all.push(Caveat::new(
            "beyond_table",
            "The table ends before so large a rise; it is carried on in proportion, which is an own rule.",
        ));
    }
    if most.basis == Basis::HumidRoom {
        all.push(Caveat::new(
            "one_source",
            "The table for humid rooms stands in one source only.",
        ));
    }
    match chill.package {
        Package::Can30 => all.push(Caveat::new(
            "size_not_listed",
            "No table names a can of 30 m; it has the hours of larger cans. Two to three may be enough, which nobody has published.",
        )),
        Package::Can300 => all.push(Caveat::new(
            "size_not_listed",
            "The table for 35 mm cans says no length; a can of 300 m is the largest it may have meant.",
        )),
        Package::Cassette => all.push(Caveat::new(
            "sealed_only",
            "A cassette wound at home must lie in a closed tub or bag before it leaves the cold, or water settles on it at once.",
        )),
        _ => {}
    }
    all
}
