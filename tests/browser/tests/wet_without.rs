//! The clock of a run where the browser withholds something: it still goes, and calls in words.

use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use serde_json::json;
use spoolwright_browser_tests::app::{App, ask, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::page::Page;

/// What is taken away before the page loads, and what the page then says of its calls once it was touched.
const WITHOUT: [(&str, &str, &str); 7] = [
    (
        "sound",
        "delete window.AudioContext; delete window.speechSynthesis; delete window.SpeechSynthesisUtterance;",
        "No sound to be had here",
    ),
    ("tones", "delete window.AudioContext;", ""),
    (
        "speech",
        "delete window.speechSynthesis; delete window.SpeechSynthesisUtterance;",
        "On: tones",
    ),
    (
        "vibration",
        "delete Navigator.prototype.vibrate;",
        "On: tones",
    ),
    (
        "the screen's lock",
        "delete Navigator.prototype.wakeLock;",
        "On: tones",
    ),
    (
        "storage",
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('blocked', 'SecurityError'); } });",
        "On: tones",
    ),
    (
        "time limits of askings",
        "delete AbortSignal.timeout;",
        "On: tones",
    ),
];

async fn part(page: &Page, name: &str) -> Result<String> {
    let script = format!("return document.querySelector('[data-{name}]').textContent");
    let said = page.script(&script).await?;
    Ok(said.as_str().unwrap_or_default().to_owned())
}

/// Until a part of the page says so.
async fn comes(page: &Page, without: &str, name: &str, words: &str) -> Result<()> {
    let start = Instant::now();
    loop {
        let now = part(page, name).await?;
        if now.contains(words) {
            return Ok(());
        }
        ensure!(
            start.elapsed() < Duration::from_secs(5),
            "without {without}: {name} is {now:?}"
        );
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

/// Until two calls were seen and the time went on.
async fn goes_and_calls(page: &Page) -> Result<()> {
    let start = Instant::now();
    let (mut calls, mut times) = (Vec::new(), Vec::new());
    while calls.len() < 2 || times.len() < 2 {
        for (seen, name) in [(&mut calls, "calling"), (&mut times, "left")] {
            let said = part(page, name).await?;
            if seen.last() != Some(&said) {
                seen.push(said);
            }
        }
        ensure!(
            start.elapsed() < Duration::from_secs(20),
            "called {calls:?}, times {times:?}"
        );
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    let known = ["Agitate", "Let it stand"];
    ensure!(
        calls.iter().all(|c| known.contains(&c.as_str())),
        "{calls:?}"
    );
    ensure!(part(page, "offline").await?.is_empty());
    Ok(())
}

#[tokio::test]
async fn the_clock_goes_on_and_calls_in_words() -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("wet.sqlite");
    let store = store.to_str().context("the path is not UTF-8")?;
    for line in [
        &["recipe", "begin", "Negative, one-shot"][..],
        &[
            "wet",
            "load",
            "--recipe",
            "1",
            "--time",
            "120 min",
            "--rehearsal",
            "10",
            "--volume",
            "300",
        ],
        &["wet", "press", "1", "begin"],
    ] {
        ask(&[&["--store", store], line].concat())?;
    }
    let app = App::over(store.as_ref())?;
    with_page(&app.url, Screen::Phone, Scheme::Light, async |page| {
        let cdp = page.session.cdp();
        for (what, script, said) in WITHOUT {
            let added = cdp
                .send_raw(
                    "Page.addScriptToEvaluateOnNewDocument",
                    json!({ "source": script }),
                )
                .await?;
            page.go("/wet/runs/1/clock").await?;
            // Before a touch there is no sound, and it says so where it is seen.
            page.sees("Developer 1 of 7").await?;
            if what != "sound" && what != "tones" {
                comes(page, what, "warning", "Tap once for sound").await?;
            }
            if what == "the screen's lock" {
                comes(page, what, "warning", "The screen may go dark").await?;
            }
            page.press("Sound and speech").await.ok();
            goes_and_calls(page)
                .await
                .with_context(|| format!("without {what}"))?;
            comes(page, what, "sound-said", said).await?;
            page.inspect(&format!("wet-without-{}", what.replace([' ', '\''], "-")))
                .await?;
            let script = json!({ "identifier": added["identifier"] });
            cdp.send_raw("Page.removeScriptToEvaluateOnNewDocument", script)
                .await?;
        }
        Ok(())
    })
    .await
}
