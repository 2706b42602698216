//! Reading what a person typed: numbers with a comma or a point, lengths in metres or feet, dates.
//!
//! A [`Reader`] collects every fault of a form before any is shown. A number that could be read two
//! ways ("1,000") is refused, not guessed.

use super::{Failure, Fault, Outcome};
use crate::calc::words::shorten;
use spoolwright_core::bounds::Bounds;
use spoolwright_core::quantity::{Estimate, MM_PER_FOOT, degrees_between};
use spoolwright_core::wet::temperature::BATH_C;
use spoolwright_core::{Error, Kind};

/// A unit that may be written behind a number, with its factor to the field's own unit.
pub type Units = &'static [(&'static str, f64)];

/// Lengths of film, to metres. The first is assumed when no unit is written.
pub const METRES: Units = &[
    ("m", 1.0),
    ("ft", MM_PER_FOOT / 1e3),
    ("feet", MM_PER_FOOT / 1e3),
    ("'", MM_PER_FOOT / 1e3),
    ("cm", 0.01),
    ("mm", 0.001),
];
/// Lengths of film, to metres, for those who think in feet.
pub const FEET: Units = &[
    ("ft", MM_PER_FOOT / 1e3),
    ("feet", MM_PER_FOOT / 1e3),
    ("'", MM_PER_FOOT / 1e3),
    ("m", 1.0),
    ("cm", 0.01),
    ("mm", 0.001),
];
/// Small lengths, to millimetres.
pub const MILLIMETRES: Units = &[("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("\"", 25.4)];
/// Weights, to grams.
pub const GRAMS: Units = &[
    ("g", 1.0),
    ("kg", 1000.0),
    ("oz", 28.349_523_125),
    ("lb", 453.592_37),
];
/// A film speed.
pub const SPEED: Units = &[("iso", 1.0), ("ei", 1.0)];
/// No unit.
pub const PLAIN: Units = &[];

/// Reads a form's fields and keeps every fault.
#[derive(Debug, Default)]
pub struct Reader {
    faults: Vec<Fault>,
}

impl Reader {
    /// A reader with no fault yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Notes a fault at a field.
    pub fn fault(&mut self, field: &str, error: Error) {
        self.faults.push(Fault {
            field: field.to_owned(),
            error,
        });
    }

    /// All is well, or all that was not.
    ///
    /// # Errors
    /// The faults noted so far.
    pub fn finish(self) -> Outcome<()> {
        if self.faults.is_empty() {
            Ok(())
        } else {
            Err(Failure::Refused(self.faults))
        }
    }

    /// Notes an error as a fault at `field` and goes on with `otherwise`.
    pub fn keep<T>(&mut self, field: &str, result: Result<T, Error>, otherwise: T) -> T {
        result.unwrap_or_else(|error| {
            self.fault(field, error);
            otherwise
        })
    }

    /// A number that must be there.
    pub fn number(&mut self, field: &str, text: &str, units: Units, bounds: &Bounds) -> f64 {
        match self.optional(field, text, units, bounds) {
            Some(value) => value,
            None => {
                if text.trim().is_empty() {
                    self.fault(
                        field,
                        Error::missing(bounds.what, bounds.allowed(), "Enter a number."),
                    );
                }
                bounds.min
            }
        }
    }

    /// A number that may be left empty.
    pub fn optional(
        &mut self,
        field: &str,
        text: &str,
        units: Units,
        bounds: &Bounds,
    ) -> Option<f64> {
        if text.trim().is_empty() {
            return None;
        }
        let read = number(bounds, text, units).and_then(|v| bounds.check(v));
        match read {
            Ok(value) => Some(value),
            Err(error) => {
                self.fault(field, error);
                None
            }
        }
    }

    /// An amount of money that may be left empty; a currency beside it is passed over.
    pub fn money(&mut self, field: &str, text: &str) -> Option<f64> {
        let bare = text.trim().trim_matches(|c: char| {
            !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | '\u{2212}'))
        });
        let text = if bare.is_empty() { text } else { bare };
        self.optional(field, text, PLAIN, &spoolwright_core::bounds::MONEY)
    }

    /// A whole number that must be there.
    pub fn whole(&mut self, field: &str, text: &str, bounds: &Bounds) -> u32 {
        let value = self.number(field, text, PLAIN, bounds);
        if value.fract() != 0.0 {
            self.fault(
                field,
                Error::new(
                    Kind::OutOfRange,
                    bounds.what,
                    text,
                    format!("whole numbers, {}", bounds.allowed()),
                    "Enter a whole number.",
                ),
            );
        }
        value.max(0.0) as u32
    }

    /// A value with its uncertainty, both or neither; `share` is the uncertainty assumed as a part
    /// of the value when only the value is given.
    pub fn estimate(
        &mut self,
        field: &str,
        (mean, sd): (&str, &str),
        units: Units,
        bounds: &Bounds,
        share: f64,
    ) -> Option<Estimate> {
        if mean.trim().is_empty() && !sd.trim().is_empty() {
            self.fault(
                field,
                Error::missing(
                    bounds.what,
                    bounds.allowed(),
                    "Enter it, too, or leave out how far it may be off.",
                ),
            );
        }
        let value = self.optional(field, mean, units, bounds)?;
        let spread = Bounds {
            what: "an uncertainty",
            min: 0.0,
            ..*bounds
        };
        let sd = self
            .optional(field, sd, units, &spread)
            .unwrap_or(value * share);
        Some(Estimate::new(value, sd))
    }

    /// A temperature in °C; read in °F when it says so, or when it says nothing and `fahrenheit`.
    pub fn temperature(&mut self, field: &str, text: &str, fahrenheit: bool) -> Option<f64> {
        if text.trim().is_empty() {
            return None;
        }
        let bounds = spoolwright_core::bounds::TEMPERATURE_C;
        let read = temperature(&bounds, text, fahrenheit).map(Some);
        self.keep(field, read, None)
    }

    /// The temperature of a bath, in a bath's bounds, Celsius; a bare number is in the user's own degrees.
    pub fn bath(&mut self, field: &str, text: &str, fahrenheit: bool) -> Option<f64> {
        if text.trim().is_empty() {
            return None;
        }
        let read = temperature(&BATH_C, text, fahrenheit)
            .map(Some)
            .map_err(|e| Error {
                given: shorten(text.trim()),
                allowed: degrees_between(BATH_C.min, BATH_C.max),
                ..e
            });
        self.keep(field, read, None)
    }

    /// One line of text, trimmed; must be there.
    pub fn line(&mut self, field: &str, what: &str, text: &str, longest: usize) -> String {
        let line = self.free(field, what, text, longest);
        if line.is_empty() {
            self.fault(
                field,
                Error::missing(
                    what,
                    format!("1 to {longest} characters"),
                    "Enter some text.",
                ),
            );
        }
        line
    }

    /// A thing's name: one line, not digits alone, for a bare number means a number in the list.
    pub fn name(&mut self, what: &str, text: &str) -> String {
        self.name_in("name", what, text)
    }

    /// The same, in a field of another name.
    pub fn name_in(&mut self, field: &str, what: &str, text: &str) -> String {
        let name = self.line(field, what, text, 80);
        if !name.is_empty() && name.chars().all(|c| c.is_ascii_digit()) {
            self.fault(
                field,
                Error::new(
                    Kind::OutOfRange,
                    what,
                    format!("{name:?}"),
                    "a name that is more than digits",
                    "Add a word to it: a bare number means a number in the list.",
                ),
            );
        }
        name
    }

    /// Yes or no; no when empty.
    pub fn yes(&mut self, field: &str, text: &str) -> bool {
        match text.trim().to_lowercase().as_str() {
            "yes" | "y" | "on" | "true" | "1" => true,
            "" | "no" | "n" | "off" | "false" | "0" => false,
            _ => {
                self.fault(
                    field,
                    Error::new(
                        Kind::Unknown,
                        "an answer",
                        format!("{text:?}"),
                        "yes, no",
                        "Answer with one of these words.",
                    ),
                );
                false
            }
        }
    }

    /// One line of text, trimmed; may be empty.
    pub fn free(&mut self, field: &str, what: &str, text: &str, longest: usize) -> String {
        let line: String = text
            .trim()
            .chars()
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        let length = line.chars().count();
        if length > longest {
            self.fault(
                field,
                Error::new(
                    Kind::TooLarge,
                    what,
                    format!("{length} characters"),
                    format!("at most {longest} characters"),
                    "Shorten it.",
                ),
            );
        }
        line
    }

    /// One of the words of a worded enum; the default when empty.
    pub fn word<T: Default>(
        &mut self,
        field: &str,
        text: &str,
        read: fn(&str) -> Result<T, Error>,
    ) -> T {
        match text.trim() {
            "" => T::default(),
            word => {
                let read = read(word);
                self.keep(field, read, T::default())
            }
        }
    }

    /// A date, `YYYY-MM-DD`; may be empty.
    pub fn date(&mut self, field: &str, text: &str) -> Option<String> {
        let text = text.trim();
        if text.is_empty() {
            return None;
        }
        match text.parse::<jiff::civil::Date>() {
            Ok(date) if date.year() >= 1900 => Some(date.to_string()),
            _ => {
                self.fault(
                    field,
                    Error::new(
                        Kind::OutOfRange,
                        "a date",
                        text,
                        "a day as YYYY-MM-DD, such as 2026-05-17",
                        "Enter the day in that form.",
                    ),
                );
                None
            }
        }
    }
}

/// The fault of something hardly credible that was not said to be sure.
pub fn unsure(what: &str, given: String, expected: String, remedy: &str) -> Failure {
    Failure::Refused(vec![Fault {
        field: "sure".to_owned(),
        error: Error::new(Kind::Inconsistent, what, given, expected, remedy),
    }])
}

/// A temperature in °C within `bounds`; read in °F when it says so, or when it says nothing and `fahrenheit`.
///
/// # Errors
/// Not a number, or out of bounds.
pub fn temperature(bounds: &Bounds, text: &str, fahrenheit: bool) -> Result<f64, Error> {
    let text = text.trim();
    let (digits, fahrenheit) = if let Some(digits) = text.strip_suffix(['F', 'f']) {
        (digits, true)
    } else if let Some(digits) = text.strip_suffix(['C', 'c']) {
        (digits, false)
    } else {
        (text, fahrenheit)
    };
    number(bounds, digits.trim().trim_end_matches('°'), PLAIN)
        .map(|t| if fahrenheit { (t - 32.0) / 1.8 } else { t })
        .and_then(|t| bounds.check(t))
}

/// A number with an optional unit behind it, in the field's own unit.
///
/// # Errors
/// Not a number, a comma that could mean thousands, or an unknown unit.
pub fn number(bounds: &Bounds, text: &str, units: Units) -> Result<f64, Error> {
    let text = text.trim().replace(['\u{2212}', '\u{2013}'], "-");
    let text = text.as_str();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let (digits, unit) = (&text[..end], text[end..].trim());
    let refuse = |allowed: String, remedy: &str| {
        Error::new(
            Kind::OutOfRange,
            bounds.what,
            format!("{text:?}"),
            allowed,
            remedy,
        )
    };
    let plain = match digits.split_once(',') {
        Some((_, rest)) if rest.len() == 3 || rest.contains([',', '.']) => {
            return Err(refuse(
                "a number with one decimal point or comma, no thousands separators".into(),
                "Leave the separator out, or write the decimals with a point.",
            ));
        }
        Some((whole, rest)) => format!("{whole}.{rest}"),
        None => digits.to_owned(),
    };
    let value: f64 = plain
        .parse()
        .map_err(|_| refuse(format!("a number, {}", bounds.allowed()), "Enter a number."))?;
    let factor = if unit.is_empty() {
        units.first().map_or(1.0, |u| u.1)
    } else {
        let unit = unit.to_lowercase();
        units
            .iter()
            .find(|u| u.0 == unit)
            .map(|u| u.1)
            .ok_or_else(|| {
                let known: Vec<&str> = units.iter().map(|u| u.0).collect();
                refuse(
                    if known.is_empty() {
                        "a plain number".into()
                    } else {
                        format!("a number in {}", known.join(", "))
                    },
                    if known.is_empty() {
                        "Write the number alone."
                    } else {
                        "Write the number with one of these units."
                    },
                )
            })?
    };
    Ok(value * factor)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use spoolwright_core::bounds::{CAN_LENGTH_M, MASS_G};

    #[test]
    fn lengths_as_people_write_them() {
        let metres = |t| number(&CAN_LENGTH_M, t, METRES);
        for (text, value) in [
            ("30.48", 30.48),
            ("30,5 m", 30.5),
            ("100ft", 30.48),
            ("100 feet", 30.48),
            ("100'", 30.48),
            ("3048cm", 30.48),
        ] {
            assert!((metres(text).unwrap() - value).abs() < 1e-9, "{text}");
        }
        assert!((number(&CAN_LENGTH_M, "100", FEET).unwrap() - 30.48).abs() < 1e-9);
        for text in [
            "", "m", "1,000", "1.2.3", "30 yards", "NaN", "inf", "1e999", "--3", "٣",
        ] {
            assert!(metres(text).is_err(), "{text}");
        }
        assert_eq!(number(&MASS_G, "\u{2212}4", PLAIN).unwrap(), -4.0);
        assert_eq!(Reader::new().money("price", "58 €"), Some(58.0));
        assert_eq!(Reader::new().money("price", "$ 0,50"), Some(0.5));
        assert_eq!(Reader::new().money("price", "free"), None);
        assert!((number(&MASS_G, "14 oz", GRAMS).unwrap() - 396.893).abs() < 1e-3);
    }

    #[test]
    fn temperatures_in_both_degrees() {
        let mut r = Reader::new();
        for (text, fahrenheit, celsius) in [
            ("4", false, 4.0),
            ("-18 °C", true, -18.0),
            ("39.2F", false, 4.0),
            ("50", true, 10.0),
        ] {
            let read = r.temperature("kept_at", text, fahrenheit).unwrap();
            assert!((read - celsius).abs() < 1e-9, "{text}");
        }
        assert_eq!(r.temperature("kept_at", "", false), None);
        r.finish().unwrap();
        for text in ["cold", "C", "500 C", "é", "\u{fb00}"] {
            let mut r = Reader::new();
            r.temperature("kept_at", text, false);
            assert!(r.finish().is_err(), "{text}");
        }
    }

    #[test]
    fn yes_and_no_and_nothing_else() {
        let mut r = Reader::new();
        assert!(r.yes("feet", "Yes") && r.yes("feet", "on"));
        assert!(!r.yes("feet", "no") && !r.yes("feet", ""));
        assert_eq!(r.name("a name", "loader 2"), "loader 2");
        r.finish().unwrap();
        let mut r = Reader::new();
        r.yes("feet", "metres");
        r.name("a name", "2");
        let fields: Vec<_> = r.finish().unwrap_err().faults().to_vec();
        assert_eq!((&*fields[0].field, &*fields[1].field), ("feet", "name"));
    }

    #[test]
    fn every_fault_is_kept() {
        let mut r = Reader::new();
        r.number("length", "x", METRES, &CAN_LENGTH_M);
        r.whole("frames", "1.5", &spoolwright_core::bounds::FRAMES);
        r.date("by", "next week");
        r.line("name", "a name", "", 10);
        let failure = r.finish().unwrap_err();
        assert_eq!(
            failure
                .faults()
                .iter()
                .map(|f| f.field.as_str())
                .collect::<Vec<_>>(),
            ["length", "frames", "by", "name"]
        );
    }

    proptest! {
        #[test]
        fn junk_never_panics(text in ".{0,40}") {
            if let Ok(v) = number(&MASS_G, &text, GRAMS) {
                prop_assert!(v.is_finite());
            }
        }
    }
}
