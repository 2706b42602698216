//! How far each possible measurement would narrow what is left: intervals under one another.

use super::{n, svg};
use maud::{Markup, html};

/// One interval with its name.
#[derive(Debug, Clone)]
pub struct Narrowing {
    /// What is measured, or "now".
    pub name: String,
    /// Half-width of the 95 % interval, one unit for all rows.
    pub half_width: f64,
    /// The half-width in words with its unit.
    pub words: String,
    /// Whether this is the one to do next.
    pub best: bool,
}

/// Intervals to scale under one another, all about the same mean; the ends of the widest are written below.
pub fn narrowing(id: &str, rows: &[Narrowing], (low, high): (&str, &str)) -> Markup {
    let (x0, x1, row_h) = (6.0, 334.0, 46.0);
    let widest = rows.iter().map(|r| r.half_width).fold(1e-9, f64::max);
    let mid = (x0 + x1) / 2.0;
    let px = (x1 - x0) / 2.0 / widest;
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
                @let half = (r.half_width * px).max(1.0);
                g class=(if r.best { "measure best" } else { "measure" }) {
                    text class="name" x=(n(x0)) y=(n(y + 15.0)) { (r.name) }
                    text class="number" x=(n(x1)) y=(n(y + 15.0)) text-anchor="end" { (r.words) }
                    rect class="track" x=(n(x0)) y=(n(y + 24.0)) width=(n(x1 - x0)) height="8" {}
                    rect class="bar" x=(n(mid - half)) y=(n(y + 22.0)) width=(n(2.0 * half)) height="12" {}
                    path class="mean" d={ "M" (n(mid)) " " (n(y + 19.0)) "v18" } {}
                }
            }
            text class="small" x=(n(x0)) y=(n(h - 4.0)) { (low) }
            text class="small" x=(n(x1)) y=(n(h - 4.0)) text-anchor="end" { (high) }
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
        let out =
            narrowing("n", &[row("now", 4.0), row("weigh", 2.0)], ("11 m", "19 m")).into_string();
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
