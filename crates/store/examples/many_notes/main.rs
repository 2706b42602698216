//! Fills a new store with many frame notes, for benchmarks and for trying out: `many_notes STORE NOTES`.

mod fill;

use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [path, notes] = args.as_slice() else {
        return Err("many_notes STORE NOTES".into());
    };
    fill::fill(path.as_ref(), notes.parse()?)?;
    Ok(())
}
