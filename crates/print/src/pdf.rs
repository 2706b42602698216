//! Back end: the drawing list as PDF, through krilla.
//!
//! Invariant: nothing here depends on time, place or chance, so the same drawing gives the same bytes.

use krilla::color::{luma, rgb};
use krilla::geom::{Path, PathBuilder, Point as PdfPoint};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, Paint, Stroke as PdfStroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use spoolwright_core::{Error, Kind};

use crate::drawing::{Document, Ink, Outline, Shape, Stroke, Text};
use crate::face::{self, FontId};

/// A finished PDF file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pdf(pub Vec<u8>);

/// PDF points in a millimetre.
const POINTS_PER_MM: f64 = 72.0 / 25.4;

pub(crate) fn write(document: &Document) -> Result<Pdf, Error> {
    let fault = |why: String| {
        Error::new(
            Kind::Impossible,
            "writing the PDF",
            why,
            "a drawing that the PDF writer accepts",
            "Please report this as a fault of the program.",
        )
    };
    let fonts = FontId::all()
        .map(|id| Font::new(id.font().data.into(), 0))
        .collect::<Option<Vec<_>>>()
        .ok_or_else(|| fault("a font that cannot be read".to_owned()))?;
    let mut pdf = krilla::Document::new();
    pdf.set_metadata(
        Metadata::new()
            .title(document.title.clone())
            .creator("Spoolwright".to_owned())
            .producer("Spoolwright".to_owned())
            .language("en".to_owned()),
    );
    for sheet in &document.sheets {
        let settings = PageSettings::from_wh(points(sheet.width), points(sheet.height))
            .ok_or_else(|| fault("a sheet without a size".to_owned()))?;
        let mut page = pdf.start_page_with(settings);
        let mut surface = page.surface();
        for item in &sheet.items {
            match &item.shape {
                Shape::Path {
                    outlines,
                    fill,
                    stroke,
                } => {
                    if let Some(path) = path(outlines) {
                        surface.set_fill(fill.map(solid));
                        surface.set_stroke(stroke.map(line));
                        surface.draw_path(&path);
                    }
                }
                Shape::Text(text) => draw_text(&mut surface, text, &fonts),
            }
        }
        surface.finish();
        page.finish();
    }
    pdf.finish().map(Pdf).map_err(|e| fault(format!("{e:?}")))
}

fn points(mm: f64) -> f32 {
    (mm * POINTS_PER_MM) as f32
}

fn path(outlines: &[Outline]) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for outline in outlines {
        for (i, &(x, y)) in outline.points.iter().enumerate() {
            let (x, y) = (points(x), points(y));
            if i == 0 {
                builder.move_to(x, y)
            } else {
                builder.line_to(x, y)
            }
        }
        if outline.closed {
            builder.close();
        }
    }
    builder.finish()
}

fn draw_text(surface: &mut Surface<'_>, text: &Text, fonts: &[Font]) {
    surface.set_fill(Some(solid(text.ink)));
    surface.set_stroke(None);
    let (mut x, y) = text.at;
    for run in face::runs(&text.text, text.face) {
        let glyphs: Vec<KrillaGlyph> = run
            .glyphs
            .iter()
            .map(|g| {
                let advance = g.advance as f32;
                KrillaGlyph::new(
                    GlyphId::new(g.id),
                    advance,
                    0.0,
                    0.0,
                    0.0,
                    g.bytes.clone(),
                    None,
                )
            })
            .collect();
        let start = PdfPoint::from_xy(points(x), points(y));
        let font = fonts[run.font.index()].clone();
        surface.draw_glyphs(
            start,
            &glyphs,
            font,
            &text.text[run.bytes.clone()],
            points(text.size),
            false,
        );
        x += run.glyphs.iter().map(|g| g.advance).sum::<f64>() * text.size;
    }
}

fn solid(ink: Ink) -> Fill {
    Fill {
        paint: paint(ink),
        rule: FillRule::NonZero,
        ..Fill::default()
    }
}

fn line(stroke: Stroke) -> PdfStroke {
    let dash = stroke.dash.map(|d| StrokeDash {
        array: vec![points(d), points(d)],
        offset: 0.0,
    });
    PdfStroke {
        paint: paint(stroke.ink),
        width: points(stroke.width),
        line_cap: LineCap::Butt,
        dash,
        ..PdfStroke::default()
    }
}

fn paint(ink: Ink) -> Paint {
    match ink.rgb() {
        [r, g, b] if r == g && g == b => luma::Color::new(r).into(),
        [r, g, b] => rgb::Color::new(r, g, b).into(),
    }
}
