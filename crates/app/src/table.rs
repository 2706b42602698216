//! A table of densities as pasted from a spreadsheet, written by an instrument, or typed in the page's grid.
//!
//! One row a step, one column a strip: `step,5 min,8 min` above `0.05,1.332,1.746` and so on. The first column is
//! the wedge's density, or the stops from the meter reading. A row named `base+fog` holds unexposed film. Cells apart
//! by tab, semicolon or comma; decimals with a point, or with a comma where commas do not part the cells.
//!
//! It reads, and refuses what could be read two ways; whether the densities make sense is the bench's question.

use crate::calc::words::shorten;
use crate::minutes::minutes;
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::wedge::record::Channel;
use spoolwright_core::{Error, Kind};

pub use crate::minutes::developing_time;

/// Largest table, bytes.
pub const MOST_BYTES: usize = 256 * 1024;
/// Most rows and columns.
const MOST_CELLS: usize = 20_000;

/// Wedge density, or stops from the meter reading, whichever reaches farther.
const STEP: Bounds = Bounds {
    what: "a step",
    unit: "",
    ..bounds::METER_STOPS
};

/// A table as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// First column: wedge density, or stops from the meter reading.
    pub steps: Vec<f64>,
    /// One a strip and light.
    pub columns: Vec<Column>,
}

/// One strip's column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Developing time, minutes.
    pub time_min: f64,
    /// Which light it was read in.
    pub channel: Channel,
    /// Density of each step; none where the cell was empty.
    pub density: Vec<Option<f64>>,
    /// Density in the row named base + fog.
    pub base_fog: Option<f64>,
}

/// Reads a table.
///
/// # Errors
/// Too large, no header with times, a row of another length, a cell that is no number.
pub fn read(text: &str) -> Result<Table, Error> {
    if text.len() > MOST_BYTES {
        return Err(Error::new(
            Kind::TooLarge,
            "table of densities",
            format!("{} bytes", text.len()),
            format!("at most {MOST_BYTES} bytes"),
            "Paste the steps and strips of one test only.",
        ));
    }
    let text = text.trim_start_matches('\u{feff}');
    let delimiter = delimiter(text);
    let comma_decimals = delimiter != b',';
    let mut rows = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes())
        .into_records()
        .map(|row| {
            row.map_err(|e| {
                wrong(
                    "table of densities",
                    e,
                    "cells of text",
                    "Check the quotes.",
                )
            })
        })
        .filter(|row| !matches!(row, Ok(cells) if cells.iter().all(str::is_empty)));
    let header = rows.next().ok_or_else(no_header)??;
    if number(header.get(0).unwrap_or_default(), &STEP, comma_decimals).is_ok() {
        return Err(no_header());
    }
    let columns: Vec<(f64, Channel)> = header
        .iter()
        .skip(1)
        .map(|cell| strip_of(cell, comma_decimals))
        .collect::<Result<_, _>>()?;
    if columns.is_empty() {
        return Err(no_header());
    }
    let mut table = Table {
        steps: Vec::new(),
        columns: columns
            .into_iter()
            .map(|(time_min, channel)| Column {
                time_min,
                channel,
                density: Vec::new(),
                base_fog: None,
            })
            .collect(),
    };
    for row in rows {
        let row = row?;
        if (table.steps.len() + 1) * (table.columns.len() + 1) > MOST_CELLS {
            return Err(wrong(
                "table of densities",
                "more",
                &format!("at most {MOST_CELLS} cells"),
                "Paste the steps and strips of one test only.",
            ));
        }
        table.put(&row, comma_decimals)?;
    }
    Ok(table)
}

impl Table {
    fn put(&mut self, row: &csv::StringRecord, comma_decimals: bool) -> Result<(), Error> {
        let name = row.get(0).unwrap_or_default();
        if row.len() > self.columns.len() + 1 {
            return Err(wrong(
                &format!("row {}", shorten(name)),
                format!("{} cells", row.len()),
                &format!("{} cells: the step and one a strip", self.columns.len() + 1),
                "Check that decimals are not written with the sign that parts the cells.",
            ));
        }
        let fog = is_base_fog(name);
        if !fog {
            self.steps.push(number(name, &STEP, comma_decimals)?);
        }
        for (i, column) in self.columns.iter_mut().enumerate() {
            let bounds = if fog {
                &bounds::BASE_FOG
            } else {
                &bounds::DENSITY
            };
            let density = cell(row.get(i + 1).unwrap_or_default(), bounds, comma_decimals)?;
            if !fog {
                column.density.push(density);
            } else if column.base_fog.is_none() {
                column.base_fog = density;
            } else {
                return Err(wrong(
                    "base+fog",
                    "two rows",
                    "one row of unexposed film",
                    "Keep one of them.",
                ));
            }
        }
        Ok(())
    }
}

/// Tabs win, then semicolons, then commas: whichever the first line holds.
fn delimiter(text: &str) -> u8 {
    let first = text.lines().find(|l| !l.trim().is_empty()).unwrap_or("");
    [b'\t', b';']
        .into_iter()
        .find(|&d| first.as_bytes().contains(&d))
        .unwrap_or(b',')
}

fn is_base_fog(name: &str) -> bool {
    let bare: String = name
        .to_lowercase()
        .chars()
        .filter(|c| c.is_ascii_alphabetic())
        .collect();
    matches!(
        bare.as_str(),
        "basefog" | "baseandfog" | "fog" | "blank" | "unexposed" | "base" | "bf" | "dmin"
    )
}

/// A column's head: a time as [`developing_time`] reads it, `t8` too, and for colour the light behind it.
fn strip_of(cell: &str, comma_decimals: bool) -> Result<(f64, Channel), Error> {
    let mut channel = Channel::Visual;
    let mut time = Vec::new();
    for word in cell.to_lowercase().split_whitespace() {
        match word {
            "r" => channel = Channel::Red,
            "g" => channel = Channel::Green,
            "b" => channel = Channel::Blue,
            word => match Channel::from_word(word) {
                Ok(light) => channel = light,
                Err(_) => time.push(word.to_owned()),
            },
        }
    }
    let time = time.join(" ");
    let bare = time.trim_start_matches("t=").trim_start_matches('t');
    let minutes = minutes(bare, comma_decimals).map_err(|e| Error {
        given: shorten(cell),
        remedy: format!("{} It stands above the strip's column.", e.remedy),
        ..e
    })?;
    Ok((minutes, channel))
}

fn number(text: &str, bounds: &Bounds, comma_decimals: bool) -> Result<f64, Error> {
    let mut plain = text.replace(['\u{2212}', '\u{2013}'], "-");
    if comma_decimals {
        plain = plain.replace(',', ".");
    }
    let digits = plain
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E'));
    let value: f64 = plain.parse().ok().filter(|_| digits).ok_or_else(|| {
        wrong(
            bounds.what,
            shorten(text),
            "a number",
            "Write the number alone.",
        )
    })?;
    bounds.check(value)
}

/// One cell of a grid: a density, or none where it is empty.
///
/// # Errors
/// No number, or no density.
pub fn density(text: &str) -> Result<Option<f64>, Error> {
    cell(text.trim(), &bounds::DENSITY, true)
}

fn cell(text: &str, bounds: &Bounds, comma_decimals: bool) -> Result<Option<f64>, Error> {
    match text {
        "" | "-" | "–" | "x" | "X" => Ok(None),
        text => number(text, bounds, comma_decimals).map(Some),
    }
}

fn wrong(what: &str, given: impl std::fmt::Display, allowed: &str, remedy: &str) -> Error {
    Error::new(Kind::Inconsistent, what, given, allowed, remedy)
}

fn no_header() -> Error {
    Error::missing(
        "a header with the developing times",
        "a first line such as step,5 min,8 min,12 min",
        "Put the developing time of each strip above its column.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn tables_as_programs_write_them() {
        let want =
            read("step,5 min,8:30\n0.05,1.332,1.746\n0.20,,1.643\nbase+fog,0.20,0.21\n").unwrap();
        assert_eq!(want.steps, [0.05, 0.20]);
        assert_eq!(want.columns[0].density, [Some(1.332), None]);
        assert_eq!(want.columns[0].base_fog, Some(0.20));
        assert_eq!(want.columns[1].time_min, 8.5);
        for same in [
            "step;5;8:30\r\n0,05;1,332;1,746\r\n0,20;;1,643\r\nBase + fog;0,20;0,21\r\n",
            "step\t5 min\t8.5 min\n0.05\t1.332\t1.746\n0.20\t-\t1.643\nfog\t0.20\t0.21\n\n",
            "\u{feff}\"step\",\"t5\",\"8:30\"\n0.05, 1.332, 1.746\n0.20,x,1.643\nunexposed,0.20,0.21",
        ] {
            assert_eq!(read(same).unwrap(), want, "{same}");
        }
    }

    #[test]
    fn colours_stand_behind_the_time() {
        let table = read("step,6.5 min red,6.5 min green,6.5 min blue\n-2,0.3,0.6,0.9\n").unwrap();
        let channels: Vec<Channel> = table.columns.iter().map(|c| c.channel).collect();
        assert_eq!(channels, [Channel::Red, Channel::Green, Channel::Blue]);
        assert_eq!(table.steps, [-2.0]);
    }

    #[test]
    fn heads_take_times_as_every_other_entry_does() {
        let table = read("step;8 min 20 s red;t=8:20 green;8,5 b\n0;1;2;3\n").unwrap();
        let times: Vec<f64> = table.columns.iter().map(|c| c.time_min).collect();
        assert_eq!(times, [25.0 / 3.0, 25.0 / 3.0, 8.5]);
    }

    #[test]
    fn what_could_be_read_two_ways_is_refused() {
        for bad in [
            "",
            "step\n0.05\n",
            "0.05,1.332\n0.20,1.257\n0.35,1.182\n",
            "step,5\n0,05,1,332\n",
            "step,five\n0.05,1.3\n",
            "step,5\n0.05,1.3x\n",
            "step,5\n0.05,99\n",
            "step,5\nfog,0.2\nfog,0.3\n",
            "step,8 min 20\n0.05,1.3\n",
            "step,8:75\n0.05,1.3\n",
            "step,8\nfog,4.5\n",
        ] {
            assert!(read(bad).is_err(), "{bad}");
        }
        assert!(read(&"1,".repeat(MOST_BYTES)).is_err());
    }

    proptest! {
        #[test]
        fn junk_never_panics(text in "[0-9a-z,;\t.:\"\n +-]{0,200}") {
            if let Ok(table) = read(&text) {
                for column in &table.columns {
                    prop_assert_eq!(column.density.len(), table.steps.len());
                }
            }
        }
    }
}
