//! Mixing, formulas and salts against manuals, printed ratios and brute force, and what is conserved.

use proptest::prelude::*;
use spoolwright_core::Kind;
use spoolwright_core::wet::bath::{BathKind, ROLL_OF_36_M2};
use spoolwright_core::wet::bottles::{Bottle, Pour, Want, pour};
use spoolwright_core::wet::formula::{Batch, BuiltIn, Formula, Part, START_SHARE, Unit};
use spoolwright_core::wet::mix::{self, Dilution, Measures, Reading, Wanted};
use spoolwright_core::wet::salts::{self, Substance};
use spoolwright_core::wet::shopping::{AtHand, lacking};

// ---- Dilutions ------------------------------------------------------------------------------------------------------

fn dilute(text: &str, total: f64) -> Vec<Measures> {
    mix::dilute(&Dilution::parse(text).unwrap(), Wanted::Total(total)).unwrap()
}

/// Source: [D30]: 32 oz of 28 % from 99.5 %: 9.0 oz and 23 oz of water, as printed.
#[test]
fn acetic_acid() {
    let (acid, water) = mix::weaken(32.0, 99.5, 28.0).unwrap();
    assert!((acid - 9.0).abs() < 0.05 && (water - 23.0).abs() < 0.05);
    assert_eq!(
        mix::weaken(32.0, 28.0, 99.5).unwrap_err().kind,
        Kind::Impossible
    );
}

/// Source: [D31]: 437.5 grains are one ounce avoirdupois, a sixteenth of 453.59237 g.
#[test]
fn grains() {
    assert!((salts::grams(437.5).unwrap() - 453.592_37_f64 / 16.0).abs() < 1e-9);
    assert!(salts::grams(f64::NAN).is_err());
}

/// Arithmetic: 1+9 makes a tenth; a colon has two meanings, and 1:1 may mean no water at all.
#[test]
fn parts() {
    let [m] = &dilute("1+9", 500.0)[..] else {
        panic!("one reading")
    };
    assert_eq!(
        (m.concentrates_ml[0], m.water_ml, m.reading),
        (50.0, 450.0, Reading::Plus)
    );
    let [plus, within] = &dilute("1:10", 550.0)[..] else {
        panic!("two readings")
    };
    assert_eq!(
        (plus.concentrates_ml[0], within.concentrates_ml[0]),
        (50.0, 55.0)
    );
    assert_eq!(dilute("1:1", 300.0)[1].water_ml, 0.0);
    // Two parts in one cannot be; the other reading stands alone.
    assert_eq!(dilute("2:1", 300.0).len(), 1);
    let [m] = &dilute("1 + 1 + 100", 510.0)[..] else {
        panic!("one reading")
    };
    assert_eq!(
        (&m.concentrates_ml[..], m.water_ml),
        (&[5.0, 5.0][..], 500.0)
    );
    let from = Wanted::FromConcentrate(15.0);
    let [m] = &mix::dilute(&Dilution::parse("1+4").unwrap(), from).unwrap()[..] else {
        panic!("one reading")
    };
    assert_eq!(m.total_ml, 75.0);
}

#[test]
fn what_is_no_dilution() {
    for text in [
        "",
        "1",
        "1+",
        "+1",
        "1+x",
        "1:2+3",
        "0+1",
        "1+-1",
        "1+1e3",
        "1+inf",
        "1+2+3+4+5+6+7",
    ] {
        assert!(Dilution::parse(text).is_err(), "{text}");
    }
}

/// Own arithmetic: 6 ml for each of two rolls, of which 1+50 in 600 ml holds 11.8.
#[test]
fn least_stock() {
    let m = &dilute("1+50", 600.0)[0];
    let check = |rolls: f64| {
        let held = m.concentrate_ml();
        mix::stock_check(held, m.total_ml, 6.0, rolls * ROLL_OF_36_M2).unwrap()
    };
    assert!(check(1.0).is_enough());
    let short = check(2.0);
    assert!(!short.is_enough());
    assert!((short.working_ml - 612.0).abs() < 1e-9);
    assert!((dilute("1+50", short.working_ml)[0].concentrate_ml() - short.needed_ml).abs() < 1e-9);
    // A dilution so thin that it holds next to nothing is answered too: too little.
    let thin = mix::stock_check(0.06, 600.0, 6.0, ROLL_OF_36_M2).unwrap();
    assert!(!thin.is_enough() && (thin.working_ml - 60_000.0).abs() < 1e-6);
}

/// Conservation of heat, by hand: 250 ml at 60 °C and 750 ml at 20 °C are a litre at 30 °C.
#[test]
fn warm_water() {
    assert_eq!(
        mix::water(60.0, 20.0, 30.0, 1000.0).unwrap(),
        (250.0, 750.0)
    );
    assert_eq!(mix::water(20.0, 20.0, 20.0, 100.0).unwrap(), (0.0, 100.0));
    for (hot, cold, wanted) in [(60.0, 20.0, 61.0), (60.0, 20.0, 19.0), (20.0, 60.0, 40.0)] {
        assert_eq!(
            mix::water(hot, cold, wanted, 100.0).unwrap_err().kind,
            Kind::Impossible
        );
    }
    assert_eq!(
        mix::water(f64::NAN, 20.0, 30.0, 1.0).unwrap_err().kind,
        Kind::OutOfRange
    );
}

// ---- Bottles --------------------------------------------------------------------------------------------------------

fn bottle(volume_ml: f64, strength: f64, age_days: f64) -> Bottle {
    Bottle {
        name: "bottle".to_owned(),
        volume_ml,
        strength,
        age_days,
        used_m2: 0.0,
    }
}

fn want(volume_ml: f64, strength: f64, water: bool) -> Want {
    Want {
        volume_ml,
        strength,
        water,
    }
}

/// By hand: 600 ml from an old and a new bottle of working solution uses up the old one.
#[test]
fn the_oldest_goes_first() {
    let bottles = [bottle(500.0, 1.0, 5.0), bottle(350.0, 1.0, 60.0)];
    let poured = pour(&bottles, want(600.0, 1.0, true)).unwrap();
    assert_eq!(poured.take_ml, [250.0, 350.0]);
    assert_eq!(poured.left_ml, [250.0, 0.0]);
    assert_eq!((poured.water_ml, poured.age_days), (0.0, 60.0));
}

/// By hand: strengths 4 and 0.5 meet at 1 in the proportion 1 to 6, in one way only.
#[test]
fn two_strengths_without_water() {
    let bottles = [bottle(500.0, 4.0, 0.0), bottle(900.0, 0.5, 9.0)];
    let poured = pour(&bottles, want(700.0, 1.0, false)).unwrap();
    assert!((poured.take_ml[0] - 100.0).abs() < 1e-9 && (poured.take_ml[1] - 600.0).abs() < 1e-9);
}

#[test]
fn what_bottles_cannot_make() {
    let refused = |bottles: &[Bottle], w| pour(bottles, w).unwrap_err();
    let working = [bottle(300.0, 1.0, 0.0), bottle(200.0, 1.0, 0.0)];
    let e = refused(&working, want(600.0, 1.0, false));
    assert_eq!(
        (e.kind, e.allowed.as_str()),
        (Kind::Impossible, "up to 500 ml")
    );
    let e = refused(&working, want(600.0, 1.0, true));
    assert!(e.allowed.contains("0.833"), "{e}");
    let e = refused(&[bottle(900.0, 5.0, 0.0)], want(600.0, 1.0, false));
    assert!(e.remedy.contains("water"), "{e}");
    assert_eq!(refused(&[], want(1.0, 1.0, true)).kind, Kind::Missing);
    let e = refused(&[bottle(f64::NAN, 1.0, 0.0)], want(1.0, 1.0, true));
    assert!(e.what.starts_with("bottles[0].volume_ml"), "{e}");
}

/// Every corner of what can be poured: two amounts free, the others nothing or all. The best of them by age is the best
/// of all, since the wish is linear.
fn brute(bottles: &[Bottle], w: Want) -> Option<Vec<f64>> {
    let water = (w.water).then(|| bottle(w.volume_ml, 0.0, f64::NEG_INFINITY));
    let all: Vec<&Bottle> = bottles.iter().chain(water.as_ref()).collect();
    let n = all.len();
    let mut order: Vec<usize> = (0..bottles.len()).collect();
    order.sort_by(|&a, &b| {
        let age = bottles[b].age_days.total_cmp(&bottles[a].age_days);
        age.then(bottles[a].volume_ml.total_cmp(&bottles[b].volume_ml))
    });
    let mut best: Option<Vec<f64>> = None;
    for fixed in 0..1u32 << n {
        let base: Vec<f64> = (0..n)
            .map(|i| {
                if fixed >> i & 1 == 1 {
                    all[i].volume_ml
                } else {
                    0.0
                }
            })
            .collect();
        for a in 0..n {
            for b in 0..n {
                let mut x = base.clone();
                let others = |f: &dyn Fn(usize) -> f64| -> f64 {
                    (0..n).filter(|&i| i != a && i != b).map(f).sum()
                };
                let v = w.volume_ml - others(&|i| base[i]);
                let s = w.volume_ml * w.strength - others(&|i| base[i] * all[i].strength);
                let (sa, sb) = (all[a].strength, all[b].strength);
                if a == b {
                    x[a] = v;
                } else if sa == sb {
                    continue;
                } else {
                    x[a] = (s - sb * v) / (sa - sb);
                    x[b] = v - x[a];
                }
                let volume: f64 = x.iter().sum();
                let solute: f64 = x.iter().zip(&all).map(|(x, b)| x * b.strength).sum();
                let fits = x
                    .iter()
                    .zip(&all)
                    .all(|(x, b)| -1e-7 <= *x && *x <= b.volume_ml + 1e-7);
                let right = (volume - w.volume_ml).abs() < 1e-6
                    && (solute - w.volume_ml * w.strength).abs() < 1e-6;
                if !fits || !right {
                    continue;
                }
                let better = best.as_ref().is_none_or(|best| {
                    order
                        .iter()
                        .map(|&i| x[i] - best[i])
                        .find(|d| 1e-7 < d.abs())
                        .is_some_and(|d| 0.0 < d)
                });
                if better {
                    best = Some(x);
                }
            }
        }
    }
    best
}

fn conserved(bottles: &[Bottle], w: Want, poured: &Pour) -> bool {
    let volume: f64 = poured.take_ml.iter().sum::<f64>() + poured.water_ml;
    let solute: f64 = poured
        .take_ml
        .iter()
        .zip(bottles)
        .map(|(x, b)| x * b.strength)
        .sum();
    let each = poured.take_ml.iter().zip(&poured.left_ml).zip(bottles);
    (volume - w.volume_ml).abs() < 1e-6 * w.volume_ml
        && (solute - w.volume_ml * w.strength).abs() < 1e-6 * w.volume_ml * w.strength
        && each.into_iter().all(|((take, left), b)| {
            -1e-6 <= *take && -1e-6 <= *left && (take + left - b.volume_ml).abs() < 1e-6
        })
}

// ---- Salts ----------------------------------------------------------------------------------------------------------

/// Source: [D35], three ratios to a thousandth, and the molar masses printed with them to a hundredth.
#[test]
fn hydrates() {
    use Substance as S;
    for (from, to, ratio) in [
        (S::BoraxDecahydrate, S::BoraxPentahydrate, 0.764),
        (
            S::SodiumCarbonateAnhydrous,
            S::SodiumCarbonateMonohydrate,
            1.170,
        ),
        (
            S::SodiumThiosulfatePentahydrate,
            S::SodiumThiosulfateAnhydrous,
            0.637,
        ),
    ] {
        assert!(
            (salts::factor(from, to).unwrap() - ratio).abs() < 1e-3,
            "{}",
            to.name()
        );
    }
    for (salt, mass) in [
        (S::BoraxPentahydrate, 291.29),
        (S::BoraxDecahydrate, 381.37),
        (S::SodiumCarbonateMonohydrate, 124.00),
        (S::SodiumCarbonateAnhydrous, 105.99),
        (S::SodiumThiosulfateAnhydrous, 158.11),
        (S::SodiumThiosulfatePentahydrate, 248.18),
        // From memory of any table of chemicals.
        (S::SodiumSulfiteAnhydrous, 126.04),
        (S::SodiumSulfiteHeptahydrate, 252.15),
        (S::PotassiumCarbonateAnhydrous, 138.21),
        (S::SodiumCarbonateDecahydrate, 286.14),
        (S::SodiumAcetateTrihydrate, 136.08),
        (S::SodiumSulfateDecahydrate, 322.19),
        (S::TrisodiumPhosphateDodecahydrate, 380.12),
        (S::SodiumMetaborateTetrahydrate, 137.86),
    ] {
        let got = salt.molar_mass().unwrap();
        assert!((got - mass).abs() < 0.03, "{}: {got}", salt.name());
    }
}

#[test]
fn another_salt_is_refused() {
    let refused = salts::factor(
        Substance::SodiumCarbonateAnhydrous,
        Substance::PotassiumCarbonateAnhydrous,
    );
    assert_eq!(refused.unwrap_err().kind, Kind::Impossible);
    assert!(
        salts::convert(
            f64::NAN,
            Substance::BoraxAnhydrous,
            Substance::BoraxDecahydrate
        )
        .is_err()
    );
    assert_eq!(
        salts::factor(Substance::Metol, Substance::Metol).unwrap(),
        1.0
    );
}

#[test]
fn names_as_people_write_them() {
    for text in [
        "Sodium sulphite, anhydrous",
        "sodium-sulfite-anhydrous",
        " SODIUM  SULFITE (anhydrous) ",
    ] {
        assert_eq!(
            Substance::named(text),
            Some(Substance::SodiumSulfiteAnhydrous),
            "{text}"
        );
    }
    assert_eq!(Substance::named("borax"), None);
    assert_eq!(Substance::left_open("Borax").len(), 3);
    for &substance in Substance::ALL {
        assert_eq!(Substance::named(&substance.name()), Some(substance));
    }
}

// ---- Formulas -------------------------------------------------------------------------------------------------------

/// Source: [D32], for one litre.
#[test]
fn the_published_formula() {
    let batch = BuiltIn::MqBorax
        .formula()
        .scale(1000.0, START_SHARE)
        .unwrap();
    let got: Vec<(Option<Substance>, f64)> =
        batch.measures.iter().map(|m| (m.known, m.amount)).collect();
    assert_eq!(
        got,
        [
            (Some(Substance::Metol), 2.0),
            (Some(Substance::SodiumSulfiteAnhydrous), 100.0),
            (Some(Substance::Hydroquinone), 5.0),
            (Some(Substance::BoraxDecahydrate), 2.0),
        ]
    );
    // Source: [D29]: half to three quarters of the water, at 90 to 125 °F.
    assert!((500.0..=750.0).contains(&batch.start_ml));
    let (from, to) = batch.start_c.unwrap();
    assert!((from * 1.8 + 32.0 - 90.0).abs() < 1.0 && (to * 1.8 + 32.0 - 125.0).abs() < 1.0);
    // Metol has its caution, and says so.
    let metol = batch
        .cautions
        .iter()
        .find(|m| m.caution.code == "sensitiser")
        .unwrap();
    assert_eq!(metol.about, ["metol"]);
    assert!(
        BuiltIn::MqBoraxBuffered
            .formula()
            .caveats
            .iter()
            .any(|c| c.code == "weak_formula")
    );
}

/// Source: [D35] on [D32]: 2 g of decahydrate are 1.528 g of pentahydrate.
#[test]
fn a_hydrate_instead() {
    let formula = BuiltIn::MqBorax
        .formula()
        .with(Substance::BoraxPentahydrate)
        .unwrap();
    let borax = formula.parts.last().unwrap();
    assert_eq!(borax.substance, "borax pentahydrate");
    assert!((borax.per_litre - 2.0 * 0.764).abs() < 2e-3);
    let refused = BuiltIn::MqBorax
        .formula()
        .with(Substance::SodiumSulfateAnhydrous);
    assert_eq!(refused.unwrap_err().kind, Kind::Unknown);
    assert!(BuiltIn::MqBorax.formula().with(Substance::Metol).is_err());
}

fn own(parts: &[(&str, f64, Unit)]) -> Formula {
    let part = |&(substance, per_litre, unit): &(&str, f64, Unit)| Part {
        substance: substance.to_owned(),
        per_litre,
        unit,
        note: None,
    };
    Formula {
        name: "own".to_owned(),
        kind: BathKind::Stop,
        parts: parts.iter().map(part).collect(),
        caveats: Vec::new(),
    }
}

fn said(batch: &Batch) -> Vec<&str> {
    batch.caveats.iter().map(|c| c.code).collect()
}

fn minded(batch: &Batch) -> Vec<&str> {
    batch.cautions.iter().map(|m| m.caution.code).collect()
}

/// Strong alkali and sulfuric acid never meet hot water, whatever the bath asks for.
#[test]
fn caustic_asks_for_cold_water() {
    for name in ["sodium hydroxide", "potassium hydroxide", "Sulphuric acid"] {
        let mut formula = own(&[(name, 4.0, Unit::Gram)]);
        formula.kind = BathKind::Developer;
        let batch = formula.scale(1000.0, START_SHARE).unwrap();
        assert_eq!(batch.start_c, None, "{name}");
        assert!(said(&batch).contains(&"cold_water"), "{name}");
    }
}

/// No batch begins in warm water beside a caution that asks for cold.
#[test]
fn warm_water_and_cold_are_never_asked_for_at_once() {
    for substance in Substance::ALL {
        for kind in BathKind::ALL {
            let mut formula = own(&[(&substance.name(), 4.0, Unit::Gram)]);
            formula.kind = *kind;
            let batch = formula.scale(1000.0, START_SHARE).unwrap();
            let cold = minded(&batch).contains(&"corrosive_alkali");
            assert!(
                !cold || batch.start_c.is_none(),
                "{substance:?} in {kind:?}"
            );
        }
    }
}

/// Source: [D29]: water for a fixer not much above 80 °F; that it is not below 20 °C is own choice.
#[test]
fn a_fixer_is_mixed_in_lukewarm_water() {
    let mut fixer = own(&[("sodium thiosulfate pentahydrate", 250.0, Unit::Gram)]);
    fixer.kind = BathKind::Fixer;
    let (from, to) = fixer.scale(1000.0, START_SHARE).unwrap().start_c.unwrap();
    assert!((to - (80.0 - 32.0) / 1.8).abs() < 0.5, "{to}");
    assert!(20.0 <= from && from < to);
}

/// Which hydrate it is may be open; what it does to people is not.
#[test]
fn an_open_hydrate_has_its_cautions() {
    for (name, code) in [
        ("trisodium phosphate", "alkaline_salt"),
        ("sodium sulfite", "sulfur_dioxide"),
        ("sodium thiosulfate", "fixer_apart"),
    ] {
        let batch = own(&[(name, 5.0, Unit::Gram)]).scale(1000.0, 0.75).unwrap();
        assert!(minded(&batch).contains(&code), "{name}");
        assert!(said(&batch).contains(&"which_hydrate"), "{name}");
        assert_eq!(batch.measures[0].known, None);
    }
}

/// From memory: in an acid fixer the sulfite goes in before the acid.
#[test]
fn sulfite_before_acid() {
    let hypo = ("sodium thiosulfate", 240.0, Unit::Gram);
    let acid = ("glacial acetic acid", 17.0, Unit::Millilitre);
    let sulfite = ("sodium sulfite", 15.0, Unit::Gram);
    let warned = |parts: &[(&str, f64, Unit)]| {
        said(&own(parts).scale(1000.0, 0.75).unwrap()).contains(&"acid_before_sulfite")
    };
    assert!(warned(&[hypo, acid, sulfite]));
    assert!(warned(&[hypo, acid]));
    assert!(!warned(&[hypo, sulfite, acid]));
    assert!(!warned(&[acid, sulfite]), "no fixer");
}

/// From memory: hydrogen cyanide, hydrogen sulfide, ammonia.
#[test]
fn what_must_not_meet() {
    let grams = |names: [&str; 2]| own(&names.map(|n| (n, 5.0, Unit::Gram))).scale(1000.0, 0.75);
    for names in [
        ["potassium ferricyanide", "sulfuric acid"],
        ["sulfuric acid", "potassium ferricyanide"],
        ["sodium sulfide", "citric acid"],
        ["sodium sulfide", "sodium metabisulfite"],
    ] {
        let error = grams(names).unwrap_err();
        assert_eq!(error.kind, Kind::Impossible);
        assert!(error.given.contains("deadly"), "{error}");
    }
    for names in [
        ["ammonium thiosulfate", "sodium hydroxide"],
        ["potassium ferricyanide", "glacial acetic acid"],
    ] {
        assert!(said(&grams(names).unwrap()).contains(&"do_not_mix"));
    }
    let good = grams(["potassium ferricyanide", "potassium bromide"]).unwrap();
    assert!(!said(&good).contains(&"do_not_mix"));
}

#[test]
fn own_formulas() {
    let batch = own(&[("soda", 1.0, Unit::Gram), ("borax", 3.0, Unit::Gram)])
        .scale(250.0, 0.5)
        .unwrap();
    let codes: Vec<&str> = batch.caveats.iter().map(|c| c.code).collect();
    assert_eq!(codes, ["unknown_substance", "which_hydrate", "fine_scale"]);
    assert_eq!(own(&[]).scale(250.0, 0.5).unwrap_err().kind, Kind::Missing);
    let wet = own(&[
        ("acid", 600.0, Unit::Millilitre),
        ("wine", 600.0, Unit::Millilitre),
    ]);
    assert_eq!(wet.scale(250.0, 0.5).unwrap_err().kind, Kind::Impossible);
    let full = own(&[("acid", 800.0, Unit::Millilitre)])
        .scale(1000.0, 0.75)
        .unwrap();
    assert!((full.start_ml - 200.0).abs() < 1e-9);
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        assert!(own(&[("salt", bad, Unit::Gram)]).scale(250.0, 0.5).is_err());
        assert!(own(&[("salt", 1.0, Unit::Gram)]).scale(bad, 0.5).is_err());
        assert!(own(&[("salt", 1.0, Unit::Gram)]).scale(250.0, bad).is_err());
    }
}

/// By hand: 4 g of decahydrate, of which 1 g is there; 3 × 0.7638 = 2.29 g of pentahydrate do the rest.
#[test]
fn the_shopping_list() {
    let batch = BuiltIn::MqBorax
        .formula()
        .scale(2000.0, START_SHARE)
        .unwrap();
    let held = |substance: &str, amount| AtHand {
        substance: substance.to_owned(),
        amount,
        unit: Unit::Gram,
    };
    let shelf = [
        held("borax pentahydrate", 50.0),
        held("Borax, decahydrate", 1.0),
        held("metol", 1.5),
    ];
    let list = lacking(&batch, &shelf).unwrap();
    let of = |name: &str| list.iter().find(|n| n.substance == name).unwrap();
    assert_eq!(
        (of("metol").lacking, of("hydroquinone").lacking),
        (2.5, 10.0)
    );
    let borax = of("borax decahydrate");
    assert_eq!(borax.lacking, 0.0);
    assert!((borax.instead[0].1 - 3.0 * 0.7638).abs() < 1e-3);
}

// ---- Laws -----------------------------------------------------------------------------------------------------------

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Volume and concentrate are conserved, and weaker needs less.
    #[test]
    fn dilution_conserves(n in 0.1f64..200.0, total in 1.0f64..5000.0) {
        let m = &dilute(&format!("1+{n}"), total)[0];
        prop_assert!((m.concentrate_ml() + m.water_ml - total).abs() < 1e-9 * total);
        prop_assert!((m.water_ml / m.concentrate_ml() - n).abs() < 1e-9 * n);
    }

    #[test]
    fn weakening_conserves(total in 1.0f64..5000.0, strong in 1.0f64..100.0, share in 0.01f64..1.0) {
        let (of_strong, water) = mix::weaken(total, strong, strong * share).unwrap();
        prop_assert!((of_strong + water - total).abs() < 1e-9 * total);
        prop_assert!((of_strong * strong - total * strong * share).abs() < 1e-9 * total * strong);
    }

    #[test]
    fn heat_is_conserved(cold in 0.0f64..40.0, more in 0.1f64..60.0, share in 0.0f64..1.0, total in 1.0f64..5000.0) {
        let hot = cold + more;
        let wanted = (cold + more * share).min(hot);
        let (a, b) = mix::water(hot, cold, wanted, total).unwrap();
        prop_assert!((a * hot + b * cold - total * wanted).abs() < 1e-6 * total);
    }

    /// The pour agrees with brute force over all corners, conserves volume and solute, and is refused when there is none.
    #[test]
    fn pouring_agrees_with_brute_force(
        raw in prop::collection::vec((1u32..8, 0usize..5, 0u32..4), 1..5),
        volume in 1u32..12,
        strength in 0usize..5,
        water in any::<bool>(),
    ) {
        const STRENGTHS: [f64; 5] = [0.5, 1.0, 1.5, 2.0, 5.0];
        let bottles: Vec<Bottle> = raw
            .iter()
            .map(|&(v, s, age)| bottle(f64::from(v) * 100.0, STRENGTHS[s], f64::from(age) * 10.0))
            .collect();
        let w = want(f64::from(volume) * 100.0, STRENGTHS[strength], water);
        let best = brute(&bottles, w);
        match pour(&bottles, w) {
            Ok(poured) => {
                prop_assert!(conserved(&bottles, w, &poured), "{poured:?}");
                let best = best.expect("brute force finds it too");
                // The wish orders all bottles, those of one age by size and then by place, so the best is one only.
                for (mine, theirs) in poured.take_ml.iter().zip(&best) {
                    prop_assert!((mine - theirs).abs() < 1e-5, "{:?} {best:?}", poured.take_ml);
                }
            }
            Err(e) => {
                prop_assert!(best.is_none(), "{e} but {best:?}");
                prop_assert_eq!(e.kind, Kind::Impossible);
            }
        }
    }

    /// There and back again is nothing changed; going by a third hydrate changes nothing either.
    #[test]
    fn hydrates_chain(grams in 0.0f64..1000.0, a in any::<prop::sample::Index>(), b in any::<prop::sample::Index>()) {
        let salts_here: Vec<Substance> = Substance::ALL.iter().copied().filter(|s| s.molar_mass().is_some()).collect();
        let (a, b) = (*a.get(&salts_here), *b.get(&salts_here));
        match salts::convert(grams, a, b) {
            Ok(there) => {
                prop_assert!(a.same_salt(b));
                prop_assert!((salts::convert(there, b, a).unwrap() - grams).abs() < 1e-9 * grams.max(1.0));
            }
            Err(_) => prop_assert!(!a.same_salt(b)),
        }
    }

    /// A batch twice as large takes twice as much of everything.
    #[test]
    fn batches_scale(volume in 10.0f64..20_000.0) {
        let formula = BuiltIn::MqBorax.formula();
        let one = formula.scale(volume, START_SHARE).unwrap();
        let two = formula.scale(2.0 * volume, START_SHARE).unwrap();
        for (a, b) in one.measures.iter().zip(&two.measures) {
            prop_assert!((2.0 * a.amount - b.amount).abs() < 1e-9 * b.amount);
        }
    }
}
