//! Stock cards: what a photographer chose to work by, made from a test; the newest of a stock holds.

use super::{CardDraft, Layer, TargetDraft};
use crate::service::entry;
use crate::service::{Made, Outcome, Request, Service, find_in};
use spoolwright_core::shelf::{Stock, StockCardId, StockId, WedgeTestId};
use spoolwright_core::wedge::record::{Channel, SpeedKind as CardSpeed, StockCard, WedgeTest};
use spoolwright_core::wedge::{
    Analysis, AtTarget, ISO_CONTRAST, Interval, Material, Measure, SpeedKind, Target,
};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;

/// A card with the names around it.
#[derive(Debug, Clone)]
pub struct CardView {
    /// As made.
    pub card: StockCard,
    /// Its stock.
    pub stock: Stock,
    /// Name of the test it came from.
    pub test: Option<String>,
    /// Letters of the can that was tested.
    pub can: Option<String>,
    /// Whether it is the newest of its stock: the one that labels and plans use.
    pub holds: bool,
    /// That its test was changed after it was saved, and in what, as one sentence; none while it was not.
    pub outdated: Option<String>,
}

impl Service {
    /// One card.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn card(&self, id: StockCardId) -> Outcome<CardView> {
        self.card_view(self.find(id)?)
    }

    /// The cards of a stock, newest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn cards(&self, stock: StockId) -> Outcome<Vec<CardView>> {
        let cards = self.store().cards_of_stock(stock)?;
        cards.into_iter().map(|c| self.card_view(c)).collect()
    }

    fn card_view(&self, card: StockCard) -> Outcome<CardView> {
        let shelf = self.shelf()?;
        let test = match card.test {
            Some(id) => Some(self.find::<WedgeTest>(id)?.name),
            None => None,
        };
        let can = card.can.map(|c| shelf.can(c)).transpose()?;
        Ok(CardView {
            stock: self.find(card.stock)?,
            test,
            can: can.map(|c| c.can.letters.clone()),
            holds: shelf.card(card.stock).is_some_and(|c| c.id == card.id),
            outdated: self.outdated(&card)?,
            card,
        })
    }

    /// Makes a card from what a test says at a target. From then on labels, tickets and plans use its EI.
    ///
    /// # Errors
    /// The test gives no time for that target; an EI in stops only, and none entered; a weak number that was not
    /// said to be sure.
    pub fn make_card(
        &self,
        test: WedgeTestId,
        target: &TargetDraft,
        draft: &CardDraft,
        request: Request<'_>,
    ) -> Outcome<Made<StockCardId>> {
        let (own_ei, note, sure) = draft.read()?;
        let today = self.today();
        let found = self.find::<WedgeTest>(test)?;
        let layers = self.wedge_layers(test)?;
        let visual = layers.iter().find(|l| l.channel == Channel::Visual);
        let reading = match visual {
            Some(layer) => match read_card(layer, target.read()?) {
                Ok(reading) => Some(reading),
                // One strip, or reversal film, gives no time; the person's own EI stands without one.
                Err(_) if own_ei.is_some() && !has_times(layer) => None,
                Err(none) => return Err(none),
            },
            None if own_ei.is_some() => None,
            None => return Err(nothing_to_say(&layers)),
        };
        let (ei, speed_kind) = match (own_ei, &reading) {
            (Some(ei), _) => (Some(Interval::exactly(ei)), CardSpeed::Ei),
            (None, Some(r)) => speed_of(&r.at, r.kind),
            (None, None) => (None, CardSpeed::Unknown),
        };
        if let Some(r) = &reading {
            if ei.is_none() && r.at.ei_stops.is_some() {
                return Err(no_meter_ei());
            }
            if !sure && let Some(doubt) = doubt(&r.at, ei) {
                return Err(doubt);
            }
        }
        self.change(request, |change| {
            let stock = find_in::<Stock>(change, found.stock)?;
            let card = change.put(&StockCard {
                id: StockCardId(0),
                stock: stock.id,
                test: Some(test),
                can: found.can,
                made_on: today,
                ei,
                speed_kind,
                time_min: reading.as_ref().map(|r| r.at.time_min),
                target: reading
                    .as_ref()
                    .map(|r| (r.at.target.measure, r.at.target.value)),
                developer: found.developer.clone(),
                dilution: found.dilution.clone(),
                temperature_c: found.temperature_c,
                agitation: found.agitation.clone(),
                limits: reading.as_ref().map_or(String::new(), |r| r.limits.clone()),
                note,
            })?;
            change.about(Subject::of::<Stock>(stock.id));
            change.about(Subject::of::<WedgeTest>(test));
            let made = find_in::<StockCard>(change, card)?;
            let speed = made.rated().map_or("no EI".into(), |ei| format!("EI {ei}"));
            let time = made
                .time_min
                .map_or(String::new(), |t| format!(", {:.1} min", t.value));
            Ok((
                "card.made",
                format!("Made a card for the stock {}: {speed}{time}.", stock.name),
                card,
            ))
        })
    }
}

/// Whether a layer can tell developing times at all.
fn has_times(layer: &Layer) -> bool {
    layer
        .analysis
        .as_ref()
        .is_ok_and(|a| a.material == Material::Negative && a.strips.len() > 1)
}

/// What a layer says at a target.
struct Reading {
    at: AtTarget,
    kind: SpeedKind,
    limits: String,
}

fn read_card(layer: &Layer, target: Target) -> Outcome<Reading> {
    let analysis = layer.analysis.as_ref().map_err(Clone::clone)?;
    let at = analysis.at(target)?;
    Ok(Reading {
        limits: limits(analysis, &at),
        kind: analysis.speed_kind,
        at,
    })
}

/// The speed found; an ISO speed only at the contrast of the standard ([S2]), else an EI.
fn speed_of(at: &AtTarget, kind: SpeedKind) -> (Option<Interval>, CardSpeed) {
    match kind {
        SpeedKind::Speed if at_standard_contrast(at.target) => (at.speed, CardSpeed::Iso),
        SpeedKind::Speed => (at.speed, CardSpeed::Ei),
        SpeedKind::ExposureIndex => (at.ei, CardSpeed::Ei),
        SpeedKind::Relative => (None, CardSpeed::Unknown),
    }
}

/// Whether 0.80 over 1.30 log H is aimed at, to two decimals of the slope.
fn at_standard_contrast(target: Target) -> bool {
    target.measure == Measure::IsoTriangle && (target.value - ISO_CONTRAST).abs() < 0.006
}

/// All that limits a card's numbers, each once.
fn limits(analysis: &Analysis, at: &AtTarget) -> String {
    let mut said: Vec<&str> = Vec::new();
    for caveat in at.caveats.iter().chain(&analysis.caveats) {
        if !said.contains(&caveat.text.as_str()) {
            said.push(&caveat.text);
        }
    }
    said.join(" ")
}

/// What a person should say yes to before working by such a number.
fn doubt(at: &AtTarget, ei: Option<Interval>) -> Option<crate::service::Failure> {
    let vague = ei.filter(|ei| 2.0 < ei.upper95 / ei.lower95);
    if let Some(ei) = vague {
        return Some(entry::unsure(
            "an EI that is not sure",
            format!(
                "{:.0}, 95 % between {:.0} and {:.0}",
                ei.value, ei.lower95, ei.upper95
            ),
            "an EI whose interval is within a stop".into(),
            "Read the strips again, enter an EI of your own, or say that you are sure.",
        ));
    }
    let i = at.time_min;
    let wide = i.upper95 / i.lower95 > 1.5;
    let (what, given) = match at.extrapolated {
        Some(factor) => (
            "a time outside the strips",
            format!("{:.1} min, {factor:.2} times the nearest strip's", i.value),
        ),
        None if wide => (
            "a time that is not sure",
            format!(
                "{:.1} min, 95 % between {:.1} and {:.1}",
                i.value, i.lower95, i.upper95
            ),
        ),
        None => return None,
    };
    Some(entry::unsure(
        what,
        given,
        "a time between two strips, within a quarter either way".into(),
        "Develop another strip near that time, or say that you are sure.",
    ))
}

/// In camera the EI counts from the meter's, which nobody wrote down.
fn no_meter_ei() -> crate::service::Failure {
    crate::service::error::at(
        "ei",
        Error::missing(
            "an EI for the card",
            "the EI the meter was set to, in the test; or an EI of your own",
            "Change the test and enter the meter's EI, or enter the EI you want to work by.",
        ),
    )
}

fn nothing_to_say(layers: &[Layer]) -> crate::service::Failure {
    let given = if layers.is_empty() {
        "no strips read"
    } else {
        "colour strips"
    };
    Error::new(
        Kind::Missing,
        "an EI for the card",
        given,
        "strips read in visual density, or an EI of your own",
        "Enter the densities of a strip, or the EI you want to work by.",
    )
    .into()
}
