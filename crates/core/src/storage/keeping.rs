//! What may be said of film by the place it lies in: a class of place, what sources ask for, and whether it is about to
//! go off.
//!
//! Sources speak of single temperatures; between them nothing is interpolated. "About to go off" is an own rule and says
//! so. How much speed old film has lost is the work of [`super::ageing`], nitrate of [`super::nitrate`].

use super::air::RH_PERCENT;
use super::nitrate;
use crate::bounds::{self, Bounds};
use crate::error::Error;
use crate::field::record::{PlaceKind, StoragePlace};
use crate::shelf::Base;
use crate::words::worded;

/// Months that film has been kept, or until it expires; expired film has less than none.
pub const MONTHS: Bounds = Bounds::new("months", "months", -2400.0, 2400.0);
/// Most that unexposed film is kept for up to six months, °C [T1].
pub const SHORT_C: f64 = 13.0;
/// Months of [T1].
pub const SHORT_MONTHS: f64 = 6.0;
/// Most that it is kept at for longer, °C [T2].
pub const LONG_C: f64 = -18.0;
/// Months before its end from which film is about to go off: own rule.
pub const SOON_MONTHS: f64 = 3.0;
/// Months in which exposed film is developed: common practice, no source.
pub const EXPOSED_MONTHS: f64 = 3.0;
/// What the sources' whole degrees Fahrenheit may be off when they are read as these, °C.
const ROUNDING_C: f64 = 0.4;

worded! {
    /// What a film is by now.
    Stage {
        /// Never exposed: a can, or a roll wound.
        #[default]
        Unexposed = "unexposed",
        /// Exposed and not yet developed.
        Exposed = "exposed",
        /// Developed: negatives.
        Developed = "developed",
    }
}

worded! {
    /// Classes of places [T15].
    Class {
        /// About 20 °C.
        #[default]
        Room = "room",
        /// About 12 °C.
        Cool = "cool",
        /// About 4 °C.
        Cold = "cold",
        /// 0 °C or less.
        Frozen = "frozen",
    }
}

impl Class {
    /// The class of a temperature.
    ///
    /// # Source
    /// [T15]: up to 0 °C frozen, else the nearest.
    pub fn of(temperature_c: f64) -> Self {
        if temperature_c <= 0.0 {
            return Self::Frozen;
        }
        let far = |c: &Self| (c.usual_c() - temperature_c).abs();
        let warm = [Self::Room, Self::Cool, Self::Cold];
        let nearest = warm.into_iter().min_by(|a, b| far(a).total_cmp(&far(b)));
        nearest.unwrap_or_default()
    }

    /// The class of a kind of place.
    pub const fn of_kind(kind: PlaceKind) -> Self {
        match kind {
            PlaceKind::Room => Self::Room,
            PlaceKind::Cool => Self::Cool,
            PlaceKind::Refrigerator => Self::Cold,
            PlaceKind::Freezer => Self::Frozen,
        }
    }

    /// The temperature to take for such a place when nobody has measured it.
    ///
    /// # Source
    /// [T15]; a freezer by [T5].
    pub const fn usual_c(self) -> f64 {
        match self {
            Self::Room => 20.0,
            Self::Cool => 12.0,
            Self::Cold => 4.0,
            Self::Frozen => -18.0,
        }
    }
}

/// A place's temperature in °C, and whether it is known: otherwise the usual one of its kind.
///
/// # Source
/// [T15], [T5].
pub fn temperature_of(place: &StoragePlace) -> (f64, bool) {
    let usual = Class::of_kind(place.kind).usual_c();
    (
        place.temperature_c.unwrap_or(usual),
        place.temperature_c.is_some(),
    )
}

/// Film in a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Keeping {
    /// What it is by now.
    pub stage: Stage,
    /// A colour film.
    pub colour: bool,
    /// Its base.
    pub base: Base,
    /// The place, °C.
    pub temperature_c: f64,
    /// Its relative humidity in percent, if known.
    pub rh_percent: Option<f64>,
    /// Months in this state: since it was bought, or exposed.
    pub kept_months: Option<f64>,
    /// Months until its expiry date, less than none beyond it.
    pub to_expiry_months: Option<f64>,
}

/// What one source says to that.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    /// Stable word.
    pub code: &'static str,
    /// Its key in the sources.
    pub key: &'static str,
    /// Whether the place does what it asks; none where that cannot be told.
    pub meets: Option<bool>,
    /// A sentence.
    pub text: String,
}

worded! {
    /// Whether film is about to go off.
    Going {
        /// Not yet.
        #[default]
        Fresh = "fresh",
        /// Within [`SOON_MONTHS`].
        Soon = "soon",
        /// Past its time.
        Over = "over",
        /// Frozen as [T2] asks: time hardly counts.
        Held = "held",
    }
}

/// The same with its reason; an own rule, not a source's.
#[derive(Debug, Clone, PartialEq)]
pub struct GoingOff {
    /// Which.
    pub going: Going,
    /// Months left, less than none past its time; none where nothing is counted.
    pub months_left: Option<f64>,
    /// A sentence.
    pub because: String,
}

/// Years that fresh acetate film lasts until vinegar syndrome sets in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Onset {
    /// Fewest by the sources.
    pub low: f64,
    /// Most by the sources.
    pub high: f64,
}

impl Keeping {
    /// Whether every number is within its bounds.
    ///
    /// # Errors
    /// Out of range.
    pub fn check(&self) -> Result<(), Error> {
        bounds::TEMPERATURE_C.check(self.temperature_c)?;
        self.rh_percent
            .map_or(Ok(50.0), |rh| RH_PERCENT.check(rh))?;
        for months in [self.kept_months, self.to_expiry_months] {
            months.map_or(Ok(0.0), |m| MONTHS.check(m))?;
        }
        Ok(())
    }

    fn at_most(&self, limit_c: f64) -> bool {
        self.temperature_c <= limit_c + ROUNDING_C
    }
}

/// Years to the onset of vinegar syndrome in acetate film that was fresh when it came there; none beyond the warmest or the
/// most humid place that a source speaks of.
///
/// # Units
/// °C, percent; years.
/// # Domain
/// [`bounds::TEMPERATURE_C`], [`RH_PERCENT`].
/// # Errors
/// Out of range.
/// # Source
/// [T11] at 50 %, onset as [T12]: at 10 °C, 13, 18 and 21 °C; between them the warmer row, and nothing more for a drier place.
pub fn acetate_onset(temperature_c: f64, rh_percent: f64) -> Result<Option<Onset>, Error> {
    const ROWS: [(f64, Onset); 4] = [
        (
            10.0,
            Onset {
                low: 150.0,
                high: 200.0,
            },
        ),
        (
            12.8,
            Onset {
                low: 100.0,
                high: 125.0,
            },
        ),
        (
            18.3,
            Onset {
                low: 50.0,
                high: 50.0,
            },
        ),
        (
            21.1,
            Onset {
                low: 40.0,
                high: 50.0,
            },
        ),
    ];
    let at = bounds::TEMPERATURE_C.check(temperature_c)?;
    if 50.0 < RH_PERCENT.check(rh_percent)? {
        return Ok(None);
    }
    Ok(ROWS.iter().find(|(up_to, _)| at <= *up_to).map(|r| r.1))
}

/// What the sources say to film in its place.
///
/// # Errors
/// Out of range.
/// # Source
/// [T1], [T2], [T17] for film to be developed; [T11] to [T14] for negatives; of nitrate the words of [`nitrate`] alone [N4].
pub fn remarks(kept: &Keeping) -> Result<Vec<Remark>, Error> {
    kept.check()?;
    if kept.base == Base::Nitrate {
        // Nothing is advised for it [N4].
        let words = nitrate::caveat(kept.base, None);
        return Ok(words
            .map(|words| Remark {
                code: words.code,
                key: "N4",
                meets: None,
                text: words.text,
            })
            .into_iter()
            .collect());
    }
    let mut all = match kept.stage {
        Stage::Unexposed => raw(kept),
        Stage::Exposed => vec![Remark {
            code: "develop_soon",
            key: "T1",
            meets: None,
            text: "What keeping does to an exposed film no source here says: develop it soon, and keep it as cool as \
                   unexposed film meanwhile (common practice, no source)."
                .to_owned(),
        }],
        Stage::Developed => negatives(kept)?,
    };
    if Class::of(kept.temperature_c) == Class::Frozen {
        all.push(Remark {
            code: "moisture_proof",
            key: "T17",
            meets: None,
            text: "In a freezer it must lie in packaging that keeps moisture out; freezing and thawing by itself did no harm in \
                   controlled tests. It warms up closed."
                .to_owned(),
        });
    }
    Ok(all)
}

fn raw(kept: &Keeping) -> Vec<Remark> {
    let (code, key, meets, text) = if kept.at_most(LONG_C) {
        (
            "long",
            "T2",
            true,
            "As cold as the makers' guide asks for film kept longer than six months.",
        )
    } else if kept.at_most(SHORT_C) {
        (
            "up_to_six_months",
            "T1",
            true,
            "Cool enough for up to six months by the makers' guide; for longer it asks for −18 °C.",
        )
    } else {
        (
            "too_warm",
            "T1",
            false,
            "Warmer than the 13 °C that the makers' guide asks for even for a few months; for how long film stands that, it does \
             not say.",
        )
    };
    vec![Remark {
        code,
        key,
        meets: Some(meets),
        text: text.to_owned(),
    }]
}

/// An archive's temperature for negatives, °C [T13].
fn archive_c(kept: &Keeping) -> f64 {
    if !kept.colour && kept.base == Base::Polyester {
        18.3
    } else {
        1.7
    }
}

/// Highest temperatures in °C, each with the humidity in percent up to which it counts [T14].
fn extended(kept: &Keeping) -> &'static [(f64, f64)] {
    match (kept.colour, kept.base) {
        (true, _) => &[(-10.0, 50.0), (-3.0, 40.0), (2.0, 30.0)],
        (false, Base::Polyester) => &[(21.0, 50.0)],
        (false, _) => &[(2.0, 50.0), (5.0, 40.0), (7.0, 30.0)],
    }
}

fn negatives(kept: &Keeping) -> Result<Vec<Remark>, Error> {
    // A base nobody knows is judged as acetate, which asks for more.
    let kind = match (kept.colour, kept.base) {
        (true, _) => "colour film",
        (false, Base::Polyester) => "black-and-white film on polyester",
        (false, _) => "black-and-white film on acetate",
    };
    let judged = if !kept.colour && kept.base == Base::Unknown {
        " What this one's base is nobody knows: it is judged as acetate."
    } else {
        ""
    };
    let limit = archive_c(kept);
    let dry = kept.rh_percent.map(|rh| (30.0..=40.0).contains(&rh));
    let cool = kept.at_most(limit);
    let mut all = vec![Remark {
        code: "archive",
        key: "T13",
        meets: if cool { dry } else { Some(false) },
        text: format!("An archive keeps {kind} at {limit:.0} °C and 30 to 40 %.{judged}"),
    }];
    let meets = kept.rh_percent.map(|rh| {
        let rows = extended(kept).iter();
        20.0 <= rh
            && rows
                .into_iter()
                .any(|(c, up_to)| kept.temperature_c <= *c && rh <= *up_to)
    });
    let told: Vec<String> = extended(kept)
        .iter()
        .map(|(c, up_to)| format!("{c:.0} °C to {up_to:.0} %"))
        .collect();
    all.push(Remark {
        code: "extended",
        key: "T14",
        meets,
        text: format!(
            "Most for extended keeping of {kind}, from memory: {}; not below 20 %.{judged}",
            told.join(", ").replace('-', "−")
        ),
    });
    let may_be_acetate = matches!(kept.base, Base::Acetate | Base::Unknown);
    if may_be_acetate && let Some(rh) = kept.rh_percent {
        let text = match acetate_onset(kept.temperature_c, rh)? {
            Some(Onset { low, high }) if low < high => format!(
                "Fresh acetate film lasts about {low:.0} to {high:.0} years here until vinegar syndrome sets in."
            ),
            Some(Onset { low, .. }) => {
                format!("Fresh acetate film lasts about {low:.0} years here until vinegar syndrome sets in.")
            }
            None => "Acetate film: no source found tells how long it lasts where it is warmer than 21 °C or more humid than \
                     50 %; less than 40 years."
                .to_owned(),
        };
        all.push(Remark {
            code: "vinegar",
            key: "T11",
            meets: None,
            text,
        });
    }
    Ok(all)
}

/// Whether film is about to go off; nothing is said of negatives, of nitrate, nor where no day is known.
///
/// Unexposed film counts to its expiry date, or six months where it has none; frozen as [T2] asks its time hardly counts.
/// Exposed film counts three months.
///
/// # Errors
/// Out of range.
/// # Source
/// Own rule on [T1] and [T2]; exposed film: common practice, no source.
pub fn going_off(kept: &Keeping) -> Result<Option<GoingOff>, Error> {
    kept.check()?;
    if kept.base == Base::Nitrate {
        return Ok(None);
    }
    if kept.stage == Stage::Unexposed && kept.at_most(LONG_C) {
        return Ok(Some(GoingOff {
            going: Going::Held,
            months_left: None,
            because: "Frozen at −18 °C or below, where film is kept for long.".to_owned(),
        }));
    }
    let counted = match (kept.stage, kept.to_expiry_months, kept.kept_months) {
        (Stage::Developed, ..) => None,
        (Stage::Exposed, _, kept) => kept.map(|m| {
            let said = "Exposed film is developed within three months, sooner is better";
            (EXPOSED_MONTHS - m, said.to_owned())
        }),
        (Stage::Unexposed, Some(left), _) => Some((
            left,
            "By its expiry date, which counts on cool keeping".to_owned(),
        )),
        (Stage::Unexposed, None, Some(m)) => {
            let warm = if kept.at_most(SHORT_C) {
                ""
            } else {
                ", and for a place as warm as this not even those"
            };
            let said = format!(
                "It has no expiry date; without freezing the makers' guide knows six months{warm}"
            );
            Some((SHORT_MONTHS - m, said))
        }
        (Stage::Unexposed, None, None) => None,
    };
    Ok(counted.map(|(left, because)| GoingOff {
        going: match left {
            l if l < 0.0 => Going::Over,
            l if l <= SOON_MONTHS => Going::Soon,
            _ => Going::Fresh,
        },
        months_left: Some(left),
        because: format!("{because}: a rule of thumb. A test tells more."),
    }))
}
