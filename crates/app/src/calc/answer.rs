//! The pieces that answers are made of, and their last check.

use serde_json::{Value, json};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::{Error, Kind};

/// An estimate in millimetres, shown in metres.
pub(super) fn metres(mm: Estimate) -> Value {
    mean_sd(Estimate::new(mm.mean / 1000.0, mm.sd / 1000.0))
}

/// An estimate in its own unit.
pub(super) fn mean_sd(e: Estimate) -> Value {
    json!({ "mean": e.mean, "sd": e.sd })
}

/// Caveats with their stable code and their sentence.
pub(super) fn caveats(caveats: &[Caveat]) -> Value {
    caveats
        .iter()
        .map(|c| json!({ "code": c.code, "text": c.text }))
        .collect()
}

/// Rounds every number to nine decimals, so that 1.007 does not read 1.0070000000000001 nor
/// nothing -0.
///
/// # Errors
/// A number that is not finite: JSON has none, so it has become null on the way here.
pub(super) fn tidy(value: Value) -> Result<Value, Error> {
    Ok(match value {
        Value::Null => {
            return Err(Error::new(
                Kind::Impossible,
                "the answer is not a finite number",
                "these inputs together",
                "inputs that have a finite answer",
                "Check the inputs; if they are right, this is a fault of the program.",
            ));
        }
        Value::Array(items) => Value::Array(items.into_iter().map(tidy).collect::<Result<_, _>>()?),
        Value::Object(fields) => {
            let fields = fields.into_iter().map(|(name, v)| Ok((name, tidy(v)?)));
            Value::Object(fields.collect::<Result<_, Error>>()?)
        }
        Value::Number(n) if n.is_f64() => {
            let v = n.as_f64().unwrap_or_default();
            let rounded = (v * 1e9).round() / 1e9;
            // Adding zero makes -0 plain 0.
            Value::from(if rounded.is_finite() { rounded } else { v } + 0.0)
        }
        other => other,
    })
}
