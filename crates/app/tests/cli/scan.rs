//! Scans on the command line: looked at, recorded, written beside, listed.

use std::fs;

use super::{Bench, scan_picture};

#[test]
fn a_folder_is_looked_at_recorded_and_written_beside() {
    let bench = Bench::filled();
    for line in [
        &["wind", "add", "--can", "HM", "--frames", "36"][..],
        &["wind", "1", "done"],
        &[
            "note",
            "add",
            "HM-01",
            "--frame",
            "2",
            "--subject",
            "heron on the weir",
        ],
    ] {
        bench.say(line);
    }
    let folder = bench.folder().join("scans");
    fs::create_dir(&folder).unwrap();
    let image = scan_picture::png(false);
    for name in ["a1.png", "a2.png", "a10.png"] {
        fs::write(folder.join(name), &image).unwrap();
    }
    let scans = folder.to_str().unwrap();
    let text = bench.say(&["scan", "match", "HM-01", scans]);
    assert!(text.contains("a10.png      3  matched"), "{text}");
    assert!(text.contains("--record"), "{text}");
    assert!(
        bench
            .say(&["scan", "list", "HM-01"])
            .contains("No scan of it")
    );
    let looked = bench.ask(&["scan", "match", "HM-01", scans, "--by", "number"]);
    assert_eq!(looked["files"][2]["frame"], "10");

    let told = bench.say(&[
        "scan",
        "match",
        "HM-01",
        scans,
        "--record",
        "--request",
        "one",
    ]);
    assert!(told.ends_with("to frames 1 to 3 of HM-01.\n"), "{told}");
    let again = bench.say(&[
        "scan",
        "match",
        "HM-01",
        scans,
        "--record",
        "--request",
        "one",
    ]);
    assert_eq!(again, "Recorded already.\n");
    assert_eq!(
        bench.say(&["scan", "write", "HM-01"]),
        "Wrote 3 sidecars for HM-01.\n"
    );
    fs::write(folder.join("a1.xmp"), "mine").unwrap();
    let written = bench.ask(&["scan", "write", "HM-01"]);
    assert_eq!(written["made"]["unchanged"], 2);
    assert_eq!(written["made"]["left"][0]["name"], "a1.xmp");
    let list = bench.ask(&["scan", "list", "HM-01"]);
    assert_eq!(list[0]["sidecar"], "foreign");
    assert!(
        bench
            .say(&["scan", "list", "HM-01"])
            .contains("heron on the weir  current")
    );
    assert!(
        fs::read_to_string(folder.join("a2.xmp"))
            .unwrap()
            .contains("heron on the weir")
    );
    assert_eq!(fs::read(folder.join("a2.png")).unwrap(), image);
    let gone = bench.say(&["scan", "remove", "1"]);
    assert!(
        gone.contains("no longer the scan of frame 1 of HM-01"),
        "{gone}"
    );

    let (plain, _) = bench.refused(&["scan", "match", "HM-01", "/no/such/folder"]);
    assert!(plain.contains("Check how it is written"), "{plain}");
    let (plain, _) = bench.refused(&["scan", "write", "HM-09"]);
    assert!(plain.contains("HM-09"), "{plain}");
}
