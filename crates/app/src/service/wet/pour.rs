//! Which bottle each step of a run is poured from, and what that makes of the step's time.
//!
//! The bench takes the oldest bottle that still serves; a person may choose another, or none, until the run begins.

use super::super::draft::pick;
use super::super::error::at;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::baths::BathView;
use super::recipes::RecipeView;
use super::times::{FilmTime, bath_name};
use spoolwright_core::shelf::{BathId, RunId};
use spoolwright_core::wet::bath::{BathKind, BathUse};
use spoolwright_core::wet::recipe::{Owner, Step, StepKind, TimeFrom};
use spoolwright_core::wet::record::{BathCard, Run, RunState};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;

impl Service {
    /// The bath that a name or number means; none for no text.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn bottle_named(&self, text: &str) -> Outcome<Option<BathId>> {
        if text.trim().is_empty() {
            return Ok(None);
        }
        let cards = self.all::<BathCard>()?;
        let found = pick(&cards, text, "bath", |c| &c.name).map_err(|e| at("bath", e))?;
        Ok(found.map(|card| card.id))
    }

    /// Chooses the bottle a step is poured from, none for one without a card. `position` counts from zero. The step's
    /// time follows: the correction of the old bottle goes, that of the new one comes.
    ///
    /// # Errors
    /// The run has begun; it has no such step; the bath is of another kind, poured out, or to be mixed new.
    pub fn choose_bath(
        &self,
        run: RunId,
        position: u32,
        bath: Option<BathId>,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let bath = bath.map(|id| self.bath(id, None)).transpose()?;
        self.change(request, |change| {
            let state = find_in::<Run>(change, run)?.state;
            if state != RunState::Planned {
                return Err(refused(
                    Kind::Conflict,
                    "the run",
                    state.word(),
                    "a run that has not begun",
                    "What is poured is poured. Write on the bath's card what went through it.",
                ));
            }
            let mut steps = change.steps_of(Owner::Run(run))?;
            let count = steps.len();
            let Some(step) = steps.get_mut(position as usize) else {
                return Err(refused(
                    Kind::Unknown,
                    "a step of the run",
                    position + 1,
                    format!("1 to {count}"),
                    "Look the step up on the run's page.",
                ));
            };
            if let Some(bath) = &bath {
                must_serve(step, bath)?;
            }
            pour(step, bath.as_ref());
            let story = format!(
                "{}, step {}: from {}.",
                step.kind.spoken(),
                position + 1,
                bath.as_ref()
                    .map_or("a bottle without a card", |b| b.card.name.as_str())
            );
            change.put(&*step)?;
            change.about(Subject::of::<Run>(run));
            if let Some(bath) = &bath {
                change.about(Subject::of::<BathCard>(bath.card.id));
            }
            Ok(("run.bottle", story, ()))
        })
    }
}

fn refused(
    kind: Kind,
    what: &str,
    given: impl ToString,
    allowed: impl Into<String>,
    remedy: &str,
) -> super::super::Failure {
    at(
        "bath",
        Error::new(kind, what, given.to_string(), allowed.into(), remedy),
    )
}

fn must_serve(step: &Step, bath: &BathView) -> Outcome<()> {
    let card = &bath.card;
    let wanted = bath_kind(step.kind);
    if wanted != Some(card.kind) {
        return Err(refused(
            Kind::Inconsistent,
            &card.name,
            card.kind.word(),
            match wanted {
                Some(kind) => format!("a bath that is a {}", kind.word()),
                None => format!("no bottle: {} is not kept in one", step.kind.spoken()),
            },
            "Choose a bottle of the step's own kind.",
        ));
    }
    if card.closed {
        return Err(refused(
            Kind::Conflict,
            &card.name,
            "poured out",
            "a bath that is there",
            "Choose another bottle, or none.",
        ));
    }
    if !bath.serves() {
        return Err(refused(
            Kind::Impossible,
            &card.name,
            bath.life
                .because
                .first()
                .map_or("spent", |because| because.text.as_str()),
            "a bath that is not spent",
            "Mix a new one and write its card.",
        ));
    }
    Ok(())
}

/// A run's own steps: the developing time is the film's, a fixer's that of its clearing test, and every bath that is
/// kept in a bottle is the oldest one that still serves.
pub(super) fn run_steps(
    recipe: &RecipeView,
    time: &FilmTime,
    baths: &[BathView],
) -> Outcome<Vec<Step>> {
    let mut steps = recipe.steps.clone();
    let first = steps.iter().position(|s| s.kind.develops());
    for (place, step) in steps.iter_mut().enumerate() {
        if Some(place) == first {
            step.time_s = time.time_min.value * 60.0;
            step.temperature_c = step.temperature_c.or(Some(time.at_c));
        }
        pour(step, bottle(step.kind, recipe, baths));
    }
    Ok(steps)
}

/// Pours a step from a bottle: a developer that has had film takes longer, a fixer what its clearing test says.
fn pour(step: &mut Step, bath: Option<&BathView>) {
    step.time_s = step.plain_s.take().unwrap_or(step.time_s);
    step.because.clear();
    step.bath = bath.map(|b| b.card.id);
    let Some(bath) = bath else {
        return;
    };
    let plain_s = step.time_s;
    let factor = bath.life.next_time_factor;
    if step.kind.develops() && factor != 1.0 {
        step.time_s *= factor;
        step.because = format!(
            "{:.0} % longer: {} has had film.",
            (factor - 1.0) * 100.0,
            bath.card.name
        );
    }
    if let (TimeFrom::ClearingTest, Some(cleared)) = (step.time_from, bath.life.clearing) {
        step.time_s = cleared.fixing_time_s;
        step.because = format!(
            "{:.0} s by the clearing test of {}.",
            cleared.fixing_time_s, bath.card.name
        );
    }
    step.plain_s = (!step.because.is_empty()).then_some(plain_s);
}

/// The bottle a step is poured from: of the right kind, kept, the oldest that is not spent.
fn bottle<'a>(kind: StepKind, recipe: &RecipeView, baths: &'a [BathView]) -> Option<&'a BathView> {
    let wanted = bath_kind(kind)?;
    baths
        .iter()
        .filter(|b| !b.card.closed && b.card.kind == wanted && b.card.usage != BathUse::OneShot)
        .filter(|b| {
            // A developer is only the recipe's own.
            !kind.develops()
                || super::times::same(
                    &bath_name(&b.card.mixed_from, &b.card.dilution),
                    &bath_name(&recipe.recipe.developer, &recipe.recipe.dilution),
                )
        })
        .filter(|b| b.serves())
        .min_by(|a, b| a.card.mixed_on.cmp(&b.card.mixed_on))
}

/// Which kind of bath a step is poured from; none for water, light and what is mixed for one run alone.
pub fn bath_kind(kind: StepKind) -> Option<BathKind> {
    Some(match kind {
        StepKind::Prebath => BathKind::Prebath,
        StepKind::Developer => BathKind::Developer,
        StepKind::FirstDeveloper => BathKind::FirstDeveloper,
        StepKind::ColourDeveloper => BathKind::ColourDeveloper,
        StepKind::Stop => BathKind::Stop,
        StepKind::Bleach => BathKind::Bleach,
        StepKind::Fixer => BathKind::Fixer,
        StepKind::BleachFix => BathKind::Blix,
        StepKind::Clearing | StepKind::WashAid => BathKind::Clearing,
        StepKind::FinalRinse => BathKind::Wetting,
        StepKind::Prewet
        | StepKind::BackingRemoval
        | StepKind::SecondBath
        | StepKind::Reexposure
        | StepKind::SecondDeveloper
        | StepKind::Wash => return None,
    })
}
