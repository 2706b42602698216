//! The wedge bench: tests begun, strips read, curves worked out, stock cards made.
//!
//! No formula lives here; what a test says is the business of `found`.

mod card;
mod draft;
mod found;
mod paper;
mod remarks;
mod scan;

pub use crate::table;
pub use card::CardView;
pub use draft::{
    CardDraft, ReadingsDraft, TargetDraft, TestDraft, USUAL_TIMES, USUAL_WEDGE, usual_steps,
};
pub(crate) use draft::{channels_of, material_of};
pub(super) use found::Kept;
pub use found::{Combined, Layer};
pub(super) use remarks::unrecorded;
pub(super) use scan::Place;
pub use scan::{Held, MOST_BYTES, Patch, ScanDraft, ScanView, TakingIn, WEDGES, too_large};

use super::error::at;
use super::shelf::RollView;
use super::{Made, Outcome, Request, Service, find_in};
use crate::minutes::told;
use spoolwright_core::film::{Light, PERFORATIONS_PER_CLICK};
use spoolwright_core::shelf::{
    Base, Can, CanId, Cassette, Roll, RollState, Stock, Ticket, TicketId, WedgeStripId, WedgeTestId,
};
use spoolwright_core::wedge::record::{StockCard, Way, WedgeStrip, WedgeTest};
use spoolwright_core::wedge::shots::{self, ShotList};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Subject};

/// A test with everything around it.
#[derive(Debug, Clone)]
pub struct TestView {
    /// As entered.
    pub test: WedgeTest,
    /// The stock under test.
    pub stock: Stock,
    /// Letters of the can its film came from.
    pub can: Option<String>,
    /// The ticket its roll is wound by, in camera.
    pub ticket: Option<Ticket>,
    /// The roll, once wound.
    pub roll: Option<RollView>,
    /// The shot list, in camera.
    pub shots: Option<ShotList>,
    /// Strips as read, those left out too.
    pub strips: Vec<WedgeStrip>,
    /// Cards made from it, newest first.
    pub cards: Vec<StockCard>,
    /// That the test was changed after its newest card was saved, and in what; none while it was not.
    pub outdated: Option<String>,
    /// Where the strips read and the record of the test do not agree, a sentence or two each.
    pub remarks: Vec<String>,
}

impl Service {
    /// Every test, newest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn wedge_tests(&self) -> Outcome<Vec<TestView>> {
        let mut tests: Vec<WedgeTest> = self.all()?;
        tests.reverse();
        tests.into_iter().map(|t| self.test_view(t)).collect()
    }

    /// One test.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn wedge_test(&self, id: WedgeTestId) -> Outcome<TestView> {
        self.test_view(self.find(id)?)
    }

    /// The test that a name or number means.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn wedge_test_named(&self, text: &str) -> Outcome<WedgeTest> {
        super::things::named(self.all()?, text, "test", |t: &WedgeTest| &t.name)
    }

    /// The test whose roll this is.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn wedge_test_of_roll(&self, roll: &Roll) -> Outcome<Option<WedgeTest>> {
        match roll.ticket {
            Some(ticket) => self.wedge_test_of_ticket(ticket),
            None => Ok(None),
        }
    }

    /// The test whose roll this ticket winds.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn wedge_test_of_ticket(&self, ticket: TicketId) -> Outcome<Option<WedgeTest>> {
        Ok(self.store().test_of_ticket(ticket)?)
    }

    fn test_view(&self, test: WedgeTest) -> Outcome<TestView> {
        let shelf = self.shelf()?;
        let stock = shelf.stock(test.stock)?.clone();
        let can = test.can.map(|c| shelf.can(c)).transpose()?;
        let store = self.store();
        let ticket = match test.ticket {
            Some(id) => store.get::<Ticket>(id)?,
            None => None,
        };
        let roll = match test.ticket {
            Some(id) => store.roll_of_ticket(id)?,
            None => None,
        };
        let strips = store.strips_of_test(test.id)?;
        let mut cards = store.cards_of_stock(test.stock)?;
        cards.retain(|c| c.test == Some(test.id));
        drop(store);
        let outdated = cards.first().map(|c| self.outdated(c)).transpose()?;
        let remarks = [
            remarks::other_times(&test, &strips),
            remarks::unrecorded(&strips, ticket.as_ref(), roll.as_ref()),
        ];
        Ok(TestView {
            shots: shots_of(&test, &stock, ticket.as_ref())?,
            can: can.map(|c| c.can.letters.clone()),
            roll: roll.map(|r| shelf.roll_view(r)).transpose()?,
            outdated: outdated.flatten(),
            remarks: remarks.into_iter().flatten().collect(),
            cards,
            stock,
            ticket,
            strips,
            test,
        })
    }

    /// Begins a test. In camera, with a can given, its roll is queued at the loader in the same change.
    ///
    /// # Errors
    /// Every fault of the draft; film on nitrate base; a roll that fits no reel.
    pub fn begin_test(
        &self,
        draft: &TestDraft,
        request: Request<'_>,
    ) -> Outcome<Made<WedgeTestId>> {
        let settings = self.settings()?;
        let today = self.today();
        self.change(request, |change| {
            let stocks = change.all::<Stock>()?;
            let cans = change.all::<Can>()?;
            let fahrenheit = settings.fahrenheit;
            let mut test = draft.read(WedgeTestId(0), (&stocks, &cans), &today, fahrenheit)?;
            let stock = find_in::<Stock>(change, test.stock)?;
            refuse_nitrate(&stock)?;
            if draft.name.trim().is_empty() {
                test.name = unused_name(change, &test.name)?;
            }
            free_name(change, &test)?;
            let mut story = format!("Began the test {}.", test.name);
            if test.way == Way::InCamera
                && let Some(can) = test.can
            {
                let (ticket, queued) = queue_roll(change, &test, can, settings.light())?;
                test.ticket = Some(ticket);
                story.push_str(&queued);
                change.about(Subject::of::<Can>(can));
            }
            let id = change.put(&test)?;
            change.about(Subject::of::<Stock>(stock.id));
            Ok(("wedge.begun", story, id))
        })
    }

    /// Changes a test's words and times; a test in camera keeps its can and exposures once its roll is queued.
    ///
    /// # Errors
    /// Every fault of the draft; steps that no longer fit strips already read.
    pub fn change_test(
        &self,
        id: WedgeTestId,
        draft: &TestDraft,
        request: Request<'_>,
    ) -> Outcome<Made<WedgeTestId>> {
        let settings = self.settings()?;
        self.change(request, |change| {
            let stocks = change.all::<Stock>()?;
            let cans = change.all::<Can>()?;
            let old = find_in::<WedgeTest>(change, id)?;
            let read = draft.read(id, (&stocks, &cans), &old.begun_on, settings.fahrenheit)?;
            refuse_nitrate(&find_in::<Stock>(change, read.stock)?)?;
            let test = WedgeTest {
                ticket: old.ticket,
                closed: old.closed,
                ..read
            };
            free_name(change, &test)?;
            let fixed = (test.way, &test.steps, test.stock) != (old.way, &old.steps, old.stock);
            if fixed && !change.strips_of_test(id)?.is_empty() {
                return Err(at(
                    "steps",
                    Error::new(
                        Kind::Conflict,
                        "steps of a test",
                        "steps, way or stock changed after strips were read",
                        "the steps the strips were read with",
                        "Begin another test, or undo the readings first.",
                    ),
                ));
            }
            if old.ticket.is_some()
                && (fixed || test.planned_min.len() != old.planned_min.len() || test.can != old.can)
            {
                return Err(at(
                    "steps",
                    Error::new(
                        Kind::Conflict,
                        "exposures of a test",
                        "exposures, strips or can changed after its roll was queued",
                        "the roll as it was queued",
                        "Undo the beginning of this test and begin again, or begin another.",
                    ),
                ));
            }
            change.put(&test)?;
            Ok((
                "wedge.changed",
                format!("Changed the test {}.", test.name),
                id,
            ))
        })
    }

    /// Takes a test out of the list, or puts it back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_test(
        &self,
        id: WedgeTestId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let test = find_in::<WedgeTest>(change, id)?;
            let story = if closed {
                format!("Put the test {} away.", test.name)
            } else {
                format!("Took the test {} out again.", test.name)
            };
            change.put(&WedgeTest { closed, ..test })?;
            Ok(("wedge.closed", story, ()))
        })
    }

    /// Takes in the densities of one strip or several; a strip of the same time and light is replaced.
    ///
    /// What is read was developed: the test's roll, if wound, moves on to that in the same change.
    ///
    /// # Errors
    /// A table that cannot be read, whose steps are not the test's, or that no curve can be drawn through.
    pub fn put_readings(
        &self,
        id: WedgeTestId,
        draft: &ReadingsDraft,
        request: Request<'_>,
    ) -> Outcome<Made<usize>> {
        let today = self.today();
        self.change(request, |change| {
            let test = find_in::<WedgeTest>(change, id)?;
            let stock = find_in::<Stock>(change, test.stock)?;
            let (table, density_sd, source) = draft.read(&test, stock.process)?;
            let held = change.strips_of_test(id)?;
            let count = table.columns.len();
            let read: Vec<WedgeStrip> = table
                .columns
                .into_iter()
                .map(|column| {
                    let same = held
                        .iter()
                        .find(|s| s.time_min == column.time_min && s.channel == column.channel);
                    WedgeStrip {
                        id: same.map_or(WedgeStripId(0), |s| s.id),
                        test: id,
                        time_min: column.time_min,
                        channel: column.channel,
                        density: column.density,
                        density_sd,
                        base_fog: column.base_fog,
                        source: source.clone(),
                        left_out: same.is_some_and(|s| s.left_out),
                    }
                })
                .collect();
            found::refuse_unusable(&test, &held, &read, stock.process)
                .map_err(|e| at("table", e))?;
            let replaced = read.iter().filter(|s| s.id != WedgeStripId(0)).count();
            for strip in &read {
                change.put(strip)?;
            }
            change.about(Subject::of::<WedgeTest>(id));
            let strips = if count == 1 {
                "one strip".into()
            } else {
                format!("{count} strips")
            };
            let mut again = match replaced {
                0 => String::new(),
                1 => " One took the place of an earlier reading.".into(),
                n => format!(" {n} took the place of earlier readings."),
            };
            if let Some(roll) = roll_of(change, &test)?.filter(remarks::not_developed) {
                again.push_str(&format!(" Its roll {} is developed.", roll.label));
                change.about(Subject::of::<Can>(roll.can));
                if let Some(cassette) = roll.cassette {
                    change.about(Subject::of::<Cassette>(cassette));
                }
                super::field::stays::end_stay(change, roll.id, RollState::Developed, &today)?;
                change.put(&Roll {
                    state: RollState::Developed,
                    ..roll
                })?;
            }
            Ok((
                "wedge.read",
                format!("Read {strips} of the test {}.{again}", test.name),
                count,
            ))
        })
    }

    /// Leaves a strip out of the sums in every light it was read in, or takes it in again.
    ///
    /// # Errors
    /// There is none of that number in this test.
    pub fn leave_strip_out(
        &self,
        test: WedgeTestId,
        strip: WedgeStripId,
        left_out: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let name = find_in::<WedgeTest>(change, test)?.name;
            let old = find_in::<WedgeStrip>(change, strip)?;
            if old.test != test {
                return Err(super::error::unknown("wedge_strip", strip));
            }
            let (what, minutes) = (if left_out { "Left out" } else { "Took in" }, old.time_min);
            for strip in change.strips_of_test(test)? {
                if strip.time_min == old.time_min {
                    change.put(&WedgeStrip { left_out, ..strip })?;
                }
            }
            change.about(Subject::of::<WedgeTest>(test));
            Ok((
                "wedge.strip",
                format!("{what} the {} min strip of the test {name}.", told(minutes)),
                (),
            ))
        })
    }
}

/// The shot list of a test in camera.
fn shots_of(test: &WedgeTest, stock: &Stock, ticket: Option<&Ticket>) -> Outcome<Option<ShotList>> {
    if test.way != Way::InCamera {
        return Ok(None);
    }
    let leader = ticket.map_or(spoolwright_core::ticket::LEADER_CLICKS, |t| t.leader_clicks);
    Ok(Some(shots::shot_list(
        test.planned_min.len(),
        &test.steps,
        stock.pitch,
        leader,
        PERFORATIONS_PER_CLICK,
    )?))
}

fn queue_roll(
    change: &mut Change<'_>,
    test: &WedgeTest,
    can: CanId,
    light: Light,
) -> Outcome<(TicketId, String)> {
    let can = find_in::<Can>(change, can)?;
    let stock = find_in::<Stock>(change, can.stock)?;
    let list = shots_of(test, &stock, None)?;
    let frames = list.map_or(0, |l| l.frames());
    let ticket = super::queue::new_ticket(
        change,
        &can,
        None,
        (frames, PERFORATIONS_PER_CLICK),
        light,
        test.meter_ei,
        format!("For the test {}: follow its shot list.", test.name),
    )?;
    // Its strips go into the tank one by one, so that no reel limits it; the cassette does.
    spoolwright_core::ticket::ticket(&super::queue::request_of(&ticket, &stock, None, None))
        .map_err(|e| {
            let remedy = "Begin it with fewer developing times or exposures, or as two tests.";
            at(
                "times",
                Error {
                    remedy: remedy.into(),
                    ..e
                },
            )
        })?;
    let label = Roll::label_of(&can.letters, ticket.number);
    let queued = format!(" Queued its roll {label}: {frames} frames.");
    Ok((change.put(&ticket)?, queued))
}

/// The roll of a test in camera, once wound.
fn roll_of(change: &Change<'_>, test: &WedgeTest) -> Outcome<Option<Roll>> {
    let Some(ticket) = test.ticket else {
        return Ok(None);
    };
    let rolls = match test.can {
        Some(can) => change.rolls_of_can(can)?,
        None => Vec::new(),
    };
    Ok(rolls.into_iter().find(|r| r.ticket == Some(ticket)))
}

fn refuse_nitrate(stock: &Stock) -> Outcome<()> {
    if stock.base != Base::Nitrate {
        return Ok(());
    }
    Err(at(
        "stock",
        Error::new(
            Kind::Impossible,
            format!("the stock {}", stock.name),
            "film on nitrate base, a fire hazard",
            "film on acetate or polyester base",
            "Do not test it at home: ask a film archive, and follow local rules.",
        ),
    ))
}

/// The name, or the first of `name (2)`, `name (3)` and so on that no test has.
fn unused_name(change: &Change<'_>, name: &str) -> Outcome<String> {
    let tests = change.all::<WedgeTest>()?;
    let free = |name: &String| !tests.iter().any(|t| t.name.eq_ignore_ascii_case(name));
    Ok(std::iter::once(name.to_owned())
        .chain((2..).map(|n| format!("{name} ({n})")))
        .find(free)
        .unwrap_or_default())
}

fn free_name(change: &Change<'_>, test: &WedgeTest) -> Outcome<()> {
    let taken = change
        .all::<WedgeTest>()?
        .iter()
        .any(|t| t.id != test.id && t.name.eq_ignore_ascii_case(&test.name));
    if !taken {
        return Ok(());
    }
    Err(at(
        "name",
        Error::new(
            Kind::Conflict,
            "a test's name",
            test.name.clone(),
            "a name no other test has",
            "Choose another name.",
        ),
    ))
}
