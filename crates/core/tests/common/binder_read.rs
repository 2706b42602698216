//! Reads the inputs of `calc pages` and `calc cutstrips`, for tests and the benchmark.

#![allow(dead_code)]

use std::path::Path;

use serde_json::{Map, Value};
use spoolwright_core::binder::cut::{Image, PageFormat, Run, images};
use spoolwright_core::binder::fill::{Filing, Order, Roll, Started};
use spoolwright_core::field::record::FrameShape;

/// A file of `tests/reference/binder`.
pub(crate) fn fixture(name: &str) -> Map<String, Value> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/binder");
    let text = std::fs::read_to_string(folder.join(name)).expect("the fixture");
    serde_json::from_str(&text).expect("JSON")
}

fn whole(v: &Value) -> u32 {
    v.as_u64().expect("a whole number") as u32
}

pub(crate) fn page(v: &Value) -> PageFormat {
    PageFormat {
        rows: whole(&v["rows"]),
        frames_per_row: whole(&v["frames_per_row"]),
    }
}

fn counted(frames: u32) -> Vec<Image> {
    let run = Run {
        first: "1".to_owned(),
        frames,
        shape: FrameShape::Full,
        last_cut_short: false,
        blank: Vec::new(),
    };
    images(&run, "").expect("a roll")
}

pub(crate) fn pictures(v: &Value) -> Vec<Image> {
    let list = v.as_array().expect("a list");
    let image = |v: &Value| Image {
        frame: v["frame"].as_str().expect("text").to_owned(),
        shape: v["shape"].as_str().map_or(FrameShape::Full, |word| {
            FrameShape::from_word(word).expect("a shape")
        }),
        blank: v["blank"].as_bool().unwrap_or(false),
        gap_before: v["gap_perforations"].as_i64().unwrap_or(0) as i32,
    };
    list.iter().map(image).collect()
}

pub(crate) fn filing(v: &Value) -> Filing {
    let roll = |r: &Value| Roll {
        id: r["id"].as_str().expect("text").to_owned(),
        images: counted(whole(&r["frames"])),
        stock: None,
        date: None,
    };
    Filing {
        rolls: v["rolls"]
            .as_array()
            .expect("a list")
            .iter()
            .map(roll)
            .collect(),
        page: page(&v["page"]),
        order: Order::from_word(v["order"].as_str().expect("text")).expect("an order"),
        share_rows: v["share_rows"].as_bool().expect("a truth"),
        by_stock: false,
        started: v.get("started").map(|s| Started {
            used_rows: whole(&s["used_rows"]),
            stock: None,
        }),
    }
}
