//! Densities from a scan: a picture is chosen, corners are dragged over strip and wedge, every patch is outlined and
//! read, and what is read is kept as a strip.
//!
//! Choosing and dragging is a module of ours; the corners are fields of a plain form. The picture is held by the
//! program until the next one and never stored.

use super::{read, words};
use crate::service::wedge::{
    self as bench, Held, MOST_BYTES, Patch, ScanDraft, ScanView, TestView, WEDGES,
};
use crate::service::{Failure, Service};
use crate::web::app::{Answer, App, Asked, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::problem::Problem;
use axum::body::{Body, HttpBody};
use axum::extract::{Path, RawQuery, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect};
use maud::{Markup, html};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::{Channel, Way as Exposed};
use spoolwright_core::wedge::scan::{Flag, Quad};
use spoolwright_core::{Error, Kind};
use std::future::poll_fn;
use std::pin::Pin;
use std::sync::Arc;

/// What is dragged: field, what it is called, the letter of its corners, how its frame is drawn.
const QUADS: [(&str, &str, &str, &str); 3] = [
    ("strip", "Strip", "S", "long dashes"),
    ("wedge", "Wedge", "W", "dots"),
    ("border", "Clear border", "B", "dashes and dots"),
];
/// How patches that were read are drawn: class, words.
const PATCHES: [(&str, &str); 4] = [
    ("", "read"),
    ("dusty", "read, dust left out"),
    ("bad", "no density in it"),
    ("unused", "wedge step not used"),
];
/// Fields that are read and kept.
const FIELDS: [&str; 12] = [
    "time",
    "blank",
    "strip",
    "wedge",
    "wedge_is",
    "densities",
    "nominal",
    "wedge_sd",
    "border",
    "with_border",
    "linear",
    "inverted",
];
/// Caveats that put every density in doubt, with what stands above them.
const LOUD: [(&str, &str); 2] = [
    ("reference_uneven", "The wedge was not read as it should be"),
    (
        "reference_scale_doubtful",
        "The wedge's densities may be wrong by a factor",
    ),
];

pub(super) async fn show(
    State(app): State<App>,
    Path(id): Path<i64>,
    RawQuery(query): RawQuery,
) -> Answer {
    let form = Form::from_query(&query.unwrap_or_default());
    let view = app.ask(move |s| s.wedge_test(WedgeTestId(id))).await?;
    let Ok(number) = form.text("picture").parse::<u64>() else {
        return app
            .show(sheet(&view), &Asked::default(), choose(&view))
            .await;
    };
    let held = app.ask(move |s| s.held_picture(number)).await?;
    if form.text("strip").is_empty() {
        let form = Form::from_draft(&ScanDraft::first(&view.test, &held));
        let body = set(&view, &held, &form, None);
        return app.show(sheet(&view), &Asked::default(), body).await;
    }
    let draft: ScanDraft = form.draft(&[]);
    let of = Arc::clone(&held);
    match app
        .look(move |s| s.read_scan(WedgeTestId(id), &of, &draft))
        .await?
    {
        Ok(scan) => {
            let body = set(&view, &held, &form, Some(&scan));
            app.show(sheet(&view), &Asked::default(), body).await
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            form.answer(sheet(&view).show(set(&view, &held, &form, None)))
        }
    }
}

/// Takes a picture in, and leads to the page where its corners are set.
///
/// The picture before makes room first, and one comes in at a time: there is never more than one in memory.
pub(super) async fn take_in(
    State(app): State<App>,
    Path(id): Path<i64>,
    RawQuery(query): RawQuery,
    headers: HeaderMap,
    body: Body,
) -> Answer {
    let name = Form::from_query(&query.unwrap_or_default())
        .text("name")
        .to_owned();
    let said = headers.get(header::CONTENT_LENGTH);
    let said = said.and_then(|v| v.to_str().ok()?.parse().ok());
    if let Some(bytes) = said.filter(|bytes| *bytes > MOST_BYTES as u64) {
        return Err(bench::too_large(bytes).into());
    }
    let _alone = app.ask(|s| Ok(s.make_room()?)).await?;
    let bytes = all_of(body, said.unwrap_or(0) as usize).await?;
    let held = app
        .look(move |s: &Service| s.hold_picture(&name, bytes))
        .await?;
    // A file that is no picture is no missing page.
    let number =
        held.map_err(
            |failure| match failure.faults().first().map(|f| f.error.clone()) {
                Some(error) if error.kind == Kind::Unknown => {
                    Problem::new(StatusCode::UNPROCESSABLE_ENTITY, error)
                }
                _ => failure.into(),
            },
        )?;
    Ok(Redirect::to(&format!("/wedge/{id}/scan?picture={number}")).into_response())
}

/// A file as it comes in, in one piece of memory that is as large as its length was said to be.
async fn all_of(mut body: Body, length: usize) -> Result<Vec<u8>, Problem> {
    let mut bytes = Vec::with_capacity(length);
    while let Some(frame) = poll_fn(|cx| Pin::new(&mut body).poll_frame(cx)).await {
        let frame = frame.map_err(|e| {
            Error::new(
                Kind::Unknown,
                "the picture's file",
                format!("{} bytes, then: {e}", bytes.len()),
                "the whole file",
                "Choose the file again.",
            )
        })?;
        if let Ok(data) = frame.into_data() {
            if MOST_BYTES < bytes.len() + data.len() {
                return Err(bench::too_large((bytes.len() + data.len()) as u64).into());
            }
            bytes.extend_from_slice(&data);
        }
    }
    Ok(bytes)
}

pub(super) async fn copy(State(app): State<App>, Path(number): Path<u64>) -> Answer {
    let held = app.ask(move |s| s.held_picture(number)).await?;
    let kind = [(header::CONTENT_TYPE, "image/png")];
    Ok((kind, held.preview.png.clone()).into_response())
}

/// Keeps what is read as a strip of the test.
pub(super) async fn keep(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let number = form.text("picture").parse::<u64>().unwrap_or(0);
    let draft: ScanDraft = form.draft(&[]);
    let request = form.request_key();
    let kept = app
        .look(move |s| {
            let held = s.held_picture(number)?;
            let test = s.wedge_test(WedgeTestId(id))?.test;
            let readings = s
                .read_scan(test.id, &held, &draft)?
                .readings(&test, &held.name);
            s.put_readings(test.id, &readings, request.as_deref())
        })
        .await?;
    match kept {
        Ok(made) => Ok(go_on(&format!("/wedge/{id}"), made.entry)),
        Err(failure) => refused(&app, id, number, form, failure).await,
    }
}

async fn refused(app: &App, id: i64, number: u64, form: Form, failure: Failure) -> Answer {
    let form = form.refused_by(failure)?;
    let (view, held) = app
        .ask(move |s| Ok((s.wedge_test(WedgeTestId(id))?, s.held_picture(number)?)))
        .await?;
    form.answer(sheet(&view).show(set(&view, &held, &form, None)))
}

fn sheet(view: &TestView) -> Page {
    Page::new(Way::More, format!("Scan for {}", view.test.name))
        .sheet("Densities")
        .script("scan.js")
}

fn head(view: &TestView) -> Markup {
    html! {
        h1 { "Densities from a scan" }
        p { a href={ "/wedge/" (view.test.id) } { (view.test.name) } }
        (read::ways(view.test.id, "scan"))
    }
}

fn choose(view: &TestView) -> Markup {
    html! {
        (head(view))
        p { "Lay the developed strip beside a wedge of known densities, both emulsion the same way, and scan or photograph them together by transmitted light, with all automatic corrections off." }
        ul {
            li { "A 16-bit TIFF or PNG is best. A JPEG is read, with a caveat." }
            li { "Nothing in the picture may be full white or full black." }
            li { "Without a wedge in the picture, densities can be read only from 16-bit values that you know to be proportional to light." }
        }
        form.form data-picture={ "/wedge/" (view.test.id) "/scan/picture" } data-most=(MOST_BYTES) {
            div.field {
                label for="picture" { "The picture" }
                p.hint id="picture-hint" { "TIFF, PNG or JPEG, at most " (MOST_BYTES / 1024 / 1024) " MB. It stays on this machine, and is forgotten with the next one." }
                input id="picture" type="file" accept=".tif,.tiff,.png,.jpg,.jpeg,image/tiff,image/png,image/jpeg" aria-describedby="picture-hint";
            }
            p.hint role="status" data-said {}
        }
        noscript { div.note { p { "Choosing a picture and dragging corners needs JavaScript. Without it, " code { "spoolwright wedge scan" } " reads the same picture at the terminal." } } }
    }
}

fn set(view: &TestView, held: &Held, form: &Form, scan: Option<&ScanView>) -> Markup {
    let shape = held.facts().shape;
    let id = view.test.id;
    let times: Vec<(String, String)> = view
        .test
        .planned_min
        .iter()
        .map(|t| (t.to_string(), words::minutes(*t)))
        .collect();
    html! {
        (head(view))
        p.soft { (held.name) ": " (shape.width) " × " (shape.height) " pixels, " (if shape.sixteen { "16" } else { "8" }) " bits, "
            (if shape.channels == 1 { "grey" } else { "colour" }) @if shape.lossy { ", JPEG" } ". "
            a href={ "/wedge/" (id) "/scan" } { "Another picture" } }
        (form.refusals())
        p { "Drag the corners: 1 and 4 to where the first patch begins, 2 and 3 to where the last one ends. Strip and wedge may lie turned or askew." }
        (picture(held, form, scan))
        (legend(form, scan.is_some()))
        form.form method="get" action={ "/wedge/" (id) "/scan#read" } data-corners {
            (common(held))
            div.pair {
                (form.field("time", "This strip was developed").select(&times))
                (form.field("blank", "Unexposed patch").select(&[("first", "first"), ("last", "last"), ("none", "none on it")]))
            }
            p.hint { "The strip then has " (view.test.steps.len()) " steps in the order of the test, the unexposed patch before or after them. Leave a spare blank outside the corners." }
            (form.field("wedge_is", "The wedge in the picture is").select(&wedges(view)))
            div data-when="stated" {
                (form.field("densities", "Densities of the wedge, as measured").hint("From its first step, at corners W1 and W4, to its last, apart by spaces. An error in their scale goes straight into every density: take them from the wedge’s own sheet.").text())
            }
            div data-when="nominal" {
                (form.field("nominal", "Nominal steps").hint("Density of the first step, difference to the next, number of steps: 0.05 0.15 21 is 21 steps of 0.15. No step was measured, and what is read carries that caveat.").text())
            }
            (form.field("with_border", "A clear border").hint("even and clear, along the strip: evens out the light").tick())
            details open[form.is_faulty()] {
                summary { "Corners in pixels, kind of picture" }
                @for (field, name, ..) in QUADS { (form.field(field, name).hint("Across and down for corners 1 to 4.").text()) }
                (form.field("wedge_sd", "How far one of the wedge’s densities may be off").hint("Standard deviation; 0.01 when empty, 0.02 if nominal.").number())
                (form.field("linear", "Its values are proportional to light").hint("needed without a wedge; with one, its densities are checked by it").tick())
                (form.field("inverted", "It was turned into a positive").hint("dark film is light in it").tick())
            }
            div.thumb { button.main[scan.is_none()] { (if scan.is_some() { "Read again" } else { "Read the strip" }) } }
        }
        @if let Some(scan) = scan { (readings(view, held, form, scan)) }
    }
}

/// What the wedge can be: the test's own only where it was exposed through one.
fn wedges(view: &TestView) -> Vec<(&'static str, &'static str)> {
    let own = view.test.way != Exposed::InCamera;
    WEDGES
        .into_iter()
        .filter(|(word, _)| own || *word != "test")
        .collect()
}

/// Which frame is which, told by letter and line and not by colour.
fn legend(form: &Form, read: bool) -> Markup {
    html! {
        ul.scan-key aria-label="What is drawn" {
            @for (field, name, letter, line) in QUADS {
                li data-key=(field) hidden[!shown(form, field)] {
                    svg viewBox="0 0 40 10" aria-hidden="true" { g class={ "quad " (field) } { line x1="1" y1="5" x2="39" y2="5" {} } }
                    span { b { (letter) "1 to " (letter) "4" } " " (name) ", " (line) }
                    @if field != "border" { " " button.link type="button" data-turn=(field) hidden { "Exchange its ends" } }
                }
            }
            @if read { @for (class, words) in PATCHES {
                li {
                    svg viewBox="0 0 40 10" aria-hidden="true" { g class="patches" { rect class=(class) x="2" y="1" width="36" height="8" {} } }
                    span { "Patch: " (words) }
                }
            } }
        }
    }
}

/// Whether a frame is drawn.
fn shown(form: &Form, field: &str) -> bool {
    match field {
        "border" => form.ticked("with_border"),
        "wedge" => form.text("wedge_is") != "none",
        _ => true,
    }
}

fn common(held: &Held) -> Markup {
    html! { input type="hidden" name="picture" value=(held.number); }
}

/// The copy of the picture with its quadrilaterals, and the patches once read.
fn picture(held: &Held, form: &Form, scan: Option<&ScanView>) -> Markup {
    let shape = held.facts().shape;
    let (w, h) = (shape.width, shape.height);
    let radius = f64::from(w.max(h)) / 27.0;
    html! {
        svg.scan role="group" aria-label="The picture, with the corners of strip and wedge" viewBox={ "0 0 " (w) " " (h) } data-scan {
            image href={ "/wedge/picture/" (held.number) } x="0" y="0" width=(w) height=(h) preserveAspectRatio="none" {}
            @if let Some((_, reading)) = scan.and_then(|s| s.layers.first()) {
                g class="patches" {
                    @for step in &reading.reference { polygon.unused[!step.used] points=(points(&step.outline)) {} }
                    @for patch in &reading.strip {
                        polygon.bad[patch.density.is_none()].dusty[patch.flags.contains(&Flag::Dusty)] points=(points(&patch.outline)) {}
                    }
                }
            }
            @for (field, name, letter, _) in QUADS {
                g class={ "quad " (field) } data-quad=(field) hidden[!shown(form, field)] {
                    polygon {}
                    @for i in 1..=4 {
                        g class="corner" data-corner=(i) aria-label={ (letter) (i) ": " (name) ", corner " (i) } {
                            circle r=(format!("{radius:.0}")) {}
                            text text-anchor="middle" dominant-baseline="central" font-size=(format!("{:.0}", radius)) { (letter) (i) }
                        }
                    }
                }
            }
        }
    }
}

fn points(quad: &Quad) -> String {
    let all = quad.0.map(|p| format!("{:.1},{:.1}", p.x, p.y));
    all.join(" ")
}

fn readings(view: &TestView, held: &Held, form: &Form, scan: &ScanView) -> Markup {
    let caveats = scan.caveats();
    let quiet = caveats
        .iter()
        .filter(|c| LOUD.iter().all(|(code, _)| *code != c.code));
    let quiet: Vec<Caveat> = quiet.map(|c| (*c).clone()).collect();
    html! {
        h2 id="read" { "What was read" }
        @for (code, heading) in LOUD {
            @if let Some(caveat) = caveats.iter().find(|c| c.code == code) {
                section.refused role="alert" { h3 { (heading) } p { (caveat.text) } }
            }
        }
        div.scroll tabindex="0" role="region" aria-label="Densities read" {
            table {
                thead { tr {
                    th scope="col" { "Patch" }
                    @for (channel, _) in &scan.layers {
                        th.right scope="col" { @if *channel == Channel::Visual { "Density ± sd" } @else { (words::channel(*channel)) " ± sd" } }
                    }
                    th scope="col" { "To know" }
                } }
                tbody {
                    @for (i, patch) in scan.patches.iter().enumerate() {
                        tr {
                            th scope="row" { @match patch { Patch::BaseFog => "base + fog", Patch::Step(k) => (words::step(&view.test, view.test.steps[*k])) } }
                            @for (_, reading) in &scan.layers {
                                td.right { @match reading.strip.get(i).and_then(|p| p.density) {
                                    Some(d) => (format!("{:.3} ± {:.3}", d.mean, d.sd)),
                                    None => "not read",
                                } }
                            }
                            td { (flags(scan, i)) }
                        }
                    }
                }
            }
        }
        (words::caveats(&quiet))
        @if let Some(range) = scan.layers.iter().find_map(|(_, r)| r.light_range) {
            p.soft { (format!("The light differed by {range:.3} in density over strip and wedge, and was evened out.")) }
        }
        form.form method="post" action={ "/wedge/" (view.test.id) "/scan" } {
            (Form::default().request_field())
            (common(held))
            @for field in FIELDS {
                input type="hidden" name=(field) value=(form.text(field));
            }
            div.thumb { button.main { "Keep this strip" } }
        }
    }
}

/// What must be known of a patch, in words.
fn flags(scan: &ScanView, i: usize) -> String {
    let mut all: Vec<&str> = Vec::new();
    for flag in scan
        .layers
        .iter()
        .filter_map(|(_, r)| r.strip.get(i))
        .flat_map(|p| &p.flags)
    {
        let word = match flag {
            Flag::Clipped => "clipped",
            Flag::Dusty => "dust left out",
            Flag::Uneven => "uneven",
            Flag::OutsideReference => "outside the wedge",
            Flag::TooDark => "drowned in noise",
        };
        if !all.contains(&word) {
            all.push(word);
        }
    }
    all.join(", ")
}
