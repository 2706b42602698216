//! Page formats: list, add, change, put away, and what a sleeve should be made of.

use crate::service::Service;
use crate::service::binder::kit::PageFormatDraft;
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::pages::wet::put_away;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::binder::enclosure::{ALWAYS, Material, Verdict, advice};
use spoolwright_core::field::record::PageFormat;
use spoolwright_core::shelf::PageFormatId;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/binders/formats", get(list).post(add))
        .route("/binders/formats/{id}", get(show).post(change))
        .route("/binders/formats/{id}/close", post(close))
}

const LIST: &str = "/binders/formats";

fn sheet(title: &str) -> Page {
    Page::new(Way::More, title).sheet("Page formats")
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let all = app.ask(Service::page_formats).await?;
    app.show(
        sheet("Page formats"),
        &asked,
        list_page(&all, &Form::default()),
    )
    .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &PageFormatDraft, r| {
            s.save_page_format(None, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(LIST, made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let all = app.ask(Service::page_formats).await?;
            form.answer(sheet("Page formats").show(list_page(&all, &form)))
        }
    }
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let format = app.ask(move |s| s.page_format(PageFormatId(id))).await?;
    let form = Form::from_record(&PageFormatDraft::from(&format));
    app.show(sheet(&format.name), &asked, one_page(&form, &format))
        .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let id = PageFormatId(id);
    let format = app.ask(move |s| s.page_format(id)).await?;
    match app
        .change(
            &form,
            &[],
            move |s| Ok(PageFormatDraft::from(&s.page_format(id)?)),
            move |s, d: &PageFormatDraft, r| s.save_page_format(Some(id), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on(LIST, made.entry)),
        Err(failure) => {
            let form = form
                .refused_by(failure)?
                .seeing(&PageFormatDraft::from(&format));
            form.answer(sheet(&format.name).show(one_page(&form, &format)))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, LIST, move |s, r| {
        s.close_page_format(PageFormatId(id), closed, r)
    })
    .await
}

fn list_page(all: &[PageFormat], form: &Form) -> Markup {
    html! {
        h1 { "Page formats" }
        @if all.is_empty() { p { "None yet. A page format comes before a binder: how many rows a sleeve page has, and how long they are." } }
        ul.rows { @for f in all { li { (row(f)) } } }
        details open[all.is_empty() || form.is_faulty()] {
            summary { "Add a page format" }
            (form.refusals())
            form.form method="post" action=(LIST) { (fields(form)) (main_act("Add the page format")) }
        }
        (materials())
        p { a href="/binders" { "Binders" } }
    }
}

fn row(f: &PageFormat) -> Markup {
    html! {
        a.row href={ (LIST) "/" (f.id) } {
            span.what {
                span.name { (f.name) @if f.closed { " (put away)" } }
                span.more { (say::count(f.rows, "row", "rows")) " of " (say::count(f.frames_per_row, "frame", "frames")) }
            }
            span.much { b { (f.rows * f.frames_per_row) } "frames" }
        }
    }
}

fn fields(form: &Form) -> Markup {
    html! {
        (form.request_field())
        (form.field("name", "What you call it").needed().text())
        div.pair {
            (form.field("rows", "Rows of a page").needed().whole())
            (form.field("frames_per_row", "Full frames in a row").needed().whole())
        }
        (form.field("price_each", "What one page costs").number())
        (form.field("note", "Note").hint("What it is made of, where it came from.").text())
    }
}

fn one_page(form: &Form, f: &PageFormat) -> Markup {
    html! {
        h1 { (f.name) }
        (form.refusals())
        form.form method="post" action={ (LIST) "/" (f.id) } {
            (fields(form))
            (main_act("Keep the changes"))
        }
        (put_away(&format!("{LIST}/{}/close", f.id), f.closed, ("Put away", "Take out again")))
        (materials())
    }
}

/// What is known of enclosures, each with its source.
fn materials() -> Markup {
    html! {
        details {
            summary { "What a sleeve should be made of" }
            dl {
                @for &material in Material::ALL {
                    @let a = advice(material, false);
                    dt { (material.word().replace('-', " ")) ": " strong { (verdict(a.verdict)) } }
                    dd { (a.text) " " span.soft { "[" (a.sources.join(", ")) "]" } }
                }
            }
            @for (text, sources) in ALWAYS { p { (text) " " span.soft { "[" (sources.join(", ")) "]" } } }
        }
    }
}

const fn verdict(v: Verdict) -> &'static str {
    match v {
        Verdict::Good => "good",
        Verdict::WithCare => "with care",
        Verdict::Avoid => "avoid",
    }
}
