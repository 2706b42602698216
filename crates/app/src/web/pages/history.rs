//! The journal as a story, of everything or of one thing, and undo.

use crate::service::Service;
use crate::service::rolls::{About, STORY_PAGE};
use crate::web::app::{Answer, App, Asked, Query, go_on, undo as undo_form};
use crate::web::form::Form;
use crate::web::here::{Here, Who, own_page};
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::shelf::{
    BathId, CameraId, CanId, CassetteId, EntryId, FrameNoteId, JournalEntry, LoaderId, RecipeId,
    ReelId, RollId, RunId, SheetTimeId, StockId, TankId, TicketId, WantId,
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
    run: Option<i64>,
    bath: Option<i64>,
    camera: Option<i64>,
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
            .or_else(|| one(self.run, "run", |i| About::Run(RunId(i))))
            .or_else(|| one(self.bath, "bath", |i| About::Bath(BathId(i))))
            .or_else(|| one(self.camera, "camera", |i| About::Camera(CameraId(i))))
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
    let request = form.request_key();
    let back = own_page(form.text("back"));
    let who = Here::now().who;
    let (made, next) = app
        .ask(move |s| {
            let made = match who {
                Who::Machine => s.undo(EntryId(id), request.as_deref())?,
                _ => s.undo_from_a_device(EntryId(id), request.as_deref())?,
            };
            let next = back
                .filter(|back| is_there(s, back.path()))
                .map_or_else(|| "/history".to_owned(), |back| back.to_string());
            Ok((made, next))
        })
        .await?;
    Ok(go_on(&next, made.entry))
}

/// Whether the page at a path still has its subject: what is undone may have been its making.
fn is_there(s: &Service, path: &str) -> bool {
    let mut parts = path.trim_start_matches("/wet").split('/').skip(1);
    let (kind, which) = (parts.next().unwrap_or_default(), parts.next());
    let Some(which) = which else { return true };
    if kind == "roll" {
        let note = parts.nth(1).and_then(|n| n.parse().ok());
        return match (s.roll(which), note) {
            (Ok(roll), Some(note)) => s.note_of(roll.roll.id, FrameNoteId(note)).is_ok(),
            (roll, _) => roll.is_ok(),
        };
    }
    let Ok(id) = which.parse() else { return true };
    match kind {
        "stocks" => s.stock(StockId(id)).is_ok(),
        "loaders" => s.loader(LoaderId(id)).is_ok(),
        "cans" => s.can(CanId(id)).is_ok(),
        "cassettes" => s.cassette(CassetteId(id)).is_ok(),
        "cameras" => s.camera(CameraId(id)).is_ok(),
        "wants" => s.want(WantId(id)).is_ok(),
        "tickets" => s.ticket(TicketId(id)).is_ok(),
        "runs" => s.run(RunId(id)).is_ok(),
        "baths" => s.bath(BathId(id), None).is_ok(),
        "recipes" => s.recipe(RecipeId(id)).is_ok(),
        "reels" => s.reel(ReelId(id)).is_ok(),
        "tanks" => s.tank(TankId(id)).is_ok(),
        "times" => s.time(SheetTimeId(id)).is_ok(),
        _ => true,
    }
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
                            (undo_form(e, html! {
                                button.quiet aria-label={ "Undo: " (e.story) } { (if say::is_undo(e) { "Do again" } else { "Undo" }) }
                            }))
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
