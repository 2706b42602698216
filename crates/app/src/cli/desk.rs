//! What every verb works with: the service, how to answer, and where to write.

use std::fmt::Display;
use std::io::{self, Write};

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use spoolwright_core::quantity::Estimate;

use crate::service::settings::Settings;
use crate::service::{Made, Request, Service};

use super::Failure;

/// The open store and the way a person wants to be answered.
pub(super) struct Desk<'a> {
    pub(super) service: Service,
    pub(super) json: bool,
    /// An id for this change: said again, it changes nothing.
    pub(super) request: Request<'a>,
    pub(super) out: &'a mut dyn Write,
}

impl Desk<'_> {
    /// Answers a question, as text or as JSON.
    pub(super) fn answer(
        &mut self,
        text: impl Display,
        json: impl FnOnce() -> Value,
    ) -> Result<(), Failure> {
        if self.json {
            writeln!(self.out, "{:#}", json())?;
        } else {
            write!(self.out, "{text}")?;
        }
        Ok(())
    }

    /// Says what a change did.
    pub(super) fn told<T>(&mut self, made: Made<T>) -> Result<(), Failure> {
        self.made(made, |_| Value::Null)
    }

    /// Says what a change did and what came of it.
    pub(super) fn made<T>(
        &mut self,
        made: Made<T>,
        value: impl FnOnce(T) -> Value,
    ) -> Result<(), Failure> {
        let Made {
            entry,
            story,
            value: result,
        } = made;
        if !self.json {
            writeln!(self.out, "{story}")?;
            return Ok(());
        }
        let mut answer = json!({ "story": story });
        if let Some(entry) = entry {
            answer["entry"] = entry.0.into();
        }
        match result.map(value) {
            None | Some(Value::Null) => {}
            Some(value) => answer["made"] = value,
        }
        writeln!(self.out, "{answer:#}")?;
        Ok(())
    }

    pub(super) fn settings(&self) -> Result<Settings, Failure> {
        Ok(self.service.settings()?)
    }
}

/// Columns of text, the numbers to the right.
pub(super) struct Table {
    heads: Vec<(&'static str, bool)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with these heads; a head that begins with `>` is over numbers.
    pub(super) fn new(heads: &[&'static str]) -> Self {
        let head = |h: &&'static str| match h.strip_prefix('>') {
            Some(name) => (name, true),
            None => (*h, false),
        };
        Self {
            heads: heads.iter().map(head).collect(),
            rows: Vec::new(),
        }
    }

    pub(super) fn row<const N: usize>(&mut self, cells: [String; N]) {
        debug_assert_eq!(N, self.heads.len(), "a cell for each head");
        self.rows.push(cells.into());
    }
}

impl Display for Table {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let heads: Vec<String> = self.heads.iter().map(|h| h.0.to_owned()).collect();
        let lines = || std::iter::once(&heads).chain(&self.rows);
        let width = |i: usize| {
            lines()
                .map(|cells| cells[i].chars().count())
                .max()
                .unwrap_or(0)
        };
        let widths: Vec<usize> = (0..heads.len()).map(width).collect();
        for cells in lines() {
            let padded =
                cells
                    .iter()
                    .zip(&widths)
                    .zip(&self.heads)
                    .map(|((cell, &width), head)| {
                        if head.1 {
                            format!("{cell:>width$}")
                        } else {
                            format!("{cell:<width$}")
                        }
                    });
            let line = padded.collect::<Vec<_>>().join("  ");
            writeln!(f, "{}", line.trim_end())?;
        }
        Ok(())
    }
}

/// A list, or a sentence when it is empty.
pub(super) fn listed(table: Table, empty: &str) -> String {
    if table.rows.is_empty() {
        format!("{empty}\n")
    } else {
        table.to_string()
    }
}

/// A draft with what was typed over what it was; a lone `-` empties a field.
pub(super) fn over<T: Serialize + DeserializeOwned>(old: &T, typed: &T) -> Result<T, Failure> {
    let fields = |draft: &T| match serde_json::to_value(draft) {
        Ok(Value::Object(fields)) => Ok(fields),
        Ok(_) => Err(anyhow::anyhow!("a draft is not an object")),
        Err(e) => Err(e.into()),
    };
    let mut all = fields(old)?;
    for (name, value) in fields(typed)? {
        match value.as_str() {
            Some("") | None => {}
            Some("-") => drop(all.insert(name, "".into())),
            Some(_) => drop(all.insert(name, value)),
        }
    }
    Ok(serde_json::from_value(all.into()).map_err(anyhow::Error::from)?)
}

/// An estimate as JSON.
pub(super) fn mean_sd(e: Estimate) -> Value {
    json!({ "mean": e.mean, "sd": e.sd })
}

/// A length with its interval: `12.30 m (11.90 to 12.70)`.
pub(super) fn interval(settings: &Settings, mean: f64, lower: f64, upper: f64) -> String {
    let bare = |m: f64| {
        let text = settings.length(m);
        text.split(' ').next().unwrap_or_default().to_owned()
    };
    format!(
        "{} ({} to {})",
        settings.length(mean),
        bare(lower),
        bare(upper)
    )
}

/// A chance in per cent, never rounded to certainty.
pub(super) fn chance(p: f64) -> String {
    match p {
        p if p < 0.01 => "under 1 %".to_owned(),
        p if 0.99 < p => "over 99 %".to_owned(),
        p => format!("{:.0} %", p * 100.0),
    }
}

/// An optional thing, or a dash.
pub(super) fn or_dash(value: Option<impl Display>) -> String {
    value.map_or_else(|| "–".to_owned(), |v| v.to_string())
}

/// Where the store lies when nobody says: the user's data folder.
///
/// # Errors
/// No environment variable tells where that is.
pub(super) fn usual_store() -> io::Result<std::path::PathBuf> {
    let folder = |name: &str| {
        std::env::var_os(name)
            .filter(|v| !v.is_empty())
            .map(std::path::PathBuf::from)
    };
    let home = || folder("HOME").or_else(|| folder("USERPROFILE"));
    let data = if cfg!(windows) {
        folder("APPDATA")
    } else if cfg!(target_os = "macos") {
        home().map(|h| h.join("Library/Application Support"))
    } else {
        folder("XDG_DATA_HOME").or_else(|| home().map(|h| h.join(".local/share")))
    };
    let data = data.ok_or_else(|| {
        io::Error::new(
            io::ErrorKind::NotFound,
            "no data folder is known here: name a store with --store PATH",
        )
    })?;
    Ok(data.join("spoolwright/store.sqlite"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::service::draft::WantDraft;

    #[test]
    fn numbers_stand_to_the_right() {
        let mut table = Table::new(&["can", ">left"]);
        table.row(["HM".into(), "9.00 m".into()]);
        table.row(["SL2".into(), "12.00 m".into()]);
        assert_eq!(
            table.to_string(),
            "can     left\nHM    9.00 m\nSL2  12.00 m\n"
        );
    }

    #[test]
    fn what_is_typed_lies_over_what_was() {
        let old = WantDraft {
            what_for: "ferry".into(),
            frames: "50".into(),
            ei: "250".into(),
            ..WantDraft::default()
        };
        let typed = WantDraft {
            frames: "36".into(),
            ei: "-".into(),
            ..WantDraft::default()
        };
        let Ok(new) = over(&old, &typed) else {
            panic!("drafts can be laid over")
        };
        assert_eq!(
            (new.what_for.as_str(), new.frames.as_str(), new.ei.as_str()),
            ("ferry", "36", "")
        );
    }

    #[test]
    fn chances_are_never_certain() {
        assert_eq!(
            [chance(0.0), chance(0.5), chance(1.0)],
            ["under 1 %", "50 %", "over 99 %"]
        );
    }
}
