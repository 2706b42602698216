//! Benchmark `wedgescan`: a 60 MP 16-bit colour TIFF read and measured, time and peak memory.
//!
//! The picture is written to `target/bench` first, and the script `tests/reference/wedgescan/bench.py` reads the same one.
//! It is measured in a process of its own, whose peak memory is that of reading alone.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use spoolwright::picture::read_strip;
use spoolwright_core::wedge::scan::{Channel, Layout, Point, Quad, Reference, Strip};
use tiff::encoder::{TiffEncoder, colortype::RGB16};

const WIDTH: u32 = 9488;
const HEIGHT: u32 = 6324;
const STEPS: usize = 21;
/// Pixels: left, right; strip from, to; wedge from, to.
const LEFT: u32 = 494;
const RIGHT: u32 = 8894;
const STRIP: (u32, u32) = (1200, 2700);
const WEDGE: (u32, u32) = (3500, 5000);

type Failed = Box<dyn std::error::Error>;

fn main() -> Result<(), Failed> {
    if let Some(path) = std::env::args().nth(1) {
        return measure(Path::new(&path));
    }
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../target/bench");
    std::fs::create_dir_all(&folder)?;
    let path = folder.join("wedgescan.tif");
    if !path.exists() {
        write(&path.with_extension("new"))?;
        std::fs::rename(path.with_extension("new"), &path)?;
    }
    let status = Command::new(std::env::current_exe()?).arg(&path).status()?;
    if !status.success() {
        return Err("the measuring process failed".into());
    }
    Ok(())
}

/// Reads one picture and prints a line.
fn measure(path: &Path) -> Result<(), Failed> {
    let layout = layout();
    let mut best = f64::INFINITY;
    let mut densities = Vec::new();
    for _ in 0..3 {
        let start = Instant::now();
        let (_, reading) = read_strip(File::open(path)?, &layout)?;
        best = best.min(start.elapsed().as_secs_f64());
        densities = reading.strip.iter().filter_map(|p| p.density).collect();
    }
    let truth = (0..STEPS).map(density);
    let worst = densities
        .iter()
        .zip(truth)
        .map(|(read, d)| (read.mean - d).abs())
        .fold(0.0, f64::max);
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .and_then(|line| line.split_whitespace().next());
    let peak: f64 = peak.and_then(|kb| kb.parse().ok()).unwrap_or(f64::NAN);
    println!(
        r#"{{"bench": "wedgescan: 60 MP, 16-bit colour", "seconds": {best}, "peak_mb": {:.0}, "patches": {}, "worst_error": {worst:.4}}}"#,
        peak / 1024.0,
        densities.len()
    );
    Ok(())
}

fn density(step: usize) -> f64 {
    0.05 + 0.12 * step as f64
}

fn reference_density(step: usize) -> f64 {
    0.05 + 0.15 * step as f64
}

fn layout() -> Layout {
    let quad = |x: (u32, u32), y: (u32, u32)| {
        let p = |x: u32, y: u32| Point {
            x: x.into(),
            y: y.into(),
        };
        Quad([p(x.0, y.0), p(x.1, y.0), p(x.1, y.1), p(x.0, y.1)])
    };
    Layout {
        strip: Strip {
            corners: quad((LEFT, RIGHT), STRIP),
            patches: STEPS,
            expected: Vec::new(),
            inset: 0.2,
        },
        reference: Some(Reference {
            corners: quad((LEFT, RIGHT), WEDGE),
            density: (0..STEPS).map(reference_density).collect(),
            density_sd: 0.0,
            nominal: false,
            inset: 0.2,
        }),
        clear_border: [(300, 1000), (2800, 3400), (5200, 6000)]
            .map(|y| quad((200, 9200), y))
            .to_vec(),
        channel: Channel::Grey,
        linear: false,
        inverted: false,
    }
}

/// Writes a picture, a band of rows at a time.
fn write(path: &Path) -> Result<(), Failed> {
    const BAND: u32 = 62;
    let mut file = TiffEncoder::new(BufWriter::new(File::create(path)?))?;
    let mut image = file.new_image::<RGB16>(WIDTH, HEIGHT)?;
    image.rows_per_strip(BAND)?;
    let mut state = 1u64;
    let mut values = Vec::new();
    for top in (0..HEIGHT).step_by(BAND as usize) {
        values.clear();
        for y in top..(top + BAND).min(HEIGHT) {
            for x in 0..WIDTH {
                let step = ((x.saturating_sub(LEFT)) as usize * STEPS / (RIGHT - LEFT) as usize)
                    .min(STEPS - 1);
                let d = match y {
                    _ if !(LEFT..RIGHT).contains(&x) => 0.05,
                    y if (STRIP.0..STRIP.1).contains(&y) => density(step),
                    y if (WEDGE.0..WEDGE.1).contains(&y) => reference_density(step),
                    _ => 0.05,
                };
                let level = 58_000.0 * 10f64.powf(0.05 - d);
                for _ in 0..3 {
                    state = state
                        .wrapping_mul(6364136223846793005)
                        .wrapping_add(1442695040888963407);
                    let noise = (state >> 40) as f64 / (1u64 << 24) as f64 - 0.5;
                    values
                        .push((level * (1.0 + 0.05 * noise) + 60.0 * noise + 0.5).max(0.0) as u16);
                }
            }
        }
        image.write_strip(&values)?;
    }
    image.finish()?;
    Ok(())
}
