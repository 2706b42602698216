//! Which crate may know which, and which part of a crate may touch the outside.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::{code, none, read, root, rust};

/// Each of our crates and those of ours it may use.
const EDGES: [(&str, &[&str]); 6] = [
    ("spoolwright-core", &[]),
    ("spoolwright-store", &["spoolwright-core"]),
    ("spoolwright-print", &["spoolwright-core"]),
    (
        "spoolwright",
        &["spoolwright-core", "spoolwright-store", "spoolwright-print"],
    ),
    ("xtask", &[]),
    ("spoolwright-browser-tests", &[]),
];

/// What the sums must never need.
const NOT_IN_CORE: [&str; 9] = [
    "anyhow",
    "axum",
    "chrono",
    "jiff",
    "rand",
    "rusqlite",
    "serde",
    "serde_json",
    "tokio",
];

/// What only one crate may use.
const ONLY_IN: [(&str, &str); 6] = [
    ("rusqlite", "spoolwright-store"),
    ("rusqlite_migration", "spoolwright-store"),
    ("krilla", "spoolwright-print"),
    ("axum", "spoolwright"),
    ("maud", "spoolwright"),
    ("clap", "spoolwright"),
];

fn packages() -> Vec<Value> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let flags = [
        "metadata",
        "--format-version",
        "1",
        "--no-deps",
        "--offline",
    ];
    let output = Command::new(cargo).args(flags).current_dir(root()).output();
    let output = output.expect("cargo prints metadata");
    let mut metadata: Value = serde_json::from_slice(&output.stdout).expect("metadata is JSON");
    match metadata["packages"].take() {
        Value::Array(packages) => packages,
        other => panic!("no packages in cargo's metadata: {other}"),
    }
}

/// Names of what a package needs, those for its own tests left out on demand.
fn needs(package: &Value, with_tests: bool) -> Vec<String> {
    let all = package["dependencies"].as_array().expect("a list");
    all.iter()
        .filter(|needed| with_tests || needed["kind"] != "dev")
        .map(|needed| needed["name"].as_str().expect("a name").to_owned())
        .collect()
}

#[test]
fn dependencies_go_one_way() {
    let packages = packages();
    let mut faults = Vec::new();
    for package in &packages {
        let name = package["name"].as_str().expect("a name");
        let Some((_, allowed)) = EDGES.iter().find(|(known, _)| *known == name) else {
            faults.push(format!(
                "{name}: a crate that the table of edges does not know"
            ));
            continue;
        };
        for needed in needs(package, true) {
            let ours = EDGES.iter().any(|(known, _)| *known == needed);
            if ours && !allowed.contains(&needed.as_str()) {
                faults.push(format!("{name} must not use {needed}"));
            }
        }
    }
    assert_eq!(packages.len(), EDGES.len(), "a crate is missing");
    none(
        &faults,
        "core ← store, print; all ← app; store and print never meet",
    );
}

#[test]
fn heavy_dependencies_stay_where_they_belong() {
    let mut faults = Vec::new();
    for package in packages() {
        let name = package["name"].as_str().expect("a name");
        for needed in needs(&package, false) {
            if name == "spoolwright-core" && NOT_IN_CORE.contains(&needed.as_str()) {
                faults.push(format!("{name} must not use {needed}"));
            }
            if let Some((_, home)) = ONLY_IN.iter().find(|(what, _)| *what == needed)
                && *home != name
            {
                faults.push(format!("{needed} belongs to {home}, not to {name}"));
            }
        }
    }
    none(&faults, "each of these has one home");
}

/// Whether the code speaks of a crate, as `name::` or `name!`.
fn speaks_of(text: &str, name: &str) -> bool {
    let name = name.replace('-', "_");
    let spoken = [
        format!("{name}::"),
        format!("{name}!"),
        format!("use {name};"),
    ];
    let mut lines = text.lines().map(code);
    lines.any(|line| spoken.iter().any(|word| names(line, word)))
}

#[test]
fn every_dependency_is_used_and_has_its_reason() {
    let reasons = read("docs/decisions.md");
    let (_, reasons) = reasons.split_once("## Dependencies").expect("the table");
    let first = reasons.lines().filter_map(|row| row.split('|').nth(1));
    let listed: Vec<&str> = first
        .flat_map(|cell| cell.trim().trim_start_matches("tests: ").split(", "))
        .filter(|name| !["", "crate", "---"].contains(name))
        .collect();
    let rust = rust();
    let mut faults = Vec::new();
    let mut wanted = Vec::new();
    for package in packages() {
        let name = package["name"].as_str().expect("a name");
        let manifest = package["manifest_path"].as_str().expect("a path");
        let home = Path::new(manifest).parent().expect("a folder");
        for needed in needs(&package, true) {
            let own = rust
                .iter()
                .filter(|(path, _)| root().join(path).starts_with(home));
            if !own.into_iter().any(|(_, text)| speaks_of(text, &needed)) {
                faults.push(format!("{name} does not use {needed}"));
            }
            if !needed.starts_with("spoolwright") && !listed.contains(&needed.as_str()) {
                faults.push(format!("{needed} has no row in docs/decisions.md"));
            }
            wanted.push(needed);
        }
    }
    for name in listed
        .iter()
        .filter(|name| !wanted.iter().any(|w| w == *name))
    {
        faults.push(format!("docs/decisions.md: nothing needs {name}"));
    }
    none(&faults, "each dependency earns its place");
}

/// Text that must not stand in code below a folder, and why.
const NOT_THERE: [(&str, &[&str], &str); 7] = [
    (
        "crates/core/src/",
        &[
            "std::fs",
            "std::net",
            "std::env",
            "std::io",
            "std::process",
            "thread::sleep",
            "SystemTime",
            "Instant",
            "println!",
            "eprintln!",
        ],
        "core does sums: no files, network, clock, environment or printing",
    ),
    (
        "crates/print/src/",
        &[
            "std::fs",
            "std::net",
            "std::env",
            "SystemTime",
            "Instant",
            "println!",
        ],
        "print makes bytes from a view: the same bytes for the same view",
    ),
    (
        "crates/store/src/",
        &[
            "cutplan::",
            "dx::",
            "remaining::",
            "spool::",
            "ticket::",
            "exp(",
            "ln(",
            "powf(",
            "powi(",
            "sqrt(",
            "tokio",
            "SystemTime",
        ],
        "store keeps records: no formulas, and it is told the time",
    ),
    (
        "crates/app/src/cli/",
        &[
            "crate::web",
            "web::",
            "rusqlite",
            "SELECT ",
            "INSERT INTO",
            "krilla",
        ],
        "the command line calls the service; it knows no page, SQL or PDF library",
    ),
    (
        "crates/app/src/web/",
        &[
            "crate::cli",
            "cli::",
            "rusqlite",
            "SELECT ",
            "INSERT INTO",
            "krilla",
        ],
        "the page calls the service; it knows no command line, SQL or PDF library",
    ),
    (
        "crates/app/src/",
        &[
            "rusqlite",
            "SELECT ",
            "INSERT INTO",
            "UPDATE ",
            "DELETE FROM",
        ],
        "SQL lives in store",
    ),
    (
        "crates/app/src/service/",
        &["crate::cli", "crate::web", "axum", "maud"],
        "the service knows neither the page nor the command line",
    ),
];

#[test]
fn each_part_keeps_to_its_own() {
    let mut faults = Vec::new();
    for (path, text) in rust() {
        for (folder, words, why) in NOT_THERE {
            if !path.starts_with(folder) {
                continue;
            }
            for (number, line) in text.lines().enumerate() {
                for word in words.iter().filter(|word| names(code(line), word)) {
                    let at = path.display();
                    faults.push(format!("{at}:{}: `{word}` ({why})", number + 1));
                }
            }
        }
    }
    none(&faults, "a part of the program reaches where it must not");
}

/// Whether a line has the word, not as the end of a longer one.
fn names(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        !before.is_some_and(|c| c.is_alphanumeric() || c == '_')
    })
}

#[test]
fn a_word_inside_another_is_not_that_word() {
    assert!(names("use crate::web::page;", "web::"));
    assert!(!names("cobweb::spin()", "web::"));
    assert!(!names("eprintln!()", "println!"));
}
