//! Bad input: four parts, exit code 2, nothing on standard output, nothing changed.

use super::Bench;

#[test]
fn bad_input_is_refused_in_four_parts() {
    let bench = Bench::filled();
    let before = bench.ask(&["history"]);
    for (args, what, kind) in [
        (&["can", "weigh", "ZZ", "402"][..], "can", "unknown"),
        (
            &["can", "weigh", "HM", "4kgg"],
            "grams: a weight",
            "out_of_range",
        ),
        (
            &["can", "weigh", "HM", "NaN"],
            "grams: a weight",
            "out_of_range",
        ),
        (&["can", "weigh", "HM"], "grams: a weight", "missing"),
        (
            &["can", "gauge", "HM", "12"],
            "outer mm: a roll's diameter",
            "inconsistent",
        ),
        (
            &["can", "add", "--stock", "Slate 100", "--length", "1,000"],
            "--length: a can's length",
            "out_of_range",
        ),
        (
            &["want", "add", "--what-for", "x", "--frames", "0"],
            "--frames: frames",
            "out_of_range",
        ),
        (&["stock", "add"], "--name: a stock's name", "missing"),
        (&["wind", "HM-09", "done"], "ticket", "unknown"),
        (&["wind", "done"], "wind: which ticket", "missing"),
        (&["roll", "show", "XX-01"], "roll", "unknown"),
        (
            &["roll", "list", "--state", "eaten"],
            "roll state",
            "unknown",
        ),
        (&["cassette", "mark", "1"], "the mark", "missing"),
        (&["undo", "999"], "entry", "unknown"),
        (
            &["can", "wiegh", "HM", "4"],
            "unrecognized subcommand 'wiegh'",
            "unknown",
        ),
        (
            &["shelf", "--bogus"],
            "unexpected argument '--bogus' found",
            "unknown",
        ),
    ] {
        let (text, json) = bench.refused(args);
        assert!(text.starts_with(what), "{args:?}: {text}");
        assert_eq!(text.lines().count(), 4, "{args:?}: {text}");
        assert_eq!(json["error"]["kind"], kind, "{args:?}");
    }
    assert_eq!(bench.ask(&["history"]), before);
}

#[test]
fn every_fault_is_told_at_once() {
    let bench = Bench::filled();
    let (text, json) = bench.refused(&[
        "can",
        "add",
        "--stock",
        "nope",
        "--length",
        "x",
        "--core-mm",
        "900",
    ]);
    assert_eq!(text.lines().count(), 12, "{text}");
    let fields: Vec<_> = json["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| e["field"].clone())
        .collect();
    assert_eq!(fields, ["stock", "length", "core_mm"]);
}

#[test]
fn trouble_that_is_not_the_input_has_exit_code_1() {
    let bench = Bench::new();
    let file = bench.folder().join("file");
    std::fs::write(&file, "not a store").unwrap();
    let out = bench.run(&["shelf", "--store", file.to_str().unwrap()]);
    assert_eq!((out.status.code(), out.stdout.len()), (Some(1), 0));
    assert!(String::from_utf8_lossy(&out.stderr).starts_with("Failed: "));
}

#[test]
fn an_empty_store_says_what_to_do_first() {
    let bench = Bench::new();
    assert!(bench.say(&["shelf"]).contains("Begin with a stock"));
    let (_, error) = bench.refused(&["plan"]);
    assert_eq!(error["error"]["kind"], "missing");
}
