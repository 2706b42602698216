//! `calc dx`: what a cassette's contacts say, both ways.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::dx::{self, Contacts, Dx, Latitude, Speed};
use spoolwright_core::{Error, Kind, bounds};

use super::input::{Number, Whole};
use super::{answer, json, words};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    iso: Option<Number>,
    exposures: Option<Whole>,
    latitude: Option<String>,
    row1: Option<String>,
    row2: Option<String>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let meaning = i.iso.is_some() || i.exposures.is_some() || i.latitude.is_some();
    match (i.row1, i.row2) {
        (None, None) if meaning => encode(i.iso, i.exposures, i.latitude.as_deref()),
        (Some(row1), Some(row2)) if !meaning => decode(&row1, &row2),
        (Some(_), None) if !meaning => Err(json::missing("row2")),
        (None, Some(_)) if !meaning => Err(json::missing("row1")),
        (row1, _) => Err(Error::new(
            Kind::Inconsistent,
            "a pattern or its meaning: one of the two is needed",
            if meaning || row1.is_some() {
                "both"
            } else {
                "neither"
            },
            "iso, exposures, latitude to get the rows; or row1 and row2 to read them",
            "Give the one that you know.",
        )),
    }
}

fn encode(
    iso: Option<Number>,
    exposures: Option<Whole>,
    latitude: Option<&str>,
) -> Result<Value, Error> {
    let known = Latitude::ALL.map(Latitude::word);
    let latitude = latitude.map(|word| {
        Latitude::from_word(word)
            .map_err(|_| words::unknown("latitude", word, known, "One of these four can be coded."))
    });
    let e = dx::encode(Dx {
        iso: iso.map(|v| v.check(bounds::SPEED_ISO, "iso")).transpose()?,
        exposures: exposures
            .map(|v| v.check(bounds::FRAMES, "exposures"))
            .transpose()?,
        latitude: latitude.transpose()?,
    })?;
    Ok(said(
        e.contacts,
        e.speed,
        e.exposures,
        e.latitude,
        &e.caveats,
    ))
}

fn decode(row1: &str, row2: &str) -> Result<Value, Error> {
    let d = dx::decode(row1, row2)?;
    let mut caveats = Vec::new();
    if d.speed.is_none() {
        caveats.push(Caveat::new(
            "dx_no_speed",
            "This code has no speed assigned: nothing can be read from it.",
        ));
    }
    Ok(said(
        Contacts::from_text(row1, row2)?,
        d.speed,
        d.exposures,
        d.latitude,
        &caveats,
    ))
}

fn said(
    contacts: Contacts,
    speed: Option<Speed>,
    exposures: Option<u32>,
    latitude: Latitude,
    caveats: &[Caveat],
) -> Value {
    let mut answer = json!({ "row1": contacts.row1_text(), "row2": contacts.row2_text() });
    answer["speed"] = speed
        .map_or_else(|| "no speed".to_owned(), |s| s.to_string())
        .into();
    if let Some(speed) = speed {
        answer["iso"] = speed.iso.into();
        answer["degrees"] = speed.degrees.into();
    }
    answer["length"] = exposures
        .map_or_else(|| "other length".to_owned(), |n| format!("{n} exposures"))
        .into();
    if let Some(exposures) = exposures {
        answer["exposures"] = exposures.into();
    }
    answer["latitude"] = latitude.word().into();
    answer["caveats"] = answer::caveats(caveats);
    answer
}
