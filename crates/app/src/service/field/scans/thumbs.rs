//! Thumbnails of scans: made when looked at, kept in memory up to a bound, never on disk.

use super::folder;
use crate::picture::{self, Preview};
use crate::service::{Outcome, Service};
use spoolwright_core::field::record::ScanFile;
use spoolwright_core::shelf::ScanFileId;
use spoolwright_core::{Error, Kind};
use std::collections::VecDeque;
use std::fs::File;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

/// Longest side, pixels.
const SIDE: u32 = 320;
/// Most bytes of thumbnails kept.
const MOST_BYTES: usize = 48 * 1024 * 1024;

/// What a thumbnail was made of: the same file, unchanged.
type Key = (ScanFileId, String, u64, Option<SystemTime>);

/// Thumbnails made lately, the newest last.
#[derive(Debug, Default)]
pub(in crate::service) struct Thumbs {
    kept: Mutex<VecDeque<(Key, Arc<Preview>)>>,
    /// One picture is decoded at a time, so that a page of them never needs the memory of two.
    making: Mutex<()>,
}

impl Thumbs {
    fn get(&self, key: &Key) -> Option<Arc<Preview>> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let at = kept.iter().position(|(k, _)| k == key)?;
        let found = kept.remove(at)?;
        let preview = Arc::clone(&found.1);
        kept.push_back(found);
        Some(preview)
    }

    fn keep(&self, key: Key, preview: &Arc<Preview>) {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.retain(|(k, _)| k.0 != key.0);
        kept.push_back((key, Arc::clone(preview)));
        let bytes = |kept: &VecDeque<(Key, Arc<Preview>)>| -> usize {
            kept.iter().map(|(_, p)| p.png.len()).sum()
        };
        while bytes(&kept) > MOST_BYTES && kept.len() > 1 {
            kept.pop_front();
        }
    }
}

impl Service {
    /// A small copy of a scan.
    ///
    /// # Errors
    /// There is no such scan, its file is gone, or it is no picture that is read.
    pub fn scan_thumbnail(&self, id: ScanFileId) -> Outcome<Arc<Preview>> {
        let scan = self.find::<ScanFile>(id)?;
        let facts = folder::still_there(&scan.path)?;
        let key = (id, scan.path.clone(), facts.len(), facts.modified().ok());
        if let Some(kept) = self.thumbs.get(&key) {
            return Ok(kept);
        }
        let _alone = self
            .thumbs
            .making
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        // Somebody may have made it while this waited.
        if let Some(kept) = self.thumbs.get(&key) {
            return Ok(kept);
        }
        let file = File::open(&scan.path).map_err(|e| {
            Error::new(
                Kind::Missing,
                "the scan's file",
                e,
                "a file that may be read",
                "Check the file and its folder.",
            )
        })?;
        let preview = Arc::new(picture::preview(file, SIDE)?);
        self.thumbs.keep(key, &preview);
        Ok(preview)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn preview(bytes: usize) -> Arc<Preview> {
        let mut png = Vec::new();
        let mut encoder = png::Encoder::new(&mut png, 1, 1);
        encoder.set_color(png::ColorType::Grayscale);
        let mut writer = encoder.write_header().unwrap();
        writer.write_image_data(&[7]).unwrap();
        writer.finish().unwrap();
        let mut made = picture::preview(std::io::Cursor::new(png), 16).unwrap();
        made.png.resize(bytes, 0);
        Arc::new(made)
    }

    /// What was looked at longest ago goes first, and there is never more than the bound.
    #[test]
    fn old_thumbnails_make_room() {
        let thumbs = Thumbs::default();
        let key = |id: i64| (ScanFileId(id), String::new(), 0, None);
        let half = preview(MOST_BYTES / 2);
        thumbs.keep(key(1), &half);
        thumbs.keep(key(2), &half);
        assert!(thumbs.get(&key(1)).is_some(), "looked at");
        thumbs.keep(key(3), &half);
        assert!(thumbs.get(&key(2)).is_none() && thumbs.get(&key(1)).is_some());
        thumbs.keep((ScanFileId(1), "moved".into(), 0, None), &half);
        assert!(thumbs.get(&key(1)).is_none(), "one for each scan");
    }
}
