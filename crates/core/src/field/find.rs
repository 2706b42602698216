//! What is looked for among the frames, and what was found. How it is looked for is the store's.

use super::record::FrameNote;
use crate::shelf::{CameraId, Roll, StockId};

/// What to look for. Each thing said narrows it; with nothing said, everything is found, newest roll first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sought {
    /// Plain words, in any order; each must be in the note, its roll's label or note, or the stock's name. A word of
    /// three letters or more also finds longer words that begin with it; accents and case do not count.
    pub words: String,
    /// Words of the subject alone, found as those are.
    pub subject: String,
    /// Words of the place alone.
    pub place: String,
    /// Not before this day, `YYYY-MM-DD`.
    pub from: Option<String>,
    /// Not after this day, `YYYY-MM-DD`.
    pub to: Option<String>,
    /// Taken with this camera.
    pub camera: Option<CameraId>,
    /// On this stock.
    pub stock: Option<StockId>,
}

/// A frame with a note that was found; or a roll, by what is said of the roll itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Hit {
    /// The roll.
    pub roll: Roll,
    /// Its stock.
    pub stock: StockId,
    /// The note; none when the roll itself was found.
    pub note: Option<FrameNote>,
}

/// One page of what was found, best first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// The hits.
    pub hits: Vec<Hit>,
    /// There are more after these.
    pub more: bool,
}
