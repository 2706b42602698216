//! Two tests side by side: is the difference more than noise?

use super::words;
use crate::service::Failure;
use crate::service::wedge::TestView;
use crate::web::app::{Answer, App};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use axum::extract::{RawQuery, State};
use maud::{Markup, html};
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::Channel;
use spoolwright_core::wedge::{Comparison, Difference};

pub(super) async fn show(State(app): State<App>, RawQuery(query): RawQuery) -> Answer {
    let form = Form::from_query(&query.unwrap_or_default());
    let tests = app.ask(|s| s.wedge_tests()).await?;
    let number = |name: &str| form.text(name).parse().ok().map(WedgeTestId);
    let (form, compared) = match (number("first"), number("second")) {
        (Some(first), Some(second)) => {
            match app.look(move |s| s.compare_tests(first, second)).await? {
                Ok(compared) => (form, Some(compared)),
                Err(failure @ Failure::Refused(_)) => (form.refused_by(failure)?, None),
                Err(trouble) => return Err(trouble.into()),
            }
        }
        _ => (form, None),
    };
    let read: Vec<&TestView> = tests
        .iter()
        .filter(|t| t.strips.iter().any(|s| s.channel == Channel::Visual))
        .collect();
    let form = paired(form, &read);
    let page = Page::new(Way::More, "Compare two tests").sheet("Two tests");
    form.answer(page.show(body(&read, &form, compared.as_ref())))
}

/// The form with two tests to start from: of one stock where there are two, the older first.
fn paired(form: Form, read: &[&TestView]) -> Form {
    let named = |name: &str| {
        let id = form.text(name);
        read.iter().find(|t| t.test.id.to_string() == id)
    };
    let Some(one) = named("first").or(named("second")).or(read.first()) else {
        return form;
    };
    let others = || read.iter().filter(|t| t.test.id != one.test.id);
    let same_stock = |t: &&&TestView| t.stock.id == one.stock.id;
    let Some(other) = others().find(same_stock).or(others().next()) else {
        return form;
    };
    let mut ids = [one.test.id, other.test.id];
    if form.text("first").is_empty() {
        ids.sort();
    }
    let [first, second] = ids.map(|id| id.to_string());
    form.with_default("first", first)
        .with_default("second", second)
}

fn body(read: &[&TestView], form: &Form, compared: Option<&Comparison>) -> Markup {
    let offered: Vec<(String, String)> = read
        .iter()
        .map(|t| (t.test.id.to_string(), t.test.name.clone()))
        .collect();
    html! {
        h1 { "Compare two tests" }
        p.soft { "Two cans of one stock, or one can before and after some years: is the difference more than the noise of the strips?" }
        @if read.len() < 2 {
            p { "Two tests with densities are needed. " a href="/wedge" { "The tests" } "." }
        } @else {
            (form.refusals())
            form.form method="get" action="/wedge/compare" {
                (form.field("first", "The first").select(&offered))
                (form.field("second", "The second").select(&offered))
                div.acts { button { "Compare" } }
            }
            @if let Some(c) = compared { (result(c)) }
        }
    }
}

/// What is compared, the difference, and its digits and unit.
type Row = (&'static str, Option<Difference>, usize, &'static str);

fn result(c: &Comparison) -> Markup {
    let at_target: [Row; 3] = [
        ("Speed", c.speed_stops, 2, "stops"),
        ("Time needed", c.time_min, 1, "min"),
        ("Base + fog", c.base_fog, 2, ""),
    ];
    html! {
        h2 { "How the second differs" }
        (words::caveats(&c.caveats))
        @if at_target.iter().any(|row| row.1.is_some()) {
            p { "Each developed to the same contrast (" (words::measure(c.measure)) "):" }
            (rows("At equal contrast", &at_target))
        }
        @for at in &c.at_times {
            h3 { "Both at " (words::minutes(at.time_min)) }
            (rows(&format!("At {}", words::minutes(at.time_min)), &[
                ("Speed", at.speed_stops, 2, "stops"),
                ("Base + fog", Some(at.base_fog), 2, ""),
                (words::measure(c.measure), at.contrast, 2, ""),
            ]))
        }
        p.soft { "Positive where the second is faster, longer, denser or harder. A difference is more than noise where its 95 % interval leaves zero out." }
    }
}

fn rows(name: &str, rows: &[Row]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(name) {
            table {
                thead { tr { th scope="col" { "Figure" } th.right scope="col" { "Difference" } th scope="col" { "Verdict" } } }
                tbody {
                    @for (what, difference, digits, unit) in rows {
                        tr {
                            th scope="row" { (what) }
                            @match difference {
                                Some(d) => {
                                    td.right {
                                        span.num { (words::signed(d.value, *digits)) " " (unit) }
                                        span.interval.num { (words::open_ends(d.lower95, d.upper95, *digits)) }
                                    }
                                    td { @if d.more_than_noise { b { "more than noise" } } @else { "within noise" } }
                                },
                                None => { td.right { "—" } td { "cannot be told" } },
                            }
                        }
                    }
                }
            }
        }
    }
}
