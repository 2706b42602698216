//! What a bath takes and how its time grows with use: by its sheet, else by a default that is named as one.

use super::bath::{self, Bath, BathKind, BathUse, Correction, FixerSort, ROLL_OF_36_M2};
use super::past::Past;
use super::verdict::Basis;
use crate::caveat::Caveat;

/// Film area that a litre takes, and by whose word.
pub(super) fn capacity(bath: &Bath, caveats: &mut Vec<Caveat>) -> Option<(f64, Basis)> {
    if let Some(given) = bath.capacity_m2_per_l {
        return Some((given, Basis::Given));
    }
    let (rolls, rule) = match (bath.kind, bath.usage) {
        (BathKind::Fixer, _) => {
            let sort = match bath.fixer {
                FixerSort::Acid => bath::FIXER_ROLLS_PER_L,
                FixerSort::Alkaline => bath::ALKALINE_FIXER_ROLLS_PER_L,
            };
            let share = if bath.high_iodide {
                bath::HIGH_IODIDE_SHARE
            } else {
                1.0
            };
            (
                sort * share,
                "a handbook's rule for a fixer without a sheet",
            )
        }
        (BathKind::Developer, BathUse::Reused) => (
            bath::DEVELOPER_ROLLS_PER_L,
            "a rule from memory for undiluted fine-grain developer",
        ),
        _ => {
            caveats.push(Caveat::new(
                "no_capacity",
                "No capacity is known for this bath: nothing is said of how much film it still takes. Its sheet tells it.",
            ));
            return None;
        }
    };
    caveats.push(Caveat::new(
        "default_capacity",
        format!("{rolls} rolls of 36 a litre are a default, {rule}: the bath's own sheet goes before it."),
    ));
    Some((rolls * ROLL_OF_36_M2, Basis::Default))
}

/// How the time has grown by the film that went through.
pub(super) struct Growth {
    pub(super) factor: f64,
    pub(super) basis: Basis,
    pub(super) known: bool,
}

/// By its sheet or a default.
pub(super) fn growth(bath: &Bath, past: &Past, caveats: &mut Vec<Caveat>) -> Growth {
    let rolls_per_litre = past.area_m2 / ROLL_OF_36_M2 / past.litres;
    let mut basis = Basis::Given;
    let mut known = true;
    let percent = match bath.correction {
        Some(Correction::None) => 0.0,
        Some(Correction::PerRun(percent)) => percent * past.runs as f64,
        Some(Correction::PerRollPerLitre(percent)) => percent * rolls_per_litre,
        None if bath.usage != BathUse::Reused => 0.0,
        None if bath.kind == BathKind::Developer => {
            caveats.push(Caveat::new(
                "default_correction",
                format!(
                    "{:.1} % more time for each roll of 36 that a litre has had is a default from memory: the sheet goes before it.",
                    bath::PERCENT_PER_ROLL_PER_L
                ),
            ));
            basis = Basis::Default;
            bath::PERCENT_PER_ROLL_PER_L * rolls_per_litre
        }
        None if matches!(
            bath.kind,
            BathKind::SecondBath
                | BathKind::FirstDeveloper
                | BathKind::SecondDeveloper
                | BathKind::ColourDeveloper
                | BathKind::Bleach
                | BathKind::Blix
        ) =>
        {
            caveats.push(Caveat::new(
                "no_correction",
                "How the time of this bath grows with use is not known here: take it from its sheet.",
            ));
            known = false;
            0.0
        }
        None => 0.0,
    };
    Growth {
        factor: 1.0 + percent / 100.0,
        basis,
        known,
    }
}
