//! Storage places: what they are like, what lies in them, how long a package from one warms up.
//!
//! What film is told by its place is [`spoolwright_core::storage`]'s. A place's temperature goes before the one written
//! on a can.

use super::super::draft::differences;
use super::super::entry::{self, Reader};
use super::super::error::{at, unknown};
use super::super::things::{named, saved, shut};
use super::super::{Made, Outcome, Request, Service, find_in};
use super::kept::USUAL_ROOM_C;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::TEMPERATURE_C;
use spoolwright_core::field::record::{Binder, Keepable, Kept, PlaceKind, StoragePlace};
use spoolwright_core::quantity::degrees;
use spoolwright_core::shelf::{BinderId, CanId, RollId, StoragePlaceId};
use spoolwright_core::storage::air::{RH_PERCENT, ROOM_C};
use spoolwright_core::storage::keeping::temperature_of;
use spoolwright_core::storage::package::Package;
use spoolwright_core::storage::warmup::{Chill, WarmUp, warm_up};
use spoolwright_core::{Error, Kind};

/// A humidity, as typed.
const PERCENT: entry::Units = &[("%", 1.0)];

/// A place as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct PlaceDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// room, cool, refrigerator or freezer; room when empty.
    #[arg(long, default_value = "")]
    pub kind: String,
    /// Its temperature by a thermometer; the usual one of its kind when empty.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub temperature: String,
    /// Its relative humidity in per cent, if known.
    #[arg(long, default_value = "")]
    pub humidity: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// Film about to leave the cold, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct WarmDraft {
    /// cassette, can_35mm_30m, can_35mm_120m, can_35mm_300m, can_16mm or carton; a can of up to 120 m when empty.
    #[arg(long, default_value = "")]
    pub package: String,
    /// Where it lay: a place's name, or a temperature.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub from: String,
    /// The room's temperature; your room's, or 20 °C, when empty.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub to: String,
    /// The room's relative humidity in per cent, if known.
    #[arg(long, default_value = "")]
    pub humidity: String,
}

/// A place and what lies in it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceView {
    /// As entered.
    pub place: StoragePlace,
    /// Its temperature, °C.
    pub temperature_c: f64,
    /// Whether that was measured, rather than the usual one of its kind.
    pub measured: bool,
    /// What lies there now: cans first, then rolls, then binders.
    pub things: Vec<Lying>,
}

/// Something that lies in a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Lying {
    /// What.
    pub thing: Keepable,
    /// Its letters, label or name.
    pub name: String,
    /// Its stock; empty for a binder.
    pub stock: String,
    /// Since which day.
    pub since: String,
}

/// Word of a kind of thing that is kept.
pub const fn kind_word(thing: Keepable) -> &'static str {
    match thing {
        Keepable::Can(_) => "can",
        Keepable::Roll(_) => "roll",
        Keepable::Binder(_) => "binder",
    }
}

/// Its number in the store.
pub const fn number_of(thing: Keepable) -> i64 {
    match thing {
        Keepable::Can(id) => id.0,
        Keepable::Roll(id) => id.0,
        Keepable::Binder(id) => id.0,
    }
}

impl PlaceDraft {
    fn read(&self, old: Option<&StoragePlace>, fahrenheit: bool) -> Outcome<StoragePlace> {
        let mut r = Reader::new();
        let mut temperature_c = r.temperature("temperature", &self.temperature, fahrenheit);
        if let Some(old) = old
            && self.temperature == Self::of(old, fahrenheit).temperature
        {
            temperature_c = old.temperature_c;
        }
        let place = StoragePlace {
            id: old.map_or(StoragePlaceId(0), |o| o.id),
            name: r.name("a place's name", &self.name),
            kind: r.word("kind", &self.kind, PlaceKind::from_word),
            temperature_c,
            rh_percent: r.optional("humidity", &self.humidity, PERCENT, &RH_PERCENT),
            note: r.free("note", "a note", &self.note, 400),
            closed: old.is_some_and(|o| o.closed),
        };
        r.finish()?;
        Ok(place)
    }

    /// A place as its user would have typed it, in the degrees they chose.
    pub fn of(p: &StoragePlace, fahrenheit: bool) -> Self {
        let typed = |c: f64| {
            if fahrenheit {
                format!("{:.1} F", c * 1.8 + 32.0)
            } else {
                format!("{c} C")
            }
        };
        Self {
            name: p.name.clone(),
            kind: p.kind.word().to_owned(),
            temperature: p.temperature_c.map(typed).unwrap_or_default(),
            humidity: p.rh_percent.map(|h| h.to_string()).unwrap_or_default(),
            note: p.note.clone(),
        }
    }
}

impl Service {
    /// Every place with what lies in it, by name.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn places(&self) -> Outcome<Vec<PlaceView>> {
        let mut all: Vec<PlaceView> = self
            .all::<StoragePlace>()?
            .into_iter()
            .map(|place| {
                let (temperature_c, measured) = temperature_of(&place);
                PlaceView {
                    place,
                    temperature_c,
                    measured,
                    things: Vec::new(),
                }
            })
            .collect();
        let kept = self.store().all_kept_now()?;
        for kept in kept {
            let lying = self.lying(&kept)?;
            if let Some(view) = all.iter_mut().find(|v| v.place.id == kept.place) {
                view.things.extend(lying);
            }
        }
        for view in &mut all {
            view.things
                .sort_by(|a, b| (kind_order(a), &a.name).cmp(&(kind_order(b), &b.name)));
        }
        all.sort_by_key(|v| (v.place.closed, v.place.name.to_lowercase()));
        Ok(all)
    }

    /// One place.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn place(&self, id: StoragePlaceId) -> Outcome<PlaceView> {
        self.places()?
            .into_iter()
            .find(|v| v.place.id == id)
            .ok_or_else(|| unknown("place", id))
    }

    /// The place that a name or number means.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn place_named(&self, text: &str) -> Outcome<StoragePlace> {
        named(self.all()?, text, "place", |p: &StoragePlace| &p.name)
    }

    /// The can, roll or binder that a kind and a name mean.
    ///
    /// # Errors
    /// There is none of that name; the kind is none of the three.
    pub fn keepable(&self, kind: &str, name: &str) -> Outcome<Keepable> {
        match kind.trim() {
            "can" => Ok(Keepable::Can(self.can_named(name)?.id)),
            "roll" => Ok(Keepable::Roll(self.roll(name)?.roll.id)),
            "binder" => {
                let found = named(self.all()?, name, "binder", |b: &Binder| &b.name)?;
                Ok(Keepable::Binder(found.id))
            }
            other => Err(Error::new(
                Kind::Unknown,
                "what is kept",
                format!("{other:?}"),
                "can, roll, binder",
                "Say one of these.",
            )
            .into()),
        }
    }

    /// Adds a place (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or its name is taken.
    pub fn save_place(
        &self,
        id: Option<StoragePlaceId>,
        draft: &PlaceDraft,
        request: Request<'_>,
    ) -> Outcome<Made<StoragePlaceId>> {
        let fahrenheit = self.settings()?.fahrenheit;
        self.change(request, |change| {
            let old = id
                .map(|id| find_in::<StoragePlace>(change, id))
                .transpose()?;
            let place = draft.read(old.as_ref(), fahrenheit)?;
            let taken = change.all::<StoragePlace>()?.into_iter();
            let name = place.name.to_lowercase();
            if taken
                .filter(|p| p.id != place.id)
                .any(|p| p.name.to_lowercase() == name)
            {
                return Err(at(
                    "name",
                    Error::new(
                        Kind::Conflict,
                        "a place's name",
                        format!("{:?}", place.name),
                        "a name that no other place has",
                        "Choose another, or change the place that is there.",
                    ),
                ));
            }
            let put = change.put(&place)?;
            let changed = old
                .as_ref()
                .map(|o| differences(&spoken(o), &spoken(&place)));
            Ok((
                "place.saved",
                saved(&format!("the place {}", place.name), changed),
                put,
            ))
        })
    }

    /// Takes a place out of the forms, or puts it back. What lies there stays where it is.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_place(
        &self,
        id: StoragePlaceId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let place = StoragePlace {
                closed,
                ..find_in(change, id)?
            };
            change.put(&place)?;
            Ok((
                "place.closed",
                format!("{} the place {}.", shut(closed), place.name),
                (),
            ))
        })
    }

    /// How long film warms up, as asked at the calculator.
    ///
    /// # Errors
    /// Every fault of the draft; a room more humid than any table.
    pub fn warm_up(&self, draft: &WarmDraft) -> Outcome<(Chill, WarmUp)> {
        let fahrenheit = self.settings()?.fahrenheit;
        let (room_c, room_rh) = self.room()?;
        let mut r = Reader::new();
        let package = r.word("package", &draft.package, Package::from_word);
        let places = self.all::<StoragePlace>()?;
        let from = draft.from.trim();
        let of_place = places.iter().find(|p| p.name.eq_ignore_ascii_case(from));
        let from_c = match of_place {
            Some(place) => temperature_of(place).0,
            None if from.is_empty() => {
                r.fault(
                    "from",
                    Error::missing(
                        "where it lay",
                        "a place's name, or a temperature",
                        "Choose a place or type a temperature.",
                    ),
                );
                0.0
            }
            None => {
                let read = entry::temperature(&TEMPERATURE_C, from, fahrenheit);
                r.keep("from", read, 0.0)
            }
        };
        let to_c = match draft.to.trim() {
            "" => room_c,
            text => {
                let read = entry::temperature(&ROOM_C, text, fahrenheit);
                r.keep("to", read, room_c)
            }
        };
        let rh_percent = match draft.humidity.trim() {
            "" if draft.to.trim().is_empty() => room_rh,
            text => r.optional("humidity", text, PERCENT, &RH_PERCENT),
        };
        r.finish()?;
        let chill = Chill {
            package,
            from_c,
            to_c,
            rh_percent,
        };
        let told = warm_up(&chill).map_err(|e| {
            at(
                if e.kind == Kind::Impossible {
                    "humidity"
                } else {
                    "from"
                },
                e,
            )
        })?;
        Ok((chill, told))
    }

    /// The room that film is opened in: the only place that is a room, else a usual one.
    pub(super) fn room(&self) -> Outcome<(f64, Option<f64>)> {
        let mut rooms = self.all::<StoragePlace>()?;
        rooms.retain(|p| p.kind == PlaceKind::Room && !p.closed);
        Ok(match rooms.as_slice() {
            [only] => {
                let (c, _) = temperature_of(only);
                (c.clamp(ROOM_C.min, ROOM_C.max), only.rh_percent)
            }
            _ => (USUAL_ROOM_C, None),
        })
    }

    fn lying(&self, kept: &Kept) -> Outcome<Option<Lying>> {
        let film = self.film(kept.thing)?;
        let gone = film.stage.is_none();
        Ok((!gone).then(|| Lying {
            thing: kept.thing,
            name: film.name,
            stock: film.stock.map(|s| s.name).unwrap_or_default(),
            since: kept.since.clone(),
        }))
    }
}

/// A place as a sentence of the journal tells it, whoever reads it.
fn spoken(p: &StoragePlace) -> PlaceDraft {
    PlaceDraft {
        temperature: p.temperature_c.map(degrees).unwrap_or_default(),
        ..PlaceDraft::of(p, false)
    }
}

fn kind_order(l: &Lying) -> u8 {
    match l.thing {
        Keepable::Can(_) => 0,
        Keepable::Roll(_) => 1,
        Keepable::Binder(_) => 2,
    }
}

/// The thing that a kind's word and a number mean.
pub fn thing_of(kind: &str, id: i64) -> Option<Keepable> {
    match kind {
        "can" => Some(Keepable::Can(CanId(id))),
        "roll" => Some(Keepable::Roll(RollId(id))),
        "binder" => Some(Keepable::Binder(BinderId(id))),
        _ => None,
    }
}
