//! Devices: pairing a phone, the list of those that may come in, and shutting one out.

use super::main_act;
use crate::qr;
use crate::service::devices::{DeviceDraft, DeviceView};
use crate::service::{Failure, Fault, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::here::{Here, Who, own_page};
use crate::web::lan::{
    CODE_GOOD_FOR_S, Gone, Lan, MOST_WRONG, TRIES_A_MINUTE, Tried, cookie, mark_of,
};
use crate::web::page::{Page, Way};
use crate::web::problem::Problem;
use crate::web::say;
use axum::Router;
use axum::extract::{ConnectInfo, Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use spoolwright_core::{Error, Kind};
use std::net::SocketAddr;

/// On both sides.
pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/devices", get(list))
        .route("/devices/forget", post(forget_all))
        .route("/devices/{id}/forget", post(forget))
        .route("/authority.crt", get(authority))
}

/// Only at this machine: whoever can make a code decides who comes in.
pub(crate) fn for_this_machine() -> Router<App> {
    Router::new().route("/devices/code", post(new_code))
}

/// Only on the network.
pub(crate) fn for_the_network() -> Router<App> {
    Router::new().route("/pair", get(ask_to_pair).post(pair))
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let devices = app.ask(Service::devices).await?;
    let who = Here::now().who;
    let code = app
        .lan
        .as_ref()
        .filter(|_| who == Who::Machine)
        .and_then(|lan| lan.pairing.code(app.seconds()));
    let body = list_page(&devices, app.lan.as_deref(), code.as_ref(), who);
    app.show(Page::new(Way::More, "Devices"), &asked, body)
        .await
}

async fn forget(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    app.press(&form, "/devices", move |s, r| s.forget_device(id, r))
        .await
}

async fn forget_all(State(app): State<App>, form: Form) -> Answer {
    app.press(&form, "/devices", Service::forget_all_devices)
        .await
}

/// Makes a new code; a form of this page asks for it, so that none is made by looking.
async fn new_code(State(app): State<App>, _form: Form) -> Answer {
    let lan = app.lan.as_ref().ok_or_else(not_served)?;
    lan.pairing
        .new_code(app.seconds())
        .map_err(|e| Problem::inside(&e.to_string()))?;
    Ok(Redirect::to("/devices#code").into_response())
}

async fn authority(State(app): State<App>) -> Answer {
    let lan = app.lan.as_ref().ok_or_else(not_served)?;
    let headers = [
        (header::CONTENT_TYPE, "application/x-x509-ca-cert"),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"spoolwright-authority.crt\"",
        ),
    ];
    Ok((headers, lan.identity.authority.clone()).into_response())
}

fn not_served() -> Problem {
    Error::new(
        Kind::Missing,
        "the network's side of the program",
        "it is served on this machine only",
        "a program begun with --lan",
        "End it, and begin it anew with `spoolwright --lan`.",
    )
    .into()
}

/// What the address of the pairing page may carry.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Brought {
    code: String,
    to: String,
}

async fn ask_to_pair(State(app): State<App>, Query(brought): Query<Brought>) -> Answer {
    if matches!(Here::now().who, Who::Device(_)) {
        return Ok(Redirect::to("/devices").into_response());
    }
    let code: String = brought.code.chars().take(20).collect();
    let form = Form::fresh([("code", code), ("to", brought.to)]);
    Ok(pair_sheet()
        .show(pair_page(&form, app.lan.as_deref()))
        .into_response())
}

/// Pairs the device that asks, if it brings the code of the moment.
async fn pair(
    State(app): State<App>,
    ConnectInfo(guest): ConnectInfo<SocketAddr>,
    form: Form,
) -> Answer {
    let next = own_page(form.text("to")).map_or_else(|| "/".to_owned(), |to| to.to_string());
    if matches!(Here::now().who, Who::Device(_)) {
        return Ok(go_on(&next, None));
    }
    let lan = app.lan.clone().ok_or_else(not_served)?;
    let draft: DeviceDraft = form.draft(&[]);
    let refuse = |form: Form, failure: Failure| {
        let form = form.refused_by(failure)?;
        form.answer(pair_sheet().show(pair_page(&form, app.lan.as_deref())))
    };
    // A name that cannot be given costs no code.
    let named = draft.clone();
    if let Err(failure) = app.look(move |s| s.may_pair(&named)).await? {
        return refuse(form, failure);
    }
    let tried = lan
        .pairing
        .attempt(guest.ip(), form.text("code"), app.seconds());
    if let Some(error) = wrong(tried, &lan) {
        let fault = Fault {
            field: "code".to_owned(),
            error,
        };
        return refuse(form.with("code", ""), Failure::Refused(vec![fault]));
    }
    let secret = lan
        .pairing
        .secret()
        .map_err(|e| Problem::inside(&e.to_string()))?;
    let mark = mark_of(&secret);
    match app
        .look(move |s| s.pair_device(&draft, &mark, None))
        .await?
    {
        Ok(made) => {
            let cookie = [(header::SET_COOKIE, cookie(&secret))];
            Ok((cookie, go_on(&next, made.entry)).into_response())
        }
        Err(failure) => refuse(form, failure),
    }
}

/// Why a try did not pair.
fn wrong(tried: Tried, lan: &Lan) -> Option<Error> {
    let anew = format!(
        "At the machine the program runs on, open {}/devices and press “Pair another device”.",
        lan.at_this_machine
    );
    let (given, allowed, remedy) = match tried {
        Tried::Right => return None,
        Tried::TooFast => (
            "too many tries".to_owned(),
            format!("{TRIES_A_MINUTE} tries a minute"),
            "Wait a minute, then enter the code that the machine shows.".to_owned(),
        ),
        Tried::Wrong { left: 0 } => (
            "a wrong code, once too often".to_owned(),
            format!("{MOST_WRONG} wrong tries in all: the code is no longer good"),
            anew,
        ),
        Tried::Wrong { left } => (
            "another code".to_owned(),
            "the eight digits that the machine shows".to_owned(),
            format!(
                "Compare them digit by digit; {} left before the code is no longer good.",
                say::count(left, "try is", "tries are")
            ),
        ),
        Tried::NoCode(gone) => (
            match gone {
                Gone::None => "none is waited for",
                Gone::Used => "it was used already",
                Gone::Expired => "its time is over",
                Gone::Burnt => "it was burnt by wrong tries",
            }
            .to_owned(),
            format!(
                "a code not older than {:.0} minutes, used once",
                CODE_GOOD_FOR_S / 60.0
            ),
            anew,
        ),
    };
    Some(Error::new(
        Kind::Inconsistent,
        "the code",
        given,
        allowed,
        remedy,
    ))
}

fn pair_sheet() -> Page {
    Page::new(Way::More, "Pair this device").sheet("Pairing")
}

fn pair_page(form: &Form, lan: Option<&Lan>) -> Markup {
    let to = form.text("to");
    html! {
        h1 { "Pair this device" }
        p { "A paired device may see and change everything here, until it is forgotten. Pair your own only." }
        (form.refusals())
        form.form method="post" action="/pair" {
            input type="hidden" name="to" value=(to);
            (form.field("name", "What you call this device").hint("It stands in the list of devices, so that you can shut it out.").first().needed().text())
            (form.field("code", "Code").hint("Eight digits, shown at the machine the program runs on.").needed().whole())
            (main_act("Pair this device"))
        }
        @if own_page(to).is_some() {
            p.soft { "Paired before? " a href=(to) { "Go on to what you opened" } "." }
        }
        @if let Some(lan) = lan {
            details {
                summary { "Your browser warned of this page?" }
                p { "The program vouches for itself by an authority of its own, which your browser does not know yet. "
                    "Before you go on, look at the certificate your browser was shown: its SHA-256 fingerprint must be the one the "
                    "terminal told. If it is another, someone stands between: do not pair." }
                p { "To be warned no more, have this device trust the program's authority, which can vouch for addresses of home "
                    "networks only: " a href="/authority.crt" { "take the authority's certificate" } "." }
                (fingerprint("Authority, SHA-256", &lan.identity.authority_print))
            }
        }
    }
}

fn fingerprint(title: &str, print: &str) -> Markup {
    html! {
        dl.fields { div.wide { dt { (title) } dd.print {
            @for (i, part) in print.split(':').collect::<Vec<_>>().chunks(8).enumerate() {
                @if i != 0 { " " }
                span { (part.join(":")) }
            }
        } } }
    }
}

fn list_page(
    devices: &[DeviceView],
    lan: Option<&Lan>,
    code: Option<&(String, f64)>,
    who: Who,
) -> Markup {
    let (paired, forgotten): (Vec<_>, Vec<_>) = devices.iter().partition(|d| !d.device.revoked);
    html! {
        h1 { "Devices" }
        p.soft { "A phone beside the bench opens these same pages over your own network, once it is paired." }
        @match lan {
            None => p.note { "The pages are served on this machine only. To have them on your phone, end the program and begin it anew with "
                code { "spoolwright --lan" } "." },
            Some(lan) if who == Who::Machine => (pairing(lan, code)),
            Some(lan) => p.soft { "Codes are made at the machine the program runs on: there, open " (lan.at_this_machine) "/devices." },
        }
        h2 { "Paired" }
        @if paired.is_empty() { p { "None." } }
        ul.rows { @for view in &paired { li { (row(view, who)) } } }
        @if 1 < paired.len() {
            details {
                summary { "Forget all" }
                form method="post" action="/devices/forget" {
                    (Form::default().request_field())
                    p { "Every device is shut out at once, this one too if it is among them. Each can be paired anew." }
                    button { "Forget all devices" }
                }
            }
        }
        @if !forgotten.is_empty() {
            details {
                summary { "Forgotten" }
                ul.rows { @for view in &forgotten { li { div.row { span.what {
                    span.name { (view.device.name) }
                    span.more { "paired " (say::day(&view.device.paired_on)) ", shut out" }
                } } } } }
            }
        }
        @if let Some(lan) = lan {
            h2 { "What it proves itself with" }
            p.soft { "Compare the certificate's fingerprint with the one your phone shows before you pair. It was signed by an authority "
                "of the program's own; a device that is told to trust that is warned no more, and keeps notes while out of reach. "
                "The authority can vouch for addresses of home networks and this machine's names only." }
            (fingerprint("Certificate, SHA-256", &lan.identity.certificate_print))
            (fingerprint("Authority, SHA-256", &lan.identity.authority_print))
            p { a.btn href="/authority.crt" { "Take the authority's certificate" } }
            p.soft { "The certificate is good until " (say::day(&lan.identity.until.to_string())) " and made anew by itself." }
        }
    }
}

/// The addresses, and a code when one is good.
fn pairing(lan: &Lan, code: Option<&(String, f64)>) -> Markup {
    html! {
        dl.fields { div.wide { dt { "On your own network" } dd { @for (i, origin) in lan.origins.iter().enumerate() {
            @if i != 0 { br; } (origin) "/"
        } } } }
        @if let Some((code, left)) = code {
            section.code id="code" {
                @if let Some((path, side)) = qr::path(&lan.pair_address(code)) {
                    svg.qr viewBox={ "0 0 " (side) " " (side) } role="img" aria-label="The pairing page's address as a code to scan" shape-rendering="crispEdges" {
                        rect width=(side) height=(side) fill="#fff" {}
                        path d=(path) fill="#000" {}
                    }
                }
                div {
                    p { "Scan this with the phone, or open " strong { (lan.origins.first().map_or("", String::as_str)) "/pair" } " on it and enter:" }
                    p.digits { (code[..4]) " " (code[4..]) }
                    p.soft { "Good for " (say::count((left / 60.0).ceil() as u64, "minute", "minutes")) " more, once, for one device." }
                }
            }
        }
        form method="post" action="/devices/code" {
            (Form::default().request_field())
            button.main[code.is_none()] { (if code.is_some() { "Make another code" } else { "Pair another device" }) }
        }
    }
}

fn row(view: &DeviceView, who: Who) -> Markup {
    let device = &view.device;
    html! {
        div.row {
            span.what {
                span.name { (device.name) @if who == Who::Device(device.id) { " (this device)" } }
                span.more {
                    "paired " (say::day(&device.paired_on))
                    @match &view.seen {
                        Some(seen) => { ", last seen " (say::moment(seen)) }
                        None => { ", not seen since the program began" }
                    }
                }
            }
            form method="post" action={ "/devices/" (device.id) "/forget" } {
                (Form::default().request_field())
                button.quiet aria-label={ "Forget " (device.name) } { "Forget" }
            }
        }
    }
}
