//! Laws of the wedge bench: what must hold whatever the strips say.

#[path = "wedge_truth/mod.rs"]
mod wedge_truth;

use proptest::prelude::*;
use spoolwright_core::wedge::{
    Analysis, Effort, Exposure, Material, NAMED_TARGETS, SpeedKind, StripResult, analyse,
    standard_speed,
};
use wedge_truth::{Dice, test_of};

const QUICK: Effort = Effort { rounds: 100 };

fn family(seed: u64, kind: usize, noise: f64) -> spoolwright_core::wedge::Test {
    let mut dice = Dice(seed);
    let film = dice.film(kind);
    let strips = [5.0, 8.0, 13.0]
        .iter()
        .map(|&t| {
            let mut developed = film;
            developed.gamma = 1.1 * (1.0 - (-0.12_f64 * t).exp());
            dice.strip(&developed, t, noise, true)
        })
        .collect();
    test_of(strips)
}

fn speed_point(strip: &StripResult) -> f64 {
    strip.log_h_speed_point.unwrap().value
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Every curve rises, holds its band in order, and every interval its value.
    #[test]
    fn curves_rise_and_intervals_hold_their_values(seed in 1u64..1_000_000, kind in 0usize..6, noise in 0.002_f64..0.03) {
        let analysis = analyse(&family(seed, kind, noise), QUICK).unwrap();
        for strip in &analysis.strips {
            prop_assert!(strip.curve.windows(2).all(|w| w[0].x < w[1].x && w[0].y.value <= w[1].y.value + 1e-9));
            let numbers = [
                Some(strip.base_fog), strip.log_h_speed_point, strip.speed, strip.delta_d_over_1_30, strip.gamma,
                strip.average_gradient, strip.contrast_index, strip.useful_range, Some(strip.d_max),
            ];
            for i in numbers.into_iter().flatten().chain(strip.curve.iter().map(|p| p.y)) {
                prop_assert!(i.lower95 <= i.value && i.value <= i.upper95 && i.value.is_finite());
            }
        }
    }

    /// More light on the wedge moves log Hm by as much and leaves contrast alone.
    #[test]
    fn a_shift_of_exposure_shifts_the_speed_point(seed in 1u64..1_000_000, kind in 0usize..6, shift in -2.0_f64..2.0) {
        let test = family(seed, kind, 0.01);
        let mut moved = test.clone();
        if let Exposure::Absolute { log_h_at_zero_density, .. } = &mut moved.exposure {
            *log_h_at_zero_density += shift;
        }
        let (a, b) = (analyse(&test, QUICK).unwrap(), analyse(&moved, QUICK).unwrap());
        for (a, b) in a.strips.iter().zip(&b.strips) {
            prop_assert!((speed_point(b) - speed_point(a) - shift).abs() < 2e-3);
            prop_assert!((a.gamma.unwrap().value - b.gamma.unwrap().value).abs() < 2e-3);
        }
    }

    /// The order in which strips are given does not matter, nor that of the wedge's steps.
    #[test]
    fn order_does_not_matter(seed in 1u64..1_000_000, kind in 0usize..6) {
        let test = family(seed, kind, 0.01);
        let mut turned = test.clone();
        turned.strips.reverse();
        if let Exposure::Absolute { wedge_density, .. } = &mut turned.exposure {
            wedge_density.reverse();
        }
        for strip in &mut turned.strips {
            strip.density.reverse();
        }
        let (a, b) = (analyse(&test, QUICK).unwrap(), analyse(&turned, QUICK).unwrap());
        for (a, b) in a.strips.iter().zip(b.strips.iter().rev()) {
            prop_assert_eq!(a.time_min, b.time_min);
            prop_assert!((speed_point(a) - speed_point(b)).abs() < 1e-4);
            let (a, b) = (a.log_h_speed_point.unwrap(), b.log_h_speed_point.unwrap());
            prop_assert!((a.lower95 - b.lower95).abs() < 1e-3 && (a.upper95 - b.upper95).abs() < 1e-3);
        }
    }

    /// Whatever numbers come in, an answer or a refusal in four parts comes out, and never a NaN.
    #[test]
    fn hostile_numbers_are_refused_or_answered(
        density in proptest::collection::vec(prop_oneof![
            Just(None),
            any::<f64>().prop_map(Some),
            (-0.5..7.0).prop_map(Some),
            Just(Some(f64::NAN)),
        ], 0..40),
        time in prop_oneof![any::<f64>(), 1.0..30.0],
        sd in proptest::option::of(prop_oneof![any::<f64>(), 0.0..0.1]),
    ) {
        let mut test = family(1, 0, 0.01);
        test.strips[1].density = density;
        test.strips[1].time_min = time;
        test.strips[1].density_sd = sd;
        match analyse(&test, QUICK) {
            Ok(analysis) => prop_assert!(finite(&analysis)),
            Err(e) => prop_assert!(!e.what.is_empty() && !e.given.is_empty() && !e.allowed.is_empty() && !e.remedy.is_empty()),
        }
    }

    /// Readings that merely rise, however wildly, are answered or refused without a NaN.
    #[test]
    fn rising_readings_of_any_shape(rises in proptest::collection::vec(0.0..0.6, 21)) {
        let mut total = 0.05;
        let density = rises.iter().map(|r| { total += r; Some(f64::min(total, 5.9)) }).rev().collect();
        let mut test = family(1, 0, 0.01);
        test.strips.truncate(1);
        test.strips[0].density = density;
        test.strips[0].base_fog = Some(0.05);
        if let Ok(analysis) = analyse(&test, QUICK) {
            prop_assert!(finite(&analysis));
        }
    }

    /// Every speed of the list rounds to itself, and its neighbours within a sixth of a stop too.
    #[test]
    fn standard_speeds_round_to_themselves(third in 0i32..30, off in -0.3_f64..0.3) {
        let exact = 100.0 * 2f64.powf(f64::from(third - 12) / 3.0);
        let rounded = standard_speed(exact * 10f64.powf(off / 10.0)).unwrap();
        prop_assert_eq!(rounded.degrees, 9 + third);
        prop_assert!((rounded.iso / exact).ln().abs() < 0.07);
    }
}

fn finite(analysis: &Analysis) -> bool {
    analysis.strips.iter().all(|s| {
        let numbers = [
            Some(s.base_fog),
            s.log_h_speed_point,
            s.speed,
            s.delta_d_over_1_30,
            s.gamma,
            s.contrast_index,
            Some(s.d_max),
        ];
        numbers
            .into_iter()
            .flatten()
            .chain(s.curve.iter().map(|p| p.y))
            .all(|i| i.value.is_finite() && i.lower95.is_finite() && i.upper95.is_finite())
    })
}

/// Source: [S4], [X3] and the vectors of [S4] computed: 100 is 21°, 125 is 22°, 400 is 27°, 3200 is 36°.
#[test]
fn standard_speeds() {
    for (speed, text) in [
        (100.0, "100/21°"),
        (123.0, "125/22°"),
        (400.0, "400/27°"),
        (3200.0, "3200/36°"),
        (6.2, "6/9°"),
        (0.83, "0.8/0°"),
        (1.6, "1.6/3°"),
        (12_600.0, "12500/42°"),
    ] {
        assert_eq!(standard_speed(speed).unwrap().to_string(), text);
    }
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(standard_speed(wrong), None);
    }
}

/// The same test gives the same bits, whatever ran before.
#[test]
fn the_same_test_gives_the_same_answer() {
    let test = family(5, 3, 0.01);
    let first = analyse(&test, QUICK).unwrap();
    analyse(&family(6, 2, 0.02), QUICK).unwrap();
    assert_eq!(first, analyse(&test, QUICK).unwrap());
}

#[test]
fn named_targets_are_told_apart_and_within_bounds() {
    for (k, t) in NAMED_TARGETS.iter().enumerate() {
        assert!(
            spoolwright_core::bounds::CONTRAST
                .check(t.target.value)
                .is_ok()
        );
        assert!(NAMED_TARGETS[..k].iter().all(|other| other.code != t.code));
    }
}

/// A negative read as reversal, and the other way round, is refused; mirrored densities are mirrored numbers.
#[test]
fn reversal_mirrors_a_negative() {
    let negative = family(3, 0, 0.005);
    let mut reversal = negative.clone();
    reversal.material = Material::Reversal;
    assert!(analyse(&reversal, QUICK).is_err());
    for strip in &mut reversal.strips {
        strip.density.reverse();
    }
    let (a, b) = (
        analyse(&negative, QUICK).unwrap(),
        analyse(&reversal, QUICK).unwrap(),
    );
    assert_eq!(b.speed_kind, SpeedKind::Speed);
    for (a, b) in a.strips.iter().zip(&b.strips) {
        assert!((a.gamma.unwrap().value - b.gamma.unwrap().value).abs() < 1e-3);
        assert!((a.d_max.value - b.d_max.value).abs() < 1e-3);
        assert!(b.contrast_index.is_none() && b.delta_d_over_1_30.is_none());
        assert!(
            b.curve
                .windows(2)
                .all(|w| w[0].x < w[1].x && w[0].y.value >= w[1].y.value - 1e-9)
        );
    }
}
