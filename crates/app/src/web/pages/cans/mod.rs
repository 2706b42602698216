//! Cans: the shelf, one can, what is measured on it, and breaking a long one.

mod breaking;
pub(crate) mod form;
pub(crate) mod list;
mod one;

use super::first_steps::{self, Step};
use crate::service::breaking::BreakDraft;
use crate::service::draft::CanDraft;
use crate::service::evidence::{GaugeDraft, RanOutDraft, TakenDraft, WeighDraft};
use crate::service::rolls::About;
use crate::service::settings::Settings;
use crate::service::{Failure, Made, Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::problem::Problem;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use form::{SHEETS, Sheet};
use maud::html;
use spoolwright_core::shelf::{Can, CanId, CanState, Loader, Stock};

/// How much of a can's story its page tells.
const STORY_LINES: usize = 12;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/cans", get(shelf).post(add))
        .route("/cans/new", get(blank))
        .route("/cans/{id}", get(show))
        .route("/cans/{id}/edit", get(edit).post(change))
        .route("/cans/{id}/close", post(close))
        .route("/weigh", post(quick_weigh))
        .route("/cans/{id}/weigh", get(weigh_form).post(weigh))
        .route("/cans/{id}/break", get(break_form).post(break_it))
        .route(
            "/cans/{id}/{measurement}",
            get(measurement_form).post(measure),
        )
}

async fn shelf(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let (shelf, recent) = app.ask(|s| Ok((s.shelf()?, s.recent_rolls(None)?))).await?;
    app.show(
        Page::new(Way::Shelf, "Shelf"),
        &asked,
        list::page(&shelf, &recent),
    )
    .await
}

/// What a can's form chooses from.
struct Choices {
    stocks: Vec<Stock>,
    loaders: Vec<Loader>,
    settings: Settings,
}

fn choices(s: &Service) -> Outcome<Choices> {
    Ok(Choices {
        stocks: s.stocks()?,
        loaders: s.loaders()?,
        settings: s.settings()?,
    })
}

async fn blank(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let c = app.ask(choices).await?;
    app.show(
        new_sheet(),
        &asked,
        form::page(&Form::default(), None, &c.stocks, &c.loaders, &c.settings),
    )
    .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &CanDraft, r| s.save_can(None, d, r))
        .await?
    {
        Ok(made) if first_steps::is_on_the_way(&form) => {
            Ok(go_on(first_steps::AFTER_CAN, made.entry))
        }
        Ok(Made {
            entry,
            value: Some(id),
            ..
        }) => Ok(go_on(&format!("/cans/{id}"), entry)),
        Ok(made) => Ok(go_on("/cans", made.entry)),
        Err(failure) if first_steps::is_on_the_way(&form) => {
            first_steps::refused(&app, Step::Can, form, failure).await
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let c = app.ask(choices).await?;
            form.answer(new_sheet().show(form::page(
                &form,
                None,
                &c.stocks,
                &c.loaders,
                &c.settings,
            )))
        }
    }
}

async fn edit(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let (can, c) = app.ask(move |s| Ok((plain(s, id)?, choices(s)?))).await?;
    let page = form::page(
        &Form::from_record(&CanDraft::of(&can, &c.settings)),
        Some(&can),
        &c.stocks,
        &c.loaders,
        &c.settings,
    );
    app.show(sheet(&can), &asked, page).await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    match app
        .change(
            &form,
            &[],
            move |s| Ok(CanDraft::of(&plain(s, id)?, &s.settings()?)),
            move |s, d: &CanDraft, r| s.save_can(Some(CanId(id)), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/cans/{id}"), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let (can, c) = app.ask(move |s| Ok((plain(s, id)?, choices(s)?))).await?;
            let form = form.seeing(&CanDraft::of(&can, &c.settings));
            form.answer(sheet(&can).show(form::page(
                &form,
                Some(&can),
                &c.stocks,
                &c.loaders,
                &c.settings,
            )))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let state = CanState::from_word(form.text("state"))?;
    app.press(&form, format!("/cans/{id}"), move |s, r| {
        s.close_can(CanId(id), state, r)
    })
    .await
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let (page, body) = app
        .ask(move |s| {
            let shelf = s.shelf()?;
            let can = shelf.can(CanId(id))?;
            let rolls = s.rolls_of_can(CanId(id))?;
            let story = s.history(About::Can(CanId(id)), None)?;
            Ok((
                sheet(&can.can),
                one::page(&shelf, can, &rolls, &story[..story.len().min(STORY_LINES)]),
            ))
        })
        .await?;
    app.show(page, &asked, body).await
}

fn plain(s: &Service, id: i64) -> Outcome<Can> {
    Ok(s.can(CanId(id))?.can)
}

async fn weigh_form(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let can = app.ask(move |s| plain(s, id)).await?;
    app.show(sheet(&can), &asked, weigh_page(&Form::default(), &can))
        .await
}

fn weigh_page(form: &Form, can: &Can) -> maud::Markup {
    html! {
        h1 { "Weigh can " (can.letters) }
        p.soft { "In room light; the can stays closed." }
        (form.refusals())
        (form::weigh(form, can, true))
    }
}

async fn weigh(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], move |s, d: &WeighDraft, r| {
            s.weigh(CanId(id), d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/cans/{id}"), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let can = app.ask(move |s| plain(s, id)).await?;
            form.answer(sheet(&can).show(weigh_page(&form, &can)))
        }
    }
}

/// The weighing from the first screen: which can is a field of the form.
async fn quick_weigh(state: State<App>, form: Form) -> Answer {
    match form.text("can").parse() {
        Ok(id) => weigh(state, Path(id), form).await,
        Err(_) => Err(Problem::not_found("a can", form.text("can"))),
    }
}

fn sheet_of(path: &str) -> Result<&'static Sheet, Problem> {
    SHEETS
        .iter()
        .find(|s| s.path == path)
        .ok_or_else(|| Problem::not_found("the page's address", path))
}

async fn measurement_form(
    State(app): State<App>,
    Path((id, path)): Path<(i64, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let kind = sheet_of(&path)?;
    let (can, settings) = app.ask(move |s| Ok((plain(s, id)?, s.settings()?))).await?;
    app.show(
        sheet(&can),
        &asked,
        form::measurement(kind, &Form::default(), &can, &settings),
    )
    .await
}

async fn measure(
    State(app): State<App>,
    Path((id, path)): Path<(i64, String)>,
    form: Form,
) -> Answer {
    let kind = sheet_of(&path)?;
    let can = CanId(id);
    let outcome: Result<Made<()>, Failure> = match kind.path {
        "weigh-empty" => {
            app.carry_out(&form, &[], move |s, d: &WeighDraft, r| s.weigh(can, d, r))
                .await?
        }
        "gauge" => {
            app.carry_out(&form, &[], move |s, d: &GaugeDraft, r| s.gauge(can, d, r))
                .await?
        }
        "ran-out" => {
            app.carry_out(&form, &[], move |s, d: &RanOutDraft, r| {
                s.ran_out(can, d, r)
            })
            .await?
        }
        _ => {
            app.carry_out(&form, &[], move |s, d: &TakenDraft, r| s.take(can, d, r))
                .await?
        }
    };
    match outcome {
        Ok(made) => Ok(go_on(&format!("/cans/{id}"), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let (can, settings) = app.ask(move |s| Ok((plain(s, id)?, s.settings()?))).await?;
            form.answer(sheet(&can).show(form::measurement(kind, &form, &can, &settings)))
        }
    }
}

async fn break_form(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(draft): Query<BreakDraft>,
) -> Answer {
    let form = Form::from_draft(&draft);
    let asked = !draft.parts.trim().is_empty();
    let (can, settings) = app
        .ask(move |s| Ok((s.can(CanId(id))?, s.settings()?)))
        .await?;
    if !asked {
        return app
            .show(
                sheet(&can.can),
                &Asked::default(),
                breaking::page(&form, &can, None, &settings),
            )
            .await;
    }
    match app.look(move |s| s.break_view(CanId(id), &draft)).await? {
        Ok(view) => {
            app.show(
                sheet(&can.can),
                &Asked::default(),
                breaking::page(&form, &can, Some(&view), &settings),
            )
            .await
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            form.answer(sheet(&can.can).show(breaking::page(&form, &can, None, &settings)))
        }
    }
}

async fn break_it(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], move |s, d: &BreakDraft, r| {
            s.break_can(CanId(id), d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on("/cans", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let (can, settings) = app
                .ask(move |s| Ok((s.can(CanId(id))?, s.settings()?)))
                .await?;
            form.answer(sheet(&can.can).show(breaking::page(&form, &can, None, &settings)))
        }
    }
}

fn new_sheet() -> Page {
    Page::new(Way::Shelf, "Add a can").sheet("New can")
}

fn sheet(can: &Can) -> Page {
    Page::new(Way::Shelf, format!("Can {}", can.letters)).sheet(format!("Can {}", can.letters))
}
