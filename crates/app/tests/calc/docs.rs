//! docs/calc.md cannot drift: every example runs, fits its schemas and gives what is printed, and
//! every field of a schema has its row and its bounds.
//!
//! The schemas are checked by an outside validator. `UPDATE_DOCS=1 cargo test -p spoolwright --test
//! calc` writes the answers into the page anew; read the difference before you keep it.

use std::path::PathBuf;

use serde_json::Value;
use spoolwright::calc::{self, CONTRACTS, Contract};

use super::{answer, refusal};

fn page() -> (PathBuf, String) {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/calc.md");
    let text = std::fs::read_to_string(&path).expect("docs/calc.md");
    (path, text)
}

/// A fenced block: the words after ```` ```json ````, its text, and where the text lies.
struct Block<'t> {
    info: &'t str,
    text: &'t str,
    range: std::ops::Range<usize>,
}

fn blocks(page: &str) -> Vec<Block<'_>> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = page[at..]
        .find("```json ")
        .map(|i| at + i + "```json ".len())
    {
        let body = start + page[start..].find('\n').expect("a line") + 1;
        let end = body + page[body..].find("```").expect("a fence");
        found.push(Block {
            info: page[start..body].trim(),
            text: &page[body..end],
            range: body..end,
        });
        at = end + 3;
    }
    found
}

/// Each contract with its part of the page.
fn sections(page: &str) -> Vec<(&'static Contract, &str)> {
    CONTRACTS
        .iter()
        .map(|contract| {
            let heading = format!("\n## calc {}\n", contract.name);
            let start = page
                .find(&heading)
                .unwrap_or_else(|| panic!("docs/calc.md lacks `{}`", heading.trim()));
            let body = &page[start + heading.len()..];
            (
                contract,
                body.find("\n## ").map_or(body, |end| &body[..end]),
            )
        })
        .collect()
}

fn check(schema: &str, value: &Value) {
    let schema: Value = serde_json::from_str(schema).expect("the schema is JSON");
    jsonschema::draft202012::meta::validate(&schema).expect("the schema is a schema");
    let validator = jsonschema::draft202012::new(&schema).expect("the schema compiles");
    let faults: Vec<String> = validator
        .iter_errors(value)
        .map(|e| format!("{}: {e}", e.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{value}\n{}", faults.join("\n"));
}

/// A schema made ready once, for many values.
fn validator(schema: &str) -> jsonschema::Validator {
    let schema: Value = serde_json::from_str(schema).expect("the schema is JSON");
    jsonschema::draft202012::new(&schema).expect("the schema compiles")
}

/// Equal, numbers to a millionth.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (
                a.as_f64().unwrap_or(f64::NAN),
                b.as_f64().unwrap_or(f64::NAN),
            );
            (a - b).abs() <= 1e-6 * a.abs().max(b.abs()).max(1.0)
        }
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b))
        }
        (Value::Object(a), Value::Object(b)) => {
            a.len() == b.len() && a.iter().all(|(k, v)| b.get(k).is_some_and(|w| same(v, w)))
        }
        (a, b) => a == b,
    }
}

/// The documented inputs of a contract, as JSON.
fn inputs(section: &str) -> Vec<Value> {
    let inputs = blocks(section).into_iter().filter(|b| b.info == "input");
    inputs
        .map(|b| serde_json::from_str(b.text).expect("an input is JSON"))
        .collect()
}

#[test]
fn every_example_runs_and_gives_what_is_printed() {
    let (path, page) = page();
    let update = std::env::var_os("UPDATE_DOCS").is_some();
    let mut new = page.clone();
    let mut faults = Vec::new();
    for (contract, section) in sections(&page).into_iter().rev() {
        let base = section.as_ptr() as usize - page.as_ptr() as usize;
        let blocks = blocks(section);
        let pairs: Vec<_> = blocks.chunks(2).collect();
        assert!(!pairs.is_empty(), "calc {}: no example", contract.name);
        for pair in pairs.into_iter().rev() {
            let [input, output] = pair else {
                panic!("calc {}: an input without output", contract.name)
            };
            assert_eq!(
                (input.info, output.info),
                ("input", "output"),
                "calc {}",
                contract.name
            );
            let given: Value = serde_json::from_str(input.text).expect("an input is JSON");
            check(contract.input_schema, &given);
            let value = answer(contract.name, &given);
            check(contract.output_schema, &value);
            if update {
                new.replace_range(
                    base + output.range.start..base + output.range.end,
                    &format!("{value:#}\n"),
                );
            } else if !serde_json::from_str(output.text).is_ok_and(|printed| same(&printed, &value))
            {
                faults.push(format!("calc {} {given} gives\n{value:#}", contract.name));
            }
        }
    }
    if update {
        std::fs::write(path, new).expect("docs/calc.md can be written");
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_documented_refusal_is_so() {
    let (_, page) = page();
    let refusals: Vec<_> = blocks(&page)
        .into_iter()
        .filter(|b| b.info.starts_with("error "))
        .collect();
    assert!(!refusals.is_empty());
    for block in refusals {
        let (name, input) = block.info["error ".len()..]
            .split_once(' ')
            .expect("a name and an input");
        let printed: Value = serde_json::from_str(block.text).expect("JSON");
        assert_eq!(refusal(name, input.as_bytes()), printed["error"]);
    }
}

/// Every field of an input schema, with its path (`evidence[].grams`) and its schema.
fn fields(schema: &Value, at: &str, found: &mut Vec<(String, Value)>) {
    for part in schema
        .get("oneOf")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
    {
        fields(part, at, found);
    }
    for (name, field) in schema
        .get("properties")
        .and_then(Value::as_object)
        .into_iter()
        .flatten()
    {
        let path = if at.is_empty() {
            name.clone()
        } else {
            format!("{at}.{name}")
        };
        found.push((path.clone(), field.clone()));
        fields(field, &path, found);
        if let Some(items) = field.get("items") {
            fields(items, &format!("{path}[]"), found);
        }
    }
}

#[test]
fn every_field_has_a_description_and_a_row() {
    let (_, page) = page();
    let general = page.split("\n## calc ").next().expect("a beginning");
    for (contract, section) in sections(&page) {
        let section = format!("{general}{section}");
        for (side, schema) in [
            ("input", contract.input_schema),
            ("output", contract.output_schema),
        ] {
            let mut found = Vec::new();
            fields(&serde_json::from_str(schema).expect("JSON"), "", &mut found);
            assert!(!found.is_empty());
            for (path, field) in found {
                let here = format!("calc {}, {side}, {path}", contract.name);
                assert!(field["description"].is_string(), "{here}: no description");
                let last = path.rsplit(['.']).next().expect("a name");
                let named = ["`{}`", "`{}.", "`{}[]"]
                    .iter()
                    .any(|form| section.contains(&form.replace("{}", &path)))
                    || section.contains(&format!("`{last}`"))
                    || section.contains(&format!(".{last}`"));
                assert!(named, "{here}: not on the page");
            }
        }
    }
}

/// A number of an input that its schema bounds.
struct Bounded {
    /// Where it lies, as a JSON pointer without its own name.
    parent: String,
    name: String,
    /// Where it lies, as errors say it.
    path: String,
    schema: Value,
}

/// Every bounded number that an input has, or could have where it is now left out.
fn bounded(schema: &Value, value: &Value, at: (&str, &str), found: &mut Vec<Bounded>) {
    let (pointer, path) = at;
    if let (Some(items), Some(list)) = (schema.get("items"), value.as_array()) {
        for (i, item) in list.iter().enumerate() {
            let (pointer, path) = (format!("{pointer}/{i}"), format!("{path}[{i}]"));
            note(items, (at.0, &i.to_string(), &path), found);
            bounded(items, item, (&pointer, &path), found);
        }
    }
    let alternatives = schema
        .get("oneOf")
        .and_then(Value::as_array)
        .into_iter()
        .flatten();
    let fitting = alternatives.filter(|a| a["properties"]["kind"]["const"] == value["kind"]);
    for part in fitting.chain([schema]) {
        for (name, field) in part
            .get("properties")
            .and_then(Value::as_object)
            .into_iter()
            .flatten()
        {
            let below = if path.is_empty() {
                name.clone()
            } else {
                format!("{path}.{name}")
            };
            note(field, (pointer, name, &below), found);
            if let Some(inner) = value.get(name) {
                bounded(field, inner, (&format!("{pointer}/{name}"), &below), found);
            }
        }
    }
}

fn note(schema: &Value, (parent, name, path): (&str, &str, &str), found: &mut Vec<Bounded>) {
    if schema.get("minimum").is_some() {
        let (parent, name, path) = (parent.to_owned(), name.to_owned(), path.to_owned());
        found.push(Bounded {
            parent,
            name,
            path,
            schema: schema.clone(),
        });
    }
}

/// `input` with the number put at `place`; none when the schema allows no such number there.
fn with(input: &Value, place: &Bounded, number: f64) -> Value {
    let mut changed = input.clone();
    match changed
        .pointer_mut(&place.parent)
        .expect("the parent is there")
    {
        Value::Object(fields) => drop(fields.insert(place.name.clone(), number.into())),
        Value::Array(items) => {
            items[place.name.parse::<usize>().expect("an index")] = number.into()
        }
        _ => unreachable!("a parent holds something"),
    }
    changed
}

/// Schema and program have the same bounds: just outside, both refuse, and the program names the
/// field; at the bound, the program does not call the field out of range.
#[test]
fn schema_and_program_have_the_same_bounds() {
    let (_, page) = page();
    for (contract, section) in sections(&page) {
        let schema = serde_json::from_str(contract.input_schema).expect("JSON");
        let allowed = validator(contract.input_schema);
        let mut checked = std::collections::BTreeSet::new();
        for input in inputs(section) {
            let mut places = Vec::new();
            bounded(&schema, &input, ("", ""), &mut places);
            for place in places {
                let step = if place.schema["type"] == "integer" {
                    1.0
                } else {
                    0.001
                };
                let out_of_range = format!("{}: out of range", place.path);
                for (end, out) in [("minimum", -step), ("maximum", step)] {
                    let bound = place.schema[end].as_f64().expect("both ends are bounded");
                    let near = with(&input, &place, bound);
                    if !allowed.is_valid(&near) {
                        continue; // It would contradict another field of this example.
                    }
                    checked.insert(place.path.replace(|c: char| c.is_ascii_digit(), ""));
                    let said = contract.answer(near.to_string().as_bytes());
                    assert!(
                        !said.is_err_and(|e| e.what == out_of_range),
                        "{} at {bound}",
                        place.path
                    );

                    let beyond = with(&input, &place, bound + out);
                    assert!(!allowed.is_valid(&beyond), "{} beyond {bound}", place.path);
                    let error = contract
                        .answer(beyond.to_string().as_bytes())
                        .expect_err("refused");
                    assert_eq!(error.what, out_of_range);
                }
            }
        }
        let mut all = Vec::new();
        fields(&schema, "", &mut all);
        for (path, _) in all
            .iter()
            .filter(|(_, field)| field.get("minimum").is_some())
        {
            let path = path.replace(|c: char| c.is_ascii_digit(), "");
            assert!(
                checked.contains(&path),
                "calc {}: no example reaches {path}",
                contract.name
            );
        }
    }
}

/// Every object of every example, given as the list of its values, is refused by schema and program.
#[test]
fn a_list_is_never_an_object() {
    fn places(value: &Value, at: &str, found: &mut Vec<String>) {
        match value {
            Value::Object(fields) => {
                found.push(at.to_owned());
                for (name, v) in fields {
                    places(v, &format!("{at}/{name}"), found);
                }
            }
            Value::Array(items) => {
                for (i, v) in items.iter().enumerate() {
                    places(v, &format!("{at}/{i}"), found);
                }
            }
            _ => {}
        }
    }
    let (_, page) = page();
    for (contract, section) in sections(&page) {
        let allowed = validator(contract.input_schema);
        for input in inputs(section) {
            let mut found = Vec::new();
            places(&input, "", &mut found);
            for at in found {
                let mut listed = input.clone();
                let object = listed.pointer_mut(&at).expect("it is there");
                *object = object
                    .as_object()
                    .expect("an object")
                    .values()
                    .cloned()
                    .collect();
                assert!(!allowed.is_valid(&listed), "{at}");
                let error = contract.answer(listed.to_string().as_bytes());
                assert!(error.is_err(), "calc {}: {at} as a list", contract.name);
            }
        }
    }
}

#[test]
fn the_schema_is_printed_on_demand() {
    for contract in CONTRACTS {
        for (flag, schema) in [
            ("--schema", contract.input_schema),
            ("--schema=output", contract.output_schema),
        ] {
            let out = super::spoolwright(&["calc", contract.name, flag], b"");
            assert_eq!(String::from_utf8_lossy(&out.stdout), schema);
        }
    }
    let list = super::spoolwright(&["calc", "--list"], b"");
    let list = String::from_utf8_lossy(&list.stdout).into_owned();
    assert!(
        CONTRACTS
            .iter()
            .all(|c| list.contains(c.name) && list.contains(c.purpose))
    );
    let json = super::spoolwright(&["calc", "--list", "--json"], b"");
    let json: Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(json[0]["name"], CONTRACTS[0].name);
    assert!(calc::contract("spool").is_ok());
}
