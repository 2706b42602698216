//! Labels that tell a dozen look-alike cassettes apart.
//!
//! The roll label is the largest thing on it; EI and frames stand on plates of their own, the frames
//! white on black. A label too small for a QR code goes without one ([`LabelSize::holds_qr`]).

mod arrange;

use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::{Error, Kind};

use self::arrange::Plan;
use crate::drawing::Document;
use crate::input::{self, LONGEST_LABEL, LONGEST_TEXT};
use crate::sheet::{self, Grid, Paper};

/// What one cassette label says. Empty texts and absent numbers leave no gap behind.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CassetteLabel {
    /// Roll label, such as `HM-07`.
    pub roll: String,
    /// Name of the stock.
    pub stock: String,
    /// Exposure index; none leaves room to write it.
    pub ei: Option<f64>,
    /// Usable frames.
    pub frames: u32,
    /// Frame format when it is not the full frame, such as `half`; empty for the full frame.
    pub format: String,
    /// Day of winding, as text.
    pub wound_on: String,
    /// Can it came from.
    pub can: String,
    /// Anything else.
    pub note: String,
    /// Address for the QR code.
    pub url: Option<String>,
}

/// Size of a label in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelSize {
    /// Along the cassette's axis, and along the lines of text.
    pub width_mm: f64,
    /// Round the barrel, and across the lines of text.
    pub height_mm: f64,
}

/// Width of a label.
const WIDTH_MM: Bounds = Bounds {
    what: "a label's width",
    unit: "mm",
    min: 18.0,
    max: 120.0,
};
/// Height of a label.
const HEIGHT_MM: Bounds = Bounds {
    what: "a label's height",
    unit: "mm",
    min: 10.0,
    max: 120.0,
};
/// Gaps and offsets of a sheet of ready-cut labels.
const OFFSET_MM: Bounds = Bounds {
    what: "an offset on the sheet",
    unit: "mm",
    min: 0.0,
    max: 200.0,
};

impl LabelSize {
    /// Wraps the barrel from one side of the slot to the other (common practice, no source: measure
    /// your cassette).
    pub const BARREL_WRAP: Self = Self {
        width_mm: 42.0,
        height_mm: 66.0,
    };
    /// The side of the barrel that faces you (common practice, no source: measure your cassette).
    pub const BARREL_FACE: Self = Self {
        width_mm: 42.0,
        height_mm: 28.0,
    };
    /// A small flag for the lid of a tub or a tail of tape.
    pub const SMALL_FLAG: Self = Self {
        width_mm: 26.0,
        height_mm: 13.0,
    };
    /// A large flag for a tub or a bag.
    pub const LARGE_FLAG: Self = Self {
        width_mm: 70.0,
        height_mm: 36.0,
    };

    /// The ready sizes, each with its word and what it is for.
    pub const PRESETS: [(&'static str, &'static str, Self); 4] = [
        ("wrap", "round the barrel, slot to slot", Self::BARREL_WRAP),
        ("face", "one side of the barrel", Self::BARREL_FACE),
        ("flag", "lid or tape flag, without QR", Self::SMALL_FLAG),
        ("tub", "tub or bag", Self::LARGE_FLAG),
    ];

    /// The ready size of that word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::PRESETS.into_iter().find(|p| p.0 == word).map(|p| p.2)
    }

    /// Whether a label of this size has room for a QR code.
    pub fn holds_qr(self) -> bool {
        Plan::of(self) != Plan::Small
    }
}

/// How labels stand on a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelLayout {
    /// Size of one label.
    pub size: LabelSize,
    /// Gap between columns in millimetres.
    pub gap_x_mm: f64,
    /// Gap between rows in millimetres.
    pub gap_y_mm: f64,
    /// Left edge of the first label; centred on the paper when none.
    pub left_mm: Option<f64>,
    /// Top edge of the first label; at the margin when none.
    pub top_mm: Option<f64>,
}

impl LabelLayout {
    /// Labels edge to edge on plain paper, to be cut with one cut between two.
    pub const fn plain(size: LabelSize) -> Self {
        Self {
            size,
            gap_x_mm: 0.0,
            gap_y_mm: 0.0,
            left_mm: None,
            top_mm: None,
        }
    }

    fn grid(self) -> Result<Grid, Error> {
        let offset = |field: &str, v: f64| OFFSET_MM.check_as(field, v);
        Ok(Grid {
            width: WIDTH_MM.check_as("width_mm", self.size.width_mm)?,
            height: HEIGHT_MM.check_as("height_mm", self.size.height_mm)?,
            gap_x: offset("gap_x_mm", self.gap_x_mm)?,
            gap_y: offset("gap_y_mm", self.gap_y_mm)?,
            left: self.left_mm.map(|v| offset("left_mm", v)).transpose()?,
            top: self.top_mm.map(|v| offset("top_mm", v)).transpose()?,
        })
    }
}

/// Sheets of cassette labels, in the order given, from place `start_at` (0 is the top left one) on.
///
/// # Errors
/// No labels, more than 2000, absurd numbers, texts that are too long, a size that does not fit the paper,
/// or an address too long for the label's QR code.
pub fn cassette_labels(
    labels: &[CassetteLabel],
    layout: LabelLayout,
    paper: Paper,
    start_at: usize,
) -> Result<Document, Error> {
    input::count("labels", labels.len())?;
    let grid = layout.grid()?;
    let plan = Plan::of(layout.size);
    let labels = labels.iter().map(checked).collect::<Result<Vec<_>, _>>()?;
    sheet::fill(
        "Cassette labels",
        paper,
        grid,
        start_at,
        &labels,
        |l| &l.roll,
        |pen, label| plan.draw(pen, label, layout.size),
    )
}

fn checked(label: &CassetteLabel) -> Result<CassetteLabel, Error> {
    if let Some(ei) = label.ei {
        bounds::SPEED_ISO.check_as("EI", ei)?;
    }
    bounds::FRAMES.check_as("frames", f64::from(label.frames))?;
    let roll = input::text("roll label", &label.roll, LONGEST_LABEL)?;
    if roll.is_empty() {
        return Err(Error::new(
            Kind::Missing,
            "roll label",
            "nothing",
            format!("1 to {LONGEST_LABEL} characters"),
            "Give the roll a label, such as HM-07.",
        ));
    }
    Ok(CassetteLabel {
        roll,
        stock: input::text("stock", &label.stock, LONGEST_TEXT)?,
        ei: label.ei,
        frames: label.frames,
        format: input::text("format", &label.format, LONGEST_TEXT)?,
        wound_on: input::text("winding date", &label.wound_on, LONGEST_TEXT)?,
        can: input::text("can", &label.can, LONGEST_LABEL)?,
        note: input::text("note", &label.note, LONGEST_TEXT)?,
        url: input::address(label.url.as_deref())?.map(str::to_owned),
    })
}
