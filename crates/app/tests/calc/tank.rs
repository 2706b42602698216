//! `calc tank`: what cannot share, and every bad input it must refuse.

use serde_json::{Value, json};

use super::{answer, refusal};

fn bench() -> Value {
    json!({
        "rolls": [
            {"id": "HM-07", "process": "bw-negative", "developer": "d", "time_min": 8, "film_mm": 1618},
            {"id": "GU-01", "process": "bw-negative", "developer": "d", "time_min": 11, "film_mm": 1618},
        ],
        "developers": [{"id": "d", "water_parts": 1, "least_stock_ml": 100}],
        "tanks": [{"id": "t", "reel": "steel", "ml": [250, 470]}],
        "reels": [{"id": "steel", "count": 2, "longest_mm": 1650, "takes_two": true}],
        "tolerance_percent": 5,
    })
}

/// The bench with one place changed.
fn with(place: &str, value: Value) -> Value {
    let mut bench = bench();
    let (parent, name) = place.rsplit_once('/').expect("a place");
    match bench.pointer_mut(parent).expect("it is there") {
        Value::Object(fields) => drop(fields.insert(name.to_owned(), value)),
        Value::Array(items) => items[name.parse::<usize>().expect("an index")] = value,
        other => panic!("{other} holds nothing"),
    }
    bench
}

#[test]
fn why_two_rolls_are_apart() {
    for (place, value, because) in [
        (
            "/between_mm",
            json!(10),
            "HM-07 and GU-01: developed 8.0 and 11.0 min; tolerance 5 %",
        ),
        (
            "/rolls/1/tolerance_percent",
            json!(7.5),
            "HM-07 and GU-01: developed 8.0 and 11.0 min; tolerance 5 % and 7.5 %",
        ),
        (
            "/rolls/1/process",
            json!("bw-reversal"),
            "HM-07 and GU-01: bw-negative and bw-reversal are different processes",
        ),
        (
            "/rolls/1/developer",
            json!("e"),
            "HM-07 and GU-01: developed in d and e",
        ),
        (
            "/rolls/1/own_kind",
            json!("remjet"),
            "HM-07 and GU-01: GU-01 is remjet, which shares a bath only with its own kind",
        ),
    ] {
        let plan = answer("tank", &with(place, value));
        assert_eq!(
            plan["apart"],
            json!([{"a": "HM-07", "b": "GU-01", "because": because}])
        );
        assert_eq!(
            (plan["runs"].as_array().unwrap().len(), &plan["proven"]),
            (2, &json!(true))
        );
    }
}

/// 2 × 8 × 8.5 / 16.5 min is off by the same share of both times: 0.25 / 8.25 = 3.03 %. By hand.
#[test]
fn one_time_for_two_rolls() {
    let plan = answer("tank", &with("/rolls/1/time_min", json!(8.5)));
    let run = &plan["runs"][0];
    assert_eq!(plan["apart"], json!([]));
    assert!((run["time_min"].as_f64().unwrap() - 8.242_424_242).abs() < 1e-8);
    for (i, percent) in [(0, 3.030_303_03), (1, -3.030_303_03)] {
        let said = run["deviations"][i]["percent"].as_f64().unwrap();
        assert!((said - percent).abs() < 1e-6, "{said}");
    }
    // 2 × 1618 mm are 2.193 times 1475.48 mm [D12, G1]: 219.3 ml of stock, 438.6 ml at 1+1. By hand.
    assert!((run["least_stock_ml"].as_f64().unwrap() - 219.32).abs() < 0.01);
    assert_eq!(
        (&run["working_ml"], &run["stock_ml"]),
        (&json!(470), &json!(235.0))
    );
}

/// What nobody knows is left out, not told as nothing; with no tolerance given, a colour process shares one time alone.
#[test]
fn what_is_not_known_is_left_out_and_colour_is_not_shared() {
    let mut bench = with("/rolls/1/time_min", json!(8.25));
    bench["developers"] = json!([]);
    let plan = answer("tank", &bench);
    assert!(plan["runs"][0].get("least_stock_ml").is_none());
    bench.as_object_mut().unwrap().remove("tolerance_percent");
    for (process, runs) in [("bw-negative", 1), ("Colour-negative", 2), ("color", 2)] {
        for i in [0, 1] {
            bench["rolls"][i]["process"] = process.into();
        }
        let plan = answer("tank", &bench);
        assert_eq!(plan["runs"].as_array().unwrap().len(), runs, "{process}");
        assert_eq!(plan["caveats"][0]["code"], "default_tolerance");
    }
    // A short time is a fault of black and white [D6]; a colour process has its own.
    for (process, told) in [("bw-negative", true), ("colour-negative", false)] {
        for i in [0, 1] {
            bench["rolls"][i]["process"] = process.into();
            bench["rolls"][i]["time_min"] = 3.25.into();
        }
        let plan = answer("tank", &bench);
        let short = plan["caveats"].to_string().contains("short_time");
        assert_eq!(short, told, "{process}");
    }
    for (i, minutes) in [8.0, 8.25].into_iter().enumerate() {
        bench["rolls"][i]["time_min"] = minutes.into();
    }
    bench["tolerance_percent"] = 5.into();
    let plan = answer("tank", &bench);
    assert_eq!(
        plan["runs"].as_array().unwrap().len(),
        1,
        "a person's own word"
    );
}

#[test]
fn a_roll_that_goes_nowhere_says_why() {
    for (place, value, because) in [
        (
            "/rolls/1/film_mm",
            json!(1900),
            "1900 mm of film; the longest reel of any tank takes 1650 mm",
        ),
        (
            "/developers/0/least_stock_ml",
            json!(300),
            "its film needs 658 ml of working solution to hold the least stock; the largest tank with a reel for it takes 470 ml",
        ),
        (
            "/reels/0/count",
            json!(0),
            "no tank has a reel of its type at hand",
        ),
    ] {
        let plan = answer("tank", &with(place, value));
        let last = plan["unloaded"].as_array().unwrap().last().unwrap().clone();
        assert_eq!(last, json!({"id": "GU-01", "because": because}));
    }
    let mut once = with("/reels_reused", json!(false));
    once["reels"][0]["count"] = 1.into();
    let plan = answer("tank", &once);
    assert_eq!(
        (
            plan["runs"].as_array().unwrap().len(),
            &plan["least"]["unloaded"]
        ),
        (1, &json!(1))
    );
    let because = plan["unloaded"][0]["because"].as_str().unwrap();
    assert!(
        because.starts_with("every reel it fits is used"),
        "{because}"
    );
}

#[test]
fn bad_input_is_refused() {
    let many: Vec<Value> = (0..201)
        .map(|i| json!({"id": format!("r{i}"), "process": "p", "developer": "d", "time_min": 8, "film_mm": 900}))
        .collect();
    for (place, value, kind, what) in [
        ("/rolls", json!(many), "too_large", "rolls: too many"),
        ("/rolls", json!([]), "missing", "rolls: the list is empty"),
        ("/tanks", json!([]), "missing", "tanks: the list is empty"),
        (
            "/reels",
            json!([]),
            "unknown",
            "tanks[0].reel: no such type of reel",
        ),
        (
            "/rolls/1/id",
            json!("HM-07"),
            "inconsistent",
            "rolls[1].id: given twice",
        ),
        ("/rolls/1/id", json!(" "), "missing", "rolls[1].id: empty"),
        (
            "/rolls/1/process",
            json!("x".repeat(201)),
            "too_large",
            "rolls[1].process: too long",
        ),
        (
            "/rolls/1/own_kind",
            json!(""),
            "missing",
            "rolls[1].own_kind: empty",
        ),
        (
            "/rolls/0/time_min",
            json!(0),
            "out_of_range",
            "rolls[0].time_min: out of range",
        ),
        (
            "/rolls/0/time_min",
            json!("8"),
            "unknown",
            "rolls[0].time_min: not a number",
        ),
        (
            "/rolls/0/film_mm",
            json!(-1618),
            "out_of_range",
            "rolls[0].film_mm: out of range",
        ),
        (
            "/rolls/0/tolerance_percent",
            json!(31),
            "out_of_range",
            "rolls[0].tolerance_percent: out of range",
        ),
        (
            "/rolls/0/colour",
            json!(1),
            "unknown",
            "rolls[0].colour: not known",
        ),
        (
            "/tanks/0/ml",
            json!([250, 240]),
            "inconsistent",
            "tanks[0].ml[1]: less than for fewer reels",
        ),
        ("/tanks/0/ml", json!([]), "out_of_range", "tanks[0].ml"),
        (
            "/tanks/0/ml",
            json!([250.5]),
            "unknown",
            "tanks[0].ml[0]: not a whole number",
        ),
        (
            "/tanks/0/ml",
            json!([5]),
            "out_of_range",
            "tanks[0].ml[0]: out of range",
        ),
        (
            "/tanks/0/reels",
            json!(2),
            "inconsistent",
            "tanks[0]: its volumes are needed one way",
        ),
        (
            "/tanks/0/reel",
            json!("brass"),
            "unknown",
            "tanks[0].reel: no such type of reel",
        ),
        (
            "/tanks/0",
            json!({"id": "t", "reel": "steel"}),
            "inconsistent",
            "tanks[0]: its volumes are needed one way",
        ),
        (
            "/tanks/0",
            json!({"id": "t", "reel": "steel", "reels": 2}),
            "missing",
            "tanks[0].ml_per_reel: missing",
        ),
        (
            "/tanks/0",
            json!({"id": "t", "reel": "steel", "reels": 40, "ml_per_reel": 20000}),
            "out_of_range",
            "tanks[0]: out of range when full",
        ),
        (
            "/reels/0/count",
            json!(1.5),
            "unknown",
            "reels[0].count: not a whole number",
        ),
        (
            "/reels/0/longest_mm",
            json!(1e9),
            "out_of_range",
            "reels[0].longest_mm: out of range",
        ),
        (
            "/developers/0/water_parts",
            json!(-1),
            "out_of_range",
            "developers[0].water_parts: out of range",
        ),
        (
            "/tolerance_percent",
            json!(null),
            "unknown",
            "tolerance_percent: null is not a value here",
        ),
        (
            "/reels_reused",
            json!("yes"),
            "unknown",
            "reels_reused: not a boolean",
        ),
    ] {
        let said = refusal("tank", with(place, value).to_string().as_bytes());
        assert_eq!(
            (said["kind"].as_str(), said["what"].as_str()),
            (Some(kind), Some(what)),
            "{said}"
        );
    }
    for field in ["rolls", "tanks", "reels"] {
        let mut lacking = bench();
        lacking.as_object_mut().unwrap().remove(field);
        assert_eq!(
            refusal("tank", lacking.to_string().as_bytes())["what"],
            format!("{field}: missing")
        );
    }
    for field in ["id", "process", "developer", "time_min", "film_mm"] {
        let mut lacking = bench();
        lacking["rolls"][1].as_object_mut().unwrap().remove(field);
        let said = refusal("tank", lacking.to_string().as_bytes());
        assert_eq!(said["what"], format!("rolls[1].{field}: missing"));
    }
    let nan = bench().to_string().replace("1618", "NaN");
    assert_eq!(
        refusal("tank", nan.as_bytes())["what"],
        "rolls[0].film_mm: not a finite number"
    );
}
