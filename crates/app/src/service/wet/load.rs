//! What waits to be developed, and which runs to make of it.
//!
//! A roll gets the recipe that suits its film and whose time for it is known best; rolls of one recipe whose times lie
//! close enough share a tank. Which rolls share one is solved by [`spoolwright_core::wet::tank`].

use super::super::entry::Reader;
use super::super::error::at;
use super::super::shelf::Shelf;
use super::super::{Outcome, Service};
use super::fit::unsuited;
use super::holds::{self};
use super::recipes::RecipeView;
use super::times::{FilmTime, NORMAL_C, at_another_ei, bath_name, rank, told};
use serde::{Deserialize, Serialize};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::degrees;
use spoolwright_core::shelf::{Backing, RecipeId, Roll, RollId, RollState, RunId, Stock, TankId};
use spoolwright_core::wedge::Interval;
use spoolwright_core::wet::mix::{Dilution, Reading};
use spoolwright_core::wet::recipe::{Step, TimeFrom, makes_colour};
use spoolwright_core::wet::record::{Reel, RunState, Tank, TimeSource};
use spoolwright_core::wet::tank::{self, Effort};
use spoolwright_core::wet::temperature::{Base, DEFAULT_THERMOMETER_SD_C, SHORT_MIN, time_at};
use spoolwright_core::{Error, Kind};
use std::collections::BTreeMap;

/// A roll that waits to be developed.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiting {
    /// The roll.
    pub roll: Roll,
    /// Its stock.
    pub stock: Stock,
    /// The recipe it would get; none when no recipe suits its film.
    pub recipe: Option<RecipeId>,
    /// Why it has no recipe.
    pub because: Option<String>,
    /// Its time in that recipe, at the recipe's temperature.
    pub time: Option<FilmTime>,
    /// Film in the cassette, mm.
    pub film_mm: f64,
}

impl Waiting {
    /// Whether somebody said that it was exposed.
    pub fn is_exposed(&self) -> bool {
        self.roll.state == RollState::Exposed
    }
}

/// One run that is proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct ProposedRun {
    /// The recipe.
    pub recipe: RecipeId,
    /// Its name.
    pub recipe_name: String,
    /// The tank.
    pub tank: TankId,
    /// Its name.
    pub tank_name: String,
    /// The label of each roll, reel by reel.
    pub reels: Vec<Vec<String>>,
    /// One time for all of them, minutes, at `at_c`.
    pub time_min: f64,
    /// From the shortest to the longest that their own times say (95 %), minutes; a single known time has no width.
    pub within_min: Interval,
    /// The temperature the time is meant for, °C.
    pub at_c: f64,
    /// How the least sure of their times is known.
    pub source: TimeSource,
    /// How far each roll's own time is from it, per cent.
    pub deviations: Vec<(String, f64)>,
    /// Working solution, ml.
    pub working_ml: f64,
    /// Stock or concentrate in it, ml; none where the dilution is not a sum of parts.
    pub stock_ml: Option<f64>,
}

impl ProposedRun {
    /// The reels as [`RunDraft::reels`] writes them.
    pub fn reels_typed(&self) -> String {
        let reels: Vec<String> = self.reels.iter().map(|r| r.join("+")).collect();
        reels.join(" ")
    }
}

/// What could be made of the rolls asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The runs, in order.
    pub runs: Vec<ProposedRun>,
    /// Rolls in no run, each with the reason.
    pub unloaded: Vec<(String, String)>,
    /// Pairs that cannot share a tank, and why.
    pub apart: Vec<(String, String, String)>,
    /// No other plan leaves fewer rolls out, needs fewer runs, or as many with less solution.
    pub proven: bool,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// Film that may carry remjet, though nobody has said so.
pub(super) fn backing_doubt(stock: &Stock) -> Option<Caveat> {
    (stock.backing == Backing::Unknown && stock.pitch == Pitch::Short).then(|| {
        Caveat::new(
            "backing_unknown",
            format!(
                "{} is cine camera stock by its perforations, and nobody has said whether it carries remjet: look at its back first.",
                stock.name
            ),
        )
    })
}

/// What to propose runs for, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct LoadDraft {
    /// Labels of rolls, apart by spaces; every exposed roll when empty.
    #[arg(default_value = "")]
    pub rolls: String,
    /// Recipes to use, names or numbers apart by semicolons; every recipe when empty.
    #[arg(long, default_value = "")]
    pub recipes: String,
    /// Whether wet reels are dried and used again the same day: yes or no; no when empty.
    #[arg(long, default_value = "")]
    pub dry_reels: String,
}

impl Service {
    /// Rolls that are not developed yet, those said to be exposed first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn waiting(&self) -> Outcome<Vec<Waiting>> {
        let recipes = self.open_recipes()?;
        let mut rolls = self.store().rolls_in(RollState::Exposed)?;
        for state in [RollState::InCamera, RollState::Wound] {
            rolls.extend(self.store().rolls_in(state)?);
        }
        let taken = self.rolls_in_open_runs()?;
        rolls.retain(|r| !taken.contains_key(&r.id));
        let shelf = self.shelf()?;
        rolls
            .into_iter()
            .map(|roll| self.waits(&shelf, roll, &recipes))
            .collect()
    }

    /// How many exposed rolls wait that no run holds yet.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn exposed_and_free(&self) -> Outcome<usize> {
        let taken = self.rolls_in_open_runs()?;
        let exposed = self.store().rolls_in(RollState::Exposed)?;
        Ok(exposed
            .iter()
            .filter(|r| !taken.contains_key(&r.id))
            .count())
    }

    fn open_recipes(&self) -> Outcome<Vec<RecipeView>> {
        let mut all = self.recipes()?;
        all.retain(|r| !r.recipe.closed);
        Ok(all)
    }

    /// Rolls that a run holds, each with that run.
    fn rolls_in_open_runs(&self) -> Outcome<BTreeMap<RollId, RunId>> {
        let store = self.store();
        let mut taken = BTreeMap::new();
        for state in [RunState::Planned, RunState::Running] {
            for run in store.runs_in(state)?.iter().filter(|r| holds::holds(r)) {
                taken.extend(store.rolls_of_run(run.id)?.iter().map(|r| (r.roll, run.id)));
            }
        }
        Ok(taken)
    }

    fn waits(&self, shelf: &Shelf, roll: Roll, recipes: &[RecipeView]) -> Outcome<Waiting> {
        let stock = shelf.can(roll.can)?.stock.clone();
        let film_mm = roll.clicks * stock.pitch.click().to_mm();
        let exposed_at = self.exposed_at(&roll)?;
        let mut because = format!("No recipe for {}.", stock.process.word().replace('-', " "));
        let mut found: Option<(&RecipeView, FilmTime)> = None;
        for recipe in recipes {
            match unsuited(recipe, &stock) {
                Some(why) if recipe.recipe.process == stock.process => because = why,
                Some(_) => {}
                None => {
                    let time = self.time_in(&stock, exposed_at.ei, recipe)?;
                    // The recipe whose time is known best; the older one of two known alike.
                    if found
                        .as_ref()
                        .is_none_or(|(_, best)| rank(best.source) < rank(time.source))
                    {
                        found = Some((recipe, time));
                    }
                }
            }
        }
        let because = found.is_none().then_some(because);
        let (recipe, mut time) = found.unzip();
        if let Some(time) = &mut time {
            time.caveats.extend(backing_doubt(&stock));
            time.caveats.extend(exposed_at.caveat);
        }
        Ok(Waiting {
            recipe: recipe.map(|r| r.recipe.id),
            because,
            time,
            film_mm,
            roll,
            stock,
        })
    }

    /// A film's time in a recipe, at the temperature the recipe is meant for.
    ///
    /// # Errors
    /// Trouble with the store; a recipe without a developer.
    pub fn time_in(
        &self,
        stock: &Stock,
        ei: Option<f64>,
        recipe: &RecipeView,
    ) -> Outcome<FilmTime> {
        let step = developing(recipe)?;
        if step.time_from != TimeFrom::Film {
            let mut caveats = Vec::new();
            if let Some((own, exposed)) = at_another_ei(stock.ei, ei) {
                caveats.push(Caveat::new(
                    "any_ei",
                    format!(
                        "The recipe has one time for every film: at EI {exposed} instead of {own} nothing is added or taken off. Type the time your sheet gives."
                    ),
                ));
            }
            return Ok(FilmTime {
                time_min: Interval::exactly(step.time_s / 60.0),
                at_c: step.temperature_c.unwrap_or(NORMAL_C),
                // Nothing says that a recipe's figure comes from a sheet.
                source: TimeSource::Rule,
                because: format!(
                    "the recipe {}'s own figure, the same for every film",
                    recipe.recipe.name
                ),
                caveats,
            });
        }
        let mut time = self.film_time(stock.id, ei, recipe)?;
        let to_c = step.temperature_c.unwrap_or(NORMAL_C);
        if (to_c - time.at_c).abs() > 0.01 {
            let Some(coefficient) = step.coefficient(makes_colour(&recipe.steps))? else {
                time.caveats.push(Caveat::new(
                    "colour_not_moved",
                    format!(
                        "The time is meant for {} and is taken unchanged for {}: how this developer of a colour process answers to warmth is not known.",
                        degrees(time.at_c),
                        degrees(to_c)
                    ),
                ));
                time.at_c = to_c;
                return Ok(time);
            };
            let base = Base::known(time.time_min, time.at_c)?;
            let moved = time_at(base, to_c, &coefficient, DEFAULT_THERMOMETER_SD_C)?;
            time.because += &format!(", {} at {}", told(time.time_min.value), degrees(time.at_c));
            time.time_min = moved.time_min;
            time.at_c = to_c;
            time.caveats.extend(moved.caveats);
        }
        Ok(time)
    }

    /// Which runs to make of the rolls asked for, loaded on the reels and in the tanks there are.
    ///
    /// # Errors
    /// Faults of the draft; no tank or reel in the store; nothing to develop.
    pub fn propose(&self, draft: &LoadDraft) -> Outcome<Proposal> {
        let mut r = Reader::new();
        let reels_reused = r.yes("dry_reels", &draft.dry_reels);
        r.finish()?;
        let recipes = self.recipes_asked(&draft.recipes)?;
        let tanks: Vec<Tank> = self.tanks()?.into_iter().filter(|t| !t.closed).collect();
        let reels: Vec<Reel> = self.reels()?.into_iter().filter(|r| !r.closed).collect();
        if tanks.is_empty() {
            return Err(at(
                "tank",
                Error::missing(
                    "a tank",
                    "a tank with its reels",
                    "Enter your reels and tanks first.",
                ),
            ));
        }
        let wanted = self.rolls_asked(&draft.rolls, &recipes)?;
        let mut unloaded: Vec<(String, String)> = Vec::new();
        let mut bench = tank::Bench {
            rolls: Vec::new(),
            developers: Vec::new(),
            tanks: tanks.iter().map(of_tank).collect(),
            reels: reels.iter().map(of_reel).collect(),
            tolerance_percent: Some(tank::TOLERANCE_PERCENT),
            reels_reused,
            between_mm: None,
        };
        let mut caveats = Vec::new();
        for w in &wanted {
            let recipe = recipes.iter().find(|r| Some(r.recipe.id) == w.recipe);
            match (recipe, &w.time) {
                (Some(recipe), Some(time)) => {
                    caveats.extend(
                        time.caveats
                            .iter()
                            .map(|c| Caveat::new(c.code, format!("{}: {}", w.roll.label, c.text))),
                    );
                    bench.rolls.push(of_roll(w, recipe, time));
                    let developer = of_developer(recipe, &mut caveats);
                    if !bench.developers.iter().any(|d| d.id == developer.id) {
                        bench.developers.push(developer);
                    }
                }
                _ => unloaded.push((w.roll.label.clone(), w.because.clone().unwrap_or_default())),
            }
        }
        if bench.rolls.is_empty() {
            return Ok(Proposal {
                runs: Vec::new(),
                unloaded,
                apart: Vec::new(),
                proven: true,
                caveats,
            });
        }
        let mut plan = tank::load(&bench, Effort::USUAL)?;
        // The solver goes by the name of a recipe; whether it makes colour is for the recipe to say.
        let uneven = plan.runs.iter().any(|run| {
            let of = recipes.iter().find(|r| r.recipe.name == run.process);
            run.time_min < SHORT_MIN && of.is_some_and(|r| !r.recipe.process.is_colour())
        });
        plan.caveats.retain(|c| c.code != "short_time" || uneven);
        caveats.extend(plan.caveats);
        for run in self.store().runs_in(RunState::Running)? {
            let busy = tanks.iter().find(|t| Some(t.id) == run.tank);
            if let Some(tank) = busy.filter(|t| {
                holds::holds(&run) && plan.runs.iter().any(|p| p.tank == t.id.to_string())
            }) {
                caveats.push(Caveat::new(
                    "tank_going",
                    format!(
                        "{} is going in run {}: load it when that run is over.",
                        tank.name, run.id
                    ),
                ));
            }
        }
        unloaded.extend(plan.unloaded.into_iter().map(|u| (u.id, u.because)));
        Ok(Proposal {
            runs: plan
                .runs
                .into_iter()
                .filter_map(|run| proposed(run, &recipes, &tanks, &wanted))
                .collect(),
            unloaded,
            apart: plan
                .apart
                .into_iter()
                .map(|a| (a.a, a.b, a.because))
                .collect(),
            proven: plan.proven,
            caveats,
        })
    }

    fn recipes_asked(&self, text: &str) -> Outcome<Vec<RecipeView>> {
        let open = self.open_recipes()?;
        let names: Vec<&str> = text
            .split(';')
            .map(str::trim)
            .filter(|n| !n.is_empty())
            .collect();
        if names.is_empty() {
            return Ok(open);
        }
        names.into_iter().map(|n| self.recipe_named(n)).collect()
    }

    fn rolls_asked(&self, text: &str, recipes: &[RecipeView]) -> Outcome<Vec<Waiting>> {
        let labels: Vec<&str> = text.split_whitespace().collect();
        let shelf = self.shelf()?;
        let taken = self.rolls_in_open_runs()?;
        let mut wanted = Vec::new();
        if labels.is_empty() {
            let exposed = self.store().rolls_in(RollState::Exposed)?;
            for roll in exposed.into_iter().filter(|r| !taken.contains_key(&r.id)) {
                wanted.push(self.waits(&shelf, roll, recipes)?);
            }
        } else {
            for label in labels {
                let roll = self.labelled("rolls", label)?;
                let free = match taken.get(&roll.id) {
                    Some(run) => Some(format!(
                        "It is loaded in run {run}: give that run up first."
                    )),
                    None if !roll.state.holds_cassette() => Some(format!(
                        "It is {}: only film that is not developed yet goes into a tank.",
                        roll.state.word()
                    )),
                    None => None,
                };
                let mut waits = self.waits(&shelf, roll, recipes)?;
                if free.is_some() {
                    (waits.recipe, waits.because) = (None, free);
                }
                wanted.push(waits);
            }
        }
        if wanted.is_empty() {
            return Err(at(
                "rolls",
                Error::missing(
                    "rolls to develop",
                    "labels of rolls that are not developed yet",
                    "Tick the rolls, or mark them exposed first.",
                ),
            ));
        }
        Ok(wanted)
    }

    pub(super) fn labelled(&self, field: &str, label: &str) -> Outcome<Roll> {
        self.store().roll_by_label(label)?.ok_or_else(|| {
            at(
                field,
                Error::new(
                    Kind::Unknown,
                    "a roll",
                    format!("{label:?}"),
                    "the label of a wound roll",
                    "Look the label up in the list of rolls.",
                ),
            )
        })
    }
}

pub(super) fn developing(recipe: &RecipeView) -> Outcome<&Step> {
    recipe.developing().ok_or_else(|| {
        at(
            "recipe",
            Error::missing(
                "a developing step",
                "a recipe with a developer",
                "Add one to the recipe.",
            ),
        )
    })
}

fn of_tank(t: &Tank) -> tank::Tank {
    tank::Tank {
        id: t.id.to_string(),
        reel: t.reel.to_string(),
        ml: t.volume_ml.iter().map(|ml| ml.ceil() as u32).collect(),
    }
}

fn of_reel(r: &Reel) -> tank::Reel {
    tank::Reel {
        id: r.id.to_string(),
        count: r.count,
        longest_mm: r.longest_mm,
        takes_two: r.takes_two,
    }
}

fn of_roll(w: &Waiting, recipe: &RecipeView, time: &FilmTime) -> tank::Roll {
    tank::Roll {
        id: w.roll.label.clone(),
        process: recipe.recipe.name.clone(),
        developer: bath_name(&recipe.recipe.developer, &recipe.recipe.dilution),
        own_kind: (w.stock.backing == Backing::Remjet).then(|| "remjet".to_owned()),
        time_min: time.time_min.value,
        tolerance_percent: Some(recipe.recipe.tolerance * 100.0),
        film_mm: w.film_mm,
    }
}

fn of_developer(recipe: &RecipeView, caveats: &mut Vec<Caveat>) -> tank::Developer {
    let dilution = recipe.recipe.dilution.trim();
    let water_parts = water_parts(dilution);
    if water_parts.is_none() && recipe.recipe.least_stock_ml.is_some() {
        caveats.push(Caveat::new(
            "dilution_not_read",
            format!(
                "{}: the dilution {dilution:?} is not one part and so many of water, so the least stock per film is not watched.",
                recipe.recipe.name
            ),
        ));
    }
    tank::Developer {
        id: bath_name(&recipe.recipe.developer, &recipe.recipe.dilution),
        water_parts: water_parts.unwrap_or(0.0),
        least_stock_ml: recipe
            .recipe
            .least_stock_ml
            .filter(|_| water_parts.is_some()),
    }
}

fn proposed(
    run: tank::Run,
    recipes: &[RecipeView],
    tanks: &[Tank],
    wanted: &[Waiting],
) -> Option<ProposedRun> {
    let recipe = recipes.iter().find(|r| r.recipe.name == run.process)?;
    let tank = tanks.iter().find(|t| t.id.to_string() == run.tank)?;
    let working_ml = f64::from(run.working_ml);
    let labels: Vec<&String> = run.reels.iter().flat_map(|r| &r.rolls).collect();
    let times: Vec<&FilmTime> = wanted
        .iter()
        .filter(|w| labels.contains(&&w.roll.label))
        .filter_map(|w| w.time.as_ref())
        .collect();
    let mut within_min = Interval::exactly(run.time_min);
    for t in &times {
        within_min.lower95 = within_min.lower95.min(t.time_min.lower95);
        within_min.upper95 = within_min.upper95.max(t.time_min.upper95);
    }
    Some(ProposedRun {
        recipe: recipe.recipe.id,
        recipe_name: recipe.recipe.name.clone(),
        tank: tank.id,
        tank_name: tank.name.clone(),
        reels: run.reels.into_iter().map(|r| r.rolls).collect(),
        time_min: run.time_min,
        within_min,
        at_c: times.first()?.at_c,
        source: times.iter().map(|t| t.source).min_by_key(|s| rank(*s))?,
        deviations: run
            .deviations
            .into_iter()
            .map(|d| (d.id, d.percent))
            .collect(),
        working_ml,
        stock_ml: water_parts(&recipe.recipe.dilution).map(|parts| working_ml / (1.0 + parts)),
    })
}

/// Parts of water to one of stock: `stock` is none, `1+9` is nine; none where it is not plainly a sum of parts.
pub(super) fn water_parts(dilution: &str) -> Option<f64> {
    if matches!(
        dilution.trim().to_lowercase().as_str(),
        "" | "stock" | "undiluted"
    ) {
        return Some(0.0);
    }
    let dilution = Dilution::parse(dilution).ok()?;
    let stock: f64 = dilution.concentrates.iter().sum();
    (dilution.reading == Some(Reading::Plus) && stock > 0.0).then(|| dilution.last / stock)
}
