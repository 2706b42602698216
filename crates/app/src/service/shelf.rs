//! The shelf as it stands: every can with what is left in it, worked out from all evidence at once.
//!
//! The picture is worked out once per journal entry and shared until the next change.

mod caveats;

use super::problem::{Problem, package_key};
use super::settings::Settings;
use super::{Failure, Outcome, Service};
use spoolwright_core::caveat::Caveat;
use spoolwright_core::field::record::{Keepable, StoragePlace};
use spoolwright_core::quantity::{Estimate, Length};
use spoolwright_core::remaining::{self, NextMeasurement, Posterior, Remaining};
use spoolwright_core::shelf::{
    Can, CanId, CanState, Cassette, EntryId, EvidenceRecord, Loader, LoaderId, Roll, RollId,
    RollState, Stock, StockId, StoragePlaceId, Ticket, TicketState, Want,
};
use spoolwright_core::spool;
use spoolwright_core::ticket as trade;
use spoolwright_core::wedge::record::StockCard;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// A measurement is worth making when it leaves less than this part of the uncertainty.
const WORTH_IT: f64 = 0.9;

/// Everything on the shelf at one moment of the journal.
pub struct Shelf {
    /// The newest journal entry it knows.
    pub head: EntryId,
    /// The user's choices at that moment.
    pub settings: Settings,
    /// Every stock, with the EI in force: its newest card's, else the one entered with it.
    pub stocks: Vec<Stock>,
    /// The newest card of every stock that has one.
    pub cards: Vec<StockCard>,
    /// Every loader with what its cans taught.
    pub loaders: Vec<LoaderView>,
    /// Every can, closed ones too, oldest first.
    pub cans: Vec<CanView>,
    /// Every cassette.
    pub cassettes: Vec<CassetteView>,
    /// Every want with how far it is met.
    pub wants: Vec<WantView>,
    /// Tickets waiting at the loader, oldest first.
    pub queue: Vec<Ticket>,
    /// Rolls by state.
    pub roll_counts: BTreeMap<String, u32>,
    posterior: Posterior,
    loader_index: HashMap<LoaderId, usize>,
    package_index: HashMap<String, usize>,
}

/// A loader and what is known of it.
#[derive(Debug, Clone)]
pub struct LoaderView {
    /// As entered.
    pub loader: Loader,
    /// Film per click against eight perforations.
    pub click_scale: Estimate,
    /// Film taken uncounted per roll, mm.
    pub uncounted_mm: Estimate,
}

/// A can and what is left in it.
#[derive(Debug, Clone)]
pub struct CanView {
    /// As entered.
    pub can: Can,
    /// Its stock.
    pub stock: Stock,
    /// The loader it is wound with.
    pub loader: Option<Loader>,
    /// Metres left, with the 95 % interval.
    pub remaining: Remaining,
    /// Metres left as a share of what it came with.
    pub share: f64,
    /// Whole clicks in the mean, the lower and the upper end of the interval: frames, leaders not counted.
    pub clicks: (f64, f64, f64),
    /// The same as rolls of the longest length on the menu, leaders, tails and uncounted film drawn too.
    pub rolls: RollCount,
    /// True diameters, mm.
    pub diameters: Diameters,
    /// Metres promised to tickets in the queue.
    pub promised_m: f64,
    /// The chance that a roll of each length can still be wound, longest first.
    pub chances: Vec<Chance>,
    /// What measuring now would leave of the uncertainty, best first.
    pub next: Vec<NextMeasurement>,
    /// Grams per metre and thickness of its stock, as learnt.
    pub linear_mass_g_per_m: Estimate,
    /// Effective thickness, mm.
    pub thickness_mm: Estimate,
    /// Weight of can, bag and core without film, g.
    pub tare_g: Estimate,
    /// Length it came with, m, as all evidence has it.
    pub length_m: Estimate,
    /// Where it is kept, if anybody said.
    pub place: Option<StoragePlace>,
    /// What limits these numbers.
    pub caveats: Vec<Caveat>,
}

/// How many rolls of one length a can gives, one after the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollCount {
    /// Frames of one roll.
    pub frames: u32,
    /// Rolls at the mean, the lower and the upper end of the interval.
    pub count: (f64, f64, f64),
}

impl CanView {
    /// What measuring now would leave, best first; nothing when not even the best would tell much.
    pub fn worth_measuring(&self) -> &[NextMeasurement] {
        match self.next.first() {
            Some(best) if best.sd_after_m < WORTH_IT * self.remaining.sd => &self.next,
            _ => &[],
        }
    }
}

/// A can's roll across, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diameters {
    /// The core.
    pub core: f64,
    /// At the mean, the lower and the upper end of the interval.
    pub now: (f64, f64, f64),
    /// When it came.
    pub full: f64,
}

/// The chance that one more roll can be wound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// Frames of the roll.
    pub frames: u32,
    /// Clicks it takes.
    pub clicks: u32,
    /// Probability, 0 to 1.
    pub probability: f64,
}

/// A cassette and its use.
#[derive(Debug, Clone, PartialEq)]
pub struct CassetteView {
    /// As entered.
    pub cassette: Cassette,
    /// Times filled, those before the record included.
    pub uses: u32,
    /// The roll that sits in it.
    pub holds: Option<RollId>,
}

impl CassetteView {
    /// Whether a roll may be wound into it.
    pub fn is_ready(&self) -> bool {
        self.holds.is_none() && !self.cassette.leaks && !self.cassette.retired
    }
}

/// A want and how far it is met.
#[derive(Debug, Clone, PartialEq)]
pub struct WantView {
    /// As entered.
    pub want: Want,
    /// Frames on rolls wound for it.
    pub wound: u32,
    /// Frames on tickets in the queue.
    pub queued: u32,
}

impl WantView {
    /// Frames still to be planned.
    pub fn open(&self) -> u32 {
        if self.want.dropped {
            0
        } else {
            self.want.frames.saturating_sub(self.wound + self.queued)
        }
    }
}

impl Service {
    /// The shelf as it stands now.
    ///
    /// # Errors
    /// Trouble with the store, or evidence that contradicts itself beyond reading.
    pub fn shelf(&self) -> Outcome<Arc<Shelf>> {
        let head = self.store().head()?;
        let mut kept = self
            .shelf
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(shelf) = kept.as_ref().filter(|s| s.head == head) {
            return Ok(Arc::clone(shelf));
        }
        let shelf = Arc::new(self.read_shelf(head)?);
        *kept = Some(Arc::clone(&shelf));
        Ok(shelf)
    }

    /// One can with what is left in it.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn can(&self, id: CanId) -> Outcome<CanView> {
        self.shelf()?.can(id).cloned()
    }

    fn read_shelf(&self, head: EntryId) -> Outcome<Shelf> {
        let settings = self.settings()?;
        // One hold for all of it: no change of this program comes between.
        let store = self.store();
        let mut stocks: Vec<Stock> = store.all()?;
        let cards = store.newest_cards()?;
        let eis = store.newest_eis()?;
        let loaders: Vec<Loader> = store.all()?;
        let cans: Vec<Can> = store.all()?;
        let evidence: Vec<EvidenceRecord> = store.all()?;
        let cassettes: Vec<Cassette> = store.all()?;
        let wants: Vec<Want> = store.all()?;
        let queue = store.tickets_in(TicketState::Queued)?;
        let uses = store.cassette_uses()?;
        let given = store.frames_for_wants()?;
        let roll_counts = store.roll_counts()?;
        let places: Vec<StoragePlace> = store.all()?;
        let kept: HashMap<Keepable, StoragePlaceId> = store
            .all_kept_now()?
            .into_iter()
            .map(|k| (k.thing, k.place))
            .collect();
        drop(store);
        for stock in &mut stocks {
            stock.ei = ei_in_force(stock, &eis);
        }

        let problem = Problem::new(&stocks, &loaders, &cans, &evidence);
        let posterior = remaining::estimate(&problem.shelf)?;
        let mut shelf = Shelf {
            head,
            settings,
            stocks,
            cards,
            loaders: loaders
                .into_iter()
                .enumerate()
                .map(|(i, loader)| {
                    let learnt = posterior.loader(i);
                    LoaderView {
                        loader,
                        click_scale: learnt.click_scale,
                        uncounted_mm: learnt.uncounted_mm,
                    }
                })
                .collect(),
            cans: Vec::new(),
            cassettes: cassettes
                .into_iter()
                .map(|cassette| {
                    let (here, holds) = uses.get(&cassette.id).copied().unwrap_or_default();
                    CassetteView {
                        uses: cassette.earlier_uses + here,
                        holds,
                        cassette,
                    }
                })
                .collect(),
            wants: wants
                .into_iter()
                .map(|want| {
                    let (wound, queued) = given.get(&want.id).copied().unwrap_or_default();
                    WantView {
                        want,
                        wound,
                        queued,
                    }
                })
                .collect(),
            queue,
            roll_counts,
            posterior,
            loader_index: problem.loader_index,
            package_index: problem.package_index,
        };
        shelf.cans = cans
            .into_iter()
            .enumerate()
            .map(|(i, can)| {
                let place = kept.get(&Keepable::Can(can.id));
                let place = places.iter().find(|p| Some(&p.id) == place);
                shelf.view(i, can, place.cloned())
            })
            .collect::<Result<_, _>>()?;
        Ok(shelf)
    }
}

/// The EI to rate a stock at: that of the newest card that has one, else the one entered with the stock.
pub(super) fn ei_in_force(stock: &Stock, newest_eis: &[StockCard]) -> Option<f64> {
    let card = newest_eis.iter().find(|c| c.stock == stock.id);
    card.and_then(StockCard::rated).or(stock.ei)
}

impl Shelf {
    /// One can.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn can(&self, id: CanId) -> Outcome<&CanView> {
        self.cans
            .iter()
            .find(|c| c.can.id == id)
            .ok_or_else(|| super::error::unknown("can", id))
    }

    /// One stock.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn stock(&self, id: StockId) -> Outcome<&Stock> {
        self.stocks
            .iter()
            .find(|s| s.id == id)
            .ok_or_else(|| super::error::unknown("stock", id))
    }

    /// The newest card of a stock.
    pub fn card(&self, stock: StockId) -> Option<&StockCard> {
        self.cards.iter().find(|c| c.stock == stock)
    }

    /// One loader, if the id names one.
    pub fn loader(&self, id: Option<LoaderId>) -> Option<&LoaderView> {
        self.loaders.iter().find(|l| Some(l.loader.id) == id)
    }

    /// Cans still in use, oldest first.
    pub fn open_cans(&self) -> impl Iterator<Item = &CanView> {
        self.cans.iter().filter(|c| c.can.state == CanState::Open)
    }

    /// Cassettes a roll may be wound into.
    pub fn ready_cassettes(&self) -> impl Iterator<Item = &CassetteView> {
        self.cassettes.iter().filter(|c| c.is_ready())
    }

    /// The chance that a roll of `clicks` can be wound from a can, queued tickets not counted.
    ///
    /// # Errors
    /// The can is not on the shelf.
    pub fn chance(&self, can: CanId, loader: Option<LoaderId>, clicks: u32) -> Outcome<f64> {
        let index = self
            .cans
            .iter()
            .position(|c| c.can.id == can)
            .ok_or_else(|| super::error::unknown("can", can))?;
        Ok(self
            .posterior
            .can_wind(index, self.loader_number(loader), clicks))
    }

    /// Film one roll of `clicks` draws on a loader, mm.
    ///
    /// # Errors
    /// Clicks out of range.
    pub fn drawn_mm(
        &self,
        stock: &Stock,
        loader: Option<LoaderId>,
        clicks: u32,
    ) -> Outcome<Estimate> {
        let learnt = self.posterior.loader(self.loader_number(loader));
        Ok(trade::drawn_mm(
            clicks,
            stock.pitch,
            learnt.click_scale,
            learnt.uncounted_mm,
        )?)
    }

    /// What an empty can of that kind weighs, g, as known now; none for a kind never seen.
    pub fn package_tare(&self, package: &str) -> Option<Estimate> {
        self.package_index
            .get(&package_key(package)?)
            .map(|i| self.posterior.package(*i).new_can_tare_g)
    }

    fn loader_number(&self, loader: Option<LoaderId>) -> usize {
        loader
            .and_then(|id| self.loader_index.get(&id).copied())
            .unwrap_or(self.loaders.len())
    }

    fn view(
        &self,
        index: usize,
        can: Can,
        place: Option<StoragePlace>,
    ) -> Result<CanView, Failure> {
        let p = &self.posterior;
        let stock = self.stock(can.stock)?.clone();
        let loader = self.loader(can.loader).map(|l| l.loader.clone());
        let number = self.loader_number(can.loader);
        let remaining = p.remaining_m(index);
        let learnt = p.can(index);
        let of_stock = p.stock(
            self.stocks
                .iter()
                .position(|s| s.id == can.stock)
                .unwrap_or(0),
        );
        let leader = loader
            .as_ref()
            .map_or(trade::LEADER_CLICKS, |l| l.leader_clicks);
        let light = self.settings.light();
        let tail = match (light, &loader) {
            (spoolwright_core::film::Light::Room, Some(l)) => l.tail_clicks,
            _ => light.tail_clicks(),
        };
        let mut chances: Vec<Chance> = self
            .settings
            .menu_frames
            .iter()
            .map(|&frames| {
                let clicks = frames + leader + tail;
                Chance {
                    frames,
                    clicks,
                    probability: p.can_wind(index, number, clicks),
                }
            })
            .collect();
        chances.sort_by_key(|c| std::cmp::Reverse(c.frames));
        let mut promised = 0.0;
        for ticket in self.queue.iter().filter(|t| t.can == can.id) {
            promised += self
                .drawn_mm(&stock, ticket.loader, ticket_clicks(ticket)?)?
                .mean
                / 1e3;
        }
        let click = stock.pitch.click().to_m();
        let (frames, clicks) = chances.first().map_or((0, 1), |c| (c.frames, c.clicks));
        let each = self.drawn_mm(&stock, can.loader, clicks)?.mean / 1e3;
        let across = |metres: f64| {
            spool::outer_diameter(
                Length::m(metres.max(0.0)),
                Length::mm(can.core_mm),
                Length::mm(of_stock.thickness_mm.mean),
            )
            .map_or(can.core_mm, Length::to_mm)
        };
        Ok(CanView {
            remaining,
            share: (remaining.mean / can.length_m.mean).clamp(0.0, 1.0),
            clicks: (
                remaining.mean / click,
                remaining.lower95 / click,
                remaining.upper95 / click,
            ),
            rolls: RollCount {
                frames,
                count: (
                    remaining.mean / each,
                    remaining.lower95 / each,
                    remaining.upper95 / each,
                ),
            },
            diameters: Diameters {
                core: can.core_mm,
                now: (
                    across(remaining.mean),
                    across(remaining.lower95),
                    across(remaining.upper95),
                ),
                full: across(can.length_m.mean),
            },
            promised_m: promised,
            chances,
            next: if can.state == CanState::Open {
                p.next_measurements(index, number)
                    .into_iter()
                    .map(|n| NextMeasurement {
                        // Near the end of a can the cut at zero is narrower than any sum.
                        sd_after_m: n.sd_after_m.min(remaining.sd),
                        ..n
                    })
                    .collect()
            } else {
                Vec::new()
            },
            linear_mass_g_per_m: of_stock.linear_mass_g_per_m,
            thickness_mm: of_stock.thickness_mm,
            tare_g: learnt.tare_g,
            length_m: learnt.length_m,
            caveats: caveats::of(
                &can,
                &stock,
                caveats::kept_c(&can, place.as_ref()),
                &self.settings,
                p.caveats(index),
            ),
            place,
            can,
            stock,
            loader,
        })
    }
}

/// Clicks a ticket is to be wound to.
pub(crate) fn ticket_clicks(ticket: &Ticket) -> Outcome<u32> {
    Ok(
        spoolwright_core::film::clicks_for_frames(ticket.frames, ticket.advance_perforations)?
            + ticket.leader_clicks
            + ticket.tail_clicks,
    )
}

/// A roll on the shelf with the names around it.
#[derive(Debug, Clone, PartialEq)]
pub struct RollView {
    /// As recorded.
    pub roll: Roll,
    /// Its can's letters.
    pub can: String,
    /// Its stock.
    pub stock: Stock,
    /// Its cassette's label.
    pub cassette: Option<String>,
    /// Its cassette has leaked light: the roll may be fogged.
    pub cassette_leaks: bool,
    /// What it is for.
    pub want: Option<String>,
    /// EI to set the camera to: its own, else its stock's.
    pub ei: Option<f64>,
}

impl Shelf {
    /// A roll with the names around it.
    ///
    /// # Errors
    /// Its can is not on the shelf.
    pub fn roll_view(&self, roll: Roll) -> Outcome<RollView> {
        let can = self.can(roll.can)?;
        let cassette = self
            .cassettes
            .iter()
            .map(|c| &c.cassette)
            .find(|c| Some(c.id) == roll.cassette);
        Ok(RollView {
            can: can.can.letters.clone(),
            stock: can.stock.clone(),
            cassette: cassette.map(|c| c.label.clone()),
            cassette_leaks: roll.state.holds_cassette() && cassette.is_some_and(|c| c.leaks),
            want: self
                .wants
                .iter()
                .find(|w| Some(w.want.id) == roll.want)
                .map(|w| w.want.what_for.clone()),
            ei: roll.ei.or(can.stock.ei),
            roll,
        })
    }

    /// Rolls in one state.
    pub fn count(&self, state: RollState) -> u32 {
        self.roll_counts.get(state.word()).copied().unwrap_or(0)
    }
}
