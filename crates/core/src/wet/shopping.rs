//! What of a batch is lacking, given what stands on the shelf.
//!
//! Another hydrate of the same salt counts, by what it is worth. Prices, packs and shops are not its business.

use crate::error::{Error, Kind};

use super::formula::{Batch, Unit};
use super::salts::{self, AMOUNT, Substance};

/// Most entries of a shelf.
pub const MOST_AT_HAND: usize = 500;

/// What stands on the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct AtHand {
    /// Its name.
    pub substance: String,
    /// How much.
    pub amount: f64,
    /// How that is measured.
    pub unit: Unit,
}

/// One substance of the batch against the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Needed {
    /// Its name in the formula.
    pub substance: String,
    /// How much the batch takes.
    pub needed: f64,
    /// How much of that the shelf serves, in the formula's hydrate.
    pub at_hand: f64,
    /// How much is lacking.
    pub lacking: f64,
    /// Unit of the three.
    pub unit: Unit,
    /// What is to be weighed of other hydrates from the shelf, in the order of the shelf: name and amount.
    pub instead: Vec<(String, f64)>,
}

/// What of the batch is lacking: the very hydrate is used first, then others of the same salt.
///
/// # Units
/// g or ml as each entry says.
/// # Domain
/// At most [`MOST_AT_HAND`] entries, amounts within [`AMOUNT`].
/// # Errors
/// Out of range; too many.
/// # Source
/// Own derivation; hydrates [D35].
pub fn lacking(batch: &Batch, shelf: &[AtHand]) -> Result<Vec<Needed>, Error> {
    if MOST_AT_HAND < shelf.len() {
        return Err(Error::new(
            Kind::TooLarge,
            "at_hand: too many",
            shelf.len(),
            format!("up to {MOST_AT_HAND}"),
            "Give what the formula needs.",
        ));
    }
    for (i, item) in shelf.iter().enumerate() {
        AMOUNT.check_as(&format!("at_hand[{i}].amount: out of range"), item.amount)?;
    }
    let mut left: Vec<f64> = shelf.iter().map(|item| item.amount).collect();
    let mut list: Vec<Needed> = Vec::new();
    for measure in &batch.measures {
        let is_water = measure.known == Some(Substance::Water);
        if is_water || measure.amount <= 0.0 {
            continue;
        }
        let mut entry = Needed {
            substance: measure.substance.clone(),
            needed: measure.amount,
            at_hand: 0.0,
            lacking: measure.amount,
            unit: measure.unit,
            instead: Vec::new(),
        };
        let worth = |item: &AtHand| {
            if item.unit != measure.unit {
                return None;
            }
            let held = Substance::named(&item.substance);
            match (held, measure.known) {
                (Some(held), Some(wanted)) => salts::factor(held, wanted).ok(),
                (None, None) => (item.substance.trim().to_lowercase()
                    == measure.substance.trim().to_lowercase())
                .then_some(1.0),
                _ => None,
            }
        };
        let mut fitting: Vec<(usize, f64, bool)> = shelf
            .iter()
            .enumerate()
            .filter_map(|(i, item)| {
                let same = Substance::named(&item.substance) == measure.known;
                Some((i, worth(item)?, same))
            })
            .collect();
        fitting.sort_by_key(|(_, _, same)| !same);
        for (i, worth, same) in fitting {
            let take = left[i].min(entry.lacking / worth);
            if take <= 0.0 {
                continue;
            }
            left[i] -= take;
            entry.at_hand += take * worth;
            entry.lacking = (entry.lacking - take * worth).max(0.0);
            if !same {
                entry.instead.push((shelf[i].substance.clone(), take));
            }
        }
        if entry.lacking < 1e-9 * entry.needed {
            entry.lacking = 0.0;
        }
        list.push(entry);
    }
    Ok(list)
}
