//! The drawing list: everything lies where it should, for ordinary and for hostile input.

use spoolwright_core::Kind;
use spoolwright_core::dx::{Dx, Latitude};
use spoolwright_core::film::Light;
use spoolwright_print::drawing::{Document, Ink, Rect, Shape, Sheet};
use spoolwright_print::{
    CanLabel, CassetteLabel, DxLabel, DxTemplate, LONGEST_LABEL, LONGEST_TEXT, LabelLayout,
    LabelSize, MOST_LABELS, Paper, Target, WindingTicket, can_labels, cassette_labels, dx_pattern,
    winding_tickets,
};

fn label(roll: &str) -> CassetteLabel {
    CassetteLabel {
        roll: roll.to_owned(),
        stock: "Heron Mono 200".to_owned(),
        ei: Some(250.0),
        frames: 18,
        format: String::new(),
        wound_on: "25 Nov 2026".to_owned(),
        can: "HM".to_owned(),
        note: "dog show".to_owned(),
        url: Some(format!("http://127.0.0.1:7420/roll/{roll}")),
    }
}

fn ticket(roll: &str) -> WindingTicket {
    WindingTicket {
        roll: roll.to_owned(),
        stock: "Heron Mono 200".to_owned(),
        can: "HM".to_owned(),
        loader: "day loader".to_owned(),
        cassette: "C5".to_owned(),
        wanted_for: "dog show".to_owned(),
        ei: Some(250.0),
        frames: 18,
        format: String::new(),
        leader_clicks: 4,
        frame_clicks: 18,
        tail_clicks: 2,
        light: Light::Room,
        target: Target::Dial {
            start: -4.0,
            stop: 20.0,
        },
        draws: "1.01 m".to_owned(),
        steps: vec![],
        url: Some(format!("http://127.0.0.1:7420/roll/{roll}")),
    }
}

/// Texts that try to leave their box: long, wide, without spaces, of many scripts, with controls.
fn hostile(most: usize) -> Vec<String> {
    vec![
        String::new(),
        "W".repeat(most),
        "a b ".repeat(most / 4),
        "漢字🎞".repeat(most / 3),
        "\u{202E}gnirts\u{0}\n\t\u{7F}<&>\"'".to_owned(),
        "e\u{301}".repeat(most / 2),
        "العربية עברית ไทย".to_owned(),
    ]
}

/// Everything of a label inside its edges, everything on the paper, and no text over another text or
/// over a QR code.
fn assert_tidy(document: &Document, what: &str) {
    for sheet in &document.sheets {
        let paper = Rect::new(0.0, 0.0, sheet.width, sheet.height);
        for item in &sheet.items {
            let extent = item.shape.extent();
            let edges = item.cell.map_or(paper, |c| sheet.cells[c].bounds);
            assert!(
                edges.holds(&extent, 1e-6),
                "{what}: {:?} leaves {edges:?}",
                item.shape
            );
            assert!(extent.w.is_finite() && extent.h.is_finite());
        }
        for (c, cell) in sheet.cells.iter().enumerate() {
            assert!(
                paper.inset(5.0).holds(&cell.bounds, 1e-6),
                "{what}: {:?}",
                cell.bounds
            );
            assert!(
                cell.bounds.bottom() < sheet.check_bar.y - 3.0,
                "{what}: a label over the check bar"
            );
            let texts: Vec<(&Shape, Rect)> = sheet
                .items
                .iter()
                .filter(|i| i.cell == Some(c) && matches!(i.shape, Shape::Text(_)))
                .map(|i| (&i.shape, i.shape.extent()))
                .collect();
            for (n, (a, box_a)) in texts.iter().enumerate() {
                for (b, box_b) in &texts[n + 1..] {
                    assert!(!overlap(*box_a, *box_b), "{what}: {a:?}\nover {b:?}");
                }
                if let Some(qr) = cell.qr {
                    assert!(
                        !overlap(*box_a, qr),
                        "{what}: {a:?}\nover the QR code at {qr:?}"
                    );
                }
            }
        }
        assert_footed(sheet);
    }
}

/// More than a hair of common ground.
fn overlap(a: Rect, b: Rect) -> bool {
    let hair = 0.1;
    a.x + hair < b.right()
        && b.x + hair < a.right()
        && a.y + hair < b.bottom()
        && b.y + hair < a.bottom()
}

fn assert_footed(sheet: &Sheet) {
    assert!((sheet.check_bar.w - 50.0).abs() < 1e-9);
    let said: String = sheet
        .texts()
        .map(|t| t.text.as_str())
        .collect::<Vec<_>>()
        .join(" ");
    for words in ["50 mm", "If it is not 50 mm long", "100 %"] {
        assert!(said.contains(words), "{words:?} is missing from {said:?}");
    }
}

fn text_of(document: &Document) -> String {
    document
        .sheets
        .iter()
        .flat_map(Sheet::texts)
        .map(|t| t.text.clone())
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn labels_stand_on_their_grid() {
    let labels: Vec<_> = (1..=30).map(|i| label(&format!("HM-{i:02}"))).collect();
    let layout = LabelLayout::plain(LabelSize::BARREL_WRAP);
    let document = cassette_labels(&labels, layout, Paper::A4, 3).unwrap();
    let cells: Vec<_> = document.sheets.iter().flat_map(|s| &s.cells).collect();
    assert_eq!(cells.len(), 30);
    // 4 columns of 42 mm and 4 rows of 66 mm on A4; the first three places were used before.
    assert_eq!(document.sheets.len(), 3);
    assert_eq!(document.sheets[0].cells.len(), 13);
    let left = (210.0 - 4.0 * 42.0) / 2.0;
    assert_eq!(
        cells[0].bounds,
        Rect::new(left + 3.0 * 42.0, 8.0, 42.0, 66.0)
    );
    assert_eq!(cells[1].bounds, Rect::new(left, 74.0, 42.0, 66.0));
    assert_tidy(&document, "grid");
}

#[test]
fn ready_cut_sheets_take_gaps_and_offsets() {
    let layout = LabelLayout {
        size: LabelSize {
            width_mm: 63.5,
            height_mm: 38.1,
        },
        gap_x_mm: 2.5,
        gap_y_mm: 0.0,
        left_mm: Some(7.2),
        top_mm: Some(15.1),
    };
    let labels: Vec<_> = (1..=4).map(|i| label(&format!("HM-{i:02}"))).collect();
    let document = cassette_labels(&labels, layout, Paper::A4, 0).unwrap();
    assert_eq!(
        document.sheets[0].cells[1].bounds,
        Rect::new(7.2 + 66.0, 15.1, 63.5, 38.1)
    );
    assert_eq!(
        document.sheets[0].cells[3].bounds,
        Rect::new(7.2, 15.1 + 38.1, 63.5, 38.1)
    );
}

#[test]
fn the_roll_label_is_the_largest_text_and_nothing_is_missing() {
    for paper in Paper::ALL {
        for (word, _, size) in LabelSize::PRESETS {
            let document =
                cassette_labels(&[label("HM-07")], LabelLayout::plain(size), paper, 0).unwrap();
            let sheet = &document.sheets[0];
            let largest = sheet
                .texts()
                .max_by(|a, b| a.size.total_cmp(&b.size))
                .unwrap();
            assert_eq!(largest.text, "HM-07", "{word}");
            let said = text_of(&document);
            assert!(
                said.contains("EI 250") && said.contains("18 fr"),
                "{word}: {said}"
            );
            assert_eq!(sheet.cells[0].qr.is_some(), size.holds_qr(), "{word}");
            if size != LabelSize::SMALL_FLAG {
                for words in ["Heron Mono 200", "25 Nov 2026", "can HM", "dog show"] {
                    assert!(said.contains(words), "{word}: no {words:?} in {said}");
                }
            }
            assert_tidy(&document, word);
        }
    }
}

/// Arm's length, about 70 cm: capitals of 1/200 of the distance, 3.5 mm (common practice, no source).
#[test]
fn the_roll_label_reads_at_arms_length() {
    for (word, _, size) in LabelSize::PRESETS {
        let document =
            cassette_labels(&[label("HM-07")], LabelLayout::plain(size), Paper::A4, 0).unwrap();
        let tallest = document.sheets[0]
            .items
            .iter()
            .filter_map(|i| match &i.shape {
                Shape::Text(t) if t.text == "HM-07" => Some(t.at.1 - i.shape.extent().y),
                _ => None,
            })
            .fold(0.0, f64::max);
        assert!(tallest >= 3.5, "{word}: capitals of {tallest} mm");
    }
}

#[test]
fn hostile_labels_of_every_size_stay_in_their_edges() {
    let mut sizes: Vec<LabelSize> = LabelSize::PRESETS.iter().map(|p| p.2).collect();
    for w in (18..=120).step_by(34) {
        for h in (10..=120).step_by(22) {
            sizes.push(LabelSize {
                width_mm: f64::from(w),
                height_mm: f64::from(h),
            });
        }
    }
    for size in sizes {
        for (long, short) in hostile(LONGEST_TEXT)
            .into_iter()
            .zip(hostile(LONGEST_LABEL))
        {
            let mut bad = CassetteLabel {
                stock: long.clone(),
                wound_on: long.clone(),
                note: long.clone(),
                can: short.clone(),
                format: long.clone(),
                ei: Some(1e6),
                frames: 800,
                ..label("HM-07")
            };
            if !short.is_empty() {
                bad.roll = short;
            }
            if size.width_mm < 60.0 {
                bad.url = Some("http://h/r/1".to_owned());
            }
            let document =
                cassette_labels(&[bad], LabelLayout::plain(size), Paper::Letter, 0).unwrap();
            assert_tidy(&document, &format!("{size:?} {long:.20}"));
            if LabelSize::PRESETS.iter().any(|p| p.2 == size) {
                document.to_pdf().unwrap();
            }
        }
    }
}

#[test]
fn an_unknown_ei_leaves_room_to_write_it() {
    let bare = CassetteLabel {
        ei: None,
        url: None,
        ..label("B-1")
    };
    let document = cassette_labels(
        &[bare],
        LabelLayout::plain(LabelSize::LARGE_FLAG),
        Paper::A4,
        0,
    )
    .unwrap();
    assert!(document.sheets[0].texts().any(|t| t.text.trim() == "EI"));
    assert!(document.sheets[0].cells[0].qr.is_none());
}

#[test]
fn tickets_say_what_to_do() {
    let crank = WindingTicket {
        target: Target::Turns(12.76),
        light: Light::Dark,
        tail_clicks: 0,
        ..ticket("LK-12")
    };
    let plain = WindingTicket {
        target: Target::Clicks,
        frames: 36,
        format: "half".to_owned(),
        ..ticket("Q-1")
    };
    for paper in Paper::ALL {
        let tickets = [ticket("HM-07"), crank.clone(), plain.clone()];
        let document = winding_tickets(&tickets, paper, 0).unwrap();
        assert_tidy(&document, "tickets");
        let said = text_of(&document);
        for words in [
            "HM-07",
            "24",
            "clicks",
            "dial from \u{2212}4 to",
            "20",
            "4 leader + 18 frames + 2 tail",
            "tail 2",
            "leader 4",
            "18 frames",
            "36 frames in 18 clicks",
            "DARK",
            "LIGHT",
            "stopped at",
            "12",
            "¾",
            "turns",
            "Label the cassette LK-12",
            "draws 1.01 m",
        ] {
            assert!(said.contains(words), "no {words:?} in\n{said}");
        }
        // The count is the largest figure on the ticket.
        let sheet = &document.sheets[0];
        let largest = sheet
            .texts()
            .max_by(|a, b| a.size.total_cmp(&b.size))
            .unwrap();
        assert_eq!(largest.text, "24");
    }
}

/// Only a tail wound in room light is struck by light: only there the hatch is drawn.
#[test]
fn the_light_struck_tail_is_hatched() {
    let hatched = |light, tail_clicks| {
        let t = WindingTicket {
            light,
            tail_clicks,
            target: Target::Clicks,
            ..ticket("HM-07")
        };
        let document = winding_tickets(&[t], Paper::A4, 0).unwrap();
        document.sheets[0].items.iter().any(
            |i| matches!(&i.shape, Shape::Path { stroke: Some(s), .. } if s.ink == Ink::Accent),
        )
    };
    assert!(hatched(Light::Room, 2));
    assert!(!hatched(Light::Room, 0));
    assert!(!hatched(Light::Dark, 2));
}

#[test]
fn hostile_tickets_and_cans_stay_in_their_edges() {
    for (long, short) in hostile(LONGEST_TEXT)
        .into_iter()
        .zip(hostile(LONGEST_LABEL))
    {
        for target in [
            Target::Dial {
                start: -9999.99,
                stop: 9999.99,
            },
            Target::Turns(9999.75),
            Target::Turns(0.01),
            Target::Clicks,
        ] {
            for (leader, frames, tail) in [(0, 1, 0), (30, 2000, 30), (30, 1, 30), (1, 800, 0)] {
                let bad = WindingTicket {
                    roll: if short.is_empty() {
                        "R".to_owned()
                    } else {
                        short.clone()
                    },
                    stock: long.clone(),
                    can: short.clone(),
                    loader: long.clone(),
                    cassette: long.clone(),
                    wanted_for: long.clone(),
                    format: long.clone(),
                    draws: long.clone(),
                    steps: vec![long.clone(); 9],
                    ei: Some(123_456.789),
                    frames: 800,
                    leader_clicks: leader,
                    frame_clicks: frames,
                    tail_clicks: tail,
                    target,
                    ..ticket("HM-07")
                };
                let document = winding_tickets(&[bad], Paper::Letter, 0).unwrap();
                assert_tidy(
                    &document,
                    &format!("ticket {long:.20} {target:?} {leader} {frames} {tail}"),
                );
            }
        }
        let can = CanLabel {
            letters: if short.is_empty() {
                "C".to_owned()
            } else {
                short
            },
            stock: long.clone(),
            length: long.clone(),
            details: long.clone(),
            opened: long.clone(),
            loader: long.clone(),
            tare: long.clone(),
            expires: long.clone(),
            cautions: vec![long.clone(); 9],
            url: Some("http://127.0.0.1:7420/can/HM".to_owned()),
        };
        let document = can_labels(&[can], Paper::A4, 0).unwrap();
        assert_tidy(&document, &format!("can {long:.20}"));
        document.to_pdf().unwrap();
    }
}

#[test]
fn a_can_without_cautions_still_warns_of_light() {
    let can = CanLabel {
        letters: "HM".to_owned(),
        ..CanLabel::default()
    };
    let document = can_labels(&[can], Paper::A4, 0).unwrap();
    assert!(text_of(&document).contains("total darkness"));
}

/// [DX5]: 400, 36 exposures, +3/−1 is 100110 and 100111. Bare contacts are outlined, painted ones black.
#[test]
fn the_dx_pattern_paints_what_the_code_says() {
    let roll = DxLabel {
        roll: "LK-12".to_owned(),
        dx: Dx {
            iso: Some(400.0),
            exposures: Some(36),
            latitude: Some(Latitude::ThreeOne),
        },
    };
    let template = DxTemplate::default();
    let document = dx_pattern(&[roll], template, Paper::A4).unwrap();
    assert_tidy(&document, "dx");
    let contacts: Vec<(Rect, bool)> = document.sheets[0]
        .items
        .iter()
        .filter_map(|i| match &i.shape {
            Shape::Path { fill, .. } => {
                let r = i.shape.extent();
                let contact = (r.w - template.contact_width_mm).abs() < 1e-9
                    && (r.h - template.contact_height_mm).abs() < 1e-9;
                contact.then_some((r, fill.is_none()))
            }
            Shape::Text(_) => None,
        })
        .collect();
    let bits: String = contacts
        .iter()
        .map(|(_, bare)| if *bare { '1' } else { '0' })
        .collect();
    assert_eq!(bits, "100110100111");
    assert!((contacts[1].0.x - contacts[0].0.x - 6.5).abs() < 1e-9);
    assert!((contacts[6].0.y - contacts[0].0.y - 10.0).abs() < 1e-9);
    let said = text_of(&document);
    assert!(
        said.contains("UNVERIFIED")
            && said.contains("ISO 400/27°")
            && said.contains("row 1 100110")
    );
    let measured = DxTemplate {
        measured: true,
        ..template
    };
    let document = dx_pattern(&[DxLabel::default()], measured, Paper::Letter).unwrap();
    let said = text_of(&document);
    assert!(
        said.contains("UNVERIFIED")
            && said.contains("your own measures")
            && said.contains("no speed")
    );
}

#[test]
fn dx_templates_that_cannot_be_are_refused() {
    let with = |change: &dyn Fn(&mut DxTemplate)| {
        let mut template = DxTemplate::default();
        change(&mut template);
        dx_pattern(&[DxLabel::default()], template, Paper::A4)
    };
    assert!(with(&|t| t.contact_width_mm = f64::NAN).is_err());
    assert!(with(&|t| t.gap_x_mm = -1.0).is_err());
    assert!(with(&|t| t.label_height_mm = 1e9).is_err());
    assert_eq!(
        with(&|t| t.contact_width_mm = 9.0).unwrap_err().kind,
        Kind::Inconsistent
    );
    // The largest allowed template still draws tidily.
    let large = with(&|t| (t.label_width_mm, t.label_height_mm) = (80.0, 80.0)).unwrap();
    assert_tidy(&large, "large template");
}

#[test]
fn absurd_requests_are_refused_in_words() {
    let layout = LabelLayout::plain(LabelSize::BARREL_FACE);
    let refuse = |l: CassetteLabel, layout, start| {
        cassette_labels(&[l], layout, Paper::A4, start).unwrap_err()
    };
    assert_eq!(
        cassette_labels(&[], layout, Paper::A4, 0).unwrap_err().kind,
        Kind::Missing
    );
    let many = vec![label("X"); MOST_LABELS + 1];
    assert_eq!(
        cassette_labels(&many, layout, Paper::A4, 0)
            .unwrap_err()
            .kind,
        Kind::TooLarge
    );
    assert_eq!(
        refuse(
            CassetteLabel {
                roll: " \n".to_owned(),
                ..label("")
            },
            layout,
            0
        )
        .kind,
        Kind::Missing
    );
    assert_eq!(
        refuse(
            CassetteLabel {
                frames: 0,
                ..label("X")
            },
            layout,
            0
        )
        .kind,
        Kind::OutOfRange
    );
    assert_eq!(
        refuse(
            CassetteLabel {
                ei: Some(f64::NAN),
                ..label("X")
            },
            layout,
            0
        )
        .kind,
        Kind::OutOfRange
    );
    let long = CassetteLabel {
        stock: "x".repeat(10_000_000),
        ..label("X")
    };
    assert_eq!(refuse(long, layout, 0).kind, Kind::TooLarge);
    let far = CassetteLabel {
        url: Some("http://h/".to_owned() + &"x".repeat(400)),
        ..label("X")
    };
    let error = refuse(far, layout, 0);
    assert_eq!(error.kind, Kind::TooLarge);
    assert!(error.to_string().contains("shorter address"), "{error}");
    assert_eq!(refuse(label("X"), layout, 1000).kind, Kind::OutOfRange);
    for (w, h) in [
        (f64::NAN, 20.0),
        (f64::INFINITY, 20.0),
        (-5.0, 20.0),
        (500.0, 20.0),
        (40.0, 1.0),
    ] {
        let layout = LabelLayout::plain(LabelSize {
            width_mm: w,
            height_mm: h,
        });
        assert_eq!(refuse(label("X"), layout, 0).kind, Kind::OutOfRange);
    }
    let off = LabelLayout {
        left_mm: Some(199.0),
        ..layout
    };
    assert_eq!(refuse(label("X"), off, 0).kind, Kind::Impossible);
    let bad = WindingTicket {
        target: Target::Turns(f64::NAN),
        ..ticket("X")
    };
    assert!(winding_tickets(&[bad], Paper::A4, 0).is_err());
    let bad = WindingTicket {
        target: Target::Dial {
            start: 0.0,
            stop: f64::INFINITY,
        },
        ..ticket("X")
    };
    assert!(winding_tickets(&[bad], Paper::A4, 0).is_err());
    let bad = WindingTicket {
        leader_clicks: u32::MAX,
        ..ticket("X")
    };
    assert!(winding_tickets(&[bad], Paper::A4, 0).is_err());
}

#[test]
fn the_preview_is_escaped_and_of_true_size() {
    let odd = CassetteLabel {
        stock: "<script>\"&'".to_owned(),
        ..label("HM-07")
    };
    let document = cassette_labels(
        &[odd],
        LabelLayout::plain(LabelSize::LARGE_FLAG),
        Paper::Letter,
        0,
    )
    .unwrap();
    let svg = document.to_svg(0).unwrap();
    assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>"));
    assert!(svg.contains(r#"width="215.9mm" height="279.4mm" viewBox="0 0 215.9 279.4""#));
    assert!(svg.contains("&lt;script&gt;&quot;&amp;&#39;") && !svg.contains("<script"));
    assert!(document.to_svg(1).is_none());
}
