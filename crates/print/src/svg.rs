//! Back end: one sheet as an SVG image of true size, for a preview in a page.
//!
//! Text stays text; the viewer's own fonts are stretched to the measured widths.

use std::fmt::Write;

use crate::drawing::{Face, Ink, Shape, Sheet};

pub(crate) fn write(sheet: &Sheet, title: &str) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail, so the results are dropped.
    let _ = write!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" role="img"><title>{}</title><rect width="{w}" height="{h}" fill="{}"/>"#,
        escape(title),
        hex(Ink::Paper),
        w = short(sheet.width),
        h = short(sheet.height),
    );
    for item in &sheet.items {
        match &item.shape {
            Shape::Path {
                outlines,
                fill,
                stroke,
            } => {
                out.push_str("<path d=\"");
                for outline in outlines {
                    for (i, (x, y)) in outline.points.iter().enumerate() {
                        let step = if i == 0 { 'M' } else { 'L' };
                        let _ = write!(out, "{step}{} {}", short(*x), short(*y));
                    }
                    if outline.closed {
                        out.push('Z');
                    }
                }
                let _ = write!(
                    out,
                    r#"" fill="{}""#,
                    fill.map_or_else(|| "none".to_owned(), hex)
                );
                if let Some(s) = stroke {
                    let _ = write!(
                        out,
                        r#" stroke="{}" stroke-width="{}""#,
                        hex(s.ink),
                        short(s.width)
                    );
                    if let Some(dash) = s.dash {
                        let _ = write!(out, r#" stroke-dasharray="{}""#, short(dash));
                    }
                }
                out.push_str("/>");
            }
            Shape::Text(t) => {
                let _ = write!(
                    out,
                    r#"<text x="{}" y="{}" font-size="{}" textLength="{}" lengthAdjust="spacingAndGlyphs" fill="{}" {}>{}</text>"#,
                    short(t.at.0),
                    short(t.at.1),
                    short(t.size),
                    short(t.width),
                    hex(t.ink),
                    family(t.face),
                    escape(&t.text)
                );
            }
        }
    }
    out.push_str("</svg>");
    out
}

const fn family(face: Face) -> &'static str {
    match face {
        Face::Text => r#"font-family="Libertinus Serif, Georgia, serif""#,
        Face::Bold => r#"font-family="Libertinus Serif, Georgia, serif" font-weight="700""#,
        Face::Italic => r#"font-family="Libertinus Serif, Georgia, serif" font-style="italic""#,
        Face::Mono => r#"font-family="DejaVu Sans Mono, Menlo, Consolas, monospace""#,
        Face::MonoBold => {
            r#"font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-weight="700""#
        }
    }
}

fn hex(ink: Ink) -> String {
    let [r, g, b] = ink.rgb();
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Millimetres to the micrometre, without needless noughts.
fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}
