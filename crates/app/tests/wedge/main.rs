//! The wedge bench through the service: a test's way from a can to a card, and what a card changes.
//!
//! Densities come from the closed-form strips of [S24] (toe and straight line; made up, not measured film):
//! at 8 min the ISO triangle is met exactly and the speed is 125.

mod paper;
mod record;

use jiff::Timestamp;
use spoolwright::service::draft::{CanDraft, LoaderDraft, StockDraft};
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::wedge::{CardDraft, ReadingsDraft, TargetDraft, TestDraft, usual_steps};
use spoolwright::service::winding::WindDraft;
use spoolwright::service::{Failure, Service};
use spoolwright_core::shelf::{StockCardId, StockId, WedgeTestId};
use spoolwright_core::wedge::record::{SpeedKind, Way};
use spoolwright_store::Store;

fn now() -> Timestamp {
    "2026-03-01T10:00:00Z".parse().unwrap()
}

/// A shelf with one can of a grey stock at EI 50.
fn bench() -> Service {
    let service = Service::over(Store::in_memory().unwrap(), Box::new(now));
    let stock = StockDraft {
        name: "Grey".into(),
        ei: "50".into(),
        ..StockDraft::default()
    };
    service.save_stock(None, &stock, None).unwrap();
    let loader = LoaderDraft {
        name: "Bench".into(),
        ..LoaderDraft::default()
    };
    service.save_loader(None, &loader, None).unwrap();
    let can = CanDraft {
        stock: "Grey".into(),
        letters: "GR".into(),
        loader: "Bench".into(),
        ..CanDraft::default()
    };
    service.save_can(None, &can, None).unwrap();
    service
}

fn begin(service: &Service, draft: TestDraft) -> WedgeTestId {
    service.begin_test(&draft, None).unwrap().value.unwrap()
}

/// The closed-form strip of `minutes` at `log_h` ([S24]).
fn density(minutes: f64, log_h: f64) -> f64 {
    let slope = 1.10 * (1.0 - (-0.121_676_41 * minutes).exp());
    0.20 + slope / 5.0 * (5.0 * (log_h + 2.208_506_12)).exp().ln_1p()
}

/// A table of these strips over the usual wedge, log H 0.10 at no density.
fn table(times: &[f64]) -> String {
    let heads: Vec<String> = times.iter().map(|t| format!("{t} min")).collect();
    let mut text = format!("step,{}\n", heads.join(","));
    for step in usual_steps(Way::Absolute) {
        let cells: Vec<String> = times
            .iter()
            .map(|&t| format!("{:.3}", density(t, 0.10 - step)))
            .collect();
        text.push_str(&format!("{step},{}\n", cells.join(",")));
    }
    text
}

fn known_exposure() -> TestDraft {
    TestDraft {
        name: "Grey through the wedge".into(),
        can: "GR".into(),
        way: "absolute".into(),
        log_h_at_zero_density: "0.10".into(),
        developer: "house brew".into(),
        dilution: "1+9".into(),
        temperature: "20 C".into(),
        ..TestDraft::default()
    }
}

fn read(service: &Service, id: WedgeTestId, table: &str) -> Result<(), Failure> {
    let draft = ReadingsDraft {
        table: table.into(),
        ..ReadingsDraft::default()
    };
    service.put_readings(id, &draft, None).map(|_| ())
}

#[test]
fn a_test_in_camera_queues_its_roll_and_knows_it_when_it_is_wound() {
    let service = bench();
    let id = begin(
        &service,
        TestDraft {
            can: "GR".into(),
            meter_ei: "100".into(),
            ..TestDraft::default()
        },
    );
    let view = service.wedge_test(id).unwrap();
    assert_eq!(view.test.name, "Grey, 2026-03-01");
    let ticket = view.ticket.unwrap();
    assert_eq!(ticket.frames, view.shots.unwrap().frames());
    assert_eq!(ticket.ei, Some(100.0));
    service
        .wind(ticket.id, &WindDraft::default(), None)
        .unwrap();
    let roll = service.wedge_test(id).unwrap().roll.unwrap();
    assert_eq!(roll.roll.label, "GR-01");
    let back = service.wedge_test_of_roll(&roll.roll).unwrap().unwrap();
    assert_eq!(back.id, id);
}

#[test]
fn undoing_the_beginning_takes_the_ticket_back_too() {
    let service = bench();
    let made = service
        .begin_test(
            &TestDraft {
                can: "GR".into(),
                ..TestDraft::default()
            },
            None,
        )
        .unwrap();
    service.undo(made.entry.unwrap(), None).unwrap();
    assert!(service.wedge_tests().unwrap().is_empty());
    assert!(service.queue().unwrap().is_empty());
}

#[test]
fn nitrate_film_is_not_tested_at_home() {
    let service = bench();
    let old = StockDraft {
        name: "Old".into(),
        base: "nitrate".into(),
        ..StockDraft::default()
    };
    service.save_stock(None, &old, None).unwrap();
    let draft = TestDraft {
        stock: "Old".into(),
        way: "relative".into(),
        ..TestDraft::default()
    };
    let refused = service.begin_test(&draft, None).unwrap_err();
    assert!(refused.to_string().contains("nitrate"), "{refused}");
}

#[test]
fn a_draft_that_contradicts_itself_says_all_that_is_wrong() {
    let service = bench();
    let draft = TestDraft {
        stock: "Grey".into(),
        way: "absolute".into(),
        steps: "0.05 0.20 0.10 0.35 0.5".into(),
        times: "5 5".into(),
        ..TestDraft::default()
    };
    let failure = service.begin_test(&draft, None).unwrap_err();
    let fields: Vec<&str> = failure.faults().iter().map(|f| f.field.as_str()).collect();
    assert_eq!(fields, ["steps", "times", "log_h_at_zero_density"]);
    assert!(service.wedge_tests().unwrap().is_empty());
}

#[test]
fn a_strip_read_again_takes_the_place_of_the_first() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0])).unwrap();
    read(&service, id, &table(&[8.0, 12.0])).unwrap();
    let strips = service.wedge_test(id).unwrap().strips;
    let times: Vec<f64> = strips.iter().map(|s| s.time_min).collect();
    assert_eq!(times, [5.0, 8.0, 12.0]);
}

#[test]
fn a_table_of_another_wedge_changes_nothing() {
    let service = bench();
    let id = begin(&service, known_exposure());
    for wrong in [
        "step,8 min\n0.05,1.7\n0.20,1.6\n",
        "step,8 min red\n0.05,1\n",
        "8 min\n1.7\n",
    ] {
        assert!(read(&service, id, wrong).is_err(), "{wrong}");
    }
    assert!(service.wedge_test(id).unwrap().strips.is_empty());
}

#[test]
fn a_card_gives_its_speed_to_the_tickets_that_follow() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0, 12.0])).unwrap();
    let queue = |service: &Service| {
        let draft = TicketDraft {
            can: "GR".into(),
            frames: "12".into(),
            ..TicketDraft::default()
        };
        let ticket = service.add_ticket(&draft, None).unwrap().value.unwrap();
        service.ticket(ticket).unwrap()
    };
    let before = queue(&service);
    assert_eq!(before.ei, Some(50.0));
    service
        .wind(before.ticket.id, &WindDraft::default(), None)
        .unwrap();

    let card = service
        .make_card(id, &TargetDraft::default(), &CardDraft::default(), None)
        .unwrap()
        .value
        .unwrap();
    let card = service.card(card).unwrap();
    // [S24]: the triangle is met at 8.00 min, at ISO 125.
    let time = card.card.time_min.unwrap();
    assert!((time.value - 8.0).abs() < 0.1, "{time:?}");
    assert!(time.lower95 < 8.0 && 8.0 < time.upper95, "{time:?}");
    assert_eq!(card.card.rated(), Some(125.0));
    assert!((card.card.ei.unwrap().value - 125.0).abs() < 2.0);
    assert_eq!(card.card.speed_kind, SpeedKind::Iso);
    assert!(card.holds);
    assert_eq!(queue(&service).ei, Some(125.0));
    // The roll wound before keeps what its label said.
    let rolls = service
        .rolls_in(spoolwright_core::shelf::RollState::Wound)
        .unwrap();
    assert_eq!(rolls[0].ei, Some(50.0));
    assert_eq!(service.cards(StockId(1)).unwrap().len(), 1);
}

#[test]
fn an_older_card_stays_readable_and_holds_again_when_the_newer_is_undone() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0, 12.0])).unwrap();
    let make = |ei: &str| {
        let draft = CardDraft {
            ei: ei.into(),
            ..CardDraft::default()
        };
        service
            .make_card(id, &TargetDraft::default(), &draft, None)
            .unwrap()
    };
    let first = make("100").value.unwrap();
    let second = make("160");
    assert!(!service.card(first).unwrap().holds);
    service.undo(second.entry.unwrap(), None).unwrap();
    assert!(service.card(first).unwrap().holds);
    assert_eq!(service.shelf().unwrap().stocks[0].ei, Some(100.0));
}

#[test]
fn a_time_far_outside_the_strips_makes_no_card_unasked() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[10.0, 12.0, 16.0])).unwrap();
    let made = service.make_card(id, &TargetDraft::default(), &CardDraft::default(), None);
    let refused = made.unwrap_err();
    assert!(refused.to_string().contains("strips"), "{refused}");
    assert!(service.cards(StockId(1)).unwrap().is_empty());
}

#[test]
fn a_strip_left_out_is_out_of_the_sums_and_can_come_back() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[6.0, 8.0, 10.0])).unwrap();
    let strips = service.wedge_test(id).unwrap().strips;
    service
        .leave_strip_out(id, strips[1].id, true, None)
        .unwrap();
    let analysis = service.wedge_analysis(id).unwrap();
    assert_eq!(analysis.strips.len(), 2);
    let target = TargetDraft::default().read().unwrap();
    // Own derivation from [S24]: from 6 and 10 min, straight in ln t, 8.02 min.
    let time = analysis.at(target).unwrap().time_min.value;
    assert!((time - 8.0).abs() < 0.1, "{time}");
    service
        .leave_strip_out(id, strips[1].id, false, None)
        .unwrap();
    assert_eq!(service.wedge_analysis(id).unwrap().strips.len(), 3);
}

#[test]
fn a_card_keeps_what_was_found_and_is_iso_only_at_the_standards_contrast() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0, 12.0, 16.0])).unwrap();
    for (target, kind) in [("normal", SpeedKind::Iso), ("n_plus_1", SpeedKind::Ei)] {
        let target = TargetDraft {
            target: target.into(),
            ..TargetDraft::default()
        };
        let sure = CardDraft {
            sure: "yes".into(),
            ..CardDraft::default()
        };
        let made = service.make_card(id, &target, &sure, None).unwrap();
        let card = service.card(made.value.unwrap()).unwrap().card;
        assert_eq!(card.speed_kind, kind);
        let ei = card.ei.unwrap();
        assert!(ei.lower95 <= ei.value && ei.value <= ei.upper95, "{ei:?}");
        // A standard speed, whatever was found.
        assert!([125.0, 160.0].contains(&card.rated().unwrap()), "{ei:?}");
    }
}

#[test]
fn a_card_without_an_ei_does_not_bring_an_old_one_back() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0, 12.0])).unwrap();
    let card = |id| {
        service
            .make_card(id, &TargetDraft::default(), &CardDraft::default(), None)
            .unwrap()
    };
    card(id);
    let relative = begin(
        &service,
        TestDraft {
            name: "Grey, exposure unknown".into(),
            way: "relative".into(),
            log_h_at_zero_density: String::new(),
            ..known_exposure()
        },
    );
    read(&service, relative, &table(&[5.0, 8.0, 12.0])).unwrap();
    card(relative);
    assert_eq!(service.shelf().unwrap().stocks[0].ei, Some(125.0));
}

#[test]
fn in_camera_without_the_meters_ei_a_card_asks_for_one() {
    let service = bench();
    let id = begin(
        &service,
        TestDraft {
            stock: "Grey".into(),
            steps: "-6 -5 -4 -3 -2 -1 0 1 2 3".into(),
            ..TestDraft::default()
        },
    );
    // The closed-form strips, the meter reading at log H −1.
    let mut text = String::from("step,5,8,12\n");
    for stops in -6..=3 {
        let at = |t| density(t, -1.0 + f64::from(stops) * 2_f64.log10());
        text.push_str(&format!(
            "{stops},{:.3},{:.3},{:.3}\n",
            at(5.0),
            at(8.0),
            at(12.0)
        ));
    }
    text.push_str("base+fog,0.2,0.2,0.2\n");
    read(&service, id, &text).unwrap();
    let sure = CardDraft {
        sure: "yes".into(),
        ..CardDraft::default()
    };
    let refused = service
        .make_card(id, &TargetDraft::default(), &sure, None)
        .unwrap_err();
    assert_eq!(refused.faults()[0].field, "ei");
    let own = CardDraft {
        ei: "40".into(),
        ..sure
    };
    service
        .make_card(id, &TargetDraft::default(), &own, None)
        .unwrap();
    assert_eq!(service.shelf().unwrap().stocks[0].ei, Some(40.0));
}

#[test]
fn a_target_that_contradicts_itself_is_refused() {
    let draft = |target: &str, measure: &str, contrast: &str| TargetDraft {
        target: target.into(),
        measure: measure.into(),
        contrast: contrast.into(),
    };
    for (bad, field) in [
        (draft("normal", "", "0.9"), "contrast"),
        (draft("", "", "0.8"), "measure"),
        (draft("", "gamma", ""), "contrast"),
        (draft("harder", "", ""), "target"),
    ] {
        assert_eq!(bad.read().unwrap_err().faults()[0].field, field, "{bad:?}");
    }
    draft("normal", "iso_triangle", "0.62").read().unwrap();
    assert_eq!(draft("", "gamma", "0.7").read().unwrap().value, 0.7);
}

#[test]
fn a_strip_left_out_stays_out_when_it_is_read_again() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[6.0, 8.0])).unwrap();
    let strip = service.wedge_test(id).unwrap().strips[1].id;
    service.leave_strip_out(id, strip, true, None).unwrap();
    let draft = ReadingsDraft {
        table: table(&[8.0]).replace("1.746", "1.750"),
        ..ReadingsDraft::default()
    };
    let made = service.put_readings(id, &draft, None).unwrap();
    assert!(made.story.contains("took the place"), "{}", made.story);
    assert!(service.wedge_test(id).unwrap().strips[1].left_out);
}

#[test]
fn lights_follow_the_stocks_process() {
    let service = bench();
    let colour = StockDraft {
        name: "Tint".into(),
        process: "colour-negative".into(),
        ..StockDraft::default()
    };
    service.save_stock(None, &colour, None).unwrap();
    let tint = TestDraft {
        stock: "Tint".into(),
        way: "relative".into(),
        ..TestDraft::default()
    };
    let tint = begin(&service, tint);
    let grey = begin(&service, known_exposure());
    let red = table(&[8.0]).replace("8 min", "8 min red");
    assert!(read(&service, grey, &red).is_err());
    assert!(read(&service, tint, &table(&[8.0])).is_err());
    read(&service, tint, &red).unwrap();
}

#[test]
fn two_tests_of_one_day_get_names_of_their_own_and_a_roll_too_long_is_refused() {
    let service = bench();
    let draft = TestDraft {
        stock: "Grey".into(),
        ..TestDraft::default()
    };
    begin(&service, draft.clone());
    let second = begin(&service, draft.clone());
    assert_eq!(
        service.wedge_test(second).unwrap().test.name,
        "Grey, 2026-03-01 (2)"
    );
    let long = TestDraft {
        can: "GR".into(),
        times: "4 6 8 11".into(),
        ..draft.clone()
    };
    let refused = service.begin_test(&long, None).unwrap_err();
    assert_eq!(refused.faults()[0].field, "times");
    assert!(service.queue().unwrap().is_empty());
    let lone = TestDraft {
        times: "5,8".into(),
        ..draft
    };
    assert_eq!(
        service.begin_test(&lone, None).unwrap_err().faults()[0].field,
        "times"
    );
}

#[test]
fn a_test_does_not_move_to_a_nitrate_stock() {
    let service = bench();
    let old = StockDraft {
        name: "Old".into(),
        base: "nitrate".into(),
        ..StockDraft::default()
    };
    service.save_stock(None, &old, None).unwrap();
    let draft = TestDraft {
        stock: "Grey".into(),
        way: "relative".into(),
        ..TestDraft::default()
    };
    let id = begin(&service, draft.clone());
    let moved = TestDraft {
        stock: "Old".into(),
        ..draft
    };
    assert!(service.change_test(id, &moved, None).is_err());
}

/// The refused fields of a draft.
fn faulty(service: &Service, draft: &TestDraft) -> Vec<String> {
    let failure = service.begin_test(draft, None).unwrap_err();
    failure.faults().iter().map(|f| f.field.clone()).collect()
}

#[test]
fn a_figure_of_another_way_of_exposing_is_refused_not_dropped() {
    let service = bench();
    let of = |way: &str, meter_ei: &str, log_h: &str| TestDraft {
        name: "Grey".into(),
        stock: "Grey".into(),
        way: way.into(),
        meter_ei: meter_ei.into(),
        log_h_at_zero_density: log_h.into(),
        ..TestDraft::default()
    };
    assert_eq!(faulty(&service, &of("relative", "100", "")), ["meter_ei"]);
    let both = of("relative", "100", "0.1");
    assert_eq!(
        faulty(&service, &both),
        ["log_h_at_zero_density", "meter_ei"]
    );
    assert_eq!(
        faulty(&service, &of("absolute", "100", "0.1")),
        ["meter_ei"]
    );
    let log_h = of("in-camera", "100", "0.1");
    assert_eq!(faulty(&service, &log_h), ["log_h_at_zero_density"]);
    begin(&service, of("in-camera", "100", ""));
}

#[test]
fn two_tests_are_compared_and_what_was_developed_otherwise_is_said() {
    let service = bench();
    let first = begin(&service, known_exposure());
    let warmer = begin(
        &service,
        TestDraft {
            name: "Grey, warmer".into(),
            temperature: "24 C".into(),
            ..known_exposure()
        },
    );
    for id in [first, warmer] {
        read(&service, id, &table(&[5.0, 8.0, 12.0])).unwrap();
    }
    let compared = service.compare_tests(first, warmer).unwrap();
    let codes: Vec<&str> = compared.caveats.iter().map(|c| c.code).collect();
    assert_eq!(codes, ["developed_otherwise", "development_not_noted"]);
    assert!(compared.caveats[0].text.contains("temperature"));
    assert!(compared.caveats[1].text.contains("agitation"));
    let itself = service.compare_tests(first, first).unwrap_err();
    assert!(
        itself.to_string().contains("the same test twice"),
        "{itself}"
    );
}

fn saved(service: &Service, id: WedgeTestId, target: &TargetDraft) -> StockCardId {
    let made = service.make_card(id, target, &CardDraft::default(), None);
    made.unwrap().value.unwrap()
}
