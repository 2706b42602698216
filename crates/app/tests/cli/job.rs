//! From a closed can to wound, labelled cassettes, and back by undo.

use serde_json::json;

use super::Bench;

#[test]
fn from_a_closed_can_to_wound_cassettes() {
    let bench = Bench::filled();
    let can = bench.ask(&["can", "show", "HM"]);
    // 100 ft are 30.48 m by definition of the foot.
    assert!((can["remaining_m"]["mean"].as_f64().unwrap() - 30.48).abs() < 1e-6);

    let text = bench.say(&["can", "weigh", "hm", "402"]);
    assert!(
        text.starts_with("Weighed can HM closed: 402 g.\nLeft in HM: "),
        "{text}"
    );

    let plan = bench.ask(&["plan"]);
    let frames: Vec<_> = plan["rolls"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| (&r["can"], &r["frames"]))
        .collect();
    assert_eq!(
        frames,
        [
            (&json!("HM"), &json!(36)),
            (&json!("HM"), &json!(18)),
            (&json!("SL"), &json!(24))
        ]
    );
    let head = plan["head"].to_string();
    assert!(
        bench
            .say(&["plan", "accept", "--head", &head])
            .contains("3 rolls")
    );

    let queue = bench.ask(&["wind"]);
    assert_eq!(queue[0]["label"], "HM-01");
    assert_eq!(
        (&queue[0]["clicks"], &queue[0]["dial_stop"]),
        (&json!(42), &json!(38))
    );
    assert_eq!(
        (&queue[1]["clicks"], &queue[1]["dial_stop"]),
        (&json!(24), &json!(20))
    );

    bench.say(&["wind", "HM-01", "done", "--cassette", "1"]);
    let story = bench.say(&["wind", "2", "stopped-at", "19", "--cassette", "2"]);
    assert_eq!(
        story,
        "Wound HM-02: 13 frames, 19 clicks, into cassette 2.\n"
    );
    let story = bench.say(&[
        "wind",
        "SL-01",
        "ran-out",
        "11",
        "--sure",
        "--cassette",
        "3",
    ]);
    assert!(
        story.contains("5 frames") && story.contains("Can SL ran out"),
        "{story}"
    );
    assert_eq!(bench.ask(&["wind"]), json!([]));

    let rolls = bench.ask(&["roll", "list", "--state", "wound"]);
    let labels: Vec<_> = rolls
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["label"].clone())
        .collect();
    assert_eq!(labels, ["HM-01", "HM-02", "SL-01"]);
    let left = bench.ask(&["can", "show", "HM"])["remaining_m"]["mean"]
        .as_f64()
        .unwrap();
    // 42 + 19 clicks of 38 mm and twice 95 mm uncounted [G5].
    assert!(
        (left - (30.48 - 61.0 * 0.038 - 0.19)).abs() < 0.01,
        "{left}"
    );
    let ready = bench.ask(&["cassette", "list", "--ready"]);
    assert_eq!(ready.as_array().unwrap().len(), 3);

    bench.say(&["roll", "move", "HM-01", "in-camera"]);
    bench.say(&["roll", "move", "hm-01", "exposed"]);
    assert_eq!(bench.ask(&["roll", "show", "HM-01"])["state"], "exposed");
    bench.say(&["roll", "correct", "HM-02", "--clicks", "20"]);
    assert_eq!(bench.ask(&["roll", "show", "HM-02"])["frames"], 14);
    let shelf = bench.ask(&["shelf"]);
    assert_eq!(shelf["rolls"], json!({ "exposed": 1, "wound": 2 }));
}

#[test]
fn every_change_can_be_undone() {
    let bench = Bench::filled();
    bench.say(&["plan", "accept"]);
    let before = bench.ask(&["shelf"]);
    bench.say(&["wind", "1", "done", "--cassette", "1"]);
    bench.say(&["undo"]);
    let mut after = bench.ask(&["shelf"]);
    after["entry"] = before["entry"].clone();
    assert_eq!(after, before);

    let story = bench.say(&["history", "--can", "HM"]);
    assert!(
        story
            .lines()
            .nth(1)
            .is_some_and(|l| l.contains("Undid: Wound HM-01")),
        "{story}"
    );
    let entries = bench.ask(&["history"]);
    assert_eq!(entries[0]["undoes"], entries[1]["entry"]);
    assert_eq!(entries[1]["undone"], true);
}

#[test]
fn the_same_request_again_changes_nothing() {
    let bench = Bench::filled();
    bench.say(&["plan", "accept"]);
    let once = ["wind", "1", "done", "--cassette", "1", "--request", "7f3a"];
    assert!(bench.say(&once).starts_with("Wound HM-01"));
    assert_eq!(bench.say(&once), "Recorded already.\n");
    assert_eq!(bench.ask(&["roll", "list"]).as_array().unwrap().len(), 1);
}

#[test]
fn a_plan_that_has_gone_stale_is_refused() {
    let bench = Bench::filled();
    let head = bench.ask(&["plan"])["head"].to_string();
    bench.say(&["can", "weigh", "HM", "402"]);
    let (_, error) = bench.refused(&["plan", "accept", "--head", &head]);
    assert_eq!(error["error"]["kind"], "conflict");
}

#[test]
fn feet_in_feet_out() {
    let bench = Bench::filled();
    bench.say(&["settings", "set", "--feet", "yes", "--currency", "kr"]);
    assert!(bench.say(&["can", "list"]).contains("100.0 ft"));
    bench.say(&[
        "can",
        "add",
        "--stock",
        "Slate 100",
        "--letters",
        "LONG",
        "--length",
        "400",
    ]);
    let can = bench.ask(&["can", "show", "LONG"]);
    assert!((can["remaining_m"]["mean"].as_f64().unwrap() - 121.92).abs() < 1e-6);
    let parts = bench.ask(&["can", "break", "LONG", "100ft 30.48m"]);
    let outer = |i: usize| parts["parts"][i]["outer_diameter_mm"].as_f64().unwrap();
    assert!(
        (outer(0) - outer(1)).abs() < 1e-6
            && parts["parts"][1]["length_m"]["sd"].as_f64().unwrap() > 0.1
    );
    bench.say(&["can", "break", "LONG", "100 100", "--done"]);
    assert_eq!(bench.ask(&["can", "list"]).as_array().unwrap().len(), 5);
}

#[test]
fn a_backup_is_a_store() {
    let bench = Bench::filled();
    let copy = bench.folder().join("copy.sqlite");
    let copy = copy.to_str().unwrap();
    bench.say(&["backup", copy]);
    let theirs = bench.ask(&["shelf", "--store", copy]);
    assert_eq!(theirs, bench.ask(&["shelf"]));
    assert_eq!(
        bench.run(&["backup", copy]).stdout.len(),
        0,
        "never over another file"
    );
}

#[test]
fn every_reading_verb_answers_in_json() {
    let bench = Bench::filled();
    for verb in [
        &["shelf"][..],
        &["stock", "list"],
        &["can", "list", "--all"],
        &["can", "show", "SL"],
        &["loader", "list"],
        &["cassette", "list"],
        &["want", "list"],
        &["plan"],
        &["plan", "show"],
        &["wind"],
        &["wind", "list"],
        &["roll", "list"],
        &["history"],
        &["settings"],
        &["can", "break", "HM", "10m 10m"],
    ] {
        let text = bench.say(verb);
        assert!(!text.trim().is_empty(), "{verb:?}");
        bench.ask(verb);
    }
}

#[test]
fn what_was_entered_can_be_changed_field_by_field() {
    let bench = Bench::filled();
    bench.say(&[
        "stock",
        "change",
        "Slate 100",
        "--ei",
        "80",
        "--note",
        "old box",
    ]);
    bench.say(&["stock", "change", "Slate 100", "--note", "-"]);
    let stock = bench.ask(&["stock", "list"])[1].clone();
    assert_eq!(
        (&stock["name"], &stock["ei"], &stock["note"]),
        (&json!("Slate 100"), &json!(80.0), &json!(""))
    );
    bench.say(&["can", "change", "SL", "--package", "tin", "--tare-g", "131"]);
    let can = bench.ask(&["can", "show", "SL"]);
    assert_eq!(
        (&can["package"], &can["price"]),
        (&json!("tin"), &json!(20.0))
    );
    assert!((can["length_m"]["mean"].as_f64().unwrap() - 12.5).abs() < 1e-6);
    bench.say(&["loader", "change", "grey box", "--leader-clicks", "5"]);
    let loader = bench.ask(&["loader", "list"])[0].clone();
    assert_eq!(
        (&loader["leader_clicks"], &loader["loader"]["zero_offset"]),
        (&json!(5), &json!(-4))
    );
    bench.say(&["cassette", "change", "3", "--label", "red", "--retired"]);
    let red = bench.ask(&["cassette", "list", "--all"])[2].clone();
    assert_eq!(
        (&red["label"], &red["retired"]),
        (&json!("red"), &json!(true))
    );
    bench.say(&["want", "change", "1", "--frames", "36"]);
    let want = bench.ask(&["want", "list"])[0].clone();
    assert_eq!(
        (&want["what_for"], &want["frames"], &want["priority"]),
        (&json!("the ferry"), &json!(36), &json!(1))
    );
}

#[test]
fn a_change_of_nothing_is_told_so() {
    let bench = Bench::filled();
    let before = bench.ask(&["history"]);
    for change in [
        &["settings", "set"][..],
        &["stock", "change", "Slate 100", "--ei", "100"],
    ] {
        let said = bench.say(change);
        assert_eq!(said, "It is so already: nothing was changed.\n");
    }
    assert_eq!(bench.ask(&["history"]), before);
}

/// A verb's own options stand together, before those that every verb takes.
#[test]
fn help_shows_the_options_of_the_verb_first() {
    let help = Bench::new().say(&["stock", "add", "--help"]);
    let options: Vec<&str> = help
        .lines()
        .filter_map(|line| line.trim().strip_prefix("--"))
        .filter_map(|line| line.split(' ').next())
        .collect();
    assert_eq!(options[..2], ["name", "ei"]);
    assert_eq!(options[options.len() - 3..], ["json", "request", "store"]);
}

#[test]
fn an_empty_weighing_teaches_the_tare() {
    let bench = Bench::filled();
    let sd = || {
        bench.ask(&["can", "show", "HM"])["tare_g"]["sd"]
            .as_f64()
            .unwrap()
    };
    let before = sd();
    assert!(
        bench
            .say(&["can", "weigh", "HM", "131", "--empty"])
            .starts_with("Weighed can HM without film")
    );
    assert!(before > 10.0 && sd() < 2.0, "{before} to {}", sd());
}
