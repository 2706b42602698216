//! Refusals and questions at the loader: what is missing is named, what is hardly credible is asked
//! about, and everything typed stays.

use anyhow::{Result, ensure};
use spoolwright_browser_tests::app::{App, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::faults;
use spoolwright_browser_tests::http;
use spoolwright_browser_tests::page::Page;

/// A loader whose dial starts at -4, a full can of 100 ft, and a ticket for 12 frames.
fn set_up(app: &App) -> Result<()> {
    let forms: [(&str, &[(&str, &str)]); 5] = [
        ("/stocks", &[("name", "Harbour Mist")]),
        ("/loaders", &[("name", "the grey one"), ("dial_zero", "-4")]),
        ("/cassettes", &[("label", "1-3")]),
        (
            "/cans",
            &[("stock", "1"), ("letters", "HM"), ("loader", "1")],
        ),
        (
            "/tickets",
            &[("can", "1"), ("frames", "12"), ("light", "room")],
        ),
    ];
    for (path, fields) in forms {
        http::take(&app.url, path, fields)?;
    }
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

async fn at_the_loader(page: &Page) -> Result<()> {
    page.go("/tickets/1").await?;
    page.press("It went otherwise").await?;
    page.fill("dial", "8").await?;
    let told = "return document.querySelector('form output').value";
    let told_frames = page.script(told).await?;
    // From -4 to 8 are 12 clicks; leader and tail take 6.
    ensure!(told_frames == "12 clicks: 6 frames.", "{told_frames}");
    page.inspect("asked-1-dial").await?;

    page.fill("dial", "").await?;
    page.press("Stopped there").await?;
    page.sees("The clicks it stopped at").await?;
    refused(page, "asked-2-missing").await?;

    page.fill("clicks", "11").await?;
    page.press("The can ran out there").await?;
    page.sees("It is so").await?;
    refused(page, "asked-3-unlikely").await?;
    page.press("It is so").await?;
    page.press("The can ran out there").await?;
    page.sees("Can HM ran out").await?;
    page.inspect("asked-4-recorded").await?;

    page.go("/").await?;
    page.sees("No can is open").await?;
    page.inspect("asked-5-no-can").await
}

async fn asked(screen: Screen, scheme: Scheme) -> Result<()> {
    let folder = folder()?;
    let app = App::over(&folder.path().join("asked.sqlite"))?;
    set_up(&app)?;
    with_page(&app.url, screen, scheme, at_the_loader).await
}

#[tokio::test]
async fn refusals_and_questions_on_a_phone() -> Result<()> {
    asked(Screen::Phone, Scheme::Light).await
}

#[tokio::test]
async fn refusals_and_questions_on_a_desktop() -> Result<()> {
    asked(Screen::Desktop, Scheme::Dark).await
}
