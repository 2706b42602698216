//! The pages, one file for each kind of thing: its handlers first, its templates below them.

pub(crate) mod bench;
pub(crate) mod binders;
pub(crate) mod cans;
pub(crate) mod cassettes;
pub(crate) mod devices;
pub(crate) mod field;
pub(crate) mod first_steps;
pub(crate) mod history;
pub(crate) mod loaders;
pub(crate) mod plan;
pub(crate) mod print;
pub(crate) mod rolls;
pub(crate) mod settings;
pub(crate) mod stocks;
pub(crate) mod tickets;
pub(crate) mod wants;
pub(crate) mod wedge;
pub(crate) mod wet;

use super::say;
use maud::{Markup, html};
use spoolwright_core::shelf::JournalEntry;

/// The main act of a form, within reach of the thumb.
pub(crate) fn main_act(words: &str) -> Markup {
    html! { div.thumb { button.main { (words) } } }
}

/// History as a story, newest first.
pub(crate) fn story(entries: &[JournalEntry]) -> Markup {
    html! {
        @if entries.is_empty() { p.soft { "Nothing has happened yet." } }
        ol.story {
            @for e in entries {
                li {
                    time datetime=(e.at) { (say::moment(&e.at)) }
                    span.undone[e.undone] { (e.story) }
                }
            }
        }
    }
}
