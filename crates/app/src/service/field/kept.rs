//! Where one can, roll or binder is kept, and what that does to it: warming up, its age, whether it is about to go off.
//!
//! What film is told by its place is [`spoolwright_core::storage`]'s. A place's temperature goes before the one written
//! on a can.

use super::super::draft::pick;
use super::super::entry::Reader;
use super::super::error::unknown;
use super::super::moment::day_in_words;
use super::super::{Made, Outcome, Request, Service, find_in};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::field::record::{Binder, Keepable, Kept, StoragePlace};
use spoolwright_core::shelf::{Base, Can, KeptId, Process, Roll, RollId, RollState, Stock};
use spoolwright_core::storage::ageing::{self, Allowance, Stay};
use spoolwright_core::storage::keeping::{
    self, Going, GoingOff, Keeping, Remark, Stage, temperature_of,
};
use spoolwright_core::storage::nitrate;
use spoolwright_core::storage::package::Package;
use spoolwright_core::storage::warmup::{Chill, WarmUp, warm_up};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

/// A room when nobody has measured one, °C.
pub(super) const USUAL_ROOM_C: f64 = 20.0;
/// Mean days of a month, and of a year.
const MONTH_DAYS: f64 = 30.4375;
const YEAR_DAYS: f64 = 365.25;

/// Where something is put, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct KeepDraft {
    /// The place's name or number.
    #[arg(default_value = "")]
    pub place: String,
    /// Since which day; today when empty.
    #[arg(long, default_value = "")]
    pub since: String,
}

/// Something that can be kept, with all that its keeping tells.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptView {
    /// What.
    pub thing: Keepable,
    /// Its letters, label or name.
    pub name: String,
    /// Its stock; none for a binder.
    pub stock: Option<Stock>,
    /// Where it was and is, newest first.
    pub stays: Vec<(Kept, StoragePlace)>,
    /// What it lies in now: °C, and whether that was measured there or written on it; none when nobody has said.
    pub at_c: Option<(f64, bool)>,
    /// What the sources say to that.
    pub remarks: Vec<Remark>,
    /// Whether it is about to go off.
    pub going: Option<GoingOff>,
    /// How long it warms up before it is opened; none for what is not opened.
    pub warm_up: Option<WarmUp>,
    /// What to allow for its age.
    pub allowance: Option<Allowance>,
    /// What limits that.
    pub caveats: Vec<Caveat>,
}

/// Film that is about to go off.
#[derive(Debug, Clone, PartialEq)]
pub struct GoingView {
    /// What.
    pub thing: Keepable,
    /// Its letters or label.
    pub name: String,
    /// Its stock.
    pub stock: String,
    /// It is exposed, and waits to be developed.
    pub exposed: bool,
    /// The date printed on it, if that is what counts.
    pub expires_on: Option<String>,
    /// How near it is, and why.
    pub going: GoingOff,
}

/// What film is, as far as its keeping asks.
pub(super) struct Film {
    pub(super) name: String,
    pub(super) stock: Option<Stock>,
    /// None once it is scrapped.
    pub(super) stage: Option<Stage>,
    can: Option<Can>,
    package: Option<Package>,
    /// Day it came into this state.
    from: Option<String>,
}

impl Service {
    /// Puts a can, a roll or a binder into a place. Said again for the same day, it corrects what was said.
    ///
    /// # Errors
    /// Faults of the draft: no such place, one put away, a day to come; nothing of that number.
    pub fn keep(
        &self,
        thing: Keepable,
        draft: &KeepDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        let today = self.today();
        self.change(request, |change| {
            let name = name_in(change, thing)?;
            let mut r = Reader::new();
            let places = change.all::<StoragePlace>()?;
            let found = pick(&places, &draft.place, "place", |p| &p.name).map(|p| p.cloned());
            let place = r.keep("place", found, None);
            let since = r
                .date("since", &draft.since)
                .unwrap_or_else(|| today.clone());
            if today < since {
                r.fault(
                    "since",
                    Error::new(
                        Kind::Inconsistent,
                        "the day it came there",
                        &since,
                        format!("{today} or before"),
                        "Say it when it lies there.",
                    ),
                );
            }
            let before = change.places_of(thing)?;
            let same_day = before.iter().find(|k| k.since == since);
            if let Some(place) = place.as_ref().filter(|p| p.closed) {
                let lies_there = same_day.is_some_and(|k| k.place == place.id);
                if !lies_there {
                    r.fault(
                        "place",
                        Error::new(
                            Kind::Conflict,
                            &place.name,
                            "put away",
                            "a place that is in use",
                            "Take the place out again, or choose another.",
                        ),
                    );
                }
            }
            r.finish()?;
            let Some(place) = place else {
                return Err(unknown("place", &draft.place));
            };
            let story = format!(
                "Put {name} into {} on {}.",
                place.name,
                day_in_words(&since)
            );
            let in_force = before.iter().find(|k| k.since <= since);
            if in_force.is_some_and(|k| k.place == place.id) {
                // It lies there already: nothing is written.
                return Ok(("kept", story, ()));
            }
            change.put(&Kept {
                id: same_day.map_or(KeptId(0), |k| k.id),
                thing,
                place: place.id,
                since,
            })?;
            change.about(Subject::of::<StoragePlace>(place.id));
            change.about(subject(thing));
            Ok(("kept", story, ()))
        })
    }

    /// Something with all that its keeping tells.
    ///
    /// # Errors
    /// There is nothing of that number.
    pub fn kept(&self, thing: Keepable) -> Outcome<KeptView> {
        let film = self.film(thing)?;
        let today = self.today();
        let stays = self.stays(thing)?;
        let at_c = at_c(&stays, &film);
        let mut view = KeptView {
            thing,
            name: film.name.clone(),
            at_c,
            remarks: Vec::new(),
            going: None,
            warm_up: None,
            allowance: None,
            caveats: Vec::new(),
            stock: film.stock.clone(),
            stays,
        };
        let Some(kept) = keeping_of(&film, &view.stays, &today) else {
            return Ok(view);
        };
        view.caveats
            .extend(nitrate::caveat(kept.base, film.earliest_year()));
        if at_c.is_some() {
            view.remarks = keeping::remarks(&kept)?;
        }
        view.going = keeping::going_off(&kept)?;
        if kept.base == Base::Nitrate {
            return Ok(view);
        }
        if let (Some(package), Some((from_c, measured))) = (film.package, at_c) {
            let (to_c, rh_percent) = self.room()?;
            // A cold beyond what the tables reach is told at the calculator, where it can be mended.
            view.warm_up = warm_up(&Chill {
                package,
                from_c,
                to_c,
                rh_percent,
            })
            .ok();
            if !measured && view.warm_up.as_ref().is_some_and(|w| 0.0 < w.hours) {
                view.caveats.push(Caveat::new(
                    "usual_temperature",
                    "The place's temperature was never measured: the usual one of its kind is taken. Put a thermometer there.",
                ));
            }
        }
        if kept.stage == Stage::Unexposed && !kept.colour {
            view.allowance = self.allowance(&film, &view.stays, &today)?;
        }
        Ok(view)
    }

    /// Film that is about to go off or is past its time, the most pressing first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn about_to_go_off(&self) -> Outcome<Vec<GoingView>> {
        let today = self.today();
        let shelf = self.shelf()?;
        let mut things: Vec<Keepable> =
            shelf.open_cans().map(|c| Keepable::Can(c.can.id)).collect();
        for state in [RollState::Wound, RollState::InCamera, RollState::Exposed] {
            let rolls = self.store().rolls_in(state)?;
            things.extend(rolls.into_iter().map(|r| Keepable::Roll(r.id)));
        }
        let mut all = Vec::new();
        for thing in things {
            let film = self.film(thing)?;
            let stays = self.stays(thing)?;
            let Some(kept) = keeping_of(&film, &stays, &today) else {
                continue;
            };
            let Some(going) = keeping::going_off(&kept)? else {
                continue;
            };
            if matches!(going.going, Going::Soon | Going::Over) {
                let dated = kept.stage == Stage::Unexposed;
                all.push(GoingView {
                    thing,
                    name: film.name,
                    stock: film.stock.map(|s| s.name).unwrap_or_default(),
                    exposed: kept.stage == Stage::Exposed,
                    expires_on: film.can.and_then(|c| c.expires_on).filter(|_| dated),
                    going,
                });
            }
        }
        let left = |v: &GoingView| v.going.months_left.unwrap_or(f64::INFINITY);
        all.sort_by(|a, b| left(a).total_cmp(&left(b)));
        Ok(all)
    }

    fn stays(&self, thing: Keepable) -> Outcome<Vec<(Kept, StoragePlace)>> {
        let stays = self.store().places_of(thing)?;
        stays
            .into_iter()
            .map(|k| Ok((k.clone(), self.find::<StoragePlace>(k.place)?)))
            .collect()
    }

    pub(super) fn film(&self, thing: Keepable) -> Outcome<Film> {
        match thing {
            Keepable::Can(id) => {
                let shelf = self.shelf()?;
                let view = shelf.can(id)?;
                Ok(Film {
                    name: view.can.letters.clone(),
                    stock: Some(view.stock.clone()),
                    stage: Some(Stage::Unexposed),
                    package: Some(Package::can_of(view.can.length_m.mean)),
                    from: view.can.bought_on.clone(),
                    can: Some(view.can.clone()),
                })
            }
            Keepable::Roll(id) => {
                let roll = self.find::<Roll>(id)?;
                let shelf = self.shelf()?;
                let view = shelf.can(roll.can)?;
                let stage = match roll.state {
                    RollState::Wound | RollState::InCamera => Some(Stage::Unexposed),
                    RollState::Exposed => Some(Stage::Exposed),
                    RollState::Developed | RollState::Filed => Some(Stage::Developed),
                    RollState::Scrapped => None,
                };
                Ok(Film {
                    from: match stage {
                        Some(Stage::Unexposed) => view.can.bought_on.clone(),
                        _ => self.exposed_on(id)?,
                    },
                    name: roll.label.clone(),
                    stock: Some(view.stock.clone()),
                    stage,
                    package: roll.state.holds_cassette().then_some(Package::Cassette),
                    can: Some(view.can.clone()),
                })
            }
            Keepable::Binder(id) => Ok(Film {
                name: self.find::<Binder>(id)?.name,
                stock: None,
                stage: Some(Stage::Developed),
                package: None,
                can: None,
                from: None,
            }),
        }
    }

    /// The last day a roll was in a camera, or one that its notes tell.
    fn exposed_on(&self, roll: RollId) -> Outcome<Option<String>> {
        let store = self.store();
        let out = store.loads_of_roll(roll)?.into_iter().rev();
        if let Some(day) = out.filter_map(|l| l.out_on).next() {
            return Ok(Some(day));
        }
        let notes = store.notes_of_roll(roll)?.into_iter();
        Ok(notes.filter_map(|n| n.taken_at).max())
    }

    fn allowance(
        &self,
        film: &Film,
        stays: &[(Kept, StoragePlace)],
        today: &str,
    ) -> Outcome<Option<Allowance>> {
        let (Some(can), Some(stock)) = (&film.can, &film.stock) else {
            return Ok(None);
        };
        let known = [can.bought_on.as_deref(), can.expires_on.as_deref()];
        let first_stay = stays.last().map(|(k, _)| k.since.as_str());
        let Some(start) = known.into_iter().flatten().chain(first_stay).min() else {
            return Ok(None);
        };
        let mut from = start;
        let mut at = can.kept_c.unwrap_or(USUAL_ROOM_C);
        let mut all = Vec::new();
        for (kept, place) in stays.iter().rev() {
            all.extend(stay(from, &kept.since, at));
            (from, at) = (&kept.since, temperature_of(place).0);
        }
        all.extend(stay(from, today, at));
        // Stays beyond what the sum takes come from hundreds of moves of one can: the newest tell most.
        let all = &all[all.len().saturating_sub(ageing::MOST_STAYS)..];
        let cards = self.store().cards_of_stock(stock.id)?;
        let tested = cards
            .iter()
            .filter(|c| c.test.is_some() && c.can == Some(can.id))
            .filter_map(|c| Some(days(&c.made_on, today)? / YEAR_DAYS))
            .map(|years| years.max(0.0))
            .min_by(f64::total_cmp);
        let told = ageing::allowance(stock.ei, all, tested)?;
        Ok((0.0 < told.years || told.since_test).then_some(told))
    }
}

impl Film {
    /// The earliest year known of it.
    fn earliest_year(&self) -> Option<i32> {
        let can = self.can.as_ref()?;
        let dates = [&can.bought_on, &can.expires_on].into_iter().flatten();
        dates.filter_map(|d| d.get(..4)?.parse().ok()).min()
    }
}

/// Where it lies now in °C, and whether that is known.
fn at_c(stays: &[(Kept, StoragePlace)], film: &Film) -> Option<(f64, bool)> {
    match stays.first() {
        Some((_, place)) => Some(temperature_of(place)),
        // What is written on a can says nothing of a roll that was wound from it.
        None if film.package != Some(Package::Cassette) => {
            film.can.as_ref()?.kept_c.map(|c| (c, true))
        }
        None => None,
    }
}

fn keeping_of(film: &Film, stays: &[(Kept, StoragePlace)], today: &str) -> Option<Keeping> {
    let stage = film.stage?;
    let stock = film.stock.as_ref();
    let months = |d: f64| (d / MONTH_DAYS).clamp(keeping::MONTHS.min, keeping::MONTHS.max);
    let expires = film.can.as_ref().and_then(|c| c.expires_on.as_deref());
    Some(Keeping {
        stage,
        colour: stock.is_some_and(|s| {
            matches!(s.process, Process::ColourNegative | Process::ColourReversal)
        }),
        base: stock.map_or(Base::Unknown, |s| s.base),
        temperature_c: at_c(stays, film).map_or(USUAL_ROOM_C, |(c, _)| c),
        rh_percent: stays.first().and_then(|(_, p)| p.rh_percent),
        kept_months: film
            .from
            .as_deref()
            .and_then(|d| days(d, today))
            .map(|d| months(d.max(0.0))),
        to_expiry_months: expires.and_then(|d| days(today, d)).map(months),
    })
}

/// A stay from one day to another, where that is any time at all.
fn stay(from: &str, to: &str, temperature_c: f64) -> Option<Stay> {
    let years = days(from, to)? / YEAR_DAYS;
    (0.0 < years).then(|| Stay {
        years: years.min(ageing::YEARS.max),
        temperature_c,
    })
}

fn days(from: &str, to: &str) -> Option<f64> {
    let read = |text: &str| text.get(..10)?.parse::<Date>().ok();
    Some(f64::from((read(to)? - read(from)?).get_days()))
}

fn name_in(change: &Change<'_>, thing: Keepable) -> Outcome<String> {
    Ok(match thing {
        Keepable::Can(id) => format!("can {}", find_in::<Can>(change, id)?.letters),
        Keepable::Roll(id) => find_in::<Roll>(change, id)?.label,
        Keepable::Binder(id) => format!("the binder {}", find_in::<Binder>(change, id)?.name),
    })
}

fn subject(thing: Keepable) -> Subject {
    match thing {
        Keepable::Can(id) => Subject::of::<Can>(id),
        Keepable::Roll(id) => Subject::of::<Roll>(id),
        Keepable::Binder(id) => Subject::of::<Binder>(id),
    }
}
