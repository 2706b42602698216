//! A run's sheet in words: what lies where, what to pour, each step, and what was done so far.

use super::super::runs::{LoadedRoll, RunView};
use super::super::times::{told, told_within};
use super::{minded, multiple};
use crate::service::moment::day_in_words;
use crate::service::settings::Settings;
use crate::service::shelf::Shelf;
use crate::service::{Outcome, Service};
use spoolwright_core::wet::recipe::{Step, TimeFrom, makes_colour};
use spoolwright_core::wet::record::{BathCard, RunState, TimeSource};
use spoolwright_core::wet::temperature::{Base, DEFAULT_Q10, DEFAULT_THERMOMETER_SD_C, time_at};
use spoolwright_core::wet::timer::StepState;
use spoolwright_print::{RunReel, RunSheet, RunStep};

/// Degrees from the meant temperature for which a sheet tells the developing time.
const OTHERS: [f64; 4] = [-2.0, -1.0, 1.0, 2.0];

impl Service {
    pub(super) fn run_sheet(&self, view: &RunView, settings: &Settings) -> Outcome<RunSheet> {
        let run = &view.run;
        let recipe = match run.recipe {
            Some(id) => Some(self.recipe(id)?.recipe),
            None => None,
        };
        let tank = match run.tank {
            Some(id) => self.tank(id)?.name,
            None => String::new(),
        };
        let shelf = self.shelf()?;
        let bottles = self.bottles(&view.steps)?;
        let done = self.run_clock(run.id)?.timer.done;
        let developing = view.steps.iter().find(|s| s.kind.develops());
        let (other_times, other_times_from) = developing
            .map(|step| others(step, makes_colour(&view.steps), settings))
            .unwrap_or_default();
        let bottle = |step: &Step| bottles.iter().find(|b| Some(b.id) == step.bath);
        let kinds = view.steps.iter().filter_map(|s| {
            let usual = s.kind.baths().first().copied();
            bottle(s).map_or(usual, |b| Some(b.kind))
        });
        Ok(RunSheet {
            name: view.name(),
            state: match (run.rehearsal, run.state) {
                (Some(pace), _) => format!("rehearsal, {pace} times as fast as life"),
                (None, RunState::Abandoned) => "given up".to_owned(),
                _ => String::new(),
            },
            recipe: recipe.as_ref().map(|r| r.name.clone()).unwrap_or_default(),
            tank,
            made_on: day_in_words(&run.made_on),
            volume: format!("{:.0} ml", run.volume_ml),
            stock: self.mixed_for(view)?.unwrap_or_default(),
            developing: format!("{}: {}", source(run.time_source), run.time_because),
            other_times,
            other_times_from,
            reels: reels(&view.rolls, &shelf)?,
            steps: (0..)
                .zip(&view.steps)
                .map(|(place, step)| run_step(place, step, bottle(step), &done, settings))
                .collect(),
            note: run.note.clone(),
            cautions: minded(kinds),
            url: Some(format!("{}/wet/runs/{}", settings.address, run.id)),
        })
    }

    /// The bottles that steps are poured from.
    fn bottles(&self, steps: &[Step]) -> Outcome<Vec<BathCard>> {
        let mut ids: Vec<_> = steps.iter().filter_map(|s| s.bath).collect();
        ids.sort_unstable();
        ids.dedup();
        ids.into_iter().map(|id| self.find(id)).collect()
    }
}

/// Times of a developing step in a bath that is warmer or colder throughout, as far as the sum is sound, and where the
/// factor comes from.
fn others(step: &Step, colour: bool, settings: &Settings) -> (Vec<(String, String)>, String) {
    let times = || -> Result<Vec<(String, String)>, spoolwright_core::Error> {
        let Some(meant_c) = step.temperature_c else {
            return Ok(Vec::new());
        };
        // A developer of a colour process without a factor of its own is not moved by one of black-and-white developers.
        let Some(coefficient) = step.coefficient(colour)? else {
            return Ok(Vec::new());
        };
        let base = Base::new(step.time_s / 60.0, meant_c)?;
        let mut times = Vec::new();
        for c in OTHERS.map(|by| meant_c + by) {
            let at = time_at(base, c, &coefficient, DEFAULT_THERMOMETER_SD_C)?;
            let has = |code| at.caveats.iter().any(|c| c.code == code);
            if !has("outside_range") {
                let mark = if has("short_time") { "*" } else { "" };
                let time = told_within(at.time_min) + mark;
                times.push((settings.bath_temperature(c), time));
            }
        }
        Ok(times)
    };
    // A time or a temperature beyond what the sum is for has no others.
    let times = times().unwrap_or_default();
    let mut from = match step.q10 {
        Some(q10) => {
            format!("{q10} times as fast ten degrees C warmer, as the recipe has it; 95 %")
        }
        None => format!("{DEFAULT_Q10} times as fast ten degrees C warmer, a default; 95 %"),
    };
    if times.iter().any(|(_, time)| time.ends_with('*')) {
        from += "; * short, hard to get even";
    }
    (times, from)
}

fn source(source: TimeSource) -> &'static str {
    match source {
        TimeSource::Card => "from the stock card",
        TimeSource::Sheet => "from a sheet",
        TimeSource::Own => "your own",
        TimeSource::Rule => "rule of thumb",
        TimeSource::Typed => "typed for this run",
    }
}

fn reels(rolls: &[LoadedRoll], shelf: &Shelf) -> Outcome<Vec<RunReel>> {
    let mut reels: Vec<RunReel> = Vec::new();
    let mut loaded: Vec<&LoadedRoll> = rolls.iter().collect();
    loaded.sort_by_key(|l| l.on.reel);
    for LoadedRoll { on, roll } in loaded {
        let view = shelf.roll_view(roll.clone())?;
        let ei = view.ei.map(|ei| format!(", EI {ei}")).unwrap_or_default();
        let said = format!(
            "{} {}{ei}, {} frames",
            roll.label, view.stock.name, roll.frames
        );
        match reels.last_mut() {
            Some(reel) if reel.reel == on.reel => {
                reel.rolls += "; then ";
                reel.rolls += &said;
            }
            _ => reels.push(RunReel {
                reel: on.reel,
                rolls: said,
            }),
        }
    }
    Ok(reels)
}

fn run_step(
    place: u32,
    step: &Step,
    bottle: Option<&BathCard>,
    done: &[StepState],
    settings: &Settings,
) -> RunStep {
    let was = || done.iter().filter(|s| s.step == place);
    let given: Vec<String> = was().map(|s| told(s.elapsed_s / 60.0)).collect();
    let readings: Vec<String> = was()
        .flat_map(|s| &s.readings)
        .map(|r| settings.bath_temperature(r.c))
        .collect();
    let test = match step.time_from {
        TimeFrom::ClearingTest if step.plain_s.is_none() => {
            let times = multiple(bottle.is_some_and(|b| b.high_iodide));
            format!("Clear a scrap in it first: fix for {times} × its time where that is longer.")
        }
        _ => String::new(),
    };
    let told_of_it = step.told();
    let note = [test.as_str(), told_of_it.as_str()];
    RunStep {
        name: step.kind.spoken().to_owned(),
        time_s: step.time_s,
        drain_s: step.drain_s,
        temperature: step
            .temperature_c
            .map(|c| settings.bath_temperature(c))
            .unwrap_or_default(),
        agitation: step.agitation.spoken(),
        bottle: bottle.map(|b| b.name.clone()).unwrap_or_default(),
        note: note
            .into_iter()
            .filter(|n| !n.is_empty())
            .collect::<Vec<_>>()
            .join(" "),
        done: given.join(", "),
        readings: readings.join(", "),
    }
}
