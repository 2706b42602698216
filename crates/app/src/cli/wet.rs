//! `spoolwright wet`: what waits to be developed, runs and their clocks, results.

use serde_json::{Value, json};
use spoolwright_core::quantity::degrees;
use spoolwright_core::shelf::RunId;
use spoolwright_core::wet::timer::{Pause, Phase};

use super::Failure;
use super::desk::{Desk, Table, listed, or_dash};
use crate::service::wet::after::ResultDraft;
use crate::service::wet::load::{LoadDraft, Proposal, Waiting};
use crate::service::wet::make::RunDraft;
use crate::service::wet::press::MarkDraft;
use crate::service::wet::runs::{RunClock, RunView};
use crate::service::wet::times::{told, told_within};

#[derive(clap::Subcommand)]
pub(super) enum Verb {
    /// List rolls that wait to be developed, each with its time and where that comes from.
    Waits,
    /// Propose runs: which rolls share a tank.
    Plan(LoadDraft),
    /// Load a tank: make a run.
    Load(RunDraft),
    /// List runs, newest first.
    List,
    /// Show one run: rolls, steps, where its clock stands.
    Show {
        /// Its number.
        run: i64,
    },
    /// Press at the tank: begin (the next bath goes in), reading, quiet, out, resume, extend, finish or abandon.
    Press {
        /// The run's number.
        run: i64,
        #[command(flatten)]
        draft: MarkDraft,
    },
    /// Choose the bottle a step is poured from, till that step begins.
    Pour {
        /// The run's number.
        run: i64,
        /// Which step, counted from 1.
        step: u32,
        /// The bath's name or number; a bottle without a card when left out.
        #[arg(default_value = "")]
        bath: String,
    },
    /// Write down what came out of a roll.
    Result {
        /// The run's number.
        run: i64,
        /// The roll's label.
        label: String,
        #[command(flatten)]
        draft: ResultDraft,
    },
}

pub(super) fn run(verb: Verb, desk: &mut Desk<'_>) -> Result<(), Failure> {
    match verb {
        Verb::Waits => waits(desk),
        Verb::Plan(draft) => {
            let proposal = desk.service.propose(&draft)?;
            desk.answer(plan_text(&proposal), || plan_json(&proposal))
        }
        Verb::Load(draft) => {
            let made = desk.service.make_run(&draft, desk.request)?;
            desk.made(made, |id| json!({ "id": id.0 }))
        }
        Verb::List => list(desk),
        Verb::Show { run } => {
            let clock = desk.service.run_clock(RunId(run))?;
            {
                let mixed = desk.service.mixed_for(&clock.view)?;
                desk.answer(clock_text(&clock, mixed.as_deref()), || clock_json(&clock))
            }
        }
        Verb::Press { run, draft } => {
            let made = desk.service.press(RunId(run), &draft, desk.request)?;
            desk.told(made)
        }
        Verb::Pour { run, step, bath } => {
            let bath = desk.service.bottle_named(&bath)?;
            let made =
                desk.service
                    .choose_bath(RunId(run), step.saturating_sub(1), bath, desk.request)?;
            desk.told(made)
        }
        Verb::Result { run, label, draft } => {
            let made = desk
                .service
                .save_result(RunId(run), &label, &draft, desk.request)?;
            desk.told(made)
        }
    }
}

fn waits(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let waiting = desk.service.waiting()?;
    let mut table = Table::new(&[
        "roll",
        "stock",
        ">frames",
        "state",
        ">time",
        "at",
        "known from",
    ]);
    for w in &waiting {
        table.row([
            w.roll.label.clone(),
            w.stock.name.clone(),
            w.roll.frames.to_string(),
            w.roll.state.word().to_owned(),
            or_dash(w.time.as_ref().map(|t| told_within(t.time_min))),
            or_dash(w.time.as_ref().map(|t| degrees(t.at_c))),
            w.time.as_ref().map_or_else(
                || w.because.clone().unwrap_or_default(),
                |t| t.because.clone(),
            ),
        ]);
    }
    desk.answer(listed(table, "Nothing waits to be developed."), || {
        waiting.iter().map(waiting_json).collect()
    })
}

fn waiting_json(w: &Waiting) -> Value {
    json!({
        "roll": w.roll.label, "stock": w.stock.name, "frames": w.roll.frames, "state": w.roll.state.word(),
        "film_mm": w.film_mm, "recipe": w.recipe.map(|r| r.0), "because": w.because,
        "time": w.time.as_ref().map(|t| json!({
            "time_min": { "value": t.time_min.value, "lower95": t.time_min.lower95, "upper95": t.time_min.upper95 },
            "at_c": t.at_c, "source": t.source.word(), "because": t.because,
            "caveats": t.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Vec<_>>(),
        })),
    })
}

fn plan_text(p: &Proposal) -> String {
    let mut text = String::new();
    for (n, run) in (1..).zip(&p.runs) {
        text += &format!(
            "{n}. {}: {}, {} min at {} ({}), {:.0} ml\n   spoolwright wet load --recipe {} --tank {} --reels {:?} --volume {:.0}\n",
            run.recipe_name,
            run.tank_name,
            told_within(run.within_min),
            degrees(run.at_c),
            run.source.word(),
            run.working_ml,
            run.recipe,
            run.tank,
            run.reels_typed(),
            run.working_ml
        );
    }
    for (label, because) in &p.unloaded {
        text += &format!("Left out: {label}: {because}\n");
    }
    for (_, _, because) in &p.apart {
        text += &format!("Apart: {because}\n");
    }
    if !p.proven {
        text += "Whether there is a better loading was not settled.\n";
    }
    for c in &p.caveats {
        text += &format!("{}\n", c.text);
    }
    text
}

fn plan_json(p: &Proposal) -> Value {
    json!({
        "runs": p.runs.iter().map(|r| json!({
            "recipe": r.recipe.0, "tank": r.tank.0, "reels": r.reels, "time_min": r.time_min,
            "within_min": { "lower95": r.within_min.lower95, "upper95": r.within_min.upper95 }, "at_c": r.at_c, "source": r.source.word(),
            "deviations": r.deviations.iter().map(|(id, percent)| json!({ "roll": id, "percent": percent })).collect::<Vec<_>>(),
            "working_ml": r.working_ml, "stock_ml": r.stock_ml,
        })).collect::<Vec<_>>(),
        "unloaded": p.unloaded.iter().map(|(roll, because)| json!({ "roll": roll, "because": because })).collect::<Vec<_>>(),
        "apart": p.apart.iter().map(|(a, b, because)| json!({ "a": a, "b": b, "because": because })).collect::<Vec<_>>(),
        "proven": p.proven,
        "caveats": p.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Vec<_>>(),
    })
}

fn list(desk: &mut Desk<'_>) -> Result<(), Failure> {
    let runs = desk.service.recent_runs(None, 100)?;
    let mut table = Table::new(&[">no", "run", "day", "state", ">volume"]);
    for r in &runs {
        table.row([
            r.run.id.to_string(),
            r.name(),
            r.run.made_on.clone(),
            match r.run.rehearsal {
                Some(_) => format!("{}, rehearsal", r.run.state.word()),
                None => r.run.state.word().to_owned(),
            },
            format!("{:.0} ml", r.run.volume_ml),
        ]);
    }
    desk.answer(listed(table, "No run yet."), || {
        runs.iter().map(run_json).collect()
    })
}

fn run_json(r: &RunView) -> Value {
    json!({
        "id": r.run.id.0, "state": r.run.state.word(), "made_on": r.run.made_on, "recipe": r.run.recipe.map(|id| id.0),
        "tank": r.run.tank.map(|id| id.0), "volume_ml": r.run.volume_ml, "rehearsal": r.run.rehearsal,
        "time_source": r.run.time_source.word(), "time_because": r.run.time_because, "note": r.run.note,
        "rolls": r.rolls.iter().map(|l| json!({
            "roll": l.roll.label, "reel": l.on.reel, "usable": l.on.usable, "fogged_start": l.on.fogged_start,
            "fogged_end": l.on.fogged_end, "exposure": l.on.exposure.word(), "note": l.on.note,
        })).collect::<Vec<_>>(),
        "steps": r.steps.iter().map(|s| json!({
            "kind": s.kind.word(), "time_s": s.time_s, "temperature_c": s.temperature_c, "bath": s.bath.map(|b| b.0),
            "agitation": { "first_s": s.agitation.first_s, "every_s": s.agitation.every_s, "for_s": s.agitation.for_s },
            "fill_s": s.fill_s, "drain_s": s.drain_s, "plain_s": s.plain_s, "because": s.because, "note": s.note,
        })).collect::<Vec<_>>(),
    })
}

fn clock_text(c: &RunClock, mixed: Option<&str>) -> String {
    let run = &c.view.run;
    let mut text = format!(
        "{}: {}, {:.0} ml, {}\n",
        c.view.name(),
        run.state.word(),
        run.volume_ml,
        run.time_because
    );
    if let Some(tank) = &c.tank {
        text += &format!("tank: {tank}\n");
    }
    if let Some(mixed) = mixed {
        text += &format!("developer: {mixed}\n");
    }
    let at = match &c.timer.phase {
        Phase::Running(s) => Some(s),
        _ => None,
    };
    for (place, step) in (0..).zip(&c.view.steps) {
        let mark = match at {
            Some(s) if s.step == place => ">",
            _ => " ",
        };
        let warm = step
            .temperature_c
            .map(|t| format!(" at {}", degrees(t)))
            .unwrap_or_default();
        text += &format!(
            "{mark} {:>2}. {:<18} {:>6}{warm}  {}\n",
            place + 1,
            step.kind.spoken(),
            told(step.time_s / 60.0),
            step.agitation.spoken()
        );
        if !step.because.is_empty() {
            text += &format!("      {}\n", step.because);
        }
    }
    if let Some(c) = c.timer.bottle_c {
        text += &format!("the developer in its bottle: {}\n", degrees(c));
    }
    if let Some(s) = at {
        let over = if s.left_s() < 0.0 {
            "over by "
        } else {
            "left "
        };
        // By the temperature alone: how well the time itself is known stands in the first line.
        let margin = if s.margin_s < 0.5 {
            String::new()
        } else {
            format!(" ± {:.0} s", s.margin_s)
        };
        text += &format!(
            "{} in, {over}{}, ends at {}{margin}\n",
            told(s.elapsed_s / 60.0),
            told(s.left_s().abs() / 60.0),
            told(s.ends_s / 60.0),
        );
        text += match s.pause {
            Some(Pause::Out) => "paused: the bath is out, its time stands still\n",
            Some(Pause::Quiet) => "paused: the calls are silenced, the time goes on\n",
            None => "",
        };
        for caveat in &s.caveats {
            text += &format!("{}\n", caveat.text);
        }
    }
    if c.second.by_the_wall {
        text += &format!(
            "The machine was started anew since this step began ({}): the clock on the wall had to be believed.\n",
            or_dash(c.began.as_deref().map(crate::service::moment::moment))
        );
    }
    if c.view.developed {
        for l in &c.view.rolls {
            let usable = or_dash(l.on.usable);
            text += &format!(
                "{}: {usable} usable, {}\n",
                l.roll.label,
                l.on.exposure.word()
            );
        }
    }
    text
}

fn clock_json(c: &RunClock) -> Value {
    let mut value = run_json(&c.view);
    let at = match &c.timer.phase {
        Phase::Running(s) => json!({
            "step": s.step + 1, "elapsed_s": s.elapsed_s, "ends_s": s.ends_s, "left_s": s.left_s(),
            "pause": s.pause.map(|p| match p { Pause::Out => "out", Pause::Quiet => "quiet" }), "margin_s": s.margin_s, "margin_mostly": s.mostly.map(|d| d.word()), "done_s": s.done_s,
            "readings": s.readings.iter().map(|r| json!({ "t_s": r.t_s, "c": r.c })).collect::<Vec<_>>(),
            "caveats": s.caveats.iter().map(|c| json!({ "code": c.code, "text": c.text })).collect::<Vec<_>>(),
        }),
        _ => Value::Null,
    };
    value["clock"] = at;
    value["bottle_c"] = c.timer.bottle_c.into();
    value["at_s"] = c.second.at_s.into();
    value["by_the_wall"] = c.second.by_the_wall.into();
    value["began"] = c.began.clone().into();
    value
}
