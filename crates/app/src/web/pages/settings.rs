//! The user's choices, each with what it does.

use super::main_act;
use crate::service::settings::SettingsDraft;
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::lan::Lan;
use crate::web::page::{Page, Way};
use axum::Router;
use axum::extract::State;
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::{Error, Kind};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/settings", get(show).post(save))
        .route("/settings/address", post(print_address))
}

async fn show(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let settings = app.settings().await?;
    let body = html! {
        (form_page(&Form::from_draft(&SettingsDraft::from(&settings))))
        @if let Some(lan) = &app.lan { (other_address(lan, &settings.address)) }
    };
    app.show(sheet(), &asked, body).await
}

/// Prints one of the network's addresses from now on.
async fn print_address(State(app): State<App>, form: Form) -> Answer {
    let address = form.text("address").to_owned();
    let lan = app.lan.clone();
    app.press(&form, "/settings#address", move |s, r| {
        let origins = lan.as_ref().map_or(&[][..], |lan| &lan.origins);
        if !origins.contains(&address) {
            return Err(Error::new(
                Kind::Unknown,
                "the address for QR codes",
                address,
                if origins.is_empty() {
                    "an address of the network's side, which is not served now".to_owned()
                } else {
                    origins.join(" or ")
                },
                "Open the settings anew, or type the address there.",
            )
            .into());
        }
        let draft = SettingsDraft {
            address,
            ..SettingsDraft::default()
        };
        s.save_settings(&draft, r)
    })
    .await
}

/// Labels whose codes the phone cannot open: which addresses it could.
fn other_address(lan: &Lan, printed: &str) -> Markup {
    html! {
        @if !lan.origins.iter().any(|origin| origin == printed) {
            div.note {
                p { "Codes on labels lead to " strong { (printed) } ". A paired phone opens these pages at another address. A name stays when "
                    "the router gives this machine another number, but not every phone finds it." }
                div.acts {
                    @for origin in &lan.origins {
                        form method="post" action="/settings/address" {
                            (Form::default().request_field())
                            input type="hidden" name="address" value=(origin);
                            button { "Print " (origin) " from now on" }
                        }
                    }
                }
            }
        }
    }
}

async fn save(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &SettingsDraft, r| s.save_settings(d, r))
        .await?
    {
        Ok(made) => Ok(go_on("/settings", made.entry)),
        Err(failure) => {
            let form = form.refused_by(failure)?;
            form.answer(sheet().show(form_page(&form)))
        }
    }
}

fn sheet() -> Page {
    Page::new(Way::More, "Settings").sheet("Settings")
}

fn form_page(form: &Form) -> Markup {
    let money = form.text("currency");
    html! {
        h1 { "Settings" }
        (form.refusals())
        form.form method="post" action="/settings" {
            (form.request_field())
            (form.field("feet", "Lengths of film").select(&[("no", "metres"), ("yes", "feet")]))
            (form.field("fahrenheit", "Temperatures").select(&[("no", "°C"), ("yes", "°F")]))
            (form.field("currency", "Currency").hint("As you write it beside an amount.").text())
            (form.field("letter", "Paper").select(&[("no", "A4"), ("yes", "Letter")]))
            h2 { "Winding" }
            (form.field("dark", "Cassettes are usually wound")
                .hint("In room light the tail at the spool is struck by light when the loader is opened; two clicks are allowed for it. In the dark nothing is lost.")
                .select(&[("no", "in room light"), ("yes", "in total darkness")]))
            (form.field("menu_frames", "Roll lengths you wind").unit("frames").hint("The plan chooses from these, such as 6 8 12 18 24 30 36.").text())
            (form.field("max_roll_frames", "Longest roll").unit("frames").whole())
            (form.field("reel_mm", "Film your tank's reels take").unit("mm").hint("1650 is usual for a roll of 36 with its ends.").number())
            (form.field("scale_sd_g", "How far your scale may be off").unit("g").hint("1 g for a kitchen scale that shows whole grams.").number())
            h2 { "Plan" }
            (form.field("confidence", "How sure a can must be to hold out")
                .hint("0.95: in 19 cans of 20 the film is there. Nearer 1 leaves more film unplanned.").number())
            div.pair {
                (form.field("page_rows", "Rows of a sleeve page").whole())
                (form.field("page_frames_per_row", "Frames in a row").whole())
                (form.field("page_price", "Price of a page").unit(money).number())
                (form.field("chemistry_price_per_full_roll", "Chemistry for a full roll").unit(money).number())
            }
            (form.field("short_end_price_per_m", "Charge for an end too short to wind").unit(format!("{money}/m"))
                .hint("Makes the plan prefer cuts that leave no useless end.").number())
            h2 { "Labels" }
            (form.field("address", "Address in the QR codes").hint("What your phone opens this page with. A code printed with 127.0.0.1 opens only on this machine.").text())
            (main_act("Keep the settings"))
        }
    }
}
