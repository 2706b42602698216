//! The form of a can, and the small forms for what was measured on one.

use super::super::main_act;
use crate::service::settings::Settings;
use crate::web::form::Form;
use crate::web::say;
use maud::{Markup, html};
use spoolwright_core::shelf::{Can, Loader, Stock};

/// Add or change a can.
pub(super) fn page(
    form: &Form,
    can: Option<&Can>,
    stocks: &[Stock],
    loaders: &[Loader],
    settings: &Settings,
) -> Markup {
    html! {
        h1 { @if let Some(c) = can { "Can " (c.letters) } @else { "Add a can" } }
        (form.refusals())
        form.form method="post" action={ @if let Some(c) = can { "/cans/" (c.id) "/edit" } @else { "/cans" } } {
            (fields(form, stocks, loaders, settings))
            (main_act(if can.is_some() { "Keep the changes" } else { "Add the can" }))
        }
    }
}

/// The fields of a can, also for the first-use path.
pub(crate) fn fields(
    form: &Form,
    stocks: &[Stock],
    loaders: &[Loader],
    settings: &Settings,
) -> Markup {
    // One that is closed is offered only where it is chosen already.
    let offered = |field: &str, closed: bool, id: String, name: &str| {
        (!closed || form.text(field) == id).then(|| (id, name.to_owned()))
    };
    let stock_list: Vec<_> = stocks
        .iter()
        .filter_map(|s| offered("stock", s.closed, s.id.to_string(), &s.name))
        .collect();
    let mut loader_list: Vec<_> = loaders
        .iter()
        .filter_map(|l| offered("loader", l.closed, l.id.to_string(), &l.name))
        .collect();
    // With one loader a new can is wound with that one; a can that has none keeps none.
    if loader_list.len() != 1 || form.all("loader").next().is_some() {
        loader_list.insert(0, (String::new(), "not decided".to_owned()));
    }
    let core_hint = format!(
        "When empty: 31.75 mm for a can of up to about {}, 50.8 mm for a longer one. Measure yours.",
        say::example(settings, "45", "150")
    );
    let doubt_hint = format!(
        "Half a per cent when empty; write more for a part roll: {}.",
        say::example(settings, "3", "10")
    );
    html! {
        (form.request_field())
        @if stock_list.is_empty() {
            div.note { p { "A can holds a stock, and there is none yet. " a href="/stocks/new" { "Add a stock" } " first." } }
        }
        (form.field("stock", "Film in it").select(&stock_list))
        (form.field("length", "Length when it came").unit(say::length_unit(settings))
            .hint(if settings.feet { "100 ft when empty. You may write the unit yourself: 400 ft, 17 m." }
                else { "30.48 m (100 ft) when empty. You may write the unit yourself: 17 m, 400 ft." }).text())
        (form.field("letters", "Letters for its labels")
            .hint("Its rolls will be HM-01, HM-02 and so on. Made from the stock's name when empty.").text())
        (form.field("loader", "Loader it is wound with").select(&loader_list))
        (form.field("price", "What it cost").unit(&*settings.currency).hint("For the cost of each roll. May stay empty.").number())
        details open[form.is_faulty()] {
            summary { "Core, empty weight, dates, note" }
            (form.field("core_mm", "Core across").unit("mm").hint(&core_hint).number())
            (form.field("package", "Kind of can").hint("Cans of one kind weigh alike when empty, so what one teaches serves the next. Any words: tall black tin.").text())
            (form.field("tare_g", "Can, bag and core, empty").unit("g").hint("The one number that narrows the doubt most. Leave it empty if you do not know it.").number())
            (form.field("length_sd", "How far the length may be off").hint(&doubt_hint).text())
            div.pair {
                (form.field("bought_on", "Bought").date())
                (form.field("expires_on", "Date printed on it").date())
            }
            (form.field("kept_at", "Kept at").hint("Such as 4 C or 39 F; empty for room temperature.").text())
            (form.field("note", "Note").lines())
        }
    }
}

/// The weighing: one number, one button.
pub(super) fn weigh(form: &Form, can: &Can, alone: bool) -> Markup {
    let field = form
        .field("grams", "The scale shows")
        .unit("g")
        .hint("Can, lid, bag, core and film together, closed.")
        .loud()
        .needed();
    html! {
        form.form method="post" action={ "/cans/" (can.id) "/weigh" } {
            (form.request_field())
            (if alone { field.first() } else { field }.number())
            (form.sure())
            @if alone { (main_act("Weighed")) } @else { button { "Weighed" } }
        }
    }
}

/// A measurement of a can on a page of its own.
pub(super) struct Sheet {
    /// The last part of its address.
    pub(super) path: &'static str,
    /// What it is called in a list and at its head.
    pub(super) title: &'static str,
    /// Why one would.
    pub(super) why: &'static str,
    /// The words on its button.
    pub(super) act: &'static str,
    /// Whether it is work for total darkness.
    pub(super) dark: bool,
}

/// Everything a can may be told beside a weighing.
pub(super) const SHEETS: [Sheet; 4] = [
    Sheet {
        path: "weigh-empty",
        title: "Weigh one empty",
        why: "Can, lid, bag and core without film: of this can, or of another of its kind. It serves every can of the kind.",
        act: "Weighed empty",
        dark: false,
    },
    Sheet {
        path: "gauge",
        title: "Measure across, in the dark",
        why: "The diameter of the wound film, felt or set in the dark and read in light.",
        act: "Measured",
        dark: true,
    },
    Sheet {
        path: "ran-out",
        title: "It ran out",
        why: "The click at which the film ended teaches how this loader counts, for every can to come.",
        act: "It ran out",
        dark: false,
    },
    Sheet {
        path: "take",
        title: "Film taken off",
        why: "A test strip, a fogged end: film that left the can otherwise than on a roll.",
        act: "Taken off",
        dark: false,
    },
];

/// The page of one such measurement.
pub(super) fn measurement(sheet: &Sheet, form: &Form, can: &Can, settings: &Settings) -> Markup {
    html! {
        h1 { (sheet.title) }
        p.soft { "Can " (can.letters) ". " (sheet.why) }
        (form.refusals())
        @if sheet.dark {
            div.dark-work {
                h2 { "In total darkness" }
                p { "The roll is bare. No safelight, no screen, no watch that glows. Bag and can are closed again before any light." }
            }
        }
        form.form method="post" action={ "/cans/" (can.id) "/" (sheet.path) } {
            (form.request_field())
            @match sheet.path {
                "weigh-empty" => {
                    input type="hidden" name="empty" value="yes";
                    (form.field("grams", "The scale shows").unit("g").loud().first().needed().number())
                }
                "gauge" => {
                    (form.field("outer_mm", "Across the wound film").unit("mm").loud().first().needed().number())
                    (form.field("core_mm", "Across its core").unit("mm").hint("As entered for this can when empty.").number())
                    (form.field("sd_mm", "Give or take").unit("mm").hint("Half a millimetre when empty.").number())
                }
                "ran-out" => {
                    (form.field("clicks", "Clicks on the last roll when the film ended").unit("clicks")
                        .hint("0 when nothing was left to wind. With a ticket in hand, say it on the ticket instead.").loud().first().needed().whole())
                }
                _ => {
                    (form.field("length", "How much").unit(say::length_unit(settings))
                        .hint(&format!("Such as {}.", say::example(settings, "1.2", "4"))).loud().first().needed().text())
                    (form.field("why", "Why").text())
                }
            }
            (form.sure())
            (main_act(sheet.act))
        }
        p { a href={ "/cans/" (can.id) } { "Back to the can" } }
    }
}

/// A can longer than this does not fit a loader whole.
pub(super) const LONG_CAN_M: f64 = 33.0;
