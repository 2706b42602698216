//! PNG: grey or colour of 8 or 16 bits, row by row; an interlaced one as a whole.

use std::io::{BufRead, Seek};
use std::ops::Range;

use png::{BitDepth, ColorType, Decoder, Limits, Reader};
use spoolwright_core::Error;
use spoolwright_core::wedge::scan::{Samples, Shape, Source};

use super::{Order, check_size, damaged, refused, sixteen, thin};

/// Most bytes that the decoder may take for what is not pixels.
const ASIDE: usize = 16 << 20;
/// Most decoded bytes that one coded byte can stand for: deflate's limit of 1032, rounded up.
const PACKING: u64 = 1040;

pub(super) struct Png<R: BufRead + Seek> {
    reader: Reader<R>,
    shape: Shape,
    values: usize,
}

fn fault(error: png::DecodingError) -> Error {
    damaged("PNG", error)
}

impl<R: BufRead + Seek> Png<R> {
    pub(super) fn open(reader: R, file_bytes: u64) -> Result<Self, Error> {
        let mut decoder = Decoder::new_with_limits(reader, Limits { bytes: ASIDE });
        decoder.set_ignore_text_chunk(true);
        decoder.set_ignore_iccp_chunk(true);
        let info = decoder.read_header_info().map_err(fault)?;
        let (width, height) = info.size();
        let (colour, depth) = (info.color_type, info.bit_depth);
        let (values, channels) = match colour {
            ColorType::Grayscale => (1, 1),
            ColorType::GrayscaleAlpha => (2, 1),
            ColorType::Rgb => (3, 3),
            ColorType::Rgba => (4, 3),
            ColorType::Indexed => {
                return Err(refused("the PNG's kind of pixel is not read", "a palette"));
            }
        };
        let is_sixteen = match depth {
            BitDepth::Eight => false,
            BitDepth::Sixteen => true,
            other => {
                return Err(refused(
                    "the PNG's bits a value are not read",
                    &(other as u8).to_string(),
                ));
            }
        };
        let pixel_bytes = if is_sixteen { 2 } else { 1 } * values as u64;
        check_size((width, height), pixel_bytes, file_bytes, PACKING)?;
        Ok(Self {
            reader: decoder.read_info().map_err(fault)?,
            shape: Shape {
                width,
                height,
                channels,
                sixteen: is_sixteen,
                lossy: false,
            },
            values,
        })
    }
}

impl<R: BufRead + Seek> Source for Png<R> {
    fn shape(&self) -> Shape {
        self.shape
    }

    fn rows(
        &mut self,
        rows: Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error> {
        let (shape, values) = (self.shape, self.values);
        let keep = usize::from(shape.channels);
        let (mut eight, mut wide) = (Vec::new(), Vec::new());
        let mut hand_on = |y: u32, bytes: &[u8]| {
            if shape.sixteen {
                sixteen(bytes, &mut wide, Order::Big);
                thin(&mut wide, values, keep);
                take(y, Samples::Sixteen(&wide));
            } else if values == keep {
                take(y, Samples::Eight(bytes));
            } else {
                eight.clear();
                eight.extend_from_slice(bytes);
                thin(&mut eight, values, keep);
                take(y, Samples::Eight(&eight));
            }
        };
        let length = shape.width as usize * values * if shape.sixteen { 2 } else { 1 };
        if self.reader.info().interlaced {
            let mut whole = vec![0; length * shape.height as usize];
            self.reader.next_frame(&mut whole).map_err(fault)?;
            for (y, row) in whole.chunks_exact(length).enumerate() {
                if rows.contains(&(y as u32)) {
                    hand_on(y as u32, row);
                }
            }
            return Ok(());
        }
        for y in 0..rows.end {
            let row = self.reader.next_row().map_err(fault)?;
            let row = row.ok_or_else(|| damaged("PNG", "the file ends before its pixels"))?;
            if rows.contains(&y) {
                hand_on(y, row.data());
            }
        }
        Ok(())
    }
}
