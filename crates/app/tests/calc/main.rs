//! `spoolwright calc` as a script meets it: the real binary, the documented examples, junk.

use std::io::Write;
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};

mod baths;
mod binder;
mod docs;
mod junk;
mod storage;
mod tank;
mod wedge;
mod wet_time;

/// Runs the binary with `args`, `input` on standard input.
fn spoolwright(args: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_spoolwright"))
        .args(args)
        .env_remove("RUST_BACKTRACE")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary starts");
    // Input that is refused unread closes the pipe early: that is no fault here.
    let _ = child.stdin.take().expect("piped").write_all(input);
    child.wait_with_output().expect("the binary ends")
}

/// The command line of a sum whose input comes on standard input; one about a picture is about the documented one.
fn sum(name: &str) -> Vec<&str> {
    const PICTURE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/calc/wedgescan.png");
    let contract = spoolwright::calc::contract(name).expect("a contract");
    let mut args = vec!["calc", name];
    if contract.needs_picture() {
        args.extend(["--in", PICTURE, "--layout", "-"]);
    }
    args
}

/// The answer to an input that must be good.
fn answer(name: &str, input: &Value) -> Value {
    let out = spoolwright(&sum(name), input.to_string().as_bytes());
    let err = String::from_utf8_lossy(&out.stderr);
    assert!(out.status.success() && err.is_empty(), "{input}: {err}");
    serde_json::from_slice(&out.stdout).expect("the answer is JSON")
}

/// The four parts of the refusal of an input that must be bad.
fn refusal(name: &str, input: &[u8]) -> Value {
    let out = spoolwright(&[&sum(name)[..], &["--json"]].concat(), input);
    let shown = String::from_utf8_lossy(&input[..input.len().min(200)]).into_owned();
    assert_eq!(out.status.code(), Some(2), "{shown}");
    assert!(out.stdout.is_empty(), "{shown}");
    let error: Value = serde_json::from_slice(&out.stderr).expect("the refusal is JSON");
    for part in ["kind", "what", "given", "allowed", "remedy"] {
        assert!(
            error["error"][part].as_str().is_some_and(|t| !t.is_empty()),
            "{shown}: no {part}"
        );
    }
    error["error"].clone()
}

fn what(name: &str, input: &str) -> String {
    refusal(name, input.as_bytes())["what"]
        .as_str()
        .expect("text")
        .to_owned()
}

#[test]
fn the_refusal_in_words_has_four_parts_and_no_output() {
    let out = spoolwright(&["calc", "ticket"], br#"{"frames": -3}"#);
    assert_eq!(out.status.code(), Some(2));
    assert!(out.stdout.is_empty());
    let text = String::from_utf8(out.stderr).unwrap();
    assert_eq!(
        text,
        "frames: out of range\n  given:   -3\n  allowed: 1 to 800 frames\n  Enter frames within these limits.\n"
    );
}

#[test]
fn a_field_is_named_by_its_path() {
    let cases = [
        (
            "ticket",
            r#"{"frames": 18, "dial": {"zero_ofset": 3}}"#,
            "dial.zero_ofset: not known",
        ),
        (
            "ticket",
            r#"{"frames": 18, "dial": {"zero_offset": 1, "zero_offset": 2}}"#,
            "dial.zero_offset: given twice",
        ),
        (
            "ticket",
            r#"{"frames": 18, "click_scale": {"mean": 1}}"#,
            "click_scale.sd: missing",
        ),
        (
            "ticket",
            r#"{"frames": 18, "click_scale": {"mean": 9, "sd": 0}}"#,
            "click_scale.mean: out of range",
        ),
        (
            "ticket",
            r#"{"frames": "18"}"#,
            "frames: not a whole number",
        ),
        (
            "ticket",
            r#"{"frames": 18.5}"#,
            "frames: not a whole number",
        ),
        (
            "ticket",
            r#"{"frames": NaN}"#,
            "frames: not a finite number",
        ),
        (
            "ticket",
            r#"{"frames": 18, "uncounted_mm": {"mean": -Infinity}}"#,
            "uncounted_mm.mean: not a finite number",
        ),
        (
            "ticket",
            r#"{"frames": 1e999}"#,
            "frames: not a finite number",
        ),
        (
            "ticket",
            r#"{"frames": null}"#,
            "frames: null is not a value here",
        ),
        ("ticket", "{}", "frames: missing"),
        (
            "ticket",
            r#"{"frames": 18, "loader": {"hub_mm": 11}}"#,
            "loader.kind: missing",
        ),
        (
            "spool",
            r#"{"core_mm": 0, "thickness_mm": 0.14, "length_m": 1}"#,
            "core_mm: out of range",
        ),
        ("dx", r#"{"row1": "100110"}"#, "row2: missing"),
        ("dx", r#"{"latitude": "+9/-9"}"#, "latitude: not known"),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [{"kind": "weigh", "gram": 4}]}"#,
            "evidence[0].gram: not known",
        ),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [{"kind": "empty"}, {"clicks": 4}]}"#,
            "evidence[1].kind: missing",
        ),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [{"kind": "weighed", "grams": 4}]}"#,
            "evidence[0].kind: not known",
        ),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [{"kind": "wind", "clicks": 0}]}"#,
            "evidence[0].clicks: out of range",
        ),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [4]}"#,
            "evidence[0]: not an object",
        ),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [], "priors": {"tare_g": {"mean": -1, "sd": 1}}}"#,
            "priors.tare_g.mean: out of range",
        ),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [{"kind": "gauge", "outer_diameter_mm": 20}]}"#,
            "evidence[0].outer_diameter_mm",
        ),
        (
            "cutplan",
            r#"{"cans": [], "wants": [{"id": "w", "stocks": ["s"], "frames": 6}, {"id": "v", "stocks": ["s"], "frames": 0}]}"#,
            "wants[1].frames: out of range",
        ),
        (
            "cutplan",
            r#"{"cans": [{"id": "A", "stock": "s", "remaining_m": 3}], "wants": []}"#,
            "cans[0].remaining_m: not an object with mean and sd",
        ),
        (
            "cutplan",
            r#"{"cans": {}, "wants": []}"#,
            "cans: not a list",
        ),
        (
            "wedgescan",
            r#"{"strip": {"corners": [[1, 1], [9, 1], [9, 9], [1, -1]], "patches": 2}}"#,
            "strip.corners[3][1]: out of range",
        ),
        (
            "wedgescan",
            r#"{"strip": {"corners": [[1, 1], [9, 1], [9, 9]], "patches": 2}}"#,
            "strip.corners: not an array of length 4",
        ),
        ("ticket", r#"{"frames": 18, "a`b": 1}"#, "a`b: not known"),
        (
            "ticket",
            r#"{"frames": 18, "a`b": 1, "a`b": 2}"#,
            "a`b: given twice",
        ),
        (
            "ticket",
            r#"{"frames": 18, "click_scale": [1, 0.1]}"#,
            "click_scale: not an object",
        ),
        (
            "cutplan",
            r#"{"cans": [], "wants": [["w", ["s"], 6, 1]]}"#,
            "wants[0]: not an object",
        ),
        (
            "remaining",
            r#"{"nominal_length_m": 30, "evidence": [{"kind": "empty", "clicks": 4}]}"#,
            "evidence[0].clicks: not known",
        ),
    ];
    for (name, input, expected) in cases {
        assert_eq!(what(name, input), expected, "{input}");
    }
}

#[test]
fn a_missing_field_is_described_by_the_schema() {
    let error = refusal("ticket", b"{}");
    assert_eq!(error["kind"], "missing");
    assert_eq!(
        error["allowed"],
        "wanted frames of the camera's format, 1 to 800"
    );
}

/// A list's item without words of its own takes the list's.
#[test]
fn an_item_is_described_by_its_list() {
    let input = br#"{"cans": [], "wants": [{"id": "w", "stocks": [3], "frames": 6}]}"#;
    assert_eq!(
        refusal("cutplan", input)["allowed"],
        "names of the stocks that will do, 1 to 200 of them"
    );
}

#[test]
fn nothing_costs_plain_zero() {
    for input in [
        r#"{"cans": [], "wants": []}"#,
        r#"{"cans": [{"id": "A", "stock": "s", "remaining_m": {"mean": 3, "sd": 0}}], "wants": []}"#,
    ] {
        let out = spoolwright(&["calc", "cutplan"], input.as_bytes());
        assert!(out.status.success());
        assert!(!String::from_utf8_lossy(&out.stdout).contains("-0"));
    }
}

/// By the record 20 m more were wound than there were: the little that is shown holds no roll.
#[test]
fn an_overdrawn_can_holds_no_roll() {
    let wind: Vec<Value> = vec![json!({ "kind": "wind", "clicks": 42 }); 30];
    let said = answer(
        "remaining",
        &json!({ "nominal_length_m": 30.48, "evidence": wind }),
    );
    let upper = said["remaining_m"]["upper95"].as_f64().expect("a number");
    for roll in said["can_wind"].as_array().expect("a list") {
        // Eight perforations of 4.75 mm a click [G2].
        assert!(upper < roll["clicks"].as_f64().expect("a number") * 0.038);
        assert!(
            roll["probability"].as_f64().expect("a number") < 0.025,
            "{roll}"
        );
    }
}

#[test]
fn near_misses_are_named() {
    let remedy = |input: &str| refusal("ticket", input.as_bytes())["remedy"].to_string();
    assert!(remedy(r#"{"frmaes": 18}"#).contains("`frames`"));
    assert!(remedy(r#"{"frames": 18, "pitch": "lang"}"#).contains("`long`"));
    let out = spoolwright(&["calc", "tiket", "--json"], b"");
    assert!(String::from_utf8_lossy(&out.stderr).contains("`ticket`"));
}

#[test]
fn contradictions_are_refused() {
    let both = r#"{"core_mm": 50, "thickness_mm": 0.14, "length_m": 1, "outer_diameter_mm": 60}"#;
    for (name, input) in [
        ("spool", both),
        ("spool", r#"{"core_mm": 50, "thickness_mm": 0.14}"#),
        (
            "spool",
            r#"{"core_mm": 50, "thickness_mm": 0.14, "outer_diameter_mm": 40}"#,
        ),
        (
            "ticket",
            r#"{"frames": 8, "loader": {"kind": "crank"}, "dial": {}}"#,
        ),
        (
            "ticket",
            r#"{"frames": 8, "loader": {"kind": "counter", "hub_mm": 11}}"#,
        ),
        ("dx", r#"{"iso": 100, "row1": "100110", "row2": "100111"}"#),
        ("dx", "{}"),
    ] {
        assert_eq!(
            refusal(name, input.as_bytes())["kind"],
            "inconsistent",
            "{input}"
        );
    }
}

#[test]
fn what_is_not_json_is_refused() {
    let deep = "[".repeat(100_000);
    let long = vec![b' '; 10_000_000];
    let cases: [(&[u8], &str); 10] = [
        (b"", "missing"),
        (b"  \n", "missing"),
        (b"\xff\xfe", "unknown"),
        (b"[1]", "unknown"),
        (b"3", "unknown"),
        (b"{\"frames\": 18,}", "unknown"),
        (b"{\"frames\": 18} x", "unknown"),
        (b"{'frames': 18}", "unknown"),
        (deep.as_bytes(), "too_large"),
        (&long, "too_large"),
    ];
    for (input, kind) in cases {
        assert_eq!(
            refusal("ticket", input)["kind"],
            kind,
            "{:?}",
            &input[..input.len().min(20)]
        );
    }
}

#[test]
fn a_file_serves_as_well_and_an_absent_one_is_refused() {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(&file, "\u{feff}{\"frames\": 18.0}").unwrap();
    let path = file.path().to_str().unwrap();
    let out = spoolwright(&["calc", "ticket", "--in", path], b"");
    let value: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(value["clicks"], 24);
    let out = spoolwright(&["calc", "ticket", "--in", "/no/such/file"], b"");
    assert_eq!((out.status.code(), out.stdout.len()), (Some(2), 0));
}

/// A sum about a picture needs both files, and no other sum takes a layout.
#[test]
fn picture_and_layout_go_together() {
    let layout = concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml");
    for (args, what) in [
        (&["calc", "wedgescan"][..], "--in: the picture"),
        (
            &["calc", "wedgescan", "--in", layout],
            "--layout: where things lie in the picture",
        ),
        (
            &["calc", "ticket", "--layout", layout],
            "--layout: not for this sum",
        ),
        (
            &[
                "calc",
                "wedgescan",
                "--in",
                layout,
                "--layout",
                "/no/such/file",
            ],
            "--layout: the file cannot be opened",
        ),
        (
            &[
                "calc",
                "wedgescan",
                "--in",
                "/no/such/file",
                "--layout",
                "-",
            ],
            "--in: the file cannot be opened",
        ),
    ] {
        let out = spoolwright(args, br#"{"frames": 18}"#);
        let text = String::from_utf8_lossy(&out.stderr).into_owned();
        assert_eq!(
            (out.status.code(), out.stdout.len()),
            (Some(2), 0),
            "{args:?}"
        );
        assert!(text.starts_with(what), "{args:?}: {text}");
    }
    let out = spoolwright(
        &["calc", "wedgescan", "--in", layout, "--layout", "-"],
        GOOD_LAYOUT.as_bytes(),
    );
    let text = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(
        text.starts_with("the file is no picture that can be read"),
        "{text}"
    );
}

const GOOD_LAYOUT: &str =
    r#"{"strip": {"corners": [[10, 10], [110, 10], [110, 24], [10, 24]], "patches": 2}}"#;

/// The documented picture holds 16 bits a value, linear; without a wedge that must be said.
#[test]
fn a_picture_without_a_wedge_needs_a_word() {
    let error = refusal("wedgescan", GOOD_LAYOUT.as_bytes());
    assert_eq!(
        (error["kind"].as_str(), error["what"].as_str()),
        (
            Some("missing"),
            Some("reference: needed to read densities from this picture")
        )
    );
    let mut said: Value = serde_json::from_str(GOOD_LAYOUT).unwrap();
    said["linear"] = true.into();
    let read = answer("wedgescan", &said);
    assert_eq!(read["strip"][0]["density"], 0.0);
    let second = read["strip"][1]["density"].as_f64().unwrap();
    // Drawn 0.75 denser, in light that falls by 4 % on the way.
    assert!((second - 0.75).abs() < 0.03, "{second}");
    assert!(
        read["caveats"]
            .as_array()
            .unwrap()
            .iter()
            .any(|c| c["code"] == "linear_by_word")
    );
}

/// The documented strip gets denser; four patches make four pairs that say so.
#[test]
fn a_strip_that_goes_against_its_exposure_is_refused() {
    let mut said: Value = serde_json::from_str(GOOD_LAYOUT).unwrap();
    said["linear"] = true.into();
    said["strip"]["patches"] = 4.into();
    said["strip"]["density"] = "rises".into();
    answer("wedgescan", &said);
    said["strip"]["density"] = "falls".into();
    let error = refusal("wedgescan", said.to_string().as_bytes());
    assert_eq!(
        error["what"].as_str(),
        Some("strip: it seems to be read from its wrong end")
    );
    said["strip"]["density"] = "up".into();
    assert_eq!(
        refusal("wedgescan", said.to_string().as_bytes())["kind"],
        "unknown"
    );
}

#[test]
fn misuse_of_the_command_line_has_exit_code_2() {
    for args in [
        &["calc"][..],
        &["calk"],
        &["calc", "--bogus"],
        &["calc", "nothing-like-it"],
    ] {
        let out = spoolwright(args, b"");
        assert_eq!(
            (out.status.code(), out.stdout.len()),
            (Some(2), 0),
            "{args:?}"
        );
        assert_eq!(
            String::from_utf8_lossy(&out.stderr).lines().count(),
            4,
            "{args:?}"
        );
    }
}

/// [DX5]: codes read from whole cassettes.
#[test]
fn dx_reads_whole_cassettes() {
    for (row1, row2, iso, exposures, latitude) in [
        ("100110", "100111", 400, 36, "+3/-1"),
        ("101010", "100100", 100, 36, "+0.5/-0.5"),
        ("110110", "100111", 800, 36, "+3/-1"),
        ("101010", "100110", 100, 36, "+1/-1"),
    ] {
        let read = answer("dx", &json!({ "row1": row1, "row2": row2 }));
        assert_eq!(
            (&read["iso"], &read["exposures"], &read["latitude"]),
            (&json!(iso), &json!(exposures), &json!(latitude))
        );
        let made = answer(
            "dx",
            &json!({ "iso": iso, "exposures": exposures, "latitude": latitude }),
        );
        assert_eq!((&made["row1"], &made["row2"]), (&json!(row1), &json!(row2)));
    }
}

/// [R1] to [R3]: reels of polyester film, lengths in feet; the table's printed digits allow 1 ft.
#[test]
fn spool_gives_the_published_reels() {
    for (outer_in, core_in, feet) in [
        (15.0, 2.0, 2729.0),
        (15.0, 5.0, 2470.0),
        (14.0, 4.0, 2223.0),
    ] {
        let input = json!({
            "core_mm": core_in * 25.4, "outer_diameter_mm": outer_in * 25.4, "thickness_mm": 0.0053 * 25.4
        });
        let length = answer("spool", &input)["length_m"].as_f64().unwrap() / 0.3048;
        assert!((length - feet).abs() < 1.0, "{length}");
    }
}
