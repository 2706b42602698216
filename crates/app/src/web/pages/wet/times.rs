//! Developing times of the user's own: list, add, change, put away.

use super::kit::{SHELF, put_away};
use super::source;
use crate::service::wet::times::{TimeDraft, bath_name, told};
use crate::service::wet::tools::Telling;
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::shelf::{SheetTimeId, Stock};
use spoolwright_core::wedge::record::StockCard;
use spoolwright_core::wet::record::SheetTime;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/times", get(list).post(add))
        .route("/wet/times/{id}", get(edit).post(change))
        .route("/wet/times/{id}/close", post(close))
}

struct Known {
    times: Vec<SheetTime>,
    stocks: Vec<Stock>,
    cards: Vec<StockCard>,
    telling: Telling,
}

fn known(s: &Service) -> Outcome<Known> {
    let shelf = s.shelf()?;
    Ok(Known {
        times: s.times()?,
        stocks: shelf.stocks.clone(),
        cards: shelf.cards.clone(),
        telling: s.telling()?,
    })
}

fn sheet() -> Page {
    Page::new(Way::Wet, "Developing times").sheet("Developing times")
}

/// Which stock the time to be added is for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct For {
    stock: String,
}

async fn list(
    State(app): State<App>,
    Query(asked): Query<Asked>,
    Query(new): Query<For>,
) -> Answer {
    let known = app.ask(known).await?;
    let form = Form::fresh([("stock", new.stock)]);
    app.show(sheet(), &asked, list_page(&known, &form)).await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &TimeDraft, r| s.save_time(None, d, r))
        .await?
    {
        Ok(made) => Ok(go_on("/wet/times", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let known = app.ask(known).await?;
            form.answer(sheet().show(list_page(&known, &form)))
        }
    }
}

async fn edit(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let (time, stocks, telling) = app
        .ask(move |s| Ok((s.time(SheetTimeId(id))?, s.stocks()?, s.telling()?)))
        .await?;
    let form = Form::from_record(&TimeDraft::from(&time));
    app.show(sheet(), &asked, edit_page(&form, &time, &stocks, telling))
        .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let (time, stocks, telling) = app
        .ask(move |s| Ok((s.time(SheetTimeId(id))?, s.stocks()?, s.telling()?)))
        .await?;
    match app
        .change(
            &form,
            &[],
            move |s| Ok(TimeDraft::from(&s.time(SheetTimeId(id))?)),
            move |s, d: &TimeDraft, r| s.save_time(Some(SheetTimeId(id)), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/wet/times", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?.seeing(&TimeDraft::from(&time));
            form.answer(sheet().show(edit_page(&form, &time, &stocks, telling)))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/wet/times", move |s, r| {
        s.close_time(SheetTimeId(id), closed, r)
    })
    .await
}

fn list_page(k: &Known, form: &Form) -> Markup {
    html! {
        h1 { "Developing times" }
        p.soft { "A stock card from the wedge bench goes before these, unless one of these is for the very EI and the card is not; these go before a recipe's own figure. The run's sheet says which was taken." }
        @if k.times.is_empty() && k.cards.iter().all(|c| c.time_min.is_none()) { p { "None yet." } }
        ul.rows {
            @for t in k.times.iter().filter(|t| !t.closed) { li { (row(t, name(&k.stocks, t.stock), k.telling)) } }
            @for c in &k.cards {
                @if let Some(time) = c.time_min {
                    li {
                        a.row href={ "/cards/" (c.id) } {
                            span.what {
                                span.name { (name(&k.stocks, c.stock)) }
                                span.more { (bath_name(&c.developer, &c.dilution)) ", from its stock card" }
                            }
                            span.much { b { (told(time.value)) } @if let Some(t) = c.temperature_c { (k.telling.temperature(t)) } }
                        }
                    }
                }
            }
        }
        details #add open[k.times.is_empty() || form.is_faulty() || !form.text("stock").is_empty()] {
            summary { "Add a time" }
            (form.refusals())
            @if k.stocks.is_empty() { p { a href="/stocks/new" { "Add a stock first." } } }
            @else {
                form.form method="post" action="/wet/times" { (fields(form, &k.stocks, k.telling)) (main_act("Add the time")) }
            }
        }
        @if k.times.iter().any(|t| t.closed) {
            h2 { "Put away" }
            ul.rows { @for t in k.times.iter().filter(|t| t.closed) { li { (row(t, name(&k.stocks, t.stock), k.telling)) } } }
        }
        p { a href="/wet" { "Wet bench" } }
    }
}

fn name(stocks: &[Stock], id: spoolwright_core::shelf::StockId) -> &str {
    stocks
        .iter()
        .find(|s| s.id == id)
        .map_or("", |s| s.name.as_str())
}

/// One developing time in a list, under the name of its stock.
fn row(t: &SheetTime, stock: &str, telling: Telling) -> Markup {
    let more = format!(
        "{}, {}",
        bath_name(&t.developer, &t.dilution),
        source(t.source)
    );
    named(t, stock, &more, telling)
}

/// The same on its stock's own page: under the name of its bath.
pub(crate) fn of_stock(t: &SheetTime, telling: Telling) -> Markup {
    named(
        t,
        &bath_name(&t.developer, &t.dilution),
        source(t.source),
        telling,
    )
}

fn named(t: &SheetTime, name: &str, more: &str, telling: Telling) -> Markup {
    html! {
        a.row href={ "/wet/times/" (t.id) } {
            span.what {
                span.name { (name) @if let Some(ei) = t.ei { " at EI " (say::speed(ei)) } }
                span.more { (more) @if !t.note.is_empty() { ": " (t.note) } }
            }
            span.much { b { (told(t.time_min)) } (telling.temperature(t.temperature_c)) }
        }
    }
}

fn fields(form: &Form, stocks: &[Stock], telling: Telling) -> Markup {
    let names: Vec<(String, &str)> = stocks
        .iter()
        .filter(|s| !s.closed)
        .map(|s| (s.id.to_string(), s.name.as_str()))
        .collect();
    html! {
        (form.request_field())
        (form.field("stock", "Stock").select(&names))
        div.pair {
            (form.field("developer", "Developer").hint("By the name your recipes use.").needed().text())
            (form.field("dilution", "Dilution").text())
        }
        div.pair {
            (form.field("time", "Time").hint("Such as 8:20.").needed().text())
            (form.field("temperature", "At").hint(telling.either("20 °C when empty.", "68 °F when empty.")).text())
        }
        div.pair {
            (form.field("ei", "Exposed at EI").hint("Any when empty.").number())
            (form.field("source", "How it is known").select(&[
                ("sheet", "from a sheet"), ("own", "it worked before"), ("rule-of-thumb", "a rule of thumb"),
            ]))
        }
        (form.field("note", "Note").hint("Which sheet, which day.").text())
    }
}

fn edit_page(form: &Form, t: &SheetTime, stocks: &[Stock], telling: Telling) -> Markup {
    html! {
        h1 { (name(stocks, t.stock)) " in " (bath_name(&t.developer, &t.dilution)) }
        (form.refusals())
        form.form method="post" action={ "/wet/times/" (t.id) } {
            (fields(form, stocks, telling))
            (main_act("Keep the changes"))
        }
        (put_away(&format!("/wet/times/{}/close", t.id), t.closed, SHELF))
    }
}
