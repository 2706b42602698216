//! A refusal on the page: the core's four parts, with the status that fits its kind.

use super::page;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use spoolwright_core::{Error, Kind};

/// A refusal with its status.
#[derive(Debug)]
pub(crate) struct Problem {
    status: StatusCode,
    error: Error,
}

impl Problem {
    pub(crate) fn new(status: StatusCode, error: Error) -> Self {
        Self { status, error }
    }

    /// No such page or thing.
    pub(crate) fn not_found(what: &str, given: &str) -> Self {
        Self::new(
            StatusCode::NOT_FOUND,
            Error::new(
                Kind::Unknown,
                what,
                given,
                "one of those that are listed",
                "Go back and choose it from its list.",
            ),
        )
    }
}

impl From<Error> for Problem {
    fn from(error: Error) -> Self {
        let status = match error.kind {
            Kind::OutOfRange | Kind::Missing | Kind::Inconsistent | Kind::Impossible => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
            Kind::Unknown => StatusCode::NOT_FOUND,
            Kind::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Kind::Conflict => StatusCode::CONFLICT,
        };
        Self { status, error }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let body = page::bare(
            "This was refused",
            html! {
                h1 { "This was refused" }
                (four_parts(&self.error))
                div.acts { a.btn href="/" { "Back to the bench" } }
            },
        );
        (self.status, body).into_response()
    }
}

/// The four parts of a refusal, to stand above a form or alone.
pub(crate) fn four_parts(e: &Error) -> Markup {
    html! {
        section.refused role="alert" tabindex="-1" autofocus {
            h2 { (sentence(&e.what)) }
            dl {
                dt { "Given" } dd { (e.given) }
                dt { "Allowed" } dd { (e.allowed) }
                dt { "To do" } dd.remedy { (e.remedy) }
            }
        }
    }
}

/// The same with its first letter large.
fn sentence(s: &str) -> String {
    let mut chars = s.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}
