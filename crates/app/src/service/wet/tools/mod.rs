//! The wet bench's calculators: what to measure out, how long to develop, what light asks for.
//!
//! Each takes what a person typed, reads it with every fault at once, and hands it to the sums of
//! [`spoolwright_core::wet`]. Nothing is stored. The same sums stand without a store under `calc`.

pub mod bottles;
pub mod filter;
pub mod formula;
pub mod light;
pub mod mix;
pub(in crate::service) mod read;

use super::super::entry::Units;
use super::super::settings::Settings;
use spoolwright_core::wet::mark::Mark;

/// A US fluid ounce, ml: 231 cubic inches are 128 of them.
pub const FLUID_OUNCE_ML: f64 = 231.0 * 25.4 * 25.4 * 25.4 / 1000.0 / 128.0;
/// Volumes, to millilitres.
pub const VOLUMES: Units = &[
    ("ml", 1.0),
    ("l", 1000.0),
    ("oz", FLUID_OUNCE_ML),
    ("fl oz", FLUID_OUNCE_ML),
    ("cl", 10.0),
    ("cc", 1.0),
    ("qt", 32.0 * FLUID_OUNCE_ML),
    ("gal", 128.0 * FLUID_OUNCE_ML),
];

/// The units that an answer is told in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Telling {
    /// Fluid ounces beside millilitres.
    pub ounces: bool,
    /// Degrees Fahrenheit.
    pub fahrenheit: bool,
}

impl Telling {
    /// As the settings say; ounces also where a volume was typed in them.
    pub(crate) fn of(settings: &Settings, typed: &[&str]) -> Self {
        let american = |text: &&str| {
            let text = text.trim().to_lowercase();
            ["oz", "qt", "gal"].iter().any(|unit| text.ends_with(unit))
        };
        Self {
            ounces: settings.feet || typed.iter().any(american),
            fahrenheit: settings.fahrenheit,
        }
    }

    /// The unit that temperatures are typed in.
    pub const fn degrees(self) -> &'static str {
        if self.fahrenheit { "°F" } else { "°C" }
    }

    /// Words in the user's degrees.
    pub const fn either(self, celsius: &'static str, fahrenheit: &'static str) -> &'static str {
        if self.fahrenheit { fahrenheit } else { celsius }
    }

    /// A volume, as finely as a measure of that size can be read: `23.1 ml`, `1000 ml (33.8 oz)`.
    pub fn volume(self, ml: f64) -> String {
        let told = format!("{} ml", figure(ml));
        if self.ounces {
            format!("{told} ({} oz)", figure(ml / FLUID_OUNCE_ML))
        } else {
            told
        }
    }

    /// The same in parts: millilitres alone, and ounces where they are told.
    pub fn volume_parts(self, ml: f64) -> (String, String) {
        let ounces = if self.ounces {
            format!("{} oz", figure(ml / FLUID_OUNCE_ML))
        } else {
            String::new()
        };
        (figure(ml), ounces)
    }

    /// A temperature: `20 °C`, `20.5 °C`, `68.9 °F`.
    pub fn temperature(self, celsius: f64) -> String {
        let (degrees, unit) = if self.fahrenheit {
            (celsius * 1.8 + 32.0, "°F")
        } else {
            (celsius, "°C")
        };
        format!("{} {unit}", trimmed(degrees, 1))
    }
}

impl super::super::Service {
    /// The units that answers are told in.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn telling(&self) -> super::super::Outcome<Telling> {
        Ok(Telling::of(&self.settings()?, &[]))
    }
}

/// A number to three figures or to whole units, without needless noughts: `0.83`, `11.8`, `1234`.
pub fn figure(value: f64) -> String {
    let size = value.abs();
    let digits = if 99.95 <= size {
        0
    } else if 9.995 <= size {
        1
    } else {
        2
    };
    trimmed(value, digits)
}

/// A number with at most so many decimals.
pub fn trimmed(value: f64, digits: usize) -> String {
    let told = format!("{value:.digits$}");
    let told = if told.contains('.') {
        told.trim_end_matches('0').trim_end_matches('.')
    } else {
        &told
    };
    if told == "-0" { "0" } else { told }.to_owned()
}

/// How a number is known, in words.
pub const fn mark_words(mark: Mark) -> &'static str {
    match mark {
        Mark::Measured => "measured",
        Mark::Sheet => "from a sheet",
        Mark::RuleOfThumb => "rule of thumb",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn volumes_and_degrees_are_told_short() {
        let metric = Telling::default();
        let all = [0.0, 0.834, 11.76, 99.96, 600.0, 1234.4].map(|v| metric.volume(v));
        assert_eq!(
            all,
            ["0 ml", "0.83 ml", "11.8 ml", "100 ml", "600 ml", "1234 ml"]
        );
        let american = Telling::of(&Settings::default(), &["16 oz"]);
        assert_eq!(american.volume(473.176_473), "473 ml (16 oz)");
        assert_eq!(metric.temperature(20.0), "20 °C");
        let warm = Telling {
            fahrenheit: true,
            ..metric
        };
        assert_eq!(warm.temperature(20.5), "68.9 °F");
    }
}
