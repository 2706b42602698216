//! How far each possible measurement would narrow what is left: intervals under one another.

use super::{n, svg};
use maud::{Markup, html};

/// One interval with its name.
#[derive(Debug, Clone)]
pub struct Narrowing {
    /// What is measured, or "now".
    pub name: String,
    /// Half-width of the 95 % interval, in the unit of `mean` and `full`.
    pub half_width: f64,
    /// The half-width in words with its unit.
    pub words: String,
    /// Whether this is the one to do next.
    pub best: bool,
}

/// Intervals to scale on a ruler from empty to full; `mean` and `full` in one unit.
pub fn narrowing(id: &str, mean: f64, full: f64, rows: &[Narrowing]) -> Markup {
    let (x0, x1, row_h) = (6.0, 334.0, 46.0);
    let x = |v: f64| x0 + (x1 - x0) * (v / full.max(1e-9)).clamp(0.0, 1.0);
    let h = row_h * rows.len() as f64 + 22.0;
    let words: Vec<String> = rows
        .iter()
        .map(|r| format!("{}: {}", r.name, r.words))
        .collect();
    svg(
        id,
        "narrowing",
        (340.0, h),
        "What each measurement would narrow",
        &format!("{}.", words.join("; ")),
        html! {
            @for (i, r) in rows.iter().enumerate() {
                @let y = row_h * i as f64;
                g class=(if r.best { "measure best" } else { "measure" }) {
                    text class="name" x=(n(x0)) y=(n(y + 15.0)) { (r.name) }
                    text class="number" x=(n(x1)) y=(n(y + 15.0)) text-anchor="end" { (r.words) }
                    rect class="track" x=(n(x0)) y=(n(y + 24.0)) width=(n(x1 - x0)) height="8" {}
                    rect class="bar" x=(n(x(mean - r.half_width))) y=(n(y + 22.0))
                        width=(n((x(mean + r.half_width) - x(mean - r.half_width)).max(2.0))) height="12" {}
                    path class="dimension strong" d={ "M" (n(x(mean))) " " (n(y + 19.0)) "v18" } {}
                }
            }
            text class="small" x=(n(x0)) y=(n(h - 4.0)) { "empty" }
            text class="small" x=(n(x1)) y=(n(h - 4.0)) text-anchor="end" { "full" }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half the doubt is drawn half as wide.
    #[test]
    fn widths_are_to_scale() {
        let row = |name: &str, half_width: f64| Narrowing {
            name: name.to_owned(),
            half_width,
            words: format!("± {half_width} m"),
            best: false,
        };
        let out = narrowing("n", 15.0, 30.0, &[row("now", 4.0), row("weigh", 2.0)]).into_string();
        let widths: Vec<f64> = out
            .split("class=\"bar\"")
            .skip(1)
            .map(|s| {
                s.split("width=\"")
                    .nth(1)
                    .unwrap()
                    .split('"')
                    .next()
                    .unwrap()
                    .parse()
                    .unwrap()
            })
            .collect();
        assert!((widths[0] / widths[1] - 2.0).abs() < 1e-3);
    }
}
