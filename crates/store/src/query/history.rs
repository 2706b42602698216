//! The journal, read: as a story, and for what has changed since.

use crate::{Change, Error, Store, Subject};
use rusqlite::Connection;
use serde_json::Value as Json;
use spoolwright_core::shelf::{EntryId, JournalEntry};
use std::collections::BTreeMap;

fn head(db: &Connection) -> Result<EntryId, Error> {
    Ok(EntryId(db.query_row(
        "SELECT coalesce(max(id), 0) FROM journal",
        [],
        |r| r.get(0),
    )?))
}

impl Change<'_> {
    /// The number of the newest journal entry, as this change sees it.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn head(&self) -> Result<EntryId, Error> {
        head(&self.tx)
    }
}

/// A column of a row that is no longer what it was; every column of a row that came or went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    /// The row's table.
    pub table: String,
    /// The row's number.
    pub id: i64,
    /// The column.
    pub column: String,
}

impl Store {
    /// The number of the newest journal entry; zero when there is none. It changes with every change.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn head(&self) -> Result<EntryId, Error> {
        head(&self.db)
    }

    /// The newest journal entries before `before` (all when none), newest first, at most `most`;
    /// only those about `subject` when one is given.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn journal(
        &self,
        subject: Option<Subject>,
        before: Option<EntryId>,
        most: u32,
    ) -> Result<Vec<JournalEntry>, Error> {
        let before = before.map_or(i64::MAX, |e| e.0);
        let read = |row: &rusqlite::Row<'_>| {
            Ok(JournalEntry {
                id: EntryId(row.get("id")?),
                at: row.get("at")?,
                verb: row.get("verb")?,
                story: row.get("story")?,
                undoes: row.get::<_, Option<i64>>("undoes")?.map(EntryId),
                undone: row.get("undone")?,
            })
        };
        let columns = "journal.id, at, verb, story, undoes, undone";
        match subject {
            Some(s) => Ok(self
                .db
                .prepare_cached(&format!(
                    "SELECT {columns} FROM journal_subject JOIN journal ON journal.id = journal_subject.journal
                     WHERE kind = ?1 AND subject = ?2 AND journal.id < ?3 ORDER BY journal.id DESC LIMIT ?4"
                ))?
                .query_map((s.kind, s.id, before, most), read)?
                .collect::<Result<_, _>>()?),
            None => Ok(self
                .db
                .prepare_cached(&format!("SELECT {columns} FROM journal WHERE id < ?1 ORDER BY id DESC LIMIT ?2"))?
                .query_map((before, most), read)?
                .collect::<Result<_, _>>()?),
        }
    }

    /// What differs now in rows of the history of `about` from what they were when `made` was made.
    ///
    /// A change and its undo leave no difference. Nothing differs from what this journal does not know the making of.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn changed_since(&self, made: Subject, about: &[Subject]) -> Result<Vec<Changed>, Error> {
        let first: Option<i64> = self
            .db
            .prepare_cached(
                "SELECT max(journal.id) FROM journal_subject JOIN journal ON journal.id = journal_subject.journal
                 WHERE kind = ?1 AND subject = ?2 AND undoes IS NULL",
            )?
            .query_row((made.kind, made.id), |r| r.get(0))?;
        let Some(first) = first else {
            return Ok(Vec::new());
        };
        let mut entries = BTreeMap::<i64, String>::new();
        for subject in about {
            let mut statement = self.db.prepare_cached(
                "SELECT journal.id, changes FROM journal_subject JOIN journal ON journal.id = journal_subject.journal
                 WHERE kind = ?1 AND subject = ?2 AND journal.id > ?3",
            )?;
            let mut rows = statement.query((subject.kind, subject.id, first))?;
            while let Some(row) = rows.next()? {
                entries.insert(row.get(0)?, row.get(1)?);
            }
        }
        let mut spans = BTreeMap::<(String, i64), (Json, Json)>::new();
        for (entry, changes) in entries {
            let damaged = || Error::Damaged(format!("journal entry {entry}"));
            let rows: Vec<Json> = serde_json::from_str(&changes).map_err(|_| damaged())?;
            for row in rows {
                let table = row["table"].as_str().ok_or_else(damaged)?.to_owned();
                let id = row["id"].as_i64().ok_or_else(damaged)?;
                spans
                    .entry((table, id))
                    .or_insert_with(|| (row["before"].clone(), Json::Null))
                    .1 = row["after"].clone();
            }
        }
        Ok(spans
            .into_iter()
            .flat_map(|((table, id), (before, after))| {
                let known = before.as_object().or(after.as_object());
                let columns: Vec<String> = known
                    .into_iter()
                    .flat_map(|fields| fields.keys())
                    .filter(|column| before[column.as_str()] != after[column.as_str()])
                    .cloned()
                    .collect();
                columns.into_iter().map(move |column| Changed {
                    table: table.clone(),
                    id,
                    column,
                })
            })
            .collect())
    }

    /// Whether an asking of that name was carried out and not undone since, whatever was typed with it: requests are
    /// remembered by the name, a hyphen and a sum of the rest.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn was_asked(&self, name: &str) -> Result<bool, Error> {
        Ok(self.db.query_row(
            "SELECT EXISTS (SELECT 1 FROM journal WHERE undone = 0 AND request >= ?1 || '-' AND request < ?1 || '.')",
            [name],
            |r| r.get(0),
        )?)
    }

    /// The entry a request led to, if it was carried out before.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn entry_of_request(&self, request: &str) -> Result<Option<EntryId>, Error> {
        crate::journal::carried_out(&self.db, Some(request))
    }
}
