//! The shot list of an in-camera test as a pocket card: what each frame gets, how far to wind, where to cut.
//!
//! One column a strip, one row an exposure, the frame number where they meet: shot down the columns. It takes the
//! list as the core made it and works nothing out.

use spoolwright_core::bounds;
use spoolwright_core::wedge::shots::{Exposed, Shot, ShotList};
use spoolwright_core::{Error, Kind};

use crate::drawing::{Anchor, Document, Face, Ink, Pen, Point, Rect};
use crate::fit::{self, pt};
use crate::input::{self, LONGEST_LABEL, LONGEST_TEXT};
use crate::qr::Qr;
use crate::sheet::{self, Grid, Paper};

/// What one shot list says.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotCard {
    /// Name of the test.
    pub test: String,
    /// Name of the stock.
    pub stock: String,
    /// Can the film comes from; empty when not said.
    pub can: String,
    /// Roll label; empty while it is not wound.
    pub roll: String,
    /// EI the meter is set to.
    pub meter_ei: Option<f64>,
    /// Developing time of each strip, minutes.
    pub times_min: Vec<f64>,
    /// The frames and cuts.
    pub list: ShotList,
    /// Clicks for the leader.
    pub leader_clicks: u32,
    /// Clicks that hold the frames.
    pub frame_clicks: u32,
    /// Clicks for the tail.
    pub tail_clicks: u32,
    /// Address for the QR code.
    pub url: Option<String>,
}

const WIDTH: f64 = 105.0;
const HEIGHT: f64 = 148.0;
const PAD: f64 = 4.0;
/// Rows of one block of the table; what is more goes beside it.
const MOST_ROWS: usize = 20;
/// Frames that a shot list on a card may have: twice a long roll.
const MOST_FRAMES: usize = 80;

const LIGHT: &str = "Shooting. Meter a plain, even surface that fills the frame, out of focus, in light that stays the same. Change \
     only shutter or aperture, row by row, all shorter than 1 s. Blank and spare: lens cap on.";
const DARK: &str = "Opening the cassette, measuring, cutting, loading: total darkness, no safelight, no lit screen. Set stops on the \
     bench at the cutting lengths first, and try them with waste film.";
const TELL_APART: &str =
    "Snip strip 1’s corner once, strip 2’s twice, and so on, to tell them apart by touch.";
const CAUTION: &str = "Bath, volume, temperature and agitation the same for every strip; only the time differs. Follow the chemicals’ \
     safety sheets. Brittle, sticky or sour-smelling film, or nitrate base: stop, and ask a film archive.";

/// Sheets of shot lists, 105 × 148 mm, one a test.
///
/// # Errors
/// No card, a list without frames or with more than a card holds, times that are not one a strip, numbers out of range,
/// texts that are too long, or an address too long for the QR code.
pub fn shot_cards(cards: &[ShotCard], paper: Paper) -> Result<Document, Error> {
    input::count("shot lists", cards.len())?;
    let cards = cards.iter().map(checked).collect::<Result<Vec<_>, _>>()?;
    sheet::fill(
        "Shot list",
        paper,
        Grid::tight(WIDTH, HEIGHT),
        0,
        &cards,
        |c| &c.test,
        draw,
    )
}

fn checked(c: &ShotCard) -> Result<ShotCard, Error> {
    let text = |field: &str, value: &str| input::text(field, value, LONGEST_TEXT);
    let frames = c.list.shots.len();
    if frames == 0 || frames > MOST_FRAMES {
        return Err(Error::new(
            Kind::OutOfRange,
            "frames of a shot list",
            frames,
            format!("1 to {MOST_FRAMES} frames"),
            "Take fewer exposures or fewer strips: the roll must fit one reel.",
        ));
    }
    let strips = strips_of(&c.list);
    if c.times_min.len() != strips {
        return Err(Error::new(
            Kind::Inconsistent,
            "developing times of a shot list",
            c.times_min.len(),
            format!("{strips}, one a strip"),
            "Give each strip its developing time.",
        ));
    }
    for &time in &c.times_min {
        bounds::DEVELOPING_MIN.check(time)?;
    }
    bounds::CLICKS.check_as("clicks for the frames", f64::from(c.frame_clicks))?;
    bounds::ALLOWANCE_CLICKS.check_as("leader clicks", f64::from(c.leader_clicks))?;
    bounds::ALLOWANCE_CLICKS.check_as("tail clicks", f64::from(c.tail_clicks))?;
    if let Some(ei) = c.meter_ei {
        bounds::SPEED_ISO.check_as("EI of the meter", ei)?;
    }
    Ok(ShotCard {
        test: text("test", &c.test)?,
        stock: text("stock", &c.stock)?,
        can: input::text("can", &c.can, LONGEST_LABEL)?,
        roll: input::text("roll label", &c.roll, LONGEST_LABEL)?,
        url: input::address(c.url.as_deref())?.map(str::to_owned),
        ..c.clone()
    })
}

fn strips_of(list: &ShotList) -> usize {
    list.shots.iter().map(|s| s.strip + 1).max().unwrap_or(0)
}

/// Draws down the card, line by line.
struct Column<'p, 'a> {
    pen: &'p mut Pen<'a>,
    y: f64,
}

impl Column<'_, '_> {
    fn line(&mut self, text: &str, face: Face, size: f64, width: f64, down: f64) {
        if text.is_empty() {
            return;
        }
        self.y += down;
        let (text, size) = fit::line(text, face, pt(size), pt(6.0), width);
        self.pen
            .text((PAD, self.y), Anchor::Start, &text, face, size, Ink::Black);
    }

    fn block(&mut self, at: f64, text: &str, most: usize) {
        let fitted = fit::block(text, Face::Text, pt(8.0), pt(5.5), WIDTH - PAD - at, most);
        for (i, line) in fitted.lines.iter().enumerate() {
            self.y += if i == 0 { 0.0 } else { fitted.pitch() };
            self.pen.text(
                (at, self.y),
                Anchor::Start,
                line,
                Face::Text,
                fitted.size,
                Ink::Black,
            );
        }
        self.y += 4.4;
    }

    fn plate(&mut self, word: &str, dark: bool) {
        let plate = Rect::new(PAD, self.y - 2.7, 9.6, 3.6);
        let ink = if dark {
            self.pen.fill(plate, Ink::Black);
            Ink::Paper
        } else {
            self.pen.frame(plate.inset(0.1), Ink::Black, 0.2);
            Ink::Black
        };
        let at = (plate.x + plate.w / 2.0, self.y - 0.1);
        self.pen
            .text(at, Anchor::Middle, word, Face::MonoBold, pt(6.5), ink);
    }
}

fn draw(pen: &mut Pen<'_>, c: &ShotCard) -> Result<(), Error> {
    let inner = heading(pen, c)?;
    let mut column = Column { pen, y: PAD };
    column.line("SHOT LIST", Face::MonoBold, 7.0, inner, 2.2);
    column.line(&c.test, Face::Bold, 14.0, inner, 6.0);
    column.line(&c.stock, Face::Text, 10.0, inner, 4.6);
    let named = |name: &str, value: &str| match value {
        "" => None,
        value => Some(format!("{name} {value}")),
    };
    let facts: Vec<String> = [
        named("can", &c.can),
        named("roll", &c.roll),
        c.meter_ei
            .map(|ei| format!("meter set to EI {}", input::number(ei))),
    ]
    .into_iter()
    .flatten()
    .collect();
    column.line(&facts.join(" · "), Face::MonoBold, 8.5, inner, 4.6);
    column.y = 27.0;
    let (leader, frames, tail) = (c.leader_clicks, c.frame_clicks, c.tail_clicks);
    let wind = format!(
        "Wind {} clicks: {leader} leader + {frames} frames + {tail} tail",
        leader + frames + tail
    );
    column.line(&wind, Face::Bold, 10.0, WIDTH - 2.0 * PAD, 4.0);
    column.line(
        "Frame 1 is where the camera’s counter shows 1. Shoot down each column; stops from the meter, − is less light.",
        Face::Italic,
        8.0,
        WIDTH - 2.0 * PAD,
        4.0,
    );
    column.y = table(
        column.pen,
        c,
        Rect::new(PAD, column.y + 1.8, WIDTH - 2.0 * PAD, 50.0),
    ) + 4.6;
    cuts(&mut column, c);
    column.y = column.y.max(HEIGHT - 38.5);
    column.plate("LIGHT", false);
    column.block(PAD + 11.5, LIGHT, 3);
    column.plate("DARK", true);
    column.block(PAD + 11.5, DARK, 3);
    if !c.list.cuts.is_empty() {
        column.block(PAD, TELL_APART, 1);
    }
    column.block(PAD, CAUTION, 3);
    Ok(())
}

/// The QR code and the rule under the heading; gives the width left for words.
fn heading(pen: &mut Pen<'_>, c: &ShotCard) -> Result<f64, Error> {
    let side = 22.0;
    pen.line(&[(PAD, 26.0), (WIDTH - PAD, 26.0)], sheet::thin(Ink::Black));
    let Some(url) = &c.url else {
        return Ok(WIDTH - 2.0 * PAD);
    };
    pen.qr(&Qr::new(url, side)?, (WIDTH - side - 2.0, 2.0), side);
    Ok(WIDTH - side - 3.0 - PAD)
}

/// The frames, in as many blocks side by side as the rows need; gives the lower edge.
fn table(pen: &mut Pen<'_>, c: &ShotCard, area: Rect) -> f64 {
    let strips = strips_of(&c.list);
    let of_strip = |n: usize| c.list.shots.iter().filter(move |s| s.strip == n);
    let rows: Vec<Exposed> = of_strip(0).map(|s| s.exposed).collect();
    let per_block = MOST_ROWS.min(rows.len().max(1));
    let blocks = rows.len().div_ceil(per_block);
    let pitch = ((area.h - 8.0) / per_block as f64).min(4.6);
    let size = (pitch * 0.72).min(pt(9.0));
    let gap = 4.0;
    let width = (area.w - gap * (blocks - 1) as f64) / blocks as f64;
    let name_w = (width * 0.3).min(17.0);
    let cell_w = ((width - name_w) / strips as f64).min(28.0);
    let bottom = area.y + 8.0 + pitch * per_block as f64;
    for (b, block) in rows.chunks(per_block).enumerate() {
        let left = area.x + b as f64 * (width + gap);
        let right = left + name_w + cell_w * strips as f64;
        for n in 0..strips {
            let middle = left + name_w + cell_w * (n as f64 + 0.5);
            let time = format!("{} min", input::number(c.times_min[n]));
            for (text, face, size, y) in [
                (format!("strip {}", n + 1), Face::Bold, 8.5, 3.0),
                (time, Face::Text, 8.0, 6.4),
            ] {
                let (text, size) = fit::line(&text, face, pt(size), pt(4.0), cell_w - 0.8);
                let at = (middle, area.y + y);
                pen.text(at, Anchor::Middle, &text, face, size, Ink::Black);
            }
        }
        let head: Point = (left + name_w - 1.5, area.y + 6.4);
        pen.text(
            head,
            Anchor::End,
            "stops",
            Face::Italic,
            pt(8.0),
            Ink::Black,
        );
        let mut rules = vec![[(left, area.y + 7.6), (right, area.y + 7.6)]];
        for (i, exposed) in block.iter().enumerate() {
            let base = area.y + 8.0 + pitch * (i as f64 + 0.5) + size * 0.33;
            let row = b * per_block + i;
            let (name, face) = named(*exposed);
            let at = (left + name_w - 1.5, base);
            pen.text(at, Anchor::End, &name, face, size, Ink::Black);
            for n in 0..strips {
                let Some(Shot { frame, exposed, .. }) = of_strip(n).nth(row) else {
                    continue;
                };
                let middle = left + name_w + cell_w * (n as f64 + 0.5);
                let face = match exposed {
                    Exposed::Stops(_) => Face::MonoBold,
                    Exposed::Blank | Exposed::Spare => Face::Mono,
                };
                let text = frame.to_string();
                pen.text(
                    (middle, base),
                    Anchor::Middle,
                    &text,
                    face,
                    size,
                    Ink::Black,
                );
            }
            let y = area.y + 8.0 + pitch * (i as f64 + 1.0);
            rules.push([(left, y), (right, y)]);
        }
        pen.lines(rules, sheet::thin(Ink::Pale));
    }
    bottom
}

fn named(exposed: Exposed) -> (String, Face) {
    match exposed {
        Exposed::Blank => ("blank".to_owned(), Face::Italic),
        Exposed::Spare => ("spare".to_owned(), Face::Italic),
        Exposed::Stops(s) if s > 0.0 => (format!("+{}", input::number(s)), Face::MonoBold),
        Exposed::Stops(s) => (input::number(s), Face::MonoBold),
    }
}

fn cuts(column: &mut Column<'_, '_>, c: &ShotCard) {
    let Some(first) = c.list.cuts.first() else {
        column.line(
            "One strip: the roll is not cut.",
            Face::Text,
            8.5,
            WIDTH - 2.0 * PAD,
            0.0,
        );
        return;
    };
    let places: Vec<String> = c
        .list
        .cuts
        .iter()
        .map(|cut| format!("{:.0} (after {})", cut.from_leader_mm, cut.after_frame))
        .collect();
    column.line(
        &format!(
            "Cut, measured from the tip of the leader, mm, each ± {:.0}:",
            first.margin_mm
        ),
        Face::Bold,
        8.5,
        WIDTH - 2.0 * PAD,
        0.0,
    );
    for row in places.chunks(4) {
        column.line(
            &row.join(" · "),
            Face::MonoBold,
            8.5,
            WIDTH - 2.0 * PAD,
            4.2,
        );
    }
    column.y += 3.8;
    column.block(PAD, &from_frame_1(c.list.first_frame_mm), 2);
}

/// What the lengths of the cuts count from, and how to find what the camera makes of it.
fn from_frame_1(mm: f64) -> String {
    format!(
        "Counted with frame 1 beginning {mm:.0} mm from the tip. Load a waste strip in that camera first, mark the \
         camera’s window at frame 1, and add the difference to every cut."
    )
}
