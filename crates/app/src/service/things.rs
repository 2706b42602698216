//! Stocks, cans, loaders, cassettes and wants: listed, found by name, added, changed, put away.

use super::draft::{
    CanDraft, CassetteDraft, LoaderDraft, StockDraft, WantDraft, differences, pick,
};
use super::error::at;
use super::queue::drop_queue_of;
use super::{Made, Outcome, Request, Service, find_in};
use spoolwright_core::shelf::{
    Can, CanId, CanState, Cassette, CassetteId, Loader, LoaderId, Stock, StockId, Want, WantId,
};
use spoolwright_core::{Error, Kind};
use spoolwright_store::{Change, Record, Subject};

impl Service {
    /// Every stock, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn stocks(&self) -> Outcome<Vec<Stock>> {
        self.all()
    }
    /// Every loader, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn loaders(&self) -> Outcome<Vec<Loader>> {
        self.all()
    }
    /// One stock.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn stock(&self, id: StockId) -> Outcome<Stock> {
        self.find(id)
    }
    /// One loader.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn loader(&self, id: LoaderId) -> Outcome<Loader> {
        self.find(id)
    }
    /// One cassette.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn cassette(&self, id: CassetteId) -> Outcome<Cassette> {
        self.find(id)
    }
    /// One want.
    ///
    /// # Errors
    /// It is not on the list.
    pub fn want(&self, id: WantId) -> Outcome<Want> {
        self.find(id)
    }

    /// The stock that a name or number means; the same for the other kinds below.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn stock_named(&self, text: &str) -> Outcome<Stock> {
        named(self.all()?, text, "stock", |s: &Stock| &s.name)
    }
    /// The can that its letters or number mean.
    ///
    /// # Errors
    /// There is none of those letters or that number.
    pub fn can_named(&self, text: &str) -> Outcome<Can> {
        named(self.all()?, text, "can", |c: &Can| &c.letters)
    }
    /// The loader that a name or number means.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn loader_named(&self, text: &str) -> Outcome<Loader> {
        named(self.all()?, text, "loader", |l: &Loader| &l.name)
    }
    /// The cassette that a label means.
    ///
    /// # Errors
    /// There is none of that label.
    pub fn cassette_named(&self, text: &str) -> Outcome<Cassette> {
        named(self.all()?, text, "cassette", |c: &Cassette| &c.label)
    }

    /// Adds a stock (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or its name is taken.
    pub fn save_stock(
        &self,
        id: Option<StockId>,
        draft: &StockDraft,
        request: Request<'_>,
    ) -> Outcome<Made<StockId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Stock>(change, id)).transpose()?;
            let stock = draft.read(
                id.unwrap_or(StockId(0)),
                old.as_ref().is_some_and(|o| o.closed),
            )?;
            let put = change.put(&stock)?;
            Ok((
                "stock.saved",
                saved(
                    &format!("the stock {}", stock.name),
                    old.as_ref()
                        .map(|o| differences(&StockDraft::from(o), &StockDraft::from(&stock))),
                ),
                put,
            ))
        })
    }

    /// Takes a stock out of the forms, or puts it back.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn close_stock(
        &self,
        id: StockId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let stock = Stock {
                closed,
                ..find_in(change, id)?
            };
            change.put(&stock)?;
            Ok((
                "stock.closed",
                format!("{} the stock {}.", shut(closed), stock.name),
                (),
            ))
        })
    }

    /// Adds a can (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or its letters are taken.
    pub fn save_can(
        &self,
        id: Option<CanId>,
        draft: &CanDraft,
        request: Request<'_>,
    ) -> Outcome<Made<CanId>> {
        let settings = self.settings()?;
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Can>(change, id)).transpose()?;
            let can = draft.read(old.as_ref(), change, &settings)?;
            if let Some(old) = &old
                && old.letters != can.letters
                && change.next_roll_number(old.id)? > 1
            {
                return Err(at(
                    "letters",
                    Error::new(
                        Kind::Conflict,
                        "a can's letters",
                        &can.letters,
                        format!("{}, which its rolls are labelled with", old.letters),
                        "Keep the letters: cassettes carry them already.",
                    ),
                ));
            }
            let put = change.put(&can)?;
            let stock = find_in::<Stock>(change, can.stock)?;
            change.about(Subject::of::<Stock>(can.stock));
            Ok((
                "can.saved",
                match &old {
                    None => format!(
                        "Added can {}: {} of {}.",
                        can.letters,
                        settings.length(can.length_m.mean),
                        stock.name
                    ),
                    Some(old) => saved(
                        &format!("can {}", can.letters),
                        Some(differences(
                            &spoken(CanDraft::of(old, &settings), change)?,
                            &spoken(CanDraft::of(&can, &settings), change)?,
                        )),
                    ),
                },
                put,
            ))
        })
    }

    /// Closes a can as empty or gone, which takes its tickets out of the queue, or opens it again.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn close_can(&self, id: CanId, state: CanState, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let can = Can {
                state,
                ..find_in(change, id)?
            };
            change.put(&can)?;
            let story = match state {
                CanState::Open => format!("Opened can {} again.", can.letters),
                CanState::Empty => format!("Can {} is empty.", can.letters),
                CanState::Gone => format!("Can {} is gone.", can.letters),
            };
            let dropped = match state {
                CanState::Open => 0,
                CanState::Empty | CanState::Gone => drop_queue_of(change, id)?,
            };
            let story = match dropped {
                0 => story,
                n => format!("{story} {n} of its tickets left the queue."),
            };
            Ok(("can.closed", story, ()))
        })
    }

    /// Adds a loader (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or its name is taken.
    pub fn save_loader(
        &self,
        id: Option<LoaderId>,
        draft: &LoaderDraft,
        request: Request<'_>,
    ) -> Outcome<Made<LoaderId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Loader>(change, id)).transpose()?;
            let loader = draft.read(
                id.unwrap_or(LoaderId(0)),
                old.as_ref().is_some_and(|o| o.closed),
            )?;
            let put = change.put(&loader)?;
            Ok((
                "loader.saved",
                saved(
                    &format!("the loader {}", loader.name),
                    old.as_ref()
                        .map(|o| differences(&LoaderDraft::from(o), &LoaderDraft::from(&loader))),
                ),
                put,
            ))
        })
    }

    /// Takes a loader out of the forms, or puts it back.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn close_loader(
        &self,
        id: LoaderId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let loader = Loader {
                closed,
                ..find_in(change, id)?
            };
            change.put(&loader)?;
            Ok((
                "loader.closed",
                format!("{} the loader {}.", shut(closed), loader.name),
                (),
            ))
        })
    }

    /// Adds cassettes (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft, or a label is taken.
    pub fn save_cassettes(
        &self,
        id: Option<CassetteId>,
        draft: &CassetteDraft,
        request: Request<'_>,
    ) -> Outcome<Made<Vec<CassetteId>>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Cassette>(change, id)).transpose()?;
            let all = draft.read(id.unwrap_or(CassetteId(0)))?;
            let put = all
                .iter()
                .map(|c| change.put(c))
                .collect::<Result<Vec<_>, _>>()?;
            let story = match all.as_slice() {
                [one] => saved(
                    &format!("cassette {}", one.label),
                    old.as_ref()
                        .map(|o| differences(&CassetteDraft::from(o), &CassetteDraft::from(one))),
                ),
                many => format!(
                    "Added {} cassettes, {} to {}.",
                    many.len(),
                    many[0].label,
                    many[many.len() - 1].label
                ),
            };
            Ok(("cassette.saved", story, put))
        })
    }

    /// Marks a cassette: it leaks light, it is retired, or neither.
    ///
    /// # Errors
    /// It is not on the shelf.
    pub fn mark_cassette(
        &self,
        id: CassetteId,
        leaks: bool,
        retired: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let cassette = Cassette {
                leaks,
                retired,
                ..find_in(change, id)?
            };
            change.put(&cassette)?;
            let how = match (leaks, retired) {
                (true, true) => "leaks light and is retired",
                (true, false) => "leaks light",
                (false, true) => "is retired",
                (false, false) => "is in use again",
            };
            Ok((
                "cassette.marked",
                format!("Cassette {} {how}.", cassette.label),
                (),
            ))
        })
    }

    /// Adds a want (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft.
    pub fn save_want(
        &self,
        id: Option<WantId>,
        draft: &WantDraft,
        request: Request<'_>,
    ) -> Outcome<Made<WantId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Want>(change, id)).transpose()?;
            let want = draft.read(
                id.unwrap_or(WantId(0)),
                old.as_ref().is_some_and(|o| o.dropped),
                &change.all::<Stock>()?,
            )?;
            let put = change.put(&want)?;
            Ok((
                "want.saved",
                saved(
                    &format!("the want: {} frames for {}", want.frames, want.what_for),
                    old.as_ref()
                        .map(|o| differences(&WantDraft::from(o), &WantDraft::from(&want))),
                ),
                put,
            ))
        })
    }

    /// Drops a want, or takes it up again.
    ///
    /// # Errors
    /// It is not on the list.
    pub fn drop_want(&self, id: WantId, dropped: bool, request: Request<'_>) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let want = Want {
                dropped,
                ..find_in(change, id)?
            };
            change.put(&want)?;
            let how = if dropped { "Dropped" } else { "Took up again" };
            Ok((
                "want.dropped",
                format!("{how} the want: {}.", want.what_for),
                (),
            ))
        })
    }
}

pub(super) fn named<R: Record + Clone>(
    all: Vec<R>,
    text: &str,
    kind: &str,
    name: fn(&R) -> &String,
) -> Outcome<R> {
    pick(&all, text, kind, name)?
        .cloned()
        .ok_or_else(|| super::error::unknown(kind, text))
}

/// "Added X." or "Changed X: what differs."
pub(super) fn saved(what: &str, differences: Option<String>) -> String {
    match differences {
        None => format!("Added {what}."),
        Some(d) if d.is_empty() => format!("Changed {what}."),
        Some(d) => format!("Changed {what}: {d}."),
    }
}

/// A can's draft with names where it has numbers.
fn spoken(mut draft: CanDraft, change: &Change<'_>) -> Outcome<CanDraft> {
    let number = |text: &str| text.parse().unwrap_or(0);
    if let Some(stock) = change.get::<Stock>(StockId(number(&draft.stock)))? {
        draft.stock = stock.name;
    }
    if let Some(loader) = change.get::<Loader>(LoaderId(number(&draft.loader)))? {
        draft.loader = loader.name;
    }
    Ok(draft)
}

pub(super) fn shut(closed: bool) -> &'static str {
    if closed { "Put away" } else { "Took out again" }
}
