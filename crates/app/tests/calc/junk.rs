//! Junk into every contract: an answer of finite numbers or a refusal in four parts, never a panic.

use proptest::prelude::*;
use serde_json::{Map, Value, json};
use spoolwright::calc::CONTRACTS;

/// Names that some contract knows, and a few that none does.
fn name() -> impl Strategy<Value = String> {
    let mut known: Vec<String> = Vec::new();
    for contract in CONTRACTS {
        let words = contract.input_schema.split('"').skip(1).step_by(2);
        known.extend(
            words
                .filter(|w| w.chars().all(|c| c.is_ascii_lowercase() || c == '_'))
                .map(str::to_owned),
        );
    }
    known.sort();
    known.dedup();
    prop_oneof![9 => proptest::sample::select(known), 1 => "[a-z_]{0,9}"]
}

fn scalar() -> impl Strategy<Value = Value> {
    prop_oneof![
        4 => (-3i64..60).prop_map(Value::from),
        3 => (0.0..100.0f64).prop_map(Value::from),
        1 => proptest::num::f64::ANY.prop_map(|v| json!(v)),
        1 => any::<i64>().prop_map(Value::from),
        1 => any::<bool>().prop_map(Value::from),
        3 => name().prop_map(Value::from),
        1 => proptest::sample::select(vec!["room", "long", "crank", "100110", "+1/-1", "weigh", "wind"]).prop_map(Value::from),
        1 => Just(Value::Null),
    ]
}

fn value() -> impl Strategy<Value = Value> {
    scalar().prop_recursive(4, 60, 8, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            prop::collection::vec((name(), inner), 0..8)
                .prop_map(|f| Value::from(f.into_iter().collect::<Map<_, _>>())),
        ]
    })
}

fn finite(value: &Value) -> bool {
    match value {
        Value::Null => false,
        Value::Number(n) => n.as_f64().is_some_and(f64::is_finite),
        Value::Array(items) => items.iter().all(finite),
        Value::Object(fields) => fields.values().all(finite),
        _ => true,
    }
}

fn survives(input: &[u8]) {
    for contract in CONTRACTS {
        match contract.answer(input) {
            Ok(answer) => assert!(finite(&answer), "{answer}"),
            Err(e) => {
                for part in [&e.what, &e.given, &e.allowed, &e.remedy] {
                    assert!(!part.is_empty() && part.chars().count() < 2000, "{e:?}");
                    assert!(!part.chars().any(char::is_control), "{e:?}");
                }
            }
        }
    }
}

/// Documented inputs, to be spoilt.
fn examples() -> Vec<String> {
    let page = include_str!("../../../../docs/calc.md");
    let inputs = page.split("```json input\n").skip(1);
    inputs
        .map(|rest| rest.split("```").next().expect("a fence").to_owned())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn bytes(input in prop::collection::vec(any::<u8>(), 0..200)) {
        survives(&input);
    }

    #[test]
    fn text_that_looks_like_json(input in "[{}\\[\\]\":,0-9a-zN.eE \\-+\n]{0,80}") {
        survives(input.as_bytes());
    }

    /// Tables with settings, for the sums that take them.
    #[test]
    fn text_that_looks_like_a_table(input in "(# (exposure|target|rounds|base_fog)[ =](relative|in_camera|gamma|0.3|x){1,2}\n){0,3}[a-z0-9]{0,5}[,;\t][0-9]{1,2}( min| red)?\n([-0-9.,;\t x]{0,12}\n){0,9}") {
        survives(input.as_bytes());
    }

    #[test]
    fn objects_of_known_fields(input in value()) {
        survives(input.to_string().as_bytes());
    }

    /// A good input with one piece replaced by something else.
    #[test]
    fn spoilt_examples(which in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), junk in value()) {
        let examples = examples();
        let mut input: Value = serde_json::from_str(which.get::<String>(&examples)).unwrap();
        let leaves = paths(&input, "");
        *input.pointer_mut(at.get::<String>(&leaves)).unwrap() = junk;
        survives(input.to_string().as_bytes());
    }

    /// A good input with some characters cut out.
    #[test]
    fn torn_examples(which in any::<prop::sample::Index>(), from in 0usize..300, length in 0usize..40) {
        let examples = examples();
        let bytes = which.get::<String>(&examples).as_bytes();
        let from = from.min(bytes.len());
        let to = (from + length).min(bytes.len());
        survives(&[&bytes[..from], &bytes[to..]].concat());
    }
}

fn paths(value: &Value, at: &str) -> Vec<String> {
    let mut found = vec![at.to_owned()];
    match value {
        Value::Array(items) => {
            found.extend(
                items
                    .iter()
                    .enumerate()
                    .flat_map(|(i, v)| paths(v, &format!("{at}/{i}"))),
            );
        }
        Value::Object(fields) => {
            found.extend(
                fields
                    .iter()
                    .flat_map(|(k, v)| paths(v, &format!("{at}/{k}"))),
            );
        }
        _ => {}
    }
    found
}
