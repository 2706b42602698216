//! Takes the guide's pictures from the demo, for `cargo xtask screenshots`: `guide-screenshots FOLDER`.
//!
//! Each picture is one of the guide's steps, on a phone in light colours unless it says otherwise.

use std::path::PathBuf;

use anyhow::{Context, Result};
use spoolwright_browser_tests::app::{App, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::http;
use spoolwright_browser_tests::page::Page;

#[tokio::main]
async fn main() -> Result<()> {
    let to = std::env::args_os()
        .nth(1)
        .context("guide-screenshots FOLDER")?;
    let to = PathBuf::from(to);
    std::fs::create_dir_all(&to)?;
    let folder = folder()?;
    let new = App::over(&folder.path().join("new.sqlite"))?;
    let full = App::demo()?;
    with_page(&new.url, Screen::Phone, Scheme::Light, async |page| {
        take(page, &to, "/", "first-use").await
    })
    .await?;
    let can = first(&full, "/cans", "/cans/")?;
    let ticket = first(&full, "/queue", "/tickets/")?;
    let weigh = format!("{can}/weigh");
    let phone: [(&str, &str); 11] = [
        ("/", "bench"),
        ("/cans", "shelf"),
        (&can, "can"),
        (&weigh, "weigh"),
        ("/plan", "plan"),
        ("/queue", "queue"),
        (&ticket, "ticket"),
        ("/rolls", "rolls"),
        ("/print/labels", "print"),
        ("/history", "history"),
        ("/settings", "settings"),
    ];
    with_page(&full.url, Screen::Phone, Scheme::Light, async |page| {
        for (path, name) in phone {
            take(page, &to, path, name).await?;
        }
        Ok(())
    })
    .await?;
    with_page(&full.url, Screen::Desktop, Scheme::Dark, async |page| {
        take(page, &to, "/", "bench-desktop-dark").await?;
        take(page, &to, &can, "can-desktop-dark").await
    })
    .await
}

/// The first link on a page to a numbered thing of this kind.
fn first(app: &App, page: &str, kind: &str) -> Result<String> {
    let html = http::get(&app.url, page)?.text();
    let links = html.split("href=\"").skip(1);
    links
        .filter_map(|part| part.split('"').next())
        .find(|link| {
            let number = link.strip_prefix(kind).unwrap_or_default();
            !number.is_empty() && number.chars().all(|c| c.is_ascii_digit())
        })
        .map(str::to_owned)
        .with_context(|| format!("{page} has no link to {kind}…"))
}

/// The screen as it first opens, not the whole length of the page.
async fn take(page: &Page, to: &std::path::Path, path: &str, name: &str) -> Result<()> {
    page.fetch(path)?;
    page.go(path).await?;
    let picture = page.session.screenshot_as_png().await?;
    std::fs::write(to.join(format!("{name}.png")), picture).with_context(|| name.to_owned())
}
