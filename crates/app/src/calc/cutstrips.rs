//! `calc cutstrips`: where to cut a developed roll.

use serde::Deserialize;
use serde_json::{Value, json};
use spoolwright_core::Error;
use spoolwright_core::binder::cut::{self, Cutting};

use super::film_roll::{ImageInput, PageInput, Pictures};
use super::input::{self, Whole};
use super::{answer, json};

#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object")]
struct Input {
    frames: Option<Whole>,
    first: Option<String>,
    shape: Option<String>,
    last_cut_short: Option<bool>,
    blank: Option<Vec<String>>,
    images: Option<Vec<ImageInput>>,
    page: PageInput,
    pitch: Option<String>,
}

pub(super) fn answer(input: &Value) -> Result<Value, Error> {
    let i: Input = json::read(input, "")?;
    let pitch = input::pitch(i.pitch.as_deref(), "pitch")?;
    let page = i.page.read()?;
    let images = Pictures {
        frames: i.frames,
        first: i.first,
        shape: i.shape,
        last_cut_short: i.last_cut_short,
        blank: i.blank,
        images: i.images,
    }
    .read("")?;
    let cutting = cut::cut(&images, page, pitch)?;
    let perforation_mm = pitch.length().to_mm();
    Ok(told(&cutting, perforation_mm, page.rows))
}

fn told(cutting: &Cutting, perforation_mm: f64, rows: u32) -> Value {
    let strips = cutting.strips.iter().map(|s| {
        json!({
            "first": s.first,
            "last": s.last,
            "frames": s.frames(),
            "perforations": s.perforations,
            "mm": f64::from(s.perforations) * perforation_mm,
            "pockets": s.pockets(),
        })
    });
    let cuts = cutting.cuts.iter().map(|c| {
        json!({
            "after": c.after,
            "before": c.before,
            "perforations": c.perforations,
            "mm": c.mm,
            "because": c.because,
        })
    });
    json!({
        "strips": strips.collect::<Value>(),
        "cuts": cuts.collect::<Value>(),
        "left_out": cutting.left_out,
        "rows": cutting.strips.len(),
        "pages": cutting.strips.len().div_ceil(rows as usize),
        "because": cutting.because,
        "caveats": answer::caveats(&cutting.caveats),
    })
}
