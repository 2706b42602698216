//! Long, odd and absurd input: made to fit, or refused in words.

use spoolwright_core::Kind;
use spoolwright_print::{
    CanLabel, CassetteLabel, DxLabel, DxTemplate, LONGEST_LABEL, LONGEST_TEXT, LabelLayout,
    LabelSize, MOST_LABELS, Paper, Target, WindingTicket, can_labels, cassette_labels, dx_pattern,
    winding_tickets,
};

use crate::tidy::assert_tidy;
use crate::{label, ticket};

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
