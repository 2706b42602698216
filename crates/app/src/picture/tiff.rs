//! TIFF: strips or tiles, plain, LZW, deflate or PackBits, channels together or apart; the first picture of a file.
//!
//! Plain strips are read row by row straight from the file; anything else strip by strip or one row of tiles at a time.
//! White-is-zero is turned round by the decoder, so that larger is lighter. Floating point and palettes are not read.

use std::io::{Read, Seek, SeekFrom};
use std::ops::Range;

use spoolwright_core::Error;
use spoolwright_core::wedge::scan::{Samples, Shape, Source};
use tiff::ColorType;
use tiff::decoder::{ChunkType, Decoder, Limits};
use tiff::tags::{ByteOrder, Tag};

use super::{Order, check_size, damaged, refused, sixteen, thin};

/// Most decoded bytes of one strip: all of the largest picture, for files that are one strip.
const MAX_STRIP: u64 = super::MAX_PIXELS * 8;
/// Most decoded bytes that one coded byte can stand for; LZW packs tightest.
const PACKING: u64 = 4096;
/// The tag's value for no compression.
const PLAIN: u16 = 1;
/// The tag's value for the usual order.
const HIGH_BIT_FIRST: u16 = 1;
/// The tag's value for unsigned whole numbers.
const UNSIGNED: u16 = 1;

pub(super) struct Tiff<R: Read + Seek> {
    decoder: Decoder<R>,
    shape: Shape,
    /// Values a pixel has in the file, alpha included.
    values: usize,
    /// Each channel in strips of its own.
    apart: bool,
    /// Where plain strips begin, if they can be read row by row.
    plain: Option<Vec<u64>>,
}

fn fault(error: tiff::TiffError) -> Error {
    damaged("TIFF", error)
}

impl<R: Read + Seek> Tiff<R> {
    pub(super) fn open(reader: R, file_bytes: u64) -> Result<Self, Error> {
        let mut limits = Limits::default();
        limits.decoding_buffer_size = MAX_STRIP as usize;
        limits.intermediate_buffer_size = MAX_STRIP as usize;
        let mut decoder = Decoder::new(reader).map_err(fault)?.with_limits(limits);
        let (width, height) = decoder.dimensions().map_err(fault)?;
        let colour = decoder.colortype().map_err(fault)?;
        let (values, channels) = match colour {
            ColorType::Gray(_) => (1, 1),
            // Grey with alpha is called so.
            ColorType::GrayA(_) | ColorType::Multiband { num_samples: 2, .. } => (2, 1),
            ColorType::RGB(_) => (3, 3),
            ColorType::RGBA(_) => (4, 3),
            other => {
                return Err(refused(
                    "the TIFF's kind of pixel is not read",
                    &format!("{other:?}"),
                ));
            }
        };
        let bits = colour.bit_depth();
        if bits != 8 && bits != 16 {
            return Err(refused(
                "the TIFF's bits a value are not read",
                &bits.to_string(),
            ));
        }
        let formats = decoder
            .find_tag_unsigned_vec::<u16>(Tag::SampleFormat)
            .map_err(fault)?;
        if formats.is_some_and(|f| f.iter().any(|f| *f != UNSIGNED)) {
            return Err(refused(
                "the TIFF's kind of number is not read",
                "signed or floating-point values",
            ));
        }
        let samples = decoder.find_tag_unsigned::<u16>(Tag::SamplesPerPixel);
        let samples = usize::from(samples.map_err(fault)?.unwrap_or(1));
        if samples != values {
            return Err(refused(
                "the TIFF's kind of pixel is not read",
                &format!("{samples} values a pixel, where {values} are colour and alpha"),
            ));
        }
        let fill_order = decoder
            .find_tag_unsigned::<u16>(Tag::FillOrder)
            .map_err(fault)?;
        if fill_order.is_some_and(|order| order != HIGH_BIT_FIRST) {
            return Err(refused(
                "the TIFF's order of bits is not read",
                "the lowest bit first (FillOrder 2)",
            ));
        }
        let pixel_bytes = u64::from(bits / 8) * values as u64;
        check_size((width, height), pixel_bytes, file_bytes, PACKING)?;
        let apart = decoder
            .find_tag_unsigned::<u16>(Tag::PlanarConfiguration)
            .map_err(fault)?
            .is_some_and(|planar| planar == 2);
        let mut picture = Self {
            decoder,
            shape: Shape {
                width,
                height,
                channels,
                sixteen: bits == 16,
                lossy: false,
            },
            values,
            apart: apart && 1 < values,
            plain: None,
        };
        picture.check_parts(file_bytes)?;
        Ok(picture)
    }

    /// That all strips or tiles lie inside the file and can hold what they must.
    fn check_parts(&mut self, file_bytes: u64) -> Result<(), Error> {
        let strips = self.decoder.get_chunk_type() == ChunkType::Strip;
        let tags = if strips {
            (Tag::StripOffsets, Tag::StripByteCounts)
        } else {
            (Tag::TileOffsets, Tag::TileByteCounts)
        };
        let starts = self.decoder.get_tag_u64_vec(tags.0).map_err(fault)?;
        let lengths = self.decoder.get_tag_u64_vec(tags.1).map_err(fault)?;
        let (across, down) = self.parts();
        let planes = if self.apart { self.values as u64 } else { 1 };
        let wanted = u64::from(across) * u64::from(down) * planes;
        if (starts.len() as u64) < wanted || lengths.len() < starts.len() {
            return Err(damaged("TIFF", "fewer strips or tiles than its size needs"));
        }
        let (part_width, part_height) = self.decoder.chunk_dimensions();
        let part_height = part_height.min(self.shape.height);
        let bytes = if self.shape.sixteen { 2 } else { 1 };
        let values = if self.apart { 1 } else { self.values as u64 };
        let row = u64::from(part_width) * values * bytes;
        let decoded = row.saturating_mul(u64::from(part_height));
        if MAX_STRIP < decoded {
            return Err(damaged("TIFF", "a strip or tile larger than any picture"));
        }
        for (i, (start, length)) in starts.iter().zip(&lengths).enumerate() {
            if start
                .checked_add(*length)
                .is_none_or(|end| file_bytes < end)
            {
                return Err(damaged("TIFF", "the file ends before its pixels"));
            }
            // The last strip may be shorter.
            let last = (i as u64 + 1).is_multiple_of(u64::from(across) * u64::from(down));
            if !last && length.saturating_mul(PACKING) < decoded {
                return Err(damaged("TIFF", "a strip or tile too short for its pixels"));
            }
        }
        let compression = self.decoder.find_tag_unsigned::<u16>(Tag::Compression);
        let compression = compression.map_err(fault)?.unwrap_or(PLAIN);
        let white_is_zero = self
            .decoder
            .find_tag_unsigned::<u16>(Tag::PhotometricInterpretation)
            .map_err(fault)?
            == Some(0);
        if strips && compression == PLAIN && !self.apart && !white_is_zero {
            let rows = |i: usize| {
                let above = u64::from(part_height) * i as u64;
                u64::from(part_height).min(u64::from(self.shape.height).saturating_sub(above))
            };
            if lengths
                .iter()
                .enumerate()
                .any(|(i, length)| *length < rows(i) * row)
            {
                return Err(damaged("TIFF", "a strip too short for its pixels"));
            }
            self.plain = Some(starts);
        }
        Ok(())
    }

    /// Strips or tiles across and down.
    fn parts(&self) -> (u32, u32) {
        let (width, height) = self.decoder.chunk_dimensions();
        (
            self.shape.width.div_ceil(width.max(1)),
            self.shape.height.div_ceil(height.max(1)),
        )
    }

    /// Hands on rows of plain strips, each read by itself.
    fn plain_rows(
        &mut self,
        starts: &[u64],
        rows: Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error> {
        let bytes = if self.shape.sixteen { 2 } else { 1 };
        let length = self.shape.width as usize * self.values * bytes;
        let strip_rows = self.decoder.chunk_dimensions().1.max(1);
        let order = match self.decoder.byte_order() {
            ByteOrder::LittleEndian => Order::Little,
            ByteOrder::BigEndian => Order::Big,
        };
        let (mut bytes, mut row) = (vec![0; length], Row::default());
        let reader = self.decoder.inner();
        let mut at = None;
        for y in rows {
            let within = u64::from(y % strip_rows) * length as u64;
            let start = starts[(y / strip_rows) as usize].saturating_add(within);
            if at != Some(start) {
                reader
                    .seek(SeekFrom::Start(start))
                    .map_err(|e| damaged("TIFF", e))?;
            }
            reader
                .read_exact(&mut bytes)
                .map_err(|e| damaged("TIFF", e))?;
            at = Some(start + length as u64);
            row.clear();
            row.add(&bytes, order, self.shape.sixteen);
            row.hand_on(y, &self.shape, self.values, take);
        }
        Ok(())
    }

    /// Hands on rows, a band of strips or tiles at a time.
    fn coded_rows(
        &mut self,
        rows: Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error> {
        let (across, down) = self.parts();
        let band_rows = self.decoder.chunk_dimensions().1.max(1);
        let planes = if self.apart { self.values as u32 } else { 1 };
        let value_bytes = if self.shape.sixteen { 2 } else { 1 };
        let pixel_bytes = value_bytes * if self.apart { 1 } else { self.values };
        let mut parts: Vec<Vec<u8>> = vec![Vec::new(); (planes * across) as usize];
        let mut row = Row::default();
        for band in rows.start / band_rows..rows.end.div_ceil(band_rows) {
            for (i, part) in parts.iter_mut().enumerate() {
                let (plane, column) = (i as u32 / across, i as u32 % across);
                let number = plane * across * down + band * across + column;
                let layout = self
                    .decoder
                    .image_chunk_buffer_layout(number)
                    .map_err(fault)?;
                part.resize(layout.len, 0);
                self.decoder.read_chunk_bytes(number, part).map_err(fault)?;
            }
            let top = band * band_rows;
            let bottom = (top + band_rows).min(self.shape.height);
            for y in top.max(rows.start)..bottom.min(rows.end) {
                row.clear();
                let line = |part: &[u8], column: u32| -> Range<usize> {
                    let width = self.decoder.chunk_data_dimensions(band * across + column).0;
                    let length = width as usize * pixel_bytes;
                    let from = (y - top) as usize * length;
                    from.min(part.len())..(from + length).min(part.len())
                };
                for column in 0..across {
                    let part = |plane: u32| &parts[(plane * across + column) as usize];
                    let range = line(part(0), column);
                    if planes == 1 {
                        row.add(&part(0)[range], Order::NATIVE, self.shape.sixteen);
                        continue;
                    }
                    for at in range.step_by(value_bytes) {
                        for plane in 0..planes {
                            let value = &part(plane)[at..at + value_bytes];
                            row.add(value, Order::NATIVE, self.shape.sixteen);
                        }
                    }
                }
                row.hand_on(y, &self.shape, self.values, take);
            }
        }
        Ok(())
    }
}

/// One row, of either depth.
#[derive(Default)]
struct Row {
    eight: Vec<u8>,
    sixteen: Vec<u16>,
    scratch: Vec<u16>,
}

impl Row {
    fn clear(&mut self) {
        self.eight.clear();
        self.sixteen.clear();
    }

    fn add(&mut self, bytes: &[u8], order: Order, is_sixteen: bool) {
        if is_sixteen && self.sixteen.is_empty() {
            sixteen(bytes, &mut self.sixteen, order);
        } else if is_sixteen {
            sixteen(bytes, &mut self.scratch, order);
            self.sixteen.extend_from_slice(&self.scratch);
        } else {
            self.eight.extend_from_slice(bytes);
        }
    }

    fn hand_on(
        &mut self,
        y: u32,
        shape: &Shape,
        values: usize,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) {
        let keep = usize::from(shape.channels);
        if shape.sixteen {
            thin(&mut self.sixteen, values, keep);
            take(y, Samples::Sixteen(&self.sixteen));
        } else {
            thin(&mut self.eight, values, keep);
            take(y, Samples::Eight(&self.eight));
        }
    }
}

impl<R: Read + Seek> Source for Tiff<R> {
    fn shape(&self) -> Shape {
        self.shape
    }

    fn rows(
        &mut self,
        rows: Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error> {
        match self.plain.take() {
            Some(starts) => self.plain_rows(&starts, rows, take),
            None => self.coded_rows(rows, take),
        }
    }
}
