//! What a usable frame came to: closed forms by hand, laws, refusals.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::cost::Amount;
use spoolwright_core::cost::books::{
    Bath, Books, Can, Capacity, Cassettes, Other, Page, Roll, Seen, Stock,
};
use spoolwright_core::cost::report::{Group, report};
use spoolwright_core::cost::share::{GUESS, Over};

fn roll(id: &str, can: &str, drawn_mm: f64, seen: Option<(u32, u32)>) -> Roll {
    Roll {
        id: id.to_owned(),
        can: can.to_owned(),
        drawn_mm,
        year: Some(2031),
        seen: seen.map(|(usable, lost)| Seen { usable, lost }),
        test: false,
        baths: Vec::new(),
        undeveloped: false,
        rows: Vec::new(),
    }
}

fn can(id: &str, stock: &str, price: Option<f64>, length_mm: f64, emptied: bool) -> Can {
    Can {
        id: id.to_owned(),
        stock: stock.to_owned(),
        price,
        length_mm,
        emptied,
    }
}

fn bath(id: &str, price: Option<f64>, took_m2: f64) -> Bath {
    Bath {
        id: id.to_owned(),
        price,
        took_m2,
        capacity_m2: None,
        capacity: Capacity::Guess,
        poured_out: true,
    }
}

/// One emptied can of 60.00 that gave 3 m of rolls, cassettes of 20.00 for 10 fillings each of two, one developer poured
/// out after 0.2 m², a page of six rows at 0.60.
fn books() -> Books {
    let mut a = roll("A-01", "A", 2000.0, Some((34, 2)));
    a.baths = vec![("Dev".to_owned(), 0.05)];
    a.rows = vec![("six".to_owned(), 6.0)];
    let mut b = roll("A-02", "A", 1000.0, Some((10, 4)));
    b.baths = vec![("Dev".to_owned(), 0.03)];
    b.rows = vec![("six".to_owned(), 3.0)];
    Books {
        stocks: vec![Stock {
            id: "Grey".to_owned(),
            ready_wound: Some(72.0),
        }],
        cans: vec![can("A", "Grey", Some(60.0), 3500.0, true)],
        cassettes: vec![Cassettes {
            price: Some(20.0),
            count: 2.0,
            uses_each: Some(10.0),
        }],
        fillings: None,
        baths: vec![bath("Dev", Some(8.0), 0.2)],
        pages: vec![Page {
            id: "six".to_owned(),
            price_each: Some(0.6),
            rows: 6.0,
        }],
        rolls: vec![a, b],
        other: Vec::new(),
    }
}

fn near(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-9, "{got} is not {wanted}");
}

/// Worked by hand: film 40 + 20, cassettes 2 · 20/20, chemistry 8/0.2 · (0.05 + 0.03), pages 0.6 + 0.3: 66.10 for 44
/// frames; ready-wound 44 · 72/36 = 88.
#[test]
fn a_can_by_hand() {
    let told = report(&books()).unwrap();
    let all = &told.all;
    near(all.film.mid, 60.0);
    near(all.cassettes.mid, 2.0);
    near(all.chemistry.mid, 3.2);
    near(all.pages.mid, 0.9);
    near(all.total().mid, 66.1);
    near(all.per_frame().unwrap().mid, 66.1 / 44.0);
    near(all.lost_cost().mid, 66.1 * 6.0 / 50.0);
    near(told.rolls[0].1.film.mid, 40.0);
    let ready = all.ready.unwrap();
    near(ready.ready_wound, 88.0);
    near(ready.saved.mid, 26.0);
    assert!(all.missing.is_empty());
    assert_eq!(told.cans["A"], Over::Took);
    assert_eq!(told.baths["Dev"], Over::Took);
    // Two cassettes may be filled 10 · 1.5 times or 10 / 1.5 times each.
    near(all.cassettes.low, 2.0 / GUESS);
    near(all.cassettes.high, 2.0 * GUESS);
    near(ready.saved.low, 88.0 - 60.0 - 2.0 * GUESS);
    for group in [
        &told.by_can["A"],
        &told.by_stock["Grey"],
        &told.by_year[&Some(2031)],
    ] {
        assert_eq!(group, all);
    }
}

/// An open can is spread over all its film, so what is left in it is borne by nobody yet.
#[test]
fn an_open_can_keeps_its_rest() {
    let mut b = books();
    b.cans[0].emptied = false;
    let told = report(&b).unwrap();
    near(told.all.film.mid, 60.0 * 3000.0 / 3500.0);
    assert_eq!(told.cans["A"], Over::Capacity);
    // More drawn than was thought to be in it: never more than was paid.
    b.cans[0].length_mm = 2500.0;
    near(report(&b).unwrap().all.film.mid, 60.0);
}

/// A bath poured out is borne by what it took; else by its sheet, by a guess with an interval, or by what it took so far.
#[test]
fn a_bath_is_spread_over_what_it_took() {
    let spread = |poured_out, capacity_m2, capacity| {
        let mut b = books();
        b.baths[0] = Bath {
            poured_out,
            capacity_m2,
            capacity,
            ..b.baths[0].clone()
        };
        let told = report(&b).unwrap();
        (told.all.chemistry, told.baths["Dev"])
    };
    let area = 0.08;
    let is = |got: (Amount, Over), low: f64, mid: f64, high: f64, over| {
        near(got.0.low, low * 8.0 * area);
        near(got.0.mid, mid * 8.0 * area);
        near(got.0.high, high * 8.0 * area);
        assert_eq!(got.1, over);
    };
    let took = spread(true, Some(9.0), Capacity::Sheet);
    is(took, 1.0 / 0.2, 1.0 / 0.2, 1.0 / 0.2, Over::Took);
    let sheet = spread(false, Some(0.4), Capacity::Sheet);
    is(sheet, 1.0 / 0.4, 1.0 / 0.4, 1.0 / 0.4, Over::Capacity);
    let guess = spread(false, Some(0.6), Capacity::Guess);
    is(guess, 1.0 / 0.9, 1.0 / 0.6, 1.0 / 0.4, Over::Guess);
    // It has taken 0.2 m² already, whatever was guessed.
    let less = spread(false, Some(0.15), Capacity::Guess);
    is(less, 1.0 / 0.225, 1.0 / 0.2, 1.0 / 0.2, Over::Guess);
    let so_far = spread(false, None, Capacity::Guess);
    is(so_far, 0.0, 1.0 / 0.2, 1.0 / 0.2, Over::SoFar);
}

fn lacks(group: &Group) -> Vec<(&str, &str)> {
    group
        .missing
        .iter()
        .map(|m| (m.what, m.id.as_str()))
        .collect()
}

/// What has no price is named, in every group it touches and in no other.
#[test]
fn missing_prices_are_named() {
    let mut b = books();
    b.stocks.push(Stock {
        id: "Other".to_owned(),
        ready_wound: None,
    });
    b.cans.push(can("B", "Other", None, 3000.0, false));
    b.rolls.push(roll("B-01", "B", 1500.0, Some((30, 0))));
    b.cassettes.push(Cassettes {
        price: None,
        count: 3.0,
        uses_each: None,
    });
    b.baths[0].price = None;
    b.pages[0].price_each = None;
    let told = report(&b).unwrap();
    assert_eq!(
        lacks(&told.by_can["A"]),
        [("cassettes", ""), ("chemistry", "Dev"), ("pages", "six")]
    );
    assert_eq!(
        lacks(&told.by_can["B"]),
        [
            ("cassettes", ""),
            ("chemistry", "B-01"),
            ("film", "B"),
            ("ready-wound", "Other")
        ]
    );
    assert!(told.by_can["A"].ready.is_some() && told.all.ready.is_none());
    let caveat = told.caveats.iter().find(|c| c.code == "prices_missing");
    assert!(caveat.unwrap().text.starts_with("5 prices"));
    // No cassette was ever bought: that is missing too, not free.
    b.cassettes.clear();
    assert!(lacks(&report(&b).unwrap().all).contains(&("cassettes", "")));
}

#[test]
fn waiting_rolls_tests_and_other_things() {
    let mut b = books();
    b.rolls.push(roll("A-03", "A", 1000.0, None));
    let mut test = roll("A-04", "A", 1000.0, None);
    test.test = true;
    test.baths = vec![("Dev".to_owned(), 0.02)];
    test.year = None;
    b.rolls.push(test);
    b.other.push(Other {
        year: Some(2031),
        price: 5.0,
    });
    let told = report(&b).unwrap();
    assert_eq!(
        (told.all.rolls, told.all.waiting_rolls, told.all.test_rolls),
        (2, 1, 1)
    );
    // 60.00 over 5 m; a filling 1.00.
    near(told.all.waiting.mid, 12.0 + 1.0);
    near(told.all.tests.mid, 12.0 + 1.0 + 8.0 / 0.2 * 0.02);
    near(told.all.other.mid, 5.0);
    near(told.by_can["A"].other.mid, 0.0);
    assert_eq!(told.by_year[&None].usable, 0);
    assert_eq!(told.by_year[&None].per_frame(), None);
    assert!(told.caveats.iter().any(|c| c.code == "rolls_wait"));
    // A test is borne by the frames of its stock, also against ready-wound film.
    near(
        told.by_stock["Grey"].ready.unwrap().own.mid,
        36.0 + 2.0 + 13.8,
    );
    // Scrapped before it was developed: nothing usable, and no bath is missing.
    let mut scrapped = roll("A-05", "A", 1000.0, Some((0, 24)));
    scrapped.undeveloped = true;
    b.rolls.push(scrapped);
    assert!(lacks(&report(&b).unwrap().all).is_empty());
}

#[test]
fn books_that_do_not_agree_are_refused() {
    let refused = |change: &dyn Fn(&mut Books)| {
        let mut b = books();
        change(&mut b);
        let e = report(&b).unwrap_err();
        (e.kind, e.what)
    };
    for (change, kind, what) in [
        (
            &(|b: &mut Books| b.rolls[1].can = "Z".to_owned()) as &dyn Fn(&mut Books),
            Kind::Unknown,
            "rolls[1].can: nothing has this name",
        ),
        (
            &|b| b.cans[0].stock = "Z".to_owned(),
            Kind::Unknown,
            "cans[0].stock: nothing has this name",
        ),
        (
            &|b| b.rolls[0].baths[0].0 = "Z".to_owned(),
            Kind::Unknown,
            "rolls[0].baths: nothing has this name",
        ),
        (
            &|b| b.rolls[0].rows[0].0 = "Z".to_owned(),
            Kind::Unknown,
            "rolls[0].pages: nothing has this name",
        ),
        (
            &|b| b.rolls[1].id = "A-01".to_owned(),
            Kind::Inconsistent,
            "rolls[1].id: stands twice",
        ),
        (
            &|b| b.baths[0].took_m2 = 0.07,
            Kind::Inconsistent,
            "baths[0].took_m2: less than its rolls",
        ),
    ] {
        assert_eq!(refused(change), (kind, what.to_owned()));
    }
    for change in [
        &(|b: &mut Books| b.cans[0].price = Some(f64::NAN)) as &dyn Fn(&mut Books),
        &|b| b.cans[0].price = Some(-1.0),
        &|b| b.cans[0].length_mm = 0.0,
        &|b| b.rolls[0].drawn_mm = f64::INFINITY,
        &|b| b.pages[0].rows = 0.0,
        &|b| b.cassettes[0].count = 0.0,
        &|b| b.baths[0].capacity_m2 = Some(0.0),
    ] {
        assert_eq!(refused(change).0, Kind::OutOfRange);
    }
}

prop_compose! {
    fn any_books()(
        cans in prop::collection::vec((0usize..2, prop::option::of(0.0..200.0f64), 1000.0..40_000.0f64, any::<bool>()), 1..5),
        rolls in prop::collection::vec(
            (0usize..5, 200.0..2000.0f64, prop::option::of((0u32..40, 0u32..10)), any::<bool>(), 0usize..4, prop::option::of(2029..2033)),
            0..25,
        ),
        prices in prop::collection::vec(prop::option::of(0.0..50.0f64), 3),
        capacities in prop::collection::vec(prop::option::of(0.01..3.0f64), 3),
        poured in prop::collection::vec(any::<bool>(), 3),
        uses in prop::option::of(1.0..50.0f64),
    ) -> Books {
        let names = ["Grey", "Other"];
        let mut b = Books {
            stocks: names.map(|n| Stock { id: n.to_owned(), ready_wound: Some(10.0) }).to_vec(),
            cans: cans.iter().enumerate()
                .map(|(i, c)| can(&i.to_string(), names[c.0], c.1, c.2, c.3)).collect(),
            cassettes: vec![Cassettes { price: Some(30.0), count: 5.0, uses_each: uses }],
            ..Books::default()
        };
        let mut took = [0.0; 3];
        for (i, r) in rolls.iter().enumerate() {
            let mut one = roll(&i.to_string(), &(r.0 % cans.len()).to_string(), r.1, r.2);
            one.test = r.3;
            one.year = r.5;
            if let Some(t) = took.get_mut(r.4) {
                *t += r.1 * 35e-6;
                one.baths = vec![(r.4.to_string(), r.1 * 35e-6)];
            }
            b.rolls.push(one);
        }
        b.baths = (0..3).map(|i| Bath {
            capacity_m2: capacities[i],
            poured_out: poured[i],
            ..bath(&i.to_string(), prices[i], took[i])
        }).collect();
        b
    }
}

proptest! {
    /// Cans, stocks and years are three ways of adding up the same rolls; nothing is borne twice or by nobody.
    #[test]
    fn groups_add_up(b in any_books()) {
        let told = report(&b).unwrap();
        let sums = [
            told.by_can.values().map(Group::total).sum::<Amount>(),
            told.by_stock.values().map(Group::total).sum(),
            told.by_year.values().map(Group::total).sum(),
        ];
        for sum in sums {
            prop_assert!((sum.mid - told.all.total().mid).abs() < 1e-6);
            prop_assert!((sum.low - told.all.total().low).abs() < 1e-6);
            prop_assert!((sum.high - told.all.total().high).abs() < 1e-6);
        }
        let borne: f64 = told.rolls.iter().map(|(_, r)| r.total().mid).sum();
        prop_assert!((borne - told.all.total().mid - told.all.waiting.mid).abs() < 1e-6);
        for group in told.by_can.values().chain([&told.all]) {
            let t = group.total();
            prop_assert!(t.low <= t.mid + 1e-12 && t.mid <= t.high + 1e-12 && t.high.is_finite());
            prop_assert!(group.lost_cost().mid <= t.mid + 1e-9);
        }
    }

    /// Rolls never bear more than was paid; an emptied can and a bath poured out are borne to the last penny.
    #[test]
    fn what_was_paid_is_what_is_borne(b in any_books()) {
        let told = report(&b).unwrap();
        for c in &b.cans {
            let bears = b.rolls.iter().zip(&told.rolls).filter(|(r, _)| r.can == c.id);
            let (rolls, film) = bears.fold((0, 0.0), |(n, sum), (_, (_, borne))| (n + 1, sum + borne.film.mid));
            let paid = c.price.unwrap_or(0.0);
            prop_assert!(film <= paid + 1e-9);
            if c.emptied && 0 < rolls {
                prop_assert!((film - paid).abs() < 1e-9);
            }
        }
        let chemistry: f64 = told.rolls.iter().map(|(_, r)| r.chemistry.high).sum();
        let paid: f64 = b.baths.iter().filter_map(|x| x.price).sum();
        prop_assert!(chemistry <= paid + 1e-9);
        let cassettes: f64 = told.rolls.iter().map(|(_, r)| r.cassette.high).sum();
        prop_assert!(cassettes <= 30.0 + 1e-9);
    }

    /// A roll with a price that is missing says so, and only such a roll.
    #[test]
    fn nothing_is_free_in_silence(b in any_books()) {
        let told = report(&b).unwrap();
        for (r, (_, borne)) in b.rolls.iter().zip(&told.rolls) {
            let price = b.cans.iter().find(|c| c.id == r.can).unwrap().price;
            prop_assert_eq!(price.is_none(), borne.missing.iter().any(|m| m.what == "film"));
            let looked_at = r.seen.is_some() || r.test;
            let bath = r.baths.first().and_then(|(id, _)| b.baths.iter().find(|x| x.id == *id));
            let known = bath.map_or(!looked_at, |x| x.price.is_some());
            prop_assert_eq!(!known, borne.missing.iter().any(|m| m.what == "chemistry"));
        }
    }
}
