//! Forms: what was typed, what is wrong with it, and the fields that show both.
//!
//! A form keeps every value as it was typed, so that a refusal never costs the person their work.
//! What the values mean is the service's business: a form only hands them on as a draft.

use super::problem::four_parts;
use crate::service::{Fault, draft};
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use maud::{Markup, html};
use serde::Serialize;
use serde::de::DeserializeOwned;
use spoolwright_core::{Error, Kind};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::LazyLock;
use std::sync::atomic::{AtomicU64, Ordering};

use super::problem::Problem;

/// Most fields one form may have.
const MOST_FIELDS: usize = 2000;

/// Hidden fields that are no part of what was typed.
const ABOUT_THE_ASKING: [&str; 3] = ["request", "seen", "back"];

/// Values as typed, and the faults found in them.
#[derive(Debug, Default, Clone)]
pub(crate) struct Form {
    values: Vec<(String, String)>,
    /// The address it was sent to; empty for one not sent.
    sent_to: String,
    faults: Vec<Fault>,
}

impl Form {
    /// A form not yet filled in, with the values it starts from.
    pub(crate) fn fresh<N: Into<String>, V: Into<String>>(
        values: impl IntoIterator<Item = (N, V)>,
    ) -> Self {
        let values = values
            .into_iter()
            .map(|(n, v)| (n.into(), v.into()))
            .collect();
        Self {
            values,
            ..Self::default()
        }
    }

    /// The form that an address carries behind its question mark.
    pub(crate) fn from_query(query: &str) -> Self {
        let mut values = pairs(query.as_bytes());
        values.truncate(MOST_FIELDS);
        Self {
            values,
            ..Self::default()
        }
    }

    /// The value typed, without spaces around it; empty when there is none.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.values
            .iter()
            .rev()
            .find(|(n, _)| n == name)
            .map_or("", |(_, v)| v.trim())
    }

    /// Every value of a field that may be chosen more than once.
    pub(crate) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.values
            .iter()
            .filter(move |(n, _)| n == name)
            .map(|(_, v)| v.trim())
    }

    /// The name of every field that was sent, as often as it was.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        self.values.iter().map(|(n, _)| n.as_str())
    }

    /// Whether a box is ticked.
    pub(crate) fn ticked(&self, name: &str) -> bool {
        matches!(self.text(name), "yes" | "on" | "true" | "1")
    }

    /// The draft these values make: one text a field, the last one typed; the fields named in `many`
    /// may be given more than once and are joined by commas.
    pub(crate) fn draft<T: DeserializeOwned + Default>(&self, many: &[&str]) -> T {
        let mut map = serde_json::Map::new();
        for (name, value) in &self.values {
            match map.get_mut(name) {
                Some(serde_json::Value::String(old)) if many.contains(&name.as_str()) => {
                    old.push(',');
                    old.push_str(value.trim());
                }
                _ => drop(map.insert(name.clone(), value.trim().into())),
            }
        }
        serde_json::from_value(map.into()).unwrap_or_default()
    }

    /// The same form with what was wrong in it.
    pub(crate) fn refused(mut self, faults: Vec<Fault>) -> Self {
        self.faults = faults;
        self
    }

    /// A form that starts from a draft, to change what is there.
    pub(crate) fn from_draft(draft: &impl Serialize) -> Self {
        let values = match serde_json::to_value(draft) {
            Ok(serde_json::Value::Object(map)) => map
                .into_iter()
                .filter_map(|(name, value)| value.as_str().map(|v| (name, v.to_owned())))
                .collect(),
            _ => Vec::new(),
        };
        Self {
            values,
            ..Self::default()
        }
    }

    /// A value put in by the program, over what was there.
    pub(crate) fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.values.push((name.to_owned(), value.into()));
        self
    }

    /// A value to start from where nothing was typed.
    pub(crate) fn with_default(self, name: &str, value: impl Into<String>) -> Self {
        if self.text(name).is_empty() {
            self.with(name, value)
        } else {
            self
        }
    }

    /// Whether anything is wrong.
    pub(crate) fn is_faulty(&self) -> bool {
        !self.faults.is_empty()
    }

    /// The name of this asking, so that a form sent twice is carried out once.
    pub(crate) fn request(&self) -> Option<&str> {
        let request = self.text("request");
        (!request.is_empty() && request.len() <= 80).then_some(request)
    }

    /// What this asking is remembered by: its name, the form's address and what was typed. Sent twice it is
    /// the same; gone back to and changed it is another.
    pub(crate) fn request_key(&self) -> Option<String> {
        let name = self.request()?;
        let mut typed: Vec<&(String, String)> = self
            .values
            .iter()
            .filter(|(field, _)| !ABOUT_THE_ASKING.contains(&field.as_str()))
            .collect();
        typed.sort();
        let mut hash = DefaultHasher::new();
        (&self.sent_to, typed).hash(&mut hash);
        Some(format!("{name}-{:016x}", hash.finish()))
    }

    /// The hidden field that names this asking.
    pub(crate) fn request_field(&self) -> Markup {
        // A refused form keeps its name: the first asking changed nothing.
        let name = self.request().map_or_else(new_request, str::to_owned);
        let seen = self.text("seen");
        html! {
            input type="hidden" name="request" value=(name);
            @if !seen.is_empty() { input type="hidden" name="seen" value=(seen); }
        }
    }

    /// The form of a record that is there, remembering how it was shown.
    pub(crate) fn from_record(draft: &impl Serialize) -> Self {
        Self::from_draft(draft).seeing(draft)
    }

    /// The same form, now knowing the record as it is.
    pub(crate) fn seeing(self, present: &impl Serialize) -> Self {
        self.with("seen", draft::seen(present))
    }

    /// Whether the record has changed since this form was shown.
    pub(crate) fn is_overtaken(&self, present: &impl Serialize) -> bool {
        let seen = self.text("seen");
        !seen.is_empty() && seen != draft::seen(present)
    }

    /// The box that says an unlikely thing is so, once the service has asked.
    pub(crate) fn sure(&self) -> Markup {
        html! {
            @if self.fault("sure").is_some() || self.ticked("sure") {
                (self.field("sure", "It is so").hint("however unlikely: record it as typed").tick())
            }
        }
    }

    /// All faults, to stand above the form.
    pub(crate) fn refusals(&self) -> Markup {
        html! { @for fault in &self.faults { (four_parts(&fault.error)) } }
    }

    /// The same in one line of words, for a script that shows it in its place.
    pub(crate) fn told(&self) -> String {
        let all: Vec<String> = self
            .faults
            .iter()
            .map(|f| {
                let e = &f.error;
                format!(
                    "{}: {}; allowed: {}. {}",
                    e.what, e.given, e.allowed, e.remedy
                )
            })
            .collect();
        all.join(" ")
    }

    /// The status of the page that shows this form.
    pub(crate) fn status(&self) -> StatusCode {
        match self.faults.first().map(|f| f.error.kind) {
            None => StatusCode::OK,
            Some(Kind::Conflict) => StatusCode::CONFLICT,
            Some(_) => StatusCode::UNPROCESSABLE_ENTITY,
        }
    }

    /// What was wrong with a field.
    pub(super) fn fault(&self, name: &str) -> Option<&Error> {
        self.faults
            .iter()
            .find(|f| f.field == name)
            .map(|f| &f.error)
    }

    /// The word for assistive technology when a field was refused.
    pub(crate) fn is_wrong(&self, name: &str) -> Option<&'static str> {
        self.fault(name).map(|_| "true")
    }
}

impl<S: Send + Sync> FromRequest<S> for Form {
    type Rejection = Problem;

    async fn from_request(req: Request, state: &S) -> Result<Self, Problem> {
        let sent_to = req.uri().path().to_owned();
        let refuse = |status, given: String| {
            Problem::new(
                status,
                Error::new(
                    if status == StatusCode::PAYLOAD_TOO_LARGE {
                        Kind::TooLarge
                    } else {
                        Kind::Unknown
                    },
                    "the form",
                    given,
                    format!(
                        "a filled-in form of this program, at most {} kB",
                        super::security::MAX_BODY / 1024
                    ),
                    "Go back, shorten long texts, and send it again.",
                ),
            )
        };
        let axum::extract::RawForm(bytes) = axum::extract::RawForm::from_request(req, state)
            .await
            .map_err(|e| {
                let status = axum::response::IntoResponse::into_response(e).status();
                refuse(status, "something else".to_owned())
            })?;
        let values: Vec<(String, String)> = pairs(&bytes);
        if MOST_FIELDS < values.len() {
            return Err(refuse(
                StatusCode::PAYLOAD_TOO_LARGE,
                format!("{} fields", values.len()),
            ));
        }
        Ok(Self {
            values,
            sent_to,
            faults: Vec::new(),
        })
    }
}

/// Reads `a=1&b=2` with percent signs and pluses; what is not UTF-8 becomes the replacement character.
fn pairs(bytes: &[u8]) -> Vec<(String, String)> {
    fn plain(part: &[u8]) -> String {
        let mut out = Vec::with_capacity(part.len());
        let mut i = 0;
        while i < part.len() {
            let hex = |k: usize| part.get(k).and_then(|b| (*b as char).to_digit(16));
            match (part[i], hex(i + 1), hex(i + 2)) {
                (b'%', Some(high), Some(low)) => {
                    out.push((high * 16 + low) as u8);
                    i += 3;
                }
                (b'+', ..) => {
                    out.push(b' ');
                    i += 1;
                }
                (other, ..) => {
                    out.push(other);
                    i += 1;
                }
            }
        }
        String::from_utf8_lossy(&out).into_owned()
    }
    bytes
        .split(|b| *b == b'&')
        .filter(|pair| !pair.is_empty())
        .map(|pair| {
            let mut halves = pair.splitn(2, |b| *b == b'=');
            (
                plain(halves.next().unwrap_or_default()),
                plain(halves.next().unwrap_or_default()),
            )
        })
        .collect()
}

/// A name for one asking, never given twice.
fn new_request() -> String {
    static START: LazyLock<u128> = LazyLock::new(|| {
        std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .map_or(0, |d| d.as_nanos())
    });
    static NEXT: AtomicU64 = AtomicU64::new(0);
    format!(
        "{:x}-{:x}-{:x}",
        *START,
        std::process::id(),
        NEXT.fetch_add(1, Ordering::Relaxed)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(serde::Deserialize, serde::Serialize, Default, PartialEq, Debug)]
    #[serde(default)]
    struct Draft {
        name: String,
        stocks: String,
        leaks: String,
    }

    /// Boxes send "no" and, when ticked, "yes" after it; lists are joined.
    #[test]
    fn a_form_becomes_a_draft_and_back() {
        let form = Form {
            values: pairs(b"name=+Harbour+&stocks=1&stocks=4&leaks=no&leaks=yes&typo=1"),
            ..Form::default()
        };
        let draft: Draft = form.draft(&["stocks"]);
        assert_eq!(
            draft,
            Draft {
                name: "Harbour".into(),
                stocks: "1,4".into(),
                leaks: "yes".into()
            }
        );
        assert_eq!(Form::from_draft(&draft).text("stocks"), "1,4");
    }

    /// What was typed stays, beside what is wrong with it.
    #[test]
    fn a_refused_form_keeps_its_values() {
        let fault = Fault {
            field: "grams".into(),
            error: Error::new(
                Kind::OutOfRange,
                "a weight",
                "-3",
                "0 to 20000 g",
                "Enter a weight within these limits.",
            ),
        };
        let form = Form::fresh([("grams", "-3")]).refused(vec![fault]);
        assert!(form.refusals().into_string().contains("0 to 20000 g"));
        let field = form.field("grams", "Weight").number().into_string();
        assert!(field.contains("value=\"-3\"") && field.contains("aria-invalid=\"true\""));
        assert_eq!(form.status(), StatusCode::UNPROCESSABLE_ENTITY);
    }

    #[test]
    fn percent_signs_are_read() {
        let read = pairs(b"a=1%2C5+m&b=%zz&c&d=x=y");
        let expected = [("a", "1,5 m"), ("b", "%zz"), ("c", ""), ("d", "x=y")];
        assert_eq!(read, expected.map(|(n, v)| (n.to_owned(), v.to_owned())));
    }

    /// A double click is one asking; another address, or something typed over, is another one.
    #[test]
    fn an_asking_is_known_by_its_name_address_and_contents() {
        let key = |sent_to: &str, text: &str| {
            Form {
                values: pairs(text.as_bytes()),
                sent_to: sent_to.to_owned(),
                ..Form::default()
            }
            .request_key()
        };
        let first = key("/weigh", "request=r1&can=1&grams=402&seen=a").unwrap();
        let same = key("/weigh", "grams=402&can=1&request=r1&seen=b").unwrap();
        assert_eq!(first, same);
        for (sent_to, text) in [
            ("/weigh", "request=r1&can=1&grams=403"),
            ("/weigh", "request=r2&can=1&grams=402"),
            ("/cans/1/weigh", "request=r1&can=1&grams=402"),
        ] {
            assert_ne!(key(sent_to, text).unwrap(), first, "{sent_to} {text}");
        }
        assert_eq!(key("/weigh", "can=1&grams=402"), None);
    }

    #[test]
    fn no_two_askings_share_a_name() {
        assert_ne!(new_request(), new_request());
    }
}
