//! The whole main job, as a person does it for the first time: stock, loader, can, weighing, wants,
//! plan, two rolls wound, a label printed, and a step taken back.

use std::io::Write;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, ensure};
use spoolwright_browser_tests::app::{App, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::page::Page;

/// The two ends of the interval printed beside what is left.
async fn interval(page: &Page) -> Result<(f64, f64)> {
    let script = "return document.querySelector('.loud .interval').textContent";
    let said = page.script(script).await?;
    let said = said.as_str().context("no interval on the page")?;
    let numbers: Vec<f64> = said
        .split([' ', '\u{a0}', '\u{202f}'])
        .filter_map(|word| word.parse().ok())
        .collect();
    match numbers[..] {
        [low, high, ..] => Ok((low, high)),
        _ => anyhow::bail!("no two numbers in `{said}`"),
    }
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

async fn first_use(page: &Page) -> Result<()> {
    page.go("/").await?;
    page.sees("Welcome to the bench").await?;
    page.inspect("job-1-stock").await?;
    page.fill("name", "Harbour Mist").await?;
    page.fill("ei", "250").await?;
    page.press("Add the stock").await?;

    page.sees("What do you wind it with?").await?;
    page.inspect("job-2-loader").await?;
    page.fill("name", "the grey one").await?;
    page.press("Add the loader").await?;

    page.sees("Which can do you have?").await?;
    page.inspect("job-3-can").await?;
    page.fill("stock", "Harbour Mist").await?;
    page.fill("length", "100 ft").await?;
    page.fill("letters", "HM").await?;
    page.fill("price", "60").await?;
    page.press("Add the can").await?;
    page.sees("Which cassettes do you have?").await?;
    page.inspect("job-4-cassettes").await?;
    page.fill("label", "1-4").await?;
    page.press("Add the cassettes").await?;
    page.sees("30.48 m").await?;
    page.inspect("job-5-bench").await
}

/// Weighs the closed can that is open on the page.
async fn weigh(page: &Page, grams: &str) -> Result<()> {
    page.press("Shelf").await?;
    page.press("HM").await?;
    page.press("Weigh").await?;
    page.inspect("job-6-weigh").await?;
    page.fill("grams", grams).await?;
    page.press("Weighed").await?;
    page.sees(&format!("{grams} g")).await
}

/// A full can: what is left is what it came with, one per cent either way.
async fn weigh_full(page: &Page) -> Result<()> {
    weigh(page, "341.1").await?;
    let (low, high) = interval(page).await?;
    ensure!(
        low < 30.48 && 30.48 < high && high - low < 1.0,
        "{low} to {high}"
    );
    page.inspect("job-7-weighed").await
}

/// After two rolls of 30 and 12 frames, in room light: 54 clicks of 38 mm [G5] and twice the
/// uncounted film, about 2.24 m, which at 7.5 g/m [G15] is 16.8 g less on the scale.
async fn weigh_after(page: &Page) -> Result<()> {
    page.press("Shelf").await?;
    page.press("HM").await?;
    let (low, high) = interval(page).await?;
    weigh(page, "324.3").await?;
    let (lower, higher) = interval(page).await?;
    ensure!(lower < 28.24 && 28.24 < higher, "{lower} to {higher}");
    ensure!(
        higher - lower <= high - low,
        "{lower} to {higher} is wider than {low} to {high}"
    );
    page.inspect("job-16-weighed-after").await
}

async fn plan(page: &Page) -> Result<()> {
    page.press("Plan").await?;
    for (what_for, frames) in [("the coast walk", "30"), ("a birthday", "12")] {
        page.press("Add a want").await?;
        page.fill("what_for", what_for).await?;
        page.fill("frames", frames).await?;
        page.inspect("job-8-want").await?;
        page.press("Add the want").await?;
        page.sees(what_for).await?;
    }
    page.sees("2 rolls").await?;
    page.sees("42 frames").await?;
    page.inspect("job-9-plan").await?;
    page.press("Queue these 2 rolls").await?;
    page.sees("2 rolls to wind").await?;
    page.inspect("job-10-queue").await
}

async fn wind(page: &Page, label: &str) -> Result<()> {
    page.press("Bench").await?;
    page.press(&format!("Wind {label}")).await?;
    page.sees("When it is wound").await?;
    page.inspect(&format!("job-11-ticket-{label}")).await?;
    page.press("Cassette empty").await?;
    page.press("Wound it").await?;
    page.sees("Print its label").await?;
    let path = page.path().await?;
    ensure!(path.starts_with(&format!("/roll/{label}")), "led to {path}");
    page.inspect(&format!("job-12-roll-{label}")).await
}

/// Opens the label sheet of the roll on the page.
async fn label(page: &Page, label: &str) -> Result<()> {
    page.press("Print its label").await?;
    page.inspect("job-13-print").await?;
    let sheet = page.leads_to("Open the PDF").await?;
    let answer = page.fetch(&sheet)?;
    ensure!(
        answer.header("content-type") == Some("application/pdf"),
        "{}",
        answer.head
    );
    ensure!(answer.body.starts_with(b"%PDF-"), "not a PDF");
    let again = page.fetch(&sheet)?;
    ensure!(again.body == answer.body, "the same sheet has other bytes");
    let text = text_of(&answer.body)?;
    for wanted in [label, "Harbour Mist", "250"] {
        ensure!(text.contains(wanted), "no `{wanted}` on the label: {text}");
    }
    Ok(())
}

/// Takes back the last winding: its roll goes and its ticket waits again. Then winds it once more.
async fn undo(page: &Page) -> Result<()> {
    page.press("Bench").await?;
    page.press("More").await?;
    page.press("History").await?;
    page.inspect("job-14-history").await?;
    page.press("Undo").await?;
    page.press("Rolls").await?;
    page.sees("HM-01").await?;
    let text = page.text().await?;
    ensure!(!text.contains("HM-02"), "the roll is still there: {text}");
    page.press("Plan").await?;
    page.press("Queue").await?;
    page.sees("1 roll to wind").await?;
    wind(page, "HM-02").await?;
    page.press("Rolls").await?;
    page.sees("HM-02").await?;
    page.inspect("job-15-rolls").await
}

async fn main_job(screen: Screen, scheme: Scheme) -> Result<()> {
    let folder = folder()?;
    let app = App::over(&folder.path().join("shelf.sqlite"))?;
    with_page(&app.url, screen, scheme, async |page| {
        first_use(page).await?;
        weigh_full(page).await?;
        plan(page).await?;
        wind(page, "HM-01").await?;
        wind(page, "HM-02").await?;
        label(page, "HM-02").await?;
        undo(page).await?;
        weigh_after(page).await
    })
    .await
}

#[tokio::test]
async fn main_job_on_a_phone() -> Result<()> {
    main_job(Screen::Phone, Scheme::Light).await
}

#[tokio::test]
async fn main_job_on_a_desktop() -> Result<()> {
    main_job(Screen::Desktop, Scheme::Dark).await
}
