//! The docs keep up: every crate and every sum is spoken of, and no link leads nowhere.
//!
//! That `docs/cli.md` and `docs/routes.md` are current is held by the tests in xtask's own `docs`.

use crate::{files, none, read};

#[test]
fn architecture_names_every_crate() {
    let text = read("docs/ARCHITECTURE.md");
    let manifest = read("Cargo.toml");
    let members = manifest
        .lines()
        .find_map(|line| line.strip_prefix("members = ["))
        .expect("the manifest lists its members");
    let missing: Vec<String> = members
        .split('"')
        .filter(|part| part.contains(char::is_alphabetic))
        .filter(|member| !text.contains(*member))
        .map(str::to_owned)
        .collect();
    none(&missing, "docs/ARCHITECTURE.md does not name");
}

/// Targets of links such as `[the guide](guide/winding.md)`, with the line they stand on.
fn links(text: &str) -> Vec<(usize, &str)> {
    let mut found = Vec::new();
    for (number, line) in text.lines().enumerate() {
        for part in line.split("](").skip(1) {
            if let Some((target, _)) = part.split_once(')') {
                found.push((number + 1, target));
            }
        }
    }
    found
}

#[test]
fn links_lead_somewhere() {
    let mut faults = Vec::new();
    let all = files();
    for path in all
        .iter()
        .filter(|path| path.extension().is_some_and(|ending| ending == "md"))
    {
        let text = read(path);
        for (number, link) in links(&text) {
            let target = link.split('#').next().unwrap_or_default();
            let outside = target.is_empty() || target.contains("://");
            let beside = path.parent().map(|folder| folder.join(target));
            let there = beside.is_some_and(|beside| crate::root().join(beside).exists());
            if !outside && !there {
                faults.push(format!("{}:{number}: {link}", path.display()));
            }
        }
    }
    none(&faults, "these links lead nowhere");
}

#[test]
fn contracts_are_documented() {
    let page = read("docs/calc.md");
    let schemas = files();
    let names = schemas
        .iter()
        .filter(|path| path.starts_with("docs/calc"))
        .filter_map(|path| {
            path.file_name()?
                .to_str()?
                .strip_suffix(".input.schema.json")
        })
        .collect::<Vec<_>>();
    assert!(
        names.len() >= 5,
        "docs/calc has lost its schemas: {names:?}"
    );
    let missing: Vec<String> = names
        .iter()
        .filter(|name| !page.contains(&format!("calc {name}")))
        .map(|name| (*name).to_owned())
        .collect();
    none(&missing, "docs/calc.md does not speak of");
}
