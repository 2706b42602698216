//! Scans of a roll: a folder typed, looked at, matched, thumbnails seen, sidecars written; no image changes by a byte.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result, ensure};
use spoolwright_browser_tests::app::{App, ask, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::page::Page;

/// A picture as a scanner gives it: grey, a hill under a sky.
fn picture(hill: u32) -> Result<Vec<u8>> {
    let (width, height) = (600_u32, 400_u32);
    let pixels: Vec<u8> = (0..width * height)
        .map(|i| {
            let (x, y) = (i % width, i / width);
            let edge = 180 + hill * 12 + (x.abs_diff(300) / 6);
            let light = if y < edge {
                225 - y / 4
            } else {
                70 + (x % 9) * 2
            };
            light.min(255) as u8
        })
        .collect();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&pixels)?;
    writer.finish()?;
    Ok(bytes)
}

fn furnish(store: &Path) -> Result<()> {
    let store = store.to_str().context("the path is not UTF-8")?;
    for line in [
        "stock add --name Dune --ei 100",
        "loader add --name Bench",
        "can add --stock 1 --letters DS --loader Bench --length 30m",
        "wind add --can DS --frames 36",
        "wind 1 done",
        "note add DS-01 --frame 12 --subject heron",
    ] {
        let words: Vec<&str> = line.split(' ').collect();
        ask(&[&["--store", store], &words[..]].concat()).with_context(|| line.to_owned())?;
    }
    Ok(())
}

/// How many thumbnails are there to be seen, once every one of them has been asked for.
const SEEN: &str = "const all = [...document.querySelectorAll('.scans img')];
    all.forEach(img => { img.loading = 'eager'; });
    return Promise.all(all.map(img => img.decode())).then(() => all.filter(img => img.naturalWidth > 100).length)";

async fn a_folder(page: &Page, scans: &Path) -> Result<()> {
    page.go("/roll/DS-01").await?;
    page.press("Its scans").await?;
    page.inspect("scans-1-none").await?;
    page.fill("folder", scans.to_str().context("the path is not UTF-8")?)
        .await?;
    page.fill("by", "number").await?;
    page.press("Look at it").await?;
    page.sees("Nothing is recorded yet. 6 of 7 files would be matched.")
        .await?;
    page.sees("left out: no frame's number in its name").await?;
    page.inspect("scans-2-looked").await?;
    page.press("Match 6").await?;
    page.sees("to frames 10 to 15 of DS-01.").await?;
    let seen = page.script(SEEN).await?;
    ensure!(seen == 6, "{seen} thumbnails");
    page.inspect("scans-3-matched").await?;
    page.press("Write the sidecars").await?;
    page.sees("Wrote 6 sidecars for DS-01.").await?;
    page.sees("6 with a sidecar that says what is known.")
        .await?;
    page.inspect("scans-4-written").await?;
    page.press("Match another folder").await?;
    page.fill("folder", "scans").await?;
    page.press("Look at it").await?;
    page.sees("Type the path from its very beginning").await
}

async fn scanned(screen: Screen, scheme: Scheme) -> Result<()> {
    let folder = folder()?;
    let store = folder.path().join("scans.sqlite");
    furnish(&store)?;
    let scans = folder.path().join("DS-01");
    fs::create_dir(&scans)?;
    for n in 10..16 {
        fs::write(scans.join(format!("DS_{n:03}.png")), picture(n)?)?;
    }
    fs::write(scans.join("contact.png"), picture(0)?)?;
    let app = App::over(&store)?;
    with_page(&app.url, screen, scheme, async |page| {
        a_folder(page, &scans).await
    })
    .await?;
    for n in 10..16 {
        let now = fs::read(scans.join(format!("DS_{n:03}.png")))?;
        ensure!(now == picture(n)?, "image {n} changed");
    }
    let sidecar = fs::read_to_string(scans.join("DS_012.xmp"))?;
    ensure!(sidecar.contains("heron"), "{sidecar}");
    Ok(())
}

#[tokio::test]
async fn a_folder_of_scans_on_a_desktop() -> Result<()> {
    scanned(Screen::Desktop, Scheme::Light).await
}

#[tokio::test]
async fn a_folder_of_scans_on_a_phone_in_the_dark() -> Result<()> {
    scanned(Screen::Phone, Scheme::Dark).await
}
