//! Paper: what to print, a look at it, and the PDF at true size.

use crate::service::paper::PaperDraft;
use crate::service::shelf::Shelf;
use crate::service::wedge::TargetDraft;
use crate::service::{Outcome, Service};
use crate::web::app::{Answer, App};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::problem::Problem;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::shelf::{BathId, RollState, RunId, StockCardId, WedgeTestId};

/// Sheets looked at on the page; the PDF has them all.
const SHOWN: usize = 3;

/// Everything that can be printed: the word in the address, the name, what it is.
const SHEETS: [(&str, &str, &str); 6] = [
    (
        "labels",
        "Cassette labels",
        "One for each roll that sits in a cassette, with a code that opens its page.",
    ),
    (
        "tickets",
        "Winding tickets",
        "Pocket size, for the loader: clicks, stop, steps.",
    ),
    (
        "cans",
        "Can labels",
        "Letters, film, loader, empty weight, and what must stay dark.",
    ),
    (
        "baths",
        "Bath cards",
        "To tape on the bottle: what is in it, when it is dead, cautions, and a log to write on. Fold it in the middle, or lay it round the bottle.",
    ),
    (
        "runs",
        "Run sheets",
        "For the tank: which roll in which reel, what to pour, every step on one clock, and room for what was really done.",
    ),
    (
        "dx",
        "Contact patterns",
        "The contacts by which a camera reads speed and length, on a template that you measure from a cassette.",
    ),
];

/// Label sizes, as (word, words).
const SIZES: [(&str, &str); 4] = [
    ("wrap", "round the barrel, slot to slot"),
    ("face", "one side of the barrel"),
    ("flag", "lid or tape flag, without code"),
    ("tub", "tub or bag"),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/print", get(async || Redirect::to("/print/labels")))
        .route("/print/{sheet}", get(show))
        .route("/print/{sheet}/pdf", get(pdf))
        .route("/print/{sheet}/svg/{n}", get(svg))
        .route("/print/bath/{id}", get(bath))
        .route("/print/run/{id}", get(run))
        .route("/wedge/{id}/shots.pdf", get(shots))
        .route("/wedge/{id}/sheet.pdf", get(wedge_sheet))
        .route("/cards/{id}/sheet.pdf", get(card_sheet))
}

/// Draws one kind of paper and hands it to `take`.
fn drawn<T>(
    s: &Service,
    sheet: &str,
    draft: &PaperDraft,
    take: impl FnOnce(&Drawn) -> T,
) -> Outcome<T> {
    let document = match sheet {
        "labels" => s.print_labels(draft)?,
        "tickets" => s.print_tickets(draft)?,
        "cans" => s.print_can_labels(draft)?,
        "baths" => s.print_bath_cards(draft)?,
        "runs" => s.print_run_sheets(draft)?,
        _ => s.print_dx(draft)?,
    };
    Ok(take(&document))
}

/// The paper as the service draws it.
type Drawn = crate::service::paper::Document;

fn named(sheet: &str) -> Result<(&'static str, &'static str, &'static str), Problem> {
    SHEETS
        .into_iter()
        .find(|s| s.0 == sheet)
        .ok_or_else(|| Problem::not_found("a kind of paper", sheet))
}

async fn show(
    State(app): State<App>,
    Path(sheet): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let (word, name, _) = named(&sheet)?;
    let query = query.unwrap_or_default();
    let form = Form::from_query(&query);
    let draft: PaperDraft = form.draft(&["only"]);
    let shelf = app.ask(Service::shelf).await?;
    let choices = app.ask(move |s| choices(s, word)).await?;
    if choices.is_empty() && form.text("only").is_empty() {
        let page = Page::new(Way::More, name).sheet("Print");
        return Ok(page.show(nothing(word)).into_response());
    }
    let looked = app
        .look(move |s| drawn(s, word, &draft, |d| d.sheets.len()))
        .await?;
    let (form, sheets) = match looked {
        Ok(sheets) => (form, sheets),
        Err(failure) => (form.refused_by(failure)?, 0),
    };
    let page = Page::new(Way::More, name).sheet("Print");
    form.answer(page.show(page_of(word, &form, &query, sheets, &choices, &shelf)))
}

async fn pdf(
    State(app): State<App>,
    Path(sheet): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let (word, ..) = named(&sheet)?;
    let draft: PaperDraft = Form::from_query(&query.unwrap_or_default()).draft(&["only"]);
    let bytes = app
        .ask(move |s| Ok(drawn(s, word, &draft, |d| d.to_pdf())??.0))
        .await?;
    Ok(file(word, bytes))
}

/// A PDF that a browser shows.
fn file(word: &str, bytes: Vec<u8>) -> Response {
    let disposition = format!("inline; filename=\"spoolwright-{word}.pdf\"");
    (
        [
            (header::CONTENT_TYPE, "application/pdf".to_owned()),
            (header::CONTENT_DISPOSITION, disposition),
        ],
        bytes,
    )
        .into_response()
}

/// The card of one bath, to look at before it is printed.
async fn bath(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    app.ask(move |s| s.bath(BathId(id), None)).await?;
    look_at(app, "baths", id).await
}

/// The sheet of one run, to look at before it is printed.
async fn run(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    app.ask(move |s| s.run(RunId(id))).await?;
    look_at(app, "runs", id).await
}

/// The look at one kind of paper, with one thing chosen.
async fn look_at(app: App, sheet: &str, id: i64) -> Answer {
    let query = RawQuery(Some(format!("only={id}")));
    show(State(app), Path(sheet.to_owned()), query).await
}

/// The shot list of a wedge test in camera.
async fn shots(State(app): State<App>, Path(id): Path<i64>, RawQuery(query): RawQuery) -> Answer {
    let draft: PaperDraft = Form::from_query(&query.unwrap_or_default()).draft(&[]);
    let bytes = app
        .ask(move |s| Ok(s.print_shots(WedgeTestId(id), &draft)?.to_pdf()?.0))
        .await?;
    Ok(file("shots", bytes))
}

/// A wedge test's result on one page, at the target that the address carries.
async fn wedge_sheet(
    State(app): State<App>,
    Path(id): Path<i64>,
    RawQuery(query): RawQuery,
) -> Answer {
    let form = Form::from_query(&query.unwrap_or_default());
    let (target, draft): (TargetDraft, PaperDraft) = (form.draft(&[]), form.draft(&[]));
    let bytes = app
        .ask(move |s| {
            Ok(s.print_result(WedgeTestId(id), &target, &draft)?
                .to_pdf()?
                .0)
        })
        .await?;
    Ok(file("wedge", bytes))
}

/// The sheet that a stock card came from.
async fn card_sheet(
    State(app): State<App>,
    Path(id): Path<i64>,
    RawQuery(query): RawQuery,
) -> Answer {
    let draft: PaperDraft = Form::from_query(&query.unwrap_or_default()).draft(&[]);
    let bytes = app
        .ask(move |s| Ok(s.print_card(StockCardId(id), &draft)?.to_pdf()?.0))
        .await?;
    Ok(file("card", bytes))
}

async fn svg(
    State(app): State<App>,
    Path((sheet, n)): Path<(String, usize)>,
    RawQuery(query): RawQuery,
) -> Answer {
    let (word, ..) = named(&sheet)?;
    let draft: PaperDraft = Form::from_query(&query.unwrap_or_default()).draft(&["only"]);
    match app
        .ask(move |s| drawn(s, word, &draft, |d| d.to_svg(n)))
        .await?
    {
        Some(svg) => Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response()),
        None => Ok(StatusCode::NOT_FOUND.into_response()),
    }
}

/// What may be printed, as (value, words).
fn choices(s: &Service, word: &str) -> Outcome<Vec<(String, String)>> {
    Ok(match word {
        "tickets" => s
            .queue()?
            .iter()
            .map(|t| {
                (
                    t.ticket.id.to_string(),
                    format!("{} {}, {} frames", t.label, t.stock.name, t.ticket.frames),
                )
            })
            .collect(),
        "cans" => s
            .shelf()?
            .open_cans()
            .map(|c| {
                (
                    c.can.letters.clone(),
                    format!("{} {}", c.can.letters, c.stock.name),
                )
            })
            .collect(),
        "baths" => {
            let mut baths = s.baths()?;
            baths.retain(|b| !b.card.closed);
            baths.sort_by_key(|b| b.card.id);
            baths
                .into_iter()
                .map(|b| (b.card.id.to_string(), b.card.name))
                .collect()
        }
        "runs" => s
            .runs_to_print()?
            .iter()
            .map(|v| (v.run.id.to_string(), v.name()))
            .collect(),
        _ => {
            let mut all = Vec::new();
            for state in RollState::ALL.iter().filter(|s| s.holds_cassette()) {
                all.extend(s.rolls_in(*state)?);
            }
            all.sort_by_key(|r| r.roll.id);
            all.iter()
                .map(|r| {
                    (
                        r.roll.label.clone(),
                        format!(
                            "{} {}, {} frames",
                            r.roll.label, r.stock.name, r.roll.frames
                        ),
                    )
                })
                .collect()
        }
    })
}

fn ways(word: &str) -> Markup {
    html! {
        nav.choices aria-label="Kinds of paper" {
            @for (w, name, _) in SHEETS { a href={ "/print/" (w) } aria-current=[(w == word).then_some("true")] { (name) } }
        }
    }
}

fn nothing(word: &str) -> Markup {
    html! {
        h1 { "Print" }
        (ways(word))
        @match word {
            "tickets" => p { "No ticket waits in the queue. " a href="/plan" { "Make a plan" } " or " a href="/tickets/new" { "wind a single roll" } "." },
            "cans" => p { "No can is open. " a href="/cans/new" { "Add a can" } "." },
            "baths" => p { "No bath stands on the shelf. " a href="/wet/baths" { "Write a card for what you mix" } "." },
            "runs" => p { "No run is loaded. " a href="/wet" { "To the wet bench" } "." },
            _ => p { "No roll sits in a cassette. A label can be printed as soon as a roll is wound." },
        }
    }
}

/// Whether an address leads a phone to itself.
fn opens_here_only(address: &str) -> bool {
    ["://127.", "://localhost", "://[::1]"]
        .iter()
        .any(|own| address.contains(own))
}

fn page_of(
    word: &'static str,
    form: &Form,
    query: &str,
    sheets: usize,
    choices: &[(String, String)],
    shelf: &Shelf,
) -> Markup {
    let about = SHEETS.iter().find(|s| s.0 == word).map_or("", |s| s.2);
    let mut listed: Vec<(&str, &str, &str)> = choices
        .iter()
        .map(|(v, w)| (v.as_str(), w.as_str(), ""))
        .collect();
    // Something asked for by name that is not in the list, such as a roll developed since.
    let extra: Vec<String> = form
        .all("only")
        .flat_map(|v| v.split(','))
        .filter(|v| !v.is_empty() && choices.iter().all(|(c, _)| c != v))
        .map(str::to_owned)
        .collect();
    let numbered = matches!(word, "baths" | "runs");
    let words: Vec<String> = extra
        .iter()
        .map(|v| {
            if numbered {
                format!("number {v}")
            } else {
                v.clone()
            }
        })
        .collect();
    listed.extend(
        extra
            .iter()
            .zip(&words)
            .map(|(v, w)| (v.as_str(), w.as_str(), "")),
    );
    let paper = if shelf.settings.letter {
        "letter"
    } else {
        "a4"
    };
    html! {
        h1 { "Print" }
        (ways(word))
        p.soft { (about) }
        @if word != "dx" && opens_here_only(&shelf.settings.address) {
            p.note { "A code printed with 127.0.0.1 opens only on this machine. " a href="/settings#address" { "Set the address" } " your phone opens this page with." }
        }
        (form.refusals())
        div.two {
            form.form method="get" action={ "/print/" (word) } {
                (form.field("only", "Which").hint("All of them when none is ticked.").boxes(&listed))
                div.pair {
                    (form.clone().with_default("paper", paper).field("paper", "Paper").select(&[("a4", "A4"), ("letter", "Letter")]))
                    @if !matches!(word, "dx" | "runs") {
                        (form.field("start_at", "First free place").hint("1 is at the top left, for a sheet used before.").whole())
                    }
                }
                @match word {
                    "labels" => (form.field("size", "Label size").select(&SIZES)),
                    "dx" => {
                        (form.field("latitude", "Latitude").select(&[("+3/-1", "+3 / −1"), ("+2/-1", "+2 / −1"), ("+-1", "± 1"), ("+-0.5", "± ½")]))
                        (form.field("template", "Your cassette's contacts").unit("mm")
                            .hint("Eight measures with spaces: contact width and height, gap across and down, left and top edge to the first contact, label width and height. Until you have measured them the sheet says “unverified”.").text())
                    }
                    _ => {}
                }
                div.acts { button { "Look again" } }
                div.thumb { button.main formaction={ "/print/" (word) "/pdf" } { "Open the PDF" } }
            }
            div {
                @if sheets > 0 {
                    p.soft { (say::count(sheets as u64, "sheet", "sheets")) ". Print at 100 %, then measure the bar: 50 mm, or the scale is wrong." }
                    @for n in 0..sheets.min(SHOWN) {
                        figure.sheet-look { img alt={ "Sheet " (n + 1) ", as it will be printed" } src={ "/print/" (word) "/svg/" (n) "?" (query) }; }
                    }
                    @if sheets > SHOWN { p.soft { "And " (say::count((sheets - SHOWN) as u64, "more sheet", "more sheets")) " in the PDF." } }
                }
            }
        }
    }
}
