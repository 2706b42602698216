//! Wants as typed.

use super::pick;
use crate::service::Outcome;
use crate::service::entry::{self, Reader};
use serde::{Deserialize, Serialize};
use spoolwright_core::Error;
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::shelf::{Stock, Want, WantId};

const PRIORITY: Bounds = Bounds {
    what: "a priority",
    unit: "",
    min: 1.0,
    max: 9.0,
};

/// A want as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct WantDraft {
    /// What for, such as "ferry to the islands".
    #[arg(long, default_value = "")]
    pub what_for: String,
    /// Frames wanted.
    #[arg(long, default_value = "")]
    pub frames: String,
    /// Stocks that will do: names or numbers separated by commas; all of them when empty.
    #[arg(long, default_value = "")]
    pub stocks: String,
    /// By when, YYYY-MM-DD.
    #[arg(long, default_value = "")]
    pub by_when: String,
    /// 1 (most important) to 9; 3 when empty.
    #[arg(long, default_value = "")]
    pub priority: String,
    /// EI to label the rolls with; the stock's own when empty.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// Camera it is meant for.
    #[arg(long, default_value = "")]
    pub camera: String,
    /// Perforations per frame: 8 full, 4 half, 6 square, 14 panoramic; 8 when empty.
    #[arg(long, default_value = "")]
    pub advance_perforations: String,
}

impl WantDraft {
    pub(crate) fn read(&self, id: WantId, dropped: bool, stocks: &[Stock]) -> Outcome<Want> {
        let mut r = Reader::new();
        let mut chosen = Vec::new();
        for part in self
            .stocks
            .split(',')
            .map(str::trim)
            .filter(|p| !p.is_empty())
        {
            if let Some(stock) = r.keep("stocks", pick(stocks, part, "stock", |s| &s.name), None)
                && !chosen.contains(&stock.id)
            {
                chosen.push(stock.id);
            }
        }
        if self.stocks.trim().is_empty() {
            chosen = stocks.iter().filter(|s| !s.closed).map(|s| s.id).collect();
        }
        if chosen.is_empty() {
            r.fault(
                "stocks",
                Error::missing(
                    "stocks that will do",
                    "one stock or more",
                    "Add a stock first, or choose one.",
                ),
            );
        }
        let whole = |r: &mut Reader, field: &str, text: &str, bounds: &Bounds, usual: u32| {
            if text.trim().is_empty() {
                usual
            } else {
                r.whole(field, text, bounds)
            }
        };
        let want = Want {
            id,
            what_for: r.line("what_for", "what it is for", &self.what_for, 120),
            by_when: r.date("by_when", &self.by_when),
            frames: r.whole("frames", &self.frames, &bounds::FRAMES),
            priority: whole(&mut r, "priority", &self.priority, &PRIORITY, 3),
            stocks: chosen,
            ei: r.optional("ei", &self.ei, entry::SPEED, &bounds::SPEED_ISO),
            camera: r.free("camera", "a camera", &self.camera, 80),
            advance_perforations: whole(
                &mut r,
                "advance_perforations",
                &self.advance_perforations,
                &bounds::ADVANCE_PERFORATIONS,
                8,
            ),
            dropped,
        };
        r.finish()?;
        Ok(want)
    }
}
