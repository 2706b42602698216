//! The bench on paper: the shot list of a test in camera, and its result on one page.

use super::{Combined, Layer, TargetDraft, TestView};
use crate::minutes::told;
use crate::service::entry::Reader;
use crate::service::moment::day_in_words;
use crate::service::paper::{Document, PaperDraft};
use crate::service::queue::TicketView;
use crate::service::settings::Settings;
use crate::service::{Outcome, Service};
use spoolwright_core::shelf::{StockCardId, WedgeTestId};
use spoolwright_core::ticket::LEADER_CLICKS;
use spoolwright_core::wedge::record::{Channel, SpeedKind as CardSpeed, StockCard, Way};
use spoolwright_core::wedge::{
    Analysis, AtTarget, ColourStrip, Measure, SpeedKind, StandardSpeed, Target, standard_speed,
};
use spoolwright_core::{Error, Kind};
use spoolwright_print::{Figures, ResultSheet, SheetLayer, ShotCard, result_sheet, shot_cards};

impl Service {
    /// The shot list of a test in camera, as a pocket card.
    ///
    /// # Errors
    /// There is no such test; it is not in camera; faults of the draft.
    pub fn print_shots(&self, id: WedgeTestId, draft: &PaperDraft) -> Outcome<Document> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let paper = draft.paper(&mut r, &settings);
        r.finish()?;
        let view = self.wedge_test(id)?;
        let list = view.shots.clone().ok_or_else(|| {
            Error::new(
                Kind::Impossible,
                "a shot list",
                view.test.way.word(),
                "a test in camera",
                "Expose the strips through the wedge; there are no frames to count.",
            )
        })?;
        let ticket = view.ticket.as_ref().map(|t| self.ticket(t.id));
        let ticket = ticket.transpose()?;
        let (leader_clicks, frame_clicks, tail_clicks) = match &ticket {
            Some(TicketView { sheet, .. }) => {
                (sheet.leader_clicks, sheet.frame_clicks, sheet.tail_clicks)
            }
            // Full frames: a click each.
            None => (LEADER_CLICKS, list.frames(), settings.light().tail_clicks()),
        };
        // Before it is wound, the label that its ticket keeps for it.
        let roll = match view.roll {
            Some(wound) => wound.roll.label,
            None => ticket.map(|t| t.label).unwrap_or_default(),
        };
        let card = ShotCard {
            test: view.test.name.clone(),
            stock: view.stock.name.clone(),
            can: view.can.unwrap_or_default(),
            roll,
            meter_ei: view.test.meter_ei,
            times_min: view.test.planned_min,
            list,
            leader_clicks,
            frame_clicks,
            tail_clicks,
            url: Some(format!("{}/wedge/{id}", settings.address)),
        };
        Ok(shot_cards(&[card], paper)?)
    }

    /// What a test says on one page: at the target asked for, else as its newest card has it, else at the normal
    /// contrast; with the figures of the newest card saved for that target, if there is one.
    ///
    /// # Errors
    /// There is no such test; no strip of it could be worked out; faults of the drafts.
    pub fn print_result(
        &self,
        id: WedgeTestId,
        target: &TargetDraft,
        draft: &PaperDraft,
    ) -> Outcome<Document> {
        let cards = self.wedge_test(id)?.cards;
        if *target == TargetDraft::default() {
            return self.print_sheet(id, target, cards.first(), draft);
        }
        let wanted = target.read()?;
        let saved = cards
            .iter()
            .find(|c| c.target == Some((wanted.measure, wanted.value)));
        self.print_sheet(id, target, saved, draft)
    }

    /// The sheet that a card came from, with the card's own figures.
    ///
    /// # Errors
    /// There is no such card; it came from no test; no strip of that could be worked out; faults of the draft.
    pub fn print_card(&self, id: StockCardId, draft: &PaperDraft) -> Outcome<Document> {
        let card: StockCard = self.find(id)?;
        let test = card.test.ok_or_else(|| {
            Error::missing(
                "the test of a card",
                "a card made from a test",
                "Print the newest card of a test.",
            )
        })?;
        self.print_sheet(test, &TargetDraft::default(), Some(&card), draft)
    }

    fn print_sheet(
        &self,
        id: WedgeTestId,
        target: &TargetDraft,
        card: Option<&StockCard>,
        draft: &PaperDraft,
    ) -> Outcome<Document> {
        let settings = self.settings()?;
        let mut r = Reader::new();
        let paper = draft.paper(&mut r, &settings);
        r.finish()?;
        let wanted = match card.and_then(|c| c.target) {
            Some((measure, value)) => Target { measure, value },
            None => target.read()?,
        };
        let view = self.wedge_test(id)?;
        let layers = self.wedge_layers(id)?;
        let colour = self.wedge_colour(id)?;
        let mut sheet = sheet_of(&view, &layers, colour, wanted, card, &settings)?;
        // First of all what is about the large figures.
        let outdated = card.map(|c| self.outdated(c)).transpose()?.flatten();
        let first = outdated.into_iter().chain(view.remarks);
        sheet.caveats.splice(0..0, first);
        Ok(result_sheet(&sheet, paper)?)
    }
}

fn sheet_of(
    view: &TestView,
    layers: &[Layer],
    colour: Option<Result<Combined, Error>>,
    wanted: Target,
    card: Option<&StockCard>,
    settings: &Settings,
) -> Outcome<ResultSheet> {
    let test = &view.test;
    let mut caveats = Vec::new();
    let mut worked = Vec::new();
    for layer in layers {
        match &layer.analysis {
            Ok(analysis) => worked.push((layer.channel, analysis)),
            Err(e) if layers.len() == 1 => return Err(e.clone().into()),
            Err(e) => caveats.push(format!("{}: {e}", layer.channel.word())),
        }
    }
    let Some((_, first)) = worked.first() else {
        return Err(Error::missing(
            "strips of a test",
            "at least one strip that can be worked out",
            "Enter the densities of a strip first.",
        )
        .into());
    };
    let visual = worked.iter().find(|w| w.0 == Channel::Visual).map(|w| w.1);
    let (mut time_contrast, mut at_target) = (None, None);
    if let Some(analysis) = visual.filter(|a| a.strips.len() > 1) {
        time_contrast = analysis.time_contrast_in(wanted.measure).ok();
        match analysis.at(wanted) {
            Ok(at) => at_target = Some(at),
            Err(e) => caveats.push(e.to_string()),
        }
    }
    caveats.extend(
        at_target
            .iter()
            .flat_map(|a| &a.caveats)
            .map(|c| c.text.clone()),
    );
    let combined = match colour {
        Some(Ok(combined)) => {
            caveats.extend(combined.caveats.into_iter().map(|c| c.text));
            combined.strips
        }
        Some(Err(refusal)) => {
            caveats.push(format!("No combined speed: {refusal}"));
            Vec::new()
        }
        None => Vec::new(),
    };
    for (channel, analysis) in &worked {
        caveats.extend(said_by(*channel, analysis));
    }
    let figures = match (card, &at_target, &combined[..]) {
        (Some(card), ..) => Some(of_card(card)),
        (None, Some(at), _) => Some(of_target(at, first.speed_kind)),
        (None, None, [strip]) => of_combined(strip),
        _ => None,
    };
    Ok(ResultSheet {
        test: test.name.clone(),
        stock: view.stock.name.clone(),
        can: view.can.clone().unwrap_or_default(),
        way: way_in_words(test.way, test.meter_ei),
        begun_on: day_in_words(&test.begun_on),
        developer: test.developer.clone(),
        dilution: test.dilution.clone(),
        temperature: test
            .temperature_c
            .map(|c| settings.bath_temperature(c))
            .unwrap_or_default(),
        agitation: test.agitation.clone(),
        figures,
        speed_kind: first.speed_kind,
        layers: worked
            .iter()
            .map(|(channel, analysis)| SheetLayer {
                name: match channel {
                    Channel::Visual => String::new(),
                    colour => colour.word().to_owned(),
                },
                strips: analysis.strips.clone(),
            })
            .collect(),
        combined,
        time_contrast,
        at_target,
        caveats,
        url: Some(format!("{}/wedge/{}", settings.address, test.id)),
    })
}

/// How the curves of a layer were found, and what limits them.
fn said_by(channel: Channel, analysis: &Analysis) -> Vec<String> {
    let layer = match channel {
        Channel::Visual => String::new(),
        colour => format!("{}: ", colour.word()),
    };
    let of_strips = analysis.strips.iter().flat_map(|s| {
        s.caveats
            .iter()
            .map(|c| format!("{} min: {}", told(s.time_min), c.text))
    });
    let mut said: Vec<String> = analysis.caveats.iter().map(|c| c.text.clone()).collect();
    said.extend(of_strips);
    said.push(analysis.model.reason.clone());
    said.into_iter().map(|s| format!("{layer}{s}")).collect()
}

fn of_card(card: &StockCard) -> Figures {
    let speed = card.rated().map(|ei| match card.speed_kind {
        CardSpeed::Iso => standard_speed(ei).map_or_else(|| ei.to_string(), |s| s.to_string()),
        CardSpeed::Ei | CardSpeed::Unknown => ei.to_string(),
    });
    Figures {
        kind: match card.speed_kind {
            CardSpeed::Iso => "speed",
            CardSpeed::Ei | CardSpeed::Unknown => "EI",
        }
        .to_owned(),
        speed: speed.unwrap_or_default(),
        speed_interval: card.ei,
        time_min: card.time_min,
        target: card
            .target
            .map(|(measure, value)| contrast_in_words(measure, value))
            .unwrap_or_default(),
        card_made_on: day_in_words(&card.made_on),
        note: card.note.clone(),
    }
}

fn of_target(at: &AtTarget, kind: SpeedKind) -> Figures {
    let standard = |s: Option<StandardSpeed>| s.map(|s| s.to_string());
    let (name, speed, interval) = match kind {
        SpeedKind::Speed => ("speed", standard(at.speed_rounded), at.speed),
        SpeedKind::ExposureIndex if at.ei.is_some() => ("EI", standard(at.ei_rounded), at.ei),
        SpeedKind::ExposureIndex => (
            "EI, stops over the meter's",
            at.ei_stops.map(|s| format!("{:+.1}", s.value)),
            at.ei_stops,
        ),
        SpeedKind::Relative => ("speed not known", None, None),
    };
    Figures {
        kind: name.to_owned(),
        speed: speed.unwrap_or_default(),
        speed_interval: interval,
        time_min: Some(at.time_min),
        target: contrast_in_words(at.target.measure, at.target.value),
        card_made_on: String::new(),
        note: String::new(),
    }
}

/// The speed of a colour stock from its only strip, the layers taken together.
fn of_combined(strip: &ColourStrip) -> Option<Figures> {
    let (kind, speed, interval) = match (strip.speed_rounded, strip.ei_rounded, strip.ei_stops) {
        (Some(speed), ..) => ("combined speed", speed.to_string(), strip.speed),
        (None, Some(ei), _) => ("combined EI", ei.to_string(), strip.ei),
        (None, None, Some(stops)) => (
            "combined EI, stops over the meter's",
            format!("{:+.1}", stops.value),
            Some(stops),
        ),
        (None, None, None) => return None,
    };
    Some(Figures {
        kind: kind.to_owned(),
        speed,
        speed_interval: interval,
        time_min: None,
        target: String::new(),
        card_made_on: String::new(),
        note: String::new(),
    })
}

fn contrast_in_words(measure: Measure, value: f64) -> String {
    let name = match measure {
        Measure::IsoTriangle => "ISO triangle",
        Measure::AverageGradient => "average gradient",
        Measure::ContrastIndex => "contrast index",
        Measure::Gamma => "gamma",
    };
    format!("{name} {value:.2}")
}

fn way_in_words(way: Way, meter_ei: Option<f64>) -> String {
    match (way, meter_ei) {
        (Way::InCamera, Some(ei)) => format!("in camera, meter set to EI {ei}"),
        (Way::InCamera, None) => "in camera".to_owned(),
        (Way::Relative, _) => "through a wedge, exposure not known".to_owned(),
        (Way::Absolute, _) => "through a wedge, exposure known".to_owned(),
    }
}
