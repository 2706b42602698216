//! The clock of a run: one sheet to be read across a room and pressed with a wet knuckle.
//!
//! The page shows where the program's clock stands; `clock.js` keeps it moving between two askings, calls out and
//! sends presses. Without it the page shows the moment it was asked for, and every press works all the same.

use super::clock_hands::{hands, press_form};
use crate::service::Service;
use crate::service::moment::moment;
use crate::service::settings::Settings;
use crate::service::wet::press::{MarkDraft, UNLIKELY_REMEDY};
use crate::service::wet::runs::{RunClock, RunView};
use crate::service::wet::times::told;
use crate::service::wet::tools::Telling;
use crate::web::app::{Answer, App, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::IntoResponse;
use axum::{Json, Router, routing::get};
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::shelf::RunId;
use spoolwright_core::wet::temperature::DEFAULT_Q10;
use spoolwright_core::wet::timer::{CallKind, Doubt, Pause, Phase, StepState};

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/runs/{id}/clock", get(show).post(press))
        .route("/wet/runs/{id}/clock.json", get(state))
}

/// A press so soon after the last, in seconds of life, is the same knuckle twice.
const BOUNCE_S: f64 = 1.5;

/// A press that ends a bath so long before pouring out is due, in seconds of life, is asked about.
const EARLY_S: f64 = 10.0;

/// A clock with those of the other tanks that are going. A rehearsal's tank is empty: it calls nobody but whoever
/// rehearses.
struct Around {
    clock: RunClock,
    others: Vec<RunClock>,
    settings: Settings,
}

fn around(s: &Service, id: i64) -> crate::service::Outcome<Around> {
    let clock = s.run_clock(RunId(id))?;
    let mut others = s.running_clocks()?;
    others.retain(|o| o.view.run.id.0 != id && o.view.run.rehearsal.is_none());
    Ok(Around {
        clock,
        others,
        settings: s.settings()?,
    })
}

async fn show(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    let a = app.ask(move |s| around(s, id)).await?;
    Ok(sheet(&a.clock)
        .show(page(&a, &Form::default(), None))
        .into_response())
}

/// What a page asks besides the state.
#[derive(Default, Deserialize)]
#[serde(default)]
struct InDoubt {
    /// A press whose answer was lost: was it recorded?
    request: Option<String>,
}

async fn state(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<InDoubt>,
) -> Answer {
    let value = app
        .ask(move |s| {
            // Before the state, which then shows what was recorded.
            let recorded = asked.request.map(|r| s.was_recorded(&r)).transpose()?;
            let mut value = told_as_json(&around(s, id)?);
            value["recorded"] = recorded.into();
            Ok(value)
        })
        .await?;
    Ok(([(header::CACHE_CONTROL, "no-store")], Json(value)).into_response())
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
    let here = format!("/wet/runs/{id}/clock");
    if !form.text("knuckle").is_empty() {
        let clock = app.ask(move |s| s.run_clock(RunId(id))).await?;
        if bounces(&clock) {
            return Ok(match wants_json {
                true => Json(json!({ "story": "Pressed a moment ago: once is enough." }))
                    .into_response(),
                false => go_on(&here, None),
            });
        }
        if let Some(question) = early(&clock).filter(|_| form.text("sure").is_empty()) {
            return match wants_json {
                true => Ok((
                    StatusCode::CONFLICT,
                    Json(json!({ "refused": question, "again": true })),
                )
                    .into_response()),
                false => {
                    let a = app.ask(move |s| around(s, id)).await?;
                    let answer = sheet(&a.clock).show(page(&a, &Form::default(), Some(&question)));
                    Ok((StatusCode::CONFLICT, answer).into_response())
                }
            };
        }
    }
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
        Ok(_) => Ok(go_on(&here, None)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            if wants_json {
                let status = form.status();
                let body = json!({ "refused": form.told(), "again": is_unlikely(&form) });
                return Ok((status, Json(body)).into_response());
            }
            let a = app.ask(move |s| around(s, id)).await?;
            let answer = sheet(&a.clock).show(page(&a, &form, None));
            Ok((form.status(), answer).into_response())
        }
    }
}

/// What to ask before a bath is ended long before its time.
fn early(clock: &RunClock) -> Option<String> {
    let s = running(clock).filter(|s| s.pause != Some(Pause::Out))?;
    let drain_s = clock
        .view
        .steps
        .get(s.step as usize)
        .map_or(0.0, |step| step.drain_s);
    let early = (s.left_s() - drain_s) / pace(clock) > EARLY_S;
    early.then(|| {
        format!(
            "{} has {} left. Press once more to end it now.",
            step_name(clock, s.step),
            left(s.left_s())
        )
    })
}

/// Whether a form was refused for a reading that is hard to believe: sent again, it is a sure one.
pub(super) fn is_unlikely(form: &Form) -> bool {
    form.is_faulty() && form.told().contains(UNLIKELY_REMEDY)
}

/// Whether a press now would be the one that began this step, bouncing. In a rehearsal steps may be shorter than that.
fn bounces(clock: &RunClock) -> bool {
    let pace = pace(clock);
    running(clock).is_some_and(|s| {
        let since_s = (clock.second.at_s - s.began_s) / pace;
        since_s < BOUNCE_S.min(s.ends_s / pace / 2.0)
    })
}

fn pace(clock: &RunClock) -> f64 {
    clock.view.run.rehearsal.unwrap_or(1.0)
}

fn sheet(clock: &RunClock) -> Page {
    Page::new(Way::Wet, format!("Clock of {}", clock.view.name()))
        .sheet("Run clock")
        .script("clock.js")
}

pub(super) fn running(clock: &RunClock) -> Option<&StepState> {
    match &clock.timer.phase {
        Phase::Running(s) => Some(s),
        _ => None,
    }
}

pub(super) fn step_name(clock: &RunClock, place: u32) -> &'static str {
    let step = clock.view.steps.get(place as usize);
    step.map_or("", |s| s.kind.spoken())
}

fn phase_word(clock: &RunClock) -> &'static str {
    match clock.timer.phase {
        Phase::Waiting => "waiting",
        Phase::Running(_) => "running",
        Phase::Finished => "finished",
        Phase::Abandoned => "abandoned",
    }
}

/// What a tank is called out by: its own name, or its rolls where two tanks are called alike.
fn called(clock: &RunClock, all: &[&RunClock]) -> String {
    let same = |o: &&&RunClock| o.tank == clock.tank;
    match &clock.tank {
        Some(name) if all.iter().filter(same).count() == 1 => name.clone(),
        _ => clock.view.name(),
    }
}

/// `8:20`, with a sign in front when the time is over.
fn left(seconds: f64) -> String {
    let digits = told(seconds.abs() / 60.0);
    if seconds < -0.5 {
        format!("+{digits}")
    } else {
        digits
    }
}

/// Why a margin is as wide as it is, in few words.
fn why(s: &StepState) -> Option<String> {
    if s.margin_s < 0.5 {
        return None;
    }
    Some(match s.mostly? {
        Doubt::Coefficient => format!(
            "Margin of the temperature alone: how this developer answers to warmth is not known; {DEFAULT_Q10} for 10 °C is assumed."
        ),
        Doubt::Thermometer => "Margin of the temperature alone: what a thermometer may be off.".to_owned(),
        Doubt::Trend => "Margin of the temperature alone: the bath does not hold its temperature. Read it again.".to_owned(),
    })
}

fn told_as_json(a: &Around) -> Value {
    let clock = &a.clock;
    let all: Vec<&RunClock> = a.others.iter().chain([clock]).collect();
    let mut value = one_as_json(clock, &all, &a.settings);
    value["at_s"] = clock.second.at_s.into();
    value["by_the_wall"] = clock.second.by_the_wall.into();
    value["phase"] = phase_word(clock).into();
    value["steps"] = clock.timer.steps.into();
    value["press"] = clock.last_press.as_ref().map(|e| e.id.0).into();
    value["others"] = a
        .others
        .iter()
        .map(|o| one_as_json(o, &all, &a.settings))
        .collect();
    value
}

fn one_as_json(clock: &RunClock, all: &[&RunClock], settings: &Settings) -> Value {
    json!({
        "run": clock.view.run.id.0, "name": called(clock, all), "pace": pace(clock),
        "next": clock.timer.next_step().map(|n| step_name(clock, n)),
        "step": running(clock).map(|s| step_json(clock, s, settings)),
    })
}

fn step_json(clock: &RunClock, s: &StepState, settings: &Settings) -> Value {
    json!({
        "place": s.step + 1, "name": step_name(clock, s.step), "develops": s.done_s.is_some(),
        "elapsed_s": s.elapsed_s, "ends_s": s.ends_s, "margin_s": s.margin_s, "why": why(s), "bath": bath(s, settings),
        "pause": s.pause.map(|p| match p { Pause::Quiet => "quiet", Pause::Out => "out" }),
        "readings": s.readings.iter().map(|r| json!({ "t_s": r.t_s, "c": r.c })).collect::<Vec<_>>(),
        "calls": clock.calls.iter().map(|c| json!({ "at_s": c.at_s, "what": c.what.word() })).collect::<Vec<_>>(),
        "caveats": s.caveats.iter().map(|c| &c.text).collect::<Vec<_>>(),
    })
}

/// `question`: what is asked before the big button's press is carried out.
fn page(a: &Around, form: &Form, question: Option<&str>) -> Markup {
    let clock = &a.clock;
    let id = clock.view.run.id;
    let here = format!("/wet/runs/{id}/clock");
    html! {
        (form.refusals())
        section.clock data-clock={ (here) ".json" } data-phase=(phase_word(clock)) aria-label="Run clock" {
            p.back { a href={ "/wet/runs/" (id) } { "Leave the clock" } }
            p.offline data-offline role="status" { "This shows the moment it was asked for: load it again to see the time go on. Presses work as they are." }
            p.warning data-warning role="status" {}
            div data-part="head" { (head(clock, &a.settings)) }
            p.calling data-calling aria-live="assertive" { (now_words(clock)) }
            p.doing data-doing { (next_words(clock)) }
            p.elsewhere data-elsewhere aria-live="polite" {}
            p.refused-there data-refused role="alert" hidden[question.is_none()] { (question.unwrap_or_default()) }
            div data-part="press" { (press_form(clock, &here, &a.settings, question.is_some())) }
            div data-part="hands" { (hands(clock, &here, &a.settings, form)) }
            div.sound {
                button.quiet type="button" data-sound hidden aria-pressed="false" { "Sound and speech" }
                span.soft data-sound-said {}
            }
            div data-part="others" { (others_list(a)) }
        }
    }
}

fn head(clock: &RunClock, settings: &Settings) -> Markup {
    let steps = clock.timer.steps;
    let big = |digits: &str, over: bool, stands: bool| {
        html! {
            p.visually-hidden { "Time left:" }
            p.left.over[over].stands[stands] data-left data-long=(digits.len()) { (digits) }
        }
    };
    html! {
        @match &clock.timer.phase {
            Phase::Waiting => {
                h1 data-what { "Not begun" }
                (big("0:00", false, false))
                p.ends data-ends {
                    "Everything at hand? First: " (step_name(clock, 0)) "."
                    @if let Some(c) = clock.timer.bottle_c { " The developer is at " (settings.bath_temperature(c)) "." }
                }
            }
            Phase::Running(s) => {
                h1 data-what { (step_name(clock, s.step)) " " small { (s.step + 1) " of " (steps) } }
                p.asks { (asks(clock, s.step, clock.bottle.as_deref(), settings)) }
                (big(&left(s.left_s()), s.left_s() < -0.5, s.pause == Some(Pause::Out)))
                p.ends data-ends { (ends(s, settings)) }
                p.why data-why { (why(s).unwrap_or_default()) }
                @for c in s.caveats.iter().filter(|c| c.code == "off_temperature") { p.note role="status" { (c.text) } }
            }
            Phase::Finished => {
                h1 data-what { "All done" }
                (big("0:00", false, false))
                p.ends data-ends { "Hang it up to dry." }
            }
            Phase::Abandoned => {
                h1 data-what { "Given up" }
                (big("0:00", false, false))
                p.ends data-ends { (given_up(&clock.view)) }
            }
        }
        @if let Some(pace) = clock.view.run.rehearsal {
            p.rehearsal { "Rehearsal, " (pace) " times as fast as life." }
        }
        @if clock.second.by_the_wall {
            div.note {
                p {
                    "The machine was started anew since this step began"
                    @if let Some(began) = &clock.began { " (" (moment(began)) ")" }
                    ": the clock on the wall had to be believed. If it was set meanwhile, this one is off by as much."
                }
            }
        }
    }
}

/// What a run that was given up left of its rolls.
pub(super) fn given_up(view: &RunView) -> String {
    if view.developed {
        format!(
            "Developed as far as it went: {}. What is to be kept and is not fixed and washed yet, fix and wash.",
            view.name()
        )
    } else {
        "The rolls are as they were before.".to_owned()
    }
}

/// What a step asks of hands: how warm, from which bottle, what to mind.
pub(super) fn asks(
    clock: &RunClock,
    place: u32,
    bottle: Option<&str>,
    settings: &Settings,
) -> String {
    let Some(step) = clock.view.steps.get(place as usize) else {
        return String::new();
    };
    let telling = Telling::of(settings, &[]);
    let mut words = Vec::new();
    words.extend(
        step.temperature_c
            .map(|c| format!("at {}", telling.temperature(c))),
    );
    words.extend(bottle.map(|name| format!("from {name}")));
    let words = words.join(", ");
    let mind = step.told();
    match (words.is_empty(), mind.is_empty()) {
        (_, true) => words,
        (true, _) => mind,
        _ => format!("{words}. {mind}"),
    }
}

/// What the thermometer last said of the bath, in the user's degrees, or that nobody asked it.
fn bath(s: &StepState, settings: &Settings) -> String {
    match s.readings.last() {
        Some(r) => format!(" at {}", settings.bath_temperature(r.c)),
        None if s.done_s.is_some() && s.margin_s > 0.0 => ", bath not read yet".to_owned(),
        None => String::new(),
    }
}

fn ends(s: &StepState, settings: &Settings) -> String {
    let mut words = format!(
        "{} in, {} in all",
        told(s.elapsed_s / 60.0),
        told(s.ends_s / 60.0)
    );
    if s.margin_s >= 99.5 {
        words += &format!(" ± {}", told(s.margin_s / 60.0));
    } else if s.margin_s >= 0.5 {
        words += &format!(" ± {:.0} s", s.margin_s);
    }
    words + &bath(s, settings)
}

fn call_words(what: CallKind) -> &'static str {
    match what {
        CallKind::Agitate => "Agitate",
        CallKind::Rest => "Let it stand",
        CallKind::PourOut => "Pour out",
        CallKind::Next => "Time is up",
    }
}

/// Whether a call is made though a person silenced the calls: the film must come out all the same.
fn loud(what: CallKind) -> bool {
    matches!(what, CallKind::PourOut | CallKind::Next)
}

/// What a hand should be doing now.
fn now_words(clock: &RunClock) -> String {
    let Some(s) = running(clock) else {
        return String::new();
    };
    if s.pause == Some(Pause::Out) {
        return "The bath is out: the time stands still.".to_owned();
    }
    let now = clock.calls.iter().rfind(|c| c.at_s <= s.elapsed_s);
    let now = now.map(|c| c.what);
    if s.pause == Some(Pause::Quiet) && !now.is_some_and(loud) {
        return "Calls are silent; the film is still in its bath.".to_owned();
    }
    match (now, clock.timer.next_step()) {
        (Some(CallKind::Next), Some(n)) => format!("Time is up: {}", step_name(clock, n)),
        (now, _) => now.map_or("Let it stand", call_words).to_owned(),
    }
}

/// What comes after that, and when.
fn next_words(clock: &RunClock) -> String {
    let of = running(clock).filter(|s| s.pause != Some(Pause::Out));
    let next = of.and_then(|s| {
        let made = |what: CallKind| s.pause.is_none() || loud(what);
        let mut calls = clock.calls.iter().filter(|c| made(c.what));
        let next = calls.find(|c| s.elapsed_s < c.at_s)?;
        let when = told((next.at_s - s.elapsed_s) / 60.0);
        Some(format!("{} in {when}", call_words(next.what)))
    });
    next.unwrap_or_default()
}

fn others_list(a: &Around) -> Markup {
    let all: Vec<&RunClock> = a.others.iter().chain([&a.clock]).collect();
    html! {
        @if a.others.iter().any(|o| running(o).is_some()) {
            h2 { "Other tanks" }
            ul.rows {
                @for o in &a.others {
                    @if let Some(s) = running(o) {
                        li {
                            a.row href={ "/wet/runs/" (o.view.run.id) "/clock" } data-other=(o.view.run.id) {
                                span.what {
                                    span.name { (called(o, &all)) ": " (step_name(o, s.step)) }
                                    span.more data-then { (now_words(o)) " " (next_words(o)) }
                                }
                                span.much { b data-much { (left(s.left_s())) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
