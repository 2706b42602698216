//! The field on the command line: cameras, a roll changed mid-roll, frame notes, and a frame found again.

use serde_json::json;

use super::Bench;

/// The filled shelf with two wound rolls.
fn bench() -> Bench {
    let bench = Bench::filled();
    for line in [
        &["wind", "add", "--can", "HM", "--frames", "36"][..],
        &["wind", "add", "--can", "HM", "--frames", "24"],
        &["wind", "1", "done"],
        &["wind", "2", "done"],
        &["camera", "add", "--name", "Walking camera"],
    ] {
        bench.say(line);
    }
    bench
}

#[test]
fn a_roll_goes_into_a_camera_and_out_of_it() {
    let bench = bench();
    assert_eq!(
        bench.say(&["camera", "load", "HM-01", "--ei", "200"]),
        "Put HM-01 in Walking camera, at EI 200.\n"
    );
    let list = bench.ask(&["camera", "list"]);
    assert_eq!(list[0]["holds"]["roll"], "HM-01");
    assert_eq!(list[0]["holds"]["ei"], 200.0);
    assert!(
        bench
            .say(&["camera", "list"])
            .contains("Walking camera  HM-01")
    );
    let (plain, _) = bench.refused(&["camera", "load", "HM-02", "--camera", "walking camera"]);
    assert!(plain.contains("Take that roll out first"), "{plain}");
    bench.say(&["camera", "unload", "HM-01", "--frame", "12"]);
    let again = bench.say(&["camera", "load", "HM-01", "--new-camera", "Box"]);
    assert_eq!(again, "Put HM-01 in Box, to go on at frame 14.\n");
    let show = bench.ask(&["camera", "show", "walking camera"]);
    assert_eq!(show["rolls"][0]["out_frame"], 12);
    assert!(bench.say(&["camera", "show", "Box"]).contains("HM-01"));
    let (plain, _) = bench.refused(&["camera", "close", "Box"]);
    assert!(plain.contains("Take the roll out first"), "{plain}");
    bench.say(&["camera", "change", "Box", "--note", "light seal is old"]);
    bench.say(&["camera", "close", "Walking camera"]);
    assert_eq!(bench.ask(&["camera", "list"]).as_array().unwrap().len(), 1);
    bench.say(&["camera", "close", "Walking camera", "--open"]);
    let story = bench.say(&["history", "--roll", "HM-01"]);
    assert!(
        story.contains("Took HM-01 out of Walking camera after frame 12"),
        "{story}"
    );
}

#[test]
fn frames_are_noted_listed_and_settled() {
    let bench = bench();
    bench.say(&["camera", "load", "HM-01"]);
    let said = bench.say(&[
        "note",
        "add",
        "HM-01",
        "--subject",
        "heron on the weir",
        "--place",
        "mill",
        "--aperture",
        "5.6",
        "--shutter",
        "1/250",
    ]);
    assert_eq!(said, "Noted frame 1 of HM-01: heron on the weir.\n");
    bench.say(&["note", "add", "HM-01", "--same", "--aperture", "8"]);
    let list = bench.ask(&["note", "list", "HM-01"]);
    assert_eq!(list[1]["frame"], "2");
    assert_eq!(
        (&list[1]["aperture"], &list[1]["shutter_s"]),
        (&json!(8.0), &json!(0.004))
    );
    assert!(
        bench
            .say(&["note", "list", "HM-01"])
            .contains("heron on the weir")
    );
    bench.say(&["note", "change", "2", "--subject", "-", "--usable", "no"]);
    let shown = bench.ask(&["note", "show", "2"]);
    assert_eq!(
        (&shown["subject"], &shown["usable"]),
        (&json!(""), &json!(false))
    );

    // The same frame noted once more, otherwise.
    let said = bench.say(&["note", "add", "HM-01", "--frame", "1", "--subject", "stork"]);
    assert!(
        said.contains("another version of it stands beside it"),
        "{said}"
    );
    let shown = bench.ask(&["note", "show", "1"]);
    let other = shown["versions"][0]["id"].to_string();
    assert_eq!(shown["versions"][0]["subject"], "stork");
    assert!(bench.say(&["note", "list"]).contains("HM-01"));
    let text = bench.say(&["note", "show", "1"]);
    assert!(
        text.contains("subject    stork") && text.contains("note settle 1 subject=1"),
        "{text}"
    );
    let (plain, _) = bench.refused(&["note", "settle", "1"]);
    assert!(plain.contains("Choose one."), "{plain}");
    let (plain, _) = bench.refused(&["note", "settle", "1", "subject"]);
    assert!(plain.contains("FIELD=VERSION"), "{plain}");
    bench.say(&["note", "settle", "1", &format!("subject={other}")]);
    assert_eq!(bench.ask(&["note", "show", "1"])["subject"], "stork");
    assert_eq!(
        bench.say(&["note", "list"]),
        "No note waits to be settled.\n"
    );
    bench.say(&["note", "remove", "1"]);
    assert_eq!(
        bench
            .ask(&["note", "list", "HM-01"])
            .as_array()
            .unwrap()
            .len(),
        1
    );
    bench.say(&["undo"]);
    let (plain, json) = bench.refused(&["note", "add", "HM-01", "--shutter", "slow"]);
    assert!(plain.contains("--shutter: an exposure time"), "{plain}");
    assert_eq!(json["error"]["field"], "shutter");
}

#[test]
fn a_frame_is_found() {
    let bench = bench();
    bench.say(&["camera", "load", "HM-01"]);
    bench.say(&[
        "note",
        "add",
        "HM-01",
        "--subject",
        "heron",
        "--place",
        "weir",
        "--taken-at",
        "2026-05-16",
    ]);
    bench.say(&["note", "add", "HM-01", "--subject", "weir in flood"]);
    let found = bench.ask(&["find", "heron weir"]);
    assert_eq!(found["found"][0]["frame"], "1");
    assert_eq!(
        (&found["more"], &found["found"][0]["lies"]),
        (&json!(false), &json!(null))
    );
    assert_eq!(found["found"][0]["camera"], "Walking camera");
    let found = bench.ask(&["find", "--subject", "weir"]);
    assert_eq!(found["found"].as_array().unwrap().len(), 1);
    assert_eq!(found["found"][0]["frame"], "2");
    assert_eq!(
        bench.say(&["find", "kingfisher"]),
        "Nothing was found: try fewer words.\n"
    );
    let (plain, _) = bench.refused(&["find", "--from", "yesterday"]);
    assert!(plain.contains("--from: a date"), "{plain}");
}
