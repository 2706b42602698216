//! Dilutions, per cent from a stronger per cent, hot and cold water, one hydrate for another.

use super::super::super::entry::{self, Reader};
use super::super::super::error::at;
use super::super::super::{Outcome, Service};
use super::read::{self, WEIGHTS};
use super::{Telling, VOLUMES, trimmed};
use serde::Deserialize;
use spoolwright_core::bounds::Bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::bath::{AREA_M2, BathKind, ROLL_OF_36_M2};
use spoolwright_core::wet::mix::{
    self, Dilution, MIX_ML, Measures, PERCENT, Reading, STOCK_ML_PER_ROLL, StockCheck, WATER_C,
    Wanted,
};
use spoolwright_core::wet::salts::{self, AMOUNT, Substance};
use spoolwright_core::{Error, Kind};

/// Films of 36 of one load.
const FILMS: Bounds = Bounds {
    what: "films of 36",
    unit: "",
    min: 0.02,
    max: AREA_M2.max / ROLL_OF_36_M2,
};

/// A dilution as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct DilutionDraft {
    /// 1+25, 1+1+100 or 1:25.
    pub dilution: String,
    /// plus or in; only for a dilution with a colon.
    pub reading: String,
    /// How much working solution is wanted.
    pub total: String,
    /// Or how much concentrate there is.
    pub concentrate: String,
    /// Least concentrate for a film of 36.
    pub least: String,
    /// Films of 36 of the load.
    pub films: String,
    /// What bath it makes.
    pub kind: String,
}

/// One way to read a dilution, with what it holds for the film.
#[derive(Debug, Clone, PartialEq)]
pub struct Poured {
    /// What to measure out.
    pub measures: Measures,
    /// The same dilution written with +.
    pub plain: String,
    /// Whether the film finds enough concentrate in it.
    pub stock: Option<StockCheck>,
}

/// A dilution worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct DilutionView {
    /// Each way in which it can be meant; one when there is no doubt.
    pub readings: Vec<Poured>,
    /// What bath it makes.
    pub kind: Option<BathKind>,
    /// What limits it.
    pub caveats: Vec<Caveat>,
    /// Units of the answer.
    pub telling: Telling,
}

/// A weaker solution as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PercentDraft {
    /// Per cent of what there is.
    pub strong: String,
    /// Per cent of what is wanted.
    pub wanted: String,
    /// How much is wanted.
    pub total: String,
    /// The substance, for its cautions.
    pub substance: String,
}

/// A weaker solution worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct PercentView {
    /// Strong solution, ml.
    pub strong_ml: f64,
    /// Water, ml.
    pub water_ml: f64,
    /// The substance.
    pub substance: Option<Substance>,
    /// Units of the answer.
    pub telling: Telling,
}

/// Hot and cold water as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct WaterDraft {
    /// Temperature of the hot water.
    pub hot: String,
    /// Temperature of the cold water.
    pub cold: String,
    /// Temperature wanted.
    pub wanted: String,
    /// How much is wanted.
    pub total: String,
}

/// Hot and cold water worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterView {
    /// Hot water, ml.
    pub hot_ml: f64,
    /// Cold water, ml.
    pub cold_ml: f64,
    /// Temperature that comes out, °C.
    pub wanted_c: f64,
    /// Units of the answer.
    pub telling: Telling,
}

/// A salt as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct SaltDraft {
    /// What the formula names, such as 10 g or 150 grains.
    pub amount: String,
    /// The hydrate that it names.
    pub from: String,
    /// The hydrate in the jar.
    pub to: String,
}

/// A salt worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct SaltView {
    /// What the formula names, g.
    pub from_g: f64,
    /// What to weigh, g.
    pub grams: f64,
    /// Grams of the one for a gram of the other.
    pub factor: f64,
    /// The hydrate that the formula names.
    pub from: Substance,
    /// The hydrate in the jar.
    pub to: Substance,
}

impl Service {
    /// Concentrates and water for a dilution, under each way that it can be meant.
    ///
    /// # Errors
    /// Every fault of the draft; no reading that makes sense.
    pub fn tool_dilution(&self, d: &DilutionDraft) -> Outcome<DilutionView> {
        let mut r = Reader::new();
        let parsed = if d.dilution.trim().is_empty() {
            Err(Error::missing(
                "a dilution",
                "parts such as 1+25, 1+1+100 or 1:25",
                "Enter what the sheet says.",
            ))
        } else {
            Dilution::parse(&d.dilution)
        };
        let mut dilution = r.keep("dilution", parsed.map(Some), None);
        if !d.reading.trim().is_empty() {
            let meant = r.word("reading", &d.reading, Reading::from_word);
            match dilution.as_mut() {
                // Written with +, it means what it says; the answer to an older question is passed over.
                Some(Dilution {
                    reading: Some(_), ..
                })
                | None => {}
                Some(open) => open.reading = Some(meant),
            }
        }
        let total = r.optional("total", &d.total, VOLUMES, &MIX_ML);
        let concentrate = r.optional("concentrate", &d.concentrate, VOLUMES, &MIX_ML);
        let given = [&d.total, &d.concentrate].map(|t| !t.trim().is_empty());
        let wanted = match (total, concentrate) {
            (Some(total), None) => Wanted::Total(total),
            (None, Some(ml)) => Wanted::FromConcentrate(ml),
            _ => {
                if given == [true, true] || given == [false, false] {
                    r.fault("total", one_of_two(given[0]));
                }
                Wanted::Total(MIX_ML.min)
            }
        };
        let least = r.optional("least", &d.least, VOLUMES, &STOCK_ML_PER_ROLL);
        let films = r.optional("films", &d.films, entry::PLAIN, &FILMS);
        let given = [&d.least, &d.films].map(|t| !t.trim().is_empty());
        match given {
            [true, false] => r.fault(
                "films",
                Error::missing(
                    "the films of the load",
                    FILMS.allowed(),
                    "Enter how many films of 36 go in, or leave the least concentrate out.",
                ),
            ),
            [false, true] => r.fault(
                "least",
                Error::missing(
                    "the least concentrate for a film",
                    STOCK_ML_PER_ROLL.allowed(),
                    "Enter what the sheet says, or leave the films out.",
                ),
            ),
            _ => {}
        }
        let said = !d.kind.trim().is_empty();
        let kind = said.then(|| r.word("kind", &d.kind, BathKind::from_word));
        let measures = match &dilution {
            Some(dilution) => {
                let found = mix::dilute(dilution, wanted);
                r.keep("dilution", found, Vec::new())
            }
            None => Vec::new(),
        };
        r.finish()?;
        let dilution = dilution.unwrap_or(Dilution {
            concentrates: Vec::new(),
            last: 0.0,
            reading: None,
        });
        let mut caveats = Vec::new();
        let readings = measures
            .into_iter()
            .map(|measures| {
                let stock = match (least, films) {
                    (Some(least), Some(films)) => Some(
                        mix::stock_check(
                            measures.concentrate_ml(),
                            measures.total_ml,
                            least,
                            films * ROLL_OF_36_M2,
                        )
                        .map_err(|e| at("total", e))?,
                    ),
                    _ => None,
                };
                Ok(Poured {
                    plain: plain(&dilution, &measures),
                    measures,
                    stock,
                })
            })
            .collect::<Outcome<Vec<_>>>()?;
        if 1 < readings.len() {
            caveats.push(Caveat::new(
                "ambiguous_ratio",
                "With a colon some mean parts of concentrate plus parts of water, others parts in the whole. The sheet tells which: choose.",
            ));
        }
        caveats.push(Caveat::new(
            "volumes_add",
            "Volumes are taken to add up: the water first, the concentrate into it, slowly; once mixed and cool, make up to the mark.",
        ));
        Ok(DilutionView {
            readings,
            kind,
            caveats,
            telling: Telling::of(&self.settings()?, &[&d.total, &d.concentrate]),
        })
    }

    /// Strong solution and water for a weaker one.
    ///
    /// # Errors
    /// Every fault of the draft; stronger than what it is made from.
    pub fn tool_percent(&self, d: &PercentDraft) -> Outcome<PercentView> {
        const UNITS: entry::Units = &[("%", 1.0)];
        let mut r = Reader::new();
        let strong = r.number("strong", &d.strong, UNITS, &PERCENT);
        let wanted = r.number("wanted", &d.wanted, UNITS, &PERCENT);
        let total = r.number("total", &d.total, VOLUMES, &MIX_ML);
        let substance = match d.substance.trim() {
            "" => None,
            text => {
                let read = read::substance("the substance", text).map(Some);
                r.keep("substance", read, None)
            }
        };
        r.finish()?;
        let (strong_ml, water_ml) =
            mix::weaken(total, strong, wanted).map_err(|e| at("wanted", spoken(e)))?;
        Ok(PercentView {
            strong_ml,
            water_ml,
            substance,
            telling: Telling::of(&self.settings()?, &[&d.total]),
        })
    }

    /// Hot and cold water for a temperature between the two.
    ///
    /// # Errors
    /// Every fault of the draft; a temperature that the two cannot give.
    pub fn tool_water(&self, d: &WaterDraft) -> Outcome<WaterView> {
        let telling = Telling::of(&self.settings()?, &[&d.total]);
        let mut r = Reader::new();
        let mut degrees = |field: &str, text: &str| {
            read::temperature(&mut r, field, text, &WATER_C, telling.fahrenheit, None)
        };
        let hot = degrees("hot", &d.hot);
        let cold = degrees("cold", &d.cold);
        let wanted_c = degrees("wanted", &d.wanted);
        let total = r.number("total", &d.total, VOLUMES, &MIX_ML);
        r.finish()?;
        let (hot_ml, cold_ml) = mix::water(hot, cold, wanted_c, total).map_err(|e| {
            let t = |c| telling.temperature(c);
            at(
                "wanted",
                Error {
                    given: format!("{} from {} and {}", t(wanted_c), t(cold), t(hot)),
                    allowed: format!("{} to {}", t(cold), t(hot)),
                    ..spoken(e)
                },
            )
        })?;
        Ok(WaterView {
            hot_ml,
            cold_ml,
            wanted_c,
            telling,
        })
    }

    /// What to weigh of the hydrate in the jar.
    ///
    /// # Errors
    /// Every fault of the draft; two different salts.
    pub fn tool_salt(&self, d: &SaltDraft) -> Outcome<SaltView> {
        let mut r = Reader::new();
        let from_g = r.number("amount", &d.amount, WEIGHTS, &AMOUNT);
        let from = read::substance("what the formula names", &d.from);
        let from = r.keep("from", from, Substance::Water);
        let to = read::substance("what is in the jar", &d.to);
        let to = r.keep("to", to, Substance::Water);
        r.finish()?;
        Ok(SaltView {
            from_g,
            grams: salts::convert(from_g, from, to).map_err(|e| at("to", e))?,
            factor: salts::factor(from, to).map_err(|e| at("to", e))?,
            from,
            to,
        })
    }
}

/// An error of the sums without the name of a contract's field before it.
pub(super) fn spoken(e: Error) -> Error {
    match e.what.split_once(": ") {
        Some((field, rest)) if !field.contains(' ') => Error {
            what: rest.to_owned(),
            ..e
        },
        _ => e,
    }
}

fn one_of_two(both: bool) -> Error {
    Error::new(
        if both {
            Kind::Inconsistent
        } else {
            Kind::Missing
        },
        "how much",
        if both { "both" } else { "nothing" },
        "the working solution that is wanted, or the concentrate that there is",
        "Fill in exactly one of the two.",
    )
}

/// The dilution with + between its parts, as a card is to say it.
fn plain(dilution: &Dilution, m: &Measures) -> String {
    let part = match (dilution.concentrates.first(), m.concentrates_ml.first()) {
        (Some(parts), Some(ml)) if 0.0 < *parts => ml / parts,
        _ => return String::new(),
    };
    let mut parts: Vec<String> = dilution
        .concentrates
        .iter()
        .map(|p| trimmed(*p, 3))
        .collect();
    parts.push(trimmed(m.water_ml / part, 3));
    parts.join("+")
}
