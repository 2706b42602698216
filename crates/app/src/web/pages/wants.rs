//! Wants: what is to be photographed, and how much film that takes.

use super::main_act;
use crate::service::draft::WantDraft;
use crate::service::shelf::{Shelf, WantView};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::shelf::{Stock, Want, WantId};

/// Frame sizes by the perforations they take, as (perforations, words).
pub(crate) const FRAME_SIZES: [(&str, &str); 4] = [
    ("8", "full frame, 24 × 36 (8 perforations)"),
    ("4", "half frame (4)"),
    ("6", "square, 24 × 24 (6)"),
    ("14", "panoramic, 24 × 65 (14)"),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/wants", get(list).post(add))
        .route("/wants/new", get(blank))
        .route("/wants/{id}", get(edit).post(change))
        .route("/wants/{id}/drop", post(drop_it))
}

fn stocks_to_choose(s: &Service) -> Outcome<Vec<Stock>> {
    s.stocks()
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let shelf = app.ask(Service::shelf).await?;
    app.show(Page::new(Way::Plan, "Wants"), &asked, list_page(&shelf))
        .await
}

async fn blank(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let stocks = app.ask(stocks_to_choose).await?;
    app.show(
        new_sheet(),
        &asked,
        form_page(&Form::default(), None, &stocks),
    )
    .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &["stocks"], |s, d: &WantDraft, r| {
            s.save_want(None, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(
            if form.text("then") == "another" {
                "/wants/new"
            } else {
                "/plan"
            },
            made.entry,
        )),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let stocks = app.ask(stocks_to_choose).await?;
            form.answer(new_sheet().show(form_page(&form, None, &stocks)))
        }
    }
}

async fn edit(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let (want, stocks) = app
        .ask(move |s| Ok((s.want(WantId(id))?, stocks_to_choose(s)?)))
        .await?;
    app.show(
        sheet(),
        &asked,
        form_page(
            &Form::from_record(&WantDraft::from(&want)),
            Some(&want),
            &stocks,
        ),
    )
    .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let id = WantId(id);
    let (want, stocks) = app
        .ask(move |s| Ok((s.want(id)?, stocks_to_choose(s)?)))
        .await?;
    match app
        .change(
            &form,
            &["stocks"],
            move |s| Ok(WantDraft::from(&s.want(id)?)),
            move |s, d: &WantDraft, r| s.save_want(Some(id), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/plan", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?.seeing(&WantDraft::from(&want));
            form.answer(sheet().show(form_page(&form, Some(&want), &stocks)))
        }
    }
}

async fn drop_it(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let dropped = form.text("dropped") != "no";
    app.press(&form, "/wants", move |s, r| {
        s.drop_want(WantId(id), dropped, r)
    })
    .await
}

fn new_sheet() -> Page {
    Page::new(Way::Plan, "Add a want").sheet("New want")
}

fn sheet() -> Page {
    Page::new(Way::Plan, "Want").sheet("Want")
}

fn list_page(shelf: &Shelf) -> Markup {
    let (open, dropped): (Vec<_>, Vec<_>) = shelf.wants.iter().partition(|w| !w.want.dropped);
    html! {
        h1 { "Wants" }
        p.soft { "What you mean to photograph. The plan turns this into rolls." }
        @if open.is_empty() { p { "None yet. Say what is coming up and about how many frames you want for it." } }
        ul.rows { @for w in &open { li { (row(w, shelf)) } } }
        div.thumb { a.btn.main href="/wants/new" { "Add a want" } a.btn href="/plan" { "Make the plan" } }
        @if !dropped.is_empty() {
            h2 { "Dropped" }
            ul.rows { @for w in &dropped { li { (row(w, shelf)) } } }
        }
    }
}

/// One want in a list.
pub(crate) fn row(w: &WantView, shelf: &Shelf) -> Markup {
    let stocks: Vec<&str> = shelf
        .stocks
        .iter()
        .filter(|s| w.want.stocks.contains(&s.id))
        .map(|s| s.name.as_str())
        .collect();
    html! {
        a.row href={ "/wants/" (w.want.id) } {
            span.what {
                span.name { (w.want.what_for) }
                span.more {
                    @if let Some(day) = &w.want.by_when { "by " (say::day(day)) ", " }
                    (stocks.join(" or "))
                }
            }
            span.much {
                b { (w.want.frames) }
                @if w.wound + w.queued == 0 { "frames" } @else { (w.wound) " wound, " (w.queued) " queued" }
            }
        }
    }
}

fn form_page(form: &Form, want: Option<&Want>, stocks: &[Stock]) -> Markup {
    let ids: Vec<String> = stocks.iter().map(|s| s.id.to_string()).collect();
    let choices: Vec<(&str, &str, &str)> = stocks
        .iter()
        .zip(&ids)
        .filter(|(s, _)| !s.closed || want.is_some_and(|w| w.stocks.contains(&s.id)))
        .map(|(s, id)| (id.as_str(), s.name.as_str(), ""))
        .collect();
    html! {
        h1 { @if let Some(w) = want { (w.what_for) } @else { "Add a want" } }
        (form.refusals())
        @if choices.is_empty() {
            p.note { "There is no stock yet. " a href="/stocks/new" { "Add a stock" } " first." }
        }
        form.form method="post" action={ @if let Some(w) = want { "/wants/" (w.id) } @else { "/wants" } } {
            (form.request_field())
            (form.field("what_for", "What for").hint("A trip, a person, a test.").needed().text())
            (form.field("frames", "Frames wanted").unit("frames").hint("About how many you will shoot; the plan rounds up to whole rolls.").needed().whole())
            (form.field("stocks", "Stocks that will do").hint("All of them when none is ticked.").boxes(&choices))
            (form.field("by_when", "By when").date())
            (form.field("priority", "Importance").select(&[
                ("3", "usual"), ("1", "most important"), ("2", "important"), ("4", "less important"), ("5", "if there is film left"),
            ]))
            details open[form.is_faulty()] {
                summary { "Camera, frame size, EI" }
                (form.field("camera", "Camera").text())
                (form.field("advance_perforations", "Frame size").select(&FRAME_SIZES))
                (form.field("ei", "Speed on the label").unit("EI").hint("The stock's own when empty.").number())
            }
            (main_act(if want.is_some() { "Keep the changes" } else { "Add the want" }))
            @if want.is_none() { div.acts { button name="then" value="another" { "Add, then another" } } }
        }
        @if let Some(w) = want {
            div.acts {
                form method="post" action={ "/wants/" (w.id) "/drop" } {
                    (Form::default().request_field())
                    input type="hidden" name="dropped" value=(if w.dropped { "no" } else { "yes" });
                    button { (if w.dropped { "Take up again" } else { "Drop this want" }) }
                }
            }
        }
    }
}
