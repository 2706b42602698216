//! Where a number of the wet bench comes from, so that none is shown as better than it is.

use crate::words::worded;

worded! {
    /// Whether somebody measured a number, read it on a sheet, or has only heard of it.
    Mark {
        /// Common practice, or another stock's figure.
        #[default]
        RuleOfThumb = "rule-of-thumb",
        /// From the stock's own sheet.
        Sheet = "sheet",
        /// Measured on this stock, in this developer.
        Measured = "measured",
    }
}
