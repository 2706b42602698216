//! The contrast to aim at, and what it asks: developing time and speed, each with its 95 % interval.
//!
//! The chooser is a plain form that asks for the page again; a module of ours fetches only the part that changes, so
//! that it follows a slider.

use super::{speed, words};
use crate::service::wedge::{Layer, TargetDraft};
use crate::service::{Failure, Outcome};
use crate::web::app::{Answer, App};
use crate::web::drawing::{self, Between};
use crate::web::form::Form;
use crate::web::problem::four_parts;
use axum::extract::{Path, RawQuery, State};
use axum::response::{Html, IntoResponse};
use maud::{Markup, html};
use spoolwright_core::Error;
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::Channel;
use spoolwright_core::wedge::{
    Analysis, AtTarget, CurvePoint, Interval, Material, Measure, NAMED_TARGETS, SpeedKind, Target,
};

/// The contrast asked for, with the form that asked.
pub(super) struct Aim {
    pub(super) form: Form,
    pub(super) target: Option<Target>,
}

impl Aim {
    /// What a query asks for; the normal contrast when it asks for nothing. A measure without a value starts from
    /// what the strips reach in it.
    pub(super) fn of(query: &str, analysis: &Analysis) -> Result<Self, Failure> {
        let form = Form::from_query(query).with_default("target", "normal");
        let measure = Measure::from_word(form.text("measure")).unwrap_or_default();
        let form = match form.text("target") {
            "own" => match middle(analysis, measure) {
                Some(value) => form.with_default("contrast", format!("{value:.2}")),
                None => form,
            },
            _ => form,
        };
        match form.draft::<TargetDraft>(&[]).read() {
            Ok(target) => {
                let form = form.with("measure", target.measure.word());
                let form = match form.text("target") {
                    "own" => form.with_default("contrast", format!("{:.2}", target.value)),
                    _ => form.with("contrast", format!("{:.2}", target.value)),
                };
                Ok(Self {
                    form,
                    target: Some(target),
                })
            }
            Err(Failure::Refused(faults)) => Ok(Self {
                form: form.refused(faults),
                target: None,
            }),
            Err(trouble) => Err(trouble),
        }
    }

    /// The same choice as a query.
    pub(super) fn query(&self) -> String {
        match self.form.text("target") {
            "own" => format!(
                "target=own&measure={}&contrast={}",
                self.form.text("measure"),
                self.form.text("contrast")
            ),
            named => format!("target={named}"),
        }
    }
}

/// Mean contrast of the strips in one measure.
fn middle(analysis: &Analysis, measure: Measure) -> Option<f64> {
    let reached: Vec<f64> = reached(analysis, measure).collect();
    (!reached.is_empty()).then(|| reached.iter().sum::<f64>() / reached.len() as f64)
}

fn reached(analysis: &Analysis, measure: Measure) -> impl Iterator<Item = f64> {
    analysis
        .strips
        .iter()
        .filter_map(move |s| Some(s.contrast(measure)?.value))
}

/// The black-and-white layer, where it could be worked out.
pub(super) fn visual(layers: &[Layer]) -> Option<&Analysis> {
    let layer = layers.iter().find(|l| l.channel == Channel::Visual)?;
    layer.analysis.as_ref().ok()
}

/// Whether a contrast can be aimed at: a negative developed for two times or more.
pub(super) fn can_aim(analysis: &Analysis) -> bool {
    analysis.material == Material::Negative && analysis.strips.len() > 1
}

/// Only the parts that a change of target changes.
pub(super) async fn part(
    State(app): State<App>,
    Path(id): Path<i64>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query = query.unwrap_or_default();
    let said = app
        .ask(move |s| -> Outcome<Markup> {
            let layers = s.wedge_layers(WedgeTestId(id))?;
            match visual(&layers) {
                Some(analysis) => {
                    let aim = Aim::of(&query, analysis)?;
                    let at = reached_at(analysis, &aim);
                    Ok(html! { (answer(analysis, at.as_ref())) (ground(id, analysis, &aim, at.as_ref())) })
                }
                None => Ok(s.wedge_analysis(WedgeTestId(id)).map(|_| html! {})?),
            }
        })
        .await?;
    Ok(Html(said.into_string()).into_response())
}

/// What the target asks, or why it asks nothing; none where the target itself was refused.
fn reached_at(analysis: &Analysis, aim: &Aim) -> Option<Result<AtTarget, Error>> {
    aim.target.map(|target| analysis.at(target))
}

/// The answer, the switch right by it, and below them what it rests on.
pub(super) fn section(id: i64, analysis: &Analysis, aim: &Aim) -> Markup {
    let at = reached_at(analysis, aim);
    html! {
        h2 id="target" { "How long, at what speed" }
        div.aim {
            (answer(analysis, at.as_ref()))
            (switch(id, analysis, aim))
            (ground(id, analysis, aim, at.as_ref()))
        }
        details {
            summary { "What the measures mean" }
            dl { @for (m, meaning) in words::MEASURES { dt { b { (words::measure(m)) } } dd { (meaning) "." } } }
        }
    }
}

fn switch(id: i64, analysis: &Analysis, aim: &Aim) -> Markup {
    let measures: Vec<(&str, &str)> = words::MEASURES
        .iter()
        .map(|(m, _)| (m.word(), words::measure(*m)))
        .collect();
    let all: Vec<f64> = words::MEASURES
        .iter()
        .flat_map(|(m, _)| reached(analysis, *m))
        .collect();
    let low = all.iter().copied().fold(0.5, f64::min) * 0.8;
    let high = all.iter().copied().fold(0.7, f64::max) * 1.2;
    let source = NAMED_TARGETS
        .iter()
        .find(|t| t.code == aim.form.text("target"))
        .map(|t| t.source);
    html! {
        form.form.switch method="get" action={ "/wedge/" (id) "#target" } data-target={ "/wedge/" (id) "/target" } {
            div.field {
                label for="aim" { "Contrast to aim at" }
                select id="aim" name="target" {
                    @for t in NAMED_TARGETS {
                        option value=(t.code) selected[t.code == aim.form.text("target")] data-measure=(t.target.measure.word())
                            data-contrast=(format!("{:.2}", t.target.value)) {
                            (t.name)
                        }
                    }
                    option value="own" selected[aim.form.text("target") == "own"] { "a value of my own" }
                }
            }
            div.field hidden data-slider {
                label for="slider" { "Softer or harder" }
                input id="slider" type="range" min=(format!("{low:.2}")) max=(format!("{high:.2}")) step="0.01" value=(aim.form.text("contrast"));
            }
            div.pair.measured {
                (aim.form.field("measure", "Measured as").select(&measures))
                (aim.form.field("contrast", "Value").number())
            }
            p.hint data-plain { "Measure and value count for “a value of my own”." }
            @if let Some(source) = source { p.hint data-source { "Where this value comes from: " (source) "." } }
            div.acts data-plain { button { "Show this" } }
        }
    }
}

/// Time and speed at the target, each with its interval. It stays as high as it is whatever the target, so that the
/// slider below it keeps its place under the thumb.
fn answer(analysis: &Analysis, at: Option<&Result<AtTarget, Error>>) -> Markup {
    html! {
        div id="at-target" data-part="answer" aria-live="polite" {
            (large(at.and_then(|at| at.as_ref().ok()), analysis.speed_kind))
        }
    }
}

/// What limits the answer, what to do with it, and the plot that shows where it comes from.
fn ground(id: i64, analysis: &Analysis, aim: &Aim, at: Option<&Result<AtTarget, Error>>) -> Markup {
    html! {
        div data-part="ground" {
            @match at {
                None => (aim.form.refusals()),
                Some(Err(error)) => (four_parts(error)),
                Some(Ok(at)) => {
                    (limits(at))
                    div.acts {
                        a.btn.main href={ "/wedge/" (id) "/card?" (aim.query()) } { "Make the stock card" }
                        a.btn href={ "/wedge/" (id) "/sheet.pdf?" (aim.query()) } { "Print the result" }
                    }
                    (same_time(analysis, at.time_min.value))
                },
            }
            @if let (Some(target), Some(at)) = (aim.target, at) { (plot(analysis, target, at.as_ref().ok())) }
        }
    }
}

/// What the contrast at this time is in every measure, so that the measure may be switched in place.
fn same_time(analysis: &Analysis, time_min: f64) -> Markup {
    html! {
        @for (m, _) in words::MEASURES {
            @if let Some(value) = analysis.time_contrast_in(m).ok().and_then(|c| c.on_curve(time_min)) {
                data data-same=(m.word()) value=(format!("{value:.2}")) {}
            }
        }
    }
}

/// The answer with what limits it, where nothing moves it.
pub(super) fn figures(at: &AtTarget, kind: SpeedKind) -> Markup {
    html! { (large(Some(at), kind)) (limits(at)) }
}

/// Developing time and speed, to be read from a metre away; dashes where there is no answer.
fn large(at: Option<&AtTarget>, kind: SpeedKind) -> Markup {
    html! {
        div.answer {
            @match at.map(|at| at.time_min) {
                Some(t) => (speed::one("Develop for", &words::number(t.value, 1), " min", &[&format!("95 %: {} min", words::ends(t, 1))])),
                None => (speed::one("Develop for", "—", "", &["no time for this contrast"])),
            }
            @match at {
                Some(at) => (speed::large(&at.into(), kind)),
                None => (speed::one(speed::name(kind), "—", "", &[])),
            }
        }
    }
}

/// What the answer holds for, and what limits it.
fn limits(at: &AtTarget) -> Markup {
    html! {
        p {
            "At " (words::measure(at.target.measure)) " " span.num { (words::number(at.target.value, 2)) }
            "; base + fog there " span.num { (words::number(at.base_fog.value, 2)) } " (" (words::ends(at.base_fog, 2)) ")."
        }
        @if let Some(factor) = at.extrapolated {
            div.note { p { (format!("Outside the strips: {factor:.2} times as far as the nearest one. Develop another strip near that time before you rely on it.")) } }
        }
        (words::caveats(&at.caveats))
    }
}

fn plot(analysis: &Analysis, target: Target, at: Option<&AtTarget>) -> Markup {
    let between = |i: Interval| -> Between { (i.value, i.lower95, i.upper95) };
    let points = |all: &[CurvePoint]| all.iter().map(|p| (p.x, between(p.y))).collect();
    html! {
        @match analysis.time_contrast_in(target.measure) {
            Ok(c) => figure {
                (drawing::time_contrast("time-contrast", &drawing::TimeContrast {
                    measure: words::measure(target.measure).to_owned(),
                    strips: points(&c.points),
                    curve: points(&c.curve),
                    wanted: Some(target.value),
                    time: at.map(|at| between(at.time_min)),
                }))
                figcaption { (c.reason) " The bar on the time axis is the 95 % interval of the time." }
            },
            Err(error) => @if at.is_some() { (four_parts(&error)) },
        }
    }
}
