//! Stocks: list, add, change, put away.

use super::first_steps::{self, Step};
use super::{main_act, wedge, wet};
use crate::service::draft::StockDraft;
use crate::service::shelf::{CanView, Shelf};
use crate::service::wedge::CardView;
use crate::service::wet::tools::Telling;
use crate::service::{Service, settings::Settings};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::shelf::{Base, CanState, Stock, StockId};
use spoolwright_core::wet::after::Tally;
use spoolwright_core::wet::record::SheetTime;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/stocks", get(list).post(add))
        .route("/stocks/new", get(blank))
        .route("/stocks/{id}", get(show).post(change))
        .route("/stocks/{id}/close", post(close))
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let shelf = app.ask(Service::shelf).await?;
    app.show(
        Page::new(Way::More, "Stocks"),
        &asked,
        list_page(&shelf.stocks),
    )
    .await
}

async fn blank(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let settings = app.settings().await?;
    app.show(
        new_sheet(),
        &asked,
        form_page(&Form::default(), None, &settings),
    )
    .await
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &StockDraft, r| s.save_stock(None, d, r))
        .await?
    {
        Ok(made) => Ok(go_on(first_steps::onward(&form, "/stocks"), made.entry)),
        Err(failure) if first_steps::is_on_the_way(&form) => {
            first_steps::refused(&app, Step::Stock, form, failure).await
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let settings = app.settings().await?;
            form.answer(new_sheet().show(form_page(&form, None, &settings)))
        }
    }
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let id = StockId(id);
    let (shelf, stock, cards, tank) = app
        .ask(move |s| {
            let tank = AtTheTank {
                tallies: s.stock_tallies(id)?,
                times: s
                    .times()?
                    .into_iter()
                    .filter(|t| t.stock == id && !t.closed)
                    .collect(),
            };
            Ok((s.shelf()?, s.stock(id)?, s.cards(id)?, tank))
        })
        .await?;
    app.show(sheet(&stock), &asked, one(&shelf, &stock, &cards, &tank))
        .await
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let stock = app.ask(move |s| s.stock(StockId(id))).await?;
    match app
        .change(
            &form,
            &[],
            move |s| Ok(StockDraft::from(&s.stock(StockId(id))?)),
            move |s, d: &StockDraft, r| s.save_stock(Some(StockId(id)), d, r),
        )
        .await?
    {
        Ok(made) => Ok(go_on("/stocks", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?.seeing(&StockDraft::from(&stock));
            let settings = app.settings().await?;
            form.answer(sheet(&stock).show(form_page(&form, Some(&stock), &settings)))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/stocks", move |s, r| {
        s.close_stock(StockId(id), closed, r)
    })
    .await
}

/// What the wet bench knows of a stock.
struct AtTheTank {
    tallies: Vec<(Option<f64>, Tally)>,
    times: Vec<SheetTime>,
}

/// How its developed rolls came out, by the EI on their labels, and its developing times.
fn developed(stock: &Stock, tank: &AtTheTank, telling: Telling) -> Markup {
    html! {
        @if !tank.tallies.is_empty() {
            h2 { "How its rolls came out" }
            div.scroll {
                table {
                    thead { tr { th { "EI" } th { "right" } th { "thin" } th { "dense" } th { "both" } } }
                    tbody {
                        @for (ei, t) in &tank.tallies {
                            tr {
                                th scope="row" { (ei.map_or("not said".to_owned(), say::speed)) }
                                @for n in [t.right, t.under, t.over, t.mixed] { td { (n) } }
                            }
                        }
                    }
                }
            }
            @for (ei, words) in tank.tallies.iter().filter_map(|(ei, t)| Some((ei, t.lean()?))) {
                div.note { p { @if let Some(ei) = ei { "EI " (say::speed(*ei)) ": " } (words) " " a href="/wedge/new" { "Begin a test" } } }
            }
        }
        @if !tank.times.is_empty() {
            h2 { "Its developing times" }
            ul.rows { @for t in &tank.times { li { (wet::times::of_stock(t, telling)) } } }
        }
        p.ways-on { a href={ "/wet/times?stock=" (stock.id) "#add" } { "Add a developing time" } }
    }
}

/// What it is rated at and developed for first; the form to change it last.
fn one(shelf: &Shelf, stock: &Stock, cards: &[CardView], tank: &AtTheTank) -> Markup {
    let cans: Vec<_> = shelf
        .cans
        .iter()
        .filter(|c| c.stock.id == stock.id)
        .collect();
    let form = Form::from_record(&StockDraft::from(stock));
    html! {
        h1 { (stock.name) }
        p {
            @if stock.closed { span.stamp.past { "put away" } " " }
            (process(stock)) ", " (stock.pitch.word()) " pitch"
            @if stock.base != Base::Unknown { ", " (stock.base.word()) " base" }
        }
        (wedge::of_stock(stock, cards, &shelf.settings))
        (developed(stock, tank, Telling::of(&shelf.settings, &[])))
        h2 { "Cans of it" }
        @if cans.is_empty() { p.soft { "None yet. " a href="/cans/new" { "Add a can" } "." } }
        ul.rows { @for c in &cans { li { (can(c, &shelf.settings)) } } }
        (learnt(&cans))
        @if !stock.note.is_empty() { h2 { "Note" } p { (stock.note) } }
        h2 { "Change it" }
        details {
            summary { "Name, speed, process, perforations, base" }
            (change_form(&form, stock, &shelf.settings))
        }
        (put_away(stock))
    }
}

fn process(stock: &Stock) -> &'static str {
    PROCESSES
        .iter()
        .find(|p| p.0 == stock.process.word())
        .map_or("", |p| p.1)
}

/// A can of the stock: what is left in it.
fn can(c: &CanView, settings: &Settings) -> Markup {
    html! {
        a.row href={ "/cans/" (c.can.id) } {
            span.what {
                span.name { (c.can.letters) }
                @if c.can.state == CanState::Open { span.more { (say::interval(settings, c.remaining.lower95, c.remaining.upper95)) ", 95 % interval" } }
                @else { span.more { (c.can.state.word()) } }
            }
            @if c.can.state == CanState::Open { span.much { b { (settings.length(c.remaining.mean)) } "left" } }
        }
    }
}

/// What weighings and diameters of its cans have taught of this stock.
fn learnt(cans: &[&CanView]) -> Markup {
    html! {
        @if let Some(c) = cans.first() {
            h2 { "What its cans have taught" }
            dl.fields {
                div { dt { "One metre weighs" } dd { (say::estimate(c.linear_mass_g_per_m, 2, " g")) } }
                div { dt { "Film is thick" } dd { (say::estimate(c.thickness_mm, 3, " mm")) } }
            }
            p.soft { "± is half the 95 % interval." }
        }
    }
}

fn new_sheet() -> Page {
    Page::new(Way::More, "Add a stock").sheet("New stock")
}

fn sheet(stock: &Stock) -> Page {
    Page::new(Way::More, &stock.name).sheet("Stock")
}

fn list_page(stocks: &[Stock]) -> Markup {
    let (open, closed): (Vec<_>, Vec<_>) = stocks.iter().partition(|s| !s.closed);
    html! {
        h1 { "Stocks" }
        p.soft { "The kinds of film you wind, each under the name you call it." }
        @if open.is_empty() { p { "None yet. Add the film that is in your can." } }
        ul.rows { @for s in &open { li { (row(s)) } } }
        div.thumb { a.btn.main href="/stocks/new" { "Add a stock" } }
        @if !closed.is_empty() {
            h2 { "Put away" }
            ul.rows { @for s in &closed { li { (row(s)) } } }
        }
    }
}

fn row(s: &Stock) -> Markup {
    html! {
        a.row href={ "/stocks/" (s.id) } {
            span.what {
                span.name { (s.name) }
                span.more { (process(s)) ", " (s.pitch.word()) " pitch" }
            }
            @if let Some(ei) = s.ei { span.much { b { (say::speed(ei)) } "EI" } }
        }
    }
}

fn form_page(form: &Form, stock: Option<&Stock>, settings: &Settings) -> Markup {
    html! {
        h1 { @if let Some(s) = stock { (s.name) } @else { "Add a stock" } }
        (form.refusals())
        @if let Some(s) = stock { (change_form(form, s, settings)) (put_away(s)) }
        @else {
            form.form method="post" action="/stocks" {
                (fields(form, settings))
                (main_act("Add the stock"))
            }
        }
    }
}

fn change_form(form: &Form, stock: &Stock, settings: &Settings) -> Markup {
    html! {
        form.form method="post" action={ "/stocks/" (stock.id) } {
            (fields(form, settings))
            (main_act("Keep the changes"))
        }
    }
}

fn put_away(stock: &Stock) -> Markup {
    html! {
        div.acts {
            form method="post" action={ "/stocks/" (stock.id) "/close" } {
                (Form::default().request_field())
                input type="hidden" name="closed" value=(if stock.closed { "no" } else { "yes" });
                button.quiet { (if stock.closed { "Take out again" } else { "Put away" }) }
            }
            a href={ "/history?stock=" (stock.id) } { "Its history" }
        }
    }
}

/// Processes, as (word, words).
const PROCESSES: [(&str, &str); 4] = [
    ("negative", "black-and-white negative"),
    ("reversal", "black-and-white reversal"),
    ("colour-negative", "colour negative"),
    ("colour-reversal", "colour reversal"),
];

/// The fields of a stock, also for the first-use path.
pub(crate) fn fields(form: &Form, settings: &Settings) -> Markup {
    html! {
        (form.request_field())
        (form.field("name", "What you call it").hint("Any name you will know it by at the loader.").needed().text())
        (form.field("ei", "Speed you rate it at").unit("EI")
            .hint("Printed on labels. Leave it empty if you do not know yet; you can fill it in later.").number())
        (form.field("process", "Developed as").select(&PROCESSES))
        (form.field("pitch", "Perforations")
            .hint("Long pitch is the default: film made for still cameras. Film made for cinema cameras is short pitch: 37.92 instead of 38.00 mm a frame.")
            .select(&[("long", "long pitch, for still cameras"), ("short", "short pitch, from cinema cameras")]))
        (form.field("base", "Base")
            .hint("Polyester is thinner and does not tear. Old nitrate film is a fire hazard: do not wind it; ask your archive or fire service.")
            .select(&[("unknown", "not known"), ("acetate", "acetate"), ("polyester", "polyester"), ("nitrate", "nitrate")]))
        (form.field("backing", "Backing")
            .hint("Some motion-picture stock carries remjet, black carbon on its back: it comes off in a bath of its own, and must not go to a lab that does not expect it.")
            .select(&[("unknown", "not known"), ("usual", "usual: nothing to remove"), ("remjet", "remjet")]))
        details open[form.is_faulty()] {
            summary { "Weight, thickness, price, note" }
            p.hint { "None of these is needed. What you leave empty is learnt from your weighings, with an honest interval until then." }
            div.pair {
                (form.field("linear_mass_g_per_m", "Weight of one metre").unit("g/m").number())
                (form.field("linear_mass_sd_g_per_m", "give or take").unit("g/m").number())
                (form.field("thickness_mm", "Thickness").unit("mm").number())
                (form.field("thickness_sd_mm", "give or take").unit("mm").number())
            }
            (form.field("ready_wound_price", "Price of a ready-wound 36").unit(&*settings.currency)
                .hint("Only to compare with what your own rolls cost.").number())
            (form.field("note", "Note").lines())
        }
    }
}
