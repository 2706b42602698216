//! The house rules, as tests: which crate may know which, where files and clocks may be touched,
//! which words may not lie in the tree, that every source key resolves, that the docs keep up.

use std::path::{Path, PathBuf};
use std::process::Command;

mod docs;
mod edges;
mod sources;
mod tree;

/// The repository's root.
fn root() -> &'static Path {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().expect("xtask lies in the root")
}

/// Every file that is or would be committed, as paths from the root.
fn files() -> Vec<PathBuf> {
    let flags = [
        "ls-files",
        "-z",
        "--cached",
        "--others",
        "--exclude-standard",
    ];
    let git = Command::new("git").args(flags).current_dir(root()).output();
    let output = git.expect("git lists the files");
    assert!(output.status.success(), "git could not list the files");
    let names = String::from_utf8(output.stdout).expect("file names are UTF-8");
    let mut files: Vec<PathBuf> = names
        .split_terminator('\0')
        .map(PathBuf::from)
        .filter(|path| root().join(path).is_file())
        .collect();
    files.sort();
    files.dedup();
    assert!(files.len() > 10, "the tree looks empty");
    files
}

/// Every Rust file, with its text.
fn rust() -> Vec<(PathBuf, String)> {
    let rust = files()
        .into_iter()
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"));
    rust.map(|path| {
        let text = read(&path);
        (path, text)
    })
    .collect()
}

/// The text of a file of the tree.
fn read(path: impl AsRef<Path>) -> String {
    let path = root().join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The code of a line: what stands before a comment.
fn code(line: &str) -> &str {
    let trimmed = line.trim_start();
    if trimmed.starts_with("//") {
        return "";
    }
    line.split(" // ").next().unwrap_or(line)
}

/// Fails with all faults at once, one a line.
#[track_caller]
fn none(faults: &[String], rule: &str) {
    assert!(faults.is_empty(), "{rule}\n  {}", faults.join("\n  "));
}
