//! Long exposures: how long to expose when the meter asks for more than a second.
//!
//! Film loses sensitivity in weak light, each stock in its own way. There are three shapes of rule (a power, an added
//! time, a table), and those that circulate disagree by a factor of two and more; whoever names none gets all of them
//! side by side and no answer. It does not fit rules to measurements: a person's own pairs are a table.

use crate::bounds::Bounds;
use crate::caveat::Caveat;
use crate::error::{Error, Kind};

use super::mark::Mark;

/// A time that a meter asks for.
pub const METERED_S: Bounds = Bounds {
    what: "a metered time",
    unit: "s",
    min: 0.0001,
    max: 86_400.0,
};
/// A time given instead.
pub const CORRECTED_S: Bounds = Bounds {
    what: "a corrected time",
    unit: "s",
    min: 0.0001,
    max: 10_000_000.0,
};
/// Exponent of the power rule.
pub const POWER: Bounds = Bounds {
    what: "the exponent of the power rule",
    unit: "",
    min: 1.0,
    max: 2.0,
};
/// Schwarzschild's exponent.
pub const SCHWARZSCHILD: Bounds = Bounds {
    what: "Schwarzschild's exponent",
    unit: "",
    min: 0.5,
    max: 1.0,
};
/// Factor of the added time.
pub const ADDED: Bounds = Bounds {
    what: "the factor of the added time",
    unit: "",
    min: 0.0,
    max: 1.0,
};
/// Rows of a table.
pub const ROWS: std::ops::RangeInclusive<usize> = 2..=200;
/// The power rule begins here, in seconds [E1].
const POWER_FROM_S: f64 = 1.0;
/// Nothing was found to check a power or an added time against beyond this, in seconds [E2].
pub const CHECKED_TO_S: f64 = 100.0;
/// Exponent of the added time [E3].
const ADDED_EXPONENT: f64 = 1.62;

/// The shape of a rule with its number.
#[derive(Debug, Clone, PartialEq)]
pub enum Method {
    /// Tc = Tm^p above 1 s, unchanged up to it [E1].
    Power {
        /// p.
        p: f64,
    },
    /// Tc = Tm + a·Tm^1.62 [E3].
    Added {
        /// a.
        a: f64,
    },
    /// Pairs of metered and corrected seconds, both rising; between them straight on logarithms, beyond them nothing.
    Table {
        /// The pairs.
        rows: Vec<(f64, f64)>,
    },
}

/// A rule with its name and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// What a person calls it.
    pub name: String,
    /// Its shape and number.
    pub method: Method,
    /// Where it comes from.
    pub mark: Mark,
}

impl Method {
    /// The power rule.
    ///
    /// # Errors
    /// Out of [`POWER`].
    pub fn power(p: f64) -> Result<Self, Error> {
        Ok(Self::Power { p: POWER.check(p)? })
    }

    /// The power rule from Schwarzschild's exponent: I·t^q = const, so p = 1/q.
    ///
    /// # Errors
    /// Out of [`SCHWARZSCHILD`].
    /// # Source
    /// [E7].
    pub fn schwarzschild(q: f64) -> Result<Self, Error> {
        Ok(Self::Power {
            p: 1.0 / SCHWARZSCHILD.check(q)?,
        })
    }

    /// The added-time rule.
    ///
    /// # Errors
    /// Out of [`ADDED`].
    pub fn added(a: f64) -> Result<Self, Error> {
        Ok(Self::Added { a: ADDED.check(a)? })
    }

    /// A table of metered and corrected seconds.
    ///
    /// # Errors
    /// Too few or too many rows, a time out of range; rows out of order, or a corrected time below the metered one
    /// ([`Kind::Inconsistent`]).
    pub fn table(rows: &[(f64, f64)]) -> Result<Self, Error> {
        if !ROWS.contains(&rows.len()) {
            return Err(Error::new(
                if rows.len() < *ROWS.start() {
                    Kind::Missing
                } else {
                    Kind::TooLarge
                },
                "rows of a table of exposures",
                rows.len(),
                format!("{} to {} rows", ROWS.start(), ROWS.end()),
                "Give pairs of metered and corrected seconds.",
            ));
        }
        for (i, &(metered, corrected)) in rows.iter().enumerate() {
            METERED_S.check_as(&format!("the metered time of row {}", i + 1), metered)?;
            CORRECTED_S.check_as(&format!("the corrected time of row {}", i + 1), corrected)?;
            let before = i.checked_sub(1).map(|i| rows[i]);
            let falls = before.is_some_and(|b| metered <= b.0 || corrected <= b.1);
            if falls || corrected < metered {
                return Err(Error::new(
                    Kind::Inconsistent,
                    format!("row {} of the table does not fit", i + 1),
                    format!("{metered} s to {corrected} s"),
                    "times that rise from row to row, the corrected one never below the metered one",
                    "Put the rows in order; each holds the metered time first.",
                ));
            }
        }
        Ok(Self::Table {
            rows: rows.to_vec(),
        })
    }

    /// The word for its shape.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Power { .. } => "power",
            Self::Added { .. } => "added",
            Self::Table { .. } => "table",
        }
    }

    /// The time to give when the meter asks for `metered_s`.
    ///
    /// # Units
    /// Seconds.
    /// # Domain
    /// [`METERED_S`]; a table answers from its first row to its last.
    /// # Errors
    /// Out of range; beyond the table ([`Kind::Impossible`]).
    /// # Source
    /// [E1] the power, [E3] the added time; between rows of a table: own derivation.
    /// # Example
    /// ```
    /// use spoolwright_core::wet::reciprocity::Method;
    /// let given = Method::power(1.31).unwrap().corrected_s(10.0).unwrap();
    /// assert!((given - 20.4).abs() < 0.05);
    /// ```
    pub fn corrected_s(&self, metered_s: f64) -> Result<f64, Error> {
        let metered = METERED_S.check(metered_s)?;
        match self {
            Self::Power { p } if POWER_FROM_S < metered => Ok(metered.powf(*p)),
            Self::Power { .. } => Ok(metered),
            Self::Added { a } => Ok(metered + a * metered.powf(ADDED_EXPONENT)),
            Self::Table { rows } => rows
                .windows(2)
                .find(|w| w[0].0 <= metered && metered <= w[1].0)
                .map(|w| {
                    let along = (metered / w[0].0).ln() / (w[1].0 / w[0].0).ln();
                    w[0].1 * (w[1].1 / w[0].1).powf(along)
                })
                .ok_or_else(|| beyond(rows, metered)),
        }
    }
}

fn beyond(rows: &[(f64, f64)], metered: f64) -> Error {
    let (first, last) = (rows[0].0, rows[rows.len() - 1].0);
    Error::new(
        Kind::Impossible,
        "the table does not reach that far",
        format!("{metered} s"),
        format!("{first} to {last} s"),
        "Add a row, or choose another rule.",
    )
}

/// How much more a corrected time gives, in stops.
///
/// # Units
/// Seconds; stops.
/// # Source
/// [X1].
pub fn stops(metered_s: f64, corrected_s: f64) -> f64 {
    (corrected_s / metered_s).log2()
}

/// The rules that circulate, each found for some other film than yours, so each a rule of thumb.
///
/// # Source
/// [E1] one film's sheet, [E3] the least and the most of five films tested, [E4] a hobby's table.
pub fn circulating() -> Vec<Model> {
    let model = |name: &str, method| Model {
        name: name.to_owned(),
        method,
        mark: Mark::RuleOfThumb,
    };
    vec![
        model(
            "power 1.31, one ISO 400 film's sheet",
            Method::Power { p: 1.31 },
        ),
        model(
            "added time 0.046, least of five films",
            Method::Added { a: 0.046 },
        ),
        model(
            "added time 0.169, most of five films",
            Method::Added { a: 0.169 },
        ),
        model(
            "rough table for conventional films",
            Method::Table {
                rows: vec![
                    (4.0, 8.0),
                    (8.0, 21.0),
                    (15.0, 51.0),
                    (30.0, 143.0),
                    (60.0, 409.0),
                ],
            },
        ),
    ]
}

/// What one rule says.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// The rule.
    pub model: Model,
    /// The time to give in seconds; none where a table does not reach.
    pub corrected_s: Option<f64>,
}

/// What several rules say of one exposure.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Each rule with its answer.
    pub said: Vec<Said>,
    /// The longest answer over the shortest; none without an answer.
    pub disagreement: Option<f64>,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// What one chosen rule says, with its caveats.
///
/// # Errors
/// As [`Method::corrected_s`].
/// # Source
/// [E6] for what no rule can do.
pub fn by(model: &Model, metered_s: f64) -> Result<(f64, Vec<Caveat>), Error> {
    let corrected = model.method.corrected_s(metered_s)?;
    let mut caveats = Vec::new();
    // An added time changes short exposures too, where nobody tested it [E3].
    let changed = POWER_FROM_S < metered_s || corrected != metered_s;
    if changed && model.mark != Mark::Measured {
        caveats.push(match model.mark {
            Mark::Sheet => Caveat::new(
                "not_measured",
                "From a sheet, not measured on this batch: bracket towards more.",
            ),
            _ => Caveat::new(
                "not_measured",
                "A rule of thumb, not measured on this film: bracket, and write down what came out.",
            ),
        });
        caveats.push(colour());
    }
    if !matches!(model.method, Method::Table { .. }) {
        caveats.extend(far_beyond(metered_s));
    }
    Ok((corrected, caveats))
}

/// What all the rules that circulate say; none of them is picked.
///
/// # Errors
/// Out of [`METERED_S`].
/// # Source
/// [E1], [E3], [E4]. At 30 s [E3]'s highest, [E1] and [E4] say 72, 86 and 143 s.
pub fn compare(metered_s: f64) -> Result<Comparison, Error> {
    METERED_S.check(metered_s)?;
    let said: Vec<Said> = circulating()
        .into_iter()
        .map(|model| {
            let corrected_s = model.method.corrected_s(metered_s).ok();
            Said { model, corrected_s }
        })
        .collect();
    let times: Vec<f64> = said.iter().filter_map(|s| s.corrected_s).collect();
    let longest = times.iter().copied().reduce(f64::max);
    let shortest = times.iter().copied().reduce(f64::min);
    let disagreement = longest.zip(shortest).map(|(long, short)| long / short);
    let mut caveats = vec![Caveat::new(
        "no_model_picked",
        match disagreement {
            Some(times) if 1.005 < times => format!(
                "The rules disagree by a factor of {times:.2} and none of them is measured on your film: pick one, or give your own."
            ),
            _ => "None of these rules is measured on your film: pick one, or give your own."
                .to_owned(),
        },
    )];
    if said.iter().any(|s| s.corrected_s.is_none()) {
        caveats.push(Caveat::new(
            "beyond_table",
            "The table does not reach this time and says nothing.",
        ));
    }
    if POWER_FROM_S < metered_s {
        caveats.push(colour());
    }
    caveats.extend(far_beyond(metered_s));
    Ok(Comparison {
        said,
        disagreement,
        caveats,
    })
}

fn far_beyond(metered_s: f64) -> Option<Caveat> {
    (CHECKED_TO_S < metered_s).then(|| {
        Caveat::new(
            "far_beyond",
            format!("Beyond {CHECKED_TO_S} s there is nothing to check such a rule against: the time is an extrapolation. Bracket by whole stops."),
        )
    })
}

fn colour() -> Caveat {
    Caveat::new(
        "own_data",
        "Slow, tabular-grain and colour films need figures of their own; the layers of a colour film fail differently, and no time makes that neutral.",
    )
}
