//! Formulas by composition: scaled to any volume, in mixing order, with the water to start from.
//!
//! A formula lists what goes into one litre, in the order in which it is dissolved. Two published ones are built in,
//! as facts; a user's own is a list of the same kind. What is lacking for one stands in [`super::shopping`].

use crate::bounds::Bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::words::worded;

use super::bath::BathKind;
use super::cautions::{self, Caution};
use super::mark::Mark;
use super::mix::MIX_ML;
use super::salts::{self, AMOUNT, Substance};
use super::together;

/// Most substances of one formula.
pub const MOST_PARTS: usize = 60;
/// Share of the final volume to start from.
pub const WATER_START: Bounds = Bounds {
    what: "the water to start from",
    unit: "of the final volume",
    min: 0.1,
    max: 0.95,
};

/// Water to start from, as a share of the final volume: the upper end of ½ to ¾.
///
/// # Source
/// [D29].
pub const START_SHARE: f64 = 0.75;
/// Water for a developer, from and to, °C: 90 to 125 °F.
///
/// # Source
/// [D29].
pub const DEVELOPER_WATER_C: (f64, f64) = (32.0, 52.0);
/// Water for a fixer not much above this, °C: 80 °F.
///
/// # Source
/// [D29].
pub const FIXER_WATER_C: f64 = 27.0;
/// Below this many grams a kitchen scale will not do.
const FINE_SCALE_G: f64 = 1.0;

worded! {
    /// How an amount is measured.
    Unit {
        /// Weighed.
        #[default]
        Gram = "g",
        /// Measured by volume.
        Millilitre = "ml",
    }
}

worded! {
    /// A formula that is built in.
    BuiltIn {
        /// Metol and hydroquinone with borax, for fine grain.
        #[default]
        MqBorax = "mq-borax",
        /// The same, buffered with boric acid; its boric acid is less sure.
        MqBoraxBuffered = "mq-borax-buffered",
    }
}

/// One substance of a formula.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name, as the formula has it.
    pub substance: String,
    /// For one litre.
    pub per_litre: f64,
    /// How it is measured.
    pub unit: Unit,
    /// What to do when it goes in.
    pub note: Option<String>,
}

/// What goes into one litre, in mixing order.
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    /// What it is called.
    pub name: String,
    /// What bath it makes.
    pub kind: BathKind,
    /// Substances, in the order in which they are dissolved.
    pub parts: Vec<Part>,
    /// What limits the trust in it.
    pub caveats: Vec<Caveat>,
}

/// One substance of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    /// Its name.
    pub substance: String,
    /// Which known substance that is, if any.
    pub known: Option<Substance>,
    /// Amount for the batch.
    pub amount: f64,
    /// How it is measured.
    pub unit: Unit,
    /// What to do when it goes in.
    pub note: Option<String>,
}

/// A reminder, and which substances it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Minded {
    /// The reminder.
    pub caution: Caution,
    /// Names of the substances; empty when it is about the bath as a whole.
    pub about: Vec<String>,
}

/// A formula scaled to a volume.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Final volume, ml.
    pub volume_ml: f64,
    /// Water to start from, ml.
    pub start_ml: f64,
    /// Temperature of that water, from and to, °C; none where nothing is known, or where only cold water will do.
    pub start_c: Option<(f64, f64)>,
    /// What goes in, in this order, each dissolved before the next.
    pub measures: Vec<Measure>,
    /// What to mind, each reminder once.
    pub cautions: Vec<Minded>,
    /// What limits the trust in it.
    pub caveats: Vec<Caveat>,
}

impl BuiltIn {
    /// How sure its composition is: [D32] is published; of the buffered one [D33] sources differ.
    pub const fn mark(self) -> Mark {
        match self {
            Self::MqBorax => Mark::Sheet,
            Self::MqBoraxBuffered => Mark::RuleOfThumb,
        }
    }

    /// What it is called.
    pub const fn name(self) -> &'static str {
        match self {
            Self::MqBorax => "metol-hydroquinone borax developer",
            Self::MqBoraxBuffered => "metol-hydroquinone borax, buffered",
        }
    }

    /// Its composition.
    ///
    /// # Source
    /// [D32], [D33].
    pub fn formula(self) -> Formula {
        let gram = |substance: Substance, per_litre: f64, note: Option<&str>| Part {
            substance: substance.name(),
            per_litre,
            unit: Unit::Gram,
            note: note.map(str::to_owned),
        };
        let pinch = "a pinch of the sulfite first, then the metol: alone it oxidises, in much sulfite it will not dissolve";
        let borax = match self {
            Self::MqBorax => 2.0,
            Self::MqBoraxBuffered => 8.0,
        };
        let mut parts = vec![
            gram(Substance::Metol, 2.0, Some(pinch)),
            gram(
                Substance::SodiumSulfiteAnhydrous,
                100.0,
                Some("the rest of it"),
            ),
            gram(Substance::Hydroquinone, 5.0, None),
            gram(Substance::BoraxDecahydrate, borax, None),
        ];
        let mut caveats = Vec::new();
        if self == Self::MqBoraxBuffered {
            parts.push(gram(Substance::BoricAcid, 3.6, None));
            caveats.push(Caveat::new(
                "weak_formula",
                "Sources differ on the boric acid: 3.6 g or 8 g a litre. Test it before film that matters.",
            ));
        }
        Formula {
            name: self.name().to_owned(),
            kind: BathKind::Developer,
            parts,
            caveats,
        }
    }
}

impl Formula {
    fn check(&self) -> Result<(), Error> {
        if self.parts.is_empty() || MOST_PARTS < self.parts.len() {
            return Err(Error::new(
                if self.parts.is_empty() {
                    Kind::Missing
                } else {
                    Kind::TooLarge
                },
                "parts: too few or too many",
                self.parts.len(),
                format!("1 to {MOST_PARTS}"),
                "List what goes into one litre.",
            ));
        }
        for (i, part) in self.parts.iter().enumerate() {
            AMOUNT.check_as(
                &format!("parts[{i}].per_litre: out of range"),
                part.per_litre,
            )?;
            if part.substance.trim().is_empty() {
                return Err(Error::missing(
                    format!("parts[{i}].substance: missing"),
                    "the name of a substance",
                    "Name it.",
                ));
            }
        }
        Ok(())
    }

    /// The same formula with one hydrate in place of another, weighed so that as much of the salt goes in.
    ///
    /// # Errors
    /// [`Kind::Unknown`] when the formula has no hydrate of that salt.
    ///
    /// # Source
    /// [D35].
    pub fn with(mut self, instead: Substance) -> Result<Self, Error> {
        let same = |part: &&mut Part| {
            part.unit == Unit::Gram
                && Substance::named(&part.substance)
                    .is_some_and(|s| s.molar_mass().is_some() && s.same_salt(instead))
        };
        let mut found = false;
        for part in self.parts.iter_mut().filter(same) {
            let Some(known) = Substance::named(&part.substance) else {
                continue;
            };
            part.per_litre *= salts::factor(known, instead)?;
            part.substance = instead.name();
            found = true;
        }
        if found {
            return Ok(self);
        }
        Err(Error::new(
            Kind::Unknown,
            "instead: not a hydrate of anything in the formula",
            instead.name(),
            "a hydrate of a salt that the formula weighs out",
            "Name the salts of the formula with their hydrate, such as borax decahydrate.",
        ))
    }

    /// Amounts for `volume_ml`, with the water to start from.
    ///
    /// # Units
    /// ml; grams or ml as each part says.
    /// # Domain
    /// `volume_ml` within [`MIX_ML`], `start_share` within [`WATER_START`], 1 to [`MOST_PARTS`] parts within [`AMOUNT`].
    /// # Errors
    /// Out of range; too few or too many parts; [`Kind::Impossible`] when its liquids alone are more than the volume, or
    /// for two substances that give off a deadly gas together.
    /// # Source
    /// Proportion; the water [D29]; a built-in formula [D32], [D33].
    pub fn scale(&self, volume_ml: f64, start_share: f64) -> Result<Batch, Error> {
        self.check()?;
        let volume = MIX_ML.check_as("volume_ml: out of range", volume_ml)?;
        let share = WATER_START.check_as("start_share: out of range", start_share)?;
        let measures: Vec<Measure> = self
            .parts
            .iter()
            .map(|part| Measure {
                substance: part.substance.clone(),
                known: Substance::named(&part.substance),
                amount: part.per_litre * volume / 1000.0,
                unit: part.unit,
                note: part.note.clone(),
            })
            .collect();
        let liquids: f64 = measures
            .iter()
            .filter(|m| m.unit == Unit::Millilitre)
            .map(|m| m.amount)
            .sum();
        if volume < liquids {
            return Err(Error::new(
                Kind::Impossible,
                "parts: the liquids alone are more than the volume",
                format!("{liquids} ml"),
                format!("up to {volume} ml"),
                "Give the liquids for one litre.",
            ));
        }
        together::refuse(&measures)?;
        let mut caveats = self.caveats.clone();
        caveats.extend(doubts(&measures));
        caveats.extend(together::caveats(&measures));
        Ok(Batch {
            volume_ml: volume,
            start_ml: (volume * share).min(volume - liquids),
            start_c: match self.kind {
                _ if cold_only(&measures) => None,
                BathKind::Developer
                | BathKind::FirstDeveloper
                | BathKind::SecondDeveloper
                | BathKind::ColourDeveloper => Some(DEVELOPER_WATER_C),
                BathKind::Fixer => Some((20.0, FIXER_WATER_C)),
                _ => None,
            },
            cautions: minded(self.kind, &measures),
            measures,
            caveats,
        })
    }
}

impl Measure {
    /// The substance for whose dangers it stands: hydrates of one salt have the same.
    pub(super) fn nearest(&self) -> Option<Substance> {
        let open = || Substance::left_open(&self.substance).first().copied();
        self.known.or_else(open)
    }
}

/// Whether something goes in that makes warm water boil and spit.
fn cold_only(measures: &[Measure]) -> bool {
    let hot = [
        Substance::SodiumHydroxide,
        Substance::PotassiumHydroxide,
        Substance::SulfuricAcid,
    ];
    let mut known = measures.iter().filter_map(Measure::nearest);
    known.any(|s| hot.contains(&s))
}

/// What to mind with a bath and with what goes into it, each reminder once.
fn minded(kind: BathKind, measures: &[Measure]) -> Vec<Minded> {
    let whole = cautions::cautions(kind).iter().map(|&caution| Minded {
        caution,
        about: Vec::new(),
    });
    let mut all: Vec<Minded> = whole.collect();
    let of_bath = all.len();
    for measure in measures {
        for &caution in measure.nearest().map_or(&[][..], cautions::cautions) {
            match all.iter().position(|m| m.caution.code == caution.code) {
                // What the bath says only in case it should hold such a thing, it holds.
                Some(i) if i < of_bath => all[i].caution = caution,
                Some(i) => all[i].about.push(measure.substance.clone()),
                None => all.push(Minded {
                    caution,
                    about: vec![measure.substance.clone()],
                }),
            }
        }
    }
    all
}

fn doubts(measures: &[Measure]) -> Vec<Caveat> {
    let mut caveats = Vec::new();
    for measure in measures.iter().filter(|m| m.known.is_none()) {
        let open = Substance::left_open(&measure.substance);
        if open.is_empty() {
            caveats.push(Caveat::new(
                "unknown_substance",
                format!(
                    "{}: not known here, so no caution is told for it. Its safety data sheet tells.",
                    measure.substance
                ),
            ));
        } else {
            let names: Vec<String> = open.iter().map(|s| s.name()).collect();
            caveats.push(Caveat::new(
                "which_hydrate",
                format!(
                    "{} may be {}: they weigh differently for the same work.",
                    measure.substance,
                    names.join(", ")
                ),
            ));
        }
    }
    if cold_only(measures) {
        caveats.push(Caveat::new(
            "cold_water",
            "Strong alkali or strong acid heats its water and may spit: begin with cold water, a little at a time, stirring. What needs warm water is dissolved by itself and goes in cooled.",
        ));
    }
    let small: Vec<&str> = measures
        .iter()
        .filter(|m| m.unit == Unit::Gram && 0.0 < m.amount && m.amount < FINE_SCALE_G)
        .map(|m| m.substance.as_str())
        .collect();
    if !small.is_empty() {
        caveats.push(Caveat::new(
            "fine_scale",
            format!(
                "Less than a gram of {}: weigh it to 0.01 g, or make more.",
                small.join(", ")
            ),
        ));
    }
    caveats
}
