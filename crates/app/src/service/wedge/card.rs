//! Stock cards: what a photographer chose to work by, made from a test; the newest of a stock holds.

use super::{CardDraft, Layer, TargetDraft};
use crate::service::entry;
use crate::service::{Made, Outcome, Request, Service, find_in};
use spoolwright_core::shelf::{Stock, StockCardId, StockId, WedgeTestId};
use spoolwright_core::wedge::record::{Channel, SpeedKind as Kind, StockCard, WedgeTest};
use spoolwright_core::wedge::{AtTarget, Interval, Material, SpeedKind, StandardSpeed, Target};
use spoolwright_core::{Error, Kind as Refusal};
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
            card,
        })
    }

    /// Makes a card from what a test says at a target. From then on labels, tickets and plans use its EI.
    ///
    /// # Errors
    /// The test gives no time for that target; no EI, and none entered; a weak number that was not said to be sure.
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
        if let Some((at, _)) = &reading
            && !sure
            && let Some(doubt) = doubt(at)
        {
            return Err(doubt);
        }
        let (ei, speed_kind) = match (own_ei, &reading) {
            (Some(ei), _) => (Some(exactly(ei)), Kind::Ei),
            (None, Some((at, kind))) => speed_of(at, *kind),
            (None, None) => (None, Kind::Unknown),
        };
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
                time_min: reading.as_ref().map(|(at, _)| at.time_min),
                target: reading
                    .as_ref()
                    .map(|(at, _)| (at.target.measure, at.target.value)),
                developer: found.developer.clone(),
                dilution: found.dilution.clone(),
                temperature_c: found.temperature_c,
                agitation: found.agitation.clone(),
                note,
            })?;
            change.about(Subject::of::<Stock>(stock.id));
            change.about(Subject::of::<WedgeTest>(test));
            let speed = ei.map_or("no EI".into(), |e| format!("EI {}", e.value));
            let time = reading.as_ref().map_or(String::new(), |(at, _)| {
                format!(", {:.1} min", at.time_min.value)
            });
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

fn read_card(layer: &Layer, target: Target) -> Outcome<(AtTarget, SpeedKind)> {
    let analysis = layer.analysis.as_ref().map_err(Clone::clone)?;
    Ok((analysis.at(target)?, analysis.speed_kind))
}

/// The speed to work by: on the standard list, with the interval of what was found.
fn speed_of(at: &AtTarget, kind: SpeedKind) -> (Option<Interval>, Kind) {
    let standard = |found: Option<Interval>, rounded: Option<StandardSpeed>| {
        found.map(|i| Interval {
            value: rounded.map_or(i.value, |r| r.iso),
            ..i
        })
    };
    match kind {
        SpeedKind::Speed => (standard(at.speed, at.speed_rounded), Kind::Iso),
        SpeedKind::ExposureIndex => (standard(at.ei, at.ei_rounded), Kind::Ei),
        SpeedKind::Relative => (None, Kind::Unknown),
    }
}

const fn exactly(value: f64) -> Interval {
    Interval {
        value,
        lower95: value,
        upper95: value,
    }
}

/// What a person should say yes to before working by such a number.
fn doubt(at: &AtTarget) -> Option<crate::service::Failure> {
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

fn nothing_to_say(layers: &[Layer]) -> crate::service::Failure {
    let given = if layers.is_empty() {
        "no strips read"
    } else {
        "colour strips"
    };
    Error::new(
        Refusal::Missing,
        "an EI for the card",
        given,
        "strips read in visual density, or an EI of your own",
        "Enter the densities of a strip, or the EI you want to work by.",
    )
    .into()
}
