//! `calc mix`: what to measure out, by the kind of question.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::bath::DAYS;
use spoolwright_core::wet::bottles::{self, Bottle, Unsaid, Want};
use spoolwright_core::wet::cautions;
use spoolwright_core::wet::mix::{self, Dilution, Measures, Reading, Wanted};
use spoolwright_core::wet::salts::{self, AMOUNT, Substance};
use spoolwright_core::{Error, Kind};

use super::area::Film;
use super::bath::cautioned;
use super::input::{self, Number};
use super::words::shorten;
use super::{answer, formula, json, words};

const KINDS: [&str; 7] = [
    "dilution", "percent", "bottles", "formula", "salt", "water", "shopping",
];
/// Most characters of a name.
const LONGEST_NAME: usize = 200;

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct DilutionInput {
    dilution: String,
    reading: Option<String>,
    total_ml: Option<Number>,
    concentrate_ml: Option<Number>,
    stock: Option<Stock>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Stock {
    least_ml_per_roll: Number,
    area_m2: Option<Number>,
    rolls: Option<Number>,
    length_mm: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct PercentInput {
    total_ml: Number,
    strong_percent: Number,
    wanted_percent: Number,
    substance: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct BottlesInput {
    volume_ml: Number,
    strength: Option<Number>,
    water: Option<bool>,
    bottles: Vec<BottleInput>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct BottleInput {
    name: String,
    volume_ml: Number,
    strength: Option<Number>,
    age_days: Option<Number>,
    used_m2: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct SaltInput {
    grams: Option<Number>,
    grains: Option<Number>,
    from: String,
    to: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct WaterInput {
    hot_c: Number,
    cold_c: Number,
    wanted_c: Number,
    total_ml: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let (kind, rest) = json::tagged(input, "")?;
    match kind.as_str() {
        "dilution" => dilution(json::read(&rest, "")?),
        "percent" => percent(json::read(&rest, "")?),
        "bottles" => from_bottles(json::read(&rest, "")?),
        "formula" => formula::batch(json::read(&rest, "")?),
        "salt" => salt(json::read(&rest, "")?),
        "water" => water(json::read(&rest, "")?),
        "shopping" => formula::shopping(json::read(&rest, "")?),
        other => Err(words::unknown("kind", other, KINDS, input::USE_ONE)),
    }
}

/// A name of one to [`LONGEST_NAME`] characters.
pub(super) fn name(text: String, field: &str) -> Result<String, Error> {
    let length = text.chars().count();
    if !text.trim().is_empty() && length <= LONGEST_NAME {
        return Ok(text);
    }
    Err(Error::new(
        if length <= LONGEST_NAME {
            Kind::Missing
        } else {
            Kind::TooLarge
        },
        format!("{field}: not a name"),
        shorten(&text),
        format!("1 to {LONGEST_NAME} characters"),
        "Give a short name.",
    ))
}

/// A substance by name; one that is not known is refused with the nearest, or with its hydrates.
pub(super) fn substance(text: &str, field: &str) -> Result<Substance, Error> {
    if let Some(known) = Substance::named(text) {
        return Ok(known);
    }
    let open = Substance::left_open(text);
    if !open.is_empty() {
        let names: Vec<&str> = open.iter().map(|s| s.word()).collect();
        return Err(Error::new(
            Kind::Inconsistent,
            format!("{field}: which hydrate?"),
            shorten(text),
            names.join(", "),
            "The label of the jar tells; they weigh differently for the same work.",
        ));
    }
    Err(words::unknown(
        field,
        text,
        Substance::ALL.iter().map(|s| s.word()),
        input::USE_ONE,
    ))
}

fn dilution(i: DilutionInput) -> Result<Value, Error> {
    let mut dilution = Dilution::parse(&i.dilution)?;
    if let Some(word) = &i.reading {
        let reading = input::choice(word, Reading::ALL, Reading::word, "reading")?;
        if dilution.reading.is_some_and(|written| written != reading) {
            return Err(Error::new(
                Kind::Inconsistent,
                "reading: a dilution with + has only one",
                format!("{} read as {word}", shorten(&i.dilution)),
                "reading plus, or a dilution with :",
                "Leave `reading` out.",
            ));
        }
        dilution.reading = Some(reading);
    }
    let wanted = match (i.total_ml, i.concentrate_ml) {
        (Some(total), None) => Wanted::Total(total.check(mix::MIX_ML, "total_ml")?),
        (None, Some(ml)) => Wanted::FromConcentrate(ml.check(mix::MIX_ML, "concentrate_ml")?),
        (one, _) => {
            return Err(Error::new(
                Kind::Inconsistent,
                "total_ml and concentrate_ml: one of the two is needed",
                if one.is_some() { "both" } else { "neither" },
                "exactly one",
                "Give the volume that you want, or the concentrate that you have.",
            ));
        }
    };
    let stock = i.stock.map(least_stock).transpose()?;
    let readings = mix::dilute(&dilution, wanted)?;
    let mut caveats = Vec::new();
    if dilution.reading.is_none() {
        caveats.push(Caveat::new(
            "ambiguous_ratio",
            "With a colon some mean parts of concentrate plus parts of water, others parts in the whole: the sheet tells which. Choose a reading.",
        ));
    }
    let mut told = Vec::new();
    for measures in &readings {
        told.push(reading_told(measures, stock, &mut caveats)?);
    }
    Ok(json!({
        "readings": told,
        "cautions": cautioned(cautions::unnamed()),
        "caveats": answer::caveats(&caveats),
    }))
}

/// Least stock for a roll, and the film's area.
fn least_stock(s: Stock) -> Result<(f64, f64), Error> {
    let least = s
        .least_ml_per_roll
        .check(mix::STOCK_ML_PER_ROLL, "stock.least_ml_per_roll")?;
    let film = Film::new(s.area_m2, s.rolls, s.length_mm);
    Ok((least, film.area_m2("stock")?))
}

fn reading_told(
    m: &Measures,
    stock: Option<(f64, f64)>,
    caveats: &mut Vec<Caveat>,
) -> Result<Value, Error> {
    let mut said = json!({
        "reading": m.reading.word(),
        "water_ml": m.water_ml,
        "concentrates_ml": m.concentrates_ml,
        "total_ml": m.total_ml,
    });
    if let Some((least, area)) = stock {
        let held = m.concentrate_ml();
        let check = mix::stock_check(held, m.total_ml, least, area)?;
        said["stock"] = json!({
            "enough": check.is_enough(),
            "needed_ml": check.needed_ml,
            "held_ml": check.held_ml,
            "working_ml": check.working_ml,
            "enough_for_m2": check.enough_for_m2,
        });
        if !check.is_enough() {
            caveats.push(Caveat::new(
                "too_little_stock",
                format!(
                    "{:.1} ml of concentrate are too little for this film, which needs {:.1} ml: use {:.0} ml of working solution, a stronger one, or less film.",
                    check.held_ml, check.needed_ml, check.working_ml
                ),
            ));
        }
    }
    Ok(said)
}

fn percent(i: PercentInput) -> Result<Value, Error> {
    let substance = i
        .substance
        .map(|s| substance(&s, "substance"))
        .transpose()?;
    let total = i.total_ml.check(mix::MIX_ML, "total_ml")?;
    let (strong, water) = mix::weaken(
        total,
        i.strong_percent.check(mix::PERCENT, "strong_percent")?,
        i.wanted_percent.check(mix::PERCENT, "wanted_percent")?,
    )?;
    Ok(json!({
        "water_ml": water,
        "strong_ml": strong,
        "total_ml": total,
        "cautions": cautioned(substance.map_or(cautions::unnamed(), cautions::cautions)),
        "caveats": answer::caveats(&[Caveat::new(
            "volumes_add",
            "Volumes are taken to add up: the water first, the strong solution into it, slowly; once mixed and cool, make up to the mark.",
        )]),
    }))
}

fn from_bottles(i: BottlesInput) -> Result<Value, Error> {
    let want = Want {
        volume_ml: i.volume_ml.check(mix::MIX_ML, "volume_ml")?,
        strength: input::number_or(i.strength, 1.0, bottles::STRENGTH, "strength")?,
        water: i.water.unwrap_or(true),
    };
    let read = |(n, b): (usize, BottleInput)| {
        let at = format!("bottles[{n}]");
        let f = |name: &str| json::join(&at, name);
        let or = |value, usual, bounds: Bounds, field: &str| {
            input::number_or(value, usual, bounds, &f(field))
        };
        Ok(Bottle {
            name: name(b.name, &f("name"))?,
            volume_ml: b.volume_ml.check(mix::MIX_ML, &f("volume_ml"))?,
            strength: or(b.strength, 1.0, bottles::STRENGTH, "strength")?,
            age_days: or(b.age_days, 0.0, DAYS, "age_days")?,
            used_m2: or(b.used_m2, 0.0, bottles::USED_M2, "used_m2")?,
        })
    };
    let unsaid = Unsaid {
        age: i.bottles.iter().map(|b| b.age_days.is_none()).collect(),
        used: i.bottles.iter().map(|b| b.used_m2.is_none()).collect(),
    };
    let list: Vec<Bottle> = i
        .bottles
        .into_iter()
        .enumerate()
        .map(read)
        .collect::<Result<_, Error>>()?;
    let pour = bottles::pour(&list, want)?;
    let take: Vec<Value> = list
        .iter()
        .zip(pour.take_ml.iter().zip(&pour.left_ml))
        .map(|(b, (take, left))| json!({ "name": b.name, "take_ml": take, "left_ml": left }))
        .collect();
    let mut caveats = vec![Caveat::new(
        "same_solution",
        "Only bottles of the same solution may be poured together.",
    )];
    caveats.extend(unsaid.caveats(&list, &pour));
    if 0.0 < pour.used_m2 {
        caveats.push(Caveat::new(
            "part_used",
            "Part of it has had film: the mixture begins its life with that area used.",
        ));
    }
    Ok(json!({
        "take": take,
        "water_ml": pour.water_ml,
        "volume_ml": want.volume_ml,
        "age_days": pour.age_days,
        "used_m2": pour.used_m2,
        "caveats": answer::caveats(&caveats),
    }))
}

fn salt(i: SaltInput) -> Result<Value, Error> {
    let from = substance(&i.from, "from")?;
    let to = substance(&i.to, "to")?;
    let grams = match (i.grams, i.grains) {
        (Some(grams), None) => grams.check(AMOUNT, "grams")?,
        (None, Some(grains)) => salts::grams(grains.check(salts::GRAINS, "grains")?)?,
        (one, _) => {
            return Err(Error::new(
                Kind::Inconsistent,
                "grams and grains: one of the two is needed",
                if one.is_some() { "both" } else { "neither" },
                "exactly one",
                "Give the weight that the formula names.",
            ));
        }
    };
    let mut said = json!({
        "grams": salts::convert(grams, from, to)?,
        "factor": salts::factor(from, to)?,
    });
    if let (Some(a), Some(b)) = (from.molar_mass(), to.molar_mass()) {
        said["molar_masses_g_per_mol"] = json!({ "from": a, "to": b });
    }
    said["cautions"] = cautioned(cautions::cautions(to));
    Ok(said)
}

fn water(i: WaterInput) -> Result<Value, Error> {
    let (hot, cold) = mix::water(
        i.hot_c.check(mix::WATER_C, "hot_c")?,
        i.cold_c.check(mix::WATER_C, "cold_c")?,
        i.wanted_c.check(mix::WATER_C, "wanted_c")?,
        i.total_ml.check(mix::MIX_ML, "total_ml")?,
    )?;
    Ok(json!({
        "hot_ml": hot,
        "cold_ml": cold,
        "caveats": answer::caveats(&[Caveat::new(
            "vessel_left_out",
            "Both waters are taken to hold heat alike and the vessel to take none: check with the thermometer.",
        )]),
    }))
}
