//! A frame's note: a new one, one that is there, with what helps an exposure and where the frame lies.

use super::lies;
use crate::service::field::find::{FoundFrame, lies_in_words};
use crate::service::field::help::{Help, HelpDraft};
use crate::service::field::note::{NoteDraft, NoteSent, shutter};
use crate::service::field::notes::{NoteStart, NoteView};
use crate::service::field::stays::RollField;
use crate::service::shelf::RollView;
use crate::service::{Failure, Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::problem::Problem;
use crate::web::say;
use axum::extract::{Path, RawQuery, State};
use axum::response::IntoResponse;
use axum::routing::{get, post};
use axum::{Json, Router};
use maud::{Markup, html};
use serde_json::json;
use spoolwright_core::exposure::scale::shutter_name;
use spoolwright_core::field::find::Hit;
use spoolwright_core::field::record::{FrameNote, FrameShape};
use spoolwright_core::shelf::FrameNoteId;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/roll/{label}/note", get(blank).post(save))
        .route("/roll/{label}/note/{id}", get(show).post(save_that))
        .route("/roll/{label}/note/{id}/remove", post(remove))
}

/// A roll and what a note of it needs.
struct Sheet {
    view: RollView,
    field: RollField,
    start: NoteStart,
    /// The note that is shown, with where its frame lies.
    of: Option<(NoteView, FoundFrame)>,
}

fn sheet(s: &Service, label: &str, id: Option<i64>) -> Outcome<Sheet> {
    let view = s.roll(label)?;
    let field = s.roll_in_field(&view)?;
    let of = match id {
        Some(id) => {
            let v = s.note_of(view.roll.id, FrameNoteId(id))?;
            let found = s.where_it_lies(Hit {
                roll: view.roll.clone(),
                stock: view.stock.id,
                note: Some(v.note.clone()),
            })?;
            Some((v, found))
        }
        None => None,
    };
    Ok(Sheet {
        start: s.note_start(&view, &field)?,
        view,
        field,
        of,
    })
}

impl Sheet {
    fn page(&self) -> Page {
        let label = &self.view.roll.label;
        let title = match &self.of {
            Some((v, _)) => format!("{label}, frame {}", v.note.frame),
            None => format!("Note a frame of {label}"),
        };
        Page::new(Way::Rolls, title)
            .sheet(format!("Roll {label}"))
            .script("notes.js")
    }

    /// The form as it begins.
    fn begun(&self) -> Form {
        match &self.of {
            Some((v, _)) => {
                let draft = NoteDraft::from(&v.note);
                Form::from_draft(&draft).with("base", draft.as_base())
            }
            None => Form::fresh([
                ("frame", self.start.frame.to_string()),
                ("taken_at", self.start.now.clone()),
            ]),
        }
    }
}

/// The form as the address has it, and help where that was asked for.
async fn asked_help(app: &App, form: Form) -> Result<(Form, Option<Help>), Problem> {
    if form.text("help").is_empty() {
        return Ok((form, None));
    }
    let draft: HelpDraft = form.draft(&[]);
    match app.look(move |s| s.exposure_help(&draft)).await? {
        Ok(help) => Ok((form, Some(help))),
        Err(failure) => Ok((form.refused_by(failure)?, None)),
    }
}

async fn blank(
    State(app): State<App>,
    Path(label): Path<String>,
    RawQuery(query): RawQuery,
    Query(asked): Query<Asked>,
) -> Answer {
    show_note(app, label, None, query, asked).await
}

async fn show(
    State(app): State<App>,
    Path((label, id)): Path<(String, i64)>,
    RawQuery(query): RawQuery,
    Query(asked): Query<Asked>,
) -> Answer {
    show_note(app, label, Some(id), query, asked).await
}

async fn show_note(
    app: App,
    label: String,
    id: Option<i64>,
    query: Option<String>,
    asked: Asked,
) -> Answer {
    let sheet = app.ask(move |s| sheet(s, &label, id)).await?;
    let typed = Form::from_query(&query.unwrap_or_default());
    let asks = !typed.text("help").is_empty();
    let begun = if asks { typed } else { sheet.begun() };
    let (form, help) = asked_help(&app, begun).await?;
    let body = page(&sheet, &form, help.as_ref());
    if form.is_faulty() {
        return form.answer(sheet.page().show(body));
    }
    app.show(sheet.page(), &asked, body).await
}

async fn save(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    keep(app, label, None, form).await
}

async fn save_that(
    State(app): State<App>,
    Path((label, id)): Path<(String, i64)>,
    form: Form,
) -> Answer {
    keep(app, label, Some(id), form.with("of", id.to_string())).await
}

async fn keep(app: App, label: String, id: Option<i64>, form: Form) -> Answer {
    let of = label.clone();
    let outcome = app
        .carry_out(&form, &[], move |s, d: &NoteSent, r| {
            s.save_note(s.roll(&of)?.roll.id, d, r)
        })
        .await?;
    let in_place = form.text("answer") == "json";
    match outcome {
        Ok(made) if in_place => Ok(Json(json!({
            "kept": true, "story": made.story, "entry": made.entry.map(|e| e.0),
        }))
        .into_response()),
        Ok(made) => {
            let next = match form.text("then") {
                "next" => format!("/roll/{label}/note"),
                _ => format!("/roll/{label}#frames"),
            };
            Ok(go_on(&next, made.entry))
        }
        Err(failure) if in_place => refused_in_place(form, failure),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let sheet = app
                .ask(move |s| {
                    let there = s.roll(&label)?.roll.id;
                    // Taken away meanwhile: what was typed is shown as a new note.
                    let id = id.filter(|id| s.note_of(there, FrameNoteId(*id)).is_ok());
                    sheet(s, &label, id)
                })
                .await?;
            form.answer(sheet.page().show(page(&sheet, &form, None)))
        }
    }
}

/// The refusal for a script that shows it where the note waits.
fn refused_in_place(form: Form, failure: Failure) -> Answer {
    let form = form.refused_by(failure)?;
    let answer = Json(json!({ "kept": false, "told": form.told() }));
    Ok((form.status(), answer).into_response())
}

async fn remove(
    State(app): State<App>,
    Path((label, id)): Path<(String, i64)>,
    form: Form,
) -> Answer {
    let next = format!("/roll/{label}#frames");
    app.press(&form, next, move |s, r| {
        let roll = s.roll(&label)?.roll.id;
        s.take_away_note(roll, FrameNoteId(id), r)
    })
    .await
}

/// "1/125 at f/8, long one, yellow, the weir, 3 May": what a row has room for.
pub(super) fn in_short(n: &FrameNote) -> String {
    let exposure = match (n.shutter_s, n.aperture) {
        (Some(t), Some(f)) => format!("{} s at f/{f}", shutter(t)),
        (Some(t), None) => format!("{} s", shutter(t)),
        (None, Some(f)) => format!("f/{f}"),
        (None, None) => String::new(),
    };
    let shape = match n.shape {
        FrameShape::Full => "",
        FrameShape::Half => "half frame",
        FrameShape::Panoramic => "panoramic",
    };
    let twice = match n.exposures {
        1 => String::new(),
        2 => "double exposure".to_owned(),
        many => format!("{many} exposures"),
    };
    let place = if n.subject.is_empty() { "" } else { &n.place };
    let day = n.taken_at.as_deref().map(say::day).unwrap_or_default();
    let parts = [&exposure, &n.lens, &n.filter, shape, &twice, place, &day];
    let said: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
    said.join(", ")
}

fn page(sheet: &Sheet, form: &Form, help: Option<&Help>) -> Markup {
    let label = &sheet.view.roll.label;
    let start = &sheet.start;
    let of = sheet.of.as_ref();
    let action = match of {
        Some((v, _)) => format!("/roll/{label}/note/{}", v.note.id),
        None => format!("/roll/{label}/note"),
    };
    let repeat = start.last.as_ref().filter(|_| of.is_none());
    html! {
        h1 {
            @match of {
                Some((v, _)) => { "Frame " (v.note.frame) },
                None => "Note a frame",
            }
        }
        p {
            a.tap href={ "/roll/" (label) } { (label) } ", " (sheet.view.stock.name)
            @if let Some(stay) = sheet.field.now_in() { ", in " (stay.camera.name) }
            @if let Some(ei) = sheet.field.ei { ", EI " (say::speed(ei)) }
        }
        (form.refusals())
        @if let Some((v, _)) = of {
            @if !v.versions.is_empty() {
                div.note { p { "This note was written twice, and the two differ. " a href={ (action) "/settle" } { "Settle it" } "." } }
            }
        }
        div.note data-away hidden {}
        form.form method="post" action=(action) data-note=(label) {
            (form.request_field())
            input type="hidden" name="key" value=(form.text("key"));
            input type="hidden" name="base" value=(form.text("base"));
            @if let Some(last) = repeat {
                template data-last { (NoteDraft::repeated(last).as_base()) }
            }
            (form.field("frame", "Frame").loud().hint("As on the counter: 12, 12A.").text())
            (form.field("subject", "What is on it").text())
            div.pair.two-up {
                (form.field("aperture", "Aperture, f/").hint("5.6, 8").number())
                (form.field("shutter", "Time").hint("1/125, 2, 1:30").text())
            }
            (form.field("lens", "Lens").offering(&start.lenses).text())
            (form.field("place", "Place").offering(&start.places).text())
            // Before the other buttons: the return key presses the first one.
            div.thumb {
                @if of.is_none() { button name="then" value="next" { "Keep, next one" } }
                @else { button.main { "Keep the changes" } }
                @if of.is_none() { button.main { "Keep" } }
            }
            @if let Some(last) = repeat {
                p.hint { "What stays empty is as in frame " (last.frame) ":" }
                button name="same" value="yes" { "Same as frame " (last.frame) }
            }
            details open[form.is_faulty() || help.is_some() || of.is_some()] {
                summary { "Filter, meter, help with the exposure" }
                (form.field("filter", "Filter").offering(&start.filters).text())
                div.pair.two-up {
                    (form.field("meter_ev", "Meter reads").unit("EV").text())
                    (form.field("ei", "EI").hint("Where it is not the roll's.").number())
                }
                (form.field("factor", "The filter takes").hint("A factor such as ×2, or 1 2/3 stops. Only for the sum below.").text())
                button formmethod="get" formaction=(action) formnovalidate name="help" value="yes" { "Work it out" }
                @if let Some(help) = help { (helped(help)) }
            }
            details open[form.is_faulty() || of.is_some()] {
                summary { "When, shape, usable, note" }
                (form.field("taken_at", "Taken").moment())
                div.pair {
                    (form.field("shape", "Shape").select(&[("", "full frame"), ("half", "half frame"), ("panoramic", "panoramic")]))
                    (form.field("exposures", "Exposures on it").hint("1 when empty, 2 for a double exposure.").whole())
                }
                (form.field("usable", "Can it be used?").select(&[("", "not looked at"), ("yes", "yes"), ("no", "no")]))
                (form.field("note", "Note").text())
            }
        }
        div data-unsent=(label) hidden {}
        @if let Some((v, found)) = of {
            @if let Some(at) = &v.lies {
                h2 { "Where it lies" }
                p { strong { (lies_in_words(at)) } "." }
                (lies("lies", found))
            }
            div.acts {
                form method="post" action={ (action) "/remove" } {
                    (Form::default().request_field())
                    button.quiet { "Take this note away" }
                }
            }
        }
    }
}

fn helped(help: &Help) -> Markup {
    html! {
        div.light-work id="help" role="status" {
            @if let Some(ev) = help.ev { p { "Exposure value " strong { (format!("{ev:.1}")) } @if help.stops.is_some() { ", before the filter" } "." } }
            @if let Some(stops) = help.stops { p { "The filter takes " strong { (thirds(stops)) } "." } }
            @if let Some((exact, listed)) = help.behind {
                p { "A meter that does not see through it is set to EI " strong { (say::speed(listed)) } " (exactly " (format!("{exact:.0}")) ")." }
            }
            @if let Some(t) = help.asked_s { p { "Time to give: " strong { (dial(t)) } "." } }
            @if !help.equivalents.is_empty() {
                table {
                    caption.visually-hidden { "The same exposure" }
                    thead { tr { th scope="col" { "f/" } th scope="col" { "Time" } } }
                    tbody { @for p in &help.equivalents { tr { td { (p.aperture.nominal) } td { (shutter_name(p.shutter)) } } } }
                }
            }
            p.hint { "Marks by third stops, as lens and dial have them. Longer than a second, film needs more: " a href="/wet/light" { "long exposures" } "." }
        }
    }
}

/// Stops in the thirds of a dial.
fn thirds(stops: f64) -> String {
    let thirds = (3.0 * stops).round() as i64;
    let part = ["", " 1/3", " 2/3"][thirds.rem_euclid(3) as usize];
    let whole = match (thirds / 3, part) {
        (0, part) if !part.is_empty() => String::new(),
        (n, _) => n.to_string(),
    };
    let unit = if thirds == 3 { "stop" } else { "stops" };
    format!("{whole}{part} {unit}").trim_start().to_owned()
}

/// A time as a dial would have it.
fn dial(s: f64) -> String {
    if s < 0.3 {
        format!("1/{:.0} s", 1.0 / s)
    } else if s < 10.0 {
        format!("{} s", say::speed((s * 10.0).round() / 10.0))
    } else {
        format!("{s:.0} s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stops_and_times_as_a_dial_has_them() {
        for (stops, told) in [
            (1.0, "1 stop"),
            (1.67, "1 2/3 stops"),
            (0.33, "1/3 stops"),
            (0.0, "0 stops"),
            (2.0, "2 stops"),
        ] {
            assert_eq!(thirds(stops), told);
        }
        assert_eq!(
            [dial(1.0 / 64.0), dial(0.5), dial(2.0), dial(64.2)],
            ["1/64 s", "0.5 s", "2 s", "64 s"]
        );
    }
}
