//! The clock of a run: one sheet to be read across a room and pressed with a wet knuckle.
//!
//! The page shows where the program's clock stands; `clock.js` keeps it moving between two askings, calls out and
//! sends presses. Without it the page shows the moment it was asked for, and every press works all the same.

use crate::service::Service;
use crate::service::wet::runs::{MarkDraft, RunClock};
use crate::service::wet::times::told;
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use axum::{Json, Router, routing::get};
use maud::{Markup, html};
use serde_json::{Value, json};
use spoolwright_core::shelf::RunId;
use spoolwright_core::wet::timer::{MarkKind, Pause, Phase, StepState};

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/runs/{id}/clock", get(show).post(press))
        .route("/wet/runs/{id}/clock.json", get(state))
}

/// Reasons for a pause that come up most.
const REASONS: [&str; 4] = ["hands busy", "door or telephone", "spilt", "something else"];

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let (clock, others) = app.ask(move |s| around(s, id)).await?;
    app.show(
        sheet(&clock),
        &asked,
        page(&clock, &others, &Form::default()),
    )
    .await
}

async fn state(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    let (clock, others) = app.ask(move |s| around(s, id)).await?;
    Ok((
        [(header::CACHE_CONTROL, "no-store")],
        Json(told_as_json(&clock, &others)),
    )
        .into_response())
}

async fn press(
    State(app): State<App>,
    Path(id): Path<i64>,
    headers: HeaderMap,
    form: Form,
) -> Answer {
    let wants_json = headers
        .get(header::ACCEPT)
        .and_then(|v| v.to_str().ok())
        .is_some_and(|v| v.contains("application/json"));
    let done = app
        .carry_out(&form, &[], move |s, d: &MarkDraft, r| {
            s.press(RunId(id), d, r)
        })
        .await?;
    match done {
        Ok(made) if wants_json => Ok(Json(json!({
            "entry": made.entry.map(|e| e.0), "story": made.story,
        }))
        .into_response()),
        Ok(made) => Ok(go_on(&format!("/wet/runs/{id}/clock"), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            if wants_json {
                let status = form.status();
                return Ok((status, Json(json!({ "refused": form.told() }))).into_response());
            }
            let (clock, others) = app.ask(move |s| around(s, id)).await?;
            let answer = sheet(&clock).show(page(&clock, &others, &form));
            Ok((StatusCode::CONFLICT, answer).into_response())
        }
    }
}

fn around(s: &Service, id: i64) -> crate::service::Outcome<(RunClock, Vec<RunClock>)> {
    let clock = s.run_clock(RunId(id))?;
    let mut others = s.running_clocks()?;
    others.retain(|o| o.view.run.id.0 != id);
    Ok((clock, others))
}

fn sheet(clock: &RunClock) -> Page {
    Page::new(Way::Wet, format!("Clock of {}", clock.view.name()))
        .sheet("Run clock")
        .script("clock.js")
}

fn running(clock: &RunClock) -> Option<&StepState> {
    match &clock.timer.phase {
        Phase::Running(s) => Some(s),
        _ => None,
    }
}

/// The name of a step, its place and how many there are.
fn step_name(clock: &RunClock, place: u32) -> String {
    clock
        .view
        .steps
        .get(place as usize)
        .map_or_else(String::new, |s| s.kind.spoken().to_owned())
}

/// `8:20`, with a sign in front when the time is over.
fn left(seconds: f64) -> String {
    let whole = seconds.abs().round();
    let digits = told(whole / 60.0);
    if seconds < -0.5 {
        format!("+{digits}")
    } else {
        digits
    }
}

fn told_as_json(clock: &RunClock, others: &[RunClock]) -> Value {
    let phase = match &clock.timer.phase {
        Phase::Waiting => "waiting",
        Phase::Running(_) => "running",
        Phase::Finished => "finished",
        Phase::Abandoned => "abandoned",
    };
    json!({
        "at_s": clock.second.at_s,
        "by_the_wall": clock.second.by_the_wall,
        "pace": clock.view.run.rehearsal.unwrap_or(1.0),
        "phase": phase,
        "steps": clock.timer.steps,
        "next": clock.timer.next_step().map(|n| json!({ "place": n + 1, "name": step_name(clock, n) })),
        "step": running(clock).map(|s| step_json(clock, s)),
        "others": others.iter().filter_map(|o| running(o).map(|s| json!({
            "run": o.view.run.id.0, "name": o.view.name(), "step": step_name(o, s.step),
            "left_s": s.left_s(), "pace": o.view.run.rehearsal.unwrap_or(1.0),
            "stands": s.pause == Some(Pause::Out),
        }))).collect::<Vec<_>>(),
    })
}

fn step_json(clock: &RunClock, s: &StepState) -> Value {
    json!({
        "place": s.step + 1, "name": step_name(clock, s.step),
        "elapsed_s": s.elapsed_s, "ends_s": s.ends_s, "margin_s": s.margin_s,
        "pause": s.pause.map(|p| match p { Pause::Quiet => "quiet", Pause::Out => "out" }),
        "reading_c": s.readings.last().map(|r| r.c),
        "calls": clock.calls.iter().map(|c| json!({ "at_s": c.at_s, "what": c.what.word() })).collect::<Vec<_>>(),
        "caveats": s.caveats.iter().map(|c| &c.text).collect::<Vec<_>>(),
    })
}

fn page(clock: &RunClock, others: &[RunClock], form: &Form) -> Markup {
    let id = clock.view.run.id;
    let here = format!("/wet/runs/{id}/clock");
    html! {
        (form.refusals())
        section.clock data-clock={ (here) ".json" } aria-label="Run clock" {
            @if let Some(pace) = clock.view.run.rehearsal {
                p.rehearsal { "Rehearsal, " (pace) " times as fast as life. Nothing is drawn on." }
            }
            (head(clock))
            p.calling data-calling aria-live="assertive" {}
            (press_form(clock, &here))
            p.refused-there data-refused role="alert" hidden {}
            @if running(clock).is_some() { (hands(clock, &here)) }
            div.sound {
                button.quiet type="button" data-sound hidden aria-pressed="false" { "Sound and speech" }
                span.soft data-sound-said {}
            }
            div data-others { (others_list(others)) }
            p.soft { a href={ "/wet/runs/" (id) } { "The run's sheet" } }
        }
    }
}

fn head(clock: &RunClock) -> Markup {
    let steps = clock.timer.steps;
    html! {
        @match &clock.timer.phase {
            Phase::Waiting => {
                h1 data-what { "Not begun" }
                p.left data-left { "0:00" }
                p.ends data-ends { "Everything at hand? The first bath is " (step_name(clock, 0)) "." }
            }
            Phase::Running(s) => {
                h1 data-what { (step_name(clock, s.step)) " " small { (s.step + 1) " of " (steps) } }
                p.left.over[s.left_s() < -0.5] data-left { (left(s.left_s())) }
                p.ends data-ends { (ends(s)) }
            }
            Phase::Finished => {
                h1 data-what { "All done" }
                p.left data-left { "0:00" }
                p.ends data-ends { "Hang it up. What came out is written down on the run's sheet." }
            }
            Phase::Abandoned => {
                h1 data-what { "Given up" }
                p.left data-left { "0:00" }
                p.ends data-ends { "The rolls are as they were before." }
            }
        }
        @if clock.second.by_the_wall {
            div.note { p { "The machine was started anew since the last press: the clock on the wall had to be believed. If it was set meanwhile, this one is off by as much." } }
        }
    }
}

fn ends(s: &StepState) -> String {
    let mut words = format!(
        "{} in, {} in all",
        told(s.elapsed_s / 60.0),
        told(s.ends_s / 60.0)
    );
    if s.margin_s >= 0.5 {
        words += &format!(" ± {:.0} s", s.margin_s);
    }
    match s.readings.last() {
        Some(r) => words += &format!(" at {:.1} °C", r.c),
        None if s.done_s.is_some() && s.margin_s > 0.0 => words += ", bath not read yet",
        None => {}
    }
    words
}

fn press_form(clock: &RunClock, here: &str) -> Markup {
    let (kind, words) = match (clock.timer.next_step(), &clock.timer.phase) {
        (Some(n), _) => (MarkKind::Begin, format!("{} goes in", step_name(clock, n))),
        (None, Phase::Running(_)) => (MarkKind::Finish, "Done: out of the tank".to_owned()),
        _ => return html! {},
    };
    html! {
        form.press method="post" action=(here) data-press {
            (Form::default().request_field())
            input type="hidden" name="kind" value=(kind.word());
            input type="hidden" name="step" value=(clock.timer.next_step().map(|n| (n + 1).to_string()).unwrap_or_default());
            button.main.huge data-press-words { (words) }
            p.hint { "Space bar, Enter, or anywhere on the button with a knuckle." }
        }
    }
}

/// What else hands can do while a bath is in.
fn hands(clock: &RunClock, here: &str) -> Markup {
    let paused = running(clock).and_then(|s| s.pause);
    let fields = |kind: MarkKind| {
        html! {
            (Form::default().request_field())
            input type="hidden" name="kind" value=(kind.word());
        }
    };
    html! {
        div.hands {
            form method="post" action=(here) data-send {
                (fields(MarkKind::Reading))
                label for="reading" { "Thermometer" }
                div.inline {
                    input #reading name="value" inputmode="decimal" autocomplete="off" required;
                    button { "Read it" }
                }
            }
            @if paused.is_some() {
                form method="post" action=(here) data-send {
                    (fields(MarkKind::Resume))
                    button { "Go on" }
                }
            } @else {
                details {
                    summary { "Pause" }
                    @for (kind, words, hint) in [
                        (MarkKind::Quiet, "Silence the calls", "The film stays in its bath, and the time goes on."),
                        (MarkKind::Out, "The bath is out", "Poured out: the time stands still."),
                    ] {
                        form method="post" action=(here) data-send {
                            (fields(kind))
                            label for={ "why-" (kind.word()) } { "Why" }
                            select id={ "why-" (kind.word()) } name="note" {
                                @for reason in REASONS { option value=(reason) { (reason) } }
                            }
                            button { (words) }
                            p.hint { (hint) }
                        }
                    }
                }
            }
            details {
                summary { "Longer, or give up" }
                form method="post" action=(here) data-send {
                    (fields(MarkKind::Extend))
                    input type="hidden" name="value" value="30";
                    button { "30 s more for this step" }
                }
                form method="post" action=(here) {
                    (fields(MarkKind::Abandon))
                    label for="why-abandon" { "Why" }
                    input #why-abandon name="note" required maxlength="200";
                    button { "Give the run up" }
                }
            }
        }
    }
}

fn others_list(others: &[RunClock]) -> Markup {
    html! {
        @if !others.is_empty() {
            h2 { "Other tanks" }
            ul.rows {
                @for o in others {
                    @if let Some(s) = running(o) {
                        li {
                            a.row href={ "/wet/runs/" (o.view.run.id) "/clock" } {
                                span.what { span.name { (o.view.name()) } span.more { (step_name(o, s.step)) } }
                                span.much { b { (left(s.left_s())) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
