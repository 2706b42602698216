//! Cutting and filling against OR-tools CP-SAT: forty rolls of 15 to 42 pictures, sixty filings of 6 to 50 rolls.
//!
//! Outside check: `tests/reference/binder/`: the scripts that made the questions and figures, pinned versions, provenance.

use serde_json::Value;
use spoolwright_core::Kind;
use spoolwright_core::binder::cut::cut;
use spoolwright_core::binder::fill::{Effort, fill};
use spoolwright_core::film::Pitch;

#[path = "common/binder.rs"]
mod binder;
#[path = "common/binder_read.rs"]
mod read;

fn figure(of: &Value, name: &str) -> u64 {
    of[name].as_u64().expect("a whole number")
}

/// Strips, strips of one frame, blanks left out and squares of lengths are the same.
#[test]
fn cuts_agree_with_an_outside_solver() {
    let (rolls, expected) = (read::fixture("rolls.json"), read::fixture("cuts.json"));
    assert_eq!((rolls.len(), expected.len()), (40, 40));
    for (name, asked) in &rolls {
        let images = read::pictures(&asked["images"]);
        let page = read::page(&asked["page"]);
        let theirs = &expected[name];
        assert_eq!(theirs["proven"], true);
        if theirs["impossible"] == true {
            assert_eq!(
                cut(&images, page, Pitch::Long).unwrap_err().kind,
                Kind::Impossible
            );
            continue;
        }
        let ours = cut(&images, page, Pitch::Long).unwrap();
        binder::audit_strips(&images, page, &ours.strips);
        let lengths = || ours.strips.iter().map(|s| u64::from(s.perforations));
        assert_eq!(lengths().count() as u64, figure(theirs, "strips"), "{name}");
        let singles = lengths().filter(|l| *l <= 8).count() as u64;
        assert_eq!(singles, figure(theirs, "singles"), "{name}");
        assert_eq!(
            ours.left_out.len() as u64,
            figure(theirs, "left_out"),
            "{name}"
        );
        assert_eq!(
            lengths().map(|l| l * l).sum::<u64>(),
            figure(theirs, "squares"),
            "{name}"
        );
    }
}

/// New pages and shared rows are the same wherever CP-SAT has a proof, and ours has one for every filing.
#[test]
fn pages_agree_with_an_outside_solver() {
    let (filings, expected) = (read::fixture("filings.json"), read::fixture("pages.json"));
    assert_eq!((filings.len(), expected.len()), (60, 60));
    let mut proven_outside = 0;
    for (name, asked) in &filings {
        let filing = read::filing(asked);
        let filled = fill(&filing, Effort::USUAL).unwrap();
        binder::audit(&filing, &filled);
        let ours = (u64::from(filled.new_pages), u64::from(filled.shared_rows));
        let theirs = (
            figure(&expected[name], "new_pages"),
            figure(&expected[name], "shared_rows"),
        );
        assert!(filled.proven, "{name}: {ours:?}, least {:?}", filled.least);
        assert!(ours <= theirs, "{name}: {ours:?}, outside {theirs:?}");
        if expected[name]["proven"] == true {
            proven_outside += 1;
            assert_eq!(ours, theirs, "{name}");
        }
    }
    assert!(
        50 <= proven_outside,
        "the fixtures lost their proofs: {proven_outside}"
    );
}
