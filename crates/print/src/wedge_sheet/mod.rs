//! The result of a wedge test on one page: figures to work by, the family of curves, contrast against time, the table.
//!
//! It draws what the core worked out and computes nothing; what a number means is said beside it.

mod curves;
mod table;

use spoolwright_core::Error;
use spoolwright_core::wedge::{
    AtTarget, ColourStrip, Interval, SpeedKind, StripResult, TimeContrast,
};

use crate::drawing::{Anchor, Document, Face, Ink, Pen, Rect, Stroke};
use crate::fit::{self, pt};
use crate::input::{self, LONGEST_TEXT};
use crate::qr::Qr;
use crate::sheet::{self, FOOT, MARGIN, Paper};

/// What one result sheet says. Dates and temperatures arrive as text with their units.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultSheet {
    /// Name of the test.
    pub test: String,
    /// Name of the stock.
    pub stock: String,
    /// Can the film came from; empty when not said.
    pub can: String,
    /// How the strips were exposed, such as `in camera, meter set to EI 400`.
    pub way: String,
    /// Day the strips were exposed or the test begun.
    pub begun_on: String,
    /// Developer.
    pub developer: String,
    /// Its dilution.
    pub dilution: String,
    /// Temperature of the bath, with its unit.
    pub temperature: String,
    /// Agitation.
    pub agitation: String,
    /// What to work by; none where there is no target.
    pub figures: Option<Figures>,
    /// What speed numbers mean.
    pub speed_kind: SpeedKind,
    /// The strips: one layer in black and white, three in colour.
    pub layers: Vec<SheetLayer>,
    /// Strips of a colour film with the layers taken together; none in black and white.
    pub combined: Vec<ColourStrip>,
    /// Contrast against developing time.
    pub time_contrast: Option<TimeContrast>,
    /// Developing for the target.
    pub at_target: Option<AtTarget>,
    /// Sentences on how the curves were found and what limits them, most important first.
    pub caveats: Vec<String>,
    /// Address for the QR code.
    pub url: Option<String>,
}

/// The strips of one layer.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetLayer {
    /// Name of the layer, such as `red`; empty in black and white.
    pub name: String,
    /// The strips as worked out.
    pub strips: Vec<StripResult>,
}

/// Speed and time to work by.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// What the speed is: `EI`, `ISO speed` or `speed`.
    pub kind: String,
    /// The speed, such as `125/22°`; empty when not known.
    pub speed: String,
    /// Its 95 % interval.
    pub speed_interval: Option<Interval>,
    /// Developing time in minutes.
    pub time_min: Option<Interval>,
    /// The contrast aimed at, such as `ISO triangle 0.62`.
    pub target: String,
    /// Day the stock card was made; empty while none is saved.
    pub card_made_on: String,
    /// Note of the card.
    pub note: String,
}

/// The sheet, one page.
///
/// # Errors
/// No strips, texts that are too long, or an address too long for the QR code.
pub fn result_sheet(result: &ResultSheet, paper: Paper) -> Result<Document, Error> {
    let strips: usize = result.layers.iter().map(|l| l.strips.len()).sum();
    input::count("strips", strips)?;
    let result = checked(result)?;
    let mut sheet = sheet::blank(paper);
    let (w, h) = paper.size();
    let bounds = Rect::new(MARGIN, MARGIN, w - 2.0 * MARGIN, h - 2.0 * MARGIN - FOOT);
    let mut pen = Pen::cell(&mut sheet, &result.test, bounds);
    draw(&mut pen, &result, bounds)?;
    sheet::foot(&mut sheet, "Wedge test · one sheet");
    Ok(Document {
        title: format!("Wedge test {}", result.test),
        sheets: vec![sheet],
    })
}

fn checked(r: &ResultSheet) -> Result<ResultSheet, Error> {
    let text = |field: &str, value: &str| input::text(field, value, LONGEST_TEXT);
    let figures = match &r.figures {
        Some(f) => Some(Figures {
            kind: text("kind of speed", &f.kind)?,
            speed: text("speed", &f.speed)?,
            target: text("target", &f.target)?,
            card_made_on: text("day of the card", &f.card_made_on)?,
            note: text("note", &f.note)?,
            ..f.clone()
        }),
        None => None,
    };
    Ok(ResultSheet {
        test: text("test", &r.test)?,
        stock: text("stock", &r.stock)?,
        can: text("can", &r.can)?,
        way: text("way", &r.way)?,
        begun_on: text("day", &r.begun_on)?,
        developer: text("developer", &r.developer)?,
        dilution: text("dilution", &r.dilution)?,
        temperature: text("temperature", &r.temperature)?,
        agitation: text("agitation", &r.agitation)?,
        figures,
        caveats: r
            .caveats
            .iter()
            .map(|c| input::text("caveat", c, 4 * LONGEST_TEXT))
            .collect::<Result<_, _>>()?,
        url: input::address(r.url.as_deref())?.map(str::to_owned),
        ..r.clone()
    })
}

fn draw(pen: &mut Pen<'_>, r: &ResultSheet, bounds: Rect) -> Result<(), Error> {
    let (w, h) = (bounds.w, bounds.h);
    let inner = match &r.url {
        Some(url) => {
            let side = 21.0;
            pen.qr(&Qr::new(url, side)?, (w - side, 0.0), side);
            w - side - 3.0
        }
        None => w,
    };
    one_line(pen, 0.0, 6.0, &r.test, Face::Bold, 17.0, inner);
    let can = match r.can.as_str() {
        "" => String::new(),
        can => format!("can {can}"),
    };
    let about = joined(&[&r.stock, &can, &r.way, &r.begun_on]);
    one_line(pen, 0.0, 11.4, &about, Face::Text, 10.0, inner);
    pen.line(&[(0.0, 14.0), (inner, 14.0)], sheet::thin(Ink::Black));
    figures(pen, r, inner);
    let (top, tall) = (52.0, 76.0);
    let side = if r.time_contrast.is_some() { 66.0 } else { 0.0 };
    let family = Rect::new(9.0, top, w - 9.0 - 17.0 - side, tall);
    curves::family(pen, r, family);
    if let Some(law) = &r.time_contrast {
        let area = Rect::new(w - side + 11.0, top, side - 12.0, tall);
        curves::against_time(pen, law, r.at_target.as_ref(), area);
    }
    let mut y = top + tall + 11.0;
    for line in curves::legend(r) {
        one_line(pen, 0.0, y, line, Face::Italic, 8.0, w);
        y += 3.6;
    }
    let y = table::draw(pen, r, Rect::new(0.0, y, w, h - y - 28.0));
    caveats(pen, &r.caveats, Rect::new(0.0, y + 2.0, w, h - y - 2.0));
    Ok(())
}

/// What to work by: speed and time large, the bath beside them.
fn figures(pen: &mut Pen<'_>, r: &ResultSheet, inner: f64) {
    let bath = [
        ("developer", joined(&[&r.developer, &r.dilution])),
        ("temperature", r.temperature.clone()),
        ("agitation", r.agitation.clone()),
    ];
    let mut lines: Vec<(&str, String)> = bath.into_iter().filter(|b| !b.1.is_empty()).collect();
    let (big, left) = (9.5, inner * 0.56);
    match &r.figures {
        Some(f) => {
            let speed = if f.speed.is_empty() { "—" } else { &f.speed };
            let time = f.time_min.map_or("—".to_owned(), |t| minutes(t.value));
            let sure = |i: Option<Interval>, say: &dyn Fn(f64) -> String| match i {
                Some(i) if i.lower95 < i.upper95 => {
                    format!("95 %: {} to {}", say(i.lower95), say(i.upper95))
                }
                _ => String::new(),
            };
            for (x, name, value, sure) in [
                (
                    0.0,
                    f.kind.as_str(),
                    speed.to_owned(),
                    sure(f.speed_interval, &speed_number),
                ),
                (left / 2.0, "develop", time, sure(f.time_min, &minutes)),
            ] {
                let room = left / 2.0 - 3.0;
                one_line(pen, x, 18.4, name, Face::Text, 9.0, room);
                let cap = crate::face::cap_height_em(Face::MonoBold);
                let (value, size) =
                    fit::line(&value, Face::MonoBold, big * 0.75 / cap, pt(8.0), room);
                pen.text(
                    (x, 28.0),
                    Anchor::Start,
                    &value,
                    Face::MonoBold,
                    size,
                    Ink::Black,
                );
                one_line(pen, x, 32.6, &sure, Face::Mono, 8.0, room);
            }
            if !f.target.is_empty() {
                lines.push(("contrast", f.target.clone()));
            }
            lines.push(match f.card_made_on.as_str() {
                "" => ("card", "not saved".to_owned()),
                day => ("card made", day.to_owned()),
            });
            one_line(pen, 0.0, 38.6, &f.note, Face::Italic, 8.5, inner);
        }
        None => {
            let text =
                "No time and speed to work by: there is no contrast target, or it is out of reach.";
            one_line(pen, 0.0, 24.0, text, Face::Text, 9.5, left - 3.0);
        }
    }
    for (i, (name, value)) in lines.iter().enumerate() {
        let y = 18.4 + 4.1 * i as f64;
        one_line(pen, left, y, name, Face::Italic, 8.5, 17.0);
        one_line(
            pen,
            left + 19.0,
            y,
            value,
            Face::Text,
            9.0,
            inner - left - 19.0,
        );
    }
    pen.line(
        &[(0.0, 41.0), (inner, 41.0)],
        Stroke {
            ink: Ink::Pale,
            ..sheet::thin(Ink::Pale)
        },
    );
}

fn caveats(pen: &mut Pen<'_>, caveats: &[String], area: Rect) {
    let size = pt(8.0);
    let mut y = area.y + 2.6;
    let mut left = caveats.len();
    for caveat in caveats {
        let text = format!("– {caveat}");
        let fitted = fit::block(&text, Face::Text, size, pt(6.5), area.w, 2);
        let last = y + fitted.pitch() * (fitted.lines.len() - 1) as f64;
        let reserve = if left > 1 { 3.6 } else { 0.0 };
        if last > area.bottom() - 1.0 - reserve {
            break;
        }
        for line in &fitted.lines {
            pen.text(
                (area.x, y),
                Anchor::Start,
                line,
                Face::Text,
                fitted.size,
                Ink::Black,
            );
            y += fitted.pitch();
        }
        y += 0.5;
        left -= 1;
    }
    if left > 0 {
        let more = format!("And {left} more: see the test’s page.");
        one_line(pen, area.x, y, &more, Face::Italic, 8.0, area.w);
    }
}

fn one_line(pen: &mut Pen<'_>, x: f64, y: f64, text: &str, face: Face, size: f64, width: f64) {
    let (text, size) = fit::line(text, face, pt(size), pt(5.5), width);
    pen.text((x, y), Anchor::Start, &text, face, size, Ink::Black);
}

fn joined(parts: &[&str]) -> String {
    let kept: Vec<&str> = parts.iter().copied().filter(|p| !p.is_empty()).collect();
    kept.join(" · ")
}

/// A time that was found, to a tenth of a minute.
fn minutes(value: f64) -> String {
    format!("{} min", input::fixed(value, 1))
}

/// A strip's own time: tenths of a minute where they are exact, else minutes and seconds.
fn strip_time(value: f64) -> String {
    let tenths = (value * 10.0).round();
    if (value * 10.0 - tenths).abs() < 1e-6 {
        return format!("{} min", tenths / 10.0);
    }
    let seconds = (value * 60.0).round();
    format!(
        "{:.0}:{:02.0} min",
        (seconds / 60.0).floor(),
        seconds % 60.0
    )
}

/// A speed to three figures, as speeds are told.
fn speed_number(value: f64) -> String {
    let decimals = if value < 10.0 { 1 } else { 0 };
    input::fixed(value, decimals)
}
