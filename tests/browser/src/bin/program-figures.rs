//! The program's own figures, for `cargo xtask bench`: size, cold start, pages over a full store, memory.
//!
//! `program-figures FULL_STORE`. Times are medians of five; a cold start is a new process, from its
//! start to the first page, with the store's file already in the system's cache.
#![expect(clippy::print_stdout, reason = "a command line talks to its user")]

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use spoolwright_browser_tests::app::{App, binary, folder};
use spoolwright_browser_tests::http;

/// Starts and fetches that a median is taken of.
const TIMES: usize = 5;

fn main() -> Result<()> {
    let full = std::env::args_os()
        .nth(1)
        .context("program-figures FULL_STORE")?;
    let folder = folder()?;
    println!("\n| the program | figure |\n|---|---:|");
    let size = std::fs::metadata(binary()?)?.len();
    println!("| size of the binary | {:.1} MB |", size as f64 / 1e6);
    of(&folder.path().join("empty.sqlite"), "an empty store")?;
    of(&PathBuf::from(full), "the full store")
}

fn of(store: &Path, what: &str) -> Result<()> {
    let cold = median(|| {
        let begun = Instant::now();
        fetch(&App::over(store)?, "/")?;
        Ok(begun.elapsed())
    })?;
    println!("| cold start to the first page, {what} | {cold} |");
    let app = App::over(store)?;
    println!(
        "| resident before any page, {what} | {} |",
        resident(app.id())?
    );
    let begun = Instant::now();
    fetch(&app, "/")?;
    println!(
        "| first page of a started program, {what} | {} |",
        said(begun.elapsed())
    );
    for page in ["/", "/cans", "/rolls", "/history"] {
        let time = median(|| {
            let begun = Instant::now();
            fetch(&app, page)?;
            Ok(begun.elapsed())
        })?;
        println!("| {page} again, {what} | {time} |");
    }
    println!("| resident after these, {what} | {} |", resident(app.id())?);
    Ok(())
}

fn fetch(app: &App, path: &str) -> Result<()> {
    let status = http::get(&app.url, path)?.status;
    ensure!(status == 200, "{path} answers {status}");
    Ok(())
}

fn median(take: impl Fn() -> Result<Duration>) -> Result<String> {
    let mut times = (0..TIMES).map(|_| take()).collect::<Result<Vec<_>>>()?;
    times.sort();
    Ok(said(times[TIMES / 2]))
}

fn said(time: Duration) -> String {
    format!("{:.1} ms", time.as_secs_f64() * 1e3)
}

/// Resident memory, as Linux tells it.
fn resident(id: u32) -> Result<String> {
    let status = std::fs::read_to_string(format!("/proc/{id}/status"))?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let kilobytes = line.and_then(|line| line.split_whitespace().next());
    let kilobytes: f64 = kilobytes.context("no VmRSS")?.parse()?;
    Ok(format!("{:.1} MB", kilobytes / 1e3))
}
