//! Cold film and the air around it: published tables, an outside library's dew points, laws, refusals.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::shelf::Base;
use spoolwright_core::storage::air::dew_point_c;
use spoolwright_core::storage::nitrate;
use spoolwright_core::storage::package::{Package, roll_bulk_mm};
use spoolwright_core::storage::warmup::{Basis, Chill, WarmUp, warm_up};

fn wait(package: Package, from_c: f64, to_c: f64, rh_percent: Option<f64>) -> WarmUp {
    warm_up(&Chill {
        package,
        from_c,
        to_c,
        rh_percent,
    })
    .unwrap()
}

/// What one table or rule asks for, before rounding.
fn asked(found: &WarmUp, basis: Basis) -> Option<f64> {
    found
        .said
        .iter()
        .find(|s| s.basis == basis)
        .map(|s| s.hours)
}

fn has(found: &WarmUp, code: &str) -> bool {
    found.caveats.iter().any(|c| c.code == code)
}

/// Source: [T3]: 3 h for a rise of 14 °C, 5 h for 55 °C; [T9]: the larger between.
#[test]
fn cans_by_the_table() {
    for (from, to, hours) in [
        (6.0, 20.0, 3.0),
        (-35.0, 20.0, 5.0),
        (4.0, 20.0, 5.0),
        (13.0, 20.0, 3.0),
        (20.0, 20.0, 0.0),
        (25.0, 20.0, 0.0),
    ] {
        for can in [Package::Can30, Package::Can120, Package::Can300] {
            assert_eq!(wait(can, from, to, None).hours, hours, "{from} to {to}");
        }
    }
    assert_eq!(
        wait(Package::Can120, 25.0, 20.0, Some(99.0)).basis,
        Basis::NoRise
    );
}

/// Source: [T4] and [T5].
#[test]
fn small_gauge_and_cassettes_by_the_table() {
    for (package, from, hours) in [
        (Package::Can16, 6.0, 1.0),
        (Package::Can16, -35.0, 1.5),
        (Package::Can16, 5.9, 1.5),
        (Package::Cassette, 4.0, 1.0),
        (Package::Cassette, -18.0, 1.5),
        (Package::Cassette, 3.0, 1.5),
    ] {
        assert_eq!(wait(package, from, 20.0, None).hours, hours, "{from}");
    }
}

/// Source: [T6]; a can in its cardboard takes twelve times as long there.
#[test]
fn humid_rooms_by_the_table() {
    for (rise, rh, can, carton) in [
        (15.0, 70.0, 1.5, 18.0),
        (15.0, 90.0, 3.0, 36.0),
        (30.0, 70.0, 3.0, 36.0),
        (30.0, 90.0, 6.0, 72.0),
        // Between: the next larger rise, the next more humid room [T9].
        (15.1, 70.1, 6.0, 72.0),
    ] {
        let found = wait(Package::Can120, 20.0 - rise, 20.0, Some(rh));
        assert_eq!(asked(&found, Basis::HumidRoom), Some(can));
        let found = wait(Package::Carton, 20.0 - rise, 20.0, Some(rh));
        assert_eq!(asked(&found, Basis::HumidRoom), Some(carton));
        assert_eq!(found.hours, carton);
    }
    let humid = wait(Package::Can120, -10.0, 20.0, Some(85.0));
    assert_eq!((humid.hours, humid.basis), (6.0, Basis::HumidRoom));
    assert!(has(&humid, "one_source") && !has(&humid, "beyond_table"));
    // 45 °C are one and a half times 30 °C.
    let far = wait(Package::Can120, -25.0, 20.0, Some(85.0));
    assert_eq!(far.hours, 9.0);
    assert!(has(&far, "beyond_table"));
    let unknown = wait(Package::Carton, 5.0, 20.0, None);
    assert_eq!(unknown.hours, 36.0);
    assert!(has(&unknown, "humidity_not_given"));
}

/// Source: [T8], worked out apart from this program; tolerance half a last digit.
#[test]
fn bulk_of_a_roll() {
    for (outer, bulk) in [(150.0, 11.46), (218.0, 13.06)] {
        let got = roll_bulk_mm(outer, 50.8, 35.0).unwrap();
        assert!((got - bulk).abs() < 0.005, "{got}");
    }
    assert_eq!(
        roll_bulk_mm(50.0, 50.8, 35.0).unwrap_err().kind,
        Kind::OutOfRange
    );
    // A can of 120 m is bulkier than the roll of 150 mm, by its thicker film; [T10]: the small can lies between.
    let bulk = |p: Package| p.bulk_mm().unwrap();
    assert!((11.46..13.06).contains(&bulk(Package::Can120)));
    assert!(bulk(Package::Cassette) < bulk(Package::Can30));
    assert!(bulk(Package::Can30) < bulk(Package::Can120));
    assert!(bulk(Package::Can120) < bulk(Package::Can300));
}

/// Source: [T7] with [T8]: 100 to 330 h for a metre; 11.46 mm take 1.15 h at 50 % and 3.78 h at 90 %, so a can of 120 m
/// a little more. Tolerance: what its bulk is more than that of the roll of [T8].
#[test]
fn physics_stands_beside_the_table() {
    let more = Package::Can120.bulk_mm().unwrap() / 11.46;
    for (rh, hours) in [(30.0, 1.146), (50.0, 1.146), (90.0, 3.782), (80.5, 3.782)] {
        let found = wait(Package::Can120, -18.0, 20.0, Some(rh));
        let physics = asked(&found, Basis::Physics).unwrap();
        assert!((physics / (hours * more) - 1.0).abs() < 0.001, "{physics}");
    }
    // By the sizes of [T8] the table of a maker and physics agree in size: neither is thrice the other.
    let found = wait(Package::Can120, -18.0, 20.0, Some(90.0));
    let (table, physics) = (
        asked(&found, Basis::Table).unwrap(),
        asked(&found, Basis::Physics).unwrap(),
    );
    assert!((1.0 / 3.0..3.0).contains(&(table / physics)));
}

#[test]
fn the_larger_wins_and_is_named() {
    let found = wait(Package::Cassette, 4.0, 20.0, Some(90.0));
    assert_eq!(found.basis, Basis::Physics);
    assert_eq!(found.hours, 2.25);
    assert!(found.because.contains("rule of physics"));
    assert_eq!(found.said[0].basis, Basis::Physics);
    let found = wait(Package::Can120, -18.0, 20.0, Some(60.0));
    assert_eq!((found.basis, found.hours), (Basis::Table, 5.0));
    assert!(found.because.contains("table for such packages"));
}

/// Where no water settles, physics asks for nothing; the table still counts.
#[test]
fn above_the_dew_point_the_table_counts_alone() {
    let found = wait(Package::Cassette, 15.0, 20.0, Some(50.0));
    assert_eq!(found.water_settles, Some(false));
    assert_eq!(asked(&found, Basis::Physics), None);
    assert_eq!(found.hours, 1.0);
}

/// A general psychrometric library, see tests/reference/dewpoint; tolerance as [T18] states it.
#[test]
fn dew_point_against_a_library() {
    let text = include_str!("../../../tests/reference/dewpoint/dewpoint.json");
    let file: serde_json::Value = serde_json::from_str(text).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert!(50 < cases.len());
    for case in cases {
        let number = |name: &str| case[name].as_f64().unwrap();
        let got = dew_point_c(number("room_c"), number("rh_percent")).unwrap();
        assert!((got - number("dew_point_c")).abs() < 0.35, "{case}: {got}");
    }
}

#[test]
fn what_no_table_reaches_is_refused() {
    let refused = |from_c, to_c, rh_percent| {
        warm_up(&Chill {
            package: Package::Can120,
            from_c,
            to_c,
            rh_percent,
        })
        .unwrap_err()
        .kind
    };
    assert_eq!(refused(-40.0, 30.0, None), Kind::OutOfRange);
    assert_eq!(refused(f64::NAN, 20.0, None), Kind::OutOfRange);
    assert_eq!(refused(0.0, f64::INFINITY, None), Kind::OutOfRange);
    assert_eq!(refused(0.0, 20.0, Some(0.0)), Kind::OutOfRange);
    assert_eq!(refused(0.0, 20.0, Some(f64::NAN)), Kind::OutOfRange);
    assert_eq!(refused(0.0, 20.0, Some(90.1)), Kind::Impossible);
}

/// Policy [N4]: asked where the base is unknown and the film old, silent where it is known or new.
#[test]
fn old_film_has_its_base_asked_for() {
    let code = |base, year| nitrate::caveat(base, year).map(|c| c.code);
    assert_eq!(code(Base::Unknown, Some(1949)), Some("base_not_known"));
    assert_eq!(code(Base::Unknown, Some(1959)), Some("base_not_known"));
    assert_eq!(code(Base::Unknown, Some(1960)), None);
    assert_eq!(code(Base::Unknown, None), None);
    assert_eq!(code(Base::Acetate, Some(1940)), None);
    assert_eq!(code(Base::Polyester, Some(1940)), None);
    assert_eq!(code(Base::Nitrate, None), Some("nitrate_base"));
    for (base, year) in [(Base::Unknown, Some(1949)), (Base::Nitrate, None)] {
        let text = nitrate::caveat(base, year).unwrap().text;
        assert!(text.contains("archive") && text.contains("freezer"));
    }
}

fn package() -> impl Strategy<Value = Package> {
    proptest::sample::select(Package::ALL)
}

proptest! {
    /// Colder film, a more humid room or a humidity that is known never open earlier; every answer covers all that
    /// tables and physics ask for, and lies less than a quarter of an hour above the most.
    #[test]
    fn never_opened_early(
        package in package(), to in 15.0..30.0f64, rise in 0.0..50.0f64, colder in 0.0..5.0f64,
        rh in 1.0..90.0f64, more in 0.0..30.0f64,
    ) {
        let found = wait(package, to - rise, to, Some(rh));
        let most = found.said.iter().map(|s| s.hours).fold(0.0, f64::max);
        prop_assert!(most <= found.hours + 1e-9 && found.hours < most + 0.25);
        prop_assert_eq!(found.hours * 4.0, (found.hours * 4.0).round());
        prop_assert!(found.hours <= wait(package, to - rise - colder, to, Some(rh)).hours);
        prop_assert!(found.hours <= wait(package, to - rise, to, Some((rh + more).min(90.0))).hours);
        if package != Package::Carton {
            prop_assert!(wait(package, to - rise, to, None).hours <= found.hours);
        }
        prop_assert_eq!(rise == 0.0, found.hours == 0.0);
    }

    /// Dew point rises with either, is the room's own temperature at 100 %, and never above it.
    #[test]
    fn dew_point_laws(room in -20.0..49.0f64, rh in 1.0..99.0f64) {
        let dew = dew_point_c(room, rh).unwrap();
        prop_assert!(dew < room);
        prop_assert!(dew < dew_point_c(room + 1.0, rh).unwrap());
        prop_assert!(dew < dew_point_c(room, rh + 1.0).unwrap());
        prop_assert!((dew_point_c(room, 100.0).unwrap() - room).abs() < 1e-9);
    }
}

mod kept {
    use proptest::prelude::*;
    use spoolwright_core::Kind;
    use spoolwright_core::field::record::{PlaceKind, StoragePlace};
    use spoolwright_core::shelf::{Base, StoragePlaceId};
    use spoolwright_core::storage::ageing::{Stay, allowance};
    use spoolwright_core::storage::keeping::{
        Class, Going, Keeping, Onset, Remark, Stage, acetate_onset, going_off, remarks,
        temperature_of,
    };
    use spoolwright_core::wet::mark::Mark;

    const RAW: Keeping = Keeping {
        stage: Stage::Unexposed,
        colour: false,
        base: Base::Acetate,
        temperature_c: 20.0,
        rh_percent: None,
        kept_months: None,
        to_expiry_months: None,
    };

    fn remark(kept: Keeping, code: &str) -> Option<Remark> {
        remarks(&kept).unwrap().into_iter().find(|r| r.code == code)
    }

    /// Source: [T15], the anchors from memory.
    #[test]
    fn places_have_classes() {
        for (c, class) in [
            (-20.0, Class::Frozen),
            (0.0, Class::Frozen),
            (0.1, Class::Cold),
            (7.9, Class::Cold),
            (8.1, Class::Cool),
            (15.9, Class::Cool),
            (16.1, Class::Room),
            (35.0, Class::Room),
        ] {
            assert_eq!(Class::of(c), class, "{c}");
        }
        for class in Class::ALL {
            assert_eq!(Class::of(class.usual_c()), *class);
        }
    }

    /// A kind of place stands for its usual temperature until somebody has measured it.
    #[test]
    fn a_measured_place_goes_before_its_kind() {
        for kind in PlaceKind::ALL {
            let mut place = StoragePlace {
                id: StoragePlaceId(1),
                name: "shelf".to_owned(),
                kind: *kind,
                temperature_c: None,
                rh_percent: None,
                note: String::new(),
                closed: false,
            };
            let usual = temperature_of(&place);
            assert_eq!(usual, (Class::of_kind(*kind).usual_c(), false));
            assert_eq!(Class::of(usual.0), Class::of_kind(*kind));
            place.temperature_c = Some(9.5);
            assert_eq!(temperature_of(&place), (9.5, true));
        }
    }

    /// Source: [T1], 13 °C (55 °F is 12.8) or lower for up to six months; [T2], −18 °C for longer; [T17].
    #[test]
    fn raw_film_by_its_makers_guide() {
        for (c, code, key, meets) in [
            (-20.0, "long", "T2", true),
            (-18.0, "long", "T2", true),
            (-10.0, "up_to_six_months", "T1", true),
            (13.0, "up_to_six_months", "T1", true),
            (15.0, "too_warm", "T1", false),
        ] {
            let told = remarks(&Keeping {
                temperature_c: c,
                ..RAW
            })
            .unwrap();
            assert_eq!(
                (told[0].code, told[0].key, told[0].meets),
                (code, key, Some(meets)),
                "{c}"
            );
            assert_eq!(told.iter().any(|r| r.key == "T17"), c <= 0.0);
        }
    }

    /// Source: [T11], both sources' figures at 50 %.
    #[test]
    fn vinegar_sets_in_after_years() {
        let years = |c, rh| {
            acetate_onset(c, rh)
                .unwrap()
                .map(|o: Onset| (o.low, o.high))
        };
        assert_eq!(years(18.3, 50.0), Some((50.0, 50.0)));
        assert_eq!(years(21.1, 50.0), Some((40.0, 50.0)));
        assert_eq!(years(12.8, 50.0), Some((100.0, 125.0)));
        assert_eq!(years(10.0, 40.0), Some((150.0, 200.0)));
        assert_eq!(years(19.0, 50.0), Some((40.0, 50.0)));
        assert_eq!(years(25.0, 50.0), None);
        assert_eq!(years(10.0, 60.0), None);
        let negatives = Keeping {
            stage: Stage::Developed,
            rh_percent: Some(50.0),
            ..RAW
        };
        let text = remark(negatives, "vinegar").unwrap().text;
        assert!(text.contains("40 to 50 years"), "{text}");
        let polyester = Keeping {
            base: Base::Polyester,
            ..negatives
        };
        assert_eq!(remark(polyester, "vinegar"), None);
    }

    /// Source: [T13], an archive's rule; [T14] from memory, so only that warm colour does not meet it.
    #[test]
    fn negatives_by_an_archives_rule() {
        let kept = |colour, base, temperature_c, rh| {
            let kept = Keeping {
                stage: Stage::Developed,
                colour,
                base,
                temperature_c,
                rh_percent: rh,
                ..RAW
            };
            remark(kept, "archive").unwrap().meets
        };
        assert_eq!(kept(false, Base::Polyester, 18.0, Some(35.0)), Some(true));
        assert_eq!(kept(false, Base::Polyester, 18.0, Some(50.0)), Some(false));
        assert_eq!(kept(false, Base::Polyester, 18.0, None), None);
        assert_eq!(kept(false, Base::Polyester, 21.0, None), Some(false));
        assert_eq!(kept(false, Base::Acetate, 18.0, Some(35.0)), Some(false));
        assert_eq!(kept(false, Base::Acetate, 2.0, Some(35.0)), Some(true));
        assert_eq!(kept(true, Base::Polyester, 2.0, Some(35.0)), Some(true));
        // A base nobody knows is judged as the one that asks for more.
        assert_eq!(kept(false, Base::Unknown, 18.0, Some(35.0)), Some(false));
        let colour = Keeping {
            stage: Stage::Developed,
            colour: true,
            rh_percent: Some(35.0),
            ..RAW
        };
        assert_eq!(remark(colour, "extended").unwrap().meets, Some(false));
    }

    /// Policy [N4]: of nitrate the one warning, in whatever state and place, and no advice.
    #[test]
    fn nitrate_gets_no_advice() {
        for stage in Stage::ALL {
            for temperature_c in [-20.0, 4.0, 20.0] {
                let kept = Keeping {
                    stage: *stage,
                    base: Base::Nitrate,
                    temperature_c,
                    rh_percent: Some(35.0),
                    kept_months: Some(1.0),
                    ..RAW
                };
                let codes: Vec<_> = remarks(&kept).unwrap().iter().map(|r| r.code).collect();
                assert_eq!(codes, ["nitrate_base"]);
                assert_eq!(going_off(&kept).unwrap(), None);
            }
        }
    }

    /// An own rule on [T1] and [T2]: to the expiry date, else six months; three months before, it is about to go off.
    #[test]
    fn about_to_go_off() {
        let state = |stage, temperature_c, kept_months, to_expiry_months| {
            going_off(&Keeping {
                stage,
                temperature_c,
                kept_months,
                to_expiry_months,
                ..RAW
            })
            .unwrap()
            .map(|g| (g.going, g.months_left))
        };
        let raw = Stage::Unexposed;
        assert_eq!(
            state(raw, 4.0, Some(9.0), Some(4.0)),
            Some((Going::Fresh, Some(4.0)))
        );
        assert_eq!(
            state(raw, 4.0, None, Some(3.0)),
            Some((Going::Soon, Some(3.0)))
        );
        assert_eq!(
            state(raw, 4.0, None, Some(-1.0)),
            Some((Going::Over, Some(-1.0)))
        );
        assert_eq!(
            state(raw, 4.0, Some(2.0), None),
            Some((Going::Fresh, Some(4.0)))
        );
        assert_eq!(
            state(raw, 20.0, Some(5.0), None),
            Some((Going::Soon, Some(1.0)))
        );
        assert_eq!(state(raw, 20.0, None, None), None);
        assert_eq!(
            state(raw, -18.0, Some(60.0), Some(-50.0)),
            Some((Going::Held, None))
        );
        assert_eq!(
            state(Stage::Exposed, -18.0, Some(1.0), Some(30.0)),
            Some((Going::Soon, Some(2.0)))
        );
        assert_eq!(state(Stage::Developed, 20.0, Some(500.0), Some(-9.0)), None);
        let told = going_off(&Keeping {
            to_expiry_months: Some(1.0),
            ..RAW
        });
        assert!(told.unwrap().unwrap().because.contains("rule of thumb"));
    }

    /// Source: [T16], weak: only that ten years in a room are a third of a stop to a stop, and frozen less.
    #[test]
    fn ten_years_in_a_room() {
        let room = Stay {
            years: 10.0,
            temperature_c: 20.0,
        };
        let found = allowance(Some(100.0), &[room], None).unwrap();
        assert!((found.low_stops - 1.0 / 3.0).abs() < 1e-12);
        assert!((found.high_stops - 1.0).abs() < 1e-12);
        assert_eq!((found.thirds, found.mark), (2, Mark::RuleOfThumb));
        // Two thirds off 100: 63, in the list 64.
        assert_eq!(found.ei.unwrap().1.iso, 64.0);
        let frozen = Stay {
            temperature_c: -18.0,
            ..room
        };
        let cold = allowance(Some(100.0), &[frozen], None).unwrap();
        assert!(cold.high_stops < found.high_stops && cold.low_stops == 0.0);
        let fast = allowance(Some(800.0), &[frozen], None).unwrap();
        assert!(cold.high_stops < fast.high_stops);
        assert!(fast.caveats.iter().any(|c| c.code == "fast_film"));
    }

    /// A test replaces the rule for all that was before it.
    #[test]
    fn a_test_begins_anew() {
        let stays = [
            Stay {
                years: 20.0,
                temperature_c: 20.0,
            },
            Stay {
                years: 4.0,
                temperature_c: -18.0,
            },
        ];
        let now = allowance(Some(100.0), &stays, Some(0.0)).unwrap();
        assert!(now.since_test);
        assert_eq!((now.years, now.high_stops, now.thirds), (0.0, 0.0, 0));
        assert_eq!(now.ei.unwrap().1.iso, 100.0);
        let later = allowance(None, &stays, Some(4.0)).unwrap();
        assert_eq!((later.years, later.low_stops), (4.0, 0.0));
        let far = allowance(None, &stays, Some(150.0)).unwrap();
        assert_eq!(far.years, 24.0);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        for kept in [
            Keeping {
                temperature_c: f64::NAN,
                ..RAW
            },
            Keeping {
                rh_percent: Some(101.0),
                ..RAW
            },
            Keeping {
                kept_months: Some(f64::INFINITY),
                ..RAW
            },
        ] {
            assert_eq!(remarks(&kept).unwrap_err().kind, Kind::OutOfRange);
            assert_eq!(going_off(&kept).unwrap_err().kind, Kind::OutOfRange);
        }
        let stay = Stay {
            years: 1.0,
            temperature_c: 20.0,
        };
        assert_eq!(
            allowance(None, &[stay; 201], None).unwrap_err().kind,
            Kind::TooLarge
        );
        assert!(allowance(Some(0.0), &[stay], None).is_err());
        assert!(allowance(None, &[stay], Some(-1.0)).is_err());
        let bad = Stay {
            years: f64::NAN,
            ..stay
        };
        assert!(allowance(None, &[bad], None).is_err());
    }

    proptest! {
        /// Longer or warmer never loses less at either end, and a stay split in two is the same stay.
        #[test]
        fn ageing_laws(years in 0.0..60.0f64, more in 0.0..20.0f64, c in -30.0..40.0f64, warmer in 0.0..20.0f64, speed in 25.0..3200.0f64) {
            let at = |years, temperature_c| Stay { years, temperature_c };
            let lost = |stays: &[Stay]| {
                let found = allowance(Some(speed), stays, None).unwrap();
                (found.low_stops, found.high_stops)
            };
            let (low, high) = lost(&[at(years, c)]);
            prop_assert!(low <= high);
            let (longer, warm) = (lost(&[at(years + more, c)]), lost(&[at(years, c + warmer)]));
            prop_assert!(low <= longer.0 && high <= longer.1);
            prop_assert!(low <= warm.0 && high <= warm.1);
            let split = lost(&[at(years / 3.0, c), at(years / 1.5, c)]);
            prop_assert!((split.0 - low).abs() < 1e-9 && (split.1 - high).abs() < 1e-9);
        }

        /// Cooler or drier never shortens what acetate lasts.
        #[test]
        fn onset_laws(c in -30.0..25.0f64, cooler in 0.0..10.0f64, rh in 20.0..60.0f64, drier in 0.0..10.0f64) {
            let low = |c, rh| acetate_onset(c, rh).unwrap().map_or(0.0, |o| o.low);
            prop_assert!(low(c, rh) <= low(c - cooler, rh));
            prop_assert!(low(c, rh) <= low(c, rh - drier));
        }
    }
}
