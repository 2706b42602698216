//! What a can is told by: weighings, diameters, film taken off it, and longer cans broken into shorter.

use super::draft::USUAL_CORE_MM;
use super::entry::{self, Reader};
use super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::quantity::{Estimate, Length};
use spoolwright_core::remaining::defaults;
use spoolwright_core::shelf::{
    Can, CanId, CanState, Evidence, EvidenceId, EvidenceRecord, Loader, Stock,
};
use spoolwright_core::spool;
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

const DIAMETER_SD_MM: Bounds = Bounds {
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

/// A weighing as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct WeighDraft {
    /// What the scale shows, such as 402 or 14.2 oz.
    #[arg(default_value = "")]
    pub grams: String,
    /// It was the empty can, bag and core, without film (yes or no).
    #[arg(long, default_value = "")]
    pub empty: String,
    /// How far the scale may be off, g; the usual when empty.
    #[arg(long, default_value = "")]
    pub sd_grams: String,
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
}

/// A can to be broken into shorter ones, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct BreakDraft {
    /// Lengths of the parts, separated by semicolons or spaces, such as 30.5 30.5 (or 100ft 100ft).
    #[arg(default_value = "")]
    pub parts: String,
    /// Outer diameter of the cores they are wound on, mm; 31.75 when empty: measure yours.
    #[arg(long, default_value = "")]
    pub core_mm: String,
    /// Kind of can, bag and core they go into.
    #[arg(long, default_value = "")]
    pub package: String,
    /// How far a diameter felt in the dark may be off, mm; half a millimetre when empty.
    #[arg(long, default_value = "")]
    pub sd_mm: String,
}

/// One part of a can to be broken.
#[derive(Debug, Clone, PartialEq)]
pub struct BreakPart {
    /// Its length, m, and how sure a diameter felt in the dark makes it.
    pub length_m: Estimate,
    /// The diameter it must reach on its core, mm.
    pub outer_mm: f64,
    /// The diameter the mother roll has left, mm.
    pub mother_outer_mm: f64,
}

/// How a can is to be broken.
#[derive(Debug, Clone, PartialEq)]
pub struct BreakView {
    /// Core of the parts, mm.
    pub core_mm: f64,
    /// The mother roll's diameter before the first part, mm.
    pub mother_outer_mm: f64,
    /// The parts in order.
    pub parts: Vec<BreakPart>,
    /// What stays on the mother roll, m.
    pub left_m: f64,
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
        r.finish()?;
        let grams = Estimate::new(mean, sd);
        let empty = entry::yes(&draft.empty);
        self.learn(can, request, |can| {
            let what = if empty { "without film" } else { "closed" };
            let evidence = if empty {
                Evidence::WeighedEmpty { grams }
            } else {
                Evidence::Weighed { grams }
            };
            Ok((
                "can.weighed",
                format!("Weighed can {} {what}: {mean} g.", can.letters),
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
                format!("Took the diameter of can {}: {mean} mm.", can.letters),
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
        r.finish()?;
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
            super::winding::drop_queue_of(change, can.id)?;
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

    /// What breaking a can would take: the diameters to reach, in order.
    ///
    /// # Errors
    /// Faults of the draft; more film than the can holds.
    pub fn break_view(&self, can: CanId, draft: &BreakDraft) -> Outcome<BreakView> {
        let view = self.can(can)?;
        let settings = self.settings()?;
        let mut r = Reader::new();
        let core_mm = r
            .optional(
                "core_mm",
                &draft.core_mm,
                entry::MILLIMETRES,
                &bounds::CORE_MM,
            )
            .unwrap_or(USUAL_CORE_MM);
        let sd_mm = r
            .optional("sd_mm", &draft.sd_mm, entry::MILLIMETRES, &DIAMETER_SD_MM)
            .unwrap_or(defaults::GAUGE_SD_MM);
        let joined = draft.parts.replace([';', '\n'], " ");
        let lengths: Vec<Length> = words_with_units(&joined)
            .iter()
            .map(|part| {
                Length::m(r.number(
                    "parts",
                    part,
                    settings.length_units(),
                    &bounds::CAN_LENGTH_M,
                ))
            })
            .collect();
        if lengths.is_empty() || lengths.len() > 40 {
            r.fault(
                "parts",
                Error::new(
                    Kind::OutOfRange,
                    "parts",
                    format!("{} of them", lengths.len()),
                    "1 to 40 lengths",
                    "List the lengths to wind, such as 30.5 30.5.",
                ),
            );
        }
        r.finish()?;
        let thickness = Length::mm(view.thickness_mm.mean);
        let plan = spool::take_parts(
            Length::m(view.remaining.mean),
            Length::mm(view.can.core_mm),
            &lengths,
            Length::mm(core_mm),
            thickness,
        )
        .map_err(|e| super::error::at("parts", e))?;
        let parts = plan
            .parts
            .iter()
            .map(|p| {
                let sd = spool::length_sd(p.outer, thickness, Length::mm(sd_mm))?.to_m();
                Ok(BreakPart {
                    length_m: Estimate::new(p.length.to_m(), sd),
                    outer_mm: p.outer.to_mm(),
                    mother_outer_mm: p.mother_outer.to_mm(),
                })
            })
            .collect::<Result<_, Error>>()?;
        Ok(BreakView {
            core_mm,
            mother_outer_mm: plan.mother_outer.to_mm(),
            parts,
            left_m: plan.remainder.to_m(),
        })
    }

    /// Records a can broken into shorter ones: each part is a can of its own from now on.
    ///
    /// # Errors
    /// As [`Service::break_view`].
    pub fn break_can(
        &self,
        can: CanId,
        draft: &BreakDraft,
        request: Request<'_>,
    ) -> Outcome<Made<Vec<CanId>>> {
        let view = self.break_view(can, draft)?;
        let settings = self.settings()?;
        let mut r = Reader::new();
        let package = r.free("package", "a kind of can", &draft.package, 80);
        r.finish()?;
        self.change(request, |change| {
            let mother = find_in::<Can>(change, can)?;
            let stock = find_in::<Stock>(change, mother.stock)?;
            change.about(Subject::of::<Can>(can));
            let mut taken: Vec<String> = change
                .all::<Can>()?
                .into_iter()
                .map(|c| c.letters)
                .collect();
            let loaders: Vec<Loader> = change
                .all::<Loader>()?
                .into_iter()
                .filter(|l| !l.closed)
                .collect();
            let mut made = Vec::new();
            for part in &view.parts {
                let letters = super::draft::free_letters(&stock.name, &taken);
                taken.push(letters.clone());
                let share = part.length_m.mean / mother.length_m.mean;
                made.push(change.put(&Can {
                    id: CanId(0),
                    letters,
                    length_m: part.length_m,
                    package: package.clone(),
                    tare_g: None,
                    core_mm: view.core_mm,
                    loader: (loaders.len() == 1).then(|| loaders[0].id),
                    parent: Some(can),
                    price: mother.price.map(|p| p * share),
                    note: String::new(),
                    state: CanState::Open,
                    ..mother.clone()
                })?);
                let length_mm = Estimate::new(part.length_m.mean * 1e3, part.length_m.sd * 1e3);
                tell(change, can, None, self.now(), Evidence::Taken { length_mm })?;
            }
            let new = &taken[taken.len() - view.parts.len()..];
            let story = format!(
                "Broke can {} into {}: {} each on a new core, about {} left.",
                mother.letters,
                new.join(", "),
                lengths_in_words(&settings, &view),
                settings.length(view.left_m)
            );
            Ok(("can.broken", story, made))
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

fn lengths_in_words(settings: &super::settings::Settings, view: &BreakView) -> String {
    view.parts
        .iter()
        .map(|p| settings.length(p.length_m.mean))
        .collect::<Vec<_>>()
        .join(", ")
}

fn bounds_m(mm: &Bounds) -> Bounds {
    Bounds {
        unit: "m",
        min: mm.min / 1e3,
        max: mm.max / 1e3,
        ..*mm
    }
}

/// Splits at spaces, but keeps a unit with the number before it: `30.5 m 100 ft` is two lengths.
fn words_with_units(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match all.last_mut() {
            Some(last) if word.starts_with(|c: char| c.is_alphabetic() || c == '\'') => {
                last.push(' ');
                last.push_str(word);
            }
            _ => all.push(word.trim_end_matches(',').to_owned()),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::words_with_units;

    #[test]
    fn lengths_keep_their_units() {
        assert_eq!(
            words_with_units("30.5 m 100ft, 12"),
            ["30.5 m", "100ft", "12"]
        );
    }
}
