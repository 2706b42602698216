//! A bath as a beaker: how much of its life is left, as the level.

use super::{n, svg};
use maud::{Markup, html};

/// A beaker filled to `left` (0 to 1) of what the bath began with, without a level where that is not known; crossed out
/// when it is spent.
pub fn beaker(left: Option<f64>, spent: bool) -> Markup {
    let known = left.filter(|l| l.is_finite()).map(|l| l.clamp(0.0, 1.0));
    let left = known.unwrap_or(0.0);
    let (top, bottom, x0, x1) = (14.0, 112.0, 14.0, 86.0);
    let level = bottom - left * (bottom - top);
    let desc = match known {
        _ if spent => "Spent: a new bath is due.".to_owned(),
        Some(left) => format!("{} per cent of its life is left.", (left * 100.0).round()),
        None => "What is left is not known.".to_owned(),
    };
    html! {
        (svg("beaker", "beaker", (100.0, 120.0), "What the bath has left", &desc, html! {
            rect.solution x=(n(x0)) y=(n(level)) width=(n(x1 - x0)) height=(n(bottom - level)) {}
            path.glass d={ "M8 8 L14 14 V112 H86 V8" } fill="none" stroke="currentColor" stroke-width="2.5" {}
            @for part in 1..4 {
                @let y = bottom - f64::from(part) / 4.0 * (bottom - top);
                path d={ "M14 " (n(y)) " h14" } stroke="currentColor" stroke-width="1.5" {}
            }
            @if known.is_none() && !spent { text x="50" y="76" text-anchor="middle" font-size="44" fill="currentColor" { "?" } }
            @if spent { path d="M22 24 L78 104 M78 24 L22 104" stroke="currentColor" stroke-width="3" {} }
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_level_says_what_is_left() {
        let full = beaker(Some(1.0), false).into_string();
        assert!(
            full.contains("100 per cent") && full.contains("y=\"14\" width=\"72\" height=\"98\"")
        );
        for unknown in [None, Some(f64::NAN)] {
            let none = beaker(unknown, false).into_string();
            assert!(none.contains("height=\"0\"") && none.contains("is not known"));
            assert!(!none.contains("per cent"));
        }
        assert!(beaker(Some(0.2), true).into_string().contains("Spent"));
    }
}
