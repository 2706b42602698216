//! Several rolls filed at once: the proposal as drawings, other wishes, and the button that takes it as shown.

use super::drawn;
use crate::service::binder::fill::{FillDraft, FillView};
use crate::service::shelf::RollView;
use crate::service::{Failure, Service};
use crate::web::app::{Answer, App, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::problem::Problem;
use crate::web::say;
use axum::Router;
use axum::extract::{RawQuery, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::field::record::Binder;
use spoolwright_core::shelf::RollState;

pub(super) fn routes() -> Router<App> {
    Router::new().route("/binders/fill", get(show).post(accept))
}

/// Rolls offered at most.
const OFFERED: usize = 120;
/// Fields that may be ticked more than once.
const MANY: [&str; 1] = ["only"];

fn sheet() -> Page {
    Page::new(Way::More, "Fill pages").sheet("Fill pages")
}

struct Desk {
    binders: Vec<Binder>,
    waiting: Vec<RollView>,
    proposal: Result<FillView, Failure>,
}

async fn desk(app: &App, draft: FillDraft) -> Result<Desk, Problem> {
    app.ask(move |s: &Service| {
        Ok(Desk {
            binders: s.binders()?,
            waiting: s.rolls_in(RollState::Developed)?,
            proposal: s.filling(&draft),
        })
    })
    .await
}

async fn show(State(app): State<App>, RawQuery(query): RawQuery) -> Answer {
    let form = Form::from_query(query.as_deref().unwrap_or_default());
    let desk = desk(&app, form.draft(&MANY)).await?;
    let (form, status) = match &desk.proposal {
        Ok(_) => (form, StatusCode::OK),
        Err(Failure::Refused(faults)) => {
            let form = form.refused(faults.clone());
            let status = form.status();
            (
                form,
                if query.is_none() {
                    StatusCode::OK
                } else {
                    status
                },
            )
        }
        Err(Failure::Trouble(e)) => return Err(Problem::inside(&e.to_string())),
    };
    Ok((status, sheet().show(page(&desk, &form))).into_response())
}

async fn accept(State(app): State<App>, form: Form) -> Answer {
    let outcome = app
        .carry_out(&form, &MANY, |s, d: &FillDraft, r| s.fill_binder(d, r))
        .await?;
    match outcome {
        Ok(made) => Ok(go_on("/binders", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let desk = desk(&app, form.draft(&MANY)).await?;
            form.answer(sheet().show(page(&desk, &form)))
        }
    }
}

fn page(desk: &Desk, form: &Form) -> Markup {
    let proposal = desk.proposal.as_ref().ok();
    html! {
        h1 { "Fill pages" }
        (form.refusals())
        @if let Some(v) = proposal {
            p { (say::count(v.rolls.len() as u64, "roll", "rolls")) " into " a href={ "/binders/" (v.book.binder.id) } { (v.book.binder.name) } ", "
                (say::count(v.filled.new_pages, "new page", "new pages"))
                @if v.filled.shared_rows > 0 { ", " (say::count(v.filled.shared_rows, "shared row", "shared rows")) }
                "." }
            @for p in &v.pages {
                section {
                    h2 { "Page " (p.number) }
                    p.soft { (p.rolls().join(", ")) @if p.free > 0 { "; " (say::count(p.free, "place", "places")) " free" } }
                    (drawn(&format!("page-{}", p.number), &v.book, p))
                }
            }
            details { summary { "Why like this" } @for because in &v.filled.because { p { (because) } } }
            @for c in &v.filled.caveats { div.note { p { (c.text) } } }
            p.soft { "Single strips can be moved by hand once they are filed." }
        }
        form.form method="post" action="/binders/fill" {
            (form.request_field())
            @if let Some(v) = proposal { input type="hidden" name="as_shown" value=(v.mark); }
            (wishes(desk, form))
            div.thumb {
                button formmethod="get" formaction="/binders/fill" { "Look again" }
                @if proposal.is_some() { button.main { "File them like this" } }
            }
        }
        p { a href="/binders" { "Binders" } }
    }
}

fn wishes(desk: &Desk, form: &Form) -> Markup {
    let binders: Vec<(String, String)> = desk
        .binders
        .iter()
        .filter(|b| !b.closed)
        .map(|b| (b.id.to_string(), b.name.clone()))
        .collect();
    let more: Vec<String> = desk
        .waiting
        .iter()
        .map(|r| {
            format!(
                "{}, {}",
                r.stock.name,
                say::count(r.roll.frames, "frame", "frames")
            )
        })
        .collect();
    let rolls: Vec<(&str, &str, &str)> = desk
        .waiting
        .iter()
        .zip(&more)
        .take(OFFERED)
        .map(|(r, more)| (r.roll.label.as_str(), r.roll.label.as_str(), more.as_str()))
        .collect();
    html! {
        @if binders.len() > 1 { (form.field("binder", "Into which binder").select(&binders)) }
        (form.field("order", "In which order").select(&[
            ("given", "as they were wound"),
            ("date", "by the day they went into a camera"),
            ("any", "any: fewest pages"),
        ]))
        (form.field("share_rows", "Two rolls may share a row").hint("with their short strips").tick())
        (form.field("by_stock", "Each page holds one stock").tick())
        @if !rolls.is_empty() {
            details open[!form.text("only").is_empty()] {
                summary { "Only some of the rolls" }
                (form.field("only", "Which").hint("All when none is ticked.").boxes(&rolls))
            }
        }
    }
}
