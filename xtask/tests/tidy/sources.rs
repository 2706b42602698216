//! Source keys: every `[G5]` in the code and the docs is a row of `docs/sources.md`, once.

use std::collections::BTreeSet;

use crate::{files, none, read};

/// How sure a row is: found, found once, from memory, derived, weak.
const GRADES: &str = "ABCDW";

/// Whether a token has the shape of a key: one or two capitals, a number, perhaps a letter.
fn is_key(token: &str) -> bool {
    let capitals = token.chars().take_while(char::is_ascii_uppercase).count();
    let rest = &token[capitals..];
    let digits = rest.chars().take_while(char::is_ascii_digit).count();
    let tail = &rest[digits..];
    (1..=2).contains(&capitals)
        && (1..=2).contains(&digits)
        && tail.len() <= 1
        && tail.chars().all(|c| c.is_ascii_lowercase())
}

/// The keys in one line: `[G5]`, `[G2, G3]`; not links, not indexing.
fn keys(line: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut before = "";
    for part in line.split('[') {
        let indexes = before.ends_with(|c: char| c.is_alphanumeric() || "_)]&=".contains(c));
        before = part;
        let Some((inside, after)) = part.split_once(']') else {
            continue;
        };
        if indexes {
            continue;
        }
        let tokens: Vec<&str> = inside.split([',', ' ']).filter(|t| !t.is_empty()).collect();
        if !after.starts_with('(') && !tokens.is_empty() && tokens.iter().all(|t| is_key(t)) {
            found.extend(tokens);
        }
    }
    found
}

/// The rows of the table: key and grade.
fn rows() -> Vec<(String, String)> {
    let text = read("docs/sources.md");
    let lines = text.lines().filter(|line| line.starts_with("| "));
    let cells = lines.map(|line| line.trim_matches('|').split('|').map(str::trim));
    cells
        .filter_map(|cells| {
            let cells: Vec<&str> = cells.collect();
            let key = *cells.first()?;
            is_key(key).then(|| {
                let full = cells.len() == 4 && cells.iter().all(|cell| !cell.is_empty());
                assert!(full, "docs/sources.md: row {key} needs four cells");
                (key.to_owned(), cells[3].to_owned())
            })
        })
        .collect()
}

#[test]
fn rows_are_unique_and_graded() {
    let mut seen = BTreeSet::new();
    let mut faults = Vec::new();
    for (key, grade) in rows() {
        let letters: Vec<&str> = grade.split([' ', '/']).filter(|g| !g.is_empty()).collect();
        if letters.is_empty() || letters.iter().any(|g| g.len() != 1 || !GRADES.contains(g)) {
            faults.push(format!(
                "{key}: the grade `{grade}` is none of A, B, C, D, W"
            ));
        }
        if !seen.insert(key.clone()) {
            faults.push(format!("{key}: stands twice"));
        }
    }
    assert!(seen.len() > 20, "docs/sources.md has lost its table");
    none(&faults, "docs/sources.md");
}

#[test]
fn every_key_resolves() {
    let known: BTreeSet<String> = rows().into_iter().map(|(key, _)| key).collect();
    let mut faults = Vec::new();
    for path in files() {
        let name = path.to_string_lossy();
        if !path
            .extension()
            .is_some_and(|ending| ["rs", "py", "md"].iter().any(|e| ending == *e))
        {
            continue;
        }
        for (number, line) in read(&path).lines().enumerate() {
            for key in keys(line).into_iter().filter(|key| !known.contains(*key)) {
                faults.push(format!("{name}:{}: [{key}]", number + 1));
            }
        }
    }
    none(&faults, "these keys are not in docs/sources.md");
}

/// Modules of core that hand numbers on and work none out.
const NO_SUMS: [&str; 2] = ["bounds.rs", "quantity.rs"];

#[test]
fn sums_name_their_sources() {
    let mut faults = Vec::new();
    for path in files()
        .iter()
        .filter(|path| path.starts_with("crates/core/src"))
    {
        if NO_SUMS.iter().any(|name| path.ends_with(name)) {
            continue;
        }
        let text = read(path);
        let result = [
            "-> f64",
            "-> Length",
            "-> Estimate",
            "-> Result<f64",
            "-> Result<Length",
        ];
        let sums = text.lines().any(|line| {
            line.trim_start().starts_with("pub fn") && result.iter().any(|r| line.contains(r))
        });
        let cites = text.lines().any(|line| !keys(line).is_empty());
        let derives = ["own derivation", "# Source"];
        if sums && !cites && !derives.iter().any(|word| text.contains(word)) {
            faults.push(path.display().to_string());
        }
    }
    let rule = "a module with sums cites a key, or says `# Source` and `own derivation`";
    none(&faults, rule);
}

#[test]
fn keys_are_told_from_other_brackets() {
    assert_eq!(keys("8 × pitch [G5], or [G2, G3]."), ["G5", "G2", "G3"]);
    assert_eq!(keys(concat!("see [D", "7b]")), ["D7b"]);
    assert!(keys("[`Z95`] [Length] v[0] [S1](url) [ISO 6] [G] cans[A1]").is_empty());
}
