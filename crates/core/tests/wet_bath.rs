//! Baths, fixing and washing against manuals and a handbook, and the laws that any bath obeys.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::wet::bath::{
    self, Bath, BathKind, BathUse, Correction, Event, FixerPlace, FixerSort, Look, ROLL_OF_36_M2,
    What,
};
use spoolwright_core::wet::cautions::cautions;
use spoolwright_core::wet::fixing::{self, Test};
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

/// Source: [D9], twice the clearing time; [D11], three times.
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
        135.0
    );
    // Tested in the cold bath itself, nothing is added; used colder by 10 °C than tested, it doubles [D15].
    assert_eq!(
        fixing::fixing_time_s(test(false, 12.0), 12.0).unwrap(),
        90.0
    );
    let colder = fixing::fixing_time_s(test(false, 20.0), 10.0).unwrap();
    assert!((colder - 180.0).abs() < 1e-9);
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
    assert_eq!(alive.clearing.unwrap().fixing_time_s, 118.0);
    let dead = at(60.0);
    assert_eq!(dead.verdict, Verdict::Replace);
    assert_eq!(dead.because[0].reason, Reason::ClearingTime);
    assert_eq!(dead.rolls_left(), Some(0));
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

/// Source: [D13]: 20 rolls a litre, 25 in alkaline fixer; [D11]: half for film rich in iodide. Defaults, told as such.
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
        (FixerSort::Acid, true, 15),
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

/// [D26] as the default: 10 % for three rolls in a litre; by runs when the sheet says so.
#[test]
fn the_time_grows_with_use() {
    let said = judged(&reused(BathKind::Developer, &[run(3.0)]));
    assert!((said.next_time_factor - 1.1).abs() < 1e-9);
    assert_eq!(said.verdict, Verdict::Correct);
    assert!(codes(&said).contains(&"default_correction"));
    let mut bath = reused(BathKind::Developer, &[run(1.0), run(1.0), run(1.0)]);
    bath.correction = Some(Correction::PerRun(10.0));
    assert!((judged(&bath).next_time_factor - 1.3).abs() < 1e-12);
    bath.correction = Some(Correction::None);
    let said = judged(&bath);
    assert_eq!((said.next_time_factor, said.verdict), (1.0, Verdict::Use));
    // For colour nothing is made up.
    let said = judged(&reused(BathKind::ColourDeveloper, &[run(2.0)]));
    assert_eq!(said.next_time_factor, 1.0);
    assert!(codes(&said).contains(&"no_correction"));
    assert!(codes(&said).contains(&"no_capacity"));
    assert_eq!(said.capacity_left_m2, None);
}

/// Source: [D25] as arithmetic: 8 fl oz (29.5735 ml each) for 800 square inches.
#[test]
fn replenisher() {
    let area = 800.0 * 0.0254f64.powi(2);
    let rate = 8.0 * 29.5735 / area;
    assert!((bath::replenisher_ml(area, rate).unwrap() - 8.0 * 29.5735).abs() < 1e-9);
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
    assert_eq!(looked(Look::Doubtful).verdict, Verdict::Use);
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

/// Source: [D20], [D21]: 0.014 g/m² are 1.4 µg/cm².
#[test]
fn thiosulfate_units() {
    let limit = wash::ug_per_cm2(wash::THIOSULFATE_LIMIT_G_PER_M2);
    assert!((limit - 1.4).abs() < 1e-12);
}

// ---- Cautions -------------------------------------------------------------------------------------------------------

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
            for word in ["legal", "is safe", "harmless", "allowed", "may be poured"] {
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
            let whole = 10.0 * ROLL_OF_36_M2 * volume / 1000.0;
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

    /// Two washes one after the other leave what one of both together does, and back again.
    #[test]
    fn washing_goes_on(a in 0.0f64..20.0, b in 0.0f64..20.0, halving in 0.2f64..10.0) {
        let left = |m| wash::residual_share(m, halving).unwrap();
        prop_assert!((left(a) * left(b) - left(a + b)).abs() < 1e-12);
        let share = left(a);
        if 1e-9 < share {
            prop_assert!((wash::minutes_to(share, halving).unwrap() - a).abs() < 1e-9);
        }
    }

    /// Whatever is written on a card, there is a verdict of finite numbers or a refusal, never a panic.
    #[test]
    fn any_card(volume in prop::num::f64::ANY, age in prop::num::f64::ANY, numbers in prop::collection::vec((0u8..5, prop::num::f64::ANY), 0..6)) {
        let events = numbers.iter().map(|&(which, x)| Event {
            day: 0.0,
            what: match which {
                0 => What::Run { area_m2: x },
                1 => clearing(x),
                2 => What::Looked(Look::Spent),
                3 => What::Replenished { ml: x },
                _ => What::ToppedUp { ml: x },
            },
        });
        let bath = Bath { age_days: age, events: events.collect(), ..Bath::new(BathKind::Fixer, BathUse::Reused, volume) };
        if let Ok(said) = life(&bath) {
            prop_assert!(said.next_time_factor.is_finite() && 1.0 <= said.next_time_factor);
            prop_assert!(said.capacity_left_m2.is_none_or(f64::is_finite));
        }
    }
}
