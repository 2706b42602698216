//! Above and below the steps: name, rolls by reel, what to pour, developing times at other temperatures, cautions.

use spoolwright_core::Error;

use super::RunSheet;
use crate::drawing::{Anchor, Face, Ink, Pen, Rect};
use crate::put::{self, Style};
use crate::qr::Qr;
use crate::sheet;

const KIND: Style = Style::new(Face::MonoBold, 8.0, 8.0);
const NAME: Style = Style::new(Face::Bold, 20.0, 9.0);
const FACT: Style = Style::new(Face::Text, 10.0, 6.0);
/// Most lines of a fact: rolls of one tank may each have a reason for their time.
const FACT_LINES: usize = 4;
const LABEL: Style = Style::new(Face::Italic, 9.0, 6.0);
const NOTE: Style = Style::new(Face::Italic, 9.0, 6.0);
const CAUTION: Style = Style::new(Face::Text, 8.0, 5.5);
/// Most lines of cautions at the foot of the first sheet.
const CAUTION_LINES: usize = 9;
/// Width of the words before a fact.
const LABEL_W: f64 = 24.0;

/// Head and foot of a run's first sheet; gives the area left for steps.
pub(super) fn first(pen: &mut Pen<'_>, r: &RunSheet, bounds: Rect) -> Result<Rect, Error> {
    let (w, side) = (bounds.w, 23.0);
    let inner = match &r.url {
        Some(url) => {
            pen.qr(&Qr::new(url, side)?, (w - side, 0.0), side);
            w - side - 3.0
        }
        None => w,
    };
    put::line(pen, (0.0, 3.0), "RUN SHEET", KIND, 24.0);
    if !r.state.is_empty() {
        put::line(
            pen,
            (26.0, 3.0),
            &r.state.to_uppercase(),
            KIND,
            inner - 26.0,
        );
    }
    put::line(pen, (0.0, 11.6), &r.name, NAME, inner);
    let about: Vec<&str> = [r.recipe.as_str(), &r.tank, &r.made_on]
        .into_iter()
        .filter(|p| !p.is_empty())
        .collect();
    put::line(
        pen,
        (0.0, 17.4),
        &about.join(" · "),
        Style::new(Face::Text, 11.0, 6.5),
        inner,
    );
    if !r.note.is_empty() {
        put::line(pen, (0.0, 22.4), &r.note, NOTE, inner);
    }
    pen.line(&[(0.0, 25.0), (w, 25.0)], sheet::thin(Ink::Black));
    let mut y = reels(pen, r, 30.0, w);
    let pour = if r.stock.is_empty() {
        r.volume.clone()
    } else {
        format!("{}: {}", r.volume, r.stock)
    };
    y = fact(pen, "pour in", &pour, y, w);
    y = fact(pen, "developing", &r.developing, y, w);
    if !r.other_times.is_empty() {
        let times: Vec<String> = r
            .other_times
            .iter()
            .map(|(at, time)| format!("{at} {time}"))
            .collect();
        let text = format!("{} ({})", times.join(" · "), r.other_times_from);
        y = fact(pen, "developer at", &text, y, w);
    }
    let bottom = cautions(pen, r, bounds);
    Ok(Rect::new(0.0, y - 2.0, w, bottom - y + 2.0))
}

/// Head of every further sheet; gives the area left for steps.
pub(super) fn again(pen: &mut Pen<'_>, r: &RunSheet, bounds: Rect) -> Rect {
    put::line(pen, (0.0, 4.0), "RUN SHEET", KIND, 24.0);
    let name = Style::new(Face::Bold, 12.0, 8.0);
    put::line(pen, (26.0, 4.0), &r.name, name, bounds.w - 26.0);
    Rect::new(0.0, 6.0, bounds.w, bounds.h - 6.0)
}

/// A fact of a few lines, smaller where they do not hold it; gives the baseline of the next.
fn fact(pen: &mut Pen<'_>, label: &str, text: &str, y: f64, w: f64) -> f64 {
    if text.is_empty() {
        return y;
    }
    put::line(pen, (0.0, y), label, LABEL, LABEL_W - 1.0);
    put::block(pen, (LABEL_W, y), text, FACT, w - LABEL_W, FACT_LINES) + 5.0
}

/// What lies in each reel, in as many columns as they need; gives the baseline of what follows.
fn reels(pen: &mut Pen<'_>, r: &RunSheet, top: f64, w: f64) -> f64 {
    if r.reels.is_empty() {
        return fact(pen, "rolls", "none: an empty tank", top, w);
    }
    let columns = match r.reels.len() {
        0..=6 => 1,
        7..=20 => 2,
        _ => 3,
    };
    let rows = r.reels.len().div_ceil(columns);
    let width = w / columns as f64;
    for (i, reel) in r.reels.iter().enumerate() {
        let (x, y) = (width * (i / rows) as f64, top + 4.8 * (i % rows) as f64);
        let label = format!("reel {}", reel.reel);
        let named = if columns == 1 { LABEL_W } else { 14.0 };
        put::line(pen, (x, y), &label, LABEL, named - 1.0);
        let bold = Style::new(Face::Bold, 10.0, 5.0);
        put::line(pen, (x + named, y), &reel.rolls, bold, width - named - 3.0);
    }
    top + 4.8 * rows as f64 + 0.6
}

/// Cautions at the foot, the safety sheet's above the others; gives the upper edge.
fn cautions(pen: &mut Pen<'_>, r: &RunSheet, bounds: Rect) -> f64 {
    let Some((first, others)) = r.cautions.split_first() else {
        return bounds.h;
    };
    let bold = Style {
        face: Face::Bold,
        ..CAUTION
    };
    let first = put::fitted(first, bold, bounds.w, 2);
    let rest = put::fitted(&others.join(" "), CAUTION, bounds.w, CAUTION_LINES);
    let height = first.pitch() * first.lines.len() as f64 + rest.pitch() * rest.lines.len() as f64;
    let top = bounds.h - height - 1.4;
    pen.line(&[(0.0, top), (bounds.w, top)], sheet::thin(Ink::Black));
    let mut y = top + 0.6;
    for (fitted, face) in [(&first, Face::Bold), (&rest, Face::Text)] {
        for line in &fitted.lines {
            y += fitted.pitch();
            let at = (0.0, y - 0.22 * fitted.size);
            pen.text(at, Anchor::Start, line, face, fitted.size, Ink::Black);
        }
    }
    top - 1.0
}
