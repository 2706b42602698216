//! JPEG, grey or colour, decoded as a whole: its coding does not allow less when it is progressive.

use std::io::{BufRead, Cursor};
use std::ops::Range;

use spoolwright_core::wedge::scan::{Samples, Shape, Source};
use spoolwright_core::{Error, Kind};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::{check_size, damaged, refused, unreadable};

/// Most pixels that one coded byte can stand for: a run of empty blocks in a progressive scan is shorter still, but
/// no scan of film is so even.
const PACKING: u64 = 2000;
/// Most bytes of a file, which is read as a whole before its header is: three for each pixel of the largest picture.
const MAX_FILE: u64 = 3 * super::MAX_PIXELS;

pub(super) struct Jpeg {
    decoder: JpegDecoder<Cursor<Vec<u8>>>,
    shape: Shape,
}

impl Jpeg {
    pub(super) fn open(mut reader: impl BufRead, file_bytes: u64) -> Result<Self, Error> {
        if MAX_FILE < file_bytes {
            return Err(Error::new(
                Kind::TooLarge,
                "the JPEG's file is too large",
                format!("{} MB", file_bytes / 1_000_000),
                format!("up to {} MB", MAX_FILE / 1_000_000),
                "Cut the picture to strip and reference wedge, or save it as a TIFF.",
            ));
        }
        let mut bytes = Vec::with_capacity(file_bytes as usize);
        reader.read_to_end(&mut bytes).map_err(unreadable)?;
        let options = DecoderOptions::default()
            .set_strict_mode(true)
            .set_max_width(super::MAX_SIDE as usize)
            .set_max_height(super::MAX_SIDE as usize);
        let mut decoder = JpegDecoder::new_with_options(Cursor::new(bytes), options);
        decoder
            .decode_headers()
            .map_err(|e| damaged("JPEG", format!("{e:?}")))?;
        let info = decoder.info().ok_or_else(|| damaged("JPEG", "no header"))?;
        let (width, height) = (u32::from(info.width), u32::from(info.height));
        let (channels, colours) = match decoder.input_colorspace() {
            Some(ColorSpace::Luma) => (1, ColorSpace::Luma),
            Some(ColorSpace::YCbCr | ColorSpace::RGB) => (3, ColorSpace::RGB),
            other => {
                return Err(refused(
                    "the JPEG's colours are not read",
                    &format!("{other:?}"),
                ));
            }
        };
        check_size((width, height), 1, file_bytes, PACKING)?;
        decoder.set_options(options.jpeg_set_out_colorspace(colours));
        Ok(Self {
            decoder,
            shape: Shape {
                width,
                height,
                channels,
                sixteen: false,
                lossy: true,
            },
        })
    }
}

impl Source for Jpeg {
    fn shape(&self) -> Shape {
        self.shape
    }

    fn rows(
        &mut self,
        rows: Range<u32>,
        take: &mut dyn FnMut(u32, Samples<'_>),
    ) -> Result<(), Error> {
        let pixels = self
            .decoder
            .decode()
            .map_err(|e| damaged("JPEG", format!("{e:?}")))?;
        let length = self.shape.width as usize * usize::from(self.shape.channels);
        if pixels.len() != length * self.shape.height as usize {
            return Err(damaged("JPEG", "the file ends before its pixels"));
        }
        for (y, row) in pixels.chunks_exact(length).enumerate() {
            if rows.contains(&(y as u32)) {
                take(y as u32, Samples::Eight(row));
            }
        }
        Ok(())
    }
}
