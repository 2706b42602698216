//! Python references: each folder of `tests/reference` that has a `requirements.txt` owns a
//! virtual environment of its own and the scripts that make its fixtures.
//!
//! A script writes its fixtures beside itself. Those named `bench*.py` are left to `cargo xtask bench`;
//! those named `_*.py` are only imported by others.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::run::{command, root, run};
use crate::tools;

/// Runs every generator, or only those of one folder.
pub(crate) fn regenerate(only: Option<&str>) -> Result<()> {
    let mut ran = 0;
    for folder in folders()? {
        let name = name_of(&folder);
        if only.is_some_and(|only| only != name) {
            continue;
        }
        let python = environment(&folder)?;
        for script in scripts(&folder, |name| {
            !name.starts_with('_') && !name.starts_with("bench")
        })? {
            run(command(&python, &[]).arg(&script).current_dir(&folder))?;
            ran += 1;
        }
    }
    if ran == 0 {
        bail!("no tests/reference folder with a requirements.txt and a script matched");
    }
    Ok(())
}

/// The folders of Python references, in order of name.
pub(crate) fn folders() -> Result<Vec<PathBuf>> {
    let mut places = vec![root().join("tests/reference")];
    for krate in sorted(&root().join("crates"))? {
        places.push(krate.join("tests/reference"));
    }
    let mut found = Vec::new();
    for place in places.iter().filter(|place| place.is_dir()) {
        for folder in sorted(place)? {
            if folder.join("requirements.txt").is_file() {
                found.push(folder);
            }
        }
    }
    Ok(found)
}

/// The Python scripts of a folder whose names are wanted.
pub(crate) fn scripts(folder: &Path, wanted: impl Fn(&str) -> bool) -> Result<Vec<PathBuf>> {
    Ok(sorted(folder)?
        .into_iter()
        .filter(|path| path.extension().is_some_and(|ending| ending == "py"))
        .filter(|path| wanted(&name_of(path)))
        .collect())
}

/// The instances of a topic, which its runners are given.
pub(crate) fn instances(topic: &str) -> Result<Vec<PathBuf>> {
    let folder = root().join("tests/reference").join(topic).join("instances");
    if folder.is_dir() {
        sorted(&folder)
    } else {
        Ok(Vec::new())
    }
}

/// The Python of a folder's own environment, made or brought up to date as needed.
pub(crate) fn environment(folder: &Path) -> Result<PathBuf> {
    let venv = tools::folder().join("venv").join(name_of(folder));
    let python = venv.join("bin/python");
    let wanted = std::fs::read_to_string(folder.join("requirements.txt"))?;
    let stamp = venv.join("requirements.txt");
    if std::fs::read_to_string(&stamp).is_ok_and(|have| have == wanted) {
        return Ok(python);
    }
    if !tools::on_path("python3") {
        bail!("the references need python3 with venv; install it and run again");
    }
    run(command("python3", &["-m", "venv"]).arg(&venv))?;
    run(command(&python, &["-m", "pip", "install", "--quiet", "-r"])
        .arg(folder.join("requirements.txt")))?;
    std::fs::write(&stamp, wanted).context("could not note what was installed")?;
    Ok(python)
}

/// The last part of a path.
pub(crate) fn name_of(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default();
    name.to_string_lossy().into_owned()
}

fn sorted(folder: &Path) -> Result<Vec<PathBuf>> {
    let entries = std::fs::read_dir(folder)
        .with_context(|| format!("could not read {}", folder.display()))?;
    let mut paths = entries
        .map(|entry| Ok(entry?.path()))
        .collect::<Result<Vec<_>>>()?;
    paths.sort();
    Ok(paths)
}
