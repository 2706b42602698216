//! One bath from part-used bottles: typed, or those that have a card.

use super::super::super::entry::{self, Reader};
use super::super::super::error::at;
use super::super::super::{Outcome, Service};
use super::super::baths::BathView;
use super::super::times::same;
use super::mix::spoken;
use super::{Telling, VOLUMES, figure, read};
use crate::calc::words::shorten;
use jiff::civil::Date;
use serde::Deserialize;
use spoolwright_core::bounds::Bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::wet::bath::{BathKind, DAYS, ROLL_OF_36_M2};
use spoolwright_core::wet::bottles::{self, Bottle, Pour, STRENGTH, USED_M2, Unsaid, Want};
use spoolwright_core::wet::mix::{self, Dilution, MIX_ML, Wanted};
use spoolwright_core::{Error, Kind};

/// Films of 36 that a bottle has had.
const FILMS: Bounds = Bounds {
    what: "films of 36",
    unit: "films",
    min: 0.0,
    max: USED_M2.max / ROLL_OF_36_M2,
};

/// What is wanted of which bottles, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct BottlesDraft {
    /// How much is wanted.
    pub volume: String,
    /// Working solution when empty; 1+4 for a stock that is diluted 1+4.
    pub strength: String,
    /// Whether water may be added.
    pub water: String,
    /// Numbers of bath cards, apart by commas.
    pub bath: String,
    /// Bottles without a card, one a line.
    pub others: String,
}

/// What to pour from where.
#[derive(Debug, Clone, PartialEq)]
pub struct BottlesView {
    /// The bottles, cards first.
    pub bottles: Vec<Bottle>,
    /// What is wanted.
    pub want: Want,
    /// What to pour.
    pub pour: Pour,
    /// Whether somebody said how old every part is.
    pub age_said: bool,
    /// Whether somebody said what film every part has had.
    pub use_said: bool,
    /// What a new card starts from.
    pub card: Card,
    /// What limits it.
    pub caveats: Vec<Caveat>,
    /// Units of the answer.
    pub telling: Telling,
}

/// What is known of the mixture for its card.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Card {
    /// What it does, where cards said so.
    pub kind: Option<BathKind>,
    /// What it was mixed from.
    pub mixed_from: String,
    /// Its dilution.
    pub dilution: String,
    /// The day on which the oldest part was mixed; empty where nobody said it of every part.
    pub mixed_on: String,
    /// What went in.
    pub note: String,
}

impl BottlesView {
    /// Films of 36 that the mixture has had.
    pub fn films(&self) -> f64 {
        self.pour.used_m2 / ROLL_OF_36_M2
    }
}

impl Service {
    /// How much to pour from each bottle.
    ///
    /// # Errors
    /// Every fault of the draft; cards of different solutions; what the bottles cannot make.
    pub fn tool_bottles(&self, d: &BottlesDraft) -> Outcome<BottlesView> {
        let today = self.today();
        let mut r = Reader::new();
        let want = Want {
            volume_ml: r.number("volume", &d.volume, VOLUMES, &MIX_ML),
            strength: match d.strength.trim() {
                "" => 1.0,
                text => {
                    let read = strength(text);
                    r.keep("strength", read, 1.0)
                }
            },
            water: r.yes("water", &d.water),
        };
        let cards = self.ticked_baths(&mut r, &d.bath)?;
        let mut list: Vec<Bottle> = cards.iter().map(|c| of_card(c, &today)).collect();
        let first = list.len();
        let mut n = first;
        let others = read::lines(&mut r, "others", &d.others, |line| {
            n += 1;
            of_line(line, n)
        });
        let mut unsaid = Unsaid {
            age: vec![false; first],
            used: vec![false; first],
        };
        for line in others {
            unsaid.age.push(line.age_days.is_none());
            unsaid.used.push(line.used_m2.is_none());
            list.push(line.bottle());
        }
        if list.is_empty() && d.others.trim().is_empty() && d.bath.trim().is_empty() {
            r.fault(
                "others",
                Error::missing(
                    "bottles",
                    "at least one, such as: brown bottle, 350 ml, 40 days",
                    "Tick a bath, or write a bottle on a line.",
                ),
            );
        }
        r.finish()?;
        let pour = bottles::pour(&list, want).map_err(|e| at("volume", spoken(e)))?;
        let mut caveats = vec![Caveat::new(
            "same_solution",
            "Only bottles of the same solution belong together; that they are is your word.",
        )];
        if 0.0 < pour.used_m2 {
            caveats.push(Caveat::new(
                "part_used",
                "Part of it has had film: the mixture begins its life with that film, and with the age of its oldest part.",
            ));
        }
        caveats.extend(unsaid.caveats(&list, &pour));
        let age_said = unsaid.knows_age(&list);
        let use_said = unsaid.knows_use(&list, &pour);
        let telling = Telling::of(&self.settings()?, &[&d.volume]);
        Ok(BottlesView {
            card: card(&cards, &list, &pour, age_said.then_some(&*today), telling),
            age_said,
            use_said,
            bottles: list,
            want,
            pour,
            caveats,
            telling,
        })
    }

    /// The baths that are ticked, which must hold one solution.
    fn ticked_baths(&self, r: &mut Reader, ticked: &str) -> Outcome<Vec<BathView>> {
        let numbers: Vec<&str> = ticked
            .split(',')
            .map(str::trim)
            .filter(|t| !t.is_empty())
            .collect();
        if numbers.is_empty() {
            return Ok(Vec::new());
        }
        let all = self.baths()?;
        let mut found: Vec<BathView> = Vec::new();
        for number in numbers {
            match all.iter().find(|b| b.card.id.to_string() == number) {
                Some(b) if b.card.closed => r.fault(
                    "bath",
                    Error::new(
                        Kind::Inconsistent,
                        "a bath to pour from",
                        format!("{}, which is poured out", b.card.name),
                        "baths that are in use",
                        "Leave it out.",
                    ),
                ),
                Some(b) if !b.serves() => r.fault(
                    "bath",
                    Error::new(
                        Kind::Inconsistent,
                        "a bath to pour from",
                        format!("{}, which is spent by its card", b.card.name),
                        "baths that still serve",
                        "Leave it out: another is not stretched with a spent one.",
                    ),
                ),
                Some(b) if found.iter().any(|f| f.card.id == b.card.id) => {}
                Some(b) => found.push(b.clone()),
                None => r.fault(
                    "bath",
                    Error::new(
                        Kind::Unknown,
                        "a bath to pour from",
                        shorten(number),
                        "baths that have a card",
                        "Choose from the list.",
                    ),
                ),
            }
        }
        if let Some(one) = found.first() {
            let other = found.iter().find(|b| {
                b.card.kind != one.card.kind
                    || !same(&b.card.mixed_from, &one.card.mixed_from)
                    || !same(&b.card.dilution, &one.card.dilution)
            });
            if let Some(other) = other {
                r.fault(
                    "bath",
                    Error::new(
                        Kind::Inconsistent,
                        "baths of different solutions",
                        format!("{} and {}", one.card.name, other.card.name),
                        "baths of one kind, mixed from the same at one dilution",
                        "Choose bottles of one solution, or mend their cards.",
                    ),
                );
            }
        }
        Ok(found)
    }
}

fn of_card(bath: &BathView, today: &str) -> Bottle {
    let day = |text: &str| text.get(..10).and_then(|d| d.parse::<Date>().ok());
    let age = match (day(&bath.card.mixed_on), day(today)) {
        (Some(mixed), Some(today)) => f64::from((today - mixed).get_days()).max(0.0),
        _ => 0.0,
    };
    Bottle {
        name: bath.card.name.clone(),
        volume_ml: bath.card.volume_ml,
        strength: 1.0,
        age_days: age,
        used_m2: bath.life.area_m2,
    }
}

/// A strength in working strengths: a number, or the dilution of a stock.
fn strength(text: &str) -> Result<f64, Error> {
    if !text.contains('+') {
        return STRENGTH.check(entry::number(&STRENGTH, text, entry::PLAIN)?);
    }
    let dilution = Dilution::parse(text)?;
    let measures = mix::dilute(&dilution, Wanted::Total(1000.0))?;
    let share = measures
        .first()
        .map_or(1.0, |m| m.concentrate_ml() / m.total_ml);
    STRENGTH.check(1.0 / share)
}

/// A bottle without a card, as far as its line tells.
#[derive(Debug)]
struct Line {
    name: String,
    volume_ml: f64,
    strength: f64,
    age_days: Option<f64>,
    used_m2: Option<f64>,
}

impl Line {
    /// What nobody said is reckoned as mixed today and unused; a caveat says so.
    fn bottle(self) -> Bottle {
        Bottle {
            name: self.name,
            volume_ml: self.volume_ml,
            strength: self.strength,
            age_days: self.age_days.unwrap_or(0.0),
            used_m2: self.used_m2.unwrap_or(0.0),
        }
    }
}

/// A bottle on a line: `brown bottle, 350 ml, 40 days, 3 films, 1+4`, in any order.
fn of_line(line: &str, number: usize) -> Result<Line, Error> {
    const AGE: entry::Units = &[
        ("days", 1.0),
        ("day", 1.0),
        ("d", 1.0),
        ("weeks", 7.0),
        ("week", 7.0),
    ];
    const HAD: entry::Units = &[
        ("films", ROLL_OF_36_M2),
        ("film", ROLL_OF_36_M2),
        ("rolls", ROLL_OF_36_M2),
        ("roll", ROLL_OF_36_M2),
    ];
    let refuse = |given: &str, remedy: &str| {
        Error::new(
            Kind::OutOfRange,
            "a bottle",
            shorten(given),
            "a name, a volume, days old, films it has had, a dilution, apart by commas; only the volume is needed",
            remedy,
        )
    };
    let line = line.replace(", ", ";");
    let (mut name, mut volume, mut age, mut used, mut strong) = (None, None, None, None, None);
    for part in line
        .split(';')
        .map(|p| p.trim().trim_end_matches(','))
        .filter(|p| !p.is_empty())
    {
        let has_unit = part.contains(char::is_alphabetic);
        let read = |units: entry::Units, bounds: &Bounds| {
            has_unit
                .then(|| entry::number(bounds, part, units).ok())
                .flatten()
        };
        let twice = if let Some(ml) = read(VOLUMES, &MIX_ML) {
            volume.replace(MIX_ML.check(ml)?).is_some()
        } else if let Some(days) = read(AGE, &DAYS) {
            age.replace(DAYS.check(days)?).is_some()
        } else if let Some(m2) = read(HAD, &FILMS) {
            FILMS.check(m2 / ROLL_OF_36_M2)?;
            used.replace(m2).is_some()
        } else if part.contains('+') {
            strong.replace(strength(part)?).is_some()
        } else if part.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
            return Err(refuse(part, "Write a unit: ml, l, oz, days or films."));
        } else {
            let long = part.chars().count() > 80;
            if long {
                return Err(refuse(part, "Shorten the name."));
            }
            name.replace(part.to_owned()).is_some()
        };
        if twice {
            return Err(refuse(part, "Say each thing once on a line."));
        }
    }
    Ok(Line {
        name: name.unwrap_or_else(|| format!("bottle {number}")),
        volume_ml: volume
            .ok_or_else(|| refuse(&line, "Write how much is in it, such as 350 ml."))?,
        strength: strong.unwrap_or(1.0),
        age_days: age,
        used_m2: used,
    })
}

/// The card of the mixture; `today` only where somebody said how old every part is.
fn card(
    cards: &[BathView],
    list: &[Bottle],
    pour: &Pour,
    today: Option<&str>,
    telling: Telling,
) -> Card {
    let one = cards.first().map(|c| &c.card);
    let taken: Vec<String> = list
        .iter()
        .zip(&pour.take_ml)
        .filter(|(_, ml)| 0.0 < **ml)
        .map(|(b, ml)| format!("{} of {}", telling.volume(*ml), b.name))
        .collect();
    let films = pour.used_m2 / ROLL_OF_36_M2;
    let had = if 0.0 < films {
        format!("; {} films of 36 went through it before", figure(films))
    } else {
        String::new()
    };
    let mixed = today.and_then(|t| t.parse::<Date>().ok()).and_then(|day| {
        let days = jiff::Span::new()
            .try_days(pour.age_days.round() as i64)
            .ok()?;
        day.checked_sub(days).ok()
    });
    let note: String = format!("{}{had}", taken.join(", "))
        .chars()
        .take(400)
        .collect();
    Card {
        kind: one.map(|c| c.kind),
        mixed_from: one.map(|c| c.mixed_from.clone()).unwrap_or_default(),
        dilution: one.map(|c| c.dilution.clone()).unwrap_or_default(),
        mixed_on: mixed.map(|d| d.to_string()).unwrap_or_default(),
        note,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bottle_on_a_line() {
        let b = of_line("brown bottle, 0,35 l, 40 days, 3 films, 1+4", 1).unwrap();
        assert_eq!(
            (b.name.as_str(), b.volume_ml, b.age_days, b.strength),
            ("brown bottle", 350.0, Some(40.0), 5.0)
        );
        assert!((b.used_m2.unwrap() - 3.0 * ROLL_OF_36_M2).abs() < 1e-12);
        assert_eq!(
            (b.age_days, of_line("350 ml", 2).unwrap().age_days),
            (Some(40.0), None)
        );
        assert_eq!(of_line("350 ml", 2).unwrap().name, "bottle 2");
        for line in [
            "brown",
            "350",
            "350 ml, 40",
            "350 ml, 200 ml",
            "0 ml",
            "350 ml, 40 dys",
            "350 ml, 1+x",
        ] {
            assert!(of_line(line, 1).is_err(), "{line}");
        }
    }
}
