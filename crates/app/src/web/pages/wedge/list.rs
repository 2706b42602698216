//! All tests, and the cards in force.

use super::words;
use crate::service::settings::Settings;
use crate::service::shelf::Shelf;
use crate::service::wedge::{CardView, TestView};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::extract::State;
use maud::{Markup, html};
use spoolwright_core::shelf::{Base, RollState};
use spoolwright_core::wedge::record::Way as Exposed;

struct Sheet {
    tests: Vec<TestView>,
    cards: Vec<CardView>,
    settings: Settings,
}

pub(super) async fn show(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let sheet = app.ask(sheet).await?;
    app.show(
        Page::new(Way::More, "Wedge bench").sheet("Wedge bench"),
        &asked,
        page(&sheet),
    )
    .await
}

fn sheet(s: &Service) -> Outcome<Sheet> {
    let mut cards = Vec::new();
    for stock in s.stocks()? {
        cards.extend(s.cards(stock.id)?.into_iter().find(|c| c.holds));
    }
    Ok(Sheet {
        tests: s.wedge_tests()?,
        cards,
        settings: s.settings()?,
    })
}

fn page(sheet: &Sheet) -> Markup {
    let (closed, open): (Vec<_>, Vec<_>) = sheet.tests.iter().partition(|t| t.test.closed);
    html! {
        h1 { "Wedge bench" }
        p.soft { "How fast a stock is and how long to develop it, found from strips of your own film in your own developer." }
        div.two {
            section {
                h2 { "Tests" }
                @if open.is_empty() {
                    p { "None under way. A short roll of an even wall, shot at stops around the meter reading and cut into three strips, is enough." }
                } @else {
                    ul.rows { @for t in &open { li { (row(t)) } } }
                }
                @if open.iter().filter(|t| !t.strips.is_empty()).count() > 1 {
                    p { a href="/wedge/compare" { "Compare two tests" } }
                }
                @if !closed.is_empty() {
                    details { summary { "Put away" } ul.rows { @for t in &closed { li { (row(t)) } } } }
                }
            }
            section {
                h2 { "Cards in force" }
                @if sheet.cards.is_empty() { p.soft { "None yet. A finished test gives one: its EI goes on labels and tickets." } }
                ul.rows { @for c in &sheet.cards { li { (super::card::row(c, &sheet.settings)) } } }
            }
        }
        div.thumb { a.btn.main href="/wedge/new" { "Begin a test" } }
    }
}

fn row(t: &TestView) -> Markup {
    let read = t.strips.len() as u64;
    html! {
        a.row href={ "/wedge/" (t.test.id) } {
            span.what {
                span.name { (t.test.name) }
                span.more { (t.stock.name) ", " (words::way(t.test.way)) ", begun " (say::day(&t.test.begun_on)) }
                @if !t.test.closed { span.more { (state(t)) } }
            }
            @if read > 0 { span.much { b { (read) } (if read == 1 { "strip" } else { "strips" }) } }
        }
    }
}

/// Where a test stands, and what it waits for.
pub(super) fn state(t: &TestView) -> &'static str {
    if !t.cards.is_empty() {
        return "finished: a card is made";
    }
    if !t.strips.is_empty() {
        return "read: its card waits to be made";
    }
    match (&t.roll, &t.ticket) {
        (Some(roll), _) => match roll.roll.state {
            RollState::Wound | RollState::InCamera => "waits to be shot by its shot list",
            RollState::Exposed => "waits to be cut and developed",
            RollState::Developed | RollState::Filed => "waits for its densities",
            RollState::Scrapped => "its roll is lost",
        },
        (None, Some(_)) => "its roll waits at the loader",
        (None, None) if t.test.way == Exposed::InCamera => "waits to be shot, developed and read",
        (None, None) => "waits for its densities",
    }
}

/// Tests that wait for something, and cans of a stock nobody has rated, for the first screen.
pub(crate) fn under_way(tests: &[TestView], shelf: &Shelf) -> Markup {
    let open: Vec<&TestView> = tests
        .iter()
        .filter(|t| !t.test.closed && t.cards.is_empty())
        .collect();
    let unknown: Vec<_> = shelf
        .open_cans()
        .filter(|c| c.stock.ei.is_none() && c.stock.base != Base::Nitrate)
        .filter(|c| shelf.card(c.stock.id).is_none())
        .filter(|c| open.iter().all(|t| t.stock.id != c.stock.id))
        .collect();
    html! {
        @if !open.is_empty() || !unknown.is_empty() {
            h2 { "On the wedge bench" }
            ul.rows {
                @for t in open {
                    li { a.row href={ "/wedge/" (t.test.id) } { span.what { span.name { (t.test.name) } span.more { (state(t)) } } } }
                }
                @for c in unknown {
                    li { a.row href={ "/wedge/new?can=" (c.can.letters) } { span.what { span.name { (c.stock.name) } span.more { "no EI known: find its speed and developing time" } } } }
                }
            }
        }
    }
}
