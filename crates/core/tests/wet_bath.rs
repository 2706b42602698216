//! Baths, fixing and washing against manuals and a handbook, and the laws that any bath obeys.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::shelf::RecipeId;
use spoolwright_core::wet::bath::{
    self, Bath, BathKind, BathUse, Correction, Event, FixerPlace, FixerSort, Look, ROLL_OF_36_M2,
    What,
};
use spoolwright_core::wet::cautions::{cautions, unnamed};
use spoolwright_core::wet::fixing::{self, Test};
use spoolwright_core::wet::recipe::{Owner, Step, StepKind};
use spoolwright_core::wet::salts::Substance;
use spoolwright_core::wet::verdict::{Basis, Life, Reason, Verdict, life};
use spoolwright_core::wet::wash;

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

fn run(rolls: f64) -> What {
    What::Run {
        area_m2: rolls * ROLL_OF_36_M2,
    }
}

fn clearing(seconds: f64) -> What {
    What::Clearing {
        seconds,
        at_c: 20.0,
    }
}

/// A bath of that kind after these things, one a day.
fn after(kind: BathKind, usage: BathUse, volume_ml: f64, whats: &[What]) -> Bath {
    let events = whats.iter().enumerate().map(|(day, &what)| Event {
        day: day as f64,
        what,
    });
    Bath {
        age_days: whats.len() as f64,
        events: events.collect(),
        ..Bath::new(kind, usage, volume_ml)
    }
}

fn reused(kind: BathKind, whats: &[What]) -> Bath {
    after(kind, BathUse::Reused, 1000.0, whats)
}

fn judged(bath: &Bath) -> Life {
    life(bath).expect("a good record")
}

fn codes(life: &Life) -> Vec<&str> {
    life.caveats.iter().map(|c| c.code).collect()
}

// ---- Fixing ---------------------------------------------------------------------------------------------------------

/// Source: [D15], printed factors at 58 °F and 50 °F; half a unit of the last digit.
#[test]
fn cold_fixer() {
    for (fahrenheit, factor, tolerance) in
        [(68.0, 1.0, 1e-9), (58.0, 1.47, 0.005), (50.0, 2.0, 1e-9)]
    {
        let got = fixing::cold_factor(celsius(fahrenheit)).unwrap();
        assert!((got - factor).abs() < tolerance, "{fahrenheit} °F: {got}");
    }
    assert_eq!(fixing::cold_factor(30.0).unwrap(), 1.0);
}

/// Source: [D9], twice the clearing time. The multiple for iodide [D11] is a weak default: only that it is applied.
#[test]
fn fixing_time_from_a_scrap() {
    let test = |high_iodide, at_c| Test {
        clearing_s: 45.0,
        at_c,
        high_iodide,
    };
    assert_eq!(
        fixing::fixing_time_s(test(false, 20.0), 20.0).unwrap(),
        90.0
    );
    assert_eq!(
        fixing::fixing_time_s(test(true, 20.0), 20.0).unwrap(),
        45.0 * fixing::HIGH_IODIDE_MULTIPLE
    );
    // Tested in the cold bath itself, nothing is added; used colder by 10 °C than tested, it doubles [D15].
    assert_eq!(
        fixing::fixing_time_s(test(false, 12.0), 12.0).unwrap(),
        90.0
    );
    let colder = fixing::fixing_time_s(test(false, 20.0), 10.0).unwrap();
    assert!((colder - 180.0).abs() < 1e-9);
}

/// A warm test never makes a cooler bath fix short: the rule of [D15] is carried on above 20 °C, by hand
/// 60 s × 2^0.8 = 104.5 s from 28 °C to 20 °C. Warmer than the test, nothing is taken off.
#[test]
fn a_warm_test_lengthens() {
    let test = |at_c| Test {
        clearing_s: 30.0,
        at_c,
        high_iodide: false,
    };
    let s = fixing::fixing_time_s(test(28.0), 20.0).unwrap();
    assert!((s - 104.5).abs() < 0.05, "{s}");
    assert_eq!(fixing::fixing_time_s(test(20.0), 28.0).unwrap(), 60.0);
    let warm = |seconds, at_c| What::Clearing { seconds, at_c };
    let said = judged(&reused(BathKind::Fixer, &[warm(30.0, 28.0)]));
    assert!((said.clearing.unwrap().fixing_time_s.unwrap() - 104.5).abs() < 0.05);
    assert!(codes(&said).contains(&"warm_test"));
    // Twice the seconds is dead, though the second test was cooler: no unknown law excuses it.
    let said = judged(&reused(
        BathKind::Fixer,
        &[warm(30.0, 28.0), run(2.0), warm(60.0, 20.0)],
    ));
    assert_eq!(said.verdict, Verdict::Replace);
    // Unless the fresh one was the warm one: then the bath is condemned by that, and it is said.
    assert!(codes(&said).contains(&"warm_fresh_test"));
    assert_eq!(said.clearing.unwrap().fresh_at_c, 28.0);
    assert!(
        said.because[0].text.contains("30 s at 28 °C"),
        "{}",
        said.because[0].text
    );
    // Tested at one temperature both times, it is as it was.
    let said = judged(&reused(
        BathKind::Fixer,
        &[warm(30.0, 28.0), run(2.0), warm(30.0, 28.0)],
    ));
    assert_eq!(said.verdict, Verdict::Use);
    assert!(!codes(&said).contains(&"warm_fresh_test"));
    assert_eq!(said.clearing.unwrap().fresh_at_c, 20.0);
}

/// A scrap that clears says nothing of the bleach in a blix.
#[test]
fn a_blix_is_not_judged_by_its_fixer() {
    let mut bath = reused(BathKind::Blix, &[clearing(30.0), run(4.0), clearing(33.0)]);
    let said = judged(&bath);
    assert_eq!(said.clearing.unwrap().fixing_time_s, None);
    assert!(codes(&said).contains(&"blix_clearing"));
    assert!(said.because.iter().any(|b| b.reason == Reason::NotKnown));
    // The sheet's correction stands where it is more than the scrap tells.
    bath.correction = Some(Correction::PerRollPerLitre(10.0));
    assert!((judged(&bath).next_time_factor - 1.4).abs() < 1e-9);
}

/// Source: [D10]: dead when the fresh clearing time has doubled, not a second before.
#[test]
fn a_fixer_is_dead_when_its_clearing_time_has_doubled() {
    let at = |seconds| {
        judged(&reused(
            BathKind::Fixer,
            &[clearing(30.0), run(4.0), clearing(seconds)],
        ))
    };
    let alive = at(59.0);
    assert_eq!(alive.verdict, Verdict::Correct);
    assert_eq!(alive.because[0].reason, Reason::ClearingTime);
    assert!((alive.next_time_factor - 59.0 / 30.0).abs() < 1e-12);
    assert_eq!(alive.clearing.unwrap().fixing_time_s, Some(118.0));
    let dead = at(60.0);
    assert_eq!(dead.verdict, Verdict::Replace);
    assert_eq!(dead.because[0].reason, Reason::ClearingTime);
    assert_eq!(dead.rolls_left(), Some(0));
    // No time to fix in a dead fixer.
    assert_eq!(dead.clearing.unwrap().fixing_time_s, None);
    assert_eq!(at(30.0).verdict, Verdict::Use);
}

/// Source: [D10]: the first of two baths is retired and the second promoted.
#[test]
fn two_baths_rotate() {
    let mut bath = reused(BathKind::Fixer, &[clearing(30.0), run(4.0), clearing(61.0)]);
    bath.place = FixerPlace::First;
    let said = judged(&bath);
    assert!(
        said.because
            .iter()
            .any(|b| b.text.contains("second into its place"))
    );
    bath.place = FixerPlace::Only;
    assert!(
        judged(&bath)
            .because
            .iter()
            .all(|b| !b.text.contains("second"))
    );
}

/// Tests at two temperatures are compared at one, by [D15].
#[test]
fn a_cold_test_is_not_a_spent_fixer() {
    let mut bath = reused(BathKind::Fixer, &[clearing(30.0), run(1.0)]);
    bath.events.push(Event {
        day: 2.0,
        what: What::Clearing {
            seconds: 60.0,
            at_c: 10.0,
        },
    });
    let said = judged(&bath);
    assert_eq!(said.verdict, Verdict::Use);
    assert!((said.clearing.unwrap().latest_s - 30.0).abs() < 1e-9);
}

// ---- Capacity -------------------------------------------------------------------------------------------------------

/// Source: [D12]: 80 square inches, 0.0516 m², for a roll of 36.
#[test]
fn a_roll_is_80_square_inches() {
    assert!((80.0 * 0.0254f64.powi(2) - ROLL_OF_36_M2).abs() < 5e-5);
}

/// Source: [D13]: 20 rolls a litre, 25 in alkaline fixer. [D11] for film rich in iodide is a weak default: only that it
/// is applied. Defaults, told as such.
#[test]
fn a_fixer_without_a_sheet() {
    let litre_and_a_half = |sort, high_iodide| {
        let mut bath = after(BathKind::Fixer, BathUse::Reused, 1500.0, &[]);
        bath.fixer = sort;
        bath.high_iodide = high_iodide;
        judged(&bath)
    };
    for (sort, high_iodide, rolls) in [
        (FixerSort::Acid, false, 30),
        (FixerSort::Alkaline, false, 37),
        (
            FixerSort::Acid,
            true,
            (30.0 * bath::HIGH_IODIDE_SHARE) as u32,
        ),
    ] {
        let said = litre_and_a_half(sort, high_iodide);
        assert_eq!(said.rolls_left(), Some(rolls));
        assert!(codes(&said).contains(&"default_capacity"));
        assert_eq!(said.limits[0].basis, Basis::Default);
    }
}

/// A sheet's figure goes before any default, and iodide does not change it.
#[test]
fn the_sheet_goes_first() {
    let mut bath = reused(BathKind::Fixer, &[run(5.0)]);
    bath.capacity_m2_per_l = Some(8.0 * ROLL_OF_36_M2);
    bath.high_iodide = true;
    let said = judged(&bath);
    assert_eq!(said.rolls_left(), Some(3));
    assert_eq!(said.limits[0].basis, Basis::Given);
    assert!(!codes(&said).contains(&"default_capacity"));
}

/// The load that is planned fits exactly, or goes past by a hair of film.
#[test]
fn the_next_load() {
    let mut bath = reused(BathKind::Fixer, &[run(15.0)]);
    bath.next_area_m2 = Some(5.0 * ROLL_OF_36_M2);
    assert_eq!(judged(&bath).next_load.unwrap().verdict, Verdict::Use);
    bath.next_area_m2 = Some(5.01 * ROLL_OF_36_M2);
    let next = judged(&bath).next_load.unwrap();
    assert_eq!(
        (next.verdict, next.because[0].reason),
        (Verdict::Replace, Reason::Area)
    );
    // The bath itself is still good.
    assert_eq!(judged(&bath).verdict, Verdict::Use);
    // Full to the last roll, it is spent.
    assert_eq!(
        judged(&reused(BathKind::Fixer, &[run(20.0)])).verdict,
        Verdict::Replace
    );
}

/// The default [D26] is from memory: only that it is applied, and said; by runs when the sheet says so.
#[test]
fn the_time_grows_with_use() {
    let said = judged(&reused(BathKind::Developer, &[run(3.0)]));
    let percent = 3.0 * bath::PERCENT_PER_ROLL_PER_L;
    assert!((said.next_time_factor - (1.0 + percent / 100.0)).abs() < 1e-9);
    assert_eq!(said.verdict, Verdict::Correct);
    assert!(said.because[0].text.contains("by a default from memory"));
    assert!(codes(&said).contains(&"default_correction"));
    let mut bath = reused(BathKind::Developer, &[run(1.0), run(1.0), run(1.0)]);
    bath.correction = Some(Correction::PerRun(10.0));
    assert!((judged(&bath).next_time_factor - 1.3).abs() < 1e-12);
    bath.correction = Some(Correction::None);
    let said = judged(&bath);
    assert_eq!((said.next_time_factor, said.verdict), (1.0, Verdict::Use));
    assert!(said.because[0].text.contains("(a default)"));
}

/// For colour nothing is made up, and nothing is vouched for.
#[test]
fn a_bath_that_nobody_knows() {
    for kind in [
        BathKind::ColourDeveloper,
        BathKind::FirstDeveloper,
        BathKind::Bleach,
        BathKind::Blix,
    ] {
        let said = judged(&reused(kind, &[run(2.0)]));
        assert_eq!(said.next_time_factor, 1.0);
        assert!(codes(&said).contains(&"no_correction"));
        assert!(codes(&said).contains(&"no_capacity"));
        assert_eq!(said.capacity_left_m2, None);
        assert_eq!(said.because[0].reason, Reason::NotKnown, "{kind:?}");
        // Fresh it is fresh; of a load that is planned nothing is known again.
        let mut fresh = Bath::new(kind, BathUse::Reused, 1000.0);
        assert_eq!(judged(&fresh).because[0].reason, Reason::WithinLimits);
        fresh.next_area_m2 = Some(ROLL_OF_36_M2);
        let next = judged(&fresh).next_load.unwrap();
        assert_eq!(next.because[0].reason, Reason::NotKnown, "{kind:?}");
        // With the sheet's figures it is known.
        let mut known = reused(kind, &[run(2.0)]);
        known.capacity_m2_per_l = Some(1.0);
        known.correction = Some(Correction::None);
        assert_eq!(judged(&known).because[0].reason, Reason::WithinLimits);
    }
    // Nothing known, not even how long it keeps.
    let old = Bath {
        age_days: 400.0,
        ..Bath::new(BathKind::Stop, BathUse::Reused, 500.0)
    };
    assert_eq!(judged(&old).because[0].reason, Reason::NotKnown);
    let developer = Bath {
        age_days: 400.0,
        ..Bath::new(BathKind::Developer, BathUse::Reused, 500.0)
    };
    let text = &judged(&developer).because[0].text;
    assert!(text.contains("age is not judged"), "{text}");
}

/// Source: [D25] as arithmetic: 8 fl oz (29.5735 ml each) for 800 square inches.
#[test]
fn replenisher() {
    let area = 800.0 * 0.0254f64.powi(2);
    let rate = 8.0 * 29.5735 / area;
    let mut fed = after(
        BathKind::Developer,
        BathUse::Replenished,
        15_142.0,
        &[run(10.0)],
    );
    fed.rate_ml_per_m2 = Some(rate);
    let said = judged(&fed);
    // Ten rolls of 80 square inches are 800: 8 oz, to the rounding of [D12].
    assert!((said.replenisher_owed_ml.unwrap() - 8.0 * 29.5735).abs() < 0.1);
    assert_eq!(
        (said.verdict, said.because[0].reason),
        (Verdict::Correct, Reason::Replenisher)
    );
    fed.events.push(Event {
        day: 1.0,
        what: What::Replenished { ml: 237.0 },
    });
    let said = judged(&fed);
    assert_eq!(
        (said.verdict, said.replenisher_owed_ml),
        (Verdict::Use, Some(0.0))
    );
    // Fed by its sheet's rate it is known to be good, not merely not known to be bad.
    assert_eq!(said.because[0].reason, Reason::WithinLimits);
}

/// By hand, with [D9] and [D10]: fresh 30 s; just before it is dead, a scrap takes 60 s, and film 120 s.
#[test]
fn a_test_before_the_last_film_shortens_nothing() {
    let untested = judged(&reused(BathKind::Fixer, &[clearing(30.0), run(19.0)]));
    assert_eq!(untested.verdict, Verdict::Use);
    assert!(codes(&untested).contains(&"untested_since"));
    assert!(untested.because[0].text.contains("before the last film"));
    let cleared = untested.clearing.unwrap();
    assert_eq!(cleared.fixing_time_s, Some(120.0));
    let step = |at_c, fill_s| Step {
        temperature_c: Some(at_c),
        fill_s,
        drain_s: 10.0,
        ..Step::plain(Owner::Recipe(RecipeId(1)), 0, StepKind::Fixer, 300.0)
    };
    let fixing = cleared.step(&step(20.0, 10.0)).unwrap();
    assert_eq!(fixing.seconds, 120.0);
    assert!(fixing.because.contains("clear another scrap"));
    // [D15]: twice as long ten degrees colder.
    assert_eq!(cleared.step(&step(10.0, 10.0)).unwrap().seconds, 240.0);
    // Another scrap is believed again; a quick one leaves time to pour (own rule: half a minute).
    let tested = |s| {
        judged(&reused(
            BathKind::Fixer,
            &[clearing(s), run(1.0), clearing(s)],
        ))
    };
    let slow = tested(30.0).clearing.unwrap();
    let fixing = slow.step(&step(20.0, 10.0)).unwrap();
    assert_eq!((fixing.seconds, fixing.because), (60.0, ""));
    let quick = tested(8.0).clearing.unwrap();
    assert_eq!(quick.fixing_time_s, Some(16.0));
    assert_eq!(quick.step(&step(20.0, 10.0)).unwrap().seconds, 30.0);
    assert_eq!(quick.step(&step(20.0, 40.0)).unwrap().seconds, 51.0);
}

/// A scrap of film tells nothing of a stop bath.
#[test]
fn a_scrap_is_advised_where_it_shows_something() {
    let advice = |kind| judged(&reused(kind, &[run(1.0)])).because[0].text.clone();
    assert!(advice(BathKind::Bleach).contains("test it on a scrap"));
    for kind in [
        BathKind::Stop,
        BathKind::Clearing,
        BathKind::Wetting,
        BathKind::Stabiliser,
    ] {
        let text = advice(kind);
        assert!(
            text.contains("would not show") && !text.contains("test it"),
            "{text}"
        );
    }
}

#[test]
fn age_look_and_one_shot() {
    let mut bath = reused(BathKind::Developer, &[]);
    bath.shelf_life_days = Some(30.0);
    bath.age_days = 30.0;
    assert_eq!(judged(&bath).verdict, Verdict::Use);
    bath.age_days = 30.5;
    assert_eq!(judged(&bath).because[0].reason, Reason::Age);
    let looked = |look| judged(&reused(BathKind::Developer, &[What::Looked(look)]));
    assert_eq!(looked(Look::Spent).because[0].reason, Reason::Colour);
    assert_eq!(looked(Look::Spent).verdict, Verdict::Replace);
    // Doubtful, it is not vouched for: a test goes first.
    let doubtful = &looked(Look::Doubtful).because[0];
    assert_eq!(doubtful.reason, Reason::Colour);
    assert!(doubtful.text.contains("test it first"), "{}", doubtful.text);
    assert!(codes(&looked(Look::Doubtful)).contains(&"doubtful_look"));
    let one_shot =
        |whats: &[What]| judged(&after(BathKind::Developer, BathUse::OneShot, 600.0, whats));
    assert_eq!(one_shot(&[]).verdict, Verdict::Use);
    let used = one_shot(&[run(1.0)]);
    assert_eq!(
        (used.verdict, used.because[0].reason),
        (Verdict::Replace, Reason::OneShot)
    );
    assert_eq!(used.capacity_left_m2, Some(0.0));
}

/// What cannot be is refused, by the name of its field.
#[test]
fn contradictions() {
    let good = || reused(BathKind::Developer, &[run(1.0), run(1.0)]);
    let cases: Vec<(Bath, Kind, &str)> = vec![
        (
            Bath {
                volume_ml: f64::NAN,
                ..good()
            },
            Kind::OutOfRange,
            "volume_ml",
        ),
        (
            Bath {
                age_days: f64::INFINITY,
                ..good()
            },
            Kind::OutOfRange,
            "age_days",
        ),
        (
            Bath {
                age_days: 0.5,
                ..good()
            },
            Kind::Inconsistent,
            "events[1].day",
        ),
        (
            Bath {
                next_area_m2: Some(-1.0),
                ..good()
            },
            Kind::OutOfRange,
            "next_area_m2",
        ),
        (
            Bath {
                usage: BathUse::Replenished,
                ..good()
            },
            Kind::Missing,
            "rate_ml_per_m2",
        ),
        (
            Bath {
                rate_ml_per_m2: Some(500.0),
                ..good()
            },
            Kind::Inconsistent,
            "rate_ml_per_m2",
        ),
        (
            Bath {
                usage: BathUse::OneShot,
                correction: Some(Correction::PerRun(10.0)),
                ..good()
            },
            Kind::Inconsistent,
            "correction",
        ),
        (
            Bath {
                correction: Some(Correction::PerRun(f64::NAN)),
                ..good()
            },
            Kind::OutOfRange,
            "correction",
        ),
        (
            reused(BathKind::Developer, &[clearing(30.0)]),
            Kind::Inconsistent,
            "events[0]",
        ),
        (
            reused(BathKind::Fixer, &[clearing(0.0)]),
            Kind::OutOfRange,
            "events[0].seconds",
        ),
        (
            reused(BathKind::Developer, &[What::Replenished { ml: 10.0 }]),
            Kind::Inconsistent,
            "events[0]",
        ),
    ];
    for (bath, kind, field) in cases {
        let error = life(&bath).expect_err(field);
        assert_eq!(error.kind, kind, "{error}");
        assert!(error.what.starts_with(field), "{error}");
    }
}

// ---- Washing --------------------------------------------------------------------------------------------------------

/// Source: [D17]: halves each minute, so a quarter is left after two.
#[test]
fn washing_halves() {
    let left = |minutes| wash::residual_share(minutes, wash::RUNNING_WATER_HALVING_MIN).unwrap();
    assert!((left(1.0) - 0.5).abs() < 1e-12);
    assert!((left(2.0) - 0.25).abs() < 1e-12);
    assert_eq!(left(0.0), 1.0);
}

/// Source: [D16]: twice at 50 °F, four times at 35 °F.
#[test]
fn cold_wash() {
    for (fahrenheit, factor) in [(68.0, 1.0), (50.0, 2.0), (35.0, 4.0), (80.0, 1.0)] {
        let got = wash::cold_factor(celsius(fahrenheit)).unwrap();
        assert!((got - factor).abs() < 1e-9, "{fahrenheit} °F: {got}");
    }
}

/// Source: [D18]: 30 s, 2 min, 5 min, 1 min; without the agent 30 min.
#[test]
fn wash_sequences() {
    let seconds = |agent| {
        let steps = wash::sequence(agent, 20.0).unwrap();
        steps.into_iter().map(|(_, s)| s).collect::<Vec<_>>()
    };
    assert_eq!(seconds(true), [30.0, 120.0, 300.0, 60.0]);
    assert_eq!(seconds(false), [1800.0, 60.0]);
}

/// Source: [D14]: 10 ml of 4 to 5 % potassium iodide in 100 ml of fixer, told where no scrap was cleared.
#[test]
fn a_fixer_can_be_tested_without_film() {
    let said = judged(&reused(BathKind::Fixer, &[run(2.0)]));
    let told = said.caveats.iter().find(|c| c.code == "no_clearing_test");
    let text = &told.unwrap().text;
    for part in ["10 ml", "4 to 5 %", "potassium iodide", "100 ml"] {
        assert!(text.contains(part), "{text}");
    }
}

/// Source: [D17], least washes; [D20], radiographic film; [D21], within 14 days.
#[test]
fn figures_of_a_wash() {
    assert_eq!(wash::LEAST_WITH_CHANGES_MIN, 20.0);
    assert_eq!(wash::LEAST_FAST_WASHER_MIN, 5.0);
    assert_eq!(wash::RADIOGRAPHIC_LIMIT_G_PER_M2, 0.020);
    assert!(wash::LABORATORY.contains("methylene blue within 14 days"));
}

/// Source: [D20], [D21]: 0.014 g/m² are 1.4 µg/cm².
#[test]
fn thiosulfate_units() {
    let limit = wash::ug_per_cm2(wash::THIOSULFATE_LIMIT_G_PER_M2);
    assert!((limit - 1.4).abs() < 1e-12);
}

// ---- Cautions -------------------------------------------------------------------------------------------------------

const PROMISES: [&str; 5] = ["legal", "is safe", "harmless", "allowed", "may be poured"];

/// Every kind of bath and every substance begins with the safety sheet and ends with the waste code; none promises.
#[test]
fn cautions_defer_and_promise_nothing() {
    let baths = BathKind::ALL.iter().map(|&k| cautions(k));
    let substances = Substance::ALL.iter().filter(|s| **s != Substance::Water);
    for list in baths.chain(substances.map(|&s| cautions(s))) {
        assert_eq!(list.first().unwrap().code, "safety_sheet");
        assert_eq!(list.last().unwrap().code, "local_waste_code");
        for caution in list {
            let text = caution.text.to_lowercase();
            for word in PROMISES {
                assert!(!text.contains(word), "{}", caution.text);
            }
        }
    }
    let has = |list: &[spoolwright_core::wet::cautions::Caution], code: &str| {
        list.iter().any(|c| c.code == code)
    };
    // Sources: [H3], [H4], [H5], [H8].
    assert!(has(
        cautions(Substance::GlacialAceticAcid),
        "acid_into_water"
    ));
    assert!(has(
        cautions(Substance::GlacialAceticAcid),
        "corrosive_acid"
    ));
    assert!(has(cautions(Substance::Metol), "sensitiser"));
    assert!(has(cautions(Substance::Hydroquinone), "irritant"));
    assert!(has(cautions(BathKind::Fixer), "fixer_apart"));
    assert!(has(cautions(BathKind::Fixer), "silver"));
    assert!(has(cautions(BathKind::Bleach), "bleach_apart"));
    // By kind of bleach, since the card does not say which; fixer and bleach each name the other; backing's alkali.
    for code in ["ferricyanide_acid", "carcinogen_oxidiser", "oxidiser"] {
        assert!(has(cautions(BathKind::Bleach), code), "{code}");
    }
    let text = |kind, code: &str| {
        let list = cautions(kind);
        list.iter().find(|c| c.code == code).unwrap().text
    };
    assert!(text(BathKind::Fixer, "fixer_apart").contains("bleach"));
    assert!(text(BathKind::Bleach, "bleach_apart").contains("fixer"));
    assert!(has(cautions(BathKind::Blix), "blix_apart"));
    assert!(has(cautions(BathKind::Prebath), "corrosive_alkali"));
    // What nobody named may be an acid.
    assert!(has(unnamed(), "safety_sheet") && has(unnamed(), "acid_into_water"));
}

// ---- Laws -----------------------------------------------------------------------------------------------------------

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// More film never leaves more capacity, nor a shorter time, nor a better verdict.
    #[test]
    fn film_only_wears(rolls in prop::collection::vec(0.1f64..4.0, 0..12), more in 0.1f64..4.0, volume in 250.0f64..5000.0) {
        let bath = |rolls: &[f64]| {
            let runs: Vec<What> = rolls.iter().map(|&r| run(r)).collect();
            judged(&after(BathKind::Developer, BathUse::Reused, volume, &runs))
        };
        let before = bath(&rolls);
        let mut all = rolls.clone();
        all.push(more);
        let later = bath(&all);
        prop_assert!(later.capacity_left_m2.unwrap() <= before.capacity_left_m2.unwrap());
        prop_assert!(before.next_time_factor < later.next_time_factor);
        let rank = |v: Verdict| Verdict::ALL.iter().position(|o| *o == v);
        prop_assert!(rank(before.verdict) <= rank(later.verdict));
        // What went through and what may still go through are the whole, until it is replaced.
        if later.verdict != Verdict::Replace {
            let whole = bath::DEVELOPER_ROLLS_PER_L * ROLL_OF_36_M2 * volume / 1000.0;
            prop_assert!((later.area_m2 + later.capacity_left_m2.unwrap() - whole).abs() < 1e-9);
        }
        prop_assert!(!later.because.is_empty());
    }

    /// A load that fits by the card does not make the card say replace beyond the limit itself.
    #[test]
    fn the_card_keeps_its_word(done in 0.1f64..19.0, next in 0.1f64..20.0) {
        let mut bath = reused(BathKind::Fixer, &[run(done)]);
        bath.next_area_m2 = Some(next * ROLL_OF_36_M2);
        let promised = judged(&bath).next_load.unwrap().verdict != Verdict::Replace;
        prop_assert_eq!(promised, done + next <= 20.0 + 1e-7);
    }

    #[test]
    fn colder_is_never_quicker(a in 1.0f64..50.0, b in 1.0f64..50.0) {
        let (cold, warm) = (a.min(b), a.max(b));
        prop_assert!(fixing::cold_factor(warm).unwrap() <= fixing::cold_factor(cold).unwrap());
        prop_assert!(wash::cold_factor(warm).unwrap() <= wash::cold_factor(cold).unwrap());
    }

    /// Two washes one after the other leave what one of both together does.
    #[test]
    fn washing_goes_on(a in 0.0f64..20.0, b in 0.0f64..20.0, halving in 0.2f64..10.0) {
        let left = |m| wash::residual_share(m, halving).unwrap();
        prop_assert!((left(a) * left(b) - left(a + b)).abs() < 1e-12);
    }

    /// Whatever is written on a card, there is a verdict of finite numbers or a refusal, never a panic.
    #[test]
    fn any_card(volume in any_number(10.0..5000.0), age in any_number(0.0..400.0), kind in prop::sample::select(BathKind::ALL),
        numbers in prop::collection::vec((0u8..5, any_number(1.0..300.0)), 0..6)) {
        verdict_or_refusal(&card(kind, volume, age, &numbers));
    }
}

/// Now and then any number at all, mostly a good one.
fn any_number(good: std::ops::Range<f64>) -> impl Strategy<Value = f64> {
    prop_oneof![1 => prop::num::f64::ANY, 15 => good]
}

fn card(kind: BathKind, volume: f64, age: f64, numbers: &[(u8, f64)]) -> Bath {
    let events = numbers.iter().map(|&(which, x)| Event {
        day: 0.0,
        what: match which {
            0 => What::Run { area_m2: x },
            1 if kind == BathKind::Fixer => clearing(x),
            1 => What::Looked(Look::Doubtful),
            2 => What::Looked(Look::Spent),
            _ => What::ToppedUp { ml: x },
        },
    });
    Bath {
        age_days: age,
        events: events.collect(),
        ..Bath::new(kind, BathUse::Reused, volume)
    }
}

fn verdict_or_refusal(bath: &Bath) -> bool {
    let Ok(said) = life(bath) else {
        return false;
    };
    assert!(said.next_time_factor.is_finite() && 1.0 <= said.next_time_factor);
    assert!(said.capacity_left_m2.is_none_or(f64::is_finite));
    assert!(!said.because.is_empty());
    true
}

/// The cards of `any_card` are judged more often than refused, and refused too.
#[test]
fn any_card_reaches_both_ends() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let cards = (
        any_number(10.0..5000.0),
        any_number(0.0..400.0),
        prop::collection::vec((0u8..5, any_number(1.0..300.0)), 0..6),
    );
    let judged = (0..200)
        .filter(|_| {
            let (volume, age, numbers) = cards.new_tree(&mut runner).unwrap().current();
            verdict_or_refusal(&card(BathKind::Fixer, volume, age, &numbers))
        })
        .count();
    assert!((80..=190).contains(&judged), "{judged} of 200");
}
