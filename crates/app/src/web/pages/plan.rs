//! The plan: wants become rolls, with reasons; one tap puts them in the queue.

use super::wants;
use crate::service::Service;
use crate::service::plan::{PlanRoll, PlanView};
use crate::service::shelf::Shelf;
use crate::web::app::{Answer, App, Asked, Query};
use crate::web::drawing::{self, PageRow};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::say;
use axum::Router;
use axum::extract::State;
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::shelf::EntryId;

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/plan", get(show))
        .route("/plan/accept", post(accept))
}

async fn show(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let shelf = app.ask(Service::shelf).await?;
    let body = if shelf.wants.iter().all(|w| w.open() == 0) {
        nothing_wanted(&shelf)
    } else if shelf.open_cans().next().is_none() {
        html! {
            h1 { "Plan" }
            p { "There are wants, but no open can to wind from." }
            div.thumb { a.btn.main href="/cans/new" { "Add a can" } }
        }
    } else {
        page(&app.ask(Service::plan).await?)
    };
    app.show(Page::new(Way::Plan, "Plan").sheet("Cut plan"), &asked, body)
        .await
}

async fn accept(State(app): State<App>, form: Form) -> Answer {
    let head = EntryId(form.text("head").parse().unwrap_or(-1));
    app.press(&form, "/queue", move |s, r| s.accept_plan(head, r))
        .await
}

fn nothing_wanted(shelf: &Shelf) -> Markup {
    html! {
        h1 { "Plan" }
        @if shelf.wants.iter().any(|w| !w.want.dropped) {
            p { "Every want is met or waits in the " a href="/queue" { "queue" } "." }
        } @else {
            p { "Say what you mean to photograph and about how many frames you want for it. The plan then cuts your cans into rolls of the right length, so that neither film nor sleeve pages are wasted." }
        }
        ul.rows { @for w in shelf.wants.iter().filter(|w| !w.want.dropped) { li { (wants::row(w, shelf)) } } }
        div.thumb { a.btn href="/queue" { "Queue" } a.btn.main href="/wants/new" { "Add a want" } }
    }
}

fn page(plan: &PlanView) -> Markup {
    let settings = &plan.shelf.settings;
    let n = plan.rolls.len();
    html! {
        h1 { "Plan" }
        p.loud {
            span.value { (n) span.unit { (if n == 1 { " roll" } else { " rolls" }) } }
            span.interval { (frames(plan)) " frames for " (say::count(plan.wants.len() as u64, "want", "wants")) ", " (settings.money(plan.cost.total)) }
        }
        @if !plan.caveats.is_empty() { div.note { @for c in &plan.caveats { p { (c.text) } } } }
        @for w in &plan.wants {
            h2 { (w.want.what_for) }
            p.soft {
                (say::count(w.open(), "frame", "frames")) " still wanted"
                @if let Some(day) = &w.want.by_when { ", by " (say::day(day)) }
                ". " a href={ "/wants/" (w.want.id) } { "Change" }
            }
            ul.rows { @for r in plan.rolls.iter().filter(|r| r.want.id == w.want.id) { li { (row(r, plan)) } } }
            @for (_, short, because) in plan.unmet.iter().filter(|(u, ..)| u.want.id == w.want.id) {
                div.note { p { strong { (say::count(*short, "frame is", "frames are")) " not met." } " " (because) } }
            }
        }
        div.two { section { (cost(plan)) } section { (leftover(plan)) } }
        @if n > 0 { (sleeves(plan)) }
        p.soft {
            @if plan.proven_optimal { "Proven: no other choice of rolls is cheaper." }
            @else { (format!("The best found; a better one could save at most {:.2} %.", plan.gap * 100.0)) }
            " Frames that would go unmet come first, then cost, then fewest rolls."
        }
        div.acts { a.btn href="/wants/new" { "Add a want" } a.btn href="/wants" { "All wants" } a.btn href="/queue" { "Queue" } }
        @if n > 0 {
            div.thumb {
                form method="post" action="/plan/accept" {
                    (Form::default().request_field())
                    input type="hidden" name="head" value=(plan.shelf.head);
                    button.main { "Queue " (if n == 1 { "this roll".to_owned() } else { format!("these {n} rolls") }) }
                }
            }
        }
    }
}

fn frames(plan: &PlanView) -> u32 {
    plan.rolls.iter().map(|r| r.frames).sum()
}

fn row(r: &PlanRoll, plan: &PlanView) -> Markup {
    html! {
        div.row {
            span.what {
                span.name { (r.frames) " from " a href={ "/cans/" (r.can.id) } { (r.can.letters) } }
                span.more { (r.reason) }
            }
            span.much { b { (r.clicks) " clicks" } (plan.shelf.settings.length(r.drawn_m)) }
        }
    }
}

fn cost(plan: &PlanView) -> Markup {
    let money = |x: f64| plan.shelf.settings.money(x);
    html! {
        h2 { "What it costs" }
        table {
            tbody {
                tr { td { "Film" } td.right { (money(plan.cost.film)) } }
                tr { td { "Sleeve pages" } td.right { (money(plan.cost.pages)) } }
                tr { td { "Chemistry" } td.right { (money(plan.cost.chemistry)) } }
                tr { td { "Ends too short to wind" } td.right { (money(plan.cost.short_ends)) } }
                tr.sum { td { "All" } td.right { (money(plan.cost.total)) } }
                tr {
                    td { "With full-length rolls only" }
                    td.right {
                        (money(plan.only_full_rolls.total))
                        @if plan.only_full_rolls.unmet_frames > 0 { br; small { (plan.only_full_rolls.unmet_frames) " frames unmet" } }
                    }
                }
            }
        }
    }
}

fn leftover(plan: &PlanView) -> Markup {
    html! {
        h2 { "What is left of each can" }
        table {
            thead { tr { th { "Can" } th.right { "Now" } th.right { "After, queued rolls included" } } }
            tbody {
                @for (c, after) in &plan.leftover {
                    tr {
                        td { a href={ "/cans/" (c.can.id) } { (c.can.letters) } " " (c.stock.name) }
                        td.right.num { (plan.shelf.settings.length(c.remaining.mean)) }
                        td.right.num { (plan.shelf.settings.length(*after)) }
                    }
                }
            }
        }
    }
}

/// How the rolls would fill sleeve pages, row by row, in the plan's order.
fn sleeves(plan: &PlanView) -> Markup {
    let (rows, per_row) = (
        plan.shelf.settings.page_rows.max(1),
        plan.shelf.settings.page_frames_per_row.max(1),
    );
    let mut all: Vec<PageRow> = Vec::new();
    for r in &plan.rolls {
        for first in (0..r.frames).step_by(per_row as usize) {
            all.push(PageRow {
                roll: format!("{} {}", r.can.letters, r.frames),
                first: first + 1,
                frames: per_row.min(r.frames - first),
            });
        }
    }
    while !all.len().is_multiple_of(rows as usize) {
        all.push(PageRow {
            roll: String::new(),
            first: 1,
            frames: 0,
        });
    }
    html! {
        details {
            summary { "How they fill sleeve pages" }
            @for (i, page) in all.chunks(rows as usize).enumerate() {
                figure {
                    (drawing::page_grid(&format!("page-{i}"), per_row, page))
                    figcaption { "Page " (i + 1) }
                }
            }
        }
    }
}
