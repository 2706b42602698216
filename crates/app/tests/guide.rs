//! README.md and the guide are true of the program: their commands run in the order in which they are
//! read, each of the two over a store of its own, and print what the page says they print.
//!
//! A block fenced as `sh` is run by the shell and must end well. A block fenced as `text` straight
//! after it holds lines of what that printed. Blocks that build or serve are fenced as `sh` and begin
//! with `cargo`, or are fenced as `console`: those are not run. Links and pictures lead somewhere.

use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The guide's pages in the order in which they are read: the index, then the chapters.
fn guide() -> Vec<PathBuf> {
    let folder = std::fs::read_dir(root().join("docs/guide")).expect("docs/guide");
    let mut pages: Vec<PathBuf> = folder
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "md"))
        .collect();
    pages.sort();
    assert!(pages.len() > 5, "{pages:?}");
    pages
}

fn read(page: &Path) -> String {
    std::fs::read_to_string(page).unwrap_or_else(|e| panic!("{}: {e}", page.display()))
}

/// The fenced blocks of a page: the language, the text, and whether only blank lines lie between the
/// block and the one before.
fn blocks(page: &str) -> Vec<(String, String, bool)> {
    let mut found: Vec<(String, String, bool)> = Vec::new();
    let mut open = false;
    let mut follows = false;
    for line in page.lines() {
        match (line.strip_prefix("```"), open) {
            (Some(_), true) => (open, follows) = (false, true),
            (Some(language), false) => {
                found.push((language.trim().to_owned(), String::new(), follows));
                open = true;
            }
            (None, true) => {
                let block = found.last_mut().expect("a block is open");
                block.1.push_str(line);
                block.1.push('\n');
            }
            (None, false) => follows &= line.trim().is_empty(),
        }
    }
    assert!(!open, "a fence is not closed");
    found
}

/// What the shell prints for a block, the program being `spoolwright` there. It must end well.
fn run(page: &Path, block: &str, folder: &Path) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_spoolwright"));
    let mut path = vec![program.parent().expect("a folder").to_path_buf()];
    path.extend(std::env::split_paths(
        &std::env::var_os("PATH").unwrap_or_default(),
    ));
    let out = Command::new("sh")
        .args(["-e", "-c", block])
        .current_dir(folder)
        .env("PATH", std::env::join_paths(path).expect("a path"))
        .env("SPOOLWRIGHT_STORE", folder.join("store.sqlite"))
        .output()
        .expect("a shell");
    assert!(
        out.status.success() && out.stderr.is_empty(),
        "{}:\n{block}\n{}",
        page.display(),
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8(out.stdout).expect("UTF-8")
}

/// Runs the pages' blocks in order over one store, and gives back how many were run and compared.
fn work_through(pages: &[PathBuf]) -> (usize, usize) {
    let folder = tempfile::tempdir().expect("a folder");
    let (mut ran, mut compared) = (0, 0);
    for page in pages {
        let mut printed = None;
        for (language, text, follows) in blocks(&read(page)) {
            match language.as_str() {
                "sh" if !text.starts_with("cargo ") => {
                    printed = Some(run(page, &text, folder.path()));
                    ran += 1;
                }
                "text" if follows && printed.is_some() => {
                    let printed = printed.take().unwrap_or_default();
                    for line in text.lines().map(str::trim) {
                        assert!(
                            printed.lines().any(|p| p.trim() == line),
                            "{}: no line\n{line}\nbut:\n{printed}",
                            page.display()
                        );
                    }
                    compared += 1;
                }
                _ => printed = None,
            }
        }
    }
    (ran, compared)
}

#[test]
fn the_readme_can_be_typed_along() {
    let (ran, _) = work_through(&[root().join("README.md")]);
    assert!(ran >= 2, "{ran}");
}

#[test]
fn the_guide_can_be_typed_along() {
    let (ran, compared) = work_through(&guide());
    assert!(ran >= 10 && compared >= 5, "{ran}, {compared}");
}

/// What a page links or shows: `](target)` and `src="target"`.
fn targets(page: &str) -> Vec<&str> {
    let links = page.split("](").skip(1).filter_map(|p| p.split(')').next());
    let shown = page
        .split("src=\"")
        .skip(1)
        .filter_map(|p| p.split('"').next());
    links.chain(shown).collect()
}

#[test]
fn every_picture_is_there_and_told_in_words() {
    let mut shown = Vec::new();
    for page in guide() {
        let text = read(&page);
        for target in targets(&text) {
            let file = target.split('#').next().unwrap_or_default();
            let path = page.parent().expect("a folder").join(file);
            assert!(path.exists(), "{}: no {target}", page.display());
            if let Some(picture) = file.strip_prefix("img/") {
                shown.push(picture.to_owned());
            }
        }
        for tag in text.split("<img ").skip(1) {
            let tag = tag.split('>').next().unwrap_or_default();
            let words = tag.split("alt=\"").nth(1).and_then(|a| a.split('"').next());
            assert!(
                words.is_some_and(|w| w.len() > 20),
                "{}: {tag}",
                page.display()
            );
        }
        assert!(!text.contains("!["), "{}: use <img>", page.display());
    }
    let taken = std::fs::read_dir(root().join("docs/guide/img")).expect("docs/guide/img");
    for picture in taken {
        let name = picture.expect("a picture").file_name();
        let name = name.to_string_lossy().into_owned();
        assert!(shown.contains(&name), "no page shows {name}");
    }
}
