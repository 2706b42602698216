//! The can: core, wound film and the doubt about it, in true proportion.

use super::{n, ring, svg};
use maud::{Markup, html};

/// Diameters of one can's roll, in millimetres.
#[derive(Debug, Clone, Copy)]
pub struct Can {
    /// The core the film is wound on.
    pub core_mm: f64,
    /// The roll when the can was full.
    pub full_mm: f64,
    /// The roll now, best estimate.
    pub mean_mm: f64,
    /// Lower end of the 95 % interval.
    pub low_mm: f64,
    /// Upper end of the 95 % interval.
    pub high_mm: f64,
}

impl Can {
    /// The same with every diameter in order: core ≤ low ≤ mean ≤ high, none below the core.
    fn tidy(self) -> Self {
        let core = self.core_mm.max(1.0);
        let low = self.low_mm.max(core);
        let mean = self.mean_mm.max(low);
        let high = self.high_mm.max(mean);
        Self {
            core_mm: core,
            full_mm: self.full_mm.max(core + 1.0),
            mean_mm: mean,
            low_mm: low,
            high_mm: high,
        }
    }

    fn describe(&self) -> String {
        format!(
            "Seen from the side, in true proportion: core {:.1} mm across; wound film {:.1} mm across, \
             95 % interval {:.1} to {:.1} mm; a full can is {:.1} mm.",
            self.core_mm, self.mean_mm, self.low_mm, self.high_mm, self.full_mm
        )
    }
}

/// The large drawing with dimension lines.
pub fn can(id: &str, name: &str, can: Can) -> Markup {
    let c = can.tidy();
    let widest = c.full_mm.max(c.high_mm);
    let px_per_mm = 300.0 / widest;
    let (cx, cy) = (170.0, 160.0);
    let r = |mm: f64| mm * px_per_mm / 2.0;
    let foot = cy + r(widest);
    let (y_core, y_mean) = (foot + 22.0, foot + 52.0);
    svg(
        id,
        "can",
        (340.0, y_mean + 14.0),
        &format!("What is left in {name}"),
        &c.describe(),
        html! {
            (body(cx, cy, c, px_per_mm))
            @for (d, y) in [(c.core_mm, y_core), (c.mean_mm, y_mean)] {
                path class="dimension" d={
                    "M" (n(cx - r(d))) " " (n(cy)) "V" (n(y + 5.0)) "M" (n(cx + r(d))) " " (n(cy)) "V" (n(y + 5.0))
                } {}
                path class="dimension strong" d={ "M" (n(cx - r(d))) " " (n(y)) "H" (n(cx + r(d))) } {}
                @for x in [cx - r(d), cx + r(d)] {
                    path class="dimension strong" d={ "M" (n(x - 3.0)) " " (n(y + 3.0)) "l6 -6" } {}
                }
                text class="halo" x=(n(cx)) y=(n(y + 5.0)) text-anchor="middle" { (format!("⌀ {d:.1} mm")) }
            }
        },
    )
}

/// The small drawing for lists: no words, at a scale shared by the whole shelf.
///
/// `widest_mm` is the widest full can of the shelf, so that cans may be compared by eye.
pub fn can_small(id: &str, name: &str, can: Can, widest_mm: f64) -> Markup {
    let c = can.tidy();
    let px_per_mm = 84.0 / widest_mm.max(c.full_mm).max(c.high_mm);
    svg(
        id,
        "can small",
        (88.0, 88.0),
        &format!("What is left in {name}"),
        &c.describe(),
        body(44.0, 44.0, c, px_per_mm),
    )
}

fn body(cx: f64, cy: f64, c: Can, px_per_mm: f64) -> Markup {
    let r = |mm: f64| mm * px_per_mm / 2.0;
    let (hub, hole) = (r(c.core_mm), r(c.core_mm) * 0.5);
    html! {
        circle class="ghost" cx=(n(cx)) cy=(n(cy)) r=(n(r(c.full_mm))) {}
        path class="film" fill-rule="evenodd" d=(ring(cx, cy, hub, r(c.low_mm))) {}
        path class="turns" d=(spiral(cx, cy, hub, r(c.mean_mm))) {}
        path class="doubt" fill-rule="evenodd" d=(ring(cx, cy, r(c.low_mm), r(c.high_mm))) {}
        circle class="edge" cx=(n(cx)) cy=(n(cy)) r=(n(r(c.mean_mm))) {}
        path class="core" fill-rule="evenodd" d=(ring(cx, cy, hole, hub)) {}
        // The key way of the core's hole.
        path class="core-key" d={
            "M" (n(cx - hole * 0.16)) " " (n(cy - hole * 0.72)) "h" (n(hole * 0.32)) "v" (n(-hole * 0.55))
            "h" (n(-hole * 0.32)) "Z"
        } {}
    }
}

/// A spiral in half circles whose centres alternate; one drawn turn stands for many turns of film.
fn spiral(cx: f64, cy: f64, from: f64, to: f64) -> String {
    let step = 3.2_f64; // gap between drawn turns
    let turns = ((to - from) / step).floor();
    if turns < 1.0 {
        return String::new();
    }
    let half_step = (to - from) / turns / 2.0;
    let mut d = format!("M{} {}", n(cx + from), n(cy));
    let mut r = from;
    let mut side = -1.0;
    for _ in 0..(turns as usize * 2) {
        let next = r + half_step;
        let mean = (r + next) / 2.0;
        d.push_str(&format!(
            "A{m} {m} 0 0 0 {} {}",
            n(cx + side * next),
            n(cy),
            m = n(mean)
        ));
        r = next;
        side = -side;
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Can {
        Can {
            core_mm: 31.75,
            full_mm: 78.9,
            mean_mm: 58.0,
            low_mm: 54.0,
            high_mm: 61.5,
        }
    }

    /// The drawing is to scale: the ring for the full can and the film's edge keep their ratio.
    #[test]
    fn proportions_are_true() {
        let out = can("c", "HM", sample()).into_string();
        let radius = |class: &str| -> f64 {
            let at = out.find(&format!("class=\"{class}\"")).unwrap();
            let tail = &out[at..];
            let r = tail.find(" r=\"").unwrap() + 4;
            tail[r..].split('"').next().unwrap().parse().unwrap()
        };
        assert!((radius("edge") / radius("ghost") - 58.0 / 78.9).abs() < 1e-3);
    }

    #[test]
    fn words_say_what_the_picture_shows() {
        let out = can("c", "HM", sample()).into_string();
        assert!(out.contains("<title id=\"c-t\">What is left in HM</title>"));
        assert!(out.contains("54.0 to 61.5 mm"));
    }

    /// An emptied can, or numbers out of order, still give a picture.
    #[test]
    fn odd_numbers_do_not_break_it() {
        let odd = Can {
            core_mm: 31.75,
            full_mm: 10.0,
            mean_mm: 12.0,
            low_mm: f64::NAN,
            high_mm: 3.0,
        };
        let out = can("c", "HM", odd).into_string();
        assert!(!out.contains("NaN"));
    }
}
