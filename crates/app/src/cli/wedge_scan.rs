//! `spoolwright wedge scan`: a strip of a test read from a picture, by a layout as `calc wedgescan` takes it.

use std::path::PathBuf;

use serde_json::{Value, json};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::wedge::record::WedgeTest;
use spoolwright_core::wedge::scan::{Flag, Reading};

use super::Failure;
use super::calc::{opened, read};
use super::desk::{Desk, Table, listed};
use crate::calc::wedgescan;
use crate::service::wedge::{Patch, ScanView};

#[derive(clap::Args)]
pub(super) struct Args {
    /// The test's name or number.
    test: String,
    /// The picture: TIFF, PNG or JPEG.
    #[arg(long = "in", value_name = "IMAGE")]
    image: PathBuf,
    /// Where strip and wedge lie in it: the JSON that `calc wedgescan` takes, with a patch for each step of the test.
    #[arg(long, value_name = "FILE")]
    layout: PathBuf,
    /// The strip's developing time, minutes: 8 or 8:30.
    #[arg(long)]
    time: String,
    /// Which of its patches is unexposed: first, last or none.
    #[arg(long, default_value = "none")]
    blank: String,
}

pub(super) fn run(args: &Args, desk: &mut Desk<'_>) -> Result<(), Failure> {
    let test = desk.service.wedge_test_named(&args.test)?;
    let layout = wedgescan::layout(&read("--layout", Some(&args.layout))?)?;
    let open = || opened("--in", &args.image);
    let scan = desk
        .service
        .read_scan_file(&test, (&args.time, &args.blank), layout, open)?;
    let name = args.image.file_name().unwrap_or_default();
    let readings = scan.readings(&test, &name.to_string_lossy());
    let made = desk
        .service
        .put_readings(test.id, &readings, desk.request)?;
    if !desk.json {
        write!(desk.out, "{}", text(&test, &scan))?;
    }
    desk.made(made, |strips| {
        let layers = scan.layers.iter();
        let layers = layers.map(|(light, reading)| {
            json!({ "channel": light.word(), "strip": strip(&test, &scan.patches, reading) })
        });
        let caveat = |c: &Caveat| json!({ "code": c.code, "text": c.text });
        json!({
            "strips": strips, "layers": layers.collect::<Value>(),
            "caveats": scan.caveats().into_iter().map(caveat).collect::<Value>(),
        })
    })
}

fn step(test: &WedgeTest, patch: Patch) -> Option<f64> {
    match patch {
        Patch::BaseFog => None,
        Patch::Step(i) => test.steps.get(i).copied(),
    }
}

fn words(flags: &[Flag]) -> Vec<&'static str> {
    flags.iter().map(|f| f.word()).collect()
}

fn text(test: &WedgeTest, scan: &ScanView) -> String {
    let mut table = Table::new(&[">step", "light", ">density", ">± sd", "to know"]);
    for (i, patch) in scan.patches.iter().enumerate() {
        for (light, reading) in &scan.layers {
            let read = &reading.strip[i];
            let show = |of: fn(Estimate) -> f64| {
                let density = read.density.map(of);
                density.map_or("—".into(), |d| format!("{d:.3}"))
            };
            table.row([
                step(test, *patch).map_or("base + fog".into(), |s| s.to_string()),
                light.word().to_owned(),
                show(|d| d.mean),
                show(|d| d.sd),
                words(&read.flags).join(", ").replace('_', " "),
            ]);
        }
    }
    let mut text = listed(table, "");
    for caveat in scan.caveats() {
        text.push_str(&format!("! {}\n", caveat.text));
    }
    text
}

/// The patches of one light; the unexposed one has no step.
fn strip(test: &WedgeTest, patches: &[Patch], reading: &Reading) -> Value {
    let patch = |(patch, read): (&Patch, &spoolwright_core::wedge::scan::PatchReading)| {
        json!({
            "step": step(test, *patch), "density": read.density.map(|d| d.mean),
            "density_sd": read.density.map(|d| d.sd), "flags": words(&read.flags),
        })
    };
    patches.iter().zip(&reading.strip).map(patch).collect()
}
