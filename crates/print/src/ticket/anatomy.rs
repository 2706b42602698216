//! The roll's anatomy as a drawing: spool, taped end, tail, frames, leader with its tongue.
//!
//! Lengths are in proportion where there is room; a short tail or leader is widened so that it can be read.

use spoolwright_core::film::Light;

use crate::drawing::{Anchor, Face, Ink, Pen, Point, Rect, Stroke};
use crate::fit::{self, pt};

/// Parts of a roll, in clicks and frames.
#[derive(Debug, Clone, Copy)]
pub(super) struct Anatomy {
    pub(super) leader: u32,
    pub(super) frames: u32,
    pub(super) frame_clicks: u32,
    pub(super) tail: u32,
    pub(super) light: Light,
}

/// Width of the taped end that holds the film on the spool.
const TAPE: f64 = 2.2;
/// Narrowest tail and leader that can still be labelled.
const NARROWEST: (f64, f64) = (8.0, 10.0);

/// Draws the roll into `area`, the spool at the left.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, roll: Anatomy) {
    let hub = 3.3;
    let film = Rect::new(
        area.x + 2.0 * hub + 0.4,
        area.y + 4.6,
        area.w - 2.0 * hub - 0.4,
        6.4,
    );
    let (tail_w, frames_w, leader_w) = widths(film.w - TAPE, roll);
    let line = pencil(Ink::Black, 0.25);
    let middle = film.y + film.h / 2.0;
    let x_tail = film.x + TAPE;
    let x_frames = x_tail + tail_w;
    let x_leader = x_frames + frames_w;
    let end = film.right();

    // Spool.
    let centre = (area.x + hub, middle);
    pen.circle(centre, hub, None, Some(line));
    pen.circle(centre, 0.9, Some(Ink::Black), None);
    // Taped end.
    pen.polygon(
        &[
            (area.x + 2.0 * hub - 0.3, film.y + 0.6),
            (x_tail, film.y),
            (x_tail, film.bottom()),
            (area.x + 2.0 * hub - 0.3, film.bottom() - 0.6),
        ],
        Some(Ink::Pale),
        Some(line),
    );
    // Tail: hatched when struck by light.
    if roll.tail > 0 {
        let tail = Rect::new(x_tail, film.y, tail_w, film.h);
        if roll.light == Light::Room {
            pen.lines(hatch(tail, 1.1), pencil(Ink::Accent, 0.3));
        }
        pen.polygon(&corners(tail), None, Some(line));
    }
    // Frames.
    let cells = roll.frames.clamp(1, 72);
    let cell = frames_w / f64::from(cells);
    let thin = pencil(Ink::Black, 0.12);
    pen.lines(
        (1..cells)
            .map(|i| x_frames + cell * f64::from(i))
            .map(|x| [(x, film.y), (x, film.bottom())])
            .collect(),
        thin,
    );
    pen.polygon(
        &corners(Rect::new(x_frames, film.y, frames_w, film.h)),
        None,
        Some(line),
    );
    // Leader: full width, then a tongue half as wide, the lower half as on the page.
    if roll.leader > 0 {
        let step = x_leader + leader_w * 0.25;
        pen.polygon(
            &[
                (x_leader, film.y),
                (step, film.y),
                (step + 0.4, middle - 0.3),
                (step + 1.4, middle + 0.3),
                (end, middle + 0.3),
                (end, film.bottom() - 0.9),
                (end - 0.9, film.bottom()),
                (x_leader, film.bottom()),
            ],
            None,
            Some(line),
        );
    }
    captions(pen, area, film, roll, (x_tail, x_frames, x_leader));
}

fn captions(pen: &mut Pen<'_>, area: Rect, film: Rect, roll: Anatomy, at: (f64, f64, f64)) {
    let (x_tail, x_frames, x_leader) = at;
    let above = film.y - 1.3;
    let size = pt(7.0);
    pen.text(
        (area.x, above),
        Anchor::Start,
        "spool",
        Face::Text,
        size,
        Ink::Black,
    );
    let part = |pen: &mut Pen<'_>, left: f64, right: f64, text: String| {
        let (text, size) = fit::line(&text, Face::Bold, pt(7.5), pt(5.5), right - left);
        pen.text(
            ((left + right) / 2.0, above),
            Anchor::Middle,
            &text,
            Face::Bold,
            size,
            Ink::Black,
        );
    };
    if roll.tail > 0 {
        part(pen, x_tail, x_frames, format!("tail {}", roll.tail));
    }
    let frames = if roll.frames == roll.frame_clicks {
        format!("{} frames", roll.frames)
    } else {
        format!("{} frames in {} clicks", roll.frames, roll.frame_clicks)
    };
    part(pen, x_frames, x_leader, frames);
    if roll.leader > 0 {
        part(
            pen,
            x_leader,
            film.right(),
            format!("leader {}", roll.leader),
        );
    }
    // Under the film: frame numbers at both ends of the frames, then the order of events.
    let under = film.bottom() + 2.7;
    pen.text(
        (x_frames, under),
        Anchor::Start,
        &roll.frames.to_string(),
        Face::Mono,
        pt(6.5),
        Ink::Black,
    );
    if roll.frames > 1 {
        pen.text(
            (x_leader, under),
            Anchor::End,
            "1",
            Face::Mono,
            pt(6.5),
            Ink::Black,
        );
    }
    let foot = area.bottom() - 0.6;
    let left = match (roll.tail, roll.light) {
        (0, _) => "wound first, shot last",
        (_, Light::Room) => "wound first, shot last; tail sees light",
        (_, Light::Dark) => "wound first, shot last; tail stays dark",
    };
    pen.text(
        (area.x, foot),
        Anchor::Start,
        left,
        Face::Italic,
        pt(7.0),
        Ink::Black,
    );
    pen.text(
        (area.right(), foot),
        Anchor::End,
        "wound last, shot first",
        Face::Italic,
        pt(7.0),
        Ink::Black,
    );
}

/// Widths of tail, frames and leader in `room`, in proportion unless a part would be too narrow.
fn widths(room: f64, roll: Anatomy) -> (f64, f64, f64) {
    let total = f64::from(roll.leader + roll.frame_clicks + roll.tail);
    let width = |clicks: u32, least: f64| {
        if clicks == 0 {
            0.0
        } else {
            (room * f64::from(clicks) / total).clamp(least, room * 0.35)
        }
    };
    let (tail, leader) = (
        width(roll.tail, NARROWEST.0),
        width(roll.leader, NARROWEST.1),
    );
    (tail, room - tail - leader, leader)
}

fn corners(r: Rect) -> [Point; 4] {
    [
        (r.x, r.y),
        (r.right(), r.y),
        (r.right(), r.bottom()),
        (r.x, r.bottom()),
    ]
}

/// Slanting lines that fill a rectangle, clipped to it.
fn hatch(r: Rect, pitch: f64) -> Vec<[Point; 2]> {
    let mut lines = Vec::new();
    let mut foot = r.x - r.h + pitch / 2.0;
    while foot < r.right() {
        // From (foot, bottom) up to (foot + h, top).
        let (x0, x1) = (foot.max(r.x), (foot + r.h).min(r.right()));
        if x1 > x0 {
            lines.push([
                (x0, r.bottom() - (x0 - foot)),
                (x1, r.bottom() - (x1 - foot)),
            ]);
        }
        foot += pitch;
    }
    lines
}

const fn pencil(ink: Ink, width: f64) -> Stroke {
    Stroke {
        ink,
        width,
        dash: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_fill_the_film_and_are_in_proportion_where_there_is_room() {
        let roll = Anatomy {
            leader: 10,
            frames: 20,
            frame_clicks: 20,
            tail: 10,
            light: Light::Room,
        };
        let (tail, frames, leader) = widths(60.0, roll);
        assert_eq!((tail, frames, leader), (15.0, 30.0, 15.0));
        let short = Anatomy {
            leader: 4,
            frames: 36,
            frame_clicks: 36,
            tail: 2,
            ..roll
        };
        let (tail, frames, leader) = widths(58.0, short);
        assert_eq!((tail, leader), NARROWEST);
        assert!((tail + frames + leader - 58.0).abs() < 1e-9);
    }

    #[test]
    fn the_hatch_stays_within() {
        let r = Rect::new(3.0, 5.0, 8.0, 6.0);
        for [(x0, y0), (x1, y1)] in hatch(r, 1.1) {
            for (x, y) in [(x0, y0), (x1, y1)] {
                assert!(r.holds(&Rect::new(x, y, 0.0, 0.0), 1e-9), "{x} {y}");
            }
        }
    }
}
