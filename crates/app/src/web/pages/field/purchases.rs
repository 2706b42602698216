//! What was bought: the list, and the form that adds to it or corrects it.

use crate::service::field::purchases::{PurchaseDraft, PurchaseView, in_words};
use crate::service::settings::Settings;
use crate::service::wet::baths::BathView;
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::problem::Problem;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::field::record::PageFormat;
use spoolwright_core::shelf::PurchaseId;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/purchases", get(list).post(add))
        .route("/purchases/{id}", get(edit).post(change))
}

/// What the pages offer to choose from.
struct Offered {
    all: Vec<PurchaseView>,
    baths: Vec<BathView>,
    formats: Vec<PageFormat>,
    settings: Settings,
}

async fn offered(app: &App) -> Result<Offered, Problem> {
    app.ask(|s| {
        Ok(Offered {
            all: s.purchases()?,
            baths: s.baths()?,
            formats: s.formats_of_pages()?,
            settings: s.settings()?,
        })
    })
    .await
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let offered = offered(&app).await?;
    app.show(sheet(), &asked, list_page(&offered, &Form::default()))
        .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &PurchaseDraft, r| {
            s.save_purchase(None, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on("/purchases", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let offered = offered(&app).await?;
            form.answer(sheet().show(list_page(&offered, &form)))
        }
    }
}

async fn edit(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let purchase = app.ask(move |s| s.purchase(PurchaseId(id))).await?;
    let offered = offered(&app).await?;
    let form = Form::from_record(&PurchaseDraft::of(&purchase));
    app.show(sheet(), &asked, edit_page(id, &offered, &form))
        .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let id = PurchaseId(id);
    let present =
        move |s: &Service| -> Outcome<PurchaseDraft> { Ok(PurchaseDraft::of(&s.purchase(id)?)) };
    match app
        .change(&form, &[], present, move |s, d: &PurchaseDraft, r| {
            s.save_purchase(Some(id), d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on("/purchases", made.entry)),
        Err(failure) => {
            let purchase = app.ask(move |s| s.purchase(id)).await?;
            let form = form
                .refused_by(failure)?
                .seeing(&PurchaseDraft::of(&purchase));
            let offered = offered(&app).await?;
            form.answer(sheet().show(edit_page(id.0, &offered, &form)))
        }
    }
}

fn sheet() -> Page {
    Page::new(Way::More, "What was bought").sheet("Cost")
}

fn list_page(o: &Offered, form: &Form) -> Markup {
    html! {
        h1 { "What was bought" }
        p { "Cassettes, chemistry, pages, anything else that frames are to bear. Film is priced with its can." }
        (form.refusals())
        form.form method="post" action="/purchases" {
            (form.request_field())
            (fields(o, form))
            (main_act("Write it down"))
        }
        h2 { "So far" }
        @if o.all.is_empty() { p.soft { "Nothing yet." } }
        ul.rows {
            @for v in &o.all {
                li {
                    a.row href={ "/purchases/" (v.purchase.id) } {
                        span.what {
                            span.name { (in_words(&v.purchase)) }
                            span.more {
                                (say::day(&v.purchase.day))
                                @if let Some(name) = v.bath.as_ref().or(v.format.as_ref()) { ", for " (name) }
                            }
                        }
                        span.much { b { (o.settings.money(v.purchase.price)) } }
                    }
                }
            }
        }
        p.ways-on { a href="/cost" { "What a frame came to" } }
    }
}

fn edit_page(id: i64, o: &Offered, form: &Form) -> Markup {
    html! {
        h1 { "A purchase" }
        (form.refusals())
        form.form method="post" action={ "/purchases/" (id) } {
            (form.request_field())
            (fields(o, form))
            (main_act("Keep the changes"))
        }
        p.ways-on { a href="/purchases" { "What was bought" } }
    }
}

fn fields(o: &Offered, form: &Form) -> Markup {
    let none = [(String::new(), "—".to_owned())];
    let baths = o.baths.iter().filter(|b| !b.card.closed);
    let baths = baths.map(|b| (b.card.id.to_string(), b.card.name.clone()));
    let baths: Vec<(String, String)> = none.iter().cloned().chain(baths).collect();
    let formats = o.formats.iter().filter(|f| !f.closed);
    let formats = formats.map(|f| (f.id.to_string(), f.name.clone()));
    let formats: Vec<(String, String)> = none.iter().cloned().chain(formats).collect();
    html! {
        (form.field("what", "What").select(&[
            ("cassettes", "cassettes"), ("chemistry", "chemistry"), ("pages", "sleeve pages"), ("other", "anything else"),
        ]))
        div.pair {
            (form.field("price", "Paid for all of it").unit(&o.settings.currency).needed().number())
            (form.field("quantity", "How many").hint("One when empty.").number())
        }
        (form.field("uses_each", "How often one serves").hint("Fillings of a cassette, films of 36 of a bottle. Empty if nobody knows.").number())
        @if 1 < baths.len() { (form.field("bath", "Chemistry for").hint("Without one every film developed here bears it.").select(&baths)) }
        @if 1 < formats.len() { (form.field("format", "Pages of the kind").select(&formats)) }
        div.pair {
            (form.field("day", "Day").hint("Today when empty.").date())
            (form.field("note", "What it was").text())
        }
    }
}
