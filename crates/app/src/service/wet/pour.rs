//! Which bottle each step of a run is poured from, and what that makes of the step's time.
//!
//! Of its own accord the bench takes the oldest bottle that still serves, for stop, fixer, final rinse and the developer
//! that the recipe names; any other bottle is chosen by a person ([`super::choose`]).

use super::super::Outcome;
use super::super::error::at;
use super::baths::BathView;
use super::recipes::RecipeView;
use super::times::{FilmTime, bath_name, same};
use spoolwright_core::wet::bath::{BathKind, BathUse, FixerPlace, ROLL_OF_36_M2};
use spoolwright_core::wet::recipe::{Recipe, Step, StepKind, TimeFrom};
use spoolwright_core::wet::record::{BathCard, TimeSource};
use spoolwright_core::wet::verdict::{Reason, Verdict};
use spoolwright_core::{Error, Kind};

pub(super) fn refused(
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

/// Makes sure that a step can be poured from a bottle: of its kind, there, enough of it, and not spent by this load.
/// `away_ml` of it are in other tanks.
pub(super) fn must_serve(step: &Step, bath: &BathView, load: Load, away_ml: f64) -> Outcome<()> {
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
    if card.volume_ml + HALF_ML < load.volume_ml {
        return Err(refused(
            Kind::OutOfRange,
            &card.name,
            format!("{:.0} ml", card.volume_ml),
            format!("{:.0} ml and more, which the run pours in", load.volume_ml),
            "Less would not cover the film: choose a larger bottle.",
        ));
    }
    if card.volume_ml + HALF_ML < load.volume_ml + away_ml {
        return Err(refused(
            Kind::Conflict,
            &card.name,
            format!(
                "{away_ml:.0} of its {:.0} ml are in another tank",
                card.volume_ml
            ),
            format!("{:.0} ml, which the run pours in", load.volume_ml),
            "Wait till the other tank has given it back, or choose another bottle.",
        ));
    }
    let next = bath.life.next_load.as_ref();
    let spent = match next.filter(|n| n.verdict == Verdict::Replace) {
        Some(next) => Some(&next.because),
        None => (!bath.serves()).then_some(&bath.life.because),
    };
    if let Some(because) = spent {
        return Err(refused(
            Kind::Impossible,
            &card.name,
            because
                .first()
                .map_or("spent", |because| because.text.as_str()),
            "a bath that takes this load",
            "Mix a new one and write its card.",
        ));
    }
    Ok(())
}

/// Millilitres that are nothing but rounding.
const HALF_ML: f64 = 0.5;

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

/// What a step's time is meant for.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Meant {
    /// It was typed for the run.
    pub(super) typed: bool,
    /// The developer it was looked up for; none for a step that the recipe names none for.
    pub(super) developer: Option<String>,
}

/// A run's own steps: the developing time is the film's, a fixer's that of its clearing test, and what the recipe says
/// beyond doubt comes from the oldest bottle of it that still serves.
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
        // Colour film ends in a stabiliser; the other kinds a step may come from are a person's to choose.
        let kind = if step.kind == StepKind::FinalRinse && recipe.recipe.process.is_colour() {
            Some(BathKind::Stabiliser)
        } else {
            step.kind.baths().first().copied()
        };
        let meant = Meant {
            typed: developing && time.source == TimeSource::Typed,
            developer: developing.then(|| developer(&recipe.recipe)).flatten(),
        };
        let plain = matches!(
            step.kind,
            StepKind::Stop | StepKind::Fixer | StepKind::FinalRinse
        );
        let wanted = Wanted {
            kind,
            developer: meant.developer.clone(),
            same_before: kinds[..place].iter().filter(|k| **k == step.kind).count(),
        };
        // A bleach, a second developer or a clearing bath of another process is poison: a person says which.
        let found = (plain || meant.developer.is_some())
            .then(|| bottle(&wanted, baths, load))
            .flatten();
        pour(step, found, &meant)?;
    }
    Ok(steps)
}

/// The developer a recipe names, with its dilution.
pub(super) fn developer(recipe: &Recipe) -> Option<String> {
    let named = !recipe.developer.trim().is_empty();
    named.then(|| bath_name(&recipe.developer, &recipe.dilution))
}

/// Pours a step from a bottle: a bath that has had film takes longer, a fixer what its clearing test says. A time that
/// was typed for the run stays as it was typed. What the bottle leaves in doubt is said with it.
pub(super) fn pour(step: &mut Step, bath: Option<&BathView>, meant: &Meant) -> Result<(), Error> {
    step.time_s = step.plain_s.take().unwrap_or(step.time_s);
    step.because.clear();
    step.bath = bath.map(|b| b.card.id);
    let Some(bath) = bath else {
        return Ok(());
    };
    let plain_s = step.time_s;
    let (name, life) = (&bath.card.name, &bath.life);
    let mut told: Vec<String> = Vec::new();
    let mut changed = true;
    let factor = life.next_time_factor;
    let more = (factor - 1.0) * 100.0;
    // Spent, or a blix: then no clearing test says how long.
    let fixes = life.clearing.filter(|c| c.fixing_time_s.is_some());
    if let (TimeFrom::ClearingTest, Some(cleared)) = (step.time_from, fixes) {
        let fixing = cleared.step(step)?;
        step.time_s = fixing.seconds;
        let but = if fixing.because.is_empty() {
            String::new()
        } else {
            format!("; {}", fixing.because)
        };
        told.push(format!(
            "{:.0} s by the clearing test of {name}{but}.",
            step.time_s
        ));
    } else if factor == 1.0 {
        changed = false;
        if let Some(cleared) = fixes.filter(|c| c.stale && step.kind == StepKind::Fixer) {
            let fixing = cleared.step(step)?;
            if step.time_s < fixing.seconds {
                changed = true;
                step.time_s = fixing.seconds;
                told.push(format!(
                    "{:.0} s by the clearing test of {name}; {}.",
                    fixing.seconds, fixing.because
                ));
            } else {
                told.push(format!(
                    "Film went through {name} since its clearing test: clear another scrap."
                ));
            }
        }
    } else if meant.typed {
        changed = false;
        told.push(format!(
            "{name} asks {more:.0} % more time; the typed time is kept."
        ));
    } else {
        step.time_s *= factor;
        let slower = life.clearing.map(|c| c.latest_s / c.fresh_s);
        told.push(if slower.is_some_and(|s| factor <= s + 1e-9) {
            format!("{more:.0} % longer: a scrap clears so much slower in {name} than when it was fresh.")
        } else {
            format!(
                "{more:.0} % longer: {name} has had film{}.",
                if by_default(bath) {
                    ", by a default from memory: no sheet gave the correction"
                } else {
                    ""
                }
            )
        });
    }
    if let Some(developer) = meant.developer.as_ref().filter(|_| !meant.typed) {
        let card = &bath.card;
        let held = bath_name(&card.mixed_from, &card.dilution);
        if !same(&held, developer) {
            told.push(if held.is_empty() {
                format!("The time is for {developer}; what {name} was mixed from is not said.")
            } else {
                format!("The time is for {developer}; {name} holds {held}.")
            });
        }
    }
    for because in &life.because {
        let doubt = match because.reason {
            Reason::Colour | Reason::Replenisher => true,
            // Of a bath that nothing has been through there is nothing to know.
            Reason::NotKnown => 0 < life.runs,
            _ => false,
        };
        if doubt {
            told.push(format!("{name}: {}", because.text));
        }
    }
    step.because = told.join(" ");
    step.plain_s = changed.then_some(plain_s);
    Ok(())
}

/// Whether a bath's correction is the default one, which no sheet gave.
fn by_default(bath: &BathView) -> bool {
    let caveats = &bath.life.caveats;
    caveats.iter().any(|c| c.code == "default_correction")
}

/// What a step wants of a bottle.
struct Wanted {
    /// The kind of bath; none for a step that is poured from no bottle.
    kind: Option<BathKind>,
    /// The recipe's developer by its name; none for a step that the recipe does not name one for.
    developer: Option<String>,
    /// How many steps of its kind went before.
    same_before: usize,
}

impl Wanted {
    fn suits(&self, card: &BathCard) -> bool {
        let named = self
            .developer
            .as_ref()
            .is_none_or(|name| same(&bath_name(&card.mixed_from, &card.dilution), name));
        let placed = match (card.kind, self.same_before) {
            (BathKind::Fixer, 0) => card.place != FixerPlace::Second,
            (BathKind::Fixer, _) => card.place == FixerPlace::Second,
            _ => true,
        };
        self.kind == Some(card.kind) && named && placed
    }
}

/// The bottle a step is poured from: of the right kind, kept, large enough, the oldest that takes the load.
fn bottle<'a>(wanted: &Wanted, baths: &'a [BathView], load: Load) -> Option<&'a BathView> {
    baths
        .iter()
        .filter(|b| !b.card.closed && b.card.usage != BathUse::OneShot)
        .filter(|b| wanted.suits(&b.card) && load.volume_ml <= b.card.volume_ml + HALF_ML)
        .filter(|b| b.serves())
        .filter(|b| {
            b.life
                .next_load
                .as_ref()
                .is_none_or(|next| next.verdict != Verdict::Replace)
        })
        .min_by_key(|b| (b.card.mixed_on.clone(), b.card.id))
}
