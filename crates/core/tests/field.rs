//! Frames in their order, film into a camera and out of it, two versions of one note.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::load::{Resume, may_load, stopped, taken_out};
use spoolwright_core::field::merge::{NoteField, differing, merge};
use spoolwright_core::field::record::{Camera, CameraLoad, FrameNote, FrameShape, Strip};
use spoolwright_core::film::Light;
use spoolwright_core::shelf::{
    BinderPageId, CameraId, CameraLoadId, CanId, FrameNoteId, Roll, RollId, RollState, StripId,
};

fn frame(text: &str) -> Frame {
    Frame::parse(text).unwrap()
}

/// Common practice, no source: edge numbers run 00, 0, 1, 2 … with an A half-way between.
#[test]
fn frames_lie_in_the_order_of_the_film() {
    let order = [
        "00", "00A", "0", "0A", "1", "1A", "2", "9", "9A", "10", "12", "12A", "13", "36", "37",
        "40", "72", "800A",
    ];
    for pair in order.windows(2) {
        assert!(frame(pair[0]) < frame(pair[1]), "{pair:?}");
    }
    for text in order {
        assert_eq!(frame(text).to_string(), text);
    }
    for (written, meant) in [
        (" 7", "7"),
        ("07", "7"),
        ("12a ", "12A"),
        ("0a", "0A"),
        ("00a", "00A"),
    ] {
        assert_eq!(frame(written).to_string(), meant);
    }
    assert_eq!(Frame::FIRST, frame("1"));
    assert_eq!((frame("12A").n(), frame("00").n()), (12, 0));
    assert!(frame("12A").is_half() && !frame("12").is_half());
}

#[test]
fn what_is_no_frame_is_refused() {
    for text in [
        "", " ", "A", "x", "-1", "+1", "1.5", "12B", "12AA", "1 2", "000", "007", "١", "E",
    ] {
        assert_eq!(
            Frame::parse(text).unwrap_err().kind,
            Kind::Unknown,
            "{text:?}"
        );
    }
    for text in ["801", "99999999999999999999"] {
        assert_eq!(
            Frame::parse(text).unwrap_err().kind,
            Kind::OutOfRange,
            "{text:?}"
        );
    }
}

#[test]
fn frames_are_counted_from_one_another() {
    assert_eq!(frame("12").since(frame("10")), Some(2));
    assert_eq!(frame("12A").since(frame("10")), Some(2));
    assert_eq!(frame("12A").since(frame("10A")), Some(2));
    assert_eq!(frame("0").since(frame("00")), Some(1));
    assert_eq!(frame("9").since(frame("10")), None);
    assert_eq!(frame("00A").after(3).to_string(), "2A");
}

#[test]
fn a_frame_has_its_place_on_the_strip() {
    let strip = Strip {
        id: StripId(1),
        page: BinderPageId(1),
        row: 2,
        position: 1,
        roll: RollId(1),
        first: frame("7"),
        last: frame("10"),
        frames: 4,
    };
    let places = |perforations: u32, frames: &[&str]| -> Vec<Option<u32>> {
        let at = |f: &&str| strip.position_of(frame(f), perforations);
        frames.iter().map(at).collect()
    };
    assert_eq!(
        places(8, &["6A", "7", "8", "9A", "10", "10A", "11"]),
        [None, Some(1), Some(2), Some(3), Some(4), Some(4), None]
    );
    assert_eq!(places(4, &["7", "8", "9", "10"]), [1, 1, 2, 2].map(Some));
    assert_eq!(places(16, &["7", "8", "9", "10"]), [1, 3, 5, 7].map(Some));
}

fn roll(state: RollState) -> Roll {
    Roll {
        id: RollId(1),
        can: CanId(1),
        number: 7,
        label: "HM-07".into(),
        cassette: None,
        want: None,
        ticket: None,
        loader: None,
        frames: 24,
        advance_perforations: 8,
        clicks: 30.0,
        leader_clicks: 4,
        tail_clicks: 2,
        light: Light::Room,
        ei: None,
        state,
        wound_at: String::new(),
        note: String::new(),
    }
}

fn camera(id: i64) -> Camera {
    Camera {
        id: CameraId(id),
        name: "Black box".into(),
        note: String::new(),
        closed: false,
    }
}

fn load(first_frame: u32, out: Option<Option<u32>>) -> CameraLoad {
    CameraLoad {
        id: CameraLoadId(1),
        roll: RollId(1),
        camera: CameraId(1),
        loaded_on: "2026-05-01".into(),
        ei: None,
        first_frame,
        out_frame: out.flatten(),
        out_on: out.map(|_| "2026-05-02".into()),
        note: String::new(),
    }
}

/// Common practice, no source: one frame is passed over.
#[test]
fn a_roll_goes_on_past_where_it_stopped() {
    assert_eq!(stopped(&[]), None);
    assert_eq!(stopped(&[load(1, None)]), None, "it is in the camera");
    assert_eq!(stopped(&[load(1, Some(None))]), None, "it ran to its end");
    let twelve = Resume {
        stopped_after: 12,
        wind_on: 13,
        first_frame: 14,
    };
    assert_eq!(stopped(&[load(1, Some(Some(12)))]), Some(twelve));
    let nothing = stopped(&[load(1, Some(Some(0)))]).unwrap();
    assert_eq!((nothing.wind_on, nothing.first_frame), (0, 1));
    let twice = [load(1, Some(Some(12))), load(14, Some(Some(20)))];
    assert_eq!(stopped(&twice).unwrap().first_frame, 22);
    let again_from_the_start = [load(1, Some(Some(12))), load(1, Some(Some(3)))];
    assert_eq!(stopped(&again_from_the_start).unwrap().stopped_after, 12);
    let done = [load(1, Some(Some(12))), load(14, Some(None))];
    assert_eq!(stopped(&done), None);
}

#[test]
fn one_roll_in_one_camera() {
    let wound = roll(RollState::Wound);
    let fresh = may_load(&wound, &camera(1), &[], None, None).unwrap();
    assert_eq!((fresh.resume, fresh.caveats.len()), (None, 0));
    let shut = Camera {
        closed: true,
        ..camera(1)
    };
    let kind = |r: Result<_, spoolwright_core::Error>| r.unwrap_err().kind;
    assert_eq!(
        kind(may_load(&wound, &shut, &[], None, None)),
        Kind::Inconsistent
    );
    let other = CameraLoad {
        roll: RollId(2),
        ..load(1, None)
    };
    let refused = may_load(&wound, &camera(1), &[], Some(&other), None).unwrap_err();
    assert!(refused.given.contains("another roll"), "{refused}");
    let refused = may_load(&wound, &camera(2), &[load(1, None)], None, None).unwrap_err();
    assert!(refused.given.contains("in a camera"), "{refused}");
    for state in [
        RollState::InCamera,
        RollState::Exposed,
        RollState::Developed,
        RollState::Filed,
        RollState::Scrapped,
    ] {
        assert_eq!(
            kind(may_load(&roll(state), &camera(1), &[], None, None)),
            Kind::Conflict
        );
    }
    assert_eq!(
        kind(may_load(&wound, &camera(1), &[], None, Some(0))),
        Kind::OutOfRange
    );
}

#[test]
fn exposing_frames_again_is_said_not_forbidden() {
    let wound = roll(RollState::Wound);
    let before = [load(1, Some(Some(12)))];
    let codes = |first: Option<u32>| -> Vec<&'static str> {
        let loading = may_load(&wound, &camera(1), &before, None, first).unwrap();
        loading.caveats.iter().map(|c| c.code).collect()
    };
    assert_eq!(codes(None), [""; 0]);
    assert_eq!(
        codes(Some(13)),
        [""; 0],
        "the photographer knows the camera"
    );
    assert_eq!(codes(Some(12)), ["exposed_twice"]);
    assert_eq!(codes(Some(25)), ["nothing_left"]);
}

#[test]
fn taken_out_it_is_wound_again_or_exposed() {
    let inside = roll(RollState::InCamera);
    let out = |frame| taken_out(&inside, &load(14, None), frame);
    assert_eq!(out(None).unwrap(), RollState::Exposed);
    assert_eq!(out(Some(20)).unwrap(), RollState::Wound);
    assert_eq!(
        out(Some(13)).unwrap(),
        RollState::Wound,
        "none exposed here"
    );
    assert_eq!(out(Some(24)).unwrap(), RollState::Exposed);
    assert_eq!(out(Some(26)).unwrap(), RollState::Exposed);
    assert_eq!(out(Some(12)).unwrap_err().kind, Kind::OutOfRange);
    assert_eq!(out(Some(801)).unwrap_err().kind, Kind::OutOfRange);
    let twice = taken_out(&inside, &load(1, Some(None)), None);
    assert_eq!(twice.unwrap_err().kind, Kind::Conflict);
}

/// A note that differs from `from` in every field.
fn all_different(from: &FrameNote) -> FrameNote {
    FrameNote {
        frame: frame("13A"),
        exposures: 2,
        shape: FrameShape::Half,
        taken_at: Some("2026-05-01T07:10".into()),
        aperture: Some(5.6),
        shutter_s: Some(0.008),
        lens: "50 mm".into(),
        filter: "yellow".into(),
        ei: Some(200.0),
        subject: "heron".into(),
        place: "the weir".into(),
        meter_ev: Some(12.3),
        usable: Some(true),
        note: "fog".into(),
        ..from.clone()
    }
}

#[test]
fn every_field_is_told_apart_and_carried_over() {
    let blank = FrameNote::blank(RollId(1), frame("12"));
    let full = all_different(&blank);
    assert_eq!(differing(&blank, &full), NoteField::ALL);
    let mut copy = blank.clone();
    for (done, field) in NoteField::ALL.iter().enumerate() {
        assert!(!field.same(&copy, &full));
        field.copy(&full, &mut copy);
        assert_eq!(
            differing(&copy, &full).len(),
            NoteField::ALL.len() - done - 1
        );
    }
    assert_eq!(copy, full);
}

#[test]
fn what_only_one_changed_is_joined_and_the_rest_is_disputed() {
    let base = FrameNote {
        id: FrameNoteId(5),
        subject: "heron".into(),
        key: "k1".into(),
        ..FrameNote::blank(RollId(1), frame("12"))
    };
    let stored = FrameNote {
        aperture: Some(8.0),
        subject: "grey heron".into(),
        ..base.clone()
    };
    let other = FrameNote {
        place: "the weir".into(),
        subject: "heron, fishing".into(),
        made_at: "2026-05-02T08:00:00Z".into(),
        ..base.clone()
    };
    let merged = merge(&base, &stored, &other);
    assert_eq!(merged.disputed, [NoteField::Subject]);
    let note = &merged.note;
    assert_eq!(
        (note.aperture, note.place.as_str(), note.subject.as_str()),
        (Some(8.0), "the weir", "grey heron")
    );
    let beside = merged.beside(&other).unwrap();
    assert_eq!(differing(note, &beside), [NoteField::Subject]);
    assert_eq!(
        (beside.subject.as_str(), beside.beside, beside.id),
        ("heron, fishing", Some(FrameNoteId(5)), FrameNoteId(0))
    );
    assert_eq!(beside.key, "", "a key is one note's");
    let blank = FrameNote::blank(RollId(1), frame("12"));
    assert_eq!(
        merge(&blank, &stored, &other).disputed,
        [NoteField::Subject]
    );
}

fn any_note() -> impl Strategy<Value = FrameNote> {
    let texts = (0..3u8, 0..3u8, 0..3u8, 0..3u8);
    let rest = (
        0..3u8,
        1..3u32,
        proptest::option::of(0..2u8),
        proptest::option::of(any::<bool>()),
    );
    (texts, rest).prop_map(|((a, b, c, d), (e, exposures, stop, usable))| {
        let word = |n: u8| ["", "one", "two"][usize::from(n)].to_owned();
        FrameNote {
            subject: word(a),
            place: word(b),
            lens: word(c),
            note: word(d),
            filter: word(e),
            exposures,
            aperture: stop.map(f64::from),
            usable,
            ..FrameNote::blank(RollId(1), Frame::number(3))
        }
    })
}

proptest! {
    /// Nothing said by either is lost: each field of the joined note is one's or the other's, and where both said
    /// something new, the two notes hold both.
    #[test]
    fn merging_loses_nothing(base in any_note(), stored in any_note(), other in any_note()) {
        let merged = merge(&base, &stored, &other);
        let beside = merged.beside(&other);
        for field in NoteField::ALL.iter().copied() {
            let held = |n: &FrameNote| field.same(&merged.note, n) || beside.as_ref().is_some_and(|b| field.same(b, n));
            if !field.same(&base, &stored) { prop_assert!(held(&stored)); }
            if !field.same(&base, &other) { prop_assert!(held(&other)); }
            prop_assert!(field.same(&merged.note, &stored) || field.same(&merged.note, &other));
        }
        prop_assert_eq!(merge(&base, &stored, &stored).note, stored.clone());
        prop_assert_eq!(merge(&base, &merged.note, &other).disputed, merged.disputed, "sent twice, it is the same");
        let back = merge(&base, &other, &stored);
        prop_assert_eq!(back.disputed.len(), merge(&base, &stored, &other).disputed.len());
    }
}
