//! Tanks and reels: list, add, change, put away.

use crate::service::wet::kit::{ReelDraft, TankDraft};
use crate::service::wet::tools::Telling;
use crate::service::{Failure, Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::shelf::{ReelId, TankId};
use spoolwright_core::wet::record::{Reel, Tank};

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/kit", get(list))
        .route("/wet/reels", post(add_reel))
        .route("/wet/reels/{id}", get(edit_reel).post(change_reel))
        .route("/wet/reels/{id}/close", post(close_reel))
        .route("/wet/tanks", post(add_tank))
        .route("/wet/tanks/{id}", get(edit_tank).post(change_tank))
        .route("/wet/tanks/{id}/close", post(close_tank))
}

type Kit = (Vec<Reel>, Vec<Tank>, Telling);

fn kit(s: &Service) -> Outcome<Kit> {
    Ok((s.reels()?, s.tanks()?, s.telling()?))
}

fn sheet() -> Page {
    Page::new(Way::Wet, "Tanks and reels").sheet("Tanks and reels")
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let kit = app.ask(kit).await?;
    app.show(
        sheet(),
        &asked,
        list_page(&kit, &Form::default(), &Form::default()),
    )
    .await
}

async fn add_reel(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &ReelDraft, r| s.save_reel(None, d, r))
        .await?
    {
        Ok(made) => Ok(go_on("/wet/kit", made.entry)),
        Err(failure) => refused_on_list(&app, form, failure, true).await,
    }
}

async fn add_tank(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &TankDraft, r| s.save_tank(None, d, r))
        .await?
    {
        Ok(made) => Ok(go_on("/wet/kit", made.entry)),
        Err(failure) => refused_on_list(&app, form, failure, false).await,
    }
}

async fn refused_on_list(app: &App, form: Form, failure: Failure, reel: bool) -> Answer {
    let form = form.refused_by(failure)?;
    let kit = app.ask(kit).await?;
    let none = Form::default();
    let body = if reel {
        list_page(&kit, &form, &none)
    } else {
        list_page(&kit, &none, &form)
    };
    form.answer(sheet().show(body))
}

async fn edit_reel(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let reel = app.ask(move |s| s.reel(ReelId(id))).await?;
    let form = Form::from_record(&ReelDraft::from(&reel));
    app.show(sheet(), &asked, reel_page(&form, &reel)).await
}

async fn change_reel(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let reel = app.ask(move |s| s.reel(ReelId(id))).await?;
    match app
        .change(
            &form,
            &[],
            move |s| Ok(ReelDraft::from(&s.reel(ReelId(id))?)),
            move |s, d: &ReelDraft, r| s.save_reel(Some(ReelId(id)), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/wet/kit", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?.seeing(&ReelDraft::from(&reel));
            form.answer(sheet().show(reel_page(&form, &reel)))
        }
    }
}

async fn close_reel(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/wet/kit", move |s, r| {
        s.close_reel(ReelId(id), closed, r)
    })
    .await
}

async fn edit_tank(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let (tank, reels) = app
        .ask(move |s| Ok((s.tank(TankId(id))?, s.reels()?)))
        .await?;
    let form = Form::from_record(&TankDraft::from(&tank));
    app.show(sheet(), &asked, tank_page(&form, &tank, &reels))
        .await
}

async fn change_tank(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let (tank, reels) = app
        .ask(move |s| Ok((s.tank(TankId(id))?, s.reels()?)))
        .await?;
    match app
        .change(
            &form,
            &[],
            move |s| Ok(TankDraft::from(&s.tank(TankId(id))?)),
            move |s, d: &TankDraft, r| s.save_tank(Some(TankId(id)), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/wet/kit", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?.seeing(&TankDraft::from(&tank));
            form.answer(sheet().show(tank_page(&form, &tank, &reels)))
        }
    }
}

async fn close_tank(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/wet/kit", move |s, r| {
        s.close_tank(TankId(id), closed, r)
    })
    .await
}

fn list_page((reels, tanks, telling): &Kit, reel: &Form, tank: &Form) -> Markup {
    html! {
        h1 { "Tanks and reels" }
        h2 { "Reels" }
        @if reels.is_empty() { p { "None yet. Reels come first: a tank takes one kind of them." } }
        ul.rows { @for r in reels { li { (reel_row(r)) } } }
        details open[reels.is_empty() || reel.is_faulty()] {
            summary { "Add a kind of reel" }
            (reel.refusals())
            form.form method="post" action="/wet/reels" { (reel_fields(reel)) (main_act("Add the reel")) }
        }
        @if !reels.is_empty() {
            h2 { "Tanks" }
            @if tanks.is_empty() { p { "None yet." } }
            ul.rows { @for t in tanks { li { (tank_row(t, reels, *telling)) } } }
            details open[tanks.is_empty() || tank.is_faulty()] {
                summary { "Add a tank" }
                (tank.refusals())
                form.form method="post" action="/wet/tanks" { (tank_fields(tank, reels)) (main_act("Add the tank")) }
            }
        }
        p { a href="/wet" { "Wet bench" } }
    }
}

fn reel_row(r: &Reel) -> Markup {
    html! {
        a.row href={ "/wet/reels/" (r.id) } {
            span.what {
                span.name { (r.name) @if r.closed { " (put away)" } }
                span.more {
                    "films up to " (format!("{:.2} m", r.longest_mm / 1000.0))
                    @if r.takes_two { ", two short ones end to end" }
                }
            }
            span.much { b { (r.count) } (if r.count == 1 { "reel" } else { "reels" }) }
        }
    }
}

fn tank_row(t: &Tank, reels: &[Reel], telling: Telling) -> Markup {
    let reel = reels
        .iter()
        .find(|r| r.id == t.reel)
        .map_or("", |r| r.name.as_str());
    let most = t.volume_ml.last().copied().unwrap_or_default();
    html! {
        a.row href={ "/wet/tanks/" (t.id) } {
            span.what {
                span.name { (t.name) @if t.closed { " (put away)" } }
                span.more { (say::count(t.volume_ml.len() as u64, "reel", "reels")) " of " (reel) }
            }
            span.much { b { (telling.volume(most)) } "when full" }
        }
    }
}

fn reel_fields(form: &Form) -> Markup {
    html! {
        (form.request_field())
        (form.field("name", "What you call it").of("reel").hint("Steel, or the make of it in your own words.").needed().text())
        div.pair {
            (form.field("count", "How many you have").of("reel").hint("1 when empty.").whole())
            (form.field("longest", "Longest film").of("reel").unit("mm").hint("1650 mm when empty: about 38 frames with leader.").text())
        }
        (form.field("takes_two", "Two short films may lie in it, one behind the other").of("reel")
            .hint("Only if you are sure that they do not slide over each other.").tick())
    }
}

fn tank_fields(form: &Form, reels: &[Reel]) -> Markup {
    let kinds: Vec<(String, &str)> = reels
        .iter()
        .filter(|r| !r.closed)
        .map(|r| (r.id.to_string(), r.name.as_str()))
        .collect();
    html! {
        (form.request_field())
        (form.field("name", "What you call it").of("tank").needed().text())
        (form.field("reel", "Reels it takes").of("tank").select(&kinds))
        (form.field("volumes", "Volume with one reel, with two, and so on").of("tank")
            .hint("As the tank says, or measured with water and empty reels: 290 590 in millilitres, or 10 oz 20 oz.").needed().text())
    }
}

fn reel_page(form: &Form, r: &Reel) -> Markup {
    html! {
        h1 { (r.name) }
        (form.refusals())
        form.form method="post" action={ "/wet/reels/" (r.id) } {
            (reel_fields(form))
            (main_act("Keep the changes"))
        }
        (put_away(&format!("/wet/reels/{}/close", r.id), r.closed, SHELF))
    }
}

fn tank_page(form: &Form, t: &Tank, reels: &[Reel]) -> Markup {
    html! {
        h1 { (t.name) }
        (form.refusals())
        form.form method="post" action={ "/wet/tanks/" (t.id) } {
            (tank_fields(form, reels))
            (main_act("Keep the changes"))
        }
        (put_away(&format!("/wet/tanks/{}/close", t.id), t.closed, SHELF))
    }
}

/// What the button says of things that lie on a shelf.
pub(crate) const SHELF: (&str, &str) = ("Put away", "Take out again");

/// The button that takes a thing out of the lists, or brings it back.
pub(crate) fn put_away(action: &str, closed: bool, (away, back): (&str, &str)) -> Markup {
    html! {
        div.acts {
            form method="post" action=(action) {
                (Form::default().request_field())
                input type="hidden" name="closed" value=(if closed { "no" } else { "yes" });
                button { (if closed { back } else { away }) }
            }
        }
    }
}
