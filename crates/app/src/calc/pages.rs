//! `calc pages`: which rolls share a page of the binder.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::Error;
use spoolwright_core::binder::fill::{
    self, Effort, Filing, Filled, Order, Page, Placed, Roll, Started,
};
use spoolwright_core::binder::limits::USED_ROWS;

use super::film_roll::{ImageInput, PageInput, Pictures};
use super::input::{self, Whole};
use super::{answer, json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    rolls: Vec<RollInput>,
    page: PageInput,
    order: Option<String>,
    share_rows: Option<bool>,
    by_stock: Option<bool>,
    started: Option<StartedInput>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct RollInput {
    id: String,
    frames: Option<Whole>,
    first: Option<String>,
    shape: Option<String>,
    last_cut_short: Option<bool>,
    blank: Option<Vec<String>>,
    images: Option<Vec<ImageInput>>,
    stock: Option<String>,
    date: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct StartedInput {
    used_rows: Whole,
    stock: Option<String>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let filing = filing(json::read(input, "")?)?;
    Ok(told(&filing, &fill::fill(&filing, Effort::USUAL)?))
}

fn filing(i: Input) -> Result<Filing, Error> {
    let page = i.page.read()?;
    let roll = |(n, r): (usize, RollInput)| {
        let pictures = Pictures {
            frames: r.frames,
            first: r.first,
            shape: r.shape,
            last_cut_short: r.last_cut_short,
            blank: r.blank,
            images: r.images,
        };
        Ok(Roll {
            images: pictures.read(&format!("rolls[{n}]"))?,
            id: r.id,
            stock: r.stock,
            date: r.date,
        })
    };
    let started = |s: StartedInput| {
        Ok(Started {
            used_rows: s.used_rows.check(USED_ROWS, "started.used_rows")?,
            stock: s.stock,
        })
    };
    Ok(Filing {
        rolls: i
            .rolls
            .into_iter()
            .enumerate()
            .map(roll)
            .collect::<Result<_, Error>>()?,
        page,
        order: input::choice_or(
            i.order.as_deref(),
            Order::Given,
            Order::ALL,
            Order::word,
            "order",
        )?,
        share_rows: i.share_rows.unwrap_or(false),
        by_stock: i.by_stock.unwrap_or(false),
        started: i.started.map(started).transpose()?,
    })
}

fn told(filing: &Filing, filled: &Filled) -> Value {
    let rolls = filing.rolls.iter().enumerate().map(|(i, roll)| {
        let pages = filled
            .pages
            .iter()
            .enumerate()
            .filter(|(_, page)| page.rolls.contains(&i));
        json!({
            "id": roll.id,
            "rows": filled.rows[i],
            "pages": pages.map(|(page, _)| page + 1).collect::<Vec<_>>(),
        })
    });
    json!({
        "pages": filled.pages.iter().enumerate().map(|(i, p)| page(filing, i + 1, p)).collect::<Value>(),
        "rolls": rolls.collect::<Value>(),
        "new_pages": filled.new_pages,
        "shared_rows": filled.shared_rows,
        "proven": filled.proven,
        "least": { "new_pages": filled.least.pages, "shared_rows": filled.least.shared_rows },
        "because": filled.because,
        "caveats": answer::caveats(&filled.caveats),
    })
}

fn page(filing: &Filing, number: usize, page: &Page) -> Value {
    let strip = |placed: &Placed| {
        json!({
            "roll": filing.rolls[placed.roll].id,
            "first": placed.strip.first,
            "last": placed.strip.last,
            "frames": placed.strip.frames(),
            "position": placed.position,
            "pockets": placed.strip.pockets(),
        })
    };
    let rows = page.rows.iter().map(
        |row| json!({ "row": row.row, "strips": row.strips.iter().map(strip).collect::<Value>() }),
    );
    let free = page
        .free
        .iter()
        .map(|f| json!({ "row": f.row, "position": f.position, "pockets": f.pockets }));
    let mut said = json!({
        "page": number,
        "started": page.started,
        "rolls": page.rolls.iter().map(|&r| filing.rolls[r].id.as_str()).collect::<Vec<_>>(),
        "rows": rows.collect::<Value>(),
        "free": free.collect::<Value>(),
    });
    if let Some(stock) = &page.stock {
        said["stock"] = stock.as_str().into();
    }
    said
}
