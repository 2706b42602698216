//! The journal as a story, of everything or of one thing, and undo.

use crate::service::rolls::{About, STORY_PAGE};
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::shelf::{
    CanId, CassetteId, EntryId, JournalEntry, LoaderId, RollId, StockId, WantId,
};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/history", get(show))
        .route("/history/{id}/undo", post(undo))
}

#[derive(Debug, Default, Deserialize, Clone, Copy)]
#[serde(default)]
struct Which {
    stock: Option<i64>,
    can: Option<i64>,
    loader: Option<i64>,
    cassette: Option<i64>,
    want: Option<i64>,
    roll: Option<i64>,
    before: Option<i64>,
    done: Option<i64>,
}

impl Which {
    /// What the history is about, and the part of its address that says so.
    fn about(self) -> (About, String) {
        let one = |id: Option<i64>, word: &str, about: fn(i64) -> About| {
            id.map(|id| (about(id), format!("{word}={id}&")))
        };
        one(self.stock, "stock", |i| About::Stock(StockId(i)))
            .or_else(|| one(self.can, "can", |i| About::Can(CanId(i))))
            .or_else(|| one(self.loader, "loader", |i| About::Loader(LoaderId(i))))
            .or_else(|| {
                one(self.cassette, "cassette", |i| {
                    About::Cassette(CassetteId(i))
                })
            })
            .or_else(|| one(self.want, "want", |i| About::Want(WantId(i))))
            .or_else(|| one(self.roll, "roll", |i| About::Roll(RollId(i))))
            .unwrap_or((About::Everything, String::new()))
    }
}

async fn show(State(app): State<App>, Query(which): Query<Which>) -> Answer {
    let (about, address) = which.about();
    let entries = app
        .ask(move |s| s.history(about, which.before.map(EntryId)))
        .await?;
    let asked = Asked {
        done: which.done,
        before: None,
    };
    app.show(
        Page::new(Way::More, "History"),
        &asked,
        page(&entries, &address),
    )
    .await
}

async fn undo(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    app.press(&form, "/history", move |s, r| s.undo(EntryId(id), r))
        .await
}

fn page(entries: &[JournalEntry], address: &str) -> Markup {
    html! {
        h1 { "History" }
        p.soft { "Everything you did, newest first. Nothing is ever lost: an undo is an entry too." }
        @if entries.is_empty() { p { "Nothing yet." } }
        ol.story {
            @for e in entries {
                li {
                    time datetime=(e.at) { (say::moment(&e.at)) }
                    div.told {
                        span.undone[e.undone] { (e.story) }
                        @if !e.undone {
                            form method="post" action={ "/history/" (e.id) "/undo" } {
                                (Form::default().request_field())
                                button.quiet aria-label={ "Undo: " (e.story) } { (if say::is_undo(e) { "Do again" } else { "Undo" }) }
                            }
                        }
                    }
                }
            }
        }
        @if entries.len() >= STORY_PAGE as usize {
            @if let Some(last) = entries.last() { p { a.btn href={ "/history?" (address) "before=" (last.id) } { "Earlier" } } }
        }
    }
}
