//! Undo: the rows of an entry put back as they were, as a new entry that can itself be undone.

use crate::journal::{carried_out, from_json, refusal};
use crate::{Change, Error, Store, Subject};
use rusqlite::types::Value;
use rusqlite::{OptionalExtension, TransactionBehavior, params_from_iter};
use serde_json::Value as Json;
use spoolwright_core::shelf::EntryId;
use spoolwright_core::{Error as Refusal, Kind};

/// Tables an undo may touch, so that a journal from elsewhere can name no other.
const TABLES: [&str; 35] = [
    "setting",
    "stock",
    "loader",
    "can",
    "cassette",
    "want",
    "want_stock",
    "ticket",
    "roll",
    "evidence",
    "wedge_test",
    "wedge_strip",
    "stock_card",
    "reel",
    "tank",
    "recipe",
    "step",
    "sheet_time",
    "run",
    "run_roll",
    "run_mark",
    "bath",
    "bath_event",
    "camera",
    "camera_load",
    "frame_note",
    "page_format",
    "binder",
    "binder_page",
    "strip",
    "scan_file",
    "storage_place",
    "kept",
    "purchase",
    "device",
];

impl Store {
    /// Puts back what entry `id` changed, and journals that.
    ///
    /// # Errors
    /// There is no such entry, it is undone already, or something later changed the same rows:
    /// then that must be undone first.
    pub fn undo(
        &mut self,
        now: &str,
        request: Option<&str>,
        id: EntryId,
    ) -> Result<crate::Done<String>, Error> {
        self.undo_if(now, request, id, |_| Ok(()))
    }

    /// The same, unless what would be left does not make sense to the caller: then nothing is changed.
    ///
    /// # Errors
    /// As for [`Store::undo`], and whatever `fits` finds.
    pub fn undo_if<E: From<Error>>(
        &mut self,
        now: &str,
        request: Option<&str>,
        id: EntryId,
        fits: impl FnOnce(&Change<'_>) -> Result<(), E>,
    ) -> Result<crate::Done<String>, E> {
        let mut unfit = None;
        let done = self.undo_whole(now, request, id, |change| match fits(change) {
            Ok(()) => true,
            Err(e) => {
                unfit = Some(e);
                false
            }
        });
        match unfit {
            Some(e) => Err(e),
            None => done.map_err(E::from),
        }
    }

    fn undo_whole(
        &mut self,
        now: &str,
        request: Option<&str>,
        id: EntryId,
        fits: impl FnOnce(&Change<'_>) -> bool,
    ) -> Result<crate::Done<String>, Error> {
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        if let Some(entry) = carried_out(&tx, request)? {
            return Ok(crate::Done::Before(entry));
        }
        let found = tx
            .query_row(
                "SELECT story, changes, undone, undoes FROM journal WHERE id = ?1",
                [id.0],
                |r| {
                    Ok((
                        r.get::<_, String>(0)?,
                        r.get::<_, String>(1)?,
                        r.get::<_, bool>(2)?,
                        r.get::<_, Option<i64>>(3)?,
                    ))
                },
            )
            .optional()?;
        let Some((story, changes, undone, undoes)) = found else {
            return Err(refuse(
                Kind::Unknown,
                id,
                "an entry of the journal",
                "Look it up in the history.".into(),
            )
            .into());
        };
        if undone {
            return Err(refuse(
                Kind::Conflict,
                id,
                "an entry not undone yet",
                "It is undone already; nothing to do.".into(),
            )
            .into());
        }
        let subjects: Vec<(String, i64)> = tx
            .prepare("SELECT kind, subject FROM journal_subject WHERE journal = ?1")?
            .query_map([id.0], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<Result<_, _>>()?;

        tx.execute_batch("PRAGMA defer_foreign_keys = ON")?;
        let mut change = Change::new(tx);
        let rows: Vec<Json> =
            serde_json::from_str(&changes).map_err(|e| Error::Damaged(e.to_string()))?;
        for row in rows.iter().rev() {
            change.put_back(id, row)?;
        }
        change.must_not_dangle(id)?;
        for (kind, subject) in subjects {
            if let Some(kind) = TABLES.into_iter().find(|t| *t == kind) {
                change.about(Subject { kind, id: subject });
            }
        }
        change
            .tx
            .execute("UPDATE journal SET undone = 1 WHERE id = ?1", [id.0])?;
        if let Some(first) = undoes {
            if let Some(again) = change.asked_again(first)? {
                return Err(refuse(
                    Kind::Conflict,
                    id,
                    "an entry whose change was not made anew since",
                    format!("Entry {again} did the same; undo that first."),
                )
                .into());
            }
            change
                .tx
                .execute("UPDATE journal SET undone = 0 WHERE id = ?1", [first])?;
        }
        let said = if undoes.is_some() {
            story.replacen("Undid: ", "Did again: ", 1)
        } else {
            format!(
                "Undid: {}",
                story.strip_prefix("Did again: ").unwrap_or(&story)
            )
        };
        if !fits(&change) {
            return Err(refuse(
                Kind::Conflict,
                id,
                "an entry that nothing rests on",
                "Undo what came later first.".into(),
            )
            .into());
        }
        let entry = change.finish(now, "undo", &said, Some(id), request)?;
        Ok(crate::Done::Now { entry, value: said })
    }
}

impl Change<'_> {
    fn put_back(&mut self, entry: EntryId, row: &Json) -> Result<(), Error> {
        let damaged = || Error::Damaged(format!("journal entry {entry}"));
        let table = TABLES
            .into_iter()
            .find(|t| row["table"] == *t)
            .ok_or_else(damaged)?;
        let id = row["id"].as_i64().ok_or_else(damaged)?;
        let (before, after) = (&row["before"], &row["after"]);
        let current = self.row(table, id)?;
        if !self.unchanged(table, &current, after)? {
            let later = self.later_change(entry, table, id)?;
            return Err(refuse(
                Kind::Conflict,
                entry,
                "an entry whose rows nothing has changed since",
                format!("{later} changed the same {table}; undo that first."),
            )
            .into());
        }
        match before {
            Json::Null => {
                self.tx
                    .execute(&format!("DELETE FROM {table} WHERE id = ?1"), [id])?;
            }
            Json::Object(fields) => {
                let columns: Vec<&str> = fields.keys().map(String::as_str).collect();
                let marks = vec!["?"; columns.len()].join(", ");
                let values: Vec<Value> = fields.values().map(from_json).collect();
                let sql = if current.is_null() {
                    format!(
                        "INSERT INTO {table} ({}) VALUES ({marks})",
                        columns.join(", ")
                    )
                } else {
                    format!(
                        "UPDATE {table} SET ({}) = ({marks}) WHERE id = {id}",
                        columns.join(", ")
                    )
                };
                self.tx
                    .execute(&sql, params_from_iter(&values))
                    .map_err(|e| refusal(table, columns.iter().copied().zip(&values), e))?;
            }
            _ => return Err(damaged()),
        }
        self.note(table, id, after.clone(), before.clone());
        Ok(())
    }

    /// Whether a row is as an entry left it. A column the entry did not know was added to the table since: it must
    /// still hold what it was given then.
    fn unchanged(&self, table: &str, current: &Json, after: &Json) -> Result<bool, Error> {
        let (Json::Object(current), Json::Object(after)) = (current, after) else {
            return Ok(current == after);
        };
        for (column, value) in current {
            let then = match after.get(column) {
                Some(then) => then.clone(),
                None => self.given_when_added(table, column)?,
            };
            if *value != then {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// What every row of a table got in a column that a migration added.
    fn given_when_added(&self, table: &str, column: &str) -> Result<Json, Error> {
        let default: Option<String> = self.tx.query_row(
            "SELECT dflt_value FROM pragma_table_info(?1) WHERE name = ?2",
            [table, column],
            |r| r.get(0),
        )?;
        let Some(default) = default else {
            return Ok(Json::Null);
        };
        // The schema's own words, from the migrations: never a person's.
        Ok(self.tx.query_row(&format!("SELECT {default}"), [], |r| {
            Ok(crate::journal::to_json(r.get_ref(0)?))
        })?)
    }

    /// Rows that still refer to what was taken away make the undo impossible.
    fn must_not_dangle(&self, entry: EntryId) -> Result<(), Error> {
        let dangling: Option<(String, i64)> = self
            .tx
            .query_row(
                "SELECT \"table\", rowid FROM pragma_foreign_key_check LIMIT 1",
                [],
                |r| Ok((r.get(0)?, r.get(1)?)),
            )
            .optional()?;
        let Some((table, id)) = dangling else {
            return Ok(());
        };
        let later = self.later_change(entry, &table, id)?;
        Err(refuse(
            Kind::Conflict,
            entry,
            "an entry nothing else rests on",
            format!("{later} rests on what it added; undo that first."),
        )
        .into())
    }

    /// The entry that the request behind an undone entry has led to since.
    fn asked_again(&self, undone: i64) -> Result<Option<EntryId>, Error> {
        let request: Option<String> =
            self.tx
                .query_row("SELECT request FROM journal WHERE id = ?1", [undone], |r| {
                    r.get(0)
                })?;
        carried_out(&self.tx, request.as_deref())
    }

    /// The newest entry after `entry` that touched a row, in words.
    fn later_change(&self, entry: EntryId, table: &str, id: i64) -> Result<String, Error> {
        let row = format!("%{{\"table\":\"{table}\",\"id\":{id},%");
        let later = self
            .tx
            .query_row(
                "SELECT id, story FROM journal WHERE id > ?1 AND undone = 0 AND undoes IS NULL AND changes LIKE ?2
                 ORDER BY id DESC LIMIT 1",
                (entry.0, row),
                |r| Ok((r.get::<_, i64>(0)?, r.get::<_, String>(1)?)),
            )
            .optional()?;
        Ok(match later {
            Some((id, story)) => format!("Entry {id} ({})", story.trim_end_matches('.')),
            None => "Something later".to_owned(),
        })
    }
}

fn refuse(kind: Kind, entry: EntryId, allowed: &str, remedy: String) -> Refusal {
    Refusal::new(
        kind,
        "entry to undo",
        format!("number {entry}"),
        allowed,
        remedy,
    )
}
