//! Shot lists and wedge results: all in their edges, the numbers that were given, curves where the axes say.

use spoolwright_core::Kind;
use spoolwright_core::wedge::{ColourStrip, Measure, StandardSpeed};
use spoolwright_print::drawing::Shape;
use spoolwright_print::{Document, LONGEST_TEXT, Paper, ResultSheet, result_sheet, shot_cards};

use crate::common::{colour, in_camera, result, shots, strip, usual_shots, within};
use crate::tidy::{assert_tidy, text_of};

#[test]
fn a_shot_list_says_what_each_frame_gets_and_where_to_cut() {
    for paper in Paper::ALL {
        let document = shot_cards(&[usual_shots()], paper).unwrap();
        assert_tidy(&document, "shots");
        let said = text_of(&document);
        // [G4]: 38 mm a frame; 4 clicks of leader and 12 frames are 608 mm; half a frame is 19 mm.
        for words in [
            "Heron Mono 200, first can",
            "can HM · roll HM-07 · meter set to EI 400",
            "Wind 41 clicks: 4 leader + 35 frames + 2 tail",
            "strip 3",
            "12 min",
            "\u{2212}3.5",
            "+3",
            "blank",
            "spare",
            "608 (after 12) · 1064 (after 24)",
            "each ± 19",
            "Counted with frame 1 beginning 152 mm from the tip.",
            "window at frame 1, and add the difference",
            "LIGHT",
            "DARK",
        ] {
            assert!(said.contains(words), "no {words:?} in\n{said}");
        }
        let frames: Vec<u32> = document.sheets[0]
            .texts()
            .filter_map(|t| t.text.parse().ok())
            .collect();
        for frame in 1..=35 {
            assert!(frames.contains(&frame), "no frame {frame} in\n{said}");
        }
    }
}

#[test]
fn shot_lists_of_every_shape_stay_in_their_edges() {
    let many: Vec<f64> = (0..60).map(|i| -6.0 + f64::from(i) / 6.0).collect();
    let long = "W".repeat(LONGEST_TEXT);
    for times in [
        &[8.0][..],
        &[5.0, 8.0],
        &[4.0, 5.0, 6.0, 7.0, 8.5, 10.25, 12.0, 600.0],
    ] {
        for count in [5, 8, 12, 25, 33, 60] {
            let mut card = shots(times, &many[..count]);
            (card.test, card.stock) = (long.clone(), long.clone());
            match shot_cards(&[card.clone()], Paper::Letter) {
                Ok(document) => {
                    assert!(card.list.shots.len() <= 80);
                    assert_tidy(&document, &format!("{} × {count}", times.len()));
                }
                Err(e) => {
                    assert_eq!(e.kind, Kind::OutOfRange);
                    assert!(card.list.shots.len() > 80);
                }
            }
        }
    }
    let mut card = usual_shots();
    card.times_min.pop();
    assert_eq!(
        shot_cards(&[card], Paper::A4).unwrap_err().kind,
        Kind::Inconsistent
    );
    assert_eq!(shot_cards(&[], Paper::A4).unwrap_err().kind, Kind::Missing);
}

#[test]
fn a_result_says_the_numbers_it_was_given() {
    for paper in Paper::ALL {
        let document = result_sheet(&result(), paper).unwrap();
        assert_eq!(document.sheets.len(), 1);
        assert_tidy(&document, "result");
        let said = text_of(&document);
        for words in [
            "ISO speed",
            "125/22°",
            "95 %: 119 to 131",
            "8.0 min",
            "95 %: 7.6 min to 8.4 min",
            "house developer · 1+9",
            "20 °C",
            "10 s each minute",
            "26 Nov 2026",
            "can HM",
            "ISO 125/22°",
            "100/21°",
            "0.96",
            "0.94 to 0.98",
            "target 0.62",
            "log10 exposure, lux-seconds",
            "The wedge was nominal",
        ] {
            assert!(said.contains(words), "no {words:?} in\n{said}");
        }
    }
}

#[test]
fn colour_has_three_layers_and_no_target() {
    let document = result_sheet(&colour(), Paper::Letter).unwrap();
    assert_tidy(&document, "colour");
    let said = text_of(&document);
    for words in ["6.5 min R", "8 min B", "6.5 min green", "No time and speed"] {
        assert!(said.contains(words), "no {words:?} in\n{said}");
    }
    assert!(!said.contains("ISO triangle, 1.30"));
    // The layers together have a row of their own, with a speed and nothing they cannot have.
    let together = ColourStrip {
        time_min: 6.5,
        log_h: Some(within(-2.17, 0.02)),
        speed: Some(within(118.3, 6.0)),
        speed_rounded: Some(StandardSpeed {
            iso: 125.0,
            degrees: 22,
        }),
        ei_stops: None,
        ei: None,
        ei_rounded: None,
    };
    let sheet = ResultSheet {
        combined: vec![together],
        ..colour()
    };
    let document = result_sheet(&sheet, Paper::A4).unwrap();
    assert_tidy(&document, "colour");
    let said = text_of(&document);
    for words in ["6.5 min together", "\u{2212}2.17", "112 to 124"] {
        assert!(said.contains(words), "no {words:?} in\n{said}");
    }
}

#[test]
fn in_camera_the_axis_counts_stops_from_the_meter_too() {
    let document = result_sheet(&in_camera(), Paper::A4).unwrap();
    assert_tidy(&document, "in camera");
    let said = text_of(&document);
    for words in [
        "stops from the meter reading",
        "\u{2212}4",
        "in this camera",
    ] {
        assert!(said.contains(words), "no {words:?} in\n{said}");
    }
    assert!(!said.contains("lux"), "{said}");
}

/// The ISO triangle ([S2]) as drawn has its legs in the proportion 1.30 to 0.80: the axes share one scale.
#[test]
fn the_triangle_is_drawn_to_the_scale_of_the_axes() {
    let document = result_sheet(&result(), Paper::A4).unwrap();
    let legs = document.sheets[0]
        .items
        .iter()
        .filter(|i| matches!(&i.shape, Shape::Path { stroke: Some(s), .. } if s.dash == Some(1.2)))
        .map(|i| i.shape.extent())
        .find(|r| (r.w / r.h - 1.30 / 0.80).abs() < 1e-6);
    assert!(legs.is_some());
}

/// The construction of [S13] where the contrast index is aimed at: two arcs and their chord, whose slope is the index
/// to the scale of the axes, in place of the triangle.
#[test]
fn the_arcs_of_the_contrast_index_are_drawn_where_it_is_aimed_at() {
    let mut sheet = result();
    if let Some(law) = &mut sheet.time_contrast {
        law.measure = Measure::ContrastIndex;
    }
    let arcs = |sheet: &ResultSheet| {
        let document = result_sheet(sheet, Paper::A4).unwrap();
        assert_tidy(&document, "contrast index");
        let dashed = document.sheets[0].items.iter().filter(
            |i| matches!(&i.shape, Shape::Path { stroke: Some(s), .. } if s.dash == Some(1.2)),
        );
        let slopes: Vec<f64> = dashed
            .map(|i| i.shape.extent())
            .map(|r| r.h / r.w)
            .collect();
        (
            slopes,
            text_of(&document).contains("arcs of the contrast index"),
        )
    };
    // Without a centre there is nothing to draw, and the triangle stands.
    let (slopes, told) = arcs(&sheet);
    assert!(slopes.iter().any(|s| (s - 0.80 / 1.30).abs() < 1e-6) && !told);
    let strips = &mut sheet.layers[0].strips;
    strips[1].contrast_index_centre = Some(-2.3);
    let index = strips[1].contrast_index.unwrap().value;
    let (slopes, told) = arcs(&sheet);
    // The inner arc, the outer arc, the chord; and the lines to the target in the other plot.
    assert_eq!(
        slopes.iter().filter(|s| (*s - index).abs() < 1e-6).count(),
        1
    );
    assert!(slopes.len() >= 3 && told, "{slopes:?}");
    assert!(slopes.iter().all(|s| (s - 0.80 / 1.30).abs() > 1e-6));
}

/// Flat strips do not reach as high as the triangle: it is drawn all the same, and where it cannot be, nobody is told
/// that it is.
#[test]
fn the_triangle_is_drawn_over_flat_strips_or_not_spoken_of() {
    let drawn = |sheet: &ResultSheet| {
        let document = result_sheet(sheet, Paper::A4).unwrap();
        assert_tidy(&document, "flat");
        let legs = document.sheets[0]
            .items
            .iter()
            .filter(
                |i| matches!(&i.shape, Shape::Path { stroke: Some(s), .. } if s.dash == Some(1.2)),
            )
            .map(|i| i.shape.extent())
            .any(|r| (r.w / r.h - 1.30 / 0.80).abs() < 1e-6);
        (
            legs,
            text_of(&document).contains("Dashed: the ISO triangle"),
        )
    };
    let mut sheet = result();
    let flat = |s: &mut spoolwright_core::wedge::StripResult| {
        let lower = |d: f64| 0.20 + (d - 0.20) * 0.15;
        s.points
            .iter_mut()
            .for_each(|p| p.density = lower(p.density));
        for p in &mut s.curve {
            (p.y.value, p.y.lower95, p.y.upper95) =
                (lower(p.y.value), lower(p.y.lower95), lower(p.y.upper95));
        }
    };
    sheet.layers[0].strips.iter_mut().for_each(flat);
    assert_eq!(drawn(&sheet), (true, true));
    for s in &mut sheet.layers[0].strips {
        s.log_h_speed_point = None;
    }
    assert_eq!(drawn(&sheet), (false, false));
}

fn stress(document: Result<Document, spoolwright_core::Error>, what: &str) {
    assert_tidy(&document.unwrap(), what);
}

#[test]
fn hostile_results_stay_in_their_edges() {
    for long in [
        "W".repeat(LONGEST_TEXT),
        "a b ".repeat(LONGEST_TEXT / 4),
        "漢字🎞".repeat(LONGEST_TEXT / 3),
        String::new(),
    ] {
        let mut sheet = ResultSheet {
            test: long.clone(),
            stock: long.clone(),
            way: long.clone(),
            developer: long.clone(),
            agitation: long.clone(),
            caveats: vec![long.clone(); 40],
            ..result()
        };
        if let Some(f) = &mut sheet.figures {
            (f.note, f.target, f.speed) = (long.clone(), long.clone(), long.clone());
        }
        for paper in Paper::ALL {
            stress(result_sheet(&sheet, paper), &format!("{long:.20}"));
        }
    }
    for count in [1, 2, 9, 24] {
        let mut sheet = result();
        sheet.layers[0].strips = (0..count)
            .map(|i| strip(4.0 + f64::from(i) / 2.0, -2.2, 0.8))
            .collect();
        for paper in Paper::ALL {
            stress(result_sheet(&sheet, paper), &format!("{count} strips"));
        }
        let mut sheet = colour();
        for layer in &mut sheet.layers {
            layer.strips = (0..count)
                .map(|i| strip(f64::from(i + 4), -2.2, 0.8))
                .collect();
        }
        stress(
            result_sheet(&sheet, Paper::Letter),
            &format!("{count} strips in colour"),
        );
    }
    let bare = ResultSheet {
        layers: Vec::new(),
        ..result()
    };
    assert_eq!(
        result_sheet(&bare, Paper::A4).unwrap_err().kind,
        Kind::Missing
    );
}
