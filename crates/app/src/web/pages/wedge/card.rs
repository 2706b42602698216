//! Stock cards: made from a test at a target, read, listed on their stock's page.

use super::target::{self, Aim};
use super::words;
use crate::service::settings::Settings;
use crate::service::wedge::{CardDraft, CardView, TargetDraft, TestView};
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::extract::{Path, RawQuery, State};
use axum::response::IntoResponse;
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::shelf::{Base, Stock, StockCardId, WedgeTestId};
use spoolwright_core::wedge::record::{SpeedKind, StockCard};

/// Target and card in one form.
#[derive(Debug, Default, Deserialize)]
struct Made {
    #[serde(flatten)]
    target: TargetDraft,
    #[serde(flatten)]
    card: CardDraft,
}

/// The form with the figures it would keep.
fn look(s: &Service, id: i64, query: &str) -> Outcome<(TestView, Markup, Form)> {
    let view = s.wedge_test(WedgeTestId(id))?;
    let layers = s.wedge_layers(view.test.id)?;
    let (figures, form) = match target::visual(&layers) {
        Some(analysis) if target::can_aim(analysis) => {
            let aim = Aim::of(query, analysis)?;
            let figures = match aim.target.map(|t| analysis.at(t)) {
                Some(at) => target::figures(&at?, analysis.speed_kind),
                None => html! {},
            };
            (figures, aim.form)
        }
        _ => match s.wedge_colour(view.test.id)? {
            Some(colour) => (super::one::together(&layers, &colour), Form::default()),
            None => (html! {}, Form::default()),
        },
    };
    Ok((view, figures, form))
}

pub(super) async fn blank(
    State(app): State<App>,
    Path(id): Path<i64>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query = query.unwrap_or_default();
    let (view, figures, form) = app.ask(move |s| look(s, id, &query)).await?;
    Ok(sheet(&view)
        .show(page(&view, &figures, &form))
        .into_response())
}

pub(super) async fn make(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let made = app
        .carry_out(&form, &[], move |s, d: &Made, r| {
            s.make_card(WedgeTestId(id), &d.target, &d.card, r)
        })
        .await?;
    match made {
        Ok(made) => {
            let next = made
                .value
                .map_or_else(|| format!("/wedge/{id}"), |card| format!("/cards/{card}"));
            Ok(go_on(&next, made.entry))
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let query = format!(
                "target={}&measure={}&contrast={}",
                form.text("target"),
                form.text("measure"),
                form.text("contrast")
            );
            let (view, figures, _) = app.ask(move |s| look(s, id, &query)).await?;
            form.answer(sheet(&view).show(page(&view, &figures, &form)))
        }
    }
}

fn sheet(view: &TestView) -> Page {
    Page::new(Way::More, format!("Card for {}", view.stock.name)).sheet("New stock card")
}

fn page(view: &TestView, figures: &Markup, form: &Form) -> Markup {
    html! {
        h1 { "Card for " (view.stock.name) }
        p { "From the test " a href={ "/wedge/" (view.test.id) } { (view.test.name) } ". From then on winding labels, tickets and the plan use its EI; older cards stay readable." }
        (figures)
        (form.refusals())
        form.form method="post" action={ "/wedge/" (view.test.id) "/card" } {
            (form.request_field())
            @for name in ["target", "measure", "contrast"] { input type="hidden" name=(name) value=(form.text(name)); }
            (form.field("ei", "EI to work by").unit("EI").hint(if form.text("target").is_empty() { "As you want to rate it." } else { "The one found, on the standard list, when empty." }).number())
            (form.field("note", "Note").hint("What limits it, or anything worth remembering.").lines())
            (form.sure())
            div.thumb { button.main { "Make the card" } }
        }
    }
}

pub(super) async fn show(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let (card, settings) = app
        .ask(move |s| Ok((s.card(StockCardId(id))?, s.settings()?)))
        .await?;
    let page = Page::new(Way::More, format!("Card of {}", card.stock.name)).sheet("Stock card");
    app.show(page, &asked, one(&card, &settings)).await
}

fn one(c: &CardView, settings: &Settings) -> Markup {
    let card = &c.card;
    html! {
        h1 { (c.stock.name) }
        p {
            @if c.holds { span.stamp { "in force" } } @else { span.stamp.past { "older card" } }
            " made " (say::day(&card.made_on))
        }
        @if let Some(outdated) = &c.outdated { div.note { p { (outdated) } } }
        @if !c.holds { div.note { p { "A newer card of this stock is in force; this one stays for the record." } } }
        div.answer {
            (words::loud(speed_name(card.speed_kind), html! { (card.rated().map_or_else(|| "—".into(), say::speed)) }, found(card)))
            (time(card))
        }
        (held_for(c, settings))
        div.acts {
            (print(c))
            @if let (Some(test), Some(name)) = (card.test, &c.test) { a href={ "/wedge/" (test) } { "The test " (name) } }
            a href={ "/stocks/" (card.stock) } { "The stock" }
        }
    }
}

/// Developing time of a card, to be read from a metre away.
fn time(card: &StockCard) -> Markup {
    match card.time_min {
        Some(t) => words::loud(
            "Develop for",
            html! { (words::number(t.value, 1)) span.unit { " min" } },
            html! { span.num { "95 %: " (words::ends(t, 1)) " min" } },
        ),
        None => words::loud(
            "Develop for",
            html! { "—" },
            html! { "as its process says" },
        ),
    }
}

/// What a card's speed and time hold for.
fn held_for(c: &CardView, settings: &Settings) -> Markup {
    let card = &c.card;
    let bath = words::bath(
        settings,
        (&card.developer, &card.dilution),
        card.temperature_c,
        &card.agitation,
    );
    html! {
        dl.fields {
            div.wide { dt { "Bath" } dd { @if bath.is_empty() { "not written down" } @else { (bath) } } }
            @if let Some((measure, value)) = card.target {
                div { dt { (words::measure(measure)) } dd { (words::number(value, 2)) } }
            }
            div { dt { "From can" } dd {
                @match (&c.can, card.can) {
                    (Some(letters), Some(can)) => a href={ "/cans/" (can) } { (letters) },
                    _ => "—",
                }
            } }
            @if !card.limits.is_empty() { div.wide { dt { "What limits it" } dd { (card.limits) } } }
            @if !card.note.is_empty() { div.wide { dt { "Note" } dd { (card.note) } } }
        }
    }
}

/// How sure a card's speed is.
fn found(card: &StockCard) -> Markup {
    html! {
        @match card.ei {
            Some(ei) if ei.lower95 < ei.upper95 => {
                @let digits = words::speed_digits(ei.value);
                span.num { "95 %: " (words::ends(ei, digits)) } " " span.num { "found " (words::number(ei.value, digits)) }
            },
            Some(_) => "chosen, not found",
            None => "not found",
        }
    }
}

/// The sheet that a card came from, as a PDF.
fn print(c: &CardView) -> Markup {
    html! { @if c.card.test.is_some() { a.btn href={ "/cards/" (c.card.id) "/sheet.pdf" } { "Print it" } } }
}

const fn speed_name(kind: SpeedKind) -> &'static str {
    match kind {
        SpeedKind::Ei => "EI",
        SpeedKind::Iso => "ISO speed",
        SpeedKind::Unknown => "Speed",
    }
}

/// One card in a list.
pub(super) fn row(c: &CardView, settings: &Settings) -> Markup {
    let card = &c.card;
    let bath = words::bath(
        settings,
        (&card.developer, &card.dilution),
        card.temperature_c,
        "",
    );
    html! {
        a.row href={ "/cards/" (card.id) } {
            span.what {
                span.name { (c.stock.name) }
                span.more {
                    @if let Some(t) = card.time_min { (words::number(t.value, 1)) " min (" (words::ends(t, 1)) ")" }
                    @if !bath.is_empty() { @if card.time_min.is_some() { " in " } (bath) }
                }
                span.more { "made " (say::day(&card.made_on)) @if !c.holds { ", older card" } }
            }
            @if let Some(ei) = card.rated() { span.much { b { (say::speed(ei)) } (if card.speed_kind == SpeedKind::Iso { "ISO" } else { "EI" }) } }
        }
    }
}

/// What a stock is rated at and where that comes from, its newest card, the older ones, and the way to a new one.
pub(crate) fn of_stock(stock: &Stock, cards: &[CardView], settings: &Settings) -> Markup {
    // The newest card that gives an EI holds; without one, what was entered.
    let rated = cards.iter().find_map(|c| Some((c.card.rated()?, &c.card)));
    let (ei, source) = match (rated, stock.ei) {
        (Some((ei, card)), _) => (
            say::speed(ei),
            html! { (found(card)) " " a href={ "/cards/" (card.id) } { "card of " (say::day(&card.made_on)) } },
        ),
        (None, Some(ei)) => (
            say::speed(ei),
            html! { "as entered with the stock, not tested here" },
        ),
        (None, None) => ("—".into(), html! { "not known: a test finds it" }),
    };
    html! {
        div.answer {
            (words::loud("Rate it at EI", html! { (ei) }, source))
            @if let Some(newest) = cards.first() { (time(&newest.card)) }
        }
        @if let Some((newest, older)) = cards.split_first() {
            h2 id="cards" { "The newest card" }
            (held_for(newest, settings))
            div.acts {
                a.btn href={ "/cards/" (newest.card.id) } { "Open the card" }
                (print(newest))
            }
            @if !older.is_empty() {
                h3 { "Older cards" }
                ul.rows { @for c in older { li { (row(c, settings)) } } }
            }
        }
        @if stock.base != Base::Nitrate {
            div.acts { a.btn.main[cards.is_empty() && stock.ei.is_none()] href={ "/wedge/new?stock=" (stock.id) } { (if cards.is_empty() { "Begin a test" } else { "Begin another test" }) } }
        }
    }
}
