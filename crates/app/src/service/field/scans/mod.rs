//! Scans of a roll's frames: files matched to frames, sidecars beside them, thumbnails. No image is ever written to.

pub mod folder;
pub mod matching;
pub mod sidecar;
mod thumbs;

pub(in crate::service) use thumbs::Thumbs;

use super::super::{Made, Outcome, Request, Service, find_in};
use folder::name_of;
use sidecar::Standing;
use spoolwright_core::field::record::{FrameNote, ScanFile};
use spoolwright_core::shelf::{Roll, RollId, ScanFileId};
use spoolwright_store::Subject;

/// A scan, what was noted of its frame, and how its sidecar stands.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanView {
    /// As recorded.
    pub scan: ScanFile,
    /// What was noted of its frame.
    pub note: Option<FrameNote>,
    /// How its sidecar stands.
    pub sidecar: Standing,
}

impl Service {
    /// Scans of a roll in the order of its frames.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn scans_of(&self, roll: RollId) -> Outcome<Vec<ScanView>> {
        let notes = self.store().notes_of_roll(roll)?;
        let wanted = self.wanted_sidecars(roll)?;
        let view = |w: sidecar::Wanted| ScanView {
            note: notes
                .iter()
                .find(|n| n.frame == w.scan.frame && n.beside.is_none())
                .cloned(),
            sidecar: w.standing(),
            scan: w.scan,
        };
        Ok(wanted.into_iter().map(view).collect())
    }

    /// The scan of that number with its roll's label.
    ///
    /// # Errors
    /// There is none.
    pub fn scan(&self, id: ScanFileId) -> Outcome<(String, ScanFile)> {
        let scan = self.find::<ScanFile>(id)?;
        Ok((self.find::<Roll>(scan.roll)?.label, scan))
    }

    /// Takes away that a file is the scan of a frame. The file and its sidecar stay.
    ///
    /// # Errors
    /// There is no such scan.
    pub fn take_away_scan(&self, id: ScanFileId, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let scan = find_in::<ScanFile>(change, id)?;
            let roll = find_in::<Roll>(change, scan.roll)?;
            change.take_away_scan(id)?;
            change.about(Subject::of::<Roll>(roll.id));
            let story = format!(
                "{} is no longer the scan of frame {} of {}; the file stays.",
                name_of(&scan.path),
                scan.frame,
                roll.label
            );
            Ok(("scan.taken-away", story, ()))
        })
    }
}
