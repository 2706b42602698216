//! The wet bench through the service: from an exposed roll to a result, its clock, its baths.
//!
//! Times at other temperatures are [D3]'s figures for a coefficient of 2.5; a roll of 36 is 0.0516 m² [D12].

#[path = "wet_paper/mod.rs"]
mod paper;

use jiff::Timestamp;
use spoolwright::service::draft::{CanDraft, LoaderDraft, StockDraft};
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::rolls::{About, RollDraft};
use spoolwright::service::wet::Tick;
use spoolwright::service::wet::after::ResultDraft;
use spoolwright::service::wet::baths::{BathDraft, BathEventDraft};
use spoolwright::service::wet::kit::{ReelDraft, TankDraft};
use spoolwright::service::wet::load::LoadDraft;
use spoolwright::service::wet::make::RunDraft;
use spoolwright::service::wet::press::MarkDraft;
use spoolwright::service::wet::recipes::{RecipeDraft, StepDraft};
use spoolwright::service::wet::times::TimeDraft;
use spoolwright::service::winding::WindDraft;
use spoolwright::service::{Failure, Service};
use spoolwright_core::Kind;
use spoolwright_core::shelf::{RollState, RunId};
use spoolwright_core::wet::after::Advice;
use spoolwright_core::wet::record::{RunState, TimeSource};
use spoolwright_core::wet::timer::{Phase, StepState};
use spoolwright_core::wet::verdict::Verdict;
use spoolwright_store::Store;
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

#[path = "wet/bottles.rs"]
mod bottles;
#[path = "wet/held.rs"]
mod held;
#[path = "wet/times.rs"]
mod times;

/// The two clocks of a machine, in a test's hands.
#[derive(Clone)]
struct Hands {
    boot: Arc<Mutex<String>>,
    since_boot_ms: Arc<AtomicU64>,
    wall: Arc<Mutex<Timestamp>>,
}

impl Hands {
    fn new() -> Self {
        Self {
            boot: Arc::new(Mutex::new("first start".into())),
            since_boot_ms: Arc::new(AtomicU64::new(5_000_000)),
            wall: Arc::new(Mutex::new("2026-10-25T00:30:00Z".parse().unwrap())),
        }
    }
    /// Time passes on both clocks.
    fn pass(&self, seconds: f64) {
        let ms = (seconds * 1000.0).round() as u64;
        self.since_boot_ms.fetch_add(ms, Ordering::Relaxed);
        self.set_wall(seconds);
    }
    /// Somebody, or a time server, moves the clock on the wall.
    fn set_wall(&self, by_seconds: f64) {
        let by = jiff::SignedDuration::from_millis((by_seconds * 1000.0).round() as i64);
        let mut wall = self.wall.lock().unwrap();
        *wall = wall.checked_add(by).unwrap();
    }
    /// The machine is started anew.
    fn restart_machine(&self) {
        *self.boot.lock().unwrap() = "second start".into();
        self.since_boot_ms.store(20_000, Ordering::Relaxed);
    }
    fn over(&self, store: Store) -> Service {
        let (wall, boot, ms) = (
            Arc::clone(&self.wall),
            Arc::clone(&self.boot),
            Arc::clone(&self.since_boot_ms),
        );
        Service::over(store, Box::new(move || *wall.lock().unwrap())).ticking(Box::new(move || {
            Tick {
                boot: boot.lock().unwrap().clone(),
                since_boot_s: ms.load(Ordering::Relaxed) as f64 / 1000.0,
            }
        }))
    }
}

fn stock(s: &Service, name: &str, letters: &str, process: &str, backing: &str) {
    let stock = StockDraft {
        name: name.into(),
        ei: "100".into(),
        process: process.into(),
        backing: backing.into(),
        ..StockDraft::default()
    };
    s.save_stock(None, &stock, None).unwrap();
    let can = CanDraft {
        stock: name.into(),
        letters: letters.into(),
        loader: "Bench".into(),
        ..CanDraft::default()
    };
    s.save_can(None, &can, None).unwrap();
}

fn exposed(s: &Service, can: &str, frames: u32) -> String {
    let ticket = TicketDraft {
        can: can.into(),
        frames: frames.to_string(),
        ..TicketDraft::default()
    };
    let id = s.add_ticket(&ticket, None).unwrap().value.unwrap();
    let wound = s.wind(id, &WindDraft::default(), None).unwrap();
    let (roll, label) = wound.value.unwrap().roll.unwrap();
    let draft = RollDraft {
        state: "exposed".into(),
        ..RollDraft::default()
    };
    s.move_roll(roll, &draft, None).unwrap();
    label
}

/// Two stocks, a tank of two reels, the built-in recipes for them.
fn furnish(s: &Service) {
    let loader = LoaderDraft {
        name: "Bench".into(),
        ..LoaderDraft::default()
    };
    s.save_loader(None, &loader, None).unwrap();
    stock(s, "Harbour Mist 100", "HM", "negative", "usual");
    stock(s, "Night Tram 500", "NT", "colour-negative", "remjet");
    let reel = ReelDraft {
        name: "Steel".into(),
        count: "4".into(),
        takes_two: "yes".into(),
        ..ReelDraft::default()
    };
    s.save_reel(None, &reel, None).unwrap();
    let tank = TankDraft {
        name: "Short tank".into(),
        reel: "Steel".into(),
        volumes: "290 590".into(),
    };
    s.save_tank(None, &tank, None).unwrap();
    s.begin_recipe("Negative, one-shot", None).unwrap();
    s.begin_recipe("remjet, colour negative", None).unwrap();
}

fn bench() -> (Service, Hands) {
    let hands = Hands::new();
    let s = hands.over(Store::in_memory().unwrap());
    furnish(&s);
    (s, hands)
}

fn make(s: &Service, recipe: &str, reels: &str) -> Result<RunId, Failure> {
    let draft = RunDraft {
        recipe: recipe.into(),
        tank: "Short tank".into(),
        reels: reels.into(),
        ..RunDraft::default()
    };
    s.make_run(&draft, None).map(|m| m.value.unwrap())
}

fn press(s: &Service, run: RunId, kind: &str, value: &str) -> Result<(), Failure> {
    let draft = MarkDraft {
        kind: kind.into(),
        value: value.into(),
        note: "because".into(),
        ..MarkDraft::default()
    };
    s.press(run, &draft, None).map(|_| ())
}

fn step(s: &Service, run: RunId) -> StepState {
    match s.run_clock(run).unwrap().timer.phase {
        Phase::Running(s) => s,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_roll_goes_from_exposed_to_counted() {
    let (s, hands) = bench();
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "HM", 12));
    let waiting = s.waiting().unwrap();
    assert_eq!(waiting.len(), 2);
    let time = waiting[0].time.as_ref().unwrap();
    assert_eq!(time.source, TimeSource::Rule);
    assert!(time.caveats.iter().any(|c| c.code == "rule_of_thumb"));

    let plan = s.propose(&LoadDraft::default()).unwrap();
    assert!(plan.proven && plan.unloaded.is_empty(), "{plan:?}");
    assert_eq!(plan.runs.len(), 1);
    let run = &plan.runs[0];
    let draft = RunDraft {
        recipe: run.recipe.to_string(),
        tank: run.tank.to_string(),
        reels: run.reels_typed(),
        ..RunDraft::default()
    };
    let id = s.make_run(&draft, None).unwrap().value.unwrap();
    assert!(
        s.waiting().unwrap().is_empty(),
        "what is loaded waits no more"
    );

    let steps = s.run(id).unwrap().steps.len();
    for _ in 0..steps {
        press(&s, id, "begin", "").unwrap();
        hands.pass(60.0);
    }
    press(&s, id, "finish", "").unwrap();
    assert_eq!(s.run(id).unwrap().run.state, RunState::Done);
    for label in [&a, &b] {
        assert_eq!(s.roll(label).unwrap().roll.state, RollState::Developed);
    }
    let result = ResultDraft {
        usable: "35".into(),
        fogged_end: "1".into(),
        exposure: "under".into(),
        ..ResultDraft::default()
    };
    s.save_result(id, &a, &result, None).unwrap();
    let loader = s.loader_named("Bench").unwrap();
    let advice = s.loader_advice(loader.id).unwrap();
    assert!(
        matches!(
            advice.tail,
            Some(Advice::More {
                clicks: 3,
                fogged: 1,
                rolls: 1
            })
        ),
        "two clicks were allowed, one more was lost: {advice:?}"
    );
    assert!(matches!(
        advice.leader,
        Some(Advice::Holds { rolls: 1, .. })
    ));
    let stock = s.stock_named("Harbour Mist 100").unwrap();
    let tallies = s.stock_tallies(stock.id).unwrap();
    assert_eq!(tallies[0].1.under, 1);
}

/// Oops: the newest press is taken back; an earlier one, on which it rests, is not, nor brought back beside another.
#[test]
fn only_the_newest_press_is_taken_back() {
    let (s, hands) = bench();
    let label = exposed(&s, "HM", 36);
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    assert_eq!(s.run_clock(id).unwrap().last_press, None);
    press(&s, id, "reading", "24").unwrap();
    press(&s, id, "begin", "").unwrap();
    hands.pass(30.0);
    press(&s, id, "begin", "").unwrap();
    let newest = |s: &Service| s.run_clock(id).unwrap().last_press.unwrap();
    let (stop, entries) = (newest(&s), s.history(About::Run(id), None).unwrap());
    assert!(stop.story.starts_with("Stop begun"), "{stop:?}");
    let first = entries[1].id;
    let refused = s.undo(first, None).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Conflict, "{refused}");
    assert!(!s.entry(first).unwrap().undone);
    assert_eq!(step(&s, id).step, 1);
    let undoing = s.undo(stop.id, None).unwrap().entry.unwrap();
    assert_eq!(newest(&s).id, first);
    // The developer goes on as if nothing had been pressed.
    hands.pass(30.0);
    assert_eq!((step(&s, id).step, step(&s, id).elapsed_s), (0, 60.0));
    press(&s, id, "begin", "").unwrap();
    assert!(s.undo(undoing, None).is_err(), "the same step begun twice");
    assert_eq!(step(&s, id).step, 1);
    for _ in 0..3 {
        s.undo(newest(&s).id, None).unwrap();
    }
    assert_eq!(s.run_clock(id).unwrap().last_press, None);
    assert_eq!(s.run(id).unwrap().run.state, RunState::Planned);
    assert_eq!(s.run_clock(id).unwrap().timer.bottle_c, None);
}

/// Undo of the finish: rolls are exposed again, the bath has had no film, the clock goes on.
#[test]
fn an_undone_finish_leaves_nothing_behind() {
    let (s, _) = bench();
    let label = exposed(&s, "HM", 36);
    let fixer = BathDraft {
        name: "Fixer, brown bottle".into(),
        kind: "fixer".into(),
        volume: "1 l".into(),
        ..BathDraft::default()
    };
    let fixer = s.save_bath(None, &fixer, None).unwrap().value.unwrap();
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    for _ in 0..s.run(id).unwrap().steps.len() {
        press(&s, id, "begin", "").unwrap();
    }
    let draft = MarkDraft {
        kind: "finish".into(),
        ..MarkDraft::default()
    };
    let entry = s.press(id, &draft, None).unwrap().entry.unwrap();
    let bath = s.bath(fixer, None).unwrap();
    assert_eq!(bath.events.len(), 1);
    assert!(
        (bath.life.area_m2 / 0.0516 - 1.0).abs() < 0.1,
        "about a film of 36: {}",
        bath.life.area_m2
    );
    s.undo(entry, None).unwrap();
    assert!(s.bath(fixer, None).unwrap().events.is_empty());
    assert_eq!(s.roll(&label).unwrap().roll.state, RollState::Exposed);
    assert!(matches!(
        s.run_clock(id).unwrap().timer.phase,
        Phase::Running(_)
    ));
    press(&s, id, "finish", "").unwrap();
}

#[test]
fn a_reading_moves_the_end_and_a_second_device_sees_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shelf.sqlite");
    let hands = Hands::new();
    let s = hands.over(Store::open(&path).unwrap());
    furnish(&s);
    let label = exposed(&s, "HM", 36);
    let time = TimeDraft {
        stock: "Harbour Mist 100".into(),
        developer: "house DEVELOPER".into(),
        dilution: "1 + 9".into(),
        time: "10:00".into(),
        ..TimeDraft::default()
    };
    s.save_time(None, &time, None).unwrap();
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    assert_eq!(s.run(id).unwrap().run.time_source, TimeSource::Sheet);
    press(&s, id, "begin", "").unwrap();
    press(&s, id, "reading", "24 C").unwrap();
    // D3: 10 min at 20 °C are 6.93 min at 24 °C.
    assert!((step(&s, id).ends_s / 60.0 - 6.93).abs() < 0.01);
    hands.pass(60.0);
    assert!((step(&s, id).elapsed_s - 60.0).abs() < 1e-6);
    let other = hands.over(Store::open(&path).unwrap());
    assert_eq!(step(&s, id), step(&other, id));
    // The other device pressed first: this one's press is refused, not counted twice.
    let second = MarkDraft {
        kind: "begin".into(),
        step: "2".into(),
        ..MarkDraft::default()
    };
    s.press(id, &second, Some("one")).unwrap();
    s.press(id, &second, Some("one")).unwrap();
    let refused = s.press(id, &second, Some("two")).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Conflict);
    assert_eq!(step(&s, id).step, 1);
}

#[test]
fn clocks_that_jump_do_not_move_a_bath_and_a_restart_finds_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shelf.sqlite");
    let open = |path: &Path, hands: &Hands| hands.over(Store::open(path).unwrap());
    let hands = Hands::new();
    let s = open(&path, &hands);
    furnish(&s);
    let label = exposed(&s, "HM", 36);
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    press(&s, id, "begin", "").unwrap();
    hands.pass(30.0);
    for jump in [3600.0, -7200.0, 86_400.0] {
        hands.set_wall(jump);
        assert!((step(&s, id).elapsed_s - 30.0).abs() < 1e-6, "jump {jump}");
    }
    // The program is killed and started anew while the bath is in.
    drop(s);
    hands.pass(70.0);
    let s = open(&path, &hands);
    let clock = s.run_clock(id).unwrap();
    assert!(!clock.second.by_the_wall);
    assert!((step(&s, id).elapsed_s - 100.0).abs() < 1e-6);
    // The machine is started anew: only the wall is left, and the page says so.
    hands.restart_machine();
    hands.set_wall(-82_800.0 + 20.0);
    let s = open(&path, &hands);
    assert!(s.run_clock(id).unwrap().second.by_the_wall);
    assert!(
        (step(&s, id).elapsed_s - 120.0).abs() < 1e-6,
        "{}",
        step(&s, id).elapsed_s
    );
}

#[test]
fn a_rehearsal_goes_faster_and_touches_nothing() {
    let (s, hands) = bench();
    let label = exposed(&s, "HM", 36);
    let draft = RunDraft {
        recipe: "Negative, one-shot".into(),
        tank: "Short tank".into(),
        reels: label.clone(),
        rehearsal: "60".into(),
        ..RunDraft::default()
    };
    let id = s.make_run(&draft, None).unwrap().value.unwrap();
    press(&s, id, "begin", "").unwrap();
    hands.pass(2.0);
    assert!((step(&s, id).elapsed_s - 120.0).abs() < 1e-6);
    for _ in 1..s.run(id).unwrap().steps.len() {
        press(&s, id, "begin", "").unwrap();
    }
    press(&s, id, "finish", "").unwrap();
    assert_eq!(s.roll(&label).unwrap().roll.state, RollState::Exposed);
}

#[test]
fn carbon_never_gets_into_other_baths() {
    let (s, _) = bench();
    let (plain, carbon) = (exposed(&s, "HM", 36), exposed(&s, "NT", 36));
    let plan = s.propose(&LoadDraft::default()).unwrap();
    assert_eq!(plan.runs.len(), 2);
    assert!(
        plan.runs.iter().all(|r| r.reels.len() == 1),
        "each alone: {plan:?}"
    );
    assert!(!plan.apart.is_empty());
    for (recipe, reels) in [
        ("Negative, one-shot", carbon.clone()),
        ("Remjet, colour negative", format!("{carbon} {plain}")),
    ] {
        let refused = make(&s, recipe, &reels).unwrap_err();
        assert_eq!(
            refused.faults()[0].error.kind,
            Kind::Impossible,
            "{refused}"
        );
    }
    make(&s, "Remjet, colour negative", &carbon).unwrap();
}

#[test]
fn rolls_far_apart_in_time_do_not_share_a_tank() {
    let (s, _) = bench();
    stock(&s, "Slow Grey", "SG", "negative", "usual");
    for (name, minutes) in [("Harbour Mist 100", "8"), ("Slow Grey", "11")] {
        let time = TimeDraft {
            stock: name.into(),
            developer: "House developer".into(),
            dilution: "1+9".into(),
            time: minutes.into(),
            ..TimeDraft::default()
        };
        s.save_time(None, &time, None).unwrap();
    }
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "SG", 36));
    let plan = s.propose(&LoadDraft::default()).unwrap();
    assert_eq!(plan.runs.len(), 2);
    let (_, _, because) = &plan.apart[0];
    assert!(because.contains('8') && because.contains("11"), "{because}");
    let refused = make(&s, "Negative, one-shot", &format!("{a} {b}")).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Impossible);
    // Whoever types the time has decided.
    let draft = RunDraft {
        recipe: "Negative, one-shot".into(),
        tank: "Short tank".into(),
        reels: format!("{a} {b}"),
        time: "9:00".into(),
        ..RunDraft::default()
    };
    let id = s.make_run(&draft, None).unwrap().value.unwrap();
    let run = s.run(id).unwrap();
    assert_eq!(run.run.time_source, TimeSource::Typed);
    assert_eq!(run.run.volume_ml, 590.0);
    assert_eq!(run.steps[0].time_s, 540.0);
}

#[test]
fn film_exposed_at_another_ei_is_pushed_by_rule_of_thumb_and_says_so() {
    let (s, _) = bench();
    let time = TimeDraft {
        stock: "Harbour Mist 100".into(),
        developer: "House developer".into(),
        dilution: "1+9".into(),
        ei: "100".into(),
        time: "8".into(),
        ..TimeDraft::default()
    };
    s.save_time(None, &time, None).unwrap();
    let recipe = s.recipe_named("Negative, one-shot").unwrap();
    let stock = s.stock_named("Harbour Mist 100").unwrap().id;
    let plain = s.film_time(stock, Some(100.0), &recipe).unwrap();
    assert_eq!(
        (plain.time_min.value, plain.source),
        (8.0, TimeSource::Sheet)
    );
    let pushed = s.film_time(stock, Some(200.0), &recipe).unwrap();
    // [D27], from memory: one stop is 1.3 to 1.5 times the time.
    assert!((8.0 * 1.3..=8.0 * 1.5).contains(&pushed.time_min.value));
    assert_eq!(pushed.source, TimeSource::Rule);
    // The range in use is no 95 % interval: it stands in a caveat.
    assert_eq!(pushed.time_min.lower95, pushed.time_min.upper95);
    assert!(pushed.caveats.iter().any(|c| c.text.contains("are in use")));
    let far = s.film_time(stock, Some(6400.0), &recipe).unwrap();
    assert_eq!(far.time_min.value, 8.0);
    assert!(far.caveats.iter().any(|c| c.code == "not_pushed"));
}

#[test]
fn a_fixers_clearing_test_sets_the_time_and_ends_its_life() {
    let (s, _) = bench();
    let fixer = BathDraft {
        name: "Fixer, brown bottle".into(),
        kind: "fixer".into(),
        volume: "1000 ml".into(),
        ..BathDraft::default()
    };
    let id = s.save_bath(None, &fixer, None).unwrap().value.unwrap();
    let cleared = |seconds: &str| {
        let draft = BathEventDraft {
            what: "clearing".into(),
            value: seconds.into(),
            ..BathEventDraft::default()
        };
        s.note_bath(id, &draft, None).unwrap();
    };
    cleared("60");
    let label = exposed(&s, "HM", 36);
    let run = make(&s, "Negative, one-shot", &label).unwrap();
    let steps = s.run(run).unwrap().steps;
    let fix = steps.iter().find(|s| s.bath == Some(id)).unwrap();
    // D9: twice the clearing time.
    assert!((fix.time_s - 120.0).abs() < 1e-6);
    // D10: dead when the clearing time has doubled, after film has gone through.
    let films = BathEventDraft {
        what: "run".into(),
        value: "4".into(),
        ..BathEventDraft::default()
    };
    s.note_bath(id, &films, None).unwrap();
    cleared("120");
    assert_eq!(s.bath(id, None).unwrap().life.verdict, Verdict::Replace);
    let next = exposed(&s, "HM", 36);
    let run = make(&s, "Negative, one-shot", &next).unwrap();
    assert!(s.run(run).unwrap().steps.iter().all(|s| s.bath.is_none()));
}

#[test]
fn a_recipe_is_changed_whole_or_not_at_all() {
    let (s, _) = bench();
    let id = s.recipe_named("Negative, one-shot").unwrap().recipe.id;
    let view = s.recipe(id).unwrap();
    let head = RecipeDraft::from(&view.recipe);
    let mut steps: Vec<StepDraft> = view.steps.iter().map(StepDraft::from).collect();
    let same = s.save_recipe(Some(id), &head, &steps, None).unwrap();
    assert_eq!(same.entry, None, "what was shown, sent back, is no change");
    let mut dips = steps.clone();
    dips[1].time = "2 s".into();
    (dips[1].fill_s, dips[1].drain_s) = (String::new(), String::new());
    s.save_recipe(Some(id), &head, &dips, None).unwrap();
    s.save_recipe(Some(id), &head, &steps, None).unwrap();
    dips[0].time = "2 s".into();
    assert!(
        s.save_recipe(Some(id), &head, &dips, None).is_err(),
        "no developer is"
    );
    steps[0].time = "8:5".into();
    steps[1].every_s = "0.5".into();
    let refused = s.save_recipe(Some(id), &head, &steps, None).unwrap_err();
    let fields: Vec<&str> = refused.faults().iter().map(|f| f.field.as_str()).collect();
    assert!(
        fields.contains(&"step0.time") && fields.contains(&"step1.every_s"),
        "{fields:?}"
    );
    assert_eq!(s.recipe(id).unwrap(), view);
    steps.remove(0);
    steps[0].every_s.clear();
    let refused = s.save_recipe(Some(id), &head, &steps, None).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Missing, "{refused}");
    // A run keeps the recipe it was made from.
    let label = exposed(&s, "HM", 36);
    let run = make(&s, "Negative, one-shot", &label).unwrap();
    let before = s.run(run).unwrap().steps;
    let mut other: Vec<StepDraft> = view.steps.iter().map(StepDraft::from).collect();
    other[0].time = "12".into();
    s.save_recipe(Some(id), &head, &other, None).unwrap();
    assert_eq!(s.run(run).unwrap().steps, before);
}

#[test]
fn what_is_loaded_or_developed_is_not_loaded_again() {
    let (s, _) = bench();
    let label = exposed(&s, "HM", 36);
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    for again in [label.clone(), format!("{label}+{label}")] {
        assert!(make(&s, "Negative, one-shot", &again).is_err(), "{again}");
    }
    assert!(make(&s, "Negative, one-shot", "").is_err());
    assert!(make(&s, "Negative, one-shot", "XX-99").is_err());
    press(&s, id, "abandon", "").unwrap();
    make(&s, "Negative, one-shot", &label).unwrap();
    let three: Vec<String> = (0..3).map(|_| exposed(&s, "HM", 12)).collect();
    let refused = make(&s, "Negative, one-shot", &three.join(" ")).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::TooLarge, "{refused}");
}

#[test]
fn presses_ask_for_what_they_need() {
    let (s, _) = bench();
    let label = exposed(&s, "HM", 36);
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    press(&s, id, "begin", "").unwrap();
    for (kind, value, field) in [
        ("reading", "", "value"),
        ("reading", "hot", "value"),
        ("reading", "95", "value"),
        ("extend", "", "value"),
        ("extend", "-3000", "value"),
        ("extend", "86400", "value"),
        ("", "", "kind"),
        ("jump", "", "kind"),
    ] {
        let refused = press(&s, id, kind, value).unwrap_err();
        assert_eq!(refused.faults()[0].field, field, "{kind} {value}");
    }
    let silent = MarkDraft {
        kind: "out".into(),
        ..MarkDraft::default()
    };
    let refused = s.press(id, &silent, None).unwrap_err();
    assert_eq!(
        refused.faults()[0].field,
        "note",
        "a pause wants its reason"
    );
    assert_eq!(s.run_clock(id).unwrap().timer.done.len(), 0);
}

/// The step's time follows the bottle: a developer that has had film is corrected, a fixer's time is its test's.
#[test]
fn another_bottle_changes_the_time_of_its_step() {
    let (s, _) = bench();
    let label = exposed(&s, "HM", 36);
    let bath = |name: &str, kind: &str, from: &str| {
        let draft = BathDraft {
            name: name.into(),
            kind: kind.into(),
            mixed_from: from.into(),
            dilution: if from.is_empty() { "" } else { "1+9" }.into(),
            percent_per_roll: if from.is_empty() { "" } else { "10" }.into(),
            volume: "1 l".into(),
            ..BathDraft::default()
        };
        s.save_bath(None, &draft, None).unwrap().value.unwrap()
    };
    let befell = |bath, what: &str, value: &str| {
        let draft = BathEventDraft {
            what: what.into(),
            value: value.into(),
            ..BathEventDraft::default()
        };
        s.note_bath(bath, &draft, None).unwrap();
    };
    let (used, fresh) = (
        bath("Used", "developer", "House developer"),
        bath("Fresh", "developer", "House developer"),
    );
    let fixer = bath("Fixer", "fixer", "");
    befell(used, "run", "2");
    befell(fixer, "clearing", "40");
    let id = make(&s, "Negative, one-shot", &label).unwrap();
    let step = |n: usize| s.run(id).unwrap().steps[n].clone();
    // Two films through a litre at 10 % a film: 8 min become 9:36.
    assert_eq!(step(0).bath, Some(used));
    assert!((step(0).time_s - 576.0).abs() < 1e-6, "{}", step(0).time_s);
    assert_eq!(step(0).plain_s, Some(480.0));
    s.choose_bath(id, 0, Some(fresh), None).unwrap();
    assert_eq!((step(0).time_s, step(0).plain_s), (480.0, None));
    assert_eq!(step(0).because, "");
    s.choose_bath(id, 0, Some(used), None).unwrap();
    let entry = s.choose_bath(id, 0, None, None).unwrap().entry.unwrap();
    assert_eq!((step(0).time_s, step(0).bath), (480.0, None));
    s.undo(entry, None).unwrap();
    assert!((step(0).time_s - 576.0).abs() < 1e-6);
    // Twice the clearing time; without a card, the recipe's own five minutes again.
    let fix = |s: &Service| {
        s.run(id)
            .unwrap()
            .steps
            .into_iter()
            .find(|x| x.position == 2)
    };
    assert_eq!(fix(&s).unwrap().time_s, 80.0);
    s.choose_bath(id, 2, None, None).unwrap();
    assert_eq!(fix(&s).unwrap().time_s, 300.0);
    for (position, bath, kind) in [
        (0, fixer, Kind::Inconsistent),
        (3, fixer, Kind::Inconsistent),
        (70, fixer, Kind::Unknown),
    ] {
        let refused = s.choose_bath(id, position, Some(bath), None).unwrap_err();
        assert_eq!(refused.faults()[0].error.kind, kind, "{position}");
        assert_eq!(refused.faults()[0].field, "bath");
    }
    s.close_bath(fresh, true, None).unwrap();
    assert!(s.choose_bath(id, 0, Some(fresh), None).is_err());
    press(&s, id, "begin", "").unwrap();
    let refused = s.choose_bath(id, 0, None, None).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Conflict);
}

/// A correction that no sheet gave says so where it lengthens a step; one from a sheet does not.
#[test]
fn a_longer_step_says_whether_a_sheet_made_it_longer() {
    for (percent, by_default) in [("", true), ("10", false)] {
        let (s, _) = bench();
        let draft = BathDraft {
            name: "Used".into(),
            kind: "developer".into(),
            mixed_from: "House developer".into(),
            dilution: "1+9".into(),
            percent_per_roll: percent.into(),
            volume: "1 l".into(),
            ..BathDraft::default()
        };
        let bath = s.save_bath(None, &draft, None).unwrap().value.unwrap();
        let run = BathEventDraft {
            what: "run".into(),
            value: "2".into(),
            ..BathEventDraft::default()
        };
        s.note_bath(bath, &run, None).unwrap();
        let label = exposed(&s, "HM", 36);
        let id = make(&s, "Negative, one-shot", &label).unwrap();
        let step = s.run(id).unwrap().steps[0].clone();
        assert!(step.because.contains("longer"), "{}", step.because);
        assert_eq!(
            step.because.contains("a default from memory"),
            by_default,
            "{}",
            step.because
        );
    }
}

/// No coefficient of another developer moves a colour developer's time, and rolls of colour share only one time.
#[test]
fn a_colour_developer_keeps_its_time() {
    let (s, _) = bench();
    let view = s.recipe_named("Remjet, colour negative").unwrap();
    assert_eq!(view.recipe.tolerance, 0.0);
    let mut head = RecipeDraft::from(&view.recipe);
    head.tolerance.clear();
    let mut steps: Vec<StepDraft> = view.steps.iter().map(StepDraft::from).collect();
    let place = view.steps.iter().position(|x| x.kind.develops()).unwrap();
    steps[place].time_from = "film".into();
    let save = |steps: &[StepDraft]| s.save_recipe(Some(view.recipe.id), &head, steps, None);
    save(&steps).unwrap();
    assert_eq!(s.recipe(view.recipe.id).unwrap().recipe.tolerance, 0.0);
    let time = TimeDraft {
        stock: "Night Tram 500".into(),
        developer: view.recipe.developer.clone(),
        dilution: view.recipe.dilution.clone(),
        time: "3".into(),
        temperature: "40 C".into(),
        ..TimeDraft::default()
    };
    s.save_time(None, &time, None).unwrap();
    let stock = s.stock_named("Night Tram 500").unwrap();
    let found = |s: &Service| {
        let recipe = s.recipe(view.recipe.id).unwrap();
        s.time_in(&stock, None, &recipe).unwrap()
    };
    let kept = found(&s);
    assert_eq!((kept.time_min.value, kept.at_c), (3.0, 41.1));
    assert!(kept.caveats.iter().any(|c| c.code == "colour_not_moved"));
    steps[place].q10 = "2".into();
    save(&steps).unwrap();
    let moved = found(&s);
    // 1.1 °C warmer at Q 2: 2^-0.11 of the time.
    assert!((moved.time_min.value - 3.0 * 2f64.powf(-0.11)).abs() < 1e-6);
    assert!(moved.caveats.iter().any(|c| c.code == "q10_exact"));
}

/// Of two recipes that suit a film, it gets the one whose time for it somebody knows.
#[test]
fn a_roll_gets_the_recipe_whose_time_is_known_best() {
    let (s, _) = bench();
    exposed(&s, "HM", 36);
    s.begin_recipe("Negative, stand", None).unwrap();
    let recipe_of = |s: &Service| s.waiting().unwrap()[0].recipe.unwrap();
    let first = s.recipe_named("Negative, one-shot").unwrap().recipe;
    assert_eq!(recipe_of(&s), first.id);
    let stand = s.recipe_named("Negative, stand").unwrap().recipe;
    let time = TimeDraft {
        stock: "Harbour Mist 100".into(),
        developer: stand.developer.clone(),
        dilution: stand.dilution.clone(),
        time: "60".into(),
        ..TimeDraft::default()
    };
    s.save_time(None, &time, None).unwrap();
    assert_eq!(recipe_of(&s), stand.id);
}

fn fixer(s: &Service, percent_per_run: &str) -> spoolwright_core::shelf::BathId {
    let draft = BathDraft {
        name: "Fixer, brown bottle".into(),
        kind: "fixer".into(),
        volume: "1 l".into(),
        percent_per_run: percent_per_run.into(),
        ..BathDraft::default()
    };
    s.save_bath(None, &draft, None).unwrap().value.unwrap()
}

fn befell(s: &Service, bath: spoolwright_core::shelf::BathId, what: &str, value: &str) {
    let draft = BathEventDraft {
        what: what.into(),
        value: value.into(),
        look: "spent".into(),
        ..BathEventDraft::default()
    };
    s.note_bath(bath, &draft, None).unwrap();
}

/// What went through a bottle after the tank was loaded counts when the run begins.
#[test]
fn a_bottle_is_poured_anew_when_the_run_begins() {
    let (s, _) = bench();
    let bottle = fixer(&s, "");
    let (a, b) = (exposed(&s, "HM", 36), exposed(&s, "HM", 36));
    let first = make(&s, "Negative, one-shot", &a).unwrap();
    let fix = |run| {
        let steps = s.run(run).unwrap().steps;
        steps.into_iter().find(|s| s.bath == Some(bottle)).unwrap()
    };
    let before = fix(first).time_s;
    befell(&s, bottle, "clearing", "75");
    assert_eq!(fix(first).time_s, before);
    press(&s, first, "begin", "").unwrap();
    // D9: twice the clearing time.
    assert!((fix(first).time_s - 150.0).abs() < 1e-6);
    // Its tank is free again.
    press(&s, first, "abandon", "").unwrap();
    let second = make(&s, "Negative, one-shot", &b).unwrap();
    befell(&s, bottle, "looked", "");
    let refused = press(&s, second, "begin", "").unwrap_err();
    assert_eq!(refused.faults()[0].field, "bath", "{refused}");
    s.choose_bath(second, fix(second).position, None, None)
        .unwrap();
    press(&s, second, "begin", "").unwrap();
}

#[test]
fn a_load_by_hand_is_held_to_what_the_reels_and_the_stock_allow() {
    let (s, _) = bench();
    let two: Vec<String> = (0..2).map(|_| exposed(&s, "HM", 36)).collect();
    let three: Vec<String> = (0..3).map(|_| exposed(&s, "HM", 6)).collect();
    for (reels, why) in [
        (two.join("+"), "two long films are longer than the reel"),
        (three.join("+"), "three films on one reel"),
    ] {
        let refused = make(&s, "Negative, one-shot", &reels).unwrap_err();
        assert_eq!(
            refused.faults()[0].error.kind,
            Kind::TooLarge,
            "{why}: {refused}"
        );
    }
    let recipe = s.recipe_named("Negative, one-shot").unwrap();
    let steps: Vec<StepDraft> = recipe.steps.iter().map(StepDraft::from).collect();
    let head = RecipeDraft {
        least_stock: "60 ml".into(),
        ..RecipeDraft::from(&recipe.recipe)
    };
    s.save_recipe(Some(recipe.recipe.id), &head, &steps, None)
        .unwrap();
    // 290 ml at 1+9 hold 29 ml of stock.
    let refused = make(&s, "Negative, one-shot", &two[0]).unwrap_err();
    assert_eq!(refused.faults()[0].field, "volume", "{refused}");
}

#[test]
fn another_process_is_a_choice_that_is_said() {
    let (s, _) = bench();
    stock(&s, "Market Colour", "MC", "colour-negative", "usual");
    let (colour, grey) = (exposed(&s, "MC", 36), exposed(&s, "HM", 36));
    assert!(make(&s, "Negative, one-shot", &colour).is_err());
    let draft = |reels: String| RunDraft {
        recipe: "Negative, one-shot".into(),
        tank: "Short tank".into(),
        reels,
        sure: "yes".into(),
        ..RunDraft::default()
    };
    let mixed = s.make_run(&draft(format!("{colour} {grey}")), None);
    assert_eq!(mixed.unwrap_err().faults()[0].error.kind, Kind::Impossible);
    s.make_run(&draft(colour), None).unwrap();
}

#[test]
fn the_recipes_own_time_is_pushed_too() {
    let (s, _) = bench();
    let recipe = s.recipe_named("Negative, one-shot").unwrap();
    let stock = s.stock_named("Harbour Mist 100").unwrap().id;
    let plain = s.film_time(stock, Some(100.0), &recipe).unwrap();
    let pushed = s.film_time(stock, Some(200.0), &recipe).unwrap();
    assert!(plain.time_min.value < pushed.time_min.value);
    assert!(pushed.because.contains("EI 200"), "{}", pushed.because);
}

/// A typed time is what the person wants the clock to say: a bath that has had film does not lengthen it once more.
#[test]
fn a_typed_time_stays_as_it_was_typed() {
    let (s, _) = bench();
    let bath = BathDraft {
        name: "House, two litres".into(),
        kind: "developer".into(),
        mixed_from: "House developer".into(),
        dilution: "1+9".into(),
        volume: "2 l".into(),
        percent_per_run: "10".into(),
        ..BathDraft::default()
    };
    let bath = s.save_bath(None, &bath, None).unwrap().value.unwrap();
    befell(&s, bath, "run", "1");
    let label = exposed(&s, "HM", 36);
    let looked_up = make(&s, "Negative, one-shot", &label).unwrap();
    let step = &s.run(looked_up).unwrap().steps[0];
    assert_eq!(step.bath, Some(bath));
    assert!((step.time_s - 480.0 * 1.1).abs() < 1e-6, "{}", step.time_s);
    press(&s, looked_up, "abandon", "").unwrap();
    let draft = RunDraft {
        recipe: "Negative, one-shot".into(),
        tank: "Short tank".into(),
        reels: label,
        time: "9:36".into(),
        ..RunDraft::default()
    };
    let typed = s.make_run(&draft, None).unwrap().value.unwrap();
    assert_eq!(s.run(typed).unwrap().steps[0].time_s, 576.0);
    press(&s, typed, "begin", "").unwrap();
    assert_eq!(s.run(typed).unwrap().steps[0].time_s, 576.0);
}

/// An undo can leave a card and what befell the bath at odds: the bench goes on, and says so.
#[test]
fn a_card_at_odds_with_its_days_does_not_stop_the_bench() {
    let (s, _) = bench();
    let bath = fixer(&s, "");
    let card = s.bath(bath, None).unwrap().card;
    let earlier = BathDraft {
        mixed_on: "2026-10-01".into(),
        ..BathDraft::from(&card)
    };
    let entry = s
        .save_bath(Some(bath), &earlier, None)
        .unwrap()
        .entry
        .unwrap();
    let film = BathEventDraft {
        what: "run".into(),
        value: "2".into(),
        day: "2026-10-10".into(),
        ..BathEventDraft::default()
    };
    s.note_bath(bath, &film, None).unwrap();
    s.undo(entry, None).unwrap();
    let odd = s.bath(bath, None).unwrap();
    assert!(odd.life.caveats.iter().any(|c| c.code == "card_at_odds"));
    assert!(odd.life.area_m2 > 0.0, "the film still counts");
    s.baths().unwrap();
}
