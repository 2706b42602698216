//! The wedge bench case by case: what is refused and how, in camera, relative, colour, extrapolating.
//! The film is that of [S24].

#[path = "wedge_truth/mod.rs"]
mod wedge_truth;

use spoolwright_core::Kind;
use spoolwright_core::wedge::{
    ColourTest, Effort, Exposure, FARTHEST, Material, Measure, Smooth, SpeedKind, Strip, Target,
    Test, TimeLaw, analyse, analyse_colour,
};
use wedge_truth::{Film, Shape, ZERO, test_of, wedge};

const EFFORT: Effort = Effort { rounds: 200 };

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
