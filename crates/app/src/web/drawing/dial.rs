//! The loader's counter: where it starts, which way it runs, where to stop.

use super::{arc, n, on_circle, svg};
use maud::{Markup, html};

/// A counter with one mark per click.
#[derive(Debug, Clone, Copy)]
pub struct Dial {
    /// Reading before the first click; may be below zero.
    pub start: i64,
    /// Reading to stop at.
    pub stop: i64,
}

/// The dial face: a thick arc from start to stop and the number to stop at in the middle.
///
/// The face shows as many marks as the job needs, not the marks of any one loader.
pub fn dial(id: &str, d: Dial) -> Markup {
    let span = (d.stop - d.start).max(1);
    // Four fifths of the circle are the marks; a mark is one click.
    let room = span.max(20) + 4;
    let turn = |reading: i64| -0.4 + 0.8 * (reading - d.start) as f64 / room as f64;
    let (cx, cy, r) = (160.0, 150.0, 118.0);
    let every = [1, 2, 5, 10, 20, 50, 100]
        .into_iter()
        .find(|k| room / k <= 10)
        .unwrap_or(500);
    let last = d.start + room;
    let marks = if room <= 120 { 1 } else { every };
    svg(
        id,
        "dial",
        (320.0, 292.0),
        "Where the dial stops",
        &format!(
            "The dial starts at {} and runs {} clicks to {}. Stop there.",
            d.start,
            d.stop - d.start,
            d.stop
        ),
        html! {
            path class="track" d=(arc(cx, cy, r, turn(d.start), turn(last))) {}
            path class="travel" d=(arc(cx, cy, r, turn(d.start), turn(d.stop))) {}
            @for reading in (d.start..=last).filter(|x| x.rem_euclid(marks) == 0) {
                @let long = reading.rem_euclid(every) == 0;
                @let (x0, y0) = on_circle(cx, cy, r - if long { 16.0 } else { 10.0 }, turn(reading));
                @let (x1, y1) = on_circle(cx, cy, r, turn(reading));
                path class=(if long { "mark long" } else { "mark" })
                    d={ "M" (n(x0)) " " (n(y0)) "L" (n(x1)) " " (n(y1)) } {}
                @if long && (reading - d.stop).abs() * 10 > every * 3 && (reading - d.start).abs() * 10 > every * 3 {
                    @let (x, y) = on_circle(cx, cy, r - 30.0, turn(reading));
                    text class="number" x=(n(x)) y=(n(y + 5.0)) text-anchor="middle" { (signed(reading)) }
                }
            }
            (pointer(cx, cy, r, turn(d.start), "start"))
            (pointer(cx, cy, r, turn(d.stop), "stop"))
            @let (sx, sy) = on_circle(cx, cy, r + 24.0, turn(d.start));
            text class="number" x=(n(sx)) y=(n(sy + 6.0)) text-anchor="middle" { (signed(d.start)) }
            text class="huge" x=(n(cx)) y=(n(cy + 24.0)) text-anchor="middle" { (signed(d.stop)) }
            text class="small" x=(n(cx)) y=(n(cy - 40.0)) text-anchor="middle" { "stop at" }
            text class="small" x=(n(cx)) y=(n(cy + 50.0)) text-anchor="middle" {
                (d.stop - d.start) " clicks from " (signed(d.start))
            }
        },
    )
}

/// The crank of a loader without counter: whole turns and a quarter to stop at.
pub fn crank(id: &str, quarters: u32) -> Markup {
    let (cx, cy, r) = (160.0, 150.0, 110.0);
    let part = f64::from(quarters % 4) / 4.0;
    let words = turns_in_words(quarters);
    let (hx, hy) = on_circle(cx, cy, r, part);
    svg(
        id,
        "dial crank",
        (320.0, 292.0),
        "How far to turn the crank",
        &format!("{words} turns of the crank, starting with the handle up."),
        html! {
            circle class="track" cx=(n(cx)) cy=(n(cy)) r=(n(r)) {}
            @for q in 0..4 {
                @let (x0, y0) = on_circle(cx, cy, r - 12.0, f64::from(q) / 4.0);
                @let (x1, y1) = on_circle(cx, cy, r + 6.0, f64::from(q) / 4.0);
                path class="mark long" d={ "M" (n(x0)) " " (n(y0)) "L" (n(x1)) " " (n(y1)) } {}
            }
            @if part > 0.0 { path class="travel" d=(arc(cx, cy, r, 0.0, part)) {} }
            @let (ax, ay) = on_circle(cx, cy, 90.0, part);
            path class="arm" d={ "M" (n(ax)) " " (n(ay)) "L" (n(hx)) " " (n(hy)) } {}
            circle class="handle" cx=(n(hx)) cy=(n(hy)) r="15" {}
            text class="huge" x=(n(cx)) y=(n(cy + 20.0)) text-anchor="middle" { (words) }
            text class="small" x=(n(cx)) y=(n(cy + 46.0)) text-anchor="middle" { "turns" }
        },
    )
}

/// A small triangle outside the ring, pointing at the reading.
fn pointer(cx: f64, cy: f64, r: f64, turn: f64, class: &str) -> Markup {
    let (tip_x, tip_y) = on_circle(cx, cy, r - 2.0, turn);
    let half = if class == "stop" { 0.022 } else { 0.012 };
    let far = if class == "stop" { 26.0 } else { 12.0 };
    let (ax, ay) = on_circle(cx, cy, r + far, turn - half);
    let (bx, by) = on_circle(cx, cy, r + far, turn + half);
    html! {
        path class={ "pointer " (class) } d={
            "M" (n(tip_x)) " " (n(tip_y)) "L" (n(ax)) " " (n(ay)) "L" (n(bx)) " " (n(by)) "Z"
        } {}
    }
}

/// A reading with a proper minus sign.
fn signed(x: i64) -> String {
    if x < 0 {
        format!("−{}", x.unsigned_abs())
    } else {
        x.to_string()
    }
}

/// "12¼" for 49 quarters.
pub fn turns_in_words(quarters: u32) -> String {
    let (whole, part) = (quarters / 4, ["", "¼", "½", "¾"][(quarters % 4) as usize]);
    match (whole, part) {
        (0, "") => "0".to_owned(),
        (0, p) => p.to_owned(),
        (w, p) => format!("{w}{p}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dial_names_start_and_stop() {
        let out = dial(
            "d",
            Dial {
                start: -4,
                stop: 20,
            },
        )
        .into_string();
        assert!(out.contains("starts at -4 and runs 24 clicks to 20"));
        assert!(out.contains("class=\"huge\"") && out.contains(">20</text>") && out.contains("−4"));
    }

    #[test]
    fn quarters_are_said_as_on_a_ruler() {
        assert_eq!(turns_in_words(49), "12¼");
        assert_eq!(turns_in_words(3), "¾");
        assert_eq!(turns_in_words(8), "2");
    }

    /// A long job, or nonsense, draws a bounded number of marks.
    #[test]
    fn marks_stay_countable() {
        let out = dial(
            "d",
            Dial {
                start: 0,
                stop: 2000,
            },
        )
        .into_string();
        assert!(out.matches("class=\"mark").count() < 200);
        assert!(
            !dial("d", Dial { start: 5, stop: 5 })
                .into_string()
                .contains("NaN")
        );
    }
}
