//! `calc cost`: what a usable frame came to, by can, stock and year.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::Error;
use spoolwright_core::bounds::{Bounds, CAN_LENGTH_M, MONEY};
use spoolwright_core::cost::Amount;
use spoolwright_core::cost::books::{
    AREA_M2, Bath, Books, CAPACITY_M2, COUNT, Can, Capacity, Cassettes, DRAWN_MM, FRAMES, Other,
    Page, ROWS, Roll, Seen, Stock, YEAR,
};
use spoolwright_core::cost::report::{Compared, Group, report};
use spoolwright_core::cost::share::Missing;

use super::input::{self, Number, Whole};
use super::{answer, json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    #[serde(default)]
    stocks: Vec<StockInput>,
    #[serde(default)]
    cans: Vec<CanInput>,
    #[serde(default)]
    cassettes: Vec<CassettesInput>,
    fillings: Option<Number>,
    #[serde(default)]
    baths: Vec<BathInput>,
    #[serde(default)]
    pages: Vec<PageInput>,
    rolls: Vec<RollInput>,
    #[serde(default)]
    other: Vec<OtherInput>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct StockInput {
    id: String,
    ready_wound: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct CanInput {
    id: String,
    stock: String,
    price: Option<Number>,
    length_m: Number,
    emptied: Option<bool>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct CassettesInput {
    price: Option<Number>,
    count: Number,
    uses_each: Option<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct BathInput {
    id: String,
    price: Option<Number>,
    took_m2: Number,
    capacity_m2: Option<Number>,
    capacity: Option<String>,
    poured_out: Option<bool>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct PageInput {
    id: String,
    price_each: Option<Number>,
    rows: Number,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct RollInput {
    id: String,
    can: String,
    drawn_mm: Number,
    year: Option<Whole>,
    usable: Option<Whole>,
    lost: Option<Whole>,
    test: Option<bool>,
    undeveloped: Option<bool>,
    #[serde(default)]
    baths: Vec<UseInput>,
    #[serde(default)]
    pages: Vec<RowsInput>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct UseInput {
    id: String,
    area_m2: Number,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct RowsInput {
    id: String,
    rows: Number,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct OtherInput {
    year: Option<Whole>,
    price: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let input: Input = json::read(input, "")?;
    let told = report(&books(input)?)?;
    let named = |(id, g): (&String, &Group)| with(json!({ "id": id }), g);
    let rolls = told.rolls.iter().map(|(id, borne)| {
        json!({
            "id": id,
            "film": amount(borne.film),
            "cassettes": amount(borne.cassette),
            "chemistry": amount(borne.chemistry),
            "pages": amount(borne.pages),
            "missing": borne.missing.iter().map(missing).collect::<Value>(),
        })
    });
    let spread = |what: &str, all: &std::collections::BTreeMap<String, _>| -> Vec<Value> {
        all.iter()
            .map(|(id, over): (&String, &spoolwright_core::cost::share::Over)| {
                json!({ "what": what, "id": id, "over": over.word() })
            })
            .collect()
    };
    let mut over = spread("film", &told.cans);
    over.extend(spread("chemistry", &told.baths));
    if let Some(cassettes) = told.cassettes {
        over.push(json!({ "what": "cassettes", "id": "", "over": cassettes.word() }));
    }
    Ok(json!({
        "all": with(json!({}), &told.all),
        "by_can": told.by_can.iter().map(named).collect::<Value>(),
        "by_stock": told.by_stock.iter().map(named).collect::<Value>(),
        "by_year": told.by_year.iter().map(|(year, g)| {
            with(year.map_or_else(|| json!({}), |y| json!({ "year": y })), g)
        }).collect::<Value>(),
        "rolls": rolls.collect::<Value>(),
        "spread": over,
        "caveats": answer::caveats(&told.caveats),
    }))
}

/// A number that may be left out, with the path of its field.
fn may(v: Option<Number>, bounds: Bounds, at: &str, field: &str) -> Result<Option<f64>, Error> {
    v.map(|v| v.check(bounds, &json::join(at, field)))
        .transpose()
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

fn year(v: Option<Whole>, at: &str) -> Result<Option<i32>, Error> {
    v.map(|y| y.check_signed(YEAR, &json::join(at, "year")))
        .transpose()
}

fn books(i: Input) -> Result<Books, Error> {
    Ok(Books {
        stocks: each(i.stocks, "stocks", |s, at| {
            Ok(Stock {
                ready_wound: may(s.ready_wound, MONEY, at, "ready_wound")?,
                id: s.id,
            })
        })?,
        cans: each(i.cans, "cans", |c, at| {
            let length = c
                .length_m
                .check(CAN_LENGTH_M, &json::join(at, "length_m"))?;
            Ok(Can {
                price: may(c.price, MONEY, at, "price")?,
                id: c.id,
                stock: c.stock,
                length_mm: length * 1000.0,
                emptied: c.emptied.unwrap_or(false),
            })
        })?,
        cassettes: each(i.cassettes, "cassettes", |c, at| {
            Ok(Cassettes {
                price: may(c.price, MONEY, at, "price")?,
                count: c.count.check(COUNT, &json::join(at, "count"))?,
                uses_each: may(c.uses_each, COUNT, at, "uses_each")?,
            })
        })?,
        fillings: may(i.fillings, COUNT, "", "fillings")?,
        baths: each(i.baths, "baths", |b, at| {
            Ok(Bath {
                price: may(b.price, MONEY, at, "price")?,
                took_m2: b.took_m2.check(AREA_M2, &json::join(at, "took_m2"))?,
                capacity_m2: may(b.capacity_m2, CAPACITY_M2, at, "capacity_m2")?,
                capacity: input::choice_or(
                    b.capacity.as_deref(),
                    Capacity::Guess,
                    Capacity::ALL,
                    Capacity::word,
                    &json::join(at, "capacity"),
                )?,
                poured_out: b.poured_out.unwrap_or(false),
                id: b.id,
            })
        })?,
        pages: each(i.pages, "pages", |p, at| {
            Ok(Page {
                price_each: may(p.price_each, MONEY, at, "price_each")?,
                rows: p.rows.check(ROWS, &json::join(at, "rows"))?,
                id: p.id,
            })
        })?,
        rolls: each(i.rolls, "rolls", roll)?,
        other: each(i.other, "other", |o, at| {
            Ok(Other {
                year: year(o.year, at)?,
                price: o.price.check(MONEY, &json::join(at, "price"))?,
            })
        })?,
    })
}

fn roll(r: RollInput, at: &str) -> Result<Roll, Error> {
    let frames = |v: Option<Whole>, field: &str| {
        v.map(|f| f.check(FRAMES, &json::join(at, field)))
            .transpose()
    };
    let (usable, lost) = (frames(r.usable, "usable")?, frames(r.lost, "lost")?);
    let seen = match (usable, lost) {
        (Some(usable), lost) => Some(Seen {
            usable,
            lost: lost.unwrap_or(0),
        }),
        (None, Some(_)) => return Err(json::missing(&json::join(at, "usable"))),
        (None, None) => None,
    };
    Ok(Roll {
        drawn_mm: r.drawn_mm.check(DRAWN_MM, &json::join(at, "drawn_mm"))?,
        year: year(r.year, at)?,
        seen,
        test: r.test.unwrap_or(false),
        undeveloped: r.undeveloped.unwrap_or(false),
        baths: each(r.baths, &json::join(at, "baths"), |b, at| {
            Ok((b.id, b.area_m2.check(AREA_M2, &json::join(at, "area_m2"))?))
        })?,
        rows: each(r.pages, &json::join(at, "pages"), |p, at| {
            Ok((p.id, p.rows.check(ROWS, &json::join(at, "rows"))?))
        })?,
        id: r.id,
        can: r.can,
    })
}

fn amount(a: Amount) -> Value {
    json!({ "low": a.low, "mid": a.mid, "high": a.high })
}

fn missing(m: &Missing) -> Value {
    json!({ "what": m.what, "id": m.id })
}

/// A group's sums put into an object.
fn with(mut said: Value, g: &Group) -> Value {
    said["rolls"] = g.rolls.into();
    said["waiting_rolls"] = g.waiting_rolls.into();
    said["test_rolls"] = g.test_rolls.into();
    said["usable"] = g.usable.into();
    said["lost"] = g.lost.into();
    for (name, sum) in [
        ("film", g.film),
        ("cassettes", g.cassettes),
        ("chemistry", g.chemistry),
        ("pages", g.pages),
        ("tests", g.tests),
        ("other", g.other),
        ("waiting", g.waiting),
        ("total", g.total()),
        ("lost_cost", g.lost_cost()),
    ] {
        said[name] = amount(sum);
    }
    if let Some(each) = g.per_frame() {
        said["per_frame"] = amount(each);
    }
    if let Some(Compared {
        ready_wound,
        own,
        saved,
    }) = g.ready
    {
        said["ready"] =
            json!({ "ready_wound": ready_wound, "own": amount(own), "saved": amount(saved) });
    }
    said["missing"] = g.missing.iter().map(missing).collect();
    said
}
