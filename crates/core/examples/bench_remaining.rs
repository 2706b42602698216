//! Times what is left in the cans of a shelf, up to a working life's: 400 cans, 20,000 windings.
//!
//! Prints one JSON object a line, the fastest of several runs each, with one can's answer so that it can be compared
//! with `tests/reference/remaining/bench.py`, which makes the same shelf and solves it with scipy.
#![allow(clippy::print_stdout)]

use serde_json::json;
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::remaining::{CanInput, Evidence, Shelf, defaults, estimate};
use std::time::Instant;

const WINDINGS: usize = 50;
const LOADERS: usize = 5;

fn main() {
    for cans in [40, 100, 400] {
        let shelf = shelf(cans);
        let mut best = f64::INFINITY;
        let mut left = Estimate::new(0.0, 0.0);
        for _ in 0..9 {
            let start = Instant::now();
            let posterior = estimate(&shelf).expect("the shelf is sound");
            best = best.min(start.elapsed().as_secs_f64());
            left = posterior.uncut_m(cans - 1);
        }
        let bench = format!("what is left: {cans} cans, {} windings", cans * WINDINGS);
        let (mean, sd) = (format!("{:.6}", left.mean), format!("{:.6}", left.sd));
        println!(
            "{}",
            json!({"bench": bench, "seconds": best, "last_can_m": mean, "sd_m": sd})
        );
    }
}

/// Fifty short rolls per can, six weighings, one kind and stock per ten cans; every other can has run out.
fn shelf(cans: usize) -> Shelf {
    let groups = cans.div_ceil(10);
    let mut state = 1u64;
    let mut draw = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / (1u64 << 24) as f64 - 0.5
    };
    let mut shelf = Shelf {
        loaders: vec![defaults::loader(); LOADERS],
        stocks: vec![defaults::stock(); groups],
        packages: vec![defaults::package(); groups],
        cans: Vec::new(),
    };
    for i in 0..cans {
        let mut left = 30.48 + 0.4 * draw();
        let (tare, g_per_m) = (
            160.0 + (i / 10 % 7) as f64 + 3.0 * draw(),
            7.3 + (i / 10 % 5) as f64 * 0.1,
        );
        let mut evidence = Vec::new();
        for n in 0..WINDINGS {
            if n % 9 == 0 {
                let grams = (tare + g_per_m * left + 3.0 * draw()).round();
                evidence.push(Evidence::Weigh {
                    grams,
                    sd_grams: 1.0,
                });
            }
            let (loader, clicks) = (n % LOADERS, (12.0 + 4.0 * draw()).round());
            left -= clicks * 0.038 + 0.095;
            evidence.push(Evidence::Wind { loader, clicks });
        }
        if i % 2 == 0 {
            let clicks = ((left - 0.095) / 0.038).floor();
            evidence.push(Evidence::RanOut {
                loader: i / 2 % LOADERS,
                clicks,
            });
            evidence.push(Evidence::WeighEmpty {
                grams: tare.round(),
                sd_grams: 1.0,
            });
        }
        shelf.cans.push(CanInput {
            stock: i / 10,
            package: Some(i / 10),
            own_tare_g: None,
            pitch: Pitch::Long,
            length_m: Estimate::new(30.48, 0.1524),
            evidence,
        });
    }
    shelf
}
