//! `calc bath`, `calc mix` and `calc wash` as a script meets them: manuals' figures through the binary, and bad input.

use serde_json::{Value, json};

use super::{answer, refusal, what};

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// Source: [D30], as printed: 9.0 oz and 23 oz.
#[test]
fn the_manuals_acetic_acid() {
    let said = answer(
        "mix",
        &json!({"kind": "percent", "total_ml": 32, "strong_percent": 99.5, "wanted_percent": 28}),
    );
    assert!((number(&said["strong_ml"]) - 9.0).abs() < 0.05);
    assert!((number(&said["water_ml"]) - 23.0).abs() < 0.05);
    // Source: [H3]. Nobody said what it is: it may be an acid, so the water comes first.
    let water_first = |said: &Value| {
        let codes: Vec<&Value> = said["cautions"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|c| &c["code"])
            .collect();
        assert_eq!(codes[0], "safety_sheet");
        for code in ["water_first", "acid_into_water"] {
            assert!(codes.contains(&&json!(code)), "{said}");
        }
    };
    water_first(&said);
    let printed = said.to_string();
    assert!(
        printed.find("water_ml") < printed.find("strong_ml"),
        "{printed}"
    );
    assert!(!printed.contains("top up"), "{printed}");
    let thin = json!({"kind": "dilution", "dilution": "1+9999", "total_ml": 600, "stock": {"least_ml_per_roll": 6, "rolls": 1}});
    let said = answer("mix", &thin);
    water_first(&said);
    assert_eq!(said["readings"][0]["stock"]["enough"], false);
}

/// What nobody told is not taken as fresh in silence.
#[test]
fn an_unknown_age_is_said() {
    let caveats = |bottle: Value| {
        let said = answer(
            "mix",
            &json!({"kind": "bottles", "volume_ml": 200, "bottles": [bottle]}),
        );
        said["caveats"].to_string()
    };
    let said = caveats(json!({"name": "cellar", "volume_ml": 300}));
    assert!(said.contains("age_unknown") && said.contains("use_unknown"));
    let said = caveats(json!({"name": "cellar", "volume_ml": 300, "age_days": 0, "used_m2": 0}));
    assert!(!said.contains("_unknown"), "{said}");
    // Which of two is the older decides, even where nothing of the one without an age goes in.
    let two = json!({"kind": "bottles", "volume_ml": 600, "bottles": [
        {"name": "A", "volume_ml": 600, "age_days": 30, "used_m2": 0},
        {"name": "B", "volume_ml": 600, "used_m2": 0},
    ]});
    let said = answer("mix", &two);
    assert_eq!(said["take"][1]["take_ml"], 0.0);
    let caveats = said["caveats"].to_string();
    assert!(
        caveats.contains("age_unknown") && caveats.contains("of B"),
        "{caveats}"
    );
}

#[test]
fn a_capacity_is_always_told() {
    let life = |kind: &str| {
        answer(
            "bath",
            &json!({"kind": kind, "volume_ml": 1000, "events": [{"kind": "run", "rolls": 2}]}),
        )
    };
    assert_eq!(life("bleach")["capacity_left"], json!({"known": false}));
    assert_eq!(life("bleach")["because"][0]["reason"], "not-known");
    assert_eq!(life("fixer")["capacity_left"]["known"], true);
}

/// Source: [D35], three printed ratios.
#[test]
fn printed_ratios_of_salts() {
    for (from, to, ratio) in [
        ("borax decahydrate", "borax pentahydrate", 0.764),
        (
            "sodium carbonate anhydrous",
            "sodium carbonate monohydrate",
            1.170,
        ),
        (
            "sodium thiosulphate pentahydrate",
            "sodium thiosulphate anhydrous",
            0.637,
        ),
    ] {
        let said = answer(
            "mix",
            &json!({"kind": "salt", "grams": 1, "from": from, "to": to}),
        );
        assert!((number(&said["grams"]) - ratio).abs() < 1e-3, "{said}");
    }
}

/// Sources: [D9], [D10], [D13]: twice the clearing time, dead at double, 20 rolls a litre.
#[test]
fn a_fixers_life() {
    let fixer = |events: Value| {
        answer(
            "bath",
            &json!({"kind": "fixer", "volume_ml": 1000, "events": events}),
        )
    };
    let fresh = fixer(json!([{"kind": "clearing", "seconds": 45}]));
    assert_eq!(fresh["verdict"], "use");
    assert_eq!(fresh["capacity_left"]["rolls_of_36"], 20);
    assert_eq!(fresh["clearing"]["fixing_time_s"], 90.0);
    let used = json!([{"kind": "clearing", "seconds": 45}, {"kind": "run", "rolls": 6}, {"kind": "clearing", "seconds": 60}]);
    let said = fixer(used);
    assert_eq!(
        (&said["verdict"], &said["because"][0]["reason"]),
        (&json!("correct"), &json!("clearing-time"))
    );
    assert!((number(&said["next_time_factor"]) - 4.0 / 3.0).abs() < 1e-9);
    let dead = json!([{"kind": "clearing", "seconds": 45}, {"kind": "run", "rolls": 6}, {"kind": "clearing", "seconds": 90}]);
    assert_eq!(fixer(dead)["verdict"], "replace");
}

/// Sources: [D17], a quarter after two minutes; [D20], [D21], 0.014 g/m² are 1.4 µg/cm².
#[test]
fn a_wash() {
    let said = answer("wash", &json!({"minutes": 2, "found_g_per_m2": 0.014}));
    assert_eq!(said["residual_share"], 0.25);
    assert!((number(&said["thiosulfate"]["ug_per_cm2"]) - 1.4).abs() < 1e-9);
    assert_eq!(said["thiosulfate"]["within_limit"], true);
    let from = said["thiosulfate"]["limit_from"].as_str().expect("text");
    assert!(from.contains("ISO 18901"), "{from}");
    // [D16]: at 10 °C twice as long, so a half is left after two minutes; one's own halving time is taken as it is.
    let said = answer("wash", &json!({"minutes": 2, "at_c": 10}));
    assert!((number(&said["residual_share"]) - 0.5).abs() < 1e-9);
    let said = answer("wash", &json!({"minutes": 2, "at_c": 10, "halving_min": 1}));
    assert_eq!(said["residual_share"], 0.25);
}

/// One volume of each question again, added up: nothing is lost on the way out.
#[test]
fn bottles_add_up() {
    let said = answer(
        "mix",
        &json!({"kind": "bottles", "volume_ml": 600, "bottles": [
            {"name": "a", "volume_ml": 250, "age_days": 3},
            {"name": "b", "volume_ml": 500, "strength": 2, "age_days": 1}]}),
    );
    let taken: Vec<f64> = said["take"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|t| number(&t["take_ml"]))
        .collect();
    assert!((taken.iter().sum::<f64>() + number(&said["water_ml"]) - 600.0).abs() < 1e-6);
    assert!((taken[0] + 2.0 * taken[1] - 600.0).abs() < 1e-6);
}

#[test]
fn bad_fields_are_named() {
    let bath = |rest: &str| format!(r#"{{"kind": "fixer", "volume_ml": 500{rest}}}"#);
    let mix = |rest: &str| format!(r#"{{"kind": {rest}}}"#);
    for (name, input, expected) in [
        ("bath", "{}".to_owned(), "kind: missing"),
        ("bath", r#"{"kind": "fixer"}"#.to_owned(), "volume_ml: missing"),
        ("bath", r#"{"kind": "fixar", "volume_ml": 500}"#.to_owned(), "kind: not known"),
        ("bath", r#"{"kind": 3, "volume_ml": 500}"#.to_owned(), "kind: not a string"),
        ("bath", r#"{"kind": "fixer", "volume_ml": NaN}"#.to_owned(), "volume_ml: not a finite number"),
        ("bath", bath(r#", "use": "twice""#), "use: not known"),
        ("bath", bath(r#", "use": "replenished""#), "rate_ml_per_m2: missing"),
        ("bath", bath(r#", "rate_ml_per_m2": 400"#), "rate_ml_per_m2: not for a reused bath"),
        ("bath", bath(r#", "use": "one-shot", "correction": {"percent_per_run": 10}"#), "correction: not for a one-shot bath"),
        ("bath", bath(r#", "correction": {}"#), "correction: by runs or by rolls, one of the two is needed"),
        ("bath", bath(r#", "correction": [10]"#), "correction: not an object"),
        ("bath", bath(r#", "next": {}"#), "next.area_m2: missing"),
        ("bath", bath(r#", "next": {"rolls": 1, "area_m2": 1}"#), "next.area_m2: one of the three is enough"),
        ("bath", bath(r#", "capacity_m2_per_l": 1, "capacity_rolls_per_l": 20"#), "capacity_m2_per_l and capacity_rolls_per_l: one is enough"),
        ("bath", bath(r#", "shelf_life_days": 90"#), "age_days: missing"),
        ("mix", mix(r#""formula", "volume_ml": 500, "parts": [{"substance": "potassium ferricyanide", "g_per_l": 50}, {"substance": "sulfuric acid", "ml_per_l": 5}]"#), "parts: two that must never meet"),
        ("bath", bath(r#", "place": "third""#), "place: not known"),
        ("bath", bath(r#", "high_iodide": 1"#), "high_iodide: not a boolean"),
        ("bath", bath(r#", "events": [{"kind": "run"}]"#), "events[0].area_m2: missing"),
        ("bath", bath(r#", "events": [{"rolls": 1}]"#), "events[0].kind: missing"),
        ("bath", bath(r#", "events": [{"kind": "ran", "rolls": 1}]"#), "events[0].kind: not known"),
        ("bath", bath(r#", "events": [{"kind": "run", "rolls": 0}]"#), "events[0].rolls: out of range"),
        ("bath", bath(r#", "events": [{"kind": "clearing"}]"#), "events[0].seconds: missing"),
        ("bath", bath(r#", "events": [{"kind": "look", "look": "ugly"}]"#), "events[0].look: not known"),
        ("bath", bath(r#", "events": [{"kind": "run", "day": 4, "rolls": 1}, {"kind": "run", "day": 3, "rolls": 1}]"#), "events[1].day: not in order of time"),
        ("bath", bath(r#", "age_days": 2, "events": [{"kind": "run", "day": 4, "rolls": 1}]"#), "events[0].day: not in order of time"),
        ("bath", r#"{"kind": "developer", "volume_ml": 500, "events": [{"kind": "clearing", "seconds": 30}]}"#.to_owned(), "events[0]: a clearing test is for a bath that fixes"),
        ("bath", r#"{"kind": "stop", "volume_ml": 500, "fixer": "acid"}"#.to_owned(), "fixer, place and high_iodide: for a bath that fixes"),
        ("mix", "{}".to_owned(), "kind: missing"),
        ("mix", mix(r#""stir""#), "kind: not known"),
        ("mix", mix(r#""dilution", "total_ml": 500"#), "dilution: missing"),
        ("mix", mix(r#""dilution", "dilution": "1 in 5", "total_ml": 500"#), "dilution: cannot be read"),
        ("mix", mix(r#""dilution", "dilution": "1+4""#), "total_ml and concentrate_ml: one of the two is needed"),
        ("mix", mix(r#""dilution", "dilution": "1+4", "reading": "in", "total_ml": 500"#), "reading: a dilution with + has only one"),
        ("mix", mix(r#""dilution", "dilution": "1:4", "reading": "over", "total_ml": 500"#), "reading: not known"),
        ("mix", mix(r#""dilution", "dilution": "1+4", "total_ml": 500, "stock": {"rolls": 1}"#), "stock.least_ml_per_roll: missing"),
        ("mix", mix(r#""dilution", "dilution": "1+4", "total_ml": 500, "stock": [5, 1]"#), "stock: not an object"),
        ("mix", mix(r#""percent", "total_ml": 500, "strong_percent": 5, "wanted_percent": 6"#), "wanted_percent: stronger than what it is made from"),
        ("mix", mix(r#""percent", "total_ml": 500, "strong_percent": 5, "wanted_percent": 1, "substance": "metoll""#), "substance: not known"),
        ("mix", mix(r#""bottles", "volume_ml": 500, "bottles": []"#), "bottles: too few or too many"),
        ("mix", mix(r#""bottles", "volume_ml": 500, "bottles": [["a", 500]]"#), "bottles[0]: not an object"),
        ("mix", mix(r#""bottles", "volume_ml": 500, "bottles": [{"name": " ", "volume_ml": 500}]"#), "bottles[0].name: not a name"),
        ("mix", mix(r#""bottles", "volume_ml": 500, "bottles": [{"name": "a", "volume_ml": 400}], "water": false"#), "the bottles do not hold enough"),
        ("mix", mix(r#""formula", "volume_ml": 500"#), "formula and parts: one of the two is needed"),
        ("mix", mix(r#""formula", "volume_ml": 500, "formula": "secret""#), "formula: not known"),
        ("mix", mix(r#""formula", "volume_ml": 500, "formula": "mq-borax", "instead": ["borax"]"#), "instead[0]: which hydrate?"),
        ("mix", mix(r#""formula", "volume_ml": 500, "formula": "mq-borax", "instead": ["metol"]"#), "instead: not a hydrate of anything in the formula"),
        ("mix", mix(r#""formula", "volume_ml": 500, "parts": [{"substance": "metol"}]"#), "parts[0]: grams or millilitres, one of the two is needed"),
        ("mix", mix(r#""salt", "grams": 5, "from": "metol", "to": "hydroquinone""#), "one substance cannot be reckoned as the other by weight"),
        ("mix", mix(r#""salt", "from": "metol", "to": "metol""#), "grams and grains: one of the two is needed"),
        ("mix", mix(r#""water", "hot_c": 50, "cold_c": 15, "wanted_c": 60, "total_ml": 500"#), "wanted_c: not between the two waters"),
        ("mix", mix(r#""shopping", "volume_ml": 500, "formula": "mq-borax", "at_hand": [{"substance": "metol", "g": 1, "ml": 1}]"#), "at_hand[0]: grams or millilitres, one of the two is needed"),
        ("wash", r#"{"at_c": 99}"#.to_owned(), "at_c: out of range"),
        ("wash", r#"{"at_f": 68}"#.to_owned(), "at_f: not known"),
    ] {
        assert_eq!(what(name, &input), expected, "{input}");
    }
}

/// What was meant is offered: the nearest word, or the hydrates that it may be.
#[test]
fn refusals_help() {
    let error = refusal(
        "mix",
        br#"{"kind": "salt", "grams": 1, "from": "soda", "to": "borax"}"#,
    );
    assert_eq!(error["what"], "from: not known");
    let error = refusal(
        "mix",
        br#"{"kind": "salt", "grams": 1, "from": "borax-decahydrate", "to": "borax"}"#,
    );
    assert!(
        error["allowed"]
            .as_str()
            .expect("text")
            .contains("borax-pentahydrate")
    );
    let error = refusal("bath", br#"{"kind": "fixar", "volume_ml": 500}"#);
    assert!(error["remedy"].as_str().expect("text").contains("`fixer`"));
}
