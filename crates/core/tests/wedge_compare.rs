//! Two wedge tests compared: what is more than noise, what is open, and what is not the film's.

#[path = "wedge_truth/mod.rs"]
mod wedge_truth;

use spoolwright_core::shelf::{StockId, WedgeTestId};
use spoolwright_core::wedge::record::{Way, WedgeTest};
use spoolwright_core::wedge::{
    Analysis, Comparison, Effort, Exposure, FARTHEST, Material, Measure, Strip, Target, Test,
    analyse, compare, developed_otherwise,
};
use wedge_truth::{Dice, Film, Shape, test_of, wedge};

/// The contrast of the ISO triangle ([S2]).
const NORMAL: Target = Target {
    measure: Measure::IsoTriangle,
    value: 0.80 / 1.30,
};

/// The closed-form stock of the fixtures: the triangle is met exactly at 8 min.
fn film(t: f64) -> Film {
    Film {
        base: 0.20,
        gamma: 1.10 * (1.0 - (-0.121_676_41 * t).exp()),
        foot: -2.208_506_12,
        shape: Shape::Toe { k: 5.0 },
    }
}

/// Strips of that stock, as a densitometer reads them.
fn strips(seed: u64, times: &[f64], sd: f64) -> Analysis {
    let mut dice = Dice(seed);
    let strips = times.iter().map(|&t| dice.strip(&film(t), t, sd, true));
    analyse(&test_of(strips.collect()), Effort { rounds: 400 }).unwrap()
}

/// A stock that lost two thirds of a stop and gained 0.08 of fog in store; then the same stock again.
#[test]
fn two_tests_differ_by_more_than_noise_or_not() {
    let test = |dice: &mut Dice, foot: f64, fog: f64| {
        let strips = [6.0, 8.0, 11.0]
            .iter()
            .map(|&t| {
                let mut f = film(t);
                f.foot += foot;
                f.base += fog;
                dice.strip(&f, t, 0.01, true)
            })
            .collect();
        let mut test = test_of(strips);
        test.target = Some(Target {
            measure: Measure::IsoTriangle,
            value: 0.80 / 1.30,
        });
        analyse(&test, Effort { rounds: 400 }).unwrap()
    };
    let mut dice = Dice(11);
    let (fresh, old, again) = (
        test(&mut dice, 0.0, 0.0),
        test(&mut dice, 2f64.log10() * 2.0 / 3.0, 0.08),
        test(&mut dice, 0.0, 0.0),
    );
    let aged = compare(&fresh, &old, NORMAL).unwrap();
    let stops = aged.speed_stops.unwrap();
    assert!(
        stops.more_than_noise && (stops.value + 2.0 / 3.0).abs() < 0.2,
        "{stops:?}"
    );
    let fog = aged.base_fog.unwrap();
    assert!(fog.more_than_noise && (fog.value - 0.08).abs() < 0.02);
    assert!(!aged.time_min.unwrap().more_than_noise);
    assert_eq!(aged.at_times.len(), 3);
    assert!(aged.at_times.iter().all(|t| t.base_fog.more_than_noise));
    let same = compare(&fresh, &again, NORMAL).unwrap();
    assert!(!same.speed_stops.unwrap().more_than_noise && !same.base_fog.unwrap().more_than_noise);
    assert!(
        same.at_times
            .iter()
            .filter(|t| t.contrast.unwrap().more_than_noise)
            .count()
            <= 1
    );
}

/// Strips close together with much noise leave the time for a contrast open to the longer side, and so the difference
/// of two such times; which side that is follows from which test is the second.
#[test]
fn a_time_that_strips_leave_open_leaves_the_difference_open() {
    let sharp = strips(5, &[6.0, 8.0, 11.0], 0.005);
    let mut open = 0;
    for seed in 40..60 {
        let vague = strips(seed, &[7.2, 8.8], 0.04);
        let Ok(at) = vague.at(NORMAL) else { continue };
        let says = |c: &Comparison| c.caveats.iter().any(|c| c.code == "time_open");
        let there = compare(&sharp, &vague, NORMAL).unwrap();
        let back = compare(&vague, &sharp, NORMAL).unwrap();
        let (d, b) = (there.time_min.unwrap(), back.time_min.unwrap());
        assert!((d.value + b.value).abs() < 1e-9 && d.value.is_finite());
        assert!(d.lower95.is_none_or(|x| x <= d.value) && d.upper95.is_none_or(|x| d.value <= x));
        assert_eq!(d.upper95.is_none(), b.lower95.is_none());
        if at.time_min.upper95 >= 8.8 * 2.0 * FARTHEST {
            open += 1;
            assert!(d.upper95.is_none() && says(&there) && says(&back), "{d:?}");
        }
        if !says(&there) {
            assert!(d.lower95.is_some() && d.upper95.is_some());
        }
    }
    assert!(open >= 5, "only {open} open times");
}

#[test]
fn tests_of_other_times_are_not_compared_at_one() {
    let of = |times: &[f64]| strips(3, times, 0.005);
    let apart = compare(&of(&[4.0, 5.0]), &of(&[8.0, 11.0]), NORMAL).unwrap();
    assert!(apart.at_times.is_empty());
    let said = |code: &str| apart.caveats.iter().find(|c| c.code == code).unwrap();
    let text = &said("no_common_time").text;
    assert_eq!(
        text,
        "The developing times of the two tests do not overlap."
    );
    // Strips of the one lie between those of the other.
    let within = compare(&of(&[4.0, 11.0]), &of(&[6.0, 8.0]), NORMAL).unwrap();
    let times: Vec<f64> = within.at_times.iter().map(|t| t.time_min).collect();
    assert_eq!(times, [6.0, 8.0]);
}

#[test]
fn what_was_developed_otherwise_is_named() {
    let noted = WedgeTest {
        id: WedgeTestId(1),
        name: "one".into(),
        stock: StockId(1),
        can: None,
        way: Way::Relative,
        steps: wedge(),
        log_h_at_zero_density: None,
        meter_ei: None,
        developer: "house brew".into(),
        dilution: "1+9".into(),
        temperature_c: Some(20.0),
        agitation: "10 s a minute".into(),
        planned_min: vec![6.0, 9.0],
        ticket: None,
        begun_on: "2026-01-01".into(),
        note: String::new(),
        closed: false,
    };
    let told = |second: &WedgeTest| -> Vec<(&'static str, String)> {
        let caveats = developed_otherwise(&noted, second);
        caveats.into_iter().map(|c| (c.code, c.text)).collect()
    };
    let same = WedgeTest {
        developer: " House Brew".into(),
        temperature_c: Some(20.000_001),
        ..noted.clone()
    };
    assert!(told(&same).is_empty());
    let other = WedgeTest {
        developer: "fine brew".into(),
        dilution: String::new(),
        temperature_c: Some(24.0),
        ..noted.clone()
    };
    let told = told(&other);
    let codes: Vec<&str> = told.iter().map(|t| t.0).collect();
    assert_eq!(codes, ["developed_otherwise", "development_not_noted"]);
    assert!(
        told[0].1.contains("developer, temperature."),
        "{}",
        told[0].1
    );
    assert!(told[1].1.contains("dilution."), "{}", told[1].1);
}

/// One film shot in a camera with the meter at one EI, three developing times, as a densitometer reads it.
fn metered(dice: &mut Dice, meter_ei: Option<f64>, exposed_for: f64) -> Analysis {
    let stops: Vec<f64> = (-12..=8).map(|k| 0.5 * f64::from(k)).collect();
    let sd = 0.005;
    let strips = [6.0, 8.0, 11.0]
        .map(|t| {
            let mut film = film(t);
            // A frame at the reading of a meter set to S gets 8/S lux-seconds ([S8]).
            film.foot -= (8.0 / exposed_for).log10();
            let density = stops
                .iter()
                .map(|s| Some(film.density(s * 2f64.log10()) + sd * dice.normal()))
                .collect();
            Strip {
                time_min: t,
                density,
                density_sd: Some(sd),
                base_fog: Some(0.20 + sd * dice.normal()),
            }
        })
        .to_vec();
    let test = Test {
        exposure: Exposure::InCamera {
            meter_offset_stops: stops,
            meter_ei,
        },
        strips,
        base_fog: None,
        material: Material::Negative,
        target: Some(Target {
            measure: Measure::IsoTriangle,
            value: 0.80 / 1.30,
        }),
    };
    analyse(&test, Effort { rounds: 400 }).unwrap()
}

/// The same film with the meter at 100 and at 200 has one EI: the comparison is of the EIs, not of the stops.
#[test]
fn a_meter_set_otherwise_is_no_change_of_speed() {
    let mut dice = Dice(23);
    let at_100 = metered(&mut dice, Some(100.0), 100.0);
    let at_200 = metered(&mut dice, Some(200.0), 200.0);
    let stops_of = |a: &Analysis| a.at_target.as_ref().unwrap().ei_stops.unwrap().value;
    let apart = stops_of(&at_200) - stops_of(&at_100);
    assert!((apart + 1.0).abs() < 0.15, "{apart}");
    let ei_of = |a: &Analysis| a.at_target.as_ref().unwrap().ei.unwrap().value;
    let same = compare(&at_100, &at_200, NORMAL).unwrap();
    let speed = same.speed_stops.unwrap();
    let of_eis = (ei_of(&at_200) / ei_of(&at_100)).log2();
    assert!((speed.value - of_eis).abs() < 1e-9, "{speed:?}");
    assert!(!speed.more_than_noise, "{speed:?}");
    assert!(speed.lower95.unwrap() <= 0.0 && 0.0 <= speed.upper95.unwrap());
    assert!(speed.value.abs() < 0.15, "{speed:?}");
    assert_eq!(same.at_times.len(), 3);
    for at in &same.at_times {
        let d = at.speed_stops.unwrap();
        assert!(
            d.value.abs() < 0.2 && d.lower95.unwrap() <= 0.0 && 0.0 <= d.upper95.unwrap(),
            "{at:?}"
        );
    }
    assert!(same.caveats.is_empty(), "{:?}", same.caveats);
    // A film that really is a stop faster, both at 100.
    let faster = metered(&mut dice, Some(100.0), 50.0);
    let gained = compare(&at_100, &faster, NORMAL)
        .unwrap()
        .speed_stops
        .unwrap();
    assert!(gained.more_than_noise && (gained.value - 1.0).abs() < 0.15);
}

#[test]
fn a_meter_of_unknown_setting_is_said_so() {
    let mut dice = Dice(29);
    let known = metered(&mut dice, Some(100.0), 100.0);
    let unknown = metered(&mut dice, None, 100.0);
    let again = metered(&mut dice, None, 100.0);
    let says = |c: &Comparison, code| c.caveats.iter().any(|c| c.code == code);
    let neither = compare(&unknown, &again, NORMAL).unwrap();
    assert!(neither.speed_stops.unwrap().value.abs() < 0.15);
    assert!(neither.at_times.iter().all(|t| t.speed_stops.is_some()));
    assert!(says(&neither, "same_meter_assumed"));
    for one in [
        compare(&known, &unknown, NORMAL),
        compare(&unknown, &known, NORMAL),
    ] {
        let one = one.unwrap();
        assert!(one.speed_stops.is_none() && one.base_fog.is_some());
        assert_eq!(one.at_times.len(), 3);
        assert!(one.at_times.iter().all(|t| t.speed_stops.is_none()));
        assert!(says(&one, "meter_not_known"), "{:?}", one.caveats);
    }
}
