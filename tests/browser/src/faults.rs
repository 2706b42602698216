//! What is wrong with a page: serious faults that axe-core finds, errors in the console, requests
//! that leave the machine, content wider than the screen; on a phone, controls too small for a thumb and
//! menus that cut their words.

use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};

use crate::browser::Screen;
use crate::page::Page;
use crate::root;

/// WCAG 2.2 A and AA, and target size, which axe leaves off unless asked.
const RUN: &str = "
    const done = arguments[arguments.length - 1];
    axe.run(document, {
        runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
        rules: {'target-size': {enabled: true}},
        resultTypes: ['violations'],
    }).then(found => done({rules: found.passes.length, violations: found.violations.map(v => ({
        id: v.id, impact: v.impact, help: v.help,
        nodes: v.nodes.map(n => n.target.join(' ') + ' ' + n.html.slice(0, 160)),
    }))}), error => done({error: String(error)}));";

/// Everything wrong since the last time it was asked, one line each.
///
/// # Errors
/// axe-core is not installed, or the browser is gone.
pub async fn of(page: &Page) -> Result<Vec<String>> {
    let mut found = accessibility(page).await?;
    found.extend(console(page).await?);
    found.extend(requests(page).await?);
    found.extend(width(page).await?);
    if page.screen == Screen::Phone {
        found.extend(thumbs(page).await?);
    }
    Ok(found)
}

/// Controls lower than a thumb needs, and menus whose words do not fit. Links within a line of text are as
/// high as the text; a box to tick is as large as its label.
async fn thumbs(page: &Page) -> Result<Vec<String>> {
    let script = "const found = [], pen = document.createElement('canvas').getContext('2d');
        const told = it => it.outerHTML.slice(0, 120);
        for (const it of document.querySelectorAll('main :is(a, button, input, select, textarea, summary)')) {
            const label = ['checkbox', 'radio'].includes(it.type) ? it.closest('label') : null;
            const high = (label ?? it).getBoundingClientRect().height;
            const inline = it.tagName === 'A' && getComputedStyle(it).display === 'inline';
            if (0 < high && high < 43.5 && !inline) found.push(`too low for a thumb, ${high} px: ${told(it)}`);
        }
        for (const it of document.querySelectorAll('main select')) {
            const style = getComputedStyle(it);
            // The whole shorthand is empty where digits have a style of their own.
            pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
            const room = it.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
            for (const { text } of it.options) {
                const wide = pen.measureText(text).width;
                if (0 < it.clientWidth && room + 1 < wide)
                    found.push(`a menu cuts its words, ${wide.toFixed()} > ${room} px: ${text}`);
            }
        }
        return found;";
    let found = page.script(script).await?;
    let found = found.as_array().into_iter().flatten();
    Ok(found.filter_map(|f| Some(f.as_str()?.to_owned())).collect())
}

/// Serious and critical violations by axe-core.
async fn accessibility(page: &Page) -> Result<Vec<String>> {
    let path = root().join(".tools/node_modules/axe-core/axe.min.js");
    let axe = std::fs::read_to_string(&path).context(
        "axe-core is not installed: run `cargo xtask test` (or `cargo xtask tools`), which fetches it",
    )?;
    page.script(&axe).await?;
    let report = page.session.execute_async(RUN, Vec::new()).await?;
    let report = report.json();
    ensure!(
        report["error"].is_null(),
        "axe-core failed: {}",
        report["error"]
    );
    ensure!(
        report["rules"].as_u64() > Some(0),
        "axe-core checked nothing"
    );
    let violations = report["violations"].as_array().into_iter().flatten();
    let serious = violations.filter(|v| ["serious", "critical"].iter().any(|s| v["impact"] == *s));
    Ok(serious
        .map(|v| {
            let text = |key: &str| v[key].as_str().unwrap_or_default().to_owned();
            let nodes = v["nodes"].as_array().into_iter().flatten();
            let nodes: Vec<&str> = nodes.filter_map(Value::as_str).take(4).collect();
            let (id, impact, help) = (text("id"), text("impact"), text("help"));
            format!("{impact}, {id}: {help}: {}", nodes.join(" ; "))
        })
        .collect())
}

/// Errors in the console.
async fn console(page: &Page) -> Result<Vec<String>> {
    let log = page.session.browser_log().await?;
    let errors = log.into_iter().filter(|entry| entry.level == "SEVERE");
    Ok(errors
        .map(|entry| format!("console: {}", entry.message))
        .collect())
}

/// Requests to any host but 127.0.0.1.
async fn requests(page: &Page) -> Result<Vec<String>> {
    let mut found = Vec::new();
    for entry in page.session.get_log("performance").await? {
        let event: Value = serde_json::from_str(&entry.message)?;
        let event = &event["message"];
        if event["method"] != json!("Network.requestWillBeSent") {
            continue;
        }
        let url = event["params"]["request"]["url"]
            .as_str()
            .unwrap_or_default();
        if leaves(url) {
            found.push(format!("a request leaves the machine: {url}"));
        }
    }
    Ok(found)
}

/// Whether an address is somewhere else than on this machine or within the page.
fn leaves(url: &str) -> bool {
    let inside = ["data:", "blob:", "about:", "chrome:"];
    let host = url.split_once("://").map_or("", |(_, rest)| rest);
    let host = host.split(['/', ':', '?']).next().unwrap_or_default();
    host != "127.0.0.1" && !inside.iter().any(|scheme| url.starts_with(scheme))
}

/// Content that makes the page scroll sideways.
async fn width(page: &Page) -> Result<Vec<String>> {
    let script = "const root = document.documentElement, wide = root.clientWidth;
        if (root.scrollWidth <= wide) return '';
        const out = [...document.querySelectorAll('body *')].filter(e => {
            const box = e.getBoundingClientRect();
            return box.width > 0 && box.right > wide + 1;
        });
        return root.scrollWidth + ' > ' + wide + ': '
            + out.slice(0, 3).map(e => e.outerHTML.slice(0, 120)).join(' ; ');";
    let said = page.script(script).await?;
    let said = said.as_str().unwrap_or_default();
    Ok(match said {
        "" => Vec::new(),
        wide => vec![format!("wider than the screen: {wide}")],
    })
}

#[cfg(test)]
mod tests {
    use super::leaves;

    #[test]
    fn only_this_machine_is_home() {
        assert!(!leaves("http://127.0.0.1:4000/cans"));
        assert!(!leaves("data:image/svg+xml,x"));
        assert!(leaves("https://fonts.example/ink.woff2"));
        assert!(leaves("http://127.0.0.1.example/"));
    }
}
