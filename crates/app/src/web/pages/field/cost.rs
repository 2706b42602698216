//! What a usable frame came to: drawn, in numbers, and as a table to take away.

use crate::service::Service;
use crate::service::field::money::{By, Costs, missing_in_words};
use crate::service::settings::Settings;
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::drawing::{self, CostBar};
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use axum::routing::get;
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::cost::Amount;
use spoolwright_core::cost::report::Group;

/// Most groups drawn; the table has them all.
const MOST_BARS: usize = 40;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/cost", get(show))
        .route("/cost.csv", get(table))
        .route("/cost/rolls.csv", get(rolls))
}

/// What costs are told by; nonsense is taken as nothing.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Told {
    by: String,
}

impl Told {
    fn by(&self) -> Option<By> {
        By::from_word(&self.by).ok()
    }
}

async fn show(
    State(app): State<App>,
    Query(asked): Query<Asked>,
    Query(told): Query<Told>,
) -> Answer {
    let (costs, settings) = app.ask(|s| Ok((s.costs()?, s.settings()?))).await?;
    let by = told.by().unwrap_or(By::Can);
    app.show(
        Page::new(Way::More, "What a frame came to").sheet("Cost"),
        &asked,
        page(&costs, by, &settings),
    )
    .await
}

async fn table(State(app): State<App>, Query(told): Query<Told>) -> Answer {
    let by = told.by();
    let text = app.ask(move |s| s.costs_as_csv(by)).await?;
    let name = by.map_or("cost.csv".to_owned(), |b| {
        format!("cost-by-{}.csv", b.word())
    });
    Ok(csv(text, &name))
}

async fn rolls(State(app): State<App>) -> Answer {
    let text = app.ask(Service::rolls_as_csv).await?;
    Ok(csv(text, "cost-by-roll.csv"))
}

fn csv(text: String, name: &str) -> axum::response::Response {
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{name}\""),
        ),
    ];
    (headers, text).into_response()
}

/// An amount's ends, where it rests on a guess.
fn ends(a: Amount, settings: &Settings) -> Markup {
    html! {
        @if a.is_guess() { span.interval { (settings.money(a.low)) " to " (settings.money(a.high)) } }
    }
}

fn bars(groups: &[(String, &Group)], settings: &Settings) -> Vec<CostBar> {
    let drawn = groups.iter().filter_map(|(name, g)| {
        let per = g.per_frame()?;
        let each = |a: Amount| a.mid / f64::from(g.usable);
        let parts = [g.film, g.cassettes, g.tests, g.chemistry, g.pages, g.other];
        Some(CostBar {
            name: name.clone(),
            parts: parts.map(each),
            between: (per.low, per.high),
            ready: g.ready.map(|r| r.ready_wound / f64::from(g.usable)),
            words: settings.money(per.mid),
        })
    });
    drawn.take(MOST_BARS).collect()
}

fn page(costs: &Costs, by: By, settings: &Settings) -> Markup {
    let all = &costs.report.all;
    let groups = costs.groups(by);
    let drawn = bars(&groups, settings);
    html! {
        h1 { "What a frame came to" }
        @match all.per_frame() {
            Some(per) => {
                p.loud {
                    span.label { "A usable frame, all in all" }
                    span.value { (settings.money(per.mid)) }
                    (ends(per, settings))
                }
                @if !all.missing.iter().all(|m| m.what == "ready-wound") { p { span.stamp { "at least" } " Some prices are missing, see below." } }
                (compared(all, settings))
            }
            None => p { "No roll has been looked at yet: write down what came out of one at the wet bench, or judge its frames in their notes." },
        }
        dl.fields.many {
            div { dt { "Usable frames" } dd { span.slab { (all.usable) } } }
            div { dt { "Lost frames" } dd { span.slab { (all.lost) } span.interval { (settings.money(all.lost_cost().mid)) } } }
            div { dt { "Spent in all" } dd { (settings.money(all.total().mid)) (ends(all.total(), settings)) } }
            @if 0 < all.waiting_rolls {
                div { dt { "In " (say::count(all.waiting_rolls, "roll that waits", "rolls that wait")) } dd { (settings.money(all.waiting.mid)) } }
            }
        }
        h2 { "By " (by.word()) }
        p.ways-on {
            @for other in By::ALL.iter().filter(|b| **b != by) { a href={ "/cost?by=" (other.word()) } { "By " (other.word()) } " " }
        }
        @if !drawn.is_empty() {
            figure { (drawing::cost_bars("cost", &format!("What a usable frame came to by {}", by.word()), &drawn)) }
            @if drawn.len() < groups.iter().filter(|(_, g)| 0 < g.usable).count() { p.soft { "The first " (drawn.len()) " are drawn; the table has them all." } }
        }
        @if !groups.is_empty() { (numbers(&groups, by, settings)) }
        p.ways-on {
            a href={ "/cost.csv?by=" (by.word()) } { "This table for a spreadsheet" } " "
            a href="/cost.csv" { "All of it" } " "
            a href="/cost/rolls.csv" { "Roll by roll" }
        }
        @if !all.missing.is_empty() {
            h2 { "Prices that nobody gave" }
            ul.plain { @for m in &all.missing { li { (missing_in_words(m)) } } }
            p { "A can's price is on its page, a stock's ready-wound price with the stock, all else among the purchases." }
        }
        @if !costs.caveats.is_empty() { div.note { @for c in &costs.caveats { p { (c.text) } } } }
        div.thumb { a.btn.main href="/purchases" { "What was bought" } }
    }
}

/// The user's own film against ready-wound film, in a sentence.
fn compared(all: &Group, settings: &Settings) -> Markup {
    html! {
        @if let Some(ready) = all.ready {
            p {
                "Film, cassettes and tests for them came to " (settings.money(ready.own.mid)) "; ready-wound they would have cost "
                (settings.money(ready.ready_wound)) ". "
                @if 0.0 <= ready.saved.mid { "Winding saved " strong { (settings.money(ready.saved.mid)) } (ends(ready.saved, settings)) "." }
                @else { "Winding cost " strong { (settings.money(-ready.saved.mid)) } " more." }
            }
        }
    }
}

fn numbers(groups: &[(String, &Group)], by: By, settings: &Settings) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label={ "Costs by " (by.word()) } {
            table {
                thead { tr {
                    th scope="col" { (by.word()) }
                    @for head in ["a frame", "usable", "lost", "total", "saved"] { th.right scope="col" { (head) } }
                } }
                tbody {
                    @for (name, g) in groups {
                        tr {
                            th scope="row" { (name) }
                            td.right { @if let Some(per) = g.per_frame() { (settings.money(per.mid)) } @else { "—" } }
                            td.right { (g.usable) }
                            td.right { (g.lost) }
                            td.right { (settings.money(g.total().mid)) }
                            td.right { @if let Some(r) = g.ready.filter(|_| 0 < g.usable) { (settings.money(r.saved.mid)) } @else { "—" } }
                        }
                    }
                }
            }
        }
    }
}
