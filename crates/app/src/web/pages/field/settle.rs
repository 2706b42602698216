//! Two versions of a note side by side, to be settled field by field; and the notes that wait for it.

use crate::service::field::note::NoteDraft;
use crate::service::field::notes::NoteView;
use crate::service::field::settle::{SettleDraft, disputed};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect};
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::field::merge::NoteField;
use spoolwright_core::field::record::FrameNote;
use spoolwright_core::shelf::FrameNoteId;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/notes", get(list))
        .route("/roll/{label}/note/{id}/settle", get(show).post(settle))
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let waiting = app.ask(Service::unsettled).await?;
    let body = html! {
        h1 { "Notes written twice" }
        p {
            "A note written away from the program and another of the same frame were joined as far as they agree. "
            "Where they say different things, you choose; nothing was thrown away."
        }
        @if waiting.is_empty() { p { "None waits to be settled." } }
        ul.rows {
            @for (label, n) in &waiting {
                li {
                    a.row href={ "/roll/" (label) "/note/" (n.id) "/settle" } {
                        span.what { span.name { (label) ", frame " (n.frame) } span.more { (n.subject) } }
                        span.much { "settle" }
                    }
                }
            }
        }
    };
    app.show(
        Page::new(Way::Rolls, "Notes written twice").sheet("Notes"),
        &asked,
        body,
    )
    .await
}

fn view(s: &Service, label: &str, id: i64) -> Outcome<NoteView> {
    s.note_of(s.roll(label)?.roll.id, FrameNoteId(id))
}

fn sheet(label: &str) -> Page {
    Page::new(Way::Rolls, format!("Settle a note of {label}")).sheet(format!("Roll {label}"))
}

async fn show(
    State(app): State<App>,
    Path((label, id)): Path<(String, i64)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let of = label.clone();
    let v = app.ask(move |s| view(s, &of, id)).await?;
    if v.versions.is_empty() {
        return Ok(Redirect::to(&format!("/roll/{label}/note/{id}")).into_response());
    }
    app.show(sheet(&label), &asked, page(&label, &v, &Form::default()))
        .await
}

async fn settle(
    State(app): State<App>,
    Path((label, id)): Path<(String, i64)>,
    form: Form,
) -> Answer {
    let of = label.clone();
    let outcome = app
        .carry_out(&form, &[], move |s, d: &SettleDraft, r| {
            s.settle_note(s.roll(&of)?.roll.id, FrameNoteId(id), d, r)
        })
        .await?;
    match outcome {
        Ok(made) => Ok(go_on(&format!("/roll/{label}#frames"), made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let of = label.clone();
            let v = app.ask(move |s| view(s, &of, id)).await?;
            form.answer(sheet(&label).show(page(&label, &v, &form)))
        }
    }
}

/// A field's name on the page, and what a version says in it.
fn said(field: NoteField, note: &FrameNote) -> (&'static str, String) {
    let d = NoteDraft::from(note);
    let (name, value) = match field {
        NoteField::Frame => ("Frame", d.frame),
        NoteField::Exposures => ("Exposures on it", note.exposures.to_string()),
        NoteField::Shape => ("Shape", note.shape.word().to_owned()),
        NoteField::TakenAt => ("Taken", d.taken_at.replace('T', " ")),
        NoteField::Aperture => (
            "Aperture",
            if d.aperture.is_empty() {
                String::new()
            } else {
                format!("f/{}", d.aperture)
            },
        ),
        NoteField::Shutter => (
            "Time",
            if d.shutter.is_empty() {
                String::new()
            } else {
                format!("{} s", d.shutter)
            },
        ),
        NoteField::Lens => ("Lens", d.lens),
        NoteField::Filter => ("Filter", d.filter),
        NoteField::Ei => ("EI", d.ei),
        NoteField::Subject => ("What is on it", d.subject),
        NoteField::Place => ("Place", d.place),
        NoteField::MeterEv => ("Meter reads, EV", d.meter_ev),
        NoteField::Usable => ("Can it be used?", d.usable),
        NoteField::Note => ("Note", d.note),
    };
    let value = if value.is_empty() {
        "nothing".to_owned()
    } else {
        value
    };
    (name, value)
}

/// What the versions say in a field, each wording once, with a version that says so.
fn wordings(field: NoteField, v: &NoteView) -> Vec<(String, FrameNoteId)> {
    let mut found: Vec<(String, FrameNoteId)> = Vec::new();
    for version in std::iter::once(&v.note).chain(&v.versions) {
        let value = said(field, version).1;
        if found.iter().all(|(known, _)| *known != value) {
            found.push((value, version.id));
        }
    }
    found
}

fn page(label: &str, v: &NoteView, form: &Form) -> Markup {
    let fields = disputed(&v.note, &v.versions);
    html! {
        h1 { "Which is right?" }
        p {
            a.tap href={ "/roll/" (label) } { (label) } ", frame " (v.note.frame)
            ". It was written twice, the second time on " (say::moment(v.versions.first().map_or("", |n| &n.made_at))) "."
        }
        (form.refusals())
        form.form method="post" action={ "/roll/" (label) "/note/" (v.note.id) "/settle" } {
            (form.request_field())
            @for field in fields {
                fieldset.field id=(field.word()) {
                    legend { (said(field, &v.note).0) }
                    @for (value, version) in wordings(field, v) {
                        label.choice {
                            input type="radio" name=(field.word()) value=(version) required
                                checked[form.text(field.word()) == version.to_string()];
                            span { (value) " " span.more { @if version == v.note.id { "as it stands" } @else { "as written elsewhere" } } }
                        }
                    }
                }
            }
            (main_act("Settle it"))
        }
    }
}
