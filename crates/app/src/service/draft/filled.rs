//! Records as drafts: every field as a person would have typed it, so that one can be changed.

use super::{CanDraft, CassetteDraft, LoaderDraft, StockDraft, WantDraft};
use crate::service::settings::Settings;
use spoolwright_core::quantity::Estimate;
use spoolwright_core::shelf::{Can, Cassette, Loader, LoaderKind, Stock, Want};

fn text<T: ToString>(value: Option<T>) -> String {
    value.map(|v| v.to_string()).unwrap_or_default()
}

fn mean(e: Option<Estimate>) -> String {
    text(e.map(|e| e.mean))
}

fn sd(e: Option<Estimate>) -> String {
    text(e.map(|e| e.sd))
}

/// Rounded: what is left as it was shown is kept as it was, see [`CanDraft::read`].
fn length(metres: f64, settings: &Settings) -> String {
    let (unit, factor) = settings.length_units()[0];
    format!("{} {unit}", (metres / factor * 1e4).round() / 1e4)
}

fn kept_at(celsius: f64, settings: &Settings) -> String {
    let (degrees, unit) = if settings.fahrenheit {
        (celsius * 1.8 + 32.0, 'F')
    } else {
        (celsius, 'C')
    };
    // Adding zero turns "-0" into "0".
    format!("{} {unit}", (degrees * 10.0).round() / 10.0 + 0.0)
}

fn yes(on: bool) -> String {
    if on { "yes" } else { "no" }.to_owned()
}

impl From<&Stock> for StockDraft {
    fn from(s: &Stock) -> Self {
        Self {
            name: s.name.clone(),
            ei: text(s.ei),
            process: s.process.word().into(),
            base: s.base.word().into(),
            backing: s.backing.word().into(),
            pitch: s.pitch.word().into(),
            thickness_mm: mean(s.thickness_mm),
            thickness_sd_mm: sd(s.thickness_mm),
            linear_mass_g_per_m: mean(s.linear_mass_g_per_m),
            linear_mass_sd_g_per_m: sd(s.linear_mass_g_per_m),
            ready_wound_price: text(s.ready_wound_price),
            note: s.note.clone(),
        }
    }
}

impl CanDraft {
    /// A can as its user would have typed it, in the units they chose.
    pub(crate) fn of(c: &Can, settings: &Settings) -> Self {
        Self {
            stock: c.stock.to_string(),
            letters: c.letters.clone(),
            length: length(c.length_m.mean, settings),
            length_sd: length(c.length_m.sd, settings),
            package: c.package.clone(),
            tare_g: mean(c.tare_g),
            core_mm: c.core_mm.to_string(),
            loader: text(c.loader),
            price: text(c.price),
            kept_at: c.kept_c.map(|t| kept_at(t, settings)).unwrap_or_default(),
            bought_on: text(c.bought_on.as_ref()),
            expires_on: text(c.expires_on.as_ref()),
            note: c.note.clone(),
        }
    }
}

impl From<&Loader> for LoaderDraft {
    fn from(l: &Loader) -> Self {
        let (kind, dial_zero, hub_mm) = match l.kind {
            LoaderKind::Counter { dial_zero } => ("counter", dial_zero.to_string(), String::new()),
            LoaderKind::Crank { hub_mm } => ("crank", String::new(), hub_mm.to_string()),
        };
        Self {
            name: l.name.clone(),
            kind: kind.into(),
            dial_zero,
            hub_mm,
            leader_clicks: l.leader_clicks.to_string(),
            tail_clicks: l.tail_clicks.to_string(),
            click_scale: mean(l.click_scale),
            uncounted_mm: mean(l.uncounted_mm),
            note: l.note.clone(),
        }
    }
}

impl From<&Cassette> for CassetteDraft {
    fn from(c: &Cassette) -> Self {
        Self {
            label: c.label.clone(),
            most_frames: c.most_frames.to_string(),
            earlier_uses: c.earlier_uses.to_string(),
            leaks: yes(c.leaks),
            retired: yes(c.retired),
            note: c.note.clone(),
        }
    }
}

impl From<&Want> for WantDraft {
    fn from(w: &Want) -> Self {
        let stocks: Vec<String> = w.stocks.iter().map(ToString::to_string).collect();
        Self {
            what_for: w.what_for.clone(),
            frames: w.frames.to_string(),
            stocks: stocks.join(","),
            by_when: text(w.by_when.as_ref()),
            priority: w.priority.to_string(),
            ei: text(w.ei),
            camera: w.camera.clone(),
            advance_perforations: w.advance_perforations.to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::service::Service;
    use crate::service::settings::SettingsDraft;
    use proptest::prelude::*;
    use spoolwright_core::bounds;
    use spoolwright_core::shelf::{Backing, Base, LoaderId, Process, StockId};
    use spoolwright_store::Store;

    fn number(bounds: bounds::Bounds) -> impl Strategy<Value = f64> {
        (bounds.min..bounds.max)
            .prop_map(|v| (v * 1000.0).round() / 1000.0)
            .prop_filter("within", move |v| bounds.min <= *v && *v <= bounds.max)
    }

    proptest! {
        /// A record, made a draft and read again, is the same record.
        #[test]
        fn a_stock_is_read_back(
            ei in proptest::option::of(number(bounds::SPEED_ISO)),
            t in proptest::option::of(number(bounds::THICKNESS_MM)),
            price in proptest::option::of(number(bounds::MONEY)),
            process in proptest::sample::select(Process::ALL), base in proptest::sample::select(Base::ALL),
            backing in proptest::sample::select(Backing::ALL),
            closed in any::<bool>(),
        ) {
            let stock = Stock {
                id: StockId(3), name: "Harbour Mist 250".into(), ei, process, base, backing,
                pitch: Default::default(), thickness_mm: t.map(|t| Estimate::new(t, 0.002)),
                linear_mass_g_per_m: t.map(|t| Estimate::new(1.0 + t, 0.125)),
                ready_wound_price: price, note: "box".into(), closed,
            };
            prop_assert_eq!(StockDraft::from(&stock).read(stock.id, closed).unwrap(), stock);
        }

        #[test]
        fn a_loader_is_read_back(
            zero in -100i32..=100, hub in proptest::option::of(number(bounds::CORE_MM)), leader in 0u32..30,
        ) {
            let kind = match hub {
                Some(hub_mm) => LoaderKind::Crank { hub_mm },
                None => LoaderKind::Counter { dial_zero: zero },
            };
            let loader = Loader {
                id: LoaderId(2), name: "Grey box".into(), kind, leader_clicks: leader, tail_clicks: 2,
                click_scale: None, uncounted_mm: None, note: String::new(), closed: false,
            };
            prop_assert_eq!(LoaderDraft::from(&loader).read(loader.id, false).unwrap(), loader);
        }
    }

    #[test]
    fn a_can_is_shown_in_the_users_units_and_read_back_as_it_was() {
        let service = Service::over(Store::in_memory().unwrap(), Box::new(jiff::Timestamp::now));
        let stock = StockDraft {
            name: "Slate".into(),
            ..StockDraft::default()
        };
        service.save_stock(None, &stock, None).unwrap();
        let can = CanDraft {
            stock: "Slate".into(),
            length: "17.03 m".into(),
            length_sd: "31 cm".into(),
            kept_at: "4.44 C".into(),
            ..CanDraft::default()
        };
        let can = service.save_can(None, &can, None).unwrap().value.unwrap();
        let old = service.can(can).unwrap().can;
        for feet in [false, true] {
            let settings = Settings {
                feet,
                fahrenheit: feet,
                ..Settings::default()
            };
            let draft = SettingsDraft::from(&settings);
            service.save_settings(&draft, None).unwrap();
            let shown = CanDraft::of(&old, &settings);
            let (length, sd, kept) = if feet {
                // 17.03 m and 0.31 m over 0.3048 m a foot; 4.44 °C is 39.992 °F.
                ("55.8727 ft", "1.0171 ft", "40 F")
            } else {
                ("17.03 m", "0.31 m", "4.4 C")
            };
            assert_eq!(
                (&*shown.length, &*shown.length_sd, &*shown.kept_at),
                (length, sd, kept)
            );
            let made = service.save_can(Some(can), &shown, None).unwrap();
            assert_eq!(made.entry, None, "nothing differs: {}", made.story);
            assert_eq!(service.can(can).unwrap().can, old);
        }
        let shorter = CanDraft {
            length: "50".into(),
            ..CanDraft::of(&old, &service.settings().unwrap())
        };
        let made = service.save_can(Some(can), &shorter, None).unwrap();
        assert_eq!(made.story, "Changed can SL: length 50 ft.");
        let now = service.can(can).unwrap().can;
        assert!((now.length_m.mean - 15.24).abs() < 1e-9);
        assert_eq!(now.length_m.sd, old.length_m.sd);
    }

    #[test]
    fn a_doubt_about_the_usual_length_is_kept() {
        let service = Service::over(Store::in_memory().unwrap(), Box::new(jiff::Timestamp::now));
        let stock = StockDraft {
            name: "Slate".into(),
            ..StockDraft::default()
        };
        service.save_stock(None, &stock, None).unwrap();
        let can = CanDraft {
            stock: "Slate".into(),
            length_sd: "3 m".into(),
            ..CanDraft::default()
        };
        let can = service.save_can(None, &can, None).unwrap().value.unwrap();
        let length = service.can(can).unwrap().can.length_m;
        assert_eq!((length.mean, length.sd), (30.48, 3.0));
        let lone = StockDraft {
            name: "Quarry".into(),
            thickness_sd_mm: "0.01".into(),
            ..StockDraft::default()
        };
        let refused = service.save_stock(None, &lone, None).unwrap_err();
        assert_eq!(refused.faults()[0].field, "thickness_mm");
    }

    #[test]
    fn cans_cassettes_and_wants_are_saved_back_without_a_change() {
        let service = Service::over(Store::in_memory().unwrap(), Box::new(jiff::Timestamp::now));
        let stock = StockDraft {
            name: "Slate".into(),
            ..StockDraft::default()
        };
        service.save_stock(None, &stock, None).unwrap();
        let loader = LoaderDraft {
            name: "Grey box".into(),
            ..LoaderDraft::default()
        };
        service.save_loader(None, &loader, None).unwrap();
        let can = CanDraft {
            stock: "Slate".into(),
            length: "100ft".into(),
            tare_g: "131.5".into(),
            price: "58,5".into(),
            bought_on: "2026-05-17".into(),
            package: "tin".into(),
            ..CanDraft::default()
        };
        let can = service.save_can(None, &can, None).unwrap().value.unwrap();
        let cassette = CassetteDraft {
            label: "7".into(),
            leaks: "yes".into(),
            ..CassetteDraft::default()
        };
        let cassette = service
            .save_cassettes(None, &cassette, None)
            .unwrap()
            .value
            .unwrap()[0];
        let want = WantDraft {
            what_for: "ferry".into(),
            frames: "50".into(),
            ei: "320".into(),
            by_when: "2026-12-04".into(),
            ..WantDraft::default()
        };
        let want = service.save_want(None, &want, None).unwrap().value.unwrap();

        let old = service.can(can).unwrap().can;
        service
            .save_can(
                Some(can),
                &CanDraft::of(&old, &service.settings().unwrap()),
                None,
            )
            .unwrap();
        assert_eq!(service.can(can).unwrap().can, old);
        let old = service.cassette(cassette).unwrap();
        service
            .save_cassettes(Some(cassette), &CassetteDraft::from(&old), None)
            .unwrap();
        assert_eq!(service.cassette(cassette).unwrap(), old);
        let old = service.want(want).unwrap();
        service
            .save_want(Some(want), &WantDraft::from(&old), None)
            .unwrap();
        assert_eq!(service.want(want).unwrap(), old);
    }
}
