//! A QR code for the screen: in characters at the terminal, as SVG on the page. Paper has its own in `print`.

use qrcode::render::unicode::Dense1x2;
use qrcode::{Color, QrCode};

/// Light modules around a code (four, by the symbol's standard).
const QUIET: usize = 4;

/// The code in half blocks, light modules drawn: for light writing on a dark ground. Nothing when the text is too long.
pub(crate) fn in_characters(text: &str) -> Option<String> {
    let code = QrCode::new(text).ok()?;
    let drawn = code
        .render::<Dense1x2>()
        .dark_color(Dense1x2::Light)
        .light_color(Dense1x2::Dark)
        .build();
    Some(drawn)
}

/// The dark modules of a code as one path, and the side of the square it stands in.
pub(crate) fn path(text: &str) -> Option<(String, usize)> {
    let code = QrCode::new(text).ok()?;
    let width = code.width();
    let mut path = String::new();
    for (y, row) in code.to_colors().chunks(width).enumerate() {
        let mut x = 0;
        for bar in row.chunk_by(|a, b| a == b) {
            if bar[0] == Color::Dark {
                let (x, y, w) = (x + QUIET, y + QUIET, bar.len());
                path.push_str(&format!("M{x} {y}h{w}v1h-{w}z"));
            }
            x += bar.len();
        }
    }
    Some((path, width + 2 * QUIET))
}

#[cfg(test)]
mod tests {
    use super::*;

    const ADDRESS: &str = "https://192.168.178.20:7436/pair?code=04871533";

    fn read(side: usize, dark: impl Fn(usize, usize) -> bool) -> String {
        const SCALE: usize = 4;
        let mut image =
            rqrr::PreparedImage::prepare_from_greyscale(side * SCALE, side * SCALE, |x, y| {
                if dark(x / SCALE, y / SCALE) { 0 } else { 255 }
            });
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1, "one code");
        grids[0].decode().expect("it reads").1
    }

    /// Read by a decoder that is not the encoder's.
    #[test]
    fn characters_say_the_address() {
        let text = in_characters(ADDRESS).unwrap();
        let lines: Vec<Vec<char>> = text.lines().map(|l| l.chars().collect()).collect();
        let side = lines[0].len();
        let light = |x: usize, y: usize| match lines[y / 2][x] {
            '█' => true,
            '▀' => y.is_multiple_of(2),
            '▄' => !y.is_multiple_of(2),
            _ => false,
        };
        assert_eq!(read(side, |x, y| !light(x, y)), ADDRESS);
    }

    #[test]
    fn the_path_says_the_address() {
        let (path, side) = path(ADDRESS).unwrap();
        let mut dark = vec![false; side * side];
        for bar in path.split('M').skip(1) {
            let (at, rest) = bar.split_once('h').unwrap();
            let (x, y) = at.split_once(' ').unwrap();
            let (x, y): (usize, usize) = (x.parse().unwrap(), y.parse().unwrap());
            let width: usize = rest.split_once('v').unwrap().0.parse().unwrap();
            dark[y * side + x..y * side + x + width].fill(true);
        }
        assert_eq!(read(side, |x, y| dark[y * side + x]), ADDRESS);
    }
}
