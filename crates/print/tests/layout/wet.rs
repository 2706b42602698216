//! Bath cards and run sheets: all in their edges, all that was given said, room left to write.

use spoolwright_core::Kind;
use spoolwright_core::wet::bath::BathKind;
use spoolwright_print::drawing::Shape;
use spoolwright_print::{
    BathLabel, BathRule, Document, LONGEST_TEXT, LogRow, Paper, RunReel, RunSheet, RunStep,
    bath_cards, run_sheets,
};

use crate::tidy::{assert_tidy, text_of};
use crate::wet_common::{fixer, minded, run, step, went_through};

/// Lines of a document joined, so that a sentence that was wrapped is found again.
fn said(document: &Document) -> String {
    text_of(document).replace('\n', " ")
}

fn has(said: &str, words: &[&str]) {
    for words in words {
        assert!(said.contains(words), "no {words:?} in\n{said}");
    }
}

#[test]
fn a_bath_card_says_what_is_in_the_bottle_and_when_it_is_dead() {
    for paper in Paper::ALL {
        let document = bath_cards(&[fixer()], paper, 0).unwrap();
        assert_tidy(&document, "bath");
        let said = said(&document);
        has(
            &said,
            &[
                "FIXER · used again",
                "rapid fixer concentrate, 1+4",
                "25 Nov 2026",
                "1000 ml",
                "24 May 2027 (180 days, sheet)",
                "Takes 20 films of 36 in all. [default]",
                "Dead when a scrap takes 60 s to clear",
                "[your test]",
                "LOG",
                "clears in",
                "26 Nov 2026",
                "2.0",
                "Lid sticks",
            ],
        );
        for caution in &fixer().cautions {
            assert!(said.contains(caution.as_str()), "no {caution:?} in\n{said}");
        }
        let sheet = &document.sheets[0];
        let largest = sheet
            .texts()
            .max_by(|a, b| a.size.total_cmp(&b.size))
            .unwrap();
        assert_eq!(largest.text, "Fixer A");
        // The verdict of the day is not on it.
        for stale in ["mix new", "next run", "replace", "left"] {
            assert!(!said.contains(stale), "{stale:?} in\n{said}");
        }
    }
}

#[test]
fn what_is_not_known_is_said_to_be_unknown() {
    let bare = BathLabel {
        name: "Grey bottle".to_owned(),
        mixed_on: "25 Nov 2026".to_owned(),
        ..BathLabel::default()
    };
    let document = bath_cards(&[bare], Paper::A4, 0).unwrap();
    assert_tidy(&document, "bare");
    let said = said(&document);
    has(&said, &["keeps not known", "mixed from not said", "looks"]);
    assert!(!said.contains("clears in") && !said.contains("use by"));
}

/// Every kind of bath with four long rules: not one caution is cut short, and none is left out.
#[test]
fn no_caution_is_ever_cut_short() {
    for kind in BathKind::ALL {
        let rule = BathRule {
            text: "Dead when a scrap takes 60 s to clear: twice the 30 s it took when the bath was fresh."
                .to_owned(),
            basis: "your test".to_owned(),
        };
        let card = BathLabel {
            cautions: minded(&[*kind]),
            rules: vec![rule; 4],
            ..fixer()
        };
        let document = bath_cards(&[card], Paper::Letter, 0).unwrap();
        assert_tidy(&document, kind.word());
        let said = said(&document);
        for caution in minded(&[*kind]) {
            assert!(
                said.contains(&caution),
                "{kind:?}: no {caution:?} in\n{said}"
            );
        }
    }
    let everything = RunSheet {
        cautions: minded(BathKind::ALL),
        ..run()
    };
    let document = run_sheets(&[everything], Paper::A4).unwrap();
    assert_tidy(&document, "every bath there is");
    let said = said(&document);
    for caution in minded(BathKind::ALL) {
        assert!(said.contains(&caution), "no {caution:?} in\n{said}");
    }
}

#[test]
fn however_much_befell_a_bath_there_is_room_to_write() {
    for events in [0, 1, 5, 6, 7, 40, 10_000] {
        let card = BathLabel {
            log: (0..events)
                .map(|i| went_through(&format!("{i}"), 0.5, "5:00"))
                .collect(),
            ..fixer()
        };
        let document = bath_cards(&[card], Paper::A4, 0).unwrap();
        assert_tidy(&document, &format!("{events} events"));
        let sheet = &document.sheets[0];
        let times = sheet.texts().filter(|t| t.text == "5:00").count();
        let said = said(&document);
        if events <= 6 {
            assert_eq!(times, events);
            assert!(!said.contains("before"));
        } else {
            assert_eq!(times, 5);
            let older = events - 5;
            let films = format!("{:.1}", older as f64 * 0.5);
            has(
                &said,
                &[
                    &format!("{older} entries"),
                    &films,
                    &format!("{}", events - 1),
                ],
            );
        }
    }
}

#[test]
fn two_cards_fit_a_sheet_and_a_used_sheet_can_be_used_on() {
    for paper in Paper::ALL {
        let document = bath_cards(&[fixer(), fixer(), fixer()], paper, 0).unwrap();
        let on: Vec<usize> = document.sheets.iter().map(|s| s.cells.len()).collect();
        assert_eq!(on, [2, 1]);
        for cell in document.sheets.iter().flat_map(|s| &s.cells) {
            assert!((cell.bounds.w - 190.0).abs() < 1e-9 && (cell.bounds.h - 110.0).abs() < 1e-9);
        }
        let document = bath_cards(&[fixer(), fixer()], paper, 1).unwrap();
        assert_eq!(document.sheets.len(), 2);
        assert_tidy(&document, "second place");
        let refused = bath_cards(&[fixer()], paper, 2).unwrap_err();
        assert_eq!(refused.kind, Kind::OutOfRange);
    }
}

/// Sums by hand: 600, 660, 960 and 1560 s after the first pour; 10 s before each next start the pouring out.
#[test]
fn a_run_sheet_has_every_start_on_one_clock() {
    for paper in Paper::ALL {
        let document = run_sheets(&[run()], paper).unwrap();
        assert_eq!(document.sheets.len(), 1);
        assert_tidy(&document, "run");
        let said = said(&document);
        has(
            &said,
            &[
                "HM-07 + HM-08 + GU-01",
                "Negative, one-shot · Short tank · 25 Nov 2026",
                "reel 2",
                "then GU-01 Gull 50, EI 50, 12 frames",
                "590 ml: 59 ml of house developer and 531 ml of water (1+9)",
                "from the stock card",
                "19.0 °C 10:58",
                "a default",
                "30 s at first, then 5 s every 60 s",
                "Fixer A",
                "Twice the clearing time",
                "really",
                "thermometer",
                "Read the supplier's safety data sheet first",
            ],
        );
        let texts: Vec<&str> = document.sheets[0]
            .texts()
            .map(|t| t.text.as_str())
            .collect();
        for when in [
            "0:00", "10:00", "9:50", "11:00", "10:50", "16:00", "15:50", "26:00", "27:00",
        ] {
            assert!(texts.contains(&when), "no {when} in {texts:?}");
        }
        assert!(!texts.contains(&"25:50"), "a wash is not poured out early");
    }
}

#[test]
fn what_was_done_is_printed_and_a_rehearsal_says_so() {
    let mut sheet = run();
    (sheet.steps[0].done, sheet.steps[0].readings) = ("9:41".to_owned(), "20.4 20.1".to_owned());
    sheet.state = "rehearsal, 60 times as fast as life".to_owned();
    sheet.reels.clear();
    let document = run_sheets(&[sheet], Paper::Letter).unwrap();
    assert_tidy(&document, "done");
    has(
        &said(&document),
        &["9:41", "20.4 20.1", "REHEARSAL, 60 TIMES", "an empty tank"],
    );
}

/// As many steps as a recipe may have, each with a long note, and the most reels a tank may take.
#[test]
fn forty_steps_and_forty_reels_go_on_over_sheets_without_a_loss() {
    let steps = |count: usize, note: &str| -> Vec<RunStep> {
        (1..=count)
            .map(|i| RunStep {
                note: note.to_owned(),
                agitation: "30 s at first, then 5 s every 60 s".to_owned(),
                bottle: "Fixer A".to_owned(),
                ..step(&format!("Step {i}."), 61.0, 5.0)
            })
            .collect()
    };
    let reels: Vec<RunReel> = (1..=40)
        .map(|reel| RunReel {
            reel,
            rolls: format!("HM-{reel:02} Harbour Mist 100, EI 100, 36 frames"),
        })
        .collect();
    for paper in Paper::ALL {
        for (count, note) in [
            (1, ""),
            (12, ""),
            (40, ""),
            (40, "mind the bag"),
            (60, &"W ".repeat(LONGEST_TEXT / 2)),
        ] {
            for reels in [&reels[..1], &reels[..8], &reels] {
                if count > 40 && reels.len() != 8 {
                    continue;
                }
                let sheet = RunSheet {
                    steps: steps(count, note),
                    reels: reels.to_vec(),
                    ..run()
                };
                let document = run_sheets(&[sheet], paper).unwrap();
                let what = format!("{count} steps, {} reels", reels.len());
                assert_tidy(&document, &what);
                let texts: Vec<&str> = document
                    .sheets
                    .iter()
                    .flat_map(|s| s.texts())
                    .map(|t| t.text.as_str())
                    .collect();
                for i in 1..=count {
                    let name = format!("Step {i}.");
                    assert_eq!(
                        texts.iter().filter(|t| **t == name).count(),
                        1,
                        "{what}: {name}"
                    );
                }
                let end = 61 * count;
                let end = format!("{}:{:02}", end / 60, end % 60);
                assert!(texts.contains(&end.as_str()), "{what}: no end {end}");
                for reel in reels {
                    let label = format!("HM-{:02}", reel.reel);
                    assert!(
                        texts.iter().any(|t| t.starts_with(&label)),
                        "{what}: {label}"
                    );
                }
                assert!(
                    document.sheets.iter().all(|s| s.cells.len() == 1),
                    "one run a sheet"
                );
                let sheets = document.sheets.len();
                assert!(texts.contains(&format!("Run sheet · {sheets} of {sheets}").as_str()));
            }
        }
    }
}

#[test]
fn several_runs_have_a_sheet_each_and_their_own_codes() {
    let document = run_sheets(&[run(), run()], Paper::A4).unwrap();
    assert_eq!(document.sheets.len(), 2);
    assert!(document.sheets.iter().all(|s| s.cells[0].qr.is_some()));
}

#[test]
fn hostile_baths_and_runs_stay_in_their_edges() {
    for long in [
        "W".repeat(LONGEST_TEXT),
        "a b ".repeat(LONGEST_TEXT / 4),
        "漢字🎞".repeat(LONGEST_TEXT / 3),
        "\u{202E}gnirts\u{0}\n\t\u{7F}<&>\"'".to_owned(),
        String::new(),
    ] {
        let t = || long.clone();
        let card = BathLabel {
            name: if long.is_empty() { "B".to_owned() } else { t() },
            kind: t(),
            mixed_from: t(),
            dilution: t(),
            mixed_on: t(),
            volume: t(),
            use_by: t(),
            rules: vec![
                BathRule {
                    text: t(),
                    basis: t()
                };
                40
            ],
            fixes: true,
            log: vec![
                LogRow {
                    day: t(),
                    films: Some(1e9),
                    time: t(),
                    test: t(),
                    note: t(),
                };
                40
            ],
            cautions: vec![t(); 40],
            note: t(),
            url: fixer().url,
        };
        let sheet = RunSheet {
            name: t(),
            state: t(),
            recipe: t(),
            tank: t(),
            made_on: t(),
            volume: t(),
            stock: t(),
            developing: t(),
            other_times: vec![(t(), t()); 9],
            other_times_from: t(),
            reels: vec![
                RunReel {
                    reel: u32::MAX,
                    rolls: t()
                };
                40
            ],
            steps: vec![
                RunStep {
                    name: t(),
                    time_s: 345_600.0,
                    drain_s: 345_600.0,
                    temperature: t(),
                    agitation: t(),
                    bottle: t(),
                    note: t(),
                    done: t(),
                    readings: t(),
                };
                9
            ],
            note: t(),
            cautions: vec![t(); 40],
            url: run().url,
        };
        for paper in Paper::ALL {
            let what = format!("{long:.20}");
            let document = bath_cards(std::slice::from_ref(&card), paper, 0).unwrap();
            assert_tidy(&document, &what);
            document.to_pdf().unwrap();
            let document = run_sheets(std::slice::from_ref(&sheet), paper).unwrap();
            assert_tidy(&document, &what);
            document.to_pdf().unwrap();
        }
    }
}

#[test]
fn what_cannot_be_a_card_or_a_sheet_is_refused_in_words() {
    let refuse = |card: BathLabel| bath_cards(&[card], Paper::A4, 0).unwrap_err();
    assert_eq!(
        bath_cards(&[], Paper::A4, 0).unwrap_err().kind,
        Kind::Missing
    );
    let unnamed = BathLabel {
        name: " \n".to_owned(),
        ..fixer()
    };
    assert_eq!(refuse(unnamed).kind, Kind::Missing);
    let long = BathLabel {
        note: "x".repeat(LONGEST_TEXT + 1),
        ..fixer()
    };
    assert_eq!(refuse(long).kind, Kind::TooLarge);
    let far = BathLabel {
        url: Some("http://h/".to_owned() + &"x".repeat(400)),
        ..fixer()
    };
    assert_eq!(refuse(far).kind, Kind::TooLarge);
    let refuse = |sheet: RunSheet| run_sheets(&[sheet], Paper::A4).unwrap_err();
    assert_eq!(run_sheets(&[], Paper::A4).unwrap_err().kind, Kind::Missing);
    for steps in [vec![], vec![step("Wash", 60.0, 0.0); 101]] {
        assert_eq!(refuse(RunSheet { steps, ..run() }).kind, Kind::OutOfRange);
    }
    let reels = vec![RunReel::default(); 41];
    assert_eq!(refuse(RunSheet { reels, ..run() }).kind, Kind::OutOfRange);
    for time in [-1.0, f64::NAN, f64::INFINITY, 1e9] {
        let steps = vec![step("Wash", time, 0.0)];
        assert_eq!(refuse(RunSheet { steps, ..run() }).kind, Kind::OutOfRange);
    }
}

/// Rows to write on are as high as a wet hand needs: 7 mm for a log, 9 mm for a step (common practice, no source).
#[test]
fn rows_are_high_enough_for_a_wet_hand() {
    let rows = |document: &Document| -> f64 {
        document.sheets[0]
            .items
            .iter()
            .filter_map(|i| match &i.shape {
                Shape::Path { outlines, .. } if outlines.len() > 4 => Some(outlines),
                _ => None,
            })
            .map(|outlines| {
                let mut level: Vec<f64> = outlines
                    .iter()
                    .filter(|o| !o.closed && o.points.len() == 2 && o.points[0].1 == o.points[1].1)
                    .map(|o| o.points[0].1)
                    .collect();
                level.sort_by(f64::total_cmp);
                level
                    .windows(2)
                    .map(|w| w[1] - w[0])
                    .fold(f64::MAX, f64::min)
            })
            .fold(f64::MAX, f64::min)
    };
    let log = rows(&bath_cards(&[fixer()], Paper::A4, 0).unwrap());
    assert!((7.0..20.0).contains(&log), "{log}");
    let steps = rows(&run_sheets(&[run()], Paper::A4).unwrap());
    assert!((9.0 - 1e-9..20.0).contains(&steps), "{steps}");
}
