//! In the field, on a phone: from the label's code to the roll to a note in two taps; notes made out of the program's
//! reach, sent when it is back, and settled where two were made of one frame; and one frame among 100,000.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use serde_json::Value;
use spoolwright_browser_tests::app::{App, ask, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::page::Page;
use spoolwright_browser_tests::root;

/// Notes in the store that a frame is looked for in.
const MANY: u32 = 100_000;
/// How long the browser may take to put a roll's pages by, and to send what waits.
const PATIENCE: Duration = Duration::from_secs(20);

fn say(store: &Path, words: &[&str]) -> Result<String> {
    let store = store.to_str().context("the path is not UTF-8")?;
    ask(&[&["--store", store], words].concat())
}

/// One wound roll, two cameras.
fn furnish(store: &Path) -> Result<()> {
    for line in [
        "stock add --name Dune --ei 100",
        "loader add --name Bench",
        "can add --stock 1 --letters DS --loader Bench --length 30m",
        "wind add --can DS --frames 36",
        "wind 1 done",
        "camera add --name Walker",
        "camera add --name Box",
    ] {
        let words: Vec<&str> = line.split(' ').collect();
        say(store, &words).with_context(|| line.to_owned())?;
    }
    Ok(())
}

/// Waits until a script returns true.
async fn comes_true(page: &Page, script: &str) -> Result<()> {
    let start = Instant::now();
    loop {
        if page.script(script).await.ok() == Some(Value::Bool(true)) {
            return Ok(());
        }
        ensure!(start.elapsed() < PATIENCE, "never true: {script}");
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}

/// The address that the code on the roll's label holds leads to its page; one tap from there it is in a camera.
async fn from_the_label(page: &Page) -> Result<()> {
    page.go("/roll/DS-01").await?;
    page.inspect("field-1-roll").await?;
    page.press("Put in camera").await?;
    page.sees("Put DS-01 in Walker.").await?;
    page.inspect("field-2-in-camera").await?;
    page.press("Note a frame").await?;
    page.inspect("field-3-note").await?;
    page.fill("subject", "gate in the dunes").await?;
    page.fill("aperture", "8").await?;
    page.fill("shutter", "1/125").await?;
    page.fill("lens", "short one").await?;
    page.press("Keep, next one").await?;
    page.sees("Noted frame 1 of DS-01: gate in the dunes.")
        .await?;
    page.press("short one").await?;
    let lens = page
        .script("return document.querySelector('[name=lens]').value")
        .await?;
    ensure!(lens == "short one", "{lens}");
    page.press("Same as frame 1").await?;
    page.sees("Noted frame 2 of DS-01: gate in the dunes.")
        .await?;
    page.sees("1/125 s at f/8").await?;
    page.inspect("field-4-frames").await?;
    page.press("gate in the dunes").await?;
    page.press("Work it out").await?;
    page.sees("Exposure value 13.0").await?;
    page.inspect("field-5-help").await
}

async fn the_field(screen: Screen, scheme: Scheme) -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("field.sqlite");
    furnish(&store)?;
    let app = App::over(&store)?;
    with_page(&app.url, screen, scheme, from_the_label).await
}

#[tokio::test]
async fn from_the_code_to_the_note_on_a_phone() -> Result<()> {
    the_field(Screen::Phone, Scheme::Light).await
}

#[tokio::test]
async fn from_the_code_to_the_note_in_the_dark() -> Result<()> {
    the_field(Screen::Phone, Scheme::Dark).await
}

#[tokio::test]
async fn notes_made_out_of_reach_come_in_and_lose_nothing() -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("away.sqlite");
    furnish(&store)?;
    say(&store, &["camera", "load", "DS-01", "--camera", "Walker"])?;
    say(&store, &["note", "add", "DS-01", "--subject", "gate"])?;
    let app = App::over(&store)?;
    let url = app.url.clone();
    with_page(
        &url.clone(),
        Screen::Phone,
        Scheme::Light,
        async move |page| {
            page.go("/roll/DS-01").await?;
            // Until the browser has put the pages by, and looks after them.
            comes_true(
                page,
                "return !!navigator.serviceWorker.controller && caches.open('spoolwright-rolls')
                .then(kept => kept.match('/roll/DS-01/note')).then(there => !!there)",
            )
            .await?;
            app.kill()?;

            // The pages open all the same, and the note is kept, twice.
            page.go("/roll/DS-01").await?;
            page.press("Note a frame").await?;
            page.fill("subject", "heron").await?;
            page.fill("aperture", "4").await?;
            page.press("Keep").await?;
            page.sees("Frame 2 is kept on this phone").await?;
            page.sees("Kept on this phone, not sent yet").await?;
            page.fill("subject", "second heron").await?;
            page.press("Keep").await?;
            page.sees("Frame 3 is kept on this phone").await?;
            page.picture("field-away").await?;
            ensure!(
                page.script("return JSON.parse(localStorage.getItem('spoolwright.notes')).length")
                    .await?
                    == 2
            );

            // Somebody at home notes the same frame meanwhile.
            say(
                &store,
                &[
                    "note",
                    "add",
                    "DS-01",
                    "--frame",
                    "2",
                    "--subject",
                    "stork",
                    "--lens",
                    "long one",
                ],
            )?;
            let back = App::again(&store, &url)?;
            page.go("/roll/DS-01").await?;
            comes_true(
                page,
                "return JSON.parse(localStorage.getItem('spoolwright.notes') ?? '[]').length === 0",
            )
            .await?;
            page.sees("second heron").await?;
            page.sees("two versions").await?;
            let notes: Value =
                serde_json::from_str(&say(&store, &["note", "list", "DS-01", "--json"])?)?;
            let all = notes.as_array().context("no list")?;
            ensure!(all.len() == 3, "{notes}");
            ensure!(
                all[1]["subject"] == "stork" && all[1]["aperture"] == 4.0,
                "{notes}"
            );
            ensure!(
                all[1]["lens"] == "long one" && all[1]["versions"][0]["subject"] == "heron",
                "{notes}"
            );

            page.press("stork").await?;
            page.press("Settle it").await?;
            page.picture("field-settle").await?;
            page.press("heron").await?;
            page.press("Settle it").await?;
            page.sees("Settled the note of frame 2 of DS-01: heron")
                .await?;
            drop(back);
            Ok(())
        },
    )
    .await
}

/// A store as many years leave it: the heron on the weir is found, and the place to put the finger is marked.
#[tokio::test]
async fn one_frame_among_a_hundred_thousand() -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("many.sqlite");
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let filled = Command::new(cargo)
        .args([
            "run",
            "--quiet",
            "--package",
            "spoolwright-store",
            "--example",
            "many_notes",
            "--",
        ])
        .arg(&store)
        .arg(MANY.to_string())
        .current_dir(root())
        .status()?;
    ensure!(filled.success(), "the store could not be filled");
    let app = App::over(&store)?;
    for (screen, scheme) in [
        (Screen::Phone, Scheme::Light),
        (Screen::Desktop, Scheme::Dark),
    ] {
        with_page(&app.url, screen, scheme, async |page| {
            page.go("/find").await?;
            page.inspect("field-find-1").await?;
            page.fill("words", "heron weir élan").await?;
            page.press("Find").await?;
            page.sees("heron on the weir").await?;
            page.sees("position").await?;
            let marked = "return document.querySelectorAll('.found li:first-child .mark').length";
            ensure!(page.script(marked).await? == 1, "no frame is marked");
            page.inspect("field-find-2").await?;
            page.press("heron on the weir").await?;
            page.sees("Where it lies").await?;
            page.inspect("field-find-3").await
        })
        .await?;
    }
    Ok(())
}
