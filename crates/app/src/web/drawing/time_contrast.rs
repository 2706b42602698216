//! Contrast against developing time: the strips, the law that joins them, and the time for a wanted contrast.

use super::plot::{Axis, Frame};
use super::{n, svg};
use maud::{Markup, html};

/// A value with the ends of its 95 % interval.
pub type Between = (f64, f64, f64);

/// What is drawn.
#[derive(Debug, Clone)]
pub struct TimeContrast {
    /// What the contrast is measured in.
    pub measure: String,
    /// The strips: developing time in minutes, contrast.
    pub strips: Vec<(f64, Between)>,
    /// The law: developing time in minutes, contrast.
    pub curve: Vec<(f64, Between)>,
    /// The contrast wanted.
    pub wanted: Option<f64>,
    /// The time it needs, minutes.
    pub time: Option<Between>,
}

/// The plot.
pub fn time_contrast(id: &str, c: &TimeContrast) -> Markup {
    let all = || c.strips.iter().chain(&c.curve);
    let times = all().map(|p| p.0);
    let x = Axis::over(times.chain(c.time.iter().flat_map(|t| [t.0, t.1, t.2])), 7);
    let strips = c.strips.iter().flat_map(|p| [p.1.1, p.1.2]);
    let y = Axis::over(
        strips.chain(c.curve.iter().map(|p| p.1.0)).chain(c.wanted),
        6,
    );
    let frame = Frame {
        x,
        y,
        left: 38.0,
        top: 22.0,
        width: 310.0,
        height: 200.0,
    };
    let band: Vec<(f64, f64, f64)> = c
        .curve
        .iter()
        .map(|(t, b)| (*t, b.1.max(y.low), b.2.min(y.high)))
        .collect();
    svg(
        id,
        "plot time-contrast",
        (360.0, frame.bottom() + 40.0),
        &format!("{} against developing time", c.measure),
        &in_words(c),
        html! {
            (frame.grid("developing time, minutes", &c.measure))
            path class="band" d=(frame.band(&band)) {}
            path class="line" d=(frame.line(c.curve.iter().map(|(t, b)| (*t, b.0)))) {}
            @if let Some(wanted) = c.wanted { (target(&frame, wanted, c.time)) }
            @for (t, b) in &c.strips {
                g class="reading" {
                    title { (format!("{} min: {:.2}, 95 % between {:.2} and {:.2}", n(*t), b.0, b.1, b.2)) }
                    path d=(frame.bar(*t, b.1, b.2)) {}
                    circle cx=(n(frame.px(*t))) cy=(n(frame.py(b.0))) r="3.5" {}
                }
            }
        },
    )
}

/// The wanted contrast, down to the time it needs.
fn target(frame: &Frame, wanted: f64, time: Option<Between>) -> Markup {
    let y = frame.py(wanted);
    html! {
        g class="target" {
            @match time {
                None => path d={ "M" (n(frame.left)) " " (n(y)) "H" (n(frame.right())) } {},
                Some((t, low, high)) => {
                    path d={ "M" (n(frame.left)) " " (n(y)) "H" (n(frame.px(t))) "V" (n(frame.bottom())) } {}
                    rect class="interval" x=(n(frame.px(low))) y=(n(frame.bottom() - 4.0)) width=(n((frame.px(high) - frame.px(low)).max(1.0))) height="8" {}
                }
            }
            text x=(n(frame.left + 5.0)) y=(n(y - 5.0)) { (format!("{wanted:.2}")) }
        }
    }
}

fn in_words(c: &TimeContrast) -> String {
    let strips: Vec<String> = c
        .strips
        .iter()
        .map(|(t, b)| format!("{} min: {:.2} ({:.2} to {:.2})", n(*t), b.0, b.1, b.2))
        .collect();
    let wanted = match (c.wanted, c.time) {
        (Some(w), Some((t, low, high))) => {
            format!(". {w:.2} needs {t:.1} min ({low:.1} to {high:.1})")
        }
        (Some(w), None) => format!(". {w:.2} is wanted"),
        _ => String::new(),
    };
    format!("{}{wanted}.", strips.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_target_meets_the_time_axis_at_its_time() {
        let out = time_contrast(
            "t",
            &TimeContrast {
                measure: "Contrast index".into(),
                strips: vec![(5.0, (0.47, 0.45, 0.49)), (25.0 / 3.0, (0.71, 0.69, 0.73))],
                curve: vec![(5.0, (0.47, 0.45, 0.49)), (10.0, (0.71, 0.69, 0.73))],
                wanted: Some(0.59),
                time: Some((7.5, 7.0, 8.0)),
            },
        )
        .into_string();
        // The axis goes from 5 to 10 minutes over 310 units from 38.
        assert!(out.contains("H193V222"), "{out}");
        assert!(out.contains("0.59 needs 7.5 min (7.0 to 8.0)."));
        assert!(out.contains("8.33 min: 0.71"), "{out}");
    }
}
