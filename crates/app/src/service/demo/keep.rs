//! The scenario's places and purchases: where film lies, and what was paid beside it. Names and prices are invented.

use super::Scene;
use crate::service::Outcome;
use crate::service::field::kept::KeepDraft;
use crate::service::field::places::PlaceDraft;
use crate::service::field::purchases::PurchaseDraft;

impl Scene {
    /// Three places and what lies in them; what was bought over the year.
    pub(super) fn keep_and_buy(&self) -> Outcome<()> {
        let s = &self.service;
        for (name, kind, temperature, humidity) in [
            ("Darkroom shelf", "room", "21 C", "48"),
            ("Kitchen refrigerator", "refrigerator", "4 C", ""),
            ("Chest freezer", "freezer", "", ""),
        ] {
            let draft = PlaceDraft {
                name: name.into(),
                kind: kind.into(),
                temperature: temperature.into(),
                humidity: humidity.into(),
                ..PlaceDraft::default()
            };
            s.save_place(None, &draft, None)?;
        }
        for (can, place) in [
            ("HM2", "Darkroom shelf"),
            ("QG", "Darkroom shelf"),
            ("NF", "Kitchen refrigerator"),
            ("CC", "Chest freezer"),
        ] {
            let draft = KeepDraft {
                place: place.into(),
                since: String::new(),
            };
            s.keep(s.keepable("can", can)?, &draft, None)?;
        }
        for (what, price, quantity, uses_each, bath, note) in [
            ("cassettes", "37.50", "15", "25", "", ""),
            (
                "chemistry",
                "11.90",
                "1",
                "",
                "Fixer, brown bottle",
                "fixer, half a litre",
            ),
            (
                "chemistry",
                "14.50",
                "1",
                "40",
                "",
                "house brew and the rest",
            ),
            ("other", "4.80", "1", "", "", "tape for the spools"),
        ] {
            let draft = PurchaseDraft {
                what: what.into(),
                price: price.into(),
                quantity: quantity.into(),
                uses_each: uses_each.into(),
                bath: bath.into(),
                note: note.into(),
                ..PurchaseDraft::default()
            };
            s.save_purchase(None, &draft, None)?;
        }
        Ok(())
    }
}
