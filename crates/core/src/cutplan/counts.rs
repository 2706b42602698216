//! How many rolls of each length: a small fixed array that can be a key.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

/// Roll lengths a menu may have.
pub(super) const MAX_LENGTHS: usize = 40;

/// Rolls of each length of the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Counts(pub(super) [u8; MAX_LENGTHS]);

impl Counts {
    pub(super) const NONE: Self = Self([0; MAX_LENGTHS]);

    /// The sum, unless a length would occur more than 255 times.
    pub(super) fn plus(&self, other: &Self) -> Option<Self> {
        let mut sum = *self;
        for (a, b) in sum.0.iter_mut().zip(other.0) {
            *a = a.checked_add(b)?;
        }
        Some(sum)
    }

    /// Sum of a value per length.
    pub(super) fn dot(&self, values: impl Iterator<Item = f64>) -> f64 {
        self.0
            .iter()
            .zip(values)
            .filter(|(n, _)| 0 < **n)
            .map(|(&n, v)| f64::from(n) * v)
            .sum()
    }

    /// Number of rolls.
    pub(super) fn rolls(&self) -> u32 {
        self.0.iter().map(|&n| u32::from(n)).sum()
    }
}

impl Hash for Counts {
    fn hash<H: Hasher>(&self, state: &mut H) {
        for chunk in self.0.as_chunks::<8>().0 {
            state.write_u64(u64::from_le_bytes(*chunk));
        }
    }
}

/// A fast hasher without a random seed, so that every run is alike.
#[derive(Debug, Default, Clone, Copy)]
pub(super) struct Mix(u64);

impl Hasher for Mix {
    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 29)
    }
    fn write(&mut self, bytes: &[u8]) {
        for &b in bytes {
            self.write_u64(u64::from(b));
        }
    }
    fn write_u64(&mut self, x: u64) {
        self.0 = (self.0.rotate_left(23) ^ x).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        self.0 ^= self.0 >> 32;
    }
    fn write_usize(&mut self, x: usize) {
        self.write_u64(x as u64);
    }
}

/// A map that is only looked up in, never iterated into a result.
pub(super) type FastMap<K, V> = HashMap<K, V, BuildHasherDefault<Mix>>;

/// Work left for a search; counted, not timed, so that the same input gives the same plan.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fuel(pub(super) u64);

/// The work allowed is used up.
#[derive(Debug, Clone, Copy)]
pub(super) struct Exhausted;

impl Fuel {
    pub(super) fn burn(&mut self, amount: u64) -> Result<(), Exhausted> {
        match self.0.checked_sub(amount) {
            Some(left) => {
                self.0 = left;
                Ok(())
            }
            None => {
                self.0 = 0;
                Err(Exhausted)
            }
        }
    }

    /// Run `job` with no more than `most` of what is left.
    pub(super) fn portion<T>(&mut self, most: u64, job: impl FnOnce(&mut Self) -> T) -> T {
        let given = self.0.min(most);
        let mut part = Self(given);
        let out = job(&mut part);
        self.0 -= given - part.0.min(given);
        out
    }
}
