//! Paired devices as rows, and the one question asked of them at every request.

use super::{Fields, get, int, text};
use crate::{Error, Record, Store};
use rusqlite::Row;
use rusqlite::types::Value;

/// A device that was paired with the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Number in the store.
    pub id: i64,
    /// What its owner calls it.
    pub name: String,
    /// SHA-256 of what it proves itself with, in 64 hexadecimal digits.
    pub token_hash: String,
    /// The day it was paired, `YYYY-MM-DD`.
    pub paired_on: String,
    /// It is shut out.
    pub revoked: bool,
}

impl Record for Device {
    type Id = i64;
    const TABLE: &'static str = "device";
    const SELECT: &'static str = "SELECT * FROM device";
    fn id(&self) -> i64 {
        self.id
    }
    fn fields(&self) -> Fields {
        vec![
            ("name", text(&self.name)),
            ("token_hash", text(&self.token_hash)),
            ("paired_on", text(&self.paired_on)),
            ("revoked", int(self.revoked)),
        ]
    }
    fn from_row(row: &Row<'_>) -> Result<Self, Error> {
        Ok(Self {
            id: get(row, "id")?,
            name: get(row, "name")?,
            token_hash: get(row, "token_hash")?,
            paired_on: get(row, "paired_on")?,
            revoked: get(row, "revoked")?,
        })
    }
}

impl Store {
    /// The device that proves itself with what has this SHA-256, unless it is shut out.
    ///
    /// # Errors
    /// Trouble with the file.
    pub fn device_with(&self, token_hash: &str) -> Result<Option<Device>, Error> {
        crate::query::one(
            &self.db,
            "WHERE token_hash = ?1 AND revoked = 0",
            [Value::Text(token_hash.to_owned())],
        )
    }
}
