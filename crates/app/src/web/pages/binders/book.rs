//! Binders: list, add, change; a binder's pages as drawings, one page with its strips, a strip moved.

use super::{drawn, frames};
use crate::service::binder::book::{Book, Lying, PageView};
use crate::service::binder::kit::BinderDraft;
use crate::service::binder::shift::MoveDraft;
use crate::service::shelf::RollView;
use crate::service::{Failure, Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::pages::wet::put_away;
use crate::web::problem::Problem;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::field::record::PageFormat;
use spoolwright_core::shelf::{BinderId, RollState, StripId};

/// Pages of a binder drawn at once.
const SHOWN: usize = 24;
/// Rolls that wait, listed at most.
const WAITING: usize = 60;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/binders", get(list).post(add))
        .route("/binders/{id}", get(show).post(change))
        .route("/binders/{id}/close", post(close))
        .route("/binders/{id}/pages/{page}", get(page))
        .route("/binders/{id}/pages/{page}/strips/{strip}", post(shift))
}

fn sheet(title: &str) -> Page {
    Page::new(Way::More, title).sheet("Binders")
}

struct All {
    books: Vec<Book>,
    formats: Vec<PageFormat>,
    waiting: Vec<RollView>,
}

fn all(s: &Service) -> Outcome<All> {
    let books = s.binders()?.into_iter().map(|b| s.book(b.id));
    Ok(All {
        books: books.collect::<Outcome<_>>()?,
        formats: s.page_formats()?,
        waiting: s.rolls_in(RollState::Developed)?,
    })
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let all = app.ask(all).await?;
    app.show(sheet("Binders"), &asked, list_page(&all, &Form::default()))
        .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &BinderDraft, r| {
            s.save_binder(None, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on("/binders", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let all = app.ask(all).await?;
            form.answer(sheet("Binders").show(list_page(&all, &form)))
        }
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct From {
    from: u32,
    done: Option<i64>,
}

type One = (Book, Vec<PageFormat>);

async fn one(app: &App, id: i64) -> Result<One, Problem> {
    app.ask(move |s| Ok((s.book(BinderId(id))?, s.page_formats()?)))
        .await
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(from): Query<From>) -> Answer {
    let one = one(&app, id).await?;
    let form = Form::from_record(&BinderDraft::from(&one.0.binder));
    let asked = Asked {
        done: from.done,
        before: None,
    };
    app.show(
        sheet(&one.0.binder.name),
        &asked,
        one_page(&form, &one, from.from),
    )
    .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let binder = BinderId(id);
    match app
        .change(
            &form,
            &[],
            move |s| Ok(BinderDraft::from(&s.binder(binder)?)),
            move |s, d: &BinderDraft, r| s.save_binder(Some(binder), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/binders/{id}"), made.entry)),
        Err(failure) => {
            let one = one(&app, id).await?;
            let form = form
                .refused_by(failure)?
                .seeing(&BinderDraft::from(&one.0.binder));
            form.answer(sheet(&one.0.binder.name).show(one_page(&form, &one, 0)))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/binders", move |s, r| {
        s.close_binder(BinderId(id), closed, r)
    })
    .await
}

async fn page(
    State(app): State<App>,
    Path((id, number)): Path<(i64, u32)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let book = app.ask(move |s| s.book(BinderId(id))).await?;
    app.show(
        page_sheet(&book, number),
        &asked,
        page_page(&book, number, None, &Form::default()),
    )
    .await
}

async fn shift(
    State(app): State<App>,
    Path((id, number, strip)): Path<(i64, u32, i64)>,
    form: Form,
) -> Answer {
    match app
        .carry_out(&form, &[], move |s, d: &MoveDraft, r| {
            s.move_strip(StripId(strip), d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/binders/{id}/pages/{number}"), made.entry)),
        Err(failure) => refused_move(&app, (id, number, strip), form, failure).await,
    }
}

async fn refused_move(
    app: &App,
    (id, number, strip): (i64, u32, i64),
    form: Form,
    failure: Failure,
) -> Answer {
    let form = form.refused_by(failure)?;
    let book = app.ask(move |s| s.book(BinderId(id))).await?;
    form.answer(page_sheet(&book, number).show(page_page(
        &book,
        number,
        Some(StripId(strip)),
        &form,
    )))
}

fn page_sheet(book: &Book, number: u32) -> Page {
    let title = format!("{}, page {number}", book.binder.name);
    Page::new(Way::More, title).sheet(format!("Page {number}"))
}

fn list_page(all: &All, form: &Form) -> Markup {
    let names: Vec<(String, String)> = all
        .formats
        .iter()
        .filter(|f| !f.closed)
        .map(|f| (f.id.to_string(), f.name.clone()))
        .collect();
    html! {
        h1 { "Binders" }
        @if all.books.is_empty() { p { "None yet." } }
        ul.rows { @for b in &all.books { li { (row(b)) } } }
        @if !all.waiting.is_empty() && !all.books.is_empty() {
            h2 { "Developed, not filed" }
            ul.rows {
                @for r in all.waiting.iter().take(WAITING) {
                    li { a.row href={ "/roll/" (r.roll.label) "/file" } {
                        span.what { span.name { (r.roll.label) } span.more { (r.stock.name) ", wound " (say::day(&r.roll.wound_at)) } }
                        span.much { b { (r.roll.frames) } "frames" }
                    } }
                }
            }
            p { a.btn href="/binders/fill" { "Fill pages with them" } }
            @if WAITING < all.waiting.len() { p.soft { "And " (all.waiting.len() - WAITING) " more." } }
        }
        @if names.is_empty() {
            p { a.btn href="/binders/formats" { "Add a page format first" } }
        } @else {
            details open[all.books.is_empty() || form.is_faulty()] {
                summary { "Add a binder" }
                (form.refusals())
                form.form method="post" action="/binders" { (fields(form, &names)) (main_act("Add the binder")) }
            }
        }
        p.ways-on { a href="/binders/formats" { "Page formats" } " " a href="/find" { "Find a frame" } }
    }
}

fn row(b: &Book) -> Markup {
    html! {
        a.row href={ "/binders/" (b.binder.id) } {
            span.what {
                span.name { (b.binder.name) @if b.binder.closed { " (put away)" } }
                span.more { (b.format.name) @if !b.binder.note.is_empty() { ", " (b.binder.note) } }
            }
            span.much { b { (b.last_page()) } (if b.last_page() == 1 { "page" } else { "pages" }) }
        }
    }
}

fn fields(form: &Form, formats: &[(String, String)]) -> Markup {
    html! {
        (form.request_field())
        (form.field("name", "What stands on its back").needed().text())
        (form.field("format", "Its pages").select(formats))
        (form.field("note", "Note").hint("Where it stands.").text())
    }
}

fn one_page(form: &Form, (book, formats): &One, from: u32) -> Markup {
    let pages = book.views();
    let total = pages.len();
    // The newest pages first: there the work goes on.
    let skip = from as usize;
    let shown: Vec<&PageView> = pages.iter().rev().skip(skip).take(SHOWN).collect();
    let names: Vec<(String, String)> = formats
        .iter()
        .filter(|f| !f.closed || f.id == book.format.id)
        .map(|f| (f.id.to_string(), f.name.clone()))
        .collect();
    let base = format!("/binders/{}", book.binder.id);
    html! {
        h1 { (book.binder.name) }
        p { (book.format.name) ": " (say::count(book.format.rows, "row", "rows")) " of " (say::count(book.format.frames_per_row, "frame", "frames")) "." }
        @if total == 0 { p { "Nothing is filed in it yet. A developed roll is filed from its own page." } }
        @for p in &shown {
            section {
                h2 { a href={ (base) "/pages/" (p.number) } { "Page " (p.number) } }
                p.soft { (p.rolls().join(", ")) @if p.free > 0 { "; " (say::count(p.free, "place", "places")) " free" } }
                (drawn(&format!("page-{}", p.number), book, p))
            }
        }
        @if skip + shown.len() < total {
            p { a.btn href={ (base) "?from=" (skip + shown.len()) } { "Earlier pages" } }
        }
        details open[form.is_faulty()] {
            summary { "Change the binder" }
            (form.refusals())
            form.form method="post" action=(base) { (fields(form, &names)) button { "Keep the changes" } }
            (put_away(&format!("{base}/close"), book.binder.closed, ("Put away", "Take out again")))
        }
        p.ways-on { a href="/binders" { "Binders" } }
    }
}

fn page_page(book: &Book, number: u32, wrong: Option<StripId>, form: &Form) -> Markup {
    let view = book.view(number);
    let base = format!("/binders/{}/pages", book.binder.id);
    html! {
        h1 { a href={ "/binders/" (book.binder.id) } { (book.binder.name) } ", page " (number) }
        (form.refusals())
        (drawn("page", book, &view))
        @if view.free > 0 { p.soft { (say::count(view.free, "place", "places")) " free." } }
        @if view.strips.is_empty() { p { "Nothing lies on it." } }
        ul.rows { @for s in &view.strips { li { (strip_row(s)) } } }
        @for s in &view.strips { (move_form(&base, s, if wrong == Some(s.id) { Some(form) } else { None })) }
        p.ways-on {
            @if number > 1 { a href={ (base) "/" (number - 1) } { "Page " (number - 1) } " " }
            @if number < book.last_page() { a href={ (base) "/" (number + 1) } { "Page " (number + 1) } }
        }
    }
}

fn strip_row(s: &Lying) -> Markup {
    html! {
        a.row href={ "/roll/" (s.label) } {
            span.what {
                span.name { (s.label) ", " (frames(s)) }
                span.more { "row " (s.row + 1) @if s.position > 0 { ", place " (s.position + 1) } }
            }
        }
    }
}

fn move_form(base: &str, s: &Lying, refused: Option<&Form>) -> Markup {
    let of = format!("strip{}", s.id);
    let form = refused.cloned().unwrap_or_default();
    let form = form
        .with_default("page", s.page.to_string())
        .with_default("row", (s.row + 1).to_string())
        .with_default("position", (s.position + 1).to_string());
    html! {
        details open[refused.is_some()] {
            summary { "Move " (s.label) ", " (frames(s)) }
            form.form method="post" action={ (base) "/" (s.page) "/strips/" (s.id) } {
                (form.request_field())
                div.pair {
                    (form.field("page", "Page").of(&of).whole())
                    (form.field("row", "Row").of(&of).whole())
                }
                (form.field("position", "First place in the row").of(&of).whole())
                button { "Move it" }
            }
        }
    }
}
