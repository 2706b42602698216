//! Headless Chromium through its driver, at a phone's or a desktop's size, in light or dark.
//!
//! Each session has a driver and a profile of its own; both are gone when it ends.

use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

use anyhow::{Context, Result, bail};
use serde_json::json;
use thirtyfour::prelude::*;
use thirtyfour::{ChromiumLikeCapabilities, LoggingPrefsLogLevel};

use crate::page::Page;
use crate::screenshots;

/// A size of screen, in CSS pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Screen {
    /// 390 × 844, touched.
    Phone,
    /// 1280 × 900, with a mouse.
    Desktop,
}

impl Screen {
    /// Width and height.
    pub fn size(self) -> (u32, u32) {
        match self {
            Self::Phone => (390, 844),
            Self::Desktop => (1280, 900),
        }
    }

    /// Its name in the names of pictures.
    pub fn name(self) -> &'static str {
        match self {
            Self::Phone => "phone",
            Self::Desktop => "desktop",
        }
    }
}

/// What the reader's system prefers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scheme {
    /// Dark ink on light paper.
    Light,
    /// Light ink on a dark ground.
    Dark,
}

impl Scheme {
    /// Its name in CSS and in the names of pictures.
    pub fn name(self) -> &'static str {
        match self {
            Self::Light => "light",
            Self::Dark => "dark",
        }
    }
}

/// As few calls home as Chromium can be told to make, and a page that holds still.
const FLAGS: [&str; 10] = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
];

/// Opens a page of the program, does the work, and ends the browser whatever came of it.
///
/// When the work fails, a picture of the page as it then was lies in `target/screenshots`.
///
/// # Errors
/// No Chromium or driver here, or the work's own error.
pub async fn with_page(
    base: &str,
    screen: Screen,
    scheme: Scheme,
    work: impl AsyncFnOnce(&Page) -> Result<()>,
) -> Result<()> {
    let chromium = program("chromium")?;
    let (driver, port) = Driver::start()?;
    let profile = tempfile::tempdir()?;
    let mut wanted = DesiredCapabilities::chrome();
    wanted.set_binary(chromium.to_str().context("the path is not UTF-8")?)?;
    for flag in FLAGS {
        wanted.add_arg(flag)?;
    }
    wanted.add_arg(&format!("--user-data-dir={}", profile.path().display()))?;
    wanted.set_logging_prefs("browser", LoggingPrefsLogLevel::All)?;
    wanted.set_logging_prefs("performance", LoggingPrefsLogLevel::All)?;
    let session = WebDriver::new(format!("http://127.0.0.1:{port}"), wanted)
        .await
        .context("Chromium did not start")?;
    let page = Page::new(session.clone(), base, screen, scheme);
    let mut result = dress(&page).await;
    if result.is_ok() {
        result = work(&page).await;
    }
    if let Err(error) = result {
        let name = format!("failed-{}-{}", screen.name(), scheme.name());
        page.shot(&name).await.ok();
        let at = session.current_url().await.map(String::from);
        let at = at.unwrap_or_else(|_| "a page that is gone".to_owned());
        let picture = screenshots().join(format!("{name}.png"));
        result = Err(error.context(format!("at {at}, see {}", picture.display())));
    }
    session.quit().await.ok();
    drop(driver);
    result
}

/// Puts the page at its size and in its colours.
async fn dress(page: &Page) -> Result<()> {
    let (width, height) = page.screen.size();
    page.resize(width, height).await?;
    let cdp = page.session.cdp();
    let touched = page.screen == Screen::Phone;
    let touch = json!({"enabled": touched, "maxTouchPoints": 1});
    cdp.send_raw("Emulation.setTouchEmulationEnabled", touch)
        .await?;
    let media = json!({"features": [
        {"name": "prefers-color-scheme", "value": page.scheme.name()},
        {"name": "prefers-reduced-motion", "value": "reduce"},
    ]});
    cdp.send_raw("Emulation.setEmulatedMedia", media).await?;
    Ok(())
}

/// A running chromedriver.
struct Driver(Child);

impl Driver {
    /// Starts it on a port that it chooses itself.
    fn start() -> Result<(Self, u16)> {
        let mut child = Command::new(program("chromedriver")?)
            .args(["--port=0"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let out = child.stdout.take().context("no stdout")?;
        let driver = Self(child);
        let (said, heard) = mpsc::channel();
        std::thread::spawn(move || {
            for line in BufReader::new(out).lines().map_while(Result::ok) {
                said.send(line).ok();
            }
        });
        while let Ok(line) = heard.recv_timeout(Duration::from_secs(30)) {
            if let Some((_, port)) = line.split_once("started successfully on port ") {
                return Ok((driver, port.trim_end_matches('.').parse()?));
            }
        }
        bail!("chromedriver did not name its port within 30 s")
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        self.0.kill().ok();
        self.0.wait().ok();
    }
}

/// Where a program lies, or how to get it.
fn program(name: &str) -> Result<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&path).map(|folder| folder.join(name));
    found
        .into_iter()
        .find(|path| path.is_file())
        .with_context(|| {
            format!(
                "the browser tests need `{name}`, which is not on this machine: run \
             `cargo xtask test` (or `cargo xtask tools`), which installs it"
            )
        })
}
