//! Paper, margins, the grid that labels stand on, and the check bar at the foot of every sheet.

use spoolwright_core::{Error, Kind};

use crate::drawing::{Anchor, Document, Face, Ink, Pen, Rect, Sheet, Stroke};
use crate::fit::{self, pt};

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 in, 215.9 × 279.4 mm.
    Letter,
}

impl Paper {
    /// Both, for forms and tests.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// Width and height in millimetres.
    pub const fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }

    /// The word used in files and contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }

    /// The paper of that word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.word() == word)
    }
}

/// Edge that office printers leave white, in millimetres.
pub(crate) const MARGIN: f64 = 8.0;
/// Height kept for the check bar above the bottom margin.
pub(crate) const FOOT: f64 = 10.0;
/// Length of the check bar.
pub const CHECK_BAR_MM: f64 = 50.0;
/// Width of a cut line.
pub(crate) const HAIRLINE: f64 = 0.1;

/// Where the labels of a sheet stand.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Grid {
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) gap_x: f64,
    pub(crate) gap_y: f64,
    /// Left and top edge of the first label; centred and at the top margin when none.
    pub(crate) left: Option<f64>,
    pub(crate) top: Option<f64>,
}

/// A grid worked out for one paper.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Places {
    grid: Grid,
    left: f64,
    top: f64,
    columns: usize,
    rows: usize,
}

impl Grid {
    /// Labels edge to edge.
    pub(crate) const fn tight(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            gap_x: 0.0,
            gap_y: 0.0,
            left: None,
            top: None,
        }
    }

    /// How many fit on the paper, and where.
    pub(crate) fn on(self, paper: Paper) -> Result<Places, Error> {
        let (w, h) = paper.size();
        let (left, right) = match self.left {
            Some(left) => (left, w),
            None => (MARGIN, w - MARGIN),
        };
        let top = self.top.unwrap_or(MARGIN);
        let bottom = h - MARGIN - FOOT;
        let fit = |room: f64, size: f64, gap: f64| {
            ((room + gap + 1e-6) / (size + gap)).floor().max(0.0) as usize
        };
        let columns = fit(right - left, self.width, self.gap_x);
        let rows = fit(bottom - top, self.height, self.gap_y);
        if columns == 0 || rows == 0 {
            return Err(Error::new(
                Kind::Impossible,
                "the label",
                format!(
                    "{} × {} mm at {left} mm from the left and {top} mm from the top",
                    self.width, self.height
                ),
                format!("what fits above the check bar on {w} × {h} mm paper"),
                "Choose a smaller label, smaller offsets or larger paper.",
            ));
        }
        let used = columns as f64 * (self.width + self.gap_x) - self.gap_x;
        let left = self.left.unwrap_or((w - used) / 2.0);
        Ok(Places {
            grid: self,
            left,
            top,
            columns,
            rows,
        })
    }
}

impl Places {
    /// Labels on one sheet.
    pub(crate) const fn per_sheet(&self) -> usize {
        self.columns * self.rows
    }

    fn place(&self, i: usize) -> Rect {
        let (column, row) = (i % self.columns, i / self.columns);
        Rect::new(
            self.left + column as f64 * (self.grid.width + self.grid.gap_x),
            self.top + row as f64 * (self.grid.height + self.grid.gap_y),
            self.grid.width,
            self.grid.height,
        )
    }
}

/// Sheets with one label per thing, row by row, leaving the first `skip` places of the first sheet empty.
pub(crate) fn fill<T>(
    title: &str,
    paper: Paper,
    grid: Grid,
    skip: usize,
    things: &[T],
    name: impl Fn(&T) -> &str,
    mut draw: impl FnMut(&mut Pen<'_>, &T) -> Result<(), Error>,
) -> Result<Document, Error> {
    let places = grid.on(paper)?;
    if skip >= places.per_sheet() {
        return Err(Error::new(
            Kind::OutOfRange,
            "the first place to print on",
            skip + 1,
            format!("1 to {}, counted from the top left", places.per_sheet()),
            "Choose a place that is on the sheet.",
        ));
    }
    let count = (skip + things.len()).div_ceil(places.per_sheet()).max(1);
    let mut sheets: Vec<Sheet> = (0..count).map(|_| blank(paper)).collect();
    for (i, thing) in things.iter().enumerate() {
        let place = skip + i;
        let sheet = &mut sheets[place / places.per_sheet()];
        let bounds = places.place(place % places.per_sheet());
        let mut pen = Pen::cell(sheet, name(thing), bounds);
        draw(&mut pen, thing)?;
        pen.frame(Rect::new(0.0, 0.0, bounds.w, bounds.h), Ink::Soft, HAIRLINE);
    }
    for (i, sheet) in sheets.iter_mut().enumerate() {
        foot(sheet, &format!("{title} · sheet {} of {count}", i + 1));
    }
    Ok(Document {
        title: title.to_owned(),
        sheets,
    })
}

/// An empty sheet.
pub(crate) fn blank(paper: Paper) -> Sheet {
    let (width, height) = paper.size();
    let check_bar = Rect::new(MARGIN + 2.0, height - MARGIN - 2.6, CHECK_BAR_MM, 0.5);
    Sheet {
        width,
        height,
        items: Vec::new(),
        cells: Vec::new(),
        check_bar,
    }
}

/// The check bar, what to do if it is not true, and what the sheet is.
pub(crate) fn foot(sheet: &mut Sheet, what: &str) {
    let bar = sheet.check_bar;
    let width = sheet.width;
    let mut pen = Pen::sheet(sheet);
    pen.fill(bar, Ink::Black);
    for i in 0..=5 {
        // End ticks lie inside the bar, so that outer edge to outer edge is 50 mm.
        let tick = 0.3;
        let x = bar.x + (f64::from(i) * 10.0 - tick / 2.0).clamp(0.0, CHECK_BAR_MM - tick);
        let tall = if i == 0 || i == 5 { 3.0 } else { 1.2 };
        pen.fill(Rect::new(x, bar.bottom() - tall, tick, tall), Ink::Black);
    }
    pen.text(
        (bar.x + 25.0, bar.y - 1.7),
        Anchor::Middle,
        "50 mm",
        Face::MonoBold,
        pt(7.5),
        Ink::Black,
    );
    let left = bar.right() + 5.0;
    let right = width - MARGIN - 2.0;
    let (what, size) = fit::line(what, Face::Italic, pt(8.0), pt(6.0), 48.0);
    pen.text(
        (right, bar.bottom()),
        Anchor::End,
        &what,
        Face::Italic,
        size,
        Ink::Soft,
    );
    pen.text(
        (left, bar.bottom() - 3.3),
        Anchor::Start,
        "Measure this bar. If it is not 50 mm long, do not use the sheet: print it again at",
        Face::Text,
        pt(7.5),
        Ink::Black,
    );
    pen.text(
        (left, bar.bottom()),
        Anchor::Start,
        "100 % (“actual size”, never “fit to page”).",
        Face::Text,
        pt(7.5),
        Ink::Black,
    );
}

/// The line a person cuts along or writes on.
pub(crate) const fn thin(ink: Ink) -> Stroke {
    Stroke {
        ink,
        width: 0.2,
        dash: None,
    }
}
