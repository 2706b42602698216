//! Docs made from the program itself: `docs/cli.md` from its help, `docs/routes.md` from its router.
//!
//! The tests here hold that both are as a new run would write them, so neither can fall behind.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};

use crate::run::{command, output, root};

/// Writes both files.
pub(crate) fn write(binary: &Path) -> Result<()> {
    for (name, text) in [("cli.md", commands(binary)?), ("routes.md", routes()?)] {
        let path = root().join("docs").join(name);
        std::fs::write(&path, text).with_context(|| format!("could not write {name}"))?;
    }
    Ok(())
}

/// The help of every command, as one page.
fn commands(binary: &Path) -> Result<String> {
    let mut text = String::from(
        "# The command line\n\nMade by `cargo xtask docs` from the program's own help; do not edit.\n",
    );
    add_command(binary, &[], &mut text)?;
    Ok(text)
}

fn add_command(binary: &Path, words: &[String], text: &mut String) -> Result<()> {
    let mut args: Vec<&str> = words.iter().map(String::as_str).collect();
    args.push("--help");
    let help = output(command(binary, &args).env_remove("COLUMNS"))?;
    let level = "#".repeat(2 + words.len().min(2));
    let name = std::iter::once("spoolwright")
        .chain(words.iter().map(String::as_str))
        .collect::<Vec<_>>()
        .join(" ");
    let lines: Vec<&str> = help.trim_end().lines().map(str::trim_end).collect();
    text.push_str(&format!(
        "\n{level} `{name}`\n\n```text\n{}\n```\n",
        lines.join("\n")
    ));
    for verb in verbs(&help) {
        let deeper: Vec<String> = words.iter().cloned().chain([verb]).collect();
        add_command(binary, &deeper, text)?;
    }
    Ok(())
}

/// The names below `Commands:`.
fn verbs(help: &str) -> Vec<String> {
    let lines = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"));
    let list = lines.skip(1).take_while(|line| !line.trim().is_empty());
    let names = list.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    names
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect()
}

/// Every address of the page and what may be done there.
fn routes() -> Result<String> {
    let mut rows = Vec::new();
    for file in rust_files(&root().join("crates/app/src/web"))? {
        let source = std::fs::read_to_string(&file)?;
        for part in source.split(".route(").skip(1) {
            let Some((path, handlers)) = part
                .trim_start()
                .strip_prefix('"')
                .and_then(|p| p.split_once('"'))
            else {
                continue;
            };
            // The handlers end where the parentheses of `.route(` do.
            let mut depth = 1;
            let handlers: String = handlers
                .chars()
                .take_while(|c| {
                    depth += match c {
                        '(' => 1,
                        ')' => -1,
                        _ => 0,
                    };
                    depth > 0
                })
                .collect();
            let methods: Vec<&str> = ["get", "post"]
                .into_iter()
                .filter(|method| handlers.contains(&format!("{method}(")))
                .collect();
            rows.push(format!(
                "| `{path}` | {} |",
                methods.join(", ").to_uppercase()
            ));
        }
    }
    rows.sort();
    rows.dedup();
    Ok(format!(
        "# The addresses of the page\n\nMade by `cargo xtask docs` from the router; do not edit. \
         GET shows, POST changes; a POST sent by another site's page is refused.\n\n\
         | address | methods |\n|---|---|\n{}\n",
        rows.join("\n")
    ))
}

fn rust_files(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            found.extend(rust_files(&path)?);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::{commands, routes, verbs};
    use crate::check;
    use crate::run::root;

    #[test]
    fn docs_say_what_the_program_does() {
        let binary = check::binary().unwrap();
        for (name, wanted) in [
            ("cli.md", commands(&binary).unwrap()),
            ("routes.md", routes().unwrap()),
        ] {
            let have = std::fs::read_to_string(root().join("docs").join(name)).unwrap_or_default();
            let differs = wanted.lines().zip(have.lines()).find(|(a, b)| a != b);
            assert!(
                wanted == have,
                "docs/{name} has fallen behind; run `cargo xtask docs`. First difference: {differs:?}"
            );
        }
    }

    #[test]
    fn verbs_are_read_from_help() {
        let help = "Does it.\n\nCommands:\n  can   A can\n          more of it\n  help  Print\n\nOptions:\n  -h";
        assert_eq!(verbs(help), ["can"]);
    }
}
