//! Pictures of strips: TIFF and PNG of 8 or 16 bits, JPEG as a last resort.
//!
//! A picture is decoded row after row as far as its format allows, and whoever reads keeps what is needed. What a file
//! says of its size is judged before anything is allocated for it. Colour profiles and orientation marks are not
//! applied: densities come from the numbers as they stand, and places are counted as the rows lie in the file.

mod jpeg;
mod png;
mod preview;
mod tiff;

use std::io::{BufRead, BufReader, Read, Seek, SeekFrom};
use std::ops::Range;

use spoolwright_core::wedge::scan::{self, Layout, Reading, Samples, Shape, Source};
use spoolwright_core::{Error, Kind};

use crate::calc::words::shorten;

pub use preview::{MAX_PREVIEW_SIDE, Preview, preview};

/// Most pixels of a picture: a 35 mm strip of six frames (228 × 35 mm) at some 3100 dpi, or a camera of 100 MP.
pub const MAX_PIXELS: u64 = 120_000_000;
/// Most bytes of a file.
pub const MAX_FILE_BYTES: u64 = 1_000_000_000;
/// Longest side of a picture.
pub const MAX_SIDE: u32 = 65_535;

/// What kind of file a picture is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Tagged image file format.
    Tiff,
    /// Portable network graphics.
    Png,
    /// JPEG, always of 8 bits.
    Jpeg,
}

impl Format {
    /// Its stable word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Tiff => "tiff",
            Self::Png => "png",
            Self::Jpeg => "jpeg",
        }
    }
}

/// A picture, opened: its header was read and found good, its rows were not.
pub struct Picture<'r> {
    /// What kind of file it is.
    pub format: Format,
    source: Box<dyn Source + 'r>,
}

impl std::fmt::Debug for Picture<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?} {:?}", self.format, self.source.shape())
    }
}

impl Source for Picture<'_> {
    fn shape(&self) -> Shape {
        self.source.shape()
    }

    fn rows(
        &mut self,
        rows: Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error> {
        self.source.rows(rows, take)
    }
}

/// Opens a picture; the format is told by its first bytes, not by a name.
///
/// # Errors
/// [`Kind::Unknown`] for a format, coding or kind of pixel that is not read, and for damaged files;
/// [`Kind::TooLarge`] beyond [`MAX_PIXELS`], [`MAX_FILE_BYTES`] or what the file can hold at all.
pub fn open<'r>(reader: impl Read + Seek + 'r) -> Result<Picture<'r>, Error> {
    let mut reader = BufReader::with_capacity(1 << 16, reader);
    let bytes = reader.seek(SeekFrom::End(0)).map_err(unreadable)?;
    if MAX_FILE_BYTES < bytes {
        return Err(Error::new(
            Kind::TooLarge,
            "the picture's file is too large",
            format!("{} MB", bytes / 1_000_000),
            format!("up to {} MB", MAX_FILE_BYTES / 1_000_000),
            "Cut the picture to strip and reference wedge, or scan at a lower resolution.",
        ));
    }
    reader.rewind().map_err(unreadable)?;
    let start = reader.fill_buf().map_err(unreadable)?;
    let start = start.get(..4.min(start.len())).unwrap_or_default().to_vec();
    let (format, source): (Format, Box<dyn Source + 'r>) = match start.as_slice() {
        [b'I', b'I', 42 | 43, 0] | [b'M', b'M', 0, 42 | 43] => {
            (Format::Tiff, Box::new(tiff::Tiff::open(reader, bytes)?))
        }
        [0x89, b'P', b'N', b'G'] => (Format::Png, Box::new(png::Png::open(reader, bytes)?)),
        [0xff, 0xd8, 0xff, _] => (Format::Jpeg, Box::new(jpeg::Jpeg::open(reader, bytes)?)),
        [] => {
            return Err(Error::missing(
                "the picture's file is empty",
                FORMATS,
                REMEDY,
            ));
        }
        other => {
            let begins = other.iter().map(|b| format!("{b:02x}"));
            return Err(refused(
                "the file is no picture that can be read",
                &format!(
                    "a file that begins with {}",
                    begins.collect::<Vec<_>>().join(" ")
                ),
            ));
        }
    };
    Ok(Picture { format, source })
}

/// Reads a strip's densities from a picture.
///
/// # Errors
/// [`open`]'s, and those of [`scan::read`].
pub fn read_strip(reader: impl Read + Seek, layout: &Layout) -> Result<(Facts, Reading), Error> {
    let mut picture = open(reader)?;
    let reading = scan::read(&mut picture, layout)?;
    Ok((picture.facts(), reading))
}

/// What can be said of a picture without its pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Facts {
    /// What kind of file it is.
    pub format: Format,
    /// Its size and kind of pixel.
    pub shape: Shape,
}

impl Picture<'_> {
    /// Format, size and kind of pixel.
    pub fn facts(&self) -> Facts {
        Facts {
            format: self.format,
            shape: self.shape(),
        }
    }
}

const FORMATS: &str =
    "TIFF or PNG with 8 or 16 bits a value, grey or red-green-blue; JPEG as a last resort";
const REMEDY: &str = "Save the scan as a 16-bit TIFF or PNG and give that.";

/// A picture of a kind that is not read.
fn refused(what: &str, given: &str) -> Error {
    Error::new(Kind::Unknown, what, shorten(given), FORMATS, REMEDY)
}

/// A picture that does not decode.
fn damaged(format: &str, why: impl std::fmt::Display) -> Error {
    Error::new(
        Kind::Unknown,
        format!(
            "the {format} cannot be decoded: damaged, cut short, or coded in a way that is not read"
        ),
        shorten(&why.to_string()),
        FORMATS,
        REMEDY,
    )
}

fn unreadable(error: std::io::Error) -> Error {
    Error::new(
        Kind::Missing,
        "the picture cannot be read",
        shorten(&error.to_string()),
        "a readable file",
        "Check the file.",
    )
}

/// Judges what a header says of size, before anything is allocated.
///
/// `packing` is the most decoded bytes that one byte of the format's coding can stand for.
fn check_size(
    (width, height): (u32, u32),
    pixel_bytes: u64,
    file_bytes: u64,
    packing: u64,
) -> Result<(), Error> {
    let pixels = u64::from(width) * u64::from(height);
    if pixels == 0 {
        return Err(refused(
            "the picture is empty",
            &format!("{width} × {height} pixels"),
        ));
    }
    if MAX_PIXELS < pixels || MAX_SIDE < width.max(height) {
        return Err(Error::new(
            Kind::TooLarge,
            "the picture is too large",
            format!("{width} × {height} pixels ({} MP)", pixels / 1_000_000),
            format!("up to {} MP, {MAX_SIDE} on a side", MAX_PIXELS / 1_000_000),
            "Cut the picture to strip and reference wedge, or scan at a lower resolution.",
        ));
    }
    if file_bytes.saturating_mul(packing) < pixels * pixel_bytes {
        return Err(Error::new(
            Kind::TooLarge,
            "the file is far too small for the picture it claims to hold",
            format!("{width} × {height} pixels in {file_bytes} bytes"),
            "a file that can hold its pixels",
            "The file is damaged or made to do harm: scan again.",
        ));
    }
    Ok(())
}

/// Which byte of two comes first.
#[derive(Debug, Clone, Copy)]
enum Order {
    Little,
    Big,
}

impl Order {
    const NATIVE: Self = if cfg!(target_endian = "big") {
        Self::Big
    } else {
        Self::Little
    };
}

/// Sixteen-bit values from bytes.
fn sixteen(bytes: &[u8], into: &mut Vec<u16>, order: Order) {
    into.clear();
    let pairs = bytes.chunks_exact(2);
    match order {
        Order::Little => into.extend(pairs.map(|b| u16::from_le_bytes([b[0], b[1]]))),
        Order::Big => into.extend(pairs.map(|b| u16::from_be_bytes([b[0], b[1]]))),
    }
}

/// Drops what follows the first `keep` of every `of` values (alpha).
fn thin<T: Copy>(row: &mut Vec<T>, of: usize, keep: usize) {
    if keep < of {
        let pixels = row.len() / of;
        for i in 0..pixels {
            for k in 0..keep {
                row[i * keep + k] = row[i * of + k];
            }
        }
        row.truncate(pixels * keep);
    }
}
