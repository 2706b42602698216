//! What the numbers of a filing may be. A caller that reads them in checks against the same table.

use crate::bounds::Bounds;

/// Rows of a page.
pub const ROWS: Bounds = Bounds::new("the rows of a page", "rows", 1.0, 40.0);
/// Pockets for a full frame in a row.
pub const FRAMES_PER_ROW: Bounds = Bounds::new("the frames of a row", "frames", 1.0, 40.0);
/// Clear film before a picture, counted from where the one before it ends; below zero the two overlap.
pub const GAP_PERFORATIONS: Bounds = Bounds::new("a gap", "perforations", -3.0, 400.0);
/// Rows in use on a page to be continued.
pub const USED_ROWS: Bounds = Bounds::new("the rows in use", "rows", 0.0, 40.0);
/// A side of a sheet of paper.
pub const PAPER_MM: Bounds = Bounds::new("a side of the paper", "mm", 50.0, 2000.0);
/// From one row to the next on a contact sheet.
pub const ROW_STEP_MM: Bounds = Bounds::new("the step from row to row", "mm", 35.0, 100.0);
/// Paper to keep free at each edge.
pub const MARGIN_MM: Bounds = Bounds::new("a margin", "mm", 0.0, 100.0);

/// Most rolls in one question.
pub const MAX_ROLLS: usize = 500;
/// Most pictures of one roll.
pub const MAX_IMAGES: usize = 800;
/// Most papers in one question.
pub const MAX_PAPERS: usize = 40;
/// Longest id or word.
pub const MAX_NAME: usize = 200;
/// Longest number of a frame.
pub const MAX_FRAME: usize = 20;
