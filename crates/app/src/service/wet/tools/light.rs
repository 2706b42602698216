//! Developing times at another temperature, pushes and pulls, long exposures.

use super::super::super::entry::{self, Reader};
use super::super::super::error::at;
use super::super::super::{Outcome, Service};
use super::super::times::NORMAL_C;
use super::{Telling, read};
use serde::Deserialize;
use spoolwright_core::bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wedge::Interval;
use spoolwright_core::wet::exposure;
use spoolwright_core::wet::mark::Mark;
use spoolwright_core::wet::push::{self, PUSH_FACTOR, PUSH_STOPS, Push};
use spoolwright_core::wet::reciprocity::{
    self, ADDED, Comparison, METERED_S, Method, Model, POWER, SCHWARZSCHILD,
};
use spoolwright_core::wet::temperature::{
    self, BATH_C, Base, Coefficient, DEFAULT_THERMOMETER_SD_C, Origin, Pair, Q10, TimeAt,
};
use spoolwright_core::{Error, Kind};

/// A developing time for another temperature, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct DevtimeDraft {
    /// The time that is known.
    pub time: String,
    /// Its temperature; 20 C when empty.
    pub at: String,
    /// The bath's temperature.
    pub to: String,
    /// The developer's temperature coefficient.
    pub q10: String,
    /// How the coefficient is known.
    pub mark: String,
    /// Own times at other temperatures, one a line, to learn the coefficient from.
    pub pairs: String,
}

/// A developing time at another temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct DevtimeView {
    /// The time that is known, min.
    pub time_min: f64,
    /// Its temperature, °C.
    pub at_c: f64,
    /// The bath's temperature, °C.
    pub to_c: f64,
    /// The answer.
    pub time: TimeAt,
    /// The coefficient.
    pub coefficient: Coefficient,
    /// How it is known.
    pub mark: Mark,
    /// Units of the answer.
    pub telling: Telling,
}

/// A push or pull as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PushDraft {
    /// The normal developing time.
    pub time: String,
    /// Stops of push; a pull is negative.
    pub stops: String,
    /// Or the speed that the time is for,
    pub speed: String,
    /// and the speed the film was exposed at.
    pub exposed_at: String,
    /// The factor, when it is known better than by rule of thumb.
    pub factor: String,
    /// How the factor is known.
    pub mark: String,
}

/// A pushed or pulled time.
#[derive(Debug, Clone, PartialEq)]
pub struct PushView {
    /// The push.
    pub push: Push,
    /// The normal time, min.
    pub normal_min: f64,
    /// The time, min.
    pub time_min: Interval,
}

/// A long exposure as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct LongDraft {
    /// What the meter asks for.
    pub metered: String,
    /// The rule: nothing for all of them, known-1 and so on, power, schwarzschild, added, table.
    pub rule: String,
    /// The number of a rule of one's own.
    pub number: String,
    /// Rows of a table, one a line.
    pub rows: String,
    /// How the rule is known.
    pub mark: String,
}

/// A long exposure worked out.
#[derive(Debug, Clone, PartialEq)]
pub enum LongView {
    /// Every rule that circulates; none is picked.
    All {
        /// Metered, s.
        metered_s: f64,
        /// What they say.
        comparison: Comparison,
    },
    /// One rule.
    One {
        /// Metered, s.
        metered_s: f64,
        /// The rule.
        model: Model,
        /// Time to give, s.
        corrected_s: f64,
        /// What limits it.
        caveats: Vec<Caveat>,
    },
}

impl Service {
    /// The developing time at another temperature.
    ///
    /// # Errors
    /// Every fault of the draft; pairs that teach nothing.
    pub fn tool_devtime(&self, d: &DevtimeDraft) -> Outcome<DevtimeView> {
        let telling = Telling::of(&self.settings()?, &[]);
        let mut r = Reader::new();
        let time = crate::minutes::developing_time(&d.time);
        let time_min = r.keep("time", time, 1.0);
        let mut degrees = |field: &str, text: &str, usual| {
            read::temperature(&mut r, field, text, &BATH_C, telling.fahrenheit, usual)
        };
        let at_c = degrees("at", &d.at, Some(NORMAL_C));
        let to_c = degrees("to", &d.to, None);
        let q10 = r.optional("q10", &d.q10, entry::PLAIN, &Q10);
        let mark = match d.mark.trim() {
            "" => Mark::Sheet,
            text => r.word("mark", text, Mark::from_word),
        };
        let pairs = read::lines(&mut r, "pairs", &d.pairs, |line| {
            let (time_min, c) = read::time_at(line, telling.fahrenheit)?;
            Ok(Pair { time_min, c })
        });
        let taught = !d.pairs.trim().is_empty();
        if taught && !d.q10.trim().is_empty() {
            r.fault(
                "q10",
                Error::new(
                    Kind::Inconsistent,
                    "the temperature coefficient",
                    "a number, and times to learn it from",
                    "one of the two",
                    "Leave one of them empty.",
                ),
            );
        }
        r.finish()?;
        let (coefficient, mark) = if taught {
            let learnt =
                Coefficient::learn(&pairs, DEFAULT_THERMOMETER_SD_C).map_err(|e| at("pairs", e))?;
            (learnt, Mark::Measured)
        } else if let Some(q10) = q10 {
            (
                Coefficient::given(q10, 0.0).map_err(|e| at("q10", e))?,
                mark,
            )
        } else {
            (Coefficient::default(), Mark::RuleOfThumb)
        };
        let base = Base::new(time_min, at_c).map_err(|e| at("time", e))?;
        let time = temperature::time_at(base, to_c, &coefficient, DEFAULT_THERMOMETER_SD_C)
            .map_err(|e| at("to", e))?;
        Ok(DevtimeView {
            time_min,
            at_c,
            to_c,
            time,
            coefficient,
            mark,
            telling,
        })
    }

    /// The developing time for film exposed at another speed.
    ///
    /// # Errors
    /// Every fault of the draft; further than the rules go.
    pub fn tool_push(&self, d: &PushDraft) -> Outcome<PushView> {
        let mut r = Reader::new();
        let time = crate::minutes::developing_time(&d.time);
        let normal_min = r.keep("time", time, 1.0);
        let by_stops = !d.stops.trim().is_empty();
        let by_speed = [&d.speed, &d.exposed_at].map(|t| !t.trim().is_empty());
        let stops = by_stops.then(|| {
            let read = read::stops(&PUSH_STOPS, &d.stops);
            r.keep("stops", read, 0.0)
        });
        let mut index = |field: &str, text: &str| {
            let needed = by_speed != [false, false] && !by_stops;
            match needed {
                true => Some(r.number(field, text, entry::SPEED, &bounds::SPEED_ISO)),
                false => r.optional(field, text, entry::SPEED, &bounds::SPEED_ISO),
            }
        };
        let speeds = (index("speed", &d.speed), index("exposed_at", &d.exposed_at));
        let stops = match (stops, speeds) {
            (Some(stops), _) if by_speed == [false, false] => stops,
            (None, (Some(meant_for), Some(exposed))) => {
                let apart = exposure::speed_value(exposed)
                    .and_then(|e| Ok(e - exposure::speed_value(meant_for)?));
                r.keep("exposed_at", apart, 0.0)
            }
            (stops, _) => {
                let both = stops.is_some();
                r.fault(
                    "stops",
                    Error::new(
                        if both {
                            Kind::Inconsistent
                        } else {
                            Kind::Missing
                        },
                        "how far to push or pull",
                        if both { "stops, and speeds" } else { "nothing" },
                        "stops, or the two speeds",
                        "Fill in one of the two.",
                    ),
                );
                0.0
            }
        };
        let factor = r.optional("factor", &d.factor, &[("x", 1.0), ("×", 1.0)], &PUSH_FACTOR);
        let mark = r.word("mark", &d.mark, Mark::from_word);
        r.finish()?;
        let field = if by_stops { "stops" } else { "exposed_at" };
        let push = match factor {
            Some(factor) => push::own(stops, factor, mark).map_err(|e| at("factor", e))?,
            None => push::rule_of_thumb(stops).map_err(|e| at(field, e))?,
        };
        let range = push.as_interval();
        let times = |factor: f64| normal_min * factor;
        let time_min = Interval {
            value: bounds::DEVELOPING_MIN
                .check(times(range.value))
                .map_err(|e| at("time", e))?,
            lower95: times(range.lower95),
            upper95: times(range.upper95),
        };
        Ok(PushView {
            push,
            normal_min,
            time_min,
        })
    }

    /// What to give when the meter asks for more than a second.
    ///
    /// # Errors
    /// Every fault of the draft; beyond a table.
    pub fn tool_long(&self, d: &LongDraft) -> Outcome<LongView> {
        let mut r = Reader::new();
        let metered = read::seconds(&METERED_S, &d.metered);
        let metered_s = r.keep("metered", metered, 1.0);
        let mark = r.word("mark", &d.mark, Mark::from_word);
        let model = chosen(&mut r, d, mark);
        r.finish()?;
        match model {
            None => Ok(LongView::All {
                metered_s,
                comparison: reciprocity::compare(metered_s)?,
            }),
            Some(model) => {
                let (corrected_s, caveats) =
                    reciprocity::by(&model, metered_s).map_err(|e| at("metered", e))?;
                Ok(LongView::One {
                    metered_s,
                    model,
                    corrected_s,
                    caveats,
                })
            }
        }
    }
}

/// The rules of one's own: word, name, what its number is called.
pub const OWN_RULES: [(&str, &str); 4] = [
    ("power", "a power of my own, p"),
    ("schwarzschild", "Schwarzschild's exponent, q"),
    ("added", "an added time of my own, a"),
    ("table", "a table of my own"),
];

/// The rules that circulate, by the words that choose them.
pub fn circulating() -> Vec<(String, Model)> {
    reciprocity::circulating()
        .into_iter()
        .enumerate()
        .map(|(i, model)| (format!("known-{}", i + 1), model))
        .collect()
}

fn chosen(r: &mut Reader, d: &LongDraft, mark: Mark) -> Option<Model> {
    let word = d.rule.trim();
    if OWN_RULES.iter().any(|(own, _)| *own == word) {
        let (field, text) = match word {
            "table" => ("number", &d.number),
            _ => ("rows", &d.rows),
        };
        if !text.trim().is_empty() {
            r.fault(field, unasked());
        }
    }
    let number = |r: &mut Reader, bounds| r.number("number", &d.number, entry::PLAIN, bounds);
    let method = match word {
        "power" => Method::power(number(r, &POWER)),
        "schwarzschild" => Method::schwarzschild(number(r, &SCHWARZSCHILD)),
        "added" => Method::added(number(r, &ADDED)),
        "table" => {
            let rows = read::lines(r, "rows", &d.rows, row);
            // Of a faulty table the fault of its lines is told, not that lines are lacking then.
            let sound = rows.len() == d.rows.lines().filter(|l| !l.trim().is_empty()).count();
            if !sound {
                return None;
            }
            Method::table(&rows)
        }
        _ => {
            let known = circulating().into_iter().find(|(w, _)| w == word);
            if known.is_none() && !word.is_empty() {
                let words: Vec<String> = circulating().into_iter().map(|(w, _)| w).collect();
                let own = OWN_RULES.iter().map(|(w, _)| *w);
                let all = words.iter().map(String::as_str).chain(own);
                r.fault(
                    "rule",
                    crate::calc::words::unknown("the rule", word, all, "Choose one of these."),
                );
                return None;
            }
            for (field, text) in [("number", &d.number), ("rows", &d.rows)] {
                if !text.trim().is_empty() {
                    r.fault(field, unasked());
                }
            }
            return known.map(|(_, model)| model);
        }
    };
    let field = if word == "table" { "rows" } else { "number" };
    let method = r.keep(field, method.map(Some), None)?;
    let name = OWN_RULES.iter().find(|(w, _)| *w == word)?.1;
    Some(Model {
        name: name.to_owned(),
        method,
        mark,
    })
}

fn unasked() -> Error {
    Error::new(
        Kind::Inconsistent,
        "what the rule has no use for",
        "a figure",
        "the number of a rule of your own, or the rows of a table",
        "Choose the rule that it belongs to, or empty the field.",
    )
}

/// A row of a table: `30 s, 1:12` or `30 72`.
fn row(line: &str) -> Result<(f64, f64), Error> {
    let apart = if line.contains([';', '=']) || line.contains(", ") || line.contains(" to ") {
        line.replace(", ", ";")
            .replace([';', '='], " ; ")
            .replace(" to ", " ; ")
    } else {
        line.split_whitespace().collect::<Vec<_>>().join(" ; ")
    };
    match apart
        .split(" ; ")
        .map(str::trim)
        .filter(|p| !p.is_empty())
        .collect::<Vec<_>>()[..]
    {
        [metered, corrected] => Ok((
            read::seconds(&METERED_S, metered)?,
            read::seconds(&reciprocity::CORRECTED_S, corrected)?,
        )),
        _ => Err(Error::new(
            Kind::OutOfRange,
            "a row of the table",
            crate::calc::words::shorten(line),
            "the metered time, then the time to give, such as 30 s, 72 s",
            "Write two times on each line.",
        )),
    }
}

/// A coefficient's origin in words.
pub const fn origin_words(origin: Origin) -> &'static str {
    match origin {
        Origin::Default => "a default",
        Origin::Given => "yours",
        Origin::Learnt => "learnt from your times",
    }
}
