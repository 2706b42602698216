//! From bytes to typed input: strict JSON, and refusals that name the field by its path.
//!
//! Stricter than JSON itself: no field twice, no null, no unknown field. It judges form only; the
//! contracts judge the values.

use serde::de::{self, DeserializeOwned, DeserializeSeed, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use spoolwright_core::{Error, Kind};

use super::words::{self, shorten};

/// Marks an `allowed` that [`describe`] replaces by the schema's words for the field.
const BY_SCHEMA: &str = "\u{0}schema:";

/// One JSON object from bytes.
pub(super) fn parse(bytes: &[u8]) -> Result<Value, Error> {
    let text = std::str::from_utf8(bytes).map_err(|e| {
        Error::new(
            Kind::Unknown,
            "the input is not UTF-8 text",
            format!("a stray byte at position {}", e.valid_up_to()),
            "JSON text in UTF-8",
            "Save the file as UTF-8 text.",
        )
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        return Err(Error::missing(
            "the input is empty",
            "one JSON object",
            EXAMPLES,
        ));
    }
    let mut json = serde_json::Deserializer::from_str(text);
    let mut track = serde_path_to_error::Track::new();
    let value = Strict
        .deserialize(serde_path_to_error::Deserializer::new(
            &mut json, &mut track,
        ))
        .map_err(|e| unreadable(text, &track.path().to_string(), &e))?;
    json.end().map_err(|e| unreadable(text, ".", &e))?;
    if !value.is_object() {
        return Err(Error::new(
            Kind::Unknown,
            "the input is not a JSON object",
            show(&value),
            "one JSON object in braces",
            EXAMPLES,
        ));
    }
    Ok(value)
}

const EXAMPLES: &str = "See the examples in docs/calc.md, or `spoolwright calc NAME --schema`.";

/// A typed input from a JSON value that lies at `at` (empty for the whole input).
pub(super) fn read<T: DeserializeOwned>(value: &Value, at: &str) -> Result<T, Error> {
    serde_path_to_error::deserialize(value).map_err(|e| {
        let inner = e.path().to_string();
        let given = lookup(value, &inner).map_or_else(|| show(value), show);
        let path = join(at, &inner);
        misread(&path, given, &e.into_inner().to_string())
    })
}

/// The `kind` of an object at `at`, and the object without it.
pub(super) fn tagged(value: &Value, at: &str) -> Result<(String, Value), Error> {
    let mut fields: Map<String, Value> = read(value, at)?;
    let kind = fields
        .remove("kind")
        .ok_or_else(|| missing(&join(at, "kind")))?;
    Ok((read(&kind, &join(at, "kind"))?, fields.into()))
}

/// `at` and a path below it, as one path.
pub(super) fn join(at: &str, below: &str) -> String {
    match (at, below) {
        (at, "." | "") => at.to_owned(),
        ("", below) => below.to_owned(),
        (at, below) if below.starts_with('[') => format!("{at}{below}"),
        (at, below) => format!("{at}.{below}"),
    }
}

/// A field that must be there and is not; the schema says what it may be.
pub(super) fn missing(path: &str) -> Error {
    Error::missing(
        format!("{path}: missing"),
        format!("{BY_SCHEMA}{path}"),
        format!("Add `{path}`."),
    )
}

/// Puts the schema's words for a field, or for the nearest around it, into a refusal that waits for them.
pub(super) fn describe(mut error: Error, schema: &str) -> Error {
    if let Some(path) = error.allowed.strip_prefix(BY_SCHEMA) {
        error.allowed = described(schema, path).unwrap_or_else(|| "see the schema".to_owned());
    }
    error
}

fn described(schema: &str, path: &str) -> Option<String> {
    let schema: Value = serde_json::from_str(schema).ok()?;
    let mut at = vec![&schema];
    let mut words = None;
    for step in steps(path) {
        at = at
            .iter()
            .flat_map(|s| {
                s.get("oneOf")
                    .and_then(Value::as_array)
                    .into_iter()
                    .flatten()
                    .chain([*s])
            })
            .filter_map(|s| match step {
                Step::Field(name) => s.get("properties")?.get(name),
                Step::Item(_) => s.get("items"),
            })
            .collect();
        let own = at.iter().find_map(|s| s.get("description")?.as_str());
        words = own.or(words);
    }
    words.map(str::to_owned)
}

/// Refuses a list where the schema has an object: a typed reading would take it for the object's
/// values in their order.
pub(super) fn fits(value: &Value, schema: &str) -> Result<(), Error> {
    objects(value, &serde_json::from_str(schema).unwrap_or_default(), "")
}

fn objects(value: &Value, schema: &Value, at: &str) -> Result<(), Error> {
    match value {
        Value::Array(_) if schema["type"] == "object" => {
            Err(misread(at, show(value), "expected an object"))
        }
        Value::Array(items) => items
            .iter()
            .enumerate()
            .try_for_each(|(i, item)| objects(item, &schema["items"], &format!("{at}[{i}]"))),
        Value::Object(fields) => fields
            .iter()
            .try_for_each(|(name, field)| objects(field, property(schema, name), &join(at, name))),
        _ => Ok(()),
    }
}

/// The schema of a field, its own or that of the first alternative that knows the field.
fn property<'s>(schema: &'s Value, name: &str) -> &'s Value {
    let alternatives = schema["oneOf"].as_array().into_iter().flatten();
    [schema]
        .into_iter()
        .chain(alternatives)
        .find_map(|s| s["properties"].get(name))
        .unwrap_or(&Value::Null)
}

/// The words in backticks.
fn quoted(message: &str) -> impl Iterator<Item = &str> {
    message.split('`').skip(1).step_by(2)
}

fn misread(path: &str, given: String, message: &str) -> Error {
    if let Some(unknown) = message.strip_prefix("unknown field `") {
        // The field is a stranger's and may hold anything; the known ones that follow are our own.
        let ends = ["`, expected ", "`, there are no fields"];
        let split = ends.iter().find_map(|end| unknown.rsplit_once(end));
        let (field, known) = split.unwrap_or((unknown, ""));
        // The path may already end in the unknown field.
        let place = path
            .strip_suffix(field)
            .map_or(path, |p| p.trim_end_matches('.'));
        let mut error = words::unknown(
            &join(place, field),
            field,
            quoted(known),
            "Fields that are not known are refused.",
        );
        if error.allowed.is_empty() {
            error.allowed = "no other field".to_owned();
        }
        return error;
    }
    if message.starts_with("missing field") {
        return missing(&join(path, quoted(message).next().unwrap_or_default()));
    }
    let expected = match message.rsplit_once("expected ") {
        Some((_, "a map")) => "an object",
        Some((_, "a sequence")) => "a list",
        Some((_, expected)) => expected,
        None => "something else",
    };
    Error::new(
        Kind::Unknown,
        format!(
            "{}: not {expected}",
            if path.is_empty() {
                "the input".to_owned()
            } else {
                shorten(path)
            }
        ),
        given,
        format!("{BY_SCHEMA}{path}"),
        format!("Give {expected}."),
    )
}

fn unreadable(text: &str, path: &str, error: &serde_json::Error) -> Error {
    let message = error.to_string();
    let place = if path == "." || path.contains('?') {
        String::new()
    } else {
        format!("{}: ", shorten(path))
    };
    if let Some((_, field)) = message.split_once(TWICE) {
        let field = field.trim_start_matches(": `");
        let field = field.rsplit_once('`').map_or(field, |(field, _)| field);
        return Error::new(
            Kind::Inconsistent,
            format!(
                "{}: given twice",
                shorten(&join(path.trim_start_matches('.'), field))
            ),
            format!("`{}` two times or more", shorten(field)),
            "every field once",
            "Remove all but one.",
        );
    }
    if message.contains(NULL) {
        return Error::new(
            Kind::Unknown,
            format!("{place}null is not a value here"),
            "null",
            "a value, or no field at all",
            "Leave the field out.",
        );
    }
    if message.contains("recursion limit") {
        return Error::new(
            Kind::TooLarge,
            "the input is nested too deeply",
            "more than 127 brackets inside one another",
            "up to 127",
            EXAMPLES,
        );
    }
    let token = token_at(text, error.line(), error.column());
    let bare = token.trim_start_matches(['-', '+']).to_lowercase();
    if message.contains("number out of range") || bare.starts_with("nan") || bare.starts_with("inf")
    {
        return Error::new(
            Kind::OutOfRange,
            format!("{place}not a finite number"),
            shorten(token),
            "a finite number",
            "Give a finite number, or leave the field out.",
        );
    }
    Error::new(
        Kind::Unknown,
        format!(
            "{place}the input is not JSON at line {}, column {}",
            error.line(),
            error.column()
        ),
        if token.is_empty() || error.is_eof() {
            "the end of the input".to_owned()
        } else {
            shorten(token)
        },
        "one JSON object: fields in double quotes, a point in decimals, no comma after the last field",
        EXAMPLES,
    )
}

/// The word around a place, for an error to show.
fn token_at(text: &str, line: usize, column: usize) -> &str {
    let ends = |c: char| c.is_whitespace() || ",:[]{}\"".contains(c);
    let Some(line) = text.lines().nth(line.saturating_sub(1)) else {
        return "";
    };
    let mut at = column.saturating_sub(1).min(line.len());
    while !line.is_char_boundary(at) {
        at -= 1;
    }
    let start = line[..at].rfind(ends).map_or(0, |i| i + 1);
    let word = line[start..].split(ends).next().unwrap_or_default();
    if word.is_empty() {
        line[at..]
            .chars()
            .next()
            .map_or("", |c| &line[at..at + c.len_utf8()])
    } else {
        word
    }
}

fn show(value: &Value) -> String {
    shorten(&value.to_string())
}

enum Step<'a> {
    Field(&'a str),
    Item(usize),
}

/// The steps of a path such as `wants[3].frames`.
fn steps(path: &str) -> impl Iterator<Item = Step<'_>> {
    path.split(['.', '['])
        .filter(|s| !s.is_empty())
        .map(|step| match step.strip_suffix(']') {
            Some(index) => Step::Item(index.parse().unwrap_or(usize::MAX)),
            None => Step::Field(step),
        })
}

fn lookup<'v>(value: &'v Value, path: &str) -> Option<&'v Value> {
    steps(path).try_fold(value, |v, step| match step {
        Step::Field(name) => v.get(name),
        Step::Item(index) => v.get(index),
    })
}

const TWICE: &str = "field given twice";
const NULL: &str = "null is no value";

/// Reads any JSON value, but no field twice and no null.
struct Strict;

impl<'de> DeserializeSeed<'de> for Strict {
    type Value = Value;
    fn deserialize<D: de::Deserializer<'de>>(self, d: D) -> Result<Value, D::Error> {
        d.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Strict {
    type Value = Value;
    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a JSON value")
    }
    fn visit_bool<E>(self, v: bool) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_i64<E>(self, v: i64) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_u64<E>(self, v: u64) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_f64<E>(self, v: f64) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_str<E>(self, v: &str) -> Result<Value, E> {
        Ok(v.into())
    }
    fn visit_unit<E: de::Error>(self) -> Result<Value, E> {
        Err(E::custom(NULL))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(Self)? {
            list.push(item);
        }
        Ok(list.into())
    }
    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some(name) = fields.next_key::<String>()? {
            if map.contains_key(&name) {
                return Err(de::Error::custom(format!("{TWICE}: `{name}`")));
            }
            let value = fields.next_value_seed(Self)?;
            map.insert(name, value);
        }
        Ok(map.into())
    }
}
