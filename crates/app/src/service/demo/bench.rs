//! The scenario's wedge test: a roll of the copying stock shot around the meter reading, cut in three, read and
//! made into a card. The stock is a formula of ours with fixed noise, not measured film.

use super::{Scene, Truth};
use crate::service::Outcome;
use crate::service::wedge::{
    CardDraft, ReadingsDraft, TargetDraft, TestDraft, USUAL_TIMES, usual_steps,
};
use crate::service::winding::WindDraft;
use spoolwright_core::shelf::WedgeTestId;
use spoolwright_core::wedge::record::Way;

/// Read-off noise in units of its standard deviation: fixed, made up, mean near nothing.
const NOISE: [f64; 13] = [
    0.31, -0.84, 1.22, -0.17, 0.66, -1.35, 0.08, 0.95, -0.52, -0.28, 1.04, -1.11, 0.43,
];
/// Its standard deviation, density.
const SD: f64 = 0.012;

/// Density of the invented stock: toe and straight line, base + fog and slope growing with time.
fn density(time_min: f64, stops: f64) -> f64 {
    let log_h = stops * std::f64::consts::LOG10_2;
    let slope = 1.28 * (1.0 - (-0.095 * time_min).exp());
    let (sharpness, corner) = (4.5, -1.36);
    fog(time_min) + slope / sharpness * (sharpness * (log_h - corner)).exp().ln_1p()
}

fn fog(time_min: f64) -> f64 {
    0.21 + 0.006 * time_min
}

/// The densities as a person would type them, to the hundredth.
fn table() -> String {
    let mut text = String::from("stops");
    for time in USUAL_TIMES {
        text.push_str(&format!(";{time} min"));
    }
    let mut noise = NOISE.iter().cycle().map(|z| z * SD);
    let mut row = |name: String, density: &dyn Fn(f64) -> f64| {
        text.push_str(&format!("\n{name}"));
        for time in USUAL_TIMES {
            let read = density(time) + noise.next().unwrap_or_default();
            text.push_str(&format!(";{read:.2}"));
        }
    };
    row("base+fog".into(), &fog);
    for stops in usual_steps(Way::InCamera) {
        row(stops.to_string(), &|time| density(time, stops));
    }
    text
}

impl Scene {
    /// Begins the test and winds its roll.
    pub(super) fn begin_wedge_test(&mut self, can: &mut Truth) -> Outcome<Option<WedgeTestId>> {
        let s = &self.service;
        let draft = TestDraft {
            name: "Chapel Copy in the house brew".into(),
            can: can.letters.into(),
            meter_ei: "12".into(),
            developer: "house brew".into(),
            dilution: "1+14".into(),
            temperature: "20 C".into(),
            agitation: "first half minute, then 5 s a minute".into(),
            ..TestDraft::default()
        };
        let Some(test) = s.begin_test(&draft, None)?.value else {
            return Ok(None);
        };
        if let Some(ticket) = s.wedge_test(test)?.ticket {
            let clicks = s.ticket(ticket.id)?.sheet.clicks;
            can.wound(clicks);
            s.wind(ticket.id, &WindDraft::default(), None)?;
        }
        Ok(Some(test))
    }

    /// Its roll comes back developed, is read, and gives a card.
    pub(super) fn read_wedge_test(&self, test: WedgeTestId) -> Outcome<()> {
        let s = &self.service;
        if let Some(roll) = s.wedge_test(test)?.roll {
            self.move_to(roll.roll.id, "developed", "")?;
        }
        let readings = ReadingsDraft {
            table: table(),
            source: "densitometer of the evening school".into(),
            ..ReadingsDraft::default()
        };
        s.put_readings(test, &readings, None)?;
        let card = CardDraft {
            note: "Even wall in open shade, old 50 mm lens.".into(),
            ..CardDraft::default()
        };
        s.make_card(test, &TargetDraft::default(), &card, None)?;
        Ok(())
    }
}
