//! The wedge bench as a person uses it: a test in camera begun and its roll wound, densities pasted, typed and read
//! from a scan, the target moved, the card kept, the result printed, two tests compared; on a phone and a desktop, in
//! light and dark.
//!
//! The film is the closed-form stock of the bench's fixtures: toe and straight line, whose slope grows with developing
//! time so that the ISO triangle is met exactly at 8 minutes, at a speed of 125. It is written out here anew.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use spoolwright_browser_tests::app::{App, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::page::Page;
use spoolwright_browser_tests::{faults, http};
use thirtyfour::prelude::*;

const OFFSETS: [f64; 10] = [-6.0, -5.0, -4.0, -3.5, -3.0, -2.0, -1.0, 0.0, 1.5, 3.0];
const TIMES: [f64; 3] = [5.0, 8.0, 12.0];

/// Density after `time` minutes at `stops` from the reading of a meter set to 125: the speed point of the 8 min strip,
/// log H −2.1938, lies four stops under it.
fn density(time: f64, stops: f64) -> f64 {
    let log_h = -2.1938 + (4.0 + stops) * std::f64::consts::LOG10_2;
    let gamma = 1.10 * (1.0 - (-0.121_676_41 * time).exp());
    0.20 + gamma / 5.0 * (5.0 * (log_h + 2.208_506_12)).exp().ln_1p()
}

/// The three strips as a spreadsheet would give them, with decimal commas.
fn table() -> String {
    let mut text = String::from("stops;5 min;8 min;12 min\nbase+fog;0,200;0,200;0,200");
    for stops in OFFSETS {
        text.push_str(&format!("\n{stops}"));
        for time in TIMES {
            text.push_str(&format!(";{:.3}", density(time, stops)).replace('.', ","));
        }
    }
    text
}

fn send(base: &str, path: &str, fields: &[(&str, &str)]) -> Result<()> {
    let answer = http::post(base, path, fields)?;
    ensure!(answer.status == 303, "{path}: {}", answer.text());
    Ok(())
}

fn set_up(app: &App) -> Result<()> {
    send(&app.url, "/stocks", &[("name", "Dune Survey")])?;
    send(&app.url, "/loaders", &[("name", "the grey one")])?;
    let can = [("stock", "1"), ("letters", "DS"), ("loader", "1")];
    send(&app.url, "/cans", &can)
}

async fn begin(page: &Page) -> Result<()> {
    page.go("/more").await?;
    page.press("Wedge bench").await?;
    page.inspect("wedge-1-empty").await?;
    page.press("Begin a test").await?;
    page.sees("nitrate").await?;
    page.inspect("wedge-2-new").await?;
    page.fill("can", "DS").await?;
    page.fill("meter_ei", "125").await?;
    page.fill("developer", "house brew").await?;
    page.fill("temperature", "20").await?;
    page.press("Begin the test").await?;
    page.sees("lens cap on: base + fog").await?;
    page.inspect("wedge-3-begun").await?;
    page.press("wind its roll of 35 frames").await?;
    page.sees("For the test Dune Survey").await?;
    page.inspect("wedge-4-ticket").await?;
    page.press("Wound it").await?;
    page.sees("Shoot it by the shot list").await?;
    page.inspect("wedge-5-roll").await?;
    page.go("/").await?;
    page.sees("waits to be shot by its shot list").await
}

/// The figure printed large, and the ends of its interval.
async fn time(page: &Page) -> Result<(f64, f64, f64)> {
    let script = "return document.querySelector('#at-target .loud')?.textContent ?? ''";
    let said = page.script(script).await?;
    let said = said.as_str().context("no text")?;
    let numbers: Vec<f64> = said
        .replace("95 %", " ")
        .split(|c: char| !c.is_ascii_digit() && c != '.')
        .filter_map(|word| word.parse().ok())
        .collect();
    match numbers[..] {
        [value, low, high] => Ok((value, low, high)),
        _ => anyhow::bail!("no time with its interval in `{said}`"),
    }
}

/// Waits until the time shown lies between these.
async fn comes_to(page: &Page, low: f64, high: f64) -> Result<()> {
    let start = Instant::now();
    loop {
        let shown = time(page).await;
        match shown {
            Ok((value, ..)) if low <= value && value <= high => return Ok(()),
            _ if start.elapsed() > Duration::from_secs(10) => {
                anyhow::bail!("{shown:?} is not between {low} and {high} minutes")
            }
            _ => std::thread::sleep(Duration::from_millis(50)),
        }
    }
}

/// Moves a control as a person would, as far as the page can tell.
async fn set(page: &Page, css: &str, value: &str, event: &str) -> Result<()> {
    let script = format!(
        "const it = document.querySelector('{css}'); it.value = '{value}';
        it.dispatchEvent(new Event('{event}', {{bubbles: true}}));"
    );
    page.script(&script).await?;
    Ok(())
}

async fn paste(page: &Page) -> Result<()> {
    page.go("/wedge/1").await?;
    page.press("Paste a table").await?;
    page.inspect("wedge-6-table").await?;
    page.fill("table", &table()).await?;
    page.press("Read the table").await?;
    page.sees("How long, at what speed").await?;
    page.inspect("wedge-7-results").await?;
    // The triangle is met exactly at 8 minutes, at the speed the meter was set to.
    let (value, low, high) = time(page).await?;
    ensure!((value - 8.0).abs() < 0.15, "{value} min");
    ensure!(low <= 8.1 && 7.9 <= high, "{low} to {high}");
    page.sees("125/22°").await?;
    stands_first(page).await
}

/// Answer, switch and what they rest on: under each other on a phone, side by side on a desktop; the answer in
/// sight when the page opens.
async fn stands_first(page: &Page) -> Result<()> {
    let script = "return ['#at-target', '.switch', '[data-part=ground] figure', 'table.figures'].map(css => {
        const box = document.querySelector(css).getBoundingClientRect();
        return [box.left, box.top + scrollY, box.bottom + scrollY];
    })";
    let read = page.script(script).await?;
    let places: Vec<[f64; 3]> = serde_json::from_value(read)?;
    let [answer, switch, time, curves] = places[..] else {
        anyhow::bail!("{places:?}")
    };
    let (_, high) = page.screen.size();
    ensure!(answer[2] < f64::from(high), "the answer at {answer:?}");
    match page.screen {
        Screen::Phone => ensure!(answer[2] <= switch[1] && switch[2] <= time[1], "{places:?}"),
        Screen::Desktop => ensure!(answer[0] < switch[0] && switch[1] < answer[2], "{places:?}"),
    }
    ensure!(time[2] <= curves[1], "{places:?}");
    Ok(())
}

/// The value follows slider, measure and name without another page.
async fn aim(page: &Page) -> Result<()> {
    page.script("window.same = true").await?;
    // After 12 minutes 1.30 log H raise the density by 0.962: a mean slope of 0.74.
    set(page, "#slider", "0.74", "input").await?;
    comes_to(page, 11.6, 12.4).await?;
    // The same time in another measure.
    set(page, "#measure", "gamma", "change").await?;
    std::thread::sleep(Duration::from_millis(300));
    comes_to(page, 11.4, 12.6).await?;
    ensure!(page.path().await?.contains("measure=gamma"));
    set(page, "#aim", "normal", "change").await?;
    comes_to(page, 7.85, 8.15).await?;
    // A contrast that no time gives is told, and the cursor stays where it moves on.
    page.script("document.querySelector('#slider').focus()")
        .await?;
    set(page, "#slider", "9", "input").await?;
    page.sees("no time for this contrast").await?;
    page.sees("To do").await?;
    let focus = page.script("return document.activeElement.id").await?;
    ensure!(focus == "slider", "the cursor went to {focus}");
    page.inspect("wedge-8-too-far").await?;
    set(page, "#aim", "normal", "change").await?;
    comes_to(page, 7.85, 8.15).await?;
    let same = page.script("return window.same === true").await?;
    ensure!(same.as_bool() == Some(true), "the page was loaded anew");
    page.inspect("wedge-8-aimed").await
}

async fn keep(page: &Page) -> Result<()> {
    let sheet = page
        .script("return document.querySelector('a[href*=\"sheet.pdf\"]').getAttribute('href')")
        .await?;
    let pdf = page.fetch(sheet.as_str().context("no link")?)?;
    let text = text_of(&pdf.body)?;
    for wanted in ["Dune Survey", "125/22"] {
        ensure!(text.contains(wanted), "no `{wanted}` in: {text}");
    }
    let shots = page.fetch("/wedge/1/shots.pdf")?;
    ensure!(text_of(&shots.body)?.contains("Dune Survey"));

    page.press("Make the stock card").await?;
    page.sees("Card for Dune Survey").await?;
    page.inspect("wedge-9-card").await?;
    page.press("Make the card").await?;
    page.sees("in force").await?;
    page.inspect("wedge-10-made").await?;
    let sheet = page
        .script("return document.querySelector('a[href$=\"sheet.pdf\"]').getAttribute('href')")
        .await?;
    let pdf = page.fetch(sheet.as_str().context("the card has no sheet")?)?;
    ensure!(text_of(&pdf.body)?.contains("Dune Survey"));
    page.press("The stock").await?;
    page.sees("The newest card").await?;
    page.inspect("wedge-11-stock").await
}

/// The pages that another test, another card and a colour film make, each looked at.
async fn elsewhere(page: &Page) -> Result<()> {
    let base = &page.base;
    let again = [("name", "two years on"), ("can", "DS"), ("meter_ei", "125")];
    send(base, "/wedge", &again)?;
    send(base, "/wedge/2/table", &[("table", &table())])?;
    send(base, "/wedge/2/card", &[("ei", "100"), ("sure", "yes")])?;
    let tint = [("name", "Tint"), ("process", "colour-negative")];
    send(base, "/stocks", &tint)?;
    let colour = [("name", "tint one"), ("stock", "Tint"), ("times", "8")];
    send(base, "/wedge", &colour)?;
    let mut layers = String::from("stops;8 min red;8 min green;8 min blue\nbase+fog;0.2;0.2;0.2");
    for stops in OFFSETS {
        let d = density(8.0, stops);
        layers.push_str(&format!("\n{stops};{d:.3};{d:.3};{d:.3}"));
    }
    send(base, "/wedge/3/table", &[("table", &layers)])?;
    for (path, words) in [
        ("/wedge", "Cards in force"),
        ("/wedge/compare?first=1&second=2", "within noise"),
        ("/wedge/1/edit", "Keep the changes"),
        ("/cards/1", "older card"),
        ("/stocks/1", "Older cards"),
        ("/wedge/3", "three layers taken together"),
        ("/wedge/3/card", "from memory"),
        ("/wedge/3/type", "green"),
        ("/wedge/new", "unmarked can"),
    ] {
        page.go(path).await?;
        page.sees(words).await?;
        let name = format!("wedge-17{}", path.replace(['/', '?', '=', '&'], "-"));
        page.inspect(&name).await?;
    }
    Ok(())
}

/// Leaving the 8 min strip out, the other two still find 8 minutes; taking it in again undoes that.
async fn leave_out(page: &Page) -> Result<()> {
    page.go("/wedge/1").await?;
    let leave = "document.querySelector(\"button[aria-label^='Leave out the 8 min']\").click()";
    page.script(leave).await?;
    page.sees("Left out the 8 min strip").await?;
    let (value, ..) = time(page).await?;
    ensure!((value - 8.0).abs() < 0.3, "{value} min without its strip");
    page.press("Undo").await?;
    page.sees("Do it again").await
}

/// Name or words of the element that has the keyboard.
async fn focused(page: &Page) -> Result<String> {
    let script = "const it = document.activeElement; return it.name || it.textContent";
    let name = page.script(script).await?;
    Ok(name
        .as_str()
        .context("nothing has the keyboard")?
        .to_owned())
}

/// A strip typed with the number keys alone: Enter goes down the column.
async fn type_in(page: &Page) -> Result<()> {
    page.go("/wedge/1/type").await?;
    let cell = page.session.find(By::Css("[name='t3']")).await?;
    // Enter in a time goes down to its column, in the last field to the button; neither sends the form.
    cell.send_keys("16" + Key::Enter).await?;
    ensure!(focused(page).await? == "f3-visual");
    let sd = page.session.find(By::Css("[name='density_sd']")).await?;
    sd.send_keys(Key::Enter + "").await?;
    ensure!(page.path().await?.ends_with("/type"));
    ensure!(focused(page).await? == "Keep these densities");
    let first = page.session.find(By::Css("[name='f3-visual']")).await?;
    first.click().await?;
    let mut keys = vec!["0,2".to_owned()];
    keys.extend(OFFSETS.map(|s| format!("{:.2}", density(16.0, s)).replace('.', ",")));
    for typed in keys {
        let here = page.session.active_element().await?;
        here.send_keys(typed + Key::Enter).await?;
    }
    page.inspect("wedge-12-typed").await?;
    page.press("Keep these densities").await?;
    page.sees("16 min").await?;
    let text = page.text().await?;
    ensure!(text.contains("Read one strip"), "{text}");
    page.inspect("wedge-13-four-strips").await
}

/// A grey 16-bit picture: base + fog and ten steps above, a wedge of 21 steps of 0.15 below; values are light.
fn picture(path: &Path, time: f64) -> Result<()> {
    let (width, height) = (1200_u32, 520_u32);
    let mut rows = Vec::new();
    for y in 0..height {
        for x in 0..width {
            let across = f64::from(x) - 100.0;
            let patch = (across / 91.0).floor();
            let step = (across / 47.0).floor();
            let d = match y {
                60..200 if patch == 0.0 => 0.20,
                60..200 if (1.0..11.0).contains(&patch) => {
                    density(time, OFFSETS[patch as usize - 1])
                }
                320..440 if (0.0..21.0).contains(&step) => 0.05 + 0.15 * step,
                _ => 0.0,
            };
            // Even noise of a few units, so that no patch is suspiciously flat.
            let noise = f64::from((x * 7 + y * 13) % 11) - 5.0;
            let level = 60_000.0 * 10_f64.powf(-d) + noise;
            rows.extend((level.round().clamp(0.0, 65_535.0) as u16).to_be_bytes());
        }
    }
    let mut encoder = png::Encoder::new(std::fs::File::create(path)?, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Sixteen);
    encoder.write_header()?.write_image_data(&rows)?;
    Ok(())
}

/// Inspects a page that refuses: the browser notes its status 422 in the console, and nothing else may be
/// wrong with it.
async fn refused(page: &Page, name: &str) -> Result<()> {
    page.picture(name).await?;
    let mut found = faults::of(page).await?;
    found.retain(|fault| !fault.contains("a status of 422"));
    ensure!(found.is_empty(), "{name}:\n  {}", found.join("\n  "));
    Ok(())
}

async fn scan(page: &Page, folder: &Path) -> Result<()> {
    let file = folder.join("strip.png");
    picture(&file, 8.0)?;
    page.go("/wedge/1/scan").await?;
    page.inspect("wedge-14-choose").await?;
    let chosen = page.session.find(By::Id("picture")).await?;
    chosen
        .send_keys(file.to_str().context("the path is not UTF-8")?)
        .await?;
    page.sees("1200 × 520 pixels").await?;
    page.inspect("wedge-15-corners").await?;

    // The first corner is dragged with the pointer, by the keys, and the rest are typed.
    let corner = page
        .session
        .find(By::Css(".strip [data-corner='1']"))
        .await?;
    let before = corners(page).await?;
    let (dx, dy) = (-6, 4);
    page.session
        .action_chain()
        .drag_and_drop_element_by_offset(&corner, dx, dy)
        .perform()
        .await?;
    let after = corners(page).await?;
    ensure!(after != before, "dragging moved nothing: {after}");
    corner.send_keys(Key::Right + "").await?;
    ensure!(corners(page).await? != after, "the arrow key moved nothing");
    for (field, places) in [
        ("strip", "100 60 1101 60 1101 200 100 200"),
        ("wedge", "100 320 1087 320 1087 440 100 440"),
    ] {
        set(page, &format!("[name={field}]"), places, "input").await?;
    }
    page.fill("time", "8 min").await?;
    // Dragged the wrong way round, the strip is refused; its ends are exchanged with a button.
    let turn = "document.querySelector('[data-turn=strip]').click()";
    page.script(turn).await?;
    set(page, "[name=wedge_is]", "nominal", "change").await?;
    page.fill("nominal", "0.05 0.15 21").await?;
    page.press("Read the strip").await?;
    page.sees("read from its wrong end").await?;
    refused(page, "wedge-16-turned").await?;
    page.script(turn).await?;
    page.press("Read the strip").await?;
    page.sees("What was read").await?;
    page.inspect("wedge-17-read").await?;
    let read = page
        .script("return [...document.querySelectorAll('tbody td:nth-child(2)')].map(c => c.textContent)")
        .await?;
    let read = read.as_array().context("no densities")?;
    ensure!(read.len() == 11, "{read:?}");
    for (cell, stops) in read[1..].iter().zip(OFFSETS) {
        let words = cell.as_str().unwrap_or_default();
        let value: f64 = words.split(' ').next().unwrap_or_default().parse()?;
        ensure!(
            (value - density(8.0, stops)).abs() < 0.02,
            "{words} at {stops} stops"
        );
    }
    page.press("Keep this strip").await?;
    page.sees("scan strip.png").await
}

async fn corners(page: &Page) -> Result<String> {
    let read = page
        .script("return document.querySelector('[name=strip]').value")
        .await?;
    Ok(read.as_str().unwrap_or_default().to_owned())
}

/// The text of a PDF, by pdftotext.
fn text_of(pdf: &[u8]) -> Result<String> {
    let mut reader = Command::new("pdftotext")
        .args(["-layout", "-", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .context("pdftotext is missing: run `cargo xtask test`, which installs it")?;
    let mut pipe = reader.stdin.take().context("no stdin")?;
    pipe.write_all(pdf)?;
    drop(pipe);
    let output = reader.wait_with_output()?;
    ensure!(output.status.success(), "pdftotext refuses the file");
    Ok(String::from_utf8(output.stdout)?)
}

async fn bench(screen: Screen, scheme: Scheme) -> Result<()> {
    let folder = folder()?;
    let app = App::over(&folder.path().join("wedge.sqlite"))?;
    set_up(&app)?;
    with_page(&app.url, screen, scheme, async |page| {
        begin(page).await?;
        paste(page).await?;
        aim(page).await?;
        keep(page).await?;
        leave_out(page).await?;
        type_in(page).await?;
        scan(page, folder.path()).await?;
        elsewhere(page).await
    })
    .await
}

#[tokio::test]
async fn wedge_bench_on_a_phone() -> Result<()> {
    bench(Screen::Phone, Scheme::Light).await?;
    bench(Screen::Phone, Scheme::Dark).await
}

#[tokio::test]
async fn wedge_bench_on_a_desktop() -> Result<()> {
    bench(Screen::Desktop, Scheme::Light).await?;
    bench(Screen::Desktop, Scheme::Dark).await
}
