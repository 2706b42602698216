//! What a roll's page says of the field: its next step in a camera, where it went on, its frames and their notes.

use crate::service::field::notes::NoteView;
use crate::service::field::stays::{PutInDraft, RollField, TakeOutDraft};
use crate::web::app::{Answer, App, go_on};
use crate::web::form::Form;
use crate::web::pages::rolls::refused;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::post;
use maud::{Markup, html};
use spoolwright_core::shelf::{Roll, RollState};

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/roll/{label}/load", post(load))
        .route("/roll/{label}/unload", post(unload))
}

async fn load(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    let of = label.clone();
    let outcome = app
        .carry_out(&form, &[], move |s, d: &PutInDraft, r| {
            s.put_in_camera(s.roll(&of)?.roll.id, d, r)
        })
        .await?;
    match outcome {
        Ok(made) => Ok(go_on(&format!("/roll/{label}"), made.entry)),
        Err(failure) => refused(app, label, form, failure).await,
    }
}

async fn unload(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    let of = label.clone();
    let outcome = app
        .carry_out(&form, &[], move |s, d: &TakeOutDraft, r| {
            s.take_out_of_camera(s.roll(&of)?.roll.id, d, r)
        })
        .await?;
    match outcome {
        Ok(made) => Ok(go_on(&format!("/roll/{label}"), made.entry)),
        Err(failure) => refused(app, label, form, failure).await,
    }
}

/// Where it is and how it goes on, above everything else of the roll's page.
pub(crate) fn standing(roll: &Roll, field: &RollField, form: &Form) -> Markup {
    let unsaid = roll.state == RollState::InCamera && field.now_in().is_none();
    html! {
        @if let Some(stay) = field.now_in() {
            p.loudly {
                "In " a href={ "/cameras/" (stay.camera.id) } { (stay.camera.name) } " since " (say::day(&stay.load.loaded_on))
                @if stay.load.first_frame > 1 { ", from frame " (stay.load.first_frame) " on" }
                "."
            }
        }
        @if let Some(r) = &field.resume {
            div.note {
                p {
                    "Stopped after frame " strong { (r.stopped_after) } ". "
                    @if r.wind_on > 0 {
                        "To go on, wind on " (say::count(r.wind_on, "frame", "frames"))
                        " with the lens covered, at the shortest time and the smallest aperture; frame "
                        strong { (r.first_frame) } " is the next to be exposed. "
                        "One frame is left blank, since film never sits twice at the same place."
                    }
                }
            }
        }
        @if roll.state == RollState::Wound || unsaid { (put_in(roll, field, form, unsaid)) }
    }
}

/// The form that puts it in a camera; its button is the roll's next act.
fn put_in(roll: &Roll, field: &RollField, form: &Form, unsaid: bool) -> Markup {
    let likely = field.ready.first().map_or("", |c| c.name.as_str());
    let form = form.clone().with_default("camera", likely);
    let names: Vec<(&str, &str, &str)> = field
        .ready
        .iter()
        .map(|c| (c.name.as_str(), c.name.as_str(), ""))
        .collect();
    html! {
        form.form id="load" method="post" action={ "/roll/" (roll.label) "/load" } {
            (form.request_field())
            @if names.is_empty() {
                (form.field("new_camera", "Which camera").of("load").hint("No camera in the list is empty: name one.").needed().text())
            } @else {
                (form.field("camera", if unsaid { "Which camera is it in?" } else { "Into which camera" }).of("load").radios(&names))
            }
            (form.sure())
            details open[form.is_faulty()] {
                summary { "Another camera, EI, first frame" }
                @if !names.is_empty() {
                    (form.field("new_camera", "A camera that is not in the list").of("load").hint("Goes before the choice above.").text())
                }
                div.pair {
                    (form.field("ei", "Meter set to").of("load").unit("EI").hint("The label's when empty.").number())
                    (form.field("first_frame", "First frame").of("load").hint("1, or where it goes on, when empty.").whole())
                }
                (form.field("loaded_on", "Put in on").hint("Today when empty.").of("load").date())
                (form.field("note", "Note").of("load").text())
            }
            @if unsaid { button { "It is in this one" } }
        }
    }
}

/// The form that takes it out before its end.
pub(crate) fn take_out(roll: &Roll, field: &RollField, form: &Form) -> Markup {
    html! {
        @if field.now_in().is_some() {
            details open[form.is_faulty()] {
                summary { "It comes out before its end" }
                form method="post" action={ "/roll/" (roll.label) "/unload" } {
                    (form.request_field())
                    (form.field("frame", "Last frame exposed").of("unload").hint("As the counter shows it before you wind back; 0 when none was.").needed().whole())
                    (form.field("out_on", "Taken out on").of("unload").hint("Today when empty.").date())
                    p.hint { "Wind back slowly and leave the tongue out. Write the frame on the label." }
                    button { "Take it out" }
                }
            }
        }
    }
}

/// Buttons for the thumb, by what the roll's state asks for next.
pub(crate) fn acts(roll: &Roll, field: &RollField) -> Option<Markup> {
    let base = format!("/roll/{}", roll.label);
    match roll.state {
        RollState::Wound => Some(html! {
            form method="post" action={ (base) "/move" } {
                (Form::default().request_field())
                input type="hidden" name="state" value=(RollState::Exposed.word());
                button { "It is exposed" }
            }
            div { button.main form="load" { "Put in camera" } }
        }),
        RollState::InCamera => Some(html! {
            form method="post" action={ (base) @if field.now_in().is_some() { "/unload" } @else { "/move" } } {
                (Form::default().request_field())
                @if field.now_in().is_none() { input type="hidden" name="state" value=(RollState::Exposed.word()); }
                button { "It is exposed" }
            }
            a.btn.main href={ (base) "/note" } { "Note a frame" }
        }),
        _ => None,
    }
}

/// The roll's frames that are noted.
pub(crate) fn frames(roll: &Roll, notes: &[NoteView]) -> Markup {
    html! {
        h2 id="frames" { "Frames" }
        @if notes.is_empty() {
            p.soft { "None is noted. " a.tap href={ "/roll/" (roll.label) "/note" } { "Note a frame" } }
        } @else {
            ul.rows { @for v in notes { li { (frame_row(roll, v)) } } }
            p.ways-on { a href={ "/roll/" (roll.label) "/note" } { "Note a frame" } }
        }
        div data-unsent=(roll.label) hidden {}
    }
}

fn frame_row(roll: &Roll, v: &NoteView) -> Markup {
    let n = &v.note;
    html! {
        a.row href={ "/roll/" (roll.label) "/note/" (n.id) } {
            span.much { b { (n.frame) } }
            span.what {
                span.name {
                    @if !n.subject.is_empty() { (n.subject) } @else if !n.place.is_empty() { (n.place) } @else { "Frame " (n.frame) }
                }
                span.more { (super::notes::in_short(n)) }
            }
            @if !v.versions.is_empty() { span.stamp { "two versions" } }
            @if n.usable == Some(false) { span.stamp.past { "not usable" } }
        }
    }
}
