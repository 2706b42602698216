//! Development in a drifting bath: numerical quadrature, the steady bath, laws, refusals.

use proptest::prelude::*;
use serde_json::Value;
use spoolwright_core::Kind;
use spoolwright_core::wedge::Interval;
use spoolwright_core::wet::drift::{Drift, MAX_READINGS, Reading};
use spoolwright_core::wet::temperature::{Base, Coefficient, SHORT_MIN, SOUND_C, time_at};

fn exact(q10: f64) -> Coefficient {
    Coefficient::given(q10, 0.0).unwrap()
}

fn readings(rows: &[(f64, f64)]) -> Vec<Reading> {
    rows.iter().map(|&(t_s, c)| Reading { t_s, c }).collect()
}

fn ten_at_20(rows: &[(f64, f64)]) -> Drift {
    let base = Base::new(10.0, 20.0).unwrap();
    Drift::new(base, exact(2.5), &readings(rows)).unwrap()
}

fn codes(bath: &Drift) -> Vec<&str> {
    bath.caveats().iter().map(|c| c.code).collect::<Vec<_>>()
}

/// Source: scipy's `quad` and `brentq` on 240 random tracks, flat, nearly flat and steep ones among them,
/// `tests/reference/wet/drift.json`; tolerance 1e-6 of the value.
#[test]
fn development_done_agrees_with_quadrature() {
    let text = include_str!("../../../tests/reference/wet/drift.json");
    let file: Value = serde_json::from_str(text).unwrap();
    let tracks = file["tracks"].as_array().unwrap();
    assert!(tracks.len() >= 200);
    let mut worst = 0.0f64;
    for track in tracks {
        let number = |f: &str| track[f].as_f64().unwrap();
        let list = |f: &str| serde_json::from_value::<Vec<(f64, f64)>>(track[f].clone()).unwrap();
        let bath = Drift::new(
            Base::new(number("time_min"), number("at_c")).unwrap(),
            exact(number("q10")),
            &readings(&list("readings")),
        )
        .unwrap();
        for (moment, done) in list("done") {
            worst = worst.max((bath.done_s(moment) / done - 1.0).abs());
        }
        worst = worst.max((bath.stop_at_s() / number("stop_at_s") - 1.0).abs());
    }
    assert!(worst < 1e-6, "{worst}");
}

/// One reading: the bath is steady, and the stop is the time of the steady sum with the same margin.
#[test]
fn a_steady_bath_is_the_steady_sum() {
    let base = Base::new(10.0, 20.0).unwrap();
    let coefficient = Coefficient::given(2.6, 0.2).unwrap();
    for c in [16.0, 20.0, 24.0, 38.0] {
        let time = time_at(base, c, &coefficient, 0.5).unwrap().time_min;
        let bath = Drift::new(base, coefficient, &readings(&[(0.0, c)])).unwrap();
        let bath = bath.with_thermometer_sd(0.5).unwrap();
        assert!((bath.stop_at_s() / 60.0 - time.value).abs() < 1e-12 * time.value);
        // The steady sum combines on logarithms, the margin in seconds.
        let margin = bath.margin();
        assert!(
            (margin.earliest_s / 60.0 / time.lower95 - 1.0).abs() < 0.02,
            "{c}"
        );
        assert!(
            (margin.latest_s / 60.0 / time.upper95 - 1.0).abs() < 0.02,
            "{c}"
        );
        assert_eq!(margin.trend_s, 0.0);
    }
}

/// Ends by hand: held before the first reading and after the last, straight between.
#[test]
fn ends_are_held() {
    let bath = ten_at_20(&[(60.0, 22.0), (120.0, 21.0)]);
    for (t, c) in [
        (-5.0, 22.0),
        (0.0, 22.0),
        (60.0, 22.0),
        (90.0, 21.5),
        (120.0, 21.0),
        (9e4, 21.0),
    ] {
        assert!((bath.temperature_c(t) - c).abs() < 1e-12, "{t}");
    }
    assert!((bath.done_s(60.0) - 60.0 * 2.5f64.powf(0.2)).abs() < 1e-9);
    assert_eq!((bath.done_s(0.0), bath.done_s(-60.0)), (0.0, 0.0));
    // A reading taken in the jug, before the start, counts on the way to the next.
    let early = ten_at_20(&[(-60.0, 24.0), (60.0, 20.0)]);
    assert!((early.temperature_c(0.0) - 22.0).abs() < 1e-12);
    let only_early = ten_at_20(&[(-60.0, 24.0), (-30.0, 23.0)]);
    assert!((only_early.temperature_c(0.0) - 23.0).abs() < 1e-12);
}

/// By hand: a degree over 300 s, carried on from 300 s, makes a cooling bath take longer; less than a minute tells no
/// trend.
#[test]
fn a_trend_is_told_from_a_minute_on() {
    let cooling = ten_at_20(&[(0.0, 22.0), (300.0, 21.0)]);
    let trend = cooling.margin().trend_s;
    assert!(trend > 0.0);
    // As if the readings had gone on: 3 °C over 900 s more, then steady.
    let went_on = ten_at_20(&[(0.0, 22.0), (300.0, 21.0), (1200.0, 18.0)]);
    assert!((cooling.stop_at_s() + trend - went_on.stop_at_s()).abs() < 1e-9);
    assert!(cooling.margin().latest_s - cooling.stop_at_s() >= trend);
    assert_eq!(
        ten_at_20(&[(0.0, 22.0), (59.0, 21.0)]).margin().trend_s,
        0.0
    );
    assert!(ten_at_20(&[(0.0, 22.0), (60.0, 23.0)]).margin().trend_s < 0.0);
    // The latest reading a minute before the last one counts, not the first.
    let turned = ten_at_20(&[(0.0, 24.0), (100.0, 20.0), (200.0, 21.0)]);
    assert!(turned.margin().trend_s < 0.0);
    // Readings beyond the stop leave no trend to carry on.
    assert_eq!(
        ten_at_20(&[(0.0, 20.0), (900.0, 25.0)]).margin().trend_s,
        0.0
    );
}

/// Each part of the margin by hand, for a bath at its base temperature: an offset of 1.96 · 0.3 °C scales the time.
#[test]
fn margins_by_hand() {
    let bath = ten_at_20(&[(0.0, 20.0)]);
    let offset = 2.5f64.powf(1.959_963_985 * 0.03);
    let margin = bath.margin();
    assert!((margin.thermometer_s - 600.0 * (offset - 1.0)).abs() < 1e-5);
    assert_eq!((margin.q10_s, margin.base_s), (0.0, 0.0));
    assert!((margin.latest_s - 600.0 - margin.thermometer_s).abs() < 1e-9);
    assert!((bath.margin_s() - margin.thermometer_s).abs() < 1e-9);
    let pushed = Base::new(10.0, 20.0)
        .unwrap()
        .times(Interval {
            value: 1.4,
            lower95: 1.3,
            upper95: 1.5,
        })
        .unwrap();
    let bath = Drift::new(pushed, exact(2.5), &readings(&[(0.0, 20.0)])).unwrap();
    let margin = bath.with_thermometer_sd(0.0).unwrap().margin();
    assert!((margin.earliest_s - 780.0).abs() < 1e-9 && (margin.latest_s - 900.0).abs() < 1e-9);
}

#[test]
fn caveats_name_what_limits_a_stop() {
    let base = Base::new(10.0, 20.0).unwrap();
    for (rows, wanted) in [
        (vec![(0.0, 20.0)], vec!["held", "no_trend"]),
        (vec![(0.0, 20.0), (700.0, 20.5)], vec![]),
        (vec![(30.0, 20.0), (700.0, 20.5)], vec!["held"]),
        (
            vec![(0.0, SOUND_C.1), (300.0, SOUND_C.1 + 1.0)],
            vec!["outside_range", "held"],
        ),
        // What lies beyond the stop does not count.
        (vec![(0.0, 20.0), (900.0, 20.0), (2000.0, 30.0)], vec![]),
    ] {
        let known = Coefficient::given(2.5, 0.1).unwrap();
        let bath = Drift::new(base, known, &readings(&rows)).unwrap();
        assert_eq!(codes(&bath), wanted, "{rows:?}");
    }
    // By the developer's own coefficient a base just below the least time is short, one above it is not.
    for (minutes, short) in [(SHORT_MIN - 0.1, true), (SHORT_MIN + 0.1, false)] {
        let base = Base::new(minutes, 20.0).unwrap();
        let bath = Drift::new(base, exact(2.5), &readings(&[(0.0, 20.0)])).unwrap();
        assert_eq!(codes(&bath).contains(&"short_time"), short, "{minutes}");
    }
    assert!(codes(&ten_at_20(&[(0.0, 21.0)])).contains(&"q10_exact"));
    let bath = Drift::new(base, Coefficient::default(), &readings(&[(0.0, 21.0)])).unwrap();
    assert!(codes(&bath).contains(&"q10_default"));
}

#[test]
fn bad_readings_are_refused() {
    let base = Base::new(10.0, 20.0).unwrap();
    let many: Vec<_> = (0..=MAX_READINGS).map(|i| (i as f64, 20.0)).collect();
    for (rows, kind) in [
        (vec![], Kind::Missing),
        (many, Kind::TooLarge),
        (vec![(0.0, 20.0), (0.0, 21.0)], Kind::Inconsistent),
        (vec![(60.0, 20.0), (0.0, 21.0)], Kind::Inconsistent),
        (vec![(f64::NAN, 20.0)], Kind::OutOfRange),
        (vec![(0.0, f64::NAN)], Kind::OutOfRange),
        (vec![(0.0, 120.0)], Kind::OutOfRange),
        (vec![(-1e9, 20.0)], Kind::OutOfRange),
    ] {
        let refused = Drift::new(base, exact(2.5), &readings(&rows)).unwrap_err();
        assert_eq!(refused.kind, kind);
    }
    let bath = ten_at_20(&[(0.0, 20.0)]);
    assert!(bath.with_thermometer_sd(f64::NAN).is_err());
}

prop_compose! {
    fn track()(start in -300.0..200.0f64, steps in prop::collection::vec((0.5..400.0f64, 5.0..50.0f64), 1..10)) -> Vec<(f64, f64)> {
        let mut t = start;
        steps.into_iter().map(|(dt, c)| { t += dt; (t, c) }).collect()
    }
}

proptest! {
    /// At the stop the base time is done; development never falls; the margin holds the stop.
    #[test]
    fn the_stop_is_where_the_base_time_is_done(rows in track(), min in 0.5..60.0f64, q10 in 1.5..4.0f64, sd in 0.0..0.4f64) {
        let base = Base::new(min, 20.0).unwrap();
        let bath = Drift::new(base, Coefficient::given(q10, sd).unwrap(), &readings(&rows)).unwrap();
        let stop = bath.stop_at_s();
        prop_assert!((bath.done_s(stop) / (60.0 * min) - 1.0).abs() < 1e-9);
        prop_assert!((bath.equivalent_min(stop) / min - 1.0).abs() < 1e-9);
        let moments: Vec<f64> = (0..=40).map(|i| stop * f64::from(i) / 20.0).collect();
        prop_assert!(moments.windows(2).all(|w| bath.done_s(w[0]) < bath.done_s(w[1])));
        let margin = bath.margin();
        prop_assert!(0.0 <= margin.earliest_s && margin.earliest_s <= stop && stop <= margin.latest_s && margin.latest_s.is_finite());
    }

    /// A reading that says what was already taken to be so changes nothing.
    #[test]
    fn a_reading_on_the_line_changes_nothing(rows in track(), at in 0.01..0.99f64) {
        let plain = ten_at_20(&rows);
        let new = plain.stop_at_s() * at;
        prop_assume!(rows.iter().all(|r| (r.0 - new).abs() > 1e-3));
        let mut more = rows.clone();
        more.push((new, plain.temperature_c(new)));
        more.sort_by(|a, b| a.0.total_cmp(&b.0));
        prop_assert!((ten_at_20(&more).stop_at_s() / plain.stop_at_s() - 1.0).abs() < 1e-9);
    }

    /// A warmer bath is done earlier.
    #[test]
    fn a_warmer_bath_stops_earlier(rows in track(), by in 0.1..5.0f64) {
        let warmer: Vec<_> = rows.iter().map(|r| (r.0, r.1 + by)).collect();
        prop_assert!(ten_at_20(&warmer).stop_at_s() < ten_at_20(&rows).stop_at_s());
    }
}
