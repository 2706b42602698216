//! The wet bench on paper: the card of a bath to tape on its bottle, and the sheet of a run to work by.
//!
//! A card has the rules by which the bath is judged and what befell it so far; the verdict of the day would go stale on
//! a bottle and stays on the page.

mod bath;
mod run;

use super::super::error::unknown;
use super::super::{Outcome, Service};
use super::baths::BathView;
use super::runs::RunView;
use crate::service::entry::Reader;
use crate::service::error::at;
use crate::service::paper::{Document, PaperDraft};
use spoolwright_core::shelf::{BathId, RunId};
use spoolwright_core::wet::bath::BathKind;
use spoolwright_core::wet::cautions::cautions;
use spoolwright_core::wet::fixing::{HIGH_IODIDE_MULTIPLE, MULTIPLE};
use spoolwright_core::wet::record::RunState;
use spoolwright_core::{Error, Kind};
use spoolwright_print::{bath_cards, run_sheets};

impl Service {
    /// Cards for bottles: the baths named by number, else every one that was not poured out.
    ///
    /// # Errors
    /// Faults of the draft; no bath to print a card for; one that was poured out.
    pub fn print_bath_cards(&self, draft: &PaperDraft) -> Outcome<Document> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let (paper, start_at) = (draft.paper(&mut r, &settings), draft.start_at(&mut r));
        r.finish()?;
        let mut open: Vec<BathView> = self.baths()?;
        open.retain(|b| !b.card.closed);
        open.sort_by_key(|b| b.card.id);
        let find = |name: &str| self.bath(BathId(number("bath", name)?), None);
        let chosen = draft.chosen(open, "bath", |b| b.card.id.to_string(), find)?;
        if let Some(gone) = chosen.iter().find(|b| b.card.closed) {
            return Err(at(
                "only",
                Error::new(
                    Kind::Conflict,
                    format!("the card of {}", gone.card.name),
                    "a bath that was poured out",
                    "baths that are in their bottles",
                    "Leave it out, or mark it as not poured out after all.",
                ),
            ));
        }
        let cards = chosen
            .iter()
            .map(|b| self.bath_label(b, &settings))
            .collect::<Outcome<Vec<_>>>()?;
        Ok(bath_cards(&cards, paper, start_at)?)
    }

    /// Sheets of runs to work by: those named by number, else every one that is loaded or going.
    ///
    /// # Errors
    /// Faults of the draft; no run to print.
    pub fn print_run_sheets(&self, draft: &PaperDraft) -> Outcome<Document> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let paper = draft.paper(&mut r, &settings);
        r.finish()?;
        let find = |name: &str| self.run(RunId(number("run", name)?));
        let waiting = self.runs_to_print()?;
        let chosen = draft.chosen(waiting, "run", |v| v.run.id.to_string(), find)?;
        let sheets = chosen
            .iter()
            .map(|view| self.run_sheet(view, &settings))
            .collect::<Outcome<Vec<_>>>()?;
        Ok(run_sheets(&sheets, paper)?)
    }

    /// Runs that somebody may want a sheet of: loaded, or going.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn runs_to_print(&self) -> Outcome<Vec<RunView>> {
        let mut runs = self.runs_in(RunState::Planned)?;
        runs.extend(self.runs_in(RunState::Running)?);
        runs.sort_by_key(|v| v.run.id);
        Ok(runs)
    }
}

fn number(kind: &str, typed: &str) -> Outcome<i64> {
    typed
        .parse()
        .map_err(|_| unknown(kind, format!("{typed:?}")))
}

/// Fixing time in clearing times.
pub(crate) const fn multiple(high_iodide: bool) -> f64 {
    if high_iodide {
        HIGH_IODIDE_MULTIPLE
    } else {
        MULTIPLE
    }
}

/// What to mind with baths of these kinds, each sentence once, in the order of the baths.
pub(crate) fn minded(kinds: impl IntoIterator<Item = BathKind>) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    for caution in kinds.into_iter().flat_map(cautions) {
        if !told.iter().any(|t| t == caution.text) {
            told.push(caution.text.to_owned());
        }
    }
    told
}
