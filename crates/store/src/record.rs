//! How a core record and a table row become each other.

use crate::{Change, Error};
use rusqlite::Row;
use rusqlite::types::Value;

/// A core type that is one row of one table.
pub trait Record: Sized {
    /// Its typed number.
    type Id: Copy + Into<Number> + From<Number>;
    /// The table, which is also the word for it in the journal.
    const TABLE: &'static str;
    /// The columns to read; joins what does not lie in the table itself.
    const SELECT: &'static str;

    /// Its number; zero when it is new.
    fn id(&self) -> Self::Id;
    /// Every column but the number.
    fn fields(&self) -> Vec<(&'static str, Value)>;
    /// Reads one row of [`Record::SELECT`].
    ///
    /// # Errors
    /// A column holds what this program never writes.
    fn from_row(row: &Row<'_>) -> Result<Self, Error>;
    /// Writes what lies outside the table itself.
    ///
    /// # Errors
    /// SQLite refuses.
    fn put_links(&self, _id: i64, _change: &mut Change<'_>) -> Result<(), Error> {
        Ok(())
    }
}

/// A row's number, between typed ids and SQLite.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Number(pub i64);

macro_rules! numbered {
    ($($id:ty),+) => { $(
        impl From<$id> for Number {
            fn from(id: $id) -> Self {
                Self(id.0)
            }
        }
        impl From<Number> for $id {
            fn from(n: Number) -> Self {
                Self(n.0)
            }
        }
    )+ };
}
use spoolwright_core::shelf::{
    BathEventId, BathId, BinderId, BinderPageId, CameraId, CameraLoadId, CanId, CassetteId,
    EntryId, EvidenceId, FrameNoteId, KeptId, LoaderId, MarkId, PageFormatId, PurchaseId, RecipeId,
    ReelId, RollId, RunId, RunRollId, ScanFileId, SheetTimeId, StepId, StockCardId, StockId,
    StoragePlaceId, StripId, TankId, TicketId, WantId, WedgeStripId, WedgeTestId,
};
numbered!(
    BathEventId,
    BathId,
    BinderId,
    BinderPageId,
    CameraId,
    CameraLoadId,
    CanId,
    CassetteId,
    EntryId,
    EvidenceId,
    FrameNoteId,
    KeptId,
    LoaderId,
    MarkId,
    PageFormatId,
    PurchaseId,
    RecipeId,
    ReelId,
    RollId,
    RunId,
    RunRollId,
    ScanFileId,
    SheetTimeId,
    StepId,
    StockCardId,
    StockId,
    StoragePlaceId,
    StripId,
    TankId,
    TicketId,
    WantId,
    WedgeStripId,
    WedgeTestId
);

impl From<i64> for Number {
    fn from(n: i64) -> Self {
        Self(n)
    }
}
impl From<Number> for i64 {
    fn from(n: Number) -> Self {
        n.0
    }
}

/// What a journal entry is about, for the history of one thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Subject {
    /// The word for it: a table's name.
    pub kind: &'static str,
    /// Its number.
    pub id: i64,
}

impl Subject {
    /// The subject that is this record.
    pub fn of<R: Record>(id: R::Id) -> Self {
        Self {
            kind: R::TABLE,
            id: id.into().0,
        }
    }
}
