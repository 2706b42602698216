//! Fills the pages of the larger filings of `tests/reference/binder` and prints one JSON line for each; best of five.
//!
//! `cargo run --release -p spoolwright-core --example binder_bench`

#![allow(clippy::print_stdout)]

use std::time::Instant;

use spoolwright_core::binder::fill::{Effort, fill};

#[path = "../tests/common/binder_read.rs"]
mod read;

fn main() {
    for (name, asked) in &read::fixture("filings.json") {
        let filing = read::filing(asked);
        if filing.rolls.len() < 40 {
            continue;
        }
        let run = || {
            let start = Instant::now();
            let filled = fill(&filing, Effort::USUAL).expect("a good filing");
            (start.elapsed().as_secs_f64(), filled)
        };
        let (mut seconds, filled) = run();
        for _ in 1..5 {
            seconds = seconds.min(run().0);
        }
        let shared = if filing.share_rows {
            ", shared rows"
        } else {
            ""
        };
        println!(
            "{}",
            serde_json::json!({
                "bench": format!("filing {name}: {} rolls{shared}", filing.rolls.len()),
                "seconds": seconds,
                "proven": filled.proven,
                "new_pages": filled.new_pages,
                "shared_rows": filled.shared_rows,
            })
        );
    }
}
