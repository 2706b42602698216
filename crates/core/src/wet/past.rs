//! What a bath has had: its events summed up, for [`super::verdict`] to judge.
//!
//! It judges nothing itself and takes the record as checked.

use super::bath::{Bath, BathUse, Event, Look, What};
use super::fixing::Test;

/// Film area that is nothing but rounding.
pub(super) const HAIR_M2: f64 = 1e-9;

/// What a bath has had, summed over its events.
pub(super) struct Past {
    pub(super) runs: usize,
    pub(super) area_m2: f64,
    /// Area that no replenisher has made up for.
    pub(super) unfed_m2: f64,
    /// Working solution altogether, l.
    pub(super) litres: f64,
    pub(super) look: Look,
    /// Every clearing test, with the film area before it.
    pub(super) tests: Vec<Tested>,
}

pub(super) struct Tested {
    pub(super) test: Test,
    pub(super) area_before_m2: f64,
}

impl Past {
    pub(super) fn of(bath: &Bath) -> Self {
        let mut past = Self {
            runs: 0,
            area_m2: 0.0,
            unfed_m2: 0.0,
            litres: bath.volume_ml / 1000.0,
            look: Look::Good,
            tests: Vec::new(),
        };
        for Event { what, .. } in &bath.events {
            match *what {
                What::Run { area_m2 } => {
                    past.runs += 1;
                    past.area_m2 += area_m2;
                    past.unfed_m2 += area_m2;
                }
                What::Replenished { ml } => {
                    // Too much replenisher is not saved up for later film: the bath overflows.
                    let fed = bath.rate_ml_per_m2.map_or(0.0, |rate| ml / rate);
                    past.unfed_m2 = (past.unfed_m2 - fed).max(0.0);
                }
                What::ToppedUp { ml } => past.litres += ml / 1000.0,
                What::Looked(look) => past.look = look,
                What::Clearing { seconds, at_c } => past.tests.push(Tested {
                    test: Test {
                        clearing_s: seconds,
                        at_c,
                        high_iodide: bath.high_iodide,
                    },
                    area_before_m2: past.area_m2,
                }),
            }
        }
        past
    }

    /// The area that counts against the capacity.
    pub(super) fn counts_m2(&self, bath: &Bath) -> f64 {
        if bath.usage == BathUse::Replenished {
            self.unfed_m2
        } else {
            self.area_m2
        }
    }
}
