//! The typefaces, and how wide their glyphs run.
//!
//! Fonts come embedded in a dependency; a PDF carries a subset of what it uses. There is no shaping: one
//! glyph per character, left to right, no kerning. A character that no face has becomes a visible box.

use std::ops::Range;
use std::sync::LazyLock;

use skrifa::charmap::Charmap;
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, GlyphId, MetadataProvider};

use crate::drawing::Face;

/// A font file opened for measuring.
pub(crate) struct Font {
    /// The file's bytes.
    pub(crate) data: &'static [u8],
    charmap: Charmap<'static>,
    metrics: GlyphMetrics<'static>,
    units_per_em: f64,
    cap_height: f64,
}

/// The font files in use, in the order of [`FontId`].
static FONTS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    NAMES
        .iter()
        .filter_map(|(family, style)| open(family, style))
        .collect()
});

/// Family and style of each face, in the order of [`Face`].
const NAMES: [(&str, &str); 5] = [
    ("Libertinus Serif", "Regular"),
    ("Libertinus Serif", "Bold"),
    ("Libertinus Serif", "Italic"),
    ("DejaVu Sans Mono", "Book"),
    ("DejaVu Sans Mono", "Bold"),
];

/// Which font file a run of glyphs is set in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct FontId(usize);

impl FontId {
    /// All font files, for a back end that loads them.
    pub(crate) fn all() -> impl Iterator<Item = Self> {
        (0..FONTS.len()).map(Self)
    }

    /// Place in a list made from [`FontId::all`].
    pub(crate) const fn index(self) -> usize {
        self.0
    }

    /// The opened font.
    pub(crate) fn font(self) -> &'static Font {
        &FONTS[self.0]
    }

    const fn of(face: Face) -> Self {
        Self(match face {
            Face::Text => 0,
            Face::Bold => 1,
            Face::Italic => 2,
            Face::Mono => 3,
            Face::MonoBold => 4,
        })
    }

    /// The faces to try for a character, own face first; the mono face covers most scripts.
    const fn chain(face: Face) -> [Self; 3] {
        match face {
            Face::Text | Face::Italic => [Self::of(face), Self(3), Self(0)],
            Face::Bold => [Self::of(face), Self(4), Self(1)],
            Face::Mono => [Self::of(face), Self(0), Self(0)],
            Face::MonoBold => [Self::of(face), Self(3), Self(1)],
        }
    }
}

/// One glyph: its number, the bytes of the text it stands for, and its advance in ems.
#[derive(Debug, Clone)]
pub(crate) struct Glyph {
    pub(crate) id: u32,
    pub(crate) bytes: Range<usize>,
    pub(crate) advance: f64,
}

/// Neighbouring glyphs of one font, with the bytes of the text they stand for.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    pub(crate) font: FontId,
    pub(crate) glyphs: Vec<Glyph>,
    pub(crate) bytes: Range<usize>,
}

/// The text as runs of glyphs; the byte ranges of a run's glyphs count from the run's own start.
pub(crate) fn runs(text: &str, face: Face) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for (start, c) in text.char_indices() {
        let end = start + c.len_utf8();
        let Found {
            font, id, advance, ..
        } = glyph(c, face);
        match runs.last_mut() {
            Some(run) if run.font == font => {
                let from = start - run.bytes.start;
                run.glyphs.push(Glyph {
                    id: id.to_u32(),
                    bytes: from..from + c.len_utf8(),
                    advance,
                });
                run.bytes.end = end;
            }
            _ => runs.push(Run {
                font,
                glyphs: vec![Glyph {
                    id: id.to_u32(),
                    bytes: 0..c.len_utf8(),
                    advance,
                }],
                bytes: start..end,
            }),
        }
    }
    runs
}

/// Width of the text in ems.
pub(crate) fn width_em(text: &str, face: Face) -> f64 {
    text.chars().map(|c| glyph(c, face).advance).sum()
}

/// How far the text's ink rises above the baseline and falls below it, in ems.
pub(crate) fn ink_em(text: &str, face: Face) -> Reach {
    text.chars().fold((0.0, 0.0), |(up, down): (f64, f64), c| {
        let (above, below) = reach(c, face);
        (up.max(above), down.max(below))
    })
}

/// Height of the capitals and figures in ems.
pub(crate) fn cap_height_em(face: Face) -> f64 {
    FontId::of(face).font().cap_height
}

/// A character's glyph: its font, number and advance in ems.
#[derive(Debug, Clone, Copy)]
struct Found {
    font: FontId,
    id: GlyphId,
    advance: f64,
}

/// How far ink rises above the baseline and falls below it, in ems.
type Reach = (f64, f64);

/// Characters whose glyphs are measured once: the Latin ones, nearly all of any label.
const KEPT: u32 = 0x180;

/// Glyphs of the kept characters and their [`reach`], face by face.
static LATIN: LazyLock<Vec<Vec<(Found, Reach)>>> = LazyLock::new(|| {
    let measure = |c, face| (look_up(c, face), reach_of(look_up(c, face)));
    let kept = |face| {
        (0..KEPT)
            .filter_map(char::from_u32)
            .map(|c| measure(c, face))
            .collect()
    };
    Face::ALL.map(kept).to_vec()
});

fn glyph(c: char, face: Face) -> Found {
    LATIN[face as usize]
        .get(c as usize)
        .map_or_else(|| look_up(c, face), |kept| kept.0)
}

fn reach(c: char, face: Face) -> Reach {
    LATIN[face as usize]
        .get(c as usize)
        .map_or_else(|| reach_of(look_up(c, face)), |kept| kept.1)
}

/// The glyph of the first face that has one; the box of the mono face when none has.
fn look_up(c: char, face: Face) -> Found {
    let found = FontId::chain(face)
        .into_iter()
        .find_map(|f| f.font().charmap.map(c).map(|id| (f, id)));
    let (font, id) = found.unwrap_or((FontId::of(Face::Mono), GlyphId::new(0)));
    let advance = font
        .font()
        .em(font.font().metrics.advance_width(id).unwrap_or(0.0));
    Found { font, id, advance }
}

fn reach_of(found: Found) -> Reach {
    let font = found.font.font();
    let bounds = font.metrics.bounds(found.id);
    bounds.map_or((font.cap_height, 0.0), |b| {
        (font.em(b.y_max), -font.em(b.y_min))
    })
}

impl Font {
    fn em(&self, units: f32) -> f64 {
        f64::from(units) / self.units_per_em
    }
}

fn open(family: &str, style: &str) -> Option<Font> {
    use skrifa::string::StringId;
    let named = |font: &FontRef<'_>, id: StringId| {
        font.localized_strings(id)
            .english_or_first()
            .map(|s| s.to_string())
    };
    typst_assets::fonts().find_map(|data| {
        let font = FontRef::new(data).ok()?;
        if named(&font, StringId::FAMILY_NAME).as_deref() != Some(family)
            || named(&font, StringId::SUBFAMILY_NAME).as_deref() != Some(style)
        {
            return None;
        }
        let metrics = font.metrics(Size::unscaled(), LocationRef::default());
        let units_per_em = f64::from(metrics.units_per_em);
        let cap_height = metrics
            .cap_height
            .map_or(0.7, |h| f64::from(h) / units_per_em);
        Some(Font {
            data,
            charmap: font.charmap(),
            metrics: font.glyph_metrics(Size::unscaled(), LocationRef::default()),
            units_per_em,
            cap_height,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_face_is_there() {
        assert_eq!(FONTS.len(), NAMES.len());
    }

    /// Figures of one face are equally wide to 1/500 em (a font's own rounding), so that columns line up.
    #[test]
    fn figures_are_tabular() {
        for face in Face::ALL {
            let zero = width_em("0", face);
            for figure in "123456789".chars() {
                let width = width_em(&figure.to_string(), face);
                assert!(
                    (width - zero).abs() < 0.002,
                    "{face:?} {figure}: {width} against {zero}"
                );
            }
        }
    }

    #[test]
    fn a_missing_glyph_is_a_box_with_a_width() {
        assert_eq!(runs("\u{1F39E}", Face::Text)[0].glyphs[0].id, 0);
        assert!(width_em("\u{1F39E}漢", Face::Text) > 1.0);
        let mixed = runs("A漢БЖ", Face::Text);
        let bytes: usize = mixed.iter().map(|r| r.bytes.len()).sum();
        assert_eq!(bytes, "A漢БЖ".len());
    }
}
