//! The field through the service: a roll into a camera and out of it mid-roll, notes of its frames, two versions of a
//! note that lose nothing, and a frame found again.

use jiff::Timestamp;
use spoolwright::service::draft::{CanDraft, LoaderDraft, StockDraft};
use spoolwright::service::field::cameras::CameraDraft;
use spoolwright::service::field::find::FindDraft;
use spoolwright::service::field::note::{NoteDraft, NoteSent};
use spoolwright::service::field::notes::NoteView;
use spoolwright::service::field::settle::{SettleDraft, disputed};
use spoolwright::service::field::stays::{PutInDraft, RollField, TakeOutDraft};
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::rolls::{About, RollDraft};
use spoolwright::service::winding::WindDraft;
use spoolwright::service::{Failure, Service};
use spoolwright_core::Kind;
use spoolwright_core::field::merge::NoteField;
use spoolwright_core::shelf::{FrameNoteId, RollId, RollState};
use spoolwright_store::Store;

fn a_day() -> Timestamp {
    "2026-05-17T10:00:00Z".parse().unwrap()
}

fn wind(s: &Service, frames: &str) -> RollId {
    let ticket = TicketDraft {
        can: "HM".into(),
        frames: frames.into(),
        ..TicketDraft::default()
    };
    let id = s.add_ticket(&ticket, None).unwrap().value.unwrap();
    let wound = s.wind(id, &WindDraft::default(), None).unwrap();
    wound.value.unwrap().roll.unwrap().0
}

/// Two rolls, HM-01 and HM-02, and two cameras.
fn field() -> (Service, [RollId; 2]) {
    let s = Service::over(Store::in_memory().unwrap(), Box::new(a_day));
    let stock = StockDraft {
        name: "Harbour Mist 250".into(),
        ei: "250".into(),
        ..StockDraft::default()
    };
    s.save_stock(None, &stock, None).unwrap();
    let loader = LoaderDraft {
        name: "Bench".into(),
        ..LoaderDraft::default()
    };
    s.save_loader(None, &loader, None).unwrap();
    let can = CanDraft {
        stock: "Harbour Mist 250".into(),
        letters: "HM".into(),
        loader: "Bench".into(),
        ..CanDraft::default()
    };
    s.save_can(None, &can, None).unwrap();
    let rolls = [wind(&s, "36"), wind(&s, "24")];
    for name in ["Walking camera", "Half-frame box"] {
        let camera = CameraDraft {
            name: name.into(),
            ..CameraDraft::default()
        };
        s.save_camera(None, &camera, None).unwrap();
    }
    (s, rolls)
}

fn into(s: &Service, roll: RollId, camera: &str, first: &str) -> Result<String, Failure> {
    let draft = PutInDraft {
        camera: camera.into(),
        first_frame: first.into(),
        ..PutInDraft::default()
    };
    s.put_in_camera(roll, &draft, None).map(|m| m.story)
}

fn out(s: &Service, roll: RollId, frame: &str) -> Result<String, Failure> {
    let draft = TakeOutDraft {
        frame: frame.into(),
        ..TakeOutDraft::default()
    };
    s.take_out_of_camera(roll, &draft, None).map(|m| m.story)
}

fn field_of(s: &Service, label: &str) -> (RollState, RollField) {
    let view = s.roll(label).unwrap();
    (view.roll.state, s.roll_in_field(&view).unwrap())
}

#[track_caller]
fn refused<T: std::fmt::Debug>(result: Result<T, Failure>, field: &str, kind: Kind) {
    let failure = result.unwrap_err();
    let faults = failure.faults();
    assert_eq!(
        (faults[0].field.as_str(), faults[0].error.kind),
        (field, kind),
        "{faults:?}"
    );
}

#[test]
fn film_is_changed_mid_roll_and_goes_on_where_it_stopped() {
    let (s, [one, two]) = field();
    assert_eq!(
        into(&s, one, "Walking camera", "").unwrap(),
        "Put HM-01 in Walking camera."
    );
    let (state, f) = field_of(&s, "hm-01");
    assert_eq!(state, RollState::InCamera);
    assert_eq!(f.now_in().unwrap().camera.name, "Walking camera");
    assert_eq!(f.ei, Some(250.0));
    // A camera holds one roll, and a roll is in one camera.
    refused(
        into(&s, two, "Walking camera", ""),
        "camera",
        Kind::Conflict,
    );
    refused(
        into(&s, one, "Half-frame box", ""),
        "camera",
        Kind::Conflict,
    );

    let story = out(&s, one, "12").unwrap();
    assert_eq!(
        story,
        "Took HM-01 out of Walking camera after frame 12; the rest can be exposed."
    );
    let (state, f) = field_of(&s, "HM-01");
    assert_eq!(state, RollState::Wound);
    let resume = f.resume.unwrap();
    assert_eq!(
        (resume.stopped_after, resume.wind_on, resume.first_frame),
        (12, 13, 14)
    );
    // The camera it was in comes first.
    assert_eq!(f.ready[0].name, "Walking camera");

    // Frames that were exposed are not exposed again by mistake.
    refused(into(&s, one, "2", "10"), "sure", Kind::Inconsistent);
    assert!(
        into(&s, one, "2", "")
            .unwrap()
            .contains("to go on at frame 14")
    );
    assert_eq!(
        out(&s, one, "").unwrap(),
        "Took HM-01 out of Half-frame box exposed."
    );
    let (state, f) = field_of(&s, "HM-01");
    assert_eq!((state, f.resume), (RollState::Exposed, None));
    assert_eq!(f.camera_of(12).unwrap().camera.name, "Walking camera");
    assert_eq!(f.camera_of(14).unwrap().camera.name, "Half-frame box");
    refused(into(&s, one, "2", ""), "camera", Kind::Conflict);
    refused(out(&s, one, ""), "frame", Kind::Conflict);

    // Undo, step by step, leads all the way back.
    for _ in 0..4 {
        let last = s.last_change().unwrap();
        s.undo(last.id, None).unwrap();
    }
    let (state, f) = field_of(&s, "HM-01");
    assert_eq!((state, f.stays.len()), (RollState::Wound, 0));
}

#[test]
fn a_tap_more_records_nothing_more() {
    let (s, [one, _]) = field();
    let draft = PutInDraft {
        new_camera: "Folding camera".into(),
        ..PutInDraft::default()
    };
    s.put_in_camera(one, &draft, Some("tap")).unwrap();
    let again = s.put_in_camera(one, &draft, Some("tap")).unwrap();
    assert_eq!(again.value, None);
    assert_eq!(s.cameras().unwrap().len(), 3);
    assert_eq!(
        s.history(
            About::Camera(s.camera_named("folding camera").unwrap().id),
            None
        )
        .unwrap()
        .len(),
        1
    );
    let view = s.cameras().unwrap().remove(2);
    assert_eq!(view.holds.as_ref().unwrap().1.label, "HM-01");
    // It cannot be put away with film in it.
    refused(
        s.close_camera(view.camera.id, true, None),
        "closed",
        Kind::Conflict,
    );
}

#[test]
fn a_roll_that_moves_on_leaves_its_camera() {
    let (s, [one, two]) = field();
    for (roll, state, frame) in [(one, "exposed", None), (two, "wound", Some(0))] {
        into(&s, roll, "Walking camera", "").unwrap();
        let draft = RollDraft {
            state: state.into(),
            ..RollDraft::default()
        };
        s.move_roll(roll, &draft, None).unwrap();
        let loads = s.rolls_of_camera(s.camera_named("1").unwrap().id).unwrap();
        assert_eq!(loads[0].0.out_on.as_deref(), Some("2026-05-17"), "{state}");
        assert_eq!(loads[0].0.out_frame, frame, "{state}");
    }
}

#[test]
fn a_roll_said_to_be_in_a_camera_is_told_which_later() {
    let (s, [one, _]) = field();
    let draft = RollDraft {
        state: "in-camera".into(),
        ..RollDraft::default()
    };
    s.move_roll(one, &draft, None).unwrap();
    refused(out(&s, one, "3"), "frame", Kind::Conflict);
    into(&s, one, "Walking camera", "").unwrap();
    assert_eq!(field_of(&s, "HM-01").1.stays.len(), 1);
}

#[test]
fn faults_of_loading_stand_at_their_fields() {
    let (s, [one, two]) = field();
    // Two are empty: which one is not guessed.
    refused(into(&s, one, "", ""), "camera", Kind::Missing);
    refused(into(&s, one, "Box", ""), "camera", Kind::Unknown);
    refused(into(&s, one, "1", "zero"), "first_frame", Kind::OutOfRange);
    refused(into(&s, one, "1", "40"), "sure", Kind::Inconsistent);
    let new = PutInDraft {
        new_camera: "7".into(),
        ..PutInDraft::default()
    };
    refused(
        s.put_in_camera(one, &new, None),
        "new_camera",
        Kind::OutOfRange,
    );
    into(&s, one, "1", "").unwrap();
    // Now one is empty, and it is meant.
    assert!(into(&s, two, "", "").unwrap().contains("Half-frame box"));
    refused(out(&s, one, "-1"), "frame", Kind::OutOfRange);
    let early = TakeOutDraft {
        out_on: "2026-05-01".into(),
        ..TakeOutDraft::default()
    };
    refused(
        s.take_out_of_camera(one, &early, None),
        "out_on",
        Kind::Inconsistent,
    );
}

/// What the meter was set to is what the roll is developed for; a roll exposed at two says so.
#[test]
fn the_meters_setting_goes_to_the_tank() {
    let (s, [one, _]) = field();
    s.begin_recipe("Negative, one-shot", None).unwrap();
    let time = |s: &Service| {
        let waiting = s.waiting().unwrap();
        let of = waiting.into_iter().find(|w| w.roll.id == one).unwrap();
        of.time.unwrap()
    };
    let plain = time(&s).time_min.value;
    let load = |ei: &str| PutInDraft {
        camera: "Walking camera".into(),
        ei: ei.into(),
        ..PutInDraft::default()
    };
    s.put_in_camera(one, &load("1000"), None).unwrap();
    let pushed = time(&s);
    assert!(
        pushed.time_min.value > plain,
        "two stops longer than {plain}"
    );
    out(&s, one, "0").unwrap();
    assert_eq!(time(&s).time_min.value, plain, "nothing was exposed at it");
    s.put_in_camera(one, &load("1000"), None).unwrap();
    out(&s, one, "12").unwrap();
    s.put_in_camera(one, &load("500"), None).unwrap();
    let both = time(&s);
    assert!(plain < both.time_min.value && both.time_min.value < pushed.time_min.value);
    let told = both.caveats.iter().find(|c| c.code == "two_eis").unwrap();
    assert_eq!(
        told.text,
        "HM-01 was exposed at EI 1000 first and at EI 500 last: the time is for the last."
    );
}

fn typed(fields: &[(&str, &str)]) -> NoteDraft {
    let fields = fields.iter().map(|(n, v)| ((*n).to_owned(), (*v).into()));
    serde_json::from_value(serde_json::Value::Object(fields.collect())).unwrap()
}

fn sent(fields: &[(&str, &str)]) -> NoteSent {
    NoteSent {
        draft: typed(fields),
        ..NoteSent::default()
    }
}

fn note(s: &Service, roll: RollId, sent: &NoteSent) -> FrameNoteId {
    s.save_note(roll, sent, None).unwrap().value.unwrap()
}

fn only(s: &Service, roll: RollId) -> NoteView {
    let mut all = s.notes_of(roll).unwrap();
    assert_eq!(all.len(), 1, "{all:?}");
    all.remove(0)
}

#[test]
fn a_note_needs_nothing_and_the_next_one_repeats_it() {
    let (s, [one, two]) = field();
    into(&s, one, "Walking camera", "").unwrap();
    note(&s, one, &sent(&[]));
    let second = [
        ("aperture", "5.6"),
        ("shutter", "1/250"),
        ("lens", "long one"),
        ("filter", "yellow"),
        ("place", "the weir"),
        ("subject", "heron"),
        ("note", "he looked up"),
    ];
    note(&s, one, &sent(&second));
    let same = NoteSent {
        same: "yes".into(),
        ..sent(&[("shutter", "1/125")])
    };
    note(&s, one, &same);
    let all = s.notes_of(one).unwrap();
    let frames: Vec<String> = all.iter().map(|v| v.note.frame.to_string()).collect();
    assert_eq!(frames, ["1", "2", "3"]);
    let third = &all[2].note;
    assert_eq!((third.aperture, third.shutter_s), (Some(5.6), Some(0.008)));
    assert_eq!(
        (third.lens.as_str(), third.filter.as_str()),
        ("long one", "yellow")
    );
    assert_eq!((third.subject.as_str(), third.note.as_str()), ("heron", ""));

    // The next roll of that camera is offered what was used in it.
    out(&s, one, "").unwrap();
    into(&s, two, "Walking camera", "").unwrap();
    let view = s.roll("HM-02").unwrap();
    let start = s
        .note_start(&view, &s.roll_in_field(&view).unwrap())
        .unwrap();
    assert_eq!(
        (start.lenses, start.filters),
        (vec!["long one".to_owned()], vec!["yellow".to_owned()])
    );
    assert_eq!(
        (start.frame.to_string(), start.last),
        ("1".to_owned(), None)
    );
    assert!(start.now.starts_with("2026-05-17T"));
}

#[test]
fn half_frames_panoramas_and_double_exposures() {
    let (s, [one, _]) = field();
    note(&s, one, &sent(&[("frame", "12A"), ("shape", "half")]));
    note(
        &s,
        one,
        &sent(&[("frame", "3"), ("shape", "panoramic"), ("exposures", "2")]),
    );
    let all = s.notes_of(one).unwrap();
    let said: Vec<NoteDraft> = all.iter().map(|v| NoteDraft::from(&v.note)).collect();
    assert_eq!(
        (
            said[0].frame.as_str(),
            said[0].shape.as_str(),
            said[0].exposures.as_str()
        ),
        ("3", "panoramic", "2")
    );
    assert_eq!(
        (said[1].frame.as_str(), said[1].shape.as_str()),
        ("12A", "half")
    );
}

/// One note, however often a page sends it.
#[test]
fn a_note_sent_twice_is_one() {
    let (s, [one, _]) = field();
    let away = NoteSent {
        key: "k-1".into(),
        ..sent(&[("frame", "4"), ("subject", "weir")])
    };
    let request = Some("k-1-first");
    assert!(s.save_note(one, &away, request).unwrap().value.is_some());
    assert_eq!(s.save_note(one, &away, request).unwrap().value, None);
    // Its answer was lost, and the page that sends it again has another name for the asking.
    let again = s.save_note(one, &away, Some("other")).unwrap();
    assert_eq!(again.entry, None);
    assert_eq!(only(&s, one).note.subject, "weir");
    // Changed before it was sent again: it is the same note still, by what it was made from.
    let changed = NoteSent {
        key: "k-1".into(),
        base: typed(&[("frame", "4"), ("subject", "weir")]).as_base(),
        ..sent(&[("frame", "5"), ("subject", "heron")])
    };
    note(&s, one, &changed);
    let kept = only(&s, one);
    assert_eq!(
        (
            kept.note.frame.to_string().as_str(),
            kept.note.subject.as_str()
        ),
        ("5", "heron")
    );
    assert!(kept.versions.is_empty());
    let bad = NoteSent {
        key: "k 1'--".into(),
        ..NoteSent::default()
    };
    assert!(s.save_note(one, &bad, None).is_err());
}

/// Written at the bench and out of reach, of the same frame: what can be joined is, the rest stands side by side until
/// it is settled, and nothing said is lost on the way.
#[test]
fn two_versions_of_a_note_are_joined_or_settled() {
    let (s, [one, _]) = field();
    let first = typed(&[("frame", "12"), ("subject", "heron"), ("aperture", "8")]);
    let of = note(
        &s,
        one,
        &NoteSent {
            draft: first.clone(),
            ..NoteSent::default()
        },
    );
    let from = |fields: &[(&str, &str)]| {
        let mut all = vec![("frame", "12"), ("subject", "heron"), ("aperture", "8")];
        all.retain(|(n, _)| fields.iter().all(|(f, _)| f != n));
        all.extend(fields);
        NoteSent {
            of: of.to_string(),
            base: first.as_base(),
            ..sent(&all)
        }
    };
    // Different fields: both changes are kept.
    note(&s, one, &from(&[("place", "the weir")]));
    note(&s, one, &from(&[("lens", "long one")]));
    let joined = only(&s, one);
    assert_eq!(
        (joined.note.place.as_str(), joined.note.lens.as_str()),
        ("the weir", "long one")
    );
    assert!(joined.versions.is_empty());

    // The same fields: both versions are kept, once each.
    note(
        &s,
        one,
        &from(&[("subject", "grey heron"), ("aperture", "5.6")]),
    );
    for _ in 0..2 {
        note(
            &s,
            one,
            &from(&[
                ("subject", "heron, fishing"),
                ("aperture", "4"),
                ("note", "wet feet"),
            ]),
        );
    }
    let v = only(&s, one);
    assert_eq!(
        (v.note.subject.as_str(), v.note.note.as_str()),
        ("grey heron", "wet feet")
    );
    assert_eq!(v.versions.len(), 1);
    assert_eq!(
        disputed(&v.note, &v.versions),
        [NoteField::Aperture, NoteField::Subject]
    );
    assert_eq!(s.unsettled().unwrap().len(), 1);

    let (mine, other) = (v.note.id.to_string(), v.versions[0].id.to_string());
    let choose = |pairs: &[(&str, &str)]| SettleDraft {
        believed: pairs
            .iter()
            .map(|(f, v)| ((*f).to_owned(), (*v).to_owned()))
            .collect(),
    };
    refused(
        s.settle_note(one, of, &choose(&[("aperture", &other)]), None),
        "subject",
        Kind::Missing,
    );
    refused(
        s.settle_note(
            one,
            of,
            &choose(&[("aperture", "99"), ("subject", &mine)]),
            None,
        ),
        "aperture",
        Kind::Unknown,
    );
    s.settle_note(
        one,
        of,
        &choose(&[("aperture", &other), ("subject", &mine)]),
        None,
    )
    .unwrap();
    let settled = only(&s, one);
    assert_eq!(
        (settled.note.aperture, settled.note.subject.as_str()),
        (Some(4.0), "grey heron")
    );
    assert!(settled.versions.is_empty() && s.unsettled().unwrap().is_empty());
    assert!(
        s.settle_note(one, of, &SettleDraft::default(), None)
            .is_err()
    );

    // Undone, both versions are there again.
    s.undo(s.last_change().unwrap().id, None).unwrap();
    assert_eq!(only(&s, one), v);
    s.take_away_note(one, of, None).unwrap();
    assert!(s.notes_of(one).unwrap().is_empty());
    s.undo(s.last_change().unwrap().id, None).unwrap();
    assert_eq!(only(&s, one), v);
}

/// A note of a frame that was noted elsewhere meanwhile, without knowing of each other.
#[test]
fn two_who_note_one_frame_lose_nothing() {
    let (s, [one, two]) = field();
    note(
        &s,
        one,
        &sent(&[("frame", "7"), ("subject", "ferry"), ("lens", "short one")]),
    );
    let phone = NoteSent {
        key: "phone".into(),
        ..sent(&[
            ("frame", "7"),
            ("subject", "ferry at dusk"),
            ("aperture", "2"),
        ])
    };
    note(&s, one, &phone);
    let v = only(&s, one);
    assert_eq!(
        (
            v.note.subject.as_str(),
            v.note.aperture,
            v.note.lens.as_str()
        ),
        ("ferry", Some(2.0), "short one")
    );
    assert_eq!(v.versions[0].subject, "ferry at dusk");
    // A note that was taken away meanwhile comes back with the change.
    s.take_away_note(one, v.note.id, None).unwrap();
    let late = NoteSent {
        of: v.note.id.to_string(),
        base: NoteDraft::from(&v.note).as_base(),
        ..sent(&[("frame", "7"), ("subject", "ferry, leaving")])
    };
    note(&s, one, &late);
    assert_eq!(only(&s, one).note.subject, "ferry, leaving");
    // Another roll's note is not reached through this one.
    assert!(s.take_away_note(two, only(&s, one).note.id, None).is_err());
}

#[test]
fn a_frame_is_found_again_by_what_was_noted() {
    let (s, [one, two]) = field();
    into(&s, one, "Walking camera", "").unwrap();
    into(&s, two, "Half-frame box", "").unwrap();
    note(
        &s,
        one,
        &sent(&[
            ("frame", "12"),
            ("subject", "heron"),
            ("place", "the weir"),
            ("taken_at", "2026-05-16"),
        ]),
    );
    note(
        &s,
        one,
        &sent(&[
            ("frame", "13"),
            ("subject", "the weir in flood"),
            ("place", "mill"),
        ]),
    );
    note(
        &s,
        two,
        &sent(&[
            ("subject", "two herons"),
            ("place", "harbour"),
            ("taken_at", "2026-05-17 09:30"),
        ]),
    );
    let find = |draft: &FindDraft| -> Vec<String> {
        let found = s.find_frames(draft).unwrap();
        let all = found.frames.iter();
        all.map(|f| {
            format!(
                "{} {}",
                f.hit.roll.label,
                f.hit
                    .note
                    .as_ref()
                    .map_or_else(String::new, |n| n.frame.to_string())
            )
        })
        .collect()
    };
    let by = |words: &str| FindDraft {
        words: words.into(),
        ..FindDraft::default()
    };
    assert_eq!(find(&by("heron weir")), ["HM-01 12"]);
    assert_eq!(
        find(&FindDraft {
            place: "weir".into(),
            ..by("")
        }),
        ["HM-01 12"]
    );
    assert_eq!(
        find(&FindDraft {
            subject: "weir".into(),
            ..by("")
        }),
        ["HM-01 13"]
    );
    assert_eq!(
        find(&FindDraft {
            camera: "half-frame box".into(),
            ..by("heron")
        }),
        ["HM-02 1"]
    );
    assert_eq!(
        find(&FindDraft {
            from: "2026-05-17".into(),
            ..by("heron")
        }),
        ["HM-02 1"]
    );
    assert_eq!(
        find(&FindDraft {
            to: "2026-05-16".into(),
            stock: "1".into(),
            ..by("heron")
        }),
        ["HM-01 12"]
    );
    let found = s.find_frames(&by("heron weir")).unwrap();
    assert_eq!(found.frames[0].camera.as_deref(), Some("Walking camera"));
    assert_eq!(
        (found.frames[0].stock.as_str(), found.more),
        ("Harbour Mist 250", false)
    );
    let backwards = FindDraft {
        from: "2026-05-17".into(),
        to: "2026-05-01".into(),
        ..by("")
    };
    refused(s.find_frames(&backwards), "to", Kind::Inconsistent);
    refused(
        s.find_frames(&FindDraft {
            camera: "pinhole".into(),
            ..by("")
        }),
        "camera",
        Kind::Unknown,
    );
    refused(
        s.find_frames(&by(&"word ".repeat(40))),
        "words",
        Kind::TooLarge,
    );
}
