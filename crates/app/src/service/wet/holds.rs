//! Which run holds a roll or a tank: no roll lies in two tanks, no tank goes twice at once, and what an undo leaves of a
//! run can be gone on with.
//!
//! A rehearsal holds nothing: its tank is empty.

use super::super::error::at;
use super::super::{Failure, Outcome, find_in};
use spoolwright_core::shelf::{Roll, RollId, RollState, RunId, StepId};
use spoolwright_core::wet::after;
use spoolwright_core::wet::recipe::{Owner, Step};
use spoolwright_core::wet::record::{Run, RunState, Tank};
use spoolwright_core::wet::temperature::DEFAULT_THERMOMETER_SD_C;
use spoolwright_core::wet::timer::Timer;
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Record};

/// Whether a run holds its rolls.
pub(super) fn holds(run: &Run) -> bool {
    run.rehearsal.is_none() && matches!(run.state, RunState::Planned | RunState::Running)
}

fn refused(field: &str, what: String, given: &str, allowed: &str, remedy: &str) -> Failure {
    at(
        field,
        Error::new(Kind::Conflict, what, given, allowed, remedy),
    )
}

/// The run that holds a roll.
fn holder(change: &Change<'_>, roll: RollId) -> Outcome<Option<Run>> {
    for on in change.runs_of_roll(roll)? {
        let run = find_in::<Run>(change, on.run)?;
        if holds(&run) {
            return Ok(Some(run));
        }
    }
    Ok(None)
}

/// Makes sure a roll is not loaded twice, and belongs in a tank at all.
pub(super) fn must_be_free(change: &Change<'_>, roll: &Roll) -> Outcome<()> {
    let what = format!("roll {}", roll.label);
    if !roll.state.holds_cassette() {
        return Err(refused(
            "reels",
            what,
            roll.state.word(),
            "wound, in-camera or exposed",
            "Only film that is not developed yet goes into a tank.",
        ));
    }
    if let Some(run) = holder(change, roll.id)? {
        return Err(refused(
            "reels",
            what,
            &format!("loaded in run {}", run.id),
            "a roll that no other run holds",
            "Give that run up first, on its own page.",
        ));
    }
    Ok(())
}

/// Makes sure a roll that a run holds stays film that goes into its tank: the run says when it is developed.
///
/// # Errors
/// A run holds the roll, and `state` is none that a loaded roll can be in.
pub(in crate::service) fn must_not_leave_its_tank(
    change: &Change<'_>,
    roll: &Roll,
    state: RollState,
) -> Outcome<()> {
    if state == roll.state || matches!(state, RollState::Wound | RollState::Exposed) {
        return Ok(());
    }
    let Some(run) = holder(change, roll.id)? else {
        return Ok(());
    };
    Err(refused(
        "state",
        format!("roll {}, loaded in run {}", roll.label, run.id),
        state.word(),
        "wound or exposed while a run holds it",
        match run.state {
            RunState::Running => "Go on to the end of the run, or give it up at its clock.",
            _ => "Develop it in that run, or give that run up first, on its own page.",
        },
    ))
}

/// Makes sure that the tank of a run whose clock goes is in no other such run.
pub(super) fn must_have_its_tank(change: &Change<'_>, run: &Run) -> Outcome<()> {
    let going = |r: &Run| r.state == RunState::Running && holds(r);
    let Some(tank) = run.tank.filter(|_| going(run)) else {
        return Ok(());
    };
    let all = change.all::<Run>()?;
    let Some(other) = all
        .iter()
        .find(|r| r.id != run.id && r.tank == Some(tank) && going(r))
    else {
        return Ok(());
    };
    Err(refused(
        "tank",
        find_in::<Tank>(change, tank)?.name,
        &format!("going in run {}", other.id),
        "a tank that no other run is going in",
        "Finish that run or give it up first; or give this one up and load another tank.",
    ))
}

/// Refuses an undo that would leave a run nobody can go on with: a press that later ones rest on, a roll in two runs or
/// in one that is to develop it again, a step changed while its bath is in.
///
/// # Errors
/// What would not fit, or trouble with the store.
pub(in crate::service) fn must_fit(change: &Change<'_>) -> Outcome<()> {
    let mut runs: Vec<Run> = Vec::new();
    for subject in change.subjects() {
        if subject.kind == Run::TABLE {
            runs.extend(change.get::<Run>(RunId(subject.id))?);
        } else if subject.kind == Roll::TABLE {
            for on in change.runs_of_roll(RollId(subject.id))? {
                runs.extend(change.get::<Run>(on.run)?);
            }
        }
    }
    runs.sort_by_key(|r| r.id.0);
    runs.dedup_by_key(|r| r.id.0);
    // A press that begins the run, or is taken back, changes the run itself with its steps.
    let pressed = change.rows_of::<Run>();
    for step in change.rows_of::<Step>() {
        let step = change.get::<Step>(StepId(step))?;
        if let Some(Owner::Run(id)) = step.map(|s| s.owner)
            && !pressed.contains(&id.0)
        {
            must_be_unpoured(&find_in::<Run>(change, id)?)?;
        }
    }
    for run in &runs {
        must_be_readable(change, run)?;
        if holds(run) {
            must_have_its_rolls(change, run)?;
            must_have_its_tank(change, run)?;
        }
    }
    Ok(())
}

fn must_be_unpoured(run: &Run) -> Outcome<()> {
    if run.state == RunState::Planned {
        return Ok(());
    }
    Err(Error::new(
        Kind::Conflict,
        "a change to take back",
        format!("one of the steps of run {}, which has begun", run.id),
        "steps of a run that has not begun",
        "What is poured is poured. Take back the run's presses first, or make the step longer at its clock.",
    )
    .into())
}

fn must_be_readable(change: &Change<'_>, run: &Run) -> Outcome<()> {
    let steps = change.steps_of(Owner::Run(run.id))?;
    let marks = change.marks_of(run.id)?;
    let Some(last) = marks.last() else {
        return Ok(());
    };
    Timer::at(&steps, &marks, last.at_s, DEFAULT_THERMOMETER_SD_C).map_err(|e| {
        Error::new(
            Kind::Conflict,
            "a press to take back",
            format!("one that a later press rests on ({}: {})", e.what, e.given),
            "the run's newest press",
            "Take back the later ones first: the run's history lists them.",
        )
    })?;
    Ok(())
}

fn must_have_its_rolls(change: &Change<'_>, run: &Run) -> Outcome<()> {
    let refuse = |given: String, remedy: String| -> Outcome<()> {
        Err(Error::new(
            Kind::Conflict,
            "a change to take back",
            given,
            format!("rolls of run {} that nothing else was done with", run.id),
            remedy,
        )
        .into())
    };
    for on in change.rolls_of_run(run.id)? {
        let roll = find_in::<Roll>(change, on.roll)?;
        for other in change.runs_of_roll(roll.id)? {
            let other = find_in::<Run>(change, other.run)?;
            let later = other.id.0 > run.id.0
                && after::developed(
                    &other,
                    &change.steps_of(Owner::Run(other.id))?,
                    &change.marks_of(other.id)?,
                );
            if other.id != run.id && (holds(&other) || later) {
                return refuse(
                    format!(
                        "{} would be in run {} again, and is in run {} by now",
                        roll.label, run.id, other.id
                    ),
                    format!("Take run {} back first, or give it up.", other.id),
                );
            }
        }
        if matches!(roll.state, RollState::Developed | RollState::Filed) {
            return refuse(
                format!(
                    "{} would be {}, and in run {}, which is not over",
                    roll.label,
                    roll.state.word(),
                    run.id
                ),
                format!("Take run {} back first, or give it up.", run.id),
            );
        }
    }
    Ok(())
}
