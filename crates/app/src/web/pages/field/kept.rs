//! Where one can, roll or binder is kept, and what that does to it.

use super::places::{hours, number};
use crate::service::field::kept::{KeepDraft, KeptView};
use crate::service::field::places::{PlaceView, kind_word, thing_of};
use crate::service::settings::Settings;
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::problem::Problem;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::field::record::Keepable;
use spoolwright_core::storage::ageing::Allowance;
use spoolwright_core::storage::keeping::{Going, GoingOff};

pub(super) fn routes() -> Router<App> {
    Router::new().route("/kept/{kind}/{id}", get(show).post(keep))
}

/// The page of a thing's keeping.
pub(crate) fn address(thing: Keepable) -> String {
    format!("/kept/{}/{}", kind_word(thing), number(thing))
}

/// How near film is to going off, in a word or two.
pub(super) fn stamp(going: &GoingOff) -> Markup {
    let left = going.months_left.unwrap_or(0.0);
    match going.going {
        Going::Fresh => html! { span.stamp.past { "fresh" } },
        Going::Held => html! { span.stamp.past { "frozen" } },
        Going::Soon => {
            html! { span.stamp { (say::count(left.max(0.0).ceil() as u64, "month", "months")) " left" } }
        }
        Going::Over => html! { span.stamp { "past its time" } },
    }
}

fn thing(kind: &str, id: i64) -> Result<Keepable, Problem> {
    thing_of(kind, id)
        .ok_or_else(|| Problem::not_found("the page's address", &format!("/kept/{kind}/{id}")))
}

async fn ask(app: &App, thing: Keepable) -> Result<(KeptView, Vec<PlaceView>, Settings), Problem> {
    app.ask(move |s| Ok((s.kept(thing)?, s.places()?, s.settings()?)))
        .await
}

async fn show(
    State(app): State<App>,
    Path((kind, id)): Path<(String, i64)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let (view, places, settings) = ask(&app, thing(&kind, id)?).await?;
    let form = Form::default();
    app.show(sheet(&view), &asked, page(&view, &places, &settings, &form))
        .await
}

async fn keep(State(app): State<App>, Path((kind, id)): Path<(String, i64)>, form: Form) -> Answer {
    let thing = thing(&kind, id)?;
    match app
        .carry_out(&form, &[], move |s, d: &KeepDraft, r| s.keep(thing, d, r))
        .await?
    {
        Ok(made) => Ok(go_on(&address(thing), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let (view, places, settings) = ask(&app, thing).await?;
            form.answer(sheet(&view).show(page(&view, &places, &settings, &form)))
        }
    }
}

fn title(view: &KeptView) -> String {
    match view.thing {
        Keepable::Can(_) => format!("Can {}", view.name),
        Keepable::Roll(_) => view.name.clone(),
        Keepable::Binder(_) => format!("Binder {}", view.name),
    }
}

fn sheet(view: &KeptView) -> Page {
    Page::new(Way::Shelf, format!("{}: where it lies", title(view))).sheet("Places")
}

fn page(view: &KeptView, places: &[PlaceView], settings: &Settings, form: &Form) -> Markup {
    let names: Vec<(&str, &str)> = places
        .iter()
        .filter(|p| !p.place.closed)
        .map(|p| (p.place.name.as_str(), p.place.name.as_str()))
        .collect();
    let now = view.stays.first().map(|(_, p)| p.name.clone());
    html! {
        h1 { (title(view)) ": where it lies" }
        @match view.stays.first() {
            Some((kept, place)) => p {
                "In " a href={ "/places/" (place.id) } { (place.name) } " since " (say::day(&kept.since))
                @if let Some((c, measured)) = view.at_c { ", at " (settings.temperature(c)) @if !measured { " as such places usually are" } }
                "."
            },
            None => p {
                "Nobody has said where it lies."
                @if let Some((c, _)) = view.at_c { " It is kept at " (settings.temperature(c)) " by what was entered with it." }
            },
        }
        @if let Some(going) = &view.going { p { (stamp(going)) " " (going.because) } }
        @if let Some(told) = view.warm_up.as_ref().filter(|w| 0.0 < w.hours) {
            h2 { "Before you open it" }
            (hours(told))
        }
        @if let Some(told) = &view.allowance { (allowance(told)) }
        @if !view.remarks.is_empty() {
            h2 { "What the sources say" }
            ul.plain { @for r in &view.remarks { li {
                @if r.meets == Some(true) { span.stamp.past { "as asked" } " " }
                @if r.meets == Some(false) { span.stamp { "not as asked" } " " }
                (r.text)
            } } }
        }
        @if !view.caveats.is_empty() { div.note { @for c in &view.caveats { p { (c.text) } } } }
        h2 { "Put it elsewhere" }
        (form.refusals())
        @if names.is_empty() {
            p { "No place is named yet. " a href="/places" { "Name one first" } "." }
        } @else {
            form.form method="post" action=(address(view.thing)) {
                (form.request_field())
                (form.clone().with_default("place", now.unwrap_or_default()).field("place", "It lies in").select(&names))
                (form.field("since", "Since").hint("Today when empty.").date())
                (main_act("It lies there"))
            }
        }
        @if 1 < view.stays.len() {
            h2 { "Where it was" }
            ul.plain { @for (kept, place) in view.stays.iter().skip(1) { li { (place.name) " from " (say::day(&kept.since)) } } }
        }
        p.ways-on {
            @match view.thing {
                Keepable::Can(id) => a href={ "/cans/" (id) } { "Can " (view.name) },
                Keepable::Roll(_) => a href={ "/roll/" (view.name) } { "Roll " (view.name) },
                Keepable::Binder(_) => a href="/places" { "All places" },
            }
            " " a href="/places" { "All places" }
        }
    }
}

fn allowance(a: &Allowance) -> Markup {
    let stops = match a.thirds {
        0 => "nothing yet".to_owned(),
        1 => "⅓ stop".to_owned(),
        2 => "⅔ stop".to_owned(),
        n if n % 3 == 0 => say::count((n / 3).unsigned_abs(), "stop", "stops"),
        n => format!("{}{} stops", n / 3, if n % 3 == 1 { "⅓" } else { "⅔" }),
    };
    html! {
        h2 { "For its age" }
        p.loud {
            span.label { "Allow " span.stamp { "rule of thumb" } }
            span.value { (stops) }
            span.interval { (format!("{:.1} to {:.1} stops in {:.0} years", a.low_stops, a.high_stops, a.years)) @if a.since_test { " since its test" } }
        }
        @if let Some((_, listed)) = a.ei.as_ref().filter(|_| 0 < a.thirds) {
            p { "Set the meter to EI " (say::speed(listed.iso)) "." }
        }
        div.note { @for c in &a.caveats { p { (c.text) } } }
        @if !a.since_test { p { a href="/wedge" { "Test it at the wedge bench" } ": then only the time since counts." } }
    }
}
