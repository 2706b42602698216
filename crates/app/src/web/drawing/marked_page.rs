//! A sleeve page with what lies on it, and one place marked: where to put the finger.

use super::{n, svg};
use maud::{Markup, html};

/// A strip on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Lying {
    /// The roll it is of.
    pub roll: String,
    /// Row, from zero.
    pub row: u32,
    /// First place of the row that it takes, from zero.
    pub position: u32,
    /// Places it takes.
    pub places: u32,
    /// Its first frame, and its last.
    pub frames: (String, String),
}

/// The page: so many rows of so many places, the strips on it, and the place that is marked.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedPage<'a> {
    /// Rows.
    pub rows: u32,
    /// Places in a row.
    pub per_row: u32,
    /// What lies on it.
    pub strips: &'a [Lying],
    /// Row and place that are marked, from zero; none to show the page as it is.
    pub mark: Option<(u32, u32)>,
    /// What lies there, such as `12`; the page's name when nothing is marked.
    pub name: &'a str,
}

/// Rows of a page drawn at most, and places of a row: a format beyond them is drawn to these.
const MOST: u32 = 40;

/// The page with its mark; row numbers stand at the left.
pub fn marked_page(id: &str, page: &MarkedPage<'_>) -> Markup {
    let rows = page.rows.clamp(1, MOST);
    let per_row = page.per_row.clamp(1, MOST);
    let (x0, w, row_h) = (26.0, 314.0, 30.0);
    let cell = w / f64::from(per_row);
    let at = |row: u32, place: u32| (x0 + f64::from(place) * cell, 2.0 + f64::from(row) * row_h);
    let strips = page
        .strips
        .iter()
        .filter(|s| s.row < rows && s.position < per_row);
    let mark = page
        .mark
        .map(|(row, place)| at(row.min(rows - 1), place.min(per_row - 1)));
    let says = match page.mark {
        Some((row, place)) => format!(
            "Frame {} lies in row {}, place {}.",
            page.name,
            row.saturating_add(1),
            place.saturating_add(1)
        ),
        None => {
            let one = |s: &Lying| {
                let (first, last) = &s.frames;
                format!(
                    "row {} {} frames {first} to {last}",
                    s.row.saturating_add(1),
                    s.roll
                )
            };
            let all: Vec<String> = page.strips.iter().map(one).collect();
            format!(
                "{}.",
                if all.is_empty() {
                    "Nothing lies on it".to_owned()
                } else {
                    all.join("; ")
                }
            )
        }
    };
    let words = format!("A page of {rows} rows with {per_row} places each. {says}");
    svg(
        id,
        "page-grid marked-page",
        (344.0, row_h * f64::from(rows) + 4.0),
        if mark.is_some() {
            "Where it lies"
        } else {
            page.name
        },
        &words,
        html! {
            @for row in 0..rows {
                @let (_, y) = at(row, 0);
                text class="number" x="18" y=(n(y + 20.0)) text-anchor="end" { (row + 1) }
                @for place in 0..per_row {
                    @let (x, y) = at(row, place);
                    rect class="place" x=(n(x + 1.0)) y=(n(y + 2.0)) width=(n(cell - 2.0)) height=(n(row_h - 4.0)) {}
                }
            }
            @for s in strips {
                @let (x, y) = at(s.row, s.position);
                @let places = s.places.min(per_row - s.position).max(1);
                rect class="place filled other" x=(n(x + 1.0)) y=(n(y + 2.0))
                    width=(n(f64::from(places) * cell - 2.0)) height=(n(row_h - 4.0)) {}
                // Two numbers need room for two.
                text class="small" x=(n(x + 5.0)) y=(n(y + 19.0)) { (s.roll) @if places > 2 { ": " (s.frames.0) "–" (s.frames.1) } }
            }
            @if let Some((mx, my)) = mark {
                rect class="mark" x=(n(mx)) y=(n(my + 1.0)) width=(n(cell)) height=(n(row_h - 2.0)) {}
                text class="mark-name" x=(n(mx + cell / 2.0)) y=(n(my + 20.0)) text-anchor="middle" { (page.name) }
            }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Row 3, place 4 of a page of 7 by 5 (from zero: 2, 3) stands three cells right and two rows down (geometry).
    #[test]
    fn the_mark_stands_where_the_frame_lies() {
        let strips = [Lying {
            roll: "HM-07".into(),
            row: 2,
            position: 0,
            places: 5,
            frames: ("11".into(), "15".into()),
        }];
        let page = MarkedPage {
            rows: 7,
            per_row: 5,
            strips: &strips,
            mark: Some((2, 3)),
            name: "14",
        };
        let out = marked_page("p", &page).into_string();
        assert_eq!(out.matches("class=\"place\"").count(), 35);
        let x = 26.0 + 3.0 * 314.0 / 5.0;
        assert!(
            out.contains(&format!("class=\"mark\" x=\"{}\" y=\"63\"", n(x))),
            "{out}"
        );
        assert!(out.contains("Frame 14 lies in row 3, place 4."), "{out}");
        let out = marked_page(
            "p",
            &MarkedPage {
                mark: None,
                name: "Page 2",
                ..page
            },
        )
        .into_string();
        assert!(
            out.contains("row 3 HM-07 frames 11 to 15.") && !out.contains("mark-name"),
            "{out}"
        );
    }

    /// What a store could hold that no page can: nothing is drawn beyond the page, and nothing fails.
    #[test]
    fn nothing_lies_beyond_the_page() {
        let strips = [Lying {
            roll: "HM-07".into(),
            row: 90,
            position: 90,
            places: u32::MAX,
            frames: (String::new(), String::new()),
        }];
        let page = MarkedPage {
            rows: 0,
            per_row: u32::MAX,
            strips: &strips,
            mark: Some((u32::MAX, u32::MAX)),
            name: "00",
        };
        let out = marked_page("p", &page).into_string();
        assert_eq!(out.matches("filled").count(), 0);
        assert_eq!(out.matches("class=\"place\"").count(), 40);
    }
}
