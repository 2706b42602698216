//! The life of a bath, worked out from what happened to it and never stored: use it, correct the time, or mix new.
//!
//! A bath is a record (what, how much, its limits) and its events in order of time. It knows no clock: ages arrive in
//! days since it was mixed. What a sheet says goes before any default; a default that rests on practice alone is told
//! as one. The verdict is arithmetic on what was recorded: a bath that was poisoned by a splash of another looks well
//! here. The judging itself is in [`super::verdict`].

use crate::bounds::Bounds;
use crate::error::{Error, Kind};
use crate::words::worded;

use super::fixing::{BATH_C, CLEARING_S, NORMAL_C};

/// Volume of a bath.
pub const VOLUME_ML: Bounds = Bounds::new("a volume", "ml", 10.0, 1_000_000.0);
/// Solution added to a bath.
pub const ADDED_ML: Bounds = Bounds::new("solution added", "ml", 0.1, 1_000_000.0);
/// Film area of a run.
pub const AREA_M2: Bounds = Bounds::new("a film area", "m²", 0.0001, 1000.0);
/// Film area that a litre takes.
pub const CAPACITY_M2_PER_L: Bounds = Bounds::new("a bath's capacity", "m²/l", 0.001, 100.0);
/// Days since a bath was mixed, or that it keeps.
pub const DAYS: Bounds = Bounds::new("days", "days", 0.0, 36_500.0);
/// Days that a bath keeps.
pub const SHELF_LIFE_DAYS: Bounds = Bounds::new("a shelf life", "days", 1.0, 36_500.0);
/// Per cent added to the time.
pub const PERCENT_ADDED: Bounds = Bounds::new("per cent added to the time", "%", 0.0, 200.0);
/// Replenisher for a square metre of film.
pub const RATE_ML_PER_M2: Bounds = Bounds::new("a replenishment rate", "ml/m²", 1.0, 100_000.0);
/// Width of a film, 35 mm for ours.
pub const WIDTH_MM: Bounds = Bounds::new("a film's width", "mm", 1.0, 1000.0);
/// Length of the film of a load.
pub const FILM_MM: Bounds = Bounds::new("a length of film", "mm", 10.0, 1_000_000.0);
/// Rolls of 36 of a load.
pub const ROLLS: Bounds = Bounds::new("rolls of 36", "rolls", 0.01, 10_000.0);
/// Most events of one bath.
pub const MOST_EVENTS: usize = 10_000;

/// Film area of one roll of 36 frames, m²: 80 square inches.
///
/// # Source
/// [D12].
pub const ROLL_OF_36_M2: f64 = 0.0516;
/// Width of the film that counts for its area, mm: all of it.
pub const FILM_WIDTH_MM: f64 = crate::film::WIDTH_MM;
/// Rolls of 36 that a litre of fixer takes when its sheet is lost: acid, also ammonium thiosulfate 1+4.
///
/// # Source
/// [D13].
pub const FIXER_ROLLS_PER_L: f64 = 20.0;
/// The same for an alkaline fixer.
///
/// # Source
/// [D13].
pub const ALKALINE_FIXER_ROLLS_PER_L: f64 = 25.0;
/// Share of the fixer's capacity that is left when its film is rich in iodide: the careful end of 50 to 70 %.
///
/// # Source
/// [D11], weak.
pub const HIGH_IODIDE_SHARE: f64 = 0.5;
/// Rolls of 36 that a litre of reused, undiluted developer takes: the careful end of 10 to 12.
///
/// # Source
/// [D26], from memory.
pub const DEVELOPER_ROLLS_PER_L: f64 = 10.0;
/// Per cent added to the developing time for every roll of 36 that a litre has had: 10 % for three.
///
/// # Source
/// [D26], from memory: 10 % after each batch of two to four.
pub const PERCENT_PER_ROLL_PER_L: f64 = 10.0 / 3.0;

worded! {
    /// What a bath does to the film.
    BathKind {
        /// Developer of a negative in black and white.
        #[default]
        Developer = "developer",
        /// Second bath of a two-bath developer.
        SecondBath = "second-bath",
        /// First developer of a reversal process.
        FirstDeveloper = "first-developer",
        /// Second developer of a black-and-white reversal process.
        SecondDeveloper = "second-developer",
        /// Colour developer.
        ColourDeveloper = "colour-developer",
        /// Stop bath.
        Stop = "stop",
        /// Bleach.
        Bleach = "bleach",
        /// Fixer.
        Fixer = "fixer",
        /// Bleach and fixer in one.
        Blix = "blix",
        /// Clearing bath or washing aid.
        Clearing = "clearing",
        /// Reversal bath.
        Reversal = "reversal",
        /// Bath before the developer, such as for backing.
        Prebath = "prebath",
        /// Stabiliser or final rinse.
        Stabiliser = "stabiliser",
        /// Wetting agent.
        Wetting = "wetting",
    }
}

impl BathKind {
    /// Whether a scrap of film shows what the bath still does: it blackens, bleaches or clears one.
    pub const fn shows_on_a_scrap(self) -> bool {
        matches!(
            self,
            Self::Developer
                | Self::SecondBath
                | Self::FirstDeveloper
                | Self::SecondDeveloper
                | Self::ColourDeveloper
                | Self::Bleach
                | Self::Fixer
                | Self::Blix
        )
    }
}

worded! {
    /// How a bath is used.
    BathUse {
        /// For one load, then poured away.
        OneShot = "one-shot",
        /// Again and again until it is spent.
        #[default]
        Reused = "reused",
        /// Again and again, fed with replenisher for the film that went through.
        Replenished = "replenished",
    }
}

worded! {
    /// What a fixer is like, as far as its default capacity asks.
    FixerSort {
        /// Acid or neutral, sodium or ammonium thiosulfate.
        #[default]
        Acid = "acid",
        /// Alkaline.
        Alkaline = "alkaline",
    }
}

worded! {
    /// Which of two fixing baths it is, if there are two.
    FixerPlace {
        /// The only one.
        #[default]
        Only = "only",
        /// The first of two, which does most of the work.
        First = "first",
        /// The second of two.
        Second = "second",
    }
}

worded! {
    /// What its user thinks of the look of a bath.
    Look {
        /// As when it was mixed.
        #[default]
        Good = "good",
        /// Darker, cloudy, or smelling otherwise: worth a test.
        Doubtful = "doubtful",
        /// Spent by its look: brown developer, purple indicator, sludge.
        Spent = "spent",
    }
}

/// How the time grows with use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Correction {
    /// Not at all.
    None,
    /// So many per cent of the first time for each run before.
    PerRun(f64),
    /// So many per cent of the first time for each roll of 36 that a litre has had.
    PerRollPerLitre(f64),
}

/// What happened to a bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// A load of film went through, m².
    Run {
        /// Film area, m².
        area_m2: f64,
    },
    /// A scrap was cleared in the fixer.
    Clearing {
        /// How long it took, s.
        seconds: f64,
        /// Temperature of the fixer, °C.
        at_c: f64,
    },
    /// Its user looked at it.
    Looked(Look),
    /// Replenisher went in, and as much of the bath out as it takes to keep the volume.
    Replenished {
        /// Replenisher, ml.
        ml: f64,
    },
    /// Fresh working solution went in to make up what was lost.
    ToppedUp {
        /// Working solution, ml.
        ml: f64,
    },
}

/// What happened, and when.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// Days since the bath was mixed.
    pub day: f64,
    /// What happened.
    pub what: What,
}

/// A bath as its card tells of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bath {
    /// What it does.
    pub kind: BathKind,
    /// How it is used.
    pub usage: BathUse,
    /// Volume when it was mixed, ml.
    pub volume_ml: f64,
    /// Days since it was mixed.
    pub age_days: f64,
    /// Film area that a litre takes by the sheet, m²; none: the default of its kind, if there is one.
    pub capacity_m2_per_l: Option<f64>,
    /// How the time grows by the sheet; none: the default of its kind, if there is one.
    pub correction: Option<Correction>,
    /// Days that it keeps by the sheet.
    pub shelf_life_days: Option<f64>,
    /// Replenisher for a square metre of film by the sheet, ml.
    pub rate_ml_per_m2: Option<f64>,
    /// What a fixer is like.
    pub fixer: FixerSort,
    /// Which fixing bath it is.
    pub place: FixerPlace,
    /// Whether the film is marked as tabular or otherwise rich in iodide.
    pub high_iodide: bool,
    /// Temperature at which it will be used next, °C.
    pub next_c: f64,
    /// Film area of the load that is planned, m².
    pub next_area_m2: Option<f64>,
    /// What happened, in order of time.
    pub events: Vec<Event>,
}

impl Bath {
    /// A bath just mixed, of which no sheet is at hand.
    pub fn new(kind: BathKind, usage: BathUse, volume_ml: f64) -> Self {
        Self {
            kind,
            usage,
            volume_ml,
            age_days: 0.0,
            capacity_m2_per_l: None,
            correction: None,
            shelf_life_days: None,
            rate_ml_per_m2: None,
            fixer: FixerSort::default(),
            place: FixerPlace::default(),
            high_iodide: false,
            next_c: NORMAL_C,
            next_area_m2: None,
            events: Vec::new(),
        }
    }

    /// Whether it fixes.
    pub const fn fixes(&self) -> bool {
        matches!(self.kind, BathKind::Fixer | BathKind::Blix)
    }

    /// Judges every number and the order of the events.
    pub(super) fn check(&self) -> Result<(), Error> {
        VOLUME_ML.check_as("volume_ml: out of range", self.volume_ml)?;
        DAYS.check_as("age_days: out of range", self.age_days)?;
        BATH_C.check_as("next_c: out of range", self.next_c)?;
        for (value, bounds, field) in [
            (
                self.capacity_m2_per_l,
                CAPACITY_M2_PER_L,
                "capacity_m2_per_l",
            ),
            (self.shelf_life_days, SHELF_LIFE_DAYS, "shelf_life_days"),
            (self.rate_ml_per_m2, RATE_ML_PER_M2, "rate_ml_per_m2"),
            (self.next_area_m2, AREA_M2, "next_area_m2"),
        ] {
            if let Some(value) = value {
                bounds.check_as(&format!("{field}: out of range"), value)?;
            }
        }
        if let Some(Correction::PerRun(percent) | Correction::PerRollPerLitre(percent)) =
            self.correction
        {
            PERCENT_ADDED.check_as("correction: out of range", percent)?;
        }
        if MOST_EVENTS < self.events.len() {
            return Err(Error::new(
                Kind::TooLarge,
                "events: too many",
                self.events.len(),
                format!("up to {MOST_EVENTS}"),
                "Mix a new bath before that.",
            ));
        }
        let mut before = 0.0;
        for (i, event) in self.events.iter().enumerate() {
            self.check_event(event, &format!("events[{i}]"), before)?;
            before = event.day;
        }
        Ok(())
    }

    fn check_event(&self, event: &Event, at: &str, before: f64) -> Result<(), Error> {
        let f = |name: &str| format!("{at}.{name}: out of range");
        DAYS.check_as(&f("day"), event.day)?;
        if event.day < before || self.age_days < event.day {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{at}.day: not in order of time"),
                format!("day {}", event.day),
                format!(
                    "from {before}, the event before, to {}, the bath's age",
                    self.age_days
                ),
                "Give the events in order of time, in days since the bath was mixed.",
            ));
        }
        let misplaced = |what: &str, allowed: &str| {
            Err(Error::new(
                Kind::Inconsistent,
                format!("{at}: {what}"),
                format!("a {} bath, {}", self.kind.word(), self.usage.word()),
                allowed,
                "Leave the event out, or say what the bath is.",
            ))
        };
        match event.what {
            What::Run { area_m2 } => AREA_M2.check_as(&f("area_m2"), area_m2).map(drop),
            What::Clearing { seconds, at_c } => {
                CLEARING_S.check_as(&f("seconds"), seconds)?;
                BATH_C.check_as(&f("at_c"), at_c)?;
                if self.fixes() {
                    Ok(())
                } else {
                    misplaced(
                        "a clearing test is for a bath that fixes",
                        "a fixer or a blix",
                    )
                }
            }
            What::Looked(_) => Ok(()),
            What::Replenished { ml } => {
                ADDED_ML.check_as(&f("ml"), ml)?;
                if self.usage == BathUse::Replenished {
                    Ok(())
                } else {
                    misplaced("replenisher is for a replenished bath", "use replenished")
                }
            }
            What::ToppedUp { ml } => {
                ADDED_ML.check_as(&f("ml"), ml)?;
                if self.usage == BathUse::OneShot {
                    misplaced(
                        "a one-shot bath is not topped up",
                        "use reused or replenished",
                    )
                } else {
                    Ok(())
                }
            }
        }
    }
}

/// Film area of a length of film, both sides of the perforations counted.
///
/// # Units
/// mm; m².
/// # Domain
/// `length_mm` within [`FILM_MM`], `width_mm` within [`WIDTH_MM`].
/// # Errors
/// Out of range.
/// # Source
/// Own derivation; [D12] for a roll of 36.
/// # Example
/// ```
/// use spoolwright_core::wet::bath;
/// // 36 advances of 38 mm [G5] with some leader and tail are about one roll's area [D12].
/// let area = bath::film_area_m2(1474.0, bath::FILM_WIDTH_MM).unwrap();
/// assert!((area - bath::ROLL_OF_36_M2).abs() < 0.0001);
/// ```
pub fn film_area_m2(length_mm: f64, width_mm: f64) -> Result<f64, Error> {
    Ok(FILM_MM.check(length_mm)? * WIDTH_MM.check(width_mm)? / 1e6)
}
