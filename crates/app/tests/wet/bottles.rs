//! Which bottle a step is poured from, when, and what the bench says of it.

use super::held::{bottle, kind, newest};
use super::*;
use spoolwright_core::shelf::BathId;
use spoolwright_core::wet::recipe::{Step, StepKind};

const ONE_SHOT: &str = "Negative, one-shot";

fn second_tank(s: &Service) {
    let tank = TankDraft {
        name: "Tall tank".into(),
        reel: "Steel".into(),
        volumes: "290 590".into(),
    };
    s.save_tank(None, &tank, None).unwrap();
}

fn make_in(s: &Service, tank: &str, reels: &str) -> RunId {
    let draft = RunDraft {
        recipe: ONE_SHOT.into(),
        tank: tank.into(),
        reels: reels.into(),
        ..RunDraft::default()
    };
    s.make_run(&draft, None).unwrap().value.unwrap()
}

/// A litre of the recipe's developer, at 10 % a film in a litre unless said otherwise.
fn developer(s: &Service, name: &str, change: impl Fn(&mut BathDraft)) -> BathId {
    let mut draft = BathDraft {
        name: name.into(),
        kind: "developer".into(),
        mixed_from: "House developer".into(),
        dilution: "1+9".into(),
        volume: "1 l".into(),
        percent_per_roll: "10".into(),
        rolls_per_litre: "20".into(),
        ..BathDraft::default()
    };
    change(&mut draft);
    s.save_bath(None, &draft, None).unwrap().value.unwrap()
}

fn of_kind(s: &Service, run: RunId, kind: StepKind) -> Step {
    let steps = s.run(run).unwrap().steps;
    steps.into_iter().find(|x| x.kind == kind).unwrap()
}

/// Film in a tank that is still going has been in the bottle, though its card does not say so yet.
#[test]
fn film_of_a_tank_that_is_going_counts_for_the_next() {
    let (s, hands) = bench();
    second_tank(&s);
    let pot = developer(&s, "Pot", |_| {});
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "HM", 36));
    let first = make_in(&s, "Short tank", &a);
    let second = make_in(&s, "Tall tank", &b);
    press(&s, first, "begin", "").unwrap();
    hands.pass(480.0);
    press(&s, first, "begin", "").unwrap();
    // The first is in its stop bath, its developer is back in the bottle.
    press(&s, second, "begin", "").unwrap();
    let step = of_kind(&s, second, StepKind::Developer);
    assert_eq!(step.bath, Some(pot));
    // A film of 36 through a litre at 10 % a film, as wound (a little more than 36).
    assert!((step.time_s / 480.0 - 1.1).abs() < 0.02, "{}", step.time_s);
    assert!(step.because.contains("has had film"), "{}", step.because);
}

#[test]
fn two_tanks_do_not_pour_the_same_litre() {
    let (s, hands) = bench();
    second_tank(&s);
    developer(&s, "Small pot", |d| d.volume = "500 ml".into());
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "HM", 36));
    let first = make_in(&s, "Short tank", &a);
    let second = make_in(&s, "Tall tank", &b);
    press(&s, first, "begin", "").unwrap();
    let refused = press(&s, second, "begin", "").unwrap_err();
    assert_eq!(refused.faults()[0].field, "bath", "{refused}");
    assert!(
        refused.to_string().contains("290 of its 500 ml"),
        "{refused}"
    );
    hands.pass(480.0);
    press(&s, first, "begin", "").unwrap();
    press(&s, second, "begin", "").unwrap();
}

/// A scrap is cleared while the developer is in, which is when one has the time.
#[test]
fn a_step_is_poured_anew_when_it_begins_itself() {
    let (s, _) = bench();
    let brown = bottle(&s, "Brown", "fixer");
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    press(&s, id, "begin", "").unwrap();
    befell(&s, brown, "clearing", "75");
    assert_eq!(of_kind(&s, id, StepKind::Fixer).time_s, 300.0);
    press(&s, id, "begin", "").unwrap();
    press(&s, id, "begin", "").unwrap();
    // D9: twice the clearing time.
    assert_eq!(of_kind(&s, id, StepKind::Fixer).time_s, 150.0);
    assert_eq!(step(&s, id).ends_s, 150.0);
    let begun = newest(&s);
    // A test made later does not move the bath that is in; the press taken back, and pressed again, does.
    befell(&s, brown, "clearing", "90");
    assert_eq!(step(&s, id).ends_s, 150.0);
    s.undo(begun, None).unwrap();
    assert_eq!(of_kind(&s, id, StepKind::Fixer).time_s, 300.0);
    press(&s, id, "begin", "").unwrap();
    assert_eq!(step(&s, id).ends_s, 180.0);
    let again = newest(&s);
    let back = s.undo(again, None).unwrap().entry.unwrap();
    s.undo(back, None).unwrap();
    assert_eq!(step(&s, id).ends_s, 180.0);
}

#[test]
fn a_bottle_is_changed_till_its_own_step_begins() {
    let (s, _) = bench();
    let (brown, fresh) = (bottle(&s, "Brown", "fixer"), bottle(&s, "Fresh", "fixer"));
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    press(&s, id, "begin", "").unwrap();
    assert_eq!(of_kind(&s, id, StepKind::Fixer).bath, Some(brown));
    let view = s.run(id).unwrap();
    assert!(!view.is_to_come(0) && view.is_to_come(1));
    s.choose_bath(id, 2, Some(fresh), None).unwrap();
    let chosen = newest(&s);
    s.undo(chosen, None).unwrap();
    s.choose_bath(id, 2, Some(fresh), None).unwrap();
    let chosen = newest(&s);
    press(&s, id, "begin", "").unwrap();
    press(&s, id, "begin", "").unwrap();
    assert_eq!(kind(&s.undo(chosen, None).unwrap_err()), Kind::Conflict);
    let refused = s.choose_bath(id, 2, Some(brown), None).unwrap_err();
    assert_eq!(kind(&refused), Kind::Conflict);
    for _ in 3..s.run(id).unwrap().steps.len() {
        press(&s, id, "begin", "").unwrap();
    }
    press(&s, id, "finish", "").unwrap();
    assert!(s.bath(brown, None).unwrap().events.is_empty());
    assert_eq!(s.bath(fresh, None).unwrap().events.len(), 1);
}

/// With film in the tank nothing is refused: what is wrong with the bottle is said.
#[test]
fn a_spent_bottle_does_not_stop_film_that_is_wet() {
    let (s, _) = bench();
    let brown = bottle(&s, "Brown", "fixer");
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    press(&s, id, "begin", "").unwrap();
    befell(&s, brown, "looked", "");
    press(&s, id, "begin", "").unwrap();
    press(&s, id, "begin", "").unwrap();
    let fix = of_kind(&s, id, StepKind::Fixer);
    assert_eq!(fix.time_s, 300.0);
    assert!(fix.because.contains("it is spent"), "{}", fix.because);
}

/// Colour film's bleach, and the second bath of anything, is a person's choice: the wrong one of that kind costs the roll.
#[test]
fn only_what_the_recipe_says_beyond_doubt_is_poured_of_its_own_accord() {
    let (s, _) = bench();
    s.begin_recipe("Negative, two-bath", None).unwrap();
    let bottles: Vec<BathId> = ["stop", "fixer", "wetting", "clearing", "second-bath"]
        .iter()
        .map(|kind| bottle(&s, kind, kind))
        .collect();
    developer(&s, "Other", |d| d.mixed_from = "Another developer".into());
    let a = exposed(&s, "HM", 36);
    let id = make(&s, "Negative, two-bath", &a).unwrap();
    let poured = |kind| of_kind(&s, id, kind).bath;
    assert_eq!(poured(StepKind::Stop), Some(bottles[0]));
    assert_eq!(poured(StepKind::Fixer), Some(bottles[1]));
    assert_eq!(poured(StepKind::FinalRinse), Some(bottles[2]));
    for kind in [StepKind::Developer, StepKind::SecondBath, StepKind::WashAid] {
        assert_eq!(poured(kind), None, "{kind:?}");
    }
    s.choose_bath(id, 1, Some(bottles[4]), None).unwrap();
    assert_eq!(poured(StepKind::SecondBath), Some(bottles[4]));
}

#[test]
fn a_bottle_must_cover_the_film_and_take_the_load() {
    let (s, _) = bench();
    let small = developer(&s, "Small", |d| d.volume = "250 ml".into());
    let full = developer(&s, "Full", |d| d.rolls_per_litre = "2".into());
    befell(&s, full, "run", "1");
    let other = developer(&s, "Other", |d| d.mixed_from = "Another developer".into());
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "HM", 36));
    let id = make(&s, ONE_SHOT, &format!("{a} {b}")).unwrap();
    assert_eq!(of_kind(&s, id, StepKind::Developer).bath, None);
    let refused = s.choose_bath(id, 0, Some(small), None).unwrap_err();
    assert_eq!(kind(&refused), Kind::OutOfRange, "{refused}");
    // One of two films is left: two rolls are one too many, though the bath is not spent.
    let refused = s.choose_bath(id, 0, Some(full), None).unwrap_err();
    assert_eq!(kind(&refused), Kind::Impossible, "{refused}");
    s.choose_bath(id, 0, Some(other), None).unwrap();
    let step = of_kind(&s, id, StepKind::Developer);
    assert!(
        step.because
            .contains("The time is for House developer 1+9; Other holds Another developer 1+9."),
        "{}",
        step.because
    );
    assert_eq!((step.time_s, step.plain_s), (480.0, None));
}

/// What speaks against a bottle without making it unfit is told where it is poured.
#[test]
fn a_bottle_in_doubt_says_so_at_its_step() {
    let (s, _) = bench();
    let pot = developer(&s, "Pot", |d| {
        d.usage = "replenished".into();
        d.percent_per_roll.clear();
        d.replenisher = "30 ml".into();
    });
    befell(&s, pot, "run", "2");
    let stop = bottle(&s, "White", "stop");
    befell(&s, stop, "run", "50");
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    let said = of_kind(&s, id, StepKind::Developer).because;
    assert!(said.contains("Pot: Add 60 ml of replenisher"), "{said}");
    let said = of_kind(&s, id, StepKind::Stop);
    assert!(
        said.because.contains("White: Not known"),
        "{}",
        said.because
    );
    assert_eq!((said.time_s, said.plain_s), (45.0, None));
}

#[test]
fn a_typed_time_says_what_the_bottle_would_ask() {
    let (s, _) = bench();
    let pot = developer(&s, "Pot", |_| {});
    befell(&s, pot, "run", "2");
    let draft = RunDraft {
        recipe: ONE_SHOT.into(),
        tank: "Short tank".into(),
        reels: exposed(&s, "HM", 36),
        time: "9:00".into(),
        ..RunDraft::default()
    };
    let id = s.make_run(&draft, None).unwrap().value.unwrap();
    let step = of_kind(&s, id, StepKind::Developer);
    assert_eq!(step.time_s, 540.0);
    assert!(step.because.contains("20 % more"), "{}", step.because);
}

/// A finish taken back and made again would put its film after the test made since, and a spent bath would seem fresh.
#[test]
fn film_in_a_bath_does_not_move_past_a_test() {
    let (s, _) = bench();
    let brown = bottle(&s, "Brown", "fixer");
    befell(&s, brown, "clearing", "40");
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    for _ in 0..s.run(id).unwrap().steps.len() {
        press(&s, id, "begin", "").unwrap();
    }
    press(&s, id, "finish", "").unwrap();
    let finished = newest(&s);
    befell(&s, brown, "clearing", "75");
    let tested = newest(&s);
    let refused = s.undo(finished, None).unwrap_err();
    assert!(refused.to_string().contains("Brown"), "{refused}");
    s.undo(tested, None).unwrap();
    s.undo(finished, None).unwrap();
    press(&s, id, "finish", "").unwrap();
}

/// A rehearsal pours nothing: a bottle that is spent does not stop it.
#[test]
fn a_rehearsal_asks_no_bottle() {
    let (s, _) = bench();
    let brown = bottle(&s, "Brown", "fixer");
    let draft = RunDraft {
        recipe: ONE_SHOT.into(),
        tank: "Short tank".into(),
        rehearsal: "60".into(),
        ..RunDraft::default()
    };
    let id = s.make_run(&draft, None).unwrap().value.unwrap();
    s.close_bath(brown, true, None).unwrap();
    press(&s, id, "begin", "").unwrap();
}

/// A bottle of that name that is there goes before one that was poured out; of two that are there none is guessed.
#[test]
fn a_name_means_the_bottle_that_is_there() {
    let (s, _) = bench();
    let old = bottle(&s, "Fixer", "fixer");
    s.close_bath(old, true, None).unwrap();
    assert_eq!(s.bottle_named("fixer").unwrap(), Some(old));
    let new = bottle(&s, "Fixer", "fixer");
    assert_eq!(s.bottle_named("Fixer").unwrap(), Some(new));
    let newer = bottle(&s, "Fixer", "fixer");
    let refused = s.bottle_named("Fixer").unwrap_err();
    assert!(
        refused.to_string().contains(&format!("{new} or {newer}")),
        "{refused}"
    );
    assert_eq!(s.bottle_named(&new.to_string()).unwrap(), Some(new));
}

/// Numbers come back as they were typed, and nothing befalls a bath in the future.
#[test]
fn a_card_keeps_what_was_typed() {
    let (s, _) = bench();
    for rolls in ["13", "14", "21", "26", "28"] {
        let id = developer(&s, &format!("Pot {rolls}"), |d| {
            d.rolls_per_litre = rolls.into()
        });
        let card = s.bath(id, None).unwrap().card;
        assert_eq!(BathDraft::from(&card).rolls_per_litre, rolls);
        let day = BathEventDraft {
            what: "looked".into(),
            look: "good".into(),
            day: "2036-10-25".into(),
            ..BathEventDraft::default()
        };
        let refused = s.note_bath(id, &day, None).unwrap_err();
        assert_eq!(refused.faults()[0].field, "day");
    }
    let recipe = s.recipe_named(ONE_SHOT).unwrap();
    let steps: Vec<StepDraft> = recipe.steps.iter().map(StepDraft::from).collect();
    for percent in ["7", "14", "28", "29"] {
        let head = RecipeDraft {
            tolerance: percent.into(),
            ..RecipeDraft::from(&recipe.recipe)
        };
        s.save_recipe(Some(recipe.recipe.id), &head, &steps, None)
            .unwrap();
        let saved = s.recipe(recipe.recipe.id).unwrap().recipe;
        assert_eq!(RecipeDraft::from(&saved).tolerance, percent);
    }
}
