//! `calc wedge` against strips known in closed form, and every bad input it must refuse.
//!
//! The strips are those of [S24], made up: D = 0.20 + (g/5) ln(1 + e^(5 (x − x0))),
//! x0 = −2.20850612, g = 1.10 (1 − e^(−0.12167641 t)), 21 steps of 0.15 at log H 0.10 less the step, read to 0.001.

use serde_json::{Value, json};

use super::{answer, refusal, spoolwright};

const TIMES: [f64; 6] = [5.0, 6.0, 8.0, 10.0, 12.0, 16.0];

fn steps() -> Vec<f64> {
    (0..21).map(|i| f64::from(5 + 15 * i) / 100.0).collect()
}

fn density(minutes: f64, step: f64) -> f64 {
    let slope = 1.10 * (1.0 - (-0.121_676_41 * minutes).exp());
    let d = 0.20 + slope / 5.0 * (5.0 * (0.10 - step + 2.208_506_12)).exp().ln_1p();
    (d * 1000.0).round() / 1000.0
}

fn strip(minutes: f64) -> Value {
    let density: Vec<f64> = steps().into_iter().map(|s| density(minutes, s)).collect();
    json!({ "time_min": minutes, "density": density, "density_sd": 0.002 })
}

fn known(times: &[f64]) -> Value {
    json!({
        "exposure": { "kind": "absolute", "log_h_at_zero_density": 0.10 },
        "wedge_density": steps(),
        "strips": times.iter().map(|t| strip(*t)).collect::<Value>(),
        "base_fog": 0.20,
        "target": { "measure": "iso_triangle" },
    })
}

/// The value, which must lie in its interval.
#[track_caller]
fn value(v: &Value) -> f64 {
    let [value, lower, upper] = ["value", "lower95", "upper95"].map(|f| v[f].as_f64().expect(f));
    assert!(lower <= value && value <= upper, "{v}");
    value
}

#[track_caller]
fn near(v: &Value, wanted: f64, within: f64) {
    let got = value(v);
    assert!(
        (got - wanted).abs() <= within,
        "{got} is not {wanted} ± {within}"
    );
}

/// Closed form, own derivation: t, gamma, log Hm, speed, ΔD, average gradient, contrast index.
#[test]
fn strips_in_closed_form_come_out() {
    let a = answer("wedge", &known(&TIMES));
    let table = [
        [5.0, 0.5013, -2.1011, 100.97, 0.6057, 0.4706, 0.4704],
        [6.0, 0.5699, -2.1406, 110.58, 0.6797, 0.5291, 0.5327],
        [8.0, 0.6844, -2.1938, 125.00, 0.8000, 0.6245, 0.6349],
        [10.0, 0.7742, -2.2279, 135.20, 0.8917, 0.6976, 0.7134],
        [12.0, 0.8446, -2.2512, 142.67, 0.9622, 0.7539, 0.7738],
        [16.0, 0.9430, -2.2800, 152.45, 1.0589, 0.8315, 0.8566],
    ];
    for (strip, [time, gamma, log_h, speed, delta_d, mean, index]) in
        a["strips"].as_array().unwrap().iter().zip(table)
    {
        assert_eq!(strip["time_min"], time);
        near(&strip["base_fog"], 0.20, 0.005);
        near(&strip["gamma"], gamma, 0.005);
        near(&strip["log_h_speed_point"], log_h, 0.01);
        near(&strip["speed"], speed, 0.025 * speed);
        near(&strip["delta_d_over_1_30"], delta_d, 0.005);
        near(&strip["average_gradient"], mean, 0.005);
        near(&strip["contrast_index"], index, 0.005);
        near(&strip["d_max"], density(time, 0.05), 0.005);
    }
    assert_eq!(a["strips"][2]["speed"]["rounded"], "125/22°");
    assert_eq!(a["strips"][2]["iso_condition_met"], true);
    assert_eq!(a["strips"][5]["iso_condition_met"], false);
    near(&a["at_target"]["time_min"], 8.0, 0.05);
    assert_eq!(a["at_target"]["speed"]["rounded"], "125/22°");
    assert_eq!(a["at_target"]["iso_condition_met"], true);
}

#[test]
fn six_and_ten_minutes_foretell_eight() {
    let a = answer("wedge", &known(&[6.0, 10.0]));
    near(&a["at_target"]["time_min"], 8.0, 0.1);
    assert_eq!(a["at_target"]["speed"]["rounded"], "125/22°");
    assert!(a["at_target"].get("extrapolated").is_none());
}

/// A straight line, D = 0.25 + 0.62 (x + 2.30), own derivation: log Hm −2.13871, ΔD 0.806, every slope 0.62.
#[test]
fn a_straight_line_comes_out() {
    let line: Vec<f64> = steps()
        .iter()
        .map(|s| 0.25 + 0.62 * (0.10 - s + 2.30).max(0.0))
        .collect();
    let a = answer(
        "wedge",
        &json!({
            "exposure": { "kind": "absolute", "log_h_at_zero_density": 0.10 },
            "wedge_density": steps(),
            "strips": [{ "time_min": 7, "density": line, "density_sd": 0.002 }],
            "base_fog": 0.25,
        }),
    );
    let strip = &a["strips"][0];
    near(&strip["log_h_speed_point"], -2.13871, 0.01);
    near(&strip["speed"], 110.10, 2.6);
    near(&strip["delta_d_over_1_30"], 0.806, 0.006);
    near(&strip["gamma"], 0.62, 0.005);
    near(&strip["contrast_index"], 0.62, 0.006);
    assert!(a.get("at_target").is_none() && a.get("time_contrast").is_none());
}

/// Zone I, four stops under the meter, on the speed point: EI is the meter's. Own derivation: the 8 min strip has its
/// speed point at log H −2.1938, so a meter reading at −2.1938 + 4 × 0.30103 is right.
#[test]
fn in_camera_the_ei_is_the_meters_when_zone_one_is_on_the_speed_point() {
    let meter = -2.1938 + 4.0 * std::f64::consts::LOG10_2;
    let stops: Vec<f64> = (-7..=3).map(f64::from).collect();
    let density: Vec<f64> = stops
        .iter()
        .map(|s| density(8.0, 0.10 - (meter + s * std::f64::consts::LOG10_2)))
        .collect();
    let mut input = json!({
        "exposure": { "kind": "in_camera", "meter_offset_stops": stops, "meter_ei": 64 },
        "strips": [{ "time_min": 8, "density": density, "density_sd": 0.002, "base_fog": 0.20 }],
    });
    let a = answer("wedge", &input);
    near(&a["strips"][0]["ei_stops"], 0.0, 0.05);
    near(&a["strips"][0]["ei"], 64.0, 2.5);
    assert_eq!(a["strips"][0]["ei"]["rounded"], "64/19°");
    assert!(a["strips"][0].get("speed").is_none());
    input["exposure"]
        .as_object_mut()
        .unwrap()
        .remove("meter_ei");
    let a = answer("wedge", &input);
    near(&a["strips"][0]["ei_stops"], 0.0, 0.05);
    assert!(a["strips"][0].get("ei").is_none());
}

/// The table as it would come from a spreadsheet says what the JSON says.
#[test]
fn a_table_gives_the_same_answer() {
    let times = [6.0, 8.0, 10.0];
    for (cell, decimal) in [(",", "."), (";", ","), ("\t", ",")] {
        let mut text = String::from(
            "# exposure absolute\n# log_h_at_zero_density 0.10\n# base_fog 0.20\n# density_sd 0.002\n# target iso_triangle\n",
        );
        let head: Vec<String> = times.iter().map(|t| format!("{t} min")).collect();
        text += &format!("step{cell}{}\n", head.join(cell));
        for s in steps() {
            let row: Vec<String> = std::iter::once(format!("{s:.2}"))
                .chain(times.iter().map(|t| format!("{:.3}", density(*t, s))))
                .map(|v| v.replace('.', decimal))
                .collect();
            text += &format!("{}\n", row.join(cell));
        }
        let out = spoolwright(&["calc", "wedge"], text.as_bytes());
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
        let got: Value = serde_json::from_slice(&out.stdout).unwrap();
        assert_eq!(got, answer("wedge", &known(&times)), "{cell:?}");
    }
}

/// The documented table.
#[test]
fn the_table_of_the_page_runs() {
    let page = include_str!("../../../../docs/calc.md");
    let table = page
        .split("```csv\n")
        .nth(1)
        .unwrap()
        .split("```")
        .next()
        .unwrap();
    let out = spoolwright(&["calc", "wedge"], table.as_bytes());
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let got: Value = serde_json::from_slice(&out.stdout).unwrap();
    // Closed form: contrast index 0.58 lies between 6 min (0.5327) and 8 min (0.6349); growth gives 6.86.
    near(&got["at_target"]["time_min"], 6.86, 0.05);
}

#[test]
fn a_target_far_outside_the_strips_is_said_so() {
    let mut input = known(&[5.0, 6.0]);
    let a = answer("wedge", &input);
    let flagged = a["at_target"]["extrapolated"]
        .as_f64()
        .is_some_and(|f| f > 1.2);
    let refused = a["caveats"].to_string().contains("target_out_of_reach");
    assert!(flagged || refused, "{a}");
    input["target"] = json!({ "measure": "gamma", "value": 2.5 });
    let a = answer("wedge", &input);
    assert!(a.get("at_target").is_none());
    assert!(
        a["caveats"].to_string().contains("target_out_of_reach"),
        "{a}"
    );
}

/// Every bad input: nothing on standard output, exit 2, four parts (all by [`refusal`]), and the place named.
#[test]
fn what_cannot_be_worked_out_is_refused() {
    let mut cases: Vec<(Value, &str)> = Vec::new();
    let mut case = |what: &'static str, change: &dyn Fn(&mut Value)| {
        let mut input = known(&[6.0, 10.0]);
        change(&mut input);
        cases.push((input, what));
    };
    case("strip 1 (6 min): too few usable steps", &|i| {
        for k in 4..21 {
            i["strips"][0]["density"][k] = "x".into();
        }
    });
    case("strip 1 (6 min): no unexposed patch", &|i| {
        // Only the straight line is left, and no reading of unexposed film.
        i.as_object_mut().unwrap().remove("base_fog");
        i["wedge_density"] = steps()[..12].into();
        for s in 0..2 {
            let kept: Vec<Value> = i["strips"][s]["density"].as_array().unwrap()[..12].to_vec();
            i["strips"][s]["density"] = kept.into();
        }
    });
    case("strips[1].time_min: the same time as strip 1", &|i| {
        i["strips"][1]["time_min"] = 6.into();
    });
    case("strip 1 (6 min): density falls with exposure", &|i| {
        i["strips"][0]["density"].as_array_mut().unwrap().reverse();
    });
    case("strip 2 (10 min): density falls with exposure", &|i| {
        i["strips"][1]["density"][3] = 0.3.into();
    });
    case("strip 1 (6 min): density falls with exposure", &|i| {
        i["wedge_density"].as_array_mut().unwrap().reverse();
    });
    case("wedge_density[6]: the wedge is not in order", &|i| {
        i["wedge_density"].as_array_mut().unwrap().swap(5, 6);
    });
    case("strip 1 (6 min): not as many densities", &|i| {
        i["strips"][0]["density"].as_array_mut().unwrap().pop();
    });
    case("strip 1 (6 min): hardly any image", &|i| {
        i["strips"][0]["density"] = vec![0.2; 21].into();
    });
    case("strips[0].density[2]: out of range", &|i| {
        i["strips"][0]["density"][2] = 60.into();
    });
    case("strips[0].density[2]: not", &|i| {
        i["strips"][0]["density"][2] = "y".into();
    });
    case("strips", &|i| i["strips"] = json!([]));
    case("wedge_density: missing", &|i| {
        i.as_object_mut().unwrap().remove("wedge_density");
    });
    case("wedge_density: there is no wedge in a camera", &|i| {
        i["exposure"] = json!({ "kind": "in_camera", "meter_offset_stops": [-2, -1, 0, 1, 2] });
    });
    case("exposure.log_h_at_zero_density: missing", &|i| {
        i["exposure"] = json!({ "kind": "absolute" });
    });
    case("exposure.kind: missing", &|i| i["exposure"] = json!({}));
    case("exposure.kind: not known", &|i| {
        i["exposure"] = json!({ "kind": "sideways" });
    });
    case("exposure.log_h_at_zero_density: not known", &|i| {
        i["exposure"] = json!({ "kind": "relative", "log_h_at_zero_density": 0.1 });
    });
    case("target.value: missing", &|i| {
        i["target"] = json!({ "measure": "gamma" });
    });
    case("target.measure: not known", &|i| {
        i["target"] = json!({ "measure": "snap" });
    });
    case("target", &|i| i["material"] = "colour-negative".into());
    case("material: not known", &|i| i["material"] = "glass".into());
    case("strips[1].channel: missing", &|i| {
        i["strips"][0]["channel"] = "red".into();
    });
    case("strips[0].channel: not known", &|i| {
        i["strips"][0]["channel"] = "visual".into();
    });
    case("rounds: out of range", &|i| i["rounds"] = 1_000_000.into());
    for (input, what) in cases {
        let error = refusal("wedge", input.to_string().as_bytes());
        let said = error["what"].as_str().unwrap();
        assert!(said.starts_with(what), "{said:?} is not {what:?}");
    }
    for (text, what) in [
        ("step,5\n0.05,1.3\n", "# exposure: missing"),
        ("# exposure relative\n0.05,1.3\n0.2,1.2\n", "a header"),
        ("# exposure relative\nstep,5\n0.05,1.3z\n", "a density"),
        ("# exposur relative\n", "# exposur: not known"),
    ] {
        let error = refusal("wedge", text.as_bytes());
        let said = error["what"].as_str().unwrap();
        assert!(said.starts_with(what), "{said:?} is not {what:?}");
    }
}
