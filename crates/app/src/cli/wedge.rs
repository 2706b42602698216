//! `spoolwright wedge`: how fast a stock is and how long to develop it.

use std::path::PathBuf;

use serde_json::{Value, json};
use spoolwright_core::wedge::record::WedgeTest;
use spoolwright_core::wedge::shots::{Exposed, ShotList};
use spoolwright_core::wedge::{Analysis, AtTarget, ColourStrip, Difference, Interval};
use spoolwright_core::{Error, Kind};

use super::Failure;
use super::desk::{Desk, Table, listed, over};
use crate::calc;
use crate::minutes::{developing_time, told};
use crate::service;
use crate::service::wedge::{
    CardDraft, Combined, ReadingsDraft, TargetDraft, TestDraft, TestView, table,
};

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// Begin a test; in camera, with a can, its roll is queued at the loader.
    Begin(Box<TestDraft>),
    /// Change what was entered: the meter's EI, the exposure, the bath, the note; a lone - empties a field.
    Change {
        /// Its name or number.
        test: String,
        #[command(flatten)]
        draft: Box<TestDraft>,
    },
    /// List the tests.
    List {
        /// Those put away too.
        #[arg(long)]
        all: bool,
    },
    /// One test: its shot list, its strips, and what they say at a target.
    Show {
        /// Its name or number.
        test: String,
        #[command(flatten)]
        target: TargetDraft,
    },
    /// Take in densities: a table with the developing times above its columns.
    Read {
        /// Its name or number.
        test: String,
        /// Read the table from this file.
        #[arg(long, value_name = "FILE", conflicts_with = "table")]
        file: Option<PathBuf>,
        #[command(flatten)]
        draft: ReadingsDraft,
    },
    /// Read a strip's densities from a scan, and keep them.
    Scan(super::wedge_scan::Args),
    /// Leave a strip out of the sums, or take it in again.
    LeaveOut {
        /// The test's name or number.
        test: String,
        /// Its developing time, such as 8.5 or 8:20.
        time: String,
        /// Take it in again.
        #[arg(long)]
        back: bool,
    },
    /// Make a stock card from what a test says at a target.
    Card {
        /// The test's name or number.
        test: String,
        #[command(flatten)]
        target: TargetDraft,
        #[command(flatten)]
        draft: CardDraft,
    },
    /// How a second test differs from a first, and whether that is more than noise.
    Compare {
        /// The first test's name or number.
        first: String,
        /// The second test's name or number.
        second: String,
    },
    /// Put a test away, or take it out again.
    Close {
        /// Its name or number.
        test: String,
        /// Take it out again.
        #[arg(long)]
        back: bool,
    },
}

/// Nearer than that a time named is a strip's, minutes.
const HALF_A_SECOND: f64 = 0.5 / 60.0;

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Begin(draft) => {
            let made = desk.service.begin_test(&draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Change { test, draft } => {
            let id = desk.service.wedge_test_named(&test)?.id;
            let view = desk.service.wedge_test(id)?;
            let settings = desk.settings()?;
            let old = TestDraft::shown(&view.test, &view.stock, view.can.as_deref(), &settings);
            let draft = over(&old, &draft)?;
            let made = desk.service.change_test(id, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::List { all } => list(desk, all),
        Verb::Show { test, target } => show(desk, &test, &target),
        Verb::Read {
            test,
            file,
            mut draft,
        } => {
            let test = desk.service.wedge_test_named(&test)?;
            if let Some(file) = &file {
                draft.table = read_file(file)?;
                if draft.source.is_empty() {
                    let name = file.file_name().unwrap_or_default();
                    draft.source = name.to_string_lossy().into_owned();
                }
            }
            let made = desk.service.put_readings(test.id, &draft, desk.request);
            let made = match file {
                Some(_) => made.map_err(in_file)?,
                None => made?,
            };
            desk.made(made, |strips| json!({ "strips": strips }))
        }
        Verb::Scan(args) => super::wedge_scan::run(&args, desk),
        Verb::LeaveOut { test, time, back } => {
            let view = desk.service.wedge_test_named(&test)?;
            let view = desk.service.wedge_test(view.id)?;
            let minutes = developing_time(&time)?;
            let off = |t: f64| (t - minutes).abs();
            let strip = view
                .strips
                .iter()
                .filter(|s| off(s.time_min) < HALF_A_SECOND)
                .min_by(|a, b| off(a.time_min).total_cmp(&off(b.time_min)))
                .ok_or_else(|| {
                    let known: Vec<String> = view.strips.iter().map(|s| told(s.time_min)).collect();
                    Error::new(
                        Kind::Unknown,
                        "a strip's developing time",
                        format!("{} min", told(minutes)),
                        known.join(", "),
                        "Name one of the strips read, in minutes.",
                    )
                })?;
            let made = desk
                .service
                .leave_strip_out(view.test.id, strip.id, !back, desk.request)?;
            desk.told(made)
        }
        Verb::Card {
            test,
            target,
            draft,
        } => {
            let test = desk.service.wedge_test_named(&test)?;
            let made = desk
                .service
                .make_card(test.id, &target, &draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::Compare { first, second } => compare(desk, &first, &second),
        Verb::Close { test, back } => {
            let test = desk.service.wedge_test_named(&test)?;
            let made = desk.service.close_test(test.id, !back, desk.request)?;
            desk.told(made)
        }
    }
}

/// Faults of a table that was read from a file are the file's.
fn in_file(failure: service::Failure) -> Failure {
    if let service::Failure::Refused(mut faults) = failure {
        for fault in faults.iter_mut().filter(|f| f.field == "table") {
            fault.field = "file".to_owned();
        }
        return Failure::Input(faults);
    }
    failure.into()
}

fn read_file(file: &std::path::Path) -> Result<String, Failure> {
    use std::io::Read;
    let mut text = String::new();
    let wrong = |e: std::io::Error| {
        Error::new(
            Kind::Unknown,
            "--file",
            file.display(),
            "a readable text file",
            format!("Check the path and the file ({e})."),
        )
    };
    // One byte more than a table may have, so that a longer one is refused as too large.
    std::fs::File::open(file)
        .and_then(|f| {
            f.take(table::MOST_BYTES as u64 + 1)
                .read_to_string(&mut text)
        })
        .map_err(wrong)?;
    Ok(text)
}

fn list(desk: &mut Desk<'_>, all: bool) -> Result<(), Failure> {
    let tests = desk.service.wedge_tests()?;
    let shown: Vec<&TestView> = tests.iter().filter(|t| all || !t.test.closed).collect();
    let mut table = Table::new(&[">test", "name", "stock", "way", ">strips", "roll", "begun"]);
    for t in &shown {
        table.row([
            t.test.id.to_string(),
            t.test.name.clone(),
            t.stock.name.clone(),
            t.test.way.word().to_owned(),
            t.strips.len().to_string(),
            t.roll
                .as_ref()
                .map_or(String::new(), |r| r.roll.label.clone()),
            t.test.begun_on.clone(),
        ]);
    }
    let json: Value = shown.iter().map(|t| test_json(&t.test, t)).collect();
    let none = "No test: `spoolwright wedge begin --can HM --meter-ei 100`.";
    desk.answer(listed(table, none), || json)
}

fn show(desk: &mut Desk<'_>, test: &str, target: &TargetDraft) -> Result<(), Failure> {
    let test = desk.service.wedge_test_named(test)?;
    let view = desk.service.wedge_test(test.id)?;
    let target = target.read()?;
    let mut text = format!("{} ({}, {})\n", test.name, view.stock.name, test.way.word());
    for remark in view.outdated.iter().chain(&view.remarks) {
        text.push_str(&format!("! {remark}\n"));
    }
    let mut told = test_json(&test, &view);
    if view.strips.is_empty() {
        if let Some(list) = &view.shots {
            text.push_str(&shots_text(list));
            text.push_str(&cuts_text(list, &test.planned_min));
        } else {
            text.push_str("No strips read yet.\n");
        }
        return desk.answer(text, || told);
    }
    let layers = desk.service.wedge_layers(test.id)?;
    let mut told_layers = Vec::new();
    for layer in layers.iter() {
        let analysis = match &layer.analysis {
            Ok(analysis) => analysis,
            Err(refusal) => {
                text.push_str(&format!("{}: {refusal}\n", layer.channel.word()));
                told_layers.push(
                    json!({ "channel": layer.channel.word(), "refused": refusal.to_string() }),
                );
                continue;
            }
        };
        let at = analysis.at(target);
        if layers.len() > 1 {
            text.push_str(&format!("{}\n", layer.channel.word()));
        }
        text.push_str(&analysis_text(analysis));
        match &at {
            Ok(at) => text.push_str(&at_text(at)),
            Err(refusal) => text.push_str(&format!("{refusal}\n")),
        }
        let mut told = calc::wedge::layer(analysis);
        told.insert("channel".into(), layer.channel.word().into());
        match &at {
            Ok(at) => told.insert("at_target".into(), calc::wedge::at_target(at)),
            Err(refusal) => told.insert("at_target_refused".into(), refusal.to_string().into()),
        };
        told_layers.push(Value::from(told));
    }
    told["layers"] = told_layers.into();
    match desk.service.wedge_colour(test.id)? {
        Some(Ok(combined)) => {
            text.push_str(&combined_text(&combined));
            told["combined"] = calc::wedge::combined(&combined.strips, &combined.caveats);
        }
        Some(Err(refusal)) => {
            text.push_str(&format!("No combined speed: {refusal}\n"));
            told["combined_refused"] = refusal.to_string().into();
        }
        None => {}
    }
    desk.answer(text, || told)
}

fn compare(desk: &mut Desk<'_>, first: &str, second: &str) -> Result<(), Failure> {
    let first = desk.service.wedge_test_named(first)?;
    let second = desk.service.wedge_test_named(second)?;
    let found = desk.service.compare_tests(first.id, second.id)?;
    let mut text = format!("{} against {}\n", second.name, first.name);
    let mut line = |what: &str, d: Option<Difference>, unit: &str| {
        if let Some(d) = d {
            let word = if d.more_than_noise {
                "more than noise"
            } else {
                "within the noise"
            };
            text.push_str(&format!("{what} {}{unit}: {word}\n", signed(d)));
        }
    };
    line("speed", found.speed_stops, " stops");
    line("time at the target", found.time_min, " min");
    line("base + fog", found.base_fog, "");
    for at in &found.at_times {
        line(
            &format!("{} min: speed", told(at.time_min)),
            at.speed_stops,
            " stops",
        );
        line(
            &format!("{} min: base + fog", told(at.time_min)),
            Some(at.base_fog),
            "",
        );
        line(
            &format!("{} min: contrast", told(at.time_min)),
            at.contrast,
            "",
        );
    }
    for caveat in &found.caveats {
        text.push_str(&format!("! {}\n", caveat.text));
    }
    let difference = |d: Difference| {
        json!({
            "difference": { "value": d.value, "lower95": d.lower95, "upper95": d.upper95 },
            "more_than_noise": d.more_than_noise,
        })
    };
    desk.answer(text, || {
        json!({
            "first": first.id.0, "second": second.id.0, "measure": found.measure.word(),
            "speed_stops": found.speed_stops.map(difference), "time_min": found.time_min.map(difference),
            "base_fog": found.base_fog.map(difference),
            "at_times": found.at_times.iter().map(|a| json!({
                "time_min": a.time_min, "speed_stops": a.speed_stops.map(difference),
                "base_fog": difference(a.base_fog), "contrast": a.contrast.map(difference),
            })).collect::<Vec<_>>(),
            "caveats": found.caveats.iter().map(|c| c.text.clone()).collect::<Vec<_>>(),
        })
    })
}

fn shots_text(list: &ShotList) -> String {
    let mut table = Table::new(&[">frame", ">strip", "exposure"]);
    for shot in &list.shots {
        table.row([
            shot.frame.to_string(),
            (shot.strip + 1).to_string(),
            match shot.exposed {
                Exposed::Blank => "lens cap on".into(),
                Exposed::Spare => "lens cap on; the scissors go after this frame".into(),
                Exposed::Stops(stops) => format!("{stops:+} stops from the meter reading"),
            },
        ]);
    }
    listed(table, "")
}

/// Where the roll is cut, and what each strip is developed for.
fn cuts_text(list: &ShotList, planned_min: &[f64]) -> String {
    let mut text = String::new();
    for (cut, time) in list.cuts.iter().zip(planned_min) {
        text.push_str(&format!(
            "Cut after frame {}: {:.0} mm from the tip of the leader, {:.0} mm either way. What comes before: {} min.\n",
            cut.after_frame,
            cut.from_leader_mm,
            cut.margin_mm,
            told(*time)
        ));
    }
    if let (Some(last), false) = (planned_min.last(), list.cuts.is_empty()) {
        text.push_str(&format!(
            "What is left, up to the spool: {} min.\nCounted with frame 1 beginning {:.0} mm from the tip: measure in \
             your camera, and add the difference.\n",
            told(*last),
            list.first_frame_mm
        ));
    }
    text
}

/// The speed of a colour film, its layers taken together.
fn combined_text(combined: &Combined) -> String {
    let mut text = String::from("layers together\n");
    for s in &combined.strips {
        let found = match s {
            ColourStrip {
                speed: Some(found), ..
            } => format!("speed {}", speed(*found)),
            ColourStrip {
                ei: Some(found), ..
            } => format!("EI {}", speed(*found)),
            ColourStrip {
                ei_stops: Some(stops),
                ..
            } => format!("EI {} stops from the meter's", say(*stops, 2)),
            _ => "no speed".to_owned(),
        };
        let rounded = s.speed_rounded.or(s.ei_rounded);
        let rounded = rounded.map_or(String::new(), |r| format!(", rated {r}"));
        text.push_str(&format!("{} min: {found}{rounded}\n", told(s.time_min)));
    }
    for caveat in &combined.caveats {
        text.push_str(&format!("! {}\n", caveat.text));
    }
    text
}

fn analysis_text(analysis: &Analysis) -> String {
    let mut table = Table::new(&[
        ">min",
        ">base + fog",
        ">speed or EI",
        ">ΔD over 1.30",
        ">gamma",
        ">contrast index",
    ]);
    for s in &analysis.strips {
        let show = |i: Option<Interval>, digits| i.map_or("—".into(), |i| say(i, digits));
        let shown = match (s.speed.or(s.ei), s.ei_stops) {
            (Some(found), _) => speed(found),
            (None, Some(stops)) => format!("{} stops", say(stops, 2)),
            (None, None) => "—".into(),
        };
        table.row([
            told(s.time_min),
            say(s.base_fog, 2),
            shown,
            show(s.delta_d_over_1_30, 2),
            show(s.gamma, 2),
            show(s.contrast_index, 2),
        ]);
    }
    let mut text = listed(table, "");
    text.push_str(&format!("{}\n", analysis.model.reason));
    for caveat in &analysis.caveats {
        text.push_str(&format!("! {}\n", caveat.text));
    }
    for strip in &analysis.strips {
        for caveat in &strip.caveats {
            text.push_str(&format!(
                "! {} min: {}\n",
                told(strip.time_min),
                caveat.text
            ));
        }
    }
    text
}

fn at_text(at: &AtTarget) -> String {
    let mut text = format!(
        "For {} {:.3}: {} min",
        at.target.measure.word().replace('_', " "),
        at.target.value,
        say(at.time_min, 1)
    );
    if let Some(found) = at.speed.or(at.ei) {
        let rounded = at.speed_rounded.or(at.ei_rounded);
        let rounded = rounded.map_or(String::new(), |r| format!(", rated {}", r.iso));
        let word = if at.speed.is_some() { "speed" } else { "EI" };
        text.push_str(&format!(", {word} {}{rounded}", speed(found)));
    } else if let Some(stops) = at.ei_stops {
        text.push_str(&format!(", EI {} stops from the meter's", say(stops, 2)));
    }
    text.push('\n');
    for caveat in &at.caveats {
        text.push_str(&format!("! {}\n", caveat.text));
    }
    text
}

fn test_json(test: &WedgeTest, view: &TestView) -> Value {
    json!({
        "id": test.id.0, "name": test.name, "stock": view.stock.name, "can": view.can, "way": test.way.word(),
        "steps": test.steps, "meter_ei": test.meter_ei, "planned_min": test.planned_min,
        "roll": view.roll.as_ref().map(|r| &r.roll.label), "begun_on": test.begun_on, "closed": test.closed,
        "developer": test.developer, "dilution": test.dilution, "temperature_c": test.temperature_c,
        "agitation": test.agitation, "note": test.note, "outdated": view.outdated, "remarks": view.remarks,
        "cuts": view.shots.as_ref().map(|list| list.cuts.iter().map(|c| json!({
            "after_frame": c.after_frame, "from_leader_mm": c.from_leader_mm, "margin_mm": c.margin_mm,
        })).collect::<Vec<_>>()),
        "strips": view.strips.iter().map(|s| json!({
            "time_min": s.time_min, "channel": s.channel.word(), "density": s.density,
            "base_fog": s.base_fog, "density_sd": s.density_sd, "source": s.source, "left_out": s.left_out,
        })).collect::<Vec<_>>(),
    })
}

pub(super) fn interval(i: Interval) -> Value {
    json!({ "value": i.value, "lower95": i.lower95, "upper95": i.upper95 })
}

pub(super) fn say(i: Interval, digits: usize) -> String {
    format!(
        "{:.digits$} ({:.digits$} to {:.digits$})",
        i.value, i.lower95, i.upper95
    )
}

/// A speed with its interval; small ones, of copying stock, with a decimal.
pub(super) fn speed(i: Interval) -> String {
    say(i, if i.value < 10.0 { 1 } else { 0 })
}

/// "+0.40 (-0.10 to open)".
fn signed(d: Difference) -> String {
    let end = |end: Option<f64>| end.map_or("open".to_owned(), |x| format!("{x:+.2}"));
    format!("{:+.2} ({} to {})", d.value, end(d.lower95), end(d.upper95))
}
