//! One press at the tank: what was typed or tapped, whether it can be meant, and how the journal tells it.
//!
//! Whether it may follow the presses before it is the timer's to say ([`spoolwright_core::wet::timer`]).

use super::super::Outcome;
use super::super::entry::Reader;
use super::super::error::at;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::quantity::{degrees, degrees_between};
use spoolwright_core::shelf::{MarkId, RunId};
use spoolwright_core::wet::recipe::Step;
use spoolwright_core::wet::temperature::BATH_C;
use spoolwright_core::wet::timer::{Mark, MarkKind, Moment, Phase, Timer};
use spoolwright_core::{Error, Kind};

/// Seconds that a step may be made longer or shorter by.
const EXTEND_S: Bounds = Bounds {
    what: "more time",
    unit: "s",
    min: -3600.0,
    max: 86_400.0,
};

/// One press at the tank, as typed or tapped.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct MarkDraft {
    /// begin (the next bath is going in), quiet, out, resume, reading, extend, finish or abandon.
    #[arg(default_value = "")]
    pub kind: String,
    /// Which step begins, counted from 1; the next one when empty.
    #[arg(long, default_value = "")]
    pub step: String,
    /// The thermometer's reading, or seconds more.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub value: String,
    /// Why.
    #[arg(long, default_value = "")]
    pub note: String,
    /// A reading far from what the bath is meant for is one all the same: yes, or the same reading again.
    #[arg(long, default_value = "")]
    pub sure: String,
}

impl MarkDraft {
    /// Whether an unlikely reading is meant: said so, or the very reading that was asked about.
    pub(super) fn is_sure(&self) -> bool {
        let sure = self.sure.trim();
        sure.eq_ignore_ascii_case("yes") || (!sure.is_empty() && sure == self.value.trim())
    }

    pub(super) fn read(&self, timer: &Timer, fahrenheit: bool) -> Outcome<Mark> {
        let mut r = Reader::new();
        if self.kind.trim().is_empty() {
            r.fault(
                "kind",
                Error::missing(
                    "what happened",
                    MarkKind::ALL
                        .iter()
                        .map(|k| k.word())
                        .collect::<Vec<_>>()
                        .join(", "),
                    "Say one of these.",
                ),
            );
        }
        let kind = r.word("kind", &self.kind, MarkKind::from_word);
        let step = match (kind, self.step.trim()) {
            (MarkKind::Begin, "") => timer.next_step(),
            (MarkKind::Begin, text) => {
                let places = Bounds {
                    what: "a step",
                    unit: "",
                    min: 1.0,
                    max: f64::from(timer.steps.max(1)),
                };
                Some(r.whole("step", text, &places).saturating_sub(1))
            }
            _ => None,
        };
        let value = match kind {
            MarkKind::Reading => {
                let read = r.bath("value", &self.value, fahrenheit);
                if self.value.trim().is_empty() {
                    r.fault(
                        "value",
                        Error::missing(
                            "the thermometer's reading",
                            degrees_between(BATH_C.min, BATH_C.max),
                            "Enter the bath's temperature.",
                        ),
                    );
                }
                read
            }
            MarkKind::Extend => Some(r.number(
                "value",
                &self.value,
                &[("s", 1.0), ("min", 60.0)],
                &EXTEND_S,
            )),
            _ => None,
        };
        let note = r.free("note", "a reason", &self.note, 200);
        if matches!(kind, MarkKind::Quiet | MarkKind::Out | MarkKind::Abandon) && note.is_empty() {
            r.fault(
                "note",
                Error::missing(
                    "a reason",
                    "a few words",
                    "Say why: you will want to know when the negatives are dry.",
                ),
            );
        }
        r.finish()?;
        Ok(Mark {
            id: MarkId(0),
            run: RunId(0),
            at_s: 0.0,
            kind,
            step,
            value,
            note,
            moment: Moment {
                boot: String::new(),
                since_boot_s: 0.0,
                utc: String::new(),
            },
        })
    }
}

/// A reading so far from the last one, or from what the bath is meant for, is asked about, °C: own rule. 2 typed for 22
/// would move the end by an hour.
const UNLIKELY_C: f64 = 6.0;

pub(super) fn must_be_likely(mark: &Mark, timer: &Timer, steps: &[Step]) -> Outcome<()> {
    let step = match &timer.phase {
        Phase::Running(s) => steps.get(s.step as usize),
        _ => steps.iter().find(|s| s.kind.develops()),
    };
    let last = match &timer.phase {
        Phase::Running(s) => s.readings.last().map(|r| r.c),
        _ => timer.bottle_c,
    };
    let meant = step.and_then(|s| s.temperature_c);
    let Some((c, expected)) = mark.value.zip(last.or(meant)) else {
        return Ok(());
    };
    if (c - expected).abs() <= UNLIKELY_C {
        return Ok(());
    }
    Err(at(
        "value",
        Error::new(
            Kind::Inconsistent,
            "the thermometer's reading",
            degrees(c),
            format!(
                "about {}, as the bath was {}",
                degrees(expected),
                if last.is_some() {
                    "read before"
                } else {
                    "meant to be"
                }
            ),
            UNLIKELY_REMEDY,
        ),
    ))
}

/// What to do about a reading that is hard to believe; a page that sees it sends the reading again as a sure one.
pub const UNLIKELY_REMEDY: &str = "Read the thermometer again. If it is so, send the same reading once more (at the terminal with --sure yes).";

/// Verbs of presses in the journal.
pub(super) const PRESSES: [&str; 8] = [
    "run.step",
    "run.quiet",
    "run.out",
    "run.resumed",
    "run.read",
    "run.extended",
    "run.finished",
    "run.abandoned",
];

pub(super) fn bottle_told(mark: &Mark) -> (&'static str, String) {
    let c = mark.value.unwrap_or(0.0);
    (
        "run.read",
        format!("The developer is at {} before it goes in.", degrees(c)),
    )
}

/// The verb and the sentence of a mark, for the journal.
pub(super) fn told(mark: &Mark, steps: &[Step]) -> (&'static str, String) {
    let why = if mark.note.is_empty() {
        String::new()
    } else {
        format!(": {}", mark.note)
    };
    let value = mark.value.unwrap_or(0.0);
    match mark.kind {
        MarkKind::Begin => {
            let step = mark.step.and_then(|n| steps.get(n as usize));
            let name = step.map_or("a step", |s| s.kind.spoken());
            ("run.step", format!("{name} begun{why}."))
        }
        MarkKind::Quiet => (
            "run.quiet",
            format!("Calls silenced, the film stays in{why}."),
        ),
        MarkKind::Out => (
            "run.out",
            format!("Bath poured out, the time stands still{why}."),
        ),
        MarkKind::Resume => ("run.resumed", format!("Went on{why}.")),
        MarkKind::Reading => (
            "run.read",
            format!("The bath is at {}{why}.", degrees(value)),
        ),
        MarkKind::Extend => ("run.extended", format!("{value:+.0} s for this step{why}.")),
        MarkKind::Finish => ("run.finished", format!("The run is over{why}.")),
        MarkKind::Abandon => ("run.abandoned", format!("The run was given up{why}.")),
    }
}
