//! The shell of the calculators: two lists of them, and the page that each stands on.
//!
//! A calculator is a form sent by GET: its address holds what was asked, and the answer stands above the form. What
//! each asks and answers is in `tools_mix` and `tools_light`.

use super::caveats;
use crate::service::settings::Settings;
use crate::service::wet::baths::BathView;
use crate::service::wet::tools::{Telling, mark_words};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use maud::{Markup, html};
use serde::de::DeserializeOwned;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::cautions::Caution;
use spoolwright_core::wet::mark::Mark;
use std::fmt::Write as _;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/mix", get(mixing))
        .route("/wet/light", get(light))
}

/// A calculator: its address, its name, what it answers, the terminal's word for the same sum.
pub(super) struct Tool {
    pub(super) path: &'static str,
    pub(super) name: &'static str,
    pub(super) does: &'static str,
    pub(super) twin: &'static str,
}

const fn tool(
    path: &'static str,
    name: &'static str,
    does: &'static str,
    twin: &'static str,
) -> Tool {
    Tool {
        path,
        name,
        does,
        twin,
    }
}

pub(super) static DILUTION: Tool = tool(
    "/wet/mix/dilution",
    "Dilution",
    "Concentrate and water for 1+25, and whether the film finds enough in it.",
    "mix, kind dilution",
);
pub(super) static FORMULA: Tool = tool(
    "/wet/mix/formula",
    "Formula",
    "A published formula or your own list for any volume: order, water, cautions, what to buy.",
    "mix, kinds formula and shopping",
);
pub(super) static BOTTLES: Tool = tool(
    "/wet/mix/bottles",
    "Part-used bottles",
    "One bath from two or more bottles of the same solution, the oldest first.",
    "mix, kind bottles",
);
pub(super) static PERCENT: Tool = tool(
    "/wet/mix/percent",
    "Weaker per cent",
    "How much of a strong solution makes a weaker one.",
    "mix, kind percent",
);
pub(super) static WATER: Tool = tool(
    "/wet/mix/water",
    "Hot and cold water",
    "How much of each for the temperature you want.",
    "mix, kind water",
);
pub(super) static SALT: Tool = tool(
    "/wet/mix/salt",
    "Another hydrate",
    "What to weigh when the jar holds the salt with more or less water in it.",
    "mix, kind salt",
);
pub(super) static TIME: Tool = tool(
    "/wet/light/time",
    "Time at another temperature",
    "The developing time in a bath that is warmer or cooler.",
    "devtime",
);
pub(super) static PUSH: Tool = tool(
    "/wet/light/push",
    "Push or pull",
    "The time for film exposed at another speed.",
    "devtime, with push",
);
pub(super) static LONG: Tool = tool(
    "/wet/light/long",
    "Long exposures",
    "What to give when the meter asks for more than a second.",
    "reciprocity",
);
pub(super) static FILTER: Tool = tool(
    "/wet/light/filter",
    "Filters",
    "Which filter turns one light into another, and what it costs.",
    "filter",
);
pub(super) static EXPOSURE: Tool = tool(
    "/wet/light/exposure",
    "Equivalent exposures",
    "The exposure value, and the same light at other f-numbers.",
    "filter, with an exposure",
);

static MIXING: [&Tool; 6] = [&DILUTION, &FORMULA, &BOTTLES, &PERCENT, &WATER, &SALT];
static LIGHT: [&Tool; 5] = [&TIME, &PUSH, &LONG, &FILTER, &EXPOSURE];

async fn mixing(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let body = html! {
        h1 { "Mixing" }
        (list(&MIXING))
        p.ways-on { a href="/wet/baths/new" { "Mixed something: write its card" } " " a href="/wet/light" { "Light and filters" } " " a href="/wet" { "Wet bench" } }
    };
    app.show(sheet("Mixing", "Mixing"), &asked, body).await
}

async fn light(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let body = html! {
        h1 { "Light and filters" }
        (list(&LIGHT))
        p.ways-on { a href="/wet/mix" { "Mixing" } " " a href="/wet/times" { "Developing times" } " " a href="/wet" { "Wet bench" } }
    };
    app.show(
        sheet("Light and filters", "Light and filters"),
        &asked,
        body,
    )
    .await
}

fn sheet(title: &str, name: &str) -> Page {
    Page::new(Way::Wet, title).sheet(name)
}

fn list(tools: &[&Tool]) -> Markup {
    html! {
        ul.rows {
            @for t in tools {
                li { a.row href=(t.path) { span.what { span.name { (t.name) } span.more { (t.does) } } } }
            }
        }
    }
}

/// What a calculator's form shows beside what was typed.
pub(super) struct Known {
    pub(super) settings: Settings,
    /// Baths in use; only for the calculator that pours from them.
    pub(super) baths: Vec<BathView>,
}

impl Known {
    /// The unit that temperatures are typed in.
    pub(super) fn degrees(&self) -> &'static str {
        if self.settings.fahrenheit {
            "°F"
        } else {
            "°C"
        }
    }

    /// An example in the user's degrees.
    pub(super) fn example(&self, celsius: &'static str, fahrenheit: &'static str) -> &'static str {
        if self.settings.fahrenheit {
            fahrenheit
        } else {
            celsius
        }
    }
}

/// A calculator's page: what was asked, answered above the form that asks.
pub(super) async fn work<D, V>(
    app: &App,
    query: Option<String>,
    tool: &'static Tool,
    ask: fn(&Service, &D) -> Outcome<V>,
    answer: fn(&V, &Form) -> Markup,
    fields: fn(&Form, &Known, Option<&V>) -> Markup,
) -> Answer
where
    D: DeserializeOwned + Default + Send + 'static,
    V: Send + 'static,
{
    let form = Form::from_query(&query.unwrap_or_default());
    let pours = tool.path == BOTTLES.path;
    let known = app
        .ask(move |s| {
            let mut baths = if pours { s.baths()? } else { Vec::new() };
            baths.retain(|b| !b.card.closed);
            Ok(Known {
                settings: s.settings()?,
                baths,
            })
        })
        .await?;
    let (form, told) = if form.text("ask").is_empty() {
        (form, None)
    } else {
        let draft: D = form.draft(&["bath"]);
        match app.look(move |s| ask(s, &draft)).await? {
            Ok(told) => (form, Some(told)),
            Err(failure) => (form.refused_by(failure)?, None),
        }
    };
    let mixing = MIXING.iter().any(|t| t.path == tool.path);
    let (up, family, others): (_, _, &[&Tool]) = if mixing {
        ("/wet/mix", "Mixing", &MIXING)
    } else {
        ("/wet/light", "Light and filters", &LIGHT)
    };
    let body = html! {
        h1 { (tool.name) }
        @match &told {
            Some(told) => { div role="status" { (answer(told, &form)) } h2 { "Ask again" } }
            None => { p.soft { (tool.does) } }
        }
        (form.refusals())
        form.form method="get" action=(tool.path) {
            input type="hidden" name="ask" value="yes";
            (fields(&form, &known, told.as_ref()))
            (main_act("Work it out"))
        }
        p.hint { "At the terminal: " code { "spoolwright calc " (tool.twin.split(',').next().unwrap_or_default()) } (tool.twin.find(',').map_or("", |at| &tool.twin[at..])) "." }
        p.ways-on { @for t in others { @if t.path != tool.path { a href=(t.path) { (t.name) } " " } } a href=(up) { (family) } }
    };
    form.answer(sheet(tool.name, family).show(body))
}

/// One figure that was asked for.
pub(super) struct Figure {
    label: String,
    value: String,
    unit: &'static str,
    below: String,
}

impl Figure {
    pub(super) fn new(
        label: impl Into<String>,
        value: impl Into<String>,
        unit: &'static str,
        below: impl Into<String>,
    ) -> Self {
        Self {
            label: label.into(),
            value: value.into(),
            unit,
            below: below.into(),
        }
    }

    /// A volume, with ounces below for those who use them.
    pub(super) fn volume(label: impl Into<String>, ml: f64, telling: Telling) -> Self {
        let (value, ounces) = telling.volume_parts(ml);
        Self::new(label, value, "ml", ounces)
    }
}

/// The figures that were asked for, large: what it is, its value, what stands below it.
pub(super) fn figures(all: &[Figure]) -> Markup {
    html! {
        div.answer {
            @for f in all {
                div.loud {
                    span.label { (f.label) }
                    span.value { (f.value) @if !f.unit.is_empty() { " " span.unit { (f.unit) } } }
                    @if !f.below.is_empty() { span.interval { (f.below) } }
                }
            }
        }
    }
}

/// Which sum it was, how its figures are known, and what limits it.
pub(super) fn model(mark: Option<Mark>, words: &str, limits: &[Caveat]) -> Markup {
    html! {
        p { span.stamp.ink { (mark.map_or("plain arithmetic", mark_words)) } " " (words) }
        (caveats(limits))
    }
}

/// What to mind.
pub(super) fn cautions(all: &[Caution]) -> Markup {
    html! {
        details open {
            summary { "Mind" }
            ul { @for c in all { li { (c.text) } } }
        }
    }
}

/// An address with what it carries behind the question mark; empty values are left out.
pub(super) fn address(path: &str, values: &[(&str, &str)]) -> String {
    let mut out = path.to_owned();
    let mut joint = '?';
    for (name, value) in values.iter().filter(|(_, v)| !v.is_empty()) {
        out.push(joint);
        joint = '&';
        out.push_str(name);
        out.push('=');
        for byte in value.bytes() {
            match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' => {
                    out.push(byte as char)
                }
                other => {
                    let _ = write!(out, "%{other:02X}");
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_carries_what_a_form_reads_back() {
        let values = [
            ("dilution", "1+25"),
            ("note", "½ & more = 100 %"),
            ("empty", ""),
        ];
        let address = address("/wet/baths/new", &values);
        assert_eq!(
            address,
            "/wet/baths/new?dilution=1%2B25&note=%C2%BD%20%26%20more%20%3D%20100%20%25"
        );
        let (_, query) = address.split_once('?').unwrap();
        let form = Form::from_query(query);
        for (name, value) in values {
            assert_eq!(form.text(name), value);
        }
    }
}
