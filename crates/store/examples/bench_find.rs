//! Times finding a frame among 100,000 notes: `cargo xtask bench find`.
//!
//! Prints one JSON object a line: the median of many runs of one search, first page of twenty with the place of each
//! frame, as the page that shows it asks for; then a note written, changed and undone in that store.
#![allow(clippy::print_stdout)]

#[path = "many_notes/fill.rs"]
mod fill;

use serde_json::json;
use spoolwright_core::field::find::Sought;
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::FrameNote;
use spoolwright_core::shelf::{CameraId, RollId, Stock, StockId};
use spoolwright_store::{Error, Store};
use std::time::Instant;

const NOTES: u32 = 100_000;
const RUNS: usize = 25;
const PAGE: u32 = 20;
const NOW: &str = "2026-01-01T00:00:00Z";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = tempfile::tempdir()?;
    let start = Instant::now();
    let path = folder.path().join("notes.sqlite");
    let mut store = fill::fill(&path, NOTES)?;
    let seconds = start.elapsed().as_secs_f64();
    let size_mb = std::fs::metadata(&path)?.len() / 1_000_000;
    println!(
        "{}",
        json!({"bench": "find: fill the store", "seconds": seconds, "notes": NOTES, "size_mb": size_mb})
    );

    let words = |text: &str| Sought {
        words: text.into(),
        ..Sought::default()
    };
    let days = |from: &str, to: &str, sought: Sought| Sought {
        from: Some(from.into()),
        to: Some(to.into()),
        ..sought
    };
    let sought = [
        ("one frame", words("heron weir")),
        ("first letters", words("her")),
        ("a label", words("aab-07 12")),
        ("two words", words("sleeping owl")),
        ("two common words", words("quiet street")),
        ("three words and a stock", words("waiting baker moor")),
        ("nothing", words("kingfisher")),
        ("a common word", words("street")),
        ("a stock", words("moor")),
        (
            "a word in a year",
            days("1995-01-01", "1995-12-31", words("lighthouse")),
        ),
        (
            "a word with a camera",
            Sought {
                camera: Some(CameraId(2)),
                ..words("lighthouse")
            },
        ),
        (
            "two words on a stock",
            Sought {
                stock: Some(StockId(2)),
                ..words("harbour rain")
            },
        ),
        ("a year", days("1995-01-01", "1995-12-31", words(""))),
        (
            "a stock's newest",
            Sought {
                stock: Some(StockId(2)),
                ..words("")
            },
        ),
        ("everything", words("")),
    ];
    let mut medians = Vec::new();
    for (what, sought) in &sought {
        let mut hits = 0;
        let median = median(|| {
            let found = store.search(sought, 0, PAGE)?;
            hits = found.hits.len();
            for note in found.hits.iter().filter_map(|h| h.note.as_ref()) {
                store.place_of_frame(note.roll, note.frame)?;
            }
            Ok(())
        })?;
        medians.push(median);
        println!(
            "{}",
            json!({"bench": format!("find: {what}"), "seconds": median, "shown": hits})
        );
    }
    medians.sort_by(f64::total_cmp);
    let middle = medians[medians.len() / 2];
    println!(
        "{}",
        json!({"bench": "find: median of these searches", "seconds": middle})
    );
    writing(&mut store)
}

fn median(mut run: impl FnMut() -> Result<(), Error>) -> Result<f64, Error> {
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let start = Instant::now();
        run()?;
        times.push(start.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    Ok(times[RUNS / 2])
}

fn writing(store: &mut Store) -> Result<(), Box<dyn std::error::Error>> {
    let mut entries = Vec::new();
    let write = median(|| {
        let note = FrameNote {
            subject: "kingfisher".into(),
            made_at: NOW.into(),
            ..FrameNote::blank(RollId(7), Frame::number(40))
        };
        let done = store.change::<_, Error>(NOW, None, |c| {
            Ok(("note.put", "Noted".into(), c.put(&note)?))
        })?;
        entries.extend(done.entry());
        Ok(())
    })?;
    println!(
        "{}",
        json!({"bench": "find: write a note", "seconds": write})
    );
    let undo = median(|| {
        if let Some(entry) = entries.pop() {
            store.undo(NOW, None, entry)?;
        }
        Ok(())
    })?;
    println!("{}", json!({"bench": "find: undo it", "seconds": undo}));
    let start = Instant::now();
    let Some(stock) = store.get::<Stock>(StockId(2))? else {
        return Err("the stock is gone".into());
    };
    let renamed = Stock {
        name: "Slate 250".into(),
        ..stock
    };
    store.change::<_, Error>(NOW, None, |c| {
        Ok(("stock.put", "Renamed".into(), c.put(&renamed)?))
    })?;
    let seconds = start.elapsed().as_secs_f64();
    println!(
        "{}",
        json!({"bench": "find: rename a stock of a quarter of the notes", "seconds": seconds})
    );
    Ok(())
}
