//! Cameras: list with what is in them, add, change, put away.

use crate::service::Service;
use crate::service::field::cameras::{CameraDraft, CameraView};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::pages::wet::{SHELF, put_away};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::field::record::{Camera, CameraLoad};
use spoolwright_core::shelf::{CameraId, Roll};

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/cameras", get(list).post(add))
        .route("/cameras/{id}", get(show).post(change))
        .route("/cameras/{id}/close", post(close))
}

fn sheet(title: &str) -> Page {
    Page::new(Way::More, title).sheet("Cameras")
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let all = app.ask(Service::cameras).await?;
    app.show(sheet("Cameras"), &asked, list_page(&all, &Form::default()))
        .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &CameraDraft, r| {
            s.save_camera(None, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on("/cameras", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let all = app.ask(Service::cameras).await?;
            form.answer(sheet("Cameras").show(list_page(&all, &form)))
        }
    }
}

type One = (Camera, Vec<(CameraLoad, Roll)>);

async fn one(app: &App, id: i64) -> Result<One, crate::web::problem::Problem> {
    let id = CameraId(id);
    app.ask(move |s| Ok((s.camera(id)?, s.rolls_of_camera(id)?)))
        .await
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let one = one(&app, id).await?;
    let form = Form::from_record(&CameraDraft::from(&one.0));
    app.show(sheet(&one.0.name), &asked, one_page(&form, &one))
        .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let one = one(&app, id).await?;
    let id = CameraId(id);
    match app
        .change(
            &form,
            &[],
            move |s| Ok(CameraDraft::from(&s.camera(id)?)),
            move |s, d: &CameraDraft, r| s.save_camera(Some(id), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/cameras", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?.seeing(&CameraDraft::from(&one.0));
            form.answer(sheet(&one.0.name).show(one_page(&form, &one)))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/cameras", move |s, r| {
        s.close_camera(CameraId(id), closed, r)
    })
    .await
}

fn list_page(all: &[CameraView], form: &Form) -> Markup {
    html! {
        h1 { "Cameras" }
        @if all.is_empty() { p { "None yet. A camera is also added by putting a roll in it." } }
        ul.rows { @for c in all { li { (row(c)) } } }
        details open[all.is_empty() || form.is_faulty()] {
            summary { "Add a camera" }
            (form.refusals())
            form.form method="post" action="/cameras" { (fields(form)) (main_act("Add the camera")) }
        }
    }
}

fn row(c: &CameraView) -> Markup {
    html! {
        a.row href={ "/cameras/" (c.camera.id) } {
            span.what {
                span.name { (c.camera.name) @if c.camera.closed { " (put away)" } }
                span.more {
                    @match &c.holds {
                        Some((load, _)) => { "since " (say::day(&load.loaded_on)) }
                        None => { "empty" }
                    }
                }
            }
            @if let Some((_, roll)) = &c.holds { span.much { b { (roll.label) } "in it" } }
        }
    }
}

fn fields(form: &Form) -> Markup {
    html! {
        (form.request_field())
        (form.field("name", "What you call it").needed().text())
        (form.field("note", "Note").hint("Its lens mount, its light seals.").text())
    }
}

fn one_page(form: &Form, (camera, rolls): &One) -> Markup {
    html! {
        h1 { (camera.name) }
        (form.refusals())
        form.form method="post" action={ "/cameras/" (camera.id) } {
            (fields(form))
            (main_act("Keep the changes"))
        }
        (put_away(&format!("/cameras/{}/close", camera.id), camera.closed, SHELF))
        h2 { "Rolls in it" }
        @if rolls.is_empty() { p.soft { "None yet. A roll is put in on its own page." } }
        ul.rows { @for (load, roll) in rolls { li { (stay_row(load, roll)) } } }
        p { a.tap href={ "/history?camera=" (camera.id) } { "Its history" } }
    }
}

fn stay_row(load: &CameraLoad, roll: &Roll) -> Markup {
    html! {
        a.row href={ "/roll/" (roll.label) } {
            span.what {
                span.name { (roll.label) }
                span.more {
                    (say::day(&load.loaded_on))
                    @if let Some(out) = &load.out_on { @if *out != load.loaded_on { " to " (say::day(out)) } }
                    @if load.first_frame > 1 { ", from frame " (load.first_frame) }
                    @if let Some(frame) = load.out_frame { ", to frame " (frame) }
                    @if let Some(ei) = load.ei { ", EI " (say::speed(ei)) }
                }
            }
            span.stamp.past[!roll.state.holds_cassette()] { (say::roll_state(roll.state)) }
        }
    }
}
