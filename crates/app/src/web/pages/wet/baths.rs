//! Baths: what each has left and why, what befell it, its card.

use super::kit::put_away;
use super::{caveats, desk};
pub(crate) use crate::service::wet::baths::verdict_words;
use crate::service::wet::baths::{
    BathDraft, BathEventDraft, BathView, doubt_words, films_of, told as what_befell,
};
use crate::service::wet::tools::Telling;
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::drawing;
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
use spoolwright_core::shelf::BathId;
use spoolwright_core::wet::bath::{BathKind, BathUse, ROLL_OF_36_M2};
use spoolwright_core::wet::cautions::cautions;
use spoolwright_core::wet::verdict::{Basis, Life, LimitUse, NextLoad as Load, Reason, Verdict};

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/baths", get(list).post(add))
        .route("/wet/baths/new", get(blank))
        .route("/wet/baths/{id}", get(show))
        .route("/wet/baths/{id}/change", get(edit).post(change))
        .route("/wet/baths/{id}/events", post(note))
        .route("/wet/baths/{id}/close", post(close))
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let baths = app.ask(Service::baths).await?;
    app.show(
        Page::new(Way::Wet, "Baths").sheet("Baths"),
        &asked,
        list_page(&baths),
    )
    .await
}

/// A card to be filled in; its address may carry what was just worked out at the mixing calculators.
async fn blank(
    State(app): State<App>,
    Query(asked): Query<Asked>,
    RawQuery(query): RawQuery,
) -> Answer {
    let mixed: BathDraft = Form::from_query(&query.unwrap_or_default()).draft(&[]);
    app.show(
        new_sheet(),
        &asked,
        form_page(&Form::from_draft(&mixed), None),
    )
    .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &BathDraft, r| s.save_bath(None, d, r))
        .await?
    {
        Ok(made) => {
            let next = made
                .value
                .map_or_else(|| "/wet/baths".to_owned(), |id| format!("/wet/baths/{id}"));
            Ok(go_on(&next, made.entry))
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            form.answer(new_sheet().show(form_page(&form, None)))
        }
    }
}

/// A bath, and the units that it is told in.
struct Told {
    bath: BathView,
    telling: Telling,
}

fn told_bath(s: &Service, id: i64, films: Option<f64>) -> Outcome<Told> {
    Ok(Told {
        bath: s.bath(BathId(id), films)?,
        telling: s.telling()?,
    })
}

/// The sheet of a bath; its address may ask about a next load, in films of 36.
async fn show(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
    RawQuery(query): RawQuery,
) -> Answer {
    let form = Form::from_query(&query.unwrap_or_default());
    let typed = form.text("films").to_owned();
    if typed.trim().is_empty() {
        let told = app.ask(move |s| told_bath(s, id, None)).await?;
        let body = page(&told, &Form::default());
        return app.show(sheet(&told.bath), &asked, body).await;
    }
    match app
        .look(move |s| told_bath(s, id, Some(films_of(&typed)?)))
        .await?
    {
        Ok(told) => {
            app.show(sheet(&told.bath), &asked, page(&told, &form))
                .await
        }
        Err(failure) if failure.is_not_found() => Err(failure.into()),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let told = app.ask(move |s| told_bath(s, id, None)).await?;
            form.answer(sheet(&told.bath).show(page(&told, &form)))
        }
    }
}

async fn edit(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let bath = app.ask(move |s| s.bath(BathId(id), None)).await?;
    let form = Form::from_record(&BathDraft::from(&bath.card));
    app.show(sheet(&bath), &asked, form_page(&form, Some(&bath)))
        .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let bath = app.ask(move |s| s.bath(BathId(id), None)).await?;
    let present = move |s: &Service| -> Outcome<BathDraft> {
        Ok(BathDraft::from(&s.bath(BathId(id), None)?.card))
    };
    match app
        .change(&form, &[], present, move |s, d: &BathDraft, r| {
            s.save_bath(Some(BathId(id)), d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/wet/baths/{id}"), made.entry)),
        Err(failure) => {
            let form = form
                .refused_by(failure)?
                .seeing(&BathDraft::from(&bath.card));
            form.answer(sheet(&bath).show(form_page(&form, Some(&bath))))
        }
    }
}

async fn note(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], move |s, d: &BathEventDraft, r| {
            s.note_bath(BathId(id), d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/wet/baths/{id}"), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let told = app.ask(move |s| told_bath(s, id, None)).await?;
            let body = page(&told, &form);
            Ok((
                StatusCode::UNPROCESSABLE_ENTITY,
                sheet(&told.bath).show(body),
            )
                .into_response())
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/wet/baths", move |s, r| {
        s.close_bath(BathId(id), closed, r)
    })
    .await
}

fn new_sheet() -> Page {
    Page::new(Way::Wet, "A bath's card").sheet("New bath")
}

fn sheet(bath: &BathView) -> Page {
    Page::new(Way::Wet, &bath.card.name).sheet("Bath")
}

fn list_page(baths: &[BathView]) -> Markup {
    let (open, closed): (Vec<_>, Vec<_>) = baths.iter().partition(|b| !b.card.closed);
    html! {
        h1 { "Baths" }
        @if open.is_empty() { p { "No bottle has a card. Write one when you mix something that is kept." } }
        ul.rows { @for b in &open { li { (desk::bath_row(b)) } } }
        @if !closed.is_empty() {
            h2 { "Poured out" }
            ul.rows { @for b in &closed { li { (desk::bath_row(b)) } } }
        }
        p.ways-on { a href="/wet" { "Wet bench" } }
        div.thumb { a.btn.main href="/wet/baths/new" { "Mixed something" } }
    }
}

/// How much of its life a bath has left, from 0 to 1; none where nothing says.
fn left(life: &Life) -> Option<f64> {
    let doubtful = [Reason::NotKnown, Reason::Colour];
    let known =
        !life.limits.is_empty() && !life.because.iter().any(|b| doubtful.contains(&b.reason));
    let most = life.limits.iter().map(|l| l.share).fold(0.0, f64::max);
    known.then_some(1.0 - most.min(1.0))
}

fn page(told: &Told, form: &Form) -> Markup {
    let Told { bath: b, telling } = told;
    let id = b.card.id;
    let life = &b.life;
    html! {
        h1 { (b.card.name) }
        div.with-drawing {
            (drawing::beaker(left(life), life.verdict == Verdict::Replace || b.card.closed))
            div {
                @if b.card.closed { p { strong { "Poured out." } } }
                @else { (outlook(life, *telling)) }
            }
        }
        @if !life.limits.is_empty() {
            dl.fields { @for l in &life.limits { div { dt { (limit_name(l)) } dd { (limit_words(l)) } } } }
        }
        (caveats(&life.caveats))
        @if !b.card.closed {
            form.form method="get" action={ "/wet/baths/" (id) } {
                (form.field("films", "Will it take the next load?").unit("films of 36").number())
                button { "See" }
            }
        }
        @if let Some(next) = &life.next_load {
            p role="status" { strong { (next_words(next)) } " for " (format!("{:.1}", next.area_m2 / ROLL_OF_36_M2)) " films: "
                @for because in &next.because { (because.text) " " } }
        }
        h2 { "Write down" }
        (form.refusals())
        (event_forms(b, form, *telling))
        h2 { "Its days" }
        p { "Mixed " (say::day(&b.card.mixed_on)) @if !b.card.mixed_from.is_empty() { " from " (b.card.mixed_from) } @if !b.card.dilution.is_empty() { " " (b.card.dilution) } ", " (telling.volume(b.card.volume_ml)) "." }
        ol.story { @for e in &b.events { li { time datetime=(e.day) { (say::day(&e.day)) } span { (what_befell(&e.what)) @if !e.note.is_empty() { ": " (e.note) } } } } }
        details {
            summary { "Cautions" }
            ul { @for c in cautions(b.card.kind) { li { (c.text) } } }
        }
        (put_away(&format!("/wet/baths/{id}/close"), b.card.closed, ("It was poured out", "It is still there")))
        p.ways-on { a href={ "/wet/baths/" (id) "/change" } { "Change its card" } " " @if !b.card.closed { a href={ "/print/bath/" (id) } { "Print the card for the bottle" } " " } a href="/wet/baths" { "All baths" } }
    }
}

/// What a bath in use has left, and what that means for the next run.
fn outlook(life: &Life, telling: Telling) -> Markup {
    html! {
        div.loud {
            span.label { "For the next run" }
            span.value { (verdict_words(life)) }
            @if life.verdict == Verdict::Correct && life.next_time_factor > 1.0 {
                span.unit { (format!("time × {:.2}", life.next_time_factor)) }
            }
        }
        @for because in &life.because { p { (because.text) } }
        @if let Some(left) = life.rolls_left() {
            p { (say::count(left, "roll of 36", "rolls of 36")) " may still go through." }
        }
        @if let Some(cleared) = life.clearing {
            p { @if let Some(s) = cleared.fixing_time_s { "Fix for " span.num { (format!("{s:.0} s")) } ". " }
                "Fresh it cleared in " (format!("{:.0} s, last in {:.0} s{}.", cleared.fresh_s, cleared.latest_s, if cleared.stale { ", before the last film" } else { "" })) }
        }
        @if let Some(ml) = life.replenisher_owed_ml.filter(|ml| *ml >= 0.5) {
            p { "Replenisher owed: " span.num { (telling.volume(ml)) } "." }
        }
    }
}

fn next_words(next: &Load) -> &'static str {
    match next.verdict {
        verdict if doubt_words(verdict, &next.because).is_some() => "Not sure: test first",
        Verdict::Use => "It takes them",
        Verdict::Correct => "It takes them with more time or replenisher",
        Verdict::Replace => "Mix new",
    }
}

fn limit_name(l: &LimitUse) -> &'static str {
    match l.limit {
        Reason::Area => "Film through it",
        Reason::Age => "Age",
        Reason::ClearingTime => "Clearing time",
        _ => "Limit",
    }
}

fn limit_words(l: &LimitUse) -> String {
    let basis = match l.basis {
        Basis::Given => "",
        Basis::Default => ", the limit is a default",
    };
    let (used, allowed, unit) = match l.unit {
        "m²" => (
            l.used / ROLL_OF_36_M2,
            l.allowed / ROLL_OF_36_M2,
            "rolls of 36",
        ),
        unit => (l.used, l.allowed, unit),
    };
    let digits = usize::from(l.unit == "m²");
    format!("{used:.digits$} of {allowed:.digits$} {unit}{basis}")
}

fn event_forms(b: &BathView, form: &Form, telling: Telling) -> Markup {
    let action = format!("/wet/baths/{}/events", b.card.id);
    let fixes = matches!(b.card.kind, BathKind::Fixer | BathKind::Blix);
    let none = Form::default();
    let of = |what: &str| {
        if form.text("what") == what {
            form
        } else {
            &none
        }
    };
    let one = |what: &'static str, summary: &str, fields: Markup| {
        html! {
            details open[form.text("what") == what] {
                summary { (summary) }
                form.form method="post" action=(action) {
                    (of(what).request_field())
                    input type="hidden" name="what" value=(what);
                    (fields)
                    details {
                        summary { "Another day, a note" }
                        (of(what).field("day", "Day").of(what).hint("Today when empty.").date())
                        (of(what).field("note", "Note").of(what).text())
                    }
                    button { "Write it down" }
                }
            }
        }
    };
    let number = |what: &'static str, label: &'static str, unit: &str| {
        of(what)
            .field("value", label)
            .of(what)
            .unit(unit)
            .needed()
            .number()
    };
    html! {
        @if fixes {
            (one("clearing", "A scrap cleared", html! {
                p.hint { "In white light: an undeveloped scrap, such as a cut leader, in a little of this fixer. The seconds until it is clear." }
                (number("clearing", "Cleared in", "s"))
                (of("clearing").field("temperature", "At").of("clearing").unit(telling.degrees()).hint(telling.either("20 °C when empty.", "68 °F when empty.")).text())
            }))
        }
        (one("run", "Film went through without a run here", number("run", "Films of 36", "")))
        (one("looked", "It looks different", of("looked").field("look", "It looks").of("looked").select(&[
            ("doubtful", "doubtful: darker or cloudy"), ("spent", "spent"), ("good", "good again, after filtering say"),
        ])))
        @if b.card.usage == BathUse::Replenished {
            (one("replenished", "Replenished", number("replenished", "Replenisher", "ml")))
        }
        @if b.card.usage != BathUse::OneShot {
            (one("topped-up", "Topped up with fresh solution", number("topped-up", "Fresh solution", "ml")))
        }
    }
}

fn form_page(form: &Form, bath: Option<&BathView>) -> Markup {
    let kinds: Vec<(&str, String)> = BathKind::ALL
        .iter()
        .map(|k| (k.word(), k.word().replace('-', " ")))
        .collect();
    let action = bath.map_or_else(
        || "/wet/baths".to_owned(),
        |b| format!("/wet/baths/{}/change", b.card.id),
    );
    html! {
        h1 { @if let Some(b) = bath { (b.card.name) } @else { "A bath's card" } }
        (form.refusals())
        form.form method="post" action=(action) {
            (form.request_field())
            (form.field("name", "What you call it").hint("As it stands on the bottle.").needed().text())
            div.pair {
                (form.field("kind", "What it does").select(&kinds))
                (form.field("usage", "Used").select(&[("reused", "reused"), ("one-shot", "once"), ("replenished", "replenished")]))
            }
            div.pair {
                (form.field("volume", "How much").unit("ml").needed().number())
                (form.field("mixed_on", "Mixed on").hint("Today when empty.").date())
            }
            div.pair {
                (form.field("mixed_from", "Mixed from").hint("For a developer, the name your recipes use.").text())
                (form.field("dilution", "Dilution").text())
            }
            details open[form.is_faulty()] {
                summary { "What its sheet says" }
                p.hint { "Leave empty what the sheet does not say: then the bench's default is used, and called a default." }
                div.pair {
                    (form.field("rolls_per_litre", "Films of 36 a litre takes").number())
                    (form.field("keeps_days", "Keeps").unit("days").number())
                }
                div.pair {
                    (form.field("percent_per_roll", "Longer for each film a litre has had").unit("%").hint("or none").text())
                    (form.field("percent_per_run", "or longer for each run before").unit("%").number())
                }
                (form.field("replenisher", "Replenisher for a film of 36").unit("ml").number())
                div.pair {
                    (form.field("fixer", "If it fixes").select(&[("acid", "acid or neutral"), ("alkaline", "alkaline")]))
                    (form.field("place", "Of how many fixers").select(&[("only", "the only one"), ("first", "first of two"), ("second", "second of two")]))
                }
                (form.field("high_iodide", "Its films have flat grains or much iodide").hint("Then it fixes three times the clearing time, and takes less film.").tick())
            }
            (form.field("note", "Note").lines())
            (main_act(if bath.is_some() { "Keep the changes" } else { "Write the card" }))
        }
    }
}
