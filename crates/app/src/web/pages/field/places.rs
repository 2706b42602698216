//! Storage places: each with what lies in it; and how long a package warms up.

use super::kept;
use crate::service::field::places::{PlaceDraft, PlaceView, WarmDraft, kind_word, number_of};
use crate::service::settings::Settings;
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::field::record::StoragePlace;
use spoolwright_core::shelf::StoragePlaceId;
use spoolwright_core::storage::package::Package;
use spoolwright_core::storage::warmup::WarmUp;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/places", get(list).post(add))
        .route("/places/soon", get(soon))
        .route("/places/warmup", get(warmup))
        .route("/places/{id}", get(show).post(change))
        .route("/places/{id}/close", post(close))
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let (places, settings) = both(&app).await?;
    app.show(
        sheet("Where film is kept"),
        &asked,
        list_page(&places, &settings, &Form::default()),
    )
    .await
}

async fn both(app: &App) -> Result<(Vec<PlaceView>, Settings), crate::web::problem::Problem> {
    app.ask(|s| Ok((s.places()?, s.settings()?))).await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &PlaceDraft, r| s.save_place(None, d, r))
        .await?
    {
        Ok(made) => Ok(go_on("/places", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let (places, settings) = both(&app).await?;
            form.answer(sheet("Where film is kept").show(list_page(&places, &settings, &form)))
        }
    }
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let (place, settings) = app
        .ask(move |s| Ok((s.place(StoragePlaceId(id))?, s.settings()?)))
        .await?;
    let form = Form::from_record(&PlaceDraft::of(&place.place, settings.fahrenheit));
    app.show(
        sheet(&place.place.name),
        &asked,
        page(&place, &settings, &form),
    )
    .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let id = StoragePlaceId(id);
    let present = move |s: &Service| -> Outcome<PlaceDraft> {
        let fahrenheit = s.settings()?.fahrenheit;
        Ok(PlaceDraft::of(&s.place(id)?.place, fahrenheit))
    };
    match app
        .change(&form, &[], present, move |s, d: &PlaceDraft, r| {
            s.save_place(Some(id), d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/places/{id}"), made.entry)),
        Err(failure) => {
            let (place, settings) = app.ask(move |s| Ok((s.place(id)?, s.settings()?))).await?;
            let form = form
                .refused_by(failure)?
                .seeing(&PlaceDraft::of(&place.place, settings.fahrenheit));
            form.answer(sheet(&place.place.name).show(page(&place, &settings, &form)))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/places", move |s, r| {
        s.close_place(StoragePlaceId(id), closed, r)
    })
    .await
}

async fn soon(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let all = app.ask(Service::about_to_go_off).await?;
    let body = html! {
        h1 { "About to go off" }
        @if all.is_empty() { p { "Nothing is about to go off." } }
        ul.rows {
            @for g in &all {
                li {
                    a.row href=(kept::address(g.thing)) {
                        span.what { span.name { (kind_word(g.thing)) " " (g.name) } span.more { (g.stock) ": " (g.going.because) } }
                        span.much { (kept::stamp(&g.going)) }
                    }
                }
            }
        }
        p.ways-on { a href="/places" { "Where film is kept" } }
    };
    app.show(sheet("About to go off"), &asked, body).await
}

async fn warmup(
    State(app): State<App>,
    Query(asked): Query<Asked>,
    RawQuery(query): RawQuery,
) -> Answer {
    let form = Form::from_query(&query.unwrap_or_default());
    let draft: WarmDraft = form.draft(&[]);
    let typed = !draft.from.trim().is_empty() || !draft.package.trim().is_empty();
    let (told, places, settings) = app
        .ask(move |s| {
            let told = if typed { Some(s.warm_up(&draft)) } else { None };
            Ok((told, s.places()?, s.settings()?))
        })
        .await?;
    let sheet = sheet("Warming up");
    match told {
        None => {
            app.show(sheet, &asked, warmup_page(&form, None, &places, &settings))
                .await
        }
        Some(Ok((_, told))) => {
            app.show(
                sheet,
                &asked,
                warmup_page(&form, Some(&told), &places, &settings),
            )
            .await
        }
        Some(Err(failure)) => {
            let form = form.refused_by(failure)?;
            let body = warmup_page(&form, None, &places, &settings);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, sheet.show(body)).into_response())
        }
    }
}

fn sheet(title: &str) -> Page {
    Page::new(Way::More, title).sheet("Places")
}

/// A place's temperature, and whether anybody measured it.
fn at(p: &PlaceView, settings: &Settings) -> String {
    let usual = if p.measured { "" } else { " (usual)" };
    format!("{}{usual}", settings.temperature(p.temperature_c))
}

fn list_page(places: &[PlaceView], settings: &Settings, form: &Form) -> Markup {
    let row = |p: &PlaceView| {
        html! {
            a.row href={ "/places/" (p.place.id) } {
                span.what {
                    span.name { (p.place.name) }
                    span.more { (p.place.kind.word()) @if let Some(rh) = p.place.rh_percent { ", " (format!("{rh:.0} %")) } }
                }
                span.much { b { (at(p, settings)) } (say::count(p.things.len() as u64, "thing", "things")) }
            }
        }
    };
    let (open, closed): (Vec<_>, Vec<_>) = places.iter().partition(|p| !p.place.closed);
    html! {
        h1 { "Where film is kept" }
        @if open.is_empty() {
            p { "Name the places that cans, rolls and binders lie in. Then each says how long it warms up before it is opened, and when it is about to go off." }
        }
        ul.rows { @for p in &open { li { (row(p)) } } }
        @if !closed.is_empty() {
            h2 { "Put away" }
            ul.rows { @for p in &closed { li { (row(p)) } } }
        }
        p.ways-on { a href="/places/soon" { "About to go off" } " " a href="/places/warmup" { "Warming up" } }
        h2 { "Another place" }
        (form.refusals())
        form.form method="post" action="/places" {
            (form.request_field())
            (fields(form))
            (main_act("Add the place"))
        }
    }
}

fn fields(form: &Form) -> Markup {
    html! {
        (form.field("name", "What you call it").needed().text())
        (form.field("kind", "What it is").select(&[
            ("room", "a room"), ("cool", "a cool room or cellar"), ("refrigerator", "a refrigerator"), ("freezer", "a freezer"),
        ]))
        div.pair {
            (form.field("temperature", "Its temperature").hint("By a thermometer. The usual one when empty.").text())
            (form.field("humidity", "Its humidity").unit("%").number())
        }
        (form.field("note", "Note").text())
    }
}

fn page(p: &PlaceView, settings: &Settings, form: &Form) -> Markup {
    let id = p.place.id;
    html! {
        h1 { (p.place.name) }
        dl.fields {
            div { dt { "Temperature" } dd { (at(p, settings)) } }
            div { dt { "Humidity" } dd { @if let Some(rh) = p.place.rh_percent { (format!("{rh:.0} %")) } @else { "—" } } }
            @if !p.place.note.is_empty() { div.wide { dt { "Note" } dd { (p.place.note) } } }
        }
        h2 { "What lies here" }
        @if p.things.is_empty() { p.soft { "Nothing. A can's or a roll's page says where it lies." } }
        ul.rows {
            @for t in &p.things {
                li {
                    a.row href=(kept::address(t.thing)) {
                        span.what { span.name { (kind_word(t.thing)) " " (t.name) } span.more { (t.stock) } }
                        span.much { "since " (say::day(&t.since)) }
                    }
                }
            }
        }
        h2 { "Change it" }
        (form.refusals())
        form.form method="post" action={ "/places/" (id) } {
            (form.request_field())
            (fields(form))
            (main_act("Keep the changes"))
        }
        div.acts {
            form method="post" action={ "/places/" (id) "/close" } {
                (Form::default().request_field())
                input type="hidden" name="closed" value=(if p.place.closed { "no" } else { "yes" });
                button { (if p.place.closed { "Take out again" } else { "Put away" }) }
            }
        }
        p.ways-on { a href="/places" { "All places" } }
    }
}

/// Hours before opening, in large type, and why.
pub(super) fn hours(told: &WarmUp) -> Markup {
    html! {
        p.loud {
            span.label { "Leave it closed for" }
            span.value { (told.hours) span.unit { " h" } }
        }
        p { (told.because) }
        @if let Some(dew) = told.water_settles {
            p { @if dew { "It is cold enough for water to settle on it." } @else { "In this room no water settles on it; the hours let it come to the room's temperature." } }
        }
        @if !told.caveats.is_empty() { div.note { @for c in &told.caveats { p { (c.text) } } } }
    }
}

fn warmup_page(
    form: &Form,
    told: Option<&WarmUp>,
    places: &[PlaceView],
    settings: &Settings,
) -> Markup {
    let packages: Vec<(&str, &str)> = Package::ALL.iter().map(|p| (p.word(), p.name())).collect();
    let names: Vec<&StoragePlace> = places
        .iter()
        .map(|p| &p.place)
        .filter(|p| !p.closed)
        .collect();
    let example = settings.temperature(-18.0);
    html! {
        h1 { "Warming up" }
        p { "Cold film is opened when it is as warm as the room, or water settles on it." }
        (form.refusals())
        @if let Some(told) = told { div role="status" { (hours(told)) } }
        form.form method="get" action="/places/warmup" {
            (form.field("package", "What it is in").select(&packages))
            (form.field("from", "Where it lay")
                .hint(&match names.as_slice() {
                    [] => format!("A temperature, such as {example}."),
                    [first, ..] => format!("A place, such as {}, or a temperature.", first.name),
                }).needed().text())
            div.pair {
                (form.field("to", "The room").hint("Your room, or 20 °C, when empty.").text())
                (form.field("humidity", "Its humidity").unit("%").number())
            }
            (main_act("How long?"))
        }
        p.ways-on { a href="/places" { "Where film is kept" } }
    }
}

/// The number of a thing, for its page.
pub(super) fn number(thing: spoolwright_core::field::record::Keepable) -> i64 {
    number_of(thing)
}
