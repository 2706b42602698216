//! How one cassette label is laid out: four plans, chosen by the label's size.

use spoolwright_core::Error;

use super::{CassetteLabel, LabelSize};
use crate::drawing::{Anchor, Face, Ink, Pen, Rect};
use crate::face::{cap_height_em, ink_em};
use crate::fit::{self, pt};
use crate::input;
use crate::qr::Qr;
use crate::sheet;

/// How a label is laid out, by its shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Plan {
    /// Three bands round a barrel; the middle one faces you.
    Bands,
    /// QR code at the right of everything else.
    Beside,
    /// Roll label across the top, QR code below at the right.
    Below,
    /// Roll label and plates only.
    Small,
}

impl Plan {
    /// The plan for a size.
    pub(super) fn of(size: LabelSize) -> Self {
        let (w, h) = (size.width_mm, size.height_mm);
        if h >= 50.0 && w >= 32.0 && h >= 1.2 * w {
            Self::Bands
        } else if w >= 54.0 && h >= 24.0 {
            Self::Beside
        } else if w >= 34.0 && h >= 26.0 {
            Self::Below
        } else {
            Self::Small
        }
    }

    /// Draws a label of this size.
    pub(super) fn draw(
        self,
        pen: &mut Pen<'_>,
        label: &CassetteLabel,
        size: LabelSize,
    ) -> Result<(), Error> {
        let (w, h) = (size.width_mm, size.height_mm);
        match self {
            Self::Bands => bands(pen, label, w, h),
            Self::Beside => beside(pen, label, w, h),
            Self::Below => below(pen, label, w, h),
            Self::Small => {
                small(pen, label, w, h);
                Ok(())
            }
        }
    }
}

impl CassetteLabel {
    fn frames_text(&self) -> String {
        format!("{} fr", self.frames)
    }
    fn ei_text(&self) -> String {
        self.ei.map_or_else(
            || "EI     ".to_owned(),
            |ei| format!("EI {}", input::number(ei)),
        )
    }
    /// Winding date, can and format: the small print.
    fn small_print(&self) -> String {
        let can = if self.can.is_empty() {
            String::new()
        } else {
            format!("can {}", self.can)
        };
        let format = if self.format.is_empty() {
            String::new()
        } else {
            format!("{} format", self.format)
        };
        let parts = [self.wound_on.clone(), can, format];
        parts
            .into_iter()
            .filter(|p| !p.is_empty())
            .collect::<Vec<_>>()
            .join(" · ")
    }
}

/// The roll label across `area`, as large as the area allows, its ink midway between top and bottom.
fn roll(pen: &mut Pen<'_>, label: &CassetteLabel, area: Rect) {
    let (up, down) = ink_em(&label.roll, Face::MonoBold);
    let tallest = area.h / (up + down).max(cap_height_em(Face::MonoBold));
    let (text, size) = fit::line(
        &label.roll,
        Face::MonoBold,
        tallest,
        tallest.min(pt(5.0)),
        area.w,
    );
    let base = area.y + (area.h + (up - down) * size) / 2.0;
    pen.text(
        (area.x, base),
        Anchor::Start,
        &text,
        Face::MonoBold,
        size,
        Ink::Black,
    );
}

/// EI and frames side by side on plates that fill `area`.
fn plates(pen: &mut Pen<'_>, label: &CassetteLabel, area: Rect) {
    let (ei, frames) = (label.ei_text(), label.frames_text());
    let gap = (area.w * 0.03).min(1.2);
    let (n, m) = (
        ei.chars().count() as f64 + 1.2,
        frames.chars().count() as f64 + 1.2,
    );
    let ei_w = (area.w - gap) * n / (n + m);
    let size = (area.h * 0.62 / cap_height_em(Face::MonoBold))
        .min(fit::line(&ei, Face::MonoBold, 99.0, 0.1, ei_w * (n - 1.2) / n).1)
        .min(
            fit::line(
                &frames,
                Face::MonoBold,
                99.0,
                0.1,
                (area.w - gap - ei_w) * (m - 1.2) / m,
            )
            .1,
        );
    let baseline = area.y + (area.h + cap_height_em(Face::MonoBold) * size) / 2.0;
    let line = (area.h * 0.06).clamp(0.25, 0.45);
    let left = Rect::new(area.x, area.y, ei_w, area.h);
    let right = Rect::new(area.x + ei_w + gap, area.y, area.w - gap - ei_w, area.h);
    pen.frame(left.inset(line / 2.0), Ink::Black, line);
    pen.text(
        (left.x + left.w / 2.0, baseline),
        Anchor::Middle,
        &ei,
        Face::MonoBold,
        size,
        Ink::Black,
    );
    pen.fill(right, Ink::Black);
    pen.text(
        (right.x + right.w / 2.0, baseline),
        Anchor::Middle,
        &frames,
        Face::MonoBold,
        size,
        Ink::Paper,
    );
}

/// Text in lines from the top of `area` down; returns the height used.
fn words(
    pen: &mut Pen<'_>,
    text: &str,
    face: Face,
    sizes: (f64, f64),
    area: Rect,
    most: usize,
) -> f64 {
    if text.is_empty() || area.h <= 0.0 {
        return 0.0;
    }
    // As many lines as are wanted and as the area holds, counted at the smallest size.
    let room = 1.0 + ((area.h - sizes.1) / (1.18 * sizes.1)).max(0.0).floor();
    let fitted = fit::block(
        text,
        face,
        sizes.0,
        sizes.1,
        area.w,
        most.min(room as usize),
    );
    let cap = cap_height_em(face) * fitted.size;
    for (i, line) in fitted.lines.iter().enumerate() {
        let y = area.y + cap + fitted.pitch() * i as f64;
        pen.text(
            (area.x, y),
            Anchor::Start,
            line,
            face,
            fitted.size,
            Ink::Black,
        );
    }
    fitted.height(face)
}

fn bands(pen: &mut Pen<'_>, label: &CassetteLabel, w: f64, h: f64) -> Result<(), Error> {
    let pad = 2.0;
    let inner = w - 2.0 * pad;
    let (first, second) = (h * 0.29, h * 0.71);
    for y in [first, second] {
        pen.line(&[(pad, y), (w - pad, y)], sheet::thin(Ink::Pale));
    }
    // Top: what it is, for when the cassette has turned.
    let again = Rect::new(pad, pad, inner, 3.6);
    roll(pen, label, again);
    let mut y = again.bottom() + 2.0;
    let print = Rect::new(pad, y, inner, 6.0);
    y += words(
        pen,
        &label.small_print(),
        Face::Text,
        (pt(8.0), pt(6.0)),
        print,
        2,
    ) + 1.6;
    let note = Rect::new(pad, y, inner, first - y - 1.2);
    words(pen, &label.note, Face::Italic, (pt(8.0), pt(6.0)), note, 3);
    // Middle: faces you.
    let stock = Rect::new(pad, first + 2.0, inner, 3.2);
    words(pen, &label.stock, Face::Bold, (pt(11.0), pt(7.0)), stock, 1);
    let plates_h = 6.6;
    let plates_y = second - 2.0 - plates_h;
    let top = stock.y + 3.2 + 1.4;
    roll(pen, label, Rect::new(pad, top, inner, plates_y - 1.9 - top));
    plates(pen, label, Rect::new(pad, plates_y, inner, plates_h));
    // Bottom: the code, and the label again.
    let side = (h - second - 1.2).min(w * 0.48);
    if let Some(url) = &label.url {
        pen.qr(&Qr::new(url, side)?, (w - side - 0.6, h - side - 0.6), side);
    }
    let room = if label.url.is_some() {
        w - side - 0.6 - pad
    } else {
        inner
    };
    let again = Rect::new(pad, second + 2.6, room, 3.6);
    roll(pen, label, again);
    let y = again.bottom() + 2.0;
    let rest = Rect::new(pad, y, room, h - pad - y);
    words(
        pen,
        "Keep the slot’s felt and the DX contacts free.",
        Face::Text,
        (pt(6.5), pt(6.0)),
        rest,
        4,
    );
    Ok(())
}

/// Height of a line for the note.
const NOTE: f64 = 3.2;
/// Lowest roll label that reads at arm's length (the test of that name says why).
const LEAST_ROLL: f64 = 3.5;

fn beside(pen: &mut Pen<'_>, label: &CassetteLabel, w: f64, h: f64) -> Result<(), Error> {
    let pad = 2.5;
    let side = if label.url.is_some() {
        (h - 3.0).min(w * 0.34).min(26.0)
    } else {
        0.0
    };
    if let Some(url) = &label.url {
        pen.qr(
            &Qr::new(url, side)?,
            (w - side - 1.0, (h - side) / 2.0),
            side,
        );
    }
    let inner = w - pad - if side > 0.0 { side + 1.0 } else { pad };
    let stock = Rect::new(pad, pad, inner, 4.0);
    words(pen, &label.stock, Face::Bold, (pt(11.0), pt(6.5)), stock, 1);
    let print = Rect::new(pad, h - pad - 2.1, inner, 2.2);
    let plates_h = (h * 0.2).clamp(5.0, 9.0);
    let top = stock.y + 3.0 + 1.4;
    // On a low label a line of its own for the note would squeeze the roll label: it joins the small print.
    let above = |note: f64| print.y - 1.8 - note - plates_h;
    let own_line = !label.note.is_empty() && above(NOTE) - 1.8 - top >= LEAST_ROLL;
    let note = if own_line { NOTE } else { 0.0 };
    let plates_y = above(note);
    let mut small_print = label.small_print();
    if !own_line && !label.note.is_empty() {
        let joint = if small_print.is_empty() { "" } else { " · " };
        small_print = format!("{small_print}{joint}{}", label.note);
    }
    words(pen, &small_print, Face::Text, (pt(8.0), pt(5.5)), print, 1);
    if own_line {
        words(
            pen,
            &label.note,
            Face::Italic,
            (pt(8.0), pt(5.5)),
            Rect::new(pad, print.y - note, inner, 2.2),
            1,
        );
    }
    plates(pen, label, Rect::new(pad, plates_y, inner, plates_h));
    roll(pen, label, Rect::new(pad, top, inner, plates_y - 1.8 - top));
    Ok(())
}

fn below(pen: &mut Pen<'_>, label: &CassetteLabel, w: f64, h: f64) -> Result<(), Error> {
    let pad = 1.8;
    let roll_area = Rect::new(
        pad,
        pad,
        w - 2.0 * pad,
        (h * 0.29).min((w - 2.0 * pad) * 0.24),
    );
    roll(pen, label, roll_area);
    let top = roll_area.bottom() + 1.8;
    let side = if label.url.is_some() {
        (h - top - 0.6).min(w * 0.4)
    } else {
        0.0
    };
    if let Some(url) = &label.url {
        pen.qr(&Qr::new(url, side)?, (w - side - 0.6, h - side - 0.6), side);
    }
    let inner = w - pad - if side > 0.0 { side + 0.6 } else { pad };
    let plates_h = (h * 0.18).clamp(4.2, 7.0);
    plates(pen, label, Rect::new(pad, top, inner, plates_h));
    let mut y = top + plates_h + 1.3;
    let bottom = h - pad;
    y += words(
        pen,
        &label.stock,
        Face::Bold,
        (pt(8.0), pt(6.0)),
        Rect::new(pad, y, inner, bottom - y),
        2,
    ) + 1.2;
    let print = Rect::new(pad, y, inner, bottom - y);
    y += words(
        pen,
        &label.small_print(),
        Face::Text,
        (pt(7.0), pt(5.5)),
        print,
        2,
    ) + 1.2;
    if y + 1.8 < bottom {
        let note = Rect::new(pad, y, inner, bottom - y);
        words(pen, &label.note, Face::Italic, (pt(7.0), pt(5.5)), note, 2);
    }
    Ok(())
}

fn small(pen: &mut Pen<'_>, label: &CassetteLabel, w: f64, h: f64) {
    let pad = 1.3;
    let inner = w - 2.0 * pad;
    let plates_h = (h * 0.32).clamp(3.2, 6.0);
    let extra = (h - 20.0).clamp(0.0, 6.0);
    let plates_area = Rect::new(pad, h - pad - plates_h - extra, inner, plates_h);
    roll(
        pen,
        label,
        Rect::new(pad, pad, inner, plates_area.y - 1.5 - pad),
    );
    plates(pen, label, plates_area);
    if extra > 2.8 {
        let y = plates_area.bottom() + 1.0;
        words(
            pen,
            &label.stock,
            Face::Bold,
            (pt(7.5), pt(5.5)),
            Rect::new(pad, y, inner, h - pad - y),
            1,
        );
    }
}
