//! Formulas by composition: a published one or the user's own, for any volume, and what is lacking for it.

use super::super::super::entry::Reader;
use super::super::super::error::at;
use super::super::super::{Outcome, Service};
use super::mix::spoken;
use super::{Telling, VOLUMES, read};
use serde::Deserialize;
use spoolwright_core::wet::bath::BathKind;
use spoolwright_core::wet::formula::{
    Batch, BuiltIn, Formula, Part, START_SHARE, Unit, WATER_START,
};
use spoolwright_core::wet::mark::Mark;
use spoolwright_core::wet::mix::MIX_ML;
use spoolwright_core::wet::shopping::{self, AtHand, Needed};
use spoolwright_core::{Error, Kind};

/// The word for the user's own list among the published formulas.
pub const OWN: &str = "own";

/// A formula as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct FormulaDraft {
    /// A published formula's word, or own.
    pub formula: String,
    /// The user's own list: a substance and its amount on each line, in mixing order.
    pub parts: String,
    /// The volume that the list is for; a litre when empty.
    pub makes: String,
    /// What bath the own list makes.
    pub kind: String,
    /// How much is wanted.
    pub volume: String,
    /// Per cent of it to start from.
    pub start: String,
    /// Hydrates that are in the jars instead, apart by semicolons.
    pub instead: String,
    /// What stands on the shelf: a substance and its amount on each line.
    pub at_hand: String,
}

/// A formula for a volume, and what is lacking.
#[derive(Debug, Clone, PartialEq)]
pub struct FormulaView {
    /// What it is called.
    pub name: String,
    /// What bath it makes.
    pub kind: BathKind,
    /// How it is known; none for the user's own list.
    pub mark: Option<Mark>,
    /// What goes in.
    pub batch: Batch,
    /// What is lacking; none when no stock was given.
    pub shopping: Option<Vec<Needed>>,
    /// Units of the answer.
    pub telling: Telling,
}

impl Service {
    /// A formula scaled, in mixing order, and the shopping list for it.
    ///
    /// # Errors
    /// Every fault of the draft; liquids that are more than the volume.
    pub fn tool_formula(&self, d: &FormulaDraft) -> Outcome<FormulaView> {
        let mut r = Reader::new();
        let makes = r
            .optional("makes", &d.makes, VOLUMES, &MIX_ML)
            .unwrap_or(1000.0);
        let own = matches!(d.formula.trim(), "" | OWN);
        let parts = read::lines(&mut r, "parts", &d.parts, |line| {
            let (substance, amount, unit) = read::measured(line)?;
            Ok(Part {
                substance,
                per_litre: amount * 1000.0 / makes,
                unit,
                note: None,
            })
        });
        let kind = r.word("kind", &d.kind, BathKind::from_word);
        let mut formula = if own {
            if d.parts.trim().is_empty() {
                r.fault(
                    "parts",
                    Error::missing(
                        "the formula",
                        "a substance and its amount on each line, or a published formula",
                        "Write what goes in, or choose a published formula.",
                    ),
                );
            }
            Formula {
                name: "your own formula".to_owned(),
                kind,
                parts,
                caveats: Vec::new(),
            }
        } else {
            let published = BuiltIn::from_word(d.formula.trim());
            if published.is_ok() && !d.parts.trim().is_empty() {
                r.fault(
                    "parts",
                    Error::new(
                        Kind::Inconsistent,
                        "the formula",
                        "a published one, and a list of your own",
                        "one of the two",
                        "Empty the list, or choose your own list.",
                    ),
                );
            }
            r.keep("formula", published, BuiltIn::default()).formula()
        };
        let volume = r.number("volume", &d.volume, VOLUMES, &MIX_ML);
        let share = r
            .optional("start", &d.start, &[("%", 1.0)], &percent())
            .map_or(START_SHARE, |p| p / 100.0);
        for text in d.instead.split([';', '\n']).map(str::trim) {
            if text.is_empty() {
                continue;
            }
            let swapped = read::substance("what is in the jar", text)
                .and_then(|s| formula.clone().with(s))
                .map_err(spoken);
            formula = r.keep("instead", swapped, formula);
        }
        let shelf = read::lines(&mut r, "at_hand", &d.at_hand, |line| {
            let (substance, amount, unit) = read::measured(line)?;
            Ok(AtHand {
                substance,
                amount,
                unit,
            })
        });
        r.finish()?;
        let published = (!own).then(|| BuiltIn::from_word(d.formula.trim()).unwrap_or_default());
        let batch = formula
            .scale(volume, share)
            .map_err(|e| at("parts", spoken(e)))?;
        let lacking = if d.at_hand.trim().is_empty() {
            None
        } else {
            Some(shopping::lacking(&batch, &shelf).map_err(|e| at("at_hand", spoken(e)))?)
        };
        Ok(FormulaView {
            name: formula.name,
            kind: formula.kind,
            mark: published.map(BuiltIn::mark),
            batch,
            shopping: lacking,
            telling: Telling::of(&self.settings()?, &[&d.volume]),
        })
    }
}

/// An amount: `2.5 g`, `20 ml`.
pub fn amount(value: f64, unit: Unit, telling: Telling) -> String {
    match unit {
        Unit::Gram => format!("{} g", super::figure(value)),
        Unit::Millilitre => telling.volume(value),
    }
}

/// The water to start from in per cent of the whole.
const fn percent() -> spoolwright_core::bounds::Bounds {
    spoolwright_core::bounds::Bounds {
        what: WATER_START.what,
        unit: "%",
        min: WATER_START.min * 100.0,
        max: WATER_START.max * 100.0,
    }
}

/// The published formulas, by word and name.
pub fn published() -> Vec<(&'static str, &'static str)> {
    BuiltIn::ALL.iter().map(|b| (b.word(), b.name())).collect()
}
