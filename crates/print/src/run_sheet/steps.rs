//! The steps as a table: when to pour in and out on one clock, how to move, which bottle, and room to write.

use super::RunStep;
use crate::drawing::{Anchor, Face, Ink, Pen, Rect};
use crate::fit::Fitted;
use crate::put::{self, Style};
use crate::sheet;

/// Height of the heading.
const HEAD: f64 = 8.6;
/// Height of a row without a note: the least, and where there is room.
const ROW: (f64, f64) = (9.0, 15.0);
/// Air above a step's note, a line of it, and most of them.
const NOTE_AIR: f64 = 1.6;
const NOTE_LINE: f64 = 3.5;
const NOTE_LINES: usize = 4;
/// Room for the end of the run and the words under the table.
const TAIL: f64 = 14.0;

const NOTE: Style = Style::new(Face::Italic, 8.5, 6.5);
const NAME: Style = Style::new(Face::Bold, 12.0, 6.0);
const WHEN: Style = Style::new(Face::MonoBold, 11.0, 5.0);
const LASTS: Style = Style::new(Face::Mono, 10.0, 5.0);
const HOW: Style = Style::new(Face::Text, 9.0, 5.0);

/// What the table's times mean.
const WHEN_TOLD: &str = "Start your clock with the first pour. Start: begin to pour in. Out: begin to pour out. A step lasts to the next one’s \
     start. If you are late, shift all that follows by as much.";

/// A column: width, two lines of heading.
type Column = (f64, &'static str, &'static str);

/// Columns that fill `width`: number, step, start, time, out, temperature, agitation, bottle, given, readings.
fn columns(width: f64) -> [Column; 10] {
    let fixed = 6.0 + 16.0 + 15.0 + 16.0 + 15.0 + 32.0 + 25.0 + 17.0 + 20.0;
    [
        (6.0, "", ""),
        (width - fixed, "step", ""),
        (16.0, "start", "min:s"),
        (15.0, "lasts", "min:s"),
        (16.0, "out", "min:s"),
        (15.0, "at", ""),
        (32.0, "agitation", ""),
        (25.0, "bottle", ""),
        (17.0, "really", "given"),
        (20.0, "thermometer", "read"),
    ]
}

/// Draws steps from `next` on as far as `area` holds them; gives the first that it does not hold.
pub(super) fn draw(pen: &mut Pen<'_>, steps: &[RunStep], next: usize, area: Rect) -> usize {
    let columns = columns(area.w);
    let mut x = area.x;
    for (width, first, second) in columns {
        let head = Style::new(Face::Italic, 8.0, 6.0);
        put::line(pen, (x + 0.6, area.y + 4.0), first, head, width - 1.0);
        put::line(pen, (x + 0.6, area.y + 7.2), second, head, width - 1.0);
        x += width;
    }
    let mut start_s: f64 = steps[..next].iter().map(|s| s.time_s).sum();
    let mut y = area.y + HEAD;
    pen.line(&[(area.x, y), (area.w, y)], sheet::thin(Ink::Black));
    let top = y;
    let mut rules = Vec::new();
    let mut done = next;
    // As many notes as there may be rows here.
    let (mut notes, mut told) = (Vec::new(), 0.0);
    for step in &steps[next..] {
        let note = note(step, area.w);
        told += height(&note);
        notes.push(note);
        if HEAD + told + ROW.0 * notes.len() as f64 > area.h {
            break;
        }
    }
    let room = area.h - HEAD - TAIL - told;
    let pitch = (room / notes.len().max(1) as f64).clamp(ROW.0, ROW.1);
    for (step, note) in steps[next..].iter().zip(&notes) {
        let tall = pitch + height(note);
        let last = done + 1 == steps.len();
        let reserve = if last { TAIL } else { 0.0 };
        // A step that alone is higher than the area still has to stand somewhere: a sheet always takes one.
        if done > next && y + tall + reserve > area.bottom() {
            break;
        }
        row(pen, &columns, step, done, start_s, (area.x, y));
        let mut below = y + ROW.0 + NOTE_AIR + 2.0;
        for line in &note.lines {
            let at = (area.x + 6.6, below);
            pen.text(at, Anchor::Start, line, NOTE.face, note.size, Ink::Black);
            below += NOTE_LINE;
        }
        y += tall;
        rules.push([(area.x, y), (area.w, y)]);
        start_s += step.time_s;
        done += 1;
    }
    pen.lines(rules, sheet::thin(Ink::Pale));
    let written = area.w - 17.0 - 20.0;
    pen.lines(
        vec![
            [(written, top), (written, y)],
            [(written + 17.0, top), (written + 17.0, y)],
        ],
        sheet::thin(Ink::Pale),
    );
    if done == steps.len() {
        end(pen, &columns, start_s, (area.x, y), area.w);
    }
    done
}

/// A step's note, as wide as the columns that are printed.
fn note(step: &RunStep, width: f64) -> Fitted {
    put::fitted(
        &step.note,
        NOTE,
        width - 6.0 - 17.0 - 20.0 - 1.6,
        NOTE_LINES,
    )
}

fn height(note: &Fitted) -> f64 {
    match note.lines.len() {
        0 => 0.0,
        lines => NOTE_AIR + NOTE_LINE * lines as f64,
    }
}

fn row(
    pen: &mut Pen<'_>,
    columns: &[Column; 10],
    step: &RunStep,
    place: usize,
    start_s: f64,
    (left, y): (f64, f64),
) {
    let out = if step.drain_s > 0.0 {
        clock(start_s + step.time_s - step.drain_s)
    } else {
        String::new()
    };
    let cells = [
        ((place + 1).to_string(), HOW),
        (step.name.clone(), NAME),
        (clock(start_s), WHEN),
        (clock(step.time_s), LASTS),
        (out, WHEN),
        (step.temperature.clone(), HOW),
        (step.agitation.clone(), HOW),
        (step.bottle.clone(), HOW),
        (step.done.clone(), HOW),
        (step.readings.clone(), HOW),
    ];
    let mut x = left;
    for ((width, ..), (text, style)) in columns.iter().zip(cells) {
        let (at, room) = ((x + 0.6, y + 4.2), width - 1.4);
        put::block(pen, at, &text, style, room, 2);
        x += width;
    }
}

/// When all is over, and what the times mean.
fn end(pen: &mut Pen<'_>, columns: &[Column; 10], total_s: f64, (left, y): (f64, f64), w: f64) {
    let name = left + columns[0].0 + 0.6;
    put::line(pen, (name, y + 4.4), "End", NAME, columns[1].0 - 1.4);
    let start = left + columns[0].0 + columns[1].0 + 0.6;
    put::line(
        pen,
        (start, y + 4.4),
        &clock(total_s),
        WHEN,
        columns[2].0 - 1.4,
    );
    put::block(
        pen,
        (left, y + 9.0),
        WHEN_TOLD,
        Style::new(Face::Text, 8.0, 6.0),
        w,
        2,
    );
}

/// Minutes and seconds, as a kitchen clock or a stopwatch shows them.
fn clock(seconds: f64) -> String {
    let whole = seconds.round() as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

#[cfg(test)]
mod tests {
    use super::clock;

    #[test]
    fn a_clock_shows_minutes_beyond_the_hour() {
        assert_eq!(clock(0.0), "0:00");
        assert_eq!(clock(59.6), "1:00");
        assert_eq!(clock(4530.0), "75:30");
    }
}
