//! Recipes: the steps a film goes through, each with its time, temperature, agitation and allowances.
//!
//! Records and what follows from them alone: which film a recipe suits, when to agitate, when to pour out. The
//! recipes built in are starting points of common practice; every figure in them can be changed.

use crate::error::{Error, Kind};
use crate::shelf::{BathId, Process, RecipeId, RunId, StepId};
use crate::words::worded;

use super::bath::BathKind;
use super::temperature::Coefficient;

worded! {
    /// What a step does to the film.
    StepKind {
        /// Plain water before the developer.
        Prewet = "prewet",
        /// An alkaline bath that softens a carbon backing.
        Prebath = "prebath",
        /// Wiping or washing a softened carbon backing away.
        BackingRemoval = "backing-removal",
        /// The developer of a negative.
        #[default]
        Developer = "developer",
        /// The second bath of a two-bath developer.
        SecondBath = "second-bath",
        /// The first developer of a reversal process.
        FirstDeveloper = "first-developer",
        /// Light or a chemical fogging before the second developer of a reversal process.
        Reexposure = "re-exposure",
        /// The second developer of a black-and-white reversal process.
        SecondDeveloper = "second-developer",
        /// A colour developer.
        ColourDeveloper = "colour-developer",
        /// Stop bath, or water in its place.
        Stop = "stop",
        /// Bleach.
        Bleach = "bleach",
        /// Clearing bath after a bleach.
        Clearing = "clearing",
        /// Fixer.
        Fixer = "fixer",
        /// Bleach and fixer in one.
        BleachFix = "bleach-fix",
        /// A salt bath that shortens the wash.
        WashAid = "wash-aid",
        /// Wash.
        Wash = "wash",
        /// Wetting agent or stabiliser.
        FinalRinse = "final-rinse",
    }
}

impl StepKind {
    /// Whether the image grows in it, so that time follows temperature.
    pub const fn develops(self) -> bool {
        matches!(
            self,
            Self::Developer | Self::FirstDeveloper | Self::ColourDeveloper
        )
    }

    /// The kinds of bath it may be poured from, the usual one first; none for water.
    pub const fn baths(self) -> &'static [BathKind] {
        use BathKind as B;
        match self {
            Self::Prebath => &[B::Prebath],
            Self::Developer => &[B::Developer],
            Self::SecondBath => &[B::SecondBath],
            Self::FirstDeveloper => &[B::FirstDeveloper],
            Self::Reexposure => &[B::Reversal],
            Self::SecondDeveloper => &[B::SecondDeveloper, B::Developer],
            Self::ColourDeveloper => &[B::ColourDeveloper],
            Self::Stop => &[B::Stop],
            Self::Bleach => &[B::Bleach],
            Self::Fixer => &[B::Fixer],
            Self::BleachFix => &[B::Blix],
            Self::Clearing | Self::WashAid => &[B::Clearing],
            Self::FinalRinse => &[B::Wetting, B::Stabiliser],
            Self::Prewet | Self::BackingRemoval | Self::Wash => &[],
        }
    }

    /// The step as a person says it.
    pub const fn spoken(self) -> &'static str {
        match self {
            Self::Prewet => "Pre-wet",
            Self::Prebath => "Prebath",
            Self::BackingRemoval => "Backing removal",
            Self::Developer => "Developer",
            Self::SecondBath => "Second bath",
            Self::FirstDeveloper => "First developer",
            Self::Reexposure => "Re-exposure",
            Self::SecondDeveloper => "Second developer",
            Self::ColourDeveloper => "Colour developer",
            Self::Stop => "Stop",
            Self::Bleach => "Bleach",
            Self::Clearing => "Clearing bath",
            Self::Fixer => "Fixer",
            Self::BleachFix => "Bleach-fix",
            Self::WashAid => "Wash aid",
            Self::Wash => "Wash",
            Self::FinalRinse => "Final rinse",
        }
    }
}

worded! {
    /// Where a step's time comes from.
    TimeFrom {
        /// It stands in the recipe.
        #[default]
        Recipe = "recipe",
        /// It is looked up for the film: its stock card, then the user's sheet, then the recipe.
        Film = "film",
        /// Twice (or thrice) the clearing time of the fixer bath in use.
        ClearingTest = "clearing-test",
    }
}

/// Movement of a bath: without pause at first, then so long at every interval.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Agitation {
    /// Continuous at first, seconds.
    pub first_s: f64,
    /// From one agitation's beginning to the next, seconds; zero for none after the first.
    pub every_s: f64,
    /// How long each lasts, seconds.
    pub for_s: f64,
}

impl Agitation {
    /// A roll tank's usual: 30 s at first, then 5 s every minute [D7].
    pub const ROLL_TANK: Self = Self {
        first_s: 30.0,
        every_s: 60.0,
        for_s: 5.0,
    };

    /// Whether each agitation lasts until the next: then it goes on from the very beginning, whatever is said of the
    /// first.
    pub fn is_without_pause(&self) -> bool {
        0.0 < self.every_s && self.every_s <= self.for_s
    }

    /// In words: "30 s at first, then 5 s every 60 s".
    pub fn spoken(&self) -> String {
        let then = (self.every_s > 0.0 && self.for_s > 0.0)
            .then(|| format!("{} s every {} s", self.for_s, self.every_s));
        match (self.first_s > 0.0, then) {
            (true, Some(then)) if self.for_s < self.every_s => {
                format!("{} s at first, then {then}", self.first_s)
            }
            (_, Some(_)) if self.is_without_pause() => "without pause".to_owned(),
            (false, Some(then)) => then,
            (true, _) => format!("{} s at first, then none", self.first_s),
            (false, None) => "none".to_owned(),
        }
    }

    /// Beginnings and ends of every agitation in a step that lasts `length_s`, in order. None runs past the end.
    pub fn spans(&self, length_s: f64) -> Vec<(f64, f64)> {
        let mut spans = Vec::new();
        if self.is_without_pause() {
            return vec![(0.0, length_s)];
        }
        if self.first_s > 0.0 {
            spans.push((0.0, self.first_s.min(length_s)));
        }
        if self.every_s > 0.0 && self.for_s > 0.0 {
            let mut n = 1.0;
            while n * self.every_s < length_s {
                let begin = (n * self.every_s).max(self.first_s);
                let end = (n * self.every_s + self.for_s).min(length_s);
                if end > begin {
                    match spans.last_mut() {
                        Some((_, last)) if *last >= begin => *last = end,
                        _ => spans.push((begin, end)),
                    }
                }
                n += 1.0;
            }
        }
        spans
    }
}

/// A recipe's name and what it is for.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Number in the store.
    pub id: RecipeId,
    /// The photographer's name for it.
    pub name: String,
    /// Which process it is.
    pub process: Process,
    /// Its developer, as stock cards and sheets call it.
    pub developer: String,
    /// The developer's dilution, such as `1+9`.
    pub dilution: String,
    /// Least stock or concentrate for one film of 36 frames, ml; none when the sheet does not say.
    pub least_stock_ml: Option<f64>,
    /// How far two rolls' times may lie from the common one, as a part of it.
    pub tolerance: f64,
    /// Free text.
    pub note: String,
    /// No longer offered.
    pub closed: bool,
}

/// Whose a step is: a recipe's, or one run's own copy, which stays as it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Owner {
    /// A recipe.
    Recipe(RecipeId),
    /// A run.
    Run(RunId),
}

/// One step of a recipe or of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Number in the store.
    pub id: StepId,
    /// Whose it is.
    pub owner: Owner,
    /// Place in the order, from zero.
    pub position: u32,
    /// What it does.
    pub kind: StepKind,
    /// Time in seconds at `temperature_c`, pouring in included.
    pub time_s: f64,
    /// Where the time comes from.
    pub time_from: TimeFrom,
    /// Temperature the time is meant for, °C; none where it does not matter.
    pub temperature_c: Option<f64>,
    /// Factor of speed for ten degrees, for this step; none where the bench's default is to be used.
    pub q10: Option<f64>,
    /// Movement.
    pub agitation: Agitation,
    /// Pouring in takes about so long, seconds: part of the step's time.
    pub fill_s: f64,
    /// Pouring out begins so long before the end, seconds [D8].
    pub drain_s: f64,
    /// The bottle it is poured from; none for a recipe's step, or one mixed for this run alone.
    pub bath: Option<BathId>,
    /// The time before that bottle changed it, seconds; none where it changed nothing.
    pub plain_s: Option<f64>,
    /// How the bottle changed it, and what the bottle leaves in doubt, in sentences; empty where there is nothing to say.
    pub because: String,
    /// Free text: what to mind.
    pub note: String,
}

impl Step {
    /// The coefficient that moves this step's time with its temperature; none for a step of a `colour` process without
    /// one of its own, since the default is one of black-and-white developers [D4].
    ///
    /// # Errors
    /// A `q10` out of range.
    pub fn coefficient(&self, colour: bool) -> Result<Option<Coefficient>, Error> {
        match self.q10 {
            Some(q10) => Coefficient::given(q10, 0.0).map(Some),
            None if colour => Ok(None),
            None => Ok(Some(Coefficient::default())),
        }
    }

    /// A step of so many seconds with nothing else to it.
    pub fn plain(owner: Owner, position: u32, kind: StepKind, time_s: f64) -> Self {
        Self {
            id: StepId(0),
            owner,
            position,
            kind,
            time_s,
            time_from: TimeFrom::Recipe,
            temperature_c: None,
            q10: None,
            agitation: Agitation::default(),
            fill_s: 0.0,
            drain_s: 0.0,
            bath: None,
            plain_s: None,
            because: String::new(),
            note: String::new(),
        }
    }

    /// What to mind, and what the bottle changed: the note and the reason one after the other.
    pub fn told(&self) -> String {
        format!("{} {}", self.note, self.because).trim().to_owned()
    }
}

/// Whether steps are those of a colour process: film goes through a colour developer.
pub fn makes_colour(steps: &[Step]) -> bool {
    steps.iter().any(|s| s.kind == StepKind::ColourDeveloper)
}

/// Whether steps take a carbon backing off the film before or after the developer.
pub fn removes_backing(steps: &[Step]) -> bool {
    steps.iter().any(|s| s.kind == StepKind::BackingRemoval)
}

/// Checks that steps make sense in their order.
///
/// # Errors
/// [`Kind::Missing`] without a step or without a developer; [`Kind::Inconsistent`] when fixing comes before developing,
/// or pouring out would begin before pouring in has ended.
pub fn check(steps: &[Step]) -> Result<(), Error> {
    let first = steps
        .iter()
        .position(|s| s.kind.develops())
        .ok_or_else(|| {
            Error::missing(
                "a developing step",
                "developer, first-developer or colour-developer",
                "Add the step in which the image grows.",
            )
        })?;
    let fixes = |s: &Step| matches!(s.kind, StepKind::Fixer | StepKind::BleachFix);
    if let Some(early) = steps[..first].iter().find(|s| fixes(s)) {
        return Err(Error::new(
            Kind::Inconsistent,
            "order of the steps",
            format!("{} before the developer", early.kind.word()),
            "fixing after developing",
            "Film that is fixed first has no image. Change the order.",
        ));
    }
    for s in steps {
        if s.fill_s + s.drain_s >= s.time_s {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("allowances of {}", s.kind.word()),
                format!(
                    "{} s in and {} s out of {} s",
                    s.fill_s, s.drain_s, s.time_s
                ),
                "less than the step's time",
                "Shorten pouring in or out, or lengthen the step.",
            ));
        }
    }
    Ok(())
}
