//! Words put on a sheet so that they fit: one line, or a block of a few. No layout of its own.

use crate::drawing::{Anchor, Face, Ink, Pen, Point};
use crate::fit::{self, pt};

/// How words are set: typeface, the size wanted and the smallest that still reads, in points.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Style {
    pub(crate) face: Face,
    pub(crate) largest: f64,
    pub(crate) smallest: f64,
}

impl Style {
    pub(crate) const fn new(face: Face, largest: f64, smallest: f64) -> Self {
        Self {
            face,
            largest,
            smallest,
        }
    }
}

/// One line from `at`, its baseline's left end, no wider than `width`.
pub(crate) fn line(pen: &mut Pen<'_>, at: Point, text: &str, style: Style, width: f64) {
    anchored(pen, at, Anchor::Start, text, style, width);
}

/// One line that begins at, centres on, or ends at `at`.
pub(crate) fn anchored(
    pen: &mut Pen<'_>,
    at: Point,
    anchor: Anchor,
    text: &str,
    style: Style,
    width: f64,
) {
    let (largest, smallest) = (pt(style.largest), pt(style.smallest));
    let (text, size) = fit::line(text, style.face, largest, smallest, width);
    pen.text(at, anchor, &text, style.face, size, Ink::Black);
}

/// At most `most` lines, the first on the baseline `at`; gives the last one's baseline.
pub(crate) fn block(
    pen: &mut Pen<'_>,
    at: Point,
    text: &str,
    style: Style,
    width: f64,
    most: usize,
) -> f64 {
    let fitted = fitted(text, style, width, most);
    let mut y = at.1;
    for (i, line) in fitted.lines.iter().enumerate() {
        y += if i == 0 { 0.0 } else { fitted.pitch() };
        pen.text(
            (at.0, y),
            Anchor::Start,
            line,
            style.face,
            fitted.size,
            Ink::Black,
        );
    }
    y
}

/// The same, measured and not yet drawn.
pub(crate) fn fitted(text: &str, style: Style, width: f64, most: usize) -> fit::Fitted {
    let (largest, smallest) = (pt(style.largest), pt(style.smallest));
    fit::block(text, style.face, largest, smallest, width, most)
}
