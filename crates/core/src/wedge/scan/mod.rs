//! Reading densities from a picture of a strip beside a wedge of known densities.
//!
//! Each patch gives one level, dust rejected (`robust`). The reference wedge's levels and known densities give the
//! picture's tone curve (`tone`), a clear border how evenly it was lit (`light`), and both together the density of
//! each patch with a standard deviation that holds the reading, the curve, the light and the reference densities.
//!
//! Rows come from a [`Source`], once from top to bottom; only pixels inside patches are kept. Nothing here opens a
//! file, finds a strip by itself, or guesses a tone curve that was not measured.

mod caveats;
mod density;
mod layout;
mod light;
mod order;
mod robust;
mod sample;
mod tone;

pub use layout::{
    Channel, DEFAULT_DENSITY_SD, DEFAULT_INSET, DENSITY, DENSITY_SD, FEWEST_STEPS, INSET, Layout,
    MOST_BORDERS, NOMINAL_DENSITY_SD, PATCHES, Point, Quad, Reference, Strip,
};

use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::quantity::Estimate;
use robust::Level;
use sample::{Patch, Scale};

/// What a picture is like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shape {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// 1 (grey) or 3 (red, green, blue), one pixel after the other.
    pub channels: u8,
    /// Sixteen bits a value; otherwise eight.
    pub sixteen: bool,
    /// Coded with loss, as JPEG is.
    pub lossy: bool,
}

/// The values of one row, channels interleaved; larger is lighter.
#[derive(Debug, Clone, Copy)]
pub enum Samples<'a> {
    /// Eight bits.
    Eight(&'a [u8]),
    /// Sixteen bits.
    Sixteen(&'a [u16]),
}

impl Samples<'_> {
    /// How many values there are.
    pub fn len(&self) -> usize {
        match self {
            Self::Eight(row) => row.len(),
            Self::Sixteen(row) => row.len(),
        }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Where rows come from: a decoder, or an array in a test.
pub trait Source {
    /// What the picture is like.
    fn shape(&self) -> Shape;

    /// Hands rows to `take`, each once, rising; at least those in `rows`. May be called once.
    ///
    /// # Errors
    /// When the picture turns out to be damaged.
    fn rows(
        &mut self,
        rows: std::ops::Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error>;
}

/// What a person must know of one patch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flag {
    /// Pixels are full white or black, or at the value where the picture is cut off.
    Clipped,
    /// Dust or scratches were left out.
    Dusty,
    /// The patch is not of one density: a step's edge lies in it, or the film is uneven.
    Uneven,
    /// Lighter or darker than the reference wedge's steps that could be read.
    OutsideReference,
    /// Noise drowns the level.
    TooDark,
}

impl Flag {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Clipped,
        Self::Dusty,
        Self::Uneven,
        Self::OutsideReference,
        Self::TooDark,
    ];

    /// Its stable word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Clipped => "clipped",
            Self::Dusty => "dusty",
            Self::Uneven => "uneven",
            Self::OutsideReference => "outside_reference",
            Self::TooDark => "too_dark",
        }
    }
}

/// One patch of the strip, read.
#[derive(Debug, Clone, PartialEq)]
pub struct PatchReading {
    /// The part of the patch that was read, in pixels.
    pub outline: Quad,
    /// Its density; none when the picture does not hold it.
    pub density: Option<Estimate>,
    /// Level as a part of full white.
    pub level: f64,
    /// Part of its pixels that was rejected as dust.
    pub rejected: f64,
    /// What must be known of it.
    pub flags: Vec<Flag>,
}

/// One step of the reference wedge, read.
#[derive(Debug, Clone, PartialEq)]
pub struct StepReading {
    /// The part of the step that was read, in pixels.
    pub outline: Quad,
    /// The density it is known to have.
    pub density: f64,
    /// Level as a part of full white.
    pub level: f64,
    /// Part of its pixels that was rejected as dust.
    pub rejected: f64,
    /// Whether the tone curve rests on it.
    pub used: bool,
    /// What must be known of it.
    pub flags: Vec<Flag>,
}

/// A strip, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The strip's patches, in order.
    pub strip: Vec<PatchReading>,
    /// The reference wedge's steps, in order; empty without one.
    pub reference: Vec<StepReading>,
    /// By how much the light differs over strip and wedge, as density; none without a clear border.
    pub light_range: Option<f64>,
    /// What limits the densities.
    pub caveats: Vec<Caveat>,
}

/// All levels of a picture, before any density.
struct Levels {
    strip: Vec<(Quad, Level)>,
    reference: Vec<(Quad, Level)>,
    border: Vec<(Quad, Level)>,
    /// Eight bits a value, whatever the file says.
    eight_bits: bool,
    /// Short of full white or black, the picture is cut off.
    cut_off: bool,
}

/// A step of this many of sixteen bits' numbers is one of eight bits.
const EIGHT_BITS: u16 = 256;

/// Densities of a strip's patches, each with its standard deviation.
///
/// # Units
/// Densities relative to those of the reference wedge, and of its kind (diffuse, visual, Status M …).
/// Without a reference wedge: over the clear border, or over the lightest patch.
///
/// # Domain
/// [`Layout::check`]. Pictures with a reference wedge need no linearity. Without one: 16 bits, and the person says
/// they are linear.
/// Sixteen bits that are eight stretched count as eight.
///
/// # Errors
/// [`Layout::check`]'s; [`Kind::Missing`] without a reference wedge where one is needed, or when fewer than four of its
/// steps can be told apart; [`Kind::Inconsistent`] when it lies the wrong way round or its steps are out of order, or when the strip does (see [`Strip::expected`]);
/// whatever the source says of a damaged picture.
///
/// # Source
/// Density is −log10 of transmittance; the rest is own derivation, stated in each part.
pub fn read(source: &mut dyn Source, layout: &Layout) -> Result<Reading, Error> {
    let shape = source.shape();
    check(&shape, layout)?;
    let levels = levels(source, layout)?;
    if levels.eight_bits && layout.reference.is_none() {
        return Err(no_reference(
            "8 bits a value, stretched to 16, which stand for light by a curve nobody measured",
        ));
    }
    let reading = density::read(&shape, layout, &levels)?;
    order::check(&reading.strip, &layout.strip.expected)?;
    Ok(reading)
}

fn check(shape: &Shape, layout: &Layout) -> Result<(), Error> {
    layout.check((shape.width, shape.height))?;
    if shape.channels == 1 && layout.channel != Channel::Grey {
        return Err(Error::new(
            Kind::Inconsistent,
            "channel: the picture has only one",
            layout.channel.word(),
            "grey",
            "Leave the channel out, or give a picture in colour.",
        ));
    }
    if layout.reference.is_some() {
        return Ok(());
    }
    let kind = match (shape.lossy, shape.sixteen) {
        (true, _) => "an 8-bit JPEG, whose values stand for light by a curve nobody measured",
        (false, false) => "8 bits a value, which stand for light by a curve nobody measured",
        (false, true) if !layout.linear => "16 bits a value, not said to be linear",
        (false, true) => return Ok(()),
    };
    Err(no_reference(kind))
}

fn no_reference(kind: &str) -> Error {
    Error::new(
        Kind::Missing,
        "reference: needed to read densities from this picture",
        kind,
        "a wedge of known densities in the same picture; or 16-bit values that you know to be linear",
        "Scan the strip beside a calibrated wedge; or give a 16-bit linear TIFF or PNG and say `linear`.",
    )
}

/// Places along a clear border, as patches.
fn along_border(border: &Quad) -> Vec<Quad> {
    const PLACES: usize = 12;
    const INSET: f64 = 0.1;
    let along = if border.is_wide() {
        *border
    } else {
        let [a, b, c, d] = border.0;
        Quad([b, c, d, a])
    };
    (0..PLACES).map(|i| along.patch(i, PLACES, INSET)).collect()
}

fn levels(source: &mut dyn Source, layout: &Layout) -> Result<Levels, Error> {
    let shape = source.shape();
    let mut scale = Scale::new(&shape, layout.channel);
    let mut grid = sample::Grid::default();
    let (strip, reference) = layout.outlines();
    let border: Vec<Quad> = layout.clear_border.iter().flat_map(along_border).collect();
    let all: Vec<Quad> = [strip.as_slice(), &reference, &border].concat();
    let mut patches: Vec<Patch> = all.iter().map(Patch::of).collect();
    let from = patches.iter().map(|p| p.rows().0).min().unwrap_or(0);
    let to = patches.iter().map(|p| p.rows().1).max().unwrap_or(0);
    let rows = from..(to + 1).min(shape.height);
    source.rows(rows, &mut |y, row| {
        grid.see(row);
        sample::row(&mut patches, y, row, scale);
    })?;
    scale.step = if shape.sixteen {
        f64::from(grid.step())
    } else {
        sample::eight_bit_step(&patches, scale)
    };
    (scale.ceiling, scale.floor) = sample::cut_off(&mut patches, scale);
    let mut read = Vec::with_capacity(all.len());
    for (quad, patch) in all.into_iter().zip(&mut patches) {
        let level = robust::level(patch, scale, shape.lossy).ok_or_else(|| {
            Error::new(
                Kind::Impossible,
                "a patch holds no pixel",
                format!("{:.0} by {:.0} pixels in all", shape.width, shape.height),
                "patches at least four pixels wide and high",
                "Check the corners and the count, or scan at a higher resolution.",
            )
        })?;
        read.push((
            quad,
            if layout.inverted {
                level.inverted()
            } else {
                level
            },
        ));
    }
    let border = read.split_off(strip.len() + reference.len());
    let reference = read.split_off(strip.len());
    Ok(Levels {
        strip: read,
        reference,
        border,
        eight_bits: !shape.sixteen || EIGHT_BITS <= grid.step(),
        cut_off: scale.ceiling < scale.full || 0 < scale.floor,
    })
}
