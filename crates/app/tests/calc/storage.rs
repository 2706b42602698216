//! `calc warmup`: what an input may be, and what is never told.

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
    for (input, told) in [
        (
            r#"{"package": "tin", "from_c": 1, "to_c": 20}"#,
            "package: not known",
        ),
        (r#"{"package": "cassette", "to_c": 20}"#, "from_c: missing"),
        (
            r#"{"package": "cassette", "from_c": -40, "to_c": 20}"#,
            "from_c, to_c: a rise in temperature",
        ),
        (
            r#"{"package": "cassette", "from_c": 4, "to_c": 20, "rh_percent": 95}"#,
            "rh_percent: no table reaches so humid a room",
        ),
        (
            r#"{"package": "cassette", "from_c": 4, "to_c": 20, "year": 1950.5}"#,
            "year: not a whole number",
        ),
    ] {
        assert_eq!(what("warmup", input), told);
    }
}

/// Policy [N4]: no hours for nitrate film, whatever else is given.
#[test]
fn nothing_is_told_for_nitrate() {
    let said = refusal(
        "warmup",
        br#"{"package": "can_35mm_30m", "from_c": -18, "to_c": 20, "base": "nitrate"}"#,
    );
    assert_eq!(said["kind"], "impossible");
    assert!(
        said["remedy"]
            .as_str()
            .is_some_and(|t| t.contains("film archive"))
    );
}
