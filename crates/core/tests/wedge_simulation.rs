//! The wedge bench against simulated strips of known truth: bias, and how often the 95 % intervals hold the truth.
//!
//! Two of the six kinds of film are of the bench's own parametric class, the others (normal, logistic and Gompertz
//! curves, two toes) are not; noise runs from 0.005 to 0.03; half of the strips have an unexposed patch read.

#[path = "wedge_truth/mod.rs"]
mod wedge_truth;

use spoolwright_core::wedge::{Effort, Interval, Measure, Target, analyse};
use std::collections::BTreeMap;
use wedge_truth::{Dice, Film, Shape, ZERO, test_of};

const NOISE: [f64; 4] = [0.005, 0.01, 0.02, 0.03];

/// Bias and coverage of one number.
#[derive(Default)]
struct Tally {
    error: f64,
    covered: f64,
    count: f64,
    missing: f64,
}

impl Tally {
    fn put(&mut self, interval: Option<Interval>, truth: f64) {
        let Some(i) = interval else {
            self.missing += 1.0;
            return;
        };
        self.error += i.value - truth;
        self.covered += f64::from(u8::from(i.lower95 <= truth && truth <= i.upper95));
        self.count += 1.0;
    }

    fn said(&self, name: &str) -> String {
        format!(
            "{name}: bias {:+.4}, coverage {:.1} % of {}, {} missing",
            self.bias(),
            100.0 * self.coverage(),
            self.count,
            self.missing
        )
    }

    fn bias(&self) -> f64 {
        self.error / self.count
    }

    fn coverage(&self) -> f64 {
        self.covered / self.count
    }
}

fn assert_all(tallies: &BTreeMap<&str, Tally>, least: impl Fn(&str) -> f64) {
    for (name, t) in tallies {
        assert!(
            t.coverage() >= least(name) && t.coverage() <= 0.98,
            "{}",
            t.said(name)
        );
    }
}

/// 480 single strips. Asserted: bias of log Hm under 0.01 and of contrast index under 0.005, coverage 92 to 98 %.
/// The fractional-gradient point lies in the deepest toe, where little is measured: there 90 % is asserted.
#[test]
fn single_strips() {
    let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
    let (low, high) = (ZERO - 3.05, ZERO - 0.05);
    for n in 0..480 {
        let mut dice = Dice(9_000 + n as u64 * 7_919);
        let film = dice.film(n % 6);
        let strip = dice.strip(&film, 8.0, NOISE[n / 6 % 4], n / 24 % 2 == 0);
        let Ok(analysis) = analyse(&test_of(vec![strip]), Effort { rounds: 1000 }) else {
            tallies.entry("base + fog").or_default().missing += 1.0;
            continue;
        };
        let r = &analysis.strips[0];
        let mut put = |name, interval, truth| tallies.entry(name).or_default().put(interval, truth);
        put("base + fog", Some(r.base_fog), film.base);
        put("log Hm", r.log_h_speed_point, film.speed_point());
        put("speed", r.speed, 0.8 / 10f64.powf(film.speed_point()));
        put("density over 1.30", r.delta_d_over_1_30, film.gain(1.30));
        put("gamma", r.gamma, film.gamma_within(low, high));
        put("average gradient", r.average_gradient, film.gain(1.5) / 1.5);
        put("contrast index", r.contrast_index, film.contrast_index());
        put(
            "fractional gradient",
            r.log_h_fractional_gradient,
            film.fractional(),
        );
        put("useful range", r.useful_range, film.useful_range(low, high));
        put("Dmax", Some(r.d_max), film.density(high));
        for point in r.curve.iter().step_by(10) {
            put("curve", Some(point.y), film.density(point.x));
        }
    }
    assert!(
        tallies["log Hm"].bias().abs() < 0.01,
        "{}",
        tallies["log Hm"].bias()
    );
    let index = tallies["contrast index"].bias();
    assert!(index.abs() < 0.005, "{index}");
    // At the most noise a strip in a hundred has no foot to tell base + fog from, and is refused.
    assert!(tallies["base + fog"].missing <= 12.0);
    assert_all(&tallies, |name| {
        if name == "fractional gradient" {
            0.90
        } else {
            0.92
        }
    });
}

/// Slope at a developing time.
type Slope = fn(f64) -> f64;

/// How a film's slope grows with time. The bench fits the first, the second and the third; of the others it knows nothing.
const KINETICS: [(&str, Slope); 5] = [
    ("growth", |t| 1.10 * (1.0 - (-0.12 * t).exp())),
    ("straight against ln t", |t| 0.05 + 0.31 * t.ln()),
    ("late growth", |t| 1.0 - (-0.18 * (t - 1.5)).exp()),
    ("hyperbola", |t| 1.5 * t / (t + 9.0)),
    ("Gompertz", |t| (-(-0.2 * (t - 3.0)).exp()).exp()),
];

fn developed(film: &Film, slope: Slope, t: f64) -> Film {
    Film {
        gamma: slope(t),
        base: film.base + 0.004 * t,
        ..*film
    }
}

/// The time at which a developed film has the wanted average gradient, by bisection.
fn true_time(film: &Film, slope: Slope, wanted: f64) -> f64 {
    let (mut low, mut high) = (2.0, 40.0);
    for _ in 0..60 {
        let m = f64::midpoint(low, high);
        if developed(film, slope, m).gain(1.5) / 1.5 < wanted {
            low = m;
        } else {
            high = m;
        }
    }
    f64::midpoint(low, high)
}

const WANTED: Target = Target {
    measure: Measure::AverageGradient,
    value: 0.60,
};

/// 160 families of four strips: time, speed and base + fog at the target. Asserted: bias of the time under 0.1 min,
/// coverage 92 to 98 %.
#[test]
fn families() {
    let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
    let growth = KINETICS[0].1;
    for n in 0..160 {
        let mut dice = Dice(77 + n as u64 * 104_729);
        let mut film = dice.film(0);
        if n % 2 == 1 {
            film.shape = Shape::TwoToes {
                k: 6.0,
                k2: 3.0,
                apart: 0.4,
                share: 0.5,
            };
        }
        let noise = NOISE[n / 2 % 4];
        let strips = [5.0, 7.0, 10.0, 14.0]
            .iter()
            .map(|&t| dice.strip(&developed(&film, growth, t), t, noise, true))
            .collect();
        let mut test = test_of(strips);
        test.target = Some(WANTED);
        let analysis = analyse(&test, Effort { rounds: 1000 }).unwrap();
        let Some(at) = analysis.at_target else {
            tallies.entry("time").or_default().missing += 1.0;
            continue;
        };
        let time = true_time(&film, growth, WANTED.value);
        let then = developed(&film, growth, time);
        let mut put = |name, interval, truth| tallies.entry(name).or_default().put(interval, truth);
        put("time", Some(at.time_min), time);
        put("log Hm there", at.log_h_speed_point, then.speed_point());
        put("base + fog there", Some(at.base_fog), then.base);
    }
    assert!(
        tallies["time"].bias().abs() < 0.1,
        "{}",
        tallies["time"].bias()
    );
    assert!(tallies["log Hm there"].bias().abs() < 0.01);
    assert_all(&tallies, |_| 0.92);
}

/// Families of two, three and four strips, of four shapes of film, whose slope grows by laws that are fitted and by others:
/// 64 of each. Asserted for each: no more than one in twelve refused, coverage 92 % at least. It runs higher, to 99 %:
/// few strips do not tell the laws apart, so the intervals hold all that they do not contradict.
#[test]
fn families_of_other_kinetics() {
    let times: [&[f64]; 3] = [&[6.0, 10.0], &[5.0, 8.0, 13.0], &[5.0, 7.0, 10.0, 14.0]];
    let mut low = Vec::new();
    for ((kinetics, slope), times) in KINETICS.into_iter().flat_map(|k| times.map(|t| (k, t))) {
        let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
        for n in 0..64 {
            let mut dice = Dice(610_007 + n as u64 * 15_485_863 + times.len() as u64);
            let film = dice.film([0, 4, 2, 3][n % 4]);
            let noise = NOISE[n / 4 % 4];
            let strips = times
                .iter()
                .map(|&t| dice.strip(&developed(&film, slope, t), t, noise, true));
            let mut test = test_of(strips.collect());
            test.target = Some(WANTED);
            let analysis = analyse(&test, Effort { rounds: 400 }).unwrap();
            let mut put =
                |name, interval, truth| tallies.entry(name).or_default().put(interval, truth);
            let time = true_time(&film, slope, WANTED.value);
            let Some(at) = analysis.at_target else {
                put("time", None, time);
                continue;
            };
            let then = developed(&film, slope, time);
            put("time", Some(at.time_min), time);
            put("log Hm there", at.log_h_speed_point, then.speed_point());
            put("base + fog there", Some(at.base_fog), then.base);
        }
        for (name, tally) in &tallies {
            if tally.coverage() < 0.92 || tally.missing > 5.0 {
                low.push(format!(
                    "{kinetics}, {} strips: {}",
                    times.len(),
                    tally.said(name)
                ));
            }
        }
    }
    assert!(low.is_empty(), "{low:#?}");
}
