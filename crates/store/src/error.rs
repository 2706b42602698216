//! What can go wrong with a store: a refusal the person can act on, or trouble with the file.

use spoolwright_core as core;
use std::path::PathBuf;

/// A failed call of the store. Nothing has been changed when one is returned.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The change is not possible; the four parts say why and what to do.
    #[error(transparent)]
    Refused(#[from] core::Error),
    /// SQLite refused or failed.
    #[error("the store could not be read or written: {0}")]
    Sqlite(#[from] rusqlite::Error),
    /// The schema could not be brought up to date.
    #[error("the store could not be brought up to date: {0}")]
    Migration(#[from] rusqlite_migration::Error),
    /// The file was written by a newer version.
    #[error(
        "the store {path} was written by a newer version (schema {found}, this program knows {known}); update the program"
    )]
    TooNew {
        /// The file.
        path: PathBuf,
        /// Its schema version.
        found: i64,
        /// The newest this program knows.
        known: usize,
    },
    /// The folder or file is not accessible.
    #[error("{path}: {source}")]
    File {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A row holds what this program never writes.
    #[error("the store holds something unreadable: {0}")]
    Damaged(String),
}

impl Error {
    /// The refusal inside, if this is one.
    pub fn refusal(&self) -> Option<&core::Error> {
        match self {
            Self::Refused(e) => Some(e),
            _ => None,
        }
    }
}
