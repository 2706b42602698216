//! Making a change: rows and their journal entry in one transaction, each row before and after.

use crate::{Error, Record, Store, Subject};
use rusqlite::types::{Value, ValueRef};
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params_from_iter};
use serde_json::{Map, Value as Json, json};
use spoolwright_core::shelf::{EntryId, StepId};
use spoolwright_core::wet::recipe::{Owner, Step};

/// What became of a change.
#[derive(Debug, Clone, PartialEq)]
pub enum Done<T> {
    /// It was made now.
    Now {
        /// Its journal entry; none when nothing differed.
        entry: Option<EntryId>,
        /// What the change gave back.
        value: T,
    },
    /// The same request had been carried out before; nothing was done again.
    Before(EntryId),
}

impl<T> Done<T> {
    /// The journal entry, whenever it was written.
    pub fn entry(&self) -> Option<EntryId> {
        match self {
            Self::Now { entry, .. } => *entry,
            Self::Before(entry) => Some(*entry),
        }
    }
    /// What the change gave back, if it was made now.
    pub fn value(self) -> Option<T> {
        match self {
            Self::Now { value, .. } => Some(value),
            Self::Before(_) => None,
        }
    }
}

/// A change being made; dropped without finishing, it leaves nothing behind.
#[derive(Debug)]
pub struct Change<'a> {
    pub(crate) tx: Transaction<'a>,
    changes: Vec<Json>,
    subjects: Vec<Subject>,
}

impl Store {
    /// Makes one change a person asked for: all of it with its journal entry, or nothing.
    ///
    /// `make` writes through the [`Change`] and returns the entry's verb (a stable word) and story
    /// (one sentence). `request` names the asking: the same request again changes nothing.
    ///
    /// # Errors
    /// Whatever `make` returns, or trouble with the file.
    pub fn change<T, E: From<Error>>(
        &mut self,
        now: &str,
        request: Option<&str>,
        make: impl FnOnce(&mut Change<'_>) -> Result<(&'static str, String, T), E>,
    ) -> Result<Done<T>, E> {
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(Error::from)?;
        if let Some(entry) = carried_out(&tx, request)? {
            return Ok(Done::Before(entry));
        }
        let mut change = Change::new(tx);
        let (verb, story, value) = make(&mut change)?;
        let entry = change.finish(now, verb, &story, None, request)?;
        Ok(Done::Now { entry, value })
    }
}

impl<'a> Change<'a> {
    pub(crate) fn new(tx: Transaction<'a>) -> Self {
        Self {
            tx,
            changes: Vec::new(),
            subjects: Vec::new(),
        }
    }

    /// Writes a record: a new row when its number is zero, else over the row of that number.
    ///
    /// # Errors
    /// The schema refuses it (a name used twice, a cassette already filled), or the row is gone.
    pub fn put<R: Record>(&mut self, record: &R) -> Result<R::Id, Error> {
        let id = record.id().into().0;
        let id = if id == 0 {
            self.insert(R::TABLE, &record.fields())?
        } else {
            self.update(R::TABLE, id, &record.fields())?
        };
        record.put_links(id, self)?;
        self.about(Subject { kind: R::TABLE, id });
        Ok(crate::record::Number(id).into())
    }

    /// Makes `steps` the steps of a recipe or a run, in their order. What the owner had more is taken away; the
    /// journal keeps it.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn put_steps(&mut self, owner: Owner, steps: &[Step]) -> Result<(), Error> {
        let old = self.steps_of(owner)?;
        for (position, step) in (0..).zip(steps) {
            let id = old.get(position as usize).map_or(StepId(0), |s| s.id);
            let fields = Step {
                id,
                owner,
                position,
                ..step.clone()
            }
            .fields();
            if id.0 == 0 {
                self.insert(Step::TABLE, &fields)?;
            } else {
                self.update(Step::TABLE, id.0, &fields)?;
            }
        }
        for surplus in old.iter().skip(steps.len()) {
            self.remove(Step::TABLE, surplus.id.0)?;
        }
        Ok(())
    }

    /// Names something else this change is part of the history of.
    pub fn about(&mut self, subject: Subject) {
        if !self.subjects.contains(&subject) {
            self.subjects.push(subject);
        }
    }

    /// What this change is said to be about, so far.
    pub fn subjects(&self) -> &[Subject] {
        &self.subjects
    }

    /// Numbers of the rows of one kind that this change wrote or took away, so far.
    pub fn rows_of<R: Record>(&self) -> Vec<i64> {
        let of_kind = self.changes.iter().filter(|c| c["table"] == R::TABLE);
        of_kind.filter_map(|c| c["id"].as_i64()).collect()
    }

    /// Numbers of the rows of one kind in which this change gave a column another value, so far.
    pub fn rows_where_changed<R: Record>(&self, column: &str) -> Vec<i64> {
        let of_kind = self.changes.iter().filter(|c| c["table"] == R::TABLE);
        of_kind
            .filter(|c| c["before"].is_object() && c["after"].is_object())
            .filter(|c| c["before"][column] != c["after"][column])
            .filter_map(|c| c["id"].as_i64())
            .collect()
    }

    pub(crate) fn insert(
        &mut self,
        table: &'static str,
        fields: &[(&str, Value)],
    ) -> Result<i64, Error> {
        let columns: Vec<&str> = fields.iter().map(|f| f.0).collect();
        let marks = vec!["?"; fields.len()].join(", ");
        let sql = format!(
            "INSERT INTO {table} ({}) VALUES ({marks})",
            columns.join(", ")
        );
        self.tx
            .prepare_cached(&sql)?
            .execute(params_from_iter(fields.iter().map(|f| &f.1)))
            .map_err(|e| refusal(table, fields.iter().map(|f| (f.0, &f.1)), e))?;
        let id = self.tx.last_insert_rowid();
        let after = self.row(table, id)?;
        self.note(table, id, Json::Null, after);
        Ok(id)
    }

    fn update(
        &mut self,
        table: &'static str,
        id: i64,
        fields: &[(&str, Value)],
    ) -> Result<i64, Error> {
        let before = self.row(table, id)?;
        if before.is_null() {
            return Err(gone(table, id));
        }
        let sets: Vec<String> = fields.iter().map(|f| format!("{} = ?", f.0)).collect();
        let sql = format!("UPDATE {table} SET {} WHERE id = ?", sets.join(", "));
        let number = Value::Integer(id);
        let values = fields.iter().map(|f| &f.1).chain(std::iter::once(&number));
        self.tx
            .prepare_cached(&sql)?
            .execute(params_from_iter(values))
            .map_err(|e| refusal(table, fields.iter().map(|f| (f.0, &f.1)), e))?;
        let after = self.row(table, id)?;
        if before != after {
            self.note(table, id, before, after);
        }
        Ok(id)
    }

    pub(crate) fn remove(&mut self, table: &'static str, id: i64) -> Result<(), Error> {
        let before = self.row(table, id)?;
        self.tx
            .execute(&format!("DELETE FROM {table} WHERE id = ?1"), [id])?;
        self.note(table, id, before, Json::Null);
        Ok(())
    }

    /// A row as JSON, column by column; null when there is none.
    pub(crate) fn row(&self, table: &str, id: i64) -> Result<Json, Error> {
        let mut statement = self
            .tx
            .prepare_cached(&format!("SELECT * FROM {table} WHERE id = ?1"))?;
        let names: Vec<String> = statement
            .column_names()
            .into_iter()
            .map(String::from)
            .collect();
        let row = statement
            .query_row([id], |row| {
                let mut map = Map::new();
                for (i, name) in names.iter().enumerate() {
                    map.insert(name.clone(), to_json(row.get_ref(i)?));
                }
                Ok(Json::Object(map))
            })
            .optional()?;
        Ok(row.unwrap_or(Json::Null))
    }

    pub(crate) fn note(&mut self, table: &str, id: i64, before: Json, after: Json) {
        self.changes
            .push(json!({ "table": table, "id": id, "before": before, "after": after }));
    }

    pub(crate) fn finish(
        self,
        now: &str,
        verb: &str,
        story: &str,
        undoes: Option<EntryId>,
        request: Option<&str>,
    ) -> Result<Option<EntryId>, Error> {
        if self.changes.is_empty() {
            return Ok(None);
        }
        self.tx.prepare_cached(
            "INSERT INTO journal (at, verb, story, changes, undoes, request) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        )?
        .execute((now, verb, story, Json::Array(self.changes).to_string(), undoes.map(|e| e.0), request))?;
        let entry = self.tx.last_insert_rowid();
        for subject in &self.subjects {
            self.tx
                .prepare_cached(
                    "INSERT INTO journal_subject (journal, kind, subject) VALUES (?1, ?2, ?3)",
                )?
                .execute((entry, subject.kind, subject.id))?;
        }
        self.tx.commit()?;
        Ok(Some(EntryId(entry)))
    }
}

/// The entry that a request led to, if it was carried out before and not undone since.
pub(crate) fn carried_out(
    db: &Connection,
    request: Option<&str>,
) -> Result<Option<EntryId>, Error> {
    let Some(request) = request else {
        return Ok(None);
    };
    Ok(db
        .query_row(
            "SELECT id FROM journal WHERE request = ?1 AND undone = 0",
            [request],
            |r| r.get(0).map(EntryId),
        )
        .optional()?)
}

pub(crate) fn to_json(value: ValueRef<'_>) -> Json {
    match value {
        ValueRef::Null => Json::Null,
        ValueRef::Integer(i) => i.into(),
        // SQLite holds no NaN, so a real is always a JSON number.
        ValueRef::Real(r) => r.into(),
        ValueRef::Text(t) | ValueRef::Blob(t) => String::from_utf8_lossy(t).into(),
    }
}

/// The SQLite value of a JSON value written by [`to_json`].
pub(crate) fn from_json(value: &Json) -> Value {
    match value {
        Json::Null => Value::Null,
        Json::Number(n) => n
            .as_i64()
            .map_or_else(|| Value::Real(n.as_f64().unwrap_or(0.0)), Value::Integer),
        Json::String(s) => Value::Text(s.clone()),
        other => Value::Text(other.to_string()),
    }
}

pub(crate) fn gone(table: &str, id: i64) -> Error {
    spoolwright_core::Error::new(
        spoolwright_core::Kind::Unknown,
        table,
        format!("number {id}"),
        format!("a {table} that is on the shelf"),
        "Look it up in the list; it may have been undone.",
    )
    .into()
}

/// Turns what the schema refuses into words for the person.
pub(crate) fn refusal<'a>(
    table: &str,
    fields: impl IntoIterator<Item = (&'a str, &'a Value)>,
    error: rusqlite::Error,
) -> Error {
    let rusqlite::Error::SqliteFailure(code, Some(text)) = &error else {
        return error.into();
    };
    if code.code != rusqlite::ErrorCode::ConstraintViolation {
        return error.into();
    }
    let (what, given, allowed, remedy) = if text.contains("roll.cassette") {
        (
            "cassette".to_owned(),
            "one that holds another roll".to_owned(),
            "an empty cassette",
            "Choose another cassette, or say that the roll in it was developed or scrapped.",
        )
    } else if text.contains("camera_load.camera") {
        (
            "camera".to_owned(),
            "one that holds another roll".to_owned(),
            "an empty camera",
            "Take that roll out first, or choose another camera.",
        )
    } else if text.contains("camera_load.roll") {
        (
            "roll".to_owned(),
            "one that is in a camera".to_owned(),
            "a roll that is in no camera",
            "Take it out there first.",
        )
    } else if text.contains("UNIQUE") {
        let column = text.rsplit('.').next().unwrap_or("name");
        (
            format!("{table} {column}"),
            match fields.into_iter().find(|f| f.0 == column) {
                Some((_, Value::Text(given))) => format!("{given:?}, which is taken"),
                _ => "one that is taken".to_owned(),
            },
            "one that is not taken",
            "Choose another.",
        )
    } else if text.contains("FOREIGN KEY") {
        (
            table.to_owned(),
            "something that is not on the shelf".to_owned(),
            "things that are on the shelf",
            "It refers to something that does not exist, or something else refers to it.",
        )
    } else {
        (
            table.to_owned(),
            text.clone(),
            "values within the store's rules",
            "Check the numbers entered.",
        )
    };
    spoolwright_core::Error::new(
        spoolwright_core::Kind::Conflict,
        what,
        given,
        allowed,
        remedy,
    )
    .into()
}
