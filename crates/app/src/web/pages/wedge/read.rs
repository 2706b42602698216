//! Densities typed in a grid, or pasted as a table.
//!
//! The grid is a plain form; a module of ours only moves the cursor. What it holds is handed on as the same table
//! that a spreadsheet would give, and only the strips in which something was changed.

use super::words;
use crate::minutes::typed;
use crate::service::wedge::{ReadingsDraft, TestView, channels_of, table as csv};
use crate::service::{Failure, Fault};
use crate::web::app::{Answer, App, Asked, Query, go_on};
use crate::web::form::Form;
use crate::web::page::{Page, Way};
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::IntoResponse;
use maud::{Markup, html};
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::{Channel, WedgeStrip};
use spoolwright_core::{Error, Kind};

/// A grid with more cells than this is left to a table.
const MOST_CELLS: usize = 1200;

pub(super) async fn grid(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let view = app.ask(move |s| s.wedge_test(WedgeTestId(id))).await?;
    let form = filled(&view);
    app.show(
        sheet(&view).script("grid.js"),
        &asked,
        grid_page(&view, &form),
    )
    .await
}

pub(super) async fn put_grid(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let view = app.ask(move |s| s.wedge_test(WedgeTestId(id))).await?;
    let again =
        |form: Form| form.answer(sheet(&view).script("grid.js").show(grid_page(&view, &form)));
    let table = match as_table(&form, &view) {
        Ok(Some(table)) => table,
        Ok(None) => return Ok(go_on(&format!("/wedge/{id}"), None)),
        Err(faults) => return again(form.refused(faults)),
    };
    match put(
        &app,
        id,
        form.clone().with("table", table).with("source", "typed"),
    )
    .await?
    {
        Ok(answer) => Ok(answer),
        Err(failure) => again(form.refused_by(failure)?),
    }
}

pub(super) async fn table(
    State(app): State<App>,
    Path(id): Path<i64>,
    Query(asked): Query<Asked>,
) -> Answer {
    let view = app.ask(move |s| s.wedge_test(WedgeTestId(id))).await?;
    let body = table_page(&view, &Form::default());
    app.show(sheet(&view).script("table.js"), &asked, body)
        .await
}

pub(super) async fn put_table(State(app): State<App>, Path(id): Path<i64>, form: Form) -> Answer {
    let typed = form.clone().with_default("source", "pasted table");
    match put(&app, id, typed).await? {
        Ok(answer) => Ok(answer),
        Err(failure) => {
            let view = app.ask(move |s| s.wedge_test(WedgeTestId(id))).await?;
            let form = form.refused_by(failure)?;
            form.answer(
                sheet(&view)
                    .script("table.js")
                    .show(table_page(&view, &form)),
            )
        }
    }
}

async fn put(
    app: &App,
    id: i64,
    form: Form,
) -> Result<Result<axum::response::Response, Failure>, crate::web::problem::Problem> {
    let made = app
        .carry_out(&form, &[], move |s, d: &ReadingsDraft, r| {
            s.put_readings(WedgeTestId(id), d, r)
        })
        .await?;
    Ok(made.map(|made| go_on(&format!("/wedge/{id}"), made.entry)))
}

/// A table with the test's steps and nothing read, to fill in elsewhere.
pub(super) async fn empty_table(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    let view = app.ask(move |s| s.wedge_test(WedgeTestId(id))).await?;
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"densities.csv\"",
        ),
    ];
    Ok((headers, template(&view)).into_response())
}

fn template(view: &TestView) -> String {
    let columns: Vec<String> = view
        .test
        .planned_min
        .iter()
        .flat_map(|t| channels(view).iter().map(move |c| head(*t, *c)))
        .collect();
    let blank = ";".repeat(columns.len());
    let mut text = format!("step;{}\nbase+fog{blank}\n", columns.join(";"));
    for step in &view.test.steps {
        text.push_str(&format!("{step}{blank}\n"));
    }
    text
}

/// A column's head, as the table reader takes it.
fn head(time_min: f64, channel: Channel) -> String {
    format!("{} min {}", exact(time_min), words::channel(channel))
        .trim_end()
        .to_owned()
}

/// The lights a stock's strips are read in.
fn channels(view: &TestView) -> &'static [Channel] {
    channels_of(view.stock.process)
}

fn sheet(view: &TestView) -> Page {
    Page::new(Way::More, format!("Densities of {}", view.test.name)).sheet("Densities")
}

/// Every developing time that was planned or read, shortest first.
fn times(view: &TestView) -> Vec<f64> {
    let read = view.strips.iter().map(|s| s.time_min);
    let mut all: Vec<f64> = read.chain(view.test.planned_min.iter().copied()).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

fn held(view: &TestView, time_min: f64, channel: Channel) -> Option<&WedgeStrip> {
    view.strips
        .iter()
        .find(|s| s.time_min == time_min && s.channel == channel)
}

/// The grid as it stands: strips read so far, and empty columns for the rest.
fn filled(view: &TestView) -> Form {
    let mut form = Form::default();
    let text = |d: Option<f64>| d.map(as_typed).unwrap_or_default();
    for (slot, time) in times(view).into_iter().enumerate() {
        form = form.with(&format!("t{slot}"), typed(time));
        for channel in channels(view) {
            let Some(strip) = held(view, time, *channel) else {
                continue;
            };
            form = form.with(&fog_name(slot, *channel), text(strip.base_fog));
            for (row, density) in strip.density.iter().enumerate() {
                form = form.with(&cell_name(slot, *channel, row), text(*density));
            }
        }
    }
    form
}

/// A developing time that a table is sure to give back as it is: 8, 8.5, 8:20.
fn exact(time_min: f64) -> String {
    let short = words::short(time_min);
    let seconds = (time_min * 60.0).round();
    let clock = format!("{}:{:02}", (seconds / 60.0).floor(), seconds % 60.0);
    [short, clock]
        .into_iter()
        .find(|text| csv::developing_time(text) == Ok(time_min))
        .unwrap_or_else(|| time_min.to_string())
}

/// The time meant by one read from the grid, which shows three decimals of those it knows.
fn meant(view: &TestView, read: f64) -> f64 {
    times(view)
        .into_iter()
        .filter(|known| (known - read).abs() <= 0.0005)
        .min_by(|a, b| (a - read).abs().total_cmp(&(b - read).abs()))
        .unwrap_or(read)
}

/// A density with two decimals at least: 0.30, 1.746.
fn as_typed(density: f64) -> String {
    let two = format!("{density:.2}");
    if two.parse() == Ok(density) {
        two
    } else {
        density.to_string()
    }
}

fn cell_name(slot: usize, channel: Channel, row: usize) -> String {
    format!("d{slot}-{}-{row}", channel.word())
}

fn fog_name(slot: usize, channel: Channel) -> String {
    format!("f{slot}-{}", channel.word())
}

fn fault(field: String, error: Error, place: &str) -> Fault {
    Fault {
        field,
        error: Error {
            what: format!("{} ({place})", error.what),
            ..error
        },
    }
}

/// An uncertainty belongs to the readings it comes with.
fn sd_of_nothing(given: &str) -> Error {
    Error::new(
        Kind::Inconsistent,
        "how far one reading may be off",
        format!("{given}, and no strip typed or changed"),
        "a value for the strips that are typed or changed here",
        "Type a strip with it, or leave it empty. For a strip read before, paste its table with the value.",
    )
}

/// The typed strips as a table, without those that are as they were; none when nothing is new.
fn as_table(form: &Form, view: &TestView) -> Result<Option<String>, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut columns: Vec<(String, Vec<&str>)> = Vec::new();
    for slot in 0.. {
        let name = format!("t{slot}");
        if form.all(&name).next().is_none() {
            break;
        }
        for &channel in channels(view) {
            let names: Vec<String> = std::iter::once(fog_name(slot, channel))
                .chain((0..view.test.steps.len()).map(|row| cell_name(slot, channel, row)))
                .collect();
            let cells: Vec<&str> = names.iter().map(|n| form.text(n)).collect();
            if cells.iter().all(|c| c.is_empty()) {
                continue;
            }
            let time = csv::developing_time(form.text(&name))
                .map_err(|e| faults.push(fault(name.clone(), e, &format!("column {}", slot + 1))));
            let mut read = Vec::new();
            for (row, (name, cell)) in names.iter().zip(&cells).enumerate() {
                let place = format!(
                    "{} min, {}",
                    form.text(&format!("t{slot}")),
                    row_name(view, row)
                );
                match csv::density(cell) {
                    Ok(d) => read.push(d),
                    Err(e) => faults.push(fault(name.clone(), e, &place)),
                }
            }
            let Ok(time) = time else { continue };
            let time = meant(view, time);
            let same = held(view, time, channel).is_some_and(|s| {
                read.first() == Some(&s.base_fog) && read.get(1..) == Some(&s.density[..])
            });
            if !same {
                columns.push((head(time, channel), cells));
            }
        }
    }
    let sd = form.text("density_sd");
    if faults.is_empty() && columns.is_empty() && !sd.is_empty() {
        faults.push(Fault {
            field: "density_sd".into(),
            error: sd_of_nothing(sd),
        });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if columns.is_empty() {
        return Ok(None);
    }
    let mut text = String::from("step");
    for (head, _) in &columns {
        text.push_str(&format!(";{head}"));
    }
    for row in 0..=view.test.steps.len() {
        match row {
            0 => text.push_str("\nbase+fog"),
            row => text.push_str(&format!("\n{}", view.test.steps[row - 1])),
        }
        for (_, cells) in &columns {
            text.push_str(&format!(";{}", cells[row]));
        }
    }
    Ok(Some(text))
}

fn row_name(view: &TestView, row: usize) -> String {
    match row {
        0 => "base + fog".into(),
        row => words::step(&view.test, view.test.steps[row - 1]),
    }
}

/// The ways densities come in.
pub(super) fn ways(id: WedgeTestId, here: &str) -> Markup {
    html! {
        nav.choices aria-label="How densities come in" {
            @for (word, name) in [("type", "typed"), ("table", "pasted table"), ("scan", "from a scan")] {
                a href={ "/wedge/" (id) "/" (word) } aria-current=[(word == here).then_some("true")] { (name) }
            }
        }
    }
}

fn grid_page(view: &TestView, form: &Form) -> Markup {
    let slots = (0..)
        .take_while(|s| form.all(&format!("t{s}")).next().is_some())
        .count();
    let slots = slots.max(times(view).len()) + usize::from(form.request().is_none());
    let cells = slots * channels(view).len() * (view.test.steps.len() + 1);
    html! {
        h1 { "Densities" }
        p { a href={ "/wedge/" (view.test.id) } { (view.test.name) } }
        (ways(view.test.id, "type"))
        (form.refusals())
        @if cells > MOST_CELLS {
            div.note { p { "This test has too many steps for a grid. " a href={ "/wedge/" (view.test.id) "/table" } { "Paste a table" } " instead." } }
        } @else {
            p { "One column a strip. Enter goes down the column; decimals with a comma or a point. Leave a patch empty that cannot be read." }
            form method="post" action={ "/wedge/" (view.test.id) "/type" } {
                (form.request_field())
                (cells_table(view, form, slots))
                div.form {
                    (form.field("density_sd", "How far one reading may be off").hint("Standard deviation, such as 0.01, for the strips typed or changed now. Found from the scatter when empty.").number())
                    div.thumb { button.main { "Keep these densities" } }
                }
            }
        }
    }
}

fn cells_table(view: &TestView, form: &Form, slots: usize) -> Markup {
    let known = times(view);
    let several = channels(view).len() > 1;
    html! {
        div.scroll tabindex="0" role="region" aria-label="Densities" {
            table.grid-in {
                thead {
                    tr {
                        th scope="col" { @if view.shots.is_some() { "Stops" } @else { "Wedge" } }
                        @for slot in 0..slots {
                            @let fixed = known.get(slot).is_some_and(|t| view.strips.iter().any(|s| s.time_min == *t));
                            th scope="col" colspan=(channels(view).len()) {
                                @if fixed {
                                    input type="hidden" name={ "t" (slot) } value=(form.text(&format!("t{slot}")));
                                    span.num { (form.text(&format!("t{slot}"))) " min" }
                                } @else {
                                    (cell(form, &format!("t{slot}"), &format!("Developing time of strip {}, minutes", slot + 1), "min"))
                                }
                            }
                        }
                    }
                    @if several {
                        tr { th {} @for _ in 0..slots { @for c in channels(view) { th scope="col" { (words::channel(*c)) } } } }
                    }
                }
                tbody {
                    @for row in 0..=view.test.steps.len() {
                        tr {
                            th scope="row" { (row_name(view, row)) }
                            @for slot in 0..slots {
                                @for c in channels(view) {
                                    @let name = match row { 0 => fog_name(slot, *c), row => cell_name(slot, *c, row - 1) };
                                    td { (cell(form, &name, &format!("{} {}, strip {}", row_name(view, row), words::channel(*c), slot + 1), "")) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn cell(form: &Form, name: &str, label: &str, placeholder: &str) -> Markup {
    html! {
        input name=(name) type="text" inputmode="decimal" enterkeyhint="next" autocomplete="off" value=(form.text(name))
            placeholder=[(!placeholder.is_empty()).then_some(placeholder)] aria-label=(label) aria-invalid=[form.is_wrong(name)];
    }
}

fn table_page(view: &TestView, form: &Form) -> Markup {
    html! {
        h1 { "Densities" }
        p { a href={ "/wedge/" (view.test.id) } { (view.test.name) } }
        (ways(view.test.id, "table"))
        (form.refusals())
        form.form method="post" action={ "/wedge/" (view.test.id) "/table" } data-table {
            (form.request_field())
            (form.field("table", "The table")
                .hint("A first line with the developing times, then a row a step: its stops or wedge density, and one density a strip. A row named base+fog holds unexposed film. Cells apart by tabs, semicolons or commas, as a spreadsheet or a densitometer gives them.").lines())
            div.field hidden data-file { label for="file" { "or a file" } input id="file" type="file" accept=".csv,.tsv,.txt,text/csv,text/plain"; }
            (form.field("density_sd", "How far one reading may be off").hint("Standard deviation, such as 0.01. Found from the scatter when empty.").number())
            (form.field("source", "Where it comes from").hint("Such as the instrument, or the file's name.").text())
            div.thumb { button.main { "Read the table" } }
        }
        details {
            summary { "A table to fill in" }
            p { a href={ "/wedge/" (view.test.id) "/table.csv" } download { "densities.csv" } ", with this test's steps:" }
            pre.scroll tabindex="0" { (template(view)) }
        }
    }
}
