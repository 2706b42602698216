//! `calc warmup`, `keeping`, `exposure` and `cost`: what an input may be, and what is never told.

use serde_json::json;

use super::{answer, refusal, what};

#[test]
fn the_contract_of_a_cold_can() {
    let said = answer(
        "warmup",
        &json!({"package": "can_35mm_120m", "from_c": -18, "to_c": 20, "rh_percent": 60}),
    );
    // Source: [T3], 5 h for a rise of up to 55 °C.
    assert_eq!(said["hours"], 5.0);
    assert_eq!(said["basis"], "table");
    assert_eq!(said["said"].as_array().map(Vec::len), Some(2));
}

#[test]
fn bad_input_names_its_field() {
    for (name, input, told) in [
        (
            "warmup",
            r#"{"package": "tin", "from_c": 1, "to_c": 20}"#,
            "package: not known",
        ),
        (
            "warmup",
            r#"{"package": "cassette", "to_c": 20}"#,
            "from_c: missing",
        ),
        (
            "warmup",
            r#"{"package": "cassette", "from_c": -40, "to_c": 20}"#,
            "from_c, to_c: a rise in temperature",
        ),
        (
            "warmup",
            r#"{"package": "cassette", "from_c": 4, "to_c": 20, "rh_percent": 95}"#,
            "rh_percent: no table reaches so humid a room",
        ),
        (
            "warmup",
            r#"{"package": "cassette", "from_c": 4, "to_c": 20, "year": 1950.5}"#,
            "year: not a whole number",
        ),
        ("keeping", "{}", "temperature_c: missing"),
        (
            "keeping",
            r#"{"class": "frozen", "stays": [{"years": -1, "temperature_c": 4}]}"#,
            "stays[0].years: out of range",
        ),
        ("exposure", "{}", "nothing to work out"),
        ("exposure", r#"{"f_number": 8}"#, "time_s: missing"),
        ("exposure", r#"{"ev_100": 12}"#, "ei: missing"),
        (
            "exposure",
            r#"{"ev": 12, "f_number": 8}"#,
            "ev: the exposure is given more than once",
        ),
        (
            "exposure",
            r#"{"ev": 12, "widest": 8, "narrowest": 4}"#,
            "limits the wrong way round",
        ),
        (
            "exposure",
            r#"{"ei": 100, "filter_factors": [2, 2, 2, 2, 2, 2]}"#,
            "filter_factors: too many filters",
        ),
        (
            "cost",
            r#"{"rolls": [{"id": "A-01", "can": "A", "drawn_mm": 900}]}"#,
            "rolls[0].can: nothing has this name",
        ),
        (
            "cost",
            r#"{"rolls": [{"id": "A-01", "can": "A", "drawn_mm": 900, "lost": 2}]}"#,
            "rolls[0].usable: missing",
        ),
    ] {
        assert_eq!(what(name, input), told);
    }
}

/// Policy [N4]: nothing is told for nitrate film, whatever else is given.
#[test]
fn nothing_is_told_for_nitrate() {
    for (name, input) in [
        (
            "warmup",
            r#"{"package": "can_35mm_30m", "from_c": -18, "to_c": 20, "base": "nitrate"}"#,
        ),
        ("keeping", r#"{"temperature_c": 4, "base": "nitrate"}"#),
    ] {
        let said = refusal(name, input.as_bytes());
        assert_eq!(said["kind"], "impossible");
        let words = said["remedy"].as_str();
        assert!(words.is_some_and(|t| t.contains("film archive")));
    }
}

/// Source: [X2], nominal and exact; a filter of factor 2 costs one stop [M3].
#[test]
fn an_exposure_through_a_filter() {
    let said = answer(
        "exposure",
        &json!({"f_number": 16, "time_s": 0.008, "filter_factors": [2], "widest": 16, "narrowest": 16}),
    );
    let found = &said["exposure"];
    assert_eq!(found["ev"], 14.965784285);
    assert_eq!(found["ev_by_marks"], 15.0);
    assert_eq!(found["ev_through"], 14.0);
    assert_eq!(found["pairs"][0]["shutter"]["mark"], "1/60 s");
    let none = answer("exposure", &json!({"ev": 30}));
    assert_eq!(none["caveats"][0]["code"], "no_pair");
}

#[test]
fn colour_film_has_no_rule_for_age() {
    let said = answer(
        "keeping",
        &json!({"temperature_c": 20, "colour": true, "stays": [{"years": 9, "temperature_c": 20}]}),
    );
    assert!(said["allowance"].is_null());
    assert_eq!(said["caveats"][0]["code"], "no_rule_for_colour");
}
