//! Every page of the demo: no dead link, and no fault at phone or desktop width, light or dark.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use anyhow::{Result, ensure};
use spoolwright_browser_tests::app::App;
use spoolwright_browser_tests::browser::{Scheme, Screen, with_page};
use spoolwright_browser_tests::http;

/// More pages than this are not visited; the demo has fewer.
const MOST: usize = 600;

/// The links of a page to the program's own pages, without what follows `#`.
fn links(html: &str) -> Vec<String> {
    let mut found = Vec::new();
    for part in html.split("href=\"").skip(1) {
        let href = part.split(['"', '#']).next().unwrap_or_default();
        if href.starts_with('/') && !href.starts_with("/static/") {
            found.push(href.replace("&amp;", "&"));
        }
    }
    found
}

/// What kind of page it is: the address with its numbers and labels left out.
fn kind(path: &str) -> String {
    let parts = path.split('/').map(|part| {
        let (own, query) = part.split_once('?').unwrap_or((part, ""));
        let named = own.chars().any(|c| c.is_ascii_digit());
        let asked: Vec<&str> = query
            .split('&')
            .filter_map(|q| q.split('=').next())
            .collect();
        format!("{}{}", if named { "…" } else { own }, asked.join("&"))
    });
    parts.collect::<Vec<_>>().join("/")
}

/// Every page that can be reached from the first by links, and whether it is one to look at.
fn reach(base: &str) -> Result<BTreeMap<String, bool>> {
    let mut seen = BTreeMap::new();
    let mut waiting = VecDeque::from(["/".to_owned()]);
    while let Some(path) = waiting.pop_front() {
        if seen.contains_key(&path) || seen.len() >= MOST {
            continue;
        }
        let answer = http::get(base, &path)?;
        if let (303, Some(next)) = (answer.status, answer.header("location")) {
            waiting.push_back(next.to_owned());
            seen.insert(path, false);
            continue;
        }
        ensure!(answer.status == 200, "{path} answers {}", answer.status);
        let kind = answer.header("content-type").unwrap_or_default().to_owned();
        let page = kind.starts_with("text/html");
        if page {
            waiting.extend(links(&answer.text()));
        }
        seen.insert(path, page);
    }
    Ok(seen)
}

/// One page of each kind.
fn samples(base: &str) -> Result<Vec<String>> {
    let mut kinds = BTreeSet::new();
    let pages = reach(base)?;
    let pages = pages.into_iter().filter(|(_, page)| *page);
    Ok(pages
        .map(|(path, _)| path)
        .filter(|path| kinds.insert(kind(path)))
        .collect())
}

async fn look(screen: Screen, scheme: Scheme) -> Result<()> {
    let app = App::demo()?;
    let samples = samples(&app.url)?;
    ensure!(samples.len() > 15, "only {} kinds of page", samples.len());
    with_page(&app.url, screen, scheme, async |page| {
        let mut faults = Vec::new();
        for path in &samples {
            page.go(path).await?;
            let name = format!("page{}", path.replace(['/', '?', '=', '&'], "-"));
            if let Err(error) = page.inspect(&name).await {
                faults.push(format!("{path} {error}"));
            }
        }
        ensure!(faults.is_empty(), "\n{}", faults.join("\n"));
        Ok(())
    })
    .await
}

#[tokio::test]
async fn pages_are_sound_on_a_phone() -> Result<()> {
    look(Screen::Phone, Scheme::Light).await?;
    look(Screen::Phone, Scheme::Dark).await
}

#[tokio::test]
async fn pages_are_sound_on_a_desktop() -> Result<()> {
    look(Screen::Desktop, Scheme::Light).await?;
    look(Screen::Desktop, Scheme::Dark).await
}

#[test]
fn no_link_is_dead() -> Result<()> {
    let pages = reach(&App::demo()?.url)?;
    ensure!(pages.len() > 40, "only {} pages reached", pages.len());
    ensure!(pages.len() < MOST, "there are more pages than were visited");
    Ok(())
}

#[test]
fn kinds_of_pages() {
    assert_eq!(kind("/cans/3/edit"), kind("/cans/41/edit"));
    assert_eq!(kind("/roll/HM-07"), kind("/roll/AB-11"));
    assert_ne!(kind("/rolls"), kind("/rolls?state=wound"));
    assert_eq!(
        links("<a href=\"/cans#weigh\"><a href=\"/static/x\">"),
        ["/cans"]
    );
}
