//! Loading tanks against OR-tools CP-SAT on seventy-two invented benches of 6 to 24 rolls.
//!
//! Outside check: `tests/reference/wettank/`: the scripts that made the benches and figures, pinned versions, provenance.

use std::path::Path;

use serde_json::Value;
use spoolwright_core::wet::tank::{Bench, Developer, Effort, Reel, Roll, Tank, load};

#[path = "common/tank.rs"]
mod tank;

fn text(v: &Value) -> String {
    v.as_str().expect("text").to_owned()
}

fn number(v: &Value) -> f64 {
    v.as_f64().expect("a number")
}

fn whole(v: &Value) -> u32 {
    v.as_u64().expect("a whole number") as u32
}

fn each<T>(list: &Value, read: impl Fn(&Value) -> T) -> Vec<T> {
    list.as_array().expect("a list").iter().map(read).collect()
}

fn bench(b: &Value) -> Bench {
    Bench {
        rolls: each(&b["rolls"], |r| Roll {
            id: text(&r["id"]),
            process: text(&r["process"]),
            developer: text(&r["developer"]),
            own_kind: r["own_kind"].as_str().map(str::to_owned),
            time_min: number(&r["time_min"]),
            tolerance_percent: r["tolerance_percent"].as_f64(),
            film_mm: number(&r["film_mm"]),
        }),
        developers: each(&b["developers"], |d| Developer {
            id: text(&d["id"]),
            water_parts: number(&d["water_parts"]),
            least_stock_ml: Some(number(&d["least_stock_ml"])),
        }),
        tanks: each(&b["tanks"], |t| Tank {
            id: text(&t["id"]),
            reel: text(&t["reel"]),
            ml: each(&t["ml"], whole),
        }),
        reels: each(&b["reels"], |r| Reel {
            id: text(&r["id"]),
            count: whole(&r["count"]),
            longest_mm: number(&r["longest_mm"]),
            takes_two: r["takes_two"].as_bool().expect("a truth"),
        }),
        tolerance_percent: Some(number(&b["tolerance_percent"])),
        reels_reused: b["reels_reused"].as_bool().expect("a truth"),
        between_mm: Some(number(&b["between_mm"])),
    }
}

fn fixture(name: &str) -> serde_json::Map<String, Value> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/wettank");
    let text = std::fs::read_to_string(folder.join(name)).expect("the fixture");
    serde_json::from_str(&text).expect("JSON")
}

/// Rolls left out, runs and ml are the same wherever CP-SAT has a proof, and ours has one at every bench.
#[test]
fn agrees_with_an_outside_solver() {
    let (instances, expected) = (fixture("instances.json"), fixture("expected.json"));
    assert_eq!((instances.len(), expected.len()), (72, 72));
    let mut proven_outside = 0;
    for (name, instance) in &instances {
        let bench = bench(instance);
        let plan = load(&bench, Effort::USUAL).unwrap();
        tank::audit(&bench, &plan);
        let ml = plan.runs.iter().map(|r| u64::from(r.working_ml)).sum();
        let ours = (plan.unloaded.len() as u64, plan.runs.len() as u64, ml);
        let figure = |f: &str| expected[name][f].as_u64().expect("a whole number");
        let theirs = (figure("unloaded"), figure("runs"), figure("working_ml"));
        assert!(plan.proven, "{name}: {ours:?}, least {:?}", plan.least);
        assert!(ours <= theirs, "{name}: {ours:?}, outside {theirs:?}");
        if expected[name]["proven"] == true {
            proven_outside += 1;
            assert_eq!(ours, theirs, "{name}");
        }
    }
    assert!(65 <= proven_outside, "the fixtures lost their proofs");
}
