//! One bath from several part-used bottles: how much of each, so that volume and strength come out as wanted.
//!
//! Of all ways to do it the one is taken that uses the oldest bottle most, then the next oldest, and so on. It knows
//! strength and volume only: that the bottles hold the same solution is their owner's word.

use std::cmp::Ordering;

use crate::bounds::Bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

use super::bath::DAYS;
use super::mix::MIX_ML;

/// Strength in working strengths: 1 is ready to use, 5 is a stock that is diluted 1+4.
pub const STRENGTH: Bounds = Bounds {
    what: "a strength",
    unit: "working strengths",
    min: 0.01,
    max: 1000.0,
};
/// Film area that a bottle has had.
pub const USED_M2: Bounds = Bounds {
    what: "film that went through",
    unit: "m²",
    min: 0.0,
    max: 1000.0,
};
/// Most bottles of one mixture.
pub const MOST_BOTTLES: usize = 50;
/// Rounding that counts for nothing, as a share of the wanted volume or solute.
const HAIR: f64 = 1e-9;

/// A part-used bottle.
#[derive(Debug, Clone, PartialEq)]
pub struct Bottle {
    /// What it is called.
    pub name: String,
    /// What is in it, ml.
    pub volume_ml: f64,
    /// Strength, see [`STRENGTH`].
    pub strength: f64,
    /// Days since it was mixed.
    pub age_days: f64,
    /// Film area that went through what is in it, m².
    pub used_m2: f64,
}

/// What is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Want {
    /// Volume, ml.
    pub volume_ml: f64,
    /// Strength, see [`STRENGTH`].
    pub strength: f64,
    /// Whether water may be added.
    pub water: bool,
}

/// What to pour from where.
#[derive(Debug, Clone, PartialEq)]
pub struct Pour {
    /// From each bottle, in the order given, ml.
    pub take_ml: Vec<f64>,
    /// What is left in each, ml.
    pub left_ml: Vec<f64>,
    /// Water, ml.
    pub water_ml: f64,
    /// Age of the oldest that went in, days.
    pub age_days: f64,
    /// Film area that the mixture has had, m².
    pub used_m2: f64,
}

/// How much of each bottle, and of water, makes what is wanted.
///
/// # Units
/// ml; strengths as [`STRENGTH`].
/// # Domain
/// 1 to [`MOST_BOTTLES`] bottles, volumes within [`MIX_ML`], strengths within [`STRENGTH`], ages within [`DAYS`], used
/// area within [`USED_M2`].
/// # Errors
/// Out of range; [`Kind::Impossible`], saying what the bottles can make.
/// # Source
/// Own derivation: volume and what is dissolved are both conserved, ∑xᵢ + w = V and ∑sᵢxᵢ = sV.
/// # Example
/// ```
/// use spoolwright_core::wet::bottles::{Bottle, Want, pour};
/// let bottle = |name: &str, volume_ml, age_days| Bottle {
///     name: name.to_owned(), volume_ml, strength: 1.0, age_days, used_m2: 0.0,
/// };
/// let want = Want { volume_ml: 600.0, strength: 1.0, water: false };
/// let p = pour(&[bottle("new", 500.0, 10.0), bottle("old", 350.0, 40.0)], want).unwrap();
/// assert_eq!(p.take_ml, [250.0, 350.0]);
/// ```
pub fn pour(bottles: &[Bottle], want: Want) -> Result<Pour, Error> {
    check(bottles, want)?;
    let solute = want.volume_ml * want.strength;
    possible(bottles, want, solute)?;
    // Oldest first; of one age the smaller, so that bottles get empty.
    let mut order: Vec<usize> = (0..bottles.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (&bottles[a], &bottles[b]);
        let by_age = b.age_days.total_cmp(&a.age_days);
        by_age.then(a.volume_ml.total_cmp(&b.volume_ml))
    });
    let mut take_ml = vec![0.0; bottles.len()];
    let (mut volume, mut left) = (want.volume_ml, solute);
    for (at, &i) in order.iter().enumerate() {
        let rest: Vec<&Bottle> = order[at + 1..].iter().map(|&j| &bottles[j]).collect();
        let rest = Rest::of(&rest, want.water);
        let most = rest.most_of(&bottles[i], volume, left, want);
        take_ml[i] = most;
        volume -= most;
        left -= most * bottles[i].strength;
    }
    Ok(told(bottles, take_ml, want))
}

/// What is left in doubt by bottles whose age or film nobody said: they were reckoned as mixed today, and as unused.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Unsaid {
    /// Whether each bottle's age was left out.
    pub age: Vec<bool>,
    /// Whether each bottle's film was left out.
    pub used: Vec<bool>,
}

impl Unsaid {
    fn names<'a>(
        untold: &[bool],
        bottles: &'a [Bottle],
        counts: impl Fn(usize) -> bool,
    ) -> Vec<&'a str> {
        let all = bottles.iter().zip(untold).enumerate();
        all.filter(|(i, (_, untold))| **untold && counts(*i))
            .map(|(_, (b, _))| b.name.as_str())
            .collect()
    }

    /// Bottles whose unknown age matters: every one where there are several, for the oldest goes first.
    fn ageless<'a>(&self, bottles: &'a [Bottle]) -> Vec<&'a str> {
        Self::names(&self.age, bottles, |_| true)
    }

    /// Bottles of unknown use that went in.
    fn unlogged<'a>(&self, bottles: &'a [Bottle], pour: &Pour) -> Vec<&'a str> {
        Self::names(&self.used, bottles, |i| 0.0 < pour.take_ml[i])
    }

    /// Whether the mixture's age is known.
    pub fn knows_age(&self, bottles: &[Bottle]) -> bool {
        self.ageless(bottles).is_empty()
    }

    /// Whether what film the mixture has had is known.
    pub fn knows_use(&self, bottles: &[Bottle], pour: &Pour) -> bool {
        self.unlogged(bottles, pour).is_empty()
    }

    /// Both doubts by name.
    pub fn caveats(&self, bottles: &[Bottle], pour: &Pour) -> Vec<Caveat> {
        let mut found = Vec::new();
        let old = self.ageless(bottles);
        if !old.is_empty() {
            found.push(Caveat::new(
                "age_unknown",
                format!(
                    "No age is given of {}: reckoned as mixed today. Unless it is, the mixture is older than told and which bottle is oldest is a guess.",
                    old.join(", ")
                ),
            ));
        }
        let filmed = self.unlogged(bottles, pour);
        if !filmed.is_empty() {
            found.push(Caveat::new(
                "use_unknown",
                format!(
                    "What film {} has had is not given: reckoned as none. A stock that was never used has none.",
                    filmed.join(", ")
                ),
            ));
        }
        found
    }
}

fn check(bottles: &[Bottle], want: Want) -> Result<(), Error> {
    MIX_ML.check_as("volume_ml: out of range", want.volume_ml)?;
    STRENGTH.check_as("strength: out of range", want.strength)?;
    if bottles.is_empty() || MOST_BOTTLES < bottles.len() {
        return Err(Error::new(
            if bottles.is_empty() {
                Kind::Missing
            } else {
                Kind::TooLarge
            },
            "bottles: too few or too many",
            bottles.len(),
            format!("1 to {MOST_BOTTLES}"),
            "Give the bottles that may be used.",
        ));
    }
    for (i, bottle) in bottles.iter().enumerate() {
        let f = |name: &str| format!("bottles[{i}].{name}: out of range");
        MIX_ML.check_as(&f("volume_ml"), bottle.volume_ml)?;
        STRENGTH.check_as(&f("strength"), bottle.strength)?;
        DAYS.check_as(&f("age_days"), bottle.age_days)?;
        USED_M2.check_as(&f("used_m2"), bottle.used_m2)?;
    }
    Ok(())
}

/// Refuses what the bottles cannot make, saying what they can.
fn possible(bottles: &[Bottle], want: Want, solute: f64) -> Result<(), Error> {
    let all: Vec<&Bottle> = bottles.iter().collect();
    let rest = Rest::of(&all, want.water);
    let wanted = format!("{} ml of strength {}", want.volume_ml, want.strength);
    let refuse = |what: &str, allowed: String, remedy: &str| {
        Err(Error::new(Kind::Impossible, what, &wanted, allowed, remedy))
    };
    if !want.water && rest.volume() + HAIR * want.volume_ml < want.volume_ml {
        return refuse(
            "the bottles do not hold enough",
            format!("up to {:.0} ml", rest.volume()),
            "Take less, or mix fresh solution for the rest.",
        );
    }
    let hair = HAIR * solute;
    let most = rest.most_solute(want.volume_ml);
    if most + hair < solute {
        return refuse(
            "the bottles are too weak, or hold too little",
            format!(
                "at {} ml a strength up to {:.3}",
                want.volume_ml,
                most / want.volume_ml
            ),
            "Take a smaller volume, add a stronger bottle, or mix fresh solution.",
        );
    }
    let least = rest.least_solute(want.volume_ml);
    if solute + hair < least {
        return refuse(
            "the bottles are too strong",
            format!(
                "at {} ml a strength from {:.3}",
                want.volume_ml,
                least / want.volume_ml
            ),
            "Allow water to be added.",
        );
    }
    Ok(())
}

fn told(bottles: &[Bottle], take_ml: Vec<f64>, want: Want) -> Pour {
    let taken = || bottles.iter().zip(&take_ml);
    let poured: f64 = take_ml.iter().sum();
    Pour {
        left_ml: taken().map(|(b, t)| b.volume_ml - t).collect(),
        water_ml: (want.volume_ml - poured).max(0.0),
        age_days: taken()
            .filter(|(_, t)| 0.0 < **t)
            .map(|(b, _)| b.age_days)
            .fold(0.0, f64::max),
        used_m2: taken().map(|(b, t)| b.used_m2 * t / b.volume_ml).sum(),
        take_ml,
    }
}

/// What the bottles not yet decided on can give: strengths and volumes, weakest first, water among them.
struct Rest(Vec<(f64, f64)>);

impl Rest {
    fn of(bottles: &[&Bottle], water: bool) -> Self {
        let mut parts: Vec<(f64, f64)> =
            bottles.iter().map(|b| (b.strength, b.volume_ml)).collect();
        if water {
            parts.push((0.0, f64::INFINITY));
        }
        parts.sort_by(|a, b| a.0.partial_cmp(&b.0).unwrap_or(Ordering::Equal));
        Self(parts)
    }

    fn volume(&self) -> f64 {
        self.0.iter().map(|p| p.1).sum()
    }

    /// Solute in `volume` of the parts in this order; what they do not hold is left out.
    fn filled<'p>(parts: impl Iterator<Item = &'p (f64, f64)>, mut volume: f64) -> f64 {
        let mut solute = 0.0;
        for (strength, most) in parts {
            let part = most.min(volume);
            solute += strength * part;
            volume -= part;
        }
        solute
    }

    /// Least solute that `volume` of these can hold.
    fn least_solute(&self, volume: f64) -> f64 {
        Self::filled(self.0.iter(), volume)
    }

    /// Most solute that `volume` of these can hold.
    fn most_solute(&self, volume: f64) -> f64 {
        Self::filled(self.0.iter().rev(), volume)
    }

    /// The most of `bottle` that can be part of `volume` with `solute`, these making up what is lacking.
    ///
    /// What these must then hold is straight in the amount taken; the least and the most that they can hold bend where
    /// one of them is used up. Between two bends and crossings all is straight, so the end of what can be done is
    /// found there exactly.
    fn most_of(&self, bottle: &Bottle, volume: f64, solute: f64, want: Want) -> f64 {
        let hair = HAIR * want.volume_ml * want.strength.max(bottle.strength);
        let top = bottle.volume_ml.min(volume).max(0.0);
        let bottom = (volume - self.volume()).clamp(0.0, top);
        // How far what is lacking lies below the most and above the least that these can hold.
        let rooms = |x: f64| {
            let lacking = solute - x * bottle.strength;
            let rest = volume - x;
            (
                self.most_solute(rest) - lacking,
                lacking - self.least_solute(rest),
            )
        };
        let room = |x: f64| {
            let (above, below) = rooms(x);
            above.min(below)
        };
        let mut bends = vec![bottom, top];
        let mut sums = (0.0, 0.0);
        for (weak, strong) in self.0.iter().zip(self.0.iter().rev()) {
            sums = (sums.0 + weak.1, sums.1 + strong.1);
            bends.extend([volume - sums.0, volume - sums.1]);
        }
        bends.retain(|x| (bottom..=top).contains(x));
        bends.sort_by(|a, b| b.total_cmp(a));
        let crossings: Vec<f64> = bends
            .windows(2)
            .filter_map(|pair| {
                let difference = |x: f64| {
                    let (above, below) = rooms(x);
                    above - below
                };
                let (a, b) = (difference(pair[0]), difference(pair[1]));
                (a * b < 0.0).then(|| pair[0] + (pair[1] - pair[0]) * a / (a - b))
            })
            .collect();
        bends.extend(crossings);
        bends.sort_by(|a, b| b.total_cmp(a));
        let mut outside: Option<f64> = None;
        for x in bends {
            let inside = room(x);
            if -hair <= inside {
                let Some(out) = outside else { return x };
                let inside = inside.max(0.0);
                return x + (out - x) * inside / (inside - room(out));
            }
            outside = Some(x);
        }
        // Only rounding brings it here: what is wanted has been found possible.
        bottom
    }
}
