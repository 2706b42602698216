//! `calc reciprocity`: how long to expose when the meter asks for more than a second.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::wet::reciprocity::{
    self, ADDED, CORRECTED_S, METERED_S, Method, Model, POWER, SCHWARZSCHILD, by, compare,
};
use spoolwright_core::{Error, Kind};

use super::input::{self, Number};
use super::{answer, json, words};

/// Longest name of a rule in letters.
const MOST_LETTERS: usize = 80;

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    metered_s: Number,
    model: Option<Value>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Power {
    p: Number,
    mark: Option<String>,
    name: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Schwarzschild {
    q: Number,
    mark: Option<String>,
    name: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Added {
    a: Number,
    mark: Option<String>,
    name: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Table {
    rows: Vec<Value>,
    mark: Option<String>,
    name: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Row {
    metered_s: Number,
    corrected_s: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let metered = i.metered_s.check(METERED_S, "metered_s")?;
    let Some(model) = i.model else {
        let all = compare(metered)?;
        let said = all
            .said
            .iter()
            .map(|s| said(&s.model, metered, s.corrected_s));
        let mut answer = json!({ "models": said.collect::<Value>() });
        if let Some(disagreement) = all.disagreement {
            answer["disagreement"] = disagreement.into();
        }
        answer["caveats"] = answer::caveats(&all.caveats);
        return Ok(answer);
    };
    let model = read_model(&model)?;
    let (corrected, caveats) = by(&model, metered).map_err(|mut e| {
        e.what = format!("metered_s: {}", e.what);
        e
    })?;
    Ok(json!({
        "corrected_s": corrected,
        "added_s": corrected - metered,
        "model": said(&model, metered, Some(corrected)),
        "caveats": answer::caveats(&caveats),
    }))
}

/// A rule with its number and its answer.
fn said(model: &Model, metered: f64, corrected: Option<f64>) -> Value {
    let mut said = json!({
        "name": model.name,
        "kind": model.method.word(),
        "mark": model.mark.word(),
    });
    match &model.method {
        Method::Power { p } => said["p"] = (*p).into(),
        Method::Added { a } => said["a"] = (*a).into(),
        Method::Table { rows } => {
            said["rows"] = rows
                .iter()
                .map(|(metered, corrected)| {
                    json!({ "metered_s": metered, "corrected_s": corrected })
                })
                .collect();
        }
    }
    if let Some(corrected) = corrected {
        said["corrected_s"] = corrected.into();
        said["stops"] = reciprocity::stops(metered, corrected).into();
    }
    said
}

fn read_model(value: &Value) -> Result<Model, Error> {
    let (kind, fields) = json::tagged(value, "model")?;
    let (method, mark, name) = match kind.as_str() {
        "power" => {
            let f: Power = json::read(&fields, "model")?;
            (Method::power(f.p.check(POWER, "model.p")?)?, f.mark, f.name)
        }
        "schwarzschild" => {
            let f: Schwarzschild = json::read(&fields, "model")?;
            let q = f.q.check(SCHWARZSCHILD, "model.q")?;
            (Method::schwarzschild(q)?, f.mark, f.name)
        }
        "added" => {
            let f: Added = json::read(&fields, "model")?;
            (Method::added(f.a.check(ADDED, "model.a")?)?, f.mark, f.name)
        }
        "table" => {
            let f: Table = json::read(&fields, "model")?;
            (table(&f.rows)?, f.mark, f.name)
        }
        other => {
            return Err(words::unknown(
                "model.kind",
                other,
                ["power", "schwarzschild", "added", "table"],
                input::USE_ONE,
            ));
        }
    };
    let name = name.unwrap_or_else(|| kind.clone());
    if name.trim().is_empty() || MOST_LETTERS < name.chars().count() {
        return Err(Error::new(
            Kind::OutOfRange,
            "model.name: no name",
            words::shorten(&name),
            format!("1 to {MOST_LETTERS} letters"),
            "Give it a short name, or none.",
        ));
    }
    Ok(Model {
        name,
        method,
        mark: input::mark(mark.as_deref(), "model.mark")?.unwrap_or_default(),
    })
}

fn table(rows: &[Value]) -> Result<Method, Error> {
    let rows = rows
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let path = format!("model.rows[{i}]");
            let row: Row = json::read(row, &path)?;
            Ok((
                row.metered_s
                    .check(METERED_S, &json::join(&path, "metered_s"))?,
                row.corrected_s
                    .check(CORRECTED_S, &json::join(&path, "corrected_s"))?,
            ))
        })
        .collect::<Result<Vec<_>, Error>>()?;
    Method::table(&rows).map_err(|mut e| {
        e.what = format!("model.rows: {}", e.what);
        e
    })
}
