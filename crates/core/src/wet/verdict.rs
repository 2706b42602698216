//! The verdict on a bath: how far each limit is used, what the next time is multiplied by, and what speaks for it.
//!
//! Limits of area, age, clearing time and look stand side by side; the first that is reached says "replace". Short of
//! that, film that has gone through says "correct". A limit that nobody knows is left out and said to be unknown.

use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::words::worded;

use super::bath::{self, Bath, BathKind, BathUse, Correction, FixerPlace, Look, ROLL_OF_36_M2};
pub use super::clearing::Cleared;
use super::clearing::cleared;
use super::fixing;
use super::past::{HAIR_M2, Past};
use super::sheet::{Growth, capacity, growth};

/// A bath younger than this is fresh.
const A_DAY: f64 = 1.0;

worded! {
    /// What to do with a bath.
    Verdict {
        /// Use it as it is.
        #[default]
        Use = "use",
        /// Use it, with the time or the replenisher that is told.
        Correct = "correct",
        /// Mix a new one.
        Replace = "replace",
    }
}

worded! {
    /// What speaks for a verdict.
    Reason {
        /// Nothing that is known speaks against it.
        #[default]
        WithinLimits = "within-limits",
        /// Film that went through.
        Area = "area",
        /// Days since it was mixed.
        Age = "age",
        /// Clearing time of a scrap.
        ClearingTime = "clearing-time",
        /// Its colour, or its look otherwise.
        Colour = "colour",
        /// It is for one load only.
        OneShot = "one-shot",
        /// Replenisher that it is owed.
        Replenisher = "replenisher",
        /// What would have to be known to judge it is not.
        NotKnown = "not-known",
    }
}

worded! {
    /// Where a number comes from.
    Basis {
        /// From its user: a sheet, or a measurement.
        #[default]
        Given = "given",
        /// A default that rests on a rule of practice.
        Default = "default",
    }
}

/// A reason, with its sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Because {
    /// What speaks for the verdict.
    pub reason: Reason,
    /// One sentence for people.
    pub text: String,
}

/// How far one limit is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitUse {
    /// Which limit: area, age or clearing time.
    pub limit: Reason,
    /// How much is used, in its unit.
    pub used: f64,
    /// How much may be used.
    pub allowed: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// From 0, fresh, to 1, at the limit; more when it is passed.
    pub share: f64,
    /// Where the limit comes from.
    pub basis: Basis,
}

/// Whether the load that is planned may go in.
#[derive(Debug, Clone, PartialEq)]
pub struct NextLoad {
    /// Its film area, m².
    pub area_m2: f64,
    /// What to do for it.
    pub verdict: Verdict,
    /// Why.
    pub because: Vec<Because>,
}

/// The life of a bath.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// What to do with it.
    pub verdict: Verdict,
    /// Why, the weightiest first; never empty.
    pub because: Vec<Because>,
    /// The limits that are known.
    pub limits: Vec<LimitUse>,
    /// Loads so far.
    pub runs: usize,
    /// Film area so far, m².
    pub area_m2: f64,
    /// Film area that may still go through, m²: 0 once it is to be replaced; none when no capacity is known.
    pub capacity_left_m2: Option<f64>,
    /// What the fresh bath's time is multiplied by for the next load.
    pub next_time_factor: f64,
    /// Replenisher that is owed for the film so far, ml.
    pub replenisher_owed_ml: Option<f64>,
    /// What the clearing tests say.
    pub clearing: Option<Cleared>,
    /// The load that is planned.
    pub next_load: Option<NextLoad>,
    /// What limits the trust in all this.
    pub caveats: Vec<Caveat>,
}

impl Life {
    /// Whole rolls of 36 that may still go through.
    ///
    /// # Source
    /// [D12].
    pub fn rolls_left(&self) -> Option<u32> {
        let rolls = (self.capacity_left_m2? + HAIR_M2) / ROLL_OF_36_M2;
        Some(rolls.floor() as u32)
    }
}

/// The life of a bath from its record.
///
/// # Units
/// As the fields of [`Bath`] and [`Life`] say.
/// # Domain
/// Numbers within the bounds of [`super::bath`]; events in order of time; a replenished bath names its rate; only a
/// reused bath has a correction.
/// # Errors
/// Out of range; missing; inconsistent, all naming the field.
/// # Source
/// Capacity [D12], [D13], [D11], [D26]; clearing time [D9], [D10]; replenisher [D25]. That a limit is used in
/// proportion to the area, and that corrections add up on the first time, is own choice.
pub fn life(bath: &Bath) -> Result<Life, Error> {
    bath.check()?;
    usage_fits(bath)?;
    let past = Past::of(bath);
    let mut caveats = Vec::new();
    let capacity = capacity(bath, &mut caveats);
    let whole_m2 = capacity.map(|(per_litre, basis)| (per_litre * past.litres, basis));
    let clearing = cleared(bath, &past, &mut caveats)?;
    let mut because = Vec::new();
    let limits = limits(bath, &past, whole_m2, clearing.as_ref(), &mut because)?;
    if past.look == Look::Spent {
        because.push(reason(Reason::Colour, "By its look it is spent."));
    }
    let used_up = bath.usage == BathUse::OneShot && 0 < past.runs;
    if used_up {
        because.insert(
            0,
            reason(
                Reason::OneShot,
                "A one-shot bath is used once, and this one has been.",
            ),
        );
    }
    let mut verdict = if because.is_empty() {
        Verdict::Use
    } else {
        Verdict::Replace
    };
    let clearing = clearing.map(|c| Cleared {
        fixing_time_s: c.fixing_time_s.filter(|_| verdict != Verdict::Replace),
        ..c
    });
    let growth = growth(bath, &past, &mut caveats);
    let next_time_factor = match &clearing {
        Some(c) => (c.latest_s / c.fresh_s).max(growth.factor),
        None => growth.factor,
    };
    let owed = bath
        .rate_ml_per_m2
        .filter(|_| bath.usage == BathUse::Replenished)
        .map(|rate| past.unfed_m2 * rate);
    if verdict == Verdict::Use {
        if past.look == Look::Doubtful {
            because.push(reason(
                Reason::Colour,
                "Its look is doubtful: test it first, on a scrap of film.",
            ));
        }
        let corrections = corrections(next_time_factor, &growth, owed);
        if !corrections.is_empty() {
            verdict = Verdict::Correct;
        }
        because.extend(corrections);
        because.extend(not_known(bath, &past, &limits, &growth));
        if because.is_empty() {
            because.push(within(bath, &past, &limits, clearing.as_ref()));
        }
    } else if let Some(advice) = rotation(bath, &because) {
        because.push(advice);
    }
    doubts(bath, &past, clearing.as_ref(), &mut caveats);
    let capacity_left_m2 = match whole_m2 {
        _ if verdict == Verdict::Replace => Some(0.0),
        Some((whole, _)) => Some((whole - past.counts_m2(bath)).max(0.0)),
        None => None,
    };
    let next_load = bath
        .next_area_m2
        .map(|area| next_load(area, bath, verdict, &because, whole_m2, &past));
    Ok(Life {
        verdict,
        because,
        limits,
        runs: past.runs,
        area_m2: past.area_m2,
        capacity_left_m2,
        next_time_factor,
        replenisher_owed_ml: owed,
        clearing,
        next_load,
        caveats,
    })
}

fn reason(reason: Reason, text: impl Into<String>) -> Because {
    Because {
        reason,
        text: text.into(),
    }
}

fn usage_fits(bath: &Bath) -> Result<(), Error> {
    let replenished = bath.usage == BathUse::Replenished;
    if replenished && bath.rate_ml_per_m2.is_none() {
        return Err(Error::missing(
            "rate_ml_per_m2: missing",
            bath::RATE_ML_PER_M2.allowed(),
            "A replenished bath needs the ml of replenisher for a square metre of film: its sheet tells it.",
        ));
    }
    let inconsistent = |field: &str, allowed: &str| {
        Err(Error::new(
            Kind::Inconsistent,
            format!("{field}: not for a {} bath", bath.usage.word()),
            format!("use {} with {field}", bath.usage.word()),
            allowed,
            "Leave it out, or say how the bath is used.",
        ))
    };
    if !replenished && bath.rate_ml_per_m2.is_some() {
        return inconsistent("rate_ml_per_m2", "use replenished");
    }
    let corrected = !matches!(bath.correction, None | Some(Correction::None));
    if bath.usage != BathUse::Reused && corrected {
        return inconsistent("correction", "use reused");
    }
    Ok(())
}

/// The known limits; what is reached goes into `because`.
fn limits(
    bath: &Bath,
    past: &Past,
    whole_m2: Option<(f64, Basis)>,
    clearing: Option<&Cleared>,
    because: &mut Vec<Because>,
) -> Result<Vec<LimitUse>, Error> {
    let mut limits = Vec::new();
    if let Some((whole, basis)) = whole_m2 {
        let used = past.counts_m2(bath);
        if whole <= used + HAIR_M2 {
            let by = match basis {
                Basis::Given => "its sheet",
                Basis::Default => "a default rule",
            };
            let text =
                format!("{used:.3} m² of film went through; by {by} it takes {whole:.3} m².");
            because.push(reason(Reason::Area, text));
        }
        limits.push(LimitUse {
            limit: Reason::Area,
            used,
            allowed: whole,
            unit: "m²",
            share: used / whole,
            basis,
        });
    }
    if let Some(days) = bath.shelf_life_days {
        if days < bath.age_days {
            let text = format!("It is {:.0} days old and keeps {days:.0}.", bath.age_days);
            because.push(reason(Reason::Age, text));
        }
        limits.push(LimitUse {
            limit: Reason::Age,
            used: bath.age_days,
            allowed: days,
            unit: "days",
            share: bath.age_days / days,
            basis: Basis::Given,
        });
    }
    if let Some(c) = clearing {
        let dead = c.fresh_s * fixing::DEAD_AT;
        if dead <= c.latest_s + 1e-9 {
            let text = format!(
                "A scrap takes {:.0} s to clear, {}: at double the fixer is dead.",
                c.latest_s,
                c.fresh()
            );
            because.push(reason(Reason::ClearingTime, text));
        }
        limits.push(LimitUse {
            limit: Reason::ClearingTime,
            used: c.latest_s,
            allowed: dead,
            unit: "s",
            share: (c.latest_s / c.fresh_s - 1.0).max(0.0) / (fixing::DEAD_AT - 1.0),
            basis: Basis::Given,
        });
    }
    Ok(limits)
}

fn corrections(factor: f64, growth: &Growth, owed: Option<f64>) -> Vec<Because> {
    let mut found = Vec::new();
    if 1.0 + 1e-9 < factor {
        let more = (factor - 1.0) * 100.0;
        found.push(if growth.factor < factor {
            let text = format!("A scrap takes {more:.0} % longer to clear than in the fresh bath.");
            reason(Reason::ClearingTime, text)
        } else {
            let by = match growth.basis {
                Basis::Given => String::new(),
                Basis::Default => format!(
                    ", by a default from memory of {:.1} % for each roll of 36 that a litre has had",
                    bath::PERCENT_PER_ROLL_PER_L
                ),
            };
            let text = format!("Film went through: give {more:.0} % more time{by}.");
            reason(Reason::Area, text)
        });
    }
    if let Some(ml) = owed.filter(|ml| 1e-6 < *ml) {
        let text = format!("Add {ml:.0} ml of replenisher first, for the film so far.");
        found.push(reason(Reason::Replenisher, text));
    }
    found
}

/// What a verdict short of "replace" would need and has not.
fn not_known(bath: &Bath, past: &Past, limits: &[LimitUse], growth: &Growth) -> Option<Because> {
    let has = |limit| limits.iter().any(|l| l.limit == limit);
    let wears = 0 < past.runs || (bath.next_area_m2.is_some() && bath.usage != BathUse::OneShot);
    let by_test = bath.kind == BathKind::Fixer && has(Reason::ClearingTime);
    let mut lacking = Vec::new();
    // Of a replenished bath the rate is what is known: fed by it, it takes film without end.
    let fed = bath.usage == BathUse::Replenished;
    if wears && !has(Reason::Area) && !by_test && !fed {
        lacking.push("how much film it takes");
    }
    if 0 < past.runs && !growth.known {
        lacking.push("how its time grows with use");
    }
    if limits.is_empty() && !wears && A_DAY <= bath.age_days {
        lacking.push("how long it keeps");
    }
    if lacking.is_empty() {
        return None;
    }
    let without = if bath.kind.shows_on_a_scrap() {
        "test it on a scrap of film first"
    } else {
        "mix it new when in doubt: a scrap of film would not show it"
    };
    let text = format!(
        "Not known: {}. Its sheet tells it; without one, {without}.",
        lacking.join(", and ")
    );
    Some(reason(Reason::NotKnown, text))
}

fn within(bath: &Bath, past: &Past, limits: &[LimitUse], clearing: Option<&Cleared>) -> Because {
    let stale = clearing.is_some_and(|c| c.stale);
    let parts: Vec<String> = limits
        .iter()
        .map(|l| {
            let by = match (l.basis, l.limit) {
                (Basis::Default, _) => " (a default)",
                (Basis::Given, Reason::ClearingTime) if stale => " (before the last film)",
                (Basis::Given, _) => "",
            };
            let name = l.limit.word().replace('-', " ");
            format!("{name} {:.0} %{by}", l.share * 100.0)
        })
        .collect();
    let mut text = if !parts.is_empty() {
        format!("Used of its limits: {}.", parts.join(", "))
    } else if past.runs == 0 {
        "No film has been through it.".to_owned()
    } else if bath.usage == BathUse::Replenished {
        "It has its replenisher for all film so far.".to_owned()
    } else {
        "Nothing on its record speaks against it.".to_owned()
    };
    if bath.shelf_life_days.is_none() && A_DAY <= bath.age_days {
        text += " Its age is not judged: how long it keeps is not known.";
    }
    reason(Reason::WithinLimits, text)
}

/// What to do with the other bath when one of two is dead.
fn rotation(bath: &Bath, because: &[Because]) -> Option<Because> {
    let spent = because
        .iter()
        .find(|b| matches!(b.reason, Reason::ClearingTime | Reason::Area))?;
    let text = match bath.place {
        FixerPlace::Only => return None,
        FixerPlace::First => {
            "Retire this bath, move the second into its place, and mix a new second."
        }
        FixerPlace::Second => {
            "A second bath that is spent shows that the first was kept too long: mix both anew."
        }
    };
    Some(reason(spent.reason, text))
}

/// Caveats about what nobody has told or tested.
fn doubts(bath: &Bath, past: &Past, clearing: Option<&Cleared>, caveats: &mut Vec<Caveat>) {
    if bath.shelf_life_days.is_none() && bath.usage != BathUse::OneShot {
        caveats.push(Caveat::new(
            "no_shelf_life",
            "How long it keeps is not known: nothing is said of its age.",
        ));
    }
    if past.look == Look::Doubtful {
        caveats.push(Caveat::new(
            "doubtful_look",
            "Its look is doubtful: try a scrap of film before a roll that matters.",
        ));
    }
    if !bath.fixes() {
        return;
    }
    if bath.kind == BathKind::Blix {
        // A scrap would not tell that it bleaches.
    } else if clearing.is_none() {
        caveats.push(Caveat::new(
            "no_clearing_test",
            format!(
                "No scrap has been cleared: area alone is a guess. Time one in white light and fix twice as long. Without film: {}",
                fixing::IODIDE_TEST
            ),
        ));
    } else if clearing.is_some_and(|c| c.stale) {
        caveats.push(Caveat::new(
            "untested_since",
            "Film went through since the last clearing test: until another scrap is cleared, fix as in a fixer that is nearly spent.",
        ));
    }
    if bath.high_iodide {
        caveats.push(Caveat::new(
            "high_iodide",
            "For film rich in iodide three clearing times and half the default capacity are a rule of practice, not a measurement.",
        ));
    }
}

fn next_load(
    area_m2: f64,
    bath: &Bath,
    verdict: Verdict,
    because: &[Because],
    whole_m2: Option<(f64, Basis)>,
    past: &Past,
) -> NextLoad {
    let told = |verdict, because: Vec<Because>| NextLoad {
        area_m2,
        verdict,
        because,
    };
    let Some((whole, _)) = whole_m2.filter(|_| verdict != Verdict::Replace) else {
        return told(verdict, because.to_vec());
    };
    let used = past.counts_m2(bath);
    if used + area_m2 <= whole + HAIR_M2 {
        return told(verdict, because.to_vec());
    }
    if bath.usage == BathUse::Replenished && area_m2 <= whole + HAIR_M2 {
        // What it is owed stands in the reasons: once it has that, the load fits.
        return told(Verdict::Correct, because.to_vec());
    }
    let text = format!(
        "This load of {area_m2:.3} m² would bring it to {:.3} m²; it takes {whole:.3} m².",
        used + area_m2
    );
    told(Verdict::Replace, vec![reason(Reason::Area, text)])
}
