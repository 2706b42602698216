//! A sleeve page as a grid: which roll fills which rows.

use super::{n, svg};
use maud::{Markup, html};

/// One row of the page.
#[derive(Debug, Clone)]
pub struct PageRow {
    /// The roll in this row; empty for a free row.
    pub roll: String,
    /// Frame number of the row's first frame.
    pub first: u32,
    /// Frames in this row.
    pub frames: u32,
}

/// The page with `per_row` places in each row; neighbouring rolls are told apart by tint and label.
pub fn page_grid(id: &str, per_row: u32, rows: &[PageRow]) -> Markup {
    let per_row = per_row.max(1);
    let (x0, w, row_h) = (64.0, 276.0, 34.0);
    let cell = w / f64::from(per_row);
    let h = row_h * rows.len() as f64 + 4.0;
    let mut words = Vec::new();
    let mut tint = false;
    let mut shown: Vec<(bool, bool)> = Vec::new(); // (tinted, starts a roll)
    for (i, row) in rows.iter().enumerate() {
        // Two rolls of one length from one can have one label: the second starts at its own frame 1.
        let starts = i == 0 || rows[i - 1].roll != row.roll || (row.frames > 0 && row.first == 1);
        if starts && i > 0 {
            tint = !tint;
        }
        shown.push((tint, starts));
        words.push(if row.frames == 0 {
            format!("row {} free", i + 1)
        } else {
            format!(
                "row {} {} frames {} to {}",
                i + 1,
                row.roll,
                row.first,
                row.first + row.frames - 1
            )
        });
    }
    svg(
        id,
        "page-grid",
        (344.0, h),
        "The sleeve page",
        &format!("{}.", words.join("; ")),
        html! {
            @for (i, (row, (tinted, starts))) in rows.iter().zip(shown).enumerate() {
                @let y = row_h * i as f64 + 2.0;
                @if starts {
                    text class="label" x="0" y=(n(y + 22.0)) { (if row.frames == 0 { "free" } else { &row.roll }) }
                }
                @for k in 0..per_row {
                    @let x = x0 + f64::from(k) * cell;
                    @let filled = k < row.frames;
                    rect class=(match (filled, tinted) { (false, _) => "place", (true, false) => "place filled", _ => "place filled other" })
                        x=(n(x + 1.0)) y=(n(y + 3.0)) width=(n(cell - 2.0)) height=(n(row_h - 6.0)) {}
                    @if filled {
                        text class="number" x=(n(x + cell / 2.0)) y=(n(y + 22.0)) text-anchor="middle" { (row.first + k) }
                    }
                }
            }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two rolls of 18 fill a 6 × 6 page (geometry).
    #[test]
    fn two_rolls_of_eighteen_fill_a_page() {
        let rows: Vec<PageRow> = (0..6)
            .map(|i| PageRow {
                roll: if i < 3 { "HM-07" } else { "HM-08" }.to_owned(),
                first: 1 + 6 * (i % 3),
                frames: 6,
            })
            .collect();
        let out = page_grid("p", 6, &rows).into_string();
        assert_eq!(out.matches("place filled").count(), 36);
        assert_eq!(out.matches("class=\"label\"").count(), 2);
    }

    /// Rolls of one length from one can carry the same label in a plan, and are two rolls still.
    #[test]
    fn rolls_alike_are_told_apart() {
        let row = |roll: &str, first, frames| PageRow {
            roll: roll.to_owned(),
            first,
            frames,
        };
        let rows = [
            row("HM 6", 1, 6),
            row("HM 6", 1, 6),
            row("", 1, 0),
            row("", 1, 0),
        ];
        let out = page_grid("p", 6, &rows).into_string();
        assert_eq!(out.matches(">HM 6<").count(), 2);
        assert_eq!(out.matches("filled other").count(), 6);
        assert_eq!(out.matches(">free<").count(), 1);
    }
}
