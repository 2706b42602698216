//! Solves cut plan problems and prints one JSON line for each: what was reached, what is proven, how long it took.
//!
//! `cargo run --release -p spoolwright-core --example cutplan_bench -- [--effort quick|usual|thorough] FILE...`

#![allow(clippy::print_stdout)]

use std::time::Instant;

use spoolwright_core::cutplan::{Effort, solve};

#[path = "../tests/common/read.rs"]
mod read;

fn main() {
    let mut effort = Effort::USUAL;
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        if argument == "--effort" {
            effort = match arguments.next().as_deref() {
                Some("quick") => Effort::QUICK,
                Some("thorough") => Effort::THOROUGH,
                _ => Effort::USUAL,
            };
            continue;
        }
        let text = std::fs::read_to_string(&argument).expect("a file that can be read");
        let problem = read::problem(&text);
        let start = Instant::now();
        let plan = solve(&problem, effort).expect("a valid problem");
        let seconds = start.elapsed().as_secs_f64();
        let weighted: f64 = plan
            .unmet
            .iter()
            .filter_map(|u| {
                problem
                    .wants
                    .iter()
                    .find(|w| w.id == u.want)
                    .map(|w| (u.frames, w.priority))
            })
            .map(|(frames, priority)| f64::from(frames) * 10f64.powi(3 - priority as i32))
            .sum();
        let rounded = |x: f64| (x * 1e6).round() / 1e6 + 0.0;
        println!(
            "{}",
            serde_json::json!({
                "file": argument,
                "seconds": seconds,
                "proven": plan.proven_optimal,
                "gap": plan.gap,
                "unmet": rounded(weighted),
                "cost": rounded(plan.cost.total),
            })
        );
    }
}
