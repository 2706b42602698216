//! What a usable frame came to: sums by hand from what was paid, and the same as a table.

use super::*;
use spoolwright::service::breaking::BreakDraft;
use spoolwright::service::field::money::{By, Costs};
use spoolwright::service::field::purchases::PurchaseDraft;
use spoolwright::service::rolls::MeasureDraft;
use spoolwright::service::wet::after::ResultDraft;
use spoolwright::service::wet::baths::BathDraft;
use spoolwright::service::wet::kit::{ReelDraft, TankDraft};
use spoolwright::service::wet::make::RunDraft;
use spoolwright::service::wet::press::MarkDraft;
use spoolwright_core::cost::report::Group;
use spoolwright_core::shelf::PurchaseId;

#[track_caller]
fn near(is: f64, wanted: f64, share: f64) {
    assert!((is / wanted - 1.0).abs() < share, "{is} is not {wanted}");
}

fn buy(s: &Service, what: &str, price: &str, quantity: &str, uses: &str, bath: &str) -> PurchaseId {
    let draft = PurchaseDraft {
        what: what.into(),
        price: price.into(),
        quantity: quantity.into(),
        uses_each: uses.into(),
        bath: bath.into(),
        ..PurchaseDraft::default()
    };
    s.save_purchase(None, &draft, None).unwrap().value.unwrap()
}

fn priced(price: &str) -> CanDraft {
    CanDraft {
        price: price.into(),
        length: "30.48 m".into(),
        ..CanDraft::default()
    }
}

/// A roll of which 1.65 m were drawn.
fn roll(s: &Service, can: &str) -> (RollId, String) {
    let (id, label) = wind(s, can, 36);
    let length = MeasureDraft {
        length: "1.65 m".into(),
    };
    s.measure_roll(id, &length, None).unwrap();
    (id, label)
}

fn tank(s: &Service) {
    let reel = ReelDraft {
        name: "Steel".into(),
        count: "2".into(),
        ..ReelDraft::default()
    };
    s.save_reel(None, &reel, None).unwrap();
    let tank = TankDraft {
        name: "Short".into(),
        reel: "Steel".into(),
        volumes: "290 590".into(),
    };
    s.save_tank(None, &tank, None).unwrap();
    s.begin_recipe("Negative, one-shot", None).unwrap();
}

fn develop(s: &Service, label: &str, usable: u32) {
    let roll = s.roll(label).unwrap().roll.id;
    moved(s, roll, "exposed");
    let run = RunDraft {
        recipe: "Negative, one-shot".into(),
        tank: "Short".into(),
        reels: label.into(),
        ..RunDraft::default()
    };
    let run = s.make_run(&run, None).unwrap().value.unwrap();
    let press = |kind: &str| {
        let draft = MarkDraft {
            kind: kind.into(),
            note: "because".into(),
            ..MarkDraft::default()
        };
        s.press(run, &draft, None).unwrap();
    };
    for _ in 0..s.run(run).unwrap().steps.len() {
        press("begin");
    }
    press("finish");
    let result = ResultDraft {
        usable: usable.to_string(),
        ..ResultDraft::default()
    };
    s.save_result(run, label, &result, None).unwrap();
}

fn group<'c>(costs: &'c Costs, by: By, name: &str) -> &'c Group {
    let groups = costs.groups(by);
    let found = groups.into_iter().find(|(n, _)| n == name);
    found.unwrap_or_else(|| panic!("no {name}")).1
}

/// 58 for 30.48 m, of which two rolls drew 1.65 m each: 3.14 a roll. Ten cassettes for 25 that serve 20 times: 0.125 a
/// filling. A bottle for 8 that serves ten films of 36: 0.80 for 0.0516 m² [D12]. One roll gave 35 frames, one none.
#[test]
fn a_frame_bears_what_was_paid_for_it() {
    let s = service();
    can(&s, "HM", priced("58"));
    tank(&s);
    let (_, kept) = roll(&s, "HM");
    let (torn, _) = roll(&s, "HM");
    let (waits, _) = roll(&s, "HM");
    develop(&s, &kept, 35);
    moved(&s, torn, "scrapped");
    moved(&s, waits, "exposed");
    let bare = s.costs().unwrap();
    assert!(!bare.report.all.missing.is_empty(), "prices are missing");

    buy(&s, "cassettes", "25", "10", "20", "");
    buy(&s, "chemistry", "8", "1", "10", "");
    buy(&s, "other", "3.50", "", "", "");
    let costs = s.costs().unwrap();
    let all = &costs.report.all;
    assert_eq!(
        (all.rolls, all.waiting_rolls, all.usable, all.lost),
        (2, 1, 35, 37)
    );
    near(all.film.mid, 2.0 * 58.0 * 1.65 / 30.48, 0.01);
    near(all.cassettes.mid, 0.25, 1e-9);
    near(all.cassettes.high, 0.375, 1e-9);
    let area = s.roll(&kept).unwrap().roll.clicks * 0.038 * 0.035;
    near(all.chemistry.mid, 0.8 * area / 0.0516, 0.01);
    near(all.other.mid, 3.5, 1e-9);
    assert!(all.missing.is_empty(), "{:?}", all.missing);
    near(all.waiting.mid, 58.0 * 1.65 / 30.48 + 0.125, 0.01);
    let hm = group(&costs, By::Can, "HM");
    near(hm.per_frame().unwrap().mid, hm.total().mid / 35.0, 1e-9);
    let ready = hm.ready.unwrap();
    near(ready.ready_wound, 35.0 * 9.0 / 36.0, 1e-9);
    near(
        ready.saved.mid,
        8.75 - 2.0 * 58.0 * 1.65 / 30.48 - 0.25,
        0.02,
    );
    assert_eq!(group(&costs, By::Year, "2026").usable, 35);
    assert_eq!(group(&costs, By::Stock, "Harbour Mist 100").lost, 37);
    assert!(costs.caveats.iter().any(|c| c.code == "chemistry_for_all"));
}

/// A bottle bought by name is borne by what went through it, the more for the longer film, and by nothing else.
#[test]
fn a_bottle_of_its_own_is_borne_by_its_films() {
    let s = service();
    can(&s, "HM", priced("58"));
    tank(&s);
    let fixer = BathDraft {
        name: "Brown bottle".into(),
        kind: "fixer".into(),
        volume: "1 l".into(),
        rolls_per_litre: "10".into(),
        ..BathDraft::default()
    };
    s.save_bath(None, &fixer, None).unwrap();
    let (_, label) = roll(&s, "HM");
    develop(&s, &label, 36);
    let before = s.costs().unwrap();
    let lacks = |c: &Costs| c.report.all.missing.iter().any(|m| m.what == "chemistry");
    assert!(lacks(&before), "{:?}", before.report.all.missing);
    let id = buy(&s, "chemistry", "12", "", "", "brown bottle");
    let costs = s.costs().unwrap();
    assert!(!lacks(&costs), "{:?}", costs.report.all.missing);
    let area = s.roll(&label).unwrap().roll.clicks * 0.038 * 0.035;
    let chemistry = costs.report.all.chemistry;
    near(chemistry.mid, 12.0 * area / 0.516, 0.01);
    assert!(!chemistry.is_guess(), "its sheet says what it takes");
    // Corrected, and the correction taken back.
    let dearer = PurchaseDraft {
        price: "24".into(),
        ..PurchaseDraft::of(&s.purchase(id).unwrap())
    };
    let entry = s.save_purchase(Some(id), &dearer, None).unwrap().entry;
    near(
        s.costs().unwrap().report.all.chemistry.mid,
        2.0 * chemistry.mid,
        1e-9,
    );
    s.undo(entry.unwrap(), None).unwrap();
    near(
        s.costs().unwrap().report.all.chemistry.mid,
        chemistry.mid,
        1e-9,
    );
}

/// What a can that was broken gave away is paid for once.
#[test]
fn a_broken_can_is_paid_for_once() {
    let s = service();
    let long = CanDraft {
        price: "200".into(),
        length: "120 m".into(),
        ..CanDraft::default()
    };
    let mother = can(&s, "LL", long);
    let parts = BreakDraft {
        parts: "3 x 30 m".into(),
        ..BreakDraft::default()
    };
    let made = s.break_can(mother, &parts, None).unwrap().value.unwrap();
    let part = s.can(made[0]).unwrap().can.letters;
    roll(&s, &part);
    roll(&s, "LL");
    let costs = s.costs().unwrap();
    for can in [part.as_str(), "LL"] {
        let one = group(&costs, By::Can, can);
        near(one.waiting.mid, 200.0 * 1.65 / 120.0, 0.02);
    }
}

#[test]
fn costs_as_a_table_for_a_spreadsheet() {
    let s = service();
    stock(&s, "=2+3, \"odd\"", "negative", "acetate");
    let odd = CanDraft {
        stock: "=2+3, \"odd\"".into(),
        ..priced("30")
    };
    can(&s, "OD", odd);
    let (id, label) = roll(&s, "OD");
    moved(&s, id, "scrapped");
    let read = |text: &str| -> Vec<Vec<String>> {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(text.as_bytes());
        let rows = reader.records().map(|r| r.unwrap());
        rows.map(|r| r.iter().map(str::to_owned).collect())
            .collect()
    };
    let all = read(&s.costs_as_csv(None).unwrap());
    let kinds: Vec<&str> = all.iter().map(|r| &*r[0]).collect();
    assert_eq!(kinds, ["by", "can", "stock", "year", "all"]);
    // A spreadsheet is to read a name, not to work it out.
    assert_eq!(all[2][1], "'=2+3, \"odd\"");
    let at = |head: &str| all[0].iter().position(|h| h == head).unwrap();
    assert_eq!(all[1][at("lost_frames")], "36");
    near(
        all[1][at("film")].parse().unwrap(),
        30.0 * 1.65 / 30.48,
        0.01,
    );
    assert_eq!(
        all[1][at("per_usable_frame")],
        "",
        "there is no usable frame"
    );
    assert!(all[1][at("prices_missing")].contains("cassettes"));
    let stocks = read(&s.costs_as_csv(Some(By::Stock)).unwrap());
    assert_eq!(stocks.len(), 2);
    let rolls = read(&s.rolls_as_csv().unwrap());
    assert_eq!(rolls[1][0], label);
}

#[test]
fn a_purchase_that_cannot_be_is_refused_at_its_field() {
    let s = service();
    let refused = |draft: PurchaseDraft, field: &str| {
        let failure = s.save_purchase(None, &draft, None).unwrap_err();
        assert!(fields(&failure).contains(&field), "{field}: {failure}");
    };
    let sound = PurchaseDraft {
        price: "25 €".into(),
        ..PurchaseDraft::default()
    };
    let with = |change: fn(&mut PurchaseDraft)| {
        let mut draft = sound.clone();
        change(&mut draft);
        draft
    };
    refused(PurchaseDraft::default(), "price");
    refused(with(|d| d.price = "free".into()), "price");
    refused(with(|d| d.what = "film".into()), "what");
    refused(with(|d| d.quantity = "0".into()), "quantity");
    refused(with(|d| d.day = "2027-05-01".into()), "day");
    refused(with(|d| d.bath = "1".into()), "bath");
    refused(with(|d| d.what = "pages".into()), "format");
    refused(
        with(|d| {
            d.what = "other".into();
            d.uses_each = "3".into();
        }),
        "uses_each",
    );
    s.save_purchase(None, &sound, Some("tap")).unwrap();
    let again = s.save_purchase(None, &sound, Some("tap")).unwrap();
    assert_eq!(again.story, "Recorded already.");
    assert_eq!(s.purchases().unwrap().len(), 1);
}
