//! The wet bench's first sheet: clocks that go, what waits to be developed, baths and what they have left.

use super::baths::verdict_words;
use super::source;
use crate::service::wet::baths::BathView;
use crate::service::wet::load::Waiting;
use crate::service::wet::recipes::RecipeView;
use crate::service::wet::runs::{RunClock, RunView};
use crate::service::wet::times::told_within;
use crate::service::wet::tools::Telling;
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::extract::State;
use axum::{Router, routing::get};
use maud::{Markup, html};
use spoolwright_core::wet::record::RunState;
use spoolwright_core::wet::timer::{Pause, Phase};
use spoolwright_core::wet::verdict::Verdict;

/// Rolls not yet said to be exposed that are listed at once.
const SHOWN: usize = 30;

pub(super) fn routes() -> Router<App> {
    Router::new().route("/wet", get(show))
}

struct Desk {
    clocks: Vec<RunClock>,
    planned: Vec<RunView>,
    uncounted: Vec<RunView>,
    waiting: Vec<Waiting>,
    recipes: Vec<RecipeView>,
    baths: Vec<BathView>,
    has_tank: bool,
    telling: Telling,
}

fn desk(s: &Service) -> Outcome<Desk> {
    let mut baths = s.baths()?;
    baths.retain(|b| !b.card.closed);
    Ok(Desk {
        clocks: s.running_clocks()?,
        planned: s.runs_in(RunState::Planned)?,
        uncounted: s.uncounted_runs()?,
        waiting: s.waiting()?,
        recipes: s.recipes()?,
        baths,
        has_tank: s.tanks()?.iter().any(|t| !t.closed),
        telling: s.telling()?,
    })
}

async fn show(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let desk = app.ask(desk).await?;
    app.show(
        Page::new(Way::Wet, "Wet bench").sheet("Wet bench"),
        &asked,
        page(&desk),
    )
    .await
}

fn page(d: &Desk) -> Markup {
    let (ready, others): (Vec<&Waiting>, Vec<&Waiting>) =
        d.waiting.iter().partition(|w| w.is_exposed());
    html! {
        h1 { "Wet bench" }
        @if !d.clocks.is_empty() { (clocks(&d.clocks)) }
        @if !d.planned.is_empty() {
            h2 { "Loaded, not begun" }
            ul.rows { @for run in &d.planned { li { (run_row(run, "begin")) } } }
        }
        h2 { "Waiting to be developed" }
        @if !d.has_tank || d.recipes.is_empty() { (before_all(d)) }
        @if d.waiting.is_empty() { p { "Nothing waits. A roll comes here once it is wound; mark it exposed when it is." } }
        @else {
            form.form method="get" action="/wet/plan" {
                (tick_list(&ready, d, true))
                @if !others.is_empty() {
                    details open[ready.is_empty()] {
                        summary { (say::count(others.len() as u64, "roll", "rolls")) " not marked exposed" }
                        @if SHOWN < others.len() { p.hint { (SHOWN) " of " (others.len()) " are here. Mark a roll exposed on its page, and it stands above." } }
                        (tick_list(others.get(..SHOWN).unwrap_or(&others), d, false))
                    }
                }
                div.thumb { button.main { "Make runs of these" } }
            }
        }
        @if !d.uncounted.is_empty() {
            h2 { "Dry, not looked at yet" }
            ul.rows { @for run in &d.uncounted { li { (run_row(run, "count the frames")) } } }
        }
        h2 { "Baths" }
        @if d.baths.is_empty() { p { "No bottle has a card yet." } }
        ul.rows { @for b in &d.baths { li { (bath_row(b)) } } }
        p.ways-on {
            a href="/wet/baths/new" { "Mixed something" } " "
            a href="/wet/baths" { "All baths" } " "
            a href="/wet/recipes" { "Recipes" } " "
            a href="/wet/mix" { "Mixing" } " "
            a href="/wet/light" { "Light and filters" } " "
            a href="/wet/times" { "Developing times" } " "
            a href="/wet/kit" { "Tanks and reels" } " "
            a href="/wet/runs" { "Runs before" }
        }
        (cautions())
    }
}

fn before_all(d: &Desk) -> Markup {
    html! {
        ol {
            @if !d.has_tank { li { a href="/wet/kit" { "Enter your tank and its reels" } "." } }
            @if d.recipes.is_empty() { li { a href="/wet/recipes" { "Take up a recipe" } " to begin with." } }
        }
    }
}

/// Clocks that go, each a tap away.
pub(crate) fn clocks(clocks: &[RunClock]) -> Markup {
    html! {
        ul.rows {
            @for c in clocks {
                li {
                    a.row href={ "/wet/runs/" (c.view.run.id) "/clock" } {
                        span.what {
                            span.name {
                                @if let Phase::Running(s) = &c.timer.phase {
                                    (c.view.steps.get(s.step as usize).map_or("", |s| s.kind.spoken())) " of "
                                }
                                (c.view.name())
                            }
                            @if c.view.run.rehearsal.is_some() { span.more { "rehearsal" } }
                        }
                        span.much {
                            // This page stands still: a time that is left would be wrong as soon as it is read.
                            @match &c.timer.phase {
                                Phase::Running(s) if s.pause == Some(Pause::Out) => "the bath is out",
                                _ => "see the clock",
                            }
                        }
                    }
                }
            }
        }
    }
}

/// One run in a list, and what to do with it.
pub(crate) fn run_row(run: &RunView, what: &str) -> Markup {
    html! {
        a.row href={ "/wet/runs/" (run.run.id) } {
            span.what {
                span.name { (run.name()) }
                span.more { (say::day(&run.run.made_on)) }
            }
            span.much { (what) }
        }
    }
}

fn tick_list(waiting: &[&Waiting], d: &Desk, ticked: bool) -> Markup {
    html! {
        @for w in waiting {
            label.choice {
                input type="checkbox" name="roll" value=(w.roll.label) checked[ticked && w.recipe.is_some()];
                span {
                    strong { (w.roll.label) } " " (w.stock.name) ", "
                    (say::count(w.roll.frames, "frame", "frames"))
                    @if let Some(ei) = w.roll.ei { ", EI " (say::speed(ei)) }
                    " "
                    span.more {
                        @match (&w.time, d.recipes.iter().find(|r| Some(r.recipe.id) == w.recipe)) {
                            (Some(time), Some(recipe)) => {
                                (recipe.recipe.name) ": " (told_within(time.time_min)) " at " (d.telling.temperature(time.at_c)) ", " (source(time.source))
                            }
                            _ => { (w.because.as_deref().unwrap_or("no recipe")) }
                        }
                    }
                }
            }
        }
    }
}

/// One bath in a list, with its verdict.
pub(crate) fn bath_row(b: &BathView) -> Markup {
    html! {
        a.row href={ "/wet/baths/" (b.card.id) } {
            span.what {
                span.name { (b.card.name) }
                @if !b.card.closed { span.more { (b.life.because.first().map_or("", |r| r.text.as_str())) } }
            }
            span.much {
                @if b.card.closed { "poured out" } @else { b { (verdict_words(&b.life)) } }
                @if !b.card.closed && b.life.verdict != Verdict::Replace {
                    @if let Some(left) = b.life.rolls_left() { (say::count(left, "roll", "rolls")) " left" }
                }
            }
        }
    }
}

fn cautions() -> Markup {
    html! {
        details {
            summary { "Before any bottle is opened" }
            ul {
                li { "Read the safety sheet of each product; it goes before anything said here." }
                li { "Gloves and goggles; air the room; nothing to eat or drink on the bench." }
                li { "Acid into water, never water into acid. Bleach and fixer never meet acid, ammonia or each other's bottles." }
                li { "Used fixer and first washes carry silver. Keep them apart and ask your local rules where they go." }
                li { "Old film of unknown base may be nitrate: it burns without air. Do not process it; ask an archive or the fire service." }
                li { "Film with remjet goes to no laboratory that has not said it takes it." }
            }
        }
    }
}
