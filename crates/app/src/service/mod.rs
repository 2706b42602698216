//! One function for each thing a person wants; the page and the terminal both call these.
//!
//! Here words become records, records become views, and the clock and the store are held.
//! No formula lives here (that is `core`), no SQL (that is `store`), no markup (that is `web`).

pub mod binder;
pub mod breaking;
pub mod demo;
pub mod devices;
pub mod draft;
pub mod entry;
pub mod error;
pub mod evidence;
pub mod field;
pub mod moment;
pub mod paper;
pub mod plan;
mod problem;
pub mod queue;
pub mod rolls;
pub mod settings;
pub mod shelf;
pub mod things;
pub mod wedge;
pub mod wet;
pub mod winding;

use jiff::Timestamp;
use spoolwright_store::{Change, Done, Record, Store};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

pub use error::{Failure, Fault, Outcome};

/// Where the time comes from: the system, or a test.
pub type Clock = Box<dyn Fn() -> Timestamp + Send + Sync>;

/// The bench companion over one store.
pub struct Service {
    store: Mutex<Store>,
    clock: Clock,
    ticker: wet::Ticker,
    shelf: Mutex<Option<Arc<shelf::Shelf>>>,
    wedge: Mutex<wedge::Kept>,
    picture: wedge::Place,
    thumbs: field::scans::Thumbs,
    address: Mutex<Option<String>>,
    seen: Mutex<HashMap<i64, String>>,
    demo: bool,
}

/// What a change gave back, with the journal entry an undo would name.
#[derive(Debug, Clone, PartialEq)]
pub struct Made<T> {
    /// The journal entry; none when nothing differed.
    pub entry: Option<spoolwright_core::shelf::EntryId>,
    /// The sentence to show.
    pub story: String,
    /// The result; none when the same request had been carried out before.
    pub value: Option<T>,
}

/// The request id of a form post or command: the same one again changes nothing.
pub type Request<'a> = Option<&'a str>;

impl Service {
    /// The service over the store at `path`, made when absent.
    ///
    /// # Errors
    /// The file is not accessible, or is not a store this program knows.
    pub fn open(path: &Path) -> Outcome<Self> {
        Ok(Self::over(Store::open(path)?, Box::new(Timestamp::now)))
    }

    /// The service over an open store with the clock it is to believe.
    pub fn over(store: Store, clock: Clock) -> Self {
        Self {
            store: Mutex::new(store),
            clock,
            ticker: wet::clock::machine(),
            shelf: Mutex::new(None),
            wedge: Mutex::default(),
            picture: wedge::Place::default(),
            thumbs: field::scans::Thumbs::default(),
            address: Mutex::new(None),
            seen: Mutex::default(),
            demo: false,
        }
    }

    /// Copies the whole store to a file that does not exist yet.
    ///
    /// # Errors
    /// The target exists or cannot be written.
    pub fn backup_to(&self, target: &Path) -> Outcome<()> {
        Ok(self.store().backup_to(target)?)
    }

    /// Where the store lies; nowhere for one in memory.
    pub fn store_path(&self) -> Option<PathBuf> {
        self.store().path().map(Path::to_owned)
    }

    /// Seconds of the machine's own clock, which no time server moves: for what lasts minutes.
    pub fn seconds(&self) -> f64 {
        (self.ticker)().since_boot_s
    }

    /// The moment as the clock says it, UTC, RFC 3339, whole seconds.
    pub fn now(&self) -> String {
        let now = (self.clock)();
        Timestamp::from_second(now.as_second())
            .unwrap_or(now)
            .to_string()
    }

    /// Today where the machine stands, `YYYY-MM-DD`.
    pub fn today(&self) -> String {
        moment::day_of(&self.now())
    }

    /// The same service, over a store that is thrown away.
    #[must_use]
    pub fn as_demo(self) -> Self {
        Self { demo: true, ..self }
    }

    /// The same service, with seconds from another clock than the machine's: for tests.
    #[must_use]
    pub fn ticking(self, ticker: wet::Ticker) -> Self {
        Self { ticker, ..self }
    }

    /// Whether nothing done here is kept.
    pub fn is_demo(&self) -> bool {
        self.demo
    }

    /// Notes the address the page is served at: codes are printed with it until the user sets another.
    pub fn served_at(&self, address: String) {
        *self.address.lock().unwrap_or_else(PoisonError::into_inner) = Some(address);
        *self.shelf.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }

    /// Gives the store back, for a service with another clock.
    pub fn into_store(self) -> Store {
        self.store
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner)
    }

    fn store(&self) -> MutexGuard<'_, Store> {
        // A panic elsewhere cannot leave the store half changed: every change is one transaction.
        self.store.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn change<T>(
        &self,
        request: Request<'_>,
        make: impl FnOnce(&mut Change<'_>) -> Outcome<(&'static str, String, T)>,
    ) -> Outcome<Made<T>> {
        let now = self.now();
        let mut said = String::new();
        let done = self.store().change(&now, request, |change| {
            let (verb, story, value) = make(change)?;
            said.clone_from(&story);
            Ok::<_, Failure>((verb, story, value))
        })?;
        Ok(match done {
            Done::Now { entry, value } => Made {
                entry,
                story: match entry {
                    Some(_) => said,
                    None => "It is so already: nothing was changed.".into(),
                },
                value: Some(value),
            },
            Done::Before(entry) => Made {
                entry: Some(entry),
                story: "Recorded already.".into(),
                value: None,
            },
        })
    }

    fn all<R: Record>(&self) -> Outcome<Vec<R>> {
        Ok(self.store().all()?)
    }

    fn find<R: Record>(&self, id: R::Id) -> Outcome<R> {
        self.store()
            .get::<R>(id)?
            .ok_or_else(|| error::unknown(R::TABLE, id.into().0))
    }
}

fn find_in<R: Record>(change: &Change<'_>, id: R::Id) -> Outcome<R> {
    change
        .get::<R>(id)?
        .ok_or_else(|| error::unknown(R::TABLE, id.into().0))
}
