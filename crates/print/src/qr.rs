//! QR codes as bars: neighbouring dark modules of a row become one rectangle.

use qrcode::{Color, EcLevel, QrCode};
use spoolwright_core::{Error, Kind};

use crate::drawing::Rect;

/// Light modules that must surround a code (four, by the symbol's standard).
const QUIET: usize = 4;

/// Smallest module that a phone reads from ordinary paper, in millimetres (common practice, no source).
pub(crate) const SMALLEST_MODULE_MM: f64 = 0.29;

/// A code ready to draw.
pub(crate) struct Qr {
    width: usize,
    dark: Vec<bool>,
}

impl Qr {
    /// The code for `text`, with medium error correction, to be drawn in a square of `side` mm.
    pub(crate) fn new(text: &str, side: f64) -> Result<Self, Error> {
        let too_long = || {
            Error::new(
                Kind::TooLarge,
                "the address in the QR code",
                format!("{} bytes", text.len()),
                format!(
                    "what a code {side} mm wide can hold in modules of {SMALLEST_MODULE_MM} mm"
                ),
                "Use a shorter address or a larger label.",
            )
        };
        let code = QrCode::with_error_correction_level(text, EcLevel::M).map_err(|_| too_long())?;
        let width = code.width();
        let dark = code
            .into_colors()
            .into_iter()
            .map(|c| c == Color::Dark)
            .collect();
        let qr = Self { width, dark };
        if side / qr.modules() < SMALLEST_MODULE_MM {
            Err(too_long())
        } else {
            Ok(qr)
        }
    }

    /// Modules on a side, quiet zone included.
    fn modules(&self) -> f64 {
        (self.width + 2 * QUIET) as f64
    }

    /// The dark bars in a square of `side` mm with its quiet zone.
    pub(crate) fn bars(&self, side: f64) -> Vec<Rect> {
        let module = side / self.modules();
        let mut bars = Vec::new();
        for (y, row) in self.dark.chunks(self.width).enumerate() {
            let mut x = 0;
            for bar in row.chunk_by(|a, b| a == b) {
                if bar[0] {
                    let at = |n: usize| (n + QUIET) as f64 * module;
                    bars.push(Rect::new(at(x), at(y), bar.len() as f64 * module, module));
                }
                x += bar.len();
            }
        }
        bars
    }
}
