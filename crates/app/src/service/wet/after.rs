//! After the run: what came out of each roll, and what that says about loaders and stocks.

use super::super::entry::Reader;
use super::super::error::at;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::runs::RunView;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::film::{Light, PERFORATIONS_PER_CLICK};
use spoolwright_core::shelf::{Loader, LoaderId, Roll, RollId, RunId, RunRollId, StockId};
use spoolwright_core::wet::after::{self, Advice, End, Tally, allowance};
use spoolwright_core::wet::recipe::Owner;
use spoolwright_core::wet::record::{Exposure, Run, RunRoll, RunState};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;
use std::collections::{BTreeMap, BTreeSet};

/// Frames of one roll.
const FRAMES: Bounds = Bounds {
    what: "frames",
    unit: "",
    min: 0.0,
    max: 150.0,
};

/// What came out of a roll, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct ResultDraft {
    /// Frames that can be used.
    #[arg(long, default_value = "")]
    pub usable: String,
    /// Frames lost to light at the beginning, where the leader is; 0 when empty.
    #[arg(long, default_value = "")]
    pub fogged_start: String,
    /// Frames lost to light at the end, where the tape was; 0 when empty.
    #[arg(long, default_value = "")]
    pub fogged_end: String,
    /// right, under (thin), over (dense) or mixed; unsaid when empty.
    #[arg(long, default_value = "")]
    pub exposure: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl From<&RunRoll> for ResultDraft {
    fn from(r: &RunRoll) -> Self {
        let some = |n: Option<u32>| n.map(|n| n.to_string()).unwrap_or_default();
        Self {
            usable: some(r.usable),
            fogged_start: some(r.fogged_start),
            fogged_end: some(r.fogged_end),
            exposure: r.exposure.word().to_owned(),
            note: r.note.clone(),
        }
    }
}

/// What a loader's developed rolls say.
#[derive(Debug, Clone, PartialEq)]
pub struct LoaderAdvice {
    /// About the clicks for the leader.
    pub leader: Option<Advice>,
    /// About the clicks for the tail, of rolls wound in room light.
    pub tail: Option<Advice>,
}

/// Frames that all of a roll's film would hold, leader and tail included.
fn most_frames(roll: &Roll) -> u32 {
    let perforations = roll.clicks * f64::from(PERFORATIONS_PER_CLICK);
    (perforations / f64::from(roll.advance_perforations.max(1))).ceil() as u32
}

impl Service {
    /// Writes down what came out of a roll of a run that developed it.
    ///
    /// # Errors
    /// Faults of the draft; the run developed nothing, or not yet; the roll was not in it.
    pub fn save_result(
        &self,
        run: RunId,
        label: &str,
        draft: &ResultDraft,
        request: Request<'_>,
    ) -> Outcome<Made<RunRollId>> {
        self.change(request, |change| {
            let found = find_in::<Run>(change, run)?;
            if !after::developed(
                &found,
                &change.steps_of(Owner::Run(run))?,
                &change.marks_of(run)?,
            ) {
                return Err(at(
                    "run",
                    Error::new(
                        Kind::Conflict,
                        "the run",
                        found.state.word(),
                        "a run that is over, or was given up once the developer was in",
                        "Finish the run first. Rolls of one that developed nothing wait for another run.",
                    ),
                ));
            }
            let mut found = None;
            for on in change.rolls_of_run(run)? {
                let roll = find_in::<Roll>(change, on.roll)?;
                if roll.label.eq_ignore_ascii_case(label.trim()) {
                    found = Some((on, roll));
                }
            }
            let Some((on, roll)) = found else {
                return Err(super::super::error::unknown("roll of this run", label));
            };
            let mut r = Reader::new();
            let mut frames = |field: &str, text: &str| match text.trim() {
                "" => None,
                text => Some(r.whole(field, text, &FRAMES)),
            };
            let usable = frames("usable", &draft.usable);
            let fogged_start = frames("fogged_start", &draft.fogged_start);
            let fogged_end = frames("fogged_end", &draft.fogged_end);
            let told = [usable, fogged_start, fogged_end];
            let told: u32 = told.into_iter().flatten().sum();
            let most = most_frames(&roll);
            if most < told {
                r.fault(
                    "usable",
                    Error::new(
                        Kind::OutOfRange,
                        "frames of the roll",
                        format!("{told} in all"),
                        format!("at most the {most} that its {} clicks hold", roll.clicks),
                        "Count them again, or correct how the roll was wound.",
                    ),
                );
            }
            let on = RunRoll {
                usable,
                fogged_start,
                fogged_end,
                exposure: r.word("exposure", &draft.exposure, Exposure::from_word),
                note: r.free("note", "a note", &draft.note, 400),
                ..on
            };
            r.finish()?;
            let put = change.put(&on)?;
            change.about(Subject::of::<Roll>(roll.id));
            if let Some(loader) = roll.loader {
                change.about(Subject::of::<Loader>(loader));
            }
            let usable = on
                .usable
                .map_or_else(|| "not counted".to_owned(), |n| format!("{n} usable"));
            Ok((
                "run.result",
                format!("{}: {usable}, {}.", roll.label, on.exposure.word()),
                put,
            ))
        })
    }

    /// Runs a roll was or is in, newest first, and what came of it there.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn runs_of_roll(&self, roll: RollId) -> Outcome<Vec<(RunView, RunRoll)>> {
        let loaded = self.store().runs_of_roll(roll)?;
        loaded
            .into_iter()
            .map(|on| Ok((self.run(on.run)?, on)))
            .collect()
    }

    /// What the developed rolls of a loader say about its allowances.
    ///
    /// # Errors
    /// There is no such loader.
    pub fn loader_advice(&self, id: LoaderId) -> Outcome<LoaderAdvice> {
        let loader = self.find::<Loader>(id)?;
        let counted = |on: &RunRoll| {
            on.usable.is_some() || on.fogged_start.is_some() || on.fogged_end.is_some()
        };
        let judged = self.judged(counted, |roll| roll.loader == Some(id))?;
        let clicks = |roll: &Roll, frames: Option<u32>| {
            (frames.unwrap_or(0) * roll.advance_perforations)
                .div_ceil(spoolwright_core::film::PERFORATIONS_PER_CLICK)
        };
        let leader: Vec<End> = judged
            .iter()
            .map(|(on, roll)| End {
                allowed_clicks: roll.leader_clicks,
                fogged_clicks: clicks(roll, on.fogged_start),
            })
            .collect();
        let tail: Vec<End> = judged
            .iter()
            .filter(|(_, roll)| roll.light == Light::Room)
            .map(|(on, roll)| End {
                allowed_clicks: roll.tail_clicks,
                fogged_clicks: clicks(roll, on.fogged_end),
            })
            .collect();
        Ok(LoaderAdvice {
            leader: allowance(&leader, loader.leader_clicks),
            tail: allowance(&tail, loader.tail_clicks),
        })
    }

    /// How the developed rolls of a stock came out, by the EI they were exposed at: the meter's, else the label's.
    ///
    /// # Errors
    /// There is no such stock.
    pub fn stock_tallies(&self, id: StockId) -> Outcome<Vec<(Option<f64>, Tally)>> {
        let shelf = self.shelf()?;
        let of_stock = |roll: &Roll| shelf.can(roll.can).is_ok_and(|c| c.stock.id == id);
        let mut by_ei: BTreeMap<String, (Option<f64>, Vec<Exposure>)> = BTreeMap::new();
        for (on, roll) in self.judged(|on| on.exposure != Exposure::Unsaid, of_stock)? {
            // Development cut short says nothing about the exposure.
            if self.find::<Run>(on.run)?.state != RunState::Done {
                continue;
            }
            let ei = self.exposed_at(&roll)?.ei;
            let key = ei.map(|e| format!("{e:012.3}")).unwrap_or_default();
            let entry = by_ei.entry(key).or_insert((ei, Vec::new()));
            entry.1.push(on.exposure);
        }
        Ok(by_ei
            .into_values()
            .map(|(ei, all)| (ei, Tally::of(all)))
            .filter(|(_, t)| t.judged() > 0)
            .collect())
    }

    /// Rolls of runs that developed them of which somebody has said what is asked, newest run first, each once.
    fn judged(
        &self,
        said: impl Fn(&RunRoll) -> bool,
        which: impl Fn(&Roll) -> bool,
    ) -> Outcome<Vec<(RunRoll, Roll)>> {
        let store = self.store();
        let mut all: Vec<RunRoll> = store.all()?;
        all.reverse();
        // An end that was taken back takes what was counted with it, till the run is over again.
        let mut over: BTreeSet<RunId> = BTreeSet::new();
        for run in store.runs_in(RunState::Done)? {
            over.insert(run.id);
        }
        for run in store.runs_in(RunState::Abandoned)? {
            let steps = store.steps_of(Owner::Run(run.id))?;
            if after::developed(&run, &steps, &store.marks_of(run.id)?) {
                over.insert(run.id);
            }
        }
        let mut seen = BTreeSet::new();
        let mut found = Vec::new();
        for on in all {
            if !said(&on) || !over.contains(&on.run) || !seen.insert(on.roll) {
                continue;
            }
            if let Some(roll) = store.get::<Roll>(on.roll)?.filter(|r| which(r)) {
                found.push((on, roll));
            }
        }
        Ok(found)
    }
}
