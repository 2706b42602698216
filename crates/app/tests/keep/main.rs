//! Places that film is kept in, and what a usable frame came to, through the service.

mod cost;
mod places;

use spoolwright::service::Service;
use spoolwright::service::draft::{CanDraft, LoaderDraft, StockDraft};
use spoolwright::service::queue::TicketDraft;
use spoolwright::service::rolls::RollDraft;
use spoolwright::service::winding::WindDraft;
use spoolwright_core::shelf::{CanId, RollId};
use spoolwright_store::Store;

/// A store on 1 November 2026 with one stock and a loader.
fn service() -> Service {
    let s = Service::over(
        Store::in_memory().unwrap(),
        Box::new(|| "2026-11-01T12:00:00Z".parse().unwrap()),
    );
    let loader = LoaderDraft {
        name: "Bench".into(),
        ..LoaderDraft::default()
    };
    s.save_loader(None, &loader, None).unwrap();
    stock(&s, "Harbour Mist 100", "negative", "acetate");
    s
}

fn stock(s: &Service, name: &str, process: &str, base: &str) {
    let stock = StockDraft {
        name: name.into(),
        ei: "100".into(),
        process: process.into(),
        base: base.into(),
        ready_wound_price: "9".into(),
        ..StockDraft::default()
    };
    s.save_stock(None, &stock, None).unwrap();
}

fn can(s: &Service, letters: &str, draft: CanDraft) -> CanId {
    let draft = CanDraft {
        stock: if draft.stock.is_empty() {
            "Harbour Mist 100".into()
        } else {
            draft.stock
        },
        letters: letters.into(),
        loader: "Bench".into(),
        ..draft
    };
    s.save_can(None, &draft, None).unwrap().value.unwrap()
}

fn wind(s: &Service, can: &str, frames: u32) -> (RollId, String) {
    let ticket = TicketDraft {
        can: can.into(),
        frames: frames.to_string(),
        ..TicketDraft::default()
    };
    let id = s.add_ticket(&ticket, None).unwrap().value.unwrap();
    let wound = s.wind(id, &WindDraft::default(), None).unwrap();
    wound.value.unwrap().roll.unwrap()
}

fn moved(s: &Service, roll: RollId, state: &str) {
    let draft = RollDraft {
        state: state.into(),
        note: "fogged".into(),
        ..RollDraft::default()
    };
    s.move_roll(roll, &draft, None).unwrap();
}

fn fields(failure: &spoolwright::service::Failure) -> Vec<&str> {
    failure.faults().iter().map(|f| &*f.field).collect()
}
