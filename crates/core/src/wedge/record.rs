//! What the shelf keeps of a wedge test: the test, its strips as read, and the stock cards made from it.
//!
//! Plain records with units in their names. What a test says (speed, time, contrast) is worked out anew from the
//! strips whenever it is looked at; a stock card keeps the figures a person chose to work by, as they were that day.

use super::{Interval, Measure, standard_speed};
use crate::shelf::{CanId, StockCardId, StockId, TicketId, WedgeStripId, WedgeTestId};
use crate::words::worded;

worded! {
    /// How the steps of a test were exposed.
    Way {
        /// An even target in a camera, at stops around the meter reading.
        #[default]
        InCamera = "in-camera",
        /// Through a step wedge under an unknown exposure, the same for every strip.
        Relative = "relative",
        /// Through a step wedge under a known exposure.
        Absolute = "absolute",
    }
}

worded! {
    /// Which light a patch was read in.
    Channel {
        /// Visual density, for black and white.
        #[default]
        Visual = "visual",
        /// Behind a red filter: the cyan layer.
        Red = "red",
        /// Behind a green filter: the magenta layer.
        Green = "green",
        /// Behind a blue filter: the yellow layer.
        Blue = "blue",
    }
}

/// A test: which stock, how exposed, how developed.
#[derive(Debug, Clone, PartialEq)]
pub struct WedgeTest {
    /// Number in the store.
    pub id: WedgeTestId,
    /// The photographer's name for it.
    pub name: String,
    /// The stock under test.
    pub stock: StockId,
    /// The can the film came from.
    pub can: Option<CanId>,
    /// How the steps were exposed.
    pub way: Way,
    /// Density of each wedge step, or stops from the meter reading of each frame, in the order of the readings.
    pub steps: Vec<f64>,
    /// log10 lux-seconds behind no density, when known.
    pub log_h_at_zero_density: Option<f64>,
    /// EI the meter was set to, in camera.
    pub meter_ei: Option<f64>,
    /// Developer, as the photographer calls it.
    pub developer: String,
    /// Its dilution, such as `1+9`.
    pub dilution: String,
    /// Temperature of the bath, °C.
    pub temperature_c: Option<f64>,
    /// Agitation, in words.
    pub agitation: String,
    /// Developing times the strips are meant for, minutes, in the order they are cut.
    pub planned_min: Vec<f64>,
    /// The ticket its roll is wound by, in camera.
    pub ticket: Option<TicketId>,
    /// Day it was begun, `YYYY-MM-DD`.
    pub begun_on: String,
    /// Free text.
    pub note: String,
    /// Put away: no longer offered.
    pub closed: bool,
}

/// One strip of a test in one light.
#[derive(Debug, Clone, PartialEq)]
pub struct WedgeStrip {
    /// Number in the store.
    pub id: WedgeStripId,
    /// The test it belongs to.
    pub test: WedgeTestId,
    /// Developing time in minutes.
    pub time_min: f64,
    /// Which light it was read in.
    pub channel: Channel,
    /// Density of each step in the test's order; none where a patch could not be read.
    pub density: Vec<Option<f64>>,
    /// Standard deviation of one reading, if known.
    pub density_sd: Option<f64>,
    /// Density of unexposed, developed film of this strip, if read.
    pub base_fog: Option<f64>,
    /// Where the readings came from: typed, a pasted table, a scan's name.
    pub source: String,
    /// Set aside: kept for the record, left out of the sums.
    pub left_out: bool,
}

worded! {
    /// Where a card's speed comes from.
    SpeedKind {
        /// Exposure index found in a camera or chosen by the photographer.
        #[default]
        Ei = "ei",
        /// ISO speed from a known exposure.
        Iso = "iso",
        /// Not known: the exposure was relative.
        Unknown = "unknown",
    }
}

/// What a photographer works by for one stock: speed, time and bath, with how sure and from what.
#[derive(Debug, Clone, PartialEq)]
pub struct StockCard {
    /// Number in the store; the newest of a stock holds.
    pub id: StockCardId,
    /// The stock.
    pub stock: StockId,
    /// The test it came from; none for a card typed by hand.
    pub test: Option<WedgeTestId>,
    /// The can that was tested.
    pub can: Option<CanId>,
    /// Day it was made, `YYYY-MM-DD`.
    pub made_on: String,
    /// Speed as found, with its 95 % interval; an EI of the photographer's own has no width.
    pub ei: Option<Interval>,
    /// What kind of speed that is.
    pub speed_kind: SpeedKind,
    /// Developing time in minutes, with its 95 % interval.
    pub time_min: Option<Interval>,
    /// Contrast aimed at, measured how; none where there is no target.
    pub target: Option<(Measure, f64)>,
    /// Developer.
    pub developer: String,
    /// Dilution.
    pub dilution: String,
    /// Temperature, °C.
    pub temperature_c: Option<f64>,
    /// Agitation, in words.
    pub agitation: String,
    /// What limits the numbers, as the bench said when the card was made.
    pub limits: String,
    /// Free text.
    pub note: String,
}

impl StockCard {
    /// The speed to set a camera to: what was found, on the list of standard speeds; an EI of one's own as it is.
    pub fn rated(&self) -> Option<f64> {
        let ei = self.ei?;
        if ei.lower95 == ei.upper95 {
            return Some(ei.value);
        }
        Some(standard_speed(ei.value).map_or(ei.value, |s| s.iso))
    }
}
