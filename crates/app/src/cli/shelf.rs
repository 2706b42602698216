//! `spoolwright shelf`: everything at a glance.

use std::fmt::Write;

use serde_json::{Value, json};
use spoolwright_core::shelf::RollState;

use super::desk::Desk;
use super::{Failure, can, want};
use crate::service::plan::rolls_in_words;
use crate::service::shelf::{CanView, WantView};

pub(super) fn run(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let shelf = desk.service.shelf()?;
    let cans: Vec<&CanView> = shelf.open_cans().collect();
    let wants: Vec<&WantView> = shelf.wants.iter().filter(|w| w.open() > 0).collect();
    let ready = shelf.ready_cassettes().count();
    let mut text = String::new();
    // Writing to a string cannot fail.
    if cans.is_empty() {
        text.push_str(
            "No open can. Begin with a stock, a can and a loader: see `spoolwright --help`.\n",
        );
    } else {
        let _ = writeln!(text, "{}", can::table(&cans, &shelf.settings));
    }
    if !wants.is_empty() {
        let _ = writeln!(text, "{}", want::table(&wants, &shelf));
    }
    let _ = writeln!(
        text,
        "{} waiting at the loader. {ready} of {} cassettes ready.",
        rolls_in_words(shelf.queue.len()),
        shelf.cassettes.len()
    );
    let counts = RollState::ALL
        .iter()
        .map(|s| (s, shelf.count(*s)))
        .filter(|(_, n)| *n > 0);
    let counts: Vec<String> = counts.map(|(s, n)| format!("{n} {}", s.word())).collect();
    if !counts.is_empty() {
        let _ = writeln!(text, "Rolls: {}.", counts.join(", "));
    }
    desk.answer(text, || {
        json!({
            "entry": shelf.head.0,
            "cans": cans.iter().map(|c| can::of(c)).collect::<Value>(),
            "wants": wants.iter().map(|w| want::of(w, &shelf)).collect::<Value>(),
            "queue": shelf.queue.len(),
            "cassettes": { "ready": ready, "all": shelf.cassettes.len() },
            "rolls": shelf.roll_counts,
        })
    })
}
