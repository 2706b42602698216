//! Times a family of five strips of 21 steps with 1,000 rounds, and another target from the same rounds.
//!
//! Prints one JSON object a line, the fastest of several runs each, with its answer so that it can be compared with
//! `tests/reference/wedge/bench_wedge.py`, which refits as many curves with numpy and scipy.
#![allow(clippy::print_stdout)]

use serde_json::json;
use spoolwright_core::wedge::{Effort, Exposure, Material, Measure, Strip, Target, Test, analyse};
use std::time::Instant;

fn main() {
    let test = family();
    let (mut best, mut again) = (f64::INFINITY, f64::INFINITY);
    let mut time = 0.0;
    for _ in 0..9 {
        let start = Instant::now();
        let analysis = analyse(&test, Effort { rounds: 1000 }).expect("the test is sound");
        best = best.min(start.elapsed().as_secs_f64());
        time = analysis
            .at_target
            .as_ref()
            .map_or(f64::NAN, |t| t.time_min.value);
        let start = Instant::now();
        let other = analysis.at(Target {
            measure: Measure::ContrastIndex,
            value: 0.58,
        });
        assert!(other.is_ok());
        again = again.min(start.elapsed().as_secs_f64());
    }
    let minutes = format!("{time:.2}");
    println!(
        "{}",
        json!({"bench": "wedge: 5 strips, 1,000 rounds", "seconds": best, "minutes_at_target": minutes})
    );
    println!(
        "{}",
        json!({"bench": "wedge: another target", "seconds": again})
    );
}

/// Toe, line and a little noise that repeats every 64 readings, the same as in the reference.
fn family() -> Test {
    let wedge: Vec<f64> = (0..21).map(|k| 0.05 + 0.15 * f64::from(k)).collect();
    let mut count = 0u32;
    let mut noise = move || {
        count += 1;
        0.02 * (f64::from(count * 37 % 64) / 63.0 - 0.5)
    };
    let strips = [5.0, 6.5, 8.0, 10.0, 13.0]
        .map(|t: f64| {
            let g = 1.10 * (1.0 - (-0.121_676_41 * t).exp());
            let density = wedge
                .iter()
                .map(|d| {
                    let z: f64 = 5.0 * (0.10 - d + 2.208_506_12);
                    Some(0.20 + g / 5.0 * z.exp().ln_1p() + noise())
                })
                .collect();
            Strip {
                time_min: t,
                density,
                density_sd: None,
                base_fog: None,
            }
        })
        .to_vec();
    Test {
        exposure: Exposure::Absolute {
            log_h_at_zero_density: 0.10,
            wedge_density: wedge,
        },
        strips,
        base_fog: None,
        material: Material::Negative,
        target: Some(Target {
            measure: Measure::IsoTriangle,
            value: 0.80 / 1.30,
        }),
    }
}
