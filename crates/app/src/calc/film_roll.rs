//! A developed roll as `calc cutstrips` and `calc pages` take it: counted frames, or its pictures one by one.

use serde::Deserialize;
use spoolwright_core::binder::cut::{self, Image, PageFormat, Run};
use spoolwright_core::binder::limits::{FRAMES_PER_ROW, GAP_PERFORATIONS, ROWS};
use spoolwright_core::bounds::FRAMES;
use spoolwright_core::field::record::FrameShape;
use spoolwright_core::{Error, Kind};

use super::input::{self, Whole};
use super::json;

#[derive(Deserialize, Clone, Copy)]
#[serde(deny_unknown_fields, expecting = "an object")]
pub(super) struct PageInput {
    rows: Whole,
    frames_per_row: Whole,
}

impl PageInput {
    pub(super) fn read(self) -> Result<PageFormat, Error> {
        Ok(PageFormat {
            rows: self.rows.check(ROWS, "page.rows")?,
            frames_per_row: self
                .frames_per_row
                .check(FRAMES_PER_ROW, "page.frames_per_row")?,
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
pub(super) struct ImageInput {
    frame: String,
    shape: Option<String>,
    blank: Option<bool>,
    gap_perforations: Option<Whole>,
}

/// The fields of a roll that say what is on it.
pub(super) struct Pictures {
    pub(super) frames: Option<Whole>,
    pub(super) first: Option<String>,
    pub(super) shape: Option<String>,
    pub(super) last_cut_short: Option<bool>,
    pub(super) blank: Option<Vec<String>>,
    pub(super) images: Option<Vec<ImageInput>>,
}

impl Pictures {
    /// The pictures of the roll at that path.
    pub(super) fn read(self, at: &str) -> Result<Vec<Image>, Error> {
        let field = |name: &str| json::join(at, name);
        let Some(listed) = self.images else {
            let frames = self.frames.ok_or_else(|| json::missing(&field("frames")))?;
            let run = Run {
                frames: frames.check(FRAMES, &field("frames"))?,
                first: self.first.unwrap_or_else(|| "1".to_owned()),
                shape: shape(self.shape.as_deref(), &field("shape"))?,
                last_cut_short: self.last_cut_short.unwrap_or(false),
                blank: self.blank.unwrap_or_default(),
            };
            return cut::images(&run, at);
        };
        let besides = [
            ("frames", self.frames.is_some()),
            ("first", self.first.is_some()),
            ("shape", self.shape.is_some()),
            ("last_cut_short", self.last_cut_short.is_some()),
            ("blank", self.blank.is_some()),
        ];
        if let Some((name, _)) = besides.iter().find(|(_, given)| *given) {
            return Err(Error::new(
                Kind::Inconsistent,
                format!("{}: not beside images", field(name)),
                "both",
                "either images, or frames with first, shape, last_cut_short and blank",
                "Say it of each picture in images.",
            ));
        }
        let read = |(i, image): (usize, ImageInput)| {
            let field = |name: &str| field(&format!("images[{i}].{name}"));
            Ok(Image {
                frame: image.frame,
                shape: shape(image.shape.as_deref(), &field("shape"))?,
                blank: image.blank.unwrap_or(false),
                gap_before: image.gap_perforations.map_or(Ok(0), |gap| {
                    gap.check_signed(GAP_PERFORATIONS, &field("gap_perforations"))
                })?,
            })
        };
        listed.into_iter().enumerate().map(read).collect()
    }
}

fn shape(word: Option<&str>, field: &str) -> Result<FrameShape, Error> {
    input::choice_or(
        word,
        FrameShape::Full,
        FrameShape::ALL,
        FrameShape::word,
        field,
    )
}
