//! The wedge bench's records: what is put comes back to the last digit, the newest card holds, undo takes it back.

use spoolwright_core::film::Pitch;
use spoolwright_core::shelf::{
    Base, Process, Stock, StockCardId, StockId, WedgeStripId, WedgeTestId,
};
use spoolwright_core::wedge::record::{Channel, SpeedKind, StockCard, Way, WedgeStrip, WedgeTest};
use spoolwright_core::wedge::{Interval, Measure};
use spoolwright_store::{Done, Error, Record, Store, Subject};

const NOW: &str = "2026-03-01T10:00:00Z";

fn put<R: Record>(store: &mut Store, record: &R) -> Done<R::Id> {
    store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("test.put", "Put it".into(), c.put(record)?))
        })
        .unwrap()
}

fn grey(store: &mut Store) -> StockId {
    let stock = Stock {
        id: StockId(0),
        name: "Grey, unmarked".into(),
        ei: None,
        process: Process::Negative,
        base: Base::Unknown,
        backing: Default::default(),
        pitch: Pitch::Long,
        thickness_mm: None,
        linear_mass_g_per_m: None,
        ready_wound_price: None,
        note: String::new(),
        closed: false,
    };
    put(store, &stock).value().unwrap()
}

fn test(stock: StockId) -> WedgeTest {
    WedgeTest {
        id: WedgeTestId(0),
        name: "Grey, first try".into(),
        stock,
        can: None,
        way: Way::Absolute,
        steps: vec![0.05, 0.1 + 0.2, 3.05],
        log_h_at_zero_density: Some(-0.1),
        meter_ei: None,
        developer: "house brew".into(),
        dilution: "1+9".into(),
        temperature_c: Some(20.0),
        agitation: "once a minute".into(),
        planned_min: vec![5.0, 8.0],
        ticket: None,
        begun_on: "2026-03-01".into(),
        note: String::new(),
        closed: false,
    }
}

fn strip(test: WedgeTestId) -> WedgeStrip {
    WedgeStrip {
        id: WedgeStripId(0),
        test,
        time_min: 8.0,
        channel: Channel::Visual,
        density: vec![Some(1.0 / 3.0), None, Some(0.203)],
        density_sd: Some(0.01),
        base_fog: None,
        source: "typed".into(),
        left_out: false,
    }
}

fn card(stock: StockId, test: WedgeTestId, ei: f64) -> StockCard {
    let around = |value: f64| Interval {
        value,
        lower95: value * 0.9,
        upper95: value * 1.1,
    };
    StockCard {
        id: StockCardId(0),
        stock,
        test: Some(test),
        can: None,
        made_on: "2026-03-02".into(),
        ei: Some(around(ei)),
        speed_kind: SpeedKind::Iso,
        time_min: Some(around(8.0)),
        target: Some((Measure::ContrastIndex, 0.58)),
        developer: "house brew".into(),
        dilution: "1+9".into(),
        temperature_c: Some(20.0),
        agitation: "once a minute".into(),
        limits: String::new(),
        note: String::new(),
    }
}

#[test]
fn a_test_and_its_strips_come_back_to_the_last_digit() {
    let mut store = Store::in_memory().unwrap();
    let stock = grey(&mut store);
    let given = test(stock);
    let id = put(&mut store, &given).value().unwrap();
    let strip = strip(id);
    let strip_id = put(&mut store, &strip).value().unwrap();
    assert_eq!(
        store.get::<WedgeTest>(id).unwrap(),
        Some(WedgeTest { id, ..given })
    );
    assert_eq!(
        store.strips_of_test(id).unwrap(),
        [WedgeStrip {
            id: strip_id,
            ..strip
        }]
    );
}

#[test]
fn the_newest_card_holds_until_it_is_undone() {
    let mut store = Store::in_memory().unwrap();
    let stock = grey(&mut store);
    let tested = put(&mut store, &test(stock)).value().unwrap();
    put(&mut store, &card(stock, tested, 100.0));
    let second = put(&mut store, &card(stock, tested, 160.0));
    let speed = |store: &Store| store.newest_cards().unwrap()[0].ei.unwrap().value;
    assert_eq!(speed(&store), 160.0);
    assert_eq!(store.cards_of_stock(stock).unwrap().len(), 2);
    store.undo(NOW, None, second.entry().unwrap()).unwrap();
    assert_eq!(speed(&store), 100.0);
    assert_eq!(
        store.cards_of_stock(stock).unwrap()[0].target,
        Some((Measure::ContrastIndex, 0.58))
    );
}

#[test]
fn a_card_without_an_ei_leaves_the_one_before_in_force() {
    let mut store = Store::in_memory().unwrap();
    let stock = grey(&mut store);
    let tested = put(&mut store, &test(stock)).value().unwrap();
    put(&mut store, &card(stock, tested, 113.0));
    let timed = StockCard {
        ei: None,
        ..card(stock, tested, 1.0)
    };
    put(&mut store, &timed);
    assert_eq!(store.newest_cards().unwrap()[0].ei, None);
    let rated = store.newest_eis().unwrap()[0].rated();
    assert_eq!(rated, Some(125.0), "113 on the list of standard speeds");
}

#[test]
fn a_known_exposure_needs_its_number() {
    let mut store = Store::in_memory().unwrap();
    let stock = grey(&mut store);
    let without = WedgeTest {
        log_h_at_zero_density: None,
        ..test(stock)
    };
    let refused = store.change::<_, Error>(NOW, None, |c| {
        Ok(("test.put", "Put it".into(), c.put(&without)?))
    });
    assert!(refused.is_err());
}

/// A change tells from the making on what it moved; taken back, it tells nothing, whatever else was done meanwhile.
#[test]
fn what_changed_since_a_card_was_made_is_told_until_it_is_undone() {
    let mut store = Store::in_memory().unwrap();
    let stock = grey(&mut store);
    let id = put(&mut store, &test(stock)).value().unwrap();
    let made = put(&mut store, &card(stock, id, 100.0)).value().unwrap();
    let changed = |store: &Store| {
        let card = Subject::of::<StockCard>(made);
        let about = [Subject::of::<WedgeTest>(id), Subject::of::<Stock>(stock)];
        store.changed_since(card, &about).unwrap()
    };
    assert_eq!(changed(&store), []);
    let other = WedgeTest {
        id,
        log_h_at_zero_density: Some(0.2),
        ..test(stock)
    };
    let first = put(&mut store, &other).entry().unwrap();
    let moved = changed(&store);
    assert_eq!(moved.len(), 1);
    assert_eq!((moved[0].table.as_str(), moved[0].id), ("wedge_test", id.0));
    assert_eq!(moved[0].column, "log_h_at_zero_density");
    put(&mut store, &strip(id));
    store.undo(NOW, None, first).unwrap();
    assert_eq!(changed(&store), []);
}
