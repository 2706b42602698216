//! Breaking a long can into loader lengths: the diameters to feel for, before the light goes out.

use super::super::main_act;
use crate::service::breaking::BreakView;
use crate::service::settings::Settings;
use crate::service::shelf::CanView;
use crate::web::drawing;
use crate::web::form::Form;
use crate::web::say;
use maud::{Markup, html};
use spoolwright_core::quantity::Z95;

pub(super) fn page(
    form: &Form,
    can: &CanView,
    view: Option<&BreakView>,
    settings: &Settings,
) -> Markup {
    let id = can.can.id;
    html! {
        h1 { "Break can " (can.can.letters) }
        p { (settings.length(can.remaining.mean)) " of " (can.stock.name) " is wound off, in total darkness, onto cores that fit a loader. "
            "In the dark a diameter can be felt and a length cannot: here are the diameters to wind to." }
        (form.refusals())
        form.form method="get" action={ "/cans/" (id) "/break" } {
            (form.field("parts", "Lengths to take off").unit(say::length_unit(settings))
                .hint(if settings.feet { "One, or several with spaces, in the order you wind them: 100 100." }
                    else { "One, or several with spaces, in the order you wind them: 30.48 30.48." }).needed().text())
            (form.field("core_mm", "Across the cores they go on").unit("mm").hint("31.75 when empty; measure yours.").number())
            (form.field("package", "Kind of can they go into").hint("The same words as on other cans of that kind.").text())
            @if view.is_none() { (main_act("Show the diameters")) } @else { button { "Show again" } }
        }
        @if let Some(view) = view { (plan(form, can, view, settings)) }
    }
}

fn plan(form: &Form, can: &CanView, view: &BreakView, settings: &Settings) -> Markup {
    html! {
        h2 { "Wind to these diameters" }
        ol.rows {
            @for (i, part) in view.parts.iter().enumerate() {
                li {
                    div.row {
                        (drawing::can_small(&format!("part-{i}"), &format!("part {}", i + 1), drawing::Can {
                            core_mm: view.core_mm, full_mm: part.outer_mm, mean_mm: part.outer_mm, low_mm: part.outer_mm, high_mm: part.outer_mm,
                        }, view.mother_outer_mm))
                        span.what {
                            span.name { "Part " (i + 1) ": " (format!("⌀ {:.1} mm", part.outer_mm)) }
                            span.more { (format!("the big roll is then ⌀ {:.1} mm", part.mother_outer_mm)) }
                        }
                        span.much { b { (settings.length(part.length_m.mean)) } "± " (settings.length(Z95 * part.length_m.sd)) }
                    }
                }
            }
        }
        p { "The big roll is " (format!("{:.1}", view.mother_outer_mm)) " mm across before you begin, and holds about "
            (settings.length(view.left_m)) " afterwards." }
        div.dark-work {
            h3 { "In total darkness, from first to last" }
            p { "Set the gauges and lay out cores, bags, cans and tape in the order of use while there is light. Then no light at all, no screen, no watch, until every lid is closed and taped." }
        }
        form.form method="post" action={ "/cans/" (can.can.id) "/break" } {
            (form.request_field())
            @for name in ["parts", "core_mm", "package"] { input type="hidden" name=(name) value=(form.text(name)); }
            (main_act("It is broken so"))
        }
    }
}
