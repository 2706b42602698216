//! Making a run: a load that was proposed, or put together by hand, with its own copy of the recipe's steps.

use super::super::draft::pick;
use super::super::entry::Reader;
use super::super::error::at;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::fit::{
    area_m2, enough, must_be_in_use, must_have_stock, must_lie_in_reels, must_suit, tank_volume,
};
use super::holds::must_be_free;
use super::kit::{MILLILITRES, TANK_ML};
use super::load::{backing_doubt, developing, water_parts};
use super::pour::{Load, run_steps};
use super::recipes::RecipeView;
use super::runs::{RunView, pace_of};
use super::times::{FilmTime, NORMAL_C, rank, told, told_ends};
use serde::{Deserialize, Serialize};
use spoolwright_core::shelf::{Roll, RunId, RunRollId, Stock};
use spoolwright_core::wedge::Interval;
use spoolwright_core::wet::recipe::{Owner, Recipe};
use spoolwright_core::wet::record::{Exposure, Run, RunRoll, RunState, TimeSource};
use spoolwright_core::{Error, Kind};

/// One run as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct RunDraft {
    /// The recipe: its name or number.
    #[arg(long, default_value = "")]
    pub recipe: String,
    /// The tank: its name or number; none when empty.
    #[arg(long, default_value = "")]
    pub tank: String,
    /// Labels of rolls, a reel each, apart by spaces; two on one reel with a plus: HM-07 HM-08+GU-01.
    #[arg(long, default_value = "")]
    pub reels: String,
    /// The developing time at the recipe's temperature, such as 8:20; looked up for the film when empty.
    #[arg(long, default_value = "")]
    pub time: String,
    /// Working solution, ml; what the tank needs when empty.
    #[arg(long, default_value = "")]
    pub volume: String,
    /// It is so, although the film is meant for another process (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub sure: String,
    /// A rehearsal without film: how many times faster than life its clock goes.
    #[arg(long, default_value = "")]
    pub rehearsal: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl Service {
    /// What the developer of a run is mixed from, `11 ml of House brew and 541 ml of water (1+49)`; none where it comes
    /// from a bottle with a card, or the recipe is not known.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn mixed_for(&self, view: &RunView) -> Outcome<Option<String>> {
        let developing = view.steps.iter().find(|s| s.kind.develops());
        let (Some(id), Some(_)) = (view.run.recipe, developing.filter(|s| s.bath.is_none())) else {
            return Ok(None);
        };
        Ok(Some(mixed(&self.recipe(id)?.recipe, view.run.volume_ml)))
    }

    /// Makes a run: its own copy of the recipe's steps, each with its time and the bottle it is poured from.
    ///
    /// # Errors
    /// Faults of the draft; a roll that is developed or loaded elsewhere; more reels than the tank takes; a tank or a
    /// recipe that was put away.
    pub fn make_run(&self, draft: &RunDraft, request: Request<'_>) -> Outcome<Made<RunId>> {
        let recipe = self.recipe_named(&draft.recipe)?;
        let shelf = self.shelf()?;
        let today = self.today();
        let mut r = Reader::new();
        let rehearsal = pace_of(&mut r, &draft.rehearsal);
        let note = r.free("note", "a note", &draft.note, 400);
        let sure = r.yes("sure", &draft.sure);
        let own_time = match draft.time.trim() {
            "" => None,
            text => {
                let time = crate::minutes::developing_time(text).map(Some);
                r.keep("time", time, None)
            }
        };
        let volume_ml = r.optional("volume", &draft.volume, MILLILITRES, &TANK_ML);
        let tanks = self.tanks()?;
        let tank = match draft.tank.trim() {
            "" => None,
            text => r.keep("tank", pick(&tanks, text, "tank", |t| &t.name), None),
        };
        r.finish()?;
        let reels = self.reels_typed(&draft.reels)?;
        let loaded: Vec<(u32, Roll, Stock)> = reels
            .into_iter()
            .map(|(reel, roll)| {
                let stock = shelf.can(roll.can)?.stock.clone();
                Ok((reel, roll, stock))
            })
            .collect::<Outcome<_>>()?;
        must_suit(&recipe, &loaded, sure)?;
        if rehearsal.is_none() && loaded.is_empty() {
            return Err(at(
                "reels",
                Error::missing(
                    "rolls in the tank",
                    "labels of rolls; none only for a rehearsal",
                    "Name the rolls, or make it a rehearsal.",
                ),
            ));
        }
        let reel_count = loaded.iter().map(|(reel, ..)| *reel).max().unwrap_or(1);
        if let Some(tank) = tank {
            must_be_in_use("tank", &tank.name, tank.closed)?;
            must_lie_in_reels(&self.reel(tank.reel)?, &loaded)?;
        }
        must_be_in_use("recipe", &recipe.recipe.name, recipe.recipe.closed)?;
        let typed_ml = volume_ml;
        let mut volume_ml = tank_volume(tank, reel_count, typed_ml)?;
        if let (None, Some(tank)) = (typed_ml, tank) {
            volume_ml = enough(&recipe, &loaded, tank, volume_ml)?;
        }
        must_have_stock(&recipe, &loaded, volume_ml)?;
        let time = self.common_time(&recipe, &loaded, own_time)?;
        let load = Load {
            area_m2: area_m2(&loaded)?,
            volume_ml,
        };
        let baths = self.baths_for(load.films())?;
        let steps = run_steps(&recipe, &time, &baths, load)?;
        let mut time_because = time.because.clone();
        if let Some(ends) = told_ends(time.time_min) {
            time_because += &format!(", 95 % {ends}");
        }
        for caveat in &time.caveats {
            if !time_because.contains(&caveat.text) {
                time_because += &format!(". {}", caveat.text.trim_end_matches('.'));
            }
        }
        let mut doubted: Vec<String> = loaded
            .iter()
            .filter_map(|(_, _, stock)| backing_doubt(stock))
            .map(|c| format!(". {}", c.text.trim_end_matches('.')))
            .collect();
        doubted.dedup();
        time_because += &doubted.concat();
        self.change(request, |change| {
            // A rehearsal goes by the time of the rolls named, and takes none of them.
            let taken = if rehearsal.is_none() {
                &loaded[..]
            } else {
                &[]
            };
            for (_, roll, _) in taken {
                let roll = find_in::<Roll>(change, roll.id)?;
                must_be_free(change, &roll)?;
            }
            let run = Run {
                id: RunId(0),
                recipe: Some(recipe.recipe.id),
                tank: tank.map(|t| t.id),
                made_on: today,
                volume_ml,
                time_source: time.source,
                time_because,
                rehearsal,
                state: RunState::Planned,
                note,
            };
            let id = change.put(&run)?;
            change.put_steps(Owner::Run(id), &steps)?;
            let mut labels = Vec::new();
            for (reel, roll, _) in taken {
                labels.push(roll.label.clone());
                change.put(&RunRoll {
                    id: RunRollId(0),
                    run: id,
                    roll: roll.id,
                    reel: *reel,
                    usable: None,
                    fogged_start: None,
                    fogged_end: None,
                    exposure: Exposure::Unsaid,
                    note: String::new(),
                })?;
                change.about(spoolwright_store::Subject::of::<Roll>(roll.id));
            }
            let what = match rehearsal {
                Some(pace) => format!("a rehearsal at {pace} times life"),
                None => labels.join(", "),
            };
            Ok((
                "run.made",
                format!("Loaded {what} for {}.", recipe.recipe.name),
                id,
            ))
        })
    }

    fn reels_typed(&self, text: &str) -> Outcome<Vec<(u32, Roll)>> {
        let mut all: Vec<(u32, Roll)> = Vec::new();
        for (reel, labels) in (1..).zip(text.split_whitespace()) {
            for label in labels.split('+') {
                let roll = self.labelled("reels", label)?;
                if all.iter().any(|(_, r)| r.id == roll.id) {
                    return Err(at(
                        "reels",
                        Error::new(
                            Kind::Inconsistent,
                            "rolls in the tank",
                            format!("{} twice", roll.label),
                            "each roll once",
                            "Name it once.",
                        ),
                    ));
                }
                all.push((reel, roll));
            }
        }
        Ok(all)
    }

    /// One time for all rolls of a run: the one whose worst deviation is least, or the one that was typed.
    fn common_time(
        &self,
        recipe: &RecipeView,
        loaded: &[(u32, Roll, Stock)],
        own: Option<f64>,
    ) -> Outcome<FilmTime> {
        let step = developing(recipe)?;
        let mut times = loaded
            .iter()
            .map(|(_, roll, stock)| {
                let exposed_at = self.exposed_at(roll)?;
                let mut time = self.time_in(stock, exposed_at.ei, recipe)?;
                time.caveats.extend(exposed_at.caveat);
                Ok((roll, time))
            })
            .collect::<Outcome<Vec<_>>>()?;
        let at_c = step.temperature_c.unwrap_or(NORMAL_C);
        if let Some(own) = own {
            let looked_up: Vec<String> = times
                .iter()
                .map(|(roll, t)| format!("{} {}", roll.label, told(t.time_min.value)))
                .collect();
            let mut because = "typed for this run".to_owned();
            if !looked_up.is_empty() {
                because += &format!(" (looked up: {})", looked_up.join(", "));
            }
            return Ok(FilmTime {
                time_min: Interval::exactly(own),
                at_c,
                source: TimeSource::Typed,
                because,
                caveats: Vec::new(),
            });
        }
        let Some((roll, mut first)) = (!times.is_empty()).then(|| times.remove(0)) else {
            let own = step.time_s / 60.0;
            return Ok(FilmTime {
                time_min: Interval::exactly(own),
                at_c,
                source: TimeSource::Rule,
                because: format!("the recipe {}'s own figure", recipe.recipe.name),
                caveats: Vec::new(),
            });
        };
        let all = || times.iter().map(|(_, t)| t.time_min.value);
        let own = first.time_min.value;
        let shortest = all().fold(own, f64::min);
        let longest = all().fold(own, f64::max);
        let mut between = String::new();
        if shortest < longest {
            // The time whose relative deviation from both ends is the same.
            let common = 2.0 * shortest * longest / (shortest + longest);
            let off = (longest - common) / longest;
            if off > recipe.recipe.tolerance + 1e-9 {
                return Err(at(
                    "reels",
                    Error::new(
                        Kind::Impossible,
                        "one time for all rolls in the tank",
                        format!("{} to {}", told(shortest), told(longest)),
                        format!(
                            "times within {:.0} % of a common one",
                            recipe.recipe.tolerance * 100.0
                        ),
                        "Develop them in two runs, or type the time yourself.",
                    ),
                ));
            }
            between = format!(
                "between {} and {}, at most {:.1} % off for any roll; ",
                told(shortest),
                told(longest),
                off * 100.0
            );
        }
        let mut because = vec![(vec![roll.label.as_str()], first.because)];
        for (roll, t) in times {
            // As sure as the least sure of them.
            if rank(t.source) < rank(first.source) {
                first.source = t.source;
            }
            for caveat in t.caveats {
                if !first.caveats.contains(&caveat) {
                    first.caveats.push(caveat);
                }
            }
            first.time_min.lower95 = first.time_min.lower95.min(t.time_min.lower95);
            first.time_min.upper95 = first.time_min.upper95.max(t.time_min.upper95);
            match because.iter_mut().find(|(_, said)| *said == t.because) {
                Some((labels, _)) => labels.push(&roll.label),
                None => because.push((vec![&roll.label], t.because)),
            }
        }
        let said: Vec<String> = match because.as_slice() {
            [(_, same)] => vec![same.clone()],
            all => all
                .iter()
                .map(|(labels, said)| format!("{}: {said}", labels.join(", ")))
                .collect(),
        };
        first.because = between + &said.join("; ");
        if shortest < longest {
            let common = 2.0 * shortest * longest / (shortest + longest);
            first.time_min.value = common;
        }
        Ok(first)
    }
}

/// What a developer for this run alone is mixed from.
fn mixed(recipe: &Recipe, volume_ml: f64) -> String {
    let developer = match recipe.developer.as_str() {
        "" => "developer",
        name => name,
    };
    if recipe.dilution.trim().is_empty() {
        return developer.to_owned();
    }
    match water_parts(&recipe.dilution) {
        Some(parts) if parts > 0.0 => {
            let stock_ml = volume_ml / (1.0 + parts);
            format!(
                "{stock_ml:.0} ml of {developer} and {:.0} ml of water ({})",
                volume_ml - stock_ml,
                recipe.dilution
            )
        }
        Some(_) => format!("{developer}, not diluted"),
        None => format!("{developer}, {}", recipe.dilution),
    }
}
