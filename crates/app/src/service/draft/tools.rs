//! Loaders and cassettes as typed.

use crate::service::Outcome;
use crate::service::entry::{self, Reader};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::shelf::{Cassette, CassetteId, Loader, LoaderId, LoaderKind};
use spoolwright_core::{Error, Kind};

const USES: Bounds = Bounds {
    what: "earlier uses",
    unit: "",
    min: 0.0,
    max: 10_000.0,
};

/// A loader as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct LoaderDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// counter (it clicks) or crank (no counter); counter when empty.
    #[arg(long, default_value = "")]
    pub kind: String,
    /// Where the dial stands before the first click: 0 when empty, -4 for one that starts four below zero.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub dial_zero: String,
    /// For a crank: diameter of the cassette's hub, mm; 11 when empty.
    #[arg(long, default_value = "")]
    pub hub_mm: String,
    /// Clicks for the leader; 4 when empty.
    #[arg(long, default_value = "")]
    pub leader_clicks: String,
    /// Clicks for the light-struck tail when wound in room light; 2 when empty.
    #[arg(long, default_value = "")]
    pub tail_clicks: String,
    /// Film per click against eight perforations, if measured; learnt when empty.
    #[arg(long, default_value = "")]
    pub click_scale: String,
    /// Film taken uncounted per roll, mm, if measured; learnt when empty.
    #[arg(long, default_value = "")]
    pub uncounted_mm: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl LoaderDraft {
    pub(crate) fn read(&self, id: LoaderId, closed: bool) -> Outcome<Loader> {
        let mut r = Reader::new();
        let kind = match self.kind.trim() {
            "" | "counter" => LoaderKind::Counter {
                dial_zero: r
                    .optional(
                        "dial_zero",
                        &self.dial_zero,
                        entry::PLAIN,
                        &bounds::DIAL_OFFSET,
                    )
                    .unwrap_or(0.0)
                    .round() as i32,
            },
            "crank" => LoaderKind::Crank {
                hub_mm: r
                    .optional("hub_mm", &self.hub_mm, entry::MILLIMETRES, &bounds::CORE_MM)
                    .unwrap_or(11.0),
            },
            other => {
                r.fault(
                    "kind",
                    Error::new(
                        Kind::Unknown,
                        "a loader's kind",
                        format!("{other:?}"),
                        "counter, crank",
                        "Use one of these words.",
                    ),
                );
                LoaderKind::Counter { dial_zero: 0 }
            }
        };
        let mut clicks = |field: &str, text: &str, usual: u32| {
            if text.trim().is_empty() {
                usual
            } else {
                r.whole(field, text, &bounds::ALLOWANCE_CLICKS)
            }
        };
        let leader_clicks = clicks("leader_clicks", &self.leader_clicks, 4);
        let tail_clicks = clicks("tail_clicks", &self.tail_clicks, 2);
        let loader = Loader {
            id,
            name: r.name("a loader's name", &self.name),
            kind,
            leader_clicks,
            tail_clicks,
            click_scale: r.estimate(
                "click_scale",
                (&self.click_scale, ""),
                entry::PLAIN,
                &bounds::CLICK_SCALE,
                0.001,
            ),
            uncounted_mm: r.estimate(
                "uncounted_mm",
                (&self.uncounted_mm, ""),
                entry::MILLIMETRES,
                &bounds::UNCOUNTED_MM,
                0.1,
            ),
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(loader)
    }
}

/// Cassettes as typed: one label, or several separated by commas, or a range such as `1-15`.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct CassetteDraft {
    /// What is written on it; several separated by commas, or a range such as 1-15.
    #[arg(long, default_value = "")]
    pub label: String,
    /// Most frames to wind into it; 38 when empty.
    #[arg(long, default_value = "")]
    pub most_frames: String,
    /// Times it was filled before this record began; 0 when empty.
    #[arg(long, default_value = "")]
    pub earlier_uses: String,
    /// It has leaked light (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub leaks: String,
    /// It is retired (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub retired: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl CassetteDraft {
    pub(crate) fn read(&self, id: CassetteId) -> Outcome<Vec<Cassette>> {
        let mut r = Reader::new();
        let text = r.line("label", "a cassette's label", &self.label, 400);
        let given = !text.is_empty();
        let labels = if id.0 == 0 {
            cassette_labels(&text)
        } else {
            vec![text]
        };
        if labels.is_empty() && given {
            r.fault(
                "label",
                Error::missing(
                    "a cassette's label",
                    "1 to 20 characters between commas",
                    "Enter what is written on it, such as 7 or 1-15.",
                ),
            );
        }
        if labels.len() > 200 {
            r.fault(
                "label",
                Error::new(
                    Kind::TooLarge,
                    "cassettes",
                    labels.len(),
                    "at most 200 at once",
                    "Add them in smaller lots.",
                ),
            );
        }
        let most_frames = if self.most_frames.trim().is_empty() {
            38
        } else {
            r.whole("most_frames", &self.most_frames, &bounds::FRAMES)
        };
        let earlier_uses = if self.earlier_uses.trim().is_empty() {
            0
        } else {
            r.whole("earlier_uses", &self.earlier_uses, &USES)
        };
        let leaks = r.yes("leaks", &self.leaks);
        let retired = r.yes("retired", &self.retired);
        let note = r.free("note", "a note", &self.note, 400);
        let all = labels
            .iter()
            .map(|label| Cassette {
                id,
                label: r.line("label", "a cassette's label", label, 20),
                most_frames,
                leaks,
                retired,
                note: note.clone(),
                earlier_uses,
            })
            .collect();
        r.finish()?;
        Ok(all)
    }
}

fn cassette_labels(text: &str) -> Vec<String> {
    let range = |part: &str| {
        let (from, to) = part
            .split_once(['-', '–'])
            .or_else(|| part.split_once(" to "))?;
        let (from, to): (u32, u32) = (from.trim().parse().ok()?, to.trim().parse().ok()?);
        (from <= to && to - from < 1000).then_some(from..=to)
    };
    text.split(',')
        .map(str::trim)
        .filter(|p| !p.is_empty())
        .flat_map(|part| match range(part) {
            Some(range) => range.map(|n| n.to_string()).collect(),
            None => vec![part.to_owned()],
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cassettes_in_lots() {
        assert_eq!(cassette_labels("1-3, red"), ["1", "2", "3", "red"]);
        assert_eq!(cassette_labels("A-7"), ["A-7"]);
        assert_eq!(cassette_labels("1 to 3"), ["1", "2", "3"]);
    }
}
