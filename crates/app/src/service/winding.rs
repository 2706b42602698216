//! At the loader: the queue of tickets, "wound it", and what really happened instead.

use super::draft::pick;
use super::entry::{self, Reader};
use super::error::at;
use super::evidence::tell;
use super::shelf::{LoaderView, Shelf, ticket_clicks};
use super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds;
use spoolwright_core::film::{Light, PERFORATIONS_PER_CLICK};
use spoolwright_core::quantity::Length;
use spoolwright_core::remaining::defaults;
use spoolwright_core::shelf::{
    Base, Can, CanId, CanState, Cassette, CassetteId, Evidence, Loader, LoaderKind, Roll, RollId,
    RollState, Stock, Ticket, TicketId, TicketState, Want,
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

/// What happened at the loader, as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct WindDraft {
    /// The cassette it went into: its label; none when empty.
    #[arg(long, default_value = "")]
    pub cassette: String,
    /// Clicks it was really wound to; as on the ticket when empty.
    #[arg(long, default_value = "")]
    pub clicks: String,
    /// The can ran out at that click (yes or no).
    #[arg(long, default_value = "")]
    pub ran_out: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// What became of a ticket.
#[derive(Debug, Clone, PartialEq)]
pub struct Wound {
    /// The roll; none when too little film came out for a frame.
    pub roll: Option<(RollId, String)>,
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
        let sheet = trade::ticket(&request_of(
            &ticket,
            &can.stock,
            loader.as_ref(),
            Some(shelf.settings.reel_mm),
        ))?;
        let roll = self.store().roll_of_ticket(ticket.id)?;
        let label = match &roll {
            Some(roll) => roll.label.clone(),
            None => {
                let ahead = shelf
                    .queue
                    .iter()
                    .take_while(|t| t.id != ticket.id)
                    .filter(|t| t.can == ticket.can)
                    .count();
                let last = self
                    .store()
                    .rolls_of_can(ticket.can)?
                    .last()
                    .map_or(0, |r| r.number);
                Roll::label_of(&can.can.letters, last + 1 + ahead as u32)
            }
        };
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
            let ei = r.optional("ei", &draft.ei, entry::PLAIN, &bounds::SPEED_ISO);
            let reason = r.free("reason", "a reason", &draft.reason, 160);
            r.finish()?;
            let can = can.ok_or_else(|| super::error::unknown("can", &draft.can))?;
            let ticket = new_ticket(change, can, None, (frames, advance), light, ei, reason)?;
            let stock = find_in::<Stock>(change, can.stock)?;
            trade::ticket(&request_of(&ticket, &stock, None, Some(settings.reel_mm)))
                .map_err(|e| at("frames", e))?;
            let id = change.put(&ticket)?;
            change.about(Subject::of::<Can>(can.id));
            Ok((
                "ticket.queued",
                format!("Queued a roll of {frames} frames from can {}.", can.letters),
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
                    "Dropped the ticket for {} frames from can {}.",
                    ticket.frames, can.letters
                ),
                (),
            ))
        })
    }

    /// "Wound it": the roll, its draw from the can and its cassette, in one transaction.
    ///
    /// # Errors
    /// The ticket is not in the queue; the cassette is not ready; faults of the draft.
    pub fn wind(
        &self,
        id: TicketId,
        draft: &WindDraft,
        request: Request<'_>,
    ) -> Outcome<Made<Wound>> {
        self.change(request, |change| {
            let ticket = queued(change, id)?;
            let can = find_in::<Can>(change, ticket.can)?;
            let planned = ticket_clicks(&ticket)?;
            let mut r = Reader::new();
            let clicks = r
                .optional("clicks", &draft.clicks, entry::PLAIN, &bounds::CLICKS)
                .unwrap_or(f64::from(planned));
            let note = r.free("note", "a note", &draft.note, 400);
            r.finish()?;
            let ran_out = entry::yes(&draft.ran_out);
            let frames = if clicks == f64::from(planned) {
                ticket.frames
            } else {
                frames_in(&ticket, clicks)
            };
            let cassette = cassette_for(
                change,
                &draft.cassette,
                frames,
                ticket.advance_perforations,
                None,
            )?;
            let now = self.now();
            change.about(Subject::of::<Can>(can.id));
            let roll = if frames == 0 {
                None
            } else {
                let number = change.next_roll_number(can.id)?;
                let label = Roll::label_of(&can.letters, number);
                let roll = change.put(&Roll {
                    id: RollId(0),
                    can: can.id,
                    number,
                    label: label.clone(),
                    cassette: cassette.as_ref().map(|c| c.id),
                    want: ticket.want,
                    ticket: Some(id),
                    loader: ticket.loader,
                    frames,
                    advance_perforations: ticket.advance_perforations,
                    clicks,
                    leader_clicks: ticket.leader_clicks,
                    tail_clicks: ticket.tail_clicks,
                    light: ticket.light,
                    ei: ticket.ei,
                    state: RollState::Wound,
                    wound_at: now.clone(),
                    note,
                })?;
                Some((roll, label))
            };
            let loader = ticket.loader;
            let evidence = if ran_out {
                Evidence::RanOut { loader, clicks }
            } else {
                Evidence::Wound { loader, clicks }
            };
            tell(change, can.id, roll.as_ref().map(|r| r.0), now, evidence)?;
            let state = if roll.is_some() {
                TicketState::Wound
            } else {
                TicketState::Dropped
            };
            change.put(&Ticket {
                state,
                ..ticket.clone()
            })?;
            if let Some(want) = ticket.want {
                change.about(Subject::of::<Want>(want));
            }
            let mut story = match &roll {
                Some((_, label)) => format!("Wound {label}: {frames} frames, {clicks} clicks"),
                None => format!(
                    "Wound {clicks} clicks from can {}: too short for a frame",
                    can.letters
                ),
            };
            if let Some(c) = cassette.as_ref().filter(|_| roll.is_some()) {
                change.about(Subject::of::<Cassette>(c.id));
                story.push_str(&format!(", into cassette {}", c.label));
            }
            story.push('.');
            if ran_out {
                let dropped = drop_queue_of(change, can.id)?;
                story.push_str(&format!(" Can {} ran out", can.letters));
                if dropped > 0 {
                    story.push_str(&format!("; {dropped} of its tickets left the queue"));
                }
                story.push('.');
                change.put(&Can {
                    state: CanState::Empty,
                    ..can
                })?;
            }
            Ok(("roll.wound", story, Wound { roll }))
        })
    }

    /// Corrects how a roll was wound: its clicks, its cassette, or that the can ran out with it.
    ///
    /// # Errors
    /// The roll left its cassette already; the cassette is not ready; faults of the draft.
    pub fn correct_roll(
        &self,
        id: RollId,
        draft: &WindDraft,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let old = find_in::<Roll>(change, id)?;
            let can = find_in::<Can>(change, old.can)?;
            let mut r = Reader::new();
            let clicks = r
                .optional("clicks", &draft.clicks, entry::PLAIN, &bounds::CLICKS)
                .unwrap_or(old.clicks);
            let note = r.free("note", "a note", &draft.note, 400);
            r.finish()?;
            let frames = if clicks == old.clicks {
                old.frames
            } else {
                frames_of(
                    (old.leader_clicks, old.tail_clicks),
                    old.advance_perforations,
                    clicks,
                )
            };
            let cassette = if draft.cassette.trim().is_empty() {
                old.cassette
            } else {
                cassette_for(
                    change,
                    &draft.cassette,
                    frames,
                    old.advance_perforations,
                    old.cassette,
                )?
                .map(|c| c.id)
            };
            change.put(&Roll {
                clicks,
                frames,
                cassette,
                note: if note.is_empty() {
                    old.note.clone()
                } else {
                    note
                },
                ..old.clone()
            })?;
            let ran_out = entry::yes(&draft.ran_out);
            for record in change.evidence_of_roll(id)? {
                let evidence = match record.evidence {
                    Evidence::Wound { loader, .. } if ran_out => {
                        Evidence::RanOut { loader, clicks }
                    }
                    Evidence::Wound { loader, .. } => Evidence::Wound { loader, clicks },
                    Evidence::RanOut { loader, .. } => Evidence::RanOut { loader, clicks },
                    other => other,
                };
                change.put(&spoolwright_core::shelf::EvidenceRecord { evidence, ..record })?;
            }
            if ran_out && can.state == CanState::Open {
                drop_queue_of(change, can.id)?;
                change.put(&Can {
                    state: CanState::Empty,
                    ..can.clone()
                })?;
            }
            change.about(Subject::of::<Can>(can.id));
            let out = if ran_out {
                ", where the can ran out"
            } else {
                ""
            };
            Ok((
                "roll.corrected",
                format!(
                    "Corrected {}: {clicks} clicks{out}, {frames} frames.",
                    old.label
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

fn queued(change: &Change<'_>, id: TicketId) -> Outcome<Ticket> {
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

fn frames_in(ticket: &Ticket, clicks: f64) -> u32 {
    frames_of(
        (ticket.leader_clicks, ticket.tail_clicks),
        ticket.advance_perforations,
        clicks,
    )
}

/// Whole frames in a roll of `clicks` once leader and tail are taken off.
fn frames_of((leader, tail): (u32, u32), advance: u32, clicks: f64) -> u32 {
    let perforations = (clicks - f64::from(leader + tail)) * f64::from(PERFORATIONS_PER_CLICK);
    (perforations / f64::from(advance)).floor().max(0.0) as u32
}

/// The cassette a roll goes into, if one is named and ready for it.
fn cassette_for(
    change: &Change<'_>,
    text: &str,
    frames: u32,
    advance: u32,
    now_in: Option<CassetteId>,
) -> Outcome<Option<Cassette>> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let all = change.all::<Cassette>()?;
    let Some(cassette) =
        pick(&all, text, "cassette", |c| &c.label).map_err(|e| at("cassette", e))?
    else {
        return Ok(None);
    };
    let refuse = |given: String, allowed: &str, remedy: &str| {
        at(
            "cassette",
            Error::new(
                Kind::Conflict,
                format!("cassette {}", cassette.label),
                given,
                allowed,
                remedy,
            ),
        )
    };
    let full = spoolwright_core::film::clicks_for_frames(frames.max(1), advance)?;
    if Some(cassette.id) != now_in && cassette.leaks {
        return Err(refuse(
            "it leaks light".into(),
            "a cassette without a light leak",
            "Choose another, or clear its mark if it was mended.",
        ));
    }
    if Some(cassette.id) != now_in && cassette.retired {
        return Err(refuse(
            "it is retired".into(),
            "a cassette in use",
            "Choose another, or take it out of retirement.",
        ));
    }
    if full > cassette.most_frames {
        return Err(refuse(
            format!("{full} full frames"),
            &format!("at most {} in this one", cassette.most_frames),
            "Choose another cassette, or wind less.",
        ));
    }
    Ok(Some(cassette.clone()))
}
