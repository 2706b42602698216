//! No roll in two tanks, no tank in two runs, and nothing taken back that others rest on; a run given up is told as far
//! as it went.

use super::*;
use spoolwright_core::shelf::{BathId, EntryId};

fn undo_last(s: &Service) -> Result<EntryId, Failure> {
    let last = s.last_change()?;
    s.undo(last.id, None)
        .map(|made| made.entry.unwrap_or(last.id))
}

/// The entry of the newest change, whatever it is.
pub(super) fn newest(s: &Service) -> EntryId {
    use spoolwright::service::rolls::About;
    s.history(About::Everything, None).unwrap()[0].id
}

pub(super) fn kind(refused: &Failure) -> Kind {
    refused.faults()[0].error.kind
}

pub(super) fn bottle(s: &Service, name: &str, kind: &str) -> BathId {
    let draft = BathDraft {
        name: name.into(),
        kind: kind.into(),
        mixed_from: if kind == "developer" {
            "House developer"
        } else {
            ""
        }
        .into(),
        dilution: if kind == "developer" { "1+9" } else { "" }.into(),
        volume: "1 l".into(),
        ..BathDraft::default()
    };
    s.save_bath(None, &draft, None).unwrap().value.unwrap()
}

fn state(s: &Service, label: &str) -> RollState {
    s.roll(label).unwrap().roll.state
}

fn move_to(s: &Service, label: &str, state: &str) -> Result<(), Failure> {
    let draft = RollDraft {
        state: state.into(),
        note: "because".into(),
        ..RollDraft::default()
    };
    let id = s.roll(label).unwrap().roll.id;
    s.move_roll(id, &draft, None).map(|_| ())
}

#[test]
fn giving_up_cannot_be_taken_back_once_the_roll_is_in_another_tank() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let one = make(&s, "Negative, one-shot", &a).unwrap();
    press(&s, one, "abandon", "").unwrap();
    let given_up = newest(&s);
    let two = make(&s, "Negative, one-shot", &a).unwrap();
    let refused = s.undo(given_up, None).unwrap_err();
    assert_eq!(kind(&refused), Kind::Conflict, "{refused}");
    assert!(
        refused.to_string().contains(&format!("run {two}")),
        "{refused}"
    );
    assert_eq!(s.run(one).unwrap().run.state, RunState::Abandoned);
    // Developed in the second, it can be in no other again either.
    press(&s, two, "begin", "").unwrap();
    press(&s, two, "abandon", "").unwrap();
    assert!(s.undo(given_up, None).is_err());
}

#[test]
fn a_run_taken_back_does_not_come_again_beside_another() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    make(&s, "Negative, one-shot", &a).unwrap();
    let back = undo_last(&s).unwrap();
    let two = make(&s, "Negative, one-shot", &a).unwrap();
    let refused = s.undo(back, None).unwrap_err();
    assert_eq!(kind(&refused), Kind::Conflict, "{refused}");
    assert_eq!(s.runs_in(RunState::Planned).unwrap().len(), 1);
    // Without the second it may come again.
    press(&s, two, "abandon", "").unwrap();
    s.undo(back, None).unwrap();
}

/// A correction of the roll's own state, taken back while it is loaded, would leave developed film in an open run.
#[test]
fn a_loaded_roll_does_not_become_developed_but_by_its_run() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    move_to(&s, &a, "developed").unwrap();
    move_to(&s, &a, "exposed").unwrap();
    let corrected = newest(&s);
    let run = make(&s, "Negative, one-shot", &a).unwrap();
    assert!(s.undo(corrected, None).is_err());
    for to in ["developed", "filed", "scrapped", "in-camera"] {
        let refused = move_to(&s, &a, to).unwrap_err();
        assert_eq!(refused.faults()[0].field, "state", "{to}");
        assert!(
            refused.to_string().contains(&format!("run {run}")),
            "{refused}"
        );
    }
    move_to(&s, &a, "wound").unwrap();
    move_to(&s, &a, "exposed").unwrap();
    press(&s, run, "begin", "").unwrap();
    assert!(move_to(&s, &a, "scrapped").is_err());
    press(&s, run, "abandon", "").unwrap();
    move_to(&s, &a, "scrapped").unwrap();
}

#[test]
fn a_bottle_is_not_changed_back_while_its_bath_is_in() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let (one, two) = (
        bottle(&s, "One", "developer"),
        bottle(&s, "Two", "developer"),
    );
    let id = make(&s, "Negative, one-shot", &a).unwrap();
    let was = s.run(id).unwrap().steps[0].bath;
    let other = if was == Some(one) { two } else { one };
    let chosen = s
        .choose_bath(id, 0, Some(other), None)
        .unwrap()
        .entry
        .unwrap();
    press(&s, id, "begin", "").unwrap();
    let refused = s.undo(chosen, None).unwrap_err();
    assert_eq!(kind(&refused), Kind::Conflict, "{refused}");
    assert_eq!(s.run(id).unwrap().steps[0].bath, Some(other));
    // The press taken back, so may the choice be.
    undo_last(&s).unwrap();
    s.undo(chosen, None).unwrap();
    assert_eq!(s.run(id).unwrap().steps[0].bath, was);
}

#[test]
fn giving_up_after_the_developer_was_in_leaves_developed_film_and_a_used_bath() {
    let (s, hands) = bench();
    let a = exposed(&s, "HM", 36);
    let (developer, fixer) = (bottle(&s, "Pot", "developer"), bottle(&s, "Fixer", "fixer"));
    let id = make(&s, "Negative, one-shot", &a).unwrap();
    press(&s, id, "begin", "").unwrap();
    hands.pass(60.0);
    let draft = MarkDraft {
        kind: "abandon".into(),
        note: "the door".into(),
        ..MarkDraft::default()
    };
    let made = s.press(id, &draft, None).unwrap();
    assert!(
        made.story.contains(&format!("{a} is developed")),
        "{}",
        made.story
    );
    assert_eq!(state(&s, &a), RollState::Developed);
    assert!(s.waiting().unwrap().is_empty(), "it is not offered again");
    assert_eq!(s.bath(developer, None).unwrap().events.len(), 1);
    assert!(
        s.bath(fixer, None).unwrap().events.is_empty(),
        "it was not poured"
    );
    s.undo(made.entry.unwrap(), None).unwrap();
    assert_eq!(state(&s, &a), RollState::Exposed);
    assert!(s.bath(developer, None).unwrap().events.is_empty());
    assert!(matches!(
        s.run_clock(id).unwrap().timer.phase,
        Phase::Running(_)
    ));
}

/// The backing is taken off before the developer: given up there, the film waits as before, its bath is drawn on.
#[test]
fn giving_up_before_the_developer_leaves_the_film_as_it_was() {
    let (s, _) = bench();
    let a = exposed(&s, "NT", 36);
    let prebath = bottle(&s, "Prebath", "prebath");
    let id = make(&s, "Remjet, colour negative", &a).unwrap();
    s.choose_bath(id, 0, Some(prebath), None).unwrap();
    press(&s, id, "begin", "").unwrap();
    press(&s, id, "abandon", "").unwrap();
    assert_eq!(state(&s, &a), RollState::Exposed);
    assert_eq!(s.bath(prebath, None).unwrap().events.len(), 1);
    let planned = make(&s, "Remjet, colour negative", &a).unwrap();
    s.choose_bath(planned, 0, Some(prebath), None).unwrap();
    press(&s, planned, "abandon", "").unwrap();
    assert_eq!(
        s.bath(prebath, None).unwrap().events.len(),
        1,
        "nothing was poured"
    );
    assert_eq!(s.waiting().unwrap().len(), 1);
}

#[test]
fn a_tank_goes_in_one_run_at_a_time() {
    let (s, _) = bench();
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "HM", 36));
    let one = make(&s, "Negative, one-shot", &a).unwrap();
    let two = make(&s, "Negative, one-shot", &b).unwrap();
    press(&s, one, "begin", "").unwrap();
    let refused = press(&s, two, "begin", "").unwrap_err();
    assert_eq!(refused.faults()[0].field, "tank");
    assert!(
        refused.to_string().contains(&format!("run {one}")),
        "{refused}"
    );
    press(&s, two, "abandon", "").unwrap();
    // What is proposed says that the tank is not free yet.
    let plan = s.propose(&LoadDraft::default()).unwrap();
    assert!(
        plan.caveats.iter().any(|c| c.code == "tank_going"),
        "{plan:?}"
    );
    press(&s, one, "abandon", "").unwrap();
    let given_up = newest(&s);
    let three = make(&s, "Negative, one-shot", &b).unwrap();
    press(&s, three, "begin", "").unwrap();
    assert!(s.undo(given_up, None).is_err(), "its tank is in use");
    let plan = s.propose(&LoadDraft::default());
    assert!(plan.is_err(), "nothing waits");
    press(&s, three, "abandon", "").unwrap();
    s.undo(given_up, None).unwrap();
}

#[test]
fn a_rehearsal_takes_no_roll_and_no_tank() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let rehearse = |reels: &str| {
        let draft = RunDraft {
            recipe: "Negative, one-shot".into(),
            tank: "Short tank".into(),
            reels: reels.into(),
            rehearsal: "60".into(),
            ..RunDraft::default()
        };
        s.make_run(&draft, None).unwrap().value.unwrap()
    };
    let practice = rehearse(&a);
    assert_eq!(s.waiting().unwrap().len(), 1, "the roll still waits");
    assert!(s.run(practice).unwrap().rolls.is_empty());
    press(&s, practice, "begin", "").unwrap();
    let real = make(&s, "Negative, one-shot", &a).unwrap();
    press(&s, real, "begin", "").unwrap();
    press(&s, rehearse(&a), "begin", "").unwrap();
    press(&s, practice, "abandon", "").unwrap();
    assert_eq!(state(&s, &a), RollState::Exposed);
}

/// A finish taken back takes with it what was counted, till the run is over again.
#[test]
fn what_was_counted_counts_only_while_the_run_is_over() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let id = make(&s, "Negative, one-shot", &a).unwrap();
    for _ in 0..s.run(id).unwrap().steps.len() {
        press(&s, id, "begin", "").unwrap();
    }
    press(&s, id, "finish", "").unwrap();
    let finished = newest(&s);
    let result = ResultDraft {
        usable: "35".into(),
        exposure: "under".into(),
        ..ResultDraft::default()
    };
    s.save_result(id, &a, &result, None).unwrap();
    let stock = s.stock_named("Harbour Mist 100").unwrap().id;
    let loader = s.loader_named("Bench").unwrap().id;
    assert_eq!(s.stock_tallies(stock).unwrap().len(), 1);
    s.undo(finished, None).unwrap();
    assert!(s.stock_tallies(stock).unwrap().is_empty());
    assert!(s.loader_advice(loader).unwrap().leader.is_none());
    press(&s, id, "finish", "").unwrap();
    assert_eq!(s.stock_tallies(stock).unwrap().len(), 1);
}

/// Film that was in the developer can be counted although the run was given up; film that was not cannot.
#[test]
fn what_came_out_of_a_run_given_up_after_its_developer_is_written_down() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let dry = make(&s, "Negative, one-shot", &a).unwrap();
    press(&s, dry, "abandon", "").unwrap();
    let result = ResultDraft {
        usable: "20".into(),
        fogged_end: "1".into(),
        exposure: "under".into(),
        ..ResultDraft::default()
    };
    assert_eq!(
        kind(&s.save_result(dry, &a, &result, None).unwrap_err()),
        Kind::Conflict
    );
    let id = make(&s, "Negative, one-shot", &a).unwrap();
    press(&s, id, "begin", "").unwrap();
    assert!(s.save_result(id, &a, &result, None).is_err());
    press(&s, id, "abandon", "").unwrap();
    let given_up = newest(&s);
    s.save_result(id, &a, &result, None).unwrap();
    let loader = s.loader_named("Bench").unwrap().id;
    assert!(matches!(
        s.loader_advice(loader).unwrap().tail,
        Some(Advice::More { fogged: 1, .. })
    ));
    let (dry, wet) = (s.run(dry).unwrap(), s.run(id).unwrap());
    assert!(!dry.developed && wet.developed);
    s.undo(given_up, None).unwrap();
    assert!(s.loader_advice(loader).unwrap().tail.is_none());
}

/// A load by hand takes as much as the film needs stock for, as a plan does, and is told what the film's back may carry.
#[test]
fn a_load_by_hand_has_stock_enough_and_keeps_the_doubt_about_its_film() {
    let (s, _) = bench();
    let recipe = s.recipe_named("Negative, one-shot").unwrap();
    let head = RecipeDraft {
        least_stock: "20".into(),
        ..RecipeDraft::from(&recipe.recipe)
    };
    let steps: Vec<StepDraft> = recipe.steps.iter().map(StepDraft::from).collect();
    s.save_recipe(Some(recipe.recipe.id), &head, &steps, None)
        .unwrap();
    let label = exposed(&s, "HM", 36);
    let proposed = s
        .propose(&LoadDraft {
            rolls: label.clone(),
            ..LoadDraft::default()
        })
        .unwrap();
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    assert_eq!(
        s.run(id).unwrap().run.volume_ml,
        proposed.runs[0].working_ml
    );
    let mixed = s.mixed_for(&s.run(id).unwrap()).unwrap().unwrap();
    assert!(mixed.contains(" ml of water"), "{mixed}");
    let cine = StockDraft {
        name: "Cine".into(),
        ei: "100".into(),
        pitch: "short".into(),
        ..StockDraft::default()
    };
    s.save_stock(None, &cine, None).unwrap();
    let can = CanDraft {
        stock: "Cine".into(),
        letters: "CI".into(),
        loader: "Bench".into(),
        ..CanDraft::default()
    };
    s.save_can(None, &can, None).unwrap();
    let label = exposed(&s, "CI", 12);
    press(&s, id, "abandon", "").unwrap();
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    let because = s.run(id).unwrap().run.time_because;
    assert!(because.contains("look at its back first"), "{because}");
}

/// A press that waited for another one to be written does not count the wait twice.
#[test]
fn a_press_that_waited_its_turn_takes_the_moment_it_was_written() {
    use spoolwright_core::shelf::MarkId;
    use spoolwright_core::wet::timer::{Mark, MarkKind, Moment};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shelf.sqlite");
    let hands = Hands::new();
    let s = hands.over(Store::open(&path).unwrap());
    furnish(&s);
    let label = exposed(&s, "HM", 36);
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    press(&s, id, "begin", "").unwrap();
    let mut other = Store::open(&path).unwrap();
    std::thread::scope(|scope| {
        other
            .change("2026-10-25T00:30:10Z", None, |change| {
                scope.spawn(|| press(&s, id, "extend", "30").unwrap());
                std::thread::sleep(std::time::Duration::from_millis(300));
                hands.pass(10.0);
                change.put(&Mark {
                    id: MarkId(0),
                    run: id,
                    at_s: 10.0,
                    kind: MarkKind::Reading,
                    step: None,
                    value: Some(20.0),
                    note: String::new(),
                    moment: Moment {
                        boot: "first start".into(),
                        since_boot_s: 5010.0,
                        utc: String::new(),
                    },
                })?;
                Ok::<_, Failure>(("run.read", "Read.".to_owned(), ()))
            })
            .unwrap();
    });
    assert!(
        (step(&s, id).elapsed_s - 10.0).abs() < 1e-6,
        "{:?}",
        step(&s, id)
    );
    assert!(!s.run_clock(id).unwrap().second.by_the_wall);
}
