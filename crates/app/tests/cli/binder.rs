//! The binder on the command line: formats and binders, a roll cut, filed where it was really cut, moved, taken out.

use serde_json::json;

use super::Bench;

/// The filled shelf with a developed roll HM-01 of 36 frames, HM-02 of 24, and one binder of 7 rows by 5.
fn bench() -> Bench {
    let bench = Bench::filled();
    for line in [
        &["wind", "add", "--can", "HM", "--frames", "36"][..],
        &["wind", "add", "--can", "HM", "--frames", "24"],
        &["wind", "1", "done"],
        &["wind", "2", "done"],
        &["roll", "move", "HM-01", "developed"],
        &[
            "binder",
            "format",
            "add",
            "--name",
            "Seven by five",
            "--rows",
            "7",
            "--frames-per-row",
            "5",
            "--price-each",
            "0.4",
        ],
        &["binder", "add", "--name", "Weir"],
    ] {
        bench.say(line);
    }
    bench
}

#[test]
fn a_developed_roll_is_cut_filed_and_found() {
    let bench = bench();
    // 36 frames in rows of 5: eight strips, none of a single frame, so 4 or 5 each (36 = 4 x 5 + 4 x 4).
    let cut = bench.ask(&["binder", "cut", "HM-01"]);
    let strips = cut["strips"].as_array().unwrap();
    assert_eq!(strips.len(), 8);
    assert!(
        strips
            .iter()
            .all(|s| [4, 5].contains(&s["frames"].as_u64().unwrap()))
    );
    assert_eq!(cut["cuts"].as_array().unwrap().len(), 7);
    assert!(bench.say(&["binder", "cut", "HM-01"]).contains("Cut after"));
    // Eight strips do not fit seven rows: the eighth begins page 2.
    assert_eq!(
        bench.say(&["binder", "file", "HM-01"]),
        "Filed HM-01 in Weir, page 1, rows 1 to 7; page 2, row 1.\n"
    );
    assert_eq!(bench.ask(&["roll", "show", "HM-01"])["state"], "filed");
    bench.say(&[
        "note",
        "add",
        "HM-01",
        "--frame",
        "3",
        "--subject",
        "heron on the weir",
    ]);
    let found = bench.ask(&["find", "heron"]);
    assert_eq!(
        found["found"][0]["lies"],
        json!({ "binder": "Weir", "page": 1, "row": 1, "position": 3 })
    );
    let list = bench.ask(&["binder", "list"]);
    assert_eq!(
        (&list[0]["pages"], &list[0]["strips"]),
        (&json!(2), &json!(8))
    );
    assert!(
        bench
            .say(&["binder", "show", "--page", "2"])
            .contains("33 to 36")
    );
}

#[test]
fn what_was_really_cut_is_filed_and_moved() {
    let bench = bench();
    let line = [
        "binder",
        "file",
        "HM-01",
        "--strips",
        "1-5, 6-9 10-12",
        "--row",
        "3",
    ];
    assert_eq!(
        bench.say(&line),
        "Filed HM-01 in Weir, page 1, rows 3 to 5.\n"
    );
    let (plain, _) = bench.refused(&["binder", "file", "HM-01", "--strips", "1-6"]);
    assert!(plain.contains("7 rows of 5 places"), "{plain}");
    bench.refused(&["binder", "file", "HM-01", "--strips", "6-9, 1-5"]);
    bench.refused(&["binder", "file", "HM-01", "--strips", "heron"]);
    bench.refused(&["binder", "file", "HM-01", "--row", "9"]);
    bench.refused(&["binder", "file", "HM-02"]);
    let said = bench.say(&[
        "binder",
        "move",
        "HM-01",
        "11",
        "--row",
        "1",
        "--position",
        "3",
    ]);
    assert_eq!(
        said,
        "Moved frames 10 to 12 of HM-01 to page 1, row 1, place 3 of Weir.\n"
    );
    let (plain, _) = bench.refused(&["binder", "move", "HM-01", "11", "--row", "3"]);
    assert!(plain.contains("HM-01 lies on page 1, row 3"), "{plain}");
    let (plain, _) = bench.refused(&[
        "binder",
        "move",
        "HM-01",
        "11",
        "--row",
        "1",
        "--position",
        "4",
    ]);
    assert!(plain.contains("places 4 to 6"), "{plain}");
    bench.refused(&["binder", "format", "change", "1", "--rows", "6"]);
    bench.say(&["undo"]);
    assert_eq!(
        bench.ask(&["binder", "show"])["pages"][0]["strips"][2]["row"],
        5
    );
    assert_eq!(
        bench.say(&["binder", "unfile", "HM-01"]),
        "Took HM-01 out of its binder.\n"
    );
    assert_eq!(bench.ask(&["roll", "show", "HM-01"])["state"], "developed");
    bench.refused(&["binder", "unfile", "HM-01"]);
    bench.say(&["binder", "change", "Weir", "--note", "the grey one"]);
    bench.say(&["binder", "close", "Weir"]);
    let (plain, _) = bench.refused(&["binder", "cut", "HM-01"]);
    assert!(plain.contains("Add a binder first"), "{plain}");
}

#[test]
fn several_rolls_are_filed_as_proposed() {
    let bench = bench();
    bench.say(&["roll", "move", "HM-02", "developed"]);
    bench.say(&[
        "binder",
        "format",
        "add",
        "--name",
        "Six by six",
        "--rows",
        "6",
        "--frames-per-row",
        "6",
    ]);
    bench.say(&["binder", "add", "--name", "Mill", "--format", "Six by six"]);
    let (plain, _) = bench.refused(&["binder", "fill"]);
    assert!(plain.contains("Weir, Mill"), "{plain}");
    // 36 and 24 frames in rows of six are six and four rows: a page each.
    let shown = bench.ask(&["binder", "fill", "--binder", "Mill"]);
    assert_eq!(
        (&shown["new_pages"], &shown["proven"]),
        (&json!(2), &json!(true))
    );
    assert_eq!(shown["strips"].as_array().unwrap().len(), 10);
    assert!(
        bench
            .say(&["binder", "fill", "--binder", "Mill"])
            .contains("2 new pages")
    );
    let accept = [
        "binder",
        "fill",
        "--binder",
        "Mill",
        "--accept",
        "--as-shown",
    ];
    let (plain, _) = bench.refused(&[&accept[..], &["0"]].concat());
    assert!(plain.contains("another one than was shown"), "{plain}");
    let mark = shown["mark"].as_str().unwrap();
    assert_eq!(
        bench.say(&[&accept[..], &[mark]].concat()),
        "Filed HM-01, HM-02 in Mill, pages 1, 2.\n"
    );
    bench.refused(&["binder", "fill", "--binder", "Mill"]);
    let (plain, _) = bench.refused(&["binder", "fill", "--binder", "Mill", "--only", "HM-01"]);
    assert!(plain.contains("it lies in a binder"), "{plain}");
    bench.refused(&["binder", "fill", "--binder", "Mill", "--order", "sideways"]);
}
