//! One can: what is left, drawn; what it can still wind; what would narrow the doubt; its story.

use super::form;
use super::list::to_draw;
use crate::service::shelf::{CanView, RollView, Shelf};
use crate::web::drawing::{self, Narrowing};
use crate::web::form::Form;
use crate::web::say;
use maud::{Markup, html};
use spoolwright_core::quantity::Z95;
use spoolwright_core::remaining::{MeasurementKind, NextMeasurement};
use spoolwright_core::shelf::{CanState, JournalEntry};

pub(super) fn page(
    shelf: &Shelf,
    c: &CanView,
    rolls: &[RollView],
    story: &[JournalEntry],
) -> Markup {
    let settings = &shelf.settings;
    let id = c.can.id;
    let open = c.can.state == CanState::Open;
    html! {
        h1 { (c.can.letters) ", " (c.stock.name) }
        p.soft {
            (settings.length(c.can.length_m.mean)) " when it came"
            @if let Some(loader) = &c.loader { ", wound with " (loader.name) }
            @if let Some(day) = &c.can.expires_on { ", dated " (say::day(day)) }
            "."
        }
        p { a href={ "/kept/can/" (id) } { @if let Some(place) = &c.place { "Lies in " (place.name) } @else { "Where does it lie?" } } }
        @if !open { p { span.stamp.past { (c.can.state.word()) } } }
        @if open { p.loud {
            span.label { "Left" }
            span.value { (settings.length(c.remaining.mean)) }
            span.interval {
                (say::interval(settings, c.remaining.lower95, c.remaining.upper95)) ", 95 % interval"
            }
        } }
        div.two {
            div {
                figure {
                    (drawing::can(&format!("can-{id}"), &c.can.letters, to_draw(c)))
                    figcaption {
                        (format!("Film {:.1} mm across, 95 % interval {:.1} to {:.1} mm; core {:.1} mm; full can {:.1} mm (dashed).",
                            c.diameters.now.0, c.diameters.now.1, c.diameters.now.2, c.diameters.core, c.diameters.full))
                    }
                }
            }
            div {
                @if open { dl.fields {
                    div {
                        dt { "In frames, without ends" }
                        dd { (format!("{:.0}", c.clicks.0)) span.interval { (format!("{:.0} to {:.0}", c.clicks.1, c.clicks.2)) } }
                    }
                    div {
                        dt { "In rolls of " (c.rolls.frames) }
                        dd { (format!("{:.1}", c.rolls.count.0)) span.interval { (format!("{:.1} to {:.1}", c.rolls.count.1, c.rolls.count.2)) } }
                    }
                    @if c.promised_m > 0.0 {
                        div.wide { dt { "Promised to waiting tickets" } dd { (settings.length(c.promised_m)) } }
                    }
                } }
                (caveats(c))
                @if open {
                    h2 { "Can it still wind…" }
                    figure { (drawing::chance(&format!("chance-{id}"), &chances(c))) }
                }
            }
        }
        @if open {
            div.two {
                section { (narrow(c, shelf)) }
                section {
                    h2 id="weigh" { "Weigh it" }
                    (form::weigh(&Form::default(), &c.can, false))
                }
            }
            h2 { "Or tell what else you know" }
            ul.rows {
                @for sheet in &form::SHEETS {
                    li {
                        a.row href={ "/cans/" (id) "/" (sheet.path) } {
                            span.what { span.name { (sheet.title) } span.more { (sheet.why) } }
                        }
                    }
                }
                @if c.can.length_m.mean > form::LONG_CAN_M {
                    li {
                        a.row href={ "/cans/" (id) "/break" } {
                            span.what { span.name { "Break it" } span.more { "Into lengths that fit a loader, by diameters felt in the dark." } }
                        }
                    }
                }
            }
        }
        (learnt(c, shelf))
        h2 { "Its rolls" }
        @if rolls.is_empty() { p.soft { "None wound yet." } }
        ul.rows {
            @for r in rolls {
                li { (super::super::rolls::row(r, false)) }
            }
        }
        h2 { "Its story" }
        (super::super::story(story))
        p { a href={ "/history?can=" (id) } { "The whole story" } }
        (tail(c))
    }
}

fn caveats(c: &CanView) -> Markup {
    html! {
        @if !c.caveats.is_empty() {
            div.note { @for caveat in &c.caveats { p { (caveat.text) } } }
        }
    }
}

fn chances(c: &CanView) -> Vec<drawing::Chance> {
    c.chances
        .iter()
        .map(|x| drawing::Chance {
            frames: x.frames,
            probability: x.probability,
        })
        .collect()
}

/// Measurements shown in the ladder; the others leave more doubt than these.
const LADDER: usize = 4;

/// The ladder of intervals and the one act that helps most.
fn narrow(c: &CanView, shelf: &Shelf) -> Markup {
    let settings = &shelf.settings;
    let words = |sd: f64| format!("± {}", settings.length(Z95 * sd));
    let row = |name: &str, sd: f64, best: bool| Narrowing {
        name: name.to_owned(),
        half_width: Z95 * sd,
        words: words(sd),
        best,
    };
    let mut rows = vec![row("now", c.remaining.sd, false)];
    rows.extend(
        c.next
            .iter()
            .take(LADDER)
            .enumerate()
            .map(|(i, m)| row(short(m.kind), m.sd_after_m, i == 0)),
    );
    let half = Z95 * c.remaining.sd;
    let ends = (
        settings.length((c.remaining.mean - half).max(0.0)),
        settings.length(c.remaining.mean + half),
    );
    html! {
        h2 { "What would narrow it" }
        @match c.worth_measuring().first() {
            Some(best) => {
                p {
                    strong {
                        @match path_to(best.kind) {
                            Some(path) => a href={ "/cans/" (c.can.id) "/" (path) } { (best_act(best)) },
                            None => (best_act(best)),
                        }
                    }
                    " The 95 % interval should come down from " span.num { (words(c.remaining.sd)) }
                    " to about " span.num { (words(best.sd_after_m)) } "."
                }
                figure { (drawing::narrowing(&format!("narrow-{}", c.can.id), &rows, (&ends.0, &ends.1))) }
            }
            None => p { "No measurement narrows it much now; the next rolls will tell." }
        }
    }
}

fn best_act(m: &NextMeasurement) -> String {
    let phrase = m.kind.phrase();
    let mut letters = phrase.chars();
    letters.next().map_or_else(String::new, |first| {
        format!("{}{}.", first.to_uppercase(), letters.as_str())
    })
}

/// Where a measurement is entered; none for what is not about this can alone.
fn path_to(kind: MeasurementKind) -> Option<&'static str> {
    match kind {
        MeasurementKind::Weigh | MeasurementKind::WeighBoth => Some("weigh"),
        MeasurementKind::WeighEmpty => Some("weigh-empty"),
        MeasurementKind::Gauge => Some("gauge"),
        MeasurementKind::MeasureRoll | MeasurementKind::RunOutAnother => None,
    }
}

fn short(kind: MeasurementKind) -> &'static str {
    match kind {
        MeasurementKind::Weigh => "weigh it closed",
        MeasurementKind::WeighEmpty => "weigh one empty",
        MeasurementKind::WeighBoth => "weigh it closed, and one empty",
        MeasurementKind::Gauge => "measure across, in the dark",
        MeasurementKind::MeasureRoll => "measure a wound roll end to end",
        MeasurementKind::RunOutAnother => "run another can out",
    }
}

fn learnt(c: &CanView, shelf: &Shelf) -> Markup {
    let settings = &shelf.settings;
    html! {
        h2 { "What this can teaches" }
        dl.fields.many {
            div { dt { "One metre weighs" } dd { (say::estimate(c.linear_mass_g_per_m, 2, " g")) } }
            div { dt { "Film is thick" } dd { (say::estimate(c.thickness_mm, 3, " mm")) } }
            div { dt { "Can, bag and core weigh" } dd { (say::estimate(c.tare_g, 0, " g")) } }
            div { dt { "It came with" } dd { (say::length(settings, c.length_m)) } }
            @if let Some(l) = shelf.loader(c.can.loader) {
                div { dt { (l.loader.name) ": film per click" } dd { (say::estimate(l.click_scale, 4, " ×")) } }
                div { dt { (l.loader.name) ": uncounted per roll" } dd { (say::estimate(l.uncounted_mm, 0, " mm")) } }
            }
        }
        p.soft { "± is half the 95 % interval. The next can of this kind starts from here." }
    }
}

fn tail(c: &CanView) -> Markup {
    let id = c.can.id;
    let close = |state: CanState, words: &str| {
        html! {
            form method="post" action={ "/cans/" (id) "/close" } {
                (Form::default().request_field())
                input type="hidden" name="state" value=(state.word());
                button { (words) }
            }
        }
    };
    html! {
        div.acts {
            a.btn href={ "/cans/" (id) "/edit" } { "Change" }
            a.btn href={ "/print/cans?only=" (c.can.letters) } { "Print its label" }
            @if c.can.state == CanState::Open {
                (close(CanState::Empty, "It is empty"))
                (close(CanState::Gone, "It is gone"))
            } @else {
                (close(CanState::Open, "Open it again"))
            }
        }
        @if c.can.state == CanState::Open {
            div.thumb {
                a.btn href={ "/cans/" (id) "/weigh" } { "Weigh" }
                a.btn.main href={ "/tickets/new?can=" (id) } { "Wind a roll" }
            }
        }
    }
}
