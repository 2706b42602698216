//! The first steps, for a store with nothing in it: stock, loader, can, and cassettes for those who have any
//! numbered. A form refused on the way is shown again on the way.

use super::{cans, cassettes, loaders, main_act, stocks};
use crate::service::shelf::Shelf;
use crate::service::{Failure, Service};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use axum::Router;
use axum::extract::State;
use axum::response::IntoResponse;
use axum::response::Redirect;
use axum::routing::get;
use maud::{Markup, html};

/// What the hidden field `then` says on every form of the path.
const ON_THE_WAY: &str = "bench";

/// One short form of the path.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Step {
    Stock,
    Loader,
    Can,
    Cassettes,
}

impl Step {
    const ALL: [(Self, &'static str); 4] = [
        (Self::Stock, "A stock: the film"),
        (Self::Loader, "A loader"),
        (Self::Can, "A can of it"),
        (Self::Cassettes, "Cassettes, if you like"),
    ];
}

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/first-cassettes", get(last))
}

/// The next step that cannot be left out; none when one can wind.
pub(crate) fn next(shelf: &Shelf) -> Option<Step> {
    if shelf.stocks.is_empty() {
        Some(Step::Stock)
    } else if shelf.loaders.is_empty() {
        Some(Step::Loader)
    } else if shelf.cans.is_empty() {
        Some(Step::Can)
    } else {
        None
    }
}

/// Where a form that was taken leads: the next step on the way, else the page it belongs to.
pub(crate) fn onward<'a>(form: &Form, otherwise: &'a str) -> &'a str {
    if is_on_the_way(form) { "/" } else { otherwise }
}

/// Whether a form was sent from the path.
pub(crate) fn is_on_the_way(form: &Form) -> bool {
    form.text("then") == ON_THE_WAY
}

/// Where the path goes on after a can.
pub(crate) const AFTER_CAN: &str = "/first-cassettes";

async fn last(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let shelf = app.ask(Service::shelf).await?;
    if next(&shelf).is_some() || !shelf.cassettes.is_empty() {
        return Ok(Redirect::to("/").into_response());
    }
    let body = page(Step::Cassettes, &Form::default(), &shelf);
    app.show(sheet(), &asked, body).await
}

/// The form of a step again, with what was wrong in it.
pub(crate) async fn refused(app: &App, step: Step, form: Form, failure: Failure) -> Answer {
    let form = form.refused_by(failure)?;
    let shelf = app.ask(Service::shelf).await?;
    form.answer(sheet().show(page(step, &form, &shelf)))
}

fn sheet() -> Page {
    Page::new(Way::Bench, "First steps").sheet("First steps")
}

/// The path at one of its steps.
pub(crate) fn page(step: Step, form: &Form, shelf: &Shelf) -> Markup {
    let settings = &shelf.settings;
    let stocks_there: Vec<_> = shelf.stocks.clone();
    let loaders_there: Vec<_> = shelf.loaders.iter().map(|l| l.loader.clone()).collect();
    let (title, address, fields, act) = match step {
        Step::Stock => (
            "Which film do you wind?",
            "/stocks",
            stocks::fields(form, settings),
            "Add the stock",
        ),
        Step::Loader => (
            "What do you wind it with?",
            "/loaders",
            loaders::fields(form),
            "Add the loader",
        ),
        Step::Can => (
            "Which can do you have?",
            "/cans",
            cans::form::fields(form, &stocks_there, &loaders_there, settings),
            "Add the can",
        ),
        Step::Cassettes => (
            "Which cassettes do you have?",
            "/cassettes",
            cassettes::labels(form),
            "Add the cassettes",
        ),
    };
    html! {
        h1 { "Welcome to the bench" }
        @if step == Step::Cassettes {
            p { "You can wind. Cassettes that carry a number can be counted and told apart: write one on each, then add them all at once. Or leave it for another day." }
        } @else {
            p { "Three short forms and you can wind: which film you have, what you wind it with, and the can it is in. Whatever you do not know may stay empty." }
        }
        ol.steps {
            @for (one, words) in Step::ALL {
                li.now[one == step].past[one < step] aria-current=[(one == step).then_some("step")] {
                    (words) @if one < step { " — done" }
                }
            }
        }
        h2 { (title) }
        (form.refusals())
        form.form method="post" action=(address) {
            input type="hidden" name="then" value=(ON_THE_WAY);
            (fields)
            (main_act(act))
            @if step == Step::Cassettes { div.acts { a.btn href="/" { "Skip this" } } }
        }
    }
}
