//! What the record says when a test was changed, read otherwise than planned, or read although its roll lags behind.

use spoolwright::service::Service;
use spoolwright::service::paper::PaperDraft;
use spoolwright::service::wedge::{ReadingsDraft, TargetDraft, TestDraft, usual_steps};
use spoolwright::service::winding::WindDraft;
use spoolwright_core::shelf::{EntryId, RollState, TicketId, WedgeTestId};
use spoolwright_core::wedge::record::Way;

use super::paper::said;
use super::{begin, bench, density, known_exposure, read, saved, table};

/// The test with one field of its form changed.
fn change(service: &Service, id: WedgeTestId, with: impl FnOnce(&mut TestDraft)) -> EntryId {
    let view = service.wedge_test(id).unwrap();
    let settings = service.settings().unwrap();
    let mut draft = TestDraft::shown(&view.test, &view.stock, view.can.as_deref(), &settings);
    with(&mut draft);
    let made = service.change_test(id, &draft, None).unwrap();
    made.entry.unwrap()
}

/// What moves a card's figures makes it out of date, in words, until it is undone; what does not, does not. The card
/// itself stays as it was.
#[test]
fn a_card_says_that_its_test_was_changed_after_it_was_saved() {
    const CHANGED: &str = "The test was changed after this card was saved";
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0, 12.0])).unwrap();
    let card = saved(&service, id, &TargetDraft::default());
    let outdated = |service: &Service| {
        let of_card = service.card(card).unwrap().outdated;
        assert_eq!(of_card, service.wedge_test(id).unwrap().outdated);
        of_card
    };
    let before = service.card(card).unwrap().card;
    change(&service, id, |d| d.note = "wall in the yard".into());
    assert_eq!(outdated(&service), None);
    let exposure = change(&service, id, |d| d.log_h_at_zero_density = "0.40".into());
    let said_so = outdated(&service).unwrap();
    assert!(said_so.contains(CHANGED) && said_so.contains("save a new card"));
    assert!(said_so.contains("the exposure"), "{said_so}");
    assert_eq!(service.card(card).unwrap().card, before);
    let paper = PaperDraft::default();
    let printed = |service: &Service| {
        let document = service.print_result(id, &TargetDraft::default(), &paper);
        said(&document.unwrap())
    };
    assert!(printed(&service).contains(CHANGED));
    service.undo(exposure, None).unwrap();
    assert_eq!(outdated(&service), None);
    assert!(!printed(&service).contains(CHANGED));
    let strip = service.wedge_test(id).unwrap().strips[0].id;
    service.leave_strip_out(id, strip, true, None).unwrap();
    assert!(outdated(&service).unwrap().contains("the strips"));
    // A new card is of today's test; the older one stays out of date.
    let newer = saved(&service, id, &TargetDraft::default());
    assert_eq!(service.card(newer).unwrap().outdated, None);
    assert!(service.card(card).unwrap().outdated.is_some());
    assert_eq!(service.wedge_test(id).unwrap().outdated, None);
}

/// A table that no curve can be drawn through is refused before anything of it is kept, its good columns too.
#[test]
fn a_table_that_makes_no_sense_is_not_kept() {
    let service = bench();
    let id = begin(&service, known_exposure());
    let good = table(&[5.0, 8.0]);
    let falling = good
        .lines()
        .map(|l| l.split(',').map(str::to_owned).collect::<Vec<_>>())
        .collect::<Vec<_>>();
    let last = falling.len();
    // The second strip turned upside down.
    let falling: Vec<String> = (0..last)
        .map(|i| {
            let other = if i == 0 { 0 } else { last - i };
            [&falling[i][0], &falling[i][1], &falling[other][2]]
                .map(String::as_str)
                .join(",")
        })
        .collect();
    let few: String = good
        .lines()
        .enumerate()
        .map(|(i, l)| {
            if i < 4 {
                format!("{l}\n")
            } else {
                format!("{},,\n", l.split(',').next().unwrap())
            }
        })
        .collect();
    for bad in [falling.join("\n"), few] {
        let refused = read(&service, id, &bad).unwrap_err();
        assert_eq!(refused.faults()[0].field, "table", "{bad}");
        assert!(service.wedge_test(id).unwrap().strips.is_empty());
    }
    read(&service, id, &good).unwrap();
    // Too near to a strip that is there: refused, and the one that is there stays.
    let near = table(&[8.0]).replace("8 min", "8:01");
    assert!(read(&service, id, &near).is_err());
    assert_eq!(service.wedge_test(id).unwrap().strips.len(), 2);
}

#[test]
fn times_that_were_not_planned_are_told_strip_by_strip() {
    let service = bench();
    let planned = TestDraft {
        times: "5 8 min 20 s 12".into(),
        ..known_exposure()
    };
    let id = begin(&service, planned);
    let remarks = |service: &Service| service.wedge_test(id).unwrap().remarks;
    read(&service, id, &table(&[5.0]).replace("5 min", "5:00")).unwrap();
    assert!(remarks(&service).is_empty());
    read(&service, id, &table(&[9.0, 12.0])).unwrap();
    let said = remarks(&service).remove(0);
    assert!(
        said.starts_with("Strip 2 was planned for 8:20 min and read as 9 min."),
        "{said}"
    );
    read(&service, id, &table(&[16.0])).unwrap();
    let said = remarks(&service).remove(0);
    assert!(said.contains("planned for 5, 8:20, 12 min"), "{said}");
    assert!(said.contains("9, 16 min"), "{said}");
}

/// A test in camera with its roll, and strips of the times planned.
fn in_camera(service: &Service) -> (WedgeTestId, TicketId, String) {
    let id = begin(
        service,
        TestDraft {
            can: "GR".into(),
            meter_ei: "100".into(),
            ..TestDraft::default()
        },
    );
    let mut text = String::from("step,5,8,12\n");
    for stops in usual_steps(Way::InCamera) {
        let at = |t| density(t, -1.0 + stops * 2_f64.log10());
        let (a, b, c) = (at(5.0), at(8.0), at(12.0));
        text.push_str(&format!("{stops},{a:.3},{b:.3},{c:.3}\n"));
    }
    text.push_str("base+fog,0.2,0.2,0.2\n");
    let ticket = service.wedge_test(id).unwrap().ticket.unwrap().id;
    (id, ticket, text)
}

#[test]
fn strips_that_were_read_say_that_their_roll_was_developed() {
    let service = bench();
    let (id, ticket, text) = in_camera(&service);
    service.wind(ticket, &WindDraft::default(), None).unwrap();
    let state = |service: &Service| service.wedge_test(id).unwrap().roll.unwrap().roll.state;
    assert_eq!(state(&service), RollState::Wound);
    let draft = ReadingsDraft {
        table: text,
        ..ReadingsDraft::default()
    };
    let made = service.put_readings(id, &draft, None).unwrap();
    assert!(
        made.story.contains("Its roll GR-01 is developed."),
        "{}",
        made.story
    );
    assert_eq!(state(&service), RollState::Developed);
    assert!(service.wedge_test(id).unwrap().remarks.is_empty());
    service.undo(made.entry.unwrap(), None).unwrap();
    assert_eq!(state(&service), RollState::Wound);
    assert!(service.wedge_test(id).unwrap().strips.is_empty());
}

/// Nobody knows how many clicks a roll was wound to that was never recorded: that is said, not made up.
#[test]
fn strips_read_while_the_roll_still_waits_leave_something_to_be_recorded() {
    let service = bench();
    let (id, ticket, text) = in_camera(&service);
    assert_eq!(service.ticket(ticket).unwrap().unrecorded, None);
    read(&service, id, &text).unwrap();
    let view = service.wedge_test(id).unwrap();
    assert!(
        view.remarks[0].contains("record the winding"),
        "{:?}",
        view.remarks
    );
    let on_ticket = service.ticket(ticket).unwrap().unrecorded.unwrap();
    assert_eq!(on_ticket, view.remarks[0]);
    assert_eq!(service.queue().unwrap().len(), 1);
    service.wind(ticket, &WindDraft::default(), None).unwrap();
    let view = service.wedge_test(id).unwrap();
    assert!(
        view.remarks[0].contains("say that it was developed"),
        "{:?}",
        view.remarks
    );
}

#[test]
fn the_history_tells_a_time_in_seconds_short() {
    let service = bench();
    let id = begin(&service, known_exposure());
    read(&service, id, &table(&[5.0, 8.0]).replace("8 min", "8:20")).unwrap();
    let strip = service.wedge_test(id).unwrap().strips[1].id;
    let made = service.leave_strip_out(id, strip, true, None).unwrap();
    assert!(made.story.contains("the 8:20 min strip"), "{}", made.story);
}
