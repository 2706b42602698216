//! Conversion filters, what they cost, and exposures that give the film the same light.

use super::super::super::entry::{self, Reader};
use super::super::super::error::at;
use super::super::super::{Outcome, Service};
use super::read;
use crate::calc::words;
use serde::Deserialize;
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wedge::StandardSpeed;
use spoolwright_core::wet::exposure::{self, F_NUMBER, Pairing, TIME_S};
use spoolwright_core::wet::filter::{
    self, Choice, FACTOR, FILTERS, Filter, KELVIN, SHIFT_MIRED, Stack, Through,
};
use spoolwright_core::{Error, Kind};

/// Most filters of a kind before one lens.
const MOST_STACKED: usize = 5;
/// Whole stops by which the exposures listed reach to either side.
const STOPS_LISTED: u32 = 6;
/// From this time on film loses speed, s.
const LONG_S: f64 = 1.0;
/// An exposure value.
const EV: Bounds = Bounds {
    what: "an exposure value",
    unit: "EV",
    min: -20.0,
    max: 35.0,
};

/// Light, film and filters as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct FilterDraft {
    /// Colour temperature of the light.
    pub from: String,
    /// Colour temperature that the film is made for.
    pub to: String,
    /// Or the shift in mireds.
    pub shift: String,
    /// Filters to choose among; all when empty.
    pub at_hand: String,
    /// Conversion filters on the lens.
    pub on_lens: String,
    /// Factors of other filters on the lens.
    pub factors: String,
    /// The film's speed or EI.
    pub speed: String,
    /// An exposure found without filters.
    pub f_number: String,
    /// Its time.
    pub time: String,
}

/// Filters worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct FilterView {
    /// The shift wanted, and the nearest that none, one and two filters can do.
    pub wanted: Option<(f64, Vec<Choice>)>,
    /// What is on the lens: said so, or the best of the choices.
    pub stack: Option<Stack>,
    /// The film's speed, the EI behind the filters, and the nearest of the list.
    pub ei: Option<(f64, f64, StandardSpeed)>,
    /// The exposure without filters, and through them.
    pub exposure: Option<(f64, f64, Through)>,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// An exposure as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ExposureDraft {
    /// The f-number.
    pub f_number: String,
    /// The time,
    pub time: String,
    /// or the exposure value.
    pub ev: String,
}

/// An exposure worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct ExposureView {
    /// The f-number.
    pub f_number: f64,
    /// The time, s.
    pub time_s: f64,
    /// The exposure value.
    pub ev: f64,
    /// The same exposure at other f-numbers.
    pub equivalents: Vec<Pairing>,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

impl Service {
    /// Which filter turns one light into another, what filters cost, and the exposure through them.
    ///
    /// # Errors
    /// Every fault of the draft.
    pub fn tool_filter(&self, d: &FilterDraft) -> Outcome<FilterView> {
        let mut r = Reader::new();
        let wanted = shift(&mut r, d);
        let at_hand = named(&mut r, "at_hand", &d.at_hand, FILTERS.len());
        let filters = named(&mut r, "on_lens", &d.on_lens, MOST_STACKED);
        let factors: Vec<f64> = listed(&d.factors)
            .into_iter()
            .filter_map(|text| r.optional("factors", text, &[("x", 1.0), ("×", 1.0)], &FACTOR))
            .collect();
        if MOST_STACKED < factors.len() {
            r.fault("factors", too_many(factors.len(), MOST_STACKED));
        }
        let speed = r.optional("speed", &d.speed, entry::SPEED, &bounds::SPEED_ISO);
        let exposed = [&d.f_number, &d.time].iter().any(|t| !t.trim().is_empty());
        let exposure = exposed.then(|| {
            let n = read::f_number(&F_NUMBER, &d.f_number);
            let t = read::seconds(&TIME_S, &d.time);
            (r.keep("f_number", n, 8.0), r.keep("time", t, 1.0))
        });
        let asks = [&d.from, &d.to, &d.shift];
        let lens = [&d.on_lens, &d.factors]
            .iter()
            .any(|t| !t.trim().is_empty());
        if asks.iter().all(|t| t.trim().is_empty()) {
            if !lens {
                r.fault(
                    "from",
                    Error::missing(
                        "what to work out",
                        "the light and the film's light, a shift, or filters on the lens",
                        "Fill in the colours of light, or what is on the lens.",
                    ),
                );
            }
            if !d.at_hand.trim().is_empty() {
                r.fault(
                    "at_hand",
                    Error::new(
                        Kind::Inconsistent,
                        "filters to choose among",
                        words::shorten(d.at_hand.trim()),
                        "only with a light to be turned into another",
                        "Fill in the colours of light, or leave these out.",
                    ),
                );
            }
        }
        r.finish()?;
        let mut caveats = Vec::new();
        let choices = match wanted {
            Some(wanted) => {
                let among = if at_hand.is_empty() {
                    FILTERS.to_vec()
                } else {
                    at_hand
                };
                let choices = filter::choose(wanted, &among).map_err(|e| at("shift", e))?;
                Some((wanted, choices))
            }
            None => None,
        };
        let best = choices.as_ref().and_then(|(_, all)| all.last());
        if let Some(best) = best {
            caveats.extend(filter::caveats(best));
        }
        let stack = if lens {
            Some(Stack { filters, factors })
        } else {
            best.map(|c| c.stack.clone())
        };
        let stops = stack.as_ref().map_or(0.0, Stack::stops);
        let ei = match speed {
            Some(speed) => {
                let (exact, listed) =
                    filter::ei_behind(speed, stops).map_err(|e| at("speed", e))?;
                Some((speed, exact, listed))
            }
            None => None,
        };
        let exposure = match exposure {
            Some((n, t)) => {
                let through = filter::through(n, t, stops).map_err(|e| at("time", e))?;
                if LONG_S < through.time_s {
                    caveats.push(long());
                }
                Some((n, t, through))
            }
            None => None,
        };
        Ok(FilterView {
            wanted: choices,
            stack,
            ei,
            exposure,
            caveats,
        })
    }

    /// Exposure value and equivalent exposures.
    ///
    /// # Errors
    /// Every fault of the draft; a time no shutter and no patience has.
    pub fn tool_exposure(&self, d: &ExposureDraft) -> Outcome<ExposureView> {
        let mut r = Reader::new();
        let n = read::f_number(&F_NUMBER, &d.f_number);
        let n = r.keep("f_number", n, 8.0);
        let given = [&d.time, &d.ev].map(|t| !t.trim().is_empty());
        let time = match given {
            [true, false] => {
                let t = read::seconds(&TIME_S, &d.time);
                r.keep("time", t, 1.0)
            }
            [false, true] => {
                let ev = r.optional("ev", &d.ev, &[("ev", 1.0)], &EV);
                let t = ev.map(|ev| exposure::time_s(ev, n)).transpose();
                let what = "the time that this exposure value asks for";
                let t = t.and_then(|t| TIME_S.check_as(what, t.unwrap_or(1.0)));
                r.keep("ev", t, 1.0)
            }
            [both, _] => {
                r.fault(
                    "time",
                    Error::new(
                        if both {
                            Kind::Inconsistent
                        } else {
                            Kind::Missing
                        },
                        "the exposure",
                        if both {
                            "a time, and an exposure value"
                        } else {
                            "an f-number alone"
                        },
                        "the f-number, and a time or an exposure value",
                        "Fill in one of the two.",
                    ),
                );
                1.0
            }
        };
        r.finish()?;
        let equivalents = exposure::equivalents(n, time, STOPS_LISTED)?;
        let mut caveats = vec![Caveat::new(
            "marks_rounded",
            "Times are exact; a dial rounds them: its 1/60 stands for 1/64, its 15 s for 16 s.",
        )];
        if equivalents.iter().any(|p| LONG_S < p.time_s) {
            caveats.push(long());
        }
        Ok(ExposureView {
            f_number: n,
            time_s: time,
            ev: exposure::ev(n, time)?,
            equivalents,
            caveats,
        })
    }
}

fn long() -> Caveat {
    Caveat::new(
        "long_exposure",
        "Beyond a second film loses speed: correct the time for that.",
    )
}

fn shift(r: &mut Reader, d: &FilterDraft) -> Option<f64> {
    let from = r.optional("from", &d.from, &[("k", 1.0)], &KELVIN);
    let to = r.optional("to", &d.to, &[("k", 1.0)], &KELVIN);
    let shift = r.optional("shift", &d.shift, &[("mired", 1.0)], &SHIFT_MIRED);
    let given = [&d.from, &d.to, &d.shift].map(|t| !t.trim().is_empty());
    let lacking = |what: &str| {
        Error::missing(
            what,
            KELVIN.allowed(),
            "Both lights are needed: daylight is about 5500 K, photographic lamps 3200 K.",
        )
    };
    match given {
        [false, false, _] => shift,
        [true, true, false] => {
            let found = filter::shift_mired(from?, to?);
            r.keep("to", found.map(Some), None)
        }
        [true, false, false] => {
            r.fault("to", lacking("the light that the film is made for"));
            None
        }
        [false, true, false] => {
            r.fault("from", lacking("the light that there is"));
            None
        }
        _ => {
            r.fault(
                "shift",
                Error::new(
                    Kind::Inconsistent,
                    "the shift",
                    "two lights, and a shift",
                    "one or the other",
                    "Leave one of them empty.",
                ),
            );
            None
        }
    }
}

/// Words of a list, apart by spaces, semicolons, or commas with a space behind.
fn listed(text: &str) -> Vec<&str> {
    text.split(|c: char| c.is_whitespace() || c == ';')
        .map(|w| w.trim_end_matches(','))
        .filter(|w| !w.is_empty())
        .collect()
}

/// Words of a list of filters, apart by spaces, semicolons or commas.
fn filters(text: &str) -> Vec<&str> {
    text.split(|c: char| c.is_whitespace() || matches!(c, ';' | ','))
        .filter(|w| !w.is_empty())
        .collect()
}

/// Filters by their numbers.
fn named(r: &mut Reader, field: &str, text: &str, most: usize) -> Vec<Filter> {
    let words = filters(text);
    if most < words.len() {
        r.fault(field, too_many(words.len(), most));
    }
    let mut found = Vec::new();
    for word in words.into_iter().take(most) {
        match Filter::named(word) {
            Ok(filter) => found.push(filter),
            Err(_) => {
                let known = FILTERS.iter().map(|f| f.name);
                r.fault(
                    field,
                    words::unknown("a filter", word, known, "Use one of these numbers."),
                );
            }
        }
    }
    found
}

fn too_many(given: usize, most: usize) -> Error {
    Error::new(
        Kind::TooLarge,
        "filters",
        given,
        format!("at most {most}"),
        "Leave some out.",
    )
}
