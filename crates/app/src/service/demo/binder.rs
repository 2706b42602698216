//! The scenario's binder: the first can's rolls, cut and filed in the order they were wound.

use super::Scene;
use crate::service::Outcome;
use crate::service::binder::file::FileDraft;
use crate::service::binder::kit::{BinderDraft, PageFormatDraft};
use spoolwright_core::shelf::RollState;

/// The newest of its rolls, which wait to be filed still.
const WAITING: usize = 3;

impl Scene {
    /// Files what was wound from the first can.
    pub(super) fn file_the_first_can(&self) -> Outcome<()> {
        let format = PageFormatDraft {
            name: "Clear, six by six".into(),
            rows: "6".into(),
            frames_per_row: "6".into(),
            price_each: "0.45".into(),
            note: "polypropylene, untreated".into(),
        };
        self.service.save_page_format(None, &format, None)?;
        let binder = BinderDraft {
            name: "Weir and harbour".into(),
            note: "the grey one, second shelf".into(),
            ..BinderDraft::default()
        };
        self.service.save_binder(None, &binder, None)?;
        let mut rolls = self.service.rolls_in(RollState::Developed)?;
        rolls.retain(|r| r.can == "HM");
        rolls.truncate(rolls.len().saturating_sub(WAITING));
        for roll in rolls {
            self.service
                .file_roll(roll.roll.id, &FileDraft::default(), None)?;
        }
        Ok(())
    }
}
