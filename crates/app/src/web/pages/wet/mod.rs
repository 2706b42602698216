//! The wet bench's pages: what waits and what is going on, the plan, runs and their clocks, recipes, baths, tools.

pub(crate) mod baths;
mod clock;
mod clock_hands;
pub(crate) mod desk;
mod kit;
mod recipes;
pub(crate) mod runs;
pub(crate) mod times;
mod tools;
mod tools_light;
mod tools_mix;

use crate::web::app::App;
use axum::Router;
use maud::{Markup, html};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::record::TimeSource;

pub(crate) use kit::{SHELF, put_away};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .merge(baths::routes())
        .merge(clock::routes())
        .merge(desk::routes())
        .merge(kit::routes())
        .merge(recipes::routes())
        .merge(runs::routes())
        .merge(times::routes())
        .merge(tools::routes())
        .merge(tools_light::routes())
        .merge(tools_mix::routes())
}

/// Where a developing time comes from, in a word or two beside the number.
pub(crate) fn source(source: TimeSource) -> &'static str {
    match source {
        TimeSource::Card => "from the stock card",
        TimeSource::Sheet => "from a sheet",
        TimeSource::Own => "your own",
        TimeSource::Typed => "typed for this run",
        TimeSource::Rule => "rule of thumb",
    }
}

/// What limits a number, each once.
fn caveats(all: &[Caveat]) -> Markup {
    let mut told: Vec<&str> = Vec::new();
    for c in all {
        if !told.contains(&c.text.as_str()) {
            told.push(&c.text);
        }
    }
    html! {
        @if !told.is_empty() {
            div.note { @for text in told { p { (text) } } }
        }
    }
}
