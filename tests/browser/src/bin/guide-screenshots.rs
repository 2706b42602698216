//! Takes the guide's pictures, for `cargo xtask screenshots`: `guide-screenshots FOLDER`.
//!
//! They come from the demo and from small stores filled through the command line, so every number in
//! them is the program's own. A picture shows a part of a page: from a heading on, so many pixels.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail, ensure};
use serde_json::json;
use spoolwright_browser_tests::app::{App, ask, folder};
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::page::Page;

/// Screen pixels for a CSS pixel: the sharpest that stays light enough.
const SCALES: [f64; 4] = [1.5, 1.25, 1.0, 0.75];

/// Pictures are read over slow lines too.
const MOST_BYTES: usize = 150_000;

#[tokio::main]
async fn main() -> Result<()> {
    let to = std::env::args_os().nth(1);
    let album = Album(PathBuf::from(to.context("guide-screenshots FOLDER")?));
    std::fs::create_dir_all(&album.0)?;
    let stores = folder()?;
    first_evening(&album, &stores.path().join("new.sqlite")).await?;
    how_much(&album, &stores.path().join("taught.sqlite")).await?;
    long_can(&album, &stores.path().join("long.sqlite")).await?;
    wedge_bench(&album, &stores.path().join("wedge.sqlite")).await?;
    demo(&album).await?;
    at_the_tank(&album, &stores.path().join("tank.sqlite")).await?;
    in_the_field(&album, &stores.path().join("field.sqlite")).await?;
    paper(&album, stores.path())
}

/// The three forms that an empty store asks for.
async fn first_evening(album: &Album, store: &Path) -> Result<()> {
    let app = App::over(store)?;
    with_page(&app.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/").await?;
        album.take(page, "01-stock", "", 800.0).await?;
        page.fill("name", "Harbour Mist 250").await?;
        page.fill("ei", "250").await?;
        page.press("Add the stock").await?;
        page.sees("What do you wind it with?").await?;
        album
            .take(page, "01-loader", "What do you wind", 800.0)
            .await?;
        page.fill("name", "green loader").await?;
        page.press("Add the loader").await?;
        page.sees("Which can do you have?").await?;
        album.take(page, "01-can", "Which can", 800.0).await
    })
    .await
}

/// The guide's first two cans: half way through the first, and half way through the second, which
/// the first has taught.
async fn how_much(album: &Album, store: &Path) -> Result<()> {
    let say = |args: &[&str]| told(store, args);
    let wind = |can: &str, from: usize, to: usize| -> Result<()> {
        for n in from..=to {
            say(&["wind", "add", "--can", can, "--frames", "36"])?;
            say(&["wind", &format!("{can}-{n:02}"), "done"])?;
        }
        Ok(())
    };
    let add = |letters: &str| {
        let stock = ["can", "add", "--stock", "Harbour Mist 250", "--package"];
        say(&[&stock[..], &["tin with bag", "--letters", letters]].concat())
    };
    say(&["stock", "add", "--name", "Harbour Mist 250", "--ei", "250"])?;
    say(&["loader", "add", "--name", "green loader"])?;
    add("HM")?;
    wind("HM", 1, 9)?;
    let first = App::over(store)?;
    with_page(&first.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/cans/1").await?;
        album.take(page, "02-first-can", "", 930.0).await?;
        album
            .take(page, "02-what-would-narrow-it", "What would narrow", 430.0)
            .await?;
        page.go("/cans/1/weigh").await?;
        album.take(page, "02-weigh", "", 410.0).await
    })
    .await?;
    first.kill()?;
    wind("HM", 10, 17)?;
    say(&["wind", "add", "--can", "HM", "--frames", "36"])?;
    say(&["wind", "HM-18", "ran-out", "31"])?;
    say(&["can", "weigh", "HM", "--empty", "130"])?;
    add("HN")?;
    say(&["can", "weigh", "HN", "359"])?;
    wind("HN", 1, 9)?;
    say(&["can", "weigh", "HN", "242"])?;
    let second = App::over(store)?;
    with_page(&second.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/cans/2").await?;
        album.take(page, "02-second-can", "", 930.0).await?;
        page.go("/history").await?;
        page.press("Undo").await?;
        page.sees("Undid").await?;
        album.take(page, "07-history", "", 620.0).await
    })
    .await
}

/// A roll that goes on where it stopped, and the note of a frame.
async fn in_the_field(album: &Album, store: &Path) -> Result<()> {
    let say = |args: &[&str]| told(store, args);
    say(&["stock", "add", "--name", "Weir Grey 400", "--ei", "400"])?;
    say(&["can", "add", "--stock", "1", "--letters", "WG"])?;
    say(&["wind", "add", "--can", "WG", "--frames", "36"])?;
    say(&["wind", "WG-01", "done"])?;
    say(&["camera", "add", "--name", "Walking camera"])?;
    say(&["camera", "load", "WG-01"])?;
    for (subject, time) in [("heron, waiting", "1/250"), ("heron on the weir", "1/500")] {
        let gear = [
            "--aperture",
            "5.6",
            "--lens",
            "long one",
            "--place",
            "the weir",
        ];
        let note = [
            "note",
            "add",
            "WG-01",
            "--subject",
            subject,
            "--shutter",
            time,
        ];
        say(&[&note[..], &gear].concat())?;
    }
    say(&["camera", "unload", "WG-01", "--frame", "12"])?;
    let app = App::over(store)?;
    with_page(&app.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/roll/WG-01").await?;
        album.take(page, "14-roll", "", 620.0).await?;
        page.press("Put in camera").await?;
        page.sees("to go on at frame 14").await?;
        page.go("/roll/WG-01/note").await?;
        album.take(page, "14-note", "", 900.0).await
    })
    .await
}

/// Diameters for a long can.
async fn long_can(album: &Album, store: &Path) -> Result<()> {
    let say = |args: &[&str]| told(store, args);
    say(&["stock", "add", "--name", "Night Ferry 500", "--ei", "500"])?;
    let can = ["can", "add", "--stock", "Night Ferry 500"];
    let long = ["--length", "400 ft", "--letters", "NF", "--core-mm", "51"];
    say(&[&can[..], &long].concat())?;
    let app = App::over(store)?;
    with_page(&app.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/cans/1/break?parts=30.48+30.48+30.48&core_mm=&package=")
            .await?;
        album
            .take(page, "06-diameters", "Wind to these", 700.0)
            .await
    })
    .await
}

/// The densities of the guide's unknown stock.
const GREY: &str = "stops;5 min;8 min;12 min
base+fog;0.27;0.28;0.30
-6;0.28;0.31;0.33
-5;0.33;0.36;0.40
-4;0.41;0.48;0.55
-3.5;0.47;0.55;0.65
-3;0.53;0.64;0.76
-2;0.66;0.84;1.00
-1;0.82;1.03;1.26
0;0.96;1.23;1.51
1.5;1.17;1.54;1.90
3;1.38;1.84;2.27";

/// A stock nobody knows: its shot list, its curves, its target.
async fn wedge_bench(album: &Album, store: &Path) -> Result<()> {
    let say = |args: &[&str]| told(store, args);
    say(&["stock", "add", "--name", "Grey unmarked"])?;
    let can = ["can", "add", "--stock", "Grey unmarked", "--letters", "GU2"];
    say(&[&can[..], &["--length", "30 m"]].concat())?;
    let begin = ["wedge", "begin", "--name", "grey one", "--can", "GU2"];
    say(&[&begin[..], &["--meter-ei", "50"]].concat())?;
    let app = App::over(store)?;
    with_page(&app.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/wedge/1").await?;
        album.take(page, "10-shots", "Shot list", 1340.0).await?;
        page.go("/wedge/1/table").await?;
        page.fill("table", GREY).await?;
        page.press("Read the table").await?;
        page.sees("How long, at what speed").await?;
        album.take(page, "10-curves", "The curves", 800.0).await?;
        album
            .take(page, "10-target", "How long, at what", 1150.0)
            .await
    })
    .await
}

/// What only a full shelf shows.
async fn demo(album: &Album) -> Result<()> {
    let app = App::demo()?;
    with_page(&app.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/plan").await?;
        album.take(page, "03-plan", "", 800.0).await?;
        album.take(page, "03-cost", "What it costs", 640.0).await?;
        page.go("/queue").await?;
        page.press("Wind HM2").await?;
        page.sees("When it is wound").await?;
        album.take(page, "04-ticket", "", 860.0).await?;
        album
            .take(page, "04-checklist", "At the loader", 500.0)
            .await?;
        page.press("It went otherwise").await?;
        album
            .take(page, "04-when-wound", "When it is wound", 560.0)
            .await
    })
    .await?;
    with_page(&app.url, Screen::Phone, Scheme::Dark, async |page| {
        page.go("/queue").await?;
        page.press("Wind HM2").await?;
        page.sees("When it is wound").await?;
        album.take(page, "04-ticket-dark", "", 860.0).await
    })
    .await?;
    with_page(&app.url, Screen::Desktop, Scheme::Light, async |page| {
        page.go("/").await?;
        album.take(page, "00-bench-desktop", "", 1180.0).await
    })
    .await?;
    with_page(&app.url, Screen::Desktop, Scheme::Dark, async |page| {
        page.go("/cans/2").await?;
        album.take(page, "02-can-desktop-dark", "", 760.0).await
    })
    .await
}

/// The demo's wet bench, with one clock going.
async fn at_the_tank(album: &Album, store: &Path) -> Result<()> {
    ask(&["demo", "--keep", path(store)?])?;
    let app = App::over(store)?;
    with_page(&app.url, Screen::Phone, Scheme::Light, async |page| {
        page.go("/wet").await?;
        album.take(page, "11-wet", "", 1400.0).await?;
        page.press("Make runs of these").await?;
        page.sees("Why not all in one tank").await?;
        album.take(page, "11-plan", "", 900.0).await?;
        page.go("/wet/baths/4").await?;
        album.take(page, "11-bath", "", 700.0).await?;
        told(store, &["wet", "press", "4", "begin"])?;
        page.go("/wet/runs/4/clock").await?;
        album.take(page, "11-clock", "", 800.0).await
    })
    .await
}

/// Two sheets as they leave the printer, drawn by a PDF rasteriser.
fn paper(album: &Album, folder: &Path) -> Result<()> {
    let store = folder.join("paper.sqlite");
    ask(&["demo", "--keep", path(&store)?])?;
    for (sheet, name, crop) in [
        ("labels", "05-labels", [110, 36, 1020, 412]),
        ("tickets", "05-ticket", [155, 30, 470, 650]),
        ("dx", "05-dx", [50, 36, 1142, 400]),
    ] {
        let pdf = folder.join(format!("{sheet}.pdf"));
        told(&store, &["print", sheet, path(&pdf)?])?;
        let [x, y, w, h] = crop.map(|n: u32| n.to_string());
        let args = ["-png", "-singlefile", "-gray", "-r", "150", "-l", "1"];
        let crop = ["-x", &x, "-y", &y, "-W", &w, "-H", &h];
        let drawn = Command::new("pdftoppm")
            .args(args)
            .args(crop)
            .args([&pdf, &album.0.join(name)])
            .status();
        let drawn = drawn.context("pdftoppm is missing: run `cargo xtask tools`")?;
        ensure!(drawn.success(), "pdftoppm refuses {sheet}");
    }
    Ok(())
}

fn path(path: &Path) -> Result<&str> {
    path.to_str().context("the path is not UTF-8")
}

/// What the command line answers for this store.
fn told(store: &Path, args: &[&str]) -> Result<String> {
    ask(&[&["--store", path(store)?], args].concat())
}

/// Where the pictures go.
struct Album(PathBuf);

impl Album {
    /// Takes the page from this heading on (from its top for an empty one), at most so high.
    async fn take(&self, page: &Page, name: &str, heading: &str, most: f64) -> Result<()> {
        let (width, height) = page.screen.size();
        let tall = "return document.documentElement.scrollHeight";
        let tall = page.script(tall).await?.as_f64().unwrap_or(0.0);
        self.resize(page, tall, 1.0).await?;
        let ends = format!(
            "const main = document.querySelector('main').getBoundingClientRect();
            const heading = {};
            if (!heading) return [0, main.bottom];
            const at = [...document.querySelectorAll('main h1, main h2')]
                .find(h => h.textContent.includes(heading));
            return at ? [at.getBoundingClientRect().top - 16, main.bottom] : null;",
            json!(heading)
        );
        let ends = page.script(&ends).await?;
        let top = ends[0].as_f64().with_context(|| format!("no {heading}"))?;
        let high = (ends[1].as_f64().unwrap_or(tall) - top).min(most);
        let clip = json!({"x": 0, "y": top, "width": width, "height": high, "scale": 1});
        for scale in SCALES {
            self.resize(page, tall, scale).await?;
            let wish = json!({"format": "png", "clip": clip, "captureBeyondViewport": true});
            let cdp = page.session.cdp();
            let shot = cdp.send_raw("Page.captureScreenshot", wish).await?;
            let picture = decode(shot["data"].as_str().context("no picture")?)?;
            if picture.len() <= MOST_BYTES {
                self.resize(page, f64::from(height), 1.0).await?;
                let file = self.0.join(format!("{name}.png"));
                return std::fs::write(file, picture).context(name.to_owned());
            }
        }
        bail!("{name} is more than {MOST_BYTES} bytes")
    }

    async fn resize(&self, page: &Page, height: f64, scale: f64) -> Result<()> {
        let mobile = page.screen == Screen::Phone;
        let (width, _) = page.screen.size();
        let size =
            json!({"width": width, "height": height, "deviceScaleFactor": scale, "mobile": mobile});
        let cdp = page.session.cdp();
        cdp.send_raw("Emulation.setDeviceMetricsOverride", size)
            .await?;
        Ok(())
    }
}

/// Base64, as the browser sends its pictures.
fn decode(text: &str) -> Result<Vec<u8>> {
    const DIGITS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut bits, mut held, mut bytes) = (0_u32, 0_u32, Vec::with_capacity(text.len() * 3 / 4));
    for digit in text.bytes().filter(|b| *b != b'=') {
        let value = DIGITS.iter().position(|d| *d == digit);
        let value = value.context("not base64")?;
        bits = (bits << 6) | u32::try_from(value)?;
        held += 6;
        if held >= 8 {
            held -= 8;
            bytes.push(u8::try_from((bits >> held) & 0xff)?);
        }
    }
    Ok(bytes)
}
