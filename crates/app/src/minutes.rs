//! Developing times as people write them, and as they are told: one reader and one spelling for every entry of the bench.
//!
//! `8`, `8.5`, `8,5 min`, `8:20`, `8 min 20 s` and `500 s` are times; what could mean two times is refused.

use crate::calc::words::shorten;
use spoolwright_core::bounds::DEVELOPING_MIN;
use spoolwright_core::{Error, Kind};

/// What a time may be written as.
const FORMS: &str = "minutes, such as 8.5, 8:20 or 8 min 20 s";

/// A developing time, in minutes.
///
/// # Errors
/// No time, one that could be read two ways, or one out of [`DEVELOPING_MIN`].
pub fn developing_time(text: &str) -> Result<f64, Error> {
    DEVELOPING_MIN.check(by_hand(text)?)
}

/// A time as a hand types it: 7.30 is half a minute past seven to one person and 7.3 minutes to the next, and 730 is a
/// colon forgotten more often than half a day.
fn by_hand(text: &str) -> Result<f64, Error> {
    let plain = text.trim().trim_end_matches("min").trim_end();
    let digits = |s: &str| !s.is_empty() && s.chars().all(|c| c.is_ascii_digit());
    let doubt = |other: String| {
        Error::new(
            Kind::Inconsistent,
            DEVELOPING_MIN.what,
            shorten(text.trim()),
            FORMS,
            other,
        )
    };
    // What would be no seconds has one reading only.
    let seconds = |two: &str| two.len() == 2 && digits(two) && two < "60";
    if let Some((whole, part)) = plain.split_once(['.', ','])
        && digits(whole)
        && seconds(part)
    {
        return Err(doubt(match part.trim_end_matches('0') {
            "" => format!("Write {whole} alone."),
            _ => format!(
                "Write {whole}:{part} for minutes and seconds, {whole}.{part}0 for a decimal."
            ),
        }));
    }
    let bare = text.trim();
    if 3 <= bare.len() && digits(bare) {
        let (whole, last) = bare.split_at(bare.len() - 2);
        return Err(doubt(if seconds(last) {
            format!("Write {whole}:{last} for minutes and seconds, {bare} min for so many minutes.")
        } else {
            format!("Write {bare} min for so many minutes.")
        }));
    }
    unbounded(text, true)
}

/// Shortest and longest time of any other bath, in seconds.
const BATH_S: (f64, f64) = (1.0, DEVELOPING_MIN.max * 60.0);

/// The time of a bath in which nothing develops, in minutes: from one second on.
///
/// # Errors
/// As [`developing_time`], with wider bounds.
pub fn bath_time(text: &str) -> Result<f64, Error> {
    let value = by_hand(text)?;
    // A second is no whole part of a minute.
    if (BATH_S.0 - 1e-6..=BATH_S.1).contains(&(value * 60.0)) {
        return Ok(value);
    }
    Err(Error::new(
        Kind::OutOfRange,
        "a bath's time",
        shorten(text.trim()),
        "1 s to 1440 min",
        "Enter a time within these limits.",
    ))
}

/// The same; `comma_decimals` where a comma is a decimal sign.
pub(crate) fn minutes(text: &str, comma_decimals: bool) -> Result<f64, Error> {
    DEVELOPING_MIN.check(unbounded(text, comma_decimals)?)
}

fn unbounded(text: &str, comma_decimals: bool) -> Result<f64, Error> {
    let told = text.trim().to_lowercase();
    if told.is_empty() {
        return Err(Error::missing(
            DEVELOPING_MIN.what,
            FORMS,
            "Put the developing time of each strip in minutes.",
        ));
    }
    let refuse = |remedy: &str| {
        let given = shorten(text.trim());
        Error::new(
            Kind::Inconsistent,
            DEVELOPING_MIN.what,
            given,
            FORMS,
            remedy,
        )
    };
    let decimal = |digits: &str| decimal(digits, comma_decimals);
    let parts = parts(&told);
    let value = match parts[..] {
        [(clock, None | Some(Unit::Minutes))] if clock.contains(':') => {
            let (whole, seconds) = clock.split_once(':').unwrap_or_default();
            if seconds.contains(':') {
                return Err(refuse("Write minutes and seconds only."));
            }
            let digits = seconds.find(['.', ',']).unwrap_or(seconds.len());
            if digits == 1 {
                // 8:5 is 8:05 or 8:50.
                return Err(refuse("Write the seconds with two digits, such as 8:05."));
            }
            together(whole_number(whole), decimal(seconds))
        }
        [(number, None | Some(Unit::Minutes))] => decimal(number),
        [(number, Some(Unit::Seconds))] => decimal(number).map(|s| s / 60.0),
        [(whole, Some(Unit::Minutes)), (seconds, Some(Unit::Seconds))] => {
            together(whole_number(whole), decimal(seconds))
        }
        [(_, Some(Unit::Minutes)), (_, None)] => {
            return Err(refuse("Write s behind the seconds, or a colon between."));
        }
        _ => None,
    };
    value.ok_or_else(|| refuse("Write one time; seconds under 60."))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Minutes,
    Seconds,
}

fn unit(word: &str) -> Option<Unit> {
    match word {
        "min" | "mins" | "minute" | "minutes" | "m" | "'" | "′" => Some(Unit::Minutes),
        "s" | "sec" | "secs" | "second" | "seconds" | "\"" | "″" => Some(Unit::Seconds),
        _ => None,
    }
}

/// Numbers, each with the unit behind it if one is; a word that is no unit stands as a number, and is none.
fn parts(text: &str) -> Vec<(&str, Option<Unit>)> {
    let mut parts: Vec<(&str, Option<Unit>)> = Vec::new();
    for word in text.split_whitespace() {
        let mut rest = word;
        while !rest.is_empty() {
            let is_digit = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ':' | '-' | '+');
            let digits = rest.starts_with(is_digit);
            let end = rest.find(|c: char| is_digit(c) != digits);
            let (piece, after) = rest.split_at(end.unwrap_or(rest.len()));
            match (unit(piece), parts.last_mut()) {
                (Some(unit), Some((_, behind @ None))) => *behind = Some(unit),
                _ => parts.push((piece, None)),
            }
            rest = after;
        }
    }
    parts
}

fn whole_number(text: &str) -> Option<f64> {
    let digits = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

fn decimal(text: &str, comma_decimals: bool) -> Option<f64> {
    let plain = match comma_decimals {
        true => text.replace(',', "."),
        false => text.to_owned(),
    };
    let digits = plain.starts_with(|c: char| c.is_ascii_digit());
    plain.parse().ok().filter(|_| digits)
}

fn together(minutes: Option<f64>, seconds: Option<f64>) -> Option<f64> {
    Some(minutes? + seconds.filter(|s| *s < 60.0)? / 60.0)
}

/// Several times apart by spaces, semicolons or commas with a space behind; `8 min 20 s` is one of them.
///
/// # Errors
/// As [`developing_time`], and numbers that could be one time or two.
pub fn developing_times(text: &str) -> Result<Vec<f64>, Error> {
    let lone = text.trim();
    let two = |given: &str, remedy: &str| {
        let given = shorten(given);
        let allowed = "times apart by spaces or semicolons, such as 5 8:20 12";
        Error::new(
            Kind::Inconsistent,
            "a list of developing times",
            given,
            allowed,
            remedy,
        )
    };
    // "5,8" alone is one number or two, and nobody knows which.
    if lone.contains(',') && !lone.contains(|c: char| c.is_whitespace() || c == ';') {
        return Err(two(
            lone,
            "Write them apart by spaces; one number alone takes a decimal point.",
        ));
    }
    let mut times = Vec::new();
    for group in lone.replace(", ", ";").split(';') {
        let told = group.to_lowercase();
        let parts = parts(&told);
        let mut rest = &parts[..];
        while let Some(((number, behind), after)) = rest.split_first() {
            let next = after.first().map(|p| p.1);
            let one = match (behind, next) {
                (Some(Unit::Minutes), Some(Some(Unit::Seconds))) => {
                    rest = &after[1..];
                    format!("{number} min {} s", after[0].0)
                }
                (Some(Unit::Minutes), Some(None)) | (None, Some(Some(Unit::Seconds))) => {
                    return Err(two(
                        group.trim(),
                        "Write min and s behind both numbers of one time, or semicolons between times.",
                    ));
                }
                (behind, _) => {
                    rest = after;
                    match behind {
                        Some(Unit::Seconds) => format!("{number} s"),
                        Some(Unit::Minutes) => format!("{number} min"),
                        None => (*number).to_owned(),
                    }
                }
            };
            times.push(developing_time(&one)?);
        }
    }
    Ok(times)
}

/// A developing time as it is put into a form: read back it is the very same.
pub fn typed(time_min: f64) -> String {
    let short = told(time_min);
    if developing_time(&short) == Ok(time_min) {
        return short;
    }
    // Two decimals could be seconds: a third one tells.
    let long = format!("{time_min:.3}");
    if long.parse() == Ok(time_min) {
        return long;
    }
    time_min.to_string()
}

/// A developing time as told, without a unit: `8`, `8.5`, or `8:20` where one decimal does not tell it and
/// from 100 minutes on.
pub fn told(time_min: f64) -> String {
    let tenths = time_min * 10.0;
    if time_min < 100.0 && (tenths - tenths.round()).abs() < 1e-6 {
        return (tenths.round() / 10.0).to_string();
    }
    let seconds = (time_min * 60.0).round();
    format!("{:.0}:{:02.0}", (seconds / 60.0).floor(), seconds % 60.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn one_time_in_every_spelling() {
        for (text, want) in [
            ("8", 8.0),
            (" 8.5 ", 8.5),
            ("8,5 min", 8.5),
            ("8:20", 25.0 / 3.0),
            ("8:20 min", 25.0 / 3.0),
            ("8 min 20 s", 25.0 / 3.0),
            ("8min20s", 25.0 / 3.0),
            ("8′20″", 25.0 / 3.0),
            ("8 Minutes 20 Seconds", 25.0 / 3.0),
            ("500 s", 25.0 / 3.0),
            ("12:05", 12.0 + 5.0 / 60.0),
        ] {
            assert_eq!(developing_time(text).unwrap(), want, "{text}");
        }
    }

    #[test]
    fn what_could_be_two_times_or_none_is_refused() {
        for text in [
            "",
            "min",
            "8 20",
            "8 min 20",
            "8:5",
            "8:75",
            "8:20:00",
            "8.5 min 20 s",
            "8 s 20 min",
            "1 h",
            "-8",
            "+8",
            "8 min 80 s",
            "eight",
            "1e2",
            "0:01",
            "7.30",
            "7,30 min",
            "8.00",
            "730",
            "8..5",
            ":20",
            "8:",
        ] {
            assert!(developing_time(text).is_err(), "{text}");
        }
        let unclear = developing_time("8:5").unwrap_err();
        assert!(unclear.remedy.contains("8:05"), "{unclear}");
        let unclear = developing_time("7.30").unwrap_err();
        assert!(
            unclear.remedy.contains("7:30 for") && unclear.remedy.contains("7.300 for"),
            "{unclear}"
        );
        let unclear = developing_time("780").unwrap_err();
        assert_eq!(unclear.remedy, "Write 780 min for so many minutes.");
        assert_eq!(developing_time("780 min").unwrap(), 780.0);
        assert_eq!(developing_time("7.75").unwrap(), 7.75, "75 are no seconds");
        assert_eq!(developing_times("100 min 120 min").unwrap(), [100.0, 120.0]);
        assert_eq!(developing_time("7.300").unwrap(), 7.3);
        assert_eq!(developing_time("120 min").unwrap(), 120.0);
        assert_eq!(minutes("7.25", true).unwrap(), 7.25, "a table's own");
    }

    #[test]
    fn a_rinse_may_be_short() {
        assert_eq!(bath_time("10 s").unwrap() * 60.0, 10.0);
        assert!((bath_time("0:01").unwrap() * 60.0 - 1.0).abs() < 1e-9);
        for text in ["0.5 s", "0", "1441", "", "8:5"] {
            assert!(bath_time(text).is_err(), "{text}");
        }
    }

    #[test]
    fn several_times_apart() {
        for (text, want) in [
            ("5 8:20 12", vec![5.0, 25.0 / 3.0, 12.0]),
            ("5 min 8 min 20 s 12 min", vec![5.0, 25.0 / 3.0, 12.0]),
            ("5, 8.5, 12 min", vec![5.0, 8.5, 12.0]),
            ("5,5 8;300 s", vec![5.5, 8.0, 5.0]),
            ("", vec![]),
        ] {
            assert_eq!(developing_times(text).unwrap(), want, "{text}");
        }
        for text in ["5,8", "5 8 min 20", "8 20 s", "5 eight"] {
            assert!(developing_times(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_time_is_told_short() {
        let all = [8.0, 8.5, 25.0 / 3.0, 11.999, 120.0].map(told);
        assert_eq!(all, ["8", "8.5", "8:20", "12:00", "120:00"]);
    }

    proptest! {
        #[test]
        fn whole_seconds_are_read_back_as_told(seconds in 15_u32..86_400) {
            let time = f64::from(seconds) / 60.0;
            prop_assert!((developing_time(&told(time)).unwrap() - time).abs() < 1e-9);
        }

        #[test]
        fn what_a_form_holds_is_read_back_as_it_is(hundredths in 25_u32..100_000) {
            let time = f64::from(hundredths) / 100.0;
            prop_assert_eq!(developing_time(&typed(time)).unwrap(), time);
        }

        #[test]
        fn junk_never_panics(text in "[0-9a-z,;:.\"'′ +-]{0,40}") {
            let _ = (developing_time(&text), developing_times(&text));
        }
    }
}
