//! `calc cutplan`: which rolls to wind from which can, for which want.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::bounds;
use spoolwright_core::cutplan::limits::{
    CASSETTES, LEFT_M, PAGE_SIDE, PRICE, PRIORITY, WANTED_FRAMES,
};
use spoolwright_core::cutplan::{self, CanSupply, Effort, PageCost, Plan, Problem, WantDemand};
use spoolwright_core::remaining::defaults;
use spoolwright_core::{Error, ticket};

use super::input::{self, MeanSd, Number, Whole};
use super::{answer, json, words};

/// Roll lengths that may be wound when the input names none.
const USUAL_MENU: [u32; 7] = [6, 8, 12, 18, 24, 30, 36];
/// Longest roll when the input names none.
const LONGEST: u32 = 36;
/// Cassettes at hand when the input does not count them: as many as are allowed.
const MANY_CASSETTES: u32 = CASSETTES.max as u32;
/// Priority of a want that names none.
const USUAL_PRIORITY: u32 = 3;

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    cans: Vec<CanInput>,
    wants: Vec<WantInput>,
    menu_frames: Option<Vec<Whole>>,
    max_roll_frames: Option<Whole>,
    leader_clicks: Option<Whole>,
    tail_clicks: Option<Whole>,
    pitch: Option<String>,
    uncounted_mm: Option<Number>,
    cassettes: Option<Whole>,
    page: Option<PageInput>,
    chemistry_price_per_full_roll: Option<Number>,
    short_end_price_per_m: Option<Number>,
    confidence: Option<Number>,
    effort: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct CanInput {
    id: String,
    stock: String,
    remaining_m: MeanSd,
    price_per_m: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct WantInput {
    id: String,
    stocks: Vec<String>,
    frames: Whole,
    priority: Option<Whole>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct PageInput {
    rows: Whole,
    frames_per_row: Whole,
    price: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let mut i: Input = json::read(input, "")?;
    let effort = effort(i.effort.take())?;
    Ok(told(&cutplan::solve(&problem(i)?, effort)?))
}

fn problem(i: Input) -> Result<Problem, Error> {
    let price = |given, field: &str| input::number_or(given, 0.0, PRICE, field);
    let menu = match i.menu_frames {
        None => USUAL_MENU.to_vec(),
        Some(menu) => numbered(menu, "menu_frames", |f, at| f.check(bounds::FRAMES, at))?,
    };
    Ok(Problem {
        cans: numbered(i.cans, "cans", can)?,
        wants: numbered(i.wants, "wants", want)?,
        menu_frames: menu,
        max_roll_frames: input::whole_or(
            i.max_roll_frames,
            LONGEST,
            bounds::FRAMES,
            "max_roll_frames",
        )?,
        leader_clicks: input::whole_or(
            i.leader_clicks,
            ticket::LEADER_CLICKS,
            bounds::ALLOWANCE_CLICKS,
            "leader_clicks",
        )?,
        tail_clicks: input::whole_or(i.tail_clicks, 2, bounds::ALLOWANCE_CLICKS, "tail_clicks")?,
        pitch: input::pitch(i.pitch.as_deref(), "pitch")?,
        uncounted_mm: input::number_or(
            i.uncounted_mm,
            defaults::UNCOUNTED_MM.mean,
            bounds::UNCOUNTED_MM,
            "uncounted_mm",
        )?,
        cassettes: input::whole_or(i.cassettes, MANY_CASSETTES, CASSETTES, "cassettes")?,
        page: page(i.page)?,
        chemistry_price_per_full_roll: price(
            i.chemistry_price_per_full_roll,
            "chemistry_price_per_full_roll",
        )?,
        short_end_price_per_m: price(i.short_end_price_per_m, "short_end_price_per_m")?,
        confidence: input::number_or(i.confidence, 0.95, bounds::CONFIDENCE, "confidence")?,
    })
}

fn can(c: CanInput, at: &str) -> Result<CanSupply, Error> {
    let price = json::join(at, "price_per_m");
    Ok(CanSupply {
        id: c.id,
        stock: c.stock,
        remaining_m: c
            .remaining_m
            .check(LEFT_M, &json::join(at, "remaining_m"))?,
        price_per_m: input::number_or(c.price_per_m, 0.0, PRICE, &price)?,
    })
}

fn want(w: WantInput, at: &str) -> Result<WantDemand, Error> {
    Ok(WantDemand {
        id: w.id,
        stocks: w.stocks,
        frames: w.frames.check(WANTED_FRAMES, &json::join(at, "frames"))?,
        priority: input::whole_or(
            w.priority,
            USUAL_PRIORITY,
            PRIORITY,
            &json::join(at, "priority"),
        )?,
    })
}

fn page(page: Option<PageInput>) -> Result<PageCost, Error> {
    let Some(p) = page else {
        return Ok(PageCost {
            rows: 6,
            frames_per_row: 6,
            price: 0.0,
        });
    };
    Ok(PageCost {
        rows: p.rows.check(PAGE_SIDE, "page.rows")?,
        frames_per_row: p.frames_per_row.check(PAGE_SIDE, "page.frames_per_row")?,
        price: p.price.check(PRICE, "page.price")?,
    })
}

fn effort(word: Option<String>) -> Result<Effort, Error> {
    match word.as_deref() {
        Some("quick") => Ok(Effort::QUICK),
        None | Some("usual") => Ok(Effort::USUAL),
        Some("thorough") => Ok(Effort::THOROUGH),
        Some(other) => Err(words::unknown(
            "effort",
            other,
            ["quick", "usual", "thorough"],
            input::USE_ONE,
        )),
    }
}

/// Each of a list, read with its own path.
fn numbered<T, R>(
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
    let rolls = plan.rolls.iter().map(|r| {
        json!({
            "can": r.can, "want": r.want, "frames": r.frames, "clicks": r.clicks, "drawn_m": r.drawn_m,
        })
    });
    let unmet = plan
        .unmet
        .iter()
        .map(|u| json!({ "want": u.want, "frames": u.frames, "because": u.because }));
    let leftover = plan
        .leftover
        .iter()
        .map(|l| json!({ "can": l.can, "mean_m": l.mean_m }));
    let cost = plan.cost;
    json!({
        "rolls": rolls.collect::<Value>(),
        "unmet": unmet.collect::<Value>(),
        "cost": {
            "film": cost.film, "pages": cost.pages, "chemistry": cost.chemistry,
            "short_ends": cost.short_ends, "total": cost.total,
        },
        "leftover": leftover.collect::<Value>(),
        "proven_optimal": plan.proven_optimal,
        "gap": plan.gap,
        "only_full_rolls": {
            "total": plan.only_full_rolls.total, "unmet_frames": plan.only_full_rolls.unmet_frames,
        },
        "caveats": answer::caveats(&plan.caveats),
    })
}
