//! `calc tank`: which rolls share a developing tank.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds::{DEVELOPING_MIN, REEL_MM};
use spoolwright_core::wet::tank::limits::{
    BASE_ML, BETWEEN_MM, FILM_MM, LEAST_STOCK_ML, REELS, TANK_ML, TANK_REELS, TOLERANCE_PERCENT,
    WATER_PARTS,
};
use spoolwright_core::wet::tank::{self, Bench, Developer, Effort, Plan, Reel, Roll, Run, Tank};
use spoolwright_core::{Error, Kind};

use super::input::{Number, Whole};
use super::{answer, json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    rolls: Vec<RollInput>,
    #[serde(default)]
    developers: Vec<DeveloperInput>,
    tanks: Vec<TankInput>,
    reels: Vec<ReelInput>,
    tolerance_percent: Option<Number>,
    reels_reused: Option<bool>,
    between_mm: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct RollInput {
    id: String,
    process: String,
    developer: String,
    own_kind: Option<String>,
    time_min: Number,
    tolerance_percent: Option<Number>,
    film_mm: Number,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct DeveloperInput {
    id: String,
    water_parts: Option<Number>,
    least_stock_ml: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct TankInput {
    id: String,
    reel: String,
    ml: Option<Vec<Whole>>,
    reels: Option<Whole>,
    ml_per_reel: Option<Whole>,
    base_ml: Option<Whole>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct ReelInput {
    id: String,
    count: Whole,
    longest_mm: Number,
    takes_two: Option<bool>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let input: Input = json::read(input, "")?;
    Ok(told(&tank::load(&bench(input)?, Effort::USUAL)?))
}

fn bench(i: Input) -> Result<Bench, Error> {
    let optional = |value: Option<Number>, bounds, field: &str| {
        value.map(|v| v.check(bounds, field)).transpose()
    };
    Ok(Bench {
        rolls: each(i.rolls, "rolls", |r, at| {
            let field = |f| json::join(at, f);
            Ok(Roll {
                time_min: r.time_min.check(DEVELOPING_MIN, &field("time_min"))?,
                tolerance_percent: optional(
                    r.tolerance_percent,
                    TOLERANCE_PERCENT,
                    &field("tolerance_percent"),
                )?,
                film_mm: r.film_mm.check(FILM_MM, &field("film_mm"))?,
                id: r.id,
                process: r.process,
                developer: r.developer,
                own_kind: r.own_kind,
            })
        })?,
        developers: each(i.developers, "developers", |d, at| {
            let field = |f| json::join(at, f);
            Ok(Developer {
                id: d.id,
                water_parts: optional(d.water_parts, WATER_PARTS, &field("water_parts"))?
                    .unwrap_or(0.0),
                least_stock_ml: optional(
                    d.least_stock_ml,
                    LEAST_STOCK_ML,
                    &field("least_stock_ml"),
                )?,
            })
        })?,
        tanks: each(i.tanks, "tanks", |t, at| {
            Ok(Tank {
                ml: volumes(&t, at)?,
                id: t.id,
                reel: t.reel,
            })
        })?,
        reels: each(i.reels, "reels", |r, at| {
            let field = |f| json::join(at, f);
            Ok(Reel {
                id: r.id,
                count: r.count.check(REELS, &field("count"))?,
                longest_mm: r.longest_mm.check(REEL_MM, &field("longest_mm"))?,
                takes_two: r.takes_two.unwrap_or(false),
            })
        })?,
        tolerance_percent: optional(i.tolerance_percent, TOLERANCE_PERCENT, "tolerance_percent")?,
        reels_reused: i.reels_reused.unwrap_or(true),
        between_mm: optional(i.between_mm, BETWEEN_MM, "between_mm")?,
    })
}

/// ml for one reel, two and so on, from the list or from a share for each reel.
fn volumes(t: &TankInput, at: &str) -> Result<Vec<u32>, Error> {
    let field = |f: &str| json::join(at, f);
    let by_reel = t.reels.or(t.ml_per_reel).or(t.base_ml);
    match (&t.ml, by_reel) {
        (Some(list), None) => each(list.clone(), &field("ml"), |ml, at| ml.check(TANK_ML, at)),
        (None, Some(_)) => {
            let needed =
                |v: Option<Whole>, name: &str| v.ok_or_else(|| json::missing(&field(name)));
            let reels = needed(t.reels, "reels")?.check(TANK_REELS, &field("reels"))?;
            let share =
                needed(t.ml_per_reel, "ml_per_reel")?.check(TANK_ML, &field("ml_per_reel"))?;
            let base = t
                .base_ml
                .map_or(Ok(0), |b| b.check(BASE_ML, &field("base_ml")))?;
            TANK_ML.check_as(
                &format!("{at}: out of range when full"),
                f64::from(base + reels * share),
            )?;
            Ok((1..=reels).map(|k| base + k * share).collect())
        }
        (list, _) => Err(Error::new(
            Kind::Inconsistent,
            format!("{at}: its volumes are needed one way"),
            if list.is_some() { "both" } else { "neither" },
            "either ml, a list, or reels and ml_per_reel with base_ml",
            "Give the volumes that cover its reels.",
        )),
    }
}

/// Each of a list, read with its own path.
fn each<T, R>(
    list: Vec<T>,
    field: &str,
    read: impl Fn(T, &str) -> Result<R, Error>,
) -> Result<Vec<R>, Error> {
    list.into_iter()
        .enumerate()
        .map(|(i, item)| read(item, &format!("{field}[{i}]")))
        .collect()
}

fn told(plan: &Plan) -> Value {
    let unloaded = plan
        .unloaded
        .iter()
        .map(|u| json!({ "id": u.id, "because": u.because }));
    let apart = plan
        .apart
        .iter()
        .map(|p| json!({ "a": p.a, "b": p.b, "because": p.because }));
    json!({
        "runs": plan.runs.iter().map(run).collect::<Value>(),
        "unloaded": unloaded.collect::<Value>(),
        "apart": apart.collect::<Value>(),
        "apart_left_off": plan.apart_left_off,
        "proven": plan.proven,
        "least": {
            "unloaded": plan.least.unloaded, "runs": plan.least.runs, "working_ml": plan.least.working_ml,
        },
        "caveats": answer::caveats(&plan.caveats),
    })
}

fn run(run: &Run) -> Value {
    let reels = run
        .reels
        .iter()
        .map(|r| json!({ "reel": r.reel, "rolls": r.rolls, "film_mm": r.film_mm }));
    let deviations = run
        .deviations
        .iter()
        .map(|d| json!({ "id": d.id, "percent": d.percent }));
    let mut said = json!({
        "tank": run.tank,
        "process": run.process,
        "developer": run.developer,
        "reels": reels.collect::<Value>(),
        "time_min": run.time_min,
        "deviations": deviations.collect::<Value>(),
        "working_ml": run.working_ml,
        "stock_ml": run.stock_ml,
    });
    if let Some(least) = run.least_stock_ml {
        said["least_stock_ml"] = least.into();
    }
    said
}
