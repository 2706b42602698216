//! The picture held while its corners are set: one at a time, in memory, and none is stored.

use crate::picture::{self, Facts, Preview};
use crate::service::{Outcome, Service};
use spoolwright_core::{Error, Kind};
use std::io::Cursor;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Largest file that is held, bytes: 60 megapixels of three times sixteen bits, and a little.
pub const MOST_BYTES: usize = 400 * 1024 * 1024;
/// Longest side of the copy that the corners are set on, pixels.
const COPY: u32 = 1600;

/// A picture held while its corners are set.
#[derive(Debug)]
pub struct Held {
    /// Its number: the clock's milliseconds when it came; the next picture has a higher one.
    pub number: u64,
    /// The file's name.
    pub name: String,
    /// A small copy.
    pub preview: Preview,
    pub(super) bytes: Vec<u8>,
}

impl Held {
    /// Format, size and kind of pixel.
    pub fn facts(&self) -> Facts {
        self.preview.of
    }
}

/// Where one picture has room.
#[derive(Debug, Default)]
pub(in crate::service) struct Place {
    held: Mutex<Option<Arc<Held>>>,
    busy: Arc<AtomicBool>,
}

impl Place {
    fn held(&self) -> MutexGuard<'_, Option<Arc<Held>>> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// That a picture is being taken in, and no other one; for as long as this is kept.
#[derive(Debug)]
pub struct TakingIn(Arc<AtomicBool>);

impl Drop for TakingIn {
    fn drop(&mut self) {
        self.0.store(false, Ordering::Release);
    }
}

impl Service {
    /// Makes room for a picture: the one before is let go, and no other comes in meanwhile.
    ///
    /// # Errors
    /// Another is just being taken in.
    pub fn make_room(&self) -> Result<TakingIn, Error> {
        let busy = &self.picture.busy;
        if busy.swap(true, Ordering::Acquire) {
            return Err(Error::new(
                Kind::Conflict,
                "the picture",
                "a second one while the first is still being taken in",
                "one at a time",
                "Wait until the first is there, and choose the file again.",
            ));
        }
        let alone = TakingIn(Arc::clone(busy));
        drop(self.picture.held().take());
        Ok(alone)
    }

    /// Holds a picture in place of the one before, which is let go even where this one is refused, and makes the copy to
    /// set its corners on.
    ///
    /// # Errors
    /// No picture that can be read, or one that is too large.
    pub fn hold_picture(&self, name: &str, bytes: Vec<u8>) -> Outcome<u64> {
        if bytes.len() > MOST_BYTES {
            return Err(too_large(bytes.len() as u64).into());
        }
        drop(self.picture.held().take());
        let preview = picture::preview(Cursor::new(&bytes), COPY)?;
        let name: String = name.chars().filter(|c| !c.is_control()).take(80).collect();
        let clock = u64::try_from((self.clock)().as_millisecond()).unwrap_or(0);
        let number = next_number(clock);
        *self.picture.held() = Some(Arc::new(Held {
            number,
            name,
            preview,
            bytes,
        }));
        Ok(number)
    }

    /// The picture of that number, while it is held.
    ///
    /// # Errors
    /// Another has taken its place, or the program was started anew.
    pub fn held_picture(&self, number: u64) -> Outcome<Arc<Held>> {
        let place = self.picture.held();
        let held = place.as_ref().filter(|held| held.number == number);
        held.cloned().ok_or_else(|| {
            Error::new(
                Kind::Unknown,
                "the picture",
                format!("number {number}"),
                "the picture chosen last; none is stored",
                "Choose the file again.",
            )
            .into()
        })
    }
}

/// A number that was never given before, not even before the last start: a page left open over it finds no picture,
/// not another one.
fn next_number(clock_ms: u64) -> u64 {
    static LAST: AtomicU64 = AtomicU64::new(0);
    let next = |last: u64| clock_ms.max(last + 1);
    let before = LAST.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |last| {
        Some(next(last))
    });
    before.map_or(clock_ms, next)
}

/// The refusal of a file that is not taken in.
pub fn too_large(bytes: u64) -> Error {
    Error::new(
        Kind::TooLarge,
        "the picture's file",
        format!("{} MB", bytes / 1024 / 1024),
        format!("at most {} MB", MOST_BYTES / 1024 / 1024),
        "Cut the picture to strip and wedge, scan at a lower resolution, or save it compressed.",
    )
}
