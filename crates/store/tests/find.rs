//! Finding a frame: what is sought is found, best first and by pages; nothing typed can fail or be a command; and the
//! index of words follows every change, undo and undo of undo.

mod shelf;

use proptest::prelude::*;
use shelf::{NOW, added, can, put, roll, stock};
use spoolwright_core::Kind;
use spoolwright_core::field::find::{Hit, Sought};
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{Camera, CameraLoad, FrameNote};
use spoolwright_core::shelf::{
    CameraId, CameraLoadId, Can, CanId, EntryId, FrameNoteId, Roll, RollId, Stock, StockId,
};
use spoolwright_store::{Error, Store};
use std::collections::BTreeSet;

fn note(roll: RollId, frame: u32, subject: &str, place: &str) -> FrameNote {
    FrameNote {
        subject: subject.into(),
        place: place.into(),
        made_at: NOW.into(),
        ..FrameNote::blank(roll, Frame::number(frame))
    }
}

/// What is found, as labels and frames: `HM-01 12`, or `HM-01` for a roll.
fn names(hits: &[Hit]) -> Vec<String> {
    let name = |h: &Hit| match &h.note {
        Some(note) => format!("{} {}", h.roll.label, note.frame),
        None => h.roll.label.clone(),
    };
    hits.iter().map(name).collect()
}

fn words(text: &str) -> Sought {
    Sought {
        words: text.into(),
        ..Sought::default()
    }
}

fn found(store: &Store, sought: &Sought) -> Vec<String> {
    names(&store.search(sought, 0, 100).unwrap().hits)
}

struct Shelf {
    store: Store,
    stocks: [StockId; 2],
    rolls: [RollId; 3],
}

/// Two rolls of Grey 250, one of Night Tram; a few notes.
fn a_shelf() -> Shelf {
    let mut store = Store::in_memory().unwrap();
    let s = &mut store;
    let stocks = ["Grey 250", "Night Tram"].map(|n| added(s, &stock(n)));
    let grey = added(s, &can(stocks[0], "HM"));
    let tram = added(s, &can(stocks[1], "NT"));
    let rolls = [(grey, "HM", 1), (grey, "HM", 2), (tram, "NT", 1)]
        .map(|(c, l, n)| added(s, &roll(c, l, n)));
    for n in [
        note(rolls[0], 12, "heron, waiting", "the weir at Élan bridge"),
        note(rolls[0], 13, "the weir in flood", ""),
        note(rolls[1], 3, "two herons", "harbour"),
        note(rolls[2], 3, "tram stop", "harbour"),
    ] {
        added(s, &n);
    }
    Shelf {
        store,
        stocks,
        rolls,
    }
}

#[test]
fn a_few_words_find_the_frame() {
    let Shelf { store, .. } = a_shelf();
    for (typed, wanted) in [
        ("heron weir", &["HM-01 12"][..]),
        ("HERON", &["HM-01 12", "HM-02 3"]),
        ("herons", &["HM-02 3"]),
        ("elan", &["HM-01 12"]),
        ("ÉLAN", &["HM-01 12"]),
        ("harb", &["NT-01 3", "HM-02 3"]),
        ("ha", &[]),
        ("harbour night", &["NT-01 3"]),
        ("hm-01 12", &["HM-01 12"]),
        ("nt-01", &["NT-01", "NT-01 3"]),
        ("flood heron", &[]),
        ("kingfisher", &[]),
    ] {
        let mut got = found(&store, &words(typed));
        let mut wanted = wanted.to_vec();
        got.sort();
        wanted.sort_unstable();
        assert_eq!(got, wanted, "{typed}");
    }
}

/// Words of the subject or the place alone are not found elsewhere; together with other words each must be there.
#[test]
fn words_of_the_subject_or_the_place_alone() {
    let Shelf { store, .. } = a_shelf();
    let sought = |words: &str, subject: &str, place: &str| Sought {
        words: words.into(),
        subject: subject.into(),
        place: place.into(),
        ..Sought::default()
    };
    for (asked, wanted) in [
        (sought("", "weir", ""), &["HM-01 13"][..]),
        (sought("", "", "weir"), &["HM-01 12"]),
        (sought("", "heron", "harbour"), &["HM-02 3"]),
        (sought("night", "", "harb"), &["NT-01 3"]),
        (sought("heron", "tram", ""), &[]),
        (sought("", "weir) OR (heron", ""), &[]),
        (sought("", "...", ""), &[]),
    ] {
        assert_eq!(found(&store, &asked), wanted, "{asked:?}");
    }
}

/// A word in the subject tells more than the same one in the place.
#[test]
fn the_best_come_first_and_by_pages() {
    let Shelf {
        mut store, rolls, ..
    } = a_shelf();
    let both = found(&store, &words("weir"));
    assert_eq!(both, ["HM-01 13", "HM-01 12"]);
    for frame in 20..27 {
        added(&mut store, &note(rolls[1], frame, "gull", ""));
    }
    let page = |skip| store.search(&words("gull"), skip, 3).unwrap();
    assert_eq!(
        names(&page(0).hits),
        ["HM-02 26", "HM-02 25", "HM-02 24"],
        "alike, the newest first"
    );
    assert!(page(0).more && page(3).more && !page(6).more);
    assert_eq!(names(&page(6).hits), ["HM-02 20"]);
    assert_eq!(page(9), Default::default());
    assert_eq!(store.search(&words("gull"), 0, 0).unwrap().hits.len(), 0);
    assert_eq!(
        store
            .search(&words("gull"), 0, u32::MAX)
            .unwrap()
            .hits
            .len(),
        7
    );
}

#[test]
fn a_stock_a_day_and_a_camera_narrow_it() {
    let Shelf {
        mut store,
        stocks,
        rolls,
    } = a_shelf();
    let s = &mut store;
    let [black, folding] = ["Black box", "Folding"].map(|name| {
        added(
            s,
            &Camera {
                id: CameraId(0),
                name: name.into(),
                note: String::new(),
                closed: false,
            },
        )
    });
    let mut load = |roll, camera, on: &str, first_frame, out_frame, out: Option<&str>| {
        added(
            s,
            &CameraLoad {
                id: CameraLoadId(0),
                roll,
                camera,
                loaded_on: on.into(),
                ei: None,
                first_frame,
                out_frame,
                out_on: out.map(Into::into),
                note: String::new(),
            },
        )
    };
    load(
        rolls[0],
        black,
        "2026-05-01",
        1,
        Some(12),
        Some("2026-05-03"),
    );
    load(rolls[0], folding, "2026-06-01", 13, None, None);
    load(rolls[1], black, "2026-07-01", 1, None, Some("2026-07-09"));
    let dated = FrameNote {
        taken_at: Some("2026-08-15T07:30".into()),
        ..note(rolls[2], 4, "dawn", "harbour")
    };
    added(s, &dated);
    let zero = note(rolls[0], 0, "weir test", "");
    added(s, &zero);
    let by = |sought: Sought| {
        let mut all = found(&store, &sought);
        all.sort();
        all
    };
    let weir = words("weir");
    assert_eq!(
        by(Sought {
            stock: Some(stocks[0]),
            ..words("harbour")
        }),
        ["HM-02 3"]
    );
    assert_eq!(
        by(Sought {
            camera: Some(black),
            ..weir.clone()
        }),
        ["HM-01 0", "HM-01 12"]
    );
    assert_eq!(
        by(Sought {
            camera: Some(folding),
            ..weir.clone()
        }),
        ["HM-01 13"]
    );
    let days = |from: &str, to: &str, sought: Sought| Sought {
        from: Some(from.into()),
        to: Some(to.into()),
        ..sought
    };
    assert_eq!(
        by(days("2026-05-03", "2026-05-03", weir.clone())),
        ["HM-01 0", "HM-01 12"]
    );
    assert_eq!(by(days("2026-05-04", "2026-05-31", weir.clone())), [""; 0]);
    assert_eq!(
        by(days("2027-01-01", "2027-01-02", weir)),
        ["HM-01 13"],
        "still in the camera"
    );
    assert_eq!(
        by(days("2026-08-15", "2026-08-15", words(""))),
        ["HM-01 13", "NT-01 4"]
    );
    let since = Sought {
        from: Some("2026-07-05".into()),
        stock: Some(stocks[0]),
        ..words("")
    };
    assert_eq!(by(since), ["HM-01 13", "HM-02 3"]);
    let until = Sought {
        to: Some("2026-05-02".into()),
        ..words("")
    };
    assert_eq!(by(until), ["HM-01 0", "HM-01 12"]);
    assert_eq!(
        by(Sought {
            camera: Some(CameraId(99)),
            ..words("")
        }),
        [""; 0]
    );
    let all = found(&store, &words(" "));
    assert_eq!(
        all,
        [
            "NT-01 3", "NT-01 4", "HM-02 3", "HM-01 0", "HM-01 12", "HM-01 13"
        ],
        "the newest roll first, its frames in order; rolls with notes by their notes"
    );
}

/// What a query language would read as commands, unbalanced marks and odd letters.
#[test]
fn nothing_typed_is_a_command() {
    let Shelf {
        mut store, rolls, ..
    } = a_shelf();
    added(
        &mut store,
        &note(rolls[0], 20, "NOT AND OR NEAR", "5\" lens"),
    );
    for typed in [
        "\"",
        "'",
        "\"\"",
        "*",
        "heron*",
        "(",
        ")",
        "heron)",
        "NEAR(heron weir)",
        "subject:heron",
        "{subject place}:x",
        "^heron",
        "-heron",
        "heron + weir",
        "heron OR",
        "OR",
        "AND",
        "NOT heron",
        "NOT",
        "'; DROP TABLE roll; --",
        "\0",
        "heron\0weir",
        "%",
        "_",
        "\\",
        "?1",
        "\u{301}",
        "\u{e000}",
        "日本",
        "🦢",
        "\"heron\" \"",
        "a\"b\"c",
    ] {
        let result = store.search(&words(typed), 0, 10);
        assert!(result.is_ok(), "{typed:?}: {result:?}");
    }
    assert_eq!(found(&store, &words("NOT AND")), ["HM-01 20"]);
    assert_eq!(found(&store, &words("subject:heron")), [""; 0]);
    assert_eq!(found(&store, &words("heron\0weir")), ["HM-01 12"]);
    assert_eq!(found(&store, &words("\"heron\"")).len(), 2);
    assert_eq!(found(&store, &words("5\"")), ["HM-01 20"]);
    assert_eq!(
        found(&store, &words("?!")),
        [""; 0],
        "words without a letter are nobody's"
    );
    for long in ["a ".repeat(17), "a".repeat(101)] {
        let refused = store.search(&words(&long), 0, 10).unwrap_err();
        assert_eq!(refused.refusal().unwrap().kind, Kind::TooLarge);
    }
}

#[test]
fn the_words_follow_undo() {
    let Shelf {
        mut store,
        stocks,
        rolls,
    } = a_shelf();
    let s = &mut store;
    let added = put(s, &note(rolls[0], 30, "kingfisher", ""));
    let (add, id) = (added.entry().unwrap(), added.value().unwrap());
    assert_eq!(found(s, &words("kingfisher")), ["HM-01 30"]);
    let changed = FrameNote {
        id,
        ..note(rolls[0], 31, "dipper", "")
    };
    let change = put(s, &changed).entry().unwrap();
    assert_eq!(
        (
            found(s, &words("kingfisher")).len(),
            found(s, &words("dipper")).len()
        ),
        (0, 1)
    );
    let back = s.undo(NOW, None, change).unwrap().entry().unwrap();
    assert_eq!(
        (
            found(s, &words("kingfisher")).len(),
            found(s, &words("dipper")).len()
        ),
        (1, 0)
    );
    s.undo(NOW, None, back).unwrap();
    assert_eq!(
        (
            found(s, &words("kingfisher")).len(),
            found(s, &words("dipper")).len()
        ),
        (0, 1)
    );
    let back = s.undo(NOW, None, change);
    back.unwrap();
    let gone = s.undo(NOW, None, add).unwrap().entry().unwrap();
    assert_eq!(
        (
            found(s, &words("kingfisher")).len(),
            found(s, &words("dipper")).len()
        ),
        (0, 0)
    );
    s.undo(NOW, None, gone).unwrap();
    assert_eq!(found(s, &words("kingfisher")), ["HM-01 30"]);

    let renamed = Stock {
        id: stocks[0],
        ..stock("Slate 200")
    };
    let rename = put(s, &renamed).entry().unwrap();
    assert_eq!(found(s, &words("slate kingfisher")), ["HM-01 30"]);
    assert_eq!(found(s, &words("grey")), [""; 0]);
    s.undo(NOW, None, rename).unwrap();
    assert_eq!(found(s, &words("grey kingfisher")), ["HM-01 30"]);
    assert_eq!(found(s, &words("slate")), [""; 0]);

    let grey = s.all::<Can>().unwrap().remove(0);
    let other = Can {
        stock: stocks[1],
        ..grey
    };
    let mistaken = put(s, &other).entry().unwrap();
    assert_eq!(found(s, &words("tram kingfisher")), ["HM-01 30"]);
    s.undo(NOW, None, mistaken).unwrap();
    assert_eq!(found(s, &words("tram kingfisher")), [""; 0]);

    let told = Roll {
        note: "lent to a friend".into(),
        ..s.get::<Roll>(rolls[2]).unwrap().unwrap()
    };
    let tell = put(s, &told).entry().unwrap();
    assert_eq!(found(s, &words("friend")).len(), 2, "the roll and its note");
    s.undo(NOW, None, tell).unwrap();
    assert_eq!(found(s, &words("friend")), [""; 0]);
}

const WORDS: [&str; 6] = ["heron", "weir", "herons", "gull", "fog", "dawn"];

/// One thing a person does to the shelf.
#[derive(Debug, Clone)]
enum Deed {
    Add(usize, usize, usize),
    Change(usize, usize, usize),
    TakeAway(usize),
    TellRoll(usize, usize),
    Rename(usize, usize),
    Move(usize),
    Undo(usize),
}

fn deed() -> impl Strategy<Value = Deed> {
    let n = || 0usize..12;
    prop_oneof![
        3 => (n(), n(), n()).prop_map(|(a, b, c)| Deed::Add(a, b, c)),
        2 => (n(), n(), n()).prop_map(|(a, b, c)| Deed::Change(a, b, c)),
        1 => n().prop_map(Deed::TakeAway),
        1 => (n(), n()).prop_map(|(a, b)| Deed::TellRoll(a, b)),
        1 => (n(), n()).prop_map(|(a, b)| Deed::Rename(a, b)),
        1 => n().prop_map(Deed::Move),
        3 => n().prop_map(Deed::Undo),
    ]
}

fn word(n: usize) -> String {
    WORDS[n % WORDS.len()].to_owned()
}

fn pick<T: Clone>(all: &[T], n: usize) -> Option<T> {
    (!all.is_empty()).then(|| all[n % all.len()].clone())
}

fn act(s: &mut Store, deed: &Deed) {
    let (rolls, notes, stocks): (Vec<Roll>, Vec<FrameNote>, Vec<Stock>) =
        (s.all().unwrap(), s.all().unwrap(), s.all().unwrap());
    match *deed {
        Deed::Add(r, a, b) => {
            let roll = pick(&rolls, r).unwrap().id;
            put(s, &note(roll, 1, &word(a), &word(b)));
        }
        Deed::Change(n, a, b) => {
            if let Some(old) = pick(&notes, n) {
                put(
                    s,
                    &FrameNote {
                        lens: word(a),
                        note: word(b),
                        subject: String::new(),
                        ..old
                    },
                );
            }
        }
        Deed::TakeAway(n) => {
            if let Some(old) = pick(&notes, n) {
                let away = |c: &mut spoolwright_store::Change<'_>| {
                    Ok(("x", "x".to_owned(), c.take_away_note(old.id)?))
                };
                s.change::<_, Error>(NOW, None, away).unwrap();
            }
        }
        Deed::TellRoll(r, a) => {
            let old = pick(&rolls, r).unwrap();
            put(
                s,
                &Roll {
                    note: word(a),
                    ..old
                },
            );
        }
        Deed::Rename(r, a) => {
            let old = pick(&stocks, r).unwrap();
            put(
                s,
                &Stock {
                    name: format!("{} {}", word(a), old.id),
                    ..old
                },
            );
        }
        Deed::Move(r) => {
            let old = pick(&rolls, r).unwrap();
            let number = 20 + r as u32 + old.number;
            let can = CanId(3 - old.can.0);
            let moved = Roll { can, number, ..old };
            let to =
                |c: &mut spoolwright_store::Change<'_>| Ok(("x", "x".to_owned(), c.put(&moved)?));
            // Its new number may be taken: then nothing happens.
            s.change::<_, Error>(NOW, None, to).ok();
        }
        Deed::Undo(n) => {
            // What later things rest on stays: that is undo's own rule.
            let newest = s.head().unwrap().0;
            s.undo(NOW, None, EntryId(newest - n as i64)).ok();
        }
    }
}

/// What should be found for one word, by reading every record.
fn by_reading(s: &Store, word: &str) -> BTreeSet<(RollId, Option<FrameNoteId>)> {
    let has = |text: &str| {
        text.split(|c: char| !c.is_alphanumeric())
            .any(|w| w.to_lowercase().starts_with(word))
    };
    let mut found = BTreeSet::new();
    for roll in s.all::<Roll>().unwrap() {
        let can = s.get::<Can>(roll.can).unwrap().unwrap();
        let stock = s.get::<Stock>(can.stock).unwrap().unwrap();
        let of_roll = has(&roll.label) || has(&roll.note) || has(&stock.name);
        if of_roll {
            found.insert((roll.id, None));
        }
        for note in s.notes_of_roll(roll.id).unwrap() {
            let own = [
                &note.subject,
                &note.place,
                &note.note,
                &note.lens,
                &note.filter,
            ];
            if of_roll || own.iter().any(|text| has(text)) {
                found.insert((roll.id, Some(note.id)));
            }
        }
    }
    found
}

fn agree(s: &Store) -> Result<(), TestCaseError> {
    for word in WORDS.into_iter().chain(["hm", "night"]) {
        let got = s.search(&words(word), 0, 200).unwrap();
        prop_assert!(!got.more);
        let hits = got.hits.len();
        let got: BTreeSet<_> = got
            .hits
            .iter()
            .map(|h| (h.roll.id, h.note.as_ref().map(|n| n.id)))
            .collect();
        prop_assert_eq!(got.len(), hits, "found twice: {}", word);
        prop_assert_eq!(got, by_reading(s, word), "{}", word);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever is done and undone, the index finds what reading every record finds; also once the whole journal was
    /// taken back and done again.
    #[test]
    fn the_index_is_what_the_records_say(deeds in prop::collection::vec(deed(), 1..25)) {
        let Shelf { mut store, .. } = a_shelf();
        let start = store.head().unwrap().0;
        for deed in &deeds {
            act(&mut store, deed);
            agree(&store)?;
        }
        let full = store.head().unwrap().0;
        let mut taken_back = Vec::new();
        for entry in (start + 1..=full).rev() {
            // An entry that a later one undid is passed over.
            if let Ok(done) = store.undo(NOW, None, EntryId(entry)) {
                taken_back.push(done.entry().unwrap());
            }
        }
        agree(&store)?;
        for entry in taken_back.into_iter().rev() {
            store.undo(NOW, None, entry).unwrap();
        }
        agree(&store)?;
    }
}
