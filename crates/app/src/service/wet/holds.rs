//! Which run holds a roll or a tank: no roll lies in two tanks, no tank goes twice at once, and what an undo leaves of a
//! run can be gone on with.
//!
//! A rehearsal holds nothing: its tank is empty.

use super::super::error::at;
use super::super::{Failure, Outcome, find_in};
use super::baths;
use super::choose::begins;
use spoolwright_core::shelf::{
    BathEventId, BathId, MarkId, Roll, RollId, RollState, RunId, StepId,
};
use spoolwright_core::wet::after;
use spoolwright_core::wet::bath::What;
use spoolwright_core::wet::recipe::{Owner, Step};
use spoolwright_core::wet::record::{BathCard, BathEvent, Run, RunState, Tank};
use spoolwright_core::wet::temperature::DEFAULT_THERMOMETER_SD_C;
use spoolwright_core::wet::timer::{Mark, Timer};
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

/// Makes sure a roll that a run holds keeps the EI that the run's time was made for.
///
/// # Errors
/// A run holds the roll.
pub(in crate::service) fn must_keep_its_ei(
    change: &Change<'_>,
    roll: &Roll,
    ei: Option<f64>,
) -> Outcome<()> {
    let Some(run) = holder(change, roll.id)?.filter(|_| ei != roll.ei) else {
        return Ok(());
    };
    let said = |ei: Option<f64>| ei.map_or_else(|| "none".to_owned(), |ei| ei.to_string());
    Err(refused(
        "ei",
        format!("the EI of roll {}, loaded in run {}", roll.label, run.id),
        &said(ei),
        &format!(
            "{} while a run holds it: its time was made for that",
            said(roll.ei)
        ),
        match run.state {
            RunState::Running => "Write it down when the run is over.",
            _ => "Give that run up on its own page, write it down, and load the roll again.",
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

/// Refuses an undo that would leave a run nobody can go on with: a press that later ones followed, a roll in two runs or
/// in one that is to develop it again, or at another EI than its time is for, a step changed while its bath is in; and
/// one that would move film in a bath past a test.
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
    for step in change.rows_of::<Step>() {
        if let Some(step) = change.get::<Step>(StepId(step))?
            && let Owner::Run(run) = step.owner
        {
            must_be_unpoured(change, run, &step)?;
        }
    }
    for roll in change.rows_where_changed::<Roll>("ei") {
        if let Some(run) = holder(change, RollId(roll))? {
            return Err(taking_back(
                format!("the EI of a roll that is loaded in run {}", run.id),
                "rolls that no run holds".to_owned(),
                "The run's time was made for it: give the run up first.",
            ));
        }
    }
    for run in &runs {
        must_be_the_newest(change, run)?;
    }
    must_keep_the_order(change)?;
    for run in &runs {
        must_be_readable(change, run)?;
        if holds(run) {
            must_have_its_rolls(change, run)?;
            must_have_its_tank(change, run)?;
        }
    }
    Ok(())
}

fn taking_back(given: String, allowed: String, remedy: &str) -> Failure {
    Error::new(
        Kind::Conflict,
        "a change to take back",
        given,
        allowed,
        remedy,
    )
    .into()
}

/// A step that has begun stays as it was poured, unless its own beginning is taken back, or comes again, with it.
fn must_be_unpoured(change: &Change<'_>, run: RunId, step: &Step) -> Outcome<()> {
    let pressed = change.rows_of::<Mark>();
    let marks = change.marks_of(run)?;
    let begun = marks.iter().find(|m| begins(m, step.position));
    if begun.is_none_or(|m| pressed.contains(&m.id.0)) {
        return Ok(());
    }
    Err(taking_back(
        format!("{} of run {run}, which has begun", step.kind.spoken()),
        "steps that have not begun".to_owned(),
        "What is poured is poured. Take back the run's presses first, or make the step longer at its clock.",
    ))
}

/// A press goes only while it is the run's newest: what was done since was done by what it said.
fn must_be_the_newest(change: &Change<'_>, run: &Run) -> Outcome<()> {
    let newest = change.marks_of(run.id)?.last().map_or(0, |m| m.id.0);
    for mark in change.rows_of::<Mark>() {
        if mark < newest && change.get::<Mark>(MarkId(mark))?.is_none() {
            return Err(taking_back(
                "one that later presses were made after".to_owned(),
                "the run's newest press".to_owned(),
                "Take back the later ones first: the run's history lists them.",
            ));
        }
    }
    Ok(())
}

/// Film that a run left in a bath is not taken out from before a test or a replenishing: made again it would come after
/// them, and a spent bath would seem fresh.
fn must_keep_the_order(change: &Change<'_>) -> Outcome<()> {
    let subjects = change.subjects();
    if !subjects.iter().any(|s| s.kind == Run::TABLE) {
        return Ok(());
    }
    for event in change.rows_of::<BathEvent>() {
        if change.get::<BathEvent>(BathEventId(event))?.is_some() {
            continue;
        }
        for bath in subjects.iter().filter(|s| s.kind == BathCard::TABLE) {
            let card = find_in::<BathCard>(change, BathId(bath.id))?;
            let later = change.events_of_bath(card.id)?.into_iter().find(|e| {
                event < e.id.0 && matches!(e.what, What::Clearing { .. } | What::Replenished { .. })
            });
            if let Some(later) = later {
                return Err(taking_back(
                    format!(
                        "film in {}, where {} since",
                        card.name,
                        baths::told(&later.what)
                    ),
                    "what the bath's newer notes do not rest on".to_owned(),
                    "Take back the bottle's newer notes first: its history lists them.",
                ));
            }
        }
    }
    Ok(())
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
                    if later {
                        format!("Take back the end of run {} first.", other.id)
                    } else {
                        format!("Give run {} up first.", other.id)
                    },
                );
            }
        }
        if !roll.state.holds_cassette() {
            return refuse(
                format!(
                    "{} would be {}, and in run {}, which is not over",
                    roll.label,
                    roll.state.word(),
                    run.id
                ),
                "Take back what was done with the roll first: its history lists it.".to_owned(),
            );
        }
    }
    Ok(())
}
