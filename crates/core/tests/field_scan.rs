//! Names of scans and the frames they mean. Cases are written out by hand: common practice of scanners and people, no
//! source.

use std::collections::BTreeSet;

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::scan::{
    LONGEST_PATTERN, Pattern, in_order, listed, natural, numbered, stem,
};

fn told(frame: Option<Frame>) -> String {
    frame.map(|f| f.to_string()).unwrap_or_default()
}

#[test]
fn names_are_ordered_as_a_person_counts() {
    let mut names = [
        "scan10", "Scan2", "scan1", "scan02", "scan", "b1", "scan2b", "scan2a",
    ];
    names.sort_by(|a, b| natural(a, b));
    assert_eq!(
        names,
        [
            "b1", "scan", "scan1", "Scan2", "scan02", "scan2a", "scan2b", "scan10"
        ]
    );
    assert_eq!(stem("HM-07_12.tif"), "HM-07_12");
    assert_eq!(
        (stem("a.b.tif"), stem(".tif"), stem("a")),
        ("a.b", ".tif", "a")
    );
}

#[test]
fn the_last_number_in_a_name_is_the_frame() {
    for (name, frame) in [
        ("12", "12"),
        ("HM-07_012", "12"),
        ("HM-07_12A", "12A"),
        ("HM-07_12a_edit", "12A"),
        ("HM-07 12 after", "12"),
        ("12apples", "12"),
        ("frame00", "00"),
        ("frame000", "0"),
        ("img0", "0"),
        ("heron", ""),
        ("20260517", ""),
        ("", ""),
        ("é12é", "12"),
    ] {
        assert_eq!(told(numbered(name)), frame, "{name}");
    }
}

#[test]
fn a_pattern_says_where_the_frame_stands() {
    for (pattern, name, frame) in [
        ("HM-07_{frame}*", "hm-07_12_final2", "12"),
        ("HM-07_{frame}*", "hm-08_12_final2", ""),
        ("{frame}-*", "007-20260517", "7"),
        ("*_{frame}_*", "2026_12A_x", "12A"),
        ("202605{frame}", "20260517", "17"),
        ("s?an{frame}", "scan3", "3"),
        ("*{frame}", "a1b12", "12"),
        ("{frame}apples", "12apples", "12"),
        ("{frame}", "x", ""),
        ("{frame}", "4000", ""),
    ] {
        let read = Pattern::parse(pattern).unwrap();
        assert_eq!(told(read.frame(name)), frame, "{pattern} on {name}");
    }
    for (pattern, kind) in [
        ("", Kind::Missing),
        ("HM-07", Kind::Inconsistent),
        ("{frame}{frame}", Kind::Inconsistent),
        ("{Frame", Kind::Inconsistent),
        (&*"x".repeat(LONGEST_PATTERN + 1), Kind::TooLarge),
    ] {
        assert_eq!(Pattern::parse(pattern).unwrap_err().kind, kind, "{pattern}");
    }
}

#[test]
fn frames_in_order_pass_over_those_not_scanned() {
    let missed = listed("2, 4-5").unwrap();
    let frames: Vec<String> = in_order(4, Frame::FIRST, &missed)
        .iter()
        .map(Frame::to_string)
        .collect();
    assert_eq!(frames, ["1", "3", "6", "7"]);
    let from = in_order(3, Frame::parse("00").unwrap(), &BTreeSet::new());
    assert_eq!(
        from.iter().map(Frame::to_string).collect::<Vec<_>>(),
        ["00", "0", "1"]
    );
    assert!(in_order(0, Frame::FIRST, &missed).is_empty());
    assert!(listed(" ,; ").unwrap().is_empty());
    assert_eq!(listed("9-7").unwrap_err().kind, Kind::Inconsistent);
    assert_eq!(listed("three").unwrap_err().kind, Kind::Unknown);
    assert_eq!(listed("1-99999").unwrap_err().kind, Kind::OutOfRange);
}

proptest! {
    /// The order is one: it never depends on where a comparison began.
    #[test]
    fn natural_order_is_an_order(a in "[a-c0-2]{0,5}", b in "[a-c0-2]{0,5}", c in "[a-c0-2]{0,5}") {
        prop_assert_eq!(natural(&a, &b), natural(&b, &a).reverse());
        prop_assert_eq!(natural(&a, &b).is_eq(), a == b);
        if natural(&a, &b).is_le() && natural(&b, &c).is_le() {
            prop_assert!(natural(&a, &c).is_le());
        }
    }

    #[test]
    fn no_name_and_no_pattern_panics(name in ".{0,40}", pattern in ".{0,20}") {
        numbered(stem(&name));
        let _ = listed(&name);
        if let Ok(p) = Pattern::parse(&format!("{pattern}{{frame}}*")) {
            p.frame(&name);
        }
    }

    /// A number written anywhere between other words is found by the pattern that says where.
    #[test]
    fn a_pattern_finds_what_was_written(before in "[a-z_-][a-z_ -]{0,6}", after in "[b-z_ -]{0,8}", n in 0u32..=99) {
        let frame = Frame::number(n);
        let pattern = Pattern::parse(&format!("{before}{{frame}}*")).unwrap();
        prop_assert_eq!(pattern.frame(&format!("{before}{n:03}{after}")), Some(frame));
    }
}
