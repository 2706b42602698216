//! The contact sheet: how large the strips lie, and which paper holds them [F1], [F2], [F3].
//!
//! It lays bare strips edge to edge; through a sleeve page the rows lie further apart, by a step that a person measures.

use super::cut::PageFormat;
use super::limits::{MARGIN_MM, MAX_PAPERS, PAPER_MM, ROW_STEP_MM};
use crate::bounds::FRAMES;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};
use crate::film::Pitch;

/// From row to row when strips lie edge to edge: the film's width rounded up [F3], [G1].
pub const STRIP_MM: f64 = 35.0;
/// Less than this to spare on a side earns a caveat (common practice, no source).
const TIGHT_MM: f64 = 3.0;

/// A sheet of paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// Its name.
    pub name: String,
    /// One side in mm ([`PAPER_MM`]).
    pub width_mm: f64,
    /// The other side in mm ([`PAPER_MM`]).
    pub height_mm: f64,
}

/// Usual papers, in inches (25.4 mm) as [F3] has them, and in mm by ISO 216 (A4, A3) or by their names.
pub fn usual_papers() -> Vec<Paper> {
    let inch = 25.4;
    [
        ("8 × 10 in", 8.0 * inch, 10.0 * inch),
        ("8.5 × 11 in", 8.5 * inch, 11.0 * inch),
        ("9.5 × 12 in", 9.5 * inch, 12.0 * inch),
        ("10 × 12 in", 10.0 * inch, 12.0 * inch),
        ("11 × 14 in", 11.0 * inch, 14.0 * inch),
        ("A4", 210.0, 297.0),
        ("24 × 30 cm", 240.0, 300.0),
        ("30 × 40 cm", 300.0, 400.0),
        ("A3", 297.0, 420.0),
    ]
    .into_iter()
    .map(|(name, width_mm, height_mm)| Paper {
        name: name.to_owned(),
        width_mm,
        height_mm,
    })
    .collect()
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Rows of strips, and full frames in each.
    pub page: PageFormat,
    /// Frames of the roll ([`FRAMES`]); `None` when only paper is asked for.
    pub frames: Option<u32>,
    /// Pitch of the film.
    pub pitch: Pitch,
    /// From one row to the next in mm ([`ROW_STEP_MM`]).
    pub row_step_mm: f64,
    /// Paper kept free at each edge in mm ([`MARGIN_MM`]).
    pub margin_mm: f64,
    /// The papers to judge.
    pub papers: Vec<Paper>,
}

/// A paper against the strips.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Name of the paper.
    pub name: String,
    /// Whether the strips fit it, one way round or the other.
    pub fits: bool,
    /// mm to spare along the strips, both edges together, the better way round; below zero it is what lacks.
    pub spare_along_mm: f64,
    /// mm to spare across them.
    pub spare_across_mm: f64,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Along the strips, in mm.
    pub along_mm: f64,
    /// Across the rows, in mm.
    pub across_mm: f64,
    /// Frames that the sheet holds.
    pub holds: u32,
    /// Strips that the frames need.
    pub strips: Option<u32>,
    /// Frames that find no place on one sheet.
    pub over: Option<u32>,
    /// Sheets that they need.
    pub sheets: Option<u32>,
    /// The papers in the order given.
    pub papers: Vec<Judged>,
    /// Smallest paper, by area, that holds the strips.
    pub smallest: Option<String>,
    /// What limits the answer.
    pub caveats: Vec<Caveat>,
}

/// Lays out a contact sheet.
///
/// # Units
/// mm; 25.4 mm to the inch.
/// # Errors
/// [`Kind::OutOfRange`] for a number outside its domain; [`Kind::Missing`] without papers or with a nameless one;
/// [`Kind::TooLarge`] beyond the limits.
/// # Source
/// [F3]: a block of r rows of n frames is n × the frame's advance long and r × 35 mm high.
pub fn plan(sheet: &Sheet) -> Result<Plan, Error> {
    check(sheet)?;
    let PageFormat {
        rows,
        frames_per_row,
    } = sheet.page;
    let along_mm = f64::from(frames_per_row) * sheet.pitch.click().to_mm();
    let across_mm = STRIP_MM + f64::from(rows - 1) * sheet.row_step_mm;
    let judge = |paper: &Paper| {
        let spare = |along: f64, across: f64| {
            (
                along - along_mm - 2.0 * sheet.margin_mm,
                across - across_mm - 2.0 * sheet.margin_mm,
            )
        };
        let ways = [
            spare(paper.width_mm, paper.height_mm),
            spare(paper.height_mm, paper.width_mm),
        ];
        let least = |way: &(f64, f64)| way.0.min(way.1);
        let best = if least(&ways[0]) >= least(&ways[1]) {
            ways[0]
        } else {
            ways[1]
        };
        Judged {
            name: paper.name.clone(),
            fits: least(&best) >= -1e-9,
            spare_along_mm: best.0,
            spare_across_mm: best.1,
        }
    };
    let papers: Vec<Judged> = sheet.papers.iter().map(judge).collect();
    let area = |paper: &Paper| paper.width_mm * paper.height_mm;
    let fitting = sheet
        .papers
        .iter()
        .zip(&papers)
        .filter(|(_, judged)| judged.fits);
    let smallest = fitting.min_by(|a, b| area(a.0).total_cmp(&area(b.0)));
    let holds = rows * frames_per_row;
    let mut caveats = Vec::new();
    if let Some((paper, judged)) = smallest
        && judged.spare_along_mm.min(judged.spare_across_mm) < TIGHT_MM
    {
        caveats.push(Caveat::new(
            "tight",
            format!(
                "On {} there are less than {TIGHT_MM} mm to spare: lay the strips with care.",
                paper.name
            ),
        ));
    }
    if smallest.is_none() {
        caveats.push(Caveat::new(
            "no_paper",
            "None of these papers holds all rows: leave out a row, or take a larger one.",
        ));
    }
    let over = sheet.frames.map(|frames| frames.saturating_sub(holds));
    if let Some(over) = over.filter(|over| *over > 0) {
        caveats.push(Caveat::new(
            "frames_over",
            format!(
                "{over} frame{} more than the sheet holds: a second sheet, or strips laid in the margin.",
                if over == 1 { "" } else { "s" },
            ),
        ));
    }
    Ok(Plan {
        along_mm,
        across_mm,
        holds,
        strips: sheet.frames.map(|frames| frames.div_ceil(frames_per_row)),
        over,
        sheets: sheet
            .frames
            .map(|frames| frames.div_ceil(frames_per_row).div_ceil(rows)),
        smallest: smallest.map(|(paper, _)| paper.name.clone()),
        papers,
        caveats,
    })
}

fn check(sheet: &Sheet) -> Result<(), Error> {
    sheet.page.check()?;
    if let Some(frames) = sheet.frames {
        FRAMES.check_as("frames: out of range", f64::from(frames))?;
    }
    ROW_STEP_MM.check_as("row_step_mm: out of range", sheet.row_step_mm)?;
    MARGIN_MM.check_as("margin_mm: out of range", sheet.margin_mm)?;
    if sheet.papers.is_empty() {
        return Err(Error::missing(
            "papers: the list is empty",
            "at least one paper",
            "Name a paper, or leave the list out for the usual ones.",
        ));
    }
    if MAX_PAPERS < sheet.papers.len() {
        return Err(Error::new(
            Kind::TooLarge,
            "papers: too many",
            format!("{} papers", sheet.papers.len()),
            format!("up to {MAX_PAPERS}"),
            "Name those that you have.",
        ));
    }
    for (i, paper) in sheet.papers.iter().enumerate() {
        super::fill::name(&format!("papers[{i}].name"), &paper.name)?;
        for (side, mm) in [("width_mm", paper.width_mm), ("height_mm", paper.height_mm)] {
            PAPER_MM.check_as(&format!("papers[{i}].{side}: out of range"), mm)?;
        }
    }
    Ok(())
}
