//! Filing a developed roll: where to cut, where it will lie, what was cut otherwise; and where a filed one lies.

use super::{drawn, frames};
use crate::service::binder::book::Lying;
use crate::service::binder::file::{FileDraft, FilingView};
use crate::service::shelf::RollView;
use crate::service::{Failure, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::drawing::cut_strips;
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::binder::cut::Cutting;
use spoolwright_core::field::record::Binder;
use spoolwright_core::shelf::{Roll, RollState};

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/roll/{label}/file", get(show).post(file))
        .route("/roll/{label}/unfile", post(unfile))
}

fn sheet(label: &str) -> Page {
    Page::new(Way::Rolls, format!("File {label}")).sheet(format!("Roll {label}"))
}

/// What the page stands on: the roll, the binders, and the proposal if there can be one.
struct Desk {
    roll: RollView,
    binders: Vec<Binder>,
    filing: Result<FilingView, Failure>,
}

async fn desk(
    app: &App,
    label: String,
    draft: FileDraft,
) -> Result<Desk, crate::web::problem::Problem> {
    app.ask(move |s: &Service| {
        Ok(Desk {
            roll: s.roll(&label)?,
            binders: s.binders()?,
            filing: s.filing(&label, &draft),
        })
    })
    .await
}

async fn show(
    State(app): State<App>,
    Path(label): Path<String>,
    RawQuery(query): RawQuery,
    Query(asked): Query<Asked>,
) -> Answer {
    let form = Form::from_query(query.as_deref().unwrap_or_default());
    let desk = desk(&app, label.clone(), form.draft(&[])).await?;
    match &desk.filing {
        Ok(filing) => {
            let body = page(&desk, Some(filing), &form);
            app.show(sheet(&label), &asked, body).await
        }
        Err(Failure::Refused(faults)) => {
            let form = form.refused(faults.clone());
            let status = if query.is_none() {
                StatusCode::OK
            } else {
                form.status()
            };
            let shown = sheet(&label).show(page(&desk, None, &form));
            Ok((status, shown).into_response())
        }
        Err(Failure::Trouble(e)) => Err(crate::web::problem::Problem::inside(&e.to_string())),
    }
}

async fn file(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    let of = label.clone();
    let outcome = app
        .carry_out(&form, &[], move |s, d: &FileDraft, r| {
            s.file_roll(s.roll(&of)?.roll.id, d, r)
        })
        .await?;
    match outcome {
        Ok(made) => Ok(go_on(&format!("/roll/{label}"), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let desk = desk(&app, label.clone(), form.draft(&[])).await?;
            form.answer(sheet(&label).show(page(&desk, None, &form)))
        }
    }
}

async fn unfile(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    let of = label.clone();
    app.press(&form, format!("/roll/{label}"), move |s, r| {
        s.unfile_roll(s.roll(&of)?.roll.id, r)
    })
    .await
}

fn page(desk: &Desk, filing: Option<&FilingView>, form: &Form) -> Markup {
    let label = &desk.roll.roll.label;
    let base = format!("/roll/{label}/file");
    html! {
        h1 { "File " a href={ "/roll/" (label) } { (label) } }
        p { (desk.roll.stock.name) ", " (say::count(desk.roll.roll.frames, "frame", "frames")) "." }
        (form.refusals())
        @if desk.binders.iter().all(|b| b.closed) {
            p { a.btn href="/binders" { "Add a binder first" } }
        } @else {
            @if let Some(v) = filing {
                @if v.again { div.note { p { "It lies in a binder already: filing it anew takes it out there first." } } }
                @if let Some(cutting) = &v.cutting { (cuts(cutting, &v.strips)) }
                h2 { "It goes here" }
                p { (v.book.binder.name) ": "
                    @for (i, s) in v.strips.iter().enumerate() { @if i > 0 { "; " } (frames(s)) " on page " (s.page) ", row " (s.row + 1) }
                    "." }
                @for p in &v.pages {
                    h3 { "Page " (p.number) }
                    (drawn(&format!("page-{}", p.number), &v.book, p))
                }
            }
            form.form method="post" action=(base) {
                (form.request_field())
                (fields(desk, form, filing))
                div.thumb {
                    button formmethod="get" formaction=(base) { "Look again" }
                    button.main { "File it like this" }
                }
            }
        }
    }
}

/// The strips, the cuts, and why they lie there.
fn cuts(cutting: &Cutting, strips: &[Lying]) -> Markup {
    let rows: Vec<Vec<String>> = strips
        .iter()
        .map(|s| {
            (0..s.frames)
                .map(|i| s.first.after(i).to_string())
                .collect()
        })
        .collect();
    html! {
        h2 { "Where to cut" }
        (cut_strips("cuts", &rows))
        ol {
            @for c in &cutting.cuts {
                li { "After " strong { (c.after) } ", before " strong { (c.before) } ": " (format!("{:.0}", c.mm)) " mm from where the first frame begins." }
            }
        }
        @if !cutting.left_out.is_empty() { p { "Left out, blank: " (cutting.left_out.join(", ")) "." } }
        details {
            summary { "Why there" }
            @for because in &cutting.because { p { (because) } }
            ol { @for c in &cutting.cuts { li { (c.because) } } }
        }
        @for c in &cutting.caveats { div.note { p { (c.text) } } }
    }
}

fn fields(desk: &Desk, form: &Form, filing: Option<&FilingView>) -> Markup {
    let binders: Vec<(String, String)> = desk
        .binders
        .iter()
        .filter(|b| !b.closed)
        .map(|b| (b.id.to_string(), b.name.clone()))
        .collect();
    let typed = filing.map(FilingView::typed).unwrap_or_default();
    let hint = if typed.is_empty() {
        "Such as 1-6, 7-12, 13-18. As proposed when empty.".to_owned()
    } else {
        format!("As proposed when empty: {typed}.")
    };
    html! {
        @if binders.len() > 1 { (form.field("binder", "Into which binder").select(&binders)) }
        details open[form.is_faulty() || !form.text("strips").is_empty()] {
            summary { "It was cut otherwise, or lies elsewhere" }
            (form.field("strips", "Strips as they were really cut").hint(&hint).text())
            div.pair {
                (form.field("page", "Page to begin on").hint("The next with room when empty.").whole())
                (form.field("row", "Row to begin at").hint("The first free one when empty.").whole())
            }
            div.pair {
                (form.field("first", "First frame").hint("1 when empty.").text())
                (form.field("frames", "Frames").hint("As wound when empty.").whole())
            }
            (form.field("blank", "Frames with nothing on them").hint("They may be left out. Press Look again for new cuts.").text())
        }
    }
}

/// Where a filed roll lies, for its own page.
pub(crate) fn lies(roll: &Roll, strips: &[(Binder, Lying)]) -> Markup {
    html! {
        @if let Some((_, first)) = strips.first() {
            h2 { "In the binder" }
            ul.rows {
                @for (binder, s) in strips {
                    li { a.row href={ "/binders/" (binder.id) "/pages/" (s.page) } {
                        span.what {
                            span.name { (frames(s)) }
                            span.more { (binder.name) ", page " (s.page) ", row " (s.row + 1) @if s.position > 0 { ", place " (s.position + 1) } }
                        }
                    } }
                }
            }
            details {
                summary { "It lies otherwise" }
                p { a.btn href={ "/roll/" (roll.label) "/file?page=" (first.page) } { "File it anew" } }
                form method="post" action={ "/roll/" (roll.label) "/unfile" } {
                    (Form::default().request_field())
                    button { "Take it out of the binder" }
                }
            }
        } @else if roll.state == RollState::Filed {
            p.ways-on { a href={ "/roll/" (roll.label) "/file" } { "Say where it lies in a binder" } }
        }
    }
}
