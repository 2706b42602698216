//! The bottle a person chooses for a step, and what a bottle makes of a step when its bath goes in.
//!
//! Till a step begins its bottle may be changed. When it begins it is poured anew: film may have gone through the bath
//! since the tank was loaded, a scrap may have been cleared in it, or another tank may have film in it now.

use super::super::draft::pick;
use super::super::error::at;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::baths::BathView;
use super::holds;
use super::life::view_in;
use super::pour::{Load, Meant, developer, must_serve, pour, refused};
use super::runs::area_of_run;
use spoolwright_core::Kind;
use spoolwright_core::shelf::{BathId, RunId};
use spoolwright_core::wet::fixing::NORMAL_C;
use spoolwright_core::wet::recipe::{Owner, Recipe, Step};
use spoolwright_core::wet::record::{BathCard, Run, RunState, TimeSource};
use spoolwright_core::wet::timer::{Mark, MarkKind};
use spoolwright_store::{Change, Subject};

impl Service {
    /// The bath that a name or number means; none for no text. One that was poured out gives way to one that is there.
    ///
    /// # Errors
    /// There is none of that name or number, or two that are there have the name.
    pub fn bottle_named(&self, text: &str) -> Outcome<Option<BathId>> {
        let text = text.trim();
        if text.is_empty() {
            return Ok(None);
        }
        let (gone, there): (Vec<BathCard>, Vec<BathCard>) =
            self.all()?.into_iter().partition(|c: &BathCard| c.closed);
        let named = there.iter().filter(|c| c.name.eq_ignore_ascii_case(text));
        let numbers: Vec<String> = named.map(|c| c.id.to_string()).collect();
        if 1 < numbers.len() {
            return Err(refused(
                Kind::Inconsistent,
                "a bath",
                format!("{text:?}"),
                format!("its number: {}", numbers.join(" or ")),
                "Several bottles have that name: say the number of the one you mean.",
            ));
        }
        let found = match pick(&there, text, "bath", |c| &c.name) {
            Ok(found) => found,
            Err(_) => pick(&gone, text, "bath", |c| &c.name).map_err(|e| at("bath", e))?,
        };
        Ok(found.map(|card| card.id))
    }

    /// Chooses the bottle a step is poured from, none for one without a card. `position` counts from zero. The step's
    /// time follows: the correction of the old bottle goes, that of the new one comes.
    ///
    /// # Errors
    /// The step has begun, or the run is over; it has no such step; the bath is of another kind, poured out, too small,
    /// or to be mixed new.
    pub fn choose_bath(
        &self,
        run: RunId,
        position: u32,
        bath: Option<BathId>,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let today = self.today();
        self.change(request, |change| {
            let run = find_in::<Run>(change, run)?;
            let mut steps = change.steps_of(Owner::Run(run.id))?;
            let place = position as usize;
            if steps.len() <= place {
                return Err(refused(
                    Kind::Unknown,
                    "a step of the run",
                    u64::from(position) + 1,
                    format!("1 to {}", steps.len()),
                    "Look the step up on the run's page.",
                ));
            }
            let over = !matches!(run.state, RunState::Planned | RunState::Running);
            let marks = change.marks_of(run.id)?;
            if over || marks.iter().any(|m| begins(m, position)) {
                return Err(refused(
                    Kind::Conflict,
                    steps[place].kind.spoken(),
                    if over { run.state.word() } else { "begun" },
                    "a step that has not begun",
                    "What is poured is poured. Write on the bath's card what went through it.",
                ));
            }
            let load = load(change, &run)?;
            let bath = bath
                .map(|id| bottle_now(change, id, &run, load, &today))
                .transpose()?
                .map(|(bath, _)| bath);
            if let Some(bath) = &bath {
                must_serve(&steps[place], bath, load, 0.0)?;
            }
            let meant = meant(change, &run, &steps, place)?;
            let step = &mut steps[place];
            pour(step, bath.as_ref(), &meant)?;
            let story = format!(
                "{}, step {}: from {}.",
                step.kind.spoken(),
                position + 1,
                bath.as_ref()
                    .map_or("a bottle without a card", |b| b.card.name.as_str())
            );
            change.put(&*step)?;
            change.about(Subject::of::<Run>(run.id));
            if let Some(bath) = &bath {
                change.about(Subject::of::<BathCard>(bath.card.id));
            }
            Ok(("run.bottle", story, ()))
        })
    }
}

/// Whether a mark begins the step at a place.
pub(super) fn begins(mark: &Mark, position: u32) -> bool {
    mark.kind == MarkKind::Begin && mark.step == Some(position)
}

/// The steps of a run as the one at `place` goes in, poured from their bottles as these are now. While nothing is
/// poured yet, every step is asked about, and a bottle that does not serve is refused. Later only the step itself is:
/// the film is in the tank, so what is wrong with its bottle is said and does not stop it.
///
/// # Errors
/// A bottle does not serve, before anything is poured.
pub(super) fn poured(
    change: &Change<'_>,
    run: &Run,
    steps: &[Step],
    place: usize,
    today: &str,
) -> Outcome<Vec<Step>> {
    let mut poured = steps.to_vec();
    if run.rehearsal.is_some() {
        return Ok(poured);
    }
    let load = load(change, run)?;
    let dry = run.state == RunState::Planned;
    for (n, step) in poured.iter_mut().enumerate() {
        let Some(id) = step.bath.filter(|_| dry || n == place) else {
            continue;
        };
        let (bath, away_ml) = bottle_now(change, id, run, load, today)?;
        let away_ml = if n == place { away_ml } else { 0.0 };
        let meant = meant(change, run, steps, n)?;
        match must_serve(step, &bath, load, away_ml) {
            Err(refusal) if dry => return Err(refusal),
            Err(refusal) => {
                if bath.serves() && !bath.card.closed {
                    pour(step, Some(&bath), &meant)?;
                } else {
                    // What a spent bath still does takes no less than its last test says, nor than the recipe.
                    let at_c = step.temperature_c.unwrap_or(NORMAL_C);
                    let cleared = bath.life.clearing.map(|c| c.fixing_s(at_c)).transpose()?;
                    let least_s = step.plain_s.unwrap_or(0.0).max(cleared.unwrap_or(0.0));
                    if step.time_s < least_s {
                        step.plain_s = step.plain_s.or(Some(step.time_s));
                        step.time_s = least_s;
                        step.because = format!("{least_s:.0} s: the bath is spent by now.");
                    }
                }
                for fault in refusal.faults() {
                    let said = format!(
                        "{}: {}.",
                        fault.error.what,
                        fault.error.given.trim_end_matches('.')
                    );
                    step.because = format!("{} {said}", step.because).trim().to_owned();
                }
            }
            Ok(()) => pour(step, Some(&bath), &meant)?,
        }
    }
    Ok(poured)
}

/// What a run asks of each of its bottles.
fn load(change: &Change<'_>, run: &Run) -> Outcome<Load> {
    Ok(Load {
        area_m2: area_of_run(change, run.id)?,
        volume_ml: run.volume_ml,
    })
}

fn meant(change: &Change<'_>, run: &Run, steps: &[Step], place: usize) -> Outcome<Meant> {
    if steps.iter().position(|s| s.kind.develops()) != Some(place) {
        return Ok(Meant::default());
    }
    let recipe = run.recipe.map(|id| find_in::<Recipe>(change, id));
    Ok(Meant {
        typed: run.time_source == TimeSource::Typed,
        developer: recipe.transpose()?.as_ref().and_then(developer),
    })
}

/// A bottle as a run finds it now, and how many millilitres of it are in other tanks. Film that has been in it counts,
/// though its own run is not over and nothing stands on the card yet.
fn bottle_now(
    change: &Change<'_>,
    bath: BathId,
    run: &Run,
    load: Load,
    today: &str,
) -> Outcome<(BathView, f64)> {
    let mut not_yet_written = Vec::new();
    let mut away_ml = 0.0;
    for other in change.all::<Run>()? {
        if other.id == run.id || other.state != RunState::Running || !holds::holds(&other) {
            continue;
        }
        let steps = change.steps_of(Owner::Run(other.id))?;
        let marks = change.marks_of(other.id)?;
        let begun: Vec<bool> = marks
            .iter()
            .filter(|m| m.kind == MarkKind::Begin)
            .map(|m| {
                let step = m.step.and_then(|n| steps.get(n as usize));
                step.is_some_and(|s| s.bath == Some(bath))
            })
            .collect();
        if begun.contains(&true) {
            not_yet_written.push(area_of_run(change, other.id)?);
        }
        if begun.last() == Some(&true) {
            away_ml += other.volume_ml;
        }
    }
    let view = view_in(change, bath, today, load.films(), &not_yet_written)?;
    Ok((view, away_ml))
}
