//! What people type at the calculators: exposure times, f-numbers, stops, and lists of one thing a line.

use super::super::super::entry::{self, Reader, Units};
use super::VOLUMES;
use crate::calc::words::{self, shorten};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::wet::formula::Unit;
use spoolwright_core::wet::salts::{AMOUNT, Substance};
use spoolwright_core::wet::temperature::BATH_C;
use spoolwright_core::{Error, Kind};

/// Weights of substances, to grams.
pub(super) const WEIGHTS: Units = &[
    ("g", 1.0),
    ("kg", 1000.0),
    ("mg", 0.001),
    ("oz", 28.349_523_125),
    ("lb", 453.592_37),
    ("grains", 0.064_798_91),
    ("grain", 0.064_798_91),
];
/// Short times, to seconds.
const SECONDS: Units = &[
    ("s", 1.0),
    ("sec", 1.0),
    ("seconds", 1.0),
    ("\"", 1.0),
    ("min", 60.0),
    ("m", 60.0),
    ("minutes", 60.0),
    ("h", 3600.0),
];
/// Most lines of a list.
const MOST_LINES: usize = 500;

/// A temperature that must be there, or the usual one when there is one.
pub(super) fn temperature(
    r: &mut Reader,
    field: &str,
    text: &str,
    bounds: &Bounds,
    fahrenheit: bool,
    usual: Option<f64>,
) -> f64 {
    let read = match (text.trim().is_empty(), usual) {
        (true, Some(usual)) => Ok(usual),
        (true, None) => Err(Error::missing(
            bounds.what,
            degrees_allowed(bounds, fahrenheit),
            "Enter a temperature, such as 20 C or 68 F.",
        )),
        (false, _) => entry::temperature(bounds, text, fahrenheit).map_err(|e| Error {
            given: shorten(text),
            allowed: degrees_allowed(bounds, fahrenheit),
            ..e
        }),
    };
    r.keep(field, read, bounds.min)
}

fn degrees_allowed(bounds: &Bounds, fahrenheit: bool) -> String {
    if fahrenheit {
        let f = |c: f64| (c * 1.8 + 32.0).round();
        format!(
            "{} to {} °F ({})",
            f(bounds.min),
            f(bounds.max),
            bounds.allowed()
        )
    } else {
        bounds.allowed()
    }
}

/// A short time in seconds: `1/60`, `0,5`, `30 s`, `8:20`, `2 min 30 s`.
pub(in crate::service) fn seconds(bounds: &Bounds, text: &str) -> Result<f64, Error> {
    let told = text.trim().to_lowercase();
    let refuse = || {
        Error::new(
            Kind::OutOfRange,
            bounds.what,
            shorten(text.trim()),
            "seconds, such as 1/60, 0.5, 30, 8:20 or 2 min 30 s",
            "Write one time.",
        )
    };
    if told.is_empty() {
        return Err(Error::missing(
            bounds.what,
            "seconds, such as 1/60, 30 or 8:20",
            "Enter a time.",
        ));
    }
    let one = |text: &str| entry::number(bounds, text, SECONDS).map_err(|_| refuse());
    let value = if let Some((over, under)) = told.split_once('/') {
        let under = under.trim_end_matches(['s', 'e', 'c', ' ']);
        let plain = |t: &str| entry::number(bounds, t, entry::PLAIN).map_err(|_| refuse());
        plain(over)? / plain(under)?
    } else if let Some((minutes, seconds)) = told.split_once(':') {
        let seconds = seconds.trim_end_matches(['m', 'i', 'n', ' ']);
        let digits = |t: &str| !t.is_empty() && t.chars().all(|c| c.is_ascii_digit());
        if !digits(minutes) || !digits(seconds) || seconds.len() != 2 {
            return Err(refuse());
        }
        let (minutes, seconds) = (one(minutes)?, one(seconds)?);
        if 60.0 <= seconds {
            return Err(refuse());
        }
        60.0 * minutes + seconds
    } else if let Some((minutes, seconds)) = told.split_once("min")
        && seconds.contains(|c: char| c.is_ascii_digit())
    {
        60.0 * one(minutes)? + one(seconds)?
    } else {
        one(&told)?
    };
    bounds.check(value)
}

/// An f-number: `8`, `f/8`, `f 5,6`.
pub(in crate::service) fn f_number(bounds: &Bounds, text: &str) -> Result<f64, Error> {
    let told = text.trim().to_lowercase();
    let bare = told.strip_prefix('f').unwrap_or(&told).trim_start();
    let bare = bare.strip_prefix('/').unwrap_or(bare);
    if bare.is_empty() {
        return Err(Error::missing(
            bounds.what,
            bounds.allowed(),
            "Enter it, such as f/8.",
        ));
    }
    bounds.check(entry::number(bounds, bare, entry::PLAIN)?)
}

/// Stops: `1`, `-1`, `+2/3`, `1 1/3`.
pub(in crate::service) fn stops(bounds: &Bounds, text: &str) -> Result<f64, Error> {
    let told = text.trim().replace(['\u{2212}', '\u{2013}'], "-");
    let (sign, bare) = match told.strip_prefix('-') {
        Some(bare) => (-1.0, bare),
        None => (1.0, told.strip_prefix('+').unwrap_or(&told)),
    };
    let bare = bare
        .trim()
        .trim_end_matches("stops")
        .trim_end_matches("stop");
    let one = |t: &str| -> Result<f64, Error> {
        let number = match t.split_once('/') {
            Some((over, under)) => {
                entry::number(bounds, over, entry::PLAIN)?
                    / entry::number(bounds, under, entry::PLAIN)?
            }
            None => entry::number(bounds, t, entry::PLAIN)?,
        };
        Ok(number)
    };
    let parts: Vec<&str> = bare.split_whitespace().collect();
    let value = match parts[..] {
        [whole, part] if part.contains('/') && !whole.contains('/') => one(whole)? + one(part)?,
        [number] => one(number)?,
        _ => {
            return Err(Error::new(
                Kind::OutOfRange,
                bounds.what,
                shorten(text),
                bounds.allowed(),
                "Write stops such as 1, -1 or 1 1/3.",
            ));
        }
    };
    bounds.check(sign * value)
}

/// Each line that says something, read; every line's fault is noted with its number.
pub(super) fn lines<T>(
    r: &mut Reader,
    field: &str,
    text: &str,
    mut one: impl FnMut(&str) -> Result<T, Error>,
) -> Vec<T> {
    let mut found = Vec::new();
    let filled = text
        .lines()
        .enumerate()
        .filter(|(_, l)| !l.trim().is_empty());
    for (i, line) in filled {
        if found.len() == MOST_LINES {
            r.fault(
                field,
                Error::new(
                    Kind::TooLarge,
                    "lines",
                    format!("more than {MOST_LINES}"),
                    format!("up to {MOST_LINES}"),
                    "Leave some out.",
                ),
            );
            break;
        }
        match one(line.trim()) {
            Ok(value) => found.push(value),
            Err(e) => r.fault(
                field,
                Error {
                    what: format!("line {}: {}", i + 1, e.what),
                    ..e
                },
            ),
        }
    }
    found
}

/// A substance and how much of it: `sodium sulfite anhydrous, 100 g`, `2,5 g metol`, `water 750 ml`.
pub(super) fn measured(line: &str) -> Result<(String, f64, Unit), Error> {
    let words: Vec<&str> = line
        .split(|c: char| c.is_whitespace() || c == ';')
        .map(|w| w.trim_end_matches([',', ':']))
        .filter(|w| !w.is_empty())
        .collect();
    let amounts = (1..=3.min(words.len().saturating_sub(1)))
        .rev()
        .flat_map(|n| {
            let (head, tail) = (&words[..n], &words[words.len() - n..]);
            [(tail, &words[..words.len() - n]), (head, &words[n..])]
        });
    for (amount, name) in amounts {
        let text = amount.join(" ");
        let units = [(WEIGHTS, Unit::Gram), (VOLUMES, Unit::Millilitre)];
        let read = units
            .iter()
            .find_map(|(units, unit)| Some((entry::number(&AMOUNT, &text, units).ok()?, *unit)));
        if let Some((value, unit)) = read {
            let name = name.join(" ");
            // "100 g" names nothing.
            let is_unit = |(unit, _): &(&str, f64)| name.eq_ignore_ascii_case(unit);
            if WEIGHTS.iter().chain(VOLUMES).any(is_unit) {
                break;
            }
            if 200 < name.chars().count() {
                return Err(Error::new(
                    Kind::TooLarge,
                    "a substance's name",
                    format!("{} characters", name.chars().count()),
                    "at most 200 characters",
                    "Shorten it.",
                ));
            }
            return Ok((name, AMOUNT.check(value)?, unit));
        }
    }
    Err(Error::new(
        Kind::OutOfRange,
        "a substance and its amount",
        shorten(line),
        "a name and an amount, such as metol, 2.5 g",
        "Write the name, then the amount in g or ml.",
    ))
}

/// A developing time and its temperature: `8:20 at 22 C`, `10 min, 68 F`.
pub(super) fn time_at(line: &str, fahrenheit: bool) -> Result<(f64, f64), Error> {
    let told = line
        .replace('@', ";")
        .replace(" at ", ";")
        .replace(", ", ";");
    match told.split(';').map(str::trim).collect::<Vec<_>>()[..] {
        [time, at] => Ok((
            crate::minutes::developing_time(time)?,
            entry::temperature(&BATH_C, at, fahrenheit)?,
        )),
        _ => Err(Error::new(
            Kind::OutOfRange,
            "a time and its temperature",
            shorten(line),
            "a time, then its temperature, such as 8:20 at 22 C",
            "Write `at` between the two.",
        )),
    }
}

/// A substance by name; a salt whose hydrate is left open is refused with its hydrates.
pub(super) fn substance(what: &str, text: &str) -> Result<Substance, Error> {
    if let Some(known) = Substance::named(text) {
        return Ok(known);
    }
    let open = Substance::left_open(text);
    if !open.is_empty() {
        let names: Vec<String> = open.iter().map(|s| s.name()).collect();
        return Err(Error::new(
            Kind::Inconsistent,
            format!("{what}: which hydrate?"),
            shorten(text),
            names.join(", "),
            "The label of the jar tells; they weigh differently for the same work.",
        ));
    }
    let names: Vec<String> = Substance::ALL.iter().map(|s| s.name()).collect();
    Err(words::unknown(
        what,
        text,
        names.iter().map(String::as_str),
        "Use one of these names.",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use spoolwright_core::wet::exposure::{F_NUMBER, TIME_S};
    use spoolwright_core::wet::push::PUSH_STOPS;

    #[test]
    fn times_as_they_stand_on_shutters_and_clocks() {
        for (text, want) in [
            ("1/60", 1.0 / 60.0),
            ("1/60 s", 1.0 / 60.0),
            ("0,5", 0.5),
            ("30", 30.0),
            ("30 s", 30.0),
            ("30\"", 30.0),
            ("8:20", 500.0),
            ("2 min", 120.0),
            ("2 min 30 s", 150.0),
            ("1.5 h", 5400.0),
        ] {
            assert_eq!(seconds(&TIME_S, text).unwrap(), want, "{text}");
        }
        for text in [
            "", "1/0", "8:5", "8:75", "1/", "/60", "soon", "-1", "1/2/3", "0",
        ] {
            assert!(seconds(&TIME_S, text).is_err(), "{text}");
        }
    }

    #[test]
    fn f_numbers_and_stops() {
        for text in ["5.6", "f/5,6", "F 5.6", "f5.6", " f/ 5.6 "] {
            assert_eq!(f_number(&F_NUMBER, text).unwrap(), 5.6, "{text}");
        }
        for text in ["", "f/", "f/0", "1/8", "wide"] {
            assert!(f_number(&F_NUMBER, text).is_err(), "{text}");
        }
        for (text, want) in [
            ("1", 1.0),
            ("+2/3", 2.0 / 3.0),
            ("-1 1/3", -4.0 / 3.0),
            ("1,5 stops", 1.5),
        ] {
            assert!(
                (stops(&PUSH_STOPS, text).unwrap() - want).abs() < 1e-12,
                "{text}"
            );
        }
        for text in ["", "one", "1/0", "4", "1 2", "1/3 1"] {
            assert!(stops(&PUSH_STOPS, text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_substance_and_its_amount_either_way_round() {
        for (line, name, amount, unit) in [
            ("metol, 2,5 g", "metol", 2.5, Unit::Gram),
            ("2.5g metol", "metol", 2.5, Unit::Gram),
            (
                "sodium sulfite anhydrous 100",
                "sodium sulfite anhydrous",
                100.0,
                Unit::Gram,
            ),
            ("water; 0.75 l", "water", 750.0, Unit::Millilitre),
            (
                "glacial acetic acid: 20 ml",
                "glacial acetic acid",
                20.0,
                Unit::Millilitre,
            ),
            ("borax 1 oz", "borax", 28.349_523_125, Unit::Gram),
        ] {
            let (found, value, measured_by) = measured(line).unwrap();
            assert!((value - amount).abs() < 1e-9, "{line}: {value}");
            assert_eq!((found.as_str(), measured_by), (name, unit), "{line}");
        }
        for line in [
            "metol",
            "100 g",
            "metol 1,000 g",
            "metol -2 g",
            "metol two grams",
        ] {
            assert!(measured(line).is_err(), "{line}");
        }
    }

    #[test]
    fn a_time_and_its_temperature() {
        assert_eq!(time_at("8:30 at 22 C", false).unwrap(), (8.5, 22.0));
        assert_eq!(time_at("10 min, 68", true).unwrap(), (10.0, 20.0));
        for line in [
            "10",
            "10 20",
            "at 20",
            "10 at hot",
            "10 at 80 C",
            "10 at 20 at 30",
        ] {
            assert!(time_at(line, false).is_err(), "{line}");
        }
    }

    proptest! {
        #[test]
        fn junk_never_panics(text in ".{0,40}") {
            let _ = (seconds(&TIME_S, &text), f_number(&F_NUMBER, &text), stops(&PUSH_STOPS, &text));
            let _ = (measured(&text), time_at(&text, true), substance("salt", &text));
        }
    }
}
