//! The queue at the loader: tickets with everything to have at hand, added by hand, dropped.

use super::draft::pick;
use super::entry::{self, Reader};
use super::error::at;
use super::settings::Settings;
use super::shelf::{LoaderView, Shelf};
use super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::caveat::Caveat;
use spoolwright_core::film::{Light, PERFORATIONS_PER_CLICK};
use spoolwright_core::quantity::Length;
use spoolwright_core::remaining::defaults;
use spoolwright_core::shelf::{
    Base, Can, CanId, CanState, Cassette, Loader, LoaderKind, Roll, Stock, Ticket, TicketId,
    TicketState, Want,
};
use spoolwright_core::ticket::{self as trade, Counter, Dial, Limits};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};
use std::sync::Arc;

/// A winding ticket with everything to have at hand.
#[derive(Debug, Clone)]
pub struct TicketView {
    /// As queued.
    pub ticket: Ticket,
    /// Its can's letters.
    pub can: String,
    /// Its stock.
    pub stock: Stock,
    /// Its loader and what is known of it.
    pub loader: Option<LoaderView>,
    /// What it is for.
    pub want: Option<String>,
    /// The camera it is for.
    pub camera: String,
    /// EI for the label.
    pub ei: Option<f64>,
    /// Clicks, stop, anatomy.
    pub sheet: trade::Ticket,
    /// The label the roll will get, or got.
    pub label: String,
    /// The chance that the can still holds it.
    pub chance: f64,
    /// Cassettes it may go into.
    pub cassettes: Vec<Cassette>,
    /// The roll it led to.
    pub roll: Option<Roll>,
    /// What the record lacks of a wedge test's roll although its strips were read.
    pub unrecorded: Option<String>,
}

/// A roll to be wound without a plan, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct TicketDraft {
    /// The can: its letters or number.
    #[arg(long, default_value = "")]
    pub can: String,
    /// Frames to come out.
    #[arg(long, default_value = "")]
    pub frames: String,
    /// Perforations per frame: 8 full, 4 half; 8 when empty.
    #[arg(long, default_value = "")]
    pub advance_perforations: String,
    /// room or dark; the usual when empty.
    #[arg(long, default_value = "")]
    pub light: String,
    /// EI for the label; the stock's own when empty.
    #[arg(long, default_value = "")]
    pub ei: String,
    /// What it is for, in a few words.
    #[arg(long, default_value = "")]
    pub reason: String,
}

impl Service {
    /// The tickets waiting at the loader, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn queue(&self) -> Outcome<Vec<TicketView>> {
        let shelf = self.shelf()?;
        shelf
            .queue
            .iter()
            .map(|t| self.ticket_view(&shelf, t.clone()))
            .collect()
    }

    /// One ticket, queued or not.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn ticket(&self, id: TicketId) -> Outcome<TicketView> {
        let ticket = self.find::<Ticket>(id)?;
        self.ticket_view(&self.shelf()?, ticket)
    }

    fn ticket_view(&self, shelf: &Arc<Shelf>, ticket: Ticket) -> Outcome<TicketView> {
        let can = shelf.can(ticket.can)?;
        let loader = shelf.loader(ticket.loader).cloned();
        let sheet = sheet(&ticket, &can.stock, loader.as_ref(), &shelf.settings)?;
        let store = self.store();
        let roll = store.roll_of_ticket(ticket.id)?;
        let strips = match store.test_of_ticket(ticket.id)? {
            Some(test) => store.strips_of_test(test.id)?,
            None => Vec::new(),
        };
        drop(store);
        let label = Roll::label_of(&can.can.letters, ticket.number);
        let want = shelf
            .wants
            .iter()
            .find(|w| Some(w.want.id) == ticket.want)
            .map(|w| &w.want);
        Ok(TicketView {
            can: can.can.letters.clone(),
            stock: can.stock.clone(),
            want: want.map(|w| w.what_for.clone()),
            camera: want.map(|w| w.camera.clone()).unwrap_or_default(),
            ei: ticket.ei.or(can.stock.ei),
            chance: shelf.chance(ticket.can, ticket.loader, sheet.clicks)?,
            cassettes: shelf
                .ready_cassettes()
                .filter(|c| c.cassette.most_frames >= sheet.frame_clicks)
                .map(|c| c.cassette.clone())
                .collect(),
            unrecorded: super::wedge::unrecorded(&strips, Some(&ticket), roll.as_ref()),
            loader,
            sheet,
            label,
            roll,
            ticket,
        })
    }

    /// Queues a roll that no plan asked for.
    ///
    /// # Errors
    /// Faults of the draft; a roll that fits no cassette or reel.
    pub fn add_ticket(&self, draft: &TicketDraft, request: Request<'_>) -> Outcome<Made<TicketId>> {
        let settings = self.settings()?;
        self.change(request, |change| {
            let cans = change.all::<Can>()?;
            let mut r = Reader::new();
            let can = r.keep("can", pick(&cans, &draft.can, "can", |c| &c.letters), None);
            let frames = r.whole("frames", &draft.frames, &bounds::FRAMES);
            let advance = if draft.advance_perforations.trim().is_empty() {
                PERFORATIONS_PER_CLICK
            } else {
                r.whole(
                    "advance_perforations",
                    &draft.advance_perforations,
                    &bounds::ADVANCE_PERFORATIONS,
                )
            };
            let light = if draft.light.trim().is_empty() {
                settings.light()
            } else {
                r.word("light", &draft.light, Light::from_word)
            };
            let ei = r.optional("ei", &draft.ei, entry::SPEED, &bounds::SPEED_ISO);
            let reason = r.free("reason", "a reason", &draft.reason, 160);
            r.finish()?;
            let can = can.ok_or_else(|| super::error::unknown("can", &draft.can))?;
            let ticket = new_ticket(change, can, None, (frames, advance), light, ei, reason)?;
            if can.state != CanState::Open {
                return Err(at(
                    "can",
                    Error::new(
                        Kind::Conflict,
                        format!("can {}", can.letters),
                        format!("it is {}", can.state.word()),
                        "an open can",
                        "Choose another can, or open it again if there is film in it.",
                    ),
                ));
            }
            let stock = find_in::<Stock>(change, can.stock)?;
            if stock.base == Base::Nitrate {
                return Err(at(
                    "can",
                    Error::new(
                        Kind::Impossible,
                        format!("can {}", can.letters),
                        "film on nitrate base, a fire hazard",
                        "film on acetate or polyester base",
                        "Do not wind it at home: ask a film archive, and follow local rules.",
                    ),
                ));
            }
            trade::ticket(&request_of(&ticket, &stock, None, Some(settings.reel_mm)))
                .map_err(|e| at("frames", e))?;
            let id = change.put(&ticket)?;
            change.about(Subject::of::<Can>(can.id));
            Ok((
                "ticket.queued",
                format!(
                    "Queued {}: {frames} frames.",
                    Roll::label_of(&can.letters, ticket.number)
                ),
                id,
            ))
        })
    }

    /// Takes a ticket out of the queue.
    ///
    /// # Errors
    /// It is not in the queue.
    pub fn drop_ticket(&self, id: TicketId, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let ticket = queued(change, id)?;
            let can = find_in::<Can>(change, ticket.can)?;
            change.put(&Ticket {
                state: TicketState::Dropped,
                ..ticket.clone()
            })?;
            change.about(Subject::of::<Can>(can.id));
            Ok((
                "ticket.dropped",
                format!(
                    "Dropped the ticket for {}, {} frames.",
                    Roll::label_of(&can.letters, ticket.number),
                    ticket.frames
                ),
                (),
            ))
        })
    }
}

/// A ticket for a roll of a can, with its loader's allowances.
pub(super) fn new_ticket(
    change: &Change<'_>,
    can: &Can,
    want: Option<&Want>,
    (frames, advance_perforations): (u32, u32),
    light: Light,
    ei: Option<f64>,
    reason: String,
) -> Outcome<Ticket> {
    let loader = can
        .loader
        .map(|l| find_in::<Loader>(change, l))
        .transpose()?;
    Ok(Ticket {
        id: TicketId(0),
        number: change.next_roll_number(can.id)?,
        can: can.id,
        want: want.map(|w| w.id),
        loader: can.loader,
        frames,
        advance_perforations,
        leader_clicks: loader
            .as_ref()
            .map_or(trade::LEADER_CLICKS, |l| l.leader_clicks),
        tail_clicks: match (light, &loader) {
            (Light::Room, Some(l)) => l.tail_clicks,
            _ => light.tail_clicks(),
        },
        light,
        ei,
        reason,
        state: TicketState::Queued,
    })
}

/// The sheet of a ticket in the queue. Limits that were changed since it was queued are a caveat on it,
/// not the end of the page it stands on.
fn sheet(
    ticket: &Ticket,
    stock: &Stock,
    loader: Option<&LoaderView>,
    settings: &Settings,
) -> Outcome<trade::Ticket> {
    let request = request_of(ticket, stock, loader, Some(settings.reel_mm));
    trade::ticket(&request).or_else(|refusal| {
        let unlimited = Limits {
            warn_above_frames: u32::MAX,
            stop_above_frames: u32::MAX,
            reel: None,
        };
        let mut sheet = trade::ticket(&trade::Request {
            limits: unlimited,
            ..request
        })?;
        sheet
            .caveats
            .insert(0, Caveat::new("does_not_fit", refusal.to_string()));
        Ok(sheet)
    })
}

/// The sum `core` does for a ticket.
pub(super) fn request_of(
    ticket: &Ticket,
    stock: &Stock,
    loader: Option<&LoaderView>,
    reel_mm: Option<f64>,
) -> trade::Request {
    let limits = if stock.base == Base::Polyester {
        Limits::THIN_BASE
    } else {
        Limits::USUAL_BASE
    };
    trade::Request {
        frames: ticket.frames,
        advance_perforations: ticket.advance_perforations,
        pitch: stock.pitch,
        light: ticket.light,
        leader_clicks: ticket.leader_clicks,
        tail_clicks: Some(ticket.tail_clicks),
        counter: match loader.map(|l| l.loader.kind) {
            Some(LoaderKind::Crank { hub_mm }) => Counter::Crank {
                hub: Length::mm(hub_mm),
                thickness: stock
                    .thickness_mm
                    .map_or(Length::mm(defaults::THICKNESS_MM.mean), |t| {
                        Length::mm(t.mean)
                    }),
            },
            Some(LoaderKind::Counter { dial_zero }) => Counter::Clicks(Dial {
                zero_offset: dial_zero,
                wraps_at: None,
            }),
            None => Counter::default(),
        },
        click_scale: loader
            .filter(|l| matches!(l.loader.kind, LoaderKind::Counter { .. }))
            .map(|l| l.click_scale),
        uncounted_mm: loader.map_or(defaults::UNCOUNTED_MM, |l| l.uncounted_mm),
        limits: Limits {
            reel: reel_mm.map(Length::mm),
            ..limits
        },
    }
}

/// Drops every queued ticket of a can that has ended; says how many.
pub(super) fn drop_queue_of(change: &mut Change<'_>, can: CanId) -> Outcome<usize> {
    let waiting: Vec<Ticket> = change
        .all::<Ticket>()?
        .into_iter()
        .filter(|t| t.can == can && t.state == TicketState::Queued)
        .collect();
    for ticket in &waiting {
        change.put(&Ticket {
            state: TicketState::Dropped,
            ..ticket.clone()
        })?;
    }
    Ok(waiting.len())
}

pub(super) fn queued(change: &Change<'_>, id: TicketId) -> Outcome<Ticket> {
    let ticket = find_in::<Ticket>(change, id)?;
    if ticket.state == TicketState::Queued {
        return Ok(ticket);
    }
    Err(Error::new(
        Kind::Conflict,
        "ticket",
        ticket.state.word(),
        "a ticket in the queue",
        "It was dealt with already; look at the history, or undo.",
    )
    .into())
}
