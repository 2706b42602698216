//! The store file: one SQLite database, its schema, its journal, and queries that return core types.
//!
//! Every change a person makes goes through [`Store::change`], which writes the change and its
//! journal entry in one transaction. No formula lives here, and nothing outside this crate speaks SQL.

mod error;
mod journal;
mod open;
mod query;
mod record;
mod rows;
mod undo;

pub use error::Error;
pub use journal::{Change, Done};
pub use open::Store;
pub use query::Changed;
pub use record::{Record, Subject};
pub use rows::{Device, Setting};
