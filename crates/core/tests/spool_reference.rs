//! Wound rolls against the published capacities, the computed table, and numerical arc length.

use proptest::prelude::*;
use spoolwright_core::quantity::Length;
use spoolwright_core::{Kind, spool};

fn inch(value: f64) -> Length {
    Length::mm(value * 25.4)
}

/// Source: [R1], [R2], [R3], published capacities in whole feet; t = 0.0053 in; tolerance 1 ft as the source rounds.
#[test]
fn published_reel_capacities() {
    for (outer, core, feet) in [
        (15.0, 2.0, 2729.0),
        (15.0, 5.0, 2470.0),
        (14.0, 4.0, 2223.0),
    ] {
        let got = spool::length_on_core(inch(outer), inch(core), inch(0.0053)).unwrap();
        assert!(
            (got.to_ft() - feet).abs() < 1.0,
            "{outer} in on {core} in: {} ft",
            got.to_ft()
        );
    }
}

/// Source: [R4], nominal reels of the 1920s: 1,000 ft fill 10 in (9.8 in by the formula), 2,000 ft 14 to 15 in.
/// Tolerance: half a unit of the digit printed (0.05 in) on the one, 1 in on the nominal other.
#[test]
fn nominal_reels() {
    let d = |feet| {
        spool::outer_diameter(Length::ft(feet), inch(2.0), inch(0.006))
            .unwrap()
            .to_mm()
            / 25.4
    };
    assert!((d(1000.0) - 9.8).abs() < 0.05);
    assert!((13.0..15.5).contains(&d(2000.0)), "{}", d(2000.0));
}

/// Thickness and printed diameter in mm, and half a unit of the last digit printed.
type Cell = (f64, f64, f64);

/// Source: [R5], worked out apart from this program; tolerance is half a unit of the last digit there.
#[test]
fn computed_table() {
    let rows: [(f64, f64, &[Cell]); 5] = [
        (
            100.0,
            31.75,
            &[
                (0.125, 76.5, 0.05),
                (0.1346, 78.94, 0.005),
                (0.140, 80.3, 0.05),
                (0.142, 80.7, 0.05),
                (0.152, 83.1, 0.05),
            ],
        ),
        (
            400.0,
            50.8,
            &[
                (0.125, 148.3, 0.05),
                (0.1346, 153.22, 0.005),
                (0.140, 155.9, 0.05),
                (0.142, 156.92, 0.005),
                (0.152, 161.8, 0.05),
            ],
        ),
        (
            1000.0,
            50.8,
            &[
                (0.125, 226.0, 0.05),
                (0.1346, 234.13, 0.005),
                (0.140, 238.6, 0.05),
                (0.142, 240.18, 0.005),
                (0.152, 248.1, 0.05),
            ],
        ),
        (
            400.0,
            76.2,
            &[
                (0.125, 158.8, 0.05),
                (0.140, 165.9, 0.05),
                (0.142, 166.88, 0.005),
                (0.152, 171.5, 0.05),
            ],
        ),
        (
            1000.0,
            76.2,
            &[
                (0.125, 233.1, 0.05),
                (0.140, 245.2, 0.05),
                (0.142, 246.81, 0.005),
                (0.152, 254.5, 0.05),
            ],
        ),
    ];
    for (feet, core, cells) in rows {
        for &(t, printed, tolerance) in cells {
            let got = spool::outer_diameter(Length::ft(feet), Length::mm(core), Length::mm(t))
                .unwrap()
                .to_mm();
            assert!(
                (got - printed).abs() <= tolerance + 1e-9,
                "{feet} ft, core {core}, t {t}: {got} for {printed}"
            );
        }
    }
    for (feet, core, t, printed) in [
        (100.0, 31.75, 0.1346, 175.3),
        (400.0, 50.8, 0.142, 373.7),
        (1000.0, 50.8, 0.142, 666.8),
    ] {
        let got = spool::turns(Length::ft(feet), Length::mm(core), Length::mm(t)).unwrap();
        assert!(
            (got - printed).abs() < 0.05 + 1e-9,
            "{got} turns for {printed}"
        );
    }
}

/// Source: [R5]: half a millimetre on 156.9 mm at 0.142 mm is 868 mm of film (to 1 mm).
#[test]
fn error_bar_of_a_diameter() {
    let sd = spool::length_sd(Length::mm(156.9), Length::mm(0.142), Length::mm(0.5)).unwrap();
    assert!((sd.to_mm() - 868.0).abs() < 0.5, "{}", sd.to_mm());
}

/// Source: tests/reference/spool, arc length of the Archimedean spiral by numerical quadrature (scipy).
/// Tolerance: 0.1 %, the goal; turns and diameter are exact inputs there.
#[test]
fn numerical_arc_length() {
    let file: serde_json::Value = serde_json::from_str(include_str!(
        "../../../tests/reference/spool/arc_length.json"
    ))
    .unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert!(cases.len() >= 12);
    for case in cases {
        let field = |name: &str| case[name].as_f64().unwrap();
        let (core, t) = (
            Length::mm(field("core_mm")),
            Length::mm(field("thickness_mm")),
        );
        let arc = field("arc_length_mm");
        let by_turns = spool::length_of_turns(field("turns"), core, t)
            .unwrap()
            .to_mm();
        assert!((by_turns / arc - 1.0).abs() < 1e-3, "{case}: {by_turns}");
        let by_diameter = spool::length_on_core(Length::mm(field("outer_mm")), core, t)
            .unwrap()
            .to_mm();
        assert!(
            (by_diameter / arc - 1.0).abs() < 1e-3,
            "{case}: {by_diameter}"
        );
    }
}

/// Four times 30 m of 120 m leave nothing; three times 30.48 m of 120 m leave 28.56 m (arithmetic).
#[test]
fn a_long_can_in_parts() {
    let (core, t) = (Length::mm(76.2), Length::mm(0.14));
    let whole = spool::breakdown(
        Length::m(120.0),
        core,
        Length::m(30.0),
        Length::mm(31.75),
        t,
    )
    .unwrap();
    assert_eq!(whole.parts.len(), 4);
    assert!(whole.remainder.to_mm().abs() < 1e-6);
    assert!((whole.parts[3].mother_outer.to_mm() - 76.2).abs() < 1e-9);

    let broken = spool::breakdown(
        Length::m(120.0),
        core,
        Length::m(30.48),
        Length::mm(31.75),
        t,
    )
    .unwrap();
    assert_eq!(broken.parts.len(), 3);
    assert!((broken.remainder.to_m() - 28.56).abs() < 1e-9);
    // Each gauge pair holds the film it claims.
    for part in &broken.parts {
        let on_part = spool::length_on_core(part.outer, Length::mm(31.75), t).unwrap();
        let on_mother = spool::length_on_core(part.mother_outer, core, t).unwrap();
        assert!((on_part - part.length).to_mm().abs() < 1e-6);
        assert!((on_mother - part.mother_left).to_mm().abs() < 1e-6);
    }
    let short =
        spool::breakdown(Length::m(20.0), core, Length::m(30.0), Length::mm(31.75), t).unwrap();
    assert!(short.parts.is_empty() && short.remainder == Length::m(20.0));
    let crumbs = spool::breakdown(Length::m(300.0), core, Length::m(0.3), Length::mm(31.75), t);
    let refused = crumbs.unwrap_err();
    assert_eq!(
        (refused.kind, refused.given.as_str()),
        (Kind::TooLarge, "1000")
    );
}

proptest! {
    /// Length → diameter → length and length → turns → length come back; more film is a thicker roll of more turns.
    #[test]
    fn inverses_and_monotony(l in 0.0..1000.0f64, more in 0.001..1.0f64, d in 8.0..120.0f64, t in 0.05..0.30f64) {
        let (core, t) = (Length::mm(d), Length::mm(t));
        let length = Length::m(l);
        let outer = spool::outer_diameter(length, core, t).unwrap();
        let n = spool::turns(length, core, t).unwrap();
        prop_assert!((spool::length_on_core(outer, core, t).unwrap() - length).to_mm().abs() < 1e-4);
        prop_assert!((spool::length_of_turns(n, core, t).unwrap() - length).to_mm().abs() < 1e-4);
        if l + more <= 1000.0 {
            let longer = Length::m(l + more);
            prop_assert!(spool::outer_diameter(longer, core, t).unwrap() > outer);
            prop_assert!(spool::turns(longer, core, t).unwrap() > n);
        }
    }

    /// Any numbers at all: an answer that is finite, or a refusal; never NaN, never a panic.
    #[test]
    fn hostile_input(a in hostile(), b in hostile(), c in hostile(), e in hostile()) {
        let (la, lb, lc, le) = (Length::mm(a), Length::mm(b), Length::mm(c), Length::mm(e));
        let answers = [
            spool::outer_diameter(la, lb, lc),
            spool::length_on_core(la, lb, lc),
            spool::length_of_turns(a, lb, lc),
            spool::length_sd(la, lb, lc),
            spool::turns(la, lb, lc).map(Length::mm),
            spool::breakdown(la, lb, lc, le, lc).map(|b| b.remainder),
        ];
        for length in answers.into_iter().flatten() {
            prop_assert!(length.to_mm().is_finite() && 0.0 <= length.to_mm());
        }
    }
}

fn hostile() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        Just(0.0),
        Just(-1.0),
        Just(5e-324),
        Just(1e300),
        Just(0.14),
        Just(50.8),
        any::<f64>(),
        0.0..2000.0f64,
    ]
}
