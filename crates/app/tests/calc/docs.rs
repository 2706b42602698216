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

fn allows(schema: &str, value: &Value) -> bool {
    let schema: Value = serde_json::from_str(schema).expect("the schema is JSON");
    jsonschema::draft202012::is_valid(&schema, value)
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

/// The value at a path through fields and first items, to be changed.
fn at<'v>(value: &'v mut Value, path: &str) -> Option<&'v mut Value> {
    path.split('.')
        .try_fold(value, |v, step| match step.strip_suffix("[]") {
            Some(name) => v.get_mut(name)?.get_mut(0),
            None => v.get_mut(step),
        })
}

/// Schema and program have the same bounds: just outside, both refuse, and the program names the
/// field; at the bound, the program does not call the field out of range.
#[test]
fn schema_and_program_have_the_same_bounds() {
    let (_, page) = page();
    for (contract, section) in sections(&page) {
        let mut found = Vec::new();
        fields(
            &serde_json::from_str(contract.input_schema).expect("JSON"),
            "",
            &mut found,
        );
        let mut checked = 0;
        for input in inputs(section) {
            for (path, field) in &found {
                let step = if field["type"] == "integer" {
                    1.0
                } else {
                    0.001
                };
                let ends = [("minimum", -step), ("maximum", step)];
                for (bound, out) in ends
                    .iter()
                    .filter_map(|(end, out)| Some((field.get(*end)?.as_f64()?, *out)))
                {
                    let mut near = input.clone();
                    let Some(place) = at(&mut near, path) else {
                        continue;
                    };
                    checked += 1;
                    *place = bound.into();
                    assert!(allows(contract.input_schema, &near), "{path} at {bound}");
                    let named = path.replace("[]", "[0]");
                    let out_of_range = format!("{named}: out of range");
                    let said = contract.answer(near.to_string().as_bytes());
                    assert!(
                        !said.is_err_and(|e| e.what == out_of_range),
                        "{path} at {bound}"
                    );

                    *at(&mut near, path).expect("it was there") = (bound + out).into();
                    assert!(
                        !allows(contract.input_schema, &near),
                        "{path} beyond {bound}"
                    );
                    let error = contract
                        .answer(near.to_string().as_bytes())
                        .expect_err("refused");
                    assert_eq!(error.what, out_of_range);
                }
            }
        }
        assert!(
            checked > 4,
            "calc {}: only {checked} bounds tried",
            contract.name
        );
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
    assert!(calc::contract("spool").is_ok());
}
