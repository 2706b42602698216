//! `kill -9` in the middle of "wound it": what was acknowledged is there once, what was not is there
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
/// Fewer kills than this would prove little.
const KILLS: u32 = 15;

/// A long can, a loader, a cassette and a ticket for every roll.
fn set_up(store: &Path) -> Result<()> {
    let app = App::over(store)?;
    let say = |path: &str, fields: &[(&str, &str)]| -> Result<()> {
        let answer = http::post(&app.url, path, fields)?;
        ensure!(
            answer.status == 303,
            "{path}: {} {}",
            answer.status,
            answer.text()
        );
        Ok(())
    };
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

/// Compares the store with what was acknowledged; returns the tickets that are wound.
fn check(store: &Path, told: &BTreeSet<u64>) -> Result<BTreeSet<u64>> {
    let rolls = read(store, &["roll", "list", "--can", "HM"])?;
    let cassettes = texts(&rolls, "cassette");
    let wound: BTreeSet<u64> = cassettes.iter().filter_map(|c| c.parse().ok()).collect();
    ensure!(
        wound.len() == cassettes.len(),
        "a cassette holds two rolls: {cassettes:?}"
    );
    let labels: BTreeSet<String> = texts(&rolls, "label").into_iter().collect();
    ensure!(labels.len() == wound.len(), "a label stands twice");
    ensure!(
        told.is_subset(&wound),
        "told but not there: {:?}",
        told - &wound
    );
    ensure!(
        wound.len() <= told.len() + 1,
        "there but never asked: {:?}",
        &wound - told
    );
    let queue = read(store, &["wind", "list"])?;
    let waiting: BTreeSet<u64> = queue
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|t| t["id"].as_u64())
        .collect();
    ensure!(waiting.is_disjoint(&wound), "wound and still waiting");
    ensure!(
        (waiting.len() + wound.len()) as u64 == ROLLS,
        "a ticket is lost"
    );
    Ok(wound)
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
    let mut told = BTreeSet::new();
    let (mut kills, mut unknown, mut seed) = (0, 0, 0x9E37_79B9_7F4A_7C15);
    while (told.len() as u64) < ROLLS {
        ensure!(kills < 400, "the work does not come to an end");
        let app = App::over(&store)?;
        let base = app.url.clone();
        let left: Vec<u64> = (1..=ROLLS)
            .filter(|ticket| !told.contains(ticket))
            .collect();
        let client = std::thread::spawn(move || {
            let done = left
                .iter()
                .copied()
                .take_while(|ticket| wind(&base, *ticket));
            done.collect::<Vec<u64>>()
        });
        std::thread::sleep(Duration::from_micros(next(&mut seed) % 60_000));
        app.kill()?;
        kills += 1;
        told.extend(client.join().unwrap_or_default());
        let wound = check(&store, &told)?;
        // Wound without having been told: asking again must tell, and change nothing.
        unknown += wound.len() - told.len();
    }
    ensure!(kills >= KILLS, "only {kills} kills");

    let calm = folder.path().join("calm.sqlite");
    set_up(&calm)?;
    let app = App::over(&calm)?;
    for ticket in 1..=ROLLS {
        ensure!(wind(&app.url, ticket), "ticket {ticket} is refused");
    }
    drop(app);
    let (killed, calm) = (
        read(&store, &["can", "show", "HM"])?,
        read(&calm, &["can", "show", "HM"])?,
    );
    ensure!(
        killed["remaining_m"] == calm["remaining_m"],
        "{killed}\nis not\n{calm}"
    );
    eprintln!("{kills} kills, {unknown} of them between the writing and the telling");
    Ok(())
}
