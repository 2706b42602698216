//! Reads the shelves of tests/reference/remaining from JSON.

use serde_json::Value;
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::remaining::{
    CanInput, Evidence, LoaderPrior, PackagePrior, Shelf, StockPrior,
};

/// A number of an object.
pub(crate) fn number(value: &Value, field: &str) -> f64 {
    value[field]
        .as_f64()
        .unwrap_or_else(|| panic!("{field} of {value}"))
}

/// A `[mean, sd]` of an object.
pub(crate) fn pair(value: &Value, field: &str) -> Estimate {
    let at = |i: usize| {
        value[field][i]
            .as_f64()
            .unwrap_or_else(|| panic!("{field} of {value}"))
    };
    Estimate::new(at(0), at(1))
}

/// The elements of an array field.
pub(crate) fn list<'a>(value: &'a Value, field: &str) -> &'a Vec<Value> {
    value[field]
        .as_array()
        .unwrap_or_else(|| panic!("{field} of {value}"))
}

/// A whole shelf.
pub(crate) fn shelf(value: &Value) -> Shelf {
    Shelf {
        loaders: list(value, "loaders")
            .iter()
            .map(|v| LoaderPrior {
                click_scale: pair(v, "click_scale"),
                uncounted_mm: pair(v, "uncounted_mm"),
            })
            .collect(),
        stocks: list(value, "stocks")
            .iter()
            .map(|v| StockPrior {
                linear_mass_g_per_m: pair(v, "linear_mass_g_per_m"),
                thickness_mm: pair(v, "thickness_mm"),
            })
            .collect(),
        packages: list(value, "packages")
            .iter()
            .map(|v| PackagePrior {
                tare_g: pair(v, "tare_g"),
                spread_g: number(v, "spread_g"),
            })
            .collect(),
        cans: list(value, "cans").iter().map(can).collect(),
    }
}

fn can(value: &Value) -> CanInput {
    CanInput {
        stock: number(value, "stock") as usize,
        package: value["package"].as_u64().map(|n| n as usize),
        own_tare_g: value["own_tare_g"]
            .is_array()
            .then(|| pair(value, "own_tare_g")),
        pitch: Pitch::from_word(value["pitch"].as_str().unwrap()).unwrap(),
        length_m: pair(value, "length_m"),
        evidence: list(value, "evidence").iter().map(evidence).collect(),
    }
}

fn evidence(v: &Value) -> Evidence {
    let f = |field: &str| number(v, field);
    let loader = || f("loader") as usize;
    match v["kind"].as_str().unwrap() {
        "wind" => Evidence::Wind {
            loader: loader(),
            clicks: f("clicks"),
        },
        "wind_length" => Evidence::WindLength {
            mm: Estimate::new(f("mm"), f("sd")),
        },
        "weigh" => Evidence::Weigh {
            grams: f("grams"),
            sd_grams: f("sd"),
        },
        "weigh_empty" => Evidence::WeighEmpty {
            grams: f("grams"),
            sd_grams: f("sd"),
        },
        "gauge" => Evidence::Gauge {
            outer_mm: f("outer_mm"),
            core_mm: f("core_mm"),
            sd_mm: f("sd"),
        },
        "ran_out" => Evidence::RanOut {
            loader: loader(),
            clicks: f("clicks"),
        },
        "empty" => Evidence::Empty,
        "measured" => Evidence::Measured {
            loader: loader(),
            clicks: f("clicks"),
            length_mm: f("length_mm"),
            sd_mm: f("sd"),
        },
        other => panic!("unknown evidence {other}"),
    }
}
