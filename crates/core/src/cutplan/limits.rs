//! What the numbers of a problem may be. A caller that reads them in checks against the same table.

use crate::bounds::Bounds;

/// Film left in a can, and its standard deviation.
pub const LEFT_M: Bounds = Bounds {
    what: "film left",
    unit: "m",
    min: 0.0,
    max: 1000.0,
};
/// Frames of one want.
pub const WANTED_FRAMES: Bounds = Bounds {
    what: "wanted frames",
    unit: "frames",
    min: 1.0,
    max: 5000.0,
};
/// How much a want matters: 1 most.
pub const PRIORITY: Bounds = Bounds {
    what: "a priority",
    unit: "",
    min: 1.0,
    max: 9.0,
};
/// Empty cassettes; as many as this is as good as without limit.
pub const CASSETTES: Bounds = Bounds {
    what: "cassettes at hand",
    unit: "",
    min: 0.0,
    max: 10_000.0,
};
/// Rows of a page, or frames in a row.
pub const PAGE_SIDE: Bounds = Bounds {
    what: "rows or frames of a page",
    unit: "",
    min: 1.0,
    max: 100.0,
};
/// A price in the user's currency.
pub const PRICE: Bounds = Bounds {
    what: "a price",
    unit: "",
    min: 0.0,
    max: 1_000_000.0,
};
