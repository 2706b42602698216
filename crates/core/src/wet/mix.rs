//! Mixing: dilutions, per cent from a stronger per cent, the warmth of mixed water, the least stock for the film.
//!
//! Volumes are taken to add up, as the trade does; strong acids and alcohol shrink by a few per cent when mixed.
//! What can be made from part-used bottles is [`super::bottles`]'s.

use crate::bounds::Bounds;
use crate::error::{Error, Kind};
use crate::words::worded;

use super::bath::{AREA_M2, ROLL_OF_36_M2};

/// A volume to be mixed; any unit of volume will do as long as it is the same throughout.
pub const MIX_ML: Bounds = Bounds::new("a volume", "ml", 0.1, 1_000_000.0);
/// One part of a dilution.
pub const PART: Bounds = Bounds::new("a part of a dilution", "parts", 0.01, 10_000.0);
/// Per cent of a substance in a solution.
pub const PERCENT: Bounds = Bounds::new("a strength", "%", 0.001, 100.0);
/// Temperature of water to be mixed.
pub const WATER_C: Bounds = Bounds::new("a temperature of water", "°C", 0.0, 100.0);
/// Least stock or concentrate for a roll of 36.
pub const STOCK_ML_PER_ROLL: Bounds =
    Bounds::new("the least stock for a roll", "ml", 0.1, 10_000.0);
/// Stock in a working solution: a thin dilution may hold next to none.
pub const HELD_ML: Bounds = Bounds::new("the stock in a working solution", "ml", 1e-9, 1_000_000.0);
/// Most parts that a dilution may name.
pub const MOST_PARTS: usize = 6;

worded! {
    /// How a dilution is meant.
    Reading {
        /// 1 part of concentrate and n parts of water: n + 1 parts in all.
        #[default]
        Plus = "plus",
        /// 1 part of concentrate in n parts in all.
        In = "in",
    }
}

/// A dilution as it is written: parts of one or more concentrates, then a figure for the water or the whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Dilution {
    /// Parts of each concentrate.
    pub concentrates: Vec<f64>,
    /// The last figure.
    pub last: f64,
    /// How it is meant; none where it was written in the way that some read as the one and some as the other.
    pub reading: Option<Reading>,
}

impl Dilution {
    /// From "1+25", "1+1+100", or "1:25", which is left open.
    ///
    /// # Errors
    /// [`Kind::Unknown`] when it cannot be read; a part out of range; more than [`MOST_PARTS`] parts.
    pub fn parse(text: &str) -> Result<Self, Error> {
        let unreadable = || {
            Error::new(
                Kind::Unknown,
                "dilution: cannot be read",
                format!("{:?}", text.chars().take(40).collect::<String>()),
                "parts such as 1+25, 1+1+100 or 1:25",
                "Write the parts of concentrate, then of water, with + between them.",
            )
        };
        let (sign, reading) = match (text.contains('+'), text.contains(':')) {
            (true, false) => ('+', Some(Reading::Plus)),
            (false, true) => (':', None),
            _ => return Err(unreadable()),
        };
        let mut parts = Vec::new();
        for part in text.split(sign) {
            let part = part.trim().replace(',', ".");
            // No sign, no exponent, no word for infinity.
            if !part.chars().all(|c| c.is_ascii_digit() || c == '.') {
                return Err(unreadable());
            }
            let number: f64 = part.parse().map_err(|_| unreadable())?;
            parts.push(PART.check_as("dilution: a part out of range", number)?);
        }
        if MOST_PARTS < parts.len() {
            return Err(Error::new(
                Kind::TooLarge,
                "dilution: too many parts",
                parts.len(),
                format!("2 to {MOST_PARTS}"),
                "Mix in two steps.",
            ));
        }
        let last = parts.pop().ok_or_else(unreadable)?;
        Ok(Self {
            concentrates: parts,
            last,
            reading,
        })
    }

    /// Parts of water when it is meant as `reading`.
    ///
    /// # Errors
    /// [`Kind::Impossible`] when the concentrates alone are more than the whole.
    fn water(&self, reading: Reading) -> Result<f64, Error> {
        let concentrates: f64 = self.concentrates.iter().sum();
        let water = match reading {
            Reading::Plus => self.last,
            Reading::In => self.last - concentrates,
        };
        if water < 0.0 {
            return Err(Error::new(
                Kind::Impossible,
                "dilution: the concentrate is more than the whole",
                format!("{concentrates} parts in {}", self.last),
                "no more parts of concentrate than in all",
                "Read it as parts of concentrate plus parts of water.",
            ));
        }
        Ok(water)
    }
}

/// What to measure out for a dilution.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    /// How the dilution is meant.
    pub reading: Reading,
    /// Each concentrate, ml.
    pub concentrates_ml: Vec<f64>,
    /// Water, ml.
    pub water_ml: f64,
    /// All of it, ml.
    pub total_ml: f64,
}

impl Measures {
    /// All concentrates together, ml.
    ///
    /// # Source
    /// Own derivation.
    pub fn concentrate_ml(&self) -> f64 {
        self.concentrates_ml.iter().sum()
    }
}

/// What is known of the volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// This much working solution.
    Total(f64),
    /// As much as this much of the first concentrate makes.
    FromConcentrate(f64),
}

/// Concentrates and water for a dilution, under each way that it can be meant: one when it was written with +.
///
/// # Units
/// ml, or any one unit of volume.
/// # Domain
/// Volume within [`MIX_ML`].
/// # Errors
/// Out of range; [`Kind::Impossible`] when no reading makes sense.
/// # Source
/// Arithmetic; that 1:n is read both ways is common practice, no source.
/// # Example
/// ```
/// use spoolwright_core::wet::mix::{self, Dilution, Wanted};
/// let d = Dilution::parse("1+25").unwrap();
/// let m = &mix::dilute(&d, Wanted::Total(520.0)).unwrap()[0];
/// assert!((m.concentrate_ml() - 20.0).abs() < 1e-9 && (m.water_ml - 500.0).abs() < 1e-9);
/// // 1:25 may be 1+25 or one part in 25.
/// let d = Dilution::parse("1:25").unwrap();
/// assert_eq!(mix::dilute(&d, Wanted::Total(500.0)).unwrap().len(), 2);
/// ```
pub fn dilute(dilution: &Dilution, wanted: Wanted) -> Result<Vec<Measures>, Error> {
    let (Wanted::Total(ml) | Wanted::FromConcentrate(ml)) = wanted;
    MIX_ML.check(ml)?;
    let readings: &[Reading] = match &dilution.reading {
        Some(reading) => std::slice::from_ref(reading),
        None => Reading::ALL,
    };
    let mut found = Vec::new();
    let mut fault = None;
    for &reading in readings {
        match dilution.water(reading) {
            Ok(water) => {
                let parts: f64 = dilution.concentrates.iter().sum::<f64>() + water;
                let part_ml = match wanted {
                    Wanted::Total(total) => total / parts,
                    Wanted::FromConcentrate(first) => first / dilution.concentrates[0],
                };
                found.push(Measures {
                    reading,
                    concentrates_ml: dilution.concentrates.iter().map(|p| p * part_ml).collect(),
                    water_ml: water * part_ml,
                    total_ml: parts * part_ml,
                });
            }
            Err(e) => fault = Some(e),
        }
    }
    match fault {
        Some(e) if found.is_empty() => Err(e),
        _ => Ok(found),
    }
}

/// Strong solution and water for a wanted strength.
///
/// # Units
/// `total_ml` and both results in ml, or any one unit of volume; strengths in per cent of the volume, or both of the
/// weight in a volume.
/// # Domain
/// `total_ml` within [`MIX_ML`], strengths within [`PERCENT`], the wanted one not above the strong one.
/// # Errors
/// Out of range; [`Kind::Impossible`] for a wanted strength above the strong one.
/// # Source
/// [D30]: total × wanted / strong.
/// # Example
/// ```
/// // 32 oz of 28 % acetic acid from 99.5 %: 9.0 oz and 23.0 oz of water.
/// let (acid, water) = spoolwright_core::wet::mix::weaken(32.0, 99.5, 28.0).unwrap();
/// assert!((acid - 9.0).abs() < 0.05 && (water - 23.0).abs() < 0.05);
/// ```
pub fn weaken(
    total_ml: f64,
    strong_percent: f64,
    wanted_percent: f64,
) -> Result<(f64, f64), Error> {
    let total = MIX_ML.check(total_ml)?;
    let strong = PERCENT.check(strong_percent)?;
    let wanted = PERCENT.check(wanted_percent)?;
    if strong < wanted {
        return Err(Error::new(
            Kind::Impossible,
            "wanted_percent: stronger than what it is made from",
            format!("{wanted} % from {strong} %"),
            format!("up to {strong} %"),
            "Start from a stronger solution.",
        ));
    }
    let of_strong = total * wanted / strong;
    Ok((of_strong, (total - of_strong).max(0.0)))
}

/// Stock or concentrate for the film of one load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockCheck {
    /// Least stock that the film needs, ml.
    pub needed_ml: f64,
    /// Stock that the working solution holds, ml.
    pub held_ml: f64,
    /// Working solution at the same dilution that would hold enough, ml.
    pub working_ml: f64,
    /// Film area that the stock held is enough for, m².
    pub enough_for_m2: f64,
}

impl StockCheck {
    /// Whether there is enough.
    pub fn is_enough(&self) -> bool {
        self.needed_ml <= self.held_ml * (1.0 + 1e-9)
    }
}

/// Whether `held_ml` of stock in `total_ml` of working solution is enough for the film: a weak dilution may fill the
/// tank and yet hold too little developer.
///
/// # Units
/// ml, m²; `least_ml_per_roll` in ml of stock for a roll of 36 [D12].
/// # Domain
/// `total_ml` within [`MIX_ML`], `held_ml` within [`HELD_ML`] and not above `total_ml`; `least_ml_per_roll` within [`STOCK_ML_PER_ROLL`];
/// `area_m2` within [`AREA_M2`].
/// # Errors
/// Out of range; [`Kind::Inconsistent`] for more stock than solution.
/// # Source
/// Own derivation; the least stock is its user's figure, in proportion to the area [D12].
pub fn stock_check(
    held_ml: f64,
    total_ml: f64,
    least_ml_per_roll: f64,
    area_m2: f64,
) -> Result<StockCheck, Error> {
    let held = HELD_ML.check_as("held_ml: out of range", held_ml)?;
    let total = MIX_ML.check_as("total_ml: out of range", total_ml)?;
    let least = STOCK_ML_PER_ROLL.check(least_ml_per_roll)?;
    let area = AREA_M2.check(area_m2)?;
    if total * (1.0 + 1e-9) < held {
        return Err(Error::new(
            Kind::Inconsistent,
            "more stock than working solution",
            format!("{held} ml in {total} ml"),
            "no more stock than working solution",
            "Give the volume of the whole working solution.",
        ));
    }
    let needed = least * area / ROLL_OF_36_M2;
    Ok(StockCheck {
        needed_ml: needed,
        held_ml: held,
        working_ml: needed * total / held,
        enough_for_m2: held / least * ROLL_OF_36_M2,
    })
}

/// Hot and cold water for `total_ml` at a wanted temperature: equal heat capacity, nothing lost to the vessel.
///
/// # Units
/// °C; ml.
/// # Domain
/// Temperatures within [`WATER_C`], the wanted one from the cold to the hot; `total_ml` within [`MIX_ML`].
/// # Errors
/// Out of range; [`Kind::Impossible`] for a temperature that the two cannot give.
/// # Source
/// Own derivation: conservation of heat.
pub fn water(hot_c: f64, cold_c: f64, wanted_c: f64, total_ml: f64) -> Result<(f64, f64), Error> {
    let hot = WATER_C.check(hot_c)?;
    let cold = WATER_C.check(cold_c)?;
    let wanted = WATER_C.check(wanted_c)?;
    let total = MIX_ML.check(total_ml)?;
    if !(cold <= wanted && wanted <= hot) {
        return Err(Error::new(
            Kind::Impossible,
            "wanted_c: not between the two waters",
            format!("{wanted} °C from {cold} °C and {hot} °C"),
            format!("{cold} to {hot} °C"),
            "Warm or cool one of the two first.",
        ));
    }
    let share = if hot == cold {
        0.0
    } else {
        (wanted - cold) / (hot - cold)
    };
    Ok((total * share, total * (1.0 - share)))
}
