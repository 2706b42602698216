//! Scans of a roll: thumbnails with what was noted, a folder matched to frames after it was looked at, sidecars.
//!
//! A folder is named at this machine only: a paired device sees the thumbnails and may not point the program at files.

use crate::service::Failure;
use crate::service::field::scans::ScanView;
use crate::service::field::scans::folder::{is_shown, name_of};
use crate::service::field::scans::matching::{Fate, MatchDraft, MatchView};
use crate::service::field::scans::sidecar::Standing;
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::here::{Here, Who};
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::problem::Problem;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::field::scan::MatchBy;
use spoolwright_core::shelf::{Roll, ScanFileId};
use spoolwright_core::{Error, Kind};

/// Fields of the form that names a folder.
const FIELDS: [&str; 6] = ["folder", "by", "first", "missed", "backwards", "pattern"];

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/roll/{label}/scans", get(show).post(record))
        .route("/roll/{label}/scans/look", get(back).post(look))
        .route("/roll/{label}/scans/write", post(write))
        .route("/scans/{id}/remove", post(remove))
        .route("/scans/{id}/thumbnail", get(thumbnail))
}

type Sheet = (Roll, Vec<ScanView>);

async fn sheet(app: &App, label: &str) -> Result<Sheet, Problem> {
    let label = label.to_owned();
    app.ask(move |s| {
        let roll = s.roll(&label)?.roll;
        let scans = s.scans_of(roll.id)?;
        Ok((roll, scans))
    })
    .await
}

fn page(roll: &Roll) -> Page {
    Page::new(Way::More, format!("Scans of {}", roll.label)).sheet("Scans")
}

/// Files are named by who sits at this machine.
fn at_this_machine() -> Result<(), Problem> {
    if Here::now().who == Who::Machine {
        return Ok(());
    }
    Err(Problem::new(
        StatusCode::FORBIDDEN,
        Error::new(
            Kind::Inconsistent,
            "a folder of scans",
            "named from another device",
            "folders that are named at the machine this program runs on",
            "Match the folder and write sidecars there, at the page or at the terminal.",
        ),
    ))
}

async fn show(
    State(app): State<App>,
    Path(label): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let sheet = sheet(&app, &label).await?;
    app.show(page(&sheet.0), &asked, list_page(&sheet, &Form::default()))
        .await
}

/// What was looked at cannot be opened anew: on to the form.
async fn back(Path(label): Path<String>) -> Redirect {
    Redirect::to(&format!("/roll/{label}/scans"))
}

async fn look(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    at_this_machine()?;
    let draft: MatchDraft = form.draft(&[]);
    let of = label.clone();
    let asked = draft.clone();
    match app
        .look(move |s| s.look_at_scans(s.roll(&of)?.roll.id, &asked))
        .await?
    {
        Ok(view) => {
            let (roll, _) = sheet(&app, &label).await?;
            let body = looked_page(&roll, &draft, &view, &form);
            Ok(page(&roll).show(body).into_response())
        }
        Err(failure) => refused(&app, &label, form, failure).await,
    }
}

async fn record(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    at_this_machine()?;
    let of = label.clone();
    match app
        .carry_out(&form, &[], move |s, d: &MatchDraft, r| {
            s.match_scans(s.roll(&of)?.roll.id, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/roll/{label}/scans"), made.entry)),
        Err(failure) => refused(&app, &label, form, failure).await,
    }
}

async fn refused(app: &App, label: &str, form: Form, failure: Failure) -> Answer {
    let form = form.refused_by(failure)?;
    let sheet = sheet(app, label).await?;
    form.answer(page(&sheet.0).show(list_page(&sheet, &form)))
}

async fn write(State(app): State<App>, Path(label): Path<String>, form: Form) -> Answer {
    at_this_machine()?;
    let next = format!("/roll/{label}/scans");
    app.press(&form, next, move |s, r| {
        s.write_sidecars(s.roll(&label)?.roll.id, r)
    })
    .await
}

async fn remove(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let id = ScanFileId(id);
    let request = form.request_key();
    let (label, made) = app
        .ask(move |s| {
            let (label, _) = s.scan(id)?;
            Ok((label, s.take_away_scan(id, request.as_deref())?))
        })
        .await?;
    Ok(go_on(&format!("/roll/{label}/scans"), made.entry))
}

async fn thumbnail(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    let made = app.ask(move |s| s.scan_thumbnail(ScanFileId(id))).await?;
    let kind = [(header::CONTENT_TYPE, "image/png")];
    Ok((kind, made.png.clone()).into_response())
}

fn list_page((roll, scans): &Sheet, form: &Form) -> Markup {
    let here = Here::now().who == Who::Machine;
    let due = scans.iter().filter(|s| s.sidecar.is_due()).count();
    html! {
        h1 { "Scans of " (roll.label) }
        p { a href={ "/roll/" (roll.label) } { "The roll" } }
        (form.refusals())
        @if scans.is_empty() {
            p { "None yet. Name the folder that they lie in: its files are matched to the roll's frames, and no image is ever written to." }
        } @else {
            p.soft { (say::count(scans.len().try_into().unwrap_or(u32::MAX), "file", "files")) ". " (standing_of_all(scans)) }
            ul.scans { @for s in scans { li { (one(s)) } } }
        }
        @if here {
            details open[scans.is_empty() || form.is_faulty()] {
                summary { @if scans.is_empty() { "Match a folder" } @else { "Match another folder, or this one anew" } }
                (folder_form(roll, form))
            }
            @if due > 0 {
                form.thumb method="post" action={ "/roll/" (roll.label) "/scans/write" } {
                    (Form::default().request_field())
                    button.main { @if due == 1 { "Write its sidecar" } @else { "Write the sidecars" } }
                }
            }
        } @else {
            div.note { p { "Folders are matched, and sidecars written, at the machine that the program runs on." } }
        }
    }
}

/// How the sidecars stand, in a sentence.
fn standing_of_all(scans: &[ScanView]) -> String {
    let count = |of: fn(&Standing) -> bool| scans.iter().filter(|s| of(&s.sidecar)).count();
    let kinds = [
        (
            count(|s| *s == Standing::Current),
            "with a sidecar that says what is known",
        ),
        (count(|s| *s == Standing::Missing), "without a sidecar"),
        (
            count(|s| *s == Standing::Outdated),
            "of which more is known than the sidecar says",
        ),
        (
            count(|s| *s == Standing::Foreign),
            "with a sidecar of another program, which is left alone",
        ),
        (
            count(|s| matches!(s, Standing::Barred(_))),
            "whose sidecar cannot be written",
        ),
    ];
    let told: Vec<String> = kinds
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, words)| format!("{n} {words}"))
        .collect();
    told.join("; ") + "."
}

fn one(s: &ScanView) -> Markup {
    let note = s.note.as_ref();
    let subject = note.map(|n| n.subject.as_str()).filter(|t| !t.is_empty());
    let told = match subject {
        Some(subject) => format!("Frame {}: {subject}", s.scan.frame),
        None => format!("Frame {}", s.scan.frame),
    };
    html! {
        figure {
            @if is_shown(&s.scan.path) {
                img src={ "/scans/" (s.scan.id) "/thumbnail" } alt=(told) loading="lazy" width="320" height="214";
            } @else {
                p.no-thumb { "No thumbnail of this kind of file" }
            }
            figcaption {
                b { (s.scan.frame) } @if let Some(subject) = subject { " " (subject) }
                span.file { (name_of(&s.scan.path)) }
                @match &s.sidecar {
                    Standing::Current => {}
                    Standing::Missing => span.file { "no sidecar yet" },
                    Standing::Outdated => span.file { "sidecar behind the notes" },
                    Standing::Foreign => span.stamp.ink { "another's sidecar" },
                    Standing::Barred(why) => span.stamp.ink { (why) },
                }
            }
            form method="post" action={ "/scans/" (s.scan.id) "/remove" } {
                (Form::default().request_field())
                button.quiet aria-label={ "Not this frame: " (name_of(&s.scan.path)) } { "Not this frame" }
            }
        }
    }
}

fn folder_form(roll: &Roll, form: &Form) -> Markup {
    let form = form.clone().with_default("by", MatchBy::Order.word());
    html! {
        form.form method="post" action={ "/roll/" (roll.label) "/scans/look" } {
            (form.field("folder", "The folder").hint("Its whole path on this machine, such as /photos/scans/HM-07. Folders in it are not looked into.").needed().text())
            (form.field("by", "How a file's frame is told").radios(&[
                (MatchBy::Order.word(), "By the order of the names", "scan1, scan2, scan10: the first is frame 1, and so on"),
                (MatchBy::Number.word(), "By the number in the name", "HM-07_12A is frame 12A: the last number counts"),
                (MatchBy::Pattern.word(), "By a pattern", "where another number comes after the frame's"),
            ]))
            div.pair {
                (form.field("first", "By order: the first file is frame").hint("1 when empty.").text())
                (form.field("missed", "By order: not scanned").hint("Such as 3, 7-9.").text())
            }
            (form.field("backwards", "By order: from the last frame to the first").hint("the strips were scanned from their end").tick())
            (form.field("pattern", "The pattern").hint("A name without its ending: {frame} where the number stands, * for anything. Such as HM-07_{frame}*.").text())
            (main_act("Look at it"))
        }
    }
}

fn looked_page(roll: &Roll, draft: &MatchDraft, view: &MatchView, form: &Form) -> Markup {
    let matched = view.matched().count();
    let beyond = view.matched().filter(|(row, _)| row.beyond).count();
    let kept = Form::from_draft(draft);
    html! {
        h1 { "What would be matched to " (roll.label) }
        p { code { (view.folder) } }
        p { "Nothing is recorded yet. " strong { (matched) } " of " (view.rows.len()) " files would be matched." }
        @if beyond > 0 {
            div.note { p {
                (beyond) " of them lie past the " (roll.frames) " frames that the roll should have. Check the first frame, and what was not scanned."
            } }
        }
        div.scroll tabindex="0" role="region" aria-label="Files and frames" {
            table {
                thead { tr { th { "File" } th.right { "Frame" } th { "" } } }
                tbody { @for row in &view.rows { tr {
                    td { (row.name) }
                    td.right { @if let Some(frame) = row.frame { (frame) } }
                    td { @match &row.fate {
                        Fate::New => "",
                        Fate::Same => "as it is",
                        Fate::Moves(from) => { "was frame " (from) }
                        Fate::LeftOut(why) => { "left out: " (why) }
                    } }
                } } }
            }
        }
        details {
            summary { "Tell the frames otherwise" }
            (folder_form(roll, form))
        }
        form.thumb method="post" action={ "/roll/" (roll.label) "/scans" } {
            (Form::default().request_field())
            @for name in FIELDS { input type="hidden" name=(name) value=(kept.text(name)); }
            input type="hidden" name="shown" value=(view.shown);
            button.main { "Match " (matched) }
        }
    }
}
