//! The sheet of one run, to work by without a screen: what lies in which reel, what to mix, the steps with their starts
//! on one clock, and room to write what was really done.
//!
//! Starts are the sum of the steps' times. It works nothing else out, and knows no clock.

mod head;
mod steps;

use spoolwright_core::{Error, Kind};

use crate::drawing::{Document, Pen, Rect};
use crate::input::{self, LONGEST_TEXT};
use crate::sheet::{self, FOOT, MARGIN, Paper};

/// What one run's sheet says. Volumes and temperatures arrive as text with their units.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RunSheet {
    /// Its name, such as the labels of its rolls.
    pub name: String,
    /// What sets it apart: a rehearsal, given up; empty for an ordinary run.
    pub state: String,
    /// Recipe.
    pub recipe: String,
    /// Tank; empty when none is named.
    pub tank: String,
    /// Day it was made.
    pub made_on: String,
    /// Working solution of each step.
    pub volume: String,
    /// What the developer is mixed from for this run; empty when it comes from a bottle.
    pub stock: String,
    /// Developing time's source, in a sentence.
    pub developing: String,
    /// Developing times at other temperatures, as (temperature, time).
    pub other_times: Vec<(String, String)>,
    /// Where the factor behind them comes from.
    pub other_times_from: String,
    /// What lies in each reel, in order.
    pub reels: Vec<RunReel>,
    /// Steps, in order.
    pub steps: Vec<RunStep>,
    /// Note.
    pub note: String,
    /// What to mind with the baths; the safety sheet first.
    pub cautions: Vec<String>,
    /// Address for the QR code.
    pub url: Option<String>,
}

/// One reel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RunReel {
    /// Number of the reel.
    pub reel: u32,
    /// Its rolls with stock and frames, in the order they lie in it.
    pub rolls: String,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RunStep {
    /// What it does.
    pub name: String,
    /// From its start to the next one's, seconds.
    pub time_s: f64,
    /// Pouring out begins so long before its end, seconds.
    pub drain_s: f64,
    /// Temperature, with its unit; empty where it does not matter.
    pub temperature: String,
    /// Agitation.
    pub agitation: String,
    /// Bottle it is poured from; empty when mixed for this run.
    pub bottle: String,
    /// What to mind.
    pub note: String,
    /// Time really given; empty to write it by hand.
    pub done: String,
    /// Thermometer readings; empty to write them by hand.
    pub readings: String,
}

/// Most steps of a sheet; a recipe has fewer.
const MOST_STEPS: usize = 100;
/// Most reels of a tank.
const MOST_REELS: usize = 40;
/// Longest step: four days.
const LONGEST_S: f64 = 345_600.0;

/// A sheet for each run, more where its steps need them.
///
/// # Errors
/// No run; no step or more than a sheet takes; more reels than a tank takes; a time out of range; texts that are too
/// long; an address too long for the QR code.
pub fn run_sheets(runs: &[RunSheet], paper: Paper) -> Result<Document, Error> {
    input::count("runs", runs.len())?;
    let (w, h) = paper.size();
    let bounds = Rect::new(MARGIN, MARGIN, w - 2.0 * MARGIN, h - 2.0 * MARGIN - FOOT);
    let mut sheets = Vec::new();
    for run in runs {
        let run = checked(run)?;
        let first = sheets.len();
        let mut next = 0;
        while sheets.len() == first || next < run.steps.len() {
            let mut sheet = sheet::blank(paper);
            let mut pen = Pen::cell(&mut sheet, &run.name, bounds);
            let area = if sheets.len() == first {
                head::first(&mut pen, &run, bounds)?
            } else {
                head::again(&mut pen, &run, bounds)
            };
            next = steps::draw(&mut pen, &run.steps, next, area);
            sheets.push(sheet);
        }
        let count = sheets.len() - first;
        for (i, sheet) in sheets[first..].iter_mut().enumerate() {
            sheet::foot(sheet, &format!("Run sheet · {} of {count}", i + 1));
        }
    }
    Ok(Document {
        title: "Run sheet".to_owned(),
        sheets,
    })
}

fn checked(r: &RunSheet) -> Result<RunSheet, Error> {
    let text = |field: &str, value: &str| input::text(field, value, LONGEST_TEXT);
    within("steps of a run", r.steps.len(), 1, MOST_STEPS)?;
    within("reels of a run", r.reels.len(), 0, MOST_REELS)?;
    let steps = r.steps.iter().map(|s| {
        for seconds in [s.time_s, s.drain_s] {
            if !(0.0..=LONGEST_S).contains(&seconds) {
                return Err(Error::new(
                    Kind::OutOfRange,
                    "time of a step",
                    format!("{seconds} s"),
                    format!("0 to {LONGEST_S} s"),
                    "Correct the step's time.",
                ));
            }
        }
        Ok(RunStep {
            name: text("name of a step", &s.name)?,
            temperature: text("temperature", &s.temperature)?,
            agitation: text("agitation", &s.agitation)?,
            bottle: text("bottle", &s.bottle)?,
            note: text("note of a step", &s.note)?,
            done: text("time given", &s.done)?,
            readings: text("readings", &s.readings)?,
            ..*s
        })
    });
    let reels = r.reels.iter().map(|reel| {
        Ok::<_, Error>(RunReel {
            rolls: text("rolls of a reel", &reel.rolls)?,
            ..*reel
        })
    });
    let others = r.other_times.iter().map(|(at, time)| {
        Ok::<_, Error>((text("temperature", at)?, text("developing time", time)?))
    });
    Ok(RunSheet {
        // A tank of many rolls has a long name; the reels list them all.
        name: input::text("name of a run", &r.name, 40 * LONGEST_TEXT)?,
        state: text("state", &r.state)?,
        recipe: text("recipe", &r.recipe)?,
        tank: text("tank", &r.tank)?,
        made_on: text("day", &r.made_on)?,
        volume: text("volume", &r.volume)?,
        stock: text("stock solution", &r.stock)?,
        developing: text("developing time", &r.developing)?,
        other_times: others.collect::<Result<_, _>>()?,
        other_times_from: text("developing times", &r.other_times_from)?,
        reels: reels.collect::<Result<_, _>>()?,
        steps: steps.collect::<Result<_, _>>()?,
        note: text("note", &r.note)?,
        cautions: r
            .cautions
            .iter()
            .map(|c| text("caution", c))
            .collect::<Result<_, _>>()?,
        url: input::address(r.url.as_deref())?.map(str::to_owned),
    })
}

fn within(what: &str, given: usize, least: usize, most: usize) -> Result<(), Error> {
    if (least..=most).contains(&given) {
        return Ok(());
    }
    Err(Error::new(
        Kind::OutOfRange,
        what,
        given,
        format!("{least} to {most}"),
        "Split the run in two.",
    ))
}
