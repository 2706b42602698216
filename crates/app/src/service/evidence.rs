//! What tells of a can: weighings, diameters, film taken off it, its end.

use super::entry::{self, Reader};
use super::winding::doubt_run_out;
use super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::quantity::Estimate;
use spoolwright_core::remaining::defaults;
use spoolwright_core::shelf::{Can, CanId, CanState, Evidence, EvidenceId, EvidenceRecord};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

pub(super) const DIAMETER_SD_MM: Bounds = Bounds {
    what: "a diameter's uncertainty",
    unit: "mm",
    min: 0.01,
    max: 20.0,
};
const TAKEN_MM: Bounds = Bounds {
    what: "a length taken off",
    unit: "mm",
    min: 1.0,
    max: 1_000_000.0,
};

/// No film weighs less, g/m (common practice, no source).
const LIGHT_FILM_G_PER_M: f64 = 3.0;

/// A weighing as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct WeighDraft {
    /// What the scale shows, such as 402 or 14.2 oz.
    #[arg(default_value = "")]
    pub grams: String,
    /// It was the empty can, bag and core, without film (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub empty: String,
    /// How far the scale may be off, g; the usual when empty.
    #[arg(long, default_value = "")]
    pub sd_grams: String,
    /// It is so, however unlikely (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, default_missing_value = "yes")]
    pub sure: String,
}

/// A diameter as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct GaugeDraft {
    /// Across the roll, mm.
    #[arg(default_value = "")]
    pub outer_mm: String,
    /// Across the core, mm; the can's own when empty.
    #[arg(long, default_value = "")]
    pub core_mm: String,
    /// How far the diameter may be off, mm; half a millimetre when empty.
    #[arg(long, default_value = "")]
    pub sd_mm: String,
}

/// Film taken off a can as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct TakenDraft {
    /// How much, such as 1.2 m or 4 ft.
    #[arg(default_value = "")]
    pub length: String,
    /// How far that may be off; 5 mm or one per cent when empty.
    #[arg(long, default_value = "")]
    pub length_sd: String,
    /// Why, in a few words.
    #[arg(long, default_value = "")]
    pub why: String,
}

/// Film that ended while winding without a ticket, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct RanOutDraft {
    /// Clicks counted when the film ended; 0 when nothing was left to wind.
    #[arg(default_value = "")]
    pub clicks: String,
    /// It is so, however unlikely (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, default_missing_value = "yes")]
    pub sure: String,
}

impl Service {
    /// Records a weighing of the closed can, or of can, bag and core alone.
    ///
    /// # Errors
    /// Faults of the draft; a can that is lighter than any can.
    pub fn weigh(&self, can: CanId, draft: &WeighDraft, request: Request<'_>) -> Outcome<Made<()>> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let mean = r.number("grams", &draft.grams, entry::GRAMS, &bounds::MASS_G);
        let sd = r
            .optional(
                "sd_grams",
                &draft.sd_grams,
                entry::GRAMS,
                &bounds::MASS_SD_G,
            )
            .unwrap_or(settings.scale_sd_g);
        let empty = r.yes("empty", &draft.empty);
        let sure = r.yes("sure", &draft.sure);
        r.finish()?;
        let grams = Estimate::new(mean, sd);
        let view = self.can(can)?;
        // Film alone weighs more than this, whatever the can weighs.
        let least = LIGHT_FILM_G_PER_M * view.remaining.lower95;
        if !empty && mean < least && !sure {
            return Err(entry::unsure(
                "weight",
                format!("{} g", tenths(mean)),
                format!("more than the {least:.0} g its film alone should weigh"),
                "Read the scale again; if it is so, say that you are sure.",
            ));
        }
        self.learn(can, request, |can| {
            let what = if empty { "without film" } else { "closed" };
            let evidence = if empty {
                Evidence::WeighedEmpty { grams }
            } else {
                Evidence::Weighed { grams }
            };
            Ok((
                "can.weighed",
                format!("Weighed can {} {what}: {} g.", can.letters, tenths(mean)),
                evidence,
            ))
        })
    }

    /// Records a diameter taken in the dark.
    ///
    /// # Errors
    /// Faults of the draft; a roll thinner than its core.
    pub fn gauge(&self, can: CanId, draft: &GaugeDraft, request: Request<'_>) -> Outcome<Made<()>> {
        self.learn(can, request, |can| {
            let mut r = Reader::new();
            let mean = r.number(
                "outer_mm",
                &draft.outer_mm,
                entry::MILLIMETRES,
                &bounds::ROLL_DIAMETER_MM,
            );
            let core_mm = r
                .optional(
                    "core_mm",
                    &draft.core_mm,
                    entry::MILLIMETRES,
                    &bounds::CORE_MM,
                )
                .unwrap_or(can.core_mm);
            let sd = r
                .optional("sd_mm", &draft.sd_mm, entry::MILLIMETRES, &DIAMETER_SD_MM)
                .unwrap_or(defaults::GAUGE_SD_MM);
            if mean < core_mm {
                r.fault(
                    "outer_mm",
                    Error::new(
                        Kind::Inconsistent,
                        "a roll's diameter",
                        format!("{mean} mm"),
                        format!("at least its core's {core_mm} mm"),
                        "Measure across the film, or correct the core.",
                    ),
                );
            }
            r.finish()?;
            let evidence = Evidence::Gauged {
                outer_mm: Estimate::new(mean, sd),
                core_mm,
            };
            Ok((
                "can.gauged",
                format!(
                    "Took the diameter of can {}: {} mm.",
                    can.letters,
                    tenths(mean)
                ),
                evidence,
            ))
        })
    }

    /// Records film that left the can otherwise than on a roll.
    ///
    /// # Errors
    /// Faults of the draft.
    pub fn take(&self, can: CanId, draft: &TakenDraft, request: Request<'_>) -> Outcome<Made<()>> {
        let settings = self.settings()?;
        self.learn(can, request, |can| {
            let mut r = Reader::new();
            let length = r.number(
                "length",
                &draft.length,
                settings.length_units(),
                &bounds_m(&TAKEN_MM),
            ) * 1e3;
            let sd = r
                .optional(
                    "length_sd",
                    &draft.length_sd,
                    settings.length_units(),
                    &bounds_m(&TAKEN_MM),
                )
                .map_or((length * 0.01).max(5.0), |m| m * 1e3);
            let why = r.free("why", "a reason", &draft.why, 120);
            r.finish()?;
            let why = if why.is_empty() {
                String::new()
            } else {
                format!(" ({why})")
            };
            let story = format!(
                "Took {} off can {}{why}.",
                settings.length(length / 1e3),
                can.letters
            );
            Ok((
                "can.taken",
                story,
                Evidence::Taken {
                    length_mm: Estimate::new(length, sd),
                },
            ))
        })
    }

    /// Records that a can ended, without a ticket: at a click of a roll thrown away, or at nothing.
    ///
    /// # Errors
    /// Faults of the draft.
    pub fn ran_out(
        &self,
        can: CanId,
        draft: &RanOutDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let mut r = Reader::new();
        let any = Bounds {
            min: 0.0,
            ..bounds::CLICKS
        };
        let clicks = r.number("clicks", &draft.clicks, entry::PLAIN, &any);
        let sure = r.yes("sure", &draft.sure);
        r.finish()?;
        if !sure {
            let shelf = self.shelf()?;
            doubt_run_out(shelf.can(can)?, &shelf.settings)?;
        }
        self.change(request, |change| {
            let mut can = find_in::<Can>(change, can)?;
            can.state = CanState::Empty;
            let loader = can.loader;
            if clicks > 0.0 {
                tell(
                    change,
                    can.id,
                    None,
                    self.now(),
                    Evidence::RanOut { loader, clicks },
                )?;
            }
            change.put(&can)?;
            super::queue::drop_queue_of(change, can.id)?;
            let at = if clicks > 0.0 {
                format!(" at click {clicks}")
            } else {
                String::new()
            };
            Ok((
                "can.ran-out",
                format!("Can {} ran out{at}.", can.letters),
                (),
            ))
        })
    }

    fn learn(
        &self,
        can: CanId,
        request: Request<'_>,
        hear: impl FnOnce(&Can) -> Outcome<(&'static str, String, Evidence)>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let can = find_in::<Can>(change, can)?;
            let (verb, story, evidence) = hear(&can)?;
            tell(change, can.id, None, self.now(), evidence)?;
            Ok((verb, story, ()))
        })
    }
}

/// A reading to a tenth, without a needless decimal: `402.6`, `402`.
fn tenths(reading: f64) -> f64 {
    (reading * 10.0).round() / 10.0
}

/// Writes one piece of evidence into a change.
pub(super) fn tell(
    change: &mut Change<'_>,
    can: CanId,
    roll: Option<spoolwright_core::shelf::RollId>,
    at: String,
    evidence: Evidence,
) -> Outcome<()> {
    change.put(&EvidenceRecord {
        id: EvidenceId(0),
        can,
        roll,
        at,
        evidence,
    })?;
    change.about(Subject::of::<Can>(can));
    Ok(())
}

fn bounds_m(mm: &Bounds) -> Bounds {
    Bounds {
        unit: "m",
        min: mm.min / 1e3,
        max: mm.max / 1e3,
        ..*mm
    }
}
