//! What the clearing tests of one fixer say: how far it is spent, and how long to fix.
//!
//! A test speaks of the bath as it was. Once film has gone through since, the fixer is taken as all but dead until
//! another scrap is cleared.

use crate::caveat::Caveat;
use crate::error::Error;
use crate::quantity::degrees;

use super::bath::{Bath, BathKind};
use super::fixing::{self, DEAD_AT, NORMAL_C, Test};
use super::past::{HAIR_M2, Past};
use super::recipe::Step;

/// What a clearing test says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cleared {
    /// Fresh clearing time, s at `fresh_at_c`.
    pub fresh_s: f64,
    /// 20 °C, or more where the fresh scrap was cleared warmer than the latest one: no known law takes it down.
    pub fresh_at_c: f64,
    /// Latest clearing time, s at 20 °C.
    pub latest_s: f64,
    /// The clearing time to fix by, s at 20 °C: the latest, or what a fixer has just before it is dead when film went
    /// through since.
    pub counted_s: f64,
    /// Whether film went through since the latest test.
    pub stale: bool,
    /// Whether the film is marked as rich in iodide.
    pub high_iodide: bool,
    /// How long to fix now, s at the bath's next temperature; none for a bath to be replaced, and for a blix, which
    /// has to bleach too.
    pub fixing_time_s: Option<f64>,
}

/// How long to fix by a clearing test, and what makes it so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fixing {
    /// Seconds.
    pub seconds: f64,
    /// What was reckoned with besides the test; empty for nothing.
    pub because: &'static str,
}

impl Cleared {
    /// How long to fix at a temperature by the clearing time that counts.
    ///
    /// # Units
    /// °C; s.
    /// # Domain
    /// `at_c` within [`fixing::BATH_C`].
    /// # Errors
    /// Out of range.
    /// # Source
    /// [`fixing::fixing_time_s`]; that a fixer is taken as twice as slow as fresh once film went through since its
    /// test is own choice: slower it would be dead [D10].
    pub fn fixing_s(&self, at_c: f64) -> Result<f64, Error> {
        let test = Test {
            clearing_s: self.counted_s,
            at_c: NORMAL_C,
            high_iodide: self.high_iodide,
        };
        fixing::fixing_time_s(test, at_c)
    }

    /// How long a step fixes by the test: never shorter than its pouring in and out, nor than the shortest stop bath.
    ///
    /// # Units
    /// s.
    /// # Errors
    /// The step's temperature out of range.
    /// # Source
    /// [`Cleared::fixing_s`]; the least is own rule.
    pub fn step(&self, step: &Step) -> Result<Fixing, Error> {
        let by_test = self.fixing_s(step.temperature_c.unwrap_or(NORMAL_C))?;
        let least = fixing::LEAST_STEP_S.max(step.fill_s + step.drain_s + 1.0);
        Ok(Fixing {
            seconds: by_test.max(least),
            because: if by_test < least {
                "never shorter than it takes to pour in and out, nor than half a minute"
            } else if self.stale {
                "film went through since, so it is taken as nearly spent: clear another scrap"
            } else {
                ""
            },
        })
    }

    /// "fresh it took 30 s", with the temperature where it is not 20 °C.
    pub(super) fn fresh(&self) -> String {
        let at = if NORMAL_C < self.fresh_at_c {
            format!(" at {}", degrees(self.fresh_at_c))
        } else {
            String::new()
        };
        format!("fresh it took {:.0} s{at}", self.fresh_s)
    }
}

/// Fresh and latest clearing time, and the fixing time that follows.
pub(super) fn cleared(
    bath: &Bath,
    past: &Past,
    caveats: &mut Vec<Caveat>,
) -> Result<Option<Cleared>, Error> {
    let Some(last) = past.tests.last() else {
        return Ok(None);
    };
    let fresh = past.tests.iter().rfind(|t| t.area_before_m2 == 0.0);
    if fresh.is_none() {
        caveats.push(Caveat::new(
            "no_fresh_test",
            "No scrap was cleared before the first film: the first test stands for the fresh bath, so it is more spent than it seems.",
        ));
    }
    let fresh = fresh.unwrap_or(&past.tests[0]).test;
    let latest = last.test;
    let compared = bath.next_c.min(fresh.at_c);
    if compared < latest.at_c && NORMAL_C < latest.at_c {
        caveats.push(Caveat::new(
            "warm_test",
            "The scrap was cleared warmer than 20 °C (68 °F); how much slower a cooler bath is then is not known: the rule for cold baths is carried on. Clear a scrap at the temperature of use.",
        ));
    }
    let fresh_at_c = NORMAL_C + (fresh.at_c - latest.at_c.max(NORMAL_C)).max(0.0);
    if NORMAL_C < fresh_at_c {
        caveats.push(Caveat::new(
            "warm_fresh_test",
            format!(
                "The fresh scrap was cleared at {}, the latest at {}: cooler, the fresh one would have taken longer too, how much is not known, so the fixer may be less spent than it seems. Clear every scrap at one temperature.",
                degrees(fresh.at_c),
                degrees(latest.at_c)
            ),
        ));
    }
    // Compared at the fresh test's temperature, so that no unknown law shortens the later one.
    let latest_s = fixing::clearing_at(latest.clearing_s, latest.at_c, NORMAL_C)?;
    let grown = fixing::clearing_at(latest.clearing_s, latest.at_c, fresh.at_c)? / fresh.clearing_s;
    let fresh_s = latest_s / grown;
    let stale = last.area_before_m2 + HAIR_M2 < past.area_m2;
    let mut cleared = Cleared {
        fresh_s,
        fresh_at_c,
        latest_s,
        counted_s: if stale {
            latest_s.max(fresh_s * DEAD_AT)
        } else {
            latest_s
        },
        stale,
        high_iodide: bath.high_iodide,
        fixing_time_s: None,
    };
    if bath.kind == BathKind::Blix {
        caveats.push(Caveat::new(
            "blix_clearing",
            "A scrap that clears shows that a blix still fixes, not that it still bleaches: its time is its sheet's.",
        ));
    } else {
        cleared.fixing_time_s = Some(cleared.fixing_s(bath.next_c)?);
    }
    Ok(Some(cleared))
}
