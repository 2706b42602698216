//! Folders looked at and matched.

use super::{Desk, contents, desk, told};
use spoolwright::service::field::scans::matching::{Fate, MatchDraft};
use spoolwright::service::rolls::About;
use spoolwright_core::Kind;
use spoolwright_core::shelf::ScanFileId;
use std::fs;

fn frames(d: &Desk, roll: usize) -> String {
    let scans = d.s.scans_of(d.rolls[roll]).unwrap();
    let told: Vec<String> = scans.iter().map(|s| s.scan.frame.to_string()).collect();
    told.join(" ")
}

#[test]
fn files_are_matched_in_the_order_of_their_names() {
    let d = desk();
    for name in [
        "s10.png",
        "s9.png",
        "s9.tif",
        "s1.jpg",
        "notes.txt",
        "s1.xmp",
    ] {
        d.scan(name);
    }
    let view = d.s.look_at_scans(d.rolls[0], &d.draft("")).unwrap();
    assert_eq!(told(&view), "s1.jpg 1, s9.png 2, s9.tif 2, s10.png 3");
    assert!(
        d.s.scans_of(d.rolls[0]).unwrap().is_empty(),
        "only looked at"
    );
    let other = MatchDraft {
        first: "0".into(),
        missed: "1-2".into(),
        backwards: "yes".into(),
        ..d.draft("order")
    };
    let view = d.s.look_at_scans(d.rolls[0], &other).unwrap();
    assert_eq!(told(&view), "s1.jpg 4, s9.png 3, s9.tif 3, s10.png 0");
    let made = d.s.match_scans(d.rolls[0], &other, Some("once")).unwrap();
    assert!(
        made.story.starts_with("Matched 4 scans in "),
        "{}",
        made.story
    );
    assert!(
        made.story.ends_with(" to frames 0, 3 to 4 of HM-01."),
        "{}",
        made.story
    );
    assert_eq!(made.value, Some(4));
    assert_eq!(frames(&d, 0), "0 3 3 4");
    let again = d.s.match_scans(d.rolls[0], &other, Some("once")).unwrap();
    assert_eq!((again.entry, again.value), (made.entry, None));
    let again = d.s.match_scans(d.rolls[0], &other, None).unwrap();
    assert_eq!(again.entry, None, "nothing differs");
    let history = d.s.history(About::Roll(d.rolls[0]), None).unwrap();
    assert_eq!(history[0].verb, "scan.matched");
    d.s.undo(made.entry.unwrap(), None).unwrap();
    assert_eq!(frames(&d, 0), "");
}

#[test]
fn files_are_matched_by_number_and_by_pattern() {
    let d = desk();
    for name in [
        "HM-01_012.png",
        "HM-01_12A.png",
        "heron.png",
        "HM-01_45.png",
    ] {
        d.scan(name);
    }
    let view = d.s.look_at_scans(d.rolls[0], &d.draft("number")).unwrap();
    assert_eq!(
        told(&view),
        "heron.png -, HM-01_012.png 12, HM-01_12A.png 12A, HM-01_45.png 45"
    );
    let beyond: Vec<bool> = view.rows.iter().map(|r| r.beyond).collect();
    assert_eq!(beyond, [false, false, false, true]);
    let by = MatchDraft {
        pattern: "hm-01_0{frame}".into(),
        ..d.draft("pattern")
    };
    let view = d.s.look_at_scans(d.rolls[0], &by).unwrap();
    assert_eq!(
        told(&view),
        "heron.png -, HM-01_012.png 12, HM-01_12A.png -, HM-01_45.png -"
    );
}

/// A file that was another frame's moves; one that is another roll's stays, and so does one whose sidecar is taken.
#[test]
fn a_file_is_the_scan_of_one_frame() {
    let d = desk();
    let gone = d.scan("7.png");
    d.scan("8.png");
    d.s.match_scans(d.rolls[0], &d.draft("order"), None)
        .unwrap();
    let view = d.s.look_at_scans(d.rolls[0], &d.draft("number")).unwrap();
    let fates: Vec<&Fate> = view.rows.iter().map(|r| &r.fate).collect();
    let from = |n| Fate::Moves(spoolwright_core::field::frame::Frame::number(n));
    assert_eq!(fates, [&from(1), &from(2)]);
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();
    assert_eq!(frames(&d, 0), "7 8");

    let refused =
        d.s.match_scans(d.rolls[1], &d.draft("number"), None)
            .unwrap_err();
    assert_eq!(refused.faults()[0].field, "folder");
    assert!(
        refused.to_string().contains("the scan of frame 7 of HM-01"),
        "{refused}"
    );

    fs::remove_file(gone).unwrap();
    d.scan("7.tif");
    let view = d.s.look_at_scans(d.rolls[1], &d.draft("number"));
    assert!(view.unwrap_err().to_string().contains("one sidecar"));
    let id = d.s.scans_of(d.rolls[0]).unwrap()[0].scan.id;
    let made = d.s.take_away_scan(id, None).unwrap();
    assert_eq!(
        made.story,
        "7.png is no longer the scan of frame 7 of HM-01; the file stays."
    );
    let view = d.s.look_at_scans(d.rolls[1], &d.draft("number")).unwrap();
    assert_eq!(told(&view), "7.tif 7, 8.png -");
    assert!(
        d.s.take_away_scan(ScanFileId(99), None)
            .unwrap_err()
            .is_not_found()
    );
}

#[test]
fn what_was_shown_is_what_is_recorded() {
    let d = desk();
    d.scan("1.png");
    let shown = d.s.look_at_scans(d.rolls[0], &d.draft("")).unwrap().shown;
    let draft = MatchDraft {
        shown,
        ..d.draft("")
    };
    d.scan("0.png");
    let refused = d.s.match_scans(d.rolls[0], &draft, None).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Conflict);
    fs::remove_file(d.path("0.png")).unwrap();
    d.s.match_scans(d.rolls[0], &draft, None).unwrap();
    assert_eq!(frames(&d, 0), "1");
}

/// What is typed otherwise than in a good draft.
type Typed = Box<dyn Fn(&mut MatchDraft)>;

#[test]
fn faults_stand_at_their_fields() {
    let d = desk();
    d.scan("1.png");
    let file = d.path("1.png").to_str().unwrap().to_owned();
    let with = |f: &dyn Fn(&mut MatchDraft)| {
        let mut draft = d.draft("order");
        f(&mut draft);
        d.s.look_at_scans(d.rolls[0], &draft)
    };
    let cases: Vec<(&str, Kind, Typed)> = vec![
        ("folder", Kind::Missing, Box::new(|m| m.folder.clear())),
        (
            "folder",
            Kind::OutOfRange,
            Box::new(|m| m.folder = "scans".into()),
        ),
        (
            "folder",
            Kind::OutOfRange,
            Box::new(|m| m.folder = "/a\0b".into()),
        ),
        (
            "folder",
            Kind::OutOfRange,
            Box::new(|m| m.folder = format!("/{}", "a".repeat(2000))),
        ),
        ("folder", Kind::Missing, Box::new(|m| m.folder += "/none")),
        (
            "folder",
            Kind::Missing,
            Box::new(move |m| m.folder.clone_from(&file)),
        ),
        ("by", Kind::Unknown, Box::new(|m| m.by = "guess".into())),
        ("first", Kind::Unknown, Box::new(|m| m.first = "one".into())),
        (
            "missed",
            Kind::Inconsistent,
            Box::new(|m| m.missed = "9-7".into()),
        ),
        (
            "backwards",
            Kind::Unknown,
            Box::new(|m| m.backwards = "perhaps".into()),
        ),
        (
            "pattern",
            Kind::Missing,
            Box::new(|m| m.by = "pattern".into()),
        ),
        // Its frame would be 801, and no roll has so many.
        (
            "folder",
            Kind::Missing,
            Box::new(|m| {
                m.first = "800".into();
                m.missed = "800".into();
            }),
        ),
    ];
    for (field, kind, change) in cases {
        let refused = with(&*change).unwrap_err();
        let fault = &refused.faults()[0];
        assert_eq!(
            (fault.field.as_str(), fault.error.kind),
            (field, kind),
            "{refused}"
        );
    }
    fs::remove_file(d.path("1.png")).unwrap();
    let refused = with(&|_| {}).unwrap_err();
    assert!(
        refused.to_string().contains("with no image in it"),
        "{refused}"
    );
}

/// Nothing is reached through a link: neither an image nor a sidecar.
#[cfg(unix)]
#[test]
fn links_are_not_followed() {
    use std::os::unix::fs::symlink;
    let d = desk();
    let elsewhere = tempfile::tempdir().unwrap();
    let secret = elsewhere.path().join("secret.png");
    fs::write(&secret, super::picture(20, 20)).unwrap();
    symlink(&secret, d.path("1.png")).unwrap();
    d.scan("2.png");
    let view = d.s.look_at_scans(d.rolls[0], &d.draft("number")).unwrap();
    assert_eq!(told(&view), "2.png 2, 1.png -");
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();

    let target = elsewhere.path().join("target.xmp");
    fs::write(&target, "not ours").unwrap();
    symlink(&target, d.path("2.xmp")).unwrap();
    let refused = d.s.write_sidecars(d.rolls[0], None).unwrap_err();
    assert!(
        refused.to_string().contains("its sidecar is a link"),
        "{refused}"
    );
    assert_eq!(fs::read(&target).unwrap(), b"not ours");

    // A scan that became a link after it was matched shows nothing of what it leads to.
    let id = d.s.scans_of(d.rolls[0]).unwrap()[0].scan.id;
    assert!(d.s.scan_thumbnail(id).is_ok());
    fs::remove_file(d.path("2.png")).unwrap();
    symlink(&secret, d.path("2.png")).unwrap();
    assert!(d.s.scan_thumbnail(id).is_err());
    // The folder itself may be typed through a link; it is its true place that is kept.
    let link = elsewhere.path().join("link");
    symlink(d.folder.path(), &link).unwrap();
    d.scan("3.png");
    let draft = MatchDraft {
        folder: link.to_str().unwrap().into(),
        ..d.draft("number")
    };
    d.s.match_scans(d.rolls[0], &draft, None).unwrap();
    let scans = d.s.scans_of(d.rolls[0]).unwrap();
    let true_place = fs::canonicalize(d.folder.path()).unwrap();
    assert!(
        scans
            .iter()
            .all(|s| s.scan.path.starts_with(true_place.to_str().unwrap()))
    );
}

#[test]
fn a_thumbnail_is_small_and_follows_its_file() {
    let d = desk();
    let path = d.path("1.png");
    fs::write(&path, super::picture(2000, 1000)).unwrap();
    fs::write(d.path("2.png"), "no picture").unwrap();
    let before = contents(d.folder.path());
    d.s.match_scans(d.rolls[0], &d.draft("number"), None)
        .unwrap();
    let scans = d.s.scans_of(d.rolls[0]).unwrap();
    let [first, second] = [scans[0].scan.id, scans[1].scan.id];
    let made = d.s.scan_thumbnail(first).unwrap();
    assert!(made.width.max(made.height) <= 320 && made.width > 200);
    assert!(std::sync::Arc::ptr_eq(
        &made,
        &d.s.scan_thumbnail(first).unwrap()
    ));
    assert!(d.s.scan_thumbnail(second).is_err());
    assert_eq!(contents(d.folder.path()), before);
    fs::write(&path, super::picture(100, 60)).unwrap();
    assert_eq!(d.s.scan_thumbnail(first).unwrap().width, 100);
    fs::remove_file(&path).unwrap();
    let refused = d.s.scan_thumbnail(first).unwrap_err();
    assert_eq!(refused.faults()[0].error.kind, Kind::Missing);
}
