//! Winding tickets: the queue, one ticket at the loader, and what really happened.

use super::{main_act, wedge};
use crate::service::queue::{TicketDraft, TicketView};
use crate::service::settings::Settings;
use crate::service::shelf::Shelf;
use crate::service::winding::WindDraft;
use crate::service::{Failure, Fault, Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::drawing::{self, Anatomy, Dial};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::film::{Light, PERFORATIONS_PER_CLICK};
use spoolwright_core::shelf::{LoaderKind, TicketId, TicketState};
use spoolwright_core::ticket::{Part, Stop};
use spoolwright_core::wedge::record::WedgeTest;
use spoolwright_core::{Error, bounds};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/queue", get(queue))
        .route("/tickets", post(add))
        .route("/tickets/new", get(blank))
        .route("/tickets/{id}", get(show).post(wound))
        .route("/tickets/{id}/drop", post(drop_it))
}

async fn queue(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let queue = app.ask(Service::queue).await?;
    app.show(
        Page::new(Way::Plan, "Queue").sheet("Queue"),
        &asked,
        queue_page(&queue),
    )
    .await
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct From {
    can: String,
}

async fn blank(State(app): State<App>, Query(from): Query<From>) -> Answer {
    let shelf = app.ask(Service::shelf).await?;
    let light = shelf.settings.light().word();
    let form = Form::fresh([("can", from.can), ("light", light.to_owned())]);
    app.show(new_sheet(), &Asked::default(), new_page(&form, &shelf))
        .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &TicketDraft, r| s.add_ticket(d, r))
        .await?
    {
        Ok(made) => {
            let next = made
                .value
                .map_or_else(|| "/queue".to_owned(), |id| format!("/tickets/{id}"));
            Ok(go_on(&next, made.entry))
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let shelf = app.ask(Service::shelf).await?;
            form.answer(new_sheet().show(new_page(&form, &shelf)))
        }
    }
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let around = app.ask(move |s| around(s, id)).await?;
    app.show(
        sheet(&around.ticket),
        &asked,
        page(&around, &Form::default()),
    )
    .await
}

/// A ticket with what its page needs around it.
struct Around {
    ticket: TicketView,
    settings: Settings,
    test: Option<WedgeTest>,
}

fn around(s: &Service, id: i64) -> Outcome<Around> {
    Ok(Around {
        ticket: s.ticket(TicketId(id))?,
        settings: s.settings()?,
        test: s.wedge_test_of_ticket(TicketId(id))?,
    })
}

async fn wound(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let otherwise = !form.text("ran_out").is_empty();
    let outcome = if otherwise && is_without_clicks(&form) {
        Err(without_clicks(
            "the clicks it stopped at",
            "Enter the clicks counted. If it went as planned, press “Wound it”.",
        ))
    } else {
        app.carry_out(&form, &[], move |s, d: &WindDraft, r| {
            s.wind(TicketId(id), d, r)
        })
        .await?
    };
    match outcome {
        Ok(made) => {
            let next = match made.value.and_then(|w| w.roll) {
                Some((_, label)) => format!("/roll/{label}"),
                None => "/queue".to_owned(),
            };
            Ok(go_on(&next, made.entry))
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let around = app.ask(move |s| around(s, id)).await?;
            form.answer(sheet(&around.ticket).show(page(&around, &form)))
        }
    }
}

/// Whether neither the clicks nor the dial's reading was typed.
pub(super) fn is_without_clicks(form: &Form) -> bool {
    form.text("clicks").is_empty() && form.text("dial").is_empty()
}

/// "It stopped there" says nothing without the click.
pub(super) fn without_clicks(what: &str, remedy: &str) -> Failure {
    Failure::Refused(vec![Fault {
        field: "clicks".to_owned(),
        error: Error::missing(
            what,
            format!("{} to {}", bounds::CLICKS.min, bounds::CLICKS.max),
            remedy,
        ),
    }])
}

async fn drop_it(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    app.press(&form, "/queue", move |s, r| s.drop_ticket(TicketId(id), r))
        .await
}

fn new_sheet() -> Page {
    Page::new(Way::Plan, "Wind a roll").sheet("New ticket")
}

fn sheet(t: &TicketView) -> Page {
    Page::new(Way::Plan, format!("Wind {}", t.label))
        .sheet(format!("Ticket {}", t.ticket.id))
        .script("ticks.js")
        .script("frames.js")
}

fn queue_page(queue: &[TicketView]) -> Markup {
    html! {
        h1 { "Queue" }
        @if queue.is_empty() {
            p { "Nothing waits at the loader. " a href="/plan" { "Make a plan" } " from your wants, or wind a single roll." }
        } @else {
            p.soft { (say::count(queue.len() as u64, "roll", "rolls")) " to wind, first things first." }
        }
        ul.rows { @for t in queue { li { (row(t)) } } }
        @match queue.first() {
            Some(first) => div.thumb {
                a.btn href="/print/tickets" { "Print tickets" }
                a.btn.main href={ "/tickets/" (first.ticket.id) } { "Wind " (first.label) }
            },
            None => div.thumb { a.btn.main href="/tickets/new" { "Wind a single roll" } },
        }
    }
}

/// One ticket in a list.
pub(crate) fn row(t: &TicketView) -> Markup {
    html! {
        a.row href={ "/tickets/" (t.ticket.id) } {
            span.what {
                span.name { (t.label) " " (t.stock.name) }
                span.more {
                    (say::count(t.ticket.frames, "frame", "frames"))
                    @if let Some(want) = &t.want { " for " (want) } @else if !t.ticket.reason.is_empty() { ", " (t.ticket.reason) }
                }
            }
            span.much { b { (t.sheet.clicks) } "clicks" }
        }
    }
}

fn new_page(form: &Form, shelf: &Shelf) -> Markup {
    let cans: Vec<_> = shelf
        .open_cans()
        .map(|c| {
            (
                c.can.id.to_string(),
                format!(
                    "{}, {}: {}",
                    c.can.letters,
                    c.stock.name,
                    super::cans::list::surest(c)
                ),
            )
        })
        .collect();
    html! {
        h1 { "Wind a roll" }
        (form.refusals())
        form.form method="post" action="/tickets" {
            (form.request_field())
            (form.field("can", "From the can").select(&cans))
            (form.field("frames", "Frames").unit("frames").loud().needed().whole())
            (form.field("light", "Wound in").radios(&[
                ("room", "room light", "the tail at the spool is struck"), ("dark", "total darkness", "nothing is struck"),
            ]))
            details open[form.is_faulty()] {
                summary { "Frame size, EI, what for" }
                (form.field("advance_perforations", "Frame size").select(&super::wants::FRAME_SIZES))
                (form.field("ei", "Speed on the label").unit("EI").hint("The stock's own when empty.").number())
                (form.field("reason", "What for").text())
            }
            (main_act("Make the ticket"))
        }
    }
}

fn page(around: &Around, form: &Form) -> Markup {
    let (t, settings) = (&around.ticket, &around.settings);
    let waiting = t.ticket.state == TicketState::Queued;
    html! {
        h1 { (t.label) }
        p {
            strong { (t.stock.name) } " from can " a href={ "/cans/" (t.ticket.can) } { (t.can) } ", "
            (say::count(t.ticket.frames, "frame", "frames"))
            @if let Some(ei) = t.ei { ", EI " (say::speed(ei)) }
            @if let Some(want) = &t.want { ", for " (want) }
            @if !t.camera.is_empty() { ", in the " (t.camera) }
            "."
        }
        @if let Some(roll) = &t.roll { p { span.stamp { "wound" } " as " a href={ "/roll/" (roll.label) } { (roll.label) } "." } }
        @if t.ticket.state == TicketState::Dropped { p { span.stamp.past { "dropped" } } }
        @if let Some(test) = &around.test { (wedge::on_ticket(test, t.ticket.state)) }
        @if let Some(unrecorded) = &t.unrecorded { div.note { p { (unrecorded) } } }
        @if !waiting { (form.refusals()) }
        div.two {
            div { (loud(t)) (where_to_stop(t)) }
            div {
                figure {
                    (drawing::anatomy(&format!("anatomy-{}", t.ticket.id), to_draw(t)))
                    figcaption { (struck(t)) }
                }
                dl.fields {
                    div { dt { "Leader" } dd { (t.sheet.leader_clicks) " clicks" } }
                    div { dt { "Tail" } dd { (t.sheet.tail_clicks) " clicks" } }
                    div { dt { "Frames" } dd { (t.sheet.frame_clicks) " clicks" } }
                    div { dt { "Drawn from the can" } dd { (settings.length(t.sheet.drawn_mm.mean / 1e3)) } }
                }
                @if waiting && t.chance < super::cans::list::SURE {
                    div.note { p { (format!("The can still holds this roll with a chance of {:.0} %. Wind with a light hand, and if it runs out say so below.", t.chance * 100.0)) } }
                }
                @if !t.sheet.caveats.is_empty() { div.note { @for c in &t.sheet.caveats { p { (c.text) } } } }
                @if !t.ticket.reason.is_empty() { p.soft { (t.ticket.reason) } }
            }
        }
        @if waiting { (light_and_dark(t)) (checklist(t)) (what_happened(t, form)) }
    }
}

fn loud(t: &TicketView) -> Markup {
    html! {
        @match t.sheet.stop {
            Stop::Dial { .. } => p.loud { span.label { "Wind" } span.value { (t.sheet.clicks) span.unit { " clicks" } } },
            Stop::Crank { turns, .. } => p.loud {
                span.label { "Turn" } span.value { (drawing::turns_in_words(quarters(turns))) span.unit { " turns" } }
            },
        }
    }
}

fn quarters(turns: f64) -> u32 {
    (turns * 4.0).round().max(0.0) as u32
}

fn where_to_stop(t: &TicketView) -> Markup {
    let id = format!("stop-{}", t.ticket.id);
    html! {
        figure {
            @match t.sheet.stop {
                Stop::Dial { reading, rounds } => {
                    (drawing::dial(&id, Dial { start: i64::from(reading) - i64::from(t.sheet.clicks), stop: i64::from(reading) }))
                    @if rounds > 0 { figcaption { "The dial passes its highest figure " (say::count(rounds, "time", "times")) " on the way." } }
                }
                Stop::Crank { turns, .. } => (drawing::crank(&id, quarters(turns))),
            }
        }
    }
}

fn to_draw(t: &TicketView) -> Anatomy {
    let length = |part: Part| {
        t.sheet
            .anatomy
            .iter()
            .filter(|s| s.part == part)
            .map(|s| s.end.to_mm() - s.start.to_mm())
            .sum::<f64>()
    };
    Anatomy {
        taped_mm: length(Part::TapedEnd),
        tail_mm: length(Part::Tail),
        tail_struck: t.ticket.light == Light::Room,
        frames: t.ticket.frames,
        advance_mm: length(Part::Frames) / f64::from(t.ticket.frames.max(1)),
        leader_mm: length(Part::Leader),
    }
}

fn struck(t: &TicketView) -> String {
    match t.ticket.light {
        Light::Room => format!(
            "The hatched tail sees light when the loader is opened; {} allowed for it. Frame 1 is shot first and lies outermost.",
            say::count(t.sheet.tail_clicks, "click is", "clicks are")
        ),
        Light::Dark => {
            "Wound in the dark, nothing is struck. Frame 1 is shot first and lies outermost."
                .to_owned()
        }
    }
}

fn light_and_dark(t: &TicketView) -> Markup {
    html! {
        h2 { "Light and dark" }
        div.two {
            div.dark-work {
                h3 { "In total darkness" }
                @match t.ticket.light {
                    Light::Room => p { "Only moving film from a can into the loader. No safelight, no screen, no watch that glows. If film is in the loader already, nothing on this ticket needs the dark." },
                    Light::Dark => p { "Everything from opening the loader to closing the cassette. Learn the number by heart, then put this screen away: no safelight, no phone, no watch that glows." },
                }
            }
            div.light-work {
                h3 { "May be light" }
                @match t.ticket.light {
                    Light::Room => p { "Taping, closing, winding and cutting, with the loader's lid shut, and its light trap shut whenever the lid is open. Not in the sun." },
                    Light::Dark => p { "Laying out cassette, spool, tape and scissors before, and labelling after." },
                }
            }
        }
    }
}

/// The steps at the loader, each with whether it is dark work; the printed ticket has the same.
fn steps(t: &TicketView) -> Vec<(bool, String)> {
    let wind = match t.sheet.stop {
        Stop::Dial { reading, .. } => {
            let start = reading - t.sheet.clicks as i32;
            format!("Dial at {start}, light trap open: wind {} clicks, counting along, until it reads {reading}.", t.sheet.clicks)
                .replace(" -", " −")
        }
        Stop::Crank { turns, .. } => {
            format!(
                "Light trap open: turn the crank {} times.",
                drawing::turns_in_words(quarters(turns))
            )
        }
    };
    let words = |dark: bool, words: &str| (dark, words.to_owned());
    let clean = words(false, "Cassette empty, its felt clean, its number noted.");
    let label = (false, format!("Label it {}.", t.label));
    match t.ticket.light {
        Light::Room => vec![
            clean,
            words(false, "Tape the end to the spool, square, on both sides."),
            words(false, "Close the cassette, then the loader."),
            (false, wind),
            words(false, "Shut the light trap, open the loader, cut the film."),
            words(false, "Trim the leader's tongue."),
            label,
        ],
        Light::Dark => vec![
            clean,
            words(false, "All within reach, then lights out."),
            words(
                true,
                "Tape the end to the spool; close the cassette, then the loader.",
            ),
            (true, wind),
            words(true, "Shut the light trap, open the loader, cut the film."),
            words(false, "Lights on; trim the leader's tongue."),
            label,
        ],
    }
}

fn checklist(t: &TicketView) -> Markup {
    html! {
        h2 { "At the loader" }
        // Another store served at this address has tickets of the same numbers: the roll is named as well.
        ul.checks data-ticks={ "ticket-" (t.ticket.id) "-" (t.label) "-" (t.sheet.clicks) } {
            @for (i, (dark, words)) in steps(t).into_iter().enumerate() {
                li {
                    label {
                        input type="checkbox" value=(i);
                        span { (words) }
                        @if dark { " " span.in-dark { "dark" } }
                    }
                }
            }
        }
    }
}

/// Where the loader's dial stands before the first click; none for a crank.
pub(super) fn dial_zero(kind: Option<LoaderKind>) -> Option<i32> {
    match kind? {
        LoaderKind::Counter { dial_zero } => Some(dial_zero),
        LoaderKind::Crank { .. } => None,
    }
}

/// What the script needs to tell the frames: the dial's start, clicks of both ends, perforations a frame
/// and a click.
pub(super) fn frames_of(dial_zero: Option<i32>, ends: u32, advance: u32) -> String {
    let zero = dial_zero.unwrap_or(0);
    format!("{zero} {ends} {advance} {PERFORATIONS_PER_CLICK}")
}

/// The clicks counted, or what a dial that does not start at 0 shows.
pub(super) fn stopped_at(form: &Form, words: &str, dial_zero: Option<i32>) -> Markup {
    html! {
        @match dial_zero.filter(|zero| *zero != 0) {
            Some(zero) => div.pair {
                (form.field("dial", "The dial shows").hint(&format!("It starts at {zero}.").replace(" -", " −")).text())
                (form.field("clicks", "or clicks counted").unit("clicks").hint("One of the two is enough.").number())
            },
            None => (form.field("clicks", words).unit("clicks").hint("Clicks counted from the start.").number()),
        }
        output.hint {}
    }
}

fn what_happened(t: &TicketView, form: &Form) -> Markup {
    let mut cassettes = vec![(String::new(), "no number, or not in the list".to_owned())];
    cassettes.extend(
        t.cassettes
            .iter()
            .map(|c| (c.label.clone(), format!("cassette {}", c.label))),
    );
    let first = t
        .cassettes
        .first()
        .map(|c| c.label.clone())
        .unwrap_or_default();
    let form = if form.text("request").is_empty() {
        form.clone().with("cassette", first)
    } else {
        form.clone()
    };
    let dial_zero = dial_zero(t.loader.as_ref().map(|l| l.loader.kind));
    let ends = t.ticket.leader_clicks + t.ticket.tail_clicks;
    html! {
        h2 { "When it is wound" }
        (form.refusals())
        form.form method="post" action={ "/tickets/" (t.ticket.id) } data-frames=(frames_of(dial_zero, ends, t.ticket.advance_perforations)) {
            (form.request_field())
            (form.field("cassette", "Into which cassette").select(&cassettes))
            details open[form.is_faulty()] {
                summary { "It went otherwise" }
                (stopped_at(&form, "It stopped at", dial_zero))
                (form.sure())
                div.acts {
                    button name="ran_out" value="no" { "Stopped there" }
                    button name="ran_out" value="yes" { "The can ran out there" }
                }
                (form.field("note", "Note").text())
            }
            div.thumb { button.main { "Wound it" } }
        }
        div.acts { form method="post" action={ "/tickets/" (t.ticket.id) "/drop" } { (Form::default().request_field()) button.quiet { "Drop this ticket" } } }
    }
}
