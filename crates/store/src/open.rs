//! Opening, migrating and backing up the file. One connection, one writer at a time, WAL.

use crate::Error;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};
use rusqlite_migration::{M, Migrations};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Schema steps, only ever added to.
const STEPS: &[M<'_>] = &[
    M::up(include_str!("../migrations/0001_shelf.sql")),
    M::up(include_str!("../migrations/0002_wedge.sql")),
    M::up(include_str!("../migrations/0003_wet.sql")),
    M::up(include_str!("../migrations/0004_field.sql")),
    M::up(include_str!("../migrations/0005_device.sql")),
];
const MIGRATIONS: Migrations<'_> = Migrations::from_slice(STEPS);

/// How long a writer waits for another program that is writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open store.
#[derive(Debug)]
pub struct Store {
    pub(crate) db: Connection,
    path: Option<PathBuf>,
}

impl Store {
    /// Opens the store at `path`, making it and its folder when absent, and brings its schema up to
    /// date. An older file is backed up beside itself first.
    ///
    /// # Errors
    /// The file is not accessible, is not a store, or was written by a newer version.
    pub fn open(path: &Path) -> Result<Self, Error> {
        if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
            std::fs::create_dir_all(folder).map_err(|source| Error::File {
                path: folder.to_owned(),
                source,
            })?;
        }
        let db = Connection::open_with_flags(
            path,
            OpenFlags::SQLITE_OPEN_READ_WRITE
                | OpenFlags::SQLITE_OPEN_CREATE
                | OpenFlags::SQLITE_OPEN_NO_MUTEX,
        )?;
        Self::prepare(db, Some(path.to_owned()))
    }

    /// A store in memory, for tests and throw-away work.
    ///
    /// # Errors
    /// SQLite cannot start.
    pub fn in_memory() -> Result<Self, Error> {
        Self::prepare(Connection::open_in_memory()?, None)
    }

    /// Where the store lies; none for one in memory.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// Copies the whole store to `target` by SQLite's online backup, while others may be using it.
    ///
    /// # Errors
    /// `target` exists already, or cannot be written.
    pub fn backup_to(&self, target: &Path) -> Result<(), Error> {
        if target.exists() {
            return Err(spoolwright_core::Error::new(
                spoolwright_core::Kind::Conflict,
                "backup file",
                target.display(),
                "a file that does not exist yet",
                "Choose another name; a backup never overwrites.",
            )
            .into());
        }
        // Under another name until it is whole: what bears the name of a backup is one.
        let mut part = target.as_os_str().to_owned();
        part.push(".part");
        let part = PathBuf::from(part);
        let at = |path: &Path| {
            let path = path.to_owned();
            move |source| Error::File { path, source }
        };
        if part.exists() {
            std::fs::remove_file(&part).map_err(at(&part))?;
        }
        self.copy_to(&part)?;
        std::fs::rename(&part, target).map_err(at(target))
    }

    fn copy_to(&self, target: &Path) -> Result<(), Error> {
        let mut copy = Connection::open(target)?;
        let backup = rusqlite::backup::Backup::new(&self.db, &mut copy)?;
        backup.run_to_completion(256, Duration::ZERO, None)?;
        drop(backup);
        copy.close().map_err(|(_, error)| error.into())
    }

    fn prepare(db: Connection, path: Option<PathBuf>) -> Result<Self, Error> {
        db.busy_timeout(PATIENCE)?;
        db.pragma_update(None, "foreign_keys", true)?;
        db.pragma_update(None, "synchronous", "FULL")?;
        let mut store = Self { db, path };
        store.must_be_ours()?;
        store.enter_wal()?;
        store.migrate()?;
        Ok(store)
    }

    /// A database that holds tables, but no journal of ours, belongs to something else: it is left alone.
    fn must_be_ours(&self) -> Result<(), Error> {
        let foreign: bool = self.patiently(|db| {
            db.query_row(
                "SELECT count(*) > 0 AND count(*) FILTER (WHERE name = 'journal_subject') = 0
                 FROM sqlite_schema",
                [],
                |r| r.get(0),
            )
        })?;
        if !foreign {
            return Ok(());
        }
        Err(spoolwright_core::Error::new(
            spoolwright_core::Kind::Conflict,
            "store",
            self.path.clone().unwrap_or_default().display(),
            "a file this program made, or a name that is free",
            "It is another program's database, and was left as it is. Name another file.",
        )
        .into())
    }

    /// Two programs that open a new file at once race for this switch, so it is tried again.
    fn enter_wal(&self) -> Result<(), Error> {
        self.patiently(|db| db.pragma_update(None, "journal_mode", "WAL"))
    }

    fn patiently<T>(&self, act: impl Fn(&Connection) -> rusqlite::Result<T>) -> Result<T, Error> {
        for _ in 0..100 {
            match act(&self.db) {
                Err(rusqlite::Error::SqliteFailure(e, _))
                    if e.code == rusqlite::ErrorCode::DatabaseBusy =>
                {
                    std::thread::sleep(Duration::from_millis(50));
                }
                other => return Ok(other?),
            }
        }
        Err(Error::Damaged(
            "another program holds the store and does not let go".into(),
        ))
    }

    fn version(&self) -> Result<i64, Error> {
        Ok(self
            .db
            .pragma_query_value(None, "user_version", |r| r.get(0))?)
    }

    fn migrate(&mut self) -> Result<(), Error> {
        let known = STEPS.len();
        let found = self.version()?;
        if found == known as i64 {
            return Ok(());
        }
        if found > known as i64 {
            return Err(Error::TooNew {
                path: self.path.clone().unwrap_or_default(),
                found,
                known,
            });
        }
        if found > 0
            && let Some(path) = &self.path
        {
            let target = path.with_extension(format!("before-schema-{}.sqlite", found + 1));
            if !target.exists() {
                self.backup_to(&target)?;
            }
        }
        // Another program may be doing the same: whoever waited starts over and finds it done.
        match MIGRATIONS.to_latest(&mut self.db) {
            Ok(()) => Ok(()),
            Err(first) => {
                let lock = self
                    .db
                    .transaction_with_behavior(TransactionBehavior::Immediate)?;
                lock.rollback()?;
                if self.version()? == known as i64 {
                    Ok(())
                } else {
                    Err(first.into())
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn migrations_are_well_formed() {
        MIGRATIONS.validate().unwrap();
    }

    #[test]
    fn two_programs_may_make_the_file_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shelf.sqlite");
        std::thread::scope(|s| {
            let all: Vec<_> = (0..8)
                .map(|_| s.spawn(|| Store::open(&path).map(|_| ())))
                .collect();
            for one in all {
                one.join().unwrap().unwrap();
            }
        });
    }

    /// An entry written before a column was added to its table can still be undone; not once the column was used.
    #[test]
    fn what_an_older_version_wrote_can_be_undone() {
        for (used, wanted) in [(false, true), (true, false)] {
            let folder = tempfile::tempdir().unwrap();
            let path = folder.path().join("shelf.sqlite");
            let mut old = Connection::open(&path).unwrap();
            MIGRATIONS.to_version(&mut old, 2).unwrap();
            old.execute_batch(
                "INSERT INTO stock (name, process, base, pitch, note, closed)
                   VALUES ('Old Grey', 'negative', 'acetate', 'long', '', 0);
                 INSERT INTO journal (at, verb, story, changes)
                   SELECT '2026-01-01T00:00:00Z', 'stock.saved', 'Added the stock Old Grey',
                     json_array(json_object('table', 'stock', 'id', id, 'before', NULL, 'after', json_object(
                       'id', id, 'name', name, 'ei', ei, 'process', process, 'base', base, 'pitch', pitch,
                       'thickness_mm', thickness_mm, 'thickness_sd_mm', thickness_sd_mm,
                       'linear_mass_g_per_m', linear_mass_g_per_m,
                       'linear_mass_sd_g_per_m', linear_mass_sd_g_per_m,
                       'ready_wound_price', ready_wound_price, 'note', note, 'closed', closed)))
                   FROM stock;",
            )
            .unwrap();
            drop(old);
            let mut store = Store::open(&path).unwrap();
            if used {
                store
                    .db
                    .execute("UPDATE stock SET backing = 'remjet'", [])
                    .unwrap();
            }
            let undone = store.undo(
                "2026-01-02T00:00:00Z",
                None,
                spoolwright_core::shelf::EntryId(1),
            );
            assert_eq!(undone.is_ok(), wanted, "{undone:?}");
        }
    }

    /// A file of the version before the field: what it holds stays, its rolls are found by their words, and its entries
    /// can still be undone.
    #[test]
    fn a_store_from_before_the_field_is_brought_up_to_date() {
        use spoolwright_core::field::find::Sought;
        use spoolwright_core::shelf::{EntryId, Roll, Stock};
        const NOW: &str = "2026-01-01T00:00:00Z";
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shelf.sqlite");
        let mut old = Connection::open(&path).unwrap();
        MIGRATIONS.to_version(&mut old, 3).unwrap();
        old.execute_batch(
            "INSERT INTO stock (name, process, base, pitch, note, closed, backing)
               VALUES ('Old Grey', 'negative', 'acetate', 'long', '', 0, 'usual');
             INSERT INTO can (stock, letters, length_m, length_sd_m, package, core_mm, note, state)
               VALUES (1, 'OG', 30.5, 0.2, '', 50.8, '', 'open');",
        )
        .unwrap();
        for number in [1, 2] {
            let mut change = crate::Change::new(old.transaction().unwrap());
            let label = rusqlite::types::Value::Text(Roll::label_of("OG", number));
            let text = |t: &str| rusqlite::types::Value::Text(t.to_owned());
            let roll = change.insert(
                "roll",
                &[
                    ("can", 1.into()),
                    ("number", number.into()),
                    ("label", label),
                    ("frames", 36.into()),
                    ("advance_perforations", 8.into()),
                    ("clicks", 42.0.into()),
                    ("leader_clicks", 4.into()),
                    ("tail_clicks", 2.into()),
                    ("light", text("room")),
                    ("state", text("wound")),
                    ("wound_at", text(NOW)),
                    ("note", text("the last of the tin")),
                ],
            );
            assert_eq!(roll.unwrap(), i64::from(number));
            change
                .finish(NOW, "roll.wound", "Wound a roll", None, None)
                .unwrap();
        }
        drop(old);

        let mut store = Store::open(&path).unwrap();
        assert_eq!(store.version().unwrap(), STEPS.len() as i64);
        assert!(folder.path().join("shelf.before-schema-4.sqlite").exists());
        assert_eq!(store.all::<Stock>().unwrap()[0].name, "Old Grey");
        let found = |store: &Store, words: &str| -> Vec<String> {
            let sought = Sought {
                words: words.into(),
                ..Sought::default()
            };
            let hits = store.search(&sought, 0, 9).unwrap().hits;
            hits.into_iter().map(|h| h.roll.label).collect()
        };
        assert_eq!(found(&store, "grey tin"), ["OG-02", "OG-01"]);
        let undone = store.undo(NOW, None, EntryId(2)).unwrap().entry().unwrap();
        assert_eq!(found(&store, "grey tin"), ["OG-01"]);
        store.undo(NOW, None, undone).unwrap();
        assert_eq!(found(&store, "grey tin"), ["OG-02", "OG-01"]);
        let broken: i64 = store
            .db
            .query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |r| {
                r.get(0)
            })
            .unwrap();
        assert_eq!(broken, 0);
        let sound: String = store
            .db
            .query_row("PRAGMA integrity_check", [], |r| r.get(0))
            .unwrap();
        assert_eq!(sound, "ok");
    }

    #[test]
    fn a_newer_file_is_refused_untouched() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shelf.sqlite");
        drop(Store::open(&path).unwrap());
        Connection::open(&path)
            .unwrap()
            .pragma_update(None, "user_version", 99)
            .unwrap();
        assert!(matches!(
            Store::open(&path),
            Err(Error::TooNew { found: 99, .. })
        ));
    }

    #[test]
    fn another_programs_database_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("addresses.sqlite");
        let db = Connection::open(&path).unwrap();
        db.execute_batch("CREATE TABLE address (street TEXT)")
            .unwrap();
        drop(db);
        let before = std::fs::read(&path).unwrap();
        let refused = Store::open(&path).unwrap_err();
        assert!(refused.refusal().is_some(), "{refused}");
        assert_eq!(std::fs::read(&path).unwrap(), before);
    }

    #[test]
    fn a_backup_broken_off_is_made_anew() {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("shelf.sqlite")).unwrap();
        let target = folder.path().join("copy.sqlite");
        let part = folder.path().join("copy.sqlite.part");
        std::fs::write(&part, "half of it").unwrap();
        store.backup_to(&target).unwrap();
        assert!(!part.exists());
        let copy = Store::open(&target).unwrap();
        assert_eq!(copy.version().unwrap(), STEPS.len() as i64);
    }

    #[test]
    fn a_file_that_is_no_store_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("letter.txt");
        std::fs::write(&path, "Dear diary, today I wound forty clicks.".repeat(50)).unwrap();
        assert!(Store::open(&path).is_err());
        assert!(
            std::fs::read_to_string(&path)
                .unwrap()
                .starts_with("Dear diary")
        );
    }
}
