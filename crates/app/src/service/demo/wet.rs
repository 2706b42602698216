//! The scenario's wet bench: two tanks, three recipes, bottles with a history, runs that went well and less well,
//! and rolls that wait today. Names and figures are invented; no bath here is anybody's product.

use super::{Scene, Truth};
use crate::service::Outcome;
use crate::service::wet::after::ResultDraft;
use crate::service::wet::baths::{BathDraft, BathEventDraft};
use crate::service::wet::kit::{ReelDraft, TankDraft};
use crate::service::wet::make::RunDraft;
use crate::service::wet::press::MarkDraft;
use crate::service::wet::recipes::{RecipeDraft, StepDraft};
use crate::service::wet::times::TimeDraft;
use spoolwright_core::shelf::{BathId, RollId, RollState};
use spoolwright_core::wet::timer::Phase;
use std::sync::atomic::Ordering;

/// What came of one roll: usable frames, fogged at the beginning and at the end, exposure, note.
type Result<'a> = (&'a str, &'a str, &'a str, &'a str, &'a str);

impl Scene {
    /// Tanks, recipes and times, on the day the bench was furnished.
    pub(super) fn furnish_wet_bench(&mut self) -> Outcome<()> {
        let s = &self.service;
        for (name, count, takes_two) in [("Wire", "2", "no"), ("Ratchet", "3", "yes")] {
            let draft = ReelDraft {
                name: name.into(),
                count: count.into(),
                takes_two: takes_two.into(),
                ..ReelDraft::default()
            };
            s.save_reel(None, &draft, None)?;
        }
        for (name, reel, volumes) in [
            ("Short tank", "Wire", "260 500"),
            ("Tall tank", "Ratchet", "340 640 930"),
        ] {
            let draft = TankDraft {
                name: name.into(),
                reel: reel.into(),
                volumes: volumes.into(),
            };
            s.save_tank(None, &draft, None)?;
        }
        self.one_shot_recipe()?;
        let s = &self.service;
        s.begin_recipe("Negative, two-bath", None)?;
        s.begin_recipe("remjet, colour negative", None)?;
        for (stock, ei, time, source, note) in [
            (
                "Harbour Mist 250",
                "",
                "7:30",
                "sheet",
                "the seller's leaflet",
            ),
            (
                "Harbour Mist 250",
                "500",
                "10:00",
                "own",
                "the night market",
            ),
            (
                "Quarry Grey 100",
                "",
                "9:15",
                "own",
                "three rolls, all printed well",
            ),
        ] {
            let draft = TimeDraft {
                stock: stock.into(),
                developer: "house brew".into(),
                dilution: "1+14".into(),
                time: time.into(),
                ei: ei.into(),
                source: source.into(),
                note: note.into(),
                ..TimeDraft::default()
            };
            s.save_time(None, &draft, None)?;
        }
        self.bath(
            "Two-bath A, green bottle",
            "developer",
            "Two-bath developer",
            "stock",
            "",
        )?;
        self.bath("Stop, white bottle", "stop", "", "", "90")?;
        self.bath("Wetting agent, small bottle", "wetting", "", "", "60")?;
        let fixer = self.bath("Fixer, brown bottle", "fixer", "", "1+4", "180")?;
        self.befell(fixer, "clearing", "38")
    }

    /// The recipe of most evenings: a built-in one, with the house's own developer.
    fn one_shot_recipe(&self) -> Outcome<()> {
        let s = &self.service;
        let Some(id) = s.begin_recipe("Negative, one-shot", None)?.value else {
            return Ok(());
        };
        let begun = s.recipe(id)?;
        let steps: Vec<StepDraft> = begun.steps.iter().map(StepDraft::from).collect();
        let draft = RecipeDraft {
            name: "House brew, one-shot".into(),
            developer: "house brew".into(),
            dilution: "1+14".into(),
            least_stock: "15".into(),
            ..RecipeDraft::from(&begun.recipe)
        };
        s.save_recipe(Some(id), &draft, &steps, None)?;
        Ok(())
    }

    fn bath(
        &self,
        name: &str,
        kind: &str,
        mixed_from: &str,
        dilution: &str,
        keeps: &str,
    ) -> Outcome<BathId> {
        let draft = BathDraft {
            name: name.into(),
            kind: kind.into(),
            mixed_from: mixed_from.into(),
            dilution: dilution.into(),
            keeps_days: keeps.into(),
            volume: "1000 ml".into(),
            ..BathDraft::default()
        };
        let made = self.service.save_bath(None, &draft, None)?;
        Ok(made.value.unwrap_or(BathId(0)))
    }

    fn befell(&self, bath: BathId, what: &str, value: &str) -> Outcome<()> {
        let draft = BathEventDraft {
            what: what.into(),
            value: value.into(),
            ..BathEventDraft::default()
        };
        self.service.note_bath(bath, &draft, None)?;
        Ok(())
    }

    fn bottle(&self, name: &str) -> Outcome<Option<BathId>> {
        let baths = self.service.baths()?;
        Ok(baths
            .iter()
            .find(|b| b.card.name == name)
            .map(|b| b.card.id))
    }

    /// A scrap in the fixer, and a friend's films through the two-bath developer.
    pub(super) fn look_at_baths(&self) -> Outcome<()> {
        if let Some(fixer) = self.bottle("Fixer, brown bottle")? {
            self.befell(fixer, "clearing", "52")?;
        }
        if let Some(developer) = self.bottle("Two-bath A, green bottle")? {
            self.befell(developer, "run", "3")?;
        }
        Ok(())
    }

    /// Winds a roll that is shot, and waits for the tank.
    pub(super) fn wind_and_expose(&mut self, can: &mut Truth, frames: u32) -> Outcome<()> {
        let cassette = self.free.pop();
        if let Some(roll) = self.wind(can, frames, cassette)? {
            self.move_to(roll, "exposed", "")?;
            self.exposed.push((roll, cassette));
        }
        Ok(())
    }

    /// What happened at the tank in the evenings after that day's winding.
    pub(super) fn evening_at_the_tank(&mut self, ago: i64) -> Outcome<()> {
        match ago {
            65 => {
                self.days_ago(64);
                let well = ("36", "0", "0", "right", "even, prints on the middle grade");
                let short = ("18", "0", "0", "right", "");
                self.develop(
                    "HM2",
                    "Negative, two-bath",
                    "Short tank",
                    &[],
                    &[well, short],
                )
            }
            51 => {
                self.days_ago(50);
                let fogged = (
                    "35",
                    "0",
                    "1",
                    "right",
                    "the last frame lay in the light of the loading",
                );
                let thin = ("36", "0", "0", "under", "shadows empty; metered the sky?");
                let readings = ["20.8 C", "20.5 C"];
                self.develop(
                    "HM2",
                    "House brew, one-shot",
                    "Tall tank",
                    &readings,
                    &[thin, fogged],
                )
            }
            47 => {
                self.days_ago(45);
                let well = ("24", "0", "0", "right", "");
                let dense = ("36", "0", "0", "over", "");
                self.develop(
                    "QG",
                    "House brew, one-shot",
                    "Short tank",
                    &["20.2 C"],
                    &[well, dense],
                )
            }
            _ => Ok(()),
        }
    }

    /// The rolls of one can that wait go through one run, and are counted when they are dry.
    fn develop(
        &mut self,
        can: &str,
        recipe: &str,
        tank: &str,
        readings: &[&str],
        results: &[Result<'_>],
    ) -> Outcome<()> {
        let of_can = self.labels(self.exposed.iter().map(|(roll, _)| *roll))?;
        let mut labels = Vec::new();
        let mut waiting = Vec::new();
        for (label, held) in of_can.into_iter().zip(std::mem::take(&mut self.exposed)) {
            if label.starts_with(&format!("{can}-")) {
                labels.push(label);
                waiting.push(held.1);
            } else {
                self.exposed.push(held);
            }
        }
        let draft = RunDraft {
            recipe: recipe.into(),
            tank: tank.into(),
            reels: labels.join(" "),
            ..RunDraft::default()
        };
        let Some(run) = self.service.make_run(&draft, None)?.value else {
            return Ok(());
        };
        let press = |kind: &str, value: &str| {
            let draft = MarkDraft {
                kind: kind.into(),
                value: value.into(),
                ..MarkDraft::default()
            };
            self.service.press(run, &draft, None).map(|_| ())
        };
        for place in 0..self.service.run(run)?.steps.len() {
            press("begin", "")?;
            if place == 0 {
                for reading in readings {
                    self.later(60);
                    press("reading", reading)?;
                }
            }
            // As the clock says: what went by with readings is part of it, and they move its end.
            if let Phase::Running(step) = self.service.run_clock(run)?.timer.phase {
                self.later(step.left_s().max(0.0).round() as i64);
            }
        }
        press("finish", "")?;
        self.later(4 * 3600);
        for (label, (usable, fogged_start, fogged_end, exposure, note)) in
            labels.iter().zip(results)
        {
            let draft = ResultDraft {
                usable: (*usable).into(),
                fogged_start: (*fogged_start).into(),
                fogged_end: (*fogged_end).into(),
                exposure: (*exposure).into(),
                note: (*note).into(),
            };
            self.service.save_result(run, label, &draft, None)?;
        }
        for cassette in waiting.into_iter().flatten() {
            self.free.insert(0, cassette);
        }
        Ok(())
    }

    /// A tank that stands loaded today.
    pub(super) fn load(&self, roll: RollId, recipe: &str, tank: &str) -> Outcome<()> {
        let draft = RunDraft {
            recipe: recipe.into(),
            tank: tank.into(),
            reels: self.labels([roll])?.join(" "),
            note: "warm the baths first".into(),
            ..RunDraft::default()
        };
        self.service.make_run(&draft, None)?;
        Ok(())
    }

    fn labels(&self, rolls: impl IntoIterator<Item = RollId>) -> Outcome<Vec<String>> {
        let all = self.service.rolls_in(RollState::Exposed)?;
        Ok(rolls
            .into_iter()
            .filter_map(|id| all.iter().find(|r| r.roll.id == id))
            .map(|r| r.roll.label.clone())
            .collect())
    }

    fn later(&self, seconds: i64) {
        self.seconds.fetch_add(seconds, Ordering::Relaxed);
    }
}
