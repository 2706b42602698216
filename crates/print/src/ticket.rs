//! Winding tickets: one pocket card per roll, to stand beside the loader.
//!
//! The click count is the largest thing on it. The steps differ for a loader wound in room light and for
//! one wound in darkness; what must be dark is said in words, not by colour.

mod anatomy;
mod card;

use spoolwright_core::bounds;
use spoolwright_core::film::Light;
use spoolwright_core::{Error, Kind};

use crate::drawing::Document;
use crate::input::{self, LONGEST_LABEL, LONGEST_TEXT};
use crate::sheet::{self, Grid, Paper};

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
        self.leader_clicks
            .saturating_add(self.frame_clicks)
            .saturating_add(self.tail_clicks)
    }
}

const WIDTH: f64 = 74.0;
const HEIGHT: f64 = 105.0;
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
        card::draw,
    )
}

/// The steps to tick off for one roll, in order.
pub fn default_steps(ticket: &WindingTicket) -> Vec<String> {
    let wind = match ticket.target {
        Target::Clicks => format!(
            "Light trap open: wind {} clicks, counting along",
            ticket.clicks()
        ),
        Target::Dial { start, stop } => {
            format!(
                "Dial at {}, light trap open: wind until it reads {}",
                input::number(start),
                input::number(stop)
            )
        }
        Target::Turns(turns) => {
            format!("Light trap open: turn the crank {} times", quarters(turns))
        }
    };
    let label = format!("Label it {}", ticket.roll);
    let steps = match ticket.light {
        Light::Room => [
            "Cassette empty, its felt clean, its number noted",
            "Tape the end to the spool, square, on both sides",
            "Close the cassette, then the loader",
            &wind,
            "Shut the light trap, open the loader, cut the film",
            "Trim the leader’s tongue",
            &label,
        ],
        Light::Dark => [
            "Cassette empty, its felt clean, its number noted",
            "All within reach, then lights out",
            "Tape the end to the spool; close cassette and loader",
            &wind,
            "Shut the light trap, open the loader, cut the film",
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
fn quarters(turns: f64) -> String {
    let n = (turns * 4.0).round();
    let (whole, part) = ((n / 4.0).floor(), n.rem_euclid(4.0) as usize);
    let part = ["", "¼", "½", "¾"][part];
    if whole == 0.0 && !part.is_empty() {
        part.to_owned()
    } else {
        format!("{whole:.0}{part}")
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
