//! What the tests need beside Rust: readers of PDF and of metadata, a browser with its driver, and axe-core.
//!
//! Everything is asked of the ordinary package clients, by name; nothing is kept in the tree.

use std::path::PathBuf;

use anyhow::{Context, Result, bail};

use crate::run::{command, root, run};

/// A program the tests call, and Debian's package that brings it.
const DEBIAN: [(&str, &str); 5] = [
    ("pdftoppm", "poppler-utils"),
    ("pdftotext", "poppler-utils"),
    ("exiftool", "libimage-exiftool-perl"),
    ("chromium", "chromium"),
    ("chromedriver", "chromium-driver"),
];

/// What a browser needs to show text, if the machine has no fonts yet.
const FONTS: [&str; 2] = ["fonts-dejavu-core", "fonts-liberation"];

/// The accessibility checker that the browser tests load into each page.
const AXE: &str = "4.14.1";

/// Where things installed for tests alone are kept; ignored by git.
pub(crate) fn folder() -> PathBuf {
    root().join(".tools")
}

/// Installs whatever is missing and says so; does nothing when all is there.
pub(crate) fn install() -> Result<()> {
    debian()?;
    axe()
}

/// Whether a program is on the path.
pub(crate) fn on_path(program: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| folder.join(program).is_file())
}

fn debian() -> Result<()> {
    let mut missing: Vec<&str> = DEBIAN
        .iter()
        .filter(|(program, _)| !on_path(program))
        .map(|(_, package)| *package)
        .collect();
    missing.dedup();
    if missing.is_empty() {
        return Ok(());
    }
    missing.extend(FONTS);
    let by_hand = format!(
        "install these packages by hand, then run again: apt-get update && apt-get install {}",
        missing.join(" ")
    );
    if !on_path("apt-get") {
        bail!(
            "the tests need {} and there is no apt-get here; install the programs they bring",
            missing.join(", ")
        );
    }
    let apt = |args: &[&str]| {
        let lock = ["-o", "DPkg::Lock::Timeout=300"];
        let all: Vec<&str> = lock.iter().chain(args).copied().collect();
        let mut apt = if am_root() {
            command("apt-get", &all)
        } else {
            let mut sudo = command("sudo", &["-n", "apt-get"]);
            sudo.args(&all);
            sudo
        };
        apt.env("DEBIAN_FRONTEND", "noninteractive");
        run(&mut apt)
    };
    apt(&["-qq", "update"]).with_context(|| by_hand.clone())?;
    let mut install = vec!["-qq", "-y", "--no-install-recommends", "install"];
    install.extend(&missing);
    apt(&install).with_context(|| by_hand)
}

fn am_root() -> bool {
    let id = std::process::Command::new("id").arg("-u").output();
    id.is_ok_and(|output| output.stdout.trim_ascii() == b"0")
}

fn axe() -> Result<()> {
    let package = folder().join("node_modules/axe-core/package.json");
    let wanted = format!("\"version\": \"{AXE}\"");
    if std::fs::read_to_string(&package).is_ok_and(|text| text.contains(&wanted)) {
        return Ok(());
    }
    if !on_path("npm") {
        bail!(
            "the browser tests need npm once, to fetch axe-core {AXE}; install npm and run again"
        );
    }
    std::fs::create_dir_all(folder())?;
    let prefix = folder();
    let prefix = prefix.to_str().context("the path is not UTF-8")?;
    run(&mut command(
        "npm",
        &[
            "install",
            "--prefix",
            prefix,
            "--no-save",
            "--no-package-lock",
            "--ignore-scripts",
            "--no-audit",
            "--no-fund",
            "--loglevel=error",
            &format!("axe-core@{AXE}"),
        ],
    ))
    .context("axe-core could not be fetched with npm")
}
