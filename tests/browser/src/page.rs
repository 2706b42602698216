//! A page as a person sees it: fields by their names, buttons and links by what stands on them.

use std::time::Duration;

use anyhow::{Context, Result, bail, ensure};
use serde_json::{Value, json};
use thirtyfour::prelude::*;

use crate::browser::{Scheme, Screen};
use crate::{faults, http, screenshots};

/// How long a person would wait for a page before thinking it broken.
const PATIENCE: Duration = Duration::from_secs(10);

/// One tab on the program under test.
#[derive(Debug, Clone)]
pub struct Page {
    /// The WebDriver session, for what this type has no word for.
    pub session: WebDriver,
    /// The program's address.
    pub base: String,
    /// Its size.
    pub screen: Screen,
    /// Its colours.
    pub scheme: Scheme,
}

impl Page {
    pub(crate) fn new(session: WebDriver, base: &str, screen: Screen, scheme: Scheme) -> Self {
        let base = base.to_owned();
        Self {
            session,
            base,
            screen,
            scheme,
        }
    }

    pub(crate) async fn resize(&self, width: u32, height: u32) -> Result<()> {
        let mobile = self.screen == Screen::Phone;
        let metrics =
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": mobile});
        let cdp = self.session.cdp();
        cdp.send_raw("Emulation.setDeviceMetricsOverride", metrics)
            .await?;
        Ok(())
    }

    /// Goes to a path of the program, such as `/cans`.
    ///
    /// # Errors
    /// The page does not come.
    pub async fn go(&self, path: &str) -> Result<()> {
        let url = format!("{}{path}", self.base);
        self.session
            .goto(url)
            .await
            .with_context(|| format!("could not open {path}"))
    }

    /// Where the page is now, without the program's address.
    ///
    /// # Errors
    /// The browser is gone.
    pub async fn path(&self) -> Result<String> {
        let url = String::from(self.session.current_url().await?);
        Ok(url.strip_prefix(&self.base).unwrap_or(&url).to_owned())
    }

    /// All the text that can be seen, spaces made single.
    ///
    /// # Errors
    /// The browser is gone.
    pub async fn text(&self) -> Result<String> {
        let text = self.session.find(By::Tag("body")).await?.text().await?;
        Ok(text.split_whitespace().collect::<Vec<_>>().join(" "))
    }

    /// Waits until the page shows this text.
    ///
    /// # Errors
    /// It does not, after ten seconds; what it shows instead.
    pub async fn sees(&self, wanted: &str) -> Result<()> {
        let start = std::time::Instant::now();
        loop {
            // A page on its way to the next has no body to read for a moment.
            let text = self.text().await.unwrap_or_default();
            if text.to_lowercase().contains(&wanted.to_lowercase()) {
                return Ok(());
            }
            if start.elapsed() > PATIENCE {
                bail!("the page does not show `{wanted}`, but: {text}");
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Puts a value into the field of this name: types it, chooses the option, or ticks the box.
    ///
    /// # Errors
    /// There is no such field to be seen, or no such option.
    pub async fn fill(&self, name: &str, value: &str) -> Result<()> {
        let by = By::Css(format!("[name=\"{name}\"]:not([type=hidden])"));
        let field = self.shown(&[by], name).await?;
        let tag = field.tag_name().await?;
        let kind = field.attr("type").await?.unwrap_or_default();
        match (tag.as_str(), kind.as_str()) {
            ("select", _) => self.choose(&field, value).await,
            (_, "radio") => {
                let css = format!("[name=\"{name}\"][value=\"{value}\"]");
                let radio = self.session.find(By::Css(css)).await?;
                self.tap(&radio).await
            }
            (_, "checkbox") => {
                if field.is_selected().await? != (value == "on") {
                    self.tap(&field).await?;
                }
                Ok(())
            }
            (_, "date") => {
                let script = "arguments[0].value = arguments[1]; \
                    arguments[0].dispatchEvent(new Event('change', {bubbles: true}))";
                let args = vec![field.to_json()?, json!(value)];
                self.session.execute(script, args).await?;
                Ok(())
            }
            _ => {
                field.clear().await?;
                field.send_keys(value).await?;
                let now = field.value().await?.unwrap_or_default();
                ensure!(now == value, "`{name}` took `{now}` for `{value}`");
                Ok(())
            }
        }
    }

    /// Chooses the option that says so, or whose value is so.
    async fn choose(&self, field: &WebElement, value: &str) -> Result<()> {
        let mut offered = Vec::new();
        for option in field.find_all(By::Tag("option")).await? {
            let says = option.text().await?;
            let says = says.trim();
            let means = option.value().await?.unwrap_or_default();
            if says == value || means == value || says.starts_with(value) {
                option.click().await?;
                return Ok(());
            }
            offered.push(says.to_owned());
        }
        bail!("no option `{value}`, but: {}", offered.join(", "))
    }

    /// Presses the button or follows the link on which this stands, the first that can be seen:
    /// one that says just this before one that says more.
    ///
    /// # Errors
    /// There is none.
    pub async fn press(&self, label: &str) -> Result<()> {
        let saying = |test: &str, value: &str| {
            let tags = ["button", "a", "summary", "label"].map(|tag| format!("//{tag}[{test}]"));
            format!("{} | //input[@type='submit' and {value}]", tags.join(" | "))
        };
        let just = saying(
            &format!("normalize-space(.) = \"{label}\""),
            &format!("@value = \"{label}\""),
        );
        let more = saying(
            &format!("contains(normalize-space(.), \"{label}\")"),
            &format!("contains(@value, \"{label}\")"),
        );
        let ways = [By::XPath(just), By::XPath(more)];
        for _ in 0..5 {
            let element = self.shown(&ways, label).await?;
            match self.tap(&element).await {
                // Found on a page that was just being left, so never pressed: it is on the next one.
                Err(e) if format!("{e:#}").contains("stale element") => continue,
                done => return done,
            }
        }
        bail!("`{label}` goes before it can be pressed")
    }

    /// Brings an element into view and clicks it.
    async fn tap(&self, element: &WebElement) -> Result<()> {
        let script = "arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})";
        let args = vec![element.to_json()?];
        self.session.execute(script, args).await?;
        element.click().await?;
        Ok(())
    }

    /// The first element that can be seen, found in the first way that finds one, waited for.
    async fn shown(&self, ways: &[By], what: &str) -> Result<WebElement> {
        let start = std::time::Instant::now();
        loop {
            for by in ways {
                for element in self.session.find_all(by.clone()).await? {
                    if element.is_displayed().await.unwrap_or(false) {
                        return Ok(element);
                    }
                }
            }
            if start.elapsed() > PATIENCE {
                let text = self.text().await.unwrap_or_default();
                bail!("nothing like `{what}` on the page, which shows: {text}");
            }
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    /// Where a button of a form that only asks would lead, with all that the form says.
    ///
    /// # Errors
    /// There is no such button.
    pub async fn leads_to(&self, label: &str) -> Result<String> {
        let script = format!(
            "const button = [...document.querySelectorAll('form[method=get] button')]
                .find(button => button.textContent.trim() === {});
            if (!button) return null;
            const to = button.getAttribute('formaction') ?? button.form.getAttribute('action');
            return to + '?' + new URLSearchParams(new FormData(button.form));",
            json!(label)
        );
        let to = self.script(&script).await?;
        let to = to
            .as_str()
            .with_context(|| format!("no button `{label}`"))?;
        Ok(to.to_owned())
    }

    /// Fetches a path without the browser, and insists on a whole, good answer.
    ///
    /// # Errors
    /// The answer is not 200.
    pub fn fetch(&self, path: &str) -> Result<http::Response> {
        let answer = http::get(&self.base, path)?;
        ensure!(answer.status == 200, "{path} answers {}", answer.status);
        Ok(answer)
    }

    /// Runs a script in the page and hands back what it returns.
    ///
    /// # Errors
    /// The script throws.
    pub async fn script(&self, script: &str) -> Result<Value> {
        Ok(self
            .session
            .execute(script, Vec::new())
            .await?
            .json()
            .clone())
    }

    /// Takes a picture of the whole page, named after the screen and its colours.
    ///
    /// # Errors
    /// The picture cannot be taken or written.
    pub async fn picture(&self, name: &str) -> Result<()> {
        self.shot(&self.named(name)).await
    }

    /// Takes a picture of the whole page under exactly this name.
    pub(crate) async fn shot(&self, name: &str) -> Result<()> {
        let (width, height) = self.screen.size();
        self.unroll().await?;
        let taken = self.save(name).await;
        self.resize(width, height).await?;
        taken
    }

    /// Makes the screen as tall as the page, so that nothing is scrolled away or lies under a bar.
    async fn unroll(&self) -> Result<()> {
        let (width, height) = self.screen.size();
        let tall = "return Math.ceil(document.documentElement.scrollHeight)";
        let tall = self.script(tall).await?.as_u64().unwrap_or(0);
        let tall = u32::try_from(tall).unwrap_or(height).clamp(height, 8000);
        self.resize(width, tall).await
    }

    async fn save(&self, name: &str) -> Result<()> {
        let folder = screenshots();
        std::fs::create_dir_all(&folder)?;
        let taken = self.session.screenshot_as_png().await?;
        Ok(std::fs::write(folder.join(format!("{name}.png")), taken)?)
    }

    /// Takes the page's picture and fails if anything is wrong with it: see [`faults`].
    ///
    /// # Errors
    /// All faults at once, one a line.
    pub async fn inspect(&self, name: &str) -> Result<()> {
        let (width, height) = self.screen.size();
        self.unroll().await?;
        self.save(&self.named(name)).await?;
        let found = faults::of(self).await;
        self.resize(width, height).await?;
        let found = found?;
        ensure!(found.is_empty(), "{name}:\n  {}", found.join("\n  "));
        Ok(())
    }

    /// The same for a page that shows a refusal: the browser notes its status in the console.
    ///
    /// # Errors
    /// As for [`Page::inspect`].
    pub async fn inspect_refused(&self, name: &str) -> Result<()> {
        self.picture(name).await?;
        let mut found = faults::of(self).await?;
        found.retain(|fault| {
            !["422", "409"]
                .iter()
                .any(|s| fault.contains(&format!("a status of {s}")))
        });
        ensure!(found.is_empty(), "{name}:\n  {}", found.join("\n  "));
        Ok(())
    }

    fn named(&self, name: &str) -> String {
        format!("{name}-{}-{}", self.screen.name(), self.scheme.name())
    }
}
