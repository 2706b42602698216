//! The drawing list: what is on each sheet, in millimetres from the top left corner.
//!
//! Shapes are polygons, lines and single lines of measured text, so that two back ends can draw the same
//! thing and a test can ask where everything is. It holds no layout rules.

use spoolwright_core::Error;

use crate::face;
use crate::pdf::{self, Pdf};
use crate::qr::Qr;
use crate::svg;

/// A place on the sheet: millimetres from the left, millimetres from the top.
pub type Point = (f64, f64);

/// A rectangle in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Rect {
    /// From left, top, width and height.
    pub const fn new(x: f64, y: f64, w: f64, h: f64) -> Self {
        Self { x, y, w, h }
    }
    /// Right edge.
    pub fn right(&self) -> f64 {
        self.x + self.w
    }
    /// Bottom edge.
    pub fn bottom(&self) -> f64 {
        self.y + self.h
    }
    /// The rectangle smaller by `d` on every side.
    pub fn inset(&self, d: f64) -> Self {
        Self::new(self.x + d, self.y + d, self.w - 2.0 * d, self.h - 2.0 * d)
    }
    /// Whether `other` lies within, give or take `slack`.
    pub fn holds(&self, other: &Self, slack: f64) -> bool {
        self.x - slack <= other.x
            && self.y - slack <= other.y
            && other.right() <= self.right() + slack
            && other.bottom() <= self.bottom() + slack
    }
    fn corners(&self) -> Vec<Point> {
        vec![
            (self.x, self.y),
            (self.right(), self.y),
            (self.right(), self.bottom()),
            (self.x, self.bottom()),
        ]
    }
}

/// The inks of a sheet. All of them read on a black-only printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Full black.
    Black,
    /// A grey for small print.
    Soft,
    /// A light grey for hairlines and tints.
    Pale,
    /// A grey so light that lines and figures read over it, for bands.
    Wash,
    /// The paper itself.
    Paper,
    /// The one accent, a vermilion that prints as a dark grey.
    Accent,
}

impl Ink {
    /// Red, green and blue, 0 to 255.
    pub const fn rgb(self) -> [u8; 3] {
        match self {
            Self::Black => [0, 0, 0],
            Self::Soft => [80, 80, 80],
            Self::Pale => [168, 168, 168],
            Self::Wash => [226, 226, 226],
            Self::Paper => [255, 255, 255],
            Self::Accent => [178, 52, 26],
        }
    }
}

/// The typefaces of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Running text.
    Text,
    /// Headings and names.
    Bold,
    /// Asides.
    Italic,
    /// Figures with units.
    Mono,
    /// Labels and large figures.
    MonoBold,
}

impl Face {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Text,
        Self::Bold,
        Self::Italic,
        Self::Mono,
        Self::MonoBold,
    ];
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Colour.
    pub ink: Ink,
    /// Width in millimetres.
    pub width: f64,
    /// Dash and gap in millimetres; none for a full line.
    pub dash: Option<f64>,
}

/// One polygon or line of a shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Its corners.
    pub points: Vec<Point>,
    /// Whether it returns to its first corner.
    pub closed: bool,
}

/// Which end of a text its place names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The left end.
    Start,
    /// The middle.
    Middle,
    /// The right end.
    End,
}

/// One line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Left end of the line, on the baseline.
    pub at: Point,
    /// What it says.
    pub text: String,
    /// Typeface.
    pub face: Face,
    /// Type size (one em) in millimetres.
    pub size: f64,
    /// Measured width in millimetres.
    pub width: f64,
    /// Colour.
    pub ink: Ink,
}

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Polygons or lines that share a fill and a stroke.
    Path {
        /// The polygons.
        outlines: Vec<Outline>,
        /// Filled with this ink.
        fill: Option<Ink>,
        /// Drawn round with this line.
        stroke: Option<Stroke>,
    },
    /// A line of text.
    Text(Text),
}

impl Shape {
    /// The rectangle that the shape covers: corners of a path, or advance width by the height of the
    /// ink of a text.
    pub fn extent(&self) -> Rect {
        match self {
            Self::Path { outlines, .. } => {
                let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
                for &(x, y) in outlines.iter().flat_map(|o| &o.points) {
                    (x0, y0, x1, y1) = (x0.min(x), y0.min(y), x1.max(x), y1.max(y));
                }
                Rect::new(x0, y0, x1 - x0, y1 - y0)
            }
            Self::Text(t) => {
                let (up, down) = face::ink_em(&t.text, t.face);
                Rect::new(t.at.0, t.at.1 - up * t.size, t.width, (up + down) * t.size)
            }
        }
    }
}

/// A shape, and the label it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What is drawn.
    pub shape: Shape,
    /// Index into [`Sheet::cells`]; none for what belongs to the sheet itself.
    pub cell: Option<usize>,
}

/// One label or ticket of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// What it is for, such as a roll label.
    pub name: String,
    /// Its cut edges.
    pub bounds: Rect,
    /// Where its QR code stands, quiet zone included.
    pub qr: Option<Rect>,
}

/// One sheet of paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Width of the paper in millimetres.
    pub width: f64,
    /// Height of the paper in millimetres.
    pub height: f64,
    /// What is drawn, in drawing order.
    pub items: Vec<Item>,
    /// The labels on it.
    pub cells: Vec<Cell>,
    /// The bar that must measure 50 mm.
    pub check_bar: Rect,
}

impl Sheet {
    /// Every text on the sheet, in drawing order.
    pub fn texts(&self) -> impl Iterator<Item = &Text> {
        self.items.iter().filter_map(|i| match &i.shape {
            Shape::Text(t) => Some(t),
            Shape::Path { .. } => None,
        })
    }
}

/// Sheets that belong together, with a title.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Title, as a PDF viewer shows it.
    pub title: String,
    /// The sheets, in order.
    pub sheets: Vec<Sheet>,
}

impl Document {
    /// The document as PDF: vectors, embedded subset fonts, the same bytes for the same drawing.
    ///
    /// # Errors
    /// When the PDF cannot be written, which is a fault of the program and not of the input.
    pub fn to_pdf(&self) -> Result<Pdf, Error> {
        pdf::write(self)
    }

    /// One sheet as an SVG image of true size, for a preview; none when there is no such sheet.
    pub fn to_svg(&self, sheet: usize) -> Option<String> {
        self.sheets.get(sheet).map(|s| svg::write(s, &self.title))
    }
}

/// Draws on a sheet with coordinates that start at one label's corner.
pub(crate) struct Pen<'a> {
    sheet: &'a mut Sheet,
    origin: Point,
    cell: Option<usize>,
}

impl<'a> Pen<'a> {
    /// A pen for the sheet itself.
    pub(crate) fn sheet(sheet: &'a mut Sheet) -> Self {
        Self {
            sheet,
            origin: (0.0, 0.0),
            cell: None,
        }
    }

    /// A pen for a new label with these cut edges.
    pub(crate) fn cell(sheet: &'a mut Sheet, name: &str, bounds: Rect) -> Self {
        sheet.cells.push(Cell {
            name: name.to_owned(),
            bounds,
            qr: None,
        });
        let cell = Some(sheet.cells.len() - 1);
        Self {
            sheet,
            origin: (bounds.x, bounds.y),
            cell,
        }
    }

    fn push(&mut self, shape: Shape) {
        self.sheet.items.push(Item {
            shape,
            cell: self.cell,
        });
    }

    fn path(&mut self, outlines: Vec<Outline>, fill: Option<Ink>, stroke: Option<Stroke>) {
        let (ox, oy) = self.origin;
        let outlines = outlines
            .into_iter()
            .map(|o| Outline {
                points: o.points.iter().map(|(x, y)| (x + ox, y + oy)).collect(),
                ..o
            })
            .collect();
        self.push(Shape::Path {
            outlines,
            fill,
            stroke,
        });
    }

    /// A filled rectangle.
    pub(crate) fn fill(&mut self, r: Rect, ink: Ink) {
        self.path(
            vec![Outline {
                points: r.corners(),
                closed: true,
            }],
            Some(ink),
            None,
        );
    }

    /// A rectangle's outline, the line centred on its edges.
    pub(crate) fn frame(&mut self, r: Rect, ink: Ink, width: f64) {
        let stroke = Stroke {
            ink,
            width,
            dash: None,
        };
        self.path(
            vec![Outline {
                points: r.corners(),
                closed: true,
            }],
            None,
            Some(stroke),
        );
    }

    /// A polygon.
    pub(crate) fn polygon(&mut self, points: &[Point], fill: Option<Ink>, stroke: Option<Stroke>) {
        self.path(
            vec![Outline {
                points: points.to_vec(),
                closed: true,
            }],
            fill,
            stroke,
        );
    }

    /// A circle, as a polygon fine enough for print.
    pub(crate) fn circle(
        &mut self,
        centre: Point,
        radius: f64,
        fill: Option<Ink>,
        stroke: Option<Stroke>,
    ) {
        let points: Vec<Point> = (0..72)
            .map(|i| {
                let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / 72.0).sin_cos();
                (centre.0 + radius * cos, centre.1 + radius * sin)
            })
            .collect();
        self.polygon(&points, fill, stroke);
    }

    /// A line through points.
    pub(crate) fn line(&mut self, points: &[Point], stroke: Stroke) {
        self.path(
            vec![Outline {
                points: points.to_vec(),
                closed: false,
            }],
            None,
            Some(stroke),
        );
    }

    /// Parallel lines that share a stroke.
    pub(crate) fn lines(&mut self, lines: Vec<[Point; 2]>, stroke: Stroke) {
        let outlines = lines
            .iter()
            .map(|l| Outline {
                points: l.to_vec(),
                closed: false,
            })
            .collect();
        self.path(outlines, None, Some(stroke));
    }

    /// A line of text at a place on its baseline; the caller has made it fit.
    pub(crate) fn text(
        &mut self,
        at: Point,
        anchor: Anchor,
        text: &str,
        face: Face,
        size: f64,
        ink: Ink,
    ) {
        if text.is_empty() {
            return;
        }
        let width = face::width_em(text, face) * size;
        let shift = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => width / 2.0,
            Anchor::End => width,
        };
        let at = (at.0 + self.origin.0 - shift, at.1 + self.origin.1);
        self.push(Shape::Text(Text {
            at,
            text: text.to_owned(),
            face,
            size,
            width,
            ink,
        }));
    }

    /// A QR code in a square of this side, quiet zone included.
    pub(crate) fn qr(&mut self, qr: &Qr, at: Point, side: f64) {
        let outlines = qr
            .bars(side)
            .into_iter()
            .map(|r| Outline {
                points: Rect::new(r.x + at.0, r.y + at.1, r.w, r.h).corners(),
                closed: true,
            })
            .collect();
        self.path(outlines, Some(Ink::Black), None);
        if let Some(cell) = self.cell {
            let (x, y) = (at.0 + self.origin.0, at.1 + self.origin.1);
            self.sheet.cells[cell].qr = Some(Rect::new(x, y, side, side));
        }
    }
}
