//! Wedge tests, readings and stock cards as typed; a form and a command line fill the same draft.

use super::table::{self, Table};
use crate::minutes::{developing_times, typed};
use crate::service::Outcome;
use crate::service::draft::pick;
use crate::service::entry::{self, PLAIN, Reader};
use crate::service::settings::Settings;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::shelf::{Can, Process, Stock, WedgeTestId};
use spoolwright_core::wedge::record::{Channel, Way, WedgeTest};
use spoolwright_core::wedge::shots::{OFFSET_STOPS, STRIPS, USUAL_OFFSETS};
use spoolwright_core::wedge::{
    FEWEST_STEPS, ISO_CONTRAST, MAX_STEPS, Material, Measure, NAMED_TARGETS, Target,
};
use spoolwright_core::{Error, Kind};

/// Steps of the usual wedge when none is given: 21 of 0.15 from 0.05 ([S18]).
pub const USUAL_WEDGE: (u32, f64, f64) = (21, 0.15, 0.05);
/// Developing times of a test in camera when none is given, minutes (common practice, no source).
pub const USUAL_TIMES: [f64; 3] = [5.0, 8.0, 12.0];

/// A bath, unlike a shelf, is liquid.
const BATH_C: Bounds = Bounds {
    what: "a bath's temperature",
    unit: "°C",
    min: 0.0,
    max: 60.0,
};
/// A wedge test as typed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct TestDraft {
    /// What to call it; the stock and the day when empty.
    #[arg(long, default_value = "")]
    pub name: String,
    /// The can the film comes from: its letters or number.
    #[arg(long, default_value = "")]
    pub can: String,
    /// The stock under test; the can's when empty.
    #[arg(long, default_value = "")]
    pub stock: String,
    /// in-camera, relative (a wedge, exposure unknown) or absolute (a wedge, exposure known); in-camera when empty.
    #[arg(long, default_value = "")]
    pub way: String,
    /// Stops from the meter reading, or wedge densities, apart by spaces; the usual ones when empty.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub steps: String,
    /// log10 lux-seconds that no density would get; only where the exposure is known.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub log_h_at_zero_density: String,
    /// EI the meter is set to, in camera.
    #[arg(long, default_value = "")]
    pub meter_ei: String,
    /// Developing times, such as 5 8:20 12, in minutes, apart by spaces; 5 8 12 when empty.
    #[arg(long, default_value = "")]
    pub times: String,
    /// Developer.
    #[arg(long, default_value = "")]
    pub developer: String,
    /// Its dilution, such as 1+9.
    #[arg(long, default_value = "")]
    pub dilution: String,
    /// Temperature of the bath, such as 20 C or 68 F.
    #[arg(long, default_value = "")]
    pub temperature: String,
    /// Agitation, in words.
    #[arg(long, default_value = "")]
    pub agitation: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl TestDraft {
    /// A test as a form shows it, to be changed.
    pub fn shown(test: &WedgeTest, stock: &Stock, can: Option<&str>, settings: &Settings) -> Self {
        let list = |all: &[f64]| all.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
        let text = |n: Option<f64>| n.map(|n| n.to_string()).unwrap_or_default();
        let degrees = |c: f64| match settings.fahrenheit {
            true => ((c * 1.8 + 32.0) * 1e6).round() / 1e6,
            false => c,
        };
        Self {
            name: test.name.clone(),
            can: can.unwrap_or_default().to_owned(),
            stock: stock.name.clone(),
            way: test.way.word().to_owned(),
            steps: list(&test.steps),
            log_h_at_zero_density: text(test.log_h_at_zero_density),
            meter_ei: text(test.meter_ei),
            times: all_told(&test.planned_min),
            developer: test.developer.clone(),
            dilution: test.dilution.clone(),
            temperature: text(test.temperature_c.map(degrees)),
            agitation: test.agitation.clone(),
            note: test.note.clone(),
        }
    }

    pub(super) fn read(
        &self,
        id: WedgeTestId,
        (stocks, cans): (&[Stock], &[Can]),
        today: &str,
        fahrenheit: bool,
    ) -> Outcome<WedgeTest> {
        let mut r = Reader::new();
        let can = if self.can.trim().is_empty() {
            None
        } else {
            r.keep("can", pick(cans, &self.can, "can", |c| &c.letters), None)
        };
        let stock = match can {
            Some(can) if self.stock.trim().is_empty() => stocks.iter().find(|s| s.id == can.stock),
            _ => r.keep(
                "stock",
                pick(stocks, &self.stock, "stock", |s| &s.name),
                None,
            ),
        };
        if let (Some(can), Some(stock)) = (can, stock)
            && can.stock != stock.id
        {
            r.fault(
                "stock",
                Error::new(
                    Kind::Inconsistent,
                    "stock under test",
                    stock.name.clone(),
                    format!("the stock in can {}", can.letters),
                    "Choose the can's stock, or leave one of the two empty.",
                ),
            );
        }
        let way = r.word("way", &self.way, Way::from_word);
        let step = match way {
            Way::InCamera => &OFFSET_STOPS,
            Way::Relative | Way::Absolute => &bounds::WEDGE_DENSITY,
        };
        let mut steps = numbers(&mut r, "steps", &self.steps, step);
        if steps.is_empty() {
            steps = usual_steps(way);
        }
        check_steps(&mut r, &steps, way);
        let mut planned_min = r.keep("times", developing_times(&self.times), Vec::new());
        if planned_min.is_empty() {
            planned_min = USUAL_TIMES.to_vec();
        }
        planned_min.sort_by(f64::total_cmp);
        if planned_min.windows(2).any(|w| w[0] == w[1]) {
            r.fault(
                "times",
                Error::new(
                    Kind::Inconsistent,
                    "developing times",
                    self.times.clone(),
                    "times that differ",
                    "Give each strip a time of its own; a third more each time is a good step.",
                ),
            );
        }
        if way == Way::InCamera {
            r.keep(
                "times",
                STRIPS.check(planned_min.len() as f64).map(|_| ()),
                (),
            );
        }
        let log_h = r.optional(
            "log_h_at_zero_density",
            &self.log_h_at_zero_density,
            PLAIN,
            &bounds::LOG_EXPOSURE,
        );
        if way == Way::Absolute && log_h.is_none() && self.log_h_at_zero_density.trim().is_empty() {
            r.fault(
                "log_h_at_zero_density",
                Error::missing(
                    bounds::LOG_EXPOSURE.what,
                    bounds::LOG_EXPOSURE.allowed(),
                    "Enter it from the light source's calibration, or choose an unknown exposure.",
                ),
            );
        }
        if way != Way::Absolute && log_h.is_some() {
            r.fault(
                "log_h_at_zero_density",
                misplaced(
                    bounds::LOG_EXPOSURE.what,
                    &self.log_h_at_zero_density,
                    way,
                    "Leave it empty, or choose a known exposure.",
                ),
            );
        }
        let temperature_c = r.temperature("temperature", &self.temperature, fahrenheit);
        if let Some(t) = temperature_c {
            r.keep("temperature", BATH_C.check(t).map(|_| ()), ());
        }
        let ei = r.optional("meter_ei", &self.meter_ei, entry::SPEED, &bounds::SPEED_ISO);
        if way != Way::InCamera && ei.is_some() {
            r.fault(
                "meter_ei",
                misplaced(
                    "the EI the meter is set to",
                    &self.meter_ei,
                    way,
                    "Leave it empty: no meter sets the exposure through a wedge.",
                ),
            );
        }
        let name = match self.name.trim() {
            "" => String::new(),
            _ => r.name("a test's name", &self.name),
        };
        let test = WedgeTest {
            id,
            name: match (name.is_empty(), stock) {
                (true, Some(stock)) => {
                    let short: String = stock.name.chars().take(60).collect();
                    format!("{short}, {today}")
                }
                _ => name,
            },
            stock: stock.map_or(spoolwright_core::shelf::StockId(0), |s| s.id),
            can: can.map(|c| c.id),
            way,
            steps,
            log_h_at_zero_density: log_h,
            meter_ei: ei,
            developer: r.free("developer", "a developer", &self.developer, 80),
            dilution: r.free("dilution", "a dilution", &self.dilution, 40),
            temperature_c,
            agitation: r.free("agitation", "an agitation", &self.agitation, 120),
            planned_min,
            ticket: None,
            begun_on: today.to_owned(),
            note: r.free("note", "a note", &self.note, 400),
            closed: false,
        };
        r.finish()?;
        Ok(test)
    }
}

/// A figure that belongs to another way of exposing.
fn misplaced(what: &str, given: &str, way: Way, remedy: &str) -> Error {
    Error::new(
        Kind::Inconsistent,
        what,
        given.trim(),
        format!("nothing, for the way {}", way.word()),
        remedy,
    )
}

/// What strips of a stock of that process are made of.
pub(crate) const fn material_of(process: Process) -> Material {
    match process {
        Process::Negative => Material::Negative,
        Process::ColourNegative => Material::ColourNegative,
        Process::Reversal | Process::ColourReversal => Material::Reversal,
    }
}

/// The lights strips of a stock of that process are read in.
pub(crate) const fn channels_of(process: Process) -> &'static [Channel] {
    match process {
        Process::Negative | Process::Reversal => &[Channel::Visual],
        Process::ColourNegative | Process::ColourReversal => {
            &[Channel::Red, Channel::Green, Channel::Blue]
        }
    }
}

/// The steps a test has unless told otherwise.
pub fn usual_steps(way: Way) -> Vec<f64> {
    let (count, by, first) = USUAL_WEDGE;
    match way {
        Way::InCamera => USUAL_OFFSETS.to_vec(),
        // To the hundredth: 0.05 + 2 × 0.15 is 0.35, not 0.35000000000000003.
        Way::Relative | Way::Absolute => (0..count)
            .map(|i| ((first + f64::from(i) * by) * 100.0).round() / 100.0)
            .collect(),
    }
}

fn check_steps(r: &mut Reader, steps: &[f64], way: Way) {
    let rising = steps.windows(2).all(|w| w[0] < w[1]);
    let falling = steps.windows(2).all(|w| w[0] > w[1]);
    if !(FEWEST_STEPS..=MAX_STEPS).contains(&steps.len()) {
        r.fault(
            "steps",
            Error::new(
                Kind::OutOfRange,
                "steps of a test",
                format!("{} steps", steps.len()),
                format!("{FEWEST_STEPS} to {MAX_STEPS} steps"),
                "Enter every step of the wedge, or every exposure in stops.",
            ),
        );
    } else if !(rising || falling && way != Way::InCamera) {
        r.fault(
            "steps",
            Error::new(
                Kind::Inconsistent,
                "steps of a test",
                "steps out of order",
                match way {
                    Way::InCamera => "stops from least light to most, each once",
                    Way::Relative | Way::Absolute => {
                        "steps that go one way, each different from the next"
                    }
                },
                "Enter them in the order they lie on the strip.",
            ),
        );
    }
}

/// Times apart by spaces, told so that each is read back as it is.
fn all_told(times: &[f64]) -> String {
    let all: Vec<String> = times.iter().map(|t| typed(*t)).collect();
    all.join(" ")
}

/// Numbers apart by spaces or semicolons, with a point or a comma for decimals.
pub(super) fn numbers(r: &mut Reader, field: &str, text: &str, bounds: &Bounds) -> Vec<f64> {
    // "5,8" alone is one number or two, and nobody knows which.
    let lone = text.trim();
    if lone.contains(',') && !lone.contains(|c: char| c.is_whitespace() || c == ';') {
        r.fault(
            field,
            Error::new(
                Kind::Inconsistent,
                format!("a list: {}", bounds.what),
                format!("{lone:?}"),
                "numbers apart by spaces or semicolons",
                "Write them apart by spaces; one number alone takes a decimal point.",
            ),
        );
        return Vec::new();
    }
    text.split(|c: char| c.is_whitespace() || c == ';')
        .map(|w| w.trim_end_matches(','))
        .filter(|w| !w.is_empty())
        .take(1000)
        .map(|word| r.number(field, word, PLAIN, bounds))
        .collect()
}

/// Densities as typed, pasted or read from a scan.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct ReadingsDraft {
    /// The table: a header with the developing times, a row a step (see the guide), as text.
    #[arg(long, default_value = "")]
    pub table: String,
    /// How far one reading may be off (standard deviation of density); found from the scatter when empty.
    #[arg(long, default_value = "")]
    pub density_sd: String,
    /// Where the readings come from.
    #[arg(long, default_value = "")]
    pub source: String,
}

impl ReadingsDraft {
    /// The table, the uncertainty of one reading, and where they come from.
    pub(super) fn read(
        &self,
        test: &WedgeTest,
        process: Process,
    ) -> Outcome<(Table, Option<f64>, String)> {
        let mut r = Reader::new();
        let read = table::read(&self.table).and_then(|t| fits(t, test, process));
        let table = r.keep("table", read.map(Some), None);
        let sd = r.optional("density_sd", &self.density_sd, PLAIN, &bounds::DENSITY_SD);
        let source = r.free("source", "where the readings come from", &self.source, 120);
        r.finish()?;
        let table = table.ok_or_else(|| crate::service::error::unknown("table", ""))?;
        let source = if source.is_empty() {
            "typed".into()
        } else {
            source
        };
        Ok((table, sd, source))
    }
}

/// The table's steps are the test's, in the test's order.
fn fits(table: Table, test: &WedgeTest, process: Process) -> Result<Table, Error> {
    let same = table.steps.len() == test.steps.len()
        && table
            .steps
            .iter()
            .zip(&test.steps)
            .all(|(a, b)| (a - b).abs() < 0.005);
    let lights = channels_of(process);
    let strange = table.columns.iter().find(|c| !lights.contains(&c.channel));
    let mut taken: Vec<(f64, Channel)> = table
        .columns
        .iter()
        .map(|c| (c.time_min, c.channel))
        .collect();
    taken.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.word().cmp(b.1.word())));
    if !same {
        let listed: Vec<String> = test.steps.iter().map(f64::to_string).collect();
        return Err(Error::new(
            Kind::Inconsistent,
            "steps of the table",
            format!("{} steps: {}", table.steps.len(), short(&table.steps)),
            format!(
                "the {} steps of this test: {}",
                test.steps.len(),
                listed.join(", ")
            ),
            "Keep a row for every step, in that order; leave the cells of a step not read empty.",
        ));
    }
    if let Some(column) = strange {
        let known: Vec<&str> = lights.iter().map(|c| c.word()).collect();
        return Err(Error::new(
            Kind::Inconsistent,
            "light of a strip's column",
            column.channel.word(),
            format!(
                "{}, for a stock of the process {}",
                known.join(", "),
                process.word()
            ),
            "Name the light behind the time (8 min red), none for black and white; or correct the stock's process.",
        ));
    }
    if taken.windows(2).any(|w| w[0] == w[1]) {
        return Err(Error::new(
            Kind::Inconsistent,
            "strips of the table",
            "two columns of one developing time",
            "one column a developing time and colour",
            "Name the columns by the times they were developed for.",
        ));
    }
    Ok(table)
}

fn short(steps: &[f64]) -> String {
    let mut words: Vec<String> = steps.iter().take(6).map(f64::to_string).collect();
    if steps.len() > words.len() {
        words.push("…".into());
    }
    words.join(", ")
}

/// The contrast to aim at, as chosen: a named target, or a measure with a value.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct TargetDraft {
    /// A named target such as normal, n_plus_1, diffuser, scanning; normal when all three are empty.
    #[arg(long, default_value = "")]
    pub target: String,
    /// iso_triangle, average_gradient, contrast_index or gamma.
    #[arg(long, default_value = "")]
    pub measure: String,
    /// How much contrast in that measure.
    #[arg(long, default_value = "")]
    pub contrast: String,
}

impl TargetDraft {
    /// The target meant.
    ///
    /// # Errors
    /// An unknown name or measure, a contrast out of range or missing.
    pub fn read(&self) -> Outcome<Target> {
        let mut r = Reader::new();
        let named = match self.target.trim() {
            "" => None,
            "own" => None,
            code => {
                let found = NAMED_TARGETS
                    .iter()
                    .find(|t| t.code == code)
                    .ok_or_else(|| {
                        let known: Vec<&str> = NAMED_TARGETS.iter().map(|t| t.code).collect();
                        Error::new(
                            Kind::Unknown,
                            "target",
                            format!("{code:?}"),
                            known.join(", "),
                            "Choose one of these, or give a measure and a contrast.",
                        )
                    });
                r.keep("target", found.map(|t| Some(t.target)), None)
            }
        };
        let measure = r.word("measure", &self.measure, Measure::from_word);
        let contrast = r.optional("contrast", &self.contrast, PLAIN, &bounds::CONTRAST);
        let given = self.contrast.trim();
        let target = match (named, contrast) {
            // A page sends the named target's own value along, rounded.
            (Some(target), Some(value)) if 0.006 < (value - target.value).abs() => {
                r.fault(
                    "contrast",
                    Error::new(
                        Kind::Inconsistent,
                        bounds::CONTRAST.what,
                        given,
                        format!(
                            "{:.3}, which is the target {}",
                            target.value,
                            self.target.trim()
                        ),
                        "Give a named target, or a measure and a contrast of your own.",
                    ),
                );
                target
            }
            (Some(target), _) => target,
            (None, Some(_)) if self.measure.trim().is_empty() => {
                r.fault(
                    "measure",
                    Error::missing(
                        "the measure of the contrast",
                        Measure::ALL.iter().map(|m| m.word()).collect::<Vec<_>>().join(", "),
                        "Say in which measure; the ISO triangle is a slope, so 0.80 over 1.30 is 0.62.",
                    ),
                );
                Target {
                    measure,
                    value: ISO_CONTRAST,
                }
            }
            (None, Some(value)) => Target { measure, value },
            (None, None) if measure == Measure::IsoTriangle => Target {
                measure,
                value: ISO_CONTRAST,
            },
            (None, None) => {
                r.fault(
                    "contrast",
                    Error::missing(
                        bounds::CONTRAST.what,
                        bounds::CONTRAST.allowed(),
                        "Enter the contrast to aim at.",
                    ),
                );
                Target {
                    measure,
                    value: ISO_CONTRAST,
                }
            }
        };
        r.finish()?;
        Ok(target)
    }
}

/// A stock card as chosen from a test, or typed from a sheet of one's own.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct CardDraft {
    /// EI to work by; the test's, on the standard list, when empty.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// What limits it, or anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
    /// Make it although the test says that a number is weak.
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub sure: String,
}

impl CardDraft {
    pub(super) fn read(&self) -> Outcome<(Option<f64>, String, bool)> {
        let mut r = Reader::new();
        let ei = r.optional("ei", &self.ei, entry::SPEED, &bounds::SPEED_ISO);
        let note = r.free("note", "a note", &self.note, 400);
        let sure = r.yes("sure", &self.sure);
        r.finish()?;
        Ok((ei, note, sure))
    }
}
