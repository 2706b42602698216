//! Runs of the wet bench, by state and by age.

use super::many;
use crate::{Error, Store};
use spoolwright_core::shelf::RunId;
use spoolwright_core::wet::record::{Run, RunState};

impl Store {
    /// Runs in one state, oldest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn runs_in(&self, state: RunState) -> Result<Vec<Run>, Error> {
        many(&self.db, "WHERE state = ?1 ORDER BY id", [state.word()])
    }

    /// The newest runs before number `before` (all when none), newest first, at most `most`.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn recent_runs(&self, before: Option<RunId>, most: u32) -> Result<Vec<Run>, Error> {
        many(
            &self.db,
            "WHERE id < ?1 ORDER BY id DESC LIMIT ?2",
            (before.map_or(i64::MAX, |r| r.0), most),
        )
    }

    /// Runs that are over, done or given up, with a roll whose frames were not counted, newest first; no rehearsal.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn uncounted_runs(&self) -> Result<Vec<Run>, Error> {
        many(
            &self.db,
            "WHERE rehearsal IS NULL AND state IN (?1, ?2) AND id IN (SELECT run_roll.run FROM run_roll JOIN roll ON roll.id = run_roll.roll WHERE usable IS NULL AND fogged_start IS NULL AND fogged_end IS NULL AND exposure = 'unsaid' AND roll.state <> 'scrapped') ORDER BY id DESC",
            [RunState::Done.word(), RunState::Abandoned.word()],
        )
    }
}
