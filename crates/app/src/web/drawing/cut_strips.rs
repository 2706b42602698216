//! A developed roll as its strips, one below the other, with scissors where the film is cut.

use super::{n, svg};
use maud::{Markup, html};

/// Frames of a strip drawn at most.
const MOST: usize = 40;

/// The strips by the numbers of their frames; the film is cut at the end of every strip but the last.
pub fn cut_strips(id: &str, strips: &[Vec<String>]) -> Markup {
    let longest = strips
        .iter()
        .map(Vec::len)
        .max()
        .unwrap_or(1)
        .clamp(1, MOST);
    let (w, row_h) = (312.0, 34.0);
    let cell = w / longest as f64;
    let words: Vec<String> = strips
        .iter()
        .filter_map(|s| Some(format!("{} to {}", s.first()?, s.last()?)))
        .collect();
    svg(
        id,
        "page-grid cut-strips",
        (344.0, row_h * strips.len() as f64 + 4.0),
        "Where to cut",
        &format!("Strips of frames {}.", words.join("; ")),
        html! {
            @for (i, strip) in strips.iter().enumerate() {
                @let y = row_h * i as f64 + 2.0;
                @for (k, frame) in strip.iter().take(MOST).enumerate() {
                    @let x = 2.0 + cell * k as f64;
                    rect class="place filled" x=(n(x + 1.0)) y=(n(y + 3.0)) width=(n(cell - 2.0)) height=(n(row_h - 8.0)) {}
                    text class="number" x=(n(x + cell / 2.0)) y=(n(y + 21.0)) text-anchor="middle" { (frame) }
                }
                @if i + 1 < strips.len() {
                    @let x = 6.0 + cell * strip.len().min(MOST) as f64;
                    line class="cut" x1=(n(x)) y1=(n(y)) x2=(n(x)) y2=(n(y + row_h - 2.0)) {}
                    text class="number" x=(n(x + 5.0)) y=(n(y + 21.0)) { "cut" }
                }
            }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three strips are two cuts.
    #[test]
    fn every_strip_but_the_last_ends_in_a_cut() {
        let strip = |from: u32| (from..from + 6).map(|f| f.to_string()).collect();
        let out = cut_strips("c", &[strip(1), strip(7), strip(13)]).into_string();
        assert_eq!(out.matches("class=\"cut\"").count(), 2);
        assert_eq!(out.matches("place filled").count(), 18);
        assert!(out.contains("1 to 6; 7 to 12; 13 to 18"));
        assert!(!cut_strips("c", &[]).into_string().contains("cut\" x1"));
    }
}
