//! From rows of rolls to strips in their pockets.

use super::{Cut, Filing, Free, Page, Placed, Row};

/// A row: the roll's strip, or the last of one roll and the first of another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Line {
    pub(super) first: Piece,
    pub(super) second: Option<Piece>,
}

/// A strip of a roll, in one of its cuttings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Piece {
    /// The roll, by place in the group.
    pub(super) cut: usize,
    /// Which of its strips.
    pub(super) strip: u32,
    pub(super) how: How,
}

/// Which cutting a roll is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum How {
    /// It shares no row.
    Alone,
    /// Its first strip shares one.
    First,
    /// Its last strip shares one.
    Last,
}

/// The page that holds these lines.
pub(super) fn page(
    filing: &Filing,
    group: &[Cut],
    lines: Vec<Line>,
    started: bool,
    stock: Option<String>,
) -> Page {
    let used = match (&filing.started, started) {
        (Some(s), true) => s.used_rows,
        _ => 0,
    };
    let width = filing.page.frames_per_row;
    let (mut rows, mut free, mut rolls) = (Vec::new(), Vec::new(), Vec::new());
    let mut number = used;
    for line in lines {
        number += 1;
        let mut position = 0;
        let mut strips = Vec::new();
        for piece in [Some(line.first), line.second].into_iter().flatten() {
            let cut = &group[piece.cut];
            let strip = match piece.how {
                How::Alone => &cut.even,
                How::First => &cut.short_first,
                How::Last => &cut.short_last,
            }[piece.strip as usize]
                .clone();
            let pockets = strip.pockets();
            strips.push(Placed {
                roll: cut.roll,
                strip,
                position,
            });
            position += pockets;
            if rolls.last() != Some(&cut.roll) {
                rolls.push(cut.roll);
            }
        }
        if position < width {
            free.push(Free {
                row: number,
                position,
                pockets: width - position,
            });
        }
        rows.push(Row {
            row: number,
            strips,
        });
    }
    for row in number + 1..=filing.page.rows {
        free.push(Free {
            row,
            position: 0,
            pockets: width,
        });
    }
    Page {
        started,
        stock,
        rows,
        free,
        rolls,
    }
}
