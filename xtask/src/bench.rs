//! Benchmarks as ratios: ours and the references' on the same instances, in the same run.
//!
//! A runner, Rust or Python, prints one JSON object a line: `{"bench": "40 × 60", "seconds": 1.2}`
//! and anything else worth knowing (`gap`, `objective`, `tool`). Rust runners are the examples whose
//! names begin with `bench_`; Python runners are `tests/reference/*/bench*.py`.

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::run::{cargo, command, output};
use crate::{bench_app, reference};

/// One line of a runner.
struct Measured {
    tool: String,
    bench: String,
    seconds: f64,
    rest: String,
}

/// Runs all, or only the runners with `only` in their names, and prints the tables.
pub(crate) fn all(only: Option<&str>) -> Result<()> {
    let wanted = |name: &str| only.is_none_or(|only| name.contains(only));
    let mut ours = Vec::new();
    for (package, example) in examples()? {
        if wanted(&example) {
            let flags = [
                "run",
                "--release",
                "--package",
                &package,
                "--example",
                &example,
            ];
            ours.extend(measured(&output(&mut cargo(&flags))?, "ours")?);
        }
    }
    let mut theirs = Vec::new();
    for folder in reference::folders()? {
        for script in reference::scripts(&folder, |name| name.starts_with("bench"))? {
            if wanted(&reference::name_of(&folder)) {
                let python = reference::environment(&folder)?;
                let text = output(command(&python, &[]).arg(&script).current_dir(&folder))?;
                theirs.extend(measured(&text, "reference")?);
            }
        }
    }
    print_ratios(&ours, &theirs);
    if wanted("app") {
        bench_app::figures()?;
    }
    Ok(())
}

/// Package and name of every example that is a benchmark.
fn examples() -> Result<Vec<(String, String)>> {
    let flags = ["metadata", "--format-version", "1", "--no-deps"];
    let metadata: Value = serde_json::from_str(&output(&mut cargo(&flags))?)?;
    let mut found = Vec::new();
    for package in metadata["packages"].as_array().into_iter().flatten() {
        for target in package["targets"].as_array().into_iter().flatten() {
            let name = target["name"].as_str().unwrap_or_default();
            if target["kind"][0] == "example" && name.starts_with("bench_") {
                let package = package["name"].as_str().unwrap_or_default();
                found.push((package.to_owned(), name.to_owned()));
            }
        }
    }
    Ok(found)
}

fn measured(text: &str, tool: &str) -> Result<Vec<Measured>> {
    let mut lines = Vec::new();
    for line in text.lines().filter(|line| line.starts_with('{')) {
        let value: Value = serde_json::from_str(line).with_context(|| line.to_owned())?;
        let (Some(bench), Some(seconds)) = (value["bench"].as_str(), value["seconds"].as_f64())
        else {
            bail!("a benchmark line needs `bench` and `seconds`: {line}");
        };
        let rest = value.as_object().into_iter().flatten();
        let rest: Vec<String> = rest
            .filter(|(key, _)| !["bench", "seconds", "tool"].contains(&key.as_str()))
            .map(|(key, value)| format!("{key} {value}"))
            .collect();
        lines.push(Measured {
            tool: value["tool"].as_str().unwrap_or(tool).to_owned(),
            bench: bench.to_owned(),
            seconds,
            rest: rest.join(", "),
        });
    }
    Ok(lines)
}

fn print_ratios(ours: &[Measured], theirs: &[Measured]) {
    println!("\nTimes in seconds; ratio = reference / ours, so above 1 ours is the faster one.\n");
    println!("| benchmark | tool | seconds | ratio | notes |");
    println!("|---|---|---:|---:|---|");
    for own in ours {
        let row = |m: &Measured, ratio: &str| {
            let Measured {
                tool,
                bench,
                seconds,
                rest,
            } = m;
            println!("| {bench} | {tool} | {seconds:.4} | {ratio} | {rest} |");
        };
        row(own, "1");
        for other in theirs.iter().filter(|other| other.bench == own.bench) {
            row(other, &format!("{:.2}", other.seconds / own.seconds));
        }
    }
}
