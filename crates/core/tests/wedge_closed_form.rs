//! The wedge bench against strips in closed form, whose numbers are known to all digits shown.
//!
//! Film: D = 0.20 + (g/5) ln(1 + e^(5(x + 2.20850612))), g = 1.10 (1 - e^(-0.12167641 t)); the table is worked out from
//! that formula alone ([S24]), not measured and not made by this crate. At 8 min it meets [S2] exactly and S = 125.0
//! ([S3]).

use spoolwright_core::wedge::{
    Analysis, Effort, Exposure, Material, Measure, Strip, Target, Test, analyse,
};

const FOOT: f64 = -2.208_506_12;
const RATE: f64 = 0.121_676_41;

/// Minutes, gamma, log Hm, speed, density over 1.30, average gradient over 1.5, contrast index.
const TABLE: [[f64; 7]; 6] = [
    [5.0, 0.5013, -2.1011, 100.97, 0.6057, 0.4706, 0.4704],
    [6.0, 0.5699, -2.1406, 110.58, 0.6797, 0.5291, 0.5327],
    [8.0, 0.6844, -2.1938, 125.00, 0.8000, 0.6245, 0.6349],
    [10.0, 0.7742, -2.2279, 135.20, 0.8917, 0.6976, 0.7134],
    [12.0, 0.8446, -2.2512, 142.67, 0.9622, 0.7539, 0.7738],
    [16.0, 0.9430, -2.2800, 152.45, 1.0589, 0.8315, 0.8566],
];

fn wedge() -> Vec<f64> {
    (0..21).map(|k| 0.05 + 0.15 * f64::from(k)).collect()
}

fn strip(time_min: f64) -> Strip {
    let g = 1.10 * (1.0 - (-RATE * time_min).exp());
    let density = wedge()
        .iter()
        .map(|d| {
            let exact = 0.20 + g / 5.0 * (5.0 * (0.10 - d - FOOT)).exp().ln_1p();
            // As printed: three decimals.
            Some((exact * 1000.0).round() / 1000.0)
        })
        .collect();
    Strip {
        time_min,
        density,
        density_sd: None,
        base_fog: None,
    }
}

fn test(times: &[f64]) -> Test {
    Test {
        exposure: Exposure::Absolute {
            log_h_at_zero_density: 0.10,
            wedge_density: wedge(),
        },
        strips: times.iter().map(|&t| strip(t)).collect(),
        base_fog: None,
        material: Material::Negative,
        target: Some(Target {
            measure: Measure::IsoTriangle,
            value: 0.80 / 1.30,
        }),
    }
}

fn run(times: &[f64]) -> Analysis {
    analyse(&test(times), Effort { rounds: 200 }).unwrap()
}

fn near(what: &str, got: f64, want: f64, tolerance: f64) {
    assert!(
        (got - want).abs() <= tolerance,
        "{what}: {got} is not {want} \u{b1} {tolerance}"
    );
}

#[test]
fn every_strip_of_the_table_comes_out() {
    let analysis = run(&[5.0, 6.0, 8.0, 10.0, 12.0, 16.0]);
    for (row, strip) in TABLE.iter().zip(&analysis.strips) {
        let [t, gamma, log_h, speed, rise, average, index] = *row;
        let of = |name: &str| format!("{name} at {t} min");
        near(&of("base + fog"), strip.base_fog.value, 0.20, 0.002);
        near(
            &of("log Hm"),
            strip.log_h_speed_point.unwrap().value,
            log_h,
            0.003,
        );
        near(&of("speed"), strip.speed.unwrap().value, speed, 1.0);
        near(
            &of("density over 1.30"),
            strip.delta_d_over_1_30.unwrap().value,
            rise,
            0.003,
        );
        near(&of("gamma"), strip.gamma.unwrap().value, gamma, 0.005);
        near(
            &of("average gradient"),
            strip.average_gradient.unwrap().value,
            average,
            0.003,
        );
        near(
            &of("contrast index"),
            strip.contrast_index.unwrap().value,
            index,
            0.003,
        );
        // The same at every time: a property of this film ([S16]).
        near(
            &of("fractional gradient"),
            strip.log_h_fractional_gradient.unwrap().value,
            -2.4351,
            0.01,
        );
    }
}

#[test]
fn at_eight_minutes_the_speed_is_125_22() {
    let analysis = run(&[8.0]);
    let strip = &analysis.strips[0];
    assert_eq!(strip.speed_rounded.unwrap().to_string(), "125/22\u{b0}");
    near(
        "density over 1.30",
        strip.delta_d_over_1_30.unwrap().value,
        0.800,
        0.003,
    );
    assert_eq!(strip.iso_condition_met, Some(true));
    assert!(analysis.at_target.is_none(), "one strip tells no time");
    assert!(analysis.caveats.iter().any(|c| c.code == "one_strip"));
}

#[test]
fn the_time_for_the_iso_triangle_is_eight_minutes() {
    let five = run(&[5.0, 6.0, 10.0, 12.0, 16.0]).at_target.unwrap();
    near("five strips", five.time_min.value, 8.0, 0.02);
    assert_eq!(five.speed_rounded.unwrap().to_string(), "125/22\u{b0}");
    let two = run(&[6.0, 10.0]).at_target.unwrap();
    near("6 and 10 min", two.time_min.value, 8.0, 0.1);
    assert_eq!(two.speed_rounded.unwrap().to_string(), "125/22\u{b0}");
    let wide = run(&[5.0, 12.0]).at_target.unwrap();
    near("5 and 12 min", wide.time_min.value, 8.0, 0.1);
}

#[test]
fn a_straight_line_with_a_corner_comes_out() {
    // D = 0.25 + 0.62 (x + 2.30) above x = -2.30: log Hm -2.13871, speed 110.10, 0.806 over 1.30, every slope 0.62.
    let density = wedge()
        .iter()
        .map(|d| Some(0.25 + 0.62 * (0.10 - d + 2.30_f64).max(0.0)))
        .collect();
    let mut test = test(&[8.0]);
    test.strips[0].density = density;
    let strip = analyse(&test, Effort { rounds: 200 })
        .unwrap()
        .strips
        .remove(0);
    near(
        "log Hm",
        strip.log_h_speed_point.unwrap().value,
        -2.138_71,
        0.005,
    );
    near("speed", strip.speed.unwrap().value, 110.10, 1.3);
    near(
        "density over 1.30",
        strip.delta_d_over_1_30.unwrap().value,
        0.806,
        0.003,
    );
    near("gamma", strip.gamma.unwrap().value, 0.62, 0.003);
    near(
        "contrast index",
        strip.contrast_index.unwrap().value,
        0.62,
        0.003,
    );
    near(
        "average gradient",
        strip.average_gradient.unwrap().value,
        0.62,
        0.003,
    );
}
