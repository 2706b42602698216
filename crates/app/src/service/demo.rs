//! A scenario of our own to try things on: one photographer, a year of winding, all of it invented.
//!
//! It goes through the same service functions as a person would, on a clock that runs ahead to today,
//! so the journal reads as a real one does.

mod bench;
mod binder;
mod field;
mod keep;
mod wet;

use super::draft::{CanDraft, CassetteDraft, LoaderDraft, StockDraft, WantDraft};
use super::evidence::{GaugeDraft, WeighDraft};
use super::queue::TicketDraft;
use super::rolls::RollDraft;
use super::wet::Tick;
use super::winding::WindDraft;
use super::{Outcome, Service};
use jiff::{SignedDuration, Timestamp};
use spoolwright_core::shelf::{CanId, CassetteId, RollId, RollState};
use spoolwright_store::Store;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

/// Fills an empty store with the demo scenario, ending on `now`, and gives it back.
///
/// # Errors
/// Trouble with the store.
pub fn fill(store: Store, now: Timestamp) -> Outcome<Store> {
    let seconds = Arc::new(AtomicI64::new(0));
    let clock = {
        let seconds = Arc::clone(&seconds);
        move || Timestamp::from_second(seconds.load(Ordering::Relaxed)).unwrap_or(now)
    };
    // The machine's own clock of the scenario: it goes with the one on the wall.
    let ticks = {
        let seconds = Arc::clone(&seconds);
        move || Tick {
            boot: "demo".to_owned(),
            since_boot_s: seconds.load(Ordering::Relaxed) as f64,
        }
    };
    let mut scene = Scene {
        service: Service::over(store, Box::new(clock)).ticking(Box::new(ticks)),
        now,
        seconds,
        free: Vec::new(),
        exposed: Vec::new(),
    };
    scene.play()?;
    Ok(scene.service.into_store())
}

/// The service over a throw-away store, filled with the demo scenario up to today.
///
/// # Errors
/// Trouble with the store.
pub fn service() -> Outcome<Service> {
    let store = fill(Store::in_memory()?, Timestamp::now())?;
    Ok(Service::over(store, Box::new(Timestamp::now)).as_demo())
}

/// What the scenario's can really holds and weighs, unknown to the photographer.
struct Truth {
    id: CanId,
    letters: &'static str,
    left_m: f64,
    tare_g: f64,
    g_per_m: f64,
}

impl Truth {
    /// So many clicks drawn.
    fn wound(&mut self, clicks: u32) {
        self.left_m -= f64::from(clicks) * CLICK_M + UNCOUNTED_M;
    }
}

struct Scene {
    service: Service,
    now: Timestamp,
    seconds: Arc<AtomicI64>,
    free: Vec<CassetteId>,
    /// Rolls that wait for the tank, and what they sit in.
    exposed: Vec<(RollId, Option<CassetteId>)>,
}

/// What both of the scenario's loaders really draw: 38.06 mm a click, and 112 mm a roll uncounted.
const CLICK_M: f64 = 0.038_06;
const UNCOUNTED_M: f64 = 0.112;

impl Scene {
    fn play(&mut self) -> Outcome<()> {
        self.days_ago(330);
        self.set_up()?;

        let mut first = self.can(
            "Harbour Mist 250",
            "HM",
            "30.48 m",
            "tin with bag and core",
            "58",
            (30.55, 131.0, 7.31),
        )?;
        self.weigh(&first)?;
        for (ago, frames) in [
            (320, 36),
            (318, 36),
            (300, 24),
            (282, 36),
            (270, 18),
            (268, 18),
            (251, 36),
            (240, 36),
            (231, 12),
            (212, 36),
            (204, 36),
            (190, 24),
            (176, 36),
            (169, 36),
            (150, 18),
            (141, 36),
            (127, 36),
            (120, 18),
            (117, 36),
            (114, 36),
        ] {
            self.days_ago(ago);
            self.wind_and_shoot(&mut first, frames)?;
        }
        self.days_ago(112);
        self.run_out(&mut first)?;
        self.service.weigh(
            first.id,
            &WeighDraft {
                grams: format!("{:.0}", first.tare_g),
                empty: "yes".into(),
                ..WeighDraft::default()
            },
            None,
        )?;

        self.days_ago(110);
        let mut second = self.can(
            "Harbour Mist 250",
            "HM2",
            "30.48 m",
            "tin with bag and core",
            "61",
            (30.40, 132.0, 7.31),
        )?;
        self.weigh(&second)?;
        let mut quarry = self.can(
            "Quarry Grey 100",
            "QG",
            "100 ft",
            "tin with bag and core",
            "49.50",
            (30.60, 129.0, 6.02),
        )?;
        self.days_ago(101);
        let mut ferry = self.can(
            "Night Ferry 500",
            "NF",
            "30.5 m",
            "flat tin",
            "48",
            (30.4, 132.0, 7.9),
        )?;
        self.days_ago(96);
        let mut chapel = self.can(
            "Chapel Copy 25",
            "CC",
            "15 m",
            "loader's own",
            "12",
            (14.7, 88.0, 7.5),
        )?;

        self.days_ago(95);
        self.furnish_wet_bench()?;

        let mut rolls = Vec::new();
        for (can, wound) in [
            (
                0,
                &[
                    (92, 36),
                    (88, 36),
                    (81, 24),
                    (73, 36),
                    (66, 18),
                    (58, 36),
                    (51, 36),
                    (40, 12),
                ][..],
            ),
            (1, &[(90, 36), (84, 36), (77, 36), (62, 24), (47, 36)]),
            (2, &[(70, 36), (65, 36), (44, 36), (33, 18)]),
            (3, &[(38, 12)]),
        ] {
            rolls.extend(wound.iter().map(|(ago, frames)| (*ago, can, *frames)));
        }
        rolls.sort_by_key(|roll| std::cmp::Reverse(roll.0));
        let cans = [&mut second, &mut quarry, &mut ferry, &mut chapel];
        for (ago, can, frames) in rolls {
            self.days_ago(ago);
            // From here on the tank's own story is told; what was shot before has long been filed.
            if ago <= 73 && can < 2 && frames > 12 {
                self.wind_and_expose(cans[can], frames)?;
            } else {
                self.wind_and_shoot(cans[can], frames)?;
            }
            self.evening_at_the_tank(ago)?;
        }
        self.days_ago(31);
        let test = self.begin_wedge_test(&mut chapel)?;
        self.days_ago(30);
        self.service.gauge(
            ferry.id,
            &GaugeDraft {
                outer_mm: "72.5".into(),
                ..GaugeDraft::default()
            },
            None,
        )?;
        self.days_ago(26);
        if let Some(test) = test {
            self.read_wedge_test(test)?;
        }

        self.days_ago(24);
        self.look_at_baths()?;
        self.keep_and_buy()?;
        self.days_ago(20);
        self.cassette_troubles()?;
        self.copy_the_notebook()?;
        self.file_the_first_can()?;
        self.last_weeks(&mut second, &mut quarry, &mut ferry)?;
        self.wants()
    }

    fn set_up(&mut self) -> Outcome<()> {
        let s = &self.service;
        for (name, ei, process, base, pitch, price, backing) in [
            (
                "Harbour Mist 250",
                "250",
                "negative",
                "acetate",
                "long",
                "9.50",
                "usual",
            ),
            (
                "Quarry Grey 100",
                "80",
                "negative",
                "polyester",
                "long",
                "8.20",
                "usual",
            ),
            (
                "Night Ferry 500",
                "400",
                "colour-negative",
                "acetate",
                "short",
                "14",
                "remjet",
            ),
            (
                "Chapel Copy 25",
                "12",
                "negative",
                "acetate",
                "long",
                "",
                "usual",
            ),
        ] {
            let draft = StockDraft {
                name: name.into(),
                ei: ei.into(),
                process: process.into(),
                base: base.into(),
                backing: backing.into(),
                pitch: pitch.into(),
                ready_wound_price: price.into(),
                ..StockDraft::default()
            };
            s.save_stock(None, &draft, None)?;
        }
        for (name, zero) in [("Green loader", ""), ("Attic loader", "-4")] {
            s.save_loader(
                None,
                &LoaderDraft {
                    name: name.into(),
                    dial_zero: zero.into(),
                    ..LoaderDraft::default()
                },
                None,
            )?;
        }
        let made = s.save_cassettes(
            None,
            &CassetteDraft {
                label: "1-15".into(),
                earlier_uses: "4".into(),
                ..CassetteDraft::default()
            },
            None,
        )?;
        self.free = made.value.unwrap_or_default();
        self.free.reverse();
        self.bring_cameras()
    }

    fn can(
        &self,
        stock: &str,
        letters: &'static str,
        length: &str,
        package: &str,
        price: &str,
        (left_m, tare_g, g_per_m): (f64, f64, f64),
    ) -> Outcome<Truth> {
        let draft = CanDraft {
            stock: stock.into(),
            letters: letters.into(),
            length: length.into(),
            package: package.into(),
            loader: if letters == "NF" {
                "Attic loader"
            } else {
                "Green loader"
            }
            .into(),

            price: price.into(),
            bought_on: self.service.today(),
            kept_at: if letters == "NF" { "4 C" } else { "" }.into(),
            // Two months from today: it is about to go off.
            expires_on: if letters == "NF" {
                let soon = self.now + SignedDuration::from_hours(60 * 24);
                super::moment::day_of(&soon.to_string())
            } else {
                String::new()
            },
            ..CanDraft::default()
        };
        let id = self
            .service
            .save_can(None, &draft, None)?
            .value
            .unwrap_or(CanId(0));
        Ok(Truth {
            id,
            letters,
            left_m,
            tare_g,
            g_per_m,
        })
    }

    fn weigh(&self, can: &Truth) -> Outcome<()> {
        let grams = (can.tare_g + can.g_per_m * can.left_m).round();
        self.service.weigh(
            can.id,
            &WeighDraft {
                grams: grams.to_string(),
                ..WeighDraft::default()
            },
            None,
        )?;
        Ok(())
    }

    /// Winds a roll into the next free cassette; the roll's number in the store.
    fn wind(
        &mut self,
        can: &mut Truth,
        frames: u32,
        cassette: Option<CassetteId>,
    ) -> Outcome<Option<RollId>> {
        let s = &self.service;
        let ticket = s.add_ticket(
            &TicketDraft {
                can: can.letters.into(),
                frames: frames.to_string(),
                ..TicketDraft::default()
            },
            None,
        )?;
        let Some(ticket) = ticket.value else {
            return Ok(None);
        };
        let clicks = s.ticket(ticket)?.sheet.clicks;
        can.wound(clicks);
        let label = cassette
            .map(|c| s.cassette(c).map(|c| c.label))
            .transpose()?
            .unwrap_or_default();
        let wound = s.wind(
            ticket,
            &WindDraft {
                cassette: label,
                ..WindDraft::default()
            },
            None,
        )?;
        Ok(wound.value.and_then(|w| w.roll).map(|r| r.0))
    }

    /// A roll that has long been developed: its cassette is free again.
    fn wind_and_shoot(&mut self, can: &mut Truth, frames: u32) -> Outcome<()> {
        let cassette = self.free.last().copied();
        if let Some(roll) = self.wind(can, frames, cassette)? {
            self.move_to(roll, "developed", "")?;
        }
        self.free.rotate_right(1);
        Ok(())
    }

    fn run_out(&mut self, can: &mut Truth) -> Outcome<()> {
        let s = &self.service;
        let ticket = s.add_ticket(
            &TicketDraft {
                can: can.letters.into(),
                frames: "36".into(),
                ..TicketDraft::default()
            },
            None,
        )?;
        let clicks = ((can.left_m - UNCOUNTED_M) / CLICK_M).floor().max(1.0);
        let Some(ticket) = ticket.value else {
            return Ok(());
        };
        let draft = WindDraft {
            clicks: clicks.to_string(),
            ran_out: "yes".into(),
            ..WindDraft::default()
        };
        if let Some((roll, _)) = s.wind(ticket, &draft, None)?.value.and_then(|w| w.roll) {
            self.move_to(roll, "developed", "")?;
        }
        Ok(())
    }

    fn move_to(&self, roll: RollId, state: &str, note: &str) -> Outcome<()> {
        self.service.move_roll(
            roll,
            &RollDraft {
                state: state.into(),
                note: note.into(),
                ..RollDraft::default()
            },
            None,
        )?;
        Ok(())
    }

    fn cassette_troubles(&mut self) -> Outcome<()> {
        for (label, leaks, retired) in [("4", true, false), ("11", false, true)] {
            let id = self.service.cassette_named(label)?.id;
            self.service.mark_cassette(id, leaks, retired, None)?;
            self.free.retain(|c| *c != id);
        }
        Ok(())
    }

    /// What sits in cassettes today: unexposed, in cameras, waiting for the tank.
    fn last_weeks(
        &mut self,
        second: &mut Truth,
        quarry: &mut Truth,
        ferry: &mut Truth,
    ) -> Outcome<()> {
        let mut wound = Vec::new();
        for (ago, frames) in [(19, 36), (17, 24)] {
            wound.extend(self.wind_and_keep(ago, second, frames)?);
        }
        for (ago, frames) in [(15, 36), (12, 18)] {
            wound.extend(self.wind_and_keep(ago, quarry, frames)?);
        }
        for (ago, frames) in [(11, 36), (10, 18)] {
            wound.extend(self.wind_and_keep(ago, ferry, frames)?);
        }
        // The island trip began in the rangefinder and went on in the walking camera.
        self.load_camera(wound[0], "The old rangefinder", "")?;
        self.out_of_camera(wound[0], "12")?;
        self.load_camera(wound[0], "Walking camera", "")?;
        for (ago, roll, state) in [
            (9, 0, "exposed"),
            (8, 1, "exposed"),
            (7, 2, ""),
            (7, 3, "exposed"),
            (6, 4, "exposed"),
            (6, 5, "exposed"),
        ] {
            self.days_ago(ago);
            match state {
                "" => self.load_camera(wound[roll], "Walking camera", "100")?,
                state => self.move_to(wound[roll], state, "")?,
            }
        }
        self.note_frames(wound[2])?;
        self.wind_and_keep(6, ferry, 36)?;
        self.wind_and_keep(6, quarry, 24)?;
        self.days_ago(5);
        self.weigh(second)
    }

    /// Winds a roll that stays in its cassette.
    fn wind_and_keep(&mut self, ago: i64, can: &mut Truth, frames: u32) -> Outcome<Option<RollId>> {
        self.days_ago(ago);
        let cassette = self.free.pop();
        self.wind(can, frames, cassette)
    }

    fn wants(&mut self) -> Outcome<()> {
        self.days_ago(3);
        for (what_for, frames, stocks, in_days, priority, camera) in [
            (
                "ferry to the islands",
                "54",
                "Harbour Mist 250",
                9,
                "1",
                "the old rangefinder",
            ),
            (
                "portraits of the bakers",
                "30",
                "Harbour Mist 250, Quarry Grey 100",
                16,
                "2",
                "",
            ),
            (
                "street lamps in the fog",
                "36",
                "Night Ferry 500",
                21,
                "2",
                "",
            ),
            (
                "drawings from the archive",
                "14",
                "Chapel Copy 25, Quarry Grey 100",
                28,
                "3",
                "on the copying stand",
            ),
        ] {
            let by = self.now + SignedDuration::from_hours(24 * in_days);
            let draft = WantDraft {
                what_for: what_for.into(),
                frames: frames.into(),
                stocks: stocks.into(),
                by_when: by.to_string()[..10].to_owned(),
                priority: priority.into(),
                camera: camera.into(),
                ..WantDraft::default()
            };
            self.service.save_want(None, &draft, None)?;
        }
        self.days_ago(1);
        let remjet = self.service.rolls_in(RollState::Exposed)?;
        if let Some(roll) = remjet.iter().find(|r| r.can == "NF") {
            self.load(roll.roll.id, "Remjet, colour negative", "Short tank")?;
        }
        self.service.add_ticket(
            &TicketDraft {
                can: "HM2".into(),
                frames: "12".into(),
                reason: "a short roll to test the new flash".into(),
                ..TicketDraft::default()
            },
            None,
        )?;
        Ok(())
    }

    fn days_ago(&self, days: i64) {
        self.seconds
            .store(self.now.as_second() - days * 86_400, Ordering::Relaxed);
    }
}
