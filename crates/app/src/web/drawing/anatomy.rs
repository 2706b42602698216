//! The anatomy of a wound roll: spool, taped end, tail, frames, leader. To scale along its length.

use super::{n, svg};
use maud::{Markup, html};

/// The segments of one roll from the spool outward, in millimetres.
#[derive(Debug, Clone, Copy)]
pub struct Anatomy {
    /// Film under the tape and up to the sprocket: never counted.
    pub taped_mm: f64,
    /// The tail between tape and last frame.
    pub tail_mm: f64,
    /// Whether the tail saw light.
    pub tail_struck: bool,
    /// Frames.
    pub frames: u32,
    /// Length of one frame with its gap.
    pub advance_mm: f64,
    /// The leader that threads the camera.
    pub leader_mm: f64,
}

/// The roll stretched out, spool at the left, leader at the right; frames carry the camera's numbers.
pub fn anatomy(id: &str, a: Anatomy) -> Markup {
    let (w, h) = (360.0, 132.0);
    let (left, right) = (20.0, 356.0);
    let (top, bottom) = (34.0, 74.0);
    let frames_mm = f64::from(a.frames) * a.advance_mm;
    let total = (a.taped_mm + a.tail_mm + frames_mm + a.leader_mm).max(1.0);
    let px = (right - left) / total;
    let x_tape = left + a.taped_mm * px;
    let x_tail = x_tape + a.tail_mm * px;
    let x_frames = x_tail + frames_mm * px;
    let cell = a.advance_mm * px;
    let every = label_step(cell);
    let tail_word = if a.tail_struck {
        "tail, saw light"
    } else {
        "tail, kept dark"
    };
    let desc = format!(
        "From the spool outward: taped end {:.0} mm, {tail_word} {:.0} mm, {} frames {:.0} mm with the last frame \
         nearest the spool, leader {:.0} mm.",
        a.taped_mm, a.tail_mm, a.frames, frames_mm, a.leader_mm
    );
    let mid = (top + bottom) / 2.0;
    let tongue = (a.leader_mm * px * 0.8).max(6.0);
    svg(
        id,
        "anatomy",
        (w, h),
        "The wound roll, stretched out",
        &desc,
        html! {
            // Film body and tongue: the leader keeps its lower half.
            path class="film" d={
                "M" (n(left)) " " (n(top)) "H" (n(right - tongue)) "q4 0 6 " (n((bottom - top) * 0.25))
                "t6 " (n((bottom - top) * 0.25)) "H" (n(right)) "V" (n(bottom)) "H" (n(left)) "Z"
            } {}
            @if a.tail_mm > 0.0 {
                rect class=(if a.tail_struck { "struck" } else { "spare" }) x=(n(x_tape)) y=(n(top))
                    width=(n(x_tail - x_tape)) height=(n(bottom - top)) {}
                @if a.tail_struck { (hatch(x_tape, x_tail, top, bottom)) }
            }
            rect class="tape" x=(n(left)) y=(n(top + 4.0)) width=(n((a.taped_mm * px * 0.6).max(4.0)))
                height=(n(bottom - top - 8.0)) {}
            // Frames.
            @for i in 0..a.frames {
                @let number = a.frames - i;
                @let x = x_tail + f64::from(i) * cell;
                rect class="frame" x=(n(x + cell * 0.06)) y=(n(top + 6.0)) width=(n(cell * 0.88))
                    height=(n(bottom - top - 12.0)) {}
                @if number == a.frames || number == 1 || (number.is_multiple_of(every) && far(number, a.frames, cell)) {
                    text class="number" x=(n(x + cell / 2.0)) y=(n(top - 6.0)) text-anchor="middle" { (number) }
                }
            }
            // The spool: a post between two flanges.
            rect class="spool" x="8" y=(n(top - 6.0)) width="12" height=(n(bottom - top + 12.0)) rx="1" {}
            rect class="spool" x="3" y=(n(top - 10.0)) width="22" height="5" rx="1" {}
            rect class="spool" x="3" y=(n(bottom + 5.0)) width="22" height="5" rx="1" {}
            // Brackets.
            (bracket(x_tail, x_frames, bottom + 8.0))
            text class="strong" x=(n((x_tail + x_frames) / 2.0)) y=(n(bottom + 30.0)) text-anchor="middle" {
                (a.frames) " frames"
            }
            text class="small" x="3" y=(n(bottom + 30.0)) { "spool" }
            text class="small" x=(n(right)) y=(n(bottom + 30.0)) text-anchor="end" { "leader" }
            @if a.tail_mm > 0.0 {
            path class="dimension" d={ "M" (n((x_tape + x_tail) / 2.0)) " " (n(bottom)) "V" (n(bottom + 38.0)) } {}
            text class="small" x=(n(((x_tape + x_tail) / 2.0 - 8.0).max(3.0))) y=(n(bottom + 50.0)) { (tail_word) }
            }
            text class="small" x=(n(right)) y=(n(bottom + 50.0)) text-anchor="end" { "shot first →" }
            @if a.leader_mm > 0.0 {
                path class="dimension" d={ "M" (n(x_frames)) " " (n(top)) "V" (n(mid)) } {}
            }
        },
    )
}

/// Slanted lines over what the light has struck.
fn hatch(x0: f64, x1: f64, top: f64, bottom: f64) -> Markup {
    let mut d = String::new();
    let h = bottom - top;
    let mut x = x0 - h;
    while x < x1 {
        let (from, to) = (x.max(x0), (x + h).min(x1));
        if from < to {
            d.push_str(&format!(
                "M{} {}L{} {}",
                n(from),
                n(bottom - (from - x)),
                n(to),
                n(bottom - (to - x))
            ));
        }
        x += 5.0;
    }
    html! { path class="hatch" d=(d) {} }
}

fn bracket(x0: f64, x1: f64, y: f64) -> Markup {
    html! {
        path class="dimension strong" d={ "M" (n(x0)) " " (n(y - 4.0)) "V" (n(y)) "H" (n(x1)) "V" (n(y - 4.0)) } {}
    }
}

/// How often a frame is numbered so that numbers stay apart.
fn label_step(cell_px: f64) -> u32 {
    [1, 2, 3, 6, 12, 24]
        .into_iter()
        .find(|&k| f64::from(k) * cell_px > 26.0)
        .unwrap_or(48)
}

/// Whether a number is far enough from the first and the last to be printed beside them.
fn far(number: u32, frames: u32, cell_px: f64) -> bool {
    f64::from(frames - number) * cell_px > 22.0 && f64::from(number - 1) * cell_px > 18.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn roll(frames: u32) -> Anatomy {
        Anatomy {
            taped_mm: 95.0,
            tail_mm: 76.0,
            tail_struck: true,
            frames,
            advance_mm: 38.0,
            leader_mm: 152.0,
        }
    }

    /// The last frame lies at the spool: its number is printed before the first frame's.
    #[test]
    fn last_frame_is_nearest_the_spool() {
        let out = anatomy("a", roll(18)).into_string();
        assert!(out.find(">18</text>").unwrap() < out.find(">1</text>").unwrap());
        assert_eq!(out.matches("class=\"frame\"").count(), 18);
    }

    #[test]
    fn dark_wound_roll_has_no_hatch() {
        let out = anatomy(
            "a",
            Anatomy {
                tail_mm: 0.0,
                tail_struck: false,
                ..roll(6)
            },
        )
        .into_string();
        assert!(!out.contains("hatch") && !out.contains("NaN") && !out.contains(">tail"));
    }
}
