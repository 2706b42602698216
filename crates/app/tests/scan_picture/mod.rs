//! A small scan drawn here: base + fog and nine steps above, a wedge of twelve steps of 0.15 from 0.05 below.

/// Stops from the meter reading.
pub(crate) const STEPS: [i32; 9] = [-6, -5, -4, -3, -2, -1, 0, 1, 2];
/// Corners of the strip, the same from its wrong end, corners of the wedge.
pub(crate) const STRIP: &str = "10 20 610 20 610 80 10 80";
pub(crate) const TURNED: &str = "610 20 10 20 10 80 610 80";
pub(crate) const WEDGE: &str = "10 110 610 110 610 170 10 170";

/// Density of a step, of base + fog before the first.
pub(crate) fn density(patch: usize) -> f64 {
    0.20 + 0.11 * patch as f64
}

/// A 16-bit grey PNG whose values are light; `uneven` draws three wedge steps half and half.
pub(crate) fn png(uneven: bool) -> Vec<u8> {
    let (width, height) = (620_u32, 190_u32);
    let mut values = Vec::new();
    for y in 0..height {
        for x in 0..width {
            let step = (x.saturating_sub(10) / 50) as usize;
            let d = match (x, y) {
                (10..610, 20..80) => density((x - 10) as usize / 60),
                (10..610, 110..170) if uneven && (4..=5).contains(&step) && y < 140 => {
                    0.05 + 0.15 * (step + 1) as f64
                }
                (10..610, 110..170) => 0.05 + 0.15 * step as f64,
                _ => 0.0,
            };
            // Even noise of a few units, so that no patch is suspiciously flat.
            let noise = f64::from((x * 7 + y * 13) % 11) - 5.0;
            let level = 60_000.0 * 10_f64.powf(-d) + noise;
            values.extend((level.round() as u16).to_be_bytes());
        }
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Sixteen);
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&values).expect("rows");
    writer.finish().expect("an end");
    bytes
}
