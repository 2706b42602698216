//! Which rolls that wait to be developed share a tank, on which reels, in how much working solution.
//!
//! Rolls share a run when process, developer and kind are the same and one time lies within every roll's tolerance.
//! First as many rolls as possible are loaded, then the runs are fewest, then the working solution is least: exactly so
//! where [`Plan::proven`] says it, with a bound stated where it does not. Among such plans one is kept whose runs hold
//! rolls of near times; that last wish is met by improvement step by step and carries no proof.
//!
//! It does not choose a process, a recipe or a time, and it plans one tank at a time.

mod bound;
mod explain;
pub mod limits;
mod model;
mod polish;
mod search;
mod validate;

use crate::caveat::Caveat;
use crate::error::Error;
use model::Model;

/// How far a time may be off, in percent, when nobody says (common practice, no source); not for colour.
pub const TOLERANCE_PERCENT: f64 = 5.0;
/// Free groove in mm left between two rolls on one reel, when nobody says (common practice, no source).
pub const BETWEEN_MM: f64 = 10.0;
/// Film area that [`Developer::least_stock_ml`] is for, in mm²: 80 square inches [D12].
pub const AREA_MM2: f64 = 80.0 * 25.4 * 25.4;

/// How far a time may be off, in percent, when nobody says: [`TOLERANCE_PERCENT`], but nothing in a process whose word
/// holds `colour` or `color`, where every layer has its own speed (common practice, no source).
pub fn default_tolerance(process: &str) -> f64 {
    if is_colour(process) {
        0.0
    } else {
        TOLERANCE_PERCENT
    }
}

/// Whether a process by its word is one of colour.
fn is_colour(process: &str) -> bool {
    let process = process.to_lowercase();
    process.contains("colour") || process.contains("color")
}

/// A roll that waits to be developed.
#[derive(Debug, Clone, PartialEq)]
pub struct Roll {
    /// Its name, each once.
    pub id: String,
    /// Its process, such as `bw-negative`; only equal words share a run.
    pub process: String,
    /// Its developer and dilution, by [`Developer::id`]; only equal words share a run.
    pub developer: String,
    /// Shares a run only with rolls of the same word, such as `remjet`; `None` only with others that have none [M7].
    pub own_kind: Option<String>,
    /// Wanted time in minutes at the bath's temperature ([`crate::bounds::DEVELOPING_MIN`]).
    pub time_min: f64,
    /// Its own tolerance in percent, in place of the bench's ([`limits::TOLERANCE_PERCENT`]).
    pub tolerance_percent: Option<f64>,
    /// Length that goes on the reel, in mm ([`limits::FILM_MM`]).
    pub film_mm: f64,
}

/// A developer at one dilution.
#[derive(Debug, Clone, PartialEq)]
pub struct Developer {
    /// Its name, each once.
    pub id: String,
    /// Parts of water to one of stock: 0 undiluted, 9 for 1+9 ([`limits::WATER_PARTS`]).
    pub water_parts: f64,
    /// Least ml of stock for 80 square inches of film [D12]; `None` when it is not known ([`limits::LEAST_STOCK_ML`]).
    pub least_stock_ml: Option<f64>,
}

/// A developing tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Its name, each once.
    pub id: String,
    /// The reels it takes, by [`Reel::id`].
    pub reel: String,
    /// Whole ml that cover one reel, two reels and so on; the last fills it ([`limits::TANK_ML`], never falling).
    pub ml: Vec<u32>,
}

/// Reels of one type.
#[derive(Debug, Clone, PartialEq)]
pub struct Reel {
    /// Name of the type, each once.
    pub id: String,
    /// How many there are ([`limits::REELS`]).
    pub count: u32,
    /// Longest film one takes, in mm ([`crate::bounds::REEL_MM`]).
    pub longest_mm: f64,
    /// Whether two short rolls may be wound on one, end to end.
    pub takes_two: bool,
}

/// Everything on the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Bench {
    /// Rolls that wait, 1 to [`limits::MAX_ROLLS`].
    pub rolls: Vec<Roll>,
    /// Developers; one that is named by a roll alone counts as undiluted and without a least amount.
    pub developers: Vec<Developer>,
    /// Tanks, at least one.
    pub tanks: Vec<Tank>,
    /// Types of reel.
    pub reels: Vec<Reel>,
    /// Tolerance of time in percent; `None` for [`default_tolerance`] and a caveat.
    pub tolerance_percent: Option<f64>,
    /// Whether reels are dried between runs and used again; if not, each is used once.
    pub reels_reused: bool,
    /// Free groove between two rolls on one reel, in mm; `None` for [`BETWEEN_MM`].
    pub between_mm: Option<f64>,
}

/// How much work may be spent, counted in loadings looked at, so that the same bench gives the same plan anywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Most loadings to look at.
    pub loadings: u64,
}

impl Effort {
    /// Enough for a proof at any bench of ordinary size.
    pub const USUAL: Self = Self { loadings: 600_000 };
}

/// One reel of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadedReel {
    /// Its type.
    pub reel: String,
    /// One roll, or two end to end.
    pub rolls: Vec<String>,
    /// Film on it in mm, without the gap.
    pub film_mm: f64,
}

/// How far a roll's time is from the one it wants.
#[derive(Debug, Clone, PartialEq)]
pub struct Deviation {
    /// The roll.
    pub id: String,
    /// Percent of its wanted time; above zero it gets more.
    pub percent: f64,
}

/// One filling of one tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The tank.
    pub tank: String,
    /// The process all of its rolls have.
    pub process: String,
    /// The developer all of its rolls have.
    pub developer: String,
    /// Its reels.
    pub reels: Vec<LoadedReel>,
    /// One time for all, in minutes: the one whose worst deviation is least.
    pub time_min: f64,
    /// Each roll's deviation, in the order of the reels.
    pub deviations: Vec<Deviation>,
    /// Whole ml of working solution: what covers the reels, or more where the film needs more stock.
    pub working_ml: u32,
    /// Stock in it, in ml.
    pub stock_ml: f64,
    /// Least stock its film needs, in ml; none when the developer's least amount is not known.
    pub least_stock_ml: Option<f64>,
}

/// A roll that is in no run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unloaded {
    /// The roll.
    pub id: String,
    /// What stands in the way.
    pub because: String,
}

/// Two rolls that cannot share a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Apart {
    /// The earlier roll.
    pub a: String,
    /// The later roll.
    pub b: String,
    /// Why.
    pub because: String,
}

/// What no plan can do better than.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Least {
    /// Rolls left out.
    pub unloaded: u32,
    /// Runs of a plan that leaves no more rolls out.
    pub runs: u32,
    /// Whole ml of working solution of a plan that leaves no more rolls out in no more runs.
    pub working_ml: u64,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The runs, by process and developer as the rolls came, then by time.
    pub runs: Vec<Run>,
    /// Rolls that are in no run.
    pub unloaded: Vec<Unloaded>,
    /// Pairs that cannot share a run: those of one process and developer first, at most [`MAX_APART`].
    pub apart: Vec<Apart>,
    /// Pairs that were left off that list.
    pub apart_left_off: u32,
    /// Whether no plan leaves fewer rolls out, or as few in fewer runs, or those with less working solution.
    pub proven: bool,
    /// The plan's own figures when proven, else what is proven of every plan, compared in this order.
    pub least: Least,
    /// What limits the answer.
    pub caveats: Vec<Caveat>,
}

/// Most pairs that [`Plan::apart`] lists.
pub const MAX_APART: usize = 100;

/// Loads the rolls into runs.
///
/// # Errors
/// [`crate::Kind::Missing`] without rolls, tanks or a name; [`crate::Kind::TooLarge`] beyond the limits;
/// [`crate::Kind::OutOfRange`] for a number outside its domain; [`crate::Kind::Inconsistent`] for an id given twice or
/// volumes that fall; [`crate::Kind::Unknown`] for a tank of reels that are not there.
pub fn load(bench: &Bench, effort: Effort) -> Result<Plan, Error> {
    validate::validate(bench)?;
    let model = Model::new(bench);
    let mut found = search::solve(&model, effort);
    polish::polish(&model, &mut found.runs);
    Ok(explain::plan(bench, &model, found))
}

/// Why two rolls of the bench, by their places in it, cannot share a run; `None` when they can.
///
/// # Errors
/// As [`load`], and [`crate::Kind::Unknown`] for a place beyond the list.
pub fn why_apart(bench: &Bench, a: usize, b: usize) -> Result<Option<String>, Error> {
    validate::validate(bench)?;
    validate::place(bench, a)?;
    validate::place(bench, b)?;
    Ok(explain::apart(bench, &Model::new(bench), a, b))
}
