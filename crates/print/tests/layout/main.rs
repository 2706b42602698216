//! The drawing list: everything lies where it should, for ordinary and for hostile input.

#[path = "../common/wedge.rs"]
mod common;
mod hostile;
mod tidy;
mod wedge;
mod wet;
#[path = "../common/wet.rs"]
mod wet_common;

use spoolwright_core::dx::{Dx, Latitude};
use spoolwright_core::film::Light;
use spoolwright_print::drawing::{Ink, Rect, Shape};
use spoolwright_print::{
    CanLabel, CassetteLabel, DxLabel, DxTemplate, LabelLayout, LabelSize, Paper, Target,
    WindingTicket, can_labels, cassette_labels, dx_pattern, winding_tickets,
};

use tidy::{assert_tidy, text_of};

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
    let own = [
        (54.0, 24.0),
        (60.0, 26.0),
        (100.0, 24.0),
        (32.0, 50.0),
        (34.0, 26.0),
    ];
    let own = own.map(|(width_mm, height_mm)| LabelSize {
        width_mm,
        height_mm,
    });
    let ready = LabelSize::PRESETS.map(|(.., size)| size);
    for size in ready.into_iter().chain(own) {
        let document =
            cassette_labels(&[label("HM-07")], LabelLayout::plain(size), Paper::A4, 0).unwrap();
        let beside = size.width_mm >= 54.0;
        assert!(
            !beside || text_of(&document).contains("dog show"),
            "{size:?}"
        );
        let tallest = document.sheets[0]
            .items
            .iter()
            .filter_map(|i| match &i.shape {
                Shape::Text(t) if t.text == "HM-07" => Some(t.at.1 - i.shape.extent().y),
                _ => None,
            })
            .fold(0.0, f64::max);
        assert!(tallest >= 3.5, "{size:?}: capitals of {tallest} mm");
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
            "Close the cassette, then the loader",
            "Shut the light trap, open the loader, cut the film",
            "Tape the end to the spool; close cassette and loader",
            "12",
            "¾",
            "turns",
            "Label it LK-12",
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

/// The line for what really happened asks for what the loader shows.
#[test]
fn what_really_happened_is_asked_in_the_loaders_own_count() {
    for (target, asked) in [
        (
            Target::Dial {
                start: -4.0,
                stop: 20.0,
            },
            "dial",
        ),
        (Target::Clicks, "clicks"),
        (Target::Turns(12.75), "turns"),
    ] {
        let t = WindingTicket {
            target,
            ..ticket("HM-07")
        };
        let document = winding_tickets(&[t], Paper::A4, 0).unwrap();
        let texts: Vec<_> = document.sheets[0].texts().collect();
        let on = texts.iter().find(|t| t.text == "on").unwrap();
        let foot = texts
            .iter()
            .find(|t| t.at.1 == on.at.1 && t.at.0 < on.at.0)
            .unwrap();
        assert_eq!(foot.text, asked);
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
fn a_can_without_cautions_still_warns_of_light() {
    let can = CanLabel {
        letters: "HM".to_owned(),
        ..CanLabel::default()
    };
    let document = can_labels(&[can], Paper::A4, 0).unwrap();
    assert!(text_of(&document).contains("total darkness"));
}

/// What a stock out of the ordinary needs said is not cut.
#[test]
fn a_can_label_says_all_of_its_film() {
    let can = CanLabel {
        letters: "NF".to_owned(),
        details: "short pitch, acetate, colour negative".to_owned(),
        ..CanLabel::default()
    };
    let said = text_of(&can_labels(&[can], Paper::A4, 0).unwrap());
    assert!(said.contains("colour negative"), "{said}");
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
