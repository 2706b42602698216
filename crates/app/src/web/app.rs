//! What every handler does: ask the service off the async threads, turn its answer into a page.

use super::form::Form;
use super::here::Here;
use super::lan::Lan;
use super::page::Page;
use super::problem::Problem;
use super::say;
use crate::service::settings::Settings;
use crate::service::{Failure, Made, Outcome, Request, Service};
use axum::extract::FromRequestParts;
use axum::http::StatusCode;
use axum::http::request::Parts;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use spoolwright_core::shelf::{EntryId, JournalEntry};
use spoolwright_core::{Error, Kind};
use std::convert::Infallible;
use std::sync::Arc;

/// What a handler gives back.
pub(crate) type Answer = Result<Response, Problem>;

/// The state of the page server: the one service, and the network's side of it where there is one.
#[derive(Clone)]
pub(crate) struct App {
    service: Arc<Service>,
    pub(crate) lan: Option<Arc<Lan>>,
}

/// What the address of a page may carry: what was just done, and where a list goes on.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Asked {
    /// The journal entry of what was just done.
    pub(crate) done: Option<i64>,
    /// List what is older than this.
    pub(crate) before: Option<i64>,
}

/// A query that never refuses: nonsense in it is taken as nothing.
pub(crate) struct Query<T>(pub(crate) T);

impl<S: Send + Sync, T: DeserializeOwned + Default> FromRequestParts<S> for Query<T> {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(Self(
            axum::extract::Query::try_from_uri(&parts.uri)
                .map(|q| q.0)
                .unwrap_or_default(),
        ))
    }
}

impl App {
    pub(crate) fn new(service: Arc<Service>, lan: Option<Arc<Lan>>) -> Self {
        Self { service, lan }
    }

    /// Seconds of the machine's own clock.
    pub(crate) fn seconds(&self) -> f64 {
        self.service.seconds()
    }

    /// Asks the service on a thread that may wait for the disk.
    async fn call<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&Service) -> Outcome<T> + Send + 'static,
    ) -> Result<Outcome<T>, Problem> {
        let service = Arc::clone(&self.service);
        tokio::task::spawn_blocking(move || ask(&service))
            .await
            .map_err(|_| Problem::inside("it stopped midway"))
    }

    /// Asks for what a page shows.
    pub(crate) async fn ask<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&Service) -> Outcome<T> + Send + 'static,
    ) -> Result<T, Problem> {
        self.call(ask).await?.map_err(Problem::from)
    }

    /// Asks for a view whose faults a form is to show.
    pub(crate) async fn look<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&Service) -> Outcome<T> + Send + 'static,
    ) -> Result<Outcome<T>, Problem> {
        self.call(ask).await
    }

    /// Carries out what a form asks; faults are handed back for the form to show.
    pub(crate) async fn carry_out<D, T>(
        &self,
        form: &Form,
        many: &[&str],
        act: impl FnOnce(&Service, &D, Request<'_>) -> Outcome<Made<T>> + Send + 'static,
    ) -> Result<Outcome<Made<T>>, Problem>
    where
        D: DeserializeOwned + Default + Send + 'static,
        T: Send + 'static,
    {
        let draft: D = form.draft(many);
        let request = form.request_key();
        self.call(move |s| act(s, &draft, request.as_deref())).await
    }

    /// Changes a record as a form asks, unless the record has changed since the form was shown.
    pub(crate) async fn change<D, T>(
        &self,
        form: &Form,
        many: &[&str],
        present: impl FnOnce(&Service) -> Outcome<D> + Send + 'static,
        act: impl Fn(&Service, &D, Request<'_>) -> Outcome<Made<T>> + Send + 'static,
    ) -> Result<Outcome<Made<T>>, Problem>
    where
        D: DeserializeOwned + Serialize + Default + Send + 'static,
        T: Send + 'static,
    {
        let draft: D = form.draft(many);
        let (form, request) = (form.clone(), form.request_key());
        self.call(move |s| {
            let present = present(s)?;
            if !form.is_overtaken(&present) {
                return act(s, &draft, request.as_deref());
            }
            // Saving what is there changes nothing, but tells whether this very asking was carried out
            // before: a double click is no conflict.
            let made = act(s, &present, request.as_deref())?;
            if made.value.is_none() {
                return Ok(made);
            }
            Err(Error::new(
                Kind::Conflict,
                "what is changed here",
                "it was changed elsewhere meanwhile",
                "what was there when this form was opened",
                "Press again to keep yours, or open the page anew to see the other change.",
            )
            .into())
        })
        .await
    }

    /// Carries out what a button asks, and goes on to `next`; a refusal becomes a page of its own.
    pub(crate) async fn press<T: Send + 'static>(
        &self,
        form: &Form,
        next: impl Into<String>,
        act: impl FnOnce(&Service, Request<'_>) -> Outcome<Made<T>> + Send + 'static,
    ) -> Answer {
        let request = form.request_key();
        let made = self
            .call(move |s| act(s, request.as_deref()))
            .await?
            .map_err(Problem::from)?;
        Ok(go_on(&next.into(), made.entry))
    }

    /// The user's choices, for units and money.
    pub(crate) async fn settings(&self) -> Result<Settings, Problem> {
        self.ask(Service::settings).await
    }

    /// The page with what was just done above it, if the address says so.
    pub(crate) async fn show(&self, page: Page, asked: &Asked, body: Markup) -> Answer {
        let notice = match asked.done {
            Some(id) => self.ask(move |s| s.entry(EntryId(id))).await.ok().map(|entry| {
                html! {
                    div.done role="status" {
                        p { (entry.story) }
                        @if !entry.undone {
                            (undo(&entry, html! { button { (if say::is_undo(&entry) { "Do it again" } else { "Undo" }) } }))
                        }
                    }
                }
            }),
            None => None,
        };
        Ok(page.notice(notice).show(body).into_response())
    }
}

/// The form that takes an entry back, and then leads back to this page.
pub(crate) fn undo(entry: &JournalEntry, button: Markup) -> Markup {
    html! {
        form method="post" action={ "/history/" (entry.id) "/undo" } {
            (Form::default().request_field())
            input type="hidden" name="back" value=(Here::now().without_done());
            (button)
        }
    }
}

/// To the next page, with an offer to undo what was done.
pub(crate) fn go_on(next: &str, entry: Option<EntryId>) -> Response {
    let address = match entry {
        Some(entry) => {
            let (path, fragment) = next
                .split_once('#')
                .map_or((next, None), |(p, f)| (p, Some(f)));
            let joint = if path.contains('?') { '&' } else { '?' };
            let fragment = fragment.map(|f| format!("#{f}")).unwrap_or_default();
            format!("{path}{joint}done={entry}{fragment}")
        }
        None => next.to_owned(),
    };
    Redirect::to(&address).into_response()
}

impl Form {
    /// The form with what the service found wrong in it; what no typing can mend is a page of its own.
    pub(crate) fn refused_by(self, failure: Failure) -> Result<Self, Problem> {
        match failure {
            Failure::Refused(faults) if !faults.is_empty() => Ok(self.refused(faults)),
            other => Err(other.into()),
        }
    }

    /// The page that shows this form, with its status.
    pub(crate) fn answer(&self, page: Html<String>) -> Answer {
        Ok((self.status(), page).into_response())
    }
}

impl Problem {
    /// Trouble that the person cannot mend by typing differently.
    pub(crate) fn inside(what: &str) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            Error::new(
                Kind::Conflict,
                "the program's own work",
                what,
                "a store that can be read and written",
                "Nothing was changed. Check that the disk is not full and the store's folder can be written, then try again.",
            ),
        )
    }
}

impl From<Failure> for Problem {
    fn from(failure: Failure) -> Self {
        match failure {
            Failure::Refused(faults) => match faults.into_iter().next() {
                Some(fault) => fault.error.into(),
                None => Self::inside("it was refused without a reason"),
            },
            Failure::Trouble(e) => Self::inside(&e.to_string()),
        }
    }
}
