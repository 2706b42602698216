//! Places, purchases and costs on the command line.

use serde_json::json;

use super::Bench;

#[test]
fn places_and_what_lies_in_them() {
    let bench = Bench::filled();
    assert!(bench.say(&["place", "list"]).contains("No place yet"));
    bench.say(&[
        "place",
        "add",
        "--name",
        "Freezer",
        "--kind",
        "freezer",
        "--temperature",
        "-19 C",
    ]);
    bench.say(&["place", "add", "--name", "Cellar", "--kind", "cool"]);
    let said = bench.say(&[
        "place",
        "keep",
        "can",
        "HM",
        "freezer",
        "--since",
        "2026-01-02",
    ]);
    assert_eq!(said, "Put can HM into Freezer on 2 Jan 2026.\n");
    let freezer = &bench.ask(&["place", "show", "freezer"]);
    assert_eq!(freezer["temperature_c"], -19.0);
    assert_eq!(freezer["things"][0]["name"], "HM");
    let of = bench.ask(&["place", "of", "can", "HM"]);
    assert_eq!(
        of["stays"],
        json!([{ "place": "Freezer", "since": "2026-01-02" }])
    );
    assert_eq!(of["going_off"]["state"], "held");
    assert_eq!(of["warm_up"]["hours"], 5.0);
    let plain = bench.say(&["place", "of", "can", "hm"]);
    assert!(plain.contains("before opening: 5 h closed"), "{plain}");
    let warm = bench.ask(&[
        "place",
        "warmup",
        "--package",
        "cassette",
        "--from",
        "freezer",
        "--to",
        "20 C",
    ]);
    assert_eq!(
        (&warm["from_c"], &warm["hours"]),
        (&json!(-19.0), &json!(1.75))
    );
    bench.say(&["place", "change", "cellar", "--humidity", "70"]);
    bench.say(&["place", "close", "Cellar"]);
    assert_eq!(bench.ask(&["place", "list"]).as_array().unwrap().len(), 1);
    assert_eq!(
        bench.ask(&["place", "list", "--all"])[1]["rh_percent"],
        70.0
    );
    bench.say(&["place", "reopen", "Cellar"]);
    bench.say(&["can", "change", "SL", "--expires-on", "2020-01-01"]);
    assert_eq!(bench.ask(&["place", "soon"])[0]["state"], "over");
    for (args, kind) in [
        (&["place", "keep", "can", "HM", "attic"][..], "unknown"),
        (&["place", "keep", "shoe", "HM", "Freezer"], "unknown"),
        (&["place", "of", "can", "ZZ"], "unknown"),
        (&["place", "add", "--name", "freezer"], "conflict"),
        (&["place", "warmup", "--from", "warm"], "out_of_range"),
    ] {
        let (_, json) = bench.refused(args);
        assert_eq!(json["error"]["kind"], kind, "{args:?}");
    }
}

#[test]
fn purchases_and_what_a_frame_came_to() {
    let bench = Bench::filled();
    for line in [
        &["wind", "add", "--can", "HM", "--frames", "36"][..],
        &["wind", "1", "done"],
        &["roll", "move", "HM-01", "scrapped", "--note", "torn"],
        &[
            "purchase",
            "add",
            "--price",
            "25",
            "--quantity",
            "10",
            "--uses-each",
            "20",
        ],
    ] {
        bench.say(line);
    }
    bench.say(&[
        "purchase",
        "change",
        "1",
        "--price",
        "50",
        "--uses-each",
        "-",
    ]);
    assert_eq!(bench.ask(&["purchase", "list"])[0]["price"], 50.0);
    assert!(bench.ask(&["purchase", "list"])[0]["uses_each"].is_null());
    let costs = bench.ask(&["cost"]);
    assert_eq!(costs["all"]["lost_frames"], 36);
    assert_eq!(costs["by_can"][0]["name"], "HM");
    let film = costs["by_stock"][0]["film"]["mid"].as_f64().unwrap();
    assert!((2.5..3.5).contains(&film), "58 for 30 m: {film}");
    assert!(bench.ask(&["cost", "--by", "year"])["by_can"].is_null());
    let text = bench.say(&["cost", "--by", "can"]);
    assert!(text.contains("HM") && text.contains("36"), "{text}");
    let csv = bench.say(&["cost", "--csv", "--by", "can"]);
    assert!(
        csv.starts_with("by,name,rolls,") && csv.lines().count() == 2,
        "{csv}"
    );
    assert!(bench.say(&["cost", "--csv", "--rolls"]).contains("HM-01,"));
    for args in [
        &["cost", "--by", "moon"][..],
        &["cost", "--rolls"],
        &["purchase", "add"],
        &["purchase", "change", "9", "--price", "3"],
    ] {
        bench.refused(args);
    }
}
