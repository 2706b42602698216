//! Places: what lies where, warming up, age, what is about to go off.

use super::*;
use spoolwright::service::field::kept::KeepDraft;
use spoolwright::service::field::places::{PlaceDraft, WarmDraft};
use spoolwright::service::rolls::About;
use spoolwright_core::Kind;
use spoolwright_core::field::record::Keepable;
use spoolwright_core::shelf::StoragePlaceId;
use spoolwright_core::storage::keeping::Going;

fn place(s: &Service, name: &str, kind: &str, temperature: &str, humidity: &str) -> StoragePlaceId {
    let draft = PlaceDraft {
        name: name.into(),
        kind: kind.into(),
        temperature: temperature.into(),
        humidity: humidity.into(),
        ..PlaceDraft::default()
    };
    s.save_place(None, &draft, None).unwrap().value.unwrap()
}

fn keep(s: &Service, thing: Keepable, place: &str, since: &str) -> String {
    let draft = KeepDraft {
        place: place.into(),
        since: since.into(),
    };
    s.keep(thing, &draft, None).unwrap().story
}

/// A place's temperature goes before the can's own; the newest day holds; an undo gives back the place before.
#[test]
fn a_can_moves_from_place_to_place() {
    let s = service();
    let id = can(
        &s,
        "HM",
        CanDraft {
            kept_at: "4 C".into(),
            ..CanDraft::default()
        },
    );
    let thing = Keepable::Can(id);
    assert_eq!(s.can(id).unwrap().kept_c(), Some(4.0));
    place(&s, "Deep freezer", "freezer", "", "");
    place(&s, "Cellar", "cool", "11.5 C", "65");
    assert_eq!(
        keep(&s, thing, "deep freezer", "2026-06-01"),
        "Put can HM into Deep freezer on 1 Jun 2026."
    );
    assert_eq!(s.can(id).unwrap().kept_c(), Some(-18.0));
    // Written down late, an older day does not hold.
    keep(&s, thing, "Cellar", "2026-01-01");
    assert_eq!(s.can(id).unwrap().place.unwrap().name, "Deep freezer");
    keep(&s, thing, "Cellar", "2026-10-01");
    let view = s.kept(thing).unwrap();
    assert_eq!(view.at_c, Some((11.5, true)));
    let days: Vec<&str> = view.stays.iter().map(|(k, _)| &*k.since).collect();
    assert_eq!(days, ["2026-10-01", "2026-06-01", "2026-01-01"]);
    // The same again says that nothing was changed.
    assert_eq!(
        keep(&s, thing, "Cellar", ""),
        "It is so already: nothing was changed."
    );
    // The same day corrected.
    keep(&s, thing, "Deep freezer", "2026-10-01");
    assert_eq!(s.kept(thing).unwrap().stays.len(), 3);
    let newest = s.history(About::Can(id), None).unwrap()[0].id;
    s.undo(newest, None).unwrap();
    assert_eq!(s.can(id).unwrap().kept_c(), Some(11.5));

    let cellar = s.place_named("cellar").unwrap();
    assert_eq!(s.place(cellar.id).unwrap().things[0].name, "HM");
    // What is kept in it keeps a place from vanishing.
    let made = s.history(About::Everything, None).unwrap();
    let added = made
        .iter()
        .find(|e| e.story == "Added the place Cellar.")
        .unwrap();
    assert!(s.undo(added.id, None).is_err());
}

/// A can of 30 m from a freezer at −18 °C into a room of 20 °C: a rise of 38 °C, five hours [T3]; in a humid room of 85 %
/// six hours [T6], carried on in proportion beyond its 30 °C.
#[test]
fn warming_up_by_place_and_room() {
    let s = service();
    let id = can(&s, "HM", CanDraft::default());
    place(&s, "Freezer", "freezer", "-18 C", "");
    keep(&s, Keepable::Can(id), "Freezer", "");
    let told = s.kept(Keepable::Can(id)).unwrap();
    assert_eq!(told.warm_up.unwrap().hours, 5.0);
    assert!(
        told.remarks
            .iter()
            .any(|r| r.key == "T2" && r.meets == Some(true))
    );
    assert_eq!(told.going.unwrap().going, Going::Held);
    let caveats = s.can(id).unwrap().caveats;
    let cold = caveats.iter().find(|c| c.code == "kept_cold").unwrap();
    assert!(cold.text.contains("at least 5 hours"), "{}", cold.text);

    let ask = WarmDraft {
        package: "can_35mm_30m".into(),
        from: "freezer".into(),
        to: "20 C".into(),
        humidity: "85 %".into(),
    };
    let (chill, humid) = s.warm_up(&ask).unwrap();
    assert_eq!(chill.from_c, -18.0);
    assert!(humid.hours >= 6.0, "{}", humid.hours);
    // The one room that is entered is the room it is opened in.
    place(&s, "Work room", "room", "24 C", "40");
    let by_place = WarmDraft {
        package: "cassette".into(),
        from: "freezer".into(),
        ..WarmDraft::default()
    };
    let (chill, _) = s.warm_up(&by_place).unwrap();
    assert_eq!((chill.to_c, chill.rh_percent), (24.0, Some(40.0)));
    for (draft, field) in [
        (
            WarmDraft {
                humidity: "97".into(),
                ..ask.clone()
            },
            "humidity",
        ),
        (
            WarmDraft {
                from: "attic".into(),
                ..ask.clone()
            },
            "from",
        ),
        (
            WarmDraft {
                from: String::new(),
                ..ask.clone()
            },
            "from",
        ),
        (
            WarmDraft {
                to: "80 C".into(),
                ..ask.clone()
            },
            "to",
        ),
        (
            WarmDraft {
                package: "parcel".into(),
                ..ask.clone()
            },
            "package",
        ),
    ] {
        assert_eq!(fields(&s.warm_up(&draft).unwrap_err()), [field]);
    }
}

/// A dated can, an undated one, an exposed roll: what presses most stands first; nitrate is never advised on.
#[test]
fn what_is_about_to_go_off() {
    let s = service();
    stock(&s, "Old Reel", "negative", "nitrate");
    let dated = |day: &str| CanDraft {
        expires_on: day.into(),
        ..CanDraft::default()
    };
    can(&s, "AA", dated("2026-12-15"));
    can(&s, "BB", dated("2026-08-01"));
    can(&s, "CC", dated("2029-01-01"));
    can(
        &s,
        "DD",
        CanDraft {
            bought_on: "2026-01-15".into(),
            ..CanDraft::default()
        },
    );
    can(
        &s,
        "NN",
        CanDraft {
            stock: "Old Reel".into(),
            expires_on: "1951-01-01".into(),
            ..CanDraft::default()
        },
    );
    let (roll, label) = wind(&s, "CC", 36);
    moved(&s, roll, "exposed");
    let all = s.about_to_go_off().unwrap();
    let told: Vec<_> = all.iter().map(|g| (&*g.name, g.going.going)).collect();
    // Nobody knows when the roll was exposed: nothing is said of it.
    assert_eq!(
        told,
        [
            ("DD", Going::Over),
            ("BB", Going::Over),
            ("AA", Going::Soon)
        ]
    );
    assert!(all.iter().all(|g| g.name != label));
    // In a freezer at −18 °C time hardly counts [T2].
    place(&s, "Freezer", "freezer", "-20 C", "");
    keep(&s, s.keepable("can", "BB").unwrap(), "Freezer", "");
    let names: Vec<_> = s.about_to_go_off().unwrap();
    assert!(names.iter().all(|g| g.name != "BB"));
    let nitrate = s.kept(s.keepable("can", "NN").unwrap()).unwrap();
    assert!(nitrate.warm_up.is_none() && nitrate.allowance.is_none() && nitrate.going.is_none());
}

/// Ten years in a room: a third of a stop to a whole one [T16], the middle of it two thirds; frozen half of the time,
/// less. A rule of thumb.
#[test]
fn an_allowance_for_age_by_where_it_lay() {
    let s = service();
    let old = CanDraft {
        bought_on: "2016-11-01".into(),
        ..CanDraft::default()
    };
    let id = can(&s, "HM", old);
    let told = s.kept(Keepable::Can(id)).unwrap().allowance.unwrap();
    assert!((told.low_stops - 1.0 / 3.0).abs() < 0.002 && (told.high_stops - 1.0).abs() < 0.002);
    assert_eq!((told.thirds, told.mark.word()), (2, "rule-of-thumb"));
    place(&s, "Freezer", "freezer", "", "");
    keep(&s, Keepable::Can(id), "Freezer", "2021-11-01");
    let frozen = s.kept(Keepable::Can(id)).unwrap().allowance.unwrap();
    assert!(
        frozen.high_stops < 0.7 && frozen.low_stops < 0.2,
        "{frozen:?}"
    );
    // No rule is known for colour film.
    stock(&s, "Night Tram", "colour-negative", "acetate");
    let colour = can(
        &s,
        "NT",
        CanDraft {
            stock: "Night Tram".into(),
            bought_on: "2016-11-01".into(),
            ..CanDraft::default()
        },
    );
    assert!(s.kept(Keepable::Can(colour)).unwrap().allowance.is_none());
}

#[test]
fn what_cannot_be_is_refused_at_its_field() {
    let s = service();
    let id = can(&s, "HM", CanDraft::default());
    let shed = place(&s, "Shed", "room", "", "");
    let bad = PlaceDraft {
        name: "".into(),
        kind: "attic".into(),
        temperature: "warm".into(),
        humidity: "400".into(),
        ..PlaceDraft::default()
    };
    let failure = s.save_place(None, &bad, None).unwrap_err();
    for field in ["name", "kind", "temperature", "humidity"] {
        assert!(fields(&failure).contains(&field), "{field}");
    }
    let twin = PlaceDraft {
        name: "shed".into(),
        ..PlaceDraft::default()
    };
    let failure = s.save_place(None, &twin, None).unwrap_err();
    assert_eq!(failure.faults()[0].error.kind, Kind::Conflict);
    s.close_place(shed, true, None).unwrap();
    for (place, since, field) in [
        ("Shed", "", "place"),
        ("Attic", "", "place"),
        ("Shed", "2027-01-01", "since"),
    ] {
        let draft = KeepDraft {
            place: place.into(),
            since: since.into(),
        };
        let failure = s.keep(Keepable::Can(id), &draft, None).unwrap_err();
        assert!(fields(&failure).contains(&field), "{place} {since}");
    }
    assert!(s.keepable("shoe", "HM").is_err());
    // Sent twice under one key it counts once.
    s.close_place(shed, false, None).unwrap();
    let draft = KeepDraft {
        place: "Shed".into(),
        since: String::new(),
    };
    s.keep(Keepable::Can(id), &draft, Some("tap")).unwrap();
    let again = s.keep(Keepable::Can(id), &draft, Some("tap")).unwrap();
    assert_eq!(again.story, "Recorded already.");
}
