//! Runs: what to make of the rolls ticked, one run's sheet, what came out of it.

use super::baths::verdict_words;
use super::clock::given_up;
use super::clock_hands::give_up;
use super::desk::run_row;
use super::{caveats, source};
use crate::service::wet::after::ResultDraft;
use crate::service::wet::baths::BathView;
use crate::service::wet::load::{LoadDraft, Proposal, ProposedRun};
use crate::service::wet::make::RunDraft;
use crate::service::wet::paper::{minded, multiple};
use crate::service::wet::runs::{LoadedRoll, RunView};
use crate::service::wet::times::{told, told_within};
use crate::service::wet::tools::Telling;
use crate::service::{Failure, Outcome, Service};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use crate::web::pages::main_act;
use crate::web::say;
use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::routing::{get, post};
use maud::{Markup, html};
use spoolwright_core::shelf::{RecipeId, RunId};
use spoolwright_core::wet::recipe::{Step, TimeFrom};
use spoolwright_core::wet::record::{Exposure, Run, RunRoll, RunState, Tank};
use spoolwright_core::wet::timer::StepState;

/// Runs on one page of the list.
const PAGE: u32 = 40;

pub(super) fn routes() -> Router<App> {
    Router::new()
        .route("/wet/plan", get(plan))
        .route("/wet/runs", get(list).post(make))
        .route("/wet/runs/new", get(blank))
        .route("/wet/runs/{id}", get(show))
        .route("/wet/runs/{id}/rolls/{label}", post(result))
        .route("/wet/runs/{id}/steps/{step}", post(pour))
}

/// The rolls ticked, as the draft wants them.
fn asked_for(form: &Form) -> LoadDraft {
    let ticked: Vec<&str> = form.all("roll").collect();
    LoadDraft {
        rolls: ticked.join(" "),
        recipes: form.text("recipes").to_owned(),
        dry_reels: form.text("dry_reels").to_owned(),
    }
}

async fn plan(State(app): State<App>, RawQuery(query): RawQuery) -> Answer {
    let form = Form::from_query(query.as_deref().unwrap_or_default());
    let draft = asked_for(&form);
    let sheet = Page::new(Way::Wet, "Runs").sheet("Proposed runs");
    let proposed = move |s: &Service| Ok((s.propose(&draft)?, s.telling()?));
    match app.look(proposed).await? {
        Ok((proposal, telling)) => {
            let body = plan_page(&form, &proposal, telling);
            app.show(sheet, &Asked::default(), body).await
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            form.answer(sheet.show(html! {
                h1 { "Runs" }
                (form.refusals())
                p { a href="/wet" { "Back to the wet bench" } " " a href="/wet/kit" { "Tanks and reels" } }
            }))
        }
    }
}

async fn list(State(app): State<App>, Query(asked): Query<Asked>) -> Answer {
    let before = asked.before.map(RunId);
    let runs = app.ask(move |s| s.recent_runs(before, PAGE)).await?;
    app.show(
        Page::new(Way::Wet, "Runs before").sheet("Runs"),
        &asked,
        list_page(&runs),
    )
    .await
}

async fn blank(State(app): State<App>, RawQuery(query): RawQuery) -> Answer {
    let form = Form::from_query(query.as_deref().unwrap_or_default());
    let choices = app.ask(choices).await?;
    app.show(new_sheet(), &Asked::default(), new_page(&form, &choices))
        .await
}

async fn make(State(app): State<App>, form: Form) -> Answer {
    match app
        .carry_out(&form, &[], |s, d: &RunDraft, r| s.make_run(d, r))
        .await?
    {
        Ok(made) => {
            let next = made
                .value
                .map_or_else(|| "/wet".to_owned(), |id| format!("/wet/runs/{id}"));
            Ok(go_on(&next, made.entry))
        }
        Err(failure) => {
            let form = form.refused_by(failure)?;
            let choices = app.ask(choices).await?;
            form.answer(new_sheet().show(new_page(&form, &choices)))
        }
    }
}

async fn show(State(app): State<App>, Path(id): Path<i64>, Query(asked): Query<Asked>) -> Answer {
    let around = app.ask(move |s| around(s, id)).await?;
    app.show(sheet(&around), &asked, page(&around, None)).await
}

async fn result(
    State(app): State<App>,
    Path((id, label)): Path<(i64, String)>,
    form: Form,
) -> Answer {
    let of = label.clone();
    match app
        .carry_out(&form, &[], move |s, d: &ResultDraft, r| {
            s.save_result(RunId(id), &of, d, r)
        })
        .await?
    {
        Ok(made) => Ok(go_on(&format!("/wet/runs/{id}"), made.entry)),
        Err(failure) if failure.is_not_found() => Err(failure.into()),
        Err(failure) => refused(&app, id, &label, form, failure).await,
    }
}

/// The bottle a step is poured from, counted from 1 as the page does.
async fn pour(State(app): State<App>, Path((id, step)): Path<(i64, u32)>, form: Form) -> Answer {
    let bath = form.text("bath").to_owned();
    let poured = app
        .carry_out(&form, &[], move |s, _: &(), r| {
            let bath = s.bottle_named(&bath)?;
            s.choose_bath(RunId(id), step.wrapping_sub(1), bath, r)
        })
        .await?;
    match poured {
        Ok(made) => Ok(go_on(&format!("/wet/runs/{id}#step-{step}"), made.entry)),
        Err(failure) => refused(&app, id, &step.to_string(), form, failure).await,
    }
}

/// The run's sheet again, with a refused form of it; `of` names the roll or the step it is about.
async fn refused(app: &App, id: i64, of: &str, form: Form, failure: Failure) -> Answer {
    let form = form.refused_by(failure)?;
    let around = app.ask(move |s| around(s, id)).await?;
    form.answer(sheet(&around).show(page(&around, Some((of, &form)))))
}

/// A run with what its sheet names.
struct Around {
    view: RunView,
    /// Steps that are over, as they really went.
    done: Vec<StepState>,
    /// What the developer is mixed from.
    mixed: Option<String>,
    recipe: Option<String>,
    tank: Option<Tank>,
    baths: Vec<BathView>,
    telling: Telling,
}

fn around(s: &Service, id: i64) -> Outcome<Around> {
    let view = s.run(RunId(id))?;
    let mut baths = s.baths()?;
    baths.retain(|b| !b.card.closed || view.steps.iter().any(|s| s.bath == Some(b.card.id)));
    Ok(Around {
        recipe: view
            .run
            .recipe
            .map(|id: RecipeId| s.recipe(id).map(|r| r.recipe.name))
            .transpose()?,
        tank: view.run.tank.map(|id| s.tank(id)).transpose()?,
        baths,
        done: s.run_clock(view.run.id)?.timer.done,
        mixed: s.mixed_for(&view)?,
        view,
        telling: s.telling()?,
    })
}

fn sheet(a: &Around) -> Page {
    Page::new(Way::Wet, a.view.name()).sheet("Run")
}

fn new_sheet() -> Page {
    Page::new(Way::Wet, "Load a tank").sheet("New run")
}

fn plan_page(form: &Form, p: &Proposal, telling: Telling) -> Markup {
    html! {
        h1 { (say::count(p.runs.len() as u64, "run", "runs")) }
        @if !p.runs.is_empty() {
            p.soft {
                @if p.proven { "No other loading leaves fewer rolls out, needs fewer runs, or as many with less solution." }
                @else { "A good loading; whether there is a better one was not settled in the time allowed." }
            }
        }
        @for (n, run) in (1..).zip(&p.runs) { (proposed(n, run, telling)) }
        @if !p.unloaded.is_empty() {
            h2 { "Left out" }
            dl.fields { @for (label, because) in &p.unloaded { div.wide { dt { (label) } dd { (because) } } } }
        }
        @if !p.apart.is_empty() {
            details {
                summary { "Why not all in one tank" }
                ul { @for (_, _, because) in &p.apart { li { (because) } } }
            }
        }
        (caveats(&p.caveats))
        form.form method="get" action="/wet/plan" {
            @for label in form.all("roll") { input type="hidden" name="roll" value=(label); }
            input type="hidden" name="dry_reels" value=(if form.ticked("dry_reels") { "no" } else { "yes" });
            button { (if form.ticked("dry_reels") { "Every reel once only" } else { "Reels are dried and used again" }) }
        }
        p { a href="/wet" { "Back: other rolls" } }
    }
}

fn proposed(n: u32, run: &ProposedRun, telling: Telling) -> Markup {
    html! {
        section.ticket aria-label={ "Run " (n) } {
            h2 { (n) ". " (run.recipe_name) }
            dl.fields {
                div { dt { "Tank" } dd { (run.tank_name) } }
                div { dt { "Time" } dd { (told_within(run.within_min)) " min at " (telling.temperature(run.at_c)) ", " (source(run.source)) } }
                div { dt { "Pour in" } dd { (telling.volume(run.working_ml)) } }
                @if let Some(stock) = run.stock_ml { div { dt { "Of it stock" } dd { (telling.volume(stock)) } } }
                @for (reel, rolls) in (1..).zip(&run.reels) {
                    div.wide { dt { "Reel " (reel) } dd { (rolls.join(", then ")) } }
                }
                @for (label, percent) in run.deviations.iter().filter(|(_, p)| p.abs() >= 0.05) {
                    div.wide { dt { (label) } dd { (format!("{percent:+.1} %")) " against its own time" } }
                }
            }
            form method="post" action="/wet/runs" {
                (Form::default().request_field())
                input type="hidden" name="recipe" value=(run.recipe);
                input type="hidden" name="tank" value=(run.tank);
                input type="hidden" name="reels" value=(run.reels_typed());
                input type="hidden" name="volume" value=(format!("{} ml", run.working_ml));
                button.main { "Load it" }
            }
        }
    }
}

fn list_page(runs: &[RunView]) -> Markup {
    html! {
        h1 { "Runs before" }
        @if runs.is_empty() { p { "No run yet." } }
        ul.rows { @for r in runs { li { (run_row(r, state_words(&r.run))) } } }
        @if runs.len() == PAGE as usize {
            @if let Some(last) = runs.last() { p { a href={ "/wet/runs?before=" (last.run.id) } { "Older" } } }
        }
        p.ways-on { a href="/wet" { "Wet bench" } }
        div.thumb { a.btn.main href="/wet/runs/new" { "Load a tank by hand" } }
    }
}

/// What a form for a run offers.
struct Choices {
    recipes: Vec<(String, String)>,
    tanks: Vec<(String, String)>,
}

fn choices(s: &Service) -> Outcome<Choices> {
    Ok(Choices {
        recipes: s
            .recipes()?
            .into_iter()
            .filter(|r| !r.recipe.closed)
            .map(|r| (r.recipe.id.to_string(), r.recipe.name))
            .collect(),
        tanks: s
            .tanks()?
            .into_iter()
            .filter(|t| !t.closed)
            .map(|t| (t.id.to_string(), t.name))
            .chain([(String::new(), "no tank named".to_owned())])
            .collect(),
    })
}

fn new_page(form: &Form, choices: &Choices) -> Markup {
    html! {
        h1 { "Load a tank" }
        (form.refusals())
        @if choices.recipes.is_empty() { p { a href="/wet/recipes" { "Take up a recipe first." } } }
        form.form method="post" action="/wet/runs" {
            (form.request_field())
            (form.field("recipe", "Recipe").select(&choices.recipes))
            (form.field("tank", "Tank").select(&choices.tanks))
            (form.field("reels", "Rolls, a reel each")
                .hint("Labels apart by spaces; two on one reel with a plus: HM-07 HM-08+GU-01.").text())
            (form.field("time", "Developing time").unit("min")
                .hint("Looked up for the film when you leave it empty.").text())
            (form.field("volume", "Working solution").unit("ml").hint("What the tank needs when empty.").number())
            (form.field("rehearsal", "Rehearsal, times as fast as life")
                .hint("Only for practice with an empty tank: nothing is developed, no bath is drawn on.").number())
            (form.field("note", "Note").lines())
            (main_act("Load it"))
        }
    }
}

fn page(a: &Around, wrong: Option<(&str, &Form)>) -> Markup {
    let run = &a.view.run;
    html! {
        h1 { (a.view.name()) }
        @if let Some((_, form)) = wrong { (form.refusals()) }
        @if let Some(pace) = run.rehearsal { p.rehearsal { "A rehearsal, " (pace) " times as fast as life." } }
        @match run.state {
            RunState::Planned | RunState::Running => div.thumb {
                a.btn.main href={ "/wet/runs/" (run.id) "/clock" } {
                    (if run.state == RunState::Planned { "To the clock" } else { "The clock is going" })
                }
            },
            RunState::Done if run.rehearsal.is_some() => p { "Rehearsed to the end." },
            RunState::Done => {}
            RunState::Abandoned => p { "Given up. " (given_up(&a.view)) },
        }
        @if a.view.developed {
            h2 { "What came out" }
            @for loaded in &a.view.rolls { (result_form(run.id, loaded, wrong)) }
        }
        dl.fields {
            @if let Some(recipe) = &a.recipe { div { dt { "Recipe" } dd { (recipe) } } }
            div { dt { "Tank" } dd { (a.tank.as_ref().map_or("none named", |t| t.name.as_str())) } }
            div { dt { "Working solution" } dd { (a.telling.volume(run.volume_ml)) } }
            @if let Some(mixed) = &a.mixed { div.wide { dt { "Developer" } dd { (mixed) } } }
            div.wide { dt { "Developing time" } dd { (source(run.time_source)) ": " (run.time_because) } }
            @for loaded in &a.view.rolls {
                div { dt { "Reel " (loaded.on.reel) } dd { a href={ "/roll/" (loaded.roll.label) } { (loaded.roll.label) } ", " (say::count(loaded.roll.frames, "frame", "frames")) } }
            }
            @if !run.note.is_empty() { div.wide { dt { "Note" } dd { (run.note) } } }
        }
        h2 { "Steps" }
        ol.bath-steps {
            @for (n, step) in (1..).zip(&a.view.steps) {
                li id={ "step-" (n) } {
                    (told_step(step, Some(&a.baths), a.telling))
                    (really(step, n - 1, &a.done))
                    @if a.view.is_to_come(n - 1) { (other_bottle(run.id, n, step, &a.baths, wrong)) }
                }
            }
        }
        (bath_cautions(&a.view.steps))
        @if run.state == RunState::Planned { details { summary { "Give the run up" } (give_up(run.id, &Form::default())) } }
        p.ways-on { a href={ "/print/run/" (run.id) } { "Print it" } " " a href={ "/history?run=" (run.id) } { "Its history" } " " a href="/wet" { "Wet bench" } }
    }
}

/// Steps of a recipe: what, how long, how warm, how moved.
pub(super) fn steps(steps: &[Step], telling: Telling) -> Markup {
    html! { ol.bath-steps { @for step in steps { li { (told_step(step, None, telling)) } } } }
}

/// A step of a recipe, or of a run with its bottles.
fn told_step(step: &Step, run: Option<&[BathView]>, telling: Telling) -> Markup {
    let bottle = step
        .bath
        .and_then(|id| run.unwrap_or_default().iter().find(|b| b.card.id == id));
    let times = multiple(bottle.is_some_and(|b| b.card.high_iodide));
    html! {
        strong { (step.kind.spoken()) }
        " " span.num { (told(step.time_s / 60.0)) }
        @if let Some(c) = step.temperature_c { " at " span.num { (telling.temperature(c)) } }
        @match step.time_from {
            TimeFrom::ClearingTest if step.plain_s.is_none() => { ", " (times) " × the clearing time once it is tested" }
            TimeFrom::Film if run.is_none() => ", or the film's own time",
            _ => "",
        }
        p.soft {
            "Agitation: " (step.agitation.spoken()) "."
            @if step.drain_s > 0.0 { " Pour out " (step.drain_s) " s before the end." }
            @if let Some(b) = bottle { " From " a href={ "/wet/baths/" (b.card.id) } { (b.card.name) } "." }
            " " (step.told())
        }
    }
}

/// How long a step really was in, once it is over.
fn really(step: &Step, place: u32, done: &[StepState]) -> Markup {
    let gone = done.iter().find(|s| s.step == place);
    html! {
        @if let Some(s) = gone {
            p { "It was in for " strong.num { (told(s.elapsed_s / 60.0)) }
                @if (s.ends_s - step.time_s).abs() >= 0.5 { ", due at " span.num { (told(s.ends_s / 60.0)) } }
                "." }
        }
    }
}

/// The form that pours a step from another bottle; nothing where no bottle of its kind has a card.
fn other_bottle(
    run: RunId,
    n: u32,
    step: &Step,
    baths: &[BathView],
    wrong: Option<(&str, &Form)>,
) -> Markup {
    let place = format!("step-{n}");
    let fresh = Form::fresh([(
        "bath",
        step.bath.map(|id| id.to_string()).unwrap_or_default(),
    )]);
    let form = match wrong {
        Some((of, form)) if of == n.to_string() => form,
        _ => &fresh,
    };
    let bottles: Vec<(String, String)> = baths
        .iter()
        .filter(|b| step.kind.baths().contains(&b.card.kind))
        .map(|b| {
            let words = format!("{}: {}", b.card.name, verdict_words(&b.life));
            (b.card.id.to_string(), words)
        })
        .collect();
    let none = [(String::new(), "a bottle without a card".to_owned())];
    html! {
        @if !bottles.is_empty() {
            details open[form.is_faulty()] {
                summary { "Pour it from another bottle" }
                form.form method="post" action={ "/wet/runs/" (run) "/steps/" (n) } {
                    (form.request_field())
                    (form.field("bath", "From").of(&place).select(&[&none[..], &bottles[..]].concat()))
                    button { "Pour from this" }
                }
            }
        }
    }
}

/// The usual cautions of every bath that a run's steps may come from, each once.
pub(super) fn bath_cautions(steps: &[Step]) -> Markup {
    html! {
        details #cautions {
            summary { "Cautions" }
            ul {
                @for text in minded(steps.iter().flat_map(|s| s.kind.baths().iter().copied())) { li { (text) } }
            }
        }
    }
}

/// A run on the page of a roll that was in it, and what came of the roll.
pub(crate) fn of_roll(view: &RunView, on: &RunRoll) -> Markup {
    let run = &view.run;
    let fogged = |n: Option<u32>, end: &str| {
        n.filter(|n| *n > 0)
            .map(|n| format!("{} fogged at the {end}", say::count(n, "frame", "frames")))
    };
    let mut came: Vec<String> = Vec::new();
    came.extend(fogged(on.fogged_start, "beginning"));
    came.extend(fogged(on.fogged_end, "end"));
    if on.exposure != Exposure::Unsaid {
        came.push(exposure_words(on.exposure).to_owned());
    }
    if !on.note.is_empty() {
        came.push(on.note.clone());
    }
    html! {
        a.row href={ "/wet/runs/" (run.id) } {
            span.what {
                span.name { "Run " (run.id) ", " (state_words(run)) }
                span.more { (say::day(&run.made_on)) @for words in &came { ", " (words) } }
            }
            @if let Some(usable) = on.usable { span.much { b { (usable) } "usable" } }
            @else if view.developed { span.much { "count the frames" } }
        }
    }
}

fn exposure_words(exposure: Exposure) -> &'static str {
    match exposure {
        Exposure::Unsaid => "not said",
        Exposure::Right => "right",
        Exposure::Under => "thin: underexposed",
        Exposure::Over => "dense: overexposed",
        Exposure::Mixed => "some thin, some dense",
    }
}

fn state_words(run: &Run) -> &'static str {
    match (run.state, run.rehearsal) {
        (_, Some(_)) => "rehearsal",
        (RunState::Planned, _) => "not begun",
        (RunState::Running, _) => "going",
        (RunState::Done, _) => "done",
        (RunState::Abandoned, _) => "given up",
    }
}

fn result_form(run: RunId, loaded: &LoadedRoll, wrong: Option<(&str, &Form)>) -> Markup {
    let label = &loaded.roll.label;
    let fresh = Form::from_draft(&ResultDraft::from(&loaded.on));
    let form = match wrong {
        Some((of, form)) if of == label => form,
        _ => &fresh,
    };
    let exposures: Vec<(&str, &str)> = Exposure::ALL
        .iter()
        .map(|e| (e.word(), exposure_words(*e)))
        .collect();
    html! {
        details open[loaded.on.usable.is_none() || form.is_faulty()] {
            summary {
                (label)
                @if let Some(n) = loaded.on.usable { ": " (say::count(n, "usable frame", "usable frames")) }
            }
            form.form method="post" action={ "/wet/runs/" (run) "/rolls/" (label) } {
                (form.request_field())
                (form.field("usable", "Frames that can be used").of(label).whole())
                div.pair {
                    (form.field("fogged_start", "Fogged at the beginning").of(label).unit("frames").whole())
                    (form.field("fogged_end", "Fogged at the end").of(label).unit("frames").whole())
                }
                (form.field("exposure", "Exposure").of(label).select(&exposures))
                (form.field("note", "Note").of(label).text())
                button { "Write it down" }
            }
        }
    }
}
