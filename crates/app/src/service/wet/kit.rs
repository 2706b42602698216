//! Tanks and reels: what films can be developed in.

use super::super::draft::{differences, pick};
use super::super::entry::{self, Reader};
use super::super::things::{saved, shut};
use super::super::{Made, Outcome, Request, Service, find_in};
use super::tools::trimmed;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::shelf::{ReelId, TankId};
use spoolwright_core::wet::record::{Reel, Tank};
use spoolwright_core::{Error, Kind};

/// How many reels of one kind there may be, or one tank may take.
pub const REELS: Bounds = Bounds {
    what: "reels",
    unit: "",
    min: 1.0,
    max: 40.0,
};
/// What a tank may hold.
pub const TANK_ML: Bounds = Bounds {
    what: "a tank's volume",
    unit: "ml",
    min: 20.0,
    max: 50_000.0,
};
/// Lengths of film, to millimetres.
const FILM_MM: entry::Units = &[("mm", 1.0), ("m", 1000.0), ("cm", 10.0), ("ft", 304.8)];
/// Volumes of liquid, to millilitres.
pub const MILLILITRES: entry::Units = super::tools::VOLUMES;

/// A kind of reel as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct ReelDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// How many of it you have; 1 when empty.
    #[arg(long, default_value = "")]
    pub count: String,
    /// The longest film it takes, such as 1.65 m; 1.65 m when empty.
    #[arg(long, default_value = "")]
    pub longest: String,
    /// Whether two short films may lie in it, one behind the other: yes or no; no when empty.
    #[arg(long, default_value = "")]
    pub takes_two: String,
}

impl ReelDraft {
    fn read(&self, id: ReelId, closed: bool) -> Outcome<Reel> {
        let mut r = Reader::new();
        let reel = Reel {
            id,
            name: r.name("a reel's name", &self.name),
            count: match self.count.trim() {
                "" => 1,
                text => r.whole("count", text, &REELS),
            },
            longest_mm: match self.longest.trim() {
                "" => spoolwright_core::ticket::REEL.to_mm(),
                text => r.number("longest", text, FILM_MM, &bounds::REEL_MM),
            },
            takes_two: r.yes("takes_two", &self.takes_two),
            closed,
        };
        r.finish()?;
        Ok(reel)
    }
}

impl From<&Reel> for ReelDraft {
    fn from(r: &Reel) -> Self {
        Self {
            name: r.name.clone(),
            count: r.count.to_string(),
            longest: format!("{} mm", r.longest_mm),
            takes_two: if r.takes_two { "yes" } else { "no" }.to_owned(),
        }
    }
}

/// A tank as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct TankDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// The kind of reel it takes: its name or number.
    #[arg(long, default_value = "")]
    pub reel: String,
    /// Millilitres with one reel, with two, and so on, apart by spaces: 290 590; or 10 oz 20 oz.
    #[arg(long, default_value = "")]
    pub volumes: String,
}

impl TankDraft {
    fn read(&self, id: TankId, closed: bool, reels: &[Reel]) -> Outcome<Tank> {
        let mut r = Reader::new();
        let name = r.name("a tank's name", &self.name);
        let reel = r
            .keep("reel", pick(reels, &self.reel, "reel", |r| &r.name), None)
            .map_or(ReelId(0), |r| r.id);
        let volume_ml: Vec<f64> = volumes(&self.volumes)
            .iter()
            .map(|v| r.number("volumes", v, MILLILITRES, &TANK_ML))
            .collect();
        let rising = volume_ml.windows(2).all(|w| w[0] <= w[1]);
        if volume_ml.is_empty() || REELS.max < volume_ml.len() as f64 || !rising {
            r.fault(
                "volumes",
                Error::new(
                    Kind::Inconsistent,
                    "a tank's volumes",
                    format!("{:?}", self.volumes),
                    "volumes with one reel, with two, and so on, none less than the one before",
                    "For a tank of two reels write two numbers, such as 290 590, or 10 oz 20 oz.",
                ),
            );
        }
        r.finish()?;
        Ok(Tank {
            id,
            name,
            reel,
            volume_ml,
            closed,
        })
    }
}

/// Volumes apart by spaces, each with its own unit, or with the unit that stands behind the last: `290 590`,
/// `16 oz 32 oz`, `16 32 oz`.
fn volumes(text: &str) -> Vec<String> {
    let mut each: Vec<(String, String)> = Vec::new();
    for word in text.split_whitespace() {
        match each.last_mut() {
            Some((_, unit)) if word.starts_with(char::is_alphabetic) => {
                *unit = format!("{unit} {word}").trim().to_owned();
            }
            _ => {
                let end = word.find(char::is_alphabetic).unwrap_or(word.len());
                each.push((word[..end].to_owned(), word[end..].to_owned()));
            }
        }
    }
    let last = each
        .last()
        .map_or_else(String::new, |(_, unit)| unit.clone());
    let alone = each.iter().rev().skip(1).all(|(_, unit)| unit.is_empty());
    each.iter()
        .map(|(digits, unit)| format!("{digits} {}", if alone { &last } else { unit }))
        .collect()
}

impl From<&Tank> for TankDraft {
    fn from(t: &Tank) -> Self {
        let volumes: Vec<String> = t.volume_ml.iter().map(|ml| trimmed(*ml, 1)).collect();
        Self {
            name: t.name.clone(),
            reel: t.reel.to_string(),
            volumes: volumes.join(" "),
        }
    }
}

/// A number as it is written out again: without the dust that reckoning in other units leaves behind.
pub(super) fn written(number: f64) -> f64 {
    (number * 1e9).round() / 1e9
}

impl Service {
    /// Every kind of reel, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn reels(&self) -> Outcome<Vec<Reel>> {
        self.all()
    }

    /// Every tank, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn tanks(&self) -> Outcome<Vec<Tank>> {
        self.all()
    }

    /// One kind of reel.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn reel(&self, id: ReelId) -> Outcome<Reel> {
        self.find(id)
    }

    /// One tank.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn tank(&self, id: TankId) -> Outcome<Tank> {
        self.find(id)
    }

    /// Adds a kind of reel (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or its name is taken.
    pub fn save_reel(
        &self,
        id: Option<ReelId>,
        draft: &ReelDraft,
        request: Request<'_>,
    ) -> Outcome<Made<ReelId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Reel>(change, id)).transpose()?;
            let reel = draft.read(
                id.unwrap_or(ReelId(0)),
                old.as_ref().is_some_and(|o| o.closed),
            )?;
            let put = change.put(&reel)?;
            let changed = old
                .as_ref()
                .map(|o| differences(&ReelDraft::from(o), &ReelDraft::from(&reel)));
            Ok((
                "reel.saved",
                saved(&format!("the reel {}", reel.name), changed),
                put,
            ))
        })
    }

    /// Adds a tank (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or its name is taken.
    pub fn save_tank(
        &self,
        id: Option<TankId>,
        draft: &TankDraft,
        request: Request<'_>,
    ) -> Outcome<Made<TankId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Tank>(change, id)).transpose()?;
            let reels = change.all::<Reel>()?;
            let tank = draft.read(
                id.unwrap_or(TankId(0)),
                old.as_ref().is_some_and(|o| o.closed),
                &reels,
            )?;
            let put = change.put(&tank)?;
            let changed = old
                .as_ref()
                .map(|o| differences(&TankDraft::from(o), &TankDraft::from(&tank)));
            Ok((
                "tank.saved",
                saved(&format!("the tank {}", tank.name), changed),
                put,
            ))
        })
    }

    /// Takes a kind of reel out of use, or brings it back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_reel(&self, id: ReelId, closed: bool, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let reel = Reel {
                closed,
                ..find_in::<Reel>(change, id)?
            };
            change.put(&reel)?;
            Ok((
                "reel.closed",
                format!("{} the reel {}.", shut(closed), reel.name),
                (),
            ))
        })
    }

    /// Takes a tank out of use, or brings it back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_tank(&self, id: TankId, closed: bool, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let tank = Tank {
                closed,
                ..find_in::<Tank>(change, id)?
            };
            change.put(&tank)?;
            Ok((
                "tank.closed",
                format!("{} the tank {}.", shut(closed), tank.name),
                (),
            ))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tanks_volumes_in_millilitres_and_ounces() {
        let reel = Reel {
            id: ReelId(1),
            name: "Wire".into(),
            count: 2,
            longest_mm: 1650.0,
            takes_two: false,
            closed: false,
        };
        let read = |volumes: &str| {
            let draft = TankDraft {
                name: "Short".into(),
                reel: "1".into(),
                volumes: volumes.into(),
            };
            let tank = draft.read(TankId(1), false, std::slice::from_ref(&reel));
            tank.map(|t| t.volume_ml.iter().map(|v| v.round()).collect::<Vec<_>>())
        };
        assert_eq!(read("290 590").unwrap(), [290.0, 590.0]);
        assert_eq!(read("290ml 0,59 l").unwrap(), [290.0, 590.0]);
        // A US fluid ounce is 29.57 ml.
        for ounces in ["16 oz 32 oz", "16oz 32oz", "16 32 fl oz"] {
            assert_eq!(read(ounces).unwrap(), [473.0, 946.0], "{ounces}");
        }
        assert!(read("16 hands").is_err() && read("oz").is_err() && read("").is_err());
    }
}
