//! The clock of a run: where it stands at a given second, from the steps and the marks a person made.
//!
//! Nothing counts here. A run is a list of marks, each so many seconds after the first; where it stands now follows
//! from them, so a page that reloads, a phone that locks or a program that is killed changes nothing. What a second
//! is, and which clock tells it, is the caller's business.
//!
//! Invariant: a step ends when a person says so (the next one begins), never by itself: while nobody has poured the
//! developer out, the film goes on developing, and the clock says by how much.

use super::doubts::doubts;
use super::drift::{Drift, Reading};
use super::recipe::{self, Step};
use super::temperature::{BATH_C, Base};
use crate::bounds::DEVELOPING_MIN;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::shelf::{MarkId, RunId};
use crate::words::worded;

worded! {
    /// What a mark says.
    MarkKind {
        /// A step begins: its bath is being poured in.
        #[default]
        Begin = "begin",
        /// Calls to move the tank are silent for a while; the film stays in its bath and the time goes on. That it must
        /// come out is called all the same.
        Quiet = "quiet",
        /// The bath is out of the tank: the step's time stands still.
        Out = "out",
        /// The end of a quiet or a standstill.
        Resume = "resume",
        /// A thermometer reading of the bath, °C; before anything has begun, of the developer in its bottle.
        Reading = "reading",
        /// So many seconds of the clock more (or fewer) for this step, because a person says so.
        Extend = "extend",
        /// The last step is over.
        Finish = "finish",
        /// The run was given up.
        Abandon = "abandon",
    }
}

/// When a mark was made, by every clock there is.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Which start of the machine `since_boot_s` counts from; empty where that is not known.
    pub boot: String,
    /// Seconds since the machine started, sleep included: no change of the wall clock moves it.
    pub since_boot_s: f64,
    /// UTC, RFC 3339.
    pub utc: String,
}

/// One thing a person did at the tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Number in the store.
    pub id: MarkId,
    /// The run.
    pub run: RunId,
    /// Seconds after the run's first mark.
    pub at_s: f64,
    /// What it says.
    pub kind: MarkKind,
    /// The step that begins, by its place; none for other marks.
    pub step: Option<u32>,
    /// Degrees or seconds, as the kind asks.
    pub value: Option<f64>,
    /// Why: the reason of a pause.
    pub note: String,
    /// When it was made.
    pub moment: Moment,
}

/// A pause.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pause {
    /// The film is in its bath; only calls to move the tank are silent.
    Quiet,
    /// The bath is out; time stands still.
    Out,
}

/// A call the bench makes during a step, in seconds of the step's own time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Call {
    /// When.
    pub at_s: f64,
    /// What.
    pub what: CallKind,
}

worded! {
    /// What a call asks for.
    CallKind {
        /// Begin to move the tank.
        #[default]
        Agitate = "agitate",
        /// Let it stand.
        Rest = "rest",
        /// Begin to pour out.
        PourOut = "pour-out",
        /// The step's time is over.
        Next = "next",
    }
}

worded! {
    /// Which doubt makes most of a margin.
    Doubt {
        /// How fast this developer answers to warmth.
        #[default]
        Coefficient = "coefficient",
        /// The thermometer's own error.
        Thermometer = "thermometer",
        /// Where the bath's temperature is going.
        Trend = "trend",
    }
}

/// How one step stands.
#[derive(Debug, Clone, PartialEq)]
pub struct StepState {
    /// Its place among the steps.
    pub step: u32,
    /// When it began, seconds of the run.
    pub began_s: f64,
    /// Its own time so far (or in all), seconds: standstills left out.
    pub elapsed_s: f64,
    /// Its own time at which it should end, by the temperatures known, seconds.
    pub ends_s: f64,
    /// How far that end may be wrong by the bath's temperature alone, seconds either way (95 %): how well the step's own
    /// time is known is not in it. Zero for a step that temperature does not touch, or touches in a way nobody knows,
    /// which a caveat says.
    pub margin_s: f64,
    /// What makes most of that margin; none without one.
    pub mostly: Option<Doubt>,
    /// Development so far in seconds at the step's own temperature; none for a step that does not develop.
    pub done_s: Option<f64>,
    /// What limits that end.
    pub caveats: Vec<Caveat>,
    /// Readings, in the step's own time.
    pub readings: Vec<Reading>,
    /// A pause going on.
    pub pause: Option<Pause>,
    /// When it ended, seconds of the run; none while it goes on.
    pub over_at_s: Option<f64>,
}

impl StepState {
    /// Seconds left; below zero when the film has been in too long.
    pub fn left_s(&self) -> f64 {
        self.ends_s - self.elapsed_s
    }
}

/// Where a run stands.
#[derive(Debug, Clone, PartialEq)]
pub enum Phase {
    /// Nothing has begun.
    Waiting,
    /// A step goes on.
    Running(StepState),
    /// All is over.
    Finished,
    /// Given up.
    Abandoned,
}

/// A run at one second: where it stands and what went before.
#[derive(Debug, Clone, PartialEq)]
pub struct Timer {
    /// Where it stands.
    pub phase: Phase,
    /// Steps that are over, in the order they were done.
    pub done: Vec<StepState>,
    /// How many steps the run has.
    pub steps: u32,
    /// What the developer's bottle showed before it went in, °C: the first developing step's reading at 0 s. None once
    /// that is longer ago than [`BOTTLE_KEEPS_S`].
    pub bottle_c: Option<f64>,
}

/// So long a reading of the developer in its bottle holds, seconds: own rule. A room warms or cools a bottle by more than
/// a thermometer's error in the time after it.
pub const BOTTLE_KEEPS_S: f64 = 1800.0;

/// Shortest time of a step that does not develop, seconds: own rule.
const LEAST_STEP_S: f64 = 1.0;

impl Timer {
    /// The run just after one more mark.
    ///
    /// # Errors
    /// [`Kind::Conflict`] when it cannot follow those before; whatever would make the run unreadable with it.
    pub fn after(
        steps: &[Step],
        marks: &[Mark],
        mark: &Mark,
        thermometer_sd_c: f64,
    ) -> Result<Self, Error> {
        let all: Vec<Mark> = marks.iter().chain([mark]).cloned().collect();
        Self::at(steps, &all, mark.at_s, thermometer_sd_c)
    }

    /// The run at second `now_s` after its first mark. `steps` lie in order; `marks` in the order they were made.
    ///
    /// # Source
    /// Own derivation; the end of a developing step is [`Drift`]'s.
    /// # Errors
    /// [`Kind::Inconsistent`] for marks that cannot follow each other or a step that is not there; faults of a
    /// step's rate.
    pub fn at(
        steps: &[Step],
        marks: &[Mark],
        now_s: f64,
        thermometer_sd_c: f64,
    ) -> Result<Self, Error> {
        let mut timer = Self {
            phase: Phase::Waiting,
            done: Vec::new(),
            steps: steps.len().try_into().unwrap_or(u32::MAX),
            bottle_c: None,
        };
        let colour = recipe::makes_colour(steps);
        let mut open: Option<Open<'_>> = None;
        let mut bottle_at_s = 0.0;
        let keeps = |bottle_at_s: f64, at_s: f64| at_s - bottle_at_s <= BOTTLE_KEEPS_S;
        for mark in marks {
            timer.must_allow(mark.kind, mark.step, open.as_ref().and_then(|o| o.pause()))?;
            match mark.kind {
                MarkKind::Begin => {
                    let place = mark.step.unwrap_or(0);
                    let step = steps.get(place as usize).ok_or_else(|| absent(place))?;
                    if let Some(before) = open.take() {
                        timer
                            .done
                            .push(before.state(mark.at_s, true, thermometer_sd_c)?);
                    }
                    let mut next = Open::new(step, place, colour, mark.at_s);
                    if step.kind.develops()
                        && let Some(c) = timer.bottle_c.take()
                        && keeps(bottle_at_s, mark.at_s)
                    {
                        next.readings.push(Reading { t_s: 0.0, c });
                    }
                    timer.phase = Phase::Running(next.state(mark.at_s, false, thermometer_sd_c)?);
                    open = Some(next);
                }
                MarkKind::Finish | MarkKind::Abandon => {
                    if let Some(before) = open.take() {
                        timer
                            .done
                            .push(before.state(mark.at_s, true, thermometer_sd_c)?);
                    }
                    timer.phase = if mark.kind == MarkKind::Finish {
                        Phase::Finished
                    } else {
                        Phase::Abandoned
                    };
                }
                _ => match open.as_mut() {
                    Some(o) => {
                        o.take(mark)?;
                        // Whatever cannot be worked out with it is found here, whichever marks follow.
                        timer.phase =
                            Phase::Running(o.state(mark.at_s, false, thermometer_sd_c)?);
                    }
                    None => {
                        timer.bottle_c = Some(BATH_C.check(value(mark)?)?);
                        bottle_at_s = mark.at_s;
                    }
                },
            }
        }
        timer.bottle_c = timer.bottle_c.filter(|_| keeps(bottle_at_s, now_s));
        if let Some(o) = open {
            timer.phase = Phase::Running(o.state(now_s, false, thermometer_sd_c)?);
        }
        Ok(timer)
    }

    /// Whether a mark of that kind can be made now.
    ///
    /// # Errors
    /// [`Kind::Conflict`], saying where the run stands and what can be done.
    pub fn may(&self, kind: MarkKind, step: Option<u32>) -> Result<(), Error> {
        let pause = match &self.phase {
            Phase::Running(s) => s.pause,
            _ => None,
        };
        self.must_allow(kind, step, pause)
    }

    /// The step that the next press begins; none when the last is going on or all is over.
    pub fn next_step(&self) -> Option<u32> {
        match &self.phase {
            Phase::Waiting => (self.steps > 0).then_some(0),
            Phase::Running(s) => (s.step + 1 < self.steps).then_some(s.step + 1),
            Phase::Finished | Phase::Abandoned => None,
        }
    }

    fn must_allow(
        &self,
        kind: MarkKind,
        step: Option<u32>,
        pause: Option<Pause>,
    ) -> Result<(), Error> {
        let refuse = |allowed: &str, remedy: &str| {
            Err(Error::new(
                Kind::Conflict,
                "the run's clock",
                kind.word(),
                allowed,
                remedy,
            ))
        };
        match (&self.phase, kind) {
            (Phase::Finished | Phase::Abandoned, _) => {
                refuse("nothing more", "The run is over. Undo its end first.")
            }
            (Phase::Waiting, MarkKind::Begin) if step == Some(0) => Ok(()),
            (Phase::Waiting, MarkKind::Abandon | MarkKind::Reading) => Ok(()),
            (Phase::Waiting, _) => refuse("the first step", "Begin with the first step."),
            (Phase::Running(_), MarkKind::Begin) if step.is_none() || step != self.next_step() => {
                refuse(
                    "the step after the one that goes on",
                    "Another screen may have been faster. Look at where the clock stands.",
                )
            }
            (Phase::Running(_), MarkKind::Finish) if self.next_step().is_some() => refuse(
                "the next step",
                "There are steps left. Go on, or give the run up.",
            ),
            (Phase::Running(_), MarkKind::Quiet | MarkKind::Out) if pause.is_some() => {
                refuse("go on", "It is paused already.")
            }
            (Phase::Running(_), MarkKind::Resume) if pause.is_none() => {
                refuse("a pause first", "It is not paused.")
            }
            (Phase::Running(_), _) => Ok(()),
        }
    }
}

fn absent(place: u32) -> Error {
    Error::new(
        Kind::Inconsistent,
        "a step of the run",
        place,
        "one of its steps",
        "The record is damaged: give the run up and begin anew.",
    )
}

/// The number a mark carries.
fn value(mark: &Mark) -> Result<f64, Error> {
    mark.value.ok_or_else(|| {
        Error::missing(
            format!("the value of a mark {:?}", mark.kind.word()),
            "a number",
            "Give it.",
        )
    })
}

/// A step that goes on, while marks are read.
struct Open<'a> {
    step: &'a Step,
    place: u32,
    /// Whether it is one of a colour process.
    colour: bool,
    began_s: f64,
    /// Standstills that are over, seconds.
    stood_s: f64,
    pause: Option<(Pause, f64)>,
    extended_s: f64,
    /// In the step's own time.
    readings: Vec<Reading>,
}

impl<'a> Open<'a> {
    fn new(step: &'a Step, place: u32, colour: bool, began_s: f64) -> Self {
        Self {
            step,
            place,
            colour,
            began_s,
            stood_s: 0.0,
            pause: None,
            extended_s: 0.0,
            readings: Vec::new(),
        }
    }

    fn pause(&self) -> Option<Pause> {
        self.pause.map(|(p, _)| p)
    }

    /// The step's own time at a second of the run.
    fn own_s(&self, at_s: f64) -> f64 {
        let until = match self.pause {
            Some((Pause::Out, since)) => since,
            _ => at_s,
        };
        (until - self.began_s - self.stood_s).max(0.0)
    }

    fn take(&mut self, mark: &Mark) -> Result<(), Error> {
        match mark.kind {
            MarkKind::Quiet => self.pause = Some((Pause::Quiet, mark.at_s)),
            MarkKind::Out => self.pause = Some((Pause::Out, mark.at_s)),
            MarkKind::Resume => {
                if let Some((Pause::Out, since)) = self.pause.take() {
                    self.stood_s += mark.at_s - since;
                }
            }
            MarkKind::Reading => {
                let reading = Reading {
                    t_s: self.own_s(mark.at_s),
                    c: value(mark)?,
                };
                // Two within the same moment: the later is the correction of the earlier.
                match self.readings.last_mut() {
                    Some(last) if reading.t_s - last.t_s < 1e-3 => last.c = reading.c,
                    _ => self.readings.push(reading),
                }
            }
            MarkKind::Extend => {
                let extended_s = self.extended_s + value(mark)?;
                self.must_be_a_time(extended_s, value(mark)?)?;
                self.extended_s = extended_s;
            }
            MarkKind::Begin | MarkKind::Finish | MarkKind::Abandon => {}
        }
        Ok(())
    }

    /// A step made shorter must still be one, and one made longer no more than a day.
    fn must_be_a_time(&self, extended_s: f64, by_s: f64) -> Result<(), Error> {
        let least_s = if self.step.kind.develops() {
            DEVELOPING_MIN.min * 60.0
        } else {
            LEAST_STEP_S.min(self.step.time_s)
        };
        let most_s = DEVELOPING_MIN.max * 60.0;
        if (least_s..=most_s).contains(&(self.step.time_s + extended_s)) {
            return Ok(());
        }
        Err(Error::new(
            Kind::OutOfRange,
            format!("the time of {}", self.step.kind.spoken()),
            format!(
                "{by_s:+.0} s to {:.0} s",
                self.step.time_s + self.extended_s
            ),
            format!("{least_s:.0} s to {most_s:.0} s in all"),
            "Change it by less; to end the step now, begin the next one.",
        ))
    }

    fn state(&self, at_s: f64, over: bool, thermometer_sd_c: f64) -> Result<StepState, Error> {
        let elapsed_s = self.own_s(at_s);
        let develops = self.step.kind.develops();
        let coefficient = self.step.coefficient(self.colour)?.filter(|_| develops);
        let stood = self.stood_s > 0.0 || self.pause() == Some(Pause::Out);
        let mut caveats = doubts(self.step, self.colour, stood, &self.readings);
        let mut mostly = None;
        let (stop_s, margin_s, done_s) = match (self.step.temperature_c, coefficient) {
            (Some(at_c), Some(coefficient)) => {
                let meant = [Reading { t_s: 0.0, c: at_c }];
                let readings = if self.readings.is_empty() {
                    &meant[..]
                } else {
                    &self.readings
                };
                let base = Base::new(self.step.time_s / 60.0, at_c)?;
                let drift = Drift::new(base, coefficient, readings)?
                    .with_thermometer_sd(thermometer_sd_c)?;
                // Short times are uneven by memory of black and white [D6]; a colour process has its own.
                let kept = |c: &Caveat| !(self.colour && c.code == "short_time");
                caveats.extend(drift.caveats().into_iter().filter(kept));
                let margin = drift.margin();
                let doubts = [
                    (Doubt::Coefficient, margin.q10_s),
                    (Doubt::Thermometer, margin.thermometer_s),
                    (Doubt::Trend, margin.trend_s.abs()),
                ];
                mostly = doubts
                    .into_iter()
                    .filter(|d| d.1 > 0.0)
                    .max_by(|a, b| a.1.total_cmp(&b.1))
                    .map(|d| d.0);
                (
                    drift.stop_at_s(),
                    drift.margin_s(),
                    Some(drift.done_s(elapsed_s)),
                )
            }
            _ => (self.step.time_s, 0.0, develops.then_some(elapsed_s)),
        };
        // What a person adds or takes off is told by the clock, whatever the bath's temperature.
        let ends_s = (stop_s + self.extended_s).max(0.0);
        Ok(StepState {
            step: self.place,
            began_s: self.began_s,
            elapsed_s,
            ends_s,
            margin_s,
            mostly,
            done_s,
            caveats,
            readings: self.readings.clone(),
            pause: if over { None } else { self.pause() },
            over_at_s: over.then_some(at_s),
        })
    }
}

/// Every call of a step whose end lies at `ends_s`, in order.
///
/// No agitation is called once pouring out has begun.
pub fn calls(step: &Step, ends_s: f64) -> Vec<Call> {
    let pour_s = (ends_s - step.drain_s).max(0.0);
    let mut calls = Vec::new();
    for (begin, end) in step.agitation.spans(pour_s) {
        calls.push(Call {
            at_s: begin,
            what: CallKind::Agitate,
        });
        calls.push(Call {
            at_s: end,
            what: CallKind::Rest,
        });
    }
    if step.drain_s > 0.0 {
        calls.push(Call {
            at_s: pour_s,
            what: CallKind::PourOut,
        });
    }
    calls.push(Call {
        at_s: ends_s,
        what: CallKind::Next,
    });
    calls
}
