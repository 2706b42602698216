//! Recipes: list, begin from a built-in one, change step by step, put away.

use super::kit::{SHELF, put_away};
use super::runs::steps as told_steps;
use crate::service::wet::recipes::{MOST_STEPS, RecipeDraft, RecipeView, StepDraft, step_field};
use crate::service::wet::tools::Telling;
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::{Deserialize, Serialize};
use spoolwright_core::shelf::RecipeId;
use spoolwright_core::wet::recipe::StepKind;
use spoolwright_core::wet::starters::{CAUTION, starters};

/// Empty lines offered below the steps there are.
const SPARE_STEPS: usize = 2;
/// Empty lines of a recipe that is written from nothing.
const FIRST_STEPS: usize = 6;
/// Lines that are read at most.
const MOST_LINES: usize = 2 * MOST_STEPS;
/// The fields of a step, in the order of [`StepDraft`].
const STEP_FIELDS: [&str; 11] = [
    "kind",
    "time",
    "time_from",
    "temperature",
    "q10",
    "first_s",
    "every_s",
    "for_s",
    "fill_s",
    "drain_s",
    "note",
];

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/recipes", get(list).post(add))
        .route("/wet/recipes/begin", post(begin))
        .route("/wet/recipes/new", get(blank))
        .route("/wet/recipes/{id}", get(show))
        .route("/wet/recipes/{id}/change", get(edit).post(change))
        .route("/wet/recipes/{id}/close", post(close))
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let (recipes, telling) = app.ask(|s| Ok((s.recipes()?, s.telling()?))).await?;
    app.show(
        Page::new(Way::Wet, "Recipes").sheet("Recipes"),
        &asked,
        list_page(&recipes, telling),
    )
    .await
}

async fn begin(State(app): State<App>, form: Form) -> Answer {
    let name = form.text("name").to_owned();
    app.press(&form, "/wet/recipes", move |s, r| s.begin_recipe(&name, r))
        .await
}

async fn blank(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    app.show(new_sheet(), &asked, form_page(&Form::default(), None))
        .await
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let (recipe, telling) = app
        .ask(move |s| Ok((s.recipe(RecipeId(id))?, s.telling()?)))
        .await?;
    app.show(sheet(&recipe), &asked, page(&recipe, telling))
        .await
}

/// How many steps a form has lines for.
fn places(form: &Form) -> usize {
    form.names()
        .filter_map(|n| n.strip_prefix("step")?.split_once('.')?.0.parse().ok())
        .max()
        .map_or(0, |last: usize| last.saturating_add(1))
        .min(MOST_LINES)
}

/// Whether a line was left as it was offered: no step before, its first kind of bath, and nothing typed.
fn is_untouched(form: &Form, place: usize) -> bool {
    let text = |name: &str| form.text(&step_field(place, name));
    let kind = text("kind");
    text("was").is_empty()
        && (kind.is_empty() || kind == StepKind::ALL[0].word())
        && STEP_FIELDS
            .iter()
            .filter(|name| !matches!(**name, "kind" | "time_from"))
            .all(|name| text(name).is_empty())
}

/// The form with its steps in the order that was asked for, so that a fault stands at the step it is about.
fn in_order(form: &Form) -> Form {
    let mut order: Vec<usize> = (0..places(form)).collect();
    order.sort_by_key(|place| {
        let own = place + 1;
        match form.text(&step_field(*place, "place")).parse::<usize>() {
            // A step that is moved goes before the one that stands there.
            Ok(to) if to != own => (to, 0),
            _ => (own, 1),
        }
    });
    let mut values: Vec<(String, String)> = form
        .names()
        .filter(|name| !name.starts_with("step"))
        .map(|name| (name.to_owned(), form.text(name).to_owned()))
        .collect();
    for (to, from) in order.into_iter().enumerate() {
        for name in STEP_FIELDS.iter().chain(&["out", "was"]) {
            let value = form.text(&step_field(from, name)).to_owned();
            values.push((step_field(to, name), value));
        }
    }
    Form::fresh(values)
}

/// The steps of a form; one left empty or taken out is an empty draft, and so no step.
fn steps_of(form: &Form) -> Vec<StepDraft> {
    (0..places(form))
        .map(|place| {
            if is_untouched(form, place) || form.ticked(&step_field(place, "out")) {
                return StepDraft::default();
            }
            let fields = STEP_FIELDS.map(|name| {
                let value = form.text(&step_field(place, name)).to_owned();
                (name.to_owned(), serde_json::Value::from(value))
            });
            let map: serde_json::Map<_, _> = fields.into_iter().collect();
            serde_json::from_value(map.into()).unwrap_or_default()
        })
        .collect()
}

async fn add(State(app): State<App>, form: Form) -> Answer {
    let ordered = in_order(&form);
    let steps = steps_of(&ordered);
    match app
        .carry_out(&form, &[], move |s, d: &RecipeDraft, r| {
            s.save_recipe(None, d, &steps, r)
        })
        .await?
    {
        Ok(made) => {
            let next = made.value.map_or_else(
                || "/wet/recipes".to_owned(),
                |id| format!("/wet/recipes/{id}"),
            );
            Ok(go_on(&next, made.entry))
        }
        Err(failure) => {
            let form = ordered.refused_by(failure)?;
            form.answer(new_sheet().show(form_page(&form, None)))
        }
    }
}

async fn edit(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let recipe = app.ask(move |s| s.recipe(RecipeId(id))).await?;
    app.show(
        sheet(&recipe),
        &asked,
        form_page(&filled(&recipe), Some(&recipe)),
    )
    .await
}

/// A form that starts from a recipe.
fn filled(recipe: &RecipeView) -> Form {
    let mut form = Form::from_draft(&RecipeDraft::from(&recipe.recipe));
    for (place, step) in recipe.steps.iter().enumerate() {
        form = form.with(&step_field(place, "was"), "yes");
        if let Ok(serde_json::Value::Object(map)) = serde_json::to_value(StepDraft::from(step)) {
            for (name, value) in map {
                form = form.with(
                    &step_field(place, &name),
                    value.as_str().unwrap_or_default(),
                );
            }
        }
    }
    form.seeing(&Whole::from(recipe))
}

/// A recipe and its steps, to see whether they were changed elsewhere; a form's own steps are read by [`steps_of`].
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
struct Whole {
    #[serde(flatten)]
    head: RecipeDraft,
    steps: Option<Vec<StepDraft>>,
}

impl From<&RecipeView> for Whole {
    fn from(recipe: &RecipeView) -> Self {
        Self {
            head: RecipeDraft::from(&recipe.recipe),
            steps: Some(recipe.steps.iter().map(StepDraft::from).collect()),
        }
    }
}

async fn change(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let id = RecipeId(id);
    let recipe = app.ask(move |s| s.recipe(id)).await?;
    let ordered = in_order(&form);
    let typed = steps_of(&ordered);
    match app
        .change(
            &form,
            &[],
            move |s| Ok(Whole::from(&s.recipe(id)?)),
            move |s, whole: &Whole, r| {
                let steps = whole.steps.as_ref().unwrap_or(&typed);
                s.save_recipe(Some(id), &whole.head, steps, r)
            },
        )
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/wet/recipes/{id}"), made.entry)),
        Err(failure) => {
            let form = ordered.refused_by(failure)?.seeing(&Whole::from(&recipe));
            form.answer(sheet(&recipe).show(form_page(&form, Some(&recipe))))
        }
    }
}

async fn close(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let closed = form.text("closed") != "no";
    app.press(&form, "/wet/recipes", move |s, r| {
        s.close_recipe(RecipeId(id), closed, r)
    })
    .await
}

fn new_sheet() -> Page {
    Page::new(Way::Wet, "Write a recipe").sheet("New recipe")
}

fn sheet(recipe: &RecipeView) -> Page {
    Page::new(Way::Wet, &recipe.recipe.name).sheet("Recipe")
}

fn list_page(recipes: &[RecipeView], telling: Telling) -> Markup {
    let taken = |name: &str| recipes.iter().any(|r| r.recipe.name == name);
    html! {
        h1 { "Recipes" }
        ul.rows {
            @for r in recipes {
                li {
                    a.row href={ "/wet/recipes/" (r.recipe.id) } {
                        span.what {
                            span.name { (r.recipe.name) @if r.recipe.closed { " (put away)" } }
                            span.more { (r.recipe.process.word().replace('-', " ")) ", " (r.recipe.developer) " " (r.recipe.dilution) }
                        }
                        span.much { (say::count(r.steps.len() as u64, "step", "steps")) }
                    }
                }
            }
        }
        h2 { "To begin with" }
        p.soft { (CAUTION) }
        @for (recipe, steps) in starters().iter().filter(|(r, _)| !taken(&r.name)) {
            details {
                summary { (recipe.name) }
                (told_steps(steps, telling))
                form method="post" action="/wet/recipes/begin" {
                    (Form::default().request_field())
                    input type="hidden" name="name" value=(recipe.name);
                    button { "Take it up" }
                }
            }
        }
        div.thumb { a.btn.main href="/wet/recipes/new" { "Write one from nothing" } }
    }
}

fn page(r: &RecipeView, telling: Telling) -> Markup {
    let id = r.recipe.id;
    html! {
        h1 { (r.recipe.name) }
        dl.fields {
            div { dt { "Process" } dd { (r.recipe.process.word().replace('-', " ")) } }
            div { dt { "Developer" } dd { (r.recipe.developer) " " (r.recipe.dilution) } }
            @if let Some(ml) = r.recipe.least_stock_ml { div { dt { "Least stock for a film of 36" } dd { (telling.volume(ml)) } } }
            div { dt { "Rolls may be off the common time by" } dd { (format!("{:.0} %", r.recipe.tolerance * 100.0)) } }
            @if !r.recipe.note.is_empty() { div.wide { dt { "Note" } dd { (r.recipe.note) } } }
        }
        h2 { "Steps" }
        (told_steps(&r.steps, telling))
        (put_away(&format!("/wet/recipes/{id}/close"), r.recipe.closed, SHELF))
        p.ways-on {
            a href={ "/wet/runs/new?recipe=" (id) } { "Load a tank for it" } " "
            a href={ "/wet/runs/new?recipe=" (id) "&rehearsal=20" } { "Rehearse it with an empty tank" } " "
            a href="/wet/recipes" { "All recipes" }
        }
        div.thumb { a.btn.main href={ "/wet/recipes/" (id) "/change" } { "Change it" } }
    }
}

fn form_page(form: &Form, recipe: Option<&RecipeView>) -> Markup {
    let filled = (0..places(form))
        .rev()
        .find(|place| !is_untouched(form, *place))
        .map_or(0, |last| last + 1);
    let spare = if filled == 0 {
        FIRST_STEPS
    } else {
        SPARE_STEPS
    };
    let lines = (filled + spare).min(MOST_STEPS);
    let action = recipe.map_or_else(
        || "/wet/recipes".to_owned(),
        |r| format!("/wet/recipes/{}/change", r.recipe.id),
    );
    html! {
        h1 { @if let Some(r) = recipe { (r.recipe.name) } @else { "Write a recipe" } }
        (form.refusals())
        form.form method="post" action=(action) {
            (form.request_field())
            (form.field("name", "What you call it").needed().text())
            (form.field("process", "Process").select(&[
                ("negative", "black-and-white negative"), ("reversal", "black-and-white reversal"),
                ("colour-negative", "colour negative"), ("colour-reversal", "colour reversal"),
            ]))
            div.pair {
                (form.field("developer", "Developer").hint("The name your stock cards and times use.").needed().text())
                (form.field("dilution", "Dilution").hint("Such as 1+9, or stock.").text())
            }
            div.pair {
                (form.field("least_stock", "Least stock for a film of 36").unit("ml").hint("As the sheet has it; not watched when empty.").number())
                (form.field("tolerance", "Tolerance of time").unit("%").hint("When empty 5, for colour 0.").number())
            }
            (form.field("note", "Note").lines())
            h2 { "Steps, in order" }
            p.hint { "A step left as it is offered is no step; one that was there goes by Take this step out." }
            @for place in 0..lines { (step_fields(form, place)) }
            (main_act(if recipe.is_some() { "Keep the changes" } else { "Add the recipe" }))
        }
    }
}

fn step_fields(form: &Form, place: usize) -> Markup {
    let kinds: Vec<(&str, &str)> = StepKind::ALL
        .iter()
        .map(|k| (k.word(), k.spoken()))
        .collect();
    let f = |name: &str| step_field(place, name);
    let names = STEP_FIELDS.map(f);
    let [
        kind,
        time,
        time_from,
        temperature,
        q10,
        first,
        every,
        lasts,
        fill,
        drain,
        note,
    ] = &names;
    html! {
        @let faulty = STEP_FIELDS.iter().any(|n| form.is_wrong(&f(n)).is_some());
        fieldset.step {
            legend { "Step " (place + 1) }
            @if form.ticked(&f("was")) { input type="hidden" name=(f("was")) value="yes"; }
            div.pair {
                (form.field(kind, "Bath").select(&kinds))
                (form.field(time, "Time").hint("8:20, or 45 s.").text())
            }
            div.pair {
                (form.field(temperature, "At").hint("20 C, or 68 F.").text())
                (form.field(time_from, "Time is").select(&[
                    ("recipe", "as typed"), ("film", "the film's own"), ("clearing-test", "by clearing test"),
                ]))
            }
            details open[faulty] {
                summary { "Agitation, pouring, note, order" }
                div.pair {
                    (form.field(first, "Agitate at first").unit("s").number())
                    (form.field(every, "then every").unit("s").number())
                }
                div.pair {
                    (form.field(lasts, "for").unit("s").number())
                    (form.field(q10, "Speed for 10 °C more").hint("When empty 2.5, a default and not this developer's; for a colour developer none.").number())
                }
                div.pair {
                    (form.field(fill, "Pouring in").unit("s").number())
                    (form.field(drain, "Pouring out, before the end").unit("s").number())
                }
                (form.field(note, "What to mind").text())
                (form.field(&f("place"), "Move it before step").whole())
                (form.field(&f("out"), "Take this step out").tick())
            }
        }
    }
}
