//! Rolls: the list, and the page a label's code opens: where a roll stands, its next step, corrections.

use super::{binders, field, story, tickets, wedge, wet};
use crate::service::binder::book::Lying;
use crate::service::field::notes::NoteView;
use crate::service::field::stays::RollField;
use crate::service::rolls::{About, MeasureDraft, RollDraft};
use crate::service::shelf::{RollView, Shelf};
use crate::service::wet::runs::RunView;
use crate::service::winding::WindDraft;
use crate::service::{Failure, Made, Outcome, Request, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use spoolwright_core::field::record::Binder;
use spoolwright_core::shelf::{JournalEntry, RollId, RollState};
use spoolwright_core::wedge::record::WedgeTest;
use spoolwright_core::wet::record::RunRoll;
use std::sync::Arc;

/// Rolls of one state shown at most.
const MOST_OF_A_STATE: usize = 200;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/rolls", get(list))
        .route("/roll/{label}", get(show))
        .route("/roll/{label}/move", post(move_on))
        .route("/roll/{label}/correct", post(correct))
        .route("/roll/{label}/measure", post(measure))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Which {
    state: String,
    before: Option<i64>,
    done: Option<i64>,
}

async fn list(State(app): State<App>, Query(which): Query<Which>) -> Answer {
    let state = RollState::from_word(&which.state).ok();
    let before = which.before.map(RollId);
    let (shelf, rolls) = app
        .ask(move |s| {
            let rolls = match state {
                // Newest first; a drawer of old rolls is paged through without choosing a state.
                Some(state) => s
                    .rolls_in(state)?
                    .into_iter()
                    .rev()
                    .take(MOST_OF_A_STATE)
                    .collect(),
                None => s.recent_rolls(before)?,
            };
            Ok((s.shelf()?, rolls))
        })
        .await?;
    let asked = Asked {
        done: which.done,
        before: None,
    };
    app.show(
        Page::new(Way::Rolls, "Rolls"),
        &asked,
        list_page(&shelf, &rolls, state),
    )
    .await
}

/// One roll with what its page needs around it.
struct Sheet {
    shelf: Arc<Shelf>,
    view: RollView,
    test: Option<WedgeTest>,
    runs: Vec<(RunView, RunRoll)>,
    field: RollField,
    notes: Vec<NoteView>,
    strips: Vec<(Binder, Lying)>,
    story: Vec<JournalEntry>,
}

fn sheet(s: &Service, label: &str) -> Outcome<Sheet> {
    let view = s.roll(label)?;
    let story = s.history(About::Roll(view.roll.id), None)?;
    Ok(Sheet {
        shelf: s.shelf()?,
        test: s.wedge_test_of_roll(&view.roll)?,
        runs: s.runs_of_roll(view.roll.id)?,
        field: s.roll_in_field(&view)?,
        notes: s.notes_of(view.roll.id)?,
        strips: s.strips_of(&view.roll)?,
        view,
        story,
    })
}

fn head(view: &RollView) -> Page {
    Page::new(Way::Rolls, &view.roll.label)
        .sheet(format!("Roll {}", view.roll.label))
        .script("frames.js")
        .script("notes.js")
}

async fn show(
    State(app): State<App>,
    Path(label): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let sheet = app.ask(move |s| sheet(s, &label)).await?;
    app.show(head(&sheet.view), &asked, page(&sheet, &Form::default()))
        .await
}

async fn act<D: DeserializeOwned + Default + Send + 'static>(
    app: App,
    label: String,
    form: Form,
    act: fn(&Service, RollId, &D, Request<'_>) -> Outcome<Made<()>>,
) -> Answer {
    let of = label.clone();
    let outcome = app
        .carry_out(&form, &[], move |s, d: &D, r| {
            let id = s.roll(&of)?.roll.id;
            act(s, id, d, r)
        })
        .await?;
    match outcome {
        Ok(made) => Ok(go_on(&format!("/roll/{label}"), made.entry)),
        Err(failure) => refused(app, label, form, failure).await,
    }
}

/// The roll's page with what was refused on it.
pub(crate) async fn refused(app: App, label: String, form: Form, failure: Failure) -> Answer {
    let form = form.refused_by(failure)?;
    let sheet = app.ask(move |s| sheet(s, &label)).await?;
    form.answer(head(&sheet.view).show(page(&sheet, &form)))
}

async fn move_on(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    act::<RollDraft>(app, label, form, Service::move_roll).await
}

async fn correct(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    if form.ticked("ran_out") && tickets::is_without_clicks(&form) {
        let missing = tickets::without_clicks(
            "the clicks it was wound to",
            "Enter the click at which the can ran out; the ticket's own if it was the last one.",
        );
        return refused(app, label, form, missing).await;
    }
    act::<WindDraft>(app, label, form, Service::correct_roll).await
}

async fn measure(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    act::<MeasureDraft>(app, label, form, Service::measure_roll).await
}

fn list_page(shelf: &Shelf, rolls: &[RollView], state: Option<RollState>) -> Markup {
    html! {
        h1 { (state.map_or("Rolls".to_owned(), |s| format!("Rolls {}", say::roll_state(s)))) }
        nav.choices aria-label="Which rolls" {
            a href="/rolls" aria-current=[state.is_none().then_some("true")] { "all" }
            @for s in RollState::ALL {
                @if shelf.count(*s) > 0 {
                    a href={ "/rolls?state=" (s.word()) } aria-current=[(state == Some(*s)).then_some("true")] {
                        (say::roll_state(*s)) " " b { (shelf.count(*s)) }
                    }
                }
            }
        }
        p.ways-on { a href="/find" { "Find a frame" } " " a href="/cameras" { "Cameras" } " " a href="/binders" { "Binders" } }
        @if rolls.is_empty() { p { "None here yet. A roll appears when its ticket is wound." } }
        ul.rows { @for r in rolls { li { (row(r, true)) } } }
        @if state.is_some() && rolls.len() == MOST_OF_A_STATE {
            p.soft { "These are the newest " (MOST_OF_A_STATE) "; older ones are among " a href="/rolls" { "all rolls" } "." }
        }
        @if state.is_none() && rolls.len() >= crate::service::rolls::ROLL_PAGE as usize {
            @if let Some(last) = rolls.last() { p { a.btn href={ "/rolls?before=" (last.roll.id) } { "Older rolls" } } }
        }
    }
}

/// One roll in a list, with its stock where the list has several.
pub(crate) fn row(r: &RollView, with_stock: bool) -> Markup {
    html! {
        a.row href={ "/roll/" (r.roll.label) } {
            span.what {
                span.name { (r.roll.label) @if with_stock { " " (r.stock.name) } }
                span.more {
                    @if let Some(want) = &r.want { "for " (want) ", " }
                    "wound " (say::day(&r.roll.wound_at))
                    @if r.roll.state.holds_cassette() { @if let Some(c) = &r.cassette { ", cassette " (c) } }
                }
            }
            span.stamp.past[!r.roll.state.holds_cassette()] { (say::roll_state(r.roll.state)) }
            span.much { b { (r.roll.frames) } "frames" }
        }
    }
}

/// The next step of a roll's life that is no camera's, with the words on its button.
fn next_step(state: RollState) -> Option<(RollState, &'static str)> {
    match state {
        RollState::Exposed => Some((RollState::Developed, "It is developed")),
        _ => None,
    }
}

fn page(sheet: &Sheet, form: &Form) -> Markup {
    let (r, view) = (&sheet.view.roll, &sheet.view);
    let base = format!("/roll/{}", r.label);
    let loader = sheet.shelf.loader(r.loader);
    let dial_zero = tickets::dial_zero(loader.map(|l| l.loader.kind));
    html! {
        h1 { (r.label) }
        p { span.stamp.past[!r.state.holds_cassette()] { (say::roll_state(r.state)) } " " strong { (view.stock.name) } }
        @if view.cassette_leaks { div.note { p { "Its cassette leaks light: this roll may be fogged." } } }
        @if let Some(test) = &sheet.test { (wedge::on_roll(test, r.state)) }
        (form.refusals())
        (field::roll::standing(r, &sheet.field, form))
        dl.fields.many {
            div { dt { "Frames" } dd { span.slab { (r.frames) } } }
            div { dt { "Speed" } dd { span.slab { (sheet.field.ei.map_or("—".to_owned(), say::speed)) } } }
            div { dt { "Cassette" } dd {
                @match (r.cassette, &view.cassette) {
                    (Some(id), Some(label)) => a href={ "/cassettes/" (id) } { "Cassette " (label) },
                    _ => "—",
                }
            } }
            div { dt { "From can" } dd { a href={ "/cans/" (r.can) } { (view.can) } } }
            div { dt { "Wound" } dd { (say::moment(&r.wound_at)) } }
            div { dt { "Clicks" } dd { (say::speed(r.clicks)) span.interval { (r.leader_clicks) " leader, " (r.tail_clicks) " tail" } } }
            @if let Some(want) = &view.want { div { dt { "For" } dd { (want) } } }
            @if !r.note.is_empty() { div.wide { dt { "Note" } dd { (r.note) } } }
        }
        p.ways-on {
            a href={ "/print/labels?only=" (r.label) } { "Print its label" } " "
            a href={ "/roll/" (r.label) "/scans" } { "Its scans" } " "
            a href={ "/kept/roll/" (r.id) } { "Where it lies" } " "
            @if r.state.holds_cassette() { a href={ "/wet/runs/new?reels=" (r.label) } { "Load a tank with it" } }
        }
        (binders::file::lies(r, &sheet.strips))
        (field::roll::frames(r, &sheet.notes))
        div.form {
            (field::roll::take_out(r, &sheet.field, form))
            details open[form.is_faulty()] {
                summary { "Something else happened to it" }
                form method="post" action={ (base) "/move" } {
                    (form.request_field())
                    (form.clone().with_default("state", r.state.word()).field("state", "Where it is").select(&states()))
                    (form.field("ei", "Speed on its label").unit("EI").hint("Unchanged when empty.").number())
                    (form.field("note", "Note").hint("Say why when it is lost or scrapped.").text())
                    button { "Keep this" }
                }
            }
            details open[form.is_faulty()] {
                summary { "It was wound otherwise" }
                form method="post" action={ (base) "/correct" } data-frames=(tickets::frames_of(dial_zero, r.leader_clicks + r.tail_clicks, r.advance_perforations)) {
                    (form.request_field())
                    p.hint { "Unchanged when empty." }
                    (tickets::stopped_at(form, "It was wound to", dial_zero))
                    (form.clone().with_default("cassette", view.cassette.clone().unwrap_or_default()).field("cassette", "It sits in").select(&cassettes(sheet)))
                    (form.sure())
                    div.acts {
                        button name="ran_out" value="no" { "Correct it" }
                        button name="ran_out" value="yes" { "The can ran out with it" }
                    }
                }
            }
            details open[form.is_faulty()] {
                summary { "It was measured end to end" }
                form method="post" action={ (base) "/measure" } {
                    (form.request_field())
                    (form.field("length", "All the film it drew, offcuts included").unit(say::length_unit(&sheet.shelf.settings))
                        .hint(&format!("Such as {}. After developing, say. It teaches how its loader counts.",
                            say::example(&sheet.shelf.settings, "1.62", "5.3"))).text())
                    button { "Measured" }
                }
            }
        }
        @if !sheet.runs.is_empty() {
            h2 { "At the tank" }
            ul.rows { @for (run, on) in &sheet.runs { li { (wet::runs::of_roll(run, on)) } } }
        }
        h2 { "Its story" }
        (story(&sheet.story))
        div.thumb {
            @if let Some(acts) = field::roll::acts(r, &sheet.field) { (acts) }
            @else if r.state == RollState::Developed { a.btn.main href={ (base) "/file" } { "File it in a binder" } }
            @else if let Some((state, words)) = next_step(r.state) {
                form method="post" action={ (base) "/move" } {
                    (Form::default().request_field())
                    input type="hidden" name="state" value=(state.word());
                    button.main { (words) }
                }
            }
        }
    }
}

fn states() -> Vec<(&'static str, &'static str)> {
    RollState::ALL
        .iter()
        .map(|s| (s.word(), say::roll_state(*s)))
        .collect()
}

fn cassettes(sheet: &Sheet) -> Vec<(String, String)> {
    let mut all = vec![(String::new(), "unchanged".to_owned())];
    let own = sheet
        .shelf
        .cassettes
        .iter()
        .filter(|c| Some(c.cassette.id) == sheet.view.roll.cassette);
    all.extend(own.chain(sheet.shelf.ready_cassettes()).map(|c| {
        (
            c.cassette.label.clone(),
            format!("cassette {}", c.cassette.label),
        )
    }));
    all
}
