//! Beginning a test and changing it; what to know before an unmarked can is opened stands first.

use super::super::main_act;
use super::words;
use crate::service::shelf::Shelf;
use crate::service::wedge::{TestDraft, USUAL_TIMES, USUAL_WEDGE, usual_steps};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use axum::extract::{Path, State};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::Way as Exposed;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct From {
    /// Letters of a can.
    can: String,
    /// Number of a stock.
    stock: i64,
}

pub(super) async fn blank(State(app): State<App>, Query(from): Query<From>) -> Answer {
    let shelf = app.ask(Service::shelf).await?;
    let stock = shelf.stocks.iter().find(|s| s.id.0 == from.stock);
    let form = Form::fresh([
        ("can", from.can),
        ("stock", stock.map(|s| s.name.clone()).unwrap_or_default()),
        ("way", Exposed::InCamera.word().to_owned()),
    ]);
    app.show(new_sheet(), &Asked::default(), new_page(&form, &shelf))
        .await
}

pub(super) async fn begin(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &TestDraft, r| s.begin_test(d, r))
        .await?
    {
        Ok(made) => {
            let next = made
                .value
                .map_or_else(|| "/wedge".to_owned(), |id| format!("/wedge/{id}"));
            Ok(go_on(&next, made.entry))
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let shelf = app.ask(Service::shelf).await?;
            form.answer(new_sheet().show(new_page(&form, &shelf)))
        }
    }
}

fn present(s: &Service, id: i64) -> Outcome<TestDraft> {
    let view = s.wedge_test(WedgeTestId(id))?;
    Ok(TestDraft::shown(
        &view.test,
        &view.stock,
        view.can.as_deref(),
        &s.settings()?,
    ))
}

pub(super) async fn edit(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let (draft, shelf) = app.ask(move |s| Ok((present(s, id)?, s.shelf()?))).await?;
    let body = edit_page(&Form::from_record(&draft), id, &draft.name, &shelf);
    app.show(edit_sheet(&draft.name), &asked, body).await
}

pub(super) async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    match app
        .change(
            &form,
            &[],
            move |s| present(s, id),
            move |s, d: &TestDraft, r| s.change_test(WedgeTestId(id), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/wedge/{id}"), made.entry)),
        Err(failure) => {
            let (draft, shelf) = app.ask(move |s| Ok((present(s, id)?, s.shelf()?))).await?;
            let form = form.refused_by(failure)?.seeing(&draft);
            form.answer(edit_sheet(&draft.name).show(edit_page(&form, id, &draft.name, &shelf)))
        }
    }
}

pub(super) async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/wedge", move |s, r| {
        s.close_test(WedgeTestId(id), closed, r)
    })
    .await
}

fn new_sheet() -> Page {
    Page::new(Way::More, "Begin a test").sheet("New test")
}

fn edit_sheet(name: &str) -> Page {
    Page::new(Way::More, format!("Change {name}")).sheet("Test")
}

fn new_page(form: &Form, shelf: &Shelf) -> Markup {
    html! {
        h1 { "Begin a test" }
        (before_the_can_is_opened())
        (form.refusals())
        form.form method="post" action="/wedge" {
            (form.request_field())
            (fields(form, shelf))
            (main_act("Begin the test"))
        }
    }
}

/// What comes before everything else with film of unknown age.
fn before_the_can_is_opened() -> Markup {
    html! {
        section.note {
            h2 { "Before an unmarked can is opened" }
            p {
                "Film that may be older than 1952 may be on a nitrate base. It burns without air from outside, gives off poisonous gases, and can catch fire by itself when warm. "
                "SAFETY in the edge print means acetate or polyester. Without that print, or in doubt, do not wind, cut, warm or develop it: ask a film archive or your fire service."
            }
            p { "A sharp smell, stickiness, brown powder or a brittle edge: stop, keep it cool and ventilated, do not seal it up, and ask. Chemistry: follow the product's safety sheet and your local rules." }
        }
    }
}

fn edit_page(form: &Form, id: i64, name: &str, shelf: &Shelf) -> Markup {
    html! {
        h1 { (name) }
        (form.refusals())
        form.form method="post" action={ "/wedge/" (id) "/edit" } {
            (form.request_field())
            (fields(form, shelf))
            (main_act("Keep the changes"))
        }
    }
}

fn fields(form: &Form, shelf: &Shelf) -> Markup {
    let mut cans = vec![(String::new(), "none of the list".to_owned())];
    cans.extend(shelf.open_cans().map(|c| {
        (
            c.can.letters.clone(),
            format!("{}, {}", c.can.letters, c.stock.name),
        )
    }));
    // A can that has been closed since stays chosen.
    if !form.text("can").is_empty() && cans.iter().all(|c| c.0 != form.text("can")) {
        cans.push((form.text("can").to_owned(), form.text("can").to_owned()));
    }
    let mut stocks = vec![(String::new(), "the can's".to_owned())];
    stocks.extend(
        shelf
            .stocks
            .iter()
            .filter(|s| !s.closed || s.name == form.text("stock"))
            .map(|s| (s.name.clone(), s.name.clone())),
    );
    let list = |steps: Vec<f64>| {
        steps
            .iter()
            .map(|s| words::short(*s))
            .collect::<Vec<_>>()
            .join(" ")
    };
    let (count, by, first) = USUAL_WEDGE;
    let steps_hint = format!(
        "In camera: stops from the meter reading, {} when empty. Through a wedge: its densities in the order they lie on the strip, \
         {count} steps of {by} from {first} when empty; the figures on your wedge's own sheet are better.",
        list(usual_steps(Exposed::InCamera))
    );
    let times_hint = format!(
        "One strip for each, {} when empty. Three far apart tell most: about half the time you would guess, the time you would guess, and half as long again. Under 5 minutes a second too many shows.",
        list(USUAL_TIMES.to_vec())
    );
    html! {
        (form.field("can", "The can the film comes from").hint("In camera, its roll is queued at the loader together with the test.").select(&cans))
        (form.field("stock", "Stock").hint("Needed only without a can.").select(&stocks))
        (form.field("way", "How the strips are exposed").radios(&[
            ("in-camera", "in camera", "frames of an even wall, around the meter reading; needs nothing you do not have. Gives an EI for your meter and camera."),
            ("relative", "through a step wedge, exposure unknown", "contact print or flash on a wedge. Gives developing times, and speeds only against each other."),
            ("absolute", "through a step wedge, exposure known", "a sensitometer with known lux-seconds. Gives an ISO speed where the standard's contrast is met."),
        ]))
        (form.field("times", "Developing times").unit("min").hint(&times_hint).text())
        (form.field("meter_ei", "EI the meter is set to").unit("EI")
            .hint("In camera. Any round guess near the truth will do: what is found counts from it. Without it, the result is in stops only.").number())
        h2 { "Bath" }
        p.hint { "The result holds for this developer, dilution, temperature and agitation only. Write down what you use; it is printed on the card." }
        div.pair {
            (form.field("developer", "Developer").text())
            (form.field("dilution", "Dilution").hint("Such as 1+9.").text())
        }
        (form.field("temperature", "Temperature").unit(if shelf.settings.fahrenheit { "°F" } else { "°C" })
                .hint(if shelf.settings.fahrenheit { "68 °F is usual." } else { "20 °C is usual." }).text())
        (form.field("agitation", "Agitation").hint("Such as: first minute, then 10 s a minute.").text())
        details open[form.is_faulty() || form.text("way") == Exposed::Absolute.word()] {
            summary { "Steps, known exposure" }
            (form.field("steps", "Steps").hint(&steps_hint).text())
            (form.field("log_h_at_zero_density", "Exposure behind no density").unit("log lux-seconds")
                .hint("Only where the exposure is known: log10 of the lux-seconds that bare film would get.").text())
        }
        details open[form.is_faulty()] {
            summary { "Name and note" }
            (form.field("name", "Name of the test").hint("The stock and today's date when empty.").text())
            (form.field("note", "Note").lines())
        }
    }
}
