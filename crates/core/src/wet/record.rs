//! What the shelf keeps of the wet bench: tanks and reels, runs and their rolls, baths and what befell them, and the
//! user's own developing times.
//!
//! Plain records with units in their names. A bath's life, a run's clock and what may share a tank are worked out anew
//! whenever they are looked at.

use super::bath::{BathKind, BathUse, Correction, FixerPlace, FixerSort, What};
use crate::shelf::{
    BathEventId, BathId, RecipeId, ReelId, RollId, RunId, RunRollId, SheetTimeId, StockId, TankId,
};
use crate::words::worded;

/// A kind of reel, and how many of it there are.
#[derive(Debug, Clone, PartialEq)]
pub struct Reel {
    /// Number in the store.
    pub id: ReelId,
    /// The photographer's name for it.
    pub name: String,
    /// How many there are.
    pub count: u32,
    /// The longest film it takes, mm.
    pub longest_mm: f64,
    /// Two short films may lie in it, one behind the other.
    pub takes_two: bool,
    /// No longer offered.
    pub closed: bool,
}

/// A tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Number in the store.
    pub id: TankId,
    /// The photographer's name for it.
    pub name: String,
    /// The kind of reel it takes.
    pub reel: ReelId,
    /// Millilitres it needs with one reel, with two, and so on: as many as it takes reels.
    pub volume_ml: Vec<f64>,
    /// No longer offered.
    pub closed: bool,
}

worded! {
    /// Where a developing time comes from.
    TimeSource {
        /// A rule of thumb: nobody measured it for this film.
        #[default]
        Rule = "rule-of-thumb",
        /// A data sheet, or the user's own table.
        Sheet = "sheet",
        /// The stock card, from a test at the wedge bench or typed by hand.
        Card = "card",
        /// What worked in the user's own tank before.
        Own = "own",
        /// Typed for one run, whatever was looked up.
        Typed = "typed",
    }
}

/// A developing time of the user's own.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetTime {
    /// Number in the store.
    pub id: SheetTimeId,
    /// The stock.
    pub stock: StockId,
    /// Developer, as recipes call it.
    pub developer: String,
    /// Dilution.
    pub dilution: String,
    /// The EI the film was exposed at; none for any.
    pub ei: Option<f64>,
    /// Minutes.
    pub time_min: f64,
    /// At which temperature, °C.
    pub temperature_c: f64,
    /// How it is known.
    pub source: TimeSource,
    /// Free text: which sheet, which day.
    pub note: String,
    /// No longer used.
    pub closed: bool,
}

worded! {
    /// Where a run is in its life.
    RunState {
        /// Loaded or about to be; nothing poured yet.
        #[default]
        Planned = "planned",
        /// Its clock goes.
        Running = "running",
        /// Over; results may be missing yet.
        Done = "done",
        /// Given up.
        Abandoned = "abandoned",
    }
}

/// One load of one tank through one recipe.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Number in the store.
    pub id: RunId,
    /// The recipe it was made from; its steps were copied, so a later change of the recipe leaves the run as it was.
    pub recipe: Option<RecipeId>,
    /// The tank.
    pub tank: Option<TankId>,
    /// Day it was planned, `YYYY-MM-DD`.
    pub made_on: String,
    /// Working solution poured in at each step, millilitres.
    pub volume_ml: f64,
    /// Where the developing time comes from.
    pub time_source: TimeSource,
    /// The same in a sentence.
    pub time_because: String,
    /// How many times faster than life its clock goes: a rehearsal with an empty tank; none for a real run.
    pub rehearsal: Option<f64>,
    /// Where it is.
    pub state: RunState,
    /// Free text.
    pub note: String,
}

worded! {
    /// What a developed roll looks like.
    Exposure {
        /// Not looked at yet, or not said.
        #[default]
        Unsaid = "unsaid",
        /// As it should be.
        Right = "right",
        /// Thin: underexposed.
        Under = "under",
        /// Dense: overexposed.
        Over = "over",
        /// Both.
        Mixed = "mixed",
    }
}

/// A roll in a run, and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct RunRoll {
    /// Number in the store.
    pub id: RunRollId,
    /// The run.
    pub run: RunId,
    /// The roll.
    pub roll: RollId,
    /// Which reel it lies in, from one.
    pub reel: u32,
    /// Frames that can be used; none until somebody has looked.
    pub usable: Option<u32>,
    /// Frames lost to light at the beginning.
    pub fogged_start: Option<u32>,
    /// Frames lost to light at the end.
    pub fogged_end: Option<u32>,
    /// How the frames are exposed.
    pub exposure: Exposure,
    /// Free text.
    pub note: String,
}

/// A bottle of solution. Its life is worked out by [`super::bath`] from this card and what befell it.
#[derive(Debug, Clone, PartialEq)]
pub struct BathCard {
    /// Number in the store.
    pub id: BathId,
    /// The photographer's name for it.
    pub name: String,
    /// What it does.
    pub kind: BathKind,
    /// One-shot, reused or replenished.
    pub usage: BathUse,
    /// What it was mixed from, in words.
    pub mixed_from: String,
    /// Its dilution, such as `1+4`.
    pub dilution: String,
    /// Day it was mixed, `YYYY-MM-DD`.
    pub mixed_on: String,
    /// Volume, millilitres.
    pub volume_ml: f64,
    /// Film area that a litre takes by the sheet, m²; none for the default of its kind.
    pub capacity_m2_per_l: Option<f64>,
    /// How the time grows by the sheet; none for the default of its kind.
    pub correction: Option<Correction>,
    /// Days that it keeps by the sheet.
    pub shelf_life_days: Option<f64>,
    /// Replenisher for a square metre of film by the sheet, ml.
    pub rate_ml_per_m2: Option<f64>,
    /// What a fixer is like.
    pub fixer: FixerSort,
    /// Which fixing bath it is.
    pub place: FixerPlace,
    /// Its films are tabular or otherwise rich in iodide.
    pub high_iodide: bool,
    /// Free text.
    pub note: String,
    /// Poured out or used up.
    pub closed: bool,
}

/// One thing that befell a bath.
#[derive(Debug, Clone, PartialEq)]
pub struct BathEvent {
    /// Number in the store.
    pub id: BathEventId,
    /// The bath.
    pub bath: BathId,
    /// Day, `YYYY-MM-DD`.
    pub day: String,
    /// The run that used it.
    pub run: Option<RunId>,
    /// What.
    pub what: What,
    /// Free text.
    pub note: String,
}
