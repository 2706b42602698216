//! The label for a can of bulk film: what is in it, how it was opened, and lines for weighings.

use spoolwright_core::Error;

use crate::drawing::{Anchor, Document, Face, Ink, Pen, Rect};
use crate::face::{cap_height_em, width_em};
use crate::fit::{self, pt};
use crate::input::{self, LONGEST_LABEL, LONGEST_TEXT};
use crate::qr::Qr;
use crate::sheet::{self, Grid, Paper};

/// What a can's label says. Lengths, weights and dates arrive as text with their units.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CanLabel {
    /// Letters of the can, such as `HM`.
    pub letters: String,
    /// Name of the stock.
    pub stock: String,
    /// Length when new, such as `30.5 m (100 ft)`.
    pub length: String,
    /// Perforation pitch, base or process, if worth saying.
    pub details: String,
    /// Day it was opened; empty leaves a line to write it on.
    pub opened: String,
    /// Loader it lives in; empty when in its can.
    pub loader: String,
    /// Weight of empty can, bag and core; empty when not known.
    pub tare: String,
    /// Best before.
    pub expires: String,
    /// Cautions, most important first; [`DARKNESS`] when empty.
    pub cautions: Vec<String>,
    /// Address for the QR code.
    pub url: Option<String>,
}

/// The caution that every can needs.
pub const DARKNESS: &str =
    "Open only in total darkness: no safelight, no lit screen, no glowing watch.";

const WIDTH: f64 = 92.0;
const HEIGHT: f64 = 60.0;
const MOST_CAUTIONS: usize = 6;

/// Sheets of can labels, 92 × 60 mm, from place `start_at` (0 is the top left one) on.
///
/// # Errors
/// No labels, more than 2000, texts that are too long, or an address too long for the QR code.
pub fn can_labels(cans: &[CanLabel], paper: Paper, start_at: usize) -> Result<Document, Error> {
    input::count("can labels", cans.len())?;
    let cans = cans.iter().map(checked).collect::<Result<Vec<_>, _>>()?;
    let grid = Grid {
        gap_x: 4.0,
        gap_y: 4.0,
        ..Grid::tight(WIDTH, HEIGHT)
    };
    sheet::fill(
        "Can labels",
        paper,
        grid,
        start_at,
        &cans,
        |c| &c.letters,
        draw,
    )
}

fn checked(can: &CanLabel) -> Result<CanLabel, Error> {
    let letters = input::text("can letters", &can.letters, LONGEST_LABEL)?;
    if letters.is_empty() {
        return Err(Error::missing(
            "can letters",
            format!("1 to {LONGEST_LABEL} characters"),
            "Give the can letters, such as HM.",
        ));
    }
    let text = |field: &str, value: &str| input::text(field, value, LONGEST_TEXT);
    let mut cautions = can
        .cautions
        .iter()
        .take(MOST_CAUTIONS)
        .map(|c| text("caution", c))
        .collect::<Result<Vec<_>, _>>()?;
    cautions.retain(|c| !c.is_empty());
    if cautions.is_empty() {
        cautions.push(DARKNESS.to_owned());
    }
    Ok(CanLabel {
        letters,
        stock: text("stock", &can.stock)?,
        length: text("length", &can.length)?,
        details: text("details", &can.details)?,
        opened: text("opened", &can.opened)?,
        loader: text("loader", &can.loader)?,
        tare: text("empty weight", &can.tare)?,
        expires: text("expiry", &can.expires)?,
        cautions,
        url: input::address(can.url.as_deref())?.map(str::to_owned),
    })
}

fn draw(pen: &mut Pen<'_>, can: &CanLabel) -> Result<(), Error> {
    let pad = 3.5;
    let side = 24.0;
    let right = WIDTH - 1.5;
    let column = 44.0;
    // Letters and stock, the code at the right.
    let inner = if let Some(url) = &can.url {
        pen.qr(&Qr::new(url, side)?, (right - side, 1.5), side);
        right - side - 2.0 - pad
    } else {
        WIDTH - 2.0 * pad
    };
    let cap = cap_height_em(Face::MonoBold);
    let (letters, size) = fit::line(&can.letters, Face::MonoBold, 12.0 / cap, pt(8.0), inner);
    pen.text(
        (pad, pad + 12.0),
        Anchor::Start,
        &letters,
        Face::MonoBold,
        size,
        Ink::Black,
    );
    let stock = fit::block(&can.stock, Face::Bold, pt(13.0), pt(8.0), inner, 2);
    let mut y = pad + 12.0 + 2.8;
    for line in &stock.lines {
        y += cap_height_em(Face::Bold) * stock.size;
        pen.text(
            (pad, y),
            Anchor::Start,
            line,
            Face::Bold,
            stock.size,
            Ink::Black,
        );
        y += stock.size * 0.5;
    }
    // Facts at the left.
    let facts = [
        ("new", &can.length),
        ("film", &can.details),
        ("opened", &can.opened),
        ("use by", &can.expires),
        ("loader", &can.loader),
        ("empty can + core", &can.tare),
    ];
    let top = 28.6;
    pen.line(
        &[(pad, top - 2.6), (WIDTH - pad, top - 2.6)],
        sheet::thin(Ink::Black),
    );
    let mut y = top;
    for (name, value) in facts {
        let blank = value.is_empty();
        if blank && !matches!(name, "opened" | "empty can + core") {
            continue;
        }
        let size = pt(7.5);
        let base = y + cap_height_em(Face::Mono) * pt(8.5);
        pen.text(
            (pad, base),
            Anchor::Start,
            name,
            Face::Text,
            size,
            Ink::Soft,
        );
        let x = pad + if name.len() > 8 { 22.0 } else { 11.0 };
        let room = pad + column - x;
        if blank {
            pen.line(
                &[(x, base + 0.4), (pad + column, base + 0.4)],
                sheet::thin(Ink::Pale),
            );
        } else {
            // What would get tiny in wide letters is set in the narrower ones.
            let wide = width_em(value, Face::Mono) * pt(7.0) > room;
            let face = if wide { Face::Text } else { Face::Mono };
            let (value, size) = fit::line(value, face, pt(8.5), pt(5.5), room);
            pen.text((x, base), Anchor::Start, &value, face, size, Ink::Black);
        }
        y += 3.75;
    }
    // Lines for weighings at the right.
    let left = pad + column + 4.0;
    let weight = left + 18.0;
    let base = top + cap_height_em(Face::Mono) * pt(8.5);
    pen.text(
        (left, base),
        Anchor::Start,
        "weighed closed, on",
        Face::Text,
        pt(7.5),
        Ink::Soft,
    );
    pen.text(
        (WIDTH - pad, base),
        Anchor::End,
        "g",
        Face::Mono,
        pt(7.5),
        Ink::Soft,
    );
    for i in 1..=3 {
        let y = base + 0.6 + f64::from(i) * 5.0;
        let lines = vec![
            [(left, y), (weight - 1.5, y)],
            [(weight, y), (WIDTH - pad, y)],
        ];
        pen.lines(lines, sheet::thin(Ink::Pale));
    }
    caution(pen, can, pad);
    Ok(())
}

/// The cautions on a band at the foot, white on black.
fn caution(pen: &mut Pen<'_>, can: &CanLabel, pad: f64) {
    let band = Rect::new(0.0, HEIGHT - 8.4, WIDTH, 8.4);
    pen.fill(band, Ink::Black);
    let text = can.cautions.join(" ");
    let fitted = fit::block(&text, Face::Bold, pt(8.5), pt(6.0), WIDTH - 2.0 * pad, 2);
    let cap = cap_height_em(Face::Bold) * fitted.size;
    let top = band.y + (band.h - fitted.height(Face::Bold)) / 2.0;
    for (i, line) in fitted.lines.iter().enumerate() {
        let y = top + cap + fitted.pitch() * i as f64;
        pen.text(
            (pad, y),
            Anchor::Start,
            line,
            Face::Bold,
            fitted.size,
            Ink::Paper,
        );
    }
}
