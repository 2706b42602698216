//! Find a frame again: what is sought, what was found, and the page it lies on with its place marked.

use super::lies;
use super::notes::in_short;
use crate::service::field::find::{FindDraft, FoundFrame, FoundPage, lies_in_words};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{RawQuery, State};
use axum::routing::get;
use maud::{Markup, html};

pub(super) fn routes() -> Router<App> {
    Router::new().route("/find", get(show))
}

/// Names to choose from.
struct Choices {
    cameras: Vec<(String, String)>,
    stocks: Vec<(String, String)>,
}

fn choices(s: &Service) -> Outcome<Choices> {
    let any = || vec![(String::new(), "any".to_owned())];
    let named = |name: String| (name.clone(), name);
    let (mut cameras, mut stocks) = (any(), any());
    cameras.extend(s.cameras()?.into_iter().map(|c| named(c.camera.name)));
    stocks.extend(s.stocks()?.into_iter().map(|s| named(s.name)));
    Ok(Choices { cameras, stocks })
}

async fn show(
    State(app): State<App>,
    RawQuery(query): RawQuery,
    Query(asked): Query<Asked>,
) -> Answer {
    let form = Form::from_query(&query.unwrap_or_default());
    let draft: FindDraft = form.draft(&[]);
    let sought = draft.clone();
    let found = if draft.is_blank() {
        Ok(None)
    } else {
        app.look(move |s| s.find_frames(&sought)).await?.map(Some)
    };
    let (form, found) = match found {
        Ok(found) => (form, found),
        Err(failure) => (form.refused_by(failure)?, None),
    };
    let choices = app.ask(choices).await?;
    let sheet = Page::new(Way::Rolls, "Find a frame").sheet("Find");
    let body = page(&form, &draft, &choices, found.as_ref());
    if form.is_faulty() {
        return form.answer(sheet.show(body));
    }
    app.show(sheet, &asked, body).await
}

fn page(form: &Form, draft: &FindDraft, choices: &Choices, found: Option<&FoundPage>) -> Markup {
    let plain = FindDraft {
        words: draft.words.clone(),
        page: draft.page.clone(),
        ..FindDraft::default()
    };
    html! {
        h1 { "Find a frame" }
        (form.refusals())
        form.form method="get" action="/find" {
            (form.field("words", "Words").hint("Of the note, the roll or the stock, in any order: heron weir.").text())
            details open[form.is_faulty() || plain != *draft] {
                summary { "Days, camera, stock, subject, place" }
                div.pair {
                    (form.field("from", "From").date())
                    (form.field("to", "To").date())
                }
                div.pair {
                    (form.field("camera", "Camera").select(&choices.cameras))
                    (form.field("stock", "Stock").select(&choices.stocks))
                }
                div.pair {
                    (form.field("subject", "In the subject").text())
                    (form.field("place", "In the place").text())
                }
            }
            div.thumb { button.main { "Find" } }
        }
        @if let Some(found) = found { (results(found, draft)) }
    }
}

fn results(found: &FoundPage, draft: &FindDraft) -> Markup {
    html! {
        h2 id="found" { @if found.page > 1 { "Found, page " (found.page) } @else { "Found" } }
        @if found.frames.is_empty() { p { "Nothing that fits all of this. Try fewer words, or other days." } }
        ol.found {
            @for (i, f) in found.frames.iter().enumerate() { li { (row(f)) (place(f, i)) } }
        }
        @if found.more || found.page > 1 {
            form.acts method="get" action="/find#found" {
                @for (name, value) in [("words", &draft.words), ("subject", &draft.subject), ("place", &draft.place),
                    ("from", &draft.from), ("to", &draft.to), ("camera", &draft.camera), ("stock", &draft.stock)] {
                    @if !value.is_empty() { input type="hidden" name=(name) value=(value); }
                }
                @if found.page > 1 { button name="page" value=(found.page - 1) { "Before" } }
                @if found.more { button name="page" value=(found.page + 1) { "More" } }
            }
        }
    }
}

fn row(f: &FoundFrame) -> Markup {
    let roll = &f.hit.roll;
    html! {
        @match &f.hit.note {
            // A version that waits to be settled is found, too: it stands on the note's page.
            Some(n) => a.row href={ "/roll/" (roll.label) "/note/" (n.beside.unwrap_or(n.id)) } {
                span.what {
                    span.name { @if n.subject.is_empty() { (roll.label) ", frame " (n.frame) } @else { (n.subject) } }
                    span.more {
                        (roll.label) ", frame " (n.frame) ", " (f.stock)
                        @if let Some(camera) = &f.camera { ", " (camera) }
                        @let short = in_short(n);
                        @if !short.is_empty() { br; (short) }
                    }
                }
            },
            None => a.row href={ "/roll/" (roll.label) } {
                span.what {
                    span.name { "Roll " (roll.label) }
                    span.more { (f.stock) ", " (say::roll_state(roll.state)) @if !roll.note.is_empty() { ", " (roll.note) } }
                }
            },
        }
    }
}

/// Where it lies: in words, and drawn when one looks.
fn place(f: &FoundFrame, i: usize) -> Markup {
    html! {
        @match &f.lies {
            Some(at) => details open[i == 0] {
                summary { (lies_in_words(at)) }
                (lies(&format!("lies-{i}"), f))
            },
            None => p.soft { "Not filed in a binder yet." },
        }
    }
}
