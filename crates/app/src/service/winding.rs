//! At the loader: "wound it", what really happened instead, and corrections afterwards.

use super::draft::pick;
use super::entry::{self, Reader};
use super::error::at;
use super::evidence::tell;
use super::queue::{drop_queue_of, queued};
use super::settings::Settings;
use super::shelf::{CanView, ei_in_force, ticket_clicks};
use super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::{self, Bounds};
use spoolwright_core::film::PERFORATIONS_PER_CLICK;
use spoolwright_core::shelf::{
    Can, CanState, Cassette, CassetteId, Evidence, Loader, LoaderId, LoaderKind, Roll, RollId,
    RollState, Stock, Ticket, TicketId, TicketState, Want,
};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

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
    /// What the dial shows at the stop, instead of the clicks counted.
    #[arg(long, default_value = "", allow_hyphen_values = true)]
    pub dial: String,
    /// The can ran out at that click (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    pub ran_out: String,
    /// It is so, however unlikely (yes or no).
    #[arg(long, default_value = "", num_args = 0..=1, default_missing_value = "yes")]
    pub sure: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// What a dial may show.
const DIAL: Bounds = Bounds {
    what: "the dial's reading",
    unit: "",
    min: -100.0,
    max: 2000.0,
};
/// Clicks beyond the ticket that are asked about before they are recorded.
const MANY_CLICKS: f64 = 12.0;
/// Film that must be left for sure before a run-out is asked about, m.
const MUCH_FILM_M: f64 = 1.5;

/// What became of a ticket.
#[derive(Debug, Clone, PartialEq)]
pub struct Wound {
    /// The roll; none when too little film came out for a frame.
    pub roll: Option<(RollId, String)>,
}

impl Service {
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
        let shelf = self.shelf()?;
        let view = shelf.can(self.find::<Ticket>(id)?.can)?;
        self.change(request, |change| {
            let ticket = queued(change, id)?;
            let can = find_in::<Can>(change, ticket.can)?;
            let planned = ticket_clicks(&ticket)?;
            let mut r = Reader::new();
            let clicks = draft
                .clicks(&mut r, change, ticket.loader)?
                .unwrap_or(f64::from(planned));
            let note = r.free("note", "a note", &draft.note, 400);
            let ran_out = r.yes("ran_out", &draft.ran_out);
            let sure = r.yes("sure", &draft.sure);
            r.finish()?;
            if ran_out && draft.clicks.trim().is_empty() && draft.dial.trim().is_empty() {
                return Err(at(
                    "clicks",
                    Error::missing(
                        "clicks to the end of the film",
                        bounds::CLICKS.allowed(),
                        "Enter the clicks counted when the film ended.",
                    ),
                ));
            }
            if !sure {
                if clicks > f64::from(planned) + MANY_CLICKS {
                    return Err(entry::unsure(
                        "clicks",
                        format!("{clicks} clicks"),
                        format!("about the {planned} of the ticket"),
                        "If it is so, say that you are sure.",
                    ));
                }
                if ran_out {
                    doubt_run_out(view, &shelf.settings)?;
                }
            }
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
                let number = ticket.number;
                let label = Roll::label_of(&can.letters, number);
                // What the label says when it is wound stays true, whatever a later card says of the stock.
                let stock = find_in::<Stock>(change, can.stock)?;
                let ei_now = ei_in_force(&stock, &change.newest_eis()?);
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
                    ei: ticket.ei.or(ei_now),
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
    /// The cassette is not ready; a later roll came from a can that is to have run out; faults of the draft.
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
            let clicks = draft
                .clicks(&mut r, change, old.loader)?
                .unwrap_or(old.clicks);
            let note = r.free("note", "a note", &draft.note, 400);
            let ran_out = r.yes("ran_out", &draft.ran_out);
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
            if ran_out && let Some(later) = change.rolls_of_can(can.id)?.iter().find(|r| r.id > id)
            {
                return Err(at(
                    "ran_out",
                    Error::new(
                        Kind::Inconsistent,
                        "can",
                        format!("ran out with {}", old.label),
                        format!("the last roll wound from it; {} came later", later.label),
                        "Correct the last roll instead.",
                    ),
                ));
            }
            for record in change.evidence_of_roll(id)? {
                let evidence = match record.evidence {
                    Evidence::Wound { loader, .. } if ran_out => {
                        Evidence::RanOut { loader, clicks }
                    }
                    Evidence::Wound { loader, .. } => Evidence::Wound { loader, clicks },
                    Evidence::RanOut { loader, .. } => Evidence::RanOut { loader, clicks },
                    Evidence::Measured {
                        loader, length_mm, ..
                    } => Evidence::Measured {
                        loader,
                        clicks,
                        length_mm,
                    },
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

/// Asks before a can with much film left is closed as run out.
pub(super) fn doubt_run_out(view: &CanView, settings: &Settings) -> Outcome<()> {
    if view.remaining.lower95 < MUCH_FILM_M {
        return Ok(());
    }
    Err(entry::unsure(
        "can",
        format!("{} ran out", view.can.letters),
        format!(
            "a can that may be near its end; by the record {} or more are left",
            settings.length(view.remaining.lower95)
        ),
        "If the film really ended, a roll was not recorded or the can was short: say that you are sure.",
    ))
}

impl WindDraft {
    /// The clicks typed, or those the dial's reading means; none when neither is.
    fn clicks(
        &self,
        r: &mut Reader,
        change: &Change<'_>,
        loader: Option<LoaderId>,
    ) -> Outcome<Option<f64>> {
        if self.dial.trim().is_empty() {
            return Ok(r.optional("clicks", &self.clicks, entry::PLAIN, &bounds::CLICKS));
        }
        let zero = match loader.map(|l| find_in::<Loader>(change, l)).transpose()? {
            Some(Loader {
                kind: LoaderKind::Counter { dial_zero },
                ..
            }) => f64::from(dial_zero),
            _ => 0.0,
        };
        let Some(shown) = r.optional("dial", &self.dial, entry::PLAIN, &DIAL) else {
            return Ok(None);
        };
        let clicks = bounds::CLICKS.check(shown - zero).map(Some);
        Ok(r.keep("dial", clicks, None))
    }
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
    if Some(cassette.id) != now_in
        && let Some(held) = change.roll_in(cassette.id)?
    {
        return Err(refuse(
            format!("it holds {}", held.label),
            "an empty cassette",
            "Choose another cassette, or say that the roll in it was developed or scrapped.",
        ));
    }
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
