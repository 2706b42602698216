//! A speed printed large: ISO-like, by a meter, in stops from it, or only relative, with its 95 % interval.

use super::words;
use crate::web::say;
use maud::{Markup, html};
use spoolwright_core::wedge::{AtTarget, ColourStrip, Interval, SpeedKind, StandardSpeed};

/// A speed in every way a test can tell it; which of them it tells depends on how the strips were exposed.
pub(super) struct Speeds {
    speed: Option<(Interval, Option<StandardSpeed>)>,
    ei: Option<(Interval, Option<StandardSpeed>)>,
    ei_stops: Option<Interval>,
    log_h: Option<Interval>,
}

impl From<&AtTarget> for Speeds {
    fn from(at: &AtTarget) -> Self {
        Self {
            speed: at.speed.map(|i| (i, at.speed_rounded)),
            ei: at.ei.map(|i| (i, at.ei_rounded)),
            ei_stops: at.ei_stops,
            log_h: at.log_h_speed_point,
        }
    }
}

impl From<&ColourStrip> for Speeds {
    fn from(s: &ColourStrip) -> Self {
        Self {
            speed: s.speed.map(|i| (i, s.speed_rounded)),
            ei: s.ei.map(|i| (i, s.ei_rounded)),
            ei_stops: s.ei_stops,
            log_h: s.log_h,
        }
    }
}

/// A value, its unit, and how sure it is; dashes where there is none.
pub(super) fn one(label: &str, value: &str, unit: &str, sure: &[&str]) -> Markup {
    words::loud(
        label,
        html! { (value) span.unit { (unit) } },
        html! { @for words in sure { span.num { (words) } " " } },
    )
}

pub(super) const fn name(kind: SpeedKind) -> &'static str {
    match kind {
        SpeedKind::Speed => "Speed",
        SpeedKind::ExposureIndex => "EI by your meter",
        SpeedKind::Relative => "Speed point, log H",
    }
}

pub(super) fn large(speeds: &Speeds, kind: SpeedKind) -> Markup {
    match (kind, speeds) {
        (SpeedKind::Speed, Speeds { speed: Some(s), .. }) => listed(name(kind), *s),
        (SpeedKind::ExposureIndex, Speeds { ei: Some(ei), .. }) => listed(name(kind), *ei),
        (
            SpeedKind::ExposureIndex,
            Speeds {
                ei_stops: Some(i), ..
            },
        ) => one(
            "EI, from the meter’s",
            words::stops(i.value).trim_end_matches(" stops"),
            " stops",
            &[&format!("95 %: {} stops", words::ends(*i, 1))],
        ),
        (SpeedKind::Relative, Speeds { log_h: Some(i), .. }) => one(
            name(kind),
            &words::number(i.value, 2),
            " relative",
            &[&format!("95 %: {}", words::ends(*i, 2))],
        ),
        _ => one(name(kind), "—", "", &["not found"]),
    }
}

/// On the standard list, and as found.
fn listed(name: &str, (found, rounded): (Interval, Option<StandardSpeed>)) -> Markup {
    let digits = words::speed_digits(found.value);
    let exact = words::number(found.value, digits);
    let (value, unit) = match rounded {
        Some(r) => (say::speed(r.iso), format!("/{}°", r.degrees)),
        None => (exact.clone(), String::new()),
    };
    let sure = format!("95 %: {}", words::ends(found, digits));
    one(name, &value, &unit, &[&sure, &format!("found {exact}")])
}
