//! Drawings as pure functions: plain numbers in, SVG out.
//!
//! They hold no trade formulas and know no store. Colours come from the style sheet by class or
//! `currentColor`, so that the same drawing works in light, dark and print. Every drawing has a title
//! and a description in words, since not everybody can see it.

mod anatomy;
mod beaker;
mod can;
mod chance;
mod characteristic;
mod cost_bars;
mod cut_strips;
mod dial;
mod marked_page;
mod narrowing;
mod page_grid;
mod plot;
mod time_contrast;

pub use anatomy::{Anatomy, anatomy};
pub use beaker::beaker;
pub use can::{Can, can, can_small};
pub use chance::{Chance, chance};
pub use characteristic::{Characteristic, Construction, Reading, Triangle, characteristic};
pub use cost_bars::{COST_PARTS, CostBar, cost_bars};
pub use cut_strips::cut_strips;
pub use dial::{Dial, crank, dial, turns_in_words};
pub use marked_page::{Lying, MarkedPage, marked_page};
pub use narrowing::{Narrowing, narrowing};
pub use page_grid::{PageRow, page_grid};
pub use time_contrast::{Between, TimeContrast, time_contrast};

use maud::{Markup, html};

/// A coordinate with at most two decimals, so that pages stay small and the same everywhere.
fn n(x: f64) -> String {
    let s = format!("{:.2}", if x.is_finite() { x } else { 0.0 });
    let s = s.trim_end_matches('0').trim_end_matches('.');
    if s == "-0" {
        "0".to_owned()
    } else {
        s.to_owned()
    }
}

/// The outer element: a picture with its name and its description.
///
/// `id` must be unique on the page; it ties the picture to its words.
fn svg(id: &str, class: &str, (w, h): (f64, f64), title: &str, desc: &str, body: Markup) -> Markup {
    html! {
        svg xmlns="http://www.w3.org/2000/svg" role="img" class={ "drawing " (class) }
            viewBox={ "0 0 " (n(w)) " " (n(h)) } aria-labelledby={ (id) "-t " (id) "-d" } {
            title id={ (id) "-t" } { (title) }
            desc id={ (id) "-d" } { (desc) }
            (body)
        }
    }
}

/// A point on a circle; the angle runs clockwise from twelve o'clock, in turns.
fn on_circle(cx: f64, cy: f64, r: f64, turns: f64) -> (f64, f64) {
    let a = std::f64::consts::TAU * turns;
    (cx + r * a.sin(), cy - r * a.cos())
}

/// The path of an arc from one angle to another, clockwise, angles in turns (less than one apart).
fn arc(cx: f64, cy: f64, r: f64, from: f64, to: f64) -> String {
    let (x0, y0) = on_circle(cx, cy, r, from);
    let (x1, y1) = on_circle(cx, cy, r, to);
    let large = i32::from(to - from > 0.5);
    format!(
        "M{} {}A{r} {r} 0 {large} 1 {} {}",
        n(x0),
        n(y0),
        n(x1),
        n(y1),
        r = n(r)
    )
}

/// The path of a full ring between two radii, for even-odd filling.
fn ring(cx: f64, cy: f64, inner: f64, outer: f64) -> String {
    let circle = |r: f64| {
        format!(
            "M{} {cy}A{r} {r} 0 1 1 {} {cy}A{r} {r} 0 1 1 {} {cy}Z",
            n(cx - r),
            n(cx + r),
            n(cx - r),
            r = n(r),
            cy = n(cy)
        )
    };
    format!("{}{}", circle(outer), circle(inner))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short_and_never_nan() {
        assert_eq!(n(1.0), "1");
        assert_eq!(n(-0.001), "0");
        assert_eq!(n(2.506), "2.51");
        assert_eq!(n(f64::NAN), "0");
    }

    /// A quarter turn clockwise from the top is three o'clock.
    #[test]
    fn angles_run_clockwise_from_the_top() {
        let (x, y) = on_circle(0.0, 0.0, 10.0, 0.25);
        assert!((x - 10.0).abs() < 1e-9 && y.abs() < 1e-9);
    }
}
