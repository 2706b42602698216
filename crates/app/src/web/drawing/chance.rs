//! The chance that a roll can still be wound, for each roll length: readable with wet hands.

use super::{n, svg};
use maud::{Markup, html};

/// One roll length and its chance.
#[derive(Debug, Clone, Copy)]
pub struct Chance {
    /// Frames of the roll.
    pub frames: u32,
    /// Probability that the can still holds it, 0 to 1.
    pub probability: f64,
}

/// Bars, longest roll first; sure ones solid, doubtful ones hatched in part, hopeless ones only outlined.
pub fn chance(id: &str, rows: &[Chance]) -> Markup {
    let mut rows = rows.to_vec();
    rows.sort_by_key(|r| std::cmp::Reverse(r.frames));
    let (row_h, x0, x1) = (38.0, 46.0, 236.0);
    let words: Vec<String> = rows
        .iter()
        .map(|r| {
            format!(
                "{} frames: {} ({})",
                r.frames,
                verdict(r.probability),
                percent(r.probability)
            )
        })
        .collect();
    svg(
        id,
        "chance",
        (340.0, row_h * rows.len() as f64 + 2.0),
        "What this can can still wind",
        &format!("{}.", words.join("; ")),
        html! {
            @for (i, r) in rows.iter().enumerate() {
                @let p = r.probability.clamp(0.0, 1.0);
                @let y = row_h * i as f64;
                @let class = if SURE <= p { "sure" } else if p < HOPELESS { "hopeless" } else { "maybe" };
                g class=(class) {
                    text class="frames" x="36" y=(n(y + 26.0)) text-anchor="end" { (r.frames) }
                    rect class="track" x=(n(x0)) y=(n(y + 9.0)) width=(n(x1 - x0)) height="20" {}
                    rect class="bar" x=(n(x0)) y=(n(y + 9.0)) width=(n((x1 - x0) * p)) height="20" {}
                    text class="verdict" x=(n(x1 + 10.0)) y=(n(y + 24.0)) { (verdict(p)) }
                    text class="small" x="340" y=(n(y + 24.0)) text-anchor="end" { (percent(p)) }
                }
            }
        },
    )
}

const SURE: f64 = 0.95;
const HOPELESS: f64 = 0.05;

/// One word for a chance.
pub(super) fn verdict(p: f64) -> &'static str {
    match p {
        p if SURE <= p => "yes",
        p if 0.75 <= p => "likely",
        p if 0.4 <= p => "even",
        p if HOPELESS <= p => "doubtful",
        _ => "no",
    }
}

fn percent(p: f64) -> String {
    match p {
        p if 0.995 <= p => "> 99 %".to_owned(),
        p if p < 0.005 => "< 1 %".to_owned(),
        p => format!("{:.0} %", p * 100.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn longest_first_and_in_words() {
        let out = chance(
            "c",
            &[
                Chance {
                    frames: 12,
                    probability: 0.999,
                },
                Chance {
                    frames: 36,
                    probability: 0.5,
                },
            ],
        )
        .into_string();
        assert!(out.contains("36 frames: even (50 %); 12 frames: yes (&gt; 99 %)."));
        assert!(out.find(">36</text>").unwrap() < out.find(">12</text>").unwrap());
    }

    #[test]
    fn never_claims_certainty() {
        assert_eq!(percent(1.0), "> 99 %");
        assert_eq!(percent(0.0), "< 1 %");
    }
}
