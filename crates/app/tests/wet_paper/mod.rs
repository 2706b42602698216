//! The wet bench on paper: what a bottle's card and a run's sheet say of what is in the store.
//!
//! A roll of 36 is 0.0516 m² [D12]; a fixer is dead at twice its fresh clearing time [D10]; times at other temperatures
//! are [D3]'s for a coefficient of 2.5.

use super::{bench, exposed, make, press};
use spoolwright::service::Service;
use spoolwright::service::paper::{Document, PaperDraft};
use spoolwright::service::wet::baths::{BathDraft, BathEventDraft};
use spoolwright::service::wet::make::RunDraft;
use spoolwright::service::wet::recipes::{RecipeDraft, StepDraft};
use spoolwright_core::Kind;
use spoolwright_core::shelf::BathId;

/// The words in the order they are drawn, lines joined so that a wrapped sentence is found again.
fn said(document: &Document) -> String {
    let texts = document.sheets.iter().flat_map(|s| s.texts());
    texts.map(|t| t.text.clone()).collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn has(text: &str, words: &[&str]) {
    for words in words {
        assert!(text.contains(words), "no {words:?} in\n{text}");
    }
}

fn bath(s: &Service, draft: BathDraft) -> BathId {
    s.save_bath(None, &draft, None).unwrap().value.unwrap()
}

fn fixer(s: &Service) -> BathId {
    let draft = BathDraft {
        name: "Fixer, brown bottle".into(),
        kind: "fixer".into(),
        mixed_from: "ammonium concentrate".into(),
        dilution: "1+4".into(),
        mixed_on: "2026-10-01".into(),
        volume: "1 l".into(),
        keeps_days: "60".into(),
        ..BathDraft::default()
    };
    bath(s, draft)
}

fn note(s: &Service, bath: BathId, what: &str, value: &str, day: &str) {
    let draft = BathEventDraft {
        what: what.into(),
        value: value.into(),
        day: day.into(),
        ..BathEventDraft::default()
    };
    s.note_bath(bath, &draft, None).unwrap();
}

fn only(number: impl ToString) -> PaperDraft {
    PaperDraft {
        only: number.to_string(),
        ..PaperDraft::default()
    }
}

#[test]
fn a_fixers_card_has_its_limits_with_their_basis_and_its_log() {
    let (s, hands) = bench();
    let id = fixer(&s);
    let fresh = said(&s.print_bath_cards(&only(id)).unwrap());
    has(
        &fresh,
        &[
            "FIXER · used again",
            "Fixer, brown bottle",
            "ammonium concentrate, 1+4",
            "1 Oct 2026",
            "1000 ml",
            // 60 days after the first of October.
            "30 Nov 2026 (60 days, sheet)",
            "Time a scrap before the first film",
            "Takes 20 films of 36 in all. [default]",
            "Fix for 2 × the time",
            "Read the supplier's safety data sheet first",
            "carry silver",
        ],
    );
    note(&s, id, "clearing", "30 s", "2026-10-02");
    let label = exposed(&s, "HM", 36);
    let run = make(&s, "Negative, one-shot", &label).unwrap();
    for _ in 0..s.run(run).unwrap().steps.len() {
        press(&s, run, "begin", "").unwrap();
        hands.pass(75.0);
    }
    press(&s, run, "finish", "").unwrap();
    note(&s, id, "looked", "", "2026-10-25");
    let used = said(&s.print_bath_cards(&only(id)).unwrap());
    has(
        &used,
        &[
            "Dead when a scrap takes 60 s to clear: twice the 30 s it took fresh, at 20 °C. [your test]",
            "2 Oct 2026",
            "at 20 °C",
            "1:15",
            &label,
            "looked good",
        ],
    );
    // Nothing that is true of today only.
    for stale in ["use it", "mix new", "longer to clear", "% of"] {
        assert!(!used.contains(stale), "{stale:?} in\n{used}");
    }
    // 4 clicks of leader, 36 and 2 of tail are 42 × 38 mm by 35 mm: 0.0559 m², 1.08 rolls [D12].
    assert!(used.contains("of 36 1.1 "), "{used}");
}

#[test]
fn other_baths_say_how_their_time_grows_or_that_nobody_knows() {
    let (s, _) = bench();
    for (draft, words) in [
        (
            BathDraft {
                kind: "developer".into(),
                ..BathDraft::default()
            },
            &[
                "DEVELOPER · used again",
                "keeps not known",
                "Takes 10 films of 36 in all. [default]",
                "3.3 % more time for each film of 36 that a litre has had. [default]",
                "looks",
            ][..],
        ),
        (
            BathDraft {
                kind: "colour-developer".into(),
                rolls_per_litre: "8".into(),
                percent_per_run: "15".into(),
                ..BathDraft::default()
            },
            &[
                "COLOUR DEVELOPER",
                "Takes 8 films of 36 in all. [sheet]",
                "15 % more time for each run before. [sheet]",
                "dermatitis",
            ],
        ),
        (
            BathDraft {
                kind: "blix".into(),
                ..BathDraft::default()
            },
            &[
                "How much film it takes is not known",
                "How its time grows with use is not known",
                "clears in",
            ],
        ),
        (
            BathDraft {
                kind: "developer".into(),
                usage: "replenished".into(),
                replenisher: "40".into(),
                ..BathDraft::default()
            },
            &[
                "replenished",
                "Replenish 40 ml for each film of 36. [sheet]",
            ],
        ),
        (
            BathDraft {
                kind: "stop".into(),
                usage: "one-shot".into(),
                ..BathDraft::default()
            },
            &[
                "STOP · for one load",
                "For one load only",
                "Acid into water",
            ],
        ),
        (
            BathDraft {
                kind: "fixer".into(),
                place: "second".into(),
                high_iodide: "yes".into(),
                ..BathDraft::default()
            },
            &[
                "FIXER, second of two",
                "Fix for 3 × the time",
                "Takes 10 films of 36 in all. [default]",
            ],
        ),
    ] {
        let draft = BathDraft {
            name: "Bottle".into(),
            volume: "1 l".into(),
            ..draft
        };
        let id = bath(&s, draft);
        has(&said(&s.print_bath_cards(&only(id)).unwrap()), words);
    }
}

#[test]
fn several_bottles_have_cards_and_an_empty_one_has_none() {
    let (s, _) = bench();
    let missing = s.print_bath_cards(&PaperDraft::default()).unwrap_err();
    assert_eq!(missing.faults()[0].error.kind, Kind::Missing);
    let (one, two, gone) = (fixer(&s), fixer(&s), fixer(&s));
    s.close_bath(gone, true, None).unwrap();
    let count = |draft: &PaperDraft| {
        let document = s.print_bath_cards(draft).unwrap();
        document.sheets.iter().map(|s| s.cells.len()).sum::<usize>()
    };
    assert_eq!(count(&PaperDraft::default()), 2);
    assert_eq!(count(&only(format!("{two},{one}"))), 2);
    let refused = s.print_bath_cards(&only(gone)).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Conflict);
    for nobody in ["99", "brown", "1.5"] {
        let refused = s.print_bath_cards(&only(nobody)).unwrap_err();
        assert!(refused.is_not_found(), "{nobody}: {refused}");
        assert!(
            s.print_run_sheets(&only(nobody))
                .unwrap_err()
                .is_not_found()
        );
    }
}

/// Ten days of events or ten thousand: the card stays a card.
#[test]
fn a_long_life_is_summed_up() {
    let (s, _) = bench();
    let id = fixer(&s);
    for _ in 0..14 {
        note(&s, id, "run", "0.5", "2026-10-03");
    }
    let text = said(&s.print_bath_cards(&only(id)).unwrap());
    // Five rows stay, nine are summed up: 4.5 films.
    has(&text, &["before", "4.5", "9 entries on its page"]);
}

#[test]
fn a_runs_sheet_tells_what_lies_where_and_when_to_pour() {
    let (s, hands) = bench();
    let stop = BathDraft {
        name: "Stop 2".into(),
        kind: "stop".into(),
        volume: "1 l".into(),
        ..BathDraft::default()
    };
    bath(&s, stop);
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "HM", 12));
    let draft = RunDraft {
        recipe: "Negative, one-shot".into(),
        tank: "Short tank".into(),
        reels: format!("{a} {b}"),
        time: "10:00".into(),
        note: "second reel is new".into(),
        ..RunDraft::default()
    };
    let id = s.make_run(&draft, None).unwrap().value.unwrap();
    let document = s.print_run_sheets(&PaperDraft::default()).unwrap();
    assert_eq!(document.sheets.len(), 1);
    let text = said(&document);
    let (first, second) = (
        format!("reel 1 {a} Harbour Mist 100, EI 100, 36 frames"),
        format!("reel 2 {b} Harbour Mist 100, EI 100, 12 frames"),
    );
    has(
        &text,
        &[
            &format!("{a} + {b}"),
            "Short tank",
            &first,
            &second,
            "second reel is new",
            // 1+9 of 590 ml.
            "590 ml: 59 ml of House developer and 531 ml of water (1+9)",
            "Stop 2",
            "Clear a scrap in it first: fix for 2 × its time",
            "Developer 0:00 10:00",
            // [D3]: ten minutes at 20 °C are 12:01 at 18 °C and 8:20 at 22 °C.
            "18.0 °C 12:01",
            "22.0 °C 8:20",
            "2.5 times as fast ten degrees C warmer, a default",
            "Read the supplier's safety data sheet first",
            "Acid into water",
            "carry silver",
        ],
    );
    let steps = s.run(id).unwrap().steps;
    let total: f64 = steps.iter().map(|s| s.time_s).sum();
    let end = format!("End {}:{:02}", total as u64 / 60, total as u64 % 60);
    has(&text, &[&end]);

    // What was done is printed where it would have been written.
    press(&s, id, "begin", "").unwrap();
    press(&s, id, "reading", "21.5 C").unwrap();
    hands.pass(583.0);
    press(&s, id, "begin", "").unwrap();
    has(
        &said(&s.print_run_sheets(&only(id)).unwrap()),
        &["9:43", "21.5 °C"],
    );
    press(&s, id, "abandon", "").unwrap();
    has(
        &said(&s.print_run_sheets(&only(id)).unwrap()),
        &["GIVEN UP"],
    );
    let none = s.print_run_sheets(&PaperDraft::default()).unwrap_err();
    assert_eq!(none.faults()[0].error.kind, Kind::Missing);
}

#[test]
fn a_rehearsal_and_two_rolls_on_a_reel_are_told_as_such() {
    let (s, _) = bench();
    let draft = RunDraft {
        recipe: "Negative, one-shot".into(),
        tank: "Short tank".into(),
        rehearsal: "60".into(),
        ..RunDraft::default()
    };
    // A rehearsal of the first recipe, and a run with two short rolls on one reel.
    let id = s.make_run(&draft, None).unwrap().value.unwrap();
    has(
        &said(&s.print_run_sheets(&only(id)).unwrap()),
        &["REHEARSAL, 60 TIMES AS FAST AS LIFE", "an empty tank"],
    );
    let (a, b) = (exposed(&s, "HM", 12), exposed(&s, "HM", 12));
    let id = make(&s, "Negative, one-shot", &format!("{a}+{b}")).unwrap();
    let words = format!("12 frames; then {b}");
    has(&said(&s.print_run_sheets(&only(id)).unwrap()), &[&words]);
    // Colour developer at 41.1 °C: no other times, the sum is sound from 18 to 24 °C only [D6].
    let colour = exposed(&s, "NT", 36);
    let id = make(&s, "Remjet, colour negative", &colour).unwrap();
    let text = said(&s.print_run_sheets(&only(id)).unwrap());
    has(&text, &["Colour developer", "41.1 °C", "dermatitis"]);
    for made_up in ["developer at", "ten degrees"] {
        assert!(!text.contains(made_up), "{made_up:?} in\n{text}");
    }
    // Nor at 20 °C without a factor of its own: the default is one of black-and-white developers [D4].
    let view = s.recipe_named("Remjet, colour negative").unwrap();
    let head = RecipeDraft::from(&view.recipe);
    let mut steps: Vec<StepDraft> = view.steps.iter().map(StepDraft::from).collect();
    let place = view.steps.iter().position(|x| x.kind.develops()).unwrap();
    steps[place].temperature = "20 C".into();
    let sheet_at_20 = |q10: &str, steps: &mut Vec<StepDraft>| {
        steps[place].q10 = q10.into();
        s.save_recipe(Some(view.recipe.id), &head, steps, None)
            .unwrap();
        let other = exposed(&s, "NT", 12);
        let id = make(&s, "Remjet, colour negative", &other).unwrap();
        let text = said(&s.print_run_sheets(&only(id)).unwrap());
        press(&s, id, "abandon", "").unwrap();
        text
    };
    assert!(!sheet_at_20("", &mut steps).contains("ten degrees"));
    // 3 min at 20 °C, twice as fast ten degrees warmer: 2^-0.1 of it at 21 °C, and short [D6].
    has(
        &sheet_at_20("2", &mut steps),
        &["21.0 °C 2:48 (2:41 to 2:55)*", "* short, hard to get even"],
    );
    // All three, a sheet each, on the paper asked for.
    let letter = PaperDraft {
        paper: "letter".into(),
        ..PaperDraft::default()
    };
    let document = s.print_run_sheets(&letter).unwrap();
    assert_eq!(document.sheets.len(), 3);
    assert!(
        document
            .sheets
            .iter()
            .all(|s| (s.width - 215.9).abs() < 1e-9)
    );
}
