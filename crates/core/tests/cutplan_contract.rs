//! The cut plan's contract: sums done by hand, the words for what binds, refusals, the same plan every time.

use spoolwright_core::Error;
use spoolwright_core::cutplan::{CanSupply, Effort, PageCost, Plan, Problem, WantDemand, solve};
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::Estimate;

fn can(id: &str, stock: &str, mean: f64, sd: f64) -> CanSupply {
    CanSupply {
        id: id.into(),
        stock: stock.into(),
        remaining_m: Estimate::new(mean, sd),
        price_per_m: 1.9,
    }
}

fn want(id: &str, stocks: &[&str], frames: u32) -> WantDemand {
    WantDemand {
        id: id.into(),
        stocks: stocks.iter().map(|s| (*s).into()).collect(),
        frames,
        priority: 1,
    }
}

fn problem(cans: Vec<CanSupply>, wants: Vec<WantDemand>) -> Problem {
    Problem {
        cans,
        wants,
        menu_frames: vec![6, 12, 18, 24, 30, 36],
        max_roll_frames: 36,
        leader_clicks: 4,
        tail_clicks: 2,
        pitch: Pitch::Long,
        uncounted_mm: 95.0,
        cassettes: 9,
        page: PageCost {
            rows: 6,
            frames_per_row: 6,
            price: 0.6,
        },
        chemistry_price_per_full_roll: 0.8,
        short_end_price_per_m: 0.0,
        confidence: 0.95,
    }
}

fn plan(p: &Problem) -> Plan {
    solve(p, Effort::default()).unwrap()
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9, "{a} is not {b}");
}

/// By hand: 54 frames in two rolls draw (54 + 12) × 38 mm + 2 × 95 mm = 2.698 m; nine rows; 66/42 of the chemistry.
#[test]
fn sums_by_hand() {
    let plan = plan(&problem(
        vec![can("A", "s1", 11.2, 0.15)],
        vec![want("w1", &["s1"], 50)],
    ));
    assert_eq!(plan.rolls.len(), 2);
    assert_eq!(plan.rolls.iter().map(|r| r.frames).sum::<u32>(), 54);
    near(plan.cost.film, 2.698 * 1.9);
    near(plan.cost.pages, 0.9);
    near(plan.cost.chemistry, 0.8 * 66.0 / 42.0);
    near(plan.cost.total, 2.698 * 1.9 + 0.9 + 0.8 * 66.0 / 42.0);
    near(plan.leftover[0].mean_m, 11.2 - 2.698);
    assert!(
        plan.proven_optimal && plan.gap == 0.0 && plan.unmet.is_empty() && plan.caveats.is_empty()
    );
    // Two full rolls draw 3.382 m.
    near(plan.only_full_rolls.total, 3.382 * 1.9 + 1.2 + 1.6);
    assert_eq!(plan.only_full_rolls.unmet_frames, 0);
}

/// Common practice, no source: a can of 30.48 m gives about 18 full rolls.
#[test]
fn a_full_can_gives_eighteen_full_rolls() {
    let mut p = problem(
        vec![can("A", "s1", 30.48, 0.0)],
        vec![want("w1", &["s1"], 19 * 36)],
    );
    p.menu_frames = vec![36];
    p.cassettes = 30;
    let plan = plan(&p);
    assert_eq!(plan.rolls.len(), 18);
    assert_eq!(plan.unmet[0].frames, 36);
}

/// An end shorter than the shortest roll is charged at its mean; one that is longer is not.
#[test]
fn a_short_end_is_charged() {
    let mut p = problem(
        vec![can("A", "s1", 1.9, 0.0)],
        vec![want("w1", &["s1"], 36)],
    );
    p.short_end_price_per_m = 2.0;
    let one = plan(&p);
    near(one.cost.short_ends, (1.9 - 1.691) * 2.0);
    p.cans[0].remaining_m.mean = 1.691 + 0.551 + 1e-6;
    near(plan(&p).cost.short_ends, 0.0);
}

#[test]
fn says_what_binds() {
    let because = |p: &Problem| plan(p).unmet[0].because.clone();
    let none = problem(
        vec![can("A", "s1", 9.0, 0.0)],
        vec![want("w1", &["s2", "s3"], 36)],
    );
    assert_eq!(because(&none), "There is no can of s2 or s3.");
    let short = problem(
        vec![can("A", "s1", 0.5, 0.0)],
        vec![want("w1", &["s1"], 36)],
    );
    assert!(because(&short).starts_with(
        "The shortest roll on the menu, 6 frames, draws 0.55 m; the fullest can of s1"
    ));
    let little = problem(
        vec![can("A", "s1", 2.0, 0.0)],
        vec![want("w1", &["s1"], 72)],
    );
    assert!(because(&little).starts_with("Too little film of s1"));
    let mut few = problem(
        vec![can("A", "s1", 9.0, 0.0)],
        vec![want("w1", &["s1"], 72)],
    );
    few.cassettes = 1;
    assert_eq!(because(&few), "Too few cassettes: the only one is used.");
    few.cassettes = 0;
    assert_eq!(because(&few), "There is no empty cassette.");
    // A share that no binary fraction holds is told as it was given.
    let mut doubted = little.clone();
    doubted.confidence = 0.57;
    assert!(
        because(&doubted).contains("at 57 % confidence"),
        "{}",
        because(&doubted)
    );
    // Neither of two stocks alone has enough, though both together would.
    let split = problem(
        vec![can("A", "s1", 2.4, 0.0), can("B", "s2", 2.4, 0.0)],
        vec![want("w1", &["s1", "s2"], 80)],
    );
    assert!(because(&split).contains("one stock only"));
}

#[test]
fn order_of_entry_changes_nothing() {
    let cans = vec![
        can("B", "s1", 4.0, 0.1),
        can("A", "s1", 4.0, 0.1),
        can("C", "s2", 3.0, 0.1),
    ];
    let wants = vec![
        want("x", &["s1", "s2"], 50),
        want("a", &["s1"], 36),
        want("m", &["s2", "s1"], 20),
    ];
    let p = problem(cans, wants);
    let mut q = p.clone();
    q.cans.reverse();
    q.wants.reverse();
    q.wants[0].stocks.reverse();
    q.menu_frames.reverse();
    assert_eq!(plan(&p).rolls, plan(&q).rolls);
    assert_eq!(plan(&p), plan(&p));
}

#[test]
fn nothing_wanted_or_nothing_there() {
    let empty = plan(&problem(Vec::new(), Vec::new()));
    assert!(empty.proven_optimal && empty.rolls.is_empty() && empty.cost.total == 0.0);
    let no_can = plan(&problem(Vec::new(), vec![want("w1", &["s1"], 36)]));
    assert!(
        no_can.proven_optimal
            && no_can.unmet[0].frames == 36
            && no_can.only_full_rolls.unmet_frames == 36
    );
    let no_film = plan(&problem(
        vec![can("A", "s1", 1.0, 5.0)],
        vec![want("w1", &["s1"], 36)],
    ));
    assert!(no_film.proven_optimal && no_film.unmet[0].frames == 36);
    assert!(no_film.caveats.iter().any(|c| c.code == "can_uncertain"));
}

/// Weighing a can is advised only where its stock would do for a want that lacks film.
#[test]
fn an_uncertain_can_is_named_only_where_it_could_help() {
    let cans = vec![can("A", "s1", 9.0, 1.0), can("B", "s2", 1.0, 0.0)];
    let wants = vec![want("met", &["s1"], 36), want("short", &["s2"], 36)];
    let mut p = problem(cans, wants);
    let named = |p: &Problem| plan(p).caveats.iter().any(|c| c.code == "can_uncertain");
    assert!(!plan(&p).unmet.is_empty() && !named(&p));
    p.wants[1].stocks = vec!["s1".into()];
    p.wants[1].frames = 200;
    p.cassettes = 90;
    assert!(named(&p));
}

#[test]
fn refuses_what_makes_no_sense() {
    let good = || {
        problem(
            vec![can("A", "s1", 9.0, 0.1), can("B", "s1", 9.0, 0.1)],
            vec![want("w", &["s1"], 36)],
        )
    };
    let refused = |change: &dyn Fn(&mut Problem)| -> Error {
        let mut p = good();
        change(&mut p);
        let e = solve(&p, Effort::default()).unwrap_err();
        assert!(
            !e.what.is_empty()
                && !e.given.is_empty()
                && !e.allowed.is_empty()
                && !e.remedy.is_empty()
        );
        e
    };
    for bad in [f64::NAN, f64::INFINITY, -1.0, 1e9] {
        refused(&|p| p.cans[0].remaining_m.mean = bad);
        refused(&|p| p.cans[0].remaining_m.sd = bad);
        refused(&|p| p.cans[0].price_per_m = bad);
        refused(&|p| p.uncounted_mm = bad);
        refused(&|p| p.page.price = bad);
        refused(&|p| p.chemistry_price_per_full_roll = bad);
        refused(&|p| p.short_end_price_per_m = bad);
        refused(&|p| p.confidence = bad);
    }
    refused(&|p| p.cans[1].id = "A".into());
    refused(&|p| p.cans[1].id = " ".into());
    refused(&|p| p.cans[1].stock = String::new());
    refused(&|p| p.cans[1].id = "x".repeat(201));
    refused(&|p| p.wants[0].stocks.clear());
    refused(&|p| p.wants[0].frames = 0);
    refused(&|p| p.wants[0].frames = u32::MAX);
    refused(&|p| p.wants[0].priority = 0);
    refused(&|p| p.wants[0].priority = 10);
    refused(&|p| p.menu_frames.clear());
    refused(&|p| p.menu_frames = vec![0]);
    refused(&|p| p.menu_frames = (1..=41).collect());
    assert!(
        refused(&|p| p.max_roll_frames = 5)
            .allowed
            .contains("5 frames")
    );
    refused(&|p| p.leader_clicks = 1000);
    refused(&|p| p.tail_clicks = u32::MAX);
    refused(&|p| p.cassettes = u32::MAX);
    refused(&|p| p.page.rows = 0);
    refused(&|p| p.page.frames_per_row = 0);
    refused(&|p| {
        p.cans = (0..201)
            .map(|i| can(&i.to_string(), "s1", 1.0, 0.0))
            .collect()
    });
    refused(&|p| p.wants = (0..301).map(|i| want(&i.to_string(), &["s1"], 6)).collect());
}

/// The largest problem allowed ends, keeps its limits, and says what it could not prove.
#[test]
fn the_largest_problem_ends() {
    let cans = (0..200)
        .map(|i| {
            can(
                &format!("c{i}"),
                &format!("s{}", i % 20),
                3.0 + f64::from(i % 17),
                0.2,
            )
        })
        .collect();
    let wants = (0..300)
        .map(|i| {
            want(
                &format!("w{i}"),
                &[&format!("s{}", i % 20), &format!("s{}", (i * 7 + 3) % 20)],
                20 + i % 90,
            )
        })
        .collect();
    let mut p = problem(cans, wants);
    p.cassettes = 700;
    p.menu_frames = (6..=36).collect();
    let plan = solve(&p, Effort { work: 1_000_000 }).unwrap();
    assert!(plan.rolls.len() <= 700);
    assert!((0.0..=1.0).contains(&plan.gap));
    assert_eq!(plan.proven_optimal, plan.gap == 0.0);
    assert_eq!(
        plan.proven_optimal,
        !plan.caveats.iter().any(|c| c.code.ends_with("_not_proven"))
    );
}
