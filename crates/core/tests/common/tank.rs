//! What every plan for the tanks must keep to, checked from the bench alone.

use spoolwright_core::wet::tank::{Bench, Plan};

/// Whether roll `i` may share a run with rolls that share one, by process, developer, kind and time.
pub(crate) fn together(bench: &Bench, others: &[usize], i: usize) -> bool {
    let all = || others.iter().copied().chain([i]);
    let key = |i: usize| {
        let r = &bench.rolls[i];
        (&r.process, &r.developer, &r.own_kind)
    };
    let end = |i: usize, sign: f64| {
        let r = &bench.rolls[i];
        let share = r.tolerance_percent.or(bench.tolerance_percent).unwrap() / 100.0;
        r.time_min * (1.0 + sign * share)
    };
    let from = all().map(|i| end(i, -1.0)).fold(0.0, f64::max);
    let to = all().map(|i| end(i, 1.0)).fold(f64::INFINITY, f64::min);
    all().all(|j| key(j) == key(i)) && from <= to + 1e-9
}

/// Working solution in whole ml for the least stock of some rolls: 80 square inches of film 34.98 mm wide are
/// 1475.48 mm of it [D12, G1]; each roll's share counts in whole µl.
pub(crate) fn need_ml(bench: &Bench, rolls: &[usize]) -> u64 {
    let ul: f64 = rolls
        .iter()
        .map(|&i| {
            let r = &bench.rolls[i];
            let developer = bench.developers.iter().find(|d| d.id == r.developer);
            developer.map_or(0.0, |d| {
                let stock = d.least_stock_ml.unwrap_or(0.0) * r.film_mm * 34.98 / 51612.8;
                (stock * (1.0 + d.water_parts) * 1000.0).round()
            })
        })
        .sum();
    (ul / 1000.0).ceil() as u64
}

pub(crate) fn audit(bench: &Bench, plan: &Plan) {
    let place = |id: &String| bench.rolls.iter().position(|r| r.id == *id).unwrap();
    let mut seen = vec![0; bench.rolls.len()];
    let mut used = vec![0; bench.reels.len()];
    for u in &plan.unloaded {
        seen[place(&u.id)] += 1;
        assert!(!u.because.is_empty());
    }
    for run in &plan.runs {
        let tank = bench.tanks.iter().find(|t| t.id == run.tank).unwrap();
        let kind = bench.reels.iter().position(|k| k.id == tank.reel).unwrap();
        let reel = &bench.reels[kind];
        let mut rolls = Vec::new();
        for loaded in &run.reels {
            assert_eq!(loaded.reel, reel.id);
            let on: Vec<usize> = loaded.rolls.iter().map(place).collect();
            let film: f64 = on.iter().map(|&i| bench.rolls[i].film_mm).sum();
            assert!((loaded.film_mm - film).abs() < 1e-9);
            match on.len() {
                1 => assert!(film <= reel.longest_mm),
                2 => assert!(reel.takes_two && film + bench.between_mm.unwrap() <= reel.longest_mm),
                n => panic!("{n} rolls on a reel"),
            }
            for i in on {
                assert!(together(bench, &rolls, i), "{run:?}");
                rolls.push(i);
                seen[i] += 1;
            }
        }
        let reels = run.reels.len();
        used[kind] += reels;
        assert!(0 < reels && reels <= tank.ml.len() && reels <= reel.count as usize);
        let need = need_ml(bench, &rolls);
        assert_eq!(
            u64::from(run.working_ml),
            u64::from(tank.ml[reels - 1]).max(need)
        );
        assert!(run.working_ml <= *tank.ml.last().unwrap());
        let known = bench.developers.iter().find(|d| d.id == run.developer);
        let known = known.and_then(|d| d.least_stock_ml);
        assert_eq!(run.least_stock_ml.is_some(), known.is_some(), "{run:?}");
        let least = run.least_stock_ml.unwrap_or(0.0);
        assert!(least <= run.stock_ml + 0.1, "{run:?}");
        assert_eq!(run.deviations.len(), rolls.len());
        for (d, &i) in run.deviations.iter().zip(&rolls) {
            let r = &bench.rolls[i];
            assert_eq!(d.id, r.id);
            assert!((run.time_min / r.time_min - 1.0 - d.percent / 100.0).abs() < 1e-9);
            let most = r.tolerance_percent.or(bench.tolerance_percent).unwrap();
            assert!(d.percent.abs() <= most + 1e-4, "{d:?}");
        }
        // No other time would have a smaller worst deviation: nudged either way it is worse, or leaves a tolerance.
        let worst = |t: f64| {
            rolls
                .iter()
                .map(|&i| (t / bench.rolls[i].time_min - 1.0).abs())
                .fold(0.0, f64::max)
        };
        let within = |t: f64| {
            rolls.iter().all(|&i| {
                let r = &bench.rolls[i];
                let most = r.tolerance_percent.or(bench.tolerance_percent).unwrap() / 100.0;
                (t / r.time_min - 1.0).abs() <= most + 1e-9
            })
        };
        for t in [run.time_min * 0.999, run.time_min * 1.001] {
            assert!(
                !within(t) || worst(run.time_min) <= worst(t) + 1e-9,
                "{run:?}"
            );
        }
    }
    assert!(seen.iter().all(|&n| n == 1), "{seen:?}");
    if !bench.reels_reused {
        assert!(
            used.iter()
                .zip(&bench.reels)
                .all(|(&n, k)| n <= k.count as usize)
        );
    }
}
