//! The first screen: what can be wound, what runs out or goes off, what waits.

use super::field::kept;
use super::wet::desk;
use super::{cans, first_steps, tickets, wedge};
use crate::service::field::kept::GoingView;
use crate::service::queue::TicketView;
use crate::service::shelf::{CanView, RollView, Shelf};
use crate::service::wedge::TestView;
use crate::service::wet::baths::BathView;
use crate::service::wet::runs::{RunClock, RunView};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::field::record::Keepable;
use spoolwright_core::shelf::RollState;
use spoolwright_core::wet::record::RunState;

/// Tickets shown before the rest is left to the queue's own page.
const SHOWN: usize = 4;
/// What is about to go off, shown before the rest is left to its own page.
const GOING: usize = 4;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/", get(show))
        .route("/more", get(more))
}

async fn show(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let (shelf, queue, recent, tests, today, tank, going) = app
        .ask(|s| {
            Ok((
                s.shelf()?,
                s.queue()?,
                s.recent_rolls(None)?,
                s.wedge_tests()?,
                s.today(),
                at_the_tank(s)?,
                s.about_to_go_off()?,
            ))
        })
        .await?;
    let body = match first_steps::next(&shelf) {
        Some(step) => first_steps::page(step, &Form::default(), &shelf),
        None => page(&shelf, &queue, &recent, &tests, (&today, &going), &tank),
    };
    app.show(
        Page::new(Way::Bench, "Bench").sheet(say::day(&today)),
        &asked,
        body,
    )
    .await
}

/// What the first screen says of the wet bench.
struct AtTheTank {
    clocks: Vec<RunClock>,
    loaded: Vec<RunView>,
    waiting: usize,
    spent: Vec<BathView>,
    unsettled: usize,
}

fn at_the_tank(s: &Service) -> Outcome<AtTheTank> {
    let mut spent = s.baths()?;
    spent.retain(|b| !b.card.closed && !b.serves());
    Ok(AtTheTank {
        clocks: s.running_clocks()?,
        loaded: s.runs_in(RunState::Planned)?,
        waiting: s.exposed_and_free()?,
        spent,
        unsettled: s.unsettled()?.len(),
    })
}

/// What waits at the tank, each a tap away; nothing where nothing does.
fn tank_rows(tank: &AtTheTank) -> Markup {
    html! {
        @if !tank.loaded.is_empty() || tank.waiting > 0 || !tank.spent.is_empty() {
            h2 { "At the tank" }
            ul.rows {
                @for run in &tank.loaded { li { (desk::run_row(run, "loaded")) } }
                @if tank.waiting > 0 {
                    li {
                        a.row href="/wet" {
                            span.what { span.name { (say::count(tank.waiting as u64, "roll waits", "rolls wait")) " to be developed" } }
                        }
                    }
                }
                @for bath in &tank.spent { li { (desk::bath_row(bath)) } }
            }
        }
    }
}

fn page(
    shelf: &Shelf,
    queue: &[TicketView],
    recent: &[RollView],
    tests: &[TestView],
    (today, going): (&str, &[GoingView]),
    tank: &AtTheTank,
) -> Markup {
    let open = cans::list::by_use(shelf, recent);
    let any_open = !open.is_empty();
    let widest = cans::list::widest(open.iter().copied());
    let wanted: u32 = shelf.wants.iter().map(|w| w.open()).sum();
    html! {
        h1 { "On the bench" }
        @if !tank.clocks.is_empty() { (desk::clocks(&tank.clocks)) }
        div.two {
            section {
                h2 { "At the loader" }
                @if queue.is_empty() {
                    p { "Nothing waits. "
                        @if !any_open {}
                        @else if wanted > 0 { (say::count(wanted, "frame is", "frames are")) " wanted: " a href="/plan" { "make the plan" } "." }
                        @else { a href="/wants/new" { "Add a want" } " or " a href="/tickets/new" { "wind a single roll" } "." }
                    }
                }
                ul.rows { @for t in queue.iter().take(SHOWN) { li { (tickets::row(t)) } } }
                @if queue.len() > SHOWN { p { a href="/queue" { "All " (queue.len()) " in the queue" } } }
                (tank_rows(tank))
                h2 { "What can be wound" }
                ul.rows { @for c in &open { li { (cans::list::row(c, &shelf.settings, widest)) } } }
                @if !any_open { p { "No can is open. " a href="/cans/new" { "Add a can" } "." } }
                @if shelf.cassettes.is_empty() {
                    div.note { p { "No cassettes are listed yet, so a plan cannot fill any. " a href="/cassettes/new" { "Number yours and add them" } "." } }
                }
            }
            section {
                (warnings(shelf, today, going))
                (waiting(shelf, tank.unsettled))
                (wedge::under_way(tests, shelf))
                (quick_weigh(&open))
            }
        }
        div.thumb {
            @if any_open { a.btn href="#weigh" { "Weigh a can" } }
            @if let Some(first) = queue.first() { a.btn.main href={ "/tickets/" (first.ticket.id) } { "Wind " (first.label) } }
            @else if !any_open { a.btn.main href="/cans/new" { "Add a can" } }
            @else if wanted > 0 { a.btn.main href="/plan" { "Make the plan" } }
            @else { a.btn.main href="/wants/new" { "Add a want" } }
        }
    }
}

/// Rolls that wait for something.
fn waiting(shelf: &Shelf, unsettled: usize) -> Markup {
    let line = |state: RollState, words: &str| {
        html! {
            @let n = shelf.count(state);
            @if n > 0 {
                li {
                    a.row href={ "/rolls?state=" (state.word()) } { span.what { span.name { (words) } } span.much { b { (n) } } }
                }
            }
        }
    };
    html! {
        h2 { "Rolls" }
        ul.rows {
            @if unsettled > 0 {
                li {
                    a.row href="/notes" {
                        span.what { span.name { "written twice, to be settled" } }
                        span.much { b { (unsettled) } (if unsettled == 1 { "note" } else { "notes" }) }
                    }
                }
            }
            (line(RollState::Exposed, "exposed"))
            (line(RollState::InCamera, "in a camera"))
            (line(RollState::Wound, "wound and ready"))
            (line(RollState::Developed, "developed, to be filed"))
        }
        @if [RollState::Exposed, RollState::InCamera, RollState::Wound, RollState::Developed].iter().all(|s| shelf.count(*s) == 0) {
            p.soft { "None under way." }
        }
    }
}

/// What is about to run out or go off, in sentences.
fn warnings(shelf: &Shelf, today: &str, going: &[GoingView]) -> Markup {
    let link = |c: &CanView| html! { a href={ "/cans/" (c.can.id) } { "Can " (c.can.letters) } };
    let low: Vec<&CanView> = shelf
        .open_cans()
        .filter(|c| {
            c.chances
                .first()
                .is_some_and(|longest| longest.probability < 0.5)
        })
        .collect();
    // Film without a date is told by a rule of thumb alone: all of it is one line.
    let undated = |g: &&GoingView| !g.exposed && g.expires_on.is_none();
    let (undated, dated): (Vec<&GoingView>, Vec<&GoingView>) = going.iter().partition(undated);
    html! {
        @if !low.is_empty() || !going.is_empty() {
            h2 { "Running out or going off" }
            ul.plain {
                @for c in low { li { (link(c)) ": " (cans::list::surest(c)) "." } }
                @for g in dated.iter().take(GOING) { li { (going_off(g, today)) } }
                @if GOING < dated.len() { li { a href="/places/soon" { (dated.len() - GOING) " more" } " are about to go off." } }
                @if !undated.is_empty() {
                    li {
                        a href="/places/soon" { (say::count(undated.len() as u64, "can or roll", "cans and rolls")) " without a date" }
                        ": kept as long as film keeps unfrozen, by a rule of thumb."
                    }
                }
            }
        }
    }
}

/// One film that is about to go off, and when.
fn going_off(g: &GoingView, today: &str) -> Markup {
    let days = g
        .expires_on
        .as_deref()
        .and_then(|day| say::days_between(today, day));
    html! {
        a href=(kept::address(g.thing)) { (if matches!(g.thing, Keepable::Can(_)) { "Can" } else { "Roll" }) " " (g.name) }
        @match days {
            Some(days) if days < 0 => { ": its date passed " (say::count(days.unsigned_abs(), "day", "days")) " ago." }
            Some(days) => { ": its date comes in " (say::count(days.unsigned_abs(), "day", "days")) "." }
            None => { ": exposed, and to be developed " @if g.going.months_left.is_some_and(|m| m < 0.0) { "before now." } @else { "soon." } }
        }
    }
}

/// Ten seconds: which can, what the scale shows, done.
fn quick_weigh(open: &[&CanView]) -> Markup {
    let cans: Vec<_> = open
        .iter()
        .map(|c| {
            (
                c.can.id.to_string(),
                format!("{}, {}", c.can.letters, c.stock.name),
            )
        })
        .collect();
    let form = Form::default();
    html! {
        @if !cans.is_empty() {
            h2 id="weigh" { "Weigh a can" }
            form.form method="post" action="/weigh" {
                (form.request_field())
                (form.field("can", "Which, closed").select(&cans))
                (form.field("grams", "The scale shows").unit("g").needed().number())
                button { "Weighed" }
            }
        }
    }
}

async fn more(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let body = html! {
        h1 { "More" }
        ul.rows {
            @for (address, name, words) in [
                ("/wants", "Wants", "what you mean to photograph"),
                ("/find", "Find", "a frame by its words, and the page it lies on"),
                ("/cameras", "Cameras", "which roll is in which"),
                ("/binders", "Binders", "developed rolls cut, filed, and what lies on each page"),
                ("/queue", "Queue", "tickets waiting at the loader"),
                ("/wet", "Wet bench", "runs, recipes, baths, the clock"),
                ("/wedge", "Wedge bench", "how fast a stock is, how long to develop it"),
                ("/places", "Places", "where film is kept, warming up, what goes off"),
                ("/cost", "Cost", "what a usable frame came to, what was bought"),
                ("/stocks", "Stocks", "the kinds of film you wind"),
                ("/loaders", "Loaders", "what you wind with"),
                ("/cassettes", "Cassettes", "reuse counts, light leaks"),
                ("/print/labels", "Print", "labels, tickets, patterns"),
                ("/history", "History", "everything you did, and undo"),
                ("/devices", "Devices", "your phone beside the program"),
                ("/settings", "Settings", "units, money, paper, limits"),
            ] {
                li { a.row href=(address) { span.what { span.name { (name) } span.more { (words) } } } }
            }
        }
    };
    app.show(Page::new(Way::More, "More"), &asked, body).await
}
