//! The calculators of time and light: temperature, push, long exposures, filters, equivalent exposures.

use super::tools::{
    EXPOSURE, FILTER, Figure, Known, LONG, PUSH, TIME, address, figures, model, work,
};
use crate::service::Service;
use crate::service::wet::times::told;
use crate::service::wet::tools::filter::{ExposureView, FilterView};
use crate::service::wet::tools::light::{
    DevtimeView, LongView, OWN_RULES, PushView, circulating, origin_words,
};
use crate::service::wet::tools::trimmed;
use crate::web::app::{Answer, App};
use crate::web::form::Form;
use crate::web::say;
use axum::Router;
use axum::extract::{RawQuery, State};
use axum::routing::get;
use maud::{Markup, html};
use spoolwright_core::wet::filter::{self, FILTERS, Stack};
use spoolwright_core::wet::mark::Mark;
use spoolwright_core::wet::reciprocity::{self, Comparison};
use spoolwright_core::wet::temperature::Origin;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/light/time", get(time))
        .route("/wet/light/push", get(push))
        .route("/wet/light/long", get(long))
        .route("/wet/light/filter", get(filters))
        .route("/wet/light/exposure", get(exposure))
}

async fn time(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(&app, q, &TIME, Service::tool_devtime, timed, time_form).await
}

async fn push(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(&app, q, &PUSH, Service::tool_push, pushed, push_form).await
}

async fn long(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(&app, q, &LONG, Service::tool_long, corrected, long_form).await
}

async fn filters(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(
        &app,
        q,
        &FILTER,
        Service::tool_filter,
        filtered,
        filter_form,
    )
    .await
}

async fn exposure(State(app): State<App>, RawQuery(q): RawQuery) -> Answer {
    work(
        &app,
        q,
        &EXPOSURE,
        Service::tool_exposure,
        exposed,
        exposure_form,
    )
    .await
}

/// How a figure of the user's own is known.
const MARKS: [(&str, &str); 3] = [
    ("rule-of-thumb", "a rule of thumb"),
    ("sheet", "from a sheet"),
    ("measured", "measured"),
];

/// Seconds as a dial or a watch has them: `1/60 s`, `12.9 s`, `3:33`.
fn seconds(s: f64) -> String {
    let figures = |v: f64| match v {
        v if v < 9.995 => trimmed(v, 2),
        v if v < 99.95 => trimmed(v, 1),
        v => format!("{v:.0}"),
    };
    if s < 0.3 {
        format!("1/{} s", figures(1.0 / s))
    } else if s < 59.95 {
        format!("{} s", figures(s))
    } else if s < 3600.0 {
        format!("{} min", told(s / 60.0))
    } else {
        format!("{} h", figures(s / 3600.0))
    }
}

/// A time, its unit beside it in small.
fn timed_figure(label: &str, s: f64, below: String) -> Figure {
    let told = seconds(s);
    let (value, unit) = told.split_once(' ').unwrap_or((&told, "s"));
    let unit = match unit {
        "min" => "min",
        "h" => "h",
        _ => "s",
    };
    Figure::new(label, value, unit, below)
}

fn signed(value: f64, digits: usize) -> String {
    let told = trimmed(value.abs(), digits);
    match told.as_str() {
        "0" => told,
        _ if value < 0.0 => format!("−{told}"),
        _ => format!("+{told}"),
    }
}

fn timed(v: &DevtimeView, _: &Form) -> Markup {
    let t = v.telling;
    let i = v.time.time_min;
    let q = v.coefficient.q10();
    let range = if q.lower95 < q.upper95 {
        format!(" ({:.2} to {:.2})", q.lower95, q.upper95)
    } else {
        String::new()
    };
    let learnt = match (v.coefficient.origin(), v.coefficient.lesson()) {
        (Origin::Learnt, Some(l)) => format!(
            " It was learnt from {} from {} to {}.",
            say::count(l.pairs as u64, "time", "times"),
            t.temperature(l.coldest_c),
            t.temperature(l.warmest_c)
        ),
        _ => String::new(),
    };
    let words = format!(
        "Exponential in temperature: 10 °C warmer works {:.2} times faster{range}, {}.{learnt}",
        q.value,
        origin_words(v.coefficient.origin())
    );
    html! {
        (figures(&[Figure::new(
            format!("Develop at {}", t.temperature(v.to_c)),
            told(i.value),
            "min",
            format!("{} to {} (95 %)", told(i.lower95), told(i.upper95)),
        )]))
        p { "instead of " (told(v.time_min)) " at " (t.temperature(v.at_c)) "." }
        (model(Some(v.mark), &words, &v.time.caveats))
    }
}

fn time_form(f: &Form, k: &Known, _: Option<&DevtimeView>) -> Markup {
    let f = &f.clone().with_default("mark", "sheet");
    html! {
        div.pair {
            (f.field("time", "Time you know").hint("Such as 8:20.").unit("min").needed().text())
            (f.field("at", "at").hint(k.example("20 °C when empty.", "68 °F when empty.")).unit(k.degrees()).text())
        }
        (f.field("to", "Your bath is at").unit(k.degrees()).needed().text())
        details open[f.is_faulty() || !f.text("q10").is_empty() || !f.text("pairs").is_empty()] {
            summary { "This developer's coefficient" }
            p.hint { "How many times faster it works 10 °C warmer. Left empty it is 2.5, a default: developers differ, 1.5 to 4." }
            (f.field("pairs", "Learn it from your own times").hint(k.example("One a line, same film and contrast: 8:20 at 22 C", "One a line, same film and contrast: 8:20 at 72 F")).lines())
            div.pair {
                (f.field("q10", "or its number").number())
                (f.field("mark", "which is").select(&MARKS))
            }
        }
    }
}

fn pushed(v: &PushView, _: &Form) -> Markup {
    let p = &v.push;
    let i = v.time_min;
    let range = if i.lower95 < i.upper95 {
        format!("{} to {} are in use", told(i.lower95), told(i.upper95))
    } else {
        String::new()
    };
    let what = if p.stops < 0.0 { "Pull" } else { "Push" };
    html! {
        (figures(&[Figure::new(
            format!("{what} by {}", stops(p.stops.abs())),
            told(i.value),
            "min",
            range,
        )]))
        p { "That is " (trimmed(p.factor, 3)) " times " (told(v.normal_min)) "." }
        (model(Some(p.mark), if p.mark == Mark::RuleOfThumb { "A factor of the developing time for each stop, the middle of what is in use." } else { "Your own factor of the developing time." }, &p.caveats))
        div.acts { a.btn href=(address(TIME.path, &[("time", &told(i.value))])) { "At another temperature" } }
    }
}

fn stops(value: f64) -> String {
    let told = trimmed(value, 2);
    format!("{told} {}", if told == "1" { "stop" } else { "stops" })
}

fn push_form(f: &Form, _: &Known, _: Option<&PushView>) -> Markup {
    html! {
        (f.field("time", "Normal time").hint("Such as 8:20, at the temperature you will use.").unit("min").needed().text())
        (f.field("stops", "Stops").hint("Such as 1 or 1 1/3 to push, -1 to pull.").text())
        div.pair {
            (f.field("speed", "or: the time is for EI").number())
            (f.field("exposed_at", "and it was exposed at EI").number())
        }
        details open[f.is_faulty() || !f.text("factor").is_empty()] {
            summary { "A factor of your own" }
            div.pair {
                (f.field("factor", "Times the normal time").hint("Such as 1.4.").number())
                (f.field("mark", "which is").select(&MARKS))
            }
        }
    }
}

fn corrected(v: &LongView, form: &Form) -> Markup {
    match v {
        LongView::All {
            metered_s,
            comparison,
        } => all_rules(*metered_s, comparison, form),
        LongView::One {
            metered_s,
            model: rule,
            corrected_s,
            caveats,
        } => {
            let more = reciprocity::stops(*metered_s, *corrected_s);
            html! {
                (figures(&[timed_figure("Give", *corrected_s, format!("{} stops more than {}", trimmed(more, 2), seconds(*metered_s)))]))
                (model(Some(rule.mark), &format!("Rule: {}.", rule.name), caveats))
                p { a href=(address(LONG.path, &[("ask", "yes"), ("metered", form.text("metered"))])) { "What all the rules say" } }
            }
        }
    }
}

fn all_rules(metered_s: f64, c: &Comparison, form: &Form) -> Markup {
    let words = circulating();
    html! {
        p { strong { "For a metered " (seconds(metered_s)) " the rules say:" } }
        div.scroll tabindex="0" role="region" aria-label="What the rules say" {
            table {
                thead { tr { th scope="col" { "Rule" } th.right scope="col" { "Give" } th.right scope="col" { "Stops" } } }
                tbody {
                    @for (s, (word, _)) in c.said.iter().zip(&words) {
                        tr {
                            th scope="row" { a.tap href=(address(LONG.path, &[("ask", "yes"), ("metered", form.text("metered")), ("rule", word)])) { (s.model.name) } }
                            @match s.corrected_s {
                                Some(give) => { td.right.num { b { (seconds(give)) } } td.right.num { (signed(reciprocity::stops(metered_s, give), 2)) } }
                                None => { td.right.num { "says nothing" } td.right.num { "–" } }
                            }
                        }
                    }
                }
            }
        }
        (model(Some(Mark::RuleOfThumb), "Four rules side by side; none is picked for you.", &c.caveats))
    }
}

fn long_form(f: &Form, _: &Known, _: Option<&LongView>) -> Markup {
    let known = circulating();
    let mut rules: Vec<(&str, &str)> = vec![("", "none: show them all")];
    rules.extend(
        known
            .iter()
            .map(|(word, m)| (word.as_str(), m.name.as_str())),
    );
    rules.extend(OWN_RULES);
    html! {
        (f.field("metered", "The meter asks for").hint("Such as 30 s, 2 min or 1:30.").needed().text())
        (f.field("rule", "Rule").select(&rules))
        details open[f.is_faulty() || OWN_RULES.iter().any(|(w, _)| *w == f.text("rule"))] {
            summary { "A rule of your own" }
            div.pair {
                (f.field("number", "Its number").hint("p, q or a.").number())
                (f.field("mark", "which is").select(&MARKS))
            }
            (f.field("rows", "Your table").hint("One a line, metered first: 30 s, 72 s").lines())
        }
    }
}

fn filtered(v: &FilterView, _: &Form) -> Markup {
    html! {
        @if let Some(stack) = &v.stack {
            (figures(&[
                Figure::new("Filter", names(stack), "", format!("{} mired", signed(f64::from(stack.mired()), 0))),
                Figure::new("Costs", thirds(stack.stops()), "stops", format!("factor {}", trimmed(stack.factor(), 2))),
            ]))
        }
        @if let Some((speed, exact, listed)) = &v.ei {
            p { "Film of EI " (say::speed(*speed)) " behind it: set the meter to EI " strong { (say::speed(listed.iso)) } " (exactly " (trimmed(*exact, 0)) ") when it does not see through the filter." }
        }
        @if let Some((n, t, through)) = &v.exposure {
            p {
                "f/" (trimmed(*n, 1)) " at " (seconds(*t)) " without becomes f/" (trimmed(*n, 1)) " at " strong { (seconds(through.time_s)) }
                @if let Some(mark) = through.f_mark { ", or f/" strong { (trimmed(mark, 1)) } " at " (seconds(*t)) }
                "."
            }
        }
        @if let Some((wanted, choices)) = &v.wanted {
            p { "The shift wanted is " strong { (signed(*wanted, 0)) " mired" } "." }
            div.scroll tabindex="0" role="region" aria-label="Filters" {
                table {
                    thead { tr { th scope="col" { "Filter" } th.right scope="col" { "Shift" } th.right scope="col" { "Left" } th.right scope="col" { "Stops" } } }
                    tbody {
                        @for c in choices {
                            tr { th scope="row" { (names(&c.stack)) } td.right.num { (signed(f64::from(c.stack.mired()), 0)) } td.right.num { (signed(c.left_mired, 0)) } td.right.num { (thirds(c.stack.stops())) } }
                        }
                    }
                }
            }
        }
        (model(Some(Mark::Sheet), "Mireds add, stops add; shifts and costs are nominal, from a meter's manual.", &v.caveats))
        p.hint { "Lamp film in daylight without a filter keeps its EI or loses a little, and the cast is taken out later: that is your choice." }
    }
}

fn names(stack: &Stack) -> String {
    let mut all: Vec<String> = stack.filters.iter().map(|f| f.name.to_owned()).collect();
    all.extend(stack.factors.iter().map(|f| format!("×{}", trimmed(*f, 2))));
    if all.is_empty() {
        "none".to_owned()
    } else {
        all.join(" + ")
    }
}

/// Stops in thirds as dials have them: `1 2/3`.
fn thirds(stops: f64) -> String {
    let thirds = filter::nominal_thirds(stops);
    match (thirds / 3, thirds % 3) {
        (whole, 0) => whole.to_string(),
        (0, part) => format!("{part}/3"),
        (whole, part) => format!("{whole} {part}/3"),
    }
}

fn filter_form(f: &Form, _: &Known, _: Option<&FilterView>) -> Markup {
    let all = FILTERS.map(|x| x.name).join(" ");
    html! {
        div.pair {
            (f.field("from", "The light is").hint("Daylight 5500, lamps 3200.").unit("K").number())
            (f.field("to", "The film is made for").hint("Daylight 5500, lamps 3200.").unit("K").number())
        }
        div.pair {
            (f.field("speed", "Film's EI").number())
            (f.field("on_lens", "Filters on the lens").hint("The best one when empty.").text())
        }
        details open[f.is_faulty() || ["f_number", "time", "shift", "factors", "at_hand"].iter().any(|n| !f.text(n).is_empty())] {
            summary { "Exposure, other filters" }
            div.pair {
                (f.field("f_number", "Exposure, f/").text())
                (f.field("time", "at").hint("Such as 1/60.").unit("s").text())
            }
            div.pair {
                (f.field("factors", "Factors of other filters").hint("Such as 4; several apart by spaces.").text())
                (f.field("shift", "or a shift").hint("Instead of two lights.").unit("mired").text())
            }
            (f.field("at_hand", "Filters you have").hint("All when empty.").text())
            p.hint { "Numbers known here: " (all) "." }
        }
    }
}

fn exposed(v: &ExposureView, _: &Form) -> Markup {
    html! {
        (figures(&[
            Figure::new("Exposure value", format!("{:.1}", v.ev), "", format!("exactly {:.3}", v.ev)),
            timed_figure("Time", v.time_s, format!("at f/{}", trimmed(v.f_number, 1))),
        ]))
        div.scroll tabindex="0" role="region" aria-label="Equivalent exposures" {
            table {
                thead { tr { th scope="col" { "f-number" } th.right scope="col" { "Time" } } }
                tbody { @for p in &v.equivalents { tr { th scope="row" { "f/" (trimmed(p.f_mark, 1)) } td.right.num { (seconds(p.time_s)) } } } }
            }
        }
        (model(None, "EV is log₂(N²/t): 0 at f/1 and 1 s, one more for each stop less light.", &v.caveats))
    }
}

fn exposure_form(f: &Form, _: &Known, _: Option<&ExposureView>) -> Markup {
    html! {
        (f.field("f_number", "f/").hint("Such as 8.").needed().text())
        div.pair {
            (f.field("time", "Time").hint("Such as 1/60.").unit("s").text())
            (f.field("ev", "or exposure value").text())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_as_dials_and_watches_have_them() {
        let all = [1.0 / 60.0, 0.5, 12.88, 86.1, 213.5, 7200.0].map(seconds);
        assert_eq!(
            all,
            ["1/60 s", "0.5 s", "12.9 s", "1:26 min", "3:34 min", "2 h"]
        );
        assert_eq!(
            [2.0, 1.0 / 3.0, 5.0 / 3.0, 0.585].map(thirds),
            ["2", "1/3", "1 2/3", "2/3"]
        );
        assert_eq!(
            (signed(-130.7, 0), signed(0.2, 0)),
            ("−131".to_owned(), "0".to_owned())
        );
    }
}
