//! Finding a frame again: what is sought as typed, and each hit with where it lies.

use super::super::draft::pick;
use super::super::entry::Reader;
use super::super::error::at;
use super::super::{Outcome, Service};
use super::stays::Stay;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::field::find::{Hit, Sought};
use spoolwright_core::field::record::{Camera, FramePlace, Strip};
use spoolwright_core::shelf::{CameraId, RollId, Stock, StockId};
use spoolwright_core::{Error, Kind};
use std::collections::HashMap;

/// Hits on one page.
pub const FOUND_PAGE: u32 = 20;
/// Pages that can be turned to.
const PAGES: Bounds = Bounds::new("a page of what was found", "", 1.0, 100_000.0);

/// What is sought, as typed. Each thing said narrows it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct FindDraft {
    /// Words of the notes, the rolls or the stock, in any order.
    #[arg(default_value = "")]
    pub words: String,
    /// Words of the subject alone.
    #[arg(long, default_value = "")]
    pub subject: String,
    /// Words of the place alone.
    #[arg(long, default_value = "")]
    pub place: String,
    /// Not before this day, YYYY-MM-DD.
    #[arg(long, default_value = "")]
    pub from: String,
    /// Not after this day.
    #[arg(long, default_value = "")]
    pub to: String,
    /// Taken with this camera: its name or number.
    #[arg(long, default_value = "")]
    pub camera: String,
    /// On this stock: its name or number.
    #[arg(long, default_value = "")]
    pub stock: String,
    /// Which page of what was found; 1 when empty.
    #[arg(long, default_value = "")]
    pub page: String,
}

impl FindDraft {
    /// Whether nothing is sought.
    pub fn is_blank(&self) -> bool {
        Self {
            page: String::new(),
            ..self.clone()
        } == Self::default()
    }
}

/// A hit and where to walk to.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundFrame {
    /// The roll, and the note if a note was found.
    pub hit: Hit,
    /// Its stock's name.
    pub stock: String,
    /// The camera it was taken with, if that is known.
    pub camera: Option<String>,
    /// Where it lies; of a roll without notes, where it begins.
    pub lies: Option<FramePlace>,
    /// All strips of that page.
    pub strips: Vec<(Strip, String)>,
}

/// A page of what was found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FoundPage {
    /// Best first.
    pub frames: Vec<FoundFrame>,
    /// Which page it is, from 1.
    pub page: u32,
    /// There is another one after it.
    pub more: bool,
}

impl Service {
    /// Frames and rolls that fit what is sought, a page of them.
    ///
    /// # Errors
    /// Faults of the draft; trouble with the store.
    pub fn find_frames(&self, draft: &FindDraft) -> Outcome<FoundPage> {
        let (cameras, stocks) = (self.all::<Camera>()?, self.all::<Stock>()?);
        let mut r = Reader::new();
        let one = |text: &str| !text.trim().is_empty();
        let camera = match one(&draft.camera) {
            true => {
                let found = pick(&cameras, &draft.camera, "camera", |c| &c.name);
                r.keep("camera", found, None).map(|c| c.id)
            }
            false => None,
        };
        let stock = match one(&draft.stock) {
            true => {
                let found = pick(&stocks, &draft.stock, "stock", |s| &s.name);
                r.keep("stock", found, None).map(|s| s.id)
            }
            false => None,
        };
        let (from, to) = (r.date("from", &draft.from), r.date("to", &draft.to));
        if let (Some(from), Some(to)) = (&from, &to)
            && to < from
        {
            r.fault(
                "to",
                Error::new(
                    Kind::Inconsistent,
                    "the last day",
                    to,
                    format!("{from} or later"),
                    "Exchange the two days.",
                ),
            );
        }
        let page = match draft.page.trim() {
            "" => 1,
            text => r.whole("page", text, &PAGES),
        };
        r.finish()?;
        let sought = Sought {
            words: draft.words.clone(),
            subject: draft.subject.clone(),
            place: draft.place.clone(),
            from,
            to,
            camera,
            stock,
        };
        let skip = (page - 1).saturating_mul(FOUND_PAGE);
        let found = self
            .store()
            .search(&sought, skip, FOUND_PAGE)
            .map_err(|e| match e {
                spoolwright_store::Error::Refused(e) => at("words", e),
                other => other.into(),
            })?;
        let mut labels = HashMap::new();
        let frames = found
            .hits
            .into_iter()
            .map(|hit| self.hit_found(hit, &cameras, &stocks, &mut labels));
        Ok(FoundPage {
            frames: frames.collect::<Outcome<_>>()?,
            page,
            more: found.more,
        })
    }

    /// One frame of a roll with where it lies, as if it had been found.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn where_it_lies(&self, hit: Hit) -> Outcome<FoundFrame> {
        let (cameras, stocks) = (self.all::<Camera>()?, self.all::<Stock>()?);
        self.hit_found(hit, &cameras, &stocks, &mut HashMap::new())
    }

    fn hit_found(
        &self,
        hit: Hit,
        cameras: &[Camera],
        stocks: &[Stock],
        labels: &mut HashMap<RollId, String>,
    ) -> Outcome<FoundFrame> {
        let store = self.store();
        let frame = match &hit.note {
            Some(note) => Some(note.frame),
            None => store.strips_of_roll(hit.roll.id)?.first().map(|s| s.first),
        };
        let lies = match frame {
            Some(frame) => store.place_of_frame(hit.roll.id, frame)?,
            None => None,
        };
        let mut strips = Vec::new();
        if let Some(lies) = &lies {
            for strip in store.strips_of_page(lies.page.id)? {
                let label = match labels.get(&strip.roll) {
                    Some(label) => label.clone(),
                    None => {
                        let roll = store.get::<spoolwright_core::shelf::Roll>(strip.roll)?;
                        roll.map_or_else(String::new, |r| r.label)
                    }
                };
                labels.insert(strip.roll, label.clone());
                strips.push((strip, label));
            }
        }
        let loads = store.loads_of_roll(hit.roll.id)?;
        drop(store);
        let named = |id: CameraId| cameras.iter().find(|c| c.id == id).cloned();
        let stays: Vec<Stay> = loads
            .into_iter()
            .filter_map(|load| {
                let camera = named(load.camera)?;
                Some(Stay { load, camera })
            })
            .collect();
        let stay = match &hit.note {
            Some(note) => stays.iter().rev().find(|s| s.holds(note.frame.n())),
            None => stays.last(),
        };
        Ok(FoundFrame {
            camera: stay.map(|s| s.camera.name.clone()),
            stock: stock_name(stocks, hit.stock),
            lies,
            strips,
            hit,
        })
    }
}

fn stock_name(stocks: &[Stock], id: StockId) -> String {
    let stock = stocks.iter().find(|s| s.id == id);
    stock.map_or_else(String::new, |s| s.name.clone())
}

/// "Weir binder, page 12, row 3, position 4": rows and positions counted from one.
pub fn lies_in_words(p: &FramePlace) -> String {
    format!(
        "{}, page {}, row {}, position {}",
        p.binder.name,
        p.page.number,
        p.strip.row + 1,
        p.position + 1
    )
}
