//! Loaders: list, add, change, put away.

use super::first_steps::{self, Step};
use super::main_act;
use crate::service::Service;
use crate::service::draft::LoaderDraft;
use crate::service::shelf::LoaderView;
use crate::service::wet::after::LoaderAdvice;
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::shelf::{Loader, LoaderId, LoaderKind};
use spoolwright_core::wet::after::Advice;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/loaders", get(list).post(add))
        .route("/loaders/new", get(blank))
        .route("/loaders/{id}", get(edit).post(change))
        .route("/loaders/{id}/close", post(close))
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let loaders = app.ask(Service::loaders).await?;
    app.show(Page::new(Way::More, "Loaders"), &asked, list_page(&loaders))
        .await
}

async fn blank(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    app.show(new_sheet(), &asked, form_page(&Form::default(), None))
        .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &LoaderDraft, r| {
            s.save_loader(None, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(first_steps::onward(&form, "/loaders"), made.entry)),
        Err(failure) if first_steps::is_on_the_way(&form) => {
            first_steps::refused(&app, Step::Loader, form, failure).await
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            form.answer(new_sheet().show(form_page(&form, None)))
        }
    }
}

/// Clicks that the advice would have in the form.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Advised {
    leader: Option<u32>,
    tail: Option<u32>,
}

async fn edit(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
    Query(advised): Query<Advised>,
) -> Answer {
    let id = LoaderId(id);
    let (loader, learnt, advice) = app
        .ask(move |s| {
            let shelf = s.shelf()?;
            Ok((
                s.loader(id)?,
                shelf.loader(Some(id)).map(learnt),
                s.loader_advice(id)?,
            ))
        })
        .await?;
    let mut form = Form::from_record(&LoaderDraft::from(&loader));
    if let Some(clicks) = advised.leader {
        form = form.with("leader_clicks", clicks.to_string());
    }
    if let Some(clicks) = advised.tail {
        form = form.with("tail_clicks", clicks.to_string());
    }
    let body = html! {
        (form_page(&form, Some(&loader)))
        (advised_clicks(&loader, &advice))
        @if let Some(learnt) = &learnt { (learnt) }
    };
    app.show(sheet(&loader), &asked, body).await
}

/// What developed rolls say of the clicks allowed for leader and tail.
fn advised_clicks(loader: &Loader, advice: &LoaderAdvice) -> Markup {
    let ends = [
        ("Leader", "leader", loader.leader_clicks, advice.leader),
        ("Tail", "tail", loader.tail_clicks, advice.tail),
    ];
    let link = |name: &str, clicks: u32| {
        html! { a.btn href={ "/loaders/" (loader.id) "?" (name) "=" (clicks) "#" (name) "_clicks" } { "Put " (clicks) " in the form" } }
    };
    html! {
        @if advice.leader.is_some() || advice.tail.is_some() {
            h2 { "What its developed rolls say" }
            @for (title, name, now, advice) in ends {
                @match advice {
                    Some(Advice::More { clicks, fogged, rolls }) => div.note {
                        p { strong { (title) } ": light reached the picture on " (fogged) " of " (say::count(rolls as u64, "roll", "rolls")) ". "
                            (clicks) " clicks would have saved every frame; now it is " (now) "." }
                        p { (link(name, clicks)) }
                    },
                    Some(Advice::Holds { rolls, chance_below, may_shorten }) => {
                        p { strong { (title) } ": " (say::count(rolls as u64, "roll", "rolls")) " came out clean at " (now) " clicks or fewer. "
                            @if chance_below > 0.5 { "Too few to say more: five clean rolls are the first that tell anything." }
                            @else { "Most likely fewer than " (format!("{:.0}", chance_below * 100.0)) " in 100 rolls will be fogged there (95 % sure)." } }
                        @if may_shorten { p { "One click less may be tried. " (link(name, now.saturating_sub(1))) } }
                    }
                    None => {}
                }
            }
        }
    }
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let loader = app.ask(move |s| s.loader(LoaderId(id))).await?;
    match app
        .change(
            &form,
            &[],
            move |s| Ok(LoaderDraft::from(&s.loader(LoaderId(id))?)),
            move |s, d: &LoaderDraft, r| s.save_loader(Some(LoaderId(id)), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/loaders", made.entry)),
        Err(failure) => {
            let form = form
                .refused_by(failure)?
                .seeing(&LoaderDraft::from(&loader));
            form.answer(sheet(&loader).show(form_page(&form, Some(&loader))))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/loaders", move |s, r| {
        s.close_loader(LoaderId(id), closed, r)
    })
    .await
}

/// What its rolls and run-outs have taught of this loader.
fn learnt(l: &LoaderView) -> Markup {
    html! {
        h2 { "What it has taught" }
        dl.fields {
            @match l.loader.kind {
                LoaderKind::Counter { .. } => {
                    div { dt { "Film per click, against eight perforations" } dd { (say::estimate(l.click_scale, 4, "")) } }
                    div { dt { "Uncounted per roll" } dd { (say::estimate(l.uncounted_mm, 0, " mm")) } }
                }
                LoaderKind::Crank { .. } => {
                    div.wide { dt { "Uncounted per roll" } dd { (say::estimate(l.uncounted_mm, 0, " mm")) } }
                }
            }
        }
        p.soft { "± is half the 95 % interval. A can that runs out on it, or a roll measured end to end, narrows both for every can to come." }
    }
}

fn new_sheet() -> Page {
    Page::new(Way::More, "Add a loader").sheet("New loader")
}

fn sheet(loader: &Loader) -> Page {
    Page::new(Way::More, &loader.name).sheet("Loader")
}

fn list_page(loaders: &[Loader]) -> Markup {
    let (open, closed): (Vec<_>, Vec<_>) = loaders.iter().partition(|l| !l.closed);
    html! {
        h1 { "Loaders" }
        p.soft { "What you wind with. How each one counts is learnt from your rolls." }
        @if open.is_empty() { p { "None yet. Add the loader you use." } }
        ul.rows { @for l in &open { li { (row(l)) } } }
        div.thumb { a.btn.main href="/loaders/new" { "Add a loader" } }
        @if !closed.is_empty() {
            h2 { "Put away" }
            ul.rows { @for l in &closed { li { (row(l)) } } }
        }
    }
}

fn row(l: &Loader) -> Markup {
    html! {
        a.row href={ "/loaders/" (l.id) } {
            span.what {
                span.name { (l.name) }
                span.more {
                    @match l.kind {
                        LoaderKind::Counter { dial_zero: 0 } => { "counts clicks from 0" }
                        LoaderKind::Counter { dial_zero } => { "counts clicks, dial starts at " (dial_zero.to_string().replace('-', "−")) }
                        LoaderKind::Crank { .. } => { "a crank, no counter" }
                    }
                }
            }
            span.much { b { (l.leader_clicks) " + " (l.tail_clicks) } "leader + tail" }
        }
    }
}

fn form_page(form: &Form, loader: Option<&Loader>) -> Markup {
    html! {
        h1 { @if let Some(l) = loader { (l.name) } @else { "Add a loader" } }
        (form.refusals())
        form.form method="post" action={ @if let Some(l) = loader { "/loaders/" (l.id) } @else { "/loaders" } } {
            (fields(form))
            (main_act(if loader.is_some() { "Keep the changes" } else { "Add the loader" }))
        }
        @if let Some(l) = loader {
            div.acts {
                form method="post" action={ "/loaders/" (l.id) "/close" } {
                    (Form::default().request_field())
                    input type="hidden" name="closed" value=(if l.closed { "no" } else { "yes" });
                    button { (if l.closed { "Take out again" } else { "Put away" }) }
                }
                a href={ "/history?loader=" (l.id) } { "Its history" }
            }
        }
    }
}

/// The fields of a loader, also for the first-use path.
pub(crate) fn fields(form: &Form) -> Markup {
    html! {
        (form.request_field())
        (form.field("name", "What you call it").hint("Its colour, say, or where it stands.").needed().text())
        (form.field("kind", "How it counts").select(&[
            ("counter", "a dial that clicks once a frame"), ("crank", "no counter: a crank turns the spool"),
        ]))
        (form.field("dial_zero", "Where the dial stands before the first click")
            .hint("0 when you leave it empty. Some dials start below zero, such as -4, and so swallow the leader.").text())
        div.pair {
            (form.field("leader_clicks", "Leader").unit("clicks").hint("4 when empty: enough to thread most cameras.").whole())
            (form.field("tail_clicks", "Tail").unit("clicks").hint("2 when empty: what the light strikes at the spool in room light.").whole())
        }
        details open[form.is_faulty()] {
            summary { "Crank, calibration, note" }
            p.hint { "Leave these empty: after a can has run out on this loader they are learnt." }
            (form.field("hub_mm", "Hub of the cassette, for a crank").unit("mm").hint("11 mm when empty; measure yours.").number())
            div.pair {
                (form.field("click_scale", "Film per click, against eight perforations").number())
                (form.field("uncounted_mm", "Uncounted per roll").unit("mm").number())
            }
            (form.field("note", "Note").lines())
        }
    }
}
