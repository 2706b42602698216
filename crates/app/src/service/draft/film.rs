//! Stocks and cans as typed.

use super::pick;
use crate::service::Outcome;
use crate::service::entry::{self, Reader};
use crate::service::settings::Settings;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{
    Backing, Base, Can, CanId, CanState, Loader, Process, Stock, StockId,
};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Change;

/// Length of a can when none is given: 100 ft.
pub const USUAL_CAN_M: f64 = 30.48;
/// Core of a bulk loader when none is given, mm; from memory, to be measured ([G17]).
pub const USUAL_CORE_MM: f64 = 31.75;
/// Core of a long can when none is given, mm ([G16]).
pub const LONG_CORE_MM: f64 = 50.8;
/// The longest film a bulk loader takes, m (common practice, no source): longer cans are broken first.
pub const LOADER_TAKES_M: f64 = 45.0;
/// How sure a new can's length is, as a part of it.
pub const NEW_CAN_SHARE: f64 = 0.005;

/// A stock as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct StockDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// Speed to rate it at (ISO or EI); empty when unknown.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// negative, reversal, colour-negative or colour-reversal; negative when empty.
    #[arg(long, default_value = "")]
    pub process: String,
    /// acetate, polyester, nitrate or unknown; unknown when empty.
    #[arg(long, default_value = "")]
    pub base: String,
    /// usual, remjet (a carbon backing, on some motion-picture stock) or unknown; unknown when empty.
    #[arg(long, default_value = "")]
    pub backing: String,
    /// long (still and print stock) or short (cine camera stock); long when empty.
    #[arg(long, default_value = "")]
    pub pitch: String,
    /// Total thickness, mm; empty for the usual range.
    #[arg(long, default_value = "")]
    pub thickness_mm: String,
    /// How far the thickness may be off, mm; 4 % when empty.
    #[arg(long, default_value = "")]
    pub thickness_sd_mm: String,
    /// Weight of one metre, grams; empty to learn it.
    #[arg(long, default_value = "")]
    pub linear_mass_g_per_m: String,
    /// How far the weight of a metre may be off; 3 % when empty.
    #[arg(long, default_value = "")]
    pub linear_mass_sd_g_per_m: String,
    /// Price of a ready-wound roll of 36, to compare with.
    #[arg(long, default_value = "")]
    pub ready_wound_price: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl StockDraft {
    pub(crate) fn read(&self, id: StockId, closed: bool) -> Outcome<Stock> {
        let mut r = Reader::new();
        let stock = Stock {
            id,
            name: r.name("a stock's name", &self.name),
            ei: r.optional("ei", &self.ei, entry::SPEED, &bounds::SPEED_ISO),
            process: r.word("process", &self.process, Process::from_word),
            base: r.word("base", &self.base, Base::from_word),
            backing: r.word("backing", &self.backing, Backing::from_word),
            pitch: r.word("pitch", &self.pitch, Pitch::from_word),
            thickness_mm: r.estimate(
                "thickness_mm",
                (&self.thickness_mm, &self.thickness_sd_mm),
                entry::MILLIMETRES,
                &bounds::THICKNESS_MM,
                0.04,
            ),
            linear_mass_g_per_m: r.estimate(
                "linear_mass_g_per_m",
                (&self.linear_mass_g_per_m, &self.linear_mass_sd_g_per_m),
                entry::PLAIN,
                &bounds::LINEAR_MASS_G_PER_M,
                0.03,
            ),
            ready_wound_price: r.money("ready_wound_price", &self.ready_wound_price),
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(stock)
    }
}

/// A can as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct CanDraft {
    /// The stock in it: its name or number.
    #[arg(long, default_value = "")]
    pub stock: String,
    /// Letters for its roll labels, such as HM; chosen from the stock's name when empty.
    #[arg(long, default_value = "")]
    pub letters: String,
    /// Film in it when it came, such as 30.5 m or 100 ft; 100 ft when empty.
    #[arg(long, default_value = "")]
    pub length: String,
    /// How far that may be off; half a per cent when empty. Enter more for a part roll.
    #[arg(long, default_value = "")]
    pub length_sd: String,
    /// Kind of can, bag and core: cans of one kind weigh alike when empty.
    #[arg(long, default_value = "")]
    pub package: String,
    /// Weight of can, bag and core without film, grams; empty when unknown.
    #[arg(long, default_value = "")]
    pub tare_g: String,
    /// Outer diameter of its core, mm; when empty 31.75, or 50.8 for a long can: measure yours.
    #[arg(long, default_value = "")]
    pub core_mm: String,
    /// The loader it sits in: its name or number; the only loader when empty.
    #[arg(long, default_value = "")]
    pub loader: String,
    /// What it cost.
    #[arg(long, default_value = "")]
    pub price: String,
    /// Temperature it is kept at, such as 4 C or 39 F; room temperature when empty.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub kept_at: String,
    /// Day it was bought, YYYY-MM-DD.
    #[arg(long, default_value = "")]
    pub bought_on: String,
    /// Date printed on it, YYYY-MM-DD.
    #[arg(long, default_value = "")]
    pub expires_on: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl CanDraft {
    pub(crate) fn read(
        &self,
        old: Option<&Can>,
        change: &Change<'_>,
        settings: &Settings,
    ) -> Outcome<Can> {
        let stocks = change.all::<Stock>()?;
        let loaders = change.all::<Loader>()?;
        let taken: Vec<String> = change
            .all::<Can>()?
            .into_iter()
            .map(|c| c.letters)
            .collect();
        let mut r = Reader::new();
        let stock = r.keep(
            "stock",
            pick(&stocks, &self.stock, "stock", |s| &s.name),
            None,
        );
        let loader = if self.loader.trim().is_empty() {
            let open: Vec<&Loader> = loaders.iter().filter(|l| !l.closed).collect();
            if open.len() == 1 && old.is_none() {
                Some(open[0].id)
            } else {
                None
            }
        } else {
            r.keep(
                "loader",
                pick(&loaders, &self.loader, "loader", |l| &l.name),
                None,
            )
            .map(|l| l.id)
        };
        let letters = if self.letters.trim().is_empty() {
            stock
                .map(|s| free_letters(&s.name, &taken))
                .unwrap_or_default()
        } else {
            letters(&mut r, &self.letters)
        };
        let units = settings.length_units();
        let usual = format!("{USUAL_CAN_M} m");
        let length = if self.length.trim().is_empty() {
            &usual
        } else {
            &self.length
        };
        let mut length_m = r
            .estimate(
                "length",
                (length, &self.length_sd),
                units,
                &bounds::CAN_LENGTH_M,
                NEW_CAN_SHARE,
            )
            .unwrap_or(Estimate::new(USUAL_CAN_M, USUAL_CAN_M * NEW_CAN_SHARE));
        let mut kept_c = r.temperature("kept_at", &self.kept_at, settings.fahrenheit);
        // A form shows them rounded, in the unit of today: what is left as shown is kept as it was.
        if let Some(old) = old {
            let shown = Self::of(old, settings);
            if self.length == shown.length {
                length_m.mean = old.length_m.mean;
            }
            if self.length_sd == shown.length_sd {
                length_m.sd = old.length_m.sd;
            }
            if self.kept_at == shown.kept_at {
                kept_c = old.kept_c;
            }
        }
        let can = Can {
            id: old.map_or(CanId(0), |c| c.id),
            stock: stock.map_or(StockId(0), |s| s.id),
            letters,
            length_m,
            package: r.free("package", "a kind of can", &self.package, 80),
            tare_g: r
                .estimate(
                    "tare_g",
                    (&self.tare_g, ""),
                    entry::GRAMS,
                    &bounds::MASS_G,
                    0.0,
                )
                .map(|mut t| {
                    t.sd = settings.scale_sd_g;
                    t
                }),
            core_mm: r
                .optional(
                    "core_mm",
                    &self.core_mm,
                    entry::MILLIMETRES,
                    &bounds::CORE_MM,
                )
                .unwrap_or(if length_m.mean > LOADER_TAKES_M {
                    LONG_CORE_MM
                } else {
                    USUAL_CORE_MM
                }),
            loader,
            parent: old.and_then(|c| c.parent),
            price: r.money("price", &self.price),
            bought_on: r.date("bought_on", &self.bought_on),
            expires_on: r.date("expires_on", &self.expires_on),
            kept_c,
            note: r.free("note", "a note", &self.note, 400),
            state: old.map_or(CanState::Open, |c| c.state),
        };
        r.finish()?;
        Ok(can)
    }
}

fn letters(r: &mut Reader, text: &str) -> String {
    let letters = text.trim().to_uppercase();
    if letters.is_empty()
        || letters.len() > 6
        || !letters.chars().all(|c| c.is_ascii_alphanumeric())
        || letters.chars().all(|c| c.is_ascii_digit())
    {
        r.fault(
            "letters",
            Error::new(
                Kind::OutOfRange,
                "a can's letters",
                format!("{text:?}"),
                "1 to 6 letters A to Z or digits, not digits alone",
                "Choose a short code, such as HM.",
            ),
        );
    }
    letters
}

/// Two letters from a name that no can uses yet: `HM`, else `HM2`, `HM3` …
pub(crate) fn free_letters(name: &str, taken: &[String]) -> String {
    let mut initials: String = name
        .split_whitespace()
        .filter_map(|w| w.chars().find(char::is_ascii_alphabetic))
        .take(2)
        .collect::<String>()
        .to_uppercase();
    if initials.len() < 2 {
        let all: String = name
            .chars()
            .filter(char::is_ascii_alphabetic)
            .take(2)
            .collect::<String>()
            .to_uppercase();
        initials = if all.is_empty() { "C".into() } else { all };
    }
    std::iter::once(initials.clone())
        .chain((2..).map(|n| format!("{initials}{n}")))
        .find(|l| !taken.contains(l))
        .unwrap_or(initials)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_come_from_the_name_and_are_never_taken() {
        assert_eq!(free_letters("Harbour Mist 250", &[]), "HM");
        assert_eq!(
            free_letters("Harbour Mist 250", &["HM".into(), "HM2".into()]),
            "HM3"
        );
        assert_eq!(free_letters("Slate", &[]), "SL");
        assert_eq!(free_letters("250", &[]), "C");
    }
}
