//! Reading: by number, by label, by state.

mod field;
mod find;
mod history;
mod runs;

pub use history::Changed;

use crate::{Change, Error, Record, Store};
use rusqlite::{Connection, Params};
use spoolwright_core::shelf::{
    BathId, CanId, CassetteId, EvidenceRecord, Roll, RollId, RollState, RunId, StockId, Ticket,
    TicketId, TicketState, WantId, WedgeTestId,
};
use spoolwright_core::wedge::record::{StockCard, WedgeStrip, WedgeTest};
use spoolwright_core::wet::recipe::{Owner, Step};
use spoolwright_core::wet::record::{BathEvent, RunRoll, SheetTime};
use spoolwright_core::wet::timer::Mark;
use std::collections::BTreeMap;

fn many<R: Record>(db: &Connection, rest: &str, params: impl Params) -> Result<Vec<R>, Error> {
    let mut statement = db.prepare_cached(&format!("{} {rest}", R::SELECT))?;
    let mut rows = statement.query(params)?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        all.push(R::from_row(row)?);
    }
    Ok(all)
}

pub(crate) fn one<R: Record>(
    db: &Connection,
    rest: &str,
    params: impl Params,
) -> Result<Option<R>, Error> {
    Ok(many(db, rest, params)?.pop())
}

fn newest_cards(db: &Connection) -> Result<Vec<StockCard>, Error> {
    many(
        db,
        "WHERE id IN (SELECT max(id) FROM stock_card GROUP BY stock) ORDER BY stock",
        [],
    )
}

fn newest_eis(db: &Connection) -> Result<Vec<StockCard>, Error> {
    many(
        db,
        "WHERE id IN (SELECT max(id) FROM stock_card WHERE ei IS NOT NULL GROUP BY stock) ORDER BY stock",
        [],
    )
}

fn steps_of(db: &Connection, owner: Owner) -> Result<Vec<Step>, Error> {
    let (column, id) = match owner {
        Owner::Recipe(id) => ("recipe", id.0),
        Owner::Run(id) => ("run", id.0),
    };
    many(
        db,
        &format!("WHERE {column} = ?1 ORDER BY position, id"),
        [id],
    )
}

fn marks_of(db: &Connection, run: RunId) -> Result<Vec<Mark>, Error> {
    many(db, "WHERE run = ?1 ORDER BY id", [run.0])
}

impl Change<'_> {
    /// Steps of a recipe or of a run, in order, as this change sees them.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn steps_of(&self, owner: Owner) -> Result<Vec<Step>, Error> {
        steps_of(&self.tx, owner)
    }

    /// Marks of one run's clock, as this change sees them.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn marks_of(&self, run: RunId) -> Result<Vec<Mark>, Error> {
        marks_of(&self.tx, run)
    }

    /// Runs a roll was or is in, newest first, as this change sees them.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn runs_of_roll(&self, roll: RollId) -> Result<Vec<RunRoll>, Error> {
        many(&self.tx, "WHERE roll = ?1 ORDER BY id DESC", [roll.0])
    }

    /// What befell a bath, as this change sees it.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn events_of_bath(&self, bath: BathId) -> Result<Vec<BathEvent>, Error> {
        many(&self.tx, "WHERE bath = ?1 ORDER BY id", [bath.0])
    }

    /// Rolls of one run, as this change sees them.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn rolls_of_run(&self, run: RunId) -> Result<Vec<RunRoll>, Error> {
        many(&self.tx, "WHERE run = ?1 ORDER BY reel, id", [run.0])
    }

    /// The newest card with an EI of every stock that has one.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn newest_eis(&self) -> Result<Vec<StockCard>, Error> {
        newest_eis(&self.tx)
    }

    /// Strips of one wedge test, in the order they were entered.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn strips_of_test(&self, test: WedgeTestId) -> Result<Vec<WedgeStrip>, Error> {
        many(&self.tx, "WHERE test = ?1 ORDER BY id", [test.0])
    }

    /// The record of that number, as this change sees it.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn get<R: Record>(&self, id: R::Id) -> Result<Option<R>, Error> {
        one(
            &self.tx,
            &format!("WHERE {}.id = ?1", R::TABLE),
            [id.into().0],
        )
    }

    /// Every record of one kind, oldest first, as this change sees it.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn all<R: Record>(&self) -> Result<Vec<R>, Error> {
        many(&self.tx, &format!("ORDER BY {}.id", R::TABLE), [])
    }

    /// The running number the next ticket or roll of a can gets: one past every number its letters have
    /// been promised to.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn next_roll_number(&self, can: CanId) -> Result<u32, Error> {
        Ok(self.tx.query_row(
            "SELECT 1 + max(
               (SELECT coalesce(max(number), 0) FROM roll WHERE can = ?1),
               (SELECT coalesce(max(number), 0) FROM ticket WHERE can = ?1))",
            [can.0],
            |r| r.get(0),
        )?)
    }

    /// The roll that sits in a cassette.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn roll_in(&self, cassette: CassetteId) -> Result<Option<Roll>, Error> {
        one(
            &self.tx,
            "WHERE cassette = ?1 AND state IN ('wound', 'in-camera', 'exposed')",
            [cassette.0],
        )
    }

    /// Rolls of one can, oldest first, as this change sees them.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn rolls_of_can(&self, can: CanId) -> Result<Vec<Roll>, Error> {
        many(&self.tx, "WHERE can = ?1 ORDER BY id", [can.0])
    }

    /// The evidence that came with a roll.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn evidence_of_roll(&self, roll: RollId) -> Result<Vec<EvidenceRecord>, Error> {
        many(&self.tx, "WHERE roll = ?1 ORDER BY id", [roll.0])
    }
}

impl Store {
    /// The record of that number.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn get<R: Record>(&self, id: R::Id) -> Result<Option<R>, Error> {
        one(
            &self.db,
            &format!("WHERE {}.id = ?1", R::TABLE),
            [id.into().0],
        )
    }

    /// Every record of one kind, oldest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn all<R: Record>(&self) -> Result<Vec<R>, Error> {
        many(&self.db, &format!("ORDER BY {}.id", R::TABLE), [])
    }

    /// Rolls of one can, oldest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn rolls_of_can(&self, can: CanId) -> Result<Vec<Roll>, Error> {
        many(&self.db, "WHERE can = ?1 ORDER BY number", [can.0])
    }

    /// Rolls that serve one want, oldest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn rolls_of_want(&self, want: WantId) -> Result<Vec<Roll>, Error> {
        many(&self.db, "WHERE want = ?1 ORDER BY id", [want.0])
    }

    /// Rolls in one state, oldest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn rolls_in(&self, state: RollState) -> Result<Vec<Roll>, Error> {
        many(&self.db, "WHERE state = ?1 ORDER BY id", [state.word()])
    }

    /// The newest rolls before number `before` (all when none), newest first, at most `most`.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn recent_rolls(&self, before: Option<RollId>, most: u32) -> Result<Vec<Roll>, Error> {
        many(
            &self.db,
            "WHERE id < ?1 ORDER BY id DESC LIMIT ?2",
            (before.map_or(i64::MAX, |r| r.0), most),
        )
    }

    /// Strips of one wedge test, in the order they were entered.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn strips_of_test(&self, test: WedgeTestId) -> Result<Vec<WedgeStrip>, Error> {
        many(&self.db, "WHERE test = ?1 ORDER BY id", [test.0])
    }

    /// The wedge test whose roll is wound by that ticket.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn test_of_ticket(&self, ticket: TicketId) -> Result<Option<WedgeTest>, Error> {
        one(&self.db, "WHERE ticket = ?1", [ticket.0])
    }

    /// Cards of one stock, newest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn cards_of_stock(&self, stock: StockId) -> Result<Vec<StockCard>, Error> {
        many(&self.db, "WHERE stock = ?1 ORDER BY id DESC", [stock.0])
    }

    /// The newest card of every stock that has one.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn newest_cards(&self) -> Result<Vec<StockCard>, Error> {
        newest_cards(&self.db)
    }

    /// The newest card with an EI of every stock that has one.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn newest_eis(&self) -> Result<Vec<StockCard>, Error> {
        newest_eis(&self.db)
    }

    /// Steps of a recipe or of a run, in order.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn steps_of(&self, owner: Owner) -> Result<Vec<Step>, Error> {
        steps_of(&self.db, owner)
    }

    /// Rolls of one run, as they lie in its reels.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn rolls_of_run(&self, run: RunId) -> Result<Vec<RunRoll>, Error> {
        many(&self.db, "WHERE run = ?1 ORDER BY reel, id", [run.0])
    }

    /// Runs a roll was or is in, newest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn runs_of_roll(&self, roll: RollId) -> Result<Vec<RunRoll>, Error> {
        many(&self.db, "WHERE roll = ?1 ORDER BY id DESC", [roll.0])
    }

    /// Marks of one run's clock, in the order they were made.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn marks_of(&self, run: RunId) -> Result<Vec<Mark>, Error> {
        marks_of(&self.db, run)
    }

    /// What befell a bath, in the order it was written down.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn events_of_bath(&self, bath: BathId) -> Result<Vec<BathEvent>, Error> {
        many(&self.db, "WHERE bath = ?1 ORDER BY id", [bath.0])
    }

    /// What a run drew from baths.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn draws_of_run(&self, run: RunId) -> Result<Vec<BathEvent>, Error> {
        many(&self.db, "WHERE run = ?1 ORDER BY id", [run.0])
    }

    /// The user's own developing times of one stock, oldest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn times_of_stock(&self, stock: StockId) -> Result<Vec<SheetTime>, Error> {
        many(&self.db, "WHERE stock = ?1 ORDER BY id", [stock.0])
    }

    /// How many rolls are in each state.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn roll_counts(&self) -> Result<BTreeMap<String, u32>, Error> {
        let mut statement = self
            .db
            .prepare_cached("SELECT state, count(*) FROM roll GROUP BY state")?;
        let rows = statement.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The roll with that label, whatever its case.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn roll_by_label(&self, label: &str) -> Result<Option<Roll>, Error> {
        one(&self.db, "WHERE label = upper(?1)", [label])
    }

    /// The roll a ticket led to.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn roll_of_ticket(
        &self,
        ticket: spoolwright_core::shelf::TicketId,
    ) -> Result<Option<Roll>, Error> {
        one(&self.db, "WHERE ticket = ?1", [ticket.0])
    }

    /// Tickets in one state, oldest first.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn tickets_in(&self, state: TicketState) -> Result<Vec<Ticket>, Error> {
        many(&self.db, "WHERE state = ?1 ORDER BY id", [state.word()])
    }

    /// Frames each want has been given, scrapped rolls left out, and frames queued for it on tickets.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn frames_for_wants(&self) -> Result<BTreeMap<WantId, (u32, u32)>, Error> {
        let mut all = BTreeMap::<WantId, (u32, u32)>::new();
        let mut read = |sql: &str, queued: bool| -> Result<(), Error> {
            let mut statement = self.db.prepare_cached(sql)?;
            let mut rows = statement.query([])?;
            while let Some(row) = rows.next()? {
                let entry = all.entry(WantId(row.get(0)?)).or_default();
                let frames: u32 = row.get(1)?;
                if queued {
                    entry.1 = frames
                } else {
                    entry.0 = frames
                }
            }
            Ok(())
        };
        read(
            "SELECT want, sum(frames) FROM roll WHERE want IS NOT NULL AND state <> 'scrapped' GROUP BY want",
            false,
        )?;
        read(
            "SELECT want, sum(frames) FROM ticket WHERE want IS NOT NULL AND state = 'queued' GROUP BY want",
            true,
        )?;
        Ok(all)
    }

    /// How often each cassette was filled on this record, and the roll that sits in it now.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn cassette_uses(&self) -> Result<BTreeMap<CassetteId, (u32, Option<RollId>)>, Error> {
        let mut statement = self.db.prepare_cached(
            "SELECT cassette, count(*), max(CASE WHEN state IN ('wound', 'in-camera', 'exposed') THEN id END)
             FROM roll WHERE cassette IS NOT NULL GROUP BY cassette",
        )?;
        let rows = statement.query_map([], |r| {
            Ok((
                CassetteId(r.get(0)?),
                (r.get(1)?, r.get::<_, Option<i64>>(2)?.map(RollId)),
            ))
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
