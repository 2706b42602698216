//! `calc contact`: which paper holds the strips of a page.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::Error;
use spoolwright_core::binder::contact::{self, Paper, Plan, STRIP_MM, Sheet};
use spoolwright_core::binder::limits::{MARGIN_MM, PAPER_MM, ROW_STEP_MM};
use spoolwright_core::bounds::FRAMES;

use super::film_roll::PageInput;
use super::input::{self, Number, Whole};
use super::{answer, json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    page: PageInput,
    frames: Option<Whole>,
    pitch: Option<String>,
    row_step_mm: Option<Number>,
    margin_mm: Option<Number>,
    papers: Option<Vec<PaperInput>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct PaperInput {
    name: String,
    width_mm: Number,
    height_mm: Number,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let paper = |(n, p): (usize, PaperInput)| {
        let side = |mm: Number, name| mm.check(PAPER_MM, &format!("papers[{n}].{name}"));
        Ok(Paper {
            width_mm: side(p.width_mm, "width_mm")?,
            height_mm: side(p.height_mm, "height_mm")?,
            name: p.name,
        })
    };
    let papers = i
        .papers
        .map(|list| list.into_iter().enumerate().map(paper).collect());
    Ok(told(&contact::plan(&Sheet {
        page: i.page.read()?,
        frames: i.frames.map(|f| f.check(FRAMES, "frames")).transpose()?,
        pitch: input::pitch(i.pitch.as_deref(), "pitch")?,
        row_step_mm: input::number_or(i.row_step_mm, STRIP_MM, ROW_STEP_MM, "row_step_mm")?,
        margin_mm: input::number_or(i.margin_mm, 0.0, MARGIN_MM, "margin_mm")?,
        papers: papers.unwrap_or_else(|| Ok(contact::usual_papers()))?,
    })?))
}

fn told(plan: &Plan) -> Value {
    let papers = plan.papers.iter().map(|p| {
        json!({
            "name": p.name,
            "fits": p.fits,
            "spare_along_mm": p.spare_along_mm,
            "spare_across_mm": p.spare_across_mm,
        })
    });
    let mut said = json!({
        "along_mm": plan.along_mm,
        "across_mm": plan.across_mm,
        "holds": plan.holds,
        "papers": papers.collect::<Value>(),
        "caveats": answer::caveats(&plan.caveats),
    });
    for (name, figure) in [
        ("strips", plan.strips),
        ("over", plan.over),
        ("sheets", plan.sheets),
    ] {
        if let Some(figure) = figure {
            said[name] = figure.into();
        }
    }
    if let Some(smallest) = &plan.smallest {
        said["smallest"] = smallest.as_str().into();
    }
    said
}
