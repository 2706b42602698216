//! The wet bench on the command line: tanks, reels, times, recipes and baths; a run from its plan to its result.

use serde_json::{Value, json};

use super::Bench;

/// The filled shelf with two exposed rolls, a tank of two reels, a recipe.
fn bench() -> Bench {
    let bench = Bench::filled();
    for line in [
        &["wind", "add", "--can", "HM", "--frames", "36"][..],
        &["wind", "add", "--can", "HM", "--frames", "24"],
        &["wind", "1", "done"],
        &["wind", "2", "done"],
        &["roll", "move", "HM-01", "exposed"],
        &["roll", "move", "HM-02", "exposed"],
        &["reel", "add", "--name", "Steel", "--count", "2"],
        &[
            "tank",
            "add",
            "--name",
            "Short",
            "--reel",
            "steel",
            "--volumes",
            "290 590",
        ],
        &["recipe", "begin", "Negative, one-shot"],
    ] {
        bench.say(line);
    }
    bench
}

/// A refusal of one field, by its option and its kind.
#[track_caller]
fn refused(bench: &Bench, args: &[&str], says: &str, kind: &str) {
    let (plain, json) = bench.refused(args);
    assert!(plain.contains(says), "{args:?}: {plain}");
    assert_eq!(json["error"]["kind"], kind, "{args:?}");
}

/// Changes and puts away under one request count once.
#[track_caller]
fn once(bench: &Bench, args: &[&str]) {
    let entries = |bench: &Bench| bench.ask(&["history"])[0]["entry"].clone();
    let request = args.join(" ");
    let named = [args, &["--request", &request]].concat();
    assert!(!bench.say(&named).contains("Recorded already."), "{args:?}");
    let newest = entries(bench);
    assert!(bench.say(&named).contains("Recorded already."), "{args:?}");
    assert_eq!(entries(bench), newest, "{args:?}");
}

#[test]
fn reels_and_tanks() {
    let bench = bench();
    let reels = bench.ask(&["reel", "list"]);
    assert_eq!(
        reels,
        json!([{ "id": 1, "name": "Steel", "count": 2, "longest_mm": 1650.0, "takes_two": false, "closed": false }])
    );
    bench.say(&[
        "reel",
        "change",
        "1",
        "--takes-two",
        "yes",
        "--longest",
        "1.7 m",
    ]);
    assert_eq!(bench.ask(&["reel", "list"])[0]["longest_mm"], 1700.0);
    once(&bench, &["reel", "add", "--name", "Plastic"]);
    bench.say(&["reel", "close", "2"]);
    assert!(bench.say(&["reel", "list"]).contains("put away"));
    bench.say(&["reel", "reopen", "2"]);
    refused(
        &bench,
        &["reel", "add", "--name", "X", "--longest", "9 km"],
        "--longest",
        "out_of_range",
    );
    refused(
        &bench,
        &["reel", "change", "9", "--count", "2"],
        "reel",
        "unknown",
    );

    let tanks = bench.ask(&["tank", "list"]);
    assert_eq!(
        tanks,
        json!([{ "id": 1, "name": "Short", "reel": 1, "volume_ml": [290.0, 590.0], "closed": false }])
    );
    let text = bench.say(&["tank", "list"]);
    assert!(text.contains("Short") && text.contains("290 590"), "{text}");
    once(&bench, &["tank", "change", "1", "--name", "Shorter"]);
    bench.say(&["tank", "close", "1"]);
    assert_eq!(bench.ask(&["tank", "list"])[0]["closed"], true);
    bench.say(&["tank", "reopen", "1"]);
    refused(
        &bench,
        &[
            "tank",
            "add",
            "--name",
            "Odd",
            "--reel",
            "Steel",
            "--volumes",
            "590 290",
        ],
        "--volumes",
        "inconsistent",
    );
    refused(
        &bench,
        &[
            "tank",
            "add",
            "--name",
            "Odd",
            "--reel",
            "Wood",
            "--volumes",
            "290",
        ],
        "--reel",
        "unknown",
    );
}

#[test]
fn times_of_ones_own() {
    let bench = bench();
    assert!(
        bench
            .say(&["time", "list"])
            .contains("No time of your own yet")
    );
    let add = [
        "time",
        "add",
        "--stock",
        "Harbour Mist 250",
        "--developer",
        "House developer",
        "--dilution",
        "1+9",
    ];
    once(
        &bench,
        &[&add[..], &["--time", "8:20", "--source", "own"]].concat(),
    );
    let time = bench.ask(&["time", "list"])[0].clone();
    assert_eq!(
        (&time["temperature_c"], &time["source"]),
        (&json!(20.0), &json!("own"))
    );
    assert!((time["time_min"].as_f64().unwrap() - 25.0 / 3.0).abs() < 1e-9);
    bench.say(&[
        "time",
        "change",
        "1",
        "--time",
        "9",
        "--note",
        "second sheet",
    ]);
    assert!(bench.say(&["time", "list"]).contains("9:00"));
    assert_eq!(
        bench.say(&["time", "change", "1", "--time", "9"]),
        "It is so already: nothing was changed.\n"
    );
    bench.say(&["time", "close", "1"]);
    assert_eq!(bench.ask(&["time", "list"]), json!([]));
    assert_eq!(bench.ask(&["time", "list", "--all"])[0]["closed"], true);
    bench.say(&["time", "reopen", "1"]);
    refused(
        &bench,
        &[&add[..], &["--time", "8:5"]].concat(),
        "--time",
        "inconsistent",
    );
    refused(
        &bench,
        &[&add[..], &["--time", "8", "--temperature", "95"]].concat(),
        "--temperature",
        "out_of_range",
    );
}

/// What `recipe show --json` prints is what `--steps` reads, whole or its steps alone.
#[test]
fn a_recipe_sent_back_as_it_was_shown_is_no_change() {
    let bench = bench();
    assert!(
        bench
            .say(&["recipe", "begin"])
            .contains("A starting point.")
    );
    let built_in = bench.ask(&["recipe", "begin"]);
    assert!(built_in.as_array().unwrap().len() >= 8);
    for one in built_in.as_array().unwrap() {
        let name = one["name"].as_str().unwrap();
        if name != "Negative, one-shot" {
            bench.say(&["recipe", "begin", name]);
        }
        let shown = bench.ask(&["recipe", "show", name]);
        for (file, value) in [("whole.json", &shown), ("steps.json", &shown["steps"])] {
            let file = bench.folder().join(file);
            std::fs::write(&file, value.to_string()).unwrap();
            let said = bench.say(&["recipe", "change", name, "--steps", file.to_str().unwrap()]);
            assert_eq!(said, "It is so already: nothing was changed.\n", "{name}");
        }
    }
    refused(
        &bench,
        &["recipe", "begin", "Negative, one-shot"],
        "recipe",
        "conflict",
    );
    refused(
        &bench,
        &["recipe", "begin", "Something else"],
        "recipe",
        "unknown",
    );
}

#[test]
fn a_recipe_is_added_from_a_file_changed_and_put_away() {
    let bench = bench();
    let write = |steps: Value| {
        let file = bench.folder().join("mine.json");
        std::fs::write(&file, steps.to_string()).unwrap();
        file.to_str().unwrap().to_owned()
    };
    let good = json!([
        { "kind": "developer", "time": "9:30", "time_from": "film", "temperature": "20 C", "first_s": "30", "every_s": "60", "for_s": "5" },
        { "kind": "wash", "time": "5 s" },
        { "kind": "fixer", "time": "4" },
    ]);
    let file = write(good.clone());
    once(
        &bench,
        &[
            "recipe",
            "add",
            "--name",
            "Mine",
            "--developer",
            "House brew",
            "--steps",
            &file,
        ],
    );
    let text = bench.say(&["recipe", "show", "mine"]);
    assert!(
        text.contains("Mine: negative, House brew") && text.contains("0:05"),
        "{text}"
    );
    bench.say(&[
        "recipe",
        "change",
        "Mine",
        "--name",
        "Ours",
        "--tolerance",
        "8",
    ]);
    let shown = bench.ask(&["recipe", "show", "ours"]);
    assert_eq!(
        (&shown["tolerance"], &shown["steps"][2]["kind"]),
        (&json!(0.08), &json!("fixer"))
    );
    bench.say(&["recipe", "close", "Ours"]);
    assert_eq!(bench.ask(&["recipe", "list"]).as_array().unwrap().len(), 1);
    assert_eq!(
        bench
            .ask(&["recipe", "list", "--all"])
            .as_array()
            .unwrap()
            .len(),
        2
    );
    bench.say(&["recipe", "reopen", "Ours"]);

    let mut fixed_first = good.clone();
    fixed_first.as_array_mut().unwrap().swap(0, 2);
    let mut hasty = good.clone();
    hasty[0]["time"] = json!("5 s");
    for (steps, says, kind) in [
        (fixed_first, "order of the steps", "inconsistent"),
        (hasty, "a developing time", "out_of_range"),
        (json!([]), "developing step", "missing"),
        (json!({ "steps": "none" }), "--steps", "unknown"),
        (json!("steps"), "--steps", "unknown"),
    ] {
        let file = write(steps);
        refused(
            &bench,
            &["recipe", "change", "Ours", "--steps", &file],
            says,
            kind,
        );
    }
    let nowhere = bench.folder().join("none.json");
    let out = bench.run(&[
        "recipe",
        "change",
        "Ours",
        "--steps",
        nowhere.to_str().unwrap(),
    ]);
    assert!(!out.status.success() && out.stdout.is_empty());
}

#[test]
fn baths_and_what_befell_them() {
    let bench = bench();
    assert!(bench.say(&["bath", "list"]).contains("No bath yet"));
    let add = [
        "bath",
        "add",
        "--name",
        "Brown bottle",
        "--kind",
        "fixer",
        "--volume",
        "1 l",
    ];
    once(&bench, &add);
    once(
        &bench,
        &["bath", "note", "1", "--what", "clearing", "--value", "60"],
    );
    let bath = bench.ask(&["bath", "show", "1"]);
    // [D9]: twice the clearing time.
    assert_eq!(
        (&bath["verdict"], &bath["fixing_time_s"]),
        (&json!("use"), &json!(120.0))
    );
    bench.say(&["bath", "note", "1", "--what", "run", "--value", "4"]);
    bench.say(&[
        "bath", "note", "1", "--what", "clearing", "--value", "120 s",
    ]);
    // [D10]: dead when it has doubled.
    let text = bench.say(&["bath", "show", "1", "--films", "2"]);
    assert!(
        text.contains("verdict: mix new") && text.contains("for the next load: replace"),
        "{text}"
    );
    assert!(bench.say(&["bath", "list"]).contains("mix new"));
    // A bath whose limits nobody gave is not said to be good, and one that is owed replenisher says how much.
    bench.say(&[
        "bath", "add", "--name", "Bleach", "--kind", "bleach", "--volume", "1 l",
    ]);
    bench.say(&["bath", "note", "2", "--what", "run", "--value", "9"]);
    assert!(
        bench
            .say(&["bath", "show", "2"])
            .contains("verdict: not known")
    );
    let bleach = bench.ask(&["bath", "show", "2"]);
    assert_eq!(
        (&bleach["verdict"], &bleach["said"]),
        (&json!("use"), &json!("not known"))
    );
    bench.say(&["bath", "close", "2"]);
    let fed = [
        "--usage",
        "replenished",
        "--replenisher",
        "30 ml",
        "--volume",
        "1 l",
    ];
    bench.say(&[&["bath", "add", "--name", "Fed"][..], &fed].concat());
    bench.say(&["bath", "note", "3", "--what", "run", "--value", "2"]);
    assert!(
        bench
            .say(&["bath", "show", "3"])
            .contains("replenisher owed: 60 ml")
    );
    bench.say(&["bath", "close", "3"]);
    bench.say(&["bath", "change", "1", "--note", "under the sink"]);
    assert_eq!(bench.ask(&["bath", "show", "1"])["note"], "under the sink");
    bench.say(&["bath", "close", "1"]);
    assert_eq!(bench.ask(&["bath", "list"]), json!([]));
    let all = bench.ask(&["bath", "list", "--all"]);
    assert!(all.as_array().unwrap().iter().all(|b| b["closed"] == true));
    bench.say(&["bath", "reopen", "1"]);
    for (args, says) in [
        (
            &["bath", "add", "--name", "X", "--volume", "0"][..],
            "--volume",
        ),
        (
            &["bath", "note", "1", "--what", "clearing", "--value", "soon"],
            "--value",
        ),
        (&["bath", "note", "1", "--what", "sneezed"], "--what"),
    ] {
        let (plain, _) = bench.refused(args);
        assert!(plain.contains(says), "{args:?}: {plain}");
    }
    refused(&bench, &["bath", "show", "7"], "bath", "unknown");
}

/// The command that a plan prints loads the tank it proposes.
fn loaded(bench: &Bench) {
    let plan = bench.say(&["wet", "plan"]);
    let line = plan
        .lines()
        .find(|l| l.contains("spoolwright wet load"))
        .expect(&plan);
    let parts: Vec<&str> = line.trim().split('"').collect();
    let [words, reels, more] = parts[..] else {
        panic!("{line}");
    };
    let words = words.split_whitespace().skip(1);
    let args: Vec<&str> = words
        .chain([reels])
        .chain(more.split_whitespace())
        .collect();
    bench.say(&args);
}

#[test]
fn a_run_from_its_plan_to_its_result() {
    let bench = bench();
    let waits = bench.ask(&["wet", "waits"]);
    assert_eq!(
        (&waits[0]["roll"], &waits[1]["roll"]),
        (&json!("HM-01"), &json!("HM-02"))
    );
    assert!(bench.say(&["wet", "waits"]).contains("HM-02"));
    let plan = bench.ask(&["wet", "plan"]);
    assert_eq!(plan["runs"].as_array().unwrap().len(), 1, "{plan}");
    assert_eq!(plan["proven"], true);
    loaded(&bench);
    assert!(bench.say(&["wet", "waits"]).contains("Nothing waits"));
    let run = bench.ask(&["wet", "show", "1"]);
    assert_eq!(
        (&run["state"], &run["volume_ml"]),
        (&json!("planned"), &json!(590.0))
    );

    bench.say(&["wet", "press", "1", "reading", "--value", "24"]);
    assert!(
        bench
            .say(&["wet", "show", "1"])
            .contains("in its bottle: 24 °C (75 °F)")
    );
    once(&bench, &["wet", "press", "1", "begin"]);
    let clock = bench.ask(&["wet", "show", "1"])["clock"].clone();
    assert_eq!(
        (&clock["step"], &clock["readings"]),
        (&json!(1), &json!([{ "t_s": 0.0, "c": 24.0 }]))
    );
    // [D3]: 8 min at 20 °C are 8 × 0.693 at 24 °C.
    let ends_min = clock["ends_s"].as_f64().unwrap() / 60.0;
    assert!((ends_min - 8.0 * 0.693).abs() < 0.01, "{ends_min}");
    let text = bench.say(&["wet", "show", "1"]);
    assert!(
        text.contains(">  1. Developer") && text.contains("left"),
        "{text}"
    );

    for (args, says, kind) in [
        (&["begin", "--step", "1"][..], "the run's clock", "conflict"),
        (&["begin", "--step", "9"], "--step", "out_of_range"),
        (&["finish"], "the run's clock", "conflict"),
        (&["resume"], "the run's clock", "conflict"),
        (&["reading", "--value", "95"], "--value", "out_of_range"),
        (
            &["extend", "--value", "-9 min"],
            "the time of Developer",
            "out_of_range",
        ),
        (&["out"], "--note", "missing"),
        (&[], "what happened", "missing"),
        (&["jump"], "jump", "unknown"),
    ] {
        refused(&bench, &[&["wet", "press", "1"], args].concat(), says, kind);
    }
    bench.say(&["wet", "press", "1", "out", "--note", "telephone"]);
    assert!(
        bench
            .say(&["wet", "show", "1"])
            .contains("paused: the bath is out")
    );
    assert_eq!(bench.ask(&["wet", "show", "1"])["clock"]["pause"], "out");
    for press in [
        &["resume"][..],
        &["quiet", "--note", "hands busy"],
        &["resume"],
        &["extend", "--value", "-30"],
    ] {
        bench.say(&[&["wet", "press", "1"], press].concat());
    }
    for _ in 1..7 {
        bench.say(&["wet", "press", "1", "begin"]);
    }
    once(&bench, &["wet", "press", "1", "finish"]);
    assert_eq!(bench.ask(&["roll", "show", "HM-01"])["state"], "developed");
    let result = [
        "wet",
        "result",
        "1",
        "HM-01",
        "--usable",
        "35",
        "--fogged-end",
        "1",
        "--exposure",
        "under",
    ];
    bench.say(&result);
    assert!(
        bench
            .say(&["wet", "show", "1"])
            .contains("HM-01: 35 usable, under")
    );
    let runs = bench.ask(&["wet", "list"]);
    assert_eq!(runs[0]["rolls"][0]["usable"], 35);
    assert!(bench.say(&["wet", "list"]).contains("done"));
    refused(
        &bench,
        &["wet", "result", "1", "HM-01", "--usable", "99"],
        "--usable",
        "out_of_range",
    );
    refused(
        &bench,
        &["wet", "result", "1", "SL-01", "--usable", "9"],
        "SL-01",
        "unknown",
    );
    refused(&bench, &["wet", "show", "9"], "run", "unknown");
    refused(
        &bench,
        &[
            "wet", "load", "--recipe", "1", "--tank", "1", "--reels", "HM-01",
        ],
        "HM-01",
        "conflict",
    );
    refused(
        &bench,
        &["wet", "load", "--recipe", "1", "--tank", "1", "--reels", ""],
        "reel",
        "missing",
    );
}

#[test]
fn a_press_is_taken_back() {
    let bench = bench();
    loaded(&bench);
    bench.say(&["wet", "press", "1", "begin"]);
    bench.say(&["wet", "press", "1", "begin"]);
    bench.say(&["undo"]);
    let clock = bench.ask(&["wet", "show", "1"])["clock"].clone();
    assert_eq!(clock["step"], 1);
    bench.say(&["wet", "press", "1", "abandon", "--note", "light leak"]);
    // The developer was in: the film does not wait any more, until that is taken back too.
    let waits = |bench: &Bench| bench.say(&["wet", "waits"]).contains("HM-01");
    assert!(!waits(&bench));
    bench.say(&["undo"]);
    assert_eq!(bench.ask(&["wet", "show", "1"])["clock"]["step"], 1);
}
