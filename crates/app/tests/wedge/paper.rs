//! The bench on paper: shot lists and results, and a colour stock's layers taken together.

use spoolwright::service::Service;
use spoolwright::service::draft::StockDraft;
use spoolwright::service::paper::{Document, PaperDraft};
use spoolwright::service::wedge::{CardDraft, TargetDraft, TestDraft, usual_steps};
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::Way;

use super::{begin, bench, density, known_exposure, read, saved, table};

#[test]
fn a_shot_list_prints_what_was_queued() {
    let service = bench();
    let camera = TestDraft {
        can: "GR".into(),
        meter_ei: "100".into(),
        ..TestDraft::default()
    };
    let id = begin(&service, camera);
    let paper = PaperDraft::default();
    let text = said(&service.print_shots(id, &paper).unwrap());
    let ticket = service.wedge_test(id).unwrap().ticket.unwrap();
    let sheet = service.ticket(ticket.id).unwrap().sheet;
    let wind = format!("Wind {} clicks", sheet.clicks);
    for words in ["Grey, 2026-03-01", "can GR", "EI 100", &wind, "12 min"] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    let wedge = begin(&service, known_exposure());
    assert!(service.print_shots(wedge, &paper).is_err());
}

#[test]
fn a_result_prints_at_the_target_asked_for_or_as_the_card_has_it() {
    let service = bench();
    let id = begin(&service, known_exposure());
    let (normal, paper) = (TargetDraft::default(), PaperDraft::default());
    assert!(service.print_result(id, &normal, &paper).is_err());
    read(&service, id, &table(&[5.0, 8.0, 12.0])).unwrap();
    let text = said(&service.print_result(id, &normal, &paper).unwrap());
    for words in [
        "125/22°",
        "8.0 min",
        "house brew · 1+9",
        "20.0 °C",
        "not saved",
    ] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    let flat = TargetDraft {
        measure: "gamma".into(),
        contrast: "0.57".into(),
        ..TargetDraft::default()
    };
    service
        .make_card(id, &flat, &CardDraft::default(), None)
        .unwrap();
    // [S24]: the slope of the straight part is 0.57 at 6 min.
    let text = said(&service.print_result(id, &normal, &paper).unwrap());
    for words in ["gamma 0.57", "6.0 min", "1 Mar 2026"] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
    let letter = PaperDraft {
        paper: "letter".into(),
        ..PaperDraft::default()
    };
    let document = service.print_result(id, &normal, &letter).unwrap();
    assert_eq!(document.sheets.len(), 1);
    assert!((document.sheets[0].width - 215.9).abs() < 1e-9);
}

pub(crate) fn said(document: &Document) -> String {
    let texts = document.sheets.iter().flat_map(|s| s.texts());
    texts.map(|t| t.text.clone()).collect::<Vec<_>>().join("\n")
}

/// A colour stock and a test of it through a wedge under a known exposure.
fn tinted(service: &Service) -> WedgeTestId {
    let colour = StockDraft {
        name: "Tint".into(),
        process: "colour-negative".into(),
        ..StockDraft::default()
    };
    service.save_stock(None, &colour, None).unwrap();
    begin(
        service,
        TestDraft {
            name: "Tint through the wedge".into(),
            can: String::new(),
            stock: "Tint".into(),
            ..known_exposure()
        },
    )
}

/// One strip of 8 min in the lights named, each layer so many log H slower than the closed form.
fn tinted_table(layers: &[(&str, f64)]) -> String {
    let heads: Vec<String> = layers.iter().map(|l| format!("8 min {}", l.0)).collect();
    let mut text = format!("step,{}\n", heads.join(","));
    for step in usual_steps(Way::Absolute) {
        let cells: Vec<String> = layers
            .iter()
            .map(|l| format!("{:.3}", density(8.0, 0.10 - step - l.1)))
            .collect();
        text.push_str(&format!("{step},{}\n", cells.join(",")));
    }
    text
}

#[test]
fn the_layers_of_a_colour_stock_make_one_speed_where_all_three_were_read() {
    let service = bench();
    let id = tinted(&service);
    assert!(service.wedge_colour(id).unwrap().is_none());
    read(&service, id, &tinted_table(&[("red", 0.0), ("green", 0.1)])).unwrap();
    let refused = service.wedge_colour(id).unwrap().unwrap().unwrap_err();
    assert!(refused.to_string().contains("three filters"), "{refused}");
    assert_eq!(service.wedge_layers(id).unwrap().len(), 2);
    read(&service, id, &tinted_table(&[("blue", 0.3)])).unwrap();
    let combined = service.wedge_colour(id).unwrap().unwrap().unwrap();
    let layers = service.wedge_layers(id).unwrap();
    let point = |i: usize| {
        let strip = &layers[i].analysis.as_ref().unwrap().strips[0];
        strip.log_h_speed_point.unwrap().value
    };
    // [S21]: the mean of the green-read and the slowest layer, which is the blue-read one here.
    let mean = f64::midpoint(point(1), point(2));
    assert!((combined.strips[0].log_h.unwrap().value - mean).abs() < 1e-9);
    assert!((point(2) - point(0) - 0.3).abs() < 0.01);
    assert!(combined.strips[0].speed_rounded.is_some());
    assert!(combined.caveats[0].text.contains("from memory"));
}

#[test]
fn a_sheet_printed_at_the_target_of_a_card_has_the_card() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0, 12.0])).unwrap();
    saved(&service, id, &TargetDraft::default());
    let printed = |target: &str| {
        let target = TargetDraft {
            target: target.into(),
            ..TargetDraft::default()
        };
        let document = service.print_result(id, &target, &PaperDraft::default());
        said(&document.unwrap())
    };
    let normal = printed("normal");
    assert!(normal.contains("card made") && !normal.contains("not saved"));
    assert!(printed("n_minus_1").contains("not saved"));
}

#[test]
fn beginning_in_camera_says_which_roll_was_queued_and_its_card_names_it() {
    let service = bench();
    let draft = TestDraft {
        can: "GR".into(),
        ..TestDraft::default()
    };
    let made = service.begin_test(&draft, None).unwrap();
    assert!(
        made.story.contains("Queued its roll GR-01: 35 frames."),
        "{}",
        made.story
    );
    let card = service.print_shots(made.value.unwrap(), &PaperDraft::default());
    let text = said(&card.unwrap());
    assert!(text.contains("roll GR-01"), "{text}");
    assert!(
        text.contains("Frame 1 is where the camera’s counter shows 1."),
        "{text}"
    );
}

#[test]
fn the_combined_speed_of_a_colour_stock_is_on_its_sheet() {
    let service = bench();
    let id = tinted(&service);
    let layers = [("red", 0.0), ("green", 0.1), ("blue", 0.3)];
    read(&service, id, &tinted_table(&layers)).unwrap();
    let combined = service.wedge_colour(id).unwrap().unwrap().unwrap();
    let speed = combined.strips[0].speed_rounded.unwrap().to_string();
    let document = service.print_result(id, &TargetDraft::default(), &PaperDraft::default());
    let text = said(&document.unwrap());
    for words in ["8 min together", "combined speed", &speed, "from memory"] {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
}
