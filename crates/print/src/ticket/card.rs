//! One winding ticket drawn: heading, target, anatomy, light, steps, and a line for what really happened.

use spoolwright_core::Error;
use spoolwright_core::film::Light;

use super::anatomy::{self, Anatomy};
use super::{HEIGHT, MOST_STEPS, Target, WIDTH, WindingTicket, quarters};
use crate::drawing::{Anchor, Face, Ink, Pen, Rect};
use crate::face::{cap_height_em, width_em};
use crate::fit::{self, pt};
use crate::input;
use crate::qr::Qr;
use crate::sheet;

/// Room left white round the edge.
const PAD: f64 = 3.5;

pub(super) fn draw(pen: &mut Pen<'_>, t: &WindingTicket) -> Result<(), Error> {
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
    let counted = match t.target {
        Target::Dial { .. } => "dial",
        Target::Clicks => "clicks",
        Target::Turns(_) => "turns",
    };
    let from = PAD + width_em(counted, Face::Text) * size + 1.5;
    pen.text(
        (PAD, y),
        Anchor::Start,
        counted,
        Face::Text,
        size,
        Ink::Black,
    );
    pen.line(
        &[(from, y + 0.5), (PAD + 30.0, y + 0.5)],
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
            "Taping, cutting: light trap shut. Winding: lid shut.",
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
