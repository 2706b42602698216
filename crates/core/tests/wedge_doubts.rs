//! What the wedge bench says when its readings do not fit together: base + fog of another film, swapped strips, mistyped
//! readings, speed points missing, contrasts that no ISO speed goes with.
//!
//! Truth is the closed form of `wedge_closed_form`: base + fog 0.20, 8 min for [S2] and speed 125 ([S3]).

#[path = "wedge_truth/mod.rs"]
mod wedge_truth;

use spoolwright_core::Kind;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wedge::{
    Analysis, AtTarget, Effort, Measure, NAMED_TARGETS, Strip, StripResult, Target, Test, analyse,
    compare,
};
use wedge_truth::{Dice, Film, Shape, ZERO, test_of, wedge};

const EFFORT: Effort = Effort { rounds: 400 };
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

fn exact(film: &Film, t: f64, sd: Option<f64>) -> Strip {
    let density = wedge()
        .iter()
        .map(|d| Some((film.density(ZERO - d) * 1000.0).round() / 1000.0))
        .collect();
    Strip {
        time_min: t,
        density,
        density_sd: sd,
        base_fog: None,
    }
}

fn of_times(times: &[f64], sd: Option<f64>) -> Test {
    let mut test = test_of(times.iter().map(|&t| exact(&film(t), t, sd)).collect());
    test.target = Some(Target {
        measure: Measure::IsoTriangle,
        value: 0.80 / 1.30,
    });
    test
}

fn has(caveats: &[Caveat], code: &str) -> bool {
    caveats.iter().any(|c| c.code == code)
}

fn one(test: &Test) -> StripResult {
    analyse(test, EFFORT).unwrap().strips.remove(0)
}

fn at(test: &Test) -> AtTarget {
    analyse(test, EFFORT).unwrap().at_target.unwrap()
}

#[test]
fn base_and_fog_of_another_film_is_said_or_refused() {
    for sd in [None, Some(0.01), Some(0.005)] {
        let mut test = of_times(&[8.0], sd);
        for typed in [0.12, 0.14, 0.17, 0.23, 0.25, 0.28, 0.34] {
            test.base_fog = Some(typed);
            match analyse(&test, EFFORT) {
                Ok(analysis) => {
                    let strip = &analysis.strips[0];
                    let said = if typed < 0.20 {
                        "base_fog_below_steps"
                    } else {
                        "base_fog_above_steps"
                    };
                    let off = strip
                        .speed
                        .map_or(f64::INFINITY, |s| (s.value / 125.0).log2().abs());
                    assert!(
                        has(&strip.caveats, said) || off < 0.25,
                        "{typed}, {sd:?}: {:?} {:?}",
                        strip.speed,
                        strip.caveats
                    );
                }
                Err(e) => assert!(typed > 0.25 && e.kind == Kind::Inconsistent, "{typed}: {e}"),
            }
        }
        test.base_fog = Some(0.34);
        assert!(analyse(&test, EFFORT).is_err());
        test.base_fog = Some(0.20);
        assert!(one(&test).caveats.is_empty(), "{:?}", one(&test).caveats);
        test.base_fog = None;
        assert!(has(&one(&test).caveats, "base_fog_inferred"));
    }
}

/// Strips of known truth, read with nothing but noise: what speaks of slips is rare there.
#[test]
fn honest_strips_are_seldom_doubted() {
    let (mut count, mut base, mut off) = (0, 0, 0);
    for n in 0..240 {
        let mut dice = Dice(31_000 + n as u64 * 7_919);
        let film = dice.film(n % 6);
        let strip = dice.strip(&film, 8.0, [0.005, 0.01, 0.02, 0.03][n / 6 % 4], true);
        let Ok(analysis) = analyse(&test_of(vec![strip]), Effort { rounds: 100 }) else {
            continue;
        };
        let caveats = &analysis.strips[0].caveats;
        count += 1;
        base += usize::from(
            has(caveats, "base_fog_below_steps") || has(caveats, "base_fog_above_steps"),
        );
        off += usize::from(has(caveats, "reading_off"));
    }
    assert!(count >= 238, "{count}");
    assert!(base <= 5 && off <= 5, "{base} and {off} of {count}");
}

#[test]
fn a_mistyped_reading_is_pointed_at() {
    let mut test = of_times(&[8.0], Some(0.01));
    test.base_fog = Some(0.20);
    // 0.438 typed as 0.56, and a digit turned about further up.
    for (step, typed) in [(12, 0.12), (4, -0.18)] {
        let mut wrong = test.clone();
        let read = wrong.strips[0].density[step].unwrap() + typed;
        wrong.strips[0].density[step] = Some(read);
        let strip = one(&wrong);
        let said = strip.caveats.iter().find(|c| c.code == "reading_off");
        let said = said.unwrap_or_else(|| panic!("step {}: {:?}", step + 1, strip.caveats));
        assert!(
            said.text.contains(&format!("Step {} ", step + 1)),
            "{}",
            said.text
        );
    }
}

#[test]
fn swapped_strips_are_named() {
    let mut test = of_times(&[5.0, 8.0, 12.0], Some(0.01));
    let (a, b) = (
        test.strips[1].density.clone(),
        test.strips[2].density.clone(),
    );
    (test.strips[1].density, test.strips[2].density) = (b, a);
    let analysis = analyse(&test, EFFORT).unwrap();
    let said = analysis.caveats.iter().find(|c| c.code == "contrast_falls");
    assert_eq!(
        said.expect("said").text,
        "The 12 min strip has less contrast than the 8 min one: were they mixed up?"
    );
    let honest = analyse(&of_times(&[5.0, 8.0, 12.0], Some(0.01)), EFFORT).unwrap();
    assert!(!has(&honest.caveats, "contrast_falls"));
    // All the wrong way round: no time at all, and the remedy says where to look.
    let mut two = of_times(&[6.0, 10.0], Some(0.01));
    let (a, b) = (two.strips[0].density.clone(), two.strips[1].density.clone());
    (two.strips[0].density, two.strips[1].density) = (b, a);
    let analysis = analyse(&two, EFFORT).unwrap();
    assert!(analysis.at_target.is_none());
    let said = analysis
        .caveats
        .iter()
        .find(|c| c.code == "target_out_of_reach");
    assert!(said.unwrap().text.contains("swapped"), "{said:?}");
}

/// The 5 and the 12 min strips lose their upper steps' neighbours about the speed point: one strip alone says no speed
/// for another time.
#[test]
fn one_strip_gives_no_speed_at_another_time() {
    let mut test = of_times(&[5.0, 8.0, 12.0], Some(0.01));
    test.base_fog = Some(0.20);
    test.target = Some(Target {
        measure: Measure::Gamma,
        value: film(5.7).gamma_within(ZERO - 3.05, ZERO - 0.05),
    });
    let whole = at(&test);
    assert!(whole.speed.is_some() && !has(&whole.caveats, "no_speed_at_time"));
    for i in [0, 2] {
        let strip = &mut test.strips[i];
        for d in &mut strip.density {
            *d = d.filter(|&d| d > 0.33);
        }
    }
    let analysis = analyse(&test, EFFORT).unwrap();
    assert!(analysis.strips[0].speed.is_none() && analysis.strips[1].speed.is_some());
    let at = analysis.at_target.as_ref().unwrap();
    assert!((at.time_min.value - 5.7).abs() < 0.3, "{:?}", at.time_min);
    assert!(at.speed.is_none() && at.log_h_speed_point.is_none() && at.speed_rounded.is_none());
    assert!(has(&at.caveats, "no_speed_at_time"), "{:?}", at.caveats);
    // The same with the strip's own time: there it is known.
    let own = Target {
        measure: Measure::Gamma,
        value: analysis.time_contrast.as_ref().unwrap().points[1].y.value,
    };
    let own = analysis.at(own).unwrap();
    if (own.time_min.value / 8.0 - 1.0).abs() < 0.005 {
        assert!((own.speed.unwrap().value / 125.0).ln().abs() < 0.05);
    }
    // Compared at equal times, only the 8 min strip has a speed.
    let mut plain = of_times(&[5.0, 8.0, 12.0], Some(0.01));
    plain.target = test.target;
    let plain = analyse(&plain, EFFORT).unwrap();
    let compared = compare(&plain, &analysis, NORMAL).unwrap();
    let speeds: Vec<bool> = compared
        .at_times
        .iter()
        .map(|t| t.speed_stops.is_some())
        .collect();
    assert_eq!(speeds, [false, true, false]);
}

/// Where the strips lie far apart the law between them is a guess, and the interval holds what may be guessed.
#[test]
fn two_strips_hold_the_true_time() {
    for times in [[6.0, 10.0], [5.0, 12.0], [5.0, 16.0], [4.0, 24.0]] {
        let t = at(&of_times(&times, Some(0.005))).time_min;
        assert!(t.lower95 <= 8.0 && 8.0 <= t.upper95, "{times:?}: {t:?}");
    }
}

#[test]
fn a_strip_left_out_is_named() {
    let mut test = of_times(&[5.0, 8.0, 12.0], Some(0.01));
    test.base_fog = Some(0.20);
    for d in &mut test.strips[0].density[..10] {
        *d = None;
    }
    let at = at(&test);
    let said = at.caveats.iter().find(|c| c.code == "two_strips").unwrap();
    assert!(said.text.contains("(the steps of 5 min"), "{}", said.text);
}

#[test]
fn no_speed_is_an_iso_speed_at_another_contrast() {
    let analysis: Analysis = analyse(&of_times(&[5.0, 8.0, 12.0], Some(0.01)), EFFORT).unwrap();
    for named in NAMED_TARGETS {
        let Ok(at) = analysis.at(named.target) else {
            continue;
        };
        // The density gained at that time, by the closed form.
        let gain = film(at.time_min.value).gain(1.30);
        if ((gain - 0.80).abs() - 0.05).abs() < 0.01 {
            continue;
        }
        let iso = (gain - 0.80).abs() <= 0.05;
        assert_eq!(at.iso_condition_met, Some(iso), "{}: {gain}", named.code);
        assert_eq!(has(&at.caveats, "not_iso_contrast"), !iso, "{}", named.code);
        if named.code == "normal" {
            assert!(iso);
        }
        if named.code == "n_minus_2" {
            assert!(!iso && at.speed.is_some());
        }
    }
}

#[test]
fn no_useful_range_without_its_lower_end() {
    let mut test = of_times(&[8.0], Some(0.01));
    test.base_fog = Some(0.20);
    assert!(one(&test).useful_range.is_some());
    test.strips[0].density[14..].fill(None);
    let strip = one(&test);
    assert!(strip.log_h_speed_point.is_none() && strip.useful_range.is_none());
}

/// A strip whose toe is so sharp that a cubic through its table would ring.
#[test]
fn a_sharp_toe_does_not_fall() {
    let mut dice = Dice(811_973);
    let film = dice.film(0);
    let strips = [5.0, 8.0, 13.0]
        .iter()
        .map(|&t| {
            let mut developed = film;
            developed.gamma = 1.1 * (1.0 - (-0.12_f64 * t).exp());
            dice.strip(&developed, t, 0.016_060_061_151_582_636, true)
        })
        .collect();
    let analysis = analyse(&test_of(strips), Effort { rounds: 100 }).unwrap();
    for strip in &analysis.strips {
        let mut pairs = strip.curve.windows(2);
        assert!(pairs.all(|w| w[0].y.value <= w[1].y.value + 1e-9));
    }
}
