//! Breaking a long can into shorter ones: the diameters to reach, and the cans that come of it.

use super::draft::{USUAL_CORE_MM, free_letters, pick};
use super::entry::{self, Reader};
use super::error::at;
use super::evidence::{DIAMETER_SD_MM, tell};
use super::settings::Settings;
use super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::quantity::{Estimate, Length};
use spoolwright_core::remaining::defaults;
use spoolwright_core::shelf::{Can, CanId, CanState, Evidence, Loader, Stock};
use spoolwright_core::spool;
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;

/// An end shorter than this is no can, m.
const NOTHING_M: f64 = 0.5;

/// A can to be broken into shorter ones, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct BreakDraft {
    /// Lengths of the parts, in quotes: "30.5 30.5", "100ft 100ft", or "4 x 30 m" for four alike.
    #[arg(default_value = "")]
    pub parts: String,
    /// Outer diameter of the cores they are wound on, mm; 31.75 when empty: measure yours.
    #[arg(long, default_value = "")]
    pub core_mm: String,
    /// Kind of can, bag and core they go into.
    #[arg(long, default_value = "")]
    pub package: String,
    /// The loader they will be wound with: its name or number; the only one, else the long can's, when empty.
    #[arg(long, default_value = "")]
    pub loader: String,
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
        let lengths: Vec<Length> = multiplied(words_with_units(&joined))
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
            let loaders = change.all::<Loader>()?;
            let open: Vec<&Loader> = loaders.iter().filter(|l| !l.closed).collect();
            let loader = match draft.loader.trim() {
                "" => (open.len() == 1).then(|| open[0].id),
                name => pick(&loaders, name, "loader", |l| &l.name)
                    .map_err(|e| at("loader", e))?
                    .map(|l| l.id),
            };
            let mut made = Vec::new();
            for part in &view.parts {
                let letters = free_letters(&stock.name, &taken);
                taken.push(letters.clone());
                let share = part.length_m.mean / mother.length_m.mean;
                made.push(change.put(&Can {
                    id: CanId(0),
                    letters,
                    length_m: part.length_m,
                    package: package.clone(),
                    tare_g: None,
                    core_mm: view.core_mm,
                    loader: loader.or(mother.loader),
                    parent: Some(can),
                    price: mother.price.map(|p| p * share),
                    note: String::new(),
                    state: CanState::Open,
                    ..mother.clone()
                })?);
                let length_mm = Estimate::new(part.length_m.mean * 1e3, part.length_m.sd * 1e3);
                tell(change, can, None, self.now(), Evidence::Taken { length_mm })?;
            }
            let mut rest = format!("about {} left", settings.length(view.left_m));
            if view.left_m < NOTHING_M {
                change.put(&Can {
                    state: CanState::Empty,
                    ..mother.clone()
                })?;
                super::queue::drop_queue_of(change, can)?;
                rest = "nothing to speak of left, so it is closed".into();
            }
            let new = &taken[taken.len() - view.parts.len()..];
            let story = format!(
                "Broke can {} into {}: {} each on a new core, {rest}.",
                mother.letters,
                new.join(", "),
                lengths_in_words(&settings, &view)
            );
            Ok(("can.broken", story, made))
        })
    }
}

fn lengths_in_words(settings: &Settings, view: &BreakView) -> String {
    view.parts
        .iter()
        .map(|p| settings.length(p.length_m.mean))
        .collect::<Vec<_>>()
        .join(", ")
}

/// `4 x 30 m` is four lengths; so is `4x30`.
fn multiplied(words: Vec<String>) -> Vec<String> {
    let joined = words.join("|").replace(['×', 'X', '*'], "x");
    joined
        .replace("|x|", "x")
        .replace("|x ", "x")
        .replace(" x|", "x")
        .split('|')
        .filter(|w| !w.is_empty())
        .flat_map(|word| match word.split_once('x') {
            Some((times, length)) => {
                let times = times.trim().parse().unwrap_or(1).clamp(1, 41);
                vec![length.trim().to_owned(); times]
            }
            None => vec![word.to_owned()],
        })
        .collect()
}

/// Splits at spaces, but keeps a unit with the number before it: `30.5 m 100 ft` is two lengths.
fn words_with_units(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for word in text.split_whitespace().map(|w| w.trim_end_matches(',')) {
        match all.last_mut() {
            Some(last) if word.starts_with(|c: char| c.is_alphabetic() || c == '\'') => {
                last.push(' ');
                last.push_str(word);
            }
            _ => all.push(word.to_owned()),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::{multiplied, words_with_units};

    #[test]
    fn lengths_keep_their_units() {
        assert_eq!(
            words_with_units("30.5 m 100ft, 12"),
            ["30.5 m", "100ft", "12"]
        );
        for text in ["2 x 30 m 12", "2x30 m, 12", "2 × 30m 12"] {
            let all = multiplied(words_with_units(text));
            assert_eq!(all.len(), 3, "{text}: {all:?}");
            assert_eq!(all[0].replace(' ', ""), "30m", "{text}: {all:?}");
        }
    }
}
