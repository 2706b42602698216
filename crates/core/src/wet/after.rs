//! What developed rolls teach: whether a loader's allowances hold, and whether a stock is rated right.
//!
//! Counting, with what the counts allow to say. It changes nothing: a person does, who reads the advice.

use super::recipe::Step;
use super::record::{Exposure, Run, RunState};
use super::timer::{Mark, MarkKind};

/// Rolls without fog before a shorter allowance is spoken of: own rule, so that at most one roll in ten is fogged as it
/// is (95 %).
pub const ROLLS_TO_SHORTEN: usize = 30;
/// Rolls of one speed before anything is said about it: own rule.
const ROLLS_TO_JUDGE: usize = 3;

/// Whether a run developed its rolls: it went to its end, or was given up once a bath in which the image grows was in.
///
/// `steps` and `marks` are the run's own, in order. A rehearsal develops nothing.
pub fn developed(run: &Run, steps: &[Step], marks: &[Mark]) -> bool {
    let develops = |m: &Mark| {
        let step = m.step.and_then(|n| steps.get(n as usize));
        m.kind == MarkKind::Begin && step.is_some_and(|s| s.kind.develops())
    };
    run.rehearsal.is_none()
        && match run.state {
            RunState::Done => true,
            RunState::Abandoned => marks.iter().any(develops),
            RunState::Planned | RunState::Running => false,
        }
}

/// One end of one developed roll: what was allowed for it, and what light took beyond that.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct End {
    /// Clicks allowed when it was wound.
    pub allowed_clicks: u32,
    /// Clicks of film lost to light beyond the allowance.
    pub fogged_clicks: u32,
}

/// What to do about an allowance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Advice {
    /// Allow so many clicks: that would have saved every frame.
    More {
        /// Clicks.
        clicks: u32,
        /// Rolls that lost film.
        fogged: usize,
        /// Rolls looked at.
        rolls: usize,
    },
    /// It holds.
    Holds {
        /// Rolls looked at.
        rolls: usize,
        /// The chance of a fogged roll is below this (95 %).
        chance_below: f64,
        /// So many rolls came out clean that one click less may be tried.
        may_shorten: bool,
    },
}

/// What the ends of developed rolls say about the allowance now in use; none without a roll.
///
/// # Units
/// Clicks.
/// # Source
/// The chance: with no event in n trials the 95 % upper bound is 1 − 0.05^(1/n), the exact binomial bound.
/// # Example
/// ```
/// use spoolwright_core::wet::after::{Advice, End, allowance};
/// let clean = End { allowed_clicks: 2, fogged_clicks: 0 };
/// let struck = End { allowed_clicks: 2, fogged_clicks: 1 };
/// assert!(matches!(allowance(&[clean, struck], 2), Some(Advice::More { clicks: 3, fogged: 1, rolls: 2 })));
/// let Some(Advice::Holds { chance_below, .. }) = allowance(&[clean; 3], 2) else { panic!() };
/// assert!((chance_below - 0.632).abs() < 0.001);
/// ```
pub fn allowance(ends: &[End], now_clicks: u32) -> Option<Advice> {
    // A roll wound with less than is allowed now says nothing against it unless it would have lost film anyway.
    let lost = |e: &&End| e.fogged_clicks > 0 && e.allowed_clicks + e.fogged_clicks > now_clicks;
    let fogged = ends.iter().filter(lost).count();
    if fogged > 0 {
        return Some(Advice::More {
            clicks: ends
                .iter()
                .filter(lost)
                .map(|e| e.allowed_clicks + e.fogged_clicks)
                .max()?,
            fogged,
            rolls: ends.len(),
        });
    }
    // Only rolls that had no more than the present allowance bear witness to it.
    let rolls = ends
        .iter()
        .filter(|e| e.allowed_clicks <= now_clicks)
        .count();
    (rolls > 0).then(|| Advice::Holds {
        rolls,
        chance_below: 1.0 - 0.05_f64.powf(1.0 / rolls as f64),
        may_shorten: rolls >= ROLLS_TO_SHORTEN && now_clicks > 0,
    })
}

/// How the rolls of one stock at one EI came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// As they should be.
    pub right: usize,
    /// Thin.
    pub under: usize,
    /// Dense.
    pub over: usize,
    /// Both.
    pub mixed: usize,
}

impl Tally {
    /// Of so many rolls; what was not said counts for nothing.
    pub fn of(all: impl IntoIterator<Item = Exposure>) -> Self {
        let mut tally = Self::default();
        for exposure in all {
            match exposure {
                Exposure::Unsaid => {}
                Exposure::Right => tally.right += 1,
                Exposure::Under => tally.under += 1,
                Exposure::Over => tally.over += 1,
                Exposure::Mixed => tally.mixed += 1,
            }
        }
        tally
    }

    /// Rolls that were judged.
    pub const fn judged(&self) -> usize {
        self.right + self.under + self.over + self.mixed
    }

    /// One sentence when most of a few rolls lean one way; none when they do not, or are too few.
    pub fn lean(&self) -> Option<&'static str> {
        if self.judged() < ROLLS_TO_JUDGE {
            None
        } else if 2 * self.under > self.judged() {
            Some(
                "Most came out thin: expose more (a lower EI), or test the stock at the wedge bench.",
            )
        } else if 2 * self.over > self.judged() {
            Some(
                "Most came out dense: expose less (a higher EI), or develop shorter after a test at the wedge bench.",
            )
        } else {
            None
        }
    }
}
