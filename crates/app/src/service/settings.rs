//! The user's choices: units, currency, limits of their own cassettes, reels and pages.

use super::entry::{self, Reader, Units};
use super::{Made, Outcome, Request, Service};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::film::Light;
use spoolwright_core::{Error, Kind};
use spoolwright_store::Setting;

const SHORT_NUMBER: Bounds = Bounds {
    what: "a count",
    unit: "",
    min: 1.0,
    max: 40.0,
};
const REEL_MM: Bounds = Bounds {
    what: "the film a reel takes",
    unit: "mm",
    min: 200.0,
    max: 4000.0,
};

/// The user's choices, each with the default a newcomer gets.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Settings {
    /// Show film in feet rather than metres.
    pub feet: bool,
    /// Show temperatures in degrees Fahrenheit.
    pub fahrenheit: bool,
    /// Currency as written before or behind an amount.
    pub currency: String,
    /// Print on Letter rather than A4.
    pub letter: bool,
    /// Cassettes are usually wound in the dark.
    pub dark: bool,
    /// How sure a plan must be that a can gives what it promises, one-sided.
    pub confidence: f64,
    /// Roll lengths the plan may choose from, frames.
    pub menu_frames: Vec<u32>,
    /// Longest roll to wind, frames.
    pub max_roll_frames: u32,
    /// Longest film the tank's reels take, mm.
    pub reel_mm: f64,
    /// Rows of a sleeve page.
    pub page_rows: u32,
    /// Frames in one row of a sleeve page.
    pub page_frames_per_row: u32,
    /// Price of one sleeve page.
    pub page_price: f64,
    /// Chemistry for one full roll.
    pub chemistry_price_per_full_roll: f64,
    /// What an end too short to wind is counted as costing, per metre.
    pub short_end_price_per_m: f64,
    /// How far the kitchen scale may be off, grams (standard deviation).
    pub scale_sd_g: f64,
    /// Address printed in QR codes, such as `http://127.0.0.1:7435`.
    pub address: String,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            feet: false,
            fahrenheit: false,
            currency: "€".into(),
            letter: false,
            dark: false,
            confidence: 0.95,
            menu_frames: vec![6, 8, 12, 18, 24, 30, 36],
            max_roll_frames: 36,
            reel_mm: 1650.0,
            page_rows: 6,
            page_frames_per_row: 6,
            page_price: 0.5,
            chemistry_price_per_full_roll: 0.8,
            short_end_price_per_m: 0.5,
            scale_sd_g: 1.0,
            address: "http://127.0.0.1:7435".into(),
        }
    }
}

/// Settings as typed; a field left empty keeps its default.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct SettingsDraft {
    /// Show film in feet rather than metres (yes or no).
    #[arg(long, default_value = "")]
    pub feet: String,
    /// Show temperatures in degrees Fahrenheit (yes or no).
    #[arg(long, default_value = "")]
    pub fahrenheit: String,
    /// Currency, as written with an amount.
    #[arg(long, default_value = "")]
    pub currency: String,
    /// Print on Letter rather than A4 (yes or no).
    #[arg(long, default_value = "")]
    pub letter: String,
    /// Cassettes are usually wound in total darkness (yes or no).
    #[arg(long, default_value = "")]
    pub dark: String,
    /// How sure a plan must be that a can holds out, 0.5 to 0.9999.
    #[arg(long, default_value = "")]
    pub confidence: String,
    /// Roll lengths a plan may choose from, frames, separated by spaces or commas.
    #[arg(long, default_value = "")]
    pub menu_frames: String,
    /// Longest roll to wind, frames.
    #[arg(long, default_value = "")]
    pub max_roll_frames: String,
    /// Longest film the tank's reels take, mm.
    #[arg(long, default_value = "")]
    pub reel_mm: String,
    /// Rows of a sleeve page.
    #[arg(long, default_value = "")]
    pub page_rows: String,
    /// Frames in one row of a sleeve page.
    #[arg(long, default_value = "")]
    pub page_frames_per_row: String,
    /// Price of one sleeve page.
    #[arg(long, default_value = "")]
    pub page_price: String,
    /// Chemistry for one full roll.
    #[arg(long, default_value = "")]
    pub chemistry_price_per_full_roll: String,
    /// What an end too short to wind counts as costing, per metre.
    #[arg(long, default_value = "")]
    pub short_end_price_per_m: String,
    /// How far the kitchen scale may be off, grams.
    #[arg(long, default_value = "")]
    pub scale_sd_g: String,
    /// Address printed in QR codes.
    #[arg(long, default_value = "")]
    pub address: String,
}

fn tick(on: bool) -> String {
    if on { "yes" } else { "no" }.into()
}

impl From<&Settings> for SettingsDraft {
    fn from(s: &Settings) -> Self {
        Self {
            feet: tick(s.feet),
            fahrenheit: tick(s.fahrenheit),
            currency: s.currency.clone(),
            letter: tick(s.letter),
            dark: tick(s.dark),
            confidence: s.confidence.to_string(),
            menu_frames: s
                .menu_frames
                .iter()
                .map(u32::to_string)
                .collect::<Vec<_>>()
                .join(" "),
            max_roll_frames: s.max_roll_frames.to_string(),
            reel_mm: s.reel_mm.to_string(),
            page_rows: s.page_rows.to_string(),
            page_frames_per_row: s.page_frames_per_row.to_string(),
            page_price: s.page_price.to_string(),
            chemistry_price_per_full_roll: s.chemistry_price_per_full_roll.to_string(),
            short_end_price_per_m: s.short_end_price_per_m.to_string(),
            scale_sd_g: s.scale_sd_g.to_string(),
            address: s.address.clone(),
        }
    }
}

impl SettingsDraft {
    /// Fields by name, as the store keeps them.
    fn pairs(&self) -> [(&'static str, &String); 16] {
        [
            ("feet", &self.feet),
            ("fahrenheit", &self.fahrenheit),
            ("currency", &self.currency),
            ("letter", &self.letter),
            ("dark", &self.dark),
            ("confidence", &self.confidence),
            ("menu_frames", &self.menu_frames),
            ("max_roll_frames", &self.max_roll_frames),
            ("reel_mm", &self.reel_mm),
            ("page_rows", &self.page_rows),
            ("page_frames_per_row", &self.page_frames_per_row),
            ("page_price", &self.page_price),
            (
                "chemistry_price_per_full_roll",
                &self.chemistry_price_per_full_roll,
            ),
            ("short_end_price_per_m", &self.short_end_price_per_m),
            ("scale_sd_g", &self.scale_sd_g),
            ("address", &self.address),
        ]
    }

    /// The settings these words mean, over `base` where a field is empty.
    ///
    /// # Errors
    /// Every fault at once.
    pub fn read(&self, base: &Settings) -> Outcome<Settings> {
        let mut r = Reader::new();
        let flag = |r: &mut Reader, field: &str, text: &String, old: bool| {
            if text.is_empty() {
                old
            } else {
                r.yes(field, text)
            }
        };
        let num = |r: &mut Reader, field: &str, text: &String, bounds: &Bounds, old: f64| {
            r.optional(field, text, entry::PLAIN, bounds).unwrap_or(old)
        };
        let count = |r: &mut Reader, field: &str, text: &String, bounds: &Bounds, old: u32| {
            if text.is_empty() {
                old
            } else {
                r.whole(field, text, bounds)
            }
        };
        let settings = Settings {
            feet: flag(&mut r, "feet", &self.feet, base.feet),
            fahrenheit: flag(&mut r, "fahrenheit", &self.fahrenheit, base.fahrenheit),
            currency: if self.currency.is_empty() {
                base.currency.clone()
            } else {
                r.line("currency", "a currency", &self.currency, 8)
            },
            letter: flag(&mut r, "letter", &self.letter, base.letter),
            dark: flag(&mut r, "dark", &self.dark, base.dark),
            confidence: num(
                &mut r,
                "confidence",
                &self.confidence,
                &bounds::CONFIDENCE,
                base.confidence,
            ),
            menu_frames: if self.menu_frames.is_empty() {
                base.menu_frames.clone()
            } else {
                menu(&mut r, &self.menu_frames)
            },
            max_roll_frames: count(
                &mut r,
                "max_roll_frames",
                &self.max_roll_frames,
                &bounds::FRAMES,
                base.max_roll_frames,
            ),
            reel_mm: num(&mut r, "reel_mm", &self.reel_mm, &REEL_MM, base.reel_mm),
            page_rows: count(
                &mut r,
                "page_rows",
                &self.page_rows,
                &SHORT_NUMBER,
                base.page_rows,
            ),
            page_frames_per_row: count(
                &mut r,
                "page_frames_per_row",
                &self.page_frames_per_row,
                &SHORT_NUMBER,
                base.page_frames_per_row,
            ),
            page_price: num(
                &mut r,
                "page_price",
                &self.page_price,
                &bounds::MONEY,
                base.page_price,
            ),
            chemistry_price_per_full_roll: num(
                &mut r,
                "chemistry_price_per_full_roll",
                &self.chemistry_price_per_full_roll,
                &bounds::MONEY,
                base.chemistry_price_per_full_roll,
            ),
            short_end_price_per_m: num(
                &mut r,
                "short_end_price_per_m",
                &self.short_end_price_per_m,
                &bounds::MONEY,
                base.short_end_price_per_m,
            ),
            scale_sd_g: num(
                &mut r,
                "scale_sd_g",
                &self.scale_sd_g,
                &bounds::MASS_SD_G,
                base.scale_sd_g,
            ),
            address: if self.address.is_empty() {
                base.address.clone()
            } else {
                address(&mut r, &self.address)
            },
        };
        r.finish()?;
        Ok(settings)
    }
}

fn menu(r: &mut Reader, text: &str) -> Vec<u32> {
    let mut menu: Vec<u32> = text
        .split([' ', ',', ';'])
        .filter(|s| !s.is_empty())
        .map(|s| r.whole("menu_frames", s, &bounds::FRAMES))
        .collect();
    menu.sort_unstable();
    menu.dedup();
    if menu.is_empty() || menu.len() > 20 {
        r.fault(
            "menu_frames",
            Error::new(
                Kind::OutOfRange,
                "roll lengths",
                format!("{} of them", menu.len()),
                "1 to 20 lengths",
                "List the lengths you wind, such as 12 18 24 36.",
            ),
        );
    }
    menu
}

fn address(r: &mut Reader, text: &str) -> String {
    let address = r
        .line("address", "an address", text, 120)
        .trim_end_matches('/')
        .to_owned();
    if !(address.starts_with("http://") || address.starts_with("https://"))
        || address.contains(char::is_whitespace)
    {
        r.fault(
            "address",
            Error::new(
                Kind::OutOfRange,
                "the address for QR codes",
                &address,
                "an address that begins with http:// or https://",
                "Enter the address your phone opens this page with.",
            ),
        );
    }
    address
}

impl Settings {
    /// Units a length of film is read in when none is written.
    pub fn length_units(&self) -> Units {
        if self.feet {
            entry::FEET
        } else {
            entry::METRES
        }
    }

    /// The light a cassette is usually wound in.
    pub fn light(&self) -> Light {
        if self.dark { Light::Dark } else { Light::Room }
    }

    /// A length of film in words: `12.3 m` or `40.4 ft`.
    pub fn length(&self, metres: f64) -> String {
        if self.feet {
            format!(
                "{:.1} ft",
                metres * 1e3 / spoolwright_core::quantity::MM_PER_FOOT
            )
        } else {
            format!("{metres:.2} m")
        }
    }

    /// A temperature in words: `4 °C` or `39 °F`.
    pub fn temperature(&self, celsius: f64) -> String {
        if self.fahrenheit {
            format!("{:.0} °F", celsius * 1.8 + 32.0)
        } else {
            format!("{celsius:.0} °C")
        }
    }

    /// A bath's temperature in words, where half a degree matters: `20.0 °C` or `68.0 °F`.
    pub fn bath_temperature(&self, celsius: f64) -> String {
        if self.fahrenheit {
            format!("{:.1} °F", celsius * 1.8 + 32.0)
        } else {
            format!("{celsius:.1} °C")
        }
    }

    /// An amount of money in words: `€ 3.20`.
    pub fn money(&self, amount: f64) -> String {
        // Adding zero turns a rounded "-0.00" into "0.00".
        let rounded = (amount * 100.0).round() / 100.0 + 0.0;
        format!("{} {rounded:.2}", self.currency)
    }
}

impl Service {
    /// The user's choices.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn settings(&self) -> Outcome<Settings> {
        let kept = self.all::<Setting>()?;
        let fields: serde_json::Map<String, serde_json::Value> =
            kept.into_iter().map(|s| (s.name, s.value.into())).collect();
        let draft: SettingsDraft = serde_json::from_value(fields.into()).unwrap_or_default();
        let mut usual = Settings::default();
        let served = self
            .address
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(address) = &*served {
            usual.address.clone_from(address);
        }
        draft.read(&usual)
    }

    /// Keeps new choices; a field left empty keeps what it was.
    ///
    /// # Errors
    /// Every fault of the draft.
    pub fn save_settings(&self, draft: &SettingsDraft, request: Request<'_>) -> Outcome<Made<()>> {
        let old = self.settings()?;
        let new = SettingsDraft::from(&draft.read(&old)?);
        let before = SettingsDraft::from(&old);
        self.change(request, |change| {
            let kept = change.all::<Setting>()?;
            let mut changed = Vec::new();
            for ((name, value), (_, was)) in new.pairs().into_iter().zip(before.pairs()) {
                if value == was {
                    continue;
                }
                let id = kept.iter().find(|s| s.name == name).map_or(0, |s| s.id);
                change.put(&Setting {
                    id,
                    name: name.into(),
                    value: value.clone(),
                })?;
                changed.push(name.replace('_', " "));
            }
            Ok((
                "settings.saved",
                format!("Changed settings: {}.", changed.join(", ")),
                (),
            ))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn less_than_a_cent_is_nothing() {
        let s = Settings::default();
        assert_eq!(s.money(-0.001), "€ 0.00");
        assert_eq!(s.money(-3.2), "€ -3.20");
        assert_eq!(s.money(58.0), "€ 58.00");
    }
}
