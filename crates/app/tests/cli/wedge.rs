//! The wedge bench on the command line: what a test says of its roll and cuts, what is changed, refused and confirmed.

use serde_json::json;

use super::Bench;

/// Strips through the wedge over these times: a toe and a straight line, made up.
fn table(times: &[f64]) -> String {
    let mut text = String::from("step");
    for t in times {
        text.push_str(&format!(",{t}"));
    }
    for step in 0..21 {
        let wedge = 0.05 + 0.15 * f64::from(step);
        text.push_str(&format!("\n{wedge:.2}"));
        for t in times {
            let slope = 1.1 * (1.0 - (-0.12 * t).exp());
            let along = (5.0 * (2.3 - wedge)).exp().ln_1p() / 5.0;
            text.push_str(&format!(",{:.3}", 0.2 + slope * along));
        }
    }
    text + "\n"
}

fn through_the_wedge(bench: &Bench) {
    let exposed = ["--way", "absolute", "--log-h-at-zero-density", "0.1"];
    let begin = ["wedge", "begin", "--name", "grey", "--stock", "Slate 100"];
    bench.say(&[&begin[..], &exposed].concat());
    read(bench, &[5.0, 8.0, 12.0]);
}

fn read(bench: &Bench, times: &[f64]) {
    let file = bench.folder().join("strips.csv");
    std::fs::write(&file, table(times)).unwrap();
    bench.say(&["wedge", "read", "grey", "--file", file.to_str().unwrap()]);
}

#[test]
fn a_test_in_camera_says_its_roll_and_where_to_cut_it() {
    let bench = Bench::filled();
    let story = bench.say(&[
        "wedge",
        "begin",
        "--can",
        "HM",
        "--name",
        "grey",
        "--times",
        "5 8:20 12",
    ]);
    assert_eq!(
        story,
        "Began the test grey. Queued its roll HM-01: 35 frames.\n"
    );
    let shown = bench.say(&["wedge", "show", "grey"]);
    // [G4]: 38 mm a frame; 4 clicks of leader and 12 frames are 608 mm; half a frame is 19 mm.
    for words in [
        "Cut after frame 12: 608 mm from the tip of the leader, 19 mm either way. What comes before: 5 min.",
        "Cut after frame 24: 1064 mm from the tip of the leader, 19 mm either way. What comes before: 8:20 min.",
        "What is left, up to the spool: 12 min.",
        "frame 1 beginning 152 mm from the tip",
    ] {
        assert!(shown.contains(words), "no {words:?} in\n{shown}");
    }
    let told = bench.ask(&["wedge", "show", "grey"]);
    assert_eq!(told["cuts"][1]["after_frame"], 24);
}

#[test]
fn a_test_is_changed_and_its_card_says_so() {
    let bench = Bench::filled();
    through_the_wedge(&bench);
    bench.say(&["wedge", "card", "grey"]);
    assert_eq!(bench.ask(&["card", "show", "1"])["outdated"], json!(null));
    bench.say(&[
        "wedge",
        "change",
        "grey",
        "--note",
        "wall",
        "--dilution",
        "1+9",
    ]);
    let told = bench.ask(&["wedge", "show", "grey"]);
    assert_eq!(
        (&told["dilution"], &told["note"]),
        (&json!("1+9"), &json!("wall"))
    );
    bench.say(&[
        "wedge",
        "change",
        "grey",
        "--log-h-at-zero-density",
        "0.4",
        "--temperature",
        "68 F",
        "--note",
        "-",
    ]);
    let told = bench.ask(&["wedge", "show", "grey"]);
    assert_eq!(
        (&told["temperature_c"], &told["note"]),
        (&json!(20.0), &json!(""))
    );
    const CHANGED: &str =
        "The test was changed after this card was saved (the exposure, the bath): save a new card.";
    for verb in [&["wedge", "show", "grey"][..], &["card", "show", "1"]] {
        let shown = bench.say(verb);
        assert!(shown.contains(CHANGED), "{shown}");
    }
    let listed = bench.say(&["card", "list", "Slate 100"]);
    assert!(listed.contains("its test was changed since"), "{listed}");
}

/// A bare --sure is a yes, wherever it stands.
#[test]
fn being_sure_needs_no_value() {
    let bench = Bench::filled();
    through_the_wedge(&bench);
    let far = [
        "wedge",
        "card",
        "grey",
        "--measure",
        "gamma",
        "--contrast",
        "0.95",
    ];
    let (text, _) = bench.refused(&far);
    assert!(text.starts_with("--sure: "), "{text}");
    bench.say(&[
        "wedge",
        "card",
        "--sure",
        "grey",
        "--measure",
        "gamma",
        "--contrast",
        "0.95",
    ]);
    bench.say(&[&far[..], &["--sure=yes"]].concat());
}

#[test]
fn faults_of_a_file_are_the_files() {
    let bench = Bench::filled();
    through_the_wedge(&bench);
    let file = bench.folder().join("bad.csv");
    std::fs::write(&file, "step,8 min 20\n0.05,1.3\n").unwrap();
    let path = file.to_str().unwrap();
    let (text, json) = bench.refused(&["wedge", "read", "grey", "--file", path]);
    assert!(text.starts_with("--file: a developing time"), "{text}");
    assert_eq!(json["error"]["field"], "file");
    let (text, _) = bench.refused(&[
        "wedge",
        "read",
        "grey",
        "--table",
        "step,8 min 20\n0.05,1.3\n",
    ]);
    assert!(text.starts_with("--table: "), "{text}");
}

#[test]
fn strips_are_named_by_their_times_as_they_are_told() {
    let bench = Bench::filled();
    through_the_wedge(&bench);
    read(&bench, &[25.0 / 3.0]);
    let shown = bench.say(&["wedge", "show", "grey"]);
    assert!(
        shown.contains("8:20 ") && !shown.contains("8.333"),
        "{shown}"
    );
    assert!(shown.contains("read were strips of 8:20 min"), "{shown}");
    let story = bench.say(&["wedge", "leave-out", "grey", "8 min 20 s"]);
    assert_eq!(story, "Left out the 8:20 min strip of the test grey.\n");
    let (text, _) = bench.refused(&["wedge", "leave-out", "grey", "8:2"]);
    assert!(text.contains("two digits"), "{text}");
}

/// One EI: the one in force; the one entered stands beside it only where it differs.
#[test]
fn stocks_are_listed_with_the_ei_in_force() {
    let bench = Bench::filled();
    assert!(!bench.say(&["stock", "list"]).contains("entered"));
    through_the_wedge(&bench);
    bench.say(&["wedge", "card", "grey", "--ei", "64"]);
    let listed = bench.say(&["stock", "list"]);
    let of = |name: &str| {
        listed
            .lines()
            .find(|l| l.contains(name))
            .unwrap()
            .to_owned()
    };
    assert!(of("Slate 100").contains("64 (entered: 100)"), "{listed}");
    assert!(of("Harbour Mist").contains(" 250  ") && !of("Harbour Mist").contains("entered"));
    let told = bench.ask(&["stock", "list"]);
    assert_eq!(
        (&told[1]["ei"], &told[1]["ei_entered"]),
        (&json!(64.0), &json!(100.0))
    );
}

#[test]
fn a_colour_stock_has_one_combined_speed() {
    let bench = Bench::filled();
    bench.say(&[
        "stock",
        "add",
        "--name",
        "Tint",
        "--process",
        "colour-negative",
    ]);
    bench.say(&[
        "wedge",
        "begin",
        "--name",
        "grey",
        "--stock",
        "Tint",
        "--way",
        "absolute",
        "--log-h-at-zero-density",
        "0.1",
    ]);
    let file = bench.folder().join("strips.csv");
    let three = table(&[8.0, 8.1, 8.2]).replace("step,8,8.1,8.2", "step,8 red,8 green,8 blue");
    std::fs::write(&file, three).unwrap();
    bench.say(&["wedge", "read", "grey", "--file", file.to_str().unwrap()]);
    let shown = bench.say(&["wedge", "show", "grey"]);
    assert!(shown.contains("layers together\n8 min: speed "), "{shown}");
    assert!(shown.contains("from memory"), "{shown}");
    let told = bench.ask(&["wedge", "show", "grey"]);
    assert!(
        told["combined"]["strips"][0]["speed"]["value"]
            .as_f64()
            .unwrap()
            > 1.0
    );
}
