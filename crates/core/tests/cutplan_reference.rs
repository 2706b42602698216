//! The cut plan against HiGHS (`scipy.optimize.milp`) and OR-tools CP-SAT on twenty generated shelves.
//!
//! Outside check: `tests/reference/cutplan/`: the script that made the figures, pinned versions, provenance.

use std::path::{Path, PathBuf};

use serde_json::Value;
use spoolwright_core::cutplan::{Effort, solve};

#[path = "common/audit.rs"]
mod audit;
#[path = "common/read.rs"]
mod read;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/cutplan")
}

/// Where an outside solver has a proof, ours is the same to 1e-6. Elsewhere ours is no worse than the best that was
/// found outside beyond the gap it states, and what it calls a bound is no higher than that best.
#[test]
fn agrees_with_outside_solvers() {
    let expected = std::fs::read_to_string(folder().join("expected.json")).unwrap();
    let expected: Value = serde_json::from_str(&expected).unwrap();
    let expected = expected.as_object().unwrap();
    assert_eq!(expected.len(), 20);
    let mut proven_outside = 0;
    for (name, reference) in expected {
        let file = folder().join("instances").join(format!("{name}.json"));
        let problem = read::problem(&std::fs::read_to_string(file).unwrap());
        let effort = if problem.cans.len() < 40 {
            Effort::USUAL
        } else {
            Effort::QUICK
        };
        let plan = solve(&problem, effort).unwrap();
        let (millionths, cost, _) = audit::audit(&problem, &plan);
        let unmet = millionths as f64 / 1e6;
        let (their_unmet, their_cost) = (
            reference["unmet"].as_f64().unwrap(),
            reference["cost"].as_f64().unwrap(),
        );
        let same = |a: f64, b: f64| (a - b).abs() <= 1e-6 * b.abs().max(1.0);
        if !reference["proven_by"].as_array().unwrap().is_empty() {
            proven_outside += 1;
            if plan.proven_optimal {
                assert!(
                    same(unmet, their_unmet),
                    "{name}: unmet {unmet}, proven {their_unmet}"
                );
                assert!(
                    same(cost, their_cost),
                    "{name}: cost {cost}, proven {their_cost}"
                );
            }
        }
        if same(unmet, their_unmet) {
            let floor = cost * (1.0 - plan.gap) - 1e-6 * cost;
            assert!(
                floor <= their_cost,
                "{name}: ours {cost} with gap {}, theirs {their_cost}",
                plan.gap
            );
        } else if their_unmet < unmet {
            let floor = unmet * (1.0 - plan.gap) - 1e-6;
            assert!(
                !plan.proven_optimal && floor <= their_unmet,
                "{name}: unmet {unmet}, theirs {their_unmet}"
            );
        }
        // A real shelf, and twice that, is proven here; an unproven plan there would be a step back.
        if problem.cans.len() <= 20 {
            assert!(plan.proven_optimal, "{name}: gap {}", plan.gap);
        }
    }
    assert!(10 <= proven_outside, "the fixtures lost their proofs");
}
