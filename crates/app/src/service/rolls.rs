//! Wound rolls: found by label, moved through their life, measured; and the journal as a story.

use super::entry::{self, Reader};
use super::error::{at, unknown};
use super::evidence::tell;
use super::shelf::RollView;
use super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::field::record::Camera;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::remaining::defaults;
use spoolwright_core::shelf::{
    BathId, CameraId, Can, CanId, Cassette, CassetteId, EntryId, Evidence, JournalEntry, Loader,
    LoaderId, Roll, RollId, RollState, RunId, Stock, StockId, Ticket, TicketId, Want, WantId,
};
use spoolwright_core::wet::record::{BathCard, Run};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Done, Subject};

/// Entries of the journal shown at once.
pub const STORY_PAGE: u32 = 60;
/// Rolls shown at once.
pub const ROLL_PAGE: u32 = 60;

/// A roll's next step in life, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct RollDraft {
    /// wound, in-camera, exposed, developed, filed or scrapped; unchanged when empty.
    #[arg(long, default_value = "")]
    pub state: String,
    /// EI on its label; unchanged when empty.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// A note; the reason when it is scrapped.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// A wound roll measured end to end, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct MeasureDraft {
    /// All the film it drew, offcuts included, such as 1.61 m.
    #[arg(default_value = "")]
    pub length: String,
}

/// What a history is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// Everything.
    Everything,
    /// One stock.
    Stock(StockId),
    /// One can.
    Can(CanId),
    /// One loader.
    Loader(LoaderId),
    /// One cassette.
    Cassette(CassetteId),
    /// One want.
    Want(WantId),
    /// One ticket.
    Ticket(TicketId),
    /// One roll.
    Roll(RollId),
    /// One development run.
    Run(RunId),
    /// One bath.
    Bath(BathId),
    /// One camera.
    Camera(CameraId),
}

impl About {
    fn subject(self) -> Option<Subject> {
        Some(match self {
            Self::Everything => return None,
            Self::Stock(id) => Subject::of::<Stock>(id),
            Self::Can(id) => Subject::of::<Can>(id),
            Self::Loader(id) => Subject::of::<Loader>(id),
            Self::Cassette(id) => Subject::of::<Cassette>(id),
            Self::Want(id) => Subject::of::<Want>(id),
            Self::Ticket(id) => Subject::of::<Ticket>(id),
            Self::Roll(id) => Subject::of::<Roll>(id),
            Self::Run(id) => Subject::of::<Run>(id),
            Self::Bath(id) => Subject::of::<BathCard>(id),
            Self::Camera(id) => Subject::of::<Camera>(id),
        })
    }
}

impl Service {
    /// The roll with that label, whatever its case.
    ///
    /// # Errors
    /// There is none.
    pub fn roll(&self, label: &str) -> Outcome<RollView> {
        let roll = self
            .store()
            .roll_by_label(label.trim())?
            .ok_or_else(|| unknown("roll", format!("{label:?}")))?;
        self.shelf()?.roll_view(roll)
    }

    /// Rolls in one state, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn rolls_in(&self, state: RollState) -> Outcome<Vec<RollView>> {
        let rolls = self.store().rolls_in(state)?;
        self.views(rolls)
    }

    /// The newest rolls before `before`, newest first, a page of them.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn recent_rolls(&self, before: Option<RollId>) -> Outcome<Vec<RollView>> {
        let rolls = self.store().recent_rolls(before, ROLL_PAGE)?;
        self.views(rolls)
    }

    /// Rolls wound from one can, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn rolls_of_can(&self, can: CanId) -> Outcome<Vec<RollView>> {
        let rolls = self.store().rolls_of_can(can)?;
        self.views(rolls)
    }

    fn views(&self, rolls: Vec<Roll>) -> Outcome<Vec<RollView>> {
        let shelf = self.shelf()?;
        rolls.into_iter().map(|r| shelf.roll_view(r)).collect()
    }

    /// Moves a roll on in its life, or changes its EI or note.
    ///
    /// # Errors
    /// Faults of the draft; its cassette holds another roll by now; scrapped without a reason; a run holds it.
    pub fn move_roll(
        &self,
        id: RollId,
        draft: &RollDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let today = self.today();
        self.change(request, |change| {
            let old = find_in::<Roll>(change, id)?;
            let mut r = Reader::new();
            let state = if draft.state.trim().is_empty() {
                old.state
            } else {
                r.word("state", &draft.state, RollState::from_word)
            };
            let ei = r
                .optional("ei", &draft.ei, entry::SPEED, &bounds::SPEED_ISO)
                .or(old.ei);
            let note = r.free("note", "a note", &draft.note, 400);
            if state == RollState::Scrapped && old.state != RollState::Scrapped && note.is_empty() {
                r.fault(
                    "note",
                    Error::missing(
                        "why the roll is scrapped",
                        "a few words",
                        "Say what happened, such as fogged or torn.",
                    ),
                );
            }
            r.finish()?;
            super::wet::holds::must_not_leave_its_tank(change, &old, state)?;
            super::wet::holds::must_keep_its_ei(change, &old, ei)?;
            if state != old.state {
                super::field::stays::end_stay(change, id, state, &today)?;
            }
            let note = if note.is_empty() {
                old.note.clone()
            } else {
                note
            };
            change.put(&Roll {
                state,
                ei,
                note: note.clone(),
                ..old.clone()
            })?;
            change.about(Subject::of::<Can>(old.can));
            if let Some(cassette) = old.cassette {
                change.about(Subject::of::<Cassette>(cassette));
            }
            let what = match state {
                _ if state == old.state => "Changed".to_owned() + " " + &old.label,
                RollState::Wound => format!("{} is back in the box, unexposed", old.label),
                RollState::InCamera => format!("Put {} in a camera", old.label),
                RollState::Exposed => format!("Exposed {}", old.label),
                RollState::Developed => format!("Developed {}", old.label),
                RollState::Filed => format!("Filed {}", old.label),
                RollState::Scrapped => format!("Scrapped {}: {note}", old.label),
            };
            Ok(("roll.moved", format!("{what}."), ()))
        })
    }

    /// Records a wound roll measured end to end: it teaches its loader.
    ///
    /// # Errors
    /// Faults of the draft; a length that cannot be this roll's.
    pub fn measure_roll(
        &self,
        id: RollId,
        draft: &MeasureDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let settings = self.settings()?;
        self.change(request, |change| {
            let roll = find_in::<Roll>(change, id)?;
            let can = find_in::<Can>(change, roll.can)?;
            let stock = find_in::<Stock>(change, can.stock)?;
            let mut r = Reader::new();
            let metres = r.number(
                "length",
                &draft.length,
                settings.length_units(),
                &bounds::CAN_LENGTH_M,
            );
            r.finish()?;
            let counted = stock.pitch.click().to_m() * roll.clicks;
            if !(0.8 * counted..=counted + 1.0).contains(&metres) {
                return Err(at(
                    "length",
                    Error::new(
                        Kind::Inconsistent,
                        "a roll's length",
                        settings.length(metres),
                        format!(
                            "about the {} that {} clicks count",
                            settings.length(counted),
                            roll.clicks
                        ),
                        "Measure all of it, tongue and trimmed ends included.",
                    ),
                ));
            }
            let length_mm = Estimate::new(metres * 1e3, defaults::MEASURED_SD_MM);
            tell(
                change,
                roll.can,
                Some(id),
                self.now(),
                Evidence::Measured {
                    loader: roll.loader,
                    clicks: roll.clicks,
                    length_mm,
                },
            )?;
            change.about(Subject::of::<Roll>(id));
            Ok((
                "roll.measured",
                format!(
                    "Measured {}: {} end to end.",
                    roll.label,
                    settings.length(metres)
                ),
                (),
            ))
        })
    }

    /// The newest entries of the journal before `before`, newest first, a page of them.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn history(&self, about: About, before: Option<EntryId>) -> Outcome<Vec<JournalEntry>> {
        Ok(self.store().journal(about.subject(), before, STORY_PAGE)?)
    }

    /// One entry of the journal.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn entry(&self, id: EntryId) -> Outcome<JournalEntry> {
        let after = EntryId(id.0.saturating_add(1));
        let newest = self.store().journal(None, Some(after), 1)?;
        newest
            .into_iter()
            .find(|e| e.id == id)
            .ok_or_else(|| unknown("journal entry", id))
    }

    /// Undoes one entry of the journal.
    ///
    /// # Errors
    /// It is undone already, or something later rests on it.
    pub fn undo(&self, entry: EntryId, request: Request<'_>) -> Outcome<Made<()>> {
        self.undo_if(entry, request, super::wet::holds::must_fit)
    }

    /// The same for someone at a paired device, who cannot let another device in by it.
    ///
    /// # Errors
    /// As for [`Service::undo`], and the undo would let a device in.
    pub fn undo_from_a_device(&self, entry: EntryId, request: Request<'_>) -> Outcome<Made<()>> {
        self.undo_if(entry, request, |change| {
            super::devices::lets_nobody_in(change)?;
            super::wet::holds::must_fit(change)
        })
    }

    fn undo_if(
        &self,
        entry: EntryId,
        request: Request<'_>,
        fits: impl FnOnce(&Change<'_>) -> Outcome<()>,
    ) -> Outcome<Made<()>> {
        let now = self.now();
        let done = self.store().undo_if(&now, request, entry, fits)?;
        Ok(match done {
            Done::Now { entry, value } => Made {
                entry,
                story: value,
                value: Some(()),
            },
            Done::Before(entry) => Made {
                entry: Some(entry),
                story: "Recorded already.".into(),
                value: None,
            },
        })
    }

    /// The newest entry that can still be undone.
    ///
    /// # Errors
    /// Trouble with the store, or nothing to undo.
    pub fn last_change(&self) -> Outcome<JournalEntry> {
        let mut before = None;
        loop {
            let page = self.store().journal(None, before, STORY_PAGE)?;
            before = page.last().map(|e| e.id);
            if before.is_none() {
                return Err(Error::missing(
                    "a change to undo",
                    "at least one change",
                    "There is nothing to undo.",
                )
                .into());
            }
            if let Some(entry) = page.into_iter().find(|e| !e.undone && e.undoes.is_none()) {
                return Ok(entry);
            }
        }
    }
}
