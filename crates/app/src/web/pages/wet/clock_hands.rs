//! What hands can do at a run's clock: the big button, taking the last press back, the thermometer, pauses, giving up.
//!
//! Every one is a form that works without a script; `clock.js` sends them without leaving the page.

use super::clock::{asks, is_unlikely, running, step_name};
use super::runs::bath_cautions;
use crate::service::settings::Settings;
use crate::service::wet::runs::RunClock;
use crate::service::wet::tools::Telling;
use crate::web::app::undo;
use crate::web::form::Form;
use crate::web::say;
use maud::{Markup, html};
use spoolwright_core::shelf::RunId;
use spoolwright_core::wet::timer::{MarkKind, Pause, Phase};

/// Reasons for a pause that come up most.
const REASONS: [&str; 4] = ["hands busy", "door or telephone", "spilt", "something else"];

/// The big button: what comes next, one knuckle away. `asked`: pressing it again means it.
pub(super) fn press_form(clock: &RunClock, here: &str, settings: &Settings, asked: bool) -> Markup {
    let id = clock.view.run.id;
    let (kind, words) = match (clock.timer.next_step(), &clock.timer.phase) {
        (_, Phase::Running(s)) if s.pause == Some(Pause::Out) => {
            (MarkKind::Resume, "The bath is in again".to_owned())
        }
        (Some(n), _) => (MarkKind::Begin, format!("{} goes in", step_name(clock, n))),
        (None, Phase::Running(_)) => (MarkKind::Finish, "Done: out of the tank".to_owned()),
        (None, Phase::Finished) if clock.view.run.rehearsal.is_none() => {
            return html! {
                a.btn.main.huge href={ "/wet/runs/" (id) } { "What came out" }
                (oops(clock))
            };
        }
        _ => return html! { a.btn.main.huge href="/wet" { "To the wet bench" } (oops(clock)) },
    };
    html! {
        form.press method="post" action=(here) data-press {
            (Form::default().request_field())
            input type="hidden" name="kind" value=(kind.word());
            @if kind == MarkKind::Begin { (next_field(clock)) }
            @if kind != MarkKind::Resume { input type="hidden" name="knuckle" value="1"; }
            @if asked { input type="hidden" name="sure" value="yes"; }
            button.main.huge { (words) }
        }
        (oops(clock))
        @if let Some(n) = clock.timer.next_step().filter(|_| kind == MarkKind::Begin) {
            @let asked = asks(clock, n, clock.next_bottle.as_deref(), settings);
            @if !asked.is_empty() { p.asks { (step_name(clock, n)) ": " (asked) } }
        }
    }
}

/// Which step the next press begins, so that a page that lags behind is refused.
fn next_field(clock: &RunClock) -> Markup {
    let next = clock.timer.next_step().map(|n| (n + 1).to_string());
    html! { input type="hidden" name="step" value=(next.unwrap_or_default()); }
}

/// The last press taken back.
fn oops(clock: &RunClock) -> Markup {
    html! {
        @if let Some(entry) = &clock.last_press {
            div.oops data-send-within {
                (undo(entry, html! { button { "Oops: undo" } }))
                span.soft { (entry.story) }
            }
        }
    }
}

/// What else hands can do.
pub(super) fn hands(clock: &RunClock, here: &str, settings: &Settings, typed: &Form) -> Markup {
    let none = Form::default();
    // A refused form comes back with what was typed; the others are as they were.
    let of = |kind: MarkKind| match typed.text("kind") == kind.word() {
        true => typed,
        false => &none,
    };
    let fields = |kind: MarkKind| {
        html! {
            (of(kind).request_field())
            input type="hidden" name="kind" value=(kind.word());
        }
    };
    let degrees = Telling::of(settings, &[]).degrees();
    let give_up = || give_up(clock.view.run.id, of(MarkKind::Abandon));
    let thermometer = |label: &'static str| {
        html! {
            form method="post" action=(here) data-send {
                (fields(MarkKind::Reading))
                @if is_unlikely(of(MarkKind::Reading)) { input type="hidden" name="sure" value=(of(MarkKind::Reading).text("value")); }
                div.inline {
                    (of(MarkKind::Reading).field("value", label).of("reading").unit(degrees).needed().number())
                    button { "Read it" }
                }
            }
        }
    };
    let Some(s) = running(clock) else {
        return html! {
            @if clock.timer.phase == Phase::Waiting {
                div.hands {
                    (thermometer("Thermometer in the developer"))
                    details #more open[of(MarkKind::Abandon).is_faulty()] { summary { "Give the run up" } (give_up()) }
                    (bath_cautions(&clock.view.steps))
                }
            }
        };
    };
    html! {
        div.hands {
            @if s.pause == Some(Pause::Quiet) {
                form method="post" action=(here) data-send {
                    (fields(MarkKind::Resume))
                    button.main data-first { "Go on" }
                }
            }
            @if s.pause == Some(Pause::Out) && let Some(n) = clock.timer.next_step() {
                form method="post" action=(here) data-send {
                    (fields(MarkKind::Begin))
                    (next_field(clock))
                    button { (step_name(clock, n)) " goes in" }
                }
            }
            (thermometer("Thermometer"))
            @if s.pause.is_none() {
                details #pause {
                    summary { "Pause" }
                    @for (kind, words, hint) in [
                        (MarkKind::Quiet, "Silence the calls", "The film stays in its bath, the time goes on, and pouring out is called all the same."),
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
            details #more open[of(MarkKind::Abandon).is_faulty()] {
                summary { "Longer, shorter, or give up" }
                form.inline method="post" action=(here) data-send {
                    (fields(MarkKind::Extend))
                    button name="value" value="30" { "30 s more" }
                    button name="value" value="-30" { "30 s less" }
                }
                (give_up())
            }
            @if !s.caveats.is_empty() {
                details #doubts {
                    summary { (say::count(s.caveats.len() as u64, "doubt", "doubts")) " about the end" }
                    ul { @for c in &s.caveats { li { (c.text) } } }
                }
            }
            (bath_cautions(&clock.view.steps))
        }
    }
}

/// The form that gives a run up.
pub(super) fn give_up(run: RunId, form: &Form) -> Markup {
    html! {
        form method="post" action={ "/wet/runs/" (run) "/clock" } {
            (form.request_field())
            input type="hidden" name="kind" value=(MarkKind::Abandon.word());
            (form.field("note", "Why give it up").of("abandon").needed().text())
            button { "Give the run up" }
        }
    }
}
