//! Reading the field and the binder: what is in which camera, notes in the order of the film, where a frame lies, what
//! is kept where, what was bought. Every question can be asked of the store and of a change that is being made.

use super::{many, one};
use crate::{Change, Error, Record, Store};
use rusqlite::Connection;
use spoolwright_core::field::frame::Frame;
use spoolwright_core::field::record::{
    Binder, BinderPage, CameraLoad, FrameNote, FramePlace, Keepable, Kept, PageFormat, Purchase,
    ScanFile, Strip,
};
use spoolwright_core::shelf::{
    BinderId, BinderPageId, CameraId, FrameNoteId, Roll, RollId, ScanFileId, StoragePlaceId,
    StripId,
};

/// Each question once, for [`Store`] and [`Change`] alike.
macro_rules! reads {
    ($($(#[$doc:meta])* fn $name:ident($db:ident $(, $arg:ident: $type:ty)*) -> $back:ty $body:block)+) => {
        impl Store { $(
            $(#[$doc])*
            ///
            /// # Errors
            /// Trouble with the file.
            pub fn $name(&self $(, $arg: $type)*) -> Result<$back, Error> {
                $name(&self.db $(, $arg)*)
            }
        )+ }
        impl Change<'_> { $(
            $(#[$doc])*
            ///
            /// # Errors
            /// Trouble with the file.
            pub fn $name(&self $(, $arg: $type)*) -> Result<$back, Error> {
                $name(&self.tx $(, $arg)*)
            }
        )+ }
        $(fn $name($db: &Connection $(, $arg: $type)*) -> Result<$back, Error> $body)+
    };
}

reads! {
    /// The roll that is in a camera now.
    fn open_load_of_camera(db, camera: CameraId) -> Option<CameraLoad> {
        one(db, "WHERE camera = ?1 AND out_on IS NULL", [camera.0])
    }
    /// The camera a roll is in now.
    fn open_load_of_roll(db, roll: RollId) -> Option<CameraLoad> {
        one(db, "WHERE roll = ?1 AND out_on IS NULL", [roll.0])
    }
    /// What is in which camera now, longest first.
    fn open_loads(db) -> Vec<CameraLoad> {
        many(db, "WHERE out_on IS NULL ORDER BY id", [])
    }
    /// A roll's stays in cameras, oldest first.
    fn loads_of_roll(db, roll: RollId) -> Vec<CameraLoad> {
        many(db, "WHERE roll = ?1 ORDER BY id", [roll.0])
    }
    /// The newest `most` rolls that were in a camera, newest first.
    fn loads_of_camera(db, camera: CameraId, most: u32) -> Vec<CameraLoad> {
        many(db, "WHERE camera = ?1 ORDER BY id DESC LIMIT ?2", (camera.0, most))
    }
    /// Notes of a roll in the order of its frames; a version not settled yet after the note it stands beside.
    fn notes_of_roll(db, roll: RollId) -> Vec<FrameNote> {
        let mut notes: Vec<FrameNote> = many(db, "WHERE roll = ?1 ORDER BY id", [roll.0])?;
        notes.sort_by_key(|n| (n.frame, n.beside.unwrap_or(n.id), n.id));
        Ok(notes)
    }
    /// The note last written of a roll, to repeat what it says.
    fn newest_note_of_roll(db, roll: RollId) -> Option<FrameNote> {
        one(db, "WHERE roll = ?1 AND beside IS NULL ORDER BY id DESC LIMIT 1", [roll.0])
    }
    /// The note of that key.
    fn note_of_key(db, key: &str) -> Option<FrameNote> {
        one(db, "WHERE key = ?1 AND key <> ''", [key])
    }
    /// Other versions of a note that are not settled yet, oldest first.
    fn versions_beside(db, note: FrameNoteId) -> Vec<FrameNote> {
        many(db, "WHERE beside = ?1 ORDER BY id", [note.0])
    }
    /// Every version of any note that waits to be settled, oldest first.
    fn unsettled_notes(db) -> Vec<FrameNote> {
        many(db, "WHERE beside IS NOT NULL ORDER BY id", [])
    }
    /// Pages of a binder by their numbers.
    fn pages_of_binder(db, binder: BinderId) -> Vec<BinderPage> {
        many(db, "WHERE binder = ?1 ORDER BY number", [binder.0])
    }
    /// The page of a binder that has that number.
    fn page_numbered(db, binder: BinderId, number: u32) -> Option<BinderPage> {
        one(db, "WHERE binder = ?1 AND number = ?2", (binder.0, number))
    }
    /// Strips of a page, row by row.
    fn strips_of_page(db, page: BinderPageId) -> Vec<Strip> {
        many(db, "WHERE page = ?1 ORDER BY row, position", [page.0])
    }
    /// Strips of a binder, page by page and row by row.
    fn strips_of_binder(db, binder: BinderId) -> Vec<Strip> {
        many(
            db,
            "JOIN binder_page ON binder_page.id = strip.page WHERE binder = ?1 ORDER BY number, row, position",
            [binder.0],
        )
    }
    /// Strips of a roll in the order of its frames.
    fn strips_of_roll(db, roll: RollId) -> Vec<Strip> {
        let mut strips: Vec<Strip> = many(db, "WHERE roll = ?1 ORDER BY id", [roll.0])?;
        strips.sort_by_key(|s| (s.first, s.id));
        Ok(strips)
    }
    /// Where a frame lies, if its strip is filed.
    fn place_of_frame(db, roll: RollId, frame: Frame) -> Option<FramePlace> {
        let Some(of) = by_id::<Roll>(db, roll)? else {
            return Ok(None);
        };
        let strips = strips_of_roll(db, roll)?.into_iter();
        let mut holding =
            strips.filter_map(|s| Some((s.position_of(frame, of.advance_perforations)?, s)));
        let Some((position, strip)) = holding.next() else {
            return Ok(None);
        };
        let damaged = || Error::Damaged(format!("strip {} lies on no page", strip.id));
        let page = by_id::<BinderPage>(db, strip.page)?.ok_or_else(damaged)?;
        let binder = by_id::<Binder>(db, page.binder)?.ok_or_else(damaged)?;
        let format = by_id::<PageFormat>(db, binder.format)?.ok_or_else(damaged)?;
        Ok(Some(FramePlace { binder, format, page, strip, position }))
    }
    /// Scans of a roll in the order of its frames.
    fn scans_of_roll(db, roll: RollId) -> Vec<ScanFile> {
        let mut scans: Vec<ScanFile> = many(db, "WHERE roll = ?1 ORDER BY path", [roll.0])?;
        scans.sort_by_key(|s| s.frame);
        Ok(scans)
    }
    /// The scan of that path.
    fn scan_of_path(db, path: &str) -> Option<ScanFile> {
        one(db, "WHERE path = ?1", [path])
    }
    /// Scans whose paths are `stem` with an ending after a point.
    fn scans_of_stem(db, stem: &str) -> Vec<ScanFile> {
        // A slash is the character after a point, so this is a span of the index of paths.
        many(db, "WHERE path > ?1 || '.' AND path < ?1 || '/' ORDER BY path", [stem])
    }
    /// Where something is kept now, by the newest day.
    fn kept_now(db, thing: Keepable) -> Option<Kept> {
        let (column, id) = column_of(thing);
        let rest = format!("WHERE {column} = ?1 ORDER BY since DESC, id DESC LIMIT 1");
        one(db, &rest, [id])
    }
    /// Where something was and is kept, newest day first.
    fn places_of(db, thing: Keepable) -> Vec<Kept> {
        let (column, id) = column_of(thing);
        let rest = format!("WHERE {column} = ?1 ORDER BY since DESC, id DESC");
        many(db, &rest, [id])
    }
    /// Where everything is kept now that is known to be kept anywhere.
    fn all_kept_now(db) -> Vec<Kept> {
        many(
            db,
            "WHERE id IN (SELECT id FROM (SELECT id, row_number() OVER (
               PARTITION BY can, roll, binder ORDER BY since DESC, id DESC) AS age FROM kept) WHERE age = 1)
             ORDER BY id",
            [],
        )
    }
    /// What is kept in a place now.
    fn kept_in(db, place: StoragePlaceId) -> Vec<Kept> {
        let all = all_kept_now(db)?.into_iter();
        Ok(all.filter(|k| k.place == place).collect())
    }
    /// What was bought in a year, in order of days.
    fn purchases_of_year(db, year: u16) -> Vec<Purchase> {
        let (from, to) = (format!("{year:04}-01-01"), format!("{year:04}-12-31"));
        many(db, "WHERE day BETWEEN ?1 AND ?2 ORDER BY day, id", [from, to])
    }
}

fn by_id<R: Record>(db: &Connection, id: R::Id) -> Result<Option<R>, Error> {
    one(db, &format!("WHERE {}.id = ?1", R::TABLE), [id.into().0])
}

const fn column_of(thing: Keepable) -> (&'static str, i64) {
    match thing {
        Keepable::Can(id) => ("can", id.0),
        Keepable::Roll(id) => ("roll", id.0),
        Keepable::Binder(id) => ("binder", id.0),
    }
}

impl Change<'_> {
    /// Makes `strips` all that lies on a page, whatever their numbers. What lay there otherwise is taken away; the
    /// journal keeps it.
    ///
    /// # Errors
    /// Two strips begin at the same place, a roll is not on the shelf, or trouble with the file.
    pub fn put_strips(&mut self, page: BinderPageId, strips: &[Strip]) -> Result<(), Error> {
        let plain = |s: &Strip| Strip {
            id: StripId(0),
            page,
            ..s.clone()
        };
        let old = self.strips_of_page(page)?;
        let wanted: Vec<Strip> = strips.iter().map(plain).collect();
        for gone in old.iter().filter(|s| !wanted.contains(&plain(s))) {
            self.remove(Strip::TABLE, gone.id.0)?;
        }
        let held: Vec<Strip> = old.iter().map(plain).collect();
        for new in wanted.iter().filter(|s| !held.contains(s)) {
            self.insert(Strip::TABLE, &new.fields())?;
        }
        self.about(crate::Subject::of::<BinderPage>(page));
        Ok(())
    }

    /// Writes a note as a person settled it, and takes away the versions beside it; the journal keeps them.
    ///
    /// # Errors
    /// As for [`Change::put`].
    pub fn settle_note(&mut self, note: &FrameNote) -> Result<FrameNoteId, Error> {
        let id = self.put(note)?;
        for version in self.versions_beside(id)? {
            self.remove(FrameNote::TABLE, version.id.0)?;
        }
        Ok(id)
    }

    /// Takes a note away, and the versions beside it; the journal keeps them.
    ///
    /// # Errors
    /// There is no such note, or trouble with the file.
    pub fn take_away_note(&mut self, id: FrameNoteId) -> Result<(), Error> {
        for version in self.versions_beside(id)? {
            self.remove(FrameNote::TABLE, version.id.0)?;
        }
        self.take_away::<FrameNote>(id)
    }

    /// Takes away that a file is the scan of a frame; the file stays, and the journal keeps the rest.
    ///
    /// # Errors
    /// There is no such scan, or trouble with the file.
    pub fn take_away_scan(&mut self, id: ScanFileId) -> Result<(), Error> {
        self.take_away::<ScanFile>(id)
    }

    fn take_away<R: Record>(&mut self, id: R::Id) -> Result<(), Error> {
        let number = id.into().0;
        if self.get::<R>(id)?.is_none() {
            return Err(crate::journal::gone(R::TABLE, number));
        }
        self.remove(R::TABLE, number)?;
        self.about(crate::Subject::of::<R>(id));
        Ok(())
    }
}
