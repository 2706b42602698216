//! `calc devtime`, `calc reciprocity` and `calc filter`: figures from outside, and every bad input they must refuse.

use serde_json::{Value, json};

use super::{answer, refusal};

fn number(v: &Value, path: &str) -> f64 {
    v.pointer(path)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("{path} in {v}"))
}

#[track_caller]
fn near(v: &Value, path: &str, wanted: f64, within: f64) {
    let got = number(v, path);
    assert!(
        (got - wanted).abs() <= within,
        "{path}: {got}, not {wanted}"
    );
}

fn codes(v: &Value) -> Vec<&str> {
    let caveats = v["caveats"].as_array().expect("a list");
    caveats.iter().filter_map(|c| c["code"].as_str()).collect()
}

/// Source: [D3], worked out apart from this program; tolerance 0.01 min.
#[test]
fn times_at_other_temperatures() {
    for (to_c, q10, minutes) in [(24, 2.5, 6.93), (18, 2.0, 11.49), (26, 3.0, 5.17)] {
        let input = json!({ "time_min": 10, "at_c": 20, "to_c": to_c, "q10": q10 });
        near(&answer("devtime", &input), "/time_min", minutes, 0.01);
    }
    // The coefficient learnt from the table's own times at 2.5.
    let pairs = json!([{ "time_min": 12.01, "c": 18 }, { "time_min": 6.93, "c": 24 }]);
    let input = json!({ "time_min": 10, "at_c": 20, "to_c": 22, "q10": { "pairs": pairs } });
    let learnt = answer("devtime", &input);
    near(&learnt, "/q10/value", 2.5, 0.005);
    near(&learnt, "/time_min", 8.33, 0.01);
    assert_eq!(codes(&learnt), ["q10_two_pairs"]);
    // The thermometer makes two pairs uncertain: 1.96 · 0.3 · 0.0917/√18 · 10 is 0.127.
    near(&learnt, "/q10/upper95", 2.5 * 0.127f64.exp(), 0.01);
    // The range in use for a push is no interval and is not called one.
    let input = json!({ "time_min": 10, "at_c": 20, "to_c": 20, "push": { "stops": 1 } });
    let pushed = answer("devtime", &input);
    assert!(number(&pushed, "/push/low") < number(&pushed, "/push/factor"));
    assert!(number(&pushed, "/push/factor") < number(&pushed, "/push/high"));
    assert!(pushed["push"].get("lower95").is_none());
}

/// Source: [D3] again, for a bath that stays at one temperature; and by hand, a bath read only before it began.
#[test]
fn a_bath_read_with_a_thermometer() {
    let steady = json!({ "time_min": 10, "at_c": 20, "q10": 2.5, "readings": [{ "t_s": 0, "c": 24 }], "at_s": 208 });
    let said = answer("devtime", &steady);
    near(&said, "/stop_at_s", 6.93 * 60.0, 0.6);
    near(&said, "/equivalent_min", 5.0, 0.01);
    near(&said, "/left_s", number(&said, "/stop_at_s") - 208.0, 1e-6);
    let early = json!({ "time_min": 10, "at_c": 20, "readings": [{ "t_s": -30, "c": 20 }] });
    let said = answer("devtime", &early);
    near(&said, "/at_s", 0.0, 0.0);
    near(&said, "/equivalent_min", 0.0, 0.0);
    near(&said, "/stop_at_s", 600.0, 1e-6);
}

/// Source: [E1], [E2], [E3]; tolerance half a last digit.
#[test]
fn long_exposures() {
    for (metered, model, corrected, half) in [
        (10, json!({ "kind": "power", "p": 1.31 }), 20.4, 0.05),
        (100, json!({ "kind": "power", "p": 1.25 }), 316.2, 0.05),
        (
            100,
            json!({ "kind": "schwarzschild", "q": 0.8 }),
            316.2,
            0.05,
        ),
        (10, json!({ "kind": "added", "a": 0.169 }), 17.05, 0.005),
    ] {
        let said = answer(
            "reciprocity",
            &json!({ "metered_s": metered, "model": model }),
        );
        near(&said, "/corrected_s", corrected, half);
    }
    let unpicked = answer("reciprocity", &json!({ "metered_s": 10 }));
    assert!(unpicked.get("corrected_s").is_none());
    assert_eq!(codes(&unpicked)[0], "no_model_picked");
    let hour = json!({ "metered_s": 3600, "model": { "kind": "power", "p": 1.31 } });
    assert!(codes(&answer("reciprocity", &hour)).contains(&"far_beyond"));
}

/// Source: [M1], [M2], [M4], [X5].
#[test]
fn filters_and_exposures() {
    let said = answer(
        "filter",
        &json!({ "from_k": 5500, "to_k": 3200, "at_hand": ["85", "80A"], "ei": 500 }),
    );
    near(&said, "/wanted/shift_mired", 130.7, 0.05);
    assert_eq!(said["through"]["filters"], json!(["85"]));
    near(&said, "/ei/standard", 320.0, 0.0);
    assert_eq!(codes(&said), ["nominal", "shift_left"]);
    let on_lens = answer("filter", &json!({ "filters": ["82b"], "ei": 500 }));
    near(&on_lens, "/ei/standard", 320.0, 0.0);
    assert_eq!(codes(&on_lens), ["nominal"]);
    let sunny = json!({ "ei": 100, "exposure": { "f_number": 16, "luminance_cd_m2": 4096 } });
    near(&answer("filter", &sunny), "/exposure/ev", 15.0, 1e-9);
    let long = json!({ "factors": [8], "exposure": { "f_number": 8, "time_s": 0.25 } });
    let said = answer("filter", &long);
    near(&said, "/exposure/longer_time_s", 2.0, 1e-9);
    near(&said, "/exposure/wider_f_mark", 2.8, 0.0);
    assert_eq!(codes(&said), ["long_exposure"]);
}

/// Every field left out that is needed, of a wrong type, out of its domain, or against another one.
#[test]
fn bad_times_are_refused() {
    let pairs = |inner: &str| {
        format!(r#"{{"time_min": 10, "at_c": 20, "to_c": 22, "q10": {{"pairs": [{inner}]}}}}"#)
    };
    let readings =
        |inner: &str| format!(r#"{{"time_min": 10, "at_c": 20, "readings": [{inner}]}}"#);
    let with = |more: &str| format!(r#"{{"time_min": 10, "at_c": 20, "to_c": 22, {more}}}"#);
    for (input, what, kind) in [
        (
            r#"{"at_c": 20, "to_c": 22}"#.to_owned(),
            "time_min: missing",
            "missing",
        ),
        (
            r#"{"time_min": 10, "to_c": 22}"#.to_owned(),
            "at_c: missing",
            "missing",
        ),
        (
            r#"{"time_min": 10, "at_c": 20}"#.to_owned(),
            "to_c and readings",
            "inconsistent",
        ),
        (
            with(r#""readings": [{"t_s": 0, "c": 20}]"#),
            "to_c and readings",
            "inconsistent",
        ),
        (
            with(r#""at_s": 60"#),
            "at_s: only together with readings",
            "inconsistent",
        ),
        (with(r#""q10": 1.2"#), "q10: out of range", "out_of_range"),
        (
            with(r#""q10": NaN"#),
            "q10: not a finite number",
            "out_of_range",
        ),
        (with(r#""q10": "fast""#), "q10: not a number", "unknown"),
        (with(r#""q10": [2.5]"#), "q10: not a number", "unknown"),
        (with(r#""q10": {}"#), "q10.pairs: missing", "missing"),
        (
            with(r#""q10": {"pair": []}"#),
            "q10.pair: not known",
            "unknown",
        ),
        (
            with(r#""q10_sd": 0.1"#),
            "q10_sd: only together with q10",
            "inconsistent",
        ),
        (
            with(r#""q10": 2.5, "q10_sd": -0.1"#),
            "q10_sd: out of range",
            "out_of_range",
        ),
        (
            with(r#""thermometer_sd_c": 9"#),
            "thermometer_sd_c: out of range",
            "out_of_range",
        ),
        (with(r#""push": 1"#), "push: not an object", "unknown"),
        (with(r#""push": {}"#), "push.stops: missing", "missing"),
        (
            with(r#""push": {"stops": 2.5}"#),
            "push: no rule of thumb goes that far",
            "impossible",
        ),
        (
            with(r#""push": {"stops": 9}"#),
            "push.stops: out of range",
            "out_of_range",
        ),
        (
            with(r#""push": {"stops": 1, "factor": 0.8}"#),
            "push: the factor contradicts",
            "inconsistent",
        ),
        (
            with(r#""push": {"stops": 1, "factor": 0.1}"#),
            "push.factor: out of range",
            "out_of_range",
        ),
        (
            with(r#""push": {"stops": 1, "mark": "measured"}"#),
            "push.mark: only together",
            "inconsistent",
        ),
        (
            with(r#""push": {"stops": 1, "factor": 1.3, "mark": "sure"}"#),
            "push.mark: not known",
            "unknown",
        ),
        (
            r#"{"time_min": 1200, "at_c": 20, "to_c": 22, "push": {"stops": 1}}"#.to_owned(),
            "time_min after the push",
            "out_of_range",
        ),
        (pairs(""), "q10.pairs: pairs", "missing"),
        (
            pairs(r#"{"time_min": 10, "c": 20}"#),
            "q10.pairs: pairs",
            "missing",
        ),
        (
            pairs(r#"{"time_min": 10, "c": 20}, {"time_min": 7}"#),
            "q10.pairs[1].c: missing",
            "missing",
        ),
        (
            pairs(r#"{"time_min": 10, "c": 20}, {"time_min": 0, "c": 24}"#),
            "q10.pairs[1].time_min: out of range",
            "out_of_range",
        ),
        (
            pairs(r#"{"time_min": 10, "c": 20}, [7, 24]"#),
            "q10.pairs[1]: not an object",
            "unknown",
        ),
        (
            pairs(r#"{"time_min": 10, "c": 20}, {"time_min": 9, "c": 20}"#),
            "q10.pairs: the temperatures",
            "inconsistent",
        ),
        (
            pairs(r#"{"time_min": 10, "c": 20}, {"time_min": 12, "c": 24}"#),
            "q10.pairs: these times",
            "inconsistent",
        ),
        (readings(""), "readings: readings", "missing"),
        (readings("20"), "readings[0]: not an object", "unknown"),
        (
            readings(r#"{"t_s": 0}"#),
            "readings[0].c: missing",
            "missing",
        ),
        (
            readings(r#"{"t_s": 0, "c": 200}"#),
            "readings[0].c: out of range",
            "out_of_range",
        ),
        (
            readings(r#"{"t_s": 60, "c": 20}, {"t_s": 60, "c": 21}"#),
            "readings: reading 2",
            "inconsistent",
        ),
        (
            readings(r#"{"t_s": 60, "c": 20}, {"t_s": 0, "c": 21}"#),
            "readings: reading 2",
            "inconsistent",
        ),
    ] {
        let error = refusal("devtime", input.as_bytes());
        let said = error["what"].as_str().expect("text");
        assert!(said.starts_with(what), "{input}: {said}");
        assert_eq!(error["kind"], kind, "{input}");
    }
}

#[test]
fn bad_exposures_are_refused() {
    let model = |inner: &str| format!(r#"{{"metered_s": 10, "model": {inner}}}"#);
    for (input, what, kind) in [
        ("{}".to_owned(), "metered_s: missing", "missing"),
        (
            r#"{"metered_s": 0}"#.to_owned(),
            "metered_s: out of range",
            "out_of_range",
        ),
        (
            r#"{"metered_s": "long"}"#.to_owned(),
            "metered_s: not a number",
            "unknown",
        ),
        (
            r#"{"metered_s": Infinity}"#.to_owned(),
            "metered_s: not a finite number",
            "out_of_range",
        ),
        (model("1.31"), "model: not an object", "unknown"),
        (model(r#"{"p": 1.31}"#), "model.kind: missing", "missing"),
        (
            model(r#"{"kind": "powder", "p": 1.31}"#),
            "model.kind: not known",
            "unknown",
        ),
        (model(r#"{"kind": "power"}"#), "model.p: missing", "missing"),
        (
            model(r#"{"kind": "power", "p": 3}"#),
            "model.p: out of range",
            "out_of_range",
        ),
        (
            model(r#"{"kind": "power", "p": 1.3, "a": 0.1}"#),
            "model.a: not known",
            "unknown",
        ),
        (
            model(r#"{"kind": "schwarzschild", "q": 1.3}"#),
            "model.q: out of range",
            "out_of_range",
        ),
        (
            model(r#"{"kind": "added", "a": -1}"#),
            "model.a: out of range",
            "out_of_range",
        ),
        (
            model(r#"{"kind": "power", "p": 1.3, "mark": "sure"}"#),
            "model.mark: not known",
            "unknown",
        ),
        (
            model(r#"{"kind": "power", "p": 1.3, "name": " "}"#),
            "model.name: no name",
            "out_of_range",
        ),
        (
            model(r#"{"kind": "table", "rows": []}"#),
            "model.rows: rows",
            "missing",
        ),
        (
            model(r#"{"kind": "table", "rows": [[1, 1], [20, 40]]}"#),
            "model.rows[0]: not an object",
            "unknown",
        ),
        (
            model(
                r#"{"kind": "table", "rows": [{"metered_s": 1, "corrected_s": 1}, {"metered_s": 4}]}"#,
            ),
            "model.rows[1].corrected_s: missing",
            "missing",
        ),
        (
            model(
                r#"{"kind": "table", "rows": [{"metered_s": 1, "corrected_s": 1}, {"metered_s": 4, "corrected_s": 3}]}"#,
            ),
            "model.rows: row 2",
            "inconsistent",
        ),
        (
            model(
                r#"{"kind": "table", "rows": [{"metered_s": 1, "corrected_s": 1}, {"metered_s": 4, "corrected_s": 6}]}"#,
            ),
            "metered_s: the table does not reach",
            "impossible",
        ),
    ] {
        let error = refusal("reciprocity", input.as_bytes());
        let said = error["what"].as_str().expect("text");
        assert!(said.starts_with(what), "{input}: {said}");
        assert_eq!(error["kind"], kind, "{input}");
    }
}

#[test]
fn bad_filters_are_refused() {
    for (input, what, kind) in [
        ("{}", "nothing to work out", "missing"),
        (r#"{"ei": 100}"#, "nothing to work out", "missing"),
        (r#"{"from_k": 5500}"#, "to_k: missing", "missing"),
        (r#"{"to_k": 5500}"#, "from_k: missing", "missing"),
        (
            r#"{"from_k": 5500, "to_k": 0}"#,
            "to_k: out of range",
            "out_of_range",
        ),
        (
            r#"{"from_k": 5500, "to_k": 3200, "shift_mired": 131}"#,
            "shift_mired and from_k",
            "inconsistent",
        ),
        (
            r#"{"shift_mired": NaN}"#,
            "shift_mired: not a finite number",
            "out_of_range",
        ),
        (
            r#"{"at_hand": ["85"]}"#,
            "at_hand: nothing is wanted",
            "inconsistent",
        ),
        (
            r#"{"shift_mired": 90, "at_hand": ["86"]}"#,
            "at_hand[0]: not known",
            "unknown",
        ),
        (r#"{"filters": "85"}"#, "filters: not a list", "unknown"),
        (
            r#"{"filters": [85]}"#,
            "filters[0]: not a string",
            "unknown",
        ),
        (
            r#"{"filters": ["81", "81", "81", "81", "81", "81"]}"#,
            "filters: too many",
            "too_large",
        ),
        (
            r#"{"factors": [1, 0.5]}"#,
            "factors[1]: out of range",
            "out_of_range",
        ),
        (
            r#"{"factors": [1, 1, 1, 1, 1, 1]}"#,
            "factors: too many",
            "too_large",
        ),
        (
            r#"{"filters": [], "ei": 0}"#,
            "ei: out of range",
            "out_of_range",
        ),
        (
            r#"{"factors": [10000, 10000], "ei": 100}"#,
            "the exposure index behind",
            "out_of_range",
        ),
        (
            r#"{"exposure": {"time_s": 1}}"#,
            "exposure.f_number: missing",
            "missing",
        ),
        (
            r#"{"exposure": {"f_number": 8}}"#,
            "exposure.time_s: missing",
            "missing",
        ),
        (
            r#"{"exposure": {"f_number": 8, "time_s": -1}}"#,
            "exposure.time_s: out of range",
            "out_of_range",
        ),
        (
            r#"{"exposure": {"f_number": 8, "time_s": 1, "luminance_cd_m2": 9}, "ei": 100}"#,
            "exposure: a time and a luminance",
            "inconsistent",
        ),
        (
            r#"{"exposure": {"f_number": 8, "time_s": 1, "meter_k": 12}}"#,
            "exposure: a time and a luminance",
            "inconsistent",
        ),
        (
            r#"{"exposure": {"f_number": 8, "luminance_cd_m2": 9}}"#,
            "ei: missing",
            "missing",
        ),
        (
            r#"{"exposure": {"f_number": 8, "luminance_cd_m2": 0.00001}, "ei": 0.1}"#,
            "the time that this luminance",
            "out_of_range",
        ),
        (
            r#"{"factors": [10000], "exposure": {"f_number": 8, "time_s": 60}}"#,
            "the time through the filters",
            "out_of_range",
        ),
    ] {
        let error = refusal("filter", input.as_bytes());
        let said = error["what"].as_str().expect("text");
        assert!(said.starts_with(what), "{input}: {said}");
        assert_eq!(error["kind"], kind, "{input}");
    }
}
