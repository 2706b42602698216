//! The input of `calc wedge` spelt as a table: settings in lines that begin with `#`, then a row a step.
//!
//! It makes the JSON input of it, which is judged like any other.

use serde_json::{Map, Value, json};
use spoolwright_core::wedge::record::Channel;
use spoolwright_core::{Error, Kind};

use super::UNREAD;
use crate::calc::words::{self, shorten};
use crate::table::{self, Table};

const SETTINGS: [&str; 8] = [
    "exposure",
    "log_h_at_zero_density",
    "meter_ei",
    "target",
    "density_sd",
    "base_fog",
    "material",
    "rounds",
];

pub(in crate::calc) fn from_table(bytes: &[u8]) -> Result<Value, Error> {
    let text = std::str::from_utf8(bytes).map_err(|e| {
        Error::new(
            Kind::Unknown,
            "the input is not UTF-8 text",
            format!("a stray byte at position {}", e.valid_up_to()),
            "JSON or a table, in UTF-8",
            "Save the file as UTF-8 text.",
        )
    })?;
    let text = text.trim_start_matches('\u{feff}').trim_start();
    let mut rest = text;
    let mut settings = Map::new();
    while rest.starts_with('#') {
        let (line, below) = rest.split_once('\n').unwrap_or((rest, ""));
        setting(line, &mut settings)?;
        rest = below.trim_start();
    }
    let table = table::read(rest)?;
    input(settings, table)
}

/// One line, such as `# target contrast_index 0.58`; the signs that part cells count as spaces.
fn setting(line: &str, settings: &mut Map<String, Value>) -> Result<(), Error> {
    let parts = [',', ';', '\t', ':', '=', '"', '\r', ' '];
    let mut cells = line
        .trim_start_matches('#')
        .split(parts)
        .filter(|w| !w.is_empty());
    let Some(name) = cells.next() else {
        return Ok(());
    };
    if !SETTINGS.contains(&name) {
        let remedy = "Settings that are not known are refused.";
        return Err(words::unknown(
            &format!("# {}", shorten(name)),
            name,
            SETTINGS,
            remedy,
        ));
    }
    let values: Vec<&str> = cells.collect();
    let value = match (name, values.as_slice()) {
        ("target", [measure]) => json!({ "measure": measure }),
        ("target", [measure, value]) => {
            json!({ "measure": measure, "value": number(name, value)? })
        }
        ("exposure" | "material", [word]) => json!(word),
        ("target" | "exposure" | "material", _) => return Err(words_wanted(name, &values)),
        (_, [value]) => number(name, value)?,
        _ => return Err(words_wanted(name, &values)),
    };
    if settings.insert(name.to_owned(), value).is_some() {
        return Err(Error::new(
            Kind::Inconsistent,
            format!("# {name}: given twice"),
            format!("`# {name}` two times or more"),
            "every setting once",
            "Remove all but one.",
        ));
    }
    Ok(())
}

fn number(name: &str, text: &str) -> Result<Value, Error> {
    let value: Option<f64> = text.parse().ok();
    value
        .filter(|v| v.is_finite())
        .map(Value::from)
        .ok_or_else(|| {
            Error::new(
                Kind::Unknown,
                format!("# {name}: not a number"),
                shorten(text),
                "a number, its decimals behind a point",
                "Give a number.",
            )
        })
}

fn words_wanted(name: &str, given: &[&str]) -> Error {
    let allowed = match name {
        "target" => "a measure and a contrast, such as contrast_index 0.58",
        "exposure" => "absolute, relative or in_camera",
        "material" => "negative, colour-negative or reversal",
        _ => "one number, its decimals behind a point",
    };
    Error::new(
        Kind::Unknown,
        format!("# {name}"),
        shorten(&given.join(" ")),
        allowed,
        "Correct that line.",
    )
}

fn input(mut settings: Map<String, Value>, table: Table) -> Result<Value, Error> {
    let kind = settings.remove("exposure").ok_or_else(|| {
        Error::missing(
            "# exposure: missing",
            "absolute, relative or in_camera",
            "Put a line such as `# exposure relative` above the table.",
        )
    })?;
    let mut exposure = json!({ "kind": kind });
    for name in ["log_h_at_zero_density", "meter_ei"] {
        if let Some(value) = settings.remove(name) {
            exposure[name] = value;
        }
    }
    if kind == "in_camera" {
        exposure["meter_offset_stops"] = table.steps.into();
    } else {
        settings.insert("wedge_density".to_owned(), table.steps.into());
    }
    settings.insert("exposure".to_owned(), exposure);
    let density_sd = settings.remove("density_sd");
    let strips = table.columns.into_iter().map(|column| {
        let readings = column.density.into_iter();
        let mut strip = json!({
            "time_min": column.time_min,
            "density": readings.map(|d| d.map_or(Value::from(UNREAD), Value::from)).collect::<Value>(),
        });
        if let Some(base_fog) = column.base_fog {
            strip["base_fog"] = base_fog.into();
        }
        if let Some(sd) = &density_sd {
            strip["density_sd"] = sd.clone();
        }
        if column.channel != Channel::Visual {
            strip["channel"] = column.channel.word().into();
        }
        strip
    });
    let strips = strips.collect::<Value>();
    settings.insert("strips".to_owned(), strips);
    Ok(settings.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_and_rows_become_the_json_input() {
        let text = "\u{feff}# exposure: absolute;;\r\n# log_h_at_zero_density 0.10\r\n#\n# target,contrast_index,0.58\n\
                    # density_sd=0.01\nstep;5;8\n0,05;1,332;1,746\n0,20;;1,643\nfog;0,2;\n";
        let want = json!({
            "exposure": { "kind": "absolute", "log_h_at_zero_density": 0.10 },
            "target": { "measure": "contrast_index", "value": 0.58 },
            "wedge_density": [0.05, 0.20],
            "strips": [
                { "time_min": 5.0, "density": [1.332, "x"], "base_fog": 0.2, "density_sd": 0.01 },
                { "time_min": 8.0, "density": [1.746, 1.643], "density_sd": 0.01 },
            ],
        });
        assert_eq!(from_table(text.as_bytes()).unwrap(), want);
    }

    #[test]
    fn what_is_not_known_is_refused() {
        for (head, what) in [
            ("", "# exposure: missing"),
            ("# exposur relative\n", "# exposur: not known"),
            ("# exposure\n", "# exposure"),
            (
                "# exposure relative\n# exposure relative\n",
                "# exposure: given twice",
            ),
            (
                "# exposure relative\n# base_fog much\n",
                "# base_fog: not a number",
            ),
            ("# exposure relative\n# base_fog 0.2 0.3\n", "# base_fog"),
            (
                "# exposure relative\n# base_fog nan\n",
                "# base_fog: not a number",
            ),
        ] {
            let text = format!("{head}step,5\n0.05,1.3\n");
            assert_eq!(
                from_table(text.as_bytes()).unwrap_err().what,
                what,
                "{head}"
            );
        }
        assert!(from_table(b"\xFF").is_err());
    }
}
