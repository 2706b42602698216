//! A DX contact pattern at true size, on a template that the user has measured from a cassette.
//!
//! Where contacts sit in millimetres is not published where we could read it. So no measure here is a
//! fact: the sheet says "unverified" and tells what to measure.

use spoolwright_core::bounds::Bounds;
use spoolwright_core::dx::{self, Contacts, Dx, Encoded};
use spoolwright_core::{Error, Kind};

use crate::drawing::{Anchor, Document, Face, Ink, Pen, Rect, Stroke};
use crate::face::cap_height_em;
use crate::fit::{self, pt};
use crate::input::{self, LONGEST_LABEL};
use crate::sheet::{self, Grid, Paper};

/// Where the contacts of a cassette sit, measured by the user. All in millimetres, with the end that has
/// the spool's post to the left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DxTemplate {
    /// Width of one contact, along the cassette's axis.
    pub contact_width_mm: f64,
    /// Height of one contact, round the barrel.
    pub contact_height_mm: f64,
    /// Gap between two contacts of a row.
    pub gap_x_mm: f64,
    /// Gap between the two rows.
    pub gap_y_mm: f64,
    /// From the label's left edge to the first contact.
    pub from_left_mm: f64,
    /// From the label's top edge to the first row.
    pub from_top_mm: f64,
    /// Width of the label, along the cassette's axis.
    pub label_width_mm: f64,
    /// Height of the label, round the barrel.
    pub label_height_mm: f64,
    /// Whether the user has measured these numbers; only the words on the sheet change.
    pub measured: bool,
}

impl Default for DxTemplate {
    /// A starting point for measuring: made up, not measured, no source.
    fn default() -> Self {
        Self {
            contact_width_mm: 5.5,
            contact_height_mm: 9.0,
            gap_x_mm: 1.0,
            gap_y_mm: 1.0,
            from_left_mm: 2.0,
            from_top_mm: 2.0,
            label_width_mm: 42.0,
            label_height_mm: 24.0,
            measured: false,
        }
    }
}

/// A roll and what its pattern should say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DxLabel {
    /// Roll label, or whatever tells the patterns apart.
    pub roll: String,
    /// Speed, length and latitude.
    pub dx: Dx,
}

const CONTACT_MM: Bounds = Bounds {
    what: "a contact's size",
    unit: "mm",
    min: 1.0,
    max: 30.0,
};
const GAP_MM: Bounds = Bounds {
    what: "a gap or offset",
    unit: "mm",
    min: 0.0,
    max: 30.0,
};
const LABEL_MM: Bounds = Bounds {
    what: "the DX label's size",
    unit: "mm",
    min: 10.0,
    max: 80.0,
};

impl DxTemplate {
    /// # Errors
    /// A measure that is absurd, or contacts that do not lie on the label.
    fn checked(self) -> Result<Self, Error> {
        for (field, v, bounds) in [
            ("contact_width_mm", self.contact_width_mm, CONTACT_MM),
            ("contact_height_mm", self.contact_height_mm, CONTACT_MM),
            ("gap_x_mm", self.gap_x_mm, GAP_MM),
            ("gap_y_mm", self.gap_y_mm, GAP_MM),
            ("from_left_mm", self.from_left_mm, GAP_MM),
            ("from_top_mm", self.from_top_mm, GAP_MM),
            ("label_width_mm", self.label_width_mm, LABEL_MM),
            ("label_height_mm", self.label_height_mm, LABEL_MM),
        ] {
            bounds.check_as(field, v)?;
        }
        let label = Rect::new(0.0, 0.0, self.label_width_mm, self.label_height_mm);
        let last = self.contact(1, 5);
        if !label.holds(&last, 1e-6) {
            return Err(Error::new(
                Kind::Inconsistent,
                "the DX template",
                format!(
                    "contacts that end at {:.2} × {:.2} mm",
                    last.right(),
                    last.bottom()
                ),
                format!("at most the label's {} × {} mm", label.w, label.h),
                "Measure contacts, gaps and label again.",
            ));
        }
        Ok(self)
    }

    /// One contact's place on the label.
    fn contact(&self, row: usize, column: usize) -> Rect {
        Rect::new(
            self.from_left_mm + column as f64 * (self.contact_width_mm + self.gap_x_mm),
            self.from_top_mm + row as f64 * (self.contact_height_mm + self.gap_y_mm),
            self.contact_width_mm,
            self.contact_height_mm,
        )
    }
}

const WIDTH: f64 = 190.0;
/// Room above and beside the pattern for the contacts' names.
const AROUND: f64 = 9.0;

/// Sheets of DX patterns at true size: black fields stay paper, outlined ones are cut out so that bare
/// metal shows.
///
/// # Errors
/// No labels, more than 2000, an absurd template, or a speed or length that cannot be coded.
pub fn dx_pattern(
    labels: &[DxLabel],
    template: DxTemplate,
    paper: Paper,
) -> Result<Document, Error> {
    input::count("DX labels", labels.len())?;
    let template = template.checked()?;
    let labels = labels
        .iter()
        .map(|l| {
            Ok((
                input::text("roll label", &l.roll, LONGEST_LABEL)?,
                l.dx,
                dx::encode(l.dx)?,
            ))
        })
        .collect::<Result<Vec<_>, Error>>()?;
    let height = (template.label_height_mm + 2.0 * AROUND).max(64.0);
    let grid = Grid {
        gap_y: 4.0,
        ..Grid::tight(WIDTH, height)
    };
    sheet::fill(
        "DX contact patterns",
        paper,
        grid,
        0,
        &labels,
        |l| &l.0,
        |pen, (roll, asked, encoded)| {
            pattern(pen, template, encoded.contacts);
            explain(pen, template, roll, *asked, encoded);
            Ok(())
        },
    )
}

fn pattern(pen: &mut Pen<'_>, template: DxTemplate, contacts: Contacts) {
    let (dx, dy) = (AROUND + 3.0, AROUND);
    let label = Rect::new(dx, dy, template.label_width_mm, template.label_height_mm);
    pen.frame(label, Ink::Black, sheet::HAIRLINE);
    for (row, (bare, names)) in [contacts.row1, contacts.row2]
        .into_iter()
        .zip(Contacts::NAMES)
        .enumerate()
    {
        for column in 0..6 {
            let at = template.contact(row, column);
            let r = Rect::new(at.x + dx, at.y + dy, at.w, at.h);
            if bare[column] {
                pen.frame(r, Ink::Black, 0.2);
            } else {
                pen.fill(r, Ink::Black);
            }
            let name_y = if row == 0 {
                label.y - 1.4
            } else {
                label.bottom() + 3.0
            };
            let centre = (r.x + r.w / 2.0, name_y);
            pen.text(
                centre,
                Anchor::Middle,
                names[column],
                Face::Mono,
                pt(7.0),
                Ink::Soft,
            );
        }
        let first = template.contact(row, 0);
        let y = first.y + first.h / 2.0 + dy + 1.0;
        pen.text(
            (label.x - 1.6, y),
            Anchor::End,
            &format!("row {}", row + 1),
            Face::Text,
            pt(7.5),
            Ink::Soft,
        );
    }
    let (word, size) = fit::line(
        "spool post this end",
        Face::Italic,
        pt(7.5),
        pt(5.0),
        label.w,
    );
    let arrow_y = label.bottom() + 6.6;
    pen.line(
        &[(label.x + 3.5, arrow_y - 0.8), (label.x, arrow_y - 0.8)],
        Stroke {
            ink: Ink::Black,
            width: 0.25,
            dash: None,
        },
    );
    pen.polygon(
        &[
            (label.x, arrow_y - 0.8),
            (label.x + 1.6, arrow_y - 1.6),
            (label.x + 1.6, arrow_y),
        ],
        Some(Ink::Black),
        None,
    );
    pen.text(
        (label.x + 4.4, arrow_y),
        Anchor::Start,
        &word,
        Face::Italic,
        size,
        Ink::Black,
    );
}

fn explain(pen: &mut Pen<'_>, template: DxTemplate, roll: &str, asked: Dx, encoded: &Encoded) {
    let left = AROUND + 3.0 + template.label_width_mm + 8.0;
    let width = WIDTH - left - 4.0;
    let cap = cap_height_em(Face::MonoBold);
    let title = if roll.is_empty() { "DX pattern" } else { roll };
    let (title, size) = fit::line(title, Face::MonoBold, 6.0 / cap, pt(8.0), width);
    pen.text(
        (left, 9.6),
        Anchor::Start,
        &title,
        Face::MonoBold,
        size,
        Ink::Black,
    );
    let speed = encoded
        .speed
        .map_or_else(|| "no speed".to_owned(), |s| s.to_string());
    let length = match (encoded.exposures, asked.exposures) {
        (Some(n), _) => format!("{n} exposures"),
        (None, Some(n)) => format!("length “other” ({n} exposures)"),
        (None, None) => "length “other”".to_owned(),
    };
    let says = format!(
        "{speed} · {length} · latitude {}",
        encoded.latitude.word().replace('-', "\u{2212}")
    );
    let (says, size) = fit::line(&says, Face::Bold, pt(10.0), pt(6.0), width);
    pen.text(
        (left, 15.2),
        Anchor::Start,
        &says,
        Face::Bold,
        size,
        Ink::Black,
    );
    let rows = format!(
        "row 1 {} · row 2 {}",
        encoded.contacts.row1_text(),
        encoded.contacts.row2_text()
    );
    let (rows, size) = fit::line(&rows, Face::Mono, pt(8.0), pt(6.0), width);
    pen.text(
        (left, 19.4),
        Anchor::Start,
        &rows,
        Face::Mono,
        size,
        Ink::Black,
    );
    let measures = format!(
        "contact {} × {} mm, gaps {} and {} mm, first contact {} mm from the left and {} mm from the top",
        template.contact_width_mm,
        template.contact_height_mm,
        template.gap_x_mm,
        template.gap_y_mm,
        template.from_left_mm,
        template.from_top_mm
    );
    let verified = if template.measured {
        "UNVERIFIED: printed on your own measures, which nothing here can check."
    } else {
        "UNVERIFIED: these measures are made up. Measure a cassette and enter yours before you use this."
    };
    let mut lines: Vec<(String, Face)> = vec![
        (verified.to_owned(), Face::Bold),
        (format!("Template: {measures}."), Face::Text),
        (
            "Black: paper stays on, the contact is covered. Outlined: cut the field out, so that bare metal \
             shows. Scrape paint off where the cassette is painted under an outlined field."
                .to_owned(),
            Face::Text,
        ),
        (
            "Hold the cassette with the spool’s post to the left; row 1 is above row 2. Compare with a \
             cassette that carries a code before you trust it, and look at what the camera shows."
                .to_owned(),
            Face::Text,
        ),
    ];
    lines.extend(
        encoded
            .caveats
            .iter()
            .map(|c| (c.text.clone(), Face::Italic)),
    );
    let mut y = 22.6;
    for (text, face) in lines {
        let fitted = fit::block(&text, face, pt(8.0), pt(5.5), width, 3);
        y += cap_height_em(face) * fitted.size;
        for (i, line) in fitted.lines.iter().enumerate() {
            pen.text(
                (left, y + fitted.pitch() * i as f64),
                Anchor::Start,
                line,
                face,
                fitted.size,
                Ink::Black,
            );
        }
        y += fitted.pitch() * (fitted.lines.len() as f64 - 1.0) + 2.0;
    }
}
