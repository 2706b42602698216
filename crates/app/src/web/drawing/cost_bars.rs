//! What a usable frame came to, a bar for each group, its parts side by side, against ready-wound film.

use super::plot::Axis;
use super::{n, svg};
use maud::{Markup, html};

/// What a bar is made of, in order: what ready-wound film stands against comes first.
pub const COST_PARTS: [&str; 6] = [
    "film",
    "cassettes",
    "tests",
    "chemistry",
    "pages",
    "anything else",
];
/// How dark each part is.
const DARK: [&str; 6] = ["0.9", "0.6", "0.4", "0.26", "0.15", "0.06"];

/// One group.
#[derive(Debug, Clone, PartialEq)]
pub struct CostBar {
    /// Its name.
    pub name: String,
    /// Money for a usable frame, by part.
    pub parts: [f64; 6],
    /// All of it, least and most.
    pub between: (f64, f64),
    /// Film of a ready-wound roll for a frame.
    pub ready: Option<f64>,
    /// The sum in words, with the currency.
    pub words: String,
}

const LEFT: f64 = 8.0;
const WIDTH: f64 = 344.0;
const EACH: f64 = 40.0;
const TOP: f64 = 8.0;

/// The plot.
pub fn cost_bars(id: &str, title: &str, bars: &[CostBar]) -> Markup {
    let most = bars
        .iter()
        .flat_map(|b| [b.between.1, b.ready.unwrap_or(0.0)]);
    let x = Axis::over(most.chain([0.0]), 6);
    let px = |v: f64| LEFT + x.kept(v) / x.high.max(1e-9) * WIDTH;
    let foot = TOP + EACH * bars.len() as f64;
    let any_ready = bars.iter().any(|b| b.ready.is_some());
    svg(
        id,
        "plot cost-bars",
        (360.0, foot + if any_ready { 76.0 } else { 56.0 }),
        title,
        &in_words(bars),
        html! {
            @for (i, b) in bars.iter().enumerate() {
                @let y = TOP + EACH * i as f64;
                text x=(n(LEFT)) y=(n(y + 12.0)) { (b.name) }
                text x=(n(LEFT + WIDTH)) y=(n(y + 12.0)) text-anchor="end" { (b.words) }
                (bar(b, y + 17.0, &px))
            }
            (legend(foot + 14.0, any_ready))
        },
    )
}

fn bar(b: &CostBar, y: f64, px: &impl Fn(f64) -> f64) -> Markup {
    let mut from = 0.0;
    let ends: Vec<(f64, f64)> = b
        .parts
        .iter()
        .map(|part| {
            let start = from;
            from += part.max(0.0);
            (start, from)
        })
        .collect();
    html! {
        g {
            @for (k, (start, end)) in ends.iter().enumerate() {
                @if start < end {
                    rect x=(n(px(*start))) y=(n(y)) width=(n(px(*end) - px(*start))) height="13"
                        fill="currentColor" fill-opacity=(DARK[k]) stroke="currentColor" stroke-width="0.75" {
                        title { (COST_PARTS[k]) ": " (format!("{:.3}", end - start)) }
                    }
                }
            }
            @if b.between.0 < b.between.1 {
                path fill="none" stroke="currentColor" stroke-width="1.25"
                    d={ "M" (n(px(b.between.0))) " " (n(y + 16.0)) "v4m0-2H" (n(px(b.between.1))) "m0-2v4" } {}
            }
            @if let Some(ready) = b.ready {
                path class="ready" fill="none" stroke="currentColor" stroke-width="2.5" stroke-dasharray="3 2"
                    d={ "M" (n(px(ready))) " " (n(y - 3.0)) "v19" } { title { "ready-wound: " (format!("{ready:.3}")) } }
            }
        }
    }
}

fn legend(y: f64, ready: bool) -> Markup {
    html! {
        g {
            @for (k, part) in COST_PARTS.iter().enumerate() {
                @let (x, y) = (LEFT + 114.0 * (k % 3) as f64, y + 20.0 * (k / 3) as f64);
                rect x=(n(x)) y=(n(y - 10.0)) width="12" height="12" fill="currentColor" fill-opacity=(DARK[k])
                    stroke="currentColor" stroke-width="0.75" {}
                text x=(n(x + 17.0)) y=(n(y)) { (part) }
            }
            @if ready {
                path fill="none" stroke="currentColor" stroke-width="2.5" stroke-dasharray="3 2" d={ "M" (n(LEFT + 6.0)) " " (n(y + 30.0)) "v14" } {}
                text x=(n(LEFT + 17.0)) y=(n(y + 41.0)) { "ready-wound film, against film, cassettes and tests" }
            }
        }
    }
}

fn in_words(bars: &[CostBar]) -> String {
    let all: Vec<String> = bars
        .iter()
        .map(|b| {
            let ready = b
                .ready
                .map(|r| format!(", ready-wound film {r:.2}"))
                .unwrap_or_default();
            format!("{}: {}{ready}", b.name, b.words)
        })
        .collect();
    format!("A usable frame came to: {}.", all.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The axis ends at 0.4; half of it is half of the 344 units.
    #[test]
    fn parts_stand_side_by_side_to_scale() {
        let out = cost_bars(
            "c",
            "By can",
            &[CostBar {
                name: "HM".into(),
                parts: [0.1, 0.0, 0.0, 0.1, 0.0, 0.0],
                between: (0.2, 0.4),
                ready: Some(0.3),
                words: "€ 0.20".into(),
            }],
        )
        .into_string();
        assert!(out.contains("x=\"8\" y=\"25\" width=\"86\""), "{out}");
        assert!(out.contains("x=\"94\" y=\"25\" width=\"86\""), "{out}");
        assert!(out.contains("HM: € 0.20, ready-wound film 0.30."), "{out}");
    }
}
