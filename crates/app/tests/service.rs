//! The service as a person uses it, over a store in memory.

use spoolwright::service::draft::{CanDraft, CassetteDraft, LoaderDraft, StockDraft, WantDraft};
use spoolwright::service::evidence::{GaugeDraft, RanOutDraft, TakenDraft, WeighDraft};
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::rolls::MeasureDraft;
use spoolwright::service::settings::SettingsDraft;
use spoolwright::service::wet::load::LoadDraft;
use spoolwright::service::winding::WindDraft;
use spoolwright::service::{Service, demo, rolls::About};
use spoolwright_core::shelf::{CanState, RollState, TicketState};
use spoolwright_core::wet::record::RunState;
use spoolwright_store::Store;

fn now() -> jiff::Timestamp {
    "2026-04-02T09:30:00Z".parse().unwrap()
}

fn empty() -> Service {
    Service::over(Store::in_memory().unwrap(), Box::new(now))
}

fn demo() -> Service {
    Service::over(
        demo::fill(Store::in_memory().unwrap(), now()).unwrap(),
        Box::new(now),
    )
}

/// A stock, a loader, a can of 100 ft and two cassettes.
fn bench() -> Service {
    let s = empty();
    s.save_stock(
        None,
        &StockDraft {
            name: "Harbour Mist".into(),
            ei: "250".into(),
            ..StockDraft::default()
        },
        None,
    )
    .unwrap();
    s.save_loader(
        None,
        &LoaderDraft {
            name: "green".into(),
            ..LoaderDraft::default()
        },
        None,
    )
    .unwrap();
    s.save_can(
        None,
        &CanDraft {
            stock: "harbour mist".into(),
            price: "60".into(),
            ..CanDraft::default()
        },
        None,
    )
    .unwrap();
    s.save_cassettes(
        None,
        &CassetteDraft {
            label: "1-2".into(),
            ..CassetteDraft::default()
        },
        None,
    )
    .unwrap();
    s
}

fn want(s: &Service, frames: u32) {
    s.save_want(
        None,
        &WantDraft {
            what_for: "the quay".into(),
            frames: frames.to_string(),
            ..WantDraft::default()
        },
        None,
    )
    .unwrap();
}

#[test]
fn from_a_want_to_a_wound_roll_and_back() {
    let s = bench();
    want(&s, 50);
    let plan = s.plan().unwrap();
    assert!(plan.proven_optimal);
    let frames: u32 = plan.rolls.iter().map(|r| r.frames).sum();
    assert!(frames >= 50 && plan.rolls.len() == 2, "{:?}", plan.rolls);
    let tickets = s.accept_plan(plan.shelf.head, None).unwrap().value.unwrap();
    assert_eq!(s.queue().unwrap().len(), 2);
    let first = s.ticket(tickets[0]).unwrap();
    assert_eq!(first.label, "HM-01");
    assert_eq!(s.ticket(tickets[1]).unwrap().label, "HM-02");

    let before = s.shelf().unwrap().cans[0].remaining.mean;
    let made = s
        .wind(
            tickets[0],
            &WindDraft {
                cassette: "1".into(),
                ..WindDraft::default()
            },
            Some("tap"),
        )
        .unwrap();
    assert_eq!(made.value.unwrap().roll.unwrap().1, "HM-01");
    let after = s.shelf().unwrap().cans[0].remaining.mean;
    assert!((before - after - first.sheet.drawn_mm.mean / 1e3).abs() < 1e-6);
    assert_eq!(s.roll("hm-01").unwrap().cassette.as_deref(), Some("1"));

    // The same tap again records nothing; another tap on the same ticket is refused.
    assert!(
        s.wind(tickets[0], &WindDraft::default(), Some("tap"))
            .unwrap()
            .value
            .is_none()
    );
    assert!(
        s.wind(tickets[0], &WindDraft::default(), Some("other tap"))
            .is_err()
    );
    // Its cassette is taken.
    let taken = s
        .wind(
            tickets[1],
            &WindDraft {
                cassette: "1".into(),
                ..WindDraft::default()
            },
            None,
        )
        .unwrap_err();
    assert!(taken.to_string().contains("empty cassette"), "{taken}");

    s.undo(made.entry.unwrap(), None).unwrap();
    assert!((s.shelf().unwrap().cans[0].remaining.mean - before).abs() < 1e-9);
    assert_eq!(
        s.ticket(tickets[0]).unwrap().ticket.state,
        TicketState::Queued
    );
    assert!(s.roll("HM-01").is_err());
}

#[test]
fn stopped_short_and_ran_out() {
    let s = bench();
    want(&s, 60);
    let tickets = s
        .accept_plan(s.plan().unwrap().shelf.head, None)
        .unwrap()
        .value
        .unwrap();
    s.wind(
        tickets[0],
        &WindDraft {
            clicks: "19".into(),
            ..WindDraft::default()
        },
        None,
    )
    .unwrap();
    assert_eq!(
        s.roll("HM-01").unwrap().roll.frames,
        13,
        "19 clicks less leader 4 and tail 2"
    );
    let made = s
        .wind(
            tickets[1],
            &WindDraft {
                clicks: "11".into(),
                ran_out: "yes".into(),
                sure: "yes".into(),
                ..WindDraft::default()
            },
            None,
        )
        .unwrap();
    assert!(made.story.contains("ran out"), "{}", made.story);
    let can = s.shelf().unwrap().cans[0].clone();
    assert_eq!(can.can.state, CanState::Empty);
    assert!(can.remaining.mean < 0.1, "{:?}", can.remaining);
    s.undo(made.entry.unwrap(), None).unwrap();
    assert_eq!(s.shelf().unwrap().cans[0].can.state, CanState::Open);
}

#[test]
fn a_plan_is_accepted_only_as_it_was_looked_at() {
    let s = bench();
    want(&s, 30);
    let head = s.plan().unwrap().shelf.head;
    want(&s, 10);
    let stale = s.accept_plan(head, None).unwrap_err();
    assert!(stale.to_string().contains("Look at the plan"), "{stale}");
    assert!(s.queue().unwrap().is_empty());
}

#[test]
fn planning_twice_does_not_promise_the_same_film_twice() {
    let s = bench();
    s.save_cassettes(
        None,
        &CassetteDraft {
            label: "3-60".into(),
            ..CassetteDraft::default()
        },
        None,
    )
    .unwrap();
    want(&s, 500);
    s.accept_plan(s.plan().unwrap().shelf.head, None).unwrap();
    want(&s, 500);
    let second = s.plan().unwrap();
    let promised: f64 = s.shelf().unwrap().cans[0].promised_m;
    let drawn: f64 = second.rolls.iter().map(|r| r.drawn_m).sum();
    assert!(promised + drawn < 30.48, "{promised} and {drawn} of 30.48");
    assert!(!second.unmet.is_empty());
}

#[test]
fn every_fault_of_a_form_at_once_and_nothing_written() {
    let s = bench();
    let bad = CanDraft {
        stock: "nobody's".into(),
        length: "1,000".into(),
        core_mm: "-3".into(),
        bought_on: "May".into(),
        ..CanDraft::default()
    };
    let failure = s.save_can(None, &bad, None).unwrap_err();
    let mut fields: Vec<&str> = failure.faults().iter().map(|f| f.field.as_str()).collect();
    fields.sort_unstable();
    assert_eq!(fields, ["bought_on", "core_mm", "length", "stock"]);
    assert_eq!(s.shelf().unwrap().cans.len(), 1);
}

#[test]
fn weighing_narrows_once_the_empty_weight_is_known() {
    let s = bench();
    let can = s.shelf().unwrap().cans[0].can.id;
    let wide = s.can(can).unwrap().remaining.sd;
    let weigh = |grams: &str, empty: &str| {
        s.weigh(
            can,
            &WeighDraft {
                grams: grams.into(),
                empty: empty.into(),
                ..WeighDraft::default()
            },
            None,
        )
        .unwrap()
    };
    for _ in 0..6 {
        let ticket = s
            .add_ticket(
                &spoolwright::service::queue::TicketDraft {
                    can: "HM".into(),
                    frames: "36".into(),
                    ..Default::default()
                },
                None,
            )
            .unwrap();
        s.wind(ticket.value.unwrap(), &WindDraft::default(), None)
            .unwrap();
    }
    let wound = s.can(can).unwrap().remaining.sd;
    assert!(wound > wide, "windings add what they leave uncounted");
    weigh("280", "");
    weigh("130", "yes");
    assert!(s.can(can).unwrap().remaining.sd < wound);
    assert_eq!(
        s.history(About::Can(can), None).unwrap()[0].story,
        "Weighed can HM without film: 130 g."
    );
}

#[test]
fn a_long_can_is_broken_into_cans_of_their_own() {
    let s = bench();
    s.save_can(
        None,
        &CanDraft {
            stock: "1".into(),
            letters: "BIG".into(),
            length: "120 m".into(),
            core_mm: "50.8".into(),
            price: "200".into(),
            ..CanDraft::default()
        },
        None,
    )
    .unwrap();
    let big = s.can_named("big").unwrap().id;
    let draft = spoolwright::service::breaking::BreakDraft {
        parts: "30.5 30.5 m, 100ft".into(),
        ..Default::default()
    };
    let view = s.break_view(big, &draft).unwrap();
    assert_eq!(view.parts.len(), 3);
    assert!(view.parts[0].mother_outer_mm > view.parts[1].mother_outer_mm);
    let made = s.break_can(big, &draft, None).unwrap();
    assert_eq!(made.value.as_ref().unwrap().len(), 3);
    let part = s.can(made.value.unwrap()[0]).unwrap();
    assert_eq!(part.can.parent, Some(big));
    assert!((part.can.price.unwrap() - 200.0 * 30.5 / 120.0).abs() < 1e-9);
    assert!((s.can(big).unwrap().remaining.mean - (120.0 - 30.5 - 30.5 - 30.48)).abs() < 1e-6);
    s.undo(made.entry.unwrap(), None).unwrap();
    assert_eq!(s.shelf().unwrap().cans.len(), 2);
    let greedy = spoolwright::service::breaking::BreakDraft {
        parts: "100 m 100 m".into(),
        ..Default::default()
    };
    assert!(
        s.break_view(big, &greedy)
            .unwrap_err()
            .to_string()
            .contains("fewer or shorter")
    );
}

#[test]
fn the_demo_tells_a_story() {
    let s = demo();
    let shelf = s.shelf().unwrap();
    assert_eq!(shelf.stocks.len(), 4);
    assert_eq!(shelf.open_cans().count(), 4);
    assert_eq!(shelf.loaders.len(), 2);
    assert_eq!(shelf.cassettes.len(), 15);
    assert_eq!(shelf.wants.len(), 4);
    let runs = |state| s.runs_in(state).unwrap().len();
    assert_eq!((runs(RunState::Done), runs(RunState::Planned)), (3, 1));
    let spent = s.baths().unwrap().iter().filter(|b| !b.serves()).count();
    assert_eq!(spent, 2, "two bottles say mix new");
    let plan = s.propose(&LoadDraft::default()).unwrap();
    assert!(plan.unloaded.is_empty(), "{plan:?}");
    assert_eq!(plan.runs.len(), 3, "what waits cannot share one tank");
    assert!(shelf.count(RollState::Exposed) == 5 && shelf.count(RollState::Wound) == 2);
    for can in shelf.open_cans() {
        assert!(
            can.remaining.mean > 1.0 && can.remaining.sd > 0.0,
            "{}: {:?}",
            can.can.letters,
            can.remaining
        );
    }
    let plan = s.plan().unwrap();
    assert!(plan.proven_optimal && !plan.rolls.is_empty());
    for entry in s.history(About::Everything, None).unwrap() {
        assert!(entry.story.ends_with('.'), "{}", entry.story);
    }
}

#[test]
fn the_whole_demo_can_be_undone_backwards() {
    let s = demo();
    while let Ok(entry) = s.last_change() {
        s.undo(entry.id, None).unwrap();
    }
    let shelf = s.shelf().unwrap();
    assert!(shelf.cans.is_empty() && shelf.stocks.is_empty() && shelf.cassettes.is_empty());
}

#[test]
fn every_sheet_of_the_demo_prints_the_same_twice() {
    use spoolwright::service::paper::PaperDraft;
    let s = demo();
    let all = PaperDraft::default();
    let letter = PaperDraft {
        paper: "letter".into(),
        size: "50x30".into(),
        start_at: "2".into(),
        ..PaperDraft::default()
    };
    for draft in [&all, &letter] {
        for print in [
            Service::print_labels,
            Service::print_can_labels,
            Service::print_tickets,
            Service::print_dx,
        ] {
            let first = print(&s, draft).unwrap().to_pdf().unwrap();
            assert!(first.0.starts_with(b"%PDF"));
            assert_eq!(first, print(&s, draft).unwrap().to_pdf().unwrap());
        }
    }
    let one = PaperDraft {
        only: "hm2-09, QG-06".into(),
        ..PaperDraft::default()
    };
    assert_eq!(s.print_labels(&one).unwrap().sheets[0].cells.len(), 2);
    let bad = PaperDraft {
        only: "ZZ-99".into(),
        paper: "foolscap".into(),
        size: "huge".into(),
        ..PaperDraft::default()
    };
    assert_eq!(s.print_labels(&bad).unwrap_err().faults().len(), 2);
}

#[test]
fn a_reel_that_shrank_is_a_caveat_and_shortens_the_menu() {
    use spoolwright::service::queue::TicketDraft;
    use spoolwright::service::settings::SettingsDraft;
    let s = bench();
    let full = TicketDraft {
        can: "HM".into(),
        frames: "36".into(),
        ..TicketDraft::default()
    };
    s.add_ticket(&full, None).unwrap();
    let short_reel = SettingsDraft {
        reel_mm: "1000".into(),
        ..SettingsDraft::default()
    };
    s.save_settings(&short_reel, None).unwrap();
    let queue = s.queue().unwrap();
    assert_eq!(queue[0].sheet.caveats[0].code, "does_not_fit");
    assert!(s.add_ticket(&full, None).is_err());
    let more = CassetteDraft {
        label: "3-9".into(),
        ..CassetteDraft::default()
    };
    s.save_cassettes(None, &more, None).unwrap();
    want(&s, 60);
    let plan = s.plan().unwrap();
    assert!(plan.rolls.iter().all(|r| r.frames <= 18));
    assert!(plan.caveats.iter().any(|c| c.code == "menu_shortened"));
}

#[test]
fn nitrate_is_never_planned() {
    let s = bench();
    let stock = s.stocks().unwrap()[0].id;
    let nitrate = StockDraft {
        name: "Harbour Mist".into(),
        base: "nitrate".into(),
        ..StockDraft::default()
    };
    s.save_stock(Some(stock), &nitrate, None).unwrap();
    want(&s, 20);
    let shelf = s.shelf().unwrap();
    assert_eq!(shelf.cans[0].caveats[0].code, "nitrate_base");
    let plan = s.plan().unwrap();
    assert!(plan.rolls.is_empty());
    let said = &plan.caveats[0];
    assert_eq!(said.code, "nitrate_left_out");
    assert!(said.text.contains("HM"), "{}", said.text);
    let long = CanDraft {
        stock: "Harbour Mist".into(),
        length: "400 ft".into(),
        ..CanDraft::default()
    };
    s.save_can(None, &long, None).unwrap();
    let plan = s.plan().unwrap();
    assert!(plan.caveats.iter().all(|c| !c.text.contains("Break it")));
}

#[test]
fn labels_are_fixed_when_the_ticket_is_queued() {
    let s = bench();
    want(&s, 60);
    let head = s.plan().unwrap().shelf.head;
    let tickets = s.accept_plan(head, None).unwrap().value.unwrap();
    let made = s.wind(tickets[1], &WindDraft::default(), None).unwrap();
    assert_eq!(made.value.unwrap().roll.unwrap().1, "HM-02");
    assert_eq!(s.ticket(tickets[0]).unwrap().label, "HM-01");
    s.drop_ticket(tickets[0], None).unwrap();
    want(&s, 20);
    let head = s.plan().unwrap().shelf.head;
    let later = s.accept_plan(head, None).unwrap().value.unwrap();
    assert_eq!(
        s.ticket(later[0]).unwrap().label,
        "HM-03",
        "a number once printed is not given again"
    );
}

#[test]
fn a_request_undone_may_be_asked_again() {
    let s = bench();
    want(&s, 20);
    let head = s.plan().unwrap().shelf.head;
    let ticket = s.accept_plan(head, None).unwrap().value.unwrap()[0];
    let first = s.wind(ticket, &WindDraft::default(), Some("tap")).unwrap();
    s.undo(first.entry.unwrap(), None).unwrap();
    let again = s.wind(ticket, &WindDraft::default(), Some("tap")).unwrap();
    assert!(again.value.is_some());
    assert!(s.roll("HM-01").is_ok());
}

#[test]
fn the_dial_may_be_read_instead_of_counting() {
    let s = bench();
    let loader = s.loaders().unwrap()[0].id;
    let four_below = LoaderDraft {
        name: "green".into(),
        dial_zero: "\u{2212}4".into(),
        ..LoaderDraft::default()
    };
    s.save_loader(Some(loader), &four_below, None).unwrap();
    want(&s, 20);
    let head = s.plan().unwrap().shelf.head;
    let ticket = s.accept_plan(head, None).unwrap().value.unwrap()[0];
    let shown = WindDraft {
        dial: "15".into(),
        ..WindDraft::default()
    };
    s.wind(ticket, &shown, None).unwrap();
    let roll = s.roll("HM-01").unwrap().roll;
    assert_eq!((roll.clicks, roll.frames), (19.0, 13));
}

#[test]
fn what_is_hardly_credible_is_asked_about() {
    let s = bench();
    let can = s.shelf().unwrap().cans[0].can.id;
    want(&s, 20);
    let head = s.plan().unwrap().shelf.head;
    let ticket = s.accept_plan(head, None).unwrap().value.unwrap()[0];
    let wound = |clicks: &str, ran_out: &str, sure: &str| WindDraft {
        clicks: clicks.into(),
        ran_out: ran_out.into(),
        sure: sure.into(),
        ..WindDraft::default()
    };
    let field = |draft: &WindDraft| {
        s.wind(ticket, draft, None).unwrap_err().faults()[0]
            .field
            .clone()
    };
    assert_eq!(field(&wound("190", "", "")), "sure");
    assert_eq!(field(&wound("11", "yes", "")), "sure");
    assert_eq!(field(&wound("", "yes", "yes")), "clicks");
    let light = WeighDraft {
        grams: "3.54".into(),
        ..WeighDraft::default()
    };
    assert_eq!(
        s.weigh(can, &light, None).unwrap_err().faults()[0].field,
        "sure"
    );
    s.wind(ticket, &wound("11", "yes", "yes"), None).unwrap();
    assert_eq!(s.can(can).unwrap().can.state, CanState::Empty);
}

#[test]
fn a_long_can_gets_a_big_core_and_is_not_planned() {
    let s = bench();
    let long = CanDraft {
        stock: "Harbour Mist".into(),
        length: "122 m".into(),
        letters: "LONG".into(),
        ..CanDraft::default()
    };
    let id = s.save_can(None, &long, None).unwrap().value.unwrap();
    assert_eq!(s.can(id).unwrap().can.core_mm, 50.8);
    want(&s, 30);
    let plan = s.plan().unwrap();
    assert!(plan.rolls.iter().all(|r| r.can.letters == "HM"));
    assert!(
        plan.caveats
            .iter()
            .any(|c| c.code == "too_long_for_a_loader")
    );
    let four = spoolwright::service::breaking::BreakDraft {
        parts: "4 x 30.5 m".into(),
        ..Default::default()
    };
    let made = s.break_can(id, &four, None).unwrap();
    assert_eq!(made.value.unwrap().len(), 4);
    assert_eq!(
        s.can(id).unwrap().can.state,
        CanState::Empty,
        "nothing is left of it"
    );
}

#[test]
fn changes_say_what_changed_and_refusals_name_what_stands_in_the_way() {
    let s = bench();
    let stock = s.stocks().unwrap()[0].id;
    let added = s
        .history(About::Stock(stock), None)
        .unwrap()
        .last()
        .unwrap()
        .id;
    let faster = StockDraft {
        name: "Harbour Mist".into(),
        ei: "400 ISO".into(),
        ..StockDraft::default()
    };
    let made = s.save_stock(Some(stock), &faster, None).unwrap();
    assert_eq!(made.story, "Changed the stock Harbour Mist: ei 400.");
    let refused = s.undo(added, None).unwrap_err().to_string();
    assert!(
        refused.contains("(Changed the stock Harbour Mist: ei 400)"),
        "{refused}"
    );
    // Labels are meant, never numbers in the store.
    s.save_cassettes(
        None,
        &CassetteDraft {
            label: "x".into(),
            ..CassetteDraft::default()
        },
        None,
    )
    .unwrap();
    assert!(s.cassette_named("3").is_err());
}

#[test]
fn a_run_out_is_doubted_in_the_users_unit() {
    let s = bench();
    let feet = SettingsDraft {
        feet: "yes".into(),
        ..SettingsDraft::default()
    };
    s.save_settings(&feet, None).unwrap();
    let can = s.shelf().unwrap().cans[0].can.id;
    want(&s, 20);
    let head = s.plan().unwrap().shelf.head;
    let ticket = s.accept_plan(head, None).unwrap().value.unwrap()[0];
    let ended = WindDraft {
        clicks: "11".into(),
        ran_out: "yes".into(),
        ..WindDraft::default()
    };
    let at_the_can = RanOutDraft {
        clicks: "11".into(),
        ..RanOutDraft::default()
    };
    for refused in [
        s.wind(ticket, &ended, None).unwrap_err(),
        s.ran_out(can, &at_the_can, None).unwrap_err(),
    ] {
        let said = refused.to_string();
        assert!(
            said.contains(" ft or more") && !said.contains(" m "),
            "{said}"
        );
    }
}

#[test]
fn commas_alone_are_no_cassettes() {
    let s = bench();
    let commas = CassetteDraft {
        label: " , ".into(),
        ..CassetteDraft::default()
    };
    let refused = s.save_cassettes(None, &commas, None).unwrap_err();
    assert_eq!(refused.faults()[0].field, "label");
}

#[test]
fn a_name_is_never_taken_for_a_number_or_for_its_namesake() {
    let s = bench();
    // A can in loader number 1 would move to a loader called "1".
    let one = LoaderDraft {
        name: "1".into(),
        ..LoaderDraft::default()
    };
    assert!(s.save_loader(None, &one, None).is_err());
    let digits = CanDraft {
        stock: "Harbour Mist".into(),
        letters: "1".into(),
        ..CanDraft::default()
    };
    assert!(s.save_can(None, &digits, None).is_err());
    // Cassettes A and a are two.
    let both = CassetteDraft {
        label: "A, a".into(),
        ..CassetteDraft::default()
    };
    let made = s.save_cassettes(None, &both, None).unwrap().value.unwrap();
    assert_eq!(s.cassette_named("a").unwrap().id, made[1]);
    assert_eq!(s.cassette_named("A").unwrap().id, made[0]);
}

#[test]
fn a_closed_can_leaves_the_queue_and_takes_no_ticket() {
    let s = bench();
    let can = s.shelf().unwrap().cans[0].can.id;
    want(&s, 20);
    let head = s.plan().unwrap().shelf.head;
    s.accept_plan(head, None).unwrap();
    let queued = s.queue().unwrap().len();
    let made = s.close_can(can, CanState::Gone, None).unwrap();
    assert_eq!(
        made.story,
        format!("Can HM is gone. {queued} of its tickets left the queue.")
    );
    assert!(s.queue().unwrap().is_empty());
    let one_more = TicketDraft {
        can: "HM".into(),
        frames: "12".into(),
        ..TicketDraft::default()
    };
    let refused = s.add_ticket(&one_more, None).unwrap_err();
    assert_eq!(refused.faults()[0].field, "can");
    s.undo(made.entry.unwrap(), None).unwrap();
    assert_eq!(s.queue().unwrap().len(), queued);
}

#[test]
fn a_corrected_click_is_corrected_in_what_was_measured() {
    let s = bench();
    want(&s, 20);
    let head = s.plan().unwrap().shelf.head;
    let ticket = s.accept_plan(head, None).unwrap().value.unwrap()[0];
    let clicks = |clicks: &str| WindDraft {
        clicks: clicks.into(),
        ..WindDraft::default()
    };
    let roll = s.wind(ticket, &clicks("30"), None).unwrap();
    let roll = roll.value.unwrap().roll.unwrap().0;
    let long = MeasureDraft {
        length: "1.25 m".into(),
    };
    s.measure_roll(roll, &long, None).unwrap();
    s.correct_roll(roll, &clicks("29"), None).unwrap();
    // The same with the right number from the start.
    let t = bench();
    want(&t, 20);
    let head = t.plan().unwrap().shelf.head;
    let ticket = t.accept_plan(head, None).unwrap().value.unwrap()[0];
    let roll = t.wind(ticket, &clicks("29"), None).unwrap();
    let roll = roll.value.unwrap().roll.unwrap().0;
    t.measure_roll(roll, &long, None).unwrap();
    let learnt = |s: &Service| s.shelf().unwrap().loaders[0].uncounted_mm;
    assert_eq!(learnt(&s), learnt(&t));
}

#[test]
fn however_much_was_undone_the_change_before_is_found() {
    let s = bench();
    let first = s.last_change().unwrap();
    for _ in 0..40 {
        want(&s, 20);
    }
    for _ in 0..40 {
        let last = s.last_change().unwrap();
        s.undo(last.id, None).unwrap();
    }
    assert_eq!(s.last_change().unwrap(), first);
}

#[test]
fn absurd_evidence_does_not_close_the_shelf() {
    let s = bench();
    let can = s.shelf().unwrap().cans[0].can.id;
    let last = |s: &Service| s.last_change().unwrap().id;
    let grams = WeighDraft {
        grams: "9000".into(),
        ..WeighDraft::default()
    };
    s.weigh(can, &grams, None).unwrap();
    s.shelf().unwrap();
    let wide = GaugeDraft {
        outer_mm: "400".into(),
        ..GaugeDraft::default()
    };
    s.gauge(can, &wide, None).unwrap();
    s.shelf().unwrap();
    let much = TakenDraft {
        length: "900 m".into(),
        ..TakenDraft::default()
    };
    s.take(can, &much, None).unwrap();
    s.shelf().unwrap();
    let ended = RanOutDraft {
        clicks: "1900".into(),
        sure: "yes".into(),
    };
    s.ran_out(can, &ended, None).unwrap();
    s.shelf().unwrap();
    s.undo(last(&s), None).unwrap();
    s.shelf().unwrap();
}
