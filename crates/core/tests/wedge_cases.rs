//! The wedge bench case by case: what is refused and how, in camera, relative, colour, comparing, extrapolating.
//! The film is that of [S24].

#[path = "wedge_truth/mod.rs"]
mod wedge_truth;

use spoolwright_core::Kind;
use spoolwright_core::wedge::{
    Analysis, ColourTest, Comparison, Effort, Exposure, FARTHEST, Material, Measure, Smooth,
    SpeedKind, Strip, Target, Test, TimeLaw, analyse, analyse_colour, compare,
};
use wedge_truth::{Dice, Film, Shape, ZERO, test_of, wedge};

const EFFORT: Effort = Effort { rounds: 200 };
/// The contrast of the ISO triangle ([S2]).
const NORMAL: Target = Target {
    measure: Measure::IsoTriangle,
    value: 0.80 / 1.30,
};

fn film(t: f64) -> Film {
    Film {
        base: 0.20,
        gamma: 1.10 * (1.0 - (-0.121_676_41 * t).exp()),
        foot: -2.208_506_12,
        shape: Shape::Toe { k: 5.0 },
    }
}

fn exact(film: &Film, t: f64) -> Strip {
    let density = wedge()
        .iter()
        .map(|d| Some(film.density(ZERO - d)))
        .collect();
    Strip {
        time_min: t,
        density,
        density_sd: Some(0.01),
        base_fog: None,
    }
}

fn of_times(times: &[f64]) -> Test {
    let mut test = test_of(times.iter().map(|&t| exact(&film(t), t)).collect());
    test.target = Some(Target {
        measure: Measure::IsoTriangle,
        value: 0.80 / 1.30,
    });
    test
}

/// The refusal of a test, checked for its kind and words.
fn refused(test: &Test, kind: Kind, words: &str) {
    let e = analyse(test, EFFORT).expect_err(words);
    assert_eq!(e.kind, kind, "{e}");
    assert!(e.to_string().contains(words), "{e} does not say {words:?}");
}

#[test]
fn bad_input_is_refused_with_its_reason() {
    let good = of_times(&[6.0, 10.0]);
    let change = |f: &dyn Fn(&mut Test)| {
        let mut test = good.clone();
        f(&mut test);
        test
    };
    refused(
        &change(&|t| t.strips.clear()),
        Kind::Missing,
        "at least one developed strip",
    );
    refused(
        &change(&|t| t.strips[1].time_min = 6.0),
        Kind::Inconsistent,
        "same time as strip 1",
    );
    refused(
        &change(&|t| t.strips[1].time_min = 0.0),
        Kind::OutOfRange,
        "strips[1].time_min",
    );
    refused(
        &change(&|t| t.strips[1].time_min = f64::NAN),
        Kind::OutOfRange,
        "strips[1].time_min",
    );
    refused(
        &change(&|t| t.strips[0].density[3] = Some(f64::NAN)),
        Kind::OutOfRange,
        "strips[0].density[3]",
    );
    refused(
        &change(&|t| t.strips[0].density[3] = Some(1e300)),
        Kind::OutOfRange,
        "strips[0].density[3]",
    );
    refused(
        &change(&|t| t.strips[0].density_sd = Some(-1.0)),
        Kind::OutOfRange,
        "density_sd",
    );
    refused(
        &change(&|t| t.base_fog = Some(9.0)),
        Kind::OutOfRange,
        "base_fog",
    );
    refused(
        &change(&|t| t.base_fog = Some(0.9)),
        Kind::Inconsistent,
        "denser than a step",
    );
    refused(
        &change(&|t| t.strips[0].density.truncate(20)),
        Kind::Inconsistent,
        "21 densities, one a step",
    );
    refused(
        &change(&|t| t.strips[0].density[4..].fill(None)),
        Kind::Missing,
        "too few usable steps",
    );
    refused(
        &change(&|t| t.strips[0].density.fill(None)),
        Kind::Missing,
        "too few usable steps",
    );
    refused(
        &change(&|t| t.strips[0].density.reverse()),
        Kind::Inconsistent,
        "falls with exposure",
    );
    refused(
        &change(&|t| t.strips[0].density[5] = Some(0.2)),
        Kind::Inconsistent,
        "at step 6 after",
    );
    refused(
        &change(&|t| t.strips[0].density.fill(Some(0.5))),
        Kind::Impossible,
        "hardly any image",
    );
    refused(
        &change(&|t| {
            for strip in &mut t.strips {
                strip.density[14..].fill(None);
            }
        }),
        Kind::Missing,
        "no unexposed patch",
    );
    refused(
        &change(&|t| t.strips = (1..=25).map(|k| exact(&film(8.0), f64::from(k))).collect()),
        Kind::TooLarge,
        "25 strips",
    );
    refused(
        &change(&|t| {
            t.target = Some(Target {
                measure: Measure::Gamma,
                value: 40.0,
            })
        }),
        Kind::OutOfRange,
        "target.value",
    );
    let disorder = |w: Vec<f64>| {
        change(&move |t| {
            t.exposure = Exposure::Relative {
                wedge_density: w.clone(),
            };
        })
    };
    let mut wrong = wedge();
    wrong.swap(3, 4);
    refused(&disorder(wrong), Kind::Inconsistent, "not in order");
    refused(&disorder(vec![0.5; 21]), Kind::Inconsistent, "not in order");
    let many: Vec<f64> = (0..200).map(|k| 0.01 * f64::from(k)).collect();
    refused(&disorder(many), Kind::TooLarge, "200 steps");
    let mut backwards = wedge();
    backwards.reverse();
    refused(
        &disorder(backwards),
        Kind::Inconsistent,
        "wedge given in the wrong order",
    );
    let e = analyse(&good, Effort { rounds: 3 }).unwrap_err();
    assert_eq!(e.kind, Kind::OutOfRange);
}

/// A base + fog reading stands in for a foot that the steps do not show.
#[test]
fn an_unexposed_patch_helps_a_strip_without_a_foot() {
    let mut test = of_times(&[8.0]);
    test.strips[0].density[17..].fill(None);
    assert!(analyse(&test, EFFORT).is_err());
    test.strips[0].base_fog = Some(0.20);
    let strip = analyse(&test, EFFORT).unwrap().strips.remove(0);
    assert!((strip.log_h_speed_point.unwrap().value + 2.1938).abs() < 0.02);
}

/// Zone I at four stops under the meter gives 0.10 (common practice, no source): a film that gives it there has the EI
/// that the meter was set to; one that gives it a stop lower has twice that.
#[test]
fn in_camera_the_result_is_an_ei() {
    let stops: Vec<f64> = (-8..=5).map(f64::from).collect();
    for (shift, ei, text) in [
        (0.0, 100.0, "100/21°"),
        (1.0, 200.0, "200/24°"),
        (-2.0, 25.0, "25/15°"),
    ] {
        let mut film = film(8.0);
        // The foot such that 0.10 falls at −4 − shift stops.
        film.foot += (-4.0 - shift) * 2f64.log10() - film.speed_point();
        let density = stops
            .iter()
            .map(|s| Some(film.density(s * 2f64.log10())))
            .collect();
        let test = Test {
            exposure: Exposure::InCamera {
                meter_offset_stops: stops.clone(),
                meter_ei: Some(100.0),
            },
            strips: vec![Strip {
                time_min: 8.0,
                density,
                density_sd: Some(0.01),
                base_fog: Some(0.20),
            }],
            base_fog: None,
            material: Material::Negative,
            target: None,
        };
        let analysis = analyse(&test, EFFORT).unwrap();
        let strip = &analysis.strips[0];
        assert_eq!(analysis.speed_kind, SpeedKind::ExposureIndex);
        assert!(strip.speed.is_none(), "no ISO speed in camera");
        assert!(
            (strip.ei_stops.unwrap().value - shift).abs() < 0.05,
            "{:?}",
            strip.ei_stops
        );
        assert!((strip.ei.unwrap().value / ei).ln().abs() < 0.04);
        assert_eq!(strip.ei_rounded.unwrap().to_string(), text);
        assert!(analysis.caveats.iter().any(|c| c.code == "ei_not_iso"));
    }
}

#[test]
fn a_relative_exposure_names_no_speed() {
    let mut test = of_times(&[6.0, 10.0]);
    test.exposure = Exposure::Relative {
        wedge_density: wedge(),
    };
    let analysis = analyse(&test, EFFORT).unwrap();
    assert_eq!(analysis.speed_kind, SpeedKind::Relative);
    assert!(
        analysis
            .strips
            .iter()
            .all(|s| s.speed.is_none() && s.ei.is_none())
    );
    let at = analysis.at_target.unwrap();
    assert!(at.speed.is_none() && (at.time_min.value - 8.0).abs() < 0.1);
}

#[test]
fn laws_follow_the_number_of_strips() {
    let law = |times: &[f64]| {
        analyse(&of_times(times), EFFORT)
            .unwrap()
            .time_contrast
            .map(|t| t.law)
    };
    assert_eq!(law(&[8.0]), None);
    assert_eq!(law(&[6.0, 10.0]), Some(TimeLaw::LogTime));
    assert_eq!(law(&[5.0, 8.0, 12.0]), Some(TimeLaw::Growth));
}

#[test]
fn extrapolation_is_flagged_and_then_refused() {
    let analysis = analyse(&of_times(&[5.0, 6.0, 7.0]), EFFORT).unwrap();
    let at = analysis.at_target.as_ref().unwrap();
    assert!((at.time_min.value - 8.0).abs() < 0.3, "{:?}", at.time_min);
    assert!((at.extrapolated.unwrap() - at.time_min.value / 7.0).abs() < 1e-9);
    assert!(at.caveats.iter().any(|c| c.code == "extrapolated"));
    let far = Target {
        measure: Measure::IsoTriangle,
        value: 0.80,
    };
    let e = analysis.at(far).unwrap_err();
    assert_eq!(e.kind, Kind::Impossible);
    assert!(
        e.to_string()
            .contains(&format!("{:.1} min", 7.0 * FARTHEST)),
        "{e}"
    );
    let within = Target {
        measure: Measure::ContrastIndex,
        value: 0.5327,
    };
    // 6 min gives a contrast index of 0.5327 by the closed form.
    let at = analysis.at(within).unwrap();
    assert!(at.extrapolated.is_none() && (at.time_min.value - 6.0).abs() < 0.05);
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
        stops.more_than_noise && (stops.difference.value + 2.0 / 3.0).abs() < 0.2,
        "{stops:?}"
    );
    let fog = aged.base_fog.unwrap();
    assert!(fog.more_than_noise && (fog.difference.value - 0.08).abs() < 0.02);
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
    assert!((speed.difference.value - of_eis).abs() < 1e-9, "{speed:?}");
    assert!(!speed.more_than_noise, "{speed:?}");
    assert!(speed.difference.lower95 <= 0.0 && 0.0 <= speed.difference.upper95);
    assert!(speed.difference.value.abs() < 0.15, "{speed:?}");
    assert_eq!(same.at_times.len(), 3);
    for at in &same.at_times {
        let d = at.speed_stops.unwrap().difference;
        assert!(
            d.value.abs() < 0.2 && d.lower95 <= 0.0 && 0.0 <= d.upper95,
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
    assert!(gained.more_than_noise && (gained.difference.value - 1.0).abs() < 0.15);
}

#[test]
fn a_meter_of_unknown_setting_is_said_so() {
    let mut dice = Dice(29);
    let known = metered(&mut dice, Some(100.0), 100.0);
    let unknown = metered(&mut dice, None, 100.0);
    let again = metered(&mut dice, None, 100.0);
    let says = |c: &Comparison, code| c.caveats.iter().any(|c| c.code == code);
    let neither = compare(&unknown, &again, NORMAL).unwrap();
    assert!(neither.speed_stops.unwrap().difference.value.abs() < 0.15);
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

/// Between its samples the curve is read to 0.004 of the film's own formula ([S24]).
#[test]
fn the_curve_is_read_between_its_samples() {
    let strip = analyse(&of_times(&[8.0]), EFFORT).unwrap().strips.remove(0);
    let (first, last) = (strip.curve[0], strip.curve[strip.curve.len() - 1]);
    for k in 0..=200 {
        let x = first.x + (last.x - first.x) * f64::from(k) / 200.0;
        let d = strip.on_curve(x.clamp(first.x, last.x)).unwrap();
        assert!((d - film(8.0).density(x)).abs() < 0.004, "{d} at {x}");
    }
    for sample in &strip.curve {
        assert!((strip.on_curve(sample.x).unwrap() - sample.y.value).abs() < 1e-12);
    }
    for outside in [first.x - 1e-6, last.x + 1e-6, f64::NAN, f64::INFINITY] {
        assert_eq!(strip.on_curve(outside), None);
    }
    // The speed point lies 0.10 over base + fog ([S1]).
    let at = strip
        .on_curve(strip.log_h_speed_point.unwrap().value)
        .unwrap();
    assert!((at - strip.base_fog.value - 0.10).abs() < 0.003, "{at}");
}

/// What users read as it stands: a capital, one full stop at the end.
#[test]
fn reasons_are_whole_sentences() {
    let mut said = Vec::new();
    for times in [&[6.0, 10.0][..], &[5.0, 8.0, 12.0], &[5.0, 7.0, 9.0, 12.0]] {
        let analysis = analyse(&of_times(times), EFFORT).unwrap();
        said.push(analysis.model.reason);
        said.push(analysis.time_contrast.unwrap().reason);
    }
    // A film that no toe and line fits.
    let bent = Film {
        shape: Shape::Gompertz { rate: 1.2 },
        ..film(8.0)
    };
    let analysis = analyse(&test_of(vec![exact(&bent, 8.0)]), EFFORT).unwrap();
    assert_ne!(analysis.model.smooth, Smooth::ToeLine);
    said.push(analysis.model.reason);
    for text in said {
        assert!(text.starts_with(char::is_uppercase), "{text}");
        assert!(text.ends_with('.') && !text.ends_with(".."), "{text}");
    }
}

/// [S21]: the mean of log H of the green-read and the slowest layer at 0.15, speed √2 / H.
#[test]
fn colour_negative_combines_its_layers() {
    let layer = |slower: f64| {
        let mut f = film(8.0);
        f.foot += slower;
        let mut test = test_of(vec![exact(&f, 3.25)]);
        test.material = Material::ColourNegative;
        (test, f.reaches(f.base + 0.15))
    };
    let ((red, _), (green, at_green), (blue, at_blue)) = (layer(-0.1), layer(0.0), layer(0.2));
    let mut test = ColourTest { red, green, blue };
    let analysis = analyse_colour(&test, EFFORT).unwrap();
    let strip = &analysis.strips[0];
    let log_h = 0.5 * (at_green + at_blue);
    assert!((strip.log_h.unwrap().value - log_h).abs() < 0.005);
    assert!((strip.speed.unwrap().value * 10f64.powf(log_h) / 2f64.sqrt() - 1.0).abs() < 0.01);
    assert!(
        analysis.green.strips[0].speed.is_none(),
        "a layer has no speed of its own"
    );
    assert!(
        analysis
            .caveats
            .iter()
            .any(|c| c.code == "colour_speed_from_memory")
    );
    test.green.target = Some(Target {
        measure: Measure::Gamma,
        value: 0.6,
    });
    assert_eq!(
        analyse_colour(&test, EFFORT).unwrap_err().kind,
        Kind::Inconsistent
    );
    test.green.target = None;
    test.blue.strips[0].time_min = 4.0;
    assert_eq!(
        analyse_colour(&test, EFFORT).unwrap_err().kind,
        Kind::Inconsistent
    );
}
