//! Reads a cut plan problem in the format of `calc cutplan`, for tests and the benchmark.

use serde_json::Value;
use spoolwright_core::cutplan::{CanSupply, PageCost, Problem, WantDemand};
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::Estimate;

fn number(v: &Value) -> f64 {
    v.as_f64().expect("a number")
}

fn whole(v: &Value) -> u32 {
    u32::try_from(v.as_u64().expect("a whole number")).expect("a small number")
}

fn word(v: &Value) -> String {
    v.as_str().expect("a word").to_owned()
}

fn list(v: &Value) -> &[Value] {
    v.as_array().expect("a list")
}

/// The problem in this text.
pub(crate) fn problem(text: &str) -> Problem {
    let v: Value = serde_json::from_str(text).expect("JSON");
    Problem {
        cans: list(&v["cans"])
            .iter()
            .map(|c| CanSupply {
                id: word(&c["id"]),
                stock: word(&c["stock"]),
                remaining_m: Estimate::new(
                    number(&c["remaining_m"]["mean"]),
                    number(&c["remaining_m"]["sd"]),
                ),
                price_per_m: number(&c["price_per_m"]),
            })
            .collect(),
        wants: list(&v["wants"])
            .iter()
            .map(|w| WantDemand {
                id: word(&w["id"]),
                stocks: list(&w["stocks"]).iter().map(word).collect(),
                frames: whole(&w["frames"]),
                priority: whole(&w["priority"]),
            })
            .collect(),
        menu_frames: list(&v["menu_frames"]).iter().map(whole).collect(),
        max_roll_frames: whole(&v["max_roll_frames"]),
        leader_clicks: whole(&v["leader_clicks"]),
        tail_clicks: whole(&v["tail_clicks"]),
        pitch: if v["pitch"] == "short" {
            Pitch::Short
        } else {
            Pitch::Long
        },
        uncounted_mm: number(&v["uncounted_mm"]),
        cassettes: whole(&v["cassettes"]),
        page: PageCost {
            rows: whole(&v["page"]["rows"]),
            frames_per_row: whole(&v["page"]["frames_per_row"]),
            price: number(&v["page"]["price"]),
        },
        chemistry_price_per_full_roll: number(&v["chemistry_price_per_full_roll"]),
        short_end_price_per_m: number(&v["short_end_price_per_m"]),
        confidence: number(&v["confidence"]),
    }
}
