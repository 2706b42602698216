//! Developing times: the user's own table, and which time a film gets in a recipe, and why.
//!
//! In this order: the newest stock card for this developer and dilution, what worked before or a sheet entered by the
//! user, the recipe's own figure. One for the very EI goes before one for another, which is pushed or pulled by rule of
//! thumb. The answer always says which.

use super::super::draft::pick;
use super::super::entry::{self, Reader};
use super::super::things::shut;
use super::super::{Made, Outcome, Request, Service, find_in};
use super::recipes::RecipeView;
use super::tools::trimmed;
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::quantity::degrees;
use spoolwright_core::shelf::{SheetTimeId, Stock, StockId};
use spoolwright_core::wedge::Interval;
use spoolwright_core::wedge::record::StockCard;
use spoolwright_core::wet::push;
use spoolwright_core::wet::record::{SheetTime, TimeSource};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;

/// Exposure indices closer than this, in stops, are the same speed: half a third of a stop.
const SAME_EI_STOPS: f64 = 1.0 / 6.0;
/// The bath's temperature when a card or a recipe names none, °C [D1].
pub const NORMAL_C: f64 = 20.0;

/// The time a film gets, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmTime {
    /// Minutes; a card's keeps its 95 % interval, others have no width.
    pub time_min: Interval,
    /// At which temperature, °C.
    pub at_c: f64,
    /// How it is known.
    pub source: TimeSource,
    /// The same in a sentence.
    pub because: String,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// A developing time as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct TimeDraft {
    /// The stock: its name or number.
    #[arg(long, default_value = "")]
    pub stock: String,
    /// Developer, by the name your recipes use.
    #[arg(long, default_value = "")]
    pub developer: String,
    /// Dilution, such as 1+9.
    #[arg(long, default_value = "")]
    pub dilution: String,
    /// The EI it is for; any when empty.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// The time, such as 8:20.
    #[arg(long, default_value = "")]
    pub time: String,
    /// At which temperature; 20 C when empty.
    #[arg(long, default_value = "")]
    pub temperature: String,
    /// sheet, own (it worked before) or rule-of-thumb; sheet when empty.
    #[arg(long, default_value = "")]
    pub source: String,
    /// Which sheet, which day.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl TimeDraft {
    fn read(
        &self,
        id: SheetTimeId,
        closed: bool,
        stocks: &[Stock],
        fahrenheit: bool,
    ) -> Outcome<SheetTime> {
        let mut r = Reader::new();
        let stock = pick(stocks, &self.stock, "stock", |s| &s.name);
        let source = match self.source.trim() {
            "" => TimeSource::Sheet,
            text => r.word("source", text, TimeSource::from_word),
        };
        if matches!(source, TimeSource::Card | TimeSource::Typed) {
            r.fault(
                "source",
                Error::new(
                    Kind::Inconsistent,
                    "how the time is known",
                    source.word(),
                    "sheet, own, rule-of-thumb",
                    "A card's time stands on the stock's card; it need not be entered.",
                ),
            );
        }
        let temperature_c = r
            .bath("temperature", &self.temperature, fahrenheit)
            .unwrap_or(NORMAL_C);
        let time = crate::minutes::developing_time(&self.time);
        let time = SheetTime {
            id,
            stock: r.keep("stock", stock, None).map_or(StockId(0), |s| s.id),
            developer: r.line("developer", "a developer's name", &self.developer, 80),
            dilution: dilution(&mut r, &self.dilution),
            ei: r.optional("ei", &self.ei, entry::SPEED, &bounds::SPEED_ISO),
            time_min: r.keep("time", time, 1.0),
            temperature_c,
            source,
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(time)
    }
}

impl From<&SheetTime> for TimeDraft {
    fn from(t: &SheetTime) -> Self {
        Self {
            stock: t.stock.to_string(),
            developer: t.developer.clone(),
            dilution: t.dilution.clone(),
            ei: t.ei.map(|e| e.to_string()).unwrap_or_default(),
            time: typed(t.time_min),
            temperature: format!("{} C", trimmed(t.temperature_c, 2)),
            source: t.source.word().to_owned(),
            note: t.note.clone(),
        }
    }
}

impl Service {
    /// Every developing time of the user's own, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn times(&self) -> Outcome<Vec<SheetTime>> {
        self.all()
    }

    /// One of them.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn time(&self, id: SheetTimeId) -> Outcome<SheetTime> {
        self.find(id)
    }

    /// Adds a developing time (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft.
    pub fn save_time(
        &self,
        id: Option<SheetTimeId>,
        draft: &TimeDraft,
        request: Request<'_>,
    ) -> Outcome<Made<SheetTimeId>> {
        let fahrenheit = self.settings()?.fahrenheit;
        self.change(request, |change| {
            let old = id.map(|id| find_in::<SheetTime>(change, id)).transpose()?;
            let stocks = change.all::<Stock>()?;
            let closed = old.as_ref().is_some_and(|o| o.closed);
            let time = draft.read(id.unwrap_or(SheetTimeId(0)), closed, &stocks, fahrenheit)?;
            let put = change.put(&time)?;
            change.about(Subject::of::<Stock>(time.stock));
            let name = stocks
                .iter()
                .find(|s| s.id == time.stock)
                .map_or("", |s| &s.name);
            Ok((
                "time.saved",
                format!(
                    "{} in {}: {} at {}.",
                    name,
                    bath_name(&time.developer, &time.dilution),
                    told(time.time_min),
                    degrees(time.temperature_c)
                ),
                put,
            ))
        })
    }

    /// Takes a developing time out of use, or brings it back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_time(
        &self,
        id: SheetTimeId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let time = SheetTime {
                closed,
                ..find_in::<SheetTime>(change, id)?
            };
            change.put(&time)?;
            change.about(Subject::of::<Stock>(time.stock));
            Ok((
                "time.closed",
                format!("{} a developing time in {}.", shut(closed), time.developer),
                (),
            ))
        })
    }

    /// The time a stock exposed at `ei` gets in a recipe, and why.
    ///
    /// # Errors
    /// The stock is not on the shelf; the recipe has no developing step.
    pub fn film_time(
        &self,
        stock: StockId,
        ei: Option<f64>,
        recipe: &RecipeView,
    ) -> Outcome<FilmTime> {
        let shelf = self.shelf()?;
        let stock = shelf.stock(stock)?;
        let cards = self.store().cards_of_stock(stock.id)?;
        let times = self.store().times_of_stock(stock.id)?;
        let ei = ei.or(stock.ei);
        let fits = |developer: &str, dilution: &str| {
            same(developer, &recipe.recipe.developer) && same(dilution, &recipe.recipe.dilution)
        };
        let asked_at =
            |meant_for| stops_between(meant_for, ei).is_none_or(|s| s.abs() <= SAME_EI_STOPS);
        let own: Vec<&StockCard> = cards
            .iter()
            .filter(|c| c.time_min.is_some() && fits(&c.developer, &c.dilution))
            .collect();
        let near = own.iter().find(|c| asked_at(c.rated()));
        let card = near.or(own.first()).copied();
        let mut known: Vec<&SheetTime> = times
            .iter()
            .filter(|t| !t.closed && fits(&t.developer, &t.dilution))
            .collect();
        // The nearest EI, then the best known, then the newest.
        known.sort_by(|a, b| {
            let key = |t: &SheetTime| {
                let off = stops_between(t.ei, ei).map_or(0.0, f64::abs);
                if off > SAME_EI_STOPS { off } else { 0.0 }
            };
            key(a)
                .total_cmp(&key(b))
                .then(b.ei.is_some().cmp(&a.ei.is_some()))
                .then(rank(b.source).cmp(&rank(a.source)))
                .then(b.id.cmp(&a.id))
        });
        let very_ei = known
            .first()
            .is_some_and(|t| t.ei.is_some() && asked_at(t.ei));
        if let Some(card) = card.filter(|_| near.is_some() || !very_ei)
            && let Some(found) = of_card(card, stock)
        {
            return pushed(found, ei, card.rated());
        }
        if let Some(t) = known.first() {
            let mut found = of_sheet(t, stock);
            if t.ei.is_none()
                && let Some((own, exposed)) = at_another_ei(stock.ei, ei)
            {
                found.caveats.push(Caveat::new(
                    "any_ei",
                    format!("The time was entered for any EI: at EI {exposed} instead of {own} nothing is added or taken off."),
                ));
            }
            return pushed(found, ei, t.ei);
        }
        pushed(of_recipe(recipe, stock, &cards)?, ei, stock.ei)
    }
}

/// How well a time is known, by where it comes from.
pub(super) fn rank(source: TimeSource) -> u8 {
    match source {
        TimeSource::Rule => 0,
        TimeSource::Sheet => 1,
        TimeSource::Own => 2,
        TimeSource::Card => 3,
        TimeSource::Typed => 4,
    }
}

/// A dilution as typed; with a colon it could be one of two, and the wrong one costs a film.
pub(super) fn dilution(r: &mut Reader, text: &str) -> String {
    let told = r.free("dilution", "a dilution", text, 40);
    if let Some((one, all)) = told.split_once(':')
        && let (Ok(one), Ok(all)) = (one.trim().parse::<u32>(), all.trim().parse::<u32>())
        && 0 < one
        && one < all
    {
        r.fault(
            "dilution",
            Error::new(
                Kind::Inconsistent,
                "a dilution",
                &told,
                "parts with a plus, such as 1+9",
                format!(
                    "Write {one}+{all} or {one}+{}: with a colon it can be either.",
                    all - one
                ),
            ),
        );
    }
    told
}

/// Whether two names or dilutions are the same but for capitals and spaces.
pub(super) fn same(a: &str, b: &str) -> bool {
    let plain = |s: &str| -> String {
        s.to_lowercase()
            .chars()
            .filter(|c| !c.is_whitespace())
            .collect()
    };
    plain(a) == plain(b)
}

/// `House developer 1+9`.
pub fn bath_name(developer: &str, dilution: &str) -> String {
    format!("{developer} {dilution}").trim().to_owned()
}

/// Minutes as `8:20`.
pub fn told(minutes: f64) -> String {
    let seconds = (minutes * 60.0).round() as u64;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// The ends of a time's 95 % interval, `7:50 to 9:10`, where it has a width: an open end is said.
pub fn told_ends(time_min: Interval) -> Option<String> {
    let Interval {
        value,
        lower95,
        upper95,
    } = time_min;
    let half_a_second = 0.5 / 60.0;
    if upper95 - value < half_a_second && value - lower95 < half_a_second {
        return None;
    }
    let end = |t: f64| {
        if t > 0.0 && t.is_finite() {
            told(t)
        } else {
            "open".to_owned()
        }
    };
    Some(format!("{} to {}", end(lower95), end(upper95)))
}

/// `8:20 (7:50 to 9:10)`: a time with its 95 % interval, where it has one.
pub fn told_within(time_min: Interval) -> String {
    told_ends(time_min).map_or_else(
        || told(time_min.value),
        |ends| format!("{} ({ends})", told(time_min.value)),
    )
}

/// Minutes as a person would type them: `8:20` where seconds are whole, else with the decimals they have.
pub(super) fn typed(minutes: f64) -> String {
    let seconds = minutes * 60.0;
    if (seconds - seconds.round()).abs() < 1e-6 {
        told(minutes)
    } else {
        format!("{seconds} s")
    }
}

fn of_card(card: &StockCard, stock: &Stock) -> Option<FilmTime> {
    let mut caveats = Vec::new();
    if card.temperature_c.is_none() {
        caveats.push(Caveat::new(
            "card_without_temperature",
            "The card names no temperature: 20 °C (68 °F) is assumed.",
        ));
    }
    Some(FilmTime {
        time_min: card.time_min?,
        at_c: card.temperature_c.unwrap_or(NORMAL_C),
        source: TimeSource::Card,
        because: format!(
            "{}'s card of {}",
            stock.name,
            super::super::moment::day_in_words(&card.made_on)
        ),
        caveats,
    })
}

fn of_sheet(t: &SheetTime, stock: &Stock) -> FilmTime {
    let how = match t.source {
        TimeSource::Own => "your own time, which worked before",
        TimeSource::Rule => "your own entry, marked a rule of thumb",
        TimeSource::Sheet | TimeSource::Card | TimeSource::Typed => "a sheet you entered",
    };
    let note = if t.note.is_empty() {
        String::new()
    } else {
        format!(" ({})", t.note)
    };
    FilmTime {
        time_min: Interval::exactly(t.time_min),
        at_c: t.temperature_c,
        source: t.source,
        because: format!("{}: {how}{note}", stock.name),
        caveats: Vec::new(),
    }
}

fn of_recipe(recipe: &RecipeView, stock: &Stock, cards: &[StockCard]) -> Outcome<FilmTime> {
    let step = recipe.developing().ok_or_else(|| {
        Error::missing(
            "a developing step",
            "a recipe with a developer",
            "Add one to the recipe.",
        )
    })?;
    let mut caveats = vec![Caveat::new(
        "rule_of_thumb",
        format!(
            "Nobody measured {} in {}: the recipe's own time is a rule of thumb. A test at the wedge bench, or a sheet, replaces it.",
            stock.name,
            bath_name(&recipe.recipe.developer, &recipe.recipe.dilution)
        ),
    )];
    if let Some(other) = cards.iter().find(|c| c.time_min.is_some()) {
        caveats.push(Caveat::new(
            "card_of_other_bath",
            format!(
                "There is a card, but for {}.",
                bath_name(&other.developer, &other.dilution)
            ),
        ));
    }
    Ok(FilmTime {
        time_min: Interval::exactly(step.time_s / 60.0),
        at_c: step.temperature_c.unwrap_or(NORMAL_C),
        source: TimeSource::Rule,
        because: format!("the recipe {}'s own figure", recipe.recipe.name),
        caveats,
    })
}

/// The EI a stock has and the one a film of it was exposed at, where these are not the same speed.
pub(super) fn at_another_ei(own: Option<f64>, exposed_at: Option<f64>) -> Option<(f64, f64)> {
    let off = stops_between(own, exposed_at)?.abs();
    (off > SAME_EI_STOPS).then_some((own?, exposed_at?))
}

/// How many stops film was exposed below what a time is meant for: above zero asks for a push.
fn stops_between(meant_for: Option<f64>, exposed_at: Option<f64>) -> Option<f64> {
    Some((exposed_at? / meant_for?).log2())
}

/// The time for film exposed at another EI than the time is meant for, by rule of thumb.
fn pushed(found: FilmTime, exposed_at: Option<f64>, meant_for: Option<f64>) -> Outcome<FilmTime> {
    let stops = match stops_between(meant_for, exposed_at) {
        Some(stops) if stops.abs() > SAME_EI_STOPS => stops,
        _ => return Ok(found),
    };
    let (Some(exposed_at), Some(meant_for)) = (exposed_at, meant_for) else {
        return Ok(found);
    };
    let mut found = found;
    match push::rule_of_thumb(stops) {
        Ok(push) => {
            // The range in use is no interval: the caveat tells it.
            let time = found.time_min;
            found.time_min = Interval {
                value: time.value * push.factor,
                lower95: time.lower95 * push.factor,
                upper95: time.upper95 * push.factor,
            };
            found.because += &format!(
                ", times {:.2} because it was exposed at EI {exposed_at} and not {meant_for}",
                push.factor
            );
            found.source = TimeSource::Rule;
            found.caveats.extend(push.caveats);
        }
        Err(error) => {
            found.source = TimeSource::Rule;
            found.caveats.push(Caveat::new(
                "not_pushed",
                format!(
                    "Exposed at EI {exposed_at}, the time is meant for {meant_for}: {}. It is left as it is, and surely wrong.",
                    error.what
                ),
            ));
        }
    }
    Ok(found)
}
