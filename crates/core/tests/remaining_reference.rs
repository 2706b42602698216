//! What is left in a can, against scipy and emcee on the same model written a second time.
//!
//! Source: tests/reference/remaining (scripts, pinned versions, provenance in README.md).
#![allow(clippy::print_stdout)]

mod shelf_json;

use serde_json::Value;
use shelf_json::{list, number, pair};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::remaining::{Remaining, estimate};

fn file(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// Both sides solve to rounding; what differs is scipy's side, whose gradients are central differences (relative
/// error about 1e-9 of a row). Means agree to a millionth of their sd, sds to a millionth of themselves.
const RELATIVE: f64 = 1e-6;

fn agree(what: &str, ours: Estimate, theirs: Estimate) {
    assert!(
        (ours.mean - theirs.mean).abs() <= RELATIVE * theirs.sd,
        "{what} mean: {ours:?} for {theirs:?}"
    );
    assert!(
        (ours.sd - theirs.sd).abs() <= RELATIVE * theirs.sd,
        "{what} sd: {ours:?} for {theirs:?}"
    );
}

#[test]
fn posteriors_agree_with_scipy() {
    let file = file(include_str!(
        "../../../tests/reference/remaining/fixtures.json"
    ));
    let fixtures = list(&file, "fixtures");
    assert!(10 <= fixtures.len());
    for fixture in fixtures {
        let name = fixture["name"].as_str().unwrap();
        let posterior = estimate(&shelf_json::shelf(&fixture["shelf"])).unwrap();
        let expect = &fixture["expect"];
        for (i, can) in list(expect, "cans").iter().enumerate() {
            let what = |field: &str| format!("{name}: can {i} {field}");
            agree(&what("left"), posterior.uncut_m(i), pair(can, "uncut_m"));
            agree(
                &what("length"),
                posterior.can(i).length_m,
                pair(can, "length_m"),
            );
            agree(&what("tare"), posterior.can(i).tare_g, pair(can, "tare_g"));
            cut_agrees(&what("cut"), posterior.remaining_m(i), can);
            for row in can["can_wind"].as_array().into_iter().flatten() {
                let clicks = row[0].as_u64().unwrap() as u32;
                let (ours, theirs) = (posterior.can_wind(i, 0, clicks), row[1].as_f64().unwrap());
                assert!(
                    (ours - theirs).abs() < 1e-6,
                    "{}: {clicks} clicks: {ours} for {theirs}",
                    what("can wind")
                );
            }
            if let Some(next) = can["next"].as_object() {
                let ours = posterior.next_measurements(i, 0);
                assert_eq!(ours.len(), next.len());
                assert!(ours.is_sorted_by(|a, b| a.sd_after_m <= b.sd_after_m));
                for one in ours {
                    let theirs = next[one.kind.word()].as_f64().unwrap();
                    // Their side inverts an information matrix once more.
                    let close = (one.sd_after_m / theirs - 1.0).abs() < 1e-5;
                    assert!(close, "{}: {one:?} for {theirs}", what("next"));
                }
            }
            outliers_agree(&what("caveats"), posterior.caveats(i), can);
        }
        for (i, v) in list(expect, "loaders").iter().enumerate() {
            agree(
                &format!("{name}: loader {i} k"),
                posterior.loader(i).click_scale,
                pair(v, "click_scale"),
            );
            agree(
                &format!("{name}: loader {i} u"),
                posterior.loader(i).uncounted_mm,
                pair(v, "uncounted_mm"),
            );
        }
        for (i, v) in list(expect, "stocks").iter().enumerate() {
            let stock = posterior.stock(i);
            agree(
                &format!("{name}: stock {i} g/m"),
                stock.linear_mass_g_per_m,
                pair(v, "linear_mass_g_per_m"),
            );
            agree(
                &format!("{name}: stock {i} mm"),
                stock.thickness_mm,
                pair(v, "thickness_mm"),
            );
        }
        for (i, v) in list(expect, "packages").iter().enumerate() {
            agree(
                &format!("{name}: kind {i}"),
                posterior.package(i).tare_g,
                pair(v, "tare_g"),
            );
        }
    }
}

/// scipy.stats.truncnorm; its quantiles are good to about 1e-8 here, ours lose as much in the inverse error function.
fn cut_agrees(what: &str, ours: Remaining, can: &Value) {
    let theirs: Vec<f64> = list(can, "remaining_m")
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect();
    for (ours, theirs) in [ours.mean, ours.sd, ours.lower95, ours.upper95]
        .into_iter()
        .zip(&theirs)
    {
        assert!(
            (ours - theirs).abs() < 1e-6,
            "{what}: {ours} for {theirs} of {can}"
        );
    }
}

/// Each outlier of the second solution is named in a caveat with the same number of sd, and no other is.
fn outliers_agree(what: &str, caveats: &[spoolwright_core::caveat::Caveat], can: &Value) {
    let ours: Vec<_> = caveats
        .iter()
        .filter(|c| c.code.ends_with("_off"))
        .collect();
    let theirs = list(can, "outliers");
    assert_eq!(ours.len(), theirs.len(), "{what}: {caveats:?}");
    for (ours, theirs) in ours.iter().zip(theirs) {
        let entry = format!("(evidence {})", theirs[0].as_u64().unwrap() + 1);
        let off = format!(
            "{:.1} times its usual error off",
            theirs[1].as_f64().unwrap().abs()
        );
        assert!(
            ours.text.contains(&entry) && ours.text.contains(&off),
            "{what}: {ours:?} for {entry} {off}"
        );
    }
}

/// Sharp and honest: over simulated cans the median width of the 95 % interval is within 5 % of what a sampler finds
/// for the exact posterior (no linearisation, film left not negative), and no single can is off by more than 7 %.
#[test]
fn as_sharp_as_the_exact_posterior() {
    let file = file(include_str!(
        "../../../tests/reference/remaining/exact.json"
    ));
    let cans = list(&file, "cans");
    assert!(40 <= cans.len());
    let (mut ours, mut exact, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for can in cans {
        let posterior = estimate(&shelf_json::shelf(&can["shelf"])).unwrap();
        let left = posterior.remaining_m(0);
        let theirs = number(can, "upper95_m") - number(can, "lower95_m");
        ours.push(left.upper95 - left.lower95);
        exact.push(theirs);
        ratios.push((left.upper95 - left.lower95) / theirs);
        // The middle too: within a tenth of the exact sd of the exact mean.
        let shift = (left.mean - number(can, "mean_m")).abs() / number(can, "sd_m");
        assert!(shift < 0.1, "mean off by {shift} sd: {left:?} for {can}");
    }
    let ratio = median(&mut ours) / median(&mut exact);
    assert!(
        (ratio - 1.0).abs() < 0.05,
        "median width over the exact one's: {ratio}"
    );
    let middle = median(&mut ratios);
    assert!(
        (middle - 1.0).abs() < 0.05,
        "median of width ratios: {middle}"
    );
    let (low, high) = (ratios[0], ratios[ratios.len() - 1]);
    assert!(0.93 < low && high < 1.07, "width ratios {low} to {high}");
    println!(
        "median width ratio {ratio:.4}, median of ratios {middle:.4}, from {low:.3} to {high:.3}"
    );
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    0.5 * (values[(values.len() - 1) / 2] + values[values.len() / 2])
}
