//! Which bottle each step of a run is poured from, and what that makes of the step's time.
//!
//! The bench takes the oldest bottle that still serves; a person may choose another, or none, until the run begins.

use super::super::draft::pick;
use super::super::error::at;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::baths::{BathView, view_in};
use super::recipes::RecipeView;
use super::times::{FilmTime, bath_name};
use spoolwright_core::shelf::{BathId, RunId};
use spoolwright_core::wet::bath::{BathKind, BathUse, FixerPlace, ROLL_OF_36_M2};
use spoolwright_core::wet::fixing::{NORMAL_C, Test, fixing_time_s};
use spoolwright_core::wet::recipe::{Owner, Step, StepKind, TimeFrom};
use spoolwright_core::wet::record::{BathCard, Run, RunState, TimeSource};
use spoolwright_core::wet::verdict::Verdict;
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

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
        let today = self.today();
        self.change(request, |change| {
            let bath = bath.map(|id| view_in(change, id, &today)).transpose()?;
            let found = find_in::<Run>(change, run)?;
            let (state, typed) = (found.state, found.time_source == TimeSource::Typed);
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
            let first = steps.iter().position(|s| s.kind.develops());
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
            let typed = typed && first == Some(position as usize);
            pour(step, bath.as_ref(), typed)?;
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
    let wanted = step.kind.baths();
    if !wanted.contains(&card.kind) {
        return Err(refused(
            Kind::Inconsistent,
            &card.name,
            card.kind.word(),
            if wanted.is_empty() {
                format!("no bottle: {} is not kept in one", step.kind.spoken())
            } else {
                let kinds: Vec<&str> = wanted.iter().map(|k| k.word()).collect();
                format!("a bath that is a {}", kinds.join(" or a "))
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

/// What a run asks of a bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Load {
    /// Film area, m²; nothing for a rehearsal.
    pub(super) area_m2: f64,
    /// Solution poured in, ml.
    pub(super) volume_ml: f64,
}

impl Load {
    /// The same in films of 36, for a bath to be asked about; none without film.
    pub(super) fn films(&self) -> Option<f64> {
        (self.area_m2 > 0.0).then(|| self.area_m2 / ROLL_OF_36_M2)
    }
}

/// A run's own steps: the developing time is the film's, a fixer's that of its clearing test, and every bath that is
/// kept in a bottle is the oldest one that still serves.
pub(super) fn run_steps(
    recipe: &RecipeView,
    time: &FilmTime,
    baths: &[BathView],
    load: Load,
) -> Outcome<Vec<Step>> {
    let mut steps = recipe.steps.clone();
    let first = steps.iter().position(|s| s.kind.develops());
    let kinds: Vec<StepKind> = steps.iter().map(|s| s.kind).collect();
    for (place, step) in steps.iter_mut().enumerate() {
        let developing = Some(place) == first;
        if developing {
            step.time_s = time.time_min.value * 60.0;
            step.temperature_c = step.temperature_c.or(Some(time.at_c));
        }
        let same_before = kinds[..place].iter().filter(|k| **k == step.kind).count();
        let same = kinds.iter().filter(|k| **k == step.kind).count();
        let mut kinds_of_bath = step.kind.baths().to_vec();
        if step.kind == StepKind::FinalRinse && recipe.recipe.process.is_colour() {
            // Colour film ends in a stabiliser where there is one.
            kinds_of_bath.reverse();
        }
        let wanted = Wanted {
            kinds: kinds_of_bath,
            developer: developing
                .then(|| bath_name(&recipe.recipe.developer, &recipe.recipe.dilution)),
            place: (same_before, same),
        };
        let typed = developing && time.source == TimeSource::Typed;
        pour(step, bottle(&wanted, baths, load), typed)?;
    }
    Ok(steps)
}

/// Pours every step of a run that is about to begin from its bottle anew: since it was loaded, film may have gone
/// through the bath, a scrap may have been cleared in it, or it may have been poured out.
pub(super) fn anew(
    change: &Change<'_>,
    run: &Run,
    steps: &[Step],
    today: &str,
) -> Outcome<Vec<Step>> {
    let first = steps.iter().position(|s| s.kind.develops());
    let mut poured = steps.to_vec();
    for (place, step) in poured.iter_mut().enumerate() {
        let Some(id) = step.bath else { continue };
        let bath = view_in(change, id, today)?;
        must_serve(step, &bath)?;
        let typed = Some(place) == first && run.time_source == TimeSource::Typed;
        pour(step, Some(&bath), typed)?;
    }
    Ok(poured)
}

/// Pours a step from a bottle: a bath that has had film takes longer, a fixer what its clearing test says. A time that
/// was `typed` for the run stays as it was typed.
fn pour(step: &mut Step, bath: Option<&BathView>, typed: bool) -> Result<(), Error> {
    step.time_s = step.plain_s.take().unwrap_or(step.time_s);
    step.because.clear();
    step.bath = bath.map(|b| b.card.id);
    let Some(bath) = bath else {
        return Ok(());
    };
    let plain_s = step.time_s;
    let factor = bath.life.next_time_factor;
    if factor != 1.0 && !typed {
        step.time_s *= factor;
        step.because = format!(
            "{:.0} % longer: {} has had film{}.",
            (factor - 1.0) * 100.0,
            bath.card.name,
            if by_default(bath) {
                ", by a default from memory: no sheet gave the correction"
            } else {
                ""
            }
        );
    }
    // Spent, or a blix: then no clearing test says how long.
    let fixes = bath.life.clearing.filter(|c| c.fixing_time_s.is_some());
    if let (TimeFrom::ClearingTest, Some(cleared)) = (step.time_from, fixes) {
        let test = Test {
            clearing_s: cleared.latest_s,
            at_c: NORMAL_C,
            high_iodide: bath.card.high_iodide,
        };
        step.time_s = fixing_time_s(test, step.temperature_c.unwrap_or(NORMAL_C))?;
        step.because = format!(
            "{:.0} s by the clearing test of {}.",
            step.time_s, bath.card.name
        );
    }
    step.plain_s = (!step.because.is_empty()).then_some(plain_s);
    Ok(())
}

/// Whether a bath's correction is the default one, which no sheet gave.
fn by_default(bath: &BathView) -> bool {
    let caveats = &bath.life.caveats;
    caveats.iter().any(|c| c.code == "default_correction")
}

/// What a step wants of a bottle.
struct Wanted {
    /// Kinds of bath, the one to look for first at the front.
    kinds: Vec<BathKind>,
    /// The recipe's developer by its name; none for a step that the recipe does not name one for.
    developer: Option<String>,
    /// How many steps of its kind went before, and how many there are.
    place: (usize, usize),
}

impl Wanted {
    fn suits(&self, kind: BathKind, card: &BathCard) -> bool {
        let named = self.developer.as_ref().is_none_or(|name| {
            super::times::same(&bath_name(&card.mixed_from, &card.dilution), name)
        });
        let placed = match (card.kind, self.place) {
            (BathKind::Fixer, (0, _)) => card.place != FixerPlace::Second,
            (BathKind::Fixer, _) => card.place == FixerPlace::Second,
            _ => true,
        };
        kind == card.kind && named && placed
    }
}

/// The bottle a step is poured from: of the right kind, kept, large enough, the oldest that takes the load.
fn bottle<'a>(wanted: &Wanted, baths: &'a [BathView], load: Load) -> Option<&'a BathView> {
    let of_kind = |kind: BathKind| {
        baths
            .iter()
            .filter(|b| !b.card.closed && b.card.usage != BathUse::OneShot)
            .filter(|b| wanted.suits(kind, &b.card) && load.volume_ml <= b.card.volume_ml + 0.5)
            .filter(|b| b.serves())
            .filter(|b| {
                b.life
                    .next_load
                    .as_ref()
                    .is_none_or(|next| next.verdict != Verdict::Replace)
            })
            .min_by_key(|b| (b.card.mixed_on.clone(), b.card.id))
    };
    wanted.kinds.iter().find_map(|kind| of_kind(*kind))
}
