//! Loading tanks against plain brute force, and what every plan keeps to.
//!
//! The brute force is written from the words of the contract alone: every way to put rolls into runs, every tank, every
//! way to pair rolls on reels. It shares nothing with the solver but the input.

use proptest::prelude::*;
use spoolwright_core::wet::tank::{
    Bench, Developer, Effort, Plan, Reel, Roll, Tank, load, why_apart,
};

#[path = "common/tank.rs"]
mod tank;
use tank::audit;

/// Least (left out, runs, ml) by trying everything.
struct Brute<'b> {
    bench: &'b Bench,
    best: (usize, usize, u64),
}

impl Brute<'_> {
    /// Puts roll `at` into each run there is, into a new one, or nowhere.
    fn place(&mut self, at: usize, runs: &mut Vec<Vec<usize>>, out: usize) {
        if self.best < (out, runs.len(), 0) {
            return;
        }
        if at == self.bench.rolls.len() {
            let mut left: Vec<u32> = self.bench.reels.iter().map(|r| r.count).collect();
            self.fill(runs, 0, &mut left, out, 0);
            return;
        }
        for r in 0..runs.len() {
            if tank::together(self.bench, &runs[r], at) {
                runs[r].push(at);
                self.place(at + 1, runs, out);
                runs[r].pop();
            }
        }
        runs.push(vec![at]);
        self.place(at + 1, runs, out);
        runs.pop();
        self.place(at + 1, runs, out + 1);
    }

    /// Each run from `r` in each tank.
    fn fill(&mut self, runs: &[Vec<usize>], r: usize, left: &mut [u32], out: usize, ml: u64) {
        if r == runs.len() {
            self.best = self.best.min((out, runs.len(), ml));
            return;
        }
        for t in &self.bench.tanks {
            let kind = self
                .bench
                .reels
                .iter()
                .position(|k| k.id == t.reel)
                .unwrap();
            let Some(reels) = fewest_reels(self.bench, kind, &runs[r]) else {
                continue;
            };
            let need = tank::need_ml(self.bench, &runs[r]);
            let full = u64::from(*t.ml.last().unwrap());
            if t.ml.len() < reels || (left[kind] as usize) < reels || full < need {
                continue;
            }
            let poured = u64::from(t.ml[reels - 1]).max(need);
            if self.bench.reels_reused {
                self.fill(runs, r + 1, left, out, ml + poured);
            } else {
                left[kind] -= reels as u32;
                self.fill(runs, r + 1, left, out, ml + poured);
                left[kind] += reels as u32;
            }
        }
    }
}

/// By trying every pairing.
fn fewest_reels(bench: &Bench, kind: usize, rolls: &[usize]) -> Option<usize> {
    let Some((&first, rest)) = rolls.split_first() else {
        return Some(0);
    };
    let (reel, mm) = (&bench.reels[kind], |i: usize| bench.rolls[i].film_mm);
    if reel.longest_mm < mm(first) {
        return None;
    }
    let mut best = fewest_reels(bench, kind, rest).map(|n| n + 1);
    for at in 0..rest.len() {
        let both = mm(first) + mm(rest[at]) + bench.between_mm.unwrap();
        if reel.takes_two && both <= reel.longest_mm {
            let mut others = rest.to_vec();
            others.remove(at);
            let with = fewest_reels(bench, kind, &others).map(|n| n + 1);
            best = match (best, with) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
        }
    }
    best
}

fn brute(bench: &Bench) -> (usize, usize, u64) {
    let mut brute = Brute {
        bench,
        best: (usize::MAX, usize::MAX, u64::MAX),
    };
    brute.place(0, &mut Vec::new(), 0);
    brute.best
}

fn rolls(most: usize) -> impl Strategy<Value = Vec<Roll>> {
    let roll = (
        proptest::sample::select(vec![
            "bw-negative",
            "bw-negative",
            "bw-negative",
            "bw-reversal",
        ]),
        proptest::sample::select(vec!["soft", "soft", "sharp"]),
        proptest::bool::weighted(0.1),
        proptest::sample::select(vec![6.0, 6.5, 7.0, 7.25, 8.0, 8.5, 9.0, 11.0]),
        proptest::option::weighted(0.2, proptest::sample::select(vec![0.0, 3.0, 12.0, 25.0])),
        proptest::sample::select(vec![
            480.0, 640.0, 700.0, 850.0, 1000.0, 1150.0, 1620.0, 1900.0,
        ]),
    );
    prop::collection::vec(roll, 1..=most).prop_map(|rolls| {
        rolls
            .into_iter()
            .enumerate()
            .map(
                |(i, (process, developer, remjet, time_min, tolerance_percent, film_mm))| Roll {
                    id: format!("r{i}"),
                    process: process.into(),
                    developer: developer.into(),
                    own_kind: remjet.then(|| "remjet".into()),
                    time_min,
                    tolerance_percent,
                    film_mm,
                },
            )
            .collect()
    })
}

fn benches(most: usize) -> impl Strategy<Value = Bench> {
    let tank = (
        0..2usize,
        100u32..500,
        prop::collection::vec(0u32..400, 0..4),
    );
    let reel = (
        0u32..6,
        proptest::sample::select(vec![1200.0, 1650.0, 1800.0]),
        any::<bool>(),
    );
    let least = proptest::option::of(proptest::sample::select(vec![20.0, 60.0, 100.0, 250.0]));
    (
        rolls(most),
        prop::collection::vec(tank, 1..4),
        prop::collection::vec(reel, 2),
        (least, proptest::sample::select(vec![0.0, 1.0, 2.5])),
        any::<bool>(),
        proptest::sample::select(vec![0.0, 5.0, 10.0]),
        proptest::sample::select(vec![0.0, 10.0, 150.0]),
    )
        .prop_map(
            |(
                rolls,
                tanks,
                reels,
                (least_stock_ml, water_parts),
                reels_reused,
                tolerance,
                between,
            )| Bench {
                rolls,
                developers: vec![Developer {
                    id: "soft".into(),
                    water_parts,
                    least_stock_ml,
                }],
                tanks: tanks
                    .into_iter()
                    .enumerate()
                    .map(|(i, (kind, first, more))| Tank {
                        id: format!("t{i}"),
                        reel: format!("k{kind}"),
                        ml: std::iter::once(0)
                            .chain(more)
                            .scan(first, |ml, step| {
                                *ml += step;
                                Some(*ml)
                            })
                            .collect(),
                    })
                    .collect(),
                reels: reels
                    .into_iter()
                    .enumerate()
                    .map(|(i, (count, longest_mm, takes_two))| Reel {
                        id: format!("k{i}"),
                        count,
                        longest_mm,
                        takes_two,
                    })
                    .collect(),
                tolerance_percent: Some(tolerance),
                reels_reused,
                between_mm: Some(between),
            },
        )
}

fn figures(plan: &Plan) -> (usize, usize, u64) {
    let ml = plan.runs.iter().map(|r| u64::from(r.working_ml)).sum();
    (plan.unloaded.len(), plan.runs.len(), ml)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Brute force: as many rolls, as few runs, as little solution; and a plan that keeps to the bench.
    #[test]
    fn is_as_good_as_brute_force(bench in benches(7)) {
        let plan = load(&bench, Effort::USUAL).unwrap();
        audit(&bench, &plan);
        prop_assert!(plan.proven);
        prop_assert_eq!(figures(&plan), brute(&bench));
    }

    /// With hardly any work allowed, the plan still keeps to the bench, and what is called a bound is one.
    #[test]
    fn little_work_gives_an_honest_bound(bench in benches(7), loadings in 0u64..30) {
        let plan = load(&bench, Effort { loadings }).unwrap();
        audit(&bench, &plan);
        let (best, ours) = (brute(&bench), figures(&plan));
        let least = (plan.least.unloaded as usize, plan.least.runs as usize, plan.least.working_ml);
        prop_assert!(least <= best && best <= ours, "{least:?} {best:?} {ours:?}");
        prop_assert_eq!(plan.proven, least == ours);
        prop_assert_eq!(plan.proven, plan.caveats.iter().all(|c| c.code != "not_proven"));
    }

    /// Many rolls: the plan keeps to the bench, and does not depend on when it is made.
    #[test]
    fn keeps_to_the_bench(bench in benches(60)) {
        let plan = load(&bench, Effort { loadings: 3_000 }).unwrap();
        audit(&bench, &plan);
        prop_assert_eq!(&plan, &load(&bench, Effort { loadings: 3_000 }).unwrap());
        // Whoever shares a run is never said to be apart, and each way round is the same answer.
        for run in &plan.runs {
            let ids: Vec<&String> = run.reels.iter().flat_map(|r| &r.rolls).collect();
            for a in &plan.apart {
                prop_assert!(!(ids.contains(&&a.a) && ids.contains(&&a.b)), "{}", a.because);
            }
        }
    }

    /// A pair that is not apart shares a run when nobody else waits, and one that is apart never does.
    #[test]
    fn a_pair_is_apart_or_shares(bench in benches(2)) {
        if bench.rolls.len() < 2 {
            return Ok(());
        }
        let plan = load(&bench, Effort::USUAL).unwrap();
        let because = why_apart(&bench, 0, 1).unwrap();
        prop_assert_eq!(because.is_none(), plan.runs.len() == 1 && plan.unloaded.is_empty(), "{:?}", because);
        prop_assert_eq!(plan.apart.len(), usize::from(because.is_some()));
        prop_assert_eq!(why_apart(&bench, 1, 0).unwrap().is_some(), because.is_some());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// Brute force again, as far as it goes.
    #[test]
    fn is_as_good_as_brute_force_at_nine(bench in benches(9).prop_filter("nine", |b| b.rolls.len() == 9)) {
        let plan = load(&bench, Effort::USUAL).unwrap();
        audit(&bench, &plan);
        prop_assert!(plan.proven);
        prop_assert_eq!(figures(&plan), brute(&bench));
    }
}
