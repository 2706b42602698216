//! `kill -9` in the middle of "wound it", and of taking it back: what was acknowledged is there once, what was not is there
//! once or not at all, and nothing is half there. No browser is needed.

use std::collections::BTreeSet;
use std::path::Path;
use std::time::Duration;

use anyhow::{Result, ensure};
use serde_json::Value;
use spoolwright_browser_tests::app::{App, ask, folder};
use spoolwright_browser_tests::http;

/// Rolls to wind; each takes 6 frames, so that one long can holds them all.
const ROLLS: u64 = 120;
/// Windings to take back, newest first.
const UNDONE: usize = 40;
/// Fewer kills than this would prove little.
const KILLS: u32 = 10;
/// As few as this, undoing, and the test has shown nothing.
const UNDO_KILLS: u32 = 5;

/// A long can, a loader, a cassette and a ticket for every roll.
fn set_up(store: &Path) -> Result<()> {
    let app = App::over(store)?;
    let say = |path: &str, fields: &[(&str, &str)]| http::take(&app.url, path, fields);
    say("/stocks", &[("name", "Harbour Mist")])?;
    say("/loaders", &[("name", "the grey one")])?;
    let can = [
        ("stock", "1"),
        ("letters", "HM"),
        ("length", "120 m"),
        ("loader", "1"),
    ];
    say("/cans", &can)?;
    for cassettes in ["1-40", "41-80", "81-120"] {
        say("/cassettes", &[("label", cassettes)])?;
    }
    for _ in 0..ROLLS {
        say(
            "/tickets",
            &[("can", "1"), ("frames", "6"), ("light", "room")],
        )?;
    }
    Ok(())
}

/// Winds one ticket; true when the program has said that it is done.
fn wind(base: &str, ticket: u64) -> bool {
    let (cassette, request) = (ticket.to_string(), format!("wind-{ticket}"));
    let fields = [
        ("cassette", cassette.as_str()),
        ("request", request.as_str()),
    ];
    let answer = http::post(base, &format!("/tickets/{ticket}"), &fields);
    answer.is_ok_and(|answer| answer.status == 303)
}

/// Takes one journal entry back; true when the program has said that it is done.
fn undo(base: &str, entry: u64) -> bool {
    let request = format!("undo-{entry}");
    let fields = [("request", request.as_str())];
    let answer = http::post(base, &format!("/history/{entry}/undo"), &fields);
    answer.is_ok_and(|answer| answer.status == 303)
}

/// What the command line reads from the store.
fn read(store: &Path, words: &[&str]) -> Result<Value> {
    let store = store.to_str().unwrap_or_default();
    let all: Vec<&str> = ["--store", store, "--json"]
        .iter()
        .chain(words)
        .copied()
        .collect();
    Ok(serde_json::from_str(&ask(&all)?)?)
}

fn texts(list: &Value, key: &str) -> Vec<String> {
    let list = list.as_array().into_iter().flatten();
    list.map(|one| one[key].as_str().unwrap_or_default().to_owned())
        .collect()
}

/// The tickets that are wound, after looking that nothing is half there: every roll in a cassette of
/// its own, every ticket either wound or waiting.
fn wound(store: &Path) -> Result<BTreeSet<u64>> {
    let rolls = read(store, &["roll", "list", "--can", "HM"])?;
    let cassettes = texts(&rolls, "cassette");
    let wound: BTreeSet<u64> = cassettes.iter().filter_map(|c| c.parse().ok()).collect();
    ensure!(
        wound.len() == cassettes.len(),
        "a cassette holds two rolls: {cassettes:?}"
    );
    let labels: BTreeSet<String> = texts(&rolls, "label").into_iter().collect();
    ensure!(labels.len() == wound.len(), "a label stands twice");
    let queue = read(store, &["wind", "list"])?;
    let queue = queue.as_array().into_iter().flatten();
    let waiting: BTreeSet<u64> = queue.filter_map(|t| t["id"].as_u64()).collect();
    ensure!(waiting.is_disjoint(&wound), "wound and still waiting");
    let tickets = (waiting.len() + wound.len()) as u64;
    ensure!(tickets == ROLLS, "{tickets} tickets of {ROLLS}");
    Ok(wound)
}

/// Does each job in turn while the program is killed again and again, until each has been told as
/// done; what was not told is asked again. After each kill `look` is given the jobs told so far.
fn under_kills(
    store: &Path,
    jobs: &[u64],
    act: fn(&str, u64) -> bool,
    mut look: impl FnMut(&BTreeSet<u64>) -> Result<()>,
) -> Result<u32> {
    let mut told = BTreeSet::new();
    // Microseconds until the kill, at most; longer when a slow machine gets nothing done in that.
    let mut longest = 8_000;
    let (mut kills, mut seed) = (0, 0x9E37_79B9_7F4A_7C15);
    while told.len() < jobs.len() {
        ensure!(kills < 400, "the work does not come to an end");
        let app = App::over(store)?;
        let base = app.url.clone();
        let left = jobs.iter().copied().filter(|job| !told.contains(job));
        let left: Vec<u64> = left.collect();
        let client = std::thread::spawn(move || {
            let done = left.into_iter().take_while(|job| act(&base, *job));
            done.collect::<Vec<u64>>()
        });
        std::thread::sleep(Duration::from_micros(next(&mut seed) % longest));
        app.kill()?;
        kills += 1;
        let done = client.join().unwrap_or_default();
        if done.is_empty() {
            longest += longest / 10;
        }
        told.extend(done);
        look(&told)?;
    }
    Ok(kills)
}

/// A small generator of the pauses before each kill (Marsaglia's xorshift, from memory).
fn next(state: &mut u64) -> u64 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    *state
}

#[test]
fn killed_in_the_middle_nothing_is_lost_or_done_twice() -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("killed.sqlite");
    set_up(&store)?;
    let tickets: Vec<u64> = (1..=ROLLS).collect();
    let kills = under_kills(&store, &tickets, wind, |told| {
        let there = wound(&store)?;
        let lost = told - &there;
        ensure!(lost.is_empty(), "told but not there: {lost:?}");
        ensure!(there.len() <= told.len() + 1, "there but never asked");
        Ok(())
    })?;
    ensure!(kills >= KILLS, "only {kills} kills");
    let all_wound = read(&store, &["can", "show", "HM"])?;

    let history = read(&store, &["history"])?;
    let entries = history.as_array().into_iter().flatten();
    let entries = entries.filter(|entry| entry["verb"] == "roll.wound");
    let newest: Vec<u64> = entries
        .filter_map(|e| e["entry"].as_u64())
        .take(UNDONE)
        .collect();
    ensure!(newest.len() == UNDONE, "the history is short: {newest:?}");
    let undo_kills = under_kills(&store, &newest, undo, |told| {
        let gone = ROLLS as usize - wound(&store)?.len();
        let asked = told.len()..=told.len() + 1;
        ensure!(asked.contains(&gone), "{gone} gone, {} told", told.len());
        Ok(())
    })?;
    ensure!(
        undo_kills >= UNDO_KILLS,
        "only {undo_kills} kills while undoing"
    );
    let left = wound(&store)?;
    ensure!(left == (1..=ROLLS - UNDONE as u64).collect(), "{left:?}");
    let some_undone = read(&store, &["can", "show", "HM"])?;

    // The same work in a store that nobody kills comes to the same numbers.
    let calm = folder.path().join("calm.sqlite");
    set_up(&calm)?;
    for (tickets, killed) in [
        (1..=ROLLS - UNDONE as u64, some_undone),
        (ROLLS - UNDONE as u64 + 1..=ROLLS, all_wound),
    ] {
        let app = App::over(&calm)?;
        for ticket in tickets {
            ensure!(wind(&app.url, ticket), "ticket {ticket} is refused");
        }
        drop(app);
        let calm = read(&calm, &["can", "show", "HM"])?;
        ensure!(
            killed["remaining_m"] == calm["remaining_m"],
            "{killed}\nis not\n{calm}"
        );
    }
    eprintln!("killed {kills} times while winding, {undo_kills} times while undoing");
    Ok(())
}
