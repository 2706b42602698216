//! What the tree may hold: sizes, headers, words.

use crate::{files, none, read, root, rust};

/// Files with more lines than this, tests left out, are looked at hard.
const LONG: usize = 600;

/// Files that may be longer, and why; one that is short again is taken off the list.
const MAY_BE_LONG: [(&str, &str); 0] = [];

/// Nothing larger than this belongs in a commit.
const MEGABYTE: u64 = 1_000_000;

#[test]
fn every_rust_file_says_what_it_is_for() {
    let faults: Vec<String> = rust()
        .into_iter()
        .filter(|(_, text)| !text.starts_with("//!"))
        .map(|(path, _)| path.display().to_string())
        .collect();
    none(
        &faults,
        "a Rust file begins with `//!`: what it is for, what it does not do",
    );
}

#[test]
fn files_stay_short() {
    let mut faults = Vec::new();
    for (path, text) in rust() {
        if path.iter().any(|part| part == "tests") {
            continue;
        }
        let lines = text.lines();
        let lines = lines.take_while(|line| *line != "#[cfg(test)]").count();
        let excused = MAY_BE_LONG.iter().any(|(may, _)| path.ends_with(may));
        if lines > LONG && !excused {
            faults.push(format!("{}: {lines} lines", path.display()));
        } else if lines <= LONG && excused {
            faults.push(format!("{}: needs no excuse any more", path.display()));
        }
    }
    none(
        &faults,
        "longer than 600 lines: split it, or give the reason in MAY_BE_LONG",
    );
}

#[test]
fn nothing_large_is_committed() {
    let mut faults = Vec::new();
    for path in files() {
        let size = std::fs::metadata(root().join(&path)).map_or(0, |data| data.len());
        if size > MEGABYTE {
            faults.push(format!("{}: {size} bytes", path.display()));
        }
    }
    none(&faults, "larger than 1 MB");
}

/// Words of unfinished work, of one machine, of a package registry. Spelt apart, so that this
/// file does not hold them.
fn unwanted() -> Vec<(String, &'static str)> {
    let unfinished = [
        ["TO", "DO"],
        ["FIX", "ME"],
        ["todo", "!("],
        ["unimplemented", "!("],
    ];
    let machine = [
        ["/wo", "rk/"],
        ["/ro", "ot/"],
        ["/ho", "me/"],
        ["/tmp/", "b"],
    ];
    let registry = [
        ["index.", "crates.io"],
        ["static.", "crates.io"],
        ["registry.", "npmjs"],
        ["pypi.", "org"],
        ["python", "hosted"],
        ["deb.", "debian"],
    ];
    let mut words = Vec::new();
    for (list, why) in [
        (&unfinished[..], "unfinished work"),
        (&machine[..], "one machine's path"),
        (&registry[..], "a registry's host"),
    ] {
        words.extend(list.iter().map(|parts| (parts.concat(), why)));
    }
    words
}

#[test]
fn no_unwanted_words() {
    let unwanted = unwanted();
    let mut faults = Vec::new();
    for path in files() {
        let Ok(text) = String::from_utf8(std::fs::read(root().join(&path)).unwrap_or_default())
        else {
            continue;
        };
        for (number, line) in text.lines().enumerate() {
            for (word, why) in &unwanted {
                if stands_alone(line, word) {
                    let at = path.display();
                    faults.push(format!("{at}:{}: `{word}` is {why}", number + 1));
                }
            }
        }
    }
    none(&faults, "the tree speaks of what it should not");
}

/// Whether the word is in the line and does not merely end a longer word or path.
fn stands_alone(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        !before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == '.' || c == '-' || c == '}')
    })
}

#[test]
fn ci_calls_the_one_entry() {
    assert!(read(".ci/run").contains("cargo xtask test"));
}

#[test]
fn python_references_pin_their_versions() {
    let mut faults = Vec::new();
    for path in files()
        .iter()
        .filter(|path| path.ends_with("requirements.txt"))
    {
        for line in read(path).lines().map(str::trim) {
            let empty = line.is_empty() || line.starts_with('#');
            if !empty && !line.contains("==") {
                faults.push(format!("{}: `{line}` has no exact version", path.display()));
            }
        }
    }
    none(
        &faults,
        "a reference that is not pinned cannot be made again",
    );
}
