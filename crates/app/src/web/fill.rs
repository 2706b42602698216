//! Records as forms to change them: every field as a person would have typed it.

use super::form::Form;
use crate::service::draft::{CanDraft, CassetteDraft, LoaderDraft, StockDraft, WantDraft};
use serde::Serialize;
use spoolwright_core::shelf::{Can, Cassette, Loader, Stock, Want};

/// The form that a draft fills: one field for each of its texts.
fn form(draft: &impl Serialize) -> Form {
    let fields = match serde_json::to_value(draft) {
        Ok(serde_json::Value::Object(fields)) => fields,
        _ => serde_json::Map::new(),
    };
    Form::fresh(
        fields
            .into_iter()
            .map(|(name, value)| (name, value.as_str().unwrap_or_default().to_owned())),
    )
}

/// A stock's form.
pub(crate) fn stock(s: &Stock) -> Form {
    form(&StockDraft::from(s))
}

/// A can's form.
pub(crate) fn can(c: &Can) -> Form {
    form(&CanDraft::from(c))
}

/// A loader's form.
pub(crate) fn loader(l: &Loader) -> Form {
    form(&LoaderDraft::from(l))
}

/// A cassette's form.
pub(crate) fn cassette(c: &Cassette) -> Form {
    form(&CassetteDraft::from(c))
}

/// A want's form.
pub(crate) fn want(w: &Want) -> Form {
    form(&WantDraft::from(w))
}
