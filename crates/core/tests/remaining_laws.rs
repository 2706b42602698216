//! Laws that what is left in a can must obey, whatever the shelf.

use proptest::prelude::*;
use spoolwright_core::film::Pitch;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::remaining::{
    CanInput, Evidence, LoaderPrior, PackagePrior, Posterior, Shelf, StockPrior, defaults, estimate,
};
use spoolwright_core::{Kind, bounds};

fn can(evidence: Vec<Evidence>) -> CanInput {
    CanInput {
        stock: 0,
        package: None,
        own_tare_g: Some(Estimate::new(165.0, 4.0)),
        pitch: Pitch::Long,
        length_m: defaults::new_can_length_m(30.48),
        evidence,
    }
}

fn shelf(cans: Vec<CanInput>) -> Shelf {
    Shelf {
        loaders: vec![defaults::loader()],
        stocks: vec![defaults::stock()],
        packages: vec![],
        cans,
    }
}

/// A can's life of a few rolls and readings, the readings near what an average can would show.
fn life() -> impl Strategy<Value = Vec<Evidence>> {
    let step = (6u32..30, 0u32..4, -1.5..1.5f64);
    proptest::collection::vec(step, 1..12).prop_map(|steps| {
        let mut left = 30.48;
        let mut life = Vec::new();
        for (clicks, look, noise) in steps {
            left -= f64::from(clicks) * 0.038 + 0.095;
            life.push(Evidence::Wind {
                loader: 0,
                clicks: f64::from(clicks),
            });
            match look {
                0 => life.push(Evidence::Weigh {
                    grams: 165.0 + 7.5 * left + noise,
                    sd_grams: 1.0,
                }),
                1 => {
                    let square: f64 = 31.75 * 31.75 + 4000.0 * left * 0.135 / std::f64::consts::PI;
                    let outer_mm = square.sqrt() + 0.5 * noise;
                    life.push(Evidence::Gauge {
                        outer_mm,
                        core_mm: 31.75,
                        sd_mm: 0.5,
                    });
                }
                _ => {}
            }
        }
        life
    })
}

fn same(a: Estimate, b: Estimate) -> bool {
    (a.mean - b.mean).abs() < 1e-6 * b.sd.max(1e-9) && (a.sd - b.sd).abs() < 1e-6 * b.sd.max(1e-9)
}

fn clean(posterior: &Posterior) -> bool {
    !posterior
        .caveats(0)
        .iter()
        .any(|c| c.code.ends_with("_off"))
}

proptest! {
    /// One more reading that says what was expected never widens the estimate (linear part, no outliers).
    #[test]
    fn more_evidence_never_widens(life in life(), which in 0..4) {
        let before = estimate(&shelf(vec![can(life.clone())])).unwrap();
        prop_assume!(clean(&before));
        let (left, stock) = (before.uncut_m(0), before.stock(0));
        let weight = before.can(0).tare_g.mean + stock.linear_mass_g_per_m.mean * left.mean;
        let square = 31.75_f64.powi(2) + 4000.0 * left.mean * stock.thickness_mm.mean / std::f64::consts::PI;
        let loader = before.loader(0);
        let more = match which {
            0 => Evidence::Weigh { grams: weight, sd_grams: 1.0 },
            1 => Evidence::WeighEmpty { grams: before.can(0).tare_g.mean, sd_grams: 1.0 },
            2 => Evidence::Gauge { outer_mm: square.sqrt(), core_mm: 31.75, sd_mm: 0.5 },
            _ => Evidence::Measured {
                loader: 0,
                clicks: 24.0,
                length_mm: 24.0 * 38.0 * loader.click_scale.mean + loader.uncounted_mm.mean,
                sd_mm: 5.0,
            },
        };
        let mut longer = life;
        longer.push(more);
        let after = estimate(&shelf(vec![can(longer)])).unwrap();
        prop_assert!(after.uncut_m(0).sd <= left.sd * (1.0 + 1e-9));
        prop_assert!((after.uncut_m(0).mean - left.mean).abs() < 1e-6 * left.sd);
        // And the promise made before the reading is kept.
        let kind = ["weigh", "weigh_empty", "gauge", "measure_roll"][which as usize];
        let promised = before.next_measurements(0, 0).into_iter().find(|n| n.kind.word() == kind).unwrap().sd_after_m;
        if which != 3 {
            prop_assert!((after.uncut_m(0).sd / promised - 1.0).abs() < 1e-6);
        } else {
            prop_assert!(after.uncut_m(0).sd <= left.sd);
        }
    }

    /// Weights in another unit (every gram, and what it is compared with, times a factor) leave the length alone.
    #[test]
    fn the_unit_of_weight_does_not_matter(life in life(), factor in 0.3..2.0f64) {
        let times = |e: Estimate| Estimate::new(e.mean * factor, e.sd * factor);
        let plain = shelf(vec![can(life)]);
        let mut other = plain.clone();
        other.stocks[0].linear_mass_g_per_m = times(other.stocks[0].linear_mass_g_per_m);
        other.cans[0].own_tare_g = other.cans[0].own_tare_g.map(times);
        for evidence in &mut other.cans[0].evidence {
            if let Evidence::Weigh { grams, sd_grams } = evidence {
                *grams *= factor;
                *sd_grams *= factor;
            }
        }
        prop_assert!(same(estimate(&plain).unwrap().uncut_m(0), estimate(&other).unwrap().uncut_m(0)));
    }

    /// With a loader known exactly, counting clicks and measuring lengths are the same thing.
    #[test]
    fn clicks_and_lengths_agree(rolls in proptest::collection::vec(5u32..40, 1..15)) {
        let mut by_clicks = shelf(vec![can(vec![])]);
        by_clicks.loaders[0] =
            LoaderPrior { click_scale: Estimate::new(1.0, 0.0), uncounted_mm: Estimate::new(95.0, 0.0) };
        let mut by_length = by_clicks.clone();
        for &clicks in &rolls {
            let clicks = f64::from(clicks);
            by_clicks.cans[0].evidence.push(Evidence::Wind { loader: 0, clicks });
            let mm = Estimate::new(clicks * 38.0 + 95.0, 0.0);
            by_length.cans[0].evidence.push(Evidence::WindLength { mm });
        }
        prop_assert!(same(estimate(&by_clicks).unwrap().uncut_m(0), estimate(&by_length).unwrap().uncut_m(0)));
    }

    /// A can that shares nothing changes nothing; the order of cans on the shelf does not matter.
    #[test]
    fn only_what_is_shared_couples(a in life(), b in life(), c in life()) {
        let pair = shelf(vec![can(a.clone()), can(b.clone())]);
        let alone = estimate(&pair).unwrap();
        let mut more = shelf(vec![can(b), can(a)]);
        more.loaders.push(defaults::loader());
        more.stocks.push(defaults::stock());
        let mut stranger = can(c);
        stranger.stock = 1;
        for evidence in &mut stranger.evidence {
            if let Evidence::Wind { loader, .. } = evidence {
                *loader = 1;
            }
        }
        more.cans.insert(0, stranger);
        let among = estimate(&more).unwrap();
        prop_assert!(same(alone.uncut_m(0), among.uncut_m(2)));
        prop_assert!(same(alone.uncut_m(1), among.uncut_m(1)));
    }

    /// The chance of a roll falls with its clicks, and lies within 0 to 1.
    #[test]
    fn longer_rolls_are_less_likely(life in life()) {
        let posterior = estimate(&shelf(vec![can(life)])).unwrap();
        let chances: Vec<_> = (1..=60).map(|n| posterior.can_wind(0, 0, n * 13)).collect();
        prop_assert!(chances.iter().all(|p| (0.0..=1.0).contains(p)));
        prop_assert!(chances.is_sorted_by(|a, b| a >= b));
    }

    /// Numbers at the edges of what is allowed, in any contradiction: finite answers, ordered intervals, no panic.
    #[test]
    fn contradictions_are_survived(
        evidence in proptest::collection::vec(edge_evidence(), 0..20),
        length in edge(bounds::CAN_LENGTH_M.min, bounds::CAN_LENGTH_M.max),
        sds in (edge(0.0, 0.5), edge(0.0, 1000.0), edge(0.0, 29.0), edge(0.0, 0.25), edge(0.0, 20_000.0)),
    ) {
        let mut extreme = shelf(vec![can(evidence.clone()), can(evidence)]);
        extreme.cans[0].length_m = Estimate::new(length, sds.4.min(900.0));
        extreme.loaders[0].click_scale.sd = sds.0;
        extreme.loaders[0].uncounted_mm.sd = sds.1;
        extreme.stocks[0].linear_mass_g_per_m.sd = sds.2;
        extreme.stocks[0].thickness_mm.sd = sds.3;
        extreme.packages.push(PackagePrior { tare_g: Estimate::new(100.0, sds.4), spread_g: sds.2 });
        extreme.cans[1].package = Some(0);
        all_finite(&estimate(&extreme).unwrap())?;
    }

    /// Any numbers at all: a typed refusal, or a finite answer; never NaN, never a panic.
    #[test]
    fn hostile_input(
        n in proptest::collection::vec(hostile(), 24),
        loader in 0usize..3,
        kind in 0..8,
    ) {
        let e = |i: usize| Estimate::new(n[i], n[i + 1]);
        let evidence = match kind {
            0 => Evidence::Wind { loader, clicks: n[12] },
            1 => Evidence::WindLength { mm: e(12) },
            2 => Evidence::Weigh { grams: n[12], sd_grams: n[13] },
            3 => Evidence::WeighEmpty { grams: n[12], sd_grams: n[13] },
            4 => Evidence::Gauge { outer_mm: n[12], core_mm: n[13], sd_mm: n[14] },
            5 => Evidence::RanOut { loader, clicks: n[12] },
            6 => Evidence::Empty,
            _ => Evidence::Measured { loader, clicks: n[12], length_mm: n[13], sd_mm: n[14] },
        };
        let shelf = Shelf {
            loaders: vec![LoaderPrior { click_scale: e(0), uncounted_mm: e(2) }],
            stocks: vec![StockPrior { linear_mass_g_per_m: e(4), thickness_mm: e(6) }],
            packages: vec![PackagePrior { tare_g: e(8), spread_g: n[10] }],
            cans: vec![CanInput {
                stock: loader / 2,
                package: (loader == 0).then_some(0),
                own_tare_g: Some(e(16)),
                pitch: Pitch::Short,
                length_m: e(14),
                evidence: vec![evidence],
            }],
        };
        if let Ok(posterior) = estimate(&shelf) {
            all_finite(&posterior)?;
        }
    }

    /// One bad number in an otherwise good shelf is refused, with the field's name.
    #[test]
    fn one_bad_number_is_named(bad in prop_oneof![Just(f64::NAN), Just(f64::INFINITY), Just(-1.0), Just(1e12)], which in 0..9) {
        let mut s = shelf(vec![can(vec![
            Evidence::Weigh { grams: 390.0, sd_grams: 1.0 },
            Evidence::Wind { loader: 0, clicks: 24.0 },
            Evidence::Gauge { outer_mm: 75.0, core_mm: 31.75, sd_mm: 0.5 },
        ])]);
        let field = match which {
            0 => { s.loaders[0].click_scale.mean = bad; "loaders[0].click_scale.mean" }
            1 => { s.loaders[0].uncounted_mm.sd = bad; "loaders[0].uncounted_mm.sd" }
            2 => { s.stocks[0].thickness_mm.mean = bad; "stocks[0].thickness_mm.mean" }
            3 => { s.cans[0].length_m.mean = bad; "cans[0].length_m.mean" }
            4 => { s.cans[0].own_tare_g = Some(Estimate::new(bad, 1.0)); "cans[0].own_tare_g.mean" }
            5 => { s.cans[0].evidence[0] = Evidence::Weigh { grams: bad, sd_grams: 1.0 }; "cans[0].evidence[0].grams" }
            6 => { s.cans[0].evidence[0] = Evidence::Weigh { grams: 390.0, sd_grams: bad }; "cans[0].evidence[0].sd_grams" }
            7 => { s.cans[0].evidence[1] = Evidence::Wind { loader: 0, clicks: bad }; "cans[0].evidence[1].clicks" }
            _ => { s.cans[0].evidence[2] = Evidence::Gauge { outer_mm: bad, core_mm: 31.75, sd_mm: 0.5 }; "cans[0].evidence[2].outer_mm" }
        };
        let error = estimate(&s).err().unwrap();
        prop_assert_eq!(error.kind, Kind::OutOfRange);
        prop_assert_eq!(error.what, field);
    }
}

fn all_finite(posterior: &Posterior) -> Result<(), TestCaseError> {
    for i in 0..posterior.cans() {
        let left = posterior.remaining_m(i);
        prop_assert!(
            [left.mean, left.sd, left.lower95, left.upper95]
                .iter()
                .all(|x| x.is_finite()),
            "{left:?}"
        );
        prop_assert!(
            0.0 <= left.lower95 && left.lower95 <= left.upper95 && 0.0 <= left.sd,
            "{left:?}"
        );
        let slack = 1e-6 * (1.0 + left.upper95);
        prop_assert!(
            left.lower95 <= left.mean + slack && left.mean <= left.upper95 + slack,
            "{left:?}"
        );
        prop_assert!((0.0..=1.0).contains(&posterior.can_wind(i, 0, 42)));
        prop_assert!(
            posterior
                .next_measurements(i, 0)
                .iter()
                .all(|n| n.sd_after_m.is_finite())
        );
        let can = posterior.can(i);
        prop_assert!(can.length_m.mean.is_finite() && can.tare_g.mean.is_finite());
        prop_assert!(
            posterior
                .caveats(i)
                .iter()
                .all(|c| !c.text.contains("NaN") && !c.text.contains("inf"))
        );
    }
    let loader = posterior.loader(0);
    prop_assert!(loader.click_scale.mean.is_finite() && loader.uncounted_mm.sd.is_finite());
    prop_assert!((-1.000_001..=1.000_001).contains(&loader.correlation));
    Ok(())
}

/// The ends of a range, and what lies between.
fn edge(min: f64, max: f64) -> impl Strategy<Value = f64> + Clone {
    prop_oneof![Just(min), Just(max), min..max]
}

fn edge_evidence() -> impl Strategy<Value = Evidence> {
    let mass = edge(bounds::MASS_G.min, bounds::MASS_G.max);
    let mass_sd = edge(bounds::MASS_SD_G.min, bounds::MASS_SD_G.max);
    let clicks = edge(bounds::CLICKS.min, bounds::CLICKS.max);
    prop_oneof![
        clicks
            .clone()
            .prop_map(|clicks| Evidence::Wind { loader: 0, clicks }),
        clicks
            .clone()
            .prop_map(|clicks| Evidence::RanOut { loader: 0, clicks }),
        (edge(0.0, 1e6), edge(0.0, 1e6)).prop_map(|(m, s)| Evidence::WindLength {
            mm: Estimate::new(m, s)
        }),
        (mass.clone(), mass_sd.clone())
            .prop_map(|(grams, sd_grams)| Evidence::Weigh { grams, sd_grams }),
        (mass, mass_sd).prop_map(|(grams, sd_grams)| Evidence::WeighEmpty { grams, sd_grams }),
        (edge(200.0, 700.0), edge(5.0, 200.0), edge(0.01, 50.0)).prop_map(
            |(outer_mm, core_mm, sd_mm)| Evidence::Gauge {
                outer_mm,
                core_mm,
                sd_mm
            }
        ),
        (clicks, edge(0.0, 1e6), edge(0.1, 1000.0)).prop_map(|(clicks, length_mm, sd_mm)| {
            Evidence::Measured {
                loader: 0,
                clicks,
                length_mm,
                sd_mm,
            }
        }),
        Just(Evidence::Empty),
    ]
}

fn hostile() -> impl Strategy<Value = f64> {
    prop_oneof![
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(0.0),
        1 => Just(-1.0),
        1 => Just(5e-324),
        1 => Just(1e300),
        12 => Just(1.0),
        6 => 0.05..2.0f64,
    ]
}

/// A record whose last word is a run-out reports nothing left, whatever the sums would say, and says why they differ.
#[test]
fn a_can_that_ran_out_is_empty() {
    let record = vec![
        Evidence::Wind {
            loader: 0,
            clicks: 40.0,
        },
        Evidence::RanOut {
            loader: 0,
            clicks: 13.0,
        },
    ];
    let posterior = estimate(&shelf(vec![can(record)])).unwrap();
    assert!(posterior.remaining_m(0).upper95 < 0.05);
    assert!(posterior.can_wind(0, 0, 6) < 1e-6);
    assert!(posterior.next_measurements(0, 0).is_empty());
    let codes: Vec<_> = posterior.caveats(0).iter().map(|c| c.code).collect();
    assert_eq!(codes, ["ran_out_off"]);
}

/// Caveats appear where they should and not on a well-known can.
#[test]
fn caveats_name_what_is_wrong() {
    let codes = |can: CanInput| -> Vec<&'static str> {
        estimate(&shelf(vec![can]))
            .unwrap()
            .caveats(0)
            .iter()
            .map(|c| c.code)
            .collect()
    };
    let wind = Evidence::Wind {
        loader: 0,
        clicks: 42.0,
    };
    assert_eq!(codes(can(vec![wind; 9])), ["wide_interval"]);
    assert_eq!(codes(can(vec![wind; 19])), ["overdrawn", "wide_interval"]);
    let reopened = codes(can(vec![Evidence::Empty, wind]));
    assert!(
        reopened.contains(&"wound_after_empty") && reopened.contains(&"ran_out_off"),
        "{reopened:?}"
    );
    let weigh = Evidence::Weigh {
        grams: 393.0,
        sd_grams: 1.0,
    };
    let mut unknown = can(vec![weigh, wind]);
    unknown.own_tare_g = None;
    assert_eq!(codes(unknown), ["film_weight_assumed", "tare_assumed"]);
    let mut known = shelf(vec![can(vec![weigh])]);
    known.stocks[0].linear_mass_g_per_m.sd = 0.02;
    known.cans[0].own_tare_g = Some(Estimate::new(165.0, 0.5));
    known.cans[0].length_m.sd = 0.05;
    assert!(estimate(&known).unwrap().caveats(0).is_empty());
}

/// An index that is not there is refused by name, as is too much.
#[test]
fn indices_and_sizes_are_checked() {
    let mut s = shelf(vec![can(vec![Evidence::Wind {
        loader: 3,
        clicks: 10.0,
    }])]);
    let error = estimate(&s).err().unwrap();
    assert_eq!(
        (error.kind, error.what.as_str()),
        (Kind::Unknown, "cans[0].evidence[0].loader")
    );
    s.cans[0].evidence.clear();
    s.cans[0].stock = 1;
    assert_eq!(estimate(&s).err().unwrap().what, "cans[0].stock");
    s.cans[0].stock = 0;
    s.cans[0].package = Some(0);
    assert_eq!(estimate(&s).err().unwrap().what, "cans[0].package");
    s.cans = vec![can(vec![]); defaults::MAX_CANS + 1];
    assert_eq!(estimate(&s).err().unwrap().kind, Kind::TooLarge);
    let cut = Evidence::WindLength {
        mm: Estimate::new(20.0, 1.0),
    };
    let weigh = Evidence::Weigh {
        grams: 390.0,
        sd_grams: 1.0,
    };
    s.cans = vec![can([cut, weigh].repeat(defaults::MAX_MEASURED_DRAWS))];
    assert!(estimate(&s).is_ok());
    s.cans[0].evidence.extend([cut, weigh]);
    assert_eq!(estimate(&s).err().unwrap().kind, Kind::TooLarge);
    assert!(estimate(&Shelf::default()).is_ok());
}
