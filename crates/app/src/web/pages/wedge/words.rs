//! The bench's numbers and words: a value with its 95 % interval, measures, ways, speeds.

use crate::service::settings::Settings;
use crate::web::say;
use maud::{Markup, html};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wedge::record::{Channel, Way, WedgeTest};
use spoolwright_core::wedge::{Interval, Material, Measure, SpeedKind, StandardSpeed};

/// A number with a true minus sign.
pub(super) fn number(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let zero = text
        .trim_start_matches('-')
        .chars()
        .all(|c| matches!(c, '0' | '.'));
    if zero {
        text.trim_start_matches('-').to_owned()
    } else {
        text.replace('-', "−")
    }
}

/// The same with its sign, where it is not nothing: "+0.4", "−0.4", "0.0".
pub(super) fn signed(value: f64, digits: usize) -> String {
    let text = number(value, digits);
    let plus = value > 0.0 && text.chars().any(|c| matches!(c, '1'..='9'));
    if plus { format!("+{text}") } else { text }
}

/// A number as short as it is: "8", "8.5", "−3.5".
pub(super) fn short(value: f64) -> String {
    let text = format!("{:.3}", value);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".into()
    } else {
        text.replace('-', "−")
    }
}

/// "0.62", and below it "0.60 to 0.64".
pub(super) fn value(i: Interval, digits: usize) -> Markup {
    html! { span.num { (number(i.value, digits)) } span.interval { (ends(i, digits)) } }
}

/// A value that may be missing.
pub(super) fn value_or_dash(i: Option<Interval>, digits: usize) -> Markup {
    html! { @match i { Some(i) => (value(i, digits)), None => "—" } }
}

/// "0.60 to 0.64".
pub(super) fn ends(i: Interval, digits: usize) -> String {
    format!(
        "{} to {}",
        number(i.lower95, digits),
        number(i.upper95, digits)
    )
}

/// The same where an end may be open: "−0.3 to open".
pub(super) fn open_ends(lower: Option<f64>, upper: Option<f64>, digits: usize) -> String {
    let end = |end: Option<f64>| end.map_or("open".to_owned(), |x| number(x, digits));
    format!("{} to {}", end(lower), end(upper))
}

/// Digits that make sense for a speed.
pub(super) fn speed_digits(speed: f64) -> usize {
    if speed < 10.0 { 1 } else { 0 }
}

/// "125/22°".
pub(super) fn standard(s: StandardSpeed) -> String {
    format!("{}/{}°", say::speed(s.iso), s.degrees)
}

/// "+0.4 stops".
pub(super) fn stops(value: f64) -> String {
    format!("{} stops", signed(value, 1))
}

/// An exposure in a shot list: "4 stops under", "as metered".
pub(super) fn exposure(stops: f64) -> String {
    let many = |n: f64| if n == 1.0 { "stop" } else { "stops" };
    match stops {
        0.0 => "as metered".into(),
        s if s < 0.0 => format!("{} {} under", short(-s), many(-s)),
        s => format!("{} {} over", short(s), many(s)),
    }
}

pub(super) fn minutes(time_min: f64) -> String {
    format!("{} min", short(time_min))
}

/// The same beside a curve, where there is room for two decimals.
pub(super) fn label(time_min: f64) -> String {
    minutes((time_min * 100.0).round() / 100.0)
}

pub(super) const fn measure(m: Measure) -> &'static str {
    match m {
        Measure::IsoTriangle => "ISO triangle",
        Measure::AverageGradient => "average gradient",
        Measure::ContrastIndex => "contrast index",
        Measure::Gamma => "gamma",
    }
}

pub(super) const MEASURES: [(Measure, &str); 4] = [
    (
        Measure::IsoTriangle,
        "density gained over 1.30 log H above the speed point, divided by 1.30",
    ),
    (
        Measure::AverageGradient,
        "slope from the speed point to 1.5 log H above it",
    ),
    (
        Measure::ContrastIndex,
        "chord between two arcs of 0.2 and 2.2 about a point of the base + fog line",
    ),
    (Measure::Gamma, "slope of the straight part"),
];

pub(super) const fn way(w: Way) -> &'static str {
    match w {
        Way::InCamera => "in camera",
        Way::Relative => "step wedge, exposure unknown",
        Way::Absolute => "step wedge, exposure known",
    }
}

pub(super) const fn material(m: Material) -> &'static str {
    match m {
        Material::Negative => "black-and-white negative",
        Material::ColourNegative => "colour negative",
        Material::Reversal => "reversal",
    }
}

/// A strip's light where it is one of three.
pub(super) const fn channel(c: Channel) -> &'static str {
    match c {
        Channel::Visual => "",
        Channel::Red => "red",
        Channel::Green => "green",
        Channel::Blue => "blue",
    }
}

/// What the log H of a test counts from.
pub(super) const fn log_h(kind: SpeedKind) -> &'static str {
    match kind {
        SpeedKind::Speed => "log H, lux-seconds",
        SpeedKind::ExposureIndex => "log H from the meter reading",
        SpeedKind::Relative => "log H, relative",
    }
}

/// Step of a test: stops from the meter, or a wedge's density.
pub(super) fn step(test: &WedgeTest, step: f64) -> String {
    match test.way {
        Way::InCamera if step > 0.0 => format!("+{}", short(step)),
        Way::InCamera => short(step),
        Way::Relative | Way::Absolute => number(step, 2),
    }
}

pub(super) fn temperature(settings: &Settings, celsius: f64) -> String {
    if settings.fahrenheit {
        format!(
            "{} °F",
            short((celsius * 1.8 + 32.0).mul_add(10.0, 0.0).round() / 10.0)
        )
    } else {
        format!("{} °C", short((celsius * 10.0).round() / 10.0))
    }
}

/// Developer, dilution, temperature and agitation in one line; empty when nothing is known.
pub(super) fn bath(
    settings: &Settings,
    (developer, dilution): (&str, &str),
    temperature_c: Option<f64>,
    agitation: &str,
) -> String {
    let name = format!("{developer} {dilution}");
    let warm = temperature_c
        .map(|t| temperature(settings, t))
        .unwrap_or_default();
    [name.trim(), &warm, agitation]
        .into_iter()
        .filter(|w| !w.is_empty())
        .collect::<Vec<_>>()
        .join(", ")
}

/// One number to be read from a metre away, and below it how sure it is or where it comes from.
pub(super) fn loud(label: &str, value: Markup, below: Markup) -> Markup {
    html! {
        p.loud {
            span.label { (label) }
            span.value { (value) }
            span.interval { (below) }
        }
    }
}

/// Caveats beside the numbers they limit.
pub(super) fn caveats(all: &[Caveat]) -> Markup {
    html! { @if !all.is_empty() { div.note { @for c in all { p { (c.text) } } } } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_words() {
        assert_eq!(number(-0.001, 2), "0.00");
        assert_eq!(number(-2.1938, 2), "−2.19");
        assert_eq!(signed(0.004, 2), "0.00");
        assert_eq!(signed(0.04, 2), "+0.04");
        assert_eq!(signed(-0.04, 2), "−0.04");
        assert_eq!(short(8.0), "8");
        assert_eq!(short(-3.5), "−3.5");
        assert_eq!(minutes(25.0 / 3.0), "8.333 min");
        assert_eq!(label(25.0 / 3.0), "8.33 min");
        assert_eq!(exposure(-1.0), "1 stop under");
        assert_eq!(exposure(2.0), "2 stops over");
        assert_eq!(stops(0.34), "+0.3 stops");
        assert_eq!(stops(-0.02), "0.0 stops");
    }

    #[test]
    fn a_bath_in_one_line() {
        let settings = Settings::default();
        assert_eq!(bath(&settings, ("", ""), None, ""), "");
        assert_eq!(
            bath(
                &settings,
                ("house brew", "1+9"),
                Some(20.0),
                "once a minute"
            ),
            "house brew 1+9, 20 °C, once a minute"
        );
    }
}
