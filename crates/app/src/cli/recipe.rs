//! `spoolwright recipe`, `tank`, `reel` and `time`: what runs are made of.

use std::path::PathBuf;

use serde_json::{Value, json};
use spoolwright_core::quantity::degrees;
use spoolwright_core::shelf::{ReelId, SheetTimeId, TankId};
use spoolwright_core::wet::record::{Reel, SheetTime, Tank};
use spoolwright_core::wet::starters::{CAUTION, starters};
use spoolwright_core::{Error, Kind};

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash, over};
use crate::service::wet::kit::{ReelDraft, TankDraft};
use crate::service::wet::recipes::{RecipeDraft, RecipeView, StepDraft};
use crate::service::wet::times::{TimeDraft, told};

/// Most bytes of a file of steps.
const MOST_BYTES: u64 = 256 * 1024;

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Take up a built-in recipe, or list what is built in.
    Begin {
        /// Its name; the list when left out.
        name: Option<String>,
    },
    /// Add a recipe.
    Add {
        #[command(flatten)]
        draft: RecipeDraft,
        /// Its steps: a JSON file, as `recipe show --json` prints them.
        #[arg(long, value_name = "FILE")]
        steps: PathBuf,
    },
    /// Change a recipe; a lone - empties a field.
    Change {
        /// Its name or number.
        recipe: String,
        #[command(flatten)]
        draft: RecipeDraft,
        /// New steps: a JSON file; as they are when left out.
        #[arg(long, value_name = "FILE")]
        steps: Option<PathBuf>,
    },
    /// List the recipes.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// Show one with its steps.
    Show {
        /// Its name or number.
        recipe: String,
    },
    /// Put a recipe away.
    Close {
        /// Its name or number.
        recipe: String,
    },
    /// Take it out again.
    Reopen {
        /// Its name or number.
        recipe: String,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let (recipe, closed) = match verb {
        Verb::Begin { name: None } => return built_in(desk),
        Verb::Begin { name: Some(name) } => {
            let made = desk.service.begin_recipe(&name, desk.request)?;
            return desk.made(made, |id| json!({ "id": id.0 }));
        }
        Verb::Add { draft, steps } => {
            let steps = read_steps(&steps)?;
            let made = desk
                .service
                .save_recipe(None, &draft, &steps, desk.request)?;
            return desk.made(made, |id| json!({ "id": id.0 }));
        }
        Verb::Change {
            recipe,
            draft,
            steps,
        } => {
            let old = desk.service.recipe_named(&recipe)?;
            let draft = over(&RecipeDraft::from(&old.recipe), &draft)?;
            let steps = match steps {
                Some(file) => read_steps(&file)?,
                None => old.steps.iter().map(StepDraft::from).collect(),
            };
            let made =
                desk.service
                    .save_recipe(Some(old.recipe.id), &draft, &steps, desk.request)?;
            return desk.told(made);
        }
        Verb::List { all } => return list(desk, all),
        Verb::Show { recipe } => {
            let recipe = desk.service.recipe_named(&recipe)?;
            return desk.answer(text(&recipe), || of(&recipe));
        }
        Verb::Close { recipe } => (recipe, true),
        Verb::Reopen { recipe } => (recipe, false),
    };
    let recipe = desk.service.recipe_named(&recipe)?;
    let made = desk
        .service
        .close_recipe(recipe.recipe.id, closed, desk.request)?;
    desk.told(made)
}

fn read_steps(file: &std::path::Path) -> Result<Vec<StepDraft>, Failure> {
    let refuse = |given: String, remedy: &str| {
        Failure::from(Error::new(
            Kind::Unknown,
            "--steps",
            given,
            "a JSON list of steps, as `spoolwright recipe show NAME --json` prints under \"steps\"",
            remedy,
        ))
    };
    let size = std::fs::metadata(file)?.len();
    if MOST_BYTES < size {
        return Err(refuse(
            format!("{size} bytes"),
            "Give a file of steps only.",
        ));
    }
    let text = std::fs::read_to_string(file)?;
    let value: Value =
        serde_json::from_str(&text).map_err(|e| refuse(e.to_string(), "Correct the file."))?;
    let list = value.get("steps").cloned().unwrap_or(value);
    serde_json::from_value(list).map_err(|e| refuse(e.to_string(), "Correct the file."))
}

fn built_in(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let all = starters();
    let mut table = Table::new(&["built in", "process", ">steps"]);
    for (recipe, steps) in &all {
        table.row([
            recipe.name.clone(),
            recipe.process.word().to_owned(),
            steps.len().to_string(),
        ]);
    }
    let text = format!("{}{CAUTION}\n", listed(table, ""));
    desk.answer(text, || {
        all.iter()
            .map(|(r, s)| json!({ "name": r.name, "process": r.process.word(), "steps": s.len() }))
            .collect()
    })
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let mut recipes = desk.service.recipes()?;
    recipes.retain(|r| all || !r.recipe.closed);
    let mut table = Table::new(&[">no", "recipe", "process", "developer", ">steps", ""]);
    for r in &recipes {
        table.row([
            r.recipe.id.to_string(),
            r.recipe.name.clone(),
            r.recipe.process.word().to_owned(),
            format!("{} {}", r.recipe.developer, r.recipe.dilution),
            r.steps.len().to_string(),
            if r.recipe.closed { "put away" } else { "" }.to_owned(),
        ]);
    }
    desk.answer(
        listed(
            table,
            "No recipe yet: `spoolwright recipe begin` lists what is built in.",
        ),
        || recipes.iter().map(of).collect(),
    )
}

fn text(r: &RecipeView) -> String {
    let mut text = format!(
        "{}: {}, {} {}\n",
        r.recipe.name,
        r.recipe.process.word(),
        r.recipe.developer,
        r.recipe.dilution
    );
    if let Some(ml) = r.recipe.least_stock_ml {
        text += &format!("least stock for a film of 36: {ml} ml\n");
    }
    text += &format!(
        "rolls share a tank up to {:.0} % off a common time\n",
        r.recipe.tolerance * 100.0
    );
    if !r.recipe.note.is_empty() {
        text += &format!("{}\n", r.recipe.note);
    }
    for s in &r.steps {
        let warm = s
            .temperature_c
            .map(|t| format!(" at {}", degrees(t)))
            .unwrap_or_default();
        text += &format!(
            "  {:<18} {:>6}{warm}  {}\n",
            s.kind.spoken(),
            told(s.time_s / 60.0),
            s.agitation.spoken()
        );
        if !s.note.is_empty() {
            text += &format!("      {}\n", s.note);
        }
    }
    text
}

fn of(r: &RecipeView) -> Value {
    json!({
        "id": r.recipe.id.0, "name": r.recipe.name, "process": r.recipe.process.word(),
        "developer": r.recipe.developer, "dilution": r.recipe.dilution, "least_stock_ml": r.recipe.least_stock_ml,
        "tolerance": r.recipe.tolerance, "note": r.recipe.note, "closed": r.recipe.closed,
        "steps": r.steps.iter().map(StepDraft::from).collect::<Vec<_>>(),
    })
}

#[derive(clap::Subcommand)]
pub(super) enum ReelVerb {
    /// Add a kind of reel.
    Add(ReelDraft),
    /// Change one; a lone - empties a field.
    Change {
        /// Its number.
        reel: i64,
        #[command(flatten)]
        draft: ReelDraft,
    },
    /// List the reels.
    List,
    /// Put a kind of reel away.
    Close {
        /// Its number.
        reel: i64,
    },
    /// Take it out again.
    Reopen {
        /// Its number.
        reel: i64,
    },
}

pub(super) fn reels(verb: ReelVerb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        ReelVerb::Add(draft) => {
            let made = desk.service.save_reel(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        ReelVerb::Change { reel, draft } => {
            let old = desk.service.reel(ReelId(reel))?;
            let draft = over(&ReelDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_reel(Some(ReelId(reel)), &draft, desk.request)?;
            desk.told(made)
        }
        ReelVerb::List => {
            let reels = desk.service.reels()?;
            let mut table = Table::new(&[">no", "reel", ">count", ">longest", "two", ""]);
            for r in &reels {
                table.row([
                    r.id.to_string(),
                    r.name.clone(),
                    r.count.to_string(),
                    format!("{:.0} mm", r.longest_mm),
                    if r.takes_two { "yes" } else { "no" }.to_owned(),
                    if r.closed { "put away" } else { "" }.to_owned(),
                ]);
            }
            let json = |r: &Reel| json!({ "id": r.id.0, "name": r.name, "count": r.count, "longest_mm": r.longest_mm, "takes_two": r.takes_two, "closed": r.closed });
            desk.answer(
                listed(table, "No reel yet: `spoolwright reel add --name NAME`."),
                || reels.iter().map(json).collect(),
            )
        }
        ReelVerb::Close { reel } => {
            let made = desk.service.close_reel(ReelId(reel), true, desk.request)?;
            desk.told(made)
        }
        ReelVerb::Reopen { reel } => {
            let made = desk.service.close_reel(ReelId(reel), false, desk.request)?;
            desk.told(made)
        }
    }
}

#[derive(clap::Subcommand)]
pub(super) enum TankVerb {
    /// Add a tank.
    Add(TankDraft),
    /// Change one; a lone - empties a field.
    Change {
        /// Its number.
        tank: i64,
        #[command(flatten)]
        draft: TankDraft,
    },
    /// List the tanks.
    List,
    /// Put a tank away.
    Close {
        /// Its number.
        tank: i64,
    },
    /// Take it out again.
    Reopen {
        /// Its number.
        tank: i64,
    },
}

pub(super) fn tanks(verb: TankVerb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        TankVerb::Add(draft) => {
            let made = desk.service.save_tank(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        TankVerb::Change { tank, draft } => {
            let old = desk.service.tank(TankId(tank))?;
            let draft = over(&TankDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_tank(Some(TankId(tank)), &draft, desk.request)?;
            desk.told(made)
        }
        TankVerb::List => {
            let tanks = desk.service.tanks()?;
            let reels = desk.service.reels()?;
            let mut table = Table::new(&[">no", "tank", "reel", "ml by reels", ""]);
            for t in &tanks {
                let volumes: Vec<String> = t.volume_ml.iter().map(f64::to_string).collect();
                table.row([
                    t.id.to_string(),
                    t.name.clone(),
                    reels
                        .iter()
                        .find(|r| r.id == t.reel)
                        .map_or_else(String::new, |r| r.name.clone()),
                    volumes.join(" "),
                    if t.closed { "put away" } else { "" }.to_owned(),
                ]);
            }
            let json = |t: &Tank| json!({ "id": t.id.0, "name": t.name, "reel": t.reel.0, "volume_ml": t.volume_ml, "closed": t.closed });
            desk.answer(
                listed(table, "No tank yet: `spoolwright tank add --name NAME --reel REEL --volumes '290 590'`."),
                || tanks.iter().map(json).collect(),
            )
        }
        TankVerb::Close { tank } => {
            let made = desk.service.close_tank(TankId(tank), true, desk.request)?;
            desk.told(made)
        }
        TankVerb::Reopen { tank } => {
            let made = desk.service.close_tank(TankId(tank), false, desk.request)?;
            desk.told(made)
        }
    }
}

#[derive(clap::Subcommand)]
pub(super) enum TimeVerb {
    /// Add a developing time of your own.
    Add(TimeDraft),
    /// Change one; a lone - empties a field.
    Change {
        /// Its number.
        number: i64,
        #[command(flatten)]
        draft: TimeDraft,
    },
    /// List them.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// Put one away.
    Close {
        /// Its number.
        number: i64,
    },
    /// Take it out again.
    Reopen {
        /// Its number.
        number: i64,
    },
}

pub(super) fn times(verb: TimeVerb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        TimeVerb::Add(draft) => {
            let made = desk.service.save_time(None, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        TimeVerb::Change { number, draft } => {
            let old = desk.service.time(SheetTimeId(number))?;
            let draft = over(&TimeDraft::from(&old), &draft)?;
            let made = desk
                .service
                .save_time(Some(SheetTimeId(number)), &draft, desk.request)?;
            desk.told(made)
        }
        TimeVerb::List { all } => {
            let mut times = desk.service.times()?;
            times.retain(|t| all || !t.closed);
            let stocks = desk.service.stocks()?;
            let name = |t: &SheetTime| {
                stocks
                    .iter()
                    .find(|s| s.id == t.stock)
                    .map_or_else(String::new, |s| s.name.clone())
            };
            let mut table = Table::new(&[
                ">no",
                "stock",
                "developer",
                ">EI",
                ">time",
                ">at",
                "known from",
                "",
            ]);
            for t in &times {
                table.row([
                    t.id.to_string(),
                    name(t),
                    format!("{} {}", t.developer, t.dilution),
                    or_dash(t.ei),
                    told(t.time_min),
                    format!("{} C", t.temperature_c),
                    t.source.word().to_owned(),
                    if t.closed { "put away" } else { "" }.to_owned(),
                ]);
            }
            let json = |t: &SheetTime| json!({ "id": t.id.0, "stock": name(t), "developer": t.developer, "dilution": t.dilution, "ei": t.ei, "time_min": t.time_min, "temperature_c": t.temperature_c, "source": t.source.word(), "note": t.note, "closed": t.closed });
            desk.answer(
                listed(table, "No time of your own yet: `spoolwright time add --stock STOCK --developer NAME --time 8:20`."),
                || times.iter().map(json).collect(),
            )
        }
        TimeVerb::Close { number } => {
            let made = desk
                .service
                .close_time(SheetTimeId(number), true, desk.request)?;
            desk.told(made)
        }
        TimeVerb::Reopen { number } => {
            let made = desk
                .service
                .close_time(SheetTimeId(number), false, desk.request)?;
            desk.told(made)
        }
    }
}
