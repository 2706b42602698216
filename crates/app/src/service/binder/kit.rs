//! Page formats and binders: listed, added, changed, put away.

use super::super::draft::{differences, pick};
use super::super::entry::Reader;
use super::super::error::at;
use super::super::things::{saved, shut};
use super::super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::binder::limits::{FRAMES_PER_ROW, ROWS};
use spoolwright_core::field::record::{Binder, PageFormat};
use spoolwright_core::shelf::{BinderId, PageFormatId};
use spoolwright_core::{Error, Kind};
use spoolwright_store::Change;

/// A page format as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct PageFormatDraft {
    /// What you call it.
    #[arg(long, default_value = "")]
    pub name: String,
    /// Rows of a page.
    #[arg(long, default_value = "")]
    pub rows: String,
    /// Full frames that a row takes.
    #[arg(long, default_value = "")]
    pub frames_per_row: String,
    /// What one page costs.
    #[arg(long, default_value = "")]
    pub price_each: String,
    /// Anything worth remembering, such as what it is made of.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl PageFormatDraft {
    fn read(&self, id: PageFormatId, closed: bool) -> Outcome<PageFormat> {
        let mut r = Reader::new();
        let format = PageFormat {
            id,
            name: r.name("a page format's name", &self.name),
            rows: r.whole("rows", &self.rows, &ROWS),
            frames_per_row: r.whole("frames_per_row", &self.frames_per_row, &FRAMES_PER_ROW),
            price_each: r.money("price_each", &self.price_each),
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(format)
    }
}

impl From<&PageFormat> for PageFormatDraft {
    fn from(f: &PageFormat) -> Self {
        Self {
            name: f.name.clone(),
            rows: f.rows.to_string(),
            frames_per_row: f.frames_per_row.to_string(),
            price_each: f.price_each.map(|p| p.to_string()).unwrap_or_default(),
            note: f.note.clone(),
        }
    }
}

/// A binder as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct BinderDraft {
    /// What stands on its back.
    #[arg(long, default_value = "")]
    pub name: String,
    /// The pages it takes: the format's name or number; may be left out when there is only one.
    #[arg(long, default_value = "")]
    pub format: String,
    /// Anything worth remembering.
    #[arg(long, default_value = "")]
    pub note: String,
}

impl BinderDraft {
    fn read(&self, id: BinderId, closed: bool, formats: &[PageFormat]) -> Outcome<Binder> {
        let mut r = Reader::new();
        let name = r.name("a binder's name", &self.name);
        let open: Vec<&PageFormat> = formats.iter().filter(|f| !f.closed).collect();
        let format = match (self.format.trim(), &open[..]) {
            ("", [one]) => Some(*one),
            (text, _) => r.keep(
                "format",
                pick(formats, text, "page format", |f| &f.name),
                None,
            ),
        };
        let binder = Binder {
            id,
            name,
            format: format.map_or(PageFormatId(0), |f| f.id),
            note: r.free("note", "a note", &self.note, 400),
            closed,
        };
        r.finish()?;
        Ok(binder)
    }
}

impl From<&Binder> for BinderDraft {
    fn from(b: &Binder) -> Self {
        Self {
            name: b.name.clone(),
            format: b.format.to_string(),
            note: b.note.clone(),
        }
    }
}

impl Service {
    /// Every page format, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn page_formats(&self) -> Outcome<Vec<PageFormat>> {
        self.all()
    }

    /// One page format.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn page_format(&self, id: PageFormatId) -> Outcome<PageFormat> {
        self.find(id)
    }

    /// The page format that a name or number means.
    ///
    /// # Errors
    /// There is none of that name or number.
    pub fn page_format_named(&self, text: &str) -> Outcome<PageFormat> {
        one(&self.all()?, text, "page format", |f| &f.name)
    }

    /// Every binder, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn binders(&self) -> Outcome<Vec<Binder>> {
        self.all()
    }

    /// One binder.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn binder(&self, id: BinderId) -> Outcome<Binder> {
        self.find(id)
    }

    /// The binder that a name or number means; the only one that is filled when nothing is typed.
    ///
    /// # Errors
    /// There is none of that name or number, or several are filled.
    pub fn binder_named(&self, text: &str) -> Outcome<Binder> {
        binder_of(&self.all()?, text)
    }

    /// Adds a page format (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft; its name is taken; strips lie where there would be no row or place any more.
    pub fn save_page_format(
        &self,
        id: Option<PageFormatId>,
        draft: &PageFormatDraft,
        request: Request<'_>,
    ) -> Outcome<Made<PageFormatId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<PageFormat>(change, id)).transpose()?;
            let closed = old.as_ref().is_some_and(|o| o.closed);
            let format = draft.read(id.unwrap_or(PageFormatId(0)), closed)?;
            if let Some(old) = &old
                && (format.rows, format.frames_per_row) != (old.rows, old.frames_per_row)
            {
                for binder in change.all::<Binder>()? {
                    if binder.format == old.id {
                        must_be_empty(change, &binder, "rows")?;
                    }
                }
            }
            let put = change.put(&format)?;
            let changed = old
                .as_ref()
                .map(|o| differences(&PageFormatDraft::from(o), &PageFormatDraft::from(&format)));
            let what = format!("the page format {}", format.name);
            Ok(("page_format.saved", saved(&what, changed), put))
        })
    }

    /// Adds a binder (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft; its name is taken; it takes other pages while strips lie in it.
    pub fn save_binder(
        &self,
        id: Option<BinderId>,
        draft: &BinderDraft,
        request: Request<'_>,
    ) -> Outcome<Made<BinderId>> {
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Binder>(change, id)).transpose()?;
            let closed = old.as_ref().is_some_and(|o| o.closed);
            let formats = change.all::<PageFormat>()?;
            let binder = draft.read(id.unwrap_or(BinderId(0)), closed, &formats)?;
            if old.as_ref().is_some_and(|o| o.format != binder.format) {
                must_be_empty(change, &binder, "format")?;
            }
            let put = change.put(&binder)?;
            // The format is told by its name, not by its number.
            let spoken = |b: &Binder| BinderDraft {
                format: formats
                    .iter()
                    .find(|f| f.id == b.format)
                    .map_or_else(String::new, |f| f.name.clone()),
                ..BinderDraft::from(b)
            };
            let changed = old
                .as_ref()
                .map(|o| differences(&spoken(o), &spoken(&binder)));
            let what = format!("the binder {}", binder.name);
            Ok(("binder.saved", saved(&what, changed), put))
        })
    }

    /// Takes a page format out of the forms, or brings it back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_page_format(
        &self,
        id: PageFormatId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let format = PageFormat {
                closed,
                ..find_in(change, id)?
            };
            change.put(&format)?;
            let story = format!("{} the page format {}.", shut(closed), format.name);
            Ok(("page_format.closed", story, ()))
        })
    }

    /// Says that a binder is full, or brings it back.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn close_binder(
        &self,
        id: BinderId,
        closed: bool,
        request: Request<'_>,
    ) -> Outcome<Made<()>> {
        self.change(request, |change| {
            let binder = Binder {
                closed,
                ..find_in(change, id)?
            };
            change.put(&binder)?;
            let story = format!("{} the binder {}.", shut(closed), binder.name);
            Ok(("binder.closed", story, ()))
        })
    }
}

fn one<R: spoolwright_store::Record + Clone>(
    all: &[R],
    text: &str,
    kind: &str,
    name: fn(&R) -> &String,
) -> Outcome<R> {
    match pick(all, text, kind, name)? {
        Some(found) => Ok(found.clone()),
        None => Err(super::super::error::unknown(kind, format!("{text:?}"))),
    }
}

/// The binder that is meant among all.
pub(super) fn binder_of(all: &[Binder], text: &str) -> Outcome<Binder> {
    let open: Vec<&Binder> = all.iter().filter(|b| !b.closed).collect();
    match (text.trim(), &open[..]) {
        ("", [only]) => Ok((*only).clone()),
        ("", []) => Err(at(
            "binder",
            Error::missing(
                "a binder",
                "a binder that is being filled",
                "Add a binder first.",
            ),
        )),
        ("", several) => {
            let names: Vec<&str> = several.iter().map(|b| b.name.as_str()).take(12).collect();
            Err(at(
                "binder",
                Error::missing("a binder", names.join(", "), "Say which binder it goes to."),
            ))
        }
        (text, _) => match pick(all, text, "binder", |b| &b.name) {
            Ok(Some(found)) => Ok(found.clone()),
            Ok(None) => Err(super::super::error::unknown("binder", format!("{text:?}"))),
            Err(e) => Err(at("binder", e)),
        },
    }
}

fn must_be_empty(change: &Change<'_>, binder: &Binder, field: &str) -> Outcome<()> {
    let lying = change.strips_of_binder(binder.id)?.len();
    if lying == 0 {
        return Ok(());
    }
    Err(at(
        field,
        Error::new(
            Kind::Conflict,
            "another layout of pages",
            format!("{lying} strips lie in {}", binder.name),
            "the layout those strips were filed by",
            "Add another page format, and a new binder of it.",
        ),
    ))
}
