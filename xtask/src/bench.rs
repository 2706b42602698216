//! Benchmarks as ratios: ours and the references' on the same instances, in the same run.
//!
//! Ours are the examples named `TOPIC_bench` or `bench_TOPIC`, the references the scripts `tests/reference/TOPIC/bench*.py`.
//! Both are given the files of `tests/reference/TOPIC/instances`, if there are any, and print one JSON
//! object a line: `{"bench": "40 × 60", "seconds": 1.2}` (or `file` for `bench`), the reference its `tool`
//! too, and anything else worth knowing.

use std::path::Path;

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::run::{cargo, command, output, run, target};
use crate::{check, reference};

/// Rolls in the full store that the program is measured over.
const ROLLS: &str = "20000";

/// One line of a runner.
struct Measured {
    tool: String,
    bench: String,
    seconds: f64,
    rest: String,
}

/// Runs all, or only the topics with `only` in their names, and prints the tables.
pub(crate) fn all(only: Option<&str>) -> Result<()> {
    let wanted = |topic: &str| only.is_none_or(|only| topic.contains(only));
    let mut ours = Vec::new();
    for (package, example, topic) in examples()? {
        if wanted(&topic) {
            let flags = [
                "run",
                "--release",
                "--package",
                &package,
                "--example",
                &example,
                "--",
            ];
            let mut runner = cargo(&flags);
            let text = output(runner.args(reference::instances(&topic)?))?;
            ours.extend(measured(&text, "ours")?);
        }
    }
    let mut theirs = Vec::new();
    for folder in reference::folders()? {
        let topic = reference::name_of(&folder);
        for script in reference::scripts(&folder, |name| name.starts_with("bench"))? {
            if wanted(&topic) {
                let python = reference::environment(&folder)?;
                let mut runner = command(&python, &[]);
                runner.arg(&script).args(reference::instances(&topic)?);
                let text = output(runner.current_dir(&folder))?;
                theirs.extend(measured(&text, "reference")?);
            }
        }
    }
    if !ours.is_empty() {
        print_ratios(&ours, &theirs);
    }
    if wanted("app") {
        the_program()?;
    }
    Ok(())
}

/// Size, start, pages and memory of a release build over a store with many rolls.
fn the_program() -> Result<()> {
    let build = [
        "build",
        "--release",
        "--package",
        "spoolwright",
        "--bins",
        "--example",
        "many_rolls",
    ];
    run(&mut cargo(&build))?;
    let built = target().join("release");
    let store = target().join("bench").join("full.sqlite");
    if !store.exists() {
        std::fs::create_dir_all(target().join("bench"))?;
        let new = store.with_extension("new");
        for ending in ["new", "new-wal", "new-shm"] {
            std::fs::remove_file(store.with_extension(ending)).ok();
        }
        run(command(built.join("examples/many_rolls"), &[])
            .arg(&new)
            .arg(ROLLS))?;
        std::fs::rename(&new, &store)?;
    }
    println!("\nThe full store holds {ROLLS} rolls.");
    let flags = [
        "run",
        "--package",
        "spoolwright-browser-tests",
        "--bin",
        "program-figures",
        "--",
    ];
    let mut figures = cargo(&flags);
    figures.env(check::BINARY, built.join("spoolwright"));
    run(figures.arg(&store))
}

/// Package, name and topic of every example that is a benchmark.
fn examples() -> Result<Vec<(String, String, String)>> {
    let flags = ["metadata", "--format-version", "1", "--no-deps"];
    let metadata: Value = serde_json::from_str(&output(&mut cargo(&flags))?)?;
    let mut found = Vec::new();
    for package in metadata["packages"].as_array().into_iter().flatten() {
        for target in package["targets"].as_array().into_iter().flatten() {
            let name = target["name"].as_str().unwrap_or_default();
            let topic = name.strip_suffix("_bench").or(name.strip_prefix("bench_"));
            if let Some(topic) = topic
                && target["kind"][0] == "example"
            {
                let package = package["name"].as_str().unwrap_or_default();
                found.push((package.to_owned(), name.to_owned(), topic.to_owned()));
            }
        }
    }
    Ok(found)
}

fn measured(text: &str, tool: &str) -> Result<Vec<Measured>> {
    let mut lines = Vec::new();
    for line in text.lines().filter(|line| line.starts_with('{')) {
        let value: Value = serde_json::from_str(line).with_context(|| line.to_owned())?;
        let stem = |file: &str| {
            Path::new(file)
                .file_stem()
                .map(|s| s.to_string_lossy().into_owned())
        };
        let bench = value["bench"].as_str().map(str::to_owned);
        let bench = bench.or_else(|| value["file"].as_str().and_then(stem));
        let (Some(bench), Some(seconds)) = (bench, value["seconds"].as_f64()) else {
            bail!("a benchmark line needs `bench` or `file`, and `seconds`: {line}");
        };
        let rest = value.as_object().into_iter().flatten();
        let rest: Vec<String> = rest
            .filter(|(key, _)| !["bench", "file", "seconds", "tool"].contains(&key.as_str()))
            .map(|(key, value)| format!("{key} {value}"))
            .collect();
        lines.push(Measured {
            tool: value["tool"].as_str().unwrap_or(tool).to_owned(),
            bench,
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
