//! The journal's promises: all or nothing, undo puts back bit for bit, a request counts once.

use proptest::prelude::*;
use spoolwright_core::film::Pitch;
use spoolwright_core::shelf::{Base, EntryId, Process, Stock, StockId, Want, WantId};
use spoolwright_store::{Done, Error, Store};

const NOW: &str = "2026-03-01T10:00:00Z";

fn stock(name: &str) -> Stock {
    Stock {
        id: StockId(0),
        name: name.into(),
        ei: Some(0.1 + 0.2),
        process: Process::Negative,
        base: Base::Acetate,
        backing: Default::default(),
        pitch: Pitch::Long,
        thickness_mm: None,
        linear_mass_g_per_m: None,
        ready_wound_price: None,
        note: String::new(),
        closed: false,
    }
}

fn want(stocks: &[StockId]) -> Want {
    Want {
        id: WantId(0),
        what_for: "harbour at dawn".into(),
        by_when: None,
        frames: 36,
        priority: 1,
        stocks: stocks.to_vec(),
        ei: None,
        camera: String::new(),
        advance_perforations: 8,
        dropped: false,
    }
}

fn put_stock(store: &mut Store, stock: &Stock) -> (EntryId, StockId) {
    let done = store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("stock.put", format!("Put {}", stock.name), c.put(stock)?))
        })
        .unwrap();
    (done.entry().unwrap(), done.value().unwrap())
}

#[test]
fn a_failed_change_leaves_nothing() {
    let mut store = Store::in_memory().unwrap();
    let result = store.change::<(), Error>(NOW, None, |c| {
        c.put(&stock("Grey 250"))?;
        c.put(&stock("Grey 250"))?;
        Ok(("x", "x".into(), ()))
    });
    let refusal = result.unwrap_err();
    assert_eq!(refusal.refusal().unwrap().what, "stock name");
    assert_eq!(
        refusal.refusal().unwrap().given,
        "\"Grey 250\", which is taken"
    );
    assert!(store.all::<Stock>().unwrap().is_empty());
    assert!(store.journal(None, None, 9).unwrap().is_empty());
}

#[test]
fn the_same_request_counts_once() {
    let mut store = Store::in_memory().unwrap();
    let mut ask = |name: &str| {
        store
            .change::<_, Error>(NOW, Some("tap-1"), |c| {
                Ok(("stock.put", "Put".into(), c.put(&stock(name))?))
            })
            .unwrap()
    };
    let first = ask("Grey 250");
    let again = ask("Grey 250");
    assert!(matches!(first, Done::Now { .. }));
    assert_eq!(again, Done::Before(first.entry().unwrap()));
    assert_eq!(store.all::<Stock>().unwrap().len(), 1);
}

#[test]
fn undo_and_undo_of_undo() {
    let mut store = Store::in_memory().unwrap();
    let (_, id) = put_stock(&mut store, &stock("Grey 250"));
    let mut changed = store.get::<Stock>(id).unwrap().unwrap();
    changed.note = "from the market".into();
    let (entry, _) = put_stock(&mut store, &changed);

    let undone = store.undo(NOW, None, entry).unwrap();
    assert_eq!(store.get::<Stock>(id).unwrap().unwrap().note, "");
    assert!(
        store.undo(NOW, None, entry).is_err(),
        "an entry is undone once"
    );
    assert!(store.journal(None, None, 9).unwrap()[1].undone);

    store.undo(NOW, None, undone.entry().unwrap()).unwrap();
    assert_eq!(store.get::<Stock>(id).unwrap().unwrap(), changed);
    assert!(!store.journal(None, None, 9).unwrap()[2].undone);
}

#[test]
fn undo_refuses_what_others_rest_on_or_changed() {
    let mut store = Store::in_memory().unwrap();
    let (entry, id) = put_stock(&mut store, &stock("Grey 250"));
    store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("want.put", "Put".into(), c.put(&want(&[id]))?))
        })
        .unwrap();
    let refusal = store.undo(NOW, None, entry).unwrap_err();
    assert!(refusal.to_string().contains("undo that first"), "{refusal}");
    assert_eq!(
        store.all::<Stock>().unwrap().len(),
        1,
        "nothing was half undone"
    );

    let mut changed = store.get::<Stock>(id).unwrap().unwrap();
    changed.note = "x".into();
    put_stock(&mut store, &changed);
    assert!(store.undo(NOW, None, entry).is_err());
}

#[test]
fn a_wants_stocks_follow_undo() {
    let mut store = Store::in_memory().unwrap();
    let (_, a) = put_stock(&mut store, &stock("A"));
    let (_, b) = put_stock(&mut store, &stock("B"));
    let id = store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("want.put", "Put".into(), c.put(&want(&[a, b]))?))
        })
        .unwrap()
        .value()
        .unwrap();
    let entry = store
        .change::<_, Error>(NOW, None, |c| {
            let mut w = c.get::<Want>(id)?.unwrap();
            w.stocks = vec![b];
            Ok(("want.put", "Put".into(), c.put(&w)?))
        })
        .unwrap()
        .entry()
        .unwrap();
    assert_eq!(store.get::<Want>(id).unwrap().unwrap().stocks, [b]);
    store.undo(NOW, None, entry).unwrap();
    assert_eq!(store.get::<Want>(id).unwrap().unwrap().stocks, [a, b]);
}

#[test]
fn a_backup_holds_the_same_and_never_overwrites() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = Store::open(&folder.path().join("shelf.sqlite")).unwrap();
    put_stock(&mut store, &stock("Grey 250"));
    let copy = folder.path().join("copy.sqlite");
    store.backup_to(&copy).unwrap();
    assert_eq!(
        Store::open(&copy).unwrap().all::<Stock>().unwrap(),
        store.all::<Stock>().unwrap()
    );
    assert!(
        store
            .backup_to(&copy)
            .unwrap_err()
            .to_string()
            .contains("never overwrites")
    );
}

#[test]
fn what_was_undone_and_asked_again_is_not_done_twice() {
    let mut store = Store::in_memory().unwrap();
    let (_, stock) = put_stock(&mut store, &stock("Grey 250"));
    let ask = |store: &mut Store| {
        store
            .change::<_, Error>(NOW, Some("tap-1"), |c| {
                Ok(("want.put", "Put".into(), c.put(&want(&[stock]))?))
            })
            .unwrap()
            .entry()
            .unwrap()
    };
    let first = ask(&mut store);
    let undone = store.undo(NOW, None, first).unwrap().entry().unwrap();
    let again = ask(&mut store);
    let refused = store.undo(NOW, None, undone).unwrap_err();
    let refusal = refused.refusal().expect("words for the person");
    assert!(
        refusal.remedy.contains(&format!("Entry {again}")),
        "{refusal}"
    );
    assert_eq!(store.all::<Want>().unwrap().len(), 1);
    store.undo(NOW, None, again).unwrap();
    store.undo(NOW, None, undone).unwrap();
    assert_eq!(store.all::<Want>().unwrap().len(), 1);
}

#[test]
fn an_undo_refused_names_what_stands_in_its_way() {
    let mut store = Store::in_memory().unwrap();
    let (entry, id) = put_stock(&mut store, &stock("Grey 250"));
    let mut changed = store.get::<Stock>(id).unwrap().unwrap();
    changed.note = "x".into();
    let (later, _) = put_stock(&mut store, &changed);
    let refused = store.undo(NOW, None, entry).unwrap_err().to_string();
    assert!(
        refused.contains(&format!("Entry {later} (Put Grey 250)")),
        "{refused}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Undoing a run of changes backwards leads through every earlier state exactly, odd numbers included.
    #[test]
    fn undoing_backwards_restores_every_state(eis in prop::collection::vec(1e-3f64..1e6, 1..8), notes in prop::collection::vec(".{0,20}", 8)) {
        let mut store = Store::in_memory().unwrap();
        let (_, id) = put_stock(&mut store, &stock("Grey 250"));
        let mut states = vec![store.get::<Stock>(id).unwrap().unwrap()];
        let mut entries = Vec::new();
        for (ei, note) in eis.iter().zip(&notes) {
            let next = Stock { ei: Some(*ei), note: note.replace('\0', ""), ..states.last().unwrap().clone() };
            entries.push(put_stock(&mut store, &next).0);
            states.push(next);
        }
        for entry in entries.into_iter().rev() {
            prop_assert_eq!(&store.get::<Stock>(id).unwrap().unwrap(), &states.pop().unwrap());
            store.undo(NOW, None, entry).unwrap();
        }
        prop_assert_eq!(&store.get::<Stock>(id).unwrap().unwrap(), &states[0]);
    }
}
