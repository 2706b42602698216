//! Runs: a load of one tank through one recipe, its clock, and its end.
//!
//! The clock's state is worked out by [`spoolwright_core::wet::timer`] from marks in the store; nothing counts in
//! memory, so a page that reloads, a second window or a program started anew see the same.

use super::super::entry::{self, Reader};
use super::super::error::at;
use super::super::field::stays::end_stay;
use super::super::rolls::About;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::choose::poured;
use super::clock::{self, RunSecond};
use super::holds;
use super::press::{MarkDraft, PRESSES, bottle_told, must_be_likely, told};
use spoolwright_core::Error;
use spoolwright_core::bounds::Bounds;
use spoolwright_core::film::Pitch;
use spoolwright_core::shelf::{
    BathEventId, Can, Cassette, JournalEntry, Roll, RollState, RunId, Stock,
};
use spoolwright_core::wet::after;
use spoolwright_core::wet::bath::{self, What};
use spoolwright_core::wet::recipe::{Owner, Step};
use spoolwright_core::wet::record::{BathCard, BathEvent, Run, RunRoll, RunState, Tank};
use spoolwright_core::wet::temperature::DEFAULT_THERMOMETER_SD_C;
use spoolwright_core::wet::timer::{self, Call, MarkKind, Moment, Phase, Timer};
use spoolwright_store::{Change, Subject};

/// A roll in a run.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadedRoll {
    /// Its place and what came of it.
    pub on: RunRoll,
    /// The roll.
    pub roll: Roll,
}

/// A run with all that belongs to it.
#[derive(Debug, Clone, PartialEq)]
pub struct RunView {
    /// The run.
    pub run: Run,
    /// Its steps, in order.
    pub steps: Vec<Step>,
    /// Its rolls, as they lie in the reels.
    pub rolls: Vec<LoadedRoll>,
    /// Whether it developed them: it is over, or was given up once the developer was in.
    pub developed: bool,
    /// How many of its steps have begun.
    pub begun: u32,
}

impl RunView {
    /// Whether the step at a place, from zero, may still begin, so that its bottle can be changed.
    pub fn is_to_come(&self, place: u32) -> bool {
        let open = matches!(self.run.state, RunState::Planned | RunState::Running);
        open && self.begun <= place
    }

    /// Its name on a screen: the labels of its rolls, or what it rehearses.
    pub fn name(&self) -> String {
        if self.rolls.is_empty() {
            return match self.run.rehearsal {
                Some(_) => format!("Rehearsal {}", self.run.id),
                None => format!("Run {}", self.run.id),
            };
        }
        let labels: Vec<&str> = self.rolls.iter().map(|r| r.roll.label.as_str()).collect();
        labels.join(" + ")
    }
}

/// A run and where its clock stands.
#[derive(Debug, Clone, PartialEq)]
pub struct RunClock {
    /// The run.
    pub view: RunView,
    /// Where it stands.
    pub timer: Timer,
    /// The second it stands at.
    pub second: RunSecond,
    /// When the step that goes on began by the clock on the wall, UTC.
    pub began: Option<String>,
    /// Calls of the step that goes on, in its own seconds.
    pub calls: Vec<Call>,
    /// Its tank's name.
    pub tank: Option<String>,
    /// The bottle that the step going on is poured from.
    pub bottle: Option<String>,
    /// The bottle that the next step is poured from.
    pub next_bottle: Option<String>,
    /// The press that can be taken back: the newest thing that happened to the run, if it was one.
    pub last_press: Option<JournalEntry>,
}

impl Service {
    /// One run.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn run(&self, id: RunId) -> Outcome<RunView> {
        let run = self.find::<Run>(id)?;
        self.run_view(run)
    }

    /// Runs in one state, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn runs_in(&self, state: RunState) -> Outcome<Vec<RunView>> {
        let runs = self.store().runs_in(state)?;
        runs.into_iter().map(|r| self.run_view(r)).collect()
    }

    /// The newest runs before `before`, newest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn recent_runs(&self, before: Option<RunId>, most: u32) -> Outcome<Vec<RunView>> {
        let runs = self.store().recent_runs(before, most)?;
        runs.into_iter().map(|r| self.run_view(r)).collect()
    }

    /// Runs that developed rolls whose frames nobody has counted yet, newest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn uncounted_runs(&self) -> Outcome<Vec<RunView>> {
        let runs = self.store().uncounted_runs()?;
        let views = runs.into_iter().map(|r| self.run_view(r));
        views
            .filter(|v| v.as_ref().map_or(true, |v| v.developed))
            .collect()
    }

    pub(super) fn run_view(&self, run: Run) -> Outcome<RunView> {
        let store = self.store();
        let steps = store.steps_of(Owner::Run(run.id))?;
        let mut rolls = Vec::new();
        for on in store.rolls_of_run(run.id)? {
            if let Some(roll) = store.get::<Roll>(on.roll)? {
                rolls.push(LoadedRoll { on, roll });
            }
        }
        let marks = match run.state {
            RunState::Abandoned | RunState::Running => store.marks_of(run.id)?,
            RunState::Planned | RunState::Done => Vec::new(),
        };
        let begun = match run.state {
            RunState::Done => steps.len(),
            _ => marks.iter().filter(|m| m.kind == MarkKind::Begin).count(),
        };
        Ok(RunView {
            begun: begun.try_into().unwrap_or(u32::MAX),
            developed: after::developed(&run, &steps, &marks),
            run,
            steps,
            rolls,
        })
    }

    /// A run's clock, now.
    ///
    /// # Errors
    /// There is none of that number; its marks are damaged.
    pub fn run_clock(&self, id: RunId) -> Outcome<RunClock> {
        let view = self.run(id)?;
        let marks = self.store().marks_of(id)?;
        let second = clock::second(&marks, &self.moment(), pace(&view.run));
        let timer = Timer::at(&view.steps, &marks, second.at_s, DEFAULT_THERMOMETER_SD_C)?;
        let calls = match &timer.phase {
            Phase::Running(s) => timer::calls(&view.steps[s.step as usize], s.ends_s),
            _ => Vec::new(),
        };
        let tank = view.run.tank.map(|id| self.find::<Tank>(id)).transpose()?;
        let bottle = |place: u32| -> Outcome<Option<String>> {
            let bath = view.steps.get(place as usize).and_then(|s| s.bath);
            let card = bath.map(|id| self.find::<BathCard>(id)).transpose()?;
            Ok(card.map(|c| c.name))
        };
        let of_now = match &timer.phase {
            Phase::Running(s) => bottle(s.step)?,
            _ => None,
        };
        let of_next = timer.next_step().map(bottle).transpose()?.flatten();
        Ok(RunClock {
            bottle: of_now,
            next_bottle: of_next,
            last_press: self.last_press(id)?,
            tank: tank.map(|t| t.name),
            began: clock::step_began(&marks).map(str::to_owned),
            view,
            timer,
            second,
            calls,
        })
    }

    fn last_press(&self, id: RunId) -> Outcome<Option<JournalEntry>> {
        let newest = self.history(About::Run(id), None)?;
        let last = newest.into_iter().find(|e| !e.undone && e.undoes.is_none());
        Ok(last.filter(|e| PRESSES.contains(&e.verb.as_str())))
    }

    /// Clocks of every run that is going, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn running_clocks(&self) -> Outcome<Vec<RunClock>> {
        let runs = self.store().runs_in(RunState::Running)?;
        runs.into_iter().map(|r| self.run_clock(r.id)).collect()
    }

    /// A press at the tank. Beginning the first step starts the run, and every step is poured anew as it begins; the finish makes its rolls developed and draws on
    /// the baths it was poured from, and so does giving up, as far as the steps had begun.
    ///
    /// # Errors
    /// Faults of the draft; a press that cannot follow, such as one that another screen made already.
    pub fn press(&self, id: RunId, draft: &MarkDraft, request: Request<'_>) -> Outcome<Made<()>> {
        let fahrenheit = self.settings()?.fahrenheit;
        let today = self.today();
        self.change(request, |change| {
            // Read once no other press can come in between, or the time spent waiting for it would count twice.
            let moment = self.moment();
            let run = find_in::<Run>(change, id)?;
            let steps = change.steps_of(Owner::Run(id))?;
            let marks = change.marks_of(id)?;
            let second = clock::second(&marks, &moment, pace(&run));
            let timer = Timer::at(&steps, &marks, second.at_s, DEFAULT_THERMOMETER_SD_C)?;
            let mut mark = draft.read(&timer, fahrenheit)?;
            timer.may(mark.kind, mark.step)?;
            if mark.kind == MarkKind::Reading && !draft.is_sure() {
                must_be_likely(&mark, &timer, &steps)?;
            }
            mark.run = id;
            mark.at_s = second.at_s;
            mark.moment = moment;
            let before = steps;
            let steps = match (mark.kind, mark.step) {
                (MarkKind::Begin, Some(place)) => {
                    poured(change, &run, &before, place as usize, &today)?
                }
                _ => before.clone(),
            };
            Timer::after(&steps, &marks, &mark, DEFAULT_THERMOMETER_SD_C)
                .map_err(|e| at("value", e))?;
            change.put(&mark)?;
            let (verb, mut story) = match (&timer.phase, mark.kind) {
                (Phase::Waiting, MarkKind::Reading) => bottle_told(&mark),
                _ => told(&mark, &steps),
            };
            match mark.kind {
                MarkKind::Begin => {
                    change.put_steps(Owner::Run(id), &steps)?;
                    let moved = |n: &u32| steps[*n as usize].time_s != before[*n as usize].time_s;
                    if let Some(n) = mark.step.filter(moved) {
                        story += &format!(" {}", steps[n as usize].because);
                    }
                    if run.state == RunState::Planned {
                        let run = Run {
                            state: RunState::Running,
                            ..run
                        };
                        change.put(&run)?;
                        holds::must_have_its_tank(change, &run)?;
                    }
                }
                MarkKind::Finish => {
                    end(change, &run, RunState::Done, &steps, &today)?;
                }
                MarkKind::Abandon => {
                    let poured = &steps[..begun(&timer).min(steps.len())];
                    let developed = end(change, &run, RunState::Abandoned, poured, &today)?;
                    if !developed.is_empty() {
                        story += &format!(
                            " The developer had been in, so {} developed as far as that went.",
                            say(&developed)
                        );
                    }
                }
                _ => {}
            }
            change.about(Subject::of::<Run>(id));
            Ok((verb, story, ()))
        })
    }

    /// Whether a press by the form of that name was recorded: its answer may have been lost on the way.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn was_recorded(&self, request: &str) -> Outcome<bool> {
        Ok(self.store().was_asked(request)?)
    }

    /// This moment by both clocks.
    fn moment(&self) -> Moment {
        let tick = (self.ticker)();
        Moment {
            boot: tick.boot,
            since_boot_s: tick.since_boot_s,
            utc: (self.clock)().to_string(),
        }
    }
}

fn pace(run: &Run) -> f64 {
    run.rehearsal.unwrap_or(1.0)
}

/// How many steps have begun.
fn begun(timer: &Timer) -> usize {
    timer.done.len() + usize::from(matches!(timer.phase, Phase::Running(_)))
}

/// `A is` or `A, B are`.
fn say(labels: &[String]) -> String {
    let verb = if labels.len() == 1 { "is" } else { "are" };
    format!("{} {verb}", labels.join(", "))
}

/// The end of a run that was poured so far: the baths of those steps have had so much film, and once a developer was in,
/// the rolls are developed. Gives the labels of rolls that became so.
fn end(
    change: &mut Change<'_>,
    run: &Run,
    state: RunState,
    poured: &[Step],
    today: &str,
) -> Outcome<Vec<String>> {
    change.put(&Run {
        state,
        ..run.clone()
    })?;
    if run.rehearsal.is_some() || poured.is_empty() {
        return Ok(Vec::new());
    }
    let develops = poured.iter().any(|s| s.kind.develops());
    let mut developed = Vec::new();
    let area_m2 = area_of_run(change, run.id)?;
    for on in change.rolls_of_run(run.id)? {
        let roll = find_in::<Roll>(change, on.roll)?;
        // A roll that somebody scrapped meanwhile stays scrapped.
        if develops && roll.state.holds_cassette() {
            developed.push(roll.label.clone());
            change.about(Subject::of::<Can>(roll.can));
            if let Some(cassette) = roll.cassette {
                change.about(Subject::of::<Cassette>(cassette));
            }
            end_stay(change, roll.id, RollState::Developed, today)?;
            change.put(&Roll {
                state: RollState::Developed,
                ..roll
            })?;
        }
    }
    let mut drawn: Vec<_> = poured.iter().filter_map(|s| s.bath).collect();
    drawn.sort_unstable();
    drawn.dedup();
    for bath in drawn.into_iter().filter(|_| area_m2 > 0.0) {
        let card = find_in::<BathCard>(change, bath)?;
        change.put(&BathEvent {
            id: BathEventId(0),
            bath,
            day: today.to_owned(),
            run: Some(run.id),
            what: What::Run { area_m2 },
            note: String::new(),
        })?;
        change.about(Subject::of::<BathCard>(card.id));
    }
    Ok(developed)
}

/// Film area of all rolls of a run, m²; nothing for a rehearsal.
pub(super) fn area_of_run(change: &Change<'_>, run: RunId) -> Outcome<f64> {
    let mut sum = 0.0;
    for on in change.rolls_of_run(run)? {
        let roll = find_in::<Roll>(change, on.roll)?;
        let can = find_in::<Can>(change, roll.can)?;
        let stock = find_in::<Stock>(change, can.stock)?;
        sum += film_area_m2(&roll, stock.pitch)?;
    }
    Ok(sum)
}

/// Film area of a roll as it was wound, m²: its clicks, at eight perforations each.
pub(super) fn film_area_m2(roll: &Roll, pitch: Pitch) -> Result<f64, Error> {
    bath::film_area_m2(roll.clicks * pitch.click().to_mm(), bath::FILM_WIDTH_MM)
}

/// Seconds typed as a rehearsal's pace.
pub(super) const PACE: Bounds = Bounds {
    what: "a rehearsal's pace",
    unit: "",
    min: 1.0,
    max: 240.0,
};

pub(super) fn pace_of(r: &mut Reader, text: &str) -> Option<f64> {
    r.optional("rehearsal", text, entry::PLAIN, &PACE)
}
