//! The formulas of `calc mix`: a batch of one, and what is lacking for it.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::wet::bath::BathKind;
use spoolwright_core::wet::formula::{self, Batch, BuiltIn, Formula, Part, Unit};
use spoolwright_core::wet::mix;
use spoolwright_core::wet::salts::AMOUNT;
use spoolwright_core::wet::shopping::{self, AtHand};
use spoolwright_core::{Error, Kind};

use super::input::{self, Number};
use super::mix::{name, substance};
use super::{answer, json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
pub(super) struct BatchInput {
    formula: Option<String>,
    makes: Option<String>,
    parts: Option<Vec<PartInput>>,
    volume_ml: Number,
    start_share: Option<Number>,
    instead: Option<Vec<String>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
pub(super) struct ShoppingInput {
    formula: Option<String>,
    makes: Option<String>,
    parts: Option<Vec<PartInput>>,
    volume_ml: Number,
    at_hand: Vec<HeldInput>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct PartInput {
    substance: String,
    g_per_l: Option<Number>,
    ml_per_l: Option<Number>,
    note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct HeldInput {
    substance: String,
    g: Option<Number>,
    ml: Option<Number>,
}

pub(super) fn batch(i: BatchInput) -> Result<Value, Error> {
    let mut formula = formula_of(i.formula, i.makes, i.parts)?;
    for (n, word) in i.instead.unwrap_or_default().iter().enumerate() {
        formula = formula.with(substance(word, &format!("instead[{n}]"))?)?;
    }
    let volume = i.volume_ml.check(mix::MIX_ML, "volume_ml")?;
    let share = input::number_or(
        i.start_share,
        formula::START_SHARE,
        formula::WATER_START,
        "start_share",
    )?;
    Ok(told(&formula, &formula.scale(volume, share)?))
}

pub(super) fn shopping(i: ShoppingInput) -> Result<Value, Error> {
    let formula = formula_of(i.formula, i.makes, i.parts)?;
    let volume = i.volume_ml.check(mix::MIX_ML, "volume_ml")?;
    let held = |(n, h): (usize, HeldInput)| {
        let at = format!("at_hand[{n}]");
        let (amount, unit) = amount(h.g, h.ml, ["g", "ml"], &at)?;
        Ok(AtHand {
            substance: name(h.substance, &json::join(&at, "substance"))?,
            amount,
            unit,
        })
    };
    let shelf: Vec<AtHand> = i
        .at_hand
        .into_iter()
        .enumerate()
        .map(held)
        .collect::<Result<_, Error>>()?;
    let batch = formula.scale(volume, formula::START_SHARE)?;
    let list = shopping::lacking(&batch, &shelf)?;
    let needed: Vec<Value> = list
        .iter()
        .map(|n| {
            let instead: Vec<Value> = n
                .instead
                .iter()
                .map(|(name, amount)| json!({ "substance": name, "amount": amount }))
                .collect();
            json!({
                "substance": n.substance, "unit": n.unit.word(), "needed": n.needed,
                "at_hand": n.at_hand, "lacking": n.lacking, "instead": instead,
            })
        })
        .collect();
    Ok(json!({
        "complete": list.iter().all(|n| n.lacking == 0.0),
        "needed": needed,
        "caveats": answer::caveats(&batch.caveats),
    }))
}

/// A built-in formula by its word, or a user's own by its parts.
fn formula_of(
    built_in: Option<String>,
    makes: Option<String>,
    parts: Option<Vec<PartInput>>,
) -> Result<Formula, Error> {
    match (built_in, parts) {
        (Some(word), None) if makes.is_none() => {
            Ok(input::choice(&word, BuiltIn::ALL, BuiltIn::word, "formula")?.formula())
        }
        (None, Some(parts)) => {
            let kind = input::choice_or(
                makes.as_deref(),
                BathKind::default(),
                BathKind::ALL,
                BathKind::word,
                "makes",
            )?;
            let read = |(n, p): (usize, PartInput)| part(p, &format!("parts[{n}]"));
            Ok(Formula {
                name: "own formula".to_owned(),
                kind,
                parts: parts
                    .into_iter()
                    .enumerate()
                    .map(read)
                    .collect::<Result<_, Error>>()?,
                caveats: Vec::new(),
            })
        }
        (given, _) => Err(Error::new(
            Kind::Inconsistent,
            "formula and parts: one of the two is needed",
            if given.is_some() { "both" } else { "neither" },
            "formula, or parts with makes",
            "Name a built-in formula, or list what goes into one litre.",
        )),
    }
}

fn part(p: PartInput, at: &str) -> Result<Part, Error> {
    let (per_litre, unit) = amount(p.g_per_l, p.ml_per_l, ["g_per_l", "ml_per_l"], at)?;
    let note = p.note.map(|note| name(note, &json::join(at, "note")));
    Ok(Part {
        substance: name(p.substance, &json::join(at, "substance"))?,
        per_litre,
        unit,
        note: note.transpose()?,
    })
}

/// Grams or millilitres, exactly one of the two.
fn amount(
    grams: Option<Number>,
    ml: Option<Number>,
    fields: [&str; 2],
    at: &str,
) -> Result<(f64, Unit), Error> {
    let f = |name: &str| json::join(at, name);
    match (grams, ml) {
        (Some(g), None) => Ok((g.check(AMOUNT, &f(fields[0]))?, Unit::Gram)),
        (None, Some(ml)) => Ok((ml.check(AMOUNT, &f(fields[1]))?, Unit::Millilitre)),
        (one, _) => Err(Error::new(
            Kind::Inconsistent,
            format!("{at}: grams or millilitres, one of the two is needed"),
            if one.is_some() { "both" } else { "neither" },
            fields.join(" or "),
            "Give the one by which it is measured.",
        )),
    }
}

fn told(formula: &Formula, batch: &Batch) -> Value {
    let mut said = json!({
        "name": formula.name,
        "makes": formula.kind.word(),
        "volume_ml": batch.volume_ml,
        "start_ml": batch.start_ml,
    });
    if let Some((from, to)) = batch.start_c {
        said["start_c"] = json!({ "from": from, "to": to });
    }
    said["measures"] = batch
        .measures
        .iter()
        .map(|m| {
            let mut one = json!({
                "substance": m.substance, "amount": m.amount, "unit": m.unit.word(),
            });
            if let Some(note) = &m.note {
                one["note"] = note.as_str().into();
            }
            one
        })
        .collect();
    said["cautions"] = batch
        .cautions
        .iter()
        .map(|m| json!({ "code": m.caution.code, "text": m.caution.text, "about": m.about }))
        .collect();
    said["caveats"] = answer::caveats(&batch.caveats);
    said
}
