//! The records of the field and the binder: what is put comes back to the last digit, the schema holds what must never
//! be, and every question finds what was said.

mod shelf;

use shelf::{NOW, added, can, put, roll, stock};
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{
    Binder, BinderPage, Bought, Camera, CameraLoad, FrameNote, FrameShape, Keepable, Kept,
    PageFormat, PlaceKind, Purchase, ScanFile, StoragePlace, Strip,
};
use spoolwright_core::shelf::{
    BinderId, BinderPageId, CameraId, CameraLoadId, CanId, FrameNoteId, KeptId, PageFormatId,
    PurchaseId, Roll, RollId, ScanFileId, StoragePlaceId, StripId,
};
use spoolwright_store::{Error, Record, Store};
use std::fmt::Debug;

fn frame(text: &str) -> Frame {
    Frame::parse(text).unwrap()
}

/// Puts a record and holds that the same comes back.
fn kept<R: Record + PartialEq + Debug>(
    store: &mut Store,
    record: R,
    numbered: impl FnOnce(R, R::Id) -> R,
) -> R::Id {
    let id = added(store, &record);
    assert_eq!(store.get::<R>(id).unwrap(), Some(numbered(record, id)));
    id
}

/// A store with a can and two rolls.
fn store() -> (Store, CanId, [RollId; 2]) {
    let mut store = Store::in_memory().unwrap();
    let stock = added(&mut store, &stock("Grey 250"));
    let of = added(&mut store, &can(stock, "HM"));
    let rolls = [1, 2].map(|n| added(&mut store, &roll(of, "HM", n)));
    (store, of, rolls)
}

fn camera(name: &str) -> Camera {
    Camera {
        id: CameraId(0),
        name: name.into(),
        note: "shutter sticks in the cold".into(),
        closed: false,
    }
}

fn load(roll: RollId, camera: CameraId) -> CameraLoad {
    CameraLoad {
        id: CameraLoadId(0),
        roll,
        camera,
        loaded_on: "2026-05-01".into(),
        ei: Some(200.0 + 1.0 / 3.0),
        first_frame: 1,
        out_frame: None,
        out_on: None,
        note: String::new(),
    }
}

fn note(roll: RollId, at: &str) -> FrameNote {
    FrameNote {
        made_at: NOW.into(),
        ..FrameNote::blank(roll, frame(at))
    }
}

fn format() -> PageFormat {
    PageFormat {
        id: PageFormatId(0),
        name: "Clear, 7 × 5".into(),
        rows: 7,
        frames_per_row: 5,
        price_each: Some(0.35),
        note: String::new(),
        closed: false,
    }
}

/// A binder with so many pages.
fn binder(store: &mut Store, name: &str, pages: u32) -> (BinderId, Vec<BinderPageId>) {
    let formats: Vec<PageFormat> = store.all().unwrap();
    let format = match formats.first() {
        Some(format) => format.id,
        None => kept(store, format(), |f, id| PageFormat { id, ..f }),
    };
    let record = Binder {
        id: BinderId(0),
        name: name.into(),
        format,
        note: String::new(),
        closed: false,
    };
    let binder = kept(store, record, |b, id| Binder { id, ..b });
    let page = |number| BinderPage {
        id: BinderPageId(0),
        binder,
        number,
    };
    let page = |n| kept(store, page(n), |p, id| BinderPage { id, ..p });
    (binder, (1..=pages).map(page).collect())
}

fn strip(roll: RollId, row: u32, first: u32, frames: u32) -> Strip {
    Strip {
        id: StripId(0),
        page: BinderPageId(0),
        row,
        position: 0,
        roll,
        first: Frame::number(first),
        last: Frame::number(first + frames - 1),
        frames,
    }
}

#[test]
fn everything_comes_back_to_the_last_digit() {
    let (mut store, of, [a, _]) = store();
    let store = &mut store;
    let box_camera = kept(store, camera("Black box"), |c, id| Camera { id, ..c });
    kept(store, load(a, box_camera), |l, id| CameraLoad { id, ..l });
    let full = FrameNote {
        exposures: 2,
        shape: FrameShape::Panoramic,
        taken_at: Some("2026-05-01T07:10".into()),
        aperture: Some(5.6),
        shutter_s: Some(1.0 / 125.0),
        lens: "50 mm".into(),
        filter: "yellow".into(),
        ei: Some(0.1 + 0.2),
        subject: "heron, \"waiting\"".into(),
        place: "the weir".into(),
        meter_ev: Some(-1.0 / 3.0),
        usable: Some(false),
        note: "fog\nand rain".into(),
        key: "k-1".into(),
        ..note(a, "12A")
    };
    let full = kept(store, full, |n, id| FrameNote { id, ..n });
    let other = FrameNote {
        beside: Some(full),
        ..note(a, "00")
    };
    kept(store, other, |n, id| FrameNote { id, ..n });
    let (bound, pages) = binder(store, "2026", 1);
    let filed = Strip {
        page: pages[0],
        position: 2,
        first: frame("0A"),
        ..strip(a, 6, 1, 3)
    };
    kept(store, filed, |s, id| Strip { id, ..s });
    let scan = ScanFile {
        id: ScanFileId(0),
        roll: a,
        frame: frame("0"),
        path: "scans/HM-01/0001.tif".into(),
        size: 360_000_000_000,
        digest: Some("d".into()),
        sidecar_digest: None,
        matched_on: "2026-06-01".into(),
    };
    kept(store, scan, |s, id| ScanFile { id, ..s });
    for kind in PlaceKind::ALL.iter().copied() {
        let place = StoragePlace {
            id: StoragePlaceId(0),
            name: kind.word().into(),
            kind,
            temperature_c: Some(-18.5),
            rh_percent: Some(45.0),
            note: String::new(),
            closed: false,
        };
        let place = kept(store, place, |p, id| StoragePlace { id, ..p });
        for thing in [
            Keepable::Can(of),
            Keepable::Roll(a),
            Keepable::Binder(bound),
        ] {
            let since = Kept {
                id: KeptId(0),
                thing,
                place,
                since: "2026-03-01".into(),
            };
            kept(store, since, |k, id| Kept { id, ..k });
        }
    }
    for what in Bought::ALL.iter().copied() {
        let bought = Purchase {
            id: PurchaseId(0),
            day: "2026-03-01".into(),
            what,
            price: 12.34,
            quantity: 2.5,
            uses_each: Some(50.0),
            bath: None,
            format: Some(PageFormatId(1)),
            note: "market".into(),
        };
        kept(store, bought, |p, id| Purchase { id, ..p });
    }
}

#[test]
fn one_roll_in_one_camera() {
    let (mut store, _, [a, b]) = store();
    let store = &mut store;
    let [one, two] = ["Black box", "Folding"].map(|n| added(store, &camera(n)));
    let first = added(store, &load(a, one));
    let mut refuse = |l: &CameraLoad| {
        let result = store.change::<_, Error>(NOW, None, |c| Ok(("x", "x".into(), c.put(l)?)));
        let error = result.unwrap_err();
        error.refusal().expect("words for the person").given.clone()
    };
    assert_eq!(refuse(&load(b, one)), "one that holds another roll");
    assert_eq!(refuse(&load(a, two)), "one that is in a camera");
    let no_day = CameraLoad {
        out_frame: Some(12),
        ..load(b, two)
    };
    refuse(&no_day);
    let out = CameraLoad {
        id: first,
        out_frame: Some(12),
        out_on: Some("2026-05-02".into()),
        ..load(a, one)
    };
    let taken_out = put(store, &out).entry().unwrap();
    assert_eq!(store.open_load_of_camera(one).unwrap(), None);
    added(store, &load(b, one));
    let again = CameraLoad {
        first_frame: 14,
        ..load(a, two)
    };
    let again = added(store, &again);
    assert_eq!(store.open_load_of_camera(one).unwrap().unwrap().roll, b);
    assert_eq!(store.open_load_of_roll(a).unwrap().unwrap().id, again);
    let loads = store.loads_of_roll(a).unwrap();
    assert_eq!(
        loads.iter().map(|l| l.id).collect::<Vec<_>>(),
        [first, again]
    );
    let newest = store.loads_of_camera(one, 1).unwrap();
    assert_eq!((newest.len(), newest[0].roll), (1, b));
    assert_eq!(store.open_loads().unwrap().len(), 2);
    let refused = store.undo(NOW, None, taken_out).unwrap_err();
    assert!(
        refused.refusal().is_some(),
        "the camera holds another by now: {refused}"
    );
}

#[test]
fn notes_come_in_the_order_of_the_film() {
    let (mut store, _, [a, b]) = store();
    let store = &mut store;
    for at in ["12A", "2", "00", "12", "10", "0"] {
        added(store, &note(a, at));
    }
    added(store, &note(b, "1"));
    let keyed = FrameNote {
        key: "k-1".into(),
        ..note(a, "12")
    };
    let keyed = added(store, &keyed);
    let first = store.notes_of_roll(a).unwrap()[4].id;
    let beside = FrameNote {
        beside: Some(first),
        ..note(a, "12")
    };
    let beside = added(store, &beside);
    let notes = store.notes_of_roll(a).unwrap();
    let frames: Vec<String> = notes.iter().map(|n| n.frame.to_string()).collect();
    assert_eq!(frames, ["00", "0", "2", "10", "12", "12", "12", "12A"]);
    assert_eq!(
        [notes[4].id, notes[5].id, notes[6].id],
        [first, beside, keyed]
    );
    assert_eq!(store.note_of_key("k-1").unwrap().unwrap().id, keyed);
    assert_eq!(
        store.note_of_key("").unwrap(),
        None,
        "no key is nobody's key"
    );
    assert_eq!(store.newest_note_of_roll(a).unwrap().unwrap().id, keyed);
    assert_eq!(store.newest_note_of_roll(RollId(99)).unwrap(), None);
    let twice = FrameNote {
        key: "k-1".into(),
        ..note(b, "3")
    };
    let twice = store.change::<_, Error>(NOW, None, |c| Ok(("x", "x".into(), c.put(&twice)?)));
    assert!(twice.unwrap_err().refusal().is_some());
}

#[test]
fn a_settled_note_loses_no_version_that_undo_cannot_bring_back() {
    let (mut store, _, [a, _]) = store();
    let store = &mut store;
    let first = added(
        store,
        &FrameNote {
            subject: "heron".into(),
            ..note(a, "12")
        },
    );
    let version = FrameNote {
        subject: "egret".into(),
        beside: Some(first),
        ..note(a, "12")
    };
    let version = added(store, &version);
    assert_eq!(store.versions_beside(first).unwrap()[0].id, version);
    assert_eq!(store.unsettled_notes().unwrap().len(), 1);
    let before = store.notes_of_roll(a).unwrap();
    let chosen = FrameNote {
        id: first,
        subject: "heron or egret".into(),
        ..note(a, "12")
    };
    let settled = store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("note.settled", "Settled".into(), c.settle_note(&chosen)?))
        })
        .unwrap()
        .entry()
        .unwrap();
    assert_eq!(store.notes_of_roll(a).unwrap(), [chosen]);
    store.undo(NOW, None, settled).unwrap();
    assert_eq!(store.notes_of_roll(a).unwrap(), before);
    let gone = store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("note.gone", "Took it away".into(), c.take_away_note(first)?))
        })
        .unwrap()
        .entry()
        .unwrap();
    assert_eq!(store.notes_of_roll(a).unwrap(), []);
    store.undo(NOW, None, gone).unwrap();
    assert_eq!(store.notes_of_roll(a).unwrap(), before);
    let nothing = store.change::<_, Error>(NOW, None, |c| {
        Ok((
            "note.gone",
            "Took it away".into(),
            c.take_away_note(FrameNoteId(99))?,
        ))
    });
    assert!(nothing.unwrap_err().refusal().is_some());
}

#[test]
fn a_page_is_filled_anew_and_a_frame_found_on_it() {
    let (mut store, _, [a, b]) = store();
    let store = &mut store;
    let (bound, pages) = binder(store, "2026", 2);
    let fill = |store: &mut Store, page, strips: &[Strip]| {
        let done = store.change::<_, Error>(NOW, None, |c| {
            c.put_strips(page, strips)?;
            Ok(("page.filled", "Filled the page".into(), ()))
        });
        done.unwrap().entry()
    };
    let second = [strip(a, 0, 1, 5), strip(a, 1, 6, 5), strip(b, 2, 1, 4)];
    fill(store, pages[1], &second).unwrap();
    fill(
        store,
        pages[0],
        &[Strip {
            position: 1,
            ..strip(a, 6, 11, 4)
        }],
    )
    .unwrap();
    let rows = |strips: Vec<Strip>| strips.iter().map(|s| (s.page, s.row)).collect::<Vec<_>>();
    let of_a = [(pages[1], 0), (pages[1], 1), (pages[0], 6)];
    assert_eq!(rows(store.strips_of_roll(a).unwrap()), of_a);
    let of_binder = [(pages[0], 6), (pages[1], 0), (pages[1], 1), (pages[1], 2)];
    assert_eq!(rows(store.strips_of_binder(bound).unwrap()), of_binder);
    assert_eq!(store.pages_of_binder(bound).unwrap().len(), 2);
    assert_eq!(store.page_numbered(bound, 2).unwrap().unwrap().id, pages[1]);

    let place = store.place_of_frame(a, frame("8")).unwrap().unwrap();
    assert_eq!(place.binder.name, "2026");
    assert_eq!(
        (place.page.number, place.strip.row, place.position),
        (2, 1, 2)
    );
    assert_eq!(place.format.rows, 7);
    let place = store.place_of_frame(a, frame("14")).unwrap().unwrap();
    assert_eq!(
        (place.page.number, place.strip.row, place.position),
        (1, 6, 4)
    );
    assert_eq!(store.place_of_frame(a, frame("15")).unwrap(), None);
    assert_eq!(store.place_of_frame(RollId(99), frame("1")).unwrap(), None);
    let half = Roll {
        id: b,
        advance_perforations: 4,
        ..store.get::<Roll>(b).unwrap().unwrap()
    };
    put(store, &half);
    assert_eq!(
        store
            .place_of_frame(b, frame("4"))
            .unwrap()
            .unwrap()
            .position,
        1
    );

    let before = store.strips_of_page(pages[1]).unwrap();
    assert_eq!(
        fill(store, pages[1], &before),
        None,
        "the same strips are no change"
    );
    let swapped = [strip(a, 0, 6, 5), strip(a, 1, 1, 5)];
    let entry = fill(store, pages[1], &swapped).unwrap();
    assert_eq!(store.strips_of_page(pages[1]).unwrap()[0].first, frame("6"));
    let undone = store.undo(NOW, None, entry).unwrap().entry().unwrap();
    assert_eq!(store.strips_of_page(pages[1]).unwrap(), before);
    store.undo(NOW, None, undone).unwrap();
    assert_eq!(store.strips_of_page(pages[1]).unwrap().len(), 2);
    let twice = store.change::<_, Error>(NOW, None, |c| {
        c.put_strips(pages[0], &[strip(a, 0, 1, 5), strip(b, 0, 1, 5)])?;
        Ok(("x", "x".into(), ()))
    });
    assert!(
        twice.unwrap_err().refusal().is_some(),
        "two strips at one place"
    );
}

#[test]
fn scans_are_known_by_roll_and_by_path() {
    let (mut store, _, [a, _]) = store();
    let store = &mut store;
    let scan = |at: &str, path: &str| ScanFile {
        id: ScanFileId(0),
        roll: a,
        frame: frame(at),
        path: path.into(),
        size: 1,
        digest: None,
        sidecar_digest: None,
        matched_on: "2026-06-01".into(),
    };
    let ids =
        [("12", "c.tif"), ("2", "b.tif"), ("0", "d.tif")].map(|(f, p)| added(store, &scan(f, p)));
    let paths: Vec<String> = store
        .scans_of_roll(a)
        .unwrap()
        .into_iter()
        .map(|s| s.path)
        .collect();
    assert_eq!(paths, ["d.tif", "b.tif", "c.tif"]);
    assert_eq!(store.scan_of_path("b.tif").unwrap().unwrap().id, ids[1]);
    assert_eq!(store.scan_of_path("B.tif").unwrap(), None);
    let twice = store.change::<_, Error>(NOW, None, |c| {
        Ok(("x", "x".into(), c.put(&scan("3", "b.tif"))?))
    });
    assert!(twice.unwrap_err().refusal().is_some());
    let gone = store.change::<_, Error>(NOW, None, |c| {
        Ok(("x", "x".into(), c.take_away_scan(ids[1])?))
    });
    assert_eq!(store.scan_of_path("b.tif").unwrap(), None);
    store
        .undo(NOW, None, gone.unwrap().entry().unwrap())
        .unwrap();
    assert_eq!(store.scan_of_path("b.tif").unwrap().unwrap().id, ids[1]);
}

#[test]
fn the_newest_place_holds() {
    let (mut store, of, [a, b]) = store();
    let store = &mut store;
    let place = |name: &str| StoragePlace {
        id: StoragePlaceId(0),
        name: name.into(),
        kind: PlaceKind::Freezer,
        temperature_c: None,
        rh_percent: None,
        note: String::new(),
        closed: false,
    };
    let [freezer, shelf] = ["Freezer", "Shelf"].map(|n| added(store, &place(n)));
    let mut keep = |thing, place, since: &str| {
        put(
            store,
            &Kept {
                id: KeptId(0),
                thing,
                place,
                since: since.into(),
            },
        )
        .entry()
        .unwrap()
    };
    keep(Keepable::Can(of), freezer, "2026-01-01");
    keep(Keepable::Roll(a), shelf, "2026-05-01");
    keep(Keepable::Roll(a), freezer, "2026-02-01");
    keep(Keepable::Roll(b), freezer, "2026-05-01");
    let same_day = keep(Keepable::Roll(b), shelf, "2026-05-01");
    let now = |store: &Store, thing| store.kept_now(thing).unwrap().map(|k| k.place);
    assert_eq!(now(store, Keepable::Can(of)), Some(freezer));
    assert_eq!(
        now(store, Keepable::Roll(a)),
        Some(shelf),
        "by the day, whenever it was said"
    );
    assert_eq!(
        now(store, Keepable::Roll(b)),
        Some(shelf),
        "said later on the same day"
    );
    assert_eq!(now(store, Keepable::Binder(BinderId(1))), None);
    assert_eq!(store.places_of(Keepable::Roll(a)).unwrap().len(), 2);
    let inside = |store: &Store, place| {
        let kept = store.kept_in(place).unwrap();
        kept.into_iter().map(|k| k.thing).collect::<Vec<_>>()
    };
    assert_eq!(inside(store, shelf), [Keepable::Roll(a), Keepable::Roll(b)]);
    assert_eq!(store.all_kept_now().unwrap().len(), 3);
    store.undo(NOW, None, same_day).unwrap();
    assert_eq!(
        inside(store, freezer),
        [Keepable::Can(of), Keepable::Roll(b)]
    );
}

#[test]
fn purchases_are_told_by_year() {
    let (mut store, _, _) = store();
    for day in [
        "2025-12-31",
        "2026-06-01",
        "2026-01-01",
        "2026-12-31",
        "2027-01-01",
    ] {
        let bought = Purchase {
            id: PurchaseId(0),
            day: day.into(),
            what: Bought::Chemistry,
            price: 9.5,
            quantity: 1.0,
            uses_each: None,
            bath: None,
            format: None,
            note: String::new(),
        };
        added(&mut store, &bought);
    }
    let days: Vec<String> = store
        .purchases_of_year(2026)
        .unwrap()
        .into_iter()
        .map(|p| p.day)
        .collect();
    assert_eq!(days, ["2026-01-01", "2026-06-01", "2026-12-31"]);
}
