//! Which time a roll gets, and what is said of it.

use super::held::{kind, newest};
use super::*;

const ONE_SHOT: &str = "Negative, one-shot";

fn own(s: &Service, stock: &str, ei: &str, time: &str, source: &str) {
    let draft = TimeDraft {
        stock: stock.into(),
        developer: "House developer".into(),
        dilution: "1+9".into(),
        ei: ei.into(),
        time: time.into(),
        source: source.into(),
        ..TimeDraft::default()
    };
    s.save_time(None, &draft, None).unwrap();
}

fn expose_at(s: &Service, label: &str, ei: &str) -> Result<(), Failure> {
    let draft = RollDraft {
        ei: ei.into(),
        ..RollDraft::default()
    };
    let id = s.roll(label).unwrap().roll.id;
    s.move_roll(id, &draft, None).map(|_| ())
}

/// A time is made for the EI the roll has: it stays while a run holds the roll.
#[test]
fn the_ei_of_a_loaded_roll_stays() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    expose_at(&s, &a, "200").unwrap();
    let written = newest(&s);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    let refused = expose_at(&s, &a, "400").unwrap_err();
    assert_eq!(refused.faults()[0].field, "ei", "{refused}");
    assert!(s.undo(written, None).is_err(), "taken back it would be 100");
    expose_at(&s, &a, "200").unwrap();
    press(&s, id, "abandon", "").unwrap();
    expose_at(&s, &a, "400").unwrap();
    let id = make(&s, ONE_SHOT, &a).unwrap();
    assert!(s.run(id).unwrap().run.time_because.contains("EI 400"));
}

/// A time of one's own for the very EI goes before a card for another, which could only be pushed by rule of thumb.
#[test]
fn a_time_for_the_very_ei_goes_before_a_card_for_another() {
    use spoolwright_core::shelf::StockCardId;
    use spoolwright_core::wedge::Interval;
    use spoolwright_core::wedge::record::{SpeedKind, StockCard};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shelf.sqlite");
    let s = Hands::new().over(Store::open(&path).unwrap());
    furnish(&s);
    let stock = s.stock_named("Harbour Mist 100").unwrap().id;
    let card = StockCard {
        id: StockCardId(0),
        stock,
        test: None,
        can: None,
        made_on: "2026-10-01".into(),
        ei: Some(Interval::exactly(100.0)),
        speed_kind: SpeedKind::default(),
        time_min: Some(Interval::exactly(8.0)),
        target: None,
        developer: "House developer".into(),
        dilution: "1+9".into(),
        temperature_c: Some(20.0),
        agitation: String::new(),
        limits: String::new(),
        note: String::new(),
    };
    Store::open(&path)
        .unwrap()
        .change("2026-10-01T10:00:00Z", None, |change| {
            change.put(&card)?;
            Ok::<_, Failure>(("card.made", "Made a card.".to_owned(), ()))
        })
        .unwrap();
    own(&s, "Harbour Mist 100", "400", "12:00", "own");
    own(&s, "Harbour Mist 100", "", "7:00", "sheet");
    let recipe = s.recipe_named(ONE_SHOT).unwrap();
    let at = |ei: f64| {
        let time = s.film_time(stock, Some(ei), &recipe).unwrap();
        (time.source, time.time_min.value)
    };
    assert_eq!(at(100.0), (TimeSource::Card, 8.0));
    assert_eq!(at(400.0), (TimeSource::Own, 12.0));
    let (source, pushed) = at(200.0);
    assert!(source == TimeSource::Rule && 8.0 < pushed, "{pushed}");
}

/// Two rolls of one time, known differently: the run is as sure as the less sure, and says both reasons.
#[test]
fn a_run_is_as_sure_as_its_least_sure_roll() {
    let (s, _) = bench();
    stock(&s, "Slate Grey 100", "SG", "negative", "usual");
    own(&s, "Harbour Mist 100", "100", "8:00", "own");
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "SG", 36));
    let id = make(&s, ONE_SHOT, &format!("{a} {b}")).unwrap();
    let run = s.run(id).unwrap().run;
    assert_eq!(run.time_source, TimeSource::Rule);
    for said in [&a, &b, "worked before", "Nobody measured Slate Grey"] {
        assert!(run.time_because.contains(said), "{}", run.time_because);
    }
    press(&s, id, "abandon", "").unwrap();
    let plan = s.propose(&LoadDraft::default()).unwrap();
    let proposed = &plan.runs[0];
    assert_eq!(proposed.source, TimeSource::Rule);
    assert_eq!((proposed.time_min, proposed.at_c), (8.0, 20.0));
}

/// A recipe's one time for every film claims no sheet, and does not pass over film exposed at another EI.
#[test]
fn a_recipes_one_time_says_what_it_does_not_know() {
    let (s, _) = bench();
    let view = s.recipe_named("Remjet, colour negative").unwrap();
    let steps: Vec<StepDraft> = view.steps.iter().map(StepDraft::from).collect();
    let head = RecipeDraft {
        note: "garage".into(),
        ..RecipeDraft::from(&view.recipe)
    };
    s.save_recipe(Some(view.recipe.id), &head, &steps, None)
        .unwrap();
    let view = s.recipe(view.recipe.id).unwrap();
    let stock = s.stock_named("Night Tram 500").unwrap();
    let at = |ei| s.time_in(&stock, Some(ei), &view).unwrap();
    assert_eq!(at(100.0).source, TimeSource::Rule);
    assert!(at(100.0).caveats.is_empty());
    assert!(at(400.0).caveats.iter().any(|c| c.code == "any_ei"));
}

/// Rolls asked for by label that no tank can take are left out with the reason, not planned.
#[test]
fn a_plan_leaves_out_what_is_loaded_or_developed() {
    let (s, _) = bench();
    let (a, b, c) = (
        exposed(&s, "HM", 36),
        exposed(&s, "HM", 36),
        exposed(&s, "HM", 36),
    );
    let held = make(&s, ONE_SHOT, &a).unwrap();
    let draft = RollDraft {
        state: "developed".into(),
        ..RollDraft::default()
    };
    let id = s.roll(&b).unwrap().roll.id;
    s.move_roll(id, &draft, None).unwrap();
    let asked = LoadDraft {
        rolls: format!("{a} {b} {c}"),
        ..LoadDraft::default()
    };
    let plan = s.propose(&asked).unwrap();
    assert_eq!(plan.runs.len(), 1);
    assert_eq!(plan.runs[0].reels, [[c]]);
    let why = |label: &str| {
        let found = plan.unloaded.iter().find(|(l, _)| l == label);
        found.unwrap().1.clone()
    };
    assert!(why(&a).contains(&format!("run {held}")));
    assert!(why(&b).contains("developed"));
}

/// What is said without counting counts too: a thin roll for the stock, a fogged end for the loader.
#[test]
fn what_was_said_without_counting_frames_teaches() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    for _ in 0..s.run(id).unwrap().steps.len() {
        press(&s, id, "begin", "").unwrap();
    }
    press(&s, id, "finish", "").unwrap();
    let draft = ResultDraft {
        fogged_end: "2".into(),
        exposure: "under".into(),
        ..ResultDraft::default()
    };
    s.save_result(id, &a, &draft, None).unwrap();
    let stock = s.stock_named("Harbour Mist 100").unwrap().id;
    assert_eq!(s.stock_tallies(stock).unwrap()[0].1.under, 1);
    let loader = s.loader_named("Bench").unwrap().id;
    assert!(matches!(
        s.loader_advice(loader).unwrap().tail,
        Some(Advice::More { fogged: 1, .. })
    ));
}

#[test]
fn what_is_put_away_is_refused_where_it_was_named() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let tank = s.tanks().unwrap()[0].id;
    s.close_tank(tank, true, None).unwrap();
    let refused = make(&s, ONE_SHOT, &a).unwrap_err();
    assert_eq!(kind(&refused), Kind::Conflict);
    assert_eq!(refused.faults()[0].field, "tank");
}

/// A giving up taken back would leave a scrapped roll in an open tank.
#[test]
fn a_scrapped_roll_is_in_no_open_run() {
    let (s, _) = bench();
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    press(&s, id, "abandon", "").unwrap();
    let given_up = newest(&s);
    let draft = RollDraft {
        state: "scrapped".into(),
        note: "torn".into(),
        ..RollDraft::default()
    };
    let roll = s.roll(&a).unwrap().roll.id;
    s.move_roll(roll, &draft, None).unwrap();
    assert_eq!(kind(&s.undo(given_up, None).unwrap_err()), Kind::Conflict);
}

/// A pause taken back from under the readings after it would move them, and the end that was acted on.
#[test]
fn an_older_press_stays() {
    let (s, hands) = bench();
    let a = exposed(&s, "HM", 36);
    let id = make(&s, ONE_SHOT, &a).unwrap();
    press(&s, id, "begin", "").unwrap();
    hands.pass(60.0);
    press(&s, id, "extend", "30").unwrap();
    let extended = newest(&s);
    hands.pass(60.0);
    press(&s, id, "reading", "21").unwrap();
    let refused = s.undo(extended, None).unwrap_err();
    assert!(refused.to_string().contains("newest press"), "{refused}");
    let read = newest(&s);
    s.undo(read, None).unwrap();
    s.undo(extended, None).unwrap();
}
