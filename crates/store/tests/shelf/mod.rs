//! A small shelf to test on: stocks, cans and rolls with invented names.

use spoolwright_core::film::{Light, Pitch};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{
    Base, Can, CanId, CanState, Process, Roll, RollId, RollState, Stock, StockId,
};
use spoolwright_store::{Done, Error, Record, Store};

pub(crate) const NOW: &str = "2026-03-01T10:00:00Z";

pub(crate) fn put<R: Record>(store: &mut Store, record: &R) -> Done<R::Id> {
    store
        .change::<_, Error>(NOW, None, |c| {
            Ok(("test.put", "Put it".into(), c.put(record)?))
        })
        .unwrap()
}

pub(crate) fn added<R: Record>(store: &mut Store, record: &R) -> R::Id {
    put(store, record).value().unwrap()
}

pub(crate) fn stock(name: &str) -> Stock {
    Stock {
        id: StockId(0),
        name: name.into(),
        ei: None,
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

pub(crate) fn can(stock: StockId, letters: &str) -> Can {
    Can {
        id: CanId(0),
        stock,
        letters: letters.into(),
        length_m: Estimate::new(30.5, 0.2),
        package: String::new(),
        tare_g: None,
        core_mm: 50.8,
        loader: None,
        parent: None,
        price: None,
        bought_on: None,
        expires_on: None,
        kept_c: None,
        note: String::new(),
        state: CanState::Open,
    }
}

pub(crate) fn roll(can: CanId, letters: &str, number: u32) -> Roll {
    Roll {
        id: RollId(0),
        can,
        number,
        label: Roll::label_of(letters, number),
        cassette: None,
        want: None,
        ticket: None,
        loader: None,
        frames: 36,
        advance_perforations: 8,
        clicks: 42.0,
        leader_clicks: 4,
        tail_clicks: 2,
        light: Light::Room,
        ei: None,
        state: RollState::Wound,
        wound_at: NOW.into(),
        note: String::new(),
    }
}
