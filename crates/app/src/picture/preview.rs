//! A small 8-bit copy of a picture for the eye and for dragging corners; no density is read from it.

use std::io::{Read, Seek};

use png::{BitDepth, ColorType, Encoder};
use spoolwright_core::wedge::scan::{Samples, Source};
use spoolwright_core::{Error, Kind};

use super::{Facts, open};

/// Longest side that a preview may be asked for.
pub const MAX_PREVIEW_SIDE: u32 = 4096;
/// Pictures darker than this on average are brightened: linear scans look black otherwise.
const DARK: f64 = 0.2;
/// By this power.
const BRIGHTER: f64 = 1.0 / 2.2;

/// A small copy of a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preview {
    /// A PNG file.
    pub png: Vec<u8>,
    /// Its pixels across.
    pub width: u32,
    /// Its pixels down.
    pub height: u32,
    /// The picture it was made from.
    pub of: Facts,
}

/// A copy whose longer side has `longest` pixels at most; each of its pixels is the mean of a block.
///
/// # Errors
/// [`open`]'s; [`Kind::OutOfRange`] for `longest`.
pub fn preview(reader: impl Read + Seek, longest: u32) -> Result<Preview, Error> {
    if !(16..=MAX_PREVIEW_SIDE).contains(&longest) {
        return Err(Error::new(
            Kind::OutOfRange,
            "the preview's longest side",
            longest,
            format!("16 to {MAX_PREVIEW_SIDE} pixels"),
            "Ask for a preview of that size.",
        ));
    }
    let mut picture = open(reader)?;
    let of = picture.facts();
    let shape = of.shape;
    let (full_width, channels) = (shape.width as usize, usize::from(shape.channels));
    let block = shape.width.max(shape.height).div_ceil(longest).max(1) as usize;
    let width = full_width.div_ceil(block);
    let height = (shape.height as usize).div_ceil(block);
    let full = if shape.sixteen { 65535.0 } else { 255.0 };

    let mut levels: Vec<u16> = Vec::with_capacity(width * height * channels);
    let mut sums = vec![0u64; width * channels];
    let last = shape.height - 1;
    picture.rows(0..shape.height, &mut |y, row| {
        let mut add = |x: usize, value: u64| {
            sums[x / channels / block * channels + x % channels] += value;
        };
        match row {
            Samples::Eight(row) => row
                .iter()
                .enumerate()
                .for_each(|(x, v)| add(x, u64::from(*v))),
            Samples::Sixteen(row) => row
                .iter()
                .enumerate()
                .for_each(|(x, v)| add(x, u64::from(*v))),
        }
        let rows = y as usize % block + 1;
        if rows == block || y == last {
            for (i, sum) in sums.iter_mut().enumerate() {
                let columns = block.min(full_width - i / channels * block);
                let mean = *sum as f64 / (rows * columns) as f64 / full;
                levels.push((mean * 65535.0).round() as u16);
                *sum = 0;
            }
        }
    })?;
    let mean = levels.iter().map(|v| f64::from(*v)).sum::<f64>() / levels.len() as f64 / 65535.0;
    let power = if mean < DARK { BRIGHTER } else { 1.0 };
    let table: Vec<u8> = (0..=65535u32)
        .map(|v| ((f64::from(v) / 65535.0).powf(power) * 255.0).round() as u8)
        .collect();
    let pixels: Vec<u8> = levels.iter().map(|v| table[usize::from(*v)]).collect();
    Ok(Preview {
        png: encode(&pixels, (width as u32, height as u32), channels)?,
        width: width as u32,
        height: height as u32,
        of,
    })
}

fn encode(pixels: &[u8], (width, height): (u32, u32), channels: usize) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, width, height);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_color(if channels == 1 {
        ColorType::Grayscale
    } else {
        ColorType::Rgb
    });
    let written = encoder.write_header().and_then(|mut writer| {
        writer
            .write_image_data(pixels)
            .and_then(|()| writer.finish())
    });
    written.map_err(|e| {
        Error::new(
            Kind::Impossible,
            "the preview cannot be written",
            e,
            "a picture that fits",
            "If the picture is good, this is a fault of the program.",
        )
    })?;
    Ok(bytes)
}
