//! The shot list of a test in camera, and what to do with its roll when it comes back.

use super::words;
use crate::service::wedge::TestView;
use maud::{Markup, html};
use spoolwright_core::shelf::{RollState, TicketState};
use spoolwright_core::wedge::record::WedgeTest;
use spoolwright_core::wedge::shots::{Exposed, ShotList};

/// The list as a table: a row an exposure, a column a strip, frame numbers inside.
pub(super) fn list(view: &TestView) -> Markup {
    let Some(list) = &view.shots else {
        return html! {};
    };
    html! {
        ol {
            li { "An even, matt, plain target that fills the frame, such as a wall in open shade: focus at infinity, so that its grain is not sharp." }
            li { "Set the meter to " (view.test.meter_ei.map_or("one EI, and note it".to_owned(), |ei| format!("EI {ei}")))
                ", and meter the target alone. The light must not change while you shoot; meter again after each strip." }
            li { "Give each frame what the list says. A stop under is half the time, or the next higher f-number; all times shorter than 1 s. Lens cap on for blanks, and wind on as usual." }
        }
        div.acts { a.btn href={ "/wedge/" (view.test.id) "/shots.pdf" } { "Print it for the pocket" } }
        (table(view, list))
        h3 { "Cut it in the dark" }
        (cuts(view, list))
    }
}

fn table(view: &TestView, list: &ShotList) -> Markup {
    let strips: Vec<Vec<_>> = (0..view.test.planned_min.len())
        .map(|k| list.shots.iter().filter(|s| s.strip == k).collect())
        .collect();
    let rows = strips.iter().map(Vec::len).max().unwrap_or(0);
    html! {
        div.scroll tabindex="0" role="region" aria-label="Shot list" {
            table.shots {
                thead { tr {
                    th scope="col" { "Exposure" }
                    @for t in &view.test.planned_min { th.right scope="col" { (words::minutes(*t)) " strip" } }
                } }
                tbody {
                    @for r in 0..rows {
                        tr {
                            th scope="row" { @if let Some(shot) = strips.iter().find_map(|s| s.get(r)) { (what(shot.exposed)) } }
                            @for strip in &strips { td.right { @match strip.get(r) { Some(shot) => (shot.frame), None => "—" } } }
                        }
                    }
                }
            }
        }
    }
}

fn what(exposed: Exposed) -> String {
    match exposed {
        Exposed::Blank => "lens cap on: base + fog".into(),
        Exposed::Spare => "lens cap on: room to cut".into(),
        Exposed::Stops(s) => words::exposure(s),
    }
}

fn cuts(view: &TestView, list: &ShotList) -> Markup {
    let last = view.test.planned_min.last().copied().unwrap_or_default();
    html! {
        ul {
            @for (cut, time) in list.cuts.iter().zip(&view.test.planned_min) {
                li {
                    "After frame " (cut.after_frame) ": " (format!("{:.0} mm", cut.from_leader_mm)) " from the beginning of the leader, "
                    (format!("{:.0} mm", cut.margin_mm)) " either way. What comes before it is developed " b { (words::minutes(*time)) } "."
                }
            }
            li { "What is left, up to the spool, is developed " b { (words::minutes(last)) } "." }
        }
        @if !list.cuts.is_empty() {
            p { (format!("Counted with frame 1 beginning {:.0} mm from the tip of the leader. Load a waste strip in that camera first, mark the camera’s window at frame 1, and add the difference to every cut.", list.first_frame_mm)) }
        }
        p.soft { "Measured on the whole leader; if its tongue was trimmed off, measure from where it began. Bath, agitation and pouring the same for every strip: only the time differs." }
    }
}

/// What a roll's page says of the test it belongs to.
pub(crate) fn on_roll(test: &WedgeTest, state: RollState) -> Markup {
    let times: Vec<String> = test.planned_min.iter().map(|t| words::short(*t)).collect();
    html! {
        div.note {
            p {
                "For the test " a href={ "/wedge/" (test.id) } { (test.name) } ". "
                @match state {
                    RollState::Wound | RollState::InCamera => {
                        "Shoot it by the " a href={ "/wedge/" (test.id) "#shots" } { "shot list" } ", not for pictures."
                    }
                    RollState::Exposed => {
                        "Do not develop it whole: in the dark, cut it where the " a href={ "/wedge/" (test.id) "#shots" } { "shot list" }
                        " says, and develop the strips for " (times.join(", ")) " min from the leader on, each by itself."
                    }
                    RollState::Developed | RollState::Filed => {
                        "Read the density of every frame, blanks too, and " a href={ "/wedge/" (test.id) "/type" } { "enter them" } "."
                    }
                    RollState::Scrapped => "Begin the test again with another roll."
                }
            }
        }
    }
}

/// What a ticket's page says of the test whose roll it winds.
pub(crate) fn on_ticket(test: &WedgeTest, state: TicketState) -> Markup {
    html! {
        div.note {
            p {
                "For the test " a href={ "/wedge/" (test.id) } { (test.name) } ". "
                @match state {
                    TicketState::Queued => {
                        "Wind it as it stands; mark the cassette, and put the " a href={ "/wedge/" (test.id) "#shots" } { "shot list" } " beside it."
                    }
                    TicketState::Dropped => "Its roll was dropped: wind one by hand, or begin the test again.",
                    _ => { "Its roll is shot, cut and developed by the " a href={ "/wedge/" (test.id) "#shots" } { "shot list" } "." }
                }
            }
        }
    }
}
