//! The clock of a run: what follows from steps and marks. Worked out by hand; the drift integral has its own tests.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::shelf::{MarkId, RecipeId, RunId};
use spoolwright_core::wet::recipe::{self, Agitation, Owner, Step, StepKind};
use spoolwright_core::wet::starters::starters;
use spoolwright_core::wet::temperature::DEFAULT_THERMOMETER_SD_C as SD;
use spoolwright_core::wet::timer::{
    Call, CallKind, Doubt, Mark, MarkKind, Moment, Pause, Phase, StepState, Timer, calls,
};

const OWNER: Owner = Owner::Recipe(RecipeId(1));

fn developer() -> Step {
    Step {
        temperature_c: Some(20.0),
        q10: Some(2.5),
        agitation: Agitation::ROLL_TANK,
        fill_s: 10.0,
        drain_s: 10.0,
        ..Step::plain(OWNER, 0, StepKind::Developer, 600.0)
    }
}

fn steps() -> Vec<Step> {
    vec![
        developer(),
        Step::plain(OWNER, 1, StepKind::Stop, 45.0),
        Step::plain(OWNER, 2, StepKind::Fixer, 300.0),
    ]
}

fn mark(at_s: f64, kind: MarkKind, step: Option<u32>, value: Option<f64>) -> Mark {
    Mark {
        id: MarkId(0),
        run: RunId(1),
        at_s,
        kind,
        step,
        value,
        note: String::new(),
        moment: Moment {
            boot: String::new(),
            since_boot_s: 0.0,
            utc: String::new(),
        },
    }
}

fn begin(at_s: f64, step: u32) -> Mark {
    mark(at_s, MarkKind::Begin, Some(step), None)
}

fn at(marks: &[Mark], now_s: f64) -> Timer {
    Timer::at(&steps(), marks, now_s, SD).unwrap()
}

fn running(timer: &Timer) -> &StepState {
    match &timer.phase {
        Phase::Running(s) => s,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_bath_as_warm_as_meant_lasts_its_time() {
    let t = at(&[begin(0.0, 0)], 100.0);
    let s = running(&t);
    assert_eq!((s.step, s.elapsed_s), (0, 100.0));
    assert!((s.ends_s - 600.0).abs() < 1e-9 && (s.left_s() - 500.0).abs() < 1e-9);
    assert_eq!(s.done_s, Some(100.0));
    assert!(s.margin_s > 0.0, "a thermometer is never exact");
    assert!(s.caveats.iter().any(|c| c.code == "not_read"));
    assert_eq!(t.next_step(), Some(1));
}

/// D3, Q10 2.5: ten minutes at 20 °C are 6.93 at 24 °C and 12.01 at 18 °C.
#[test]
fn a_reading_moves_the_end() {
    for (c, minutes) in [(24.0, 6.93), (18.0, 12.01), (22.0, 8.33)] {
        let marks = [begin(0.0, 0), mark(0.0, MarkKind::Reading, None, Some(c))];
        let t = at(&marks, 60.0);
        let s = running(&t);
        assert!(
            (s.ends_s / 60.0 - minutes).abs() < 0.01,
            "{c}: {}",
            s.ends_s / 60.0
        );
        assert!(s.caveats.iter().all(|c| c.code != "not_read"));
    }
}

#[test]
fn the_film_goes_on_developing_until_somebody_pours_out() {
    let t = at(&[begin(0.0, 0)], 700.0);
    let s = running(&t);
    assert!((s.left_s() + 100.0).abs() < 1e-9);
    let t = at(&[begin(0.0, 0), begin(700.0, 1)], 710.0);
    assert_eq!(t.done[0].over_at_s, Some(700.0));
    assert!((t.done[0].done_s.unwrap() - 700.0).abs() < 1e-9);
    assert_eq!(running(&t).step, 1);
}

#[test]
fn quiet_lets_the_time_go_on_and_out_holds_it() {
    let quiet = [begin(0.0, 0), mark(100.0, MarkKind::Quiet, None, None)];
    let t = at(&quiet, 160.0);
    assert_eq!(running(&t).pause, Some(Pause::Quiet));
    assert_eq!(running(&t).elapsed_s, 160.0);
    let mut out = vec![begin(0.0, 0), mark(100.0, MarkKind::Out, None, None)];
    let t = at(&out, 160.0);
    assert_eq!(running(&t).pause, Some(Pause::Out));
    assert_eq!(running(&t).elapsed_s, 100.0);
    out.push(mark(160.0, MarkKind::Resume, None, None));
    // A reading after the standstill lies in the bath's own time.
    out.push(mark(180.0, MarkKind::Reading, None, Some(21.0)));
    let t = at(&out, 200.0);
    assert_eq!(running(&t).elapsed_s, 140.0);
    assert_eq!(running(&t).readings[0].t_s, 120.0);
}

/// A bottle read in the evening says nothing of the developer poured in the morning: own rule, half an hour.
#[test]
fn a_bottle_read_long_ago_is_not_believed() {
    let read = |s: f64| mark(s, MarkKind::Reading, None, Some(24.0));
    for (began_s, believed) in [(1800.0, true), (1801.0, false), (9.0 * 3600.0, false)] {
        let t = at(&[read(0.0), begin(began_s, 0)], began_s + 1.0);
        assert_eq!(
            running(&t).readings.len(),
            usize::from(believed),
            "{began_s}"
        );
        let waiting = at(&[read(0.0)], began_s);
        assert_eq!(waiting.bottle_c, believed.then_some(24.0), "{began_s}");
    }
    // Read again, it is believed again.
    let t = at(&[read(0.0), read(4000.0), begin(4100.0, 0)], 4101.0);
    assert_eq!(running(&t).readings.len(), 1);
}

#[test]
fn a_corrected_reading_takes_the_place_of_the_one_before() {
    let marks = [
        begin(0.0, 0),
        mark(5.0, MarkKind::Reading, None, Some(204.0 / 10.0)),
        mark(5.0, MarkKind::Reading, None, Some(24.0)),
    ];
    let t = at(&marks, 10.0);
    assert_eq!(running(&t).readings.len(), 1);
    assert_eq!(running(&t).readings[0].c, 24.0);
}

#[test]
fn a_step_can_be_made_longer() {
    let marks = [
        begin(0.0, 0),
        begin(600.0, 1),
        mark(610.0, MarkKind::Extend, None, Some(30.0)),
    ];
    assert_eq!(running(&at(&marks, 620.0)).ends_s, 75.0);
}

/// By hand: 30 s more are 30 s of the clock, in a warm bath as in one as warm as meant.
#[test]
fn a_warm_developer_made_longer_lasts_so_many_seconds_more() {
    let warm = [
        begin(0.0, 0),
        mark(0.0, MarkKind::Reading, None, Some(24.0)),
    ];
    let plain = running(&at(&warm, 60.0)).ends_s;
    for by in [30.0, -30.0] {
        let mut marks = warm.to_vec();
        marks.push(mark(60.0, MarkKind::Extend, None, Some(by)));
        let ends = running(&at(&marks, 60.0)).ends_s;
        assert!((ends - plain - by).abs() < 1e-9, "{by}: {}", ends - plain);
    }
}

fn doubts(timer: &Timer) -> Vec<&str> {
    running(timer).caveats.iter().map(|c| c.code).collect()
}

/// Wet film in an empty tank goes on developing; in an empty fixer nothing happens that counts.
#[test]
fn a_developer_out_of_its_tank_is_in_doubt() {
    let mut marks = vec![begin(0.0, 0)];
    assert!(!doubts(&at(&marks, 100.0)).contains(&"stood_out"));
    marks.push(mark(100.0, MarkKind::Out, None, None));
    assert!(doubts(&at(&marks, 160.0)).contains(&"stood_out"));
    marks.push(mark(160.0, MarkKind::Resume, None, None));
    assert!(doubts(&at(&marks, 200.0)).contains(&"stood_out"));
    let quiet = [begin(0.0, 0), mark(5.0, MarkKind::Quiet, None, None)];
    assert!(!doubts(&at(&quiet, 10.0)).contains(&"stood_out"));
    marks.extend([begin(600.0, 1), mark(610.0, MarkKind::Out, None, None)]);
    assert!(doubts(&at(&marks, 620.0)).is_empty());
}

/// The default coefficient is one of black-and-white developers [D4]: a colour developer's end stays where it is, said,
/// unless it has a coefficient of its own, which is then taken as exact, said too.
#[test]
fn a_colour_developer_is_not_moved_by_another_ones_coefficient() {
    let colour = |q10| {
        let step = Step {
            temperature_c: Some(37.8),
            q10,
            ..Step::plain(OWNER, 0, StepKind::ColourDeveloper, 195.0)
        };
        let marks = [
            begin(0.0, 0),
            mark(0.0, MarkKind::Reading, None, Some(36.8)),
        ];
        Timer::at(&[step], &marks, 60.0, SD).unwrap()
    };
    let unknown = colour(None);
    let s = running(&unknown);
    assert_eq!((s.ends_s, s.margin_s, s.done_s), (195.0, 0.0, Some(60.0)));
    assert_eq!(doubts(&unknown), ["off_temperature", "colour_not_moved"]);
    let own = colour(Some(2.0));
    // A degree colder at Q 2: 2^0.1 times as long.
    assert!((running(&own).ends_s - 195.0 * 2f64.powf(0.1)).abs() < 1e-6);
    assert!(doubts(&own).contains(&"q10_exact"));
    // Under five minutes is no fault of a colour process, and its first developer is no black-and-white one.
    let first = Step {
        kind: StepKind::FirstDeveloper,
        temperature_c: Some(38.0),
        ..developer()
    };
    let first = |q10| Step {
        q10,
        ..first.clone()
    };
    let second = Step::plain(OWNER, 1, StepKind::ColourDeveloper, 360.0);
    let marks = [
        begin(0.0, 0),
        mark(0.0, MarkKind::Reading, None, Some(37.0)),
    ];
    let reversal = |steps: &[Step]| running(&Timer::at(steps, &marks, 60.0, SD).unwrap()).clone();
    let held = reversal(&[first(None), second.clone()]);
    assert_eq!(held.ends_s, 600.0);
    assert!(held.caveats.iter().any(|c| c.code == "colour_not_moved"));
    assert!(600.0 < reversal(&[first(Some(2.0)), second]).ends_s);
    assert!(600.0 < reversal(&[first(None)]).ends_s, "black and white");
    assert!(!doubts(&own).contains(&"short_time"));
    let unread = Timer::at(&steps(), &[begin(0.0, 0)], 1.0, SD).unwrap();
    assert!(!doubts(&unread).contains(&"q10_exact"), "nothing was moved");
}

/// Own rules: a cold fixer, or a developer of a colour process a degree off, is told of at once; a stop is not.
#[test]
fn a_bath_off_its_temperature_is_told_of_though_its_end_does_not_move() {
    let warm = |step: Step, c: f64| Step {
        temperature_c: Some(c),
        ..step
    };
    let told = |kind: StepKind, meant_c: f64, read_c: f64| {
        let steps = [
            Step {
                kind: StepKind::ColourDeveloper,
                q10: None,
                ..warm(developer(), 37.8)
            },
            warm(Step::plain(OWNER, 1, kind, 300.0), meant_c),
        ];
        let place = u32::from(kind != StepKind::ColourDeveloper);
        let marks = [
            begin(0.0, 0),
            begin(195.0, place.max(1)),
            mark(200.0, MarkKind::Reading, None, Some(read_c)),
        ];
        let marks = if place == 0 {
            vec![marks[0].clone(), marks[2].clone()]
        } else {
            marks.to_vec()
        };
        let timer = Timer::at(&steps, &marks, 201.0, SD).unwrap();
        (
            doubts(&timer).contains(&"off_temperature"),
            running(&timer).ends_s,
        )
    };
    assert_eq!(told(StepKind::Fixer, 20.0, 12.0), (true, 300.0));
    assert!(!told(StepKind::Fixer, 20.0, 18.5).0);
    assert!(!told(StepKind::Fixer, 20.0, 26.0).0, "warm fixes faster");
    assert!(!told(StepKind::Stop, 20.0, 12.0).0);
    assert_eq!(told(StepKind::ColourDeveloper, 37.8, 39.0), (true, 600.0));
    assert!(!told(StepKind::ColourDeveloper, 37.8, 37.9).0);
}

#[test]
fn the_last_step_ends_the_run() {
    let mut marks = vec![begin(0.0, 0), begin(600.0, 1), begin(645.0, 2)];
    let t = at(&marks, 700.0);
    assert_eq!(t.next_step(), None);
    assert!(t.may(MarkKind::Finish, None).is_ok());
    marks.push(mark(945.0, MarkKind::Finish, None, None));
    let t = at(&marks, 2000.0);
    assert_eq!(t.phase, Phase::Finished);
    assert_eq!(t.done.len(), 3);
    assert_eq!(t.done[2].elapsed_s, 300.0);
    assert!(t.may(MarkKind::Reading, None).is_err());
}

#[test]
fn what_cannot_follow_is_refused() {
    let waiting = at(&[], 0.0);
    let going = at(&[begin(0.0, 0)], 10.0);
    let quiet = at(
        &[begin(0.0, 0), mark(5.0, MarkKind::Quiet, None, None)],
        10.0,
    );
    let last = at(&[begin(0.0, 0), begin(600.0, 1), begin(645.0, 2)], 700.0);
    for (timer, kind, step) in [
        (&waiting, MarkKind::Begin, Some(1)),
        (&waiting, MarkKind::Extend, None),
        (&waiting, MarkKind::Finish, None),
        // A second tap, or a second screen: the first step again.
        (&going, MarkKind::Begin, Some(0)),
        (&going, MarkKind::Begin, Some(2)),
        (&going, MarkKind::Begin, None),
        (&going, MarkKind::Finish, None),
        (&going, MarkKind::Resume, None),
        (&quiet, MarkKind::Out, None),
        // In the last step nothing is left to begin, whatever is named.
        (&last, MarkKind::Begin, None),
        (&last, MarkKind::Begin, Some(0)),
        (&last, MarkKind::Begin, Some(3)),
    ] {
        let refused = timer.may(kind, step).unwrap_err();
        assert_eq!(refused.kind, Kind::Conflict, "{kind:?} {step:?}");
    }
    assert!(quiet.may(MarkKind::Resume, None).is_ok());
    assert!(quiet.may(MarkKind::Begin, Some(1)).is_ok());
}

/// What the bottle shows before anything has begun is the developer's temperature at 0 s, whatever bath comes before it.
#[test]
fn the_bottle_is_read_before_it_goes_in() {
    let read = mark(0.0, MarkKind::Reading, None, Some(24.0));
    let waiting = at(std::slice::from_ref(&read), 5.0);
    assert_eq!(
        (waiting.phase, waiting.bottle_c),
        (Phase::Waiting, Some(24.0))
    );
    let t = at(&[read.clone(), begin(30.0, 0)], 40.0);
    let s = running(&t);
    assert_eq!((s.readings[0].t_s, s.readings[0].c), (0.0, 24.0));
    // D3: 10 min at 20 °C are 6.93 min at 24 °C.
    assert!((s.ends_s / 60.0 - 6.93).abs() < 0.01);
    let mut wet = steps();
    wet.insert(0, Step::plain(OWNER, 0, StepKind::Prewet, 60.0));
    let t = Timer::at(
        &wet,
        &[read.clone(), begin(30.0, 0), begin(90.0, 1)],
        95.0,
        SD,
    )
    .unwrap();
    assert_eq!(t.done[0].readings, []);
    assert_eq!(running(&t).readings[0].c, 24.0);
    let hot = mark(0.0, MarkKind::Reading, None, Some(95.0));
    let refused = Timer::after(&wet, &[], &hot, SD).unwrap_err();
    assert_eq!(refused.kind, Kind::OutOfRange);
}

/// D8 of the default coefficient: away from the meant temperature the developer's own answer to warmth is the doubt.
#[test]
fn a_margin_says_what_makes_it_wide() {
    let mut unknown = steps();
    unknown[0].q10 = None;
    let cold = [
        begin(0.0, 0),
        mark(0.0, MarkKind::Reading, None, Some(15.0)),
    ];
    let t = Timer::at(&unknown, &cold, 10.0, SD).unwrap();
    assert_eq!(running(&t).mostly, Some(Doubt::Coefficient));
    assert_eq!(running(&at(&cold, 10.0)).mostly, Some(Doubt::Thermometer));
    let sinking = [
        begin(0.0, 0),
        mark(0.0, MarkKind::Reading, None, Some(24.0)),
        mark(60.0, MarkKind::Reading, None, Some(22.0)),
    ];
    assert_eq!(running(&at(&sinking, 70.0)).mostly, Some(Doubt::Trend));
    let t = at(&[begin(0.0, 0), begin(600.0, 1)], 610.0);
    assert_eq!(running(&t).mostly, None);
}

#[test]
fn a_step_cannot_be_shortened_away() {
    let marks = [begin(0.0, 0)];
    for (by_s, good) in [
        (-585.0, true),
        (-586.0, false),
        (85_800.0, true),
        (85_801.0, false),
    ] {
        let press = mark(10.0, MarkKind::Extend, None, Some(by_s));
        let after = Timer::after(&steps(), &marks, &press, SD);
        assert_eq!(after.is_ok(), good, "{by_s}: {after:?}");
        if let Err(refused) = after {
            assert_eq!(refused.kind, Kind::OutOfRange, "{refused}");
        }
    }
    // A rinse may be shorter than a development.
    let marks = [begin(0.0, 0), begin(600.0, 1)];
    for (by_s, good) in [(-44.0, true), (-45.0, false)] {
        let press = mark(610.0, MarkKind::Extend, None, Some(by_s));
        assert_eq!(
            Timer::after(&steps(), &marks, &press, SD).is_ok(),
            good,
            "{by_s}"
        );
    }
}

#[test]
fn calls_follow_the_movement_and_stop_at_the_pouring_out() {
    let step = Step {
        time_s: 150.0,
        ..developer()
    };
    let call = |at_s: f64, what: CallKind| Call { at_s, what };
    // 30 s at first, then 5 s every minute [D7]; pouring out begins 10 s before the end [D8].
    assert_eq!(
        calls(&step, 150.0),
        [
            call(0.0, CallKind::Agitate),
            call(30.0, CallKind::Rest),
            call(60.0, CallKind::Agitate),
            call(65.0, CallKind::Rest),
            call(120.0, CallKind::Agitate),
            call(125.0, CallKind::Rest),
            call(140.0, CallKind::PourOut),
            call(150.0, CallKind::Next),
        ]
    );
}

#[test]
fn built_in_recipes_are_sound() {
    let all = starters();
    assert!(all.len() >= 8);
    for (recipe, steps) in &all {
        recipe::check(steps).unwrap_or_else(|e| panic!("{}: {e}", recipe.name));
        let places: Vec<u32> = steps.iter().map(|s| s.position).collect();
        assert_eq!(places, (0..).take(steps.len()).collect::<Vec<u32>>());
        assert_eq!(
            recipe::removes_backing(steps),
            recipe.name.starts_with("Remjet")
        );
        // Every layer of a colour film has its own speed: no time but its own (common practice, no source).
        let colour = recipe.process.word().starts_with("colour");
        assert_eq!(recipe.tolerance == 0.0, colour, "{}", recipe.name);
    }
}

#[test]
fn senseless_orders_are_refused() {
    let fixer = Step::plain(OWNER, 0, StepKind::Fixer, 300.0);
    assert_eq!(recipe::check(&[]).unwrap_err().kind, Kind::Missing);
    assert_eq!(
        recipe::check(std::slice::from_ref(&fixer))
            .unwrap_err()
            .kind,
        Kind::Missing
    );
    assert_eq!(
        recipe::check(&[fixer, developer()]).unwrap_err().kind,
        Kind::Inconsistent
    );
    let hasty = Step {
        time_s: 20.0,
        ..developer()
    };
    assert_eq!(
        recipe::check(&[hasty]).unwrap_err().kind,
        Kind::Inconsistent
    );
}

fn any_mark() -> impl Strategy<Value = (f64, Mark)> {
    let kind = prop_oneof![
        4 => Just(MarkKind::Begin),
        4 => Just(MarkKind::Reading),
        4 => Just(MarkKind::Extend),
        2 => Just(MarkKind::Out),
        2 => Just(MarkKind::Quiet),
        3 => Just(MarkKind::Resume),
        1 => Just(MarkKind::Finish),
    ];
    let value = prop_oneof![-4000.0..90_000.0f64, 0.0..65.0f64, Just(f64::NAN)];
    let gap = prop_oneof![Just(0.0), 0.0..1e-3f64, 0.0..900.0f64, 0.0..700_000.0f64];
    (gap, kind, 0..4u32, value).prop_map(|(gap, kind, step, value)| {
        (
            gap,
            mark(
                0.0,
                kind,
                (kind == MarkKind::Begin).then_some(step),
                Some(value),
            ),
        )
    })
}

proptest! {
    /// What a press was not refused for is no fault later: the run can be read at every moment, whatever follows.
    #[test]
    fn a_run_is_never_made_unreadable(presses in proptest::collection::vec(any_mark(), 1..30)) {
        let (mut marks, mut t) = (Vec::new(), 0.0);
        for (gap, mut press) in presses {
            t += gap;
            press.at_s = t;
            let before = at(&marks, t);
            let after = Timer::after(&steps(), &marks, &press, SD);
            if before.may(press.kind, press.step).is_err() {
                prop_assert!(after.is_err());
            }
            if after.is_ok() {
                marks.push(press);
            }
            for later in [0.0, 1.0, 1e4, 1e7] {
                let timer = Timer::at(&steps(), &marks, t + later, SD);
                prop_assert!(timer.is_ok(), "{:?}", timer);
                if let Phase::Running(s) = timer.unwrap().phase {
                    // Shortened to nothing, a step is over at once.
                    prop_assert!(s.ends_s >= 0.0 && s.ends_s.is_finite() && s.margin_s.is_finite());
                }
            }
        }
    }

    /// Whoever looks sees the same: looking twice or late changes nothing, and what is done never shrinks.
    #[test]
    fn development_never_goes_back(
        temperatures in proptest::collection::vec((1.0..120.0f64, 16.0..26.0f64), 0..6),
        looks in proptest::collection::vec(0.0..900.0f64, 2..6),
    ) {
        let mut marks = vec![begin(0.0, 0)];
        let mut t = 0.0;
        for (gap, c) in temperatures {
            t += gap;
            marks.push(mark(t, MarkKind::Reading, None, Some(c)));
        }
        let mut looks: Vec<f64> = looks.into_iter().map(|l| l + t).collect();
        looks.sort_by(f64::total_cmp);
        let mut done = 0.0;
        let ends: Vec<f64> = looks.iter().map(|&l| {
            let timer = at(&marks, l);
            let s = running(&timer);
            let now = s.done_s.unwrap();
            assert!(now >= done);
            done = now;
            s.ends_s
        }).collect();
        prop_assert!(ends.windows(2).all(|e| e[0] == e[1]), "{:?}", ends);
    }

    /// No agitation is called twice at once, after the pouring out, or outside its step.
    #[test]
    fn movements_lie_apart_and_inside(
        first_s in 0.0..120.0f64, every_s in 0.0..120.0f64, for_s in 0.0..60.0f64, length_s in 1.0..2000.0f64,
    ) {
        let spans = Agitation { first_s, every_s, for_s }.spans(length_s);
        for s in &spans {
            prop_assert!(0.0 <= s.0 && s.0 < s.1 && s.1 <= length_s, "{:?}", s);
        }
        for pair in spans.windows(2) {
            prop_assert!(pair[0].1 < pair[1].0, "{:?}", pair);
        }
    }
}
