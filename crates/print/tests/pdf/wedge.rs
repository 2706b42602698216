//! Shot lists and wedge results as outside programs see them.

use super::{Raster, Saved, assert_true, common, poppler};
use spoolwright_print::drawing::{Ink, Rect, Shape};
use spoolwright_print::{Document, Paper, result_sheet, shot_cards};

pub(super) fn words_of(document: &Document, name: &str) -> String {
    let saved = Saved::new(&document.to_pdf().unwrap(), name);
    let fonts = String::from_utf8(poppler("pdffonts", &[saved.path()])).unwrap();
    for row in fonts.lines().skip(2) {
        let columns: Vec<&str> = row.split_whitespace().rev().collect();
        assert_eq!(columns[2..5], ["yes", "yes", "yes"], "{fonts}");
    }
    let images = String::from_utf8(poppler("pdfimages", &["-list", saved.path()])).unwrap();
    assert_eq!(images.lines().count(), 2, "vectors only: {images}");
    String::from_utf8(poppler("pdftotext", &["-layout", saved.path(), "-"])).unwrap()
}

#[test]
fn the_words_of_both_can_be_extracted() {
    let text = words_of(
        &shot_cards(&[common::usual_shots()], Paper::A4).unwrap(),
        "shot-words",
    );
    for words in [
        "SHOT LIST",
        "EI 400",
        "Wind 41 clicks",
        "608 (after 12)",
        "50 mm",
    ] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    let text = words_of(
        &result_sheet(&common::result(), Paper::Letter).unwrap(),
        "wedge-words",
    );
    for words in [
        "125/22°",
        "8.0 min",
        "house developer",
        "target 0.62",
        "50 mm",
    ] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
}

#[test]
fn colour_and_in_camera_results_keep_their_words_too() {
    for (name, sheet, words) in [
        (
            "wedge-colour",
            common::colour(),
            ["6.5 min green", "8 min B"],
        ),
        (
            "wedge-camera",
            common::in_camera(),
            ["stops from the meter", "in this camera"],
        ),
    ] {
        let text = words_of(&result_sheet(&sheet, Paper::A4).unwrap(), name);
        for words in words {
            assert!(text.contains(words), "no {words:?} in\n{text}");
        }
    }
}

/// The 8 minute strip meets the ISO triangle exactly (closed form), so on the finished page the triangle's far corner
/// must lie on its curve: the curve's ink is looked for on the column 1.30 log H right of the ring.
#[test]
fn the_triangle_ends_on_the_curve_that_meets_it() {
    let document = result_sheet(&common::result(), Paper::A4).unwrap();
    let saved = Saved::new(&document.to_pdf().unwrap(), "wedge-triangle");
    let legs = document.sheets[0]
        .items
        .iter()
        .filter(|i| {
            matches!(&i.shape, Shape::Path { stroke: Some(s), .. }
                if s.ink == Ink::Accent && s.dash.is_some())
        })
        .map(|i| i.shape.extent())
        .find(|r| (r.w / r.h - 1.30 / 0.80).abs() < 1e-6)
        .expect("the triangle");
    // A column just right of the triangle's upright crosses only curves, grid lines and bands.
    let (x, y) = (legs.right() + 0.35, legs.y);
    let raster = Raster::of(&saved, Rect::new(x - 2.0, y - 4.0, 4.0, 8.0), 600.0);
    let dark: Vec<f64> = raster
        .column(x)
        .into_iter()
        .filter(|(at, ink)| *ink > 0.7 && (at - y).abs() < 1.5)
        .map(|(at, _)| at)
        .collect();
    let middle = dark.iter().sum::<f64>() / dark.len() as f64;
    // 0.35 mm to the right the straight line (gamma 0.684) is 0.24 mm higher.
    assert_true("the curve at the triangle's far corner", middle + 0.24, y);
}
