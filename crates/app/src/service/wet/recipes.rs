//! Recipes: listed, begun from a built-in one, changed step by step.

use super::super::draft::{differences, pick};
use super::super::entry::{self, Reader};
use super::super::error::at;
use super::super::things::{saved, shut};
use super::super::{Made, Outcome, Request, Service, find_in};
use super::kit::{MILLILITRES, written};
use super::tools::trimmed;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::shelf::{Process, RecipeId};
use spoolwright_core::wet::recipe::{self, Agitation, Owner, Recipe, Step, StepKind, TimeFrom};
use spoolwright_core::wet::starters::starters;
use spoolwright_core::wet::tank::{self, limits::LEAST_STOCK_ML};
use spoolwright_core::wet::temperature::Q10;
use spoolwright_core::{Error, Kind};

/// How far rolls of one run may be from their own times.
const TOLERANCE_PERCENT: Bounds = Bounds {
    what: "a tolerance",
    unit: "%",
    min: 0.0,
    max: 30.0,
};
/// Seconds of agitation and of its interval.
const AGITATION_S: Bounds = Bounds {
    what: "agitation",
    unit: "s",
    min: 0.0,
    max: 3600.0,
};
/// Seconds for pouring in or out.
const POUR_S: Bounds = Bounds {
    what: "pouring",
    unit: "s",
    min: 0.0,
    max: 300.0,
};
/// Most steps of a recipe.
pub const MOST_STEPS: usize = 40;

/// A recipe with its steps.
#[derive(Debug, Clone, PartialEq)]
pub struct RecipeView {
    /// As named.
    pub recipe: Recipe,
    /// Its steps, in order.
    pub steps: Vec<Step>,
}

impl RecipeView {
    /// The step in which the image grows first.
    pub fn developing(&self) -> Option<&Step> {
        self.steps.iter().find(|s| s.kind.develops())
    }
    /// Whether it takes a carbon backing off.
    pub fn removes_backing(&self) -> bool {
        recipe::removes_backing(&self.steps)
    }
}

/// A recipe's head as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct RecipeDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// negative, reversal, colour-negative or colour-reversal; negative when empty.
    #[arg(long, default_value = "")]
    pub process: String,
    /// Its developer, by the name your stock cards and times use.
    #[arg(long, default_value = "")]
    pub developer: String,
    /// The developer's dilution, such as 1+9.
    #[arg(long, default_value = "")]
    pub dilution: String,
    /// Least stock or concentrate for a film of 36 frames, ml, as the developer's sheet has it; not watched when empty.
    #[arg(long, default_value = "")]
    pub least_stock: String,
    /// How far the times of rolls in one tank may lie from the common one, per cent; when empty 5, for colour 0.
    #[arg(long, default_value = "")]
    pub tolerance: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// One step as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct StepDraft {
    /// What it does: developer, stop, fixer, wash and so on.
    #[arg(long, default_value = "")]
    pub kind: String,
    /// How long, such as 8:20 or 45 s.
    #[arg(long, default_value = "")]
    pub time: String,
    /// Where its time comes from: recipe, film (looked up for the stock) or clearing-test; recipe when empty.
    #[arg(long, default_value = "")]
    pub time_from: String,
    /// Temperature its time is meant for; empty where it does not matter.
    #[arg(long, default_value = "")]
    pub temperature: String,
    /// Factor of speed for ten degrees; when empty the bench's default, for a colour developer none.
    #[arg(long, default_value = "")]
    pub q10: String,
    /// Agitation at first, seconds.
    #[arg(long, default_value = "")]
    pub first_s: String,
    /// From one agitation's beginning to the next, seconds; none when empty.
    #[arg(long, default_value = "")]
    pub every_s: String,
    /// How long each lasts, seconds.
    #[arg(long, default_value = "")]
    pub for_s: String,
    /// Pouring in takes so long, seconds: part of the time.
    #[arg(long, default_value = "")]
    pub fill_s: String,
    /// Pouring out begins so long before the end, seconds.
    #[arg(long, default_value = "")]
    pub drain_s: String,
    /// What to mind.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl RecipeDraft {
    fn read(&self, id: RecipeId, closed: bool) -> Outcome<Recipe> {
        let mut r = Reader::new();
        let process: Process = r.word("process", &self.process, Process::from_word);
        let recipe = Recipe {
            id,
            name: r.name("a recipe's name", &self.name),
            process,
            developer: r.line("developer", "a developer's name", &self.developer, 80),
            dilution: super::times::dilution(&mut r, &self.dilution),
            least_stock_ml: r.optional(
                "least_stock",
                &self.least_stock,
                MILLILITRES,
                &LEAST_STOCK_ML,
            ),
            tolerance: r
                .optional(
                    "tolerance",
                    &self.tolerance,
                    &[("%", 1.0)],
                    &TOLERANCE_PERCENT,
                )
                .unwrap_or_else(|| tank::default_tolerance(process.word()))
                / 100.0,
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(recipe)
    }
}

impl From<&Recipe> for RecipeDraft {
    fn from(r: &Recipe) -> Self {
        Self {
            name: r.name.clone(),
            process: r.process.word().to_owned(),
            developer: r.developer.clone(),
            dilution: r.dilution.clone(),
            least_stock: r
                .least_stock_ml
                .map(|ml| ml.to_string())
                .unwrap_or_default(),
            tolerance: written(r.tolerance * 100.0).to_string(),
            note: r.note.clone(),
        }
    }
}

impl StepDraft {
    /// Whether nothing was typed: an empty line of the form.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    fn read(
        &self,
        r: &mut Reader,
        owner: Owner,
        position: u32,
        prefix: &str,
        fahrenheit: bool,
    ) -> Step {
        let field = |name: &str| format!("{prefix}{name}");
        let kind = r.word(&field("kind"), &self.kind, StepKind::from_word);
        let time = match kind.develops() {
            true => crate::minutes::developing_time(&self.time),
            false => crate::minutes::bath_time(&self.time),
        };
        let time_s = r.keep(&field("time"), time, 1.0) * 60.0;
        let mut seconds = |name: &str, text: &str, bounds: &Bounds| {
            r.optional(&field(name), text, &[("s", 1.0)], bounds)
                .unwrap_or(0.0)
        };
        let agitation = Agitation {
            first_s: seconds("first_s", &self.first_s, &AGITATION_S),
            every_s: seconds("every_s", &self.every_s, &AGITATION_S),
            for_s: seconds("for_s", &self.for_s, &AGITATION_S),
        };
        let fill_s = seconds("fill_s", &self.fill_s, &POUR_S);
        let drain_s = seconds("drain_s", &self.drain_s, &POUR_S);
        if 0.0 < agitation.every_s && agitation.every_s < 1.0 {
            r.fault(
                &field("every_s"),
                Error::new(
                    Kind::OutOfRange,
                    "the interval of agitation",
                    format!("{} s", agitation.every_s),
                    "nothing, or 1 s and more",
                    "For movement without pause give the same figure for the interval and how long each lasts.",
                ),
            );
        }
        let temperature_c = r.bath(&field("temperature"), &self.temperature, fahrenheit);
        Step {
            time_from: r.word(&field("time_from"), &self.time_from, TimeFrom::from_word),
            temperature_c,
            q10: r.optional(&field("q10"), &self.q10, entry::PLAIN, &Q10),
            agitation,
            fill_s,
            drain_s,
            note: r.free(&field("note"), "a note", &self.note, 400),
            ..Step::plain(owner, position, kind, time_s)
        }
    }
}

impl From<&Step> for StepDraft {
    fn from(s: &Step) -> Self {
        let some = |v: f64| {
            if v == 0.0 {
                String::new()
            } else {
                v.to_string()
            }
        };
        Self {
            kind: s.kind.word().to_owned(),
            time: super::times::typed(s.time_s / 60.0),
            time_from: s.time_from.word().to_owned(),
            temperature: s
                .temperature_c
                .map(|c| format!("{} C", trimmed(c, 2)))
                .unwrap_or_default(),
            q10: s.q10.map(|q| q.to_string()).unwrap_or_default(),
            first_s: some(s.agitation.first_s),
            every_s: some(s.agitation.every_s),
            for_s: some(s.agitation.for_s),
            fill_s: some(s.fill_s),
            drain_s: some(s.drain_s),
            note: s.note.clone(),
        }
    }
}

/// The name of a step's form field: `step3.time`.
pub fn step_field(place: usize, name: &str) -> String {
    format!("step{place}.{name}")
}

impl Service {
    /// Every recipe, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn recipes(&self) -> Outcome<Vec<RecipeView>> {
        self.all::<Recipe>()?
            .into_iter()
            .map(|recipe| self.with_steps(recipe))
            .collect()
    }

    /// One recipe.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn recipe(&self, id: RecipeId) -> Outcome<RecipeView> {
        self.with_steps(self.find(id)?)
    }

    /// The recipe that a name or number means.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn recipe_named(&self, text: &str) -> Outcome<RecipeView> {
        let all = self.all::<Recipe>()?;
        let found = pick(&all, text, "recipe", |r| &r.name).map_err(|e| at("recipe", e))?;
        match found {
            Some(recipe) => self.with_steps(recipe.clone()),
            None => Err(super::super::error::unknown("recipe", text)),
        }
    }

    fn with_steps(&self, recipe: Recipe) -> Outcome<RecipeView> {
        let steps = self.store().steps_of(Owner::Recipe(recipe.id))?;
        Ok(RecipeView { recipe, steps })
    }

    /// Takes a built-in recipe into the store, under its own name.
    ///
    /// # Errors
    /// There is none of that name built in, or one is in the store already.
    pub fn begin_recipe(&self, name: &str, request: Request<'_>) -> Outcome<Made<RecipeId>> {
        let all = starters();
        let Some((recipe, steps)) = all
            .iter()
            .find(|(r, _)| r.name.eq_ignore_ascii_case(name.trim()))
        else {
            let known: Vec<&str> = all.iter().map(|(r, _)| r.name.as_str()).collect();
            return Err(at(
                "name",
                Error::new(
                    Kind::Unknown,
                    "a built-in recipe",
                    format!("{name:?}"),
                    known.join("; "),
                    "Use one of these names.",
                ),
            ));
        };
        self.change(request, |change| {
            let id = change.put(recipe)?;
            change.put_steps(Owner::Recipe(id), steps)?;
            Ok((
                "recipe.saved",
                format!("Took up the built-in recipe {}.", recipe.name),
                id,
            ))
        })
    }

    /// Adds a recipe (`id` none) or changes one, all its steps at once. Empty lines are left out.
    ///
    /// # Errors
    /// Every fault of the drafts; steps that make no sense in their order; a name that is taken.
    pub fn save_recipe(
        &self,
        id: Option<RecipeId>,
        draft: &RecipeDraft,
        steps: &[StepDraft],
        request: Request<'_>,
    ) -> Outcome<Made<RecipeId>> {
        let fahrenheit = self.settings()?.fahrenheit;
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Recipe>(change, id)).transpose()?;
            let recipe = draft.read(
                id.unwrap_or(RecipeId(0)),
                old.as_ref().is_some_and(|o| o.closed),
            )?;
            let mut r = Reader::new();
            let mut read = Vec::new();
            for (place, step) in steps.iter().enumerate().filter(|(_, s)| !s.is_empty()) {
                let position = read.len() as u32;
                let prefix = step_field(place, "");
                read.push(step.read(
                    &mut r,
                    Owner::Recipe(recipe.id),
                    position,
                    &prefix,
                    fahrenheit,
                ));
            }
            r.finish()?;
            if MOST_STEPS < read.len() {
                return Err(at(
                    "steps",
                    Error::new(
                        Kind::TooLarge,
                        "steps of a recipe",
                        read.len(),
                        format!("at most {MOST_STEPS}"),
                        "Put some together.",
                    ),
                ));
            }
            recipe::check(&read).map_err(|e| at("steps", e))?;
            let put = change.put(&recipe)?;
            change.put_steps(Owner::Recipe(put), &read)?;
            let changed = old
                .as_ref()
                .map(|o| differences(&RecipeDraft::from(o), &RecipeDraft::from(&recipe)));
            Ok((
                "recipe.saved",
                saved(&format!("the recipe {}", recipe.name), changed),
                put,
            ))
        })
    }

    /// Takes a recipe out of the lists, or brings it back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_recipe(
        &self,
        id: RecipeId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let recipe = Recipe {
                closed,
                ..find_in::<Recipe>(change, id)?
            };
            change.put(&recipe)?;
            Ok((
                "recipe.closed",
                format!("{} the recipe {}.", shut(closed), recipe.name),
                (),
            ))
        })
    }
}
