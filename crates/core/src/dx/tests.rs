//! DX patterns against the published tables [DX1]..[DX5], and hostile rows.

use super::*;
use proptest::prelude::*;

/// [DX2], the table of speeds, typed in from the source.
const TABLE: [(u32, u32, &str); 24] = [
    (25, 15, "00010"),
    (32, 16, "00001"),
    (40, 17, "00011"),
    (50, 18, "10010"),
    (64, 19, "10001"),
    (80, 20, "10011"),
    (100, 21, "01010"),
    (125, 22, "01001"),
    (160, 23, "01011"),
    (200, 24, "11010"),
    (250, 25, "11001"),
    (320, 26, "11011"),
    (400, 27, "00110"),
    (500, 28, "00101"),
    (640, 29, "00111"),
    (800, 30, "10110"),
    (1000, 31, "10101"),
    (1250, 32, "10111"),
    (1600, 33, "01110"),
    (2000, 34, "01101"),
    (2500, 35, "01111"),
    (3200, 36, "11110"),
    (4000, 37, "11101"),
    (5000, 38, "11111"),
];

fn dx(iso: f64, exposures: u32, latitude: Latitude) -> Dx {
    Dx {
        iso: Some(iso),
        exposures: Some(exposures),
        latitude: Some(latitude),
    }
}

fn codes(encoded: &Encoded) -> Vec<&'static str> {
    encoded.caveats.iter().map(|c| c.code).collect()
}

#[test]
fn speeds_by_the_table() {
    for (iso, degrees, code) in TABLE {
        let encoded = encode(dx(f64::from(iso), 36, Latitude::One)).unwrap();
        assert_eq!(
            encoded.contacts.row1_text(),
            format!("1{code}"),
            "ISO {iso}"
        );
        assert_eq!(encoded.speed, Some(Speed { iso, degrees }));
        assert!(
            encoded.caveats.is_empty(),
            "ISO {iso}: {:?}",
            encoded.caveats
        );
        let said = decode(&format!("1{code}"), "100110").unwrap();
        assert_eq!(said.speed, Some(Speed { iso, degrees }));
    }
}

/// The rule stated with [DX2], written out apart from the code under test.
#[test]
fn speeds_by_the_rule() {
    for (k, (_, _, code)) in TABLE.iter().enumerate() {
        let trio = k / 3;
        let thirds = ["10", "01", "11"][k % 3];
        let by_rule = format!("{}{}{}{thirds}", trio % 2, trio / 2 % 2, trio / 4);
        assert_eq!(*code, by_rule, "step {k}");
    }
    // 100, 200, 400 and 800 are told apart by S1 and S2 alone.
    let two: std::collections::BTreeSet<_> = [6, 9, 12, 15]
        .iter()
        .map(|k: &usize| &TABLE[*k].2[..2])
        .collect();
    assert_eq!(two.len(), 4);
}

#[test]
fn the_eight_unassigned_codes_hold_no_speed() {
    let mut without = 0;
    for code in 0..32 {
        let row1 = format!("1{code:05b}");
        let said = decode(&row1, "100000").unwrap();
        let listed = TABLE.iter().find(|(_, _, c)| *c == &row1[1..]);
        assert_eq!(
            said.speed.map(|s| s.iso),
            listed.map(|(iso, _, _)| *iso),
            "{row1}"
        );
        without += usize::from(said.speed.is_none());
    }
    assert_eq!(without, 8);
}

/// [DX3] and [DX4].
#[test]
fn lengths_and_latitudes_by_the_table() {
    let lengths = [
        (18, "000"),
        (12, "100"),
        (20, "010"),
        (24, "110"),
        (36, "001"),
        (48, "101"),
        (60, "011"),
        (72, "111"),
    ];
    let latitudes = [
        ("+0.5/-0.5", "00"),
        ("+1/-1", "10"),
        ("+2/-1", "01"),
        ("+3/-1", "11"),
    ];
    for (n, length) in lengths {
        for (word, range) in latitudes {
            let latitude = Latitude::from_word(word).unwrap();
            let encoded = encode(dx(100.0, n, latitude)).unwrap();
            let row2 = format!("1{length}{range}");
            assert_eq!(encoded.contacts.row2_text(), row2);
            let said = decode("101010", &row2).unwrap();
            assert_eq!(
                (said.exposures, said.latitude),
                ((n != 18).then_some(n), latitude)
            );
            let expected: &[&str] = if n == 18 { &["dx_other_length"] } else { &[] };
            assert_eq!(codes(&encoded), expected);
        }
    }
}

/// [DX5]: patterns read from real cans.
#[test]
fn whole_cans() {
    let cans = [
        ("100110", "100111", 400, 36, Latitude::ThreeOne),
        ("101010", "100100", 100, 36, Latitude::Half),
        ("110110", "100111", 800, 36, Latitude::ThreeOne),
        ("101010", "100110", 100, 36, Latitude::One),
    ];
    for (row1, row2, iso, n, latitude) in cans {
        let encoded = encode(dx(f64::from(iso), n, latitude)).unwrap();
        assert_eq!(
            (
                encoded.contacts.row1_text().as_str(),
                encoded.contacts.row2_text().as_str()
            ),
            (row1, row2)
        );
        let said = decode(row1, row2).unwrap();
        assert_eq!(
            (said.speed.map(|s| s.iso), said.exposures, said.latitude),
            (Some(iso), Some(n), latitude)
        );
    }
}

#[test]
fn between_the_steps_the_nearest_third_is_named() {
    for (ei, iso) in [
        (180.0, 200),
        (90.0, 100),
        (300.0, 320),
        (26.0, 25),
        (5500.0, 5000),
        (23.0, 25),
    ] {
        let encoded = encode(dx(ei, 36, Latitude::One)).unwrap();
        // Outside check: the nearest on the nominal scale by ratio.
        let nearest = TABLE.iter().map(|t| t.0).min_by(|a, b| {
            (f64::from(*a) / ei)
                .ln()
                .abs()
                .total_cmp(&(f64::from(*b) / ei).ln().abs())
        });
        assert_eq!(encoded.speed.map(|s| s.iso), nearest, "EI {ei}");
        assert_eq!(encoded.speed.map(|s| s.iso), Some(iso), "EI {ei}");
        assert_eq!(codes(&encoded), ["dx_speed_rounded"]);
        assert!(
            encoded.caveats[0].text.contains(&format!("ISO {iso}/")),
            "{}",
            encoded.caveats[0].text
        );
    }
}

#[test]
fn what_is_absent_is_said() {
    let encoded = encode(Dx::default()).unwrap();
    assert_eq!(
        (
            encoded.contacts.row1_text().as_str(),
            encoded.contacts.row2_text().as_str()
        ),
        ("100000", "100000")
    );
    assert_eq!(codes(&encoded), ["dx_no_speed", "dx_latitude_assumed"]);
    assert_eq!(decode("100000", "100000").unwrap().speed, None);
}

#[test]
fn hostile_input_is_refused() {
    for iso in [
        f64::NAN,
        f64::INFINITY,
        -100.0,
        0.0,
        12.0,
        6400.0,
        1e300,
        5e-324,
    ] {
        assert!(
            encode(Dx {
                iso: Some(iso),
                ..Dx::default()
            })
            .is_err(),
            "{iso}"
        );
    }
    for exposures in [0, 801, u32::MAX] {
        assert!(
            encode(Dx {
                exposures: Some(exposures),
                ..Dx::default()
            })
            .is_err()
        );
    }
    let long = "1".repeat(10_000_000);
    for row in [
        "", "1", "10011", "1001100", "10o110", "1001²", "１０", " 00110", "000110", "10011\0",
        &long,
    ] {
        let error = decode(row, "100111").unwrap_err();
        assert_eq!(error.what, "row1");
        assert!(error.to_string().len() < 300);
        assert!(decode("100111", row).is_err());
    }
    for word in ["", "+1", "3", "+4/-1", "\u{1F39E}", &long] {
        assert!(Latitude::from_word(word).is_err());
    }
    assert_eq!(Latitude::from_word("±0.5").unwrap(), Latitude::Half);
    assert_eq!(
        Latitude::from_word("+3/\u{2212}1").unwrap(),
        Latitude::ThreeOne
    );
}

proptest! {
    /// What was coded is read back, and the speed is never more than half a third of a stop away
    /// (the nominal scale itself is rounded by up to 0.03 stop).
    #[test]
    fn round_trip(iso in 25.0_f64..5000.0, n in 1_u32..=800, latitude in 0_usize..4) {
        let latitude = Latitude::ALL[latitude];
        let encoded = encode(dx(iso, n, latitude)).unwrap();
        let said = decode(&encoded.contacts.row1_text(), &encoded.contacts.row2_text()).unwrap();
        prop_assert_eq!(said.speed, encoded.speed);
        prop_assert_eq!(said.exposures, encoded.exposures);
        prop_assert_eq!(said.latitude, latitude);
        let off = (f64::from(encoded.speed.unwrap().iso) / iso).log2().abs();
        prop_assert!(off < 1.0 / 6.0 + 0.03, "{} stop", off);
    }
}
