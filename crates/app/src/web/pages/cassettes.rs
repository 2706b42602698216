//! Cassettes: list with reuse counts, add in lots, mark as leaking or retired.

use super::first_steps::{self, Step};
use super::main_act;
use crate::service::draft::CassetteDraft;
use crate::service::shelf::{CassetteView, Shelf};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::shelf::{Cassette, CassetteId, RollId, RollState};
use std::collections::HashMap;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/cassettes", get(list).post(add))
        .route("/cassettes/new", get(blank))
        .route("/cassettes/{id}", get(edit).post(change))
        .route("/cassettes/{id}/mark", post(mark))
}

/// The label of the roll that sits in each filled cassette.
fn held(s: &Service) -> Outcome<HashMap<RollId, String>> {
    let mut held = HashMap::new();
    for state in RollState::ALL.iter().filter(|s| s.holds_cassette()) {
        held.extend(
            s.rolls_in(*state)?
                .into_iter()
                .map(|r| (r.roll.id, r.roll.label)),
        );
    }
    Ok(held)
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let (shelf, held) = app.ask(|s| Ok((s.shelf()?, held(s)?))).await?;
    app.show(
        Page::new(Way::More, "Cassettes"),
        &asked,
        list_page(&shelf, &held),
    )
    .await
}

async fn blank(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    app.show(new_sheet(), &asked, form_page(&Form::default(), None))
        .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &CassetteDraft, r| {
            s.save_cassettes(None, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(first_steps::onward(&form, "/cassettes"), made.entry)),
        Err(failure) if first_steps::is_on_the_way(&form) => {
            first_steps::refused(&app, Step::Cassettes, form, failure).await
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            form.answer(new_sheet().show(form_page(&form, None)))
        }
    }
}

async fn edit(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let cassette = app.ask(move |s| s.cassette(CassetteId(id))).await?;
    app.show(
        sheet(&cassette),
        &asked,
        form_page(
            &Form::from_record(&CassetteDraft::from(&cassette)),
            Some(&cassette),
        ),
    )
    .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let id = CassetteId(id);
    let cassette = app.ask(move |s| s.cassette(id)).await?;
    match app
        .change(
            &form,
            &[],
            move |s| Ok(CassetteDraft::from(&s.cassette(id)?)),
            move |s, d: &CassetteDraft, r| s.save_cassettes(Some(id), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/cassettes", made.entry)),
        Err(failure) => {
            let form = form
                .refused_by(failure)?
                .seeing(&CassetteDraft::from(&cassette));
            form.answer(sheet(&cassette).show(form_page(&form, Some(&cassette))))
        }
    }
}

async fn mark(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let (leaks, retired) = (form.ticked("leaks"), form.ticked("retired"));
    app.press(&form, "/cassettes", move |s, r| {
        s.mark_cassette(CassetteId(id), leaks, retired, r)
    })
    .await
}

fn new_sheet() -> Page {
    Page::new(Way::More, "Add cassettes").sheet("New cassettes")
}

fn sheet(cassette: &Cassette) -> Page {
    Page::new(Way::More, format!("Cassette {}", cassette.label)).sheet("Cassette")
}

fn list_page(shelf: &Shelf, held: &HashMap<RollId, String>) -> Markup {
    let all = &shelf.cassettes;
    let usable = |c: &&CassetteView| !c.cassette.retired && !c.cassette.leaks;
    let (use_them, leave_them): (Vec<_>, Vec<_>) = all.iter().partition(usable);
    let empty = use_them.iter().filter(|c| c.is_ready()).count();
    html! {
        h1 { "Cassettes" }
        @if all.is_empty() {
            p { "None yet. Write a number on each of your reloadable cassettes, then add them all at once: 1-15." }
        } @else {
            p.soft { (say::count(empty as u64, "is empty and can be wound", "are empty and can be wound")) "." }
        }
        ul.rows { @for c in &use_them { li { (row(c, held)) } } }
        div.thumb { a.btn.main href="/cassettes/new" { "Add cassettes" } }
        @if !leave_them.is_empty() {
            h2 { "Not to be wound" }
            ul.rows { @for c in &leave_them { li { (row(c, held)) } } }
        }
    }
}

fn row(v: &CassetteView, held: &HashMap<RollId, String>) -> Markup {
    let holds = v.holds.and_then(|id| held.get(&id));
    html! {
        a.row href={ "/cassettes/" (v.cassette.id) } {
            span.what {
                span.name { (v.cassette.label) }
                span.more {
                    @if let Some(roll) = holds { "holds " strong { (roll) } } @else { "empty" }
                    @if !v.cassette.note.is_empty() { ", " (v.cassette.note) }
                }
            }
            @if v.cassette.leaks { span.stamp.ink { "leaks light" } }
            @if v.cassette.retired { span.stamp.past { "retired" } }
            span.much { b { (v.uses) } (if v.uses == 1 { "use" } else { "uses" }) }
        }
    }
}

fn form_page(form: &Form, cassette: Option<&Cassette>) -> Markup {
    html! {
        h1 { @if let Some(c) = cassette { "Cassette " (c.label) } @else { "Add cassettes" } }
        (form.refusals())
        form.form method="post" action={ @if let Some(c) = cassette { "/cassettes/" (c.id) } @else { "/cassettes" } } {
            (fields(form, cassette.is_some()))
            (main_act(if cassette.is_some() { "Keep the changes" } else { "Add" }))
        }
        @if let Some(c) = cassette { p { a href={ "/history?cassette=" (c.id) } { "Its history" } } }
    }
}

/// The one field that new cassettes need, also for the first-use path.
pub(crate) fn labels(form: &Form) -> Markup {
    html! {
        (form.request_field())
        (form.field("label", "What is written on them")
            .hint("One label, several with commas, or a range such as 1-15.").needed().first().text())
    }
}

/// The fields of cassettes; one that is `known` has one label.
fn fields(form: &Form, known: bool) -> Markup {
    html! {
        @if known {
            (form.request_field())
            (form.field("label", "What is written on it").needed().text())
        } @else {
            (labels(form))
        }
        div.pair {
            (form.field("most_frames", "Most frames").unit("frames").hint("38 when empty; more gets tight on a usual base.").whole())
            (form.field("earlier_uses", "Filled before this record began").unit("times").hint("0 when empty.").whole())
        }
        (form.field("leaks", "Leaks light").hint("shown as a warning and not offered any more").tick())
        (form.field("retired", "Retired").hint("kept for its history, not offered").tick())
        (form.field("note", "Note").hint("The felt of its light trap, say.").text())
    }
}
