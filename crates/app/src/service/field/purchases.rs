//! What was bought, film apart: cassettes, chemistry, pages, anything else that frames are to bear.

use super::super::draft::{differences, pick};
use super::super::entry::{self, Reader};
use super::super::things::saved;
use super::super::{Made, Outcome, Request, Service, find_in};
use serde::{Deserialize, Serialize};
use spoolwright_core::bounds::Bounds;
use spoolwright_core::cost::books::COUNT;
use spoolwright_core::field::record::{Bought, PageFormat, Purchase};
use spoolwright_core::shelf::PurchaseId;
use spoolwright_core::wet::record::BathCard;
use spoolwright_core::{Error, Kind};
use spoolwright_store::Subject;

/// How many, or how much, was bought.
const QUANTITY: Bounds = Bounds {
    what: "how many",
    ..COUNT
};
/// How often one serves.
const USES: Bounds = Bounds {
    what: "how often one serves",
    ..COUNT
};

/// A purchase as typed.
#[derive(Debug, Clone, Default, Serialize, Deserialize, clap::Args)]
#[serde(default)]
pub struct PurchaseDraft {
    /// cassettes, chemistry, pages or other; cassettes when empty.
    #[arg(long, default_value = "")]
    pub what: String,
    /// What was paid for all of it.
    #[arg(long, default_value = "")]
    pub price: String,
    /// How many; one when empty.
    #[arg(long, default_value = "")]
    pub quantity: String,
    /// How often one serves: fillings of a cassette, films of 36 of a bottle; leave out what nobody knows.
    #[arg(long, default_value = "")]
    pub uses_each: String,
    /// Of chemistry: the bath it went into, by name or number; every film developed here when empty.
    #[arg(long, default_value = "")]
    pub bath: String,
    /// Of pages: their format, by name or number.
    #[arg(long, default_value = "")]
    pub format: String,
    /// Day; today when empty.
    #[arg(long, default_value = "")]
    pub day: String,
    /// What it was.
    #[arg(long, default_value = "")]
    pub note: String,
}

/// A purchase with the names around it.
#[derive(Debug, Clone, PartialEq)]
pub struct PurchaseView {
    /// As entered.
    pub purchase: Purchase,
    /// The bath's name.
    pub bath: Option<String>,
    /// The page format's name.
    pub format: Option<String>,
}

impl PurchaseDraft {
    /// A purchase as its user would have typed it.
    pub fn of(p: &Purchase) -> Self {
        let some = |v: Option<f64>| v.map(|v| v.to_string()).unwrap_or_default();
        Self {
            what: p.what.word().to_owned(),
            price: p.price.to_string(),
            quantity: p.quantity.to_string(),
            uses_each: some(p.uses_each),
            bath: p.bath.map(|b| b.to_string()).unwrap_or_default(),
            format: p.format.map(|f| f.to_string()).unwrap_or_default(),
            day: p.day.clone(),
            note: p.note.clone(),
        }
    }

    fn read(
        &self,
        id: PurchaseId,
        today: &str,
        baths: &[BathCard],
        formats: &[PageFormat],
    ) -> Outcome<Purchase> {
        let mut r = Reader::new();
        let what = r.word("what", &self.what, Bought::from_word);
        let price = r.money("price", &self.price);
        if price.is_none() && self.price.trim().is_empty() {
            let money = &spoolwright_core::bounds::MONEY;
            r.fault(
                "price",
                Error::missing(
                    money.what,
                    money.allowed(),
                    "Enter what was paid for all of it.",
                ),
            );
        }
        let only = |r: &mut Reader, field: &str, text: &str, of: &[Bought], words: &str| {
            if !text.trim().is_empty() && !of.contains(&what) {
                r.fault(
                    field,
                    Error::new(
                        Kind::Inconsistent,
                        field.replace('_', " "),
                        what.word(),
                        words,
                        "Leave it out, or choose the other kind.",
                    ),
                );
            }
        };
        let used = [Bought::Cassettes, Bought::Chemistry];
        only(
            &mut r,
            "uses_each",
            &self.uses_each,
            &used,
            "only of cassettes and chemistry",
        );
        only(
            &mut r,
            "bath",
            &self.bath,
            &[Bought::Chemistry],
            "only of chemistry",
        );
        only(
            &mut r,
            "format",
            &self.format,
            &[Bought::Pages],
            "only of pages",
        );
        let bath = match self.bath.trim() {
            "" => None,
            text => {
                let found = pick(baths, text, "bath", |b| &b.name).map(|b| b.map(|b| b.id));
                r.keep("bath", found, None)
            }
        };
        let format = match self.format.trim() {
            "" if what == Bought::Pages => {
                let known: Vec<&str> = formats.iter().map(|f| f.name.as_str()).collect();
                let known = if known.is_empty() {
                    "a page format; there is none yet".to_owned()
                } else {
                    known.join(", ")
                };
                let remedy = "Choose one, enter it at the binder first, or book it as other.";
                r.fault("format", Error::missing("the pages' format", known, remedy));
                None
            }
            "" => None,
            text => {
                let found = pick(formats, text, "page format", |f| &f.name);
                r.keep("format", found.map(|f| f.map(|f| f.id)), None)
            }
        };
        let day = r.date("day", &self.day).unwrap_or_else(|| today.to_owned());
        if today < day.as_str() {
            r.fault(
                "day",
                Error::new(
                    Kind::Inconsistent,
                    "the day it was bought",
                    &day,
                    format!("{today} or before"),
                    "Write it down once it is paid.",
                ),
            );
        }
        let purchase = Purchase {
            id,
            day,
            what,
            price: price.unwrap_or(0.0),
            quantity: r
                .optional("quantity", &self.quantity, entry::PLAIN, &QUANTITY)
                .unwrap_or(1.0),
            uses_each: r.optional("uses_each", &self.uses_each, entry::PLAIN, &USES),
            bath,
            format,
            note: r.free("note", "a note", &self.note, 400),
        };
        r.finish()?;
        Ok(purchase)
    }
}

impl Service {
    /// Everything bought, the newest day first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn purchases(&self) -> Outcome<Vec<PurchaseView>> {
        let baths = self.all::<BathCard>()?;
        let formats = self.all::<PageFormat>()?;
        let mut all = self.all::<Purchase>()?;
        all.sort_by(|a, b| (&b.day, b.id).cmp(&(&a.day, a.id)));
        Ok(all
            .into_iter()
            .map(|p| PurchaseView {
                bath: baths
                    .iter()
                    .find(|b| Some(b.id) == p.bath)
                    .map(|b| b.name.clone()),
                format: formats
                    .iter()
                    .find(|f| Some(f.id) == p.format)
                    .map(|f| f.name.clone()),
                purchase: p,
            })
            .collect())
    }

    /// One purchase.
    ///
    /// # Errors
    /// There is none of that number.
    pub fn purchase(&self, id: PurchaseId) -> Outcome<Purchase> {
        self.find(id)
    }

    /// Every page format, oldest first.
    ///
    /// # Errors
    /// Trouble with the store.
    pub fn formats_of_pages(&self) -> Outcome<Vec<PageFormat>> {
        self.all()
    }

    /// Writes down a purchase (`id` none) or changes one.
    ///
    /// # Errors
    /// Every fault of the draft.
    pub fn save_purchase(
        &self,
        id: Option<PurchaseId>,
        draft: &PurchaseDraft,
        request: Request<'_>,
    ) -> Outcome<Made<PurchaseId>> {
        let today = self.today();
        let settings = self.settings()?;
        self.change(request, |change| {
            let old = id.map(|id| find_in::<Purchase>(change, id)).transpose()?;
            let purchase = draft.read(
                id.unwrap_or(PurchaseId(0)),
                &today,
                &change.all()?,
                &change.all()?,
            )?;
            let put = change.put(&purchase)?;
            if let Some(bath) = purchase.bath {
                change.about(Subject::of::<BathCard>(bath));
            }
            let named = format!(
                "{} for {}",
                in_words(&purchase),
                settings.money(purchase.price)
            );
            let story = match &old {
                None => format!("Bought {named}."),
                Some(old) => saved(
                    &format!("a purchase, {named}"),
                    Some(differences(
                        &PurchaseDraft::of(old),
                        &PurchaseDraft::of(&purchase),
                    )),
                ),
            };
            Ok(("purchase.saved", story, put))
        })
    }
}

/// What was bought, in words: `10 cassettes`, `chemistry (fixer, one litre)`.
pub fn in_words(p: &Purchase) -> String {
    let what = match p.what {
        Bought::Other => "other things",
        other => other.word(),
    };
    let many = p.quantity;
    let counted = match p.what {
        Bought::Cassettes if many == 1.0 => "1 cassette".to_owned(),
        Bought::Pages if many == 1.0 => "1 page".to_owned(),
        Bought::Cassettes | Bought::Pages => format!("{many} {what}"),
        Bought::Chemistry | Bought::Other if many != 1.0 => format!("{many} × {what}"),
        _ => what.to_owned(),
    };
    match p.note.as_str() {
        "" => counted,
        note => format!("{counted} ({note})"),
    }
}
