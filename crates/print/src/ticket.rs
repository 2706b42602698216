//! Winding tickets: one pocket card per roll, to stand beside the loader.
//!
//! The click count is the largest thing on it. The steps differ for a loader wound in room light and for
//! one wound in darkness; what must be dark is said in words, not by colour.

use spoolwright_core::bounds;
use spoolwright_core::film::Light;
use spoolwright_core::{Error, Kind};

use crate::drawing::{Anchor, Document, Face, Ink, Pen, Rect, Stroke};
use crate::face::{cap_height_em, width_em};
use crate::fit::{self, pt};
use crate::input::{self, LONGEST_LABEL, LONGEST_TEXT};
use crate::qr::Qr;
use crate::sheet::{self, Grid, Paper};
use crate::{anatomy, anatomy::Anatomy};

/// How the winder knows when to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// A loader that clicks but shows no number.
    Clicks,
    /// A loader with a dial: where it stands before the first click, and where to stop.
    Dial {
        /// Reading before the first click.
        start: f64,
        /// Reading to stop at.
        stop: f64,
    },
    /// A loader without a counter: turns of the crank.
    Turns(f64),
}

/// What one winding ticket says.
#[derive(Debug, Clone, PartialEq)]
pub struct WindingTicket {
    /// Roll label, such as `HM-07`.
    pub roll: String,
    /// Name of the stock.
    pub stock: String,
    /// Can to wind from.
    pub can: String,
    /// Loader to wind on; empty when not said.
    pub loader: String,
    /// Cassette to wind into; empty for any.
    pub cassette: String,
    /// What the roll is for; empty when not said.
    pub wanted_for: String,
    /// Exposure index.
    pub ei: Option<f64>,
    /// Usable frames.
    pub frames: u32,
    /// Frame format when it is not the full frame, such as `half`.
    pub format: String,
    /// Clicks for the leader.
    pub leader_clicks: u32,
    /// Clicks that hold the frames.
    pub frame_clicks: u32,
    /// Clicks for the tail.
    pub tail_clicks: u32,
    /// Room light or darkness while winding.
    pub light: Light,
    /// How to know when to stop.
    pub target: Target,
    /// Film drawn from the can, with its unit, such as `1.01 m`; empty when not said.
    pub draws: String,
    /// Steps to tick; [`default_steps`] when empty. At most seven are printed.
    pub steps: Vec<String>,
    /// Address for the QR code.
    pub url: Option<String>,
}

impl WindingTicket {
    /// Leader, frames and tail together, in clicks.
    pub const fn clicks(&self) -> u32 {
        self.leader_clicks + self.frame_clicks + self.tail_clicks
    }
}

const WIDTH: f64 = 74.0;
const HEIGHT: f64 = 105.0;
const PAD: f64 = 3.5;
const MOST_STEPS: usize = 7;
/// Largest dial reading or number of turns that is no slip of the pen.
const LARGEST_READING: f64 = 10_000.0;

/// Sheets of winding tickets, 74 × 105 mm, from place `start_at` (0 is the top left one) on.
///
/// # Errors
/// No tickets, more than 2000, absurd numbers, texts that are too long, or an address too long for the
/// QR code.
pub fn winding_tickets(
    tickets: &[WindingTicket],
    paper: Paper,
    start_at: usize,
) -> Result<Document, Error> {
    input::count("tickets", tickets.len())?;
    let tickets = tickets.iter().map(checked).collect::<Result<Vec<_>, _>>()?;
    let grid = Grid {
        gap_x: 4.0,
        gap_y: 4.0,
        ..Grid::tight(WIDTH, HEIGHT)
    };
    sheet::fill(
        "Winding tickets",
        paper,
        grid,
        start_at,
        &tickets,
        |t| &t.roll,
        draw,
    )
}

/// The steps to tick off for one roll, in order.
pub fn default_steps(ticket: &WindingTicket) -> Vec<String> {
    let wind = match ticket.target {
        Target::Clicks => format!("Wind {} clicks, counting along", ticket.clicks()),
        Target::Dial { start, stop } => {
            format!(
                "Dial at {}: wind until it reads {}",
                input::number(start),
                input::number(stop)
            )
        }
        Target::Turns(turns) => format!("Turn the crank {} times", quarters(turns)),
    };
    let label = format!("Label the cassette {}", ticket.roll);
    let steps = match ticket.light {
        Light::Room => [
            "Cassette: felt clean, no film left inside",
            "Tape the film’s end square to the spool",
            "Shut the loader, then open its light trap",
            &wind,
            "Shut the light trap, then open the loader",
            "Cut the film, trim the leader’s tongue",
            &label,
        ],
        Light::Dark => [
            "Cassette: felt clean, no film left inside",
            "All within reach; now lights out",
            "Tape the film’s end square to the spool",
            &wind,
            "Cut the film, close the cassette, shut the can",
            "Lights on; trim the leader’s tongue",
            &label,
        ],
    };
    steps.map(str::to_owned).to_vec()
}

fn checked(t: &WindingTicket) -> Result<WindingTicket, Error> {
    let text = |field: &str, value: &str| input::text(field, value, LONGEST_TEXT);
    let roll = input::text("roll label", &t.roll, LONGEST_LABEL)?;
    if roll.is_empty() {
        return Err(Error::missing(
            "roll label",
            format!("1 to {LONGEST_LABEL} characters"),
            "Give the roll a label, such as HM-07.",
        ));
    }
    bounds::FRAMES.check_as("frames", f64::from(t.frames))?;
    bounds::CLICKS.check_as("clicks for the frames", f64::from(t.frame_clicks))?;
    bounds::ALLOWANCE_CLICKS.check_as("leader clicks", f64::from(t.leader_clicks))?;
    bounds::ALLOWANCE_CLICKS.check_as("tail clicks", f64::from(t.tail_clicks))?;
    if let Some(ei) = t.ei {
        bounds::SPEED_ISO.check_as("EI", ei)?;
    }
    let reading = |field: &str, value: f64| {
        if value.is_finite() && value.abs() <= LARGEST_READING {
            return Ok(());
        }
        let allowed = format!("−{LARGEST_READING} to {LARGEST_READING}");
        Err(Error::new(
            Kind::OutOfRange,
            field,
            value,
            allowed,
            "Check the loader's numbers.",
        ))
    };
    match t.target {
        Target::Clicks => {}
        Target::Dial { start, stop } => {
            reading("the dial's start", start)?;
            reading("the dial reading to stop at", stop)?;
        }
        Target::Turns(turns) => {
            reading("turns of the crank", turns)?;
            if turns <= 0.0 {
                return Err(Error::new(
                    Kind::OutOfRange,
                    "turns of the crank",
                    turns,
                    "more than 0",
                    "Check the hub and the length to wind.",
                ));
            }
        }
    }
    let mut checked = WindingTicket {
        roll,
        stock: text("stock", &t.stock)?,
        can: text("can", &t.can)?,
        loader: text("loader", &t.loader)?,
        cassette: text("cassette", &t.cassette)?,
        wanted_for: text("wanted for", &t.wanted_for)?,
        format: text("format", &t.format)?,
        draws: text("film drawn", &t.draws)?,
        steps: t
            .steps
            .iter()
            .take(MOST_STEPS)
            .map(|s| text("step", s))
            .collect::<Result<_, _>>()?,
        url: input::address(t.url.as_deref())?.map(str::to_owned),
        ..t.clone()
    };
    if checked.steps.is_empty() {
        checked.steps = default_steps(&checked);
    }
    Ok(checked)
}

/// A number of turns to the nearest quarter, such as `12¾`.
pub(crate) fn quarters(turns: f64) -> String {
    let n = (turns * 4.0).round();
    let (whole, part) = ((n / 4.0).floor(), n.rem_euclid(4.0) as usize);
    let part = ["", "¼", "½", "¾"][part];
    if whole == 0.0 && !part.is_empty() {
        part.to_owned()
    } else {
        format!("{whole:.0}{part}")
    }
}

fn draw(pen: &mut Pen<'_>, t: &WindingTicket) -> Result<(), Error> {
    heading(pen, t)?;
    target(pen, t);
    anatomy::draw(
        pen,
        Rect::new(PAD, 46.8, WIDTH - 2.0 * PAD, 18.6),
        Anatomy {
            leader: t.leader_clicks,
            frames: t.frames,
            frame_clicks: t.frame_clicks,
            tail: t.tail_clicks,
            light: t.light,
        },
    );
    light(pen, t.light);
    steps(pen, t);
    // What really happened, by hand.
    let y = HEIGHT - PAD;
    let size = pt(8.0);
    pen.text(
        (PAD, y),
        Anchor::Start,
        "stopped at",
        Face::Text,
        size,
        Ink::Black,
    );
    pen.line(
        &[(PAD + 13.5, y + 0.5), (PAD + 30.0, y + 0.5)],
        sheet::thin(Ink::Black),
    );
    pen.text(
        (PAD + 33.0, y),
        Anchor::Start,
        "on",
        Face::Text,
        size,
        Ink::Black,
    );
    pen.line(
        &[(PAD + 37.0, y + 0.5), (WIDTH - PAD, y + 0.5)],
        sheet::thin(Ink::Black),
    );
    Ok(())
}

fn heading(pen: &mut Pen<'_>, t: &WindingTicket) -> Result<(), Error> {
    let side = 21.0;
    let inner = if let Some(url) = &t.url {
        pen.qr(&Qr::new(url, side)?, (WIDTH - side - 1.0, 1.0), side);
        WIDTH - side - 1.5 - PAD
    } else {
        WIDTH - 2.0 * PAD
    };
    let cap = cap_height_em(Face::MonoBold);
    let (roll, size) = fit::line(&t.roll, Face::MonoBold, 9.0 / cap, pt(8.0), inner);
    pen.text(
        (PAD, PAD + 8.6),
        Anchor::Start,
        &roll,
        Face::MonoBold,
        size,
        Ink::Black,
    );
    let (stock, size) = fit::line(&t.stock, Face::Bold, pt(11.0), pt(7.0), inner);
    pen.text(
        (PAD, PAD + 13.6),
        Anchor::Start,
        &stock,
        Face::Bold,
        size,
        Ink::Black,
    );
    let named = |name: &str, value: &str| {
        if value.is_empty() {
            String::new()
        } else {
            format!("{name} {value}")
        }
    };
    let join = |parts: &[String]| {
        parts
            .iter()
            .filter(|p| !p.is_empty())
            .cloned()
            .collect::<Vec<_>>()
            .join(" · ")
    };
    let ei =
        t.ei.map(|ei| format!("EI {}", input::number(ei)))
            .unwrap_or_default();
    let format = if t.format.is_empty() {
        String::new()
    } else {
        format!("{} format", t.format)
    };
    let first = join(&[ei, format!("{} fr", t.frames), format]);
    let second = join(&[
        named("can", &t.can),
        named("on", &t.loader),
        named("into", &t.cassette),
        named("for", &t.wanted_for),
    ]);
    let (first, size) = fit::line(&first, Face::MonoBold, pt(9.0), pt(6.0), inner);
    pen.text(
        (PAD, PAD + 17.6),
        Anchor::Start,
        &first,
        Face::MonoBold,
        size,
        Ink::Black,
    );
    let (second, size) = fit::line(&second, Face::Text, pt(8.5), pt(6.5), WIDTH - 2.0 * PAD);
    pen.text(
        (PAD, PAD + 21.6),
        Anchor::Start,
        &second,
        Face::Text,
        size,
        Ink::Black,
    );
    pen.line(&[(PAD, 26.8), (WIDTH - PAD, 26.8)], sheet::thin(Ink::Black));
    Ok(())
}

/// The number to wind to, as large as the ticket allows, and the dial beside it.
fn target(pen: &mut Pen<'_>, t: &WindingTicket) {
    let cap = cap_height_em(Face::MonoBold);
    let base = 41.2;
    let dial = match t.target {
        Target::Dial { start, stop } => Some((start, stop)),
        Target::Clicks | Target::Turns(_) => None,
    };
    let (figure, part, unit) = match t.target {
        Target::Turns(turns) => {
            let figure = quarters(turns);
            let whole = figure.trim_end_matches(['¼', '½', '¾']).to_owned();
            let part = figure[whole.len()..].to_owned();
            (whole, part, "turns")
        }
        _ => (t.clicks().to_string(), String::new(), "clicks"),
    };
    let room = if dial.is_some() { 25.0 } else { 44.0 };
    let mut x = PAD - 0.6;
    let (figure, size) = fit::line(&figure, Face::MonoBold, 12.2 / cap, pt(10.0), room);
    pen.text(
        (x, base),
        Anchor::Start,
        &figure,
        Face::MonoBold,
        size,
        Ink::Black,
    );
    x += width_em(&figure, Face::MonoBold) * size;
    if !part.is_empty() {
        // The fraction is drawn smaller: at full size it would stand above and below the figures.
        let size = size * 0.62;
        pen.text(
            (x, base - 0.12 * size),
            Anchor::Start,
            &part,
            Face::MonoBold,
            size,
            Ink::Black,
        );
        x += width_em(&part, Face::MonoBold) * size;
    }
    pen.text(
        (x + 1.2, base),
        Anchor::Start,
        unit,
        Face::Bold,
        pt(13.0),
        Ink::Black,
    );
    if let Some((start, stop)) = dial {
        let plate = Rect::new(WIDTH - PAD - 27.0, 28.8, 27.0, 12.6);
        pen.frame(plate.inset(0.3), Ink::Accent, 0.6);
        let middle = plate.x + plate.w / 2.0;
        let from = format!("dial from {} to", input::number(start));
        let (from, size) = fit::line(&from, Face::Text, pt(8.0), pt(5.5), plate.w - 2.0);
        pen.text(
            (middle, plate.y + 3.5),
            Anchor::Middle,
            &from,
            Face::Text,
            size,
            Ink::Black,
        );
        let (stop, size) = fit::line(
            &input::number(stop),
            Face::MonoBold,
            6.2 / cap,
            pt(8.0),
            plate.w - 3.0,
        );
        pen.text(
            (middle, plate.bottom() - 1.7),
            Anchor::Middle,
            &stop,
            Face::MonoBold,
            size,
            Ink::Black,
        );
    }
    let clicks = if matches!(t.target, Target::Turns(_)) {
        " clicks"
    } else {
        ""
    };
    let mut sum = format!(
        "{} leader + {} frames + {} tail{clicks}",
        t.leader_clicks, t.frame_clicks, t.tail_clicks
    );
    if !t.draws.is_empty() {
        sum = format!("{sum} · draws {}", t.draws);
    }
    let (sum, size) = fit::line(&sum, Face::Text, pt(8.0), pt(5.5), WIDTH - 2.0 * PAD);
    pen.text(
        (PAD, base + 3.9),
        Anchor::Start,
        &sum,
        Face::Text,
        size,
        Ink::Black,
    );
}

/// What must be dark and what may be light.
fn light(pen: &mut Pen<'_>, light: Light) {
    let (dark, lit) = match light {
        Light::Room => (
            "Filling the loader; whenever its film chamber or the can is open.",
            "Taping and cutting with the trap shut; winding with the lid shut.",
        ),
        Light::Dark => (
            "Everything from opening the can until cassette and can are shut.",
            "Only checking cassettes before, and trimming the leader after.",
        ),
    };
    for (i, (word, text)) in [("DARK", dark), ("LIGHT", lit)].into_iter().enumerate() {
        let y = 66.4 + 4.3 * i as f64;
        let plate = Rect::new(PAD, y, 9.6, 3.6);
        let ink = if i == 0 {
            pen.fill(plate, Ink::Black);
            Ink::Paper
        } else {
            pen.frame(plate.inset(0.1), Ink::Black, 0.2);
            Ink::Black
        };
        let base = y + 2.6;
        pen.text(
            (plate.x + plate.w / 2.0, base),
            Anchor::Middle,
            word,
            Face::MonoBold,
            pt(6.5),
            ink,
        );
        let (text, size) = fit::line(text, Face::Text, pt(7.5), pt(5.5), WIDTH - 2.0 * PAD - 11.0);
        pen.text(
            (PAD + 11.0, base),
            Anchor::Start,
            &text,
            Face::Text,
            size,
            Ink::Black,
        );
    }
}

fn steps(pen: &mut Pen<'_>, t: &WindingTicket) {
    let top = 75.8;
    let pitch = (HEIGHT - PAD - 4.2 - top) / (MOST_STEPS as f64);
    for (i, step) in t.steps.iter().enumerate() {
        let y = top + pitch * i as f64;
        let side = 2.2;
        pen.frame(Rect::new(PAD + 0.1, y, side, side), Ink::Black, 0.2);
        let (text, size) = fit::line(step, Face::Text, pt(7.5), pt(5.5), WIDTH - 2.0 * PAD - 4.0);
        pen.text(
            (PAD + 4.0, y + 2.0),
            Anchor::Start,
            &text,
            Face::Text,
            size,
            Ink::Black,
        );
    }
}

/// A line for drawings on tickets.
pub(crate) const fn pencil(ink: Ink, width: f64) -> Stroke {
    Stroke {
        ink,
        width,
        dash: None,
    }
}

#[cfg(test)]
mod tests {
    use super::quarters;

    #[test]
    fn turns_are_read_to_the_quarter() {
        assert_eq!(quarters(12.76), "12¾");
        assert_eq!(quarters(0.3), "¼");
        assert_eq!(quarters(0.05), "0");
        assert_eq!(quarters(24.99), "25");
    }
}
