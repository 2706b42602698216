//! Help with an exposure beside the note: what the meter asks for, the same exposure at other stops, a filter's cost.

use super::super::entry::{self, Reader};
use super::super::wet::tools::read;
use super::super::{Outcome, Service};
use super::note::METER_EV;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::exposure::pairs::{Limits, Pair, pairs};
use spoolwright_core::exposure::scale::counted_ev;
use spoolwright_core::wet::exposure::{self, F_NUMBER, TIME_S};
use spoolwright_core::wet::filter::{self, FACTOR};
use spoolwright_core::{Error, Kind};

/// Stops of the lens shown to either side.
const STOPS: f64 = 2.0;

/// What is known of an exposure, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct HelpDraft {
    /// f-number.
    pub aperture: String,
    /// Shutter time.
    pub shutter: String,
    /// Meter reading, EV at the EI used.
    pub meter_ev: String,
    /// What the filter takes: a factor such as ×2, or stops such as 1 2/3 stops.
    pub factor: String,
    /// EI the meter is set to.
    pub ei: String,
}

/// What helps.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Help {
    /// Exposure value of the pair, or of the meter.
    pub ev: Option<f64>,
    /// The time that the meter asks for at the f-number given, filter included.
    pub asked_s: Option<f64>,
    /// The same exposure by third stops of the lens, filter included.
    pub equivalents: Vec<Pair>,
    /// Stops that the filter takes.
    pub stops: Option<f64>,
    /// EI for a meter that does not see through the filter: exact, and as on the dial.
    pub behind: Option<(f64, f64)>,
}

impl Service {
    /// Helps with an exposure.
    ///
    /// # Errors
    /// Every fault of the draft; too little to begin with.
    pub fn exposure_help(&self, d: &HelpDraft) -> Outcome<Help> {
        let mut r = Reader::new();
        let mut some =
            |field, text: &str, read: fn(&bounds::Bounds, &str) -> Result<f64, Error>, b| {
                let some = (!text.trim().is_empty()).then(|| read(b, text)).transpose();
                r.keep(field, some, None)
            };
        let aperture = some("aperture", &d.aperture, read::f_number, &F_NUMBER);
        let shutter_s = some("shutter", &d.shutter, read::seconds, &TIME_S);
        let ev = r.optional("meter_ev", &d.meter_ev, &[("ev", 1.0)], &METER_EV);
        let ei = r.optional("ei", &d.ei, entry::SPEED, &bounds::SPEED_ISO);
        let stops = match d.factor.trim() {
            "" => None,
            text => {
                let cost = cost(text).map(Some);
                r.keep("factor", cost, None)
            }
        };
        if ev.is_none() && stops.is_none() && (aperture.is_none() || shutter_s.is_none()) {
            r.fault(
                "aperture",
                Error::missing(
                    "what to begin with",
                    "an f-number and a time, a meter reading and an f-number, or a filter and an EI",
                    "Fill in two of them.",
                ),
            );
        }
        r.finish()?;
        let more = stops.unwrap_or(0.0);
        let ev = match (ev, aperture, shutter_s) {
            // What the meter reads is what is asked for, whatever pair is typed beside it.
            (Some(ev), ..) => Some(ev),
            (None, Some(n), Some(t)) => Some(counted_ev(n, t)?),
            _ => None,
        };
        let wanted = ev
            .map(|ev| ev - more)
            .filter(|ev| METER_EV.check(*ev).is_ok());
        let (asked_s, equivalents) = match (wanted, aperture) {
            (Some(wanted), Some(n)) => {
                let round = |stops: f64| (n * (stops / 2.0).exp2()).clamp(1.0, 64.0);
                let limits = Limits {
                    widest: round(-STOPS),
                    narrowest: round(STOPS),
                    ..Limits::default()
                };
                (
                    Some(exposure::time_s(wanted, n)?),
                    pairs(wanted, &limits).unwrap_or_default(),
                )
            }
            _ => (None, Vec::new()),
        };
        let behind = match (ei, stops) {
            (Some(ei), Some(stops)) => {
                let (exact, listed) = filter::ei_behind(ei, stops)?;
                Some((exact, listed.iso))
            }
            _ => None,
        };
        Ok(Help {
            ev,
            asked_s,
            equivalents,
            stops,
            behind,
        })
    }
}

/// What a filter takes, in stops: `x4`, `4`, `2 stops`, `1 2/3 stops`.
fn cost(text: &str) -> Result<f64, Error> {
    let told = text.trim().to_lowercase();
    if let Some(stops) = told
        .strip_suffix("stops")
        .or_else(|| told.strip_suffix("stop"))
    {
        let most = bounds::Bounds::new("what a filter takes", "stops", 0.0, 13.0);
        return read::stops(&most, stops);
    }
    let bare = told.trim_matches(['x', '×', ' ']);
    let factor = entry::number(&FACTOR, bare, entry::PLAIN).map_err(|_| {
        Error::new(
            Kind::OutOfRange,
            "what the filter takes",
            crate::calc::words::shorten(text),
            "a factor such as ×2, or stops such as 1 2/3 stops",
            "Write it as it stands on the filter's rim.",
        )
    })?;
    filter::stops(factor)
}

#[cfg(test)]
mod tests {
    use super::*;
    use spoolwright_store::Store;

    /// f/8 at 1/125 is EV 13 by the marks [X1]; a filter of one stop at EI 400 leaves EI 200 [M4].
    #[test]
    fn exposure_filters_and_meters() {
        let service = Service::over(Store::in_memory().unwrap(), Box::new(jiff::Timestamp::now));
        let help = |aperture: &str, shutter: &str, meter_ev: &str, factor: &str, ei: &str| {
            service.exposure_help(&HelpDraft {
                aperture: aperture.into(),
                shutter: shutter.into(),
                meter_ev: meter_ev.into(),
                factor: factor.into(),
                ei: ei.into(),
            })
        };
        let h = help("8", "1/125", "", "", "").unwrap();
        assert_eq!(h.ev, Some(13.0));
        assert!(
            h.equivalents.iter().any(
                |p| p.aperture.nominal == 5.6 && (p.shutter.nominal - 1.0 / 250.0).abs() < 1e-9
            )
        );
        // Third stops, two stops to either side.
        assert_eq!(h.equivalents.len(), 13);
        let h = help("8", "1/125", "", "x2", "400").unwrap();
        assert_eq!(h.behind.unwrap().1, 200.0);
        assert!((h.asked_s.unwrap() - 1.0 / 64.0).abs() < 1e-9);
        assert_eq!(
            help("", "", "", "1 2/3 stops", "100")
                .unwrap()
                .behind
                .unwrap()
                .1,
            32.0
        );
        // EV 12 at f/8: 64/4096 s.
        let h = help("8", "", "12", "", "").unwrap();
        assert!((h.asked_s.unwrap() - 1.0 / 64.0).abs() < 1e-12);
        assert_eq!(
            help("8", "", "", "", "").unwrap_err().faults()[0].field,
            "aperture"
        );
        assert_eq!(
            help("", "", "", "dark", "400").unwrap_err().faults()[0].field,
            "factor"
        );
    }
}
