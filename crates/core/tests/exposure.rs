//! Third-stop scales and pairs of marks: published figures, closed forms, laws, refusals.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::exposure::pairs::{
    EV_SPEED, Limits, SUNNY_F, ev_for, like, pairs, sunny_16_s,
};
use spoolwright_core::exposure::scale::{
    aperture_value, apertures, counted_ev, nearest_aperture, nearest_shutter, shutter_name,
    shutters, speed_step, time_value,
};
use spoolwright_core::wet::exposure::{DEFAULT_METER_K, ev, metered_ev, speed_value};

/// Every mark is its exact value rounded: never more than a sixth of a stop away, so each is its own nearest mark.
/// Common practice, no source; the widest rounding is 6 s for 6.35 s.
#[test]
fn marks_are_rounded_thirds() {
    let (lens, shutter): (Vec<_>, Vec<_>) = (apertures().collect(), shutters().collect());
    assert_eq!((lens.len(), shutter.len()), (37, 55));
    for m in lens {
        assert!((aperture_value(m.nominal).unwrap() - f64::from(m.thirds) / 3.0).abs() < 1.0 / 6.0);
        assert!((aperture_value(m.exact).unwrap() - f64::from(m.thirds) / 3.0).abs() < 1e-12);
        assert_eq!(nearest_aperture(m.nominal).unwrap(), Some(m));
    }
    for m in shutter {
        assert!((time_value(m.nominal).unwrap() - f64::from(m.thirds) / 3.0).abs() < 1.0 / 6.0);
        assert!((time_value(m.exact).unwrap() - f64::from(m.thirds) / 3.0).abs() < 1e-12);
        assert_eq!(nearest_shutter(m.nominal).unwrap(), Some(m));
    }
    assert_eq!(nearest_aperture(0.7).unwrap(), None);
    assert_eq!(nearest_shutter(60.0).unwrap(), None);
}

#[test]
fn shutter_marks_read_as_they_are_engraved() {
    let name = |t: f64| shutter_name(nearest_shutter(t).unwrap().unwrap());
    for (time, told) in [
        (30.0, "30 s"),
        (1.0, "1 s"),
        (0.3, "0.3 s"),
        (0.25, "1/4 s"),
        (1.0 / 128.0, "1/125 s"),
        (1.0 / 8000.0, "1/8000 s"),
    ] {
        assert_eq!(name(time), told);
    }
}

/// Source: [X2], nominal values; by the exact numbers f/16 at 1/125 s is 14.966 and f/8 at 1/60 s 11.907.
#[test]
fn exposure_values_by_the_marks() {
    for (f, t, by_marks, exact) in [
        (16.0, 1.0 / 125.0, 15.0, 14.966),
        (8.0, 1.0 / 60.0, 12.0, 11.907),
        (8.0, 1.0 / 500.0, 15.0, 14.966),
        (2.8, 1.0 / 30.0, 8.0, 7.878),
        (1.4, 1.0 / 60.0, 7.0, 6.878),
    ] {
        assert!((counted_ev(f, t).unwrap() - by_marks).abs() < 1e-12);
        assert!((ev(f, t).unwrap() - exact).abs() < 0.0005);
    }
    // What is no mark counts as it is.
    assert!((counted_ev(5.9, 0.01234).unwrap() - ev(5.9, 0.01234).unwrap()).abs() < 1e-12);
}

/// Source: [X3], the standard speeds, three a doubling, with the places where doubling and list part.
#[test]
fn speeds_step_along_the_list() {
    const LIST: [f64; 31] = [
        6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 64.0, 80.0, 100.0, 125.0, 160.0,
        200.0, 250.0, 320.0, 400.0, 500.0, 640.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0,
        3200.0, 4000.0, 5000.0, 6400.0,
    ];
    for (i, from) in LIST.iter().enumerate() {
        for (j, to) in LIST.iter().enumerate() {
            let thirds = j as i32 - i as i32;
            assert_eq!(speed_step(*from, thirds).unwrap().iso, *to);
        }
    }
    let stops = |from: f64| speed_step(from, 3).unwrap().iso;
    assert_eq!(
        [320.0, 640.0, 16.0, 32.0, 64.0].map(stops),
        [640.0, 1250.0, 32.0, 64.0, 125.0]
    );
    assert_eq!(speed_step(100.0, 400).unwrap_err().kind, Kind::OutOfRange);
    assert_eq!(speed_step(f64::NAN, 1).unwrap_err().kind, Kind::OutOfRange);
}

/// Closed form: at EV 15 the whole stops are f/1 1/32000 (beyond the scale) … f/16 1/125, f/64 1/8.
#[test]
fn pairs_of_full_sun() {
    let whole = Limits {
        step_thirds: 3,
        ..Limits::default()
    };
    let found: Vec<(f64, String)> = like(16.0, 1.0 / 125.0, &whole)
        .unwrap()
        .iter()
        .map(|p| (p.aperture.nominal, shutter_name(p.shutter)))
        .collect();
    let told: Vec<(f64, &str)> = found.iter().map(|(f, t)| (*f, t.as_str())).collect();
    assert_eq!(
        told,
        [
            (2.0, "1/8000 s"),
            (2.8, "1/4000 s"),
            (4.0, "1/2000 s"),
            (5.6, "1/1000 s"),
            (8.0, "1/500 s"),
            (11.0, "1/250 s"),
            (16.0, "1/125 s"),
            (22.0, "1/60 s"),
            (32.0, "1/30 s"),
            (45.0, "1/15 s"),
            (64.0, "1/8 s"),
        ]
    );
}

#[test]
fn a_camera_limits_its_pairs() {
    let camera = Limits {
        widest: 2.8,
        narrowest: 16.0,
        longest_s: 1.0,
        shortest_s: 1.0 / 1000.0,
        step_thirds: 1,
    };
    let found = pairs(15.0, &camera).unwrap();
    assert_eq!(found.first().map(|p| p.aperture.nominal), Some(5.6));
    assert_eq!(found.last().map(|p| p.aperture.nominal), Some(16.0));
    assert_eq!(found.len(), 10);
    assert!(pairs(25.0, &camera).unwrap().is_empty());
    for wrong in [
        Limits {
            widest: 22.0,
            ..camera
        },
        Limits {
            longest_s: 0.0001,
            ..camera
        },
    ] {
        assert_eq!(pairs(15.0, &wrong).unwrap_err().kind, Kind::Inconsistent);
    }
    assert!(pairs(f64::NAN, &camera).is_err());
}

/// Source: [X4] with [X1]: at ISO 125 the rule is f/16 1/125, EV 14.97; stated for 100 it is 14.64 (from memory).
/// [X5], [X6]: 4096 cd/m² at 100 are EV 15, and twice the speed is one more.
#[test]
fn speeds_and_light() {
    let at = |speed: f64| ev(SUNNY_F, sunny_16_s(speed).unwrap()).unwrap();
    assert!((at(125.0) - 14.97).abs() < 0.005);
    assert!((at(100.0) - 14.64).abs() < 0.005);
    assert!((ev_for(at(400.0), 400.0, EV_SPEED).unwrap() - 14.64).abs() < 0.005);
    let metered = metered_ev(4096.0, 100.0, DEFAULT_METER_K).unwrap();
    assert!((ev_for(metered, 100.0, 200.0).unwrap() - 16.0).abs() < 1e-12);
    let apex = aperture_value(8.0).unwrap() + time_value(1.0 / 64.0).unwrap();
    assert!((apex - 12.0).abs() < 1e-12 && (speed_value(100.0).unwrap() - 5.0).abs() < 1e-12);
}

proptest! {
    /// All pairs have the same exact exposure, a third stop or less from the one wanted, and lie within the limits.
    #[test]
    fn pairs_expose_alike(wanted in -5.0..20.0f64, step in 1u32..4) {
        let limits = Limits { step_thirds: step, ..Limits::default() };
        for p in pairs(wanted, &limits).unwrap() {
            let exact = ev(p.aperture.exact, p.shutter.exact).unwrap();
            prop_assert!((exact - wanted).abs() <= 1.0 / 6.0 + 1e-9);
            prop_assert!((p.off_stops - (ev(p.aperture.nominal, p.shutter.nominal).unwrap() - wanted)).abs() < 1e-12);
            // Rounding of two marks and of the value to a third.
            prop_assert!(p.off_stops.abs() < 0.5);
        }
    }

    /// Up and down again is where one began, on the list.
    #[test]
    fn steps_come_back(speed in 6.0..6400.0f64, thirds in -20i32..20) {
        let there = speed_step(speed, thirds).unwrap();
        let back = speed_step(there.iso, -thirds).unwrap();
        prop_assert_eq!(back.iso, speed_step(speed, 0).unwrap().iso);
        prop_assert_eq!(there.degrees - back.degrees, thirds);
    }
}
