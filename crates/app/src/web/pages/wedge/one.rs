//! One test: what to do next, its shot list, what its strips say, the target, its cards.

use super::target::{self, Aim};
use super::{curves, list, shots, speed, strips, words};
use crate::service::settings::Settings;
use crate::service::wedge::{Combined, Layer, TestView, material_of};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::problem::four_parts;
use crate::web::say;
use axum::extract::{Path, RawQuery, State};
use maud::{Markup, html};
use spoolwright_core::Error;
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::{Analysis, Material, SpeedKind};
use std::sync::Arc;

struct Sheet {
    view: TestView,
    layers: Arc<Vec<Layer>>,
    /// The three layers of a colour film taken together.
    colour: Option<Result<Combined, Error>>,
    /// What is aimed at, in black and white.
    aim: Option<Aim>,
    settings: Settings,
    /// Whether there is another test to compare with.
    others: bool,
}

fn sheet(s: &Service, id: i64, query: &str) -> Outcome<Sheet> {
    let view = s.wedge_test(WedgeTestId(id))?;
    let layers = s.wedge_layers(view.test.id)?;
    let aim = target::visual(&layers)
        .map(|a| Aim::of(query, a))
        .transpose()?;
    let others = s
        .wedge_tests()?
        .iter()
        .any(|t| t.test.id != view.test.id && !t.strips.is_empty());
    Ok(Sheet {
        colour: s.wedge_colour(view.test.id)?,
        view,
        layers,
        aim,
        settings: s.settings()?,
        others,
    })
}

pub(super) async fn show(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query = query.unwrap_or_default();
    let sheet = app.ask(move |s| sheet(s, id, &query)).await?;
    let page = Page::new(Way::More, &sheet.view.test.name)
        .sheet(format!("Test {id}"))
        .script("target.js");
    app.show(page, &asked, body(&sheet)).await
}

fn body(sheet: &Sheet) -> Markup {
    let view = &sheet.view;
    let t = &view.test;
    let read = !view.strips.is_empty();
    html! {
        h1 { (t.name) }
        p {
            @if t.closed { span.stamp.past { "put away" } } @else { span.stamp { (list::state(view)) } }
            " " a href={ "/stocks/" (view.stock.id) } { strong { (view.stock.name) } }
            @if let (Some(can), Some(letters)) = (t.can, &view.can) { " from can " a href={ "/cans/" (can) } { (letters) } }
        }
        @for remark in view.outdated.iter().chain(&view.remarks) { div.note { p { (remark) } } }
        @if read {
            (results(sheet))
            (strips::list(view))
            (cards(sheet))
            h2 { "How it was made" }
            (about(view, &sheet.settings))
            @if view.shots.is_some() { details { summary { "Shot list" } (shot_list(view)) } }
        } @else {
            (next(view))
            (about(view, &sheet.settings))
            @if view.shots.is_some() { (shot_list(view)) }
        }
        div.acts {
            a href={ "/wedge/" (t.id) "/edit" } { "Change the test" }
            @if read && sheet.others { a href={ "/wedge/compare?first=" (t.id) } { "Compare it" } }
            form method="post" action={ "/wedge/" (t.id) "/close" } {
                (Form::default().request_field())
                input type="hidden" name="closed" value=(if t.closed { "no" } else { "yes" });
                button.quiet { (if t.closed { "Take out again" } else { "Put away" }) }
            }
        }
        @if !read {
            div.thumb {
                a.btn href={ "/wedge/" (t.id) "/table" } { "Paste a table" }
                a.btn.main href={ "/wedge/" (t.id) "/type" } { "Enter densities" }
            }
        }
    }
}

/// The one thing to do now.
fn next(view: &TestView) -> Markup {
    html! {
        div.note {
            p {
                @match (&view.roll, &view.ticket) {
                    (Some(roll), _) => {
                        "Its roll is " a href={ "/roll/" (roll.roll.label) } { (roll.roll.label) } ", " (say::roll_state(roll.roll.state)) "."
                    },
                    (None, Some(ticket)) => {
                        "Next: " a href={ "/tickets/" (ticket.id) } { "wind its roll of " (say::count(ticket.frames, "frame", "frames")) } ", then shoot it by the list below."
                    },
                    (None, None) => @match &view.shots {
                        Some(list) => { "Load " (say::count(list.frames(), "frame", "frames")) " of the stock, and shoot them by the list below." },
                        None => "Expose a strip through the wedge for each developing time, all alike; leave a part of each unexposed for base + fog.",
                    },
                }
            }
        }
    }
}

fn about(view: &TestView, settings: &Settings) -> Markup {
    let t = &view.test;
    let bath = words::bath(
        settings,
        (&t.developer, &t.dilution),
        t.temperature_c,
        &t.agitation,
    );
    let times: Vec<String> = t.planned_min.iter().map(|m| words::short(*m)).collect();
    html! {
        dl.fields {
            div { dt { "Exposed" } dd { (words::way(t.way)) } }
            div { dt { "Material" } dd { (words::material(material_of(view.stock.process))) } }
            @if let Some(ei) = t.meter_ei { div { dt { "Meter set to" } dd { "EI " (say::speed(ei)) } } }
            @if let Some(log_h) = t.log_h_at_zero_density { div { dt { "Exposure behind no density" } dd { (words::number(log_h, 3)) " log lx s" } } }
            div { dt { "Developing times" } dd { (times.join(", ")) " min" } }
            div { dt { "Steps" } dd { (t.steps.len()) } }
            div.wide { dt { "Bath" } dd {
                @if bath.is_empty() { a href={ "/wedge/" (t.id) "/edit" } { "not written down yet" } } @else { (bath) }
            } }
            @if !t.note.is_empty() { div.wide { dt { "Note" } dd { (t.note) } } }
        }
    }
}

fn shot_list(view: &TestView) -> Markup {
    html! {
        h2 id="shots" { "Shot list" }
        (shots::list(view))
    }
}

fn results(sheet: &Sheet) -> Markup {
    let id = sheet.view.test.id.0;
    html! {
        @for layer in sheet.layers.iter() { (curves::refused(layer)) }
        @if sheet.layers.is_empty() { div.note { p { "Every strip is left out. Take one in below." } } }
        @if let (Some(analysis), Some(aim)) = (target::visual(&sheet.layers), &sheet.aim) {
            @if target::can_aim(analysis) { (target::section(id, analysis, aim)) }
            @else { (no_target(id, analysis)) }
            h2 { "The curves" }
            div.two.wide-right {
                div { (curves::family(analysis)) }
                div { (curves::table(analysis, "")) (curves::model(analysis)) }
            }
        }
        @if let Some(colour) = &sheet.colour {
            h2 { "At what speed" }
            (together(&sheet.layers, colour))
            (own_ei(id))
            h2 { "The curves" }
            div.two { (curves::layers(&sheet.layers)) }
            @for layer in sheet.layers.iter() {
                @if let Ok(analysis) = &layer.analysis {
                    h3 { "Read in " (words::channel(layer.channel)) }
                    (curves::table(analysis, words::channel(layer.channel)))
                    (curves::model(analysis))
                }
            }
        }
    }
}

/// The speed that stands for a colour film, and what limits it.
pub(super) fn together(layers: &[Layer], colour: &Result<Combined, Error>) -> Markup {
    let kind = layers
        .iter()
        .find_map(|l| Some(l.analysis.as_ref().ok()?.speed_kind))
        .unwrap_or(SpeedKind::Relative);
    html! {
        @match colour {
            Ok(all) => {
                @for strip in &all.strips {
                    div.answer {
                        (speed::large(&strip.into(), kind))
                        (speed::one("Developed for", &words::short(strip.time_min), " min", &["as its process says"]))
                    }
                }
                p { "The three layers taken together." }
                (words::caveats(&all.caveats))
            },
            // A layer that could not be worked out says so above.
            Err(_) if layers.iter().any(|l| l.analysis.is_err()) => p { "Not all three layers could be worked out, so there is no one speed for the film." },
            Err(error) => (four_parts(error)),
        }
    }
}

fn own_ei(id: i64) -> Markup {
    html! {
        div.acts {
            a.btn href={ "/wedge/" (id) "/card" } { "Make a card with an EI of your own" }
            a.btn href={ "/wedge/" (id) "/sheet.pdf" } { "Print the result" }
        }
    }
}

/// Where no developing time can be told, and what is left to do.
fn no_target(id: i64, analysis: &Analysis) -> Markup {
    html! {
        h2 { "How long, at what speed" }
        @if analysis.material == Material::Negative {
            p { "A second strip, developed for another time, gives developing times." }
        } @else {
            p { "Reversal film is developed as its process says, so there is no contrast to aim at here." }
        }
        (own_ei(id))
    }
}

fn cards(sheet: &Sheet) -> Markup {
    let cards = &sheet.view.cards;
    html! {
        @if !cards.is_empty() {
            h2 { "Cards made from it" }
            ul.rows {
                @for c in cards {
                    li {
                        a.row href={ "/cards/" (c.id) } {
                            span.what {
                                span.name { "Card of " (say::day(&c.made_on)) }
                                @if let Some(t) = c.time_min { span.more { (words::number(t.value, 1)) " min (" (words::ends(t, 1)) ")" } }
                            }
                            @if let Some(ei) = c.rated() { span.much { b { (say::speed(ei)) } "EI" } }
                        }
                    }
                }
            }
        }
    }
}
