//! The cut plan: from wants to rolls, with reasons, and into the queue with one tap.

use super::draft::LOADER_TAKES_M;
use super::moment::day_in_words;
use super::queue::new_ticket;
use super::settings::Settings;
use super::shelf::{CanView, Shelf, WantView};
use super::{Failure, Made, Outcome, Request, Service, find_in};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::cutplan::{
    CanSupply, Cost, Effort, FullRolls, PageCost, Plan, Problem, WantDemand, solve,
};
use spoolwright_core::film::{Light, PERFORATIONS_PER_CLICK, Pitch, clicks_for_frames};
use spoolwright_core::quantity::{Estimate, Length};
use spoolwright_core::shelf::{Base, Can, EntryId, Loader, Stock, TicketId, Want};
use spoolwright_core::ticket::{self as trade, Limits};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;
use std::sync::Arc;

/// Cassettes assumed while none is entered.
const UNCOUNTED_CASSETTES: usize = 200;

/// A proposal, with the names around it.
pub struct PlanView {
    /// The shelf it was made for; accepting it is refused once anything has changed.
    pub shelf: Arc<Shelf>,
    /// Wants it plans for.
    pub wants: Vec<WantView>,
    /// Rolls to wind, want by want.
    pub rolls: Vec<PlanRoll>,
    /// Wants not met in full, with the reason.
    pub unmet: Vec<(WantView, u32, String)>,
    /// What it costs.
    pub cost: Cost,
    /// What the same wants cost with full-length rolls only.
    pub only_full_rolls: FullRolls,
    /// What is left of each can: letters, stock, metres now and after.
    pub leftover: Vec<(CanView, f64)>,
    /// Whether nothing better is possible.
    pub proven_optimal: bool,
    /// How much better it could be at most, as a share.
    pub gap: f64,
    /// What limits it.
    pub caveats: Vec<Caveat>,
}

/// One roll of a proposal.
#[derive(Debug, Clone)]
pub struct PlanRoll {
    /// Its can.
    pub can: Can,
    /// Its stock.
    pub stock: Stock,
    /// The want it serves.
    pub want: Want,
    /// Frames, in the want's own format.
    pub frames: u32,
    /// Clicks to wind to.
    pub clicks: u32,
    /// Metres it draws.
    pub drawn_m: f64,
    /// Why: one sentence.
    pub reason: String,
}

impl Service {
    /// What to wind for the wants that are open.
    ///
    /// # Errors
    /// There is no open want, or no open can.
    pub fn plan(&self) -> Outcome<PlanView> {
        let shelf = self.shelf()?;
        let wants: Vec<WantView> = shelf
            .wants
            .iter()
            .filter(|w| w.open() > 0)
            .cloned()
            .collect();
        if wants.is_empty() {
            return Err(Error::missing(
                "a want to plan for",
                "one want or more that is not met yet",
                "Add a want: what for, and how many frames.",
            )
            .into());
        }
        if shelf.open_cans().next().is_none() {
            return Err(Error::missing(
                "a can to wind from",
                "one open can or more",
                "Add a can first.",
            )
            .into());
        }
        let (problem, caveats) = problem(&shelf, &wants)?;
        let plan = solve(&problem, Effort::default())?;
        view(shelf, wants, plan, caveats)
    }

    /// Queues the rolls of a proposal that was made for the journal entry `head`.
    ///
    /// # Errors
    /// The shelf has changed since, so that the proposal is no longer the one that was looked at.
    pub fn accept_plan(&self, head: EntryId, request: Request<'_>) -> Outcome<Made<Vec<TicketId>>> {
        if let Some(request) = request
            && let Some(entry) = self.store().entry_of_request(request)?
        {
            return Ok(Made {
                entry: Some(entry),
                story: "Recorded already.".into(),
                value: None,
            });
        }
        if self.shelf()?.head != head {
            return Err(stale(head));
        }
        let plan = self.plan()?;
        if plan.shelf.head != head {
            return Err(stale(head));
        }
        if plan.rolls.is_empty() {
            return Err(Error::new(
                Kind::Impossible,
                "plan",
                "no roll",
                "a plan with at least one roll",
                "Nothing can be wound for these wants: see the reasons beside them.",
            )
            .into());
        }
        let light = plan.shelf.settings.light();
        self.change(request, |change| {
            if change.head()? != head {
                return Err(stale(head));
            }
            let mut made = Vec::new();
            for roll in &plan.rolls {
                let can = find_in::<Can>(change, roll.can.id)?;
                let advance = roll.want.advance_perforations;
                let ticket = new_ticket(
                    change,
                    &can,
                    Some(&roll.want),
                    (roll.frames, advance),
                    light,
                    roll.want.ei,
                    roll.reason.clone(),
                )?;
                made.push(change.put(&ticket)?);
                change.about(Subject::of::<Can>(can.id));
                change.about(Subject::of::<Want>(roll.want.id));
            }
            let frames: u32 = plan.rolls.iter().map(|r| r.frames).sum();
            let story = format!(
                "Accepted a plan: {} to wind, {frames} frames.",
                rolls_in_words(made.len())
            );
            Ok(("plan.accepted", story, made))
        })
    }
}

fn stale(head: EntryId) -> Failure {
    Error::new(
        Kind::Conflict,
        "plan",
        format!("one made at entry {head} of the journal"),
        "a plan for the shelf as it is now",
        "Something has changed since, or it was accepted already. Look at the plan and the queue again.",
    )
    .into()
}

/// "1 roll", "4 rolls".
pub fn rolls_in_words(n: usize) -> String {
    if n == 1 {
        "1 roll".into()
    } else {
        format!("{n} rolls")
    }
}

/// The sum `core` solves. One leader, tail and uncounted length serve all cans there, so the longest of
/// the loaders in use are taken: a plan never draws more than it says.
fn problem(shelf: &Shelf, wants: &[WantView]) -> Outcome<(Problem, Vec<Caveat>)> {
    let settings = &shelf.settings;
    let light = settings.light();
    let mut caveats = Vec::new();
    // Nitrate is never wound at home; a can longer than a loader takes is broken first.
    let cans: Vec<&CanView> = shelf
        .open_cans()
        .filter(|c| c.stock.base != Base::Nitrate && c.remaining.mean <= LOADER_TAKES_M)
        .collect();
    for can in shelf.open_cans().filter(|c| c.stock.base == Base::Nitrate) {
        caveats.push(Caveat::new(
            "nitrate_left_out",
            format!(
                "Can {} is left out: its film is on nitrate base, which is never wound here.",
                can.can.letters
            ),
        ));
    }
    for can in shelf
        .open_cans()
        .filter(|c| c.stock.base != Base::Nitrate && c.remaining.mean > LOADER_TAKES_M)
    {
        caveats.push(Caveat::new(
            "too_long_for_a_loader",
            format!("Can {} is left out: it is too long for a loader. Break it into shorter cans first.", can.can.letters),
        ));
    }
    let loaders: Vec<&Loader> = cans
        .iter()
        .filter_map(|c| shelf.loader(c.can.loader).map(|l| &l.loader))
        .collect();
    let leader_clicks = loaders
        .iter()
        .map(|l| l.leader_clicks)
        .max()
        .unwrap_or(trade::LEADER_CLICKS);
    let tail_clicks = match light {
        Light::Room => loaders.iter().map(|l| l.tail_clicks).max(),
        Light::Dark => None,
    }
    .unwrap_or(light.tail_clicks());

    let menu_frames = menu(settings, leader_clicks, tail_clicks, &mut caveats);
    let longest = menu_frames.iter().max().copied().unwrap_or(1) + leader_clicks + tail_clicks;
    let mut uncounted_mm: f64 = 0.0;
    for can in &cans {
        let drawn = shelf.drawn_mm(&can.stock, can.can.loader, longest)?.mean;
        let counted = can.stock.pitch.click().to_mm() * f64::from(longest);
        uncounted_mm = uncounted_mm.max(drawn - counted);
    }

    let pitches: Vec<Pitch> = cans.iter().map(|c| c.stock.pitch).collect();
    let all_short = pitches.iter().all(|p| *p == Pitch::Short);
    if !all_short && pitches.contains(&Pitch::Short) {
        caveats.push(Caveat::new(
            "mixed_pitch",
            "Short-pitch cans are planned as if they were long pitch: each roll of them draws a hair less than said.",
        ));
    }
    if cans.iter().any(|c| c.can.price.is_none()) {
        caveats.push(Caveat::new(
            "no_price",
            "A can without a price counts as free, so the plan prefers it.",
        ));
    }
    let ready = if shelf.cassettes.is_empty() {
        caveats.push(Caveat::new(
            "no_cassettes",
            "No cassette is entered, so the plan does not count them. Enter yours, such as 1-15, and it will.",
        ));
        shelf.queue.len() + UNCOUNTED_CASSETTES
    } else {
        shelf.ready_cassettes().count()
    };
    let problem = Problem {
        cans: cans
            .iter()
            .map(|c| CanSupply {
                id: c.can.letters.clone(),
                stock: c.stock.name.clone(),
                remaining_m: Estimate::new(
                    (c.remaining.mean - c.promised_m).max(0.0),
                    c.remaining.sd,
                ),
                price_per_m: c.can.price.unwrap_or(0.0) / c.can.length_m.mean,
            })
            .collect(),
        wants: wants
            .iter()
            .map(|w| {
                Ok(WantDemand {
                    id: w.want.id.to_string(),
                    stocks: w
                        .want
                        .stocks
                        .iter()
                        .map(|id| Ok(shelf.stock(*id)?.name.clone()))
                        .collect::<Outcome<_>>()?,
                    frames: clicks_for_frames(w.open(), w.want.advance_perforations)?,
                    priority: w.want.priority,
                })
            })
            .collect::<Outcome<_>>()?,
        menu_frames,
        max_roll_frames: settings.max_roll_frames,
        leader_clicks,
        tail_clicks,
        pitch: if all_short { Pitch::Short } else { Pitch::Long },
        uncounted_mm,
        cassettes: ready.saturating_sub(shelf.queue.len()) as u32,
        page: PageCost {
            rows: settings.page_rows,
            frames_per_row: settings.page_frames_per_row,
            price: settings.page_price,
        },
        chemistry_price_per_full_roll: settings.chemistry_price_per_full_roll,
        short_end_price_per_m: settings.short_end_price_per_m,
        confidence: settings.confidence,
    };
    Ok((problem, caveats))
}

/// Roll lengths that fit the user's cassettes and reels.
fn menu(settings: &Settings, leader: u32, tail: u32, caveats: &mut Vec<Caveat>) -> Vec<u32> {
    let fits = |frames: &u32| {
        trade::ticket(&trade::Request {
            leader_clicks: leader,
            tail_clicks: Some(tail),
            limits: Limits {
                reel: Some(Length::mm(settings.reel_mm)),
                ..Limits::USUAL_BASE
            },
            ..trade::Request::full_frames(*frames)
        })
        .is_ok()
    };
    let (menu, left_out): (Vec<u32>, Vec<u32>) = settings.menu_frames.iter().partition(|f| fits(f));
    if !left_out.is_empty() {
        let lengths: Vec<String> = left_out.iter().map(u32::to_string).collect();
        caveats.push(Caveat::new(
            "menu_shortened",
            format!(
                "Rolls of {} frames are left out: they fit no cassette, or no reel of {} mm.",
                lengths.join(", "),
                settings.reel_mm
            ),
        ));
    }
    menu
}

fn view(
    shelf: Arc<Shelf>,
    wants: Vec<WantView>,
    plan: Plan,
    mut caveats: Vec<Caveat>,
) -> Outcome<PlanView> {
    let want = |id: &str| {
        wants
            .iter()
            .find(|w| w.want.id.to_string() == id)
            .ok_or_else(|| super::error::unknown("want", id))
    };
    let can = |letters: &str| {
        shelf
            .cans
            .iter()
            .find(|c| c.can.letters == letters)
            .ok_or_else(|| super::error::unknown("can", letters))
    };
    let mut rolls = Vec::new();
    for roll in &plan.rolls {
        let want = want(&roll.want)?;
        let of_want: Vec<u32> = plan
            .rolls
            .iter()
            .filter(|r| r.want == roll.want)
            .map(|r| r.frames)
            .collect();
        let can = can(&roll.can)?;
        let advance = want.want.advance_perforations;
        rolls.push(PlanRoll {
            can: can.can.clone(),
            stock: can.stock.clone(),
            frames: roll.frames * PERFORATIONS_PER_CLICK / advance,
            clicks: roll.clicks,
            drawn_m: roll.drawn_m,
            reason: reason(want, &of_want, &can.stock),
            want: want.want.clone(),
        });
    }
    let order: Vec<_> = wants.iter().map(|w| w.want.id).collect();
    rolls.sort_by_key(|r| {
        (
            order.iter().position(|w| *w == r.want.id),
            std::cmp::Reverse(r.frames),
        )
    });
    let unmet = plan
        .unmet
        .iter()
        .map(|u| {
            let want = want(&u.want)?;
            Ok((
                want.clone(),
                u.frames * PERFORATIONS_PER_CLICK / want.want.advance_perforations,
                u.because.clone(),
            ))
        })
        .collect::<Outcome<_>>()?;
    let leftover = plan
        .leftover
        .iter()
        .map(|l| Ok((can(&l.can)?.clone(), l.mean_m)))
        .collect::<Outcome<_>>()?;
    caveats.extend(plan.caveats);
    Ok(PlanView {
        rolls,
        unmet,
        cost: plan.cost,
        only_full_rolls: plan.only_full_rolls,
        leftover,
        proven_optimal: plan.proven_optimal,
        gap: plan.gap,
        caveats,
        wants,
        shelf,
    })
}

/// Why this roll: "36 + 18 for the 50 frames of ferry to the islands, in Harbour Mist".
fn reason(want: &WantView, rolls: &[u32], stock: &Stock) -> String {
    let scale = |clicks: u32| {
        (clicks * PERFORATIONS_PER_CLICK / want.want.advance_perforations).to_string()
    };
    let sum = rolls
        .iter()
        .map(|f| scale(*f))
        .collect::<Vec<_>>()
        .join(" + ");
    let by = want
        .want
        .by_when
        .as_ref()
        .map(|d| format!(", by {}", day_in_words(d)))
        .unwrap_or_default();
    let frames = match want.open() {
        1 => "1 frame".to_owned(),
        n => format!("{n} frames"),
    };
    format!(
        "{sum} for the {} of {}, in {}{by}",
        frames, want.want.what_for, stock.name
    )
}
